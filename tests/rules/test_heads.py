"""The heads there were at a moment, with clocks that were wrong."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.rules.heads import Head, KnownCommit, Then, _longest, heads_at

DAY = 24 * 3600


def chain(*days: int) -> list[KnownCommit]:
    return [
        KnownCommit(f"c{n}", (f"c{n - 1}",) if n else (), at * DAY) for n, at in enumerate(days)
    ]


def base(dates: tuple[int, ...], moment: int) -> str | None:
    found = heads_at(chain(*dates), f"c{len(dates) - 1}", moment * DAY)
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
    KnownCommit("a", (), 10 * DAY),
    KnownCommit("b", ("a",), 20 * DAY),
    KnownCommit("x", ("a",), 15 * DAY),
    KnownCommit("y", ("x",), 25 * DAY),
    KnownCommit("m", ("b", "y"), 40 * DAY),
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
    assert heads_at(SIDES, "m", moment * DAY) == expected


def test_a_line_dated_before_what_it_builds_on_is_no_older() -> None:
    wrong = [c if c.id != "y" else KnownCommit("y", ("x",), 1 * DAY) for c in SIDES]
    assert heads_at(wrong, "m", 12 * DAY) == Then("a", ())
    assert heads_at(wrong, "m", 17 * DAY) == Then("a", (Head("x", "m"), Head("y", "m", doubt="y")))


def test_a_line_dated_after_its_merge_was_made_by_then() -> None:
    wrong = [c if c.id != "y" else KnownCommit("y", ("x",), 99 * DAY) for c in SIDES]
    assert heads_at(wrong, "m", 30 * DAY) == Then("b", (Head("x", "m"), Head("y", "m", doubt="y")))
    assert heads_at(wrong, "m", 40 * DAY) == Then("m", ())


def test_a_line_merged_into_a_line_and_two_lines_at_once() -> None:
    more = [*SIDES[:4], KnownCommit("z", ("y",), 26 * DAY), KnownCommit("w", ("a",), 18 * DAY), KnownCommit("n", ("z", "w"), 30 * DAY),
            KnownCommit("m", ("b", "n"), 40 * DAY)]  # fmt: skip
    found = heads_at(more, "m", 22 * DAY)
    assert found is not None
    assert set(found.others) == {Head("x", "m"), Head("w", "m")}
    assert heads_at(more, "m", 35 * DAY) == Then("b", (Head("n", "m"),))


def test_the_end_of_a_shallow_clone() -> None:
    cut = [KnownCommit("b", ("a",), 20 * DAY), KnownCommit("c", ("b",), 30 * DAY)]
    assert heads_at(cut, "c", 25 * DAY) == Then("b", ())
    assert heads_at(cut, "c", 15 * DAY) is None


# --- dates that do not fit together: with and without what is dated so


def asked(moment: int, days: tuple[int, ...], today: int | None = None) -> set[str] | None:
    """Every head that is asked."""
    until = None if today is None else today * DAY
    found = heads_at(chain(*days), f"c{len(days) - 1}", moment * DAY, until)
    return found and {found.base, *(h.id for h in found.others)}


@pytest.mark.parametrize(
    ("days", "moment", "today", "expected"),
    [
        # a clock ahead
        ((1, 10, 120, 21, 22), 5, 28, "c0"),
        ((1, 10, 120, 21, 22), 10, 28, "c1 c2"),
        ((1, 10, 120, 21, 22), 15, 28, "c1 c2"),
        ((1, 10, 120, 21, 22), 21, 28, "c3"),
        ((1, 10, 120, 21, 22), 15, 400, "c1 c2"),
        ((1, 10, 120, 21, 22), 30, 400, "c4"),
        ((1, 10, 120, 121, 21, 22), 15, 28, "c1 c2 c3"),
        ((1, 10, 25, 26, 27, 21, 22), 23, 28, "c1 c2 c3 c4 c5 c6"),
        ((1, 10, 120), 15, 28, "c1 c2"),
        ((1, 10, 120), 28, 28, "c2"),
        ((120, 10, 20), 15, 28, "c1"),
        # a clock behind
        ((1, 2, 10, 5, 21), 7, 28, "c1 c2 c3"),
        ((1, 10, 11, 5, 21), 10, 28, "c1"),
        ((1, 10, 11, 5, 21), 20, 28, "c2 c3"),
        ((1, 10, 5, 21), 21, 28, "c3"),
        ((1, 10, 5, 21), 10, 28, "c1 c2"),
        ((10, 20, 5), 25, 28, "c1 c2"),
        ((10, 20, 5), 28, 28, "c2"),
        ((10, 11, 12, 2, 2, 3, 3, 20), 4, 28, None),
        ((10, 11, 12, 2, 2, 3, 3, 20), 11, 28, "c1 c2 c3 c4 c5 c6"),
        ((10, 11, 12, 2, 2, 3, 3, 20), 20, 28, "c7"),
        # one as good as the other
        ((1, 20, 10, 28), 15, 28, "c0 c1 c2"),
        ((1, 10, 20, 11, 21), 15, 28, "c1 c2 c3"),
        # this computer's own clock is behind, and a day to come is asked about
        ((1, 10, 21, 22), 11, 5, "c1"),
        # none of it
        ((1, 10, 10, 22), 11, 28, "c2"),
        ((1, 10, 21, 22), 28, 28, "c3"),
    ],
)
def test_with_and_without_what_is_dated_wrong(
    days: tuple[int, ...], moment: int, today: int, expected: str | None
) -> None:
    assert asked(moment, days, today) == (set(expected.split()) if expected else None)


@given(
    st.lists(st.integers(1, 30), min_size=3, max_size=12).map(sorted),
    st.integers(-40, 400),
    st.data(),
)
def test_one_clock_that_is_wrong_hides_nothing_that_was_there(
    days: list[int], by: int, data: st.DataObject
) -> None:
    """Of many honest dates and one that is not, what truly was the latest is asked."""
    place = data.draw(st.integers(0, len(days) - 1))
    moment = data.draw(st.integers(days[0], 30))
    said = [d + by if i == place else d for i, d in enumerate(days)]
    truth = max(i for i, d in enumerate(days) if d <= moment)
    conflict = any(
        (i < place and d > said[place]) or (i > place and d < said[place])
        for i, d in enumerate(days)
    )
    found = asked(moment, tuple(max(d, 0) for d in said), 30)
    if said[place] > 30 or (conflict and place > 0):
        assert found is None or f"c{truth}" in found


@pytest.mark.parametrize(
    ("days", "expected"),
    [
        ((15, 16), "x y"),  # y hides nothing of x: made by then, both asked by the later
        ((90, 16), "x y"),
        ((35, 16), "x y"),
        ((15, 90), "x y"),
        ((15, 1), "x y"),
        ((1, 1), "x y"),
    ],
)
def test_a_side_that_was_merged_later_with_a_wrong_clock(
    days: tuple[int, int], expected: str
) -> None:
    """What a machine had by then is asked, whatever it took the day for."""
    one, two = (d * DAY for d in days)
    commits = [
        KnownCommit("a", (), 10 * DAY), KnownCommit("b", ("a",), 20 * DAY),
        KnownCommit("x", ("a",), one), KnownCommit("y", ("x",), two), KnownCommit("m", ("b", "y"), 40 * DAY),
    ]  # fmt: skip
    found = heads_at(commits, "m", 17 * DAY)
    assert found is not None
    if days == (15, 16):
        assert found == Then("a", (Head("y", "m"),))
    else:
        assert {h.id for h in found.others} == set(expected.split())


def test_clocks_an_hour_apart_leave_nothing_open() -> None:
    at = [10 * DAY, 20 * DAY + 1800, 20 * DAY, 20 * DAY + 60, 21 * DAY]
    commits = [KnownCommit(f"c{n}", (f"c{n - 1}",) if n else (), d) for n, d in enumerate(at)]
    assert heads_at(commits, "c4", 15 * DAY) == Then("c0", ())
    side = [c if c.id != "y" else KnownCommit("y", ("x",), 40 * DAY + 1800) for c in SIDES]
    assert heads_at(side, "m", 30 * DAY) == Then("b", (Head("x", "m"),))


def test_what_was_written_by_then_and_committed_anew_later_is_asked() -> None:
    """As by a rebase: on the machine that made it it stood since the author's date."""
    commits = [
        *chain(1, 5),
        KnownCommit("r", ("c1",), 20 * DAY, 8 * DAY),
        KnownCommit("t", ("r",), 21 * DAY),
    ]
    assert heads_at(commits, "t", 10 * DAY) == Then("c1", (Head("r", "", doubt="r"),))
    assert heads_at(commits, "t", 6 * DAY) == Then("c1", ())
    side = [c if c.id != "y" else KnownCommit("y", ("x",), 25 * DAY, 16 * DAY) for c in SIDES]
    assert heads_at(side, "m", 17 * DAY) == Then("a", (Head("x", "m"), Head("y", "m", doubt="y")))


