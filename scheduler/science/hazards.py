"""The usual cautions: short, at their step, with where each comes from.

None of them clears anything: they defer to local rules and licensed practice.
"""

from __future__ import annotations

from dataclasses import dataclass

OUT_OF_FRIDGE_LIMIT_H = 2.0
"""US consumer advice: perishable food out of the fridge for more than two hours is discarded."""


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution, as a person reads it, and who says so."""

    text: str
    source: str


CAUTIONS: dict[str, Caution] = {
    "parasites": Caution(
        "Fish eaten without cooking must have been frozen against parasites first: 7 days at a measured −20 °C (−4 °F)"
        " or colder, or 14 days at −18 °C (0 °F). This version tells you so; it has not checked it.",
        "FDA Food Code 3-402.11; University of Alaska Fairbanks Extension, Smoking Fish at Home (second hand)",
    ),
    "fridge": Caution(
        "Keep the fridge at or under 4.4 °C (40 °F), and measure it: many home fridges are warmer than they say.",
        "FDA consumer advice; Pouillot 2007 for measured fridges",
    ),
    "two_hours_out": Caution(
        "Out of the fridge for 2 hours at most in all, counting every handling before the smoke.",
        "US consumer food advice, the two-hour rule",
    ),
    "open_vacuum_packs": Caution(
        "Open vacuum packs before thawing, and never keep fish chilled in a sealed pack afterwards:"
        " without air, botulism can start at fridge temperatures.",
        "consumer advice on vacuum-packed frozen fish; CFIA, Smoked Fish: Storage Conditions",
    ),
    "vacuum_frozen": Caution(
        "In the fridge, wrap it so that air gets to it. Vacuum-packed means frozen.",
        "CFIA, Smoked Fish: Storage Conditions",
    ),
    "people_at_risk": Caution(
        "Not for people who are pregnant, 65 or older, or have weakened immunity, unless cooked to 74 °C (165 °F).",
        "US CDC and FDA advice on Listeria and refrigerated smoked seafood",
    ),
    "dogs": Caution(
        "Keep raw and cold-smoked salmon and trout, and what is trimmed off, away from dogs: it can kill them.",
        "California Department of Fish and Wildlife, salmon poisoning in dogs",
    ),
    "outdoors": Caution(
        "Outdoors only, on bare ground or stone, at least 3 m (10 ft) from buildings, decks and anything that burns;"
        " your local rules may ask for more.",
        "US fire departments' advice",
    ),
    "carbon_monoxide": Caution(
        "Smouldering gives off carbon monoxide: never in a house, garage, shed, tent or vehicle, aired or not.",
        "US Consumer Product Safety Commission",
    ),
    "unattended": Caution(
        "Leaving it to smoulder while you sleep is common practice, without a source; many local rules forbid"
        " unattended fires, and yours decide.",
        "common practice, no source",
    ),
    "burn_bans": Caution(
        "Burn bans and air-quality alerts are not known to this tool: look them up on the day, and hold the slot if"
        " one is in force.",
        "rules differ from place to place; agency notices",
    ),
    "no_lighter_fluid": Caution(
        "No lighter fluid: light it with a gas torch or a dry firelighter, and let that burn off before loading.",
        "common practice, no source",
    ),
    "ash": Caution(
        "Embers have been seen in ash after four days. Wet it, metal can, tight lid, outdoors, 3 m (10 ft) from"
        " buildings; it also gives off carbon monoxide.",
        "US fire departments' advice",
    ),
}

KNOWN = frozenset(CAUTIONS)
"""Keys that a process may name."""

DEFERS = (
    "These are the usual cautions, not a clearance. Local codes, and the advice of licensed food and fire"
    " professionals, come first."
)


def caution_text(key: str) -> str:
    """The sentence for a key; KeyError for one that is not known."""
    return CAUTIONS[key].text
