"""Preparing a session, or an equalizing: every cylinder asked of the gate, the refused set apart,
the rest gathered.

Pure: the records, the day and what was asked for come in, a `Session` ready to plan goes out.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from tankbook.acts.common import dangers_of
from tankbook.acts.fill_request import FillAnswer, Filling, Settled, Wanted, ask_gate
from tankbook.acts.log_line import line_of
from tankbook.acts.soundness import after, lines_of
from tankbook.filling import from_book, from_station
from tankbook.filling.assumed import assumed
from tankbook.filling.nouns import PlanError, Session, Vessel
from tankbook.filling.size_heat import doubt_of, heat_of
from tankbook.filling.wish import Case, Prepared, QueueEntry, RefusedFill, Wish
from tankbook.gas import AIR_GAS, Gas
from tankbook.records.book import Book
from tankbook.records.log import Log
from tankbook.records.rulerow import Gate
from tankbook.records.station import Station
from tankbook.records.words import LogAct
from tankbook.rules import chain
from tankbook.rules.answers import Reason
from tankbook.rules.fill_history import contents_of
from tankbook.rules.gate import may_fill, station_reasons
from tankbook.rules.inforce import rules_of
from tankbook.units import GaugePressure, PressureRate, Temperature

NOTHING = GaugePressure.of(0, "psi")

APART, JOINED = "isolator-shut", "doubles-both-fill"
"""What the gate says of one side of doubles, by how their isolator stands."""

LET = (
    "it is planned by itself, and `may-fill` says NO until somebody lets it be: log its fill with"
    " `--override WHY --approved-by INITIALS`"
)


def prepare(book: Book, today: dt.date, wish: Wish) -> Prepared:
    """Ask the gate for every cylinder of the queue and gather a session of those it lets through.

    Raises:
        PlanError: no station or no temperature is known, a cylinder has no water volume, a reading
            cannot be.
        RangeError: outside the range of the gas model.
    """
    station = _station(book)
    ambient = ambient_of(book, wish.ambient)
    rate = wish.rate or from_station.rate_of(station, wish.unit)
    _each_once(book, wish)
    banks = from_station.banks_of(book, today, wish.banks)
    fit = from_station.fit_of(book, station, today)
    banks = tuple(b for b in banks if b.label in {each.name for each in fit.banks})
    shared = station_reasons(book, today)
    read = as_read(book, today, wish.queue)
    asked = [_ask(read, today, entry, wish, ambient) for entry in wish.queue]
    allowed = [a for a in asked if not a.refused]
    vessels, unmeasured = _vessels(book, today, allowed, wish, rate)
    allowed = [a for a in allowed if a.entry.id not in unmeasured]
    session = None
    if vessels:
        several = len(station.every_compressor) > 1
        compressor = (
            from_station.compressor_of(fit, wish.gas, several=several) if wish.compressor else None
        )
        good_for = from_station.reading_good_for(book.settings, today)
        limit = allowed[0].answered.answer.limit
        assert limit is not None
        clean = from_station.of_oxygen_grade(book, fit, wish.gas, today)
        policy = from_station.policy_of(
            station, rate, good_for, wet=wish.wet, top_offs=wish.top_offs
        )
        doubt = doubt_of(book, told_ambient=wish.ambient is not None)
        vessels, sizes = heat_of(
            book, today, vessels, wish.unit, gas=wish.gas, wet=policy.wet, doubt=doubt
        )
        session = Session(
            gas=wish.gas,
            banks=banks,
            vessels=vessels,
            positions=fit.positions,
            policy=policy,
            ambient=ambient,
            standard=from_station.standard_of(book, wish.gas, ambient, limit.reference, wish.unit),
            compressor=compressor,
            gauges=from_station.gauges_of(fit),
            watched=from_station.watched(fit, rules_of(book)),
            favour=wish.favour,
            ready_in=wish.ready_in,
            unit=wish.unit,
            regulator=station.regulator_set,
            oxygen_grade=compressor is None and clean,
            doubt=doubt,
            sizes=sizes,
        )
    return Prepared(
        session=session,
        ambient=ambient,
        refused=tuple(
            unmeasured.get(a.entry.id) or _refused(read, today, a, shared)
            for a in asked
            if a not in allowed
        ),
        shut=tuple(r for r in shared if r.gate is Gate.REFUSE),
        warnings=tuple(_warnings(allowed, shared)),
        assumed=tuple(assumed(book, today, wish, station, rate, allowed, fit)),
    )


def ambient_of(book: Book, given: Temperature | None) -> Temperature:
    """The temperature asked for, else the station's, else the settings'. Raises `PlanError`."""
    station = book.station
    found = given or (station.ambient if station else None) or book.settings.ambient
    if found is None:
        raise PlanError(
            "how warm it is at the station is not known", "give --ambient, or record it"
        )
    return found


def _station(book: Book) -> Station:
    if book.station is None:
        raise PlanError(
            "no station is on record, or its file cannot be read", "describe it in station.yaml"
        )
    return book.station


def _each_once(book: Book, wish: Wish) -> None:
    ids = [entry.id for entry in wish.queue]
    for id_ in ids:
        inside = [m for m in (book.sets[id_].cylinders if id_ in book.sets else ()) if m in ids]
        if inside:
            raise PlanError(f"{inside[0]} is a side of {id_}, and both are named", "name one")
    strange = [id_ for id_ in (*wish.rates, *wish.holds) if id_ not in ids]
    if strange:
        raise PlanError(f"{strange[0]} is none of the cylinders to be filled", "add it to them")


# --- asking


def as_read(book: Book, today: dt.date, queue: Sequence[QueueEntry]) -> Book:
    """The records with what the gauges show now where that is more than is known, as the log will
    have it: who filled them nobody wrote down."""
    known = {entry.id: contents_of(book, entry.id).pressure for entry in queue}
    fuller = [
        entry
        for entry in queue
        if entry.start is not None and entry.start > (known[entry.id] or NOTHING)
    ]
    if not fuller:
        return book
    at = max((_end_of(today), *Log.of(book.log).column("at")))
    lines = (
        line_of({"at": at, "cylinder": e.id, "act": LogAct.READING, "to": e.start, "by": "-"})
        for e in fuller
    )
    return after(book, (), tuple(lines_of(tuple(lines))))


def _end_of(day: dt.date) -> dt.datetime:
    return dt.datetime(day.year, day.month, day.day, 23, 59, 59, tzinfo=dt.UTC)


def _ask(book: Book, today: dt.date, entry: QueueEntry, wish: Wish, ambient: Temperature) -> Case:
    """The gate's answer as `fill` will get it: the regulator at the cylinder's own limit, and a
    cylinder found empty treated as one that came back so."""
    start, read_on = reading_now(book, entry, ambient)
    gas = from_book.gas_in(book, entry.id, start, wish.gas) or wish.holds.get(entry.id)
    answered = ask_gate_now(book, today, entry.id, start, wish.gas, ambient)
    _of_one_side(book, answered)
    return Case(entry, start, gas, read_on, answered)


def _of_one_side(book: Book, answered: FillAnswer) -> None:
    """A side of doubles that is named by itself: planned so where their isolator is shut, and told
    how its fill is then logged; left out where it is not, since the other would fill with it."""
    answer = answered.answer
    if answer.id in book.sets:
        return
    for reason in answered.refusals:
        if reason.code == APART and reason.may_be_overridden:
            answered.lifted.append(reason)
            answered.warnings.append(f"{reason.text}; {LET}")
    answered.refusals[:] = [r for r in answered.refusals if r not in answered.lifted]
    joined = (r for r in answer.warnings if r.code == JOINED)
    answered.refusals += [replace(r, gate=Gate.REFUSE) for r in joined]


def reading_now(
    book: Book, entry: QueueEntry, ambient: Temperature
) -> tuple[GaugePressure | None, dt.date | None]:
    """What its gauge shows: what was said, else what is on record, and then the day of that."""
    if entry.start is not None:
        return entry.start, None
    known, _, on = from_book.reading_of(book, entry.id, ambient)
    return known, on


def ask_gate_now(
    book: Book,
    today: dt.date,
    id_: str,
    start: GaugePressure | None,
    gas: Gas,
    ambient: Temperature,
) -> FillAnswer:
    """Whether it may be filled, from what its gauge shows, the regulator set to its limit, or lower
    where a part of the station stands less."""
    ceiling = may_fill(book, id_, today, gas, ambient=ambient, station=False).ceiling
    most = chain.lower(ceiling, chain.of_station(book.station)).pressure if ceiling else None
    wanted = Wanted(id_, NOTHING, start)
    how = Filling(gas=gas, temperature=ambient, fill_pressure=most)
    return ask_gate(book, wanted, Settled(how, gas, ()), _end_of(today), [wanted])


def _refused(book: Book, today: dt.date, case: Case, shared: list[Reason]) -> RefusedFill:
    """Its own reasons; the station's are told once."""
    own = [r for r in case.answered.refusals if r not in shared]
    sides = book.sets[case.entry.id].cylinders if case.entry.id in book.sets else ()
    like = f"; or plan each side: `tankbook plan {' '.join(sides)}`"
    own = [replace(r, mend=r.mend + like) if sides and r.code == APART else r for r in own]
    return refused_fill(book, today, case.entry.id, own)


