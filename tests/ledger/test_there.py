"""Whether a file holds what an act put there."""

from __future__ import annotations

import books
import pytest

from tankbook.ledger.there import beside, holds
from tankbook.records.edits import AddEntry, SetValue, Trail

PATH = "cylinders/A.yaml"
OUT = "{on: 2026-11-24, to: B-4471"
HELD = "{on: 2026-03-01, by: MV, why: dent"
RELEASED = "released: 2026-11-25, released_by: MV, released_why: fine"


def card(place: str, *entries: str) -> bytes:
    listed = "".join(f"  - {each}}}\n" for each in entries)
    return f"{books.GOOD.rstrip()}\n{place}:\n{listed}".encode()


ENDS: dict[str, tuple[str, str, str, str, bool]] = {
    "released by another": ("held", HELD, RELEASED, "released: 2026-11-20, released_by: KD", True),
    "held still": ("held", HELD, RELEASED, "", False),
    "struck out": ("held", HELD, RELEASED, "void: {why: card, by: MV, on: 2026-11-25}", False),
    "the hold is gone": ("held", HELD.replace("dent", "x"), RELEASED, "released: 2026-11-20", False),
    "back, both sound": ("rented", OUT, "back: 2026-11-25, valve: closed", "back: 2026-11-26", True),
    "back, theirs tells more": (
        "rented", OUT, "back: 2026-11-25, valve: closed", "back: 2026-11-26, valve: open", True,
    ),
    "back, ours told more": (
        "rented", OUT, "back: 2026-11-25, valve: open", "back: 2026-11-26, valve: closed", False,
    ),
    "damage that is no more said": (
        "rented", OUT, "back: 2026-11-25, damage: gouge", "back: 2026-11-26", False,
    ),
    "a wrong pass struck out": (
        "inspected", "{on: 2026-11-01, by: MV, checklist: annual, result: pass",
        "void: {why: wrong card, by: MV, on: 2026-11-25}", "sticker: issued", False,
    ),
}  # fmt: skip


@pytest.mark.parametrize(("place", "was", "mine", "theirs", "there"), ENDS.values(), ids=ENDS)
def test_an_entry_that_was_ended_otherwise_is_no_loss_unless_it_tells_less(
    place: str, was: str, mine: str, theirs: str, there: bool
) -> None:
    began = HELD if place == "held" else was
    old, new = card(place, began), card(place, f"{began}, {mine}")
    key, _, value = mine.partition(", ")[0].partition(": ")
    edit = SetValue(PATH, (place, 0, key), value if key != "void" else {"why": "wrong card"})
    stood = beside(edit, old, new)
    assert holds(edit, card(place, f"{was}, {theirs}" if theirs else was), stood) is there
    # what an older version noted does not say what the entry was
    assert not holds(edit, card(place, f"{was}, {theirs}" if theirs else was), stood["times"])


ADDED: Trail = ("held",)
DENT = {"on": "2026-11-25", "by": "MV", "why": "dent at the foot"}
STANDS: dict[str, tuple[str, str, bool, bool]] = {
    # what stood before, what stands now; whether it holds the act, and with its day
    "itself": ("", "2026-11-25 dent at the foot", True, True),
    "a word mended": ("", "2026-11-25 dint at the foot", True, True),
    "another day": ("", "2026-11-24 dent at the foot", True, False),
    "another day and a word": ("", "2026-11-24 dint at the foot", False, False),
    "one of its words that stood": ("2026-05-01 dent at the foot", "2026-05-01 dent at the foot",
                                    False, False),
    "one of its words that stood, of another day now": (
        "2026-05-01 dent at the foot", "2026-05-02 dent at the foot", False, False),
    "both of another day now": (
        "2026-05-01 dent at the foot", "2026-05-02 dent at the foot|2026-11-24 dent at the foot",
        True, False),
    "one of its day in other words": ("2026-11-25 boot off", "2026-11-25 boot off", False, False),
    "one of its day mended, its own of another day": (
        "2026-11-25 boot off", "2026-11-25 boot was off|2026-11-24 dent at the foot", True, False),
}  # fmt: skip


def of(texts: str) -> bytes:
    each = (t.partition(" ") for t in texts.split("|") if t)
    return card("held", *(f"{{on: {day}, by: MV, why: {why}" for day, _, why in each))


@pytest.mark.parametrize(("stood", "now", "held", "of_day"), STANDS.values(), ids=STANDS)
def test_an_entry_of_another_day_is_it_only_where_it_can_be_no_other(
    stood: str, now: str, held: bool, of_day: bool
) -> None:
    edit = AddEntry(PATH, ADDED, DENT)
    old = of(stood)
    noted = beside(edit, old, b"")
    assert holds(edit, of(now), noted) is held
    assert holds(edit, of(now), noted, day=True) is of_day
    # an older version noted those of its day alone
    day = [each for each in noted["beside"] if each["on"] == DENT["on"]]
    assert holds(edit, of(now), day) is of_day
