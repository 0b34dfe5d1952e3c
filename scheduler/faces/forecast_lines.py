"""Where the weather comes from, how old it is, and what must be shown beside it."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from scheduler.faces.wording import clock, long_span, one_line, sentence, when
from scheduler.household.units import show_difference

if TYPE_CHECKING:
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from scheduler.faces.terminal import Page
    from scheduler.service import Question

SAMPLE = "sample"
"""Name of the invented weather."""

INVENTED = "The weather of this answer is invented, to try the tool with."


def say_invented(page: Page, question: Question) -> None:
    """Up front, where the weather is no weather."""
    if question.forecast.source == SAMPLE:
        page.say(INVENTED, style="unknown")


def say_forecast(page: Page, question: Question) -> None:
    """Source, age, notes and credit."""
    forecast, zone = question.forecast, question.site.zone
    page.heading("Forecast")
    say_made(page, forecast.source, forecast.issued_at, question.now, zone)
    if forecast.is_stale(question.now):
        page.say("  Out of date: a newer one should be there.", rest="  ", style="borderline")
    if correction := correction_words(question):
        page.say(f"  {correction}", rest="  ")
    for note in forecast.notes:
        page.say(f"  {sentence(one_line(note))}", rest="  ")
    credit = forecast.credit
    link = f" ({one_line(credit.link)})" if credit.link else ""
    if credit.text:
        page.say(f"  {one_line(credit.text)}{link}", rest="  ", style="quiet")


def correction_words(question: Question) -> str:
    """What was taken off the forecast's air, where the household's own nights have taught any; else empty."""
    bias_c = question.bias_c
    size = show_difference(abs(bias_c), question.site.units)
    if size == show_difference(0.0, question.site.units):
        return ""
    done, side = ("taken off", "warm") if bias_c > 0 else ("added to", "cold")
    return f"{size} {done} its air: it has been so much too {side} at your porch (see `smokenight learned`)."


def say_made(page: Page, source: str, issued_at: datetime, now: datetime, zone: ZoneInfo) -> None:
    """Whose forecast it is, and how old."""
    age = long_span(max(now - issued_at, timedelta(0)) / timedelta(hours=1))
    page.say(f"  {source}, made {when(issued_at, zone)}, {age} ago", rest="  ")


def say_asked(page: Page, asked: datetime, zone: ZoneInfo, read_back: datetime | None = None) -> None:
    """The moment that is answered for; of an answer that was kept, when it was read back, too."""
    later = "" if read_back is None else f", read back {clock(read_back, zone)}"
    page.fact("asked", f"{when(asked, zone)}{later}")
