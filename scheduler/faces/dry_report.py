"""The answer to "when does a tray's worth of sawdust dry": for people as text, with a chart, and as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.faces.as_json import Json, asked_json, drying_json
from scheduler.faces.drying_words import (
    TOO_LITTLE,
    drying_sentences,
    lies_out_from,
    moisture_words,
    wet_words,
    why_not_dry,
)
from scheduler.faces.forecast_lines import say_forecast, say_invented
from scheduler.faces.terminal import Page, padded
from scheduler.faces.wording import NO_SOURCE, day_words, one_line, plural, sentence, when
from scheduler.household.units import show_weight
from scheduler.planning.backward import Infeasible
from scheduler.planning.drying_spell import LAYER
from scheduler.planning.next_spell import NextSpell, spread_area_m2
from scheduler.science.drying import OUT_FROM_H, OUT_UNTIL_H

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from scheduler.household.units import Units
    from scheduler.planning.next_spell import DayEnd
    from scheduler.service import DryAnswer

SQ_FT_PER_M2 = 10.7639  # the international foot, 0.3048 m
DAY_WIDTH, NUMBER_WIDTH, RANGE_WIDTH = 10, 5, 7
LONGEST_BAR = 40
MODEL = (
    "evaporation by FAO-56 Penman-Monteith; how much of it a layer gives off is our estimate, set to the practice of"
    " about four days in mild sun, and its range is the one shown"
)
BAR, ENDS = "━", "│"


def dry_report(answer: DryAnswer, width: int, *, colour: bool) -> str:
    """Lines of at most `width` columns."""
    page, question = Page.of(width, colour=colour), answer.question
    page.say(sentence(headline(answer)), style="strong")
    say_invented(page, question)
    page.gap()
    page.fact("site", one_line(question.site.name))
    page.fact("asked", when(question.now, question.site.zone))
    page.fact("tray", tray_words(answer))
    spell = answer.next
    if isinstance(spell, NextSpell):
        page.gap()
        _say_times(page, answer, spell)
        _say_chart(page, spell)
        _say_notes(page, answer, spell)
    say_forecast(page, question)
    return page.text()


def headline(answer: DryAnswer) -> str:
    """The answer in one sentence."""
    spell, question = answer.next, answer.question
    if answer.too_old is not None:
        return f"nothing can be said of drying: {answer.too_old}"
    if spell is None:
        return f"nothing can be said of drying: {TOO_LITTLE}"
    if isinstance(spell, Infeasible):
        return f"no sawdust can be soaked and spread: nobody is at home for the step {spell.other} in time"
    zone = question.site.zone
    if spell.dries and spell.drying.dry is not None:
        steps = ", ".join(f"{name} on {when(at, zone)}" for name, at in spell.at)
        return f"{steps}; dry by {when(spell.drying.dry, zone)}"
    return no_spell(answer, spell)


def no_spell(answer: DryAnswer, spell: NextSpell) -> str:
    """Why nothing that is spread from now on dries before the known weather ends."""
    zone = answer.question.site.zone
    if spell.drying.dry is None and answer.spell is not None:
        return why_not_dry(answer.spell, spell.drying.spread.timestamp(), answer.longest_h, zone)
    end = "" if spell.drying.known_until is None else f" ({when(spell.drying.known_until, zone)})"
    return (
        f"no spell within this forecast: {lies_out_from(spell.drying.spread, zone)}, the earliest, sawdust has come"
        f" down to {wet_words(spell.moisture)} of its dry weight in water when the known weather ends{end};"
        f" {moisture_words(LAYER.ready)} is dry enough"
    )


def tray_words(answer: DryAnswer) -> str:
    """How much, and on what area."""
    units, holds_g = answer.question.site.units, answer.question.site.tray.holds_g
    return f"{show_weight(holds_g, units)} of dry wood, spread on {area_words(holds_g, units)} ({NO_SOURCE})"


def area_words(fill_g: float, units: Units) -> str:
    """Such as "0.18 m²", and how thick that lies."""
    area_m2 = spread_area_m2(fill_g)
    area = f"{area_m2:.2f} m²" if units == "metric" else f"{area_m2 * SQ_FT_PER_M2:.1f} sq ft"
    return f"{area}, {'about 14 mm' if units == 'metric' else 'about half an inch'} deep"


def _say_times(page: Page, answer: DryAnswer, spell: NextSpell) -> None:
    zone = answer.question.site.zone
    for name, at in spell.at:
        then = f", {lies_out_from(spell.drying.spread, zone)}" if name == spell.drying.step else ""
        page.fact(one_line(name)[:7], f"{when(at, zone)}{then}")
    dry = spell.drying.dry
    if spell.dries and dry is not None:
        early = "" if spell.drying.quick is None else f"{when(spell.drying.quick, zone)} to "
        late = "not in this weather" if spell.drying.slow is None else when(spell.drying.slow, zone)
        page.fact("dry by", f"{when(dry, zone)} ({early}{late})")
    page.fact("out", f"{plural(spell.out_h, 'hour')} in the open, by day")


def _say_chart(page: Page, spell: NextSpell) -> None:
    """A bar a day; the mark at its left end is where it is dry enough."""
    page.heading(f"Water at the end of each day, % of the dry wood ({moisture_words(LAYER.ready)} is dry enough)")
    for line in chart_lines(spell.days, page.width):
        page.say(line)


def chart_lines(days: Sequence[DayEnd], width: int) -> Iterator[str]:
    """Day, moisture, its range, and a bar from dry enough to as wet as spread."""
    longest = max(min(LONGEST_BAR, width - DAY_WIDTH - NUMBER_WIDTH - RANGE_WIDTH - 6), 0)
    for one in days:
        share = max(one.usual - LAYER.ready, 0.0) / (LAYER.start - LAYER.ready)
        dry = one.usual <= LAYER.ready
        bar = "dry" if dry else ENDS + BAR * max(round(share * (longest - 1)), 1)
        cells = (
            padded(day_words(one.day), DAY_WIDTH),
            padded(f"{100 * one.usual:.0f}", NUMBER_WIDTH, right=True),
            padded(f"{100 * one.quick:.0f}–{100 * one.slow:.0f}", RANGE_WIDTH),
            bar,
        )
        yield "  ".join(cells).replace(" ", "\u00a0")


def _say_notes(page: Page, answer: DryAnswer, spell: NextSpell) -> None:
    page.heading("What this rests on")
    for text in notes(answer, spell):
        page.say(f"  {sentence(text)}", rest="  ")


def notes(answer: DryAnswer, spell: NextSpell) -> tuple[str, ...]:
    """What a person does for it, what was filled in, and what the figures are worth."""
    _, *filled_in = drying_sentences(spell.drying, answer.question.site.zone)
    cover = (
        "your roof is taken to keep the rain off it"
        if answer.question.site.rain_shelter
        else f"cover it while it rains ({plural(spell.drying.covered_h, 'hour')} by day in this forecast)"
    )
    lies_out = (
        f"it lies out in sun and wind from {OUT_FROM_H:.0f}:00 to {OUT_UNTIL_H:.0f}:00, turned twice a day, and is"
        f" brought in for the night: {NO_SOURCE}; {cover}"
    )
    return lies_out, MODEL, *filled_in


def dry_json(answer: DryAnswer) -> Json:
    """The same for programs; moisture is a share of the dry wood."""
    spell, holds_g, zone = answer.next, answer.question.site.tray.holds_g, answer.question.site.zone
    asked = asked_json(answer.question)
    if not isinstance(spell, NextSpell):
        return {**asked, "dries": False, "spell": None, "reasons": [sentence(headline(answer))]}
    days = [
        {"date": one.day.isoformat(), **{name: round(getattr(one, name), 3) for name in ("quick", "usual", "slow")}}
        for one in spell.days
    ]
    return {
        **asked,
        "dries": spell.dries,
        "spell": {
            "steps": [{"name": name, "at": at.astimezone(zone).isoformat(timespec="seconds")} for name, at in spell.at],
            "drying": drying_json(spell.drying, zone),
            "out_h": spell.out_h,
            "moisture_at_end": round(spell.moisture, 3),
            "ready_moisture": LAYER.ready,
            "days": days,
            "sawdust_g": round(holds_g, 1),
            "area_m2": round(spread_area_m2(holds_g), 3),
        },
        "reasons": [sentence(headline(answer))],
    }
