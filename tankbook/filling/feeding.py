"""Which bank the compressor feeds while cylinders are filled from others."""

from __future__ import annotations

from tankbook.filling.fill_bench import FillBench
from tankbook.filling.levels import full_fills, most_fills, stored_above
from tankbook.filling.results import HandMove, PanelPart, PlanAct, Turn

FEED_MINUTES = 30.0
"""A load takes about so long: which bank is fed meanwhile is judged by what that brings."""


def feed_for_load(bench: FillBench, final: int | None) -> None:
    """Feed the bank that adds most full fills; it is changed once a load at most. The bank that the
    load is finished from is not fed meanwhile, as its flow could not be seen to stop."""
    bank = _best_fed(bench, final)
    if bank is None:
        stop_feeding(bench)
    if bank is None or bank == bench.feed.bank:
        return
    label = bench.setup.banks[bank].label
    most = bench.setup.equation.reading(bench.setup.problem.limits[bank])
    moves = [HandMove(turn=Turn.OPEN, part=PanelPart.FEED, name=label, at=most)]
    if bench.feed.bank is not None:
        before = bench.setup.banks[bench.feed.bank].label
        drain = HandMove(turn=Turn.DRAIN, part=PanelPart.SEPARATORS)
        moves = [drain, HandMove(turn=Turn.CLOSE, part=PanelPart.FEED, name=before), *moves]
        bench.feed.undrained = 0.0
    bench.feed.bank = bank
    bench.note(PlanAct.FEED, moves)


def stop_feeding(bench: FillBench) -> None:
    """Stop the compressor, where it feeds a bank; its separators are drained."""
    if bench.feed.bank is not None:
        label = bench.setup.banks[bench.feed.bank].label
        bench.feed.bank = None
        drain = HandMove(turn=Turn.DRAIN, part=PanelPart.SEPARATORS)
        shut = HandMove(turn=Turn.CLOSE, part=PanelPart.FEED, name=label)
        bench.note(PlanAct.FEED, [shut, drain])


def _best_fed(bench: FillBench, final: int | None) -> int | None:
    """The bank in which what the compressor makes in a load is worth most; None where no bank takes
    it."""
    problem = bench.setup.problem
    amount = problem.compressor * FEED_MINUTES
    if not amount:
        return None
    worth: list[tuple[tuple[float, ...], int]] = []
    for bank, held in enumerate(bench.banks):
        room = max(0.0, problem.limits[bank] - held) * problem.volumes[bank]
        if bank == final or min(amount, room) < amount / 2:
            continue
        after = [*bench.banks]
        after[bank] += min(amount, room) / problem.volumes[bank]
        fills = full_fills(problem.volumes, after, problem.standard)
        bound = most_fills(problem.volumes, after, problem.standard)
        above = stored_above(problem.volumes, after, problem.highest_target)
        worth.append(((fills, round(bound, 6), round(above, 6)), bank))
    if not worth:
        return None
    best = max(worth, key=lambda each: (each[0], -each[1]))
    now = bench.feed.bank
    same = [value for value, bank in worth if bank == now]
    return now if now is not None and same and same[0] >= best[0] else best[1]
