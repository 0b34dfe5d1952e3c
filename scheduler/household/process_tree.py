"""Whether the steps of a process make one tree around the lighting."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from scheduler.household.process import ANCHOR, FREEZE, LIFT
from scheduler.household.process_steps import SET_ELSEWHERE
from scheduler.household.toml_file import did_you_mean

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from typing import NoReturn

    from scheduler.household.process import Step

    Refuse = Callable[[str, str], NoReturn]
    """Takes where in the file, and what is wrong."""

SAWDUST_UNTOUCHED = ("dry", "none")
"""States of sawdust that no step leaves behind."""


def check_tree(steps: tuple[Step, ...], refuse: Refuse, unstarted: tuple[str, ...]) -> None:
    """Call `refuse` for the first thing that keeps the steps from being followed.

    unstarted: states of the food that no step leaves behind.
    """
    _check_names(steps, refuse)
    by_name = {step.name: step for step in steps}
    for step in steps:
        _check_neighbour(step, by_name, refuse)
    for step in steps:
        _check_way(step, by_name, refuse)
    _check_states(steps, refuse, unstarted)


def _check_names(steps: tuple[Step, ...], refuse: Refuse) -> None:
    for name, count in Counter(step.name for step in steps).items():
        if count > 1:
            refuse(f"step {name}", f"name: stands {count} times: each step has a name of its own")
    names = [step.name for step in steps]
    for needed in (ANCHOR, LIFT):
        if needed not in names:
            refuse("step:", f"there is no step named {needed!r}: add it, as every process has one")


def _check_neighbour(step: Step, by_name: Mapping[str, Step], refuse: Refuse) -> None:
    """The neighbour is there, on the right side of the lighting."""
    where, key = f"step {step.name}", "leads_to" if step.before else "comes_from"
    if step.name == ANCHOR:
        if step.neighbour is not None:
            refuse(where, f"{key}: the others hang from {ANCHOR!r}, it hangs from none: leave it out")
        return
    if step.neighbour is None:
        refuse(where, f"leads_to: is missing; all but {ANCHOR!r} have it, or comes_from after the lighting")
    if step.neighbour not in by_name:
        others = [name for name in by_name if name != step.name]
        refuse(where, f"{key}: there is no step {step.neighbour!r}; {did_you_mean(step.neighbour, others)}")
    counted_from = SET_ELSEWHERE.get(step.name)
    if counted_from is not None and (step.before or step.neighbour != counted_from):
        refuse(where, f'{key}: {step.neighbour!r} is not what it counts from: write comes_from = "{counted_from}"')
    if step.name == FREEZE and not (step.before and step.branch == "food"):
        refuse(where, f'{key}: freezing comes before the lighting, with the food: write leads_to, such as "thaw"')
    if step.neighbour != ANCHOR and by_name[step.neighbour].before != step.before:
        side, other = ("after", "comes_from") if step.before else ("before", "leads_to")
        refuse(where, f"{key}: {step.neighbour!r} lies {side} the lighting: use {other}, or another step")


def _check_way(step: Step, by_name: Mapping[str, Step], refuse: Refuse) -> None:
    """From neighbour to neighbour the way ends at the lighting."""
    way = [step.name]
    while (neighbour := by_name[way[-1]].neighbour) is not None:
        if neighbour in way:
            circle = " → ".join([*way[way.index(neighbour) :], neighbour])
            refuse(f"step {step.name}", f"goes round in a circle, {circle}: let one of them reach {ANCHOR!r}")
        way.append(neighbour)


def _check_states(steps: tuple[Step, ...], refuse: Refuse, unstarted: tuple[str, ...]) -> None:
    """Every state belongs to one step before the lighting, or to none; and skip_if names states there are."""
    owners = {("food", state): "unstarted" for state in unstarted}
    owners |= {("sawdust", state): "untouched sawdust" for state in SAWDUST_UNTOUCHED}
    for step in steps:
        for key, state in (("during", step.during), ("after", step.after)):
            if state is None:
                continue
            if not step.before:
                refuse(f"step {step.name}", f"{key}: {state!r}: only steps before the lighting leave a state")
            owner = owners.setdefault((step.branch, state), f"step {step.name} {key}")
            if owner != f"step {step.name} {key}":
                refuse(f"step {step.name}", f"{key}: {state!r} is the state of {owner} already: give it another")
    known = tuple(state for _, state in owners)
    for step in steps:
        for state in step.skip_if:
            if state not in known:
                refuse(f"step {step.name}", f"skip_if: there is no state {state!r}; {did_you_mean(state, known)}")
