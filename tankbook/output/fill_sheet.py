"""A fill sheet for the lake: to be filled in by hand, and keyed in the same evening."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Any

from msgspec import Struct

from tankbook.acts.fill_sheet import COLUMNS
from tankbook.gas import RangeError
from tankbook.output.as_json import pressures
from tankbook.output.card import contents_text
from tankbook.output.may_fill import danger_briefly
from tankbook.output.page import Page, plain_date
from tankbook.output.words import CAUTION
from tankbook.records.words import Shore
from tankbook.rules.answers import Contents, Limit, MayFill
from tankbook.rules.limits import cold_target
from tankbook.units import Temperature

COLD = {
    Shore.PSI: tuple(Temperature.of(t, "degF") for t in (35, 45, 55, 65)),
    Shore.BAR: tuple(Temperature.of(t, "degC") for t in (2, 7, 12, 17)),
}
"""The temperatures whose cold readings are printed beside each limit."""

BOXES = ("before", "after", "temp", "gas, O2 %", "by", "ok")
WIDTHS = (7, 7, 6, 10, 5, 4)


class SheetLine(Struct, frozen=True):
    """One row of the sheet: a cylinder, a set, or one side of a set whose isolator is shut."""

    id: str
    serial: str
    answer: MayFill
    contents: Contents


def data(lines: Sequence[SheetLine]) -> list[dict[str, Any]]:
    """The JSON shape of `sheet`."""
    return [_datum(line) for line in lines]


def _datum(line: SheetLine) -> dict[str, Any]:
    limit = line.answer.limit
    return {
        "id": line.id,
        "serial": line.serial or None,
        "fillable": line.answer.fillable,
        "do_not_fill": [r.text for r in line.answer.refusals],
        "dangers": list(line.answer.dangers),
        **pressures(limit=limit.pressure if limit else None),
        "reference_temperature": limit.reference if limit else None,
    }


def form(lines: Sequence[SheetLine]) -> str:
    """The sheet to be keyed in: its header, and a row with the id of each that may be filled."""
    blank = "," * (len(COLUMNS) - 1)
    rows = [f"{line.id}{blank}" for line in lines if line.answer.fillable]
    return "\n".join([",".join(COLUMNS), *rows, ""])


def fit(lines: Sequence[SheetLine]) -> str:
    """How many may be filled: `15 of 41`."""
    return f"{sum(line.answer.fillable for line in lines)} of {len(lines)}"


def refused(line: SheetLine) -> str:
    """Why it must not be filled, after what makes it dangerous that it holds pressure."""
    why = [
        *(danger_briefly(each) for each in line.answer.dangers),
        *(r.text for r in line.answer.refusals),
    ]
    return f"DO NOT FILL: {'; '.join(why)}"


def fill_to(line: SheetLine, page: Page) -> str:
    """The limit it is filled to; an empty text where none can be stated."""
    return page.marked(line.answer.limit.pressure) if line.answer.limit else ""


def held(line: SheetLine, page: Page) -> str:
    """What it is, and last held."""
    serial = f"serial {line.serial}, " if line.serial else ""
    return f"{serial}held {contents_text(line.contents, page)}"


def text(lines: Sequence[SheetLine], ledger: str, day: dt.date, page: Page) -> str:
    """The sheet to be printed, with what each limit reads in the cold."""
    head = f"FILL SHEET for {fit(lines)}: {ledger}, {plain_date(day)}, by ______"
    rows = [_row("id", "fill to", BOXES), _row("-" * 12, "-" * 14, ["-" * w for w in WIDTHS])]
    wide = max(map(len, rows)) <= page.width
    lines_of = _lines_of if wide else _narrow
    rows = rows if wide else []
    rows.append("\n\n".join("\n".join(lines_of(line, page)) for line in lines))
    cold = "\n".join(limits(lines, page))
    told = page.wrap(AFTER), page.wrap(CAUTION)
    return page.answer(head, page.wrap(BEFORE), cold, "\n".join(rows), *told)


BEFORE = (
    "Look each over before it is connected and tick `ok`. Stop at or below `fill to`, read when it "
    "has cooled; note the pressure before and after and the cylinder's temperature. Any gas but "
    "air is analysed, and the percentage noted."
)
AFTER = (
    "Keyed in with: tankbook fill --sheet FILE, one row a fill under the header that "
    "`tankbook sheet --csv` writes. Refused rows are listed; the rest is kept."
)


def limits(lines: Sequence[SheetLine], page: Page) -> Iterator[str]:
    """What each limit on the sheet reads when it has settled in the cold."""
    seen = {}
    for line in lines:
        limit = line.answer.limit
        if limit is not None:
            seen[limit.pressure, limit.reference, line.answer.gas] = (limit, line.answer.gas)
    for limit, gas in seen.values():
        reads = [
            f"{page.target(target, limit.pressure)} at {page.temperature(at)}"
            for at in COLD[page.shore]
            if (target := _cold(limit, gas.mixture, at)) is not None
        ]
        said = f"{page.marked(limit.pressure)} at {limit.reference}, {gas}: {'; '.join(reads)}"
        yield page.wrap(said, hang="  ")


def _cold(limit: Limit, mixture: Any, at: Temperature) -> Any:
    try:
        return cold_target(limit, mixture, at)
    except RangeError:
        return None


def _row(id_: str, fill_to: str, boxes: Sequence[str]) -> str:
    cells = [f"{box:<{width}}" for box, width in zip(boxes, WIDTHS, strict=True)]
    return f"{id_:<12} {fill_to:<14} {' '.join(cells)}".rstrip()


def _lines_of(line: SheetLine, page: Page) -> Iterator[str]:
    """A row to write in, or why it must not be filled; beneath it what it is and last held."""
    if not line.answer.fillable:
        yield page.wrap(f"{line.id:<12} {refused(line)}", hang=" " * 13)
        return
    blanks = ["_" * width for width in WIDTHS[:-1]]
    yield _row(line.id, fill_to(line, page), [*blanks, "[ ]"])
    yield page.wrap(held(line, page), " " * 13)


def _narrow(line: SheetLine, page: Page) -> Iterator[str]:
    """The same where the page is narrower than the row: each box on a line of its own."""
    if not line.answer.fillable:
        yield page.wrap(f"{line.id}: {refused(line)}", hang="  ")
        return
    yield page.wrap(f"{line.id}: fill to {fill_to(line, page)}", hang="  ")
    yield page.wrap(held(line, page), "  ")
    for box, width in zip(BOXES[:-1], WIDTHS, strict=False):
        yield f"  {box:<10} {'_' * width}"
    yield f"  {BOXES[-1]:<10} [ ]"
