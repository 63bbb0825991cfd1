"""A fill session as it is read at the panel: the answer, who is left out, what to open, what then.

Readings that are predicted are rounded down to what a gauge shows.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any

from msgspec import Struct

from tankbook.filling import (
    BankAfter,
    Carried,
    Day,
    DayCylinder,
    DaySession,
    Load,
    Outcome,
    Plan,
    PlanStep,
    Reached,
    Unfilled,
    as_json,
    outcome_form,
)
from tankbook.filling.figures import DIFFER_MUCH, FILLS_DIFFER
from tankbook.filling.wish import Prepared
from tankbook.gas import BAR_REFERENCE, PSI_REFERENCE, Gas, density
from tankbook.output import plan_steps as steps
from tankbook.output import plot, size_heat
from tankbook.output.may_fill import briefly, danger_briefly, reason_data, with_mend
from tankbook.output.page import Page, counted
from tankbook.output.tables import Column, Table, pairs, table
from tankbook.output.words import CAUTION, NOT_ADVICE
from tankbook.records.words import Shore
from tankbook.rules.bookings import BookedHour
from tankbook.units import GaugePressure, Volume

ROUNDED_UP = 0.999
"""A minute that is told is the next whole one."""

A_WAIT = 0.05
"""Minutes of a day between two sessions that are told as a wait."""


class PlanMade(Struct, frozen=True):
    """A session that was asked for, and the plan that came of it, None where nobody may be filled.

    `asked` counts the cylinders of the queue, `passed_over` pairs what a filter found but left out
    with why; `compared` has other ways of working, where asked; `hurried` is how many minutes it
    takes with time favoured, where this plan is not ready in time. `needed` are the hours of a day,
    in minutes from when work may begin; `booked` is what the bookings want, where they were asked;
    `read` are the pressures of banks that were given as read, `read_on` and `read_at` when; None
    where nobody knows.
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
    needed: Mapping[str, float] = {}
    booked: tuple[BookedHour, ...] | None = None
    read: Mapping[str, GaugePressure] = {}
    read_on: dt.date | None = None
    read_at: dt.time | None = None

    @property
    def late(self) -> int:
        """How many are not ready at their hour of a day, the refused among them."""
        refused = sum(one.id in self.needed for one in self.prepared.refused)
        day = self.plan.day if self.plan else None
        return refused + sum(not one.in_time for one in day.cylinders) if day else refused

    @property
    def filled(self) -> int:
        """How many end full that were not."""
        return sum(one.full for one in self.plan.reached) if self.plan else 0

    @property
    def short(self) -> tuple[str, ...]:
        """What is refused or left unfilled; a cylinder that was full already is neither."""
        refused = [one.id for one in self.prepared.refused]
        left = [one.id for one in self.plan.unfilled if not one.full] if self.plan else []
        return (*refused, *left)

    @property
    def full_already(self) -> tuple[Unfilled, ...]:
        """Those that stand full and need no fill."""
        return tuple(one for one in self.plan.unfilled if one.full) if self.plan else ()

    @property
    def in_time(self) -> bool:
        """Whether it is done by the time asked for, where one was."""
        readiness = self.plan.readiness if self.plan else None
        return not self.late and (readiness is None or readiness.in_time)

    @property
    def done(self) -> bool:
        """Whether everything asked for is filled, and in time."""
        return not self.short and not self.prepared.shut and self.in_time


CHOSEN = "By their hours alone more would be late, or later: sessions are put so that fewest are."
LISTS = ("banks", "cylinders", "loads", "steps", "unfilled", "carried", "heat")
NONE = (
    "full_fills", "standard", "gas_used_mol", "session_minutes", "attended_minutes",
    "compressor_minutes", "restore_minutes", "outcome", "other", "readiness", "day",
)  # fmt: skip


