"""The journal's tables: made by numbered steps, each with the row that records it or not at all."""

from __future__ import annotations

import sqlite3

import pytest
from journal_records import Writer, kept_form

from scheduler.journal import files, migrations
from scheduler.journal.migrations import APPLICATION_ID, MIGRATIONS, migrate, version
from scheduler.journal.store import Journal

STEPS = [(1, "the_records"), (2, "what_is_shown")]


def add_a_column(db):
    db.execute("ALTER TABLE record ADD COLUMN mood TEXT")


def fail_half_way(db):
    add_a_column(db)
    raise sqlite3.OperationalError("the power went")


@pytest.fixture
def db():
    connection = sqlite3.connect(":memory:", isolation_level=None)
    yield connection
    connection.close()


def columns(db):
    return [row[1] for row in db.execute("PRAGMA table_info(record)")]


def steps_of(db):
    return db.execute("SELECT number, name FROM migration ORDER BY number").fetchall()


def test_a_new_file_is_marked_and_has_run_every_step(db):
    migrate(db)
    assert version(db) == len(MIGRATIONS)
    assert db.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)
    assert steps_of(db) == STEPS


def test_steps_run_once(db):
    migrate(db)
    migrate(db)
    assert steps_of(db) == STEPS


def test_a_step_that_fails_leaves_the_file_before_it(db):
    migrate(db)
    before = columns(db)
    with pytest.raises(sqlite3.OperationalError, match="the power went"):
        migrate(db, (*MIGRATIONS, fail_half_way))
    assert (version(db), columns(db), steps_of(db)) == (len(STEPS), before, STEPS)
    assert not db.in_transaction


def test_a_step_that_another_process_ran_meanwhile_is_not_run_again(tmp_path, monkeypatch):
    path = tmp_path / "journal.sqlite"
    Journal.open(path).close()
    two = (*MIGRATIONS, add_a_column)
    first, second = files.connect(path), files.connect(path)
    asked = iter([1, 2])  # before it waits for its turn, and after
    read = migrations.version

    def late(db):
        found = read(db)
        if db is second and next(asked, None) == 1:
            migrate(first, two)
            return len(STEPS)
        return found

    monkeypatch.setattr(migrations, "version", late)
    migrate(second, two)
    assert columns(second)[-1] == "mood"
    assert [number for number, _ in steps_of(second)] == [1, 2, 3]
    first.close()
    second.close()


def test_a_journal_of_the_version_before_is_brought_forward_with_its_records(tmp_path, monkeypatch):
    path, records = tmp_path / "journal.sqlite", tuple(Writer().one_of_each())
    with Journal.open(path) as journal:
        journal.add(records)
    two = (*MIGRATIONS, add_a_column)
    monkeypatch.setattr(files, "MIGRATIONS", two)
    monkeypatch.setattr(migrations.migrate, "__defaults__", (two,))
    with Journal.open(path) as journal:
        assert journal.records() == kept_form(records)
        assert columns(journal._db)[-1] == "mood"
        assert steps_of(journal._db) == [*STEPS, (3, "add_a_column")]


SCHEMA_1 = [
    ("table", "migration", "number name"),
    ("table", "record", "number identity site batch kind at recorded_at body"),
    ("index", "record_by_site", "site"),
    ("trigger", "record_is_never_changed", ""),
    ("trigger", "record_is_never_deleted", ""),
    ("trigger", "record_is_never_replaced", ""),
]
"""Of the first step, which files of users have run: never changed, only followed by another."""


def test_the_first_step_stays_what_it_was_released_as(db):
    migrate(db, MIGRATIONS[:1])
    made = db.execute("SELECT type, name FROM sqlite_master WHERE sql IS NOT NULL ORDER BY rowid").fetchall()
    found = []
    for kind, name in made:
        info = {"table": "table_info", "index": "index_info"}.get(kind)
        rows = db.execute(f"PRAGMA {info}({name})").fetchall() if info else []
        found.append((kind, name, " ".join(row[2 if kind == "index" else 1] for row in rows)))
    assert found == SCHEMA_1
