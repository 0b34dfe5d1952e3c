"""The settings that the simulation is run with, and their tables."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cache
from typing import TYPE_CHECKING

from planning_builders import moment
from policy_players import EveryRun, FirstNight, NoMemory, Player, ThisTool
from policy_seasons import (
    CEILING_C,
    SEASON,
    Tally,
    World,
    frozen_fish,
    household,
    openings,
    play,
)
from policy_weather import TOOLS_DAYS, TOOLS_SD_C, Errors, Runs, Truth, invented, new_york

from scheduler.household.policy import Policy

if TYPE_CHECKING:
    from collections.abc import Callable

PLACES = ("EWR", "JFK", "LGA")
SAMPLE = "the sample"
MEASURED = Errors(every_h=12)
BOLD = Policy(go=0.50)
"""Food on its way is lit on a night that is a little less likely."""
APART_DAYS = 12.0
"""Between two batches of one household: nearer ones would wait for the same night, and count one night twice."""


def usual_players() -> tuple[Player, ...]:
    """A fresh one of each for one batch."""
    return FirstNight(), EveryRun(), ThisTool(), ThisTool(policy=BOLD)


@dataclass(frozen=True)
class Setting:
    """One household, and one idea of how wrong forecasts are."""

    name: str
    errors: Errors = MEASURED
    site: dict[str, float] = field(default_factory=dict)
    weight_g: float = 1300.0
    places: tuple[str, ...] = PLACES
    players: Callable[[], tuple[Player, ...]] = usual_players

    def world(self, place: str, seed: int) -> World:
        """With forecasts of its own."""
        runs = Runs(truth_of(place), self.errors, seed=1000 * seed + len(place) + sum(map(ord, place)))
        return World(runs, household(**self.site), frozen_fish(runs.issued_s(0), self.weight_g))

    def play(self, place: str, seed: int, apart_days: float = APART_DAYS) -> dict[str, Tally]:
        """One household's year; each seed opens its batches on other days."""
        world = self.world(place, seed)
        apart_days += place == SAMPLE  # its weather comes round every eight days: batches are opened on all of them
        return play(world, self.players, openings(world.runs, apart_days, SEASON, (seed % 3 + 0.5) / 3))


@cache
def truth_of(place: str) -> Truth:
    return invented() if place == SAMPLE else new_york(place)


MAIN = Setting("as measured, two looks a day", players=lambda: (*usual_players(), ThisTool(takes=False), NoMemory()))


def alone() -> tuple[Player, ...]:
    """This tool by itself: the plain players do not hang from what it calls good."""
    return ThisTool(), ThisTool(policy=BOLD)


LEVERS = (
    Setting("good from 0.90", site={"good_chance": 0.90}, players=alone),
    Setting("good nights only", site={"borderline_chance": 0.80}, players=alone),
    Setting("good nights only, good from 0.90", site={"good_chance": 0.90, "borderline_chance": 0.90}, players=alone),
)
HOUSEHOLDS = (
    Setting("8 h", site={"duration_h": 8.0}),
    Setting("16 h", site={"duration_h": 16.0}),
    Setting("ceiling 14.6 °C", site={"ceiling_c": CEILING_C - 1.0}),
    Setting("ceiling 16.6 °C", site={"ceiling_c": CEILING_C + 1.0}),
    Setting("no floor to keep", site={"floor_c": -40.0}),
    Setting("a pack of 4 kg: 4 days ahead", weight_g=4000.0),
    Setting("a pack of 6 kg: 5 days ahead", weight_g=6000.0),
)
FORECASTS = (
    Setting("four looks a day", Errors()),
    Setting("normal tails", replace(MEASURED, tails=None)),
    Setting("errors 1.3 times as wide", replace(MEASURED, factor=1.3)),
    Setting("errors as the tool reckons", replace(MEASURED, leads_days=TOOLS_DAYS, sd_c=TOOLS_SD_C, tails=None)),
    Setting("jumpier runs (30 % of the variance new)", replace(MEASURED, jumpy=0.3)),
    Setting("uncorrected at long leads", replace(MEASURED, shrunk=False)),
    Setting("1 °C too cold", replace(MEASURED, bias_c=-1.0)),
    Setting("1 °C too warm", replace(MEASURED, bias_c=1.0)),
    Setting("the sample's weather", places=(SAMPLE,) * 2),
)


def merged(tallies: list[dict[str, Tally]], months: tuple[int, ...] = SEASON) -> dict[str, Tally]:
    """One tally a player over many households, of the batches opened in these months."""
    found = {}
    for name, first in tallies[0].items():
        every = [one for tally in tallies for one in tally[name].outcomes if moment(one.opened_s).month in months]
        found[name] = replace(first, outcomes=tuple(every))
    return found


def table(name: str, tallies: dict[str, Tally]) -> str:
    """Rows for one setting."""
    return "\n".join([f"{name}:", *(tally.row() for tally in tallies.values())])
