"""The workshop board: customers' work in hand, and what is away."""

from __future__ import annotations

import datetime as dt
from typing import Any

from tankbook.output import people
from tankbook.output.page import Page, counted
from tankbook.output.people import Names, who, whom_to_ring
from tankbook.output.tables import table
from tankbook.records.words import JobState
from tankbook.rules.workshop import AwayLine, JobLine, WorkshopBoard

HEADERS = ("id", "for", "work", "promised", "price", "stands")
AWAY_HEADERS = ("id", "at", "for", "since", "days")


def data(board: WorkshopBoard, names: Names) -> dict[str, Any]:
    """The JSON shape of `jobs`."""
    return {
        "today": board.today,
        "in": board.cylinders,
        "jobs": [_job(line, names) for line in board.jobs],
        "away": [
            {"id": a.id, "to": a.to, "for": a.for_, "since": a.since, "days": a.days}
            for a in board.away
        ],
    }


def _job(line: JobLine, names: Names) -> dict[str, Any]:
    job = line.job
    return {
        "id": line.id,
        "on": job.on,
        "for": people.data(job.reference or "", names),
        "work": job.work,
        "promised": job.promised,
        "price": job.price,
        "state": line.state,
        "ready_on": job.ready,
        "told": job.told.how if job.told else None,
        "promised_today": line.promised_today,
        "late": line.late,
        "to_call": line.to_call,
        "days_waited": line.waited,
        "unclaimed": line.unclaimed,
        "note": job.note,
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
    parts = [page.wrap(headline(board), hang="  ")]
    if board.jobs:
        rows = [_cells(line, names) for line in board.jobs]
        body = table(HEADERS, rows, page, wrap=("for", "work", "stands"), right=("price",))
        parts += ["", f"Work in hand ({len(board.jobs)})", body]
    if board.away:
        rows_away = [_away_cells(a) for a in board.away]
        body = table(AWAY_HEADERS, rows_away, page, wrap=("at",), right=("days",))
        parts += ["", f"Away ({len(board.away)})", body]
    return "\n".join([*parts, ""])


def _cells(line: JobLine, names: Names) -> tuple[str, ...]:
    job = line.job
    reference = job.reference or "-"
    named = whom_to_ring(reference, names) if line.to_call else who(reference, names)
    return (
        line.id,
        named,
        ", ".join(job.work),
        _promised(line),
        str(job.price or "-"),
        _stands(line),
    )


def _promised(line: JobLine) -> str:
    promised: dt.date | None = line.job.promised
    if promised is None:
        return "-"
    mark = " LATE" if line.late else " TODAY" if line.promised_today else ""
    return f"{promised}{mark}"


def _stands(line: JobLine) -> str:
    if line.state is not JobState.READY:
        return line.state.value.replace("-", " ")
    since = f" {line.waited} d" if line.waited else ""
    if line.unclaimed:
        return f"ready{since}, UNCLAIMED"
    return f"ready{since}, CALL" if line.to_call else f"ready{since}, told"


def _away_cells(line: AwayLine) -> tuple[str, ...]:
    return line.id, line.to, line.for_.value, str(line.since), str(line.days)
