"""Make the plans that were kept; a line of them is never changed."""

from __future__ import annotations

from alembic import op
from sqlalchemy import Column, Integer, String, Text

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table and what guards it."""
    op.create_table(
        "plans",
        Column("id", Integer, primary_key=True),
        Column("unit_number", String),
        Column("at", String, nullable=False),
        Column("digest", String, nullable=False),
        Column("unit_json", Text, nullable=False),
        Column("said_json", Text, nullable=False),
    )
    op.create_index("ix_plans_unit_number", "plans", ["unit_number"])
    for change in ("update", "delete"):
        op.execute(
            f"CREATE TRIGGER plans_no_{change} BEFORE {change.upper()} ON plans "
            "BEGIN SELECT RAISE(ABORT, 'a plan that was kept is never changed; a new one is added'); END"
        )


def downgrade() -> None:
    """Drop the table with all that it holds."""
    op.drop_table("plans")
