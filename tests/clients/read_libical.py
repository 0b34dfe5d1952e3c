"""Reads a calendar on standard input with libical, checks its restrictions, and prints what it understood as JSON."""

import json
import sys

import gi

gi.require_version("ICalGLib", "3.0")
from gi.repository import ICalGLib  # noqa: E402

calendar = ICalGLib.Component.new_from_string(sys.stdin.buffer.read().decode())
fits = calendar.check_restrictions()
events, event = [], calendar.get_first_component(ICalGLib.ComponentKind.VEVENT_COMPONENT)
while event is not None:
    utc = ICalGLib.Timezone.get_utc_timezone()
    events.append({
        "uid": event.get_uid(),
        "start": event.get_dtstart().as_timet_with_zone(utc),
        "end": event.get_dtend().as_timet_with_zone(utc),
        "summary": event.get_summary(),
        "description": event.get_description(),
        "sequence": event.get_sequence(),
        "status": event.get_status().value_nick,
        "errors": event.count_errors(),
    })  # fmt: skip
    event = calendar.get_next_component(ICalGLib.ComponentKind.VEVENT_COMPONENT)
json.dump({"fits": bool(fits), "errors": calendar.count_errors(), "events": events}, sys.stdout)
