"""An option that names a file or a folder and is given an empty text: refused in one line."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tankbook.cli.app import command
from tankbook.cli.options import NAMES_A_PATH


def each(built: Any, words: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Every command, with each of its options that name a file or a folder."""
    for parameter in built.params:
        if parameter.metavar in NAMES_A_PATH:
            name = parameter.opts[0]
            yield (*words, name if name.startswith("-") else "")
    for name, below in getattr(built, "commands", {}).items():
        yield from each(below, (*words, name))


EVERY = sorted(each(command()))


def test_they_are_found() -> None:
    assert {("history", "--bundle"), ("init", ""), ("--ledger",), ("fill", "--plan")} <= {*EVERY}
    assert len({words[-1] for words in EVERY}) >= 12


@pytest.mark.parametrize("words", EVERY, ids=" ".join)
@pytest.mark.parametrize("blank", ["", " ", " \t "])
def test_an_empty_text_is_refused_in_one_line(
    words: tuple[str, ...],
    blank: str,
    ledger: Path,
    tb: Callable[..., Any],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(ledger)
    before = {p: p.read_bytes() for p in ledger.rglob("*") if p.is_file()}
    # what else the command wants is not looked at before
    given = (*words, blank) if words[-1] else (*words[:-1], blank)
    ran = tb(*given)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.count("\n") == 1
    if words[0] != "history":  # which wants an id first: below
        assert "an empty text names no f" in ran.err
        assert "; name a f" in ran.err
    assert {p: p.read_bytes() for p in ledger.rglob("*") if p.is_file()} == before


def test_history_with_an_empty_bundle_is_not_silent(ledger: Path, tb: Callable[..., Any]) -> None:
    ran = tb("--ledger", ledger, "history", "RB-014", "--bundle", "")
    assert (ran.code, ran.out) == (2, "")
    assert ran.err == "tankbook: --bundle: an empty text names no folder; name a folder\n"
