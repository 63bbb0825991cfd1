"""What the station's records hold back, and what of it an entry lets go."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable

from tankbook.acts.common import NAMED, refusal, uncertified
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.edits import Refusal
from tankbook.records.entries import standing
from tankbook.records.rulerow import Gate
from tankbook.records.words import Skill
from tankbook.rules.bad_air import bad_air_of, banks_of_bad_air
from tankbook.rules.bank_out import banks_out
from tankbook.rules.carbon_monoxide import co_alarms
from tankbook.rules.lapsed import dated_reason
from tankbook.rules.out_of_use import out_of_use
from tankbook.rules.schedule import due_of_station
from tankbook.rules.signing import is_outside, why_not
from tankbook.units import PartialDate


def let_go(book: Book, then: Book, on: dt.date) -> list[str]:
    """What the records hold back on a day that they hold back no more after a change (`then`), as
    ends of a sentence: each says what is held, and names it."""
    gone = ((what, found(book, on) - found(then, on)) for what, found in _HELD)
    return [f"{what} {', '.join(sorted(named))}" for what, named in gone if named]


def let_go_late(
    book: Book,
    then: Book,
    *,
    by: str,
    on: dt.date,
    ids: Iterable[str] = (),
    every: bool = False,
) -> list[str]:
    """Why somebody may not enter, for a day that is over, what lets go gas that is held: whoever
    wants that gas back could write it. What is read on the day it is entered, anybody enters.

    Args:
        book: the records, and `then` with what is entered.
        by: who enters it.
        on: the day it is entered for.
        ids: the cylinders that it is of; none where it is of the station.
        every: it is asked for all else that is held back as well, not for gas alone.
    """
    today = book.clock or on
    told = (_of_firm(book, by, today) or uncertified(book, by, today)) if on < today else []
    if not told:
        return []
    held = _HELD if every else _HELD_GAS if not ids else _HELD_GAS[1:2]
    gone = ((what, found(book, today) - found(then, today)) for what, found in held)
    return [
        f"it is entered for {on}, and without it {what} {', '.join(sorted(named))}: {text}; or read"
        " what it shows now, and enter that"
        for what, named in gone
        if named
        for text in told
    ]


def _of_firm(book: Book, by: str, on: dt.date) -> list[str]:
    """That a firm is nobody of the ledger's who is certified, where that is kept."""
    people = book.settings.people
    wrong = is_outside(people, by) and why_not(people, by, Skill.INSPECTOR, on)
    return [f"{wrong}, and no firm enters it itself"] if wrong else []


def work_lets_go(
    book: Book, then: Book, ids: Iterable[str], *, by: str, on: dt.date, asked: Iterable[str] = ()
) -> list[str] | Refusal:
    """What work lets go of bad air in cylinders or sets, for whoever enters it to read; refused
    where something is `asked` first, or where they may not let it go by work of a day that is over.
    Whoever bled it then and is not certified has somebody certified log that it was let out: the
    work lets go nothing after that.
    """
    if first := list(asked):
        return refusal(first)
    sides = dict.fromkeys(m for id_ in ids for m in book.members(id_))
    every = [side for side in sides if holds_bad_air(book, [side])]
    if not every:
        return []
    late = let_go_late(book, then, by=by, on=on, ids=every)
    drained = f"`tankbook drain {' '.join(every)} --on {on} --at HH:MM --by WHO`"
    way = f"; or have somebody certified log that it was let out ({drained}), and enter this then"
    if late:
        return refusal([text + way for text in late])
    return let_go_said(book, then, on, every)


def test_lets_go_late(
    book: Book, then: Book, ids: Iterable[str], tested: PartialDate, *, by: str, on: dt.date
) -> list[str]:
    """Why a test of a day that is over is not entered yet where it lets go bad air: nothing says
    that it was away for that, and whoever wants it back could write it.

    Args:
        book: the records, and `then` with the test.
        ids: the cylinders.
        tested: when they were tested.
        by: who of the ledger enters it, if anybody is named: somebody certified may.
        on: the day it is entered for.
    """
    today = book.clock or on
    if tested.first >= today or (by and not uncertified(book, by, today)):
        return []
    gone = _held_for_air(book, today) - _held_for_air(then, today)
    return [
        f"{id_}: without it there is bad air in it, and nothing says that it was away for a test of"
        f" {tested}: read what it shows now (`tankbook reading {id_}=0`), or have it let out by"
        f" somebody certified (`tankbook drain {id_} --by WHO`); then enter it"
        for id_ in ids
        if id_ in gone and not _was_away(book.cylinders[id_], tested)
    ]


