"""What can be expected to go wrong, as one line and an exit code."""

from __future__ import annotations

import re
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

import typer

from providers.errors import BadQuestion, Unreachable, WeatherError
from scheduler.errors import SchedulerError
from scheduler.faces.exit_codes import NO_WEATHER, STOPPED, WRONG
from scheduler.faces.printing import complain, drop

if TYPE_CHECKING:
    from collections.abc import Iterator

PLAINER = (
    (r"got unexpected extra arguments?(?:\(s\))? \((.*)\)", r"nothing is known to do with: \1"),
    (r"'(.*)' is not a valid int(?:eger)?(?: range)?$", r"'\1' is no whole number"),
    (r"(\S+) is not in the range (\d+)<=x<=(\d+)", r"\1 is not from \2 to \3"),
)
"""What the library says of wrong words, and how we say it."""

UsageError: type[Exception] = typer.BadParameter.mro()[1]  # typer has no public name for it


@contextmanager
def tidy_errors() -> Iterator[None]:
    """Turn what can be expected to go wrong into one line and an exit code."""
    try:
        yield
    except UsageError as exc:
        complain(usage_words(exc))
        raise SystemExit(WRONG) from exc
    except (SchedulerError, BadQuestion) as exc:
        complain(str(exc))
        raise SystemExit(WRONG) from exc
    except WeatherError as exc:
        hint = "; try later, or without network: --weather FILE.csv" if isinstance(exc, Unreachable) else ""
        complain(f"{exc}{'' if ';' in str(exc) else hint}")
        raise SystemExit(NO_WEATHER) from exc
    except OSError as exc:  # what is read and written has sentences of its own, but for a disk that is full
        complain(f"{_what_failed(exc)}: {(exc.strerror or type(exc).__name__).lower()}")
        raise SystemExit(WRONG) from exc
    except typer.Abort as exc:
        complain("stopped before the end; nothing was written")
        raise SystemExit(STOPPED) from exc


def usage_words(error: Exception) -> str:
    """What is wrong with the flags, and where they are explained."""
    said, context = error.format_message(), error.ctx  # type: ignore[attr-defined]
    command = "smokenight" if context is None else context.command_path
    said = said[:1].lower() + said[1:].rstrip(".").replace(". Did", ", did").replace("(Possible", "(possible")
    for words, ours in PLAINER:
        said = re.sub(words, ours, said)
    return f"{said}{'' if said.endswith('?') else ';'} see `{command} --help`"


def _what_failed(error: OSError) -> str:
    """The file, or the output, which is then dropped."""
    if error.filename is not None:
        return repr(error.filename)
    drop(sys.stdout)
    return "the answer cannot be printed"
