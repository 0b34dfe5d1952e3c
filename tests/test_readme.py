"""What the README says can be done: its commands run, its output is the real one, and CI does what it tells.

`python tests/test_readme.py` puts the current output under each capture mark.
"""

from __future__ import annotations

import re
import shlex
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
import shapes
from command import ROOT, Shell
from loopback import json_page
from typer.main import get_command

from scheduler.faces.commands import app

README = ROOT / "README.md"
CAPTURE = re.compile(r"(?P<mark><!-- capture: smokenight (?P<args>.+) -->\n```\n)(?P<shown>.*?)(?=```\n)", re.DOTALL)
BLOCK = re.compile(r"^```\n(.*?)^```\n", re.DOTALL | re.MULTILINE)
FLAG = re.compile(r"(?<![\w-])--[a-z][a-z-]*")
COMMANDS = get_command(app).commands  # type: ignore[attr-defined]


def text() -> str:
    return README.read_text("utf-8")


def lines(start: str) -> list[str]:
    """Lines of the README's blocks that begin so."""
    blocks = "\n".join(BLOCK.findall(text()))
    return [line for line in blocks.splitlines() if line.startswith(start)]


def said(args: str, home: Path) -> str:
    """What a command prints at 80 columns, without colour."""
    done = Shell(home).run(*shlex.split(args))
    assert done.code == 0, done.err
    return done.out


@pytest.mark.parametrize("args", [found["args"] for found in CAPTURE.finditer(text())])
def test_the_output_shown_is_the_real_one(args, tmp_path):
    shown = next(found["shown"] for found in CAPTURE.finditer(text()) if found["args"] == args)
    assert shown == said(args, tmp_path), (
        "the output has changed: run `python tests/test_readme.py`, and look at the diff"
    )


def test_there_is_an_output_of_the_main_job():
    assert [found["args"].split()[:2] for found in CAPTURE.finditer(text())] == [["next", "--sample"]]


def command_of(words):
    """The command that the words begin with, inside its group where it has one."""
    command = COMMANDS[words[0]]
    return command.commands[words[1]] if hasattr(command, "commands") else command


def options(command):
    """Every option of a command, and of those inside it."""
    inside = getattr(command, "commands", {}).values()
    return {option for param in command.params for option in param.opts}.union(*map(options, inside))


def with_a_plan(home):
    """A journal with a batch that has a night."""
    kept = home / "journal.sqlite"
    for words in (("batch", "new", "--frozen", "2026-09-20", "--at", "-20 C"), ("plan",)):
        done = Shell(home).run(*words, "--sample", "--now", "2026-10-17T14:00", "--journal", kept)
        assert done.code == 0, done.err
    return kept


OF_A_SITE_FILE = ("setup", "serve", "address")
"""Commands that the invented site does not do."""
ASKED = [line for line in lines("smokenight ") if shlex.split(line, comments=True)[1] not in OF_A_SITE_FILE]


@pytest.mark.parametrize("line", ASKED)
def test_every_command_shown_runs_on_the_sample(line, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    _, *words = shlex.split(line, comments=True)
    known = options(command_of(words))
    sample = ["--sample", "--now", "2026-10-18T14:00"] if "--sample" in known else []
    kept = ["--journal", with_a_plan(tmp_path)] if "--journal" in known else []
    done = Shell(tmp_path).run(*words, *sample, *kept)
    assert (done.code, "Traceback" in done.err) == (0, False), done.err
    assert all((tmp_path / name).exists() for name in words if name.endswith((".ics", ".jsonl")))


def test_set_up_as_shown_writes_a_site_file(tmp_path, server):
    found = shapes.open_meteo_places()
    server.pages["/v1/search"] = json_page({"results": found["results"][:1]})
    (line,) = [line for line in lines("smokenight ") if "setup" in line]
    shell = Shell(tmp_path, {"SMOKENIGHT_PLACES_URL": f"{server.url}/v1/search"})
    done = shell.process(*shlex.split(line, comments=True)[1:])
    assert done.code == 0, done.err
    assert shell.site_file.exists()
    shown = shell.process("address")
    assert (shown.code, shown.out.count("/s/")) == (0, 2), shown.err


def test_every_command_is_shown():
    assert {shlex.split(line, comments=True)[1] for line in lines("smokenight ")} == set(COMMANDS)


def test_every_flag_named_exists():
    known = set().union(*map(options, COMMANDS.values()))
    named = set(FLAG.findall(text()))
    assert len(named) > 10
    assert named - known - {"--help"} == set()


def test_every_file_named_exists():
    named = re.findall(r"`([\w/]+/[\w.]+)`", text())
    assert named
    assert [name for name in named if not (ROOT / name).exists()] == []


def test_ci_runs_the_two_commands_that_set_up():
    shown = lines("pip install ")
    assert len(shown) == 2
    ci = (ROOT / ".ci" / "run").read_text("utf-8").splitlines()
    assert [line for line in shown if line not in ci] == []


def refresh() -> None:
    """Put the current output under each capture mark."""
    with TemporaryDirectory() as home:
        new = CAPTURE.sub(lambda found: found["mark"] + said(found["args"], Path(home)), text())
    README.write_text(new, "utf-8")


if __name__ == "__main__":
    refresh()
