"""A cure in words and as JSON: what to weigh out, what to expect, and what must have stayed in the fish."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from scheduler.faces.cautions import Marks, caution_sentence, say_cautions
from scheduler.faces.terminal import Page
from scheduler.faces.wording import NO_SOURCE, one_line, share
from scheduler.household.process import SALT
from scheduler.household.units import show_duration, show_thickness, show_weight
from scheduler.science.cure import (
    PUBLISHED_LOSS_PCT,
    SALT_FAST_M2_S,
    SALT_SLOW_M2_S,
    WPS_LEAST_PCT,
    salt_to_retain,
    salt_uptake,
    thickness_warning,
    weigh_out,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from scheduler.faces.salt import Cured
    from scheduler.science.cure import WeighOut

OWN_CAUTIONS = ("no_iodine_no_volume", "no_nitrite", "wps_unknown")
TORRY = "Torry Research Station, Smoked salmon, FAO x5886e, read second hand"
DIFFUSION = "1e-11 to 1e-10 m²/s, J. Cookery Sci. Japan 25(4):283, 1992, by Crank's series for a sheet open on one side"


def salt_report(cured: Cured, width: int, *, colour: bool) -> str:
    """Lines of at most `width` columns."""
    page = Page.of(width, colour=colour)
    out = _out(cured)
    salt, sugar, raw = (show_weight(g, cured.units) for g in (out.salt_g, out.sugar_g, cured.raw_g))
    page.say(f"For {raw} of {one_line(cured.food)}: {salt} of salt and {sugar} of sugar.", style="strong")
    page.gap()
    for label, text in [*_weights(cured, out), *_after(cured, out), *_phase(cured), *_thickness(cured)]:
        page.fact(label, text)
    say_cautions(page, Marks(list(_cautions(cured))))
    return page.text()


def _out(cured: Cured) -> WeighOut:
    return weigh_out(cured.raw_g, cured.cure.salt_pct, cured.cure.sugar_pct, cured.cure.loss_pct)


def _cautions(cured: Cured) -> tuple[str, ...]:
    """The command's own, then those of the salting."""
    of_step = next((step.cautions for step in cured.process.steps if step.name == SALT), ())
    return tuple(dict.fromkeys((*OWN_CAUTIONS, *of_step)))


def _weights(cured: Cured, out: WeighOut) -> Iterator[tuple[str, str]]:
    cure, raw = cured.cure, show_weight(cured.raw_g, cured.units)
    yield "process", one_line(cured.process.title)
    yield "salt", f"{show_weight(out.salt_g, cured.units)} ({share(cure.salt_pct)} of {raw}, {NO_SOURCE})"
    yield "sugar", f"{show_weight(out.sugar_g, cured.units)} ({share(cure.sugar_pct)} of {raw}, {NO_SOURCE})"
    least, most = PUBLISHED_LOSS_PCT
    expected = show_weight(out.expected_g, cured.units)
    yield "expect", f"{expected} after the cure ({share(cure.loss_pct)} less, {NO_SOURCE})"
    yield "", f"published, for salting and smoking together: {least:g} to {most:g} % less ({TORRY})"


def _after(cured: Cured, out: WeighOut) -> Iterator[tuple[str, str]]:
    """The real weight, and what must have stayed in the fish at it; else how to tell it."""
    needed_g = _needed_g(cured)
    if cured.after_g is None or cured.loss is None:
        at = "with the usual loss"
        yield (
            "after",
            "weigh it again, rinsed and patted dry: with --after you get the salt that must have stayed in it",
        )
    else:
        at = "at this weight"
        lost = show_weight(cured.raw_g - cured.after_g, cured.units)
        yield "after", f"{show_weight(cured.after_g, cured.units)}: {share(round(100 * cured.loss, 1))} less ({lost})"
    if needed_g is None:
        return
    if cured.loss is not None:
        yield "retain", f"{show_weight(needed_g, cured.units)} of salt must have stayed in it for {_LEAST} {at}"
        yield "", f"(balance by weight: only water left, only salt came in; {_water_words(cured)})"
    if out.salt_g < needed_g:
        salt, needed = (show_weight(g, cured.units) for g in (out.salt_g, needed_g))
        yield "short", f"{salt} of salt is less than the {needed} that must stay in it for {_LEAST} {at}"


