"""Planning a fill session: one call from a `Session` to a `Plan`, its cautions included."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from msgspec.structs import replace

from tankbook.filling.choose import (
    as_listed,
    by_rule,
    choose,
    highest_first,
    in_pressure_order,
    reaches,
)
from tankbook.filling.equation import pressure_text
from tankbook.filling.feed_choice import better, bettered, carried_out, filled, minutes_of, soonest
from tankbook.filling.feeding import of_feeding
from tankbook.filling.figures import LONG_HOLD, PARTS_OF_LOSS
from tankbook.filling.fill_bench import FillBench, has_come_full
from tankbook.filling.levels import by_density, full_fills
from tankbook.filling.nouns import Session
from tankbook.filling.problem import Block, Favour, Problem, Solution
from tankbook.filling.results import (
    BankAfter,
    Carried,
    Outcome,
    Plan,
    PlanAct,
    PlanStep,
    Reached,
    Readiness,
    Turn,
    unattended,
)
from tankbook.filling.setup import Reckoned, Setup, same_gas, set_up
from tankbook.filling.simulate import simulate
from tankbook.filling.unfilled import unfilled
from tankbook.filling.with_less import most_filled, with_less
from tankbook.records.words import PositionKind
from tankbook.units import GaugePressure


def plan(session: Session) -> Plan:
    """Plan a fill session.

    The same session always gives the same plan. Raises `PlanError` for what cannot be planned,
    and `RangeError` for a reading that the gas model does not reach.
    """
    setup, answers, benches = _carried_out(session)
    return _written(setup, answers, benches, tried=True)


def plan_and_bench(session: Session, reckoned: Reckoned | None = None) -> tuple[Plan, FillBench]:
    """The plan of a part of a day, and the station as it leaves it; `reckoned` as of `set_up`.
    Raises as `plan` does."""
    setup, answers, benches = _carried_out(session, reckoned)
    return _written(setup, answers, benches, tried=False), benches[session.favour]


def _carried_out(
    session: Session, reckoned: Reckoned | None = None
) -> tuple[Setup, dict[Favour, Solution], dict[Favour, FillBench]]:
    """Both answers of the search, and both things to favour as they are carried out."""
    setup = set_up(session, reckoned)
    answers = {favour: choose(setup.problem, favour) for favour in Favour}
    first = _both(setup, answers)
    benches = _with_less(setup, first)
    found = benches[session.favour]
    if session.compressor is not None or found is not first[session.favour]:
        benches[session.favour] = simulate(found.setup, found.answer, found.feeding, band=True)
    return setup, answers, benches


FEW = 7
"""Of so many cylinders both things to favour are searched for again where fewer are connected."""


AS_IF_LOWER = 0.7
"""As if a bank held so much less it is searched for answers that are carried out on what it holds:
banks that stand fuller fill no fewer."""


def _with_less(setup: Setup, best: dict[Favour, FillBench]) -> dict[Favour, FillBench]:
    """Both things to favour, where some are short with answers that count on less in a bank, or
    with fewer connected at once or again, if that fills more."""
    most, found = most_filled(setup), best
    few = len(setup.vessels) <= FEW
    for less in (setup, *with_less(setup)):
        if all(filled(bench)[0] >= most for bench in found.values()):
            break
        favours = [*Favour] if few else [Favour.GAS]
        answers = {favour: choose(less.problem, favour) for favour in favours}
        ways = [] if less is setup else _within_loss(less, answers, band=False)
        if less is not setup:
            ways += [
                carried_out(less, in_pressure_order(less.problem, answer, favour), favour)
                for favour, answer in answers.items()
            ]
        ways += [carried_out(less, answer, Favour.GAS) for answer in _as_if_lower(less, few=few)]
        fills = max((filled(way)[0] for way in ways), default=0)
        ways = [way for way in ways if filled(way)[0] == fills]
        found = {
            favour: better(favour, *ways) if fills > filled(bench)[0] else bench
            for favour, bench in found.items()
        }
    return found


def _as_if_lower(setup: Setup, *, few: bool) -> list[Solution]:
    """The answers of least gas, of a few cylinders, as if each bank in turn held less."""
    problem, found = setup.problem, dict[tuple[Block, ...], Solution]()
    if setup.session.compressor or not few:
        return []
    for bank, density in enumerate(problem.densities):
        held = [*problem.densities]
        held[bank] = AS_IF_LOWER * density
        lower = replace(problem, densities=tuple(held))
        answer = in_pressure_order(lower, choose(lower, Favour.GAS), Favour.GAS)
        found.setdefault(answer.blocks, answer)
    return [*found.values()]


def _both(setup: Setup, answers: dict[Favour, Solution]) -> dict[Favour, FillBench]:
    """Both things to favour carried out, the same whichever is asked for: what is best for one may
    have come of the other."""
    idle, problem = setup.session.compressor is None, setup.problem
    gas, time = (in_pressure_order(problem, answers[f], f) for f in (Favour.GAS, Favour.TIME))
    first = carried_out(setup, gas, Favour.GAS, band=idle)
    if idle:
        same = time.blocks == gas.blocks
        other = first if same else carried_out(setup, time, Favour.TIME, band=idle)
        least, soon = better(Favour.GAS, first, other), better(Favour.TIME, other, first)
    else:
        soon, *others = soonest(setup, time, first)
        least = better(Favour.GAS, first, soon, *others)
        if least is not first:
            least = bettered(setup, least, Favour.GAS)
        soon = better(Favour.TIME, soon, least, first)
    eased, found = _within_loss(setup, answers), dict[Favour, FillBench]()
    for favour, best in ((Favour.GAS, least), (Favour.TIME, soon)):
        instead = [bench for bench in eased if filled(bench) >= filled(best)]
        found[favour] = better(favour, *instead) if instead else best
    return found


def _within_loss(
    setup: Setup, answers: dict[Favour, Solution], *, band: bool = True
) -> list[FillBench]:
    """Where the banks leave some unfilled that nothing else fills: answers by which they, and those
    loaded with them, come within the loss that is accepted of what they are to be filled to."""
    problem, found = setup.problem, dict[tuple[Block, ...], FillBench]()
    known = dict[tuple[frozenset[int], float], Problem]()
    for favour, answer in answers.items():
        done = {j for b in answer.blocks if problem.is_full(b) for j in b.jobs}
        short = [j for j, _ in enumerate(problem.jobs) if j not in done]
        top = problem.compressor_top
        groups = frozenset(problem.jobs[j].group for j in short if problem.jobs[j].target > top)
        if not groups:
            continue
        for part in PARTS_OF_LOSS:
            if (groups, part) not in known:
                known[groups, part] = _eased(setup, groups, part)
            eased = known[groups, part]
            less = in_pressure_order(eased, choose(eased, favour), favour)
            blocks = tuple(_to_the_whole(problem, eased, block) for block in less.blocks)
            if less.score.unfilled < answer.score.unfilled and blocks not in found:
                whole = less._replace(blocks=blocks)
                found[blocks] = carried_out(setup, whole, favour, band=band)
    return [*found.values()]


def _eased(setup: Setup, groups: Collection[int], part: float) -> Problem:
    """The problem with all of some fill pressures filled to less, by a part of the loss."""
    loss, density = part * setup.session.policy.acceptable_loss.fraction, setup.equation.density
    jobs = tuple(
        job._replace(target=max(job.start, density(_less(vessel.target, loss))))
        if job.group in groups
        else job
        for job, vessel in zip(setup.problem.jobs, setup.vessels, strict=True)
    )
    return replace(setup.problem, jobs=jobs)


def _less(target: GaugePressure, loss: float) -> GaugePressure:
    return GaugePressure.of(target.kpa * (1 - loss), "kPa")


def _to_the_whole(problem: Problem, eased: Problem, block: Block) -> Block:
    """A block that fills its cylinders to what is accepted, as one that is to fill them whole."""
    if not eased.is_full(block):
        return block
    return block._replace(level=problem.jobs[block.jobs[0]].target)


def compare_ways(session: Session) -> tuple[Outcome, ...]:
    """The plan beside other ways of working, all cold: both things to favour, the emptiest bank
    first, the fullest first, and the banks as listed, cylinders in the order of the queue.

    Raises as `plan` does.
    """
    setup = set_up(session)
    ways = {f"plan, favouring {favour}": choose(setup.problem, favour) for favour in Favour}
    rules = {
        "lowest bank first": by_density,
        "highest bank first": highest_first,
        "banks in label order": as_listed,
    }
    ways |= {name: by_rule(setup.problem, rule) for name, rule in rules.items()}
    return tuple(_outcome(name, setup.problem, answer) for name, answer in ways.items())


def _outcome(way: str, problem: Problem, answer: Solution) -> Outcome:
    score = answer.score
    short = {
        n
        for n in range(len(problem.jobs))
        if not any(n in b.jobs and problem.is_full(b) for b in answer.blocks)
    }
    called = [n for n in short if reaches(problem, n)]
    minutes = score.compressor_gas / problem.compressor if problem.compressor else 0.0
    return Outcome(
        way=way,
        unfilled=len(short) - len(called),
        compressor_fills=len(called),
        full_fills=score.full_fills,
        stored_above_mol=score.stored_above,
        compressor_minutes=minutes,
        handlings=score.handlings,
        session_minutes=score.minutes,
    )


def _carried(setup: Setup, favour: Favour, bench: FillBench) -> Carried:
    problem = setup.problem
    return Carried(
        favour=favour,
        full=sum(has_come_full(bench, n) for n in range(len(setup.vessels))),
        loads=len(bench.loads),
        full_fills=full_fills(problem.volumes, bench.banks, problem.standard),
        session_minutes=minutes_of(bench),
        attended_minutes=minutes_of(bench) - unattended(bench.steps),
        compressor_minutes=_compressor_minutes(bench),
    )


def _compressor_minutes(bench: FillBench) -> float:
    return sum(s.minutes for s in bench.steps if s.act is PlanAct.COMPRESSOR)


def _written(
    setup: Setup,
    answers: dict[Favour, Solution],
    benches: dict[Favour, FillBench],
    *,
    tried: bool,
) -> Plan:
    session, problem = setup.session, setup.problem
    bench = benches[session.favour]
    other = Favour.TIME if session.favour is Favour.GAS else Favour.GAS
    compressor = _compressor_minutes(bench)
    minutes = minutes_of(bench)
    gas = sum(j.volume * (h - j.start) for j, h in zip(problem.jobs, bench.holds, strict=True))
    short = (*setup.left_out, *unfilled(setup, bench, tried=tried))
    return Plan(
        gas=session.gas.word,
        ambient=session.ambient,
        unit=session.unit,
        favour=session.favour,
        loads=tuple(bench.loads),
        steps=tuple(bench.steps),
        reached=_reached(setup, bench),
        unfilled=short,
        banks=_banks_after(setup, bench),
        full_fills=full_fills(problem.volumes, bench.banks, problem.standard),
        standard=session.standard.name,
        gas_used_mol=gas,
        session_minutes=minutes,
        attended_minutes=minutes - unattended(bench.steps),
        compressor_minutes=compressor,
        restore_minutes=restored_in(problem, bench),
        outcome=_outcome(f"plan, favouring {session.favour}", problem, answers[session.favour]),
        carried=tuple(_carried(setup, favour, benches[favour]) for favour in Favour),
        other=_outcome(f"plan, favouring {other}", problem, answers[other]),
        readiness=_readiness(session, minutes, compressor, bench),
        cautions=cautions_of(setup, bench),
        evaluations=setup.equation.evaluations,
        sizes=session.sizes,
    )


def _reached(setup: Setup, bench: FillBench) -> tuple[Reached, ...]:
    reading = setup.equation.reading
    return tuple(
        Reached(
            id=vessel.id,
            water_volume=vessel.water_volume,
            start=reading(job.start),
            target=reading(job.target),
            holds=reading(bench.holds[n]),
            full=has_come_full(bench, n),
        )
        for n, (vessel, job) in enumerate(zip(setup.vessels, setup.problem.jobs, strict=True))
    )


def _banks_after(setup: Setup, bench: FillBench) -> tuple[BankAfter, ...]:
    reading = setup.equation.reading
    return tuple(
        BankAfter(
            label=bank.label,
            water_volume=bank.water_volume,
            before=reading(before),
            after=reading(after),
        )
        for bank, before, after in zip(
            setup.banks, setup.problem.densities, bench.banks, strict=True
        )
    )


def restored_in(problem: Problem, bench: FillBench) -> float | None:
    """Compressor minutes that bring every bank back to its reading: what another stands higher
    by is no help; None without one."""
    if not problem.compressor:
        return None
    drawn = sum(
        volume * max(0.0, before - after)
        for volume, before, after in zip(
            problem.volumes, problem.densities, bench.banks, strict=True
        )
    )
    return drawn / problem.compressor


def _readiness(
    session: Session,
    minutes: float,
    compressor: float,
    bench: FillBench,
) -> Readiness | None:
    if session.ready_in is None:
        return None
    spare = session.ready_in.minutes - minutes
    before = _minutes_before_compressor(bench)
    runs = compressor > 0 or any(step.fed for step in bench.steps)
    return Readiness(
        available=session.ready_in.minutes,
        in_time=spare >= 0,
        start_within=max(0.0, spare) if spare >= 0 else None,
        compressor_within=max(0.0, spare + before) if runs else None,
    )


def _minutes_before_compressor(bench: FillBench) -> float:
    """Minutes of the session that are over when the compressor is started."""
    total = 0.0
    for step in bench.steps:
        starts = [move for move in step.moves if move.turn is Turn.START]
        if starts:
            return total + starts[0].minutes
        total += step.minutes
        if step.act is PlanAct.CONNECT:
            total += bench.loads[step.load - 1].handling_minutes
    return total


# --- the cautions that go with a plan

ALWAYS = (
    "A trained operator decides. The maker's and local rules come first.",
    "Crack each cylinder valve and blow its outlet dry before connecting it; open the cylinder "
    "valve before the bank valve; bleed the whip before removing it.",
    "No gauge may show more than the marked pressure. Read the checked master gauge.",
    "Analyse before labelling and again at pick-up.",
)
HOT = (
    "Stops and settled pressures are predictions for gas still warm: read each cylinder again "
    "when it has cooled for an hour."
)
LEVELS = (
    "Where flow is to stop, shut the position as it stops, before the next bank: a non-return "
    "valve is no reason to leave it open."
)
HELIUM = "Helium: the gas model is unvalidated for it, up to about 1 % out at 300 bar."


def cautions_of(setup: Setup, bench: FillBench) -> tuple[str, ...]:
    """What the operator is to be told, the general first."""
    said = list(ALWAYS)
    if setup.session.heat:
        said += [HOT, LEVELS]
    if not setup.session.gas.validated:
        said.append(HELIUM)
    said += _of_clean_states(setup)
    said += _of_gauges(setup)
    said += _of_banks(setup, bench)
    if any(step.act is PlanAct.EQUALIZE for step in bench.steps):
        said.append("Equalize throttled, with both cylinders' contents known.")
    said += _of_holds(setup, bench)
    said += _of_less(setup, bench)
    said += of_feeding(setup.session, bench.steps)
    unvalved = [p.name for p in setup.positions if p.valve is False]
    if unvalved:
        said.append(
            f"{', '.join(unvalved)}: no valve of its own, so nothing is filled beside it; cap it "
            "while another position is used."
        )
    seats = {s.position for load in bench.loads for s in load.seats}
    said += [
        f"Open whip {p.name} is used: keep everyone away from it while it fills."
        for p in setup.positions
        if p.kind is PositionKind.WHIP and p.name in seats
    ]
    return tuple(said)


def _of_holds(setup: Setup, bench: FillBench) -> list[str]:
    if max((step.held for step in bench.steps), default=0.0) < LONG_HOLD.minutes:
        return []
    policy = setup.session.policy
    again = (
        ""
        if policy.most_top_offs
        else (
            ". With `--top-offs 1` it cools on the floor instead, and is connected again, where "
            "that fills as many"
        )
    )
    wet = "" if policy.wet else "; a water bath (`--wet`) cools sooner"
    return [
        "A long hold at a stop is for the gas to cool and take more: a cylinder shut sooner is not "
        f"sure to settle within {policy.acceptable_loss} of its target{again}{wet}."
    ]


def _of_less(setup: Setup, bench: FillBench) -> list[str]:
    """That less is done at once, or again, than the station allows, and why."""
    said, places = list[str](), setup.problem.places
    if (bench.setup.problem.places.most or places.count) < places.count:
        most = max((len(load.seats) for load in bench.loads), default=0)
        said.append(f"Connect no more than {most} at once: with more, fewer come full.")
    again = bench.setup.session.policy.most_top_offs
    if again < setup.session.policy.most_top_offs:
        often = f"more than {again} times" if again > 1 else "more than once" if again else "again"
        said.append(f"Connect no cylinder {often}, though it is allowed: so more come full.")
    return said


def _of_clean_states(setup: Setup) -> list[str]:
    if setup.session.oxygen_grade:
        return []
    return [
        f"{vessel.id} is clean for {vessel.clean_state}: gas not of oxygen grade ends that."
        for vessel in setup.vessels
        if vessel.clean_state != "air"
    ]


def _of_gauges(setup: Setup) -> list[str]:
    unit = setup.session.unit
    return [
        f"Gauge {gauge.label} shows {pressure_text(gauge.shows, unit)} where the master shows "
        f"{pressure_text(gauge.true, unit)}: replace it, do not correct for it."
        for gauge in setup.session.gauges
        if abs(gauge.shows.pa - gauge.true.pa) > setup.session.policy.gauge_error.pa
    ]


def _of_banks(setup: Setup, bench: FillBench) -> list[str]:
    session = setup.session
    said = [
        f"Bank {bank.label} holds {bank.gas}: it stays shut."
        for bank in session.banks
        if not same_gas(bank.gas, session.gas)
    ]
    emptiest = min((job.start for job in setup.problem.jobs), default=0.0)
    used = used_in(bench.steps)
    for bank, density in zip(setup.banks, setup.problem.densities, strict=True):
        if density <= emptiest and bank.label not in used:
            said.append(gives_nothing(bank.label))
    return said


def used_in(steps: Iterable[PlanStep]) -> set[str]:
    """What gives gas in some steps, and the banks that are fed."""
    return {label for step in steps for label in (step.source, *(fed.bank for fed in step.fed))}


def gives_nothing(label: str) -> str:
    """The caution of a bank that is below all, opened to none and not fed."""
    return f"Bank {label} is below every cylinder: it gives nothing."
