"""Reading the stamp marks of a shoulder: US, Canadian and ISO lines, and retest stamps.

Nothing is guessed. A mark that fits no known shape is named as unread; a date that can be read two
ways keeps both readings. Where a mark is told by its place alone (a serial number), its note says
so.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from dataclasses import replace

from tankbook.records.marked import MarkKind, MarkMeaning, Marks, MarkTable, Retest, Token
from tankbook.records.markplace import NO_SHAPE, tell_by_place
from tankbook.records.markreader import Reader
from tankbook.records.markshapes import SHAPES
from tankbook.records.stampdate import MarkedDate
from tankbook.units import PartialDate

__all__ = [
    "MarkKind",
    "MarkMeaning",
    "MarkTable",
    "MarkedDate",
    "Marks",
    "Retest",
    "Token",
    "read_marks",
]

_LIKE_DATE = re.compile(r"[0-9?]{1,4}[-/][0-9?OIL]{1,4}[+*]?", re.IGNORECASE)
_ALUMINIUM = re.compile(r".*-3ALM?|.*ISO 7866|EN 1975")
"""Specifications of aluminium cylinders: 49 CFR 178.46 for 3AL; the others from memory."""


def read_marks(
    line: str,
    meanings: Iterable[MarkMeaning] = (),
    *,
    first: PartialDate | None = None,
    today: dt.date | None = None,
) -> Marks:
    """Read a line of stamp marks. Never raises.

    Args:
        line: the marks as read off the shoulder, top to bottom, or one retest stamp.
        meanings: what each kind of mark means; the first row of a kind counts.
        first: month of the first test where the line does not say it; it places the two digits of
            a retest's year in a century.
        today: a date of a test later than this is left open.
    """
    reader = Reader(line, first, today)
    place = 0
    while place < len(line):
        if line[place].isspace() or line[place] in ",;":
            place += 1
        else:
            place = _step(reader, place)
    tell_by_place(reader)
    _doubt_plus(reader)
    table: dict[MarkKind, MarkMeaning] = {}
    for row in meanings:
        table.setdefault(row.kind, row)
    return Marks(line, tuple(replace(t, meaning=table.get(t.kind)) for t in reader.tokens))


def _step(reader: Reader, place: int) -> int:
    """Read one mark at `place`; where the next one begins."""
    for pattern, take in SHAPES:
        found = pattern.match(reader.line, place)
        if found and take(reader, found):
            return found.end()
    word = re.compile(r"[^\s,;]+").match(reader.line, place)
    end = word.end() if word else place + 1
    if _LIKE_DATE.fullmatch(reader.line, place, end):
        reader.missed_date = True
    reader.add(MarkKind.UNREAD, place, end, note=NO_SHAPE)
    return end


def _doubt_plus(reader: Reader) -> None:
    """A plus is for steel alone: 49 CFR 173.302a(b) has 3A, 3AA, 3AX, 3AAX and 3T (grade C)."""
    named = next((s for s in reader.specs if _ALUMINIUM.fullmatch(s)), None)
    for i, token in enumerate(reader.tokens):
        if named and token.kind is MarkKind.PLUS:
            note = f"in doubt: {named} is aluminium, which never has a plus (49 CFR 173.302a(b))"
            reader.tokens[i] = replace(token, note=note, doubt=True)
