"""What each learned figure is called, what it is used for, and how it reads in the household's units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduler.faces.wording import NO_SOURCE, long_span, plural, share
from scheduler.household.quantity import LB_G
from scheduler.household.units import show_difference
from scheduler.journal.learn_forecast import BAND_ENDS_DAYS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from scheduler.household.site import Site
    from scheduler.household.units import Units
    from scheduler.journal.learn import Learned
    from scheduler.journal.learn_forecast import Bias
    from scheduler.journal.learn_value import Figure


@dataclass(frozen=True, slots=True)
class Entry:
    """One figure for people."""

    name: str
    """Stable word for programs, the unit at its end."""
    title: str
    used_for: str
    status: str
    """How sure the shipped value is: practice, or our estimate or judgement."""
    record: str
    """What to write down so that it is learned."""
    counted: str
    """What one record is."""
    figure: Figure
    show: Callable[[float], str]
    note: str = ""
    """What else there is to say of it; empty for nothing."""


def entries(learned: Learned, site: Site) -> Iterator[Entry]:
    """Every figure of this site and process, in a fixed order."""
    yield _bias(learned.bias, site.units)
    yield _burn(learned.burn, site.units)
    yield _rise(learned.rise, site)
    if learned.drying is not None:
        yield _drying(learned.drying)
    if learned.loss is not None:
        yield _loss(learned.loss)


def _bias(bias: Bias, units: Units) -> Entry:
    return Entry(
        "bias_c",
        "How much too warm forecasts are at your porch",
        "taken off every forecast before a night is judged",
        "our judgement: without nights of your own a forecast is taken as it comes",
        "read the porch at least once an hour from lighting to lift, or import a probe's log (`reading --where porch`)",
        "night",
        bias.overall,
        lambda k: bias_words(k, units),
        _by_lead(bias, units),
    )


def _burn(burn: Figure, units: Units) -> Entry:
    return Entry(
        "burn_g_per_h",
        "How fast the tray burns, for each front",
        "how much sawdust a smoke takes, and until when there may be fire in the tray",
        "our estimate",
        "weigh the dry sawdust as you fill the tray, and what is left at the lift (`did light --sawdust`,"
        " `did lift --left`)",
        "smoke",
        burn,
        lambda g: f"{g:.1f} g/h" if units == "metric" else f"{16.0 * g / LB_G:.2f} oz/h",
    )


def _rise(rise: Figure, site: Site) -> Entry:
    return Entry(
        "rise_k",
        "How much warmer the chamber gets, for each front",
        "how warm the food hangs, and the air outside that the chamber's limit leaves",
        "our estimate, for your chamber's walls and size",
        "read the chamber and the porch within a quarter of an hour of each other, an hour after the lighting or later"
        " (`reading --where chamber`)",
        "smoke",
        rise,
        lambda k: show_difference(k, site.units),
        _rise_note(rise, site),
    )


def _drying(drying: Figure) -> Entry:
    return Entry(
        "drying_h",
        "How long sawdust takes to dry",
        "days that no forecast knows; within a forecast its weather decides",
        NO_SOURCE,
        "write down when you spread the sawdust and when you store it dry (`did spread`, `did store`)",
        "lot",
        drying,
        long_span,
    )


def _loss(loss: Figure) -> Entry:
    return Entry(
        "loss_pct",
        "How much weight the cure takes",
        "the weight to expect after the cure",
        NO_SOURCE,
        "weigh the food as you salt it, and again as you rinse it (`did salt --weight`, `did rinse --weight`)",
        "cure",
        loss,
        lambda pct: share(round(pct, 1)),
    )


def bias_words(bias_c: float, units: Units) -> str:
    """Such as "0.8 °C too warm"."""
    size = show_difference(abs(bias_c), units)
    if size == show_difference(0.0, units):
        return size
    return f"{size} too {'warm' if bias_c > 0.0 else 'cold'}"


def _by_lead(bias: Bias, units: Units) -> str:
    """The same by how far ahead a forecast was made; empty without a night."""
    first, second = (f"{end:.0f}" for end in BAND_ENDS_DAYS)
    names = (f"up to {first} days ahead", f"{first} to {second} days", f"more than {second} days")
    told = [
        f"{name} {bias_words(band.own, units)} ({plural(band.records, 'night')})"
        for name, band in zip(names, bias.by_band, strict=True)
        if band.own is not None
    ]
    return f"by themselves, by lead: {'; '.join(told)}" if told else ""


def _rise_note(rise: Figure, site: Site) -> str:
    if site.chamber.rise_k is not None:
        return f"your site file says {show_difference(site.chamber.rise_k, site.units)} in all, and that stands"
    if rise.records and not rise.counts:
        return f"from {rise.rule.fewest} smokes on it takes the place of the estimate and its range"
    return ""
