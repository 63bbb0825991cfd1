"""What a rental wrote twice: in its entry, and in the lines of the log of the gauge that was read.

A return writes what it came back with into both, and who had it; so does a rental whose gauge is
read as it goes. Where one half is set right or struck out and the other is not, they tell two
things: which of them is true nobody but who was there knows.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.entries import Rented, standing
from tankbook.records.log import LogLine
from tankbook.records.naming import line_named, named_among
from tankbook.records.node import Where
from tankbook.records.words import LogAct
from tankbook.rules.fill_history import lines_about
from tankbook.rules.filled import struck_lines
from tankbook.rules.in_hands import came_back, note_back, note_out, readings_back, says_hands
from tankbook.units import GaugePressure


class Halves(Struct, frozen=True):
    """Two halves of a rental that tell two things: in words, where, and how each is set right.

    Attributes:
        where: the place of the half that stands.
        text: what the two say.
        entry: the line to type that sets the entry right; empty where that needs none.
        line: the line to type that sets the log right; empty where that needs none.
    """

    where: Where
    text: str
    entry: str = ""
    line: str = ""

    @property
    def mend(self) -> str:
        """How it is mended, whichever of the two is wrong."""
        return _right(self.entry, self.line)

    @property
    def of_entry(self) -> str:
        """How the entry is set right, once the log is; else what else there is."""
        return _right(self.entry or self.line)

    @property
    def of_log(self) -> str:
        """How the log is set right, once the entry is; else what else there is."""
        return _right(self.line or self.entry)


def _right(*ways: str) -> str:
    given = list(filter(None, ways))
    lead = "set that right which is wrong" if len(given) > 1 else "set that right too"
    return f"{lead}: {' or '.join(given)}"


def halves_left(book: Book, then: Book, ids: Iterable[str]) -> Iterator[tuple[str, Halves]]:
    """What the halves of rentals tell otherwise after an act and did not before, each with whose
    it is.

    Args:
        book: the records.
        then: the records after it.
        ids: the cylinders and sets that it is of.
    """
    for id_ in ids:
        known = {each.text for each in halves_at_odds(book, id_)}
        yield from ((id_, e) for e in halves_at_odds(then, id_) if e.text not in known)


def halves_at_odds(book: Book, id_: str) -> Iterator[Halves]:
    """What the entries of a cylinder's or a set's rentals say otherwise than the log.

    Args:
        book: the records.
        id_: a cylinder or set of it; of any other there is nothing.
    """
    card = book.cylinders.get(id_) or book.every_set.get(id_)
    if card is None or not card.rented:
        return
    for rental in standing(card.rented):
        if rental.back is None or rental.pressure is None:
            continue
        line = came_back(book, id_, rental)
        if line is None:
            yield from _line_struck_out(book, card, rental, rental.pressure)
        else:
            yield from _read_otherwise(book, card, rental, rental.pressure, line)
    yield from _entry_struck_out(book, card)


def _read_otherwise(
    book: Book, card: Cylinder | Doubles, rental: Rented, said: GaugePressure, line: LogLine
) -> Iterator[Halves]:
    """The lowest of what a return read, of a set with its isolator shut at each side, is what its
    entry has."""
    read = [n for n in readings_back(book, card.id, rental) if n.at == line.at and n.to is not None]
    lowest = min((n.to for n in read if n.to is not None), default=None)
    if lowest is None or lowest == said:
        return
    text = f"it came back on {rental.back} with {said}, and the log has {lowest} of that"
    to = f'--set "to={said}"' if len(read) == 1 else "--set to=PRESSURE"
    lines = " and ".join(_line_set(n, to) for n in read)
    where = rental.source.at("pressure")
    yield Halves(where, text, _entry_set(card, rental, f'--set "pressure={lowest}"'), lines)


def _line_struck_out(
    book: Book, card: Cylinder | Doubles, rental: Rented, said: GaugePressure
) -> Iterator[Halves]:
    """What a return read was struck out, and nothing stands in its place."""
    struck = [
        line
        for side in dict.fromkeys((card.id, *book.members(card.id)))
        for line, _ in struck_lines(book).get(side, ())
        if line.act is LogAct.READING
        and line.at.date() == rental.back
        and says_hands(line.note, note_back(rental.to))
    ]
    if not struck or readings_back(book, card.id, rental):
        return
    text = f"it came back on {rental.back} with {said}, and the reading of that is struck out"
    where = rental.source.at("pressure")
    yield Halves(where, text, _entry_set(card, rental, "--set pressure="))


def _entry_struck_out(book: Book, card: Cylinder | Doubles) -> Iterator[Halves]:
    """What was read as it went or came back names hands, or a day, of an entry that is struck out,
    and no entry that stands says so."""
    stands = standing(card.rented)
    out = {(r.to, r.on.first) for r in stands}
    back = {(r.to, r.back) for r in stands}
    told = set[str]()
    for gone in (r for r in card.rented if r.void is not None):
        for note, day, kept in (
            (note_out(gone.to), gone.on.first, out),
            (note_back(gone.to), gone.back, back),
        ):
            if day is None or (gone.to, day) in kept:
                continue
            for line in lines_about(book, card.id):
                name = _line_set(line, "")
                noted = line.at.date() == day and says_hands(line.note, note)
                if line.act is LogAct.READING and noted and name not in told:
                    told.add(name)
                    text = f"a reading of {day} is noted `{line.note}`, and the entry of that is"
                    text += " struck out"
                    yield Halves(line.where, text, line=_noted_right(stands, gone, line, note))


def _noted_right(stands: tuple[Rented, ...], gone: Rented, line: LogLine, note: str) -> str:
    """How the note of a reading is set right: by the entry of the same days with other hands, where
    one alone is there; else it names none."""
    is_back = note == note_back(gone.to)
    same = {r.to for r in stands if r.on == gone.on and (r.back == gone.back or not is_back)}
    if len(same) == 1:
        who = same.pop()
        if who != gone.to:
            right = note_back(who) if is_back else note_out(who)
            return _line_set(line, f'--set "note={right}"')
    return _line_set(line, "--set note=")


def _entry_set(card: Cylinder | Doubles, rental: Rented, change: str) -> str:
    which = named_among(card.rented, rental)
    return f"`tankbook correct {card.id} rented {which} {change} --why WHY`"


def _line_set(line: LogLine, change: str) -> str:
    return f"`tankbook correct {line.cylinder} reading {line_named(line.at)} {change} --why WHY`"
