"""Wrong site and process files: each is refused in one line that names the file, the place and what would do."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from wrong_processes import PROCESS, WRONG_PROCESSES, step
from wrong_sites import SITE, WRONG_SITES

from scheduler.errors import BadProcess, BadSetting
from scheduler.household.process_file import load_process, process_from
from scheduler.household.site_file import load_site, site_from

if TYPE_CHECKING:
    from pathlib import Path

KNOWN_CAUTIONS = frozenset({"outdoors", "parasites"})


def put(folder: Path, name: str, content: str | bytes) -> Path:
    """A file of that content."""
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def assert_one_line_that_names_the_file(message: str, path: Path) -> None:
    assert message.startswith(f"{path}: ")
    assert len(message.splitlines()) == 1
    assert message.isprintable()
    assert len(message) - len(str(path)) < 320


@pytest.mark.parametrize(("content", "words"), WRONG_SITES.values(), ids=WRONG_SITES)
def test_wrong_site_file_is_refused_in_one_line(tmp_path, content, words):
    path = put(tmp_path, "site.toml", content)
    with pytest.raises(BadSetting) as caught:
        load_site(path)
    assert_one_line_that_names_the_file(str(caught.value), path)
    for word in words:
        assert word in str(caught.value)


@pytest.mark.parametrize(("content", "words"), WRONG_PROCESSES.values(), ids=WRONG_PROCESSES)
def test_wrong_process_file_is_refused_in_one_line(tmp_path, content, words):
    path = put(tmp_path, "mine.toml", content)
    with pytest.raises(BadProcess) as caught:
        load_process(path, KNOWN_CAUTIONS)
    assert_one_line_that_names_the_file(str(caught.value), path)
    for word in words:
        assert word in str(caught.value)


def test_what_the_wrong_files_are_made_from_is_right():
    assert site_from(SITE.encode(), "site.toml").name == "invented garden"
    assert [each.name for each in process_from(PROCESS.encode(), "mine.toml").steps] == ["salt", "light", "lift"]
    assert process_from((PROCESS + step("look", 'comes_from = "light"')).encode(), "mine.toml")


def test_missing_site_file_says_how_to_get_one(tmp_path):
    with pytest.raises(BadSetting, match=r"none\.toml: there is no such file: .*`smokenight setup` to make one$"):
        load_site(tmp_path / "none.toml")


def test_missing_process_file_is_refused_as_a_process(tmp_path):
    with pytest.raises(BadProcess, match=r"none\.toml: there is no such file: name a process file"):
        load_process(tmp_path / "none.toml")


def test_folder_is_no_file(tmp_path):
    with pytest.raises(BadSetting, match="is a folder"):
        load_site(tmp_path)


@pytest.mark.parametrize("name", ["a\nb.toml", "a\0b.toml", "a" * 5000])
def test_odd_path_is_refused_in_one_line(tmp_path, name):
    with pytest.raises(BadSetting) as caught:
        load_site(tmp_path / name)
    assert len(str(caught.value).splitlines()) == 1


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="permission bits bind only ordinary POSIX users")
def test_unreadable_file_is_refused_in_one_line(tmp_path):
    path = put(tmp_path, "site.toml", SITE)
    path.chmod(0)
    with pytest.raises(BadSetting, match=r"cannot be read \(Permission denied\)"):
        load_site(path)


@given(st.binary(max_size=200))
def test_any_bytes_are_refused_in_one_line(data):
    with pytest.raises(BadSetting) as caught:
        site_from(data, "site.toml")
    assert str(caught.value).startswith("site.toml: ")
    assert len(str(caught.value).splitlines()) == 1


@given(st.sampled_from([*SITE.splitlines(), *PROCESS.splitlines()]), st.text(max_size=20), st.integers(0, 60))
def test_a_damaged_line_is_read_or_refused_in_one_line(line, damage, at):
    damaged = line[:at] + damage + line[at:]
    for read, text in ((site_from, SITE), (process_from, PROCESS)):
        try:
            message = repr(read(text.replace(line, damaged).encode("utf-8", "surrogatepass"), "file.toml").name)
        except BadSetting as exc:
            message = str(exc)
        assert len(message.splitlines()) == 1
