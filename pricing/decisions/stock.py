"""Parts on stock: which of them a unit can take, and which goes into which unit when there are several.

Using a piece costs what the shop gives up with it (``StockPart.given_up``), whatever was paid. Pieces are placed in
rounds: in each the set with the largest sum of gains, each unit taking one piece; a unit that took one may take another
in the next round, with the first one counted as its own. Each round is exact; several pieces that only together are of
use to one unit are not found.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from pricing.decisions.donors import best_uses
from pricing.decisions.outlook import faulty_functions
from pricing.decisions.repair_notes import names_in
from pricing.decisions.repairs import RepairCase
from pricing.errors import PlainsaleError, Problem, refused
from pricing.records.device_class import DeviceClass
from pricing.records.part_offer import PartOffer
from pricing.records.plan import Plan
from pricing.records.sales_table import FloatArray
from pricing.records.stock import StockPart
from pricing.records.unit import Unit

SOURCE = "own stock"


@dataclass(frozen=True)
class PlacedPiece:
    """A piece of the stock in a unit: number of the unit and of the row, and the gain over the plan without it."""

    unit: int
    row: int
    gain: float


@dataclass(frozen=True)
class Placing:
    """What became of the stock.

    Attributes:
        cases: The units, with the pieces that they take among their offers.
        plans: Their plans with these; None: there is none.
        placed: Each piece that is used, in the order in which they were placed.
    """

    cases: tuple[RepairCase, ...]
    plans: tuple[Plan | None, ...]
    placed: tuple[PlacedPiece, ...]


def check_stock(stock: Sequence[StockPart], device_class: DeviceClass, currency: str) -> None:
    """Check that the class knows the parts and what they fit, and that money is in the plan's currency.

    Raises:
        BadInput: With one Problem for each mistake.
    """
    groups = {each.name for each in device_class.attributes if each.kind == "group"}
    problems = []
    for piece in stock:
        if piece.part not in device_class.parts_by_name:
            problems.append(Problem("stock", piece.line, "part", f'"{piece.part}"', "a part of the class"))
        for name in sorted(set(piece.fits) - groups):
            known = f"a group attribute of the class: {', '.join(sorted(groups)) or 'none there'}"
            problems.append(Problem("stock", piece.line, "fits", f'"{name}"', known))
        for money in {piece.cost.currency, piece.given_up.currency} - {currency}:
            problems.append(Problem("stock", piece.line, "currency", money, currency))
    if problems:
        raise refused("stock", problems)


def stock_offer(piece: StockPart) -> PartOffer:
    """Return a row of the stock as an offer to a plan, at what the shop gives up with a piece."""
    return PartOffer(
        part=piece.part,
        source=SOURCE,
        price=piece.given_up,
        pieces=piece.pieces,
        quality=piece.quality,
        variant=piece.variant,
        line=piece.line,
    )


def fits(piece: StockPart, unit: Unit) -> bool:
    """Return whether a unit has all that a piece needs."""
    return all(str(unit.attributes.get(name, "")) == level for name, level in piece.fits.items())


def stock_offers(unit: Unit, stock: Sequence[StockPart]) -> tuple[PartOffer, ...]:
    """Return what one unit can take from the stock."""
    return tuple(stock_offer(piece) for piece in stock if fits(piece, unit))


def placed_stock(
    cases: Sequence[RepairCase],
    plans: Sequence[Plan | None],
    stock: Sequence[StockPart],
    plan_of: Callable[[RepairCase], Plan],
) -> Placing:
    """Return which pieces go into which units.

    Args:
        cases: The units.
        plans: Their plans without the stock; None: the unit has none and takes nothing.
        stock: The stock.
        plan_of: The best plan of a case.
    """
    now, best, left = list(cases), list(plans), [piece.pieces for piece in stock]
    placed: list[PlacedPiece] = []
    open_units = [number for number, plan in enumerate(plans) if plan is not None]
    while open_units:
        rows = [row for row, count in enumerate(left) for _ in range(min(count, len(open_units)))]
        found = {(unit, row): _with_piece(now[unit], stock[row], plan_of) for unit in open_units for row in set(rows)}
        uses = best_uses(_gains(open_units, rows, found, best))
        for use in uses:
            unit, row = open_units[use.unit], rows[use.piece]
            taken = found[unit, row]
            if taken is not None:
                now[unit], best[unit] = taken
            left[row] -= 1
            placed.append(PlacedPiece(unit, row, use.gain))
        open_units = sorted(open_units[use.unit] for use in uses)
    return Placing(tuple(now), tuple(best), tuple(placed))


def _with_piece(
    case: RepairCase, piece: StockPart, plan_of: Callable[[RepairCase], Plan]
) -> tuple[RepairCase, Plan] | None:
    """Return a unit's case and plan with one piece; None when it does not fit, is of no use, or is not used."""
    restored = set(case.device_class.parts_by_name[piece.part].function)
    taken = any(offer.source == SOURCE and offer.part == piece.part for offer in case.offers)
    if taken or not fits(piece, case.unit) or not restored & set(faulty_functions(case.unit, case.device_class)):
        return None
    offer = stock_offer(piece.model_copy(update={"pieces": 1}))
    mended = replace(case, offers=(*case.offers, offer))
    try:
        plan = plan_of(mended)
    except PlainsaleError:
        return None  # What cannot be planned takes nothing; the unit's own plan says why.
    title = case.device_class.parts_by_name[piece.part].title
    return (mended, plan) if f"fit {title} ({piece.quality}, {SOURCE})" in set(names_in(plan.tree)) else None


def _gains(
    units: Sequence[int],
    rows: Sequence[int],
    found: dict[tuple[int, int], tuple[RepairCase, Plan] | None],
    best: Sequence[Plan | None],
) -> FloatArray:
    gains = np.full((len(units), len(rows)), -np.inf)
    for place, unit in enumerate(units):
        alone = best[unit]
        for column, row in enumerate(rows):
            mended = found[unit, row]
            if mended is not None and alone is not None:
                gains[place, column] = float(mended[1].value.amount - alone.value.amount)
    return gains
