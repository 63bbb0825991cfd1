"""A fill that is to be logged: what was said of it, and what the gate says to it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.acts.log_line import last_fill
from tankbook.gas import AIR_GAS, Gas
from tankbook.records.book import Book
from tankbook.records.entries import standing
from tankbook.records.kinds import EMPTY
from tankbook.records.log import FillTook, LogLine, each_named
from tankbook.records.rulerow import Gate, Obligation
from tankbook.records.words import InspectionResult, LogAct, Status
from tankbook.rules import chain
from tankbook.rules.air import of_others_alone, parts_named, taken_here
from tankbook.rules.answers import Limit, MayFill, Reason
from tankbook.rules.fill_history import (
    begins_empty,
    contents_of,
    gauge_error,
    is_above,
    lines_by_cylinder,
    sets_with,
)
from tankbook.rules.gate import may_fill, station_reasons
from tankbook.rules.hours import before_that
from tankbook.rules.inforce import rules_of
from tankbook.rules.limits import settled as settled_at
from tankbook.rules.old_alloy import why_asked
from tankbook.rules.out_of_use import opening_at
from tankbook.rules.services import analysis_tolerance
from tankbook.units import GaugePressure, Percent, Temperature


class Wanted(Struct, frozen=True):
    """One cylinder or set, the pressure reached, and the one it began with where that was read.

    Analysis, source, position and fill pressure are its own where they are not those of all. `bled`
    is what it was bled to and read again at, where its gauge showed a little more than its limit;
    `took` how long its fill took, by the plan it was filled by, and `warm` that it was read at its
    stop: how warm the room is says nothing of it. `past` is that stop, where it was read above it:
    the plan does not say that the gas was as warm as that.
    """

    id: str
    to: GaugePressure
    from_: GaugePressure | None = None
    source: str = ""
    position: str = ""
    fill_pressure: GaugePressure | None = None
    o2: Percent | None = None
    he: Percent | None = None
    bled: GaugePressure | None = None
    took: FillTook | None = None
    warm: bool = False
    past: GaugePressure | None = None


class Filling(Struct, frozen=True):
    """How it was filled. What is None or empty is taken from the day's last fill or the settings.

    `looked` says that each was looked over before; `override` and `approved_by` lift shop practice;
    `happened` logs a fact against advice, and why.
    """

    by: str = ""
    gas: Gas | None = None
    o2: Percent | None = None
    he: Percent | None = None
    analysed_by: str = ""
    source: str = ""
    position: str = ""
    temperature: Temperature | None = None
    fill_pressure: GaugePressure | None = None
    together: bool = False
    looked: bool = False
    override: str = ""
    approved_by: str = ""
    happened: str = ""
    note: str = ""


class Settled(Struct, frozen=True):
    """A filling with its defaults filled in, and what these were taken from."""

    how: Filling
    gas: Gas
    echo: tuple[str, ...]
    gas_taken: tuple[str, ...] = ()
    """That the gas is the one of the day's last fill, where that is not the usual one."""


class FillAnswer(Struct):
    """One cylinder's answer: what refuses it, what an override lifts, what is worth knowing."""

    wanted: Wanted
    answer: MayFill
    refusals: list[Reason] = field(default_factory=list)
    lifted: list[Reason] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)


def settle(book: Book, how: Filling, at: dt.datetime, *, ask_source: bool = True) -> Settled:
    """Fill in what was not said: as in the day's last fill, else as the settings have it."""
    last = last_fill(book, at)
    settings = book.settings
    taken: dict[str, list[str]] = {}

    def default(name: str, given: str, session: str | None, setting: str | None) -> str:
        if given:
            return given
        if session:
            taken.setdefault("as in the day's last fill", []).append(f"{name} {session}")
            return session
        if setting:
            taken.setdefault("as the settings say", []).append(f"{name} {setting}")
        return setting or ""

    by = default("by", how.by, last.by if last else None, settings.operator)
    gas = how.gas
    gas_taken: tuple[str, ...] = ()
    if gas is None:
        session = str(last.gas) if last and last.gas else None
        usual = str(settings.gas or AIR_GAS)
        gas = Gas.parse(default("gas", "", session, usual))
        if str(gas) != usual:
            gas_taken = (f"gas {gas} is as in the day's last fill; `--gas {usual}` says another",)
    source = how.source
    if ask_source:
        source = default("source", source, last.source_ if last else None, None)
    full = replace(how, by=by, gas=gas, source=source)
    echo = tuple(f"{k}: {', '.join(v)}" for k, v in taken.items())
    return Settled(full, gas, echo, gas_taken)


