"""Acts in any order: each is refused with its reasons, or leaves the ledger sound."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import acting
import books
import pytest
from acting import Shelf
from hypothesis import given, settings
from hypothesis import strategies as st

from tankbook.ledger.apply import changes_of
from tankbook.records.edits import Act, Refusal
from tankbook.records.words import Method, SentFor
from tankbook.rules.acts.away import back, refit, send
from tankbook.rules.acts.correct import correct
from tankbook.rules.acts.hold import hold, release
from tankbook.rules.acts.reject import condemn, reject
from tankbook.rules.acts.requalify import Test, requalify
from tankbook.rules.acts.striking import Wrong
from tankbook.rules.checks import check
from tankbook.rules.standing import status_from_entries, status_of
from tankbook.units import PartialDate

Plan = Callable[[Any, str, dt.date], Act | Refusal]
LISTS = ("held", "sent", "rejected", "condemned", "requalified", "inspected")


def paper(on: dt.date, failed: str) -> Test:
    return Test(
        PartialDate.of(on), Method.HYDROSTATIC, "T123", failures={failed: "leak"} if failed else {}
    )


def struck(name: str) -> Plan:
    """Strikes out the last entry of a list that stands."""

    def plan(book: Any, id_: str, on: dt.date) -> Act | Refusal:
        stand = [e for e in getattr(book.cylinders[id_], name) if e.void is None]
        when = f"{stand[-1].on}#{sum(e.on == stand[-1].on for e in stand)}" if stand else ""
        now = dt.datetime.combine(on, dt.time(12)).astimezone()
        return correct(book, id_, Wrong(name, when, "wrong card"), by="MV", on=on, now=now)

    return plan


PLANS: tuple[Plan, ...] = (
    lambda b, i, d: hold(b, [i], why=f"dent of {d}", by="MV", on=d),
    lambda b, i, d: release(b, [i], why="gauged", by="MV", on=d, every=True),
    lambda b, i, d: send(b, [i], to="Northside", for_=SentFor.REQUALIFICATION, by="MV", on=d),
    lambda b, i, d: send(b, [i], to="Northside", for_=SentFor.REPAIR, by="MV", on=d),
    lambda b, i, d: back(b, [i], by="MV", on=d),
    lambda b, i, d: back(b, [i], by="MV", on=d, refitted=True),
    lambda b, i, d: refit(b, [i], by="MV", on=d),
    lambda b, i, d: reject(b, i, why="pit", by="MV", on=d, told="letter"),
    lambda b, i, d: requalify(b, [i], paper(d, ""), d),
    lambda b, i, d: requalify(b, [i], paper(d, i), d),
    lambda b, i, d: condemn(b, i, why="crack", by="T123", on=PartialDate.of(d), marked="X"),
    *map(struck, LISTS),
)
STEPS = st.lists(
    st.tuples(st.sampled_from(PLANS), st.sampled_from(["RB-014", "RB-015"]), st.integers(0, 9)),
    min_size=1,
    max_size=14,
)


@settings(max_examples=120, deadline=None)
@given(STEPS)
def test_acts_in_any_order_keep_the_ledger_sound(steps: list[tuple[Plan, str, int]]) -> None:
    shelf = acting.shelf()
    day = dt.date(2026, 4, 1)
    for plan, id_, days in steps:
        day += dt.timedelta(days=days)
        before = dict(shelf.texts)
        got = plan(shelf.book, id_, day)
        if isinstance(got, Refusal):
            assert got.reasons
            continue
        record(shelf, got)
        book = shelf.book
        assert [str(f) for f in check(book, day) if f.severity == "fault"] == []
        cylinder = book.cylinders[id_]
        assert cylinder.status is status_of(cylinder)
        assert status_from_entries(cylinder) in {cylinder.status, None}
        kept = [line for line in before[f"cylinders/{id_}.yaml"].splitlines() if "- {" in line]
        after = shelf.texts[f"cylinders/{id_}.yaml"]
        assert all(line.rstrip("}") in after for line in kept), "an entry is gone"


def record(shelf: Shelf, act: Act) -> None:
    read = {path: text.encode() for path, text in shelf.texts.items()}
    for change in changes_of(read.get, act):
        shelf.texts[change.path] = change.new.decode()


BEFORE = {1: [0], 4: [2], 5: [2], 6: [2, 4], 11: [0], 12: [2], 13: [7], 14: [10]}
"""The plans that must come before one, by their place."""


@pytest.mark.parametrize("number", range(len(PLANS)))
def test_every_plan_can_be_done_from_somewhere(number: int) -> None:
    """The walk above is no walk past closed doors."""
    shelf = acting.shelf()
    for each in [*BEFORE.get(number, []), number]:
        got = PLANS[each](shelf.book, "RB-014", books.TODAY)
        assert isinstance(got, Act), got
        record(shelf, got)
