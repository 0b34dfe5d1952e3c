"""The cure by weight: salt and sugar to weigh out, the weight to expect, and the salt that must stay in the fish.

The balance assumes that only water leaves and only salt enters; sugar is left out.  What is spread on the fish is not
what stays in it, and no published share was found for a two-day dry cure: so the salt reached in the water of the fish
is never worked out from the recipe, it is unknown until measured.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from scheduler.science.hazards import NO_NITRITE as NO_NITRITE

WPS_LEAST_PCT = 3.5
"""Salt in the water phase of smoked fish, with refrigeration: read in the Torry research station's note x5902e (FAO)
and in a summary of the UK FSA's guidance on vacuum packing; below the 5 % at which type E botulism stops growing."""

THICKEST_MM = 25.0
"""About the inch that University of Alaska Fairbanks Extension, Smoking Fish at Home, gives (read second hand)."""

INCH_OVER_MM = 0.4
"""Until there, a piece of one inch is not over it."""

SALT_SLOW_M2_S, SALT_FAST_M2_S = 1e-11, 1e-10
"""Apparent diffusion of dry salt into fish fillets from the flesh side: J. Cookery Sci. Japan 25(4):283, 1992 (abstract
read).  Through the skin it is far slower, so a fillet on its skin takes salt from one side."""

WATER_G_PER_100_G: dict[str, float] = {
    "Atlantic salmon, farmed": 64.89,
    "king salmon, Alaska Native": 65.96,
    "Atlantic salmon, wild": 68.50,
    "coho salmon, farmed": 70.47,
    "chinook salmon": 71.64,
    "sockeye salmon": 72.54,
    "coho salmon, wild": 72.66,
    "pink salmon": 75.52,
}
"""Raw fish, USDA National Nutrient Database SR28 (values read in a public copy of its tables)."""

WETTEST = max(WATER_G_PER_100_G, key=WATER_G_PER_100_G.__getitem__)
"""The cautious row for a fish that is not listed, trout among them: more water asks for more salt."""


OTHER_NAMES = {"king": "chinook"}
"""One fish by two names (from memory), so that the wetter of its rows is found by either."""

PUBLISHED_LOSS_PCT = (16.0, 18.0)
"""Salting and smoking together, medium cure: Torry Research Station (FAO x5886e), Smoked salmon (read second hand)."""


@dataclass(frozen=True, slots=True)
class Water:
    """Water of a raw fish, and how it was found."""

    row: str
    pct: float
    matches: int
    """Rows that the fish's name may mean, the wettest of which this is; 0 where none, and it is the wettest of all."""


def water_of(food: str) -> Water:
    """The wettest row that bears every word of the food's name; more water asks for more salt."""
    wanted = re.findall("[a-z]+", food.lower())
    rows = [row for row in WATER_G_PER_100_G if wanted and all(_bears(row, word) for word in wanted)]
    row = max(rows, key=WATER_G_PER_100_G.__getitem__) if rows else WETTEST
    return Water(row, WATER_G_PER_100_G[row], len(rows))


def _bears(row: str, word: str) -> bool:
    words = re.findall("[a-z]+", row.lower())
    return word in words or OTHER_NAMES.get(word) in words


@dataclass(frozen=True, slots=True)
class WeighOut:
    """What to put on the scales, in grams."""

    salt_g: float
    sugar_g: float
    expected_g: float
    """The fish after the cure."""


def weigh_out(raw_g: float, salt_pct: float, sugar_pct: float, loss_pct: float) -> WeighOut:
    """Salt and sugar by the weight of the fish [g], and its weight after the usual loss; by weight only."""
    if raw_g <= 0:
        raise ValueError(f"a weight of {raw_g} g cannot be cured")
    return WeighOut(raw_g * salt_pct / 100.0, raw_g * sugar_pct / 100.0, raw_g * (1.0 - loss_pct / 100.0))


def net_loss(raw_g: float, cured_g: float) -> float:
    """Share of its weight that the fish has lost; ValueError for weights that are none, or that grew."""
    if not 0.0 < cured_g <= raw_g:
        raise ValueError(f"a fish of {raw_g:g} g before the cure cannot weigh {cured_g:g} g after it")
    return (raw_g - cured_g) / raw_g


def water_phase_salt(salt_pct: float, moisture_pct: float) -> float:
    """Salt in the water phase [%] of a fish with so much salt and moisture [% of its weight], by definition."""
    if salt_pct < 0 or moisture_pct < 0 or salt_pct + moisture_pct <= 0:
        raise ValueError(f"{salt_pct} % salt and {moisture_pct} % moisture have no water phase")
    return 100.0 * salt_pct / (salt_pct + moisture_pct)


