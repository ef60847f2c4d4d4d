"""The frozen base of all records that a person handles."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Record(BaseModel):
    """Immutable, with no unknown keys: a misspelt field is an error, never ignored."""

    model_config = ConfigDict(frozen=True, extra="forbid")
