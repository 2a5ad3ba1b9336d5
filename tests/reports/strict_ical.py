"""A strict reader of the part of iCalendar that a timetable uses, written from RFC 5545's grammar."""

from __future__ import annotations

import datetime as dt
import re

Event = dict[str, str]

# RFC 5545, 3.8.2.2, 3.8.2.4, 3.8.4.7, 3.8.7.2 and 3.6.1: what an event must have, and what it may have once
REQUIRED = {"UID", "DTSTAMP", "DTSTART"}
TEXTS = {"SUMMARY", "DESCRIPTION", "CATEGORIES"}
KNOWN = REQUIRED | TEXTS | {"DTEND", "TRANSP", "ALARM"}


def read(text: str) -> list[Event]:
    """Every event's properties, texts unescaped; `ALARM` is when its alarm goes off. Fails with an AssertionError
    where the text breaks the rules."""
    assert text.endswith("\r\n")
    raw = text[:-2].split("\r\n")
    assert not any("\r" in line or "\n" in line for line in raw)
    assert all(line and len(line.encode("utf-8")) <= 75 for line in raw)
    lines: list[str] = []
    for line in raw:
        if line.startswith(" "):
            lines[-1] += line[1:]
        else:
            lines.append(line)
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines[-1] == "END:VCALENDAR"
    events: list[Event] = []
    calendar: Event = {}
    event: Event | None = None
    alarm: Event | None = None
    for line in lines[1:-1]:
        found = re.fullmatch(r"([A-Z-]+)(;VALUE=DATE)?:(.*)", line, re.DOTALL)
        assert found, line
        name, is_date, value = found.groups()
        assert not is_date or name in ("DTSTART", "DTEND")
        assert name not in ("DTSTART", "DTEND") or re.fullmatch(
            r"\d{8}" if is_date else r"\d{8}T\d{6}", value
        )
        # CONTROL of the grammar: all but the tab
        assert not re.search(r"[\x00-\x08\x0a-\x1f\x7f]", value)
        if name == "BEGIN" and value == "VALARM":
            assert event is not None
            assert alarm is None
            alarm = {}
        elif name == "END" and value == "VALARM":
            assert event is not None
            assert alarm is not None
            # 3.6.6: what an alarm that shows a text consists of; 3.3.6: a duration in minutes
            assert alarm.keys() == {"ACTION", "DESCRIPTION", "TRIGGER"}
            assert alarm["ACTION"] == "DISPLAY"
            assert re.fullmatch(r"[+-]?PT\d+M", alarm["TRIGGER"])
            event["ALARM"] = alarm["TRIGGER"]
            alarm = None
        elif name == "BEGIN":
            assert value == "VEVENT"
            assert event is None
            event = {}
        elif name == "END":
            assert value == "VEVENT"
            assert event is not None
            assert alarm is None
            assert event.keys() >= REQUIRED
            assert event.keys() <= KNOWN
            events.append(event)
            event = None
        else:
            into = alarm if alarm is not None else calendar if event is None else event
            assert name not in into
            into[name] = unescaped(value) if name in TEXTS else value
    assert event is None
    assert calendar["VERSION"] == "2.0"
    assert calendar["PRODID"]
    return events


def unescaped(value: str) -> str:
    """A TEXT value (3.3.11): only four things may follow a backslash, and three may not stand without one."""
    found, i = "", 0
    while i < len(value):
        if value[i] == "\\":
            found += {"\\": "\\", ";": ";", ",": ",", "n": "\n", "N": "\n"}[value[i + 1]]
            i += 2
            continue
        assert value[i] not in ";,"
        found += value[i]
        i += 1
    return found


def local_time(value: str) -> dt.datetime:
    """Form 1 of 3.3.5: local, no zone."""
    assert re.fullmatch(r"\d{8}T\d{6}", value)
    return dt.datetime.strptime(value, "%Y%m%dT%H%M%S")
