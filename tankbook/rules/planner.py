"""What the work plan is made with: the weeks, the filling batches, and the stock they leave."""

from __future__ import annotations

import datetime as dt

from msgspec import Struct, field

from tankbook.records.settings import Retesting
from tankbook.records.words import Month
from tankbook.rules.demand import Kind, Stock
from tankbook.rules.work_plan import Task
from tankbook.units import PartialDate, Period

AWAY = Period.parse("14 days")
BATCH = 8
VISUALS_A_WEEK = 10
"""What is reckoned with unless the settings say otherwise (common practice, no source)."""

EARLY = dt.timedelta(days=90)
"""How much before its day work may be done where no quiet months are set (common practice, no
source)."""

BENCH_DAYS = 4
"""A cylinder at the bench is off the rack from Monday to Friday (common practice, no source)."""

WEEK = dt.timedelta(days=7)


class Slot(Struct):
    """A batch being filled."""

    first: dt.date
    last: dt.date
    at_bench: bool
    room: int
    tasks: list[Task] = field(default_factory=list)


class Planner(Struct):
    """What the planner works with."""

    today: dt.date
    settings: Retesting
    weeks: tuple[dt.date, ...]
    stock: Stock
    kinds: dict[str, Kind]
    free: dict[str, dt.date]
    slots: list[Slot] = field(default_factory=list)

    @property
    def batch(self) -> int:
        return max(self.settings.batch or BATCH, 1)

    @property
    def bench(self) -> int:
        return max(self.settings.visuals_a_week or VISUALS_A_WEEK, 1)

    def span(self, week: dt.date, at_bench: bool) -> tuple[dt.date, dt.date]:
        """The days away: to the Friday at the bench, for the settings' time at the requalifier."""
        first = max(week, self.today)
        if at_bench:
            return first, max(week + dt.timedelta(days=BENCH_DAYS), first)
        away = self.settings.away or AWAY
        return first, PartialDate.of(first).plus(away).last - dt.timedelta(days=1)

    def is_quiet(self, week: dt.date) -> bool:
        """Whether a week begins in a quiet month, or none is named."""
        names = list(Month)
        return not self.settings.quiet or names[week.month - 1] in self.settings.quiet

    def weeks_for(self, task: Task) -> list[dt.date]:
        """The weeks that will do, latest first: the last quiet stretch before its day."""
        home = self.free.get(task.subject, self.today)
        before = [w for w in reversed(self.weeks) if home <= max(w, self.today) <= task.due]
        if not self.settings.quiet:
            return [w for w in before if w >= task.due - EARLY] or before[:1]
        quiet: list[dt.date] = []
        for week in before:
            if self.is_quiet(week):
                quiet.append(week)
            elif quiet:
                break
        return quiet or before

    def spares(self, task: Task, first: dt.date, last: dt.date) -> bool:
        """Whether what is booked can do without it for a span."""
        kind = self.kinds.get(task.subject)
        return task.late or kind is None or self.stock.spares(kind, first, last)

    def take(self, task: Task, slot: Slot) -> None:
        """Put a task into a slot."""
        slot.tasks.append(task)
        kind = self.kinds.get(task.subject)
        if kind is not None and not task.late and not self._is_gone(task, slot):
            self.stock.take(kind, slot.first, slot.last)

    def undo(self, task: Task, slot: Slot) -> None:
        """Take it out again."""
        slot.tasks.remove(task)
        kind = self.kinds.get(task.subject)
        if kind is not None and not task.late and not self._is_gone(task, slot):
            self.stock.give(kind, slot.first, slot.last)

    def _is_gone(self, task: Task, slot: Slot) -> bool:
        """Whether its set is away already with the other side, or it for another test."""
        return any(t.subject == task.subject and t is not task for t in slot.tasks)
