"""Process files: the chain of steps as TOML, shipped with the package or a household's own."""

from __future__ import annotations

import re
from functools import cache, partial
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from scheduler.errors import BadBatch, BadProcess, BadSetting
from scheduler.household import site_values
from scheduler.household.foods import a_food
from scheduler.household.process import UNSTARTED, Cure, Process, Smoke
from scheduler.household.process_steps import a_caution, a_word, read_step, step_place
from scheduler.household.process_tree import check_tree
from scheduler.household.quantity import shown
from scheduler.household.toml_file import (
    Table,
    a_line,
    a_list,
    did_you_mean,
    file_name,
    read_file,
    read_toml,
    within,
)
from scheduler.household.units import parse_duration_h, parse_share_pct

if TYPE_CHECKING:
    from scheduler.household.process import Step

PROCESS_KEYS = ("name", "title", "foods", "unstarted", "cautions", "smoke", "cure", "step")
CURE_KEYS = ("salt", "sugar", "loss")
NO_NITRITE = (
    "nitrite is not worked out here: a slip of a gram is dangerous, and what the law allows is for licensed plants"
    " (21 CFR 172.175); leave it out"
)
NITRITE_KEYS = ("nitrite", "nitrate", "curing_salt", "saltpetre", "saltpeter")
SMOKE_KEYS = ("ceiling", "duration", "longest")

SHORTEST_SMOKE_H = 1.0  # our judgement: less is no smoke that a night has to be picked for
LONGEST_LIFT_H = 20.0  # the most hours of a cold smoke that a site has

_NO_FILE = "name a process file, or leave --process out for the one that ships with the tool"
_NAME = re.compile(r"[a-z0-9_-]{1,40}")


def load_process(path: Path | str, known_cautions: frozenset[str] | None = None) -> Process:
    """The process in a household's file; BadProcess, one line, for the first thing that cannot be followed.

    known_cautions: keys that cautions may have; None takes any.
    """
    path = Path(path)
    return process_from(read_file(path, _NO_FILE, BadProcess), file_name(path), known_cautions)


@cache
def shipped_processes(known_cautions: frozenset[str] | None = None) -> tuple[Process, ...]:
    """Every process that ships with the package, in order of file name."""
    folder = files("scheduler.household") / "processes"
    shipped = sorted((each for each in folder.iterdir() if each.name.endswith(".toml")), key=lambda each: each.name)
    return tuple(process_from(each.read_bytes(), each.name, known_cautions) for each in shipped)


def shipped_process(food: str, known_cautions: frozenset[str] | None = None) -> Process:
    """The shipped process for that food; BadBatch for a food it does not know, or one that needs other controls."""
    wanted = a_food(food)
    shipped = shipped_processes(known_cautions)
    for process in shipped:
        if wanted in process.foods:
            return process
    known = [each for process in shipped for each in process.foods]
    raise BadBatch(f"there is no process for {shown(food)}; {did_you_mean(wanted, known)}")


def process_from(data: bytes, file: str, known_cautions: frozenset[str] | None = None) -> Process:
    """The process in the bytes of a process file; messages call it `file`."""
    whole = read_toml(data, file, BadProcess)
    whole.only(PROCESS_KEYS)
    unstarted = whole.read("unstarted", _unstarted, UNSTARTED)
    process = Process(
        name=whole.need("name", _name, 'name = "dry-salted-fish"'),
        title=whole.need("title", a_line, 'title = "Dry-salted fish, cold-smoked"'),
        foods=whole.need("foods", _foods, 'foods = ["salmon"]'),
        cure=_cure(whole),
        steps=_steps(whole, known_cautions),
        cautions=whole.read("cautions", a_list(a_caution(known_cautions)), ()),
        unstarted=unstarted,
        smoke=_smoke(whole),
    )
    check_tree(process.steps, partial(_refuse, file), unstarted)
    return process


def _refuse(file: str, where: str, problem: str) -> NoReturn:
    raise BadProcess(f"{file}: {where} {problem}")


def _name(given: object) -> str:
    name = a_line(given)
    if not _NAME.fullmatch(name):
        raise BadSetting(f"{shown(given)} is not a short name of a-z, 0-9 and hyphens: such as 'dry-salted-fish'")
    return name


def _foods(given: object) -> tuple[str, ...]:
    foods = a_list(a_food)(given)
    if not foods:
        raise BadSetting('[] names no food: such as ["salmon", "trout"]')
    return foods


def _unstarted(given: object) -> tuple[str, ...]:
    states = a_list(a_word)(given)
    if not states:
        raise BadSetting('[] names no state of a food that has not begun: such as ["frozen", "fresh"]')
    return states


def _smoke(whole: Table) -> Smoke:
    """What the food itself asks of the smoke; its longest time goes with a planned one that is no longer."""
    table = whole.table("smoke", "[smoke]")
    table.only(SMOKE_KEYS)
    planned = within(
        partial(parse_duration_h, what="the smoke's duration"),
        SHORTEST_SMOKE_H,
        site_values.LONGEST_SMOKE_H,
        f"is not a smoke of {SHORTEST_SMOKE_H:g} h to {site_values.LONGEST_SMOKE_H:g} h: such as '3 h'",
    )
    latest = within(
        partial(parse_duration_h, what="the longest smoke"),
        SHORTEST_SMOKE_H,
        LONGEST_LIFT_H,
        f"is not {SHORTEST_SMOKE_H:g} h to {LONGEST_LIFT_H:g} h: such as '6 h'",
    )
    smoke = Smoke(
        ceiling_c=table.read("ceiling", site_values.ceiling_c, None),
        duration_h=table.read("duration", planned, None),
        longest_h=table.read("longest", latest, None),
    )
    if smoke.longest_h is not None and (smoke.duration_h is None or smoke.duration_h > smoke.longest_h):
        table.refuse("longest", 'goes with a duration that is no longer: such as duration = "3 h", longest = "6 h"')
    return smoke


def _cure(whole: Table) -> Cure | None:
    if "cure" not in whole.values:
        return None
    cure = whole.table("cure", "[cure]")
    for key in NITRITE_KEYS:
        if key in cure.values:
            cure.refuse(key, f"is refused: {NO_NITRITE}")
    cure.only(CURE_KEYS)
    loss = within(partial(parse_share_pct, what="the loss"), 0, 99, "leaves nothing of the food: such as '12 %'")
    return Cure(
        salt_pct=cure.need("salt", partial(parse_share_pct, what="the salt"), 'salt = "12 %"'),
        sugar_pct=cure.need("sugar", partial(parse_share_pct, what="the sugar"), 'sugar = "12 %"'),
        loss_pct=cure.need("loss", loss, 'loss = "12 %"'),
    )


def _steps(whole: Table, known_cautions: frozenset[str] | None) -> tuple[Step, ...]:
    tables = whole.values.get("step", [])
    if not isinstance(tables, list) or not all(isinstance(each, dict) for each in tables):
        whole.refuse("step", "is not a list of steps: write each under a line [[step]], with two brackets")
    if not tables:
        whole.refuse("step", "there are no steps: write each under a line [[step]]")
    return tuple(
        read_step(Table(whole.file, step_place(each, number), each, whole.error), known_cautions)
        for number, each in enumerate(tables, start=1)
    )
