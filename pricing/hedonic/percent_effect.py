"""From an effect on ln(price) to a percentage of the price.

exp(b) - 1 is the effect at the coefficient b (Halvorsen & Palmquist 1980, American Economic Review 70(3):474-475),
right for shrunken effects, with both ends of an interval exponentiated. For an unpenalised coefficient with variance
V it is biased upwards; exp(b - V/2) - 1 is nearly unbiased (Kennedy 1981, AER 71(4):801), and its variance is
estimated by exp(2 b) (exp(-V) - exp(-2 V)) (van Garderen & Shah 2002, Econometrics Journal 5(1):149-159).
"""

from __future__ import annotations

import math


def percent_effect(effect_log: float) -> float:
    """Return 100 (exp(b) - 1), in percent."""
    return 100 * math.expm1(effect_log)


def percent_interval(low_log: float, high_log: float) -> tuple[float, float]:
    """Return both ends of an interval of an effect, in percent."""
    return percent_effect(low_log), percent_effect(high_log)


def unbiased_percent_effect(effect_log: float, variance: float) -> tuple[float, float]:
    """Return Kennedy's estimate and its standard error, in percent, for an unpenalised coefficient.

    Args:
        effect_log: The coefficient, on the log of price.
        variance: Its estimated variance.

    Raises:
        ValueError: The variance is below 0.
    """
    if variance < 0:
        raise ValueError(f"a variance cannot be {variance}")
    spread = math.exp(2 * effect_log) * (math.exp(-variance) - math.exp(-2 * variance))
    return 100 * math.expm1(effect_log - variance / 2), 100 * math.sqrt(spread)
