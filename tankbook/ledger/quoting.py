"""Values into the text that reads back as them, quoted only where they must be."""

from __future__ import annotations

from typing import TypeAlias

from tankbook.ledger.text import forbidden, name_of
from tankbook.units.patterns import pattern

Value: TypeAlias = "str | list[Value] | dict[str, Value]"
"""What a record's text stands for: a tree of text."""

# Read as nothing by other tools, or as a marker between documents.
_RESERVED = pattern(r"~|null|Null|NULL|<<|(?:---|\.\.\.).*")
# A minus sign is safe before a number: -5 degC.
_START = pattern(r"[^-?:,\[\]{}#&*!|>'\"%@`\s]|-[0-9.]")
_INDICATOR = pattern(r": |:\Z| #")
_FLOW_INDICATOR = pattern(r"[,\[\]{}:?]")
_ESCAPES = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t", "\r": "\\r"}


def flow(value: Value) -> str:
    """A value on one line: lists in [ ], mappings in { }."""
    if isinstance(value, str):
        return scalar(value, in_flow=True)
    if isinstance(value, list):
        return f"[{', '.join(map(flow, value))}]"
    pairs = (pair(key, each, in_flow=True) for key, each in value.items())
    return f"{{{', '.join(pairs)}}}"


def pair(key: str, value: Value, *, in_flow: bool) -> str:
    """A key with its value on one line."""
    return f"{scalar(key, in_flow=in_flow)}: {inline(value, in_flow=in_flow)}"


def inline(value: Value, *, in_flow: bool, like: str = "") -> str:
    """A value on one line, for a place inside or outside [ ] and { }; `like` as in `scalar`."""
    return scalar(value, in_flow=in_flow, like=like) if isinstance(value, str) else flow(value)


def scalar(text: str, *, in_flow: bool, like: str = "") -> str:
    """A text on one line, in the quotation marks `like` where these will do.

    Raises:
        ValueError: no record may hold such a text.
    """
    if bad := forbidden(text):
        raise ValueError(f"{text!r} holds {name_of(bad[0])}")
    one_line = not any(control in text for control in "\n\r\t")
    if like == "'" and one_line:
        return _single(text)
    if like == '"':
        return _double(text)
    if one_line and _is_plain(text, in_flow):
        return text
    if one_line and ('"' in text or "\\" in text):
        return _single(text)
    return _double(text)


def _is_plain(text: str, in_flow: bool) -> bool:
    return (
        _START.match(text) is not None
        and not text[-1].isspace()
        and not _RESERVED.fullmatch(text)
        and not _INDICATOR.search(text)
        and not (in_flow and _FLOW_INDICATOR.search(text))
    )


def _single(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def _double(text: str) -> str:
    return '"' + "".join(_ESCAPES.get(character, character) for character in text) + '"'
