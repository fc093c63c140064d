#!/usr/bin/env python3
"""Reads a feed with an independent parser (Debian: python3-icalendar) and says
what it found. Not run in CI.

    pinset calendar show | python3 bench/calendar/check.py
"""
import sys

from icalendar import Calendar

raw = sys.stdin.buffer.read()
calendar = Calendar.from_ical(raw)
events = calendar.walk("VEVENT")
ids = [str(e["UID"]) for e in events]
if len(ids) != len(set(ids)):
    sys.exit("a UID stands twice")
for e in events:
    if e.errors:
        sys.exit(f"{e['UID']}: {e.errors}")
    for key in ("UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "SEQUENCE"):
        e.decoded(key.lower())
    if not e.decoded("dtstart") < e.decoded("dtend"):
        sys.exit(f"{e['UID']} ends before it begins")
for zone in calendar.walk("VTIMEZONE"):
    zone.to_tz()
long = [l for l in raw.split(b"\r\n") if len(l) > 75]
if long or b"\n" in raw.replace(b"\r\n", b""):
    sys.exit("lines are too long, or end wrongly")
alarms = sum(len(e.walk("VALARM")) for e in events)
gone = sum(str(e.get("STATUS")) == "CANCELLED" for e in events)
print(f"{len(events)} events, {alarms} alarms, {gone} cancelled, {len(calendar.walk('VTIMEZONE'))} zones: read without a fault")
