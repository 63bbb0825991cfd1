"""Who is connected where: fill positions, and the loads that a sequence of fills makes."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct, field

FOUR = tuple(range(4))


class FillPositions(Struct, frozen=True, eq=False):
    """The fill positions, by number, enclosed ones first.

    `choices[f]` are the positions that a cylinder with `fits` f goes into; `enclosed` is how many
    of all positions are enclosed; at one of `alone`, which cannot be shut off, nothing is connected
    beside another. No more than `most` are connected at once. The default is four positions that
    take everything.
    """

    choices: tuple[tuple[int, ...], ...] = (FOUR,)
    enclosed: int = 4
    alone: frozenset[int] = frozenset()
    most: int | None = None
    _known: dict[tuple[int, ...], tuple[int, ...] | None] = field(default_factory=dict)

    @property
    def count(self) -> int:
        """How many cylinders are connected at once at most: the positions that anything fits
        into."""
        places = len({place for choice in self.choices for place in choice})
        return places if self.most is None else min(places, self.most)

    def at_once(self, most: int) -> FillPositions:
        """The same, with no more than so many connected at once."""
        return FillPositions(self.choices, self.enclosed, self.alone, most)

    def assign(self, fits: tuple[int, ...]) -> tuple[int, ...] | None:
        """A position for each of the cylinders, or None where they cannot all be connected.

        As many as can be are put into enclosed positions; only the rest go to open whips.
        """
        if fits not in self._known:
            too_many = self.most is not None and len(fits) > self.most
            self._known[fits] = None if too_many else self._matched(fits)
        return self._known[fits]

    def _matched(self, fits: tuple[int, ...]) -> tuple[int, ...] | None:
        holder: dict[int, int] = {}
        waiting = list(range(len(fits)))
        for last in (self.enclosed, None):
            waiting = [n for n in waiting if not self._seat(n, fits, holder, last, set())]
        if waiting:
            return None
        place_of = {cylinder: place for place, cylinder in holder.items()}
        return tuple(place_of[n] for n in range(len(fits)))

    def _seat(
        self,
        cylinder: int,
        fits: tuple[int, ...],
        holder: dict[int, int],
        last: int | None,
        tried: set[int],
    ) -> bool:
        """Give a place to one cylinder: a free one, else one whose holder can move."""
        open_to_it = [
            place
            for place in self.choices[fits[cylinder]]
            if place not in tried
            and (last is None or place < last)
            and (len(fits) == 1 or place not in self.alone)
        ]
        for place in sorted(open_to_it, key=lambda place: place in holder):
            if place in tried:
                continue
            tried.add(place)
            sitting = holder.get(place)
            if sitting is None or self._seat(sitting, fits, holder, last, tried):
                holder[place] = cylinder
                return True
        return False

    def loads(self, blocks: Sequence[tuple[int, tuple[int, ...]]]) -> list[list[int]]:
        """The loads of a sequence of blocks (group, fits of each cylinder), by block number.

        Blocks that follow each other share a load while they are of one group and there are
        positions for all. Filling up each load before the next is begun makes the fewest.
        """
        loads: list[list[int]] = []
        group = -1
        held: tuple[int, ...] = ()
        for number, (its_group, fits) in enumerate(blocks):
            together = (*held, *fits)
            if loads and its_group == group and self.assign(together) is not None:
                loads[-1].append(number)
                held = together
            else:
                loads.append([number])
                group, held = its_group, fits
        return loads
