"""Fixtures shared by the rooms' tests."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable
from pathlib import Path

import books
import pytest
from hypothesis import HealthCheck, settings

from tankbook.records.book import Book

# A slow machine is no broken law; where a change is judged, every run draws the same examples.
settings.register_profile(
    "steady",
    deadline=None,
    derandomize="CI" in os.environ,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("steady")


@pytest.fixture(name="today")
def _today() -> dt.date:
    return books.TODAY


@pytest.fixture(name="make_book")
def _make_book() -> Callable[..., Book]:
    return books.make_book


@pytest.fixture(name="example_ledger")
def _example_ledger() -> Path:
    return Path(__file__).parent.parent / "example_ledger"