def data(made: PlanMade, unit: str, favour: str) -> dict[str, Any]:
    """The JSON shape of `plan`; the same keys are there without a plan.

    Pressures are gauge, in `unit`.
    """
    prepared = made.prepared
    plan: dict[str, Any] = {
        "unit": unit,
        "gas": made.gas.word,
        "ambient_c": round(prepared.ambient.celsius, 6),
        "favour": favour,
        **{name: [] for name in LISTS},
        **dict.fromkeys(NONE),
        "cautions": [],
    }
    if made.plan is not None:
        plan = as_json(made.plan)
    return {
        **plan,
        "asked": made.asked,
        "filled": made.filled,
        "full_already": [one.id for one in made.full_already],
        "refused": [
            {
                "id": one.id,
                "reasons": [reason_data(r) for r in one.reasons],
                "dangers": list(one.dangers),
            }
            for one in prepared.refused
        ],
        "closed": [reason_data(r) for r in prepared.shut],
        "passed_over": pairs("why").objects(made.passed_over),
        "warnings": [{"id": id_ or None, "text": said} for id_, said in prepared.warnings],
        "assumed": list(prepared.assumed),
        "compared": None
        if made.compared is None
        else [outcome_form(each) for each in made.compared],
        "begins": made.begins,
        "ready_by": made.ready_by,
        "booked": None if made.booked is None else _BOOKED.objects(made.booked),
        "banks_read": [
            {
                "bank": name,
                "pressure": shown.to(unit),
                "on": made.read_on,
                "at": made.read_at and f"{made.read_at:%H:%M}",
            }
            for name, shown in made.read.items()
        ],
    }


_BOOKED = Table[BookedHour](
    Column("reference", lambda each: each.reference),
    Column("at", lambda each: each.at and f"{each.at:%H:%M}"),
    Column("size", lambda each: each.size or None),
    Column("gas", lambda each: each.gas),
    Column("wanted", lambda each: each.wanted),
    Column("ids", lambda each: list(each.ids)),
    Column("missing", lambda each: each.missing),
)


def _of_bookings(booked: Sequence[BookedHour]) -> Iterator[str]:
    """For which booking each is filled, and what is wanted besides."""
    if not booked:
        yield "No booking of the day wants anything of this gas filled."
    for each in booked:
        at = f" at {each.at:%H:%M}" if each.at else ", at no hour"
        what = f"{each.wanted} {each.size}".rstrip()
        said = f"{each.reference} wants {what}{at}: {', '.join(each.ids) or 'none of these'}"
        yield f"{said}; {each.missing} more to be filled." if each.missing else f"{said}."


def text(made: PlanMade, page: Page) -> str:
    """The plan as text."""
    return page.answer(
        headline(made),
        "\n".join(_left_out(made, page)),
        *(_planned(made, made.plan, page) if made.plan is not None else ()),
        page.paragraphs(notes_of(made), hang="  "),
        "\n".join([*_cautions(made, page), page.wrap(NOT_ADVICE)]),
        under=(*_two_ways(made), *_readiness(made)),
        hang="    ",
    )


def headline(made: PlanMade) -> str:
    """`6 of 7 filled in 2 loads, 58 min; 9 full fills left`, and whether it is ready in time."""
    if made.plan is None:
        why = f": {briefly(made.prepared.shut[0])}" if made.prepared.shut else ""
        return f"0 of {made.asked} may be filled{why}"
    plan = made.plan
    said = f"{made.filled} of {made.asked} filled"
    full = len(made.full_already)
    if full == made.asked:
        said, full = f"nothing to fill: {counted(made.asked, 'cylinder')} full already", 0
    if plan.loads:
        said += f" in {counted(len(plan.loads), 'load')}, {minutes(plan.session_minutes)}"
    said += f"; {counted(plan.full_fills, 'full fill')} left"
    if full:
        said += f"; {full} full already"
    if plan.day is not None:
        if made.late:
            said += f"; {made.late} NOT ready in time"
        elif made.needed and not made.short:
            said += "; all ready in time"
        elif made.needed:
            said += "; those with an hour ready in time"
    elif made.ready_by is not None:
        in_time = "ready" if made.in_time else "NOT ready"
        if made.in_time and made.short:  # a plan that fills nothing is never late
            in_time = "what is full is ready" if made.filled or made.full_already else "none ready"
        said += f"; {in_time} by {clock(made.ready_by, made.begins)}"
    return said


