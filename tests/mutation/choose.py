"""Which tests a change in one place can touch, the nearest and fastest first."""

from __future__ import annotations

import ast
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from targets import NEAREST, SLOWEST


@dataclass(frozen=True, slots=True)
class Reach:
    """What runs a place: lines of its own file, or whatever names it."""

    lines: frozenset[int] = frozenset()
    names: frozenset[str] = frozenset()


def reach_of(source: str, line: int) -> Reach:
    """What runs a line.

    In a function, the statement it stands in. In a signature, the whole function. In a module or a
    class it is run once, by whichever test comes first: there, whatever says its name, and whatever
    runs anything in the file.
    """
    way = list(_way_to(ast.parse(source), line))
    functions = [n for n in way if isinstance(n, ast.FunctionDef)]
    if functions and way[-1] is functions[-1]:
        return Reach(
            frozenset(range(functions[-1].body[0].lineno, (functions[-1].end_lineno or line) + 1))
        )
    if functions:
        return Reach(frozenset({line, *range(way[-1].lineno, _head_ends(way[-1]) + 1)}))
    return Reach(names=frozenset(name for node in way for name in _said(node)))


def _way_to(node: ast.AST, line: int) -> Iterator[ast.stmt]:
    for child in ast.iter_child_nodes(node):
        if isinstance(child, (ast.stmt, ast.ExceptHandler)) and _holds(child, line):
            if isinstance(child, ast.stmt):
                yield child
            yield from _way_to(child, line)


def _holds(node: ast.stmt | ast.ExceptHandler, line: int) -> bool:
    return node.lineno <= line <= (node.end_lineno or node.lineno)


def _head_ends(node: ast.stmt) -> int:
    body = getattr(node, "body", None)
    return body[0].lineno - 1 if body else node.end_lineno or node.lineno


def _said(node: ast.stmt) -> Iterator[str]:
    if isinstance(node, ast.ClassDef):
        yield node.name
    for child in ast.walk(node) if isinstance(node, (ast.Assign, ast.AnnAssign)) else ():
        if isinstance(child, ast.Name) and isinstance(child.ctx, ast.Store):
            yield child.id


@dataclass(frozen=True)
class Seen:
    """What was seen when the tests were watched."""

    root: Path
    lines: dict[str, dict[str, list[int]]]
    """By file and line, the places of tests in `took`."""
    took: dict[str, float]
    _texts: dict[str, str] = field(default_factory=dict)

    def tests_for(self, file: Path, source: str, line: int) -> list[str]:
        """The tests that a change in a line can touch, those first that run the fewest lines."""
        reach = reach_of(source, line)
        if reach.lines:
            tests = self._running((str(file), n) for n in reach.lines)
        else:
            all_of_it = ((str(file), int(n)) for n in self.lines.get(str(file), ()))
            tests = self._running([*all_of_it, *self._naming(reach.names)])
            tests |= self._saying(reach.names)
        named = list(self.took)
        quick = (t for t in tests if self.took[named[t]] <= SLOWEST)
        order = sorted(quick, key=lambda t: (self.reach[t], named[t]))
        return [named[t] for t in order[:NEAREST]]

    @cached_property
    def reach(self) -> Counter[int]:
        """How many lines each test runs: those that run few are the fastest, and about the matter."""
        return Counter(
            t for lines in self.lines.values() for tests in lines.values() for t in tests
        )

    def slow(self) -> list[str]:
        """The tests that are left out."""
        return sorted(t for t, seconds in self.took.items() if seconds > SLOWEST)

    def _running(self, places: Iterable[tuple[str, int]]) -> set[int]:
        return {t for path, n in places for t in self.lines.get(path, {}).get(str(n), ())}

    def _naming(self, names: frozenset[str]) -> Iterator[tuple[str, int]]:
        """The lines of the package that say a name."""
        for path in self.lines:
            for number, text in enumerate(self._text(path).split("\n"), 1):
                if _says(text, names):
                    yield path, number

    def _saying(self, names: frozenset[str]) -> set[int]:
        """The tests in files that say a name."""
        files = {name.partition("::")[0] for name in self.took}
        saying = {path for path in files if _says(self._text(path), names)}
        return {i for i, name in enumerate(self.took) if name.partition("::")[0] in saying}

    def _text(self, path: str) -> str:
        if path not in self._texts:
            self._texts[path] = (self.root / path).read_text("utf-8")
        return self._texts[path]


def _says(text: str, names: frozenset[str]) -> bool:
    return any(name in text and re.search(rf"\b{re.escape(name)}\b", text) for name in names)
