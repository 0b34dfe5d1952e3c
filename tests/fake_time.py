"""A clock that only the tests move: wall time, seconds that run, and sleep that does not wait."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

NOON = datetime(2026, 10, 20, 12, 0, tzinfo=UTC)


@dataclass
class FakeTime:
    now: datetime = NOON
    ran_s: float = 0.0
    slept: list[float] = field(default_factory=list)

    def clock(self) -> datetime:
        return self.now

    def monotonic(self) -> float:
        return self.ran_s

    def sleep(self, seconds: float) -> None:
        self.slept.append(seconds)
        self.pass_by(timedelta(seconds=seconds))

    def pass_by(self, span: timedelta) -> None:
        self.now += span
        self.ran_s += span.total_seconds()
