"""Which interactions a design has, and the design that follows from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from pricing.hedonic.design import Design, Term
from pricing.hedonic.interaction_term import SlopeTerm, free_numbers, product_term
from pricing.hedonic.level_term import LevelTerm, level_term
from pricing.hedonic.number_term import NumberTerm
from pricing.records.device_class import DeviceClass
from pricing.records.sales_table import ConditionTable

MOST_COLUMNS = 400


@dataclass(frozen=True)
class Structure:
    """What the held-out sales asked for, beside the main effects.

    Attributes:
        interactions: Whether main effects are averaged with a fit that has all interactions.
        trees_weights: Weight of the trees' correction in each member of the average, 0 to 1.
    """

    interactions: bool = False
    trees_weights: tuple[float, ...] = (0.0,)

    @property
    def words(self) -> str:
        """The structure in plain words."""
        found = "main effects"
        if self.interactions:
            found += ", averaged with those and products, slopes and pairs of specifications"
        if any(self.trees_weights):
            found += f"; corrected by trees, with weight {' and '.join(f'{each:g}' for each in self.trees_weights)}"
        return found


MAIN_EFFECTS = Structure()


def main_columns(full: Design, main: Design) -> NDArray[np.intp]:
    """Return the raw columns of the main effects in a design that was extended."""
    hot = np.arange(full.dense_columns, full.dense_columns + main.hot_columns)
    return np.concatenate([np.arange(main.dense_columns), hot]).astype(np.intp)


def extended(design: Design, device_class: DeviceClass, table: ConditionTable) -> Design:
    """Return the design with all interactions of its attributes added at the end; itself when there are none.

    Args:
        design: Main effects.
        device_class: Says which terms are attributes.
        table: Sales from which products and pairs are learnt.
    """
    names = device_class.attributes_by_name
    numbers = [term for term in design.terms if isinstance(term, NumberTerm) and term.name in names]
    levels = [term for term in design.terms
              if isinstance(term, LevelTerm) and term.name in names and len(term.path) == 1]  # fmt: skip
    products = product_term(numbers, table)
    added: list[Term] = [products] if products is not None else []
    if free_numbers(numbers):
        slopes = [SlopeTerm(each, free_numbers(numbers)) for each in levels]
        added += _within(sorted(slopes, key=lambda term: term.dense_columns), MOST_COLUMNS)
    added += _within(_pairs(levels, table), MOST_COLUMNS)
    return replace(design, terms=(*design.terms, *added)) if added else design


def _pairs(levels: Sequence[LevelTerm], table: ConditionTable) -> list[Term]:
    made = [
        level_term(f"{left.name} × {right.name}", (left.name, right.name), table)
        for left, right in combinations(levels, 2)
    ]
    return sorted((term for term in made if term is not None), key=lambda term: term.hot_columns)


def _within(terms: Sequence[Term], most: int) -> list[Term]:
    """Return the terms, the smallest first, that together have at most so many columns."""
    kept: list[Term] = []
    for term in terms:
        most -= term.dense_columns + term.hot_columns
        if most < 0:
            break
        kept.append(term)
    return kept
