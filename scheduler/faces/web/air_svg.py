"""The air of the coming nights as an SVG picture: the line and its spread, the ceiling, the windows, rain and gusts.

Drawn by us, as the libraries that draw such charts bring scripts, or a hundred times these bytes.  Colour only
repeats what a word, a mark or a pattern says; colours themselves are the page's (classes, no inline styles).
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from math import ceil, floor, isnan
from typing import TYPE_CHECKING

from scheduler.faces.chart import MARKS

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from scheduler.planning.answers import Verdict

PX_PER_H = 3.95
LEFT, RIGHT, TOP = 48, 14, 40
AIR_PX, STRIP_PX, GAP_PX, LABELS_PX = 210, 30, 10, 24
GRID_STEPS = (1, 2, 5, 10, 20)
MOST_GRID_LINES = 8

Point = tuple[float, float]
"""Seconds since 1970 UTC, and a value in the unit shown."""


@dataclass(frozen=True, slots=True)
class NightMark:
    """One night on the picture; instants in seconds since 1970 UTC."""

    start: float
    end: float
    label: str
    """Such as "Thu 22"."""
    verdict: Verdict
    dark: tuple[float, float] | None
    """Dusk to dawn; None where there is no such pair."""
    window: tuple[float, float] | None
    """Lighting and lift, where the night is offered."""
    window_label: str = ""
    chosen: bool = False
    """Whether the plan is for this night."""


@dataclass(frozen=True, slots=True)
class Strip:
    """A row of bars under the air."""

    title: str
    """What and in which unit, such as "rain, mm/h"."""
    bars: tuple[tuple[float, float, float], ...]
    """From, until, how much."""
    least_top: float
    """The height of the strip stands for this much at least."""
    limit: float | None = None


@dataclass(frozen=True, slots=True)
class AirPicture:
    """Everything on the picture, in the units shown."""

    title: str
    description: str
    start: float
    end: float
    air: tuple[Point, ...]
    low: tuple[Point, ...]
    high: tuple[Point, ...]
    """10th and 90th percentile at the same instants; NaN where the air is unknown."""
    unit: str
    ceiling: float
    ceiling_label: str
    nights: tuple[NightMark, ...]
    strips: tuple[Strip, ...]


def draw(picture: AirPicture) -> str:
    """The SVG element."""
    frame = _Frame.around(picture)
    parts = [
        f'<title id="air-title">{escape(picture.title)}</title>',
        f'<desc id="air-desc">{escape(picture.description)}</desc>',
        _HATCH,
        *(_dark(frame, night) for night in picture.nights if night.dark),
        *_grid(frame),
        *(_window(frame, night) for night in picture.nights if night.window),
        *_band(frame, picture),
        *_line(frame, picture.air),
        _ceiling(frame, picture),
        *(part for night in picture.nights for part in _head(frame, night)),
        *(part for number, strip in enumerate(picture.strips) for part in _strip(frame, number, strip)),
        *(_foot(frame, night) for night in picture.nights),
    ]
    size = f'viewBox="0 0 {_n(frame.width)} {_n(frame.height)}" width="{_n(frame.width)}" height="{_n(frame.height)}"'
    return f'<svg class="air" role="img" aria-labelledby="air-title air-desc" {size}>{"".join(parts)}</svg>'


_HATCH = (
    '<defs><pattern id="hatch" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<rect class="hatch" width="2" height="7"/></pattern></defs>'
)


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where instants and values lie on the picture."""

    start: float
    end: float
    bottom: float
    top: float
    """Lowest and highest value of the air."""
    step: int
    strips: int

    @classmethod
    def around(cls, picture: AirPicture) -> _Frame:
        values = [v for curve in (picture.low, picture.high, picture.air) for _, v in curve if not isnan(v)]
        low, high = min([picture.ceiling, *values]) - 1, max([picture.ceiling, *values]) + 1
        step = next((s for s in GRID_STEPS if (high - low) / s <= MOST_GRID_LINES), GRID_STEPS[-1])
        bottom, top = floor(low / step) * step, ceil(high / step) * step
        return cls(picture.start, picture.end, bottom, top, step, len(picture.strips))

    @property
    def width(self) -> float:
        return LEFT + RIGHT + (self.end - self.start) / 3600 * PX_PER_H

    @property
    def height(self) -> float:
        return self.strip_foot(self.strips - 1) + LABELS_PX

    @property
    def foot(self) -> float:
        """Under the air."""
        return TOP + AIR_PX

    def strip_foot(self, number: int) -> float:
        return self.foot + (number + 1) * (STRIP_PX + GAP_PX + 12)

    def x(self, at: float) -> float:
        return LEFT + (min(max(at, self.start), self.end) - self.start) / 3600 * PX_PER_H

    def y(self, value: float) -> float:
        return self.foot - (value - self.bottom) / (self.top - self.bottom) * AIR_PX


def _n(value: float) -> str:
    """A coordinate, to a tenth of a pixel."""
    return f"{value:.1f}".removesuffix(".0")


