"""One cylinder under two ids in two books of a ledger, and two cylinders under one."""

from __future__ import annotations

import pytest
from books import GOOD, make_book

from tankbook.rules.known_as import known_as, with_sides
from tests.support.changed import replace

Cards = dict[str, str]
MAKER = "Example Cylinder Co"


def card(serial: str, *formerly: str, maker: str = MAKER) -> str:
    said = f"formerly: [{', '.join(formerly)}]\n" if formerly else ""
    return said + GOOD.lstrip().replace("K118204", serial).replace(MAKER, maker)


ONE, TWO = card("F20411"), card("Z77001")
ANOTHERS = card("F20411", maker="Another Works").replace("[DOT-3AL, TC-3ALM]", "[DOT-3AA]")


@pytest.mark.parametrize(
    ("here", "there", "asked", "found"),
    [
        ({"A": ONE}, {"A": ONE, "B": TWO}, "A", ("A",)),
        ({"B": card("F20411", "A")}, {"A": ONE}, "B", ("A",)),
        ({"A": ONE}, {"B": card("F20411", "A")}, "A", ("B",)),
        ({"B": ONE}, {"A": ONE}, "B", ("A",)),
        ({"B": ONE}, {"A": card("F2O411")}, "B", ("A",)),
        ({"B": ONE}, {"A": card("F2?411")}, "B", ("A",)),
        ({"B": card("F2?411")}, {"A": ONE}, "B", ("A",)),
        ({"B": ONE}, {"A": ANOTHERS}, "B", ()),
        ({"B": card("F20411", "A")}, {"A": card("F20412")}, "B", ("A",)),  # typed anew
        ({"A": ONE}, {"A": card("F20412")}, "A", ("A",)),
        ({"B": card("Q1", "A")}, {"C": card("Q2", "A")}, "B", ("C",)),  # on both sides
        ({"C": card("F20411", "B")}, {"A": ONE}, "C", ("A",)),  # a chain
        ({"A": TWO, "B": card("F20411", "A")}, {"A": ONE}, "B", ("A",)),  # taken again
        ({"A": TWO, "B": card("F20411", "A")}, {"A": ONE}, "A", ()),
        ({"A": ONE}, {"A": TWO, "B": card("F20411", "A")}, "A", ("B",)),
        ({"A": ONE, "B": TWO}, {"A": TWO, "B": ONE}, "A", ("B",)),  # changed about
        ({"A": ONE, "B": ONE}, {"A": ONE, "B": ONE}, "A", ("A",)),  # told apart by hand
        ({"A": ONE, "B": card("F20411", "A")}, {"A": ONE}, "B", ("A",)),  # copied
        ({"A": ONE}, {"B": TWO}, "A", ()),
    ],
)
def test_the_ids_of_one_cylinder(
    here: Cards, there: Cards, asked: str, found: tuple[str, ...]
) -> None:
    assert known_as([asked], make_book(here), make_book(there)) == {asked: found}


SET = "cylinders: [A, B]\nrating: 3000 psi\nuse: rental\n"


def test_a_set_by_its_ids_and_never_by_a_cylinders() -> None:
    here = make_book(sets={"D": f"formerly: [C]\n{SET}"})
    assert known_as(["D"], here, make_book(sets={"C": SET}))["D"] == ("C",)
    assert known_as(["D"], here, make_book({"C": ONE}))["D"] == ()


def test_a_set_is_followed_by_its_cylinders() -> None:
    here = make_book({"A": ONE, "B": card("Z77001", "E")}, sets={"D": SET})
    there = make_book({"A": ONE, "E": TWO})
    assert with_sides(["D", "A"], here, there) == {"D": ("A", "E"), "A": ("A",)}


def test_a_file_that_cannot_be_read_may_be_anything_unknown_here() -> None:
    there = replace(make_book({"B": TWO}), broken={"A": (), "X": ()})
    assert known_as(["A"], make_book({"A": ONE, "B": TWO}), there)["A"] == ("A", "X")
    assert known_as(["B"], make_book({"A": ONE, "B": TWO}), there)["B"] == ("B", "X")
    renamed = make_book({"A": card("F20411", "X"), "B": TWO})
    assert known_as(["B"], renamed, there)["B"] == ("B",)
    unread = replace(make_book(), broken={"A": ()})
    assert known_as(["A"], unread, make_book({"A": ONE}))["A"] == ("A",)
