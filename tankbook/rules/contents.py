"""What a cylinder holds, from the fill log."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import replace

from tankbook.gas import Gas
from tankbook.records.book import Book, once_per_book
from tankbook.records.entries import standing
from tankbook.records.log import LogLine
from tankbook.records.words import Act
from tankbook.rules.answers import Contents
from tankbook.units import GaugePressure

EMPTY = GaugePressure.of(15, "psi")
"""A gauge that shows less than this cannot tell a cylinder from an empty one (common practice, no
source)."""

NOTHING_KNOWN = Contents(None, None, None, None, None)


def void_key(line: LogLine) -> tuple[str, str]:
    """What a void line calls the line it strikes out: its time and its cylinder."""
    return line.at.isoformat(), line.cylinder


def struck_out(lines: Iterable[LogLine]) -> frozenset[tuple[str, str]]:
    """The keys of the lines that void lines strike out."""
    keys = set()
    for line in lines:
        if line.act is Act.VOID and line.voids:
            at, _, cylinder = line.voids.partition(" ")
            keys.add((at, cylinder or line.cylinder))
    return frozenset(keys)


@once_per_book
def lines_by_cylinder(book: Book) -> Mapping[str, tuple[LogLine, ...]]:
    """The lines that stand, by cylinder, in the order of their time."""
    gone = struck_out(book.log)
    found: dict[str, list[LogLine]] = {}
    for line in book.log:
        if line.act is not Act.VOID and not (gone and void_key(line) in gone):
            found.setdefault(line.cylinder, []).append(line)
    return {name: tuple(sorted(lines, key=lambda n: n.at)) for name, lines in found.items()}


@once_per_book
def sets_with(book: Book) -> Mapping[str, tuple[str, ...]]:
    """The sets each cylinder belongs to."""
    found: dict[str, tuple[str, ...]] = {}
    for name, doubles in book.sets.items():
        for member in doubles.cylinders:
            found[member] = (*found.get(member, ()), name)
    return found


def contents_of(book: Book, id_: str) -> Contents:
    """What a cylinder or set holds, as last recorded.

    A return from rental later than the last line replaces the pressure, not the gas. A cylinder
    drained or read empty holds no gas that counts.
    """
    ids = (id_, *sets_with(book).get(id_, ()))
    by_cylinder = lines_by_cylinder(book)
    lines = sorted((n for name in ids for n in by_cylinder.get(name, ())), key=lambda n: n.at)
    contents = NOTHING_KNOWN
    for line in lines:
        contents = _after(contents, line)
    subject = book.cylinders.get(id_) or book.sets.get(id_)
    for rental in standing(subject.rented) if subject else ():
        later = rental.back and (contents.on is None or rental.back >= contents.on)
        if rental.pressure is not None and later:
            contents = _at_pressure(contents, rental.pressure, rental.back)
    return contents


def _after(before: Contents, line: LogLine) -> Contents:
    if line.act is Act.FILL:
        gas = line.gas
        return Contents(
            gas=gas,
            pressure=line.to,
            temperature=line.temperature,
            at=line.at,
            on=line.at.date(),
            oxygen=line.o2.percent if line.o2 else None,
            analysed_by=line.analysed_by or "",
            source=line.source_ or "",
            filled_at=line.at,
            fills=before.fills + 1,
        )
    changed = _at_pressure(before, line.to, line.at.date())
    return replace(changed, temperature=line.temperature, at=line.at)


def _at_pressure(before: Contents, pressure: GaugePressure | None, on: dt.date | None) -> Contents:
    gas: Gas | None = before.gas
    if pressure is not None and pressure < EMPTY:
        gas = None
    return replace(before, gas=gas, pressure=pressure, on=on, temperature=None)
