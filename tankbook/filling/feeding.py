"""What a hand does so that the compressor feeds a bank while cylinders are filled."""

from __future__ import annotations

from tankbook.filling.fill_bench import FillBench, changed_over
from tankbook.filling.results import HandMove, PanelPart, PlanAct, Turn


def feed_for_load(bench: FillBench) -> None:
    """Let the compressor feed the bank that is to be fed in the load at hand."""
    banks = bench.feeding.in_load(len(bench.loads))
    if not banks:
        stop_feeding(bench)
        return
    bench.feed.then = banks[1:]
    if banks[0] != bench.feed.bank:
        bench.note(PlanAct.FEED, changed_over(bench, banks[0]))


def stop_feeding(bench: FillBench) -> None:
    """Stop the compressor; its separators are drained where it has run since they were."""
    drain = HandMove(turn=Turn.DRAIN, part=PanelPart.SEPARATORS)
    if bench.feed.bank is not None:
        label = bench.setup.banks[bench.feed.bank].label
        bench.feed.bank = None
        shut = HandMove(turn=Turn.CLOSE, part=PanelPart.FEED, name=label)
        bench.note(PlanAct.FEED, [shut, drain])
    elif bench.feed.undrained > 0:
        bench.note(PlanAct.DRAIN, [drain])
    bench.feed.undrained = 0.0
