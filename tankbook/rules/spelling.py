"""Specifications, alloys and names in one spelling, and what a pattern of a rule row fits."""

from __future__ import annotations

import re
from functools import lru_cache


@lru_cache(maxsize=4096)
def normal(specification: str) -> str:
    """A specification in one spelling: capitals, single hyphens, no spaces; CTC is TC.

    `DOT 3AL`, `DOT3AL` and `dot-3al` are all `DOT-3AL`.
    """
    text = re.sub(r"[\s\-/]+", "-", specification.strip().upper())
    text = re.sub(r"^CTC", "TC", text)
    return re.sub(r"^(DOT|ICC|TC|UN|ISO|EN|BS|AS|DIN)-?(?=\d|SP|E\d|SU|ISO|EN-?\d)", r"\1-", text)


ALLOYS = ("6351", "6061", "6082", "7032", "7060")
"""Aluminium alloys of cylinders (memory); any other word is an unknown alloy."""


def alloy_named(text: str | None) -> str | None:
    """The alloy that a text names (`6061`, `AA6351-T6`), or None where it names none, or two.

    A watch row may say `not-6351`, where a notice clears a maker without naming its alloy.
    """
    if text == "not-6351":
        return text
    named = {a for a in re.findall(r"\d+", text or "") if len(a) == 4}
    return named.pop() if len(named) == 1 and named <= set(ALLOYS) else None


@lru_cache(maxsize=4096)
def folded(text: str) -> str:
    """A maker's or a country's name for comparing: small letters, single spaces."""
    return " ".join(text.casefold().split())


def any_fits(patterns: tuple[str, ...], specifications: tuple[str, ...]) -> bool:
    """Whether one of some patterns fits one of some specifications, which are in one spelling.

    No pattern at all fits everything; a trailing `*` stands for anything.
    """
    if not patterns:
        return True
    for pattern in map(normal, patterns):
        if pattern.endswith("*"):
            if any(s.startswith(pattern[:-1]) for s in specifications):
                return True
        elif pattern in specifications:
            return True
    return False


def takes_in(wider: str, pattern: str) -> bool:
    """Whether a pattern fits all that another one fits."""
    one, other = normal(wider), normal(pattern)
    return other.startswith(one[:-1]) if one.endswith("*") else one == other
