"""Forms to write on, the sheets made of them, and the bench card."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import pdf as seen
import pytest
from msgspec.structs import replace
from syrupy.assertion import SnapshotAssertion

from tankbook.filling.problem import Favour
from tankbook.filling.results import (
    BankAfter,
    CylinderChange,
    Ends,
    HandMove,
    Hot,
    Load,
    Outcome,
    PanelPart,
    Plan,
    PlanAct,
    PlanStep,
    Seat,
    Turn,
    Unfilled,
)  # fmt: skip
from tankbook.output.card import Card
from tankbook.output.drawing import A4, LETTER
from tankbook.output.fill_sheet import SheetLine
from tankbook.output.page import Page
from tankbook.output.paper.bench_card import bench_card
from tankbook.output.paper.form import Form, FormColumn, FormGroup, FormRow, print_form
from tankbook.output.paper.sheets import count_form, fill_form
from tankbook.records.book import Book
from tankbook.records.words import Shore
from tankbook.rules.stock import expected_here
from tankbook.units import GaugePressure, Temperature, Volume

COLUMNS = (FormColumn("", 1, tick=True), FormColumn("id", 3, bold=True), FormColumn("place", 4))


def form(count: int) -> Form:
    rows = tuple(FormRow(("", f"RB-{n:03}", "rack 2"), "held air") for n in range(count))
    return Form("Count", ("Before.",), COLUMNS, (FormGroup("Rack 2", rows),), ("After.",), "Quay")


def test_every_page_of_a_form_has_its_headings_and_its_number() -> None:
    text = seen.text_of(print_form(form(60), LETTER))
    pages = text.split("\n\f\n")
    assert len(pages) == 4
    for number, page in enumerate(pages, 1):
        assert "id place" in page.replace("\n", " ")
        assert f"Quay, page {number} of 4" in page
        assert ("Rack 2, continued" in page) == (number > 1)
    for n in range(60):
        assert text.count(f"RB-{n:03}") == 1
    assert pages[-1].rstrip().endswith("After.\nQuay, page 4 of 4")


def test_a_box_to_tick_for_each_row() -> None:
    frames = seen.frames_of(print_form(form(5), A4))
    assert [round(f.width, 1) for f in frames] == [4.5] * 5


@pytest.mark.parametrize(("paper", "size"), [(A4, (210.0, 297.0)), (LETTER, (215.9, 279.4))])
def test_paper(paper: tuple[float, float], size: tuple[float, float]) -> None:
    page = seen.opened(print_form(form(1), paper))[0]
    got = (page.get_width() * seen.MM, page.get_height() * seen.MM)
    assert got == pytest.approx(size, abs=0.05)


@pytest.mark.parametrize("text", ["9" * 80, "RENTAL-CYLINDER-00017", "R" * 31])
def test_what_is_too_wide_for_its_column_keeps_no_sheet_back(text: str) -> None:
    """It is smaller, and where that does not do it goes on below; none of it is lost, and it stays
    in its column."""
    row = FormRow(("", text, ""))
    pdf = print_form(Form("Count", (), COLUMNS, (FormGroup("", (row,)),), (), "Quay"), A4)
    assert text in "".join(seen.text_of(pdf).split())


def test_a_fill_sheet(
    cove: Book, card_of: Callable[[Book, str], Card], today: dt.date, snapshot: SnapshotAssertion
) -> None:
    cards = [card_of(cove, i) for i in ("RB-011", "RB-041", "CU-072", "CU-061")]
    lines = [SheetLine(c.id, "F1", c.answer, c.contents) for c in cards]
    pdf = print_form(fill_form(lines, "Brindle Cove", today, Page()), LETTER)
    assert seen.text_of(pdf) == snapshot
    assert len(seen.frames_of(pdf)) == 3  # no box for what must not be filled


def test_a_count_sheet(cove: Book, today: dt.date, snapshot: SnapshotAssertion) -> None:
    expected = expected_here(cove)
    text = seen.text_of(
        print_form(count_form(expected, "Brindle Cove", today, Page(shore=Shore.BAR)), A4)
    )
    assert text == snapshot
    assert all(e.id in text for e in expected)


def psi(value: float) -> GaugePressure:
    return GaugePressure.of(value, "psi")


def opening(number: int, ends: Ends, before: float, after: float, stop: float) -> PlanStep:
    hot = Hot(
        gas=Temperature.of(41, "degC"),
        settles=psi(after),
        low=psi(after - 60),
        high=psi(after + 40),
    )
    change = CylinderChange(
        id="RB-014", position="P1", before=psi(before), after=psi(after), reads=psi(before),
        stop_at=psi(stop), ends=ends, hot=hot,
    )  # fmt: skip
    at = None if ends is Ends.LEVEL else psi(stop)
    moves = (
        HandMove(turn=Turn.OPEN, part=PanelPart.POSITION, name="P1"),
        HandMove(turn=Turn.OPEN, part=PanelPart.BANK, name=f"B{number}"),
        HandMove(turn=Turn.WATCH, part=PanelPart.GAUGE, name="P1", at=at),
        HandMove(turn=Turn.CLOSE, part=PanelPart.POSITION, name="P1"),
        HandMove(turn=Turn.CLOSE, part=PanelPart.BANK, name=f"B{number}"),
    )
    return PlanStep(
        number=number, load=1, act=PlanAct.OPEN, source=f"B{number}", ends=ends, changes=(change,),
        minutes=2.6, moves=moves, source_before=psi(4000), source_after=psi(3759.9),
    )  # fmt: skip


OUTCOME = Outcome(
    way="best", unfilled=1, compressor_fills=0, full_fills=9, stored_above_mol=1.0,
    compressor_minutes=0.0, handlings=1, session_minutes=9.0,
)  # fmt: skip


def plan(**more: Any) -> Plan:
    chosen: dict[str, Any] = {
        "gas": "air", "ambient": Temperature.of(60, "degF"), "unit": "psi", "favour": next(iter(Favour)),
        "loads": (Load(number=1, fill_pressure=psi(3000), seats=(Seat(id="RB-014", position="P1"),), handling_minutes=3.0),),
        "steps": (opening(1, Ends.LEVEL, 500, 1799.9, 1799.9), opening(2, Ends.STOP, 1799.9, 2739.9, 2999.9)),
        "reached": (), "unfilled": (Unfilled(id="RB-031", why="the banks are too low", mend="run the compressor", holds=psi(1400)),),
        "banks": (BankAfter(label="B1", water_volume=Volume.of(48, "L"), before=psi(2400), after=psi(1799.9)),),
        "full_fills": 9, "standard": "al80", "gas_used_mol": 100.0, "session_minutes": 9.0, "attended_minutes": 9.0,
        "compressor_minutes": 0.0, "restore_minutes": None, "outcome": OUTCOME, "other": OUTCOME, "carried": (),
        "readiness": None, "cautions": ("A trained operator decides.",), "evaluations": 1,
    }  # fmt: skip
    return Plan(**(chosen | more))


def test_a_bench_card(today: dt.date, snapshot: SnapshotAssertion) -> None:
    pdf = bench_card(plan(), "Brindle Cove", today, Page())
    assert seen.text_of(pdf) == snapshot
    assert [round(f.width, 1) for f in seen.frames_of(pdf)] == [4.5, 4.5]


def test_who_may_not_be_filled_stands_on_the_card(today: dt.date) -> None:
    text = seen.text_of(bench_card(plan(), "Q", today, Page(), ["RB-019: damage noted"]))
    assert "DO NOT FILL: RB-019: damage noted" in text
    assert "NOT FILLED: RB-031" in text


def test_no_figure_of_the_card_is_above_the_plan_s(today: dt.date) -> None:
    """2999.9 is shown as 2990, not as 3000; in bar, 206.8 as 206."""
    assert "stop at 2990," in seen.text_of(bench_card(plan(), "Q", today, Page()))
    assert "stop at 206," in seen.text_of(bench_card(plan(), "Q", today, Page(shore=Shore.BAR)))


def test_a_load_is_headed_on_the_page_of_its_first_step(today: dt.date) -> None:
    """So no page ends with who is connected and nothing to do."""
    one, card = plan().loads[0], Page()
    for before in range(4):
        loads = tuple(replace(one, number=n) for n in range(1, 30))
        steps = tuple(replace(opening(n, Ends.STOP, 500, 2700, 2990), load=n) for n in range(1, 30))
        notes = ["WARNING: noted"] * before
        made = bench_card(plan(loads=loads, steps=steps), "Q", today, card, notes=notes)
        pages = seen.text_of(made).split("\n\f\n")
        assert len(pages) > 2
        for n in range(1, 30):
            (page,) = [p for p in pages if f"Load {n}: " in p]
            assert f"\n{n}. Open P1, B{n}" in page


def test_a_step_stays_on_one_page(today: dt.date) -> None:
    steps = tuple(opening(n, Ends.STOP, 500, 2700, 2990) for n in range(1, 70))
    pages = seen.text_of(bench_card(plan(steps=steps), "Q", today, Page())).split("\n\f\n")
    assert len(pages) > 2
    for n in range(1, 70):
        (page,) = [p for p in pages if f"\n{n}. Open P1, B{n}" in f"\n{p}"]
        assert f"shut P1, B{n}; 3750 left" in " ".join(page.split())
        assert "regulator at 3000 psi, no higher" in page.lower()
    for page in pages[1:]:
        assert "Load 1, continued: RB-014 at P1" in " ".join(page.split())
