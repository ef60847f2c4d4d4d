"""Identity of a unit: only masked in any output, with its check digit looked at.

An IMEI has 15 digits of which the last is a Luhn check digit (3GPP TS 23.003, Annex B); with 14 or 16 digits there
is none to check. Everything else is a serial number of which nothing is known.
"""

from __future__ import annotations

import re
from typing import Literal

from stdnum import imei

from listing_templates.plain_text import neutral

IdentityKind = Literal["imei", "imei wrong", "imei unchecked", "serial"]

_SEPARATORS = re.compile(r"[^0-9A-Za-z]")
_SHOWN = 4


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
    return "…" + bare[len(bare) - shown :] if shown else "…"


def compact(identity: str) -> str:
    """Return the identity without separators."""
    return _SEPARATORS.sub("", neutral(identity[:200]))
