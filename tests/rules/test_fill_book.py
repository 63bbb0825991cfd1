"""The fill book: which fills are in it, what each gave, and what they come to."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from books import GOOD, SETTINGS, TODAY, make_book, with_lines
from changing import replace
from hypothesis import given
from hypothesis import strategies as st

from tankbook.gas import PSI_REFERENCE, Gas, capacity
from tankbook.records.book import Book
from tankbook.records.node import Finding, Where
from tankbook.rules.bank_air import taken
from tankbook.rules.fill_book import (
    FillBook,
    FillsWanted,
    customers_of,
    fill_book,
    people_of,
    positions_of,
    sources_of,
)
from tankbook.units import GaugePressure, PartialDate, Temperature, Volume

FIRST = dt.date(2026, 1, 1)
DOUBLES = {"DB": "cylinders: [A, B]\nisolator: open\nuse: rental\n"}


def line(at: str, cylinder: str = "A", act: str = "fill", **cells: str) -> str:
    """A line at ten o'clock of a day, or at a whole time."""
    moment = at if "T" in at else f"{at}T10:00:00+00:00"
    given = {"from": "500 psi", "to": "3000 psi", "gas": "air", "by": "MV"} if act == "fill" else {}
    said = {k: v for k, v in ({**given, **cells}).items() if v}
    return "; ".join([f"at={moment}; cylinder={cylinder}; act={act}", *map("=".join, said.items())])


def struck(at: str, voids: str, why: str = "wrong card", cylinder: str = "A") -> str:
    return line(at, cylinder, "void", voids=f"{voids}T10:00:00+00:00 {cylinder}", note=why, by="KD")


def book_of(*log: str, sets: dict[str, str] | None = None, **more: Any) -> Book:
    cards = {
        "A": GOOD,
        "B": with_lines(GOOD, serial="K2"),
        "C": with_lines(GOOD, serial="K3", use="customer\nowner: C-0192"),
        "D": with_lines(GOOD, serial="K4", water_volume=None),
    }
    return make_book(cards, sets=sets, log="\n".join(log), **more)


def found(book: Book, **asked: Any) -> FillBook:
    return fill_book(book, FillsWanted(**{"first": FIRST, "last": TODAY, **asked}))


def ids(book: FillBook) -> list[str]:
    return [f.line.cylinder for f in book.fills]


MANY = (
    line("2026-11-01", "A", source="B1+B2", position="P1"),
    line("2026-11-02", "B", by="KD", source="C1", position="P2", gas="nitrox32", o2="32.1 %"),
    line("2026-11-03", "C", by="", source="elsewhere: Harbour Dive"),
    line("2026-11-04", "D", source=""),
    line("2026-11-05", "DB", source="B2", position="P1+P2"),
    line("2026-11-06", "A", "reading", to="2900 psi"),
    line("2026-11-06", "B", "drain", to="0 psi"),
)


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        ({}, ["A", "B", "C", "D", "DB"]),
        ({"first": None}, ["A", "B", "C", "D", "DB"]),
        ({"first": dt.date(2026, 11, 3)}, ["C", "D", "DB"]),
        ({"last": dt.date(2026, 11, 1)}, ["A"]),
        ({"by": "kd"}, ["B"]),
        ({"by": "MV"}, ["A", "D", "DB"]),
        ({"gas": Gas.parse("nitrox32")}, ["B"]),
        ({"gas": Gas.parse("nitrox36")}, []),
        ({"source": "B1"}, ["A"]),
        ({"source": "b2"}, ["A", "DB"]),
        ({"source": "B1+B2"}, ["A"]),
        ({"source": "elsewhere: Harbour Dive"}, ["C"]),
        ({"position": "P1"}, ["A", "DB"]),
        ({"position": "P2"}, ["B", "DB"]),
        ({"customer": "c-0192"}, ["C"]),
        ({"ids": ("A",)}, ["A", "B", "DB"]),  # what went into one side went into both
        ({"ids": ("DB",)}, ["A", "B", "DB"]),
        ({"ids": ("A", "C"), "by": "MV"}, ["A", "DB"]),
    ],
)
def test_which_fills_are_in_it(asked: dict[str, Any], expected: list[str]) -> None:
    assert ids(found(book_of(*MANY, sets=DOUBLES), **asked)) == expected


