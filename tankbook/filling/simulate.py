"""Carrying a plan out, step by step, on the cold densities, with the heat told beside them."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct, field

from tankbook.filling.choose import equal_level, loads_of, reaches, shares_load
from tankbook.filling.levels import TINY, ladder, open_to
from tankbook.filling.problem import Block, Solution
from tankbook.filling.results import CylinderChange, Ends, Load, PlanAct, PlanStep, Seat
from tankbook.filling.setup import Setup
from tankbook.filling.warmth import Warmth


class FillBench(Struct):
    """The station while a plan is carried out: what banks and cylinders hold, cold [mol/L]."""

    setup: Setup
    banks: list[float]
    holds: list[float]
    warmth: Warmth
    steps: list[PlanStep] = field(default_factory=list)
    loads: list[Load] = field(default_factory=list)
    finished_from: dict[int, int] = field(default_factory=dict)
    compressed: set[int] = field(default_factory=set)

    @property
    def load(self) -> int:
        """The number of the load at hand."""
        return len(self.loads)

    def step(
        self,
        act: PlanAct,
        source: str,
        ends: Ends,
        changes: Sequence[CylinderChange],
        minutes: float,
        held: tuple[float, float] | None = None,
    ) -> None:
        """Note a step; `held` is what the source held before and after."""
        reading = self.setup.equation.reading
        self.steps.append(
            PlanStep(
                number=len(self.steps) + 1,
                load=self.load,
                act=act,
                source=source,
                ends=ends,
                changes=tuple(changes),
                minutes=minutes,
                source_before=reading(held[0]) if held else None,
                source_after=reading(held[1]) if held else None,
            )
        )


def simulate(setup: Setup, answer: Solution) -> FillBench:
    """Carry an answer out: its loads and steps, and what the station then holds."""
    problem = setup.problem
    bench = FillBench(
        setup, list(problem.densities), [job.start for job in problem.jobs], Warmth(setup)
    )
    pair = answer.equalized
    if pair and not shares_load(problem, answer, pair):
        _connect(bench, pair)
        _equalize(bench, pair)
        pair = None
    later: list[int] = []
    loads = loads_of(problem, answer)
    for number, blocks in enumerate(loads, start=1):
        members = [j for block in blocks for j in block.jobs]
        _connect(bench, members)
        if pair and set(pair) <= set(members):
            _equalize(bench, pair)
        for block in blocks:
            _fill_block(bench, block)
        can_wait = number < len(loads)
        put_off = [j for j in members if can_wait and _keeps(bench, answer, j)]
        later += put_off
        top_off(bench, [j for j in members if j not in put_off])
    _top_off_later(bench, later)
    return bench


def _keeps(bench: FillBench, answer: Solution, job: int) -> bool:
    """Whether the bank that finishes a cylinder still can when the session is over. Then it is
    topped off at the end, when it has cooled of itself, for the price of a handling."""
    bank = bench.finished_from.get(job)
    return bank is not None and answer.banks[bank] >= bench.setup.problem.jobs[job].target


def _top_off_later(bench: FillBench, jobs: Sequence[int]) -> None:
    """Connect again, load by load, the cylinders that have settled too far below."""
    problem = bench.setup.problem
    short = [j for j in jobs if not has_come_full(bench, j)]
    if not short or not bench.setup.session.policy.most_top_offs:
        return
    short.sort(key=lambda j: (problem.jobs[j].group, j))
    for load in problem.loads([(j,) for j in short]):
        members = [short[n] for n in load]
        _connect(bench, members)
        top_off(bench, members)


def _connect(bench: FillBench, members: Sequence[int]) -> None:
    setup, problem = bench.setup, bench.setup.problem
    seats = problem.seats(members)
    assert seats is not None, "a load was made that the positions do not take"
    bench.loads.append(
        Load(
            number=len(bench.loads) + 1,
            fill_pressure=setup.vessels[members[0]].marked,
            seats=tuple(
                Seat(id=setup.vessels[j].id, position=setup.positions[place].name)
                for j, place in zip(members, seats, strict=True)
            ),
            handling_minutes=problem.handling,
        )
    )
    bench.warmth.pass_time(problem.handling)


def _equalize(bench: FillBench, pair: tuple[int, int]) -> None:
    """Let the fuller of two cylinders flow into the emptier, throttled to the fill rate."""
    setup, problem = bench.setup, bench.setup.problem
    empty, full = sorted(pair, key=lambda j: problem.jobs[j].start)
    level = equal_level(problem, pair)
    minutes = (level - bench.holds[empty]) / problem.jobs[empty].per_minute
    bench.warmth.pass_time(minutes)
    change = _change(bench, empty, bench.holds[empty], level)
    held = bench.holds[full], level
    bench.holds[empty] = bench.holds[full] = level
    bench.step(PlanAct.EQUALIZE, setup.vessels[full].id, Ends.LEVEL, [change], minutes, held)


def _change(bench: FillBench, job: int, before: float, after: float) -> CylinderChange:
    reading = bench.setup.equation.reading
    settled = reading(after)
    return CylinderChange(
        id=bench.setup.vessels[job].id, before=reading(before), after=settled, stop_at=settled
    )


def _fill_block(bench: FillBench, block: Block) -> None:
    problem = bench.setup.problem
    for bank in block.banks:
        if not any(j in bench.finished_from for j in block.jobs):
            _open(bench, PlanAct.OPEN, bank, block.jobs)
    if not problem.is_full(block) and reaches(problem, block.jobs[0]):
        _from_compressor(bench, block.jobs[0])


def _open(bench: FillBench, act: PlanAct, bank: int, members: Sequence[int]) -> None:
    """Open a bank to cylinders until they are level with it or at their stop."""
    problem = bench.setup.problem
    target = problem.jobs[members[0]].target
    volumes = [problem.jobs[j].volume for j in members]
    rungs = ladder([(v, bench.holds[j]) for v, j in zip(volumes, members, strict=True)])
    before, start = bench.banks[bank], rungs[0].start
    if before <= start + TINY:
        return
    level, _ = open_to(problem.volumes[bank], before, rungs, start, target)
    stops = level >= target - TINY
    rising = [j for j in members if bench.holds[j] < level - TINY]
    had = {j: bench.holds[j] for j in rising}
    for j in rising:
        share = problem.volumes[bank] * problem.jobs[j].volume / sum(volumes)
        to = target if stops else level
        bench.holds[j] = bench.warmth.filled(j, had[j], to, (before, share), stops)
        given = problem.jobs[j].volume * (bench.holds[j] - had[j])
        bench.banks[bank] -= given / problem.volumes[bank]
        if stops:
            bench.finished_from[j] = bank
    minutes = max((bench.holds[j] - had[j]) / problem.jobs[j].per_minute for j in rising)
    bench.warmth.pass_time(minutes, but=rising)
    changes = [bench.warmth.change(j, had[j], bench.holds[j], stops) for j in rising]
    ends = Ends.STOP if stops else Ends.LEVEL
    label = bench.setup.banks[bank].label
    bench.step(act, label, ends, changes, minutes, (before, bench.banks[bank]))


def _from_compressor(bench: FillBench, job: int) -> None:
    problem = bench.setup.problem
    had, target = bench.holds[job], problem.jobs[job].target
    pace = min(problem.compressor / problem.jobs[job].volume, problem.jobs[job].per_minute)
    bench.holds[job] = bench.warmth.filled(job, had, target, (target, None), True, pace)
    minutes = (bench.holds[job] - had) / pace
    bench.warmth.pass_time(minutes, but=[job])
    change = bench.warmth.change(job, had, bench.holds[job], True)
    bench.compressed.add(job)
    made = bench.setup.session.compressor
    bench.step(PlanAct.COMPRESSOR, made.label if made else "", Ends.STOP, [change], minutes)


def top_off(bench: FillBench, members: Sequence[int]) -> None:
    """After a wait, top off the connected cylinders that have settled too far below."""
    policy = bench.setup.session.policy
    for _ in range(policy.most_top_offs):
        short = [j for j in members if was_stopped(bench, j) and not has_come_full(bench, j)]
        if not short:
            return
        _wait(bench, short)
        for j in short:
            if j in bench.finished_from:
                _open(bench, PlanAct.TOP_OFF, _top_off_bank(bench, j), [j])
            else:
                _from_compressor(bench, j)


def _wait(bench: FillBench, short: Sequence[int]) -> None:
    """Wait until the cylinder filled last has rested as long as the policy says."""
    rested = min(bench.warmth.rested(j) for j in short)
    wait = bench.setup.session.policy.cooling.minutes - rested
    if wait > 0:
        bench.warmth.pass_time(wait)
        changes = [_change(bench, j, bench.holds[j], bench.holds[j]) for j in short]
        bench.step(PlanAct.WAIT, "", Ends.TIME, changes, wait)


def was_stopped(bench: FillBench, job: int) -> bool:
    """Whether a cylinder has been brought to its stop, by a bank or the compressor."""
    return job in bench.finished_from or job in bench.compressed


def _top_off_bank(bench: FillBench, job: int) -> int:
    """The bank that finished a cylinder where it still can, else the emptiest that can."""
    problem, target = bench.setup.problem, bench.setup.problem.jobs[job].target

    def serves(bank: int) -> bool:
        need = problem.jobs[job].volume * (target - bench.holds[job])
        return bench.banks[bank] - need / problem.volumes[bank] >= target - TINY

    first = bench.finished_from[job]
    order = sorted(range(len(bench.banks)), key=lambda bank: bench.banks[bank])
    return next((bank for bank in (first, *order) if serves(bank)), first)


def has_come_full(bench: FillBench, job: int) -> bool:
    """Whether a cylinder has settled within the loss that the policy accepts."""
    reading = bench.setup.equation.reading
    target, holds = bench.setup.problem.jobs[job].target, bench.holds[job]
    if holds >= target - TINY:
        return True
    return reading(target).pa - reading(holds).pa <= bench.setup.session.policy.acceptable_loss.pa
