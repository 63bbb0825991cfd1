"""Choosing what to do: the search, then equalizing first, then the compressor; and the fixed ways
of working that the choice is compared with."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import combinations

from msgspec.structs import replace

from tankbook.filling.cascade_search import grow_order, outcomes
from tankbook.filling.least_gas import QUICK, best_of, grown_in_orders, search_parts
from tankbook.filling.least_time import search_time
from tankbook.filling.levels import TINY, open_to
from tankbook.filling.problem import Banks, Block, Favour, Problem, Solution, score

MOST_PAIRS = 21
"""Pairs that are looked at for equalizing in a short queue, and a third of it in a long one."""

LONG = 10


def choose(problem: Problem, favour: Favour) -> Solution:
    """The best answer found: the banks first, the compressor for what they leave unfilled."""
    key = "answer", favour, *problem.content
    if key not in problem.known:
        problem.known[key] = _chosen(problem, favour)
    found: Solution = problem.known[key]
    return found


def _chosen(problem: Problem, favour: Favour) -> Solution:
    answer = _searched(problem, favour)
    for pair in _pairs(problem):
        answer = _if_better(problem, answer, pair, favour)
    return _with_compressor(problem, answer, favour)


def in_pressure_order(problem: Problem, answer: Solution, favour: Favour) -> Solution:
    """An answer with its fill pressures in rising order, so that the regulator is lowered as seldom
    as can be; the answer itself where that would leave more cylinders unfilled."""
    blocks = [block for block in answer.blocks if problem.is_full(block)]
    if answer.equalized or not blocks:
        return answer
    order = sorted((b.jobs for b in blocks), key=lambda jobs: problem.jobs[jobs[0]].group)
    whole = grow_order(problem, order, whole=True)
    if not whole:
        return answer
    return _with_compressor(problem, best_of(problem, whole, favour), favour)


def _searched(problem: Problem, favour: Favour) -> Solution:
    if favour is Favour.TIME:
        return search_time(problem)
    return search_parts(problem, [(number,) for number in range(len(problem.jobs))])


def _pairs(problem: Problem) -> list[tuple[int, int]]:
    """Pairs that may be equalized, those furthest apart first."""
    jobs = problem.jobs
    pairs = [
        (one, two)
        for one, two in combinations(range(len(jobs)), 2)
        if jobs[one].lends
        and jobs[two].lends
        and jobs[one].group == jobs[two].group
        and abs(jobs[one].start - jobs[two].start) > TINY
        and problem.seats((one, two)) is not None
    ]
    pairs.sort(key=lambda pair: -abs(jobs[pair[0]].start - jobs[pair[1]].start))
    return pairs[: MOST_PAIRS if len(jobs) <= LONG else MOST_PAIRS // 3]


def equal_level(problem: Problem, pair: tuple[int, int]) -> float:
    """The density to which two cylinders equalize [mol/L]."""
    one, two = (problem.jobs[number] for number in pair)
    return (one.volume * one.start + two.volume * two.start) / (one.volume + two.volume)


def equalized(problem: Problem, pair: tuple[int, int]) -> Problem:
    """The problem after two of its cylinders have been equalized."""
    level = equal_level(problem, pair)
    jobs = [
        job._replace(start=level) if number in pair else job
        for number, job in enumerate(problem.jobs)
    ]
    return replace(problem, jobs=tuple(jobs))


def _if_better(
    problem: Problem, answer: Solution, pair: tuple[int, int], favour: Favour
) -> Solution:
    """The answer with a pair equalized first, where that is better in one of the first two terms.

    A quick look comes before the full search: at one temperature equalizing lowers what the
    fuller banks need not give, and so hardly ever helps.
    """
    after = equalized(problem, pair)
    singles = [(number,) for number in range(len(after.jobs))]
    quick = best_of(after, grown_in_orders(after, singles, kept=QUICK), favour)
    if _first_two(problem, quick, pair, favour) > _first_two(problem, answer, None, favour):
        return answer
    found = _searched(after, favour)._replace(equalized=pair)
    if _first_two(problem, found, pair, favour) < _first_two(problem, answer, None, favour):
        return found
    return answer


def _first_two(
    problem: Problem, answer: Solution, pair: tuple[int, int] | None, favour: Favour
) -> tuple[float, ...]:
    extra = equalizing_minutes(problem, answer, pair) if pair else 0.0
    timed = answer.score._replace(minutes=answer.score.minutes + extra)
    return timed.key(favour)[:2]


def equalizing_minutes(problem: Problem, answer: Solution, pair: tuple[int, int]) -> float:
    """What equalizing a pair adds: the flow at the fill rate, and a handling of its own unless
    the two share a load anyway."""
    one, two = (problem.jobs[number] for number in pair)
    flow = abs(equal_level(problem, pair) - min(one.start, two.start)) / one.per_minute
    return flow + (0.0 if shares_load(problem, answer, pair) else problem.handling)


def loads_of(problem: Problem, answer: Solution) -> list[list[Block]]:
    """The blocks of an answer, load by load."""
    loads = problem.loads([block.jobs for block in answer.blocks])
    return [[answer.blocks[n] for n in load] for load in loads]


def shares_load(problem: Problem, answer: Solution, pair: tuple[int, int]) -> bool:
    """Whether two cylinders are connected in the same load."""
    loads = [{j for block in load for j in block.jobs} for load in loads_of(problem, answer)]
    return any(set(pair) <= load for load in loads)


def _with_compressor(problem: Problem, answer: Solution, favour: Favour) -> Solution:
    """Give each cylinder that the banks leave unfilled its turn at the compressor.

    From the banks it first gets what costs no full fill and no gas above the highest target;
    when time is favoured, all they give.
    """
    if not problem.compressor:
        return answer
    done = {j for block in answer.blocks for j in block.jobs}
    waiting = sorted(
        (n for n, job in enumerate(problem.jobs) if n not in done and reaches(problem, n)),
        key=lambda n: (problem.jobs[n].group, problem.jobs[n].need, n),
    )
    for number in waiting:
        answer = _one_more(problem, answer, number, favour)
    return answer


def reaches(problem: Problem, number: int) -> bool:
    """Whether the compressor reaches the target of a cylinder, or comes within the loss of it."""
    job, top = problem.jobs[number], problem.compressor_top + TINY
    return problem.compressor > 0 and min(job.target, job.enough) <= top


def _one_more(problem: Problem, answer: Solution, number: int, favour: Favour) -> Solution:
    job = problem.jobs[number]
    none = Block((number,), (), job.start)
    ways = [(answer.banks, none)]
    for banks, path, level in outcomes(
        problem, answer.banks, problem.rungs((number,)), job.target, partly=True
    ):
        ways.append((banks, Block((number,), path, level)))
    ways.sort(key=lambda way: (-way[1].level, way[1].banks))
    kept = answer.score
    for banks, block in ways:
        blocks = (*answer.blocks, block)
        found = Solution(blocks, banks, score(problem, blocks, banks), answer.equalized)
        same = found.score.full_fills >= kept.full_fills
        same = same and found.score.stored_above >= kept.stored_above - 1e-9
        if same or favour is Favour.TIME:
            return found
    return answer


# --- ways of working that a plan is compared with: a fixed rule for which bank comes next

Rule = Callable[[Banks], Sequence[int]]
"""Given what the banks hold, the order in which they are opened."""


def highest_first(banks: Banks) -> list[int]:
    """The fullest bank first: how a cascade is wasted."""
    return sorted(range(len(banks)), key=lambda bank: (-banks[bank], bank))


def as_listed(banks: Banks) -> list[int]:
    """The banks as the station lists them, whatever they hold."""
    return list(range(len(banks)))


def by_rule(problem: Problem, rule: Rule) -> Solution:
    """Fill the cylinders in turn, in the order of the queue, each from the banks as `rule` says.

    A bank that is not above the cylinder is passed over. A cylinder that does not come full
    keeps what it got: the gas is spent. Where there is a compressor it is connected in any case.
    """
    banks, blocks = problem.densities, []
    for number, job in enumerate(problem.jobs):
        rungs, level = problem.rungs((number,)), job.start
        opened: list[int] = []
        for bank in rule(banks):
            if banks[bank] <= level + TINY or level >= job.target - TINY:
                continue
            level, left = open_to(problem.volumes[bank], banks[bank], rungs, level, job.target)
            banks = (*banks[:bank], left, *banks[bank + 1 :])
            opened.append(bank)
        if opened or problem.compressor:
            blocks.append(Block((number,), tuple(opened), level))
    return Solution(tuple(blocks), banks, score(problem, blocks, banks))
