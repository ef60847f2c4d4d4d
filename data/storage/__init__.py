"""The store: SQLite by default, through SQLAlchemy and Alembic."""
