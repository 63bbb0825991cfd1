"""The code on each label: which cylinder of which ledger it belongs to, and nothing of a person."""

from __future__ import annotations

from functools import lru_cache

from tankbook.output.drawing import QUIET
from tankbook.output.page_names import address
from tankbook.output.paper.face import PaperError

MODULE = 0.38
"""The smallest module [mm]: three dots of a 200 dpi printer, which every reader tried reads."""

NAME = 40
"""Characters of the ledger's name that the code carries."""


def code_text(id_: str, serial: str, ledger: str, pages_at: str = "") -> str:
    """Three lines: the id, the serial number, the name of the ledger (its first 40 characters).

    With the address of a folder of pages, that of the cylinder's page and nothing else, so that
    the camera of a telephone opens it.
    """
    if pages_at:
        return address(pages_at, id_)
    return "\n".join((id_, serial, ledger[:NAME].strip()))


@lru_cache(maxsize=16)
def code_rows(text: str) -> tuple[tuple[bool, ...], ...]:
    """The modules of a QR code (ISO/IEC 18004), black where True, without the quiet zone.

    Raises:
        PaperError: the text is longer than a code holds.
    """
    import segno

    try:
        made = segno.make_qr(text, error="m", boost_error=False)
    except segno.DataOverflowError:
        first = text.partition("\n")[0]
        raise PaperError(f"{first}: its serial number is too long for a code") from None
    return tuple(tuple(bool(cell & 1) for cell in row) for row in made.matrix)


def least_side(rows: tuple[tuple[bool, ...], ...]) -> float:
    """The side [mm] of the smallest code that is still read, its quiet zone included."""
    return (len(rows) + 2 * QUIET) * MODULE
