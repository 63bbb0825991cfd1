"""The fills that were read again once they had cooled: which of them tell of the heat of a fill,
and why the others do not.

The first reading so many minutes after a fill, before anything else was done with the cylinder, is
what the fill settled to, as far as it had cooled by then.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from enum import StrEnum

from msgspec import Struct

from tankbook.filling.figures import LONGEST_STAND, READ_AGAIN_AFTER, STOOD_BEFORE
from tankbook.records.book import Book
from tankbook.records.cylinder import is_customers
from tankbook.records.kinds import is_empty
from tankbook.records.log import HAPPENED, Lines, LogLine
from tankbook.records.words import LogAct
from tankbook.rules.air import by_others, taken_here
from tankbook.rules.bad_air import cylinders_called
from tankbook.rules.fill_history import (
    away_between,
    lines_into,
    opened_between,
    places_of,
)
from tankbook.rules.leaks import stand_after


class NotCounted(StrEnum):
    """Why a fill that was read again tells nothing of its heat."""

    FROM_UNKNOWN = "what it began with is not written"
    COLD = "its temperature is written, so it was cold when it was read"
    HELIUM = "its gas is not known, or holds helium, which gives its heat off otherwise"
    AGAINST_ADVICE = "it was logged against advice"
    ELSEWHERE = "it was not filled from a bank or compressor of the station"
    WARM_BEFORE = "it was filled or drained shortly before, and was not as warm as the room"
    FILLED_AGAIN = "it was filled again or drained before it was read"
    TOO_SOON = "it was read too soon after, and not again"
    TOO_LATE = "it was read too long after"
    AWAY = "it was out or away before it was read"
    OPENED = "it was opened before it was read"
    CUSTOMERS = "it is a customer's own, who may have used it"
    EMPTY = "it was read as empty"
    LEAKS = "it went on losing gas after it was read"
    USED = "less is left than heat can account for: it leaked, was used, or a figure is wrong"
    MORE = "more is left than any fill leaves: a figure is wrong, or it was filled since"
    COOL = (
        "the fills of its size fell less than heat explains: they were logged cold, or a gauge errs"
    )
    ROOM_OR_WALL = (
        "it was still warm, and its temperature may be that of the room or of the cylinder"
    )
    NO_MODEL = "the gas model does not reach its pressures"
    WATER = "the station fills in a water bath"
    OLDER = "newer fills of its size are enough"


class FillReadAgain(Struct, frozen=True):
    """A fill and the reading that followed it; `why` it does not count, None where it does."""

    id: str
    filled: LogLine
    read: LogLine | None
    why: NotCounted | None = None

    @property
    def minutes(self) -> float:
        """How long after the fill it was read [min]; 0 where it was not."""
        if self.read is None:
            return 0.0
        return (self.read.at - self.filled.at).total_seconds() / 60


def read_again(book: Book, today: dt.date, ids: Iterable[str]) -> Iterator[FillReadAgain]:
    """Every fill of some cylinders or sets that was followed by a reading, with why it does not
    count, cylinder by cylinder in the order of the log's times. A fill that nobody read again
    before the next is not told, unless it was read too soon."""
    places = places_of(book)
    acts = places.log.column("act")
    for id_ in ids:
        own = {acts[i] for i in places.by_id.get(id_, ())}
        if LogAct.FILL in own and LogAct.READING in own:
            lines = tuple(n for n in lines_into(book, id_) if book.is_past(n.at, today))
            yield from _of_one(book, id_, lines)


def _of_one(book: Book, id_: str, lines: Lines) -> Iterator[FillReadAgain]:
    away = away_between(book, id_, lines)
    for place, fill in enumerate(lines):
        if fill.act is not LogAct.FILL or fill.cylinder != id_:
            continue
        end, why = _reading_after(id_, lines, place)
        if end is None:
            continue
        read = lines[end]
        why = why or _unlike(book, id_, lines, place) or _spoilt(book, id_, fill, read)
        if why is None and away(place, end):
            why = NotCounted.AWAY
        yield FillReadAgain(id_, fill, read, why)


def _reading_after(id_: str, lines: Lines, place: int) -> tuple[int | None, NotCounted | None]:
    """The reading that tells what a fill settled to, and why it does not; none where there is no
    reading before the next fill."""
    soon: int | None = None
    for end in range(place + 1, len(lines)):
        line = lines[end]
        if line.act in {LogAct.FILL, LogAct.DRAIN}:
            return soon, NotCounted.FILLED_AGAIN if soon is not None else None
        if line.act is not LogAct.READING or line.cylinder != id_ or line.to is None:
            continue
        after = (line.at - lines[place].at).total_seconds() / 60
        if after >= READ_AGAIN_AFTER.minutes:
            late = after > LONGEST_STAND.minutes
            return end, NotCounted.TOO_LATE if late else None
        soon = end
    return soon, NotCounted.TOO_SOON if soon is not None else None


def _unlike(book: Book, id_: str, lines: Lines, place: int) -> NotCounted | None:
    """Why a fill is not one that heat can be reckoned from."""
    fill = lines[place]
    cards = [book.cylinders[m] for m in book.members(id_) if m in book.cylinders]
    if any(map(is_customers, cards)):
        return NotCounted.CUSTOMERS
    if fill.temperature is not None:
        return NotCounted.COLD
    if fill.from_ is None or fill.to is None or fill.from_ >= fill.to:
        return NotCounted.FROM_UNKNOWN
    if fill.gas is None or fill.gas.helium_percent > 0 or fill.he:
        return NotCounted.HELIUM
    if HAPPENED in (fill.note or ""):
        return NotCounted.AGAINST_ADVICE
    if not _is_from_here(book, fill):
        return NotCounted.ELSEWHERE
    earlier = (n.at for n in reversed(lines[:place]) if n.act in {LogAct.FILL, LogAct.DRAIN})
    last = next(earlier, None)
    stood = (fill.at - last).total_seconds() / 60 if last else STOOD_BEFORE.minutes
    return NotCounted.WARM_BEFORE if stood < STOOD_BEFORE.minutes else None


def _is_from_here(book: Book, fill: LogLine) -> bool:
    """Whether a fill is of the station: of nobody else's, and not out of another cylinder."""
    said = fill.source_ or ""
    return not by_others(said) and not any(cylinders_called(book, n) for n in taken_here(said))


def _spoilt(book: Book, id_: str, fill: LogLine, read: LogLine) -> NotCounted | None:
    """Why a reading does not tell what was left in by the fill before it."""
    if is_empty(read.to):
        return NotCounted.EMPTY
    if opened_between(book, id_, fill.at, read.at):
        return NotCounted.OPENED
    stood = stand_after(book, id_, read.at)
    return NotCounted.LEAKS if stood is not None and stood.leaks else None
