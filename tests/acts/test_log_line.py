"""What a fill or a raising may say it came from, where others filled."""

from __future__ import annotations

import books
import pytest

from tankbook.acts.log_line import source_reasons

LEDGER = books.SETTINGS.replace("Test Quay", "Brindle Cove fill station")
STATION = "banks:\n  - {name: B1, water_volume: 48 L}\ncompressor: {name: C1}\n"


def refused(where: str) -> list[str]:
    book = books.make_book(station=STATION, settings=LEDGER)
    return [*source_reasons(book, f"elsewhere: {where}")]


@pytest.mark.parametrize(
    "where",
    [
        "our compressor", "Our own old compressor", "own bank", "bank 1", "Bank 12", "compressor",
        "the compressor here", "at the shop", "this station", "in-house", "in house",
        "Brindle Cove", "brindle cove", "the shop at Brindle Cove", "Brindle Cove fill station",
        "unser Kompressor", "hier", "eigene Bank", "im Laden", "notre compresseur", "ici",
        "nuestro compresor", "aquí", "il nostro compressore", "onze compressor", "own cascade",
    ],
)  # fmt: skip
def test_what_names_no_other_place_was_filled_here(where: str) -> None:
    [text] = refused(where)
    assert "of this station" in text or "names no other place" in text
    assert "`--source " in text


@pytest.mark.parametrize(
    "where",
    [
        "Weir", "Weir Street", "the club", "Harbour Dive", "pump on a boat", "Reef Shop", "lake shop",
        "shop air of the tyre place", "compressor on a boat", "Brindle Cove Marina", "Cove Divers",
        "Weir, our friends", "Tankstelle", "gas works", "Hier & Jetzt Tauchen", "nobody knows",
    ],
)  # fmt: skip
def test_a_place_that_is_not_this_one_is_taken(where: str) -> None:
    assert refused(where) == []


def test_what_it_says_to_type_is_taken() -> None:
    book = books.make_book(station=STATION, settings=LEDGER)
    assert [*source_reasons(book, "C1")] == []
    assert [*source_reasons(book, "elsewhere: Weir Street+B1")] == []
    assert len([*source_reasons(book, "elsewhere: our compressor+B1")]) == 1
