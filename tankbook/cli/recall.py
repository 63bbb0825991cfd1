"""`tankbook recall`."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

from msgspec.structs import replace

from tankbook.acts.options import Arg, Flag, Opt
from tankbook.cli.answer import DONE, NO, Answer, RequestError, with_more
from tankbook.cli.names import NamesAsked, names_asked, open_with_names, with_hint
from tankbook.cli.recording import Bench, Given, Planned, run, time_of
from tankbook.units import PartialDate

if TYPE_CHECKING:
    from tankbook.cli.open_ledger import Desk
    from tankbook.records.book import Book
    from tankbook.records.rulerow import WatchRow
    from tankbook.rules.recall import Asked as RecallOf
    from tankbook.rules.recall import Recall


def recall(
    given: Given,
    source: Annotated[
        str,
        Arg("SOURCE", "A bank or the compressor; of the failed test or alarm, if not said."),
    ] = "",
    since: Annotated[
        dt.date | None, Opt("DATE", "From this day; the last good test, if not said.")
    ] = None,
    until: Annotated[dt.date | None, Opt("DATE", "Until this day.")] = None,
    gauge: Annotated[str, Opt("NAME", "Read on this gauge since a check last found it true.")] = "",
    person: Annotated[str, Opt("INITIALS", "Filled by them.")] = "",
    notice: Annotated[str, Opt("ROW", "A maker's notice instead: a watch row in force.")] = "",
    maker: Annotated[str, Opt("TEXT", "A notice: the maker.")] = "",
    specification: Annotated[Sequence[str], Opt("SPEC", "A notice: the specification.")] = (),
    serial_from: Annotated[str, Opt("SERIAL", "A notice: first serial.")] = "",
    serial_to: Annotated[str, Opt("SERIAL", "A notice: last serial.")] = "",
    made_from: Annotated[PartialDate | None, Opt("MONTH", "A notice: made in or after.")] = None,
    made_before: Annotated[PartialDate | None, Opt("MONTH", "A notice: made before.")] = None,
    hold: Annotated[bool, Flag("Put every one of them on hold.")] = False,
    why: Annotated[str, Opt("TEXT", "Why they are held; worded here, if not.")] = "",
    at: Annotated[str, Opt("TIME", "When they are held (16:30); now, if it is today.")] = "",
    names: NamesAsked = False,
) -> Answer:
    """Every cylinder filled from a bad source since its last good test, or named in a notice.

    Or read on a gauge, filled by a person, in a time; several together narrow it. What each holds,
    where it is and whom to ring, and the banks that may hold it; --hold sets them all aside.
    """
    from tankbook.output import recall as output

    asked_for = {
        "maker": (maker,) if maker else (), "specification": tuple(specification),
        "serial_from": serial_from, "serial_to": serial_to, "made_from": made_from,
        "made_before": made_before,
    }  # fmt: skip
    of_fills = _OfFills(source, gauge, person, since, until)
    find = _finder(of_fills, notice, {k: v for k, v in asked_for.items() if v})
    if not hold:
        desk = open_with_names(given.common)
        found = _found(find, desk, desk.book, json=given.common.json)
        code = NO if found.unread else DONE
        if given.common.json:
            return desk.data(output.data(found, names_asked(desk.root, names)), code)
        said = with_hint(desk.root, names, lambda n: output.text(found, n, desk.page))
        return desk.answer(f"{said}{_next(found)}", code)

    whole = True

    def planned(bench: Bench) -> Planned:
        from tankbook.acts.hold import hold_all

        nonlocal whole
        known = bench.book.as_known_on(bench.today)
        found = _found(find, bench.desk, known, json=given.common.json)
        whole = not found.unread
        reason = why or _why(found)
        hour = time_of(bench, at)
        return hold_all(bench.book, found, why=reason, by=bench.by, on=bench.today, at=hour)

    answer = run(given, planned)
    answer = answer if whole else replace(answer, code=NO)
    if given.common.json:
        return with_more(answer, {"whole": whole})
    desk = open_with_names(given.common)
    found = find(desk.book, desk.today)
    said = with_hint(desk.root, names, lambda n: output.text(found, n, desk.page))
    head, _, rest = answer.text.partition("\n\n")
    return replace(answer, text="\n\n".join(filter(None, (head.rstrip("\n"), said, rest))))


def _found(
    find: Callable[[Book, dt.date], Recall], desk: Desk, book: Book, *, json: bool
) -> Recall:
    """What is recalled.

    Raises:
        RequestError: what is asked for is not on record.
        Unanswered: the same, where not all that is on record can be read.
    """
    from tankbook.rules.recall import not_seen

    try:
        return find(book, desk.today)
    except _Unknown as error:
        unread = not_seen(book)
        if not unread:
            raise
        wrong = "; ".join(each.text for each in unread)
        raise desk.unanswered(f"{error}; but not all can be read: {wrong}", json=json) from error


class _Unknown(RequestError):
    """What is asked for is not on record, as far as that can be read."""


def _next(found: Recall) -> str:
    """What holds those that are not held yet."""
    held = [*(s.held for s in found.suspects), *(b.held for b in found.banks)]
    return "" if all(held) else "\nHold them all: add --hold.\n"


def _why(found: Recall) -> str:
    until = f" until {found.until}" if found.until else ""
    return f"recall of {found.what}" + (f", gas since {found.since}" if found.since else "") + until


class _OfFills(NamedTuple):
    """A recall of fills as it was typed."""

    source: str
    gauge: str
    person: str
    since: dt.date | None
    until: dt.date | None


def _finder(
    fills: _OfFills, notice: str, keys: Mapping[str, Any]
) -> Callable[[Book, dt.date], Recall]:
    """What looks the recalled cylinders up in a book.

    Raises:
        RequestError: a source and a notice are given together, or a time ends before it begins.
    """
    if (notice or keys) and any(fills):
        raise RequestError("a recall is of a source or of a notice", "leave one of them out")
    if fills.since and fills.until and fills.until < fills.since:
        raise RequestError(f"--until {fills.until} is before --since {fills.since}")
    if notice and keys:
        raise RequestError("--notice names a watch row, which says the rest", "leave the rest out")

    def find(book: Book, today: dt.date) -> Recall:
        from tankbook.rules.recall import by_fills, by_notice

        if notice or keys:
            row = _row_of(book, notice) if notice else _row(keys)
            return by_notice(book, row, notice or "by notice")
        return by_fills(book, _asked(book, fills), today)

    return find


def _asked(book: Book, fills: _OfFills) -> RecallOf:
    """What was typed, by the names that the records have."""
    from tankbook.rules.recall import Asked as RecallOf
    from tankbook.rules.recall import failed_test, filled_by, gauge_called, people_in_log

    source, gauge, person, since, until = fills
    if gauge:
        found = gauge_called(book, gauge)
        if found is None:
            there = [g.name for g in (book.station.gauges if book.station else ())]
            mend = f"known: {', '.join(there) or 'none'}; where one has another label since, say so"
            mend += f" in station.yaml (`formerly: [{gauge}]`); no fill names its gauge, so that of"
            mend += " one that is gone any may be: `tankbook recall --since DATE`"
            raise _Unknown(f"there is no gauge {gauge!r}", mend)
        gauge = found.name
    if person:
        known = people_in_log(book)
        same = [each for each in known if each.casefold() == person.casefold()]
        people = {each.casefold(): each for each in book.settings.people}
        same = same or [people[p] for p in [person.casefold()] if p in people]
        same = same or [person] * any(filled_by(person, each) for each in known)
        if not same:
            mend = f"who filled: {', '.join(known[:20]) or 'nobody is named'}"
            raise _Unknown(f"no fill is by {person!r}", mend)
        person = same[0]
    narrowed = bool(gauge or person)
    in_time = bool(since or until) and failed_test(book) is None
    named = None if not source and (narrowed or in_time) else _source(book, source)
    return RecallOf(named, gauge, person, since, until)


def _source(book: Book, text: str) -> str:
    from tankbook.records.station import that_stand
    from tankbook.rules.recall import (
        compressor_of,
        failed_test,
        gas_labels,
        sounded_last,
        source_of_test,
    )

    known = gas_labels(book)
    if text:
        found = [name for name in known if name.casefold() == text.casefold()]
        if not found:
            raise _Unknown(f"no fill names {text!r}", f"known: {', '.join(known) or 'none'}")
        return found[0]
    failed, sounded = failed_test(book), sounded_last(book)
    if sounded is not None:
        pumps = [name for name in known if name.casefold() in sounded.pumps]
        return pumps[0] if len(sounded.pumps) == len(pumps) == 1 else compressor_of(book)
    if failed is None:
        mend = f"name the source: {', '.join(known)}" if known else "name the source"
        tested = book.station is not None and any(that_stand(book.station.air_tests))
        said = "the newest air test did not fail" if tested else "no air test is on record"
        raise _Unknown(said, mend)
    return source_of_test(book, failed) or compressor_of(book)


def _row_of(book: Book, id_: str) -> WatchRow:
    from tankbook.rules.recall import notice_of

    row = notice_of(book, id_)
    if row is None:
        raise _Unknown(f"--notice: no watch row in force is called {id_!r}", "`tankbook rules`")
    return row


def _row(keys: Mapping[str, Any]) -> WatchRow:
    from tankbook.records.rulerow import Basis, Verified, WatchRow

    return WatchRow(
        id="asked",
        basis=Basis.PRACTICE,
        citation="as asked on the command line",
        verified=Verified.MEMORY,
        **keys,
    )
