"""The shapes of stamped dates, and which of them is the first test, a retest or the end of life.

- Requalification stamp: 49 CFR 180.213(d), month, RIN, year, then a suffix of paragraph (f). The
  RIN stands in a square between month and year and is read clockwise from upper left.
- Month and year of the maker's first test: 178.35(f)(1)(iv). A blank between them leaves it open.
- FIN before year and month, the end of a composite's life: from memory.

A number with a point, such as 12.2, is a measure whose unit is not marked, and never a date.
"""

from __future__ import annotations

import re

from msgspec.structs import replace

from tankbook.records.marked import BARE, SUFFIXES, MarkKind, Retest
from tankbook.records.markevidence import (
    STAMPS,
    Evidence,
    could_be,
    hides_first_test,
    is_north_american,
)
from tankbook.records.markreader import MarkReader, Piece, Shape, unread
from tankbook.records.stampdate import Century, MarkedDate, month_and_year
from tankbook.units import PartialDate
from tankbook.units.lexicon import lines_written

_ANY = Century(None, (), retest=True)
"""Nothing is known yet that places a year."""
_DATES = (MarkKind.FIRST_TEST, MarkKind.DATE, MarkKind.RETEST)
_FIRST_OPEN = "what stands before it is in doubt: the first test, or a later one"


# --- shapes --------------------------------------------------------------------------------------


def _retest(reader: MarkReader, found: re.Match[str]) -> bool:
    """`09 A123 26`, `09-A123-26`, `09 A 123 26`; a month that is none keeps it unread."""
    if 1 <= int(found["month"]) <= 12:
        return reader.take(found, MarkKind.RETEST, later=True)
    note = f"shaped as a retest, but there is no month {found['month']}"
    return reader.take(found, MarkKind.UNREAD, note=note)


def _joined(reader: MarkReader, found: re.Match[str]) -> bool:
    """`09A12326`: a serial number has this shape too, unless the line has another one."""
    if not 1 <= int(found["month"]) <= 12:
        return False
    note = "a serial number, or a retest whose parts are joined"
    return reader.take(found, MarkKind.UNREAD, note=note, later=True)


def _signed(reader: MarkReader, found: re.Match[str]) -> bool:
    """`09A21`, `10^00`: month, inspector's mark, year, as makers stamp the first test."""
    if not 1 <= int(found["month"]) <= 12 or not found["mark"].isprintable():
        return False
    if could_be(found[0]) >= {Evidence.PRESSURE} and _in_place_of_pressure(reader):
        note = "a pressure with a letter in it that looks like a digit, or a date"
        return reader.take(found, MarkKind.UNREAD, note=note)
    behind = reader.text[found.end() :]
    retest = STAMPS.shape("retest behind").match(behind)
    if " " in found[0] and not retest and STAMPS.shape("year behind").match(behind):
        note = "a date with a letter, or a retest whose RIN is misread"
        return reader.take(found, MarkKind.UNREAD, note=note)
    return reader.take(found, MarkKind.DATE, later=True)


def _named(reader: MarkReader, found: re.Match[str]) -> bool:
    """`MAY 2019`, `FEB15`: a month by its name."""
    return reader.take(found, MarkKind.DATE, later=True)


def _in_place_of_pressure(reader: MarkReader) -> bool:
    """Right behind a specification."""
    return reader.last is not None and reader.last.kind is MarkKind.SPECIFICATION


def _plain(reader: MarkReader, found: re.Match[str]) -> bool:
    """`5-95`, `06/21`, `2021/06`: a month and a year with nothing but a joint between."""
    one, two = found["one"], found["two"]
    if found["joint"] == "." and max(len(one), len(two)) < 4 and not reader.stamp:
        note = "a measure without its unit: a number with a point is not taken for a date"
        return reader.take(found, MarkKind.UNREAD, note=note)
    if month_and_year(one, two, _ANY, month_first=False) is None:
        return False
    return reader.take(found, MarkKind.DATE, later=True)


