"""One lot of food going through the process together, and how far it has come."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime


@dataclass(frozen=True, slots=True)
class Batch:
    """What was said of the food and of the sawdust."""

    food: str = "salmon"
    name: str = "next batch"
    weight_g: float | None = None
    """Weight of the food as it goes into the cure; None where nobody weighed."""
    largest_pack_g: float | None = None
    """Largest piece to thaw; None takes the weight of all."""
    state: str = "frozen"
    """fresh, frozen, or the name of a state that the process knows (thawing, thawed, salted, rinsed)."""
    since: datetime | None = None
    """Since when the food is in that state; None for fresh and frozen."""
    frozen_since: datetime | None = None
    """Since when it was, or is, in the freezer it was frozen in; None where nobody said."""
    freezer_c: float | None = None
    """The warmest that freezer was meanwhile; None where nobody said."""
    freezer_measured: bool = False
    """By a thermometer, not by the freezer's label."""
    farmed: bool = False
    """Somebody says it was raised on formulated feed, which Food Code 3-402.11(B) exempts from freezing."""
    sawdust: str | None = None
    """dry, soaking, drying or none; None looks at the site's store."""
    sawdust_since: datetime | None = None
    """Since when the sawdust soaks or dries."""
    done: tuple[tuple[str, datetime], ...] = ()
    """Steps of the process that somebody recorded, by name, and when each was done; state and since follow them."""
    relit: datetime | None = None
    """When the tray was last lit again, after its fire had gone out."""
    identity: str | None = None
    """What the journal knows the batch by; None where nobody opened it there."""
