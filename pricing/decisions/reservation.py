"""Which of several uncertain things to look into first, when each look costs and only the best one will be used.

A bench example: three broken units may hold the one good board that is needed. Opening one costs time, and shows
what its board is worth. The reservation price z of a thing solves E[max(X - z, 0)] = cost. Open the highest z first,
and stop when what was found is worth more than every z left.

Source: Weitzman (1979), Optimal search for the best alternative, Econometrica 47(3):641-654; without discounting.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pricing.errors import BadInput, Problem

_ROUNDING = 1e-9


@dataclass(frozen=True)
class Box:
    """Something that shows its worth only when money is spent on it.

    Attributes:
        name: What it is.
        cost: Of looking into it, in money, 0 or more.
        outcomes: Pairs of worth in money and its chance; the chances sum to 1.
    """

    name: str
    cost: float
    outcomes: tuple[tuple[float, float], ...]


def check_box(box: Box) -> None:
    """Check costs and chances.

    Raises:
        BadInput: A chance is below 0, the chances do not sum to 1, or the cost is below 0.
    """
    chances = [chance for _, chance in box.outcomes]
    if min(chances, default=-1.0) < 0 or abs(sum(chances) - 1) > _ROUNDING:
        problem = Problem("plan", None, box.name, f"chances {chances}", "chances of 0 or more that sum to 1")
        raise BadInput(str(problem), (problem,))
    if box.cost < 0:
        problem = Problem("plan", None, box.name, f"a cost of {box.cost:g}", "a cost of 0 or more")
        raise BadInput(str(problem), (problem,))


def reservation_price(box: Box) -> float:
    """Return z with E[max(X - z, 0)] = cost, exactly: the left side is a chain of straight lines in z.

    Raises:
        BadInput: See ``check_box``.
    """
    check_box(box)
    ordered = sorted(box.outcomes, reverse=True)
    worth, chance = 0.0, 0.0
    for place, (each, share) in enumerate(ordered):
        worth, chance = worth + share * each, chance + share
        lower = ordered[place + 1][0] if place + 1 < len(ordered) else None
        if chance > 0 and (lower is None or (worth - box.cost) / chance >= lower):
            break
    return (worth - box.cost) / chance


def search_order(boxes: Sequence[Box]) -> tuple[tuple[Box, float], ...]:
    """Return the boxes with their reservation prices in the order in which to open them.

    Raises:
        BadInput: See ``check_box``.
    """
    priced = [(box, reservation_price(box)) for box in boxes]
    return tuple(sorted(priced, key=lambda pair: (-pair[1], pair[0].name)))


def search_value(boxes: Sequence[Box], in_hand: float = 0.0) -> float:
    """Return the expected net worth of searching in the best order with something worth ``in_hand`` already.

    Raises:
        BadInput: See ``check_box``.
    """
    order = search_order(boxes)
    if not order or order[0][1] <= in_hand:
        return in_hand
    first, rest = order[0][0], [box for box, _ in order[1:]]
    found = sum(chance * search_value(rest, max(in_hand, worth)) for worth, chance in first.outcomes if chance > 0)
    return found - first.cost
