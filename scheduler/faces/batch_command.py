"""`batch`: open one, list what is open, end one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.errors import BadSetting
from scheduler.faces import asking, book, options
from scheduler.faces.printing import colour, dump, say, tell, width
from scheduler.journal.record import Kind

if TYPE_CHECKING:
    from scheduler.faces.asking import Flags
    from scheduler.household.batch import Batch
    from scheduler.household.process import Process
    from scheduler.household.site import Site
    from scheduler.journal.state import SiteState

Text = str | None

app = typer.Typer(
    help="Open a batch, list those that are open, end one.\n\n"
    "Without a word of these it lists.  For example: smokenight batch",
    rich_markup_mode=None,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"]},
)

Name = Annotated[Text, typer.Option("--name", help='What to call it; else its food and a number, such as "salmon 1".')]
Frozen = Annotated[
    Text, typer.Option("--frozen", help="Since when it has been in the freezer: a day, or a day and a time.")
]
FreezerAt = Annotated[Text, typer.Option("--at", help='The warmest that freezer was meanwhile, such as "-20 C".')]
Measured = Annotated[bool, typer.Option("--measured", help="A thermometer says so, not the freezer's label.")]
Fresh = Annotated[bool, typer.Option("--fresh", help="It is fresh, and was not frozen yet.")]
Began = Annotated[Text, typer.Option("--since", help="When the batch began, where steps before today are to follow.")]


@dataclass(frozen=True, slots=True)
class Said:
    """What was said of a new batch."""

    food: Text
    weight: Text
    largest_pack: Text
    name: Text
    frozen: Text
    freezer: Text
    measured: bool
    fresh: bool
    farmed: bool


@app.callback()
def batch(
    context: typer.Context,
    site: options.SiteFile = None,
    sample: options.Sample = False,
    now: options.Now = None,
    journal: options.JournalFile = None,
    as_json: options.Json = False,
) -> None:
    """Open a batch, list those that are open, end one.

    Without a word of these it lists.  For example: smokenight batch
    """
    if context.invoked_subcommand is None:
        _list(asking.Flags(site, sample, None, now, journal=journal), as_json=as_json)
    elif site or sample or now or journal or as_json:
        raise BadSetting(f"write the options after the word: smokenight batch {context.invoked_subcommand} …")


@app.command("list")
def listing(
    site: options.SiteFile = None,
    sample: options.Sample = False,
    now: options.Now = None,
    journal: options.JournalFile = None,
    as_json: options.Json = False,
) -> None:
    """Every open batch: what it is, what was done last, what comes next.

    For example: smokenight batch list
    """
    _list(asking.Flags(site, sample, None, now, journal=journal), as_json=as_json)


def _list(flags: Flags, *, as_json: bool) -> None:
    from scheduler.faces.batch_report import batches_json, batches_report

    with book.opened(flags, writes=False) as own:
        state, site, now = own.state, own.site, own.now
    if as_json:
        say(dump(batches_json(state, site)))
    else:
        say(batches_report(state, site, now, width(), colour=colour()))


@app.command("new")
def new(
    weight: options.Weight = None,
    food: options.Food = None,
    frozen: Frozen = None,
    at: FreezerAt = None,
    measured: Measured = False,
    fresh: Fresh = False,
    farmed: Annotated[bool, typer.Option("--farmed", help="You know it was farmed on formulated feed.")] = False,
    largest_pack: options.LargestPack = None,
    name: Name = None,
    since: Began = None,
    process: options.ProcessFile = None,
    site: options.SiteFile = None,
    sample: options.Sample = False,
    now: options.Now = None,
    journal: options.JournalFile = None,
) -> None:
    """Open a batch in the journal.

    For example: smokenight batch new --weight "1.3 kg" --food salmon --frozen 2026-09-20 --at "-20 C"
    """
    from scheduler.faces.batch_report import opened_words

    flags = asking.Flags(site, sample, None, now, process, journal)
    said = Said(food, weight, largest_pack, name, frozen, at, measured, fresh, farmed)
    own_process = asking.process_of(flags, food)
    with book.opened(flags, writes=True, begins=True) as own:
        found = _new(own.site, own.now, own_process, own.state, said)
        began = None if since is None else book.past_moment(own, since, "--since")
        record = own.record(Kind.BATCH_OPENED, None, began, **book.opening(found, process))
        own.add(record)
    tell("\n".join((opened_words(record, own.site), *own.notes())))


def _new(site: Site, now: datetime, process: Process, state: SiteState, said: Said) -> Batch:
    """The batch as it was described; BadSetting names the flag."""
    from dataclasses import replace

    from scheduler.faces.asking_freezing import FreezingFlags, with_record

    flags = asking.BatchFlags(
        said.food, "fresh" if said.fresh else None, weight=said.weight, largest_pack=said.largest_pack
    )
    found = asking.batch_of(flags, site.zone, now, process, sample=False)
    if found.state not in process.unstarted:
        raise BadSetting(f"--fresh: {found.food} is {process.unstarted[0]} when it begins; leave it out")
    if said.fresh and said.frozen is not None:
        raise BadSetting("--fresh and --frozen say two things of one batch; leave one of them out")
    if said.measured and said.freezer is None:
        raise BadSetting('--measured needs what was measured: add --at, such as --at "-20 C"')
    try:
        found = with_record(
            found,
            FreezingFlags(None, said.freezer, said.measured, farmed=said.farmed),
            now,
            lambda given, _: book.whole(asking.moment(given, site.zone, "--frozen")),
            sample=False,
        )
    except BadSetting as exc:
        raise BadSetting(str(exc).replace("--freezer:", "--at:")) from None
    frozen = None if said.frozen is None else _frozen(said.frozen, site, now)
    return replace(found, name=_name(said.name, found.food, state), frozen_since=frozen)


def _frozen(given: str, site: Site, now: datetime) -> datetime:
    """Since when it is frozen; a day alone counts from its end, which claims the fewest hours."""
    try:
        day = date.fromisoformat(given.strip())
    except ValueError:
        since = asking.moment(given, site.zone, "--frozen")
    else:
        if not asking.FIRST_YEAR <= day.year <= asking.LAST_YEAR:
            raise BadSetting(f"--frozen: {given!r} is not of this age; write it like 2026-09-20") from None
        if day > now.astimezone(site.zone).date():
            raise BadSetting(f"--frozen: {given!r} is still ahead; is the year right?")
        since = min(now, datetime.combine(day + timedelta(days=1), time(0), tzinfo=site.zone))
    if since > now:
        raise BadSetting(f"--frozen: {given!r} is still ahead; is the year right?")
    return book.whole(since)


def _name(given: Text, food: str, state: SiteState) -> str:
    """The name that was given, if no open batch has it; else the food and the first free number."""
    from scheduler.household.toml_file import a_line

    taken = {batch.name.lower() for batch in state.open}
    if given is None:
        taken = {batch.name.lower() for batch in state.batches}
        return next(name for number in range(1, len(taken) + 2) if (name := f"{food} {number}").lower() not in taken)
    try:
        name = " ".join(a_line(given).split())
    except BadSetting as exc:
        raise BadSetting(f"--name: {exc}") from exc
    if name.lower() in taken:
        raise BadSetting(f"--name: a batch {name!r} is open already; end it first, or take another name")
    return name


@app.command("end")
def end(
    how: Annotated[
        str, typer.Option("--how", help="Eaten, cooked, frozen, thrown out, given up or finished.")
    ] = "finished",
    note: Annotated[Text, typer.Option("--note", help="How it came out, in words.")] = None,
    batch: options.Batch = None,
    at: options.At = None,
    site: options.SiteFile = None,
    sample: options.Sample = False,
    now: options.Now = None,
    journal: options.JournalFile = None,
) -> None:
    """End a batch: it is eaten, or was given up.

    For example: smokenight batch end --how eaten --note "came out well"
    """
    from scheduler.faces.wording import when

    with book.opened(asking.Flags(site, sample, None, now, journal=journal), writes=True) as own:
        state = book.pick(own.state, batch)
        ended = book.since_opening(own, state, at)
        words = None if note is None else book.words(note, "--note")
        own.add(own.record(Kind.BATCH_ENDED, state.identity, ended, how=_how(how), words=words))
    said = f"{state.name} has ended {when(ended, own.site.zone)}: {_how(how)}."
    tell("\n".join((said, *own.notes())))


def _how(given: str) -> str:
    """One of the ways a batch may end."""
    from scheduler.household.toml_file import did_you_mean
    from scheduler.journal.kinds import ENDINGS

    how = " ".join(given.lower().replace("-", " ").replace("_", " ").split())
    if how not in ENDINGS:
        raise BadSetting(f"--how: {given!r} is no end of a batch; {did_you_mean(how, ENDINGS)}")
    return how
