"""One step of a process file: what its keys may hold."""

from __future__ import annotations

import re
from functools import partial
from typing import TYPE_CHECKING, Literal

from scheduler.errors import BadSetting
from scheduler.household.process import ANCHOR, FREEZE, LIFT, Step, Wait
from scheduler.household.quantity import shown
from scheduler.household.toml_file import Table, a_flag, a_line, a_list, did_you_mean, is_line, one_of
from scheduler.household.units import parse_duration_h, parse_weight_g

if TYPE_CHECKING:
    from collections.abc import Callable

STEP_KEYS = (
    "name", "title", "hands_on", "leads_to", "comes_from", "wait", "household", "prefer", "branch", "during",
    "after", "skip_if", "note", "cautions",
)  # fmt: skip
WAIT_KEYS = ("least", "usual", "longest", "clock", "per_started", "weather")

SET_ELSEWHERE = {LIFT: ANCHOR, "burn_out": ANCHOR, "eat_by": LIFT, FREEZE: None}
"""Steps whose wait the site, the tray, the fridge and the freezer set, and the step it counts from (None: its own)."""

DRYING: Literal["drying"] = "drying"
"""What a forecast can set the least wait by."""

LONGEST_HANDS_ON_H = 16.0  # our judgement: how long somebody is awake
LONGEST_WAIT_H = 366 * 24.0
LONGEST_NOTE = 1000

_WORD = re.compile(r"[a-z0-9_]{1,40}")


def a_word(given: object) -> str:
    """A stable name: a-z, 0-9 and underscores."""
    word = a_line(given)
    if not _WORD.fullmatch(word):
        raise BadSetting(f"{shown(given)} is not one word of a-z, 0-9 and underscores: such as 'first_check'")
    return word


def a_caution(known: frozenset[str] | None) -> Callable[[object], str]:
    """A parser of the key of a caution, which must be known where it is known which there are."""

    def parse(given: object) -> str:
        word = a_word(given)
        if known is not None and word not in known:
            raise BadSetting(f"{shown(word)} is not the key of a caution; {did_you_mean(word, sorted(known))}")
        return word

    return parse


def step_place(values: dict[str, object], number: int) -> str:
    """How a message names the step: by its name, else by its place in the file."""
    name = values.get("name")
    return f"step {name}" if isinstance(name, str) and _WORD.fullmatch(name) else f"step number {number}"


def read_step(table: Table, known_cautions: frozenset[str] | None) -> Step:
    """The step that one [[step]] describes, its neighbour unchecked."""
    table.only(STEP_KEYS)
    name = table.need("name", a_word, 'name = "thaw"')
    leads_to, comes_from = table.read("leads_to", a_word, None), table.read("comes_from", a_word, None)
    if leads_to is not None and comes_from is not None:
        table.refuse("comes_from", f"stands beside leads_to = {leads_to!r}: a step has one of them")
    return Step(
        name=name,
        title=table.need("title", a_line, 'title = "Thaw in the fridge"'),
        hands_on_min=_hands_on_min(table),
        neighbour=comes_from if leads_to is None else leads_to,
        before=leads_to is not None,
        wait=_read_wait(table, name),
        household=table.read("household", a_flag, True),
        prefer=table.read("prefer", one_of("usual", "evening_end"), "usual"),
        branch=table.read("branch", one_of("food", "sawdust"), "food"),
        during=table.read("during", a_word, None),
        after=table.read("after", a_word, None),
        skip_if=table.read("skip_if", a_list(a_word), ()),
        note=table.read("note", _note, ""),
        cautions=table.read("cautions", a_list(a_caution(known_cautions)), ()),
    )


def _hands_on_min(table: Table) -> float:
    hours = table.need("hands_on", partial(parse_duration_h, what="the hands-on time"), 'hands_on = "10 min"')
    if hours > LONGEST_HANDS_ON_H:
        table.refuse("hands_on", f"{shown(table.values['hands_on'])} is more than the 16 h that somebody is awake")
    return round(hours * 60, 6)  # "7 min" is 7 again, not 7.000000000000001


def _read_wait(table: Table, name: str) -> Wait | None:
    """The wait; None for the lighting and for the steps whose wait is set elsewhere."""
    if name == ANCHOR or name in SET_ELSEWHERE:
        if "wait" in table.values:
            table.refuse("wait", f"{name} has none in a process: leave it out")
        return None
    example = '{ least = "24 h", usual = "24 h", longest = "48 h" }'
    if "wait" not in table.values:
        table.refuse("wait", f"is missing; write it such as wait = {example}")
    wait = table.table("wait", f"{table.place} wait", example)
    wait.only(WAIT_KEYS)
    least, usual, longest = (wait.need(key, _wait_h, f'{key} = "24 h"') for key in WAIT_KEYS[:3])
    if not least <= usual <= longest:
        given = ", ".join(f"{key} {shown(wait.values[key])}" for key in WAIT_KEYS[:3])
        table.refuse("wait", f"{given}: the usual wait lies between the least and the longest")
    clock, portion_g = wait.read("clock", a_flag, False), wait.read("per_started", _portion_g, None)
    weather = wait.read("weather", one_of(DRYING), None)
    if weather is not None and (portion_g is not None or table.values.get("branch") != "sawdust"):
        table.refuse("wait", 'weather = "drying" is for a step of branch = "sawdust", without per_started')
    if weather is not None and "leads_to" not in table.values:
        table.refuse("wait", 'weather = "drying" is for a step before the lighting: one with leads_to')
    return Wait(least, usual, longest, "clock" if clock else "elapsed", portion_g, weather)


def _wait_h(given: object) -> float:
    hours = parse_duration_h(given, "a wait")
    if hours > LONGEST_WAIT_H:
        raise BadSetting(f"{shown(given)} is longer than a year: such as '48 h'")
    return hours


def _portion_g(given: object) -> float:
    weight = parse_weight_g(given, "a portion")
    if weight < 1:
        raise BadSetting(f"{shown(given)} is no portion to count by: such as '2.3 kg'")
    return weight


def _note(given: object) -> str:
    """Text that may run over several lines of the file; it is one paragraph."""
    if not isinstance(given, str):
        raise BadSetting(f"{shown(given)} is not text: write it in quotes")
    note = " ".join(given.split())
    if (note and not is_line(note)) or len(note) > LONGEST_NOTE:
        raise BadSetting(f"{shown(given)} is not a note: write plain text of {LONGEST_NOTE} characters at most")
    return note
