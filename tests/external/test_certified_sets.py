"""Certified least-squares sets of the U.S. National Institute of Standards and Technology (NIST StRD).

They go the whole way of a sale: the response is a logarithm of price here, so the price is exp(response / unit) and
the results come back times ``unit``. Centring, scaling, cross-products and solution are the model's own.

Certified values: NIST Statistical Reference Datasets, linear regression. Longley's data as carried by statsmodels,
Norris's by scipy's tests (embedded here), Wampler's are made by their definition, Filip's 82 pairs lie in
``data/nist_filip.csv``.
"""

from __future__ import annotations

from fractions import Fraction
from math import comb
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm

from pricing.errors import SingularDesign
from pricing.hedonic.fit import LEAST_SQUARES, FitSettings, fit_model
from tests.external.coefficients import Coefficients, coefficients_of
from tests.external.frames import class_of, sales_of

DATA = Path(__file__).parent / "data"
NORRIS = [
    (0.1, 0.2), (338.8, 337.4), (118.1, 118.2), (888.0, 884.6), (9.2, 10.1), (228.1, 226.5), (668.5, 666.3),
    (998.5, 996.3), (449.1, 448.6), (778.9, 777.0), (559.2, 558.2), (0.3, 0.4), (0.1, 0.6), (778.1, 775.5),
    (668.8, 666.9), (339.3, 338.0), (448.9, 447.5), (10.8, 11.6), (557.7, 556.0), (228.3, 228.1), (998.0, 995.8),
    (888.8, 887.6), (119.6, 120.2), (0.3, 0.3), (0.6, 0.3), (557.6, 556.8), (339.3, 339.1), (888.0, 887.2),
    (998.5, 999.0), (778.9, 779.0), (10.2, 11.1), (117.6, 118.3), (228.9, 229.2), (668.4, 669.1), (449.2, 448.9),
    (0.2, 0.5),
]  # fmt: skip


def fitted(columns: pd.DataFrame, response: np.ndarray, unit: float = 1.0) -> tuple[Coefficients, float]:
    """Return coefficients and residual standard deviation of our least squares, in units of the response."""
    sales = columns.astype(float).assign(price=np.exp(response / unit))
    model = fit_model(sales_of(sales), class_of(sales), settings=LEAST_SQUARES)
    found = coefficients_of(model)
    in_units = Coefficients(found.names, found.estimates * unit, found.covariance * unit**2)
    return in_units, float(np.sqrt(model.sigma2)) * unit


def powers(column: np.ndarray, degree: int) -> pd.DataFrame:
    return pd.DataFrame({f"power{power}": column**power for power in range(1, degree + 1)})


def share_explained(response: np.ndarray, deviation: float, freedom: int) -> float:
    """Return R squared."""
    return 1 - deviation**2 * freedom / float(np.sum((response - response.mean()) ** 2))


def test_longley_is_as_certified() -> None:
    data = sm.datasets.longley.load_pandas().data
    names = ["GNPDEFL", "GNP", "UNEMP", "ARMED", "POP", "YEAR"]
    response = data["TOTEMP"].to_numpy(float)
    found, deviation = fitted(data[names], response, unit=1_000.0)
    assert found.names == ("constant", *names)
    assert found.estimates == pytest.approx(
        [-3482258.63459582, 15.0618722713733, -0.0358191792925910, -2.02022980381683, -1.03322686717359,
         -0.0511041056535807, 1829.15146461355],
        rel=1e-9,
    )  # fmt: skip
    assert found.errors == pytest.approx(
        [890420.383607373, 84.9149257747669, 0.0334910077722432, 0.488399681651699, 0.214274163161675,
         0.226073200069370, 455.478499142212],
        rel=1e-9,
    )  # fmt: skip
    assert deviation == pytest.approx(304.854073561965, rel=1e-9)
    assert share_explained(response, deviation, 16 - 7) == pytest.approx(0.995479004577296, abs=1e-12)


def test_norris_is_as_certified() -> None:
    # The file lists y, then x.
    response, column = np.array(NORRIS).T
    found, deviation = fitted(powers(column, 1), response, unit=100.0)
    assert found.estimates == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-9)
    assert found.errors == pytest.approx([0.232818234301152, 0.429796848199937e-3], rel=1e-9)
    assert deviation == pytest.approx(0.884796396144373, rel=1e-9)
    assert share_explained(response, deviation, 36 - 2) == pytest.approx(0.999993745883712, abs=1e-12)


