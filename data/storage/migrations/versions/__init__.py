"""One file per schema change."""
