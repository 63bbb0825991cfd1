"""Changing one thing in a record's text and nothing else.

An edit is put into the text at the marks of the nodes it concerns, so that comments, order,
quotation marks, spacing and line ends stay as their writer left them. The text is then read again
and compared with the tree that was meant; where they differ the edit is refused.

Values are quoted only where they must be. Within [ ] and { } a change stays on its line; elsewhere
lines are added or taken out. What is removed goes with the remarks on its own lines, and no other
remark is lost.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import NamedTuple, TypeAlias, TypeGuard

from msgspec import Struct

from tankbook.ledger.errors import LedgerError, first_fault
from tankbook.ledger.events import parse
from tankbook.ledger.text import BOM, character_name, forbidden
from tankbook.records.node import MappingNode, Node, Scalar, SequenceNode, child
from tankbook.units.patterns import pattern

SpliceValue: TypeAlias = "str | list[SpliceValue] | dict[str, SpliceValue]"
"""What a record's text stands for: a tree of text."""

# Read as nothing by other tools, or as a marker between documents.
_RESERVED = pattern(r"~|null|Null|NULL|<<|(?:---|\.\.\.).*")
# A minus sign is safe before a number: -5 degC.
_START = pattern(r"[^-?:,\[\]{}#&*!|>'\"%@`\s]|-[0-9.]")
_INDICATOR = pattern(r": |:\Z| #")
_FLOW_INDICATOR = pattern(r"[,\[\]{}:?]")
_ESCAPES = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t", "\r": "\\r"}


def flow(value: SpliceValue) -> str:
    """A value on one line: lists in [ ], mappings in { }."""
    if isinstance(value, str):
        return scalar(value, in_flow=True)
    if isinstance(value, list):
        return f"[{', '.join(map(flow, value))}]"
    pairs = (pair(key, each, in_flow=True) for key, each in value.items())
    return f"{{{', '.join(pairs)}}}"


def pair(key: str, value: SpliceValue, *, in_flow: bool) -> str:
    """A key with its value on one line."""
    return f"{scalar(key, in_flow=in_flow)}: {inline(value, in_flow=in_flow)}"


def inline(value: SpliceValue, *, in_flow: bool, like: str = "") -> str:
    """A value on one line, for a place inside or outside [ ] and { }; `like` as in `scalar`."""
    return scalar(value, in_flow=in_flow, like=like) if isinstance(value, str) else flow(value)


def scalar(text: str, *, in_flow: bool, like: str = "") -> str:
    """A text on one line, in the quotation marks `like` where these will do.

    Raises:
        ValueError: no record may hold such a text.
    """
    if bad := forbidden(text):
        raise ValueError(f"{text!r} holds {character_name(bad[0])}")
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


At: TypeAlias = tuple[str | int, ...]
"""A way down from the root of a record: keys of mappings, places in lists from 0."""

_INDENT = 2


class NoPlaceError(Exception):
    """Why a change has no place in a text."""


class _Change(NamedTuple):
    """Text to put in the place of the characters from `start` to `end`."""

    start: int
    end: int
    text: str


