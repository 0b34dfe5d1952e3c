"""The command line as a process: pipes, full disks, closed streams, terminals with and without colour."""

from __future__ import annotations

import ast
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from command import AT, SAMPLE, command

pytestmark = pytest.mark.skipif(os.name == "nt", reason="pipes, signals and terminals of POSIX")
FULL = Path("/dev/full")


def shell_line(shell, line):
    """A line of sh in which $NEXT is the sample's command; its exit code, stdout and stderr."""
    environment = {**shell.environment, "NEXT": " ".join(command(("next", *SAMPLE)))}
    return subprocess.run(
        ["/bin/sh", "-c", line], env=environment, cwd=shell.home, capture_output=True, timeout=60, check=False
    )


def test_a_reader_that_has_seen_enough_is_no_fault(shell):
    done = shell_line(shell, "{ $NEXT; echo $? >&2; } | head -n 1")
    assert done.stdout.startswith(b"Light on Fri 23 Oct")
    assert done.stderr == b"0\n"


def test_a_reader_that_is_gone_is_no_fault(shell):
    done = shell_line(shell, "{ sleep 0.1; $NEXT; echo $? >&2; } | true")
    assert done.stderr == b"0\n"


@pytest.mark.skipif(not FULL.exists(), reason="this system has no /dev/full")
@pytest.mark.parametrize("flags", [("next", *SAMPLE), ("next", *SAMPLE, "--json"), ("nights", *SAMPLE), ("--help",)])
def test_a_disk_that_is_full_is_said_in_one_line(shell, flags):
    with FULL.open("wb") as full:
        done = shell.process(*flags, stdout=full)
    assert (done.code, done.err) == (2, "smokenight: the answer cannot be printed: no space left on device\n")


@pytest.mark.skipif(not FULL.exists(), reason="this system has no /dev/full")
def test_an_error_that_cannot_be_printed_keeps_its_exit_code(shell):
    with FULL.open("wb") as full:
        assert shell.process("next", "--sample", "--now", "soon", stderr=full).code == 2


def test_closed_streams_are_no_traceback(shell):
    done = shell_line(shell, "$NEXT >&-")
    assert (done.returncode, done.stderr) == (
        2,
        b"smokenight: the answer cannot be printed: standard output is closed\n",
    )
    assert shell_line(shell, "$NEXT 2>&- <&-").returncode == 0
    assert shell_line(shell, "$NEXT >&- 2>&- <&-").returncode == 2


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp437", "utf-8"])
def test_an_answer_is_printed_in_what_the_terminal_has(shell, encoding):
    shell.more = {"PYTHONIOENCODING": encoding}
    for flags in (("next", *SAMPLE), ("nights", *SAMPLE, "--why")):
        done = subprocess.run(
            command(flags), env=shell.environment, cwd=shell.home, capture_output=True, timeout=60, check=False
        )
        assert (done.returncode, done.stderr) == (0, b"")
        assert "?" not in done.stdout.decode(encoding).replace("?  ", "").replace("? unknown", "")


