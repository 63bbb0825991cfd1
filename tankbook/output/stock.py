"""The stock for sale, and sheets and results of a stock count."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tankbook.output.card import contents_data
from tankbook.output.page import Page, counted, plain_date
from tankbook.output.tables import table
from tankbook.rules.stock import Count, Expected, SaleLine

HEADERS = ("id", "size", "tested", "months gone", "air", "visual to", "price")


def sale_data(lines: Sequence[SaleLine]) -> list[dict[str, Any]]:
    """The JSON shape of `stock`."""
    return [
        {
            "id": line.id,
            "size": line.size,
            "price": line.price,
            "tested": line.tested,
            "months_gone": line.months_gone,
            "months_whole": line.months_whole,
            "contents": contents_data(line.contents),
            "air_days": line.air_days,
            "inspected_until": line.inspected_until,
            "stands": line.status,
            "needs": line.needs,
            "allowed": line.allowed,
        }
        for line in lines
    ]


def sale_headline(lines: Sequence[SaleLine]) -> str:
    """`FOR SALE 5: 2 may be handed over; oldest test Mar 2024, 32 of 60 months gone`."""
    if not lines:
        return "FOR SALE 0"
    ready = sum(line.allowed for line in lines)
    said = f"FOR SALE {len(lines)}: {ready} may be handed over"
    oldest = next((line for line in lines if line.tested), None)
    if oldest and oldest.tested:
        said += f"; oldest test {plain_date(oldest.tested)}"
        if oldest.months_gone is not None and oldest.months_whole:
            said += f", {oldest.months_gone} of {oldest.months_whole} months gone"
    return said


def sale_text(lines: Sequence[SaleLine], page: Page) -> str:
    """Everything for sale, oldest test first."""
    parts = [page.wrap(sale_headline(lines), hang="  ")]
    if lines:
        rows = [_sale_cells(line) for line in lines]
        parts += ["", table(HEADERS, rows, page, wrap=("size",), right=("price", "air"))]
    wanting = [line for line in lines if line.needs]
    if wanting:
        parts += ["", "Still needed before hand-over"]
        parts += [page.wrap(f"{s.id}: {'; '.join(s.needs)}", "  ", "    ") for s in wanting]
    return "\n".join([*parts, ""])


def _sale_cells(line: SaleLine) -> tuple[str, ...]:
    gone = "-"
    if line.months_gone is not None:
        gone = f"{line.months_gone} of {line.months_whole}" if line.months_whole else "-"
    return (
        line.id,
        line.size,
        str(line.tested or "NOT KNOWN"),
        gone,
        f"{line.air_days} d" if line.air_days is not None else "not filled",
        str(line.inspected_until or "-"),
        str(line.price or "-"),
    )


def count_sheet_data(expected: Sequence[Expected]) -> list[dict[str, Any]]:
    """The JSON shape of `list --count-sheet`."""
    return [
        {"id": e.id, "serial": e.serial, "size": e.size, "place": e.place or None,
         "stands": e.status}
        for e in expected
    ]  # fmt: skip


def count_sheet(expected: Sequence[Expected], ledger: str, day: str, page: Page) -> str:
    """A sheet to walk the room with: a box for each, place by place."""
    head = f"COUNT {counted(len(expected), 'cylinder')}: {ledger}, {day}, counted by ______"
    parts = [page.wrap(head, hang="  ")]
    for place in dict.fromkeys(e.place for e in expected):
        mine = [e for e in expected if e.place == place]
        rows = [("[ ]", e.id, e.serial, e.size, e.status.value.replace("-", " ")) for e in mine]
        body = table(("", "id", "serial", "size", "stands"), rows, page, wrap=("size", "stands"))
        parts += ["", f"{place or 'No place recorded'} ({len(mine)})", body]
    parts += ["", "Found besides: " + "_" * (page.width - 16), ""]
    parts += [page.wrap("Key in what was found: tankbook count 14 22 ..., or --from FILE.")]
    return "\n".join([*parts, ""])


def count_headline(counted_: Count) -> str:
    """`COUNTED 31, missing 2, not expected here 1`."""
    where = f" in {counted_.place}" if counted_.place else ""
    return (
        f"COUNTED {len(counted_.found)}{where}, missing {len(counted_.missing)}, "
        f"not expected here {len(counted_.unexpected)}"
    )


def count_text(counted_: Count, page: Page) -> str:
    """What a count found: what is missing, and what should not have been here."""
    parts = [page.wrap(count_headline(counted_), hang="  ")]
    if counted_.missing:
        rows = [(e.id, e.serial, e.size, e.place or "-", e.status.value) for e in counted_.missing]
        head = ("id", "serial", "size", "place", "stands")
        body = table(head, rows, page, wrap=("size", "place"))
        parts += ["", f"Missing ({len(counted_.missing)})", body]
    if counted_.unexpected:
        body = table(("id", "why"), counted_.unexpected, page, wrap=("why",))
        parts += ["", f"Not expected here ({len(counted_.unexpected)})", body]
    return "\n".join([*parts, ""])
