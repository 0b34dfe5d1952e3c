"""Plans made by hand: an invented site, an invented batch, and times that no planner worked out."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from providers.forecast import Credit
from scheduler.household.batch import Batch
from scheduler.household.process import Step, Wait
from scheduler.household.site import Site
from scheduler.planning.answers import Night, Plan, PlannedStep, Verdict

if TYPE_CHECKING:
    from collections.abc import Mapping

LONDON = ZoneInfo("Europe/London")
LIGHT = datetime(2026, 10, 29, 18, 40, tzinfo=UTC)
STAMP = datetime(2026, 10, 22, 6, 0, tzinfo=UTC)
"""A week before the lighting, so that every reminder is still ahead."""

CREDIT = Credit("Invented weather, made up for tests", "https://weather.example/terms")

HOURS_FROM_LIGHTING = {
    "soak": -121.0,
    "thaw": -98.0,
    "salt": -73.0,
    "spread": -72.5,
    "turn": -49.0,
    "rinse": -25.0,
    "fill": -3.0,
    "hang": -2.0,
    "light": 0.0,
    "check": 1.0,
    "late_check": 3.5,
    "lift": 12.0,
    "pack": 36.0,
    "ash": 109.0,
}


def make_steps() -> tuple[Step, ...]:
    """Fourteen steps around a lighting, in no particular order."""
    cure = Wait(36.0, 48.0, 60.0)
    thaw = Wait(18.0, 24.0, 36.0, per_started_g=2000.0)
    short = Wait(0.5, 1.0, 2.0)
    dust = {"branch": "sawdust"}
    return (
        Step("light", "Light the tray", 20, None, False, None, note="Light one end.", cautions=("fumes", "fire")),
        Step("thaw", "Thaw the fish", 10, "salt", True, thaw, note="In the fridge, in a tray.", cautions=("cold",)),
        Step("salt", "Salt the fish", 45, "turn", True, Wait(20, 24, 28), note="Rub in salt, sugar; cover."),
        Step("turn", "Turn the fish", 10, "rinse", True, Wait(16, 24, 32), note="Skin side down."),
        Step("rinse", "Rinse the fish", 30, "hang", True, cure, note="Cold water, then dry it."),
        Step("hang", "Hang the fish", 30, "light", True, short, note="Pieces must not touch."),
        Step("soak", "Soak the sawdust", 15, "spread", True, Wait(24, 48, 96), note="Cover with water.", **dust),
        Step("spread", "Spread the sawdust", 20, "fill", True, Wait(48, 72, 240), note="Thin, in the sun.", **dust),
        Step("fill", "Fill the tray", 15, "light", True, Wait(0, 1, 48), note="Loose, level.", **dust),
        Step("check", "First look", 5, "light", False, Wait(0.5, 1, 1.5), note="Smoke thin and steady?"),
        Step("late_check", "Look before bed", 5, "light", False, Wait(2, 3, 4), note="Still smouldering?"),
        Step("lift", "Take the fish out", 30, "light", False, None, note="Weigh it.", cautions=("cold",)),
        Step("pack", "Pack the fish", 40, "lift", False, Wait(12, 24, 48), note="Thin slices, cold."),
        Step("ash", "Ash is cold by now", 0, "light", False, Wait(96, 96, 240), household=False, note="Wet it."),
    )  # fmt: skip


def make_site(name: str = "Invented shed", **changes: object) -> Site:
    """A site that is nowhere in particular, on London's clock."""
    return replace(Site(name, 51.0, -1.0, LONDON), **changes)


def make_night(light: datetime = LIGHT, smoke_h: float = 12.0) -> Night:
    """A good night around the lighting."""
    return Night(
        date=light.astimezone(LONDON).date(),
        verdict=Verdict.GOOD,
        reasons=("the air peaks at 9.4 °C (Thu 19:00), 6.2 °C under your ceiling", "chance: 97 %"),
        duration_h=smoke_h,
        ceiling_c=15.6,
        light_best=light,
        lift=light + timedelta(hours=smoke_h),
        peak_c=9.4,
        chance=0.97,
    )


def plan_step(step: Step, at: datetime, leeway_h: float = 1.0) -> PlannedStep:
    """A step still to do, with as much leeway before as after."""
    leeway = timedelta(hours=leeway_h)
    return PlannedStep(step, at, ((at - leeway, at + leeway),))


def make_plan(
    light: datetime = LIGHT,
    *,
    batch: str = "autumn lot",
    smoke_h: float = 12.0,
    hours: Mapping[str, float] = HOURS_FROM_LIGHTING,
    tentative: bool = False,
) -> Plan:
    """A plan in order of time, every step still to do; the hours are elapsed ones, whatever the clock does."""
    light = light.astimezone(UTC)
    offsets = {**hours, "lift": smoke_h}
    steps = [plan_step(step, light + timedelta(hours=offsets[step.name])) for step in make_steps()]
    return Plan(
        batch=Batch(name=batch, weight_g=2500.0),
        night=make_night(light, smoke_h),
        steps=tuple(sorted(steps, key=lambda planned: planned.at or light)),
        sawdust_g=430.0,
        salt_g=75.0,
        sugar_g=37.5,
        cautions=("cold",),
        tentative=tentative,
    )


def with_step(plan: Plan, name: str, **changes: object) -> Plan:
    """The plan with one planned step changed; what belongs to the step itself is changed there."""
    inner = {key: changes.pop(key) for key in list(changes) if key not in {"at", "spans", "done"}}
    steps = tuple(
        replace(planned, step=replace(planned.step, **inner), **changes) if planned.step.name == name else planned
        for planned in plan.steps
    )
    return replace(plan, steps=steps)


def planned(plan: Plan, name: str) -> PlannedStep:
    """The planned step of that name."""
    return next(each for each in plan.steps if each.step.name == name)


def caution_text(key: str) -> str:
    """Stands in for the sentences of the hazards."""
    return f"Mind the {key}."
