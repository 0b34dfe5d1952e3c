"""Files are written whole or not at all."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from scheduler.errors import BadSetting
from scheduler.faces.files import write_whole

OLD, NEW = b"old plan\r\n", b"new plan\r\n" * 1000


@pytest.fixture
def target(tmp_path: Path) -> Path:
    """A file that is there, in a folder of its own."""
    path = tmp_path / "smoke.ics"
    path.write_bytes(OLD)
    return path


def refused(path: Path) -> str:
    """The message; one line that names the path as it was given."""
    with pytest.raises(BadSetting) as caught:
        write_whole(path, NEW)
    message = str(caught.value)
    assert message.startswith(f"cannot write {str(path)!r}: ")
    assert "\n" not in message
    return message


def listed(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_a_new_file_holds_exactly_the_bytes_and_nothing_lies_beside_it(tmp_path):
    path = tmp_path / "smoke.ics"
    write_whole(path, NEW)
    assert path.read_bytes() == NEW
    assert listed(tmp_path) == ["smoke.ics"]


def test_a_file_that_is_there_is_replaced(target):
    write_whole(target, NEW)
    assert target.read_bytes() == NEW
    assert listed(target.parent) == ["smoke.ics"]


def test_a_reader_that_has_the_old_file_open_reads_it_to_its_end(target):
    with target.open("rb") as reader:
        write_whole(target, NEW)
        assert reader.read() == OLD


def test_a_new_file_gets_the_usual_permissions(tmp_path):
    before = os.umask(0o027)
    try:
        write_whole(tmp_path / "smoke.ics", NEW)
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "smoke.ics").stat().st_mode) == 0o640


def test_a_replaced_file_keeps_its_permissions(target):
    target.chmod(0o604)
    write_whole(target, NEW)
    assert stat.S_IMODE(target.stat().st_mode) == 0o604


def test_a_symbolic_link_stays_one_and_its_target_is_replaced(target, tmp_path):
    link = tmp_path / "link.ics"
    link.symlink_to(target)
    write_whole(link, NEW)
    assert link.is_symlink()
    assert target.read_bytes() == NEW


def test_a_name_as_long_as_a_name_may_be_is_written(tmp_path):
    path = tmp_path / ("n" * 251 + ".ics")
    write_whole(path, NEW)
    assert path.read_bytes() == NEW


def test_a_relative_path_is_written(target, monkeypatch):
    monkeypatch.chdir(target.parent)
    write_whole(Path("smoke.ics"), NEW)
    assert target.read_bytes() == NEW


def test_a_missing_folder_is_refused_and_not_made(tmp_path):
    assert f"no folder {str(tmp_path / 'none')!r}" in refused(tmp_path / "none" / "smoke.ics")
    assert listed(tmp_path) == []


def test_a_file_in_place_of_the_folder_is_refused(target):
    assert "no folder" in refused(target / "smoke.ics")
    assert target.read_bytes() == OLD


def test_a_folder_is_refused(tmp_path):
    assert "it is a folder" in refused(tmp_path)


def test_what_is_not_a_plain_file_is_refused(tmp_path):
    pipe = tmp_path / "pipe"  # never a real device: root would replace it if the check were gone
    os.mkfifo(pipe)
    assert "not a plain file" in refused(pipe)
    assert pipe.is_fifo()


def test_a_name_longer_than_a_name_may_be_is_refused(tmp_path):
    assert "file name too long" in refused(tmp_path / ("n" * 300))
    assert listed(tmp_path) == []


def test_a_write_protected_file_is_left_alone(target, monkeypatch):
    monkeypatch.setattr(os, "access", lambda path, mode: False)  # root may write anything
    assert "write-protected" in refused(target)
    assert target.read_bytes() == OLD


@pytest.mark.parametrize("step", ["fsync", "replace"])
@pytest.mark.parametrize(
    ("error", "said"),
    [(OSError(28, "No space left on device"), "no space left"), (PermissionError(13, "Permission denied"), "denied")],
)
def test_a_write_that_fails_on_the_way_leaves_the_old_file_and_nothing_else(target, monkeypatch, step, error, said):
    def fail(*args: object) -> None:
        raise error

    monkeypatch.setattr(os, step, fail)
    assert said in refused(target)
    assert target.read_bytes() == OLD
    assert listed(target.parent) == ["smoke.ics"]


def test_an_interruption_on_the_way_leaves_the_old_file_and_nothing_else(target, monkeypatch):
    def interrupt(*args: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_whole(target, NEW)
    assert target.read_bytes() == OLD
    assert listed(target.parent) == ["smoke.ics"]


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write into any folder")
def test_a_folder_that_may_not_be_written_to_is_refused(tmp_path):
    tmp_path.chmod(0o500)
    try:
        assert "permission denied" in refused(tmp_path / "smoke.ics")
    finally:
        tmp_path.chmod(0o700)


def test_the_bytes_are_on_the_disk_before_the_name_is(target, monkeypatch):
    calls = []
    real = {name: getattr(os, name) for name in ("fsync", "replace")}
    for name in real:
        monkeypatch.setattr(os, name, lambda *args, name=name: (calls.append(name), real[name](*args)))
    write_whole(target, NEW)
    assert calls == ["fsync", "replace"]
