"""The heads there were at a moment, with clocks that were wrong."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.rules.heads import Head, Known, Then, _longest, heads_at


def chain(*dates: int) -> list[Known]:
    return [Known(f"c{n}", (f"c{n - 1}",) if n else (), at) for n, at in enumerate(dates)]


def base(dates: tuple[int, ...], moment: int) -> str | None:
    found = heads_at(chain(*dates), f"c{len(dates) - 1}", moment)
    return found.base if found else None


@pytest.mark.parametrize(
    ("dates", "moment", "expected"),
    [
        ((10, 20, 30), 9, None),
        ((10, 20, 30), 10, "c0"),
        ((10, 20, 30), 25, "c1"),
        ((10, 20, 30), 99, "c2"),
        ((10, 20, 5), 9, None),
        ((10, 20, 5), 15, "c0"),
        ((10, 20, 5), 20, "c2"),
        ((20, 5), 10, None),
        ((20, 5), 20, "c1"),
        ((10, 20, 1, 2, 30, 40), 25, "c3"),
        ((10, 20, 1, 2, 30, 40), 15, "c0"),
        ((10, 99, 30, 40), 35, "c2"),
        ((10, 99, 30, 40), 20, "c1"),
        ((99, 10, 20), 15, "c1"),
        ((10, 10, 10), 10, "c2"),
    ],
)
def test_no_answer_comes_from_a_commit_dated_before_its_parents(
    dates: tuple[int, ...], moment: int, expected: str | None
) -> None:
    assert base(dates, moment) == expected


@given(st.lists(st.integers(0, 9), min_size=1, max_size=9))
def test_as_many_dates_are_believed_as_fit_together(dates: list[int]) -> None:
    found = sorted(_longest(dates))
    kept = [dates[n] for n in found]
    assert kept == sorted(kept)
    best = [1] * len(dates)
    for n, at in enumerate(dates):
        best[n] = 1 + max((best[m] for m in range(n) if dates[m] <= at), default=0)
    assert len(found) == max(best)


SIDES = [
    Known("a", (), 10),
    Known("b", ("a",), 20),
    Known("x", ("a",), 15),
    Known("y", ("x",), 25),
    Known("m", ("b", "y"), 40),
]


@pytest.mark.parametrize(
    ("moment", "expected"),
    [
        (12, Then("a", ())),
        (17, Then("a", (Head("x", "m"),))),
        (22, Then("b", (Head("x", "m"),))),
        (30, Then("b", (Head("y", "m"),))),
        (40, Then("m", ())),
    ],
)
def test_a_line_that_was_merged_later_was_there(moment: int, expected: Then) -> None:
    assert heads_at(SIDES, "m", moment) == expected


def test_a_line_dated_before_what_it_builds_on_is_no_older() -> None:
    wrong = [c if c.id != "y" else Known("y", ("x",), 1) for c in SIDES]
    assert heads_at(wrong, "m", 12) == Then("a", ())
    assert heads_at(wrong, "m", 17) == Then("a", (Head("y", "m"),))


def test_a_line_dated_after_its_merge_was_made_by_then() -> None:
    wrong = [c if c.id != "y" else Known("y", ("x",), 99) for c in SIDES]
    assert heads_at(wrong, "m", 30) == Then("b", (Head("x", "m"),))
    assert heads_at(wrong, "m", 40) == Then("m", ())


def test_a_line_merged_into_a_line_and_two_lines_at_once() -> None:
    more = [*SIDES[:4], Known("z", ("y",), 26), Known("w", ("a",), 18), Known("n", ("z", "w"), 30),
            Known("m", ("b", "n"), 40)]  # fmt: skip
    found = heads_at(more, "m", 22)
    assert found is not None
    assert set(found.others) == {Head("x", "m"), Head("w", "m")}
    assert heads_at(more, "m", 35) == Then("b", (Head("n", "m"),))


def test_the_end_of_a_shallow_clone() -> None:
    cut = [Known("b", ("a",), 20), Known("c", ("b",), 30)]
    assert heads_at(cut, "c", 25) == Then("b", ())
    assert heads_at(cut, "c", 15) is None
