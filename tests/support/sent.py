"""Ledgers of cylinders that were sent away: drawn, with what came of each."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

import books
from hypothesis import strategies as st

from tankbook.records.book import Book

PLACES = "Northside Test House", "Weir Valve Bench"
FIRST = dt.date(2026, 9, 1)
BLED = None, "heard", "valve-left-open", "no-flow"


class Stay(NamedTuple):
    """Where a cylinder was, and what came of it; `back` counts days after it went."""

    day: int
    place: str
    back: int | None
    result: str | None
    bled: str | None
    valve: str | None
    asked: tuple[str, ...]
    why: str

    @property
    def on(self) -> dt.date:
        return FIRST + dt.timedelta(self.day)

    @property
    def home(self) -> dt.date | None:
        return None if self.back is None else self.on + dt.timedelta(self.back)


STAYS = st.builds(
    Stay,
    st.integers(0, 3),
    st.sampled_from(PLACES),
    st.none() | st.integers(1, 20),
    st.sampled_from((None, "pass", "fail")),
    st.sampled_from(BLED),
    st.sampled_from((None, "fitted", "off")),
    st.lists(st.sampled_from(("hydro", "visual", "eddy-current", "o2-clean")), unique=True).map(
        tuple
    ),
    st.sampled_from(("", "worn neck thread 2", "gouge near the foot")),
)
FLEETS = st.lists(STAYS, max_size=7)


def ids(stays: list[Stay]) -> dict[str, Stay]:
    """The cylinders, each with its stay."""
    return {f"RB-{n:03}": stay for n, stay in enumerate(stays, 1)}


def card(number: int, stay: Stay) -> str:
    """The card of a cylinder with a stay."""
    keys = [f"on: {stay.on}", "by: MV", f"to: {stay.place}", "for: requalification"]
    keys += [f"bled: {stay.bled}"] if stay.bled else []
    keys += [f"with_valve: {stay.valve}"] if stay.valve else []
    keys += [f"asked: [{', '.join(stay.asked)}]"] if stay.asked else []
    keys += [f"why: {stay.why}"] if stay.why else []
    keys += [f"back: {stay.home}"] if stay.home else []
    text = books.stamped(books.GOOD.replace("K118204", f"K{number:06}"))
    if stay.home and stay.result:
        day = stay.on + dt.timedelta(1)
        test = f"on: {day}, method: hydrostatic, by: T{number}, stamp: 09 T{number} 26"
        test += ", result: fail" if stay.result == "fail" else ""
        text = text.replace("by: maker}", f"by: maker}}\n  - {{{test}}}")
    status = "awaiting-inspection" if stay.home else "at-test"
    text = text.replace("status: in-service", f"status: {status}")
    return f"{text}sent:\n  - {{{', '.join(keys)}}}\n"


def files(stays: list[Stay]) -> dict[str, str]:
    """The cards by their ids."""
    return {id_: card(n, stay) for n, (id_, stay) in enumerate(ids(stays).items(), 1)}


def book(stays: list[Stay]) -> Book:
    """A book of them."""
    return books.make_book(files(stays))
