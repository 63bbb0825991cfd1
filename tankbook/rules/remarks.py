"""What is noted of a cylinder anywhere that puts its gas or its shell in doubt, and what answers it.

A note in passing says no less than a refusal in the same words: whoever wrote `smelt of oil` beside
a reading knew it, and the next one breathes it. Each cause in a note asks for an answer of its own.
The words of the gas stand in `ledger/data/words/remarks.yaml`; those of the shell are read as a
refusal's are.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from enum import StrEnum
from functools import lru_cache

from msgspec import Struct

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import (
    Cleaned,
    Condemned,
    Entry,
    Held,
    Inspected,
    Labelled,
    Refused,
    Rejected,
    Rented,
    Requalified,
    standing,
)
from tankbook.records.kinds import is_empty
from tankbook.records.life import verdict
from tankbook.records.log import HAPPENED
from tankbook.records.station import that_stand
from tankbook.records.words import InspectionResult
from tankbook.rules.air import air_judge
from tankbook.rules.bad_air import sampled_cylinders
from tankbook.rules.clearing import kinds_said
from tankbook.rules.counter import found_then, looks_inside, refusals_of, tests_passed
from tankbook.rules.fill_history import (
    let_out_at,
    lines_about,
    local_time,
    names_in_log,
    rentals_of,
    sets_with,
)
from tankbook.rules.giving_way import says_giving_way
from tankbook.rules.letting_go import reads_well
from tankbook.rules.signing import SigningRules, bench_of, looks
from tankbook.rules.status import ENTRY_LISTS, is_inside
from tankbook.rules.wording import (
    denied_behind,
    denied_by,
    plainly,
    speaks_of_shell,
    spoken_of,
)
from tankbook.units import PartialDate
from tankbook.units.lexicon import Lexicon, words_in

_SAY = Lexicon("remarks")


class Doubt(StrEnum):
    """What a note puts in doubt, by what answers it."""

    SHELL = "shell"
    """That it holds: a look inside that passes it, or a test."""
    MARKED = "marked"
    """That it is whole: a deep mark, a fall; a look that passes it, or a test."""
    SOILED = "soiled"
    """Its gas, and what stays behind when that is out: a look inside, or a sample of its air."""
    GAS = "gas"
    """Its gas alone: it is emptied, looked inside, or its air is sampled."""


class Remark(Struct, frozen=True):
    """Something noted that nothing answers.

    Attributes:
        doubt: what it puts in doubt.
        word: the words that do.
        where: what it was noted beside, for people: `a reading of 2026-11-20`.
        on: the day, or None of what has none: a note of the card or of a set.
    """

    doubt: Doubt
    word: str
    where: str
    on: PartialDate | None


# --- what the words say --------------------------------------------------------------------------


def says_bad_gas(text: str) -> tuple[Doubt, str] | None:
    """Whether a text puts the gas of a cylinder in doubt, and by which words.

    >>> says_bad_gas("breathing gas smelt of exhaust")
    (<Doubt.SOILED: 'soiled'>, 'smelt')
    >>> says_bad_gas("no smell of oil"), says_bad_gas("smell gone after drain and refill")
    (None, None)
    """
    return _bad_gas(text)


@lru_cache(maxsize=4096)
def _bad_gas(text: str) -> tuple[Doubt, str] | None:
    read = _read(text)
    for doubt in (Doubt.SOILED, Doubt.GAS):
        for found in _SAY.phrases(doubt.value).finditer(read):
            if not _is_denied(read, found.start(), found.end()) and not _is_good(read, found):
                return doubt, found[0]
    return None


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


_CLAUSE = re.compile(r"[.;:!?()\n,]|\b(?:but|though|except|aber|mais|pero|ma|maar)\b")


def _is_denied(text: str, start: int, end: int) -> bool:
    """Whether a text denies what it says at a place, or says that it is gone."""
    begin = max((each.end() for each in _CLAUSE.finditer(text[:start])), default=0)
    more, deny = _SAY.words("in a denial"), _SAY.words("denying")
    before = text[begin:start]
    if denied_by(before, text, end, more, deny) or denied_behind(text, end):
        return True
    return _SAY.goes_on("gone", text, end)


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


def says_harmed(bench: SigningRules, text: str) -> str:
    """The words by which a text says of the shell what is never accepted, or that it may give way;
    or an empty text."""
    grave = (spoken_of(text, row) for row in bench.grave)
    return next(filter(None, grave), "") or says_giving_way(text)


def says_marked(text: str) -> str:
    """The words by which a text says that a shell was marked deeply, or fell; or an empty text.

    >>> says_marked("fell off the truck"), says_marked("deep scratch on the boot")
    ('fell off the truck', '')
    """
    read = _read(text)
    for found in _SAY.phrases("fell").finditer(read):
        if not _is_denied(read, found.start(), found.end()):
            return found[0]
    for found in _SAY.phrases("deep").finditer(read):
        marks = _SAY.phrases("marks").search(found[0])
        noun = marks[0] if marks else words_in(found[0])[-1]
        if speaks_of_shell(read, noun) and not _is_denied(read, found.start(), found.end()):
            return found[0]
    return ""


def doubts_said(bench: SigningRules, text: str) -> Iterator[tuple[Doubt, str]]:
    """Each doubt that a text raises, with its words: two causes ask for two answers."""
    if not reads_well(text):
        if word := says_harmed(bench, text):
            yield Doubt.SHELL, word
        elif word := says_marked(text):
            yield Doubt.MARKED, word
    if (found := says_bad_gas(text)) is not None:
        yield found


# --- where it is noted ---------------------------------------------------------------------------


class _Said(Struct, frozen=True):
    """A note: where it stands, when, and of what it may speak here."""

    text: str
    where: str
    on: PartialDate | None = None
    at: dt.datetime | None = None
    """The time, in the time of the station, where it is known."""
    doubts: frozenset[Doubt] = frozenset(Doubt)
    entry: Entry | None = None


_OF_GAS = frozenset({Doubt.SOILED, Doubt.GAS})
_OF_SHELL = frozenset({Doubt.SHELL, Doubt.MARKED})
_OF_REFUSED = _OF_GAS | {Doubt.MARKED}
"""What of a refusal is judged here: of what is never accepted it holds by itself."""


def _own_words(text: str) -> str:
    """A note without what the program wrote into it: what stood against a fact then."""
    return text.split("; against it:")[0] if text.startswith(HAPPENED) else text


def _notes(book: Book, card: Cylinder) -> Iterator[_Said]:
    """All that is noted of a cylinder and judged nowhere else."""
    if card.note:
        yield _Said(card.note, "the note of its card")
    for name in sets_with(book).get(card.id, ()):
        if text := book.sets[name].note:
            yield _Said(text, f"the note of {name}")
        for made in standing(book.sets[name].made_up):
            yield from _of_entry(book, made)
    for work in card.valve_.serviced if card.valve_ else ():
        if work.void is None:
            yield from _of_entry(book, work)
    for name in ENTRY_LISTS:
        if name != "rented":
            for entry in standing(getattr(card, name)):
                yield from _of_entry(book, entry)
    for rental in standing(rentals_of(book, card.id)):
        yield from _of_entry(book, rental)
    for refused in refusals_of(book, card):
        for text in found_then(book, refused, card):
            yield _Said(
                text, f"its refusal of {refused.on}", refused.on, _time(refused), _OF_REFUSED
            )
    for line in lines_about(book, card.id):
        if line.note:
            at = local_time(line.at)
            where = f"the note of a {line.act} of {at.date()}"
            yield _Said(line.note, where, PartialDate.of(at.date()), at)


_JUDGED = (Requalified, Held, Refused, Labelled, Condemned)
"""Entries whose words are judged where they stand."""


def _of_entry(book: Book, entry: Entry) -> Iterator[_Said]:
    if isinstance(entry, _JUDGED):
        return
    if isinstance(entry, Inspected) and verdict(entry) is not InspectionResult.PASS:
        return  # it holds until another names it
    on, doubts = entry.on, frozenset(Doubt)
    if isinstance(entry, Rented) and entry.back is not None:
        on = PartialDate.of(entry.back)
    if isinstance(entry, Cleaned) or (
        isinstance(entry, Inspected) and is_inside(book, entry.checklist)
    ):
        doubts = _OF_SHELL  # it was opened, and what was found in it was seen to or failed
    if isinstance(entry, Rejected):
        doubts = _OF_GAS
    where = f"the note of its {entry.title} of {entry.on}"
    texts = [(entry.note, doubts)]
    if isinstance(entry, Inspected):
        texts += [(f.note, doubts) for f in entry.findings if f.what is None]
    if isinstance(entry, Rented):
        texts += [(entry.damage, _OF_GAS)]
    texts += [(getattr(entry, key, None), doubts) for key in ("o_rings", "found_why")]
    for text, of in texts:
        if text:
            yield _Said(text, where, on, _time(entry), of, entry)


def _time(entry: Entry) -> dt.datetime | None:
    at = getattr(entry, "at", None)
    known = isinstance(at, dt.time) and entry.on.day is not None
    return dt.datetime.combine(entry.on.first, at) if known and isinstance(at, dt.time) else None


# --- what nothing answers ------------------------------------------------------------------------


@once_per_book
def remarks_open(book: Book, card: Cylinder) -> tuple[Remark, ...]:
    """What is noted of a cylinder that puts it in doubt and that nothing answers, each doubt of a
    note by itself, in the order in which it is noted."""
    return tuple(_open(book, card))


def _open(book: Book, card: Cylinder) -> Iterator[Remark]:
    bench = bench_of(book)
    for said in _notes(book, card):
        for doubt, word in doubts_said(bench, _own_words(said.text)):
            if doubt in said.doubts and not _is_answered(book, card, said, doubt):
                yield Remark(doubt, word, said.where, said.on)


def _is_answered(book: Book, card: Cylinder, said: _Said, doubt: Doubt) -> bool:
    if said.on is None:
        return False
    since, until = said.on.first, said.on.last
    for look in looks_inside(book, card):
        named = look.on.first >= since and any(c.on == said.on for c in look.clears)
        if look is not said.entry and (look.on.first > until or named or _is_later(look, said)):
            return True
    if doubt in _OF_SHELL:
        seen = looks(book, card) if doubt is Doubt.MARKED else ()
        return any(i.on.first > until or _is_later(i, said) for i in seen) or any(test.on.first > until for test in tests_passed(card))
    if _is_sampled(book, card, until):
        return True
    return doubt is Doubt.GAS and _is_emptied(book, card, said, until)


def _is_later(look: Inspected, said: _Said) -> bool:
    """Whether a look came later on the day of a note, by the hours of both."""
    at = _time(look)
    return at is not None and said.at is not None and at > said.at.replace(tzinfo=None)


def _is_sampled(book: Book, card: Cylinder, after: dt.date) -> bool:
    """Whether its own air was sampled on a later day, and passed."""
    station = book.station
    if station is None:
        return False
    judge = air_judge(book)
    return any(
        test.on > after and judge.opens(station, test) and card.id in sampled_cylinders(book, test)
        for test in that_stand(station.air_tests)
    )


def _is_emptied(book: Book, card: Cylinder, said: _Said, until: dt.date) -> bool:
    """Whether the gas that it was said of is out."""
    own, last = names_in_log(book, card.id), dt.datetime.combine(until, dt.time.max)
    when = [local_time(n.at) for n in lines_about(book, card.id) if is_empty(n.to) and n.cylinder in own]
    when += let_out_at(book, card)
    when += [
        dt.datetime.combine(r.back, dt.time.max)
        for r in standing(card.rented)
        if r.back and is_empty(r.pressure) and r is not said.entry
    ]
    if said.at is not None:
        return any(each.replace(tzinfo=None) > said.at.replace(tzinfo=None) for each in when)
    return any(each.replace(tzinfo=None) > last or each.date() == until for each in when)


def wanted(doubt: Doubt) -> str:
    """What answers a doubt, for people."""
    return {
        Doubt.SHELL: "a look inside that passes it later, or a test of a later day, answers that",
        Doubt.MARKED: "a look that passes it later, or a test of a later day, answers that",
        Doubt.SOILED: (
            "empty it, have it looked inside and cleaned: a look inside that passes it later "
            "answers that, or a sample of its own air that passes"
        ),
        Doubt.GAS: (
            "drain it to 0 and log that (`tankbook drain`): that answers it, as does a look "
            "inside that passes it later, or a sample of its own air that passes"
        ),
    }[doubt]


# --- what is not understood ----------------------------------------------------------------------


def names_a_part(text: str) -> str:
    """The part of a cylinder, its valve or its gas that a text names, or an empty text."""
    return _SAY.said("part", _read(text))

