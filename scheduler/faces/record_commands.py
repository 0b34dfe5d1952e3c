"""`undo`, `reading`, `note` and `history`: smaller records, taking one back, and reading them all."""

from __future__ import annotations

from pathlib import Path  # noqa: TC003  # flags are read from annotations at run time
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.errors import BadSetting
from scheduler.faces import asking, book, options
from scheduler.faces.printing import colour, dump, say, tell, width
from scheduler.journal.record import Kind

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from scheduler.faces.book import Book
    from scheduler.journal.record import Record

Text = str | None

ON_ITS_OWN = (Kind.FORECAST_LOGGED, Kind.PLAN_LOOKED, Kind.GO_TOLD)
"""What is written down beside an answer, and nobody takes back."""


def undo(
    batch: options.Batch = None,
    redo: Annotated[bool, typer.Option("--redo", help="Take the last undo back instead.")] = False,
    site: options.SiteFile = None,
    sample: options.Sample = False,
    now: options.Now = None,
    journal: options.JournalFile = None,
) -> None:
    """Take the last record back; again, the one before it.

    Nothing is erased: that it was taken back is a record, too.  For example: smokenight undo
    """
    from scheduler.faces.history_words import record_line
    from scheduler.faces.readable import keep_readable

    with book.opened(asking.Flags(site, sample, None, now, journal=journal), writes=True) as own:
        state, records = own.state, own.records
        wanted = None if batch is None else book.pick(state, batch, ended=True).identity
        among = [one for one in records if wanted is None or one.batch == wanted]
        target = _last_undo(among) if redo else _last(among)
        record = own.record(Kind.UNDONE, target.batch, undoes=target.identity)
        keep_readable(own, target.batch, record)
        own.add(record)
        told = next(one for one in records if one.identity == target.body["undoes"]) if redo else target
        line = record_line(told, state, own.site)
    said = f"{'It stands again' if redo else 'Taken back'}: {line}."
    tell("\n".join((said, *_not_restored(records, target), *own.notes())))


def _not_restored(records: Sequence[Record], target: Record) -> Iterator[str]:
    """A record that another one of the same step had replaced does not come back with it."""
    gone = {one.body["undoes"] for one in records if one.kind is Kind.UNDONE}
    for one in records:
        same = one.kind is target.kind is Kind.STEP_DONE and one.batch == target.batch
        if same and one.identity in gone and one.body["step"] == target.body["step"]:
            yield "The record that it took the place of does not come back: say it again with `smokenight did`."
            return


def _standing(records: list[Record]) -> list[Record]:
    """Those that no standing undo takes back, the last first."""
    from scheduler.journal.fold import undone

    gone = undone(records)
    return [record for record in reversed(records) if record.identity not in gone]


def _last(records: list[Record]) -> Record:
    """The last record that stands and was made by somebody."""
    for record in _standing(records):
        if record.kind is not Kind.UNDONE and record.kind not in ON_ITS_OWN:
            return record
    raise BadSetting("there is nothing to take back")


def _last_undo(records: list[Record]) -> Record:
    """The last undo, where nothing was recorded since."""
    undos = {record.identity for record in records if record.kind is Kind.UNDONE}
    for record in _standing(records):
        if record.kind is not Kind.UNDONE:
            if record.kind in ON_ITS_OWN:
                continue
            break
        if record.body["undoes"] not in undos:
            return record
    raise BadSetting("there is no undo to take back: something was recorded since, or nothing was undone")


def reading(
    temperature: Annotated[
        list[str] | None,
        typer.Argument(metavar="[TEMPERATURE]", help='What the thermometer reads, such as 13.5C or "56 F".'),
    ] = None,
    where: Annotated[Text, typer.Option("--where", help="porch, chamber, fridge or freezer.")] = None,
    log: Annotated[
        Path | None, typer.Option("--from", help="A probe's log: a CSV file of times and temperatures.")
    ] = None,
    batch: options.Batch = None,
    at: options.At = None,
    site: options.SiteFile = None,
    sample: options.Sample = False,
    now: options.Now = None,
    journal: options.JournalFile = None,
) -> None:
    """Record what a thermometer reads, or a probe's whole log.

    For example: smokenight reading 13.5C --where porch
    """
    from scheduler.faces.history_words import record_line

    given = " ".join(temperature or ()) or None
    _one_of_two(given, log, at)
    place = _place(where)
    flags = asking.Flags(site, sample, None, now, journal=journal)
    with book.opened(flags, writes=True, begins=True) as own:
        state = own.state
        identity = _belongs_to(own, batch, place)
        record = _single(own, identity, place, given, at) if log is None else _log(own, identity, place, log)
        again = record.kind is Kind.READINGS and any(
            one.kind is Kind.READINGS and (one.body, one.batch) == (record.body, record.batch)
            for one in _standing(list(own.records))
        )
        if not again:
            own.add(record)
    said = "In the journal already" if again else "Recorded"
    tell("\n".join((f"{said}: {record_line(record, state, own.site)}.", *own.notes())))


