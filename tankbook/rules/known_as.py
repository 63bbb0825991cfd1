"""Under which ids a cylinder or a set of one book may stand in another book of the same ledger.

Two lines of descent may call one cylinder otherwise. It is known by `formerly` on either side and
by its serial, typed or stamped; an id alone may have been given to another cylinder meanwhile.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec import Struct, field

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.rules.twins import may_be_one, shapes_of, worn_of


def known_as(ids: Iterable[str], here: Book, there: Book) -> dict[str, tuple[str, ...]]:
    """For each of some ids of a book, those in another under which it may stand there.

    One that has none did not stand there under any name.
    """
    match = _Match(here, there)
    return {id_: tuple(dict.fromkeys(match.of(id_))) for id_ in ids}


def with_sides(ids: Iterable[str], here: Book, there: Book) -> dict[str, tuple[str, ...]]:
    """As `known_as`; those of a set are followed by those of its cylinders, which may not have been
    joined there."""
    sides = {id_: here.sets[id_].cylinders if id_ in here.sets else () for id_ in ids}
    every = known_as([*sides, *(c for each in sides.values() for c in each)], here, there)
    return {
        id_: tuple(dict.fromkeys(name for one in (id_, *each) for name in every[one]))
        for id_, each in sides.items()
    }


class _Match(Struct, frozen=True):
    """The cards of two books, held against each other."""

    here: Book
    there: Book
    _called: dict[str, list[str]] = field(default_factory=dict)
    """What is there, by the ids it has or had."""
    _shaped: dict[str, list[Cylinder]] = field(default_factory=dict)
    _shaped_here: dict[str, list[Cylinder]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for name in (*self.there.cylinders, *self.there.sets, *self.there.broken):
            for called in (name, *_formerly(_card(self.there, name))):
                self._called.setdefault(called, []).append(name)
        for book, found in ((self.there, self._shaped), (self.here, self._shaped_here)):
            for card in book.cylinders.values():
                for shape in shapes_of(card):
                    found.setdefault(shape, []).append(card)

    def of(self, id_: str) -> Iterator[str]:
        """The ids there of what has an id here."""
        card = _card(self.here, id_)
        alike = [c.id for c in self._alike(card) if not self._is_own(c)]
        for name in (id_, *_formerly(card)):
            for other in self._called.get(name, ()):
                if self._may_be(card, _card(self.there, other), elsewhere=bool(alike)):
                    yield other
        yield from alike
        yield from (name for name in self.there.broken if not self._knows(name))

    def _alike(self, card: Cylinder | Doubles | None) -> Iterator[Cylinder]:
        """What there may have the serial of a card here."""
        if isinstance(card, Cylinder):
            worn = worn_of(self.there).values()
            every = self.there.cylinders.values() if card.id in worn_of(self.here) else worn
            alike = (c for s in shapes_of(card) for c in self._shaped.get(s, ()))
            yield from (c for c in (*alike, *every) if may_be_one(card, c))

    def _may_be(
        self,
        card: Cylinder | Doubles | None,
        other: Cylinder | Doubles | None,
        *,
        elsewhere: bool,
    ) -> bool:
        """Whether what has or had an id of a card's may be the same: not where its serial is
        another's here, nor where the card's own is `elsewhere` there."""
        if not (isinstance(card, Cylinder) and isinstance(other, Cylinder)):
            return card is None or other is None or type(card) is type(other)
        if may_be_one(card, other):
            return True
        alike = (c for s in shapes_of(other) for c in self._shaped_here.get(s, ()))
        return not (elsewhere or any(may_be_one(c, other) for c in alike))

    def _is_own(self, other: Cylinder) -> bool:
        """Whether what has an id there has the same here."""
        card = _card(self.here, other.id)
        return isinstance(card, Cylinder) and may_be_one(card, other)

    def _knows(self, name: str) -> bool:
        """Whether an id is or was one of a cylinder or set here."""
        here = self.here
        every = (*here.cylinders, *here.sets, *here.broken)
        return any(name in (id_, *_formerly(_card(here, id_))) for id_ in every)


def _card(book: Book, id_: str) -> Cylinder | Doubles | None:
    """A cylinder or a set; None where it cannot be read."""
    return book.cylinders.get(id_) or book.sets.get(id_)


def _formerly(card: Cylinder | Doubles | None) -> tuple[str, ...]:
    return card.formerly if card else ()
