"""What the body of each kind holds, as the code has it and as the contributor's guide tells it."""

from __future__ import annotations

import math
import re
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from journal_records import BODIES, MOVE, OPENING, PLAN, START, Writer, kept_form
from journal_strategies import journals

from scheduler.errors import BadJournal
from scheduler.journal.checks import checked
from scheduler.journal.kinds import SHAPES
from scheduler.journal.migrations import migrate
from scheduler.journal.record import Kind

ROOT = Path(__file__).parents[3]


def record(kind, body, **changes):
    writer = Writer()
    batch = writer.opened() if SHAPES[kind].batch == "one" else None
    return replace(writer.record(kind, batch, words="to be replaced"), body=body, **changes)


def test_every_kind_has_a_shape():
    assert set(SHAPES) == set(Kind)


def test_keys_come_in_their_order_and_null_where_they_were_left_out():
    body = checked(record(Kind.BATCH_OPENED, dict(reversed(OPENING.items())))).body
    assert list(body) == [field.name for field in SHAPES[Kind.BATCH_OPENED].fields]
    assert (body["weight_g"], body["frozen_since"], body["name"]) == (None, None, "autumn")


def test_zero_degrees_is_a_reading():
    assert checked(record(Kind.READING, {"where": "porch", "c": 0})).body["c"] == 0.0


def test_times_come_in_utc():
    moment = datetime(2026, 10, 17, 18, 0, tzinfo=timezone(timedelta(hours=2)))
    whole = checked(record(Kind.RELIT, {}, at=moment))
    assert whole.at.isoformat() == "2026-10-17T16:00:00+00:00"
    body = checked(record(Kind.PLAN_ADOPTED, {**PLAN, "light": "2026-10-20T20:00:00+02:00"})).body
    assert body["light"] == "2026-10-20T18:00:00+00:00"


@given(journals())
def test_what_was_checked_once_stays_the_same(records):
    kept = kept_form(records)
    assert kept_form(kept) == kept


HUNDRED_THOUSAND = ["2026-10-20T18:00:00Z"] * 100_001


@pytest.mark.parametrize(
    ("kind", "body", "problem"),
    [
        (Kind.NOTE, {}, "words: is missing: write a text"),
        (Kind.NOTE, {"words": None}, "words: is null: write a text"),
        (Kind.NOTE, {"words": ""}, "words: '' is not one line of text: write 1 to 1000 characters"),
        (Kind.NOTE, {"words": "x" * 1001}, "is not one line of text"),
        (Kind.NOTE, {"words": "one\ntwo"}, "words: 'one\\ntwo' is not one line"),
        (Kind.NOTE, {"words": "\ud800"}, "is not one line"),
        (Kind.NOTE, {"words": "x", "word": "y"}, "'word' is not a key of it; did you mean 'words'?"),
        (Kind.RELIT, {"at": 1}, "'at' is not a key of it; it has none"),
        (Kind.RELIT, None, "None is not an object of keys and values"),
        (Kind.READING, {"where": "shed", "c": 1}, "where: 'shed' is not known: write \"porch\" or"),
        (Kind.READING, {"where": "porch", "c": math.nan}, "c: nan is not a finite number"),
        (Kind.READING, {"where": "porch", "c": -math.inf}, "c: -inf is not a finite number"),
        (Kind.READING, {"where": "porch", "c": 10**400}, "is not a finite number"),
        (Kind.READING, {"where": "porch", "c": -300}, "c: -300 is no temperature in °C"),
        (Kind.READING, {"where": "porch", "c": "1"}, "c: '1' is text"),
        (Kind.READING, {"where": "porch", "c": True}, "c: true is not a number"),
        (Kind.STEP_DONE, {"step": "salted", "weight_g": 0}, "weight_g: 0 is no weight in g: write a number above 0"),
        (Kind.STEP_DONE, {"step": "salted", "sawdust_g": -1}, "sawdust_g: -1 is no weight in g"),
        (Kind.BATCH_ENDED, {"how": "lost"}, "how: 'lost' is not known: write \"eaten\" or"),
        (Kind.BATCH_OPENED, {**OPENING, "farmed": 1}, "farmed: 1 is neither true nor false"),
        (Kind.BATCH_OPENED, {**OPENING, "frozen_since": "2026-09-20"}, "frozen_since: '2026-09-20' has no offset"),
        (Kind.BATCH_OPENED, {**OPENING, "frozen_since": "20 Sept"}, "frozen_since: '20 Sept' is not a time"),
        (Kind.BATCH_OPENED, {**OPENING, "frozen_since": "1066-10-14T09:00Z"}, "is not within the years 1971 to 2198"),
        (Kind.PLAN_ADOPTED, {**PLAN, "night": "20261020"}, "night: '20261020' is not a date: write it such as 2026"),
        (Kind.PLAN_ADOPTED, {**PLAN, "night": "2026-02-30"}, "night: '2026-02-30' is not a date"),
        (Kind.PLAN_ADOPTED, {**PLAN, "chance": 90}, "chance: 90 is no chance: write a number from 0 to 1"),
        (Kind.PLAN_ADOPTED, {**PLAN, "verdict": "fine"}, "verdict: 'fine' is not known: write \"good\" or"),
        (Kind.PLAN_ADOPTED, {**PLAN, "steps": {"lit": None}}, "steps: 'lit': None is not a time"),
        (Kind.PLAN_ADOPTED, {**PLAN, "steps": []}, "steps: [] is not an object of names and times"),
        (Kind.PLAN_ADOPTED, MOVE, "'why' is not a key of it"),
        (Kind.PLAN_MOVED, PLAN, "from_night: is missing"),
        (Kind.PLAN_MOVED, {**MOVE, "why": "warm"}, "why: 'warm' is not a list"),
        (Kind.PLAN_MOVED, {**MOVE, "why": ["warm", 7]}, "why: entry 2: 7 is not text"),
        (Kind.FORECAST_LOGGED, {**BODIES[Kind.FORECAST_LOGGED], "nights": [{"nigh": 1}]}, "nights: entry 1: 'nigh'"),
        (Kind.UNDONE, {"undoes": "the last one"}, "undoes: 'the last one' is not an identity"),
        (Kind.READINGS, {**BODIES[Kind.READINGS], "c": []}, "c: has 0 readings and times has 1: write as many"),
        (Kind.READINGS, {**BODIES[Kind.READINGS], "c": [], "times": []}, "write as many, and at least one"),
        (Kind.READINGS, {**BODIES[Kind.READINGS], "c": [None]}, "c: entry 1: None is not a number"),
        (Kind.READINGS, {**BODIES[Kind.READINGS], "times": HUNDRED_THOUSAND}, "times: has 100001 entries: write"),
    ],
)  # fmt: skip
def test_a_body_that_does_not_fit_is_refused_with_its_key(kind, body, problem):
    with pytest.raises(BadJournal) as caught:
        checked(record(kind, body))
    assert str(caught.value).startswith(f"record {kind}: ")
    assert problem in str(caught.value)


