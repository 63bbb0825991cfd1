"""Customers' work: what is in, what was promised, whom to call, what is at the requalifier."""

from __future__ import annotations

import datetime as dt

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, stays_with_owner
from tankbook.records.entries import Job, standing
from tankbook.records.life import still_open
from tankbook.records.words import JobState, SentFor
from tankbook.rules.kept import against_of
from tankbook.rules.status import away_for_work, state_of
from tankbook.units import PartialDate, Period

UNCLAIMED = Period.parse("30 days")
"""How long finished work may wait unless the settings say otherwise (common practice, no source).
What may be done with it then is for local law and the shop's own terms."""


class JobLine(Struct, frozen=True):
    """A job as it stands. `waited` counts the days since it was ready."""

    id: str
    job: Job
    state: JobState
    promised_today: bool
    late: bool
    to_call: bool
    waited: int | None
    unclaimed: bool


class AwayLine(Struct, frozen=True):
    """A cylinder that is away, and for how many days."""

    id: str
    to: str
    for_: SentFor
    since: PartialDate
    days: int
    against: str = ""
    """What stands against it besides."""


class WorkshopBoard(Struct, frozen=True):
    """The jobs that are not collected, most pressing first, and the cylinders that are away."""

    today: dt.date
    jobs: tuple[JobLine, ...]
    away: tuple[AwayLine, ...]

    @property
    def cylinders(self) -> int:
        """How many cylinders are in for work."""
        return len({line.id for line in self.jobs})

    @property
    def at_requalifier(self) -> tuple[AwayLine, ...]:
        """What is away to be tested, longest first."""
        return tuple(line for line in self.away if line.for_ is SentFor.REQUALIFICATION)


def workshop_board(book: Book, today: dt.date) -> WorkshopBoard:
    """What the bench looks at: customers' cylinders, and all that is away to be worked on."""
    jobs = [
        _line(book, cylinder.id, job, today)
        for cylinder in book.cylinders.values()
        for job in open_jobs(cylinder)
    ]
    away = [
        AwayLine(
            cylinder.id,
            sent.to,
            sent.for_,
            sent.on,
            (today - sent.on.first).days,
            against_of(book, cylinder.id, today),
        )
        for cylinder in book.cylinders.values()
        if away_for_work(cylinder)
        for sent in still_open(cylinder.sent)
        if sent.for_ is not SentFor.SUPPLIER
    ]
    return WorkshopBoard(
        today,
        tuple(sorted(jobs, key=_pressing)),
        tuple(sorted(away, key=lambda line: (-line.days, line.id))),
    )


def open_jobs(cylinder: Cylinder) -> tuple[Job, ...]:
    """The jobs of a cylinder that are not collected, oldest first."""
    return tuple(j for j in standing(cylinder.jobs) if state_of(j) is not JobState.COLLECTED)


def whose(card: Cylinder) -> str:
    """The reference of whoever owns a customer's cylinder: its own, else that of its latest job."""
    jobs = standing(card.jobs) if stays_with_owner(card) else ()
    return card.owner or next((j.reference for j in reversed(jobs) if j.reference), "")


def _line(book: Book, id_: str, job: Job, today: dt.date) -> JobLine:
    state = state_of(job)
    ready = state is JobState.READY
    waited = (today - job.ready).days if job.ready else None
    patience = book.settings.unclaimed or UNCLAIMED
    last = PartialDate.of(job.ready).plus(patience).last if job.ready else dt.date.max
    return JobLine(
        id=id_,
        job=job,
        state=state,
        promised_today=not ready and job.promised == today,
        late=not ready and job.promised is not None and job.promised < today,
        to_call=ready and job.told is None,
        waited=waited,
        unclaimed=ready and last < today,
    )


def _pressing(line: JobLine) -> tuple[int, dt.date, str]:
    rank = 0 if line.late else 1 if line.promised_today else 2 if line.to_call else 3
    return rank, line.job.promised or dt.date.max, line.id
