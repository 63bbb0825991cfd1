"""Thread marks, whichever way they are written."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.rules.threads import is_inch, is_unnamed, named, stated, threads_match

ONE_THREAD = {
    # SP12 and 25P: Divers Alert Network (read); the rest of the spellings: common practice, no source
    "3/4-14 NPSM": [
        '3/4" NPSM', '3/4"-14 NPSM', "3/4''-14 NPSM", "3/4\u2033 NPSM", ".750-14 NPSM", "0.75-14 NPSM",
        "\u00be NPSM", "\u00be-14 NPSM", "3/4-14 NPSM (SP12)", "3/4 NPS", "3/4nps", "3/4x14 NPSM",
        "3/4 - 14 NPSM", "3/4\u201314 NPSM", "3/4 in NPSM", "SP12", "sp 12", "(SP12)",
    ],
    "M25x2": [
        "M25x2-6g", "M25x2-6H", "M25x2 (25P)", "25P", "25 p", "M25", "M25-2", "M25/2", "M25*2", "M25\u00d72",
        "M 25 x 2", "M25x2.0", "M25x2,0", "m25x2 iso", "(M25x2)", "\uff2d25x2",
    ],
    "M18x1.5": ["M18x1,5", "18P", "M18", "M18x1.5-6H"],
    "M30x2": ["30P", "M30"],
    "7/8-14 UNF": ["7/8 UNF", "7/8-14 UNF-2A", '7/8"-14UNF', "7/8-14 UN", "0.875-14 UNF"],
    "3/4-16 UNF": ["3/4 UNF", "3/4-16UNF"],
    "1 1/8-12 UNF": ["1-1/8-12 UNF", "1\u215b-12 UNF", "1 1/8 UNF"],
    "1/2-14 NGT": ["1/2 NGT", '1/2"-14 NGT'],
    "3/4-14 NGT": ["3/4 NGT"],
    "G3/4": ["3/4 BSP", "3/4 BSPP", "G 3/4", "3/4-14 BSP"],
    "W28.8x1/14": ["W 28,8 x 1/14", "28.8-14 W", "W28.8"],
    "25E": ["25e", " 25 E "],
}  # fmt: skip


@pytest.mark.parametrize(("one", "other"), [(k, v) for k, vs in ONE_THREAD.items() for v in vs])
def test_one_thread_in_two_spellings(one: str, other: str) -> None:
    assert threads_match(one, other)
    assert is_inch(other) is not one.startswith(("M", "25E"))


@pytest.mark.parametrize("one", ONE_THREAD)
def test_no_two_threads_are_one(one: str) -> None:
    assert [other for other in ONE_THREAD if threads_match(one, other)] == [one]


@pytest.mark.parametrize(
    "text",
    [
        "3/4", "25", "1", "3/4-14", "same as valve 1", "3/4 NPSM?", "3/4-14 NPSM (25P)", "M25x2 or 3/4 NPSM",
        "M25 3/4", "3/0 NPSM", "3/4 UNC", "G 3/4 NPSM", "12345", "M25x", "thread 2 worn",
    ],
)  # fmt: skip
def test_what_names_no_thread_matches_nothing_not_even_itself(text: str) -> None:
    assert is_unnamed(text)
    assert stated(text) is None
    assert not threads_match(text, text)


@pytest.mark.parametrize("text", [None, "", "?", "n/a", "unknown", "none"])
def test_what_says_nothing_is_not_written_down(text: str | None) -> None:
    assert not is_unnamed(text)
    assert stated(text) is None


@given(st.text(alphabet='0123456789/-. x"MNPSGUFRW()', max_size=14))
def test_any_text_is_a_thread_or_none(text: str) -> None:
    assert named(text) is None or threads_match(text, text.lower())
