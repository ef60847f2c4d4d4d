"""What a sale leaves: the price, every line that is taken off it, and the net."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Literal

from pricing.records.base import Record
from pricing.records.money import Money
from pricing.records.tax import TaxResult

LineKind = Literal["fee", "payment", "postage", "charged postage", "tax", "credit", "returns", "guarantee"]


class ProceedsLine(Record):
    """One line between the price and the net.

    Attributes:
        kind: What kind of line.
        name: In words.
        amount: What it takes off the price; below 0 it adds.
    """

    kind: LineKind
    name: str
    amount: Money


class NetProceeds(Record):
    """What a sale at a price leaves. The net is the price less all lines, to the last minor unit.

    Attributes:
        price: What the buyer pays for the unit, tax in it, postage not.
        lines: In the order of the bill; lines of 0 are left out, but never the tax.
        net: What is left.
        tax: Which rule gave the tax.
        channel, zone: Where it is sold, and sent.
        on: Day of the sale.
        assumes: What else was taken to be so.
    """

    price: Money
    lines: tuple[ProceedsLine, ...]
    net: Money
    tax: TaxResult
    channel: str
    zone: str | None
    on: date
    assumes: tuple[str, ...] = ()


class CounterOffer(Record):
    """An answer with another price: its chance of being taken, and what is to be expected of it."""

    price: Money
    chance: Decimal
    expected: Money


class OfferAnswer(Record):
    """The best answer to an offer, and what each answer is expected to leave.

    Attributes:
        offer: What the buyer offers.
        answer: The answer that leaves most; of equal ones accept, then wait.
        accept: Net of the offer.
        wait: Expected net of going on without this buyer.
        counter: The best counter; None when none was asked about.
        lowest: The lowest price that leaves at least as much as waiting.
        assumes: What was taken to be so.
    """

    offer: Money
    answer: Literal["accept", "counter", "wait"]
    accept: Money
    wait: Money
    counter: CounterOffer | None
    lowest: Money
    assumes: tuple[str, ...]
