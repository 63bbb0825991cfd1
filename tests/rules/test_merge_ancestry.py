"""What each parent of a merge did not know, against the plain definition."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from tankbook.rules.merge_ancestry import Ancestry


def known(parents: dict[int, list[int]], tip: int) -> set[int]:
    """Everything reachable from a tip, itself included."""
    seen: set[int] = set()
    left = [tip]
    while left:
        each = left.pop()
        if each not in seen:
            seen.add(each)
            left += parents[each]
    return seen


@st.composite
def histories(draw: st.DrawFn) -> tuple[dict[int, list[int]], list[int]]:
    """A history of up to 14 commits, and two or three of them."""
    size = draw(st.integers(1, 14))
    parents = {
        n: draw(st.lists(st.integers(0, n - 1), max_size=3, unique=True)) if n else []
        for n in range(size)
    }
    return parents, draw(st.lists(st.integers(0, size - 1), min_size=2, max_size=3))


@given(histories())
def test_it_is_what_the_others_reach_and_it_does_not(
    history: tuple[dict[int, list[int]], list[int]],
) -> None:
    parents, tips = history
    ancestry = Ancestry()
    for name in parents:
        ancestry.add(str(name), [str(p) for p in parents[name]])
    reached = [known(parents, tip) for tip in tips]
    everything = set().union(*reached)
    assert ancestry.unknown_to([str(t) for t in tips]) == tuple(
        frozenset(map(str, everything - mine)) for mine in reached
    )


def test_parents_beyond_a_shallow_clone_are_left_out() -> None:
    ancestry = Ancestry()
    ancestry.add("a", ["far"])
    ancestry.add("b", ["a"])
    ancestry.add("c", ["a", "far"])
    assert ancestry.unknown_to(["b", "c"]) == (frozenset({"c"}), frozenset({"b"}))
    assert ancestry.unknown_to(["b", "far"]) == (frozenset(), frozenset({"a", "b"}))
