"""All that a report tells, gathered once."""

from __future__ import annotations

import datetime as dt

from dateutil.relativedelta import relativedelta
from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.entries import Held, Rejected
from tankbook.records.life import still_open
from tankbook.records.words import Shore, Status
from tankbook.rules.answers import Board, Due, FleetRow
from tankbook.rules.board import board
from tankbook.rules.bookings import RentalBoard, rental_board
from tankbook.rules.costs import CostsAhead, costs_ahead
from tankbook.rules.expansion import ExpansionSheet, sheets_of
from tankbook.rules.fill_history import held_for, standings, why_kept
from tankbook.rules.fleet import fleet
from tankbook.rules.in_use import InUse, in_use
from tankbook.rules.kept import where_of
from tankbook.rules.leaks import LOOKED_BACK, Leaks, leaks
from tankbook.rules.pressures import PressureStory, pressures_of
from tankbook.rules.pump_hours import PumpHours, pump_hours
from tankbook.rules.schedule import due
from tankbook.rules.worked import Fills, Worked, fills_by_month, work_by_cylinder
from tankbook.rules.workshop import WorkshopBoard, workshop_board
from tankbook.units import PartialDate

BEFORE_A_LOSS = dt.timedelta(days=30)
"""What is shown before a loss began, so that it is seen beside how the cylinder is used."""


class SetAside(Struct, frozen=True):
    """A cylinder that is held or rejected: since when, and why."""

    id: str
    status: Status
    since: PartialDate | None
    why: str
    where: str = ""
    """Where it is that is not here."""


class Summary(Struct, frozen=True):
    """The ledger on one day, the year behind it and the year ahead."""

    today: dt.date
    ledger: str
    board: Board
    dues: tuple[Due, ...]
    fleet: tuple[FleetRow, ...]
    kept: tuple[SetAside, ...]
    ahead: CostsAhead
    fills: Fills
    worked: tuple[Worked, ...]
    workshop: WorkshopBoard
    rental: RentalBoard
    shore: Shore
    use: InUse
    hours: tuple[PumpHours, ...]
    leaks: Leaks
    losing: tuple[PressureStory, ...]
    sheets: tuple[ExpansionSheet, ...]


MOST_LOSING = 6
"""The cylinders that lose gas whose pressures a report shows, fastest first."""


def summary(book: Book, today: dt.date) -> Summary:
    """Everything a report tells of a day."""
    since = today - relativedelta(months=LOOKED_BACK.months)
    leaking = leaks(book, today, since)
    cards = sorted(book.cylinders.values(), key=lambda c: c.id)
    return Summary(
        today=today,
        ledger=book.settings.ledger,
        board=board(book, today),
        dues=due(book, today),
        fleet=fleet(book, today),
        kept=kept_back(book),
        ahead=costs_ahead(book, today),
        fills=fills_by_month(book, today),
        worked=work_by_cylinder(book, today),
        workshop=workshop_board(book, today),
        rental=rental_board(book, today),
        shore=book.settings.units,
        use=in_use(book, today),
        hours=pump_hours(book, today),
        leaks=leaking,
        losing=tuple(
            pressures_of(book, stand.id, today, stand.begun.at.date() - BEFORE_A_LOSS)
            for stand in leaking.leaking[:MOST_LOSING]
        ),
        sheets=tuple(sheet for card in cards for sheet in sheets_of(book, card, today)),
    )


def kept_back(book: Book) -> tuple[SetAside, ...]:
    """What is held and what is rejected, with the reason on record, and where it is that is not
    here."""
    found = []
    for c in book.cylinders.values():
        states = standings(book, c)
        status = next((s for s in (Status.REJECTED, Status.HELD) if s in states), None)
        if status is None or (states[0].gone and states[0] is not Status.LOST):
            continue
        kept: tuple[Held | Rejected, ...] = c.held if status is Status.HELD else c.rejected
        newest = next(reversed(still_open(kept)), None)
        since, why = (newest.on, newest.why) if newest else (None, "")
        if isinstance(newest, Held):
            why = held_for(book, c, newest)
        if status is Status.REJECTED and Status.HELD in states:
            why += f"; held as well: {why_kept(book, c, Status.HELD)}"
        found.append(SetAside(c.id, status, since, why, where_of(book, c)))
    return tuple(sorted(found, key=lambda k: k.id))
