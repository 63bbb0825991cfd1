"""The calendar file, read back by two other readers of RFC 5545: icalendar's own and vobject."""

from __future__ import annotations

import datetime as dt
from typing import Any

import books
import icalendar
import pytest
import vobject
from changing import replace

from tankbook.output.calendar import headline, ics, text, uid
from tankbook.output.page import Page
from tankbook.records.book import Book
from tankbook.rules.calendar_entries import Diary, diary
from tankbook.units import Period

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
    """A month before 9 February 2027 is 9 January: 31 days. Each at nine, not at midnight."""
    data = ics(due_here, "Test Quay", STAMP, alarms=ALARMS)
    events = {str(e["uid"]): e for e in entries(data)}
    alarms = events[uid("Test Quay", "cylinder/RB-014//visual")].walk("VALARM")
    nine = dt.timedelta(hours=9)
    triggers = [a.decoded("trigger") for a in alarms]
    assert triggers == [nine - dt.timedelta(31), nine - dt.timedelta(30)]
    early = ics(due_here, "Test Quay", STAMP, alarms=ALARMS, alarm_at=dt.time(0, 30))
    name = uid("Test Quay", "cylinder/RB-014//visual")
    (event,) = (e for e in entries(early) if str(e["uid"]) == name)
    assert event.walk("VALARM")[1].decoded("trigger") == dt.timedelta(-30, minutes=30)
    assert not entries(ics(due_here, "Test Quay", STAMP))[0].walk("VALARM")


@pytest.mark.parametrize("monthly", [False, True])
@pytest.mark.parametrize("made_at", ["00:00", "08:59", "09:00", "23:59"])
@pytest.mark.parametrize("offset", [-11, 0, 14])
def test_no_alarm_is_past_and_what_is_overdue_has_one(
    due_here: Diary, made_at: str, offset: int, monthly: bool
) -> None:
    """By both readers, at every hour and offset: each alarm comes after the file was made."""
    zone = dt.timezone(dt.timedelta(hours=offset))
    stamp = dt.datetime.combine(due_here.today, dt.time.fromisoformat(made_at), zone)
    data = ics(due_here, "Test Quay", stamp, alarms=ALARMS, monthly=monthly)
    now = stamp.replace(tzinfo=None)
    seen = 0
    for event in entries(data):
        begins = dt.datetime.combine(event.decoded("dtstart"), dt.time.min)
        moments = [begins + a.decoded("trigger") for a in event.walk("VALARM")]
        called_off = str(event.get("status", "")) == "CANCELLED"
        assert bool(moments) is not called_off
        assert all(m > now for m in moments)
        seen += len(moments)
    again = [
        dt.datetime.combine(e.dtstart.value, dt.time.min) + a.trigger.value
        for e in by_vobject(data)
        for a in getattr(e, "valarm_list", [])
    ]
    assert len(again) == seen
    assert min(again) > now


def test_nothing_lies_in_the_past(due_here: Diary) -> None:
    """Neither an entry that is to be met, nor the one of the month that has begun."""
    for monthly in (False, True):
        for event in entries(ics(due_here, "Test Quay", STAMP, monthly=monthly)):
            if str(event.get("status", "")) != "CANCELLED":
                assert event.decoded("dtstart") >= due_here.today


def test_a_filter_past_its_hours_is_overdue_today() -> None:
    """It has no day on which it lapsed; that it is over is told all the same."""
    station = (
        "compressor: {name: C1, hours: [{on: 2026-11-24, reads: 412.5 h}]}\n"
        "filters: [{name: F1, life: 20 h, changed: [{on: 2026-09-01, at: 380 h}]}]\n"
    )
    made = diary(books.make_book({}, station=station), books.TODAY)
    (entry,) = (e for e in made.entries if e.item.part == "F1")
    assert (entry.day, entry.late, entry.since) == (books.TODAY, True, None)
    event = entries(ics(made, "Q", STAMP, alarms=ALARMS))[made.entries.index(entry)]
    assert str(event["summary"]) == "F1 filter OVERDUE"


def test_what_is_held_and_what_a_hydro_would_spare_says_so() -> None:
    card = books.GOOD.replace("2024-03", "2021-12").replace("2026-02-09", "2025-12-08")
    card = books.with_lines(card, status="held", held="[{on: 2026-11-01, by: MV, why: dent}]")
    made = diary(books.make_book({"A-1": card}, station=None), books.TODAY)
    said = [str(e["summary"]) for e in entries(ics(made, "Q", STAMP))]
    assert "A-1 hydro: last day (held)" in said
    assert "A-1 visual: last day (held, a hydro by 8 Dec 2026 spares it)" in said


def test_by_month_every_entry_is_told_once(due_here: Diary) -> None:
    data = ics(due_here, "Test Quay", STAMP, monthly=True, alarms=ALARMS)
    events = entries(data)
    told = [line for e in events for line in str(e["description"]).splitlines()]
    assert sum("last day" in n or "OVERDUE" in n for n in told) == len(due_here.standing)
    first, *rest = sorted(e.decoded("dtstart") for e in events)
    assert first == due_here.today
    assert all(day.day == 1 for day in rest)
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
