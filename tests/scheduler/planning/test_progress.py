"""What somebody recorded: which steps it puts behind the batch, at which times, and what cannot have been."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from asked import FROZEN, NOW, PROCESS, SITE, ZONE, made_forecast

from scheduler.errors import BadBatch
from scheduler.household.batch import Batch
from scheduler.household.process import Step
from scheduler.planning.progress import followed
from scheduler.service import Question, chain_of, plan

if TYPE_CHECKING:
    from scheduler.planning.answers import PlannedStep
    from scheduler.planning.chain import Chain

DRIED = replace(SITE, sawdust_store_g=0.0)


def on(day: int, hour: int, minute: int = 0) -> datetime:
    """In October of an invented year's journal."""
    return datetime(2026, 10, day, hour, minute, tzinfo=ZONE)


THAWED, SALTED, RINSED, LIT = ("thaw", on(13, 18)), ("salt", on(14, 18)), ("rinse", on(16, 17)), ("light", on(16, 20))


def question(*done: tuple[str, datetime], now: datetime = NOW, site: object = SITE, **batch: object) -> Question:
    forecast = replace(made_forecast(mean_c=8.0), issued_at=now, fetched_at=now)
    return Question(site, PROCESS, replace(FROZEN, done=done, **batch), forecast, now)  # type: ignore[arg-type]


def chain(*done: tuple[str, datetime], **rest: object) -> Chain:
    return chain_of(question(*done, **rest))  # type: ignore[arg-type]


def steps(*done: tuple[str, datetime], **rest: object) -> dict[str, PlannedStep]:
    found = plan(question(*done, **rest)).choice.plan  # type: ignore[arg-type]
    assert found is not None
    return {one.step.name: one for one in found.steps}


@pytest.mark.parametrize(
    ("done", "words"),
    [
        ([("salted", on(15, 12))], "'salted' is no step of the process 'dry-salted-fish'; did you mean 'salt'?"),
        ([("salt", on(17, 14, 1))], "salt is recorded as done 2026-10-17T14:01:00-04:00, which lies in the future"),
        ([SALTED, ("thaw", on(14, 19))], "salt is recorded as done 2026-10-14T22:00:00+00:00, before thaw"),
        ([LIT, ("rinse", on(16, 21))], "light is recorded as done 2026-10-17T00:00:00+00:00, before rinse"),
        ([LIT, ("salt", on(16, 21))], "before salt, 2026-10-17T01:00:00+00:00; in the process"),
        ([LIT, ("lift", on(16, 19))], "lift is recorded as done 2026-10-16T23:00:00+00:00, before light"),
        ([SALTED, ("lift", on(17, 8))], "lift is recorded as done, but light, which comes before it, is not: record"),
        ([LIT, ("slice", on(17, 8))], "slice is recorded as done, but lift, which comes before it, is not: record"),
    ],
)
def test_what_cannot_have_been_is_refused_in_one_line(done: list[tuple[str, datetime]], words: str) -> None:
    with pytest.raises(BadBatch) as caught:
        plan(question(*done))
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("done", "relit", "words"),
    [
        ([SALTED], on(16, 21), "lit again 2026-10-16T21:00:00-04:00, before it was lit"),
        ([LIT], on(16, 19), "before it was lit: record the lighting"),
        ([LIT], on(17, 15), "lit again 2026-10-17T15:00:00-04:00, which lies in the future"),
        ([LIT, ("lift", on(17, 8))], on(17, 9), "after the food was lifted"),
    ],
)
def test_a_tray_is_lit_again_between_its_lighting_and_the_lift(
    done: list[tuple[str, datetime]], relit: datetime, words: str
) -> None:
    with pytest.raises(BadBatch, match=words.replace("+", r"\+")):
        plan(question(*done, relit=relit))


def test_two_steps_recorded_for_the_same_minute_are_in_order() -> None:
    assert chain(("thaw", on(16, 18)), ("salt", on(16, 18))).food_done == (
        PROCESS.step("salt"), on(16, 18).timestamp(),
    )  # fmt: skip


def test_steps_behind_the_last_one_done_are_over_at_their_recorded_time_or_at_none() -> None:
    done = steps(SALTED, ("rinse", on(17, 10)))
    assert (done["thaw"].done, done["thaw"].at) == (True, None)
    assert (done["salt"].done, done["salt"].at) == (True, on(14, 18))
    assert (done["rinse"].done, done["rinse"].at, done["rinse"].spans) == (True, on(17, 10), ())
    assert not done["light"].done


