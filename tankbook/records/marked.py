"""What stamp marks are made of: kinds of mark, tokens, retests, and what each kind means."""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from typing import ClassVar, TypeAlias, TypeVar

from msgspec import Struct

from tankbook.records.fields import TEXT, ListOf, Nested, OneOf, Record, key
from tankbook.records.markevidence import Evidence
from tankbook.records.rulerow import VERIFIED, Verified
from tankbook.records.stampdate import MarkedDate
from tankbook.records.words import Material, Service
from tankbook.units import GaugePressure, Length, Mass, PartialDate, Volume


class MarkKind(StrEnum):
    """What a mark is."""

    SPECIFICATION = "specification"
    SERVICE_PRESSURE = "service-pressure"
    TEST_PRESSURE = "test-pressure"
    SERIAL = "serial"
    MAKER = "maker"
    NAME = "name"
    SIZE = "size"
    COUNTRY = "country"
    STATION = "station"
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
    JOINT = "joint"
    UN_NUMBER = "un-number"
    UNREAD = "unread"


SUFFIXES = {
    "+": MarkKind.PLUS,
    "*": MarkKind.STAR,
    "S": MarkKind.PROOF,
    "E": MarkKind.EXTERNAL,
    "FS": MarkKind.SHELL,
    "UE": MarkKind.ULTRASONIC,
    "AE": MarkKind.ACOUSTIC,
    "VE": MarkKind.EDDY_CURRENT,
    "F": MarkKind.STRENGTH,
    "X": MarkKind.SUFFIX_PLACE,
}
"""Marks after a date: 49 CFR 180.213(f), 2015 edition; `F` German, a trade page. Both read.

Every shape of a star (★, ☆) is read as `*`.
"""


class Retest(Struct, frozen=True):
    """A requalification stamp.

    Attributes:
        month: 1 to 12, or None where the stamp leaves it open.
        year: four digits, or None.
        rin: the requalifier's number, or None where none is stamped or it is open.
        suffixes: what stands after the year, in order: `+`, `*`, `S`, `E`, `UE`, `VE`, ...
        when: the date with every reading of it.
        station: the mark of a test station that has no RIN, or the inspector's sign.
        rin_could_be: every reading of a RIN whose order is open; empty where `rin` is read.
    """

    month: int | None
    year: int | None
    rin: str | None = None
    suffixes: tuple[str, ...] = ()
    when: MarkedDate = MarkedDate(None, None)
    station: str | None = None
    rin_could_be: tuple[str, ...] = ()

    @property
    def plus(self) -> bool:
        """The stamp carries a plus mark."""
        return "+" in self.suffixes

    @property
    def star(self) -> bool:
        """The stamp carries a star mark."""
        return any(SUFFIXES.get(s) is MarkKind.STAR for s in self.suffixes)


BARE = frozenset(("3A", "3AA", "3AX", "3AAX", "3AL", "3HT", "3AM", "3AAM", "3AXM", "3AAXM", "3ALM"))
"""Specifications that are known by their name where no authority is marked before it."""

_V = TypeVar("_V")

