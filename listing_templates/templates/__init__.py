"""Jinja templates."""