class Placing:
    """Places one change in a record's text without byte order mark, given its root node.

    That the change makes sense there is for the caller to see to.
    """

    def __init__(self, body: str, root: Node | None) -> None:
        self._body = body
        self._root = root

    def put(self, at: At, value: SpliceValue) -> str:
        """The text with a value at `at`. Raises NoPlaceError."""
        nodes, missing = self._down(at)
        if missing:
            return self._done(self._fill(nodes, missing, value))
        return self._done(self._replace(nodes, value))

    def append(self, at: At, item: SpliceValue) -> str:
        """The text with an item more in the list at `at`. Raises NoPlaceError."""
        nodes, missing = self._down(at)
        if nodes and not missing and isinstance(nodes[-1], SequenceNode):
            return self._done(*self._append(nodes, nodes[-1], item))
        return self._done(self._fill(nodes, missing, [item]))

    def remove(self, at: At) -> str:
        """The text without the key at `at`. Raises NoPlaceError."""
        nodes, _ = self._down(at)
        parent = nodes[-2]
        assert isinstance(parent, MappingNode)
        index = list(parent.keys()).index(str(at[-1]))
        if parent.flow:
            return self._done(self._remove_from_flow(parent, index))
        return self._done(self._remove_from_block(parent, index))

    def _done(self, *changes: _Change) -> str:
        body = self._body
        for change in sorted(changes, reverse=True):
            body = body[: change.start] + change.text + body[change.end :]
        return body

    def _down(self, at: At) -> tuple[list[Node], At]:
        """The nodes along a way from the root, and the steps for which there are none."""
        if self._root is None:
            return [], at
        nodes: list[Node] = [self._root]
        for depth, step in enumerate(at):
            below = child(nodes[-1], step)
            if below is None:
                return nodes, at[depth:]
            nodes.append(below)
        return nodes, ()

    # Values where there was none.

    def _fill(self, nodes: list[Node], missing: At, value: SpliceValue) -> _Change:
        """Put a value into the last of `nodes`, which lacks it or is empty."""
        for step in reversed(missing[1:]):
            value = {str(step): value}
        last = nodes[-1] if nodes else None
        if last is None:
            return self._lines_below(len(self._body), self._entry(str(missing[0]), value, 0))
        if isinstance(last, MappingNode):
            return self._add_key(last, str(missing[0]), value)
        if missing:
            value = {str(missing[0]): value}
        holder = nodes[-2]
        if _is_block_list(value) and _is_block(holder) and last.start == last.end:
            indent = _key_of(holder, last).start.column - 1 + self._list_indent()
            return self._lines_below(last.end.index, self._items(value, indent))
        return self._replace(nodes, value)

    def _add_key(self, mapping: MappingNode, key: str, value: SpliceValue) -> _Change:
        if not mapping.flow:
            lines = self._entry(key, value, mapping.start.column - 1)
            return self._lines_below(self._tail(mapping), lines)
        text = pair(key, value, in_flow=True)
        if not mapping.pairs:
            at = mapping.start.index + 1
            return _Change(at, at, text)
        at = self._tail(mapping.pairs[-1][1])
        # A comma may not touch the colon of a key without a value.
        return _Change(at, at, f" , {text}" if self._body[at - 1] == ":" else f", {text}")

    def _entry(self, key: str, value: SpliceValue, indent: int) -> list[str]:
        """The lines of a key with its value in block style."""
        if _is_block_list(value):
            name = scalar(key, in_flow=False)
            return [f"{' ' * indent}{name}:", *self._items(value, indent + self._list_indent())]
        return [" " * indent + pair(key, value, in_flow=False)]

    def _items(self, items: list[SpliceValue], indent: int, gap: int = 1) -> list[str]:
        start = " " * indent + "-" + " " * gap
        return [start + inline(item, in_flow=False) for item in items]

    def _list_indent(self) -> int:
        """How far lists stand in from their keys here, going by the first."""
        found = _first_list_indent(self._root)
        return _INDENT if found is None else found

    # Values in the place of others.

    def _replace(self, nodes: list[Node], value: SpliceValue) -> _Change:
        """Put a value in the place of the last of `nodes`."""
        old = nodes[-1]
        start, end = old.start.index, self._tail(old)
        if not isinstance(old, Scalar):
            self._check_replaceable(old, start, end)
        elif self._is_block_text(old) and "#" in self._header(old):
            raise NoPlaceError("the text there has a remark on its first line")
        like = self._body[start] if start < end else ""
        in_flow = nodes[-2].flow if isinstance(nodes[-2], MappingNode | SequenceNode) else False
        text = inline(value, in_flow=in_flow, like=like)
        if start == end:
            text = f" {text}" if self._body[start - 1] in ":-" else f": {text}"
        return _Change(start, end, text)

    def _check_replaceable(self, old: MappingNode | SequenceNode, start: int, end: int) -> None:
        if not old.flow:
            raise NoPlaceError("there is a value over several lines")
        if "#" in self._body[start:end]:
            raise NoPlaceError("there is a remark in the value")

    # Lists.

    def _append(self, nodes: list[Node], items: SequenceNode, item: SpliceValue) -> list[_Change]:
        if not items.flow:
            gap = self._gap(items)
            lines = self._items([item], items.start.column - 1, gap)
            return [self._lines_below(self._tail(items), lines)]
        if items.items:
            at = self._tail(items.items[-1])
            return [_Change(at, at, f", {flow(item)}")]
        at = items.start.index + 1
        holder = nodes[-2] if len(nodes) > 1 else None
        if isinstance(item, dict) and _is_block(holder) and items.end.index - at == 1:
            key = _key_of(holder, items)
            colon = self._body.index(":", key.end.index) + 1
            if key.start.line == items.start.line:
                lines = self._items([item], key.start.column - 1 + self._list_indent())
                emptied = _Change(colon, items.end.index, "")
                return [emptied, self._lines_below(items.end.index, lines)]
        return [_Change(at, at, flow(item))]

    def _gap(self, items: SequenceNode) -> int:
        """Spaces between the dash and the item, going by the last item."""
        last = items.items[-1].start
        gap = last.column - items.start.column - 1
        line = last.index - last.column + 1
        dash = line + items.start.column - 1
        written = self._body[dash : last.index]
        return gap if gap > 0 and written == "-" + " " * gap else 1

    # Taking out.

    def _remove_from_block(self, mapping: MappingNode, index: int) -> _Change:
        key, value = mapping.pairs[index]
        start, tail = key.start.index, self._tail(value)
        if len(mapping.pairs) == 1:
            if mapping is self._root:
                raise NoPlaceError("it is the only key")
            return _Change(start, tail, "{}")
        line = self._body.rfind("\n", 0, start) + 1
        if self._body[line:start].strip(" "):  # the dash of a list item stands before it
            after = mapping.pairs[index + 1][0].start.index
            if "#" in self._body[tail:after].partition("\n")[2]:
                raise NoPlaceError("there is a remark between it and the next key")
            return _Change(start, after, "")
        end = self._body.find("\n", tail)
        if end >= 0:
            return _Change(line, end + 1, "")
        return _Change(len(self._body[:line].rstrip("\r\n")), len(self._body), "")

    def _remove_from_flow(self, mapping: MappingNode, index: int) -> _Change:
        key, value = mapping.pairs[index]
        start, end = key.start.index, self._tail(value)
        if index + 1 < len(mapping.pairs):
            after = mapping.pairs[index + 1][0].start.index
            between = self._body[end:after]
            return _Change(start, end + between.index(",") + 1 if "#" in between else after, "")
        if index:
            before = self._tail(mapping.pairs[index - 1][1])
            return _Change(start if "#" in self._body[before:start] else before, end, "")
        comma = re.compile(r"\s*,").match(self._body, end)
        return _Change(start, comma.end() if comma else end, "")

    # The text.

    def _lines_below(self, index: int, lines: list[str]) -> _Change:
        """Lines to stand below the line of character `index`, with the line ends in use there."""
        body = self._body
        newline = body.find("\n", index)
        model = newline if newline >= 0 else body.find("\n")
        end = "\r\n" if model > 0 and body[model - 1] == "\r" else "\n"
        text = end.join(lines)
        if newline >= 0:
            return _Change(newline + 1, newline + 1, text + end)
        if body.endswith("\n") or not body:
            return _Change(len(body), len(body), text + end)
        return _Change(len(body), len(body), end + text)

    def _tail(self, node: Node) -> int:
        """Where a node's own text ends: before what follows it, and before blank lines."""
        if isinstance(node, Scalar):
            return self._end_of_block_text(node) if self._is_block_text(node) else node.end.index
        if node.flow:
            return node.end.index
        last = node.items[-1] if isinstance(node, SequenceNode) else node.pairs[-1][1]
        return self._tail(last)

    def _is_block_text(self, scalar_: Scalar) -> bool:
        return scalar_.start != scalar_.end and self._body[scalar_.start.index] in "|>"

    def _header(self, block: Scalar) -> str:
        return self._body[block.start.index : block.end.index].partition("\n")[0]

    def _end_of_block_text(self, block: Scalar) -> int:
        text = self._body[block.start.index : block.end.index]
        if "+" in self._header(block).partition("#")[0]:  # blank lines at its end belong to it
            text = text.removesuffix("\n").removesuffix("\r")
        else:
            text = text.rstrip()
        return block.start.index + len(text)


