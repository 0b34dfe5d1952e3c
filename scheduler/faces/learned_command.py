"""`learned`: what the household's own nights have taught."""

from __future__ import annotations

from scheduler.faces import asking, book, options
from scheduler.faces.printing import colour, dump, say, width


def learned(
    site: options.SiteFile = None,
    sample: options.Sample = False,
    now: options.Now = None,
    food: options.Food = None,
    process: options.ProcessFile = None,
    journal: options.JournalFile = None,
    as_json: options.Json = False,
) -> None:
    """What your own nights have taught, and how good the chances were.

    For each figure: what it is used for, the shipped value, your own records, and the value now.
    For example: smokenight learned
    """
    from scheduler.faces.learned_report import learned_json, learned_report
    from scheduler.journal.learn import learn

    flags = asking.Flags(site, sample, None, now, process, journal)
    with book.opened(flags, writes=False) as kept:
        own_site, state = kept.site, kept.state
    found = learn(state, own_site, asking.process_of(flags, food))
    if as_json:
        say(dump(learned_json(found, own_site, kept.now)))
    else:
        say(learned_report(found, own_site, kept.now, width(), colour=colour()))
