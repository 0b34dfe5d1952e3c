"""The last good answer on disk: whole or absent."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from providers.answer_store import AnswerStore, Stored

AT = datetime(2026, 10, 20, 12, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)
STORED = Stored("https://weather.example/", 200, {"etag": '"ü\n"'}, AT, AT + HOUR, b"\x00\n{}\n")


def test_what_is_kept_comes_back_whole(tmp_path):
    store = AnswerStore(tmp_path / "deep" / "er")
    store.write(STORED)
    assert store.read(STORED.url) == STORED


def test_another_address_finds_nothing(tmp_path):
    AnswerStore(tmp_path).write(STORED)
    assert AnswerStore(tmp_path).read("https://weather.example/other") is None


def kept_file(folder):
    AnswerStore(folder).write(STORED)
    (path,) = folder.iterdir()
    return path


@given(st.data())
def test_a_torn_or_foreign_file_is_as_good_as_none(tmp_path_factory, data):
    folder = tmp_path_factory.mktemp("kept")
    path = kept_file(folder)
    whole = path.read_bytes()
    cut = whole[: data.draw(st.integers(0, len(whole) - 1))]
    at = data.draw(st.integers(0, len(whole) - 1))
    flipped = whole[:at] + bytes([whole[at] ^ data.draw(st.integers(1, 255))]) + whole[at + 1 :]
    for torn in (cut, data.draw(st.binary()), whole + b"x"):
        path.write_bytes(torn)
        assert AnswerStore(folder).read(STORED.url) is None
    path.write_bytes(flipped)
    read = AnswerStore(folder).read(STORED.url)
    assert read is None or read.body == STORED.body


@pytest.mark.parametrize(
    "head",
    [b"[]", b"{}", b"null", b"[" * 100000, b'{"url": "https://weather.example/", "sha256": 5}', b"NaN", b"\xff"],
)
def test_a_foreign_head_is_as_good_as_none(tmp_path, head):
    kept_file(tmp_path).write_bytes(b"smokenight answer 1\n" + head + b"\n")
    assert AnswerStore(tmp_path).read(STORED.url) is None


def test_the_answer_of_another_address_under_our_name_is_as_good_as_none(tmp_path):
    theirs = kept_file(tmp_path)
    AnswerStore(tmp_path).write(replace(STORED, url="https://weather.example/other"))
    (ours,) = set(tmp_path.iterdir()) - {theirs}
    os.replace(theirs, ours)
    assert AnswerStore(tmp_path).read("https://weather.example/other") is None


def test_what_is_no_file_is_as_good_as_none(tmp_path):
    path = kept_file(tmp_path)
    path.unlink()
    path.mkdir()
    assert AnswerStore(tmp_path).read(STORED.url) is None
    path.rmdir()
    os.mkfifo(path)
    assert AnswerStore(tmp_path).read(STORED.url) is None


def test_a_write_that_fails_leaves_the_old_answer_and_no_litter(tmp_path, monkeypatch):
    kept_file(tmp_path)
    monkeypatch.setattr(os, "replace", lambda *_: (_ for _ in ()).throw(OSError(28, "no space left on device")))
    with pytest.raises(OSError, match="no space"):
        AnswerStore(tmp_path).write(replace(STORED, body=b"new"))
    assert AnswerStore(tmp_path).read(STORED.url) == STORED
    assert len(list(tmp_path.iterdir())) == 1


WRITER = """
import sys
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from providers.answer_store import AnswerStore, Stored
at = datetime(2026, 10, 20, tzinfo=UTC)
for n in range(150):
    AnswerStore(Path(sys.argv[1])).write(Stored("u", 200, {}, at, at, sys.argv[2].encode() * (2000 + n)))
"""


def test_two_processes_share_a_folder_and_nobody_sees_half_an_answer(tmp_path):
    AnswerStore(tmp_path).write(replace(STORED, url="u", body=b"aa"))
    writers = [subprocess.Popen([sys.executable, "-c", WRITER, str(tmp_path), letter]) for letter in "ab"]
    reads = 0
    while any(writer.poll() is None for writer in writers) or reads == 0:
        read = AnswerStore(tmp_path).read("u")
        assert read is not None
        assert len(set(read.body)) == 1
        reads += 1
    assert [writer.wait() for writer in writers] == [0, 0]
    assert [path.suffix for path in tmp_path.iterdir()] == [".answer"]
