"""A layer of wet sawdust spread in the weather: how its moisture falls, and when it is dry enough to smoulder.

Moisture is on a dry basis throughout: kg of water per kg of oven-dry wood; 0.18 is 15 % of the wet weight.

While the layer is wetter than its critical moisture the weather alone sets the pace; below it the pace falls with what
is left above the moisture that the air itself keeps in wood.  No published rate for sawdust in the open was found; the
model is a mass balance with parameters that are ours, each stated at `Layer`, and one of them, the share of the
reference evaporation that a layer gives off, was set to the practice of about four days in mild sun, not measured.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from scheduler.science.wood import equilibrium_moisture

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]
    Bools = NDArray[np.bool_]

UNTURNED, TURNED_TWICE, TURNED_HOURLY, THIN_AND_RAKED = 0.5, 0.6, 0.8, 1.0
"""Share of the reference evaporation that a layer gives off, by how it is turned: our estimate, see the module."""

SLOW_SHARE, QUICK_SHARE = UNTURNED, TURNED_HOURLY
"""The range that an answer is given with, about a day either way at four days."""

OUT_FROM_H, OUT_UNTIL_H = 9.0, 18.0
"""Hours of the day between which the layer lies in the open: common practice, no source."""

DAMPEST_PCT, COLDEST_C = 98.0, -10.0
"""Where the sorption equation is not trusted beyond: ours; the table behind it begins at −1 °C."""


@dataclass(frozen=True, slots=True)
class Layer:
    """A spread layer; every default can be replaced by a household's own figure."""

    dry_kg_m2: float = 2.5
    """Oven-dry wood per area, 14 mm loose.  Common practice, no source: a few kg/m²."""
    start: float = 1.8
    """After soaking and squeezing by hand: our estimate (1.2 to 2.6); more than 2 drips."""
    saturated: float = 3.0
    """All that a drained layer holds: our estimate (2 to 4), under the 4.35 of poplar sawdust in Whisenand (1918)."""
    critical: float = 0.8
    """Where drying starts to slow down, well above fibre saturation for an unmixed bed: our estimate (0.6 to 1)."""
    share: float = TURNED_TWICE
    """Share of the reference evaporation given off."""
    uptake_per_h: float = 0.03
    """Rate at which dry dust draws back to the air's moisture: our estimate (0.02 to 0.1), of little weight."""
    ready: float = 0.18
    """Dry enough to smoulder: our judgement; a teaching text for fish smoking (read) calls over 25 % damp."""

    def __post_init__(self) -> None:
        """Hold the order that the model needs; ValueError where it is broken."""
        if not 0.0 < self.ready < self.critical < self.saturated or self.critical <= 0.35:
            raise ValueError(
                f"moistures must rise from ready ({self.ready}) over critical ({self.critical}, above 0.35)"
                f" to saturated ({self.saturated})"
            )
        if min(self.dry_kg_m2, self.share) <= 0.0 or not 0.0 <= self.start <= self.saturated:
            raise ValueError(
                f"a layer of {self.dry_kg_m2} kg/m² at moisture {self.start}, giving off {self.share} of the"
                " evaporation, cannot dry"
            )


@dataclass(frozen=True, slots=True)
class Weather:
    """What reaches the layer in each step; arrays of shape (steps,) or (steps, sites), except where said."""

    step_h: Floats
    """Length of each step [h], shape (steps,)."""
    evaporation_mm: Floats
    """Reference evaporation in the step [mm]."""
    air_moisture: Floats
    """Moisture of wood in balance with the air."""
    rain_mm: Floats
    """Rain that falls on the layer in the step [mm]; 0 where a roof keeps it off."""
    out: Bools
    """Whether the layer lies in the open; else it is brought in or covered, and nothing changes."""


def air_moisture(temp_c: ArrayLike, humidity_pct: ArrayLike) -> Floats:
    """Moisture of sawdust in balance with this air [°C, %], taken as no colder and no damper than trusted."""
    temp, humidity = np.asarray(temp_c, dtype=float), np.asarray(humidity_pct, dtype=float)
    return equilibrium_moisture(np.maximum(temp, COLDEST_C), np.minimum(humidity, DAMPEST_PCT))


def out_by_day(hour_of_day: ArrayLike) -> Bools:
    """Whether a layer that is brought in for the night is out at these hours, 0 to 24."""
    hour = np.asarray(hour_of_day, dtype=float)
    return (hour >= OUT_FROM_H) & (hour < OUT_UNTIL_H)


