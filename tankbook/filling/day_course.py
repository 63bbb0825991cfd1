"""The course of a day: its sessions one after another, and which course is the best.

By its hours a day is cut into a session for each hour at which cylinders are needed and come, those
needed first before the others. Where some would be late so, other courses are sketched: cylinders
that go first in a session of their own, or wait for the last. The best of these are planned whole.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import chain, groupby
from math import ceil, inf
from typing import NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from tankbook.filling.choose import choose, in_pressure_order
from tankbook.filling.feed_choice import better, fed_between, minutes_of
from tankbook.filling.fill_bench import AN_INSTANT, Feeding, FillBench, has_come_full
from tankbook.filling.levels import full_fills
from tankbook.filling.nouns import BACKED_OFF, Session, Vessel
from tankbook.filling.results import DayCylinder, Load, Plan, PlanStep
from tankbook.filling.session import plan_and_bench
from tankbook.filling.setup import Reckoned, Setup, set_up
from tankbook.filling.simulate import simulate
from tankbook.units import RunningTime

MOST_SKETCHED = 240
"""Cylinders of the sessions that are sketched at most for the course of a day (own choice: each
costs about a hundredth of a second)."""

MOST_PLANNED = 4
"""Courses that are planned whole at most, beside that by the hours (own choice)."""

MOST_CYLINDERS = 32
"""Cylinders of the sessions that are planned whole for that at most, beside those of the first
course (own choice: each costs about a tenth of a second)."""

MOST_LOADS = 200
"""No session has more loads."""


class Demand(Struct, frozen=True, kw_only=True):
    """When a cylinder comes and when it is needed, in minutes from when work may begin; `needed`
    None: at no hour."""

    comes: float = 0.0
    needed: float | None = None


ANY_TIME = Demand()


class DayBatch(NamedTuple):
    """The cylinders of a session, when the last of them comes and when the first is needed."""

    needed: float
    comes: float
    vessels: tuple[Vessel, ...]


class DayPart(Struct, frozen=True):
    """A session of the day: when it begins, after how many minutes of waiting, and its plan, with
    the steps of the wait before its own, and who of it needs no fill."""

    begins: float
    waited: float
    plan: Plan
    before: tuple[PlanStep, ...]
    full_already: frozenset[str]

    @property
    def ends(self) -> float:
        """The minute of the day at which it is over."""
        return self.begins + self.plan.session_minutes


class Worth(NamedTuple):
    """How good a course is, the greater the better, an earlier term before any later one: those
    that come full, those that are ready at their hours, by how many whole minutes the others are
    late together, the full fills left, and how long all takes. Each course has its own, whatever it
    is compared with."""

    full: int
    in_time: int
    not_late: int
    full_fills: int
    sooner: float


class Course(NamedTuple):
    """A course that was planned whole: its sessions, the station as the last leaves it, and who is
    ready when."""

    batches: tuple[DayBatch, ...]
    parts: tuple[DayPart, ...]
    bench: FillBench
    cylinders: tuple[DayCylinder, ...]

    @property
    def worth(self) -> Worth:
        """How good it is."""
        full = sum(one.full for part in self.parts for one in part.plan.reached)
        fills = self.parts[-1].plan.full_fills
        return _worth(full, self.cylinders, fills, self.parts[-1].ends)


class ChosenCourse(NamedTuple):
    """The course of a day, those that it was chosen among, that by the hours first, and whether it
    leaves fewer late than that; `meanwhile` are filled while it is waited for others."""

    course: Course
    tried: tuple[Course, ...]
    saves: bool
    meanwhile: tuple[str, ...]


def best_course(session: Session, demands: Mapping[str, Demand]) -> ChosenCourse:
    """The course of a day that leaves the fewest late, in which those that are needed at no hour
    are filled while it is waited for others, where that harms nobody. The same whatever the order
    of the cylinders."""
    vessels = tuple(sorted(session.vessels, key=lambda vessel: vessel.id))
    day = _Days(replace(session, vessels=vessels), demands)
    first = day.planned(tuple(_batches(vessels, demands)))
    tried = [first]
    if _late(first.cylinders):
        tried += day.others(first)
    best = max(tried, key=lambda course: course.worth)
    saves = best.worth[:3] > first.worth[:3]
    course, meanwhile = day.filled_meanwhile(best if saves else first)
    return ChosenCourse(course, tuple(tried), saves, meanwhile)


def _late(cylinders: Sequence[DayCylinder]) -> list[str]:
    """Those that come full, but too late."""
    return [one.id for one in cylinders if one.ready is not None and not one.in_time]


def _worth(full: int, cylinders: Sequence[DayCylinder], fills: int, ends: float) -> Worth:
    late = sum(
        ceil(one.ready - (one.needed or 0.0) - AN_INSTANT)
        for one in cylinders
        if one.ready is not None and not one.in_time
    )
    return Worth(full, sum(one.in_time for one in cylinders), -late, fills, -ends)


def _later(one: DayCylinder, other: DayCylinder) -> bool:
    return one.ready is not None and (other.ready is None or one.ready > other.ready + AN_INSTANT)


def _sum_of(course: Course, ids: Sequence[str]) -> float:
    """When some are ready, together."""
    return sum(one.ready or inf for one in course.cylinders if one.id in ids)


def _batches(vessels: Sequence[Vessel], demands: Mapping[str, Demand]) -> Iterator[DayBatch]:
    """Those needed first before the others, and of these those that come first."""

    def when(vessel: Vessel) -> tuple[float, float]:
        batch = _batch((vessel,), demands)
        return batch.needed, batch.comes

    for (needed, comes), together in groupby(sorted(vessels, key=when), key=when):
        yield DayBatch(needed, comes, tuple(together))


def _batch(vessels: Sequence[Vessel], demands: Mapping[str, Demand]) -> DayBatch:
    said = [demands.get(vessel.id, ANY_TIME) for vessel in vessels]
    needed = min(inf if one.needed is None else one.needed for one in said)
    return DayBatch(needed, max(0.0, *(one.comes for one in said)), tuple(vessels))


class _Sketch(NamedTuple):
    """A course up to some session as it is sketched: the station, the minute, who comes full when,
    and in which loads those of the last session are."""

    session: Session
    now: float
    full_fills: int
    ready: Mapping[str, float]
    loads: tuple[tuple[str, ...], ...]


_Done = tuple[tuple[tuple[str, ...], float, float], ...]
"""Sessions one after another: who is in each, when the last of them comes, and by when it is to be
over."""


class _Days:
    """The courses of one day, each of their beginnings gone through once."""

    def __init__(self, session: Session, demands: Mapping[str, Demand]) -> None:
        self.session, self.demands = session, demands
        self.sketches: dict[tuple[tuple[str, ...], ...], _Sketch] = {}
        self.worked: dict[_Done, tuple[DayPart, FillBench]] = {}
        self.reckoned: Reckoned = {}
        self.asked: set[tuple[frozenset[str], ...]] = set()
        self.spent = 0
        self.alike = _alike(session.vessels, demands)
        self.by_id = {vessel.id: vessel for vessel in session.vessels}
        self.of_kind: dict[int, list[str]] = {}
        for id_, kind in self.alike.items():
            self.of_kind.setdefault(kind, []).append(id_)

    # --- planned whole

    def planned(self, batches: Sequence[DayBatch]) -> Course:
        """A course planned whole; where some are late so, with each session over in time for those
        after it, if they take as long as they did."""
        course = self._parts(batches, [batch.needed for batch in batches])
        if self.session.compressor and _late(course.cylinders):
            sooner = self._parts(batches, _ends_by(course.parts, batches))
            course = max(course, sooner, key=lambda one: one.worth[:3])
        return course

    def _parts(self, batches: Sequence[DayBatch], ends_by: Sequence[float]) -> Course:
        """The sessions one after another, each over by some minute where it can be."""
        parts: list[DayPart] = []
        now, session = 0.0, self.session
        done: _Done = ()
        for batch, by in zip(batches, ends_by, strict=True):
            done = (*done, (tuple(vessel.id for vessel in batch.vessels), batch.comes, by))
            if done not in self.worked:
                asked = replace(session, vessels=batch.vessels)
                self.worked[done] = _part_of(asked, now, batch.comes, by, self.reckoned)
            part, bench = self.worked[done]
            parts.append(part)
            session = as_left(session, bench)
            now = part.ends
        who = chain.from_iterable(_cylinders(part, self.demands) for part in parts)
        return Course(tuple(batches), tuple(parts), bench, tuple(who))

    # --- while it is waited

    def filled_meanwhile(self, course: Course) -> tuple[Course, tuple[str, ...]]:
        """A course in which those needed at no hour are filled in the waits before others, where
        none is later at its hour for that, none unfilled, and they are ready sooner; and who they
        are. All are tried that are there, else those that the wait is long enough for."""
        meanwhile: list[str] = []
        place = 0
        while place < len(course.batches):
            for ids in self._loose(course, place), self._fit(course, place):
                found = self._moved(course, place, ids) if ids else None
                if found:
                    course, place = found, place + 1
                    meanwhile += ids
                    break
            place += 1
        return course, tuple(sorted(meanwhile))

    def _loose(self, course: Course, place: int) -> list[str]:
        """Those of later sessions that are needed at no hour and there before a wait is over."""
        part = course.parts[place]
        full = {one.id for each in course.parts for one in each.plan.reached if one.full}
        return [
            vessel.id
            for batch in course.batches[place + 1 :]
            for vessel in batch.vessels
            if part.waited > 0 and batch.needed == inf and vessel.id in full
            if self._demand(vessel.id).comes < part.begins - AN_INSTANT
        ]

    def _fit(self, course: Course, place: int) -> list[str]:
        """Those of them that are removed before the wait is over, as they are sketched."""
        loose = self._loose(course, place)
        done = course.batches[:place]
        own = tuple(v for v in self.session.vessels if v.id in loose)
        if not own:
            return []
        ready = self._through((*(batch.vessels for batch in done), own)).ready
        over = course.parts[place].begins
        fit = [id_ for id_ in loose if ready.get(id_, inf) <= over]
        return fit if len(fit) < len(loose) else []

    def _moved(self, course: Course, place: int, ids: Sequence[str]) -> Course | None:
        """A course with some filled in the wait before one of its sessions, where that is better
        for them and worse for nobody."""
        rest = [
            batch._replace(vessels=tuple(v for v in batch.vessels if v.id not in ids))
            for batch in course.batches
        ]
        own = tuple(v for v in self.session.vessels if v.id in ids)
        found = [*rest[:place], _batch(own, self.demands), *rest[place:]]
        tried = self.planned([batch for batch in found if batch.vessels])
        before = {one.id: one for one in course.cylinders}
        worse = any(
            (one.ready is None and before[one.id].ready is not None)
            or (not one.in_time and _later(one, before[one.id]))
            for one in tried.cylinders
        )
        sooner = _sum_of(tried, ids) < _sum_of(course, ids) - AN_INSTANT
        return tried if sooner and not worse else None

    # --- other courses

    def others(self, first: Course) -> Iterator[Course]:
        """Courses that may leave fewer late than the first, the most promising first."""
        fills = {vessel.id: vessel for vessel in self.session.vessels}
        reached = [[fills[one.id] for one in part.plan.reached] for part in first.parts]
        start = tuple(tuple(each) for each in reached if each)
        idle = [v for v in fills.values() if all(v not in each for each in start)]
        spent, passes = 0, 2 if self.session.compressor else 1  # as `planned` may go through each
        for order in self._sketched(start)[:MOST_PLANNED]:
            spent += passes * len(fills)
            if spent > max(MOST_CYLINDERS, passes * len(fills)):
                break
            batches = [_batch(each, self.demands) for each in order]
            if idle:
                batches.append(_batch(idle, self.demands)._replace(comes=0.0))
            yield self.planned(batches)

    def _sketched(self, start: _Order) -> list[_Order]:
        """Courses by how they are sketched, the best first."""
        found = {self._kind(start): (self._worth_of(start), start)}

        def tried(order: _Order) -> Worth | None:
            kind = self._kind(order)
            if kind in found or self.spent >= MOST_SKETCHED:
                return None
            found[kind] = self._worth_of(order), order
            return found[kind][0]

        alone = self._most_in_time(start)
        tried(alone)
        for order in sorted((start, alone), key=self._worth_of, reverse=True):
            best, worth = order, self._worth_of(order)
            better = True
            while better:
                better = False
                for other in self._beside(best):
                    its = tried(other)
                    if its is not None and its > worth:
                        best, worth, better = other, its, True
                        break
        least, roughly = self._worth_of(start), self.session.compressor is not None
        promising = [each for each in found.values() if roughly or each[0] > least]
        promising.sort(key=lambda each: each[0], reverse=True)
        return [order for _, order in promising if order != start]

    def _most_in_time(self, start: _Order) -> _Order:
        """Each by itself, those needed first before the others; whenever one is late, that which
        takes longest of those so far goes to the end."""
        kept: list[Vessel] = []
        last: list[Vessel] = []
        takes = {v.id: self._through(((v,),)).now for each in start for v in each}
        takes = {id_: took - max(0.0, self._demand(id_).comes) for id_, took in takes.items()}
        for vessel in chain.from_iterable(start):
            kept.append(vessel)
            now = 0.0
            for each in kept:
                said = self._demand(each.id)
                now = max(now, said.comes) + takes[each.id]
            needed = self._demand(vessel.id).needed
            if needed is not None and now > needed:
                longest = max(kept, key=lambda v: (takes[v.id], v.id))
                kept.remove(longest)
                last.append(longest)
        dated = [v for v in kept if self._demand(v.id).needed is not None]
        loose = [v for v in kept if v not in dated]
        return tuple((v,) for v in (*dated, *last, *loose))

    def _beside(self, order: _Order) -> Iterator[_Order]:
        """Courses like one: a session cut between its loads, or gone through sooner or later, or
        with the next, and a cylinder in a session of its own, or in another."""
        for n, each in enumerate(order):
            loads = self._through(order[: n + 1]).loads
            before, after = order[:n], order[n + 1 :]
            if len(loads) > 1:
                for load in loads:
                    own = tuple(v for v in each if v.id in load)
                    rest = tuple(v for v in each if v.id not in load)
                    yield (*before, own, rest, *after)
                    yield (*before, rest, *after, own)
            if after:
                yield (*before, _joined(each, after[0]), *after[1:])
        for n, each in enumerate(order):
            others = (*order[:n], *order[n + 1 :])
            for place in range(len(order)):
                if place != n:
                    yield (*others[:place], each, *others[place:])
        for n, each in enumerate(order):
            for vessel in each if len(each) > 1 else ():
                rest = tuple(v for v in each if v is not vessel)
                others = (*order[:n], rest, *order[n + 1 :])
                for place in range(len(others) + 1):
                    yield (*others[:place], (vessel,), *others[place:])
        for n, each in enumerate(order):
            for vessel in each:
                rest = tuple(v for v in each if v is not vessel)
                for place, into in enumerate(order):
                    if place != n:
                        changed = {n: rest, place: _joined(into, (vessel,))}
                        new = (changed.get(k, one) for k, one in enumerate(order))
                        yield tuple(one for one in new if one)

    def _kind(self, order: _Order) -> tuple[tuple[int, ...], ...]:
        """What a course is but for cylinders that are alike."""
        return tuple(tuple(sorted(self.alike[v.id] for v in each)) for each in order)

    def _demand(self, id_: str) -> Demand:
        return self.demands.get(id_, ANY_TIME)

    def _worth_of(self, order: _Order) -> Worth:
        end = self._through(order)
        cylinders = [
            DayCylinder(id=v.id, comes=said.comes, needed=said.needed, ready=end.ready.get(v.id))
            for each in order
            for v in each
            for said in (self._demand(v.id),)
        ]
        return _worth(len(end.ready), cylinders, end.full_fills, end.now)

    def _through(self, order: _Order) -> _Sketch:
        """A course as it is sketched, the feeding of banks reckoned roughly: cylinders that are
        alike but for their ids are gone through once."""
        for n, each in enumerate(order, start=1):
            begun = tuple(frozenset(v.id for v in one) for one in order[:n])
            if begun not in self.asked:
                self.asked.add(begun)
                self.spent += len(each)
        left = {kind: iter(ids) for kind, ids in self.of_kind.items()}
        stand_for = {v.id: next(left[self.alike[v.id]]) for each in order for v in each}
        known = self._sketch_of(
            tuple(tuple(sorted(stand_for[v.id] for v in each)) for each in order)
        )
        named = {other: id_ for id_, other in stand_for.items()}
        return known._replace(
            ready={named[id_]: at for id_, at in known.ready.items()},
            loads=tuple(tuple(named[id_] for id_ in load) for load in known.loads),
        )

    def _sketch_of(self, order: tuple[tuple[str, ...], ...]) -> _Sketch:
        if not order:
            return _Sketch(self.session, 0.0, 0, {}, ())
        known = self.sketches.get(order)
        if known is None:
            vessels = tuple(self.by_id[id_] for id_ in order[-1])
            known = self.sketches[order] = self._one_more(self._sketch_of(order[:-1]), vessels)
        return known

    def _set_up(self, session: Session) -> Setup:
        return set_up(session, self.reckoned)

    def _one_more(self, before: _Sketch, vessels: tuple[Vessel, ...]) -> _Sketch:
        batch = _batch(vessels, self.demands)
        asked, now = replace(before.session, vessels=vessels), before.now
        if batch.comes - now > AN_INSTANT:
            asked = as_left(asked, fed_between(self._set_up(asked), batch.comes - now))
            now = batch.comes
        setup = self._set_up(asked)
        bench = _sketched(setup)
        over = _ends_of_loads(bench.loads, bench.steps, now)
        ready = {
            seat.id: over[load.number]
            for load in bench.loads
            for seat in load.seats
            if has_come_full(bench, bench.job(seat.id))
        }
        problem = setup.problem
        return _Sketch(
            as_left(replace(asked, vessels=self.session.vessels), bench),
            now + minutes_of(bench),
            full_fills(problem.volumes, bench.banks, problem.standard),
            {**before.ready, **ready},
            tuple(tuple(seat.id for seat in load.seats) for load in bench.loads),
        )


_Order = tuple[tuple[Vessel, ...], ...]


def _joined(one: tuple[Vessel, ...], other: tuple[Vessel, ...]) -> tuple[Vessel, ...]:
    return tuple(sorted((*one, *other), key=lambda vessel: vessel.id))


def _alike(vessels: Sequence[Vessel], demands: Mapping[str, Demand]) -> dict[str, int]:
    """Cylinders by number, those that are alike but for their ids by the same."""
    kinds: dict[str, int] = {}
    found = {}
    for vessel in vessels:
        kind = repr((replace(vessel, id=""), demands.get(vessel.id, ANY_TIME)))
        found[vessel.id] = kinds.setdefault(kind, len(kinds))
    return found


def _sketched(setup: Setup) -> FillBench:
    """A session carried out in one or two plain ways: the compressor idle, and feeding the bank
    that it brings above the highest target soonest."""
    problem, favour = setup.problem, setup.session.favour
    answer = in_pressure_order(problem, choose(problem, favour), favour)
    idle = simulate(setup, answer)
    if setup.session.compressor is None or not problem.jobs or not problem.volumes:
        return idle
    top = problem.highest_target
    able = [bank for bank, limit in enumerate(problem.limits) if limit > top]
    if not able:
        return idle
    bank = min(able, key=lambda b: (problem.volumes[b] * max(0.0, top - problem.densities[b]), b))
    fed = simulate(setup, answer, Feeding(((bank,),) * MOST_LOADS, waited=True))

    def worth(bench: FillBench) -> tuple[float, ...]:
        full = sum(has_come_full(bench, job) for job in range(len(problem.jobs)))
        return full, -minutes_of(bench)

    return max(idle, fed, key=worth)


# --- one session after another


def _ends_by(parts: Sequence[DayPart], batches: Sequence[DayBatch]) -> list[float]:
    """By which minute each session must be over for those after it to be in time, if they take as
    long as they do."""
    found: list[float] = []
    by = inf
    for part, batch in zip(reversed(parts), reversed(batches), strict=True):
        by = min(by, batch.needed)
        found.insert(0, by)
        by -= part.plan.session_minutes
    return found


def _part_of(
    asked: Session, now: float, comes: float, by: float, reckoned: Reckoned
) -> tuple[DayPart, FillBench]:
    """The session of some cylinders, the last of which comes at `comes`, over by the minute `by`
    where it can be, and the station as it leaves it. Nobody waits for cylinders that cannot be
    filled: what the compressor would feed meanwhile it feeds before the next that can."""
    setup = set_up(asked, reckoned)
    waits = max(0.0, comes - now) if setup.vessels else 0.0
    full = frozenset(one.id for one in setup.left_out if one.full)
    if waits > AN_INSTANT:
        left = by - now - waits
        ways = [(fed, *plan_and_bench(_over_by(as_left(asked, fed), left), reckoned))
                for fed in _fed_meanwhile(asked, setup, waits)]  # fmt: skip
        best = better(asked.favour, *(bench for _, _, bench in ways))
        fed, made, bench = next(way for way in ways if way[2] is best)
        if made.loads:
            return DayPart(now + waits, waits, made, tuple(fed.steps), full), bench
    made, bench = plan_and_bench(_over_by(asked, by - now), reckoned)
    return DayPart(now, 0.0, made, (), full), bench


def _fed_meanwhile(asked: Session, setup: Setup, minutes: float) -> list[FillBench]:
    """The station as it may be after some minutes of waiting: with the banks fed that leave most,
    and with that alone fed by which the next session gains most, as it is searched for."""
    usual = fed_between(setup, minutes)
    if setup.session.compressor is None or len(setup.banks) < 2:
        return [usual]

    def gains(fed: FillBench) -> tuple[float, ...]:
        problem = set_up(as_left(asked, fed)).problem
        return tuple(choose(problem, asked.favour).score.key(asked.favour))

    alone = [fed_between(set_up(_feeding_only(asked, b.label)), minutes) for b in setup.banks]
    best = min(alone, key=gains)
    return [usual, best] if gains(best) < gains(usual) else [usual]


def _feeding_only(asked: Session, label: str) -> Session:
    """A session in which the compressor can feed one bank and no other."""
    banks = (b if b.label == label else replace(b, limit=b.reading) for b in asked.banks)
    return replace(asked, banks=tuple(banks))


def _over_by(asked: Session, minutes: float) -> Session:
    """A session that is to be over in so many minutes; in no time where it is too late already."""
    ready_in = RunningTime.of(max(0.0, minutes), "min") if minutes < inf else None
    return replace(asked, ready_in=ready_in)


def as_left(session: Session, bench: FillBench) -> Session:
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
    left_at = BACKED_OFF if bench.loads else session.regulator  # as a session ends
    return replace(session, banks=banks, compressor=made, regulator=left_at)


def _ends_of_loads(
    loads: Sequence[Load], steps: Sequence[PlanStep], begins: float
) -> dict[int, float]:
    """The minute of the day at which each load is removed."""
    over: dict[int, float] = {}
    minutes, handled = begins, 0
    for step in steps:
        minutes += sum(x.handling_minutes for x in loads[handled : step.load])
        handled = max(handled, step.load)
        minutes += step.minutes
        over[step.load] = minutes
    return over


def _cylinders(part: DayPart, demands: Mapping[str, Demand]) -> Iterator[DayCylinder]:
    over = _ends_of_loads(part.plan.loads, part.plan.steps, part.begins)
    ends = {seat.id: over[x.number] for x in part.plan.loads for seat in x.seats}
    full = {one.id for one in part.plan.reached if one.full}
    left_out = (one.id for one in part.plan.unfilled)
    for id_ in dict.fromkeys((*(one.id for one in part.plan.reached), *left_out)):
        said = demands.get(id_, ANY_TIME)
        ready = ends.get(id_) if id_ in full else None
        ready = said.comes if id_ in part.full_already else ready
        yield DayCylinder(id=id_, comes=said.comes, needed=said.needed, ready=ready)
