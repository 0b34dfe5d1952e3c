"""Kinds of quantity, the units each may be written in, and the reading of a number with its unit.

Factors are exact by definition: pound and foot by the international yard and pound agreement of 1959, the
gallon as 231 cubic inches, the knot as one nautical mile an hour; NIST Special Publication 811, appendix B.8,
lists them.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from scheduler.errors import BadSetting

if TYPE_CHECKING:
    from collections.abc import Mapping

Units = Literal["metric", "us"]
"""What a household reads: °C, kg and m/s, or °F, lb and mph."""

LB_G = 453.59237
FT_M = 0.3048
MILE_M = 1609.344
NAUTICAL_MILE_M = 1852.0
INCH_MM = 25.4
GALLON_L = 3.785411784
ABSOLUTE_ZERO_C = -273.15

LONGEST_SHOWN = 60
"""Characters of a refused value that a message repeats."""


@dataclass(frozen=True, slots=True)
class Scale:
    """A unit, as the straight line that leads to SI."""

    times: float = 1.0
    over: float = 1.0
    zero: float = 0.0

    def to_si(self, number: float) -> float:
        """What `number` of this unit is in SI."""
        return (number - self.zero) * self.times / self.over

    def from_si(self, si: float) -> float:
        """How many of this unit `si` is."""
        return si * self.over / self.times + self.zero


FAHRENHEIT = Scale(over=1.8, zero=32.0)  # t/°C = (t/°F - 32) / 1.8
OUNCE = Scale(LB_G, over=16.0)


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of quantity."""

    noun: str
    examples: tuple[str, ...]
    units: Mapping[str, Scale]
    """By every accepted spelling, in lower case."""
    symbols: tuple[str, ...]
    """What we write ourselves: SI first, then units in use in the United States."""
    in_parts: bool = False
    """Whether "1 lb 4 oz" is one quantity."""
    lowest: float = 0.0

    @property
    def such_as(self) -> str:
        """What a message proposes."""
        return f"such as {' or '.join(repr(example) for example in self.examples)}"


def _spelled(*groups: tuple[str, Scale]) -> dict[str, Scale]:
    return {word: scale for words, scale in groups for word in words.split()}


TEMPERATURE = Kind(
    "temperature",
    ("60 F", "15.5 C"),
    _spelled(("c °c ℃ celsius", Scale()), ("f °f ℉ fahrenheit", FAHRENHEIT)),
    ("C", "F"),
    lowest=ABSOLUTE_ZERO_C,
)
DIFFERENCE = Kind(
    "temperature difference",
    ("4 C", "7 F"),
    _spelled(("c °c ℃ k kelvin celsius", Scale()), ("f °f ℉ fahrenheit", Scale(over=1.8))),
    ("C", "F"),
)
WEIGHT = Kind(
    "weight",
    ("450 g", "1 lb 4 oz"),
    _spelled(
        ("g gram grams", Scale()),
        ("kg", Scale(1000.0)),
        ("lb lbs pound pounds", Scale(LB_G)),
        ("oz ounce ounces", OUNCE),
    ),
    ("g", "oz", "lb"),
    in_parts=True,
)
DURATION = Kind(
    "duration",
    ("12 h", "1 h 30 min"),
    _spelled(("h hour hours", Scale()), ("min minute minutes", Scale(over=60.0)), ("d day days", Scale(24.0))),
    ("h",),
    in_parts=True,
)
LENGTH = Kind(
    "length",
    ("213 m", "700 ft"),
    _spelled(("m metre metres meter meters", Scale()), ("ft foot feet", Scale(FT_M))),
    ("m", "ft"),
    lowest=-math.inf,
)
THICKNESS = Kind(
    "thickness",
    ("25 mm", "1 in"),
    _spelled(("mm", Scale()), ("cm", Scale(10.0)), ("in inch inches", Scale(INCH_MM))),
    ("mm", "in"),
)
SPEED = Kind(
    "speed",
    ("8 m/s", "20 mph"),
    _spelled(
        ("m/s", Scale()),
        ("km/h kmh kph", Scale(1000.0, over=3600.0)),
        ("mph", Scale(MILE_M, over=3600.0)),
        ("kn kt knot knots", Scale(NAUTICAL_MILE_M, over=3600.0)),
    ),
    ("m/s", "mph"),
)
RAIN = Kind(
    "rain rate",
    ("0.2 mm/h", "0.01 in/h"),
    _spelled(("mm/h", Scale()), ("in/h", Scale(INCH_MM))),
    ("mm/h", "in/h"),
)
VOLUME = Kind(
    "volume",
    ("200 l", "53 gal"),
    _spelled(
        ("l litre litres liter liters", Scale()),
        ("m3 m³", Scale(1000.0)),
        ("gal gallon gallons", Scale(GALLON_L)),
    ),
    ("l", "gal"),
)
SHARE = Kind("share", ("12 %",), _spelled(("%", Scale())), ("%",))

KINDS = (TEMPERATURE, WEIGHT, DURATION, LENGTH, SPEED, RAIN, VOLUME, SHARE)

_NUMBER = r"[+-]?(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?"
_PART = re.compile(rf"\s*({_NUMBER})\s*(m3|[^\s0-9.,+-]+)?\s*")
_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}")
"""A comma with three digits after it may part thousands or decimals."""


