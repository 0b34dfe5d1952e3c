"""The journal as a server uses it: looked at before it serves, and opened anew at every look."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.errors import BadJournal, NoJournal
from scheduler.faces.book import journal_path, not_there
from scheduler.household.toml_file import file_name
from scheduler.journal.files import look_at, told
from scheduler.journal.store import Journal

if TYPE_CHECKING:
    from pathlib import Path


def refuse_what_is_none(named: Path | None) -> None:
    """BadSetting where a journal is named and not there, or where its file, or the household's own, is none.

    Any other trouble with the file may pass: the keeper tells of it, and serves what it can.
    """
    path, is_there = journal_path(named), True
    try:
        with told(path):
            is_there = path.exists()
            if is_there:
                look_at(path)
    except NoJournal:
        raise
    except BadJournal:
        return
    if named is not None and not is_there:
        raise not_there(named)


def opened(named: Path | None) -> Journal:
    """The journal at this moment; only the household's own is made where there is none."""
    path = journal_path(named)
    with told(path):
        is_gone = named is not None and not path.exists()
    if is_gone:
        raise BadJournal(f"journal {file_name(path)} is gone: put it back, or name another with --journal")
    return Journal.open(path, create=named is None)
