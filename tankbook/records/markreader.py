"""A line of stamp marks while it is being read: what was found so far, and what that tells."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeAlias

from tankbook.records.marked import SUFFIXES, MarkKind, Marks, Token, Value
from tankbook.records.stampdate import Century, MarkedDate
from tankbook.units import PartialDate

AUTHORITY = r"(?:DOT|ICC|CTC|TC)"
"""The marks of the US (ICC before DOT) and of Canada (CTC before TC)."""

END = r"(?=$|[\s,;])"
RIN = r"[A-Z][0-9]{3}|V[0-9]{4,6}"


def pattern(text: str) -> re.Pattern[str]:
    """A shape of marks: upper and lower case alike, ASCII digits and letters only."""
    return re.compile(text, re.IGNORECASE | re.ASCII)


@dataclass(slots=True)
class Reader:
    """The line, how far it was read, and what was found.

    `missed_date`: something that may be a date was not read, or is later than `today`. What comes
    after it cannot be called the first.
    """

    line: str
    first: PartialDate | None
    today: dt.date | None = None
    tokens: list[Token] = field(default_factory=list)
    missed_date: bool = False

    def add(
        self,
        kind: MarkKind,
        start: int,
        end: int,
        value: Value = None,
        note: str = "",
        *,
        doubt: bool = False,
    ) -> None:
        self.tokens.append(Token(kind, self.line[start:end], start, value, note, doubt=doubt))

    def by_now(self, when: MarkedDate, *, retest: bool) -> MarkedDate:
        """The date of a test done; left open where it is later than today."""
        date = when.date
        if self.today is None or date is None or date.first <= self.today:
            return when
        self.missed_date = self.missed_date or not retest
        other = ", or the month of the next test" if retest else ""
        note = f"in doubt: {date} is later than today, {self.today}; misread{other}"
        return MarkedDate(None, None, (date,), note)

    def has(self, kind: MarkKind) -> bool:
        return any(t.kind is kind for t in self.tokens)

    @property
    def specs(self) -> tuple[str, ...]:
        return Marks(self.line, tuple(self.tokens)).specifications

    def century(self, *, retest: bool, rin: bool = False) -> Century:
        """What places a two-digit year here."""
        made = Marks(self.line, tuple(self.tokens)).first_date or self.first
        return Century(made, self.specs, retest, rin)

    @property
    def american(self) -> bool:
        """A US or Canadian mark was read: dates of the maker are month, then year."""
        return any(re.match(AUTHORITY, s) for s in self.specs)

    @property
    def dated(self) -> Token | None:
        """The dated mark that a suffix here would belong to."""
        for token in reversed(self.tokens):
            if token.kind in {MarkKind.FIRST_TEST, MarkKind.RETEST, MarkKind.DATE}:
                return token
            if token.kind not in SUFFIXES.values():
                return None
        return None


Take: TypeAlias = Callable[[Reader, re.Match[str]], bool]
"""Adds the marks of a match, or returns False to leave it to the next shape."""
