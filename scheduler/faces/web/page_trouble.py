"""What a page says while it cannot be made anew: the last one with the trouble on top, or the trouble alone."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from markupsafe import escape

from scheduler.faces.web.page import content_policy, style_sheet, template
from scheduler.faces.web.shelf import Body
from scheduler.faces.wording import one_line, sentence

if TYPE_CHECKING:
    from datetime import datetime

    from scheduler.household.site import Site

MAIN = b"<main>\n"
"""Stands once on every page: nothing before it comes from outside but what is escaped."""

ALONE = b'<main id="alone">'
"""Where there is no page to put the trouble on."""

POLICY = b"content-security-policy"

_FOLDERS = re.compile(r"(?<![\w:/])/(?:[^/:\n]+/)+")
_TOLD = re.compile(rb'<p class="notice" id="trouble">.*</p>\n')


def page_in_trouble(trouble: str, site: Site, now: datetime, page: Body | None, *, calendar: bool) -> Body:
    """The page as it was, with the trouble told; without one, only the trouble.

    calendar: whether the site's calendar is served.  The folders of the server are nobody's business.
    """
    words = one_line(_FOLDERS.sub("", trouble))
    said = sentence(words)
    if page is None or ALONE in page.data:
        data = template("page_trouble.html").render(
            css=style_sheet(), site=one_line(site.name), trouble=said, calendar=calendar
        )
        return _body(data.encode(), now)
    notice = (
        '<p class="notice" id="trouble"><strong>Not up to date.</strong> '
        f"What follows is as it was at the moment above. Since then: {escape(words[:1] + said[1:])}</p>\n"
    )
    return _body(_TOLD.sub(b"", page.data).replace(MAIN, MAIN + notice.encode(), 1), now)


def _body(data: bytes, now: datetime) -> Body:
    return Body(data, "text/html; charset=utf-8", now.replace(microsecond=0), (POLICY, content_policy().encode()))