def refused_fill(book: Book, today: dt.date, id_: str, reasons: Iterable[Reason]) -> RefusedFill:
    """A cylinder that may not be filled, with what to beware of for it or the sides of a set."""
    return RefusedFill(id_, tuple(reasons), tuple(dangers_of(book, [id_], today)))


def _warnings(allowed: list[Case], shared: list[Reason]) -> Iterator[tuple[str, str]]:
    common = [r.text for r in shared if r.gate is Gate.WARN]
    yield from (("", text) for text in common)
    for case in allowed:
        for text in case.answered.warnings:
            if text not in common:
                yield case.entry.id, text


# --- gathering


def _vessels(
    book: Book, today: dt.date, allowed: list[Case], wish: Wish, rate: PressureRate
) -> tuple[tuple[Vessel, ...], dict[str, RefusedFill]]:
    """The cylinders, and those whose water volume nobody knows."""
    found: list[Vessel] = []
    unmeasured: dict[str, RefusedFill] = {}
    for case in allowed:
        try:
            made = from_book.vessel_of(book, case, today, wish.unit, rate, wish.most)
            own = wish.rates.get(case.entry.id)
            found.append(made if own is None else replace(made, fill_rate=own))
        except PlanError as error:
            reason = Reason("water-volume", str(error), Gate.REFUSE, None, error.mend)
            unmeasured[case.entry.id] = refused_fill(book, today, case.entry.id, [reason])
    return tuple(found), unmeasured


