"""The steps of a fill plan in words: the one list that screen and bench card are made from.

A row is what a hand does before a gauge is watched, and the cylinder whose gauge that is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from tankbook.filling.results import (
    CylinderChange,
    Ends,
    HandMove,
    Load,
    PanelPart,
    PlanAct,
    PlanStep,
    Turn,
)
from tankbook.output.page import Page

SHUT = {Turn.CLOSE: "shut", Turn.OPEN: "open"}
MACHINE = {Turn.START: "start", Turn.STOP: "stop", Turn.UNLOAD: "unload", Turn.LOAD: "load"}


class StepRow(Struct, frozen=True):
    """What is done, and what is then seen of a cylinder; of the last row of a step no cylinder."""

    do: str
    change: CylinderChange | None = None


def rows(step: PlanStep, page: Page) -> list[StepRow]:
    """A step, row by row."""
    if not step.changes:
        return [StepRow(_without_flow(step, page))]
    by_position = {change.position: change for change in step.changes}
    found: list[StepRow] = []
    when, held_for = "", 0.0
    parts = list(_moves_apart(step.moves))
    after = iter([before for before, _ in parts[1:]])
    for before, watch in parts:
        if watch is None:
            held = when if "hold" in when else ""
            found.append(StepRow(_ending(step, held + _turned(before, page), page)))
            continue
        opened = [m.name for m in before if m.turn is Turn.OPEN and m.name in by_position]
        here = [by_position[name] for name in opened]
        if not found and not here:
            here = list(step.changes[:1])
        said = when + _turned([m for m in before if not _is_timed(m)], page)
        timed = _turned([m for m in before if _is_timed(m)], page)
        said += f"; {timed}" if timed else ""
        if not found:
            said += _meanwhile(step)
        if step.act is PlanAct.EQUALIZE:
            said = f"equalize from {step.source}, throttled: {said}"
        found += (
            [StepRow(said, here[0]), *(StepRow("", c) for c in here[1:])]
            if here
            else [StepRow(said)]
        )
        joins = any(m.turn is Turn.OPEN and m.name in by_position for m in next(after, ()))
        when = _joining(step, watch, page) if joins else _when(step, watch, page, held_for)
        held_for += watch.minutes
    return found


def _joining(step: PlanStep, watch: HandMove, page: Page) -> str:
    """At what reading another cylinder is opened to those that are: rounded up, since at less than
    it holds its gas would flow into them, but no higher than they come to in the step."""
    if watch.at is None or step.in_turn:
        return ""
    ends = max((page.risen(change.stop_at, change.reads) for change in step.changes), key=int)
    return f"at {min(page.up(watch.at), ends, key=int)} "


def _when(step: PlanStep, watch: HandMove, page: Page, held_for: float) -> str:
    """What is waited for before the next turn, where the stop of a cylinder does not say it; the
    gauge was `held_for` so many minutes before."""
    if watch.at is None or step.in_turn:
        return ""
    if watch.minutes:
        held = f"hold at {page.low(watch.at)} for {whole_minutes(watch.minutes)} min as it cools"
        return f"{held}{_likely(step, watch, held_for)}; "
    return f"at {page.low(watch.at)} "


def _likely(step: PlanStep, watch: HandMove, held_for: float) -> str:
    """In what minute of a long hold all are expected to be full, and when it is sure, so that an
    operator can choose. Both are counted from its beginning, whatever is turned meanwhile."""
    if step.likely is None or not held_for <= step.likely < held_for + watch.minutes:
        return ""
    likely = whole_minutes(step.likely)
    began = f"from minute {likely}" if likely != "0" else "at once"
    return f" (expected full {began}, sure at {whole_minutes(step.held)})"


def _moves_apart(moves: Sequence[HandMove]) -> Iterator[tuple[list[HandMove], HandMove | None]]:
    """The moves before each look at a gauge, with it, and those after the last."""
    before: list[HandMove] = []
    for move in moves:
        if move.turn is Turn.WATCH:
            yield before, move
            before = []
        else:
            before.append(move)
    if before:
        yield before, None


def _turned(moves: Sequence[HandMove], page: Page) -> str:
    """`shut P1, P2, open P3, B1`, `unload the compressor, shut the feed of B1`. Minutes are those
    of the step: what was told before them, as a hold, takes some."""
    said: list[str] = []
    last: Turn | None = None
    passed = 0.0
    for move in moves:
        after = ""
        if _is_timed(move) and move.minutes != passed:
            after, last, passed = _after(move), None, move.minutes
        if move.turn is Turn.DRAIN and not move.minutes:
            said.append("drain the separators")
        elif move.turn is Turn.KEEP and move.at is not None:
            whose = move.name if move.part is PanelPart.FEED else "the gauge"
            said.append(
                f"{after}keep {whose} at {page.low(move.at)}, {_compressor(move)} unloaded as it "
                "comes there, loaded only as it falls"
            )
        elif move.turn in MACHINE:
            said.append(f"{after}{MACHINE[move.turn]} {_compressor(move)}")
        elif move.turn in SHUT:
            name = _name(move, page)
            said.append(name if move.turn is last else f"{after}{SHUT[move.turn]} {name}")
        else:
            continue
        last = move.turn
    return ", ".join(said)


def _is_timed(move: HandMove) -> bool:
    """Whether it is done when some minutes of its step have passed."""
    return move.minutes > 0 and (move.turn in {*MACHINE, *SHUT, Turn.KEEP})


ENDS = {Turn.STOP, Turn.UNLOAD, Turn.CLOSE, Turn.KEEP}


def _after(move: HandMove) -> str:
    """When a move of a step is made: what ends a run is told no later than it is to be, what begins
    one no sooner."""
    said = f"{int(move.minutes)}" if move.turn in ENDS else whole_minutes(move.minutes)
    if said == "0":
        return "at once "
    return f"{said} min into the step "


def _compressor(move: HandMove) -> str:
    if move.part is PanelPart.FEED:
        return "the compressor"
    return f"compressor {move.name}" if move.name else "the compressor"


def _name(move: HandMove, page: Page) -> str:
    """What is opened or shut; of a bank's feed, up to what the bank may be fed."""
    if move.part is PanelPart.FEED:
        if move.at is None:
            return f"the feed of {move.name}"
        most = page.down(move.at)
        told = f"{most} at most" if move.turn is Turn.OPEN else f"full at {most}"
        return f"the feed of {move.name} ({told})"
    if move.part is PanelPart.COMPRESSOR:
        return f"the outlet of {_compressor(move)}"
    return move.name


