"""The journal on disk: what is added is there, in order, and never changed."""

from __future__ import annotations

import os
import sqlite3
import stat
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from journal_records import SITE, Writer, kept_form

from scheduler.errors import BadJournal, BadSetting
from scheduler.journal import files
from scheduler.journal.record import Kind
from scheduler.journal.store import Journal, Taken, default_journal_path

ROOT = Path(__file__).parents[3]


@pytest.fixture
def path(tmp_path):
    return tmp_path / "kept" / "journal.sqlite"


@pytest.fixture
def writer():
    return Writer()


def test_a_record_of_every_kind_comes_back_as_it_was(path, writer):
    records = tuple(writer.one_of_each())
    with Journal.open(path) as journal:
        journal.add(records)
    with Journal.open(path) as journal:
        assert journal.records() == kept_form(records)
    assert {record.kind for record in records} == set(Kind)


def test_records_come_in_order_of_recording_not_of_happening(path, writer):
    late, early = writer.opened(), writer.record(Kind.NOTE, at=writer.opened().at.replace(year=2025))
    with Journal.open(path) as journal:
        journal.add([late])
        journal.add([early])
        assert [record.identity for record in journal.records()] == [late.identity, early.identity]


def test_sites_are_kept_apart_and_the_last_number_counts_over_all(path, writer):
    other = Writer(seed=1, site="Another hut")
    with Journal.open(path) as journal:
        assert journal.last(SITE) == 0
        journal.add([writer.opened(), other.opened(), writer.opened(), other.opened()])
        assert (journal.last(SITE), journal.last("Another hut"), journal.last("no hut")) == (3, 4, 0)
        assert [record.site for record in journal.records(SITE)] == [SITE, SITE]
        assert len(journal.records()) == 4


def test_one_bad_record_keeps_the_whole_group_out(path, writer):
    good = writer.opened()
    with Journal.open(path) as journal:
        with pytest.raises(BadJournal, match="record reading: c: 'warm' is text"):
            journal.add([good, writer.record(Kind.READING, good, where="porch", c="warm")])
        with pytest.raises(BadJournal, match="is in the journal already"):
            journal.add([good, good])
        assert journal.records() == ()


def test_a_record_is_added_once(path, writer):
    record = writer.opened()
    with Journal.open(path) as journal:
        journal.add([record])
        with pytest.raises(BadJournal, match=f"{record.identity} is in the journal already"):
            journal.add([record])
        assert len(journal.records()) == 1


def test_a_batch_has_to_be_opened_at_the_same_site(path, writer):
    batch, unknown = writer.opened(), writer.opened()
    elsewhere = Writer(seed=1, site="Another hut")
    with Journal.open(path) as journal:
        journal.add([batch])
        for record in (writer.record(Kind.RELIT, unknown), elsewhere.record(Kind.RELIT, batch)):
            with pytest.raises(BadJournal, match=r"batch: .* was not opened at"):
                journal.add([record])
        with pytest.raises(BadJournal, match="was not opened at"):
            journal.add([note := writer.record(Kind.NOTE), writer.record(Kind.RELIT, note)])


def test_what_is_undone_has_to_be_there(path, writer):
    batch = writer.opened()
    with Journal.open(path) as journal:
        with pytest.raises(BadJournal, match=f"undoes: no record of {SITE} is {batch.identity}"):
            journal.add([writer.undone(batch)])
        journal.add([batch, writer.undone(batch)])


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE record SET body = '{}'",
        "DELETE FROM record",
        "INSERT OR REPLACE INTO record SELECT * FROM record",
        "INSERT OR REPLACE INTO record SELECT 7, identity, site, batch, kind, at, recorded_at, body FROM record",
    ],
)
def test_the_file_itself_refuses_to_change_a_record(path, writer, statement):
    with Journal.open(path) as journal:
        journal.add([writer.opened()])
    db = sqlite3.connect(path, isolation_level=None)
    with pytest.raises(sqlite3.IntegrityError, match="records are never"):
        db.execute(statement)
    db.close()


def test_a_journal_that_is_not_there_reads_empty_and_stays_absent(path, writer):
    with Journal.open(path, create=False) as journal:
        assert journal.records() == journal.records(SITE) == ()
        assert journal.last(SITE) == 0
        with pytest.raises(BadJournal, match="does not exist"):
            journal.add([writer.opened()])
    assert not path.parent.exists()


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
def test_the_file_and_its_folder_are_for_its_user_alone(path, writer):
    with Journal.open(path) as journal:
        journal.add([writer.opened()])
        beside = list(path.parent.iterdir())
        assert {stat.S_IMODE(each.stat().st_mode) for each in beside} == {0o600}
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700
    assert list(path.parent.iterdir()) == [path], "nothing else is left once it is closed"


def test_it_waits_for_the_disk_at_every_transaction(path):
    with Journal.open(path) as journal:
        assert journal._db.execute("PRAGMA synchronous").fetchone() == (2,)  # FULL
        assert journal._db.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert journal._db.execute("PRAGMA busy_timeout").fetchone() == (10_000,)


