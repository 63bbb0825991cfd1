"""The dispatch note: what went to one place on one day, as known then, and what came of it."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from enum import StrEnum

from msgspec import Struct
from msgspec.structs import replace

from tankbook.acts.bleeding import BLEED_IT, TAKEN_FOR_FULL
from tankbook.acts.open_against import open_against
from tankbook.acts.walk import told
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import (
    HEARD_OUT,
    Condemned,
    Inspected,
    Requalified,
    Sent,
    standing,
)
from tankbook.records.kinds import EMPTY, holds_gas
from tankbook.records.log import LogLine
from tankbook.records.rulerow import Obligation
from tankbook.records.words import (
    AskedThere,
    Bled,
    InspectionResult,
    LogAct,
    Method,
    SentFor,
    Status,
    StepResult,
    TestResult,
)
from tankbook.rules.answers import Due, State
from tankbook.rules.as_it_was import AsItWas, as_it_was, without_struck
from tankbook.rules.conditions import cleaned_for
from tankbook.rules.fill_history import lines_about, standings, struck_out_lines, void_key
from tankbook.rules.gate import adverse_of, may_fill
from tankbook.rules.labels import found_since
from tankbook.rules.old_alloy import said_of
from tankbook.rules.schedule import due_of_cylinder
from tankbook.rules.tested import PRESSURE_TESTS, latest_pressure_test
from tankbook.rules.volume import size_word
from tankbook.units import PartialDate, time_of_day

WORK_THERE = {Obligation.VISUAL, Obligation.EDDY_CURRENT}
"""What whoever tests a cylinder can do besides: told where it is due as well."""


DONE_BY = {
    AskedThere.HYDRO: PRESSURE_TESTS,
    AskedThere.VISUAL: frozenset({Method.VISUAL}),
    AskedThere.EDDY_CURRENT: frozenset({Method.EDDY_CURRENT}),
}
"""The tests that are what was asked; cleaning and valve work are done, and have no result."""


class CameBack(StrEnum):
    """What became of a cylinder that was sent."""

    AWAY = "still away"
    PASSED = "passed"
    FAILED = "FAILED"
    CONDEMNED = "CONDEMNED"
    DONE = "back, done as asked"
    PART = "back, not all that was asked is on record"
    BACK = "back, no result on record"


class SentItem(Struct, frozen=True):
    """A cylinder on a note: `card` as it was known when it went, `now` as it is known today.

    `asked` is what was said to be asked, else the test it was sent for; `due` what is due
    besides.
    `look_at` are the findings that stood open against it, and what its last inspection noted.
    """

    card: Cylinder
    now: Cylinder
    sent: Sent
    size: str
    last_test: Requalified | None
    asked: tuple[AskedThere, ...]
    due: tuple[Due, ...]
    look_at: tuple[str, ...]
    was: AsItWas
    beware: tuple[str, ...]
    """What is against breathing what it held, of that day or found since where it is still away."""
    cleaned_for: str
    alloy: str
    tests: tuple[Requalified, ...]
    unsure: tuple[Requalified, ...]
    """Those of the tests that may be of another time it was away: a month names no stay."""
    looks: tuple[Inspected, ...]
    work: frozenset[AskedThere]
    """What was asked that is no test, and is on record as done in that time."""
    condemned: Condemned | None
    stands: Status
    states: tuple[Status, ...]
    """Every state it is in now, the gravest first, which is how it stands."""
    filled: LogLine | None = None
    """The last fill that is logged of it since it was bled, or while it was away, or reading that
    showed gas."""

    @property
    def came(self) -> CameBack:
        """What became of it."""
        if self.condemned is not None:
            return CameBack.CONDEMNED
        last = {t.method: t for t in self.tests}.values()  # one that was made again counts
        looked = self.looks[-1:]
        if any(t.result is TestResult.FAIL for t in last) or any(
            i.result is not InspectionResult.PASS for i in looked
        ):
            return CameBack.FAILED
        if self.sent.back is None:
            return CameBack.AWAY
        if not (self.tests or looked or self.work):
            return CameBack.BACK
        done = {t.method for t in last if t not in self.unsure} | (
            {Method.VISUAL} if looked else set()
        )
        if not all(each in self.work or done & DONE_BY.get(each, set()) for each in self.asked):
            return CameBack.PART
        return CameBack.PASSED if self.tests or looked else CameBack.DONE

    @property
    def emptied(self) -> str:
        """How it is known to be empty, or that it has to be taken for full: what was filled on the
        day that it was bled may have been filled after that."""
        if (fill := self.filled) is not None:
            how = "filled" if fill.act is LogAct.FILL else "read"
            to = f" {'to' if fill.act is LogAct.FILL else 'at'} {fill.to}" if fill.to else ""
            when = f"{fill.at:%Y-%m-%d} at {time_of_day(fill.at):%H:%M}"
            bled = ", bled or not" if self.sent.bled in HEARD_OUT else ""
            said = f"it was {how}{to} on {when} by the log{bled}"
            return f"TAKE IT FOR FULL: {said}: before the valve comes off, {BLEED_IT}"
        match self.sent.bled:
            case Bled.HEARD:
                return "bled, the flow heard until it stopped"
            case Bled.LEFT_OPEN:
                return "bled, and its valve left open"
            case Bled.UNDER_CONTROL:
                return "opened under control as if full: nothing is in it"
            case Bled.NO_FLOW:
                return f"TAKE IT FOR FULL: {TAKEN_FOR_FULL}"
        if self.was.held.no_flow:
            return f"TAKE IT FOR FULL: {TAKEN_FOR_FULL}"
        pressure = self.was.held.pressure
        if pressure is not None and pressure < EMPTY:
            return f"empty on record; before the valve comes off, {BLEED_IT}"
        return f"NOT ON RECORD AS EMPTY: before the valve comes off, {BLEED_IT}"


class Sending(Struct, frozen=True):
    """A cylinder as it is known now, and its entry of having been sent."""

    card: Cylinder
    sent: Sent


class DispatchNote(Struct, frozen=True):
    """What went to one place on one day.

    Day and place are what it is known by, whatever else is entered of that day or struck out:
    `name` is how it is asked for, `2026-11-24`, or `2026-11-24#northside` where another is of that
    day.
    """

    on: PartialDate
    to: str
    items: tuple[Sending, ...]
    name: str

    @property
    def by(self) -> tuple[str, ...]:
        """Who sent it."""
        return tuple(dict.fromkeys(i.sent.by for i in self.items if i.sent.by))

    @property
    def for_(self) -> tuple[SentFor, ...]:
        """What for."""
        return tuple(dict.fromkeys(i.sent.for_ for i in self.items))

    @property
    def away(self) -> tuple[Sending, ...]:
        """What has not come back."""
        return tuple(i for i in self.items if i.sent.back is None)


def place_word(place: str) -> str:
    """A place as a word to type: its letters and figures, `northside-hydro`; what has none stays
    as it is written."""
    return "-".join(re.findall(r"[^\W_]+", place.casefold())) or place


class CountedIn(Struct, frozen=True):
    """What was counted in, held against a note.

    `not_on_it` has each that is not on the note, with what is known of it; `not_recorded` what is
    on it and here, and not recorded as back; `not_here` what is on it as back and was not counted.
    """

    here: tuple[str, ...]
    not_on_it: tuple[tuple[str, str], ...]
    not_recorded: tuple[str, ...]
    not_counted: tuple[str, ...]


def notes_sent(book: Book) -> tuple[DispatchNote, ...]:
    """Every note, oldest first: what went to one place on one day. What was struck out is on
    none."""
    found: dict[tuple[PartialDate, str], list[Sending]] = {}
    for card in sorted(book.cylinders.values(), key=lambda c: c.id):
        for sent in standing(card.sent):
            found.setdefault((sent.on, sent.to), []).append(Sending(card, sent))
    places: dict[PartialDate, set[str]] = {}
    for on, to in found:
        places.setdefault(on, set()).add(to)
    ordered = sorted(found.items(), key=lambda pair: (pair[0][0].first, pair[0]))
    return tuple(
        DispatchNote(on, to, tuple(sends), note_name(on, to, places[on]))
        for (on, to), sends in ordered
    )


def note_to(book: Book, on: PartialDate, to: str) -> str:
    """How the note of a day to a place is asked for once it is entered."""
    sent = (s for card in book.cylinders.values() for s in standing(card.sent))
    return note_name(on, to, {to, *(s.to for s in sent if s.on == on)})


def note_name(on: PartialDate, to: str, places: Collection[str]) -> str:
    """The day; where notes to several places are of it, the place behind it: its word, or as it is
    written where another has that word."""
    if len(places) == 1:
        return str(on)
    alike = [place for place in places if place_word(place) == place_word(to)]
    return f"{on}#{place_word(to) if len(alike) == 1 else to}"


def asked_for(which: str, every: Sequence[DispatchNote]) -> tuple[DispatchNote, ...]:
    """The notes that a day names, or a day and a place as it is written, else as a word, else as
    that begins: `2026-11-24`, `2026-11-24#Northside Ltd`, `2026-11-24#north`."""
    day, _, place = which.partition("#")
    same, word = [n for n in every if str(n.on) == day], place_word(place)
    if not place:
        return tuple(same)
    alike = ([n for n in same if n.to == place], [n for n in same if place_word(n.to) == word])
    begun = [n for n in same if place_word(n.to).startswith(word)]
    return tuple(next(filter(None, alike), begun))


def told_of(book: Book, note: DispatchNote, today: dt.date | None = None) -> tuple[SentItem, ...]:
    """Each cylinder of a note as it was known on that day, and what came of it as known today.

    Args:
        book: the records as known today.
        note: the note.
        today: the day it is asked for: of what is still away, what was found since against its gas
            is told; if None, that is not looked at.
    """
    then = without_struck(book).as_known_on(note.on.last)
    cards = {i.card.id: _before(then.cylinders[i.card.id], i.card, i.sent) for i in note.items}
    before = replace(then, cylinders={**then.cylinders, **cards})
    return tuple(_item(book, then, before, each.card, each.sent, today) for each in note.items)


def _before(card: Cylinder, now: Cylinder, sent: Sent) -> Cylinder:
    """Its card as if it had not gone yet, nor anything been done there: what whoever gets it must
    know is what was in it when it left. What has a month alone may have been done there."""
    there = [t.source for t in tests_of(now, sent)]
    return replace(
        card,
        sent=tuple(s for s in card.sent if (s.on, s.to) != (sent.on, sent.to)),
        requalified=tuple(t for t in card.requalified if t.source not in there),
        inspected=tuple(e for e in card.inspected if e.on.day or not _is_of(e.on, sent)),
        valve_work=tuple(e for e in card.valve_work if e.on.day or not _is_of(e.on, sent)),
        cleaned=tuple(e for e in card.cleaned if e.on.day or not _is_of(e.on, sent)),
    )


def _item(
    book: Book, then: Book, before: Book, now: Cylinder, sent: Sent, today: dt.date | None
) -> SentItem:
    card, day = then.cylinders[now.id], sent.on.last
    states = standings(book, now)
    dues = (d for d in due_of_cylinder(then, card, day) if d.obligation in WORK_THERE)
    there, earlier = tests_of(now, sent), before.cylinders[now.id].requalified
    by_test = (AskedThere.HYDRO,) if sent.for_ is SentFor.REQUALIFICATION else ()
    return SentItem(
        card=card,
        now=now,
        sent=sent,
        size=size_word(then, card),
        last_test=latest_pressure_test(replace(card, requalified=earlier)),  # a month has begun
        asked=sent.asked or by_test,
        due=tuple(d for d in dues if d.is_open or d.state is State.SOON),
        look_at=tuple(_look_at(then, card, sent)),
        was=as_it_was(before, card.id, sent, day),
        beware=tuple(_beware(book, before, now, sent, today)),
        cleaned_for=cleaned_for(then, card, day),
        alloy=said_of(then, card),
        tests=there,
        unsure=tuple(t for t in there if _may_be_of_another(now, sent, t)),
        looks=tuple(i for i in standing(now.inspected) if i.is_reported and _is_of(i.on, sent)),
        work=frozenset(_work(now, sent)),
        condemned=next((c for c in standing(now.condemned) if _ended(c, now, sent)), None),
        stands=states[0],
        states=states,
        filled=_filled_since(book, now.id, sent),
    )


def _look_at(then: Book, card: Cylinder, sent: Sent) -> Iterator[str]:
    """What whoever gets it should look at: why it was sent, what stands open against it, and the
    notes of its last inspection."""
    if sent.why:
        yield sent.why
    for each in open_against(then, card):
        yield f"{each.what} {each.on}: {each.text}"
    last = next(reversed(standing(card.inspected)), None)
    for found in last.findings if last else ():
        if found.result is not StepResult.PASS:
            yield f"{found.result} {last.on if last else ''}: {told(found)}"
    if sent.note:
        yield sent.note


def _beware(
    book: Book, before: Book, now: Cylinder, sent: Sent, today: dt.date | None
) -> Iterator[str]:
    """What is against breathing what it holds that is not told as what to look at: it is let out
    there, and whoever does that must know what comes."""
    day = sent.on.last
    then = as_it_was(before, now.id, sent, day).held
    answer = may_fill(before, now.id, day, then.gas, station=False)
    found = [r.text for r in adverse_of(answer.refusals)]
    looked_at = [each.text for each in open_against(before, before.cylinders[now.id])]
    if today is not None and sent.back is None:
        found += found_since(_as_if_here(book, now, sent), now.id, then, answer, day, today)
    for text in dict.fromkeys(found):
        if not any(each in text for each in looked_at):
            yield text


def _as_if_here(book: Book, now: Cylinder, sent: Sent) -> Book:
    """The book with what is in a cylinder that is away: nobody has said that it is out yet, though
    no answer counts on it. What was heard to bleed before it went is out, but for what was filled
    since."""
    if sent.bled in HEARD_OUT and _filled_since(book, now.id, sent) is None:
        return book
    card = replace(now, sent=tuple(s for s in now.sent if (s.on, s.to) != (sent.on, sent.to)))
    return replace(book, cylinders={**book.cylinders, now.id: card})


def _filled_since(book: Book, id_: str, sent: Sent) -> LogLine | None:
    """The last fill of it since it went, or reading that showed gas, before it was back: of the day
    itself a fill, which may have come after it was bled."""
    struck, found = struck_out_lines(book), None
    for line in lines_about(book, id_):
        fill = line.act is LogAct.FILL
        shows_gas = fill or (line.act is LogAct.READING and holds_gas(line.to))
        if not shows_gas or void_key(line) in struck:
            continue
        day = line.at.date()
        same = fill and day >= sent.on.first and sent.bled in HEARD_OUT
        if (day > sent.on.last or same) and (sent.back is None or day < sent.back):
            found = line
    return found


def _work(card: Cylinder, sent: Sent) -> Iterator[AskedThere]:
    if any(_is_of(each.on, sent) for each in card.cleanings):
        yield AskedThere.O2_CLEAN
    if any(_is_of(each.on, sent) for each in card.valve_services):
        yield AskedThere.VALVE_SERVICE


def _ended(gone: Condemned, card: Cylinder, sent: Sent) -> bool:
    """Whether it was condemned there: while it was away, or as what came of a stay of which it is
    the first that is on record. One that passed there, was used and failed at another look did not
    come back condemned."""
    if not _since(gone.on, sent):
        return False
    if _is_of(gone.on, sent):
        return True
    later = any(_since(gone.on, s) and s.on.first > sent.on.first for s in standing(card.sent))
    passed = any(t.result is not TestResult.FAIL for t in tests_of(card, sent))
    return not later and not passed


def tests_of(card: Cylinder, sent: Sent) -> tuple[Requalified, ...]:
    """The tests on record of a stay: none dated before it went, nor after it was back."""
    return tuple(t for t in standing(card.requalified) if _is_of(t.tested or t.on, sent))


def _may_be_of_another(card: Cylinder, sent: Sent, test: Requalified) -> bool:
    on = test.tested or test.on
    others = (s for s in standing(card.sent) if s is not sent)
    return on.day is None and any(_is_of(on, other) for other in others)


def _is_of(on: PartialDate, sent: Sent) -> bool:
    return _since(on, sent) and (sent.back is None or on.first <= sent.back)


def _since(on: PartialDate, sent: Sent) -> bool:
    return on.last >= sent.on.first


def counted_in(
    note: DispatchNote, every: Iterable[DispatchNote], here: Sequence[str], strangers: Sequence[str]
) -> CountedIn:
    """What was counted in against a note.

    Args:
        note: the note it came with.
        every: all notes, to tell which one another cylinder is on.
        here: the ids counted.
        strangers: what was read that is no id of the ledger.
    """
    on_it = {item.card.id: item for item in note.items}
    others = {item.card.id: each for each in every for item in each.items if item.sent.back is None}
    not_on_it = [(each, "no cylinder of this ledger") for each in strangers]
    for id_ in here:
        if id_ in on_it:
            continue
        other = others.get(id_)
        said = f"it is on note {other.name} to {other.to}" if other else "not on record as away"
        not_on_it.append((id_, said))
    return CountedIn(
        here=tuple(here),
        not_on_it=tuple(not_on_it),
        not_recorded=tuple(i for i in here if i in on_it and on_it[i].sent.back is None),
        not_counted=tuple(i for i, each in on_it.items() if each.sent.back and i not in here),
    )


def days_away(item: Sending | SentItem, today: dt.date) -> int:
    """How long it has been away, or was."""
    return ((item.sent.back or today) - item.sent.on.first).days
