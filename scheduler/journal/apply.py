"""What was learned, put where planning looks for it; the bias of forecasts goes with the question instead."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from scheduler.journal.learn_steps import drying_step

if TYPE_CHECKING:
    from scheduler.household.process import Process, Step
    from scheduler.household.site import Site
    from scheduler.journal.learn import Learned
    from scheduler.journal.learn_value import Figure


def applied(learned: Learned, site: Site, process: Process) -> tuple[Site, Process]:
    """The site and the process that the figures were learned for, with those that count in place.

    What the household set itself stands: a rise in its site file is not touched.  The rise stands for the whole tray.
    """
    return _site(learned, site), _process(learned, process)


def _site(learned: Learned, site: Site) -> Site:
    if learned.burn.counts:
        site = replace(site, tray=replace(site.tray, g_per_h=learned.burn.value))
    if learned.rise.counts and site.chamber.rise_k is None:
        rise_k = learned.rise.value * site.tray.fronts
        site = replace(site, chamber=replace(site.chamber, rise_k=rise_k))
    return site


def _process(learned: Learned, process: Process) -> Process:
    if learned.loss is not None and learned.loss.counts and process.cure is not None:
        process = replace(process, cure=replace(process.cure, loss_pct=learned.loss.value))
    drying = drying_step(process)
    if learned.drying is None or not learned.drying.counts or drying is None:
        return process
    steps = (_dries_in(step, learned.drying) if step is drying else step for step in process.steps)
    return replace(process, steps=tuple(steps))


def _dries_in(step: Step, hours: Figure) -> Step:
    """The wait of days that no forecast knows.

    A forecast's own days are left alone: the household's own figure already holds its weather, which would count twice.
    """
    if step.wait is None:
        return step
    usual_h = min(_to_the_minute(hours.value), step.wait.longest_h)
    least_h = min(_to_the_minute(step.wait.least_h * usual_h / step.wait.usual_h), usual_h)
    return replace(step, wait=replace(step.wait, least_h=least_h, usual_h=usual_h))


def _to_the_minute(hours: float) -> float:
    """As all times of a plan are."""
    return round(60.0 * hours) / 60.0
