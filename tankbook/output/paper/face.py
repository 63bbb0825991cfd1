"""The face that is printed in: how wide text is, whether it has a character at all, and how text is
broken into lines that fit: never inside a number, never between it and its unit."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from contextvars import ContextVar
from functools import cache, lru_cache
from itertools import groupby
from typing import Any, TypeVar

from msgspec import Struct

from tankbook.ledger import shipped
from tankbook.output.drawing import MM
from tankbook.output.page import NO_BREAK
from tankbook.units.patterns import pattern

T = TypeVar("T")

PLAIN, BOLD = "DejaVuSansCondensed", "DejaVuSansCondensed-Bold"
"""DejaVu 2.37, free to ship: Latin, Greek and Cyrillic, told apart at small sizes (0 O, 1 l I)."""

UNITS = (
    "(?:psi|bar|kPa|MPa)(?: abs)?|ata|ppm|N m|mm|cm|m3?|mg|in|ft|L|cuft|cuin|kg|lb|g|degF|degC|K|%"
    "|h|min|d|USD|EUR|GBP"
)
_WITH_UNIT = pattern(rf"(\d) ({UNITS})\b|(\d) (%)")
_OF_GAS = pattern(r"\b(?:O2|He) (?=\d)")
_DATE = pattern(r"(\d{1,2}) ([A-Z][a-z]{2}) (\d{4})|([A-Z][a-z]{2}) (\d{4})")
STEP = 0.25
"""Steps [pt] by which type shrinks to fit."""

KEPT = 20_000
"""Widths that are remembered: a run over hundreds of labels repeats most of its words."""


class PaperError(ValueError):
    """What is wrong, without a full stop, and in `mend` what to do about it."""

    def __init__(self, text: str, mend: str = "") -> None:
        super().__init__(text)
        self.mend = mend


def face(bold: bool = False) -> Any:
    """The face, made known to the PDF writer under its name. It is embedded where it is used."""
    return _read_face(BOLD if bold else PLAIN)


@cache
def _read_face(name: str) -> Any:
    """A face, read once: by its name, since `face()`, `face(False)` and `face(bold=False)` are one
    face and three sets of arguments."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    font = TTFont(name, shipped.font(f"{name}.ttf"))
    pdfmetrics.registerFont(font)
    return font


@lru_cache(maxsize=KEPT)
def _em(text: str, bold: bool) -> float:
    return float(face(bold).stringWidth(text, 1000)) / 1000


def width(text: str, size: float, bold: bool = False) -> float:
    """How wide a line of text is [mm] at a size [pt]."""
    return _em(text, bold) * size / MM


def printable(text: str, where: str) -> str:
    """`text` on one line, composed (NFC), when every character of it prints as it should.

    Letters that are written from right to left, or are put together from several marks, are not
    laid out here, so they are refused rather than printed wrong; within `written_on`, a line to
    write on takes their place.

    Raises:
        PaperError: a character cannot be printed; `where` says whose text it is.
    """
    said, runs = legible(text)
    if runs:
        kept = _WRITTEN_ON.get()
        if kept is None:
            raise PaperError(f"{where}: {why_not_printed(runs[0][0])}", LETTERS)
        kept.update(dict.fromkeys(runs))
    return said


_WRITTEN_ON: ContextVar[dict[str, None] | None] = ContextVar("written_on", default=None)


def written_on(make: Callable[[], T]) -> tuple[T, tuple[str, ...]]:
    """A paper, with a line to write on in the place of each run of characters that cannot be
    printed; and those runs, each once. This is so for every paper: one field blocks none."""
    kept: dict[str, None] = {}
    token = _WRITTEN_ON.set(kept)
    try:
        return make(), tuple(kept)
    finally:
        _WRITTEN_ON.reset(token)


LETTERS = "write it in Latin, Greek or Cyrillic letters"
TO_WRITE_ON = "____"
"""What stands in the place of letters that cannot be printed."""


def legible(text: str) -> tuple[str, tuple[str, ...]]:
    """`text` as `printable` has it, a line to write on in the place of each run of characters that
    cannot be printed; and those runs."""
    parts, left = [], []
    for printed, run in groupby(_composed(text), _is_printed):
        said = "".join(run)
        parts.append(said if printed else TO_WRITE_ON)
        left += [] if printed else [said]
    return "".join(parts), tuple(left)


