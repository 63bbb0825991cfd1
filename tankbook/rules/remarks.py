"""What is noted of a cylinder anywhere that puts its gas or its shell in doubt, and its answers.

A note in passing says no less than a refusal in the same words: whoever wrote `smelt of oil` beside
a reading knew it, and the next one breathes it. Each cause in a note asks for an answer of its own.
The words of the gas stand in `ledger/data/words/remarks.yaml`; those of the shell are read as a
refusal's are.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

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
from tankbook.records.words import InspectionResult, LogAct
from tankbook.rules.air import air_judge
from tankbook.rules.bad_air import sampled_cylinders
from tankbook.rules.counter import OF_NOTE, found_then, looks_inside, refusals_of, tests_passed
from tankbook.rules.fill_history import (
    bled_at,
    lines_about,
    lines_into,
    local_time,
    names_in_log,
    rentals_of,
    sets_with,
)
from tankbook.rules.remark_words import Misgiving, doubts_said, pieces_of
from tankbook.rules.signing import looks
from tankbook.rules.status import ENTRY_LISTS, is_inside
from tankbook.units import PartialDate


class OpenNote(Struct, frozen=True):
    """Something noted that nothing answers.

    Attributes:
        doubt: what it puts in doubt.
        word: the words that do.
        text: all of the note.
        where: what it was noted beside, for people: `a reading of 2026-11-20`.
        on: the day, or None of what has none: a note of the card or of a set.
    """

    doubt: Misgiving
    word: str
    text: str
    where: str
    on: PartialDate | None


# --- where it is noted ---------------------------------------------------------------------------


class _Passage(Struct, frozen=True):
    """A note: where it stands, when, and of what it may speak here."""

    text: str
    where: str
    on: PartialDate | None = None
    at: dt.datetime | None = None
    """The time, in the time of the station, where it is known."""
    doubts: frozenset[Misgiving] = frozenset(Misgiving)
    entry: Entry | None = None


_OF_GAS = frozenset({Misgiving.SOILED, Misgiving.GAS})
_OF_SHELL = frozenset({Misgiving.SHELL, Misgiving.MARKED, Misgiving.UNREAD})
_OF_REFUSED = _OF_GAS | {Misgiving.MARKED}
"""What of a refusal is judged here: of what is never accepted it holds by itself."""


def _dated(text: str, where: str) -> Iterator[_Passage]:
    for piece, on in pieces_of(text):
        yield _Passage(piece, where, PartialDate.of(on) if on else None)


def _notes(book: Book, card: Cylinder) -> Iterator[_Passage]:
    """All that is noted of a cylinder and judged nowhere else; of the log what raises a doubt."""
    if card.note:
        yield from _dated(card.note, "the note of its card")
    for name in sets_with(book).get(card.id, ()):
        if text := book.sets[name].note:
            yield from _dated(text, f"the note of {name}")
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
            yield _Passage(
                text, f"its refusal of {refused.on}", refused.on, _time(refused), _OF_REFUSED
            )
    for line in lines_about(book, card.id):
        if line.note and _doubts(book, line.note):  # few do, of very many
            at = local_time(line.at)
            where = f"the note of a {line.act} of {at.date()}"
            yield _Passage(line.note, where, PartialDate.of(at.date()), at)


_JUDGED = (Requalified, Held, Refused, Labelled, Condemned)
"""Entries whose words are judged where they stand."""


def _of_entry(book: Book, entry: Entry) -> Iterator[_Passage]:
    if isinstance(entry, _JUDGED):
        return
    if isinstance(entry, Inspected) and verdict(entry) is not InspectionResult.PASS:
        return  # it holds until another names it
    on, doubts = entry.on, frozenset(Misgiving)
    if isinstance(entry, Rented) and entry.back is not None:
        on = PartialDate.of(entry.back)
    if isinstance(entry, Cleaned) or (
        isinstance(entry, Inspected) and is_inside(book, entry.checklist)
    ):
        doubts = _OF_SHELL  # it was opened, and what was found in it was seen to or failed
    if isinstance(entry, Rejected):
        doubts = _OF_GAS
    where = f"the note at its `{entry.title}` of {entry.on}"
    texts = [(entry.note, doubts)]
    if isinstance(entry, Inspected):
        texts += [(f.note, doubts) for f in entry.findings if f.what is None]
    if isinstance(entry, Rented):
        texts += [(entry.damage, _OF_GAS)]
    texts += [(getattr(entry, key, None), doubts) for key in ("o_rings", "found_why")]
    for text, of in texts:
        if text:
            yield _Passage(text, where, on, _time(entry), of, entry)


def _time(entry: Entry) -> dt.datetime | None:
    at = getattr(entry, "at", None)
    known = isinstance(at, dt.time) and entry.on.day is not None
    return dt.datetime.combine(entry.on.first, at) if known and isinstance(at, dt.time) else None


# --- what nothing answers ------------------------------------------------------------------------


@once_per_book
def remarks_open(book: Book, card: Cylinder) -> tuple[OpenNote, ...]:
    """What is noted of a cylinder that puts it in doubt and that nothing answers, each doubt of a
    note by itself, in the order in which it is noted."""
    return tuple(_open(book, card))


def notes_answered(book: Book, card: Cylinder) -> frozenset[str]:
    """The notes of a cylinder that put it in doubt, each doubt of which was answered since."""
    found = set()
    for said in _notes(book, card):
        doubts = [doubt for doubt, _ in _doubts(book, said.text) if doubt in said.doubts]
        if doubts and all(_is_answered(book, card, said, doubt) for doubt in doubts):
            found.add(said.text)
    return frozenset(found)


def _open(book: Book, card: Cylinder) -> Iterator[OpenNote]:
    for said in _notes(book, card):
        own, told = said.text, ""
        if isinstance(said.entry, Rented) and own.startswith(HAPPENED):
            own, _, told = own.partition("; against it:")
        doubts = [(*each, own) for each in _doubts(book, own)]
        for piece in filter(None, OF_NOTE.sub("", told).split("; ")):
            every = [(*each, piece) for each in _doubts(book, piece)]
            doubts += [d for d in every if not _is_elsewhere(book, card, said, d[1])]
        for doubt, word, text in doubts:
            if doubt in said.doubts and not _is_answered(book, card, said, doubt):
                yield OpenNote(doubt, word, text, said.where, said.on)


def _is_elsewhere(book: Book, card: Cylinder, said: _Passage, word: str) -> bool:
    """Whether a word that the program wrote into a note, of what stood against a fact then, stands
    elsewhere in the records of a cylinder too, where it is judged: what somebody wrote behind that
    does not."""
    sets = [book.sets[name] for name in sets_with(book).get(card.id, ())]
    every = repr((card, sets, refusals_of(book, card), lines_about(book, card.id)))
    return word.casefold() in every.replace(repr(said.entry), "").casefold()


@once_per_book
def _doubts(book: Book, text: str) -> tuple[tuple[Misgiving, str], ...]:
    return tuple(doubts_said(book.finding_rows, text))


def _is_answered(book: Book, card: Cylinder, said: _Passage, doubt: Misgiving) -> bool:
    if said.on is None:
        return False
    since, until = said.on.first, said.on.last
    for look in looks_inside(book, card):
        named = look.on.first >= since and any(c.on == said.on for c in look.clears)
        if look is not said.entry and (look.on.first > until or named or _is_later(look, said)):
            return True
    if doubt in _OF_SHELL:
        if any(test.on.first > until for test in tests_passed(card)):
            return True
        seen = looks(book, card) if doubt is not Misgiving.SHELL else ()
        return any(look.on.first > until or _is_later(look, said) for look in seen)
    if _is_sampled(book, card, until):
        return True
    return doubt is Misgiving.GAS and _is_emptied(book, card, said, until)


def _is_later(look: Inspected, said: _Passage) -> bool:
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


def _is_emptied(book: Book, card: Cylinder, said: _Passage, until: dt.date) -> bool:
    """Whether the gas that it was said of is out."""
    own, last = names_in_log(book, card.id), dt.datetime.combine(until, dt.time.max)
    when = [
        local_time(n.at) for n in lines_about(book, card.id) if is_empty(n.to) and n.cylinder in own
    ]
    when += bled_at(book, card)
    when += [
        dt.datetime.combine(r.back, dt.time.max)
        for r in standing(card.rented)
        if r.back and is_empty(r.pressure) and r is not said.entry
    ]
    if said.at is not None:
        return any(each.replace(tzinfo=None) > said.at.replace(tzinfo=None) for each in when)
    # of its own day it was drained after what was in it then
    fills = [local_time(n.at) for n in lines_into(book, card.id) if n.act is LogAct.FILL]
    again = [each.replace(tzinfo=None) for each in fills if each.date() == until]
    since = [each.replace(tzinfo=None) for each in when]
    return any(
        each > last or (each.date() == until and all(each > fill for fill in again))
        for each in since
    )


def wanted(doubt: Misgiving) -> str:
    """What answers a doubt, for people."""
    return {
        Misgiving.SHELL: "a look inside that passes it later, or a test of a later day, answers it",
        Misgiving.MARKED: "a look that passes it later, or a test of a later day, answers it",
        Misgiving.UNREAD: (
            "read it against its papers: a look that passes it later, or a test of a later day, "
            "answers it"
        ),
        Misgiving.SOILED: (
            "empty it, have it looked inside and cleaned: a look inside that passes it later "
            "answers that, or a sample of its own air that passes"
        ),
        Misgiving.GAS: (
            "drain it to 0 and log that (`tankbook drain`): that answers it, as does a look "
            "inside that passes it later, or a sample of its own air that passes"
        ),
    }[doubt]
