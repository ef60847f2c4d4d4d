"""Alembic environment."""
