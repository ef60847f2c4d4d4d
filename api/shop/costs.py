"""Costs: the ledger of a stored unit, in one currency, at the rate really charged or that of the day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from api.shop.shop import Shop
from data.importing.rates import STALE_DAYS, Rates, ReferenceRates
from data.importing.rates_csv import read_rates_csv
from data.storage.page import Page
from data.storage.unit_of_work import UnitOfWork
from pricing.decisions.ledger import basis_at, entry_of, reversal_of
from pricing.errors import BadInput, NotFound, Problem
from pricing.records.cost import Basis, NewCost, NumberedEntry, ReferenceRate
from pricing.records.money import checked_currency
from pricing.records.purchase import Purchase
from pricing.records.unit import Unit


@dataclass(frozen=True)
class UnitCosts:
    """A unit's ledger and what it comes to.

    Attributes:
        unit: The unit as it is now.
        entries: Its ledger, those up to and with the day of the basis and later ones.
        basis: At the day asked about; None while nothing is written down.
    """

    unit: Unit
    entries: tuple[NumberedEntry, ...]
    basis: Basis | None


@dataclass(frozen=True)
class CostKept:
    """An entry that was written, the basis after it, and what the reader should know."""

    kept: NumberedEntry
    basis: Basis
    notices: tuple[str, ...]


def add_cost(
    shop: Shop,
    number: str,
    cost: NewCost,
    *,
    base: str | None = None,
    rates: Rates | Path | None = None,
    purchase: Purchase | None = None,
) -> CostKept:
    """Write a cost into the ledger of a stored unit.

    Args:
        shop: The shop.
        number: The unit's number.
        cost: What was paid.
        base: Currency of the ledger, where it has none yet; by default that of the stored sales of the unit's
            class, else what was charged or paid.
        rates: Where published rates come from; a Path is the user's own file, per unit of the ledger's currency; None:
            the embedded reference rates.
        purchase: How the unit was bought, written to the unit in the same step; None: stays as it is.

    Raises:
        NotFound: No unit has this number, or a rate is needed that nobody published.
        BadInput: The cost cannot be, lies in the future, the file of rates is wrong, or the ledger is in another
            currency than ``base``.
    """
    if cost.on > shop.today:
        raise refused("cost", "on", str(cost.on), f"today, {shop.today}, or an earlier day")
    with shop.store.writing(shop.now()) as work:
        stored = work.units.get(number)
        currency = _currency(work, stored.unit, cost, base)
        reference = None if cost.paid.currency == currency else _reference(cost, currency, rates_in(rates, currency))
        kept = work.ledger.add(number, entry_of(cost, currency, reference))
        if purchase is not None and purchase != stored.unit.purchase:
            work.units.change(stored.unit.model_copy(update={"purchase": purchase}), stored.version)
        basis = basis_at([line.entry for line in work.ledger.entries(number)], shop.today, currency)
    return CostKept(kept, basis, _notices(kept))


def take_back(shop: Shop, number: str, entry: int, reason: str, *, on: date | None = None) -> CostKept:
    """Take an entry back with another one; ``on`` None: from the day of the entry itself, as if it never was.

    Raises:
        NotFound: No unit has this number, or its ledger no such entry.
        BadInput: The entry was taken back already, or takes another one back itself.
    """
    with shop.store.writing(shop.now()) as work:
        entries = work.ledger.entries(number)
        day = on or next((line.entry.on for line in entries if line.number == entry), shop.today)
        kept = work.ledger.add(number, reversal_of(entry, entries, day, reason))
        lines = [line.entry for line in work.ledger.entries(number)]
    return CostKept(kept, basis_at(lines, shop.today, kept.entry.amount.currency), ())


def unit_costs(shop: Shop, number: str, *, on: date | None = None) -> UnitCosts:
    """Return a unit's ledger and its basis at a day, by default today.

    Raises:
        NotFound: No unit has this number.
    """
    with shop.store.reading() as work:
        unit = work.units.get(number).unit
        entries = work.ledger.entries(number)
    if not entries:
        return UnitCosts(unit, (), None)
    currency = entries[0].entry.amount.currency
    return UnitCosts(unit, entries, basis_at([line.entry for line in entries], on or shop.today, currency))


def all_bases(shop: Shop, *, on: date | None = None) -> dict[str, Basis]:
    """Return what each unit with a ledger has cost up to and with a day, by default today."""
    day = on or shop.today
    with shop.store.reading() as work:
        ledgers = work.ledger.by_unit()
    return {number: basis_at(lines, day, lines[0].amount.currency) for number, lines in ledgers.items()}


def list_costs(shop: Shop, number: str, *, limit: int, offset: int) -> Page[NumberedEntry]:
    """Return some of a unit's ledger, in the order in which it was written.

    Raises:
        NotFound: No unit has this number.
    """
    with shop.store.reading() as work:
        return work.ledger.page(number, limit=limit, offset=offset)


def rates_in(rates: Rates | Path | None, base: str) -> Rates:
    """Return where rates come from.

    Args:
        rates: As they are; or the user's file; or None: the embedded reference rates.
        base: The currency that the file's rates are per.

    Raises:
        NotFound: There is no such file.
        BadInput: A cell of it is wrong.
    """
    if isinstance(rates, Path):
        return read_rates_csv(rates, base=base)
    return rates or ReferenceRates()


def refused(source: str, column: str, found: str, expected: str) -> BadInput:
    """Return the error for one thing that is wrong in a request."""
    problem = Problem(source, None, column, found, expected)
    return BadInput(str(problem), (problem,))


def _currency(work: UnitOfWork, unit: Unit, cost: NewCost, base: str | None) -> str:
    """Return the currency of a unit's ledger.

    Raises:
        BadInput: It has another one than ``base``.
    """
    wanted = None if base is None else checked_currency(base)
    entries = work.ledger.entries(str(unit.number))
    if entries:
        kept = entries[0].entry.amount.currency
        if wanted not in (None, kept):
            raise refused("cost", "base", str(wanted), f"{kept}, in which the ledger of this unit is kept")
        return kept
    own = cost.paid if cost.charged is None else cost.charged
    return wanted or work.comparables.currency(unit.device_class) or own.currency


def _reference(cost: NewCost, base: str, rates: Rates) -> ReferenceRate | None:
    """Return the published rate of the day; None where nobody published one and it is not needed.

    Raises:
        NotFound: It is needed.
    """
    try:
        found = rates.rate(cost.paid.currency, base, cost.on)
    except NotFound:
        if cost.charged is None:
            raise
        return None
    return ReferenceRate(rate=found.rate, day=found.day)


def _notices(kept: NumberedEntry) -> tuple[str, ...]:
    entry = kept.entry
    if entry.rate_on is None or (entry.on - entry.rate_on).days <= STALE_DAYS:
        return ()
    return (f"the rate is that of {entry.rate_on}, more than {STALE_DAYS} days before {entry.on}",)
