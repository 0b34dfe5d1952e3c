"""What records add up to: undoing, order, the plan that stands, and readings."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st
from journal_records import START, Writer, kept_form
from journal_strategies import journals

from scheduler.journal.fold import fold, standing
from scheduler.journal.record import Kind
from scheduler.journal.state import Reading, SiteState, StepDone

HOUR = timedelta(hours=1)


def step(writer, batch, name, hours, **weights):
    return writer.record(Kind.STEP_DONE, batch, at=START + hours * HOUR, step=name, **weights)


def only(records):
    """The one batch that they are about."""
    (batch,) = fold(kept_form(records)).batches
    return batch


def test_nothing_adds_up_to_nothing():
    assert fold(()) == SiteState()


def test_a_batch_is_followed_through_its_steps():
    writer = Writer()
    batch = writer.opened()
    records = [batch, step(writer, batch, "rinsed", 2, weight_g=1200), step(writer, batch, "salted", 1, weight_g=1300)]
    found = only(records)
    assert found.name == "autumn"
    assert found.done == (
        StepDone("salted", START + HOUR, weight_g=1300.0),
        StepDone("rinsed", START + 2 * HOUR, weight_g=1200.0),
    )
    assert [record.identity for record in found.records] == [records[i].identity for i in (0, 2, 1)]
    assert (found.ended, found.plan, found.looks, found.relit) == (None, None, (), ())


def test_of_a_step_done_twice_the_last_counts():
    writer = Writer()
    batch = writer.opened()
    found = only(
        [batch, step(writer, batch, "lit", 5), step(writer, batch, "lit", 3), step(writer, batch, "rinsed", 4)]
    )
    assert [(done.step, done.at) for done in found.done] == [("rinsed", START + 4 * HOUR), ("lit", START + 5 * HOUR)]


def test_of_two_at_the_same_moment_the_one_written_down_later_counts():
    writer = Writer()
    batch = writer.opened()
    first, second = step(writer, batch, "salted", 1, weight_g=1000), step(writer, batch, "salted", 1, weight_g=1300)
    assert only([batch, second, first]).done == (StepDone("salted", START + HOUR, weight_g=1300.0),)


def test_a_fire_lit_again_and_an_ending_are_known():
    writer = Writer()
    batch = writer.opened()
    relit, ended = writer.record(Kind.RELIT, batch), writer.record(Kind.BATCH_ENDED, batch)
    state = fold(kept_form([batch, ended, relit]))
    assert state.batches[0].relit == (relit.at,)
    assert state.batches[0].ended.identity == ended.identity
    assert state.open == ()


def test_batches_come_in_order_of_their_opening():
    writer = Writer()
    late, early = writer.opened(name="late"), replace(writer.opened(name="early"), at=START - HOUR)
    assert [batch.name for batch in fold([late, early]).batches] == ["early", "late"]


def test_the_plan_is_the_last_one_adopted_or_moved_with_the_looks_since():
    writer = Writer()
    batch = writer.opened()
    kinds = (Kind.PLAN_LOOKED, Kind.PLAN_ADOPTED, Kind.PLAN_LOOKED, Kind.PLAN_MOVED, Kind.PLAN_LOOKED, Kind.PLAN_LOOKED)
    records = [writer.record(kind, batch) for kind in kinds]
    found = only([batch, *records])
    assert found.plan.identity == records[3].identity
    assert [look.identity for look in found.looks] == [records[4].identity, records[5].identity]


def test_a_plan_that_was_dropped_stands_no_more_until_the_next():
    writer = Writer()
    batch = writer.opened()
    kinds = (Kind.PLAN_ADOPTED, Kind.PLAN_LOOKED, Kind.PLAN_DROPPED, Kind.PLAN_LOOKED)
    records = [batch, *(writer.record(kind, batch) for kind in kinds)]
    found = only(records)
    assert (found.plan, found.looks) == (None, ())
    again = writer.record(Kind.PLAN_ADOPTED, batch)
    assert only([*records, again]).plan.identity == again.identity
    undone = [*records, writer.undone(records[3])]
    assert only(undone).plan.identity == records[1].identity, "with the dropping undone it stands again"
    assert [look.identity for look in only(undone).looks] == [records[2].identity, records[4].identity]


def test_an_undo_takes_back_and_an_undo_of_it_restores():
    writer = Writer()
    batch = writer.opened()
    salted = step(writer, batch, "salted", 1)
    first = writer.undone(salted)
    second = writer.undone(first)
    third = writer.undone(second)
    assert [len(only(records).done) for records in (
        [batch, salted],
        [batch, salted, first],
        [batch, salted, first, second],
        [batch, salted, first, second, third],
    )] == [1, 0, 1, 0]  # fmt: skip


def test_what_two_undos_took_back_needs_both_undone():
    writer = Writer()
    batch = writer.opened()
    one, two = writer.undone(batch), writer.undone(batch)
    assert fold([batch, one, two, writer.undone(one)]).batches == ()
    assert len(fold([batch, one, two, writer.undone(one), writer.undone(two)]).batches) == 1


def test_a_long_chain_of_undos_is_followed_to_its_end():
    writer = Writer()
    chain = [writer.opened()]
    for _ in range(5000):
        chain.append(writer.undone(chain[-1]))
    assert len(fold(chain).batches) == 1
    assert fold(chain[:-1]).batches == ()


def test_a_batch_whose_opening_is_undone_is_gone_with_all_it_had_but_the_readings():
    writer = Writer()
    batch = writer.opened()
    reading = writer.record(Kind.READING, batch, where="porch", c=4)
    state = fold(kept_form([batch, step(writer, batch, "salted", 1), reading, writer.undone(batch)]))
    assert state.batches == ()
    assert state.readings == (Reading("porch", reading.at, 4.0, None),)


def test_readings_come_in_order_of_time_with_their_batch():
    writer = Writer()
    batch = writer.opened()
    times = [(START + hours * HOUR).isoformat() for hours in (5, 1)]
    probe = writer.record(Kind.READINGS, batch, where="chamber", name="probe.csv", times=times, c=[12.5, 0])
    porch = writer.record(Kind.READING, None, at=START + 3 * HOUR, where="porch", c=0)
    assert fold(kept_form([batch, probe, porch])).readings == (
        Reading("chamber", START + HOUR, 0.0, batch.identity),
        Reading("porch", START + 3 * HOUR, 0.0, None),
        Reading("chamber", START + 5 * HOUR, 12.5, batch.identity),
    )


def test_forecasts_come_in_order_of_issue():
    writer = Writer()
    late, early = (
        writer.record(Kind.FORECAST_LOGGED, source="sample", issued_at=at, nights=[])
        for at in ("2026-10-17T12:00:00+00:00", "2026-10-17T11:00:00+00:00")
    )
    assert [record.identity for record in fold(kept_form([late, early])).forecasts] == [early.identity, late.identity]


@given(journals(), st.randoms(use_true_random=False))
def test_the_order_in_which_records_come_does_not_matter(records, random):
    apart = [
        replace(record, recorded_at=record.recorded_at + timedelta(days=number))
        for number, record in enumerate(kept_form(records))
    ]
    state = fold(apart)
    random.shuffle(apart)
    assert fold(apart) == state


@given(journals())
def test_undoing_the_last_record_is_as_if_it_had_not_been(records):
    records = kept_form(records)
    if records:
        undo = replace(Writer(9).undone(records[-1]), site=records[0].site)
        assert fold((*records, undo)) == fold(records[:-1])
        assert fold((*records, undo, Writer(8).undone(undo))) == fold(records)


@given(journals())
def test_every_record_that_stands_is_in_its_batch_and_nothing_else_is(records):
    records = kept_form(records)
    state, stand = fold(records), standing(records)
    names = {batch.identity for batch in state.batches}
    assert names == {record.identity for record in stand if record.kind is Kind.BATCH_OPENED}
    for batch in state.batches:
        assert batch.records == tuple(record for record in stand if record.batch == batch.identity)
        assert list(batch.done) == sorted(batch.done, key=lambda done: done.at)
    assert list(state.readings) == sorted(state.readings, key=lambda reading: reading.at)


@given(journals())
def test_folding_changes_nothing_and_gives_the_same_again(records):
    before = kept_form(records)
    assert fold(before) == fold(kept_form(records))
    assert before == kept_form(records)
