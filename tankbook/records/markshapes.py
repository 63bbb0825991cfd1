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

from tankbook.records.markdates import SHAPES as DATES
from tankbook.records.marked import MarkKind
from tankbook.records.markpressure import CHAIN, CLOSED, PRESSURE, add_service, service_of, unit_of
from tankbook.records.markpressure import SHAPES as PRESSURES
from tankbook.records.markreader import AUTHORITY, END, UNITS, Reader, Shape, Take, later, unread
from tankbook.units import Length, Mass, Volume

_ALUMINIUM = "5283|6061|6082|6351|7032|7060"
"""Aluminium alloys of cylinders (memory); other numbers are left unread."""
_NAMES = (
    "8ALM?|8WC?M?|8M?(?![0-9A-Z])|4B240ET|3AAXM?|3AAM?|3ALM?|3AXM?|3ANM|3ASM|3FCM|3BNM?|3HTM?|3AM?|3BM?|3EM?|3TM?"
    f"|4BAM?|4BWM?|4BM?|4EM?|39M?|3 (?:AAM?|ALM?|HT)(?= |$)(?! (?:{_ALUMINIUM}))"
    "|3(?! (?:A|AX|B|E|T)(?:[ 0-9-]|$))"
)
"""Specification names, the longest first, so that each is read whole.

A blank inside is read where nothing else is possible; `3 A` may be specification 3 and a mark A.
3ANM, 3ASM and 3FCM of Canada are from memory.
"""
_BARE_PSI, _BARE_BAR = "3AAX|3AA|3AL|3AX|3HT|3A", "3AAXM|3AAM|3ALM|3AXM|3AM"
_GASES = (
    "1001|1002|1005|1006|1011|1013|1016|1017|1046|1049|1056|1065|1066|1070|1072|1075|1080|1954|1956"
    "|1971|1978|2036|3156"
)
"""Numbers of gases in 49 CFR 172.101 (memory); what each speaks against, the words say."""
_ODD_PRESSURES = (2015, 2216, 3442)
"""Usual service pressures in psi that do not end in 0."""
NUMBERED = (
    r"(?:ALLOY|HEAT|HT(?! ?[:=#]? ?[0-9]{3}(?![0-9]))|LOT|BATCH|CAST|SCHMELZE|[HP]/N|PART)"
    r"(?: ?(?:NO|NR)\.?)? ?[:=#]? ?"
    r"(?:[0-9]{3,6}(?:[A-Z]|-[0-9]{1,3})?|[0-9]{2}[A-Z]|[A-Z][0-9]{2,5})"
)
"""A number by the word before it: of the metal, the melt or the batch (memory)."""
_DECIMAL = r"[0-9]{1,4}(?:[.,][0-9]{1,3})?"
_CUBIC_FEET = r"CU[. -]{0,2}FT\.?|C\.?F\.?|FT3"
_TENTHS = "[0-9]{1,2}[.,][0-9]{1,2}"

