"""Sets of time as sorted closed intervals, and the algebra that scheduling needs.

Instants are seconds since 1970-01-01T00:00Z as floats: whole minutes are exact in them, and no zone can slip in.
A single point is an interval.  Infinite ends are allowed.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

Piece = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Spans:
    """A sorted set of disjoint closed intervals; build it with `Spans.of`."""

    pieces: tuple[Piece, ...]

    @classmethod
    def of(cls, pieces: Iterable[Piece]) -> Spans:
        """Any intervals, put in order and joined where they touch; one that ends before it starts is empty."""
        merged: list[Piece] = []
        for start, end in sorted(pieces):
            if end < start:
                continue
            if merged and start <= merged[-1][1]:
                merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
            else:
                merged.append((start, end))
        return cls(tuple(merged))

    def __iter__(self) -> Iterator[Piece]:
        """The intervals in order."""
        return iter(self.pieces)

    def __bool__(self) -> bool:
        """Whether there is any instant in it."""
        return bool(self.pieces)

    def __and__(self, other: Spans) -> Spans:
        """Instants in both."""
        found: list[Piece] = []
        mine, theirs = self.pieces, other.pieces
        i = j = 0
        while i < len(mine) and j < len(theirs):
            start, end = max(mine[i][0], theirs[j][0]), min(mine[i][1], theirs[j][1])
            if start <= end:
                found.append((start, end))
            if mine[i][1] <= theirs[j][1]:
                i += 1
            else:
                j += 1
        return Spans.of(found)

    def __or__(self, other: Spans) -> Spans:
        """Instants in either."""
        return Spans.of((*self.pieces, *other.pieces))

    def __contains__(self, instant: float) -> bool:
        """Whether the instant lies in it."""
        return self.piece_at(instant) is not None

    @property
    def first(self) -> float:
        """Earliest instant; ValueError where there is none."""
        if not self.pieces:
            raise ValueError("an empty set of time has no first instant")
        return self.pieces[0][0]

    @property
    def last(self) -> float:
        """Latest instant; ValueError where there is none."""
        if not self.pieces:
            raise ValueError("an empty set of time has no last instant")
        return self.pieces[-1][1]

    def piece_at(self, instant: float) -> Piece | None:
        """The interval that holds the instant."""
        after = bisect_right(self.pieces, (instant, inf))
        if after and self.pieces[after - 1][1] >= instant:
            return self.pieces[after - 1]
        return None

    def between(self, start: float, end: float) -> Spans:
        """What of it lies in [start, end]."""
        low = max(0, bisect_left(self.pieces, (start, start)) - 1)
        high = bisect_right(self.pieces, (end, inf))
        cut = ((max(a, start), min(b, end)) for a, b in self.pieces[low:high])
        return Spans(tuple((a, b) for a, b in cut if a <= b))

    def outside(self) -> Spans:
        """The rest of time, closed: it keeps the ends of the intervals."""
        edges = [-inf, *(edge for piece in self.pieces for edge in piece), inf]
        return Spans.of((a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if a < b)

    def shrink(self, length: float) -> Spans:
        """Instants at which something of that length can start and end inside one interval."""
        return Spans(tuple((a, b - length) for a, b in self.pieces if b - length >= a))

    def map_ends(self, first: Callable[[float], float], last: Callable[[float], float]) -> Spans:
        """Each interval [a, b] as [first(a), last(b)], joined."""
        return Spans.of((first(a), last(b)) for a, b in self.pieces)

    def nearest(self, instant: float) -> float:
        """The instant in it that is closest to the given one, the earlier of two equals; ValueError if empty."""
        if not self.pieces:
            raise ValueError("an empty set of time has no nearest instant")
        after = bisect_right(self.pieces, (instant, inf))
        near = [min(max(instant, a), b) for a, b in self.pieces[max(0, after - 1) : after + 1]]
        return min(near, key=lambda point: (abs(point - instant), point))


EMPTY = Spans(())
ALWAYS = Spans(((-inf, inf),))
