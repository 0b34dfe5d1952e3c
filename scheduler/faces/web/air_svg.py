"""The air of nights as an SVG picture: the line and its spread, the ceiling, the windows, rain and gusts.

Drawn by us, as the libraries that draw such charts bring scripts, or a hundred times these bytes.  Colour only
repeats what a word, a mark or a pattern says; colours themselves are the page's (classes, no inline styles).
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from math import isnan
from typing import TYPE_CHECKING

from scheduler.faces.chart import MARKS
from scheduler.faces.web.air_frame import AIR_PX, LABELS_PX, LEFT, STRIP_PX, TOP, Frame, px, rect, rule, text
from scheduler.planning.clock import HOUR_S

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from scheduler.planning.answers import Verdict

NARROWEST_NIGHT_PX = 64
"""A night that is narrower on the picture has no room for words."""

LABEL_PX = 44
"""Half of a window's times in words."""

WIDEST_ONE_SCALE_PX = 500
"""A wider picture is scrolled on a phone, and says its numbers at both ends."""

Point = tuple[float, float]
"""Seconds since 1970 UTC, and a value in the unit shown."""


@dataclass(frozen=True, slots=True)
class NightMark:
    """One night on the picture; instants in seconds since 1970 UTC."""

    start: float
    end: float
    label: str
    """Under it, such as "Thu 22"."""
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

    name: str
    """Begins every identifier in it."""
    title: str
    description: str
    start: float
    end: float
    px_per_h: float
    air: tuple[Point, ...]
    low: tuple[Point, ...]
    high: tuple[Point, ...]
    """10th and 90th percentile at the same instants; NaN where the air is unknown."""
    unit: str
    ceiling: float
    ceiling_label: str
    nights: tuple[NightMark, ...]
    strips: tuple[Strip, ...]
    ticks: tuple[tuple[float, str], ...] = ()
    """Moments named under the picture; without any, the nights are."""
    peak: tuple[float, float, str] | None = None
    """When the air is warmest in the window, how warm, and how that is written."""


def draw(picture: AirPicture) -> str:
    """The SVG element."""
    values = (value for curve in (picture.low, picture.high, picture.air) for _, value in curve)
    frame = Frame.around(
        (picture.start, picture.end), picture.px_per_h, [picture.ceiling, *values], len(picture.strips),
        LEFT if _is_wide(picture) else 20,
    )  # fmt: skip
    name, hatch = picture.name, f"{picture.name}-hatch"
    parts = [
        f'<title id="{name}-title">{escape(picture.title)}</title>',
        f'<desc id="{name}-desc">{escape(picture.description)}</desc>',
        _HATCH.format(hatch),
        *(part for night in picture.nights for part in _dark(frame, night)),
        *_grid(frame, picture),
        *(part for night in picture.nights for part in _window(frame, night, hatch)),
        *_band(frame, picture),
        *_line(frame, picture.air),
        *_ceiling(frame, picture),
        *_peak(frame, picture),
        *(part for number, strip in enumerate(picture.strips) for part in _strip(frame, number, strip)),
        *(part for night in picture.nights for part in _head(frame, night, wide=not picture.ticks)),
        *_foot(frame, picture),
    ]
    size = f'viewBox="0 0 {px(frame.width)} {px(frame.height)}" width="{px(frame.width)}" height="{px(frame.height)}"'
    return f'<svg class="air" role="img" aria-labelledby="{name}-title {name}-desc" {size}>{"".join(parts)}</svg>'


_HATCH = (
    '<defs><pattern id="{}" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<rect class="hatch" width="2" height="7"/></pattern></defs>'
)


def _is_wide(picture: AirPicture) -> bool:
    return (picture.end - picture.start) / HOUR_S * picture.px_per_h > WIDEST_ONE_SCALE_PX


def _dark(frame: Frame, night: NightMark) -> Iterable[str]:
    if night.dark is not None and frame.x(night.dark[1]) > frame.x(night.dark[0]):
        left, right = map(frame.x, night.dark)
        yield rect(left, TOP, right - left, frame.height - TOP - LABELS_PX, "dark")


def _grid(frame: Frame, picture: AirPicture) -> Iterable[str]:
    for value in range(int(frame.bottom), int(frame.top) + 1, frame.step):
        y, words = frame.y(value), str(value).replace("-", "−")
        yield rule(LEFT, y, frame.edge, y, "grid")
        yield text(LEFT - 6, y + 4, "small", words, "end")
        if _is_wide(picture):
            yield text(frame.edge + 6, y + 4, "small", words, "start")
    yield text(LEFT - 6, TOP - 10, "small", picture.unit, "end")


