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

_WITHIN = re.compile(r'(["$`\\])')
"""The same between double quotes."""

_LOST_IN_ZSH = frozenset("'\"\\")

_AT_ONCE = '[[ $zsh_eval_context[-1] == loadautofunc ]] && _smokenight_completion "$@"'
"""In zsh, where a file of completions is loaded by the first press."""


class _InLine(str):
    """A word as it has to stand in the line; its beginning was compared before it was quoted."""

    def startswith(self, *_: object) -> bool:
        """Always, as typer compares once more: the quoted word with what was typed, without its quotes."""
        return True


def open_batches(ctx: typer.Context, incomplete: str) -> list[str]:
    """Names of the open batches that begin so, as they have to stand in the line."""
    try:
        names = [batch.name for batch in _open(_flags(ctx.params))]
    except Exception:  # noqa: BLE001 - whatever it is, the command itself will tell
        return []
    in_line = (_in_line(name) for name in names if name.startswith(incomplete))
    return [_InLine(word) for word in in_line if word is not None]


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


def _in_line(name: str) -> str | None:
    """The name as the shell has to be given it, so that the command gets it as it is; None where that cannot be."""
    shell = os.environ.get("_SMOKENIGHT_COMPLETE")
    if shell == "complete_zsh":  # quotes by itself, and typer's script loses some signs on the way
        return name if _LOST_IN_ZSH.isdisjoint(name) else None
    return _in_bash(name) if shell == "complete_bash" else name


def _in_bash(name: str) -> str | None:
    """Bash takes what it is given letter by letter, behind the quote where the word begins with one."""
    words, at = os.environ["COMP_WORDS"].split("\n"), int(os.environ["COMP_CWORD"])
    quote = words[at][:1] if at < len(words) else ""
    if quote == '"':
        return _WITHIN.sub(r"\\\1", name)
    if quote == "'":
        return None if "'" in name else name
    return _APART.sub(r"\\\1", name)


def complete_from_the_first_press() -> None:
    """Have the script that typer installs for zsh complete as it is loaded, too, and not from the second press on."""
    script = Path.home() / ".zfunc" / "_smokenight"
    if script.is_file() and _AT_ONCE not in (there := script.read_text("utf-8")):
        script.write_text(f"{there}\n{_AT_ONCE}\n", "utf-8")
