"""What is due as a calendar file (RFC 5545), written with the icalendar library.

An entry's UID is worked out from the ledger's name, the subject and the obligation, never from the
day: a program that reads the file again moves the entry instead of adding one. SEQUENCE counts the
minutes since 2020, so that what is written later is taken for the newer (RFC 5545, 3.8.7.4; read in
a copy). What is no more is told as cancelled.
"""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterable, Sequence
from typing import Any

from tankbook.output.due import whole_name
from tankbook.output.page import MONTHS, Page, counted, plain_date
from tankbook.output.tables import Column, Table
from tankbook.rules.calendar_entries import Diary, DiaryEntry
from tankbook.units import PartialDate, Period

SPACE = uuid.UUID("5f0c1c4e-8a35-5d0b-9a53-6a6f3f1f7a51")
"""The name space of our UIDs (RFC 4122, 4.3)."""

EPOCH = dt.datetime(2020, 1, 1, tzinfo=dt.UTC)
CAUTION = "A reminder only: the record, and whoever fills, decide."


def ics(
    diary: Diary,
    ledger: str,
    stamp: dt.datetime,
    *,
    alarms: Sequence[Period] = (),
    monthly: bool = False,
) -> bytes:
    """The calendar file.

    Args:
        diary: what is due.
        ledger: the ledger's name, part of every UID.
        stamp: when this file is made, with its UTC offset.
        alarms: how long before the day to remind, each.
        monthly: one entry a month instead of one an obligation.
    """
    import icalendar

    calendar = icalendar.Calendar()
    calendar.add("prodid", "-//tankbook//what is due//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", ledger)
    stamp = stamp.astimezone(dt.UTC).replace(microsecond=0)
    if monthly:
        for month, entries in diary.by_month().items():
            calendar.add_component(_monthly(month, entries, ledger, stamp, alarms))
    else:
        for entry in diary.entries:
            calendar.add_component(_single(entry, ledger, stamp, alarms))
    written: bytes = calendar.to_ical()
    return written


def uid(ledger: str, key: str) -> str:
    """The name of an entry, the same as long as ledger, subject and obligation are."""
    return f"{uuid.uuid5(SPACE, f'{ledger}/{key}')}@tankbook"


def _single(entry: DiaryEntry, ledger: str, stamp: dt.datetime, alarms: Sequence[Period]) -> Any:
    about = [f"{entry.obligation.called} of {entry.subject}"]
    if entry.since:
        about.append(f"OVERDUE since {entry.since}.")
    if entry.last:
        about.append(f"Last: {entry.last}.")
    if entry.citation:
        about.append(f"Rule: {entry.citation}.")
    event = _event(uid(ledger, entry.key), entry.day, summary(entry), "\n".join(about), stamp)
    if entry.gone:
        event["status"] = "CANCELLED"
    else:
        _remind(event, summary(entry), alarms)
    return event


def summary(entry: DiaryEntry) -> str:
    """`RB-014 hydro: last day`, `RB-044 hydro OVERDUE since Sep 2026`."""
    said = whole_name(entry.subject, entry.obligation.called)
    if entry.since:
        return f"{said} OVERDUE since {plain_date(entry.since)}"
    return f"{said}: last day"


def _monthly(
    month: PartialDate,
    entries: Sequence[DiaryEntry],
    ledger: str,
    stamp: dt.datetime,
    alarms: Sequence[Period],
) -> Any:
    """One entry on the first of a month; a month with nothing due is told as cancelled."""
    late = sum(e.since is not None for e in entries)
    said = f"{ledger}: {counted(len(entries), 'thing')} due in {MONTHS[month.month - 1]}"
    said += f", {late} OVERDUE" if late else ""
    lines = [f"{e.day} {summary(e)}" for e in entries]
    event = _event(uid(ledger, f"month/{month}"), month.first, said, "\n".join(lines), stamp)
    if entries:
        _remind(event, said, alarms)
    else:
        event["status"] = "CANCELLED"
    return event


def _event(name: str, day: dt.date, said: str, about: str, stamp: dt.datetime) -> Any:
    import icalendar

    event = icalendar.Event()
    event.add("uid", name)
    event.add("dtstamp", stamp)
    event.add("last-modified", stamp)
    event.add("sequence", int((stamp - EPOCH).total_seconds()) // 60)
    event.add("dtstart", day)
    event.add("dtend", day + dt.timedelta(days=1))
    event.add("summary", said)
    event.add("description", f"{about}\n{CAUTION}" if about else CAUTION)
    event.add("transp", "TRANSPARENT")
    event.add("categories", ["tankbook"])
    return event


def _remind(event: Any, said: str, alarms: Iterable[Period]) -> None:
    """Reminders before a day begins. A month counts as the days back from that day."""
    import icalendar

    day: dt.date = event.decoded("dtstart")
    for period in alarms:
        alarm = icalendar.Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", said)
        alarm.add("trigger", -dt.timedelta(days=_days_before(day, period)))
        event.add_component(alarm)


def _days_before(day: dt.date, period: Period) -> int:
    from dateutil.relativedelta import relativedelta

    return period.days or (day - (day - relativedelta(months=period.months))).days


def headline(diary: Diary) -> str:
    """How many entries, how many of them overdue, and what has no day."""
    late = sum(e.since is not None for e in diary.standing)
    parts = [f"{counted(len(diary.standing), 'entry', 'entries')}, {late} overdue"]
    if diary.undated:
        parts.append(f"{len(diary.undated)} without a day, as `tankbook due` shows")
    return "; ".join(parts)


MONTH_BY_MONTH = Table[tuple[PartialDate, Sequence[DiaryEntry]]](
    Column("", lambda month: month[0], "month"),
    Column("", lambda month: len(month[1]), "entries", right=True),
    Column("", lambda month: _counts(month[1]), "of what", wrap=True),
)


def text(diary: Diary, page: Page) -> str:
    """The entries a calendar would show, by month."""
    months = [(month, entries) for month, entries in diary.by_month().items() if entries]
    how = page.wrap("--ics FILE writes them for a calendar program.")
    return page.answer(headline(diary), MONTH_BY_MONTH.text(months, page), how)


def _counts(entries: Sequence[DiaryEntry]) -> str:
    found: dict[str, int] = {}
    for entry in entries:
        found[entry.obligation.called] = found.get(entry.obligation.called, 0) + 1
    return ", ".join(f"{count} {name}" for name, count in found.items())


def data(diary: Diary, ledger: str) -> dict[str, Any]:
    """The JSON shape of `calendar`."""
    return {
        "entries": [
            {
                "uid": uid(ledger, e.key),
                "kind": e.kind,
                "id": e.subject,
                "obligation": e.obligation,
                "day": e.day,
                "overdue_since": e.since,
                "cancelled": e.gone,
            }
            for e in diary.entries
        ],
        "without_a_day": [
            {"kind": d.kind, "id": d.part or d.id, "obligation": d.obligation}
            for d in diary.undated
        ],
    }
