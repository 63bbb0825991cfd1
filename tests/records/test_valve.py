"""The valve that is on a cylinder follows from what it came with and what was done since."""

from __future__ import annotations

import datetime as dt

import books
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.kinds import NoDisc
from tankbook.records.settings import Settings
from tankbook.records.valve import Valve, ValveWork, lubricants_since, out_of_order, valve_after
from tankbook.records.words import Outlet, ValveDone
from tankbook.units import GaugePressure, PartialDate

PSI = GaugePressure.parse
CAME = Valve(
    outlet=Outlet.CONVERTIBLE, thread="3/4-14 NPSM", rating=PSI("3442 psi"), insert_in=True
)


def work(on: str, did: ValveDone, **said: object) -> ValveWork:
    return ValveWork(on=PartialDate.parse(on), by="MV", did=did, **said)


def card(entries: str) -> Cylinder:
    return books.typed(Cylinder, f"{books.GOOD}valve_work: [{entries}]\n", "cylinders/A.yaml")


@pytest.mark.parametrize("did", [ValveDone.FITTED, ValveDone.CHANGED])
def test_another_valve_begins_anew(did: ValveDone) -> None:
    now = valve_after(CAME, [work("2026-02-09", did, outlet=Outlet.YOKE)])
    assert now == Valve(outlet=Outlet.YOKE)


@pytest.mark.parametrize("did", [ValveDone.SERVICED, ValveDone.INSERT, ValveDone.READ])
def test_other_work_changes_what_it_says(did: ValveDone) -> None:
    now = valve_after(CAME, [work("2026-02-09", did, insert_in=False, disc=NoDisc.NONE)])
    assert now is not None
    assert (now.insert_in, now.disc, now.thread) == (False, NoDisc.NONE, "3/4-14 NPSM")
    assert valve_after(CAME, [work("2026-02-09", did)]) == CAME
    assert valve_after(None, [work("2026-02-09", did, outlet=Outlet.M26)]) == Valve(
        outlet=Outlet.M26
    )


def test_the_order_is_that_of_the_days_and_of_one_day_that_of_the_file() -> None:
    first, then = (
        work(on, ValveDone.CHANGED, thread=t)
        for on, t in (("2026-01-02", "M18x1.5"), ("2026-02-01", "M25x2"))
    )
    for order in ([first, then], [then, first]):
        now = valve_after(CAME, order)
        assert now is not None
        assert now.thread == "M25x2"
    hours = [dt.time(16), dt.time(9)]
    timed = [
        work("2026-02-01", ValveDone.CHANGED, thread=t, at=at)
        for t, at in zip(("M18x1.5", "M25x2"), hours, strict=True)
    ]
    for order in (timed, timed[::-1]):
        now = valve_after(CAME, order)
        assert now is not None
        assert now.thread == "M18x1.5"
    same = [work("2026-02-01", ValveDone.READ, thread=t) for t in ("M18x1.5", "M25x2")]
    assert valve_after(CAME, same).thread == "M25x2"  # type: ignore[union-attr]


def test_what_was_done_later_and_what_was_struck_out_is_not_on_it() -> None:
    entries = (
        "{on: 2026-11-20, by: MV, did: changed, outlet: yoke}, "
        "{on: 2026-11-22, by: MV, did: changed, outlet: m26, void: {why: x, by: MV, on: 2026-11-24}}"
    )
    book = Book(books.typed(Settings, books.SETTINGS, "tankbook.yaml"), {"A": card(entries)})
    seen = {}
    for day in (19, 20, 23, 25):
        valve = book.as_known_on(dt.date(2026, 11, day)).cylinders["A"].valve
        seen[day] = valve.outlet if valve else None
    assert seen == {
        19: Outlet.CONVERTIBLE, 20: Outlet.YOKE, 23: Outlet.M26, 25: Outlet.YOKE,
    }  # fmt: skip


ENTRIES = st.builds(
    lambda day, did, thread: work(
        f"2026-03-{day:02}", did, **({"thread": thread} if thread else {})
    ),
    st.integers(1, 28),
    st.sampled_from(ValveDone),
    st.sampled_from([None, "M25x2", "3/4-14 NPSM"]),
)


@given(st.lists(ENTRIES, max_size=6))
def test_nothing_of_a_valve_is_said_that_no_entry_since_the_last_other_one_says(
    entries: list[ValveWork],
) -> None:
    now = valve_after(CAME, entries)
    ordered = sorted(entries, key=lambda e: e.on.first)
    last = max((n for n, e in enumerate(ordered) if e.is_other), default=None)
    since = ordered if last is None else ordered[last:]
    threads = [e.thread for e in since if e.thread]
    assert now is not None
    assert now.thread == (threads[-1] if threads else CAME.thread if last is None else None)
    assert out_of_order(CAME, entries) is None  # each has its day


def test_a_month_that_hides_which_valve_is_on() -> None:
    day = work("2026-03-09", ValveDone.CHANGED, outlet=Outlet.YOKE)
    month = work("2026-03", ValveDone.CHANGED, outlet=Outlet.M26)
    assert out_of_order(CAME, [day, month]) is month
    assert out_of_order(CAME, [day, work("2026-03", ValveDone.SERVICED)]) is None


def test_every_lubricant_since_a_cleaning() -> None:
    bare = Valve(lubricant="silicone grease")
    safe = work("2026-03-09", ValveDone.SERVICED, lubricant="oxygen-compatible")
    on = PartialDate.parse
    assert lubricants_since(bare, [safe], on("2026-03-09")) == ("oxygen-compatible",)
    assert lubricants_since(bare, [safe], on("2026-03-08")) == (
        "silicone grease",
        "oxygen-compatible",
    )
    other = work("2026-03-10", ValveDone.CHANGED)
    assert lubricants_since(bare, [other], on("2026-03-11")) == ()
