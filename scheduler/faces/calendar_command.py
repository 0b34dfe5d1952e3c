"""`calendar`: the plans as a calendar file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from scheduler.faces import asking, options
from scheduler.faces.asking_freezing import FreezingFlags
from scheduler.faces.completion import open_batches
from scheduler.faces.exit_codes import NO
from scheduler.faces.printing import remark

Out = Annotated[Path, typer.Argument(help="The calendar file to write, such as smoke.ics.", metavar="OUT.ics")]
BatchName = Annotated[
    str | None,
    typer.Option("--batch", help="A name for this batch, kept in the calendar.", autocompletion=open_batches),
]


def calendar(
    out: Out,
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
    batch: BatchName = None,
    process: options.ProcessFile = None,
    away: options.Away = None,
    journal: options.JournalFile = None,
) -> None:
    """Write the adopted plans, or the next one, as a calendar file.

    What nobody adopted is tentative.  Without a plan the exit code is 1: the household's file is written and tells
    what there is instead; a file for food that flags describe, or for the invented site, is left as it was.  With
    --now, --weather, --away or --sample it is a what-if: what `serve` hands out stays as it is.
    For example: smokenight calendar smoke.ics
    """
    from scheduler.faces.feed_file import feed_file
    from scheduler.faces.files import write_whole

    freezing = FreezingFlags(frozen_since, freezer, freezer_measured, eu_rule, farmed)
    said = asking.BatchFlags(food, fish, since, weight, largest_pack, sawdust, sawdust_since, batch, freezing)
    flags = asking.Flags(site, sample, weather, now, process, journal, away)
    written = feed_file(flags, said)
    if written is None:
        planned = _write_next(out, flags, said)
    else:
        write_whole(out, written.data)
        remark("\n".join((*written.lines, f"{out} is written")))
        planned = written.planned
    if not planned:
        raise typer.Exit(NO)


def _write_next(out: Path, flags: asking.Flags, said: asking.BatchFlags) -> bool:
    """Write the next plan, which nobody adopted; whether there is one."""
    from scheduler import service
    from scheduler.faces.calendar import plan_calendar
    from scheduler.faces.files import write_whole
    from scheduler.faces.journal_question import open_batch
    from scheduler.faces.next_report import headline

    answer = service.plan(open_batch(flags, said, strict=False) or asking.question(flags, said))
    found = answer.choice.plan
    if found is not None:
        write_whole(out, plan_calendar(found, answer.question, adopted=False))
        done = "is written"
    else:
        done = "is left as it was" if out.exists() else "is not written"
    remark(f"{headline(answer)}\n{out} {done}")
    return found is not None
