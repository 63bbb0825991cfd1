"""The shapes of stamped pressures, and which of them is the service and which the test pressure.

- The service pressure follows the specification at once: 49 CFR 178.35(f)(1).
- PW and PH of ISO 13769, in bar: from memory; so are PS, PE, PT, WP, CP and TP.
- TC marks in bar, DOT, ICC and CTC marks in psi: from memory.

A test pressure is never a working pressure. A working pressure told by its name alone is in doubt
until a larger test pressure stands beside it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

from tankbook.records.marked import BARE, MarkKind
from tankbook.records.markevidence import STAMPS, is_north_american
from tankbook.records.markplace import why_no_serial
from tankbook.records.markreader import MarkReader, Piece, Shape, unread
from tankbook.units import GaugePressure

_SERVICE, _TESTED = MarkKind.SERVICE_PRESSURE, MarkKind.TEST_PRESSURE
_TEST = ("PH", "PT", "PE", "TP", "TEST")
_LEAST_BAR = 70
"""A lower number without its unit is no pressure in bar of a cylinder to dive with (own bound); on
lines of AS it is in MPa (memory)."""
_LEAST_PSI, _MOST_PSI = 150, 10000
"""Between these a service pressure lies (49 CFR 178.37(a); the most is an own bound)."""
_MOST_NAMED_PSI = 16000
"""What a pressure by its name, which may be that of a test, is at most (own bound)."""
_BAR_NAMES = {"PH", "PW", "PT", "PE", "PS"}
"""Names of ISO 13769 and of the European standards, whose pressures are in bar (memory)."""
_LOW = "too low for a pressure in bar or psi: perhaps the mark of a test station, or one in MPa"
_OVER = 1.5
"""The test pressure over the working pressure by EN 1964-1 and ISO 9809-1 (from memory)."""
_AGREE = 0.01
"""Two marks of one pressure agree within this share (own bound, as in whole bar and 5 psi)."""


def looks_named(serial: str) -> bool:
    """Whether a serial has the shape of a pressure behind its name, as `WP2931`."""
    return STAMPS.shape("serial named").fullmatch(serial) is not None


def is_two_named(serial: str) -> bool:
    """Whether what is typed as a serial is two pressures behind their names: `PW200/PH300`."""
    return STAMPS.shape("serial two named").fullmatch(serial) is not None


def unit_of(specification: str) -> str:
    """The unit of a US or Canadian specification's pressure: bar for TC and metric names."""
    metric = specification.endswith("M") or specification.startswith("TC")
    return "bar" if metric else "psi"


def service_of(found: re.Match[str], unit: str) -> GaugePressure | None:
    """The pressure of a match, in the unit beside it or else in `unit`, if it can be one."""
    if found["pressure"].startswith("0"):
        return None
    value = GaugePressure.of(float(found["pressure"]), _unit(found) or unit)
    return value if _LEAST_PSI <= value.psi <= _MOST_PSI else None


def add_service(reader: MarkReader, found: re.Match[str], unit: str, note: str) -> None:
    """The service pressure of a match, then the serial and the maker that hyphens join to it."""
    value = service_of(found, unit)
    start, end = found.start("pressure"), max(found.end("pressure"), found.end("unit"))
    reader.add(_SERVICE, start, end, value, note)
    piece = reader.pieces[-1]
    if value is not None and value.unit == "psi" and value.psi < 1000 and not found["unit"]:
        piece.doubted("in psi by its specification, which is low: perhaps it is in bar")
    if note and re.fullmatch("(?:19|20)[0-9]{2}", found["pressure"]):
        piece.doubted("a year, or the service pressure")
    _serial_and_maker(reader, found, value)


def _serial_and_maker(
    reader: MarkReader, found: re.Match[str], service: GaugePressure | None
) -> None:
    note = "by its place, 49 CFR 178.35(f)(1)"
    if found["serial"]:
        why = why_no_serial(found["serial"], service, joined=True)
        kind = MarkKind.UNREAD if why else MarkKind.SERIAL
        value = None if why else found["serial"]
        reader.add(kind, *found.span("serial"), value, why or note)
    if found["maker"]:
        reader.add(MarkKind.MAKER, *found.span("maker"), found["maker"], note)


def _unit(found: re.Match[str]) -> str | None:
    text = found["unit"]
    return {"B": "bar", "P": "psi", "M": "MPa", "K": "kPa"}[text[0]] if text else None


# --- by place ------------------------------------------------------------------------------------


def _by_place(reader: MarkReader, found: re.Match[str]) -> bool:
    """A number straight after a specification is its pressure."""
    units = _units_before(reader)
    if len(units) == 2:  # 207 is never in psi here, nor 3000 in bar
        units = ["bar" if int(found["pressure"]) < 1000 else "psi"]
    if not units or service_of(found, units[0]) is None:
        return False
    add_service(reader, found, units[0], "by its place after the specification")
    return True


