"""Planning a day: the sessions one after another, those needed first before the others, and the
compressor feeding the banks while it is waited for cylinders that are still to come.

Each session is planned by `session.py`, on the banks and the compressor as the one before leaves
them. A session takes the cylinders that are needed at one hour and come at one hour.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from math import inf
from typing import NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from tankbook.filling.feed_choice import fed_between
from tankbook.filling.feeding import gone_on, of_feeding
from tankbook.filling.fill_bench import AN_INSTANT, FillBench
from tankbook.filling.nouns import Session, Vessel
from tankbook.filling.results import (
    Carried,
    Day,
    DayCylinder,
    DaySession,
    Load,
    Outcome,
    Plan,
    PlanAct,
    PlanStep,
    Readiness,
)
from tankbook.filling.session import gives_nothing, plan_and_bench, restored_in
from tankbook.filling.setup import set_up
from tankbook.units import RunningTime


class Demand(Struct, frozen=True, kw_only=True):
    """When a cylinder comes and when it is needed, in minutes from when work may begin; `needed`
    None: at no hour."""

    comes: float = 0.0
    needed: float | None = None


ANY_TIME = Demand()


class _Part(Struct, frozen=True):
    """A session of the day: when it begins, after how many minutes of waiting, and its plan, with
    the steps of the wait before its own, and who of it needs no fill."""

    begins: float
    waited: float
    plan: Plan
    before: tuple[PlanStep, ...]
    full_already: frozenset[str]

    @property
    def ends(self) -> float:
        return self.begins + self.plan.session_minutes


def plan_day(session: Session, demands: Mapping[str, Demand]) -> Plan:
    """Plan the sessions of a day. `demands` by the ids of the session's cylinders; one without is
    there from the first, and needed at no hour.

    Raises:
        PlanError, RangeError: as `plan` does.
    """
    batches = list(_batches(session, demands))
    parts, bench = _parts(session, batches, [batch.needed for batch in batches])
    if session.compressor and _late(parts, batches):
        sooner = _parts(session, batches, _ends_by(parts, batches))
        if _comes_out(sooner[0], batches) > _comes_out(parts, batches):
            parts, bench = sooner
    whole = _one_plan(session, parts, demands)
    began = set_up(session)
    before = map(began.equation.reading, began.problem.densities)
    banks = (replace(b, before=p) for b, p in zip(whole.banks, before, strict=True))
    restore = restored_in(began.problem, bench)
    return replace(whole, banks=tuple(banks), restore_minutes=restore)


class _Batch(NamedTuple):
    """The cylinders of a session, when the last of them comes and when they are needed."""

    needed: float
    comes: float
    vessels: tuple[Vessel, ...]


def _parts(
    session: Session, batches: Sequence[_Batch], ends_by: Sequence[float]
) -> tuple[list[_Part], FillBench]:
    """The sessions one after another, each over by some minute where it can be, and the station as
    the last leaves it."""
    parts: list[_Part] = []
    now = 0.0
    for batch, by in zip(batches, ends_by, strict=True):
        part, bench = _part_of(replace(session, vessels=batch.vessels), now, batch.comes, by)
        parts.append(part)
        session = _as_left(session, bench)
        now = part.ends
    return parts, bench


def _late(parts: Sequence[_Part], batches: Sequence[_Batch]) -> float:
    """The minutes by which sessions end too late."""
    pairs = zip(parts, batches, strict=True)
    return sum(max(0.0, part.ends - batch.needed) for part, batch in pairs if part.plan.loads)


def _comes_out(parts: Sequence[_Part], batches: Sequence[_Batch]) -> tuple[float, ...]:
    """How good a day is, before what it leaves: those that are filled, and how late."""
    return sum(one.full for part in parts for one in part.plan.reached), -_late(parts, batches)


def _ends_by(parts: Sequence[_Part], batches: Sequence[_Batch]) -> list[float]:
    """By which minute each session must be over for those after it to be in time, if they take as
    long as they do."""
    found: list[float] = []
    by = inf
    for part, batch in zip(reversed(parts), reversed(batches), strict=True):
        by = min(by, batch.needed)
        found.insert(0, by)
        by -= part.plan.session_minutes
    return found


def _part_of(asked: Session, now: float, comes: float, by: float) -> tuple[_Part, FillBench]:
    """The session of some cylinders, the last of which comes at `comes`, over by the minute `by`
    where it can be, and the station as it leaves it. Nobody waits for cylinders that cannot be
    filled: what the compressor would feed meanwhile it feeds before the next that can."""
    setup = set_up(asked)
    waits = max(0.0, comes - now) if setup.vessels else 0.0
    full = frozenset(one.id for one in setup.left_out if one.full)
    if waits > AN_INSTANT:
        fed = fed_between(setup, waits)
        made, bench = plan_and_bench(_over_by(_as_left(asked, fed), by - now - waits))
        if made.loads:
            return _Part(now + waits, waits, made, tuple(fed.steps), full), bench
    made, bench = plan_and_bench(_over_by(asked, by - now))
    return _Part(now, 0.0, made, (), full), bench


def _over_by(asked: Session, minutes: float) -> Session:
    """A session that is to be over in so many minutes; in no time where it is too late already."""
    ready_in = RunningTime.of(max(0.0, minutes), "min") if minutes < inf else None
    return replace(asked, ready_in=ready_in)


def _batches(session: Session, demands: Mapping[str, Demand]) -> Iterator[_Batch]:
    """Those needed first before the others, and of these those that come first."""

    def when(vessel: Vessel) -> tuple[float, float]:
        said = demands.get(vessel.id, ANY_TIME)
        return inf if said.needed is None else said.needed, max(0.0, said.comes)

    for (needed, comes), vessels in groupby(sorted(session.vessels, key=when), key=when):
        yield _Batch(needed, comes, tuple(vessels))


def _as_left(session: Session, bench: FillBench) -> Session:
    """The session with banks and compressor as a bench leaves them."""
    labels = {bank.label: n for n, bank in enumerate(bench.setup.banks)}
    reading = bench.setup.equation.reading
    banks = tuple(
        replace(
            bank,
            reading=reading(bench.banks[labels[bank.label]]),
            limit=bank.limit,
            reading_age=None,
            unsure=None,
        )
        if bank.label in labels
        else bank
        for bank in session.banks
    )
    made, feed = session.compressor, bench.feed
    if made is not None:
        ran, rests = (RunningTime.of(each, "min") for each in (feed.ran, feed.rests))
        made = replace(made, ran=ran, rests=rests)
    return replace(session, banks=banks, compressor=made)


# --- one plan of all


def _one_plan(session: Session, parts: Sequence[_Part], demands: Mapping[str, Demand]) -> Plan:
    plans = [part.plan for part in parts]
    last = plans[-1]
    loads: list[Load] = []
    steps: list[PlanStep] = []
    sessions: list[DaySession] = []
    for part in parts:
        first = len(loads) + 1
        steps += _renumbered(part.before, len(steps), first, fixed=True)
        steps += _renumbered(part.plan.steps, len(steps), len(loads), fixed=False)
        loads += [replace(x, number=x.number + first - 1) for x in part.plan.loads]
        sessions.append(
            DaySession(
                first=first,
                last=len(loads),
                begins=part.begins,
                ends=part.ends,
                filled=sum(one.full for one in part.plan.reached),
                full_fills=part.plan.full_fills,
            )
        )
    steps = _fed_on(steps)
    cylinders = tuple(each for part in parts for each in _cylinders(part, demands))
    opened = {gives_nothing(step.source) for step in steps}
    said = [each for plan in plans for each in plan.cautions if each not in opened]
    said += of_feeding(session, steps)
    return replace(
        last,
        loads=tuple(loads),
        steps=tuple(steps),
        reached=tuple(one for plan in plans for one in plan.reached),
        unfilled=tuple(one for plan in plans for one in plan.unfilled),
        gas_used_mol=sum(plan.gas_used_mol for plan in plans),
        session_minutes=parts[-1].ends,
        compressor_minutes=sum(plan.compressor_minutes for plan in plans),
        outcome=_summed([plan.outcome for plan in plans]),
        other=_summed([plan.other for plan in plans]),
        carried=tuple(map(_carried, zip(*(plan.carried for plan in plans), strict=True))),
        readiness=_readiness(parts, cylinders),
        cautions=tuple(dict.fromkeys(said)),
        evaluations=sum(plan.evaluations for plan in plans),
        day=Day(sessions=tuple(sessions), cylinders=cylinders, earlier=_earlier(parts, cylinders)),
    )


def _renumbered(
    steps: Sequence[PlanStep], done: int, load: int, *, fixed: bool
) -> Iterator[PlanStep]:
    """Steps with the numbers that they have in the day; those of a wait belong to the next load."""
    for step in steps:
        number = load if fixed else max(load + 1, step.load + load)
        yield replace(step, number=done + step.number, load=number)


def _fed_on(steps: Sequence[PlanStep]) -> list[PlanStep]:
    """The steps of a day, one session going on where the one before ended."""
    found = gone_on(steps)
    return [replace(step, number=number) for number, step in enumerate(found, 1)]


def _cylinders(part: _Part, demands: Mapping[str, Demand]) -> Iterator[DayCylinder]:
    over: dict[int, float] = {}
    minutes, handled = part.begins, 0
    for step in part.plan.steps:
        minutes += sum(x.handling_minutes for x in part.plan.loads[handled : step.load])
        handled = max(handled, step.load)
        minutes += step.minutes
        over[step.load] = minutes
    ends = {seat.id: over[x.number] for x in part.plan.loads for seat in x.seats}
    full = {one.id for one in part.plan.reached if one.full}
    left_out = (one.id for one in part.plan.unfilled)
    for id_ in dict.fromkeys((*(one.id for one in part.plan.reached), *left_out)):
        said = demands.get(id_, ANY_TIME)
        ready = ends.get(id_) if id_ in full else None
        ready = said.comes if id_ in part.full_already else ready
        yield DayCylinder(id=id_, comes=said.comes, needed=said.needed, ready=ready)


def _readiness(parts: Sequence[_Part], cylinders: Sequence[DayCylinder]) -> Readiness | None:
    """Whether all are ready when they are needed, and how much later it may be begun: a session
    that waits for cylinders takes up as much of a delay as it waits."""
    standing = {id_ for part in parts for id_ in part.full_already}
    asked = (each for each in cylinders if each.id not in standing)
    needed = {each.id: each.needed for each in asked if each.needed is not None}
    if not needed:
        return None
    ready = {each.id: each.ready for each in cylinders if each.ready is not None}
    may = inf
    for part in reversed(parts):
        ids = (one.id for one in part.plan.reached)
        spare = (needed[id_] - ready[id_] for id_ in ids if id_ in needed and id_ in ready)
        may = min((may, *spare)) + part.waited
    in_time = all(each.in_time for each in cylinders)
    may = max(0.0, may) if in_time else 0.0
    runs = any(step.fed or step.act is PlanAct.COMPRESSOR for p in parts for step in _steps(p))
    return Readiness(
        available=max(needed.values()),
        in_time=in_time,
        start_within=may if in_time else None,
        compressor_within=may if runs else None,
    )


def _earlier(parts: Sequence[_Part], cylinders: Sequence[DayCylinder]) -> float | None:
    """By how much earlier work would have to begin for all to be in time. A session that waits for
    cylinders begins no earlier for that, nor does one after it."""
    late = {c.id: c for c in cylinders if not c.in_time}
    fixed, most = False, 0.0
    for part in parts:
        fixed = fixed or part.waited > 0
        for one in (late[each.id] for each in part.plan.reached if each.id in late):
            if fixed or one.ready is None or one.needed is None:
                return None
            most = max(most, one.ready - one.needed)
    whole = len(late) == sum(each.id in late for part in parts for each in part.plan.reached)
    return most if late and whole else None


def _steps(part: _Part) -> tuple[PlanStep, ...]:
    return (*part.before, *part.plan.steps)


def _summed(outcomes: Sequence[Outcome]) -> Outcome:
    """The totals of a day; what is left is what its last session leaves."""
    return replace(
        outcomes[-1],
        unfilled=sum(each.unfilled for each in outcomes),
        compressor_fills=sum(each.compressor_fills for each in outcomes),
        compressor_minutes=sum(each.compressor_minutes for each in outcomes),
        handlings=sum(each.handlings for each in outcomes),
        session_minutes=sum(each.session_minutes for each in outcomes),
    )


def _carried(ways: Sequence[Carried]) -> Carried:
    return replace(
        ways[-1],
        full=sum(each.full for each in ways),
        loads=sum(each.loads for each in ways),
        session_minutes=sum(each.session_minutes for each in ways),
        compressor_minutes=sum(each.compressor_minutes for each in ways),
    )
