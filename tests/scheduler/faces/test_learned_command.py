"""`learned` as people and programs see it, from journals of invented households."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest
from asked import SITE as ASKED_SITE
from asked import ask
from command import AT, SAMPLE
from learning_builders import DAY, SALMON, SITE, batch, forecast, forecasts_and_porch, lit, smoke

from scheduler.faces.learned_report import learned_json, learned_report
from scheduler.faces.next_report import next_report
from scheduler.faces.terminal import visible_width
from scheduler.household.process_file import shipped_process
from scheduler.household.site import Chamber, Tray
from scheduler.journal.learn import learn
from scheduler.journal.state import SiteState, StepDone

if TYPE_CHECKING:
    from pathlib import Path

    from command import Shell

NOW = datetime(2026, 3, 1, 12, tzinfo=UTC)
NAMES = ["bias_c", "burn_g_per_h", "rise_k", "drying_h", "loss_pct"]


def a_winter() -> SiteState:
    """Forty nights at the porch, and three smokes with all their weights, one of which burnt out."""
    state = forecasts_and_porch([(14.0, 12.8)] * 40, chance=0.9)
    longer = tuple(forecast(night, 14.0, lead_h=80.0, chance=0.6) for night in range(40))
    smokes = [smoke(0, 380.0, 200.0), smoke(1, 380.0, 188.0), smoke(2, 200.0, 0.0)]
    cured = (StepDone("salt", lit(0) - 3 * DAY, 1300.0), StepDone("rinse", lit(0) - DAY, 1092.0))
    smokes[0] = replace(smokes[0], done=(*cured, *smokes[0].done))
    return replace(state, batches=tuple(smokes), forecasts=(*state.forecasts, *longer))


def report(state: SiteState, site=SITE, width: int = 80, *, colour: bool = False, process=SALMON) -> str:
    return learned_report(learn(state, site, process), site, NOW, width, colour=colour)


def joined(text: str) -> str:
    return " ".join(text.split())


def test_without_a_journal_every_figure_is_the_shipped_one_and_says_what_to_write_down(shell: Shell) -> None:
    done = shell.run("learned", *SAMPLE)
    assert (done.code, done.err) == (0, "")
    said = joined(done.out)
    assert said.startswith("Nothing is learned yet, so every figure is the shipped one")
    assert said.count("own none yet: ") == 5
    assert "14.0 g/h (our estimate)" in said
    assert "12 % (common practice, no source)" in said
    assert "0 of 30 with a logged chance" in said


def test_programs_get_every_figure_with_its_bounds(shell: Shell) -> None:
    told = json.loads(shell.run("learned", *SAMPLE, "--json").out)
    assert list(told) == ["as_of", "site", "figures", "bias_by_lead", "scored_nights", "scores"]
    assert [one["name"] for one in told["figures"]] == NAMES
    assert all(one["value"] == one["shipped"] and one["own"] is None for one in told["figures"])
    assert all(one["low"] < one["shipped"] < one["high"] for one in told["figures"])
    assert told["scores"] is None


def test_what_was_recorded_by_commands_is_learned_from(shell: Shell, tmp_path: Path) -> None:
    kept = ("--sample", "--journal", tmp_path / "own.db")
    for words in (
        ("batch", "new", "--weight", "1.3 kg", "--since", "2026-10-01T10:00"),
        ("did", "salted", "--at", "2026-10-02T10:00"),
        ("did", "rinsed", "--at", "2026-10-04T10:00", "--weight", "1092 g"),
        ("did", "lit", "--at", "2026-10-04T18:00", "--sawdust", "380 g"),
        ("did", "lifted", "--at", "2026-10-05T06:00", "--left", "200 g"),
    ):
        done = shell.run(*words, *kept, *AT)
        assert done.code == 0, done.err
    told = {one["name"]: one for one in json.loads(shell.run("learned", *kept, *AT, "--json").out)["figures"]}
    assert (told["burn_g_per_h"]["own"], told["burn_g_per_h"]["value"]) == (15.0, 14.25)
    assert (told["loss_pct"]["own"], told["loss_pct"]["value"]) == (16.0, 13.0)
    assert joined(shell.run("learned", *kept, *AT).out).startswith("2 of 5 figures rest on your own nights by now.")


def test_a_journal_that_is_not_there_is_named(shell: Shell, tmp_path: Path) -> None:
    done = shell.run("learned", *SAMPLE, "--journal", tmp_path / "none.db")
    assert done.code == 2
    assert "none.db" in done.err


def test_each_figure_tells_its_use_its_shipped_value_the_own_records_and_its_bound() -> None:
    said = joined(report(a_winter()))
    assert (
        "How much too warm forecasts are at your porch now 1.0 °C too warm"
        " used for taken off every forecast before a night is judged shipped 0.0 °C"
    ) in said
    assert "own 40 nights, by themselves 1.2 °C too warm bound stays from 3.0 °C too cold to 3.0 °C too warm" in said
    assert "up to 2 days ahead 1.2 °C too warm (40 nights); 2 to 5 days 1.2 °C too warm (40 nights)" in said
    assert "own 2 smokes, by themselves 15.5 g/h; 1 further record cannot tell, and is set aside" in said
    assert "now 13 % used for the weight to expect after the cure" in said


def test_the_chances_are_told_beside_what_came() -> None:
    said = joined(report(a_winter()))
    assert "nights 40, of which 100 % stayed under the ceiling" in said
    assert "Brier 0.010, where always saying 100 % scores 0.000; as every night came out the same" in said
    assert "over 80 %: 40 nights, 90 % on average; 100 % held" in said


def test_a_skill_is_told_as_better_or_worse_than_always_saying_the_same() -> None:
    mixed = forecasts_and_porch([(14.0, 12.8), (14.0, 19.0)] * 20, chance=0.9)
    assert "where always saying 50 % scores 0.250: 64 % worse than that" in joined(report(mixed))


def test_a_rise_from_the_site_file_stands_and_the_report_says_so() -> None:
    assert "your site file says 5.0 °C in all, and that stands" in joined(
        report(SiteState(), replace(SITE, chamber=Chamber(rise_k=5.0)))
    )


def test_a_household_of_other_units_reads_its_own() -> None:
    said = joined(report(a_winter(), replace(SITE, units="us")))
    assert "°C" not in said
    assert " g/h" not in said
    assert "now 1.7 °F too warm" in said
    assert "0.49 oz/h (our estimate)" in said


def test_a_process_without_sawdust_or_cure_tells_of_neither() -> None:
    cheese = report(SiteState(), process=shipped_process("cheese"))
    assert "cure" not in cheese.lower()
    assert "How fast the tray burns" in cheese


def test_a_bare_batch_is_no_record() -> None:
    assert report(SiteState((batch(0),))) == report(SiteState())


@pytest.mark.parametrize("width", [24, 50, 80, 100])
@pytest.mark.parametrize("state", [SiteState(), a_winter()], ids=["empty", "a winter"])
def test_no_line_is_wider_than_the_page_with_colour_or_without(state: SiteState, width: int) -> None:
    for colour in (False, True):
        assert max(map(visible_width, report(state, width=width, colour=colour).splitlines())) <= width


def test_colour_only_repeats_what_the_words_say() -> None:
    import re

    coloured = report(a_winter(), colour=True)
    assert re.sub("\x1b\\[[0-9;]*m", "", coloured) == report(a_winter())


def test_text_and_json_tell_the_same_values() -> None:
    told = learned_json(learn(a_winter(), SITE, SALMON), SITE, NOW)
    by_name = {one["name"]: one["value"] for one in told["figures"]}
    assert (by_name["bias_c"], round(by_name["burn_g_per_h"], 1), by_name["loss_pct"]) == (0.96, 14.6, 13.0)
    assert "14.6 g/h" in report(a_winter())
    assert [one["records"] for one in told["bias_by_lead"]] == [40, 40, 0]


def test_a_plan_says_that_the_trays_rate_is_the_households_own() -> None:
    site = replace(ASKED_SITE, tray=Tray(g_per_h=11.0))
    own, shipped = (joined(next_report(ask(site=each), 80, colour=False)) for each in (site, ASKED_SITE))
    assert "(by your own smokes); that lasts" in own
    assert "(by your own smokes)." in own
    assert "by your own smokes" not in shipped
