"""In whose hands a cylinder was, by the hour of an incident."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from books import GOOD, make_book, typed
from changing import replace

from tankbook.records.book import Book
from tankbook.records.counter import CounterFile
from tankbook.rules.in_hands import NOBODY
from tankbook.rules.incident import book_then, cylinder_then

ON = dt.date(2026, 11, 25)
READ = "analysed: {oxygen: 32 %, depth: 30 m, initials: ZZ}"
RENTED = "rented:\n  - {{on: 2026-11-2{n}, by: MV, to: B-7, until: 2026-11-25, {read}{back}}}\n"
BACK = ", back: 2026-11-25, pressure: 600 psi, valve: closed, damage: knock at the foot"
SEEN = "certified: [{on: 2026-11-24, by: MV, reference: B-7, level: nitrox}]\n"
LOG = (
    "at=2026-11-25T11:00:00+00:00; cylinder={id}; act=reading; to=3000 psi; by=MV; "
    "note=going out\n"
    "at=2026-11-25T15:00:00+00:00; cylinder={id}; act=reading; to=600 psi; by=MV; "
    "note=back from B-7\n"
)
LENT = (
    "out on rental{whole} 2026-11-25 11:00 to B-7; user's own analysis: 32 % oxygen, to 30 m, ZZ; "
)
TRAINED = "training seen: nitrox, 2026-11-24 by MV"
CAME = "back 2026-11-25 15:00 at 600 psi, valve closed, DAMAGE: knock at the foot"


def seen(cards: dict[str, str], **more: Any) -> Book:
    """A book in which B-7 was seen to be trained."""
    return replace(make_book(cards, **more), counter=typed(CounterFile, SEEN, "counter.yaml"))


def rented(n: int = 5, back: str = BACK) -> str:
    return RENTED.format(n=n, read=READ, back=back)


@pytest.mark.parametrize("whole", [False, True])
@pytest.mark.parametrize(
    ("at", "ends", "shows"),
    [("16:00", CAME, "600 psi"), ("14:59", "not back; due 2026-11-25", "3000 psi"),
     ("", CAME, "600 psi")],
)  # fmt: skip
def test_who_had_it_last_is_kept_with_all_that_was_said_and_nothing_later(
    whole: bool, at: str, ends: str, shows: str
) -> None:
    other = GOOD.replace("K118204", "K118205")
    book = seen(
        {"RB-014": GOOD + ("" if whole else rented()), "RB-015": other},
        sets={"DB-02": f"cylinders: [RB-014, RB-015]\nisolator: open\n{rented()}"} if whole else {},
        log=LOG.format(id="DB-02" if whole else "RB-014"),
    )
    then = book_then(book, ON, dt.time.fromisoformat(at) if at else None)
    for id_ in ("RB-014", "RB-015") if whole else ("RB-014",):
        got = cylinder_then(then, id_, None)
        lent = LENT.format(whole=" in set DB-02" if whole else "")
        assert got.handed == (f"{lent}{TRAINED}; {ends}",)
        assert str(got.pressure) == shows


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("", (NOBODY,)),
        (
            "use: sale\nhanded_over: [{on: 2026-11-20, by: MV, to: B-7, " + READ + "}]\n",
            (f"sold 2026-11-20 to B-7; user's own analysis: 32 % oxygen, to 30 m, ZZ; {TRAINED}",),
        ),
        (
            "owner: C-9\njobs: [{on: 2026-11-19, by: MV, work: [fill], ready: 2026-11-20, "
            "collected: 2026-11-20}]\n",
            ("collected by its owner 2026-11-20, C-9; no analysis by its user on record; "
             "no training on record",),
        ),
        (
            "rented: [{on: 2026-11-20, by: MV, to: B-1, back: 2026-11-21, void: "
            "{on: 2026-11-21, by: MV, why: wrong card}}]\n",
            (NOBODY,),
        ),
    ],
)  # fmt: skip
def test_sales_and_collections_are_told_and_what_was_struck_out_is_not(
    said: str, told: tuple[str, ...]
) -> None:
    good = GOOD.replace("use: rental\n", "") if "use:" in said else GOOD
    book = seen({"RB-014": good + said})
    assert cylinder_then(book_then(book, ON, None), "RB-014", None).handed == told


def test_the_newest_hand_comes_first() -> None:
    many = "rented:\n" + "".join(
        f"  - {{on: 2026-11-{n}, by: MV, to: B-{n}, back: 2026-11-{n}, pressure: 900 psi}}\n"
        for n in (10, 12, 14)
    )
    got = cylinder_then(book_then(make_book({"RB-014": GOOD + many}), ON, None), "RB-014", None)
    assert [each.split(";")[0].rpartition(" ")[2] for each in got.handed] == ["B-14", "B-12"]


@pytest.mark.parametrize(
    "said",
    [
        "rented: [{on: 2026-11-25, by: MV, to: B-1}]\n",
        "handed_over: [{on: 2026-11-25, by: MV, to: B-1}]\n",
        "jobs: [{on: 2026-11-19, by: MV, work: [fill], collected: 2026-11-25}]\n",
    ],
)
def test_of_the_day_itself_it_is_said_that_no_hour_is_on_record(said: str) -> None:
    book = make_book({"RB-014": GOOD + said})
    got = cylinder_then(book_then(book, ON, dt.time(11)), "RB-014", None).handed
    assert "2026-11-25 (its hour not on record)" in got[0]
