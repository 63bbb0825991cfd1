"""Whether a file holds what an act put there."""

from __future__ import annotations

import books
import pytest

from tankbook.ledger.there import beside, differs, holds, mended, stands
from tankbook.records.edits import AddEntry, AddLine, SetValue, Trail
from tankbook.records.log import LogLine, columns

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
STANDS: dict[str, tuple[str, str, str]] = {
    # what stood before, what stands now; whether that is the act, or in which keys a hand mended it
    "itself": ("", "2026-11-25 dent at the foot", "itself"),
    "a word mended": ("", "2026-11-25 dint at the foot", "mended"),
    "another day": ("", "2026-11-24 dent at the foot", "mended on"),
    "another day and a word": ("", "2026-11-24 dint at the foot", ""),
    "other initials": ("", "2026-11-25 dent at the foot by KD", "mended by"),
    "more words": ("", "2026-11-25 the dent that is at the outer rim of the foot", "mended why"),
    "other words": ("", "2026-11-25 boot off", ""),
    "one of its words that stood": (
        "2026-05-01 dent at the foot", "2026-05-01 dent at the foot", ""),
    "one of its words that stood, of another day now": (
        "2026-05-01 dent at the foot", "2026-05-02 dent at the foot", ""),
    "both of another day now": (
        "2026-05-01 dent at the foot", "2026-05-02 dent at the foot|2026-11-24 dent at the foot",
        "mended on"),
    "one of its day in other words": ("2026-11-25 boot off", "2026-11-25 boot off", ""),
    "one of its day and words by another": (
        "2026-11-25 dent at the foot by KD", "2026-11-25 dent at the foot by KD", ""),
    "one of its day mended, its own of another day": (
        "2026-11-25 boot off", "2026-11-25 boot was off|2026-11-24 dent at the foot", "mended on"),
}  # fmt: skip


def of(texts: str) -> bytes:
    each = (t.partition(" ") for t in texts.split("|") if t)
    said = ((day, *f"{why} by MV".split(" by ")[:2]) for day, _, why in each)
    return card("held", *(f"{{on: {day}, by: {by}, why: {why}" for day, why, by in said))


def became(edit: AddEntry | AddLine, now: bytes, stood: object) -> str:
    if holds(edit, now, stood):
        return "itself"
    may_be = mended(edit, now, stood)
    return " ".join(("mended", *differs(edit, may_be[0]))) if may_be else ""


@pytest.mark.parametrize(("stood", "now", "expected"), STANDS.values(), ids=STANDS)
def test_what_resembles_an_entry_may_be_it_where_it_can_be_no_other(
    stood: str, now: str, expected: str
) -> None:
    edit = AddEntry(PATH, ADDED, DENT)
    old = of(stood)
    noted = beside(edit, old, b"")
    assert became(edit, of(now), noted) == expected
    # an older version noted those of its day alone: another day is never it
    day = [each for each in noted["beside"] if each["on"] == DENT["on"]]
    assert became(edit, of(now), day) == ("" if expected == "mended on" else expected)


READ = {"at": "2026-11-25T10:00:00+01:00", "cylinder": "A", "act": "reading", "to": "2000 psi"}
LINES = {
    "itself": ("at", READ["at"], "itself"),
    "another time": ("at", "2026-11-25T10:30:00+01:00", "mended at"),
    "another cylinder": ("cylinder", "B", "mended cylinder"),
    "completed": ("note", "hot", "itself"),
    "another act": ("act", "empty", ""),
}


@pytest.mark.parametrize(("name", "cell", "expected"), LINES.values(), ids=LINES)
def test_a_line_of_another_time_or_cylinder_may_be_it(name: str, cell: str, expected: str) -> None:
    edit = AddLine(READ)
    now = ",".join(columns(LogLine)) + "\n"
    now += ",".join((READ | {name: cell}).get(c, "") for c in columns(LogLine)) + "\n"
    assert became(edit, now.encode(), None) == expected
    both = now.replace(READ["at"], "2026-11-25T10:31:00+01:00").replace(",A,", ",B,")
    assert expected != "itself" or became(edit, both.encode(), None) == ""
    # what another act wrote is not it
    theirs = AddLine(READ | {name: cell})
    assert expected == "itself" or not mended(edit, now.encode(), None, [theirs])


def test_an_entry_that_grew_stood_before() -> None:
    edit = AddEntry(PATH, ADDED, DENT)
    value = mended(edit, card("held", f"{HELD.replace('dent', 'dint at the foot')}"), {})
    assert value == []
    entry = "{on: 2026-11-25, by: MV, why: dint at the foot"
    (grown,) = mended(edit, card("held", f"{entry}, released: 2026-11-26"), {})
    assert stands(edit, card("held", entry), grown)
    assert not stands(edit, card("held", entry.replace("11-25", "11-24")), grown)
