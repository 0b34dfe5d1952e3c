"""What follows a lighting that is done: the lift, and whatever hangs from the lighting and from it.

The lighting cannot be taken back, so nothing here makes it infeasible: a step whose last moment is past leaves the
tree, and a lift always has a moment.  The cap of the smoke is never stretched; where it is passed, a note says so.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import timedelta
from math import inf
from typing import TYPE_CHECKING

from scheduler.household.process import ANCHOR, LIFT, Wait
from scheduler.household.units import show_duration
from scheduler.planning.backward import Infeasible, Link, Tree
from scheduler.planning.clock import HOUR_S, MINUTE_S, night_of, on_clock
from scheduler.planning.reasons import clock
from scheduler.planning.spans import Spans

if TYPE_CHECKING:
    from scheduler.household.process import Step
    from scheduler.planning.chain import Chain

BEDTIME_MIN = 4 * 60
"""Minutes after midnight; later it is the next morning, whoever is up (our judgement)."""

FROM_FIRE = ("burn_out", "ash")
"""Steps that count from when the tray was lit again, where it was."""


@dataclass
class AfterLighting:
    """The steps still in play after the lighting."""

    tree: Tree
    missed: list[Step] = field(default_factory=list)
    """Steps that nobody recorded and whose last moment is past."""
    notes: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """What is to be said of a step, by its name."""

    def moments(self, name: str) -> Spans:
        """Those of a step in the tree, by what it hangs from alone."""
        own = self.tree.own[name]
        link = next((one for one in self.tree.links if one.name == name), None)
        return own if link is None else own & link.after(self.moments(link.neighbour))

    def with_step(self, step: Step, own: Spans, link: Link) -> bool:
        """Hang a step from the tree; False, and the tree as it was, where that leaves some step no moment."""
        tree = Tree((*self.tree.links, link), {**self.tree.own, step.name: own})
        if isinstance(tree.inward(), Infeasible):
            return False
        self.tree = tree
        return True


def after_lighting(chain: Chain, *, lift_latest: float = inf) -> AfterLighting:
    """The tree of a batch whose tray is lit, to be lifted by then where that can be."""
    lit = chain.progress.lit
    if lit is None:
        raise ValueError("nothing follows a lighting that is not done")
    found, smoke_h = AfterLighting(Tree((), {ANCHOR: _point(lit)})), filled_for_h(chain)
    steps = [step for step in chain.process.steps if not step.before and step.name != ANCHOR]
    for step in sorted(steps, key=lambda one: len(chain.progress.way(one))):
        _hang(found, chain, step, smoke_h, lift_latest)
    return found


def _hang(found: AfterLighting, chain: Chain, step: Step, smoke_h: float, lift_latest: float) -> None:
    """Put a step into the tree, or among those that were missed."""
    at, lit = chain.progress.at.get(step.name), chain.progress.at[ANCHOR]
    if at is not None:
        found.with_step(step, _point(at), _after_light(chain, step, at - lit))
    elif step.name == LIFT:
        lift = lift_of(chain, lift_latest)
        found.with_step(step, lift.spans, _after_light(chain, step, lift.usual - lit))
        found.notes[LIFT] = lift.notes
    elif step.neighbour not in found.tree.own or not _hang_ahead(found, chain, step, smoke_h):
        found.missed.append(step)


def _hang_ahead(found: AfterLighting, chain: Chain, step: Step, smoke_h: float) -> bool:
    """Put a step into the tree that is still ahead, or happens by itself; False where its last moment is past.

    A look before going to bed has none once the evening at home is over.
    """
    link = _link(chain, step, smoke_h)
    if not step.household:
        return found.with_step(step, Spans(((-inf, chain.until),)), link)
    if step.prefer == "evening_end":
        return found.with_step(step, chain.own(step, None).between(-inf, _bedtime(chain)), link)
    if found.with_step(step, chain.own(step, None), link):
        return True
    could = chain.at_home.shrink(step.hands_on_min * MINUTE_S) & link.after(found.moments(link.neighbour))
    if not could and found.with_step(step, Spans(((chain.now, chain.until),)), link):
        found.notes[step.name] = ("By the household's hours nobody is at home in the time it leaves.",)
        return True
    return False


def _bedtime(chain: Chain) -> float:
    """Until when a look counts as one before the night, in the night of the lighting."""
    lit, zone = chain.progress.at[ANCHOR], chain.site.zone
    return on_clock(night_of(lit, zone) + timedelta(days=1), BEDTIME_MIN, zone)


def _link(chain: Chain, step: Step, smoke_h: float) -> Link:
    """The wait of a step after the lighting: from a recorded lift itself, of the fire from the last time it was lit."""
    link = chain.link(step, smoke_h, done=step.neighbour != ANCHOR and step.neighbour in chain.progress.at)
    fire, lit = chain.progress.fire, chain.progress.lit
    if step.neighbour != ANCHOR or step.name not in FROM_FIRE or fire is None or lit is None:
        return link
    return replace(link, hands_on_s=link.hands_on_s + fire - lit)


def _after_light(chain: Chain, step: Step, usual_s: float) -> Link:
    """A link that leaves the step any moment after the lighting; its usual time is given."""
    return Link(step.name, ANCHOR, False, 0.0, Wait(0.0, usual_s / HOUR_S, inf), chain.site.zone)


@dataclass(frozen=True, slots=True)
class Lift:
    """When the food of a burning smoke can be lifted."""

    spans: Spans
    usual: float
    notes: tuple[str, ...] = ()


def lift_of(chain: Chain, latest: float = inf) -> Lift:
    """Inside household hours, at least the planned duration of smoke and at most the cap after the lighting.

    Where that leaves no moment the cap holds, and the smoke is shorter: the latest moment at home at or before the
    cap, and before what else limits it (`latest`); past the cap it is now.
    """
    lit, cap = chain.progress.at[ANCHOR], chain.progress.at[ANCHOR] + chain.site.longest_h * HOUR_S
    least, limit = least_lift(chain), min(cap, latest)
    home = chain.at_home.shrink(chain.process.step(LIFT).hands_on_min * MINUTE_S).between(chain.now, chain.until)
    if left := home.between(least, limit):
        return Lift(left, max(least, lit))
    if limit < chain.now:
        return Lift(_point(chain.now), chain.now, (*_overdue(chain, cap), *_shorter(chain, least, chain.now)))
    early = home.between(-inf, limit)
    at = early.last if early else limit
    away = () if early else ("By the household's hours nobody is at home before that.",)
    return Lift(_point(at), at, (*_shorter(chain, least, at), *away))


def filled_for_h(chain: Chain) -> float:
    """Hours of smoke that the tray was filled for: from its lighting to the lift that was to follow."""
    lit, site = chain.progress.at[ANCHOR], chain.site
    home = chain.at_home.shrink(chain.process.step(LIFT).hands_on_min * MINUTE_S)
    lifts = home.between(lit + site.duration_h * HOUR_S, lit + site.longest_h * HOUR_S)
    return (lifts.first - lit) / HOUR_S if lifts else site.duration_h


def least_lift(chain: Chain) -> float:
    """The end of the planned duration of smoke; after a fire that went out, of what it lacks."""
    progress, duration_s = chain.progress, chain.site.duration_h * HOUR_S
    if progress.relit is None:
        return progress.at[ANCHOR] + duration_s
    return progress.relit + duration_s - progress.burnt_h * HOUR_S


def _overdue(chain: Chain, cap: float) -> tuple[str, ...]:
    """By how much the cap of the smoke is passed."""
    if cap >= chain.now:
        return ()
    longest, over = show_duration(chain.site.longest_h), show_duration((chain.now - cap) / HOUR_S)
    was = f"Overdue: {longest} after lighting, your longest, was {clock(chain.site, cap)}, {over} ago."
    return (f"{was} Lift it now, or record when it was lifted.",)


def _shorter(chain: Chain, least: float, at: float) -> tuple[str, ...]:
    """By how much the smoke falls short of what was planned."""
    if at >= least:
        return ()
    short, planned = show_duration((least - at) / HOUR_S), show_duration(chain.site.duration_h)
    return (f"This is {short} less smoke than the {planned} planned.",)


def _point(at: float) -> Spans:
    return Spans(((at, at),))
