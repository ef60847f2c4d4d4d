"""The order of looking into things, against every way to search."""

from __future__ import annotations

import numpy as np
import pytest

from pricing.decisions.reservation import Box, reservation_price, search_order, search_value


def random_boxes(rng, count):
    boxes = []
    for number in range(count):
        chances = rng.dirichlet(np.ones(3))
        chances[-1] = 1 - chances[0] - chances[1]
        worths = np.round(rng.uniform(-20, 100, 3), 1)
        boxes.append(Box(f"b{number}", round(float(rng.uniform(0, 15)), 1), tuple(zip(worths, chances, strict=True))))
    return boxes


def best_of_all(boxes, in_hand):
    """Return the value of the best search, any order and any stopping allowed."""
    best = in_hand
    for box in boxes:
        rest = [each for each in boxes if each is not box]
        found = sum(chance * best_of_all(rest, max(in_hand, worth)) for worth, chance in box.outcomes)
        best = max(best, found - box.cost)
    return best


@pytest.mark.parametrize("seed", range(30))
def test_no_other_search_is_better(seed):
    rng = np.random.default_rng(seed)
    boxes = random_boxes(rng, 3)
    in_hand = float(rng.uniform(0, 40))
    assert search_value(boxes, in_hand) == pytest.approx(best_of_all(boxes, in_hand))


@pytest.mark.parametrize("seed", range(30))
def test_at_its_reservation_price_a_box_is_worth_exactly_its_cost(seed):
    (box,) = random_boxes(np.random.default_rng(seed), 1)
    price = reservation_price(box)
    assert sum(chance * max(worth - price, 0) for worth, chance in box.outcomes) == pytest.approx(box.cost, abs=1e-9)


def test_boxes_of_one_price_are_ordered_by_name():
    twins = [Box("b", 1, ((5, 1.0),)), Box("a", 1, ((5, 1.0),))]
    assert [box.name for box, _ in search_order(twins)] == ["a", "b"]


def test_nothing_to_look_into_leaves_what_is_in_hand():
    assert search_value([], in_hand=7) == 7
