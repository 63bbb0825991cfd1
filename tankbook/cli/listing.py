"""`tankbook list`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from msgspec.structs import replace

from tankbook.acts.options import Flag, Opt
from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.options import Common, Csv
from tankbook.cli.printing import Pdf, Written, print_form_into

if TYPE_CHECKING:
    from tankbook.cli.open_ledger import Desk
    from tankbook.output.listing import Listed


def listing(
    asked: Common,
    where: Annotated[
        list[str] | None,
        Opt(
            "FIELD=VALUE",
            "Any field of the file: size=al80, valve.outlet=yoke, service_pressure<3300, "
            "place!=shop, owner= (not recorded). May be given again; all must hold.",
        ),
    ] = None,
    use: Annotated[str, Opt("USE", "rental, sale, ...")] = "",
    status: Annotated[str, Opt("STATUS", "held, out, ...")] = "",
    size: Annotated[str, Opt("SIZE", "al80, ...")] = "",
    ready: Annotated[bool, Flag("Full and fit to go out now.")] = False,
    sort: Annotated[str, Opt("FIELD", "Any field; first-test, gas, fill.")] = "id",
    count_sheet: Annotated[bool, Flag("A sheet to count the room with, by place.")] = False,
    csv: Csv = False,
    pdf: Pdf = "",
) -> Answer:
    """The cylinders, one a line; filters on any field."""
    from tankbook.cli import list_filter as filters
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import listing as output

    if count_sheet:
        return _count_sheet(open_desk(asked), asked.json, pdf)
    desk = open_desk(asked, fleet=True, fit=True)
    if pdf:
        raise RequestError("--pdf prints the count sheet", "add --count-sheet")
    wanted = [*(where or []), *filters.plain(use=use, status=status, size=size)]
    tests = [filters.parse(text, desk.shore) for text in wanted]
    order = filters.sort_key(sort)
    rows = [row for row in listed_rows(desk) if all(t.holds(row) for t in tests)]
    rows = sorted((r for r in rows if r.ready or not ready), key=order)
    if asked.json:
        return desk.data(output.data(rows))
    if csv:
        return desk.table(output.COLUMNS, rows)
    said = "".join(f", {t}" for t in tests) + (", ready" if ready else "")
    sets = {} if said else desk.book.sets
    return desk.answer(output.text(rows, said, desk.page, sets))


def listed_rows(desk: Desk) -> list[Listed]:
    """Every cylinder with what a condition may ask of it."""
    from tankbook.output.listing import Listed
    from tankbook.rules.fill_history import contents_of, standings
    from tankbook.rules.gate import may_fill
    from tankbook.rules.rental import is_ready
    from tankbook.rules.volume import size_word

    book = desk.book
    rows = []
    for cylinder in book.cylinders.values():
        states = standings(book, cylinder)
        gas = contents_of(book, cylinder.id).gas
        rows.append(
            Listed(
                cylinder=cylinder,
                size=size_word(book, cylinder),
                gas=str(gas) if gas else "",
                standing=states[0].value,
                fillable=may_fill(book, cylinder.id, desk.today, gas, warned=False).fillable,
                ready=bool(is_ready(book, cylinder.id, desk.today)),
                states=tuple(state.value for state in states),
            )
        )
    return rows


def _count_sheet(desk: Desk, json: bool, pdf: str) -> Answer:
    """What should be found walking the room; filters do not apply."""
    from tankbook.output import stock as output
    from tankbook.output.page import counted, plain_date
    from tankbook.rules.stock import expected_here

    expected = expected_here(desk.book)
    name, day = desk.book.settings.ledger, plain_date(desk.today)
    printed, made = Written(), ""
    if pdf:
        from tankbook.output.paper.sheets import count_form

        made = f"Count sheet for {counted(len(expected), 'cylinder')}"
        form = count_form(expected, name, desk.today, desk.page)
        printed = print_form_into(pdf, form, desk, [each.id for each in expected])
    if json:
        answer = desk.data(output.EXPECTED.objects(expected))
        return replace(answer, notes=(*answer.notes, *printed.notes))
    told = printed.said(made, desk.page)
    return desk.answer(told or output.count_sheet(expected, name, day, desk.page))
