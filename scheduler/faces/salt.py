"""`salt`: what to weigh out for a cure, the weight to expect after it, and what the real weight tells."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.errors import BadSetting
from scheduler.faces import asking, options
from scheduler.faces.printing import colour, dump, say, width

if TYPE_CHECKING:
    from collections.abc import Callable

    from scheduler.household.process import Cure, Process
    from scheduler.household.units import Units
    from scheduler.science.cure import Water

Text = str | None

MOST_WPS_PCT = 27.0
"""Water at room temperature holds no more salt: 26.4 %, from memory."""


@dataclass(frozen=True, slots=True)
class Cured:
    """What was asked of one cure; None for what was not said."""

    food: str
    process: Process
    cure: Cure
    """The process's, with the shares that were asked for."""
    units: Units
    raw_g: float
    water: Water
    after_g: float | None
    """The real weight after the cure."""
    loss: float | None
    """The real loss, as a share of the raw weight, less than the fish has water."""
    measured_wps_pct: float | None
    thickness_mm: float | None
    hours: float | None
    """How long it lies in salt."""


def salt(
    weight: Annotated[str, typer.Argument(metavar="WEIGHT", help='Weight of the fish, such as "1000g" or "2.2 lb".')],
    food: Annotated[
        Text, typer.Option("--food", help='salmon (default), trout, one such as "sockeye salmon", or your process\'s.')
    ] = None,
    process: options.ProcessFile = None,
    salt_share: Annotated[Text, typer.Option("--salt", help='Salt, such as "10 %"; else as the process says.')] = None,
    sugar_share: Annotated[Text, typer.Option("--sugar", help='Sugar, such as "5 %"; else likewise.')] = None,
    after: Annotated[Text, typer.Option("--after", help='What it weighs after the cure, such as "850 g".')] = None,
    measured_wps: Annotated[
        Text, typer.Option("--measured-wps", help="Salt in its water phase as measured, such as 3.8 (per cent).")
    ] = None,
    thickness: Annotated[Text, typer.Option("--thickness", help='Of the thickest piece, such as "30 mm".')] = None,
    as_json: options.Json = False,
) -> None:
    """What to weigh out for a cure, and what the real weight tells.

    For example: smokenight salt "1000 g" --after "850 g"
    """
    from scheduler.faces.salt_report import salt_json, salt_report

    flags = asking.Flags(None, False, None, None, process)
    cured = cure_of(flags, weight, food, (salt_share, sugar_share), after, measured_wps, thickness)
    say(dump(salt_json(cured)) if as_json else salt_report(cured, width(), colour=colour()))


def cure_of(
    flags: asking.Flags,
    weight: str,
    food: Text,
    shares: tuple[Text, Text],
    after: Text,
    measured_wps: Text,
    thickness: Text,
) -> Cured:
    """The cure that was asked about; BadSetting, naming the flag, for what cannot be."""
    from scheduler.household.foods import a_food
    from scheduler.household.units import parse_thickness_mm, parse_weight_g
    from scheduler.science.cure import water_of

    process = asking.process_of(flags, food)
    named = asking.usual_food(process) if food is None else a_food(food)
    raw_g = _read("WEIGHT", partial(_above_zero, parse_weight_g, "the weight"), weight)
    water, after_g = water_of(named), _read_if("--after", partial(_above_zero, parse_weight_g, "the weight"), after)
    return Cured(
        food=named,
        process=process,
        cure=_cure(process, named, *shares),
        units="us" if any(unit in weight.lower() for unit in ("lb", "pound", "oz", "ounce")) else "metric",
        raw_g=raw_g,
        water=water,
        after_g=after_g,
        loss=None if after_g is None else _loss(raw_g, after_g, water),
        measured_wps_pct=_read_if("--measured-wps", _wps_pct, measured_wps),
        thickness_mm=_read_if("--thickness", partial(_above_zero, parse_thickness_mm, "the thickness"), thickness),
        hours=_hours(process, needed=thickness is not None),
    )


def _cure(process: Process, food: str, salt_share: Text, sugar_share: Text) -> Cure:
    """The process's cure, with the shares that were asked for in place of its own."""
    from scheduler.household.process import Cure
    from scheduler.household.units import parse_share_pct

    usual = process.cure
    if usual is None:
        raise BadSetting(f"the process {process.name!r} has no cure: there is nothing to weigh out for {food}")
    salt_pct = _read_if("--salt", partial(parse_share_pct, what="the salt"), salt_share)
    sugar_pct = _read_if("--sugar", partial(parse_share_pct, what="the sugar"), sugar_share)
    return Cure(
        usual.salt_pct if salt_pct is None else salt_pct,
        usual.sugar_pct if sugar_pct is None else sugar_pct,
        usual.loss_pct,
    )


def _hours(process: Process, *, needed: bool) -> float | None:
    """Usual time in salt; BadSetting where it is needed and the process does not say."""
    from scheduler.household.process import SALT

    wait = next((step.wait for step in process.steps if step.name == SALT), None)
    if wait is None and needed:
        raise BadSetting(f"--thickness: the process {process.name!r} has no step {SALT!r} whose hours count")
    return None if wait is None else wait.usual_h


def _loss(raw_g: float, after_g: float, water: Water) -> float:
    """The share of its weight that the fish has lost; BadSetting for one that cannot be."""
    from scheduler.science.cure import net_loss, salt_to_retain

    try:
        loss = net_loss(raw_g, after_g)
        salt_to_retain(raw_g, water.pct / 100.0, loss)
    except ValueError as exc:
        raise BadSetting(f"--after: {exc}") from exc
    return loss


def _read(flag: str, parse: Callable[[str], float], given: str) -> float:
    try:
        return parse(given)
    except BadSetting as exc:
        raise BadSetting(f"{flag}: {exc}") from exc


def _read_if(flag: str, parse: Callable[[str], float], given: Text) -> float | None:
    return None if given is None else _read(flag, parse, given)


def _above_zero(parse: Callable[..., float], what: str, given: str) -> float:
    value = parse(given, what)
    if value <= 0:
        raise BadSetting(f"{given!r} is nothing: write one above zero")
    return value


def _wps_pct(given: str) -> float:
    """Per cent, with its sign or without."""
    from scheduler.household.units import parse_share_pct

    share = parse_share_pct(given if "%" in given else f"{given} %", "the salt in the water phase")
    if share > MOST_WPS_PCT:
        raise BadSetting(f"{given!r} is more salt than water holds: such as 3.8 (per cent of salt and water together)")
    return share
