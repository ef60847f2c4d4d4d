"""Facts into words: disclosures, rendering, and reading any text against the facts."""