def _ending(step: PlanStep, said: str, page: Page) -> str:
    if step.left is not None and step.act is not PlanAct.EQUALIZE:
        said += f"; {page.low(step.left)} left"
    return said


def whole_minutes(minutes: float) -> str:
    """Minutes to wait, the next whole one."""
    return f"{int(minutes + 0.999)}"


def _without_flow(step: PlanStep, page: Page) -> str:
    set_to = next((m.at for m in step.moves if m.turn is Turn.SET), None)
    match step.act:
        case PlanAct.CONNECT:
            said = f"set the regulator to {page.down(set_to)}; " if set_to else ""
            opened = f"{_isolators(step)}{_bleeds_shut(step)}open the cylinder valves"
            return f"{said}crack each valve, connect; {opened}{_turned_meanwhile(step, page)}"
        case PlanAct.REMOVE:
            return _removing(step)
        case PlanAct.LOWER:
            assert set_to is not None
            lowered = f"bleed the line; lower the regulator to {page.down(set_to)}"
            read_on = next((m.name for m in step.moves if m.turn is Turn.OPEN), "")
            if not read_on:
                return lowered
            return (
                f"{lowered}; with every position shut open {read_on}, see that the regulator's own "
                f"gauge reads no more, shut {read_on}"
            )
        case PlanAct.FEED:
            return _turned(step.moves, page)
        case PlanAct.DRAIN:
            return "drain the compressor's separators"
        case PlanAct.WAIT:
            shut = "every bank shut, and each position that has a valve"
            return f"let the cylinders cool, {shut}{_turned_meanwhile(step, page)}"
        case PlanAct.REST:
            stopped = _turned([m for m in step.moves if not _is_timed(m)], page)
            again = _turned([m for m in step.moves if _is_timed(m)], page)
            rests = f"{stopped}; let it rest" if stopped else "let the compressor rest, stopped"
            return f"{rests}; {again}" if again else rests
        case PlanAct.RAISE:
            return f"let the compressor feed on{_until(step, page)}{_turned_meanwhile(step, page)}"
        case PlanAct.NEXT:
            fed = f"; let the compressor feed on{_until(step, page)}" if step.fed else ""
            return f"wait for the next cylinders{fed}{_turned_meanwhile(step, page)}"
        case _:
            reads = "; see that the regulator's own gauge reads nothing" if _looks(step) else ""
            return f"back the regulator off; bleed the line{reads}"


