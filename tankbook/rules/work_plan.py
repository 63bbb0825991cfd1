"""The work plan: which tests and inspections to do when, so that what is booked can be sent.

Work is planned backward: what falls due last takes the latest week that will do, so that as little
as possible of what is still valid is given away. A week will do when it lies in the quiet months
(where the settings name them), before the date lapses, and when the cylinders can be spared.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from decimal import Decimal

from msgspec import Struct, field

from tankbook.records.book import Book
from tankbook.records.rulerow import Obligation
from tankbook.records.settings import Retesting
from tankbook.records.words import Month, Status
from tankbook.rules.answers import DueKind, State
from tankbook.rules.costs import YEAR, Need, costs_ahead, totals_of
from tankbook.rules.demand import LentKind, Stock, lent_stock, wanted_ahead
from tankbook.rules.fill_history import not_here, sets_with
from tankbook.rules.inforce import facts_of, rules_of
from tankbook.rules.schedule import dated_rows, kept_or_away, period_of
from tankbook.rules.sparing import DONE_AS
from tankbook.units import Money, PartialDate, Period
from tankbook.units.dates import months_between


class Task(Struct, frozen=True):
    """One act on one cylinder. `subject` is what is booked: the cylinder, or the set it is in;
    `stands` says whether it is held, out or away today. What is `late` is overdue, `failed`, or
    not on record (`missing`)."""

    id: str
    subject: str
    obligation: Obligation
    due: dt.date
    late: bool
    price: Money | None
    months: int | None
    stands: tuple[Status, ...] = ()
    missing: bool = False
    failed: bool = False

    def months_early(self, on: dt.date) -> int:
        """Whole calendar months between the act and the month it falls due in."""
        return max(months_between(on, self.due), 0)


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
    kinds: dict[str, LentKind]
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


def work_plan(book: Book, today: dt.date, months: int = YEAR) -> WorkPlan:
    """When to do the tests and inspections of the months ahead (1 to 24).

    Customers' cylinders are left out. What is overdue, or not on record, goes first. Where a day is
    short with the work, it is told beside how short it would be were everything in date.
    """
    ahead = costs_ahead(book, today, months)
    away = {c.id for c in book.cylinders.values() if not_here(book, c) is Status.AT_TEST}
    tasks = [t for t in _tasks(book, ahead.needs, today) if not _is_away(t, away)]
    mondays = tuple(_mondays(today, ahead.last_day))
    lent = lent_stock(book, today)
    wanted = wanted_ahead(book, today, mondays)
    wanted = {day: w for day, w in wanted.items() if day <= ahead.last_day}
    stock = Stock.of(lent, wanted)
    desk = Planner(
        today,
        book.settings.retesting or Retesting(),
        mondays,
        stock,
        {e.id: e.kind for e in lent},
        {e.id: e.free_from for e in lent},
    )
    hydros = [t for t in tasks if t.obligation is Obligation.REQUALIFICATION]
    anyway = stock.shortfalls()
    _close_late(desk, tasks)
    _plan_hydros(desk, hydros)
    _plan_bench(desk, _left_after(book, tasks, desk.slots))
    _open_late(desk)
    return WorkPlan(
        today,
        ahead.last_day,
        tuple(_batches(desk)),
        tuple(_lacks(anyway, stock.shortfalls())),
        len(wanted),
        tuple(sorted(away & {n.id for n in ahead.needs})),
        _given_away(desk.slots),
    )


def _mondays(today: dt.date, end: dt.date) -> Iterator[dt.date]:
    """The weeks from this one on, while there is a working day left in it."""
    week = today - dt.timedelta(days=today.weekday())
    if today.weekday() > BENCH_DAYS:
        week += WEEK
    while week <= end:
        yield week
        week += WEEK


def _tasks(book: Book, needs: tuple[Need, ...], today: dt.date) -> Iterator[Task]:
    for need in needs:
        if need.kind is DueKind.CYLINDER and need.obligation in DONE_AS:
            sets = sets_with(book).get(need.id, ())
            yield Task(
                need.id,
                sets[0] if sets else need.id,
                need.obligation,
                need.by,
                need.late,
                need.price,
                period_months(book, need.id, need.obligation),
                kept_or_away(book, book.cylinders[need.id]),
                need.state is State.MISSING,
                need.item is not None and need.item.failed,
            )


def period_months(book: Book, id_: str, question: Obligation) -> int | None:
    """The months from one act to the next; None where no row gives a period.

    Days are reckoned as the whole months in them, one at the least.
    """
    cylinder = book.cylinders[id_]
    rows = dated_rows(book, facts_of(cylinder, rules_of(book)), question)
    periods = [_months_in(p) for r in rows if (p := period_of(r, cylinder))]
    return min(periods, default=None)


def _months_in(period: Period) -> int:
    return period.months or max(period.days * YEAR // 365, 1)


def _is_away(task: Task, away: set[str]) -> bool:
    return task.id in away and task.obligation is Obligation.REQUALIFICATION


def _close_late(desk: Planner, tasks: list[Task]) -> None:
    """What is overdue cannot be sent out, from today on."""
    for subject in {t.subject for t in tasks if t.late}:
        kind = desk.kinds.get(subject)
        if kind is not None:
            desk.stock.take(kind, max(desk.today, desk.free[subject]), dt.date.max)
    short = desk.stock.shortfalls()
    desk.stock.short = {**dict.fromkeys(desk.stock.short, 0), **short}


def _open_late(desk: Planner) -> None:
    """What was overdue can be sent once the last of its late work is done."""
    back: dict[str, dt.date] = {}
    for slot in desk.slots:
        for task in slot.tasks:
            if task.late:
                back[task.subject] = max(slot.last, back.get(task.subject, slot.last))
    for subject, last in back.items():
        kind = desk.kinds.get(subject)
        if kind is not None:
            first = max(last + dt.timedelta(days=1), desk.free[subject])
            desk.stock.give(kind, first, dt.date.max)


def _plan_hydros(desk: Planner, tasks: list[Task]) -> None:
    late = [t for t in tasks if t.late]
    for start in range(0, len(late), desk.batch):
        week = desk.weeks[min(start // desk.batch, len(desk.weeks) - 1)]
        slot = _slot(desk, week, at_bench=False)
        for task in late[start : start + desk.batch]:
            desk.take(task, slot)
    pending = sorted((t for t in tasks if not t.late), key=lambda t: (t.due, t.id), reverse=True)
    while pending:
        slot = _best_batch(desk, pending)
        pending = [t for t in pending if t not in slot.tasks]
    _dissolve(desk)


def _slot(desk: Planner, week: dt.date, *, at_bench: bool) -> Slot:
    first, last = desk.span(week, at_bench)
    slot = Slot(first, last, at_bench, desk.bench if at_bench else desk.batch)
    desk.slots.append(slot)
    return slot


def _best_batch(desk: Planner, pending: list[Task]) -> Slot:
    """The fullest batch that takes the first of them along, the latest of those."""
    best: tuple[dt.date, list[Task]] | None = None
    for week in desk.weeks_for(pending[0]):
        if not _overlaps(desk, week):
            members = _members(desk, week, pending)
            if members and (best is None or len(members) > len(best[1])):
                best = (week, members)
    if best is None:
        week = _least_harm(desk, pending[0])
        best = (week, _members(desk, week, pending) or [pending[0]])
    slot = _slot(desk, best[0], at_bench=False)
    for task in best[1]:
        desk.take(task, slot)
    return slot


def _overlaps(desk: Planner, week: dt.date) -> bool:
    """Whether another batch is away in that time: one goes at a time."""
    first, last = desk.span(week, at_bench=False)
    return any(not s.at_bench and s.first <= last and first <= s.last for s in desk.slots)


def _least_harm(desk: Planner, task: Task, *, at_bench: bool = False) -> dt.date:
    """A week for what fits none: one that spares it, though not quiet, or else the last."""
    before = [w for w in reversed(desk.weeks) if max(w, desk.today) <= task.due]
    for week in before:
        if desk.spares(task, *desk.span(week, at_bench)):
            return week
    return before[0] if before else desk.weeks[0]


def _members(desk: Planner, week: dt.date, pending: list[Task]) -> list[Task]:
    """The first task and as many more as may go with it that week; none where it may not."""
    trial = Slot(*desk.span(week, at_bench=False), False, desk.batch)
    for task in pending:
        if len(trial.tasks) >= trial.room or (task is not pending[0] and not trial.tasks):
            break
        if week in desk.weeks_for(task) and _may_join(desk, task, trial):
            desk.take(task, trial)
    members = list(trial.tasks)
    for task in reversed(members):
        desk.undo(task, trial)
    return members


def _may_join(desk: Planner, task: Task, slot: Slot) -> bool:
    if any(t.subject == task.subject for t in slot.tasks):  # its set is away already
        return True
    return desk.spares(task, slot.first, slot.last)


def _dissolve(desk: Planner) -> None:
    """Break up small batches whose every task can go along with another one."""
    for slot in sorted(desk.slots, key=lambda s: (len(s.tasks), s.first)):
        others = [s for s in desk.slots if s is not slot]
        if any(t.late for t in slot.tasks):
            continue
        moved: list[tuple[Task, Slot]] = []
        for task in list(slot.tasks):
            room = next((o for o in reversed(others) if _has_room(desk, task, o)), None)
            if room is None:
                break
            desk.undo(task, slot)
            desk.take(task, room)
            moved.append((task, room))
        if slot.tasks:
            for task, room in reversed(moved):
                desk.undo(task, room)
                desk.take(task, slot)
        else:
            desk.slots.remove(slot)


def _has_room(desk: Planner, task: Task, slot: Slot) -> bool:
    weeks = [max(w, desk.today) for w in desk.weeks_for(task)]
    fits = slot.first in weeks and len(slot.tasks) < slot.room
    return fits and _may_join(desk, task, slot)


def _left_after(book: Book, tasks: list[Task], hydros: list[Slot]) -> list[Task]:
    """The bench's work, without the visuals that a hydro planned before their day spares."""
    tested = {t.id: s.first for s in hydros for t in s.tasks}
    left: list[Task] = []
    spared: set[tuple[str, Obligation]] = set()
    for task in sorted(tasks, key=lambda t: t.due):
        key = (task.id, task.obligation)
        if task.obligation is Obligation.REQUALIFICATION:
            continue
        on = tested.get(task.id)
        if on and on <= task.due and key not in spared and _hydro_meets(book, task):
            spared.add(key)
            continue
        left.append(task)
    return left


