"""The text of a site file, in our own layout and with its comments."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from scheduler.household.clock import AWAY
from scheduler.household.policy_text import REPLAN_KEYS, chance_text, replan_lines
from scheduler.household.quantity import (
    DIFFERENCE,
    DURATION,
    LENGTH,
    RAIN,
    SPEED,
    TEMPERATURE,
    VOLUME,
    WEIGHT,
    Kind,
    Units,
    exact_text,
)

if TYPE_CHECKING:
    from scheduler.household.site import ClockRange, Site

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")

SECTIONS = {
    "site": ("name", "latitude", "longitude", "elevation", "zone", "units"),
    "shelter": ("rain", "sun"),
    "household": ("hours", *WEEKDAYS, "busy", "lighting"),
    "limits": ("ceiling", "floor", "rain", "gust"),
    "smoke": ("duration",),
    "verdict": ("good", "borderline"),
    "replan": REPLAN_KEYS,
    "chamber": ("material", "volume", "rise", "holds"),
    "tray": ("holds", "fronts"),
    "sawdust": ("store",),
    "fridge": ("temperature",),
    "keep": ("days",),
    "rules": ("parasites",),
    "weather": ("source", "contact"),
}
"""Every section of a site file and its keys."""

LAYOUT = """\
# A site: the place and its equipment.  Quantities carry their unit; what follows a # is a note.

[site]
name = {name}
latitude = {latitude}  # degrees, north positive
longitude = {longitude}  # degrees, east positive
{elevation}  # height above the sea
zone = {zone}
units = {units}  # "metric" or "us": what answers are printed in

[shelter]
rain = {rain_shelter}  # true: rain does not reach the chamber
sun = {sun_shelter}  # true: the sun does not shine on the chamber

[household]
# When somebody is awake and at home.  A day of the week may have its own line: hours, a list of hours, or "away".
{hours}
{busy}  # calendars, each a file or an https address: while an event lasts nobody has time
lighting = {lighting}  # when the tray may be lit

[limits]
ceiling = {ceiling}  # warmest outside air, from lighting to lift
floor = {floor}  # the outside air stays above it
{rain}  # most rain in an hour, looked at where there is no shelter from rain
{gust}  # strongest gust

[smoke]
duration = {duration}  # from lighting to lift, 8 h to 18 h

[verdict]
good = {good}  # least chance of a good night
borderline = {borderline}  # least chance of a borderline one

[replan]
# When a plan that was adopted may move.  Chances and gains are from 0 to 1.
{replan}

[chamber]
material = {material}  # "metal", "wood" or "cardboard"
volume = {volume}
{rise}  # warmer than the air outside with the fire in it, only if measured
{chamber_holds}  # food that it takes at a time; without it, one batch a night

[tray]
holds = {holds}  # dry sawdust that fills it
fronts = {fronts}  # smouldering edges: 1, or 2 where it is lit at both ends or in mid-track

[sawdust]
store = {store}  # dry sawdust at hand

[fridge]
{fridge}  # only if measured

[keep]
{days}  # the household's own figure, at most 10

[rules]
parasites = {parasites}  # "food-code" or "eu": whose rules for freezing against parasites hold

[weather]
{source}  # a weather service, or a table file
{contact}  # some services ask for a mail or web address
"""


def site_text(site: Site) -> str:
    """The file that reads back to this site; the same bytes for the same site.

    Raises BadSetting for a quantity that no text can say (a negative weight, not a number).
    """
    return LAYOUT.format(**_place(site), **_weather(site), **_equipment(site))


def _place(site: Site) -> dict[str, str]:
    return {
        "name": _quoted(site.name),
        "latitude": repr(site.latitude_deg),
        "longitude": repr(site.longitude_deg),
        "elevation": _optional("elevation", _said(site.elevation_m, LENGTH, site.units), '"213 m"'),
        "zone": _quoted(str(site.zone)),
        "units": _quoted(site.units),
        "hours": "\n".join(_hours(site.household_hours)),
        "busy": _optional("busy", _one_or_list([_quoted(each) for each in site.busy]), '"family.ics"'),
        "lighting": _quoted(str(site.lighting_hours)),
        "days": _optional("days", None if site.eat_within_days is None else repr(site.eat_within_days), "3"),
        "parasites": _quoted(site.parasite_rule),
        "fridge": _optional("temperature", _said(site.fridge_c, TEMPERATURE, site.units), '"3.5 C"'),
    }


def _weather(site: Site) -> dict[str, str]:
    limits, units = site.limits, site.units
    return {
        "rain_shelter": str(site.rain_shelter).lower(),
        "sun_shelter": str(site.sun_shelter).lower(),
        "ceiling": _say(limits.ceiling_c, TEMPERATURE, units),
        "floor": _say(limits.floor_c, TEMPERATURE, units),
        "rain": _optional("rain", _said(limits.rain_mm_per_h, RAIN, units), '"0.2 mm/h"'),
        "gust": _optional("gust", _said(limits.gust_ms, SPEED, units), '"10 m/s"'),
        "good": chance_text(site.good_chance),
        "borderline": chance_text(site.borderline_chance),
        "source": _optional("source", _quoted_or_none(site.weather), '"open-meteo"'),
        "contact": _optional("contact", _quoted_or_none(site.contact), '"you@example.org"'),
    }


def _equipment(site: Site) -> dict[str, str]:
    units = site.units
    return {
        "duration": _say(site.duration_h, DURATION, units),
        "replan": "\n".join(replan_lines(site.policy)),
        "material": _quoted(site.chamber.material),
        "volume": _say(site.chamber.volume_l, VOLUME, units),
        "rise": _optional("rise", _said(site.chamber.rise_k, DIFFERENCE, units), '"4 C"'),
        "chamber_holds": _optional("holds", _said(site.chamber.holds_g, WEIGHT, units), '"5 kg"'),
        "holds": _say(site.tray.holds_g, WEIGHT, units),
        "fronts": str(site.tray.fronts),
        "store": _say(site.sawdust_store_g, WEIGHT, units),
    }


def _hours(days: tuple[tuple[ClockRange, ...], ...]) -> list[str]:
    """The hours of most days, then each day that has others."""
    most = Counter(days).most_common(1)[0][0]
    others = [(name, day) for name, day in zip(WEEKDAYS, days, strict=True) if day != most]
    return [f"{name} = {_day(day)}" for name, day in (("hours", most), *others)]


def _day(ranges: tuple[ClockRange, ...]) -> str:
    return _one_or_list([_quoted(str(each)) for each in ranges]) or _quoted(AWAY)


def _one_or_list(texts: list[str]) -> str | None:
    """One value bare, several as a list; None where there is none."""
    if not texts:
        return None
    return texts[0] if len(texts) == 1 else f"[{', '.join(texts)}]"


def _optional(key: str, text: str | None, example: str) -> str:
    """The line, or an example of it that is not read."""
    return f"# {key} = {example}" if text is None else f"{key} = {text}"


def _said(si: float | None, kind: Kind, units: Units) -> str | None:
    return None if si is None else _say(si, kind, units)


def _say(si: float, kind: Kind, units: Units) -> str:
    return _quoted(exact_text(si, kind, units))


def _quoted_or_none(text: str | None) -> str | None:
    return None if text is None else _quoted(text)


def _quoted(text: str) -> str:
    """A TOML basic string; the reader takes no control characters, so two escapes do."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
