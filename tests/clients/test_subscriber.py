"""A real subscriber of three states of one feed: after each change it shows the new state and nothing of the old."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from clients.revisions import LATER, NOW, drafts, revisions, text_of
from clients.subscriber import Subscriber
from web_server import serving

from scheduler.faces.web.shelf import Body, Shelf

SECRET = "k" * 43
FIRST = datetime(2026, 10, 1, tzinfo=UTC)


@pytest.fixture
def follow(tmp_path, khal, vdirsyncer):
    """A function that publishes a state, syncs, and gives what vdirsyncer said and what khal shows."""
    shelf = Shelf()
    with serving(shelf) as port:
        subscriber = Subscriber(tmp_path / "own", khal, vdirsyncer, f"http://127.0.0.1:{port}/s/{SECRET}/smoke.ics")

        def publish(text: bytes):
            shelf.place(SECRET, {"smoke.ics": Body(text, "text/calendar; charset=utf-8", NOW)})
            return subscriber.sync(), subscriber.shown(FIRST)

        yield publish


def test_a_new_subscriber_sees_every_step_at_the_plans_own_time(follow):
    _, shown = follow(text_of(revisions()[0]))
    assert shown.keys() == {one.summary for one in drafts()}
    for one in drafts():
        assert shown[one.summary][:2] == (one.start.replace(second=0), one.end.replace(second=0))


def test_after_a_replan_the_moved_are_at_their_new_time_alone_and_the_dropped_marked_cancelled(follow):
    first, second, _ = revisions()
    follow(text_of(first))
    _, shown = follow(text_of(second))
    *moved, dropped = drafts()
    assert shown.keys() == {*(one.summary for one in moved), f"CANCELLED: {dropped.summary}"}
    for one in moved:
        assert shown[one.summary].start == (one.start + LATER).replace(second=0)
    assert "CANCELLED" in shown[f"CANCELLED: {dropped.summary}"].status.upper()


def test_what_comes_back_is_shown_as_it_was(follow):
    *_, (_, shown) = [follow(text_of(state)) for state in revisions()]
    assert shown.keys() == {one.summary for one in drafts()}
    assert not [row for row in shown.values() if "CANCELLED" in row.status.upper()]
    assert {row.start for row in shown.values()} == {one.start.replace(second=0) for one in drafts()}


def test_a_sync_without_news_copies_nothing(follow):
    said, _ = follow(text_of(revisions()[0]))
    assert "Copying" in said
    said, _ = follow(text_of(revisions()[0]))
    assert "Copying" not in said
