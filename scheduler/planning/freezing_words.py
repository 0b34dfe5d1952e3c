"""The freezing record in sentences: the rule that is met, those that are not, and why; one wording for every face."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from scheduler.household.units import show_duration, show_temperature
from scheduler.planning.clock import HOUR_S
from scheduler.science.parasites import (
    CORE_LAG_H,
    EUROPE,
    EXTENSION,
    EXTENSION_14_DAYS,
    FARMED_EXEMPTION,
    FOOD_CODE,
)

if TYPE_CHECKING:
    from scheduler.household.batch import Batch
    from scheduler.household.site import Site
    from scheduler.planning.freezing import Freezing
    from scheduler.science.parasites import Finding, Rule

NAME = "Freezing against parasites"

COOK_F = 145.0  # FDA consumer advice: fish cooked to 145 °F inside
COOK_C = (COOK_F - 32.0) / 1.8

PUBLISHERS = {FOOD_CODE: "Food Code", EUROPE: "EU 853/2004", EXTENSION: "extension advice"}
"""Sources in few words."""

NO_REPAIR = (
    "It cannot be made up in this batch any more, short of cooking it to"
    f" {COOK_C:.0f} °C ({COOK_F:.0f} °F) or freezing it again for the whole time"
)
ASK = (
    "Say with the batch since when it has been frozen and how warm its freezer was at most (and whether a thermometer"
    " says so)"
)
FARMED = "Call it farmed only if it is"
"""What a person can say: without flags, as not every face has any."""


def freezing_sentence(freezing: Freezing, batch: Batch, site: Site) -> str:
    """All that is to be said of the record, as a caution beside the plan."""
    return f"{NAME}: {standing_words(freezing, site)}{_others(freezing, batch, site)}"


def standing_words(freezing: Freezing, site: Site) -> str:
    """How it stands, and what follows."""
    if freezing.standing == "met":
        met = [_named(each.rule) for each in freezing.found if each.met]
        each = "with" if len(met) == 1 else "each with"
        return f"met by {' and by '.join(met)}, {each} {CORE_LAG_H:.0f} h for the core{_counted(freezing, site)}."
    if freezing.standing == "exempt":
        return f"exempt by your word that it is farmed on formulated feed. {FARMED_EXEMPTION}"
    if freezing.standing == "no_record":
        return f"no record, so not met. {ASK}, or freeze {_recipe(EXTENSION_14_DAYS)} first."
    if freezing.standing == "too_late":
        ask = "" if freezing.recorded else f" {ASK} if it was frozen."
        record = "not met" if freezing.recorded else "no record, so not met"
        return f"{record}{_counted(freezing, site)}. {NO_REPAIR}.{ask}"
    return _ahead(freezing, site)


def _ahead(freezing: Freezing, site: Site) -> str:
    """What the plan puts before the thaw."""
    if freezing.rule is None:
        raise ValueError("freezing that is ahead follows a rule")
    if not freezing.in_plan:
        return f"not met yet, and the process has no step for it. First freeze {_recipe(freezing.rule)}."
    if freezing.standing == "fresh":
        return f"not met yet, so the plan freezes first: {_recipe(freezing.rule)}. {FARMED} {_FARMED}."
    if freezing.since is None or freezing.needed_h is None:
        return f"not met, and never in this freezer. The plan freezes in a colder one first: {_recipe(freezing.rule)}."
    met_at = freezing.since + freezing.needed_h * HOUR_S
    return (
        f"not met yet. In this freezer {_named(freezing.rule)} is met from {_when(met_at, site)},"
        f" with {CORE_LAG_H:.0f} h for the core; the plan does not thaw before."
    )


_FARMED = "fish raised in nets or tanks on formulated feed"


def _recipe(rule: Rule) -> str:
    """What to do to meet a rule from the start."""
    measured = ", measured" if rule.measured else " or colder"
    return f"{rule.title}{measured}, and {CORE_LAG_H:.0f} h more for the core ({PUBLISHERS[rule.source]})"


def _named(rule: Rule) -> str:
    return f"{rule.title} ({PUBLISHERS[rule.source]})"


def _counted(freezing: Freezing, site: Site) -> str:
    """Until when, for fish that is out of the freezer."""
    if freezing.until is None or not freezing.recorded:
        return ""
    reckoned = "" if freezing.until_told else ", the earliest it can have come out"
    return f", counted until {_when(freezing.until, site)}{reckoned}"


def _others(freezing: Freezing, batch: Batch, site: Site) -> str:
    """The rules that are not met, by their reason; nothing where there is no record to hold them against."""
    by_reason: dict[str, list[str]] = {}
    for each in freezing.found:
        if not each.met:
            by_reason.setdefault(_reason(each, batch, site), []).append(_named(each.rule))
    if not freezing.recorded or not by_reason:
        return ""
    return f" Not met: {'; '.join(f'{_listed(rules)}: {reason}' for reason, rules in by_reason.items())}."


def _listed(rules: list[str]) -> str:
    """Such as "one, nor two, nor three"."""
    return ", nor ".join(rules)


def _reason(found: Finding, batch: Batch, site: Site) -> str:
    """What keeps the record from meeting a rule."""
    if found.state == "too_warm" and batch.freezer_c is not None:
        return f"{_degrees(batch.freezer_c, site)} is too warm at any length"
    if found.state == "not_measured":
        return "only a measured temperature counts"
    return f"{show_duration(max(found.remaining_h, 1 / 60))} short"


def _degrees(c: float, site: Site) -> str:
    """A freezer's temperature, with the minus sign that the rules have."""
    return show_temperature(c, site.units).replace("-", "−")


def _when(at: float, site: Site) -> str:
    """Weekday, date and clock time in the site's zone."""
    moment = datetime.fromtimestamp(round(at), site.zone)
    return f"{moment:%a} {moment.day} {moment:%b %H:%M}"
