"""Slow leaks: what a cylinder should show after standing untouched, against what it was found with.

A cylinder stands from one reading to the next as long as nobody used it between: from a fill to the
reading before it goes out, from its return to the gauge before its next fill. Readings one after
another that nothing came between are judged together, too: a slow leak shows in none of them alone.
The expected pressure is the earlier reading carried to the later one's temperature at constant
volume and amount. What the two readings' errors and unread temperatures explain is no leak.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import NamedTuple

from msgspec import Struct

from tankbook.gas import AIR, Mixture, RangeError, at_temperature
from tankbook.records.book import Book
from tankbook.records.entries import Rented, standing
from tankbook.records.words import LogAct, Use
from tankbook.rules.fill_history import (
    GAUGE_ERROR,
    lines_by_cylinder,
    names_in_log,
    places_of,
    rentals_of,
)
from tankbook.rules.status import status_of
from tankbook.units import GaugePressure, Period, Temperature

SPREAD = 10.0
"""How far [K] from the ledger's usual temperature a cylinder may have stood whose temperature was
not read (a choice of ours, for a room that is heated by day)."""

ROOM = Temperature.of(20, "degC")
"""Taken where the ledger gives no usual temperature."""

GOING_OUT, CAME_BACK = "going out", "back"
"""How the note of a reading begins that was taken as a cylinder went out, or came back."""

USED = 0.25
"""More than this share gone at a fill, or at a reading between, is taken for gas that was used and
not written down (a choice of ours): a slow leak is slower. As a cylinder goes out nothing is."""

JUDGED_USES = frozenset({Use.RENTAL, Use.SALE, Use.POOL})
"""The uses whose cylinders stand in the shop between fills. Others use their gas as they like."""

LOOKED_BACK = Period.parse("12 months")
"""How far back the log is searched unless asked otherwise."""


class PressureFound(NamedTuple):
    """A pressure found at a moment.

    `temperature` is None where it was not read. `hot` says that it was taken at the end of a fill
    with nothing to show that the cylinder had cooled.
    """

    at: dt.datetime
    pressure: GaugePressure
    temperature: Temperature | None
    what: str
    hot: bool = False


class StandingTime(Struct, frozen=True):
    """A time a cylinder stood untouched: what it should have shown, and what it showed.

    `lost` is how far below the expected pressure it was found, `explained` how much of that the
    readings' errors and unread temperatures can explain.
    """

    id: str
    begun: PressureFound
    found: PressureFound
    expected: GaugePressure
    lost_pa: float
    explained_pa: float

    @property
    def leaks(self) -> bool:
        """Whether more is gone than the readings explain."""
        return self.lost_pa > self.explained_pa

    @property
    def days(self) -> float:
        """How long it stood [days]."""
        return (self.found.at - self.begun.at).total_seconds() / 86400

    @property
    def per_week_pa(self) -> float:
        """The loss in a week at that pace [Pa]."""
        return 7 * self.lost_pa / self.days if self.days > 0 else 0.0


class Leaks(Struct, frozen=True):
    """The cylinders that lose more than the readings explain, worst first, and what was judged.

    `hot` counts the times a cylinder stood after a fill whose temperature was not read: it may have
    been hot, and hot gas shows a loss as it cools. `used` counts those where so much was gone that
    it is taken for used, and `emptied` names those of which that was the latest: where nobody used
    one, it leaks fast.
    """

    since: dt.date
    leaking: tuple[StandingTime, ...]
    judged: int
    hot: int
    used: int
    error: GaugePressure
    emptied: tuple[str, ...] = ()


def leaks(book: Book, today: dt.date, since: dt.date) -> Leaks:
    """Every cylinder or set whose latest loss while standing is more than its readings explain.

    One that leaked once and held in a later stand is not named: it was mended, or misread.
    """
    error = reading_error(book)
    by_id = {id_: _told(book, id_, today, since, error) for id_ in _kept(book)}
    told = by_id.values()
    losses = (each.loss for each in told if each.loss is not None)
    return Leaks(
        since=since,
        leaking=tuple(sorted(losses, key=lambda s: (-s.per_week_pa, s.id))),
        judged=sum(each.judged for each in told),
        hot=sum(each.hot for each in told),
        used=sum(each.used for each in told),
        error=error,
        emptied=tuple(sorted(id_ for id_, each in by_id.items() if each.emptied)),
    )


def loss_of(book: Book, id_: str, today: dt.date, since: dt.date) -> StandingTime | None:
    """What `leaks` finds of one cylinder or set; None where it names it not."""
    kept = id_ in set(_kept(book))
    return _told(book, id_, today, since, reading_error(book)).loss if kept else None


class _StandsJudged(NamedTuple):
    """What is found of one cylinder, how often it was judged, was hot, or was used, and whether it
    was the last time."""

    loss: StandingTime | None
    judged: int
    hot: int
    used: int
    emptied: bool


def _told(
    book: Book, id_: str, today: dt.date, since: dt.date, error: GaugePressure
) -> _StandsJudged:
    stretch: list[PressureFound] = []
    judged = hot = used = 0
    emptied = False
    for begun, found in _stands(book, id_, since):
        if not book.is_past(found.at, today):
            continue
        emptied = not begun.hot and _was_used(begun, found)
        if begun.hot:
            hot += 1
        elif emptied:
            used += 1
        else:
            judged += 1
            stretch = _longer(book, id_, stretch, begun, found, error)
    return _StandsJudged(_loss(book, id_, stretch, error), judged, hot, used, emptied)


def _longer(
    book: Book,
    id_: str,
    stretch: list[PressureFound],
    begun: PressureFound,
    found: PressureFound,
    error: GaugePressure,
) -> list[PressureFound]:
    """The readings that followed each other untouched up to this one; begun anew where something
    came between, or where more was found than was left: then something did."""
    if not stretch or stretch[-1] != begun:
        stretch = [begun]
    stand = _stand(book, id_, begun, found, error)
    return [found] if -stand.lost_pa > stand.explained_pa else [*stretch, found]


def _loss(
    book: Book, id_: str, stretch: list[PressureFound], error: GaugePressure
) -> StandingTime | None:
    """The longest loss up to the last of these readings that they do not explain, and that no later
    part of them contradicts: by its pace that would have shown it too, and it held."""
    if len(stretch) < 2:
        return None
    stands = [_stand(book, id_, begun, stretch[-1], error) for begun in stretch[:-1]]
    for place, stand in enumerate(stands):
        a_day = stand.per_week_pa / 7
        held = (a_day * s.days > s.lost_pa + s.explained_pa for s in stands[place + 1 :])
        if stand.leaks and not any(held):
            return stand
    return None


def stands_of(book: Book, id_: str, today: dt.date) -> tuple[StandingTime, ...]:
    """Every time that a cylinder or set stood untouched and was read again, oldest first; none of
    one that is not kept in the shop between its uses, or of what may have been hot or was used."""
    if id_ not in set(_kept(book)):
        return ()
    error = reading_error(book)
    return tuple(
        _stand(book, id_, begun, found, error)
        for begun, found in _stands(book, id_, dt.date.min)
        if book.is_past(found.at, today) and not begun.hot and not _was_used(begun, found)
    )


def stand_after(book: Book, id_: str, at: dt.datetime) -> StandingTime | None:
    """The time that a cylinder stood untouched from a reading at `at` to the next; None where it
    did not, or where so much was gone that it must have been used."""
    for begun, found in _stands(book, id_, at.date()):
        if begun.at == at:
            used = begun.hot or _was_used(begun, found)
            return None if used else _stand(book, id_, begun, found, reading_error(book))
        if begun.at > at:
            break
    return None


def _was_used(begun: PressureFound, found: PressureFound) -> bool:
    return found.what != GOING_OUT and found.pressure.pa < (1 - USED) * begun.pressure.pa


def reading_error(book: Book) -> GaugePressure:
    """How far off one gauge reading may be: the station's figure, or 50 psi."""
    said = book.station.gauge_error if book.station else None
    return said or GAUGE_ERROR


