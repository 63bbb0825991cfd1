"""A fill session as it is read at the panel: the answer, who is left out, what to open, what then.

Readings that are predicted are rounded down to what a gauge shows.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from msgspec import Struct

from tankbook.filling import Outcome, Plan
from tankbook.filling.wish import Prepared
from tankbook.gas import BAR_REFERENCE, PSI_REFERENCE, Gas, density
from tankbook.output import plot
from tankbook.output.may_fill import briefly
from tankbook.output.page import Page, counted
from tankbook.output.plan_comparison import ways_lines
from tankbook.output.readings import down, whole
from tankbook.output.steps import load_lines
from tankbook.output.tables import table
from tankbook.output.words import CAUTION, NOT_ADVICE
from tankbook.records.words import Shore
from tankbook.rules.answers import Reason
from tankbook.units import Volume


class Made(Struct, frozen=True):
    """A session that was asked for, and the plan that came of it, None where nobody may be filled.

    `asked` counts the cylinders of the queue, `passed_over` pairs what a filter found but left out
    with why; `compared` has other ways of working, where asked; `hurried` is how many minutes it
    takes with time favoured, where this plan is not ready in time.
    """

    gas: Gas
    prepared: Prepared
    plan: Plan | None
    asked: int
    passed_over: tuple[tuple[str, str], ...] = ()
    compared: tuple[Outcome, ...] | None = None
    begins: dt.datetime | None = None
    ready_by: dt.datetime | None = None
    hurried: float | None = None

    @property
    def filled(self) -> int:
        """How many end full that were not."""
        return sum(one.full for one in self.plan.reached) if self.plan else 0

    @property
    def short(self) -> tuple[str, ...]:
        """What is refused or left unfilled; a cylinder that was full already is neither."""
        refused = [one.id for one in self.prepared.refused]
        left = [one.id for one in self.plan.unfilled] if self.plan else []
        return (*refused, *(i for i in left if i not in self.prepared.full))

    @property
    def in_time(self) -> bool:
        """Whether it is done by the time asked for, where one was."""
        readiness = self.plan.readiness if self.plan else None
        return readiness is None or readiness.in_time

    @property
    def done(self) -> bool:
        """Whether everything asked for is filled, and in time."""
        return not self.short and not self.prepared.shut and self.in_time


def text(made: Made, page: Page) -> str:
    """The plan as text."""
    parts = [page.wrap(headline(made), hang="    ")]
    parts += [page.wrap(line, hang="  ") for line in _readiness(made)]
    left = list(_left_out(made, page))
    parts += ["", *left] if left else []
    if made.plan is not None:
        parts += _planned(made, made.plan, page)
    said = list(_notes(made, page))
    parts += ["", *said] if said else []
    parts += ["", *_cautions(made, page), NOT_ADVICE, ""]
    return "\n".join(parts)


def headline(made: Made) -> str:
    """`6 of 7 filled in 2 loads, 58 min; 9 full fills left`, and whether it is ready in time."""
    if made.plan is None:
        why = f": {briefly(made.prepared.shut[0])}" if made.prepared.shut else ""
        return f"0 of {made.asked} may be filled{why}"
    plan = made.plan
    said = f"{made.filled} of {made.asked} filled"
    if plan.loads:
        said += f" in {counted(len(plan.loads), 'load')}, {minutes(plan.session_minutes)}"
    said += f"; {counted(plan.full_fills, 'full fill')} left"
    full = len(made.prepared.full)
    if full:
        said += f"; {full} full already"
    if made.ready_by is not None:
        said += f"; {'' if made.in_time else 'NOT '}ready by {clock(made.ready_by, made.begins)}"
    return said


def minutes(value: float) -> str:
    """`58 min`, `1 h 12 min`, to the next whole minute."""
    whole = int(value + 0.999)
    return f"{whole // 60} h {whole % 60:02d} min" if whole >= 60 else f"{whole} min"


def clock(at: dt.datetime, today: dt.datetime | None) -> str:
    """`09:00`, with its day where that is another."""
    other = today is not None and at.date() != today.date()
    return f"{at:%H:%M} on {at.date()}" if other else f"{at:%H:%M}"


def _readiness(made: Made) -> Iterator[str]:
    ready = made.plan.readiness if made.plan else None
    if ready is None or made.begins is None or made.plan is None:
        return

    def later(by: float) -> str:
        assert made.begins is not None
        return clock(made.begins + dt.timedelta(minutes=int(by)), made.begins)

    if ready.start_within is not None:
        yield f"Begin by {later(ready.start_within)} (it is {clock(made.begins, made.begins)})."
    else:
        late = minutes(made.plan.session_minutes - ready.available)
        yield f"It is {clock(made.begins, made.begins)}: even begun now it is {late} late."
        if made.hurried is not None:
            yield f"With --favour time it takes {minutes(made.hurried)}."
    if ready.compressor_within is None:
        yield "The compressor need not be started."
    else:
        yield (
            f"Start the compressor by {later(ready.compressor_within)}: "
            f"it is fed from for {minutes(made.plan.compressor_minutes)}."
        )


# --- who is left out


def _left_out(made: Made, page: Page) -> Iterator[str]:
    prepared, plan = made.prepared, made.plan
    if prepared.shut:
        yield "The station fills nothing"
        yield from (_reason("", reason, page) for reason in prepared.shut)
    own = [one for one in prepared.refused if one.reasons]
    if own:
        yield f"Refused ({len(own)})"
        for one in own:
            yield from (_reason(one.id, reason, page) for reason in one.reasons)
    unfilled = [one for one in plan.unfilled if one.id not in prepared.full] if plan else []
    if unfilled:
        yield f"Left unfilled ({len(unfilled)})"
        for each in unfilled:
            yield page.wrap(f"  {each.id}: {each.why}; {each.mend}", hang="    ")
    if prepared.full:
        yield page.items("Full already", prepared.full)
    if made.passed_over:
        yield page.items("Passed over", [f"{i} ({why})" for i, why in made.passed_over])


def _reason(id_: str, reason: Reason, page: Page) -> str:
    mend = f"; {reason.mend}" if reason.mend else ""
    return page.wrap(f"  {f'{id_}: ' if id_ else ''}{briefly(reason)}{mend}", hang="    ")


# --- the plan


def _planned(made: Made, plan: Plan, page: Page) -> Iterator[str]:
    unit = page.shore.value
    yield ""
    yield page.wrap(
        f"Filling {made.gas} at {plan.ambient}, favouring {plan.favour}. Pressures are in {unit}; "
        "settled ones are cold and rounded down."
    )
    for load in plan.loads:
        yield from ("", *load_lines(plan, load, page))
    picture = plot.picture(plan, page)
    if picture:
        yield from ("", *picture)
    for each in (_cylinders(plan, page), _banks(plan, page)):
        yield from ("", each) if each else ()
    yield from ("", *_totals(made, plan, page))
    if not plan.steps:
        return
    yield from ("", *ways_lines(plan, made.compared, page))


def _cylinders(plan: Plan, page: Page) -> str:
    loads = {seat.id: str(load.number) for load in plan.loads for seat in load.seats}
    rows = [
        (
            one.id,
            loads.get(one.id, "-"),
            whole(one.start, page),
            down(one.target, page),
            down(one.holds, page),
            "full" if one.full else "SHORT",
        )
        for one in plan.reached
    ]
    headers = ("cylinder", "load", "from", "target", "holds", "")
    return table(headers, rows, page, right=("load", "from", "target", "holds"))


def _banks(plan: Plan, page: Page) -> str:
    rows = [
        (bank.label, f"{bank.water_volume}", whole(bank.before, page), down(bank.after, page))
        for bank in plan.banks
    ]
    return table(("bank", "volume", "before", "after"), rows, page, right=("before", "after"))


def _totals(made: Made, plan: Plan, page: Page) -> Iterator[str]:
    session = made.prepared.session
    assert session is not None
    standard = session.standard
    span = f"{plan.standard}, {page.pressure(standard.start)} to {page.down(standard.target)}"
    yield page.wrap(f"Full fills left: {plan.full_fills} ({span}).")
    if not plan.steps:
        return
    yield page.wrap(
        f"Session: {minutes(plan.session_minutes)}; gas used {_free_gas(plan, made.gas, page)}."
    )
    if plan.compressor_minutes:
        yield f"Of that from the compressor: {minutes(plan.compressor_minutes)}."
    if plan.restore_minutes is None:
        yield "No compressor is counted on to restore the banks."
    else:
        yield f"Compressor, to restore the banks: {minutes(plan.restore_minutes)}."
    yield from (page.wrap(line) for line in _heat(plan, page))


def _heat(plan: Plan, page: Page) -> Iterator[str]:
    """How warm it gets, and how far off the settled figures may be."""
    hot = [(c.hot, c.after, s.number) for s in plan.steps for c in s.changes if c.hot is not None]
    if not hot:
        return
    gas, number = max(((h.gas, n) for h, _, n in hot), key=lambda pair: pair[0].kelvin)
    low = max(after.to(plan.unit) - h.low.to(plan.unit) for h, after, _ in hot)
    high = max(h.high.to(plan.unit) - after.to(plan.unit) for h, after, _ in hot)
    yield (
        f"Heat, predicted: the gas is warmest at the end of step {number}, "
        f"{page.temperature(gas)}; settled figures may come out up to {max(low, 0):.0f} "
        f"{plan.unit} lower or {max(high, 0):.0f} higher."
    )


def _free_gas(plan: Plan, gas: Gas, page: Page) -> str:
    reference = PSI_REFERENCE if page.shore is Shore.PSI else BAR_REFERENCE
    rho = density(gas.mixture, reference.pressure, reference.temperature)
    return page.free_gas(Volume.of(plan.gas_used_mol / rho, "L"))


# --- what goes beside it


def _notes(made: Made, page: Page) -> Iterator[str]:
    for id_, said in made.prepared.warnings:
        who = f"{id_}: " if id_ else ""
        yield page.wrap(f"WARNING: {who}{said}", hang="  ")
    for line in made.prepared.assumed:
        yield page.wrap(f"* {line}", hang="  ")


def _cautions(made: Made, page: Page) -> Iterator[str]:
    if made.plan is None or not made.plan.steps:
        yield page.wrap(CAUTION)
        return
    yield "Caution: look each cylinder over before it is connected."
    yield from (page.wrap(f"- {said}", hang="  ") for said in made.plan.cautions)
