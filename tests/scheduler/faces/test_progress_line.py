"""What a terminal shows while a weather service takes its time, and what it does not."""

from __future__ import annotations

import io
import os
import signal
import subprocess
import sys
import threading
import time

import faults
import pytest
from command import PATIENCE_S, command

from providers.watching import WATCH, nobody
from scheduler.faces import progress

ASK = ("next", "--sample", "--weather", "open-meteo", "--now", "2026-10-20T12:00Z")
SLOW_S = 2.5


def slow(handler, page):
    """An answer in order, late."""
    handler.wait(SLOW_S)
    handler.answer(page)


@pytest.fixture
def slow_service(shell, server):
    shell.more |= {
        "SMOKENIGHT_OPEN_METEO_URL": f"{server.url}/v1/forecast",
        "SMOKENIGHT_OPEN_METEO_ENSEMBLE_URL": f"{server.url}/v1/ensemble",
        "TERM": "xterm",
    }
    server.script("/v1/forecast", slow)
    return server


class Screen(io.StringIO):
    """What a terminal of one line shows in the end."""

    encoding = "utf-8"

    def isatty(self):
        return True


def on_screen(shown):
    """Each state of the line, as \\r and the erasing of the line leave it."""
    return [part.split("\r\n")[0] for part in shown.replace("\n", "\r\n").split("\r\x1b[K")]


def comes_up(told):
    """Whether something becomes true while a person would wait for it."""
    end = time.monotonic() + PATIENCE_S
    while not told() and time.monotonic() < end:
        time.sleep(0.01)
    return bool(told())


def test_a_terminal_says_who_is_asked_and_how_long_already_and_then_wipes_it_away(shell, slow_service):
    done = shell.terminal(*ASK)
    assert done.code == 0
    before, *told = on_screen(done.out)
    assert before == ""
    assert told[0] == "asking open-meteo … 1 s, at most 90 s"
    assert told[1].startswith("asking open-meteo … 2 s")
    assert told[-1].startswith("\x1b[1mLight\x1b[0m ")


def test_a_quick_service_is_not_told(shell, slow_service):
    slow_service.faults["/v1/forecast"].clear()
    assert "asking" not in shell.terminal(*ASK).out


def test_what_is_piped_says_nothing_of_it(shell, slow_service):
    done = shell.process(*ASK)
    assert (done.code, done.err) == (0, "")
    assert "asking" not in done.out


def test_a_terminal_without_movements_is_left_alone(shell, slow_service):
    shell.more |= {"TERM": "dumb"}
    assert "asking" not in shell.terminal(*ASK).out


def test_the_next_service_is_told_at_once_where_the_first_took_long(monkeypatch):
    monkeypatch.setattr(progress, "QUIET_S", 10 * PATIENCE_S)
    screen = Screen()
    with progress._Waiting(screen, waited_s=10 * PATIENCE_S).watch("two", 20.0):
        assert comes_up(lambda: "asking two" in screen.getvalue())
    shown = on_screen(screen.getvalue())
    assert shown[:2] == ["", "asking two … 0 s, at most 20 s"]
    assert shown[-1] == ""


def test_how_long_one_service_took_counts_for_the_next():
    waiting = progress._Waiting(Screen())
    with waiting.watch("one", 20.0):
        time.sleep(0.1)
    assert waiting.waited_s >= 0.1


def test_the_line_never_breaks(monkeypatch):
    monkeypatch.setattr(progress, "QUIET_S", 0.0)
    monkeypatch.setenv("COLUMNS", "32")
    screen = Screen()
    with progress._Waiting(screen).watch("the calendar at a-long-host.example", 90.0):
        assert comes_up(lambda: "asking" in screen.getvalue())
    assert max(len(line) for line in on_screen(screen.getvalue())) <= 31


def test_a_terminal_that_is_gone_stops_nothing(monkeypatch):
    monkeypatch.setattr(progress, "QUIET_S", 0.0)
    screen = Screen()
    screen.close()
    with progress._Waiting(screen).watch("open-meteo", 90.0):
        time.sleep(0.1)


def test_nobody_watches_where_stderr_is_no_terminal(monkeypatch):
    monkeypatch.setattr(sys, "stderr", io.StringIO())
    progress.show_progress()
    assert WATCH.get() is nobody


def test_a_thread_of_its_own_is_not_watched():
    token, seen = WATCH.set(progress._Waiting(Screen()).watch), []
    thread = threading.Thread(target=lambda: seen.append(WATCH.get()))
    thread.start()
    thread.join()
    WATCH.reset(token)
    assert seen == [nobody]


def test_breaking_off_the_wait_leaves_no_traceback(shell, slow_service):
    slow_service.faults["/v1/forecast"].clear()
    slow_service.script("/v1/forecast", faults.silent)
    running = subprocess.Popen(
        command(ASK), env=shell.environment, cwd=shell.home, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    assert comes_up(lambda: slow_service.requests)
    time.sleep(0.3)  # so that it waits for the answer, and is not about to
    os.kill(running.pid, signal.SIGINT)
    out, err = running.communicate(timeout=PATIENCE_S)
    assert (running.returncode, out, err) == (130, "", "")
