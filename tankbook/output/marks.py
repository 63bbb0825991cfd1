"""Stamp marks, token by token. What could not be read is named, never guessed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tankbook.output.page import Page, counted, plain_date
from tankbook.output.tables import in_words
from tankbook.output.words import VERIFIED
from tankbook.records.marked import shown_text
from tankbook.records.marks import Evidence, MarkedDate, MarkKind, Marks, Retest, Token

MARK_WIDTH = 4

_COULD_BE = {
    Evidence.PRESSURE: "a pressure",
    Evidence.DATE: "a date",
    Evidence.SPECIFICATION: "a specification",
    Evidence.CONDEMNED: "a row of X",
}


def data(marks: Marks) -> dict[str, Any]:
    """The JSON shape of `marks`."""
    return {
        "line": marks.line,
        "condemned": marks.condemned,
        "condemned_in_doubt": marks.condemned_in_doubt,
        "specifications": marks.specifications,
        "bare_specifications": marks.bare_specifications,
        "service_pressures": marks.service_pressures,
        "test_pressure": marks.test_pressure,
        "serial": marks.serial,
        "makers": marks.makers,
        "first_test": marks.first_date,
        "first_plus": marks.first_plus,
        "retests": [_retest(r) for r in marks.retests],
        "sizes": marks.sizes,
        "threads": marks.threads,
        "unread": [t.text for t in marks.unread],
        "unread_evidence": [t.text for t in marks.unread_evidence],
        "doubts": marks.doubts,
        "marks": [_token(t) for t in marks.tokens if t.kind is not MarkKind.JOINT],
    }


def _retest(retest: Retest) -> dict[str, Any]:
    return {
        "month": retest.month,
        "year": retest.year,
        "rin": retest.rin,
        "rin_could_be": retest.rin_could_be,
        "station": retest.station,
        "suffixes": retest.suffixes,
        "plus": retest.plus,
        "star": retest.star,
        "could_be": retest.when.could_be,
    }


def _token(token: Token) -> dict[str, Any]:
    meaning = token.meaning
    return {
        "text": token.text,
        "start": token.start,
        "kind": token.kind,
        "read_as": read_as(token),
        "could_be": sorted(token.could_be),
        "in_doubt": token.doubt or token.open_date,
        "note": token.note or None,
        "says": meaning.says if meaning else None,
        "citation": meaning.citation if meaning else None,
        "verified": meaning.verified if meaning else None,
    }


def text(marks: Marks, page: Page) -> str:
    """What the line says in short, then each mark with its meaning and where that stands."""
    read = (t for t in marks.tokens if t.kind is not MarkKind.JOINT)
    return page.answer(headline(marks), *("\n".join(_token_lines(t, page)) for t in read))


def headline(marks: Marks) -> str:
    """`DOT-3AL, 3000 psi, serial K118204, first test Sep 2021`, and what was not read."""
    said = ", ".join(_facts(marks)) or "no mark could be read"
    if marks.unread:
        named = ", ".join(map(_unread, marks.unread))
        said += f"; {counted(len(marks.unread), 'mark')} NOT READ: {named}"
    open_dates = sum(t.open_date or (t.doubt and t.kind is MarkKind.DATE) for t in marks.tokens)
    if open_dates:
        said += f"; {counted(open_dates, 'date')} in doubt"
    others = len(marks.doubts) - len(marks.unread) - open_dates
    if others:
        said += f"; {counted(others, 'mark')} in doubt"
    return said


def _facts(marks: Marks) -> Iterator[str]:
    """What was read, the gravest first."""
    if marks.condemned:
        by = " by a mark to be read again" if marks.condemned_in_doubt else ""
        yield f"CONDEMNED{by}: never fill it"
    yield from (*marks.specifications, *marks.bare_specifications)
    yield from dict.fromkeys(map(str, marks.service_pressures))
    yield from (f"test pressure {p}" for p in marks.test_pressures)
    if marks.serial:
        yield f"serial {shown_text(marks.serial)}"
    if marks.first_date:
        yield f"first test {plain_date(marks.first_date)}{' +' if marks.first_plus else ''}"
    yield from (f"life ends {read_as(t)}" for t in marks.of(MarkKind.LIFE_END))
    yield from (f"retest {_said(r.when)}{' +' if r.plus else ''}" for r in marks.retests)


def _unread(token: Token) -> str:
    """`4500 (a pressure?)`: a mark that was not read, and what it could be."""
    could_be = _could_be(token)
    return f"{token.shown} ({could_be}?)" if could_be else token.shown


def _could_be(token: Token) -> str:
    return " or ".join(said for kind, said in _COULD_BE.items() if kind in token.could_be)


def _token_lines(token: Token, page: Page) -> list[str]:
    value = read_as(token)
    kind = in_words(token.kind)
    if token.kind is MarkKind.UNREAD:
        kind, could_be = "NOT READ", _could_be(token)
        value = f"it could be {could_be}" if could_be else ""
    found = [page.wrap(f"{token.shown}  {kind}{f': {value}' if value else ''}", hang="  ")]
    if token.note:
        found.append(page.wrap(token.note, " " * MARK_WIDTH))
    if token.meaning is not None:
        meaning = token.meaning
        source = f"{meaning.citation}{f'; {meaning.edition}' if meaning.edition else ''}"
        grade = f", grade {meaning.grade}" if meaning.grade else ""
        known = f"[{VERIFIED[meaning.verified]}{grade}]"
        found.append(page.wrap(f"{meaning.says}. {source} {known}", " " * MARK_WIDTH))
    elif token.kind is not MarkKind.UNREAD:
        found.append(" " * MARK_WIDTH + "no meaning on file")
    return found


def read_as(token: Token) -> str:
    """The value of a mark in words, where that says more than the mark itself."""
    match token.value:
        case MarkedDate() as date:
            return _said(date)
        case Retest() as retest:
            names = [n for n in (retest.rin, *retest.rin_could_be, retest.station) if n]
            by = f"by {shown_text(' or '.join(names))}" if names else "no RIN stamped"
            suffixes = f", {' '.join(retest.suffixes)}" if retest.suffixes else ""
            return f"{_said(retest.when)}, {by}{suffixes}"
        case tuple() as names:
            return ", ".join(names)
        case None:
            return ""
        case value:
            said = str(value)
            return "" if said == token.text else shown_text(said)


def _said(date: MarkedDate) -> str:
    if date.date is not None:
        return plain_date(date.date)
    readings = " or ".join(plain_date(d) for d in date.could_be) or "no date"
    return f"{readings}, in doubt" if len(date.could_be) == 1 else readings
