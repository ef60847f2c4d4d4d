"""Invented sales with a known truth."""
