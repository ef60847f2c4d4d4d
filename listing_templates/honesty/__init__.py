"""Reads any text against a unit's facts and reports what it hides, invents or contradicts."""

from listing_templates.honesty.reader import read_text

__all__ = ["read_text"]
