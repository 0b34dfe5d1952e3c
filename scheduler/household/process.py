"""The chain of steps a batch goes through, as data.

A process is a TOML file (one ships with the package, and a household can copy and change it).  Each step is a
moment at which somebody starts to do something; each wait ties a step to the one it leads to, counted from the end
of the step's hands-on time.  The waits make a tree around the lighting: steps before it lead to it, steps after it
come from it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Clock = Literal["elapsed", "clock"]
"""Elapsed hours are chemistry and are added in UTC; clock hours are a person's days, added on the wall clock."""

ANCHOR = "light"
"""The step that every other one hangs from."""

FREEZE = "freeze"
"""Freezing against parasites; its wait comes from the rule that the freezer meets first."""

LIFT = "lift"
"""The step that ends the smoke; its wait comes from the site's duration, not from the process."""

EAT_BY = "eat_by"
"""The end of the household's keeping days, counted from the lift."""

SALT, RINSE = "salt", "rinse"
"""Steps at which food that is cured is weighed: as it goes into the salt, and as it comes out."""


@dataclass(frozen=True, slots=True)
class Wait:
    """Time between the end of one step's hands-on time and the start of the next, in hours."""

    least_h: float
    usual_h: float
    longest_h: float
    kind: Clock = "elapsed"
    per_started_g: float | None = None
    """The three figures hold per started portion of this weight of the largest pack; None for any weight."""
    weather: Literal["drying"] | None = None
    """What a forecast sets the least wait by, with the usual one for days that none knows; None for nothing."""


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do."""

    name: str
    """Stable word: what `did` and the calendar know it by."""
    title: str
    """What a person reads."""
    hands_on_min: float
    neighbour: str | None
    """The step it leads to (before the lighting) or comes from (after it); None for the lighting itself."""
    before: bool
    """Whether the step lies before the lighting."""
    wait: Wait | None
    """Between this step and its neighbour; None for the lighting, and for those whose wait is set elsewhere."""
    household: bool = True
    """Whether somebody has to be at home and awake for it."""
    prefer: Literal["usual", "evening_end"] = "usual"
    """Its time: closest to the usual wait, or the last moment of the household's evening."""
    branch: Literal["food", "sawdust"] = "food"
    during: str | None = None
    """State of the food or the sawdust while the wait after this step runs."""
    after: str | None = None
    """State once the least wait after this step is over."""
    skip_if: tuple[str, ...] = ()
    """States of a new batch that do not need this step (fresh fish is not thawed)."""
    note: str = ""
    """How to do it, in a sentence or two."""
    cautions: tuple[str, ...] = ()
    """Keys of the cautions shown beside it."""


@dataclass(frozen=True, slots=True)
class Cure:
    """What is weighed out, as a share of the food's weight."""

    salt_pct: float
    sugar_pct: float
    loss_pct: float
    """Weight the food usually loses by the end of the cure."""


@dataclass(frozen=True, slots=True)
class Smoke:
    """What the food itself asks of the smoke; None leaves that to the site."""

    ceiling_c: float | None = None
    """Warmest outside air, where that is lower than the site's."""
    duration_h: float | None = None
    """Planned time from lighting to lift, in place of the site's."""
    longest_h: float | None = None
    """No lift later than this after lighting, where that is shorter than the site's."""


UNSTARTED = ("frozen", "fresh")
"""States of a food that has not begun, where a process names none of its own."""


@dataclass(frozen=True, slots=True)
class Process:
    """A named chain of steps and what it is for."""

    name: str
    title: str
    foods: tuple[str, ...]
    cure: Cure | None
    steps: tuple[Step, ...]
    cautions: tuple[str, ...] = field(default=())
    """Keys of the cautions that hold for the whole of it."""
    unstarted: tuple[str, ...] = UNSTARTED
    """States of a food that has not begun, the usual one first."""
    smoke: Smoke = field(default_factory=Smoke)

    def step(self, name: str) -> Step:
        """The step of that name; KeyError where there is none."""
        for step in self.steps:
            if step.name == name:
                return step
        raise KeyError(name)
