"""What the records had, at the hour of an incident, of the cylinders and parts named in it.

It is gathered once, when the incident is recorded, and kept with it: what is recorded afterwards
changes nothing of what was known then.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from typing import TypeVar

from msgspec.structs import replace

from tankbook.records.book import Book
from tankbook.records.counter import CounterFile, CylinderThen, PartThen, SetThen
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.entries import Job, Rented, standing
from tankbook.records.life import is_out_still, verdict
from tankbook.records.log import Log, LogLine
from tankbook.records.station import Bank, Booster, Checked, Compressor, Station, that_stand
from tankbook.records.valve import Valve
from tankbook.records.words import LogAct
from tankbook.rules.answers import Contents
from tankbook.rules.bank_air import air_of
from tankbook.rules.bank_held import banks_held
from tankbook.rules.fill_history import (
    contents_of,
    lines_by_cylinder,
    lines_into,
    names_in_log,
    void_key,
)
from tankbook.rules.in_hands import in_hands, not_back_yet, went_out
from tankbook.rules.incident_held import machine_part
from tankbook.rules.status import worked_out
from tankbook.units import GaugePressure, time_of_day

MOST_FILLS = 3
"""How many of its last fills are gathered (own bound)."""

T = TypeVar("T")


def book_then(book: Book, on: dt.date, at: dt.time | None) -> Book:
    """The records as they were known on a day, up to a minute of it where that is given."""
    then = book.as_known_on(on)
    if at is None:
        return then
    subjects: list[Cylinder | Doubles] = [*then.cylinders.values(), *then.every_set.values()]
    back = (s for s in subjects if any(each.back == on for each in s.rented))
    hours = {s.id: not_back_yet(then, s, on, at) for s in back}
    log = Log.of([n for n in then.log if not _is_later(n.at.date(), time_of_day(n.at), on, at)])
    cards = {
        name: replace(
            c,
            held=_by(c.held, on, at),
            inspected=_by(c.inspected, on, at),
            rented=_by(hours.get(name, c.rented), on, at),
            handed_over=_by(c.handed_over, on, at),
            refused=_by(c.refused, on, at),
            rejected=_by(c.rejected, on, at),
            valve_work=_by(c.valve_work, on, at),
            cleaned=_by(c.cleaned, on, at),
            labelled=_by(c.labelled, on, at),
            jobs=tuple(_here_still(job, on, at) for job in _by(c.jobs, on, at)),
        )
        for name, c in then.cylinders.items()
    }
    station = _station_by(then.station, on, at) if then.station else None
    sets, apart = (
        {
            name: replace(s, rented=_by(hours.get(name, s.rented), on, at))
            for name, s in each.items()
        }
        for each in (then.sets, then.apart)
    )
    counter = _counter_by(then.counter, on, at) if then.counter else None
    cut = replace(
        then, log=log, cylinders=cards, sets=sets, apart=apart, station=station, counter=counter
    )
    return with_status(then, cut, cards)


def before_it_left(book: Book, ids: Iterable[str], at: dt.datetime) -> Book:
    """The records as they were known on a day, but for what befell some cylinders at a later hour
    of it: they went out, were sold, fetched or set aside, were read, filled or let out. What was
    done with them before that can be told later, while they are away.

    Args:
        book: the records.
        ids: the cylinders and sets.
        at: the moment, with its UTC offset.
    """
    known, on, hour = book.as_known_on(at.date()), at.date(), time_of_day(at)
    names = {n for id_ in ids for m in known.members(id_) for n in names_in_log(known, m)}
    sides = {m for name in names for m in known.members(name)}

    def here(subject: Cylinder | Doubles) -> tuple[Rented, ...]:
        gone = (went_out(known, subject.id, r) if r.on.day else None for r in subject.rented)
        pairs = zip(subject.rented, gone, strict=True)
        rented = tuple(r for r, left in pairs if not _is_later(r.on.first, left, on, hour))
        if len(rented) == len(subject.rented):
            return rented
        # what was struck out to say its hour goes with what stands for it
        return tuple(r for r in rented if r.on.first != on or not is_out_still(r, subject.rented))

    cards = {
        name: replace(
            card,
            rented=here(card),
            held=_by(card.held, on, hour),
            rejected=_by(card.rejected, on, hour),
            handed_over=_by(card.handed_over, on, hour),
            jobs=tuple(_here_still(job, on, hour) for job in card.jobs),
        )
        for name in sides
        if (card := known.cylinders.get(name)) is not None
    }
    sets, apart = (
        {n: replace(s, rented=here(s)) if n in names else s for n, s in each.items()}
        for each in (known.sets, known.apart)
    )
    stand = (n for name in names for n in lines_by_cylinder(known).get(name, ()))
    later = {void_key(n) for n in stand if _is_later(n.at.date(), time_of_day(n.at), on, hour)}
    log = known.log
    if later:
        log = Log.of([n for n in log if n.act is LogAct.VOID or void_key(n) not in later])
    then = replace(known, log=log, cylinders={**known.cylinders, **cards}, sets=sets, apart=apart)
    return with_status(known, then, cards)


def with_status(known: Book, then: Book, ids: Iterable[str]) -> Book:
    """The book with the status that cards had then, where that of the day is what its entries say:
    of one that they do not, something is wrong, and that is told.

    Args:
        known: the records as they were known at the end of the day.
        then: the same, cut at an hour of it.
        ids: the cylinders that may stand otherwise in it.
    """
    found = dict[str, Cylinder]()
    for id_ in ids:
        was, now = known.cylinders.get(id_), then.cylinders.get(id_)
        if was is None or now is None or now.status is None:
            continue
        if was != now and was.status is worked_out(known, was):
            found[id_] = replace(now, status=worked_out(then, now))
    return replace(then, cylinders={**then.cylinders, **found}) if found else then


def _is_later(day: dt.date, time: dt.time | None, on: dt.date, at: dt.time) -> bool:
    return day > on or (day == on and time is not None and _minute(time) > _minute(at))


def _minute(time: dt.time) -> dt.time:
    return time.replace(second=0, microsecond=0)


def _by(entries: tuple[T, ...], on: dt.date, at: dt.time) -> tuple[T, ...]:
    """The entries that do not say a later time of that day."""
    return tuple(
        e
        for e in entries
        if getattr(e, "at", None) is None or not _is_later(_day(e), getattr(e, "at", None), on, at)
    )


def _here_still(job: Job, on: dt.date, at: dt.time) -> Job:
    """A job as it was at a minute of a day: what its owner fetched later that day was here."""
    if job.collected is None or not _is_later(job.collected, job.collected_at, on, at):
        return job
    return replace(job, collected=None, collected_at=None, analysed=None)


def _day(entry: object) -> dt.date:
    day = getattr(entry, "on")  # noqa: B009
    return day if isinstance(day, dt.date) else day.first


def _counter_by(counter: CounterFile, on: dt.date, at: dt.time) -> CounterFile:
    """The counter's file without what it says of a later hour: an incident names nobody before."""
    return replace(
        counter,
        refused=_by(counter.refused, on, at),
        stolen=_by(counter.stolen, on, at),
        incidents=_by(counter.incidents, on, at),
    )


