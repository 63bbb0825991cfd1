"""From the record of the fill station to what a session is planned with: banks, positions, gauges.

What the record leaves out is taken as each docstring says, and told as an assumption of the plan.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from itertools import islice
from typing import TypeVar

from msgspec.structs import replace

from tankbook.filling.figures import (
    DRAIN_EVERY,
    GAUGE_ERROR,
    STANDARD_MARK,
    STANDARD_SIZE,
    STANDARD_START,
    TYPICAL_VOLUME,
    USUAL_RATE,
)
from tankbook.filling.nouns import (
    PlanBank,
    PlanCompressor,
    PlanError,
    PlanGauge,
    StandardCylinder,
    StationPolicy,
)
from tankbook.gas import Gas
from tankbook.records import station as records
from tankbook.records.book import Book
from tankbook.records.settings import Settings
from tankbook.records.station import Dated, that_stand
from tankbook.records.words import Grade, OpenWhip
from tankbook.rules.answers import Limit
from tankbook.rules.bank_air import air_of
from tankbook.rules.board import READING_AGE
from tankbook.rules.gauges import comparisons_of, off_by_too_much
from tankbook.rules.inforce import InForce
from tankbook.rules.limits import cold_target
from tankbook.rules.out_of_use import (
    PartSort,
    StationPart,
    compressor_part,
    out_of_use,
    parts_out,
    refused_by_name,
)
from tankbook.rules.source_grade import grade_on
from tankbook.rules.volume import volume_of_size
from tankbook.units import (
    GaugePressure,
    PartialDate,
    PressureRate,
    RunningTime,
    Temperature,
)
from tankbook.units.nouns import counted

NEVER = GaugePressure.of(0, "psi")
"""What a bank that is not fed is fed to."""

D_ = TypeVar("D_", bound=Dated)


def fit_of(book: Book, station: records.Station, today: dt.date) -> records.Station:
    """The station without what is out of use: banks, positions, gauges, the compressor.

    Raises:
        PlanError: nothing of a kind that a session needs is left.
    """
    out = parts_out(book, today)
    fit = replace(
        station,
        banks=tuple(b for b in station.banks if StationPart(PartSort.BANK, b.name) not in out),
        positions=tuple(
            p for p in station.positions if StationPart(PartSort.POSITION, p.name) not in out
        ),
        gauges=tuple(g for g in station.gauges if StationPart(PartSort.GAUGE, g.name) not in out),
        compressor=None,
        compressors=tuple(c for c in station.every_compressor if compressor_part(c) not in out),
        boosters=tuple(
            b for b in station.boosters if StationPart(PartSort.BOOSTER, b.name) not in out
        ),
    )
    for kept, had in ((fit.positions, station.positions), (sources(fit), sources(station))):
        if had and not kept:
            why = next(iter(out_of_use(book, today)))
            raise PlanError(why.reason.text, why.reason.mend)
    return fit


def sources(station: records.Station) -> tuple[object, ...]:
    """What gas comes from."""
    return (*station.banks, *station.every_compressor)


def boosters_of(station: records.Station, gas: Gas) -> tuple[records.Booster, ...]:
    """The boosters that may give a gas. No answer counts on one: what it could bring up is not
    planned, nor reckoned with."""
    return tuple(b for b in station.boosters if not b.drives or gas in b.drives)


def rate_of(station: records.Station | None, unit: str) -> PressureRate:
    """The station's fill rate, else the usual one."""
    return (station.fill_rate if station else None) or USUAL_RATE[unit]


def newest(entries: Iterable[D_]) -> D_ | None:
    """The last entry that is not struck out."""
    return next(iter(reversed(that_stand(entries))), None)


def reading_of(
    book: Book, bank: records.Bank, read: Mapping[str, GaugePressure]
) -> GaugePressure | None:
    """What a bank shows: as read now (`read`), else as last recorded, less what was filled from it
    since."""
    return read.get(bank.name) or air_of(book, bank).shows


