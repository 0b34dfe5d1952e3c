"""Where instants and values lie on a picture of the air, and the few SVG shapes that it is made of."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from math import ceil, floor, isnan
from typing import TYPE_CHECKING

from scheduler.planning.clock import HOUR_S

if TYPE_CHECKING:
    from collections.abc import Iterable

LEFT, TOP = 40, 40
AIR_PX, STRIP_PX, GAP_PX, LABELS_PX = 190, 26, 24, 24
GRID_STEPS = (1, 2, 5, 10, 20)
MOST_GRID_LINES = 7


@dataclass(frozen=True, slots=True)
class Frame:
    """Instants in seconds since 1970 UTC to pixels from the left, values of the air to pixels from the top."""

    start: float
    end: float
    px_per_h: float
    bottom: float
    top: float
    """Lowest and highest value of the air."""
    step: int
    strips: int
    right: float
    """Pixels right of the last instant."""

    @classmethod
    def around(
        cls, span: tuple[float, float], px_per_h: float, values: Iterable[float], strips: int, right: float
    ) -> Frame:
        """A scale in round steps that holds all known values."""
        known = [value for value in values if not isnan(value)]
        low, high = min(known) - 1, max(known) + 1
        step = next((s for s in GRID_STEPS if (high - low) / s <= MOST_GRID_LINES), GRID_STEPS[-1])
        return cls(*span, px_per_h, floor(low / step) * step, ceil(high / step) * step, step, strips, right)

    @property
    def edge(self) -> float:
        """Where the last instant is."""
        return LEFT + (self.end - self.start) / HOUR_S * self.px_per_h

    @property
    def width(self) -> float:
        """Of the whole picture."""
        return self.edge + self.right

    @property
    def height(self) -> float:
        """Of the whole picture."""
        return self.strip_foot(self.strips - 1) + LABELS_PX

    @property
    def foot(self) -> float:
        """Under the air."""
        return TOP + AIR_PX

    def strip_foot(self, number: int) -> float:
        """Under that strip; -1 is the air itself."""
        return self.foot + (number + 1) * (STRIP_PX + GAP_PX)

    def x(self, at: float) -> float:
        """From the left; what lies off the picture is put at its edge."""
        return LEFT + (min(max(at, self.start), self.end) - self.start) / HOUR_S * self.px_per_h

    def y(self, value: float) -> float:
        """From the top."""
        return self.foot - (value - self.bottom) / (self.top - self.bottom) * AIR_PX


def px(value: float) -> str:
    """A coordinate, to a tenth of a pixel."""
    return f"{value:.1f}".removesuffix(".0")


def text(x: float, y: float, css: str, words: str, anchor: str = "middle") -> str:
    """Words at a point."""
    return f'<text x="{px(x)}" y="{px(y)}" class="{css}" text-anchor="{anchor}">{escape(words)}</text>'


def rect(x: float, y: float, width: float, height: float, css: str, more: str = "") -> str:
    """A box."""
    return f'<rect x="{px(x)}" y="{px(y)}" width="{px(width)}" height="{px(height)}" class="{css}"{more}/>'


def rule(x1: float, y1: float, x2: float, y2: float, css: str) -> str:
    """A straight stroke."""
    return f'<line x1="{px(x1)}" y1="{px(y1)}" x2="{px(x2)}" y2="{px(y2)}" class="{css}"/>'
