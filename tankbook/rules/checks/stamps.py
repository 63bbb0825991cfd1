"""Stamps as evidence: marks of a shoulder held against the card, each stamp against its test.

A stamp outweighs a typed value. What is stamped and differs is a fault; what is stamped and could
not be read is told with every answer.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Sequence
from itertools import pairwise, permutations

from msgspec.structs import replace

from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Requalified, standing
from tankbook.records.marked import (
    SUFFIXES,
    MarkKind,
    Marks,
    MarkWords,
    Retest,
    Stamp,
    Token,
    WordSays,
    shown_text,
)
from tankbook.records.markevidence import STAMPS, Evidence, could_be, is_crossed, is_north_american
from tankbook.records.markreader import fold
from tankbook.records.node import Where
from tankbook.records.rulerow import TradeSize
from tankbook.records.settings import Settings
from tankbook.records.stampdate import Century, MarkedDate, month_and_year
from tankbook.records.station import Station
from tankbook.records.words import Material, Method, StampMeans, TestResult
from tankbook.rules.answers import WaterVolume
from tankbook.rules.checks.declared import ADVICE, FAULT, WARN, Says, on_cylinder, on_station
from tankbook.rules.inforce import CylinderFacts, InForce, alloy_named, normal
from tankbook.rules.letting_go import reads_well
from tankbook.rules.materials import material_named
from tankbook.rules.remark_words import marks_unread
from tankbook.rules.spelling import is_slip_of, maker_named, permit_named, plain_serial
from tankbook.rules.stamped import (
    countries_named,
    is_explained,
    loose_dates,
    month_could_be,
    plain_letters,
    plus_by_month,
    said_by,
    serial_shown,
    signs_of_kind,
    stamped_names,
    stamps_of,
    stands_behind_test,
    unexplained,
    words_that,
)
from tankbook.rules.tested import PRESSURE_TESTS, is_makers, made_of
from tankbook.rules.threads import stated, threads_match
from tankbook.rules.twins import LONG_SERIAL
from tankbook.rules.wording import not_passed
from tankbook.units import GaugePressure, PartialDate, Volume
from tankbook.units.dates import months_between
from tankbook.units.patterns import pattern

AGREE = 0.01
"""Share by which two figures of one stamped pressure may differ: rounding between psi and bar."""

_MOST_BAR = 700
"""A higher figure without its unit is in psi: nothing that is dived with holds so much in bar, nor
so little in psi (own bound)."""

_WITH_PLUS = 1.1
"""What a pressure of a shoulder with a plus may be of its working pressure (49 CFR 173.302a(b))."""

_WHOLE = 1.0
"""How far a figure may be from another in its own unit: one of them is whole."""

FAMILIES = 0.04
"""Share by which one family's pressure may lie below another's on one shoulder: 15 degC against 70
degF (own calculation), and rounding."""

AGAIN = "read the shoulder again"
_A_NAME = "where it is part of a name, write that whole as `owner:` or `maker:`"


# --- the marks of the shoulder -------------------------------------------------------------------


@on_cylinder("marks-condemned", FAULT, adverse=True)
def not_condemned(card: Cylinder, marks: Marks) -> Iterator[Says]:
    """A shoulder that says condemned never holds gas again; an X beside a pressure or a
    specification may say so till it is read again."""
    taken = (t for t in marks.of(MarkKind.SERIAL) if is_crossed(fold(t.text)[0]))  # by its place
    struck = [
        t for t in (*marks.struck, *taken) if plain_serial(t.text) != plain_serial(card.serial)
    ]
    struck += marks.of(MarkKind.SUFFIX_PLACE)  # the X of 49 CFR 180.213's drawing: nobody stamps it
    shown = [t.shown for t in struck] or list(filter(None, [_crossed(card, marks)]))
    if shown and not marks.condemned:
        text = (
            f"its marks carry `{shown_text(shown[0])}`: an X over a mark says that it is condemned"
        )
        yield Says(card.source.at("marks"), text, f"{AGAIN}; {_A_NAME}")
    rows = _strokes_in(marks.line)
    strokes = rows[0] if rows else _stroked(card, marks.line)
    if strokes and not marks.condemned:
        text = f"its marks carry `{strokes}`: strokes over a mark may say that it is condemned"
        yield Says(card.source.at("marks"), text, f"{AGAIN}; leave out what is only a gap")
    if marks.condemned:
        text = "its marks say that it is condemned"
        again = f"{AGAIN}; {_A_NAME}" if marks.condemned_in_doubt else ""
        mend = again or "it never holds gas again: record that"
        yield Says(card.source.at("marks"), text, mend)


_STROKES = pattern(
    r"[/#=~|═‖_]{3,}|[█▓▒░■▇▬†‡]{2,}|(?:[/#=~|] ){2,}[/#=~|]"
    r"|> ?[|-]? ?<|\\ ?/|(?<!\S)[)}\]] ?[|-]? ?[({\[](?!\S)"
    r"|(?<![^\s,;])(?P<one>[~=])(?=\w)[^\s,;]*\w(?P=one)(?![^\s,;])"
    r"|(?<![^\s,;])(?P<stroke>[-=~_/#|*])(?P=stroke)+(?=\w)[^,;]*?\w(?P=stroke){2,}(?![^\s,;])"
    "|[\u0334-\u0338\u20d2\u20d3\u20d8-\u20da\u20e5\u20e6\u20ea\u20eb]"
)
"""Strokes as they are typed: a row of them, a cross made of two, the same strokes before and
behind a mark, or one through its letters (own list)."""


def _strokes_in(text: str) -> re.Match[str] | None:
    """Strokes over a mark, signs in angle brackets aside: `<K> <L>` is no cross."""
    plain = re.sub(r"<[\w.-]{1,12}>", " ", text)
    return _STROKES.search(plain) or _STROKES.search(fold(plain)[0])


_STROKED = pattern(
    r"(?<![^\s,;])(?:PW|WP|PS|CP)?(?P<each>[/|*_#~])(?P<inner>[^\s,;/|*_#~]{3,16})(?P=each)(?![^\s,;])"
)
_FIGURE_AT_END = pattern(r"(?<!\d)(\d{3,4})(?:BAR|PSI)?$")


def _stroked(card: Cylinder, text: str) -> str:
    """Its pressure between single strokes; another number between them may be an owner's."""
    for match in _STROKED.finditer(text.upper()):
        figure = _FIGURE_AT_END.search(match["inner"])
        if figure and int(figure[1]) in _figures_of(card):
            return match[0]
    return ""


def _figures_of(card: Cylinder) -> set[int]:
    """Its pressures as they are stamped: whole psi or bar."""
    known = [p for p in (card.service_pressure, card.test_pressure) if p is not None]
    return {round(figure) for p in known for figure in (p.psi, p.bar, p.value)}


_NAME_BEFORE = pattern(r"^(?:PW|WP|PS|CP|SP|PH|PT|TP|PE)(?=\d)")
_UNIT_BEHIND = pattern(r"(?<=\d)(?:BARG?|PSIG?)$")
_STANDARD_CROSSED = pattern(r"X(?:EN|ISO|UN|BS|DIN)X?|(?:EN|ISO|UN|BS|DIN)X")


def _crossed(card: Cylinder, marks: Marks) -> str:
    """A word that is its own pressure, or the name of its standard, but for an X beside or in it.
    Where it is the serial as well, the pressure stands there besides."""
    own = _figures_of(card)
    for word in re.split(r"[\s,;]+", fold(marks.line)[0]):
        letters = "".join(re.findall("[A-Z0-9]", word))
        if "X" not in letters:
            continue
        bare = _UNIT_BEHIND.sub("", _NAME_BEFORE.sub("", letters.replace("X", "")))
        is_serial = plain_serial(word) == plain_serial(card.serial) and marks.service_pressures
        figure = bare.isdecimal() and int(bare) in own
        if (figure or _STANDARD_CROSSED.fullmatch(letters)) and not is_serial:
            return word
    return ""


@on_cylinder("marks-say", FAULT, since="0.2")
def marks_condemn_nothing(
    card: Cylinder, marks: Marks, mark_words: Sequence[MarkWords]
) -> Iterator[Says]:
    """No word on its shoulder takes it out of use."""
    word = "" if marks.condemned else _condemning(card, mark_words)
    if word:
        text = f"its marks carry `{word}`: that takes it out of use"
        yield Says(card.source.at("marks"), text, f"{AGAIN}; {_A_NAME}; else record it")


