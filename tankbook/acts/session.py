"""A planned session as it is logged: what each cylinder got, and what some gave to others."""

from __future__ import annotations

import datetime as dt
import shlex
from collections.abc import Iterator, Mapping

from msgspec import Struct

from tankbook.acts.fill import Wanted
from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.log import FillTook
from tankbook.records.station import that_stand
from tankbook.units import GAUGE_STEP, GaugePressure, Temperature, time_of_day

STEP = {"psi": 1.0, "bar": 0.1}
"""What a planned pressure is rounded down to when it is logged: no gauge shows less."""


class Planned(Struct, frozen=True):
    """One cylinder of a plan: what it began with and is to end with, from where, and where it
    stood; how long its fill takes, the most that it is read at once it has cooled, and where it is
    stopped at the latest. What it is to end with is a prediction, and never logged."""

    id: str
    start: GaugePressure
    holds: GaugePressure
    sources: tuple[str, ...]
    position: str = ""
    fill_pressure: GaugePressure | None = None
    took: FillTook | None = None
    at_most: GaugePressure | None = None
    stop: GaugePressure | None = None

    @property
    def gave(self) -> bool:
        """It ends with less than it began with: it gave to others."""
        return _rounded(self.holds) < _rounded(self.start)

    @property
    def got(self) -> bool:
        """It ends with more than it began with."""
        return _rounded(self.holds) > _rounded(self.start)


class BankTold(Struct, frozen=True):
    """What a plan was told that the gauge of a bank showed, the day, and the time where the clock
    said it. Nothing that a plan reckoned."""

    bank: str
    shown: GaugePressure
    on: dt.date
    at: dt.time | None = None


class PlannedSession(Struct, frozen=True):
    """A plan to be logged: its gas, the ambient temperature its cold readings are at, its lines,
    and what it was told of the banks."""

    gas: Gas
    ambient: Temperature
    cylinders: tuple[Planned, ...]
    told: tuple[BankTold, ...] = ()


class AsFilled(Struct, frozen=True):
    """The fills of a session, the drains of those that gave, the cylinders that nobody gave a
    reading of yet, and what the plan was told of banks."""

    got: tuple[Wanted, ...]
    gave: tuple[Wanted, ...]
    unread: tuple[str, ...]
    told: tuple[BankTold, ...] = ()


def as_filled(session: PlannedSession, read: Mapping[str, GaugePressure]) -> AsFilled:
    """A session as it was carried out: of each cylinder what its gauge showed.

    Args:
        session: the plan.
        read: what a gauge showed in the end, by id.

    Raises:
        ValueError: nothing was read, or a cylinder that the plan does not fill.
    """
    planned = {p.id: p for p in session.cylinders if p.got or p.gave}
    strange = [i for i in read if i not in planned]
    if strange:
        raise ValueError(f"the plan does not fill {', '.join(strange)}")
    if not read:
        raise ValueError(
            "what a plan says is predicted, and only what was read is logged: give each its "
            f"reading, {'=, '.join(planned)}="
        )
    lines = [(p, _wanted(p, read[p.id])) for p in planned.values() if p.id in read]
    return AsFilled(
        tuple(w for p, w in lines if not p.gave),
        tuple(w for p, w in lines if p.gave),
        tuple(i for i in planned if i not in read),
        session.told,
    )


def readings_offered(book: Book, told: tuple[BankTold, ...], filled: dt.datetime) -> Iterator[str]:
    """That what a plan was told of banks is not on record, and how it is recorded: as read before
    what was filled, since later they show less."""
    lacking = [each for each in told if not _on_record(book, each)]
    for on, at in dict.fromkeys(_before(each, filled) for each in lacking):
        those = [each for each in lacking if _before(each, filled) == (on, at)]
        said = ", ".join(f"{each.bank} {each.shown}" for each in those)
        args = shlex.join(f"{t.bank}={t.shown.to(t.shown.unit):g}{t.shown.unit}" for t in those)
        yield (
            f"the plan was told {said} as read, and that is not on record: log it as of then,"
            f" before the fill: `tankbook station read {args} --on {on} --at {at or 'HH:MM'}`"
        )


def _before(told: BankTold, filled: dt.datetime) -> tuple[dt.date, str]:
    """The day and the time of what a plan was told; no time where that is not before the fill."""
    late = told.on == filled.date() and told.at is not None and told.at >= time_of_day(filled)
    return told.on, "" if told.at is None or late else f"{told.at:%H:%M}"


def _on_record(book: Book, told: BankTold) -> bool:
    """Whether a bank was read so that day; one that is not of the station cannot be recorded."""
    banks = book.station.banks if book.station else ()
    its = [bank for bank in banks if bank.name == told.bank]
    step = GAUGE_STEP[told.shown.unit].pa / 2 if told.shown.unit in GAUGE_STEP else 0.0
    return not its or any(
        read.on == told.on and abs(read.pressure.pa - told.shown.pa) <= step
        for read in that_stand(its[0].readings)
    )


def _wanted(planned: Planned, reading: GaugePressure) -> Wanted:
    warm = planned.at_most is not None and reading.pa > planned.at_most.pa
    past = warm and planned.stop is not None and reading.pa > _read_as(planned.stop)
    return Wanted(
        planned.id,
        reading,
        _rounded(planned.start),
        source="+".join(dict.fromkeys(planned.sources)),
        position=planned.position,
        fill_pressure=planned.fill_pressure,
        took=planned.took,
        warm=warm,
        past=planned.stop if past else None,
    )


def _read_as(stop: GaugePressure) -> float:
    """The most [Pa] that is read off a gauge at its stop."""
    return stop.pa + (GAUGE_STEP[stop.unit].pa if stop.unit in GAUGE_STEP else 0.0)


def _rounded(pressure: GaugePressure) -> GaugePressure:
    step = STEP.get(pressure.unit, 1.0)
    count = int(pressure.to(pressure.unit) / step + 1e-6)
    return GaugePressure.of(round(count * step, 6), pressure.unit)
