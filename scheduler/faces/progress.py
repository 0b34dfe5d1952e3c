"""While weather takes long: which service is being asked, and for how long already; on a terminal alone."""

from __future__ import annotations

import os
import shutil
import sys
import threading
import time
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, TextIO

from providers.watching import WATCH, nobody

if TYPE_CHECKING:
    from collections.abc import Iterator

QUIET_S = 1.0
"""Our judgement: a shorter wait needs no words."""


def show_progress() -> None:
    """From now on, say on the terminal what is waited for; where stderr is no terminal, nothing."""
    if sys.stderr is not None and sys.stderr.isatty() and os.environ.get("TERM") != "dumb":
        WATCH.set(_Waiting(sys.stderr).watch)


def no_progress() -> None:
    """Say nothing, as a process without end does, that writes lines of its own."""
    WATCH.set(nobody)


@dataclass(slots=True)
class _Waiting:
    """One line, written over and over, and wiped away in the end."""

    stream: TextIO
    waited_s: float = 0.0
    """How long services were waited for before."""

    @contextmanager
    def watch(self, source: str, most_s: float) -> Iterator[None]:
        """Show the line while the service is asked, once all of them together take long."""
        began, done = time.monotonic(), threading.Event()
        shower = threading.Thread(target=self._show, args=(source, most_s, done), daemon=True, name="progress")
        shower.start()
        try:
            yield
        finally:
            self.waited_s += time.monotonic() - began
            done.set()
            shower.join()

    def _show(self, source: str, most_s: float, done: threading.Event) -> None:
        from scheduler.faces.terminal import for_encoding
        from scheduler.faces.wording import one_line

        began = time.monotonic()
        if done.wait(max(0.0, QUIET_S - self.waited_s)):
            return
        with suppress(OSError, ValueError):  # a terminal that is gone shows nothing
            over = False
            while not over:
                told = f"asking {one_line(source)} … {time.monotonic() - began:.0f} s, at most {most_s:.0f} s"
                self._write(for_encoding(told, self.stream.encoding or "utf-8"))
                over = done.wait(1.0)
            self._write("")

    def _write(self, text: str) -> None:
        """In place of what stands in the line; not so long that the terminal breaks it."""
        columns = shutil.get_terminal_size((80, 24)).columns
        self.stream.write(f"\r\x1b[K{text[: columns - 1]}")  # erase to the end of the line (ECMA-48, 8.3.41)
        self.stream.flush()