MarkedValue: TypeAlias = (
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


class MarkMeaning(Record, frozen=True, kw_only=True):
    """What one kind of mark means, and how that is known."""

    title: ClassVar[str] = "mark meaning"
    kind: MarkKind = key(OneOf(MarkKind), "The kind of mark.", "plus", required=True)
    says: str = key(TEXT, "What it says.", "may be filled 10 % over", required=True)
    citation: str = key(TEXT, "Where it stands.", "49 CFR 180.213(f)(3)", required=True)
    edition: str | None = key(TEXT, "Edition read.", "2015 annual edition")
    verified: Verified = key(VERIFIED, "How it is known.", "read", required=True)
    grade: str | None = key(TEXT, "Source: A official, B official but old, C secondary.", "B")
    note: str | None = key(TEXT, "What else to know.", "belongs to one test date")


class WordSays(StrEnum):
    """What words on a shoulder, or in a stamp, say."""

    CONDEMNED = "condemned"
    IN_DOUBT = "in-doubt"
    NOT_PASSED = "not-passed"
    NOTHING = "nothing"
    COUNTRY = "country"
    GAS = "gas"
    MATERIAL = "material"
    SIGN = "sign"
    ROLE = "role"


class MarkWords(Record, frozen=True, kw_only=True):
    """Words of a shoulder that say one thing, and how that is known."""

    title: ClassVar[str] = "words of a shoulder"
    says: WordSays = key(OneOf(WordSays), "What they say.", "condemned", required=True)
    words: tuple[str, ...] = key(
        ListOf(TEXT),
        "The words; `*` stands for any ending, `#` for a number.",
        "[cracked, drilled]",
        required=True,
    )
    fits: tuple[Service, ...] = key(
        ListOf(OneOf(Service)), "Services of a card that words for a gas agree with.", "[oxygen]"
    )
    against: tuple[Service, ...] = key(
        ListOf(OneOf(Service)), "Services of a card that words for a gas contradict.", "[air]"
    )
    material: Material | None = key(
        OneOf(Material), "What words for a material say it is made of.", "composite"
    )
    citation: str = key(TEXT, "Where it stands.", "common practice, no source", required=True)
    verified: Verified = key(VERIFIED, "How it is known.", "memory", required=True)
    note: str | None = key(TEXT, "What else to know.", "in German")


class MarkTable(Record, frozen=True, kw_only=True):
    """The shipped meanings of marks."""

    title: ClassVar[str] = "meanings of marks"
    marks: tuple[MarkMeaning, ...] = key(
        ListOf(Nested(MarkMeaning)), "The rows.", "[...]", required=True
    )
    words: tuple[MarkWords, ...] = key(ListOf(Nested(MarkWords)), "The words.", "[...]")


def shown_text(text: str) -> str:
    """`text` with what a terminal could obey, or not show, escaped: `\\x1b[2J`."""
    return "".join(c if c.isprintable() else ascii(c)[1:-1] for c in text)


class Token(Struct, frozen=True):
    """One mark: its kind, its text, where it stands in the line (characters from 0), its value.

    `note` says what is in doubt, or by what the kind was told; `doubt` that it was read and should
    not be relied on; `meaning` is None where no row speaks of the kind. `could_be` is what an
    unread mark may hide, by its shape; it is empty for every other kind.
    """

    kind: MarkKind
    text: str
    start: int
    value: MarkedValue = None
    note: str = ""
    meaning: MarkMeaning | None = None
    doubt: bool = False
    could_be: frozenset[Evidence] = frozenset()

    @property
    def shown(self) -> str:
        """Its text, fit for a screen: control characters come out escaped."""
        return shown_text(self.text)

    @property
    def open_date(self) -> bool:
        """It is a date, and the stamp leaves its month or year open."""
        when = self.value.when if isinstance(self.value, Retest) else self.value
        return isinstance(when, MarkedDate) and when.date is None

    @property
    def end(self) -> int:
        """Where it ends: the first character after it."""
        return self.start + len(self.text)


class Marks(Struct, frozen=True):
    """The marks of one line, in the order written.

    Every character that is no blank is in one token, hyphens and commas between marks included
    (`MarkKind.JOINT`).
    """

    line: str
    tokens: tuple[Token, ...]

    def of(self, kind: MarkKind) -> Iterator[Token]:
        """The tokens of one kind."""
        return (t for t in self.tokens if t.kind is kind)

    def doubted(self, kind: MarkKind) -> bool:
        """Whether a mark of this kind was read in doubt, or is a date left open."""
        return any(t.doubt or t.open_date for t in self.of(kind))

    def _values(self, kind: MarkKind, of: type[_V]) -> tuple[_V, ...]:
        return tuple(t.value for t in self.of(kind) if isinstance(t.value, of))

    @property
    def specifications(self) -> tuple[str, ...]:
        """Every specification marked with who sets it: `DOT-3AL`, `DOT-SP 12079`, `UN ISO 7866`."""
        names = (n for each in self._values(MarkKind.SPECIFICATION, tuple) for n in each)
        return tuple(dict.fromkeys(n for n in names if n not in BARE))

    @property
    def bare_specifications(self) -> tuple[str, ...]:
        """Names without DOT, ICC, CTC or TC before them: `3AA`. Who set it is not marked."""
        names = (n for each in self._values(MarkKind.SPECIFICATION, tuple) for n in each)
        return tuple(dict.fromkeys(n for n in names if n in BARE))

    @property
    def service_pressures(self) -> tuple[GaugePressure, ...]:
        """Every service (working) pressure marked; a dual mark gives one in psi and one in bar.

        They may be in doubt: `doubted(MarkKind.SERVICE_PRESSURE)`.
        """
        return self._values(MarkKind.SERVICE_PRESSURE, GaugePressure)

    @property
    def service_pressure(self) -> GaugePressure | None:
        """The first service pressure marked."""
        return next(iter(self.service_pressures), None)

    @property
    def test_pressures(self) -> tuple[GaugePressure, ...]:
        """Every test pressure marked as one. None of them is ever a working pressure."""
        return self._values(MarkKind.TEST_PRESSURE, GaugePressure)

    @property
    def test_pressure(self) -> GaugePressure | None:
        """The first test pressure marked."""
        return next(iter(self.test_pressures), None)

    @property
    def serial(self) -> str | None:
        """The serial number, in capitals."""
        return next((v for v in self._values(MarkKind.SERIAL, str)), None)

    @property
    def makers(self) -> tuple[str, ...]:
        """Names and makers' symbols, in capitals: `EXAMPLE CYLINDER CO`, `XY`, `M1004`."""
        told = (t for t in self.tokens if t.kind in {MarkKind.MAKER, MarkKind.NAME})
        return tuple(t.value for t in told if isinstance(t.value, str))

    @property
    def first_test(self) -> MarkedDate | None:
        """The month of the first test, with every reading of it where it is open."""
        return next(iter(self._values(MarkKind.FIRST_TEST, MarkedDate)), None)

    @property
    def first_date(self) -> PartialDate | None:
        """The month of the first test, where the stamps leave no doubt."""
        tokens = self.of(MarkKind.FIRST_TEST)
        sure = (t.value for t in tokens if isinstance(t.value, MarkedDate) and not t.doubt)
        return next((v.date for v in sure), None)

    @property
    def first_suffixes(self) -> tuple[str, ...]:
        """What stands after the first test; its plus may stand behind the service pressure."""
        found: list[str] = []
        owner = None
        for token in self.tokens:
            if token.kind not in SUFFIXES.values():
                owner = token.kind
            elif owner in {MarkKind.FIRST_TEST, MarkKind.SERVICE_PRESSURE}:
                found.append(str(token.value))
        return tuple(dict.fromkeys(found))

    @property
    def first_plus(self) -> bool:
        """The first test carries a plus."""
        return "+" in self.first_suffixes

    @property
    def dates(self) -> tuple[MarkedDate, ...]:
        """Dates of tests: whether of the first one or of a later one, the stamps do not say."""
        return self._values(MarkKind.DATE, MarkedDate)

    @property
    def retests(self) -> tuple[Retest, ...]:
        """The requalification stamps in the order written."""
        return self._values(MarkKind.RETEST, Retest)

    @property
    def life_end(self) -> MarkedDate | None:
        """The month in which its life ends, with every reading of it where it is open."""
        return next(iter(self._values(MarkKind.LIFE_END, MarkedDate)), None)

    @property
    def volume(self) -> Volume | None:
        """The first water volume marked; `12L` and `10.0L` are volumes, and sizes of the trade."""
        return next(iter(self._values(MarkKind.WATER_VOLUME, Volume)), None)

    @property
    def mass(self) -> Mass | None:
        """The first empty mass marked."""
        return next(iter(self._values(MarkKind.MASS, Mass)), None)

    @property
    def sizes(self) -> tuple[str, ...]:
        """Size words of the trade, in capitals: `S80`, `AL80`, `HP100`."""
        return self._values(MarkKind.SIZE, str)

    @property
    def threads(self) -> tuple[str, ...]:
        """Neck threads as marked: `M25x2`, `25P`, `3/4-14 NPSM`."""
        return self._values(MarkKind.THREAD, str)

    @property
    def condemned(self) -> bool:
        """CONDEMNED, or a row of X: 49 CFR 180.205(i)(2), 2015 annual edition (read, grade B)."""
        return any(self.of(MarkKind.CONDEMNED))

    @property
    def struck(self) -> tuple[Token, ...]:
        """The unread marks that could be an X over a specification or a pressure."""
        return tuple(t for t in self.unread if Evidence.CONDEMNED in t.could_be)

    @property
    def is_blank(self) -> bool:
        """It gives nothing that a card could be held against."""
        return not (
            self.specifications
            or self.bare_specifications
            or self.service_pressures
            or self.test_pressures
            or self.first_test
            or self.dates
            or self.retests
        )

    @property
    def condemned_in_doubt(self) -> bool:
        """It is condemned, and only by marks that want reading again: till then it stays so."""
        return self.condemned and all(t.doubt for t in self.of(MarkKind.CONDEMNED))

    @property
    def unread(self) -> tuple[Token, ...]:
        """What could not be read."""
        return tuple(self.of(MarkKind.UNREAD))

    @property
    def unread_evidence(self) -> tuple[Token, ...]:
        """The unread marks that could be a pressure, a date, a specification or a row of X."""
        return tuple(t for t in self.unread if t.could_be)

    @property
    def doubts(self) -> tuple[str, ...]:
        """What is open: each unread mark, each date left open, and each mark in doubt."""
        return self.doubts_beside("")

    def doubts_beside(self, serial: str) -> tuple[str, ...]:
        """The same, but for an unread mark that somebody read as the `serial`."""
        said = _bare(serial)
        return tuple(
            f"`{t.shown}`: {t.note or 'not read'}"
            for t in self.tokens
            if (t.kind is MarkKind.UNREAD and not (said and _bare(t.text) == said))
            or (t.kind is not MarkKind.UNREAD and (t.open_date or t.doubt))
        )


class Stamp(Struct, frozen=True):
    """One retest stamp as typed beside a test.

    `retest` is None where no stamp could be read; `doubts` says why not, and what else stands
    there unread or open. It is empty only where all of the text was read without doubt. `unread`
    is what of it was not read.
    """

    text: str
    retest: Retest | None
    doubts: tuple[str, ...] = ()
    condemned: bool = False
    unread: tuple[str, ...] = ()


def _bare(text: str) -> str:
    """The letters and figures of a mark, as one word in capitals."""
    return "".join(c for c in text.upper() if c.isalnum())
