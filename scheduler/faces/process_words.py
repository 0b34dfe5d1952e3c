"""What a process asks of the smoke in place of the site, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.faces.wording import NO_SOURCE, long_span
from scheduler.household.units import show_temperature

if TYPE_CHECKING:
    from scheduler.service import Question


def smoke_words(question: Question) -> str:
    """Such as "3 h to 6 h under 10.0 °C, as the process hard-cheese asks"; empty where the site alone decides."""
    smoke, site = question.process.smoke, question.site
    asked = []
    if smoke.duration_h is not None:
        asked.append(f"{long_span(site.duration_h)} to {long_span(site.longest_h)}")
    if smoke.ceiling_c is not None and smoke.ceiling_c == site.limits.ceiling_c:
        asked.append(f"ceiling {show_temperature(smoke.ceiling_c, site.units)}")
    return f"{', '.join(asked)}, as the process {question.process.name} asks ({NO_SOURCE})" if asked else ""
