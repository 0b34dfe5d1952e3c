"""The journal as a command uses it: one site's records, read and written with the command's own moment.

The invented site has no journal: what is recorded there is kept in memory alone, unless `--journal` names a file.
"""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from scheduler.errors import BadSetting
from scheduler.faces import asking
from scheduler.faces.memory import Memory
from scheduler.journal.record import Kind, Record

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from scheduler.faces.asking import Flags
    from scheduler.faces.memory import Keeper
    from scheduler.household import batch as household
    from scheduler.household.site import Site
    from scheduler.journal.state import BatchState, SiteState

SAMPLE_OPENED = timedelta(days=7)
"""How long ago the invented batch was opened."""

NOT_KEPT = "The invented site keeps no journal, so nothing was kept; --journal FILE keeps one."


@dataclass(frozen=True, slots=True)
class Book:
    """One site's journal at one moment."""

    site: Site
    now: datetime
    keeper: Keeper
    kept: bool
    """Whether what is written lasts."""

    @property
    def records(self) -> tuple[Record, ...]:
        """The site's records, in order of recording."""
        return self.keeper.records(self.site.name)

    @property
    def state(self) -> SiteState:
        """What they add up to."""
        from scheduler.journal.fold import fold

        return fold(self.records)

    def record(self, kind: Kind, batch: str | None, at: datetime | None = None, **body: Any) -> Record:
        """A new record, not written yet; without a time it happened now."""
        return a_record(self.site, self.now, kind, batch, at, body)

    def add(self, *records: Record) -> None:
        """Write them in one transaction."""
        self.keeper.add(records)

    def notes(self) -> tuple[str, ...]:
        """What is to be said after something was written."""
        return () if self.kept else (NOT_KEPT,)


def a_record(
    site: Site, now: datetime, kind: Kind, batch: str | None, at: datetime | None, body: dict[str, Any]
) -> Record:
    """A record with an identity of its own; what opens a batch is the batch's identity."""
    identity = str(uuid4())
    own = identity if kind is Kind.BATCH_OPENED else batch
    return Record(identity, site.name, own, kind, whole(now if at is None else at), whole(now), body)


def whole(moment: datetime) -> datetime:
    """In UTC and whole seconds, as the journal keeps time."""
    return moment.astimezone(UTC).replace(microsecond=0)


@contextmanager
def opened(flags: Flags, *, writes: bool, begins: bool = False) -> Iterator[Book]:
    """The journal that the flags name; the household's own need not be there where it is only read.

    begins: whether what is written may be the first of a journal that a flag names.
    """
    site, now = asking.site_and_moment(flags)
    if flags.journal is not None and not begins and not flags.journal.exists():
        raise not_there(flags.journal)
    with _kept_by(flags, site, now, writes=writes) as keeper:
        yield Book(site, now, keeper, kept=flags.journal is not None or not flags.sample)


@contextmanager
def _kept_by(flags: Flags, site: Site, now: datetime, *, writes: bool) -> Iterator[Keeper]:
    """The file, or memory: for the invented site, and where there is nothing to read yet."""
    from scheduler.journal.store import Journal

    if flags.sample and flags.journal is None:
        yield Memory([_sample_batch(site, now)])
        return
    path = journal_path(flags.journal)
    if not writes and not path.exists():
        yield Memory()
        return
    with Journal.open(path, create=writes) as journal:
        yield journal


def not_there(journal: Path) -> BadSetting:
    """The error for a journal that was named and does not exist."""
    return BadSetting(f"--journal: there is no journal {str(journal)!r}; name one that is there")


def journal_path(named: Path | None) -> Path:
    """The journal that a flag names, else the household's own."""
    from scheduler.journal.store import default_journal_path

    return default_journal_path() if named is None else named


def _sample_batch(site: Site, now: datetime) -> Record:
    """What lies in the invented freezer, as a journal would hold it."""
    from scheduler.faces.asking_freezing import sample_record

    batch = sample_record(asking.SAMPLE_BATCH, whole(now))
    return a_record(site, now, Kind.BATCH_OPENED, None, now - SAMPLE_OPENED, opening(batch))


def opening(batch: household.Batch, process: Path | None = None) -> dict[str, Any]:
    """The body of the record that opens a batch."""
    since = batch.frozen_since
    return {
        "name": batch.name,
        "food": batch.food,
        "process": None if process is None else str(process.resolve()),
        "weight_g": batch.weight_g,
        "largest_pack_g": batch.largest_pack_g,
        "state": batch.state,
        "frozen_since": None if since is None else whole(since).isoformat(),
        "freezer_c": batch.freezer_c,
        "freezer_measured": batch.freezer_measured,
        "farmed": batch.farmed,
    }


def pick(state: SiteState, name: str | None, *, ended: bool = False) -> BatchState:
    """The batch of that name, else the only open one; BadSetting where that is none or not clear.

    ended: whether one that has ended may be meant, too.
    """
    from scheduler.faces.wording import one_line
    from scheduler.household.toml_file import did_you_mean

    among = state.batches if ended else state.open
    if name is None and ended and not state.open and among:
        return among[-1]
    if name is None:
        return _the_only(state)
    wanted = one_line(name).lower()  # as names are shown, so that what is shown can be given back
    found = [batch for batch in among if one_line(batch.name).lower() == wanted]
    if found:
        return found[-1]  # names are taken again once their batch has ended
    if any(one_line(batch.name).lower() == wanted for batch in state.batches):
        raise BadSetting(f"--batch: {name!r} has ended; open another with `smokenight batch new`")
    if not among:
        raise BadSetting(f"--batch: there is no batch {name!r}, nor any other; `smokenight batch new` opens one")
    names = dict.fromkeys(each.name for each in among)
    raise BadSetting(f"--batch: there is no batch {name!r}; {did_you_mean(name, names)}")


def _the_only(state: SiteState) -> BatchState:
    """The one open batch."""
    from scheduler.faces.wording import listed

    if not state.open:
        raise BadSetting("no batch is open; `smokenight batch new` opens one")
    if len(state.open) > 1:
        names = listed(repr(batch.name) for batch in state.open)
        raise BadSetting(f"{len(state.open)} batches are open, {names}: say which with --batch NAME")
    return state.open[0]


def words(given: str, flag: str) -> str:
    """What somebody wrote, in one line; BadSetting where it says nothing."""
    from scheduler.faces.wording import one_line

    text = one_line(given)
    if not text:
        raise BadSetting(f"{flag}: it says nothing; write some words, or leave it out")
    return text


def past_moment(book: Book, given: str | None, flag: str = "--at") -> datetime:
    """When something was: what a flag says on the site's clock, else now; BadSetting for the future."""
    from scheduler.faces.wording import when

    if given is None:
        return whole(book.now)
    at = whole(asking.moment(given, book.site.zone, flag))
    if at > book.now:
        raise BadSetting(
            f"{flag}: {given!r} is still ahead; it is {when(book.now, book.site.zone)} here, and only what has"
            " happened is recorded"
        )
    return at


def since_opening(book: Book, batch: BatchState, given: str | None) -> datetime:
    """The same for what was done to a batch: not before it was opened."""
    from scheduler.faces.wording import when

    at = past_moment(book, given)
    if at < batch.opened.at:
        raise BadSetting(
            f"--at: {when(at, book.site.zone)} is before {batch.name!r} was opened,"
            f" {when(batch.opened.at, book.site.zone)}; for one that had begun by then,"
            " `smokenight batch new --since TIME` opens it at that time"
        )
    return at
