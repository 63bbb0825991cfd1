"""Today's board: the station and what is ready, then what needs somebody."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

from tankbook.ledger.git import Copies
from tankbook.output import due as due_output
from tankbook.output.as_json import number
from tankbook.output.audit import checkpoint_data
from tankbook.output.may_fill import briefly
from tankbook.output.page import Page, ago, counted, plain_date
from tankbook.output.screen import one_line
from tankbook.output.tables import table
from tankbook.output.words import CAUTION
from tankbook.records.audited import Checkpoint
from tankbook.records.rulerow import Obligation
from tankbook.rules.answers import BankState, Board, Due

NEVER_AUDITED = "History never audited; `tankbook audit --checkpoint` begins"

MOST_NAMES = 20
"""How many names a section lists before it only counts the rest."""


def data(
    board: Board,
    uncommitted: Sequence[str] | None,
    ignored: Sequence[str] = (),
    copies: Copies | None = None,
    audited: Checkpoint | None = None,
) -> dict[str, Any]:
    """The JSON shape of the board. `uncommitted` is null where the ledger is not in git."""
    return {
        "today": board.today,
        "ledger": board.ledger,
        "station": {
            "open": not board.station_refusals,
            "air_test_until": board.air_test_until,
            "filters": [
                {"name": d.part, "hours_left": _hours_left(d), "state": d.state}
                for d in _filters(board)
            ],
            "banks": [_bank(b) for b in board.banks],
            "refusals": [
                {"code": r.code, "text": r.text, "citation": r.citation, "gate": r.gate}
                for r in board.station_refusals
            ],
            "due": due_output.data(board.station),
        },
        "ready": [
            {"size": r.size, "gas": r.gas, "count": len(r.ids), "ids": r.ids} for r in board.ready
        ],
        "overdue": due_output.data(board.overdue),
        "missing": due_output.data(board.missing),
        "due_soon": due_output.data(board.soon),
        "soon_days": board.soon_days,
        "held": [{"id": i, "why": why} for i, why in board.held],
        "out": [{"id": i, "to": to} for i, to in board.out],
        "away": [{"id": i, "where": where} for i, where in board.away],
        "awaiting_inspection": board.awaiting,
        "unreadable": board.broken,
        "uncommitted": None if uncommitted is None else list(uncommitted),
        "ignored": list(ignored),
        "copies": None
        if copies is None
        else {
            "remote": copies.remote,
            "commits": copies.commits if copies.remote else None,
            "days": copies.days(board.today) if copies.remote else None,
        },
        "audited": checkpoint_data(audited),
    }


def _hours_left(item: Due) -> float | None:
    """Hours to run, negative when past the filter's life."""
    if item.hours_left is None:
        return None
    return number(-item.hours_left.hours if item.hours_over else item.hours_left.hours)


def _bank(bank: BankState) -> dict[str, Any]:
    pressure = bank.pressure
    return {
        "name": bank.name,
        "gas": bank.gas,
        "pressure_psi": number(pressure.psi if pressure else None),
        "pressure_bar": number(pressure.bar if pressure else None),
        "read_on": bank.read_on,
        "stale": bank.stale,
    }


WITHOUT_GIT = (
    "This ledger is not in git: what vanishes from its files is not missed. `git init`, and commit."
)


def text(
    board: Board,
    uncommitted: Sequence[str] | None,
    page: Page,
    git: str = "",
    ignored: Sequence[str] = (),
    copies: Copies | None = None,
    history: str = "",
) -> str:
    """The board as text; sections with nothing in them are left out.

    Where no files could be compared (`uncommitted` is None), `git` says why git cannot be asked;
    the ledger is in none where it is empty. `ignored` names the files that git is told to ignore;
    `copies` tells what is on this computer alone, and `history` up to where it was audited.
    """
    parts = [page.wrap(headline(board), hang="  ")]
    parts += _station_lines(board, page)
    parts += [page.wrap(f"- {briefly(r)}", "  ", "    ") for r in board.station_refusals]
    parts += _dues(f"Overdue ({len(board.overdue)})", board.overdue, page)
    parts += _dues(f"Not on record ({len(board.missing)})", board.missing, page)
    soon = f"Due within {counted(board.soon_days, 'day')} ({len(board.soon)})"
    parts += _dues(soon, board.soon, page)
    parts += _pairs(f"Held ({len(board.held)})", ("id", "why"), board.held, page)
    parts += _pairs(f"Out ({len(board.out)})", ("id", "to"), board.out, page)
    parts += _pairs(f"Away ({len(board.away)})", ("id", "where"), board.away, page)
    parts += _listed("Awaiting inspection", board.awaiting, page)
    parts += _listed("Could not be read, see `tankbook validate`", board.broken, page)
    parts += _listed("Not yet committed", [*map(one_line, uncommitted or ())], page)
    unseen = "Git is told to ignore these, so what vanishes from them is not missed"
    parts += _listed(unseen, [*map(one_line, ignored)], page)
    if uncommitted is None or git:
        asked = "Git cannot be asked, so what" if uncommitted is None else "What"
        parts += ["", page.wrap(f"{asked} vanishes is not missed: {git}." if git else WITHOUT_GIT)]
    alone = _alone(board, copies)
    parts += ["", alone] if alone else []
    parts += ["", page.wrap(f"{history}.", hang="  ")] if history else []
    return "\n".join([*parts, "", page.wrap(CAUTION), ""])