def _unsure(book: Book, bank: records.Bank) -> GaugePressure | None:
    """How far a bank's carried-forward pressure may be off: each fill since it was read by a
    gauge's error at either end, in a cylinder of usual size. None where it was just read."""
    air = air_of(book, bank)
    if not air.fills or air.shows is None or bank.water_volume.si <= 0:
        return None
    error = (book.station.gauge_error if book.station else None) or GAUGE_ERROR
    share = 2 * TYPICAL_VOLUME.litres / bank.water_volume.litres
    return GaugePressure.of(air.fills * share * error.to(air.shows.unit), air.shows.unit)


def as_known(book: Book, bank: records.Bank) -> str:
    """How what a bank is taken to show is known: `Bank B1 is as last read, 4100 psi on 24 Nov.`"""
    air = air_of(book, bank)
    if not (air.fills or air.gave) or air.shows is None:
        return f"Bank {bank.name} is as last read, {air.read} on {air.read_on}."
    times = counted(air.fills, "fill") if air.fills else ""
    unsaid = f", {air.unmeasured} of them not counted" if air.unmeasured else ""
    raised = "another bank raised from it" if air.gave else ""
    since = f"{' and '.join(filter(None, (times, raised)))} since"
    shows = air.shows.format(air.shows.unit, 0)
    off = _unsure(book, bank)
    if off is not None:
        shows += f", give or take {off.format(off.unit, 0)}"
    return (
        f"Bank {bank.name} is taken to show about {shows}: read {air.read} on {air.read_on},"
        f" {since}{unsaid}."
    )


def banks_of(book: Book, today: dt.date, read: Mapping[str, GaugePressure]) -> tuple[PlanBank, ...]:
    """The banks whose gas is recorded, each as read now (`read`) or as worked out from the last
    record.

    Raises:
        PlanError: `read` names no bank, one that is out of use, or a pressure above a bank's
            working pressure.
    """
    station = book.station
    if station is None:
        return ()
    _check_readings(station, read)
    bad = {n: r for n in read for r in islice(refused_by_name(book, today, [n]), 1)}
    if bad:
        said = "; ".join(f"bank {name}: {reason.text}" for name, reason in bad.items())
        first = next(iter(bad.values()))
        names = " and ".join(f"`--bank {name}={read[name]}`" for name in bad)
        raise PlanError(said, f"leave {names} out, it plans with what is fit; or: {first.mend}")
    return tuple(_bank(book, bank, today, read) for bank in station.banks if bank.gas)


def _bank(
    book: Book, bank: records.Bank, today: dt.date, read: Mapping[str, GaugePressure]
) -> PlanBank:
    on = None if bank.name in read else air_of(book, bank).read_on
    age = RunningTime.of((today - on).days * 24, "h") if on else None
    assert bank.gas is not None
    reading = reading_of(book, bank, read)
    # one whose rating nobody knows, or that is kept fit to be mixed with oxygen, is not fed
    may_be_fed = bank.working_pressure is not None and bank.grade is not Grade.OXYGEN
    return PlanBank(
        label=bank.name,
        water_volume=bank.water_volume,
        reading=reading,
        gas=bank.gas,
        reading_age=age,
        limit=bank.working_pressure if may_be_fed else NEVER,
        unsure=None if bank.name in read else _unsure(book, bank),
    )


def _check_readings(station: records.Station, read: Mapping[str, GaugePressure]) -> None:
    known = {bank.name: bank for bank in station.banks}
    for name, pressure in read.items():
        if name not in known:
            there = f"the station has {', '.join(known)}" if known else "the station lists none"
            raise PlanError(f"there is no bank {name}", there)
        most = known[name].working_pressure
        if most is not None and pressure > most:
            raise PlanError(
                f"bank {name} cannot stand at {pressure}: its working pressure is {most}",
                "read its gauge again",
            )


def reading_good_for(settings: Settings, today: dt.date) -> RunningTime:
    """How old a bank's reading may be; 2 days where the settings say nothing."""
    until = PartialDate.of(today).plus(settings.reading_age or READING_AGE).last
    return RunningTime.of((until - today).days * 24, "h")


def compressor_of(
    station: records.Station, gas: Gas, *, several: bool = False
) -> PlanCompressor | None:
    """The compressor, for air; None where its delivery or highest pressure is not recorded. Of
    several, the one that fills highest, and of these the fastest; `several`: the station has more
    than are given here, so that it is told by its label."""
    found = compressors_of(station, gas, several=several)
    return max(found, key=lambda c: (c.max_pressure.pa, c.delivery.litres_per_min), default=None)