def _is_block(node: Node | None) -> TypeGuard[MappingNode]:
    return isinstance(node, MappingNode) and not node.flow


def _key_of(mapping: MappingNode, value: Node) -> Scalar:
    return next(key for key, each in mapping.pairs if each is value)


def _is_block_list(value: SpliceValue) -> TypeGuard[list[SpliceValue]]:
    """Lists of mappings are written one item a line."""
    return isinstance(value, list) and bool(value) and all(isinstance(v, dict) for v in value)


def _first_list_indent(node: Node | None) -> int | None:
    if isinstance(node, Scalar | None) or node.flow:
        return None
    if isinstance(node, MappingNode):
        for key, value in node.pairs:
            if isinstance(value, SequenceNode) and not value.flow:
                return value.start.column - key.start.column
    children = node.items if isinstance(node, SequenceNode) else [value for _, value in node.pairs]
    return next(
        (found for each in children if (found := _first_list_indent(each)) is not None), None
    )


class Put(Struct, frozen=True):
    """Give the key at `at` a value, whether it has one or not; mappings on the way are made."""

    at: At
    value: SpliceValue


class Append(Struct, frozen=True):
    """Add an item to the end of the list at `at`, which is made if it is missing or empty."""

    at: At
    item: SpliceValue


class Remove(Struct, frozen=True):
    """Take the key at `at` out of its mapping, and with it the remark on its line."""

    at: At


