"""Small sets with heavy tails: Student t errors of 3 degrees, skewed numbers, unbalanced groups, uneven spread.

Over all sets the intervals must cover fresh sales as often as they say.
"""

from __future__ import annotations

import numpy as np
import pytest

from pricing.hedonic.fit import fit_model
from pricing.records.device_class import DeviceClass
from pricing.records.estimate import LEVELS
from pricing.records.sales_table import ConditionTable, SalesTable, TextColumn
from tests.counts import count
from tests.figures import keep

SETS = 200
FRESH = 200
SKEWS = (
    lambda rng, rows: rng.lognormal(0, 1, rows),
    lambda rng, rows: rng.exponential(size=rows) * 1e4,
    lambda rng, rows: rng.gamma(0.7, size=rows),
    lambda rng, rows: rng.geometric(0.4, rows).astype(float),
)


def draw(seed: int, fitted: int) -> tuple[SalesTable, DeviceClass]:
    """Return invented sales, ``fitted`` for the fit and the rest fresh, and their class."""
    rng = np.random.default_rng([seed, fitted])
    rows = fitted + FRESH
    level = np.full(rows, 5.0)
    numbers: dict[str, np.ndarray] = {}
    for place in range(int(rng.integers(2, 5))):
        numbers[f"number{place}"] = SKEWS[int(rng.integers(len(SKEWS)))](rng, rows)
        standard = np.argsort(np.argsort(numbers[f"number{place}"])) / rows - 0.5
        level += rng.normal() * 0.5 * standard
    texts: dict[str, TextColumn] = {}
    for place in range(int(rng.integers(1, 4))):
        levels = int(rng.choice([2, 4, 10]))
        group = rng.choice(levels, rows, p=rng.dirichlet(np.full(levels, 0.8)))
        level += rng.normal(size=levels)[group] * 0.25
        texts[f"group{place}"] = TextColumn(group.astype(np.int32), tuple(f"level{each}" for each in range(levels)))
    size = np.full(rows, 0.15)
    if seed % 2:
        first = numbers["number0"]
        size = 0.08 + 0.2 * np.argsort(np.argsort(first)) / rows
    price = np.exp(level + size * rng.standard_t(3, rows))
    nothing = np.zeros(rows, dtype=np.bool_)
    attributes = [{"name": name, "kind": "number"} for name in numbers]
    attributes += [{"name": name, "kind": "group"} for name in texts]
    sales = SalesTable(ConditionTable(rows=rows, numbers=numbers, texts=texts), price, "", nothing, nothing)
    return sales, DeviceClass.model_validate({"name": "set", "attributes": attributes})


@pytest.mark.parametrize("fitted", [100, 300])
def test_intervals_cover_fresh_sales_of_small_sets_with_heavy_tails(fitted: int) -> None:
    inside: dict[int, list[float]] = {level: [] for level in LEVELS}
    for seed in range(count(SETS)):
        sales, device_class = draw(seed, fitted)
        model = fit_model(sales.take(np.arange(fitted)), device_class)
        fresh = sales.take(np.arange(fitted, sales.rows))
        prediction = model.predict(fresh.condition)
        for level in LEVELS:
            low, high = model.interval(prediction, level)
            inside[level].append(float(np.mean((low <= fresh.price) & (fresh.price <= high))))
    shares = {level: float(np.mean(each)) for level, each in inside.items()}
    errors = {level: float(np.std(each) / np.sqrt(len(each))) for level, each in inside.items()}
    told = ", ".join(f"{level} %: {100 * share:.2f} ± {100 * errors[level]:.2f} %" for level, share in shares.items())
    keep(f"heavy_tails_{fitted}", f"intervals of {count(SETS)} sets of {fitted} with heavy tails cover {told}")
    # Fewer sets know the mean less well: three of its own standard errors are added, for them only.
    slack = {level: 0.015 + (0.0 if count(SETS) == SETS else 3 * errors[level]) for level in LEVELS}
    missed = [level for level in LEVELS if abs(shares[level] - level / 100) > slack[level]]
    assert not missed, told
