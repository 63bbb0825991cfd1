"""What a refusal speaks of that a requalifier alone decides on is answered as a hold in its words."""

from __future__ import annotations

import pytest
from books import GOOD, TODAY, make_book, typed, with_lines
from msgspec.structs import replace

from tankbook.acts.open_against import open_against
from tankbook.records.counter import CounterFile
from tankbook.rules.gate import may_fill

WORDS = ("crack at the neck, seen from outside", "bulged below the shoulder", "was in a fire")
NAMED = {WORDS[0]: "suspected-crack", WORDS[1]: "suspected-crack", WORDS[2]: "heat"}
DAY, LATER = "2026-11-20", "2026-11-22"
FINDING = {WORDS[0]: "no crack", WORDS[1]: "no bulge", WORDS[2]: "no heat damage"}


def against(how: str, words: str, **keys: str) -> dict[str, str]:
    """The card's keys, and the counter's file, of one held and let go, or refused."""
    card = dict(keys)
    if how == "held":
        card["held"] = (
            f"[{{on: {DAY}, by: MV, why: '{words}', released: {LATER}, released_by: MV, "
            "released_why: the finder was sure of it}]"
        )
    if how == "refused":
        card["refused"] = f"[{{on: {DAY}, by: MV, reasons: ['{words}']}}]"
    return card


def answered(how: str, words: str, **keys: str) -> bool:
    """Whether it stands no more at the gate."""
    counter = None
    if how == "a stranger":
        counter = f"refused: [{{on: {DAY}, by: MV, serial: K118204, reasons: ['{words}']}}]\n"
    card = with_lines(GOOD, **against(how, words, **keys))
    book = make_book({"RB-014": card})
    if counter is not None:
        book = replace(book, counter=typed(CounterFile, counter))
    told = {r.code for r in may_fill(book, "RB-014", TODAY, station=False).refusals}
    found = {"refused-found", "suspected-crack", "bulged", "over-heated", "over-heated-steel"}
    wanted = {o.name for o in open_against(book, book.cylinders["RB-014"])}
    stands = bool(told & found)
    if how != "held" and words in NAMED:
        assert (f"{NAMED[words]} {DAY}" in wanted) is stands, "what is asked has a name"
    return not stands


SEEN = (
    f"{{on: {LATER}, by: Weir, checklist: sticker-seen, result: pass, sticker: seen, "
    f"checked: [inside, outside, threads, valve], seen_by: MV, seen_on: {LATER}}}"
)
LOOK = f"{{on: {LATER}, by: MV, checklist: annual, result: pass, sticker: issued}}"
TEST = "{on: %s, method: hydrostatic, by: T123, stamp: 11 T123 26, %s}"


@pytest.mark.parametrize("how", ["held", "refused", "a stranger"])
@pytest.mark.parametrize("words", WORDS)
def test_a_requalifier_alone_decides_of_the_held_and_of_the_refused(how: str, words: str) -> None:
    says = f"clears: [{NAMED[words]} {DAY}], finding: {FINDING[words]}"
    for keys, free in (
        ({}, False),
        ({"inspected": f"[{SEEN}]"}, False),
        ({"inspected": f"[{LOOK}]"}, False),
        ({"requalified": f"[{TEST % (LATER, 'note: dry')}]"}, False),
        ({"requalified": f"[{TEST % ('2026-11-18', says)}]"}, False),
        ({"requalified": f"[{TEST % (LATER, says)}]"}, True),
    ):
        assert answered(how, words, **keys) is free, keys


@pytest.mark.parametrize("how", ["refused", "a stranger"])
def test_what_is_only_out_of_date_is_answered_by_a_look(how: str) -> None:
    assert answered(how, "no sticker", inspected=f"[{LOOK}]")


@pytest.mark.parametrize("how", ["refused", "a stranger"])
@pytest.mark.parametrize("words", ["pitting inside", "line corrosion", "dent in the wall", "rust"])
def test_what_was_found_of_the_wall_stands_until_a_look_inside_passes_it(
    how: str, words: str
) -> None:
    assert not answered(how, words)
    assert not answered(how, words, inspected=f"[{LOOK.replace(LATER, '2026-11-01')}]")
    assert answered(how, words, inspected=f"[{LOOK}]")
