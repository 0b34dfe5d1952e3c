"""Foods by name, and the fish that no process of this tool is for."""

from __future__ import annotations

import re

from scheduler.errors import BadBatch
from scheduler.household.quantity import shown
from scheduler.household.toml_file import a_line

# Fish named as forming scombrotoxin (histamine) in: US Food and Drug Administration, Fish and Fishery Products
# Hazards and Controls Guidance, chapter 7 (tuna, mahi-mahi, marlin, bluefish); Institute of Food Technologists for
# FDA, report on cold-smoked fish, 2001, chapter VI, table VI-1 (tuna, mackerel, herring); Food Standards
# Australia New Zealand, imported food risk statement on fish and histamine (bonito, sardine, anchovy, saury,
# trevally, jack, pompano).
_NAMED = "tuna mahi marlin bluefish mackerel herring bonito sardine anchovy saury trevally jack pompano"
# Other names for fish of those families: from memory.
_ALSO = "albacore skipjack yellowfin bluefin bigeye wahoo dolphinfish pilchard sprat kipper bloater amberjack"
SCOMBROTOXIN_FISH = frozenset(f"{_NAMED} {_ALSO}".split())

_WORD = re.compile(r"[a-z]+")


def a_food(given: object) -> str:
    """The name of a food in lower case; BadBatch for fish that need controls this tool does not have."""
    food = " ".join(a_line(given).lower().split())
    for word in _WORD.findall(food):
        if {word, word.removesuffix("s"), word.removesuffix("es"), word.replace("ies", "y")} & SCOMBROTOXIN_FISH:
            raise BadBatch(
                f"{shown(given)} is refused: fish of its kind form histamine (scombrotoxin), and cold-smoking them "
                "needs controls that this tool does not have; take another fish"
            )
    return food