def temperature_of(wanted: Wanted, how: Filling) -> Temperature | None:
    """Of the cylinder when its gauge was read; None where nobody knows."""
    return None if wanted.warm else how.temperature


def source_of(wanted: Wanted, how: Filling) -> str:
    """What it is filled from: as said of it alone, else of all."""
    return wanted.source or how.source


def position_of(wanted: Wanted, how: Filling) -> str:
    """Where it is filled: as said of it alone, else of all."""
    return wanted.position or how.position


_OF_BLENDS = frozenset({"contents-differ", "blend-unfinished", "mixed-unanalysed"})
"""What stands against a cylinder till its gas is analysed."""


_OF_OPENING = f"{Obligation.OPENING}-"


def ask_gate(
    book: Book, each: Wanted, settled: Settled, at: dt.datetime, all_: Sequence[Wanted]
) -> FillAnswer:
    """What the gate says of a cylinder as it is to be filled, beside all that are filled too."""
    how, day = settled.how, at.date()
    degrees = temperature_of(each, how)
    if _came_empty(book, each):
        found = LogLine(at=at, cylinder=each.id, act=LogAct.READING, to=each.from_)
        book = replace(book, log=(*book.log, found))
    answer = may_fill(
        book,
        each.id,
        day,
        settled.gas,
        fill_pressure=each.fill_pressure or how.fill_pressure,
        ambient=degrees,
        connected=tuple(w.id for w in all_) if how.together else (),
        through=_named_by(book, each, how),
        source=source_of(each, how),
    )
    asked = FillAnswer(each, answer)
    # by the state of the lists at its hour, which is not that at the end of its day
    by_day = [r for r in answer.refusals if not r.code.startswith(_OF_OPENING)]
    at_its_hour = [] if is_of_others(each, how) else opening_at(book, at)
    shut = [r for r in at_its_hour if r.gate is Gate.REFUSE]
    for reason in [*by_day, *_over(book, answer, each, how), *shut]:
        if reason.code in _OF_BLENDS and _is_analysed(book, each, settled):
            continue
        lifts = bool(how.override) and reason.may_be_overridden and reason.code != "over-limit"
        (asked.lifted if lifts else asked.refusals).append(reason)
    asked.warnings += [r.text for r in answer.warnings if not r.loud]
    # by a plan it is warm at its stop, and where it settles is reckoned with
    colder = degrees is None and answer.ambient is not None and not each.warm
    if colder and answer.target and each.to > answer.target:
        asked.warnings.append(
            f"no --temperature was given; at {answer.ambient} its limit would read "
            f"{answer.target.format(each.to.unit, 0)}"
        )
    return asked


def is_of_others(each: Wanted, how: Filling) -> bool:
    """Whether others filled it, and no position or whip of the station was on it."""
    return of_others_alone(source_of(each, how)) and not position_of(each, how)


def _named_by(book: Book, each: Wanted, how: Filling) -> tuple[str, ...]:
    """The parts of the station that a fill names: where it is connected, and what gives the gas."""
    given = "+".join(taken_here(source_of(each, how)))
    places = each_named(position_of(each, how))
    return (*places, *sorted(parts_named(book.station, given) if book.station else ()))


