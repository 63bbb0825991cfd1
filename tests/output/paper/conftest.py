"""Labels to print, from cards made by hand and from the example ledger."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pytest

from tankbook.ledger import shipped
from tankbook.ledger.load import load
from tankbook.output.card import Card, sides_on_card
from tankbook.output.page import Page
from tankbook.output.paper.grid import LabelGrid, grid_of
from tankbook.output.paper.labels import Shop
from tankbook.records.book import Book
from tankbook.rules.conditions import cleaned_for
from tankbook.rules.fill_history import contents_of
from tankbook.rules.gate import may_fill
from tankbook.rules.schedule import due
from tankbook.rules.volume import water_volume_of
from tankbook.units import AbsolutePressure


@pytest.fixture(name="shop")
def _shop(today: dt.date) -> Shop:
    return Shop("Test Quay", today, Page(), AbsolutePressure.of(1.4, "bar"))


@pytest.fixture(name="card_of")
def _card_of(today: dt.date) -> Callable[[Book, str], Card]:
    def make(book: Book, id_: str) -> Card:
        contents = contents_of(book, id_)
        cylinder, doubles = book.cylinders.get(id_), book.sets.get(id_)
        return Card(
            id=id_,
            record=cylinder or doubles,
            answer=may_fill(book, id_, today, contents.gas, station=False),
            contents=contents,
            dues=tuple(d for d in due(book, today) if d.id == id_),
            water_volume=water_volume_of(book, cylinder) if cylinder else None,
            faults=book.broken.get(id_, ()),
            cleaned_for=cleaned_for(book, cylinder, today) if cylinder else "",
            cylinders=sides_on_card(book, doubles, due(book, today), today) if doubles else (),
        )

    return make


@pytest.fixture(name="cove")
def _cove(example_ledger: Path, today: dt.date) -> Book:
    return load(example_ledger).as_known_on(today)


@pytest.fixture(name="grid")
def _grid() -> Callable[[str], LabelGrid]:
    return lambda name: grid_of(shipped.sheets()[name])
