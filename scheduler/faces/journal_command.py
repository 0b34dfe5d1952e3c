"""`journal`: take the journal out as JSON Lines, and in again."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.errors import BadSetting
from scheduler.faces import options  # noqa: TC001  # flags are read from annotations at run time
from scheduler.faces.printing import drop, remark, say

if TYPE_CHECKING:
    from scheduler.journal.store import Journal

app = typer.Typer(
    help="Take the journal out as JSON Lines, and in again.\n\nFor example: smokenight journal export smokes.jsonl",
    rich_markup_mode=None,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"]},
)


@app.callback()
def journal(context: typer.Context) -> None:
    """Take the journal out as JSON Lines, and in again."""

    if context.invoked_subcommand is None:
        say(context.get_help())


@app.command("export")
def export(
    out: Annotated[str, typer.Argument(metavar="FILE.jsonl", help="The file to write; - for standard output.")],
    journal: options.JournalFile = None,
) -> None:
    """Write every record, one a line, in the order they were recorded.

    For example: smokenight journal export smokes.jsonl
    """
    from scheduler.faces.files import write_whole
    from scheduler.faces.wording import plural
    from scheduler.journal.exchange import write_lines

    with _opened(journal, create=False) as kept:
        records = kept.records()
    lines = write_lines(records)
    if out == "-":
        _print(lines)
        return
    write_whole(Path(out), lines)
    remark(f"{out} is written: {plural(len(records), 'record')}")


def _print(lines: bytes) -> None:
    """To standard output, byte for byte."""
    if sys.stdout is None:
        raise BadSetting("the answer cannot be printed: standard output is closed")
    try:
        sys.stdout.buffer.write(lines)
        sys.stdout.buffer.flush()
    except BrokenPipeError:  # whoever reads has seen enough
        drop(sys.stdout)


@app.command("import")
def take_in(
    file: Annotated[Path, typer.Argument(metavar="FILE.jsonl", help="A file that `journal export` wrote.")],
    journal: options.JournalFile = None,
) -> None:
    """Take in every record that is not there yet, or none where one does not fit.

    For example: smokenight journal import smokes.jsonl
    """
    from scheduler.faces.wording import plural
    from scheduler.journal.exchange import read_export

    records = read_export(file)
    with _opened(journal, create=True) as kept:
        taken = kept.take(records)
    say(f"{plural(taken.added, 'record')} taken in, {taken.already} already there")


def _opened(named: Path | None, *, create: bool) -> Journal:
    from scheduler.faces.book import journal_path
    from scheduler.journal.store import Journal

    path = journal_path(named)
    if not create and not path.exists():
        raise BadSetting(f"there is no journal {str(path)!r}; name one with --journal")
    return Journal.open(path, create=create)
