"""What a plan says of its sawdust: from when it lies out, and by when it is dry in this weather."""

from __future__ import annotations

from dataclasses import dataclass
from math import isinf
from typing import TYPE_CHECKING

from scheduler.planning.clock import HOUR_S, MINUTE_S, instant, seconds

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from scheduler.planning.answers import PlannedStep
    from scheduler.planning.chain import Chain
    from scheduler.planning.drying_spell import Spell


@dataclass(frozen=True, slots=True)
class PlannedDrying:
    """One batch of sawdust in the weather of one forecast."""

    step: str
    """The step that spreads it."""
    spread: datetime
    """From when it lies out: the end of the hands-on time."""
    dry: datetime | None
    """When it is usually dry; None where the forecast does not say, and the process's days are taken."""
    quick: datetime | None
    slow: datetime | None
    """The range of that; None where the known weather and the days after it do not get so far."""
    known_from: datetime | None
    known_until: datetime | None
    """First and last instant of the weather that is known; None where nothing is."""
    unknown_h: int
    """Hours by day, of those between spreading and dry, that nobody knows: they count as no drying."""
    covered_h: int
    """Hours by day, of the same, in which it is covered as rain is forecast."""
    estimated: bool
    """Whether radiation was estimated."""


def planned_drying(chain: Chain, steps: Sequence[PlannedStep]) -> PlannedDrying | None:
    """The drying among these steps; None where there is none, or it is over."""
    name = None if chain.drying_step is None else chain.drying_step.name
    over = chain.history(chain.site.duration_h).over
    found = [one for one in steps if one.step.name == name and one.at is not None and name not in over]
    if not found or found[0].at is None:
        return None
    hands_on_s = 0.0 if found[0].done else found[0].step.hands_on_min * MINUTE_S
    spread = seconds(found[0].at) + hands_on_s
    if chain.drying is None:
        return PlannedDrying(found[0].step.name, instant(spread), None, None, None, None, None, 0, 0, estimated=False)
    return dried_in(chain.drying, found[0].step.name, spread)


def dried_in(spell: Spell, step: str, spread: float) -> PlannedDrying:
    """What is spread at this moment, in seconds since 1970 UTC."""
    usual, quick, slow = (pace.times.ready_at(spread) for pace in (spell.usual, spell.quick, spell.slow))
    hours = spell.hours
    between = (hours.start_s + HOUR_S > spread) & (hours.start_s < min(usual, hours.known_until))
    dry, early, late = (None if isinf(at) else instant(at) for at in (usual, quick, slow))
    return PlannedDrying(
        step=step,
        spread=instant(spread),
        dry=dry,
        quick=early,
        slow=late,
        known_from=instant(float(hours.start_s[0])),
        known_until=instant(hours.known_until),
        unknown_h=int((hours.unknown & between).sum()),
        covered_h=int((hours.covered & between).sum()),
        estimated=hours.estimated,
    )