def _apart(reader: MarkReader, found: re.Match[str]) -> bool:
    """`3 67`, `3 - 67`: two numbers that may be a month and a year."""
    if not 1 <= int(found["month"]) <= 12:
        return False
    note = "a month and a year with a blank between them, or two other numbers"
    return reader.take(found, MarkKind.UNREAD, note=note)


def _year_first(reader: MarkReader, found: re.Match[str]) -> bool:
    """`2024 05`: a year and a month, in a stamp or on a line of EN, ISO or another standard."""
    values = [p.value for p in reader.of(MarkKind.SPECIFICATION)]
    names = [n for v in values if isinstance(v, tuple) for n in v]
    abroad = bool(names) and not any(is_north_american(n) or n in BARE for n in names)
    return (reader.stamp or abroad) and reader.take(found, MarkKind.DATE, later=True)


def _life_end(reader: MarkReader, found: re.Match[str]) -> bool:
    """`FIN 2030/05`, `EOL 05/2030`: the year and month in which its life ends."""
    if found["one"] and month_and_year(found["one"], found["two"], _ANY, month_first=False):
        return reader.take(found, MarkKind.LIFE_END, later=True)
    note = f"{found[0].split()[0]} stands before the year and month in which its life ends"
    return reader.take(found, MarkKind.UNREAD, note=note)


def _suffix(reader: MarkReader, found: re.Match[str]) -> bool:
    """What may stand after a year; whether a date stands before it, the whole line tells."""
    return reader.take(found, SUFFIXES[found[0]], found[0])


SHAPES: tuple[Shape, ...] = (
    ("life end", _life_end),
    ("fin", _life_end),
    ("looked at", unread("the date of a look or a cleaning, and no test")),
    (
        "not of a test",
        unread("a date with a word that makes it no date of a test; what it says is not known"),
    ),
    ("retest", _retest),
    ("retest joined", _joined),
    # the square of 180.213(d), in one line, or by its two or three rows
    ("square in a line", _retest),
    ("square in rows", _retest),
    ("station first", _retest),
    ("retest misread", unread("shaped as a retest: a RIN has one letter and three digits")),
    ("year first", _year_first),
    # a test station's mark with its number; a RIN has three digits
    ("signed by station", _signed),
    ("signed", _signed),
    (
        "number joined to a date",
        unread("a number joined to a date: perhaps that of the test station"),
    ),
    # the sign between joints or in brackets, and a date in brackets or with a point behind it
    ("sign apart", _signed),
    ("date by name", _named),
    ("plain date", _plain),
    ("months apart", _apart),
    ("months apart year first", _apart),
    ("suffix behind", _suffix),
)


# --- told by the whole line ----------------------------------------------------------------------


def tell_dates(reader: MarkReader) -> None:
    """Tell the first test from later ones, and place every year in its century."""
    missed = False
    for piece in reader.pieces:
        if piece.kind is MarkKind.UNREAD:
            missed = missed or hides_first_test(piece.text)
        elif piece.kind is MarkKind.DATE and piece.found is not None:
            missed = _tell(reader, piece, missed) or missed
        elif piece.kind is MarkKind.LIFE_END:
            when = _read(reader, piece, retest=True)
            piece.value, piece.note, piece.found = when, when.note, None
    for piece in reader.of(MarkKind.RETEST):
        _place_retest(reader, piece)


