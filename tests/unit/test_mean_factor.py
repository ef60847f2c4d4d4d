from __future__ import annotations

import numpy as np
import pytest

from pricing.hedonic.mean_factor import MeanFactor, mean_factor_log

DEVIATIONS = np.concatenate([[0.0, 1e-9, 0.25, 3.0], np.random.default_rng(1).uniform(0, 2, 300)])


def scores_of(kind: str) -> np.ndarray:
    rng = np.random.default_rng(0)
    drawn = {
        "normal": rng.normal(size=2001),
        "heavy": rng.standard_t(2.1, size=2001),
        "two": np.array([-1.0, 4.0]),
        "one": np.array([0.7]),
        "alike": np.full(9, -0.2),
        "lopsided": -rng.exponential(3.0, size=500),
    }
    return np.sort(drawn[kind])


@pytest.mark.parametrize("kind", ["normal", "heavy", "two", "one", "alike", "lopsided"])
def test_it_is_the_plain_mean(kind: str) -> None:
    scores = scores_of(kind)
    exponents = np.multiply.outer(DEVIATIONS, scores)
    highest = exponents.max(axis=1)
    plain = highest + np.log(np.exp(exponents - highest[:, None]).mean(axis=1))
    assert mean_factor_log(DEVIATIONS, scores) == pytest.approx(plain, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("kind", ["normal", "heavy"])
def test_a_unit_alone_gets_the_same_bits_as_among_others(kind: str) -> None:
    scores = scores_of(kind)
    together = mean_factor_log(DEVIATIONS, scores)
    alone = [float(mean_factor_log(np.array([each]), scores)[0]) for each in DEVIATIONS]
    assert alone == together.tolist()


def test_no_deviation_leaves_the_price_as_it_is() -> None:
    assert mean_factor_log(np.zeros(2), scores_of("normal")).tolist() == [0.0, 0.0]


def test_no_units_have_no_factor() -> None:
    assert len(mean_factor_log(np.empty(0), scores_of("normal"))) == 0


def test_one_unit_after_the_other_gets_the_same_number_again() -> None:
    scores = scores_of("normal")
    factor = MeanFactor(scores)
    for _ in range(2):
        assert [factor.log_of(float(each)) for each in DEVIATIONS] == mean_factor_log(DEVIATIONS, scores).tolist()
