"""Cautions as numbered notes: a number at each step that one belongs to, and each text once below."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduler.faces.flag_words import with_flags
from scheduler.faces.wording import NO_SOURCE
from scheduler.science.hazards import CAUTIONS, DEFERS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from scheduler.faces.terminal import Page


@dataclass(slots=True)
class Marks:
    """Keys of cautions in the order they were first met; a key's number is its place."""

    keys: list[str]
    """At first those that hold for the whole of it."""

    def of_step(self, keys: Sequence[str]) -> str:
        """Such as "[2, 5]"; empty where a step has none."""
        self.keys += [key for key in keys if key not in self.keys]
        numbers = sorted(self.keys.index(key) + 1 for key in keys)
        return f"[{', '.join(map(str, numbers))}]" if numbers else ""


def caution_sentence(key: str) -> str:
    """The sentence of a caution by its key, and where it is only practice; a sentence is returned as it is."""
    if key not in CAUTIONS:
        return key
    caution = CAUTIONS[key]
    unmarked = caution.source == NO_SOURCE and "common practice" not in caution.text
    return f"{caution.text} ({NO_SOURCE})" if unmarked else caution.text


def say_cautions(page: Page, marks: Marks) -> None:
    """Every caution once, by number."""
    page.heading("Cautions")
    for number, key in enumerate(marks.keys, start=1):
        page.say(with_flags(caution_sentence(key)), first=f"  {number:>2}  ")
    page.say(DEFERS, first="  ")
