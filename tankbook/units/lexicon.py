"""Lists of words and phrases, one lexicon to a subject, and how their lines are read.

The lists stand in `ledger/data/words`, one file to a subject. Most of them are words that people
write, in the languages of those who sign. A list is made ready when it is first asked for; asking
again costs a look into a table. In a line of phrases

- `|` stands between phrases that say one thing, and `(a|b)` between parts of one; `(a )?` may be
  left out,
- `burn*` is `burn` with any ending,
- `_` is any blank space, where a blank is one blank,
- `<part>` is any phrase of the list `part` of the same file,
- `~` at its beginning or end lets a word go on there; else a phrase stands whole,

and all else is as in regular expressions.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from functools import cache

from tankbook.units.patterns import Sought, pattern
from tankbook.units.shipped import needles, words

Needles = Sequence[Sequence[str]]

_SIGNS = pattern(
    r"\\.\*?|\[\^?\]?(?:\\.|[^\]\\])*\]"  # what is escaped, and sets of letters, stay
    r"|(?P<group>\((?!\?))|(?P<ending>(?<=[^\W\d_])\*)|(?P<blank>_)"
    r"|(?<!\(\?)(?<!\(\?P)<(?P<part>[a-z ]+)>"
)

_SPELT = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss"})
_APART = pattern(r"[^a-z0-9/&#%+]+")
_LEFT_OUT = pattern(r"(?<=[a-z]{3})['\u2019\u00b4`](?=[dlnr](?![a-z]))")
"""What stands for letters within a word that is shortened: `Mat'l`, `Manuf'd`; no `l'air`."""


def plain_words(text: str) -> str:
    """A text in small letters without accents and dots, its words apart by one blank.

    >>> plain_words("Prüf-Datum (Nächste)"), plain_words("Mat'l"), plain_words("Date d'achat")
    ('pruef datum naechste', 'matl', 'date d achat')
    """
    small = unicodedata.normalize("NFC", text).casefold().translate(_SPELT)
    bare = "".join(c for c in unicodedata.normalize("NFD", small) if not unicodedata.combining(c))
    return _APART.sub(" ", _LEFT_OUT.sub("", bare)).strip()


class Lexicon:
    """The words and phrases of one subject.

    Args:
        subject: the name of its file.
        flags: how its phrases are looked for, as of `re`; capitals and small letters are one
            unless another says so.
    """

    __slots__ = ("_flags", "_phrases", "_shapes", "_subject")

    def __init__(self, subject: str, flags: int = re.IGNORECASE) -> None:
        self._subject, self._flags = subject, flags
        self._phrases: dict[str, Sought] = {}
        self._shapes: dict[str, Sought] = {}

    def __contains__(self, name: str) -> bool:
        """Whether there is a list of this name."""
        return name in words()[self._subject]

    def words(self, *names: str) -> frozenset[str]:
        """The words of some lists, which stand apart by blanks or by `|`."""
        return _words(self._subject, names)

    def listed(self, name: str) -> tuple[str, ...]:
        """The words and phrases of a list in their order, which stand apart by commas."""
        return _listed(self._subject, name)

    def phrases(self, name: str) -> Sought:
        """What finds any phrase of a list, each of them whole: no word goes on where one ends."""
        made = self._phrases.get(name)
        if made is None:
            lines, needed = lines_written(self._subject, name), needles()[self._subject][name]

            def of(chosen: Sequence[int]) -> re.Pattern[str]:
                each = (_whole(self._subject, lines[place]) for place in chosen)
                return re.compile("|".join(each), self._flags)

            names_parts = any("(?P<" in line for line in lines)
            made = Sought(lambda _: of(range(len(lines))), _any(needed)) if names_parts else None
            made = self._phrases[name] = made or Sought(of, needed)
        return made

    def text(self, name: str) -> str:
        """The expression for any line of a list, wherever it begins or ends: to build on."""
        return _part(self._subject, name)

    def shape(self, name: str) -> Sought:
        """What finds any line of a list, wherever it begins or ends; the parts that it names are
        there, whichever line is found."""
        made = self._shapes.get(name)
        if made is None:
            made = self._shapes[name] = Sought(
                lambda _: re.compile(self.text(name), self._flags),
                _any(needles()[self._subject][name]),
            )
        return made

    def changes(self, name: str) -> tuple[tuple[re.Pattern[str], str], ...]:
        """What a list has on each line before `=>`, and what is written in its place."""
        return _changes(self._subject, name, self._flags)

    def said(self, name: str, text: str) -> str:
        """The first phrase of a list that stands in a text, as it is written there, or an empty
        text."""
        found = self.phrases(name).search(text)
        return found[0] if found else ""

    def holds(self, name: str, text: str) -> bool:
        """Whether any phrase of a list stands in a text."""
        return self.phrases(name).search(text) is not None

    def goes_on(self, name: str, text: str, at: int) -> bool:
        """Whether a text goes on at a place with a phrase of a list."""
        return self.phrases(name).match(text, at) is not None

    def without(self, name: str, text: str, instead: str = " ") -> str:
        """A text with something else in the place of every phrase of a list."""
        return self.phrases(name).sub(instead, text)


def _any(needed: Needles) -> Needles:
    """What all lines as one must hold: the parts that one of them names are asked of any."""
    return [[each for line in needed for each in line] if all(needed) else []]


def words_in(text: str) -> list[str]:
    """The words of a text in small letters, figures among them, without what stands between."""
    return re.findall(r"[^\W_]+", text.casefold())


def lines_written(subject: str, name: str) -> Sequence[str]:
    """A list as it is written, line by line."""
    return words()[subject][name]


@cache
def _words(subject: str, names: tuple[str, ...]) -> frozenset[str]:
    lines = (line.replace("|", " ") for name in names for line in lines_written(subject, name))
    return frozenset(word for line in lines for word in line.split())


@cache
def _listed(subject: str, name: str) -> tuple[str, ...]:
    return tuple(each for line in lines_written(subject, name) for each in line.split(", "))


def _whole(subject: str, line: str) -> str:
    before, behind = ("" if open_ else r"\b" for open_ in (line[0] == "~", line[-1] == "~"))
    return f"{before}(?:{spelt(subject, line.strip('~'))}){behind}"


@cache
def _part(subject: str, name: str) -> str:
    return f"(?:{'|'.join(spelt(subject, line) for line in lines_written(subject, name))})"


@cache
def _changes(subject: str, name: str, flags: int) -> tuple[tuple[re.Pattern[str], str], ...]:
    halves = (re.split(r" => ?", line) for line in lines_written(subject, name))
    made = ((spelt(subject, old, group="("), new) for old, new in halves)
    return tuple((re.compile(rf"\b(?:{old})", flags), f" {new} ") for old, new in made)


def spelt(subject: str, line: str, group: str = "(?:") -> str:
    """A line as an expression: groups of its own find no name for what they hold."""

    def sign(found: re.Match[str]) -> str:
        if found["part"]:
            return _part(subject, found["part"])
        kind = {"group": group, "ending": r"\w*", "blank": r"\s+"}
        return kind.get(found.lastgroup or "", found[0])

    return _SIGNS.sub(sign, line)