@on_cylinder("marks-unexplained", WARN, since="0.2")
def marks_are_explained(
    card: Cylinder, marks: Marks, mark_words: Sequence[MarkWords], settings: Settings
) -> Iterator[Says]:
    """Every word on its shoulder is explained: by its card, or as a word that is known."""
    if marks.condemned or _condemning(card, mark_words) or marks_unread(card.marks or ""):
        return
    strange = unexplained(card, marks, mark_words, settings.ledger)
    if strange.unknown:
        text = f"its marks carry {_listed(strange.unknown)}, which nothing on its card explains"
        mend = "write it as `maker:` where it is that name, or say in `note:` what it is"
        yield Says(card.source.at("marks"), text, mend)
    if strange.doubtful:
        text = f"its marks carry {_listed(strange.doubtful)}, which may take it out of use"
        mend = f"{AGAIN}; where it is a name or a sign, say in `note:` whose; a gas, as `service:`"
        yield Says(card.source.at("marks"), text, mend)


def _condemning(card: Cylinder, rows: Sequence[MarkWords]) -> str:
    """The first word of its shoulder that takes it out of use, and is part of no name or sign."""
    names = (*stamped_names(card), *signs_of_kind(card, rows))
    return said_by(card.marks or "", words_that(rows, WordSays.CONDEMNED), names)


def _listed(words: Sequence[str]) -> str:
    return ", ".join(f"`{shown_text(word)}`" for word in words[:3])


@on_cylinder("marks-pressure", FAULT)
def pressure_as_stamped(card: Cylinder, marks: Marks) -> Iterator[Says]:
    """The service pressure is the one that is stamped, as far as a pressure can be read."""
    service, stamped = card.service_pressure, marks.service_pressures
    if service is None:
        return
    if stamped and not any(_alike(service, p) for p in stamped):
        shown = " or ".join(map(str, stamped))
        text = f"its marks say {shown}, and its card {service}"
        yield Says(card.source.at("service_pressure"), text, AGAIN)
    elif stamped and min(stamped).pa < (1 - _apart(marks)) * service.pa:
        text = f"its marks say {min(stamped)} as well, and its card {service}"
        yield Says(card.source.at("service_pressure"), text, AGAIN)
    elif stamped and (high := _other_higher(marks, service) or _of_no_family(marks)) is not None:
        text = f"its marks say {high} as well, and its card {service}"
        yield Says(card.source.at("service_pressure"), text, AGAIN)
    elif not stamped and any(p.pa <= service.pa * (1 + AGREE) for p in marks.test_pressures):
        test = min(marks.test_pressures)
        text = f"its marks say test pressure {test}, and its card fills it to {service}"
        yield Says(card.source.at("service_pressure"), text, AGAIN)
    elif (low := _lower_figure(marks, service) or _named_lower(marks, service)) is not None:
        text = f"its marks carry {low}, which is not read, and its card fills it to {service}"
        yield Says(card.source.at("service_pressure"), text, AGAIN)
    elif not stamped:
        unread = [t.text for t in marks.unread_evidence if Evidence.PRESSURE in t.could_be]
        if unread and not any(_could_be(text, service) for text in unread):
            text = f"its marks carry `{unread[0]}`, which may be a pressure, and its card {service}"
            yield Says(card.source.at("service_pressure"), text, AGAIN)


_FIGURE = r"(\d{2,5}(?:[.,] ?\d)?)"
_FIGURES = pattern(
    rf"(?<![\d.,/-]){_FIGURE} ?(BAR|PSI|[MK]PA)?[GS]? ?/ ?{_FIGURE} ?(BAR|PSI|[MK]PA)?(?![\d/-])"
    rf"|(?<![\d.,/-]){_FIGURE} ?(BAR|PSI|[MK]PA)"
)
"""Two pressures with a slash between, or one with its unit."""
_LEAST = GaugePressure.of(70, "bar")
"""Lower figures are no working pressure of a cylinder to dive with (own bound)."""


def _lower_figure(marks: Marks, service: GaugePressure) -> GaugePressure | None:
    """An unread pressure of the shoulder below the one the card fills to: of two that were not
    told apart, the lower may be the working pressure."""
    unread = [t.text for t in marks.unread_evidence if Evidence.PRESSURE in t.could_be]
    if not marks.service_pressures:  # a serial that is typed as `200BAR`
        unread += [t.text for t in marks.of(MarkKind.SERIAL) if _is_pressure(t.text)]
    low = min((p for text in unread for p in _figures(text)), default=None)
    return low if low is not None and low.pa < (1 - FAMILIES) * service.pa else None


def _is_pressure(serial: str) -> bool:
    return Evidence.PRESSURE in could_be(fold(serial)[0])


def _named_pressures(text: str) -> list[GaugePressure]:
    """The pressures that a text names as the most a cylinder may hold."""
    found = []
    for match in STAMPS.shape("named figure").finditer(fold(text)[0]):
        figure = float((match["behind"] or match["before"]).replace(",", "."))
        found.append(GaugePressure.of(figure, "bar" if figure < _MOST_BAR else "psi"))
    return [p for p in found if p >= _LEAST]


def _other_higher(marks: Marks, service: GaugePressure) -> GaugePressure | None:
    """A second working pressure above the card's, on a shoulder of one family: one of the two is
    misread, or of another cylinder. With a plus it may be a tenth above."""
    if _apart(marks) > AGREE:
        return None
    plus = marks.first_plus or any(r.plus for r in marks.retests)
    most = (1 + FAMILIES) * (_WITH_PLUS if plus else 1) * service.pa
    unread = " ; ".join(t.text for t in marks.unread)
    found = (*marks.service_pressures, *_named_pressures(unread))
    high = max(found, key=lambda p: p.pa, default=None)
    return high if high is not None and high.pa > most else None


def _of_no_family(marks: Marks) -> GaugePressure | None:
    """A working pressure by its name that is none of those behind the specifications of the US and
    of Canada, in their own unit: `WP 200` beside TC-3ALM 207."""
    if not all(map(is_north_american, marks.specifications)):
        return None
    read = [(t.text, t.value) for t in marks.of(MarkKind.SERVICE_PRESSURE)]
    placed = [p for text, p in read if isinstance(p, GaugePressure) and text[0].isdecimal()]
    named = [p for text, p in read if isinstance(p, GaugePressure) and text[0].isalpha()]
    named += _named_pressures(" ; ".join(t.text for t in marks.unread))
    plus = marks.first_plus or any(r.plus for r in marks.retests)
    for pressure in named:
        same = [p for p in placed if p.unit == pressure.unit]
        shares = (1, _WITH_PLUS) if plus else (1,)
        if same and not any(
            abs(pressure.pa - s * p.pa) <= AGREE * p.pa for p in same for s in shares
        ):
            return pressure
    return None


def _named_lower(marks: Marks, service: GaugePressure) -> GaugePressure | None:
    """A pressure that a shoulder names as the most it may hold, and that was not read as one, below
    that of the card."""
    serials = marks.of(MarkKind.SERIAL) if marks.service_pressures else ()
    line = marks.line
    for token in serials:  # `WP2931` may be one
        line = f"{line[: token.start]} {line[token.start + len(token.text) :]}"
    low = min(_named_pressures(line), default=None)
    return low if low is not None and low.pa < (1 - _apart(marks)) * service.pa else None


def _apart(marks: Marks) -> float:
    """Share by which a second working pressure may lie below the card's: as far as two families are
    apart where the shoulder names a specification of the other one, else as far as rounding goes.

    `WP 200` on a shoulder of DOT-3AL 3000 alone is no other family's.
    """
    names = (*marks.specifications, *marks.bare_specifications)
    return FAMILIES if not all(_IN_PSI.match(n) for n in names) else AGREE


_IN_PSI = pattern(r"(?:DOT|ICC|CTC)|3(?:A{1,2}[LX]?|HT)$")
"""Specifications whose pressure is in psi at 70 degF (49 CFR 178.35(f)(1); CTC from memory)."""


