"""What each single value of a site file may be.

Every function here takes what the file holds and gives the value in SI; BadSetting says what would do.
"""

from __future__ import annotations

import re
from difflib import get_close_matches
from functools import partial
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from scheduler.errors import BadSetting
from scheduler.household.quantity import shown
from scheduler.household.toml_file import a_line, a_list, a_number, within
from scheduler.household.units import (
    celsius_from_fahrenheit,
    parse_difference_k,
    parse_duration_h,
    parse_length_m,
    parse_temperature_c,
    parse_volume_l,
    parse_weight_g,
)

if TYPE_CHECKING:
    from collections.abc import Callable

CHAMBER_LIMIT_F = 90.0
"""Warmest chamber for a cold smoke: a figure of the US Food and Drug Administration, read second hand; the
Ontario Fish Plant Guidelines, F.B.14.15, give the same 32.2 °C as their example of a limit."""
SHORTEST_SMOKE_H = 8.0  # common practice, no source
LONGEST_SMOKE_H = 18.0  # common practice, no source
LONGEST_KEEP_DAYS = 10
"""Most days at 3 to 8 °C without a further hurdle: UK Food Standards Agency, guidance on vacuum and modified
atmosphere packing."""

_MACHINE_ZONES = ("Factory", "localtime", "posixrules")
"""Names in the zone database that mean no place."""
LONGEST_ADDRESS = 2000
"""Characters; the addresses that calendar services share are longer than a line."""
_CALENDAR_SCHEMES = ("https://", "http://", "webcal://")
_CONTACT = re.compile(r"(?:[!-~]+@|https?://)[!-~]+")


def degrees(most: int) -> Callable[[object], float]:
    """A parser of a latitude or longitude."""
    return within(a_number, -most, most, f"lies outside of -{most} to {most} degrees")


elevation_m = within(
    partial(parse_length_m, what="the site's height above the sea"),
    -430,  # the lowest shore, from memory
    9000,
    "lies outside of -430 m to 9000 m, where there is land: such as '213 m'",
)
smoke_h = within(
    partial(parse_duration_h, what="the smoke's duration"),
    SHORTEST_SMOKE_H,
    LONGEST_SMOKE_H,
    "is not a smoke of 8 h to 18 h: such as '12 h'",
)
fridge_c = within(
    partial(parse_temperature_c, what="the fridge"),
    -5,
    15,
    "is not what a fridge holds, -5 °C to 15 °C: such as '3.5 C', or leave it out where nobody measured",
)
volume_l = within(
    partial(parse_volume_l, what="the chamber's volume"),
    1,
    100_000,
    "is not a chamber of 1 l to 100 m3: such as '200 l'",
)
rise_k = within(
    partial(parse_difference_k, what="the chamber's rise"),
    0,
    40,
    "is not what a cold fire adds, 0 to 40 C: such as '4 C', or leave it out where nobody measured",
)
tray_g = within(
    partial(parse_weight_g, what="the tray's filling"),
    1,
    20_000,
    "is not what a tray holds, 1 g to 20 kg: such as '450 g'",
)
food_g = within(
    partial(parse_weight_g, what="the chamber's filling"),
    1,
    1_000_000,
    "is not what a chamber holds, 1 g to 1000 kg: such as '5 kg'",
)
store_g = within(
    partial(parse_weight_g, what="the sawdust at hand"),
    0,
    1_000_000,
    "is more than 1000 kg: such as '900 g'",
)


def ceiling_c(given: object) -> float:
    """Warmest outside air, not above what the chamber itself may reach."""
    ceiling = parse_temperature_c(given, "the ceiling")
    if ceiling > celsius_from_fahrenheit(CHAMBER_LIMIT_F):
        raise BadSetting(f"{shown(given)} is over the limit of the chamber itself, 90 F (32.2 °C): such as '60 F'")
    return ceiling


def zone(given: object) -> ZoneInfo:
    """The time zone of a place; what is not one is answered with the nearest."""
    name = a_line(given)
    try:
        found = ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as exc:
        raise BadSetting(f"{shown(name)} is not a known time zone; {_near_zone(name)}") from exc
    if name in _MACHINE_ZONES or name.startswith(("posix/", "right/")):
        raise BadSetting(f'{shown(name)} is not the zone of a place: such as "America/New_York"')
    return found


def _near_zone(name: str) -> str:
    """The nearest zone, by its whole name or by its place alone."""
    known: dict[str, str] = {}
    for key in sorted(available_timezones().difference(_MACHINE_ZONES)):
        known[key.lower()] = key
        known.setdefault(key.rpartition("/")[2].lower(), key)
    near = get_close_matches(name.lower().replace(" ", "_"), known, n=1)
    return f'did you mean "{known[near[0]]}"?' if near else 'write one such as "America/New_York"'


def chance(given: object) -> float:
    """A probability, 0 to 1."""
    number = a_number(given)
    if 1 < number <= 100:
        raise BadSetting(f"{shown(given)} is over 1: for {shown(given)} in a hundred write {number / 100:.2f}")
    if not 0 <= number <= 1:
        raise BadSetting(f"{shown(given)} is not a chance: write 0 to 1, such as 0.80")
    return number


def keep_days(given: object) -> float:
    """Days from lift to the last one for eating."""
    days = a_number(given)
    if days > LONGEST_KEEP_DAYS:
        raise BadSetting(
            f"{shown(given)} is over {LONGEST_KEEP_DAYS}, the most days in a fridge without a further hurdle "
            "(UK Food Standards Agency): such as 3"
        )
    if days <= 0:
        raise BadSetting(f"{shown(given)} is not a number of days above 0: such as 3")
    return days


def contact(given: object) -> str:
    """A mail or web address, as it goes into a request's header: ASCII without blanks."""
    text = a_line(given)
    if not _CONTACT.fullmatch(text):
        raise BadSetting(f'{shown(given)} is not a mail or web address: such as "you@example.org"')
    return text


def busy(given: object) -> tuple[str, ...]:
    """The household's calendars: one, or a list of them."""
    entries = a_list(_calendar)(given) if isinstance(given, list) else (_calendar(given),)
    if not entries:
        raise BadSetting('an empty list holds no calendar: write "family.ics", or leave it out')
    return entries


def _calendar(given: object) -> str:
    """A file or an address; an address is a secret, so no message repeats it."""
    if not isinstance(given, str) or "://" not in given:
        return a_line(given)
    if not given.lower().startswith(_CALENDAR_SCHEMES):
        scheme = shown(given.partition("://")[0] + "://")
        raise BadSetting(f"a calendar is not fetched by {scheme}: write https://…, or a file such as family.ics")
    if len(given) > LONGEST_ADDRESS or not given.isascii() or not given.isprintable() or " " in given:
        raise BadSetting(f"an address is 1 to {LONGEST_ADDRESS} plain characters without blanks: copy it once more")
    return given
