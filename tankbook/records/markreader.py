"""A line of stamp marks while it is being read: what was found so far, and what that tells."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from tankbook.records.marked import SUFFIXES, MarkKind, Marks, Token, Value
from tankbook.records.stampdate import Century
from tankbook.units import PartialDate

AUTHORITY = r"(?:DOT|ICC|CTC|TC)"
"""The marks of the US (ICC before DOT) and of Canada (CTC before TC)."""


@dataclass(slots=True)
class Reader:
    """The line, how far it was read, and what was found."""

    line: str
    first: PartialDate | None
    tokens: list[Token] = field(default_factory=list)

    def add(
        self, kind: MarkKind, start: int, end: int, value: Value = None, note: str = ""
    ) -> None:
        self.tokens.append(Token(kind, self.line[start:end], start, value, note))

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
