"""The entry of a batch that no night is left for: what can be done instead, at the time by which it has to begin."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from scheduler.faces.calendar_event import TOPIC, Alarm, Event, Figure, uid_of, whole_second
from scheduler.faces.calendar_events import LEEWAY_SLACK_H, PROMISE
from scheduler.faces.calendar_words import clean_line, loose, paragraphs
from scheduler.faces.ways_out_words import TITLES, way_sentences
from scheduler.faces.wording import sentence, when
from scheduler.planning.clock import HOUR_S

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

    from scheduler.planning.way_values import WayOut
    from scheduler.service import Question

WAYS = "ways out"
"""Of which of a batch's entries this is the name."""

NO_NIGHT = "By the newest forecast there is no night that this batch can count on."
NOT_LIT = "Nobody said that the tray is lit. If it is not, there is no night left that this batch can make."
BEST_FIRST = "What can be done, the best first:"
LENGTH, AHEAD = timedelta(minutes=30), timedelta(hours=3)
"""Of the entry, and how long before its end it reminds (our judgement)."""


def best_by(ways: Sequence[WayOut]) -> datetime:
    """By when the best of them has to be begun."""
    return ways[0].next_by or ways[0].by or ways[0].until


def ways_draft(question: Question, ways: Sequence[WayOut], *, unanswered: bool) -> Iterator[Event]:
    """Until the last moment of the best way; nothing for a batch that the journal does not know.

    unanswered: whether its tray may be lit, and nobody said so.
    """
    site, batch = question.site, question.batch
    if not ways or batch.identity is None:
        return
    first = ways[0]
    last = whole_second(best_by(ways))
    words = [
        f"{number}. {sentence(TITLES[way.kind])} {' '.join(way_sentences(way, site))}"
        for number, way in enumerate(ways, 1)
    ]
    title = f"Not lit? {sentence(TITLES[first.kind])[:-1]}" if unanswered else f"No night left: {TITLES[first.kind]}"
    summary = clean_line(f"{title} ({batch.name})")
    alarm = Alarm(uid_of(batch.identity, WAYS, "alarm"), AHEAD - LENGTH, f"By {when(last, site.zone)}: {summary}")
    yield Event(
        uid=uid_of(batch.identity, WAYS),
        start=last - LENGTH,
        end=last,
        summary=summary,
        description=paragraphs([f"{NOT_LIT if unanswered else NO_NIGHT} {BEST_FIRST}"], words, [PROMISE]),
        status="CONFIRMED",
        transparent=False,
        categories=(TOPIC, WAYS),
        stamp=whole_second(question.now),
        alarms=(alarm,) if last - AHEAD > question.now else (),
        core=loose("\n".join(words)),
        gist=(Figure("until_h", first.until.timestamp() / HOUR_S, LEEWAY_SLACK_H),),
    )
