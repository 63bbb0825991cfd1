"""Cards on which a look elsewhere contradicts itself or the rest: none becomes a YES by it."""

from __future__ import annotations

import pytest
from books import GOOD, SETTINGS, TODAY, make_book, with_lines

from tankbook.rules.gate import may_fill

OWN = "{on: 2026-02-09, by: MV, checklist: annual, result: pass, sticker: issued}"
HOME = "{on: 2026-11-05, by: MV, to: Northside Test House, for: requalification, back: 2026-11-20, refitted: 2026-11-20, refitted_by: Northside, note: none due}"
LOOK = "on: 2026-11, by: Northside T123, checklist: sticker-seen, result: pass, sticker: seen, checked: [inside, outside, threads, valve], seen_by: MV, seen_on: 2026-11-20"
TEST = "on: 2026-11, by: Northside T123, method: hydrostatic, checked: [inside, outside, threads, valve], seen_by: MV, seen_on: 2026-11-20"
FIRST = "{on: 2024-03, method: hydrostatic, by: maker}"


def answer(**changes: str | None) -> bool:
    card = with_lines(GOOD, status=None, **changes)
    settings = SETTINGS.replace("people:\n", "people:\n  LB: {left: 2024-01-01}\n")
    book = make_book({"A": card, "B": with_lines(GOOD, serial="K2")}, settings=settings)
    return may_fill(book.as_known_on(TODAY), "A", TODAY, station=False).fillable


def looked(look: str = LOOK, **changes: str | None) -> dict[str, str | None]:
    return {"sent": f"[{HOME}]", "inspected": f"[{OWN}, {{{look}}}]"} | changes


def with_test(entry: str = TEST, **changes: str | None) -> dict[str, str | None]:
    return {"sent": f"[{HOME}]", "requalified": f"[{FIRST}, {{{entry}}}]"} | changes


def test_the_plain_ones_are_a_yes() -> None:
    assert answer(**looked())
    assert answer(**with_test())
    assert not answer(sent=f"[{HOME}]")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("on: 2026-11,", "on: 2026-12,"),
        ("on: 2026-11,", "on: 2027-01-05,"),
        ("on: 2026-11,", "on: 2026-11-26,"),
        ("on: 2026-11,", "on: 2026-11-04,"),
        ("on: 2026-11,", "on: 2026-10,"),
        ("on: 2026-11,", "on: 2019-01,"),
        ("seen_on: 2026-11-20", "seen_on: 2027-11-20"),
        ("seen_on: 2026-11-20", "seen_on: 2026-11-26"),
        ("seen_on: 2026-11-20", "seen_on: 2026-11-04"),
        ("seen_on: 2026-11-20", "seen_on: 2026-10-20"),
        (", seen_on: 2026-11-20", ""),
        ("seen_by: MV, ", ""),
        ("by: Northside T123", "by: MV"),
        ("by: Northside T123", "by: mv"),
        ("by: Northside T123", "by: LB"),
        ("by: Northside T123", "by: Test Quay"),
        ("by: Northside T123", "by: Test Quay workshop"),
        ("by: Northside T123", "by: nobody"),
        ("by: Northside T123", "by: the owner"),
        ("by: Northside T123", "by: '?'"),
        ("by: Northside T123", "by: X"),
        ("by: Northside T123", "by: Maker"),
        ("by: Northside T123", "by: Weir Dive Shop"),
        ("by: Northside T123", "by: Weir Test House"),
        ("by: Northside T123, ", ""),
        ("inside, ", ""),
        ("outside, ", ""),
        ("checked: [inside, outside, threads, valve], ", ""),
        ("seen_on: 2026-11-20", "seen_on: 2026-11-20, note: inside not seen"),
        ("seen_on: 2026-11-20", "seen_on: 2026-11-20, note: failed"),
        ("seen_on: 2026-11-20", "seen_on: 2026-11-20, note: crack in the neck"),
        ("seen_on: 2026-11-20", "seen_on: 2026-11-20, void: {why: wrong, by: MV, on: 2026-11-21}"),
    ],
)
@pytest.mark.parametrize("kind", ["look", "test"])
def test_a_hostile_entry_is_no_yes(kind: str, old: str, new: str) -> None:
    text = LOOK if kind == "look" else TEST
    assert text.count(old) == 1
    changed = text.replace(old, new)
    assert not answer(**(looked(changed) if kind == "look" else with_test(changed)))


