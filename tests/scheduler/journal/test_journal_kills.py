"""A writer that is killed at any instant loses nothing it acknowledged, and leaves nothing half-written."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING

import pytest
from journal_nursery import GROUP
from journal_records import Writer

from scheduler.journal.store import Journal

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).parents[3]
KILLS = 520
KILLS_PER_FILE = 26
LONGEST_LIFE_S = 0.05
GROUPS_A_LIFE = 3
"""On a machine that is slow to open a journal and write to it, writers live for as long as so many groups take."""

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs processes that can be forked and killed")


class Nursery:
    """Writers of journals, and what each of them acknowledged."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self._process = process
        self.kept: list[str] = []
        """Identities of the records that were acknowledged."""
        self.failed: list[str] = []

    def bring_up(self, seed: int, path: Path, checkpoint: int) -> int:
        self._ask(f"{seed} {checkpoint} {path}")
        return int(self._until("born"))

    def bury(self, pid: int) -> None:
        """Kill it, and hear what it said before."""
        os.kill(pid, signal.SIGKILL)
        self._ask(f"bury {pid}")
        self._until("dead")

    def _ask(self, line: str) -> None:
        self._process.stdin.write(line + "\n")
        self._process.stdin.flush()

    def _until(self, word: str) -> str:
        for line in self._process.stdout:
            said, pid, *rest = line.split()
            if said == word:
                return pid
            (self.kept if said == "kept" else self.failed).extend(rest)
        raise AssertionError("the nursery is gone")


@contextmanager
def nursery() -> Iterator[Nursery]:
    command = [sys.executable, str(ROOT / "tests/journal_nursery.py")]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join((str(ROOT), str(ROOT / "tests")))}
    with subprocess.Popen(command, env=environment, **pipes) as process:
        try:
            yield Nursery(process)
        finally:
            process.stdin.close()
            process.wait(timeout=60)


def check(path: Path, kept: list[str]) -> int:
    """Every acknowledged record is there, every group is whole, and the numbers have no gap."""
    with Journal.open(path) as journal:
        numbers = [number for (number,) in journal._db.execute("SELECT number FROM record ORDER BY number")]
        records = journal.records()
    assert numbers == list(range(1, len(numbers) + 1))
    there = [record.identity for record in records]
    assert set(kept) <= set(there)
    assert len(set(there)) == len(there)
    for first in range(0, len(records), GROUP):
        group = records[first : first + GROUP]
        assert {record.batch for record in group} == {group[0].identity}
        assert len(group) == GROUP
    return len(there)


def longest_life_s(folder: Path) -> float:
    """How long a writer lives at the most, so that kills fall into its writing on a busy machine, too."""
    began = time.monotonic()
    writer = Writer(1)
    with Journal.open(folder / "measured.sqlite") as journal:
        for _ in range(GROUPS_A_LIFE):
            journal.add([writer.opened() for _ in range(GROUP)])
    return max(LONGEST_LIFE_S, time.monotonic() - began)


def test_what_was_acknowledged_outlives_a_kill_at_any_instant(tmp_path):
    random = Random(5)
    acknowledged = unheard = 0
    life_s = longest_life_s(tmp_path)
    with nursery() as writers:
        for number in range(KILLS // KILLS_PER_FILE):
            path = tmp_path / f"{number}.sqlite"
            writers.kept.clear()
            checkpoint = (20, 1000)[number % 2]  # pages; the fewer, the more kills fall into moving them
            for _ in range(KILLS_PER_FILE // 2):
                two = [writers.bring_up(random.getrandbits(64), path, checkpoint) for _ in range(2)]
                for pid in two:
                    time.sleep(random.uniform(0.0, life_s))
                    writers.bury(pid)
                    there = check(path, writers.kept)
            acknowledged += len(writers.kept)
            unheard += there - len(writers.kept)
    assert not writers.failed
    assert acknowledged > KILLS / 10, "or the writers are killed before they write anything"
    assert unheard > 0, "or no kill fell between a record's being kept and its being told"
