"""How the journal's answers look, and what programs are told."""

from __future__ import annotations

import json
import re

import pytest
from command import Shell

from scheduler.faces.terminal import visible_width

ASKED = ["as_of", "site", "forecast", "batches"]
REPLAN = ["batch", "identity", "change", "state", "cause", "must", "verdict", "headline", "why", "was_light",
          "was_lift", "was", "now", "plan", "proposed", "gain", "moved", "overdue", "lift_by", "ways_out"]  # fmt: skip


@pytest.fixture
def planned(tmp_path):
    """A shell with a journal in which one batch has a night: `planned(columns, moment, *command)`."""

    def run(columns, now, *args):
        shell = Shell(tmp_path, {"COLUMNS": str(columns)})
        done = shell.run(*args, "--sample", "--now", f"2026-10-{now}", "--journal", tmp_path / "j.sqlite")
        assert "Traceback" not in done.err
        return done

    assert (
        run(80, "17T14:00", "batch", "new", "--weight", "1.3 kg", "--frozen", "2026-09-20", "--at", "-20 C").code == 0
    )
    assert run(80, "17T14:00", "plan").code == 0
    return run


@pytest.mark.parametrize("columns", [40, 80])
def test_no_line_is_wider_than_the_page(planned, columns):
    pages = [
        planned(columns, "18T14:00", "batch").out,
        planned(columns, "22T14:00", "replan").out,
        planned(columns, "22T14:05", "history").out,
    ]
    assert max(visible_width(line) for page in pages for line in page.splitlines()) <= columns
    assert all(page.strip() for page in pages)


def test_replan_tells_programs_every_key_in_its_order(planned):
    done = planned(80, "18T14:00", "replan", "--json")
    told = json.loads(done.out)
    assert (list(told), list(told["batches"][0]), done.code) == (ASKED, REPLAN, 0)
    assert told["batches"][0]["change"] == "unchanged"


def test_the_same_journal_and_weather_give_the_same_answer(planned):
    first = planned(80, "17T15:00", "replan", "--json").out
    assert planned(80, "17T15:00", "replan", "--json").out == first


def test_one_forecast_is_logged_once(planned, tmp_path):
    planned(80, "17T15:00", "replan")
    planned(80, "17T15:05", "replan")
    exported = Shell(tmp_path).process("journal", "export", "-", "--journal", tmp_path / "j.sqlite").out
    assert exported.count('"forecast_logged"') == 1
    assert exported.count('"plan_adopted"') == 1
    planned(80, "18T15:00", "replan")
    exported = Shell(tmp_path).process("journal", "export", "-", "--journal", tmp_path / "j.sqlite").out
    assert exported.count('"forecast_logged"') == 2


def test_history_tells_programs_what_it_tells_people(planned):
    planned(80, "18T14:00", "note", "smells good")
    told = json.loads(planned(80, "18T14:05", "history", "--json").out)
    (batch,) = told["batches"]
    assert [record["kind"] for record in batch["records"]] == ["batch_opened", "plan_adopted", "note"]
    page = " ".join(planned(80, "18T14:05", "history").out.split())
    assert all(record["words"].removeprefix("salmon 1 opened: ") in page for record in batch["records"])


def test_a_household_that_is_away_is_planned_around(planned):
    told = planned(80, "17T14:10", "replan", "--away", "2026-10-23..2026-10-24")
    assert told.code == 10
    assert "Nobody is at home at a time of the plan." in told.out


def test_no_weather_to_be_had_changes_nothing(tmp_path):
    shell = Shell(tmp_path)
    site = tmp_path / "site.toml"
    site.write_text(
        '[site]\nname = "invented"\nlatitude = 45.0\nlongitude = -70.0\nzone = "America/New_York"\n', "utf-8"
    )
    args = ("--site", site, "--now", "2026-10-17T14:00")
    assert shell.run("batch", "new", *args).code == 0
    assert shell.run("plan", *args).code == 3
    assert "none adopted yet" in " ".join(shell.run("batch", *args).out.split())
    assert re.search(r"journal\.sqlite$", str(next(tmp_path.rglob("journal.sqlite"))))
