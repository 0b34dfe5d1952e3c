"""`did`: a step is done."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.errors import BadSetting
from scheduler.faces import asking, book, options
from scheduler.faces.completion import steps_to_do
from scheduler.faces.printing import tell
from scheduler.faces.step_words import RELIT, step_meant
from scheduler.household.process import ANCHOR, LIFT, RINSE, SALT
from scheduler.journal.record import Kind

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from scheduler.faces.book import Book
    from scheduler.household.process import Process, Step
    from scheduler.household.units import Units
    from scheduler.journal.record import Record
    from scheduler.journal.state import BatchState

Text = str | None

ASH, BURN_OUT, EAT_BY = "ash", "burn_out", "eat_by"

MOST_LOSS = 2.0
"""A loss in the cure of more than so many times the usual one is asked about (our judgement)."""

TAKE_BACK = "`smokenight undo` takes it back."

NOTHING = re.compile(r"0+([.,]0+)? ?(g|kg|oz|lb)?", re.IGNORECASE)
"""No sawdust at all, in any unit."""


@dataclass(frozen=True, slots=True)
class Weights:
    """What was weighed [g]; None for what was not."""

    food_g: float | None
    sawdust_g: float | None
    left_g: float | None


def did(
    step: Annotated[
        str,
        typer.Argument(
            metavar="STEP",
            help="A step of the process, such as salt or salted, light or lit; or relit.",
            autocompletion=steps_to_do,
        ),
    ],
    batch: options.Batch = None,
    at: options.At = None,
    weight: Annotated[Text, typer.Option("--weight", help='What the food weighed then, such as "1.2 kg".')] = None,
    sawdust: Annotated[Text, typer.Option("--sawdust", help="Dry sawdust in the tray, at the lighting.")] = None,
    left: Annotated[Text, typer.Option("--left", help="Sawdust left unburnt, at the lift or later.")] = None,
    note: Annotated[Text, typer.Option("--note", help="Words to keep with it.")] = None,
    site: options.SiteFile = None,
    sample: options.Sample = False,
    now: options.Now = None,
    journal: options.JournalFile = None,
) -> None:
    """Record a step that is done; what comes next follows from it.

    For example: smokenight did salted --weight "1.28 kg" --at 2026-10-21T12:10
    """
    from scheduler.faces.did_words import done_words
    from scheduler.faces.from_journal import process_of
    from scheduler.faces.readable import keep_readable

    with book.opened(asking.Flags(site, sample, None, now, journal=journal), writes=True) as own:
        before = book.pick(own.state, batch)
        process = process_of(before)
        moment = book.since_opening(own, before, at)
        weighed = Weights(_grams("--weight", weight), _grams("--sawdust", sawdust), _left(left))
        record = _record(own, before, process, step, moment, weighed)
        words = (
            None if note is None else own.record(Kind.NOTE, before.identity, moment, words=book.words(note, "--note"))
        )
        records = (*_replaced(own, before, record), record, *filter(None, (words,)))
        keep_readable(own, before.identity, *records)
        own.add(*records)
        after = book.pick(own.state, before.name)
    said = done_words(before, after, record, own.site)
    tell("\n".join((*said, *_doubts(before, record, process, own.site.units), *own.notes())))


def _record(own: Book, batch: BatchState, process: Process, word: str, at: datetime, weighed: Weights) -> Record:
    """What is written down; BadSetting for what does not fit."""
    if word.strip().lower() == RELIT:
        return _relit(own, batch, at, weighed)
    step = step_meant(process, word)
    if step.name == EAT_BY:
        raise BadSetting(f"{word!r} ends the batch: `smokenight batch end --how eaten`, or --how frozen")
    _check_weights(step, weighed)
    _check_order(own, batch, process, step, at)
    grams = weighed.sawdust_g if weighed.left_g is None else weighed.left_g
    return own.record(Kind.STEP_DONE, batch.identity, at, step=step.name, weight_g=weighed.food_g, sawdust_g=grams)


def _replaced(own: Book, batch: BatchState, record: Record) -> Iterator[Record]:
    """An earlier record of the same step is taken back, so that the new one holds whichever was later."""
    for earlier in batch.records:
        if earlier.kind is record.kind is Kind.STEP_DONE and earlier.body["step"] == record.body["step"]:
            yield own.record(Kind.UNDONE, batch.identity, undoes=earlier.identity)


def _relit(own: Book, batch: BatchState, at: datetime, weighed: Weights) -> Record:
    """The fire was out, and the tray is lit again."""
    done = {one.step: one.at for one in batch.done}
    if any(value is not None for value in (weighed.food_g, weighed.sawdust_g, weighed.left_g)):
        raise BadSetting("nothing is weighed when the tray is lit again: leave --weight, --sawdust and --left out")
    if ANCHOR not in done or done[ANCHOR] > at:
        raise BadSetting("'relit' says that the tray was lit again: record first that it was lit, `smokenight did lit`")
    if LIFT in done and done[LIFT] <= at:
        raise BadSetting(f"the food is out already ({_when(own, done[LIFT])}): there is nothing to light the tray for")
    return own.record(Kind.RELIT, batch.identity, at)


def _check_weights(step: Step, weighed: Weights) -> None:
    """Sawdust is filled in at the lighting, and left over at the end."""
    if weighed.sawdust_g is not None and step.name != ANCHOR:
        raise BadSetting("--sawdust goes with the lighting, `smokenight did lit`; what is left over is --left")
    if weighed.left_g is not None and step.name not in (LIFT, BURN_OUT, ASH):
        raise BadSetting("--left goes with the end of the smoke: `smokenight did lifted`, `did burn_out` or `did ash`")
    if weighed.food_g is not None and step.branch == "sawdust":
        raise BadSetting(f"--weight is that of the food, and “{step.title}” is about the sawdust: leave it out")


def _check_order(own: Book, batch: BatchState, process: Process, step: Step, at: datetime) -> None:
    """Neither before a step that leads to it, nor after one that it leads to."""
    for one in batch.done:
        if one.step == step.name or one.step not in {each.name for each in process.steps}:
            continue
        if one.step in _behind(process, step.name) and one.at > at:
            relation = "before"
        elif step.name in _behind(process, one.step) and one.at < at:
            relation = "after"
        else:
            continue
        other = process.step(one.step)
        raise BadSetting(
            f"--at: {_when(own, at)} is {relation} “{other.title}”, which was done {_when(own, one.at)};"
            " give the time with --at, or take the other record back with `smokenight undo`"
        )


def _behind(process: Process, name: str) -> set[str]:
    """Steps that come before that one, however far back."""
    step = process.step(name)
    near = {each.name for each in process.steps if each.before and each.neighbour == name}
    if not step.before and step.neighbour is not None:
        near.add(step.neighbour)
    return near.union(*(_behind(process, each) for each in near))


def _doubts(batch: BatchState, record: Record, process: Process, units: Units) -> Iterator[str]:
    """What of the weights looks like a slip; it is recorded all the same."""
    from scheduler.household.units import show_weight

    grams, opened_g = record.body.get("weight_g"), batch.opened.body["weight_g"]
    if grams is None:
        return
    salted_g = next((one.weight_g for one in batch.done if one.step == SALT and one.weight_g is not None), opened_g)
    if record.body["step"] == SALT and opened_g is not None and not opened_g / 2 <= grams <= opened_g * 1.1:
        yield f"Is the weight right? The batch was opened with {show_weight(opened_g, units)}. {TAKE_BACK}"
    if record.body["step"] != RINSE or salted_g is None or process.cure is None:
        return
    lost_pct = 100.0 * (1.0 - grams / salted_g)
    if lost_pct < 0.0:
        yield f"Is the weight right? It went into the salt with {show_weight(salted_g, units)}. {TAKE_BACK}"
    elif lost_pct > MOST_LOSS * process.cure.loss_pct:
        yield (
            f"Is the weight right? It lost {lost_pct:.0f} % in the cure, and {process.cure.loss_pct:g} % is usual."
            f" {TAKE_BACK}"
        )


def _left(given: Text) -> float | None:
    """What is left unburnt; nothing left is the usual end, and is a weight too."""
    return 0.0 if given is not None and NOTHING.fullmatch(given.strip()) else _grams("--left", given)


def _grams(flag: str, given: Text) -> float | None:
    return asking.with_flag(flag, asking.a_weight_g, given, None)


def _when(own: Book, at: datetime) -> str:
    from scheduler.faces.wording import when

    return when(at, own.site.zone)
