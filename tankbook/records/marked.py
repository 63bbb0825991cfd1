"""What stamp marks are made of: kinds of mark, tokens, retests, and what each kind means."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar, TypeAlias

from tankbook.records.fields import TEXT, ListOf, Nested, OneOf, Record, key
from tankbook.records.rulerow import VERIFIED, Verified
from tankbook.records.stampdate import MarkedDate
from tankbook.units import GaugePressure, Length, Mass, PartialDate, Volume


class MarkKind(StrEnum):
    """What a mark is."""

    SPECIFICATION = "specification"
    SERVICE_PRESSURE = "service-pressure"
    TEST_PRESSURE = "test-pressure"
    SERIAL = "serial"
    MAKER = "maker"
    INSPECTOR = "inspector"
    FIRST_TEST = "first-test"
    RETEST = "retest"
    DATE = "date"
    LIFE_END = "life-end"
    CONDEMNED = "condemned"
    PLUS = "plus"
    STAR = "star"
    PROOF = "proof"
    EXTERNAL = "external"
    SHELL = "shell"
    ULTRASONIC = "ultrasonic"
    ACOUSTIC = "acoustic-emission"
    EDDY_CURRENT = "eddy-current"
    STRENGTH = "strength"
    SUFFIX_PLACE = "suffix-place"
    EXPANSION_REJECT = "ree"
    MASS = "mass"
    WATER_VOLUME = "water-volume"
    WALL = "wall"
    ALLOY = "alloy"
    THREAD = "thread"
    CONFORMITY = "conformity"
    UNDERWATER = "underwater"
    UNREAD = "unread"


SUFFIXES = {
    "+": MarkKind.PLUS,
    "*": MarkKind.STAR,
    "★": MarkKind.STAR,
    "☆": MarkKind.STAR,
    "S": MarkKind.PROOF,
    "E": MarkKind.EXTERNAL,
    "FS": MarkKind.SHELL,
    "UE": MarkKind.ULTRASONIC,
    "AE": MarkKind.ACOUSTIC,
    "VE": MarkKind.EDDY_CURRENT,
    "F": MarkKind.STRENGTH,
    "X": MarkKind.SUFFIX_PLACE,
}
"""Marks after a date: 49 CFR 180.213(f), 2015 edition; `F` German, a trade page. Both read."""


@dataclass(frozen=True, slots=True)
class Retest:
    """A requalification stamp: month, year, who (RIN, None where none is stamped), and suffixes."""

    month: int | None
    year: int | None
    rin: str | None = None
    suffixes: tuple[str, ...] = ()
    when: MarkedDate = MarkedDate(None, None)

    @property
    def plus(self) -> bool:
        """The stamp carries a plus mark."""
        return "+" in self.suffixes

    @property
    def star(self) -> bool:
        """The stamp carries a star mark."""
        return any(SUFFIXES.get(s) is MarkKind.STAR for s in self.suffixes)


Value: TypeAlias = (
    str
    | tuple[str, ...]
    | float
    | GaugePressure
    | MarkedDate
    | Retest
    | Mass
    | Volume
    | Length
    | None
)


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkMeaning(Record):
    """What one kind of mark means, and how that is known."""

    title: ClassVar[str] = "mark meaning"
    kind: MarkKind = key(OneOf(MarkKind), "The kind of mark.", "plus", required=True)
    says: str = key(TEXT, "What it says.", "may be filled 10 % over", required=True)
    citation: str = key(TEXT, "Where it stands.", "49 CFR 180.213(f)(3)", required=True)
    edition: str | None = key(TEXT, "Edition read.", "2015 annual edition")
    verified: Verified = key(VERIFIED, "How it is known.", "read", required=True)
    grade: str | None = key(TEXT, "Source: A official, B official but old, C secondary.", "B")
    note: str | None = key(TEXT, "What else to know.", "belongs to one test date")


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkTable(Record):
    """The shipped meanings of marks."""

    title: ClassVar[str] = "meanings of marks"
    marks: tuple[MarkMeaning, ...] = key(
        ListOf(Nested(MarkMeaning)), "The rows.", "[...]", required=True
    )


def shown(text: str) -> str:
    """`text` with what a terminal could obey, or not show, escaped: `\\x1b[2J`."""
    return "".join(c if c.isprintable() else ascii(c)[1:-1] for c in text)


@dataclass(frozen=True, slots=True)
class Token:
    """One mark: its kind, its text, where it stands in the line (characters from 0), its value.

    `note` says what is in doubt, or by what the kind was told; `doubt` that it was read and should
    not be relied on; `meaning` is None where no row speaks of the kind.
    """

    kind: MarkKind
    text: str
    start: int
    value: Value = None
    note: str = ""
    meaning: MarkMeaning | None = None
    doubt: bool = False

    @property
    def shown(self) -> str:
        """Its text, fit for a screen: control characters come out escaped."""
        return shown(self.text)

    @property
    def open_date(self) -> bool:
        """It is a date, and the stamp leaves its month or year open."""
        when = self.value.when if isinstance(self.value, Retest) else self.value
        return isinstance(when, MarkedDate) and when.date is None

    @property
    def end(self) -> int:
        """Where it ends: the first character after it."""
        return self.start + len(self.text)


@dataclass(frozen=True, slots=True)
class Marks:
    """The marks of one line, in the order written."""

    line: str
    tokens: tuple[Token, ...]

    def of(self, kind: MarkKind) -> Iterator[Token]:
        """The tokens of one kind."""
        return (t for t in self.tokens if t.kind is kind)

    @property
    def specifications(self) -> tuple[str, ...]:
        """Every specification marked, as `DOT-3AL`, `DOT-SP 12079`, `UN ISO 7866`."""
        found: dict[str, None] = {}
        for token in self.of(MarkKind.SPECIFICATION):
            if isinstance(token.value, tuple):
                found.update(dict.fromkeys(token.value))
        return tuple(found)

    @property
    def service_pressures(self) -> tuple[GaugePressure, ...]:
        """Every service (working) pressure marked; a dual mark gives one in psi and one in bar."""
        return tuple(
            t.value
            for t in self.of(MarkKind.SERVICE_PRESSURE)
            if isinstance(t.value, GaugePressure)
        )

    @property
    def service_pressure(self) -> GaugePressure | None:
        """The first service pressure marked."""
        return next(iter(self.service_pressures), None)

    @property
    def test_pressure(self) -> GaugePressure | None:
        """The first test pressure marked."""
        values = (t.value for t in self.of(MarkKind.TEST_PRESSURE))
        return next((v for v in values if isinstance(v, GaugePressure)), None)

    @property
    def serial(self) -> str | None:
        """The serial number."""
        return next((t.text for t in self.of(MarkKind.SERIAL)), None)

    @property
    def first_date(self) -> PartialDate | None:
        """The month of the first test, where the stamp leaves no doubt."""
        values = (t.value for t in self.of(MarkKind.FIRST_TEST))
        return next((v.date for v in values if isinstance(v, MarkedDate)), None)

    @property
    def retests(self) -> tuple[Retest, ...]:
        """The requalification stamps in the order written."""
        return tuple(t.value for t in self.of(MarkKind.RETEST) if isinstance(t.value, Retest))

    @property
    def condemned(self) -> bool:
        """CONDEMNED, or a row of X: 49 CFR 180.205(i)(2), 2015 annual edition (read, grade B)."""
        return any(self.of(MarkKind.CONDEMNED))

    @property
    def unread(self) -> tuple[Token, ...]:
        """What could not be read."""
        return tuple(self.of(MarkKind.UNREAD))

    @property
    def doubts(self) -> tuple[str, ...]:
        """What is open: each unread mark, each date left open, and each mark in doubt."""
        return tuple(
            f"`{t.shown}`: {t.note or 'not read'}"
            for t in self.tokens
            if t.kind is MarkKind.UNREAD or t.open_date or t.doubt
        )