def _figures(text: str) -> Iterator[GaugePressure]:
    """The pressures of an unread mark that are told as such."""
    for found in _FIGURES.finditer(text.upper()):
        one, first, two, second, alone, unit = found.groups()
        for number, own in ((one, first or second), (two, second or first), (alone, unit)):
            if number:
                figure = float(re.sub("[.,] ?", ".", number))
                named = own or ("BAR" if figure < _MOST_BAR else "PSI")
                unit = f"{named[0].replace('K', 'k')}Pa" if named[1:] == "PA" else named.lower()
                pressure = GaugePressure.of(figure, unit)
                if pressure >= _LEAST:
                    yield pressure


def _alike(one: GaugePressure, other: GaugePressure) -> bool:
    """Whether two figures are of one pressure: of one unit they are the same, whole or not; one MPa
    is too much to be rounding."""
    if one.unit == other.unit != "MPa":
        return abs(one.to(one.unit) - other.to(one.unit)) <= _WHOLE
    return abs(one.pa - other.pa) <= AGREE * other.pa


def _could_be(text: str, pressure: GaugePressure) -> bool:
    """Whether some number in an unread mark is a pressure, in a unit that a shoulder may mean."""
    numbers = [float(n.replace(",", ".")) for n in re.findall(r"\d+(?:[.,]\d+)?", text)]
    return any(
        _alike(pressure, GaugePressure.of(number, unit))
        for number in numbers
        for unit in ("psi", "bar", "MPa", "kPa")
        if 0 < number < 100_000
    )


@on_cylinder("marks-test-pressure", FAULT, since="0.2")
def test_pressure_as_stamped(card: Cylinder, marks: Marks) -> Iterator[Says]:
    """The test pressure is the one that is stamped, where one is."""
    test, stamped = card.test_pressure, marks.test_pressures
    low = min(stamped, default=None)
    if (
        test
        and low
        and (not any(_alike(test, p) for p in stamped) or low.pa < (1 - FAMILIES) * test.pa)
    ):
        text = f"its marks say test pressure {low}, and its card {test}"
        yield Says(card.source.at("test_pressure"), text, AGAIN)


@on_cylinder("marks-serial", FAULT)
def serial_as_stamped(card: Cylinder, marks: Marks) -> Iterator[Says]:
    """The serial number is the one that is stamped."""
    stamped, own = plain_serial(marks.serial or ""), plain_serial(card.serial)
    if stamped and stamped != own and not serial_shown(card):
        text = f"its marks say serial {marks.serial}, and its card {card.serial}"
        yield Says(card.source.at("serial"), text, AGAIN)
    elif stamped and own not in stamped:
        text = f"its marks carry {marks.serial} beside its serial {card.serial}"
        yield Says(card.source.at("serial"), text, AGAIN, severity=WARN)


@on_cylinder("marks-other-serial", FAULT, since="0.2")
def no_other_serial(card: Cylinder, marks: Marks) -> Iterator[Says]:
    """Where the marks do not show the serial, no number in them may be another one; a number that
    is named S/N is one."""
    named = re.search(_NAMED_SERIAL, card.marks or "", re.IGNORECASE)
    other = named and plain_serial(named["serial"]) != plain_serial(card.serial)
    if named and other and serial_shown(card) and not named["number"]:
        text = f"its marks say serial {named['serial']} as well, and its card {card.serial}"
        yield Says(card.source.at("serial"), text, AGAIN)
    if marks.is_blank or marks.serial or serial_shown(card):
        return
    others = [t.text for t in marks.unread if len(re.sub(r"\D", "", t.text)) >= 2]
    if named:
        text = f"its marks say serial {named['serial']}, and its card {card.serial}"
        yield Says(card.source.at("serial"), text, AGAIN)
    elif not others:
        text = "its marks carry no serial, so nothing says that they are of this cylinder"
        mend = "read the serial off the shoulder into `marks:`"
        yield Says(card.source.at("serial"), text, mend, severity=ADVICE)
    else:
        own = plain_serial(card.serial)
        near = [o for o in others if _is_misread(own, plain_serial(o))]
        text = f"its marks do not show serial {card.serial}, and carry `{(near or others)[0]}`"
        # but for one character: one of the two is misread
        yield Says(card.source.at("serial"), text, AGAIN, severity=None if near else WARN)


def _is_misread(one: str, other: str) -> bool:
    """Whether two serials are one but for a character."""
    apart = sum(a != b for a, b in zip(one, other, strict=False))
    return LONG_SERIAL <= len(one) == len(other) and apart == 1


_NAMED_SERIAL = (
    r"(?:S/N|\bSER(?:IAL)?(?: NO)?\b|(?P<number>\bNO\b))[ .:#]*(?P<serial>[A-Z0-9-]*\d[A-Z0-9-]*)"
)
"""A number that the marks themselves call a serial number; one called only a number may be that of
an owner beside it."""


@on_cylinder("marks-specification", FAULT)
def specification_as_stamped(card: Cylinder, marks: Marks, facts: CylinderFacts) -> Iterator[Says]:
    """Every specification that is stamped is on the card."""
    listed = {*map(normal, card.specification), *facts.specifications}
    names = {each.rpartition("-")[2] for each in listed}
    strange = [s for s in marks.specifications if normal(s) not in listed]
    strange = [s for s in strange if not any(_one_standard(s, each) for each in listed)]
    strange += [s for s in marks.bare_specifications if s not in names]
    strange += [s for s in marks.specifications if s not in strange and _is_misspelt(s, card)]
    # without a specification nothing says when it is due; a permit may
    for each in strange if card.specification or card.permit else ():
        text = f"its marks carry {each}, which its card does not list"
        mend = "list it in `specification:` where it is stamped; else read the shoulder again"
        yield Says(card.source.at("specification"), text, mend)


def _is_misspelt(stamped: str, card: Cylinder) -> bool:
    """Whether a card lists the number of a stamped permit under another name."""
    permit = permit_named(stamped)
    own = [s for s in card.specification if permit and permit.number in re.findall(r"\d+", s)]
    return bool(own) and permit is not None and not any(permit_named(s) for s in own)


def _one_standard(one: str, other: str) -> bool:
    """Whether two names are of one European or international standard, its parts told or not:
    `ISO 9809-1`, `EN ISO 9809-1`, `EN 1964`, `BS 5045/1/S`."""
    families = [set(re.findall(r"EN|ISO|BS|DIN|AS|NZS", s.upper())) for s in (one, other)]
    numbers = [re.findall(r"\d+", s) for s in (one, other)]
    short = min(map(len, numbers))
    alike = bool(families[0] & families[1]) and short > 0
    return alike and numbers[0][:short] == numbers[1][:short]


@on_cylinder("marks-first-test", FAULT, since="0.2")
def first_test_as_stamped(card: Cylinder, marks: Marks) -> Iterator[Says]:
    """The first test is of the month that is stamped."""
    made = [r.on for r in standing(card.requalified) if is_makers(r)]
    said = made[0] if made else card.made
    stamped = marks.first_test
    if said is not None and stamped is not None and not _of_month(stamped, said):
        if _is_of_later_test(card, marks, stamped):
            return
        text = f"its marks say first test {_shown(stamped)}, and its card {said}"
        yield Says(card.source.at("requalified" if made else "made"), text, AGAIN)


def _is_of_later_test(card: Cylinder, marks: Marks, stamped: MarkedDate) -> bool:
    """Whether a date without a maker's sign, read as the first, is of a later test of the card: the
    first one may stand where it was not read."""
    signed = any(re.search("[A-Z]{1,2}(?![A-Z])", t.text) for t in marks.of(MarkKind.FIRST_TEST))
    later = [r for r in standing(card.requalified) if not is_makers(r)]
    return not signed and any(_of_month(stamped, r.on) for r in later if stamped.date)


def _first(date: PartialDate) -> dt.date:
    return date.first


def _of_same_month(one: PartialDate, other: PartialDate) -> bool:
    return (one.year, one.month) == (other.year, other.month)


def _of_month(stamped: MarkedDate, said: PartialDate) -> bool:
    """Whether a stamped month is, or can be read as, the month of a date."""
    readings = stamped.readings
    return not readings or any(_of_same_month(reading, said) for reading in readings)


def _of_its_month(marks: Marks, test: Requalified) -> list[Retest]:
    """The stamps of the shoulder that are of the month of a test."""
    return [r for r in marks.retests if r.when.date and _of_month(r.when, test.on)]


def _shown(stamped: MarkedDate) -> str:
    return " or ".join(map(str, stamped.readings))


