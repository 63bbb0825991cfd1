"""The untyped shape of a record file, and what can be wrong with one.

A record file is read into `Scalar`, `MappingNode` and `SequenceNode` whose scalars are all plain
text: nothing is guessed from spelling. Every node knows the place it was written, so that a fault
can name it and an edit can be spliced in at it.
"""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from typing import TypeAlias

from msgspec import Struct, field


class Mark(Struct, frozen=True, order=True):
    """A place in a text.

    `index` counts characters from 0 in the decoded text without its byte order mark; `line` and
    `column` count from 1, as editors show them.
    """

    index: int
    line: int
    column: int


class Scalar(Struct, frozen=True):
    """A single value, as written, without its quotes."""

    text: str
    start: Mark
    end: Mark


class SequenceNode(Struct, frozen=True):
    """A list of nodes. `flow` is true for the `[a, b]` style."""

    items: tuple[Node, ...]
    start: Mark
    end: Mark
    flow: bool = False


class MappingNode(Struct, frozen=True):
    """Pairs of key and value in the order written. `flow` is true for the `{a: b}` style."""

    pairs: tuple[tuple[Scalar, Node], ...]
    start: Mark
    end: Mark
    flow: bool = False

    def get(self, key: str) -> Node | None:
        """The value under `key`, or None."""
        return next((value for name, value in self.pairs if name.text == key), None)

    def keys(self) -> Iterator[str]:
        """The keys in the order written."""
        return (name.text for name, _ in self.pairs)


Node: TypeAlias = Scalar | SequenceNode | MappingNode


def child(node: Node | None, step: str | int) -> Node | None:
    """What stands under a key of a mapping, or in a place of a list; None where nothing does."""
    if isinstance(node, MappingNode) and isinstance(step, str):
        return node.get(step)
    if isinstance(node, SequenceNode) and isinstance(step, int) and step < len(node.items):
        return node.items[step]
    return None


class Where(Struct, frozen=True, order=True):
    """A place in the ledger: a path relative to its root (with `/`), a line and a column from 1.

    Line 0 means the file as a whole.
    """

    path: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        return f"{self.path}:{self.line}:{self.column}" if self.line else self.path


class Severity(StrEnum):
    """A `fault` must be mended and refuses what it touches; a `warn` is told with every answer it
    touches; `advice` is worth knowing."""

    FAULT = "fault"
    WARN = "warn"
    ADVICE = "advice"


EVERY_CYLINDER = "*"
"""In what a finding touches: every cylinder of the ledger."""


class Finding(Struct, frozen=True):
    """One thing wrong, where, and how to mend it.

    `code` is a short stable word in kebab case (`unknown-key`); `text` says what is wrong, without
    a full stop; `mend` says what to do about it. `touches` names the cylinders and sets that no
    clean answer can be given for; prices and bookings touch none. `missing` is the cylinder or set
    that something names and that has no card, where that is what is wrong.
    """

    where: Where
    code: str
    text: str
    mend: str = ""
    severity: Severity = field(default=Severity.FAULT)
    touches: tuple[str, ...] = ()
    missing: str = ""

    def __str__(self) -> str:
        line = f"{self.where}: {self.text}"
        return f"{line}; {self.mend}" if self.mend else line
