"""What each parent of a merge did not know: the commits that came to it from the other sides.

And what a line of descent knows by itself, whatever is done beside it.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Sequence
from typing import Generic, TypeVar

V = TypeVar("V")


class Ancestry:
    """The parents of every commit, told in an order in which parents come before their children."""

    def __init__(self) -> None:
        self._place: dict[str, int] = {}
        self._names: list[str] = []
        self._parents: list[tuple[int, ...]] = []
        self._line: tuple[str, frozenset[str]] = "", frozenset()

    def add(self, name: str, parents: Sequence[str]) -> None:
        """Tell of a commit. Parents never told of (in a shallow clone) are left out."""
        if name in self._place:
            return
        self._place[name] = len(self._names)
        self._names.append(name)
        self._parents.append(tuple(self._place[p] for p in parents if p in self._place))

    def unknown_to(self, tips: Sequence[str]) -> tuple[frozenset[str], ...]:
        """For each tip, the commits that are reachable from another tip but not from it.

        Walks from the tips to where all of them meet, and no further.
        """
        seen: dict[int, int] = {}
        for bit, tip in enumerate(tips):
            if tip in self._place:
                place = self._place[tip]
                seen[place] = seen.get(place, 0) | 1 << bit
        everyone = (1 << len(tips)) - 1
        queue = [-place for place in seen]
        heapq.heapify(queue)
        apart = sum(bits != everyone for bits in seen.values())
        unknown: list[set[str]] = [set() for _ in tips]
        while apart and queue:
            place = -heapq.heappop(queue)
            bits = seen[place]
            if bits != everyone:
                apart -= 1
                for bit, names in enumerate(unknown):
                    if not bits >> bit & 1:
                        names.add(self._names[place])
            for parent in self._parents[place]:
                before = seen.get(parent)
                seen[parent] = (before or 0) | bits
                if before is None:
                    heapq.heappush(queue, -parent)
                apart += (seen[parent] != everyone) - (before is not None and before != everyone)
        return tuple(map(frozenset, unknown))

    def line(self, tip: str) -> frozenset[str]:
        """A commit and all that it builds on."""
        if self._line[0] != tip or not self._line[1]:
            left = [self._place[tip]] if tip in self._place else []
            seen = set(left)
            while left:
                more = [p for p in self._parents[left.pop()] if p not in seen]
                seen.update(more)
                left += more
            self._line = tip, frozenset(self._names[place] for place in seen)
        return self._line[1]


class ByLine(Generic[V]):
    """What files came to, each by the commit that made it so: what was done on another line of
    descent counts for nobody who does not build on it."""

    def __init__(self, ancestry: Ancestry) -> None:
        self._ancestry = ancestry
        self._said: dict[str, list[tuple[str, V]]] = {}

    def put(self, commit: str, path: str, value: V) -> None:
        """Say what a file is from a commit on, told after those that it builds on."""
        self._said.setdefault(path, []).append((commit, value))

    def get(self, tip: str, path: str) -> V | None:
        """What was said last of a file in a commit or what it builds on."""
        said = self._said.get(path)
        if not said:
            return None
        line = self._ancestry.line(tip)
        return next((value for commit, value in reversed(said) if commit in line), None)

    def items(self, tip: str) -> Iterator[tuple[str, V]]:
        """What was said last of each file that anything was said of."""
        for path in self._said:
            found = self.get(tip, path)
            if found is not None:
                yield path, found
