"""Reading the ordinary record fast: most files say `key: value` and no more.

What is read here is a small part of YAML, in which every reader agrees what a text stands for. Any
text beyond it, or at fault, is left alone: `events` reads it in full and says what is wrong. The
nodes with their places are made only when somebody asks for them.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

from msgspec import Struct, field

from tankbook.ledger.text import RECORD_LIMIT
from tankbook.records.node import MappingNode, Node, SequenceNode
from tankbook.units.patterns import pattern

Plain: TypeAlias = "str | list[Plain] | dict[str, Plain]"
"""What a text stands for, without places."""

_DEEPEST = 6
"""Levels of lists and mappings read here, counted from 0: fewer than a record may have."""
_LINE = pattern(r"( *)(- +)?(?:([A-Za-z_][A-Za-z0-9_.-]*):(?: +|$))?(.*)")
_SCALAR = pattern(r"(?:[A-Za-z0-9(./+]|-[A-Za-z0-9.])(?:[^:#]|:(?! |$)|(?<! )#)*")
_QUOTED = pattern(r'"([^"\\]*)" *(?: #.*)?')
_COMMENT = pattern(r" +#.*| *")
_FLOW_KEY = pattern(r" *([A-Za-z_][A-Za-z0-9_.-]*): +")
_FLOW_TEXT = pattern(
    r' *(?:"([^"\\]*)"|((?:[A-Za-z0-9(./+]|-[A-Za-z0-9.])[^,:#?\[\]{}"\'\\]*?)) *(?=[,\]}])'
)
_FLOW_NEXT = pattern(r" *([,\]}])")


class _NotPlainError(Exception):
    """The text is beyond what is read here."""


def plain(text: str) -> dict[str, Plain] | None:
    """What a record's text stands for, or None where that takes a full reading."""
    if len(text) > RECORD_LIMIT or "?" in text or not text.replace("\n", "").isprintable():
        return None
    try:
        lines = _TextLines(text)
        found = lines.block(0, 0)
    except _NotPlainError:
        return None
    return found if isinstance(found, dict) and lines.done else None


class _TextLines:
    """The lines of a text that say something, and how far they are read."""

    def __init__(self, text: str) -> None:
        self._lines: list[tuple[int, int, str, str]] = []
        self._at = 0
        for line in text.split("\n"):
            known = _KNOWN.get(line)
            if known is None:
                known = _parts(line)
                if len(_KNOWN) < _MOST_KNOWN:
                    _KNOWN[line] = known
            if known:
                self._lines.append(known)

    @property
    def done(self) -> bool:
        """Nothing is left."""
        return self._at == len(self._lines)

    def block(self, indent: int, depth: int) -> Plain:
        """The mapping or list whose lines begin at an indent."""
        if self.done or depth > _DEEPEST:
            raise _NotPlainError
        if self._lines[self._at][1]:
            return self._list(indent, depth)
        return self._mapping(indent, depth)

    def _mapping(self, indent: int, depth: int) -> dict[str, Plain]:
        if depth > _DEEPEST:
            raise _NotPlainError
        found: dict[str, Plain] = {}
        while not self.done:
            at, dash, key, rest = self._lines[self._at]
            if at < indent or (dash and at == indent):
                break
            if at > indent or dash or not key or key in found:
                raise _NotPlainError
            self._at += 1
            found[key] = _value(rest, depth) if rest else self._below(indent, depth)
        return found

    def _below(self, indent: int, depth: int) -> Plain:
        """What stands below a key without a value of its own."""
        if self.done:
            return ""
        at, dash, _, _ = self._lines[self._at]
        if at > indent or (dash and at == indent):
            return self.block(at, depth + 1)
        return ""

    def _list(self, indent: int, depth: int) -> list[Plain]:
        found: list[Plain] = []
        while not self.done:
            at, dash, key, rest = self._lines[self._at]
            if at < indent or (at == indent and not dash):
                break
            if at > indent:
                raise _NotPlainError
            if key:
                self._lines[self._at] = (dash, 0, key, rest)
                found.append(self._mapping(dash, depth + 1))
            else:
                self._at += 1
                found.append(_value(rest, depth))
        return found


