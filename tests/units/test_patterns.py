"""Patterns that are compiled when they are first asked."""

from __future__ import annotations

import ast
import importlib
import pkgutil
import re
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

import tankbook
from tankbook.units import shipped
from tankbook.units.lexicon import Lexicon
from tankbook.units.patterns import Sought, _Lazy, folded, pattern

PACKAGE = Path(tankbook.__file__).parent


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


def compiled_at_once(text: str) -> list[str]:
    """What a module compiles as it is imported, by its lines."""
    kept = (ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda)
    todo, found = list(ast.parse(text).body), []
    while todo:
        node = todo.pop()
        if isinstance(node, kept):
            continue
        compiles = isinstance(node, ast.Attribute) and node.attr in {"compile", "pattern"}
        if compiles and ast.unparse(node) != "patterns.pattern":
            found.append(f"{node.lineno}: {ast.unparse(node)}")
        todo += ast.iter_child_nodes(node)
    return found


@pytest.mark.parametrize("path", sorted(PACKAGE.rglob("*.py")), ids=lambda p: p.name)
def test_no_module_compiles_a_pattern_as_it_is_imported(path: Path) -> None:
    assert compiled_at_once(path.read_text(encoding="utf-8")) == []


def test_what_is_compiled_at_once_is_seen() -> None:
    assert compiled_at_once(
        "import re\nA = re.compile('a')\n\ndef f():\n    re.compile('b')\n"
    ) == ["2: re.compile"]
    assert compiled_at_once("class K:\n    B = {'x': pattern(A.pattern + 'b')}\n") == [
        "2: A.pattern"
    ]


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
            built = made(name)
            assert built.whole if isinstance(built, Sought) else built
            found += 1
    assert found > 300


def test_letters_that_a_pattern_takes_for_one_are_folded_to_one() -> None:
    needed = {
        letter
        for lists in shipped.needles().values()
        for lines in lists.values()
        for needles in lines
        for letter in "".join(needles)
    }
    assert len(needed) > 30
    everything = "".join(chr(c) for c in range(sys.maxunicode + 1) if not 0xD800 <= c < 0xE000)
    for letter in needed:
        for other in re.findall(re.escape(letter), everything, re.IGNORECASE):
            assert letter in folded(other), (letter, other)


def test_a_pattern_of_lines_finds_what_all_of_them_find() -> None:
    made: list[tuple[int, ...]] = []
    lines, needles = ["cracks?", "dent(ed)?", r"\d+"], [["crack"], ["dent"], []]

    def of(chosen: Sequence[int]) -> re.Pattern[str]:
        made.append(tuple(chosen))
        return re.compile("|".join(lines[place] for place in chosen), re.IGNORECASE)

    sought = Sought(of, needles)
    assert sought.search("a CRACK") is not None
    assert sought.match("dented, 7 holes") is not None
    assert len(sought.findall("7 8")) == 2
    assert made == [(0, 2), (1, 2), (2,)]
    bare = Sought(of, needles[:2])
    assert (bare.search("sound"), list(bare.finditer("sound"))) == (None, [])
    assert (bare.sub("-", "sound"), bare.split("sound"), bare.findall("x")) == (
        "sound",
        ["sound"],
        [],
    )
    assert len(made) == 3


def test_of_many_texts_all_lines_are_made_once() -> None:
    made: list[tuple[int, ...]] = []

    def of(chosen: Sequence[int]) -> re.Pattern[str]:
        made.append(tuple(chosen))
        return re.compile("|".join("abcdefgh"[place] for place in chosen))

    sought = Sought(of, [[letter] for letter in "abcdefgh"])
    texts = [f"{a}{b}" for a in "abcdefgh" for b in "abcdefgh" if a < b]
    for text in texts:
        assert sought.fullmatch(text[0]) is not None
        assert [m[0] for m in sought.finditer(text)] == list(text)
    assert len(made) < len(texts) / 1.5
    assert made[-1] == tuple(range(8))
    assert sought.whole.pattern == "a|b|c|d|e|f|g|h"
