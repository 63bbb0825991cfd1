"""The rooms: which may import which, which may touch the disk, and which are pure."""

from __future__ import annotations

import ast
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from pathlib import Path

import pytest

import tankbook

PACKAGE = Path(tankbook.__file__).parent
ROOMS = ("units", "gas", "records", "rules", "acts", "filling", "ledger", "output", "cli")
"""From the ground up: a room imports itself and the rooms before it."""
PURE = ROOMS[: ROOMS.index("ledger")]
"""No files, no clock, no printing: today's date is an argument."""

DISK_MODULES = {"pathlib", "io", "os", "shutil", "tempfile", "glob", "fcntl", "subprocess", "mmap"}
DISK_CALLS = {
    "open", "read_text", "read_bytes", "write_text", "write_bytes", "mkdir", "unlink", "rename",
    "replace_file", "rmdir", "touch", "iterdir", "glob", "get_data",
}  # fmt: skip
CLOCK_CALLS = {"now", "today", "utcnow", "time", "localtime", "monotonic", "perf_counter"}
OUTSIDE_CALLS = {"print", "input", "exit", "eval", "exec"}

MODULES = sorted(p.relative_to(PACKAGE) for p in PACKAGE.rglob("*.py"))


def room_of(module: Path) -> str:
    return module.parts[0] if len(module.parts) > 1 else "cli"  # __main__ belongs to the cli


def imports_of(module: Path) -> frozenset[str]:
    return _seen_in(module)[0]


def calls_of(module: Path) -> frozenset[str]:
    return _seen_in(module)[1]


@cache
def _seen_in(module: Path) -> tuple[frozenset[str], frozenset[str]]:
    """What a module imports, and what it calls."""
    tree = ast.parse((PACKAGE / module).read_text(encoding="utf-8"))
    return frozenset(imported(tree)), frozenset(called(tree))


def imported(tree: ast.AST) -> Iterator[str]:
    """Every module imported anywhere in a tree, also inside functions and for types only."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "relative imports hide the direction"
            yield node.module or ""
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def called(tree: ast.AST) -> Iterator[str]:
    """The bare name of everything called: `open` for `open()` and for `path.open()`."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            target = node.func
            if isinstance(target, ast.Name):
                yield target.id
            elif isinstance(target, ast.Attribute):
                yield target.attr


def upward(room: str, names: Iterable[str]) -> list[str]:
    """The imports that point to a room above, or to none."""
    allowed = ROOMS[: ROOMS.index(room) + 1]
    found = []
    for name in names:
        parts = name.split(".")
        if parts[0] == "tankbook" and len(parts) > 1 and parts[1] not in allowed:
            found += [name] if parts[1] != "__version__" else []
    return found


def test_every_folder_is_a_room() -> None:
    assert {room_of(m) for m in MODULES} == set(ROOMS)


@pytest.mark.parametrize("module", MODULES, ids=str)
def test_imports_point_down(module: Path) -> None:
    assert upward(room_of(module), imports_of(module)) == []


def classes_of(module: Path) -> list[str]:
    tree = ast.parse((PACKAGE / module).read_text(encoding="utf-8"))
    return [node.name for node in tree.body if isinstance(node, ast.ClassDef)]


def said_twice(names: Mapping[str, Iterable[str]]) -> dict[str, list[str]]:
    """The names that stand in more than one module, with these."""
    found: dict[str, list[str]] = {}
    for module, its_names in names.items():
        for name in its_names:
            found.setdefault(name, []).append(module)
    return {name: modules for name, modules in found.items() if len(modules) > 1}


def test_a_class_name_means_one_thing() -> None:
    """Whoever reads `Step` somewhere is not to ask which of several it is."""
    assert said_twice({str(module): classes_of(module) for module in MODULES}) == {}


def test_the_check_itself_sees_a_name_that_is_said_twice() -> None:
    assert said_twice({"a.py": ["One", "Two"], "b.py": ["Two"]}) == {"Two": ["a.py", "b.py"]}


READS_WHAT_IS_SHIPPED = Path("units/shipped.py")
"""The one pure module that reads a file: words that are part of the program as its code is, the
same for every ledger and on every day, which what is judged deep within a pure room needs."""


@pytest.mark.parametrize("module", [m for m in MODULES if room_of(m) in PURE], ids=str)
def test_pure_rooms_touch_neither_disk_nor_clock_nor_terminal(module: Path) -> None:
    packages = {n.split(".")[0] for n in imports_of(module)}
    assert packages & (DISK_MODULES | {"time", "sys", "logging"}) == set()
    touched = calls_of(module) & (DISK_CALLS | CLOCK_CALLS | OUTSIDE_CALLS)
    assert touched == ({"get_data"} if module == READS_WHAT_IS_SHIPPED else set())


def test_what_is_shipped_is_read_from_the_package_alone() -> None:
    """Its place is a text in the code: no path and no name comes from anybody who asks."""
    tree = ast.parse((PACKAGE / READS_WHAT_IS_SHIPPED).read_text(encoding="utf-8"))
    calls = (n for n in ast.walk(tree) if isinstance(n, ast.Call))
    read = {ast.unparse(n) for n in calls if ast.unparse(n.func) == "get_data"}
    assert read == {
        f"get_data('tankbook.units', 'frozen/{name}.json')" for name in ("words", "needles")
    }
    assert all(not f.args.args for f in ast.walk(tree) if isinstance(f, ast.FunctionDef))
    readers = {m for m in MODULES if imports_of(m) & {"importlib.resources", "pkgutil"}}
    assert {m for m in readers if room_of(m) in PURE} == {READS_WHAT_IS_SHIPPED}


@pytest.mark.parametrize("module", [m for m in MODULES if room_of(m) == "output"], ids=str)
def test_output_touches_neither_disk_nor_clock_nor_terminal(module: Path) -> None:
    assert {n.split(".")[0] for n in imports_of(module)} & (DISK_MODULES | {"time", "sys"}) == set()
    assert calls_of(module) & (DISK_CALLS | CLOCK_CALLS | OUTSIDE_CALLS) == set()


@pytest.mark.parametrize("module", [m for m in MODULES if room_of(m) == "cli"], ids=str)
def test_the_cli_leaves_files_to_the_ledger(module: Path) -> None:
    assert calls_of(module) & (DISK_CALLS - {"open"}) == set()


def test_the_day_is_read_in_one_place() -> None:
    """A lock notes when it was taken; nothing else asks the clock but the one function."""
    readers = {m for m in MODULES if calls_of(m) & (CLOCK_CALLS - {"time"})}
    assert readers - {Path("ledger/lock.py")} == {Path("cli/open_ledger.py")}


@pytest.mark.parametrize(
    ("room", "text", "found"),
    [
        ("gas", "from tankbook.records import book", ["tankbook.records", "tankbook.records.book"]),
        ("gas", "def f():\n    import tankbook.cli.app", ["tankbook.cli.app"]),
        ("rules", "from tankbook import ledger", ["tankbook.ledger"]),
        ("rules", "from tankbook.units import Volume\nfrom tankbook import __version__", []),
    ],
)
def test_the_check_itself_sees_an_import_that_points_up(
    room: str, text: str, found: list[str]
) -> None:
    assert upward(room, imported(ast.parse(text))) == found