def _station_by(station: Station, on: dt.date, at: dt.time) -> Station:
    banks = tuple(
        replace(
            bank,
            readings=_by(bank.readings, on, at),
            raised=_by(bank.raised, on, at),
            analysed=_by(bank.analysed, on, at),
            held=_by(bank.held, on, at),
        )
        for bank in station.banks
    )
    return replace(station, banks=banks)


# --- a cylinder ----------------------------------------------------------------------------------


def cylinder_then(then: Book, id_: str, read: GaugePressure | None) -> CylinderThen:
    """What a book has of a cylinder.

    Args:
        then: the records as they were known then (`book_then`).
        id_: a cylinder that is in the book.
        read: what its gauge showed, by whoever was there; None where nobody says.
    """
    card, contents = then.cylinders[id_], contents_of(then, id_)
    recorded = None
    if read is None and contents.pressure is not None:
        recorded = str(contents.on or "on a day not on record")
    return CylinderThen(
        id=id_,
        serial=card.serial,
        made=", ".join(filter(None, (card.maker, *card.specification))) or None,
        status=str(worked_out(then, card)),
        pressure=read or contents.pressure,
        given=read is not None,
        recorded=recorded,
        contents=_contents(contents),
        handed=tuple(each[:400] for each in in_hands(then, card, then.known_on or dt.date.max)),
        fills=tuple(_fills(then, id_)),
        inspected=_inspected(card),
        tested=_tested(card),
        valve=_valve(card.valve) or None,
    )


def sets_then(then: Book, id_: str, on: dt.date, at: dt.time | None) -> tuple[SetThen, ...]:
    """The set that a cylinder stood in on a day, or at a time of it: none where it stood by itself,
    two where it left one and went into another that day and nobody says which came first.

    Args:
        then: the records as they were known then (`book_then`).
        id_: a cylinder that is in the book.
        on: that day.
        at: the time of it; None where nobody knows.
    """
    every = then.every_set.items()
    return tuple(
        _set(name, each, on, at)
        for name, each in every
        if id_ in each.cylinders and each.joined(on, at)
    )


