"""What holds the records of a command: the journal's file, or a memory that is gone when the command ends."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

from scheduler.journal.record import Seen

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from typing import Self

    from scheduler.journal.record import Record


class Keeper(Protocol):
    """What holds the records."""

    def add(self, records: Sequence[Record]) -> None:
        """Keep them all, or none."""

    def records(self, site: str | None = None) -> tuple[Record, ...]:
        """Those of a site, in order of recording."""

    def last(self, site: str) -> int:
        """Number of the site's last record; 0 where it has none."""

    def entries(self, site: str) -> tuple[str, ...]:
        """The site's calendar entries as they were published last."""

    def seen(self, site: str) -> Seen:
        """What there is of the site now, for `publish` to tell whether it still is."""

    def publish(
        self,
        site: str,
        records: Sequence[Record],
        entries: Mapping[str, str],
        left: Sequence[str],
        seen: Seen | None = None,
    ) -> int:
        """Keep the records, put the entries in place by UID, and take away those that have left.

        Returns the number of the site's last record; raises Overtaken where anything was written since it was `seen`.
        """


@dataclass(slots=True)
class Memory:
    """Records that are gone when the command ends."""

    held: list[Record] = field(default_factory=list)
    shown: dict[str, str] = field(default_factory=dict)
    """Calendar entries by UID; a memory has one site."""

    @classmethod
    def beginning_with(cls, keeper: Keeper, site: str) -> Self:
        """What a keeper has of a site, to go on from without writing to it."""
        from scheduler.faces.feed_text import entry_of

        shown = {entry_of(text).event.uid: text for text in keeper.entries(site)}
        return cls(list(keeper.records(site)), shown)

    def add(self, records: Sequence[Record]) -> None:
        """Keep them until the command ends."""
        from scheduler.journal.checks import checked

        self.held += [checked(record) for record in records]

    def records(self, site: str | None = None) -> tuple[Record, ...]:
        """All of them, or one site's."""
        return tuple(record for record in self.held if site is None or record.site == site)

    def last(self, site: str) -> int:
        """How many there are of the site."""
        return len(self.records(site))

    def entries(self, site: str) -> tuple[str, ...]:  # noqa: ARG002 - a memory has one site
        """The calendar entries as they were published last."""
        return tuple(self.shown.values())

    def seen(self, site: str) -> Seen:
        """What there is now."""
        return Seen(self.last(site), self.entries(site))

    def publish(
        self,
        site: str,
        records: Sequence[Record],
        entries: Mapping[str, str],
        left: Sequence[str],
        seen: Seen | None = None,  # noqa: ARG002 - nobody else writes here
    ) -> int:
        """Keep records and entries until the command ends."""
        self.add(records)
        self.shown = {uid: text for uid, text in {**self.shown, **entries}.items() if uid not in left}
        return self.last(site)
