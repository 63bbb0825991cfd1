"""The words of a step say what its moves are, no more and no less."""

from __future__ import annotations

import re
from typing import Any

import pytest
from drawn_sessions import day_of, planned_day, planned_pumping
from msgspec.structs import replace
from sweep import tries

from tankbook.filling import plan, plan_day
from tankbook.filling.results import (
    CylinderChange,
    Ends,
    FedBank,
    HandMove,
    PanelPart,
    PlanAct,
    PlanStep,
    Turn,
)
from tankbook.output.page import Page
from tankbook.output.plan_steps import compressor_at, rows, sentences, stop_text
from tankbook.units import GaugePressure


def move(turn: Turn, part: PanelPart, name: str = "", psi: float | None = None) -> HandMove:
    at = None if psi is None else GaugePressure.of(psi, "psi")
    return HandMove(turn=turn, part=part, name=name, at=at)


MACHINES = {Turn.START, Turn.STOP, Turn.LOAD, Turn.UNLOAD}
SHUT = move(Turn.CLOSE, PanelPart.CYLINDER, "14")
BLED = move(Turn.BLEED, PanelPart.BLEED, "P1")
LINE = move(Turn.BLEED, PanelPart.LINE)
THROUGH = (
    move(Turn.OPEN, PanelPart.POSITION, "P2"),
    LINE,
    move(Turn.CLOSE, PanelPart.POSITION, "P2"),
)
LOWERED = (LINE, move(Turn.SET, PanelPart.REGULATOR, psi=2640))
READ_ON = (
    move(Turn.OPEN, PanelPart.BANK, "B2"),
    move(Turn.WATCH, PanelPart.GAUGE, psi=2640),
    move(Turn.CLOSE, PanelPart.BANK, "B2"),
)
FEED = move(Turn.OPEN, PanelPart.FEED, "B2", 4500)


@pytest.mark.parametrize(
    ("act", "moves", "said"),
    [
        (PlanAct.REMOVE, (SHUT, BLED), "shut the cylinder valves; bleed each position; remove"),
        (
            PlanAct.REMOVE,
            (SHUT, *THROUGH),
            "shut the cylinder valves; open P2, bleed the line, shut P2; remove",
        ),
        (
            PlanAct.REMOVE,
            (SHUT, BLED, *THROUGH),
            "shut the cylinder valves; bleed P1; open P2, bleed the line, shut P2; remove",
        ),
        (PlanAct.REMOVE, (SHUT, LINE), "shut the cylinder valves; bleed the line; remove"),
        (
            PlanAct.LOWER,
            (*LOWERED, *READ_ON),
            "bleed the line; lower the regulator to 2640 psi; with every position shut open B2, see "
            "that the regulator's own gauge reads no more, shut B2",
        ),
        (PlanAct.LOWER, LOWERED, "bleed the line; lower the regulator to 2640 psi"),
        (
            PlanAct.FEED,
            (FEED, move(Turn.START, PanelPart.COMPRESSOR)),
            "open the feed of B2 (4500 psi at most), start the compressor",
        ),
        (
            PlanAct.FEED,
            (
                move(Turn.UNLOAD, PanelPart.COMPRESSOR, "C1"),
                move(Turn.DRAIN, PanelPart.SEPARATORS),
                move(Turn.CLOSE, PanelPart.FEED, "B1"),
                FEED,
                move(Turn.LOAD, PanelPart.COMPRESSOR, "C1"),
            ),
            "unload compressor C1, drain the separators, shut the feed of B1, open the feed of B2 "
            "(4500 psi at most), load compressor C1",
        ),
        (
            PlanAct.BACK_OFF,
            (move(Turn.BACK_OFF, PanelPart.REGULATOR), LINE),
            "back the regulator off; bleed the line",
        ),
        (
            PlanAct.BACK_OFF,
            (
                move(Turn.BACK_OFF, PanelPart.REGULATOR),
                LINE,
                move(Turn.WATCH, PanelPart.GAUGE, psi=0),
            ),
            "back the regulator off; bleed the line; see that the regulator's own gauge reads nothing",
        ),
        (
            PlanAct.CONNECT,
            (
                move(Turn.OPEN, PanelPart.ISOLATOR, "D1"),
                move(Turn.CLOSE, PanelPart.ISOLATOR, "7"),
                move(Turn.OPEN, PanelPart.CYLINDER, "D1"),
            ),
            "crack each valve, connect; see that the isolator of D1 is open; see that the isolator "
            "of 7 is shut; open the cylinder valves",
        ),
        (
            PlanAct.REST,
            (move(Turn.STOP, PanelPart.COMPRESSOR),),
            "stop the compressor; let it rest",
        ),
        (
            PlanAct.REST,
            (
                move(Turn.STOP, PanelPart.COMPRESSOR),
                replace(FEED, minutes=15),
                replace(move(Turn.START, PanelPart.COMPRESSOR), minutes=15),
            ),
            "stop the compressor; let it rest; 15 min into the step open the feed of B2 (4500 psi at "
            "most), start the compressor",
        ),
        (
            PlanAct.CONNECT,
            (
                move(Turn.CONNECT, PanelPart.CYLINDER, "14"),
                move(Turn.CONNECT, PanelPart.CYLINDER, "15"),
                move(Turn.CLOSE, PanelPart.BLEED, "P1"),
            ),
            "crack each valve, connect; shut the bleed of P1; open the cylinder valves",
        ),
        (
            PlanAct.CONNECT,
            (
                move(Turn.SET, PanelPart.REGULATOR, psi=2904),
                move(Turn.CONNECT, PanelPart.CYLINDER, "14"),
                move(Turn.CLOSE, PanelPart.BLEED, "P1"),
            ),
            "set the regulator to 2900 psi; crack each valve, connect; shut the bleeds; open the "
            "cylinder valves",
        ),
    ],
)
def test_words_say_the_moves(act: PlanAct, moves: tuple[HandMove, ...], said: str) -> None:
    step = PlanStep(
        number=1, load=1, act=act, source="", ends=Ends.DONE, changes=(), minutes=0.0, moves=moves
    )
    assert [row.do for row in rows(step, Page())] == [said]


