"""`tankbook hand-over` and `tankbook slip`."""

from __future__ import annotations

from typing import Annotated

from msgspec.structs import replace

from tankbook.acts.options import (
    Analysed,
    CardSeen,
    Deepest,
    Id,
    Left,
    Level,
    Opt,
    UserInitials,
)
from tankbook.cli.answer import DONE, Answer, RequestError
from tankbook.cli.fill_log_options import MOMENT, left_at
from tankbook.cli.options import Common
from tankbook.cli.papers import Html, Into, PaperSize, PdfToo
from tankbook.cli.printing import records_on
from tankbook.cli.recording import Bench, Given, Planned, run
from tankbook.units import Money


def hand_over(
    given: Given,
    id_: Id,
    *,
    to: Annotated[str, Opt("REFERENCE", "The buyer's reference; no name.")],
    price: Annotated[Money | None, Opt("PRICE", "Paid; the card's price, if not said.")] = None,
    slip: Annotated[str, Opt("NUMBER", "Of the slip; the next, if not said.")] = "",
    sticker_number: Annotated[str, Opt("NUMBER", "Where the shop numbers its stickers.")] = "",
    analysed: Analysed = (),
    depth: Deepest = (),
    user: UserInitials = "",
    certified: Level = None,
    card: CardSeen = "",
    happened: Left = "",
    at: Annotated[str, MOMENT] = "",
) -> Answer:
    """Hand a sold cylinder over, as the sticker policy allows, and print its slip.

    A withheld sticker goes on now; the record is closed as sold, and kept. Any gas but air is
    analysed by whoever takes it, who was seen to be trained for it.
    """
    named: list[str] = []

    def planned(bench: Bench) -> Planned:
        from tankbook.acts.hand_over import Sale
        from tankbook.acts.hand_over import hand_over as plan
        from tankbook.cli.taken import shown_of
        from tankbook.rules.as_it_was import kept_hour

        named[:] = bench.resolve([id_])
        shown = shown_of(bench, named, certified, card, analysed, depth, user)
        sale = Sale(to, price, slip, sticker_number, shown, happened)
        when = left_at(bench, at)
        day = when.date() if when else bench.today
        return plan(bench.book, named[0], sale, by=bench.by, on=day, at=kept_hour(when))

    answer = run(given, planned)
    if given.common.json or given.dry_run or answer.code != DONE:
        return answer
    return replace(answer, text=f"{answer.text}\n{_slip(given.common, named[0], Into()).text}")


def slip(
    asked: Common, id_: Id, *, html: Html = "", pdf: PdfToo = "", paper: PaperSize = ""
) -> Answer:
    """The slip of a cylinder that was handed over, again: as it was known on the day it was."""
    return _slip(asked, id_, Into(html, pdf, paper))


def _slip(asked: Common, id_: str, into: Into) -> Answer:
    from tankbook.acts.hand_over import slip_of
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import slip as output

    desk = open_desk(asked)
    (name,) = desk.resolve([id_])
    found = slip_of(desk.book, name, desk.today) if name in desk.book.cylinders else None
    if found is None:
        raise RequestError(f"{name} was not handed over", "`tankbook stock` lists what is for sale")
    document = output.document(found, desk.book.settings, desk.page)
    of = records_on(desk.book, name)
    return into.answered(desk, document, output.data(found), json=asked.json, of=of)
