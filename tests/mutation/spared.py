"""What is left as it is: what is said to people, and what is said to the type checker."""

from __future__ import annotations

from typing import Any

TEXT_OR_TYPE = {
    "annassign", "assert_stmt", "decorator", "fstring", "import_from", "import_name", "strings",
    "tfpdef",
}  # fmt: skip
"""What is inside these is said to people or to the type checker, or is an assertion of ours."""


def spared(node: Any) -> bool:
    """Whether a place is text, a type, a decorator or an assertion of ours."""
    while node is not None:
        above = node.parent
        if node.type in {"annassign", "tfpdef"}:
            return True
        if above is not None and above.type in TEXT_OR_TYPE and not _value_of(above, node):
            return True
        if above is not None and above.type == "funcdef" and node is above.annotation:
            return True
        if node.type == "argument" and code(node).startswith("strict="):
            return True
        node = above
    return False


def _value_of(above: Any, node: Any) -> bool:
    """Whether a node is the value given in an annotated assignment."""
    return above.type == "annassign" and node is above.children[-1] and len(above.children) > 2


def code(node: Any) -> str:
    """A node as it is written, without the space before it."""
    text: str = node.get_code(include_prefix=False)
    return text
