"""Following batches from replan to replan: what is no news, what is said again, and what no record may do."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from asked import FROZEN, NOW, PROCESS, SITE, made_forecast
from command import Shell, put_hours

from scheduler import service
from scheduler.errors import BadJournal
from scheduler.faces import book
from scheduler.faces.from_journal import batch_of, process_of
from scheduler.faces.memory import Memory
from scheduler.faces.plan_records import adopted_record
from scheduler.faces.replanning import ask_all
from scheduler.household.site import Chamber
from scheduler.journal.record import Kind
from scheduler.journal.store import Journal
from scheduler.planning.adopted import Past, taken_on
from scheduler.planning.replanned import Change, State
from scheduler.service import Question

OPEN = ("batch", "new", "--weight", "1.3 kg", "--food", "salmon", "--frozen", "2026-09-20", "--at", "-20 C")
UNTIL_LIT = (("20T12:00", "thaw"), ("21T12:10", "salt"), ("23T12:55", "rinse"), ("23T21:25", "light"))


@pytest.fixture
def own(tmp_path):
    """The invented site with a journal of its own and one batch with a plan: `own(moment, *command)`."""
    shell = Shell(tmp_path)

    def run(now, *args):
        return shell.run(*args, "--sample", "--journal", tmp_path / "j.sqlite", "--now", f"2026-10-{now}")

    run.home = tmp_path
    assert run("17T14:00", *OPEN, "--measured").code == 0
    assert run("17T14:00", "plan").code == 0
    return run


def lines_of(own, now):
    return [line for line in own(now, "history").out.splitlines() if line.strip()]


def test_an_overdue_step_is_asked_about_at_each_run_and_is_no_change_until_it_breaks_the_plan(own):
    before = lines_of(own, "20T12:30")
    for now in ("20T13:00", "20T14:00", "20T15:00", "20T18:30"):
        done = own(now, "replan")
        assert (done.code, "Was “Start thawing in the fridge” done?" in " ".join(done.out.split())) == (0, True), now
    assert lines_of(own, "20T18:31") == before
    assert own("22T18:30", "replan").code == 10, "thawed and cured by Friday evening: no more"


def test_what_cannot_be_written_down_is_told_all_the_same_before_the_trouble(own, monkeypatch):
    def add(*_):
        raise BadJournal("the journal could not be written: no space left on the disk")

    monkeypatch.setattr(Journal, "add", add)
    done = own("18T14:00", "replan")
    assert done.out.startswith("salmon 1: unchanged; light Fri 23 Oct 21:25")
    assert (done.code, done.err.splitlines()) == (
        2, ["smokenight: the journal could not be written: no space left on the disk"]
    )  # fmt: skip


def test_steps_that_come_about_by_themselves_are_no_move():
    question = Question(SITE, PROCESS, FROZEN, made_forecast(), NOW)
    plan = service.plan(question).choice.plan
    adopted = taken_on(plan, NOW, NOW)
    for name, change in (("burn_out", Change.UNCHANGED), ("rinse", Change.UNCHANGED)):
        other = replace(adopted, steps={**adopted.steps, name: adopted.steps[name] + timedelta(minutes=20)})
        found = service.replan(question, Past(other))
        assert found.change is change, name
        assert [one.step for one in found.moved] == (["burn_out"] if name == "burn_out" else [])


def test_fish_that_only_went_into_the_freezer_has_not_begun():
    fresh = replace(FROZEN, state="fresh", frozen_since=None)
    frozen = replace(fresh, done=(("freeze", NOW - timedelta(hours=3)),))
    question = Question(SITE, PROCESS, frozen, made_forecast(), NOW)
    plan = service.plan(question).choice.plan
    assert plan is not None
    assert service.replan(question, Past(taken_on(plan, NOW, NOW))).state is State.TENTATIVE


def test_an_early_lift_is_told_again_by_the_next_replan(own):
    for moment, step in UNTIL_LIT:
        assert own(moment, "did", step).code == 0
    warm = put_hours(own.home / "warm.csv", 8.0, days=9)
    lines = [f"{x[:18]}25.0" if x[:13] >= "2026-10-24T06" and x[:2] == "20" else x for x in
             warm.read_text("utf-8").splitlines()]  # fmt: skip
    warm.write_text("# issued: 2026-10-23T21:00Z\n" + "\n".join(lines) + "\n", "utf-8")
    first = own("23T22:00", "replan", "--weather", warm)
    assert first.code == 10, first.err
    assert "it warms: lift by" in " ".join(first.out.split())
    again = own("23T22:01", "replan", "--weather", warm)
    assert again.code == 0
    assert "unchanged; it warms: lift by" in " ".join(again.out.split())


def test_no_record_and_no_undo_leaves_a_batch_that_cannot_be_followed(own):
    for moment, step in (*UNTIL_LIT, ("24T09:30", "lift")):
        assert own(moment, "did", step).code == 0
    assert own("24T09:40", "did", "light", "--at", "2026-10-23T21:20").code == 0, "told again, a little earlier"
    back = own("24T09:41", "undo")
    assert (back.code, "Traceback" in back.err) == (2, False), "the lift would have no lighting"
    assert "light" in back.err
    for command in ("replan", "next", "batch"):
        assert own("24T09:42", command).code == 0, command


@pytest.mark.parametrize("step", ["lift", "slice"])
def test_what_comes_after_the_lighting_is_not_recorded_without_it(own, step):
    done = own("20T12:00", "did", step)
    assert (done.code, len(done.err.strip().splitlines()) <= 4) == (2, True)
    assert own("20T12:01", "replan").code == 0


def shared_out(*weights_g, holds_g):
    """Batches of these weights, all adopted for the same night, asked again."""
    site = replace(SITE, chamber=Chamber(holds_g=holds_g))
    own = book.Book(site, NOW, Memory(), kept=True)
    for number, weight_g in enumerate(weights_g):
        batch = replace(FROZEN, name=f"lot {number}", weight_g=weight_g)
        own.add(own.record(Kind.BATCH_OPENED, None, NOW, **book.opening(batch)))
    for batch in own.state.open:
        question = question_of(own, batch)
        plan = service.plan(question).choice.plan
        own.add(adopted_record(own, batch.identity, plan, question, committed=False))
    return ask_all([(one, question_of(own, one)) for one in own.state.open], [])


def question_of(own, batch):
    process = process_of(batch)
    return Question(own.site, process, batch_of(batch, process), made_forecast(), own.now)


@pytest.mark.parametrize(
    ("weights_g", "holds_g"),
    [
        ((900, 900), None),
        ((4000, None), 2000),
        ((4000, 3000), 2000),
        ((1500, 1500, 400), 2000),
        ((None, None, 300), 2000),
    ],
)
def test_no_two_batches_keep_a_night_that_the_chamber_has_no_room_for(weights_g, holds_g):
    nights = {}
    for one, weight_g in zip(shared_out(*weights_g, holds_g=holds_g), weights_g, strict=True):
        if one.found.plan is not None:
            nights.setdefault(one.found.plan.night.date, []).append(weight_g)
    for together in nights.values():
        assert len(together) == 1 or (None not in together and sum(together) <= (holds_g or 0))


def test_batches_that_fit_together_stay_together_at_one_lighting():
    first, second = shared_out(900, 1000, holds_g=2000)
    assert first.found.adopted.night == first.found.plan.night.date == second.found.plan.night.date
    times = [{s.step.name: s.at for s in one.found.plan.steps}["light"] for one in (first, second)]
    assert times[0] == times[1]
