"""Which fills that were read again tell of the heat, and why the others do not. All are invented."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, STATION, TODAY, make_book, with_lines
from loglines import line

from tankbook.filling.read_again import FillReadAgain, NotCounted, read_again
from tankbook.filling.size_heat import heat_of_kinds, told_by_size
from tankbook.records.book import Book
from tankbook.records.log import FillTook, took

HERE = (
    STATION
    + """
ambient: 68 degF
fill_rate: 400 psi/min
banks:
  - {name: B1, water_volume: 50 L, working_pressure: 4500 psi, gas: air,
     readings: [{on: 2026-11-01, pressure: 4000 psi, by: MV}]}
compressor: {name: C1}
"""
)


def filled(on: str, cylinder: str = "A", **cells: str) -> str:
    """A fill as it stops, warm: no temperature is written."""
    given = {"from": "500 psi", "to": "2990 psi", "gas": "air", "source": "B1"} | cells
    return line(on, "fill", cylinder, **{k: v for k, v in given.items() if v})


def read(on: str, to: str = "2740 psi", cylinder: str = "A", **cells: str) -> str:
    return line(on, "reading", cylinder, to=to, **cells)


def book_of(*log: str, station: str = HERE, sets: dict[str, str] | None = None, **card: str | None) -> Book:  # fmt: skip
    cards = {"A": with_lines(GOOD, **card), "B": with_lines(GOOD, serial="K2")}
    return make_book(cards, log="\n".join(log), station=station, sets=sets)


def found(*log: str, **more: str | None) -> list[FillReadAgain]:
    return list(read_again(book_of(*log, **more), TODAY, ["A"]))  # type: ignore[arg-type]


FILL, NEXT_DAY = filled("2026-11-02"), read("2026-11-03")
SOON = "at=2026-11-02T10:19:00+00:00; cylinder=A; act=reading; to=2880 psi; by=MV"

CASES: list[tuple[str, list[str], list[NotCounted | None]]] = [
    ("next morning", [FILL, NEXT_DAY], [None]),
    ("half an hour later", [FILL, read("2026-11-02T11", "2830 psi")], [None]),
    ("nobody read it", [FILL], []),
    ("the next fill is no reading", [FILL, filled("2026-11-05")], []),
    ("read too soon alone", [FILL, SOON], [NotCounted.TOO_SOON]),
    ("read too soon, and again", [FILL, SOON, NEXT_DAY], [None]),
    ("twenty minutes are enough", [FILL, SOON.replace("10:19", "10:20")], [None]),
    ("a month and more", [filled("2026-09-01"), read("2026-10-03")], [NotCounted.TOO_LATE]),
    ("a month", [filled("2026-09-01"), read("2026-10-01")], [None]),
    ("only the first reading", [FILL, NEXT_DAY, read("2026-11-05")], [None]),
    ("filled again", [FILL, SOON, filled("2026-11-03", from_="2700 psi"), read("2026-11-04")],
     [NotCounted.FILLED_AGAIN, None]),
    ("drained", [FILL, SOON, line("2026-11-02T11", "drain", to="1000 psi"), NEXT_DAY],
     [NotCounted.FILLED_AGAIN]),
    ("begun with nobody knows what", [filled("2026-11-02", **{"from": ""}), NEXT_DAY],
     [NotCounted.FROM_UNKNOWN]),
    ("cold when it was read", [filled("2026-11-02", temperature="68 degF"), NEXT_DAY],
     [NotCounted.COLD]),
    ("helium", [filled("2026-11-02", gas="trimix18/45"), NEXT_DAY], [NotCounted.HELIUM]),
    ("no gas", [filled("2026-11-02", gas=""), NEXT_DAY], [NotCounted.HELIUM]),
    ("nitrox", [filled("2026-11-02", gas="nitrox32"), NEXT_DAY], [None]),
    ("against advice", [filled("2026-11-02", note="happened: regulator crept"), NEXT_DAY],
     [NotCounted.AGAINST_ADVICE]),
    ("elsewhere", [filled("2026-11-02", source="elsewhere: Northside"), NEXT_DAY],
     [NotCounted.ELSEWHERE]),
    ("out of another cylinder", [filled("2026-11-02", source="B"), NEXT_DAY],
     [NotCounted.ELSEWHERE]),
    ("still warm from before",
     [filled("2026-11-02T08", to="2000 psi"), filled("2026-11-02", from_="1900 psi"), NEXT_DAY],
     [NotCounted.WARM_BEFORE]),
    ("bled right after", [FILL, "at=2026-11-02T10:00:01+00:00; cylinder=A; act=drain; from=2990 psi; "
     "to=2900 psi; by=MV", NEXT_DAY], []),
    ("empty", [FILL, read("2026-11-03", "0 psi")], [NotCounted.EMPTY]),
    ("leaks as it stands on", [FILL, read("2026-11-03", "2700 psi"), read("2026-11-08", "2300 psi")],
     [NotCounted.LEAKS]),
    ("struck out", [FILL, NEXT_DAY, line("2026-11-04", "void", voids="2026-11-03T10:00:00+00:00 A")],
     []),
]  # fmt: skip


@pytest.mark.parametrize(("name", "log", "whys"), CASES, ids=[name for name, *_ in CASES])
def test_which_count(name: str, log: list[str], whys: list[NotCounted | None]) -> None:
    assert [each.why for each in found(*log)] == whys


def test_the_order_of_the_lines_does_not_matter() -> None:
    log = [FILL, NEXT_DAY, filled("2026-11-05"), read("2026-11-06")]
    straight, mixed = (
        [(f.filled.at, f.minutes, f.why) for f in found(*each)] for each in (log, log[::-1])
    )
    assert straight == mixed
    assert len(straight) == 2


OUT = "[{on: 2026-11-02, to: C-1, back: 2026-11-03, pressure: 2740 psi}]"
AFTER = "[{on: 2026-11-03, to: C-1, back: 2026-11-05, pressure: 900 psi}]"
LOOKED = """
  - {on: 2026-02-09, by: MV, checklist: annual, result: pass, sticker: issued}
  - {on: 2026-11-03, at: "09:00", by: MV, checklist: annual, result: pass, sticker: issued}"""


@pytest.mark.parametrize(
    ("card", "why"),
    [
        ({"rented": OUT}, NotCounted.AWAY),
        ({"rented": AFTER}, None),
        ({"use": "customer"}, NotCounted.CUSTOMERS),
        ({"owner": "C-0192"}, NotCounted.CUSTOMERS),
        ({"use": "staff"}, None),
        ({"inspected": LOOKED}, NotCounted.OPENED),
        (
            {"sent": "[{on: 2026-11-02, to: Northside, for: requalification, back: 2026-11-03}]"},
            NotCounted.OPENED,
        ),
    ],
)
def test_what_came_between(card: dict[str, str], why: NotCounted | None) -> None:
    (only,) = found(FILL, NEXT_DAY, **card)
    assert only.why is why


def test_a_set_is_read_as_a_set() -> None:
    doubles = {"D": "cylinders: [A, B]\nmanifold: isolation\n"}
    book = book_of(filled("2026-11-02", "D"), read("2026-11-03", cylinder="D"), sets=doubles)
    (only,) = read_again(book, TODAY, ["D"])
    assert only.why is None
    (kind,) = heat_of_kinds(book, TODAY)
    assert (kind.kind.sides, kind.kind.litres) == (2, 11)
    # a side filled by itself between ends it
    side = filled("2026-11-02T12", "A", **{"from": "2900 psi"})
    book = book_of(filled("2026-11-02", "D"), side, read("2026-11-03", cylinder="D"), sets=doubles)
    assert list(read_again(book, TODAY, ["D"])) == []


def test_a_reading_of_later_than_today_is_not_known() -> None:
    assert list(read_again(book_of(FILL, NEXT_DAY), dt.date(2026, 11, 2), ["A"])) == []


# --- what goes into the fit


def whys(*log: str, **more: str) -> list[NotCounted | None]:
    (kind,) = heat_of_kinds(book_of(*log, **more), TODAY)
    return [each.why for each in kind.fills]


@pytest.mark.parametrize(
    ("degrees", "why"),
    [("68 degF", None), ("72 degF", None), ("", None), ("90 degF", NotCounted.ROOM_OR_WALL)],
)
def test_a_warm_cylinders_temperature_may_be_its_own(degrees: str, why: NotCounted | None) -> None:
    cells = {"temperature": degrees} if degrees else {}
    assert whys(FILL, read("2026-11-02T11", "2830 psi", **cells)) == [why]
    assert whys(FILL, read("2026-11-03", "2740 psi", **cells)) == [None]


@pytest.mark.parametrize(
    ("read_", "why"),
    [("2740 psi", None), ("2550 psi", None), ("2100 psi", NotCounted.USED),
     ("300 psi", NotCounted.USED), ("3290 psi", NotCounted.MORE)],
)  # fmt: skip
def test_what_heat_cannot_be(read_: str, why: NotCounted | None) -> None:
    assert whys(FILL, read("2026-11-03", read_)) == [why]


def test_fills_that_were_logged_cold_tell_nothing() -> None:
    """Nor do they keep a wrong figure among them from being told as that."""
    days = [f"2026-{month:02}-{day:02}" for month in (8, 9, 10) for day in range(1, 28, 2)]
    log = [line for d in days for line in (filled(d, to="2990 psi"), read(f"{d}T20", "2980 psi"))]
    log += [filled("2026-11-02"), read("2026-11-03", "300 psi")]
    assert set(whys(*log)) == {NotCounted.COOL, NotCounted.OLDER, NotCounted.USED}


def test_a_water_bath_tells_nothing_of_still_air() -> None:
    assert whys(FILL, NEXT_DAY, station=HERE + "water_bath: yes\n") == [NotCounted.WATER]


def test_a_pressure_beyond_the_gas_model_is_no_fault() -> None:
    log = [filled("2026-11-02", to="9800 psi"), read("2026-11-03", "9000 psi")]
    assert whys(*log) == [NotCounted.NO_MODEL]


def test_one_pressure_beyond_the_gas_model_spoils_no_other() -> None:
    high = [filled("2026-11-02", to="9800 psi"), read("2026-11-03", "9000 psi")]
    assert whys(*high, filled("2026-11-10"), read("2026-11-11")) == [NotCounted.NO_MODEL, None]


def test_a_log_in_other_units_tells_the_same() -> None:
    bare = HERE.replace("fill_rate: 400 psi/min\n", "")
    psi, other = (
        told_by_size(book_of(filled("2026-11-02", **{"from": a, "to": b}),
                             read("2026-11-03", c), station=bare), TODAY, "psi")[0].size
        for a, b, c in (("500 psi", "2990 psi", "2740 psi"), ("3.447 MPa", "20.615 MPa", "18892 kPa"))
    )  # fmt: skip
    assert other.fills == psi.fills == 1
    assert other.inner == pytest.approx(psi.inner, rel=0.01)


@pytest.mark.parametrize("rate", ["0 psi/min", "0.001 psi/min", "1000000 psi/min"])
def test_an_odd_fill_rate_is_no_fault(rate: str) -> None:
    assert len(whys(FILL, NEXT_DAY, station=HERE.replace("400 psi/min", rate))) == 1


def test_a_compressor_alone_takes_its_time() -> None:
    """At 4 cuft/min it takes some sixteen minutes, not six: to be as warm in the end, gas and wall
    must have met less than those of a quick fill."""
    made = HERE.replace("name: C1", "name: C1, delivery: 4 cuft/min")

    def inner(source: str) -> float:
        log = filled("2026-11-02", source=source), read("2026-11-03", "2740 psi")
        (told,) = told_by_size(book_of(*log, station=made), TODAY, "psi")
        return told.size.inner

    assert inner("C1") < inner("B1") == inner("B1+C1")


def test_a_fill_from_nothing_counts() -> None:
    assert whys(filled("2026-11-02", **{"from": "0 psi"}), read("2026-11-03", "2700 psi")) == [None]


def test_a_few_bar_more_weigh_little() -> None:
    """A topping off says next to nothing of the heat, and does no harm."""
    (told,) = told_by_size(
        book_of(filled("2026-11-02", **{"from": "2980 psi"}), read("2026-11-03", "2950 psi")),
        TODAY, "psi",
    )  # fmt: skip
    assert told.size.fills == 1
    assert told.size.inner == pytest.approx(150, rel=0.03)
    assert told.size.told == ()


def test_only_the_newest_of_many_count() -> None:
    days = [dt.date(2026, 3, 1) + dt.timedelta(days=n) for n in range(100)]
    log = [filled(str(d)) if n % 2 == 0 else read(str(d)) for n, d in enumerate(days)]
    told = whys(*log)
    assert told == [NotCounted.OLDER] * 10 + [None] * 40


def test_each_size_and_material_is_told_apart() -> None:
    cards = {
        "A": GOOD,
        "B": with_lines(GOOD, serial="K2"),
        "S": with_lines(GOOD, serial="K3", material="steel", water_volume="12 L"),
        "P": with_lines(GOOD, serial="K4", water_volume="2.7 L"),
    }
    log = [
        x for id_ in cards for x in (filled("2026-11-02", id_), read("2026-11-03", cylinder=id_))
    ]
    book = make_book(cards, log="\n".join(log), station=HERE)
    told = {str(each.size.kind): each.size for each in told_by_size(book, TODAY, "psi")}
    assert {name: (size.fills, size.ids) for name, size in told.items()} == {
        "11 L aluminium": (2, ("A", "B")),
        "3 L aluminium": (1, ("P",)),
        "12 L steel": (1, ("S",)),
    }


@pytest.mark.parametrize(
    ("note", "expected"),
    [
        ("looked over; filled in 7.7 min, held for 2.0 min", FillTook(7.7, 2.0)),
        ("filled in 6 min", FillTook(6.0, 0.0)),
        ("filled in 7.7 min, held for 2.0 min by the plan", FillTook(7.7, 2.0)),
        ("filled in 6 min, held for 9 min", FillTook(6.0, 6.0)),
        ("filled in 0 min", None),
        ("filled in 99999 min", None),
        ("filled in a hurry", None),
        ("", None),
        (None, None),
    ],
)
def test_how_long_it_took_stands_in_its_note(note: str | None, expected: FillTook | None) -> None:
    assert took(note) == expected
    if expected is not None:
        assert took(expected.said) == expected
