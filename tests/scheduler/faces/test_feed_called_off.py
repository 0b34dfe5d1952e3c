"""A plan that is called off, from the journal to the bytes of the feed: nobody is told to do it."""

from __future__ import annotations

from datetime import timedelta

import icalendar
import pytest
from called_off_house import FAR_TOO_WARM_K, TOO_WARM_K, CalledOff
from feed_house import HOUR

BEFORE = ("thaw", "salt", "rinse")
LATER = ("light", "load", "first_check", "last_check", "lift", "burn_out", "slice", "ash", "eat_by", "smoke")
WAYS = "ways out"


def read(feed):
    """Entries by what they are of."""
    return {one.categories[-1]: one for one in icalendar.Calendar.from_ical(feed).events}


def rings(entry):
    """When it reminds."""
    return [one.trigger for one in entry.alarms.times]


@pytest.fixture
def house(tmp_path):
    found = CalledOff.adopted(tmp_path)
    yield found
    found.house.keeper.close()


@pytest.fixture
def ready(house):
    """All is done for tonight, and tonight holds."""
    house.rinsed()
    return house


@pytest.mark.parametrize("step", LATER)
def test_after_a_no_go_the_lighting_and_all_behind_it_say_so_are_free_time_and_silent(ready, step):
    before = read(ready.look())[step]
    entry = read(ready.look(TOO_WARM_K, HOUR))[step]
    assert str(entry["summary"]) == f"No go: {before['summary']}"
    assert (entry["status"], entry["transp"], rings(entry)) == ("TENTATIVE", "TRANSPARENT", [])
    text = str(entry["description"])
    assert text.startswith(
        "Do not light on Tue 20 Oct, it holds with 49 %, and no other night in reach is likely enough; what can be"
    )
    assert "the plan still holds" not in text


def test_the_reminders_that_it_had_were_there_to_ring(ready):
    entry = read(ready.look())["light"]
    assert (entry["status"], entry["transp"]) == ("CONFIRMED", "OPAQUE")
    assert len(rings(entry)) == 2


@pytest.mark.parametrize("step", ["light", "smoke"])
def test_the_no_go_tells_why_in_figures(ready, step):
    text = str(read(ready.look(TOO_WARM_K, HOUR))[step]["description"])
    assert "That night: chance that the air stays under your ceiling: 49 %; at least 55 % is wanted" in text
    assert "peaks at 15.3 °C" in text


def test_a_no_go_is_a_revision_of_the_same_entries_at_the_same_times(ready):
    before, after = read(ready.look()), read(ready.look(TOO_WARM_K, HOUR))
    for step in LATER:
        old, new = before[step], after[step]
        assert (new["uid"], new.start, new.end) == (old["uid"], old.start, old.end)
        assert new["sequence"] == old["sequence"] + 1
        assert new.decoded("dtstamp") == new.decoded("last-modified") > old.decoded("dtstamp")
        assert new["created"] == old["created"]
    assert [after[step].to_ical() for step in BEFORE] == [before[step].to_ical() for step in BEFORE]


def test_what_can_be_done_instead_is_busy_time_of_its_own_with_a_reminder(ready):
    assert WAYS not in read(ready.look())
    entry = read(ready.look(TOO_WARM_K))[WAYS]
    assert (entry["status"], entry.get("transp", "OPAQUE")) == ("CONFIRMED", "OPAQUE")
    assert str(entry["summary"]) == "No night left: smoke it shorter (autumn lot)"
    assert all(at > ready.house.now for at in rings(entry))
    assert rings(entry)
    for words in ("1. Smoke it shorter.", "2. Freeze it now, smoke it later.", "3. Cook it."):
        assert words in str(entry["description"])


def test_the_next_forecast_that_says_the_same_changes_not_a_byte(ready):
    first = read(ready.look(TOO_WARM_K))
    second = read(ready.look(TOO_WARM_K + 0.05, HOUR))
    assert {step: second[step].to_ical() for step in LATER} == {step: first[step].to_ical() for step in LATER}


def test_a_go_after_all_brings_everything_back_and_the_reminders_that_are_still_ahead(ready):
    before = read(ready.look())
    ready.look(TOO_WARM_K, HOUR)
    after = read(ready.look(0.0, HOUR))
    for step in LATER:
        old, new = before[step], after[step]
        assert (new["uid"], new["summary"], new["status"]) == (old["uid"], old["summary"], old["status"])
        assert rings(new) == rings(old)
        assert new["sequence"] == old["sequence"] + 2
    assert after[WAYS]["status"] == "CANCELLED"


def test_a_no_go_that_becomes_hopeless_is_cancelled_under_its_own_name(ready):
    ready.look(TOO_WARM_K)
    entry = read(ready.look(FAR_TOO_WARM_K, HOUR))["light"]
    assert (entry["status"], rings(entry)) == ("CANCELLED", [])
    assert str(entry["summary"]) == "CANCELLED: Light the tray, let it die down (autumn lot)"
    assert "no night is left that this batch can make; what can be done with it instead" in str(entry["description"])


def test_an_unlit_no_go_stays_behind_as_a_no_go_and_what_was_to_follow_is_cancelled(ready):
    before = read(ready.look(TOO_WARM_K))
    after = read(ready.look(TOO_WARM_K, 10 * HOUR))
    assert after["light"].to_ical() == before["light"].to_ical()
    assert after["lift"]["status"] == "CANCELLED"
    assert after["lift"]["uid"] == before["lift"]["uid"]


def test_page_and_file_begin_with_the_no_go(ready):
    ready.look(TOO_WARM_K)
    (told,) = ready.kept.told
    assert (
        told.headline == "Do not light on Tue 20 Oct, it holds with 49 %, and no other night in reach is likely enough."
    )
    assert told.news[0].startswith("Tue 20 Oct now reaches 15.3 °C")


@pytest.mark.parametrize("step", BEFORE)
def test_food_that_is_not_to_begin_yet_is_not_reminded_of_and_what_comes_behind_is(house, step):
    before, after = read(house.look()), read(house.look(TOO_WARM_K, timedelta(minutes=30)))
    old, new = before[step], after[step]
    assert str(new["summary"]) == f"Not yet: {old['summary']}"
    assert (new["status"], new["transp"], rings(new)) == ("TENTATIVE", "TRANSPARENT", [])
    assert str(new["description"]).startswith("Do not begin yet: Tue 20 Oct holds with")
    assert (new["uid"], new.start) == (old["uid"], old.start)
    assert not str(after["light"]["summary"]).startswith("Not yet")
    assert rings(after["light"])


def test_food_that_waits_for_a_likelier_night_does_not_move_with_the_clock(house):
    first = read(house.look(TOO_WARM_K))
    later = read(house.look(TOO_WARM_K, 2 * HOUR))
    assert {step: later[step].to_ical() for step in BEFORE} == {step: first[step].to_ical() for step in BEFORE}


def test_the_forecast_that_lets_it_begin_says_so_under_the_same_uid(house):
    waits = read(house.look(TOO_WARM_K))["thaw"]
    begins = read(house.look(0.0, HOUR))["thaw"]
    assert (begins["uid"], begins["status"]) == (waits["uid"], "CONFIRMED")
    assert not str(begins["summary"]).startswith("Not yet")