def _hydro_meets(book: Book, task: Task) -> bool:
    cylinder = book.cylinders[task.id]
    rows = dated_rows(book, facts_of(cylinder, rules_of(book)), task.obligation)
    return all(DONE_AS[Obligation.REQUALIFICATION] in row.met_by for row in rows)


def _plan_bench(desk: Planner, tasks: list[Task]) -> None:
    """Visuals and eddy-current tests, the latest first, so many a week."""
    weeks: dict[dt.date, Slot] = {}

    def of(week: dt.date) -> Slot:
        if week not in weeks:
            weeks[week] = _slot(desk, week, at_bench=True)
        return weeks[week]

    def has_room(week: dt.date) -> bool:
        return week not in weeks or len(weeks[week].tasks) < weeks[week].room

    ordered = sorted((t for t in tasks if not t.late), key=lambda t: (t.due, t.id), reverse=True)
    for task in [t for t in tasks if t.late]:
        desk.take(task, of(next((w for w in desk.weeks if has_room(w)), desk.weeks[-1])))
    for task in ordered:
        free = [w for w in desk.weeks_for(task) if has_room(w)]
        fits = (w for w in free if desk.spares(task, *desk.span(w, at_bench=True)))
        desk.take(task, of(next(fits, None) or _least_harm(desk, task, at_bench=True)))


def _batches(desk: Planner) -> Iterator[Batch]:
    for slot in sorted(desk.slots, key=lambda s: (s.first, s.at_bench)):
        if slot.tasks:
            tasks = tuple(sorted(slot.tasks, key=lambda t: (t.obligation, t.id)))
            yield Batch(slot.first, slot.last, slot.at_bench, tasks)


def _lacks(anyway: dict[dt.date, int], planned: dict[dt.date, int]) -> Iterator[Lack]:
    for day, count in sorted(planned.items()):
        yield Lack(day, anyway.get(day, 0), count)


def _given_away(slots: list[Slot]) -> tuple[Money, ...]:
    """What the validity is worth that is given away by doing work early: its share of the price."""
    return totals_of(
        Money((t.price.amount * early / t.months).quantize(Decimal("0.01")), t.price.currency)
        for slot in slots
        for t in slot.tasks
        if t.price and t.months and (early := t.months_early(slot.first))
    )
