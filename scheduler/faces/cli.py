"""The command line: each command reads its flags, asks the service one question, and prints.

Answers go to stdout, everything else to stderr.  Exit codes: 0 answered yes; 1 answered no (no night); 2 the
question or a file is wrong; 3 no weather to be had.
"""

from __future__ import annotations

import gc
import json
import os
import re
import shutil
import sys
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TextIO

import typer

from providers.errors import BadQuestion, Unreachable, WeatherError
from scheduler.errors import BadSetting, SchedulerError
from scheduler.faces import asking, asking_freezing
from scheduler.faces.asking import BatchFlags, Flags
from scheduler.faces.asking_freezing import FreezingFlags
from scheduler.faces.batch_command import app as batch_app
from scheduler.faces.caution_page import cautions
from scheduler.faces.completion import open_batches
from scheduler.faces.did_command import did
from scheduler.faces.dry_command import dry
from scheduler.faces.journal_command import app as journal_app
from scheduler.faces.learned_command import learned
from scheduler.faces.overview import FIRST_STEPS, Overview
from scheduler.faces.plan_command import plan
from scheduler.faces.progress import show_progress
from scheduler.faces.record_commands import history, note, reading, undo
from scheduler.faces.replan_command import replan
from scheduler.faces.salt import salt
from scheduler.faces.setup import setup
from scheduler.faces.web.command import address, serve
from scheduler.faces.wording import one_line

if TYPE_CHECKING:
    from collections.abc import Iterator

    from scheduler.faces.kept_answer import Look, Recall

NO, WRONG, NO_WEATHER = 1, 2, 3
STOPPED = 130
"""What shells say of a command that was interrupted."""

PLAINER = (
    (r"got unexpected extra arguments?(?:\(s\))? \((.*)\)", r"nothing is known to do with: \1"),
    (r"'(.*)' is not a valid int(?:eger)?(?: range)?$", r"'\1' is no whole number"),
    (r"(\S+) is not in the range (\d+)<=x<=(\d+)", r"\1 is not from \2 to \3"),
)
"""What the library says of wrong words, and how we say it."""

UsageError: type[Exception] = typer.BadParameter.mro()[1]  # typer has no public name for it
LEAST_WIDTH, MOST_WIDTH = 24, 100

