"""The rental board: what is out, due back and late, what came back, and the days ahead."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

from tankbook.output import people
from tankbook.output.as_json import number
from tankbook.output.page import Page, counted, plain_date
from tankbook.output.people import Names, who
from tankbook.output.tables import table
from tankbook.records.kinds import EMPTY
from tankbook.rules.bookings import DayAhead, RentalBoard, Returned, Want
from tankbook.rules.rental import Lending

MOST_DAYS = 2
"""How many short days the first line names before it counts the rest."""


def data(board: RentalBoard, names: Names) -> dict[str, Any]:
    """The JSON shape of `rentals`."""
    return {
        "today": board.today,
        "out": [_lending(each, board.today, names) for each in board.out],
        "came_back": [
            {
                "id": each.id,
                "to": people.data(each.to, names),
                "pressure_psi": number(each.pressure.psi if each.pressure else None),
                "pressure_bar": number(each.pressure.bar if each.pressure else None),
                "valve": each.valve or None,
                "damage": each.damage or None,
            }
            for each in board.came_back
        ],
        "days": [
            {"day": day.day, "short": day.short, "wants": [_want(w, names) for w in day.wants]}
            for day in board.days
        ],
        "station_closed": board.closed or None,
    }


def _lending(each: Lending, today: dt.date, names: Names) -> dict[str, Any]:
    return {
        "id": each.id,
        "to": people.data(each.to, names),
        "since": each.since,
        "until": each.until,
        "back_today": each.until == today,
        "late": each.is_late(today),
    }


def _want(want: Want, names: Names) -> dict[str, Any]:
    return {
        "to": people.data(want.reference, names),
        "use": want.use or None,
        "size": want.size or None,
        "gas": want.gas,
        "count": want.count,
        "taken": want.taken,
        "ready": want.ready,
        "to_fill": want.to_fill,
        "short": want.short,
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
    parts = [page.wrap(headline(board), hang="  ")]
    if board.out:
        rows = [_out_cells(each, board.today, names) for each in board.out]
        head = ("id", "to", "since", "until", "")
        parts += ["", f"Out ({len(board.out)})", table(head, rows, page, wrap=("to",))]
    if board.came_back:
        rows = [_back_cells(each, names, page) for each in board.came_back]
        head = ("id", "from", "pressure", "valve", "see to")
        title = f"Came back today ({len(board.came_back)})"
        parts += ["", title, table(head, rows, page, wrap=("from", "see to"), right=("pressure",))]
    if board.days:
        parts += ["", "Bookings", _bookings(board.days, names, page)]
        parts += ["", page.wrap(HOW_COUNTED)]
        if board.closed:
            parts.append(
                page.wrap(f"The station is CLOSED: {board.closed}. What is to be filled waits.")
            )
    return "\n".join([*parts, ""])


HOW_COUNTED = (
    "Each booking is taken to use its cylinders for its day. What is out counts from the day after "
    "it is due back, what is late does not; `to fill` are fit to go once they are filled."
)


def _out_cells(each: Lending, today: dt.date, names: Names) -> tuple[str, ...]:
    mark = ""
    if each.until is None:
        mark = "NO DATE"
    elif each.until == today:
        mark = "TODAY"
    elif each.is_late(today):
        mark = f"LATE {(today - each.until).days} d"
    return each.id, who(each.to, names), str(each.since), str(each.until or "-"), mark


def _back_cells(each: Returned, names: Names, page: Page) -> tuple[str, ...]:
    see_to = []
    if each.valve == "open" or (each.pressure is not None and each.pressure < EMPTY):
        see_to.append("LOOK INSIDE")
    if each.damage:
        see_to.append(each.damage)
    return (
        each.id,
        who(each.to, names),
        page.pressure(each.pressure) if each.pressure else "-",
        each.valve or "-",
        ", ".join(see_to),
    )


def _bookings(days: Sequence[DayAhead], names: Names, page: Page) -> str:
    rows = [
        (
            str(day.day),
            who(want.reference, names),
            _wanted(want),
            str(want.taken),
            str(want.ready),
            str(want.to_fill),
            f"{want.short} SHORT" if want.short else "-",
        )
        for day in days
        for want in day.wants
    ]
    head = ("day", "for", "wanted", "out", "ready", "to fill", "short")
    return table(head, rows, page, wrap=("for", "wanted"), right=("out", "ready", "to fill"))


def _wanted(want: Want) -> str:
    return " ".join(filter(None, (str(want.count), want.size, str(want.gas or ""))))