@on_cylinder("marks-retest", FAULT, since="0.2")
def tests_as_stamped(
    card: Cylinder,
    marks: Marks,
    latest_day: dt.date,
    is_cut: bool,
) -> Iterator[Says]:
    """A test newer than the last stamp of the shoulder has a stamp of its own on the card; none is
    older than the cylinder or of a day to come."""
    dates = [r.when.date for r in marks.retests if r.when.date is not None]
    first = marks.first_date or made_of(card)
    means_due = card.stamp_means is StampMeans.NEXT_DUE
    for date in dates:
        if first is not None and date.last < first.first:
            text = f"its marks carry a test of {date}, before the first of {first}"
            yield Says(card.source.at("marks"), text, AGAIN)
        elif date.first > latest_day and not means_due:
            text = f"its marks carry a test of {date}, which is yet to come"
            mend = f"{AGAIN}; where the stamp says when the next is due, `stamp_means: next-due`"
            yield Says(card.source.at("marks"), text, mend)
            return
    dates += [date for date, _ in loose_dates(card, marks) if date.first <= latest_day]
    tests = [
        r
        for r in standing(card.requalified)
        if r.method in PRESSURE_TESTS
        and r.result is TestResult.PASS
        and not is_makers(r)
        and not (marks.first_date and _of_same_month(marks.first_date, r.on))
    ]
    yield from _undecided(card, marks)
    if not dates:
        shown = tests or _only_test(card, marks)
        last_one = shown[-1] if shown else None
        if last_one is not None and not last_one.stamp and card.marks and not marks.is_blank:
            text = f"neither a stamp nor its marks show the test of {last_one.on}"
            mend = "read the stamp of that test into `stamp:`"
            yield Says(last_one.source.at("on"), text, mend, severity=WARN)
        return
    if is_cut and (not tests or max(dates, key=_first).first > tests[-1].on.last):
        return  # marks have no day: what they show beyond may be recorded later
    known = {(r.on.year, r.on.month) for r in standing(card.requalified)}
    for retest in marks.retests:
        could = retest.when.could_be
        could = tuple(d for d in could if first is None or d.last >= first.first)
        older = tests and any(d.first <= tests[-1].on.last for d in could)
        if could and not older and not any((d.year, d.month) in known for d in could):
            text = f"its marks carry a test of {_shown(retest.when)}, which its card does not list"
            yield Says(card.source.at("requalified"), text, "record it", severity=WARN)
    if not tests:
        newest = max(dates, key=_first)
        if (newest.year, newest.month) in known:
            return
        text = f"its marks carry a test of {newest}, which its card does not list"
        yield Says(card.source.at("requalified"), text, "record it", severity=WARN)
        return
    yield from _misread(card, marks)
    newest, last = max(dates, key=_first), tests[-1]
    listed = any(_of_same_month(newest, r.on) for r in standing(card.requalified))
    if last.on.first > newest.last and not last.stamp:
        text = f"its marks end with a test of {newest}, and its card says {last.on}"
        mend = "read the shoulder again, and write the stamp of that test into `stamp:`"
        yield Says(last.source.at("on"), text, mend)
    elif not listed:
        text = f"its marks carry a test of {newest}, which its card does not list"
        yield Says(card.source.at("requalified"), text, "record it", severity=WARN)


def _misread(card: Cylinder, marks: Marks) -> Iterator[Says]:
    """A stamp beside a test that its shoulder does not show, and another of the shoulder a month or
    two away that the card does not list, are of one test: nobody tests so soon again."""
    shown = [r.when.date for r in marks.retests if r.when.date is not None]
    tests = [r for r in standing(card.requalified) if not is_makers(r)]
    unlisted = [d for d in shown if not any(_of_same_month(d, r.on) for r in tests)]
    for test in tests:
        near = [d for d in unlisted if 0 < abs(months_between(d, test.on)) <= _SO_SOON]
        if (
            test.on.month
            and test.stamp
            and near
            and not any(_of_same_month(d, test.on) for d in shown)
        ):
            text = f"its marks carry a test of {near[0]}, and the stamp of {test.on} is not there"
            mend = f"{AGAIN}: one of the two is misread; where both are stamped, record both"
            yield Says(_place(test), text, mend)


_SO_SOON = 2
"""Months within which nobody tests a cylinder again (own choice)."""


def _only_test(card: Cylinder, marks: Marks) -> list[Requalified]:
    """The maker's test where it is the only one of a card and no date of the marks may be of it."""
    tests = [r for r in standing(card.requalified) if r.method in PRESSURE_TESTS]
    shown = [d for d in (marks.first_test, *marks.dates) if d is not None]
    seen = any(_of_month(d, r.on) for d in shown for r in tests)
    return [] if seen else [r for r in tests if is_makers(r)]


def _undecided(card: Cylinder, marks: Marks) -> Iterator[Says]:
    """Dates that are of the first test or of a later one: of some test of the card in any case."""
    known = [r.on for r in standing(card.requalified)] + [d for d in (card.made,) if d]
    for stamped in marks.dates if known else ():
        readings = stamped.readings
        if not readings or any(_of_month(stamped, on) for on in known):
            continue
        text = f"its marks carry the date {_shown(stamped)}, and no test of its card"
        newer = any(d.first > max(on.last for on in known) for d in readings)
        mend = f"{AGAIN}; where it is a test, record it"
        yield Says(card.source.at("marks"), text, mend, severity=WARN if newer else None)


@on_cylinder("marks-plus", FAULT, since="0.2")
def plus_as_stamped(card: Cylinder, marks: Marks) -> Iterator[Says]:
    """A plus on the card is a plus on the shoulder, for the same test."""
    stamped = plus_by_month(marks)
    for test in standing(card.requalified):
        month = PartialDate(test.on.year, test.on.month)
        if month in stamped and test.plus and not stamped[month]:
            text = f"its marks carry no plus after the test of {month}, and its card says one"
            yield Says(test.source.at("plus"), text, AGAIN)
    if card.material is Material.ALUMINIUM and any(stamped.values()):
        text = "its marks carry a plus, and it is of aluminium, which never has one"
        yield Says(card.source.at("marks"), text, AGAIN)


@on_cylinder("marks-thread", FAULT, since="0.2")
def thread_as_stamped(card: Cylinder, marks: Marks) -> Iterator[Says]:
    """The neck thread is the one that is stamped on the crown."""
    neck = stated(card.neck_thread)
    valve = stated(card.valve.thread) if card.valve and not neck else None
    for thread in marks.threads if valve else ():
        if valve and not threads_match(valve, thread):
            text = f"its marks carry thread {thread}, and its valve {valve}"
            yield Says(card.source.at("valve"), text, "gauge it: a wrong valve can be shot out")
            return
    for thread in marks.threads if neck else ():
        if neck and not threads_match(neck, thread):
            text = f"its marks carry thread {thread}, and its card says {neck}"
            yield Says(card.source.at("neck_thread"), text, "gauge it")
            return


@on_cylinder("marks-alloy", FAULT, since="0.2")
def alloy_as_stamped(card: Cylinder, marks: Marks, facts: CylinderFacts) -> Iterator[Says]:
    """The alloy is the one that is stamped: typed or, where none is, as a notice gives it."""
    typed = alloy_named(card.alloy) or facts.alloy
    for token in (*marks.of(MarkKind.ALLOY), *_hidden_alloys(card, marks)):
        stamped = _alloy_of(token.text)
        metal = Material.ALUMINIUM if stamped else None
        metal = Material.STEEL if _STEEL.search(token.text.upper()) else metal
        if metal is Material.STEEL and plain_serial(token.text) == plain_serial(card.serial):
            continue
        if metal and card.material not in {None, Material.COMPOSITE, metal}:  # it has a liner
            text = f"its marks carry {token.text}, which is {metal}, and its card {card.material}"
            yield Says(card.source.at("material"), text, AGAIN)
        elif stamped and _is_other(stamped, typed):
            text = f"its marks carry alloy {stamped}, and its card says {card.alloy or 'none'}"
            mend = f"write `alloy: '{stamped}'` where that is stamped; else {AGAIN}"
            yield Says(card.source.at("alloy"), text, mend)


_STEEL = pattern(r"\d+ ?CR ?MO|4130X")
"""Alloys of steel by their names."""