MACHINE = re.compile(r"\b(start|stop|load|unload) (?:the )?compressor\b")


@pytest.mark.parametrize("make", [planned_pumping, planned_day])
@pytest.mark.parametrize("seed", range(tries(8, 60)))
def test_all_that_a_compressor_is_turned_to_is_said(make: Any, seed: int) -> None:
    """In its order, whatever step it falls into: when it runs unloaded, stands, and feeds again."""
    session, _ = make(seed)
    made = plan(session) if make is planned_pumping else plan_day(*day_of(seed))
    for step in made.steps:
        turned = [str(m.turn) for m in step.moves if m.turn in MACHINES]
        said = " ".join(sentences(step, Page()))
        assert MACHINE.findall(said) == turned, step.number


def psi(value: float) -> GaugePressure:
    return GaugePressure.of(value, "psi")


def opened_together(*ids: str, reads: float = 500) -> PlanStep:
    changes = tuple(
        CylinderChange(
            id=id_, position=f"P{n}", before=psi(reads), after=psi(2800), reads=psi(reads),
            stop_at=psi(2990), ends=Ends.STOP, minutes=6.0, hot=None,
        )
        for n, id_ in enumerate(ids)
    )  # fmt: skip
    positions = [move(Turn.OPEN, PanelPart.POSITION, each.position) for each in changes]
    shut = [move(Turn.CLOSE, PanelPart.POSITION, each.position) for each in changes]
    moves = (
        *positions,
        move(Turn.OPEN, PanelPart.BANK, "B1"),
        move(Turn.WATCH, PanelPart.GAUGE, "P0", 2990),
        *shut,
        move(Turn.CLOSE, PanelPart.BANK, "B1"),
    )
    return PlanStep(
        number=1, load=1, act=PlanAct.OPEN, source="B1", ends=Ends.STOP, changes=changes,
        minutes=6.0, moves=moves,
    )  # fmt: skip


def test_cylinders_that_read_alike_are_told_at_once() -> None:
    """So a load of four alike takes no more of a card than one cylinder."""
    step = opened_together("A", "B", "C")
    assert sentences(step, Page()) == [
        "open P0, P1, P2, B1: A, B, C read 500, stop at 2990, settle 2800",
        "shut P0, P1, P2, B1",
    ]
    fuller = opened_together("A", "B", "C", reads=900).changes[2]
    apart = replace(step, changes=(*step.changes[:2], fuller))
    assert sentences(apart, Page())[:2] == [
        "open P0, P1, P2, B1: A, B read 500, stop at 2990, settle 2800",
        "C reads 900, stop at 2990, settles 2800",
    ]


