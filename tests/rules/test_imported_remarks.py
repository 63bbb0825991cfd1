"""Of remarks that come with a list, in six languages, those of danger hold, the harmless do not."""

from __future__ import annotations

import unicodedata

import imported_remarks as said
import pytest
from books import GOOD, make_book

from tankbook.rules.harmless import is_plain
from tankbook.rules.told_against import tells_against

BOOK = make_book({"RB-014": GOOD})


def held(text: str) -> str:
    return tells_against(BOOK, BOOK.cylinders["RB-014"], text)


def bare(text: str) -> str:
    """A text as it is typed where a keyboard has no accents."""
    apart = unicodedata.normalize("NFD", text.replace("ß", "ss"))
    return "".join(c for c in apart if not unicodedata.combining(c))


def test_there_are_enough_of_each() -> None:
    assert len({t for ts in said.DANGER.values() for t in ts}) >= 120
    assert len({t for ts in said.HARMLESS.values() for t in ts}) >= 120
    assert said.DANGER.keys() == said.HARMLESS.keys()


@pytest.mark.parametrize("text", [t for texts in said.DANGER.values() for t in texts])
def test_danger_holds_however_it_is_typed(text: str) -> None:
    for each in (text, text.upper(), bare(text), f"blue boot, {text}", f"{text}. Ask WE"):
        assert held(each), each
        assert not is_plain(each), each


@pytest.mark.parametrize("text", [t for texts in said.HARMLESS.values() for t in texts])
def test_what_is_harmless_holds_nothing(text: str) -> None:
    for each in (text, text.upper(), bare(text), f"blue boot, {text}"):
        assert not held(each), each
