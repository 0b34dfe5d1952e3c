"""What every command prints with: answers to stdout, everything else to stderr, in what the terminal has."""

from __future__ import annotations

import json
import os
import shutil
import sys
from typing import TextIO

import typer

from scheduler.errors import BadSetting
from scheduler.faces.wording import one_line

LEAST_WIDTH, MOST_WIDTH = 24, 100


def say(text: str) -> None:
    """Print an answer, in signs that the terminal has."""
    from scheduler.faces.terminal import for_encoding

    if sys.stdout is None:
        raise BadSetting("the answer cannot be printed: standard output is closed")
    try:
        typer.echo(for_encoding(text, sys.stdout.encoding or "utf-8"))
    except BrokenPipeError:  # whoever reads has seen enough; the exit code still answers
        drop(sys.stdout)


def tell(text: str) -> None:
    """Print sentences, broken between words on a terminal; what is piped keeps a line each."""
    say(_broken(text, sys.stdout))


def remark(text: str) -> None:
    """The same beside an answer, on stderr."""
    typer.echo(_broken(text, sys.stderr), err=True)


def complain(text: str) -> None:
    """What is wrong, in one line on stderr, if it can be written; on a terminal broken between words."""
    try:
        remark(f"smokenight: {text if text.isprintable() else one_line(text)}")
    except OSError:
        drop(sys.stderr)


def drop(stream: TextIO) -> None:
    """Send what is left in the buffer nowhere, so that the interpreter does not fail on it at its end."""
    with open(os.devnull, "wb") as nowhere:
        os.dup2(nowhere.fileno(), stream.fileno())


def dump(answer: object) -> str:
    """JSON for people and programs: keys in their fixed order, no NaN; escaped where the output is no Unicode."""
    plain = sys.stdout is not None and not (sys.stdout.encoding or "utf-8").lower().startswith("utf")
    return json.dumps(answer, ensure_ascii=plain, indent=2, allow_nan=False)


def width(stream: TextIO | None = None) -> int:
    """Columns to print in: those that COLUMNS names, else those of the terminal, by itself stdout's."""
    columns = 0
    if stream is not None and not os.environ.get("COLUMNS"):
        columns = os.get_terminal_size(stream.fileno()).columns
    return max(LEAST_WIDTH, min(MOST_WIDTH, columns or shutil.get_terminal_size((80, 24)).columns))


def colour() -> bool:
    """Whether to print colours: on a terminal, unless NO_COLOR holds anything (as no-color.org asks)."""
    wanted = not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    return wanted and sys.stdout is not None and sys.stdout.isatty()


def _broken(text: str, stream: TextIO | None) -> str:
    """Sentences, broken between words where the stream is a terminal."""
    if stream is None or not stream.isatty():
        return text
    from scheduler.faces.terminal import GLUE, wrapped

    columns = width(stream)
    return "\n".join(each for line in text.split("\n") for each in wrapped(line, columns)).replace(GLUE, " ")