def test_an_interrupt_ends_without_a_traceback(shell):
    waits = f"import sys; sys.argv = ['smokenight', *{SAMPLE!r}]; sys.argv.insert(1, 'next')\n"
    waits += "import scheduler.service, time\nfrom scheduler.faces import cli\n"
    waits += "scheduler.service.plan = lambda question: (print('now', flush=True), time.sleep(60))\ncli.main()"
    with subprocess.Popen(
        [sys.executable, "-c", waits], env=shell.environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as running:
        assert running.stdout is not None
        assert running.stdout.readline() == b"now\n"
        running.send_signal(signal.SIGINT)
        out, err = running.communicate(timeout=60)
    assert (running.returncode, out) == (130, b"")
    assert b"Traceback" not in err


INTERRUPTED = """
import os, runpy, signal, sys
class Interrupting:
    def find_spec(self, name, *_):
        if name == {module!r}:
            os.kill(os.getpid(), signal.SIGINT)
sys.meta_path.insert(0, Interrupting())
sys.argv = ["smokenight", "next", "--sample"]
runpy.run_module("scheduler", run_name="__main__")
"""


@pytest.mark.parametrize("module", ["scheduler.faces.commands", "typer", "scheduler.faces.web.command", "pandas"])
def test_an_interrupt_while_it_loads_ends_without_a_word(shell, module):
    done = subprocess.run(
        [sys.executable, "-c", INTERRUPTED.format(module=module)],
        env=shell.environment, cwd=shell.home, capture_output=True, timeout=60, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout, done.stderr) == (130, b"", b"")


def test_the_entry_loads_nothing_before_it_minds_interrupts(shell):
    loads = (
        "import __future__, sys; before = {*sys.modules}; import scheduler.faces.cli; print({*sys.modules} - before)"
    )
    done = subprocess.run(
        [sys.executable, "-c", loads], env=shell.environment, capture_output=True, text=True, timeout=60, check=True
    )
    entry = {"scheduler", "scheduler.faces", "scheduler.faces.cli", "scheduler.faces.exit_codes"}
    assert ast.literal_eval(done.stdout) == entry


# --- wrong lines


def wrong(shell, **streams):
    return shell.process("next", "--site", "no/such/garden.toml", *AT, **streams)


def test_what_is_wrong_is_broken_between_words_on_a_terminal_and_stays_one_line_in_a_pipe(shell):
    shell.more = {"COLUMNS": "40"}
    on_terminal, piped = shell.terminal("next", "--site", "no/such/garden.toml", *AT), wrong(shell)
    assert (on_terminal.code, piped.code, piped.out) == (2, 2, "")
    assert len(piped.err.splitlines()) == 1
    assert len(piped.err) > 80
    assert 20 < max(len(line) for line in on_terminal.out.splitlines()) <= 40
    assert on_terminal.out.split() == piped.err.split()


@pytest.mark.parametrize("columns", [30, 64])
def test_what_is_wrong_fits_the_terminal_that_shows_it_wherever_the_answer_goes(shell, columns):
    import fcntl
    import pty
    import struct
    import termios

    environment = {name: value for name, value in shell.environment.items() if name != "COLUMNS"}
    ours, theirs = pty.openpty()
    try:
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("4H", 24, columns, 0, 0))
        line = command(("next", "--site", "no/such/garden.toml", *AT))
        how = {"env": environment, "cwd": shell.home, "stdin": subprocess.DEVNULL, "stdout": subprocess.PIPE}
        done = subprocess.run(line, stderr=theirs, timeout=60, check=False, **how)
        shown = os.read(ours, 65536).decode()
    finally:
        os.close(theirs)
        os.close(ours)
    assert (done.returncode, done.stdout) == (2, b"")
    assert columns - 15 < max(len(each) for each in shown.splitlines()) <= columns


# --- colour


def coloured(shell, **more):
    shell.more = {"TERM": "xterm-256color", **more}
    done = shell.terminal("next", *SAMPLE)
    assert done.code == 0
    assert "Light" in done.out
    return "\x1b[" in done.out


def test_a_terminal_gets_colours(shell):
    assert coloured(shell)


def test_no_color_takes_them_away_unless_it_is_empty(shell):
    assert not coloured(shell, NO_COLOR="1")
    assert coloured(shell, NO_COLOR="")


def test_a_dumb_terminal_gets_none(shell):
    assert not coloured(shell, TERM="dumb")


def test_a_pipe_gets_none(shell):
    shell.more = {"TERM": "xterm-256color"}
    assert "\x1b" not in shell.process("next", *SAMPLE).out


def test_colour_changes_no_word(shell):
    shell.more = {"TERM": "xterm-256color", "NO_COLOR": "1"}
    assert shell.terminal("nights", *SAMPLE).out == shell.process("nights", *SAMPLE).out
