"""What is tried, and with which tests. When a file moves, it is changed here."""

from __future__ import annotations

from fnmatch import fnmatchcase
from pathlib import Path

TARGETS = (
    "tankbook.gas.capacity",
    "tankbook.gas.depth",
    "tankbook.filling.equalize",
    "tankbook.filling.blend_amounts",
    "tankbook.rules.limits",
    "tankbook.rules.schedule",
    "tankbook.rules.conditions",
    "tankbook.rules.fill_history",
    "tankbook.rules.mixed",
    "tankbook.rules.expansion",
    "tankbook.rules.retest",
)
"""The modules that a YES rests on. A `*` stands for any module name; any other module is tried when
it is named on the command line, as the gate and the checks may be."""

TESTS = ("tests/units", "tests/gas", "tests/records", "tests/filling", "tests/rules")
"""The rooms' own tests: what only a test of the commands would notice counts as unnoticed."""

LEFT_OUT = (
    "tests/filling/test_quality.py",
    "tests/acts/test_any_order.py",
    "tests/rules/campaign",
)
"""Searches through whole plans, whole lives and whole ledgers: minutes each."""

SLOWEST = 3.0
"""Other tests that compute longer than this many seconds are left out; their names are printed."""

NEAREST = 500
"""No more tests than these are tried on a change, those that run the fewest lines."""


def modules_of(root: Path) -> dict[str, Path]:
    """Every module of the package in a tree, by name."""
    files = sorted((root / "tankbook").rglob("*.py"))
    return {_name(f.relative_to(root)): f.relative_to(root) for f in files}


def _name(file: Path) -> str:
    parts = file.with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def found(root: Path, patterns: tuple[str, ...] = TARGETS) -> tuple[dict[str, Path], list[str]]:
    """The targets that are there, and the patterns that fit nothing any more."""
    modules = modules_of(root)
    fits = {p: [name for name in modules if fnmatchcase(name, p)] for p in patterns}
    names = dict.fromkeys(name for each in fits.values() for name in each)
    return {name: modules[name] for name in names}, [p for p, each in fits.items() if not each]
