"""Pieces of text of which whatever an expression finds holds at least one, read off its parts."""

from __future__ import annotations

import re
from re import _constants as c
from re import _parser
from typing import Any

from tankbook.units.patterns import folded

_FEWEST = 2
"""A shorter piece stands in nearly every text: to look for it would spare nothing."""
_REPEATED = (c.MAX_REPEAT, c.MIN_REPEAT, c.POSSESSIVE_REPEAT)


def needles_of(text: str, flags: int = re.IGNORECASE) -> list[str]:
    """The pieces, none of which holds another; none where some match needs none of them."""
    try:
        found = _of(list(_parser.parse(text, flags)))
    except re.error:  # lists of bare words have signs of their own
        return []
    if not found or min(map(len, found)) < _FEWEST:
        return []
    return sorted(n for n in found if not any(o in n for o in found - {n}))


def _of(parts: list[Any]) -> set[str]:
    """The best pieces that one of its parts must hold; none where no part must hold any."""
    choices, run = [], ""
    for kind, value in [*parts, (None, None)]:
        if kind is c.LITERAL:
            run += folded(chr(value))
            continue
        if run:
            choices.append({run})
            run = ""
        if needed := _of_part(kind, value):
            choices.append(needed)
    return max(choices, key=lambda each: (min(map(len, each)), -len(each)), default=set())


def _of_part(kind: Any, value: Any) -> set[str]:
    if kind is c.SUBPATTERN:
        return _of(list(value[3]))
    if kind is c.ATOMIC_GROUP:
        return _of(list(value))
    if kind is c.BRANCH:
        each = [_of(list(branch)) for branch in value[1]]
        return set().union(*each) if all(each) else set()
    if kind in _REPEATED and value[0] > 0:
        return _of(list(value[2]))
    return set()
