"""The columns a weather table may have: their names, their units, and what no weather can be."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from providers.forecast import PERCENTILES, PERIODS, REQUIRED

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy as np

    Values = np.ndarray[tuple[int, ...], np.dtype[np.float64]]
    Conversion = Callable[[Values], Values]

TIME = "time"
MEMBER = re.compile(r"air_([cfk])_(\d{1,3})", re.ASCII)

ORDER = tuple(dict.fromkeys((*REQUIRED, *PERIODS, *PERCENTILES)))
"""The columns of a forecast, in the order in which tables are written and read."""

# exact by definition: NIST SP 811 (2008), appendix B.8: mile per hour, knot, inch, degree Fahrenheit, kelvin
MS_PER_MPH = 0.44704
KM_PER_NAUTICAL_MILE = 1.852
MM_PER_IN = 25.4
KELVIN_AT_0_C = 273.15


def same(values: Values) -> Values:
    """Values that are in our unit already."""
    return values


TEMPERATURE: dict[str, Conversion] = {
    "c": same,
    "f": lambda values: (values - 32.0) / 1.8,
    "k": lambda values: values - KELVIN_AT_0_C,
}
SPEED: dict[str, Conversion] = {
    "ms": same,
    "mph": lambda values: values * MS_PER_MPH,
    "kmh": lambda values: values / 3.6,
    "kn": lambda values: values * KM_PER_NAUTICAL_MILE / 3.6,
}
OTHERS: dict[str, tuple[str, Conversion]] = {
    "humidity_pct": ("humidity_pct", same),
    "rain_mm": ("rain_mm", same),
    "rain_in": ("rain_mm", lambda values: values * MM_PER_IN),
    "rain_chance": ("rain_chance", same),
    "rain_chance_pct": ("rain_chance", lambda values: values / 100.0),
    "sun_wm2": ("sun_wm2", same),
    "cloud_pct": ("cloud_pct", same),
}


def _known() -> dict[str, tuple[str, Conversion]]:
    """Every name a column may have -> our name and the way to our unit."""
    known = {}
    for ours in ORDER:
        stem, _, unit = ours.rpartition("_")
        family = TEMPERATURE if unit == "c" else SPEED if unit == "ms" else {}
        known.update({f"{stem}_{theirs}": (ours, conversion) for theirs, conversion in family.items()})
    return known | OTHERS


KNOWN = _known()


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table as its header names it."""

    name: str
    """As given."""
    quantity: str
    """Our name, in our unit; members are ``air_c_01`` and so on."""
    convert: Conversion
    member: bool = False

    @property
    def bounds(self) -> Bounds:
        """What its values may be, in our unit."""
        return BOUNDS.get(self.quantity, AIR)


def column_named(name: str) -> Column | None:
    """The column that a header cell names; None where it names none of ours."""
    match = MEMBER.fullmatch(name)
    if match is not None:
        return Column(name, f"air_c_{int(match[2]):02d}", TEMPERATURE[match[1]], member=True)
    if name not in KNOWN:
        return None
    return Column(name, *KNOWN[name])


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a quantity can be in nature, with room to spare; outside, the table is wrong."""

    least: float
    most: float
    unit: str
    clip: tuple[float, float] | None = None
    """Instruments err a little beyond the possible; such values are brought back to it."""

    def __str__(self) -> str:
        """What is possible, in words."""
        least, most = self.clip or (self.least, self.most)
        return f"{least:g} to {most:g} {self.unit}".rstrip()


AIR = Bounds(-90.0, 60.0, "°C")
LIKELY_AIR = Bounds(-60.0, 55.0, "°C")
"""Where nearly all air is: what a guess at another unit must come to, lest -99.9 be taken for Fahrenheit."""

WIND = Bounds(0.0, 150.0, "m/s")
BOUNDS = {
    "humidity_pct": Bounds(0.0, 100.5, "%", clip=(0.0, 100.0)),
    "rain_mm": Bounds(0.0, 2000.0, "mm"),
    "rain_chance": Bounds(0.0, 1.0, ""),
    "wind_ms": WIND,
    "gust_ms": WIND,
    "sun_wm2": Bounds(-5.0, 1500.0, "W/m²", clip=(0.0, 1500.0)),
    "cloud_pct": Bounds(0.0, 100.0, "%"),
}


def other_unit(column: Column, given: Values) -> str | None:
    """The name the column should have if its values are in another unit, in which all of them can be."""
    family = "air_c" if column.member else column.quantity
    number = column.quantity.removeprefix(family)
    bounds = LIKELY_AIR if column.bounds is AIR else column.bounds
    for name, (quantity, convert) in KNOWN.items():
        if quantity != family or convert is column.convert:
            continue
        if not outside(convert(given), bounds).any():
            return name + number
    return None


def outside(values: Values, bounds: Bounds) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Where a value cannot be; what is unknown (NaN) can."""
    return (values < bounds.least) | (values > bounds.most)
