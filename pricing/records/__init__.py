"""Frozen records: the one definition of each thing that the trade handles."""
