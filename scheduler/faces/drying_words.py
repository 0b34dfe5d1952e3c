"""How the drying of sawdust is worded, wherever it is told."""

from __future__ import annotations

from math import isinf
from typing import TYPE_CHECKING

from scheduler.faces.wording import long_span, plural, sentence, when
from scheduler.planning.clock import HOUR_S, instant

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from scheduler.planning.answers import Plan
    from scheduler.planning.drying_plan import PlannedDrying
    from scheduler.planning.drying_spell import Spell

NOT_IN_THIS_WEATHER = "sawdust does not dry in this weather"
TOO_LITTLE = "this forecast says too little for drying, which takes air, humidity, wind, and sun or cloud"
ESTIMATE = "a model's estimate, not measured: the check at the store step decides"


def moisture_words(moisture: float) -> str:
    """Water as a share of the dry wood, such as "18 %"."""
    return f"{100 * moisture:.0f} %"


def wet_words(moisture: float) -> str:
    """The same for what is not dry enough, never told as if it were."""
    whole, ready = moisture_words(moisture), ready_moisture()
    return whole if whole != moisture_words(ready) else f"{max(100 * moisture, 100 * ready + 0.1):.1f} %"


def ready_moisture() -> float:
    """Moisture at which sawdust is dry enough to smoulder."""
    from scheduler.planning.drying_spell import LAYER

    return LAYER.ready


def drying_sentences(drying: PlannedDrying, zone: ZoneInfo) -> tuple[str, ...]:
    """By when it is dry, and what of that is not this forecast's word."""
    return tuple(sentence(text) for text in (_dry_by(drying, zone), *_not_from_the_forecast(drying, zone)))


def lies_out_from(spread: datetime, zone: ZoneInfo) -> str:
    """From when it dries: the step that spreads it begins before, and takes a while."""
    return f"lying out from {when(spread, zone)}"


def _dry_by(drying: PlannedDrying, zone: ZoneInfo) -> str:
    if drying.known_until is None:
        return f"{TOO_LITTLE}: the days of the process hold"
    if drying.dry is None:
        return NOT_IN_THIS_WEATHER
    early = [] if drying.quick is None else [f"{when(drying.quick, zone)} at the quickest"]
    late = "not at the slowest" if drying.slow is None else f"{when(drying.slow, zone)} at the slowest"
    return (
        f"{lies_out_from(drying.spread, zone)}, dry by {when(drying.dry, zone)} in this weather"
        f" ({', '.join([*early, late])}; {ESTIMATE})"
    )


def _not_from_the_forecast(drying: PlannedDrying, zone: ZoneInfo) -> Iterator[str]:
    """What had to be filled in."""
    from scheduler.science.radiation import ESTIMATED

    if drying.known_from is None or drying.known_until is None:
        return
    if drying.spread < drying.known_from:
        yield (
            f"what it dried before the forecast begins ({when(drying.known_from, zone)}) is counted as common practice"
            " has it down to where drying slows, and more slowly from there"
        )
    if drying.dry is not None and drying.dry > drying.known_until:
        yield (
            f"the known weather ends {when(drying.known_until, zone)}, before it is dry: the rest is common practice's"
            " days, no source, or this forecast's own pace where that is slower"
        )
    if drying.unknown_h:
        yield f"{plural(drying.unknown_h, 'hour')} by day that the forecast does not say count as no drying"
    if drying.estimated:
        yield ESTIMATED


def drying_lines(plan: Plan, step: str, zone: ZoneInfo) -> tuple[str, ...]:
    """The same beside the step of a plan that spreads it; nothing beside any other."""
    if plan.drying is None or plan.drying.step != step:
        return ()
    return drying_sentences(plan.drying, zone)


def why_not_dry(spell: Spell, start: float, longest_h: float, zone: ZoneInfo) -> str:
    """Why what is spread from this moment on (seconds since 1970) has no time to dry: what it comes down to."""
    times = spell.usual.times
    ahead = (start, *(at for at in times.starts if at > start))
    start = next((at for at in ahead if times.ready_at(at) - at > longest_h * HOUR_S), ahead[-1])
    takes_h = (times.ready_at(start) - start) / HOUR_S
    spread = f"{NOT_IN_THIS_WEATHER}: {lies_out_from(instant(start), zone)}"
    if not isinf(takes_h):
        return f"{spread} it takes {long_span(takes_h)}, and the process lets it lie {long_span(longest_h)} at most"
    known_h = max(spell.known_until - start, 0.0) / HOUR_S
    return (
        f"{spread} it still holds {wet_words(spell.moisture_at_end(start))} of its dry weight in water after"
        f" {long_span(known_h)}, when the known weather ends; {moisture_words(ready_moisture())} is dry enough"
    )
