"""The workshop board: customers' work in hand, and what is away."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tankbook.output import people
from tankbook.output.page import Page, counted, titled
from tankbook.output.people import Names, told, whom_to_ring
from tankbook.output.tables import Column, Table, in_words
from tankbook.records.words import JobState
from tankbook.rules.workshop import AwayLine, JobLine, WorkshopBoard


def _promised(line: JobLine) -> str | None:
    mark = " LATE" if line.late else " TODAY" if line.promised_today else ""
    return f"{line.job.promised}{mark}" if line.job.promised else None


def _stands(line: JobLine) -> str:
    if line.state is not JobState.READY:
        return in_words(line.state)
    since = f" {line.waited} d" if line.waited else ""
    if line.unclaimed:
        return f"ready{since}, UNCLAIMED"
    return f"ready{since}, CALL" if line.to_call else f"ready{since}, told"


def _jobs(names: Names) -> Table[JobLine]:
    """What is said of a job; its owner's number only where somebody is to call."""

    def owner(line: JobLine) -> dict[str, Any]:
        return people.data(line.job.reference or "", names)

    def called(line: JobLine) -> str:
        return whom_to_ring(line.job.reference or "-", names) if line.to_call else told(owner(line))

    return Table[JobLine](
        Column("id", lambda n: n.id, "id"),
        Column("on", lambda n: n.job.on),
        Column("for", owner),
        Column("", called, "for", wrap=True),
        Column("work", lambda n: n.job.work, "work", ", ".join, wrap=True),
        Column("promised", lambda n: n.job.promised),
        Column("", _promised, "promised"),
        Column("price", lambda n: n.job.price, "price", right=True),
        Column("state", lambda n: n.state),
        Column("", _stands, "stands", wrap=True),
        Column("ready_on", lambda n: n.job.ready),
        Column("told", lambda n: n.job.told.how if n.job.told else None),
        Column("promised_today", lambda n: n.promised_today),
        Column("late", lambda n: n.late),
        Column("to_call", lambda n: n.to_call),
        Column("days_waited", lambda n: n.waited),
        Column("unclaimed", lambda n: n.unclaimed),
        Column("note", lambda n: n.job.note),
    )


def _away(lines: Sequence[AwayLine]) -> Table[AwayLine]:
    """What is said of a cylinder that is away; what stands against one where any has that."""
    against = "against" if any(line.against for line in lines) else None
    return Table[AwayLine](
        Column("id", lambda a: a.id, "id"),
        Column("to", lambda a: a.to, "at", wrap=True),
        Column("for", lambda a: a.for_, "for"),
        Column("since", lambda a: a.since, "since"),
        Column("days", lambda a: a.days, "days", right=True),
        Column("against", lambda a: a.against or None, against, none="", wrap=True),
    )


def data(board: WorkshopBoard, names: Names) -> dict[str, Any]:
    """The JSON shape of `jobs`."""
    return {
        "today": board.today,
        "in": board.cylinders,
        "jobs": _jobs(names).objects(board.jobs),
        "away": _away(board.away).objects(board.away),
    }


def headline(board: WorkshopBoard) -> str:
    """`IN 7, promised today 2, to call 1, at the requalifier 3 (oldest 12 days)`."""
    tested = board.at_requalifier
    oldest = f" (oldest {counted(tested[0].days, 'day')})" if tested else ""
    said = [
        f"IN {board.cylinders}",
        f"promised today {sum(j.promised_today for j in board.jobs)}",
        f"to call {sum(j.to_call for j in board.jobs)}",
        f"at the requalifier {len(tested)}{oldest}",
    ]
    late = sum(j.late for j in board.jobs)
    unclaimed = sum(j.unclaimed for j in board.jobs)
    said += [f"LATE {late}"] if late else []
    said += [f"unclaimed {unclaimed}"] if unclaimed else []
    return ", ".join(said)


def text(board: WorkshopBoard, names: Names, page: Page) -> str:
    """The board; sections with nothing in them are left out."""
    return page.answer(
        headline(board),
        titled(f"Work in hand ({len(board.jobs)})", _jobs(names).text(board.jobs, page)),
        titled(f"Away ({len(board.away)})", _away(board.away).text(board.away, page)),
    )
