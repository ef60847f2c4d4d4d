"""Make the history of listings and what buyers accepted; from now on neither these nor a listing can be changed."""

from __future__ import annotations

from alembic import op
from sqlalchemy import Boolean, Column, ForeignKey, Integer, String, Text

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

_GUARDED = ("listings", "listing_steps", "acceptances")


def upgrade() -> None:
    """Make the tables and what guards them."""
    op.create_table(
        "listing_steps",
        Column("id", Integer, primary_key=True),
        Column("listing_number", Integer, ForeignKey("listings.id"), nullable=False),
        Column("state", String, nullable=False),
        Column("at", String, nullable=False),
        Column("digest", String, nullable=False),
        Column("step_json", Text, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "acceptances",
        Column("id", Integer, primary_key=True),
        Column("listing_number", Integer, ForeignKey("listings.id"), nullable=False),
        Column("buyer", String, nullable=False),
        Column("complete", Boolean, nullable=False),
        Column("at", String, nullable=False),
        Column("digest", String, nullable=False),
        Column("acceptance_json", Text, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_listing_steps_listing_number", "listing_steps", ["listing_number"])
    op.create_index("ix_acceptances_listing_number", "acceptances", ["listing_number"])
    op.create_index("ix_acceptances_buyer", "acceptances", ["buyer"])
    for table in _GUARDED:
        for change in ("update", "delete"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{change} BEFORE {change.upper()} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, 'what {table} hold is never changed; a new line is added'); END"
            )


def downgrade() -> None:
    """Drop the tables with all that they hold, and let listings be changed again."""
    for change in ("update", "delete"):
        op.execute(f"DROP TRIGGER listings_no_{change}")
    op.drop_table("acceptances")
    op.drop_table("listing_steps")