def compressors_of(
    station: records.Station, gas: Gas, *, several: bool = False
) -> tuple[PlanCompressor, ...]:
    """Every compressor whose delivery and highest pressure are recorded, for air."""
    if not gas.is_air:
        return ()
    return tuple(
        PlanCompressor(
            delivery=made.delivery,
            max_pressure=made.max_pressure,
            label=(made.name or records.COMPRESSOR) if several else "",
            maintains=made.maintains,
            longest_run=made.longest_run,
            rest=made.rest,
            drain_every=made.drain_every or DRAIN_EVERY,
        )
        for made in station.every_compressor
        if made.delivery is not None and made.max_pressure is not None
    )


def gauges_of(station: records.Station) -> tuple[PlanGauge, ...]:
    """The panel's gauges at their last check, the master left out."""
    found, masters = [], records.masters_of(station)
    for gauge in station.gauges:
        check = newest(comparisons_of(gauge))
        if check and gauge not in masters:
            at = f"{gauge.name} at {gauge.position}" if gauge.position else gauge.name
            found.append(PlanGauge(label=at, shows=check.reads, true=check.true))
    return tuple(found)


def watched(station: records.Station, rules: InForce) -> dict[str, str]:
    """The gauge that each position is read by: its own, else the master of the panel. None is read
    by one that is off by more than it may be, on whichever side: such a gauge is replaced."""

    def serves(gauge: records.Gauge) -> bool:
        return off_by_too_much(station, gauge, rules) is None

    own = {g.position: g.name for g in station.gauges if g.position and serves(g)}
    masters = (g for g in records.masters_of(station) if not g.position and serves(g))
    master = next((g.name for g in masters), "")
    found = {p.name: own.get(p.name, master) for p in station.positions}
    return {name: gauge for name, gauge in found.items() if gauge}


def policy_of(
    station: records.Station,
    rate: PressureRate,
    good_for: RunningTime,
    *,
    wet: bool,
    top_offs: int | None = None,
) -> StationPolicy:
    """The station's habits, with the usual figures where it names none."""
    usual = StationPolicy(fill_rate=rate)
    return StationPolicy(
        fill_rate=rate,
        open_whip=station.open_whip is not OpenWhip.NEVER,
        non_return_valves=station.non_return_valves,
        minimum_gain=station.minimum_gain or usual.minimum_gain,
        handling=station.handling or usual.handling,
        cooling=station.cooling or usual.cooling,
        reading_good_for=good_for,
        gauge_error=station.gauge_error or usual.gauge_error,
        acceptable_loss=station.acceptable_loss or usual.acceptable_loss,
        most_top_offs=next(
            (n for n in (top_offs, station.most_top_offs) if n is not None), usual.most_top_offs
        ),
        wet=wet or bool(station.water_bath),
    )


def of_oxygen_grade(book: Book, station: records.Station, gas: Gas, today: dt.date) -> bool:
    """Whether every bank of a gas is of oxygen grade on a day."""
    banks = [bank.name.casefold() for bank in station.banks if bank.gas == gas]
    grades = [grade_on(book, name, today).grade for name in banks]
    return bool(grades) and all(grade is Grade.OXYGEN for grade in grades)


def standard_of(
    book: Book, gas: Gas, ambient: Temperature, reference: Temperature, unit: str
) -> StandardCylinder:
    """The cylinder that full fills are counted in: the settings' size, filled to its nominal
    service pressure at `reference`, from 500 psi or 35 bar."""
    name = book.settings.standard_size or STANDARD_SIZE
    volume = volume_of_size(book, name)
    if volume is None:
        raise PlanError(
            f"the standard size {name} is in no table",
            "name another `standard_size` in the settings",
        )
    size = book.sizes.get(name)
    mark = (size.service_pressure if size else None) or STANDARD_MARK
    target = cold_target(Limit(mark, reference, False, ()), gas.mixture, ambient)
    return StandardCylinder(
        water_volume=volume.volume, start=STANDARD_START[unit], target=target, name=name
    )