def shown(given: object) -> str:
    """What was given, for a message: on one line, and no longer than a line holds."""
    if isinstance(given, bool):
        return str(given).lower()
    try:
        text = repr(given) if isinstance(given, (str, list, dict)) else str(given)
    except ValueError:  # an integer of thousands of digits
        return "a number without end"
    return text if len(text) <= LONGEST_SHOWN else f"{text[: LONGEST_SHOWN - 1]}…"


def read_quantity(given: object, kind: Kind, what: str) -> float:
    """The quantity in SI; BadSetting, with `what` as the setting's name in a mix-up, for anything else."""
    if not isinstance(given, str):
        raise BadSetting(_not_text(given, kind))
    parts = _parts(given, kind)
    scales = [_scale(given, unit, kind, what) for _, unit in parts]
    if len(parts) > 1:
        _check_parts(given, kind, parts, scales)
    si = sum(scale.to_si(_number(given, number)) for (number, _), scale in zip(parts, scales, strict=True))
    if not math.isfinite(si):
        raise BadSetting(f"{shown(given)} is beyond all measure: write a {kind.noun} {kind.such_as}")
    if si < kind.lowest:
        raise BadSetting(_too_low(given, kind))
    return si


def exact_text(si: float, kind: Kind, units: Units) -> str:
    """Text that reads back to exactly `si`: in a customary unit where a short number does it, else in SI.

    Raises BadSetting for what no text of that kind can say (a negative weight, not a number).
    """
    for symbol in kind.symbols if units == "metric" else reversed(kind.symbols):
        text = f"{short(kind.units[symbol.lower()].from_si(si), 2)} {symbol}"
        if read_quantity(text, kind, "this") == si:
            return text
    return f"{si!r} {kind.symbols[0]}"


def fixed(value: float, digits: int) -> str:
    """The number with so many decimals, and no minus before a zero."""
    text = f"{value:.{digits}f}"
    return text.removeprefix("-") if float(text) == 0 else text


def short(value: float, digits: int) -> str:
    """The number with at most so many decimals."""
    text = fixed(value, digits)
    return text.rstrip("0").rstrip(".") if "." in text else text


def _parts(given: str, kind: Kind) -> list[tuple[str, str]]:
    """Numbers and their units, in the order they stand."""
    text = given.replace("\u2212", "-").replace("° ", "°")  # a typographic minus; "15 ° C"
    parts = []
    at = 0
    while match := _PART.match(text, at):
        number, unit = match.groups()
        if unit is None:
            raise BadSetting(_no_unit(given, kind))
        parts.append((number, unit))
        at = match.end()
    if at < len(text) or not parts:
        raise BadSetting(f"{shown(given)} is not a {kind.noun}: write one {kind.such_as}")
    return parts


def _scale(given: str, unit: str, kind: Kind, what: str) -> Scale:
    word = unit.lower()
    if word in kind.units:
        return kind.units[word]
    if word in ("k", "°k", "kelvin") and kind is TEMPERATURE:
        raise BadSetting(f"{shown(given)} is in kelvin: write °F or °C, {kind.such_as}")
    for other in KINDS:
        if word in other.units:
            raise BadSetting(
                f"{shown(given)} is a {other.noun}, {what} wants a {kind.noun} such as {kind.examples[0]!r}"
            )
    raise BadSetting(f"{shown(given)} has an unknown unit {shown(unit)}: write a {kind.noun} {kind.such_as}")


def _check_parts(given: str, kind: Kind, parts: list[tuple[str, str]], scales: list[Scale]) -> None:
    sizes = [scale.to_si(1.0) for scale in scales]
    if not kind.in_parts or any(number[0] in "+-" for number, _ in parts[1:]):
        raise BadSetting(f"{shown(given)} is not one {kind.noun}: write one {kind.such_as}")
    if any(small >= large for large, small in pairwise(sizes)):
        raise BadSetting(
            f"{shown(given)} is not one {kind.noun}: write the larger unit first, each once, {kind.such_as}"
        )


def _number(given: str, number: str) -> float:
    if _THOUSANDS.fullmatch(number):
        one, other = number.replace(",", "."), number.replace(",", "")
        raise BadSetting(f"{shown(given)} may mean {one} or {other}: write it without the comma")
    return float(number.replace(",", "."))


def _no_unit(given: object, kind: Kind) -> str:
    lacks = "may be °F or °C" if kind is TEMPERATURE else "lacks a unit"
    return f"{shown(given)} {lacks}: write it with its unit, {kind.such_as}"


def _not_text(given: object, kind: Kind) -> str:
    if isinstance(given, (int, float)) and not isinstance(given, bool):
        return _no_unit(given, kind)
    return f"{shown(given)} is not a {kind.noun}: write one in quotes, {kind.such_as}"


def _too_low(given: str, kind: Kind) -> str:
    if kind is TEMPERATURE:
        return f"{shown(given)} is below absolute zero, {ABSOLUTE_ZERO_C} °C: write one {kind.such_as}"
    return f"{shown(given)} is below zero: write a {kind.noun} of 0 or more, {kind.such_as}"
