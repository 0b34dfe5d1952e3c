"""The usual cautions: short, at their step, with where each comes from.

None of them clears anything: they defer to local rules and licensed practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Topic = Literal["food", "people and animals", "fire"]
TOPICS: tuple[Topic, ...] = ("food", "people and animals", "fire")

OUT_OF_FRIDGE_LIMIT_H = 2.0
"""US consumer advice: perishable food out of the fridge for more than two hours is discarded."""


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution, as a person reads it, and who says so."""

    text: str
    source: str
    topic: Topic = "food"
    where: str = ""
    """Where it applies besides the steps that name it."""


NO_NITRITE = (
    "Nitrite is not worked out here: a slip of a gram is dangerous, and what the law allows is for licensed plants and"
    " a few kinds of fish (21 CFR 172.175)."
)

CAUTIONS: dict[str, Caution] = {
    "parasites": Caution(
        "Fish eaten without cooking must have been frozen against parasites first: 7 days at a measured −20 °C (−4 °F)"
        " or colder, or 14 days at −18 °C (0 °F) or colder, each with 24 h more for the core; the plan holds your"
        " freezing record against each rule.",
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
    "keep": Caution(
        "Eat it within 3 days of the lift, or within 5 where the fridge is measured at or under 4.4 °C (40 °F); freeze"
        " the rest by then. A figure of your own may be 10 days at most.",
        "seafood industry guidance on Listeria (5 days); UK Food Standards Agency (10 days); 3 days is our judgement",
    ),
    "frozen_quality": Caution(
        "Frozen at −18 °C (0 °F) or colder, smoked fish is at its best for 2 months: that is a figure of quality.",
        "Food Marketing Institute, Food Keeper, 1999 (second hand); US HHS: freezer times are of quality only",
    ),
    "hard_cheese": Caution(
        "Hard cheese in blocks only. Soft, shredded and low-fat cheese is discarded after 2 hours over 4.4 °C (40 °F);"
        " the same chart does not ask it of hard cheese.",
        "foodsafety.gov chart for refrigerated food in a power outage (read in copies)",
    ),
    "no_iodine_no_volume": Caution(
        "Salt without iodine, and by weight only: spoons of different salts do not weigh the same.",
        "common practice, no source",
        where="`smokenight salt`",
    ),
    "no_nitrite": Caution(
        NO_NITRITE,
        "21 CFR 172.175 (as of 2006); the refusal is our judgement",
        where="`smokenight salt`, and the [cure] of a process",
    ),
    "wps_unknown": Caution(
        "The salt that has reached the water of the fish is unknown until it is measured; the recipe does not tell it."
        " 3.5 % there, with the fridge, is the published least for smoked fish packed without air.",
        "Torry Research Station, note x5902e (FAO); summary of UK FSA guidance on vacuum packing",
        where="`smokenight salt`",
    ),
    "thick_pieces": Caution(
        "Pieces of 25 mm (1 in) at most: salt comes in from the flesh side alone, and two days do not even it out in"
        " a thick one.",
        "University of Alaska Fairbanks Extension, Smoking Fish at Home (second hand); J. Cookery Sci. Japan 25(4):283",
        where="`smokenight salt --thickness`",
    ),
    "scombroid": Caution(
        "Tuna, mackerel, herring, sardine, mahi-mahi and their kin are refused: they form histamine (scombrotoxin), and"
        " cold-smoking them needs controls that this tool does not have.",
        "FDA, Fish and Fishery Products Hazards and Controls Guidance, chapter 7; IFT for FDA, cold-smoked fish, 2001",
        where="wherever a food is named",
    ),
    "people_at_risk": Caution(
        "Not for people who are pregnant, 65 or older, or have weakened immunity, unless cooked to 74 °C (165 °F).",
        "US CDC and FDA advice on Listeria and refrigerated smoked seafood",
        topic="people and animals",
    ),
    "dogs": Caution(
        "Keep raw and cold-smoked salmon and trout, and what is trimmed off, away from dogs: it can kill them.",
        "California Department of Fish and Wildlife, salmon poisoning in dogs",
        topic="people and animals",
    ),
    "outdoors": Caution(
        "Outdoors only, on bare ground or stone, at least 3 m (10 ft) from buildings, decks and anything that burns;"
        " your local rules may ask for more.",
        "US fire departments' advice",
        topic="fire",
    ),
    "carbon_monoxide": Caution(
        "Smouldering gives off carbon monoxide: never in a house, garage, shed, tent or vehicle, aired or not.",
        "US Consumer Product Safety Commission",
        topic="fire",
    ),
    "unattended": Caution(
        "Leaving it to smoulder while you sleep is common practice, without a source; many local rules forbid"
        " unattended fires, and yours decide.",
        "common practice, no source",
        topic="fire",
    ),
    "burn_bans": Caution(
        "Burn bans and air-quality alerts are not known to this tool: the plan holds the slot and asks you. Look them"
        " up on the day; is one in force, do not light.",
        "rules differ from place to place: Puget Sound and Bay Area agency notices, among others",
        topic="fire",
    ),
    "no_lighter_fluid": Caution(
        "No lighter fluid: light it with a gas torch or a dry firelighter. If you use it all the same, let it burn off"
        " until nothing of it smells, before any food goes in, and add none to what is warm.",
        "common practice, no source",
        topic="fire",
    ),
    "wind": Caution(
        "Do not light in strong wind, and look again if it gets up: sparks carry, and a draught turns smouldering into"
        " flame.",
        "New York State Department of Environmental Conservation, fire safety; Ohlemiller 1991 for the draught",
        topic="fire",
    ),
    "outlasts_food": Caution(
        "The fire may outlast the food: after the lift, tray and chamber stay where they are, outdoors and closed, with"
        " nothing leant on them, until the tray has burnt out. Never bring them in warm.",
        "our judgement, from US fire departments' advice on ash and CPSC's on carbon monoxide",
        topic="fire",
    ),
    "ash": Caution(
        "Treat ash as hot for 4 days: embers have been seen in it after three and four. Wet it, metal can, tight lid,"
        " outdoors, 3 m (10 ft) from buildings; it also gives off carbon monoxide.",
        "US fire departments' advice",
        topic="fire",
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
