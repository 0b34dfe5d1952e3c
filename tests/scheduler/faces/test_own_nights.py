"""What a household's own nights have taught goes into every answer, and the answer says so."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid4

import pytest
from command import Shell

from scheduler.faces.asking import SAMPLE_SITE, BatchFlags, Flags, question
from scheduler.faces.forecast_lines import correction_words
from scheduler.faces.journal_question import taught
from scheduler.journal.fold import fold
from scheduler.journal.record import Kind, Record
from scheduler.journal.store import Journal
from scheduler.service import look

HOUR = timedelta(hours=1)
FIRST = datetime(2026, 3, 1, 22, tzinfo=UTC)
NOW = "2026-10-17T14:00"


def records(too_warm_c: float, nights: int = 40) -> list[Record]:
    """Nights whose forecast was so much warmer than the porch's warmest reading, 10 °C."""
    found = []
    for night in range(nights):
        light = FIRST + timedelta(days=night)
        told = {"night": f"{light:%Y-%m-%d}", "light": light.isoformat(), "lift": (light + 12 * HOUR).isoformat(),
                "peak_c": 10.0 + too_warm_c, "chance": 0.9}  # fmt: skip
        made = light - 24 * HOUR
        body = {"source": "sample", "issued_at": made.isoformat(), "nights": [told]}
        times = [(light + (hour - 1) * HOUR).isoformat() for hour in range(15)]
        porch = {"where": "porch", "name": "porch.csv", "times": times, "c": [10.0] * 15}
        for kind, at, what in ((Kind.FORECAST_LOGGED, made, body), (Kind.READINGS, light, porch)):
            found.append(Record(str(UUID(int=uuid4().int, version=4)), SAMPLE_SITE.name, None, kind, at, at, what))
    return found


def asked():
    return question(Flags(None, True, None, NOW, None), BatchFlags())


@pytest.mark.parametrize("too_warm_c", [1.0, -1.0])
def test_every_night_is_judged_by_the_air_less_what_forecasts_were_too_warm_by(too_warm_c):
    plain, own = asked(), taught(asked(), SAMPLE_SITE, fold(records(too_warm_c)))
    assert 0.5 < own.bias_c / too_warm_c <= 1.0
    for before, after in zip(look(plain), look(own), strict=True):
        if before.looked_at == after.looked_at and before.peak_c is not None:
            assert after.peak_c == pytest.approx(before.peak_c - own.bias_c, abs=1e-6)


def test_nothing_is_said_where_nothing_was_learned():
    assert taught(asked(), SAMPLE_SITE, fold(records(1.0, nights=9))).bias_c == 0.0
    assert correction_words(asked()) == ""


@pytest.mark.parametrize("command", ["next", "nights"])
def test_the_answer_says_what_it_took_off(command, tmp_path):
    path = tmp_path / "own.sqlite"
    with Journal.open(path) as journal:
        journal.add(records(1.0))
    shell = Shell(tmp_path)
    args = (command, "--sample", "--now", NOW)
    own = shell.run(*args, "--journal", path)
    assert own.code == 0, own.err
    assert "taken off its air: it has been so much too warm at your porch" in " ".join(own.out.split())
    assert "too warm" not in shell.run(*args).out


def test_programs_see_the_corrected_figures(tmp_path):
    path = tmp_path / "own.sqlite"
    with Journal.open(path) as journal:
        journal.add(records(1.0))
    shell = Shell(tmp_path)
    plain = json.loads(shell.run("next", "--sample", "--now", NOW, "--json").out)["night"]
    own = json.loads(shell.run("next", "--sample", "--now", NOW, "--json", "--journal", path).out)["night"]
    assert own["peak_c"] < plain["peak_c"]
