"""Answers of `next` that still hold: kept in the journal, read back without weather, planning or pandas.

An answer is read back to the same question on the same terminal while nothing was recorded since, no file that it
rests on has changed, and its moment has not passed (`answer_holds`).  It says when it was asked and when it was read
back; how old its forecast is counts from now.  Where anything is odd, the answer is computed as if none were kept.
"""

from __future__ import annotations

import json
import os
import time
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from scheduler.errors import SchedulerError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from scheduler.faces.asking import BatchFlags, Flags
    from scheduler.journal.store import Journal
    from scheduler.service import Answer

ODD = (SchedulerError, OSError, ValueError, LookupError)
"""What a kept answer may run into that is not as it was written."""


@dataclass(frozen=True, slots=True)
class Look:
    """How an answer is to look."""

    width: int
    colour: bool
    as_json: bool


@dataclass(frozen=True, slots=True)
class Back:
    """An answer that was read back."""

    shown: str | dict[str, Any]
    """Text, or the values of the JSON."""
    found: bool
    """Whether it names a night."""


@dataclass(frozen=True, slots=True)
class Recall:
    """One question, and the journal that may hold its answer."""

    flags: Flags
    look: Look
    path: Path
    question: str
    began: float
    last: int
    """Number of the journal's last record when the question was asked."""


def recall(flags: Flags, said: BatchFlags, look: Look) -> tuple[Recall | None, Back | None]:
    """The question, where its answer may be kept, and that answer, where it still holds."""
    path = _journal_of(flags)
    if path is None:
        return None, None
    with suppress(*ODD):
        from scheduler.journal.store import Journal

        with Journal.open(path, create=False) as journal:
            asked = Recall(flags, look, path, _question(flags, said, look), time.time(), journal.last())
            with suppress(*ODD):
                return asked, _read(asked, journal)
            return asked, None
    return None, None


def keep(asked: Recall | None, answer: Answer, text: str) -> None:
    """Keep what was just computed and said, for as long as it holds; a journal that cannot take it costs nothing."""
    if asked is None:
        return
    with suppress(*ODD):
        from scheduler.faces.answer_holds import content_of
        from scheduler.journal.store import Journal

        site = answer.question.site.name
        with Journal.open(asked.path, create=False) as journal:
            held = content_of(asked, answer, text, journal)
            if held is not None and journal.last() == asked.last:
                held["last"] = journal.last(site)
                journal.keep_answer(asked.question, site, sealed(held))


def _journal_of(flags: Flags) -> Path | None:
    """The journal, where it is there already; the invented site has none of its own."""
    from scheduler.faces.book import journal_path

    if flags.sample and flags.journal is None:
        return None
    path = journal_path(flags.journal)
    return path if path.is_file() else None


def _question(flags: Flags, said: BatchFlags, look: Look) -> str:
    """All that was asked but for the moment, and by which program, as one short key."""
    services = sorted((name, value) for name, value in os.environ.items() if name.startswith("SMOKENIGHT_"))
    look = Look(0, colour=False, as_json=True) if look.as_json else look
    whole = (replace(flags, now=None), said, look, os.getcwd(), site_path(flags), services, _program())
    return sha256(repr(whole).encode("utf-8", "surrogateescape")).hexdigest()


def site_path(flags: Flags) -> Path | None:
    """The site file that is asked about; None for the invented one."""
    from scheduler.household.site_file import default_site_path

    if flags.sample and flags.site is None:
        return None
    return (flags.site if flags.site is not None else default_site_path()).absolute()


def _program() -> tuple[int, int]:
    """How many files this program has, and when one was changed last: another version answers for itself."""
    changed = [facts.st_mtime_ns for facts in _files(str(Path(__file__).parents[2]))]
    return len(changed), max(changed)


def _files(root: str) -> Iterator[os.stat_result]:
    folders = [os.path.join(root, "scheduler"), os.path.join(root, "providers")]
    while folders:
        with os.scandir(folders.pop()) as entries:
            for entry in entries:
                if entry.is_dir():
                    if entry.name != "__pycache__":
                        folders.append(entry.path)
                else:
                    yield entry.stat()


def digest(path: str | Path) -> str:
    """What a file holds, in short."""
    return sha256(Path(path).read_bytes()).hexdigest()


def sealed(held: dict[str, Any]) -> str:
    """An answer as it is kept, behind its digest."""
    text = json.dumps(held)
    return f"{sha256(text.encode()).hexdigest()} {text}"


def _unsealed(kept: str) -> dict[str, Any]:
    """What was kept; ValueError where it is not as it was written."""
    seal, _, text = kept.partition(" ")
    if sha256(text.encode()).hexdigest() != seal:
        raise ValueError("the kept answer is not as it was written")
    held: dict[str, Any] = json.loads(text)
    return held


def _read(asked: Recall, journal: Journal) -> Back | None:
    kept = journal.answer(asked.question)
    if kept is None:
        return None
    site, held = kept[0], _unsealed(kept[1])
    zone = ZoneInfo(held["zone"])
    moment = _moment(asked.flags, zone)
    if not datetime.fromisoformat(held["asked"]) <= moment < datetime.fromisoformat(held["until"]):
        return None
    if held["fresh_until"] is not None and datetime.now(UTC) >= datetime.fromisoformat(held["fresh_until"]):
        return None
    if journal.last(site) != held["last"] or any(digest(path) != there for path, there in held["files"].items()):
        return None
    if asked.look.as_json:  # whose `as_of` is the moment that it was asked
        return Back(dict(held["answer"]), bool(held["found"]))
    return Back(_as_text(held, moment, zone, asked.look), bool(held["found"]))


def _moment(flags: Flags, zone: ZoneInfo) -> datetime:
    from scheduler.faces import asking

    return datetime.now(UTC) if flags.now is None else asking.moment(flags.now, zone, "--now")


def _as_text(held: dict[str, Any], moment: datetime, zone: ZoneInfo, look: Look) -> str:
    """The pieces of the report, with its moment and the forecast's age set anew between them."""
    before, between, after = map(str, held["pieces"])
    asked, issued_at = (datetime.fromisoformat(held[key]) for key in ("asked", "issued_at"))
    told = asked_line(asked, zone, look, moment)
    return before + told + between + made_line(held["source"], issued_at, moment, zone, look) + after


def asked_line(asked: datetime, zone: ZoneInfo, look: Look, read_back: datetime | None = None) -> str:
    """The lines of a report that say when it was asked."""
    from scheduler.faces.forecast_lines import say_asked
    from scheduler.faces.terminal import Page

    page = Page.of(look.width, colour=look.colour)
    say_asked(page, asked, zone, read_back)
    return page.text()


def made_line(source: str, issued_at: datetime, moment: datetime, zone: ZoneInfo, look: Look) -> str:
    """The lines of a report that say how old its forecast is."""
    from scheduler.faces.forecast_lines import say_made
    from scheduler.faces.terminal import Page

    page = Page.of(look.width, colour=look.colour)
    say_made(page, source, issued_at, moment, zone)
    return page.text()
