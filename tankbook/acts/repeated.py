"""Whether a fill that is to be logged is in the log already."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from enum import Enum, auto

from tankbook.acts.fill_request import Filling, Wanted
from tankbook.acts.soundness import lines_of
from tankbook.records.book import Book
from tankbook.records.edits import Act
from tankbook.records.log import LogLine
from tankbook.records.naming import line_named
from tankbook.records.words import LogAct
from tankbook.rules.fill_history import (
    all_lines_of,
    is_further_above,
    lines_held,
    names_in_log,
    struck_out_lines,
    void_key,
)

WITHIN = dt.timedelta(hours=1)
"""How soon after a fill the same fill is more likely the same one logged twice than a second: what
was filled has to be breathed first (own bound)."""


class Known(Enum):
    """How the log knows a fill that a sheet tells of."""

    STANDS = auto()
    STRUCK = auto()


def known_as(book: Book, wanted: Wanted, how: Filling, at: dt.datetime) -> Known | None:
    """Whether a fill of a sheet is in the log: of that minute, which a correction stays within, and
    to that pressure, by itself or with its set; or as it was keyed in, before it was corrected or
    struck out."""
    minute = [
        line
        for line in lines_held(book, wanted.id)
        if line.act is LogAct.FILL and _minute(line.at) == _minute(at)
    ]
    if any(line.to == wanted.to for line in minute):
        return Known.STANDS
    gone = struck_out_lines(book)
    keyed = any(
        line.act is LogAct.FILL
        and line.at == at
        and void_key(line) in gone
        and _is_keyed(line, wanted, how)
        for name in names_in_log(book, wanted.id)
        for line in all_lines_of(book, name)
    )
    return (Known.STANDS if minute else Known.STRUCK) if keyed else None


def _minute(at: dt.datetime) -> dt.datetime:
    return at.replace(second=0, microsecond=0)


def _is_keyed(line: LogLine, wanted: Wanted, how: Filling) -> bool:
    """Whether a line says all that a row does, so that it was keyed in from that."""
    said = (
        (wanted.to, line.to), (wanted.from_, line.from_), (how.gas, line.gas), (how.o2, line.o2),
        (how.he, line.he), (how.source or None, line.source_),
    )  # fmt: skip
    return all(row is None or row == logged for row, logged in said)


def repeated(book: Book, act: Act) -> tuple[str, ...]:
    """The fills of an act that say what the last lines of the log say of the same cylinder.

    The same pressures, gas and analysis, within an hour, and nothing logged of the cylinder in
    between; nor of its set, or of a side of it, behind an open isolator. Where nobody said from
    what it was filled, the pressure that the first left was taken for it: that is the same fill,
    too. So is one that begins, as soon, far below what the last fill left. One a sentence, without
    a full stop.
    """
    new: dict[str, list[LogLine]] = {}
    for line in lines_of(act.edits):
        new.setdefault(line.cylinder, []).append(line)
    return tuple(said for id_, lines in new.items() for said in _repeated(book, id_, lines))


def _repeated(book: Book, id_: str, lines: Sequence[LogLine]) -> Iterator[str]:
    fills = [line for line in lines if line.act is LogAct.FILL]
    # a set's fill is one of each side, and a side's one of the set, where its isolator is open
    held = lines_held(book, id_)
    known = held[-len(lines) :]
    if not fills or not known:
        return
    if len(known) == len(lines) and all(
        _is_same(old, line) for old, line in zip(known, lines, strict=True)
    ):
        old = known[lines.index(fills[-1])]
        began = f"from {old.from_} " if old.from_ else ""
        shared = f"with {old.cylinder} " if old.cylinder != id_ else ""
        when = f"{old.at:%H:%M} on {old.at.date()}"
        yield f"{id_} was filled {shared}{began}to {old.to} at {when} already"
        return
    before = [old for old in held if old.at <= fills[0].at]
    if before and _begins_below(before[-1], fills[0]):
        old = before[-1]
        when = f"{old.at:%H:%M} on {old.at.date()}"
        right = f"`tankbook correct {old.cylinder} fill {line_named(old.at)} --why WHY`"
        yield (
            f"{id_} was filled to {old.to} at {when}, and nothing logged since let it down to "
            f"{fills[0].from_}: where that was the same fill, set it right ({right}); where it was "
            "drained or read, log that first (`tankbook drain`, `tankbook reading`)"
        )


def _begins_below(old: LogLine, line: LogLine) -> bool:
    """Whether a fill begins so soon and so far below what the fill before it left that it is more
    likely that one typed again with other figures: further than a hot fill cools."""
    if old.act is not LogAct.FILL or old.to is None or line.from_ is None:
        return False
    return line.at - old.at <= WITHIN and is_further_above(line.from_, old.to)


def _is_same(old: LogLine, line: LogLine) -> bool:
    keys = ("act", "to", "gas", "o2", "he")
    near = abs(line.at - old.at) <= WITHIN
    put_in_nothing = line.act is LogAct.FILL and line.from_ is not None and line.from_ == line.to
    same_from = line.from_ == old.from_ or put_in_nothing
    return near and same_from and all(getattr(old, key) == getattr(line, key) for key in keys)