def _two_ways(made: PlanMade) -> Iterator[str]:
    """Least gas and soonest done, where they differ much."""
    plan = made.plan
    if plan is None or plan.day is not None or made.hurried is not None or not plan.loads:
        return
    gas, time = sorted(plan.carried, key=lambda each: each.favour)
    longer = gas.session_minutes - time.session_minutes >= DIFFER_MUCH.minutes
    if longer or gas.full_fills - time.full_fills >= FILLS_DIFFER:
        for said, way in (("Least gas", gas), ("Soonest done", time)):
            asked = "" if way.favour is plan.favour else f" (--favour {way.favour})"
            yield (
                f"{said}{asked}: {_time_taken(way)}; {counted(way.full_fills, 'full fill')} left."
            )


def _time_taken(way: Carried) -> str:
    said = minutes(way.session_minutes)
    if way.session_minutes - way.attended_minutes < 1:
        return said
    return f"{said}, {minutes(way.attended_minutes)} of it at the panel"


def minutes(value: float) -> str:
    """`58 min`, `1 h 12 min`, to the next whole minute."""
    whole = int(value + 0.999)
    return f"{whole // 60} h {whole % 60:02d} min" if whole >= 60 else f"{whole} min"


def clock(at: dt.datetime, today: dt.datetime | None) -> str:
    """`09:00`, with its day where that is another."""
    other = today is not None and at.date() != today.date()
    return f"{at:%H:%M} on {at.date()}" if other else f"{at:%H:%M}"


def _readiness(made: PlanMade) -> Iterator[str]:
    ready = made.plan.readiness if made.plan else None
    if ready is None or made.begins is None or made.plan is None:
        if made.plan is not None and made.booked is not None:
            yield from _of_bookings(made.booked)
        if made.plan is not None and made.plan.day is not None and made.begins is not None:
            yield from _late(made, made.plan.day, made.begins)  # refused all that have an hour
        return

    def later(by: float) -> str:
        assert made.begins is not None
        return clock(made.begins + dt.timedelta(minutes=int(by)), made.begins)

    yield from _of_bookings(made.booked) if made.booked is not None else ()
    if made.plan.day is not None:
        yield from _late(made, made.plan.day, made.begins)
    if ready.start_within is not None:
        yield f"Begin by {later(ready.start_within)} (it is {clock(made.begins, made.begins)})."
    elif made.plan.day is None:
        late = minutes(made.plan.session_minutes - ready.available)
        yield f"It is {clock(made.begins, made.begins)}: even begun now it is {late} late."
        if made.hurried is not None:
            yield f"With --favour time it takes {minutes(made.hurried)}."
    if ready.compressor_within is None:
        yield "No cylinder waits for the compressor."
    else:
        direct = made.plan.compressor_minutes
        does = f"it is fed from for {minutes(direct)}" if direct else "it feeds a bank"
        yield f"Start the compressor by {later(ready.compressor_within)}: {does}."


def _late(made: PlanMade, day: Day, begins: dt.datetime) -> Iterator[str]:
    """Who is not ready when needed, one line each."""

    def hour(needed: float) -> str:
        return clock(begins + dt.timedelta(minutes=needed), begins)

    refused = [one.id for one in made.prepared.refused if one.id in made.needed]
    yield from (f"{id_}, needed at {hour(made.needed[id_])}: refused." for id_ in refused)
    for one in day.cylinders:
        if not one.in_time and one.needed is not None:
            when = hour(one.needed)
            by = "not filled" if one.ready is None else f"{minutes(one.ready - one.needed)} late"
            yield f"{one.id}, needed at {when}: {by}."
    if day.chosen:
        yield CHOSEN
    if day.meanwhile:
        ids = ", ".join(day.meanwhile)
        yield f"Filled while it is waited for others, needed at no hour: {ids}."
    if day.earlier is not None:
        at = begins - dt.timedelta(minutes=int(day.earlier + ROUNDED_UP))
        rest = "the others" if refused else "all"
        yield f"Begun at {clock(at, begins)} {rest} would be ready in time."


class _Part(Struct, frozen=True):
    """Some minutes of a day: a session with its loads, or none where it is waited."""

    begins: float
    ends: float
    loads: str
    session: DaySession | None = None


