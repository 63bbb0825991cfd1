"""Reading the stamp marks of a shoulder: US, Canadian and ISO lines, and retest stamps.

Nothing is guessed. A mark that fits no known shape is named as unread; a date that can be read two
ways keeps both readings. Where a mark is told by its place alone (a serial number), its note says
so.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

from tankbook.records.marked import MarkKind, MarkMeaning, Marks, MarkTable, Retest, Token
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

NO_SHAPE = "fits no known mark"


def read_marks(
    line: str, meanings: Iterable[MarkMeaning] = (), *, first: PartialDate | None = None
) -> Marks:
    """Read a line of stamp marks. Never raises.

    Args:
        line: the marks as read off the shoulder, top to bottom, or one retest stamp.
        meanings: what each kind of mark means; the first row of a kind counts.
        first: month of the first test where the line does not say it; it places the two digits of
            a retest's year in a century.
    """
    reader = Reader(line, first)
    place = 0
    while place < len(line):
        if line[place].isspace() or line[place] in ",;":
            place += 1
        else:
            place = _step(reader, place)
    _told_by_place(reader)
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
    reader.add(MarkKind.UNREAD, place, end, note=NO_SHAPE)
    return end


# --- what its place tells ------------------------------------------------------------------------


def _told_by_place(reader: Reader) -> None:
    """Name the serial, and the maker's and inspector's marks, where their place tells them."""
    _serial_by_place(reader)
    _letters_by_place(reader)


def _serial_by_place(reader: Reader) -> None:
    if reader.has(MarkKind.SERIAL):
        return
    kinds = [t.kind for t in reader.tokens]
    if MarkKind.SPECIFICATION not in kinds:
        return
    after = kinds.index(MarkKind.SPECIFICATION)
    could_be = [i for i, t in enumerate(reader.tokens) if i > after and _like_serial(t)]
    at_once = [
        i for i in could_be if kinds[i - 1] in {MarkKind.SPECIFICATION, MarkKind.SERVICE_PRESSURE}
    ]
    chosen = at_once if len(could_be) > 1 else could_be
    if len(chosen) == 1:
        token = reader.tokens[chosen[0]]
        note = "by its place after the specification"
        reader.tokens[chosen[0]] = replace(token, kind=MarkKind.SERIAL, value=token.text, note=note)


def _like_serial(token: Token) -> bool:
    """A word with a digit that fits no known shape."""
    shape = re.fullmatch(r"(?=.*[0-9])[A-Za-z0-9][A-Za-z0-9/-]{1,19}", token.text)
    return token.kind is MarkKind.UNREAD and token.note == NO_SHAPE and shape is not None


def _letters_by_place(reader: Reader) -> None:
    """Maker beside the serial, inspector before the date, as in 49 CFR 178.35(f)(1)(iv)."""
    kinds = [t.kind for t in reader.tokens]
    if not reader.american:
        _iso_letters(reader)
        return
    if MarkKind.SERIAL not in kinds or MarkKind.FIRST_TEST not in kinds:
        return
    begin, end = kinds.index(MarkKind.SERIAL), kinds.index(MarkKind.FIRST_TEST)
    letters = [
        i
        for i in range(begin + 1, end)
        if kinds[i] is MarkKind.UNREAD and re.fullmatch(r"[A-Za-z]{1,4}", reader.tokens[i].text)
    ]
    wanted = [k for k in (MarkKind.MAKER, MarkKind.INSPECTOR) if k not in kinds]
    if len(letters) == len(wanted):
        for i, kind in zip(letters, wanted, strict=True):
            token = reader.tokens[i]
            note = "by its place between serial and date, 49 CFR 178.35(f)(1)(iv)"
            reader.tokens[i] = replace(token, kind=kind, value=token.text, note=note)
    else:
        for i in letters:
            reader.tokens[i] = replace(reader.tokens[i], note="a maker's or an inspector's mark")


def _iso_letters(reader: Reader) -> None:
    """Letters on an ISO line may be a country, a body or a maker; ISO 13769 was not readable."""
    for i, token in enumerate(reader.tokens):
        if token.kind is MarkKind.UNREAD and re.fullmatch(r"[A-Za-z]{1,4}", token.text):
            reader.tokens[i] = replace(token, note="a country's, a body's or a maker's mark")