def test_what_was_committed_before_it_was_written_has_no_date() -> None:
    commits = [KnownCommit("a", (), 1 * DAY, 1 * DAY), KnownCommit("b", ("a",), 2 * DAY, 9 * DAY),
               KnownCommit("c", ("b",), 12 * DAY, 12 * DAY)]  # fmt: skip
    assert heads_at(commits, "c", 5 * DAY) == Then("b", (Head("a", "", doubt="b"),))


# --- two machines of as many acts, one of whose clocks is wrong

HOUR = 3600
SHIFTS = {"by turns": "CS" * 5, "in runs": "CCCCCSSSSS"}


def two_machines(shift: str, by: int) -> tuple[list[KnownCommit], list[int]]:
    """Days 10 to 19, each with an act an hour from 8:00 on, and when each truly was."""
    true = [1 * DAY] + [(day * 24 + 8 + n) * HOUR for day in range(10, 20) for n in range(10)]
    wrong = [False] + [machine == "S" for _ in range(10) for machine in SHIFTS[shift]]
    said = [at + by * HOUR * bad for at, bad in zip(true, wrong, strict=True)]
    commits = [KnownCommit(f"c{n}", (f"c{n - 1}",) if n else (), at) for n, at in enumerate(said)]
    return commits, true


def heads_of(commits: list[KnownCommit], day: int, today: int) -> set[str]:
    """Every head that the end of a day is asked of."""
    found = heads_at(commits, commits[-1].id, (day + 1) * DAY - 1, (today + 1) * DAY - 1)
    assert found is not None
    return {found.base, *(h.id for h in found.others)}