def _parts(day: Day) -> Iterator[_Part]:
    """The sessions of a day, and for whom it is waited between them."""
    over = 0.0
    for one in day.sessions:
        if one.first > one.last:
            continue
        if one.begins > over + A_WAIT:
            ids = [each.id for each in day.cylinders if over < each.comes <= one.begins + A_WAIT]
            yield _Part(
                over, one.begins, " ".join(["wait", *(["for", ", ".join(ids)] if ids else [])])
            )
        loads = f"{one.first}" if one.first == one.last else f"{one.first}-{one.last}"
        yield _Part(one.begins, one.ends, loads, one)
        over = one.ends


def _day(day: Day, begins: dt.datetime, page: Page) -> Iterator[str]:
    """The sessions of a day, and when each cylinder is ready."""

    def at(value: float | None) -> str:
        return "" if value is None else clock(begins + dt.timedelta(minutes=value), begins)

    yield Table[_Part](
        Column("", lambda one: at(one.begins + ROUNDED_UP), "from"),
        Column("", lambda one: at(one.ends + ROUNDED_UP), "until"),
        Column("", lambda one: one.loads, "loads"),
        Column("", lambda one: one.session.filled if one.session else None, "filled", right=True),
        Column(
            "",
            lambda one: one.session.full_fills if one.session else None,
            "fills left",
            right=True,
        ),
    ).text(list(_parts(day)), page)
    yield Table[DayCylinder](
        Column("", lambda one: one.id, "cylinder"),
        Column("", lambda one: at(one.comes) if one.comes else "", "comes"),
        Column("", lambda one: at(one.needed), "needed"),
        Column("", lambda one: at(None if one.ready is None else one.ready + ROUNDED_UP), "ready"),
        Column("", lambda one: "" if one.in_time else "LATE", ""),
    ).text(day.cylinders, page)


def load_hours(plan: Plan, load: Load, begins: dt.datetime) -> str:
    """From when a load of a day is, where its session begins with it, and by when who is needed."""
    day = plan.day
    if day is None:
        return ""

    def at(value: float) -> str:
        return clock(begins + dt.timedelta(minutes=value), begins)

    ids = {seat.id for seat in load.seats}
    said = [
        f"from {at(s.begins + ROUNDED_UP)}"
        for s in day.sessions
        if s.first == load.number <= s.last
    ]
    needed = [c for c in day.cylinders if c.id in ids and c.needed is not None]
    said += [f"{c.id} is needed at {at(c.needed)}" for c in needed if c.needed is not None]
    return "; ".join(said)


# --- who is left out


def _left_out(made: PlanMade, page: Page) -> Iterator[str]:
    prepared, plan = made.prepared, made.plan
    if prepared.shut:
        yield "The station fills nothing"
        yield page.paragraphs(map(with_mend, prepared.shut), "  ", "    ")
    own = [one for one in prepared.refused if one.reasons]
    if own:
        yield f"Refused ({len(own)})"
        said = (
            text
            for one in own
            for text in (*(f"{one.id}: {with_mend(r)}" for r in one.reasons), *one.dangers)
        )
        yield page.paragraphs(said, "  ", "    ")
    unfilled = [one for one in plan.unfilled if not one.full] if plan else []
    if unfilled:
        yield f"Left unfilled ({len(unfilled)})"
        yield page.paragraphs((f"{n.id}: {n.why}; {n.mend}" for n in unfilled), "  ", "    ")
    if made.full_already:
        assert prepared.session is not None
        within = f"within {prepared.session.policy.acceptable_loss} of the cold target"
        full = [f"{one.id} ({page.pressure(one.holds)})" for one in made.full_already if one.holds]
        yield page.items(f"Full already, {within}", full)
    if made.passed_over:
        yield page.items("Passed over", [f"{i} ({why})" for i, why in made.passed_over])


def refused_texts(made: PlanMade) -> list[str]:
    """Who may not be filled, and why, one line each."""
    found = []
    for one in made.prepared.refused:
        why = [*map(briefly, one.reasons), *map(danger_briefly, one.dangers)]
        found.append(f"{one.id}: {'; '.join(why)}".removesuffix(": "))
    return found


