"""Reading the stamp marks of a shoulder: US, Canadian, EN and ISO lines, and retest stamps.

Nothing is guessed. A mark that fits no known shape is named as unread, with what it could be; a
date that can be read two ways keeps both readings. Where a mark is told by its place alone (a
serial number), its note says so.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from functools import cache

from msgspec.structs import replace

from tankbook.records.markdates import tell_dates, tell_joined, tell_suffixes
from tankbook.records.marked import (
    SUFFIXES,
    MarkKind,
    MarkMeaning,
    Marks,
    MarkTable,
    MarkWords,
    Retest,
    Stamp,
    Token,
    WordSays,
)
from tankbook.records.markevidence import STAMPS, Evidence, could_be, hides_first_test
from tankbook.records.markplace import tell_letters, tell_places
from tankbook.records.markpressure import is_two_named, looks_named, tell_pressures
from tankbook.records.markreader import NO_SHAPE, MarkReader, Take, fold, is_part_of
from tankbook.records.markshapes import SHAPES, as_the_law_says, condemned
from tankbook.records.stampdate import MarkedDate
from tankbook.units import PartialDate
from tankbook.units.patterns import Sought

__all__ = [
    "SUFFIXES",
    "Evidence",
    "MarkKind",
    "MarkMeaning",
    "MarkTable",
    "MarkWords",
    "MarkedDate",
    "Marks",
    "Retest",
    "Stamp",
    "Token",
    "WordSays",
    "read_marks",
    "read_stamp",
]

_WITH_PLUS = frozenset(("3A", "3AA", "3AX", "3AAX", "3T"))
"""Specifications that may have a plus: 49 CFR 173.302a(b) (grade C), their metric twins besides."""
_ALUMINIUM = ".*3ALM?|.*ISO 7866|.*EN 1975"
"""Specifications of aluminium cylinders: 49 CFR 178.46 for 3AL; the others from memory."""


_LONG_SERIAL = 6
"""A shorter serial may be another mark by its shape."""


def read_marks(
    line: str,
    meanings: Iterable[MarkMeaning] = (),
    *,
    first: PartialDate | None = None,
    today: dt.date | None = None,
    serial: str = "",
    names: tuple[str, ...] = (),
) -> Marks:
    """Read a line of stamp marks. Never raises.

    Args:
        line: the marks as read off the shoulder, top to bottom, or one retest stamp.
        meanings: what each kind of mark means; the first row of a kind counts.
        first: month of the first test where the line does not say it; it places the two digits of
            a retest's year in a century.
        today: a date of a test later than this is left open.
        serial: the serial number, where it is known; a word that is it letter for letter is no
            retest or other mark, unless it has the shape of a date.
        names: names that are known to stand there, and signs with the date they stand beside; a
            word that is part of one says nothing of the cylinder. CONDEMNED and a row of X do.

    >>> [str(token.kind) for token in read_marks("DOT-3AL 3000 K118204 09A21").tokens]
    ['specification', 'service-pressure', 'serial', 'first-test']
    """
    table: dict[MarkKind, MarkMeaning] = {}
    for row in meanings:
        table.setdefault(row.kind, row)
    known = fold(serial)[0]
    other = hides_first_test(known) or is_two_named(known)
    known = known if len(known) >= _LONG_SERIAL and not other else ""
    tokens = _read(MarkReader(line, first, today, serial=known, names=names))
    return Marks(line, tuple(replace(t, meaning=table.get(t.kind)) for t in tokens))


def read_stamp(
    text: str,
    first: PartialDate | None = None,
    *,
    today: dt.date | None = None,
    names: tuple[str, ...] = (),
) -> Stamp:
    """Read one retest stamp as typed beside a test: `09 A123 26 +`, `2021/09 XY`. Never raises.

    Args:
        text: the stamp, and nothing else.
        first: month of the first test; it places two digits of a year, and an earlier stamp is in
            doubt.
        today: a date later than this is left open. Leave it out where the stamp may say when the
            next test is due.
        names: signs of test stations, each with the date it stands beside.
    """
    marks = Marks(text, _read(MarkReader(text, first, today, stamp=True, names=names)))
    retests, doubts = marks.retests, marks.doubts
    if not retests:
        doubts = (*doubts, "no month and year of a test could be read")
    elif len(retests) > 1:
        doubts = (*doubts, "more than one test is stamped: which one is meant is not told")
    one = retests[0] if len(retests) == 1 else None
    strange = {MarkKind.UNREAD, MarkKind.NAME}
    unread = tuple(t.shown for t in marks.tokens if t.kind in strange)
    return Stamp(text, one, doubts, marks.condemned, unread)


def _read(reader: MarkReader) -> tuple[Token, ...]:
    _scan(reader)
    tell_pressures(reader)
    tell_dates(reader)
    tell_places(reader)
    tell_joined(reader)
    tell_suffixes(reader)
    tell_letters(reader)
    _doubt_plus(reader)
    return reader.tokens()


@cache
def _compiled() -> tuple[Sought, tuple[tuple[Sought, Take], ...]]:
    """The shapes, made ready when the first line is read."""
    return STAMPS.shape("condemned"), tuple((STAMPS.shape(name), take) for name, take in SHAPES)


def _scan(reader: MarkReader) -> None:
    """Find the marks: what condemns first, wherever it stands, then what lies between."""
    place = 0
    for found in _compiled()[0].finditer(reader.text):
        if _is_named(reader, found):
            continue
        _between(reader, place, found.start())
        condemned(reader, *found.span())
        place = found.end()
    _between(reader, place, len(reader.text))


def _is_named(reader: MarkReader, found: re.Match[str]) -> bool:
    """Whether a word that condemns is part of a known name; CONDEMNED and a row of X never are."""
    word = found[0].rstrip(".")
    span = found.start(), found.start() + len(word)
    return not as_the_law_says(word) and is_part_of(span, reader.named, word)


def _between(reader: MarkReader, place: int, end: int) -> None:
    while place < end:
        if reader.text[place] in " ,;":
            place += 1
        else:
            own = _own_serial(reader, place, end) or _own_name(reader, place, end)
            place = own or _step(reader, place, end)
    reader.join(end)


def _own_serial(reader: MarkReader, place: int, end: int) -> int:
    """Where the known serial ends, if it stands at `place` letter for letter and has not before."""
    stop = place + len(reader.serial)
    alone = stop == end or reader.text[stop : stop + 1] in " ,;"
    if not reader.serial or reader.has(MarkKind.SERIAL) or not alone:
        return 0
    first = reader.has(MarkKind.SPECIFICATION) or looks_named(reader.serial)
    if not reader.text.startswith(reader.serial, place) or not first:
        return 0
    reader.add(MarkKind.SERIAL, place, stop, reader.serial, "as known from elsewhere")
    return stop


def _own_name(reader: MarkReader, place: int, end: int) -> int:
    """Where a known name of letters ends that holds what could be another mark by its shape."""
    for start, stop in reader.named if reader.names else ():
        text = reader.text[start:stop]
        lettered = re.search("[0-9]", text) is None
        if start == place and stop <= end and lettered and any(map(could_be, text.split())):
            reader.add(MarkKind.NAME, start, stop, text, "as known from elsewhere")
            return stop
    return 0


def _step(reader: MarkReader, place: int, end: int) -> int:
    """Read one mark at `place`; where the next one begins."""
    for pattern, take in _compiled()[1]:
        found = pattern.match(reader.text, place, end)
        if found and take(reader, found):
            return found.end()
    stop = place
    while stop < end and reader.text[stop] not in " ,;":
        stop += 1
    if reader.text[place] in "-/·•" and stop == place + 1:
        reader.join(stop)
    else:
        reader.add(MarkKind.UNREAD, place, stop, note=NO_SHAPE)
    return stop


def _doubt_plus(reader: MarkReader) -> None:
    """A plus is for steel alone: 49 CFR 173.302a(b) has 3A, 3AA, 3AX, 3AAX and 3T (grade C)."""
    names = [re.sub(f"^{STAMPS.text('authority')}-", "", s).removesuffix("M") for s in reader.specs]
    if not names or _WITH_PLUS.intersection(names):
        return
    light = next((s for s in reader.specs if re.fullmatch(_ALUMINIUM, s)), None)
    said = f"{light} is aluminium, which never has a plus" if light else ""
    said = said or f"{reader.specs[0]} is not among the steels that may have a plus"
    for piece in reader.of(MarkKind.PLUS):
        piece.doubted(f"in doubt: {said} (49 CFR 173.302a(b))")