app = typer.Typer(
    name="smokenight",
    cls=Overview,
    epilog=FIRST_STEPS,
    help="Which coming night is right for cold-smoking, and what to do, and when, to be ready for it.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)
app.command()(setup)

InJournal = Annotated[
    str | None,
    typer.Option("--batch", help="An open batch of the journal; else the only one.", autocompletion=open_batches),
]
Json = Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")]
Why = Annotated[bool, typer.Option("--why", help="Add the other lighting spans, the sun, and the hours.")]


@app.command("next")
def next_night(
    site: asking.SiteFile = None,
    sample: asking.Sample = False,
    weather: asking.Weather = None,
    now: asking.Now = None,
    food: asking.Food = None,
    fish: asking.Fish = None,
    since: asking.Since = None,
    weight: asking.Weight = None,
    largest_pack: asking.LargestPack = None,
    sawdust: asking.Sawdust = None,
    sawdust_since: asking.SawdustSince = None,
    frozen_since: asking_freezing.FrozenSince = None,
    freezer: asking_freezing.Freezer = None,
    freezer_measured: asking_freezing.FreezerMeasured = False,
    eu_rule: asking_freezing.EuRule = False,
    farmed: asking_freezing.Farmed = False,
    process: asking.ProcessFile = None,
    away: asking.Away = None,
    name: InJournal = None,
    journal: asking.JournalFile = None,
    as_json: Json = False,
) -> None:
    """The next good night you can be ready for, and the way there.

    For example: smokenight next --fish salted --since 2026-10-17T18:00 --weight "1.3 kg"
    """
    from scheduler.faces.kept_answer import Look, recall

    freezing = FreezingFlags(frozen_since, freezer, freezer_measured, eu_rule, farmed)
    batch = BatchFlags(food, fish, since, weight, largest_pack, sawdust, sawdust_since, name, freezing)
    flags = Flags(site, sample, weather, now, process, journal, away)
    look = Look(width(), colour(), as_json)
    asked, back = recall(flags, batch, look)
    if back is not None:
        say(back.shown if isinstance(back.shown, str) else dump(back.shown))
    if not (back.found if back is not None else _say_next(flags, batch, look, asked)):
        raise typer.Exit(NO)


def _say_next(flags: Flags, batch: BatchFlags, look: Look, asked: Recall | None) -> bool:
    """Compute the answer, print it, and keep it while it holds; whether there is a night."""
    from scheduler import service
    from scheduler.faces.as_json import next_json
    from scheduler.faces.journal_question import open_batch
    from scheduler.faces.kept_answer import keep
    from scheduler.faces.next_report import next_report

    answer = service.plan(open_batch(flags, batch) or asking.question(flags, batch))
    text = dump(next_json(answer)) if look.as_json else next_report(answer, width=look.width, colour=look.colour)
    say(text)
    keep(asked, answer, text)
    return answer.choice.plan is not None


@app.command()
def nights(
    site: asking.SiteFile = None,
    sample: asking.Sample = False,
    weather: asking.Weather = None,
    now: asking.Now = None,
    food: asking.Food = None,
    process: asking.ProcessFile = None,
    away: asking.Away = None,
    journal: asking.JournalFile = None,
    why: Why = False,
    as_json: Json = False,
) -> None:
    """Every night of the forecast: its verdict, its window, and why.

    For example: smokenight nights --why
    """
    from scheduler import service
    from scheduler.faces.as_json import nights_json
    from scheduler.faces.nights_report import nights_report

    question = asking.question(Flags(site, sample, weather, now, process, journal, away), BatchFlags(food))
    found = service.look(question)
    if as_json:
        say(dump(nights_json(question, found)))
    else:
        say(nights_report(question, found, why=why, width=width(), colour=colour()))
    if not any(night.verdict.is_offered for night in found):
        raise typer.Exit(NO)


@app.command()
def weather(
    site: asking.SiteFile = None,
    sample: asking.Sample = False,
    now: asking.Now = None,
) -> None:
    """Every weather service for your site: how new, how far ahead.

    Also whether it can be reached, in which steps it says the air, and with which spread.  They are tried in this
    order; the first with a fresh forecast answers.  For example: smokenight weather
    """
    from providers.source import SAMPLE, Asked, ask_each, get_forecast
    from scheduler.faces.weather_report import weather_report

    place, moment = asking.site_and_moment(Flags(site, sample, None, now))
    if sample:  # asks nobody
        asked: tuple[Asked, ...] = (Asked(SAMPLE, get_forecast(SAMPLE, asking.place_of(place), moment), None),)
    else:
        asked = ask_each(asking.preferred(place), asking.place_of(place))
    say(weather_report(asked, place, moment, width=width(), colour=colour()))
    if not any(one.forecast is not None for one in asked):
        raise typer.Exit(NO_WEATHER)


@app.command()
def calendar(
    out: Annotated[Path, typer.Argument(help="The calendar file to write, such as smoke.ics.", metavar="OUT.ics")],
    site: asking.SiteFile = None,
    sample: asking.Sample = False,
    weather: asking.Weather = None,
    now: asking.Now = None,
    food: asking.Food = None,
    fish: asking.Fish = None,
    since: asking.Since = None,
    weight: asking.Weight = None,
    largest_pack: asking.LargestPack = None,
    sawdust: asking.Sawdust = None,
    sawdust_since: asking.SawdustSince = None,
    frozen_since: asking_freezing.FrozenSince = None,
    freezer: asking_freezing.Freezer = None,
    freezer_measured: asking_freezing.FreezerMeasured = False,
    eu_rule: asking_freezing.EuRule = False,
    farmed: asking_freezing.Farmed = False,
    batch: asking.BatchName = None,
    process: asking.ProcessFile = None,
    away: asking.Away = None,
    journal: asking.JournalFile = None,
) -> None:
    """Write the adopted plans, or the next one, as a calendar file.

    What nobody adopted is tentative.  Without any the file is left as it was, and the exit code is 1.
    For example: smokenight calendar smoke.ics
    """
    from scheduler import service
    from scheduler.faces.calendar import plan_calendar
    from scheduler.faces.feed_file import feed_file
    from scheduler.faces.files import write_whole
    from scheduler.faces.journal_question import open_batch
    from scheduler.faces.next_report import headline

    freezing = FreezingFlags(frozen_since, freezer, freezer_measured, eu_rule, farmed)
    said = BatchFlags(food, fish, since, weight, largest_pack, sawdust, sawdust_since, batch, freezing)
    flags = Flags(site, sample, weather, now, process, journal, away)
    written = feed_file(flags, said)
    if written is not None:
        write_whole(out, written.data)
        typer.echo("\n".join((*written.lines, f"{out} is written")), err=True)
        if not written.planned:
            raise typer.Exit(NO)
        return
    answer = service.plan(open_batch(flags, said, strict=False) or asking.question(flags, said))
    if answer.choice.plan is not None:
        write_whole(out, plan_calendar(answer.choice.plan, answer.question, adopted=False))
        done = "is written"
    else:
        done = "is left as it was" if out.exists() else "is not written"
    typer.echo(f"{headline(answer)}\n{out} {done}", err=True)
    if answer.choice.plan is None:
        raise typer.Exit(NO)


for further in (dry, salt, cautions, learned, serve, address):
    app.command()(further)
app.add_typer(batch_app, name="batch")
app.add_typer(journal_app, name="journal")
for kept in (plan, replan, did, undo, note, history):
    app.command()(kept)
app.command(context_settings={"ignore_unknown_options": True})(reading)  # -18C is a temperature, no option


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
    from scheduler.faces.terminal import GLUE, wrapped

    if sys.stdout is not None and sys.stdout.isatty():
        text = "\n".join(each for line in text.split("\n") for each in wrapped(line, width())).replace(GLUE, " ")
    say(text)


def drop(stream: TextIO) -> None:
    """Send what is left in the buffer nowhere, so that the interpreter does not fail on it at its end."""
    with open(os.devnull, "wb") as nowhere:
        os.dup2(nowhere.fileno(), stream.fileno())


def dump(answer: object) -> str:
    """JSON for people and programs: keys in their fixed order, no NaN; escaped where the output is no Unicode."""
    plain = sys.stdout is not None and not (sys.stdout.encoding or "utf-8").lower().startswith("utf")
    return json.dumps(answer, ensure_ascii=plain, indent=2, allow_nan=False)


def width() -> int:
    """Columns to print in."""
    return max(LEAST_WIDTH, min(MOST_WIDTH, shutil.get_terminal_size((80, 24)).columns))


def colour() -> bool:
    """Whether to print colours: on a terminal, unless NO_COLOR holds anything (as no-color.org asks)."""
    wanted = not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    return wanted and sys.stdout is not None and sys.stdout.isatty()


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


def _what_failed(error: OSError) -> str:
    """The file, or the output, which is then dropped."""
    if error.filename is not None:
        return repr(error.filename)
    drop(sys.stdout)
    return "the answer cannot be printed"


def complain(text: str) -> None:
    """One line on stderr, if it can be written."""
    try:
        typer.echo(f"smokenight: {text if text.isprintable() else one_line(text)}", err=True)
    except OSError:
        drop(sys.stderr)


def usage_words(error: Exception) -> str:
    """What is wrong with the flags, and where they are explained."""
    said, context = error.format_message(), error.ctx  # type: ignore[attr-defined]
    command = "smokenight" if context is None else context.command_path
    said = said[:1].lower() + said[1:].rstrip(".").replace(". Did", ", did").replace("(Possible", "(possible")
    for words, ours in PLAINER:
        said = re.sub(words, ours, said)
    return f"{said}{'' if said.endswith('?') else ';'} see `{command} --help`"


def main() -> None:
    """Run the command line; without arguments it tells what there is."""
    gc.disable()  # a process this short ends before it would pay, and it costs a part of every start
    with tidy_errors():
        show_progress()
        arguments = [_as_meant(each) for each in sys.argv[1:]] or ["--help"]
        raise SystemExit(app(arguments, prog_name="smokenight", standalone_mode=False))


def _as_meant(argument: str) -> str:
    """What was typed in UTF-8, where the locale could not read it; what is neither stays as it came."""
    try:
        return argument if argument.isprintable() else os.fsencode(argument).decode()
    except UnicodeError:
        return argument