def _hidden_alloys(card: Cylinder, marks: Marks) -> Iterator[Token]:
    """Marks that hold the number of an alloy joined to something else, own serial aside."""
    kinds = {MarkKind.UNREAD, MarkKind.NAME, MarkKind.SERIAL, MarkKind.MAKER, MarkKind.STATION}
    for token in marks.tokens:
        if token.kind in kinds and plain_serial(token.text) != plain_serial(card.serial):
            rest = re.sub(re.escape(card.serial), " ", token.text, flags=re.IGNORECASE)
            alone = re.fullmatch(r"\W*\d{4}\W*", rest)
            if _alloy_of(rest) and (alone or _alloy_of(rest) == "6351"):
                yield replace(token, text=rest.strip())


def _alloy_of(text: str) -> str | None:
    """The alloy whose number stands in a mark, letters beside it or not."""
    return alloy_named(" ".join(re.findall(r"(?<!\d)\d{4}(?!\d)", text)))


def _is_other(stamped: str, typed: str | None) -> bool:
    """Whether a stamped alloy is not the typed one; where none is, one that must be known."""
    if typed in {None, "not-6351"}:
        return stamped == "6351"
    return stamped != typed


@on_cylinder("marks-maker", FAULT, since="0.2")
def maker_as_stamped(
    card: Cylinder, marks: Marks, rules: InForce, mark_words: Sequence[MarkWords]
) -> Iterator[Says]:
    """The maker is not one that a notice speaks of where the shoulder says that one, and not the
    card's own."""
    own = maker_named(card.maker)
    plain_words = {maker_named(w) for w in words_that(mark_words, WordSays.NOTHING)}
    known = {maker_named(m) for row in rules.watch for m in row.maker}
    words = re.findall(r"[^\W\d_]+", card.marks or "")
    names = [t.text for t in marks.of(MarkKind.NAME)]
    said = dict.fromkeys((*names, *words))
    if own and any(len(n) > 2 and own.startswith(n) for n in map(maker_named, said)):
        return
    for each in said:
        name = maker_named(each)
        noticed = any(k and (name in k or k in name or is_slip_of(name, k)) for k in known)
        is_own = name in own or own in name or is_slip_of(name, own)
        if noticed and own and len(name) > 3 and not is_own and name not in plain_words:
            text = f"its marks carry the name {each}, and its card says maker {card.maker}"
            yield Says(card.source.at("maker"), text, AGAIN)
            return


@on_cylinder("marks-country", FAULT, since="0.2")
def country_as_stamped(
    card: Cylinder, marks: Marks, mark_words: Sequence[MarkWords]
) -> Iterator[Says]:
    """The country where it was made is the one that is stamped, for notices rest on it."""
    if card.made_in is None:
        return
    countries = [row.words for row in mark_words if row.says is WordSays.COUNTRY]
    own = next((c for c in countries if plain_letters(card.made_in) in map(plain_letters, c)), ())
    every = {plain_letters(word) for words in countries for word in words}
    text_of = countries_named(card, marks, words_that(mark_words, WordSays.NOTHING), every)
    if own and said_by(text_of, own):
        return
    for words in countries:
        said = said_by(text_of, words)
        if said and words is not own:
            text = f"its marks carry {said}, and its card says made in {card.made_in}"
            yield Says(card.source.at("made_in"), text, AGAIN)
            return


@on_cylinder("marks-permit", FAULT, since="0.2")
def permit_as_stamped(card: Cylinder, marks: Marks) -> Iterator[Says]:
    """The permit on record is one that is stamped, where one is."""
    number = re.search(r"\d+", card.permit.number) if card.permit and card.permit.number else None
    stamped = [p for s in marks.specifications if (p := permit_named(s)) and p.number]
    if number and stamped and number[0].lstrip("0") not in {p.number for p in stamped}:
        own = card.permit.number if card.permit else None
        text = f"its marks carry {stamped[0].text}, and its permit is {own}"
        yield Says(card.source.at("permit"), text, AGAIN)


@on_cylinder("marks-material", FAULT, since="0.2")
def material_as_stamped(card: Cylinder, marks: Marks) -> Iterator[Says]:
    """The metal is the one that its stamped specification names."""
    for each in marks.specifications:
        metal = material_named(normal(each))
        if metal and card.material and card.material is not metal:
            text = f"its marks carry {each}, which is {metal}, and its card {card.material}"
            yield Says(card.source.at("material"), text, AGAIN)
            return


VOLUMES = 0.06
"""Share by which a stamped water volume may differ from the card's: a size of the trade is rounded
(own bound)."""


@on_cylinder("marks-volume", WARN, since="0.2")
def volume_as_stamped(card: Cylinder, marks: Marks, volume: WaterVolume | None) -> Iterator[Says]:
    """The water volume is the one that is stamped; what it holds and every blend rests on it."""
    stamped = [t.value for t in marks.of(MarkKind.WATER_VOLUME) if isinstance(t.value, Volume)]
    own = volume.volume if volume else None
    key = next((k for k in ("water_volume", "size", "rated") if getattr(card, k)), "")
    apart = [abs(v.litres - own.litres) for v in stamped] if own else []
    if own and apart and min(apart) > VOLUMES * own.litres:
        text = f"its marks say {stamped[0]}, and its card {own}"
        yield Says(card.source.at(key), text, AGAIN)


_SIZE_FROM, _SIZE_TO = 0.97, 1.13
"""Between which shares of its working pressure that of a size lies: a plus lets a size be named by
its pressure with it, and pressures are rounded between psi and bar (own bounds)."""


@on_cylinder("size-of-another-pressure", WARN, since="0.2")
def size_fits_pressure(card: Cylinder, trade_size: TradeSize | None) -> Iterator[Says]:
    """A size of the trade, and what a capacity is rated at, go with the working pressure."""
    own = card.service_pressure
    told = {
        "size": trade_size.service_pressure if trade_size else None,
        "rated": card.rated.pressure if card.rated else None,
    }
    for key, pressure in told.items():
        if own and pressure and not _SIZE_FROM * own.pa <= pressure.pa <= _SIZE_TO * own.pa:
            text = f"its {key} goes with {pressure}, and its card says {own}"
            yield Says(card.source.at(key), text, AGAIN)


_MONTHS = "JAN FEB MAR APR MAY JUN JUL AUG SEP OCT NOV DEC".split()
_ALIKE = {"MÄR": "MAR", "MAI": "MAY", "OKT": "OCT", "DEZ": "DEC", "FEV": "FEB", "AVR": "APR"}
"""Months in other languages than English, by their first letters."""


def _ends_as(stamped: re.Match[str], ends: object) -> bool:
    """Whether a life ends in the stamped year, and in its month where one is named."""
    if not isinstance(ends, PartialDate):
        return False
    month = _ALIKE.get(stamped["month"] or "", stamped["month"])
    named = _MONTHS.index(month) + 1 if month in _MONTHS else None
    known = int(stamped["number"]) if stamped["number"] else named
    return ends.year % 100 == int(stamped["year"]) % 100 and known in {None, ends.month}


@on_cylinder("marks-life-end", FAULT, since="0.2")
def life_as_stamped(card: Cylinder, marks: Marks) -> Iterator[Says]:
    """The end of its life is the one that is stamped."""
    ends = card.permit.life_ends if card.permit else None
    stamped = marks.life_end
    for token in marks.of(MarkKind.UNREAD):
        year = STAMPS.shape("end of life").search(token.text.upper())
        if year and not _ends_as(year, ends):
            text = f"its marks say `{token.text}`, and no permit of its card ends then"
            yield Says(card.source.at("marks"), text, "read when its life ends again")
    if stamped is None:
        return
    if not isinstance(ends, PartialDate):
        text = f"its marks say that its life ends {_shown(stamped)}, and no permit of its card does"
        mend = "write it as `permit: {life_ends: ...}`"
        yield Says(card.source.at("marks"), text, mend)
    elif not _of_month(stamped, ends):
        text = f"its marks say that its life ends {_shown(stamped)}, and its permit {ends}"
        yield Says(card.source.at("permit"), text, AGAIN)


_COULD_BE = {Evidence.CONDEMNED: "an X over a mark"}

_LETTERS_OF_DATE = pattern(r"(?:MF[GDR]|MADE|DATE|TEST(?:ED)?)?[A-Z]?(?:[-/.( ]?[A-Z]{1,2})?")
"""Letters that may stand in a date: what it is of, and an inspector's sign."""
_WITH_POINT = pattern(r"(?<!\d)(?:0?[1-9]|1[0-2])\.(?:\d{2}|19\d{2}|20\d{2})(?!\d)")
"""A month and a year with a point between; any other number with a point is a measure."""
_DIGITS = str.maketrans("OQILSBZ", "0011582")
"""Letters beside digits that look like one."""


