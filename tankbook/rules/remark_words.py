"""Words that put the gas or the shell of a cylinder in doubt, and whether a reason is understood.

The words stand in `ledger/data/words/remarks.yaml`.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Collection, Iterator, Sequence
from enum import StrEnum
from functools import lru_cache

from tankbook.records.finding import FindingRow
from tankbook.rules.giving_way import says_gas_lost, says_giving_way
from tankbook.rules.harmless import is_harmless, known_words
from tankbook.rules.letting_go import reads_well
from tankbook.rules.wording import (
    denied_behind,
    denied_by,
    plainly,
    says_disc_let_go,
    says_overfilled,
    sets_aside,
    speaks_of_shell,
    spoken_of,
    unread_words,
)
from tankbook.units.lexicon import Lexicon, words_in
from tankbook.units.patterns import pattern

_SAY = Lexicon("remarks")
_DAY = pattern(r"(?:^|(?<=[;.] ))(?=\d{4}-\d\d-\d\d\b)")


def pieces_of(text: str) -> Iterator[tuple[str, dt.date | None]]:
    """A note of no day of its own, piece by piece: `2026-11-20: smelt of oil` says its own day."""
    for piece in filter(None, _DAY.split(text)):
        try:
            yield piece, dt.date.fromisoformat(piece[:10])
        except ValueError:
            yield piece, None


LOOKED_AT = "which somebody has to look at"
IN_DOUBT = "which puts its gas in doubt"
ENDINGS = (LOOKED_AT, IN_DOUBT)
"""How the gate ends what it tells of a note."""


class Misgiving(StrEnum):
    """What a note puts in doubt, by what answers it."""

    SHELL = "shell"
    """That it holds: a look inside that passes it, or a test."""
    MARKED = "marked"
    """That it is whole: a deep mark, a fall; a look that passes it, or a test."""
    UNREAD = "unread"
    """What it is: nobody can read what is stamped into it; a look that passes it, or a test."""
    SOILED = "soiled"
    """Its gas, and what stays behind when that is out: a look inside, or a sample of its air."""
    GAS = "gas"
    """Its gas alone: it is emptied, looked inside, or its air is sampled."""


def says_bad_gas(text: str) -> tuple[Misgiving, str] | None:
    """Whether a text puts the gas of a cylinder in doubt, and by which words.

    >>> says_bad_gas("breathing gas smelt of exhaust")
    (<Misgiving.SOILED: 'soiled'>, 'smelt')
    >>> says_bad_gas("no smell of oil"), says_bad_gas("smell gone after drain and refill")
    (None, None)
    """
    return _bad_gas(text)


@lru_cache(maxsize=4096)
def _bad_gas(text: str) -> tuple[Misgiving, str] | None:
    read = _read(text)
    for doubt in (Misgiving.SOILED, Misgiving.GAS):
        for found in _SAY.phrases(doubt.value).finditer(read):
            if not _is_denied(read, found.start(), found.end()) and not _is_good(read, found):
                return doubt, found[0]
    return None


@lru_cache(maxsize=4096)
def _read(text: str) -> str:
    """A text as it was meant: letters set right, and without what means something else."""
    text = re.sub(r"(?<=\w)-(?=\w)", " ", plainly(text).replace("\n", ". "))
    text = re.sub(r"['\u2019]", " ", text)
    for wrong, right in _SAY.changes("misspelt"):
        text = wrong.sub(right, text)
    text = re.sub(r"\s+", " ", text)
    for name in ("only if", "no meaning"):
        text = _SAY.without(name, text, " . ")
    return re.sub(r"\s+", " ", text).strip()


_CLAUSE_ENDS = r"[.;:!?()\n,]|\b(?:but|though|except|aber|mais|pero|ma|maar)\b"
_CLAUSE = pattern(_CLAUSE_ENDS)


def _is_denied(text: str, start: int, end: int) -> bool:
    """Whether a text denies what it says at a place, or says that it is gone."""
    begin = max((each.end() for each in _CLAUSE.finditer(text[:start])), default=0)
    more, deny = _SAY.words("in a denial"), _SAY.words("denying")
    before = text[begin:start]
    if denied_by(before, text, end, more, deny) or denied_behind(text, end):
        return True
    return _SAY.goes_on("gone", text, end) and not _SAY.holds("back", text[end:])


def _is_good(text: str, found: re.Match[str]) -> bool:
    """Whether a smell or a taste is said to be as it should."""
    behind = re.match(r"(\s+\w+){0,3}?[\s:]+", text[found.end() :])
    if behind is None or not _SAY.phrases("smell").fullmatch(found[0]):
        return False
    return any(
        _SAY.goes_on("good", text, found.end() + each.end())
        for each in re.finditer(r"(?<=[\s:])(?=\w)", text[found.end() :][:_NEAR])
        if not _CLAUSE.search(text[found.end() : found.end() + each.end()].replace(":", " "))
    )


_NEAR = 24
"""The most letters between a smell and the word that calls it good."""


def says_harmed(rows: Sequence[FindingRow], text: str) -> str:
    """The words by which a text says of the shell what is never accepted, or that it may give way;
    or an empty text."""
    grave = (spoken_of(text, row) for row in rows if row.never)
    return next(filter(None, grave), "") or says_giving_way(text)


def says_unread(text: str) -> str:
    """The words by which a text says that what is stamped into a cylinder cannot be read, or is no
    longer as it was stamped; or an empty text.

    >>> says_unread("serial number unreadable"), says_unread("sticker unreadable")
    ('serial number unreadable', '')
    """
    return _not_denied("marks unread", _read(text))


@lru_cache(maxsize=10_000)
def marks_unread(marks: str) -> bool:
    """Whether what stands as the marks of a cylinder says that they, or some, cannot be read.

    >>> [marks_unread(m) for m in ("unreadable", "worn off", "DOT-3AL 3000 K118204 3A24")]
    [True, True, False]
    """
    if not re.search(r"[^\W\d_]{4}", marks):
        return False
    said = (f"{noun} {marks}" for noun in _SAY.listed("of marks"))
    return bool(says_unread(". ".join(said)))


def _not_denied(name: str, read: str) -> str:
    """The first phrase of a list that a text, as it was meant, has and does not deny."""
    every = _SAY.phrases(name).finditer(read)
    return next((f[0] for f in every if not _is_denied(read, f.start(), f.end())), "")


def says_marked(text: str) -> str:
    """The words by which a text says that a shell was marked deeply, or fell; or an empty text.

    >>> says_marked("fell off the truck"), says_marked("deep scratch on the boot")
    ('fell off the truck', '')
    """
    read = _read(text)
    if word := _not_denied("fell", read):
        return word
    for found in _SAY.phrases("deep").finditer(read):
        marks = _SAY.phrases("marks").search(found[0])
        noun = marks[0] if marks else words_in(found[0])[-1]
        if speaks_of_shell(read, noun) and not _is_denied(read, found.start(), found.end()):
            return found[0]
    return ""


def doubts_said(rows: Sequence[FindingRow], text: str) -> Iterator[tuple[Misgiving, str]]:
    """Each doubt that a text raises, with its words: two causes ask for two answers."""
    # whether all is well is asked last: few notes say anything of a shell, and it takes the longest
    if (word := says_harmed(rows, text)) and not reads_well(text):
        yield Misgiving.SHELL, word
    elif not word and (word := says_marked(text)) and not reads_well(text):
        yield Misgiving.MARKED, word
    if word := says_unread(text):
        yield Misgiving.UNREAD, word
    if (found := says_bad_gas(text)) is not None:
        yield found


def is_understood(text: str, rows: Sequence[FindingRow], people: Collection[str] = ()) -> bool:
    """Whether a reason, or a note, says anything that is known here, good or bad.

    Whatever is known is judged by what it says; what is not may be anything.

    Args:
        text: what somebody wrote.
        rows: the findings, and the words by which people write of them.
        people: initials, which say nothing.
    """
    return (
        is_harmless(text, people)
        or reads_well(text)
        or _is_well(text)
        or any(True for _ in doubts_said(rows, text))
        or bool(sets_aside(text) or says_gas_lost(text))
        or any(spoken_of(text, row) for row in rows)
        or says_overfilled(text)
        or says_disc_let_go(text)
        or _is_of_record(text)
    )


def _is_of_record(text: str) -> bool:
    """Whether a text is of papers, marks, dates or owners: a word of these is enough, but for what
    another clause says of a part, or any of what was heard, in words that nobody knows."""
    record = _SAY.words("of record")
    if record.isdisjoint(words_in(text)):
        return False
    known = record | _SAY.words("well") | known_words()
    for clause in _CLAUSES.split(_read(text)):
        words, heard = set(words_in(clause)), _SAY.said("heard", clause)
        part = "" if words & record else _SAY.said("part", clause)
        words = {each for each in words - set(words_in(f"{part} {heard}")) if each.isalpha()}
        if (part or heard) and not words <= known:
            return False
    return True


_CLAUSES = pattern(rf"{_CLAUSE_ENDS}|\b(?:and|und|et|y|e|en)\b")


def _is_well(text: str) -> bool:
    """Whether a text names a part and says in known words alone what is well with it, or what is
    done with one every day."""
    text = _BY_WHOM.sub("", text)
    known = _SAY.words("well") | known_words()
    named = {word for part in _SAY.phrases("part").findall(_read(text)) for word in words_in(part)}
    return bool(named) and (known | named).issuperset(words_in(_read(text)))


_BY_WHOM = pattern(r"\b(?:by|von|par|por|da|door) [A-Z]\w*")


def not_read(text: str, rows: Sequence[FindingRow], people: Collection[str] = ()) -> str:
    """What of a reason nobody reads here: a word in letters of no list, else all of it, where no
    word is known; or an empty text."""
    text = re.sub(r"^incident of [\d-]+: ", "", text)
    return unread_words(text) or ("" if is_understood(text, rows, people) else text)


def part_not_read(text: str, rows: Sequence[FindingRow], people: Collection[str] = ()) -> str:
    """The part of a cylinder, its valve or its gas of which a text says what nobody understands
    here, or an empty text; of anything else it may say what it will.

    >>> part_not_read("valve blorps", ()), part_not_read("valve turns freely, flomp", ())
    ('valve', '')
    """
    text = _SAY.without("own note", text)
    if not _SAY.holds("part", _read(text)) or not not_read(text, rows, people):
        return ""
    clauses = ((_SAY.said("part", _read(c)), c) for c in re.split(r"[.;!?\n,](?=\s|$)", text))
    return next((part for part, c in clauses if part and not_read(c, rows, people)), "")
