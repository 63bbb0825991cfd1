"""What only its place tells of a mark: the serial number, the maker, who tested, the country.

The classic place of a US serial is right after the service pressure, 49 CFR 178.35(f)(1). Nothing
is told by place while the pressure or a date is open, or while another number could be meant; and
what could be a pressure, a date or a specification by its shape is never told by its place.
"""

from __future__ import annotations

import re

from msgspec.structs import replace

from tankbook.records.marked import MarkKind, Retest
from tankbook.records.markevidence import (
    STAMPS,
    Evidence,
    could_be,
    hides_first_test,
    is_north_american,
)
from tankbook.records.markreader import NO_SHAPE, MarkReader, Piece
from tankbook.units import GaugePressure, Mass, Volume

_NO_SERIAL = (
    (
        "(?=.*[0-9])(?=.*[OIL])[0-9OIL]{3,}",
        "a number with letters in it that look like digits: read it again",
    ),
    ("[A-Z]{1,3}-?[0-9]{2,3}", "a model, a size or a short serial number"),
    ("T[0-9]", "a temper, or a short serial number"),
    ("[0-9]{1,3}[A-Z]{1,4}", "a measure in a unit not known, or a short serial number"),
    ("[0-9]{1,3}", "a short number that nothing names"),
    ("(?:19|20)[0-9]{2}", "a year, or a number that nothing names"),
    ("[A-Z]+", "letters that nothing names"),
)
"""Words that stand where a serial could, and may be something else (own list)."""
_SHARES = (1, 1.1, 1.5, 5 / 3)
"""What other pressures of a cylinder are to its service pressure: 10 % more, and test pressures."""
_ASKED = (Evidence.PRESSURE, Evidence.DATE, Evidence.SPECIFICATION)
_SERIAL = "[A-Z0-9][A-Z0-9/-]{1,19}"


def tell_places(reader: MarkReader) -> None:
    """Name what its place tells, once pressures and dates are told."""
    _measures(reader)
    _countries(reader)
    _stations(reader)
    _names(reader)
    _sizes(reader)
    _serial(reader)


# --- serial numbers ------------------------------------------------------------------------------


def why_no_serial(text: str, service: GaugePressure | None, *, joined: bool = False) -> str:
    """Why `text` is not called a serial number; an empty text if it may be.

    Args:
        text: the word, in capitals.
        service: the service pressure; a number near it, near 10 % more, or near a test pressure of
            3/2 or 5/3 of it, in psi or bar, may be a pressure.
        joined: hyphens join it to the pressure, as in the one-line example of 178.35(f)(1)(iv); a
            number that is no round pressure is then the serial number.
    """
    for shape, why in _NO_SERIAL:
        if re.fullmatch(shape, text):
            return why
    if service is not None and text.isdecimal():
        figures = [f * share for f in (service.psi, service.bar) for share in _SHARES]
        if any(abs(int(text) - figure) <= 0.01 * int(text) for figure in figures):
            return "a pressure without its name, or a serial number"
    hidden = could_be(text)
    if joined and re.fullmatch("[1-9][0-9]{3}", text) and int(text) % 50:
        hidden = frozenset()
    named = [f"a {kind}" for kind in _ASKED if kind in hidden]
    return " or ".join([*named, "a serial number"]) if named else ""


def _serial(reader: MarkReader) -> None:
    if reader.has(MarkKind.SERIAL) or not reader.has(MarkKind.SPECIFICATION):
        return
    services = (p.value for p in reader.of(MarkKind.SERVICE_PRESSURE))
    service = next((v for v in services if isinstance(v, GaugePressure)), None)
    first = next(reader.of(MarkKind.SPECIFICATION))
    numbers = [p for p in reader.pieces if p.start > first.start and _numbered(p)]
    for piece in numbers:
        piece.note = why_no_serial(piece.text, service) or NO_SHAPE
    chosen = [p for p in numbers if p.note == NO_SHAPE and _like_serial(reader, p)]
    if len(numbers) > 1 or any("a serial number" in p.note for p in reader.of(MarkKind.UNREAD)):
        chosen = [p for p in chosen if _classic(reader, p) and not p.text.isdecimal()]
    if len(chosen) != 1:
        return
    (piece,) = chosen
    pressure_open = service is None and _pressure_open(reader, piece)
    if pressure_open or _date_open(reader):
        what = "the service pressure" if pressure_open else "a date"
        piece.note = f"perhaps the serial number: {what} is open, so its place does not tell"
        return
    piece.kind, piece.value = MarkKind.SERIAL, piece.text
    piece.note = "by its place after the specification"
    if reader.american and re.fullmatch(".*[0-9]-[A-Z]{1,4}", piece.text):
        piece.doubted("the maker's symbol may be joined to it")