# --- cylinders that are to be equalized


class Together(Struct, frozen=True):
    """Cylinders to be opened to each other. `refused` may not be filled; nothing is done then."""

    ambient: Temperature
    rate: PressureRate
    vessels: tuple[Vessel, ...]
    refused: tuple[RefusedFill, ...]
    non_return_valves: bool | None


def bring_together(
    book: Book,
    today: dt.date,
    entries: tuple[QueueEntry, ...],
    unit: str,
    ambient: Temperature | None = None,
) -> Together:
    """Ask the gate for each, with the gas it holds, and gather them.

    Raises:
        PlanError: how warm it is, or a water volume, is not known.
    """
    degrees = ambient_of(book, ambient)
    station = book.station
    rate = from_station.rate_of(station, unit)
    gas = _gas(book, entries)
    vessels: list[Vessel] = []
    refused: list[RefusedFill] = []
    book = as_read(book, today, entries)
    for entry in entries:
        start, read_on = reading_now(book, entry, degrees)
        held = from_book.gas_in(book, entry.id, start, gas) if gas else None
        answered = ask_gate_now(book, today, entry.id, start, held or gas or AIR_GAS, degrees)
        case = Case(entry, start, held, read_on, answered)
        if case.refused:
            refused.append(refused_fill(book, today, entry.id, answered.refusals))
            continue
        vessels.append(from_book.vessel_of(book, case, today, unit, rate))
    valves = station.non_return_valves if station else None
    return Together(degrees, rate, tuple(vessels), tuple(refused), valves)


def _gas(book: Book, entries: tuple[QueueEntry, ...]) -> Gas | None:
    """The gas of the fullest whose gas is known: what an empty one will hold."""
    known = []
    for entry in entries:
        held = contents_of(book, entry.id)
        pressure = entry.start or held.pressure
        if held.gas is not None and pressure is not None:
            known.append((pressure, held.gas))
    if not known:
        return None
    return max(known, key=lambda pair: pair[0])[1]
