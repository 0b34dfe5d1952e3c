"""A household member's calendar: vdirsyncer fetches the feed over HTTP, khal shows what it holds.

vdirsyncer puts a hash of the content in the place of each UID, so entries are told apart by their titles.
"""

from __future__ import annotations

import subprocess
from datetime import UTC, datetime
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from pathlib import Path

FORMAT = "{start-long-full}|{end-long-full}|{status}|{title}"
SHOWN = "%Y-%m-%d %H:%M"


class Row(NamedTuple):
    """An entry as khal lists it."""

    start: datetime
    end: datetime
    status: str


class Subscriber:
    """Both programs in a folder of their own, subscribed to one address."""

    def __init__(self, folder: Path, khal: str, vdirsyncer: str, url: str) -> None:
        self.folder, self.khal, self.vdirsyncer = folder, khal, vdirsyncer
        (folder / "events").mkdir(parents=True)
        self.subscribe(url)
        (folder / "khal.conf").write_text(
            f"[calendars]\n[[smoke]]\npath = {folder}/events\n"
            "[locale]\ntimeformat = %H:%M\ndateformat = %Y-%m-%d\nlongdateformat = %Y-%m-%d\n"
            "datetimeformat = %Y-%m-%d %H:%M\nlongdatetimeformat = %Y-%m-%d %H:%M\nlocal_timezone = UTC\n"
            f"default_timezone = UTC\n[sqlite]\npath = {folder}/khal.db\n"
        )

    def subscribe(self, url: str) -> None:
        (self.folder / "vds.conf").write_text(
            f'[general]\nstatus_path = "{self.folder}/status"\n'
            '[pair smoke]\na = "here"\nb = "there"\ncollections = null\nconflict_resolution = "b wins"\n'
            f'[storage here]\ntype = "filesystem"\npath = "{self.folder}/events"\nfileext = ".ics"\n'
            f'[storage there]\ntype = "http"\nurl = "{url}"\n'
        )

    def run(self, *command: str, feed: str = "") -> str:
        home = dict.fromkeys(("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME"), str(self.folder))
        env = {**home, "PATH": "/usr/bin:/bin", "LC_ALL": "C.UTF-8"}
        done = subprocess.run(command, input=feed, env=env, capture_output=True, text=True, timeout=60, check=False)
        assert done.returncode == 0, done.stderr
        return done.stdout + done.stderr  # vdirsyncer tells what it does on the latter

    def sync(self) -> str:
        conf = str(self.folder / "vds.conf")
        self.run(self.vdirsyncer, "-c", conf, "discover", feed="y\n" * 5)
        return self.run(self.vdirsyncer, "-c", conf, "sync")

    def shown(self, first: datetime, days: int = 60) -> dict[str, Row]:
        """Entries by title."""
        lines = self.run(self.khal, "-c", str(self.folder / "khal.conf"), "list", "--once", "--format", FORMAT,
                         "--day-format", "", f"{first:%Y-%m-%d}", f"{days}d").splitlines()  # fmt: skip
        rows = [line.split("|") for line in lines if line.count("|") >= 3]
        return {title: Row(moment(start), moment(end), status.strip()) for start, end, status, title in rows}


def moment(text: str) -> datetime:
    return datetime.strptime(text.strip(), SHOWN).replace(tzinfo=UTC)