def _tell(reader: MarkReader, piece: Piece, missed: bool) -> bool:
    """What a date with no RIN is; True if what follows it can no longer be called the first."""
    signed = _sign(piece) is not None
    station = STAMPS.shape("station mark").fullmatch(_sign(piece) or "")
    by_station = station and reader.has(MarkKind.FIRST_TEST)
    if reader.stamp or by_station:
        piece.kind = MarkKind.RETEST
    elif signed and reader.has(MarkKind.FIRST_TEST):
        piece.unread("a serial number, or a second date with a sign; a retest has a RIN")
    elif signed and _may_be_serial(reader, piece):
        piece.unread("a serial number, or the first test: another date stands behind it")
        return True
    elif signed:
        piece.kind = _kind_of_first(reader, missed)
    else:
        piece.kind = _kind_of_plain(reader, piece, missed)
    return piece.kind in {MarkKind.FIRST_TEST, MarkKind.DATE} and _place_first(reader, piece)


def _sign(piece: Piece) -> str | None:
    """The inspector's sign between month and year."""
    return piece.found.groupdict().get("mark") if piece.found else None


def _may_be_serial(reader: MarkReader, piece: Piece) -> bool:
    """A joined date in the classic place of the serial, with another date behind it."""
    before = reader.beside(piece, -1)
    if before is None or before.kind is not MarkKind.SERVICE_PRESSURE or " " in piece.text:
        return False
    later = reader.pieces[reader.pieces.index(piece) + 1 :]
    another = any(p.kind is MarkKind.UNREAD and re.search("[0-9]{4}", p.text) for p in later)
    dates = [p for p in later if p.kind is MarkKind.DATE]
    return any(map(_sign, dates)) or (bool(dates) and not another)


def _kind_of_first(reader: MarkReader, missed: bool) -> MarkKind:
    """The first test, if nothing that was read or missed before it may be that."""
    told = any(p.found is None for p in reader.of(MarkKind.DATE))
    return MarkKind.DATE if missed or told else MarkKind.FIRST_TEST


def _kind_of_plain(reader: MarkReader, piece: Piece, missed: bool) -> MarkKind:
    """On a line with a specification the first date is the maker's; alone, only a known one tells.

    Once a date was missed, the next one may be the first or a later one.
    """
    first = next(reader.of(MarkKind.FIRST_TEST), None)
    if first is not None:
        settled = isinstance(first.value, MarkedDate) and first.value.date is not None
        return MarkKind.RETEST if settled or not missed else MarkKind.DATE
    if not any(p.start < piece.start for p in reader.of(MarkKind.SPECIFICATION)):
        return MarkKind.RETEST if reader.first is not None else MarkKind.DATE
    after_retest = any(p.start < piece.start for p in reader.of(MarkKind.RETEST))
    return _kind_of_first(reader, missed or after_retest)


def _place_first(reader: MarkReader, piece: Piece) -> bool:
    """Place a first test, or a date that may be one; True if it is not to be called the first."""
    first, sign = piece.kind is MarkKind.FIRST_TEST, _sign(piece)
    retest = not first and sign is None
    placed = _read(reader, piece, retest=retest)
    when = reader.by_now(placed, retest=retest)
    doubt = not first and (bool(reader.specs) or sign is not None)
    notes = (f"inspector's sign {sign} between month and year" if sign else "", when.note)
    piece.value, piece.note, piece.found = when, "; ".join(filter(None, notes)), None
    if doubt:
        piece.doubted(_FIRST_OPEN)
    if sign in set("OQIL") and could_be(piece.text) >= {Evidence.PRESSURE}:
        piece.doubted("the sign may be a digit: a pressure")
    if sign in {"*", "#"}:
        piece.kind = MarkKind.DATE
        piece.doubted("the sign may stand for a RIN that was not read: the first test, or a retest")
    return piece.kind is MarkKind.DATE or (when is not placed and not retest)


