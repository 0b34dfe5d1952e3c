"""The thresholds of replanning as a site file's [replan] section says them, read and written."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from scheduler.household.policy import Policy
from scheduler.household.quantity import DIFFERENCE, DURATION, exact_text, short
from scheduler.household.site_values import chance
from scheduler.household.toml_file import within
from scheduler.household.units import parse_difference_k, parse_duration_h

if TYPE_CHECKING:
    from collections.abc import Callable

    from scheduler.household.toml_file import Table

LONGEST_POLICY_H = 14 * 24.0
"""Our judgement: no forecast worth a plan reaches further, so a longer time would be a slip of the unit."""
MOST_SLACK_K = 5.0
"""Our judgement: who lets the floor be missed by more had better lower the floor."""
LONGEST_SHIFT_MIN = 12 * 60.0
"""Our judgement: what moves a lighting by more than half a day moves it to another night."""
MICROMINUTES = 6
"""Decimals of a minute that a file keeps."""


@dataclass(frozen=True, slots=True)
class _Key:
    """One key of the section."""

    field: str
    parse: Callable[[object], float]
    text: Callable[[float], str]
    note: str


def chance_text(value: float) -> str:
    """A probability with two decimals, or with as many as it has."""
    text = f"{value:.2f}"
    return text if float(text) == value else repr(value)


def _hours_text(hours: float) -> str:
    return f'"{exact_text(hours, DURATION, "metric")}"'


def _minutes_text(minutes: float) -> str:
    return f'"{short(minutes, MICROMINUTES)} min"'


def _minutes(given: object, what: str) -> float:
    return round(parse_duration_h(given, what) * 60.0, MICROMINUTES)


def _chance(field: str, note: str) -> _Key:
    return _Key(field, chance, chance_text, note)


def _hours(field: str, what: str, note: str) -> _Key:
    problem = "is not a time of 0 h to 14 d: such as '24 h'"
    return _Key(field, within(partial(parse_duration_h, what=what), 0, LONGEST_POLICY_H, problem), _hours_text, note)


def _shift(field: str, what: str, note: str) -> _Key:
    problem = "is not a shift of 0 min to 12 h: such as '30 min'"
    return _Key(field, within(partial(_minutes, what=what), 0, LONGEST_SHIFT_MIN, problem), _minutes_text, note)


def _slack(field: str, note: str) -> _Key:
    problem = "is not a slack of 0 C to 5 C: such as '1 C'"
    parse = within(partial(parse_difference_k, what="the floor's slack"), 0, MOST_SLACK_K, problem)
    return _Key(field, parse, lambda slack_k: f'"{exact_text(slack_k, DIFFERENCE, "metric")}"', note)


_KEYS = {
    "must_below": _chance("must_below", "a plan whose night is less likely than this has to move"),
    "gain": _chance("gain", "what another night must be better by"),
    "gain_twice": _chance("gain_twice", "the same, where two forecasts in a row say so"),
    "gain_committed": _chance("gain_committed", "the same, once work for the night has begun"),
    "runs_apart": _hours("runs_apart_h", "the time between two forecasts", "least time between those two forecasts"),
    "lock": _hours("lock_h", "the lock", "before the lighting: from then on a plan stays, and is on or off"),
    "move_every": _hours("move_every_h", "the time between two moves", "least time between two moves that need not be"),
    "ignore": _shift("ignore_min", "the shift", "a lighting is not moved by less"),
    "ignore_committed": _shift("ignore_committed_min", "the shift", "the same, once work for the night has begun"),
    "hysteresis": _chance("hysteresis", "how far a chance must fall under its verdict's before a plan loses that"),
    "go": _chance("go", "least chance to light on the day, with fish in its cure and no better night in reach"),
    "floor_slack": _slack("floor_slack_k", "how far under the floor the air may fall before an adopted plan moves"),
    "begin": _chance("begin", "least chance of a night before the food's first step for it, such as the thaw"),
}

REPLAN_KEYS = tuple(_KEYS)
"""Keys of the section, in the order of a file."""


def replan_lines(policy: Policy) -> list[str]:
    """The section's lines; what is usual stands behind a mark, so that it stays what is usual."""
    usual, lines = Policy(), []
    for name, key in _KEYS.items():
        value = getattr(policy, key.field)
        mark = "# " if value == getattr(usual, key.field) else ""
        lines.append(f"{mark}{name} = {key.text(value)}  # {key.note}")
    return lines


def read_policy(table: Table, borderline: float) -> Policy:
    """The section's policy; BadSetting where two thresholds contradict each other."""
    usual = Policy()
    read = {key.field: table.read(name, key.parse, getattr(usual, key.field)) for name, key in _KEYS.items()}
    policy = Policy(**read)
    if "must_below" in table.values and policy.must_below > borderline:
        problem = f"{chance_text(policy.must_below)} is over [verdict] borderline = {chance_text(borderline)}"
        table.refuse("must_below", f"{problem}, so a plan would have to move as soon as it is made: lower it")
    _in_order(table, policy, "gain_twice", "gain")
    _in_order(table, policy, "gain_twice", "gain_committed")
    _in_order(table, policy, "ignore", "ignore_committed")
    return policy


def _in_order(table: Table, policy: Policy, low: str, high: str) -> None:
    """Refuse a threshold that is above the one it may at most equal."""
    less, more = _KEYS[low], _KEYS[high]
    low_value, high_value = getattr(policy, less.field), getattr(policy, more.field)
    if low_value > high_value:
        problem = f"{less.text(low_value)} is over {high} = {more.text(high_value)}"
        table.refuse(low, f"{problem}: lower it, or raise {high}")
