"""Bytes into text, and the things no ledger file may contain.

The byte order mark of a file stays the first character of its text, so that encoding the text
gives the bytes back; places are counted without it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from itertools import islice

from tankbook.records.node import Finding, Where
from tankbook.units.patterns import pattern

BOM = "\ufeff"
RECORD_LIMIT = 1 << 20
"""Largest record file, in bytes."""
LOG_LIMIT = 64 << 20
"""Largest CSV file, in bytes: some 400,000 lines."""

LINE_LIMIT = 1 << 16
"""Longest line of a CSV file, in bytes; the longest note of a log is far from it."""

_SHOWN = 20
"""Findings of one kind told one by one; a binary file would give thousands."""

_WIDE_MARKS = (b"\xff\xfe", b"\xfe\xff", b"\x00\x00\xfe\xff")

# Control characters; the line separators on which YAML grammars disagree (NEL, LS, PS, a lone
# carriage return); marks that reorder text on the screen, so that it reads as what it is not; what
# shows nothing and makes two texts of one: soft hyphens, blanks of no width.
_FORBIDDEN = pattern(
    "[^\t\n\r\x20-\x7e\xa0-\xac\xae-\u200a\u200c-\u2027\u202f-\u205f\u2065\u206a-\ud7ff\ue000-\ufefe\uff00-\ufffd"
    "\U00010000-\U0010ffff]|\r(?!\n)"
)
_NAMES = {"\0": "a NUL byte", "\r": "a carriage return without its line feed", BOM: "a stray BOM"}

_CONFLICT = pattern(r"^(?:<{7}|={7}|>{7}|\|{7})(?=[ \r\n]|\Z)", re.MULTILINE)
_CONFLICT_WORDS = ("<<<<<<<", "=======", ">>>>>>>", "|||||||")


def read_text(data: bytes, path: str) -> tuple[str | None, list[Finding]]:
    """Decode UTF-8; the text is None when the bytes cannot be read.

    A byte order mark is kept as the text's first character.
    """
    limit = LOG_LIMIT if path.endswith(".csv") else RECORD_LIMIT
    if len(data) > limit:
        size = f"the file has {len(data):,} bytes, more than the {limit:,} allowed"
        return None, [Finding(Where(path), "too-large", size, "is this the right file?")]
    line = _too_long(data) if path.endswith(".csv") else 0
    if line:
        said = f"the line has more than the {LINE_LIMIT:,} bytes allowed"
        return None, [Finding(Where(path, line, 1), "too-large", said, "is this the right file?")]
    if data.startswith(_WIDE_MARKS):
        wide = "the file is UTF-16 or UTF-32 text"
        return None, [Finding(Where(path, 1, 1), "not-utf-8", wide, "save it as UTF-8")]
    try:
        return data.decode(), []
    except UnicodeDecodeError:
        return None, capped(_undecodable(data, path), path)


def _too_long(data: bytes) -> int:
    """The first line that is longer than one may be, counted from 1; 0 where none is."""
    at = 0
    while len(data) - at > LINE_LIMIT:
        end = data.rfind(b"\n", at, at + LINE_LIMIT + 1)
        if end < 0:
            return data.count(b"\n", 0, at) + 1
        at = end + 1
    return 0


def _undecodable(data: bytes, path: str) -> Iterator[Finding]:
    start = 0
    while True:
        try:
            data[start:].decode()
        except UnicodeDecodeError as error:
            at = start + error.start
            start += error.end
        else:
            return
        line_start = data.rfind(b"\n", 0, at) + 1
        column = len(data[line_start:at].decode(errors="replace").removeprefix(BOM)) + 1
        yield Finding(
            Where(path, data.count(b"\n", 0, at) + 1, column),
            "not-utf-8",
            f"byte 0x{data[at]:02X} is not UTF-8 text",
            "save the file as UTF-8",
        )


def capped(findings: Iterable[Finding], path: str) -> list[Finding]:
    """The first few of `findings`, and one that says there are more."""
    each = iter(findings)
    shown = list(islice(each, _SHOWN))
    if next(each, None) is not None:
        more = f"there are more than {_SHOWN} such faults"
        shown.append(Finding(Where(path), shown[-1].code, more, "mend these and look again"))
    return shown


def place(text: str, index: int, path: str) -> Where:
    """Where character `index` of a text without byte order mark stands."""
    line_start = text.rfind("\n", 0, index) + 1
    return Where(path, text.count("\n", 0, index) + 1, index - line_start + 1)


def forbidden(text: str) -> re.Match[str] | None:
    """The first character that may not stand in a ledger, if any."""
    # Nearly every text is printable but for its line ends, and this test is quick.
    if text.replace("\n", "").isprintable():
        return None
    return _FORBIDDEN.search(text)


def character_faults(text: str, path: str) -> list[Finding]:
    """Faults for every forbidden character and every merge-conflict marker of a text without BOM.

    While there are any, the text is not fit to be parsed.
    """
    found: list[Finding] = []
    if forbidden(text):
        each = (_forbidden_fault(text, at, path) for at in _FORBIDDEN.finditer(text))
        found += capped(each, path)
    if any(word in text for word in _CONFLICT_WORDS):
        each = (_conflict_fault(text, at, path) for at in _CONFLICT.finditer(text))
        found += capped(each, path)
    return sorted(found, key=lambda finding: finding.where)


def character_name(character: str) -> str:
    """A forbidden character in words."""
    return _NAMES.get(character, f"the character U+{ord(character):04X}")


def _forbidden_fault(text: str, at: re.Match[str], path: str) -> Finding:
    said = f"{character_name(at[0])} may not stand in a ledger"
    mend = "remove it; if there are many, save the file as UTF-8 text"
    return Finding(place(text, at.start(), path), "forbidden-character", said, mend)


def _conflict_fault(text: str, at: re.Match[str], path: str) -> Finding:
    said = f"a merge conflict is not settled here ({at[0]})"
    mend = "keep the lines that are true and delete the markers"
    return Finding(place(text, at.start(), path), "merge-conflict", said, mend)


def printable(text: str) -> str:
    """Text that a terminal shows as it is: what would steer it is written out."""
    return "".join(c if c.isprintable() else ascii(c)[1:-1] for c in text)
