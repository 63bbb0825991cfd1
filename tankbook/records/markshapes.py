"""The shapes of stamp marks, in the order they are tried, and what each one is taken for.

- US original stamp: 49 CFR 178.35(f)(1), one-line example `DOT-3A1800-1234-XY AB 5-95`.
- Condemned: 49 CFR 180.205(i)(2), a row of X over the specification and pressure, or CONDEMNED.
- Maker `M1004`, inspector `IA02`: a handbook (read, secondary).
- Thread code 25P, SP12: Divers Alert Network (read, secondary); the other codes from memory.
- ISO 13769 fields PW, PH, mass, volume, wall: from memory.
- 4130X, a steel of DOT-3AA: 49 CFR 178.37, table (memory).
- PS, PE, CP, WP, TP, names of alloys, size words of the trade, marks of the UK: from memory.
- TC marks in bar, DOT, ICC and CTC marks in psi: from memory.

A function here takes a match and adds its marks, or returns False to leave it to the next shape.
What only the whole line tells (a unit, a date, a serial number) is left to the modules for it.
"""

from __future__ import annotations

import re

from tankbook.records.kinds import MOST_MASS, MOST_WATER
from tankbook.records.markdates import SHAPES as DATES
from tankbook.records.marked import MarkKind
from tankbook.records.markevidence import STAMPS
from tankbook.records.markpressure import SHAPES as PRESSURES
from tankbook.records.markpressure import add_service, service_of, unit_of
from tankbook.records.markreader import MarkReader, Shape, Take, later, unread
from tankbook.units import Length, Mass, Volume

_ODD_PRESSURES = (2015, 2216, 3442)
"""Usual service pressures in psi that do not end in 0."""


def as_the_law_says(text: str) -> bool:
    """Whether a mark is CONDEMNED, or a row of X, and nothing else."""
    return STAMPS.shape("as the law says").fullmatch(text) is not None


def condemned(reader: MarkReader, start: int, end: int) -> None:
    """CONDEMNED, or a row of X; in a word with other marks too, for it is struck over them.

    A misspelt CONDEMNED, and REJECTED or another word of that kind, count till they are read again.
    """
    whole = as_the_law_says(reader.text[start:end])
    note = "" if whole else "read it again: it stays condemned till then"
    reader.add(MarkKind.CONDEMNED, start, end, note=note, doubt=not whole)


# --- specifications ------------------------------------------------------------------------------


def _specification(reader: MarkReader, found: re.Match[str]) -> bool:
    """`DOT-3A1800-1234-XY`: specification, pressure, serial, maker; all but the first optional."""
    name = found["name"].replace(" ", "")
    if name in {"3", "39"} and found.start("pressure") == found.end("name"):
        return False  # 3900 is neither 3 at 900 nor 39 at 00
    value = tuple(f"{a}-{name}" for a in re.split(" ?/ ?", found["by"]))
    units = {unit_of(v) for v in value}
    unit = "psi" if len(units) == 2 and len(found["pressure"] or "") == 4 else min(units)
    note = "a blank inside the name" if " " in found["name"] else ""
    return _with_pressure(reader, found, value, unit, note)


