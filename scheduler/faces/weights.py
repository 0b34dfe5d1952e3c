"""What to weigh out for a plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.faces.flag_words import WEIGHED, with_flags
from scheduler.faces.wording import NO_SOURCE, plural, share
from scheduler.household.process import ANCHOR, LIFT, SALT
from scheduler.household.units import show_duration, show_weight
from scheduler.science.smoulder import burn_time, lasts, tray_rate

if TYPE_CHECKING:
    from scheduler.faces.terminal import Page
    from scheduler.planning.answers import Plan
    from scheduler.science.smoulder import Rate
    from scheduler.service import Question

OWN_SMOKES = ("as wide a range as in practice", "by your own smokes")
"""Where the tray's rate was learned: what its range and its usual burn rest on."""


def say_weights(page: Page, plan: Plan, question: Question) -> None:
    """Salt, sugar and sawdust, with where each figure comes from."""
    cure = cure_words(plan, question)
    sawdust = sawdust_words(plan, question)
    if not cure and not sawdust:
        return
    page.heading("To weigh")
    for label, text in [*cure, *sawdust]:
        page.fact(label, with_flags(text))


def cure_words(plan: Plan, question: Question) -> list[tuple[str, str]]:
    """Salt and sugar; how to get them where the weight is unknown; nothing where there is no salting ahead."""
    cure, batch, units = question.process.cure, question.batch, question.site.units
    salting_ahead = any(planned.step.name == SALT and not planned.done for planned in plan.steps)
    if cure is None or not salting_ahead:
        return []
    if plan.salt_g is None or plan.sugar_g is None or batch.weight_g is None:
        shares = f"salt {share(cure.salt_pct)}, sugar {share(cure.sugar_pct)} of the {batch.food}'s weight"
        return [("cure", f"{shares} ({NO_SOURCE}); {WEIGHED}")]
    of = f"of {show_weight(batch.weight_g, units)}, {NO_SOURCE}"
    return [
        ("salt", f"{show_weight(plan.salt_g, units)} ({share(cure.salt_pct)} {of})"),
        ("sugar", f"{show_weight(plan.sugar_g, units)} ({share(cure.sugar_pct)} {of})"),
    ]


def sawdust_words(plan: Plan, question: Question) -> list[tuple[str, str]]:
    """The tray's filling, and how long it burns."""
    if plan.sawdust_g is None:
        return []
    tray = question.site.tray
    fronts, rate = tray.fronts, tray_rate(tray.g_per_h)
    burn, smoke_h = burn_time(plan.sawdust_g, fronts, rate), _smoke_h(plan)
    practice, usual = (NO_SOURCE, "our estimate") if tray.g_per_h is None else OWN_SMOKES
    text = (
        f"{show_weight(plan.sawdust_g, question.site.units)} dry; with {plural(fronts, 'front')} it burns for"
        f" {show_duration(burn.shortest_h)} to {show_duration(burn.longest_h)} ({practice}), usually"
        f" {show_duration(round(burn.usual_h))} ({usual}); {_lasting(plan.sawdust_g, fronts, smoke_h, rate)}"
    )
    return [("sawdust", text)]


def _smoke_h(plan: Plan) -> float:
    """Hours from lighting to lift, as planned."""
    at = {planned.step.name: planned.at for planned in plan.steps}
    light, lift = at.get(ANCHOR), at.get(LIFT)
    return plan.night.duration_h if light is None or lift is None else (lift - light).total_seconds() / 3600.0


def _lasting(fill_g: float, fronts: int, smoke_h: float, rate: Rate) -> str:
    """Whether it smoulders as long as the food hangs, to the minute."""
    smoke = show_duration(smoke_h)
    return {
        "yes": f"that lasts the {smoke} of smoke even if it burns fast",
        "perhaps": f"the full tray may be out before the {smoke} of smoke are over",
        "no": f"the full tray is out before the {smoke} of smoke are over, however slowly it burns",
    }[lasts(fill_g, fronts, smoke_h - 1.0 / 60.0, rate)]
