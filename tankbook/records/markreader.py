"""A line of stamp marks while it is being read: what was found so far, and what that tells.

The line is read in capitals and with single blanks, so that neither case nor spacing has a say.
"""

from __future__ import annotations

import datetime as dt
import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from functools import cached_property, lru_cache
from typing import TypeAlias

from msgspec import Struct, field

from tankbook.records.marked import BARE, SUFFIXES, MarkedValue, MarkKind, Token
from tankbook.records.markevidence import could_be, is_north_american
from tankbook.records.stampdate import MarkedDate
from tankbook.units import PartialDate
from tankbook.units.patterns import pattern

NO_SHAPE = "fits no known mark"

_SUFFIX_KINDS = frozenset(SUFFIXES.values())
_LOOKS = str.maketrans("–—‐‑−×✕✖ХхΧχ★☆∗⁎＋|", "-----XXXXXXX****+;")
"""Dashes, crosses, stars, pluses and bars as they are typed, and what each is read as."""
_CROSS = pattern(
    "CROSS|SALTIRE|BALLOT (?:BOX WITH )?X|MULTIPLICATION|N-ARY TIMES|CIRCLED TIMES"
    "|CANCELLATION X|X IN A|SUPERIMPOSED X|SQUARED TIMES|CIRCLED (?:DIVISION SLASH|REVERSE SOLIDUS)"
    "|CIRCLED LATIN CAPITAL LETTER X$|SQUARED LATIN CAPITAL LETTER X$|NO ENTRY"
    "|HEAVY VERTICAL AND HORIZONTAL"
)
"""Names of signs that are crosses, in boxes or alone, or that forbid."""


def fold(line: str) -> tuple[str, list[int]]:
    """`line` in capitals with single blanks, and where each character of that stands in `line`."""
    text: list[str] = []
    places: list[int] = []
    for place, each in enumerate(line.translate(_LOOKS)):
        if not each.isspace():
            text.append(_capital(each))
        elif text and text[-1] != " ":
            text.append(" ")
        else:
            continue
        places.append(place)
    return "".join(text).rstrip(), places


def spans_of(text: str, names: tuple[str, ...]) -> list[tuple[int, int]]:
    """Where some names stand whole in a text, the longest that fits at each place; both are in
    capitals already."""
    return [m.span() for m in _any_name(names).finditer(text)] if names else []


@lru_cache(maxsize=256)
def _any_name(names: tuple[str, ...]) -> re.Pattern[str]:
    shapes = {r"[\W_]{1,3}".join(re.findall(r"[^\W_]+", name)) for name in names} - {""}
    longest_first = "|".join(sorted(shapes, key=lambda s: (-len(s), s)))
    return re.compile(rf"(?<![^\W_])(?:{longest_first})(?![^\W_])")


def is_part_of(part: tuple[int, int], spans: Iterable[tuple[int, int]], word: str) -> bool:
    """Whether what stands at `part` belongs to a longer name, or is the one word of one."""
    size, alone = part[1] - part[0], re.search(r"[\W_]", word) is None
    return any(a <= part[0] and part[1] <= b and (alone or b - a > size) for a, b in spans)


def _capital(each: str) -> str:
    """One capital; `ı` and `ſ`, whose capitals are I and S, stay what they are."""
    if not each.isascii() and _CROSS.search(unicodedata.name(each, "")):
        return "X"
    wide = unicodedata.normalize("NFKC", each)  # letters as wide as a cell
    each = wide if len(wide) == 1 and wide.isascii() else each
    capital = each.upper()
    return capital if len(capital) == 1 and capital.isascii() == each.isascii() else each


class Piece(Struct, eq=False):
    """A mark being read, and where it stands in the folded line.

    `found` is what a date or a pressure is made of, until the whole line says how to read it.
    """

    kind: MarkKind
    text: str
    start: int
    end: int
    value: MarkedValue = None
    note: str = ""
    doubt: bool = False
    found: re.Match[str] | None = None

    def unread(self, note: str) -> None:
        """It could not be read, and why."""
        self.kind, self.value, self.note, self.found = MarkKind.UNREAD, None, note, None
        self.doubt = False

    def doubted(self, note: str) -> None:
        """It was read, and should not be relied on."""
        self.note, self.doubt = "; ".join(filter(None, (self.note, note))), True


