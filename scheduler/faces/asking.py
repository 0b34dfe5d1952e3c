"""What every command is asked with: the site, the weather, the batch and the moment, from flags to values."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar
from zoneinfo import ZoneInfo

from scheduler.errors import BadSetting
from scheduler.faces.asking_freezing import FreezingFlags, with_record, with_rule
from scheduler.faces.away import busy_of
from scheduler.household.batch import Batch
from scheduler.household.site import Site

if TYPE_CHECKING:
    from collections.abc import Callable

    from providers.forecast import Forecast
    from providers.source import Place
    from scheduler.household.process import Process
    from scheduler.service import Question

T = TypeVar("T")

SAMPLE_SITE = Site(
    name="Alderbeck garden (invented)",
    latitude_deg=45.0,
    longitude_deg=-70.0,
    zone=ZoneInfo("America/New_York"),
    elevation_m=300.0,
    sawdust_store_g=900.0,
    fridge_c=3.5,
)
"""An invented household, for trying the tool without a file."""

SAMPLE_BATCH = Batch(name="sample batch", weight_g=1300.0)
"""What lies in the invented freezer."""

LEAST_G, MOST_G = 1.0, 100_000.0
"""Our judgement: less or more than that to cure at home is a slip of the unit."""

LONG_AGO = timedelta(days=90)
"""Our judgement: no fish and no sawdust lies that long in any state that a time is asked for."""

LIKE_THIS = "2026-10-17T14:00"
FIRST_YEAR, LAST_YEAR = 1900, 2200
"""Far from the ends of what a calendar can hold."""


@dataclass(frozen=True, slots=True)
class Flags:
    """The flags that all questions share."""

    site: Path | None
    sample: bool
    weather: str | None
    now: str | None
    process: Path | None = None
    journal: Path | None = None
    away: list[str] | None = None


@dataclass(frozen=True, slots=True)
class BatchFlags:
    """What was said of the fish and the sawdust."""

    food: str | None = None
    fish: str | None = None
    since: str | None = None
    weight: str | None = None
    largest_pack: str | None = None
    sawdust: str | None = None
    sawdust_since: str | None = None
    name: str | None = None
    freezing: FreezingFlags = field(default_factory=FreezingFlags)


def question(flags: Flags, said: BatchFlags) -> Question:
    """Everything a question needs, read, fetched and checked; raises the errors that commands turn into one line."""
    from scheduler.faces.journal_question import with_own_nights
    from scheduler.service import Question

    site, now = site_and_moment(flags)
    process = process_of(flags, said.food)
    site = with_rule(site, said.freezing)
    batch = batch_of(said, site.zone, now, process, sample=flags.sample)
    batch = with_record(
        batch, said.freezing, now, lambda given, flag: moment(given, site.zone, flag), sample=flags.sample
    )
    busy = busy_of(flags, site, now)
    forecast, others = forecasts_of(flags, site, now)
    return with_own_nights(Question(site, process, batch, forecast, now, others, busy=busy), flags)


def site_and_moment(flags: Flags) -> tuple[Site, datetime]:
    """The site, and the moment to answer for."""
    site = site_of(flags)
    return site, moment(flags.now, site.zone, "--now") if flags.now is not None else datetime.now(UTC)


def preferred(site: Site) -> str | None:
    """The weather service that the site names, if it names one."""
    from providers.services import SERVICES

    return site.weather if site.weather in SERVICES else None


def site_of(flags: Flags) -> Site:
    """The invented site, the named file, or the one that `setup` made."""
    from scheduler.household.site_file import default_site_path, load_site

    if flags.sample and flags.site is None:
        return SAMPLE_SITE
    path = flags.site if flags.site is not None else default_site_path()
    return load_site(path, or_else=", or use `--sample`")


def batch_of(said: BatchFlags, zone: ZoneInfo, now: datetime, process: Process, *, sample: bool) -> Batch:
    """The batch as it was described; nothing said of it takes the process's usual, or the invented one's."""
    from scheduler.household.foods import a_food
    from scheduler.household.toml_file import a_line

    usual = SAMPLE_BATCH if sample else Batch()
    food = with_flag("--food", a_food, said.food, usual_food(process))
    state = said.fish.strip().lower() if said.fish is not None else process.unstarted[0]
    sawdust = said.sawdust.strip().lower() if said.sawdust is not None else None
    if said.since is not None and state in process.unstarted:
        raise BadSetting(f"--since goes with {food} that is on its way, not with {state} {food}: leave it out")
    if said.sawdust_since is not None and sawdust in (None, "dry", "none"):
        raise BadSetting("--sawdust-since goes with --sawdust soaking or drying: add one of them, or leave it out")
    return Batch(
        food=food,
        name=with_flag("--batch", a_line, said.name, usual.name),
        weight_g=with_flag("--weight", a_weight_g, said.weight, usual.weight_g),
        largest_pack_g=with_flag("--largest-pack", a_weight_g, said.largest_pack, None),
        state=state,
        since=_lately(said.since, zone, now, "--since"),
        sawdust=sawdust,
        sawdust_since=_lately(said.sawdust_since, zone, now, "--sawdust-since"),
    )


def with_flag(flag: str, parse: Callable[[str], T], given: str | None, usual: T) -> T:
    """What a flag says, with the flag's name in the message when it cannot be read."""
    if given is None:
        return usual
    try:
        return parse(given)
    except BadSetting as exc:
        raise BadSetting(f"{flag}: {exc}") from exc