def _months_of(text: str) -> list[PartialDate]:
    """Every month that the numbers of an unread date may be, in any order and century; none where
    other letters stand beside them, or a number is no part of a date."""
    measure = re.fullmatch(r"\W*\d+[.,]\d+\W*", text) and not _WITH_POINT.search(text)
    if "?" in text or measure:
        return []
    worn = re.compile(r"(?<=\d)[OQILSBZ]|[OQILSBZ](?=\d)")
    text = worn.sub(lambda m: m[0].translate(_DIGITS), text.upper())
    numbers = re.findall(r"\d+", text)
    if len(numbers) == 1 and len(numbers[0]) == 4 and not numbers[0].startswith(("19", "20")):
        numbers = [numbers[0][:2], numbers[0][2:]]
    letters = re.sub(r"[^A-Z]", "", text)
    if not _LETTERS_OF_DATE.fullmatch(letters) or {len(n) for n in numbers} - {1, 2, 4}:
        return []
    ways = [(int(m), y) for m, y in permutations(numbers, 2) if len(numbers) < 4 and len(y) > 1]
    years = [(m, int(y) + c) for m, y in ways for c in ((0,) if len(y) == 4 else (1900, 2000))]
    return [PartialDate(y, m) for m, y in years if 1 <= m <= 12 and 1900 <= y <= 2200]


def _specified(marks: Marks, unread: Sequence[Token]) -> Iterator[str]:
    """The marks that were not read, and each two of them that stand together: `3AL 2250`."""
    yield from (fold(token.text)[0] for token in unread)
    for one, other in pairwise(marks.tokens):
        if one in unread and other in unread:
            yield fold(f"{one.text} {other.text}")[0]


def _repeats_specification(card: Cylinder, token: Token) -> bool:
    """Whether an unread mark is the card's own specification with its pressure."""
    found = STAMPS.shape("specified").fullmatch(fold(token.text)[0])
    known = found and any(found["name"] == normal(s).rpartition("-")[2] for s in card.specification)
    return bool(known) and not _against_specification(card, token.text)


def _against_specification(card: Cylinder, text: str) -> str:
    """What of a card an unread specification with its pressure speaks against, or an empty text."""
    found = STAMPS.shape("specified").fullmatch(text.upper())
    if found is None:
        return ""
    if card.specification and not any(found["name"] in normal(s) for s in card.specification):
        return f"names {', '.join(card.specification)}"
    unit = (
        "bar" if int(found["pressure"]) < 1000 else "psi"
    )  # 207 is never in psi here, nor 3000 in bar
    pressure, own = GaugePressure.of(float(found["pressure"]), unit), card.service_pressure
    apart = own is not None and abs(pressure.pa - own.pa) > _SPECIFIED * own.pa
    return f"says {own}" if apart else ""


_SPECIFIED = 0.02
"""Share by which the pressure behind a specification may differ from the card's: rounded twice,
between psi and bar and by whoever typed it (own bound)."""


@on_cylinder("marks-unread", FAULT, since="0.2")
def marks_are_read(
    card: Cylinder,
    marks: Marks,
    facts: CylinderFacts,
    mark_words: Sequence[MarkWords],
    latest_day: dt.date,
) -> Iterator[Says]:
    """What is stamped and could be a pressure, a date or a specification was read."""
    own = plain_serial(card.serial)
    unread = [t for t in marks.unread_evidence if plain_serial(t.text) != own]
    unread = [t for t in unread if not is_explained(card, marks, t, mark_words)]
    unread = [t for t in unread if not _is_told_pressure(card, marks, t)]
    unread = [t for t in unread if not _is_next_test(t, latest_day) and not _is_its_end(card, t)]
    known = [r.on for r in standing(card.requalified)]
    known += [d for d in (card.made, marks.first_date, facts.made) if d]
    unread = [t for t in unread if not _is_known_date(t, known) and not _is_measure(t)]
    listed = [t for d, t in loose_dates(card, marks) if any(_of_same_month(d, on) for on in known)]
    unread = [t for t in unread if t not in listed]
    unread = [t for t in unread if t.text != card.alloy and not _repeats_specification(card, t)]
    if unread:
        shown = ", ".join(f"`{t.shown}`" for t in unread[:3])
        could = sorted({_COULD_BE.get(e, f"a {e}") for t in unread for e in t.could_be})
        text = f"its marks carry {shown}, not read: it could be {' or '.join(could)}"
        named = "a name is told by `owner:`"
        if stands_behind_test(marks, unread[0]):
            named = "the sign of who tested is told by `by:` of that test"
        mend = f"`tankbook marks` explains each; {AGAIN}; {named}"
        yield Says(card.source.at("marks"), text, mend, severity=WARN)
    for stamped in _specified(marks, unread):
        said = _against_specification(card, stamped)
        if said:
            text = f"its marks carry `{shown_text(stamped)}`, and its card {said}"
            yield Says(card.source.at("marks"), text, AGAIN)
    dates = [t for t in unread if t.could_be == {Evidence.DATE}]
    dates = [t for t in dates if not stands_behind_test(marks, t)]
    for token in dates if known else ():
        span = min(d.first for d in known), max(d.last for d in known)
        months = _months_of(token.text)
        if months and not any(span[0] <= d.last and d.first <= span[1] for d in months):
            text = f"its marks carry `{token.shown}`, which may be a date, and no test of its card"
            mend = f"{AGAIN}; where it is a test, record it"
            yield Says(card.source.at("marks"), text, mend)
    if marks.doubted(MarkKind.SERVICE_PRESSURE):
        text = f"the pressure in its marks is in doubt: {marks.service_pressure}"
        yield Says(card.source.at("marks"), text, AGAIN, severity=WARN)


def _is_its_end(card: Cylinder, token: Token) -> bool:
    """Whether a mark says by a word that its life ends in the month on its card."""
    ends = card.permit.life_ends if card.permit else None
    text = fold(token.text)[0]
    by_word = STAMPS.shape("end of life").search(text)
    if by_word and _ends_as(by_word, ends):
        return True
    if not isinstance(ends, PartialDate) or not STAMPS.shape("ends").match(text):
        return False
    rest = STAMPS.shape("ends").sub("", text)
    return any(_of_same_month(month, ends) for month in _months_of(rest))


def _is_measure(token: Token) -> bool:
    """Whether a mark is less than one of some unit, as a buoyancy: no month, and no year."""
    return re.fullmatch(r"[-+]?0[.,]\d", fold(token.text)[0]) is not None


def _is_known_date(token: Token, known: Sequence[PartialDate]) -> bool:
    """Whether a mark that could be a date, and nothing else, may be of a test on record."""
    months = _months_of(token.text) if token.could_be == {Evidence.DATE} else []
    return any(_of_same_month(month, on) for month in months for on in known)


def _is_told_pressure(card: Cylinder, marks: Marks, token: Token) -> bool:
    """Whether a mark that is a pressure by its unit is the working pressure that was read, or by
    the name FP that of the card, below the test pressure beside it."""
    if token.could_be != {Evidence.PRESSURE}:
        return False
    service, test = card.service_pressure, min(marks.test_pressures, default=None)
    if token.text.upper().startswith("FP"):
        return bool(service and test and service.pa < test.pa and _could_be(token.text, service))
    figures, read = list(_figures(token.text)), marks.service_pressures
    named = STAMPS.shape("named figure").fullmatch(fold(token.text)[0])
    if named and not figures and service and read and not marks.doubted(MarkKind.SERVICE_PRESSURE):
        return _could_be(token.text, service)
    sure = read and not marks.doubted(MarkKind.SERVICE_PRESSURE)
    return bool(sure and figures and all(any(_alike(f, p) for p in read) for f in figures))


def _is_next_test(token: Token, today: dt.date) -> bool:
    """Whether a mark says in words when its next test is due, and that is yet to come."""
    found = STAMPS.shape("due").fullmatch(fold(token.text)[0])
    if found is None:
        return False
    when = month_and_year(found["one"], found["two"], _THIS_AGE, month_first=False)
    readings = when.readings if when else ()
    return bool(readings) and all(d.first > today for d in readings)


