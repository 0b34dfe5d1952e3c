// Reads a calendar on standard input with ical.js, and prints what it understood as JSON.
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";
const require = createRequire(process.argv[2] + "/");
const loaded = require("ical.js");
const ICAL = loaded.default ?? loaded;
const calendar = new ICAL.Component(ICAL.parse(readFileSync(0, "utf8")));
const events = calendar.getAllSubcomponents("vevent").map((component) => {
  const event = new ICAL.Event(component);
  return {
    uid: event.uid,
    start: event.startDate.toUnixTime(),
    end: event.endDate.toUnixTime(),
    summary: event.summary,
    description: event.description,
    sequence: event.sequence,
    status: component.getFirstPropertyValue("status"),
    alarms: component.getAllSubcomponents("valarm").map((alarm) => alarm.getFirstPropertyValue("trigger").toSeconds()),
  };
});
const refresh = calendar.getFirstProperty("refresh-interval");
console.log(JSON.stringify({ events, refresh_type: refresh.type, refresh_s: refresh.getFirstValue().toSeconds() }));
