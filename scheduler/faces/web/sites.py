"""The sites that a server keeps: a file, several, or folders of them, and what changed in them since the last look."""

from __future__ import annotations

import shlex
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from providers.services import SERVICES
from providers.source import looks_like_a_file
from scheduler.errors import BadSetting
from scheduler.faces.web.address import address_path, secret_made
from scheduler.faces.web.timetable import cell_of
from scheduler.household.site_file import load_site

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from pathlib import Path

    from scheduler.faces.web.timetable import Cell
    from scheduler.household.site import Site

Facts = tuple[int, int, int] | None
"""When a file was last changed [ns], its number and its size; None where there is none."""
Stamp = tuple[Facts, Facts]
"""Of a site file and of its address."""


@dataclass(frozen=True, slots=True)
class Served:
    """One site, its file, and the secret of its address."""

    path: Path
    site: Site
    secret: str

    @property
    def cell(self) -> Cell:
        """Whose forecast it shares; a table is read from the folder of the site file."""
        usual, source = cell_of(self.site), self.site.weather
        if source is None or source in SERVICES or not looks_like_a_file(source):
            return usual
        return str(self.path.parent / source), *usual[1:]


def files_in(folder: Path) -> list[Path]:
    """The site files in a folder: `NAME.toml`; a name with a dot before it is an editor's or a copy's.

    BadSetting where the folder cannot be read.
    """
    try:
        return sorted(path for path in folder.iterdir() if path.suffix == ".toml" and not path.name.startswith("."))
    except OSError as exc:
        reason = (exc.strerror or type(exc).__name__).lower()
        raise BadSetting(f"the folder {str(folder)!r} cannot be read: {reason}; allow reading of it") from exc


@dataclass(slots=True)
class Sites:
    """The sites as they were last read; a file that cannot be read keeps what was read of it before."""

    named: tuple[Path, ...]
    served: dict[Path, Served] = field(default_factory=dict)
    troubles: dict[Path, str] = field(default_factory=dict)
    """What is wrong with which file, in one line."""
    _read: dict[Path, Served] = field(default_factory=dict)
    """Every file that could be read, those with a name that is taken too."""
    _unread: dict[Path, str] = field(default_factory=dict)
    _seen: dict[Path, Stamp] = field(default_factory=dict)

    def look(self) -> tuple[set[Path], set[str]]:
        """Read what changed; the paths that are new or changed, and the secrets whose pages are to go.

        Such a secret may be another site's now: a file put in the place of one, with its address.

        Raises BadSetting for a folder that cannot be read; all is then as it was.
        """
        files, empty = self._found()
        for known in (self._read, self._unread, self._seen):
            for path in known.keys() - set(files):
                del known[path]
        for path in files:
            self._look_at(path)
        before, self.troubles = self.served, {**self._unread, **empty}
        self.served = self._without_twins()
        changed = {path for path, one in self.served.items() if before.get(path) is not one}
        owners = {one.secret: one for one in self.served.values()}
        return changed, {one.secret for one in before.values() if not _is_still(one, owners.get(one.secret))}

    def _found(self) -> tuple[tuple[Path, ...], dict[Path, str]]:
        """Every file that the names mean, and what is wrong with folders that hold none."""
        files: list[Path] = []
        empty: dict[Path, str] = {}
        for path in self.named:
            inside = files_in(path) if path.is_dir() else [path]
            if not inside:
                empty[path] = f"the folder {str(path)!r} holds no site file (NAME.toml)"
            files += inside
        return tuple(dict.fromkeys(files)), empty

    def _look_at(self, path: Path) -> None:
        """Read one file, where it or its address changed.

        Its facts are taken before it is read: what changes meanwhile is seen at the next look.
        """
        facts = _facts(path)
        if self._seen.get(path) == (facts, _facts(address_path(path))):
            return
        try:
            site = load_site(path)
            secret_made(path)
            self._seen[path] = facts, _facts(address_path(path))
            self._read[path] = Served(path, site, secret_made(path))
            self._unread.pop(path, None)
        except BadSetting as exc:
            self._seen[path] = facts, _facts(address_path(path))
            self._unread[path] = str(exc)

    def _without_twins(self) -> dict[Path, Served]:
        """Of two with one name, as the journal knows sites by it, or with one address, only one is served.

        It is the one that had it before; else the first by file name, but of addresses the older one: who subscribed
        to a site must not be shown another, to which its address was copied.
        """
        read = self._read
        names = _owners(sorted(read, key=self._claim_to_name), lambda path: read[path].site.name)
        for path in _refused(names):
            self.troubles[path] = (
                f"{path.name}: the name {read[path].site.name!r} is taken by {names[path].name}; give it another"
            )
        named = names.keys() - _refused(names)
        addresses = _owners(sorted(named, key=self._claim_to_address), lambda path: read[path].secret)
        for path in _refused(addresses):
            anew = shlex.join(("smokenight", "address", "--new", "--site", str(path)))
            self.troubles[path] = f"{path.name}: its address is that of {addresses[path].name}; `{anew}` makes its own"
        return {path: read[path] for path in sorted(named - _refused(addresses))}

    def _claim_to_name(self, path: Path) -> tuple[bool, Path]:
        had = path in self.served and self.served[path].site.name == self._read[path].site.name
        return not had, path

    def _claim_to_address(self, path: Path) -> tuple[bool, int, Path]:
        had = path in self.served and self.served[path].secret == self._read[path].secret
        _, facts = self._seen[path]
        return not had, 0 if facts is None else facts[0], path


def _owners(paths: Iterable[Path], what: Callable[[Path], str]) -> dict[Path, Path]:
    """For each of the paths, the first that has the same."""
    first: dict[str, Path] = {}
    return {path: first.setdefault(what(path), path) for path in paths}


def _refused(owners: Mapping[Path, Path]) -> set[Path]:
    return {path for path, owner in owners.items() if path != owner}


def _is_still(one: Served, after: Served | None) -> bool:
    """Whether what has its secret now is the same site, if only by its file or by its name."""
    return after is not None and (after.path == one.path or after.site.name == one.site.name)


def _facts(path: Path) -> Facts:
    """When it was last changed, and which file it is: one put in its place may be older."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_ino, found.st_size
