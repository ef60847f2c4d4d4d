"""Identity of a unit: only masked in any output, with its check digit looked at.

An IMEI has 15 digits of which the last is a Luhn check digit (3GPP TS 23.003, Annex B); with 14 or 16 digits there
is none to check. Everything else is a serial number of which nothing is known.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from stdnum import imei

from pricing.errors import without_imeis

IdentityKind = Literal["imei", "imei wrong", "imei unchecked", "serial"]
IdentityPlace = Literal["body", "board", "label", "box", "second"]

_SEPARATORS = re.compile(r"[^0-9A-Za-z]")
IDENTITY_KEYS = frozenset({"identity", "identities"})

_SHOWN = 4
_FEWEST = 5
_LONGEST = 200
MASK = "…"


def kind_of_identity(identity: str) -> IdentityKind:
    """Return what the identity is: an IMEI whose check digit holds, fails or is not there, or a serial."""
    bare = compact(identity)
    if not (bare.isascii() and bare.isdigit()) or len(bare) not in (14, 15, 16):
        return "serial"
    if len(bare) != 15:
        return "imei unchecked"
    return "imei" if imei.is_valid(bare) else "imei wrong"


def masked(identity: str) -> str:
    """Return the last characters after dots: at most four, and at most a quarter of the whole."""
    bare = compact(identity)
    shown = min(_SHOWN, len(bare) // 4)
    return MASK + bare[len(bare) - shown :] if shown else MASK


def compact(identity: str) -> str:
    """Return the identity without separators."""
    return _SEPARATORS.sub("", identity[:_LONGEST])


def known_as(unit_identities: Iterable[str], text: str) -> str:
    """Return the text with these identities masked where they stand in it as written, and every likely IMEI too."""
    for identity in unit_identities:
        if identity in text and len(compact(identity)) >= _FEWEST:
            text = text.replace(identity, masked(identity))
    return without_imeis(text)


def unspoken(place: Sequence[object], value: object) -> object:
    """Return what was found at a place of a record, for a message: identities masked, alone or inside of it."""
    if isinstance(value, Mapping):
        return {key: unspoken((*place, key), inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [unspoken(place, inner) for inner in value]
    return masked(str(value)) if any(step in IDENTITY_KEYS for step in place) else value