def _alone(board: Board, copies: Copies | None) -> str:
    """What is on this computer alone, in one line; nothing where that is of today."""
    if copies is None:
        return ""
    if not copies.remote:
        return "No copy elsewhere: these records are on this computer alone."
    days = copies.days(board.today)
    if not copies.commits or not days:
        return ""
    what = counted(copies.commits, "commit is", "commits are")
    return f"{what} on no remote, for {counted(days, 'day')} now: `git push`."


def headline(board: Board) -> str:
    """The station and the number ready, in one line."""
    ready = sum(len(r.ids) for r in board.ready)
    if not board.station and not board.banks:
        unread = any(r.code == "station-unread" for r in board.station_refusals)
        state = "Station CLOSED: its file cannot be read" if unread else "No station on record"
        return f"{state}; {ready} ready"
    state = "Station CLOSED" if board.station_refusals else "Station open"
    facts = [_air(board), _soonest_filter(board), _age(board.banks, board.today)]
    return f"{state}: {', '.join(f for f in facts if f)}; {ready} ready"


def _soonest_filter(board: Board) -> str:
    """The filter with the least left, in whole hours."""
    lives = [h for d in _filters(board) if (h := _hours_left(d)) is not None]
    if not lives:
        return ""
    least = min(lives)
    return f"filter {-least:g} h OVER" if least < 0 else f"filter {int(least)} h"


def _air(board: Board) -> str:
    if board.air_test_until is None:
        return "no air test"
    word = "ran out" if board.air_test_until < board.today else "to"
    return f"air test {word} {plain_date(board.air_test_until)}"


def _age(banks: Sequence[BankState], today: dt.date) -> str:
    """How old the oldest bank reading is, as that is the one to mistrust."""
    if not banks:
        return ""
    dates = [b.read_on for b in banks if b.read_on]
    if not dates:
        return "banks not read"
    days = (today - min(dates)).days
    return f"banks {days} d old" if days > 0 else "banks read today"


def _filters(board: Board) -> list[Due]:
    return [d for d in board.station if d.obligation is Obligation.FILTER]


def _station_lines(board: Board, page: Page) -> list[str]:
    banks = [_bank_text(b, board.today, page) for b in board.banks]
    ready = [f"{len(r.ids)} x {r.size} {r.gas}" for r in board.ready]
    found = [page.items("Banks", banks)] if banks else []
    filters = [f"{d.part} {due_output.left(d)}" for d in _filters(board)]
    if len(filters) > 1:
        found.append(page.items("Filters, left", filters))
    found.append(page.items("Ready", ready or ["nothing"]))
    return found


def _bank_text(bank: BankState, today: dt.date, page: Page) -> str:
    if bank.pressure is None:
        return f"{bank.name} {bank.gas} not read"
    said = f"{bank.name} {bank.gas} {page.pressure(bank.pressure)}"
    if bank.stale and bank.read_on:
        said += f" (STALE, read {ago(bank.read_on, today)})"
    return said


def _dues(heading: str, dues: Sequence[Due], page: Page) -> list[str]:
    return ["", heading, due_output.lines(dues, page)] if dues else []


def _pairs(
    heading: str, headers: tuple[str, str], rows: Sequence[tuple[str, str]], page: Page
) -> list[str]:
    if not rows:
        return []
    return ["", heading, table(headers, rows, page, wrap=headers[1:])]


def _listed(heading: str, names: Sequence[str], page: Page) -> list[str]:
    if not names:
        return []
    shown = list(names[:MOST_NAMES])
    if len(names) > len(shown):
        shown.append(f"and {len(names) - len(shown)} more")
    return ["", f"{heading} ({len(names)})", page.items("", shown, "  ")]