def _numbered(piece: Piece) -> bool:
    """A word with a digit that fits no known shape."""
    unread = piece.kind is MarkKind.UNREAD and piece.note == NO_SHAPE
    return unread and re.search("[0-9]", piece.text) is not None


def _like_serial(reader: MarkReader, piece: Piece) -> bool:
    if not re.fullmatch(_SERIAL, piece.text):
        return False
    long = len(piece.text) >= 5 and not piece.text.isdecimal()
    return long or _classic(reader, piece) or _beside_maker(reader, piece)


def _classic(reader: MarkReader, piece: Piece) -> bool:
    """On a US or Canadian line, right after the specification, its pressure and perhaps a size."""
    before = reader.beside(piece, -1)
    if before is not None and before.kind is MarkKind.SIZE:
        before = reader.beside(before, -1)
    if before is None or before.kind is not MarkKind.SERVICE_PRESSURE or not reader.american:
        return False
    ahead = reader.beside(before, -1)
    placed = {MarkKind.SPECIFICATION, MarkKind.SERVICE_PRESSURE}
    return ahead is not None and ahead.kind in placed and before.text[0].isdecimal()


def _beside_maker(reader: MarkReader, piece: Piece) -> bool:
    """A long number beside a maker's name; on other lines than US ones also behind short marks."""
    named = any(s.kind in {MarkKind.NAME, MarkKind.MAKER} for s in _sides(reader, piece))
    between = reader.pieces[: reader.pieces.index(piece)]
    while between and between[0].kind is not MarkKind.SPECIFICATION:
        del between[0]
    marks = {MarkKind.SPECIFICATION, MarkKind.COUNTRY, MarkKind.NAME, MarkKind.MAKER}
    letters = all(p.kind in marks or p.text.isalpha() for p in between)
    return len(piece.text) >= 5 and (named or (letters and not reader.american))


def _pressure_open(reader: MarkReader, piece: Piece) -> bool:
    """No service pressure was read: a number may be it, or an unread mark hides it."""
    hidden = {kind for p in reader.of(MarkKind.UNREAD) for kind in could_be(p.text)}
    tested = reader.has(MarkKind.TEST_PRESSURE)
    return Evidence.PRESSURE in hidden or (piece.text.isdecimal() and not tested)


def _date_open(reader: MarkReader) -> bool:
    """Something that may be a date was not read, or a date is open."""
    missed = any(hides_first_test(p.text) for p in reader.of(MarkKind.UNREAD))
    told = reader.of(MarkKind.FIRST_TEST, MarkKind.DATE)
    return missed or any(p.doubt or getattr(p.value, "month", None) is None for p in told)


# --- names and other letters ---------------------------------------------------------------------


def _names(reader: MarkReader) -> None:
    """Join words that are letters alone to a maker's name: at least one of them is long."""
    run: list[Piece] = []
    for piece in [*reader.pieces, None]:
        if piece is not None and piece.kind is MarkKind.UNREAD and _word(piece):
            run.append(piece)
        else:
            _name(reader, run)
            run = []


def _word(piece: Piece) -> str:
    """`L` for a long word, `M` for three letters, `S` for fewer, `E` for a firm's ending."""
    text = piece.text.strip(".")
    if STAMPS.shape("firm ending").fullmatch(text):
        return "E"
    letters = re.fullmatch(r"[^\W\d_]+(?:[.&'-][^\W\d_]+)*", text)
    if not letters or STAMPS.shape("no name").fullmatch(text) or could_be(text):
        return ""
    return "SSM"[len(text) - 1] if len(text) < 4 else "L"


def _name(reader: MarkReader, run: list[Piece]) -> None:
    """Every stretch of a run of words that makes a name: a long word, or a firm's ending."""
    words = "".join(map(_word, run))
    for found in re.finditer("(?:M?L|[MS]E)(?:[MS]?L|[MS]?E){0,5}", words):
        first, *rest = run[found.start() : found.end()]
        first.end = rest[-1].end if rest else first.end
        first.text = reader.text[first.start : first.end]
        first.kind, first.value = MarkKind.NAME, first.text
        first.note = "by its shape: letters alone, and no mark that is known"
        for piece in rest:
            reader.pieces.remove(piece)


