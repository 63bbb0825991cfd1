"""What a plan says of those that it leaves unfilled: why, and what would fill them.

What is named as a mend was tried: planned so, all come full. Where nothing that can be named in a
line does, no more is said than is sure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil

from msgspec.structs import replace

from tankbook.filling.choose import choose, in_pressure_order
from tankbook.filling.equation import pressure_text
from tankbook.filling.feed_choice import carried_out, minutes_of
from tankbook.filling.figures import MOST_RAISES, RAISED_BY, RAISED_IN
from tankbook.filling.fill_bench import FillBench, comes_within, has_come_full, was_stopped
from tankbook.filling.levels import TINY, by_density, open_to
from tankbook.filling.nouns import PlanBank, PlanError, Session
from tankbook.filling.problem import Favour
from tankbook.filling.results import Unfilled
from tankbook.filling.setup import Setup, fed_to, set_up
from tankbook.filling.simulate import simulate
from tankbook.gas import RangeError
from tankbook.units import GAUGE_STEP, GaugePressure


def unfilled(setup: Setup, bench: FillBench, *, tried: bool) -> list[Unfilled]:
    """Those that a session leaves unfilled. Without `tried` no mend is looked for: one session of a
    day is not planned by itself."""
    short = [n for n in range(len(setup.vessels)) if not has_come_full(bench, n)]
    mends = _mends(setup, bench, short) if tried and short else {}
    return [
        Unfilled(
            id=setup.vessels[n].id,
            why=_why(setup, bench, n),
            mend=mends.get(n) or _or_else(setup, "raise the banks"),
            holds=setup.equation.reading(bench.holds[n]),
        )
        for n in short
    ]


def _why(setup: Setup, bench: FillBench, job: int) -> str:
    wanted = setup.problem.jobs[job].target
    target = setup.equation.shown(wanted)
    if was_stopped(bench, job):
        loss = setup.session.policy.acceptable_loss
        return f"warm at its stop, it is not sure to settle within {loss} of {target}"
    if bench.holds[job] > setup.problem.jobs[job].start and comes_within(bench, job):
        loss = setup.session.policy.acceptable_loss
        return f"the banks bring it within {loss} of {target} as expected, which is not sure"
    made = setup.session.compressor
    if made and made.maintains and setup.banks and bench.usual.kpa(job) < made.maintains.kpa:
        least = pressure_text(made.maintains, setup.session.unit)
        return (
            f"the banks do not bring it to {least}, below which the compressor's "
            "pressure-maintaining valve keeps it from being filled directly"
        )
    if setup.session.compressor and wanted > setup.problem.compressor_top:
        most = pressure_text(setup.session.compressor.max_pressure, setup.session.unit)
        return f"its target {target} is above what the banks give and the compressor's {most}"
    if bench.holds[job] > setup.problem.jobs[job].start:
        shown = setup.equation.shown(bench.holds[job])
        again = bench.setup.session.policy.most_top_offs
        how = "connected again" if again else "in one connection"
        return f"the banks bring it to {shown} {how}, short of {target}"
    if not setup.banks:
        return f"no bank holds {setup.session.gas}"
    top = max(range(len(setup.banks)), key=lambda bank: setup.problem.densities[bank])
    if setup.problem.densities[top] <= wanted:
        held = setup.equation.shown(setup.problem.densities[top])
        bank = setup.banks[top].label
        return (
            f"its target {target} is above every bank ({bank}, the highest, holds {held}) "
            f"and {_without(setup)}"
        )
    return (
        f"the banks do not hold enough; as they are left they would bring it to "
        f"{setup.equation.shown(_would_reach(setup, bench, job))}"
    )


def _without(setup: Setup) -> str:
    """That no compressor helps: it gives air, and whatever else is asked for is not for it."""
    gas = setup.session.gas
    return "there is no compressor" if gas.is_air else f"no compressor gives {gas}"


def _mends(setup: Setup, bench: FillBench, short: Sequence[int]) -> dict[int, str]:
    """What would fill each that is short: connected again where that is not planned already, or
    cooled; else a bank raised."""
    found = _again(setup, bench, short)
    left = [n for n in short if n not in found]
    if (
        left
        and bench.setup.session.policy.most_top_offs
        and _fills(_when_cool(setup, bench, short))
    ):
        found |= dict.fromkeys(left, "let it cool, read it, and plan it again")
    elif left:
        found |= dict.fromkeys(left, _or_else(setup, _raised(setup, bench, short)))
    return found


def _or_else(setup: Setup, raises: str) -> str:
    """What raises the banks, and what else would do."""
    air = setup.session.gas.is_air and not setup.session.compressor
    other = "fill it from a compressor" if air else "give it less"
    return f"{raises}, or {other}" if raises else other


def _again(setup: Setup, bench: FillBench, short: Sequence[int]) -> dict[int, str]:
    """What connecting cylinders once more would bring: those that are then full, or were stopped
    warm and gain what a gauge shows."""
    policy, unit, found = setup.session.policy, setup.session.unit, dict[int, str]()
    if policy.most_top_offs:
        return found
    once = replace(setup.session, policy=replace(policy, most_top_offs=1))
    again = simulate(replace(bench.setup, session=once), bench.answer, bench.feeding)
    fills = all(has_come_full(again, n) for n in range(len(setup.vessels)))
    more, reading = minutes_of(again) - minutes_of(bench), setup.equation.reading
    for n in short:
        gained = reading(again.holds[n]).kpa - reading(bench.holds[n]).kpa
        if gained >= GAUGE_STEP[unit].kpa and (fills or was_stopped(bench, n)):
            pressure = pressure_text(GaugePressure.of(gained, "kPa"), unit)
            longer = f"{more:.0f} min more" if more >= 0.5 else "no more time"
            found[n] = (
                f"connected a second time, with --top-offs 1, it gains {pressure} in {longer}"
            )
    return found


def _when_cool(setup: Setup, bench: FillBench, short: Sequence[int]) -> Session:
    """The session of those that are short, once they are cool, on the banks as they are left."""
    reading, session = setup.equation.reading, setup.session
    left = {bank.label: rho for bank, rho in zip(setup.banks, bench.banks, strict=True)}
    return replace(
        session,
        vessels=tuple(replace(setup.vessels[n], start=reading(bench.holds[n])) for n in short),
        banks=tuple(
            replace(b, reading=reading(left[b.label])) if b.label in left else b
            for b in session.banks
        ),
    )


def _fills(session: Session) -> bool:
    """Whether the banks fill all that takes part in a session, as many connected as can be or one
    at a time; not where the gas model does not reach."""
    try:
        setup = set_up(replace(session, compressor=None))
        return any(_fills_so(setup, count) for count in (setup.problem.places.count, 1))
    except (PlanError, RangeError):
        return False


def _fills_so(setup: Setup, count: int) -> bool:
    """The same with so many connected at once; not where the search, cold, leaves some short."""
    problem = replace(setup.problem, places=setup.problem.places.at_once(count))
    answer = in_pressure_order(problem, choose(problem, Favour.GAS), Favour.GAS)
    if answer.score.unfilled:
        return False
    done = carried_out(replace(setup, problem=problem), answer, Favour.GAS)
    return all(has_come_full(done, n) for n in range(len(setup.vessels)))


def _raised(setup: Setup, bench: FillBench, short: Sequence[int]) -> str:
    """The first bank, and to what, by which all come full that is raised before they are filled;
    else all of them, to the most that they may hold. Nothing where that does not do."""
    session, unit = setup.session, setup.session.unit
    for ways in (_one_raised(setup, bench, short), _all_raised(setup)):
        for raised in ways:
            banks = (replace(b, reading=raised.get(b.label, b.reading)) for b in session.banks)
            if _fills(replace(session, banks=tuple(banks))):
                said = (f"{label} to {pressure_text(to, unit)}" for label, to in raised.items())
                return f"raise {', '.join(said)}"
    return ""


def _most_of(setup: Setup, bank: PlanBank) -> GaugePressure | None:
    """What a bank may be raised to: None where it is of any, no more than it holds where nobody
    knows."""
    made = setup.session.compressor
    if made is None:
        return bank.limit
    return fed_to(setup.session, bank)


def _one_raised(
    setup: Setup, bench: FillBench, short: Sequence[int]
) -> Iterator[dict[str, GaugePressure]]:
    """One bank raised, by more and more: first that which takes least gas for it."""
    problem, unit = setup.problem, setup.session.unit
    jobs = [(problem.jobs[n], bench.holds[n]) for n in short]
    need = sum(job.volume * (job.target - holds) for job, holds in jobs)
    highest, step = max(job.target for job, _ in jobs), RAISED_IN[unit]

    def least(n: int) -> float:
        """What it would have to hold at least."""
        return max(highest, problem.densities[n]) + need / problem.volumes[n]

    order = sorted(
        range(len(problem.volumes)),
        key=lambda n: problem.volumes[n] * (least(n) - problem.densities[n]),
    )
    for n in order[:MOST_RAISES]:
        bank, most = setup.banks[n], _most_of(setup, setup.banks[n])
        before = setup.equation.reading(problem.densities[n])
        try:
            wanted = setup.equation.reading(least(n)).to(unit)
        except RangeError:
            continue
        for more in RAISED_BY:
            to = GaugePressure.of(step * ceil(wanted * more / step), unit)
            to = to if most is None else min(to, most)
            if to > before:
                yield {bank.label: to}
            before = max(before, to)


def _all_raised(setup: Setup) -> Iterator[dict[str, GaugePressure]]:
    found = {}
    for bank in setup.banks:
        most = _most_of(setup, bank)
        if most is not None and bank.reading is not None and most > bank.reading:
            found[bank.label] = most
    if len(found) > 1:
        yield found


def _would_reach(setup: Setup, bench: FillBench, job: int) -> float:
    """What the banks as left would bring a cylinder to, emptiest first [mol/L]."""
    problem, level, banks = setup.problem, bench.holds[job], list(bench.banks)
    rungs = problem.rungs((job,))
    for bank in by_density(banks):
        if banks[bank] > level + TINY:
            level, banks[bank] = open_to(
                problem.volumes[bank], banks[bank], rungs, level, problem.jobs[job].target
            )
    return level