def _isolators(step: PlanStep) -> str:
    """How the isolator of each of the doubles is to stand, or of those of a side."""
    moves = [m for m in step.moves if m.part is PanelPart.ISOLATOR]
    stands = {Turn.OPEN: "open", Turn.CLOSE: "shut"}
    return "".join(f"see that the isolator of {m.name} is {stands[m.turn]}; " for m in moves)


def _bleeds_shut(step: PlanStep) -> str:
    """The bleeds shut, by name where one of the positions has none."""
    bleeds = _names(step, Turn.CLOSE, PanelPart.BLEED)
    if not bleeds:
        return ""
    every = len(bleeds) >= len(_names(step, Turn.CONNECT, PanelPart.CYLINDER))
    return "shut the bleeds; " if every else f"shut the bleed of {', '.join(bleeds)}; "


def _looks(step: PlanStep) -> bool:
    return any(move.turn is Turn.WATCH for move in step.moves)


def _removing(step: PlanStep) -> str:
    """A position without a bleed of its own is bled through the line."""
    through = _names(step, Turn.OPEN, PanelPart.POSITION)
    bled = _names(step, Turn.BLEED, PanelPart.BLEED)
    by_line = bool(_names(step, Turn.BLEED, PanelPart.LINE))
    bleeds = [f"bleed {', '.join(bled)}" if by_line else "bleed each position"] if bled else []
    if through:
        names = ", ".join(through)
        bleeds.append(f"open {names}, bleed the line, shut {names}")
    elif by_line:
        bleeds.append("bleed the line")
    return "; ".join(["shut the cylinder valves", *bleeds, "remove"])


def _meanwhile(step: PlanStep) -> str:
    """What is done meanwhile, as often as is said, counted anew where it is done between."""
    drains = [m.minutes for m in step.moves if m.turn is Turn.DRAIN]
    if not any(drains):
        return ""
    runs = " that it runs" if any(m.turn is Turn.STOP for m in step.moves) else ""
    anew = "" if all(drains) else " since they were drained last"
    return f"; drain the separators every {max(1, int(max(drains)))} min{runs}{anew}"


def _turned_meanwhile(step: PlanStep, page: Page) -> str:
    """The same of a step in which no gas flows, and how the compressor is stopped and started."""
    of_it = [m for m in step.moves if m.turn in MACHINE or m.part is PanelPart.FEED]
    turned = _turned(of_it, page)
    return (f"; {turned}" if turned else "") + _meanwhile(step)


def _until(step: PlanStep, page: Page) -> str:
    """What the gauge of a bank that is fed shows when the step is over, warm as its gas is then;
    not where it is kept at its most before that, or stopped at, which its own words say, and not
    where the compressor rests at the end: it showed more before, and who went on then would go on
    too soon."""
    if any(m.turn is Turn.KEEP or (m.turn is Turn.CLOSE and m.at) for m in step.moves):
        return ""
    ran = [m.turn for m in step.moves if m.turn in MACHINE]
    if ran and ran[-1] in {Turn.STOP, Turn.UNLOAD}:
        return ""
    return f" until {step.fed[-1].bank} shows {page.low(step.fed[-1].shows)}" if step.fed else ""


