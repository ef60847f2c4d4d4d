"""Use cases: one file per noun; routes and commands only call these."""
