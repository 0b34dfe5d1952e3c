"""How good the chances were: each beside what came, against always saying the share of nights that held.

The Brier score is the mean of (chance − outcome)², outcome 1 for a night that held (Brier 1950, Monthly Weather Review
78:1, from memory).  Its three parts are Murphy's (1973, Journal of Applied Meteorology 12:595, from memory):
score = reliability − resolution + uncertainty, exactly, where equal chances are taken together.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from statistics import fmean
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from scheduler.journal.learn_forecast import Forecasted

FEWEST_NIGHTS = 30
"""With fewer nights a score says more of luck than of the forecasts."""

BIN_ENDS = (0.5, 0.8)
"""Chances under a half, up to eight in ten, and above."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """One night that somebody was told a chance of."""

    chance: float
    """The newest before its lighting."""
    held: bool
    """Whether the warmest reading at the porch stayed at or under the ceiling."""


@dataclass(frozen=True, slots=True)
class Bin:
    """Nights with chances of about the same size."""

    nights: int
    chance: float | None
    """Their mean chance; None without a night."""
    held: float | None
    """The share that held."""


@dataclass(frozen=True, slots=True)
class Parts:
    """What a Brier score is made of."""

    reliability: float
    """How far chances lie from the share that held; 0 is best."""
    resolution: float
    """How far those shares lie from that of all nights; more is better."""
    uncertainty: float
    """The score of always saying the share of all nights."""


@dataclass(frozen=True, slots=True)
class Scores:
    """Chances against what came."""

    nights: int
    held: float
    """Share of the nights that held: the climatology that the skill is measured against."""
    brier: float
    skill: float | None
    """1 is perfect, 0 no better than climatology; None where every night held, or none did."""
    bins: tuple[Bin, ...]
    parts: Parts
    """Of the chances as their bins have them."""


def outcomes(pairs: Iterable[Forecasted], ceiling_c: float) -> tuple[Outcome, ...]:
    """Nights with a chance, one pair a night, against this ceiling [°C]."""
    return tuple(Outcome(pair.chance, pair.observed_c <= ceiling_c) for pair in pairs if pair.chance is not None)


def scores(nights: Sequence[Outcome]) -> Scores | None:
    """The scores; None under 30 nights."""
    if len(nights) < FEWEST_NIGHTS:
        return None
    held = fmean(night.held for night in nights)
    score, climate = brier(nights), held * (1.0 - held)
    members = [[night for night in nights if _bin(night.chance) == number] for number in range(len(BIN_ENDS) + 1)]
    binned = [Outcome(_chance(each), night.held) for each in members for night in each]
    return Scores(
        nights=len(nights),
        held=held,
        brier=score,
        skill=1.0 - score / climate if climate > 0.0 else None,
        bins=tuple(map(_told, members)),
        parts=murphy(binned),
    )


def brier(nights: Sequence[Outcome]) -> float:
    """Mean square of chance less outcome, 0 to 1, the less the better; ValueError without a night."""
    return fmean((night.chance - night.held) ** 2 for night in nights)


def murphy(nights: Sequence[Outcome]) -> Parts:
    """The parts of the Brier score, nights of equal chance taken together; ValueError without a night."""
    base = fmean(night.held for night in nights)
    groups = [list(each) for _, each in groupby(sorted(nights, key=_of), key=_of)]
    shares = [(len(each) / len(nights), each[0].chance, fmean(night.held for night in each)) for each in groups]
    return Parts(
        reliability=sum(share * (chance - held) ** 2 for share, chance, held in shares),
        resolution=sum(share * (held - base) ** 2 for share, _, held in shares),
        uncertainty=base * (1.0 - base),
    )


def _of(night: Outcome) -> float:
    return night.chance


def _bin(chance: float) -> int:
    """The last edge belongs to the middle bin."""
    return (chance >= BIN_ENDS[0]) + (chance > BIN_ENDS[1])


def _chance(nights: Sequence[Outcome]) -> float:
    return fmean(night.chance for night in nights)


def _told(nights: Sequence[Outcome]) -> Bin:
    if not nights:
        return Bin(0, None, None)
    return Bin(len(nights), _chance(nights), fmean(night.held for night in nights))
