"""`next`: the next good night that can be made, and the way there."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.faces import asking, options
from scheduler.faces.asking_freezing import FreezingFlags
from scheduler.faces.completion import open_batches
from scheduler.faces.exit_codes import NO
from scheduler.faces.printing import colour, dump, say, width

if TYPE_CHECKING:
    from scheduler.faces.kept_answer import Look, Recall

InJournal = Annotated[
    str | None,
    typer.Option("--batch", help="An open batch of the journal; else the only one.", autocompletion=open_batches),
]


def next_night(
    site: options.SiteFile = None,
    sample: options.Sample = False,
    weather: options.Weather = None,
    now: options.Now = None,
    food: options.Food = None,
    fish: options.Fish = None,
    since: options.Since = None,
    weight: options.Weight = None,
    largest_pack: options.LargestPack = None,
    sawdust: options.Sawdust = None,
    sawdust_since: options.SawdustSince = None,
    frozen_since: options.FrozenSince = None,
    freezer: options.Freezer = None,
    freezer_measured: options.FreezerMeasured = False,
    eu_rule: options.EuRule = False,
    farmed: options.Farmed = False,
    process: options.ProcessFile = None,
    away: options.Away = None,
    name: InJournal = None,
    journal: options.JournalFile = None,
    as_json: options.Json = False,
) -> None:
    """The next good night you can be ready for, and the way there.

    For example: smokenight next --fish salted --since 2026-10-17T18:00 --weight "1.3 kg"
    """
    from scheduler.faces.kept_answer import Look, recall

    freezing = FreezingFlags(frozen_since, freezer, freezer_measured, eu_rule, farmed)
    batch = asking.BatchFlags(food, fish, since, weight, largest_pack, sawdust, sawdust_since, name, freezing)
    flags = asking.Flags(site, sample, weather, now, process, journal, away)
    look = Look(width(), colour(), as_json)
    asked, back = recall(flags, batch, look)
    if back is not None:
        say(back.shown if isinstance(back.shown, str) else dump(back.shown))
    if not (back.found if back is not None else _say_next(flags, batch, look, asked)):
        raise typer.Exit(NO)


def _say_next(flags: asking.Flags, batch: asking.BatchFlags, look: Look, asked: Recall | None) -> bool:
    """Compute the answer, print it, and keep it while it holds; whether there is a night."""
    from scheduler import service
    from scheduler.faces.as_json import next_json
    from scheduler.faces.journal_question import open_batch
    from scheduler.faces.kept_answer import keep
    from scheduler.faces.next_report import next_report

    answer = service.plan(open_batch(flags, batch) or asking.question(flags, batch))
    text = dump(next_json(answer)) if look.as_json else next_report(answer, width=look.width, colour=look.colour)
    say(text)
    keep(asked, answer, text)
    return answer.choice.plan is not None
