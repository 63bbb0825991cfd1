"""Changing one thing in a record's text and nothing else.

An edit is put into the text at the marks of the nodes it concerns, so that comments, order,
quotation marks, spacing and line ends stay as their writer left them. The text is then read again
and compared with the tree that was meant; where they differ the edit is refused.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeAlias

from msgspec import Struct

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.events import parse
from tankbook.ledger.placing import At, NoPlaceError, Placing
from tankbook.ledger.quoting import Value
from tankbook.ledger.text import BOM
from tankbook.records.node import Node, Scalar, Sequence, Severity


class Put(Struct, frozen=True):
    """Give the key at `at` a value, whether it has one or not; mappings on the way are made."""

    at: At
    value: Value


class Append(Struct, frozen=True):
    """Add an item to the end of the list at `at`, which is made if it is missing or empty."""

    at: At
    item: Value


class Remove(Struct, frozen=True):
    """Take the key at `at` out of its mapping, and with it the remark on its line."""

    at: At


Edit: TypeAlias = Put | Append | Remove


class SpliceError(LedgerError):
    """An edit that cannot be made without touching what it should not; nothing is changed."""


def splice(text: str, edits: Iterable[Edit], path: str) -> str:
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


def plain(node: Node | None) -> Value:
    """What a node stands for, without its places; no node is a mapping without keys."""
    if isinstance(node, Scalar):
        return node.text
    if isinstance(node, Sequence):
        return [plain(item) for item in node.items]
    return {key.text: plain(value) for key, value in node.pairs} if node else {}


def _edited(body: str, edit: Edit, path: str) -> str:
    place = f"{path}: {'/'.join(map(str, edit.at))}"
    root = _read(body, path)
    try:
        meant = _meant(plain(root), edit.at, edit)
        # The order of keys counts, and comparing mappings would not see it.
        if repr(meant) == repr(plain(root)):
            return body
        edited = _placed(Placing(body, root), edit)
    except NoPlaceError as error:
        mend = "nothing was written; make this change in an editor"
        raise SpliceError(place, str(error), mend) from error
    except ValueError as error:
        raise SpliceError(place, str(error), "leave it out") from error
    node, findings = parse(edited, path)
    if findings or repr(plain(node)) != repr(meant):
        mend = "nothing was written; make this change in an editor"
        raise SpliceError(place, "the change would not read back as it is meant", mend)
    return edited


def _read(body: str, path: str) -> Node | None:
    node, findings = parse(body, path)
    for finding in findings:
        if finding.severity is Severity.FAULT:
            raise SpliceError(str(finding.where), finding.text, finding.mend)
    return node


def _placed(placing: Placing, edit: Edit) -> str:
    if isinstance(edit, Put):
        return placing.put(edit.at, edit.value)
    if isinstance(edit, Append):
        return placing.append(edit.at, edit.item)
    return placing.remove(edit.at)


def _meant(tree: Value, at: At, edit: Edit) -> Value:
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
    pairs: dict[str, Value] = {}
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


def _meant_here(tree: Value, edit: Edit) -> Value:
    if isinstance(edit, Put):
        return edit.value
    if isinstance(edit, Remove):
        raise NoPlaceError("only a key can be removed")
    if isinstance(tree, list):
        return [*tree, edit.item]
    if tree == "":
        return [edit.item]
    raise NoPlaceError("there is a value that is no list")