# --- the plan


def _planned(made: PlanMade, plan: Plan, page: Page) -> Iterator[str]:
    unit = page.shore.value
    yield page.wrap(
        f"Filling {made.gas} at {plan.ambient}, favouring {plan.favour}. Pressures are in {unit}; "
        "settled ones are cold and rounded down."
    )
    if plan.day is not None and made.begins is not None:
        yield from _day(plan.day, made.begins, page)
    for load in plan.loads:
        yield "\n".join(_load(plan, load, page))
    yield "\n".join(plot.picture(plan, page, made.begins))
    loads = {seat.id: load.number for load in plan.loads for seat in load.seats}
    yield Table[Reached](
        Column("", lambda one: one.id, "cylinder"),
        Column("", lambda one: loads.get(one.id), "load", right=True),
        Column("", lambda one: one.start, "from", reading=Page.whole, right=True),
        Column("", lambda one: one.target, "target", reading=Page.low, right=True),
        Column("", lambda one: page.risen(one.holds, one.start), "holds", right=True),
        Column("", lambda one: "full" if one.full else "SHORT", ""),
    ).text(plan.reached, page)
    yield Table[BankAfter](
        Column("", lambda bank: bank.label, "bank"),
        Column("", lambda bank: bank.water_volume, "volume"),
        Column("", lambda bank: bank.before, "before", reading=Page.whole, right=True),
        Column("", lambda bank: page.risen(bank.after, bank.before), "after", right=True),
    ).text(plan.banks, page)
    yield "\n".join(_totals(made, plan, page))
    if plan.steps:
        yield "\n".join(_carried(plan, page))
        if made.compared:
            yield "\n".join(_ways(plan, made.compared, page))


def _totals(made: PlanMade, plan: Plan, page: Page) -> Iterator[str]:
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
        yield page.wrap(f"Of that from the compressor: {minutes(plan.compressor_minutes)}.")
    if plan.restore_minutes is None:
        yield page.wrap("No compressor is counted on to restore the banks.")
    else:
        restored = minutes(plan.restore_minutes)
        yield page.wrap(f"Compressor, to bring each bank back up: {restored}.")
    yield from (page.wrap(line) for line in _heat(plan, page))
    told = size_heat.every_said(plan.sizes, page)
    yield from (page.wrap(line, hang="  ") for line in told)


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


WARNING = "WARNING: "


def notes_of(made: PlanMade) -> Iterator[str]:
    """The warnings, and what the plan takes for granted, of screen and card alike."""
    for id_, said in made.prepared.warnings:
        yield f"{WARNING}{id_}: {said}" if id_ else f"{WARNING}{said}"
    yield from (f"* {line}" for line in made.prepared.assumed)


LOOK = "look each cylinder over before it is connected."


def _cautions(made: PlanMade, page: Page) -> Iterator[str]:
    if made.plan is None or not made.plan.steps:
        yield page.wrap(CAUTION)
        return
    yield page.wrap(f"Caution: {LOOK}", hang="  ")
    yield from (page.wrap(f"- {said}", hang="  ") for said in made.plan.cautions)


# --- the steps of a load

HEADERS = ("step", "do", "cylinder", "reads", "stop", "settles", "between", "min")
RIGHT = ("step", "reads", "stop", "settles", "min")


NARROW = 70
"""On a page narrower than this steps are told in sentences."""


def _load(plan: Plan, load: Load, page: Page) -> Iterator[str]:
    """A load: its fill pressure, who is connected where, its steps."""
    head = f"Load {load.number}: regulator at {page.down(load.fill_pressure)}, no higher"
    yield page.items(head, steps.seats_text(load))
    if does := steps.compressor_at(plan.steps, load.number):
        yield page.wrap(f"  Compressor, to begin with: {does}", hang="    ")
    mine = [step for step in plan.steps if step.load == load.number]
    for flows, run in groupby(mine, key=lambda step: bool(step.changes)):
        if not flows or page.width < NARROW:
            for step in run:
                yield from _sentences(step, page)
        else:
            found = [row for step in run for row in _rows(step, page)]
            yield table(HEADERS, found, page, wrap=("do",), right=RIGHT)


