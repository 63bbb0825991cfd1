"""What the log tells of the heat of each size: its fills that were read again, what they come to,
and what a plan reckons with.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from math import exp, hypot
from statistics import median

from msgspec import Struct
from msgspec.structs import replace

from tankbook.filling import from_book, from_station
from tankbook.filling.equation import Equation, gauge_of
from tankbook.filling.figures import (
    ABOVE_STOP,
    AT_REST_AFTER,
    BAND_HOLDS,
    BANK_APART,
    ERROR_HOLDS,
    GAUGES_DIFFER,
    INNER_FILM,
    LONGEST_FILL,
    LOOKED_AT,
    MOST_FILLS,
    OUTER_DRY,
    OUTER_WET,
    ROOM_SAME,
    ROOM_UNREAD,
    ROOM_USUAL,
    ROOMS_APART,
    SEEPS,
    TELLS,
    USUAL_RATE,
)
from tankbook.filling.heat import Films
from tankbook.filling.nouns import CylinderKind, Doubt, SizeHeat, Vessel, VesselHeat
from tankbook.filling.read_again import FillReadAgain, NotCounted, read_again
from tankbook.filling.settling import (
    SHIPPED,
    CooledFill,
    HeatFit,
    films_of,
    fit,
    settled,
)
from tankbook.filling.state_table import StateTable
from tankbook.gas import AIR, Gas, RangeError
from tankbook.records.book import Book
from tankbook.records.log import took
from tankbook.records.station import COMPRESSOR, Compressor, Station
from tankbook.records.words import LogAct
from tankbook.rules.air import taken_here
from tankbook.rules.fill_history import gauge_error, places_of
from tankbook.rules.gauges import allowance, read_gauges
from tankbook.rules.inforce import rules_of
from tankbook.rules.leaks import ROOM
from tankbook.units import STANDARD_ATMOSPHERE, GaugePressure, Temperature

NAMES = ("gas to wall", "wall to air", "heat of the wall")
"""What is estimated, as people are told."""


class KindHeat(Struct, frozen=True):
    """The fills of one size that were read again, and what they tell."""

    kind: CylinderKind
    fills: tuple[FillReadAgain, ...]
    cooled: tuple[CooledFill, ...] = ()
    fit: HeatFit = SHIPPED
    table: StateTable | None = None

    @property
    def passed(self) -> int:
        """How many do not count."""
        return sum(each.why is not None for each in self.fills)

    @property
    def weighed(self) -> tuple[tuple[FillReadAgain, float | None], ...]:
        """Each with how much it weighs, None where it does not count."""
        weights = (
            w for w, stray in zip(self.fit.weights, self.fit.strays, strict=True) if not stray
        )
        return tuple((each, next(weights) if each.why is None else None) for each in self.fills)


# --- from the log


def heat_of_kinds(
    book: Book,
    today: dt.date,
    kinds: Iterable[CylinderKind] | None = None,
    *,
    cold: bool = False,
) -> tuple[KindHeat, ...]:
    """What the log tells of some sizes, or of all; `cold`: with those of which no fill was logged
    warm, which tell nothing.

    Only cylinders whose fills are among the newest of their size are looked at.
    """
    asked = None if kinds is None else frozenset(kinds)
    ids: dict[CylinderKind, dict[str, int]] = {}
    for id_, warm in _read_after(book):
        facts = from_book.heat_facts(book, id_) if warm or cold else None
        if facts is None or (asked is not None and facts.kind not in asked):
            continue
        known = ids.setdefault(facts.kind, {})
        if cold and not warm:
            known[id_] = 0
        elif id_ in known or sum(known.values()) < LOOKED_AT:
            known[id_] = known.get(id_, 0) + 1
    return tuple(_heat(book, today, kind, list(ids[kind])) for kind in sorted(ids))


def _read_after(book: Book) -> list[tuple[str, bool]]:
    """Whose fills were followed by a reading, fill by fill, the newest first, and whether each was
    logged warm."""
    places = places_of(book)
    acts, degrees = places.log.column("act"), places.log.column("temperature")
    times, known = places.log.column("at"), {*book.cylinders, *book.sets}
    found = [
        (times[one], id_, degrees[one] is None)
        for id_, own in places.by_id.items()
        if id_ in known
        for one, after in pairwise(own)
        if acts[one] is LogAct.FILL and acts[after] is LogAct.READING
    ]
    return [(id_, warm) for _, id_, warm in sorted(found, reverse=True)]


def _heat(book: Book, today: dt.date, kind: CylinderKind, ids: Sequence[str]) -> KindHeat:
    told = sorted(read_again(book, today, ids), key=lambda f: (f.filled.at, f.id))
    if book.station is not None and book.station.water_bath:
        told = [_not(each, NotCounted.WATER) for each in told]
    cooled = {n: _cooled(book, each) for n, each in enumerate(told) if each.why is None}
    for n, made in cooled.items():
        told[n] = told[n] if isinstance(made, CooledFill) else replace(told[n], why=made)
    good = [(n, made) for n, made in cooled.items() if isinstance(made, CooledFill)]
    for n, _ in good[:-MOST_FILLS]:
        told[n] = replace(told[n], why=NotCounted.OLDER)
    good = good[-MOST_FILLS:]
    table = _table([made for _, made in good])
    if table is None:
        far = {n for n, made in good if _table([made]) is None}
        told = [replace(t, why=NotCounted.NO_MODEL) if n in far else t for n, t in enumerate(told)]
        good = [(n, made) for n, made in good if n not in far]
        table = _table([made for _, made in good])
    if table is None:
        return KindHeat(kind, tuple(told))
    found = fit([made for _, made in good], table)
    above = NotCounted.COOL if found.cool else NotCounted.MORE
    for (n, _), stray in zip(good, found.strays, strict=True):
        if stray:
            told[n] = replace(told[n], why=NotCounted.USED if stray < 0 else above)
    kept = [made for (_, made), stray in zip(good, found.strays, strict=True) if not stray]
    return KindHeat(kind, tuple(told), tuple(kept), found, table)


def _not(each: FillReadAgain, why: NotCounted) -> FillReadAgain:
    return each if each.why else replace(each, why=why)


def _table(fills: Sequence[CooledFill]) -> StateTable | None:
    """The states of air as dense as these fills and what they came from; None where there are none,
    or the gas model does not reach so far. Nitrox gives off its heat as air does."""
    if not fills:
        return None
    highest, coldest = max(f.stop for f in fills), min(f.room for f in fills)
    equation = Equation(AIR, Temperature.of(coldest, "K"), "bar")
    try:
        return equation.sheet(equation.density_at(ABOVE_STOP * highest) * 1.02)
    except RangeError:
        return None


def _cooled(book: Book, each: FillReadAgain) -> CooledFill | NotCounted:
    """A fill in plain numbers, or why it does not count."""
    fill, read, station = each.filled, each.read, book.station
    facts = from_book.heat_facts(book, each.id)
    if not (read and read.to and fill.from_ and fill.to and facts):
        return NotCounted.FROM_UNKNOWN
    room = _room(book, each)
    if room is None:
        return NotCounted.ROOM_OR_WALL
    kelvin, apart = room
    said, source = took(fill.note), fill.source_ or ""
    minutes = _minutes(book, each.id, fill.from_, fill.to, _compressor(station, source))
    gauge = _gauge_error(book).kpa / ERROR_HOLDS / read.to.absolute().kpa
    seeped = SEEPS.kpa * each.minutes / 1440 / read.to.absolute().kpa
    return CooledFill(
        id=each.id,
        at=fill.at,
        volume=facts.volume.litres,
        wall=facts.wall,
        start=fill.from_.absolute().kpa,
        stop=fill.to.absolute().kpa,
        read=read.to.absolute().kpa,
        minutes=max(0.1, said.minutes - said.held if said else minutes),
        after=each.minutes,
        room=kelvin,
        sd=hypot(gauge, apart / kelvin, seeped),
        gauge=GAUGES_DIFFER * gauge,
        held=said.held if said else 0.0,
        at_line=_compressor(station, source) is not None,
    )


def _room(book: Book, each: FillReadAgain) -> tuple[float, float] | None:
    """How warm the room was [K], and by how much [K] it may have been otherwise at the fill; None
    where a temperature that was written may be that of the cylinder."""
    assert each.read is not None
    noted = each.read.temperature
    usual = (book.station.ambient if book.station else None) or book.settings.ambient
    room = (noted or usual or ROOM).kelvin
    if each.minutes < AT_REST_AFTER.minutes:
        if noted is not None and (usual is None or abs(noted.kelvin - usual.kelvin) > ROOM_UNREAD):
            return None
        return room, ROOM_SAME
    return room, ROOM_UNREAD if noted is None else ROOMS_APART


def _gauge_error(book: Book) -> GaugePressure:
    """How far the gauges may err on which fills are read."""
    station = book.station
    gauges = read_gauges(station) if station else ()
    if station is None or not gauges:
        return gauge_error(book)
    most = [allowance(station, gauge, rules_of(book)) for gauge in gauges]
    return max(most, key=lambda error: error.pa)


def _minutes(
    book: Book, id_: str, start: GaugePressure, stop: GaugePressure, made: Compressor | None
) -> float:
    """How long a fill took that nobody wrote down: by the station's rate, and no less than its
    compressor alone needs."""
    unit = book.settings.units.value
    usual = USUAL_RATE[unit]
    rate = from_book.fill_rate_of(book, id_, from_station.rate_of(book.station, unit))
    minutes = (stop.pa - start.pa) / ((rate if rate.si > 0 else usual).si * 60)
    facts = from_book.heat_facts(book, id_)
    if made is not None and made.delivery is not None and made.delivery.si > 0 and facts:
        free = facts.volume.litres * (stop.pa - start.pa) / STANDARD_ATMOSPHERE.pa
        minutes = max(minutes, free / made.delivery.litres_per_min)
    return min(minutes, LONGEST_FILL.minutes)


def _compressor(station: Station | None, source: str) -> Compressor | None:
    """The compressor that a fill came from alone."""
    named = [name.casefold() for name in taken_here(source)]
    own = {
        (c.name or COMPRESSOR).casefold(): c for c in (station.every_compressor if station else ())
    }
    return own.get(named[0]) if len(named) == 1 else None


# --- for a plan


def doubt_of(book: Book, *, told_ambient: bool) -> Doubt:
    """How unsure the figures are that a plan starts from, with the room's temperature as told now
    or as recorded."""
    return Doubt(_gauge_error(book), ROOM_SAME if told_ambient else ROOM_USUAL, BANK_APART)


def heat_of(
    book: Book,
    today: dt.date,
    vessels: Sequence[Vessel],
    unit: str,
    *,
    gas: Gas,
    wet: bool,
    doubt: Doubt,
) -> tuple[tuple[Vessel, ...], tuple[SizeHeat, ...]]:
    """The cylinders of a plan with what their sizes are known by, and what that is. A gas with
    helium, which gives off its heat otherwise, is planned by the shipped values."""
    kinds = {vessel.kind: None for vessel in vessels}
    asked = kinds if gas.helium_percent == 0 else {}
    known = {each.kind: each for each in heat_of_kinds(book, today, asked)}
    outer = OUTER_WET if wet else OUTER_DRY
    fitted = {kind: films_of(each.fit, outer) for kind, each in known.items() if each.cooled}
    sizes = tuple(
        told_of(
            known.get(kind, KindHeat(kind, ())),
            tuple(v.id for v in vessels if v.kind == kind), unit, doubt, wet=wet,
        )
        for kind in kinds
    )  # fmt: skip
    return tuple(_with(vessel, fitted) for vessel in vessels), sizes


def _with(vessel: Vessel, fitted: Mapping[CylinderKind, VesselHeat]) -> Vessel:
    heat = fitted.get(vessel.kind)
    return vessel if heat is None else replace(vessel, heat=heat)


def told_of(
    known: KindHeat, ids: tuple[str, ...], unit: str, doubt: Doubt, *, wet: bool = False
) -> SizeHeat:
    """What is told of a size, with what a fill like those that counted settles to."""
    outer = OUTER_WET if wet else OUTER_DRY
    passed = known.passed
    if not known.cooled or known.table is None:
        return SizeHeat(
            kind=known.kind, ids=ids, passed=passed, inner=INNER_FILM.usual, outer=outer.usual
        )
    heat = films_of(known.fit, outer)
    one = _like(known.cooled)
    table = known.table

    def below(films: Films, wall: float) -> float:
        _, state = settled(one, table, films, wall)
        return one.stop - table.at(state.rho).pressure(one.room)

    films = heat.films
    usual = below(films.usual, heat.wall)
    beside = BAND_HOLDS * doubt.of(one.stop, one.room)

    def apart(end: Films) -> float:
        """How far an end of the band lies from the usual, with what the station's figures err."""
        return hypot(usual - below(end, heat.wall), beside)

    def shown(kpa: float) -> GaugePressure:
        return GaugePressure.of(GaugePressure.of(max(0.0, kpa), "kPa").to(unit), unit)

    return SizeHeat(
        kind=known.kind,
        ids=ids,
        fills=len(known.cooled),
        cylinders=len({each.id for each in known.cooled}),
        passed=passed,
        told=tuple(
            name for name, left in zip(NAMES, known.fit.left, strict=True) if left <= TELLS.fraction
        ),
        inner=films.usual.inner,
        outer=films.usual.outer,
        wall=exp(known.fit.off[2]),
        start=gauge_of(one.start, unit),
        stop=gauge_of(one.stop, unit),
        below=shown(usual),
        least=shown(usual - apart(films.coolest)),
        most=shown(usual + apart(films.hottest)),
        shipped_below=shown(below(Films(), 1.0)),
    )