def _text(x: float, y: float, css: str, words: str, anchor: str = "middle") -> str:
    return f'<text x="{_n(x)}" y="{_n(y)}" class="{css}" text-anchor="{anchor}">{escape(words)}</text>'


def _rect(x: float, y: float, width: float, height: float, css: str) -> str:
    return f'<rect x="{_n(x)}" y="{_n(y)}" width="{_n(width)}" height="{_n(height)}" class="{css}"/>'


def _rule(x1: float, y1: float, x2: float, y2: float, css: str) -> str:
    return f'<line x1="{_n(x1)}" y1="{_n(y1)}" x2="{_n(x2)}" y2="{_n(y2)}" class="{css}"/>'


def _dark(frame: _Frame, night: NightMark) -> str:
    first, last = night.dark or (night.start, night.end)
    return _rect(frame.x(first), TOP, frame.x(last) - frame.x(first), frame.height - TOP - LABELS_PX, "dark")


def _grid(frame: _Frame) -> Iterable[str]:
    for value in range(int(frame.bottom), int(frame.top) + 1, frame.step):
        y, right = frame.y(value), frame.width - RIGHT
        yield _rule(LEFT, y, right, y, "grid")
        yield _text(LEFT - 6, y + 4, "small", str(value).replace("-", "−"), "end")


def _window(frame: _Frame, night: NightMark) -> str:
    first, last = night.window or (night.start, night.end)
    x, width, css = frame.x(first), frame.x(last) - frame.x(first), "chosen" if night.chosen else "offered"
    filled = f'<rect x="{_n(x)}" y="{TOP}" width="{_n(width)}" height="{AIR_PX}" fill="url(#hatch)"/>'
    return filled + _rect(x, TOP, width, AIR_PX, f"window {css}")


def _runs(points: Sequence[Point]) -> list[list[Point]]:
    """Stretches of points whose value is known."""
    found: list[list[Point]] = [[]]
    for point in points:
        if isnan(point[1]):
            found.append([])
        else:
            found[-1].append(point)
    return [run for run in found if len(run) > 1]


def _way(frame: _Frame, run: Iterable[Point]) -> str:
    return " ".join(f"{_n(frame.x(at))},{_n(frame.y(value))}" for at, value in run)


def _band(frame: _Frame, picture: AirPicture) -> Iterable[str]:
    for low, high in zip(_runs(picture.low), _runs(picture.high), strict=True):
        yield f'<polygon class="spread" points="{_way(frame, [*low, *reversed(high)])}"/>'


def _line(frame: _Frame, air: Sequence[Point]) -> Iterable[str]:
    for run in _runs(air):
        yield f'<polyline class="line" points="{_way(frame, run)}"/>'


def _ceiling(frame: _Frame, picture: AirPicture) -> str:
    y = frame.y(picture.ceiling)
    label = _text(frame.width - RIGHT - 4, y - 5, "ceiling-label", picture.ceiling_label, "end")
    return _rule(LEFT, y, frame.width - RIGHT, y, "ceiling") + label


def _head(frame: _Frame, night: NightMark) -> Iterable[str]:
    """The verdict over the night, and the times of the plan's window."""
    middle = (frame.x(night.start) + frame.x(night.end)) / 2
    if frame.x(night.end) - frame.x(night.start) < 40:
        return
    yield _text(middle, TOP - 22, f"verdict {night.verdict}", f"{MARKS[night.verdict]} {night.verdict}")
    if night.chosen:
        yield _text(middle, TOP - 7, "small strong", night.window_label)


def _foot(frame: _Frame, night: NightMark) -> str:
    left, right = frame.x(night.start), frame.x(night.end)
    edge = _rule(left, TOP, left, frame.height - LABELS_PX, "edge")
    if right - left < 40:
        return edge
    css = "small strong" if night.chosen else "small"
    return edge + _text((left + right) / 2, frame.height - 7, css, night.label)


def _strip(frame: _Frame, number: int, strip: Strip) -> Iterable[str]:
    """Bars with their title over them, and the limit where one is set."""
    foot, right = frame.strip_foot(number), frame.width - RIGHT
    most = max([strip.least_top, strip.limit or 0.0, *(amount for *_, amount in strip.bars)])
    yield _text(LEFT, foot - STRIP_PX - 4, "small", strip.title, "start")
    yield _rule(LEFT, foot, right, foot, "grid")
    for first, last, amount in strip.bars:
        tall = amount / most * STRIP_PX
        if tall >= 0.1 and frame.x(last) > frame.x(first):
            yield _rect(frame.x(first), foot - tall, frame.x(last) - frame.x(first), tall, "bar")
    if strip.limit is not None:
        y = foot - strip.limit / most * STRIP_PX
        yield _rule(LEFT, y, right, y, "limit")
    yield _text(LEFT - 6, foot - STRIP_PX + 8, "small", f"{most:g}", "end")