def test_what_they_come_to() -> None:
    total = found(book_of(*MANY, sets=DOUBLES)).totals
    assert (total.fills, total.cylinders, total.unknown) == (5, 8, 1)
    assert [(s.name, s.fills, s.unknown) for s in total.by_gas] == [
        ("air", 4, 1),
        ("nitrox32", 1, 0),
    ]
    people = [("MV", 3), ("KD", 1), ("not recorded", 1)]
    assert [(s.name, s.fills) for s in total.by_person] == people
    assert [s.name for s in total.by_source] == [
        "B1+B2", "B2", "C1", "elsewhere: Harbour Dive", "not recorded",
    ]  # fmt: skip


def test_what_a_fill_gave_is_what_the_gas_model_says() -> None:
    book = book_of(line("2026-11-01", temperature="60 degF"), line("2026-11-02"))
    for fill, degrees in zip(found(book).fills, (60, 70), strict=True):
        free = [
            capacity(
                Gas.parse("air"), Volume.of(11.1, "L"), GaugePressure.of(p, "psi"),
                Temperature.of(degrees, "degF"), PSI_REFERENCE,
            ).free_gas.cuft
            for p in (3000, 500)
        ]  # fmt: skip
        assert fill.gave is not None
        assert fill.gave.cuft == pytest.approx(free[0] - free[1], rel=1e-9)
    # about the eighty less the rest of an aluminium 80, whose rated capacity is 77.4 cuft
    assert 60 < found(book).fills[1].gave.cuft < 66  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("isolator", "more", "into"),
    [
        ("open", (), ("A", "B")),
        ("shut", (), ("A",)),
        # the gas of both is logged side by side
        ("open", (line("2026-11-01T10:05:00+00:00", "B"),), ("A",)),
        # one after the other, each of both
        (
            "open",
            (line("2026-11-01T12:00:00+00:00", "B", **{"from": "3000 psi", "to": "3100 psi"}),),
            ("A", "B"),
        ),
    ],
)
def test_a_set_gives_to_both_of_its_cylinders(
    isolator: str, more: tuple[str, ...], into: tuple[str, ...]
) -> None:
    """So does a side of it while the isolator stands open: to the book, and out of the bank."""
    log = (line("2026-11-01", "A", source="B1"), *more)
    whole = (line("2026-11-01", "DB", source="B1"),)
    sets = {"DB": DOUBLES["DB"].replace("open", isolator)}
    station = "banks: [{name: B1, water_volume: 48 L, gas: air}]\n"
    books_ = [book_of(*each, sets=sets, station=station) for each in (log, whole)]
    (single, *_), (double,) = (found(each).fills for each in books_)
    assert single.gave is not None
    assert double.gave is not None
    assert double.gave.si == pytest.approx((3 - len(into)) * single.gave.si)
    assert single.cylinders == into
    assert (double.cylinders, double.serials) == (("A", "B"), ("K118204", "K2"))
    one, both = (taken(each, each.log[0]) for each in books_)
    assert one is not None
    assert both == pytest.approx((3 - len(into)) * one)


@pytest.mark.parametrize(
    "cells",
    [
        {"from": ""},
        {"gas": ""},
        {"from": "3100 psi"},
        {"cylinder": "D"},
        {"cylinder": "X-1"},
    ],
)
def test_gas_that_cannot_be_worked_out_is_not_known(cells: dict[str, str]) -> None:
    book = book_of(line("2026-11-01", **{"cylinder": "A", **cells}))
    total = found(book).totals
    assert (total.fills, total.gave, total.unknown) == (1, None, 1)


def test_the_set_of_a_card_that_is_gone_has_a_gas_that_is_not_known() -> None:
    sets = {"DB": "cylinders: [A, Z]\nisolator: open\nuse: rental\n"}
    (fill,) = found(book_of(line("2026-11-01", "DB"), sets=sets)).fills
    assert (fill.cylinders, fill.serials, fill.gave) == (("A", "Z"), ("K118204",), None)


