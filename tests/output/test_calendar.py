"""The calendar file, read back by two other readers of RFC 5545: icalendar's own and vobject."""

from __future__ import annotations

import datetime as dt
from typing import Any

import books
import icalendar
import pytest
import vobject

from tankbook.output.calendar import headline, ics, text, uid
from tankbook.output.page import Page
from tankbook.records.book import Book
from tankbook.rules.calendar_entries import Diary, diary
from tankbook.units import Period
from tests.support.changed import replace

STAMP = dt.datetime(2026, 11, 25, 9, 30, tzinfo=dt.timezone(dt.timedelta(hours=1)))
ALARMS = (Period.parse("30 days"), Period.parse("1 month"))


@pytest.fixture(name="due_here")
def _due_here(book: Book, today: dt.date) -> Diary:
    sold = books.with_lines(
        books.GOOD, serial='"Ü, 7; \\\\n"', status="sold", handed_over="[{on: 2026-11-20, to: C-1}]"
    )
    extra = books.make_book({"SF-1": sold})
    return diary(replace(book, cylinders={**book.cylinders, **extra.cylinders}), today)


def entries(data: bytes) -> list[Any]:
    return list(icalendar.Calendar.from_ical(data).walk("VEVENT"))


def by_vobject(data: bytes) -> list[Any]:
    return list(vobject.readOne(data.decode()).vevent_list)


def test_two_readers_see_the_same(due_here: Diary) -> None:
    data = ics(due_here, "Test Quay", STAMP, alarms=ALARMS)
    one = {
        str(e["uid"]): (e.decoded("dtstart"), e.decoded("dtend"), str(e["summary"]))
        for e in entries(data)
    }
    other = {
        e.uid.value: (e.dtstart.value, e.dtend.value, e.summary.value) for e in by_vobject(data)
    }
    assert one == other
    assert len(one) == len(due_here.entries) > 5


def test_days_are_whole_and_end_on_the_morning_after(due_here: Diary) -> None:
    for event in entries(ics(due_here, "Test Quay", STAMP)):
        start, end = event.decoded("dtstart"), event.decoded("dtend")
        assert type(start) is dt.date
        assert event["dtstart"].params["VALUE"] == "DATE"
        assert end - start == dt.timedelta(1)


def test_the_form_of_the_file(due_here: Diary) -> None:
    """RFC 5545, 3.1: lines end in CR LF and hold at most 75 octets; 3.6: PRODID and VERSION."""
    data = ics(due_here, "Ångström Quay " * 9, STAMP, alarms=ALARMS)
    lines = data.split(b"\r\n")
    assert b"\n" not in b"".join(lines)
    assert max(map(len, lines)) <= 75
    assert lines[0] == b"BEGIN:VCALENDAR"
    assert lines[-2:] == [b"END:VCALENDAR", b""]
    assert b"PRODID:-//tankbook//what is due//EN" in lines
    assert b"VERSION:2.0" in lines
    assert data.count(b"BEGIN:VEVENT") == data.count(b"\r\nUID:") == data.count(b"\r\nDTSTAMP:")


def test_read_again_an_entry_moves_and_none_is_added(book: Book, today: dt.date) -> None:
    text = books.GOOD.replace("2026-02-09", "2026-11-20")
    moved = books.make_book({"RB-014": text})
    later = replace(book, cylinders={**book.cylinders, **moved.cylinders})
    before = {str(e["uid"]): e for e in entries(ics(diary(book, today), "Test Quay", STAMP))}
    then = STAMP + dt.timedelta(minutes=1)
    after = {str(e["uid"]): e for e in entries(ics(diary(later, today), "Test Quay", then))}
    assert before.keys() == after.keys()
    name = uid("Test Quay", "cylinder/RB-014//visual")
    assert before[name].decoded("dtstart") == dt.date(2027, 2, 9)
    assert after[name].decoded("dtstart") == dt.date(2027, 11, 20)
    assert all(after[n]["sequence"] > before[n]["sequence"] for n in before)


def test_another_ledger_has_other_names(due_here: Diary) -> None:
    one = {str(e["uid"]) for e in entries(ics(due_here, "Test Quay", STAMP))}
    other = {str(e["uid"]) for e in entries(ics(due_here, "Other Quay", STAMP))}
    assert not one & other


def test_what_is_sold_is_called_off_and_what_is_overdue_is_on_today(due_here: Diary) -> None:
    events = {str(e["uid"]): e for e in entries(ics(due_here, "Test Quay", STAMP, alarms=ALARMS))}
    gone = events[uid("Test Quay", "cylinder/SF-1//visual")]
    assert str(gone["status"]) == "CANCELLED"
    assert not gone.walk("VALARM")
    late = events[uid("Test Quay", "cylinder/RB-015//visual")]
    assert late.decoded("dtstart") == dt.date(2026, 11, 25)
    assert "OVERDUE since 9 Feb 2026" in str(late["summary"])


def test_alarms(due_here: Diary) -> None:
    """A month before 9 February 2027 is 9 January: 31 days."""
    data = ics(due_here, "Test Quay", STAMP, alarms=ALARMS)
    events = {str(e["uid"]): e for e in entries(data)}
    alarms = events[uid("Test Quay", "cylinder/RB-014//visual")].walk("VALARM")
    assert [a.decoded("trigger") for a in alarms] == [-dt.timedelta(30), -dt.timedelta(31)]
    assert not entries(ics(due_here, "Test Quay", STAMP))[0].walk("VALARM")


def test_by_month_every_entry_is_told_once(due_here: Diary) -> None:
    data = ics(due_here, "Test Quay", STAMP, monthly=True, alarms=ALARMS)
    events = entries(data)
    told = [line for e in events for line in str(e["description"]).splitlines()]
    assert sum(": last day" in n or "OVERDUE" in n for n in told) == len(due_here.standing)
    assert all(e.decoded("dtstart").day == 1 for e in events)
    empty = [e for e in events if not e.walk("VALARM")]
    assert empty
    assert all(str(e["status"]) == "CANCELLED" for e in empty)
    assert len(by_vobject(data)) == len(events)


def test_the_same_records_give_the_same_bytes(due_here: Diary) -> None:
    assert ics(due_here, "Q", STAMP) == ics(due_here, "Q", STAMP)


def test_the_text(due_here: Diary, page: Page) -> None:
    said = text(due_here, page)
    assert said.startswith(headline(due_here)[:40])
    assert max(map(len, said.splitlines())) <= 80
