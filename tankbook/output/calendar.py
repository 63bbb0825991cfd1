"""What is due as a calendar file (RFC 5545), written with the icalendar library.

An entry's UID is worked out from the ledger's name, the subject and the obligation, never from the
day: a program that reads the file again moves the entry instead of adding one. SEQUENCE counts the
minutes since 2020, so that what is written later is taken for the newer (RFC 5545, 3.8.7.4; read in
a copy). What is no more is told as cancelled.
"""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Sequence
from typing import Any

from msgspec import Struct

from tankbook.output.due import alarm, late_word, left, notes, overdue, subject, whole_name
from tankbook.output.page import MONTHS, Page, counted, plain_date
from tankbook.output.tables import Column, Table
from tankbook.rules.answers import Tally
from tankbook.rules.calendar_entries import Diary, DiaryEntry
from tankbook.units import PartialDate, Period

SPACE = uuid.UUID("5f0c1c4e-8a35-5d0b-9a53-6a6f3f1f7a51")
"""The name space of our UIDs (RFC 4122, 4.3)."""

ALARM_AT = dt.time.fromisoformat("09:00")
"""At which time to remind unless the settings say otherwise: when somebody is there (common
practice, no source)."""

EPOCH = dt.datetime(2020, 1, 1, tzinfo=dt.UTC)
CAUTION = "A reminder only: the record, and whoever fills, decide."


def ics(
    diary: Diary,
    ledger: str,
    stamp: dt.datetime,
    *,
    alarms: Sequence[Period] = (),
    alarm_at: dt.time = ALARM_AT,
    monthly: bool = False,
) -> bytes:
    """The calendar file.

    Args:
        diary: what is due.
        ledger: the ledger's name, part of every UID.
        stamp: when this file is made, with its UTC offset.
        alarms: how long before the day to remind, each.
        alarm_at: the time of those days, on the clock of whoever reads the calendar.
        monthly: one entry a month instead of one an obligation.
    """
    import icalendar

    calendar = icalendar.Calendar()
    calendar.add("prodid", "-//tankbook//what is due//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", ledger)
    remind = Reminders(tuple(alarms), alarm_at, stamp.replace(tzinfo=None))
    stamp = stamp.astimezone(dt.UTC).replace(microsecond=0)
    if monthly:
        for month, entries in diary.by_month().items():
            first = max(month.first, min(diary.today, month.last))
            calendar.add_component(_monthly(month, first, entries, ledger, stamp, remind))
    else:
        for entry in diary.entries:
            calendar.add_component(_single(entry, ledger, stamp, remind))
    written: bytes = calendar.to_ical()
    return written


def uid(ledger: str, key: str) -> str:
    """The name of an entry, the same as long as ledger, subject and obligation are."""
    return f"{uuid.uuid5(SPACE, f'{ledger}/{key}')}@tankbook"


def _single(entry: DiaryEntry, ledger: str, stamp: dt.datetime, remind: Reminders) -> Any:
    item = entry.item
    about = [f"{item.obligation.called} of {entry.subject}"]
    if entry.late:
        word = alarm(item)
        about.append(f"{word} since {entry.since}." if entry.since else f"{word}.")
    if entry.reckoned:
        about.append(f"{left(item)} left; the day is reckoned from what its compressor ran.")
    if not entry.gone:
        about += [f"{said[0].upper()}{said[1:]}." for said in notes(item)]
        about += [f"Last: {item.last}."] if item.last else []
        about.append(f"Rule: {item.citation}.")
    event = _event(uid(ledger, entry.key), entry.day, summary(entry), "\n".join(about), stamp)
    if entry.gone:
        event["status"] = "CANCELLED"
    else:
        remind.add_to(event, summary(entry))
    return event