def test_what_is_struck_out_stays_and_counts_nowhere() -> None:
    book = book_of(
        line("2026-11-01", override="regatta (JO)"),
        line("2026-11-02"),
        struck("2026-11-03", "2026-11-01"),
        struck("2026-11-04", "2026-11-01", "once more"),
    )
    first, second = found(book).fills
    assert not first.stands
    assert first.struck is not None
    assert (first.struck.note, first.struck.by) == ("wrong card", "KD")
    assert second.stands
    total = found(book).totals
    assert (total.fills, total.struck_out, total.overrides) == (1, 1, 0)
    assert total.gave == second.gave
    assert [s.fills for s in total.by_source] == [1]


def test_a_line_of_another_cylinder_strikes_nothing_out() -> None:
    book = book_of(
        line("2026-11-01", "A"),
        line("2026-11-02", "B", "void", voids="2026-11-01T10:00:00+00:00 A", note="not mine"),
    )
    assert found(book).totals.struck_out == 0


def test_overrides_and_facts_against_advice_are_counted() -> None:
    book = book_of(
        line("2026-11-01", override="regatta (JO)"),
        line("2026-11-02", note="happened: regulator set too high"),
        line("2026-11-03", note="it happened: no"),
    )
    total = found(book).totals
    assert (total.fills, total.overrides, total.against_advice) == (3, 1, 1)


def test_what_the_bank_can_hardly_have_given_is_told_of_each_fill() -> None:
    station = (
        "banks: [{name: B1, water_volume: 48 L, gas: air,"
        " readings: [{on: 2026-10-31, pressure: 2000 psi}]}]"
    )
    book = book_of(
        line("2026-11-01", to="1500 psi", source="B1"),
        line("2026-11-02", source="B1"),
        line("2026-11-03", source="C1"),
        line("2026-11-04", source="B1"),
        line("2026-11-05", source="B1"),
        struck("2026-11-06", "2026-11-05"),
        station=station,
    )
    book_found = found(book)
    assert [f.line.at.day for f in book_found.fills if f.beyond] == [2, 4]
    assert book_found.totals.above_bank == 2


def test_a_day_is_the_local_one_of_its_line() -> None:
    book = book_of(
        line("2026-10-31T23:30:00-05:00", "A"),  # 04:30 of the first in UTC
        line("2026-11-01T00:30:00+11:00", "B"),  # 13:30 of the day before in UTC
    )
    nov = found(book, first=dt.date(2026, 11, 1))
    assert ids(nov) == ["B"]
    assert [(str(m.month), ids_of(m)) for m in found(book, first=dt.date(2026, 10, 1)).months] == [
        ("2026-10", ["A"]),
        ("2026-11", ["B"]),
    ]


def ids_of(month: Any) -> list[str]:
    return [f.line.cylinder for f in month.fills]


def test_every_month_of_the_time_has_its_page_also_one_without_fills() -> None:
    book = book_of(line("2026-08-05"), line("2026-10-05"), line("2026-10-06", "B"))
    months = found(book, first=dt.date(2026, 8, 2), last=dt.date(2026, 10, 31)).months
    assert [(str(m.month), m.totals.fills, m.whole) for m in months] == [
        ("2026-08", 1, False), ("2026-09", 0, True), ("2026-10", 2, True),
    ]  # fmt: skip
    assert (months[0].first, months[0].last) == (dt.date(2026, 8, 2), dt.date(2026, 8, 31))
    empty = found(book_of(), first=None)
    assert [m.month for m in empty.months] == [PartialDate(2026, 11)]


def test_a_file_of_the_log_that_cannot_be_read_is_named() -> None:
    faults = (
        Finding(Where("fills/2025.csv", 3, 1), "x", "y"),
        Finding(Where("station.yaml"), "x", "y"),
    )
    book = make_book({"A": GOOD}, log=line("2026-11-01"))
    assert found(replace(book, findings=faults)).unread == ("fills/2025.csv",)


def test_what_there_is_to_ask_for() -> None:
    station = """
banks: [{name: B9, water_volume: 48 L, gas: air}]
compressor: {name: C9}
positions: [{name: P9, kind: enclosed}]
"""
    book = book_of(*MANY, sets=DOUBLES, station=station)
    assert people_of(book) == ("MV", "KD")
    assert sources_of(book) == ("B9", "C9", "B1", "B2", "C1", "elsewhere: Harbour Dive")
    assert positions_of(book) == ("P9", "P1", "P2")
    assert customers_of(book) == ("C-0192",)


