"""What the household's own nights have taught: for people as text, and as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from scheduler.faces.learned_entries import Entry, entries
from scheduler.faces.terminal import Page
from scheduler.faces.wording import one_line, percent, plural, sentence, when
from scheduler.journal.learn_forecast import BAND_ENDS_DAYS
from scheduler.journal.learn_value import LATEST
from scheduler.journal.scores import BIN_ENDS, FEWEST_NIGHTS

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from scheduler.household.site import Site
    from scheduler.journal.learn import Learned
    from scheduler.journal.scores import Bin, Scores

LABEL_WIDTH = 9
HOW = (
    "each figure starts at the shipped value and is drawn to your own, the more the more you have recorded;"
    f" your own is the middle of the last {LATEST} records, none of which can pull it far"
)
NOTHING_YET = (
    "nothing is learned yet, so every figure is the shipped one; a few things written down on each smoke are enough"
    " to make them your own"
)


def learned_report(learned: Learned, site: Site, now: datetime, width: int, *, colour: bool) -> str:
    """Lines of at most `width` columns."""
    page, told = Page.of(width, colour=colour), tuple(entries(learned, site))
    page.say(sentence(headline(told)), style="strong")
    page.gap()
    page.fact("site", one_line(site.name), LABEL_WIDTH)
    page.fact("asked", when(now, site.zone), LABEL_WIDTH)
    page.fact("how", sentence(HOW), LABEL_WIDTH)
    for entry in told:
        _say_entry(page, entry)
    _say_scores(page, learned)
    return page.text()


def headline(told: tuple[Entry, ...]) -> str:
    """How many of the figures are the household's own, in one sentence."""
    own = sum(entry.figure.counts for entry in told)
    if not any(entry.figure.records for entry in told):
        return NOTHING_YET
    if not own:
        return f"your records are coming in; none of the {len(told)} figures has enough of them yet"
    return f"{own} of {plural(len(told), 'figure')} {'rests' if own == 1 else 'rest'} on your own nights by now"


def _say_entry(page: Page, entry: Entry) -> None:
    page.heading(entry.title)
    figure, show = entry.figure, entry.show
    page.fact("now", page.ink("good" if figure.counts else "quiet", show(figure.value)), LABEL_WIDTH)
    page.fact("used for", entry.used_for, LABEL_WIDTH)
    page.fact("shipped", f"{show(figure.rule.shipped)} ({entry.status})", LABEL_WIDTH)
    page.fact("own", own_words(entry), LABEL_WIDTH)
    page.fact("bound", bound_words(entry), LABEL_WIDTH)
    if entry.note:
        page.fact("note", entry.note, LABEL_WIDTH)


def own_words(entry: Entry) -> str:
    """The records, and what they come to by themselves; what to write down where there are none or too few."""
    figure = entry.figure
    aside = _aside_words(figure.set_aside)
    if figure.own is None:
        return f"none yet: {entry.record}{aside}"
    few = "" if figure.counts else f"; it counts from {figure.rule.fewest} on: {entry.record}"
    return f"{plural(figure.records, entry.counted)}, by themselves {entry.show(figure.own)}{few}{aside}"


def _aside_words(records: int) -> str:
    """Those that say nothing of the figure: weights that grew, a fire that was out before the lift."""
    if not records:
        return ""
    return f"; {plural(records, 'further record')} cannot tell, and {'is' if records == 1 else 'are'} set aside"


def bound_words(entry: Entry) -> str:
    """How far it may ever go."""
    rule = entry.figure.rule
    return f"stays from {entry.show(rule.low)} to {entry.show(rule.high)}, whatever is recorded"


def _say_scores(page: Page, learned: Learned) -> None:
    page.heading("How good the chances were")
    found = learned.scores
    if found is None:
        page.fact("nights", scarce_words(learned.scored_nights), LABEL_WIDTH)
        return
    page.fact("nights", f"{found.nights}, of which {percent(found.held)} stayed under the ceiling", LABEL_WIDTH)
    page.fact("score", score_words(found), LABEL_WIDTH)
    for label, text in zip(("told", "", ""), map(bin_words, BIN_NAMES, found.bins), strict=True):
        page.fact(label, text, LABEL_WIDTH)


BIN_NAMES = (
    f"under {percent(BIN_ENDS[0])}",
    f"{percent(BIN_ENDS[0])} to {percent(BIN_ENDS[1])}",
    f"over {percent(BIN_ENDS[1])}",
)


def scarce_words(nights: int) -> str:
    """Why nothing is said of the chances yet."""
    return (
        f"{nights} of {FEWEST_NIGHTS} with a logged chance and the whole window read at the porch; before there are"
        f" {FEWEST_NIGHTS} a score says more of luck than of the forecasts"
    )


def score_words(found: Scores) -> str:
    """The Brier score beside that of always saying the same."""
    said = f"Brier {found.brier:.3f}, where always saying {percent(found.held)} scores {found.parts.uncertainty:.3f}"
    if found.skill is None:
        return f"{said}; as every night came out the same, no skill can be told"
    better = "better" if found.skill >= 0.0 else "worse"
    return f"{said}: {percent(abs(found.skill))} {better} than that (the less the better)"


def bin_words(name: str, found: Bin) -> str:
    """What was told in one bin, and what came."""
    if found.chance is None or found.held is None:
        return f"{name}: no night"
    nights, chance, held = plural(found.nights, "night"), percent(found.chance), percent(found.held)
    return f"{name}: {nights}, {chance} on average; {held} held"


def learned_json(learned: Learned, site: Site, now: datetime) -> dict[str, Any]:
    """The same for programs, in SI; what is not known is null."""
    return {
        "as_of": now.astimezone(site.zone).isoformat(),
        "site": site.name,
        "figures": [_entry_json(entry) for entry in entries(learned, site)],
        "bias_by_lead": list(_bands_json(learned)),
        "scored_nights": learned.scored_nights,
        "scores": None if learned.scores is None else _scores_json(learned.scores),
    }


def _entry_json(entry: Entry) -> dict[str, Any]:
    figure = entry.figure
    return {
        "name": entry.name,
        "value": _rounded(figure.value),
        "shipped": _rounded(figure.rule.shipped),
        "status": entry.status,
        "own": _rounded(figure.own),
        "records": figure.records,
        "set_aside": figure.set_aside,
        "counts_from": figure.rule.fewest,
        "low": _rounded(figure.rule.low),
        "high": _rounded(figure.rule.high),
        "used_for": entry.used_for,
    }


def _bands_json(learned: Learned) -> Iterator[dict[str, Any]]:
    ends = (0.0, *BAND_ENDS_DAYS, None)
    for first, last, band in zip(ends, ends[1:], learned.bias.by_band, strict=False):
        yield {
            "over_days": first,
            "to_days": last,
            "records": band.records,
            "own_c": _rounded(band.own),
            "value_c": _rounded(band.value),
        }


def _scores_json(found: Scores) -> dict[str, Any]:
    edges = (0.0, *BIN_ENDS, 1.0)
    bins = [
        {"from": low, "to": high, "nights": one.nights, "chance": _rounded(one.chance), "held": _rounded(one.held)}
        for low, high, one in zip(edges, edges[1:], found.bins, strict=False)
    ]
    return {
        "nights": found.nights,
        "held": _rounded(found.held),
        "brier": _rounded(found.brier),
        "climatology": _rounded(found.parts.uncertainty),
        "skill": _rounded(found.skill),
        "reliability": _rounded(found.parts.reliability),
        "resolution": _rounded(found.parts.resolution),
        "bins": bins,
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 4)
