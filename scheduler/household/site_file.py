"""The site file: what `setup` writes and a household may edit.

What is left out takes the default of `Site`; four keys are required: name, latitude, longitude and zone.
"""

from __future__ import annotations

import os
import stat
from functools import partial
from pathlib import Path
from typing import get_args

from scheduler.errors import BadSetting
from scheduler.household import site_values
from scheduler.household.clock import Days, ever_meet, parse_clock_range, parse_day
from scheduler.household.policy_text import read_policy
from scheduler.household.site import Chamber, ClockRange, Limits, Material, ParasiteRule, Site, Tray
from scheduler.household.site_text import SECTIONS, WEEKDAYS, site_text
from scheduler.household.toml_file import Table, a_flag, a_line, file_name, one_of, read_file, read_toml
from scheduler.household.units import (
    Units,
    parse_rain_mm_per_h,
    parse_speed_ms,
    parse_temperature_c,
    show_temperature,
)

__all__ = ["default_site_path", "load_site", "site_from", "site_text", "write_site"]

_NO_FILE = "run `smokenight setup` to make one"


def default_site_path() -> Path:
    """Where the user's own site file lies, whether there is one or not."""
    from platformdirs import user_config_path

    return user_config_path("smokenight", appauthor=False) / "site.toml"


def load_site(path: Path | str, or_else: str = "") -> Site:
    """The site that the file describes; BadSetting, one line, for the first thing that cannot be used.

    or_else: what can be done besides making a file, where there is none.
    """
    path = Path(path)
    return site_from(read_file(path, f"{_NO_FILE}{or_else}"), file_name(path))


def write_site(site: Site, path: Path | str) -> None:
    """Write the site file, whole or not at all, and its folder if need be.

    Raises BadSetting where the file cannot be written, or would not read back to this very site.
    """
    name = file_name(Path(path))
    text = site_text(site)
    if site_from(text.encode(), name) != site:
        raise BadSetting(f"{name}: a site file has no words for something in this site: use what its keys say")
    try:
        _replace(Path(os.path.realpath(path)), text)
    except OSError as exc:
        raise BadSetting(f"{name}: cannot be written ({exc.strerror}): check the folder") from exc


def site_from(data: bytes, file: str) -> Site:
    """The site in the bytes of a site file; messages call it `file`."""
    whole = read_toml(data, file)
    whole.only(SECTIONS, _OWNERS)
    tables = {name: _section(whole, name) for name in SECTIONS}
    place, shelter, weather = tables["site"], tables["shelter"], tables["weather"]
    usual = Site(
        name=place.need("name", a_line, 'name = "our garden"'),
        latitude_deg=place.need("latitude", site_values.degrees(90), "latitude = 51.25  # north positive"),
        longitude_deg=place.need("longitude", site_values.degrees(180), "longitude = -0.5  # east positive"),
        zone=place.need("zone", site_values.zone, 'zone = "America/New_York"'),
    )
    hours, lighting = _hours(tables["household"], usual)
    good, borderline = _chances(tables["verdict"], usual)
    return Site(
        name=usual.name,
        latitude_deg=usual.latitude_deg,
        longitude_deg=usual.longitude_deg,
        zone=usual.zone,
        elevation_m=place.read("elevation", site_values.elevation_m, usual.elevation_m),
        units=place.read("units", one_of(*get_args(Units)), usual.units),
        rain_shelter=shelter.read("rain", a_flag, usual.rain_shelter),
        sun_shelter=shelter.read("sun", a_flag, usual.sun_shelter),
        household_hours=hours,
        busy=tables["household"].read("busy", site_values.busy, usual.busy),
        lighting_hours=lighting,
        duration_h=tables["smoke"].read("duration", site_values.smoke_h, usual.duration_h),
        good_chance=good,
        borderline_chance=borderline,
        policy=read_policy(tables["replan"], borderline),
        limits=_limits(tables["limits"], usual.limits),
        chamber=_chamber(tables["chamber"], usual.chamber),
        tray=_tray(tables["tray"], usual.tray),
        sawdust_store_g=tables["sawdust"].read("store", site_values.store_g, usual.sawdust_store_g),
        fridge_c=tables["fridge"].read("temperature", site_values.fridge_c, usual.fridge_c),
        eat_within_days=tables["keep"].read("days", site_values.keep_days, usual.eat_within_days),
        parasite_rule=tables["rules"].read("parasites", one_of(*get_args(ParasiteRule)), usual.parasite_rule),
        weather=weather.read("source", a_line, usual.weather),
        contact=weather.read("contact", site_values.contact, usual.contact),
    )


