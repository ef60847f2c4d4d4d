"""How a unit was bought, and what proves it: the tax on its sale follows from that, never from a guess."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Literal

from pydantic import Field

from pricing.records.base import Record
from pricing.records.money import Money

Way = Literal["private person", "margin dealer", "invoice showing tax", "import"]
ProofKind = Literal["seller's declaration", "margin invoice", "tax invoice", "import entry"]

PROOFS: Mapping[Way, ProofKind] = {
    "private person": "seller's declaration",
    "margin dealer": "margin invoice",
    "invoice showing tax": "tax invoice",
    "import": "import entry",
}


class Proof(Record):
    """A paper that shows how a unit was bought.

    Attributes:
        kind: A private seller's signed declaration; a dealer's invoice that says margin scheme; an invoice that
            shows the tax; the entry that customs gave back.
        reference: The shop's own number for the paper. Names and addresses of sellers do not belong here.
        dated: Day on the paper.
    """

    kind: ProofKind
    reference: str = Field(min_length=1, max_length=200)
    dated: date


class LotOrigin(Record):
    """The lot that a unit was bought in, when several units had one price.

    Attributes:
        number: The shop's own number for the lot.
        price: What was paid for the whole lot to its seller.
        itemised: The seller's paper states a price for each unit.
    """

    number: str = Field(min_length=1, max_length=200)
    price: Money
    itemised: bool = False


class Purchase(Record):
    """How a unit was bought. What was paid stands in the unit's ledger, nowhere else.

    Attributes:
        way: From whom, and with which tax.
        on: Day of the purchase.
        proof: What shows it; None: nothing does, and then no tax scheme is assumed.
        lot: The lot it was part of; None: it was bought by itself.
    """

    way: Way
    on: date
    proof: Proof | None = None
    lot: LotOrigin | None = None