@pytest.mark.parametrize("shift", SHIFTS)
@pytest.mark.parametrize("by", [-5, 5, -72, 72, 365 * 24])
@pytest.mark.parametrize("today", [20, 500])
def test_of_two_machines_what_truly_was_the_latest_is_asked(
    shift: str, by: int, today: int
) -> None:
    commits, true = two_machines(shift, by)
    if by > 0 and today > 30:  # no other date contradicts one ahead that is the last of all
        true.append(20 * DAY + 8 * HOUR)
        commits.append(KnownCommit("end", (commits[-1].id,), true[-1]))
    names = [c.id for c in commits]
    for day in (5, *range(9, 25), 30, 399, 450):
        if day <= today:
            latest = max(n for n, at in enumerate(true) if at < (day + 1) * DAY)
            assert names[latest] in heads_of(commits, day, today), day


@pytest.mark.parametrize("shift", SHIFTS)
@pytest.mark.parametrize(
    ("by", "most"),
    [(-5, {"by turns": 1, "in runs": 6}), (5, {"by turns": 1, "in runs": 6}),
     (-72, {"by turns": 40, "in runs": 41}), (72, {"by turns": 41, "in runs": 41})],
)  # fmt: skip
def test_of_two_machines_only_what_is_open_is_asked(
    shift: str, by: int, most: dict[str, int]
) -> None:
    commits, _ = two_machines(shift, by)
    asked = {day: len(heads_of(commits, day, 60)) for day in range(2, 60)}
    assert {asked[day] for day in (*range(2, 6), *range(26, 60))} == {1}
    assert max(asked.values()) <= most[shift], asked


def test_a_clock_a_year_ahead_leaves_a_year_open_and_no_more() -> None:
    commits, _ = two_machines("by turns", 365 * 24)
    assert [len(heads_of(commits, day, 60)) for day in (9, 14, 20, 59)] == [1, 2, 2, 2]
    asked = {day: len(heads_of(commits, day, 500)) for day in (9, 15, 100, 390, 450)}
    assert (asked[9], asked[390], asked[450]) == (1, 1, 1)
    assert asked[100] > 24


@given(
    st.lists(st.tuples(st.integers(1, 240), st.booleans()), min_size=4, max_size=24),
    st.integers(1, 480),
)
def test_a_clock_behind_that_is_always_behind_what_came_before_hides_nothing(
    acts: list[tuple[int, bool]], lag: int
) -> None:
    """Of a clock whose every date is earlier than that of the act before it."""
    true = [2000]
    for gap, _ in acts:
        true.append(true[-1] + gap)
    wrong = [False]
    for n, (gap, bad) in enumerate(acts):
        wrong.append(bad and lag > gap + 1 and not wrong[n])
    said = [at - lag * bad for at, bad in zip(true, wrong, strict=True)]
    commits = [
        KnownCommit(f"c{n}", (f"c{n - 1}",) if n else (), at * HOUR) for n, at in enumerate(said)
    ]
    for now, at in enumerate(true):
        found = heads_at(commits, commits[-1].id, at * HOUR, (true[-1] + 1) * HOUR)
        assert found is None or f"c{now}" in {found.base, *(h.id for h in found.others)}
