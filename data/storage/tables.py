"""The tables of a store. Every instant is text in ISO 8601 with its offset, every day ISO text.

What a person handles is kept as the JSON of its record, beside the few columns that are searched by.
"""

from __future__ import annotations

from sqlalchemy import Boolean, Column, Float, ForeignKey, Integer, LargeBinary, MetaData, String, Table, Text

METADATA = MetaData()

BATCHES = Table(
    "batches",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("device_class", String, nullable=False, index=True),
    Column("class_json", Text, nullable=False),
    Column("columns_json", Text, nullable=False),
    Column("currency", String, nullable=False),
    Column("source", String, nullable=False),
    Column("rows", Integer, nullable=False),
    Column("digest", String, nullable=False),
    Column("at", String, nullable=False),
)

COMPARABLES = Table(
    "comparables",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("batch_id", Integer, ForeignKey("batches.id"), nullable=False, index=True),
    Column("price", Float, nullable=False),
    Column("sold_on", String),
    Column("cells_json", Text, nullable=False),
)

MODELS = Table(
    "models",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("fingerprint", String, nullable=False, unique=True),
    Column("device_class", String, nullable=False, index=True),
    Column("currency", String, nullable=False),
    Column("rows", Integer, nullable=False),
    Column("at", String, nullable=False),
    Column("model_json", Text, nullable=False),
)

UNITS = Table(
    "units",
    METADATA,
    Column("number", String, primary_key=True),
    Column("device_class", String, nullable=False),
    Column("version", Integer, nullable=False),
    Column("at", String, nullable=False),
    Column("unit_json", Text, nullable=False),
)

UNIT_VERSIONS = Table(
    "unit_versions",
    METADATA,
    Column("number", String, ForeignKey("units.number"), primary_key=True),
    Column("version", Integer, primary_key=True),
    Column("at", String, nullable=False),
    Column("unit_json", Text, nullable=False),
)

ESTIMATES, LISTINGS, PLANS = (
    Table(
        kind,
        METADATA,
        Column("id", Integer, primary_key=True),
        Column("unit_number", String, index=True),
        Column("at", String, nullable=False),
        Column("digest", String, nullable=False),
        Column("unit_json", Text, nullable=False),
        Column("said_json", Text, nullable=False),
    )
    for kind in ("estimates", "listings", "plans")
)

# A number is never given twice, and triggers refuse to change or delete a line.
LEDGER = Table(
    "ledger",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("unit_number", String, ForeignKey("units.number"), nullable=False, index=True),
    Column("on", String, nullable=False),
    Column("at", String, nullable=False),
    Column("reverses", Integer, ForeignKey("ledger.id"), unique=True),
    Column("lot", String, index=True),
    Column("entry_json", Text, nullable=False),
    sqlite_autoincrement=True,
)

# Of these too a line is never changed or deleted, nor one of the listings above.
LISTING_STEPS = Table(
    "listing_steps",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("listing_number", Integer, ForeignKey("listings.id"), nullable=False, index=True),
    Column("state", String, nullable=False),
    Column("at", String, nullable=False),
    Column("digest", String, nullable=False),
    Column("step_json", Text, nullable=False),
    sqlite_autoincrement=True,
)

ACCEPTANCES = Table(
    "acceptances",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("listing_number", Integer, ForeignKey("listings.id"), nullable=False, index=True),
    Column("buyer", String, nullable=False, index=True),
    Column("complete", Boolean, nullable=False),
    Column("at", String, nullable=False),
    Column("digest", String, nullable=False),
    Column("acceptance_json", Text, nullable=False),
    sqlite_autoincrement=True,
)

# A picture goes when no unit and no publication needs it; what it was attached to stays, never changed or deleted.
PICTURES = Table(
    "pictures",
    METADATA,
    Column("digest", String, primary_key=True),
    Column("at", String, nullable=False),
    Column("content", LargeBinary, nullable=False),
    Column("small", LargeBinary, nullable=False),
)

PHOTO_STEPS = Table(
    "photo_steps",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("unit_number", String, ForeignKey("units.number"), nullable=False, index=True),
    Column("picture", String, nullable=False, index=True),
    Column("at", String, nullable=False),
    Column("digest", String, nullable=False),
    Column("step_json", Text, nullable=False),
    sqlite_autoincrement=True,
)
