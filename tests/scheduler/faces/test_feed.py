"""What a published calendar holds: entries move, are cancelled, come back and leave as subscribers need it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.faces.calendar_event import Alarm, Event, Figure
from scheduler.faces.calendar_words import loose
from scheduler.faces.feed import CANCELLED, KEEP_CANCELLED, KEEP_PAST, Entry, changed, publish

NOW = datetime(2026, 10, 17, 18, 0, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)


def event(uid="one", start=NOW + 2 * DAY, **further) -> Event:
    facts = {
        "uid": uid, "start": start, "end": start + HOUR, "summary": "Light", "description": "warmest 13.9 °C",
        "status": "CONFIRMED", "transparent": False, "categories": ("cold-smoking",), "stamp": NOW,
        "gist": (Figure("peak_c", 13.9, 0.5),),
    }  # fmt: skip
    facts |= further
    return Event(**{"core": loose(facts["description"]), **facts})


def only(entries: tuple[Entry, ...]) -> Entry:
    (entry,) = entries
    return entry


def test_a_new_entry_is_created_and_stamped_at_the_moment_of_publishing():
    entry = only(publish((), [event(stamp=NOW - DAY)], NOW))
    assert (entry.event.sequence, entry.event.stamp, entry.event.created) == (0, NOW, NOW)


def test_the_same_draft_later_changes_nothing():
    first = publish((), [event()], NOW)
    assert publish(first, [event(stamp=NOW + HOUR)], NOW + HOUR) == first


def test_a_moved_entry_keeps_its_uid_and_creation_and_counts_up():
    first = publish((), [event()], NOW)
    moved = only(publish(first, [event(start=NOW + 3 * DAY)], NOW + HOUR)).event
    assert (moved.uid, moved.sequence, moved.stamp, moved.created) == ("one", 1, NOW + HOUR, NOW)
    assert moved.start == NOW + 3 * DAY


def test_a_clock_set_back_still_stamps_later_than_before():
    first = publish((), [event()], NOW)
    assert only(publish(first, [event(start=NOW + 3 * DAY)], NOW - DAY)).event.stamp == NOW + timedelta(seconds=1)


@pytest.mark.parametrize(
    ("peak_c", "revised"), [(14.3, False), (14.4, False), (14.5, True), (13.4, False), (13.3, True), (None, True)]
)
def test_a_figure_is_said_anew_only_when_it_is_news(peak_c, revised):
    first = publish((), [event()], NOW)
    words = f"warmest {peak_c} °C" if peak_c is not None else "warmest 0.0 °C"
    draft = event(description=words, gist=(Figure("peak_c", peak_c, 0.5),))
    assert (only(publish(first, [draft], NOW + HOUR)) != only(first)) is revised


def test_small_changes_add_up_to_news():
    entries = publish((), [event()], NOW)
    for step in range(1, 8):
        peak_c = 13.9 + step * 0.1
        draft = event(description=f"warmest {peak_c:.1f} °C", gist=(Figure("peak_c", peak_c, 0.5),))
        entries = publish(entries, [draft], NOW + step * HOUR)
    assert only(entries).event.sequence == 1
    assert only(entries).event.gist[0].value == pytest.approx(14.5)


def test_other_words_are_news_whatever_the_figures():
    first = publish((), [event()], NOW)
    assert only(publish(first, [event(description="warmest 13.9 °C, and wind")], NOW)).event.sequence == 1


def test_a_reminder_that_has_rung_is_no_change_and_a_new_one_is():
    rung = Alarm("a", timedelta(days=2), "Tomorrow")
    first = publish((), [event(alarms=(rung,))], NOW)
    assert publish(first, [event(alarms=())], NOW + HOUR) == first
    ahead = Alarm("b", HOUR, "In one hour")
    assert only(publish(first, [event(alarms=(ahead,))], NOW + HOUR)).event.sequence == 1


def test_what_is_dropped_stays_as_cancelled_free_and_silent():
    first = publish((), [event(alarms=(Alarm("a", HOUR, "In one hour"),))], NOW)
    gone = only(publish(first, [], NOW + HOUR))
    assert gone.gone_at == NOW + HOUR
    assert (gone.event.status, gone.event.transparent, gone.event.alarms) == ("CANCELLED", True, ())
    assert (gone.event.summary, gone.event.sequence) == (f"{CANCELLED}Light", 1)
    assert publish((gone,), [], NOW + 2 * HOUR) == (gone,)


def test_a_fleeting_entry_just_leaves():
    assert publish(publish((), [event(fleeting=True)], NOW), [], NOW + HOUR) == ()


def test_what_has_begun_is_history_and_is_not_cancelled():
    first = publish((), [event(start=NOW + HOUR)], NOW)
    assert publish(first, [], NOW + HOUR) == first


def test_what_comes_back_keeps_its_uid_and_goes_on_counting():
    first = publish((), [event()], NOW)
    gone = publish(first, [], NOW + HOUR)
    back = only(publish(gone, [event()], NOW + 2 * HOUR))
    assert (back.event.sequence, back.event.created, back.gone_at) == (2, NOW, None)
    assert back.event.status == "CONFIRMED"


def test_a_cancelled_entry_leaves_two_weeks_after_or_a_day_after_its_end():
    gone = publish(publish((), [event()], NOW), [], NOW + HOUR)
    assert publish(gone, [], NOW + HOUR + KEEP_CANCELLED) == gone
    assert publish(gone, [], NOW + HOUR + KEEP_CANCELLED + DAY) == ()
    far = publish(publish((), [event(start=NOW + 40 * DAY)], NOW), [], NOW + HOUR)
    assert publish(far, [], NOW + 40 * DAY) == far
    assert publish(far, [], NOW + 43 * DAY) == ()


def test_past_entries_leave_after_thirty_days_and_only_at_midnight():
    first = publish((), [event(start=NOW)], NOW)
    end = first[0].event.end
    last_day = (end + KEEP_PAST).replace(hour=23, minute=59, second=59)
    assert publish(first, [], last_day) == first
    assert publish(first, [], last_day + timedelta(seconds=1)) == ()


def test_the_changes_between_two_states_are_the_new_revised_and_gone_entries():
    before = publish((), [event("a"), event("b"), event("c", fleeting=True)], NOW)
    after = publish(before, [event("a"), event("b", start=NOW + 4 * DAY), event("d")], NOW + HOUR)
    new, gone = changed(before, after)
    assert [entry.event.uid for entry in new] == ["d", "b"]
    assert gone == ("c",)


DRAFTS = st.lists(
    st.builds(
        event,
        st.sampled_from("abcd"),
        st.integers(-3, 9).map(lambda days: NOW + days * DAY),
        summary=st.sampled_from(["Light", "Lift"]),
        fleeting=st.booleans(),
        status=st.sampled_from(["TENTATIVE", "CONFIRMED"]),
    ),
    max_size=4,
    unique_by=lambda one: one.uid,
)
WORLDS = st.lists(st.tuples(DRAFTS, st.integers(-3600, 5 * 86400)), min_size=1, max_size=8)


@given(WORLDS)
def test_a_uid_stands_once_and_its_sequence_and_stamp_only_grow_together(worlds):
    entries, now, seen = (), NOW, {}
    for drafts, seconds in worlds:
        now += timedelta(seconds=seconds)
        entries = publish(entries, drafts, now)
        assert len({entry.event.uid for entry in entries}) == len(entries)
        assert publish(entries, drafts, now) == entries
        for one in (entry.event for entry in entries):
            before = seen.get(one.uid)
            if before is not None and one != before and one.created == before.created:
                assert one.sequence == before.sequence + 1
                assert one.stamp > before.stamp
            seen[one.uid] = one


@given(DRAFTS)
def test_every_draft_that_is_not_long_past_stands_as_drafted(drafts):
    entries = {entry.event.uid: entry.event for entry in publish((), drafts, NOW)}
    for draft in drafts:
        assert replace(entries[draft.uid], stamp=draft.stamp, created=None) == draft
