from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from scipy import integrate

from pricing.hedonic.counts import count_numbers
from pricing.hedonic.splines import MOST_KNOTS, bend_map, cardinal_basis, knots_at_quantiles

KNOTS = np.array([-1.5, -0.4, 0.3, 0.9, 2.0])


def test_few_distinct_values_are_the_knots_themselves() -> None:
    assert knots_at_quantiles(count_numbers(np.array([3.0, 1.0, 1.0, np.nan, 2.0]))).tolist() == [1.0, 2.0, 3.0]


def test_many_values_get_the_most_knots_allowed_between_their_ends() -> None:
    values = np.random.default_rng(0).normal(size=500)
    knots = knots_at_quantiles(count_numbers(values))
    assert len(knots) == MOST_KNOTS
    assert (knots[0], knots[-1]) == (values.min(), values.max())
    assert len(knots_at_quantiles(count_numbers(values), 4)) == 4


def test_a_long_run_of_one_value_does_not_swallow_the_knots() -> None:
    values = np.concatenate([np.zeros(960), np.arange(1.0, 41.0)])
    knots = knots_at_quantiles(count_numbers(values))
    assert len(knots) == MOST_KNOTS
    assert np.all(np.diff(knots) > 0)


def test_each_basis_function_is_1_at_its_own_knot_and_0_at_the_others() -> None:
    assert cardinal_basis(KNOTS, KNOTS) == pytest.approx(np.eye(len(KNOTS)), abs=1e-12)


def test_the_basis_reproduces_straight_lines_inside_and_beyond_the_knots() -> None:
    points = np.linspace(-6, 7, 53)
    line = cardinal_basis(points, KNOTS) @ (2.0 - 0.7 * KNOTS)
    assert line == pytest.approx(2.0 - 0.7 * points, abs=1e-12)


@pytest.mark.parametrize("ends", [(-9.0, -1.5), (2.0, 8.0)])
def test_the_basis_goes_on_straight_beyond_the_outer_knots(ends: tuple[float, float]) -> None:
    points = np.linspace(*ends, 9)
    bends = np.diff(cardinal_basis(points, KNOTS), n=2, axis=0)
    assert np.abs(bends).max() < 1e-12


def test_the_derivative_is_the_slope_of_the_basis() -> None:
    points, step = np.array([-3.0, -1.0, 0.0, 0.7, 1.9, 4.0]), 1e-6
    slope = (cardinal_basis(points + step, KNOTS) - cardinal_basis(points - step, KNOTS)) / (2 * step)
    assert cardinal_basis(points, KNOTS, derivative=1) == pytest.approx(slope, abs=1e-8)


def test_bends_have_the_identity_as_integrated_squared_second_derivative() -> None:
    mapping, step = bend_map(KNOTS), 1e-4

    def curvature(point: float) -> np.ndarray:
        three = cardinal_basis(np.array([point - step, point, point + step]), KNOTS) @ mapping
        return (three[0] - 2 * three[1] + three[2]) / step**2

    count = mapping.shape[1]
    assert count == len(KNOTS) - 2
    rough = np.zeros((count, count))
    for left, right in pairwise(KNOTS):
        rough += integrate.quad_vec(lambda p: np.outer(curvature(p), curvature(p)), left, right, epsrel=1e-6)[0]
    assert rough == pytest.approx(np.eye(count), abs=1e-3)


def test_bends_hold_no_constant_and_no_straight_line() -> None:
    mapping = bend_map(KNOTS)
    assert np.abs(mapping.sum(axis=0)).max() < 1e-10
    assert np.abs(KNOTS @ mapping).max() < 1e-10