def _window(frame: Frame, night: NightMark, hatch: str) -> Iterable[str]:
    if night.window is None or frame.x(night.window[1]) <= frame.x(night.window[0]):
        return
    x, width = frame.x(night.window[0]), frame.x(night.window[1]) - frame.x(night.window[0])
    yield f'<rect x="{px(x)}" y="{TOP}" width="{px(width)}" height="{AIR_PX}" fill="url(#{hatch})"/>'
    yield rect(x, TOP, width, AIR_PX, f"window {'chosen' if night.chosen else 'offered'}")


def _runs(points: Sequence[Point]) -> list[list[Point]]:
    """Stretches of points whose value is known."""
    found: list[list[Point]] = [[]]
    for point in points:
        if isnan(point[1]):
            found.append([])
        else:
            found[-1].append(point)
    return [run for run in found if len(run) > 1]


def _way(frame: Frame, run: Iterable[Point]) -> str:
    return " ".join(f"{px(frame.x(at))},{px(frame.y(value))}" for at, value in run)


def _band(frame: Frame, picture: AirPicture) -> Iterable[str]:
    """The spread where both of its edges are known."""
    pairs = zip(picture.low, picture.high, strict=True)
    both = [(at, high if isnan(high) else low) for (at, low), (_, high) in pairs]
    highs = dict(picture.high)
    for run in _runs(both):
        back = [(at, highs[at]) for at, _ in reversed(run)]
        yield f'<polygon class="spread" points="{_way(frame, [*run, *back])}"/>'


def _line(frame: Frame, air: Sequence[Point]) -> Iterable[str]:
    for run in _runs(air):
        yield f'<polyline class="line" points="{_way(frame, run)}"/>'


def _ceiling(frame: Frame, picture: AirPicture) -> Iterable[str]:
    y = frame.y(picture.ceiling)
    yield rule(LEFT, y, frame.edge, y, "ceiling")
    yield text(frame.edge - 4, y - 6, "ceiling-label", picture.ceiling_label, "end")
    if _is_wide(picture):
        yield text(LEFT + 4, y - 6, "ceiling-label", picture.ceiling_label, "start")


def _peak(frame: Frame, picture: AirPicture) -> Iterable[str]:
    if picture.peak is None:
        return
    at, value, words = picture.peak
    x, y = frame.x(at), frame.y(value)
    yield f'<circle cx="{px(x)}" cy="{px(y)}" r="4" class="at"/>'
    anchor = "start" if x < frame.width / 2 else "end"
    yield text(x + (8 if anchor == "start" else -8), y - 7, "strong", words, anchor)


def _head(frame: Frame, night: NightMark, *, wide: bool) -> Iterable[str]:
    """The verdict over the night, and the times of the plan's window."""
    left, right = frame.x(night.start), frame.x(night.end)
    middle = (left + right) / 2
    if right - left < NARROWEST_NIGHT_PX:
        return
    verdict = f"{MARKS[night.verdict]} {night.verdict}"
    if wide:
        yield text(middle, TOP - 24, f"verdict {night.verdict}", verdict)
    if night.chosen and night.window is not None:
        over = sum(map(frame.x, night.window)) / 2
        yield text(min(max(over, LEFT + LABEL_PX), frame.edge - LABEL_PX), TOP - 9, "strong", night.window_label)


def _foot(frame: Frame, picture: AirPicture) -> Iterable[str]:
    """Noon to noon, and the nights' names; or the moments that are named."""
    foot, line = frame.height - LABELS_PX, frame.height - 7
    for at, words in picture.ticks:
        yield rule(frame.x(at), foot, frame.x(at), foot + 5, "tick")
        yield text(frame.x(at), line, "small", words)
    for night in () if picture.ticks else picture.nights:
        left, right = frame.x(night.start), frame.x(night.end)
        if left > LEFT:
            yield rule(left, TOP, left, foot, "edge")
        if right - left >= NARROWEST_NIGHT_PX:
            yield text((left + right) / 2, line, "strong" if night.chosen else "small", night.label)


def _strip(frame: Frame, number: int, strip: Strip) -> Iterable[str]:
    """Bars with their title over them, and the limit where one is set."""
    foot = frame.strip_foot(number)
    most = max([strip.least_top, strip.limit or 0.0, *(amount for *_, amount in strip.bars)])
    yield rule(LEFT, foot, frame.edge, foot, "grid")
    found = [(frame.x(first), foot - amount / most * STRIP_PX, frame.x(last)) for first, last, amount in strip.bars]
    drawn = "".join(f"M{px(x)} {px(foot)}V{px(y)}H{px(end)}V{px(foot)}z" for x, y, end in found if foot - y >= 0.1)
    if drawn:
        yield f'<path class="bar" d="{drawn}"/>'
    if strip.limit is not None:
        y = foot - strip.limit / most * STRIP_PX
        yield rule(LEFT, y, frame.edge, y, "limit")
    yield text(LEFT, foot - STRIP_PX - 5, "small", strip.title, "start")
    yield text(LEFT - 6, foot - STRIP_PX + 8, "small", f"{most:.3g}", "end")
