"""What is due: one line an obligation, most urgent first."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import Any

from tankbook.output import columns
from tankbook.output.as_csv import Cell
from tankbook.output.page import Page, counted
from tankbook.output.sources import Sources
from tankbook.output.tables import table
from tankbook.output.words import NOT_ADVICE, obligation
from tankbook.rules.answers import Due, DueKind, State

HEADERS = ("id", "what", "last", "next", "left")


def data(dues: Iterable[Due]) -> list[dict[str, Any]]:
    """The JSON shape of `due`."""
    return columns.objects(COLUMNS, dues)


def rows(dues: Iterable[Due]) -> list[tuple[Cell, ...]]:
    """The lines of `due --csv`."""
    return columns.cells(COLUMNS, dues)


def subject(item: Due) -> str:
    """The id an obligation is listed under: a station's part, a person's initials and skill."""
    if item.kind is DueKind.STATION:
        return item.part or item.id
    return f"{item.id} {item.part}" if item.kind is DueKind.PERSON and item.part else item.id


def _hours(item: Due) -> float | None:
    return (
        None if item.hours_left is None else (-1 if item.hours_over else 1) * item.hours_left.hours
    )


COLUMNS: tuple[columns.Column[Due], ...] = (
    columns.Column("kind", lambda d: d.kind.value),
    columns.Column("id", subject),
    columns.Column("obligation", lambda d: d.obligation.value),
    columns.Column("last", lambda d: d.last),
    columns.Column("next", lambda d: d.next),
    columns.Column("days_left", lambda d: d.days_left),
    columns.Column("hours_left", _hours),
    columns.Column("state", lambda d: d.state.value),
    columns.Column("why", lambda d: d.why or None),
    columns.Column("rule", lambda d: d.rule or None),
    columns.Column("citation", lambda d: d.citation),
    columns.Column("basis", lambda d: d.row.basis if d.row else None, in_csv=False),
    columns.Column("verified", lambda d: d.row.verified if d.row else None, in_csv=False),
)
"""What `due` says of an obligation."""

HEAD = columns.keys(COLUMNS)
"""The head of `due --csv`."""


def whole_name(subject: str, called: str) -> str:
    """A subject with its obligation: `RB-014 hydro`; `air test`, not `air air test`."""
    return called if called.startswith(f"{subject} ") else f"{subject} {called}"


def headline(dues: Sequence[Due], days: int) -> str:
    """The answer in one line: how much is overdue, unanswered, and due soon."""
    overdue = sum(d.state is State.OVERDUE for d in dues)
    missing = sum(d.state is State.MISSING for d in dues)
    parts = [f"{overdue} overdue" if overdue else "nothing overdue"]
    if missing:
        parts.append(f"{missing} missing")
    parts.append(f"{sum(_comes(d, days) for d in dues)} due within {counted(days, 'day')}")
    return "; ".join(parts)


def _comes(item: Due, days: int) -> bool:
    """Whether what is met now falls due within so many days; a filter, which has none, soon."""
    if item.state not in (State.OK, State.SOON):
        return False
    if item.days_left is None:
        return item.state is State.SOON
    return item.days_left <= days


def within(dues: Iterable[Due], today: dt.date, horizon: dt.date) -> list[Due]:
    """What is overdue or not on record, and what falls due by `horizon`."""
    days = (horizon - today).days
    return [d for d in dues if d.state in (State.OVERDUE, State.MISSING) or _comes(d, days)]


def text(dues: Sequence[Due], shown: Sequence[Due], days: int, page: Page) -> str:
    """The headline over all `dues`, a table of the `shown` ones and the rules they rest on."""
    parts = [headline(dues, days)]
    if shown:
        sources = Sources()
        parts += ["", lines(shown, page, sources), *_whys(shown, page), "", *sources.lines(page)]
    if len(shown) < len(dues):
        parts += ["", f"{len(dues) - len(shown)} more are in date; --all lists them."]
    return "\n".join([*parts, "", NOT_ADVICE, ""])


def lines(dues: Sequence[Due], page: Page, sources: Sources | None = None) -> str:
    """The table alone; with `sources`, a column of the rules' numbers."""
    if sources is None:
        rows = [_cells(d) for d in dues]
        return table(HEADERS, rows, page, wrap=("what",), right=("left",))
    rows = [(*_cells(d), str(sources.number(d.row)) if d.row else "none") for d in dues]
    return table((*HEADERS, "rule"), rows, page, wrap=("what",), right=("left", "rule"))


def _cells(item: Due) -> tuple[str, ...]:
    return (
        subject(item),
        obligation(item.obligation),
        str(item.last or "-"),
        str(item.next or "-"),
        _stands(item),
    )


def _stands(item: Due) -> str:
    """How an obligation stands: `76 d`, `12 d SOON`, `289 d LATE`, `MISSING`."""
    if item.state is State.MISSING:
        return "MISSING"
    if item.state is State.OVERDUE:
        return f"{left(item).removeprefix('-')} LATE"
    return f"{left(item)} SOON" if item.state is State.SOON else left(item)


def left(item: Due) -> str:
    """What is left: `12 d`, `-3 d`, `17.5 h`, or `no end`."""
    if item.hours_left is not None:
        return f"{'-' if item.hours_over else ''}{item.hours_left}"
    return "no end" if item.days_left is None else f"{item.days_left} d"


def _whys(dues: Sequence[Due], page: Page) -> list[str]:
    whys = [
        page.wrap(f"{subject(d)} {obligation(d.obligation)}: {d.why}", hang="  ")
        for d in dues
        if d.why
    ]
    return ["", *whys] if whys else []