def _sentences(step: PlanStep, page: Page) -> Iterator[str]:
    for number, said in enumerate(steps.sentences(step, page)):
        head = f"{step.number:>4}  " if not number else " " * 6
        if not step.changes and step.minutes:
            said += f" (about {steps.whole_minutes(step.minutes)} min)"
        yield page.wrap(head + said, hang=" " * 8)


def _rows(step: PlanStep, page: Page) -> Iterator[tuple[str, ...]]:
    listed = steps.rows(step, page)
    for number, row in enumerate(listed):
        first, change = str(step.number) if not number else "", row.change
        if change is None:
            last = _minutes(step.minutes) if step.minutes and number == len(listed) - 1 else ""
            yield (first, row.do, "", "", "", "", "", last)
            continue
        alone = step.in_turn or (len(step.changes) == 1 and len(listed) == 1)
        yield (
            first,
            row.do,
            change.id,
            steps.reads_text(change, page),
            steps.stop_text(change, page),
            page.risen(change.after, change.before),
            steps.band_text(change, page),
            _minutes(change.minutes) if alone else "",
        )


def _minutes(value: float) -> str:
    return f"{value:.1f}" if value >= 0.05 else "<0.1"


# --- the plan beside other ways of working

FAVOURED = "plan, favouring "
"""How the planner names its own ways of working."""


def _carried(plan: Plan, page: Page) -> Iterator[str]:
    """Both things to favour, as they come out."""
    yield page.wrap("Least gas and soonest done (* this plan)")
    yield Table[Carried](
        Column("", lambda c: f"--favour {c.favour}{' *' * (c.favour is plan.favour)}", ""),
        Column("", lambda c: c.full, "full", right=True),
        Column("", lambda c: c.loads, "loads", right=True),
        Column("", lambda c: c.full_fills, "fills left", right=True),
        Column("", lambda c: c.compressor_minutes, "compr. min", ROUND, right=True),
        Column("", lambda c: c.attended_minutes, "at panel", steps.whole_minutes, right=True),
        Column("", lambda c: c.session_minutes, "min", steps.whole_minutes, right=True),
    ).text(plan.carried, page)


def _ways(plan: Plan, ways: tuple[Outcome, ...], page: Page) -> Iterator[str]:
    """With --explain: the other ways of working too."""
    yield page.wrap("Ways of working, cold, without waits to cool (* this plan)")
    yield Table[Outcome](
        Column("", lambda o: f"{_way(o)}{' *' * (o.way == plan.outcome.way)}", "way", wrap=True),
        Column("", lambda o: o.unfilled, "unfilled", right=True),
        Column("", lambda o: o.full_fills, "fills left", right=True),
        Column("", lambda o: o.stored_above_mol, "mol above", ROUND, right=True),
        Column("", lambda o: o.compressor_minutes, "compr. min", ROUND, right=True),
        Column("", lambda o: o.handlings, "loads", right=True),
        Column("", lambda o: o.session_minutes, "min", ROUND, right=True),
    ).text(ways, page)
    yield page.wrap(
        "mol above: gas stored above the density of the highest target, which alone can finish "
        "a fill. Ways by rule fill one cylinder after another as queued."
    )
    yield from (page.wrap(line) for line in _lost(plan.outcome, ways))


ROUND = "{:.0f}".format


def _way(outcome: Outcome) -> str:
    return outcome.way.replace(FAVOURED, "favouring ")


def _lost(ours: Outcome, ways: Sequence[Outcome]) -> Iterator[str]:
    """What the habits of the panel would cost against this plan, in fills."""
    for each in ways:
        if each.way.startswith(FAVOURED) or each.way == "lowest bank first":
            continue
        fills = ours.full_fills - each.full_fills
        filled = each.unfilled + each.compressor_fills - ours.unfilled - ours.compressor_fills
        said = []
        if filled > 0:
            said.append(f"fill {counted(filled, 'cylinder')} fewer from the banks")
        if fills > 0:
            said.append(f"leave {counted(fills, 'full fill')} fewer")
        if said:
            yield f"{each.way[:1].upper()}{each.way[1:]} would {' and '.join(said)}."
