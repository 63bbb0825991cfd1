"""Texts without the initials, references and names of people, for pages that anybody may read.

What people write into reasons is free, so a name is looked for as people write it: whatever its
capitals and accents, initials with points, a part of a whole name. Where a text would quote a file
that cannot be read, nobody knows what it says, so only the place of it is told.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from tankbook.output.as_json import values_of
from tankbook.records.book import Book
from tankbook.records.entries import HandedOver, Rented
from tankbook.records.fields import Record
from tankbook.records.rulerow import RuleRow
from tankbook.rules.holding import is_of_customer
from tankbook.units.lexicon import Lexicon
from tankbook.units.patterns import pattern

WHO = "[who]"
CUSTOMER = "[customer]"
_SIGNED = frozenset({"by", "initials", "saw", "who", "operator"})
_CUSTOMER = frozenset({"owner", "reference"})
_TOLD = frozenset({"told", "consent", "card"})
"""What is written freely and may say who: of it the whole is looked for, and what looks a name."""


class Unnamed:
    """Takes what names people out of texts."""

    def __init__(
        self, book: Book, *, initials: bool, customers: bool, contacts: Iterable[str] = ()
    ) -> None:
        """`initials` leaves those who sign, `customers` whose a cylinder is or who had it.

        `contacts` are names and telephone numbers; those never stay, whatever is left.
        """
        known = {*book.cylinders, *book.sets, *book.broken}
        signed, customer = _people(book)
        said = {n: WHO for n in signed if not initials}
        said |= {n: CUSTOMER for n in customer if not customers}
        said = {n: word for n, word in said.items() if n not in known}
        said |= dict.fromkeys(contacts, CUSTOMER)
        if not customers:
            said |= {i: CUSTOMER for i in sorted(known) if is_of_customer(book, i)}
        shapes: dict[str, _Shape] = {}
        for name in sorted(said, key=lambda n: (-len(n), n)):
            for letters, shape in _shapes(name, small=said[name] == CUSTOMER):
                shapes.setdefault(shape, _Shape(_bare(letters), shape, said[name]))
        self._shapes = sorted(shapes.values(), key=lambda each: -len(each.shape))
        quoted = {str(f): str(f.where) for f in book.findings}
        self._quoted = sorted(quoted.items(), key=lambda each: -len(each[0]))
        self._done: dict[str, str] = {}

    def __call__(self, text: str) -> str:
        """The text with a word in place of each name."""
        if text not in self._done:
            self._done[text] = self._without(text)
        return self._done[text]

    def _without(self, text: str) -> str:
        for quoted, where in self._quoted:
            text = text.replace(quoted, where)
        plain, places = _plain(text)
        bare = _bare(plain)
        near = [each for each in self._shapes if each.letters in bare]
        if not near:
            return text
        every = "|".join(f"({each.shape})" for each in near)
        left, end = [], 0
        for found in re.finditer(rf"{_BEFORE}(?:{every}){_AFTER}", plain):
            if found.lastindex is None or _OURS.match(plain, found.start()):
                continue
            left += [text[end : places[found.start()]], near[found.lastindex - 1].said]
            end = places[found.end()]
        return "".join([*left, text[end:]])


class _Shape(NamedTuple):
    """A way to write a name: its bare letters, the pattern, and the word in its place."""

    letters: str
    shape: str
    said: str


def _bare(plain: str) -> str:
    """The letters and digits of a text alone, whatever their case."""
    return "".join(filter(str.isalnum, plain)).casefold()


# --- how a name may be written

_BEFORE, _AFTER = r"(?<![^\W_])", r"(?![^\W_])"
_OURS = pattern(
    r"(?:DO NOT FILL|NOT READ|NOT ON RECORD|OUT OF USE|NO\b(?=:)|CO2?\b(?= [\d.]+ ppm))"
)
"""What a page says in capitals itself, and no initials."""
_UNIT = r"(?!\s?(?:psi|bar|L|kg|lb|%|h|ppm|deg\w*|cuft|mm|hours?|days?|months?|years?)(?!\w))"
_WORDS = Lexicon("unnamed")


def _is_ordinary(word: str) -> bool:
    """Whether it is no name where it is written small."""
    return word.casefold() in _WORDS.words("ordinary", "names")


def _plain(text: str) -> tuple[str, list[int]]:
    """A text without accents, and of each of its letters the place in the text."""
    letters: list[str] = []
    places: list[int] = []
    for place, sign in enumerate(text):
        for part in _parted(sign):
            letters.append(part)
            places.append(place)
    return "".join(letters), [*places, len(text)]


def _parted(sign: str) -> str:
    if sign.isascii():
        return sign
    parted = unicodedata.normalize("NFKD", _SPELT.get(sign, sign))
    return "".join(c for c in parted if not unicodedata.combining(c))


_SPELT = {
    "ß": "ss", "ẞ": "SS", "ø": "o", "Ø": "O", "ł": "l", "Ł": "L", "đ": "d", "Đ": "D", "æ": "ae",
    "Æ": "AE", "œ": "oe", "Œ": "OE", "þ": "th", "Þ": "TH", "ð": "d", "Ð": "D", "ı": "i",
    "\N{NON-BREAKING HYPHEN}": "-", "\N{EN DASH}": "-", "\N{RIGHT SINGLE QUOTATION MARK}": "'",
}  # fmt: skip
_UMLAUTS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "Ä": "Ae", "Ö": "Oe", "Ü": "Ue"})


def _shapes(name: str, *, small: bool) -> Iterator[tuple[str, str]]:
    """The patterns by which a name is found in a text without accents, each after its letters.

    A part of a whole name is looked for where it begins with a capital, and `small` ones too: who
    signs may be a firm, whose name consists of words.
    """
    composed = unicodedata.normalize("NFC", name)
    for spelt in dict.fromkeys((composed, composed.translate(_UMLAUTS))):
        plain = _plain(spelt)[0].strip()
        words = re.findall(r"[^\W_]+", plain)
        if not words:
            continue
        if _is_ordinary(plain) and not _is_initials(plain):
            if plain[:1].isupper():  # a capital tells it from the word
                yield plain, re.escape(plain)
            continue
        yield plain, _whole(plain, words)
        if len(words) > 1 and not any(c.isdigit() for c in plain):
            for word in (w for w in words if len(w) > 2):
                ordinary = _is_ordinary(word)
                if word[0].islower() or word.casefold() in _WORDS.words("of firms"):
                    continue
                if small and not ordinary:
                    yield word, _part(word)
                else:
                    yield word, f"(?:{word}|{word.upper()})"
            if all(w[0].isupper() for w in words):
                first = "".join(w[0] for w in words)
                yield first, _initials(first)


def _whole(plain: str, words: list[str]) -> str:
    if len(words) == 1 and plain.isdigit():
        return rf"(?<![\d.:/-]){plain}(?![.:/-]?\d){_UNIT}"
    if _is_initials(plain):
        return _initials(plain)
    if len("".join(words)) < 4:
        return re.escape(plain)
    joined = r"[\W_]{0,3}".join(map(re.escape, words))
    return rf"(?i:{joined})"


def _is_initials(plain: str) -> bool:
    return plain.isalpha() and plain.isupper() and len(plain) < 4


def _initials(letters: str) -> str:
    """`MV`, `M.V.`, `M. V.`, `mv`; small only where they are no word."""
    spaced = r"\.\s?".join(letters) + r"\.?"
    small = letters.lower()
    also = rf"|{small}|{small.capitalize()}" if not _is_ordinary(small) and len(letters) > 1 else ""
    return rf"(?:{letters}|(?i:{spaced}){also})" if len(letters) > 1 else rf"(?:{letters}\.?)"


def _part(word: str) -> str:
    """A part of a name; a short one, which may be part of what is said, by its capital alone."""
    if len(word) > 3:
        return f"(?i:{re.escape(word)})"
    return rf"(?:{word.capitalize()}|{word.upper()}|{re.escape(word)})"


# --- who is named


def _people(book: Book) -> tuple[set[str], set[str]]:
    signed = {*book.settings.people, *filter(None, [book.settings.operator])}
    customer: set[str] = set()
    cards = (book.settings, *book.cylinders.values(), *book.every_set.values())
    of_station = (each for each in (book.station, book.counter) if each is not None)
    rows = (row for each in book.rule_sets for row in each.every_row)
    for record in (*cards, *of_station, *book.bookings, *rows):
        for kind, text in _names(record):
            (customer if kind == CUSTOMER else signed).add(text)
    for line in book.log:
        signed.update(filter(None, (line.by, line.analysed_by)))
    return signed - _NOBODY, customer - _NOBODY


_NOBODY = frozenset({"", "maker"})
"""Who signs and is nobody: a first test is its maker's."""


