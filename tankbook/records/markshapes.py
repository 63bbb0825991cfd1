"""The shapes of stamp marks, in the order they are tried, and what each one is taken for.

- US original stamp: 49 CFR 178.35(f)(1), one-line example `DOT-3A1800-1234-XY AB 5-95`.
- Condemned: 49 CFR 180.205(i)(2), a row of X over the specification and pressure, or CONDEMNED.
- Maker `M1004`, inspector `IA02`: a handbook (read, secondary).
- Thread code 25P, SP12: Divers Alert Network (read, secondary); the other codes from memory.
- ISO 13769 fields PW, PH, mass, volume, wall: from memory.
- Names of alloys: from memory.
- TC marks in bar, DOT, ICC and CTC marks in psi: from memory.

Dates have a module of their own. A function here takes a match and adds its marks, or returns
False to leave it to the next shape.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from tankbook.records.markdates import SHAPES as DATES
from tankbook.records.marked import MarkKind
from tankbook.records.markplace import why_no_serial
from tankbook.records.markreader import AUTHORITY, END, Reader, Take, pattern
from tankbook.units import GaugePressure, Length, Mass, Volume

_NAMES = (
    "4B240ET|3AAXM|3AAX|3AAM|3ALM|3AXM|3BNM|3HTM|4BAM|4BWM|3AA|3AL|3AX|3BN|3HT|3AM|3BM|3EM|3TM"
    "|4BA|4BW|4BM|4EM|39M|3A|3B|3E|3T|4B|4E|39|3"
)
"""Specification names, the longest first, so that each is read whole."""
_UNIT = r"(?:\s?(?P<unit>BAR|PSIG?|MPA))?"


# --- specifications ------------------------------------------------------------------------------


def _specification(reader: Reader, found: re.Match[str]) -> bool:
    """`DOT-3A1800-1234-XY`: specification, pressure, serial, maker; all but the first optional."""
    name = found["name"].upper()
    if found["pressure"] and not _plausible(GaugePressure.of(float(found["pressure"]), "psi")):
        return False
    authorities = re.split(r"\s?/\s?", found["by"].upper())
    value = tuple(f"{a}-{name}" for a in authorities)
    reader.add(MarkKind.SPECIFICATION, found.start(), found.end("name"), value)
    if found["pressure"]:
        unit = "bar" if name.endswith("M") or authorities == ["TC"] else "psi"
        _service_pressure(reader, found, unit)
    _serial_and_maker(reader, found)
    return True


def _serial_and_maker(reader: Reader, found: re.Match[str]) -> None:
    """What hyphens join to the pressure, in the order of 178.35(f)(1)."""
    for group, kind in (("serial", MarkKind.SERIAL), ("maker", MarkKind.MAKER)):
        if found[group]:
            why = why_no_serial(found[group], None) if kind is MarkKind.SERIAL else ""
            note = why or "by its place, 49 CFR 178.35(f)(1)"
            value = None if why else found[group]
            reader.add(MarkKind.UNREAD if why else kind, *found.span(group), value, note)


def _permit(reader: Reader, found: re.Match[str]) -> bool:
    """`DOT-SP12079-3442`, `E 9791`, `TC-SU5134-310`: a special permit, then a pressure."""
    by = (found["by"] or "DOT").upper()
    value = (f"{by}-{found['permit'].upper()} {found['number']}",)
    reader.add(MarkKind.SPECIFICATION, found.start(), found.end("number"), value)
    if found["pressure"]:
        _service_pressure(reader, found, "bar" if by == "TC" else "psi")
    return True


def _service_pressure(reader: Reader, found: re.Match[str], unit: str) -> None:
    unit = _unit(found["unit"]) or unit
    start, end = found.start("pressure"), max(found.end("pressure"), found.end("unit"))
    value = GaugePressure.of(float(found["pressure"]), unit)
    reader.add(MarkKind.SERVICE_PRESSURE, start, end, value)


def _unit(text: str | None) -> str | None:
    return {"BAR": "bar", "PSI": "psi", "PSIG": "psi", "MPA": "MPa"}[text.upper()] if text else None


def _lone_sp(reader: Reader, found: re.Match[str]) -> bool:
    note = "a special permit, or a service pressure: the mark alone does not say"
    reader.add(MarkKind.UNREAD, *found.span(), note=note)
    return True


def _standard(reader: Reader, found: re.Match[str]) -> bool:
    """`UN ISO 7866`, `EN 1964-1`, `BS 5045/3`: a design standard, with the UN mark before it."""
    body = " ".join(found["body"].upper().split())
    un = "UN " if found["un"] else ""
    reader.add(MarkKind.SPECIFICATION, *found.span(), (f"{un}{body} {found['number'].upper()}",))
    return True


def _un(reader: Reader, found: re.Match[str]) -> bool:
    reader.add(MarkKind.SPECIFICATION, *found.span(), ("UN",))
    return True


# --- pressures and measures ----------------------------------------------------------------------


def _named_pressure(kind: MarkKind) -> Callable[[Reader, re.Match[str]], bool]:
    def take(reader: Reader, found: re.Match[str]) -> bool:
        unit = _unit(found["unit"])
        if unit is None and found["name"].upper() in {"TP", "WP"}:
            unit = "psi" if reader.american else "bar" if reader.specs else None
        elif unit is None:
            unit = "bar"  # PH, PT and PW are ISO 13769 marks, in bar
        if unit is None:
            note = "a pressure without unit, and no specification before it tells which"
            reader.add(MarkKind.UNREAD, *found.span(), note=note)
        else:
            value = GaugePressure.of(_number(found["pressure"]), unit)
            reader.add(kind, *found.span(), value)
        return True

    return take


def _bare_pressure(reader: Reader, found: re.Match[str]) -> bool:
    """A number straight after a specification is its pressure: 49 CFR 178.35(f)(1), SP at once."""
    last = reader.tokens[-1] if reader.tokens else None
    if last is None or last.kind is not MarkKind.SPECIFICATION or not isinstance(last.value, tuple):
        return False
    spec = last.value[-1]
    if not re.match(AUTHORITY, spec) and not found["unit"]:
        return False
    bar = spec.endswith("M") or spec.startswith("TC")
    unit = _unit(found["unit"]) or ("bar" if bar else "psi")
    value = GaugePressure.of(float(found["pressure"]), unit)
    if not _plausible(value):
        return False
    end = max(found.end("pressure"), found.end("unit"))
    note = "by its place after the specification"
    reader.add(MarkKind.SERVICE_PRESSURE, found.start(), end, value, note)
    _serial_and_maker(reader, found)
    return True


def _plausible(value: GaugePressure) -> bool:
    """A service pressure lies within 150 psi (178.37(a)) and 10000 psi (own bound)."""
    return 150 <= value.psi <= 10000


def _unnamed_pressure(reader: Reader, found: re.Match[str]) -> bool:
    note = "a pressure, but service or test is not marked"
    reader.add(MarkKind.UNREAD, *found.span(), note=note)
    return True


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _mass(reader: Reader, found: re.Match[str]) -> bool:
    unit = "kg" if found["unit"].upper().startswith("K") else "lb"
    reader.add(MarkKind.MASS, *found.span(), Mass.of(_number(found["number"]), unit))
    return True


def _volume(reader: Reader, found: re.Match[str]) -> bool:
    reader.add(MarkKind.WATER_VOLUME, *found.span(), Volume.of(_number(found["number"]), "L"))
    return True


def _wall(reader: Reader, found: re.Match[str]) -> bool:
    reader.add(MarkKind.WALL, *found.span(), Length.of(_number(found["number"]), "mm"))
    return True


def _ree(reader: Reader, found: re.Match[str]) -> bool:
    reader.add(MarkKind.EXPANSION_REJECT, *found.span(), _number(found["number"]))
    return True


def _condemned(reader: Reader, found: re.Match[str]) -> bool:
    """CONDEMNED, or a row of X; in a word with other marks too, for it is struck over them."""
    whole = re.fullmatch(r"CONDEMNED|X[X -]*", found[0], re.IGNORECASE) is not None
    note = "" if whole else "among other marks: read it again; it stays condemned till then"
    reader.add(MarkKind.CONDEMNED, *found.span(), None, note, doubt=not whole)
    return True


def _bare_alloy(reader: Reader, found: re.Match[str]) -> bool:
    note = "an alloy, or a number that nothing names"
    reader.add(MarkKind.UNREAD, *found.span(), note=note)
    return True


def _as_text(kind: MarkKind) -> Callable[[Reader, re.Match[str]], bool]:
    def take(reader: Reader, found: re.Match[str]) -> bool:
        reader.add(kind, *found.span(), found[0].upper().replace("Π", "π"))
        return True

    return take


def _thread(reader: Reader, found: re.Match[str]) -> bool:
    """A thread code or size; metric sizes come out as `M25x2`."""
    text = re.sub(r"\s?[X×*/]\s?", "x", found[0].upper()) if found["metric"] else found[0].upper()
    reader.add(MarkKind.THREAD, *found.span(), text.replace(",", "."))
    return True


_GLUED = r"(?P<pressure>[0-9]{2,4})(?P<unit>BAR|PSIG?|MPA)?"
_CHAIN = "(?:-(?P<serial>[A-Z0-9]+)(?:-(?P<maker>[A-Z0-9]+))?)?"
_DECIMAL = r"[0-9]{1,4}(?:[.,][0-9]{1,3})?"

_ALUMINIUM = "5283|6061|6082|6351|7032|7060"
"""Aluminium alloys of cylinders (memory); other numbers are left unread."""

SHAPES: tuple[tuple[re.Pattern[str], Take], ...] = (
    (pattern(rf"X(?:[ -]?X){{2,}}{END}|[^\s,;]*(?:CONDEMNED|XXX)[^\s,;]*"), _condemned),
    (
        pattern(
            rf"(?:AA|AL)[- ]?(?:{_ALUMINIUM})[A-Z]?(?:[- ]?T[0-9]{{1,2}})?{END}"
            rf"|(?:{_ALUMINIUM})[A-Z]?[- ]?T[0-9]{{1,2}}{END}"
            rf"|(?:30|34|35|37)?CR-?MO[0-9]?{END}"
        ),
        _as_text(MarkKind.ALLOY),
    ),
    (pattern(rf"(?:{_ALUMINIUM}|AA[0-9]{{4}}[A-Z]?){END}"), _bare_alloy),
    (
        pattern(
            rf"(?P<by>{AUTHORITY}(?:\s?/\s?{AUTHORITY})*)[- ]?(?P<name>{_NAMES})"
            rf"(?:-?{_GLUED})?{_CHAIN}{END}"
        ),
        _specification,
    ),
    (
        pattern(
            r"(?P<by>DOT|TC|CTC)[- ]?(?P<permit>SP|SU|E)[- ]?(?P<number>[0-9]{3,5})"
            rf"(?:-{_GLUED})?{END}"
        ),
        _permit,
    ),
    (pattern(rf"(?P<by>)(?P<permit>E)[- ]?(?P<number>[0-9]{{4,5}})(?:-{_GLUED})?{END}"), _permit),
    (pattern(rf"SP[- ]?[0-9]{{3,5}}{END}"), _lone_sp),
    (pattern(rf"(?P<pressure>[0-9]{{2,5}}){_UNIT}{_CHAIN}{END}"), _bare_pressure),
    (
        pattern(
            r"(?P<un>UN\s+)?(?P<body>BS\s+EN|EN\s+ISO|ISO|EN|BS|AS|DIN)[- ]?"
            rf"(?P<number>[0-9]{{3,5}}(?:[-/][0-9]{{1,2}})?)(?::[0-9]{{4}}|/[A-Z/]+)?{END}"
        ),
        _standard,
    ),
    (pattern(rf"UN{END}"), _un),
    (
        pattern(rf"(?P<name>PH|PT|TP)\s?[:=]?\s?(?P<pressure>{_DECIMAL}){_UNIT}{END}"),
        _named_pressure(MarkKind.TEST_PRESSURE),
    ),
    (
        pattern(rf"(?P<name>PW|WP)\s?[:=]?\s?(?P<pressure>{_DECIMAL}){_UNIT}{END}"),
        _named_pressure(MarkKind.SERVICE_PRESSURE),
    ),
    # before dates with a point: 12.2 L is no month
    (pattern(rf"(?:V\s?[:=]?\s?)?(?P<number>{_DECIMAL})\s?(?:L|LTR|LITRES?){END}"), _volume),
    (pattern(rf"(?P<number>{_DECIMAL})\s?(?P<unit>KGS?|LBS?){END}"), _mass),
    (pattern(rf"(?P<number>{_DECIMAL})\s?MM{END}"), _wall),
    *DATES,
    (pattern(rf"M[0-9]{{4}}{END}"), _as_text(MarkKind.MAKER)),
    (pattern(rf"(?:IA|ID)-?[0-9]{{2,3}}{END}"), _as_text(MarkKind.INSPECTOR)),
    (pattern(rf"REE\s?[:=]?\s?(?P<number>{_DECIMAL})(?:\s?(?:CC|ML))?{END}"), _ree),
    (
        pattern(
            rf"(?:17E|18P|25E|25P|30P|SP12|(?P<metric>M[0-9]{{2}}\s?[X×*/]\s?[0-9](?:[.,][0-9]{{1,2}})?)"
            r'|3/4"?(?:[- ]14)?[- ]NPS[MI]?|7/8"?[- ]14[- ]UNF|1/2"?[- ](?:14[- ])?NGT'
            rf'|3/4"?[- ](?:14[- ])?NGT){END}'
        ),
        _thread,
    ),
    (pattern(rf"(?:π|PI)(?:\s?[0-9]{{4}})?{END}"), _as_text(MarkKind.CONFORMITY)),
    (pattern(rf"UW{END}"), _as_text(MarkKind.UNDERWATER)),
    (pattern(rf"[0-9]{{2,4}}\s?(?:BAR|PSIG?|MPA){END}"), _unnamed_pressure),
)