def dried(moisture: Floats, air: Floats, evaporation_mm: Floats, hours: ArrayLike, layer: Layer) -> Floats:
    """Moisture after a step in the open without rain; exact, also where it passes the critical moisture."""
    gone = layer.share * np.maximum(evaporation_mm, 0.0) / layer.dry_kg_m2
    freely = np.minimum(gone, np.maximum(moisture - layer.critical, 0.0))
    left = moisture - freely
    slowing = air + (left - air) * np.exp(-(gone - freely) / (layer.critical - air))
    taking_up = air + (moisture - air) * np.exp(-layer.uptake_per_h * np.asarray(hours, dtype=float))
    return np.where(moisture > air, slowing, taking_up)


def moisture_curve(weather: Weather, layer: Layer) -> Floats:
    """Moisture before the first step and after each, shape (steps + 1, …); NaN once the weather is not known."""
    shape = np.broadcast(weather.evaporation_mm, weather.air_moisture, weather.rain_mm).shape
    evaporation, air = np.broadcast_to(weather.evaporation_mm, shape), np.broadcast_to(weather.air_moisture, shape)
    rain, out = np.broadcast_to(weather.rain_mm, shape), _along_steps(weather.out, shape)
    curve = np.empty((shape[0] + 1, *shape[1:]))
    curve[0] = layer.start
    for step in range(shape[0]):
        now = curve[step]
        after = dried(now, air[step], evaporation[step], weather.step_h[step], layer) + rain[step] / layer.dry_kg_m2
        curve[step + 1] = np.where(out[step], np.minimum(after, layer.saturated), now)
    return curve


def _along_steps(values: Bools, shape: tuple[int, ...]) -> Bools:
    """One value a step, for every site, where they are not already given by site."""
    missing = len(shape) - values.ndim
    return np.broadcast_to(values.reshape(values.shape + (1,) * missing), shape)


def hours_until_ready(curve: Floats, weather: Weather, layer: Layer) -> Floats:
    """Hours to the end of the step that first leaves it ready, shape (…): inf if none, NaN if unknown before one."""
    ready = curve[1:] <= layer.ready
    first = np.argmax(ready, axis=0)
    ends = np.cumsum(weather.step_h)
    unknown = np.isnan(curve[-1])
    return np.where(ready.any(axis=0), ends[first], np.where(unknown, np.nan, np.inf))


@dataclass(frozen=True, slots=True)
class Dry:
    """Ready, and after how long."""

    hours: float
    """From the start of the weather to the end of the step that leaves it ready."""


@dataclass(frozen=True, slots=True)
class NotInThisWeather:
    """The weather is known to its end and leaves the layer too wet."""

    moisture: float
    """What it has come down to by then."""
    air_allows: float
    """The driest that the air out there would ever leave it: above ready, more days do not help."""


@dataclass(frozen=True, slots=True)
class NotKnown:
    """The weather ends, or has a gap, before the layer is ready."""

    after_h: float
    """Hours that are known."""


Answer = Dry | NotInThisWeather | NotKnown


def answer(weather: Weather, layer: Layer) -> Answer:
    """When the layer of one site is ready; its weather of shape (steps,)."""
    curve = moisture_curve(weather, layer)
    hours = float(hours_until_ready(curve, weather, layer))
    if np.isfinite(hours):
        return Dry(hours)
    if np.isnan(hours):
        return NotKnown(float(weather.step_h[~np.isnan(curve[1:])].sum()))
    outside = weather.air_moisture[weather.out]
    return NotInThisWeather(float(curve[-1]), float(outside.min()) if len(outside) else float(curve[-1]))


@dataclass(frozen=True, slots=True)
class DayEnd:
    """Moisture at the end of one day: the usual figure and its range."""

    day: int
    """As numbered by the caller."""
    quick: float
    usual: float
    slow: float


@dataclass(frozen=True, slots=True)
class Outlook:
    """When one layer is ready if it gives off much, as it usually does, and little."""

    quick: Answer
    usual: Answer
    slow: Answer
    days: tuple[DayEnd, ...]


def outlook(weather: Weather, layer: Layer, day: NDArray[np.int64]) -> Outlook:
    """Answers and moisture by day for one site; day: the number of the day each step belongs to, shape (steps,).

    The range is that of `SLOW_SHARE` to `QUICK_SHARE`, widened where the layer's own share lies outside.
    """
    shares = (max(QUICK_SHARE, layer.share), layer.share, min(SLOW_SHARE, layer.share))
    layers = [replace(layer, share=share) for share in shares]
    ends = np.flatnonzero(np.diff(day, append=day[-1] + 1))
    curves = [moisture_curve(weather, each)[1:][ends].tolist() for each in layers]
    days = tuple(DayEnd(int(day[end]), *at) for end, *at in zip(ends, *curves, strict=True))
    quick, usual, slow = (answer(weather, each) for each in layers)
    return Outlook(quick, usual, slow, days)
