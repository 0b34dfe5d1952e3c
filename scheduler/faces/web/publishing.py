"""What a site hands out, from what was kept of it: the feed, the page, and the answers as JSON."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from scheduler.faces.as_json import next_json, nights_json
from scheduler.faces.calendar import feed_bytes
from scheduler.faces.web.address import path_of
from scheduler.faces.web.page import Links, content_policy, render
from scheduler.faces.web.shelf import Body

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from scheduler.faces.feed import Entry
    from scheduler.faces.keeping import Kept
    from scheduler.faces.web.shelf import Pages
    from scheduler.faces.web.sites import Served
    from scheduler.household.site import Site

FEED, PAGE, NEXT, NIGHTS = "smoke.ics", "", "next.json", "nights.json"


NOT_MADE: Pages = {PAGE: None, FEED: None, NEXT: None, NIGHTS: None}
"""What a site has before its first answer."""


def feed_body(entries: Sequence[Entry], site: Site, now: datetime) -> Body:
    """The feed as it is from now on: an entry that leaves changes it, too, and no entry's stamp tells."""
    return Body(
        feed_bytes(entries, site),
        "text/calendar; charset=utf-8",
        max(now.replace(microsecond=0), *(entry.event.stamp for entry in entries)),
        (b"content-disposition", b'inline; filename="smoke.ics"'),
    )


def pages_of(kept: Kept, served: Served, public_url: str, feed: Body | None = None) -> Pages:
    """Everything behind a site's address; feed: the one that is there, where no entry changed."""
    first = kept.told[0].answer
    now = first.question.now.replace(microsecond=0)
    pages: dict[str, Body | None] = {
        PAGE: Body(
            render(kept.told, _links(served.secret, public_url)),
            "text/html; charset=utf-8",
            now,
            (b"content-security-policy", content_policy().encode()),
        ),
        NEXT: _json(next_json(first, kept.told[0].against), now),
        NIGHTS: _json(nights_json(first.question, first.nights), now),
    }
    pages[FEED] = feed_body(kept.entries, served.site, now) if feed is None else feed
    return pages


def _json(answer: object, now: datetime) -> Body:
    return Body(json.dumps(answer, ensure_ascii=False, allow_nan=False).encode(), "application/json", now)


def _links(secret: str, public_url: str) -> Links:
    https = public_url.rstrip("/") + path_of(secret, FEED)
    return Links(https, "webcal://" + https.partition("://")[2])
