"""Make the ledger of units: lines are added, never changed or deleted."""

from __future__ import annotations

from alembic import op
from sqlalchemy import Column, ForeignKey, Integer, String, Text

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

_REFUSED = "a line of the ledger is never changed; take it back with another one"


def upgrade() -> None:
    """Make the table and what guards it."""
    op.create_table(
        "ledger",
        Column("id", Integer, primary_key=True),
        Column("unit_number", String, ForeignKey("units.number"), nullable=False),
        Column("on", String, nullable=False),
        Column("at", String, nullable=False),
        Column("reverses", Integer, ForeignKey("ledger.id"), unique=True),
        Column("lot", String),
        Column("entry_json", Text, nullable=False),
        sqlite_autoincrement=True,
    )
    for column in ("unit_number", "lot"):
        op.create_index(f"ix_ledger_{column}", "ledger", [column])
    for change in ("update", "delete"):
        op.execute(
            f"CREATE TRIGGER ledger_no_{change} BEFORE {change.upper()} ON ledger "
            f"BEGIN SELECT RAISE(ABORT, '{_REFUSED}'); END"
        )


def downgrade() -> None:
    """Drop the table, and with it all that it holds."""
    op.drop_table("ledger")
