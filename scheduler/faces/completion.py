"""What a shell may complete: names of open batches, and the steps of the one that is meant.

Nothing is asked of any service, and what goes wrong says nothing: a person who presses a key is in the middle of a
line.
"""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer  # noqa: TC002 - typer reads the annotations at run time

if TYPE_CHECKING:
    from collections.abc import Sequence

    from scheduler.faces.asking import Flags
    from scheduler.journal.state import BatchState

_APART = re.compile(r"([^\w@%+=:,./-])")
"""What bash would take for something else than a letter of a word."""


def open_batches(ctx: typer.Context, incomplete: str) -> list[str]:
    """Names of the open batches that begin so."""
    try:
        names = [batch.name for batch in _open(_flags(ctx.params))]
    except Exception:  # noqa: BLE001 - whatever it is, the command itself will tell
        return []
    return [_typed(name) for name in names if name.startswith(incomplete)]


def steps_to_do(ctx: typer.Context, incomplete: str) -> list[str]:
    """Steps that are not recorded yet, of the batch that was named or of the only one; else of the usual process."""
    try:
        names = _steps(_flags(ctx.params), ctx.params.get("batch"))
    except Exception:  # noqa: BLE001 - whatever it is, the command itself will tell
        return []
    return [name for name in names if name.startswith(incomplete)]


def _flags(given: dict[str, Any]) -> Flags:
    """The flags before the word that is completed; a shell gives their values as they were typed."""
    from scheduler.faces.asking import Flags

    site, journal = (None if given.get(key) is None else Path(given[key]) for key in ("site", "journal"))
    return Flags(site, bool(given.get("sample")), None, None, journal=journal)


def _open(flags: Flags) -> Sequence[BatchState]:
    from scheduler.faces import book

    with book.opened(flags, writes=False) as own:
        return own.state.open


def _steps(flags: Flags, name: str | None) -> list[str]:
    from scheduler.faces import asking
    from scheduler.faces.from_journal import process_of
    from scheduler.faces.step_words import RELIT
    from scheduler.household.process import ANCHOR

    among = [batch for batch in _open(flags) if name is None or batch.name == name]
    if len(among) != 1:
        return [step.name for step in asking.process_of(flags, None).steps]
    done = {one.step for one in among[0].done}
    left = [step.name for step in process_of(among[0]).steps if step.name not in done]
    return [*left, RELIT] if ANCHOR in done else left


def _typed(name: str) -> str:
    """As it has to stand in the line: bash takes what it is given letter by letter, the others quote by themselves."""
    bash = os.environ.get("_SMOKENIGHT_COMPLETE") == "complete_bash"
    return _APART.sub(r"\\\1", name) if bash else name
