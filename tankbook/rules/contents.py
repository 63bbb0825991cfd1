"""What a cylinder holds, from the fill log."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import pairwise

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Doubles
from tankbook.records.entries import Rented, standing
from tankbook.records.log import LogLine
from tankbook.records.words import Act, Isolator
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
    if all(one.at <= next_.at for one, next_ in pairwise(book.log)):
        return {name: tuple(lines) for name, lines in found.items()}
    return {name: tuple(sorted(lines, key=lambda n: n.at)) for name, lines in found.items()}


@once_per_book
def fills_of(book: Book) -> Mapping[str, int]:
    """How many fills of each cylinder and set stand."""
    gone = struck_out(book.log)
    fills = (n for n in book.log if n.act is Act.FILL and not (gone and void_key(n) in gone))
    return Counter(line.cylinder for line in fills)


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

    A return from rental later than the last line replaces the pressure, not the gas; one on the
    day of a fill is later only if the rental began that day too. A cylinder drained or read empty
    holds no gas that counts. A set whose isolator is shut is told by its
    emptier side, without a gas where the sides differ; `sides_of` tells both.
    """
    known = _known_contents(book)
    if id_ not in known:
        doubles = book.sets.get(id_)
        shut = doubles is not None and doubles.isolator is Isolator.SHUT
        sides = sides_of(book, doubles) if doubles is not None and shut else ()
        known[id_] = _of_sides([held for _, held in sides]) if shut else _as_recorded(book, id_)
    return known[id_]


@once_per_book
def _known_contents(book: Book) -> dict[str, Contents]:
    """What was worked out already, by id."""
    return {}


def sides_of(book: Book, doubles: Doubles) -> tuple[tuple[str, Contents], ...]:
    """What each cylinder of a set holds: with the isolator shut, each has its own reading."""
    return tuple((member, _as_recorded(book, member)) for member in doubles.cylinders)


def _of_sides(sides: list[Contents]) -> Contents:
    if not sides or any(held.pressure is None for held in sides):
        return NOTHING_KNOWN
    lowest = min(sides, key=lambda held: held.pressure.pa if held.pressure else 0.0)
    same = all(held.gas == lowest.gas for held in sides)
    return lowest if same else replace(lowest, gas=None)


def _as_recorded(book: Book, id_: str) -> Contents:
    lines = lines_about(book, id_)
    begin = next((i for i in reversed(range(len(lines))) if lines[i].act is Act.FILL), 0)
    count = fills_of(book).get(id_, 0)
    count += sum(fills_of(book).get(name, 0) for name in sets_with(book).get(id_, ()))
    contents = replace(NOTHING_KNOWN, fills=count - 1) if count else NOTHING_KNOWN
    for line in lines[begin:]:
        contents = _after(contents, line)
    for rental in standing(rentals_of(book, id_)):
        later = _is_later(rental, contents)
        if rental.pressure is not None and later and not _logged(lines, rental):
            contents = _at_pressure(contents, rental.pressure, rental.back)
    return contents


def _is_later(rental: Rented, contents: Contents) -> bool:
    """Whether a return came after what is known; returns carry a day and no time."""
    if rental.back is None or contents.on is None:
        return rental.back is not None
    same_day = rental.back == contents.on
    return rental.back > contents.on or (same_day and rental.on.first >= contents.on)


def lines_about(book: Book, id_: str) -> tuple[LogLine, ...]:
    """The lines that stand of a cylinder and of the sets it belongs to, or of a set, by time."""
    by_cylinder = lines_by_cylinder(book)
    own = by_cylinder.get(id_, ())
    shared = [by_cylinder[name] for name in sets_with(book).get(id_, ()) if name in by_cylinder]
    if not shared:
        return own
    return tuple(sorted((*own, *(n for lines in shared for n in lines)), key=lambda n: n.at))


def rentals_of(book: Book, id_: str) -> tuple[Rented, ...]:
    """The rentals of a cylinder and of the sets it belongs to, or of a set."""
    subject = book.cylinders.get(id_) or book.sets.get(id_)
    own = subject.rented if subject else ()
    sets = sets_with(book).get(id_, ())
    return (*own, *(r for name in sets if name in book.sets for r in book.sets[name].rented))


def _logged(lines: tuple[LogLine, ...], rental: Rented) -> bool:
    """Whether the pressure at a return stands in the log as well, which knows the time of it."""
    return any(n.act is Act.READING and n.at.date() == rental.back for n in lines)


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
    if pressure is not None and pressure < EMPTY:
        empty = replace(NOTHING_KNOWN, fills=before.fills, filled_at=before.filled_at)
        return replace(empty, pressure=pressure, on=on)
    return replace(before, pressure=pressure, on=on, temperature=None)
