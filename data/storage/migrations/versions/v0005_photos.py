"""Make the pictures, and the history of what each was attached to; a line of that is never changed."""

from __future__ import annotations

from alembic import op
from sqlalchemy import Column, ForeignKey, Integer, LargeBinary, String, Text

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables and what guards them."""
    op.create_table(
        "pictures",
        Column("digest", String, primary_key=True),
        Column("at", String, nullable=False),
        Column("content", LargeBinary, nullable=False),
        Column("small", LargeBinary, nullable=False),
    )
    op.create_table(
        "photo_steps",
        Column("id", Integer, primary_key=True),
        Column("unit_number", String, ForeignKey("units.number"), nullable=False),
        Column("picture", String, nullable=False),
        Column("at", String, nullable=False),
        Column("digest", String, nullable=False),
        Column("step_json", Text, nullable=False),
        sqlite_autoincrement=True,
    )
    for column in ("unit_number", "picture"):
        op.create_index(f"ix_photo_steps_{column}", "photo_steps", [column])
    for table, change in (("photo_steps", "update"), ("photo_steps", "delete"), ("pictures", "update")):
        op.execute(
            f"CREATE TRIGGER {table}_no_{change} BEFORE {change.upper()} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, 'what {table} hold is never changed; a new line is added'); END"
        )


def downgrade() -> None:
    """Drop the tables with all that they hold."""
    op.drop_table("photo_steps")
    op.drop_table("pictures")
