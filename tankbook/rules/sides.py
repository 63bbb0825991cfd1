"""What each parent of a merge did not know: the commits that came to it from the other sides."""

from __future__ import annotations

import heapq
from collections.abc import Sequence


class Ancestry:
    """The parents of every commit, told in an order in which parents come before their children."""

    def __init__(self) -> None:
        self._place: dict[str, int] = {}
        self._names: list[str] = []
        self._parents: list[tuple[int, ...]] = []

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