def _two_specifications(reader: MarkReader, found: re.Match[str]) -> bool:
    """`TC/DOT 3ALM/3AL`: two authorities, and what each calls it; or `DOT-3AL/3AA`, of one."""
    by, names = (re.split(" ?/ ?", found[part]) for part in ("by", "name"))
    value = tuple(f"{a}-{name}" for a, name in zip(by * (2 // len(by)), names, strict=True))
    return _with_pressure(reader, found, value, "", "")


def _bare_specification(reader: MarkReader, found: re.Match[str]) -> bool:
    """`3AA2400`: a specification whose authority is not marked, known by its name and pressure.

    A number that is no usual pressure leaves it a serial number, and one like a year a date.
    """
    number = int(found["pressure"])
    usual = number % 10 == 0 or number in _ODD_PRESSURES or unit_of(found["name"]) == "bar"
    if reader.has(MarkKind.SPECIFICATION) or not usual:
        return False
    if 1900 <= number < 2100:
        note = "a specification and its pressure, or a date with letters between"
        return reader.take(found, MarkKind.UNREAD, note=note)
    note = "who set it (DOT, ICC, CTC, TC) is not marked"
    _with_pressure(reader, found, (found["name"],), unit_of(found["name"]), note)
    service = next(reader.of(MarkKind.SERVICE_PRESSURE), None)
    if service is not None:
        service.doubted("its specification is marked without DOT, ICC, CTC or TC")
    return True


def _permit(reader: MarkReader, found: re.Match[str]) -> bool:
    """`DOT-SP12079-3442`, `E 9791-3500`, `TC-SU5134-310`: a special permit, then a pressure."""
    if not found["by"] and reader.has(MarkKind.SPECIFICATION):
        return False
    name = f"{found['by'] or 'DOT'}-{found['permit']} {found['number']}"
    return _with_pressure(reader, found, (name,), unit_of(name), "")


def _with_pressure(
    reader: MarkReader, found: re.Match[str], value: tuple[str, ...], unit: str, note: str
) -> bool:
    """The specification, and what is joined to it."""
    if found["pressure"] and service_of(found, unit) is None:
        return False
    end = found.end("number" if "number" in found.groupdict() else "name")
    reader.add(MarkKind.SPECIFICATION, found.start(), end, value, note, doubt=bool(note))
    if found["pressure"]:
        add_service(reader, found, unit, "")
    return True


def _standard(reader: MarkReader, found: re.Match[str]) -> bool:
    """`UN ISO 7866`, `EN 1964-1`, `BS 5045/3`: a design standard, with the UN mark before it."""
    un = "UN " if found["un"] else ""
    number = re.sub(" ?PART ?", "/", found["number"])
    return reader.take(found, MarkKind.SPECIFICATION, (f"{un}{found['body']} {number}",))


def _other_specification(reader: MarkReader, found: re.Match[str]) -> bool:
    """The UN packaging mark, however its ring is written; `HOAL 2` and other marks of the UK."""
    name = re.sub("(?<=[A-Z])(?=[1-4])", " ", found[0].strip("()"))
    return reader.take(found, MarkKind.SPECIFICATION, (name,))


def _thousands(reader: MarkReader, found: re.Match[str]) -> bool:
    """`3,000`, and `3 000` behind a specification: a pressure, or a measure to three places."""
    if " " in found[0] and (reader.last is None or reader.last.kind is not MarkKind.SPECIFICATION):
        return False
    note = "a pressure with its thousands apart, or a measure"
    return reader.take(found, MarkKind.UNREAD, note=note)


def _joins(reader: MarkReader, found: re.Match[str]) -> bool:
    """A slash between two specifications."""
    reader.join(found.end())
    return True


# --- measures and the rest -----------------------------------------------------------------------


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _mass(reader: MarkReader, found: re.Match[str]) -> bool:
    """An empty mass, up to `MOST_MASS`: above it LB stands for psi, or it is misread."""
    value = Mass.of(_number(found["number"]), "kg" if found["unit"].startswith("K") else "lb")
    return value.kg <= MOST_MASS.kg and reader.take(found, MarkKind.MASS, value)


def _volume(reader: MarkReader, found: re.Match[str]) -> bool:
    """A water volume, up to the 150 L of ISO 13769: above it, it is an amount of gas."""
    value = Volume.of(_number(found["number"]), "L")
    return value.litres <= MOST_WATER.litres and reader.take(found, MarkKind.WATER_VOLUME, value)


def _cubic_inches(reader: MarkReader, found: re.Match[str]) -> bool:
    """A water volume in cubic inches, of 2.54 cm each way."""
    value = Volume.of(round(_number(found["number"]) * 2.54**3 / 1000, 2), "L")
    return value.litres <= MOST_WATER.litres and reader.take(found, MarkKind.WATER_VOLUME, value)


def _wall(reader: MarkReader, found: re.Match[str]) -> bool:
    return reader.take(found, MarkKind.WALL, Length.of(_number(found["number"]), "mm"))


def _ree(reader: MarkReader, found: re.Match[str]) -> bool:
    return reader.take(found, MarkKind.EXPANSION_REJECT, _number(found["number"]))


def _as_text(kind: MarkKind) -> Take:
    return lambda reader, found: reader.take(found, kind, found[0].replace("Π", "π"))


def _size(reader: MarkReader, found: re.Match[str]) -> bool:
    return reader.take(found, MarkKind.SIZE, found[0].replace(" ", ""))


def _thread(reader: MarkReader, found: re.Match[str]) -> bool:
    """A thread code or size; metric sizes come out as `M25x2`."""
    text = re.sub("-2[AB]$", "", found[0].strip("()"))  # the class of its fit
    if found["metric"]:
        text = re.sub("(?<=[0-9]{2}) ?[X*/-] ?(?=[0-9])", "x", text, count=1).replace(" ", "")
    return reader.take(found, MarkKind.THREAD, text.replace(",", "."))


SHAPES: tuple[Shape, ...] = (
    ("alloy", _as_text(MarkKind.ALLOY)),
    ("alloy number", unread("an alloy, or a number that nothing names")),
    ("specification", _specification),
    ("two specifications", _two_specifications),
    ("permit", _permit),
    ("bare permit", _permit),
    (
        "permit or pressure",
        unread("a special permit, or a service pressure: the mark alone does not say"),
    ),
    ("bare in psi", _bare_specification),
    ("bare in bar", _bare_specification),
    ("joins", _joins),
    ("standard", _standard),
    ("gas number", _as_text(MarkKind.UN_NUMBER)),
    ("other mark", _other_specification),
    *PRESSURES,
    # before dates: 12.2 L is no month
    ("volume or date", unread("a volume and a number, or a date with the inspector's L")),
    ("volume", _volume),
    ("capacity by weight", unread("a water capacity by weight")),
    ("mass", _mass),
    ("wall", _wall),
    ("thousands", _thousands),
    ("mass later", later(MarkKind.MASS)),
    ("volume later", later(MarkKind.WATER_VOLUME)),
    ("wall or size", unread("a wall thickness or a size: no unit is marked")),
    ("weight or thickness", unread("a weight or a thickness: no unit is marked")),
    ("batch", unread("a number of its metal or its batch, by the word before it")),
    ("thread", _thread),
    ("cubic feet size", _size),
    ("cubic inches", _cubic_inches),
    *DATES,
    ("maker", _as_text(MarkKind.MAKER)),
    ("inspector", _as_text(MarkKind.INSPECTOR)),
    ("ree", _ree),
    ("size", _size),
    ("conformity", _as_text(MarkKind.CONFORMITY)),
    ("underwater", _as_text(MarkKind.UNDERWATER)),
    ("pressure of no kind", unread("a pressure, but service or test is not marked")),
)
"""Every shape: the first that fits at a place, and takes what it finds there, counts."""