def a_weight_g(given: str) -> float | None:
    """A weight that a household may have in hand."""
    from scheduler.household.units import parse_weight_g

    value = parse_weight_g(given)
    if not LEAST_G <= value <= MOST_G:
        raise BadSetting(f"{given!r} is not from 1 g to 100 kg; write it like '1.3 kg' or '3 lb'")
    return value


def _lately(given: str | None, zone: ZoneInfo, now: datetime, flag: str) -> datetime | None:
    """Since when something lasts; BadSetting where that is so long ago that the year must be wrong."""
    if given is None:
        return None
    since = moment(given, zone, flag)
    if now - since > LONG_AGO:
        raise BadSetting(f"{flag}: {given!r} is {(now - since).days} days ago; is the year right?")
    return since


def usual_food(process: Process) -> str:
    """The usual food where the process is for it, else the first that it names."""
    usual = Batch().food
    return usual if usual in process.foods else process.foods[0]


def process_of(flags: Flags, food: str | None) -> Process:
    """The household's own process, or the one that ships for this food, or for the usual one."""
    from scheduler.household.foods import a_food
    from scheduler.household.process_file import load_process, shipped_process
    from scheduler.science.hazards import KNOWN

    if flags.process is None:
        return shipped_process(Batch().food if food is None else food, KNOWN)
    process = load_process(flags.process, known_cautions=KNOWN)
    if food is not None and a_food(food) not in process.foods:
        raise BadSetting(
            f"--food {food}: the process {process.name!r} is for {' or '.join(process.foods)}; name one of them"
        )
    return process


def moment(given: str, zone: ZoneInfo, flag: str) -> datetime:
    """A moment that a person wrote; without an offset it is the site's clock."""
    try:
        read = datetime.fromisoformat(given.strip())
    except ValueError as exc:
        raise BadSetting(f"{flag}: {given!r} is no time; write it like {LIKE_THIS}") from exc
    if "T" not in given.upper() and " " not in given.strip():
        raise BadSetting(f"{flag}: {given!r} has no time of day; write it like {given.strip()}T14:00")
    if not FIRST_YEAR <= read.year <= LAST_YEAR:
        raise BadSetting(f"{flag}: {given!r} is not from {FIRST_YEAR} to {LAST_YEAR}; write it like {LIKE_THIS}")
    if read.tzinfo is not None:
        return read
    local = read.replace(tzinfo=zone)
    if local.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != read:
        raise BadSetting(f"{flag}: the clock skips {given!r} in {zone.key}; write it with its offset from UTC")
    if local.utcoffset() != local.replace(fold=1).utcoffset():
        raise BadSetting(f"{flag}: the clock shows {given!r} twice in {zone.key}; write it with its offset from UTC")
    return local


def _from_site(flags: Flags, site: Site) -> str | None:
    """The site's own source; a table's path is read from the folder of the site file."""
    from providers.source import looks_like_a_file
    from scheduler.household.site_file import default_site_path

    if site.weather is None or not looks_like_a_file(site.weather):
        return site.weather
    return str((flags.site if flags.site is not None else default_site_path()).parent / site.weather)


def weather_file(flags: Flags, site: Site) -> Path | None:
    """The table that the weather is read from; None where it comes from elsewhere."""
    from providers.source import looks_like_a_file

    source = flags.weather if flags.weather is not None or flags.sample else _from_site(flags, site)
    return Path(source) if source is not None and looks_like_a_file(source) else None


def forecasts_of(flags: Flags, site: Site, now: datetime) -> tuple[Forecast, tuple[Forecast, ...]]:
    """The weather, and second opinions: one source where a flag names it, else as the site says, or the default."""
    from providers.source import get_forecast, second_opinions

    place = place_of(site)
    if flags.weather is not None or flags.sample:
        source = "sample" if flags.weather is None else flags.weather
        return get_forecast(source, place, now, only=True), ()
    first = _from_site(flags, site)
    forecast = get_forecast(first, place, now)
    return forecast, second_opinions(forecast, place, first)


def place_of(site: Site) -> Place:
    """What the weather is told of a site."""
    from providers.source import Place

    return Place(site.latitude_deg, site.longitude_deg, site.elevation_m, site.zone, site.contact)
