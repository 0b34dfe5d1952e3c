"""The answers as JSON values, for programs; the keys are stable.

Times are ISO 8601 with the site's offset, a chance is 0 to 1, and what is not known is null.
"""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any

from scheduler.faces.cautions import caution_sentence
from scheduler.faces.drying_words import drying_lines, drying_sentences
from scheduler.faces.why import why_none, why_not_made, why_this_night

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from scheduler.planning.answers import Night, Plan, PlannedStep
    from scheduler.planning.drying_plan import PlannedDrying
    from scheduler.planning.under_way import UnderWay
    from scheduler.service import Answer, Question

Json = dict[str, Any]

DEGREE_DIGITS, FIGURE_DIGITS, GRAM_DIGITS, CHANCE_DIGITS = 2, 2, 1, 4


def next_json(answer: Answer, against: str = "") -> Json:
    """The chosen night with its plan and why, or null and why there is none; first of all what stands against it."""
    plan, zone = answer.choice.plan, answer.question.site.zone
    reasons = why_none(answer) if plan is None else (*why_this_night(answer), *why_not_made(answer))
    return {
        **asked_json(answer.question),
        "night": None if plan is None else night_json(plan.night, zone),
        "plan": None if plan is None else plan_json(plan, zone),
        "reasons": [against, *reasons] if against else list(reasons),
        **({} if answer.under_way is None else {"under_way": _under_way_json(answer.under_way, zone)}),
    }


def _under_way_json(found: UnderWay, zone: ZoneInfo) -> Json:
    """What a batch has beside its plan once its tray is lit."""
    return {
        "planned_lift": _time(found.planned_lift, zone),
        "lift_by": _time(found.lift_by, zone),
        "lift_by_at_home": _time(found.lift_by_at_home, zone),
        "missed": [step.name for step in found.missed],
    }


def nights_json(question: Question, nights: Sequence[Night]) -> Json:
    """Every coming night."""
    return {**asked_json(question), "nights": [night_json(night, question.site.zone) for night in nights]}


def asked_json(question: Question) -> Json:
    """When and where, and the forecast it rests on."""
    forecast, zone = question.forecast, question.site.zone
    credit = forecast.credit
    return {
        "as_of": _time(question.now, zone),
        "site": question.site.name,
        "forecast": {
            "source": forecast.source,
            "issued_at": _time(forecast.issued_at, zone),
            "fetched_at": _time(forecast.fetched_at, zone),
            "stale": forecast.is_stale(question.now),
            "attribution": f"{credit.text} ({credit.link})" if credit.link else credit.text,
        },
    }


def night_json(night: Night, zone: ZoneInfo) -> Json:
    """One night."""
    return {
        "date": night.date.isoformat(),
        "verdict": str(night.verdict),
        "reasons": list(night.reasons),
        "light_earliest": _time(night.light_earliest, zone),
        "light_best": _time(night.light_best, zone),
        "light_latest": _time(night.light_latest, zone),
        "lift": _time(night.lift, zone),
        "duration_h": _number(night.duration_h, FIGURE_DIGITS),
        "peak_c": _number(night.peak_c, DEGREE_DIGITS),
        "peak_at": _time(night.peak_at, zone),
        "low_c": _number(night.low_c, DEGREE_DIGITS),
        "ceiling_c": _number(night.ceiling_c, DEGREE_DIGITS),
        "margin_c": _number(night.margin_c, DEGREE_DIGITS),
        "chance": _number(night.chance, CHANCE_DIGITS),
        "rain_mm": _number(night.rain_mm, FIGURE_DIGITS),
        "gust_ms": _number(night.gust_ms, FIGURE_DIGITS),
        "dewpoint_max_c": _number(night.dewpoint_max_c, DEGREE_DIGITS),
    }


def plan_json(plan: Plan, zone: ZoneInfo) -> Json:
    """One plan."""
    return {
        "batch": plan.batch.name,
        "night": night_json(plan.night, zone),
        "steps": [_step_json(planned, zone, drying_lines(plan, planned.step.name, zone)) for planned in plan.steps],
        "sawdust_g": _number(plan.sawdust_g, GRAM_DIGITS),
        "salt_g": _number(plan.salt_g, GRAM_DIGITS),
        "sugar_g": _number(plan.sugar_g, GRAM_DIGITS),
        "cautions": [caution_sentence(key) for key in plan.cautions],
    }


def drying_json(drying: PlannedDrying, zone: ZoneInfo) -> Json:
    """By when the sawdust of a plan is dry, and what of that the forecast does not say."""
    return {
        "spread": _time(drying.spread, zone),
        "dry": _time(drying.dry, zone),
        "quick": _time(drying.quick, zone),
        "slow": _time(drying.slow, zone),
        "known_from": _time(drying.known_from, zone),
        "known_until": _time(drying.known_until, zone),
        "unknown_h": drying.unknown_h,
        "radiation_estimated": drying.estimated,
        "notes": list(drying_sentences(drying, zone)),
    }


def _step_json(planned: PlannedStep, zone: ZoneInfo, more: Sequence[str] = ()) -> Json:
    """One step; `earliest` and `latest` bound the piece of its leeway that holds `at`; `more` ends its note."""
    earliest, latest = planned.leeway or (None, None)
    return {
        "name": planned.step.name,
        "at": _time(planned.at, zone),
        "earliest": _time(earliest, zone),
        "latest": _time(latest, zone),
        "spans": [[_time(first, zone), _time(last, zone)] for first, last in planned.spans],
        "hands_on_min": _number(planned.step.hands_on_min, FIGURE_DIGITS),
        "done": planned.done,
        "note": " ".join(filter(None, (planned.step.note, *planned.notes, *more))),
    }


def _time(moment: datetime | None, zone: ZoneInfo) -> str | None:
    return None if moment is None else moment.astimezone(zone).isoformat(timespec="seconds")


def _number(value: float | None, digits: int) -> float | None:
    """Rounded, without a minus before zero; JSON has no word for what is not finite, so that is unknown."""
    if value is None or not isfinite(value):
        return None
    return round(value, digits) + 0.0
