"""The command line: each command reads its flags, asks the service one question, and prints.

Answers go to stdout, everything else to stderr; the exit codes are those of `exit_codes`.
"""

from __future__ import annotations

import gc
import os
import sys
from typing import Annotated

import typer

from scheduler.faces.batch_command import app as batch_app
from scheduler.faces.calendar_command import calendar
from scheduler.faces.caution_page import cautions
from scheduler.faces.completion import complete_from_the_first_press
from scheduler.faces.did_command import did
from scheduler.faces.dry_command import dry
from scheduler.faces.journal_command import app as journal_app
from scheduler.faces.learned_command import learned
from scheduler.faces.next_command import next_night
from scheduler.faces.nights_command import nights, weather
from scheduler.faces.overview import FIRST_STEPS, Overview
from scheduler.faces.plan_command import plan
from scheduler.faces.printing import say
from scheduler.faces.progress import show_progress
from scheduler.faces.record_commands import history, note, reading, undo
from scheduler.faces.replan_command import replan
from scheduler.faces.salt import salt
from scheduler.faces.setup import setup
from scheduler.faces.tidy import tidy_errors
from scheduler.faces.web.command import address, serve

app = typer.Typer(
    name="smokenight",
    cls=Overview,
    epilog=FIRST_STEPS,
    help="Which coming night is right for cold-smoking, and what to do, and when, to be ready for it.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)
app.command("next")(next_night)
for command in (setup, nights, weather, calendar, serve, address, dry, salt, cautions):
    app.command()(command)
for of_the_journal in (plan, replan, did, undo, note, history, learned):
    app.command()(of_the_journal)
app.command(context_settings={"ignore_unknown_options": True})(reading)  # -18C is a temperature, no option
app.add_typer(batch_app, name="batch")
app.add_typer(journal_app, name="journal")


def _version(context: typer.Context, wanted: bool) -> None:
    """The program's name and version, in place of everything else; nothing while a shell completes a line."""
    if wanted and not context.resilient_parsing:
        from providers.services import release

        say(f"smokenight {release()}")
        raise typer.Exit


@app.callback()
def root(
    version: Annotated[
        bool, typer.Option("--version", help="Show the version and exit.", callback=_version, is_eager=True)
    ] = False,
) -> None:
    """What may stand before a command; the help is that of `app`."""


def run() -> None:
    """Run the command line; without arguments it tells what there is."""
    gc.disable()  # a process this short ends before it would pay, and it costs a part of every start
    with tidy_errors():
        show_progress()
        arguments = [_as_meant(each) for each in sys.argv[1:]] or ["--help"]
        try:
            raise SystemExit(app(arguments, prog_name="smokenight", standalone_mode=False))
        finally:
            if "--install-completion" in arguments:
                complete_from_the_first_press()


def _as_meant(argument: str) -> str:
    """What was typed in UTF-8, where the locale could not read it; what is neither stays as it came."""
    try:
        return argument if argument.isprintable() else os.fsencode(argument).decode()
    except UnicodeError:
        return argument
