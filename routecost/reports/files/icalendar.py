"""A timetable as iCalendar (RFC 5545), for any calendar program."""

from __future__ import annotations

import datetime as dt
import math
import uuid
from collections import Counter
from collections.abc import Iterator, Sequence

from routecost.reports.wording.buy_list_sentences import item_text, order_text
from routecost.reports.wording.timetable_sentences import machine_text, operation_text
from routecost.scheduling.order_days import Order
from routecost.scheduling.timetable import Timetable
from routecost.scheduling.timetable_entries import Entry

FOLD = 75
"""Most octets in a line, without its line break (RFC 5545, 3.1)."""
NAMESPACE = uuid.UUID("5f0d6a3e-3b0c-5a55-9d0a-0f6f2c9b7c11")
"""Arbitrary, so that our names give our own identifiers (RFC 9562, version 5)."""


def timetable_ical(found: Timetable, name: str, orders: Sequence[Order] = ()) -> str:
    """The calendar's text, UTF-8 when written. `name` is that of the build.

    Times are local and without a time zone. An event has the same UID when the timetable is made again, so that
    a calendar program moves it instead of showing it twice. Only hands-on work is shown as busy. Each of the
    `orders` is an event of a whole day, with an alarm when that day's own work begins.
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//routecost//timetable//EN", "CALSCALE:GREGORIAN"]
    twins = Counter[str]()
    for entry in found.entries:
        key = "\n".join(
            (name, entry.part, entry.route, str(entry.place), entry.operation, str(entry.run), entry.phase)
        )
        twins[key] += 1
        lines += _event(entry, uuid.uuid5(NAMESPACE, f"{key}\n{twins[key]}"), found.start)
    opens_min = math.ceil(found.working.window_min[0])
    for order in orders:
        # the items make it the same order, whenever it is placed
        key = "\n".join((name, "order", order.supplier, *(i.resource for i in order.items)))
        twins[key] += 1
        uid = uuid.uuid5(NAMESPACE, f"{key}\n{twins[key]}")
        lines += _order_event(order, uid, found.start, opens_min)
    lines.append("END:VCALENDAR")
    return "".join(f"{part}\r\n" for line in lines for part in folded(line))


def _event(e: Entry, uid: uuid.UUID, start: dt.date) -> list[str]:
    doing = {"hands": "", "machine": f"{machine_text(e)} running: ", "waiting": "waiting: "}[e.phase]
    description = [f"{e.route}, operation {e.place}", *([e.note] if e.note else [])]
    if e.is_critical:
        description.append("on the critical path")
    return [
        "BEGIN:VEVENT",
        f"UID:{uid}",
        # no clock in it: the same timetable is the same file
        f"DTSTAMP:{start:%Y%m%d}T000000Z",
        f"DTSTART:{e.start:%Y%m%dT%H%M%S}",
        f"DTEND:{e.end:%Y%m%dT%H%M%S}",
        f"SUMMARY:{escaped(f'{e.part}: {doing}{operation_text(e)}')}",
        f"DESCRIPTION:{escaped(chr(10).join(description))}",
        f"CATEGORIES:{escaped(e.phase)}",
        f"TRANSP:{'OPAQUE' if e.phase == 'hands' else 'TRANSPARENT'}",
        "END:VEVENT",
    ]


def _order_event(order: Order, uid: uuid.UUID, start: dt.date, opens_min: int) -> list[str]:
    summary = escaped(order_text(order))
    return [
        "BEGIN:VEVENT",
        f"UID:{uid}",
        f"DTSTAMP:{start:%Y%m%d}T000000Z",
        f"DTSTART;VALUE=DATE:{order.day:%Y%m%d}",
        f"DTEND;VALUE=DATE:{order.day + dt.timedelta(days=1):%Y%m%d}",
        f"SUMMARY:{summary}",
        f"DESCRIPTION:{escaped(chr(10).join(item_text(i) for i in order.items))}",
        "CATEGORIES:order",
        "TRANSP:TRANSPARENT",
        "BEGIN:VALARM",
        "ACTION:DISPLAY",
        f"DESCRIPTION:{summary}",
        f"TRIGGER:PT{opens_min}M",
        "END:VALARM",
        "END:VEVENT",
    ]


def escaped(text: str) -> str:
    r"""As a TEXT value (RFC 5545, 3.3.11); control characters, which it may not hold, are left out.

    >>> print(escaped("mix, pour; then\nwait"))
    mix\, pour\; then\nwait
    """
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    text = "".join(c for c in text if c in "\n\t" or (c >= " " and c != "\x7f"))
    for plain, code in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        text = text.replace(plain, code)
    return text


def folded(line: str) -> Iterator[str]:
    """Pieces of at most 75 octets, those after the first begin with a space; no character is torn apart.

    >>> [len(piece) for piece in folded("x" * 160)]
    [75, 75, 12]
    """
    room, piece = FOLD, ""
    for character in line:
        octets = len(character.encode("utf-8"))
        if octets > room:
            yield piece
            piece, room = " ", FOLD - 1
        piece += character
        room -= octets
    yield piece
