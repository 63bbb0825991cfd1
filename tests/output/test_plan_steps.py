"""The words of a step say what its moves are, no more and no less."""

from __future__ import annotations

import pytest

from tankbook.filling.results import Ends, HandMove, PanelPart, PlanAct, PlanStep, Turn
from tankbook.output.page import Page
from tankbook.output.plan_steps import rows
from tankbook.units import GaugePressure


def move(turn: Turn, part: PanelPart, name: str = "", psi: float | None = None) -> HandMove:
    at = None if psi is None else GaugePressure.of(psi, "psi")
    return HandMove(turn=turn, part=part, name=name, at=at)


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
            "shut the cylinder valves; bleed each position; open P2, bleed the line, shut P2; remove",
        ),
        (PlanAct.REMOVE, (SHUT, LINE), "shut the cylinder valves; bleed the line; remove"),
        (
            PlanAct.LOWER,
            (*LOWERED, *READ_ON),
            "bleed the line; lower the regulator to 2640 psi; with every position shut open B2, see "
            "that the gauge reads no more, shut B2",
        ),
        (PlanAct.LOWER, LOWERED, "bleed the line; lower the regulator to 2640 psi"),
        (PlanAct.FEED, (FEED,), "start the compressor; let it feed B2, to 4500 psi at most"),
    ],
)
def test_words_say_the_moves(act: PlanAct, moves: tuple[HandMove, ...], said: str) -> None:
    step = PlanStep(
        number=1, load=1, act=act, source="", ends=Ends.DONE, changes=(), minutes=0.0, moves=moves
    )
    assert [row.do for row in rows(step, Page())] == [said]
