"""The page's colours can be read in every scheme, and its policy lets it be shown."""

from __future__ import annotations

import base64
import hashlib
import re
from importlib.resources import files

import pytest
from asked import answer
from page_reader import read_page

from scheduler.faces.keeping import Told
from scheduler.faces.web.page import Links, content_policy, render

CSS = files("scheduler.faces.web").joinpath("page.css").read_text(encoding="utf-8")
TEXT, SHAPE = 4.5, 3.0
"""Least contrast of text, and of shapes that tell something: WCAG 2.2, 1.4.3 and 1.4.11."""


def colours(rule: str, css: str) -> dict[str, str]:
    """The variables that the first such rule sets."""
    body = css[css.index(rule) + len(rule) :].split("}")[0]
    return dict(re.findall(r"--([a-z]+):(#[0-9a-f]{3,6})", body))


DARK = CSS[CSS.index("prefers-color-scheme:dark") :]
PRINT = CSS[CSS.index("@media print") :]
LIGHT = colours(":root{", CSS)
NIGHT = LIGHT | colours(".tonight{", CSS)
SCHEMES = {
    "light": LIGHT,
    "light, the answer": NIGHT,
    "dark": LIGHT | colours(":root{", DARK),
    "dark, the answer": NIGHT | colours(".tonight{", DARK),
    "print": LIGHT | colours(":root,.tonight{", PRINT),
}
TEXTS = [
    *((ink, paper) for ink in ("ink", "quiet", "smoke", "heat") for paper in ("paper", "card", "dark")),
    ("ink", "mark"), ("smoke", "mark"), ("ink", "notice"), ("paper", "smoke"),
]  # fmt: skip
SHAPES = [(shape, paper) for shape in ("ink", "smoke", "heat", "water") for paper in ("paper", "card", "dark")]


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    digits = colour[1:] if len(colour) == 7 else "".join(2 * digit for digit in colour[1:])
    parts = [int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_worked_out_as_the_guidelines_do():
    assert contrast("#000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#fff") == pytest.approx(4.48, abs=0.005)  # from memory: just too little


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize(("ink", "paper"), TEXTS)
def test_text_stands_out_from_what_is_behind_it(scheme, ink, paper):
    assert contrast(SCHEMES[scheme][ink], SCHEMES[scheme][paper]) >= TEXT


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize(("shape", "paper"), SHAPES)
def test_lines_and_bars_stand_out_from_what_is_behind_them(scheme, shape, paper):
    assert contrast(SCHEMES[scheme][shape], SCHEMES[scheme][paper]) >= SHAPE


def test_every_scheme_sets_every_colour():
    used = set(re.findall(r"var\(--([a-z]+)\)", CSS))
    assert used == set(LIGHT)
    assert set(colours(":root{", DARK)) == set(LIGHT)
    assert not re.findall(r"(?:color|fill|stroke|background|border[a-z-]*):[^;}]*#[0-9a-f]{3}", CSS)


def test_the_policy_allows_the_pages_own_style_and_nothing_else():
    page = read_page(render([Told(answer("good"))], Links("https://cook.example/f.ics", "webcal://cook.example")))
    (style,) = page.all("style")
    digest = base64.b64encode(hashlib.sha256("".join(style.inside).encode()).digest()).decode()
    rules = dict(rule.strip().split(" ", 1) for rule in content_policy().split(";"))
    assert rules.pop("style-src") == f"'sha256-{digest}'"
    assert rules.pop("default-src") == "'none'"
    assert set(rules.values()) == {"'none'"}
    assert not page.all("script")
    assert "url(" not in "".join(style.inside)