_THIS_AGE = Century(PartialDate(2000, 1), (), retest=True)
"""A test to come is of this century."""


# --- the stamp of a test -------------------------------------------------------------------------


@on_cylinder("stamp-date", FAULT, since="0.2")
def stamps_of_their_month(
    card: Cylinder, stamps: tuple[tuple[Requalified, Stamp], ...]
) -> Iterator[Says]:
    """A test is of the month that its stamp says."""
    for test, stamp in stamps:
        yield from _month_unlike(test, stamp)


def _month_unlike(test: Requalified, stamp: Stamp) -> Iterator[Says]:
    if stamp.retest is None and not month_could_be(test.stamp or "", test.on):
        text = f"the stamp `{test.stamp}` is not of {test.on}, the month of the test"
        yield Says(_place(test), text, "read the stamp again")
    if stamp.retest and not _of_month(stamp.retest.when, test.on):
        shown = _shown(stamp.retest.when)
        text = f"the stamp `{test.stamp}` says {shown}, and the test is of {test.on}"
        yield Says(_place(test), text, "read the stamp again")


@on_station("bank-stamp", FAULT, since="0.2")
def banks_as_stamped(station: Station, mark_words: Sequence[MarkWords]) -> Iterator[Says]:
    """A bank's test is of the month, the method and by the tester that its stamp says, and no
    stamp says that it was not passed, or condemned."""
    words = words_that(mark_words, WordSays.CONDEMNED, WordSays.NOT_PASSED)
    for bank in station.banks:
        for test, stamp in stamps_of(bank):
            yield from _month_unlike(test, stamp)
            if stamp.retest:
                yield from _other_tester(test, stamp.retest, stamp.retest.station)
            yield from _unlike_bank_test(test, stamp)
            word = said_by(test.stamp or "", words)
            if stamp.condemned:
                text = f"the stamp `{test.stamp}` of {bank.name} says that it is condemned"
                yield Says(_place(test), text, "it never holds gas again: take it out")
            elif _is_struck(stamp):
                text = f"the stamp `{test.stamp}` of {bank.name} {_STRUCK}"
                yield Says(_place(test), text, "read the stamp again")
            elif word and test.result is TestResult.PASS:
                text = f"the stamp `{test.stamp}` of {bank.name} says {word}, and the test passed"
                yield Says(_place(test), text, "read the stamp again")


@on_station("bank-test-says-failed", FAULT, since="0.2", adverse=True)
def bank_tests_say_one_thing(station: Station) -> Iterator[Says]:
    """A bank's test that passed does not say that it failed."""
    for bank in station.banks:
        for test in standing(bank.requalified):
            for key, text in (("finding", test.finding or ""), ("note", test.note or "")):
                word = "" if reads_well(text) else not_passed(text)
                if word and test.result is TestResult.PASS:
                    said = f"the test of {bank.name} of {test.on} passed, and says {word}"
                    mend = "write `result: fail` if it did not pass, or reword it"
                    yield Says(test.source.at(key), said, mend)


def _unlike_bank_test(test: Requalified, stamp: Stamp) -> Iterator[Says]:
    """A bank's stamp is of its test's method, and of nobody who may only look."""
    method = _method(stamp.retest, american=bool(stamp.retest.rin)) if stamp.retest else None
    if method is not None and test.method is not method:
        yield _unlike_method(test, method)
    yield from _by_who_only_looks(test)


def _by_who_only_looks(test: Requalified) -> Iterator[Says]:
    """No pressure test is by a number that is for visual inspection only."""
    if test.method in PRESSURE_TESTS and _VISUAL_RIN.fullmatch(test.by or ""):
        text = f"the test of {test.on} is by {test.by}, a number for visual inspection only"
        yield Says(test.source.at("by"), text, "read the stamp again")


@on_cylinder("stamp-plus", FAULT)
def stamps_of_their_plus(
    card: Cylinder, stamps: tuple[tuple[Requalified, Stamp], ...]
) -> Iterator[Says]:
    """A stamp and its test agree on the plus and on the star."""
    for test, stamp in stamps:
        plus = "+" in fold(stamp.text)[0]
        read = stamp.retest.plus if stamp.retest else plus
        if (test.plus and not plus) or (read and not test.plus):
            says = "carries a plus" if plus else "carries no plus"
            text = f"the stamp `{test.stamp}` {says}, and `plus` says otherwise"
            yield Says(_place(test), text, "read the stamp again")


@on_cylinder("stamp-by", FAULT, since="0.2")
def stamps_of_their_requalifier(
    card: Cylinder, marks: Marks, stamps: tuple[tuple[Requalified, Stamp], ...]
) -> Iterator[Says]:
    """A stamp carries the number of whoever tested, where the test names one."""
    stamped = [(test, stamp.retest) for test, stamp in stamps if stamp.retest]
    for test in standing(card.requalified) if marks.retests else ():
        of_month = _of_its_month(marks, test)
        stamped += [(test, r) for r in of_month]
    for test, stamp in stamps:
        rin = stamp.retest.rin if stamp.retest else None
        others = [r.rin for r in _of_its_month(marks, test)]
        if rin and all(others) and others and rin not in others:
            text = f"the stamp of {test.on} carries {rin}, and the marks of that month {others[0]}"
            yield Says(_place(test), text, "read the stamp again")
    for test, stamp in stamps:
        yield from _other_station(test, stamp, marks)
    for test, retest in stamped:
        yield from _other_tester(test, retest, retest.station or _behind(retest, marks))


def _other_tester(test: Requalified, retest: Retest, station: str | None) -> Iterator[Says]:
    """A test is by whoever stamped it: by their number, or by their station's mark."""
    rin, by = retest.rin, test.by or ""
    other = _other_sign(station, by) if station and not rin else ""
    if other:
        text = f"the stamp of {test.on} carries {station}, and the test is by {test.by}"
        doubtful = other.isalpha() or (other.isdigit() and other != test.by)
        severity = WARN if doubtful else None
        yield Says(test.source.at("by"), text, "read the stamp again", severity=severity)
    house = STAMPS.shape("address").sub(" ", fold(by)[0])
    numbers = ["".join(each) for each in _RIN.findall(house)]
    if rin and numbers and fold(rin)[0] not in numbers:
        text = f"the stamp of {test.on} carries {rin}, and the test is by {test.by}"
        yield Says(test.source.at("by"), text, "read the stamp again")


def _other_station(test: Requalified, stamp: Stamp, marks: Marks) -> Iterator[Says]:
    """The test station's mark of a stamp is one that the shoulder shows for that month, if any."""
    own = stamp.retest.station if stamp.retest else None
    month = _of_its_month(marks, test)
    others = [r.station for r in month if r.station]
    shown = re.findall(r"\w+", fold(marks.line)[0])
    if own and others and len(others) == len(month) and re.sub(r"\W", "", own) not in shown:
        text = f"the stamp of {test.on} carries {own}, and the marks of that month {others[0]}"
        yield Says(_place(test), text, "read the stamp again")


_SIGN_OF_STATION = pattern(r"[A-Z]{1,3}[0-9]{1,4}|[0-9]{1,2}[A-Z]{1,2}[0-9]?")
"""A test station's mark, and no name: letters and digits joined (own shape)."""
_SIGN_IN_NAME = pattern(
    r"(?<![\w-])(?:[A-Z]{1,3}[-/.]?[0-9]{1,4}|[A-Z][0-9]-[0-9]|[0-9]{2,5})(?![\w-])"
)
"""As it may stand in a name, or a number alone."""


def _behind(retest: Retest, marks: Marks) -> str | None:
    """What stands right behind a test on the shoulder, was not read, and could be a sign."""
    for token, after in pairwise(marks.tokens):
        unread = token.value == retest and after.kind is MarkKind.UNREAD
        if unread and _SIGN_IN_NAME.fullmatch(fold(after.text)[0]):
            return after.text
    return None


def _other_sign(station: str, by: str) -> str:
    """The mark of another station than the stamped one that a test is said to be by: all of `by:`,
    or a part of it that is of the same form. An empty text where there is none."""
    own, whole = (re.sub(r"[^\w]", "", fold(s)[0]) for s in (station, by))
    if all(map(_SIGN_OF_STATION.fullmatch, (own, whole))) or _are_letters(station, by):
        return whole if own != whole else ""
    parts = [re.sub(r"\W", "", each) for each in _SIGN_IN_NAME.findall(fold(by)[0])]
    alike = [each for each in parts if _form(each) == _form(own)]
    return alike[0] if alike and own not in parts else ""


