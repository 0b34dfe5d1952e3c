"""`smokenight cautions`: every caution on one page, and each of them at its step."""

from __future__ import annotations

import re
import unicodedata

import pytest
from typer.testing import CliRunner

from scheduler.faces.commands import app
from scheduler.household.process_file import shipped_process, shipped_processes
from scheduler.science.hazards import CAUTIONS, DEFERS, KNOWN, TOPICS

PROCESSES = shipped_processes(KNOWN)
NAMED = {key for p in PROCESSES for keys in (p.cautions, *(s.cautions for s in p.steps)) for key in keys}


def page(columns: int = 80) -> str:
    done = CliRunner().invoke(app, ["cautions"], env={"COLUMNS": str(columns)}, catch_exceptions=False)
    assert done.exit_code == 0
    return done.stdout


def joined(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("key", CAUTIONS)
def test_each_caution_stands_there_with_its_source_and_where_it_applies(key):
    caution = CAUTIONS[key]
    assert caution.source.strip()
    start = f"{joined(caution.text)} source: {joined(caution.source)} applies: "
    assert start in joined(page())
    assert re.match(r"[a-z`]", joined(page()).split(start)[1])


def test_each_caution_applies_somewhere():
    assert not [key for key, caution in CAUTIONS.items() if key not in NAMED and not caution.where]


def test_each_topic_has_its_cautions():
    text = page()
    places = [text.index(f"\n{topic.capitalize()}\n") for topic in TOPICS]
    assert places == sorted(places)
    assert text.index(CAUTIONS["ash"].text[:30]) > places[TOPICS.index("fire")]
    assert {caution.topic for caution in CAUTIONS.values()} == set(TOPICS)


def test_the_page_ends_by_deferring():
    assert joined(page()).endswith(joined(DEFERS))


@pytest.mark.parametrize("columns", [24, 40, 80])
def test_no_line_is_wider_than_the_page(columns):
    widths = [
        sum(2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in line) for line in page(columns).splitlines()
    ]
    assert max(widths) <= columns


@pytest.mark.parametrize("key", CAUTIONS)
def test_no_caution_calls_anything_safe_or_runs_on(key):
    assert not re.search(r"\b(un)?safe(ly)?\b", CAUTIONS[key].text, re.IGNORECASE)
    assert len(CAUTIONS[key].text) <= 260


@pytest.mark.parametrize(
    ("step", "keys"),
    [
        ("thaw", {"open_vacuum_packs"}),
        ("salt", {"two_hours_out", "thick_pieces", "wps_unknown"}),
        ("light", {"outdoors", "carbon_monoxide", "unattended", "no_lighter_fluid", "wind", "burn_bans"}),
        ("first_check", {"unattended"}),
        ("lift", {"fridge", "two_hours_out", "outlasts_food"}),
        ("slice", {"vacuum_frozen", "frozen_quality"}),
        ("eat_by", {"people_at_risk", "dogs", "frozen_quality"}),
        ("burn_out", {"outdoors", "outlasts_food"}),
        ("ash", {"ash"}),
    ],
)
def test_fish_has_the_right_caution_at_the_right_step(step, keys):
    assert keys <= set(shipped_process("salmon", KNOWN).step(step).cautions)


@pytest.mark.parametrize("process", PROCESSES, ids=lambda process: process.name)
def test_every_process_has_the_cautions_of_the_fire_at_the_lighting(process):
    fire = {key for key, caution in CAUTIONS.items() if caution.topic == "fire"}
    assert fire - {"ash", "outlasts_food"} <= set(process.step("light").cautions)
    assert "outlasts_food" in process.step("lift").cautions
    assert "ash" in process.step("ash").cautions
