"""Subscribes a desktop's calendar engine, evolution-data-server, to the address given; takes orders on standard input.

"fetch" has it fetch anew, which it does in its own time; "tell" prints what it holds now, as a line of JSON.
"""

import json
import os
import sys
from pathlib import Path
from urllib.parse import urlsplit

import gi

gi.require_version("EDataServer", "1.2")
gi.require_version("ECal", "2.0")
gi.require_version("ICalGLib", "3.0")
from gi.repository import ECal, EDataServer, ICalGLib  # noqa: E402

SOURCE = """[Data Source]
DisplayName=Smoke
Parent=webcal-stub
[Calendar]
BackendName=webcal
[Authentication]
Host={hostname}
Port={port}
Method=none
[Security]
Method=none
[WebDAV Backend]
ResourcePath={path}
[Refresh]
Enabled=false
"""
DO_NOT_WAIT = 0xFFFFFFFF
VEVENT, VALARM = ICalGLib.ComponentKind.VEVENT_COMPONENT, ICalGLib.ComponentKind.VALARM_COMPONENT


def subscribed(url):
    """The engine's own file for a subscription, as its settings dialogue would leave it."""
    parts = urlsplit(url)
    folder = Path(os.environ["XDG_CONFIG_HOME"], "evolution", "sources")
    folder.mkdir(parents=True)
    (folder / "smoke.source").write_text(SOURCE.format(hostname=parts.hostname, port=parts.port, path=parts.path))
    source = EDataServer.SourceRegistry.new_sync(None).ref_source("smoke")
    return ECal.Client.connect_sync(source, ECal.ClientSourceType.EVENTS, DO_NOT_WAIT, None)


def reminders(event):
    """How many seconds before its start it reminds."""
    alarm = event.get_first_component(VALARM)
    while alarm is not None:
        trigger = alarm.get_first_property(ICalGLib.PropertyKind.TRIGGER_PROPERTY).get_trigger()
        yield -trigger.get_duration().as_int()
        alarm = event.get_next_component(VALARM)


def told(event):
    utc = ICalGLib.Timezone.get_utc_timezone()
    return {
        "uid": event.get_uid(),
        "start": event.get_dtstart().as_timet_with_zone(utc),
        "end": event.get_dtend().as_timet_with_zone(utc),
        "summary": event.get_summary(),
        "description": event.get_description(),
        "status": event.get_status().value_nick.upper(),
        "sequence": event.get_sequence(),
        "reminders": sorted(reminders(event)),
    }


client = subscribed(sys.argv[1])
for order in sys.stdin:
    if order.strip() == "fetch":
        client.refresh_sync(None)
    else:
        _, events = client.get_object_list_sync("#t", None)
        sys.stdout.write(json.dumps([told(event) for event in events]) + "\n")
        sys.stdout.flush()
