"""A household's process as a tree: its hours, its hands-on times, and what the fish has had already."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st
from planning_builders import ALL_DAY, HOUR_S, at, examples, moment, planning_site, smoke_process
from planning_everything import Between, every_assignment, on_the_hour

from scheduler.household.batch import Batch
from scheduler.household.process import ANCHOR, LIFT, Step, Wait
from scheduler.household.site import ClockRange
from scheduler.planning.backward import Infeasible
from scheduler.planning.chain import Chain
from scheduler.planning.spans import ALWAYS

NOW = at("2024-01-15T00:00")
NOW_H = round(NOW / HOUR_S)
HORIZON_H = 22
SMOKE_H, LONGEST_H = 8, 12


@dataclass(frozen=True)
class Household:
    """What is drawn for a chain: its hours, its waits and how far the fish has come."""

    hours: tuple[ClockRange, ...]
    lighting: ClockRange
    salted_h_ago: int | None
    rinse_wait: tuple[int, int]
    light_wait: tuple[int, int]
    look_wait: tuple[int, int]
    hands_on: int
    lift_latest: int

    def chain(self) -> Chain:
        def wait(hours: tuple[int, int]) -> Wait:
            return Wait(hours[0], hours[0], hours[1])

        minutes = self.hands_on * 60.0
        steps = (
            Step("salt", "Salt", minutes, "rinse", True, wait(self.rinse_wait), during="salted"),
            Step("rinse", "Rinse", minutes, ANCHOR, True, wait(self.light_wait), during="rinsed"),
            Step("look", "Look", minutes, ANCHOR, False, wait(self.look_wait)),
        )
        salted = self.salted_h_ago is not None
        batch = Batch(
            state="salted" if salted else "fresh",
            since=moment(NOW - (self.salted_h_ago or 0) * HOUR_S) if salted else None,
            sawdust="dry",
        )
        site = planning_site(
            household_hours=(self.hours,) * 7, lighting_hours=self.lighting, duration_h=SMOKE_H, longest_h=LONGEST_H
        )
        process = smoke_process(*steps, hands_on_min=minutes)
        return Chain(site, process, batch, NOW, NOW + HORIZON_H * HOUR_S)

    def truth(self) -> dict[str, set[int]] | None:
        """By trying everything on the hour, counted from now."""
        free = [h for h in range(HORIZON_H + 1) if self._home(h, self.hands_on) and h + self.hands_on <= HORIZON_H]
        evening = _open(self.lighting)
        own = {
            "salt": free if self.salted_h_ago is None else [-self.salted_h_ago],
            "rinse": free,
            "look": free,
            ANCHOR: [h for h in free if any(a <= h <= b for a, b in evening)],
            LIFT: [h for h in free if h <= self.lift_latest],
        }
        waits = [
            Between("salt", "rinse", *self.rinse_wait, self.hands_on if self.salted_h_ago is None else 0),
            Between("rinse", ANCHOR, *self.light_wait, self.hands_on),
            Between(ANCHOR, "look", *self.look_wait, self.hands_on),
            Between(ANCHOR, LIFT, SMOKE_H, LONGEST_H),
        ]
        return every_assignment(own, waits)

    def _home(self, start: int, length: int) -> bool:
        """Somebody is there from start to end, in one stretch of the day or in several that touch."""
        stretches = [one for hours in self.hours for one in _open(hours)]
        there = {h for a, b in stretches for h in range(2 * a, 2 * b + 1)}
        return all(h in there for h in range(2 * start, 2 * (start + length) + 1))


def _open(hours: ClockRange) -> list[tuple[int, int]]:
    """Its stretches from the day before to two days on, in hours from today's midnight."""
    length = (hours.end_min - hours.start_min - 1) % 1440 + 1
    return [(day * 24 + hours.start_min // 60, day * 24 + (hours.start_min + length) // 60) for day in range(-1, 3)]


whole_hours = st.builds(
    lambda start, length: ClockRange(start * 60, (start + length) % 24 * 60),
    st.integers(0, 23),
    st.integers(1, 14),
).filter(lambda hours: hours.start_min != hours.end_min)
wait_of = st.builds(lambda least, more: (least, least + more), st.integers(0, 4), st.integers(0, 8))
households = st.builds(
    Household,
    hours=st.one_of(st.just((ALL_DAY,)), st.lists(whole_hours, min_size=1, max_size=3).map(tuple)),
    lighting=st.one_of(st.just(ALL_DAY), whole_hours),
    salted_h_ago=st.one_of(st.none(), st.integers(0, 6)),
    rinse_wait=wait_of,
    light_wait=wait_of,
    look_wait=wait_of,
    hands_on=st.integers(0, 1),
    lift_latest=st.one_of(st.just(HORIZON_H), st.integers(8, HORIZON_H)),
)


@examples(120)
@given(households)
def test_a_household_has_exactly_the_leeway_that_trying_everything_finds(household: Household) -> None:
    tree = household.chain().tree(SMOKE_H, lift_latest=NOW + household.lift_latest * HOUR_S)
    domain = tree.leeway(ALWAYS)
    truth = household.truth()
    if truth is None:
        assert isinstance(domain, Infeasible)
    else:
        assert isinstance(domain, dict)
        assert {name: {h - NOW_H for h in on_the_hour(spans)} for name, spans in domain.items()} == truth


@pytest.mark.parametrize(("pack_g", "portions"), [(2300.0, 1), (2301.0, 2), (4600.0, 2), (5000.0, 3)])
def test_a_least_wait_per_started_portion_grows_with_the_largest_pack_and_what_it_keeps_beyond_does_not(
    pack_g: float, portions: int
) -> None:
    steps = (
        Step("thaw", "Thaw", 0, "salt", True, Wait(24, 24, 48, per_started_g=2300)),
        Step("salt", "Salt", 0, ANCHOR, True, Wait(2, 3, 4, per_started_g=1000)),
    )
    batch = Batch(state="frozen", weight_g=9000, largest_pack_g=pack_g, sawdust="dry")
    tree = Chain(planning_site(), smoke_process(*steps), batch, NOW, NOW + 900 * HOUR_S).tree(12)
    waits = {link.name: (link.wait.least_h, link.wait.longest_h) for link in tree.links}
    assert waits["thaw"] == (24 * portions, 24 * portions + 24)
    # Another step's portion is its own.
    started = {2300.0: 3, 2301.0: 3, 4600.0: 5, 5000.0: 5}[pack_g]
    assert waits["salt"] == (2 * started, 2 * started + 2)
