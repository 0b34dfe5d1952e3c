"""How far the air may be off the forecast at each moment: the band that a chart draws beside the line."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scheduler.planning.chance import Z90, error_sd_c
from scheduler.planning.clock import DAY_S
from scheduler.planning.spread import FEWEST_MEMBERS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scheduler.planning.limits import Weather

    Floats = NDArray[np.float64]


def band_of(weather: Weather, when: Floats) -> tuple[Floats, Floats]:
    """The 10th and the 90th percentile of the air [°C] at these instants (seconds since 1970 UTC), each of that shape.

    From the service's own percentiles where it gives them; else around the middle of an ensemble, as wide as its
    members or the verified error, whichever is wider; else around the one forecast.  NaN where the air is unknown.
    """
    air, half_c = weather.air.at(when)[:, 0], Z90 * error_sd_c((when - weather.issued) / DAY_S)
    low, high = air - half_c, air + half_c
    if weather.members is not None:
        members = weather.members.at(when)
        enough = (~np.isnan(members)).sum(axis=1) >= FEWEST_MEMBERS
        known = np.where(enough[:, None], members, 0.0)
        middle, wide_c = np.nanmean(known, axis=1), np.maximum(Z90 * np.nanstd(known, axis=1), half_c)
        low, high = np.where(enough, middle - wide_c, low), np.where(enough, middle + wide_c, high)
    if weather.percentiles is not None:
        p10, _, p90 = weather.percentiles.at(when).T
        low, high = np.where(np.isnan(p10), low, p10), np.where(np.isnan(p90), high, p90)
    return low, high
