"""Cheese and salt at the command line: a process is data."""

from __future__ import annotations

import json
import unicodedata

import pytest
from typer.testing import CliRunner

from scheduler.errors import SchedulerError
from scheduler.faces.commands import app
from scheduler.faces.wording import NO_SOURCE

NOW = ("--sample", "--now", "2026-10-17T14:00")


def run(command: str, *words: str, columns: int = 80) -> str:
    done = CliRunner().invoke(app, [command, *NOW, *words], env={"COLUMNS": str(columns)}, catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.stdout


def plan(*words: str):
    return json.loads(run("next", "--json", *words))["plan"]


def refused(*words: str) -> str:
    done = CliRunner().invoke(app, ["next", *NOW, *words])
    assert isinstance(done.exception, SchedulerError), done.output
    return str(done.exception)


def test_cheese_is_planned_under_its_own_ceiling_for_its_own_length():
    found = plan("--food", "cheese")
    assert (found["night"]["ceiling_c"], found["night"]["duration_h"]) == (10.0, 3.0)
    assert found["night"]["peak_c"] <= 10.0
    text = " ".join(run("next", "--food", "cheese").split())
    assert f"smoke 3 h to 6 h, ceiling 10.0 °C, as the process hard-cheese asks ({NO_SOURCE})" in text


def test_nights_are_judged_by_the_food_that_is_asked_for():
    fish, cheese = (json.loads(run("nights", "--json", "--food", food))["nights"] for food in ("salmon", "cheese"))
    assert {night["ceiling_c"] for night in cheese} == {10.0}
    assert {night["ceiling_c"] for night in fish} == {15.56}
    assert "as the process hard-cheese asks" in " ".join(run("nights", "--food", "cheese").split())
    assert "as the process" not in run("nights")


def test_the_cheese_is_lifted_within_its_longest_smoke():
    steps = {step["name"]: step["at"] for step in plan("--food", "cheese")["steps"]}
    from datetime import datetime, timedelta

    light, lift, taste = (datetime.fromisoformat(steps[name]) for name in ("light", "lift", "taste"))
    assert timedelta(hours=3) <= lift - light <= timedelta(hours=6)
    assert taste - lift >= timedelta(days=7)


def test_salt_keeps_the_sites_ceiling_and_length():
    found = plan("--food", "salt")
    assert (found["night"]["ceiling_c"], found["night"]["duration_h"]) == (15.56, 12.0)
    assert "as the process" not in run("next", "--food", "salt")


@pytest.mark.parametrize(("food", "first"), [("cheese", "unwrap"), ("salt", "lay_out")])
def test_only_sawdust_is_weighed_where_there_is_no_cure(food, first):
    found = plan("--food", food)
    assert (found["salt_g"], found["sugar_g"]) == (None, None)
    assert found["sawdust_g"] > 0
    assert found["steps"][0]["name"] == first
    assert not {"thaw", "freeze", "salt", "rinse", "eat_by"} & {step["name"] for step in found["steps"]}


def test_salt_is_told_nothing_of_food_and_all_of_fire():
    text = " ".join(run("next", "--food", "salt").split())
    for word in ("fridge", "parasites", "pregnant", "dogs", "vacuum", "fish"):
        assert word not in text
    for word in ("carbon monoxide", "Burn bans", "outdoors", "metal can", "strong wind"):
        assert word in text


@pytest.mark.parametrize("food", ["cheese", "salt"])
def test_a_food_starts_in_the_first_state_of_its_process(food):
    assert f" of {food}, ready" in run("next", "--food", food)
    assert "salmon, frozen" in run("next")


def test_a_state_of_another_food_is_answered_with_its_own():
    assert "choose one of: ready, unwrapped" in refused("--food", "cheese", "--fish", "frozen")
    assert "choose one of: frozen, fresh, " in refused("--fish", "ready")
    assert "not with ready cheese" in refused("--food", "cheese", "--since", "2026-10-17T12:00")


def test_cheese_on_its_way_is_planned_on():
    found = plan("--food", "cheese", "--fish", "unwrapped", "--since", "2026-10-17T16:30", "--now", "2026-10-17T17:00")
    assert next(step for step in found["steps"] if step["name"] == "unwrap")["done"]


def test_sawdust_has_its_steps_for_every_food():
    done = CliRunner().invoke(app, ["next", *NOW, "--food", "salt", "--sawdust", "none", "--json"])
    assert done.exit_code in (0, 1)
    found = json.loads(done.stdout)["plan"]
    assert found is None or {"soak", "spread", "store"} <= {step["name"] for step in found["steps"]}


def test_a_process_file_is_asked_for_its_own_food_where_none_is_named(tmp_path):
    from importlib.resources import files

    path = tmp_path / "mine.toml"
    shipped = (files("scheduler.household") / "processes" / "hard_cheese.toml").read_text(encoding="utf-8")
    path.write_text(shipped.replace('["cheese", "hard cheese"]', '["goat cheese"]'), encoding="utf-8")
    assert " of goat cheese, ready" in run("next", "--process", str(path))
    assert "is for goat cheese; name one of them" in refused("--process", str(path), "--food", "salmon")


@pytest.mark.parametrize("columns", [40, 80])
@pytest.mark.parametrize("food", ["cheese", "salt"])
def test_no_line_is_wider_than_the_page(food, columns):
    for command in ("next", "nights"):
        lines = run(command, "--food", food, columns=columns).splitlines()
        assert max(sum(2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in line) for line in lines) <= columns


@pytest.mark.parametrize("food", ["cheese", "salt"])
def test_a_calendar_is_written_for_every_food(food, tmp_path):
    out = tmp_path / "smoke.ics"
    done = CliRunner().invoke(app, ["calendar", str(out), *NOW, "--food", food], catch_exceptions=False)
    assert done.exit_code == 0
    text = out.read_bytes().decode().replace("\r\n ", "")
    assert "fire may outlast the food" in text
