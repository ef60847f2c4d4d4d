"""Make the first tables: comparables in batches, models, units with versions, estimates, listings.

Written out, not taken from ``data.storage.tables``: what a store of this version holds never changes again.
"""

from __future__ import annotations

from alembic import op
from sqlalchemy import Column, Float, ForeignKey, Integer, String, Text

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables."""
    _make_comparables()
    _make_models_and_units()
    _make_what_was_said()


def downgrade() -> None:
    """Drop the tables, and with them all that they hold."""
    for table in ("listings", "estimates", "unit_versions", "units", "models", "comparables", "batches"):
        op.drop_table(table)


def _text(name: str) -> Column[str]:
    return Column(name, String, nullable=False)


def _json(name: str) -> Column[str]:
    return Column(name, Text, nullable=False)


def _count(name: str) -> Column[int]:
    return Column(name, Integer, nullable=False)


def _make_comparables() -> None:
    op.create_table(
        "batches",
        Column("id", Integer, primary_key=True),
        _text("device_class"),
        _json("class_json"),
        _json("columns_json"),
        _text("currency"),
        _text("source"),
        _count("rows"),
        _text("digest"),
        _text("at"),
    )
    op.create_index("ix_batches_device_class", "batches", ["device_class"])
    op.create_table(
        "comparables",
        Column("id", Integer, primary_key=True),
        Column("batch_id", Integer, ForeignKey("batches.id"), nullable=False),
        Column("price", Float, nullable=False),
        Column("sold_on", String),
        _json("cells_json"),
    )
    op.create_index("ix_comparables_batch_id", "comparables", ["batch_id"])


def _make_models_and_units() -> None:
    op.create_table(
        "models",
        Column("id", Integer, primary_key=True),
        Column("fingerprint", String, nullable=False, unique=True),
        _text("device_class"),
        _text("currency"),
        _count("rows"),
        _text("at"),
        _json("model_json"),
    )
    op.create_index("ix_models_device_class", "models", ["device_class"])
    op.create_table(
        "units",
        Column("number", String, primary_key=True),
        _text("device_class"),
        _count("version"),
        _text("at"),
        _json("unit_json"),
    )
    op.create_table(
        "unit_versions",
        Column("number", String, ForeignKey("units.number"), primary_key=True),
        Column("version", Integer, primary_key=True),
        _text("at"),
        _json("unit_json"),
    )


def _make_what_was_said() -> None:
    for kind in ("estimates", "listings"):
        op.create_table(
            kind,
            Column("id", Integer, primary_key=True),
            Column("unit_number", String),
            _text("at"),
            _text("digest"),
            _json("unit_json"),
            _json("said_json"),
        )
        op.create_index(f"ix_{kind}_unit_number", kind, ["unit_number"])