def _units_before(reader: MarkReader) -> list[str]:
    """The units of the US and Canadian specifications that stand right before this place."""
    units: dict[str, None] = {}
    for piece in reversed(reader.pieces):
        if piece.kind is MarkKind.JOINT:
            continue
        names = piece.value if piece.kind is MarkKind.SPECIFICATION else ()
        known = [n for n in names if is_north_american(n)] if isinstance(names, tuple) else []
        if not known:
            break
        units |= {unit_of(n): None for n in known}
    return list(units)


def _two_by_place(reader: MarkReader, found: re.Match[str]) -> bool:
    """`3000/207` after a US or a Canadian specification: one pressure in both units.

    After one specification alone the two must agree: else one of them may be the test pressure.
    """
    bar, psi = sorted((found["one"], found["two"]), key=int)
    units = _units_before(reader)
    values = GaugePressure.of(float(psi), "psi"), GaugePressure.of(float(bar), "bar")
    both = units and _is_pair(found, bar, psi) and (len(units) == 2 or not _differ(values))
    if not both:
        note = "two pressures: which is the service and which the test pressure is not marked"
        return reader.take(found, MarkKind.UNREAD, note=note)
    note = "by its place after the specification"
    for group, unit in (("one", "first"), ("two", "unit")):
        value = values[0] if found[group] == psi else values[1]
        end = max(found.end(group), found.end(unit))
        reader.add(_SERVICE, found.start(group), end, value, note)
    return True


def _is_pair(found: re.Match[str], bar: str, psi: str) -> bool:
    """One number that can be in bar, one in psi, and no unit beside them that says otherwise."""
    said = {found["one"]: found["first"], found["two"]: found["unit"]}
    fits = (said[psi] or "PSI")[0] == "P" and (said[bar] or "BAR")[0] == "B"
    return fits and 100 <= int(bar) < 1000 <= int(psi)


def _differ(pressures: Iterable[GaugePressure]) -> bool:
    """Whether they are more than one pressure."""
    psi = [p.psi for p in pressures]
    return bool(psi) and max(psi) > (1 + _AGREE) * min(psi)


# --- by name -------------------------------------------------------------------------------------


def _kind(name: str) -> MarkKind:
    tested = name in _TEST or STAMPS.shape("test spelt out").fullmatch(name)
    return _TESTED if tested else _SERVICE


def _named(reader: MarkReader, found: re.Match[str]) -> bool:
    """`PH348`, `WP 232 BAR`: what is left open is told by the whole line.

    A name between two pressures with their units may be of either: `200 BAR WP 300 BAR`.
    """
    last = reader.last
    apart = found.start("number") > found.end("name")
    before = last is not None and last.kind is MarkKind.UNREAD and last.end + 2 > found.start()
    if (
        apart
        and before
        and last
        and STAMPS.shape("with unit").fullmatch(last.text)
        and _kind(found["name"]) is _SERVICE
    ):
        note = "a name between two pressures: which of them it is of is not told"
        return reader.take(found, MarkKind.UNREAD, note=note)
    return reader.take(found, _kind(found["name"]), later=True)


def _two_named_behind(reader: MarkReader, found: re.Match[str]) -> bool:
    """`200 BAR WP 300 BAR TP`: each name stands behind its own pressure."""
    if _kind(found["a"]) is _kind(found["b"]):
        return False
    for name, number, unit in (("a", "one", "first"), ("b", "two", "second")):
        text = f"{found[name]} {found[number]} {found[unit] or ''}".strip()
        start, end = found.start(number), found.end(name)
        reader.add(_kind(found[name]), start, end, found=STAMPS.shape("named").fullmatch(text))
    return True


def _named_behind(reader: MarkReader, found: re.Match[str]) -> bool:
    """`3000 PSI TEST`: as named, and in doubt, for a name usually stands before."""
    reader.take(found, _kind(found["name"]), later=True)
    reader.pieces[-1].doubted("its name stands behind it")
    return True


def _two_named(reader: MarkReader, found: re.Match[str]) -> bool:
    """`PW/PH 232/348 BAR`: two names, then their two pressures in the same order."""
    if _kind(found["a"]) is _kind(found["b"]):
        return False
    spans = (found.start(), found.end("one")), (found.start("two"), found.end())
    for name, number, span in zip("ab", ("one", "two"), spans, strict=True):
        text = f"{found[name]} {found[number]}{found['unit'] or ''}"
        reader.add(_kind(found[name]), *span, found=STAMPS.shape("named").fullmatch(text))
    return True


SHAPES: tuple[Shape, ...] = (
    (
        "at another temperature",
        unread("a pressure at another temperature, or the filling pressure"),
    ),
    ("two named behind", _two_named_behind),
    ("two by place", _two_by_place),
    # a pressure whose name stands behind it is not told by its place
    ("by place", _by_place),
    ("named behind", _named_behind),
    ("test as a share", unread("a test pressure as a share of the working pressure")),
    ("hydro named", _named),
    ("test named", _named),
    ("two named", _two_named),
    ("named alone", _named),
)


