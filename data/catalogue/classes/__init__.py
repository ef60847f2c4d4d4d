"""The packaged device classes."""
