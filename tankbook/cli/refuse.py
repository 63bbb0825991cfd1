"""`tankbook refuse`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from tankbook.acts.options import At, Flag, Ids, Note, Opt, Told
from tankbook.cli.answer import RequestError
from tankbook.cli.recording import Bench, Planned
from tankbook.cli.walk_in import Maker, MarksLine, MarksSeen, MoreSeen, OutletText, StickerMonth
from tankbook.gas import Gas


def refuse(
    bench: Bench,
    ids: Ids = (),
    *,
    marks: MarksLine = "",
    serial: Annotated[str, Opt("SERIAL", "Of one without a card, without its marks.")] = "",
    maker: Maker = "",
    outlet: OutletText = "",
    sticker: StickerMonth = "",
    more: MoreSeen = (),
    reason: Annotated[
        Sequence[str], Opt("TEXT", "What was shown; else what the rules have against a fill.")
    ] = (),
    told: Told = "",
    earlier: Annotated[bool, Flag("Told of a refusal that is on record already.")] = False,
    gas: Annotated[Gas | None, Opt("GAS", "The gas wanted.")] = None,
    note: Note = "",
    at: At = None,
) -> Planned:
    """Record a refusal at the counter: the reasons shown, and that the owner was told.

    One that has no card is kept by its serial (--marks, --serial), and is told when it comes back.
    """
    from tankbook.acts.refuse import refuse as plan
    from tankbook.acts.refuse import tell

    book, by, on = bench.book, bench.by, bench.today
    seen = MarksSeen(marks, maker, outlet, sticker, "", tuple(more), serial)
    if seen.is_said == bool(list(ids)):
        mend = "give ids, or --marks or --serial of one that has no card"
        raise RequestError("name what is refused", mend)
    if not earlier and seen.is_said:
        from tankbook.acts.counter import refuse_stranger

        card = seen.card(book)
        return refuse_stranger(
            book, card, by=by, on=on, reasons=reason, told_how=told, note=note, at=at
        )
    if not earlier:
        return plan(
            book, ids, by=by, on=on, reasons=reason, told_how=told, gas=gas, note=note, at=at
        )
    if reason or not told:
        mend = "give --told, and no --reason"
        raise RequestError("--earlier records only that the owner was told", mend)
    if seen.is_said:
        from tankbook.acts.counter import tell_stranger

        return tell_stranger(book, seen.card(book).serial, by=by, on=on, told_how=told, note=note)
    return tell(book, ids, by=by, on=on, told_how=told, note=note)
