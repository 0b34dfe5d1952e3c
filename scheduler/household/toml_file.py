"""Reading of a household's TOML files.

Every refusal is one line: the file, the place in it, what was given, and what would do.
"""

from __future__ import annotations

import math
import re
import tomllib
import unicodedata
from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING, NoReturn, TypeVar

from scheduler.errors import BadSetting
from scheduler.household.quantity import shown

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from pathlib import Path

LARGEST_BYTES = 256 * 1024
LONGEST_LINE = 200
"""Characters in a name or a title."""

_LINE_NUMBER = re.compile(r"\(at line (\d+), column \d+\)|\(at end of document\)")

T = TypeVar("T")
D = TypeVar("D")


@dataclass(frozen=True, slots=True)
class Table:
    """One table of a file, which says where it is when it refuses something."""

    file: str
    place: str
    """Such as "[limits]" or "step 'thaw'"."""
    values: Mapping[str, object]
    error: type[BadSetting] = BadSetting

    def refuse(self, key: str, problem: object) -> NoReturn:
        """Raise this file's error at that key."""
        where = f"{self.place} {key}".lstrip()
        raise self.error(f"{self.file}: {where}: {problem}")

    def only(self, known: Iterable[str], hints: Mapping[str, str] | None = None) -> None:
        """Refuse a key that is not known, with the hint given for it or else the nearest known one."""
        names = tuple(known)
        for key in self.values:
            if key not in names:
                hint = (hints or {}).get(key) or did_you_mean(key, names)
                self.refuse(key if is_line(key) else shown(key), f"is not known here; {hint}")

    def read(self, key: str, parse: Callable[[object], T], default: D) -> T | D:
        """The parsed value, or the default where the key is absent."""
        return self.need(key, parse, "") if key in self.values else default

    def need(self, key: str, parse: Callable[[object], T], example: str) -> T:
        """The parsed value; a file without the key is refused with the example."""
        if key not in self.values:
            self.refuse(key, f"is missing; write it such as {example}")
        try:
            return parse(self.values[key])
        except BadSetting as exc:
            self.refuse(key, exc)

    def table(self, key: str, place: str, example: str = "") -> Table:
        """A table inside this one, empty where it is absent; the example is of one, else a line of its own."""
        values = self.values.get(key, {})
        if not isinstance(values, dict):
            like = example or f"[{key}] on a line of its own, and its keys below"
            self.refuse(key, f"{shown(values)} is not a table of keys: write {like}")
        return Table(self.file, place, values, self.error)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """The nearest known word, or all of them where none is near."""
    names = tuple(known)
    near = get_close_matches(word.lower(), names, n=1)
    return f"did you mean {near[0]!r}?" if near else f"known are: {', '.join(names)}"


def is_line(text: str) -> bool:
    """Whether the text holds something and no line breaks, control characters or halves of characters."""
    return bool(text.strip()) and not any(unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp") for c in text)


def file_name(path: Path) -> str:
    """The path as a message writes it."""
    return str(path) if is_line(str(path)) else shown(str(path))


def read_file(path: Path, absent: str, error: type[BadSetting] = BadSetting) -> bytes:
    """The bytes of a file of sensible size; `absent` says what to do where there is none."""
    name = file_name(path)
    try:
        if path.is_dir():
            raise error(f"{name}: is a folder: name the file in it")
        if not path.is_file():
            raise error(f"{name}: there is no such file: {absent}")
        with path.open("rb") as file:
            data = file.read(LARGEST_BYTES + 1)
    except OSError as exc:
        raise error(f"{name}: cannot be read ({exc.strerror}): check the path and its permissions") from exc
    if len(data) > LARGEST_BYTES:
        raise error(f"{name}: is larger than {LARGEST_BYTES // 1024} kB: that is not a file for this tool")
    return data


def read_toml(data: bytes, file: str, error: type[BadSetting] = BadSetting) -> Table:
    """The whole file as a table; what is not UTF-8 or not TOML is refused, with its line."""
    if b"\0" in data:
        raise error(f"{file}: holds NUL bytes: save it as plain text in UTF-8")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as exc:
        line = data.count(b"\n", 0, exc.start) + 1
        raise error(f"{file}: line {line} is not UTF-8: save it as plain text in UTF-8") from exc
    try:
        return Table(file, "", tomllib.loads(text), error)
    except tomllib.TOMLDecodeError as exc:
        raise error(f"{file}: {_syntax(str(exc), text)}") from exc
    except (ValueError, RecursionError) as exc:
        raise error(f"{file}: holds a number or a nesting beyond all measure: write plain values") from exc


def _syntax(message: str, text: str) -> str:
    found = _LINE_NUMBER.search(message)
    line = int(found[1]) if found and found[1] else text.rstrip().count("\n") + 1
    problem = _LINE_NUMBER.sub("", message).strip()
    if "overwrite" in problem or "twice" in problem or "already" in problem:
        return f"line {line}: a key or section stands twice: keep one of them"
    problem = problem[:1].lower() + problem[1:]
    return f"line {line}: not TOML ({problem}): write key = value, with text in quotes"


def a_flag(given: object) -> bool:
    """Either true or false."""
    if not isinstance(given, bool):
        raise BadSetting(f"{shown(given)} is neither true nor false: write one of them, without quotes")
    return given


def a_number(given: object) -> float:
    """A finite number that is neither text nor true or false."""
    if isinstance(given, str):
        raise BadSetting(f"{shown(given)} is text: write a number, without quotes and units")
    if isinstance(given, bool) or not isinstance(given, (int, float)):
        raise BadSetting(f"{shown(given)} is not a number: write a plain one, such as 0.5")
    try:
        number = float(given)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise BadSetting(f"{shown(given)} is not a finite number: write a plain one, such as 0.5")
    return number


def a_line(given: object) -> str:
    """Text on one line that is not blank."""
    if not isinstance(given, str):
        raise BadSetting(f"{shown(given)} is not text: write it in quotes")
    if not is_line(given) or len(given) > LONGEST_LINE:
        raise BadSetting(f"{shown(given)} is not one line of text: write 1 to {LONGEST_LINE} characters")
    return given


def one_of(*choices: T) -> Callable[[object], T]:
    """A parser that takes one of the choices and nothing else; true is not 1."""

    def parse(given: object) -> T:
        for choice in choices:
            if type(given) is type(choice) and given == choice:
                return choice
        raise BadSetting(f"{shown(given)} is not known: write {' or '.join(_toml(c) for c in choices)}")

    return parse


def within(parse: Callable[[object], float], low: float, high: float, problem: str) -> Callable[[object], float]:
    """A parser that refuses what lies outside of low to high, both allowed, for the reason given."""

    def check(given: object) -> float:
        value = parse(given)
        if not low <= value <= high:
            raise BadSetting(f"{shown(given)} {problem}")
        return value

    return check


def a_list(parse: Callable[[object], T]) -> Callable[[object], tuple[T, ...]]:
    """A parser of a list, none of whose entries stands twice."""

    def check(given: object) -> tuple[T, ...]:
        if not isinstance(given, list):
            raise BadSetting(f'{shown(given)} is not a list: write one such as ["one", "other"]')
        entries = tuple(parse(entry) for entry in given)
        if len(set(entries)) < len(entries):
            raise BadSetting(f"{shown(given)} holds an entry twice: keep one of them")
        return entries

    return check


def _toml(choice: object) -> str:
    return f'"{choice}"' if isinstance(choice, str) else str(choice)
