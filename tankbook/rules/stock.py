"""What stands in the shop: the stock for sale, and a count of all that should be there."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, stays_with_owner
from tankbook.records.life import still_open
from tankbook.records.rulerow import Obligation
from tankbook.records.words import Status, Use
from tankbook.rules.answers import Contents, Due
from tankbook.rules.fill_history import contents_of, not_here, standings
from tankbook.rules.hand_over import may_hand_over
from tankbook.rules.rental import out_as
from tankbook.rules.schedule import due_of_cylinder
from tankbook.rules.status import status_of
from tankbook.rules.tested import first_test
from tankbook.rules.volume import size_of
from tankbook.rules.workshop import open_jobs
from tankbook.units import Money, PartialDate
from tankbook.units.dates import months_between


class SaleLine(Struct, frozen=True):
    """A cylinder for sale.

    `months_gone` of the `months_whole` between its test and the next are lost to whoever buys it.
    `needs` is what must still be done before it leaves; `allowed` says that nothing stands against
    its hand-over.
    """

    id: str
    size: str
    price: Money | None
    tested: PartialDate | None
    months_gone: int | None
    months_whole: int | None
    contents: Contents
    air_days: int | None
    inspected_until: dt.date | None
    status: Status
    needs: tuple[str, ...]
    allowed: bool


def sale_stock(book: Book, today: dt.date) -> tuple[SaleLine, ...]:
    """Everything for sale, oldest test first; what has no test on record comes first of all."""
    found = [
        _sale_line(book, c, today)
        for c in book.cylinders.values()
        if c.use is Use.SALE and not status_of(book, c).closed
    ]
    return tuple(sorted(found, key=lambda s: (s.tested.first if s.tested else dt.date.min, s.id)))


def _sale_line(book: Book, cylinder: Cylinder, today: dt.date) -> SaleLine:
    dues = {d.obligation: d for d in due_of_cylinder(book, cylinder, today)}
    test, visual = dues.get(Obligation.REQUALIFICATION), dues.get(Obligation.VISUAL)
    held = contents_of(book, cylinder.id)
    filled = held.filled_at.date() if held.filled_at else None
    asked = may_hand_over(book, cylinder.id, today)
    sticker = ("its sticker goes on at hand-over",) if asked.sticker_first else ()
    return SaleLine(
        id=cylinder.id,
        size=size_of(book, cylinder.id),
        price=cylinder.price,
        tested=test.last if test and test.last else first_test(cylinder),
        months_gone=_months(test.last, today) if test and test.last else None,
        months_whole=_whole(test),
        contents=held,
        air_days=(today - filled).days if filled else None,
        inspected_until=visual.next if visual else None,
        status=status_of(book, cylinder),
        needs=(*asked.reasons, *sticker),
        allowed=asked.allowed,
    )


def _months(since: PartialDate, until: dt.date) -> int:
    """Whole months between, a month counted from its first day."""
    months = months_between(since, until)
    return max(months - (until.day < since.first.day), 0)


def _whole(test: Due | None) -> int | None:
    """The months from a test to the next, as the dates of both say."""
    if test is None or test.last is None or test.next is None:
        return None
    return months_between(test.last, test.next)


class Expected(Struct, frozen=True):
    """A cylinder that should be in the shop, and where."""

    id: str
    serial: str
    size: str
    place: str
    status: Status
    states: tuple[Status, ...] = ()
    """Every state it is in, the gravest first, which is its status."""


def expected_here(book: Book, place: str = "") -> tuple[Expected, ...]:
    """What should be found walking the room, or one place in it, in the order of place and id.

    A customer's cylinder is expected while work on it is not collected; condemned ones, which may
    be scrapped, are not.
    """
    wanted = place.casefold()
    found = [
        Expected(
            c.id,
            c.serial,
            size_of(book, c.id),
            c.place or "",
            status_of(book, c),
            standings(book, c),
        )
        for c in book.cylinders.values()
        if _is_here(book, c) and (not place or (c.place or "").casefold() == wanted)
    ]
    return tuple(sorted(found, key=lambda e: (e.place == "", e.place.casefold(), e.id)))


def _is_here(book: Book, cylinder: Cylinder) -> bool:
    if not_here(book, cylinder):
        return False
    return not stays_with_owner(cylinder) or bool(open_jobs(cylinder))


class Count(Struct, frozen=True):
    """A count of the room: what was expected and found, what was not, and what should not be there.

    `unexpected` pairs an id with where the record says that it is.
    """

    place: str
    found: tuple[str, ...]
    missing: tuple[Expected, ...]
    unexpected: tuple[tuple[str, str], ...]

    @property
    def complete(self) -> bool:
        """Everything is where it should be."""
        return not self.missing and not self.unexpected


def count_of(book: Book, found: Iterable[str], place: str = "") -> Count:
    """Compare what was found with what should be there. A set found is both its cylinders."""
    seen = dict.fromkeys(member for id_ in found for member in book.members(id_))
    expected = expected_here(book, place)
    there = {e.id for e in expected}
    unexpected = [
        (id_, why) for id_ in seen if id_ not in there for why in [_whereabouts(book, id_)]
    ]
    return Count(
        place=place,
        found=tuple(id_ for id_ in seen if id_ in there),
        missing=tuple(e for e in expected if e.id not in seen),
        unexpected=tuple(unexpected),
    )


def _whereabouts(book: Book, id_: str) -> str:
    """Where the record says a cylinder is that was found here all the same."""
    cylinder = book.cylinders.get(id_)
    if cylinder is None:
        return "its file cannot be read"
    return next(_elsewhere(book, cylinder), "in another place")


def _elsewhere(book: Book, cylinder: Cylinder) -> Iterator[str]:
    gone = not_here(book, cylinder)
    if gone is not None and gone.gone:
        yield f"recorded as {gone}"
    for _, rental in out_as(book, cylinder):
        yield f"recorded as out to {rental.to}: record its return"
    for sent in still_open(cylinder.sent):
        yield f"recorded as away at {sent.to}: record that it is back"
    if stays_with_owner(cylinder) and not open_jobs(cylinder):
        yield "a customer's, with no work recorded: open a job for it"
    if cylinder.place:
        yield f"its place is {cylinder.place}"