@pytest.mark.parametrize(
    ("kind", "changes", "problem"),
    [
        (Kind.RELIT, {"batch": None}, "batch: is missing"),
        (Kind.FORECAST_LOGGED, {"batch": Writer().identity()}, "batch: is given, but the record concerns none"),
        (Kind.BATCH_OPENED, {"batch": None}, "batch: is not the identity of the record itself"),
        (Kind.NOTE, {"batch": "7"}, "batch: '7' is not an identity"),
        (Kind.NOTE, {"identity": "6F9619FF-8B86-4011-B42D-00C04FC964FF"}, "is not an identity: write a random UUID"),
        (Kind.NOTE, {"identity": "6f9619ff-8b86-1011-b42d-00c04fc964ff"}, "is not an identity"),
        (Kind.NOTE, {"site": "two\nlines"}, "site: 'two\\nlines' is not one line of text"),
        (Kind.NOTE, {"at": START.replace(tzinfo=None)}, "at: '2026-10-17T16:00:00' has no offset from UTC"),
        (Kind.NOTE, {"recorded_at": START.replace(microsecond=1)}, "is not on a whole second"),
        (Kind.NOTE, {"at": datetime.max.replace(tzinfo=UTC)}, "is not within the years"),
    ],
)
def test_a_record_that_does_not_fit_is_refused_with_its_key(kind, changes, problem):
    with pytest.raises(BadJournal) as caught:
        checked(record(kind, BODIES[kind], **changes))
    assert problem in str(caught.value)


WORDS = st.text(max_size=5) | st.integers() | st.floats() | st.none() | st.booleans()


@given(st.sampled_from(list(Kind)), st.dictionaries(st.sampled_from(["words", "c", "where", "step"]), WORDS))
def test_any_body_is_taken_or_refused(kind, body):
    try:
        checked(record(kind, body))
    except BadJournal as exc:
        message = str(exc)
    else:
        message = ""
    assert message.isprintable()


def guide():
    """Rows of the guide's table of kinds, their cells by the kind."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("### The journal\n")[2].partition("\n##")[0]
    lines = [line for line in text.splitlines() if re.match(r"\| `\w+` \| (its own|one|none)", line)]
    cells = [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]
    return {kind.strip("`"): rest for kind, *rest in cells}


def told(fields):
    """Keys as the guide writes them: a ? where null may stand."""
    return "; ".join(f"`{field.name}{'?' * field.optional}` {field.holds}" for field in fields) or "-"


def test_the_guide_tells_every_kind_with_its_keys_types_and_units():
    rows = guide()
    assert list(rows) == [kind.value for kind in Kind]
    plan = SHAPES[Kind.PLAN_ADOPTED].fields
    for kind, shape in SHAPES.items():
        moved = kind is Kind.PLAN_MOVED
        keys = "as `plan_adopted`; " + told(shape.fields[len(plan) :]) if moved else told(shape.fields)
        assert rows[kind.value][:2] == [shape.batch, keys]
    assert SHAPES[Kind.PLAN_MOVED].fields[: len(plan)] == plan


def test_the_guide_tells_the_tables_of_the_file():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        migrate(db)
        for table in ("record", "migration"):
            columns = ", ".join(row[1] for row in db.execute(f"PRAGMA table_info({table})"))
            assert f"`{table} ({columns})`" in text
