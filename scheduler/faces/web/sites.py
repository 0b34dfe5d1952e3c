"""The sites that a server keeps: a file, several, or folders of them, and what changed in them since the last look."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from scheduler.errors import BadSetting
from scheduler.faces.web.address import address_path, secret_made
from scheduler.household.site_file import load_site

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from scheduler.household.site import Site

Stamp = tuple[int, int]
"""When a site file and its address were last changed, in nanoseconds."""


@dataclass(frozen=True, slots=True)
class Served:
    """One site, its file, and the secret of its address."""

    path: Path
    site: Site
    secret: str


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
    _seen: dict[Path, Stamp] = field(default_factory=dict)

    def look(self) -> tuple[set[Path], set[str]]:
        """Read what changed; the paths that are new or changed, and the secrets that open nothing any more."""
        before = {one.secret for one in self.served.values()}
        files = site_files(self.named)
        for path in self.served.keys() - set(files):
            del self.served[path]
        changed = {path for path in files if self._stamp(path) != self._seen.get(path)}
        for path in changed:
            self._read(path)
        self._refuse_twins()
        return changed & self.served.keys(), before - {one.secret for one in self.served.values()}

    def _read(self, path: Path) -> None:
        try:
            self.served[path] = Served(path, load_site(path), secret_made(path))
            self.troubles.pop(path, None)
        except BadSetting as exc:
            self.troubles[path] = str(exc)
        self._seen[path] = self._stamp(path)

    def _refuse_twins(self) -> None:
        """The journal knows sites by name, so of two with one name only the first is served."""
        names: dict[str, Path] = {}
        for path, one in sorted(self.served.items()):
            first = names.setdefault(one.site.name, path)
            if first != path:
                self.troubles[path] = (
                    f"{path.name}: the name {one.site.name!r} is taken by {first.name}; give it another"
                )
                del self.served[path]

    @staticmethod
    def _stamp(path: Path) -> Stamp:
        return _changed_at(path), _changed_at(address_path(path))


def _changed_at(path: Path) -> int:
    try:
        return path.stat().st_mtime_ns
    except OSError:
        return 0
