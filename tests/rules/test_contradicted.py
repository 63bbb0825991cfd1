"""A plain remark that says something else than its own card is told, and of a thread it holds."""

from __future__ import annotations

import pytest
from books import GOOD, TODAY, make_book

from tankbook.rules.contradicted import contradicts
from tankbook.rules.gate import may_fill
from tankbook.rules.harmless import is_plain
from tankbook.rules.told_against import tells_against

STEEL = """
serial: K118
maker: Example Cylinder Co
specification: [EN 1964-1]
service_pressure: 232 bar
test_pressure: 348 bar
water_volume: 12 L
material: steel
neck_thread: M25x2
valve: {outlet: din-200, thread: M25x2, rating: 232 bar}
service: air
use: pool
status: in-service
requalified:
  - {on: 2024-03, method: hydrostatic, by: maker}
"""
NITROX = STEEL.replace("service: air", "service: nitrox")
OTHERWISE = [
    "alu", "ali", "aluminium", "composite", "carbon", "AL80", "7 l", "10 litre", "15 l steel", "yoke", "a-clamp", "yoke valve", "180", "200",
    "50", "300", "trimix", "nitrox", "80%", "32%", "deco bottle, 40%", "Alu", "blue boot, alu", "M26x2", "2 l", "Colour: blue; alu",
    "comment: 180", "nitrox tank",
]  # fmt: skip
ALIKE = [
    "steel", "Stahl", "acier", "12 L", "12.2 l", "12 litre steel", "DIN", "valve: DIN", "232", "230", "118", "14", "no. 180", "M25x2", "air",
    "2019", "Price: 180", "ID 200", "blue boot", "30 kg", "LP95",
]  # fmt: skip


def told(card: str, note: str) -> list[str]:
    book = make_book({"RB-014": f'{card}note: "{note}"\n'})
    reasons = may_fill(book, "RB-014", TODAY, station=False).reasons
    return [r.text for r in reasons if r.code == "note-not-judged"]


@pytest.mark.parametrize("text", OTHERWISE)
def test_what_a_plain_remark_says_otherwise_than_its_card_is_told(text: str) -> None:
    assert is_plain(text)
    assert contradicts(make_book({"RB-014": STEEL}).cylinders["RB-014"], text)
    assert told(STEEL, text)


@pytest.mark.parametrize("text", ALIKE)
def test_what_its_card_says_as_well_is_not(text: str) -> None:
    assert is_plain(text)
    card = make_book({"RB-014": STEEL}).cylinders["RB-014"]
    assert contradicts(card, text) == ""
    assert not told(STEEL, text)


@pytest.mark.parametrize(
    ("text", "otherwise"), [("32%", False), ("80%", True), ("nitrox", False), ("trimix", True)]
)
def test_a_mix_is_held_against_what_its_cylinder_is_for(text: str, otherwise: bool) -> None:
    card = make_book({"RB-014": NITROX}).cylinders["RB-014"]
    assert bool(contradicts(card, text)) is otherwise


@pytest.mark.parametrize("text", ["M18x1.5", "m18 x 1.5", "blue boot, M18x1,5"])
def test_another_thread_holds(text: str) -> None:
    card = make_book({"RB-014": STEEL}).cylinders["RB-014"]
    assert "M25x2" in tells_against(make_book({"RB-014": STEEL}), card, text)
    assert told(STEEL, text)


@pytest.mark.parametrize("text", ["alu", "yoke", "din", "207", "206", "11 l", "AL80"])
def test_of_a_convertible_aluminium_one_other_things_are_so(text: str) -> None:
    assert contradicts(make_book({"RB-014": GOOD}).cylinders["RB-014"], text) == ""


@pytest.mark.parametrize("text", ["-2 kg", "4 mm", "12 mm"])
def test_a_loss_of_weight_and_a_wall_are_no_plain_measure(text: str) -> None:
    assert not is_plain(text)