@pytest.mark.parametrize(("base", "unit"), [(1.0, 1e4), (0.1, 1.0)], ids=["Wampler1", "Wampler2"])
def test_wampler_polynomials_are_found_exactly(base: float, unit: float) -> None:
    """Wampler1 has all six coefficients 1, Wampler2 the powers of 0.1; certified errors and deviation are 0."""
    columns = powers(np.arange(21.0), 5)
    wanted = base ** np.arange(6)
    found, deviation = fitted(columns, wanted[0] + columns.to_numpy() @ wanted[1:], unit)
    assert found.estimates == pytest.approx(wanted, rel=1e-6)
    assert found.errors == pytest.approx(np.zeros(6), abs=1e-6)
    assert deviation == pytest.approx(0.0, abs=1e-6)


def filip() -> tuple[np.ndarray, np.ndarray]:
    pairs = np.genfromtxt(DATA / "nist_filip.csv", delimiter=",", names=True)
    return pairs["x"], pairs["y"]


def unscaled(centre: float, spread: float, degree: int) -> np.ndarray:
    """Return the map from coefficients of powers of (x - centre) / spread to those of powers of x.

    Its entries are exact before they are rounded once: the certified coefficients are differences of large terms.
    """
    back = np.zeros((degree + 1, degree + 1))
    for power in range(degree + 1):
        for lower in range(power + 1):
            term = comb(power, lower) * (-Fraction(centre)) ** (power - lower) / Fraction(spread) ** power
            back[lower, power] = float(term)
    return back


def test_filip_is_as_certified_after_centring_and_scaling() -> None:
    column, response = filip()
    centre = float(column.mean())
    spread = float(np.abs(column - centre).max())
    scaled, deviation = fitted(powers((column - centre) / spread, 10), response)
    found = scaled.mapped(unscaled(centre, spread, 10))
    assert found.estimates == pytest.approx(
        [-1467.48961422980, -2772.17959193342, -2316.37108160893, -1127.97394098372, -354.478233703349,
         -75.1242017393757, -10.8753180355343, -1.06221498588947, -0.0670191154593408, -0.00246781078275479,
         -0.0000402962525080404],
        rel=1e-7,
    )  # fmt: skip
    assert found.errors == pytest.approx(
        [298.084530995537, 559.779865474950, 466.477572127796, 227.204274477751, 71.6478660875927, 15.2897178747400,
         2.23691159816033, 0.221624321934227, 0.0142363763154724, 0.000535617408889821, 0.00000896632837373868],
        rel=1e-7,
    )  # fmt: skip
    assert deviation == pytest.approx(0.00334801051324544, rel=1e-9)
    assert share_explained(response, deviation, 82 - 11) == pytest.approx(0.996727416185620, abs=1e-12)


@pytest.mark.parametrize("shift", [4.5, 5.0, 5.5, 5.9, 6.5, 8.0])
def test_filip_is_right_where_its_origin_lies_among_the_points(shift: float) -> None:
    column, response = filip()
    _, deviation = fitted(powers(column + shift, 10), response)
    assert deviation == pytest.approx(0.00334801051324544, rel=1e-7)


@pytest.mark.parametrize("shift", [0.0, 2.0, 4.0, 12.0])
def test_filip_is_refused_by_name_where_its_powers_run_alike(shift: float) -> None:
    """Shift 0 is the set as published; doubles cannot tell its powers apart by their cross-products."""
    column, response = filip()
    with pytest.raises(SingularDesign, match=r"already determine: power\d"):
        fitted(powers(column + shift, 10), response)


@pytest.mark.parametrize("settings", [None, FitSettings(signs=False), FitSettings(spread=False, calibration=False)])
def test_a_fit_that_is_not_least_squares_says_which_powers_of_filip_it_left_out(settings: FitSettings | None) -> None:
    column, response = filip()
    sales = powers(column, 10).assign(price=np.exp(response))
    model = fit_model(sales_of(sales), class_of(sales), settings=settings)
    (said,) = [notice for notice in model.notices if "already determine them" in notice]
    assert {"power7", "power9"} <= set(said.split(": ")[1].split(", "))
