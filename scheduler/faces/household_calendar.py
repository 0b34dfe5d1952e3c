"""The household's own calendars: files and addresses that the site names, read into stretches when nobody has time.

An address is a secret, and so is what a family does: messages name the host alone, and no event.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from urllib.parse import unquote

from providers.addresses import host_of, is_loopback
from providers.errors import BadPayload, Refused, Unreachable, WeatherError
from scheduler.errors import BadSetting
from scheduler.household.toml_file import file_name

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path
    from zoneinfo import ZoneInfo

    from providers.polite_http import Answer, PoliteClient
    from scheduler.faces.away import Span
    from scheduler.faces.busy_events import Window

AHEAD = timedelta(days=60)
"""Further than any plan: forecasts reach 16 days, and ash cools and sawdust dries for weeks around them."""
HOLDS = timedelta(minutes=30)
"""Our judgement: how long a fetched calendar is taken as it is before it is asked for again."""
LARGEST_BYTES = 8 * 2**20
READ_S = 20.0
"""Our judgement: several times what the largest file of ten years takes, of which most is over."""
TELLING_PART = 4
"""Characters from which a part of an address may give it away."""
OWN_WORDS = {"calendar"}
"""What messages say anyhow."""


@dataclass(frozen=True, slots=True)
class Busy:
    """When nobody has time, and what to know of it."""

    spans: tuple[Span, ...]
    notes: tuple[str, ...] = ()


def household_busy(
    calendars: Sequence[str],
    zone: ZoneInfo,
    now: datetime,
    folder: Path,
    client: Callable[[], PoliteClient] | None,
) -> Busy:
    """What the calendars keep busy from now for `AHEAD`; files are looked for from `folder`.

    No client asks nobody: addresses are left out, with a note.  Raises BadSetting for a file that cannot be used
    and an address that may not be asked, and a WeatherError for a calendar that cannot be had, now or earlier.
    """
    from scheduler.faces.busy_events import Window

    window = Window(now.astimezone(UTC), now.astimezone(UTC) + AHEAD, zone)
    read = [
        _fetched(each, window, client) if "://" in each else Busy(_in_file(folder / each, window)) for each in calendars
    ]
    spans = {span for one in read for span in one.spans}
    return Busy(tuple(sorted(spans)), tuple(note for one in read for note in one.notes))


def _in_file(path: Path, window: Window) -> tuple[Span, ...]:
    name = file_name(path)
    hint = "see [household] busy in the site file"
    try:
        if not path.is_file():
            raise BadSetting(f"{name}: there is no such calendar file: {hint}")
        with path.open("rb") as file:
            data = file.read(LARGEST_BYTES + 1)
    except OSError as exc:
        raise BadSetting(f"{name}: the calendar cannot be read: check the path and its permissions; {hint}") from exc
    return _read(data, name, window)


def _read(data: bytes, name: str, window: Window) -> tuple[Span, ...]:
    """The busy stretches, in bounded time."""
    from providers.exchange import in_time
    from scheduler.faces.busy_events import busy_in

    if len(data) > LARGEST_BYTES:
        raise BadSetting(f"{name}: is larger than {LARGEST_BYTES // 2**20} MB: share a calendar with fewer events")
    try:
        return in_time(READ_S, lambda _: busy_in(data, name, window))
    except TimeoutError as exc:
        problem = f"takes more than {READ_S:g} s to read: look for an event with an odd recurrence"
        raise BadSetting(f"{name}: {problem}") from exc


def _fetched(address: str, window: Window, client: Callable[[], PoliteClient] | None) -> Busy:
    url = re.sub("^webcal://", "https://", address, flags=re.IGNORECASE)
    host = host_of(url)
    name = f"the calendar at {host or 'an unknown host'}"
    if not host or (url.lower().startswith("http://") and not is_loopback(host)):
        raise BadSetting(f"{name} is not asked: write its https address under [household] busy in the site file")
    if client is None:
        return Busy((), (f"{name} was not asked: --sample uses no network, so its events do not count",))
    seen: dict[bytes, tuple[Span, ...]] = {}

    def check(answer: Answer) -> None:
        try:
            if answer.body not in seen:
                seen[answer.body] = _read(answer.body, name, window)
        except BadSetting as exc:
            raise BadPayload(str(exc)) from exc

    try:
        answer = client().get(url, {}, source=name, check=check, accept="text/calendar, */*;q=0.1", min_ttl=HOLDS)
    except WeatherError as exc:
        raise _kind(exc)(f"{_discreet(str(exc), url, name)}: check its address, or leave it out for now") from None
    return Busy(seen[answer.body], _notes(answer, url, name, window.zone))


def _kind(error: WeatherError) -> type[WeatherError]:
    return next(kind for kind in (Refused, BadPayload, Unreachable, WeatherError) if isinstance(error, kind))


def _notes(answer: Answer, url: str, name: str, zone: ZoneInfo) -> tuple[str, ...]:
    """What stands in for what, and what could not be kept."""
    notes = tuple(_discreet(note, url, name) for note in answer.notes)
    if answer.stale_because is None:
        return notes
    when = f"{answer.fetched_at.astimezone(zone):%Y-%m-%d %H:%M}"
    return (*notes, f"{_discreet(answer.stale_because, url, name)}; the one fetched at {when} stands in")


def _discreet(sentence: str, url: str, name: str) -> str:
    """The sentence, unless it says more of the address than the host."""
    rest = url.partition("://")[2].partition("/")[2]
    parts = {part.lower() for text in (rest, unquote(rest)) for part in re.split(r"[/?&=#]", text)} - OWN_WORDS
    gives_away = any(len(part) >= TELLING_PART and part in sentence.lower() for part in parts)
    return f"{name} could not be had" if gives_away or "://" in sentence else sentence
