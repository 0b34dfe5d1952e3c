"""Text for a terminal: wrapped by words to a width, with or without colour, in what an encoding can carry.

Colour only repeats what the words say.  No line is ever wider than the page.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from rich.cells import cell_len, chop_cells

from scheduler.faces.wording import MONTHS, WEEKDAYS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

NARROWEST = 24
"""A page narrower than this is set as if it had this width."""

WIDEST = 100
"""A page wider than this is set as if it had this width: longer lines are hard to read."""

STYLES = {
    "strong": "1",
    "quiet": "2",
    "good": "1;32",
    "borderline": "33",
    "no": "31",
    "unknown": "35",
}
"""Select Graphic Rendition parameters (ECMA-48, 8.3.117)."""

GLUE = "\u00a0"
"""A space at which no line is broken."""

_SGR = re.compile("\x1b\\[[0-9;]*m")
_DAYS, _MONTHS = "|".join(WEEKDAYS), "|".join(MONTHS)
_KEEP = re.compile(
    r"(?<=\d) (?=°|%|(?:h|min|days?|g|kg|lb|oz|mm|mm/h|in|in/h|m/s|mph)\b)"  # a number and its unit
    r"|(?<=\d h) (?=\d+ min\b)|(?<=days) (?=\d+ h\b)"  # the parts of a duration
    rf"|(?<={_DAYS}) (?=\d)|(?<=\d) (?=(?:{_MONTHS})\b)|(?<={_MONTHS}) (?=\d\d:)"  # the parts of a date
)


def keep_together(text: str) -> str:
    """Spaces inside quantities and dates made unbreakable."""
    return _KEEP.sub(GLUE, text)


def visible_width(text: str) -> int:
    """Columns that the text takes on a terminal."""
    return cell_len(_SGR.sub("", text))


def padded(text: str, width: int, *, right: bool = False) -> str:
    """Filled up with spaces to so many columns."""
    fill = " " * (width - visible_width(text))
    return fill + text if right else text + fill


def wrapped(text: str, width: int, first: str = "", rest: str = "") -> list[str]:
    """Lines of at most so many columns, the first and the rest behind their prefixes."""
    lines, line, empty = [], first, True
    for word in _words(keep_together(text), width - max(visible_width(first), visible_width(rest))):
        if not empty and visible_width(line) + 1 + visible_width(word) > width:
            lines.append(line)
            line, empty = rest, True
        line += word if empty else f" {word}"
        empty = False
    return [*lines, line]


def _words(text: str, width: int) -> Iterator[str]:
    """Words, those too wide for any line cut into pieces."""
    for word in text.split(" "):
        if visible_width(word) <= width:
            yield word
        else:
            yield from chop_cells(_SGR.sub("", word), max(width, 1))


@dataclass(frozen=True, slots=True)
class Ink:
    """Colours text, or leaves it as it is."""

    colour: bool

    def __call__(self, style: str, text: str) -> str:
        """Each word by itself, so that a line may be broken between any two."""
        if not self.colour:
            return text
        words = keep_together(text).split(" ")
        return " ".join(f"\x1b[{STYLES[style]}m{word}\x1b[0m" if word else "" for word in words)


@dataclass(slots=True)
class Page:
    """Lines set one under the other."""

    width: int
    ink: Ink
    lines: list[str] = field(default_factory=list)

    @classmethod
    def of(cls, width: int, *, colour: bool) -> Page:
        """An empty page."""
        return cls(min(max(width, NARROWEST), WIDEST), Ink(colour))

    def say(self, text: str, first: str = "", rest: str | None = None, style: str | None = None) -> None:
        """A paragraph; the lines after its first go behind `rest`, else under the first."""
        rest = " " * visible_width(first) if rest is None else rest
        self.lines += wrapped(self.ink(style, text) if style else text, self.width, first, rest)

    def heading(self, text: str) -> None:
        """A title after an empty line."""
        self.gap()
        self.say(text, style="strong")

    def fact(self, label: str, text: str, label_width: int = 8) -> None:
        """A label and what it says, beside it."""
        self.say(text, first="  " + padded(self.ink("quiet", label), label_width), rest=" " * (2 + label_width))

    def row(self, cells: Sequence[str], widths: Sequence[int], right: Sequence[int] = ()) -> None:
        """Cells beside each other, those numbered in `right` set to the right."""
        columns = zip(range(len(cells)), cells, widths, strict=True)
        self.lines.append("  ".join(padded(cell, width, right=at in right) for at, cell, width in columns).rstrip())

    def gap(self) -> None:
        """One empty line, never two, and none at the top."""
        if self.lines and self.lines[-1]:
            self.lines.append("")

    def text(self) -> str:
        """All of it, without a line end after the last line."""
        return "\n".join(line.replace(GLUE, " ").rstrip() for line in self.lines)


PLAIN = {
    "°": "", "–": "-", "—": "-", "−": "-", "“": '"', "”": '"', "’": "'", "…": ".", "·": "-", "²": "2",
    "│": "|", "└": "+", "─": "-", "━": "=", "▁": "_", "●": "*", "◐": "o",
}  # fmt: skip
"""What to write where an encoding lacks a character; each no wider than it."""

BRAILLE = range(0x2800, 0x2900)
_HIGH, _MIDDLE, _LOW = 0x09, 0x36, 0xC0
"""Dots of a braille cell in its top row, its middle rows and its bottom row (Unicode, Braille Patterns)."""


def for_encoding(text: str, encoding: str) -> str:
    """The text with what the encoding cannot carry written plainly, charts included."""
    if all(_carries(encoding, char) for char in set(text)):
        return text
    # A chart drawn half in one way and half in another cannot be read, so its characters go together.
    drawn = all(_carries(encoding, char) for char in "⠁▁━")
    return "".join(
        char if _carries(encoding, char) and (drawn or char not in "▁━") else _plainly(char) for char in text
    )


def _carries(encoding: str, text: str) -> bool:
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        return False
    return True


def _plainly(char: str) -> str:
    """The nearest plain character; a question mark where there is none."""
    if ord(char) in BRAILLE:
        dots = ord(char) - BRAILLE.start
        high, low = bool(dots & _HIGH), bool(dots & _LOW)
        if high == low or dots & _MIDDLE == dots:
            return ":" if high and low else "-"
        return "'" if high else "."
    return PLAIN.get(char, "?")
