"""The line of the air against the ceiling, in text."""

from __future__ import annotations

from dataclasses import replace
from math import cos, nan, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.faces.chart import LEAST_CELLS, ROWS, ChartNight, chart
from scheduler.faces.terminal import Ink, for_encoding
from scheduler.planning.answers import Verdict

PLAIN = Ink(colour=False)
CEILING = 15.0


def night(air, verdict=Verdict.GOOD, window=None, labels=("Sat", "17")):
    """One night whose air is a function of the share of it that has passed."""
    return ChartNight(labels, verdict, lambda shares: [air(share) for share in shares], window)


def draw(nights, width=80, ceiling=CEILING, ink=PLAIN):
    return chart(nights, ceiling, lambda value: f"{value:.1f}", width, ink)


def parts(lines):
    """Lines over the ceiling, the one that stands on it among them, and lines under it."""
    drawn = [line for line in lines if "│" in line]
    on_it = next(number for number, line in enumerate(drawn) if label(line) == f"{CEILING:.1f}")
    return drawn[: on_it + 1], drawn[on_it + 1 :]


def label(line):
    """What stands beside a line."""
    return line.partition("│")[0].strip()


def is_drawn(lines):
    return any(0x2800 < ord(char) < 0x2900 for line in lines for char in line)


@pytest.mark.parametrize(
    ("air_c", "over", "under"),
    [(CEILING, False, True), (CEILING - 0.01, False, True), (CEILING + 0.01, True, False), (CEILING + 9, True, False)],
)
def test_air_at_the_ceiling_is_drawn_under_it_and_air_over_it_above(air_c, over, under):
    too_warm, cold_enough = parts(draw([night(lambda _: air_c), night(lambda _: air_c)]))
    assert (is_drawn(too_warm), is_drawn(cold_enough)) == (over, under)


@given(st.floats(-60, 60), st.floats(0, 40), st.integers(1, 20), st.integers(24, 120))
def test_the_air_is_on_the_side_of_the_ceiling_that_it_is_on(mean, swing, count, width):
    nights = [night(lambda share: mean + swing * cos(2 * pi * share)) for _ in range(count)]
    lines = draw(nights, width)
    samples = [mean + swing * cos(2 * pi * (part + 0.5) / 96) for part in range(96)]
    blocks = "\n".join(lines).split("\n\n")
    too_warm, cold_enough = parts(blocks[0].split("\n"))
    if max(samples) < CEILING - 0.01:
        assert not is_drawn(too_warm)
    if min(samples) > CEILING + 0.01:
        assert not is_drawn(cold_enough)
    assert max(map(len, lines)) <= width


@given(st.floats(-60, 60), st.floats(0, 30))
def test_the_line_takes_few_lines_of_text(mean, swing):
    lines = draw([night(lambda share: mean + swing * cos(2 * pi * share)) for _ in range(4)])
    assert len([line for line in lines if "│" in line]) <= ROWS + 1


def test_air_that_nobody_knows_leaves_a_gap():
    whole = draw([night(lambda _: 10.0)])
    holed = draw([night(lambda share: nan if 0.4 < share < 0.6 else 10.0)])
    drawn = next(line for line in holed if is_drawn([line])).partition("│")[2]
    assert drawn[0] != " "
    assert drawn[-1] != " "
    assert " " in drawn
    assert " " not in next(line for line in whole if is_drawn([line])).partition("│")[2]


def test_air_that_nobody_knows_at_all_has_no_chart():
    assert draw([night(lambda _: nan)]) == []


def test_the_warmest_and_the_coldest_air_are_written_beside_the_line():
    lines = draw([night(lambda share: 10.0 + 10.0 * share)] * 3)
    axis = [label(line) for line in lines if "│" in line]
    assert (axis[0], axis[-1]) == ("19.9", "10.1")


@pytest.mark.parametrize("air_c", [-30.0, 14.9, 15.0, 15.1, 60.0])
def test_the_ceiling_always_has_its_label(air_c):
    lines = draw([night(lambda _: air_c), night(lambda _: nan)])
    assert any(label(line) == "15.0" and "▁" in line for line in lines)


def test_the_window_is_drawn_from_lighting_to_lift():
    line = next(line for line in draw([night(lambda _: 10.0, window=(0.25, 0.75))]) if "━" in line)
    cells = line[len("10.0 │") :]
    assert (cells.index("━"), len(cells.rstrip())) == (3, 9)  # of 12 characters that a night is wide


def test_a_smoke_that_ends_past_the_last_night_stays_on_the_chart():
    lines = draw([night(lambda _: 10.0, window=(0.5, 1.4))], width=24)
    assert max(map(len, lines)) <= 24


def test_nights_without_a_window_have_no_stroke():
    assert not any("━" in line for line in draw([night(lambda _: 20.0, Verdict.NO)]))


def test_verdicts_are_told_apart_without_colour():
    marks = draw([night(lambda _: 10.0, verdict) for verdict in Verdict])[-1].split()
    assert len(marks) == len(set(marks)) == len(Verdict)


def test_nights_that_do_not_fit_go_into_further_blocks():
    lines = draw([night(lambda _: 10.0, labels=("Sat", str(day))) for day in range(1, 17)], width=40)
    days = [line.split() for line in lines if line.strip() and all(word.isdigit() for word in line.split())]
    assert len(days) == 2
    assert [day for row in days for day in row] == [str(day) for day in range(1, 17)]


def test_names_of_neighbouring_nights_never_touch():
    lines = draw([night(lambda _: 10.0)] * 11, width=40)
    names = next(line for line in lines if "Sa" in line)
    assert names.split() == ["Sa"] * 11
    assert LEAST_CELLS == 3


def test_colour_only_marks_what_is_drawn():
    import re

    nights = [night(lambda share: 10.0 + 10.0 * share, verdict, (0.3, 0.8)) for verdict in Verdict]
    coloured = draw(nights, ink=Ink(colour=True))
    assert [re.sub("\x1b\\[[0-9;]*m", "", line).rstrip() for line in coloured] == [
        line.rstrip() for line in draw(nights)
    ]


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "latin-1"])
def test_an_encoding_without_the_characters_gets_a_plain_chart(encoding):
    nights = [night(lambda share: 12.0 + 6.0 * cos(2 * pi * share), window=(0.3, 0.8))] * 3
    lines = draw(nights)
    plain = for_encoding("\n".join(lines), encoding).split("\n")
    assert "?" not in "".join(plain)
    assert [len(line) for line in plain] == [len(line) for line in lines]
    for drawn, told in zip(lines, plain, strict=True):
        for char, letter in zip(drawn, told, strict=True):
            assert not 0x2800 < ord(char) < 0x2900 or letter in "'.-:"
            assert char not in "▁━" or letter in "_="


def test_an_encoding_that_has_them_keeps_them():
    text = "\n".join(draw([night(lambda _: 10.0, window=(0.2, 0.7))]))
    assert for_encoding(text, "utf-8") == text


def test_dots_keep_their_height_in_plain_characters():
    assert for_encoding("⠁⠒⡀⡁", "ascii") == "'-.:"


def test_a_night_can_be_drawn_alone():
    one = night(lambda share: 12.0 + 6.0 * share)
    assert draw([one]) == draw([replace(one)])
