"""Values that a comment sign cuts short: of `place: rack #2` YAML reads `rack`, and of
`note: # out` nothing at all."""

from __future__ import annotations

from collections.abc import Iterator

from tankbook.ledger.text import BOM
from tankbook.records.node import (
    Finding,
    MappingNode,
    Node,
    Scalar,
    SequenceNode,
    Severity,
    Where,
)
from tankbook.units.patterns import pattern

_MAY_CUT = pattern(r"[ \t]#[^\s#!]|(?m:(?::|^[ \t]*(?:-[ \t]+)*-)\s*[ \t]#)")
_COMMENT_LINE = pattern(r"""(?m)^#[^"'\r\n\x85\u2028\u2029]*(?=[\r\n]|\Z)""")
"""A line that is a comment from its first sign on. With a quote in it, it may belong to a text that
goes on over lines, and a value may stand behind that."""
_CUT = pattern(r"[ \t]+(#[^\s#!][^\r\n]*)")
"""A sign with something right behind it: a comment has a blank there, as formatters write it."""
_REMARK = r"#[#!]*[ \t]*([^\s#!][^\r\n]*)"
_HID = pattern(rf"[ \t]+{_REMARK}|[ \t]*\r?\n(?:[ \t]*\r?\n)*([ \t]+){_REMARK}")
"""A comment in the place of a value: behind the colon or the dash, or on the line below it."""


def cut_values(text: str, path: str) -> list[Finding]:
    """What is told of each value of a record behind which a comment begins that may be part of it.

    Args:
        text: the text of the file.
        path: what it is called.
    """
    if not _MAY_CUT.search(_COMMENT_LINE.sub("", text)):
        return []
    from tankbook.ledger.events import parse  # plain text is judged without it

    node, _ = parse(text, path)
    return list(_cut(node, text.removeprefix(BOM), path)) if node is not None else []


def _cut(node: Node, body: str, path: str, key: str = "", at: int = 0) -> Iterator[Finding]:
    """What is cut within a node. `key` is what stands before it, and begins in the column `at`."""
    if isinstance(node, MappingNode):
        for name, value in node.pairs:
            yield from _cut(value, body, path, f"{name.text}: ", name.start.column)
    elif isinstance(node, SequenceNode):
        for item in node.items:
            yield from _cut(item, body, path, "- ", node.start.column)
    elif node.start.index == node.end.index:
        yield from _hidden(node, body, path, key, at)
    elif body[node.start.index : node.start.index + 1] not in tuple("'\"|>"):
        found = _CUT.match(body, node.end.index)
        if found is not None:
            column = node.end.column + found.start(1) - node.end.index
            rest = found[1].rstrip()
            whole = f"{node.text}{found[0].rstrip()}"
            yield Finding(
                Where(path, node.end.line, column),
                "cut-value",
                f"`{rest}` is read as a comment, so that the value is `{node.text}` alone",
                f"write {key}{quoted(whole)}; or a blank behind the #, where it is a remark",
                Severity.WARN,
            )


def _hidden(node: Scalar, body: str, path: str, key: str, at: int) -> Iterator[Finding]:
    """A comment where a value should stand: nobody who reads the line sees that it says nothing."""
    found = _HID.match(body, node.end.index)
    if found is None or (found[2] is not None and len(found[2]) < at):
        return
    text = (found[1] or found[3]).rstrip()
    start = body.index("#", found.start())
    shown = body[start : found.end()].rstrip()
    if _OF_RECORD.match(text):
        write = "take the comment sign away"
    else:
        value = text if shown.startswith("# ") and not text[0].isdigit() else shown
        write = f"write {key}{quoted(value)}"
    out = f"take the line of `{key.strip()}` out" if key != "- " else "take the dash out"
    line = node.end.line + body.count("\n", node.end.index, start)
    column = start - (body.rfind("\n", 0, start) + 1) + 1
    yield Finding(
        Where(path, line, column),
        "hidden-value",
        f"`{shown}` is read as a comment, so that there is no value",
        f"{write}; or {out}, where it is a remark",
    )


_OF_RECORD = pattern(r"- |[a-z_]+: |[\[{]")
"""What is no text, but lines of a record that somebody put a sign before."""


def quoted(text: str) -> str:
    """A text in quotes, as YAML has it."""
    plain = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{plain}"'