@pytest.mark.parametrize(
    "changes",
    [
        {"condemned": "[{on: 2026-11-01, by: T123, why: crack}]"},
        {"condemned": "[{on: 2026-11-21, by: T123, why: crack}]"},
        {"held": "[{on: 2026-11-01, by: MV, why: dent}]"},
        {"rejected": "[{on: 2026-11-01, by: MV, why: pits}]"},
        {"rejected": "[{on: 2026-11-20, by: Northside T123, why: pits}]"},
        {"lost": "[{on: 2026-11-21, by: MV}]"},
        {"lost": "[{on: 2026-11-21, by: MV, found: 2026-11-22, found_by: MV, found_why: shed}]"},
        {"rented": "[{on: 2026-11-01, to: B-1, back: 2026-11-02, damage: dent, pressure: 600 psi}]"},
        {"rented": "[{on: 2026-11-21, to: B-1, back: 2026-11-22, damage: dent, pressure: 600 psi}]"},
        {"rented": "[{on: 2026-11-21, to: B-1, back: 2026-11-22, pressure: 0 psi}]"},
        {"rented": "[{on: 2026-11-21, to: B-1, back: 2026-11-22, valve: open}]"},
        {"sent": f"[{HOME.replace('refitted: 2026-11-20, refitted_by: Northside, ', '')}]"},
        {"sent": f"[{HOME.replace('for: requalification', 'for: supplier-return')}]"},
        {"sent": f"[{HOME}, {HOME.replace('2026-11-05', '2026-11-21').replace('2026-11-20', '2026-11-23')}]"},
        {"sent": f"[{HOME.replace('back: 2026-11-20, refitted: 2026-11-20, refitted_by: Northside, ', '')}]"},
        {"handed_over": "[{on: 2026-11-21, to: C-1}]"},
    ],
)  # fmt: skip
@pytest.mark.parametrize("kind", ["look", "test", "both"])
def test_what_stands_here_stands(kind: str, changes: dict[str, str]) -> None:
    found = {"look": looked(), "test": with_test(), "both": looked() | with_test()}[kind]
    assert not answer(**found | changes)


BAD = "{on: 2026-11-21, by: Weir T4, checklist: sticker-seen, result: reject, checked: [inside, outside], seen_by: MV, seen_on: 2026-11-21, note: pits}"
FAIL = "{on: 2026-11-21, by: Weir T4, method: hydrostatic, result: fail, seen_by: MV, seen_on: 2026-11-21}"


@pytest.mark.parametrize(
    "changes",
    [
        {"inspected": f"[{OWN}, {BAD}, {{{LOOK.replace('2026-11,', '2026-11-22,')}}}]"},
        {"inspected": f"[{OWN}, {BAD}, {{{LOOK.replace('2026-11,', '2026-11-22,')}, clears: [inspected 2026-11-21]}}]"},
        {"inspected": f"[{OWN}, {{{LOOK}}}, {BAD}]"},
        {"requalified": f"[{FIRST}, {FAIL}, {{{TEST.replace('2026-11,', '2026-11-22,')}}}]"},
        {"requalified": f"[{FIRST}, {{{TEST}}}, {FAIL}]"},
        {"requalified": f"[{FIRST}, {FAIL}]"},
    ],
)  # fmt: skip
def test_what_failed_elsewhere_is_answered_by_no_sticker(changes: dict[str, str]) -> None:
    assert not answer(**looked() | changes)


def test_a_note_of_a_crack_refuses_whatever_was_looked_at_before() -> None:
    assert not answer(inspected=f"[{OWN}, {{{LOOK}, note: crack in the neck}}]")
    assert answer(inspected=f"[{OWN}, {{{LOOK}, note: no crack}}]")


def test_an_outside_look_elsewhere_leaves_the_rest_as_it_was() -> None:
    outside = LOOK.replace("inside, ", "")
    assert answer(inspected=f"[{OWN}, {{{outside}}}]")
    assert not answer(inspected=f"[{{{outside}}}]")
    assert answer(inspected=f"[{{{LOOK}}}]")
