"""The weather of many sites: one forecast for all in a cell, asked for when it may be news, one request at a time."""

from __future__ import annotations

import pickle
import zlib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from providers.errors import WeatherError
from scheduler.faces.web.timetable import FURTHEST, next_look, next_try

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from random import Random

    from providers.forecast import Forecast
    from scheduler.faces.web.sites import Served
    from scheduler.faces.web.timetable import Cell

    Weather = tuple[Forecast, tuple[Forecast, ...]]
    Ask = Callable[[Served, datetime], Weather]

MOST_HELD = 64
"""Forecasts held ready; the others are held packed, in about a tenth of the memory."""


@dataclass(slots=True)
class Known:
    """What is known of one cell."""

    due: datetime
    """When it is asked about next."""
    failures: int = 0
    """In a row."""
    trouble: str | None = None
    """Why the last try failed."""
    issued_at: datetime | None = None
    """When the newest forecast was made."""


@dataclass(slots=True)
class Cells:
    """Weather by cell."""

    ask: Ask
    rng: Random
    known: dict[Cell, Known] = field(default_factory=dict)
    _held: dict[Cell, Weather] = field(default_factory=dict)
    _packed: dict[Cell, bytes] = field(default_factory=dict)

    def keep_only(self, cells: set[Cell], now: datetime) -> None:
        """Learn of new cells, due at once, and forget those without a site."""
        for cell in self.known.keys() - cells:
            del self.known[cell]
            self._held.pop(cell, None)
            self._packed.pop(cell, None)
        for cell in cells - self.known.keys():
            self.known[cell] = Known(due=now)
        for known in self.known.values():
            if known.due - now > FURTHEST:  # the clock was set back since
                known.due = now

    def due(self, now: datetime) -> list[Cell]:
        """Cells to ask about, the longest due first."""
        late = [cell for cell, known in self.known.items() if known.due <= now]
        return sorted(late, key=lambda cell: self.known[cell].due)

    def weather(self, cell: Cell, served: Served, now: datetime) -> Weather | None:
        """The newest weather; asked for where that is due, and only then; None where there is none, not even old."""
        known = self.known[cell]
        if known.due > now:
            return self._at_hand(cell)
        try:
            found = self.ask(served, now)
        except WeatherError as error:
            self._failed(known, str(error), now)
            return self._at_hand(cell)
        except Exception as error:
            self._failed(known, str(error), now)
            raise
        self._answered(known, found[0], now)
        self._packed[cell] = zlib.compress(pickle.dumps(found, pickle.HIGHEST_PROTOCOL), level=1)
        self._hold(cell, found)
        return found

    def _answered(self, known: Known, made: Forecast, now: datetime) -> None:
        """An answer past its time stands in for one that could not be had: that counts as a failure, too."""
        known.issued_at = made.issued_at
        if made.is_stale(now):
            self._failed(known, "nothing newer could be had", now)
        else:
            known.failures, known.trouble = 0, None
            known.due = next_look(made, now, self.rng)

    def _failed(self, known: Known, trouble: str, now: datetime) -> None:
        known.failures, known.trouble = known.failures + 1, trouble
        known.due = next_try(known.failures, now, self.rng)

    def _at_hand(self, cell: Cell) -> Weather | None:
        """What was answered last."""
        held = self._held.get(cell)
        if held is None and cell in self._packed:
            held = pickle.loads(zlib.decompress(self._packed[cell]))  # noqa: S301 - packed by this very process
            self._hold(cell, held)
        return held

    def _hold(self, cell: Cell, weather: Weather) -> None:
        """Ready for the sites that share it; the one answered longest ago makes room."""
        self._held.pop(cell, None)
        self._held[cell] = weather
        while len(self._held) > MOST_HELD:
            del self._held[next(iter(self._held))]