def _replace(path: Path, text: str) -> None:
    """Put the text into a new file beside the old one, then swap them in one step."""
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f".{path.name}.{os.urandom(4).hex()}")
    try:
        with beside.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        if path.exists():
            beside.chmod(stat.S_IMODE(path.stat().st_mode))
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def _owners() -> dict[str, str]:
    """For every key, the hint that says under which section it belongs."""
    owners: dict[str, list[str]] = {}
    for section, keys in SECTIONS.items():
        for key in keys:
            owners.setdefault(key, []).append(f"[{section}]")
    return {key: f"it belongs under {' or '.join(sections)}" for key, sections in owners.items()}


_OWNERS = _owners()


def _section(whole: Table, name: str) -> Table:
    table = whole.table(name, f"[{name}]")
    table.only(SECTIONS[name], _OWNERS)
    return table


def _hours(table: Table, usual: Site) -> tuple[Days, ClockRange]:
    every_day = table.read("hours", parse_day, usual.household_hours[0])
    days = tuple(table.read(day, parse_day, every_day) for day in WEEKDAYS)
    if not any(days):
        table.refuse("hours", 'somebody has to be at home on one day at least: such as "06:30-22:30"')
    lighting = table.read("lighting", parse_clock_range, usual.lighting_hours)
    if not ever_meet(((lighting,),) * 7, days):
        table.refuse("lighting", f'"{lighting}" is outside of the household\'s hours on every day: let them overlap')
    return days, lighting


def _chances(table: Table, usual: Site) -> tuple[float, float]:
    good = table.read("good", site_values.chance, usual.good_chance)
    borderline = table.read("borderline", site_values.chance, usual.borderline_chance)
    if borderline >= good:
        table.refuse("borderline", f"{borderline} is not below good = {good}: lower it, or raise good")
    return good, borderline


def _limits(table: Table, usual: Limits) -> Limits:
    ceiling_c = table.read("ceiling", site_values.ceiling_c, usual.ceiling_c)
    floor_c = table.read("floor", partial(parse_temperature_c, what="the floor"), usual.floor_c)
    if ceiling_c <= floor_c:
        problem = f"{_both(ceiling_c)} is not above the floor, {_both(floor_c)}"
        table.refuse("ceiling", f"{problem}: raise it, or lower the floor")
    return Limits(
        ceiling_c,
        floor_c,
        table.read("rain", partial(parse_rain_mm_per_h, what="the rain limit"), usual.rain_mm_per_h),
        table.read("gust", partial(parse_speed_ms, what="the gust limit"), usual.gust_ms),
    )


def _both(c: float) -> str:
    return f"{show_temperature(c, 'us')} ({show_temperature(c, 'metric')})"


def _chamber(table: Table, usual: Chamber) -> Chamber:
    return Chamber(
        table.read("material", one_of(*get_args(Material)), usual.material),
        table.read("volume", site_values.volume_l, usual.volume_l),
        table.read("rise", site_values.rise_k, usual.rise_k),
        table.read("holds", site_values.food_g, usual.holds_g),
    )


def _tray(table: Table, usual: Tray) -> Tray:
    return Tray(
        table.read("holds", site_values.tray_g, usual.holds_g),
        table.read("fronts", one_of(1, 2), usual.fronts),
    )
