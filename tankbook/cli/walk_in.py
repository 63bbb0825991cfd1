"""What is said on the line of a cylinder that has no card: its marks, and what else is seen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

from msgspec import Struct

from tankbook.acts.options import Opt
from tankbook.cli import option_values
from tankbook.cli.answer import RequestError

if TYPE_CHECKING:
    from tankbook.acts.arrivals import Arrival
    from tankbook.records.book import Book
    from tankbook.records.cylinder import Cylinder
    from tankbook.records.words import Shore

MarksLine = Annotated[str, Opt("LINE", "A walk-in's, without a card: its marks, as they stand.")]
Maker = Annotated[str, Opt("MAKER", "With --marks: the maker as marked.")]
OutletText = Annotated[str, Opt("OUTLET", "With --marks: yoke, din-200, din-300, ...")]
StickerMonth = Annotated[str, Opt("MONTH", "With --marks: month of another shop's sticker.")]
Reference = Annotated[str, Opt("REFERENCE", "With --marks: whose it is; no name.")]
MORE_SEEN = Opt("KEY=VALUE", "With --marks: any other key of its card.", "--set")
MoreSeen = Annotated[Sequence[str], MORE_SEEN]


class MarksSeen(Struct, frozen=True):
    """What was seen of a cylinder that has no card, as given."""

    marks: str = ""
    maker: str = ""
    outlet: str = ""
    sticker: str = ""
    ref: str = ""
    more: tuple[str, ...] = ()
    serial: str = ""
    """Where its marks are not said."""

    @property
    def is_said(self) -> bool:
        """Whether the line speaks of such a cylinder.

        Raises:
            RequestError: something is said of one, and not its marks.
        """
        named = self.marks.strip() or self.serial.strip()
        if not named and self != MarksSeen():
            mend = "give the whole line off its shoulder with --marks"
            raise RequestError("a walk-in's marks are not said", mend)
        return bool(named)

    def arrival(self, shore: Shore) -> Arrival:
        """What it comes to as a card's keys; a customer's, unless --set says otherwise."""
        from tankbook.acts.arrivals import Arrival, said
        from tankbook.cli.book_in import facts_of, no_name

        no_name(self.ref)
        told = {
            "maker": self.maker,
            "valve.outlet": self.outlet,
            "sticker": option_values.date_text("--sticker", self.sticker),
            "owner": self.ref,
            "use": "customer",
        }
        facts = facts_of(told, self.more, shore)
        facts |= {"marks": said(self.marks)} if self.marks else {}
        return Arrival("--marks", facts | ({"serial": said(self.serial)} if self.serial else {}))

    def card(self, book: Book) -> Cylinder:
        """The card it would have, called by its serial. Raises `RequestError` where it cannot be
        read."""
        from tankbook.acts.walk_in import stranger

        card, findings = stranger(book, self.arrival(book.settings.units))
        if card is None:
            raise RequestError("; ".join(f.text for f in findings), findings[0].mend)
        return card
