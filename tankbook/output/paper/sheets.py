"""The fill sheet for the lake and the sheet to count the room with, on paper."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from tankbook.output import fill_sheet
from tankbook.output.card import contents_text
from tankbook.output.fill_sheet import SheetLine
from tankbook.output.page import Page, counted, plain_date
from tankbook.output.paper.form import PAPER, Form, FormColumn, FormGroup, FormRow, print_form
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


def fill_sheet_pdf(lines: Sequence[SheetLine], ledger: str, day: dt.date, page: Page) -> bytes:
    """The fill sheet: what each may be filled to, boxes to write in, and what must not be filled.

    Raises:
        PaperError: something on it cannot be printed.
    """
    fit = sum(line.answer.fillable for line in lines)
    limits = tuple(" ".join(text.split()) for text in fill_sheet.limits(lines, page))
    form = Form(
        title=f"Fill sheet for {fit} of {len(lines)}, {plain_date(day)}",
        before=(_said(fill_sheet.BEFORE), *limits),
        columns=FILL_COLUMNS,
        groups=(FormGroup("", tuple(_fill_row(line, page) for line in lines)),),
        after=(_said(fill_sheet.AFTER), CAUTION),
        footer=f"{ledger}, fill sheet of {plain_date(day)}",
    )
    return print_form(form, PAPER[page.shore])


def _said(text: str) -> str:
    """Text written for a terminal, its marks of quotation as on paper."""
    return text.replace("`", "'")


def _fill_row(line: SheetLine, page: Page) -> FormRow:
    if not line.answer.fillable:
        why = "; ".join(r.text for r in line.answer.refusals)
        return FormRow((line.id,), instead=f"DO NOT FILL: {why}")
    limit = line.answer.limit
    serial = f"serial {line.serial}, " if line.serial else ""
    note = f"{serial}held {contents_text(line.contents, page)}"
    return FormRow((line.id, page.marked(limit.pressure) if limit else ""), note)


def count_sheet_pdf(expected: Sequence[Expected], ledger: str, day: dt.date, page: Page) -> bytes:
    """The sheet to walk the room with: a box for each cylinder, place by place.

    Raises:
        PaperError: something on it cannot be printed.
    """
    groups = []
    for place in dict.fromkeys(e.place for e in expected):
        mine = [e for e in expected if e.place == place]
        rows = tuple(
            FormRow(("", e.id, e.serial, e.size, e.status.value.replace("-", " "))) for e in mine
        )
        groups.append(FormGroup(f"{place or 'No place recorded'} ({len(mine)})", rows))
    groups.append(FormGroup("Found besides", tuple(FormRow(()) for _ in range(SPARE_ROWS))))
    form = Form(
        title=f"Count {counted(len(expected), 'cylinder')}, {plain_date(day)}",
        before=("Counted by ____________________",),
        columns=COUNT_COLUMNS,
        groups=tuple(groups),
        after=("Key in what was found: tankbook count 14 22 ..., or --from FILE.",),
        footer=f"{ledger}, count of {plain_date(day)}",
    )
    return print_form(form, PAPER[page.shore])