def _names(record: Record) -> Iterator[tuple[str, str]]:
    """What names people in a record, with what it is of them."""
    for name, value in values_of(record):
        if name in _SIGNED or (name.endswith("_by") and not isinstance(record, RuleRow)):
            yield from ((WHO, text) for text in _texts(value))
        elif name in _CUSTOMER or (name == "to" and isinstance(record, Rented | HandedOver)):
            yield from ((CUSTOMER, text) for text in _texts(value))
        elif name in _TOLD and isinstance(value, str):
            yield from ((CUSTOMER, each) for each in (value, *_capitalised(value)) if " " in each)
        elif isinstance(value, Record):
            yield from _names(value)
        elif isinstance(value, Mapping):
            yield from _within(value.values())
        elif isinstance(value, tuple):
            yield from _within(value)


def _capitalised(text: str) -> Iterator[str]:
    """Two or more words in a row that begin with a capital: `Ana Roe` of `told Ana Roe twice`."""
    yield from (found[0] for found in _TWO_CAPITALS.finditer(text))


_TWO_CAPITALS = pattern(r"\b[A-ZÀ-ÖØ-Þ][\w'.-]*(?: [A-ZÀ-ÖØ-Þ][\w'.-]*)+")


def _within(values: Iterable[Any]) -> Iterator[tuple[str, str]]:
    for value in values:
        if isinstance(value, Record):
            yield from _names(value)


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        yield from (each for each in value if isinstance(each, str))
