"""Loading the package with one module changed: from a text, ahead of its file."""

from __future__ import annotations

import ast
import importlib.util
from collections.abc import Iterator
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, SourceFileLoader
from pathlib import Path
from types import CodeType
from typing import Any

from targets import modules_of


class Changed(SourceFileLoader):
    """Loads a text in place of a file."""

    def __init__(self, name: str, path: str, text: str) -> None:
        super().__init__(name, path)
        self._text = text

    def get_code(self, fullname: str) -> CodeType:
        return compile(self._text, self.path, "exec", dont_inherit=True)


class Ahead(MetaPathFinder):
    """Finds the changed module ahead of its file."""

    def __init__(self, name: str, path: Path, text: str) -> None:
        self._name, self._path, self._text = name, path, text

    def find_spec(self, fullname: str, path: Any, target: Any = None) -> ModuleSpec | None:
        if fullname != self._name:
            return None
        loader = Changed(fullname, str(self._path), self._text)
        return importlib.util.spec_from_file_location(fullname, self._path, loader=loader)


def untouched(root: Path, module: str) -> list[str]:
    """The package's modules whose loading does not load `module`."""
    modules = modules_of(root)
    needs = {name: set(_needs(root / file, name, modules)) for name, file in modules.items()}
    touched, more = {module}, {module}
    while more:
        more = {name for name, used in needs.items() if used & more} - touched
        touched |= more
    return [name for name in modules if name not in touched and not name.endswith("__main__")]


def _needs(file: Path, name: str, modules: dict[str, Path]) -> Iterator[str]:
    found = {name}
    for node in ast.walk(ast.parse(file.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    for each in found:
        parts = each.split(".")
        yield from ({".".join(parts[:n]) for n in range(1, len(parts) + 1)} & modules.keys()) - {
            name
        }
