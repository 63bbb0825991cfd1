"""Lines of the fill log: their cells, their moment, and what the last line of the day suggests."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from tankbook.acts.common import as_text, ticked
from tankbook.records.book import Book
from tankbook.records.edits import AddLine
from tankbook.records.log import LogLine, each_named
from tankbook.records.station import COMPRESSOR
from tankbook.records.words import LogAct
from tankbook.rules.air import by_others, named_as_others, names_no_other
from tankbook.rules.bad_air import unknown_parts
from tankbook.rules.fill_history import struck_out, void_key

ELSEWHERE = "elsewhere:"
"""How a source begins that is none of the station's: a dealer, a gas company, another shop."""


def line_of(cells: dict[str, Any]) -> AddLine:
    """A line with these values; what is None or empty stays an empty cell."""
    return AddLine({k: str(as_text(v)) for k, v in cells.items() if v not in (None, "")})


def lines_at(
    book: Book, at: dt.datetime, rows: Sequence[Mapping[str, Any]], **shared: Any
) -> Iterator[AddLine]:
    """A line for each row at the first moment free for all of them, with what they share."""
    at = moment_for(book, tuple(row["cylinder"] for row in rows), at)
    return (line_of({"at": at, **shared, **row}) for row in rows)


def moment_for(book: Book, ids: tuple[str, ...], at: dt.datetime) -> dt.datetime:
    """The first second from `at` on at which none of the cylinders has a line yet.

    Time and cylinder are what a void line names a line by, so they are given only once.
    """
    at = at.replace(microsecond=0)
    taken = {line.at for line in book.log if line.cylinder in ids}
    while at in taken:
        at += dt.timedelta(seconds=1)
    return at


def last_fill(book: Book, at: dt.datetime) -> LogLine | None:
    """The fill logged last on that day, up to that moment; none of what others filled: a fill here
    is not taken for theirs."""
    gone = struck_out(book.log)
    lines = [
        line
        for line in book.log
        if line.act is LogAct.FILL
        and line.at.date() == at.date()
        and line.at <= at
        and void_key(line) not in gone
        and not by_others(line.source_ or "")
    ]
    return max(lines, key=lambda line: line.at, default=None)


def as_labelled(book: Book, text: str) -> str:
    """A source or a position as a fill names it, by the labels that its parts have."""
    station = book.station
    if station is None:
        return text
    names = [b.name for b in station.banks] + [p.name for p in station.positions]
    names += [w.name for w in station.whips] + [a.name for a in station.adaptors]
    names += [c.name or COMPRESSOR for c in station.every_compressor]
    names += [each.name for each in station.every_fed]
    labels = {name.casefold(): name for name in names}
    named = [name.strip() for name in text.split("+")]
    if all(name.casefold() in labels for name in named):
        return "+".join(labels[name.casefold()] for name in named)
    return text


def source_reasons(book: Book, source: str) -> Iterator[str]:
    """Why a source cannot be right: a part of it is none here, nor a cylinder of the ledger, nor
    says where others filled."""
    station = book.station
    if station is None:
        return
    known = [b.name for b in station.banks]
    known += [c.name or COMPRESSOR for c in station.every_compressor]
    known += [each.name for each in station.every_fed]
    named = named_as_others(station, source)
    for where in () if named else names_no_other(source, book.settings.ledger):
        yield (
            f"--source: {ticked(where)} names no other place: what was filled here is `--source"
            f" LABEL` ({', '.join(known) or 'none'}); what others filled says whose it was:"
            f" `{ELSEWHERE} NAME OF THE STATION`"
        )
    for name in named:
        yield (
            f"--source: {ticked(source)} names {name} of this station: what was filled here is"
            f" `--source {as_labelled(book, name)}`; what others filled names them alone:"
            f" `{ELSEWHERE} WHERE`"
        )
    ways = f"known: {', '.join(known) or 'none'}; what was filled by others: `{ELSEWHERE} WHERE`"
    for name in unknown_parts(book, source):
        if not name:
            yield f"--source: {ticked(source)} has a part that names nothing; {ways}"
        else:
            yield f"--source: the station has no {ticked(name)}; {ways}"


def place_reasons(book: Book, source: str, position: str) -> Iterator[str]:
    """Why a source or a position cannot be right: the station has no such part."""
    station = book.station
    if station is None:
        return
    yield from source_reasons(book, source)
    places = [p.name for p in station.positions]
    places += [w.name for w in station.whips] + [a.name for a in station.adaptors]
    for name in each_named(position):
        if places and name.casefold() not in {place.casefold() for place in places}:
            yield f"--position: the station has no {ticked(name)}; known: {', '.join(places)}"
