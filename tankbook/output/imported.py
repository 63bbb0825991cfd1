"""What comes of each row of somebody's own table, and what keeps its cylinders from a YES."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Any

from msgspec.structs import replace

from tankbook.acts.import_ import Comes, Fate, Imported
from tankbook.output.page import Page, counted, plain_date
from tankbook.output.paper.form import Form, FormColumn, FormGroup, FormRow
from tankbook.output.tables import Column, Table, in_words
from tankbook.records.cylinder import Cylinder

Left = Sequence[tuple[Cylinder, tuple[str, ...]]]
"""Cylinders, each with what keeps it from a YES."""

ROWS = Table[Fate](
    Column("row", lambda f: f.row, "row", right=True),
    Column("called", lambda f: f.called or None, "called", wrap=True),
    Column("comes", lambda f: f.comes.value, "what comes of it", wrap=True),
    Column("id", lambda f: f.id or None, "card"),
    Column("status", lambda f: f.status or None, "stands", said=in_words, wrap=True),
    Column("why", lambda f: "; ".join(f.says) or None, "why", wrap=True),
)
"""What is said of each row; JSON has the reasons of `why` one by one."""


def head(imported: Imported) -> str:
    """How many rows come to what: `11 rows: 8 new, 2 left out, 1 CANNOT`."""
    parts = [f"{count} {what}" for what, count in imported.counts.items()]
    return f"{counted(len(imported.fates), 'row')}: {', '.join(parts) or 'nothing in them'}"


def text(imported: Imported, left: Left, page: Page) -> str:
    """The table, what is to be told of all, and how it goes on."""
    told = page.paragraphs((f"* {each}" for each in imported.told), hang="  ")
    rows = ROWS.text(tuple(_each_once(imported.fates)), page)
    return page.answer(f"{head(imported)}. Nothing is written yet", told, rows,
                       still(left, page), page.wrap(_next(imported)))  # fmt: skip


def _each_once(fates: Sequence[Fate]) -> Iterator[Fate]:
    """The rows, what was told of one above not told again of those like it."""
    first: dict[tuple[str, ...], int] = {}
    for each in fates:
        said = tuple(f"{f.text}; {f.mend}" for f in each.findings)
        row = first.setdefault((*said, *each.why), each.row) if said else each.row
        yield each if row == each.row else replace(each, findings=[], why=[f"as row {row}"])


def _next(imported: Imported) -> str:
    new = {Comes.NEW, Comes.HELD, Comes.ADDED} & set(imported.counts)
    if imported.kept_out:
        return "Mend what is told first, and give the line once more: till then no row is taken."
    if imported.cannot and new:
        return (
            "Mend the table or the mapping, then give the line once more with --all; or with "
            "--good, which records the other rows and leaves those that cannot be taken."
        )
    if imported.cannot:
        return "Mend the table or the mapping, and give the line once more."
    if not new:
        return "Nothing in it is new: there is nothing to record."
    return "With --all it is recorded, all of it in one act."


def still(left: Left, page: Page) -> str:
    """What keeps cylinders from a YES, one line for all that need the same."""
    groups: dict[tuple[str, ...], list[str]] = {}
    for card, what in left:
        groups.setdefault(what, []).append(card.id)
    lines = []
    for what, ids in groups.items():
        said = "; ".join(what) if what else "nothing"
        lines.append(f"{', '.join(ids[:6])}{_more(ids)}: {said}")
    if not lines:
        return ""
    title = "What keeps them from a YES (--rack FILE.pdf prints it to take to the rack):"
    return "\n".join([page.wrap(title), page.paragraphs(lines, hang="  ")])


def _more(ids: Sequence[str]) -> str:
    return f" and {len(ids) - 6} more" if len(ids) > 6 else ""


def data(imported: Imported, left: Left) -> dict[str, Any]:
    """The JSON shape of an import that is only looked at."""
    rows = [{**ROWS.object(f), "why": f.says} for f in imported.fates]
    return {
        "recorded": False,
        "rows": rows,
        "counts": {what.value: count for what, count in imported.counts.items()},
        "notes": list(imported.told),
        "still_to_do": {card.id: list(what) for card, what in left},
    }


RACK_COLUMNS = (
    FormColumn("id", 24, bold=True),
    FormColumn("serial", 26),
    FormColumn("neck thread", 26),
    FormColumn("valve thread", 26),
    FormColumn("valve rating", 22),
    FormColumn("outlet", 20),
    FormColumn("last hydro", 20),
    FormColumn("seen", 10, tick=True),
)


def rack_form(left: Left, ledger: str, day: dt.date) -> Form:
    """The sheet to take to the rack: what is known of each, boxes for what is not, and what keeps
    it from a YES."""
    missing = [(card, what) for card, what in left if what]
    return Form(
        title=f"What keeps {counted(len(missing), 'cylinder')} from a YES, {plain_date(day)}",
        before=(
            "Read it off the cylinder and write it down; strike out what the sheet has and the "
            "cylinder does not.",
        ),
        columns=RACK_COLUMNS,
        groups=(FormGroup("", tuple(r for card, what in missing for r in _rack_rows(card, what))),),
        after=(
            "Write it into columns of the table, map these, add 'on_file: complete' to the "
            "mapping, and import it once more; or, one by one, 'tankbook book-in --complete ID'.",
        ),
        footer=f"{ledger}, to the rack, {plain_date(day)}",
    )


def _rack_rows(card: Cylinder, what: Sequence[str]) -> Iterator[FormRow]:
    valve = card.valve
    hydro = str(card.requalified[-1].on) if card.requalified else ""
    cells = (
        card.id,
        card.serial,
        card.neck_thread or "",
        (valve.thread or "") if valve else "",
        str(valve.rating) if valve and valve.rating else "",
        valve.outlet.value if valve and valve.outlet else "",
        hydro,
        "",
    )
    yield FormRow(cells, "; ".join(what).replace("`", "'"))
    if not card.marks:
        yield FormRow(("",), instead="Marks, as they stand:")
