"""`tankbook stock` and `tankbook count`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import partial
from typing import TYPE_CHECKING, Annotated

from msgspec.structs import replace

from tankbook.acts.options import Arg, Flag, Note, Opt
from tankbook.cli import option_values
from tankbook.cli.answer import DONE, NO, Answer, RequestError, with_more
from tankbook.cli.options import Common
from tankbook.cli.recording import Bench, Given, Planned, file_named, run

if TYPE_CHECKING:
    from tankbook.rules.stock import Count


def stock(asked: Common) -> Answer:
    """The stock for sale, oldest test first, and what each still needs before hand-over."""
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import stock as output
    from tankbook.rules.stock import sale_stock

    desk = open_desk(asked)
    lines = sale_stock(desk.book, desk.today)
    if asked.json:
        return desk.data(output.FOR_SALE.objects(lines))
    return desk.answer(output.sale_text(lines, desk.page))


def count(
    given: Given,
    ids: Annotated[
        Sequence[str], Arg("ID", "What was found; a tail will do, or a range: 1..12.")
    ] = (),
    *,
    from_: Annotated[
        str, Opt("FILE", "What was found, from a file: ids between blanks, commas or line ends.")
    ] = "",
    place: Annotated[str, Opt("PLACE", "Only what is kept there.")] = "",
    lost: Annotated[bool, Flag("Record what was not found as lost.", "--missing-are-lost")] = False,
    found_why: Annotated[
        Sequence[str],
        Opt("[ID=]TEXT", "Where a lost one had been that turned up; may be given again."),
    ] = (),
    note: Note = "",
) -> Answer:
    """Key in a stock count: what is missing, and what should not have been here.

    What is missing becomes lost only with --missing-are-lost. A lost one that turns up is found:
    somebody certified says where it had been.
    `list --count-sheet` prints the sheet. Exit code 1 while something is missing.
    """
    if not ids and not from_:
        raise RequestError(
            "nothing is named that was found", "name what was found, or --from a file of it"
        )
    counts: list[Count] = []
    told: list[str] = []

    def planned(bench: Bench) -> Planned:
        from tankbook.acts.lost import after_count
        from tankbook.ledger.keyed import read_found
        from tankbook.output import stock as output
        from tankbook.rules.stock import count_of

        words = [*ids, *(read_found(file_named("--from", from_)) if from_ else [])]
        found = count_of(bench.book.as_known_on(bench.today), bench.every(words), place)
        counts[:] = [found]
        told[:] = [output.count_text(found, bench.desk.page)]
        return after_count(
            bench.book,
            found,
            by=bench.by,
            on=bench.today,
            missing_are_lost=lost,
            note=note,
            found_why=_where(bench, found, found_why),
        )

    answer = run(given, planned)
    missing = bool(counts and counts[0].missing and not lost)
    code = NO if answer.code == DONE and missing else answer.code
    if given.common.json:
        from tankbook.output.stock import count_data

        found = count_data(counts[0]) if counts else None
        return with_more(replace(answer, code=code), {"counted": found})
    return replace(answer, code=code, text="\n".join([*told, answer.text]))


def _where(bench: Bench, found: Count, texts: Iterable[str]) -> dict[str, str]:
    """Where lost ones had been, by id; a text without one is about the only one that turned up."""
    from tankbook.records.words import Status
    from tankbook.rules.status import status_of

    book = bench.book
    lost = [
        id_
        for id_, _ in found.unexpected
        if id_ in book.cylinders and status_of(book, book.cylinders[id_]) is Status.LOST
    ]
    otherwise = partial(option_values.names_none, "--found-why")
    return dict(option_values.by_id(bench.resolve, texts, lost, str, otherwise))
