"""The face that is printed in: how wide text is, and whether it has a character at all."""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from typing import Any

from tankbook.ledger import shipped
from tankbook.output.paper.errors import PaperError
from tankbook.output.paper.shapes import MM_PER_POINT

PLAIN, BOLD = "DejaVuSansCondensed", "DejaVuSansCondensed-Bold"
"""DejaVu 2.37, free to ship: Latin, Greek and Cyrillic, told apart at small sizes (0 O, 1 l I)."""

KEPT = 20_000
"""Widths that are remembered: a run over hundreds of labels repeats most of its words."""


@lru_cache(maxsize=2)
def face(bold: bool = False) -> Any:
    """The face, made known to the PDF writer under its name. It is embedded where it is used."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    name = BOLD if bold else PLAIN
    font = TTFont(name, shipped.font(f"{name}.ttf"))
    pdfmetrics.registerFont(font)
    return font


@lru_cache(maxsize=KEPT)
def _em(text: str, bold: bool) -> float:
    return float(face(bold).stringWidth(text, 1000)) / 1000


def width(text: str, size: float, bold: bool = False) -> float:
    """How wide a line of text is [mm] at a size [pt]."""
    return _em(text, bold) * size * MM_PER_POINT


def printable(text: str, where: str) -> str:
    """`text` on one line, composed (NFC), when every character of it prints as it should.

    Letters that are written from right to left, or are put together from several marks, are not
    laid out here, so they are refused rather than printed wrong.

    Raises:
        PaperError: a character cannot be printed; `where` says whose text it is.
    """
    composed = unicodedata.normalize("NFC", " ".join(text.split()))
    known = face().face.charToGlyph
    for character in composed:
        if ord(character) in known and not _needs_shaping(character):
            continue
        name = unicodedata.name(character, "a character without a name").lower()
        shown = character if character.isprintable() else "?"
        raise PaperError(
            f"{where}: `{shown}` cannot be printed (U+{ord(character):04X}, {name})",
            "write it in Latin, Greek or Cyrillic letters",
        )
    return composed


def _needs_shaping(character: str) -> bool:
    return (
        unicodedata.combining(character) != 0
        or unicodedata.bidirectional(character) in {"R", "AL"}
        or unicodedata.category(character) in {"Cc", "Cf", "Cs", "Co", "Mn", "Me", "Mc"}
    )
