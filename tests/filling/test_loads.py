"""Who is connected where, and the loads that a sequence makes."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.filling.levels import Rung, ladder, open_to
from tankbook.filling.loads import FillPositions
from tankbook.filling.problem import Block, FillJob, Problem, fewest_loads

ANY, SMALL, WHIP = 0, 1, 2
BENCH = FillPositions(choices=((0, 1, 2, 3), (0,), (3,)), enclosed=3)
"""Three enclosed positions, of which the first takes small cylinders, and a whip for the rest."""


@pytest.mark.parametrize(
    ("fits", "seats"),
    [
        ((ANY,), (0,)),
        ((ANY, ANY, ANY), (0, 1, 2)),
        ((ANY, ANY, ANY, ANY), (0, 1, 2, 3)),
        ((ANY, SMALL), (1, 0)),
        ((WHIP, ANY), (3, 0)),
        ((ANY, ANY, ANY, WHIP), (0, 1, 2, 3)),
        ((SMALL, SMALL), None),
        ((WHIP, WHIP), None),
        ((ANY, ANY, ANY, ANY, ANY), None),
    ],
)
def test_enclosed_positions_first(fits: tuple[int, ...], seats: tuple[int, ...] | None) -> None:
    assert BENCH.assign(fits) == seats


@given(st.lists(st.sampled_from([ANY, SMALL, WHIP]), max_size=5).map(tuple))
def test_a_seat_is_found_whenever_there_is_one(fits: tuple[int, ...]) -> None:
    ways = [
        seats
        for seats in itertools.permutations(range(4), len(fits))
        if all(seat in BENCH.choices[fit] for fit, seat in zip(fits, seats, strict=True))
    ]
    found = BENCH.assign(fits)
    assert (found in ways) if ways else found is None


def test_loads_break_at_a_new_pressure_and_when_full() -> None:
    blocks = [(0, (ANY,))] * 5 + [(1, (ANY, ANY)), (0, (ANY,))]
    assert BENCH.loads(blocks) == [[0, 1, 2, 3], [4], [5], [6]]


def test_reordering_keeps_the_order_at_each_bank() -> None:
    jobs = (FillJob(10, 0, 8, group=0), FillJob(10, 0, 9, group=1)) * 2
    blocks = [
        Block((0,), (0,), 8),
        Block((1,), (1,), 9),
        Block((2,), (0,), 8),
        Block((3,), (1,), 9),
    ]
    problem = Problem((50, 50), (9, 10), jobs, (10, 1, 8))  # type: ignore[arg-type]
    placed = fewest_loads(problem, blocks)
    assert [block.jobs for block in placed] == [(0,), (2,), (1,), (3,)]
    tied = [blocks[0], blocks[1]._replace(banks=(0,)), blocks[2]]
    assert fewest_loads(problem, tied) == tuple(tied)


def test_the_fuller_join_when_the_level_reaches_them() -> None:
    rungs = ladder([(10.0, 4.0), (5.0, 1.0), (5.0, 4.0)])
    assert rungs == (Rung(1.0, 5.0), Rung(4.0, 20.0))
    # 5 L rise alone from 1 to 4 and take 15 mol, then 20 L rise together.
    level, left = open_to(50.0, 6.0, rungs, 1.0, 99.0)
    assert level == left == pytest.approx((50 * 6.0 - 15 + 20 * 4.0) / 70)
    assert open_to(50.0, 6.0, rungs, 1.0, 2.0) == (2.0, 6.0 - 5 / 50)
    assert open_to(50.0, 0.9, rungs, 1.0, 2.0) == (1.0, 0.9)
