"""A channel: where units are sold, and what it takes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Annotated, Literal, NamedTuple

from pydantic import Field

from pricing.errors import BadInput, NotFound, Problem, shortened
from pricing.records.acceptance import DeviationWay
from pricing.records.base import Record
from pricing.records.exact import ExactDecimal
from pricing.records.listing import FORMATS, Format
from pricing.records.money import Currency

Percent = Annotated[ExactDecimal, Field(ge=0, le=100)]
Amount = Annotated[ExactDecimal, Field(ge=0)]
Name = Annotated[str, Field(min_length=1, max_length=80)]

PRICE, POSTAGE, PAYMENT = "price", "postage", "payment"
_RESERVED = (PRICE, POSTAGE, PAYMENT)


class Tier(Record):
    """A part of a fee that holds for amounts above one bound, up to and with the other.

    Attributes:
        above: Lower bound, itself not in it.
        up_to: Upper bound, itself in it; None: without end.
        percent, fixed: What is taken.
    """

    above: Amount = Decimal(0)
    up_to: Amount | None = None
    percent: Percent = Decimal(0)
    fixed: Amount = Decimal(0)


class Fee(Record):
    """One fee of a channel.

    Attributes:
        name: In words, as the buyer of the service reads it on the bill.
        percent, fixed: What is taken; with tiers, what their tiers say is taken instead.
        at_least, at_most: Bounds of the fee, None: without.
        of: What the percentage is of: price, postage (as charged to the buyer), or names of other fees.
        tiers: Bounds with their own percent and fixed amount.
        tiers_by: slices: each tier takes from the part of the amount that lies in it; whole: the tier in which the
            amount lies takes from all of it.
    """

    name: Name
    percent: Percent = Decimal(0)
    fixed: Amount = Decimal(0)
    at_least: Amount | None = None
    at_most: Amount | None = None
    of: Annotated[tuple[str, ...], Field(min_length=1)] = (PRICE,)
    tiers: tuple[Tier, ...] = ()
    tiers_by: Literal["slices", "whole"] = "slices"


class Postage(Record):
    """What sending to one zone costs, and how much of it the buyer pays on top of the price."""

    zone: Name
    cost: Amount
    charged: Amount = Decimal(0)


class Returns(Record):
    """Units that come back.

    Attributes:
        share_percent: Of 100 sales, how many come back.
        cost: What one return costs: postage back, testing, fees that are not given back.
        lost_percent: How much less the unit then brings, in percent of the price.
    """

    share_percent: Percent = Decimal(0)
    cost: Amount = Decimal(0)
    lost_percent: Percent = Decimal(0)


class Reserve(Record):
    """What is put aside for the guarantee: percent of the price and a fixed amount."""

    percent: Percent = Decimal(0)
    fixed: Amount = Decimal(0)


class Channel(Record):
    """A place where units are sold.

    Attributes:
        name: Its short name, as the file is called.
        title: Its name in words.
        currency: Of all amounts in it.
        fees: In the order of the bill.
        payment: What the payment service takes, of price and postage unless it says otherwise.
        postage: By zone; the first is used when no zone is named.
        returns, guarantee: What is to be expected after the sale.
        title_limit, body_limit: Most characters of a listing there, None: no limit. The body counts as it is sent,
            with its title and all signs of its format; of json-ld its name and description count.
        formats: How a listing may be written there.
        deviations: Where a buyer accepts each deviation on its own: in its checkout, on a sheet of paper, or, where the
            channel can take no such answers, by a message before payment.
        source: Where fees and limits were found.
    """

    name: Name
    title: str
    currency: Currency
    fees: tuple[Fee, ...] = ()
    payment: Fee | None = None
    postage: tuple[Postage, ...] = ()
    returns: Returns = Returns()
    guarantee: Reserve = Reserve()
    title_limit: Annotated[int, Field(ge=1)] | None = None
    body_limit: Annotated[int, Field(ge=1)] | None = None
    formats: Annotated[tuple[Format, ...], Field(min_length=1)] = FORMATS
    deviations: DeviationWay = "message"
    source: str = ""

    @property
    def all_fees(self) -> tuple[Fee, ...]:
        """The fees, and the payment fee as the last."""
        return self.fees if self.payment is None else (*self.fees, self.payment)

    def postage_to(self, zone: str | None) -> Postage | None:
        """Return postage to a zone; without a zone that to the first; None when the channel has no postage.

        Raises:
            NotFound: The channel has no such zone.
        """
        if zone is None:
            return self.postage[0] if self.postage else None
        for postage in self.postage:
            if postage.zone == zone:
                return postage
        known = ", ".join(postage.zone for postage in self.postage) or "none"
        raise NotFound(f"channel {self.name}: no postage to {shortened(zone)}; its zones are: {known}")


class Flaw(NamedTuple):
    """Something in a channel that contradicts itself: its path in the file, what was found, what was expected."""

    path: tuple[str | int, ...]
    found: str
    expected: str


def flaws_of(channel: Channel) -> tuple[Flaw, ...]:
    """Return what contradicts itself in a channel's fees, tiers and zones."""
    return tuple(_flaws(channel))


