"""How long the household's sawdust takes to dry, and how much weight its food loses in the cure."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from scheduler.household.process import RINSE, SALT
from scheduler.journal.learn_smokes import step_of
from scheduler.journal.learn_value import DOUBLE, HALF, Figure, Rule, learned_value
from scheduler.science.cure import net_loss

if TYPE_CHECKING:
    from scheduler.household.process import Process, Step
    from scheduler.journal.state import BatchState, SiteState

HOUR = timedelta(hours=1)

DRYING_DRAWN_BY, DRYING_APART_SHARE = 4.0, 0.5
"""n0, and how far spells lie apart as a share of the usual one."""
LOSS_DRAWN_BY, LOSS_APART_PCT = 3.0, 3.0
"""n0, and how far batches lie apart, in per cent of the weight."""
MOST_LOSS_PCT = 40.0
"""A fish that lost more than this was not weighed twice on the same scales: more than half of its water."""


def drying_step(process: Process) -> Step | None:
    """The step whose wait the drying weather sets; None where the process has none."""
    return next((step for step in process.steps if step.wait is not None and step.wait.weather == "drying"), None)


def drying_hours(state: SiteState, process: Process) -> Figure | None:
    """Hours from spreading to dry, over every batch; None for a process that dries no sawdust.

    By when somebody stored it, so it holds the weather of those days and the time until somebody looked.
    """
    step = drying_step(process)
    if step is None or step.wait is None or step.neighbour is None or step.wait.usual_h <= 0.0:
        return None
    usual = step.wait.usual_h
    high = min(DOUBLE * usual, step.wait.longest_h)
    rule = Rule(usual, HALF * usual, max(high, usual), DRYING_DRAWN_BY, DRYING_APART_SHARE * usual)
    found = [_hours(batch, step.name, step.neighbour) for batch in state.batches]
    told = [hours for hours in found if hours is not None]
    known = [hours for hours in told if 0.0 < hours <= step.wait.longest_h]
    return learned_value(rule, known, len(told) - len(known))


def _hours(batch: BatchState, first: str, last: str) -> float | None:
    begun, ended = step_of(batch, first), step_of(batch, last)
    return None if begun is None or ended is None else (ended.at - begun.at) / HOUR


def cure_loss(state: SiteState, process: Process) -> Figure | None:
    """Per cent of its weight that the food loses, over batches of the process's foods; None where there is no cure."""
    if process.cure is None or process.cure.loss_pct <= 0.0:
        return None
    usual = process.cure.loss_pct
    rule = Rule(usual, HALF * usual, DOUBLE * usual, LOSS_DRAWN_BY, LOSS_APART_PCT)
    weighed = [pair for batch in state.batches if (pair := _weights_g(batch, process)) is not None]
    known = [loss for raw_g, cured_g in weighed if (loss := _loss_pct(raw_g, cured_g)) is not None]
    return learned_value(rule, known, len(weighed) - len(known))


def _weights_g(batch: BatchState, process: Process) -> tuple[float, float] | None:
    """Before the cure, as weighed then or as the batch was opened, and after it."""
    salted, rinsed = step_of(batch, SALT), step_of(batch, RINSE)
    if batch.opened.body["food"] not in process.foods or salted is None or rinsed is None:
        return None
    raw_g = batch.opened.body["weight_g"] if salted.weight_g is None else salted.weight_g
    return None if raw_g is None or rinsed.weight_g is None else (float(raw_g), rinsed.weight_g)


def _loss_pct(raw_g: float, cured_g: float) -> float | None:
    """None for weights that cannot be those of one food."""
    if not 0.0 < cured_g <= raw_g:
        return None
    loss = 100.0 * net_loss(raw_g, cured_g)
    return loss if loss <= MOST_LOSS_PCT else None
