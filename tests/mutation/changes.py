"""The small wrongs that are put into the code, one at a time.

Where cosmic-ray has the operator it is used (`operators.py`). What it lacks
(a boundary held with its line, `min` for `max`, a call or a statement or one side of an `and`
left out, another value returned) is added here in the same form.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from cosmic_ray.operators.operator import Example, Operator
from parso.python import tree
from parso.tree import search_ancestor
from spared import code, spared

NOT_DROPPED = {
    "list", "str", "tuple",  # only the container would be another
    "len", "range", "sum", "iter", "next", "enumerate",  # nothing would run at all
    "join", "append", "add", "min", "max",
}  # fmt: skip
TEXTS = {"string", "strings", "fstring"}
SWAPS = {
    "min": "max", "max": "min", "any": "all", "all": "any", "floor": "ceil", "ceil": "floor",
    "first": "last", "last": "first",
}  # fmt: skip


EMPTIED = {
    "list": "[]", "tuple": "()", "Sequence": "()", "dict": "{}", "Mapping": "{}",
    "frozenset": "frozenset()", "set": "set()", "str": '""', "Iterator": "iter(())",
}  # fmt: skip
"""What is returned in place of something of a kind; None in place of any other."""


class Change(Operator):  # type: ignore[misc]
    """An operator that writes something else in place of a node."""

    said: tuple[tuple[str, str], ...] = ()

    def ways(self, node: Any) -> Iterator[str]:
        """What may be written in place of a node."""
        raise NotImplementedError

    def mutation_positions(self, node: Any) -> Iterator[Any]:
        """Where, once for each way."""
        ways = list(self.ways(node))
        for _ in ways if ways and not spared(node) else ():
            yield node.start_pos, node.end_pos

    def mutate(self, node: Any, index: int) -> Any:
        """The node written the other way."""
        text = list(self.ways(node))[index]
        return tree.Name(text, node.start_pos, prefix=node.get_first_leaf().prefix)

    @classmethod
    def examples(cls) -> tuple[Example, ...]:
        """Before and after; looked at before each run."""
        return tuple(Example(before, after) for before, after in cls.said)


class Number(Change):
    """One more."""

    said = (("x = 1", "x = 2"), ("x = 0.5", "x = 1.5"))

    def ways(self, node: Any) -> Iterator[str]:
        if node.type == "number":
            yield repr(
                float(node.value) + 1
                if "." in node.value or "e" in node.value
                else int(node.value) + 1
            )


class Swap(Change):
    """The other of two that are easily taken for each other."""

    said = (("x = min(a, b)", "x = max(a, b)"), ("x = a.on.first", "x = a.on.last"))

    def ways(self, node: Any) -> Iterator[str]:
        if node.type == "name" and node.value in SWAPS:
            after = node.get_next_leaf()
            of_a_date = node.value in {"first", "last"} and node.parent.type == "trailer"
            if of_a_date or (after is not None and after.value == "(" and not of_a_date):
                yield SWAPS[node.value]


class Membership(Change):
    """`in` for `not in`."""

    said = (("x = a in b", "x = a not in b"), ("x = a not in b", "x = a in b"))

    def ways(self, node: Any) -> Iterator[str]:
        if node.parent is not None and node.parent.type == "comparison":
            word = " ".join(code(node).split())
            if word in {"in", "not in"} and node.type in {"keyword", "comp_op"}:
                yield "not in" if word == "in" else "in"


class ConditionNegated(Change):
    """The other way round. A comparison alone and a `not` alone have operators of their own."""

    said = (("x = a if b or c else d", "x = a if not (b or c) else d"),)

    def ways(self, node: Any) -> Iterator[str]:
        before = node.get_previous_sibling() if node.parent is not None else None
        asked = (
            before is not None
            and before.type == "keyword"
            and before.value in {"if", "elif", "while"}
        )
        if asked and node.type not in {"comparison", "not_test"}:
            yield f"not ({code(node)})"


class OperandDropped(Change):
    """One side of an `and` or an `or` forgotten."""

    said = (("x = a and b", "x = b"),)

    def ways(self, node: Any) -> Iterator[str]:
        if node.type in {"and_test", "or_test"}:
            sides, word = [code(c) for c in node.children[::2]], node.children[1].value
            for left_out in range(len(sides)):
                yield f" {word} ".join(s for i, s in enumerate(sides) if i != left_out)


class ClampDropped(Change):
    """`min` and `max` of a few: one of them forgotten."""

    said = (("x = max(0, a)", "x = a"),)

    def ways(self, node: Any) -> Iterator[str]:
        if node.type in {"atom_expr", "power"} and code(node.children[0]) in {"min", "max"}:
            given = _arguments(node.children[1])
            if len(given) > 1 and all(_plain(a) for a in given) and len(node.children) == 2:
                for left_out in range(len(given)):
                    kept = ", ".join(code(a) for i, a in enumerate(given) if i != left_out)
                    yield kept if len(given) == 2 else f"{code(node.children[0])}({kept})"


class CallDropped(Change):
    """`f(x)` as `x`; `x.f()` and `x.f(y)` as `x`."""

    said = (
        ("x = f(a)", "x = (a)"),
        ("x = a.f()", "x = a"),
        ("x = a.f(b).c", "x = a.c"),
        ("x = sorted(a, key=b)", "x = (a)"),
        ("x = round(a, 2)", "x = (a)"),
    )

    def ways(self, node: Any) -> Iterator[str]:
        if node.type not in {"atom_expr", "power"} or node.parent.type in {
            "raise_stmt",
            "simple_stmt",
        }:
            return
        parts = node.children
        for at, trailer in enumerate(parts):
            if trailer.type == "trailer" and trailer.children[0].value == "(":
                left = self._left(parts, at)
                if left:
                    yield left + "".join(c.get_code() for c in parts[at + 1 :])

    @staticmethod
    def _left(parts: list[Any], at: int) -> str:
        called, given = code(parts[at - 1]).lstrip("."), _arguments(parts[at])
        plain = [a for a in given if _plain(a)]
        if called in NOT_DROPPED:
            return ""
        if parts[at - 1].type == "trailer" and not _imported(parts[0]):
            kept = [code(parts[0]), *(c.get_code() for c in parts[1 : at - 1])]
            return "" if len(given) > 1 else "".join(kept)
        if code(parts[0])[0].isupper() or code(parts[0]) == "dict":
            return ""
        alone = len(plain) == 1 and _plain(given[0]) and plain[0].type not in TEXTS
        return f"({code(plain[0])})" if alone or (called == "round" and plain) else ""


def _imported(node: Any) -> bool:
    """Whether a name is one that the module imports: a function's place, not a thing of its own."""
    if node.type != "name":
        return False
    module = node.get_root_node()
    if id(module) not in _imports:
        _imports.clear()
        names = (name.value for each in module.iter_imports() for name in each.get_defined_names())
        _imports[id(module)] = (module, set(names))
    return node.value in _imports[id(module)][1]


