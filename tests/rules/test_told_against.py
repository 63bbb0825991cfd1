"""Remarks from somebody else's list: which hold a cylinder until it was looked at."""

from __future__ import annotations

import pytest
from books import GOOD, make_book

from tankbook.rules.told_against import tells_against

AGAINST = [
    "valve leaks", "dent on shoulder", "failed hydro 2023", "condemned", "out of test", "do not use",
    "rusty inside", "smells of oil", "max 180 bar", "погнут", "broken handwheel", "missing dip tube",
    "handle cracked", "u/s", "faulty valve", "valve stiff", "paint flaking", "scrap?", "crack in neck?",
    "needs visual", "Undicht am Ventil", "fuite au robinet", "was in the fire", "6351 alloy", "slow leak", "bent valve",
    "awaiting test", "cancelled", "result pending", "oos", "O/S", "expired", "NO GO", "red tagged", "dropped", "in Werkstatt", "à réformer",
    "test date not sure", "out to Jim since June", "on loan", "lent to Sue", "prêtée à Éric", "overdue",
    "pillar valve weeps", "weeps", "valve weeping", "seeps at the O-ring", "bubbles at the valve", "does not hold air", "loses 10 bar a week",
    "oily film on the valve seat", "hissing at the valve", "fell off the truck", "deep gouge near the neck",
]  # fmt: skip
HARMLESS = [
    "blue boot", "new valve 2019", "valve serviced 2024", "no leaks", "ok", "no faults", "no damage",
    "good condition", "colour: yellow", "Jim's old one", "max 240 bar", "twin set with 12", "bought from the lake shop",
    "hydro 2021", "outlet DIN", "Stage", "loan stock",
]  # fmt: skip


@pytest.mark.parametrize("text", AGAINST)
def test_what_tells_against_a_cylinder(text: str) -> None:
    book = make_book({"RB-014": GOOD})
    assert tells_against(book, book.cylinders["RB-014"], text)


@pytest.mark.parametrize("text", HARMLESS)
def test_what_does_not(text: str) -> None:
    book = make_book({"RB-014": GOOD})
    assert tells_against(book, book.cylinders["RB-014"], text) == ""
