"""Where the weather comes from, how old it is, and what must be shown beside it."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from scheduler.faces.wording import long_span, one_line, sentence, when

if TYPE_CHECKING:
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
    age = long_span(max(forecast.age(question.now), timedelta(0)) / timedelta(hours=1))
    page.heading("Forecast")
    page.say(f"  {forecast.source}, made {when(forecast.issued_at, zone)}, {age} ago", rest="  ")
    if forecast.is_stale(question.now):
        page.say("  Out of date: a newer one should be there.", rest="  ", style="borderline")
    for note in forecast.notes:
        page.say(f"  {sentence(one_line(note))}", rest="  ")
    credit = forecast.credit
    link = f" ({one_line(credit.link)})" if credit.link else ""
    if credit.text:
        page.say(f"  {one_line(credit.text)}{link}", rest="  ", style="quiet")
