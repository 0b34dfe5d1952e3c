"""The command line, in this process or in one of its own: away from the user's files, and from the network."""

from __future__ import annotations

import io
import os
import select
import subprocess
import sys
import time
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from math import cos, pi
from pathlib import Path
from typing import TYPE_CHECKING, Any
from unittest.mock import patch

from loopback import closed_port_url

from providers.services import ADDRESSES
from scheduler.faces import cli

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

ROOT = Path(__file__).parents[1]
AT = ("--now", "2026-10-17T14:00")
SAMPLE = ("--sample", *AT)
ON_A_TERMINAL = (
    "import fcntl, runpy, termios\n"
    "fcntl.ioctl(0, termios.TIOCSCTTY, 0)\n"  # so that ^C comes as a signal
    "runpy.run_module('scheduler', run_name='__main__')"
)
PATIENCE_S = 60.0
READING_S = 0.3
"""From a prompt to the answer: an interrupt that comes before the program reads would wait for the next key."""
"""Long enough for a slow machine; a test that hangs ends after it."""


@dataclass(frozen=True, slots=True)
class Done:
    """What a command left behind."""

    code: int
    out: str
    err: str


@dataclass
class Shell:
    """A household's shell: a home of its own, and services that cannot be reached."""

    home: Path
    more: dict[str, str] = field(default_factory=dict)
    """Variables of the environment besides the usual ones."""

    @property
    def environment(self) -> dict[str, str]:
        nobody = dict.fromkeys(ADDRESSES.values(), closed_port_url())
        folders = {"HOME": "", "XDG_CONFIG_HOME": "config", "XDG_CACHE_HOME": "cache"}
        usual = {"PATH": os.environ.get("PATH", ""), "LANG": "C.UTF-8", "COLUMNS": "80", "PYTHONPATH": str(ROOT)}
        return usual | {name: str(self.home / folder) for name, folder in folders.items()} | nobody | self.more

    @property
    def site_file(self) -> Path:
        """Where `setup` writes where nothing else is said."""
        return self.home / "config" / "smokenight" / "site.toml"

    def run(self, *args: str | Path) -> Done:
        """The command in this process, without a terminal."""
        out, err = io.BytesIO(), io.BytesIO()
        code: object = None
        with (
            patch.dict(os.environ, self.environment, clear=True),
            patch.object(sys, "argv", ["smokenight", *map(str, args)]),
            patch.object(sys, "stdin", io.StringIO()),
            io.TextIOWrapper(out, "utf-8", write_through=True) as text_out,
            io.TextIOWrapper(err, "utf-8", write_through=True) as text_err,
            redirect_stdout(text_out),
            redirect_stderr(text_err),
        ):
            try:
                cli.main()
            except SystemExit as exc:
                code = exc.code
            said = out.getvalue().decode(), err.getvalue().decode()
        assert code is None or isinstance(code, int)
        return Done(code or 0, *said)

    def process(self, *args: str | Path, **how: Any) -> Done:
        """The command as a process; what does not go into a file or a pipe is told."""
        how = {"stdin": subprocess.DEVNULL, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE} | how
        done = subprocess.run(command(args), env=self.environment, cwd=self.home, timeout=PATIENCE_S, **how)
        return Done(done.returncode, (done.stdout or b"").decode(), (done.stderr or b"").decode())

    def terminal(self, *args: str | Path, answers: Sequence[tuple[str, str]] = ()) -> Done:
        """The command on a terminal; each answer is typed once its question has come."""
        import pty

        ours, theirs = pty.openpty()
        try:
            ends: Mapping[str, Any] = dict.fromkeys(("stdin", "stdout", "stderr"), theirs)
            with subprocess.Popen(
                [sys.executable, "-c", ON_A_TERMINAL, *map(str, args)],
                env=self.environment,
                cwd=self.home,
                start_new_session=True,
                **ends,
            ) as running:
                os.close(theirs)
                try:
                    text = _talk(ours, answers)
                    return Done(running.wait(PATIENCE_S), text, "")
                finally:
                    running.kill()
        finally:
            os.close(ours)


def put_hours(path: Path, mean_c: float, *, days: float, step_h: int = 1, head: str = "") -> Path:
    """A table of hours with nothing but the air: warmest at 14:00, coldest at 02:00 in New York's summer time."""
    start = datetime(2026, 10, 17, 12, tzinfo=UTC)
    rows = [f"{head}time,air_c"]
    for hour in range(0, int(days * 24) + 1, step_h):
        air_c = mean_c + 5.0 * cos((hour - 6) / 24 * 2 * pi)
        rows.append(f"{start + timedelta(hours=hour):%Y-%m-%dT%H:%MZ},{air_c:.1f}")
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


def command(args: Sequence[str | Path]) -> list[str]:
    return [sys.executable, "-m", "scheduler", *map(str, args)]


def _talk(terminal: int, answers: Sequence[tuple[str, str]]) -> str:
    """Everything that a terminal shows until its program ends."""
    shown, seen, left = b"", 0, list(answers)
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        if left and left[0][0].encode() in shown[seen:] and shown.endswith(b": "):
            seen = len(shown)
            time.sleep(READING_S)
            os.write(terminal, left.pop(0)[1].encode())
        if not select.select([terminal], [], [], 0.2)[0]:
            continue
        try:
            read = os.read(terminal, 65536)
        except OSError:  # how Linux says that the program is gone
            read = b""
        if not read:
            return shown.decode().replace("\r\n", "\n")
        shown += read
    raise AssertionError(f"the program waits for something else than {left[:1]}: {shown.decode()}")