def _is_analysed(book: Book, each: Wanted, settled: Settled) -> bool:
    """Whether somebody analysed what it was blended to: helium too, where some was wanted or may
    be left. That the analysis is of the gas wanted is asked of every fill."""
    how = settled.how
    helium = settled.gas.helium_percent > 0 or helium_may_be_in(book, each.id)
    measured = (each.o2 or how.o2) is not None and (not helium or (each.he or how.he) is not None)
    return bool(how.analysed_by) and measured


def helium_may_be_in(book: Book, id_: str) -> bool:
    """Whether what is known of a cylinder's gas, or of a set's sides, names helium."""
    held = [contents_of(book, m).gas for m in book.members(id_)]
    return any(g is not None and g.helium_percent > 0 for g in held)


def _came_empty(book: Book, each: Wanted) -> bool:
    """Whether it stood empty and nothing on record says why: water gets in that way.

    A drain, or a look inside since it was last filled, accounts for it; so does other work that let
    its gas out.
    """
    if each.from_ is None or each.from_ >= EMPTY or begins_empty(book, each.id):
        return False
    ids = (each.id, *sets_with(book).get(each.id, ()))
    lines = [n for i in ids for n in lines_by_cylinder(book).get(i, ())]
    last = max(lines, key=lambda n: n.at, default=None)
    if last is not None and last.act is LogAct.DRAIN and last.to is not None and last.to < EMPTY:
        return False
    since = last.at.date() if last else dt.date.min
    return not all(_looked_inside(book, m, since) for m in book.members(each.id))


def _looked_inside(book: Book, id_: str, since: dt.date) -> bool:
    cylinder = book.cylinders.get(id_)
    for entry in standing(cylinder.inspected) if cylinder else ():
        followed = book.checklists.get(entry.checklist)
        inside = followed is not None and (followed.inside or followed.full)
        if inside and entry.result is InspectionResult.PASS and entry.on.last >= since:
            return True
    return False


def _over(book: Book, answer: MayFill, each: Wanted, how: Filling) -> Iterator[Reason]:
    """A pressure above what the limit reads at the temperature given, which is never lifted, or
    above a mark that no gauge passes however hot it is. One over by no more than a gauge may err is
    bled and read again, and both are logged."""
    limit, ceiling = answer.limit, answer.ceiling
    if limit is None:
        return
    at, unit = temperature_of(each, how), each.to.unit
    most = _lawful(limit, answer.gas, at)
    if each.past is not None:
        cold = _lawful(limit, answer.gas, how.temperature)
        most = min(most, max(cold, each.past, key=_pascals), key=_pascals)
    mend = "bleed it down; what happened is logged with --happened"
    if not _is_within(each.to, most):
        code, text = (
            "over-limit",
            f"{each.to} is above its limit, {limit.pressure} at {limit.reference}",
        )
        if most != limit.pressure and (each.past is None or _is_within(each.to, limit.pressure)):
            # shown rounded down: a reading at the figure shown is within the limit
            shown = GaugePressure.of(float(int(most.to(unit))), unit)
            text = f"{each.to} is above {shown}, what its {limit.pressure} read at {at}"
            if most == each.past:
                text = f"{each.to} is above {shown}, where the plan stops it for a room of "
                text += f"{how.temperature}: once cool it may be overfilled"
        row = next((r for r in limit.rows if r.obligation is Obligation.FILL_LIMIT), None)
    elif ceiling is not None and not _is_within(each.to, ceiling.pressure):
        most, code, row = ceiling.pressure, "over-mark", next(iter(ceiling.rows), None)
        at_station = chain.is_of_station(ceiling, book.station)
        whose = ceiling.part if at_station else f"its {ceiling.part}"
        text = f"{each.to} is above {most}, which no gauge passes for {whose}, however warm"
        if at_station:
            mend = f"where it was filled through another, --position says which; {mend}"
    else:
        return
    if not is_above(each.to, most, gauge_error(book)):
        if each.bled is not None and _is_within(each.bled, most):
            return
        text += f", by no more than the {gauge_error(book)} that a gauge may err"
        text += f", and {each.bled} still is" if each.bled is not None else ""
        mend = f"bleed it, read it again, and log both with --bled {each.id}=PRESSURE"
    elif each.bled is not None:
        most = GaugePressure.of(float(int(most.to(unit))), unit)
        text += f"; above {most} by more than the {gauge_error(book)} that a gauge may err it "
        text += f"counts as overfilled, bled to {each.bled} or not"
        mend = "what happened is logged with --happened beside --bled, both readings, and holds it"
    yield Reason(code, text, Gate.REFUSE, row, mend)


