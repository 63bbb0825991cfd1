"""Today's board: the station and what is ready, then what needs somebody."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

from msgspec import Struct

from tankbook.ledger.git import Copies
from tankbook.output import due as due_output
from tankbook.output.audit import checkpoint_data
from tankbook.output.may_fill import briefly, reason_data, with_mend
from tankbook.output.page import Page, ago, counted, plain_date, titled
from tankbook.output.screen import one_line
from tankbook.output.tables import PRESSURE, Column, Table, pairs, threes
from tankbook.output.words import CAUTION
from tankbook.records.audited import Checkpoint
from tankbook.records.rulerow import Obligation
from tankbook.rules.answers import BankState, Board, Due, Reason
from tankbook.units import GaugePressure

NEVER_AUDITED = "History never audited; `tankbook audit --checkpoint` begins"

MOST_NAMES = 20
"""How many names a section lists before it only counts the rest."""


class OfGit(Struct, frozen=True):
    """What git says of the files that a board rests on.

    `uncommitted` are files that differ from the last commit, None where none could be compared;
    `why` says then why git cannot be asked, and is empty where the ledger is in none. `ignored` are
    the files that git is told to ignore, `copies` tells what is on this computer alone, `audited`
    and in words `history` up to where the history was audited.
    """

    uncommitted: Sequence[str] | None = None
    ignored: Sequence[str] = ()
    copies: Copies | None = None
    audited: Checkpoint | None = None
    why: str = ""
    history: str = ""


def data(board: Board, git: OfGit) -> dict[str, Any]:
    """The JSON shape of the board."""
    return {
        "today": board.today,
        "ledger": board.ledger,
        "station": {
            "open": not board.station_refusals,
            "air_test_until": board.air_test_until,
            "air_unmeasured": list(board.air_unmeasured),
            "filters": [
                {"name": d.part, "hours_left": due_output.hours(d), "state": d.state}
                for d in _filters(board)
            ],
            "banks": BANKS.objects(board.banks),
            "refusals": [reason_data(r) for r in board.station_refusals],
            "out_of_use": OUT.objects(board.out_of_use),
            "unproved": [reason_data(r) for r in board.unproved],
            "warned": [reason_data(r) for r in board.warned],
            "due": due_output.data(board.station),
        },
        "ready": [
            {"size": r.size, "gas": r.gas, "count": len(r.ids), "ids": r.ids} for r in board.ready
        ],
        "overdue": due_output.data(board.overdue),
        "missing": due_output.data(board.missing),
        "due_soon": due_output.data(board.soon),
        "soon_days": board.soon_days,
        "held": held(board).objects(board.held),
        "out": out(board).objects(board.out),
        "in_doubt": pairs("why").objects(board.in_doubt),
        "away": away(board).objects(board.away),
        "awaiting_inspection": board.awaiting,
        "unreadable": board.broken,
        "uncommitted": None if git.uncommitted is None else list(git.uncommitted),
        "ignored": list(git.ignored),
        "copies": _copies(git.copies, board.today),
        "audited": checkpoint_data(git.audited),
        "git_unasked": git.why or None,
        "history": git.history or None,
    }


def _copies(copies: Copies | None, today: dt.date) -> dict[str, Any] | None:
    if copies is None:
        return None
    there = {"commits": copies.commits, "days": copies.days(today)}
    return {"remote": copies.remote, **(there if copies.remote else dict.fromkeys(there))}


BANKS = Table[BankState](
    Column("name", lambda b: b.name),
    Column("gas", lambda b: b.gas),
    Column("pressure", lambda b: b.pressure, units=PRESSURE),
    Column("read_on", lambda b: b.read_on),
    Column("stale", lambda b: b.stale),
    Column("shows", lambda b: b.shows, units=PRESSURE),
    Column("fills_since", lambda b: b.fills),
    Column("held", lambda b: b.held or None),
    Column("asked", lambda b: b.asked or None),
)


OUT = Table[tuple[str, Reason]](
    Column("part", lambda pair: pair[0]),
    Column("why", lambda pair: pair[1].text),
    Column("mend", lambda pair: pair[1].mend or None),
    Column("rule", lambda pair: pair[1].row.id if pair[1].row else None),
)


def held(board: Board) -> Table[tuple[str, str, str]]:
    """What is said of what is held: why, and where it is that is not here."""
    return threes("why", "where", board.held)


def out(board: Board) -> Table[tuple[str, str, str]]:
    """What is said of what is out: to whom, and what stands against it besides."""
    return threes("to", "against", board.out)


def away(board: Board) -> Table[tuple[str, str, str]]:
    """What is said of what is away: where, and what stands against it besides."""
    return threes("where", "against", board.away)


WITHOUT_GIT = (
    "This ledger is not in git: what vanishes from its files is not missed. `git init`, and commit."
)


def text(board: Board, git: OfGit, page: Page) -> str:
    """The board as text; sections with nothing in them are left out."""
    soon = f"Due within {counted(board.soon_days, 'day')} ({len(board.soon)})"
    unseen = "Git is told to ignore these, so what vanishes from them is not missed"
    parts = [
        _dues(
            f"{due_output.late_word(board.overdue).capitalize()} ({len(board.overdue)})",
            board.overdue,
            page,
        ),
        _dues(f"Not on record ({len(board.missing)})", board.missing, page),
        _dues(soon, board.soon, page),
        titled(f"Held ({len(board.held)})", held(board).text(board.held, page)),
        titled(f"Out ({len(board.out)})", out(board).text(board.out, page)),
        titled(f"Away ({len(board.away)})", away(board).text(board.away, page)),
        _listed("Awaiting inspection", board.awaiting, page),
        _listed("Could not be read, see `tankbook validate`", board.broken, page),
        _listed("Not yet committed", [*map(one_line, git.uncommitted or ())], page),
        _listed(unseen, [*map(one_line, git.ignored)], page),
    ]
    if git.uncommitted is None or git.why:
        asked = "Git cannot be asked, so what" if git.uncommitted is None else "What"
        why = f"{asked} vanishes is not missed: {git.why}." if git.why else WITHOUT_GIT
        parts.append(page.wrap(why))
    audited = page.wrap(f"{git.history}.", hang="  ") if git.history else ""
    parts += [page.wrap(_alone(board, git.copies), hang="  "), audited]
    told = [r for _, r in board.out_of_use if r not in board.station_refusals]
    closed = [f"- {briefly(r)}" for r in board.station_refusals]
    closed += [f"- out of use: {briefly(r)}" for r in told]
    warned = dict.fromkeys((*board.unproved, *board.warned))
    closed += [f"- WARNING: {with_mend(r)}" for r in warned if r not in board.station_refusals]
    closed += [f"- WARNING: bank {b.asked}" for b in board.banks if b.asked and not b.held]
    closed += [f"- WARNING: {id_}: {why}" for id_, why in board.in_doubt]
    first = [page.wrap(headline(board), hang="  ")]
    first += [page.paragraphs(closed, hang="  ")] if closed else []  # none goes on with the line
    first += _station_lines(board, page)
    return "\n\n".join(filter(None, ["\n".join(first), *parts, page.wrap(CAUTION)])) + "\n"


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
    out = f", OUT OF USE ({', '.join(board.parts_out)})" if board.parts_out else ""
    state = "Station CLOSED" if board.station_refusals else f"Station open{out}"
    facts = [_air(board), _soonest_filter(board), _age(board.banks, board.today)]
    return f"{state}: {', '.join(f for f in facts if f)}; {ready} ready"


def _soonest_filter(board: Board) -> str:
    """The filter with the least left, in whole hours."""
    lives = [h for d in _filters(board) if (h := due_output.hours(d)) is not None]
    if not lives:
        return ""
    least = min(lives)
    return f"filter {-least:g} h OVER" if least < 0 else f"filter {int(least)} h"


def _air(board: Board) -> str:
    if board.air_test_failed:
        return "air test FAILED"
    if board.air_test_until is None:
        return "no air test"
    word = "ran out" if board.air_test_until < board.today else "to"
    return f"air test {word} {plain_date(board.air_test_until)}{_left_out(board.air_unmeasured)}"


def _left_out(names: Sequence[str]) -> str:
    """What the air test did not measure; of more than two how many, as `station` names them."""
    if not names:
        return ""
    said = " and ".join(names) if len(names) <= 2 else f"{len(names)} of its limits"
    return f" ({said} not measured)"


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
    said, read = page.pressure(bank.pressure), ""
    lower = bank.shows is not None and bank.shows < bank.pressure
    if bank.shows is not None and (lower or bank.fills > bank.unmeasured):
        said, read = f"about {page.pressure(about(bank.shows))}", f" {said}"
    fills = f", {counted(bank.fills, 'fill')} since" if bank.fills else ""
    when = ""
    if bank.stale and bank.read_on:
        when = f" (STALE, read{read} {ago(bank.read_on, today)}{fills})"
    elif (bank.fills or lower) and bank.read_on:
        when = f" (read{f'{read} on' if read else ''} {plain_date(bank.read_on)}{fills})"
    out = " OUT OF USE" if bank.held else " ANALYSE" if bank.asked else ""
    return f"{bank.name} {bank.gas} {said}{when}{out}"


def about(pressure: GaugePressure) -> GaugePressure:
    """A pressure that was worked out, to 50 psi or 5 bar."""
    step = 50 if pressure.unit == "psi" else 5
    return GaugePressure.of(round(pressure.value / step) * step, pressure.unit)


def _dues(heading: str, dues: Sequence[Due], page: Page) -> str:
    return titled(heading, due_output.lines(dues, page))


def _listed(heading: str, names: Sequence[str], page: Page) -> str:
    shown = list(names[:MOST_NAMES])
    if len(names) > len(shown):
        shown.append(f"and {len(names) - len(shown)} more")
    return titled(f"{heading} ({len(names)})", page.items("", shown, "  ") if shown else "")