def summary(entry: DiaryEntry) -> str:
    """`RB-014 hydro: last day`, `RB-024 visual: last day (held)`, `RB-044 hydro OVERDUE since 30
    Sep 2026`."""
    said = whole_name(entry.subject, entry.item.obligation.called)
    noted = ", ".join(notes(entry.item)) if not entry.gone else ""
    told = f" ({noted})" if noted else ""
    if entry.late:
        since = f" since {plain_date(entry.since)}" if entry.since else ""
        return f"{said} {alarm(entry.item)}{since}{told}"
    return f"{said}: {'about the last day' if entry.reckoned else 'last day'}{told}"


def _monthly(
    month: PartialDate,
    first: dt.date,
    entries: Sequence[DiaryEntry],
    ledger: str,
    stamp: dt.datetime,
    remind: Reminders,
) -> Any:
    """One entry on the first of a month, of this month on today; a month with nothing due is told
    as cancelled."""
    late = [e.item for e in entries if e.late]
    said = f"{ledger}: {counted(len(entries), 'thing')} due in {MONTHS[month.month - 1]}"
    said += f", {len(late)} {late_word(late).upper()}" if late else ""
    lines = [f"{e.day} {summary(e)}" for e in entries]
    event = _event(uid(ledger, f"month/{month}"), first, said, "\n".join(lines), stamp)
    if entries:
        remind.add_to(event, said)
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


class Reminders(Struct, frozen=True):
    """When to remind: how long before a day, and at which time. `now` is when the file is made, on
    the same clock. A month counts as the days back from that day."""

    before: tuple[Period, ...]
    at: dt.time
    now: dt.datetime

    def moments(self, day: dt.date) -> list[dt.datetime]:
        """When to remind of a day: of what has passed already, once, when that time comes next."""
        days = (day - dt.timedelta(_days_before(day, period)) for period in self.before)
        wanted = [dt.datetime.combine(on, self.at) for on in days]
        to_come = sorted({moment for moment in wanted if moment > self.now})
        if to_come or not wanted:
            return to_come
        today = dt.datetime.combine(self.now.date(), self.at)
        return [today if today > self.now else today + dt.timedelta(days=1)]

    def add_to(self, event: Any, said: str) -> None:
        """Put them into an entry. Each counts from the midnight on which its day begins."""
        import icalendar

        begins = dt.datetime.combine(event.decoded("dtstart"), dt.time.min)
        for moment in self.moments(begins.date()):
            alarm = icalendar.Alarm()
            alarm.add("action", "DISPLAY")
            alarm.add("description", said)
            alarm.add("trigger", moment - begins)
            event.add_component(alarm)


def _days_before(day: dt.date, period: Period) -> int:
    from dateutil.relativedelta import relativedelta

    return period.days or (day - (day - relativedelta(months=period.months))).days


def headline(diary: Diary) -> str:
    """How many entries, how many obligations are overdue, and what has no day."""
    tally = Tally.of(diary.dues)
    parts = [f"{counted(len(diary.standing), 'entry', 'entries')}; {overdue(tally)}"]
    if diary.undated:
        every = len(diary.undated)
        some = (
            "not on record" if tally.unknown == every else f"{tally.unknown} of them not on record"
        )
        unknown = f", {some}" if tally.unknown else ""
        parts.append(f"{every} without a day{unknown}, as `tankbook due` shows")
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
        called = entry.item.obligation.called
        found[called] = found.get(called, 0) + 1
    return ", ".join(f"{count} {name}" for name, count in found.items())


def data(diary: Diary, ledger: str) -> dict[str, Any]:
    """The JSON shape of `calendar`."""
    return {
        "entries": [
            {
                "uid": uid(ledger, e.key),
                "kind": e.item.kind,
                "id": e.subject,
                "obligation": e.item.obligation,
                "day": e.day,
                "reckoned": e.reckoned,
                "overdue": e.late,
                "overdue_since": e.since,
                "cancelled": e.gone,
                "spared_by": e.item.spared.act if e.item.spared else None,
                "spared_until": e.item.spared.on if e.item.spared else None,
                "kept": e.item.stands,
            }
            for e in diary.entries
        ],
        "without_a_day": [
            {"kind": d.kind, "id": subject(d), "obligation": d.obligation, "state": d.state}
            for d in diary.undated
        ],
    }
