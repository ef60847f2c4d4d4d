"""Words and rules per language, as data."""
