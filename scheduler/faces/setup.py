"""`setup`: write the site file, from flags, from questions where a terminal is attached, and from defaults."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING, Annotated

import typer

from providers.errors import Unreachable, WeatherError
from scheduler.errors import BadSetting
from scheduler.faces.printing import remark

if TYPE_CHECKING:
    from providers.places import Place

Answers = dict[tuple[str, str], str]
"""What goes into the site file: (section, key) -> the value as TOML."""

Text = str | None
DAY_FLAG = "monday=08:00-12:00"


def _flag(name: str, text: str) -> typer.models.OptionInfo:
    option: typer.models.OptionInfo = typer.Option(name, help=text)
    return option


def setup(
    name: Annotated[Text, _flag("--name", "What to call the site.")] = None,
    near: Annotated[Text, _flag("--near", "A town to look up for position, height and time zone.")] = None,
    pick: Annotated[Text, _flag("--pick", "Which of the matches for --near, from 1.")] = None,
    latitude: Annotated[Text, _flag("--latitude", "Degrees, north positive.")] = None,
    longitude: Annotated[Text, _flag("--longitude", "Degrees, east positive.")] = None,
    elevation: Annotated[Text, _flag("--elevation", 'Height above the sea, such as "213 m" or "700 ft".')] = None,
    zone: Annotated[Text, _flag("--zone", "Time zone, such as America/New_York.")] = None,
    units: Annotated[Text, _flag("--units", "metric or us.")] = None,
    rain_shelter: Annotated[
        bool | None, typer.Option("--rain-shelter/--no-rain-shelter", help="Does a roof keep rain off the chamber?")
    ] = None,
    sun_shelter: Annotated[
        bool | None, typer.Option("--sun-shelter/--no-sun-shelter", help="Does the chamber stand in the shade?")
    ] = None,
    hours: Annotated[Text, _flag("--hours", 'When somebody is awake and at home, such as "06:30-22:30".')] = None,
    day: Annotated[
        list[str] | None, typer.Option("--day", help=f"Other hours on one weekday: {DAY_FLAG}, or sunday=away.")
    ] = None,
    lighting: Annotated[Text, _flag("--lighting", 'When a tray may be lit, such as "16:00-22:00".')] = None,
    ceiling: Annotated[Text, _flag("--ceiling", 'Warmest outside air, such as "60 F".')] = None,
    floor: Annotated[Text, _flag("--floor", 'The outside air stays above it, such as "28 F".')] = None,
    rain_limit: Annotated[Text, _flag("--rain-limit", 'Most rain in an hour, such as "0.2 mm/h".')] = None,
    gust_limit: Annotated[Text, _flag("--gust-limit", 'Strongest gust, such as "10 m/s".')] = None,
    duration: Annotated[Text, _flag("--duration", 'From lighting to lift, "8 h" to "18 h".')] = None,
    good: Annotated[Text, _flag("--good", "Least chance of a good night, such as 0.80.")] = None,
    borderline: Annotated[Text, _flag("--borderline", "Least chance of a borderline night, such as 0.55.")] = None,
    chamber: Annotated[Text, _flag("--chamber", "What it is made of: metal, wood or cardboard.")] = None,
    chamber_volume: Annotated[Text, _flag("--chamber-volume", 'Such as "200 l".')] = None,
    tray: Annotated[Text, _flag("--tray", 'Dry sawdust that fills it, such as "450 g".')] = None,
    fronts: Annotated[Text, _flag("--fronts", "Smouldering edges, 1 or 2.")] = None,
    sawdust_store: Annotated[Text, _flag("--sawdust-store", 'Dry sawdust at hand, such as "900 g".')] = None,
    fridge: Annotated[Text, _flag("--fridge", 'Measured temperature of the fridge, such as "3.5 C".')] = None,
    keep_days: Annotated[Text, _flag("--keep-days", "Your own figure for keeping in the fridge, in days.")] = None,
    parasite_rule: Annotated[
        Text, _flag("--parasite-rule", "Whose rules for freezing against parasites hold: food-code or eu.")
    ] = None,
    weather: Annotated[Text, _flag("--weather", "A weather service, or a table of hours.")] = None,
    contact: Annotated[Text, _flag("--contact", "A mail or web address that weather services are told.")] = None,
    out: Annotated[Path | None, typer.Option("--out", help="Where to write; else the user's config folder.")] = None,
    replace: Annotated[bool, typer.Option("--replace", help="Write over a site file that is there.")] = False,
) -> None:
    """Write a site file: place, equipment, household hours and limits.

    For example: smokenight setup --near "Alderbeck" --hours 06:30-22:30 --sawdust-store "900 g"
    """
    path = _path(out, replace=replace)
    given = {
        ("site", "name"): _text(name),
        ("site", "latitude"): _bare(latitude, "--latitude"),
        ("site", "longitude"): _bare(longitude, "--longitude"),
        ("site", "elevation"): _text(elevation),
        ("site", "zone"): _text(zone),
        ("site", "units"): _text(units),
        ("shelter", "rain"): _yes_no(rain_shelter),
        ("shelter", "sun"): _yes_no(sun_shelter),
        ("household", "hours"): _text(hours),
        **_days(day or []),
        ("household", "lighting"): _text(lighting),
        ("limits", "ceiling"): _text(ceiling),
        ("limits", "floor"): _text(floor),
        ("limits", "rain"): _text(rain_limit),
        ("limits", "gust"): _text(gust_limit),
        ("smoke", "duration"): _text(duration),
        ("verdict", "good"): _bare(good, "--good"),
        ("verdict", "borderline"): _bare(borderline, "--borderline"),
        ("chamber", "material"): _text(chamber),
        ("chamber", "volume"): _text(chamber_volume),
        ("tray", "holds"): _text(tray),
        ("tray", "fronts"): _bare(fronts, "--fronts"),
        ("sawdust", "store"): _text(sawdust_store),
        ("fridge", "temperature"): _text(fridge),
        ("keep", "days"): _bare(keep_days, "--keep-days"),
        ("rules", "parasites"): _text(parasite_rule),
        ("weather", "source"): _text(_source(weather)),
        ("weather", "contact"): _text(contact),
    }
    answers = {key: value for key, value in given.items() if value is not None}
    asking = all(stream is not None and stream.isatty() for stream in (sys.stdin, sys.stderr))
    _place(answers, near, pick, contact, asking=asking)
    if asking:
        _questions(answers)
    _write(answers, path)
    typer.echo(f"wrote {path}; now ask: smokenight next" + ("" if out is None else f" --site {quote(str(path))}"))


def _path(out: Path | None, *, replace: bool) -> Path:
    """Where to write; BadSetting where a site file is there that nobody said to write over."""
    from scheduler.household.site_file import default_site_path

    path = out if out is not None else default_site_path()
    if path.exists() and not replace:
        raise BadSetting(f"{path} is there already; add --replace to write over it, or --out FILE for another")
    return path


def _write(answers: Answers, path: Path) -> None:
    """The site file, and the address that `smokenight serve` will have the site at."""
    from scheduler.faces.web.address import secret_made
    from scheduler.household.site_file import site_from, write_site

    write_site(site_from(_toml(answers), "setup"), path)
    secret_made(path)


def _text(value: str | None) -> str | None:
    """A TOML string."""
    return None if value is None else json.dumps(value, ensure_ascii=False)


def _bare(value: str | None, flag: str) -> str | None:
    """A TOML number."""
    if value is None:
        return None
    try:
        return repr(float(value)) if not value.strip().lstrip("+-").isdigit() else str(int(value))
    except ValueError as exc:
        raise BadSetting(f"{flag}: {value!r} is no number; write it like 51.25") from exc


def _source(weather: str | None) -> str | None:
    """The weather as the site file names it: a table by its whole path, as the site file may lie elsewhere."""
    from providers.services import SERVICES
    from providers.source import SAMPLE, looks_like_a_file

    if weather is None or weather in (*SERVICES, SAMPLE):
        return weather
    if not looks_like_a_file(weather):
        known = ", ".join((*SERVICES, SAMPLE))
        raise BadSetting(f"--weather: {weather!r} is not known; choose one of: {known}, or a table of hours (FILE.csv)")
    return str(Path(weather).absolute())


def _yes_no(value: bool | None) -> str | None:
    """A TOML boolean."""
    return None if value is None else str(value).lower()


def _days(given: list[str]) -> Answers:
    """Hours of single weekdays, several for one day joined."""
    found: dict[str, list[str]] = {}
    for one in given:
        weekday, equals, hours = one.partition("=")
        if not equals:
            raise BadSetting(f"--day: {one!r} is no weekday with hours; write it like {DAY_FLAG}")
        found.setdefault(weekday.strip().lower(), []).append(hours.strip())
    return {
        ("household", weekday): json.dumps(hours[0] if len(hours) == 1 else hours) for weekday, hours in found.items()
    }


def _toml(answers: Answers) -> bytes:
    """The answers as a site file that is read back, and checked, like any other."""
    sections: dict[str, list[str]] = {}
    for (section, key), value in answers.items():
        sections.setdefault(section, []).append(f"{json.dumps(key)} = {value}")
    text = "\n".join(line for name, lines in sections.items() for line in (f"[{name}]", *lines)) + "\n"
    return text.encode(errors="surrogateescape")


def _place(answers: Answers, near: str | None, pick: str | None, contact: str | None, *, asking: bool) -> None:
    """Fill in position, height, zone and name from a place that was looked up."""
    if pick is not None and near is None:
        raise BadSetting("--pick goes with --near: add it, or leave --pick out")
    if near is not None:
        _take(answers, _picked(near, _looked_up(near, contact), pick, asking=asking))
    elif asking:
        _ask_place(answers, contact)
    missing = [key for key in NEEDED if key not in answers]
    if missing and not asking:
        flags, town = ", ".join(f"--{key}" for _, key in missing), "" if near else '--near "TOWN", or '
        raise BadSetting(f"setup needs more of the place: add {town}{flags}")
    for section, key in missing:
        _ask(answers, section, key, POSITION[key])
    answers.setdefault(("site", "name"), json.dumps("our place"))


def _ask_place(answers: Answers, contact: str | None) -> None:
    """Ask for a town until one is picked, or until nothing is said: then the position is asked for."""
    while any(key not in answers for key in NEEDED):
        text = "A town near you, to look up by name (empty: type the position)"
        near = typer.prompt(text, default="", show_default=False, err=True)
        if not near.strip():
            return
        try:
            _take(answers, _picked(near, _looked_up(near, contact), None, asking=True))
        except (BadSetting, WeatherError) as exc:
            remark(str(exc))


def _looked_up(near: str, contact: str | None) -> list[Place]:
    from providers.source import find_places

    try:
        return find_places(near, contact)
    except Unreachable as exc:
        raise Unreachable(f"{exc}; say the position instead, with --latitude, --longitude and --zone") from exc


def _take(answers: Answers, found: Place) -> None:
    """What a place that was looked up says, where no flag said it."""
    looked_up = {
        ("site", "latitude"): repr(found.latitude_deg),
        ("site", "longitude"): repr(found.longitude_deg),
        ("site", "elevation"): None if found.elevation_m is None else json.dumps(f"{found.elevation_m:g} m"),
        ("site", "zone"): json.dumps(found.zone) if found.zone else None,
        ("site", "name"): json.dumps(found.name, ensure_ascii=False),
    }
    for key, value in looked_up.items():
        if value is not None:
            answers.setdefault(key, value)


def _picked(near: str, found: list[Place], pick: str | None, *, asking: bool) -> Place:
    """One of the matches: the only one, the one that was picked, or the one that is asked for."""
    if not found:
        raise BadSetting(
            f"no place is known by the name {near!r}; try a larger town, or --latitude, --longitude, --zone"
        )
    remark(f"places named {near!r} (by GeoNames, by way of Open-Meteo.com):")
    for number, place in enumerate(found, 1):
        remark(f"  {number}  {_described(place)}")
    if pick is None and len(found) == 1:
        return found[0]
    if pick is not None:
        return _numbered(found, pick)
    if not asking:
        raise BadSetting(f"{len(found)} places are named {near!r}; add --pick with the number of yours")

    def checked(said: str) -> Place:
        try:
            return _numbered(found, said)
        except BadSetting as exc:
            raise typer.BadParameter(str(exc)) from exc

    picked: Place = typer.prompt("Which", default="1", value_proc=checked, err=True)
    return picked


def _numbered(found: list[Place], pick: str) -> Place:
    """The match of that number."""
    numbers = [str(number) for number in range(1, len(found) + 1)]
    if pick.strip() not in numbers:
        raise BadSetting(f"--pick: choose a number from 1 to {len(found)}, not {pick!r}")
    return found[numbers.index(pick.strip())]


def _described(place: Place) -> str:
    """A place in one line."""
    names = ", ".join(part for part in (place.name, place.region, place.country) if part)
    height = "" if place.elevation_m is None else f", {place.elevation_m:.0f} m"
    return f"{names} ({place.latitude_deg:.3f}, {place.longitude_deg:.3f}{height})"


NEEDED = [("site", key) for key in ("latitude", "longitude", "zone")]
POSITION = {
    "latitude": "Latitude in degrees, north positive, such as 51.25",
    "longitude": "Longitude in degrees, east positive, such as -0.5",
    "zone": "Time zone, such as America/New_York",
}
STAND_IN: Answers = {
    ("site", "name"): '"x"',
    ("site", "latitude"): "0",
    ("site", "longitude"): "0",
    ("site", "zone"): '"UTC"',
}
"""For what is not answered yet, while an answer before it is checked."""

QUESTIONS = (
    ("site", "units", "Units for what is printed, metric or us", "metric"),
    ("household", "hours", "When is somebody awake and at home, every day", "06:30-22:30"),
    ("household", "lighting", "When may the tray be lit", "16:00-22:00"),
    ("limits", "ceiling", "Warmest outside air for a smoke (60 F is common practice, no source)", "60 F"),
    ("smoke", "duration", "How long is a smoke, 8 h to 18 h", "12 h"),
    ("tray", "holds", "Dry sawdust that fills the tray", "450 g"),
    ("sawdust", "store", "Dry sawdust at hand", "0 g"),
)
"""What is asked where a terminal is attached: section, key, question, default."""


def _questions(answers: Answers) -> None:
    """Ask for what no flag said."""
    for section, key, text, usual in QUESTIONS:
        if (section, key) not in answers:
            _ask(answers, section, key, text, usual)
    if ("shelter", "rain") not in answers:
        covered = typer.confirm("Does a roof keep rain off the chamber", default=True, err=True)
        answers["shelter", "rain"] = str(covered).lower()
        if not covered:
            _ask(answers, "limits", "rain", "Most rain in an hour", "0.2 mm/h")


def _ask(answers: Answers, section: str, key: str, text: str, usual: str | None = None) -> None:
    """Ask until the answer is one that a site file may hold."""
    from scheduler.household.site_file import site_from

    def checked(said: str) -> str | None:
        refused = f"setup: [{section}] {key}"
        try:
            value = _bare(said, refused) if key in ("latitude", "longitude") else _text(said.strip())
            site_from(_toml({**STAND_IN, **answers, (section, key): value or ""}), "setup")
        except BadSetting as exc:
            if str(exc).startswith(f"{refused}: "):  # what is wrong elsewhere is said at its own question
                raise typer.BadParameter(str(exc).removeprefix(f"{refused}: ")) from exc
        return value

    answers[section, key] = typer.prompt(text, default=usual, value_proc=checked, err=True)
