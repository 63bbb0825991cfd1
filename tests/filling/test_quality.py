"""How good the search is, against an exhaustive one written without it (`fill_search`).

The default run takes a few hundred random cases; `TANKBOOK_SWEEP=1` takes many more, up to four
banks and six cylinders, and some minutes.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import Any

import pytest
from changing import replace
from fill_search import Bank, Cylinder, least_minutes, most_gas
from sweep import SWEEP

from tankbook.filling import cascade_search
from tankbook.filling.cascade_search import outcomes, promises
from tankbook.filling.choose import choose, equal_level
from tankbook.filling.levels import StandardFill, most_fills, open_to
from tankbook.filling.problem import Favour, FillJob, Problem

STANDARD = (11.1, 1.4, 8.5)
RATE, HANDLING = 1.1, 4.0

SIZES = {
    # banks, cylinders: cases in the default run, cases in the sweep
    (1, 4): (30, 40),
    (2, 6): (60, 200),
    (3, 4): (50, 300),
    (3, 5): (4, 150),
    (3, 6): (0, 60),
    (4, 4): (5, 200),
    (4, 5): (0, 60),
    (4, 6): (0, 25),
}
PAIRED = (1, 60)
"""Cases of four banks and six cylinders, three kinds in pairs: fewer ways, as mixed."""

TIME_SIZES = {
    (2, 4): (70, 150),
    (3, 4): (50, 150),
    (3, 5): (4, 80),
    (4, 4): (5, 80),
    (4, 6): (0, 8),
}


@dataclass(frozen=True)
class Case:
    banks: tuple[Bank, ...]
    cylinders: tuple[Cylinder, ...]

    def problem(self, minimum_gain: float = 0.0, lends: bool = False) -> Problem:
        targets = sorted({target for _, _, target in self.cylinders})
        jobs = tuple(
            FillJob(v, s, t, group=targets.index(t), per_minute=RATE, lends=lends)
            for v, s, t in self.cylinders
        )
        return Problem(
            volumes=tuple(v for v, _ in self.banks),
            densities=tuple(d for _, d in self.banks),
            jobs=jobs,
            standard=StandardFill(*STANDARD),
            minimum_gain=minimum_gain,
            handling=HANDLING,
        )


def cases(banks: int, cylinders: int, count: int, seed: int = 0) -> list[Case]:
    """Banks from near empty to 6000 psi, cylinders of mixed starts, volumes and targets."""
    chance = random.Random(1000 * banks + 10 * cylinders + seed)
    return [
        Case(
            tuple(
                (float(chance.choice([40, 50, 50, 60, 80, 100])), chance.uniform(4, 13.5))
                for _ in range(banks)
            ),
            tuple(
                (
                    chance.choice([5.8, 8.9, 11.1, 11.1, 12.2, 15.0]),
                    chance.choice([0.05, chance.uniform(0.5, 6)]),
                    chance.choice([8.5, 8.5, 9.5, 10.5]),
                )
                for _ in range(cylinders)
            ),
        )
        for _ in range(count)
    ]


def chosen(sizes: dict[tuple[int, int], tuple[int, int]]) -> list[Case]:
    return [
        case
        for (banks, cylinders), counts in sizes.items()
        for case in cases(banks, cylinders, counts[SWEEP])
    ]


def paired(count: int) -> list[Case]:
    return [replace(case, cylinders=case.cylinders * 2) for case in cases(4, 3, count, seed=4)]


def test_fills_and_gas_left_against_every_way_there_is() -> None:
    alike = far = 0
    everything = chosen(SIZES) + paired(PAIRED[SWEEP])
    for case in everything:
        best = most_gas(case.banks, case.cylinders, STANDARD)
        score = choose(case.problem(), Favour.GAS).score
        assert score.unfilled == best.unfilled, case
        assert score.full_fills >= best.full_fills - 1, case
        same = score.full_fills == best.full_fills
        alike += same
        far += same and score.stored_above < 0.99 * best.stored_above - 1e-6
    assert len(everything) >= 150
    assert alike >= 0.95 * len(everything)
    assert far <= 0.01 * len(everything)


def test_the_search_is_never_better_than_every_way_there_is() -> None:
    """Were it so, the exhaustive search would not be one."""
    for case in cases(3, 4, 40, seed=5):
        best = most_gas(case.banks, case.cylinders, STANDARD)
        score = choose(case.problem(), Favour.GAS).score
        assert (score.unfilled, -score.full_fills) >= (best.unfilled, -best.full_fills)


def test_with_a_minimum_gain() -> None:
    alike = 0
    everything = cases(3, 4, 200 if SWEEP else 40, seed=1)
    for case in everything:
        best = most_gas(case.banks, case.cylinders, STANDARD, minimum_gain=0.6)
        score = choose(case.problem(minimum_gain=0.6), Favour.GAS).score
        assert score.unfilled == best.unfilled, case
        assert score.full_fills >= best.full_fills - 1, case
        alike += score.full_fills == best.full_fills
    assert alike >= 0.95 * len(everything)


def test_minutes_against_every_way_there_is() -> None:
    checked = 0
    for case in chosen(TIME_SIZES):
        unfilled, minutes = least_minutes(
            case.banks, case.cylinders, places=4, handling=HANDLING, rate=RATE
        )
        score = choose(case.problem(), Favour.TIME).score
        assert score.unfilled == unfilled, case
        if unfilled < len(case.cylinders):
            assert minutes * (1 - 1e-9) <= score.minutes <= 1.05 * minutes, case
            checked += 1
    assert checked >= 100


def equalized(case: Case, one: int, two: int) -> Case:
    level = equal_level(case.problem(), (one, two))
    cylinders = list(case.cylinders)
    for number in (one, two):
        volume, _, target = cylinders[number]
        cylinders[number] = (volume, level, target)
    return replace(case, cylinders=tuple(cylinders))


def test_with_one_pair_equalized_first() -> None:
    """The first two terms, against every pair equalized and every way after it."""
    for case in cases(2, 3, 120 if SWEEP else 40, seed=2):
        ways = [case] + [
            equalized(case, one, two)
            for one in range(3)
            for two in range(one)
            if case.cylinders[one][2] == case.cylinders[two][2]
        ]
        best = min(
            (b.unfilled, -b.full_fills)
            for b in (most_gas(way.banks, way.cylinders, STANDARD) for way in ways)
        )
        score = choose(case.problem(lends=True), Favour.GAS).score
        assert (score.unfilled, -score.full_fills) == best, case


def test_a_pair_is_equalized_where_it_helps() -> None:
    """The low bank would add too little to the fuller cylinder to be opened for it; with the
    two level it is opened for both, and so the high bank fills both."""
    pair = ((10.0, 4.4, 8.5), (10.0, 0.0, 8.5))
    low, high = (400.0, 4.7), (20.0, 12.0)
    found = 0
    for volume in range(10, 60):
        case = Case(((low[0], low[1]), (float(volume), high[1])), pair)
        without = choose(case.problem(minimum_gain=0.6), Favour.GAS)
        with_it = choose(case.problem(minimum_gain=0.6, lends=True), Favour.GAS)
        better = with_it.score.key(Favour.GAS)[:2] < without.score.key(Favour.GAS)[:2]
        assert better == (with_it.equalized is not None)
        found += better
    assert found


@pytest.mark.parametrize("favour", list(Favour))
def test_the_same_question_gets_the_same_answer(favour: Favour) -> None:
    (case,) = cases(4, 6, 1, seed=9)
    assert choose(case.problem(), favour) == choose(case.problem(), favour)


def test_cylinders_that_are_alike_are_gone_through_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whichever of them comes next, what comes of it is the same."""
    asked: list[object] = []

    def noted(problem: Problem, banks: object, rungs: object, target: float) -> Any:
        asked.append((banks, rungs, target))
        return outcomes(problem, banks, rungs, target)  # type: ignore[arg-type]

    banks = ((50.0, 5.0), (60.0, 9.0), (80.0, 12.0))
    case = Case(banks, ((11.1, 1.4, 8.5),) * 8 + ((8.9, 0.5, 8.5),) * 2)
    monkeypatch.setattr(cascade_search, "outcomes", noted)
    choose(case.problem(), Favour.GAS)
    assert len(asked) > 100
    assert len(asked) <= 2 * len(set(asked))


def test_what_is_said_in_line_is_what_is_said_once() -> None:
    """The search says two things again, for speed: what opening one cylinder comes to, and the bound
    on the fills that banks give."""
    checked = 0
    for case in cases(4, 3, 40, seed=7):
        problem = case.problem()
        for number, job in enumerate(problem.jobs):
            rungs = problem.rungs((number,))
            for banks, path, level in outcomes(
                problem, problem.densities, rungs, job.target, partly=True
            ):
                now, risen = list(problem.densities), job.start
                for bank in path:
                    volume, held = problem.volumes[bank], now[bank]
                    risen, now[bank] = open_to(volume, held, rungs, risen, job.target)
                assert risen == pytest.approx(level, abs=1e-9)
                assert now == pytest.approx(banks, abs=1e-9)
                bound = most_fills(problem.volumes, banks, problem.standard)
                one = problem.standard.volume
                assert promises(problem, banks)[1] == pytest.approx(bound * one, abs=1e-9)
                checked += 1
    assert checked > 300
