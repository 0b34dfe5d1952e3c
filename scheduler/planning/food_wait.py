"""How long food that is on its way can still wait for its smoke, by the longest waits of its process alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduler.household.process import ANCHOR, FREEZE
from scheduler.planning.backward import Infeasible, Tree
from scheduler.planning.clock import instant
from scheduler.planning.spans import ALWAYS

if TYPE_CHECKING:
    from datetime import datetime

    from scheduler.household.process import Step, Wait
    from scheduler.planning.chain import Chain
    from scheduler.planning.spans import Spans


@dataclass(frozen=True, slots=True)
class FoodWait:
    """What the longest waits leave to the food."""

    until: float
    """The tray is lit by then, each step before it done as late as it can be [seconds since 1970 UTC]."""
    next_step: Step | None
    """What has to be done with the food before that; None where only the lighting is left."""
    next_until: float
    """And by when: the last hour at home in the wait that the food is in now."""


def food_wait(chain: Chain) -> FoodWait | None:
    """The end of the food's waits; None for food that has not left the freezer, or is lit.

    Steps before the lighting are done in the household's hours: fish is rinsed in the evening before a wait that ends
    at night, and rests from then on.  Where no such hour is left, the wait that it is in is all there is.
    """
    step, first = _under_way(chain)
    if step is None or first is None:
        return None
    ahead = _ahead(chain, step)
    tree = chain.tree(chain.site.duration_h)
    links = tuple(link for link in tree.links if link.name in {step.name, *ahead})
    done = {step.name: tree.own[step.name]}
    at_any_hour = _moments(Tree(links, {**done, **dict.fromkeys((*ahead, ANCHOR), ALWAYS)}))
    if at_any_hour is None:
        raise AssertionError("waits alone leave every step a moment")
    at_home = _moments(Tree(links, {**done, **{name: tree.own[name] for name in ahead}, ANCHOR: ALWAYS}))
    own = at_home or at_any_hour
    return FoodWait(
        until=own[ANCHOR if at_home else first].last,
        next_step=None if first == ANCHOR else chain.process.step(first),
        next_until=own[first].last,
    )


def _moments(tree: Tree) -> dict[str, Spans] | None:
    """Moments of each step by what lies behind it; None where one has none."""
    found = tree.inward()
    return None if isinstance(found, Infeasible) else found


def _under_way(chain: Chain) -> tuple[Step | None, str | None]:
    """The step whose wait the food is in, and the one it leads to, before the lighting."""
    started = chain.food_done
    if started is None or not started[0].before or started[0].name == FREEZE:
        return None, None
    return started[0], started[0].neighbour


def _ahead(chain: Chain, step: Step) -> list[str]:
    """Steps after this one that lead to the lighting, in order."""
    found = []
    while step.neighbour not in (None, ANCHOR):
        step = chain.process.step(step.neighbour)
        found.append(step.name)
    return found


def rest_step(chain: Chain) -> tuple[Step, Wait] | None:
    """The food's last step before the lighting, whose wait is the one it is chilled in; None where there is none."""
    for step in chain.process.steps:
        if step.branch == "food" and step.before and step.neighbour == ANCHOR and step.wait is not None:
            return step, step.wait
    return None


def at_home_by(chain: Chain, until: float) -> datetime | None:
    """The last moment up to then at which somebody is at home, now where there is no later one; None once it is past.

    Whoever asks is there now.
    """
    if until < chain.now:
        return None
    left = chain.at_home.between(chain.now, until)
    return instant(left.last if left else chain.now)
