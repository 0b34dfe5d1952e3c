"""The journal as JSON Lines: what is written reads back, and what is amiss is refused with its line."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from journal_records import Writer, kept_form
from journal_strategies import journals

from scheduler.errors import BadJournal
from scheduler.journal.exchange import read_export, read_lines, write_lines
from scheduler.journal.record import Kind
from scheduler.journal.store import Journal, Taken

HEAD = b'{"format":"smokenight journal","version":1,"records":%d}\n'


@given(journals())
def test_records_round_trip_in_their_order(records):
    kept = kept_form(records)
    data = write_lines(kept)
    assert read_lines(data, "file") == kept
    assert write_lines(read_lines(data, "file")) == data


@settings(max_examples=25, deadline=None)
@given(journals())
def test_a_journal_round_trips_through_its_export(records):
    with TemporaryDirectory() as folder:
        with Journal.open(Path(folder) / "one.sqlite") as journal:
            journal.add(records)
            first = journal.records()
        with Journal.open(Path(folder) / "two.sqlite") as journal:
            assert journal.take(read_lines(write_lines(first), "file")) == Taken(len(records), 0)
            assert journal.records() == first
            assert write_lines(journal.records()) == write_lines(first)
            assert journal.take(read_lines(write_lines(first), "file")) == Taken(0, len(records))
            assert journal.records() == first


def test_the_same_records_give_the_same_bytes_whatever_the_order_of_their_keys():
    records = tuple(Writer().one_of_each())
    turned = [replace(record, body=dict(reversed(record.body.items()))) for record in records]
    assert write_lines(kept_form(turned)) == write_lines(kept_form(records))


def test_a_line_has_its_keys_in_a_fixed_order_and_plain_letters():
    record = Writer().record(Kind.NOTE, words="Räucherlachs 🐟")
    line = write_lines(kept_form([record])).decode("utf-8").splitlines()[1]
    assert list(json.loads(line)) == ["identity", "site", "batch", "kind", "at", "recorded_at", "body"]
    assert "Räucherlachs 🐟" in line


def line(**changes):
    """The line of a good record, with some of its keys changed (`...` takes one away)."""
    record = kept_form([Writer().record(Kind.READING, where="porch", c=3.5)])[0]
    values = json.loads(write_lines([record]).splitlines()[1])
    changed = {**values, **changes}
    return json.dumps({key: each for key, each in changed.items() if each is not ...}).encode()


GOOD = line()


def test_the_line_that_the_others_are_made_from_is_good():
    assert len(read_lines(HEAD % 1 + GOOD, "export.jsonl")) == 1
    assert len(read_lines(b"\xef\xbb\xbf" + HEAD % 1 + GOOD + b"\r\n", "export.jsonl")) == 1


@pytest.mark.parametrize(
    ("data", "problem"),
    [
        (b"", "export.jsonl: is empty: an export begins with"),
        (b"hello\n", "line 1: is not JSON (Expecting value at column 1)"),
        (b"[]\n", "line 1 does not name the format 'smokenight journal'"),
        (b'{"format":"other"}\n', "line 1 does not name the format"),
        (b'{"format":"smokenight journal","version":true,"records":0}\n', "does not give a version and a count"),
        (b'{"format":"smokenight journal","version":1}\n', "does not give a version and a count"),
        (b'{"format":"smokenight journal","version":2,"records":0}\n', "is of version 2, newer than this smokenight"),
        (HEAD % 2 + GOOD + b"\n", "holds 1 records and says 2 in line 1: it was cut off or changed"),
        (HEAD % 1 + GOOD + b"\n" + GOOD[:40], "line 3: is not JSON"),
        (HEAD % 1 + b"\n" + GOOD, "line 2: is not JSON"),
        (HEAD % 1 + b"\xff\xfe", "line 2: is not UTF-8"),
        (HEAD % 1 + b"[" * 100_000, "line 2: holds a number or a nesting beyond all measure"),
        (HEAD % 1 + b"1" * 10_000, "line 2: holds a number or a nesting beyond all measure"),
        (HEAD % 1 + b"7", "line 2: 7 is not an object with the keys identity, site"),
        (HEAD % 1 + GOOD[:-1] + b', "site": "again"}', "line 2: holds a key twice"),
        (HEAD % 1 + line(body=...), "line 2: body: is missing"),
        (HEAD % 1 + line(sight="Hut"), "line 2: 'sight' is not a key of a record; did you mean 'site'?"),
        (HEAD % 1 + line(kind="readin"), "line 2: kind: 'readin' is not a kind of record; did you mean 'reading'?"),
        (HEAD % 1 + line(kind=7), "line 2: kind: 7 is not a kind of record; known are: batch_opened"),
        (HEAD % 1 + line(identity="7"), "line 2: record reading: identity: '7' is not an identity"),
        (HEAD % 1 + line(batch=7), "line 2: record reading: batch: 7 is not an identity"),
        (HEAD % 1 + line(site=""), "line 2: record reading: site: '' is not one line of text"),
        (HEAD % 1 + line(site=None), "line 2: record reading: site: None is not text"),
        (HEAD % 1 + line(at="2026-10-17T16:00"), "line 2: at: '2026-10-17T16:00' has no offset from UTC"),
        (HEAD % 1 + line(at="2026-10-17T16:00:00.5Z"), "line 2: record reading: at: '2026-10-17T16:00:00.500000"),
        (HEAD % 1 + line(recorded_at=1.5), "line 2: recorded_at: 1.5 is not a time: write text such as 2026"),
        (HEAD % 1 + line(body=[]), "line 2: record reading: [] is not an object of keys and values"),
        (HEAD % 1 + GOOD.replace(b"3.5", b"NaN"), "line 2: 'NaN' is not a number: write a finite one"),
        (HEAD % 1 + GOOD.replace(b"3.5", b"-Infinity"), "line 2: '-Infinity' is not a number"),
        (HEAD % 1 + GOOD.replace(b"3.5", b"1e999"), "line 2: record reading: c: inf is not a finite number"),
    ],
)  # fmt: skip
def test_what_is_amiss_is_refused_with_its_place(data, problem):
    with pytest.raises(BadJournal) as caught:
        read_lines(data, "export.jsonl")
    message = str(caught.value)
    assert message.startswith("export.jsonl: ")
    assert problem in message
    assert "\n" not in message
    assert len(message) < 300


def refusal(data):
    """The message, empty where the data is read; any other error goes through."""
    try:
        read_lines(data, "file")
    except BadJournal as exc:
        return str(exc)
    return ""


@given(st.binary(max_size=200) | st.binary(max_size=80).map(lambda data: HEAD % 1 + data))
def test_any_bytes_are_read_or_refused(data):
    assert refusal(data).isprintable()


@given(st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
), st.sampled_from(["identity", "site", "batch", "kind", "at", "recorded_at", "body"]))  # fmt: skip
def test_any_value_of_any_key_is_read_or_refused(value, key):
    assert refusal(HEAD % 1 + line(**{key: value})).isprintable()


def test_a_cut_export_is_never_taken_for_a_whole_one():
    data = write_lines(kept_form(Writer().one_of_each()))
    whole = read_lines(data, "file")
    assert read_lines(data[:-1], "file") == whole, "only the last line break is missing"
    for end in range(0, len(data) - 1, 7):
        with pytest.raises(BadJournal):
            read_lines(data[:end], "file")


def test_an_export_that_cannot_be_read_is_told(tmp_path):
    with pytest.raises(BadJournal, match=r"cannot be read .*: name a file that `export` wrote"):
        read_export(tmp_path / "nowhere.jsonl")
    with pytest.raises(BadJournal, match="cannot be read"):
        read_export(tmp_path)
    (tmp_path / "export.jsonl").write_bytes(HEAD % 1 + GOOD)
    assert len(read_export(tmp_path / "export.jsonl")) == 1
