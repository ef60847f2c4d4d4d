"""Real prices, five-fold: intervals cover as they say, overall, in each third of the estimate and each support class.

The slack is one point, and 2.5 standard errors of a share among the distinct rows that were counted. By default only
the small sets get interactions and trees, because choosing them on the large ones takes minutes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from data.catalogue.reader import read_class
from pricing.estimation.estimate import estimate_columns
from pricing.hedonic.fit import CORE, FitSettings, fit_model
from pricing.records.estimate import LEVELS
from tests.counts import count
from tests.external.frames import sales_of
from tests.external.real_data.five_fold import FOLDS, HERE, SETS
from tests.figures import keep

REPEATS = {"mariokart": 10, "diamond": 5, "houses": 5, "computers": 1, "ames": 2}
QUICK = ("mariokart", "diamond")
QUICK_REPEATS = 3  # one deal of so few rows says little
FULL = count(1000) == 1000
SLACK, ERRORS = 0.01, 2.5
FEWEST_ROWS = 5  # of a class or third; fewer tell nothing, because the slack is wider than the scale


@dataclass(frozen=True, eq=False)
class Held:
    """Every held-out row of every repeat.

    Attributes:
        row: shape (n,): its number in the set.
        inside: level -> shape (n,): whether the interval held its price.
        third: shape (n,): 0 cheap, 1 middle, 2 dear, by the estimate.
        support: shape (n,) words.
    """

    row: np.ndarray
    inside: dict[int, np.ndarray]
    third: np.ndarray
    support: np.ndarray

    def parts(self) -> Iterator[tuple[str, np.ndarray]]:
        """Yield each part that is promised, with its rows."""
        yield "all", np.ones(len(self.row), dtype=bool)
        for number, name in enumerate(("cheap third", "middle third", "dear third")):
            yield name, self.third == number
        for name in ("seen", "thin", "unseen"):
            yield name, self.support == name


@cache
def held_out(name: str) -> Held:
    frame = SETS[name]().reset_index(drop=True)
    device_class = read_class(HERE / f"{name}.toml")
    settings = FitSettings() if FULL or name in QUICK else CORE
    found = []
    for repeat in range(REPEATS[name] if FULL else QUICK_REPEATS if name in QUICK else 1):
        order = np.random.default_rng(100 + repeat).permutation(len(frame))
        estimate, support = np.empty(len(frame)), np.empty(len(frame), dtype=object)
        inside = {level: np.empty(len(frame), dtype=bool) for level in LEVELS}
        for fold in range(FOLDS):
            mine = order[fold::FOLDS]
            model = fit_model(sales_of(frame.drop(index=mine).reset_index(drop=True)), device_class, settings=settings)
            units = sales_of(frame.iloc[mine].reset_index(drop=True))
            told = estimate_columns(model, units.condition)
            estimate[mine], support[mine] = told.estimate, told.support
            for level in LEVELS:
                inside[level][mine] = (told.low[level] <= units.price) & (units.price <= told.high[level])
        ranks = np.argsort(np.argsort(estimate, kind="stable"), kind="stable")
        found.append((np.arange(len(frame)), inside, 3 * ranks // len(frame), support))
    return Held(
        row=np.concatenate([each[0] for each in found]),
        inside={level: np.concatenate([each[1][level] for each in found]) for level in LEVELS},
        third=np.concatenate([each[2] for each in found]),
        support=np.concatenate([each[3] for each in found]).astype(str),
    )


@pytest.mark.parametrize("name", SETS)
def test_real_prices_lie_in_their_intervals_as_often_as_said(name: str) -> None:
    held = held_out(name)
    missed: list[str] = []
    lines = [f"| {name} | rows | {' | '.join(f'{level} %' for level in LEVELS)} |", "|---|---|---|---|---|---|"]
    for part, rows in held.parts():
        distinct = len(np.unique(held.row[rows]))
        if distinct < FEWEST_ROWS:
            continue
        cells = []
        for level, inside in held.inside.items():
            share, nominal = float(inside[rows].mean()), level / 100
            slack = SLACK + ERRORS * np.sqrt(nominal * (1 - nominal) / distinct)
            cells.append(f"{100 * share:.1f}")
            if abs(share - nominal) > slack:
                missed.append(f"{part}: {level} % covers {100 * share:.1f} %, slack {100 * slack:.1f}, {distinct} rows")
        lines.append(f"| {part} | {distinct:,} | {' | '.join(cells)} |")
    keep(f"coverage_{name}", "\n".join(lines))
    assert not missed, "\n".join(missed)
