"""Files that appear whole or not at all."""

from __future__ import annotations

import os
import secrets
import stat
from contextlib import suppress
from pathlib import Path

from scheduler.errors import BadSetting


def write_whole(path: Path, data: bytes) -> None:
    """Put `data` into the file at `path`; another program sees the old bytes or the new ones, never a part.

    A file that is there keeps its permissions, a new one gets the usual ones, and a symbolic link stays one.
    Raises BadSetting, one line, where the file cannot be written; it is then as it was before.
    """
    try:
        target = Path(os.path.realpath(path))
        _check(target)
        _replace(target, data)
    except OSError as exc:  # a full disk, a folder that may not be written to
        reason = exc.strerror or type(exc).__name__
        raise BadSetting(f"cannot write {str(path)!r}: {reason.lower()}") from exc
    except BadSetting as exc:
        raise BadSetting(f"cannot write {str(path)!r}: {exc}") from None


def _check(target: Path) -> None:
    """Refuse what a rename would fail on late, or would wrongly succeed on."""
    if target.is_dir():
        raise BadSetting("it is a folder; name a file in it")
    if not target.parent.is_dir():
        raise BadSetting(f"there is no folder {str(target.parent)!r}; make it first, or name another")
    if not target.exists():
        return
    if not target.is_file():
        raise BadSetting("it is not a plain file; name one")
    if not os.access(target, os.W_OK):  # a rename asks the folder alone
        raise BadSetting("it is write-protected; allow writing to it, or name another file")


def _replace(target: Path, data: bytes) -> None:
    """Write beside the target, down to the disk, and move that over it; leave nothing behind on failure."""
    # In the same folder, as a rename is atomic only within one file system; its name short, to fit anywhere.
    beside = target.with_name(f".{secrets.token_hex(8)}.tmp")
    try:
        with beside.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if target.exists():
            beside.chmod(stat.S_IMODE(target.stat().st_mode))
        os.replace(beside, target)
    except BaseException:
        with suppress(OSError):
            beside.unlink()
        raise
