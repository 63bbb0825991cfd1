"""A blend that is asked for, made ready from the records: cylinder, gate, supplies."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.filling import from_book, from_station
from tankbook.filling.blend import tops_off
from tankbook.filling.blend_nouns import BlendOrder, BlendSupply, TopOff, TopOffKind
from tankbook.filling.figures import READING_ERROR, RICHEST
from tankbook.filling.nouns import PlanError
from tankbook.filling.prepare import ambient_of, ask_gate_now, reading_now, refused_fill
from tankbook.filling.wish import Case, QueueEntry, RefusedFill
from tankbook.gas import AIR_GAS, Gas
from tankbook.gas.depth import USUAL_LEAST, USUAL_LIMIT
from tankbook.records.book import Book
from tankbook.records.kinds import EMPTY
from tankbook.records.station import COMPRESSOR, Bank, Compressor, Enricher, Station
from tankbook.records.words import Grade, SourceKind
from tankbook.rules.fill_history import contents_of
from tankbook.rules.inforce import rules_of
from tankbook.rules.out_of_use import (
    PartSort,
    StationPart,
    compressor_part,
    parts_out,
    refused_by_name,
)
from tankbook.rules.services import PURE_OXYGEN
from tankbook.rules.source_grade import grade_on, lacks_proof
from tankbook.units import SAID_LIKE, AbsolutePressure, GaugePressure, Percent, Temperature

MIXED = frozenset({"contents-differ"})
"""What the gate has against topping one gas up with another, which a blend reckons with."""


class BlendWish(Struct, frozen=True, kw_only=True):
    """What a blend is asked for.

    `gas` is what the cylinder holds where the log does not know; `final` None: its cold target.
    `top_off` names a bank or the compressor, empty for the best there is; `continuous` has the
    compressor's air enriched on its way, up to `richest`. `clean_air`: that air is of oxygen grade.
    """

    entry: QueueEntry
    target: Gas
    unit: str
    gas: Gas | None = None
    final: GaugePressure | None = None
    oxygen: BlendSupply | None = None
    helium: BlendSupply | None = None
    top_off: str = ""
    clean_air: bool = False
    continuous: bool = False
    richest: Percent = RICHEST
    banks: Mapping[str, GaugePressure] = field(default_factory=dict)
    ambient: Temperature | None = None
    gauge_error: Percent = READING_ERROR
    oxygen_limit: AbsolutePressure | None = None


class Ordered(Struct, frozen=True):
    """An order ready to be worked out, or why the gate refuses the cylinder; and assumptions."""

    order: BlendOrder | None
    refused: RefusedFill | None
    warnings: tuple[str, ...]
    assumed: tuple[str, ...]


def order_of(book: Book, today: dt.date, wish: BlendWish) -> Ordered:
    """Ask the gate, gather the order.

    Raises:
        PlanError: something that must be known is not, or a supply is none.
    """
    ambient = ambient_of(book, wish.ambient)
    id_ = wish.entry.id
    start, read_on = reading_now(book, wish.entry, ambient)
    answered = ask_gate_now(book, today, id_, start, wish.target, ambient)
    against = tuple(r for r in answered.refusals if r.code not in MIXED)
    if against or answered.answer.limit is None:
        return Ordered(None, refused_fill(book, today, id_, against), (), ())
    if start is None:
        like = SAID_LIKE[wish.unit].empty
        raise PlanError(f"the reading of {id_} is missing", f"read its gauge, as in {id_}={like}")
    assumed = []
    if wish.entry.start is None:
        assumed.append(f"{id_} is as last recorded, on {read_on}: {start.format(wish.unit, 0)}.")
    contents = wish.gas or contents_of(book, id_).gas
    if contents is None and start < EMPTY:
        contents = AIR_GAS
        assumed.append("The atmosphere left in the empty cylinder is taken as air.")
    rate = from_station.rate_of(book.station, wish.unit)
    case = Case(wish.entry, start, contents, read_on, answered)
    vessel = from_book.vessel_of(book, case, today, wish.unit, rate)
    if wish.final is not None and wish.final > vessel.target:
        most = vessel.target.format(wish.unit, 0)
        raise PlanError(
            f"{wish.final} is above what {id_} may show cold at {ambient}, {most}",
            "give a lower --pressure",
        )
    settings = book.settings
    order = BlendOrder(
        vessel=replace(vessel, target=wish.final or vessel.target),
        target=wish.target,
        o2_clean=from_book.is_oxygen_clean(book, id_, today),
        top_off=_top_off(book, today, wish, assumed),
        ambient=ambient,
        fill_rate=rate,
        oxygen=wish.oxygen or _supply(book, today, wish, "oxygen", assumed),
        helium=wish.helium or _supply(book, today, wish, "helium", assumed),
        clean_above=rules_of(book).clean_above,
        gauge_error=wish.gauge_error,
        oxygen_limit=wish.oxygen_limit or settings.oxygen_pressure or USUAL_LIMIT[wish.unit],
        oxygen_least=settings.least_oxygen_pressure or USUAL_LEAST,
        unit=wish.unit,
    )
    return Ordered(order, None, tuple(answered.warnings), tuple(assumed))


# --- the supplies


def _supply(
    book: Book, today: dt.date, wish: BlendWish, gas: str, assumed: list[str]
) -> BlendSupply | None:
    """The fullest bank in use of pure oxygen, or of helium, where none is named; None where there
    is none that was read."""
    out = parts_out(book, today)
    found = []
    for bank in book.station.banks if book.station else ():
        share = 0.0
        if bank.gas is not None:
            of = bank.gas
            share = of.oxygen_percent if gas == "oxygen" else of.helium_percent
        reading = from_station.reading_of(book, bank, wish.banks)
        fit = StationPart(PartSort.BANK, bank.name) not in out
        if share >= PURE_OXYGEN and fit and reading is not None:
            found.append((reading.pa, bank, reading))
    if not found:
        return None
    _, bank, reading = max(found, key=lambda each: each[0])
    if bank.name not in wish.banks:
        assumed.append(from_station.as_known(book, bank))
    return BlendSupply(label=bank.name, pressure=reading, water_volume=bank.water_volume)


# --- the supply it is topped off from


def _top_off(book: Book, today: dt.date, wish: BlendWish, assumed: list[str]) -> TopOff:
    station, out = book.station, parts_out(book, today)
    banks = {bank.name: bank for bank in station.banks} if station else {}
    fit = {name: b for name, b in banks.items() if StationPart(PartSort.BANK, name) not in out}
    name = wish.top_off or (COMPRESSOR if wish.continuous else _best(book, fit, wish, today))
    pumps = station.every_compressor if station else ()
    called = {made.name: made for made in pumps if len(pumps) > 1 and made.name}
    compressor = called.get(name) or _compressor(book, today)
    label = (compressor.name or COMPRESSOR) if compressor else ""
    of_compressor = name == COMPRESSOR or name in called
    for reason in refused_by_name(book, today, [label or name if of_compressor else name]):
        raise PlanError(reason.text, reason.mend)
    if not of_compressor:
        if wish.continuous:
            raise PlanError("continuous blending feeds from the compressor", "leave out --top-off")
        if name not in banks:
            there = ", ".join([*banks, *called, COMPRESSOR])
            raise PlanError(f"there is no bank {name}", f"known: {there}")
        return _from_bank(book, banks[name], wish, assumed, today)
    if compressor is None or compressor.max_pressure is None:
        raise PlanError(
            "no compressor with its highest pressure is on record", "top off from a bank"
        )
    blender = _blender(station, compressor) if wish.continuous else None
    giver = blender.name if blender else compressor.name or COMPRESSOR
    own = blender.oxygen_to if blender else None
    richest = min(wish.richest, own) if own else wish.richest
    return TopOff(
        supply=BlendSupply(label=compressor.name or COMPRESSOR, pressure=compressor.max_pressure),
        gas=AIR_GAS,
        kind=TopOffKind.CONTINUOUS if wish.continuous else TopOffKind.AIR,
        oxygen_grade=wish.clean_air or _is_clean(book, giver, today),
        max_oxygen=richest,
    )


def _compressor(book: Book, today: dt.date) -> Compressor | None:
    """The compressor; of several the fittest that is in use: of oxygen grade, else the one that
    fills highest. One that is out of use where none is in use, so that it is said why."""
    every, out = book.station.every_compressor if book.station else (), parts_out(book, today)
    fit = [made for made in every if compressor_part(made) not in out] or every

    def fitness(made: Compressor) -> tuple[bool, float]:
        most = made.max_pressure.pa if made.max_pressure else 0.0
        return _is_clean(book, made.name or COMPRESSOR, today), most

    return max(fit, key=fitness, default=None)


def _best(book: Book, banks: Mapping[str, Bank], wish: BlendWish, today: dt.date) -> str:
    """The bank that holds the gas itself, else the fullest of oxygen grade with air or a leaner
    gas, else the compressor."""
    known = ((b, from_station.reading_of(book, b, wish.banks)) for b in banks.values() if b.gas)
    readings = {b.name: reading for b, reading in known if reading is not None}
    read = [banks[name] for name in readings]
    for bank in read:
        if bank.gas == wish.target:
            return bank.name
    fit = [
        b
        for b in read
        if _is_clean(book, b.name, today)
        and b.gas
        and tops_off(b.gas)
        and (b.gas.is_air or b.gas.oxygen_percent < wish.target.oxygen_percent)
    ]
    fullest = max(fit, key=lambda b: readings[b.name].pa, default=None)
    return fullest.name if fullest else COMPRESSOR


def _is_clean(book: Book, name: str, today: dt.date) -> bool:
    """Whether the air of a source is of oxygen grade on a day; of a compressor, or what it feeds,
    where a filter and a sample show that."""
    name, station = name.casefold(), book.station
    banks = {b.name.casefold() for b in station.banks} if station else set()
    shown = name in banks or not lacks_proof(book, name, today)
    return shown and grade_on(book, name, today).grade is Grade.OXYGEN


def _blender(station: Station | None, compressor: Compressor) -> Enricher | None:
    """The blender at the intake of a compressor."""
    for source in station.sources if station else ():
        mine = station is not None and station.compressor_called(source.of) == compressor
        if source.kind is SourceKind.CONTINUOUS and mine:
            return source
    return None


def _from_bank(
    book: Book, bank: Bank, wish: BlendWish, assumed: list[str], today: dt.date
) -> TopOff:
    reading = from_station.reading_of(book, bank, wish.banks)
    if bank.gas is None or reading is None:
        what = "what it holds" if bank.gas is None else "its reading"
        raise PlanError(
            f"bank {bank.name}: {what} is not recorded",
            f"record it, or --bank {bank.name}={SAID_LIKE[wish.unit].bank}",
        )
    if bank.name not in wish.banks:
        assumed.append(from_station.as_known(book, bank))
    return TopOff(
        supply=BlendSupply(label=bank.name, pressure=reading, water_volume=bank.water_volume),
        gas=bank.gas,
        kind=TopOffKind.AIR if bank.gas.is_air else TopOffKind.BANKED,
        oxygen_grade=_is_clean(book, bank.name, today) or wish.clean_air,
    )
