"""Tonight or wait: how likely tonight must be before it is taken, when further nights may come out better.

Optimal stopping without recall: each night shows its chance p, and is taken or let go.  Taken, it pays 1 where it
holds and -loss where not; each night of waiting costs `wait_cost`.  With n nights left the best that can be had is
V_n = max(0, E[max(p - loss (1 - p), V_(n-1))] - wait_cost), V_0 = 0, and tonight is worth taking from
p*_n = (V_n + loss) / (1 + loss) on.  Chances of coming nights are Beta(k pi, k (1 - pi)) around their base rate pi.

The nights are taken as independent and shown one at a time.  Both make waiting look better than it is.
"""

from __future__ import annotations

from math import exp, lgamma, log, log1p

LOSS = 0.5
"""What a smoke that goes over the ceiling costs, in smokes that hold: our judgement."""

SHARPNESS = 0.6
"""k of the Beta: what a spread of 4 °C between nights and a forecast error of 1.6 °C come to (computed: 0.57)."""

LIKELIEST = 0.98
"""A base rate is kept this far from certain, as every chance that is told."""


def threshold(
    nights_left: int,
    base_rate: float,
    *,
    wait_cost: float,
    loss: float = LOSS,
    sharpness: float = SHARPNESS,
) -> float:
    """Least chance at which tonight is taken, with so many further nights in reach.

    base_rate: mean chance of those nights; wait_cost: of each night of waiting, in smokes that hold.
    ValueError for a negative count.  With no night left it is loss / (1 + loss).
    """
    if nights_left < 0:
        raise ValueError(f"{nights_left} nights cannot be left")
    rate = min(max(base_rate, 1.0 - LIKELIEST), LIKELIEST)
    value = value_of_waiting(nights_left, sharpness * rate, sharpness * (1.0 - rate), wait_cost=wait_cost, loss=loss)
    return (value + loss) / (1.0 + loss)


def value_of_waiting(nights_left: int, a: float, b: float, *, wait_cost: float = 0.0, loss: float = 0.0) -> float:
    """V_n, for chances that are Beta(a, b)."""
    value = 0.0
    for _ in range(nights_left):
        least = (value + loss) / (1.0 + loss)
        value = max(0.0, value + (1.0 + loss) * mean_above(least, a, b) - wait_cost)
    return value


def mean_above(least: float, a: float, b: float) -> float:
    """E[max(p - least, 0)] for p ~ Beta(a, b)."""
    mean = a / (a + b)
    if least <= 0.0:
        return mean - least
    if least >= 1.0:
        return 0.0
    return mean * (1.0 - beta_share(least, a + 1.0, b)) - least * (1.0 - beta_share(least, a, b))


def beta_share(x: float, a: float, b: float) -> float:
    """P(p <= x) for p ~ Beta(a, b), 0 < x < 1: the incomplete beta function, DLMF 8.17.4 and 8.17.22."""
    if x > (a + 1.0) / (a + b + 2.0):
        return 1.0 - beta_share(1.0 - x, b, a)
    front = exp(a * log(x) + b * log1p(-x) + lgamma(a + b) - lgamma(a) - lgamma(b)) / a
    tail, terms = 1.0, 200  # it has converged long before
    for m in range(terms, 0, -1):
        even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        tail = 1.0 + even / (1.0 + odd / tail)
    first = -(a + b) * x / (a + 1.0)
    return front / (1.0 + first / tail)
