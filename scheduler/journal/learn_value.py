"""One learned figure: the shipped value drawn towards the household's own, the more the more records there are.

The household's own figure is Huber's middle of its last records: their mean, with no record counting for more than so
far from it (Huber 1964, Annals of Mathematical Statistics 35:73, from memory).  It is held inside the bounds, and the
value is shipped + n / (n + n0) · (own − shipped), n the records there are.  So, whatever is written down:

* The value never leaves its bounds, so it is never further from the truth than the shipped one by more than `reach`.
* One record moves it by at most `one_record(n)`, while the others lie within `apart` of each other.
* Over many households it is worse than the shipped value by at most `apart² · max(1 / (4 n0), 1 / 30)` in mean square,
  where the truth lies within the bounds and records scatter about it with a standard deviation of 0.9 `apart` or less.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import fsum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

LATEST = 30
"""Records that the household's own figure is taken from, the newest: what is older says little of today's equipment."""

HALF, DOUBLE = 0.5, 2.0
"""A rate, a rise, a time or a loss stays between half and double of the shipped one."""


@dataclass(frozen=True, slots=True)
class Rule:
    """How one figure is learned."""

    shipped: float
    low: float
    high: float
    """The value stays between these."""
    drawn_by: float
    """n0: with so many records the value lies midway between the shipped figure and the household's own."""
    apart: float
    """How far records of one household may lie apart; beyond it a record counts no further."""
    fewest: int = 1
    """With fewer records the shipped value stays."""

    @property
    def reach(self) -> float:
        """The furthest that the value may ever be from the shipped one."""
        return max(self.shipped - self.low, self.high - self.shipped)

    def weight(self, records: int) -> float:
        """Share of the household's own figure in the value."""
        return records / (records + self.drawn_by) if records >= self.fewest else 0.0

    def one_record(self, records: int) -> float:
        """The most that one of so many records can move the value, while the others agree to within `apart`."""
        counted = min(records, LATEST)
        whole = self.high - self.low
        return self.weight(records) * (whole if counted < 3 else min(2.0 * self.apart / (counted - 1), whole))


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure as it is used now."""

    rule: Rule
    records: int
    """The household's own, those set aside not counted."""
    own: float | None
    """What the household's own records come to by themselves; None without any."""
    value: float
    set_aside: int = 0
    """Records that say nothing of it: weights that grew, a fire that was out before the lift."""

    @property
    def counts(self) -> bool:
        """Whether there are records enough for the value to be other than the shipped one."""
        return self.records >= self.rule.fewest


def learned_value(rule: Rule, records: Sequence[float], set_aside: int = 0) -> Figure:
    """The figure by these records, the oldest first."""
    if not records:
        return Figure(rule, 0, None, rule.shipped, set_aside)
    own = middle(records[-LATEST:], rule.apart)
    held = min(max(own, rule.low), rule.high)
    value = rule.shipped + rule.weight(len(records)) * (held - rule.shipped)
    return Figure(rule, len(records), own, value, set_aside)


def middle(values: Sequence[float], apart: float) -> float:
    """Huber's middle: where the distances to the values, each at most `apart`, add up to nothing.

    The mean of values that lie within `apart` of each other; where a whole stretch would do, its middle.
    """
    sums = [(at, _pull(values, at, apart)) for at in sorted({v + off for v in values for off in (-apart, apart)})]
    level = [at for at, pull in sums if pull == 0.0]
    if level:
        return (level[0] + level[-1]) / 2.0
    (left, over), (right, under) = next((here, after) for here, after in pairwise(sums) if here[1] > 0.0 > after[1])
    return left + (right - left) * over / (over - under)  # between two bends the sum is a straight line


def _pull(values: Sequence[float], at: float, apart: float) -> float:
    return fsum(min(max(value - at, -apart), apart) for value in values)