def _names(step: PlanStep, turn: Turn, part: PanelPart) -> list[str]:
    return [move.name for move in step.moves if move.turn is turn and move.part is part]


def sentences(step: PlanStep, page: Page) -> list[str]:
    """A step in sentences: `open P1, B1: 14 reads 500, stop at 3000, settles 2790 (2720-2830)`.
    Cylinders that are opened together and read alike are told at once."""
    found: list[tuple[str, list[CylinderChange]]] = []
    for row in rows(step, page):
        before = found[-1][1] if found else []
        if row.change is None:
            found.append((row.do, []))
        elif before and not row.do and _seen([before[0]], page) == _seen([row.change], page):
            before.append(row.change)
        else:
            found.append((row.do, [row.change]))
    return [
        (f"{do}: " if do and changes else do)
        + (f"{', '.join(c.id for c in changes)} {_seen(changes, page)}" if changes else "")
        for do, changes in found
    ]


def _seen(changes: Sequence[CylinderChange], page: Page) -> str:
    """What is seen of cylinders that read alike."""
    change, many = changes[0], len(changes) > 1
    stop = page.risen(change.stop_at, change.reads)
    stops = f"flow stops at {stop}" if change.ends is Ends.LEVEL else f"stop at {stop}"
    if change.at_most is not None:
        stops += f", no higher than {page.risen(change.at_most, change.reads)}"
    band = f" ({band_text(change, page)})" if change.hot else ""
    reads, settles = ("read", "settle") if many else ("reads", "settles")
    shown = reads_text(change, page)
    return f"{reads} {shown}, {stops}, {settles} {page.risen(change.after, change.before)}{band}"


AS_READ = 0.5
"""A cold reading [psi] that differs from what was read by no more is what was read."""


def reads_text(change: CylinderChange, page: Page) -> str:
    """What its gauge shows as the step begins: a cold one as it was read, else rounded down."""
    cold = abs(change.reads.psi - change.before.psi) < AS_READ
    return page.whole(change.reads) if cold else page.low(change.reads)


def stop_text(change: CylinderChange, page: Page) -> str:
    """Where its gauge is to be stopped: `3000`, or `flow 1470` where the flow stops by itself;
    `flow 2690, 2710 at most` where it is to be stopped there though it flows on."""
    shown = page.risen(change.stop_at, change.reads)
    most = "" if change.at_most is None else page.risen(change.at_most, change.reads)
    stops = f"flow {shown}" if change.ends is Ends.LEVEL else shown
    return f"{stops}, {most} at most" if most else stops


def band_text(change: CylinderChange, page: Page) -> str:
    """Between what it settles, `2680-2790`; empty where no heat was reckoned."""
    hot = change.hot
    return f"{page.low(hot.low)}-{page.low(hot.high)}" if hot else ""


def compressor_at(steps: Sequence[PlanStep], load: int) -> str:
    """What the compressor does as a load begins: `stopped`, `unloaded` or `feeding B2`; empty where
    no step of the plan turns it."""
    turned = [(step.load, move) for step in steps for move in step.moves]
    if all(move.turn not in MACHINE for _, move in turned):
        return ""
    before = [move for of, move in turned if of < load]
    fed = [m.name for m in before if m.turn is Turn.OPEN and m.part is PanelPart.FEED]
    last = next((m.turn for m in reversed(before) if m.turn in MACHINE), Turn.STOP)
    if last is Turn.STOP:
        return "stopped"
    return "unloaded" if last is Turn.UNLOAD else f"feeding {fed[-1]}"


def seats_text(load: Load) -> list[str]:
    """Who is connected where, and by which gauge each is read."""
    return [
        f"{seat.id} at {seat.position}" + (f" ({seat.gauge})" if seat.gauge else "")
        for seat in load.seats
    ]
