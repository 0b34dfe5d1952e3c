"""What a household's own nights teach: from its journal alone, each figure drawn from the shipped one to its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduler.household.smoking import site_for
from scheduler.journal.learn_fire import burn_rate, chamber_rise
from scheduler.journal.learn_forecast import Bias, bias, forecasted, newest
from scheduler.journal.learn_smokes import smokes
from scheduler.journal.learn_steps import cure_loss, drying_hours
from scheduler.journal.scores import Scores, outcomes, scores

if TYPE_CHECKING:
    from scheduler.household.process import Process
    from scheduler.household.site import Site
    from scheduler.journal.learn_value import Figure
    from scheduler.journal.state import SiteState


@dataclass(frozen=True, slots=True)
class Learned:
    """Every figure that a journal can better, as it stands now."""

    bias: Bias
    """How much too warm forecasts have been at the porch [°C]."""
    burn: Figure
    """Dry sawdust that one front burns [g/h]."""
    rise: Figure
    """Kelvin that one front adds to the chamber."""
    drying: Figure | None
    """Hours from spreading sawdust to dry; None for a process that dries none."""
    loss: Figure | None
    """Per cent of its weight that the food loses in the cure; None for a process without one."""
    scored_nights: int
    """Nights with a logged chance whose whole window was read at the porch."""
    scores: Scores | None
    """Of those chances; None while there are fewer than 30."""

    @property
    def bias_c(self) -> float:
        """What to take off a forecast's air before it is judged."""
        return self.bias.overall.value


def learn(state: SiteState, site: Site, process: Process, source: str | None = None) -> Learned:
    """All that the journal of one site teaches of it and of a process.

    source: the weather service whose bias is wanted, as every service has its own; None takes all together.
    """
    pairs, fires = forecasted(state, source), smokes(state)
    told = outcomes(newest(pair for pair in pairs if pair.chance is not None), site_for(site, process).limits.ceiling_c)
    return Learned(
        bias=bias(pairs),
        burn=burn_rate(fires, site.tray.fronts),
        rise=chamber_rise(state, fires, site),
        drying=drying_hours(state, process),
        loss=cure_loss(state, process),
        scored_nights=len(told),
        scores=scores(told),
    )
