"""What a look at a cylinder says that it left out, or that it could not read."""

from __future__ import annotations

import re

from tankbook.units.lexicon import Lexicon

_SAY = Lexicon("left_out", re.NOFLAG)  # a text is in small letters by then


def left_out(text: str) -> str:
    """The clause by which a text says that a look was of the outside alone, or left something out;
    an empty text where none does. Of `internal, external` both were looked at.

    >>> left_out("dents measured; threads not looked at")
    'threads not looked at'
    >>> left_out("internal, external")
    ''
    """
    said = text.casefold()
    clauses = (" ".join(clause.split()) for clause in re.split(r"[,;.:()\n]", said))
    freed = _SAY.holds("freed", said)  # `valve stuck, freed`
    alone, stuck = _SAY.phrases("outside alone"), _SAY.phrases("stuck")
    found = [c for c in clauses if alone.fullmatch(c) and not (freed and stuck.fullmatch(c))]
    of_inside = any(_SAY.holds("inside", c) or c.startswith(("valve ", "ventil ")) for c in found)
    both = not of_inside and _SAY.holds("inside", said)
    return "" if both or not found else found[0]


def no_serial(serial: str) -> bool:
    """Whether what stands in the place of a serial number says that none was read.

    >>> [no_serial(text) for text in ("___", "n/a", "Not legible", "B", "NIL-204")]
    [True, True, True, False, False]
    """
    signs = "".join(sign for sign in serial.casefold() if sign.isalnum())
    return not signs or signs in _SAY.words("no serial")
