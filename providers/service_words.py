"""A service's own reason for an error, found in whatever body came with it."""

from __future__ import annotations

import json
import re

from providers.payload import one_line

REASONS = ("reason", "detail", "title", "message", "error")
"""Where services put it: Open-Meteo ``reason``, problem documents (RFC 9457) ``detail`` and ``title``."""

_UNSHOWN = re.compile(r"<(script|style|head)\b.*?</\1\s*>|<[^>]*>", re.IGNORECASE | re.DOTALL)


def reason_in(body: bytes) -> str:
    """The reason as one short line; empty where there is none.

    >>> reason_in(b'{"error": true, "reason": "Latitude must be in range of -90 to 90"}')
    'Latitude must be in range of -90 to 90'
    """
    text = body.decode("utf-8", "replace")
    try:
        payload = json.loads(text)
    except (ValueError, RecursionError):
        return one_line(_UNSHOWN.sub(" ", text)) if text.strip() else ""
    if not isinstance(payload, dict):
        return one_line(text)
    said = (payload.get(name) for name in REASONS)
    return next((one_line(words) for words in said if isinstance(words, str) and words.strip()), "")