class MarkReader(Struct, dict=True):
    """The line, how far it was read, and what was found.

    Attributes:
        line: the line as given.
        first: month of the first test, where it is known from elsewhere.
        today: a test dated later is left open.
        stamp: the line is known to be one retest stamp.
        serial: the serial number, where it is known from elsewhere and is no date by its shape.
        names: what is known to stand there as a name, or as a sign beside a date.
        pieces: the marks found, in order.
    """

    line: str
    first: PartialDate | None = None
    today: dt.date | None = None
    stamp: bool = False
    serial: str = ""
    names: tuple[str, ...] = ()
    pieces: list[Piece] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.text, self.places = fold(self.line)
        self.named = spans_of(self.text, tuple(fold(name)[0] for name in self.names))

    def add(
        self,
        kind: MarkKind,
        start: int,
        end: int,
        value: MarkedValue = None,
        note: str = "",
        *,
        doubt: bool = False,
        found: re.Match[str] | None = None,
    ) -> None:
        """A mark from `start` to `end`; what stands between it and the one before joins them."""
        self.join(start)
        self.pieces.append(Piece(kind, self.text[start:end], start, end, value, note, doubt, found))

    def take(
        self,
        found: re.Match[str],
        kind: MarkKind,
        value: MarkedValue = None,
        note: str = "",
        *,
        later: bool = False,
    ) -> bool:
        """The whole of a match as one mark; `later` keeps it till the line is read. True."""
        self.add(kind, *found.span(), value, note, found=found if later else None)
        return True

    def join(self, end: int) -> None:
        """What stands unread before `end` joins two marks: hyphens, slashes, commas."""
        start = self.pieces[-1].end if self.pieces else 0
        for each in re.finditer("[^ ]", self.text[start:end]):
            at = start + each.start()
            self.pieces.append(Piece(MarkKind.JOINT, each[0], at, at + 1))

    def of(self, *kinds: MarkKind) -> Iterator[Piece]:
        """The pieces of these kinds, in order."""
        return (p for p in self.pieces if p.kind in kinds)

    def has(self, *kinds: MarkKind) -> bool:
        """Whether there is a piece of one of these kinds."""
        return any(self.of(*kinds))

    @property
    def last(self) -> Piece | None:
        """The piece before, joints and what stands after a date left out."""
        passed = {MarkKind.JOINT, *_SUFFIX_KINDS}
        return next((p for p in reversed(self.pieces) if p.kind not in passed), None)

    def beside(self, piece: Piece, step: int) -> Piece | None:
        """The piece next to this one, before (-1) or after (1), joints and suffixes left out."""
        place = self.pieces.index(piece) + step
        passed = {MarkKind.JOINT, *_SUFFIX_KINDS}
        while 0 <= place < len(self.pieces):
            if self.pieces[place].kind not in passed:
                return self.pieces[place]
            place += step
        return None

    @cached_property
    def specs(self) -> tuple[str, ...]:
        """Every specification read, once the line was read to its end."""
        values = [p.value for p in self.of(MarkKind.SPECIFICATION)]
        return tuple(n for v in values if isinstance(v, tuple) for n in v)

    @property
    def american(self) -> bool:
        """A US or Canadian mark was read: dates of the maker are month, then year."""
        return any(is_north_american(s) or s in BARE for s in self.specs)

    def by_now(self, when: MarkedDate, *, retest: bool) -> MarkedDate:
        """The date of a test done; left open where it is later than today."""
        date = when.date
        if self.today is None or date is None or date.first <= self.today:
            return when
        other = ", or the month of the next test" if retest else ""
        note = f"in doubt: {date} is later than today, {self.today}; misread{other}"
        return MarkedDate(None, None, (date,), note)

    def tokens(self) -> tuple[Token, ...]:
        """What was read, as it stands in the line that was given."""
        return tuple(map(self._token, self.pieces))

    def _token(self, piece: Piece) -> Token:
        start, end = self.places[piece.start], self.places[piece.end - 1] + 1
        unread = piece.kind is MarkKind.UNREAD
        return Token(
            piece.kind,
            self.line[start:end],
            start,
            piece.value,
            piece.note,
            doubt=piece.doubt,
            could_be=could_be(piece.text) if unread else frozenset(),
        )


Take: TypeAlias = Callable[[MarkReader, re.Match[str]], bool]
"""Adds the marks of a match, or returns False to leave it to the next shape."""
Shape: TypeAlias = tuple[str, Take]
"""A shape of marks by its name in the list of them, and what is made of it."""


def unread(note: str) -> Take:
    """A shape that could be several things, and why it is left unread."""
    return lambda reader, found: reader.take(found, MarkKind.UNREAD, note=note)


def later(kind: MarkKind) -> Take:
    """A shape that is read once the whole line is known."""
    return lambda reader, found: reader.take(found, kind, later=True)
