"""Stamp marks, token by token. What could not be read is named, never guessed."""

from __future__ import annotations

from typing import Any

from tankbook.output.page import Page, counted, plain_date
from tankbook.output.words import VERIFIED
from tankbook.records.marked import shown
from tankbook.records.marks import MarkedDate, MarkKind, Marks, Retest, Token

MARK_WIDTH = 4


def data(marks: Marks) -> dict[str, Any]:
    """The JSON shape of `marks`."""
    return {
        "line": marks.line,
        "condemned": marks.condemned,
        "specifications": marks.specifications,
        "service_pressures": marks.service_pressures,
        "test_pressure": marks.test_pressure,
        "serial": marks.serial,
        "first_test": marks.first_date,
        "retests": [_retest(r) for r in marks.retests],
        "unread": [t.text for t in marks.unread],
        "doubts": marks.doubts,
        "marks": [_token(t) for t in marks.tokens],
    }


def _retest(retest: Retest) -> dict[str, Any]:
    return {
        "month": retest.month,
        "year": retest.year,
        "rin": retest.rin,
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
        "note": token.note or None,
        "says": meaning.says if meaning else None,
        "citation": meaning.citation if meaning else None,
        "verified": meaning.verified if meaning else None,
    }


def text(marks: Marks, page: Page) -> str:
    """What the line says in short, then each mark with its meaning and where that stands."""
    parts = [page.wrap(headline(marks), hang="  ")]
    for token in marks.tokens:
        parts += ["", *_token_lines(token, page)]
    return "\n".join([*parts, ""])


def headline(marks: Marks) -> str:
    """`DOT-3AL, 3000 psi, serial K118204, first test Sep 2021`, and what was not read."""
    facts = ["CONDEMNED: never fill it"] if marks.condemned else []
    facts += [*marks.specifications, *dict.fromkeys(map(str, marks.service_pressures))]
    if marks.serial:
        facts.append(f"serial {marks.serial}")
    if marks.first_date:
        facts.append(f"first test {plain_date(marks.first_date)}")
    facts += [f"life ends {read_as(t)}" for t in marks.of(MarkKind.LIFE_END)]
    facts += [f"retest {_said(r.when)}{' +' if r.plus else ''}" for r in marks.retests]
    said = ", ".join(facts) or "no mark could be read"
    if marks.unread:
        named = ", ".join(t.shown for t in marks.unread)
        said += f"; {counted(len(marks.unread), 'mark')} NOT READ: {named}"
    open_dates = sum(t.open_date or (t.doubt and t.kind is MarkKind.DATE) for t in marks.tokens)
    if open_dates:
        said += f"; {counted(open_dates, 'date')} in doubt"
    others = len(marks.doubts) - len(marks.unread) - open_dates
    if others:
        said += f"; {counted(others, 'mark')} in doubt"
    return said


def _token_lines(token: Token, page: Page) -> list[str]:
    value = read_as(token)
    kind = "NOT READ" if token.kind is MarkKind.UNREAD else token.kind.value.replace("-", " ")
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
            by = f"by {retest.rin}" if retest.rin else "no RIN stamped"
            suffixes = f", {' '.join(retest.suffixes)}" if retest.suffixes else ""
            return f"{_said(retest.when)}, {by}{suffixes}"
        case tuple() as names:
            return ", ".join(names)
        case None:
            return ""
        case value:
            said = str(value)
            return "" if said == token.text else shown(said)


def _said(date: MarkedDate) -> str:
    if date.date is not None:
        return plain_date(date.date)
    readings = " or ".join(plain_date(d) for d in date.could_be) or "no date"
    return f"{readings}, in doubt" if len(date.could_be) == 1 else readings
