"""Scripts that a shop can start from."""