def _kept(book: Book) -> Iterator[str]:
    """Cylinders and sets with lines of their own in the log that stand in the shop between uses."""
    for name in lines_by_cylinder(book):
        cylinder, doubles = book.cylinders.get(name), book.sets.get(name)
        kept = cylinder is not None and not status_of(book, cylinder).gone
        subject = cylinder or doubles
        if (kept or doubles) and subject and subject.use in JUDGED_USES:
            yield name


def _stands(book: Book, id_: str, since: dt.date) -> Iterator[tuple[PressureFound, PressureFound]]:
    """Each pair of readings between which the cylinder was not used."""
    places = places_of(book)
    times, acts = places.log.column("at"), places.log.column("act")
    befores, afters = places.log.column("from_"), places.log.column("to")
    degrees, notes = places.log.column("temperature"), places.log.column("note")
    rentals = _used(rentals_of(book, id_))
    begun: PressureFound | None = None
    for i in places.about(names_in_log(book, id_)):
        at, act = times[i], acts[i]
        if at.date() < since:
            continue
        what = "a fill" if act is LogAct.FILL else _what(notes[i])
        found = _found(at, act, befores[i], afters[i], degrees[i], what)
        if begun and found and not _was_out(rentals, begun, found):
            yield begun, found
        hot = act is LogAct.FILL and degrees[i] is None
        kept = afters[i] is not None and act is not LogAct.DRAIN
        begun = PressureFound(at, afters[i], degrees[i], what, hot) if kept else None


