"""The table of sources in DEVELOPERS.md against the code: every row holds, and no figure is without a row."""

from __future__ import annotations

import ast
import dataclasses
import re
from datetime import timedelta
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[1]
HEADING = "## Every number and its source"
COLUMNS = ["module", "name", "value", "unit", "source", "status"]
STATUSES = (
    "read", "second hand", "from memory", "practice", "estimate", "judgement", "exact", "computed", "convention",
)  # fmt: skip

LOOKED_AT = ("scheduler/science", "scheduler/planning", "scheduler/household", "scheduler/journal")
"""Where a figure without a row is a defect; of the rest the table has what is literature or judgement."""

NO_FIGURES = {
    "how finely a computer works": {
        "TOLERANCE", "TOLERANCE_C", "SAME_C", "FLAT_C", "NODES", "CERTAIN_Z", "SHORTEST_SERIES", "EDGE_S",
        "LOOK_BESIDE_S", "SECTIONS", "MICROMINUTES",
    },
    "clocks and calendars": {"HOUR_S", "MINUTE_S", "DAY_S", "NOON_MIN", "DAY_MIN"},
    "guards on files": {
        "LARGEST_BYTES", "LONGEST_LINE", "LONGEST_ADDRESS", "LONGEST_NOTE", "LONGEST_SHOWN", "LONGEST_WAIT_H",
    },
    "places in a tuple, and no end": {"TYPICAL", "HIGH", "LONGEST_FROZEN_H"},
    "versions of our own formats": {"VERSION"},
}  # fmt: skip
"""Numbers that say nothing of the world."""


def rows() -> list[dict[str, str]]:
    """The table's rows by column."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition(HEADING)[2]
    lines = [line for line in text.splitlines() if line.startswith("|")]
    cells = [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]
    assert cells[0] == COLUMNS
    return [dict(zip(COLUMNS, row, strict=True)) for row in cells[2:]]


ROWS = rows()
FIGURES = [
    (row["module"], name, value, row["unit"])
    for row in ROWS
    for name, value in zip(re.findall("`(.+?)`", row["name"]), re.findall("`(.+?)`", row["value"]), strict=True)
]

ONE = {"h": timedelta(hours=1), "min": timedelta(minutes=1), "s": timedelta(seconds=1)}


def in_code(module: str, name: str) -> Any:
    """The value of a name, an attribute of it, a field's default, or an entry."""
    first, attribute, key = re.fullmatch(r'(\w+)(?:\.(\w+))?(?:\["(.+)"\])?', name).groups()
    found = getattr(import_module(module), first)
    if key is not None:
        return found[key]
    if attribute is not None and isinstance(found, type):
        return next(field.default for field in dataclasses.fields(found) if field.name == attribute)
    return found if attribute is None else getattr(found, attribute)


def numbers_in(path: Path) -> set[str]:
    """Names in capitals that a module gives a bare number, or several."""
    found = set()
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if not isinstance(node, ast.Assign | ast.AnnAssign) or node.value is None:
            continue
        targets = node.targets if isinstance(node, ast.Assign) else [node.target]
        names = {each.id for target in targets for each in ast.walk(target) if isinstance(each, ast.Name)}
        inside = [each for each in ast.walk(node.value) if isinstance(each, ast.Constant)]
        bare = not any(isinstance(each, ast.Name | ast.Call) for each in ast.walk(node.value))
        if bare and any(type(each.value) in (int, float) for each in inside):
            found |= {name for name in names if name.isupper() and not name.startswith("_")}
    return found


@pytest.mark.parametrize(("module", "name", "value", "unit"), FIGURES, ids=lambda part: str(part)[:60])
def test_a_row_holds_in_the_code(module, name, value, unit):
    found = in_code(module, name)
    if isinstance(found, timedelta):
        found /= ONE[unit]
    assert found == pytest.approx(ast.literal_eval(value), rel=1e-12, abs=1e-15)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["name"][:60])
def test_a_row_says_how_sure_it_is(row):
    assert row["status"].startswith(STATUSES)
    assert row["source"] != "-" or row["status"].startswith(STATUSES[2:6]), "what was read was read somewhere"


@pytest.mark.parametrize(
    "path", [path for folder in LOOKED_AT for path in sorted(ROOT.glob(f"{folder}/*.py"))], ids=lambda path: path.stem
)
def test_a_number_of_the_core_has_a_row(path):
    module = ".".join(path.relative_to(ROOT).with_suffix("").parts)
    told = {re.split(r"[.\[]", name)[0] for of, name, _, _ in FIGURES if of == module}
    left = numbers_in(path) - told - set().union(*NO_FIGURES.values())
    assert not left, f"{module}: {', '.join(sorted(left))}: add a row to the table in DEVELOPERS.md"


def test_no_figure_stands_twice():
    names = [(module, name) for module, name, _, _ in FIGURES]
    assert len(set(names)) == len(names)
