"""The command line: one file per noun, loaded by name."""