def _set(name: str, doubles: Doubles, on: dt.date, at: dt.time | None) -> SetThen:
    stood, set_ = doubles.isolator_before, None
    for each in doubles.settings:
        day, hour = each.on.first, each.at
        if day < on or (day == on and not (hour and at and at < hour)):
            stood, set_ = each.stands, each
    since, hour = (set_.on.first, set_.at) if set_ else (None, None)
    return SetThen(
        id=name,
        cylinders=doubles.cylinders,
        manifold=doubles.manifold,
        rating=doubles.rating,
        isolator=stood,
        isolator_since=f"{since}{f' {hour:%H:%M}' if hour else ''}" if since else None,
    )


def _contents(contents: Contents) -> str | None:
    if contents.gas is None and contents.pressure is None:
        return None
    parts = [str(contents.gas) if contents.gas else "gas unknown"]
    if contents.figures:
        by = f" by {contents.analysed_by}" if contents.analysed_by else ""
        parts.append(f"analysed {contents.figures}{by} on {contents.analysed_on}")
    parts += [f"its pressure recorded on {contents.on}"] if contents.on else []
    return ", ".join(parts)


def _fills(then: Book, id_: str) -> Iterator[str]:
    fills = [n for n in lines_into(then, id_) if n.act is LogAct.FILL]
    for line in reversed(fills[-MOST_FILLS:]):
        other = line.cylinder not in names_in_log(then, id_)
        yield f"{_fill(line)}, of {line.cylinder} beside it" if other else _fill(line)


def _fill(line: LogLine) -> str:
    analysed = [f"oxygen {line.o2}"] if line.o2 else []
    analysed += [f"helium {line.he}"] if line.he else []
    by = f" by {line.analysed_by}" if line.analysed_by else ""
    parts = (
        f"{line.at:%Y-%m-%d %H:%M}",
        f"from {line.from_}" if line.from_ else "",
        f"to {line.to}" if line.to else "",
        str(line.gas) if line.gas else "gas not said",
        f"analysed {' '.join(analysed)}{by}" if analysed else "analysis not said",
        f"source {line.source_}" if line.source_ else "source not said",
        f"position {line.position}" if line.position else "",
        f"by {line.by}" if line.by else "",
    )
    return ", ".join(filter(None, parts))[:400]


def _inspected(card: Cylinder) -> str | None:
    last = next(reversed(standing(card.inspected)), None)
    return f"{last.on} {last.checklist}, {verdict(last)}{_signed(last.by)}" if last else None


def _tested(card: Cylinder) -> str | None:
    last = next(reversed(standing(card.requalified)), None)
    return f"{last.on} {last.method}, {last.result}{_signed(last.by)}" if last else None


def _signed(by: str | None) -> str:
    return f", by {by}" if by else ""


def _valve(valve: Valve | None) -> str:
    if valve is None:
        return ""
    disc = f"disc {valve.disc}" if valve.disc is not None else ""
    rating = f"rated {valve.rating}" if valve.rating else ""
    return ", ".join(filter(None, (str(valve.outlet or ""), valve.thread or "", rating, disc)))


# --- a part of the station -----------------------------------------------------------------------


def bank_then(then: Book, bank: Bank, today: dt.date, read: GaugePressure | None) -> PartThen:
    """What a book has of a bank; `read` is what its gauge showed, by whoever was there."""
    air = air_of(then, bank)
    recorded = str(air.read_on) if read is None and air.read is not None else None
    held = [f"out of use since {h.since}: {h.why}" for h in banks_held(then, today)
            if h.name == bank.name]  # fmt: skip
    fills = f"filled from since it was read: {air.fills}" if air.fills else ""
    said = ", ".join(filter(None, (str(bank.gas or ""), fills, *held)))[:500]
    return PartThen(
        part=f"bank {bank.name}",
        pressure=read or air.read,
        given=read is not None,
        recorded=recorded,
        said=said or None,
    )


def machine_then(then: Book, pump: Compressor | Booster) -> PartThen:
    """What a book has of a compressor or a booster: its meter."""
    station = then.station
    known = (p for p in station.every_pump if p.name == pump.name) if station else ()
    read = next((that_stand(p.hours)[-1:] for p in known), ())
    said = "".join(f"its meter read {each.reads} on {each.on}" for each in read)
    return PartThen(part=machine_part(pump), said=said or None)


def part_then(called: str, name: str, checked: tuple[Checked, ...]) -> PartThen:
    """What a book has of a whip or a position: its last check."""
    last = next(reversed(that_stand(checked)), None)
    note = f": {last.note}" if last and last.note else ""
    said = f"last checked {last.on}, {last.result}{_signed(last.by)}{note}" if last else None
    return PartThen(part=f"{called} {name}", said=(said or "never checked on record")[:500])