def test_a_recorded_step_says_the_same_as_its_state_said_by_hand() -> None:
    by_hand = steps(state="salted", since=on(16, 9))
    recorded = steps(("salt", on(16, 9)))
    assert {n: (s.at, s.spans, s.done) for n, s in recorded.items()} == {
        n: (s.at, s.spans, s.done) for n, s in by_hand.items()
    }


def test_what_is_recorded_counts_over_the_state_that_was_said() -> None:
    found = chain(SALTED, state="rinsed", since=on(16, 18))
    assert found.food_done == (PROCESS.step("salt"), on(14, 18).timestamp())


def test_sawdust_and_food_follow_their_own_records() -> None:
    found = chain(SALTED, ("soak", on(17, 9)), site=DRIED)
    history = found.history(12.0)
    assert history.done_at == {"salt": on(14, 18).timestamp(), "soak": on(17, 9).timestamp()}
    assert history.over == {"thaw"}
    stored = chain(("spread", on(10, 9)), ("store", on(14, 9)), site=DRIED).history(12.0)
    assert stored.done_at == {"store": on(14, 9).timestamp()}
    assert {"soak", "spread"} <= stored.over
    assert stored.recorded["spread"] == on(10, 9).timestamp()


def test_sawdust_that_is_stored_asks_for_no_drying_weather_any_more() -> None:
    answer = plan(question(("soak", on(9, 9)), ("spread", on(10, 9)), ("store", on(14, 9)), site=DRIED))
    assert answer.spell is None
    assert answer.drying is None


def test_fresh_fish_that_was_salted_was_never_thawed() -> None:
    done = steps(("salt", on(16, 9)), state="fresh", frozen_since=None)
    assert "thaw" not in done


def test_fish_that_was_fresh_and_is_recorded_as_frozen_is_frozen_since_then() -> None:
    batch = Batch(state="fresh", done=(("freeze", on(16, 9)),))
    assert followed(batch, PROCESS) == replace(batch, state="frozen", frozen_since=on(16, 9))
    found = chain(("freeze", on(16, 9)), state="fresh", frozen_since=None)
    assert found.freezing is not None
    assert (found.freezing.standing, found.freezing.since) == ("unfinished", on(16, 9).timestamp())
    thawing = found.weather_aside[1]["thaw"].first  # type: ignore[index]
    assert thawing >= (on(16, 9) + timedelta(days=7, hours=24)).timestamp()


def test_a_freezing_that_is_met_is_over_at_its_recorded_time() -> None:
    started = NOW - timedelta(days=20)
    done = steps(("freeze", started), state="fresh", frozen_since=None)
    assert (done["freeze"].done, done["freeze"].at) == (True, started)
    assert not done["thaw"].done


def test_a_freezing_record_counts_to_the_recorded_thaw_itself() -> None:
    found = chain(THAWED, SALTED).freezing
    assert found is not None
    assert found.until == THAWED[1].timestamp()
    # Without it, to the salting less all that a thaw may take.
    reckoned = chain(SALTED).freezing
    assert reckoned is not None
    assert reckoned.until == SALTED[1].timestamp() - (48 * 60 + 10) * 60


def test_a_step_without_a_state_leaves_the_food_in_the_state_before_it() -> None:
    turned = Step("turn", "Turn", 5, "rinse", True, PROCESS.step("salt").wait)
    process = replace(
        PROCESS,
        steps=tuple(replace(s, neighbour="turn") if s.name == "salt" else s for s in (*PROCESS.steps, turned)),
    )
    batch = Batch(done=(("salt", on(14, 18)), ("turn", on(15, 18))))
    assert (followed(batch, process).state, followed(batch, process).since) == ("salted", on(14, 18))


def test_a_batch_without_records_is_itself() -> None:
    assert followed(FROZEN, PROCESS) is FROZEN


def test_the_whole_process_is_behind_a_batch_that_is_lit() -> None:
    done = steps(RINSED, LIT, now=on(16, 20, 30))
    before = [one for one in done.values() if one.step.before]
    assert before
    assert all(one.done for one in before)
    assert (done["light"].done, done["light"].at) == (True, LIT[1])
    assert (done["rinse"].at, done["salt"].at) == (RINSED[1], None)


def test_a_step_that_was_recorded_counts_even_where_the_batch_would_have_done_without_it() -> None:
    at = on(17, 9)
    done = steps(("thaw", at), state="fresh", frozen_since=None)
    assert (done["thaw"].done, done["thaw"].at) == (True, at)
    assert done["salt"].spans[0][0] >= at + timedelta(hours=24)
