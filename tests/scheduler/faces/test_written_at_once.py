"""Two processes that bring one calendar up to date at the same time: neither writes over what it has not seen."""

from __future__ import annotations

import pytest
from feed_house import HOUR, SITE, House

from scheduler.errors import Overtaken
from scheduler.faces.feed_text import entry_of
from scheduler.faces.keeping import MOST_TIMES
from scheduler.journal.store import Journal


class Overtaking(Journal):
    """Somebody else is quicker so many times."""

    times = 0

    def publish(self, *args, **more):
        if self.times:
            self.times -= 1
            with Journal.open(self.path) as other:
                House(SITE, other, self.now).open(f"lot {self.times}")
        return super().publish(*args, **more)


@pytest.fixture
def house(tmp_path):
    with Overtaking.open(tmp_path / "journal.sqlite") as journal:
        found = House(SITE, journal)
        journal.now = found.now
        yield found


def test_what_somebody_recorded_meanwhile_is_in_what_is_published(house):
    house.keeper.times = 1
    kept = house.keep()
    assert [one.answer.question.batch.name for one in kept.told] == ["lot 0"]
    assert kept.last == house.keeper.last(SITE.name) == 1


def test_who_is_overtaken_time_after_time_gives_up_and_writes_nothing(house):
    house.keeper.times = MOST_TIMES
    with pytest.raises(Overtaken, match="somebody else wrote at the same time"):
        house.keep()
    assert house.keeper.entries(SITE.name) == ()
    assert len(house.keep().told) == MOST_TIMES


def test_no_entry_is_revised_from_one_that_another_process_has_revised_since(house):
    house.keep()
    seen = house.keeper.seen(SITE.name)
    with Journal.open(house.keeper.path) as other:
        second = House(SITE, other, house.now + 6 * HOUR)
        second.open()
        second.keep()
    with pytest.raises(Overtaken):
        house.keeper.publish(SITE.name, (), {"a": "{}"}, (), seen)
    assert all(entry_of(text) for text in house.keeper.entries(SITE.name))


def test_where_nothing_changed_nothing_is_written_and_the_last_record_is_told(house):
    house.open()
    first = house.keep()
    assert house.keep().last == first.last == house.keeper.last(SITE.name)
