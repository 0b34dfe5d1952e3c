"""Freezing against parasites: a batch's freezing record against each published rule, as steps, never interpolated.

−18 °C for a year is not 7 days at −20 °C, and 24 h at −20 °C meets the European rule and not the American one.  A rule
met says that the rule is met; it clears nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isnan
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Sequence

CORE_LAG_H = 24.0
"""Time given to the core to reach the freezer's temperature: our judgement; the rules speak of the fish itself."""

FARMED_EXEMPTION = (
    "Food Code 3-402.11(B) asks no freezing of farmed fish raised in net pens or tanks on formulated feed without live"
    " parasites; only you can say that yours is."
)

TOLERANCE = 1e-9
"""Hours or °C by which sums of floats may miss a round figure."""


@dataclass(frozen=True, slots=True)
class Rule:
    """One combination of temperature and time."""

    key: str
    title: str
    source: str
    hold_c: float
    """Temperature at or under which the fish is held."""
    hold_h: float
    """For how long, counted from when its core is there."""
    freeze_c: float
    """Temperature at or under which it is first frozen solid; the same as hold_c where the rule names none."""
    measured: bool
    """Whether only a measured temperature counts."""


FOOD_CODE = "FDA Food Code 3-402.11(A), as adopted in Washington Administrative Code 246-215-03425"
EUROPE = "Regulation (EC) 853/2004, Annex III, Section VIII, Chapter III, part D, as replaced by (EU) 1276/2011"
EXTENSION = "University of Alaska Fairbanks Extension, Smoking Fish at Home (second hand)"

EXTENSION_F = 0.0
EXTENSION_C = (EXTENSION_F - 32.0) / 1.8

FOOD_CODE_7_DAYS = Rule("food_code_1", "7 days at −20 °C (−4 °F)", FOOD_CODE, -20.0, 168.0, -20.0, measured=True)
FOOD_CODE_15_HOURS = Rule(
    "food_code_2", "solid at −35 °C (−31 °F), then 15 h there", FOOD_CODE, -35.0, 15.0, -35.0, measured=True
)
FOOD_CODE_24_HOURS = Rule(
    "food_code_3", "solid at −35 °C (−31 °F), then 24 h at −20 °C", FOOD_CODE, -20.0, 24.0, -35.0, measured=True
)
EU_24_HOURS = Rule("eu_1", "24 h at −20 °C in every part", EUROPE, -20.0, 24.0, -20.0, measured=True)
EU_15_HOURS = Rule("eu_2", "15 h at −35 °C in every part", EUROPE, -35.0, 15.0, -35.0, measured=True)
EXTENSION_14_DAYS = Rule(
    "extension", "14 days at −18 °C (0 °F)", EXTENSION, EXTENSION_C, 336.0, EXTENSION_C, measured=False
)

DEFAULT_RULES = (FOOD_CODE_7_DAYS, FOOD_CODE_15_HOURS, FOOD_CODE_24_HOURS, EXTENSION_14_DAYS)
"""Meeting any one is enough."""

EU_RULES = (EU_24_HOURS, EU_15_HOURS)
"""In place of the Food Code's where the site selects them."""


@dataclass(frozen=True, slots=True)
class Frozen:
    """A stretch of time in a freezer; stretches of a record follow each other without a break."""

    hours: float
    temp_c: float | None
    """The warmest it was; None where nobody knows."""
    measured: bool
    """By a thermometer, not by the freezer's label."""

    def __post_init__(self) -> None:
        """ValueError for a length or a temperature that is none."""
        if not self.hours >= 0:
            raise ValueError(f"a freezing of {self.hours} h is no time")
        if self.temp_c is not None and isnan(self.temp_c):
            raise ValueError("a temperature that nobody knows is None, not NaN")


State = Literal["met", "not_yet", "too_warm", "not_measured", "no_record"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One rule against one record."""

    rule: Rule
    state: State
    """not_yet: it will be, if the fish stays where it is; the others need another freezer, a thermometer, a record."""
    remaining_h: float
    """Hours still needed under the rule's conditions, the core's lag included; 0 if met."""

    @property
    def met(self) -> bool:
        """Whether the record meets the rule."""
        return self.state == "met"


@dataclass(slots=True)
class _Clock:
    """How far the run of cold now under way has come."""

    rule: Rule
    lag_h: float
    freezing_h: float = 0.0
    solid: bool = False
    held_h: float = 0.0

    def add(self, stretch: Frozen) -> None:
        """Count one stretch; a warmer one, or one that the rule cannot trust, starts the clock anew."""
        if not self._counts(stretch, self.rule.hold_c):
            self.freezing_h, self.solid, self.held_h = 0.0, False, 0.0
            return
        hours = stretch.hours if self.solid else self._freeze(stretch)
        self.held_h += hours

    def _freeze(self, stretch: Frozen) -> float:
        """Spend the stretch on freezing solid; hours of it that are left for holding."""
        if not self._counts(stretch, self.rule.freeze_c):
            self.freezing_h = 0.0
            return 0.0
        spent = min(stretch.hours, self.lag_h - self.freezing_h)
        self.freezing_h += spent
        self.solid = self.freezing_h >= self.lag_h - TOLERANCE
        return stretch.hours - spent

    def _counts(self, stretch: Frozen, temp_c: float) -> bool:
        known = stretch.temp_c is not None and stretch.temp_c <= temp_c + TOLERANCE
        return known and (stretch.measured or not self.rule.measured)

    @property
    def remaining_h(self) -> float:
        """Hours still needed if the run goes on."""
        freezing = 0.0 if self.solid else self.lag_h - self.freezing_h
        remaining = freezing + max(self.rule.hold_h - self.held_h, 0.0)
        return remaining if remaining > TOLERANCE else 0.0


def find(rule: Rule, record: Sequence[Frozen], core_lag_h: float = CORE_LAG_H) -> Finding:
    """One rule against a freezing record in order of time; once met it stays met."""
    clock = _Clock(rule, core_lag_h)
    for stretch in record:
        clock.add(stretch)
        if clock.remaining_h == 0.0 and clock.solid:
            return Finding(rule, "met", 0.0)
    return Finding(rule, _why_not(clock, record), clock.remaining_h)


def _why_not(clock: _Clock, record: Sequence[Frozen]) -> State:
    """What keeps the last stretch, which is where the fish is now, from meeting the rule."""
    if not record or record[-1].temp_c is None:
        return "no_record"
    needed_c = clock.rule.hold_c if clock.solid else clock.rule.freeze_c
    if record[-1].temp_c > needed_c + TOLERANCE:
        return "too_warm"
    return "not_yet" if record[-1].measured or not clock.rule.measured else "not_measured"


def findings(
    record: Sequence[Frozen], rules: Sequence[Rule] = DEFAULT_RULES, core_lag_h: float = CORE_LAG_H
) -> tuple[Finding, ...]:
    """Every rule against the record, in the order given."""
    return tuple(find(rule, record, core_lag_h) for rule in rules)


def any_met(found: Sequence[Finding]) -> bool:
    """Whether one of the rules is met; without a record none is."""
    return any(each.met for each in found)


def shortest_way(found: Sequence[Finding]) -> Finding | None:
    """The rule that the fish meets soonest if it stays where it is; None if it meets none there, or one already."""
    if any_met(found):
        return None
    return min((each for each in found if each.state == "not_yet"), key=lambda each: each.remaining_h, default=None)
