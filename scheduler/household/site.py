"""The place and its equipment: position, time zone, shelter, chamber, tray, household hours, limits.

SI and UTC inside; a site file and the faces use the household's own units.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from scheduler.household.policy import Policy
from scheduler.household.units import Units, celsius_from_fahrenheit

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

CEILING_F = 60.0  # common practice, no source: warmest outside air for a cold smoke
FLOOR_F = 28.0  # initial freezing point of salmon: ASHRAE-type table, read second hand
TRAY_G = 450.0  # common practice, no source: under a pound of sawdust fills the tray
DAY_MIN = 24 * 60


Material = Literal["metal", "wood", "cardboard"]
"""What the walls of a chamber are made of."""

ParasiteRule = Literal["food-code", "eu"]
"""Whose rules for freezing against parasites hold: FDA Food Code 3-402.11, or Regulation (EC) 853/2004."""


@dataclass(frozen=True, slots=True)
class ClockRange:
    """A stretch of the clock; an end at or before its start lies on the next day."""

    start_min: int
    """Minutes after midnight, 0 to 1439."""
    end_min: int
    """Minutes after midnight, 0 to 1440: 24:00 is the end of the day it starts on."""

    def __str__(self) -> str:
        """As a site file writes it."""
        return "-".join(f"{m // 60:02d}:{m % 60:02d}" for m in (self.start_min, self.end_min))


EVERY_DAY = ClockRange(6 * 60 + 30, 22 * 60 + 30)
EVENING = ClockRange(16 * 60, 22 * 60)


@dataclass(frozen=True, slots=True)
class Limits:
    """What the outside weather must meet from lighting to lift."""

    ceiling_c: float = celsius_from_fahrenheit(CEILING_F)
    """Warmest air allowed; at it is allowed."""
    floor_c: float = celsius_from_fahrenheit(FLOOR_F)
    """Coldest air; at it is not allowed."""
    rain_mm_per_h: float | None = None
    """Most rain in any hour, looked at where the site has no shelter from rain; None is not looked at."""
    gust_ms: float | None = None
    """Strongest gust; None is not looked at."""


@dataclass(frozen=True, slots=True)
class Chamber:
    """The box that the food hangs in."""

    material: Material = "wood"
    volume_l: float = 200.0
    rise_k: float | None = None
    """How much warmer than the air outside it was measured to be with the fire in it; None where nobody measured."""
    holds_g: float | None = None
    """Food that it takes at a time; None takes one batch a night."""


@dataclass(frozen=True, slots=True)
class Tray:
    """What the sawdust smoulders in."""

    holds_g: float = TRAY_G
    """Dry sawdust that fills it."""
    fronts: int = 1
    """Smouldering edges: lit at one end of the track 1, at both ends or in mid-track 2."""
    g_per_h: float | None = None
    """What one front usually burns in an hour, learned from the household's own smokes; None takes the default."""


@dataclass(frozen=True, slots=True)
class Site:
    """Everything about a household that does not change from batch to batch."""

    name: str
    latitude_deg: float
    longitude_deg: float
    zone: ZoneInfo
    elevation_m: float | None = None
    rain_shelter: bool = True
    sun_shelter: bool = True
    units: Units = "metric"
    """What the faces print: °C, kg and m/s, or °F, lb and mph."""
    household_hours: tuple[tuple[ClockRange, ...], ...] = ((EVERY_DAY,),) * 7
    """When somebody is awake and at home: seven days, Monday first, each of any number of stretches."""
    busy: tuple[str, ...] = ()
    """Calendars of the household, each a file or an address; while an event of theirs lasts, nobody has time."""
    lighting_hours: ClockRange = EVENING
    duration_h: float = 12.0
    """Planned time from lighting to lift, 8 to 18."""
    longest_h: float = 20.0
    """No lift later than this after lighting: expert advice for cold smoking, read second hand."""
    good_chance: float = 0.80
    borderline_chance: float = 0.55
    policy: Policy = field(default_factory=Policy)
    """When an adopted plan may move."""
    limits: Limits = field(default_factory=Limits)
    chamber: Chamber = field(default_factory=Chamber)
    tray: Tray = field(default_factory=Tray)
    sawdust_store_g: float = 0.0
    """Dry sawdust at hand."""
    fridge_c: float | None = None
    """Measured temperature of the fridge; None where nobody measured."""
    eat_within_days: float | None = None
    """The household's own figure for keeping, in days from lift; None takes the default."""
    parasite_rule: ParasiteRule = "food-code"
    """Extension advice, 14 days at 0 °F, holds beside either."""
    weather: str | None = None
    """Source of weather by name or table file; None takes the default."""
    contact: str | None = None
    """Mail or web address that weather services are told, as some of them ask."""
