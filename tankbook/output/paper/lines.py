"""Breaking text into lines that fit: never inside a number, never between it and its unit."""

from __future__ import annotations

from msgspec import Struct

from tankbook.output.page import NO_BREAK
from tankbook.output.paper.face import width
from tankbook.units.patterns import pattern

UNITS = "psi|bar|kPa|MPa|mm|cm|m|in|ft|L|cuft|cuin|kg|lb|g|degF|degC|K|%|h|min|d|USD|EUR|GBP"
_WITH_UNIT = pattern(rf"(\d) ({UNITS})\b|(\d) (%)")
_DATE = pattern(r"(\d{1,2}) ([A-Z][a-z]{2}) (\d{4})|([A-Z][a-z]{2}) (\d{4})")
STEP = 0.25
"""Steps [pt] by which type shrinks to fit."""


class Fitted(Struct, frozen=True):
    """Lines of one size [pt]."""

    lines: tuple[str, ...]
    size: float


def wrapped(text: str, room: float, size: float, bold: bool = False) -> tuple[str, ...] | None:
    """`text` in lines no wider than `room` [mm], or None where a number would have to be cut.

    A word wider than the room is broken between letters, but one that holds a digit never is.
    """
    lines: list[str] = []
    line = ""
    for word in _bound(text).split(" "):
        longer = f"{line} {word}".lstrip()
        if width(longer, size, bold) <= room:
            line = longer
            continue
        if line:
            lines.append(line)
        if width(word, size, bold) <= room:
            line = word
            continue
        if any(c.isdigit() for c in word):
            return None
        *whole, line = _broken(word, room, size, bold)
        lines += whole
    lines += [line] if line else []
    return tuple(each.replace(NO_BREAK, " ") for each in lines)


def fitted(text: str, room: float, largest: float, smallest: float, bold: bool) -> Fitted | None:
    """`text` on one line as large as will go, else wrapped at the smallest size, else None."""
    size = largest
    while size >= smallest:
        if width(text, size, bold) <= room:
            return Fitted((text,), size)
        size -= STEP
    lines = wrapped(text, room, smallest, bold)
    return Fitted(lines, smallest) if lines is not None else None


def _bound(text: str) -> str:
    """Numbers tied to their units, and days to their months, by blanks that do not break."""
    tied = _WITH_UNIT.sub(lambda m: m[0].replace(" ", NO_BREAK), text)
    return _DATE.sub(lambda m: m[0].replace(" ", NO_BREAK), tied)


def _broken(word: str, room: float, size: float, bold: bool) -> list[str]:
    parts, part = [], ""
    for character in word:
        if part and width(part + character, size, bold) > room:
            parts.append(part)
            part = ""
        part += character
    return [*parts, part]