def why_not_printed(run: str) -> str:
    """What is the matter with the first of some characters: `x` cannot be printed (U+...)."""
    name = unicodedata.name(run[0], "a character without a name").lower()
    shown = "".join(c if c.isprintable() else "?" for c in run)
    return f"`{shown}` cannot be printed (U+{ord(run[0]):04X}, {name})"


def _composed(text: str) -> str:
    return unicodedata.normalize("NFC", " ".join(text.split()))


def _is_printed(character: str) -> bool:
    return ord(character) in face().face.charToGlyph and not _needs_shaping(character)


def _needs_shaping(character: str) -> bool:
    return (
        unicodedata.combining(character) != 0
        or unicodedata.bidirectional(character) in {"R", "AL"}
        or unicodedata.category(character) in {"Cc", "Cf", "Cs", "Co", "Mn", "Me", "Mc"}
    )


def baseline(top: float, size: float) -> float:
    """Where a line of a size [pt] stands whose top is there [mm]."""
    return top + size * 0.95 / MM


def height(lines: int, size: float, leading: float) -> float:
    """How high so many lines of a size [pt] are [mm]."""
    return lines * size * leading / MM


# --- breaking text into lines


class FittedText(Struct, frozen=True):
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


def fitted(
    text: str, room: float, largest: float, smallest: float, bold: bool
) -> FittedText | None:
    """`text` on one line as large as will go, else wrapped at the smallest size, else None."""
    size = largest
    while size >= smallest:
        if width(text, size, bold) <= room:
            return FittedText((text,), size)
        size -= STEP
    lines = wrapped(text, room, smallest, bold)
    return FittedText(lines, smallest) if lines is not None else None


@lru_cache(maxsize=KEPT)
def in_cell(
    text: str, room: float, largest: float, smallest: float, bold: bool = False
) -> FittedText:
    """`text` in lines, at the largest size that leaves its words whole; a word that no size does is
    broken at the smallest, since no sheet must fail for one long name."""
    size = largest
    while size >= smallest:
        found = wrapped(text, room, size, bold)
        if found is not None and all(width(word, size, bold) <= room for word in text.split()):
            return FittedText(found, size)
        size -= STEP
    return FittedText(cut(text, room, smallest, bold), smallest)


def cut(text: str, room: float, size: float, bold: bool = False) -> tuple[str, ...]:
    """`text` in lines; a word wider than the room is broken, one that holds a digit too."""
    words = []
    for word in text.split():
        part = ""
        for letter in word:
            if part and width(part + letter, size, bold) > room:
                words.append(part)
                part = ""
            part += letter
        words.append(part)
    return wrapped(" ".join(words), room, size, bold) or tuple(words)


def in_lines(text: str, room: float, size: float, bold: bool = False) -> tuple[str, ...]:
    """`text` in lines; an id or a number is broken only where it is wider than the room by itself,
    since no sheet that somebody works by must fail for one long name."""
    found = wrapped(text, room, size, bold)
    return found if found is not None else cut(text, room, size, bold)


def shortened(
    text: str, room: float, size: float, bold: bool = False, *, tail: bool = False
) -> str:
    """`text` on one line of so much room [mm]; of what is too long the end is cut, or its head
    where its `tail` tells it apart, and `…` stands there."""
    kept, said = text, text
    while kept and width(said, size, bold) > room:
        kept = kept[1:] if tail else kept[:-1]
        said = f"…{kept}" if tail else f"{kept}…"
    return said


def _bound(text: str) -> str:
    """Numbers tied to their units and gases, and days to their months, by blanks that do not
    break."""
    for tied in (_WITH_UNIT, _OF_GAS, _DATE):
        text = tied.sub(lambda m: m[0].replace(" ", NO_BREAK), text)
    return text


def _broken(word: str, room: float, size: float, bold: bool) -> list[str]:
    parts, part = [], ""
    for character in word:
        if part and width(part + character, size, bold) > room:
            parts.append(part)
            part = ""
        part += character
    return [*parts, part]
