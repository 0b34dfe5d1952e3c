"""The sites that a server keeps: a file, several, or folders of them, and what changed in them since the last look."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from providers.services import SERVICES
from providers.source import looks_like_a_file
from scheduler.errors import BadSetting
from scheduler.faces.web.address import address_path, secret_made
from scheduler.faces.web.timetable import cell_of
from scheduler.household.site_file import load_site

if TYPE_CHECKING:
    from collections.abc import Sequence
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


def site_files(named: Sequence[Path]) -> tuple[Path, ...]:
    """Every site file that the names mean; a folder means the `.toml` files in it.  BadSetting for one that is none."""
    found: list[Path] = []
    for path in named:
        inside = sorted(path.glob("*.toml")) if path.is_dir() else [path]
        if not inside:
            raise BadSetting(f"the folder {str(path)!r} holds no site file (NAME.toml)")
        found += inside
    return tuple(dict.fromkeys(found))


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
        """Read what changed; the paths that are new or changed, and the secrets that open nothing any more.

        Raises BadSetting for a folder without a site file; all is then as it was.
        """
        files = site_files(self.named)
        for known in (self._read, self._unread, self._seen):
            for path in known.keys() - set(files):
                del known[path]
        for path in files:
            self._look_at(path)
        before, self.troubles = self.served, dict(self._unread)
        self.served = self._without_twins()
        changed = {path for path, one in self.served.items() if before.get(path) is not one}
        return changed, {one.secret for one in before.values()} - {one.secret for one in self.served.values()}

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
        """The journal knows sites by name, so of two with one name only one is served: the one that was before."""
        found: dict[Path, Served] = {}
        names: dict[str, Path] = {}
        for path in sorted(self._read, key=lambda path: (self._name_before(path) != self._read[path].site.name, path)):
            one = self._read[path]
            first = names.setdefault(one.site.name, path)
            if first == path:
                found[path] = one
            else:
                self.troubles[path] = (
                    f"{path.name}: the name {one.site.name!r} is taken by {first.name}; give it another"
                )
        return found

    def _name_before(self, path: Path) -> str | None:
        return self.served[path].site.name if path in self.served else None


def _facts(path: Path) -> Facts:
    """When it was last changed, and which file it is: one put in its place may be older."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_ino, found.st_size
