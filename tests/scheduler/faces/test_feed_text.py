"""Published entries are kept as text and read back to the last value."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.errors import BadJournal
from scheduler.faces.calendar_event import Alarm, Event, Figure
from scheduler.faces.feed import Entry
from scheduler.faces.feed_text import entry_of, entry_text

MOMENTS = st.integers(946684800, 4102444800).map(lambda s: datetime.fromtimestamp(s, UTC))
TEXT = st.text(max_size=40)
ALARMS = st.builds(Alarm, TEXT, st.integers(0, 10**6).map(lambda s: timedelta(seconds=s)), TEXT)
FIGURES = st.builds(Figure, TEXT, st.none() | st.floats(-1e6, 1e6), st.floats(0, 10))
EVENTS = st.builds(
    Event, TEXT, MOMENTS, MOMENTS, TEXT, TEXT, st.sampled_from(["TENTATIVE", "CONFIRMED", "CANCELLED"]), st.booleans(),
    st.lists(TEXT, max_size=3).map(tuple), MOMENTS, st.lists(ALARMS, max_size=2).map(tuple), st.none() | TEXT,
    st.integers(0, 1000), st.none() | MOMENTS, TEXT, st.lists(FIGURES, max_size=3).map(tuple), st.booleans(),
)  # fmt: skip


@given(st.builds(Entry, EVENTS, st.none() | MOMENTS))
def test_the_round_trip_is_exact(entry):
    text = entry_text(entry)
    assert "\n" not in text
    assert entry_of(text) == entry


@pytest.mark.parametrize("text", ["", "null", "{}", "[]", '{"uid": "a"}', "\x00"])
def test_what_is_no_entry_is_refused(text):
    with pytest.raises(BadJournal, match="changed by hand"):
        entry_of(text)
