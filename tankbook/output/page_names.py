"""What the file of a cylinder's page is called, and its address.

The name follows from the id alone, so that a code once printed opens the same page for good. It
holds small letters, digits, `.`, `-`, `_` and `~` and nothing else: no two ids share one where
capitals count for nothing, and nothing in it must be written otherwise in an address (RFC 3986,
section 2.3, read).
"""

from __future__ import annotations

import hashlib

BOARD, STATION, MONTH = "index.html", "station.html", "month.html"
OF_CYLINDER = "c-"
"""What the name of a cylinder's page begins with: so it is no other page, hidden file or device."""

LONGEST = 100
"""Characters of a name as long as which it is spelt out; one that is longer is a digest."""


def file_name(id_: str) -> str:
    """`c-rb-014.html` for `RB-014`: capitals small, small letters after `_`, the rest by number."""
    said = "".join(map(_spelt, id_))
    if len(said) > LONGEST:
        said = f"~~{hashlib.sha256(id_.encode('utf-8', 'surrogateescape')).hexdigest()}"
    return f"{OF_CYLINDER}{said}.html"


def _spelt(sign: str) -> str:
    if sign.isascii() and (sign.isdigit() or sign in "-."):
        return sign
    if sign.isascii() and sign.isupper():
        return sign.lower()
    if sign.isascii() and sign.islower():
        return f"_{sign}"
    return f"~{ord(sign):x}~"


def address(pages_at: str, id_: str) -> str:
    """Where the page of a cylinder or set is read, below the address of the folder of pages."""
    return f"{pages_at}/{file_name(id_)}"