def _are_letters(station: str, by: str) -> bool:
    """Whether a stamped sign and whoever tested are a few capitals each: signs, and no names."""
    return all(re.fullmatch("[A-Z]{1,3}", each.strip()) for each in (station, by))


def _form(sign: str) -> str:
    """A sign with one letter for all letters, and one digit for all digits."""
    return re.sub("[0-9]", "0", re.sub("[A-Z]", "A", sign))


_RIN = pattern(r"(?<![\w-])([A-Z])[ -]?([0-9]{3})(?![\w-])")
"""A requalifier's number by its shape, a letter and three digits (49 CFR 180.213(d), read)."""


@on_cylinder("stamp-method", FAULT, since="0.2")
def stamps_of_their_method(
    card: Cylinder, marks: Marks, stamps: tuple[tuple[Requalified, Stamp], ...]
) -> Iterator[Says]:
    """A stamp's suffix is that of the method."""
    eddy = [r.on for r in standing(card.requalified) if r.method is Method.EDDY_CURRENT]
    every = (*card.specification, *marks.specifications)
    american = any(is_north_american(name.upper()) for name in every)
    for test, stamp in stamps:
        method = _method(stamp.retest, american) if stamp.retest else None
        both = method is Method.EDDY_CURRENT and any(_of_same_month(on, test.on) for on in eddy)
        if method is not None and test.method is not method and not both:
            yield _unlike_method(test, method)
    for test in standing(card.requalified):
        of_month = _of_its_month(marks, test)
        methods = [_method(r, american) for r in of_month]
        if Method.EDDY_CURRENT in methods and any(_of_same_month(on, test.on) for on in eddy):
            continue  # VE stands behind one stamp of two tests, 49 CFR 180.213(f)(9)
        if methods and all(methods) and test.method not in methods:
            yield _unlike_method(test, next(filter(None, methods)))
    for test in standing(card.requalified):
        yield from _by_who_only_looks(test)


def _unlike_method(test: Requalified, method: Method) -> Says:
    article = "an" if method.value[0] in "aeiou" else "a"
    text = f"the stamp of {test.on} is that of {article} {method} test, and it says {test.method}"
    mend = "read the stamp again"
    if method is Method.EDDY_CURRENT:
        mend = f"{mend}; a stamp of two tests is of both: record the eddy-current test as well"
    return Says(_place(test), text, mend)


_VISUAL_RIN = pattern(r"V\d{4,6}", re.IGNORECASE)
"""A number of V and more digits than three is for visual inspection only (memory)."""


def _method(retest: Retest, american: bool) -> Method | None:
    """The method that a suffix says; without a RIN on a European shoulder, letters say none."""
    if not (american or retest.rin):
        return None
    # what each letter says is cited at `SUFFIXES` in records/marked.py
    named = {"UE": Method.ULTRASONIC, "VE": Method.EDDY_CURRENT, "AE": Method.ACOUSTIC,
             "S": Method.PROOF, "E": Method.VISUAL}  # fmt: skip
    if _VISUAL_RIN.fullmatch(retest.rin or ""):
        return Method.VISUAL
    return next((named[s] for s in retest.suffixes if s in named), None)


@on_cylinder("stamp-eddy-current", WARN, since="0.2")
def eddy_current_has_a_stamp(
    card: Cylinder, marks: Marks, stamps: tuple[tuple[Requalified, Stamp], ...]
) -> Iterator[Says]:
    """The newest eddy-current test shows its VE, where the stamps of its month are read."""
    every_test = standing(card.requalified)
    tests = [r for r in every_test if r.method is Method.EDDY_CURRENT]
    for test in tests[-1:]:
        others = [r for r in every_test if r is not test and _of_same_month(r.on, test.on)]
        if others and not any((r.by or "") == (test.by or "") for r in others):
            continue  # what is stamped of that month is another house's
        read = [r for r in _of_its_month(marks, test) if r.rin]
        beside = [s.retest for t, s in stamps if s.retest and _of_same_month(t.on, test.on)]
        every = [*read, *beside]
        if every and not any(_method(r, american=True) is Method.EDDY_CURRENT for r in every):
            text = f"no stamp of {test.on} shows its eddy-current test"
            yield Says(
                test.source.at("on"), text, "read the stamp again: VE stands behind the year"
            )


@on_cylinder("stamp-condemned", FAULT, since="0.2", adverse=True)
def stamps_condemn_nothing(
    card: Cylinder, stamps: tuple[tuple[Requalified, Stamp], ...]
) -> Iterator[Says]:
    """No stamp says condemned; an X beside a date, or strokes over it, may say so till it is read
    again."""
    for test, stamp in stamps:
        if stamp.condemned:
            text = f"the stamp `{test.stamp}` says that it is condemned"
            yield Says(_place(test), text, "it never holds gas again: record that")
        elif _is_struck(stamp):
            text = f"the stamp `{test.stamp}` {_STRUCK}"
            yield Says(_place(test), text, "read the stamp again")


_STRUCK = "carries an X or strokes, which may say condemned"


def _is_struck(stamp: Stamp) -> bool:
    """Whether a stamp carries the X of 49 CFR 180.213's drawing, which nobody stamps, or strokes
    that join nothing."""
    suffixes = stamp.retest.suffixes if stamp.retest else ()
    x = any(SUFFIXES.get(s) is MarkKind.SUFFIX_PLACE for s in suffixes)
    folded = fold(stamp.text)[0]
    strokes = _strokes_in(stamp.text) or re.search(r"[-/=~]{2,}", folded)
    crossed = any(Evidence.CONDEMNED in could_be(fold(text)[0]) for text in stamp.unread)
    return x or crossed or strokes is not None


@on_cylinder("stamp-unread", FAULT, since="0.2")
def stamps_are_read(
    card: Cylinder,
    stamps: tuple[tuple[Requalified, Stamp], ...],
    mark_words: Sequence[MarkWords],
) -> Iterator[Says]:
    """All of the stamp of the newest test was read; none says that it was not passed."""
    words = words_that(mark_words, WordSays.CONDEMNED, WordSays.NOT_PASSED)
    newest = stamps[-1][0].on if stamps else None
    for test, stamp in stamps:
        word = said_by(test.stamp or "", words, signs_of_kind(card, mark_words))
        if word and test.result is TestResult.PASS and test.method in PRESSURE_TESTS:
            text = f"the stamp `{test.stamp}` says {word}, and the test is a {test.method} pass"
            yield Says(_place(test), text, "read the stamp again")
        elif newest and test.on.meets(newest) and not stamp.condemned and not word:
            yield from _stamp_unread(test, stamp)


_SAYS = pattern(r"[^\W\d_]{3,}")
"""A word. Signs and figures beside a date without a RIN are the test station's."""


def _stamp_unread(test: Requalified, stamp: Stamp) -> Iterator[Says]:
    if stamp.retest is None:
        why = stamp.doubts[-1] if stamp.doubts else "it could not be read"
        text = f"the stamp `{test.stamp}`: {why}"
        yield Says(_place(test), text, "read the stamp again", severity=WARN)
    strange = [
        each
        for each in stamp.unread
        if plain_serial(each) not in plain_serial(test.by or "")
        and (stamp.retest is None or stamp.retest.rin or _SAYS.search(each))
    ]
    if stamp.retest is not None and strange:
        text = f"the stamp `{test.stamp}` carries `{strange[0]}`, which is not read"
        mend = "write what is stamped, and nothing else, into `stamp:`"
        yield Says(_place(test), text, mend, severity=WARN)


@on_cylinder("plus-unstamped", WARN, since="0.2")
def plus_has_a_stamp(card: Cylinder, plus_is_stamped: bool) -> Iterator[Says]:
    """A plus is seen on the shoulder, or it gives nothing."""
    tests = [r for r in standing(card.requalified) if r.method in PRESSURE_TESTS]
    if tests and tests[-1].plus and not plus_is_stamped:
        text = (
            "its plus mark is typed, and neither `stamp:` nor its marks show it: it gives nothing"
        )
        yield Says(tests[-1].source.at("plus"), text, "write the stamp as read into `stamp:`")


def _place(test: Requalified) -> Where:
    return test.source.at("stamp")