CONDEMNED = (
    r"(?<![^ ,;])[^ ,;]*XXX[^ ,;]*|(?<![^ ,;/-])X(?:[ ./-]?X){2,}[^ ,;]*"
    rf"|(?<![^ ,;]){AUTHORITY}[- ]?XX[^ ,;]*"
    r"|(?<![^ ,;])[^ ,;]*(?:CON[- ]?DEM|C0NDEM|ONDEMN|CODEMN|CONEMN|CONDMN)[^ ,;]*"
    r"|(?<![^ ,;])[^ ,;]*(?:CONDEN|CONDME|CNDEM|CONDAMN)[^ ,;]*"
    r"|(?<![^ ,;])C[ .-]O[ .-]N[ .-]D[ .-]E[ .-]M(?:[ .-][NED])*"
    r"|(?<![^ ,;])(?:COND|REJ)\.?(?![^ ,;])"
    r"|(?<![^ ,;])(?:REJECT|SCRAP|UNSAFE|UNSERVICEABLE|FAILED|VOID|DESTROY|CANCEL)[^ ,;]*"
    r"|(?<![^ ,;])(?:WITHDRAWN|(?:DO NOT|NO) (?:RE)?(?:FILL|USE))[^ ,;]*"
    r"|(?<![^ ,;])(?:CROSSED[ -]OUT|OUT OF SERVICE|HORS SERVICE|FUORI USO|FUERA DE SERVICIO)[^ ,;]*"
    r"|(?<![^ ,;])(?:VERSCHROTT|AUSGESONDERT|AUSGEMUSTERT|GESPERRT|UNBRAUCHBAR|KASSERA)[^ ,;]*"
    r"|(?<![^ ,;])(?:REBUT|R[EÉ]FORM[EÉ]|DESECHAD|RECHAZAD|SCARTAT|AFGEKEURD)[^ ,;]*"
    r"|\+{3,}|\*{3,}"
)
"""What takes a cylinder out of use for good, wherever it stands in the line; the words of other
languages from memory.

None of it asks where a mark ends, so that nothing written behind it can take it away.
"""
_AS_THE_LAW_SAYS = rf"CONDEMNED|C O N D E M N E D|(?:{AUTHORITY}[- ]?)?X(?:[ -]?X){{2,}}"


def as_the_law_says(text: str) -> bool:
    """Whether a mark is CONDEMNED, or a row of X, and nothing else."""
    return re.fullmatch(_AS_THE_LAW_SAYS, text) is not None


def condemned(reader: Reader, start: int, end: int) -> None:
    """CONDEMNED, or a row of X; in a word with other marks too, for it is struck over them.

    A misspelt CONDEMNED, and REJECTED or another word of that kind, count till they are read again.
    """
    whole = as_the_law_says(reader.text[start:end])
    note = "" if whole else "read it again: it stays condemned till then"
    reader.add(MarkKind.CONDEMNED, start, end, note=note, doubt=not whole)


# --- specifications ------------------------------------------------------------------------------


def _specification(reader: Reader, found: re.Match[str]) -> bool:
    """`DOT-3A1800-1234-XY`: specification, pressure, serial, maker; all but the first optional."""
    name = found["name"].replace(" ", "")
    if name in {"3", "39"} and found.start("pressure") == found.end("name"):
        return False  # 3900 is neither 3 at 900 nor 39 at 00
    value = tuple(f"{a}-{name}" for a in re.split(" ?/ ?", found["by"]))
    units = {unit_of(v) for v in value}
    unit = "psi" if len(units) == 2 and len(found["pressure"] or "") == 4 else min(units)
    note = "a blank inside the name" if " " in found["name"] else ""
    return _with_pressure(reader, found, value, unit, note)


