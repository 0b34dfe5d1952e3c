"""A published entry as text, for the journal to keep, and back; the round trip is exact."""

from __future__ import annotations

import json
from dataclasses import asdict
from datetime import datetime, timedelta
from typing import Any

from scheduler.errors import BadJournal
from scheduler.faces.calendar_event import Alarm, Event, Figure
from scheduler.faces.feed import Entry


def entry_text(entry: Entry) -> str:
    """One line of JSON."""
    body = {**asdict(entry.event), "gone_at": entry.gone_at}
    return json.dumps(body, ensure_ascii=False, default=_plain, separators=(",", ":"))


def _plain(value: object) -> object:
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, timedelta):
        return value.total_seconds()
    raise TypeError(f"{value!r} is nothing that an entry holds")


def entry_of(text: str) -> Entry:
    """The entry; BadJournal for a text that is none."""
    try:
        body: dict[str, Any] = json.loads(text)
        gone_at = _moment(body.pop("gone_at"))
        times: dict[str, Any] = {name: _moment(body.pop(name)) for name in ("start", "end", "stamp", "created")}
        lists: dict[str, Any] = {
            "categories": tuple(body.pop("categories")),
            "alarms": tuple(_alarm(**one) for one in body.pop("alarms")),
            "gist": tuple(Figure(**one) for one in body.pop("gist")),
        }
        return Entry(Event(**body, **times, **lists), gone_at)
    except (ValueError, TypeError, KeyError, AttributeError) as exc:
        raise BadJournal("the journal holds a calendar entry that cannot be read; it was changed by hand") from exc


def _alarm(uid: str, before: float, text: str) -> Alarm:
    return Alarm(uid, timedelta(seconds=before), text)


def _moment(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)
