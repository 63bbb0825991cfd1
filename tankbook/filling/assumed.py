"""What a plan rests on without a record, one sentence each."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from tankbook.filling import from_book, from_station
from tankbook.filling.wish import Case, Wish
from tankbook.records.book import Book
from tankbook.records.station import Station
from tankbook.records.words import LogAct
from tankbook.rules.air import parts_named
from tankbook.rules.fill_history import struck_out, void_key
from tankbook.units import PressureRate


def assumed(
    book: Book,
    today: dt.date,
    wish: Wish,
    station: Station,
    rate: PressureRate,
    allowed: list[Case],
) -> Iterator[str]:
    yield from _of_readings(book, today, wish, station)
    old = [f"{c.entry.id} on {c.read_on}" for c in allowed if c.read_on]
    if old:
        yield f"Cylinders not read now are as last recorded: {', '.join(old)}."
    if wish.rate is None and station.fill_rate is None:
        yield f"The fill rate is taken as {rate} (common practice); station.yaml names none."
    yield from _of_sizes(book, wish, station, allowed)
    named = station.compressor
    usable = from_station.compressor_of(station, wish.gas)
    if named is not None and wish.gas.is_air and wish.compressor and usable is None:
        yield "The compressor is left out: its delivery or highest pressure is not recorded."
    if named is not None and not wish.gas.is_air:
        yield f"The compressor gives air, so it cannot help with {wish.gas}."
    yield from _of_master(station)


def _of_readings(book: Book, today: dt.date, wish: Wish, station: Station) -> Iterator[str]:
    """When the banks were read, and whether they were filled from since."""
    gone = struck_out(book.log)
    days: dict[dt.date, list[str]] = {}
    for bank in station.banks:
        last = from_station.newest(bank.readings)
        if bank.gas is None:
            yield f"Bank {bank.name} stays shut: what it holds is not recorded."
            continue
        if last is None or bank.gas != wish.gas or bank.name in wish.banks:
            continue
        days.setdefault(last.on, []).append(bank.name)
        fills = sum(
            bank.name.casefold() in parts_named(station, line.source_ or "")
            for line in book.log
            if line.act is LogAct.FILL and line.at.date() > last.on and void_key(line) not in gone
        )
        if fills:
            times = "1 time" if fills == 1 else f"{fills} times"
            yield (
                f"Bank {bank.name} was filled from {times} since it was read on {last.on}: "
                f"read it again and give it, as in --bank {bank.name}=2400."
            )
    for day, names in days.items():
        if day < today:
            yield f"Banks as read on {day}: {', '.join(names)}. --bank gives today's readings."


def _of_sizes(book: Book, wish: Wish, station: Station, allowed: list[Case]) -> Iterator[str]:
    ids = [case.entry.id for case in allowed]
    small = [i for i in ids if i not in wish.rates and from_book.is_small(book, i)]
    if small:
        yield f"Small, so at half the fill rate (common practice): {', '.join(small)}."
    limits = any(p.max_diameter or p.max_length for p in station.positions)
    unknown = [i for i in ids if i not in book.sets and from_book.sizes_unknown(book, i)]
    if limits and unknown:
        yield f"Length or diameter not recorded; see that they fit: {', '.join(unknown)}."
    assumed = [i for i in ids if from_book.wall_assumed(book, i)]
    if assumed:
        every = len(assumed) == len(ids)
        who = "every cylinder" if every else ", ".join(assumed)
        yield f"Wall masses are taken from material and volume, for the heat of {who}."


def _of_master(station: Station) -> Iterator[str]:
    masters = [g for g in station.gauges if g.master]
    if station.gauges and not masters:
        yield "No gauge is marked as the master: read the one that was checked last."
    most = station.gauge_error
    for gauge in masters:
        check = from_station.newest(gauge.checked)
        if check and most and abs(check.reads.pa - check.true.pa) > most.pa:
            yield (
                f"The master gauge {gauge.name} showed {check.reads} for {check.true} on "
                f"{check.on}: replace it before anything is filled by it."
            )