def _was_away(card: Cylinder, when: PartialDate) -> bool:
    """Whether it was sent away, and not back before, on a day or within a month."""
    return any(
        sent.on.first <= when.last and (sent.back is None or sent.back >= when.first)
        for sent in standing(card.sent)
    )


def let_go_said(book: Book, then: Book, on: dt.date, ids: Iterable[str] = ()) -> list[str]:
    """What gas an entry lets go that was held, in words, for whoever entered it: the banks and the
    first cylinders by their names, of more how many. `ids` are the cylinders that it is of, if it
    is not of the station."""
    today = book.clock or on
    found = []
    for what, held in _HELD_GAS[1:2] if ids else _HELD_GAS:
        gone = sorted(held(book, today) - held(then, today))
        if gone:
            more = f" and {len(gone) - NAMED} more" if len(gone) > NAMED else ""
            names = ", ".join(gone[:NAMED]) + more
            found.append(f"WARNING: it lets go what was held: without it {what} {names}")
    return found


def holds_bad_air(book: Book, ids: Iterable[str]) -> bool:
    """Whether bad air is in any of some cylinders or sets, whatever pressure is on record."""
    cards = (book.cylinders[m] for i in ids for m in book.members(i) if m in book.cylinders)
    found = (bad_air_of(book, card) for card in cards)
    return any(bad is not None and not bad.emptied for bad in found)


def _of_bad_air(book: Book, on: dt.date) -> frozenset[str]:
    """The banks that hold bad air by the records of a book."""
    return frozenset(bad.bank.name for bad in banks_of_bad_air(book, on))


def _held_for_air(book: Book, on: dt.date) -> frozenset[str]:
    """The cylinders that surely hold air of a bad source, or that an alarm speaks of."""
    every = ((card.id, bad_air_of(book, card)) for card in book.cylinders.values())
    return frozenset(id_ for id_, bad in every if bad and bad.certain)


def _of_other_gas(book: Book, on: dt.date) -> frozenset[str]:
    """The banks that another gas went into by the records of a book, and nobody analysed since."""
    return frozenset(out.name for out in banks_out(book, on) if out.state == "other-gas")


def _of_over_mark(book: Book, on: dt.date) -> frozenset[str]:
    """The banks that stand above the pressure marked on them by the records of a book."""
    over = {"over-mark", "over-pressed"}
    return frozenset(out.name for out in banks_out(book, on) if out.state in over)


def _alarmed(book: Book, on: dt.date) -> frozenset[str]:
    """The carbon monoxide alarms that nothing answers."""
    open_ = (each.reading for each in co_alarms(book) if each.answer is None)
    return frozenset(
        f"the alarm of {each.on}" + (f" {each.at:%H:%M}" if each.at else "")
        for each in open_
        if each.on <= on
    )


def _out(book: Book, on: dt.date) -> frozenset[str]:
    """What of the station is out of use, or past its time, or never met, so that it closes."""
    if book.station is None:
        return frozenset()
    lapsed = ((d, dated_reason(d)) for d in due_of_station(book, book.station, on))
    shut = {
        f"{d.obligation.called} {d.part}"
        for d, why in lapsed
        if why is not None and why.gate is Gate.REFUSE
    }
    return frozenset(shut | {str(out.part) for out in out_of_use(book, on)})


_HELD_GAS: tuple[tuple[str, Callable[[Book, dt.date], frozenset[str]]], ...] = (
    ("there is bad air in", _of_bad_air),
    ("there is bad air in", _held_for_air),
    ("another gas is in", _of_other_gas),
)
_HELD = (
    *_HELD_GAS,
    ("more than its mark is in", _of_over_mark),
    ("out of use, or past its time, is", _out),
    ("unanswered is", _alarmed),
)
"""What somebody certified alone strikes out of the station, whatever entry says it (a reading, a
raising, an analysis, an hour meter), and the parts of which it is said. An entry that lets go none
of them is struck out as `life.STRUCK` has it."""
