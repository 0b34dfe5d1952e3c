"""`learned`: what the household's own nights have taught."""

from __future__ import annotations

from typing import Annotated

import typer

from scheduler.faces import asking


def learned(
    site: asking.SiteFile = None,
    sample: asking.Sample = False,
    now: asking.Now = None,
    food: asking.Food = None,
    process: asking.ProcessFile = None,
    journal: asking.JournalFile = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """What your own nights have taught, and how good the chances were.

    For each figure: what it is used for, the shipped value, your own records, and the value now.
    For example: smokenight learned
    """
    from scheduler.faces import book, cli
    from scheduler.faces.learned_report import learned_json, learned_report
    from scheduler.journal.learn import learn

    flags = asking.Flags(site, sample, None, now, process, journal)
    with book.opened(flags, writes=False) as kept:
        own_site, state = kept.site, kept.state
    found = learn(state, own_site, asking.process_of(flags, food))
    if as_json:
        cli.say(cli.dump(learned_json(found, own_site, kept.now)))
    else:
        cli.say(learned_report(found, own_site, kept.now, cli.width(), colour=cli.colour()))