def test_an_empty_ledger_has_an_empty_book() -> None:
    book = found(make_book({}), first=None)
    assert (book.fills, book.totals.fills, book.totals.gave) == ((), 0, None)
    assert book.first == TODAY


@given(
    st.lists(
        st.tuples(
            st.integers(1, 25), st.sampled_from("ABCD"), st.sampled_from(["MV", "KD", ""]),
            st.sampled_from(["B1", "B1+B2", ""]), st.sampled_from(["air", "nitrox32", ""]),
        ),
        max_size=12,
    )
)  # fmt: skip
def test_the_shares_add_up_to_the_whole(rows: list[tuple[int, str, str, str, str]]) -> None:
    log = [
        line(f"2026-11-{day:02}T10:00:{n:02}+00:00", id_, by=by, source=source, gas=gas)
        for n, (day, id_, by, source, gas) in enumerate(rows)
    ]
    total = found(book_of(*log)).totals
    for shares in (total.by_gas, total.by_person, total.by_source):
        assert sum(s.fills for s in shares) == total.fills == len(rows)
        assert sum(s.unknown for s in shares) == total.unknown
        gave = sum(s.gave.si for s in shares if s.gave)
        assert gave == pytest.approx(total.gave.si if total.gave else 0.0)
    each = [found(book_of(*log), by=by).totals.fills for by in ("MV", "KD")]
    assert sum(each) == sum(by != "" for _, _, by, _, _ in rows)


def test_settings_in_bar_count_litres() -> None:
    book = book_of(line("2026-11-01"), settings=SETTINGS.replace("psi", "bar"))
    total = found(book).totals
    assert total.gave is not None
    assert total.gave.unit == "L"


def test_initials_and_sources_in_letters_of_either_case_are_the_same() -> None:
    lines = "\n".join(
        f"at=2026-11-{day}T10:00:00+00:00; cylinder=A; act=fill; from=500 psi; to=3000 psi;"
        f" gas=air; by={by}; source={source}"
        for day, by, source in ((20, "MV", "B1"), (21, "mv", "b1"), (22, "KD/MV", "B1"))
    )
    made = make_book({"A": GOOD}, log=lines)
    found = fill_book(made, FillsWanted(None, TODAY, by="mv"))
    assert len(found.fills) == 3
    assert [(s.name, s.fills) for s in found.totals.by_person] == [("MV", 2), ("KD/MV", 1)]
    assert [(s.name, s.fills) for s in found.totals.by_source] == [("B1", 3)]


@pytest.mark.parametrize(("asked", "fills"), [("C-1", 1), ("c-2", 1), ("C-1 + C-2", 1), ("C-3", 0)])
def test_a_set_of_two_owners_is_of_each(asked: str, fills: int) -> None:
    cards = {
        n: with_lines(GOOD, serial=f"K{n}", use="customer", owner=owner)
        for n, owner in (("A", "C-1"), ("B", "C-2"))
    }
    line = "at=2026-11-20T10:00:00+00:00; cylinder=D; act=fill; to=3000 psi; gas=air; by=MV"
    made = make_book(cards, sets={"D": "cylinders: [A, B]\n"}, log=line)
    assert len(fill_book(made, FillsWanted(None, TODAY, customer=asked)).fills) == fills


@pytest.mark.parametrize(
    ("stands", "listed"),
    [
        ("isolator: open", {"A": ["B"], "B": ["B"], "DB": ["B"]}),
        ("isolator: shut", {"A": [], "B": ["B"], "DB": []}),
        ("isolator: shut\nisolator_since: 2026-11-10", {"A": ["B"], "B": ["B"], "DB": ["B"]}),
        ("isolator: shut\nisolator_since: 2026-11-10\nisolator_at: 09:00",
         {"A": [], "B": ["B"], "DB": []}),
    ],
)  # fmt: skip
def test_what_went_in_through_an_open_isolator_is_a_fill_of_the_other_side_and_of_the_set(
    stands: str, listed: dict[str, list[str]]
) -> None:
    made = book_of(
        line("2026-11-10", "B"), sets={"DB": DOUBLES["DB"].replace("isolator: open", stands)}
    )
    assert {id_: ids(found(made, ids=(id_,))) for id_ in listed} == listed