def _like(fills: Sequence[CooledFill]) -> CooledFill:
    """A fill that stands for these: each of its figures is in their middle."""
    first = fills[0]
    return replace(
        first,
        start=median(f.start for f in fills),
        stop=median(f.stop for f in fills),
        minutes=median(f.minutes for f in fills),
        held=median(f.held for f in fills),
        room=median(f.room for f in fills),
    )


class ToldOfSize(Struct, frozen=True):
    """A size, its fills that were read again, and how much each weighs: None where it does not
    count, else between 0 and 1."""

    size: SizeHeat
    fills: tuple[tuple[FillReadAgain, float | None], ...]


def told_by_size(
    book: Book, today: dt.date, unit: str, ids: frozenset[str] = frozenset()
) -> tuple[ToldOfSize, ...]:
    """What the fills of each size tell that were read again; of some cylinders, where `ids` names
    them, those of their sizes, and of these the fills of the cylinders named."""
    doubt, found = doubt_of(book, told_ambient=False), []
    for known in heat_of_kinds(book, today, cold=True):
        fills = tuple(each for each in known.weighed if not ids or each[0].id in ids)
        if fills:
            named = tuple(dict.fromkeys(each.id for each, _ in fills))
            found.append(ToldOfSize(told_of(known, named, unit, doubt), fills))
    return tuple(found)
