"""What is due: one line an obligation, most urgent first."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import Any

from tankbook.output.page import Page, counted
from tankbook.output.tables import Column, Table
from tankbook.output.words import NOT_ADVICE, Sources, obligation
from tankbook.rules.answers import Due, DueKind, State


def subject(item: Due) -> str:
    """The id an obligation is listed under: a station's part, a person's initials and skill."""
    if item.kind is DueKind.STATION:
        return item.part or item.id
    return f"{item.id} {item.part}" if item.kind is DueKind.PERSON and item.part else item.id


def hours(item: Due) -> float | None:
    """Hours to run, negative when past a filter's life; None for what runs in days."""
    if item.hours_left is None:
        return None
    return -item.hours_left.hours if item.hours_over else item.hours_left.hours


def left(item: Due) -> str:
    """What is left: `12 d`, `-3 d`, `17.5 h`, or `no end`."""
    if item.hours_left is not None:
        return f"{'-' if item.hours_over else ''}{item.hours_left}"
    return "no end" if item.days_left is None else f"{item.days_left} d"


def next_said(item: Due) -> dt.date | str | None:
    """The last day that it holds; where that is reckoned from running hours, no more than its
    month: `about 2027-05`."""
    return item.next or (f"about {item.expected:%Y-%m}" if item.expected else None)


def late_by(item: Due) -> str:
    """By how much what is overdue is late; of what failed there are no days to tell."""
    return "FAILED" if item.failed else left(item).removeprefix("-")


def _stands(item: Due) -> str:
    """How an obligation stands: `76 d`, `12 d SOON`, `289 d LATE`, `FAILED`, `MISSING`."""
    if item.state is State.MISSING or item.failed:
        return "FAILED" if item.failed else "MISSING"
    if item.state is State.OVERDUE:
        return f"{late_by(item)} LATE"
    return f"{left(item)} SOON" if item.state is State.SOON else left(item)


def _columns(sources: Sources | None = None) -> Table[Due]:
    """What `due` says of an obligation; with `sources`, people are told the rules' numbers."""

    def cited(item: Due) -> int | None:
        return sources.number(item.row) if sources is not None and item.row else None

    return Table[Due](
        Column("kind", lambda d: d.kind),
        Column("id", subject, "id"),
        Column("obligation", lambda d: d.obligation, "what", obligation, wrap=True),
        Column("last", lambda d: d.last, "last"),
        Column("next", lambda d: d.next),
        Column("", next_said, "next"),
        Column("days_left", lambda d: d.days_left),
        Column("hours_left", hours),
        Column("expected", lambda d: d.expected),
        Column("", _stands, "left", right=True),
        Column("", cited, "rule" if sources else None, none="none", right=True),
        Column("state", lambda d: d.state),
        Column("why", lambda d: d.why or None),
        Column("rule", lambda d: d.rule or None),
        Column("citation", lambda d: d.citation),
        Column("basis", lambda d: d.row.basis if d.row else None, csv=False),
        Column("verified", lambda d: d.row.verified if d.row else None, csv=False),
        Column("failed", lambda d: d.failed),
    )


COLUMNS = _columns()


def data(dues: Iterable[Due]) -> list[dict[str, Any]]:
    """The JSON shape of `due`, and of every list of obligations in another answer."""
    return COLUMNS.objects(dues)


def lines(dues: Sequence[Due], page: Page) -> str:
    """The table alone."""
    return COLUMNS.text(dues, page)


def sourced(dues: Sequence[Due], page: Page, between: str = "") -> list[str]:
    """The table with a column of the rules' numbers, what stands `between`, and the rules."""
    sources = Sources()
    return [_columns(sources).text(dues, page), between, "\n".join(sources.lines(page))]


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
    whys = (f"{subject(d)} {obligation(d.obligation)}: {d.why}" for d in shown if d.why)
    said = sourced(shown, page, page.paragraphs(whys, hang="  "))
    more = len(dues) - len(shown)
    rest = f"{more} more are in date; --all lists them." if more else ""
    return page.answer(headline(dues, days), *said, rest, NOT_ADVICE)
