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
    from collections.abc import Iterator

    from scheduler.faces.replanning import Asked

NO_NIGHT = "By the newest forecast there is no night that this batch can count on. What can be done, the best first:"
LENGTH, AHEAD = timedelta(minutes=30), timedelta(hours=3)
"""Of the entry, and how long before its end it reminds (our judgement)."""


def ways_draft(asked: Asked) -> Iterator[Event]:
    """Until the last moment of the best way; gone without a trace once a night is found."""
    if not asked.ways:
        return
    site, first, uid = asked.question.site, asked.ways[0], uid_of(asked.batch.identity, "ways out")
    last = whole_second(first.next_by or first.by or first.until)
    words = [
        f"{number}. {sentence(TITLES[way.kind])} {' '.join(way_sentences(way, site))}"
        for number, way in enumerate(asked.ways, 1)
    ]
    summary = clean_line(f"No night left: {TITLES[first.kind]} ({asked.batch.name})")
    alarm = Alarm(
        uid_of(asked.batch.identity, "ways out", "alarm"), AHEAD - LENGTH, f"By {when(last, site.zone)}: {summary}"
    )
    yield Event(
        uid=uid,
        start=last - LENGTH,
        end=last,
        summary=summary,
        description=paragraphs([NO_NIGHT], words, [PROMISE]),
        status="CONFIRMED",
        transparent=False,
        categories=(TOPIC, "ways out"),
        stamp=whole_second(asked.question.now),
        alarms=(alarm,) if last - AHEAD > asked.question.now else (),
        core=loose("\n".join(words)),
        gist=(Figure("until_h", first.until.timestamp() / HOUR_S, LEEWAY_SLACK_H),),
        fleeting=True,
    )
