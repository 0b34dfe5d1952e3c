"""Quantities as people write and read them.

What is read becomes SI (with °C, g, h, l and mm/h, as the names say); what is shown takes the household's
units.  Every parser raises BadSetting with one line: what was given, and what would do.  Its `what` names the
setting in a message about a mix-up ("the tray's filling").  What is shown must be a finite number.
"""

from __future__ import annotations

from scheduler.errors import BadSetting
from scheduler.household.quantity import (
    DIFFERENCE,
    DURATION,
    FAHRENHEIT,
    INCH_MM,
    LENGTH,
    MILE_M,
    OUNCE,
    RAIN,
    SHARE,
    SPEED,
    TEMPERATURE,
    THICKNESS,
    VOLUME,
    WEIGHT,
    fixed,
    read_quantity,
    short,
    shown,
)
from scheduler.household.quantity import Units as Units


def celsius_from_fahrenheit(f: float) -> float:
    """t/°C = (t/°F - 32) / 1.8: NIST Special Publication 811, appendix B.8.

    >>> celsius_from_fahrenheit(212.0)
    100.0
    """
    return FAHRENHEIT.to_si(f)


def fahrenheit_from_celsius(c: float) -> float:
    """The inverse of `celsius_from_fahrenheit`."""
    return FAHRENHEIT.from_si(c)


def parse_temperature_c(given: object, what: str = "this") -> float:
    """Temperature [°C] from "60 F", "15.5 °C" or "15,5 C"; a bare number is refused, as it may be either."""
    return read_quantity(given, TEMPERATURE, what)


def parse_difference_k(given: object, what: str = "this") -> float:
    """Temperature difference [K], not below zero, from "4 C" or "7 F": no offset between the scales."""
    return read_quantity(given, DIFFERENCE, what)


def parse_weight_g(given: object, what: str = "this") -> float:
    """Weight [g] from "1.3 kg", "450 g", "3 lb", "12 oz" or "1 lb 4 oz"."""
    return read_quantity(given, WEIGHT, what)


def parse_duration_h(given: object, what: str = "this") -> float:
    """Duration [h] from "12 h", "90 min", "2 d" or "1 h 30 min"."""
    return read_quantity(given, DURATION, what)


def parse_length_m(given: object, what: str = "this") -> float:
    """Length or height [m] from "213 m" or "700 ft"; it may be negative."""
    return read_quantity(given, LENGTH, what)


def parse_thickness_mm(given: object, what: str = "this") -> float:
    """Thickness [mm] from "25 mm", "2.5 cm" or "1 in"."""
    return read_quantity(given, THICKNESS, what)


def parse_speed_ms(given: object, what: str = "this") -> float:
    """Speed [m/s] from "8 m/s", "30 km/h", "20 mph" or "16 kn"."""
    return read_quantity(given, SPEED, what)


def parse_rain_mm_per_h(given: object, what: str = "this") -> float:
    """Rain rate [mm/h] from "0.2 mm/h" or "0.01 in/h"."""
    return read_quantity(given, RAIN, what)


def parse_volume_l(given: object, what: str = "this") -> float:
    """Volume [l] from "200 l", "0.2 m3" or "53 gal" (US gallons)."""
    return read_quantity(given, VOLUME, what)


def parse_share_pct(given: object, what: str = "this") -> float:
    """Share [%], 0 to 100, from "12 %"."""
    share = read_quantity(given, SHARE, what)
    if share > 100:
        raise BadSetting(f"{shown(given)} is more than the whole: write 0 % to 100 %")
    return share


def show_temperature(c: float, units: Units, digits: int = 1) -> str:
    """As "15.6 °C" or "60.0 °F"."""
    if units == "metric":
        return f"{fixed(c, digits)} °C"
    return f"{fixed(fahrenheit_from_celsius(c), digits)} °F"


def show_difference(c: float, units: Units) -> str:
    """A difference of `c` degrees Celsius, as "1.5 °C" or "2.7 °F": no offset between the scales."""
    return f"{fixed(c, 1)} °C" if units == "metric" else f"{fixed(c * FAHRENHEIT.over, 1)} °F"


def show_weight(g: float, units: Units) -> str:
    """As "450 g" or "1.3 kg"; "12.5 oz" or "2 lb 13.9 oz"."""
    if units == "us":
        pounds, tenths = divmod(round(abs(OUNCE.from_si(g)) * 10), 160)
        return _joined(g, (pounds, "lb"), (tenths / 10, "oz"))
    if abs(round(g)) >= 1000:
        return f"{short(g / 1000, 2)} kg"
    return f"{short(g, 1 if abs(g) < 10 else 0)} g"


def show_thickness(mm: float, units: Units) -> str:
    """As "25 mm" or "1.2 in"."""
    return f"{short(mm, 0)} mm" if units == "metric" else f"{fixed(mm / INCH_MM, 1)} in"


def show_speed(ms: float, units: Units) -> str:
    """As "8.0 m/s" or "18 mph"."""
    return f"{fixed(ms, 1)} m/s" if units == "metric" else f"{fixed(ms * 3600 / MILE_M, 0)} mph"


def show_rain(mm: float, units: Units) -> str:
    """As "0.2 mm" or "0.01 in"."""
    return f"{fixed(mm, 1)} mm" if units == "metric" else f"{fixed(mm / INCH_MM, 2)} in"


def show_rain_rate(mm_per_h: float, units: Units) -> str:
    """As "0.2 mm/h" or "0.01 in/h"."""
    return f"{show_rain(mm_per_h, units)}/h"


def show_duration(hours: float) -> str:
    """To the minute, as "14 h 30 min", "12 h" or "45 min"."""
    whole, minutes = divmod(round(abs(hours) * 60), 60)
    return _joined(hours, (whole, "h"), (minutes, "min"))


def _joined(value: float, large: tuple[float, str], small: tuple[float, str]) -> str:
    """Both parts, or the one that is not zero; zero is written in the small unit."""
    parts = [f"{short(number, 1)} {unit}" for number, unit in (large, small) if number]
    sign = "-" if value < 0 and parts else ""
    return sign + (" ".join(parts) or f"0 {small[1]}")
