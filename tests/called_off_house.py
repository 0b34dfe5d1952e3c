"""An invented household whose plan is called off: shortly before it is lit, or before anything is begun."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from feed_house import HOUR, House, air_c, weather

from scheduler.journal.store import Journal

if TYPE_CHECKING:
    from datetime import timedelta
    from pathlib import Path

    from scheduler.faces.keeping import Kept

TOO_WARM_K, FAR_TOO_WARM_K = 8.7, 12.0
"""Added to the usual air: the one night within reach is then unlikely, or gone."""


@dataclass
class CalledOff:
    """A household with an adopted plan, and its feed, looked at from forecast to forecast."""

    house: House
    batch: str
    kept: Kept

    @classmethod
    def adopted(cls, folder: Path) -> CalledOff:
        """Just adopted, in a journal on disk."""
        house = House(keeper=Journal.open(folder / "journal.sqlite"))
        batch = house.open()
        house.adopt(batch)
        return cls(house, batch, house.keep())

    def rinsed(self) -> None:
        """Everything is done and recorded, until six hours before the lighting."""
        until, times = self.house.times(self.batch)["light"] - 6 * HOUR, self.house.times(self.batch)
        for step in ("thaw", "salt", "rinse"):
            self.house.did(self.batch, step, times[step])
        self.house.now = until
        self.look()

    def look(self, warmer_k: float = 0.0, after: timedelta = 0 * HOUR) -> bytes:
        """The feed by a forecast of then."""
        house = self.house
        house.now += after
        house.forecast = weather(house.now, lambda moment: air_c(moment) + warmer_k)
        self.kept = house.keep()
        return house.bytes()