def _lawful(limit: Limit, gas: Gas, at: Temperature | None) -> GaugePressure:
    """What a limit reads at a temperature, warmer or colder than its own."""
    if at is None or at == limit.reference:
        return limit.pressure
    return settled_at(gas.mixture, limit.pressure, limit.reference, at)


def _pascals(pressure: GaugePressure) -> float:
    return pressure.pa


def _is_within(pressure: GaugePressure, most: GaugePressure) -> bool:
    return pressure.pa <= most.pa * (1 + 1e-9)


def unmet(book: Book, wanted: Sequence[Wanted], settled: Settled) -> Iterator[str]:
    """What every fill asks for besides the gate: the look, and an analysis of any gas but air."""
    if not settled.how.looked:
        yield "nobody has said that they were looked over before the fill: --looked"
    yield from unanalysed(book, wanted, settled)


_AS_ONE = (
    "; a blend is logged once it is mixed, as one fill of what was analysed, with all it was made"
    " from: --source O1+B1"
)


def unanalysed(book: Book, wanted: Sequence[Wanted], settled: Settled) -> Iterator[str]:
    """What the analysis of a gas lacks, or says otherwise."""
    how, gas = settled.how, settled.gas
    tolerance = analysis_tolerance(rules_of(book))
    if not gas.is_air and not how.analysed_by:
        yield f"{gas} has an analyst: --analysed-by gives the initials{_AS_ONE}"
    for each in wanted:
        o2, he = each.o2 or how.o2, each.he or how.he
        if not gas.is_air and o2 is None:
            yield f"{each.id}: {gas} is analysed before it is labelled: --o2 gives the percentage"
        if o2 is not None and abs(o2.percent - gas.oxygen_percent) > tolerance:
            yield (
                f"{each.id}: {o2} oxygen was analysed, and {gas} has {gas.oxygen_percent:.4g} %: "
                "name the gas as analysed with --gas, or analyse again"
            )
        if he is not None and abs(he.percent - gas.helium_percent) > tolerance:
            yield f"{each.id}: {he} helium was analysed, and {gas} has {gas.helium_percent:.4g} %"


def refused(book: Book, asked: Sequence[FillAnswer], at: dt.datetime) -> Iterator[str]:
    """Every refusal of every cylinder; what the station has against all of them, once."""
    then = book.as_known_on(at.date())
    against = [*station_reasons(then, at.date()), *opening_at(then, at)]
    shared = {(r.code, r.text) for r in against}
    for each in asked:
        for reason in each.refusals:
            who = "the station" if (reason.code, reason.text) in shared else each.wanted.id
            asks = reason.code in _FROM_AN_HOUR
            before = before_that(book, each.wanted.id, at) if asks else ""
            yield "; ".join(filter(None, (f"{who}: {told(reason)}", before)))


_FROM_AN_HOUR = frozenset(
    f"standing-{status}"
    for status in Status
    if status.away or status in {Status.SOLD, Status.HELD, Status.REJECTED}
)
"""Reasons that stand from the hour on at which a cylinder left, or was set aside."""


def told(reason: Reason) -> str:
    """A reason, the rule it rests on, why where that is the alloy, and the way out."""
    rest = f" [{reason.row.id}; {reason.citation}]" if reason.row else ""
    lifts = "--override may lift it" if reason.may_be_overridden else ""
    return "; ".join(
        filter(None, (f"{reason.text}{rest}", why_asked(reason), reason.mend or lifts))
    )
