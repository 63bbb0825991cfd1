"""Planning a day: the sessions one after another, those needed first before the others, and the
compressor feeding the banks while it is waited for cylinders that are still to come.

Each session is planned by `session.py`, on the banks and the compressor as the one before leaves
them. Which cylinders a session takes is chosen by `day_course.py`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import inf

from msgspec.structs import replace

from tankbook.filling.day_course import ChosenCourse, Course, DayPart, Demand, best_course
from tankbook.filling.feeding import gone_on, of_feeding
from tankbook.filling.nouns import Session
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
from tankbook.filling.session import gives_nothing, restored_in, used_in
from tankbook.filling.setup import set_up


def plan_day(session: Session, demands: Mapping[str, Demand]) -> Plan:
    """Plan the sessions of a day. `demands` by the ids of the session's cylinders; one without is
    there from the first, and needed at no hour.

    Raises:
        PlanError, RangeError: as `plan` does.
    """
    chosen = best_course(session, demands)
    whole = _one_plan(session, chosen)
    began = set_up(session)
    before = map(began.equation.reading, began.problem.densities)
    banks = (replace(b, before=p) for b, p in zip(whole.banks, before, strict=True))
    restore = restored_in(began.problem, chosen.course.bench)
    return replace(whole, banks=tuple(banks), restore_minutes=restore)


# --- one plan of all


def _one_plan(session: Session, chosen: ChosenCourse) -> Plan:
    parts, cylinders = chosen.course.parts, chosen.course.cylinders
    late = any(not one.in_time for one in cylinders)
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
    used = {gives_nothing(label) for label in used_in(steps)}
    said = [each for plan in plans for each in plan.cautions if each not in used]
    said += of_feeding(session, steps)
    return replace(
        last,
        loads=tuple(loads),
        steps=tuple(steps),
        reached=tuple(one for plan in plans for one in plan.reached),
        unfilled=tuple(one for plan in plans for one in plan.unfilled),
        gas_used_mol=sum(plan.gas_used_mol for plan in plans),
        session_minutes=parts[-1].ends,
        attended_minutes=sum(plan.attended_minutes for plan in plans),
        compressor_minutes=sum(plan.compressor_minutes for plan in plans),
        outcome=_summed([plan.outcome for plan in plans]),
        other=_summed([plan.other for plan in plans]),
        carried=tuple(map(_carried, zip(*(plan.carried for plan in plans), strict=True))),
        readiness=_readiness(parts, cylinders),
        cautions=tuple(dict.fromkeys(said)),
        evaluations=sum(plan.evaluations for plan in plans),
        day=Day(
            sessions=tuple(sessions),
            cylinders=cylinders,
            earlier=_least_earlier(chosen.tried) if late else None,
            chosen=chosen.saves,
            meanwhile=chosen.meanwhile,
        ),
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


def _readiness(parts: Sequence[DayPart], cylinders: Sequence[DayCylinder]) -> Readiness | None:
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


def _least_earlier(tried: Sequence[Course]) -> float | None:
    """By how much earlier work would have to begin for all to be in time, the least of courses."""
    found = (_earlier(course.parts, course.cylinders) for course in tried)
    return min((each for each in found if each is not None), default=None)


def _earlier(parts: Sequence[DayPart], cylinders: Sequence[DayCylinder]) -> float | None:
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


def _steps(part: DayPart) -> tuple[PlanStep, ...]:
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
        attended_minutes=sum(each.attended_minutes for each in ways),
        compressor_minutes=sum(each.compressor_minutes for each in ways),
    )
