"""`tankbook sheet`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from msgspec.structs import replace

from tankbook.acts.options import IDS, Flag, Opt
from tankbook.cli.answer import Answer
from tankbook.cli.options import Common
from tankbook.cli.printing import Pdf, Written, print_form_into

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tankbook.cli.open_ledger import Desk
    from tankbook.gas import Gas
    from tankbook.output.fill_sheet import SheetLine


def sheet(
    asked: Common,
    ids: Annotated[list[str], IDS],
    gas: Annotated[str, Opt("GAS", "Such as nitrox32; air, if not said.")] = "",
    csv: Annotated[bool, Flag("The form that is keyed in.")] = False,
    pdf: Pdf = "",
) -> Answer:
    """A fill sheet to print for the lake, keyed in with `fill --sheet` in the evening.

    It says what each limit reads in the cold, and which must not be filled and why.
    """
    from tankbook.cli import option_values
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import fill_sheet as output

    mixture = option_values.gas("--gas", gas) if gas else None
    desk = open_desk(asked)
    lines = list(_lines(desk, desk.every(ids), mixture))
    name = desk.book.settings.ledger
    printed, made = Written(), ""
    if pdf:
        from tankbook.output.paper.sheets import fill_form

        made = f"Fill sheet for {output.fit(lines)}"
        form = fill_form(lines, name, desk.today, desk.page)
        printed = print_form_into(pdf, form, desk, [line.id for line in lines])
    if asked.json:
        answer = desk.data(output.data(lines))
        return replace(answer, notes=(*answer.notes, *printed.notes))
    if csv:
        return desk.answer(output.form(lines), utf8=True)
    told = printed.said(made, desk.page)
    return desk.answer(told or output.text(lines, name, desk.today, desk.page))


def _lines(desk: Desk, ids: list[str], gas: Gas | None) -> Iterator[SheetLine]:
    """A row each; a set whose isolator is shut has one for each side."""
    from tankbook.output.fill_sheet import SheetLine
    from tankbook.records.words import Isolator
    from tankbook.rules.fill_history import contents_of
    from tankbook.rules.gate import may_fill

    book = desk.book
    for id_ in ids:
        doubles = book.sets.get(id_)
        shut = doubles is not None and doubles.isolator is Isolator.SHUT
        for name in doubles.cylinders if doubles and shut else (id_,):
            cylinder = book.cylinders.get(name)
            yield SheetLine(
                id=name,
                serial=cylinder.serial if cylinder else "",
                answer=may_fill(book, name, desk.today, gas, station=False),
                contents=contents_of(book, name),
            )
