"""What a patient stranger could wear out or measure: the memory of the process, and the time that a guess takes."""

from __future__ import annotations

import statistics
import time
from datetime import UTC, datetime
from random import Random
from typing import TYPE_CHECKING

import pytest
from measure import tell
from odd_requests import ODD, answer_to
from serving_process import memory_bytes, served_by

from scheduler.faces.web.shelf import Body, Shelf

if TYPE_CHECKING:
    from collections.abc import Callable

pytestmark = pytest.mark.benchmark

WARM, ODD_REQUESTS = 5_000, 50_000
SAMPLES = 100_000
RIGHT = "mKe0Yd1dTn0iQb0vV5cU5o2hC8wJz6aR4sX7pL9gE3f"
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"


def test_memory_is_flat_over_fifty_thousand_odd_requests():
    odd = [raw for raw, _ in ODD.values() if len(raw) < 50_000]
    with served_by("feed") as (port, pid):
        for number in range(WARM):
            answer_to(port, odd[number % len(odd)])
        before = memory_bytes(pid)
        for number in range(ODD_REQUESTS):
            answer_to(port, odd[number % len(odd)])
        ratio = memory_bytes(pid) / before
    tell(f"memory after {ODD_REQUESTS} odd requests / before", ratio, "at most 1.05")
    assert ratio <= 1.05


def near(rng: Random) -> str:
    """Wrong in its last letter alone."""
    return RIGHT[:-1] + rng.choice(LETTERS.replace(RIGHT[-1], ""))


def far(rng: Random) -> str:
    """Wrong from the first letter on."""
    return "".join(rng.choice(LETTERS.replace(RIGHT[0], "")) for _ in RIGHT)


def near_over_far(find: Callable[[str], object]) -> float:
    """The time for a near guess over that for a far one: means of the middle half, in an order drawn at random."""
    rng = Random(42)
    guesses = [(kind, (near, far)[kind](rng)) for kind in (0, 1) for _ in range(SAMPLES)]
    rng.shuffle(guesses)
    taken: tuple[list[int], list[int]] = ([], [])
    for kind, guess in guesses:
        start = time.perf_counter_ns()
        find(guess)
        taken[kind].append(time.perf_counter_ns() - start)
    return statistics.fmean(_middle(taken[0])) / statistics.fmean(_middle(taken[1]))


def _middle(values: list[int]) -> list[int]:
    """Without the quarter at each end: whatever interrupted them."""
    values.sort()
    return values[len(values) // 4 : -(len(values) // 4)]


def letter_by_letter(guess: str) -> bool:
    """How it must not be done."""
    for given, right in zip(guess, RIGHT, strict=True):  # noqa: SIM110 - as plain as can be
        if given != right:
            return False
    return True


def test_a_guess_with_forty_two_letters_right_takes_as_long_as_one_with_none():
    shelf = Shelf()
    shelf.place(RIGHT, {"": Body(b"words", "text/plain", datetime(2026, 10, 17, tzinfo=UTC))})
    ours = near_over_far(lambda guess: shelf.find(guess, ""))
    seen = near_over_far(letter_by_letter)
    tell("time for a nearly right secret / for one that is all wrong", ours, "0.98 to 1.02")
    tell("the same for a comparison letter by letter, which this test must notice", seen, "over 1.2")
    assert 0.98 <= ours <= 1.02
    assert seen > 1.2