def test_a_flow_that_is_to_stop_is_told_with_the_most_that_the_gauge_may_show() -> None:
    """Rounded down, but no lower than what was read of a cylinder that took next to nothing."""
    step = opened_together("A")
    (stopped,) = step.changes
    flows = replace(stopped, ends=Ends.LEVEL, stop_at=psi(2583), at_most=psi(2669.9))
    page = Page()
    said = sentences(replace(step, changes=(flows,)), page)[0]
    assert said.endswith("A reads 500, flow stops at 2580, no higher than 2660, settles 2800")
    assert stop_text(flows, page) == "flow 2580, 2660 at most"
    assert stop_text(replace(flows, at_most=None), page) == "flow 2580"
    little = replace(flows, reads=psi(2666), stop_at=psi(2668))
    assert stop_text(little, page) == "flow 2666, 2666 at most"


def test_a_bank_that_is_fed_while_it_gives_is_left_with_both() -> None:
    """So its gauge is not told a quarter lower than it stands when the bank is shut."""
    given = replace(opened_together("A"), source_before=psi(3550), source_after=psi(3140))
    fed = FedBank(bank="B1", mol=230.0, after=psi(4200), shows=psi(4270))
    other = FedBank(bank="B2", mol=50.0, after=psi(2000), shows=psi(2010))
    assert sentences(given, Page())[-1].endswith("; 3140 left")
    assert sentences(replace(given, fed=(other,)), Page())[-1].endswith("; 3140 left")
    assert sentences(replace(given, fed=(fed, other)), Page())[-1].endswith("; 4200 left")


def test_what_is_done_later_in_a_step_is_told_after_what_begins_it() -> None:
    """So nobody waits a quarter of an hour before a cylinder is opened."""
    step = opened_together("A")
    timed = (
        replace(move(Turn.STOP, PanelPart.COMPRESSOR), minutes=15.0),
        replace(move(Turn.CLOSE, PanelPart.FEED, "B2"), minutes=15.0),
        replace(move(Turn.OPEN, PanelPart.FEED, "B2", 4500), minutes=25.0),
        replace(move(Turn.START, PanelPart.COMPRESSOR), minutes=25.0),
    )
    said = sentences(replace(step, moves=(*timed, *step.moves)), Page())
    assert said[0].startswith(
        "open P0, B1; 15 min into the step stop the compressor, shut the feed of B2, 25 min into the "
        "step open the feed of B2 (4500 psi at most), start the compressor: A reads 500"
    )


def at_minute(minutes: float, *moves: HandMove) -> tuple[HandMove, ...]:
    return tuple(replace(each, minutes=minutes) for each in moves)


def test_what_ends_a_run_is_told_no_later_and_what_begins_one_no_sooner() -> None:
    """A compressor that may run for 6.53 minutes more is stopped after 6 of them, not after 7."""
    full = move(Turn.CLOSE, PanelPart.FEED, "B2", 4480)
    kept = move(Turn.KEEP, PanelPart.FEED, "B2", 4500)
    timed = (
        *at_minute(3.9, kept),
        *at_minute(6.53, move(Turn.STOP, PanelPart.COMPRESSOR), full),
        *at_minute(16.53, FEED, move(Turn.START, PanelPart.COMPRESSOR)),
    )
    drains = replace(move(Turn.DRAIN, PanelPart.SEPARATORS), minutes=12.6)
    step = opened_together("A")
    said = sentences(replace(step, moves=(*timed, drains, *step.moves)), Page())
    assert said[0].startswith(
        "open P0, B1; 3 min into the step keep B2 at 4500, the compressor unloaded as it comes "
        "there, loaded only as it falls, 6 min into the step stop the compressor, shut the feed of "
        "B2 (full at 4480 psi), 17 min into the step open the feed of B2 (4500 psi at most), start "
        "the compressor; drain the separators every 12 min that it runs: A reads 500"
    )


@pytest.mark.parametrize(
    ("parts", "likely", "said"),
    [
        ([21.0], None, ["for 21 min as it cools"]),
        ([21.0], 11.2, ["for 21 min as it cools (expected full from minute 12, sure at 21)"]),
        ([11.0], 0.0, ["for 11 min as it cools (expected full at once, sure at 11)"]),
        ([5.0, 10.0], 3.0, ["for 5 min as it cools (expected full from minute 3, sure at 15)",
                            "for 10 min as it cools"]),
        ([5.0, 10.0], 9.0, ["for 5 min as it cools",
                            "for 10 min as it cools (expected full from minute 9, sure at 15)"]),
    ],
)  # fmt: skip
def test_a_long_hold_says_when_it_is_expected_to_do_and_when_it_is_sure(
    parts: list[float], likely: float | None, said: list[str]
) -> None:
    """In one line, counted from where the hold begins, whatever is turned in it."""
    step = opened_together("A")
    held = [replace(move(Turn.WATCH, PanelPart.GAUGE, "P0", 3000), minutes=part) for part in parts]
    over = move(Turn.STOP, PanelPart.COMPRESSOR)
    moves = [each for part in held for each in (part, over)]
    first = (move(Turn.OPEN, PanelPart.POSITION, "P0"), move(Turn.OPEN, PanelPart.BANK, "B1"))
    step = replace(step, moves=(*first, *moves), held=sum(parts), likely=likely)
    told = [each.split("; ")[0] for each in sentences(step, Page()) if each.startswith("hold")]
    assert told == [f"hold at 3000 {each}" for each in said]