Splice: TypeAlias = Put | Append | Remove


class SpliceError(LedgerError):
    """An edit that cannot be made without touching what it should not; nothing is changed."""


def splice(text: str, edits: Iterable[Splice], path: str) -> str:
    """The text of a record with the edits made, one after the other.

    An empty text is a record without keys, so that a new record is a list of `Put`.

    Raises:
        SpliceError: the text is at fault, an edit has no place in it, or would not read back.
    """
    bom = BOM if text.startswith(BOM) else ""
    body = text.removeprefix(BOM)
    for edit in edits:
        body = _edited(body, edit, path)
    return bom + body


def plain_value(node: Node | None) -> SpliceValue:
    """What a node stands for, without its places; no node is a mapping without keys."""
    if isinstance(node, Scalar):
        return node.text
    if isinstance(node, SequenceNode):
        return [plain_value(item) for item in node.items]
    return {key.text: plain_value(value) for key, value in node.pairs} if node else {}


def _edited(body: str, edit: Splice, path: str) -> str:
    place = f"{path}: {'/'.join(map(str, edit.at))}"
    root = _read(body, path)
    try:
        meant = _meant(plain_value(root), edit.at, edit)
        # The order of keys counts, and comparing mappings would not see it.
        if repr(meant) == repr(plain_value(root)):
            return body
        edited = _placed(Placing(body, root), edit)
    except NoPlaceError as error:
        mend = "nothing was written; make this change in an editor"
        raise SpliceError(place, str(error), mend) from error
    except ValueError as error:
        raise SpliceError(place, str(error), "leave it out") from error
    node, findings = parse(edited, path)
    if findings or repr(plain_value(node)) != repr(meant):
        mend = "nothing was written; make this change in an editor"
        raise SpliceError(place, "the change would not read back as it is meant", mend)
    return edited


def _read(body: str, path: str) -> Node | None:
    node, findings = parse(body, path)
    if fault := first_fault(findings):
        raise SpliceError(str(fault.where), fault.text, fault.mend)
    return node


def _placed(placing: Placing, edit: Splice) -> str:
    if isinstance(edit, Put):
        return placing.put(edit.at, edit.value)
    if isinstance(edit, Append):
        return placing.append(edit.at, edit.item)
    return placing.remove(edit.at)


def _meant(tree: SpliceValue, at: At, edit: Splice) -> SpliceValue:
    """The tree that the edited text must stand for."""
    if not at:
        return _meant_here(tree, edit)
    step, rest = at[0], at[1:]
    if isinstance(step, int):
        if not isinstance(tree, list) or not -len(tree) <= step < len(tree):
            raise NoPlaceError(f"there is no item {step}")
        items = list(tree)
        items[step] = _meant(items[step], rest, edit)
        return items
    pairs: dict[str, SpliceValue] = {}
    if isinstance(tree, dict):
        pairs |= tree
    elif tree != "":
        raise NoPlaceError(f"what should hold {step} is no mapping")
    if isinstance(edit, Remove):
        if step not in pairs:
            raise NoPlaceError(f"there is no key {step}")
        if not rest:
            del pairs[step]
            return pairs
    pairs[step] = _meant(pairs.get(step, ""), rest, edit)
    return pairs


def _meant_here(tree: SpliceValue, edit: Splice) -> SpliceValue:
    if isinstance(edit, Put):
        return edit.value
    if isinstance(edit, Remove):
        raise NoPlaceError("only a key can be removed")
    if isinstance(tree, list):
        return [*tree, edit.item]
    if tree == "":
        return [edit.item]
    raise NoPlaceError("there is a value that is no list")
