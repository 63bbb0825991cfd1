"""The rental board: what is out, due back and late, what came back, and the days ahead."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

from tankbook.output import people
from tankbook.output.page import Page, counted, plain_date, titled
from tankbook.output.people import Names, told
from tankbook.output.tables import PRESSURE, Column, Table
from tankbook.records.kinds import EMPTY
from tankbook.rules.bookings import DayAhead, RentalBoard, Returned, Want
from tankbook.rules.rental import Lending

MOST_DAYS = 2
"""How many short days the first line names before it counts the rest."""


def _out(today: dt.date, names: Names, lines: Sequence[Lending]) -> Table[Lending]:
    """What is said of a cylinder that is out; what stands against one where any has that."""
    against = "against" if any(line.against for line in lines) else None

    def mark(each: Lending) -> str:
        if each.until is None:
            return "NO DATE"
        if each.is_late(today):
            return f"LATE {(today - each.until).days} d"
        return "TODAY" if each.until == today else ""

    return Table[Lending](
        Column("id", lambda n: n.id, "id"),
        Column("to", lambda n: people.data(n.to, names), "to", told, wrap=True),
        Column("since", lambda n: n.since, "since"),
        Column("until", lambda n: n.until, "until"),
        Column("back_today", lambda n: n.until == today),
        Column("late", lambda n: n.is_late(today)),
        Column("", mark, ""),
        Column("against", lambda n: n.against or None, against, none="", wrap=True),
    )


def _came_back(names: Names) -> Table[Returned]:
    """What is said of a cylinder that came back today."""

    def see_to(each: Returned) -> str:
        empty = each.pressure is not None and each.pressure < EMPTY
        look = "LOOK INSIDE" if each.valve == "open" or empty else ""
        return ", ".join(filter(None, (look, each.damage)))

    return Table[Returned](
        Column("id", lambda r: r.id, "id"),
        Column("to", lambda r: people.data(r.to, names), "from", told, wrap=True),
        Column("pressure", lambda r: r.pressure, "pressure", units=PRESSURE, right=True),
        Column("valve", lambda r: r.valve or None, "valve"),
        Column("damage", lambda r: r.damage or None),
        Column("", see_to, "see to", wrap=True),
    )


Wanted = tuple[DayAhead, Want]


def _wants(names: Names) -> Table[Wanted]:
    """What is said of a booking of a day ahead."""

    def wanted(each: Wanted) -> str:
        want = each[1]
        return " ".join(filter(None, (str(want.count), want.size, str(want.gas or ""))))

    def when(each: Wanted) -> str:
        day, at = each[0].day, each[1].at
        return f"{day} {at:%H:%M}" if at else f"{day}"

    def short(count: int) -> str:
        return f"{count} SHORT" if count else "-"

    return Table[Wanted](
        Column("", when, "day"),
        Column("at", lambda w: w[1].at and f"{w[1].at:%H:%M}"),
        Column("to", lambda w: people.data(w[1].reference, names), "for", told, wrap=True),
        Column("use", lambda w: w[1].use or None),
        Column("size", lambda w: w[1].size or None),
        Column("gas", lambda w: w[1].gas),
        Column("", wanted, "wanted", wrap=True),
        Column("count", lambda w: w[1].count),
        Column("taken", lambda w: w[1].taken, "out", right=True),
        Column("ready", lambda w: w[1].ready, "ready", right=True),
        Column("to_fill", lambda w: w[1].to_fill, "to fill", right=True),
        Column("short", lambda w: w[1].short, "short", short),
    )


def data(board: RentalBoard, names: Names) -> dict[str, Any]:
    """The JSON shape of `rentals`."""
    wants = _wants(names)
    return {
        "today": board.today,
        "out": _out(board.today, names, board.out).objects(board.out),
        "came_back": _came_back(names).objects(board.came_back),
        "days": [
            {
                "day": day.day,
                "short": day.short,
                "wants": wants.objects((day, want) for want in day.wants),
            }
            for day in board.days
        ],
        "station_closed": board.closed or None,
        "seen_no_more": [
            {"id": each.id, "levels": [level.value for level in each.levels]}
            for each in board.seen_no_more
        ],
    }


def headline(board: RentalBoard) -> str:
    """`OUT 14, back today 6, late 1`, and the days that are short."""
    said = f"OUT {len(board.out)}, back today {len(board.back_today)}, late {len(board.late)}"
    short = board.short_days
    if not short:
        return said
    named = [f"{_day(day.day)} by {day.short}" for day in short[:MOST_DAYS]]
    more = len(short) - len(named)
    named += [counted(more, "more day")] if more else []
    return f"{said}; SHORT {', '.join(named)}"


def _day(day: dt.date) -> str:
    """A day ahead, without its year: `28 Nov`."""
    return plain_date(day).rpartition(" ")[0]


def text(board: RentalBoard, names: Names, page: Page) -> str:
    """The board; sections with nothing in them are left out."""
    out, back = board.out, board.came_back
    wants = ((day, want) for day in board.days for want in day.wants)
    notes = [HOW_COUNTED] if board.days else []
    notes = [f"WARNING: {n.id}: {n.mend}; that was struck out." for n in board.seen_no_more] + notes
    if board.days and board.closed:
        notes.append(f"The station is CLOSED: {board.closed}. What is to be filled waits.")
    return page.answer(
        headline(board),
        titled(f"Out ({len(out)})", _out(board.today, names, out).text(out, page)),
        titled(f"Came back today ({len(back)})", _came_back(names).text(back, page)),
        titled("Bookings", _wants(names).text(wants, page)),
        page.paragraphs(notes),
    )


HOW_COUNTED = (
    "Each booking is taken to use its cylinders for its day. What is out counts from the day after "
    "it is due back, what is late does not; `to fill` are fit to go once they are filled."
)