# --- told by the whole line ----------------------------------------------------------------------


def tell_pressures(reader: MarkReader) -> None:
    """Give named pressures their unit, then hold every pressure of the line against the others."""
    named = [p for p in reader.of(_SERVICE, _TESTED) if p.found is not None]
    for piece in named:
        _give_unit(reader, piece)
    _by_its_test(reader)
    service, tests = list(reader.of(_SERVICE)), list(reader.of(_TESTED))
    _alone(service, tests, named)
    lowest = min(map(_psi, tests), default=math.inf)
    for piece in [p for p in service if _psi(p) >= lowest]:
        if piece in named:
            piece.unread("not below the test pressure on the line: read both again")
        else:
            piece.doubted("not below the test pressure on the line")
        for test in tests:
            test.doubted("a working pressure on the line is not below it")
    if _differ(p.value for p in service if isinstance(p.value, GaugePressure)):
        for piece in reader.of(_SERVICE):
            piece.doubted("the service pressures on the line do not agree")


def _by_its_test(reader: MarkReader) -> None:
    """`232 bar PT 348` of a European specification: the one pressure without a name is the working
    pressure where the one test pressure is 1.5 times it, as it is by EN 1964-1 and ISO 9809-1 (from
    memory); any other is left unread."""
    unread = list(reader.of(MarkKind.UNREAD))
    bare = [p for p in unread if STAMPS.shape("with unit").fullmatch(p.text)]
    tests = [p.value for p in reader.of(_TESTED) if isinstance(p.value, GaugePressure)]
    european = bool(reader.specs) and not any(is_north_american(s) for s in reader.specs)
    named = any(True for p in reader.of(_SERVICE)) or any(
        STAMPS.shape("named").fullmatch(p.text) for p in unread
    )
    if len(bare) != 1 or len(tests) != 1 or named or not european:
        return
    if any(0 <= bare[0].start - p.end <= 1 and p.text.isalpha() for p in unread):
        return  # it has a name that is not understood
    value = GaugePressure.parse(f"{bare[0].text.rstrip('BARSbars ')} bar")
    if "bar" in bare[0].text.casefold() and abs(_OVER * value.pa / tests[0].pa - 1) <= _AGREE:
        bare[0].kind, bare[0].value = _SERVICE, value
        bare[0].note = "by the test pressure, which is 1.5 times it"


def _alone(service: list[Piece], tests: list[Piece], named: list[Piece]) -> None:
    """A working pressure told by its name alone, and no test pressure beside it."""
    if not tests and all(p in named for p in service):
        for piece in service:
            piece.doubted("no test pressure stands beside it, so its name alone tells what it is")


def _give_unit(reader: MarkReader, piece: Piece) -> None:
    found = piece.found
    assert found is not None
    piece.found = None
    number = float(found["number"].replace(",", "."))
    unit = _unit(found) or _unit_of_name(reader, found["name"], number)
    value = GaugePressure.of(number, unit) if unit else None
    if value is None:
        low = number < _LEAST_BAR
        piece.unread(
            _LOW if low else "a pressure without its unit, and nothing on the line tells which"
        )
    elif not _LEAST_PSI <= value.psi <= _MOST_NAMED_PSI:
        piece.unread(f"{value} is no pressure of such a cylinder: read it again")
    else:
        piece.value = value


def _unit_of_name(reader: MarkReader, name: str, number: float) -> str | None:
    """The unit of a pressure that has a name and no unit; 1000 parts what bar and psi can be."""
    ours = [s for s in reader.specs if is_north_american(s) or s in BARE]
    units = {unit_of(s) for s in ours} | ({"bar"} if len(ours) < len(reader.specs) else set())
    if number < _LEAST_BAR and any(s.startswith("AS ") for s in reader.specs):
        return "MPa"
    if number < _LEAST_BAR and _is_no_pressure(reader, name):
        return None
    if number >= 1000:
        named_in_bar = name.replace(".", "") in {"PH", "PW"} and units != {"psi"}
        return "psi" if "psi" in units and not named_in_bar else None
    return "bar" if name.replace(".", "") in _BAR_NAMES or "bar" in units else None


def _is_no_pressure(reader: MarkReader, name: str) -> bool:
    """Whether so low a test pressure is none: beside no working pressure that is as low, a mark
    such as `TP12` is rather that of who tested it."""
    if _kind(name) is _SERVICE:
        return False
    least = GaugePressure.of(_LEAST_BAR, "bar").psi
    return not any(_is_low(p, least) for p in reader.of(_SERVICE))


def _is_low(piece: Piece, least: float) -> bool:
    """Whether a working pressure, of the number beside its name if it has no unit yet, is low."""
    if piece.found is None:
        return _psi(piece) < least
    number = float(piece.found["number"].replace(",", "."))
    return GaugePressure.of(number, _unit(piece.found) or "bar").psi < least


def _psi(piece: Piece) -> float:
    return piece.value.psi if isinstance(piece.value, GaugePressure) else 0.0
