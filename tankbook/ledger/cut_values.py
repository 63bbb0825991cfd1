"""Values that a comment sign cuts short: of `place: rack #2` YAML reads `rack`."""

from __future__ import annotations

from collections.abc import Iterator

from tankbook.ledger.text import BOM
from tankbook.records.node import (
    Finding,
    MappingNode,
    Node,
    SequenceNode,
    Severity,
    Where,
)
from tankbook.units.patterns import pattern

_MAY_CUT = pattern(r"[ \t]#[^\s#!]")
_CUT = pattern(r"[ \t]+(#[^\s#!][^\r\n]*)")
"""A sign with something right behind it: a comment has a blank there, as formatters write it."""


def cut_values(text: str, path: str) -> list[Finding]:
    """What is told of each value of a record behind which a comment begins that may be part of it.

    Args:
        text: the text of the file.
        path: what it is called.
    """
    if not _MAY_CUT.search(text):
        return []
    from tankbook.ledger.events import parse  # plain text is judged without it

    node, _ = parse(text, path)
    return list(_cut(node, text.removeprefix(BOM), path)) if node is not None else []


def _cut(node: Node, body: str, path: str, key: str = "") -> Iterator[Finding]:
    if isinstance(node, MappingNode):
        for name, value in node.pairs:
            yield from _cut(value, body, path, f"{name.text}: ")
    elif isinstance(node, SequenceNode):
        for item in node.items:
            yield from _cut(item, body, path, "- ")
    elif body[node.start.index : node.start.index + 1] not in tuple("'\"|>"):
        found = _CUT.match(body, node.end.index)
        if found is not None:
            column = node.end.column + found.start(1) - node.end.index
            rest = found[1].rstrip()
            whole = f"{node.text}{found[0].rstrip()}" if node.text else rest
            left = f"the value is `{node.text}` alone" if node.text else "there is no value"
            yield Finding(
                Where(path, node.end.line, column),
                "cut-value",
                f"`{rest}` is read as a comment, so that {left}",
                f"write {key}{quoted(whole)}; or a blank behind the #, where it is a remark",
                Severity.WARN,
            )


def quoted(text: str) -> str:
    """A text in quotes, as YAML has it."""
    plain = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{plain}"'
