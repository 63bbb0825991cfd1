"""Regular expressions that are compiled when they are first asked: an answer asks few of them.

Compiling all of them took a sixth of the processor time of a short answer.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from typing import Any, AnyStr, cast

_OF_A_PATTERN = (
    *("search", "match", "fullmatch", "finditer", "findall", "sub", "subn", "split"),
    *("pattern", "flags", "groups", "groupindex"),
)


class _Lazy:
    """What stands for a pattern, and becomes it."""

    def __init__(self, text: Any, flags: int) -> None:
        self._text, self._flags = text, flags

    def __getattr__(self, name: str) -> Any:
        if name not in _OF_A_PATTERN:
            raise AttributeError(name)
        made = re.compile(self._text, self._flags)
        for each in _OF_A_PATTERN:
            setattr(self, each, getattr(made, each))
        return getattr(made, name)


def pattern(text: AnyStr, flags: int = 0) -> re.Pattern[AnyStr]:
    """As `re.compile`, at the first use. What is wrong with it is told then; a test compiles all.

    Args:
        text: the expression.
        flags: as of `re`.
    """
    return cast("re.Pattern[AnyStr]", _Lazy(text, flags))


class Sought:
    """A pattern of many lines, of which those alone are made that a text may hold.

    Of a short note nearly every line finds nothing, and to compile them all took longer than all
    else of a short answer.

    Args:
        make: what gives the pattern of some of the lines.
        needles: of each line the pieces, as `folded`, of which whatever it finds holds at least
            one; none where that cannot be said.
    """

    __slots__ = ("_made", "_make", "_needles", "_whole")

    def __init__(
        self, make: Callable[[Sequence[int]], re.Pattern[str]], needles: Sequence[Sequence[str]]
    ) -> None:
        self._make, self._needles = make, needles
        self._made: dict[tuple[int, ...], re.Pattern[str]] = {}
        self._whole: re.Pattern[str] | None = None

    def _for(self, text: str) -> re.Pattern[str] | None:
        """The pattern of the lines that a text may hold, if any: all of them once many were."""
        if self._whole is not None:
            return self._whole
        plain = folded(text)
        lines = tuple(
            place
            for place, needles in enumerate(self._needles)
            if not needles or any(needle in plain for needle in needles)
        )
        if not lines:
            return None
        if len(lines) == len(self._needles) or (
            lines not in self._made and len(self._made) == _FEW
        ):
            return self.whole
        made = self._made.get(lines)
        if made is None:
            made = self._made[lines] = self._make(lines)
        return made

    @property
    def whole(self) -> re.Pattern[str]:
        """The pattern of all the lines."""
        if self._whole is None:
            self._whole = self._make(range(len(self._needles)))
        return self._whole

    def search(self, text: str, at: int = 0) -> re.Match[str] | None:
        """As of a pattern."""
        made = self._for(text)
        return made.search(text, at) if made else None

    def match(self, text: str, at: int = 0, end: int | None = None) -> re.Match[str] | None:
        """As of a pattern."""
        made = self._for(text)
        return made.match(text, at, len(text) if end is None else end) if made else None

    def fullmatch(self, text: str) -> re.Match[str] | None:
        """As of a pattern."""
        made = self._for(text)
        return made.fullmatch(text) if made else None

    def finditer(self, text: str) -> Iterator[re.Match[str]]:
        """As of a pattern."""
        made = self._for(text)
        return made.finditer(text) if made else iter(())

    def findall(self, text: str) -> list[Any]:
        """As of a pattern."""
        made = self._for(text)
        return made.findall(text) if made else []

    def sub(self, instead: str | Callable[[re.Match[str]], str], text: str) -> str:
        """As of a pattern."""
        made = self._for(text)
        return made.sub(instead, text) if made else text

    def split(self, text: str) -> list[str | Any]:
        """As of a pattern."""
        made = self._for(text)
        return made.split(text) if made else [text]


_FEW = 16
"""After so many different choices of lines all of them are made: many texts are asked."""
_AS_ONE = str.maketrans("\u0130\u0131", "ii")
"""Letters that `re` takes for another where capitals are small letters, and `casefold` does not."""


@lru_cache(maxsize=512)
def folded(text: str) -> str:
    """A text in which whatever `re` finds alike, capitals or not, is the same."""
    return text.translate(_AS_ONE).casefold()
