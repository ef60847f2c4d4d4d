"""The use cases: what the command line and the service ask for, one file per noun."""
