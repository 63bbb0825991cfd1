"""A cylinder that walks in: its card begun from what is seen on it, and filled, in one act."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterable

from msgspec.structs import replace

from tankbook.acts.arrivals import Arrival, card_of, is_of_serial, may_be_serial
from tankbook.acts.book_in import booked_in, with_test_pressure
from tankbook.acts.common import refusal
from tankbook.acts.fill import Filling, Wanted, fill
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.edits import Act, Refusal
from tankbook.records.marks import read_marks
from tankbook.records.node import Finding
from tankbook.rules.checks import twins_on_file
from tankbook.rules.status import worked_out
from tankbook.rules.twins import Likeness
from tankbook.units.patterns import pattern

_NOT_SAFE = pattern(r"[^A-Za-z0-9_-]+")
NAMELESS = "walk-in"
"""What a cylinder is called that has no card, where its serial cannot be an id."""


SERIAL_SAID = '--set serial="ab-12 34x"'
"""How a serial number is said that marks do not tell, as it is typed."""


def fill_walk_in(
    book: Book, arrival: Arrival, wanted: Callable[[str], Wanted], how: Filling, *, at: dt.datetime
) -> Act | Refusal:
    """Book a walk-in's cylinder in and log its fill: both, or neither with every reason.

    Args:
        book: the records, all of them.
        arrival: what was seen of it.
        wanted: what it was filled to and from, by the id it is given.
        how: how it was filled.
        at: when, with its UTC offset.
    """
    first = booked_in(book, at.date(), [arrival], by=how.by)
    if isinstance(first, Refusal):
        return replace(first, findings=_all_as_typed(arrival, first.findings))
    act, (card,) = first
    then = replace(book, cylinders={**book.cylinders, card.id: card})
    if on_file := maybe_on_file(then, card, at.date()):
        return refusal(f"{text}; {_TOLD_APART.format(id=id_)}" for id_, text in on_file.items())
    second = fill(then, [wanted(card.id)], how, at=at)
    if isinstance(second, Refusal):  # it has no id yet
        own = f"serial {card.serial}"
        named = (re.sub(rf"^{re.escape(card.id)}\b", own, r) for r in second.reasons)
        later = _LATER.format(id=card.id)
        return replace(second, reasons=tuple(f"{r}{later * (card.id in r)}" for r in named))
    notes = dict.fromkeys((*act.notes, *second.notes))
    sentence = f"{act.sentence}. {second.sentence}"
    return Act("fill", (card.id,), sentence, (*act.edits, *second.edits), tuple(notes))


_LATER = (
    "; {id} is what it is called once it is booked in (`tankbook book-in` with the same --marks); "
    "a sticker of another shop is told here, by --sticker MONTH"
)
"""What a mend means that names a cylinder which has no card yet."""

_TOLD_APART = (
    "ask under its own id; where both stamps were read and they are two, say so with "
    "--set 'not_same={id}: how they differ'"
)


def maybe_on_file(book: Book, card: Cylinder, today: dt.date) -> dict[str, str]:
    """The cards that a walk-in's cylinder may have already, by their ids, and why."""
    found = {}
    for twin in twins_on_file(book.as_known_on(today), card, today):
        status = f", which is {twin.status}" if twin.status else ""
        same = twin.serial == card.serial
        which = f"is {twin.id}'s as well" if same else f"may be {twin.serial} of {twin.id}"
        text = f"its serial {card.serial} {which}{status}"
        maker = twin.likeness is Likeness.MAKER_UNKNOWN
        found[twin.id] = f"{text}; one maker is not recorded" if maker else text
    return found


def _all_as_typed(arrival: Arrival, found: Iterable[Finding]) -> tuple[Finding, ...]:
    """The faults of a walk-in with their mends as they are typed; that it lacks a serial, with what
    of its marks was not read."""
    marks = arrival.given.get("marks")
    return tuple(_as_typed(each, _not_read(marks.text if marks else "")) for each in found)


def _not_read(marks: str) -> str:
    """What of a line of marks was not read, and how the serial number among it is said."""
    if not marks:
        return ""
    read = read_marks(marks)
    listed = ", ".join(each.text for each in read.unread)
    like = (f'; if its serial is {text}: --set serial="{text}"' for text in may_be_serial(read))
    return "".join([f"; not read of the line: {listed}" if listed else "", *like])


def _as_typed(found: Finding, not_read: str) -> Finding:
    """A fault with its mend as it is typed: nothing is added to a file, which there is none of, and
    what is on file already gets no second card."""
    serial = is_of_serial(found)
    if serial or found.mend.startswith("add "):
        # a serial of small letters, blanks or few signs is not told from other marks
        said = f"{SERIAL_SAID}{not_read}" if serial else "--set KEY=VALUE"
        return replace(found, mend=f"read the whole line once more, or say it with {said}")
    if found.code != "serial-twin":
        return found
    mend = "it is on file: ask under its own id; where both stamps were read and they are two, add"
    return replace(found, mend=f"{mend} --set 'not_same=ID: how they differ'")


def stranger(book: Book, arrival: Arrival) -> tuple[Cylinder | None, tuple[Finding, ...]]:
    """The card that a cylinder would have, called by its serial, for a question about one that has
    none; or None with what of it cannot be read."""
    card = with_test_pressure(book, card_of(arrival, None, book.settings.units, ""), "")
    if card.cylinder is None or card.findings:
        return None, _all_as_typed(arrival, card.findings)
    name = _NOT_SAFE.sub("-", card.cylinder.serial).strip("-") or NAMELESS
    taken = {i.casefold() for i in book.ids}
    while name.casefold() in taken:
        name = f"{name}-{NAMELESS}"
    found = replace(card.cylinder, id=name)
    return replace(found, status=worked_out(book, found)), ()