def _place(given: Text) -> str:
    """Where the thermometer hangs."""
    from scheduler.household.toml_file import did_you_mean
    from scheduler.journal.kinds import PLACES

    if given is None:
        raise BadSetting(f"say where it was read: --where {', --where '.join(PLACES)}")
    place = given.strip().lower()
    if place not in PLACES:
        raise BadSetting(f"--where: {given!r} is no place of a thermometer; {did_you_mean(place, PLACES)}")
    return place


def _one_of_two(temperature: Text, log: Path | None, at: Text) -> None:
    """A temperature, or a file of them."""
    strange = [word for word in (temperature or "").split() if word.startswith("--")]
    if strange:
        raise BadSetting(f"no such option: {strange[0]}; see `smokenight reading --help`")
    if (temperature is None) == (log is None):
        raise BadSetting(
            "say one temperature, such as `smokenight reading 13.5C --where porch`, or name a log: --from FILE"
        )
    if log is not None and at is not None:
        raise BadSetting("--at goes with one temperature; a log has times of its own")


def _belongs_to(own: Book, name: Text, place: str) -> str | None:
    """The batch that was named; the chamber's air belongs to the only one that is open."""
    if name is not None:
        return book.pick(own.state, name, ended=True).identity
    among = own.state.open
    return among[0].identity if place == "chamber" and len(among) == 1 else None


def _single(own: Book, batch: Text, place: str, given: Text, at: Text) -> Record:
    from functools import partial

    from scheduler.faces.readings_table import COLDEST_C, WARMEST_C
    from scheduler.household.toml_file import within
    from scheduler.household.units import parse_temperature_c

    parse = partial(parse_temperature_c, what="the reading")
    try:
        c = within(parse, COLDEST_C, WARMEST_C, "is no reading of a thermometer here: such as '13.5 C' or '56 F'")(
            given
        )
    except BadSetting as exc:
        raise BadSetting(f"TEMPERATURE: {exc}") from exc
    return own.record(Kind.READING, batch, book.past_moment(own, at), where=place, c=round(c, 3))


def _log(own: Book, batch: Text, place: str, path: Path) -> Record:
    from scheduler.faces.readings_table import read_log
    from scheduler.faces.wording import one_line

    log = read_log(path, own.site.zone, own.now)
    times = [at.isoformat() for at in log.times]
    name = one_line(path.name) or "log"
    return own.record(Kind.READINGS, batch, log.times[0], where=place, name=name, times=times, c=list(log.c))


def note(
    words: Annotated[str, typer.Argument(metavar="WORDS", help="What is worth remembering.")],
    batch: options.Batch = None,
    at: options.At = None,
    site: options.SiteFile = None,
    sample: options.Sample = False,
    now: options.Now = None,
    journal: options.JournalFile = None,
) -> None:
    """Keep a note with a batch.

    For example: smokenight note "came out well, a little salty"
    """
    from scheduler.faces.history_words import record_line

    with book.opened(asking.Flags(site, sample, None, now, journal=journal), writes=True) as own:
        state = own.state
        of = book.pick(state, batch, ended=True)
        record = own.record(Kind.NOTE, of.identity, book.past_moment(own, at), words=book.words(words, "WORDS"))
        own.add(record)
    tell("\n".join((f"Recorded: {record_line(record, state, own.site)}.", *own.notes())))


def history(
    batch: options.Batch = None,
    as_json: options.Json = False,
    site: options.SiteFile = None,
    sample: options.Sample = False,
    now: options.Now = None,
    journal: options.JournalFile = None,
) -> None:
    """What was decided, done and measured, batch by batch.

    For example: smokenight history --batch "salmon 1"
    """
    from scheduler.faces.history_report import history_json, history_report

    with book.opened(asking.Flags(site, sample, None, now, journal=journal), writes=False) as own:
        state, place = own.state, own.site
    only = None if batch is None else book.pick(state, batch, ended=True)
    if as_json:
        say(dump(history_json(state, place, only)))
    else:
        say(history_report(state, place, only, width(), colour=colour()))
