"""Fixtures shared by the rooms' tests."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import books
import pytest

from tankbook.records.book import Book


@pytest.fixture(name="today")
def _today() -> dt.date:
    return books.TODAY


@pytest.fixture(name="make_book")
def _make_book() -> Callable[..., Book]:
    return books.make_book


@pytest.fixture(name="example_ledger")
def _example_ledger() -> Path:
    return Path(__file__).parent.parent / "example_ledger"
