"""The small rules of replanning: what a night is worth, what an adopted verdict withstands, what was said twice."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from scheduler.planning.adopted import Look
from scheduler.planning.answers import Verdict
from scheduler.planning.clock import DAY_S, HOUR_S, seconds
from scheduler.planning.plan import WAIT_COST_PER_DAY
from scheduler.planning.replanned import NightThen

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

    from scheduler.household.policy import Policy
    from scheduler.household.site import Site
    from scheduler.planning.adopted import Adopted
    from scheduler.planning.answers import Night

TOLERANCE = 1e-9
"""A gain that misses its threshold by rounding alone is enough."""


def worth(night: Night, now: float, wait_cost: float = WAIT_COST_PER_DAY) -> float | None:
    """Chance less what the wait until the lighting costs; None where nobody knows."""
    if night.chance is None or night.light_best is None or night.verdict is Verdict.UNKNOWN:
        return None
    return night.chance - wait_cost * (seconds(night.light_best) - now) / DAY_S


def reaches(gain: float, threshold: float) -> bool:
    """Whether a gain is enough."""
    return gain >= threshold - TOLERANCE


def said_twice(looks: Sequence[Look], now: Look, threshold: float, apart_h: float) -> bool:
    """Whether an earlier forecast, by enough hours, named the same night by enough, and every one since did.

    A better night that is another one at each forecast is no reason to move.
    """
    for look in reversed(looks):
        if look.night != now.night or not reaches(look.gain, threshold):
            return False
        if now.issued_at - look.issued_at >= timedelta(hours=apart_h):
            return True
    return False


def nothing_better(looks: Sequence[Look], issued_at: datetime, night: date) -> Look | None:
    """What breaks a row of looks; None where there is no row to break."""
    if not looks or looks[-1].night == night:
        return None
    return Look(issued_at, night, 0.0)


def may_move_again(adopted: Adopted, now: float, policy: Policy) -> bool:
    """Whether the last move that was no must is long enough ago."""
    return adopted.moved_at is None or now - seconds(adopted.moved_at) >= policy.move_every_h * HOUR_S


def kept_verdict(before: Verdict, night: Night, site: Site, hysteresis: float) -> Verdict:
    """The verdict of a night that stays adopted: it is lost only well under what it asks for.

    A window that no longer holds has none to keep, and what is not known is unknown.
    """
    if night.verdict in (Verdict.UNKNOWN, Verdict.GOOD) or night.light_best is None or night.chance is None:
        return night.verdict
    in_doubt = night.verdict is Verdict.BORDERLINE and night.chance >= site.good_chance
    if before is Verdict.GOOD and not in_doubt and reaches(night.chance, site.good_chance - hysteresis):
        return Verdict.GOOD
    started = before in (Verdict.GOOD, Verdict.BORDERLINE)
    if started and reaches(night.chance, site.borderline_chance - hysteresis):
        return Verdict.BORDERLINE
    return night.verdict


def night_then(adopted: Adopted) -> NightThen:
    """What the forecast that the plan rests on said of its window."""
    return NightThen(adopted.night, adopted.chance, adopted.peak_c, adopted.peak_at, adopted.issued_at)


def night_now(night: Night, issued_at: datetime) -> NightThen:
    """What the newest one says of it."""
    return NightThen(night.date, night.chance, night.peak_c, night.peak_at, issued_at)
