"""What a hand does so that the compressor feeds a bank while cylinders are filled."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import inf

from msgspec.structs import replace

from tankbook.filling.fill_bench import FillBench, changed_over, shut_off, takes_more
from tankbook.filling.nouns import Session
from tankbook.filling.results import HandMove, PanelPart, PlanAct, PlanStep, Turn


def feed_for_load(bench: FillBench) -> None:
    """Let the compressor feed the bank that is to be fed in the load at hand; one that is full only
    where it is said to be fed later, once it takes more."""
    fed, now = bench.feed.bank, bench.usual.now
    wanted = bench.feeding.in_load(len(bench.loads))
    banks = tuple(b for b in wanted if b == fed or takes_more(bench, b, now))
    if not banks:
        stop_feeding(bench)
        bench.feed.refused = bench.feed.refused or bool(wanted)
        if wanted and bench.feeding.later:
            bench.feed.bank, bench.feed.then = wanted[0], wanted[1:]
            bench.feed.shut = bench.feed.full = True
        return
    bench.feed.then = banks[1:]
    if banks[0] != bench.feed.bank:
        bench.note(PlanAct.FEED, changed_over(bench, banks[0]))


def stop_feeding(bench: FillBench) -> None:
    """Stop the compressor; its separators are drained where it has run since they were."""
    drain = HandMove(turn=Turn.DRAIN, part=PanelPart.SEPARATORS)
    off = shut_off(bench, inf)
    bench.feed.bank = None
    bench.feed.shut = bench.feed.full = bench.feed.kept = False
    if off:
        bench.note(PlanAct.FEED, [*off, drain])
    elif bench.feed.undrained > 0:
        bench.note(PlanAct.DRAIN, [drain])
    bench.feed.undrained = 0.0


def gone_on(steps: Sequence[PlanStep]) -> list[PlanStep]:
    """The steps of sessions one after another without what is undone at once. A compressor that
    would be stopped and started again with no time between is drained and feeds on, or is changed
    over. A regulator that would be backed off and set no lower with no time between stays: the line
    is bled, and it gives no more than the next cylinders may show. One that is to be set lower, or
    that nobody watches meanwhile, is backed off."""
    return _regulator_stays(_fed_on(steps))


def _fed_on(steps: Sequence[PlanStep]) -> list[PlanStep]:
    found: list[PlanStep] = []
    stop: int | None = None
    for step in steps:
        ends = _turns(step, Turn.CLOSE) if stop is not None else []
        begins = step.act is PlanAct.FEED and len(step.moves) == 2
        if stop is not None and begins and not ends:
            (opened, start), before = step.moves, found[stop].moves
            shut, drain = before[-2:]
            if before[0].turn is Turn.STOP and not start.minutes:
                unload = replace(before[0], turn=Turn.UNLOAD)
                load = replace(start, turn=Turn.LOAD)
                same = shut.name == opened.name
                moves = (drain,) if same else (unload, drain, shut, opened, load)
                act = PlanAct.DRAIN if same else PlanAct.FEED
                found[stop] = replace(found[stop], act=act, moves=moves)
                stop = None
                continue
        found.append(step)
        if step.act is PlanAct.FEED and not _turns(step, Turn.OPEN):
            stop = len(found) - 1
        elif step.act is not PlanAct.BACK_OFF:
            stop = None
    return found


def _regulator_stays(steps: Sequence[PlanStep]) -> list[PlanStep]:
    found: list[PlanStep] = []
    at, backed = (
        None,
        None,
    )  # what it is set to, and the step that backs it off, while no time passes
    for step in steps:
        sets = [m for m in step.moves if m.turn is Turn.SET]
        if sets and at is not None and backed is not None and sets[0].at is not None:
            if sets[0].at >= at:
                del found[backed]
            if sets[0].at == at:
                step = replace(step, moves=tuple(m for m in step.moves if m is not sets[0]))
        at = sets[0].at if sets else at
        if step.act is PlanAct.BACK_OFF:
            backed = len(found)
        elif step.minutes or sets:
            backed = None
        found.append(step)
    return found


def _turns(step: PlanStep, turn: Turn) -> list[HandMove]:
    """The moves of a step that open or shut a bank's feed."""
    return [m for m in step.moves if m.turn is turn and m.part is PanelPart.FEED]


def of_feeding(session: Session, steps: Sequence[PlanStep]) -> Iterator[str]:
    """What is to be minded where the compressor works in some steps, and where it feeds a bank."""
    made, acts = session.compressor, {step.act for step in steps}
    feeds = PlanAct.FEED in acts or any(step.fed for step in steps)
    if made is None or not (feeds or PlanAct.COMPRESSOR in acts):
        return
    yield (
        "Shut no way of the compressor while it makes pressure: unload it first (its drains open), "
        "or stop it."
    )
    if PlanAct.COMPRESSOR in acts:
        yield (
            "Cylinders that are filled slowly take less than the compressor makes, and hardly "
            "anything at their stop: unload it when its own gauge comes to its highest."
        )
    if not feeds:
        return
    yield (
        "Where a bank shows the most that it is fed to sooner than is told, stop the compressor "
        "then, and shut the feed."
    )
    yield (
        "Read the bank that the compressor feeds as it is fed, and log it as raised "
        "(`tankbook station raise`)."
    )
    if made.longest_run is not None:
        rest = made.rest_minutes
        then = f", then let it rest for {rest:g} min, its feed shut" if rest else ""
        yield (
            f"Let the compressor run for {made.longest_run.minutes:g} min at a stretch at most"
            f"{then}: the minutes in which it feeds a bank count that in."
        )
