"""What `validate` checks in the fill log against the cylinders' files."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace

from tankbook.gas import Gas, RangeError
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.fields import attributes_of
from tankbook.records.log import LogLine
from tankbook.records.node import Finding, Severity, Where
from tankbook.records.rulerow import Obligation
from tankbook.records.words import Act
from tankbook.rules.answers import Limit
from tankbook.rules.contents import GAUGE_ERROR, lines_by_cylinder, struck_out, void_key
from tankbook.rules.gate import AIR_WORD
from tankbook.rules.limits import limit_of, settled
from tankbook.rules.schedule import holds_on
from tankbook.units import GaugePressure, Temperature

HAPPENED = "happened:"
"""How the note of a fact begins that was logged against advice."""


def unknown_cylinders(book: Book, today: dt.date) -> Iterator[Finding]:
    """Every line that stands names a cylinder or a set of the ledger."""
    known = {*book.cylinders, *book.sets, *book.broken}
    gone = struck_out(book.log)
    for line in book.log:
        if line.cylinder not in known and line.act is not Act.VOID and void_key(line) not in gone:
            text = f"{line.cylinder} is not in the ledger"
            yield _finding(
                line, "unknown-cylinder", text, "correct it with a `void` line and a new one"
            )


def voids_name_a_line(book: Book, today: dt.date) -> Iterator[Finding]:
    """A void line names a line that is there."""
    voids = [line for line in book.log if line.act is Act.VOID]
    if not voids:
        return
    lines = {void_key(line) for line in book.log if line.act is not Act.VOID}
    for line in voids:
        if not struck_out([line]) & lines:
            text = f"it strikes out `{line.voids or ''}`, which is no line of the log"
            yield _finding(
                line, "void-of-nothing", text, "write the struck line's time and cylinder"
            )
        if not line.note:
            text = "a line is struck out without a reason"
            yield _finding(line, "void-without-reason", text, "say why in `note`")


def lines_say_it_once(book: Book, today: dt.date) -> Iterator[Finding]:
    """No two lines tell of the same act of the same cylinder at the same second.

    Where clones are joined, a line that one of them edited stands beside the original.
    """
    seen: dict[tuple[dt.datetime, str, Act, str | None], LogLine] = {}
    for line in book.log:
        struck = line.voids if line.act is Act.VOID else None
        first = seen.setdefault((line.at, line.cylinder, line.act, struck), line)
        if first is line:
            continue
        place = f"{first.path}:{first.line}" if first.path != line.path else f"line {first.line}"
        cells = [
            n for n, a in attributes_of(LogLine).items() if getattr(line, a) != getattr(first, a)
        ]
        if cells:
            text = f"{place} tells of this {line.act} otherwise ({', '.join(cells)})"
            mend = "a line was edited: keep the original, delete the other, correct with `correct`"
            yield _finding(line, "edited-line", text, mend)
        else:
            text = f"{place} says the same"
            found = _finding(line, "line-twice", text, "`tankbook tidy` drops exact doubles")
            yield replace(found, severity=Severity.ADVICE)


def times_in_order(book: Book, today: dt.date) -> Iterator[Finding]:
    """Lines stand in the order of their time, and none that stands lies in the future."""
    before: LogLine | None = None
    gone = struck_out(book.log)
    for line in book.log:
        if line.at.date() > today and void_key(line) not in gone:
            text = f"{line.at.isoformat()} lies in the future"
            yield _finding(line, "in-the-future", text, f"today is {today}")
        if before and before.path == line.path and line.at < before.at:
            text = "earlier than the line before it"
            yield replace(_finding(line, "log-order", text), severity=Severity.ADVICE)
        before = line


def fills_are_whole(book: Book, today: dt.date) -> Iterator[Finding]:
    """A fill says its pressure and gas; any gas but air was analysed, by somebody."""
    gone = struck_out(book.log)
    for line in book.log:
        if line.act is not Act.FILL or (gone and void_key(line) in gone):
            continue
        if line.to is None or line.gas is None:
            text = "a fill without its pressure or its gas"
            yield _finding(line, "fill-incomplete", text, "fill in `to` and `gas`")
        elif not line.gas.is_air and (line.o2 is None or not line.analysed_by):
            text = f"{line.gas} without an analysed percentage and the analyst's initials"
            yield _known(line, "not-analysed", text, "analyse before the label goes on")


@dataclass(slots=True)
class _Lawful:
    """What a cylinder could hold."""

    limit: Limit | None

    def allowed(self, gas: Gas, at: Temperature | None) -> GaugePressure | None:
        """The highest reading at a temperature that is within the limit."""
        if self.limit is None or at is None:
            return self.limit.pressure if self.limit else None
        try:
            return settled(gas.mixture, self.limit.pressure, self.limit.reference, at)
        except RangeError:
            return self.limit.pressure


def fills_were_lawful(book: Book, today: dt.date) -> Iterator[Finding]:
    """No fill went above the limit in force that day, or into a cylinder out of date.

    A fact logged as such (`happened:` in its note) is known: it is told as advice.
    """
    for id_, lines in lines_by_cylinder(book).items():
        members = book.sets[id_].cylinders if id_ in book.sets else (id_,)
        for member in members:
            if member in book.cylinders:
                yield from _lawful(book, book.cylinders[member], lines)


def _lawful(book: Book, cylinder: Cylinder, lines: tuple[LogLine, ...]) -> Iterator[Finding]:
    limits: dict[int, _Lawful] = {}
    dated: dict[dt.date, list[str]] = {}
    for line in lines:
        if line.act is not Act.FILL:
            continue
        day = line.at.date()
        tests = sum(r.void is None and r.on.first <= day for r in cylinder.requalified)
        if tests not in limits:
            limits[tests] = _Lawful(limit_of(book, _as_on(cylinder, day)))
        allowed = limits[tests].allowed(line.gas or AIR_WORD, line.temperature)
        if line.to and allowed and line.to.pa > allowed.pa + GAUGE_ERROR.pa:
            lawful = allowed.format(line.to.unit, 0)
            text = f"{cylinder.id} filled to {line.to}, above the {lawful} that was lawful"
            yield _known(line, "over-limit", text, "bleed it down, and record that")
        if day not in dated:
            dated[day] = _lapsed(book, cylinder, day)
        for what in dated[day]:
            text = f"{cylinder.id} was filled while out of {what}"
            yield _known(line, "out-of-date", text, "record the missing test, or hold the cylinder")


def _as_on(cylinder: Cylinder, day: dt.date) -> Cylinder:
    tests = tuple(r for r in cylinder.requalified if r.on.first <= day)
    if len(tests) == len(cylinder.requalified):
        return cylinder
    return replace(cylinder, requalified=tests)


def _lapsed(book: Book, cylinder: Cylinder, day: dt.date) -> list[str]:
    names = {Obligation.REQUALIFICATION: "test", Obligation.VISUAL: "inspection"}
    return [
        name for question, name in names.items() if holds_on(book, cylinder, question, day) is False
    ]


def _known(line: LogLine, code: str, text: str, mend: str) -> Finding:
    found = _finding(line, code, text, mend)
    happened = (line.note or "").startswith(HAPPENED) or line.override
    return replace(found, severity=Severity.ADVICE) if happened else found


def _finding(line: LogLine, code: str, text: str, mend: str = "") -> Finding:
    return Finding(Where(line.path, line.line, 1), code, text, mend)


LOG_CHECKS = (
    unknown_cylinders,
    voids_name_a_line,
    lines_say_it_once,
    times_in_order,
    fills_are_whole,
    fills_were_lawful,
)