_LEAST = f"{share(WPS_LEAST_PCT)} in its water phase"


def _needed_g(cured: Cured) -> float | None:
    """Salt that must stay in the fish [g], at its real loss or else at the usual one; None for one it cannot have."""
    loss, moisture = cured.loss, cured.water.pct / 100.0
    if loss is None:
        loss = cured.cure.loss_pct / 100.0
    return salt_to_retain(cured.raw_g, moisture, loss) if loss < moisture else None


def _water_words(cured: Cured) -> str:
    """How wet the raw fish is taken to be, and why."""
    water, food = cured.water, one_line(cured.food)
    which = f"water {water.pct:g} % raw as {water.row}, USDA SR28"
    if water.matches == 1:
        return which
    why = f"the wettest that {food} may be" if water.matches else f"the wettest row, as there is none for {food}"
    return f"{which}: {why}"


def _phase(cured: Cured) -> Iterator[tuple[str, str]]:
    """Salt in the water phase: measured, or unknown."""
    measured = cured.measured_wps_pct
    if measured is None:
        yield "reached", "salt in its water phase: unknown until measured; with --measured-wps it is held against 3.5 %"
        return
    verb = "meets" if measured >= WPS_LEAST_PCT else "misses"
    limit = f"the {share(WPS_LEAST_PCT)} published as the least for smoked fish packed without air, in the fridge"
    yield "reached", f"{share(measured)} salt in its water phase, as measured: it {verb} {limit}"


def _thickness(cured: Cured) -> Iterator[tuple[str, str]]:
    """What a thickness means for the time in salt."""
    thickness, hours = cured.thickness_mm, cured.hours
    if thickness is None or hours is None:
        return
    shown = show_thickness(thickness, cured.units)
    warning = thickness_warning(thickness, hours)
    yield "thick", warning if warning is not None else f"{shown} is within the inch that is advised"
    slow, fast = (salt_uptake(hours, thickness, each) for each in (SALT_SLOW_M2_S, SALT_FAST_M2_S))
    mean, skin = _from_to(slow.mean, fast.mean), _from_to(slow.far_side, fast.far_side)
    reached = f"after {show_duration(hours)} the salt has come {mean} of the way to its balance on average, and {skin}"
    yield "", f"{reached} at the skin ({DIFFUSION})"


def _from_to(low: float, high: float) -> str:
    """Two shares as per cent, or one where they read the same."""
    first, last = f"{100 * low:.0f}", f"{100 * high:.0f}"
    return f"{last} %" if first == last else f"{first} to {last} %"


def salt_json(cured: Cured) -> dict[str, Any]:
    """The same for programs; what is not known is null."""
    out, needed_g = _out(cured), _needed_g(cured)
    measured = cured.measured_wps_pct
    too_thick = None
    if cured.thickness_mm is not None and cured.hours is not None:
        too_thick = thickness_warning(cured.thickness_mm, cured.hours)
    return {
        "food": cured.food,
        "process": cured.process.name,
        "weight_g": round(cured.raw_g, 1),
        "salt_pct": cured.cure.salt_pct,
        "salt_g": round(out.salt_g, 1),
        "sugar_pct": cured.cure.sugar_pct,
        "sugar_g": round(out.sugar_g, 1),
        "expected_loss_pct": cured.cure.loss_pct,
        "expected_g": round(out.expected_g, 1),
        "after_g": None if cured.after_g is None else round(cured.after_g, 1),
        "loss_pct": None if cured.loss is None else round(100 * cured.loss, 2),
        "water_pct": cured.water.pct,
        "water_row": cured.water.row,
        "wps_least_pct": WPS_LEAST_PCT,
        "retain_g": None if needed_g is None or cured.loss is None else round(needed_g, 2),
        "wps_measured_pct": measured,
        "meets_wps_least": None if measured is None else measured >= WPS_LEAST_PCT,
        "thickness_mm": cured.thickness_mm,
        "thickness_warning": too_thick,
        "cautions": [caution_sentence(key) for key in _cautions(cured)],
    }