def _read(reader: MarkReader, piece: Piece, *, retest: bool, rin: bool = False) -> MarkedDate:
    """The month and year of a date."""
    parts = piece.found.groupdict() if piece.found else {}
    century = Century(_made(reader), reader.specs, retest, rin)
    if "named" in parts:
        months = enumerate(lines_written("stamps", "named month"), 1)
        month = next(n for n, names in months if re.fullmatch(names, parts["named"]))
        when = century.date(str(month), parts["year"])
    elif "month" in parts:
        when = century.date(parts["month"], parts["year"])
    else:
        # US makers stamp month and year in this order, 178.35(f)(1)(iv); test houses do not all
        order = piece.kind is MarkKind.FIRST_TEST and reader.american
        when = month_and_year(parts["one"], parts["two"], century, month_first=order)
    return when or MarkedDate(None, None, (), "no month and year")


def _made(reader: MarkReader) -> PartialDate | None:
    """The month of the first test: as read on the line, else as known from elsewhere."""
    values = (p.value for p in reader.of(MarkKind.FIRST_TEST))
    read = next((v.date for v in values if isinstance(v, MarkedDate)), None)
    return read or reader.first


def _place_retest(reader: MarkReader, piece: Piece) -> None:
    """Read a requalification stamp: month, year, and the RIN or the sign between them."""
    parts = piece.found.groupdict() if piece.found else {}
    stamped = "rin" in parts or "top" in parts
    when = reader.by_now(_read(reader, piece, retest=True, rin=stamped), retest=True)
    rin = re.sub("[ -]", "", parts["rin"]) if "rin" in parts else None
    could_be = _square(parts) if "top" in parts else ()
    piece.kind, piece.note, piece.found = MarkKind.RETEST, when.note, None
    sign = parts.get("mark")
    unsure = sign in {"*", "#"}
    piece.value = Retest(when.month, when.year, rin, (), when, None if unsure else sign, could_be)
    if unsure:
        piece.doubted("the sign may stand for a RIN that was not read")
    if len(could_be) > 1:
        named = " or ".join(could_be)
        piece.doubted(f"RIN {named}: the square is read clockwise, its lower row from the right")
    _after_first(reader, piece, when)


def _square(parts: dict[str, str]) -> tuple[str, ...]:
    """The readings of a RIN typed as two pairs: by the drawing of 180.213(d), or in a line."""
    return tuple(dict.fromkeys((parts["top"] + parts["low"][::-1], parts["top"] + parts["low"])))


def _after_first(reader: MarkReader, piece: Piece, when: MarkedDate) -> None:
    """A retest before the first test: one of the two is misread."""
    made, date = _made(reader), when.date
    if made and date and (date.year, date.month) < (made.year, made.month):
        note = f"before the first test of {made.year}-{made.month:02}: one of the two is misread"
        piece.doubted(note)
        for first in reader.of(MarkKind.FIRST_TEST):
            first.doubted("a retest is dated before it")


def tell_joined(reader: MarkReader) -> None:
    """A stamp whose parts are joined is a retest where another serial number is read."""
    if reader.stamp or reader.first or reader.has(MarkKind.SERIAL):
        for piece in [p for p in reader.of(MarkKind.UNREAD) if p.found is not None]:
            _place_retest(reader, piece)


def tell_suffixes(reader: MarkReader) -> None:
    """A suffix belongs to the date before it, and a plus right behind a US pressure to the first
    test; anywhere else its letter means nothing here."""
    owner: Piece | None = None
    for piece in reader.pieces:
        if piece.kind not in SUFFIXES.values():
            owner = piece
        elif owner is None or not _takes(reader, owner, piece):
            piece.unread("no date before it that it could belong to")
            owner = None
        elif isinstance(owner.value, Retest):
            owner.value = replace(owner.value, suffixes=(*owner.value.suffixes, piece.text))
        elif owner.kind is MarkKind.SERVICE_PRESSURE:
            piece.note = "behind the pressure: it belongs to the first test"


def _takes(reader: MarkReader, owner: Piece, suffix: Piece) -> bool:
    by_place = owner.kind is MarkKind.SERVICE_PRESSURE and owner.text[0].isdigit()
    plus = suffix.kind is MarkKind.PLUS and by_place and reader.american
    return plus or owner.kind in _DATES
