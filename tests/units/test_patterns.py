"""Patterns that are compiled when they are first asked."""

from __future__ import annotations

import importlib
import pkgutil
import re

import pytest

import tankbook
from tankbook.units import shipped
from tankbook.units.lexicon import Lexicon
from tankbook.units.patterns import _Lazy, pattern


def test_it_does_what_a_compiled_one_does() -> None:
    lazy, eager = pattern(r"(?P<a>\d+)-(\d)", re.IGNORECASE), re.compile(r"(?P<a>\d+)-(\d)", re.I)
    assert lazy.search("x12-3").groupdict() == {"a": "12"}  # type: ignore[union-attr]
    assert lazy.fullmatch("12") is None
    assert lazy.match("12-3y") is not None
    assert lazy.sub("z", "12-3 4-5") == eager.sub("z", "12-3 4-5")
    assert lazy.subn("z", "12-3") == ("z", 1)
    assert lazy.findall("12-3 4-5") == [("12", "3"), ("4", "5")]
    assert [m.span() for m in lazy.finditer("12-3")] == [(0, 4)]
    assert lazy.split("a12-3b") == eager.split("a12-3b")
    assert (lazy.pattern, lazy.flags, lazy.groups) == (eager.pattern, eager.flags, 2)
    assert lazy.groupindex == {"a": 1}
    assert pattern(rb"\d").search(b"7") is not None


def test_it_is_compiled_at_the_first_use_and_not_before() -> None:
    wrong = pattern("(")
    with pytest.raises(re.error):
        wrong.search("x")
    lazy = pattern("a")
    assert "search" not in vars(lazy)
    assert not hasattr(lazy, "compile")
    lazy.match("a")
    assert "search" in vars(lazy)


def test_every_pattern_of_the_program_compiles() -> None:
    found = 0
    for module in pkgutil.walk_packages(tankbook.__path__, "tankbook."):
        for value in vars(importlib.import_module(module.name)).values():
            if isinstance(value, _Lazy):
                value.search  # noqa: B018  # compiles it, or raises
                found += 1
    for subject, lists in shipped.words().items():
        if subject == "headings":  # cells that are compared as they stand
            continue
        for name, lines in lists.items():
            own = Lexicon(subject)
            whole = own.shape if subject == "stamps" else own.phrases
            made = own.changes if all(" =>" in line for line in lines) else whole
            assert made(name)
            found += 1
    assert found > 300
