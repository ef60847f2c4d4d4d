"""The costs of a lot: divided into the ledgers of its units, and handed on when some are scrapped."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path

from api.shop.costs import rates_in, refused
from api.shop.shop import Shop
from data.importing.rates import Rates
from data.importing.unit_json import read_record
from data.storage.unit_of_work import UnitOfWork
from pricing.decisions.lot_costs import handed_on, lot_entries
from pricing.errors import NotFound
from pricing.records.cost import LedgerEntry, ReferenceRate
from pricing.records.lot_cost import LotCost
from pricing.records.money import Money, checked_currency
from pricing.records.purchase import LotOrigin, Purchase


@dataclass(frozen=True)
class LotShares:
    """What a lot's units carry of it.

    Attributes:
        lot: The lot's number.
        shares: Number of each unit -> what it carries, in the base currency; the sum is what the lot cost.
        total: Their sum.
    """

    lot: str
    shares: dict[str, Money]
    total: Money


def read_lot_cost(path: Path) -> LotCost:
    """Return the lot in a JSON file.

    Raises:
        NotFound: There is no such file.
        BadInput: It is no JSON, or no lot; one Problem for each mistake.
    """
    return read_record(path, LotCost)


def share_lot(shop: Shop, lot: LotCost, *, base: str | None = None, rates: Rates | Path | None = None) -> LotShares:
    """Divide a lot's costs into the ledgers of its units, all of them or none.

    Args:
        shop: The shop.
        lot: What it cost, and its units.
        base: Currency of ledgers that have none yet; by default that of the units' ledgers, else what was charged or
            paid.
        rates: Where published rates come from; a Path is the user's own file, per unit of the ledgers' currency; None:
            the embedded reference rates.

    Raises:
        NotFound: A unit is not in the store, or a rate is needed that nobody published.
        BadInput: The lot cannot be divided, was divided already, a file of rates is wrong, or its units' ledgers are in
            several currencies.
    """
    if lot.on > shop.today:
        raise refused("lot", "on", str(lot.on), f"today, {shop.today}, or an earlier day")
    with shop.store.writing(shop.now()) as work:
        _check_new(work, lot)
        currency = _currency(work, lot, base)
        entries = lot_entries(lot, currency, _reference(lot, currency, rates_in(rates, currency)))
        for number, own in zip(lot.units, entries, strict=True):
            for entry in own:
                work.ledger.add(number, entry)
            _write_purchase(work, lot, number)
        return _shares(lot.number, work.ledger.of_lot(lot.number))


def lot_shares_of(shop: Shop, number: str) -> LotShares:
    """Return what each unit carries of a lot.

    Raises:
        NotFound: No cost of this lot was divided.
    """
    with shop.store.reading() as work:
        return _shares(number, work.ledger.of_lot(number))


def hand_on(
    shop: Shop, number: str, scrapped: Sequence[str], *, on: date | None = None, reason: str = ""
) -> LotShares:
    """Hand the costs of scrapped units on to the other units of their lot; without this they keep them.

    Raises:
        NotFound: No cost of this lot was divided.
        BadInput: A unit is not of this lot, or all are scrapped.
    """
    why = reason or f"scrapped: {', '.join(scrapped)}"
    with shop.store.writing(shop.now()) as work:
        moved = handed_on(work.ledger.of_lot(number), scrapped, on or shop.today, why)
        for unit, entry in moved.items():
            work.ledger.add(unit, entry)
        return _shares(number, work.ledger.of_lot(number))


def _check_new(work: UnitOfWork, lot: LotCost) -> None:
    """Let pass a lot that is not in the ledgers.

    Raises:
        BadInput: It is.
    """
    try:
        kept = work.ledger.of_lot(lot.number)
    except NotFound:
        return
    expected = f"a lot that is not divided yet; this one is in the ledgers of {', '.join(list(kept)[:12])}"
    raise refused("lot", "number", lot.number, expected)


def _currency(work: UnitOfWork, lot: LotCost, base: str | None) -> str:
    """Return the one currency of the units' ledgers.

    Raises:
        BadInput: They have several, or another one than ``base``.
    """
    kept = {entry.entry.amount.currency for number in lot.units for entry in work.ledger.entries(number)}
    wanted = set() if base is None else {checked_currency(base)}
    if len(kept | wanted) > 1:
        found = ", ".join(sorted(kept | wanted))
        raise refused("lot", "base", found, "one currency for the ledgers of all units of the lot")
    own = lot.price if lot.charged is None else lot.charged
    return next(iter(kept | wanted), own.currency)


def _reference(lot: LotCost, base: str, rates: Rates) -> ReferenceRate | None:
    """Return the published rate of the day; None where none is needed.

    Raises:
        NotFound: It is needed and nobody published one.
    """
    if lot.price.currency == base or lot.charged is not None:
        return None
    found = rates.rate(lot.price.currency, base, lot.on)
    return ReferenceRate(rate=found.rate, day=found.day)


def _write_purchase(work: UnitOfWork, lot: LotCost, number: str) -> None:
    """Write to a unit how its lot was bought, when that is known."""
    if lot.way is None:
        return
    origin = LotOrigin(number=lot.number, price=lot.price, itemised=lot.itemised)
    stored = work.units.get(number)
    purchase = Purchase(way=lot.way, on=lot.on, proof=lot.proof, lot=origin)
    work.units.change(stored.unit.model_copy(update={"purchase": purchase}), stored.version)


def _shares(number: str, entries: dict[str, tuple[LedgerEntry, ...]]) -> LotShares:
    currency = next(iter(entries.values()))[0].amount.currency

    def total(lines: Sequence[LedgerEntry]) -> Money:
        """Return what entries come to."""
        return Money(amount=sum((line.cost for line in lines), start=Decimal(0)), currency=currency)

    shares = {unit: total(lines) for unit, lines in entries.items()}
    return LotShares(number, shares, total([line for lines in entries.values() for line in lines]))
