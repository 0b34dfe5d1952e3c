"""A page as a tree of elements, read with the standard library: enough to ask what a person would find on it."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

VOID = {"meta", "link", "br", "img", "hr", "input"}
UNSEEN = {"title", "desc", "style", "script"}


@dataclass
class Element:
    """One element: its name, attributes and what is in it."""

    tag: str
    attrs: dict[str, str]
    inside: list[Element | str] = field(default_factory=list)

    @property
    def text(self) -> str:
        """The words in it, in single spaces; no-break spaces count as spaces."""
        return " ".join("".join(self._words()).split())

    def _words(self) -> Iterator[str]:
        for one in self.inside:
            if isinstance(one, str):
                yield one
            elif one.tag not in UNSEEN:
                yield from one._words()

    def all(self, tag: str = "", css: str = "") -> list[Element]:
        """Every element below with that name and that class."""
        found = []
        for one in self.inside:
            if isinstance(one, Element):
                if (not tag or one.tag == tag) and (not css or css in one.attrs.get("class", "").split()):
                    found.append(one)
                found += one.all(tag, css)
        return found

    def by_id(self, name: str) -> Element:
        """The one element of that identifier."""
        (found,) = [one for one in self.all() if one.attrs.get("id") == name]
        return found


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open = [Element("", {})]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        one = Element(tag, {name: value or "" for name, value in attrs})
        assert len(one.attrs) == len(attrs), f"an attribute is given twice: {attrs}"
        self.open[-1].inside.append(one)
        if tag not in VOID:
            self.open.append(one)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open[-1].inside.append(Element(tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self.open[-1].tag == tag, f"<{self.open[-1].tag}> is closed by </{tag}>"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        self.open[-1].inside.append(data)


def read_page(page: bytes) -> Element:
    """The tree; AssertionError where an element is not closed, or not by its own end tag."""
    reader = _Reader()
    reader.feed(page.decode())
    reader.close()
    assert len(reader.open) == 1, f"not closed: {reader.open[1:]}"
    return reader.open[0]
