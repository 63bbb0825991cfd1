"""The words for what can be found on a cylinder, in what somebody wrote of it."""

from __future__ import annotations

import re
from collections.abc import Iterable

from tankbook.records.words import Seen

_SAID: tuple[tuple[str, tuple[Seen, ...]], ...] = (
    (r"hair ?-?lines?|crack\w*|fissure\w*|split\w*", (Seen.SUSPECTED_CRACK, Seen.CRACK)),
    (r"pit|pits|pitt\w+", (Seen.PITS,)),
    (r"corro\w+|rust\w*", (Seen.PITS, Seen.LINE_CORROSION)),
    (r"gouge\w*|cut|cuts|dig|digs", (Seen.GOUGE,)),
    (r"dent\w*", (Seen.DENT,)),
    (r"bulg\w+", (Seen.BULGE,)),
    (r"fold|folds|lap|laps", (Seen.FOLD,)),
    (r"tool[ -]?marks?", (Seen.TOOL_MARK,)),
    (r"threads?", (Seen.THREAD,)),
    (r"heat\w*|fire|burn\w*|scorch\w*|char\w*red|melt\w*", (Seen.HEAT,)),
    (r"paint\w*|blister\w*", (Seen.PAINT, Seen.HEAT)),
    (r"odou?rs?|smell\w*|stink\w*", (Seen.ODOUR,)),
    (r"salt(?:[ -]?water)?|salty|sea[ -]?water", (Seen.SALT_WATER,)),
    (r"water|wet|damp|moist\w*", (Seen.MOISTURE, Seen.SALT_WATER)),
)
"""Words by which people write of a finding, and what each may be (the trade's words, and common
ones beside them: common practice, no source)."""

_PATTERNS = tuple((re.compile(rf"\b(?:{words})\b", re.IGNORECASE), of) for words, of in _SAID)
_DENIED = re.compile(
    r"\b(?:no (?:sign|trace)s? of|free of|without|not|no)(?: a| an| any)? (?:hairline )?[\w-]+",
    re.IGNORECASE,
)


def seen_in(text: str | None, besides: Iterable[Seen] = ()) -> dict[str, tuple[Seen, ...]]:
    """The words of a text that name a finding, each with what it may be.

    What is denied (`no crack`, `no sign of fire`) is none.

    Args:
        text: what somebody wrote.
        besides: findings that need not be told apart here.
    """
    said = _DENIED.sub(" ", text or "")
    left = frozenset(besides)
    found: dict[str, tuple[Seen, ...]] = {}
    for pattern, kinds in _PATTERNS:
        match = pattern.search(said)
        if match and not left.issuperset(kinds):
            found[match[0].casefold()] = kinds
            said = pattern.sub(" ", said)
    return found
