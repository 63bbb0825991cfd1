"""How a cylinder is bled before its valve comes off, and what follows where no flow was heard."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from typing import Annotated

from tankbook.acts.common import Draft, named
from tankbook.acts.hold import HEARD_SINCE, after_fills, next_minute, open_holds, since
from tankbook.acts.options import Opt
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import HEARD_OUT, Held
from tankbook.records.kinds import holds_gas, is_empty
from tankbook.records.words import Bled, Isolator
from tankbook.rules.bad_air import bad_air_of
from tankbook.rules.fill_history import contents_at, contents_of, is_taken_for_full, sets_with
from tankbook.units import PartialDate, time_of_day

BLED = Opt(
    "|".join(Bled),
    "How it was bled before its valve comes off: flow was heard until it stopped; that, and its "
    "valve was left open; it was opened under control, as if full, by somebody equipped for that; "
    "or no flow was heard: then it is held, and its valve stays on.",
)
Bleeding = Annotated[Bled | None, BLED]

TAKEN_FOR_FULL = (
    "no flow was heard when it was bled: take it for full; its valve or dip tube may be blocked"
)
"""Why it is held: that nothing flows out is no proof that nothing is in it (common practice, no
source)."""

BLEED_IT = "bleed it slowly, hear the flow until it stops, leave the valve open"
"""What to do before a valve comes off (common practice, no source)."""

STAYS_IN = "what is in it stays on record: --bled says that it was let out"
"""What is told where work may have let the gas out, and nobody says so."""


def ask(ids: Iterable[str]) -> str:
    """What to do where nobody said how cylinders were bled, and how to record it."""
    who = named(ids)
    return f"{who}: before a valve comes off, {BLEED_IT}; then say so (--bled heard)"


def taken_for_full(book: Book, ids: Iterable[str]) -> list[str]:
    """The cylinders that are taken for full, since no flow was heard when they were bled."""
    every = (m for id_ in ids for m in (book.members(id_) or (id_,)))
    return [id_ for id_ in dict.fromkeys(every) if is_taken_for_full(book, id_)]


def not_heard(book: Book, ids: Iterable[str], bled: Bled | None) -> Iterator[str]:
    """What is asked where no flow was heard before, and work for which the valve comes off does not
    say how the gas was let out since."""
    for id_ in taken_for_full(book, ids) if bled is None else ():
        yield f"{id_}: {TAKEN_FOR_FULL}; say how it was let out since: {HEARD_SINCE}"


def bled_unsaid(
    book: Book,
    ids: Iterable[str],
    bled: Bled | None,
    on: dt.date,
    hour: dt.time | None,
    *,
    beside: str = "",
) -> Iterator[str]:
    """What is asked where a valve was off, and what is on record cannot be so, and would be
    believed: gas is in its cylinder, and nobody says how that was bled; or it was bled, and read
    with gas in it that day, and nobody says which came first.

    Args:
        book: the records before the work.
        ids: the cylinders.
        bled: how they were bled.
        on: the day of the work.
        hour: its time of that day, where it is said.
        beside: what else may be said, with a blank before it.
    """
    then = book.as_known_on(on)
    until = dt.datetime.combine(on, dt.time.max if hour is None else hour)
    for id_ in (id_ for id_ in ids if id_ in then.cylinders):
        held = contents_at(then, id_, until)
        # of gas that went through an isolator nobody knows how much is left: it may be all
        left = held.pressure or (held.gas and f"an unknown pressure of {held.gas}")
        if not left or not (isinstance(left, str) or holds_gas(left)):
            continue
        if bled is None:
            yield (
                f"{id_}: its valve came off, and {left} is in it on record: say how it was bled "
                f"({'|'.join(Bled)}), as --bled heard{beside}; where nobody knows, and it stands "
                f"open with nothing in it, log that first: `tankbook reading {id_}=0` (a gauge "
                "that shows nothing is no proof: its valve may be blocked)"
            )
        elif bled in HEARD_OUT and held.at is not None and held.at != held.filled_at:
            read = time_of_day(held.at)
            if held.at.date() == on and (hour is None or hour <= read):
                yield (
                    f"{id_} was read at {left} at {read:%H:%M} on {on}: say at what time after "
                    f"that its valve came off, as --at {next_minute(read):%H:%M}"
                )


def not_told(book: Book, then: Book, ids: Iterable[str], bled: Bled | None) -> Iterator[str]:
    """What is asked where nobody says how a cylinder of bad air was bled, and work inside it would
    leave it empty on record.

    Args:
        book: the records before the work, and `then` with it.
        ids: the cylinders.
        bled: how they were bled.
    """
    for id_ in ids if bled is None else ():
        card = book.cylinders.get(id_)
        full, left = (contents_of(each, id_).pressure for each in (book, then))
        emptied = is_empty(left) and not is_empty(full)
        if card is not None and emptied and bad_air_of(book, card) is not None:
            yield (
                f"{id_}: bad air is in it on record, and nobody says how that was let out: "
                "--bled heard, where the flow was heard until it stopped"
            )


def let_out(
    book: Book, then: Book, ids: Iterable[str], on: dt.date, at: dt.time | None, done: str
) -> Iterator[str]:
    """What is in cylinders after work for which the valve came off: nothing; or what was filled
    into them that day, where that is taken to be later.

    Args:
        book: the records before the work, and `then` with it.
        ids: the cylinders.
        on: the day of the work.
        at: its time, where it is said.
        done: what it was: `it was cleaned`.
    """
    held = {id_: holds_gas(contents_of(then, id_).pressure) for id_ in ids}
    if empty := [id_ for id_, full in held.items() if not full]:
        yield f"{named(empty)}: nothing is in it now; the next fill begins at 0"
    for id_ in (id_ for id_, full in held.items() if full and at is None):
        filled = after_fills(book, id_, on)
        if filled is not None:
            yield taken_as_later(id_, filled, done)
    yield from other_side_full(then, empty)


def other_side_full(then: Book, ids: Sequence[str]) -> Iterator[str]:
    """Of sides of doubles whose gas was let out: that the other one is full on record still, though
    nothing is known to be shut between the two."""
    for id_ in ids:
        for doubles in (then.sets[name] for name in sets_with(then).get(id_, ())):
            for other in (m for m in doubles.cylinders if m not in ids):
                left = contents_of(then, other).pressure
                if holds_gas(left) and doubles.isolator is not Isolator.SHUT:
                    how = f"is {doubles.isolator}" if doubles.isolator else "may be open"
                    yield (
                        f"{id_} is one side of {doubles.id}, whose isolator {how}: {other} stays "
                        f"at {left} on record; log that it was bled too (`tankbook drain {other}`),"
                        f" or that it is shut off (`tankbook isolator {doubles.id} shut`)"
                    )


def taken_as_later(id_: str, filled: dt.time, done: str) -> str:
    """That a fill of the day is taken to be later than what was done, and how to say otherwise."""
    return (
        f"{id_}: it was filled that day at {filled:%H:%M}, and that is taken to be later; if it "
        f"was before, say when {done}: --at 16:30"
    )


def held_for_full(
    book: Book,
    draft: Draft[Cylinder],
    *,
    by: str,
    on: dt.date,
    at: dt.time | None = None,
    note: str = "",
) -> Draft[Cylinder]:
    """With the hold of a cylinder that let no flow be heard, after the fills of that day where its
    time is not known; once is enough."""
    card = draft.record
    if any(h.why == TAKEN_FOR_FULL for h in open_holds(card)):
        return draft
    entry = Held(
        on=PartialDate.of(on),
        by=by,
        why=TAKEN_FOR_FULL,
        at=since(book, card.id, on, at or after_fills(book, card.id, on)),
        bled=Bled.NO_FLOW,
        note=note or None,
    )
    return draft.enter("held", entry).stand(book)
