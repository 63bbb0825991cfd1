"""A new record as the text of its file.

The reader takes every scalar for the text it is, so quotes are needed only where the shape of the
file would be read otherwise.
"""

from __future__ import annotations

from collections.abc import Mapping

from tankbook.records.edits import Value
from tankbook.records.node import Node, Scalar, SequenceNode
from tankbook.units.patterns import pattern

WIDTH = 100
"""A nested set of keys longer than this is written one key a line."""

_PLAIN = pattern(r"[A-Za-z0-9](?:[A-Za-z0-9 ._/+%()*-]*[A-Za-z0-9._/+%()*-])?")


def value_of_node(node: Node) -> Value:
    """A node as the value to be written for it."""
    if isinstance(node, Scalar):
        return node.text
    if isinstance(node, SequenceNode):
        return tuple(value_of_node(item) for item in node.items)
    return {name.text: value_of_node(value) for name, value in node.pairs}


def file_text(values: Mapping[str, Value]) -> str:
    """The text of a new record file.

    Raises:
        ValueError: a scalar holds a line end or another control character.
    """
    return "".join(_pair(name, value) for name, value in values.items())


def _pair(name: str, value: Value) -> str:
    if isinstance(value, Mapping):
        line = f"{name}: {_flow(value)}"
        if len(line) <= WIDTH:
            return line + "\n"
        return f"{name}:\n" + "".join(f"  {k}: {_flow(v)}\n" for k, v in value.items())
    if isinstance(value, tuple) and any(isinstance(v, Mapping) for v in value):
        return f"{name}:\n" + "".join(f"  - {_flow(v)}\n" for v in value)
    return f"{name}: {_flow(value)}\n"


def _flow(value: Value) -> str:
    if isinstance(value, str):
        return scalar_text(value)
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{k}: {_flow(v)}" for k, v in value.items()) + "}"
    return "[" + ", ".join(map(_flow, value)) + "]"


def scalar_text(text: str) -> str:
    """A scalar as it may stand anywhere in a file, in quotes where it has to be.

    Raises:
        ValueError: it holds a line end or another control character.
    """
    if _PLAIN.fullmatch(text):
        return text
    if any(ord(c) < 32 or ord(c) == 127 for c in text):
        raise ValueError(f"{text!r} holds a control character")
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
