"""Which commits a ledger had at a moment, worked out from parents and dates that may be wrong.

Along the first parents, the dates that fit together most are believed; a commit dated otherwise was
made no earlier than those before it. What came in by a merge was made no later than that.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Known:
    """A commit by its name, its parents, and its committer's date in seconds."""

    id: str
    parents: tuple[str, ...]
    at: int


@dataclass(frozen=True, slots=True)
class Head:
    """A line of descent that existed at a moment, and the commit that merged it later."""

    id: str
    merged_in: str


@dataclass(frozen=True, slots=True)
class Then:
    """The commit along the first parents that counted at a moment, and the other heads."""

    base: str
    others: tuple[Head, ...]


def heads_at(commits: Sequence[Known], tip: str, moment: int) -> Then | None:
    """The heads there were at a moment; None where nothing was committed yet.

    Args:
        commits: every commit up to the tip, parents first.
        tip: the commit whose history it is.
        moment: seconds, included.
    """
    known = {c.id: c for c in commits}
    chain = list(_first_parents(known, tip))
    dates = dict(zip((c.id for c in chain), _believed([c.at for c in chain]), strict=True))
    place = bisect_right([dates[c.id] for c in chain], moment) - 1
    if place < 0:
        return None
    found: dict[str, str] = {}
    for commit, merge in _beside(known, chain[place + 1 :], set(_ancestors(known, chain[place]))):
        before = (dates[p] for p in commit.parents if p in dates)
        dates[commit.id] = min(max(commit.at, *before, 0), dates[merge])
        if dates[commit.id] <= moment:
            found[commit.id] = merge
    below = {p for name in found for p in known[name].parents}
    heads = tuple(Head(name, merge) for name, merge in found.items() if name not in below)
    return Then(chain[place].id, heads)


def _first_parents(known: Mapping[str, Known], tip: str) -> Iterator[Known]:
    chain = []
    here = known.get(tip)
    while here is not None:
        chain.append(here)
        here = known.get(here.parents[0]) if here.parents else None
    return reversed(chain)


def _ancestors(known: Mapping[str, Known], start: Known) -> Iterator[str]:
    """A commit and all that are reachable from it."""
    left, seen = [start.id], {start.id}
    while left:
        name = left.pop()
        yield name
        for parent in known[name].parents:
            if parent in known and parent not in seen:
                seen.add(parent)
                left.append(parent)


def _beside(
    known: Mapping[str, Known], later: Sequence[Known], seen: set[str]
) -> Iterator[tuple[Known, str]]:
    """The commits that later ones along the first parents brought in by merging, parents first,
    each with its merge."""
    for merge in later:
        seen.add(merge.id)
        order: list[str] = []
        left = [(p, False) for p in merge.parents[1:] if p in known]
        while left:
            name, done = left.pop()
            if done:
                order.append(name)
            elif name not in seen:
                seen.add(name)
                left.append((name, True))
                left += [(p, False) for p in known[name].parents if p in known]
        for name in order:
            yield known[name], merge.id


def _believed(dates: Sequence[int]) -> list[int]:
    """Dates that never go back: those that fit together most stay, one that does not counts as the
    one before it; those before the first as that."""
    fit = _longest(dates)
    found: list[int] = []
    for place, at in enumerate(dates):
        if place in fit:
            found.append(at)
        else:
            found.append(found[-1] if found else dates[min(fit)])
    return found


def _longest(dates: Sequence[int]) -> set[int]:
    """The places of the most dates of which none is earlier than one before it.

    Of as many the earlier ones stay: looked for from the end, where a smaller date fits before
    more.
    """
    tails: list[int] = []
    values: list[int] = []
    before: list[int] = [-1] * len(dates)
    for place in range(len(dates) - 1, -1, -1):
        at = bisect_right(values, -dates[place])
        before[place] = tails[at - 1] if at else -1
        if at == len(tails):
            tails.append(place)
            values.append(-dates[place])
        else:
            tails[at], values[at] = place, -dates[place]
    found: set[int] = set()
    place = tails[-1] if tails else -1
    while place >= 0:
        found.add(place)
        place = before[place]
    return found
