"""Imports only ever point down a floor, and the core stays free of network, disk and command line."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

FLOORS = {
    "providers": 1,
    "scheduler.errors": 0,
    "scheduler.household": 1,
    "scheduler.science": 1,
    "scheduler.planning": 2,
    "scheduler.journal": 2,
    "scheduler.service": 3,
    "scheduler.faces": 4,
    "scheduler.__main__": 5,
}
PURE = ("scheduler.planning", "scheduler.science", "scheduler.household")
TIMELESS = ("scheduler.planning", "scheduler.science", "scheduler.journal")
ON_DISK = ("scheduler.journal.files", "scheduler.journal.store")
"""The only modules of the journal that need SQLite."""
SOURCES = sorted([*ROOT.glob("providers/**/*.py"), *ROOT.glob("scheduler/**/*.py")])


def module_name(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def room(name: str) -> str | None:
    return next((r for r in sorted(FLOORS, key=len, reverse=True) if name == r or name.startswith(r + ".")), None)


def imports(path: Path) -> set[str]:
    """Names of modules imported anywhere in the file, at its top or inside a function."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: imports are absolute here"
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return found


@pytest.mark.parametrize("path", SOURCES, ids=module_name)
def test_imports_never_point_up_a_floor(path):
    own = room(module_name(path))
    if own is None:
        return
    for name in imports(path):
        other = room(name)
        if other is not None and other != own:
            assert FLOORS[other] < FLOORS[own], f"{module_name(path)} must not import {name}"


@pytest.mark.parametrize("path", [p for p in SOURCES if module_name(p).startswith("providers")], ids=module_name)
def test_the_weather_knows_nothing_of_the_scheduler(path):
    assert not [name for name in imports(path) if name.startswith("scheduler")]


@pytest.mark.parametrize("path", [p for p in SOURCES if module_name(p).startswith(TIMELESS)], ids=module_name)
def test_the_core_reads_no_clock_and_no_file(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    called = {ast.unparse(node.func) for node in ast.walk(tree) if isinstance(node, ast.Call)}
    forbidden = {"open", "datetime.now", "datetime.utcnow", "date.today", "time.time", "os.environ.get"}
    assert not called & forbidden


CORE = sorted(
    {m for m in map(module_name, SOURCES) if m.startswith((*PURE, "scheduler.journal", "scheduler.service"))}
    - {*ON_DISK}
)


def test_the_core_imports_without_network_storage_or_command_line():
    program = (
        f"import importlib, sys\nfor name in {CORE!r}:\n    importlib.import_module(name)\n"
        "print(sorted({'requests', 'sqlite3', 'typer', 'http.server', 'icalendar', 'pandas'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("name", [n for n in CORE if n.count(".") > 1])
def test_each_core_module_imports_alone(name):
    subprocess.run([sys.executable, "-c", f"import {name}"], cwd=ROOT, check=True)


ENTRY = {"scheduler.faces.cli": {"scheduler.__main__"}, "scheduler.faces.commands": {"scheduler.faces.cli"}}
"""The command line from its entry on, and who alone may import it: commands go in no circle."""


@pytest.mark.parametrize("entry", ENTRY)
def test_no_command_imports_the_command_line(entry):
    importing = {
        module_name(path) for path in SOURCES if any(f"{name}.".startswith(f"{entry}.") for name in imports(path))
    }
    assert importing == ENTRY[entry]
