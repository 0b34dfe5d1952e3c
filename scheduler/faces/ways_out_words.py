"""The ways out of a wait that runs out, in words: what to do, when, and which limit it meets."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.faces.chamber_words import chance_of_what
from scheduler.faces.wording import NO_SOURCE, day_words, listed, percent, sentence, weekday_clock, when
from scheduler.household.site_values import SHORTEST_SMOKE_H
from scheduler.household.units import show_duration, show_temperature
from scheduler.planning.answers import Verdict
from scheduler.planning.chain import FRIDGE_LIMIT_C
from scheduler.planning.freezing_words import COOK_C, PUBLISHERS
from scheduler.planning.way_values import Way
from scheduler.science.parasites import CORE_LAG_H

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

    from scheduler.faces.terminal import Page
    from scheduler.household.site import Site
    from scheduler.planning.answers import Night
    from scheduler.planning.way_values import Smoke, WayOut

TITLES = {
    Way.SHORTER: "smoke it shorter",
    Way.ONE_FRONT: "light one front only",
    Way.TWO_NIGHTS: "smoke it on two short nights",
    Way.HOLD: "hold it chilled",
    Way.FREEZE: "freeze it now, smoke it later",
    Way.COOK: "cook it",
}


def say_ways_out(page: Page, ways: Sequence[WayOut], site: Site) -> None:
    """All of them, numbered, the best first; nothing where there is none."""
    if not ways:
        return
    page.heading("Ways out, the best first")
    for number, way in enumerate(ways, 1):
        title = page.ink("strong", f"{number}. {sentence(TITLES[way.kind])}")
        page.say(" ".join((title, *way_sentences(way, site))), first="  ", rest="     ")


def way_sentences(way: WayOut, site: Site) -> tuple[str, ...]:
    """What to do on this way, by when, and which limit it meets or misses."""
    own = {
        Way.SHORTER: _shorter,
        Way.ONE_FRONT: _one_front,
        Way.TWO_NIGHTS: _two_nights,
        Way.HOLD: _hold,
        Way.FREEZE: _freeze,
        Way.COOK: _cook,
    }
    return tuple(text for text in own[way.kind](way, site) if text)


def _shorter(way: WayOut, site: Site) -> Iterator[str]:
    yield f"{_length(way)} instead of {show_duration(site.duration_h)}."
    yield from _lit(way, site)
    yield f"It takes less smoke; {SHORTEST_SMOKE_H:g} h is the least ({NO_SOURCE})."


def _one_front(way: WayOut, site: Site) -> Iterator[str]:
    of = "" if way.duration_h == site.duration_h else f" instead of {show_duration(site.duration_h)}"
    yield f"Light the tray at one end of its track: less heat in the chamber, and {_length(way)}{of}."
    yield from _lit(way, site)
    yield f"It takes less smoke in the same time ({NO_SOURCE})."


def _two_nights(way: WayOut, site: Site) -> Iterator[str]:
    first, second = way.smokes
    yield f"At least {_length(way)} each."
    yield _first_step(way, site, way.by)
    yield f"{_light(first, site)}."
    yield f"{_light(second, site)}."
    yield (
        f"Between them it lies uncovered in the fridge, at or under {_degrees(FRIDGE_LIMIT_C, site)}, for"
        f" {show_duration(way.rest_h or 0.0)} at most: a rule of ours ({NO_SOURCE})."
    )
    yield (
        f"{percent(way.chance or 0.0)} {chance_of_what(first.night, site)} on both, as if one night told nothing of the"
        " other."
    )
    yield f"The first lighting lies inside the longest wait, which ends {when(way.until, site.zone)}."
    yield "What the first night leaves in the tray counts as hot: fill a second tray, or wet it first."


def _hold(way: WayOut, site: Site) -> Iterator[str]:
    until = when(way.until, site.zone)
    keep = "Keep" if way.next_step is None else "Then keep"
    yield _first_of_last(way, site)
    yield (
        f"{keep} it at or under {_degrees(FRIDGE_LIMIT_C, site)} until {until},"
        f" {show_duration(way.hours_left)} from now, and no longer: there its longest wait ends ({NO_SOURCE})."
    )
    yield f"{sentence(listed(_night(each) for each in way.nights))} Look again with each newer forecast."
    yield "If no night has come good by then, freeze it or cook it."


def _night(night: Night) -> str:
    """Such as "Sat 17 Oct is borderline (73 %)"."""
    chance = f" ({percent(night.chance)})" if night.verdict is Verdict.BORDERLINE and night.chance is not None else ""
    return f"{day_words(night.date)} is {night.verdict}{chance}"


def _freeze(way: WayOut, site: Site) -> Iterator[str]:
    yield _first_of_last(way, site)
    yield (
        f"Into the freezer by {_by(way, site)}, dry and wrapped airtight: that meets its longest wait"
        f" ({NO_SOURCE}). Later thaw it in the fridge, out of its wrapping, and smoke it without salting it again."
    )
    if way.rule is not None:
        yield (
            "No rule on freezing against parasites is met yet; this freezing meets one after"
            f" {way.rule.title} or colder, and {CORE_LAG_H:.0f} h more for the core ({PUBLISHERS[way.rule.source]})."
        )
    if way.nights:
        yield f"The first good night that this leaves time for is {day_words(way.nights[0].date)}."
    yield f"Fish that is frozen twice turns softer: a matter of quality ({NO_SOURCE})."


def _cook(way: WayOut, site: Site) -> Iterator[str]:
    cooked = f"to {show_temperature(COOK_C, 'metric', 0)} ({show_temperature(COOK_C, 'us', 0)}) inside"
    if way.by is None:
        yield f"Its longest wait ended {when(way.until, site.zone)}, and that limit is missed: do not smoke it."
        yield f"Cook it at once, {cooked} (FDA consumer advice), or throw it out; if in doubt, throw it out."
        return
    yield _first_of_last(way, site)
    yield (
        f"By {_by(way, site)}, {cooked} (FDA consumer advice): that meets its longest wait ({NO_SOURCE})."
        " It is cooked fish then: eat it, or chill it at once."
    )


def _lit(way: WayOut, site: Site) -> Iterator[str]:
    """One smoke: the next step, lighting and lift, the chance, the wait that it lies inside."""
    smoke = way.smokes[0]
    yield _first_step(way, site, way.by)
    yield f"{_light(smoke, site)}."
    yield f"The night is {smoke.night.verdict}: {percent(way.chance or 0.0)} {chance_of_what(smoke.night, site)}."
    yield f"It lies inside the longest wait, which ends {when(way.until, site.zone)}."


def _first_step(way: WayOut, site: Site, by: datetime | None) -> str:
    """What has to be done with the food before; empty where nothing is left."""
    if way.next_step is None or by is None:
        return ""
    return f"First: {way.next_step.title[0].lower()}{way.next_step.title[1:]}, by {when(by, site.zone)}."


def _first_of_last(way: WayOut, site: Site) -> str:
    """The same, where what follows is told by its latest time."""
    step = _first_step(way, site, way.next_by)
    return step and f"{step[:-1]}; what follows counts from then, and is due earlier if you do it earlier."


def _light(smoke: Smoke, site: Site) -> str:
    """Such as "Light Sun 18 Oct 21:25 (Sun 21:55 at the latest), lift Mon 07:25"."""
    latest = (
        f" ({weekday_clock(smoke.light_until, site.zone)} at the latest)" if smoke.light_until > smoke.light else ""
    )
    return f"Light {when(smoke.light, site.zone)}{latest}, lift {weekday_clock(smoke.lift, site.zone)}"


def _length(way: WayOut) -> str:
    return show_duration(way.duration_h or 0.0)


def _by(way: WayOut, site: Site) -> str:
    return when(way.by or way.until, site.zone)


def _degrees(c: float, site: Site) -> str:
    return show_temperature(c, site.units)
