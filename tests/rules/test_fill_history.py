"""What a cylinder holds, where it stands and how large it is."""

from __future__ import annotations

import pytest
from books import GOOD, TODAY, make_book, with_lines

from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.words import Status
from tankbook.rules.fill_history import contents_of, lines_by_cylinder, sides_of
from tankbook.rules.gate import may_fill
from tankbook.rules.status import status_of
from tankbook.rules.volume import size_word, water_volume_of

FILL = "at=2026-11-01T10:00:00+00:00; cylinder=A; act=fill; from=500 psi; to=3000 psi; temperature=70 degF; gas=air; by=MV; source=B1"
READ = "at=2026-11-05T10:00:00+00:00; cylinder=A; act=reading; to=1200 psi; by=MV"
DRAIN = "at=2026-11-06T10:00:00+00:00; cylinder=A; act=drain; to=0 psi; by=MV"
VOID = "at=2026-11-07T10:00:00+00:00; cylinder=A; act=void; voids=2026-11-05T10:00:00+00:00 A; note=wrong cylinder; by=MV"


@pytest.mark.parametrize(
    ("log", "gas", "pressure"),
    [
        ([], None, None),
        ([FILL], "air", "3000 psi"),
        ([FILL, READ], "air", "1200 psi"),
        ([READ, FILL], "air", "1200 psi"),
        ([FILL, READ, VOID], "air", "3000 psi"),
        ([FILL, READ, DRAIN], None, "0 psi"),
    ],
)
def test_contents(log: list[str], gas: str | None, pressure: str | None) -> None:
    held = contents_of(make_book({"A": GOOD}, log="\n".join(log)), "A")
    assert (held.gas and str(held.gas), held.pressure and str(held.pressure)) == (gas, pressure)


def test_a_return_replaces_the_pressure_not_the_gas() -> None:
    text = with_lines(
        GOOD, rented="[{on: 2026-11-02, to: B-1, back: 2026-11-03, pressure: 700 psi}]"
    )
    held = contents_of(make_book({"A": text}, log=FILL), "A")
    assert (str(held.gas), str(held.pressure), held.fills) == ("air", "700 psi", 1)


def test_a_set_and_its_sides_hold_what_the_set_was_filled_with() -> None:
    two = {"A": GOOD, "B": with_lines(GOOD, serial="K2")}
    book = make_book(
        two, sets={"D": "cylinders: [A, B]"}, log=FILL.replace("cylinder=A", "cylinder=D")
    )
    assert [str(contents_of(book, i).pressure) for i in ("D", "A", "B")] == ["3000 psi"] * 3


def test_struck_out_lines_are_not_counted() -> None:
    book = make_book({"A": GOOD}, log="\n".join([FILL, READ, VOID]))
    assert [line.act for line in lines_by_cylinder(book)["A"]] == ["fill"]


@pytest.mark.parametrize(
    ("changes", "status"),
    [
        ({"status": None}, Status.IN_SERVICE),
        ({"status": None, "inspected": None}, Status.AWAITING_INSPECTION),
        ({"status": "in-service", "held": "[{on: 2026-03-01, why: dent}]"}, Status.HELD),
        ({"held": "[{on: 2026-03-01, why: dent, released: 2026-03-02}]"}, Status.IN_SERVICE),
        ({"held": "[{on: 2026-03-01, why: dent, void: {why: x, by: MV, on: 2026-03-01}}]"}, Status.IN_SERVICE),
        ({"held": "[{on: 2026-03-01, why: dent}]", "condemned": "[{on: 2026-03-02, why: burst}]"}, Status.CONDEMNED),
        ({"sent": "[{on: 2026-03-01, to: N, for: repair}]"}, Status.AT_REPAIR),
        ({"status": None, "jobs": "[{on: 2026-03-01, work: [fill], state: ready}]"}, Status.AWAITING_COLLECTION),
    ],
)  # fmt: skip
def test_standing(changes: dict[str, str | None], status: Status) -> None:
    book = make_book({"A": with_lines(GOOD, **changes)})
    assert status_of(book, book.cylinders["A"]) is status


def test_as_known_on_forgets_the_status_with_the_entry() -> None:
    import datetime as dt

    text = with_lines(GOOD, status="condemned", condemned="[{on: 2026-11-01, why: burst}]")
    book = make_book({"A": text})
    for day, status in (
        (dt.date(2026, 10, 1), Status.IN_SERVICE),
        (TODAY, Status.CONDEMNED),
    ):
        then = book.as_known_on(day)
        assert status_of(then, then.cylinders["A"]) is status


@pytest.mark.parametrize(
    ("changes", "litres", "basis"),
    [
        ({}, 11.1, "as recorded"),
        ({"water_volume": None, "size": "al80"}, 11.1, "nominal for trade size al80"),
        # (3000 + 14.696)/14.696 x V = 77.4 cuft gives 10.68 L; the real-gas figure gives more
        ({"water_volume": None, "rated": "77.4 cuft at 3000 psi (ideal)"}, 10.684, "ideal gas"),
        ({"water_volume": None, "rated": "77.4 cuft at 3000 psi (real)"}, 11.03, "real gas"),
    ],
)  # fmt: skip
def test_water_volume_says_where_it_comes_from(
    changes: dict[str, str | None], litres: float, basis: str
) -> None:
    """The textbook's 673 cuin aluminium 80 holds 79.87 cuft ideal, 77.39 cuft real (computed: CoolProp)."""
    book = make_book({"A": with_lines(GOOD, **changes)})
    got = water_volume_of(book, book.cylinders["A"])
    assert got is not None
    assert got.volume.litres == pytest.approx(litres, rel=2e-3)
    assert basis in got.basis


