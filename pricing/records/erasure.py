"""What became of the data on a unit: the one reading of what the bench wrote."""

from __future__ import annotations

import re
from typing import Literal

from pricing.records.device_class import DeviceClass
from pricing.records.unit import Unit

ErasureState = Literal[
    "no storage", "destroyed", "handed over", "kept", "not recorded", "not erased", "not verified", "verified",
]  # fmt: skip

# What a bench writes in "data_erased" when it was not; like the statuses, in the language of the files.
_NOT_DONE = re.compile(
    r"^(?:no|none|nothing|false|unknown|open|pending)\b|\b(?:not|never|cannot|unable|impossible|failed|unsuccessful)\b|n['’]t\b",
    re.IGNORECASE,
)
_NOT_LEFT = re.compile(r"\b(?:not recoverable|nothing left|not failed)\b", re.IGNORECASE)


def erasure_of(unit: Unit, device_class: DeviceClass) -> ErasureState:
    """Return what became of the data; words such as "could not be erased" are no way of erasing.

    Storage that is recorded as gone from the unit counts as out only with what became of it.
    """
    if unit.storage != "in":
        return unit.storage
    way = (unit.data_erased or "").strip()
    if not way:
        return "no storage" if "stored data" in device_class.without else "not recorded"
    if says_not_erased(way):
        return "not erased"
    return "verified" if unit.data_verified else "not verified"


def says_not_erased(way: str) -> bool:
    """Return whether the words written for the way of erasing say that nothing was erased."""
    return _NOT_DONE.search(_NOT_LEFT.sub("", way)) is not None
