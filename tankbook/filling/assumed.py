"""What a plan rests on without a record, one sentence each."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from tankbook.filling import from_book, from_station
from tankbook.filling.wish import Case, Wish
from tankbook.records.book import Book
from tankbook.records.station import Station, masters_of
from tankbook.rules.bank_air import air_of
from tankbook.rules.gauges import comparisons_of
from tankbook.rules.out_of_use import PartSort, StationPart, parts_out
from tankbook.units import SAID_LIKE, PressureRate


def assumed(
    book: Book,
    today: dt.date,
    wish: Wish,
    station: Station,
    rate: PressureRate,
    allowed: list[Case],
    fit: Station,
) -> Iterator[str]:
    """What a plan takes as given; `fit` is the station without what is out of use."""
    yield from _of_readings(book, today, wish, station)
    old = [f"{c.entry.id} on {c.read_on}" for c in allowed if c.read_on]
    if old:
        yield f"Cylinders not read now are as last recorded: {', '.join(old)}."
    if wish.rate is None and station.fill_rate is None:
        yield f"The fill rate is taken as {rate} (common practice); station.yaml names none."
    yield from _of_sizes(book, wish, station, allowed)
    named, several = station.every_compressor, len(station.every_compressor) > 1
    usable = from_station.compressor_of(station, wish.gas)
    if named and wish.gas.is_air and wish.compressor and usable is None:
        which = "The compressors are" if several else "The compressor is"
        whose = "their" if several else "its"
        yield f"{which} left out: {whose} delivery or highest pressure is not recorded."
    chosen = from_station.compressor_of(fit, wish.gas, several=True) if several else None
    if chosen is not None and wish.compressor:
        yield f"Of {len(named)} compressors {chosen.label} is counted on."
    if named and not wish.gas.is_air:
        yield f"The compressor gives air, so it cannot help with {wish.gas}."
    yield from _of_boosters(fit, wish)
    yield from _of_master(station)


def _of_boosters(fit: Station, wish: Wish) -> Iterator[str]:
    """That nothing is planned through a booster, though one could give the gas."""
    able = [booster.name for booster in from_station.boosters_of(fit, wish.gas)]
    if able:
        yield (
            f"What {' or '.join(able)} could bring up is not counted on: what is filled through a "
            f"booster is logged by itself (`--source {able[0]}`)."
        )


def _of_readings(book: Book, today: dt.date, wish: Wish, station: Station) -> Iterator[str]:
    """When the banks were read, and whether they were filled from since."""
    out = parts_out(book, today)
    days: dict[dt.date, list[str]] = {}
    for bank in station.banks:
        air = air_of(book, bank)
        if StationPart(PartSort.BANK, bank.name) in out:
            yield f"Bank {bank.name} is out of use, and stays shut."
            continue
        if bank.gas is None:
            yield f"Bank {bank.name} stays shut: what it holds is not recorded."
            continue
        if air.read_on is None or bank.gas != wish.gas or bank.name in wish.banks:
            continue
        days.setdefault(air.read_on, []).append(bank.name)
        if air.fills or air.gave:
            known = from_station.as_known(book, bank)
            like = f"--bank {bank.name}={SAID_LIKE[wish.unit].bank}"
            yield f"{known} Read it and give it, as in {like}."
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
    masters = masters_of(station)
    if station.gauges and not masters:
        yield "No gauge is marked as the master: read the one that was checked last."
    most = station.gauge_error
    for gauge in masters:
        check = from_station.newest(comparisons_of(gauge))
        if check and most and abs(check.reads.pa - check.true.pa) > most.pa:
            yield (
                f"The master gauge {gauge.name} showed {check.reads} for {check.true} on "
                f"{check.on}: replace it before anything is filled by it."
            )
