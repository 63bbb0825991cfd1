"""Text that no terminal obeys: what would steer one, or hide or turn its text, written out."""

from __future__ import annotations

import re

from tankbook.units.patterns import pattern

# Controls but for tab and line feed; soft hyphens and blanks of no width; marks that reorder text,
# or that end a line where nobody sees it; tags.
_STEERS = pattern(
    r"(?!\r\n|\A\ufeff)"
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\xad\u061c\u180e\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff"
    "\ufff9-\ufffb\U000e0000-\U000e007f]"
)


def safe(text: str) -> str:
    """A text of many lines, as a terminal may have it: `\\u001b[2J`.

    Line ends of either kind and a byte order mark before everything stay.

    It is written as JSON writes it, so that JSON stays what it was.
    """
    if text.isascii() and text.replace("\n", "").isprintable():
        return text
    return _STEERS.sub(_written_out, text)


def one_line(text: str) -> str:
    """As `safe`, and on one line."""
    if text.isprintable():
        return text
    return safe(text.replace("\t", "\\t").replace("\n", "\\n").replace("\r", "\\r"))


def _written_out(found: re.Match[str]) -> str:
    units = found[0].encode("utf-16-be")
    return "".join(f"\\u{units[i]:02x}{units[i + 1]:02x}" for i in range(0, len(units), 2))
