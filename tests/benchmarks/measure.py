"""Ratios of times taken in one run, side by side, so that a slow machine slows both sides."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

ROOT = Path(__file__).parents[2]


def seconds(work: Callable[[], object], repeats: int) -> float:
    """Time of one call, the least of five means: what else runs on the machine only ever adds."""
    means = []
    for _ in range(5):
        start = time.perf_counter()
        for _ in range(repeats):
            work()
        means.append((time.perf_counter() - start) / repeats)
    return min(means)


def process_ratio(one: Sequence[str], other: Sequence[str], rounds: int = 9) -> float:
    """Median over rounds of the whole-process time of one Python command over that of another."""
    for command in (one, other):
        _process_s(command)
    return statistics.median(_process_s(one) / _process_s(other) for _ in range(rounds))


def _process_s(arguments: Sequence[str]) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, *arguments], cwd=ROOT, check=True, capture_output=True)
    return time.perf_counter() - start


def tell(what: str, ratio: float, aim: str) -> None:
    """One line for the person who runs the benchmark."""
    print(f"\n{what}: {ratio:.3g} (aim: {aim})")  # noqa: T201 - this is what a benchmark is for
