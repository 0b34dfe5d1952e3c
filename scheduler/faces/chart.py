"""The air against the ceiling as a line drawn in text, over one night or many.

The ceiling lies exactly between two lines of text: whatever is drawn above it is too warm.  Air that nobody knows
leaves a gap.  Under the line run the windows, lighting to lift, and a mark for each night's verdict.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import ceil, isnan
from typing import TYPE_CHECKING

from scheduler.planning.answers import Verdict

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from scheduler.faces.terminal import Ink

LOOKS_A_COLUMN = 4
"""Instants looked at in each column of dots, so that no short peak is left out."""

LOOKS_A_NIGHT = 96
"""Instants looked at in each night to find the warmest and the coldest air."""

LEAST_CELLS, MOST_CELLS = 3, 12
"""Characters that a night may be wide."""

ROWS = 8
"""Most lines of text that the air may take."""

DOTS_ACROSS, DOTS_DOWN = 2, 4
"""Dots of a braille cell (Unicode, Braille Patterns)."""

BITS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
"""Which bit sets the dot of each row, left and right."""

DEGREES_PER_DOT = (0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.25, 1.5, 2.0, 3.0, 5.0, 10.0)

MARKS = {Verdict.GOOD: "●", Verdict.BORDERLINE: "◐", Verdict.NO: "-", Verdict.UNKNOWN: "?"}
"""A mark for each verdict, told apart without colour."""

LINE, WINDOW, EDGE = "▁", "━", "│"


@dataclass(frozen=True, slots=True)
class ChartNight:
    """One night on the chart; times are shares of the way from its first instant to its last, 0 to 1."""

    labels: tuple[str, str]
    """Two short words under it: weekday, day of the month."""
    verdict: Verdict
    air: Callable[[Sequence[float]], Sequence[float]]
    """Air at shares of the night, in the unit shown; NaN where nobody knows."""
    window: tuple[float, float] | None
    """Lighting and lift; a smoke that ends past the night has its lift above 1."""


def chart(
    nights: Sequence[ChartNight], ceiling: float, number: Callable[[float], str], width: int, ink: Ink
) -> list[str]:
    """Lines of at most so many columns; nights that do not fit side by side go into further blocks.

    ceiling: in the unit of the air.  number: writes a value of that unit beside the line.
    """
    known = [value for night in nights for value in night.air(_shares(LOOKS_A_NIGHT)) if not isnan(value)]
    if not known:
        return []
    scale = _Scale.around(min(known), max(known), ceiling)
    # Where two fall on one line, the later of these stays: the ceiling always has its label.
    labels = {scale.row(min(known)): number(min(known)), scale.row(max(known)): number(max(known)), 0: number(ceiling)}
    margin = max(len(label) for label in labels.values()) + 1
    cells = max(LEAST_CELLS, min(MOST_CELLS, (width - margin - 1) // len(nights)))
    per_block = max(1, (width - margin - 1) // cells)
    lines: list[str] = []
    for start in range(0, len(nights), per_block):
        block = _Block(nights[start : start + per_block], scale, cells, ink)
        lines += [*([""] if lines else []), *block.lines(labels, margin)]
    return lines


def _shares(parts: int) -> list[float]:
    """The middles of so many equal parts of a night."""
    return [(part + 0.5) / parts for part in range(parts)]


@dataclass(frozen=True, slots=True)
class _Scale:
    """Degrees to dots, counted from the ceiling: dot 0 is the highest under it, dot 1 the lowest over it."""

    ceiling: float
    per_dot: float
    over: int
    """Lines of text over the ceiling; at least one."""
    under: int
    """Lines of text under it; at least one."""

    @classmethod
    def around(cls, low: float, high: float, ceiling: float) -> _Scale:
        """The finest scale that holds the air in `ROWS` lines, or the coarsest there is."""
        for per_dot in DEGREES_PER_DOT:
            over = max(1, ceil(_dot(high - ceiling, per_dot) / DOTS_DOWN))
            under = max(1, ceil((1 - _dot(low - ceiling, per_dot)) / DOTS_DOWN))
            if over + under <= ROWS:
                break
        return cls(ceiling, per_dot, over, under)

    def dot(self, value: float) -> int:
        """The dot of a value, inside the lines."""
        dot = _dot(value - self.ceiling, self.per_dot)
        return min(max(dot, 1 - DOTS_DOWN * self.under), DOTS_DOWN * self.over)

    def row(self, value: float) -> int:
        """The line of text that the value is drawn in; 0 stands on the ceiling."""
        return (self.dot(value) - 1) // DOTS_DOWN


def _dot(over: float, per_dot: float) -> int:
    """The dot of a value so far over the ceiling; at the ceiling it lies under the line."""
    return ceil(over / per_dot - 1e-6)


@dataclass(frozen=True, slots=True)
class _Block:
    """Nights side by side."""

    nights: Sequence[ChartNight]
    scale: _Scale
    cells: int
    """Characters that a night is wide."""
    ink: Ink

    def lines(self, labels: dict[int, str], margin: int) -> list[str]:
        """From the warmest line down to the days' names."""
        dots = self._dots()
        found = []
        for row in range(self.scale.over - 1, -self.scale.under - 1, -1):
            over = self.ink("borderline", self._row(dots, row)) if row >= 0 else self._row(dots, row)
            found.append(f"{labels.get(row, ''):>{margin - 1}} {EDGE}{over}")
        edge = " " * (margin + 1)
        names = [
            edge + "".join(f"{night.labels[at][: self.cells - 1]:^{self.cells}}" for night in self.nights)
            for at in (0, 1)
        ]
        marks = (self.ink(night.verdict, f"{MARKS[night.verdict]:^{self.cells}}") for night in self.nights)
        return [*found, edge + self._windows(), *names, edge + "".join(marks)]

    def _dots(self) -> set[tuple[int, int]]:
        """Column and dot of the air, joined by strokes."""
        shares = _shares(self.cells * DOTS_ACROSS * LOOKS_A_COLUMN)
        values = [value for night in self.nights for value in night.air(shares)]
        heights = [None if isnan(value) else self.scale.dot(value) for value in values]
        found = {(look // LOOKS_A_COLUMN, dot) for look, dot in enumerate(heights) if dot is not None}
        for look, (dot, after) in enumerate(pairwise(heights)):
            if dot is not None and after is not None:
                low, high = sorted((dot, after))
                found |= {(look // LOOKS_A_COLUMN, between) for between in range(low + 1, high)}
        return found

    def _row(self, dots: set[tuple[int, int]], row: int) -> str:
        """One line of text; row 0 stands on the ceiling."""
        cells = (self._cell(dots, column, row) for column in range(len(self.nights) * self.cells))
        return "".join(cells)

    def _cell(self, dots: set[tuple[int, int]], column: int, row: int) -> str:
        bits = 0
        for down in range(DOTS_DOWN):
            for across in range(DOTS_ACROSS):
                if (column * DOTS_ACROSS + across, DOTS_DOWN * (row + 1) - down) in dots:
                    bits |= BITS[down][across]
        if bits:
            return chr(0x2800 + bits)
        return LINE if row == 0 else " "

    def _windows(self) -> str:
        """A stroke from lighting to lift under each night that has a window."""
        line = [" "] * (len(self.nights) * self.cells)
        for place, night in enumerate(self.nights):
            if night.window is None:
                continue
            first, last = (int((place + share) * self.cells) for share in night.window)
            for cell in range(first, min(max(last, first + 1), len(line))):
                line[cell] = WINDOW
        return "".join(line).rstrip()
