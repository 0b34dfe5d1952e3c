"""Whoever wants to know which service is being asked, while it is asked: a face that shows a person why they wait."""

from __future__ import annotations

from contextlib import nullcontext
from contextvars import ContextVar
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from contextlib import AbstractContextManager

    Watch = Callable[[str, float], AbstractContextManager[object]]
    """Given the service's name and the longest that it may take [s], something to hold while it is asked."""


def nobody(source: str, most_s: float) -> AbstractContextManager[object]:  # noqa: ARG001 - the shape of every watch
    """Watch nothing."""
    return nullcontext()


WATCH: ContextVar[Watch] = ContextVar("WATCH", default=nobody)
"""A thread of its own begins with nobody watching."""