_imports: dict[int, tuple[Any, set[str]]] = {}
"""What the module names that it imports, for the module last asked about."""


def _arguments(trailer: Any) -> list[Any]:
    if trailer.type != "trailer" or len(trailer.children) < 3:
        return []
    inside = trailer.children[1]
    return inside.children[::2] if inside.type == "arglist" else [inside]


def _plain(argument: Any) -> bool:
    """Whether an argument is given by its place; a comprehension is."""
    return argument.type != "argument" or argument.children[-1].type.endswith("comp_for")


class StatementDropped(Change):
    """A call, a `yield`, a note made in something, a refusal or an early way out forgotten."""

    said = (
        ("f(x)\n", "pass\n"),
        ("yield from f(x)\n", "yield from ()\n"),
        ("a += b\n", "pass\n"),
        ("a[0] = b\n", "pass\n"),
        ("if a:\n    raise b\n", "if a:\n    pass\n"),
        ("if a:\n    return\n", "if a:\n    pass\n"),
    )

    def ways(self, node: Any) -> Iterator[str]:
        if node.parent is None or node.parent.type != "simple_stmt":
            return
        if node.type == "yield_expr":
            yield "yield from ()"
        elif node.type in {"atom_expr", "power", "raise_stmt"} or _noted(node) or _early(node):
            yield "pass"


def _noted(node: Any) -> bool:
    if node.type != "expr_stmt":
        return False
    target, sign = node.children[0], node.children[1]
    return sign.type == "operator" and (sign.value != "=" or target.type in {"atom_expr", "power"})


def _early(node: Any) -> bool:
    way_out = node.type == "return_stmt" or (node.type == "keyword" and node.value == "return")
    suite = node.parent.parent
    return (
        way_out
        and suite is not None
        and suite.parent is not None
        and suite.parent.type != "funcdef"
    )


class ReturnValue(Change):
    """Another value of the kind that the function says it returns."""

    said = (
        ("def f() -> bool:\n    return a\n", "def f() -> bool:\n    return not (a)\n"),
        ("def f() -> float:\n    return a\n", "def f() -> float:\n    return (a) + 1\n"),
        ("def f() -> list[int]:\n    return a\n", "def f() -> list[int]:\n    return []\n"),
    )

    def ways(self, node: Any) -> Iterator[str]:
        inside = node.parent is not None and node.parent.type == "return_stmt"
        function = search_ancestor(node, "funcdef") if inside else None
        if function is None or function.annotation is None or node is not node.parent.children[1]:
            return
        other = self._other(code(function.annotation), node)
        if other and other != code(node):
            yield other

    def _other(self, kind: str, node: Any) -> str:
        if kind == "bool":
            once = node.type in {"comparison", "not_test", "keyword"}
            return "" if once else f"not ({code(node)})"
        if kind in {"int", "float"}:
            return f"({code(node)}) + 1"
        return EMPTIED.get(kind.split("[")[0], "None")