def salt_pct_for(wps_pct: float, moisture_pct: float) -> float:
    """Salt [% of the weight] at which a fish with so much moisture [%] has this salt in its water phase [%]."""
    _check_wps(wps_pct)
    return wps_pct * moisture_pct / (100.0 - wps_pct)


def _check_wps(wps_pct: float) -> None:
    if not 0.0 <= wps_pct < 100.0:
        raise ValueError(f"{wps_pct} % is no share of salt in water")


def _water_phase_g(raw_g: float, moisture: float, loss: float) -> float:
    """Salt and water together in the finished fish [g]: all that the raw one has of water, less what it has lost."""
    if not 0.0 < moisture < 1.0:
        raise ValueError(f"a moisture of {moisture} is not a share between 0 and 1")
    if loss < 0.0 or raw_g <= 0.0:
        raise ValueError(f"a fish of {raw_g} g cannot lose a share of {loss}")
    if loss >= moisture:
        raise ValueError(
            f"a loss of {100 * loss:.1f} % is more than the fish has water ({100 * moisture:.1f} %):"
            " weigh it again, before and after"
        )
    return raw_g * (moisture - loss)


def salt_to_retain(raw_g: float, moisture: float, loss: float, wps_pct: float = WPS_LEAST_PCT) -> float:
    """Salt [g] that must stay in the fish for this salt in its water phase [%], by the closed balance.

    moisture: of the raw fish, and loss: net, both as shares of its raw weight [g].  ValueError where the loss is not
    less than the moisture.
    """
    _check_wps(wps_pct)
    return wps_pct / 100.0 * _water_phase_g(raw_g, moisture, loss)


@dataclass(frozen=True, slots=True)
class Finished:
    """A finished fish, in per cent of its weight; its water phase in per cent of that."""

    wps_pct: float
    salt_pct: float
    moisture_pct: float


def finished(raw_g: float, moisture: float, loss: float, salt_g: float) -> Finished:
    """What a fish is like that has retained so much salt [g]; the rest as for `salt_to_retain`."""
    phase_g = _water_phase_g(raw_g, moisture, loss)
    if not 0.0 <= salt_g <= phase_g:
        raise ValueError(f"{salt_g} g of salt do not fit into {phase_g:.0f} g of salt and water")
    weight_g = raw_g * (1.0 - loss)
    return Finished(100.0 * salt_g / phase_g, 100.0 * salt_g / weight_g, 100.0 * (phase_g - salt_g) / weight_g)


SERIES_TERMS = np.arange(60)
SHORTEST_SERIES = 0.005
"""Fourier number under which the series needs more terms, and the half-infinite solid serves as well."""


@dataclass(frozen=True, slots=True)
class Uptake:
    """How far salt has come, as a share of the balance with its surroundings."""

    mean: float
    far_side: float
    """At the skin, where it comes last."""


def plane_sheet_uptake(fourier: float) -> Uptake:
    """Uptake of a sheet open on one side after a Fourier number D t / L².

    Source: Crank (1975), The Mathematics of Diffusion, plane sheet, pages 47 and 48 (equations read in another
    library's documentation, with worked figures).
    """
    if fourier < 0:
        raise ValueError(f"a Fourier number of {fourier} lies before the start")
    if fourier < SHORTEST_SERIES:
        return Uptake(2.0 * float(np.sqrt(fourier / np.pi)), 0.0)
    odd = 2.0 * SERIES_TERMS + 1.0
    decay = np.exp(-(odd**2) * np.pi**2 / 4.0 * fourier)
    mean = 1.0 - 8.0 / np.pi**2 * np.sum(decay / odd**2)
    far = 1.0 - 4.0 / np.pi * np.sum((-1.0) ** SERIES_TERMS / odd * decay)
    return Uptake(float(mean), max(float(far), 0.0))


def salt_uptake(hours: float, thickness_mm: float, diffusion_m2_s: float) -> Uptake:
    """Uptake of a fillet on its skin: why a thick side is not equal all through after two days."""
    if thickness_mm <= 0 or diffusion_m2_s <= 0:
        raise ValueError(f"{thickness_mm} mm and {diffusion_m2_s} m²/s let no salt through")
    return plane_sheet_uptake(diffusion_m2_s * hours * 3600.0 / (thickness_mm / 1000.0) ** 2)


def thickness_warning(thickness_mm: float, hours: float) -> str | None:
    """What to say of a piece too thick for its cure; None for one that is not."""
    if thickness_mm <= THICKEST_MM + INCH_OVER_MM:
        return None
    far = salt_uptake(hours, thickness_mm, SALT_FAST_M2_S).far_side
    return (
        f"{thickness_mm:g} mm is thick: after {hours:g} h even quick salt has brought the skin side to"
        f" {100 * far:.0f} % of the flesh side's; cut pieces of {THICKEST_MM:g} mm or less"
    )