def test_no_volume_is_no_volume() -> None:
    book = make_book({"A": with_lines(GOOD, water_volume=None)})
    assert water_volume_of(book, book.cylinders["A"]) is None
    assert size_word(book, book.cylinders["A"]) == "size not recorded"


def test_a_fill_on_the_day_of_the_return_is_not_undone_by_it() -> None:
    text = with_lines(
        GOOD, rented="[{on: 2026-11-02, to: B-1, back: 2026-11-03, pressure: 700 psi}]"
    )
    back = "at=2026-11-03T10:00:00+00:00; cylinder=A; act=reading; to=700 psi; by=MV"
    fill = FILL.replace("11-01T10", "11-03T15")
    assert str(contents_of(make_book({"A": text}, log=back), "A").pressure) == "700 psi"
    assert str(contents_of(make_book({"A": text}, log=f"{back}\n{fill}"), "A").pressure) == (
        "3000 psi"
    )


def in_doubles(log: str, **keys: str) -> Book:
    two = {"A": GOOD, "B": with_lines(GOOD, serial="K2")}
    given = "".join(f"\n{k}: {v}" for k, v in keys.items())
    return make_book(two, sets={"D": f"cylinders: [A, B]{given}"}, log=log)


def test_a_set_back_from_rental_tells_its_sides_too() -> None:
    rented = "[{on: 2026-11-02, to: B-1, back: 2026-11-03, pressure: 700 psi}]"
    book = in_doubles(FILL.replace("cylinder=A", "cylinder=D"), rented=rented)
    assert [str(contents_of(book, i).pressure) for i in ("D", "A", "B")] == ["700 psi"] * 3


def test_with_the_isolator_shut_each_side_has_its_own_reading() -> None:
    log = "\n".join([FILL.replace("cylinder=A", "cylinder=D"), READ])
    book = in_doubles(log, isolator="shut")
    sides = [(n, str(c.pressure)) for n, c in sides_of(book, book.sets["D"])]
    assert sides == [("A", "1200 psi"), ("B", "3000 psi")]
    assert str(contents_of(book, "D").pressure) == "1200 psi"


def test_sides_that_hold_different_gases_make_no_gas_of_the_set() -> None:
    other = FILL.replace("gas=air", "gas=nitrox32; o2=32 %; analysed_by=MV").replace("=A", "=B")
    book = in_doubles(f"{FILL}\n{other}", isolator="shut")
    assert contents_of(book, "D").gas is None


def test_a_set_that_is_out_is_not_filled_nor_is_either_side() -> None:
    book = in_doubles("", rented="[{on: 2026-11-02, to: B-1}]")
    for id_ in ("A", "B", "D"):
        texts = [r.text for r in may_fill(book, id_, TODAY).refusals]
        assert any("it is out in doubles, to B-1" in text for text in texts)


def test_a_set_read_empty_and_filled_with_ordinary_air_says_so_of_its_sides() -> None:
    empty = READ.replace("cylinder=A", "cylinder=D").replace("1200 psi", "0 psi")
    codes = {r.code for r in may_fill(in_doubles(empty), "A", TODAY).refusals}
    assert "returned-empty" in codes
    two = {
        n: with_lines(GOOD, serial=s, service="oxygen", cleaned="[{on: 2026-10-01, to: oxygen}]")
        for n, s in (("A", "K1"), ("B", "K2"))
    }
    book = make_book(two, sets={"D": "cylinders: [A, B]"}, log=FILL.replace("=A", "=D"))
    codes = {r.code for r in may_fill(book, "A", TODAY, Gas.parse("nitrox40")).refusals}
    assert "oxygen-clean-lost" in codes


FULLER = "at=2026-11-05T10:00:00+00:00; cylinder=A; act=reading; to=%s psi; by=MV"
LOW = "at=2026-11-03T10:00:00+00:00; cylinder=A; act=reading; to=400 psi; by=MV"
TOPPED = "at=2026-11-06T10:00:00+00:00; cylinder=A; act=fill; from=%s psi; to=3000 psi; temperature=70 degF; gas=air; by=MV; source=B1"


@pytest.mark.parametrize(
    ("log", "gas"),
    [
        ([FILL, LOW, FULLER % "2700"], None),
        ([FILL, LOW, FULLER % "2700", TOPPED % "2700"], None),  # most of it is somebody else's
        ([FILL, LOW, FULLER % "2700", TOPPED % "2700" + "; o2=20.9 %; analysed_by=MV"], "air"),
        ([FILL, LOW, FULLER % "2700", TOPPED % "0"], "air"),
        ([FILL, LOW, FULLER % "420", TOPPED % "420"], "air"),
        ([FILL, LOW, FULLER % "2700", TOPPED % "2700", (TOPPED % "2900").replace("-06", "-07")], None),
    ],
)  # fmt: skip
def test_a_fill_on_gas_that_nobody_knows_makes_it_no_better_known(
    log: list[str], gas: str | None
) -> None:
    held = contents_of(make_book({"A": GOOD}, log="\n".join(log)), "A")
    assert (held.gas and str(held.gas)) == gas
