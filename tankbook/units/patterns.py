"""Regular expressions that are compiled when they are first asked: an answer asks few of them.

Compiling all of them took a sixth of the processor time of a short answer.
"""

from __future__ import annotations

import re
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