_MOST_KNOWN = 50_000
_KNOWN: dict[str, tuple[int, int, str, str] | tuple[()]] = {}
"""Lines met before, in parts: files of one fleet say much the same."""
_VALUES: dict[tuple[str, int], Plain] = {}
"""Values met before, by their depth. Nobody changes what is read here, so it may be shared."""


def _parts(line: str) -> tuple[int, int, str, str] | tuple[()]:
    """A line as its indent, the indent behind its dash (or 0), its key if any, and the rest."""
    if not line or line.lstrip(" ").startswith("#") or line.isspace():
        return ()
    found = _LINE.fullmatch(line)
    if found is None:
        raise _NotPlainError
    indent, dash, key, rest = found.groups()
    if rest.startswith("#"):
        rest = ""
    if not key and not rest.strip():
        raise _NotPlainError
    at = len(indent)
    return at, at + len(dash) if dash else 0, key or "", rest.rstrip(" ")


def _value(rest: str, depth: int) -> Plain:
    """The value on one line, without its comment."""
    met = _VALUES.get((rest, depth))
    if met is None:
        met = _value_of(rest, depth)
        if len(_VALUES) < _MOST_KNOWN:
            _VALUES[rest, depth] = met
    return met


def _value_of(rest: str, depth: int) -> Plain:
    if rest[0] in "[{":
        found, end = _flow(rest, 0, depth + 1)
        if not _COMMENT.fullmatch(rest, end):
            raise _NotPlainError
        return found
    if rest[0] == '"':
        quoted = _QUOTED.fullmatch(rest)
        if quoted is None:
            raise _NotPlainError
        return quoted[1]
    text = rest.partition(" #")[0].rstrip(" ")
    if not _SCALAR.fullmatch(text):
        raise _NotPlainError
    return text


def _flow(text: str, at: int, depth: int) -> tuple[Plain, int]:
    """The list or mapping in brackets that begins at `at`, and where it ends."""
    if depth > _DEEPEST:
        raise _NotPlainError
    mapping = text[at] == "{"
    pairs: dict[str, Plain] = {}
    items: list[Plain] = []
    closing = "}" if mapping else "]"
    at += 1
    empty = _FLOW_NEXT.match(text, at)
    if empty and empty[1] == closing:
        return (pairs if mapping else items), empty.end()
    while True:
        if mapping:
            key = _FLOW_KEY.match(text, at)
            if key is None or key[1] in pairs:
                raise _NotPlainError
            pairs[key[1]], at = _flow_value(text, key.end(), depth)
        else:
            item, at = _flow_value(text, at, depth)
            items.append(item)
        after = _FLOW_NEXT.match(text, at)
        if after is None:
            raise _NotPlainError
        at = after.end()
        if after[1] == closing:
            return (pairs if mapping else items), at
        if after[1] != ",":
            raise _NotPlainError


def _flow_value(text: str, at: int, depth: int) -> tuple[Plain, int]:
    found = _FLOW_TEXT.match(text, at)
    if found:
        return (found[1] if found[2] is None else found[2]), found.end()
    while text[at : at + 1] == " ":
        at += 1
    if text[at : at + 1] in ("{", "["):
        return _flow(text, at, depth + 1)
    raise _NotPlainError


class Later(Struct):
    """The nodes of a record's text, made when they are asked for."""

    text: str | Callable[[], str]
    path: str
    _root: Node | None = field(default=None)

    def node_at(self, trail: tuple[str | int, ...]) -> Node | None:
        """The node under keys and list indices, from the root of the file."""
        if self._root is None:
            from tankbook.ledger.events import parse

            text = self.text if isinstance(self.text, str) else self.text()
            self._root, _ = parse(text, self.path)
        node = self._root
        for step in trail:
            if isinstance(node, MappingNode) and isinstance(step, str):
                node = node.get(step)
            elif isinstance(node, SequenceNode) and isinstance(step, int):
                node = node.items[step]
        return node