def checked_channel(channel: Channel) -> Channel:
    """Return the channel when nothing in it contradicts itself.

    Raises:
        BadInput: With one Problem for each flaw.
    """
    problems = tuple(
        Problem(f"channel {channel.name}", None, ".".join(str(key) for key in flaw.path), flaw.found, flaw.expected)
        for flaw in flaws_of(channel)
    )
    if problems:
        raise BadInput(str(problems[0]), problems)
    return channel


def _flaws(channel: Channel) -> Iterator[Flaw]:
    needs = {fee.name: fee.of for fee in channel.all_fees}
    for place, fee in enumerate(channel.fees):
        path: tuple[str | int, ...] = ("fee", place)
        if fee.name in _RESERVED:
            yield Flaw((*path, "name"), shortened(fee.name), f"another name than {', '.join(_RESERVED)}")
        if fee.name in [other.name for other in channel.fees[:place]]:
            yield Flaw((*path, "name"), shortened(fee.name), "another name: a fee before it has this one")
        yield from _flaws_of_fee(fee, path, needs)
    if channel.payment is not None:
        if channel.payment.name != PAYMENT:
            yield Flaw(("payment", "name"), shortened(channel.payment.name), PAYMENT)
        yield from _flaws_of_fee(channel.payment, ("payment",), needs)
    zones = [postage.zone for postage in channel.postage]
    for place, zone in enumerate(zones):
        if zone in zones[:place]:
            yield Flaw(("postage", place, "zone"), shortened(zone), "another zone: this one stands above already")


def _flaws_of_fee(fee: Fee, path: tuple[str | int, ...], needs: Mapping[str, Sequence[str]]) -> Iterator[Flaw]:
    for base in fee.of:
        if base not in (PRICE, POSTAGE, *needs):
            known = ", ".join((PRICE, POSTAGE, *(name for name in needs if name != fee.name)))
            yield Flaw((*path, "of"), shortened(base), f"one of {known}")
    if fee.name in reached(fee.of, needs):
        yield Flaw((*path, "of"), shortened(", ".join(fee.of)), "fees that do not go round in a circle")
    if len(set(fee.of)) < len(fee.of):
        yield Flaw((*path, "of"), shortened(", ".join(fee.of)), "each thing once")
    if fee.at_least is not None and fee.at_most is not None and fee.at_least > fee.at_most:
        yield Flaw((*path, "at_most"), str(fee.at_most), f"at least {fee.at_least}, as at_least says")
    if fee.tiers and (fee.percent or fee.fixed):
        yield Flaw((*path, "tiers"), "percent or fixed beside tiers", "one of the two: tiers have their own")
    if fee.tiers and not set(fee.of) <= {PRICE, POSTAGE}:
        yield Flaw((*path, "tiers"), shortened(", ".join(fee.of)), "tiers of price and postage only, not of fees")
    yield from _flaws_of_tiers(fee.tiers, (*path, "tiers"))


def _flaws_of_tiers(tiers: Sequence[Tier], path: tuple[str | int, ...]) -> Iterator[Flaw]:
    """Yield tiers that overlap, leave a gap, go backwards, or end before the amounts do."""
    before: Decimal | None = Decimal(0)
    for place, tier in enumerate(tiers):
        here = (*path, place)
        if before is None:
            yield Flaw((*here, "above"), str(tier.above), "no tier after the one without an end: they overlap")
        elif tier.above != before:
            kind = "overlap" if tier.above < before else "leave a gap"
            yield Flaw((*here, "above"), str(tier.above), f"{before}, where the tier before ends: these {kind}")
        if tier.up_to is not None and tier.up_to <= tier.above:
            yield Flaw((*here, "up_to"), str(tier.up_to), f"more than {tier.above}: no tier goes back or in a circle")
        before = tier.up_to
    if tiers and before is not None:
        yield Flaw((*path, len(tiers) - 1, "up_to"), str(before), "a last tier without up_to, for all higher amounts")


def reached(start: Iterable[str], needs: Mapping[str, Sequence[str]]) -> set[str]:
    """Return ``start`` and every fee that it is taken of, however far."""
    found: set[str] = set()
    waiting = list(start)
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.add(name)
            waiting.extend(needs.get(name, ()))
    return found
