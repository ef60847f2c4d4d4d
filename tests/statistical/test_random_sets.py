"""Sales of many shapes: skewed, coarse, blank or repeated columns, light and heavy tails, from 12 to 1,000 rows.

None may fail, and over the larger sets the intervals must cover fresh sales as often as they say.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from pricing.hedonic.fit import fit_model
from pricing.records.device_class import DeviceClass
from pricing.records.sales_table import ConditionTable, SalesTable, TextColumn
from tests.counts import count
from tests.figures import keep

SETS = 400
FRESH = 200
SIZES = (12, 20, 40, 100, 300, 1000)
LARGE = 40


def number(rng: np.random.Generator, rows: int) -> np.ndarray:
    """Return a column: bell-shaped, very skewed, coarse, nearly constant, or in large units."""
    shapes = [
        lambda: rng.normal(size=rows),
        lambda: rng.lognormal(0, 2, rows),
        lambda: rng.integers(0, 3, rows).astype(float),
        lambda: (rng.random(rows) < 0.02).astype(float),
        lambda: rng.exponential(size=rows) * 1e6,
    ]
    return shapes[int(rng.integers(len(shapes)))]()


def draw(seed: int) -> tuple[pd.DataFrame, int]:
    """Return invented sales and how many of them are for the fit; the others are fresh."""
    rng = np.random.default_rng(seed)
    fitted = int(rng.choice(SIZES))
    rows = fitted + FRESH
    columns: dict[str, np.ndarray] = {}
    price_log = np.full(rows, 4.0)
    for place in range(int(rng.integers(1, 6))):
        values = number(rng, rows)
        standard = (values - values.mean()) / (values.std() + 1e-9)
        price_log += rng.normal() * 0.3 * standard + 0.2 * rng.normal() * np.sin(2 * standard)
        columns[f"number{place}"] = np.where(rng.random(rows) < 0.2 * (rng.random() < 0.2), np.nan, values)
        if rng.random() < 0.05:
            columns[f"copy{place}"] = 2 * values + 1
    for place in range(int(rng.integers(0, 4))):
        levels = int(rng.choice([2, 3, 8, 40]))
        group = rng.integers(0, levels, rows)
        price_log += rng.normal(size=levels)[group] * 0.3
        words = np.array([f"level{each}" for each in group], dtype=object)
        words[rng.random(rows) < 0.2 * (rng.random() < 0.2)] = None
        columns[f"group{place}"] = words
    noise = rng.standard_t(3, rows) if seed % 2 else rng.normal(size=rows)
    return pd.DataFrame(columns | {"price": np.exp(price_log + 0.2 * noise)}), fitted


def sales_of(frame: pd.DataFrame) -> SalesTable:
    nothing = np.zeros(len(frame), dtype=np.bool_)
    numbers = {name: frame[name].to_numpy(float) for name in frame if name.startswith(("number", "copy"))}
    words = {name: frame[name] for name in frame if name.startswith("group")}
    texts = {
        name: TextColumn.from_words([None if pd.isna(word) else word for word in column])
        for name, column in words.items()
    }
    condition = ConditionTable(rows=len(frame), numbers=numbers, texts=texts)
    return SalesTable(condition, frame["price"].to_numpy(float), "", nothing, nothing)


def test_no_set_fails_and_intervals_cover_fresh_sales() -> None:
    inside: dict[int, list[float]] = {80: [], 95: []}
    for seed in range(count(SETS)):
        frame, fitted = draw(seed)
        attributes = [
            {"name": name, "kind": "group" if name.startswith("group") else "number"}
            for name in frame.columns.drop("price")
        ]
        device_class = DeviceClass.model_validate({"name": "set", "attributes": attributes})
        model = fit_model(sales_of(frame.iloc[:fitted].reset_index(drop=True)), device_class)
        fresh = sales_of(frame.iloc[fitted:].reset_index(drop=True))
        prediction = model.predict(fresh.condition)
        assert np.isfinite(model.expected(prediction)).all()
        for level, shares in inside.items():
            low, high = model.interval(prediction, level)
            assert (low <= high).all()
            if fitted >= LARGE:
                shares.append(float(np.mean((low <= fresh.price) & (fresh.price <= high))))
    told = ", ".join(f"{level} %: {100 * np.mean(shares):.2f} %" for level, shares in inside.items())
    keep("random_sets", f"intervals of {len(inside[80])} random sets cover fresh sales: {told}")
    slack = 0.015 if count(SETS) == SETS else 0.04
    assert abs(np.mean(inside[80]) - 0.80) <= slack
    assert abs(np.mean(inside[95]) - 0.95) <= slack
