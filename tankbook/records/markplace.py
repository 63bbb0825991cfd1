"""What only its place tells of a mark: the serial number, and the maker's and inspector's marks.

The classic place of a US serial is right after the service pressure, 49 CFR 178.35(f)(1). Nothing
is told by place while the pressure or a date is open, or while another number could be meant.
"""

from __future__ import annotations

import re
from dataclasses import replace

from tankbook.records.marked import MarkKind, Token
from tankbook.records.markreader import Reader
from tankbook.units import GaugePressure

NO_SHAPE = "fits no known mark"

_NO_SERIAL = (
    (
        r"(?=.*[0-9])(?=.*[OIL])[0-9OIL]{3,}",
        "a number with letters in it that look like digits: read it again",
    ),
    (r"[A-Z]{1,3}-?[0-9]{2,3}", "a model, a size or a short serial number"),
    (r"T[0-9]", "a temper, or a short serial number"),
    (r"[0-9]{1,3}[A-Z]{1,4}", "a measure in a unit not known, or a short serial number"),
    (r"[0-9]{1,3}", "a short number that nothing names"),
    (r"(?:19|20)[0-9]{2}", "a year, or a number that nothing names"),
    (r"[A-Z]+", "letters that nothing names"),
)
"""Words that stand where a serial could, and may be something else (own list)."""


def why_no_serial(text: str, service: GaugePressure | None) -> str:
    """Why `text` is not called a serial number by its place; an empty text if it may be.

    Args:
        text: the word.
        service: the service pressure; a number near it, or near a test pressure of 3/2 or 5/3 of
            it, in psi or bar, may be a pressure.
    """
    for shape, why in _NO_SERIAL:
        if re.fullmatch(shape, text, re.IGNORECASE | re.ASCII):
            return why
    if service is not None and text.isdecimal():
        for figure in (service.psi, service.bar):
            if any(
                abs(int(text) - figure * share) <= 0.01 * int(text) for share in (1, 1.5, 5 / 3)
            ):
                return "a pressure without its name, or a serial number"
    return ""


def tell_by_place(reader: Reader) -> None:
    """Name the serial, and the maker's and inspector's marks, where their place tells them."""
    _serial(reader)
    _letters(reader)


def _serial(reader: Reader) -> None:
    kinds = [t.kind for t in reader.tokens]
    if MarkKind.SERIAL in kinds or MarkKind.SPECIFICATION not in kinds:
        return
    service = next((t.value for t in reader.tokens if t.kind is MarkKind.SERVICE_PRESSURE), None)
    pressure = service if isinstance(service, GaugePressure) else None
    after = kinds.index(MarkKind.SPECIFICATION)
    numbers = [i for i, t in enumerate(reader.tokens) if i > after and _numbered(t)]
    for i in numbers:
        why = why_no_serial(reader.tokens[i].text, pressure)
        reader.tokens[i] = replace(reader.tokens[i], note=why or NO_SHAPE)
    chosen = [i for i in numbers if reader.tokens[i].note == NO_SHAPE and _like_serial(reader, i)]
    if len(numbers) > 1 or any("a serial number" in t.note for t in reader.tokens):
        chosen = [i for i in chosen if _classic(reader, i) and not _digits(reader, i)]
    if len(chosen) != 1:
        return
    token = reader.tokens[chosen[0]]
    if pressure is None or _date_open(reader):
        what = "the service pressure" if pressure is None else "a date"
        note = f"perhaps the serial number: {what} is open, so its place does not tell"
        reader.tokens[chosen[0]] = replace(token, note=note)
        return
    note = "by its place after the specification"
    reader.tokens[chosen[0]] = replace(token, kind=MarkKind.SERIAL, value=token.text, note=note)


def _numbered(token: Token) -> bool:
    """A word with a digit that fits no known shape."""
    unread = token.kind is MarkKind.UNREAD and token.note == NO_SHAPE
    return unread and re.search("[0-9]", token.text) is not None


def _like_serial(reader: Reader, place: int) -> bool:
    text = reader.tokens[place].text
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9/-]{1,19}", text):
        return False
    return not _digits(reader, place) or _classic(reader, place) or _after_letters(reader, place)


def _digits(reader: Reader, place: int) -> bool:
    return reader.tokens[place].text.isdecimal()


def _classic(reader: Reader, place: int) -> bool:
    """On a US or Canadian line, right after the specification and its pressure."""
    before = [t.kind for t in reader.tokens[max(place - 2, 0) : place]]
    return reader.american and before == [MarkKind.SPECIFICATION, MarkKind.SERVICE_PRESSURE]


def _after_letters(reader: Reader, place: int) -> bool:
    """On another line, a long number after the specification and letters (a body, a maker)."""
    kinds = [t.kind for t in reader.tokens]
    between = reader.tokens[kinds.index(MarkKind.SPECIFICATION) + 1 : place]
    letters = all(t.kind is MarkKind.UNREAD and t.text.isalpha() for t in between)
    return not reader.american and letters and len(reader.tokens[place].text) >= 5


def _date_open(reader: Reader) -> bool:
    """Something that may be a date was not read, or a date is open."""
    dates = {MarkKind.FIRST_TEST, MarkKind.DATE}
    return reader.missed_date or any(
        t.open_date or t.doubt for t in reader.tokens if t.kind in dates
    )


def _letters(reader: Reader) -> None:
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