@pytest.mark.parametrize(
    ("moves", "said"),
    [
        ((), "let the compressor feed on until B2 shows 3850"),
        (
            at_minute(20, move(Turn.STOP, PanelPart.COMPRESSOR)),
            "let the compressor feed on; 20 min into the step stop the compressor",
        ),
        (
            (
                *at_minute(10, move(Turn.STOP, PanelPart.COMPRESSOR)),
                *at_minute(20, move(Turn.START, PanelPart.COMPRESSOR)),
            ),
            "let the compressor feed on until B2 shows 3850; 10 min into the step stop the "
            "compressor, 20 min into the step start the compressor",
        ),
    ],
)
def test_no_reading_ends_a_wait_in_which_the_compressor_rests_last(
    moves: tuple[HandMove, ...], said: str
) -> None:
    """Its bank showed as much before, as it was stopped: who went on then went on too soon."""
    fed = FedBank(bank="B2", mol=230.0, after=psi(3800), shows=psi(3850))
    step = PlanStep(
        number=2, load=1, act=PlanAct.RAISE, source="", ends=Ends.TIME, changes=(), minutes=28.0,
        moves=moves, fed=(fed,),
    )  # fmt: skip
    assert sentences(step, Page()) == [said]


def turned(turn: Turn, name: str = "") -> PlanStep:
    moves = [move(turn, PanelPart.COMPRESSOR)]
    if name:
        moves.insert(0, move(Turn.OPEN, PanelPart.FEED, name))
    return PlanStep(
        number=1, load=1, act=PlanAct.FEED, source="", ends=Ends.DONE, changes=(), minutes=0.0,
        moves=tuple(moves),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("before", "does"),
    [
        ([], "stopped"),
        ([turned(Turn.START, "B2")], "feeding B2"),
        ([turned(Turn.START, "B2"), turned(Turn.UNLOAD)], "unloaded"),
        ([turned(Turn.START, "B2"), turned(Turn.UNLOAD), turned(Turn.LOAD, "B1")], "feeding B1"),
        ([turned(Turn.START, "B2"), turned(Turn.STOP)], "stopped"),
    ],
)
def test_a_load_says_what_the_compressor_does_as_it_begins(
    before: list[PlanStep], does: str
) -> None:
    later = replace(turned(Turn.STOP), load=2)
    assert compressor_at([*before, later], 2) == does
    assert compressor_at([opened_together("A")], 2) == ""


@pytest.mark.parametrize(
    ("holds", "stop", "said"),
    [(699.6, 3000, "at 700 open P2 "), (700, 3000, "at 700 open P2 "), (691, 3000, "at 700 open P2 "),
     (2998, 2999.5, "at 2998 open P2 ")],
)  # fmt: skip
def test_another_is_opened_at_no_less_than_it_holds(holds: float, stop: float, said: str) -> None:
    """Below it, its gas would flow into those that are open; what they come to is the most."""
    changes = tuple(
        CylinderChange(
            id=id_, position=at, before=psi(reads), after=psi(stop), reads=psi(reads),
            stop_at=psi(stop), ends=Ends.STOP, minutes=9, hot=None,
        )
        for id_, at, reads in (("14", "P1", 500), ("15", "P2", holds))
    )  # fmt: skip
    turns = (
        move(Turn.OPEN, PanelPart.POSITION, "P1"),
        move(Turn.OPEN, PanelPart.BANK, "B1"),
        move(Turn.WATCH, PanelPart.GAUGE, "P1", holds),
        move(Turn.OPEN, PanelPart.POSITION, "P2"),
        move(Turn.WATCH, PanelPart.GAUGE, "P1", stop),
        move(Turn.CLOSE, PanelPart.POSITION, "P1"),
        move(Turn.CLOSE, PanelPart.POSITION, "P2"),
        move(Turn.CLOSE, PanelPart.BANK, "B1"),
    )
    step = PlanStep(
        number=2, load=1, act=PlanAct.OPEN, source="B1", ends=Ends.STOP, changes=changes, minutes=9,
        moves=turns,
    )  # fmt: skip
    assert said in f"{rows(step, Page())[1].do} "