def _countries(reader: MarkReader) -> None:
    """A country's sign right after a design standard (its place is from memory)."""
    for before, piece in zip(reader.pieces, reader.pieces[1:], strict=False):
        standard = before.kind is MarkKind.SPECIFICATION and not is_north_american(before.text)
        if standard and STAMPS.shape("country").fullmatch(piece.text):
            piece.kind, piece.value = MarkKind.COUNTRY, piece.text
            piece.note = "by its place after the standard"


def _stations(reader: MarkReader) -> None:
    """Marks of test stations behind retest dates without a RIN, where the last date has one.

    A mark between two dates could belong to either; that the last one stands behind its date tells.
    """
    dated = [p for p in reader.of(MarkKind.RETEST) if isinstance(p.value, Retest)]
    plain = [p for p in dated if isinstance(p.value, Retest) and not p.value.rin]
    if not plain or _station(reader, plain[-1]) is None:
        return
    for piece in plain:
        mark = _station(reader, piece)
        if mark is not None and isinstance(piece.value, Retest) and not piece.value.rin_could_be:
            mark.kind, mark.value = MarkKind.STATION, mark.text
            mark.note = "by its place after the date of a test"
            piece.value = replace(piece.value, station=mark.text)


def _station(reader: MarkReader, dated: Piece) -> Piece | None:
    mark = reader.beside(dated, 1)
    if mark is None and reader.stamp:
        mark = reader.beside(dated, -1)
    if mark is None or mark.kind is not MarkKind.UNREAD or mark.note != NO_SHAPE:
        return None
    fits = STAMPS.shape("station sign").fullmatch(mark.text) and not could_be(mark.text)
    return mark if fits and not STAMPS.shape("no name").fullmatch(mark.text) else None


def tell_letters(reader: MarkReader) -> None:
    """Maker beside the serial, inspector before the date, as in 49 CFR 178.35(f)(1)(iv)."""
    if not reader.american:
        _note(reader.pieces, "a country's, a body's or a maker's mark")
        return
    serial, first = (next(reader.of(k), None) for k in (MarkKind.SERIAL, MarkKind.FIRST_TEST))
    if serial is None or first is None:
        return
    between = [p for p in reader.pieces if serial.start < p.start < first.start and _short(p)]
    wanted = [] if reader.has(MarkKind.MAKER, MarkKind.NAME) else [MarkKind.MAKER]
    wanted += [] if reader.has(MarkKind.INSPECTOR) else [MarkKind.INSPECTOR]
    if len(between) != len(wanted):
        _note(between, "a maker's or an inspector's mark")
        return
    for piece, kind in zip(between, wanted, strict=True):
        piece.kind, piece.value = kind, piece.text
        piece.note = "by its place between serial and date, 49 CFR 178.35(f)(1)(iv)"


def _short(piece: Piece) -> bool:
    letters = re.fullmatch("[A-Z]{1,4}", piece.text) is not None
    return piece.kind is MarkKind.UNREAD and letters and not could_be(piece.text)


def _note(pieces: list[Piece], note: str) -> None:
    for piece in pieces:
        if _short(piece) and piece.note == NO_SHAPE:
            piece.note = note


# --- measures and sizes --------------------------------------------------------------------------


def _measures(reader: MarkReader) -> None:
    """A mass or a volume without its unit is in kg or litres on a line of ISO or EN (memory)."""
    for piece in [p for p in reader.of(MarkKind.MASS, MarkKind.WATER_VOLUME) if p.found]:
        number = float(piece.found["number"].replace(",", ".")) if piece.found else 0.0
        mass, piece.found = piece.kind is MarkKind.MASS, None
        if reader.specs and not reader.american:
            piece.value = Mass.of(number, "kg") if mass else Volume.of(number, "L")
            piece.doubted(f"no unit is marked: in {piece.value.unit}, as such lines have it")
        else:
            piece.unread("a mass or a volume without its unit")


def _sizes(reader: MarkReader) -> None:
    """A size where the serial stands may be a short serial; beside a number, part of a stamp."""
    serial = reader.has(MarkKind.SERIAL) or any(map(_numbered, reader.pieces))
    for piece in list(reader.of(MarkKind.SIZE)):
        if any(re.fullmatch("[0-9]{1,2}", s.text) for s in _sides(reader, piece)):
            piece.unread("a size, or part of a retest stamp: read what stands beside it again")
        elif _classic(reader, piece) and not serial:
            piece.doubted("a size of the trade, or a short serial number")


def _sides(reader: MarkReader, piece: Piece) -> list[Piece]:
    """The pieces before and after this one."""
    return [s for s in (reader.beside(piece, -1), reader.beside(piece, 1)) if s is not None]