def test_a_disk_without_hard_links_gets_a_journal_too(path, writer, monkeypatch):
    def refuse(*_):
        raise OSError(95, "operation not supported")

    monkeypatch.setattr(os, "link", refuse)
    with Journal.open(path) as journal:
        journal.add([writer.opened()])
    with Journal.open(path) as journal:
        assert len(journal.records()) == 1
    if os.name == "posix":
        assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_disk_without_shared_memory_keeps_its_records_the_older_way(path, writer, monkeypatch):
    monkeypatch.setattr(files, "MODE", "DELETE")
    with Journal.open(path) as journal:
        journal.add([writer.opened()])
        assert journal._db.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    with Journal.open(path) as journal:
        assert len(journal.records()) == 1


def test_a_journal_made_meanwhile_by_another_is_used(path, writer, monkeypatch):
    link = os.link

    def slowly(source, target):
        monkeypatch.setattr(os, "link", link)
        with Journal.open(path) as other:
            other.add([writer.opened()])
        link(source, target)

    monkeypatch.setattr(os, "link", slowly)
    with Journal.open(path) as journal:
        assert len(journal.records()) == 1


@pytest.mark.parametrize("name", ["one two.sqlite", "50%41?mode=memory#x", "Räucherbuch №2"])
def test_any_name_of_a_file_will_do(tmp_path, writer, name):
    with Journal.open(tmp_path / name) as journal:
        journal.add([writer.opened()])
    assert [each.name for each in tmp_path.iterdir()] == [name]


def test_a_link_to_a_journal_is_as_good_as_the_journal(path, writer, tmp_path):
    with Journal.open(path) as journal:
        journal.add([writer.opened()])
        link = tmp_path / "link"
        link.symlink_to(path)
        with Journal.open(link) as same:
            same.add([writer.opened()])
        assert len(journal.records()) == 2


def test_opening_it_twice_in_a_process_lets_go_of_no_lock(path, writer):
    with Journal.open(path) as journal:
        journal.add([writer.opened()])
        Journal.open(path).close()
        other = "from pathlib import Path; from scheduler.journal.store import Journal; Journal.open(Path(%r)).close()"
        subprocess.run([sys.executable, "-c", other % str(path)], cwd=ROOT, check=True)
        assert path.with_name(path.name + "-wal").exists(), "the other process took itself for the last"
        journal.add([writer.opened()])
        assert len(journal.records()) == 2


def test_a_connection_belongs_to_its_thread(path):
    caught = []
    with Journal.open(path) as journal:

        def elsewhere():
            try:
                journal.records()
            except sqlite3.ProgrammingError as exc:
                caught.append(exc)

        thread = threading.Thread(target=elsewhere)
        thread.start()
        thread.join()
    assert caught, "a slip of ours is not told as a trouble with the file"


def test_taking_in_skips_what_is_there_and_counts_it(path, writer):
    records = tuple(writer.one_of_each())
    with Journal.open(path) as journal:
        journal.add(records[:3])
        assert journal.take(records) == Taken(added=len(records) - 3, already=3)
        assert journal.take(records) == Taken(added=0, already=len(records))
        assert journal.records() == kept_form(records)


def test_taking_in_refuses_all_where_one_record_differs(path, writer):
    batch, note = writer.opened(), writer.record(Kind.NOTE)
    other = Writer().opened(name="spring")
    with Journal.open(path) as journal:
        journal.add([batch])
        with pytest.raises(BadJournal, match=f"{batch.identity} is in the journal already with another body"):
            journal.take([note, other])
        assert journal.records() == kept_form([batch])


def test_its_errors_are_errors_of_a_setting():
    assert issubclass(BadJournal, BadSetting)


def test_the_usual_journal_lies_among_the_data_of_its_user(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    path = default_journal_path()
    assert path.name == "journal.sqlite"
    assert path.parent.name == "smokenight"


def test_the_store_loads_without_tables_and_network():
    program = (
        "import sys, scheduler.journal.store, scheduler.journal.fold, scheduler.journal.exchange\n"
        "print(sorted({'pandas', 'numpy', 'requests', 'typer', 'icalendar', 'platformdirs'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_entries_are_replaced_together_with_the_records_that_changed_them(tmp_path):
    with Journal.open(tmp_path / "journal.sqlite") as journal:
        journal.publish("garden", (), {"a": "1", "b": "2"}, ())
        journal.publish("attic", (), {"a": "other"}, ())
        journal.publish("garden", (), {"b": "3", "c": "4"}, ("a",))
        assert journal.entries("garden") == ("3", "4")
        assert journal.entries("attic") == ("other",)


def test_entries_stay_where_their_records_are_refused(tmp_path):
    record = next(iter(Writer().one_of_each()))
    with Journal.open(tmp_path / "journal.sqlite") as journal:
        journal.publish("garden", (record,), {"a": "1"}, ())
        with pytest.raises(BadJournal, match="already"):
            journal.publish("garden", (record,), {"a": "2"}, ())
        assert journal.entries("garden") == ("1",)


def test_a_journal_that_is_not_there_has_no_entries(tmp_path):
    with Journal.open(tmp_path / "journal.sqlite", create=False) as journal:
        assert journal.entries("garden") == ()
