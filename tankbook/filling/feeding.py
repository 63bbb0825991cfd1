"""What a hand does so that the compressor feeds a bank while cylinders are filled."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tankbook.filling.fill_bench import FillBench, changed_over
from tankbook.filling.nouns import Session
from tankbook.filling.results import HandMove, PanelPart, PlanAct, PlanStep, Turn


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


def of_feeding(session: Session, steps: Sequence[PlanStep]) -> Iterator[str]:
    """What is to be minded where the compressor feeds a bank in some steps. How long it may run is
    said here: a step is told with its rests in it."""
    made = session.compressor
    if made is None or not any(step.act is PlanAct.FEED for step in steps):
        return
    yield (
        "Read the bank that the compressor feeds as it is fed, and log it as raised "
        "(`tankbook station raise`)."
    )
    if made.longest_run is not None:
        rest = made.rest_minutes
        then = f", then let it rest for {rest:g} min" if rest else ""
        yield (
            f"Let the compressor run for {made.longest_run.minutes:g} min at a stretch at most"
            f"{then}: the minutes in which it feeds a bank count that in."
        )