def _two_specifications(reader: Reader, found: re.Match[str]) -> bool:
    """`TC/DOT 3ALM/3AL`: two authorities, and what each calls it; or `DOT-3AL/3AA`, of one."""
    by, names = (re.split(" ?/ ?", found[part]) for part in ("by", "name"))
    value = tuple(f"{a}-{name}" for a, name in zip(by * (2 // len(by)), names, strict=True))
    return _with_pressure(reader, found, value, "", "")


def _bare_specification(reader: Reader, found: re.Match[str]) -> bool:
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


def _permit(reader: Reader, found: re.Match[str]) -> bool:
    """`DOT-SP12079-3442`, `E 9791-3500`, `TC-SU5134-310`: a special permit, then a pressure."""
    if not found["by"] and reader.has(MarkKind.SPECIFICATION):
        return False
    name = f"{found['by'] or 'DOT'}-{found['permit']} {found['number']}"
    return _with_pressure(reader, found, (name,), unit_of(name), "")


def _with_pressure(
    reader: Reader, found: re.Match[str], value: tuple[str, ...], unit: str, note: str
) -> bool:
    """The specification, and what is joined to it."""
    if found["pressure"] and service_of(found, unit) is None:
        return False
    end = found.end("number" if "number" in found.groupdict() else "name")
    reader.add(MarkKind.SPECIFICATION, found.start(), end, value, note, doubt=bool(note))
    if found["pressure"]:
        add_service(reader, found, unit, "")
    return True


def _standard(reader: Reader, found: re.Match[str]) -> bool:
    """`UN ISO 7866`, `EN 1964-1`, `BS 5045/3`: a design standard, with the UN mark before it."""
    un = "UN " if found["un"] else ""
    number = re.sub(" ?PART ?", "/", found["number"])
    return reader.take(found, MarkKind.SPECIFICATION, (f"{un}{found['body']} {number}",))


def _other_specification(reader: Reader, found: re.Match[str]) -> bool:
    """The UN packaging mark, however its ring is written; `HOAL 2` and other marks of the UK."""
    name = re.sub("(?<=[A-Z])(?=[1-4])", " ", found[0].strip("()"))
    return reader.take(found, MarkKind.SPECIFICATION, (name,))


def _thousands(reader: Reader, found: re.Match[str]) -> bool:
    """`3,000`, and `3 000` behind a specification: a pressure, or a measure to three places."""
    if " " in found[0] and (reader.last is None or reader.last.kind is not MarkKind.SPECIFICATION):
        return False
    note = "a pressure with its thousands apart, or a measure"
    return reader.take(found, MarkKind.UNREAD, note=note)


def _joins(reader: Reader, found: re.Match[str]) -> bool:
    """A slash between two specifications."""
    reader.join(found.end())
    return True


# --- measures and the rest -----------------------------------------------------------------------


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _mass(reader: Reader, found: re.Match[str]) -> bool:
    """An empty mass, up to 150 kg (own bound): above it LB stands for psi, or it is misread."""
    value = Mass.of(_number(found["number"]), "kg" if found["unit"].startswith("K") else "lb")
    return value.kg <= 150 and reader.take(found, MarkKind.MASS, value)


def _volume(reader: Reader, found: re.Match[str]) -> bool:
    """A water volume, up to the 150 L of ISO 13769: above it, it is an amount of gas."""
    value = Volume.of(_number(found["number"]), "L")
    return value.litres <= 150 and reader.take(found, MarkKind.WATER_VOLUME, value)


def _cubic_inches(reader: Reader, found: re.Match[str]) -> bool:
    """A water volume in cubic inches, of 2.54 cm each way."""
    value = Volume.of(round(_number(found["number"]) * 2.54**3 / 1000, 2), "L")
    return value.litres <= 150 and reader.take(found, MarkKind.WATER_VOLUME, value)


def _wall(reader: Reader, found: re.Match[str]) -> bool:
    return reader.take(found, MarkKind.WALL, Length.of(_number(found["number"]), "mm"))


def _ree(reader: Reader, found: re.Match[str]) -> bool:
    return reader.take(found, MarkKind.EXPANSION_REJECT, _number(found["number"]))


def _as_text(kind: MarkKind) -> Take:
    return lambda reader, found: reader.take(found, kind, found[0].replace("Π", "π"))


def _size(reader: Reader, found: re.Match[str]) -> bool:
    return reader.take(found, MarkKind.SIZE, found[0].replace(" ", ""))


def _thread(reader: Reader, found: re.Match[str]) -> bool:
    """A thread code or size; metric sizes come out as `M25x2`."""
    text = re.sub("-2[AB]$", "", found[0].strip("()"))  # the class of its fit
    if found["metric"]:
        text = re.sub("(?<=[0-9]{2}) ?[X*/-] ?(?=[0-9])", "x", text, count=1).replace(" ", "")
    return reader.take(found, MarkKind.THREAD, text.replace(",", "."))


SHAPES: tuple[Shape, ...] = (
    (
        rf"(?:AA|AL)[- ]?(?:{_ALUMINIUM})[A-Z]?(?:[- ]?T[0-9]{{1,2}})?{END}"
        rf"|(?:{_ALUMINIUM})[A-Z]?[- ]?T[0-9]{{1,2}}{END}"
        rf"|(?:30|34|35|37)?CR-?MO[0-9]?{END}|(?:(?:AISI|SAE)[- ]?)?4130X{END}",
        _as_text(MarkKind.ALLOY),
    ),
    (
        rf"(?:{_ALUMINIUM}|AA[0-9]{{4}}[A-Z]?){END}",
        unread("an alloy, or a number that nothing names"),
    ),
    (
        rf"(?P<by>{AUTHORITY}(?: ?/ ?{AUTHORITY})*)[- ]?(?P<name>{_NAMES})"
        rf"(?:-?{PRESSURE}{CHAIN})?{CLOSED}",
        _specification,
    ),
    (
        rf"(?P<by>{AUTHORITY}(?: ?/ ?{AUTHORITY})?)[- ]?(?P<name>(?:{_NAMES}) ?/ ?(?:{_NAMES}))"
        rf"(?P<pressure>)(?P<unit>){CLOSED}",
        _two_specifications,
    ),
    (
        rf"(?P<by>DOT|TC|CTC)[- ]?(?P<permit>SP|SU|E)[- ]?(?P<number>[0-9]{{3,5}})"
        rf"(?:-{PRESSURE}{CHAIN})?{CLOSED}",
        _permit,
    ),
    (
        rf"(?P<by>)(?P<permit>E|SP)[- ]?(?P<number>[0-9]{{4,5}})"
        rf"(?:-{PRESSURE}{CHAIN}|(?= [0-9]{{4}}{CLOSED})){CLOSED}",
        _permit,
    ),
    (
        rf"(?:E|SP)[- ]?[0-9]{{3,5}}{END}",
        unread("a special permit, or a service pressure: the mark alone does not say"),
    ),
    (
        rf"(?P<name>{_BARE_PSI})[- ]?(?P<pressure>[0-9]{{4}})(?: ?(?P<unit>PSIG?))?{CHAIN}{CLOSED}",
        _bare_specification,
    ),
    (
        rf"(?P<name>{_BARE_BAR})[- ]?(?P<pressure>[0-9]{{3}})(?: ?(?P<unit>BAR))?{CHAIN}{CLOSED}",
        _bare_specification,
    ),
    (rf"/(?= ?{AUTHORITY}[- /]?[0-9A-Z])|/(?=(?:PH|PT|PE|TP|PW|WP|PS|CP)[0-9])", _joins),
    (
        r"(?:\(?(?P<un>UN)\)? )?(?P<body>BS EN ISO|BS EN|EN ISO|ISO|EN|BS|AS|DIN)[- ]?"
        r"(?P<number>[0-9]{3,5}(?:(?:[-/]|(?<=2030)\.| ?PART ?)[0-9]{1,2})?)"
        rf"(?:[:-](?:19|20)[0-9]{{2}}|/[A-Z/]+)?{END}",
        _standard,
    ),
    (rf"UN ?(?:{_GASES}){END}", _as_text(MarkKind.UN_NUMBER)),
    (
        rf"UN{END}|\(UN\)|(?:HO(?:TP|TU|AL|T(?! ?-?DIP)|S)|LASC)(?: ?[1-4])?{END}",
        _other_specification,
    ),
    *PRESSURES,
    # before dates: 12.2 L is no month
    (
        rf"(?:1[0-2]|0?[1-9]) L [0-9]{{2}}(?! ?(?:KGS?|LBS?|MM|BAR[GS]?|PSIG?|MPA){END})"
        "(?=$|[ ,;+*])(?!,[0-9])",
        unread("a volume and a number, or a date with the inspector's L"),
    ),
    (
        rf"(?:(?:V|W\.?C\.?) ?[:=]? ?)?(?P<number>{_DECIMAL}) ?(?:L|LTRS?|LIT(?:RE|ER)S?){END}",
        _volume,
    ),
    (rf"W\.?C\.? ?{_DECIMAL}(?: ?(?:KGS?|LBS?))?{END}", unread("a water capacity by weight")),
    (rf"(?:(?:TW|TARE|T|W) ?[:=]? ?)?(?P<number>{_DECIMAL}) ?(?P<unit>KGS?|LBS?){END}", _mass),
    (rf"(?:S ?)?(?P<number>{_DECIMAL}) ?MM{END}", _wall),
    (rf"[1-9][.,' ][0-9]{{3}}(?: ?(?:BAR[GS]?|PSIG?))?{END}", _thousands),
    (rf"[TWM] ?(?P<number>{_TENTHS}){END}", later(MarkKind.MASS)),
    (rf"V ?(?P<number>{_TENTHS}){END}", later(MarkKind.WATER_VOLUME)),
    (rf"S ?{_TENTHS}{END}", unread("a wall thickness or a size: no unit is marked")),
    (
        rf"(?:TW|WT|EW|TARE|WEIGHT|(?:MIN\.? ?)?WALL) ?[:=]? ?{_TENTHS}{END}"
        rf"|A ?[0-9]{{1,2}}[.,][0-9]{END}|(?:MIN\.? ?)?WALL ?[:=]? ?0?[.,][0-9]{{2,3}}{END}",
        unread("a weight or a thickness: no unit is marked"),
    ),
    (
        rf"{NUMBERED}"
        rf"(?<!6351){END}",
        unread("a number of its metal or its batch, by the word before it"),
    ),
    (
        r"\(?(?:17E|18P|18T|25E|25P|30P|SP12"
        "|(?P<metric>M ?[0-9]{2} ?[X*/-] ?[0-9](?:[.,][0-9]{1,2})?(?:[- ]?[4-8][GH])?"
        "|M(?:18|25|30))"
        '|3/4"?(?:[- ]14)?[- ]?NPS[MI]?(?:-2[AB])?|7/8"?(?:[- ]14)?[- ]UNF(?:-2[AB])?'
        '|1/2"?[- ](?:14[- ])?NGT'
        '|3/4"?(?:[- ]16)?[- ]UNF|1[- ]1/8"?(?:[- ]12)?[- ]UNF|G ?3/4|RP?3/4|W ?28[.,]8 ?X ?1/14'
        rf'|3/4"?[- ](?:14[- ])?NGT|0?[.,]750"?(?:[- ]?14)?[- ]?NPS[MI]?(?:-2[AB])?)\)?{END}',
        _thread,
    ),
    (
        rf"{_DECIMAL} ?(?:{_CUBIC_FEET}){END}"
        rf"|(?:{_CUBIC_FEET}) ?[:=]? ?[0-9]{{2,3}}[.,][0-9]{END}(?! (?:{UNITS}){END})",
        _size,
    ),
    (
        rf"(?:W\.?C\.? ?[:=]? ?)?(?P<number>{_DECIMAL}) ?(?:CU[. -]{{0,2}}IN\.?|IN3){END}",
        _cubic_inches,
    ),
    *DATES,
    (rf"M[0-9]{{4}}{END}", _as_text(MarkKind.MAKER)),
    (rf"(?:IA|ID)-?[0-9]{{2,3}}{END}", _as_text(MarkKind.INSPECTOR)),
    (rf"REE ?[:=]? ?(?P<number>{_DECIMAL})(?: ?(?:CC|ML))?{END}", _ree),
    (rf"(?:[SC]0?|(?:AL|HP|LP) ?)(?:[1-9][0-9]|1[0-4][0-9]){END}", _size),
    (rf"(?:Π|PI|CE)(?: ?0[0-9]{{3}}|[0-9]{{4}})?{END}", _as_text(MarkKind.CONFORMITY)),
    (rf"UW{END}", _as_text(MarkKind.UNDERWATER)),
    (
        rf"[0-9]{{1,5}}(?:[.,] ?[0-9]{{1,3}})? ?(?:BAR[GS]?|PSIG?|[MK]PA){END}",
        unread("a pressure, but service or test is not marked"),
    ),
)
"""Every shape: the first that fits at a place, and takes what it finds there, counts."""
