"""The nouns of the work plan: acts, the batches they are done in, and the days left short."""

from __future__ import annotations

import datetime as dt

from msgspec import Struct

from tankbook.records.rulerow import Obligation
from tankbook.units import Money


class Task(Struct, frozen=True):
    """One act on one cylinder. `subject` is what is booked: the cylinder, or the set it is in."""

    id: str
    subject: str
    obligation: Obligation
    due: dt.date
    late: bool
    price: Money | None
    months: int | None

    def months_early(self, on: dt.date) -> int:
        """Whole calendar months between the act and the month it falls due in."""
        return max(12 * (self.due.year - on.year) + self.due.month - on.month, 0)


class Batch(Struct, frozen=True):
    """Work of one week: what goes to the requalifier together, or is done at the bench.

    `first` to `last` are the days the cylinders cannot be sent out.
    """

    first: dt.date
    last: dt.date
    at_bench: bool
    tasks: tuple[Task, ...]

    @property
    def early(self) -> tuple[Task, ...]:
        """What is done in an earlier month than it falls due."""
        return tuple(t for t in self.tasks if t.months_early(self.first) > 0)


class Lack(Struct, frozen=True):
    """A day with fewer cylinders than are wanted.

    `anyway` are missing even were everything in date, `planned` with the work as planned.
    """

    day: dt.date
    anyway: int
    planned: int


class WorkPlan(Struct, frozen=True):
    """The work of the months ahead, in the order of its weeks."""

    today: dt.date
    until: dt.date
    batches: tuple[Batch, ...]
    lacks: tuple[Lack, ...]
    days_wanted: int
    already_away: tuple[str, ...]
    given_away: tuple[Money, ...]

    @property
    def tasks(self) -> tuple[Task, ...]:
        """Every act."""
        return tuple(t for b in self.batches for t in b.tasks)

    @property
    def early(self) -> int:
        """How many acts are pulled forward to an earlier month."""
        return sum(len(b.early) for b in self.batches)
