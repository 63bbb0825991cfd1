"""How many fills a day this station carries, and what a bank, an hour or a compressor more adds."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from enum import StrEnum
from math import inf
from statistics import median
from typing import NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from tankbook.filling.equation import Equation, free_gas, made_a_minute
from tankbook.filling.figures import HANDLING, NEARLY_FULL, RAISED_OFTEN, WORTH_HIGHER
from tankbook.filling.from_station import boosters_of, compressors_of, rate_of
from tankbook.filling.nouns import PlanCompressor, PlanError
from tankbook.filling.setup import same_gas
from tankbook.filling.sizing import (
    CarriedDay,
    Carries,
    SizedBank,
    SizedCompressor,
    SizedStation,
    carries,
    day_of,
    refilled,
)
from tankbook.filling.usual_days import (
    BookedAhead,
    LoggedDay,
    UsualCylinder,
    UsualDays,
    WorkingHours,
    booked_ahead,
    usual_days,
    working_hours,
)
from tankbook.gas import Gas, RangeError, Reference
from tankbook.records.book import Book
from tankbook.records.station import Bank, Compressor, Station, that_stand
from tankbook.records.words import OpenWhip, PositionKind
from tankbook.rules.bank_air import usual_temperature
from tankbook.rules.out_of_use import PartSort, StationPart, compressor_part, out_of_use, parts_out
from tankbook.rules.volume import reference_of
from tankbook.units import (
    SAID_LIKE,
    STANDARD_ATMOSPHERE,
    GaugePressure,
    PressureRate,
    RunningTime,
    Temperature,
    Volume,
)

REOPENED = "`tankbook station` says what reopens it"

AN_HOUR, A_DAY = 60.0, 1440.0
"""In minutes."""


class NewBank(NamedTuple):
    """A bank that is thought of: its water volume, and the pressure it is full at."""

    water_volume: Volume
    full: GaugePressure


class SizeWish(Struct, frozen=True, kw_only=True):
    """What is asked: since when the log is looked at, of which gas, in which unit, how long a
    working day is (None: by the lists of opening and closing), and which bank is thought of (None:
    one like the largest)."""

    since: dt.date
    gas: Gas
    unit: str
    hours: RunningTime | None = None
    add: NewBank | None = None


class FullBy(StrEnum):
    """How it is known what a bank is full at."""

    RATED = "rated"
    RAISED = "raised"
    COMPRESSOR = "compressor"
    READ = "read"
    ASKED = "asked"


class BankSize(Struct, frozen=True):
    """A bank that is counted on: its volume, what it is full at, and how that is known; and what
    it typically showed, the median of so many `readings` in the time looked at."""

    label: str
    water_volume: Volume
    full: GaugePressure
    by: FullBy
    readings: int = 0
    typically: GaugePressure | None = None

    @property
    def seldom_full(self) -> bool:
        """Whether it typically showed much less than it is taken to be full at."""
        return (
            self.typically is not None and self.typically.pa < NEARLY_FULL.fraction * self.full.pa
        )


class CompressorSize(Struct, frozen=True):
    """A compressor that is counted on: how long it runs of a working day [min], and the free gas
    it makes in that."""

    label: str
    minutes: float
    gas: Volume
    longest_run: RunningTime | None
    rest: RunningTime | None


class PartLeftOut(NamedTuple):
    """A part of the station that is not counted on, why, and what to do about it."""

    part: str
    why: str
    mend: str


BOOSTED = "what it could bring up is not counted", "log what is filled through it by itself"
"""Why a booster is not counted on, and what to do."""


class MoreOf(StrEnum):
    """What is thought of besides what there is."""

    NOTHING = "nothing"
    BANK = "bank"
    HIGHER_BANK = "higher-bank"
    HOUR = "hour"
    COMPRESSOR = "compressor"


class StationChoice(Struct, frozen=True):
    """A station as it is or might be: what it has more (`bank`: which), what it carries, and of how
    many days with fills it would have carried every fill."""

    more: MoreOf
    bank: BankSize | None
    carries: Carries
    days_carried: int


class DayTold(Struct, frozen=True):
    """A day of the log, filled again, and what became of it; `late` were asked for when the
    working day was over."""

    logged: LoggedDay
    done: CarriedDay
    late: int


class AheadTold(Struct, frozen=True):
    """A day ahead, and how many of its fills are carried."""

    booked: BookedAhead
    carried: int

    @property
    def whole(self) -> bool:
        """Whether all are."""
        return self.carried >= self.booked.count


class FillPace(Struct, frozen=True):
    """How many usual fills one person makes in a working day at the station's positions, one load
    after the other at its fill rate; `assumed`: it does not name both rate and handling, so that
    what is usual stands for them."""

    fills: int
    positions: int
    load_minutes: float
    rate: PressureRate
    handling: RunningTime
    assumed: bool


class StationSize(Struct, frozen=True):
    """How a station is sized.

    Attributes:
        usual: what the log asked.
        ahead: the days ahead; `undated` fills are promised without a day.
        left: free gas that the banks still hold above a usual cylinder's start when no fill more
            can be carried.
        refill: minutes to have the banks full again after a busy day; None where no compressor can.
        pace: how many fills one person makes; None where no position on record takes them.
    """

    today: dt.date
    gas: Gas
    ambient: Temperature
    reference: Reference
    hours: WorkingHours
    usual: UsualDays
    banks: tuple[BankSize, ...]
    compressors: tuple[CompressorSize, ...]
    left_out: tuple[PartLeftOut, ...]
    choices: tuple[StationChoice, ...]
    days: tuple[DayTold, ...]
    ahead: tuple[AheadTold, ...]
    undated: int
    left: Volume
    refill: float | None
    pace: FillPace | None

    @property
    def now(self) -> StationChoice:
        """The station as it is."""
        return self.choices[0]

    @property
    def not_carried(self) -> tuple[DayTold, ...]:
        """The days of the log that the station would not have carried, the worst first."""
        short = (d for d in self.days if not d.done.whole)
        return tuple(
            sorted(
                short, key=lambda d: (d.done.carried - d.done.asked, -d.logged.gas.si, d.logged.day)
            )
        )


def size_up(book: Book, today: dt.date, wish: SizeWish) -> StationSize:
    """What the station carries of what its log and bookings ask.

    Raises:
        PlanError: no station is on record, nothing of it can be reckoned with, or there is no
            cylinder to count in.
    """
    station = book.station
    if station is None:
        raise PlanError("no station is on record", "describe it in station.yaml")
    equation = Equation(wish.gas.mixture, usual_temperature(book), wish.unit)
    hours = working_hours(book, wish.since, today, wish.hours)
    parts = _parts(book, station, today, wish, equation)
    now = SizedStation(
        tuple(bank for _, bank in parts.banks),
        tuple(each for _, each in parts.compressors),
        hours.opens.minutes if hours.opens else None,
        hours.runs.minutes,
    )
    if not now.banks and not now.compressors and wish.add is None:
        raise PlanError(*_nothing(parts.left_out, wish.unit))
    usual = usual_days(book, today, wish.since, wish.gas, equation, hours)
    done = tuple(DayTold(d, day_of(now, d.fills), _late(now, d)) for d in usual.days)
    ahead, undated = booked_ahead(book, today, wish.gas, usual, equation)
    choices = tuple(_choices(parts, now, usual, done, wish, equation))
    return StationSize(
        today=today,
        gas=wish.gas,
        ambient=equation.ambient,
        reference=reference_of(book),
        hours=hours,
        usual=usual,
        banks=tuple(bank for bank, _ in parts.banks),
        compressors=tuple(
            CompressorSize(
                each.label,
                each.ran(now.runs),
                free_gas(each.makes * each.ran(now.runs), wish.gas.mixture, wish.unit),
                planned.longest_run,
                planned.rest,
            )
            for planned, each in parts.compressors
        ),
        left_out=tuple(parts.left_out),
        choices=choices,
        days=done,
        ahead=tuple(
            AheadTold(each, day_of(replace(now, opens=None), each.fills).carried) for each in ahead
        ),
        undated=undated,
        left=free_gas(choices[0].carries.left, wish.gas.mixture, wish.unit),
        refill=_refill(now, done, usual),
        pace=_pace(station, usual.usual, wish.unit, equation, hours),
    )


def _nothing(left_out: Sequence[PartLeftOut], unit: str) -> tuple[str, str]:
    """That there is nothing to reckon with, why, and how to record it."""
    if not left_out:
        like = SAID_LIKE[unit]
        return (
            "the station has no bank and no compressor to reckon with",
            f"write them in station.yaml, `compressor: {{name: C1, delivery: {like.delivery}, "
            f"max_pressure: {like.top}}}`, or ask of a bank, --add {like.new_bank}",
        )
    of: dict[str, list[str]] = {}
    for each in left_out:
        of.setdefault(each.why, []).append(each.part)
    whys = "; ".join(f"{', '.join(parts)}: {why}" for why, parts in of.items())
    return f"nothing of the station can be reckoned with: {whys}", left_out[0].mend


def _late(station: SizedStation, day: LoggedDay) -> int:
    """How many fills of a day were asked for when its compressors had stopped."""
    times = [fill.at for fill in day.fills]
    begins = min(times) if station.opens is None else station.opens
    return sum(at > begins + station.runs for at in times) if station.compressors else 0


def _refill(station: SizedStation, done: Sequence[DayTold], usual: UsualDays) -> float | None:
    """The minutes to fill the banks again after the hardest of the busy days that were carried."""
    busy = [d for d in done if d.done.whole and d.done.asked == usual.busy]
    if not busy:
        return None
    hardest = max(busy, key=lambda d: d.logged.gas.si)
    return refilled(station, hardest.done.banks)


def _pace(
    station: Station, usual: UsualCylinder, unit: str, equation: Equation, hours: WorkingHours
) -> FillPace | None:
    """Gas enters evenly, at the pace that takes an empty cylinder to its target at the rate. A set
    fits no enclosed position."""
    whips = station.open_whip is not OpenWhip.NEVER
    kinds = {PositionKind.WHIP} if whips else set()
    if not usual.doubles:
        kinds.add(PositionKind.ENCLOSED)
    seats = [p for p in station.positions if p.kind in kinds]
    rate, handling = rate_of(station, unit), station.handling or HANDLING
    if not seats or rate.si <= 0:
        return None
    rises = usual.plain.target - equation.density_at(STANDARD_ATMOSPHERE.kpa)
    whole = usual.target.pa / (rate.pa_per_s * 60)
    minutes = whole * (usual.plain.target - usual.plain.start) / rises + handling.minutes
    loads = int(hours.runs.minutes / minutes)
    named = station.fill_rate is not None and station.handling is not None
    return FillPace(loads * len(seats), len(seats), minutes, rate, handling, assumed=not named)


# --- what is reckoned with


class _CountedOn(NamedTuple):
    """What of the station is counted on, each as it is told and in plain numbers."""

    banks: list[tuple[BankSize, SizedBank]]
    compressors: list[tuple[PlanCompressor, SizedCompressor]]
    left_out: list[PartLeftOut]


def _parts(
    book: Book, station: Station, today: dt.date, wish: SizeWish, equation: Equation
) -> _CountedOn:
    """What of the station is counted on, and what is not, with the reason."""
    found = _CountedOn([], [], [])
    out = {
        part: PartLeftOut(str(part), each.reason.text, each.reason.mend or REOPENED)
        for each in out_of_use(book, today)
        for part in each.parts
    }
    for part in parts_out(book, today):
        out.setdefault(part, PartLeftOut(str(part), "out of use", REOPENED))
    for made in station.every_compressor:
        part = compressor_part(made)
        kept = out.get(part) or _compressor(station, made, str(part), wish, equation)
        if isinstance(kept, PartLeftOut):
            found.left_out.append(kept)
        else:
            found.compressors.append(kept)
    tops = [planned.max_pressure for planned, _ in found.compressors]
    for bank in station.banks:
        part = StationPart(PartSort.BANK, bank.name)
        sized = out.get(part) or _bank(bank, today, wish, equation, max(tops, default=None))
        if isinstance(sized, PartLeftOut):
            found.left_out.append(sized)
        else:
            found.banks.append(sized)
    for booster in boosters_of(station, wish.gas):
        part = StationPart(PartSort.BOOSTER, booster.name)
        found.left_out.append(out.get(part) or PartLeftOut(str(part), *BOOSTED))
    return found


def _compressor(
    station: Station, made: Compressor, part: str, wish: SizeWish, equation: Equation
) -> tuple[PlanCompressor, SizedCompressor] | PartLeftOut:
    if not wish.gas.is_air:
        return PartLeftOut(part, f"it gives air, not {wish.gas}", "ask of air: --gas air")
    alone = replace(station, compressor=None, compressors=(made,))
    planned = next(iter(compressors_of(alone, wish.gas, several=True)), None)
    if planned is None or planned.delivery.si <= 0:
        like = SAID_LIKE[wish.unit]
        return PartLeftOut(
            part,
            "its delivery or highest pressure is not recorded",
            f"write both in station.yaml: `delivery: {like.delivery}`, `max_pressure: {like.top}`",
        )
    try:
        sized = SizedCompressor(
            label=planned.label,
            makes=made_a_minute(planned.delivery, wish.gas.mixture, wish.unit),
            top=equation.density(planned.max_pressure),
            maintains=equation.density(planned.maintains) if planned.maintains else 0.0,
            longest=planned.longest_run.minutes if planned.longest_run else inf,
            rest=planned.rest_minutes,
        )
    except RangeError as error:
        return PartLeftOut(part, str(error), "see that its pressures are written right")
    return planned, sized


def _bank(
    bank: Bank, today: dt.date, wish: SizeWish, equation: Equation, most: GaugePressure | None
) -> tuple[BankSize, SizedBank] | PartLeftOut:
    """A bank as it is full: as it was raised, typically, else as it is rated, else as it was read
    at the highest; never above its rating or what the compressors reach (`most`)."""
    part = f"bank {bank.name}"
    if bank.gas is None:
        return PartLeftOut(part, "what it holds is not recorded", "write it: `gas: air`")
    if not same_gas(bank.gas, wish.gas):
        return PartLeftOut(part, f"it holds {bank.gas}", f"ask of it: --gas {bank.gas}")
    if bank.water_volume.si <= 0:
        return PartLeftOut(part, "it has no water volume", "write it: `water_volume: 48 L`")
    raised = [r.to for r in that_stand(bank.raised) if wish.since <= r.on <= today]
    read = [r.pressure for r in that_stand(bank.readings)]
    lately = [r.pressure for r in that_stand(bank.readings) if wish.since <= r.on <= today]
    full, by = bank.working_pressure, FullBy.RATED
    if len(raised) >= RAISED_OFTEN:
        usual = _middle(raised, wish.unit)
        if full is None or usual < full:
            full, by = usual, FullBy.RAISED
    if full is None and read:
        full, by = max(read, key=lambda p: p.pa), FullBy.READ
    if full is None:
        mend = f"write it: `working_pressure: {SAID_LIKE[wish.unit].top}`"
        return PartLeftOut(part, "its working pressure is not recorded", mend)
    if most is not None and most < full:
        full, by = most, FullBy.COMPRESSOR
    sized = _sized(bank.name, bank.water_volume, full, by, equation)
    if isinstance(sized, PartLeftOut) or not lately:
        return sized
    told = replace(sized[0], readings=len(lately), typically=_middle(lately, wish.unit))
    return told, sized[1]


def _middle(pressures: Sequence[GaugePressure], unit: str) -> GaugePressure:
    return GaugePressure.of(median(p.to(unit) for p in pressures), unit)


def _sized(
    label: str, volume: Volume, full: GaugePressure, by: FullBy, equation: Equation
) -> tuple[BankSize, SizedBank] | PartLeftOut:
    try:
        dense = equation.density(full)
    except RangeError as error:
        return PartLeftOut(f"bank {label}", str(error), "see that its pressure is written right")
    return BankSize(label, volume, full, by), SizedBank(label, volume.litres, dense)


# --- what might be added


def _choices(
    parts: _CountedOn,
    now: SizedStation,
    usual: UsualDays,
    done: Sequence[DayTold],
    wish: SizeWish,
    equation: Equation,
) -> Iterator[StationChoice]:
    """The station as it is, then with one thing more: none of them carries less, since what is
    added can be left shut."""
    first = carries(now, usual.usual.plain)
    whole = sum(told.done.whole for told in done)
    yield StationChoice(MoreOf.NOTHING, None, first, whole)
    short = [told.logged for told in done if not told.done.whole]
    for more, bank, station in _more(parts, now, wish, equation):
        found = carries(station, usual.usual.plain).never_less(first)
        also = sum(day_of(station, day.fills).whole for day in short)
        yield StationChoice(more, bank, found, whole + also)


def _more(
    parts: _CountedOn, now: SizedStation, wish: SizeWish, equation: Equation
) -> Iterator[tuple[MoreOf, BankSize | None, SizedStation]]:
    """The station with a bank, a bank of higher rating, an hour, or a compressor more."""
    tops = [planned.max_pressure for planned, _ in parts.compressors]
    most = max(tops, default=None)
    for more, volume, full in _new_banks(parts, wish, most):
        capped = most is not None and most < full
        by = FullBy.COMPRESSOR if capped else FullBy.ASKED if wish.add else FullBy.RATED
        sized = _sized("new", volume, most if most is not None and capped else full, by, equation)
        if isinstance(sized, PartLeftOut):
            raise PlanError(f"--add: {sized.why}", sized.mend)
        told, bank = sized
        yield more, told, replace(now, banks=(*now.banks, bank))
    if now.compressors:
        if now.runs + AN_HOUR <= A_DAY:
            yield MoreOf.HOUR, None, replace(now, runs=now.runs + AN_HOUR)
        fastest = max(now.compressors, key=lambda c: c.makes)
        twice = replace(now, compressors=(*now.compressors, fastest))
        yield MoreOf.COMPRESSOR, None, twice


def _new_banks(
    parts: _CountedOn, wish: SizeWish, most: GaugePressure | None
) -> Iterator[tuple[MoreOf, Volume, GaugePressure]]:
    if wish.add is not None:
        yield MoreOf.BANK, wish.add.water_volume, wish.add.full
    elif parts.banks:
        largest, _ = max(parts.banks, key=lambda pair: (pair[1].volume, pair[1].full))
        yield MoreOf.BANK, largest.water_volume, largest.full
        if most is not None and most.pa > WORTH_HIGHER * largest.full.pa:
            yield MoreOf.HIGHER_BANK, largest.water_volume, most