def _found(
    at: dt.datetime,
    act: LogAct,
    before: GaugePressure | None,
    after: GaugePressure | None,
    degrees: Temperature | None,
    what: str,
) -> PressureFound | None:
    """What the gauge showed before anything was done."""
    if act is LogAct.FILL and before is not None:
        return PressureFound(at, before, None, "before a fill")
    if act is LogAct.READING and after is not None:
        return PressureFound(at, after, degrees, what)
    return None


def _what(note: str | None) -> str:
    said = note or ""
    return next((w for w in (GOING_OUT, CAME_BACK) if said.startswith(w)), "a reading")


def _used(rentals: tuple[Rented, ...]) -> tuple[tuple[dt.date, dt.date], ...]:
    """The days on which it was out."""
    return tuple((r.on.first, r.back or dt.date.max) for r in standing(rentals))


def _was_out(
    out: tuple[tuple[dt.date, dt.date], ...], begun: PressureFound, found: PressureFound
) -> bool:
    """Whether somebody may have used it between two readings.

    A reading as it goes out ends a stand on the day the rental begins, one as it comes back begins
    one on the day it ends.
    """
    first, last = begun.at.date(), found.at.date()
    for gone, back in out:
        after_return = begun.what == CAME_BACK and back <= first
        before_going = found.what == GOING_OUT and gone >= last
        if gone <= last and back >= first and not after_return and not before_going:
            return True
    return False


def _stand(
    book: Book, id_: str, begun: PressureFound, found: PressureFound, error: GaugePressure
) -> StandingTime:
    usual = book.settings.ambient or ROOM
    before, after = begun.temperature or usual, found.temperature or usual
    places = places_of(book)
    gases, times = places.log.column("gas"), places.log.column("at")
    about = reversed(places.about(names_in_log(book, id_)))
    gas = next((gases[i] for i in about if gases[i] and times[i] < found.at), None)
    mixture = gas.mixture if gas else AIR
    expected = _carried(mixture, begun.pressure, before, after)
    unread = (begun.temperature is None) + (found.temperature is None)
    spread = abs(_warmer(begun.pressure, after) - begun.pressure.pa)
    return StandingTime(
        id=id_,
        begun=begun,
        found=found,
        expected=expected,
        lost_pa=expected.pa - found.pressure.pa,
        explained_pa=2 * error.pa + unread * spread,
    )


def _carried(
    mixture: Mixture, pressure: GaugePressure, before: Temperature, after: Temperature
) -> GaugePressure:
    """A settled pressure at another temperature; unchanged where the gas model does not reach."""
    if before == after:
        return pressure
    try:
        return at_temperature(mixture, pressure, before, after)
    except RangeError:
        return pressure


def _warmer(pressure: GaugePressure, at: Temperature) -> float:
    """What a pressure becomes [Pa] when the cylinder is warmer by the spread, as an ideal gas does:
    near enough for an allowance."""
    absolute = pressure.absolute().pa
    return absolute * (at.kelvin + SPREAD) / at.kelvin - (absolute - pressure.pa)
