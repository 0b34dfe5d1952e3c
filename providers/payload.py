"""What a service sent, made into values or refused in words: JSON, and text that a person may be shown."""

from __future__ import annotations

import json
import re
from typing import Any

from providers.errors import BadPayload

SHOWN_CHARS = 200
"""As much of a service's own words as one message shows."""

_BARE_NAN = re.compile(r"[-+]?(nan|inf)", re.IGNORECASE)


class BareNan(BadPayload):
    """A number is written as nan or infinity, which JSON does not allow."""


def one_line(text: str, longest: int = SHOWN_CHARS) -> str:
    """Text of a stranger, fit for one line of a terminal: no control or direction marks, cut to a length."""
    plain = "".join(char if char.isprintable() else " " for char in text)
    words = " ".join(plain.split())
    return words if len(words) <= longest else words[: longest - 1] + "…"


def parse_json(body: bytes, source: str, *, expect: type = dict) -> Any:
    """Read a body as JSON whose top is an ``expect`` (dict, list, or object for any).

    Raises BareNan for nan or infinity, BadPayload for everything else that is not such a document: a web
    page, a text cut short, a name given twice in one object, nesting without end.
    """
    if body.lstrip()[:1] == b"<":
        raise BadPayload(f"{source} answered with a web page, not with JSON")
    try:
        payload = json.loads(body, object_pairs_hook=_distinct, parse_constant=_refuse_constant)
    except BadPayload as error:
        raise type(error)(f"{source}: {error}") from error
    except json.JSONDecodeError as error:
        raise _not_json(error, source) from error
    except (ValueError, RecursionError) as error:  # not text, too many digits, too deep
        raise BadPayload(f"{source} answered with something that is not JSON") from error
    if not isinstance(payload, expect):
        raise BadPayload(f"{source} answered with {kind(payload)} where {_KINDS[expect]} was asked for")
    return payload


_KINDS: dict[type, str] = {
    dict: "an object", list: "a list", str: "a text", bool: "true or false",
    int: "a number", float: "a number", type(None): "null",
}  # fmt: skip


def kind(value: object) -> str:
    """What a JSON value is, in words."""
    return _KINDS.get(type(value), type(value).__name__)


def member(payload: dict[str, Any], name: str, expect: type, source: str) -> Any:
    """One named part of an object; BadPayload where it is missing or of another kind."""
    if name not in payload:
        raise BadPayload(f"{source}: the answer has no {name!r}")
    value = payload[name]
    if not isinstance(value, expect):
        raise BadPayload(f"{source}: {name!r} is {kind(value)}, not {_KINDS[expect]}")
    return value


def number(value: object, name: str, source: str, low: float, high: float) -> float:
    """A number between two bounds; BadPayload names the field otherwise.  True and false are no numbers."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise BadPayload(f"{source}: {name} is {kind(value)}, not a number")
    if not low <= value <= high:  # also false for NaN, and exact for integers of any length
        raise BadPayload(f"{source}: {name} is {_short(value)}, outside {low:g} to {high:g}")
    return float(value)


def _short(value: float) -> str:
    """A number in a few digits, even one that no float can hold."""
    return f"{value:g}" if abs(value) < 1e300 or isinstance(value, float) else "beyond all bounds"


def _distinct(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object of which every name was given once."""
    made = dict(pairs)
    if len(made) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise BadPayload(f"the answer gives {one_line(twice, 40)!r} twice in one object")
    return made


def _refuse_constant(word: str) -> None:
    raise BareNan(f"the answer holds {word} for a number")


def _ends_early(error: json.JSONDecodeError) -> bool:
    """Whether the text stops where more was due: in a string, a bracket, a number or a word like "false"."""
    if error.msg.startswith(("Unterminated", "Extra")):
        return error.msg.startswith("Unterminated")
    text = error.doc.rstrip()
    return error.pos >= len(text) or (error.pos >= len(text) - 5 and text[-1] not in "}]")


def _not_json(error: json.JSONDecodeError, source: str) -> BadPayload:
    """Tell a bare nan and a text cut short from other junk."""
    word = _BARE_NAN.match(error.doc, error.pos)
    if word:
        return BareNan(f"{source}: the answer holds {word.group()} for a number")
    if not error.doc.strip():
        return BadPayload(f"{source} answered with nothing")
    if _ends_early(error):
        return BadPayload(f"{source}: the answer is cut short")
    return BadPayload(f"{source} answered with something that is not JSON ({error.msg}, line {error.lineno})")
