"""The leeway of what is left, whatever of a small process is done, against every possible assignment tried."""

from __future__ import annotations

from dataclasses import dataclass, replace

from hypothesis import assume, given
from hypothesis import strategies as st
from planning_builders import ALL_DAY, HOUR_S, examples, moment, planning_site, smoke_process
from planning_everything import Between, every_assignment, on_the_hour

from scheduler.household.batch import Batch
from scheduler.household.process import ANCHOR, LIFT, Step, Wait
from scheduler.household.site import ClockRange
from scheduler.planning.backward import Infeasible
from scheduler.planning.chain import Chain

DAY_H = 24 * 19737
"""Midnight of a day without a clock change, in hours since 1970."""
HORIZON_H = 84
SMOKE_H, LONGEST_H = 6, 10
ORDER = ("salt", "rinse", ANCHOR, "look", LIFT, "pack")
WAITS = {"salt": (2, 6), "rinse": (0, 8), "look": (1, 4), "pack": (3, 9)}


@dataclass(frozen=True)
class Day:
    """What was done and when, in hours; the household's hours; and now."""

    hours: ClockRange
    done: tuple[tuple[str, int], ...]
    now: int
    hands_on: int
    relit: int | None = None
    horizon: int = HORIZON_H
    packs: bool = True
    """Whether the process has a step after the lift: trying everything takes long with many steps."""

    @property
    def at(self) -> dict[str, int]:
        return dict(self.done)

    def chain(self, **batch: object) -> Chain:
        minutes = self.hands_on * 60.0
        salt, rinse, look, pack = (
            Step(name, name, minutes, after, before, Wait(WAITS[name][0], WAITS[name][0], WAITS[name][1]), during=state)
            for name, after, before, state in (
                ("salt", "rinse", True, "salted"),
                ("rinse", ANCHOR, True, "rinsed"),
                ("look", ANCHOR, False, None),
                ("pack", LIFT, False, None),
            )
        )
        site = planning_site(
            household_hours=((self.hours,),) * 7, lighting_hours=ALL_DAY, duration_h=SMOKE_H, longest_h=LONGEST_H
        )
        relit = None if self.relit is None else _moment(self.relit)
        done = tuple((name, _moment(hour)) for name, hour in self.done)
        said = replace(Batch(state="fresh", sawdust="dry", done=done, relit=relit), **batch)
        steps = (salt, rinse, look, pack) if self.packs else (salt, rinse, look)
        process = smoke_process(*steps, hands_on_min=minutes)
        return Chain(site, process, said, _s(self.now), _s(self.horizon))

    def home(self, hour: int) -> bool:
        """Somebody is there for the whole of a step's hands-on time."""
        return all(any(a <= h <= b for a, b in self._open) for h in (hour, hour + 0.5 * self.hands_on)) and any(
            a <= hour and hour + self.hands_on <= b for a, b in self._open
        )

    @property
    def _open(self) -> list[tuple[int, int]]:
        if self.hours == ALL_DAY:
            return [(-240, 240)]
        length = (self.hours.end_min - self.hours.start_min - 1) % 1440 + 1
        return [
            (d * 24 + self.hours.start_min // 60, d * 24 + (self.hours.start_min + length) // 60) for d in range(-2, 5)
        ]

    def free(self) -> list[int]:
        return [h for h in range(self.now, self.horizon + 1) if self.home(h) and h + self.hands_on <= self.horizon]

    def truth_before(self) -> dict[str, set[int]] | None:
        """While the tray is not lit: only the last step done still counts."""
        last = "rinse" if "rinse" in self.at else "salt" if "salt" in self.at else None
        own = {name: self.free() for name in ORDER[:-1]}
        waits = [
            Between("salt", "rinse", *WAITS["salt"], 0 if last == "salt" else self.hands_on),
            Between("rinse", ANCHOR, *WAITS["rinse"], 0 if last == "rinse" else self.hands_on),
            Between(ANCHOR, "look", *WAITS["look"], self.hands_on),
            Between(ANCHOR, LIFT, SMOKE_H, LONGEST_H),
        ]
        if last is not None:
            own[last] = [self.at[last]]
            own = {name: own[name] for name in ORDER[ORDER.index(last) : -1]}
            waits = [wait for wait in waits if wait.earlier in own]
        return every_assignment(own, waits)


def _s(hour: int) -> float:
    return (DAY_H + hour) * float(HOUR_S)


def _moment(hour: int):
    return moment(_s(hour))


@st.composite
def days(draw: st.DrawFn, names: tuple[str, ...]) -> Day:
    """Some steps done in the order of the process, some of them not recorded, up to a moment a little after."""
    gaps = {"salt": 0, "rinse": 3, ANCHOR: 4, "look": 2, LIFT: 6, "pack": 5}
    hour, done = draw(st.integers(30, 40)), []
    for name in names:
        hour += draw(st.integers(0, gaps[name] + 2))
        done.append((name, hour))
    start = draw(st.integers(0, 23))
    some = ClockRange(start * 60, (start + draw(st.integers(3, 20))) % 24 * 60)
    hours = draw(st.sampled_from([ALL_DAY, some]))
    assume(hours.start_min != hours.end_min or hours == ALL_DAY)
    return Day(hours, tuple(done), hour + draw(st.integers(0, 5)), draw(st.integers(0, 1)))


def _told(domain: object) -> dict[str, set[int]] | None:
    if isinstance(domain, Infeasible):
        return None
    assert isinstance(domain, dict)
    return {name: {h - DAY_H for h in on_the_hour(spans)} for name, spans in domain.items()}


@examples(150)
@given(st.integers(0, 2).flatmap(lambda count: days(ORDER[:count])))
def test_before_the_lighting_every_step_left_has_exactly_the_leeway_that_trying_everything_finds(day: Day) -> None:
    day = replace(day, horizon=day.now + 20, packs=False)
    assert _told(day.chain().weather_aside[1]) == day.truth_before()


def lift_truth(day: Day) -> set[int]:
    """Hours at which somebody can lift, by the rules in words."""
    light, at = day.at[ANCHOR], day.at
    least = light + SMOKE_H
    cap = light + LONGEST_H
    at_home = [h for h in day.free() if h <= cap]
    usual = {h for h in at_home if h >= least}
    if LIFT in at:
        return {at[LIFT]}
    if usual:
        return usual
    if cap < day.now:
        return {day.now}
    return {max(at_home)} if at_home else {cap}


@examples(200)
@given(st.integers(3, 5).flatmap(lambda count: days(ORDER[:count])), st.booleans())
def test_after_the_lighting_every_step_left_has_exactly_the_leeway_that_trying_everything_finds(
    day: Day, looked: bool
) -> None:
    if not looked:
        day = replace(day, done=tuple(one for one in day.done if one[0] != "look"))
    light, free = day.at[ANCHOR], day.free()
    told = _told(day.chain().weather_aside[1])
    assert told is not None
    assert told[ANCHOR] == {light}
    lifts = lift_truth(day)
    if LIFT not in day.at:
        assume(all(day.home(h) for h in lifts))  # else no whole answer hangs on somebody at home

    window = {h for h in range(light, HORIZON_H) if WAITS["look"][0] <= h - light - day.hands_on <= WAITS["look"][1]}
    if "look" in day.at:
        assert told["look"] == {day.at["look"]}
    elif window & set(free):
        assert told["look"] == window & set(free)
    elif any(day.home(h) for h in window) or max(window) < day.now:
        assert "look" not in told  # missed
    counts_from = 0 if LIFT in day.at else day.hands_on
    waits = [Between(LIFT, "pack", *WAITS["pack"], counts_from)]
    truth = every_assignment({LIFT: sorted(lifts), "pack": free}, waits)
    if truth is not None:
        assert told[LIFT] == truth[LIFT]
        assert told["pack"] == truth["pack"]


@examples(100)
@given(st.integers(0, 5).flatmap(lambda count: days(ORDER[:count])))
def test_what_is_done_never_moves_and_is_a_point_or_out_of_the_tree(day: Day) -> None:
    chain = day.chain()
    told = _told(chain.weather_aside[1])
    if told is None:
        return
    for name, hour in day.done:
        assert told.get(name, {hour}) == {hour}
    tree, domain = chain.weather_aside
    chosen = tree.choose(domain, _s(day.now + 30), frozenset(), {n: _s(h + 7) for n, h in day.done})  # type: ignore[arg-type]
    assert all(chosen[name] == _s(hour) for name, hour in day.done if name in chosen)
