"""How long the food is how warm: hours in each band of temperature, as information, never a clearance.

The bands' edges are those at which the FDA's summary for raw ready-to-eat fish changes, and the refrigerator's.  That
summary is for unsalted fish, while smoking relies on salt first.  The table behind it, with its limits by pathogen
(Appendix 4, Table A-2), could not be opened, so none of its rows is here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

COLD_F = 41.0  # FDA Food Code 3-501.16(A)(2), cold holding (read second hand)
COOL_F, WARM_F = 50.0, 70.0  # FDA Appendix 4, edition of March 2020, summary (read)
EDGES_F = (COLD_F, COOL_F, WARM_F)
EDGES_C = tuple((edge - 32.0) / 1.8 for edge in EDGES_F)


FLAT_C = 1e-9
"""Rise within a step below which it counts as level."""


@dataclass(frozen=True, slots=True)
class Published:
    """What a source prints beside these hours, and what it is worth here."""

    text: str
    source: str


BESIDE = Published(
    "For raw fish that is eaten uncooked: if it is ever above 70 °F (21.1 °C), time above 50 °F (10 °C) should be"
    " limited to 2 hours (3 if Staphylococcus aureus is the only concern); or to 4 hours, no more than 2 of them above"
    " 70 °F.",
    "FDA, Fish and Fishery Products Hazards and Controls Guidance, Appendix 4, March 2020, summary of Table A-2",
)
CAVEAT = (
    "This is for unsalted fish, in steps that are not to be interpolated; cold smoking relies on salt first. It is"
    " shown as information, not as a limit that was met."
)


@dataclass(frozen=True, slots=True)
class Exposure:
    """Hours in each band, coldest first; each band holds its upper edge."""

    cold_h: float
    """Up to 41 °F (5 °C)."""
    cool_h: float
    """To 50 °F (10 °C)."""
    mild_h: float
    """To 70 °F (21.1 °C)."""
    warm_h: float
    """Above."""
    unknown_h: float

    def __add__(self, other: Exposure) -> Exposure:
        """Hours of two stretches together."""
        return Exposure(
            self.cold_h + other.cold_h,
            self.cool_h + other.cool_h,
            self.mild_h + other.mild_h,
            self.warm_h + other.warm_h,
            self.unknown_h + other.unknown_h,
        )

    @property
    def above_cool_h(self) -> float:
        """Hours above 50 °F (10 °C)."""
        return self.mild_h + self.warm_h


def hours_at_or_under(hours: Floats, temp_c: Floats, edge_c: float) -> float:
    """Hours of a curve, straight between its points, at or under a temperature; unknown parts count for nothing."""
    low, high = np.minimum(temp_c[:-1], temp_c[1:]), np.maximum(temp_c[:-1], temp_c[1:])
    slanted = high - low > FLAT_C
    span = np.where(slanted, high - low, 1.0)
    # A NaN compares as false twice, so an unknown stretch gets no share.
    share = np.where(slanted, np.clip((edge_c - low) / span, 0.0, 1.0), (low <= edge_c).astype(float))
    return float(np.sum(np.diff(hours) * share))


def exposure(hours: Floats, temp_c: Floats) -> Exposure:
    """Hours in each band of a curve of food temperatures [°C] at these times [h], sorted; NaN where not known."""
    known = ~np.isnan(temp_c[:-1] + temp_c[1:])
    lengths = np.diff(hours)
    total = float(lengths[known].sum())
    cold, cool, mild = (hours_at_or_under(hours, temp_c, edge) for edge in EDGES_C)
    return Exposure(
        cold_h=cold,
        cool_h=max(cool - cold, 0.0),
        mild_h=max(mild - cool, 0.0),
        warm_h=max(total - mild, 0.0),
        unknown_h=float(lengths[~known].sum()),
    )
