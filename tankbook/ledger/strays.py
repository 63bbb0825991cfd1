"""Whether a file that is not read under its name is a record all the same.

Beside records lie photographs, papers and notes, which say nothing about a fill. A record under a
wrong name or in a wrong folder does, and what it says is not known to any answer. What a text is,
its own first lines tell: a record begins with keys of a record, the log with its heading.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.fields import keys_of
from tankbook.records.log import LogLine, columns
from tankbook.records.rulerow import RuleSet
from tankbook.records.station import Station
from tankbook.records.words import LogAct
from tankbook.units.patterns import pattern

WIDE = ("fills", "rules", "station")
"""Kinds whose loss touches every cylinder."""

RECORD_ENDINGS = ("yaml", "yml")
LOG_ENDINGS = ("csv", "tsv", "xls", "ods", "numbers")

_NEVER_READ = (
    ".pdf", ".jpg", ".jpeg", ".png", ".heic", ".webp", ".svg", ".gif", ".tif", ".tiff", ".bmp",
    ".mp4", ".mov", ".zip", ".docx", ".doc", ".odt", ".xlsx", ".xls", ".ods", ".numbers",
)  # fmt: skip
"""Endings of pictures and papers: these are not opened."""

_OF_CARD = frozenset({"serial", "specification", "service_pressure", "test_pressure"})
_LIVED = frozenset(
    {"requalified", "inspected", "held", "rejected", "condemned", "cleaned", "valve_work"}
)
"""Keys that nothing but a cylinder's card has: of the first a caption may have one, as it may have
a `note` and a `place`."""

_KEY = r"[\"']?([a-z][a-z0-9_]*)[\"']?\s*:(?=\s|$|\[|\{|\")"
KEY = pattern(_KEY)
_IN_WORDS = pattern(r"""^[\s"'{]*cylinders["']?[ \t]*:[ \t]+[^\W\d][^\d\n\[]*$""", re.MULTILINE)
"""A sentence about cylinders that names none."""
_INNER_KEY = pattern(r"(?:[{,]|^)\s*" + _KEY, re.MULTILINE)
NO_LINE = ("#", "---", "...", "%", "<<<<<<<", "=======", ">>>>>>>", "|||||||")
"""How lines begin that are none of a record's own: comments, ends, and what a conflict leaves."""

_LOG_LINE = pattern(
    r"[\"']?\d{4}-\d\d-\d\d[T ]\d\d:\d\d[^,;\t]*[\"']?[,;\t][^,;\t]+[,;\t][\"']?(\w[\w-]*)"
)
_ACTS = frozenset(LogAct)


def is_named_so(name: str, folder: str) -> bool:
    """Whether a name has the ending of a record of that folder anywhere behind its first point."""
    endings = LOG_ENDINGS if folder == "fills" else RECORD_ENDINGS
    return any(part.startswith(endings) for part in name.casefold().split(".")[1:])


_ENDS = pattern(r"(?:~|\.~\d+~|\.(?:bak|orig|old|save)(?:\.?\d+)?|\.sw[a-p])+$", re.IGNORECASE)
"""How the names end that editors and merges keep an older text under, or one not yet saved."""


def kept_of(name: str, names: Iterable[str]) -> str:
    """The record, or the year of the log, among some names that a file is the older text of as an
    editor keeps it (`RB-011.yaml~`, `.bak`, `#RB-011.yaml#`), or an empty text. A backup of what
    somebody copied is none.

    >>> [kept_of(n, ["R.yaml"]) for n in ("R.yaml.~2~", "#R.yaml#", "R.bak", "R (1).yaml~")]
    ['R.yaml', 'R.yaml', 'R.yaml', '']
    """
    if len(name) > 2 and name[0] == name[-1] == "#":
        bare = name[1:-1]
    elif found := _ENDS.search(name):
        bare = name[: found.start()]
    else:
        return ""
    records = [n for n in names if n.endswith((".yaml", ".csv")) and not n.startswith(".")]
    return next((n for n in records if bare in (n, n.removesuffix(".yaml"))), "")


def may_be_text(name: str) -> bool:
    """Whether a file is opened to see what it is: no picture or paper by its ending, and no
    hidden one but those that end as a record does."""
    low = name.casefold()
    if low.startswith("."):
        return low.endswith((".yaml", ".yml", ".csv"))
    return not low.endswith(_NEVER_READ)


def text_of(data: bytes) -> str:
    """The text of some bytes, as far as they are one; empty where they are none."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", errors="replace")
    if b"\x00" in data[:4096]:
        return ""
    return data.decode("utf-8-sig", errors="replace")


def kinds_of(data: bytes) -> frozenset[str]:
    """What a file's text may be a record of, by the folder it belongs into; `station` is its file.

    None where it is no record: neither its first line, comments aside, nor half of the lines at its
    margin begin with a key.
    """
    text = text_of(data)
    lines = [n for n in text.splitlines() if n.strip() and not n.strip().startswith(NO_LINE)]
    if not lines:
        return frozenset()
    if _is_log(lines):
        return frozenset({"fills"})
    keys = _keys(text, lines)
    found = {"sets"} if "cylinders" in keys and not _IN_WORDS.search(text) else set()
    if keys & _LIVED or (keys & _OF_CARD and len(keys & keys_of(Cylinder).keys()) > 1):
        found.add("cylinders")
    if "rows" in keys and keys & (keys_of(RuleSet).keys() - {"rows"}):
        found.add("rules")
    if len(keys & (keys_of(Station).keys() - keys_of(Cylinder).keys())) > 1 or "air_tests" in keys:
        found.add("station")
    return frozenset(found)


def _keys(text: str, lines: list[str]) -> set[str]:
    """The keys of a text, where it is one of keys."""
    if lines[0].lstrip().startswith("{"):
        return set(_INNER_KEY.findall(text))
    indent = min(len(n) - len(n.lstrip()) for n in lines)
    margin = [n[indent:] for n in lines if not n[indent:].startswith((" ", "\t", "-", "]", "}"))]
    keys = [_known(found[1]) if (found := KEY.match(n)) else "" for n in margin]
    if keys and (keys[0] or 2 * sum(map(bool, keys)) >= len(keys)):
        return {*keys} - {""}
    return set()


def _known(key: str) -> str:
    nouns = (Cylinder, Doubles, RuleSet, Station)
    return key if any(key in keys_of(noun) for noun in nouns) else ""


def _is_log(lines: list[str]) -> bool:
    """Whether a text has the heading of the log, or a line of it."""
    heading = columns(LogLine)[:3]
    cells = (re.split(r"[,;\t]", n.casefold())[:3] for n in lines[:3])
    if any(tuple(c.strip(" \"'") for c in each) == heading for each in cells):
        return True
    return any((found := _LOG_LINE.match(n)) and found[1] in _ACTS for n in lines[:3])
