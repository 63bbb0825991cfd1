"""Thread marks: whether two of them name the same thread, whichever way they are written."""

from __future__ import annotations

import re
from functools import lru_cache

_CODES = {"sp12": "3/4-14npsm", "25p": "m25x2", "18p": "m18x1.5"}


def stated(thread: str | None) -> str | None:
    """A thread that says something: a `?` or `unknown` has no number in it."""
    return thread if thread and any(c.isdigit() for c in thread) else None


def threads_match(one: str, other: str) -> bool:
    """Whether two thread marks name the same thread, whichever way they are written.

    `3/4 NPSM` is `3/4-14 NPSM` (code SP12, read: DAN), and so is `3/4 NPS` (common practice, no
    source); `25P` is `M25x2` (read: DAN), `18P` is `M18x1.5` (memory).
    """
    return _thread(one) == _thread(other)


def is_metric(thread: str) -> bool:
    """Whether a thread mark names a metric thread, by its size or its code."""
    return re.match(r"m\d", _thread(thread)) is not None


@lru_cache(maxsize=1024)
def _thread(text: str) -> str:
    word = re.sub(r"[\s\u00d7]", lambda m: "x" if m[0] == "\u00d7" else "", text.casefold())
    word = re.sub(r"^3/4(-14|x14)?-?npsm?$", "3/4-14npsm", word)
    word = re.sub(
        r"^m(\d+)[x*/](\d+(?:\.\d+)?)(?:iso)?$", lambda m: f"m{m[1]}x{float(m[2]):g}", word
    )
    return _CODES.get(word, word)
