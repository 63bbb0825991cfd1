"""Every course of a day of a few cylinders without a compressor, each planned session by session.

It shares nothing with the choice of a course: it takes each order of each division into sessions,
asks `plan` of one session after another, and reads the banks off what that says.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from changing import replace

from tankbook.filling import Demand, Plan, Session, plan


class Told(NamedTuple):
    """How many come full, how many at their hours, and by how many minutes the others are late."""

    full: int
    in_time: int
    not_late: float


class State(NamedTuple):
    """A day up to some session."""

    session: Session
    now: float
    ready: tuple[tuple[str, float], ...]


def summed(ready: Mapping[str, float], demands: Mapping[str, Demand], ids: list[str]) -> Told:
    """What became of those of a day."""
    late, in_time = 0.0, 0
    for id_ in ids:
        needed = demands[id_].needed if id_ in demands else None
        if needed is None or (id_ in ready and ready[id_] <= needed):
            in_time += 1
        elif id_ in ready:
            late += ready[id_] - needed
    return Told(len(ready), in_time, -late)


def best_of_all(session: Session, demands: Mapping[str, Demand]) -> Told:
    """The best that any course comes to."""
    ids = [vessel.id for vessel in session.vessels]
    start = State(session, 0.0, ())
    return max(summed(dict(end.ready), demands, ids) for end in _ends(start, ids, demands))


def _ends(state: State, left: list[str], demands: Mapping[str, Demand]) -> Iterator[State]:
    if not left:
        yield state
        return
    for mask in range(1, 1 << len(left)):
        together = [id_ for n, id_ in enumerate(left) if mask >> n & 1]
        rest = [id_ for n, id_ in enumerate(left) if not mask >> n & 1]
        yield from _ends(_after(state, together, demands), rest, demands)


def _after(state: State, ids: list[str], demands: Mapping[str, Demand]) -> State:
    session = state.session
    asked = tuple(vessel for vessel in session.vessels if vessel.id in ids)
    made = plan(replace(session, vessels=asked))
    now = state.now
    if made.loads:
        now = max(now, *(demands[id_].comes if id_ in demands else 0.0 for id_ in ids))
    left = {bank.label: bank.after for bank in made.banks}
    banks = tuple(
        replace(bank, reading=left.get(bank.label, bank.reading)) for bank in session.banks
    )
    ready = (*state.ready, *removed(made, now).items())
    return State(replace(session, banks=banks), now + made.session_minutes, ready)


def removed(made: Plan, now: float) -> dict[str, float]:
    """When each cylinder is removed full, read off the steps."""
    full = {one.id for one in made.reached if one.full}
    found, load = {}, 0
    for step in made.steps:
        for each in made.loads[load : step.load]:
            now += each.handling_minutes
        load = max(load, step.load)
        now += step.minutes
        found |= {seat.id: now for seat in made.loads[step.load - 1].seats if seat.id in full}
    return found
