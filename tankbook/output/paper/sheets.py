"""The fill sheet for the lake and the sheet to count the room with, on paper."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from tankbook.output import fill_sheet, stock
from tankbook.output.fill_sheet import SheetLine
from tankbook.output.page import Page, counted, plain_date
from tankbook.output.paper.form import Form, FormColumn, FormGroup, FormRow
from tankbook.output.words import CAUTION
from tankbook.rules.stock import Expected

FILL_COLUMNS = (
    FormColumn("id", 22, bold=True),
    FormColumn("fill to", 34, bold=True),
    FormColumn("before", 24),
    FormColumn("after", 24),
    FormColumn("temp", 17),
    FormColumn("gas, O2 %", 28),
    FormColumn("by", 15),
    FormColumn("ok", 10, tick=True),
)
COUNT_COLUMNS = (
    FormColumn("", 10, tick=True),
    FormColumn("id", 30, bold=True),
    FormColumn("serial", 40),
    FormColumn("size", 40),
    FormColumn("stands", 40),
    FormColumn("seen", 30),
)
SPARE_ROWS = 4
"""Blank rows for what is found besides."""


def fill_form(lines: Sequence[SheetLine], ledger: str, day: dt.date, page: Page) -> Form:
    """The fill sheet: what each may be filled to, boxes to write in, what must not be filled."""
    limits = tuple(" ".join(text.split()) for text in fill_sheet.limits(lines, page))
    return Form(
        title=f"Fill sheet for {fill_sheet.fit(lines)}, {plain_date(day)}",
        before=(_said(fill_sheet.BEFORE), *limits),
        columns=FILL_COLUMNS,
        groups=(FormGroup("", tuple(_fill_row(line, page) for line in lines)),),
        after=(_said(fill_sheet.AFTER), CAUTION),
        footer=f"{ledger}, fill sheet of {plain_date(day)}",
    )


def _said(text: str) -> str:
    """Text written for a terminal, its marks of quotation as on paper."""
    return text.replace("`", "'")


def _fill_row(line: SheetLine, page: Page) -> FormRow:
    if not line.answer.fillable:
        return FormRow((line.id,), instead=fill_sheet.refused(line))
    return FormRow((line.id, fill_sheet.fill_to(line, page)), fill_sheet.held(line, page))


def count_form(expected: Sequence[Expected], ledger: str, day: dt.date, page: Page) -> Form:
    """The sheet to walk the room with: a box for each cylinder, place by place."""
    cells = stock.TO_TICK.pick("id", "serial", "size", "stands")
    groups = [
        FormGroup(place, tuple(FormRow(("", *row)) for row in cells.rows(mine, page)))
        for place, mine in stock.by_place(expected)
    ]
    groups.append(FormGroup("Found besides", (FormRow(()),) * SPARE_ROWS))
    return Form(
        title=f"Count {counted(len(expected), 'cylinder')}, {plain_date(day)}",
        before=("Counted by ____________________",),
        columns=COUNT_COLUMNS,
        groups=tuple(groups),
        after=(stock.KEY_IN,),
        footer=f"{ledger}, count of {plain_date(day)}",
    )
