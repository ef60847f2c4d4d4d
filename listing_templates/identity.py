"""Identity of a unit as a listing shows it: ``pricing.records.identity`` for the neighbours of this package."""

from __future__ import annotations

from pricing.records.identity import IdentityKind, compact, kind_of_identity, masked

__all__ = ["IdentityKind", "compact", "kind_of_identity", "masked"]
