"""The wall chart as a file to hang up, as text and as JSON."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any

from tankbook.output.drawing import Drawing
from tankbook.output.page import MONTHS, Page, counted, plain_date
from tankbook.output.tables import table
from tankbook.output.wall_sheet import LETTERS, NAMES, PAPERS, Paper, WallSheet
from tankbook.rules.wall_chart import WallChart
from tankbook.units import PartialDate

__all__ = ["PAPERS", "data", "drawings", "headline", "made", "page_count", "text"]


def drawings(chart: WallChart, paper: Paper) -> Iterator[Drawing]:
    """The pages of the chart, each with its own heading."""
    sheet = WallSheet(chart, paper, headline(chart))
    for number in range(1, sheet.pages + 1):
        start = (number - 1) * sheet.fits
        yield sheet.page(chart.rows[start : start + sheet.fits], number, sheet.pages)


Progress = Callable[[int, int], None]


def made(chart: WallChart, paper: Paper, ending: str, progress: Progress | None = None) -> bytes:
    """The chart as a file: PDF, a page at a time, or SVG with the pages one below the other."""
    from tankbook.output import svg
    from tankbook.output.paper.pen import print_drawings

    pages = _told(drawings(chart, paper), WallSheet(chart, paper).pages, progress)
    if ending == ".pdf":
        return print_drawings(pages, f"{chart.ledger}: tests and inspections")
    return svg.standing_alone(list(pages)).encode()


def page_count(chart: WallChart, paper: Paper) -> str:
    """`2 pages`."""
    return counted(WallSheet(chart, paper).pages, "page")


def _told(pages: Iterable[Drawing], count: int, progress: Progress | None) -> Iterator[Drawing]:
    for done, page in enumerate(pages, 1):
        yield page
        if progress is not None:
            progress(done, count)


def headline(chart: WallChart) -> str:
    """How many cylinders, over which months, and how many are overdue."""
    first, last = chart.months[0], chart.months[-1]
    return (
        f"{counted(len(chart.rows), 'cylinder')}, {plain_date(first)} to {plain_date(last)}: "
        f"{chart.late} with anything overdue or not on record"
    )


def text(chart: WallChart, page: Page) -> str:
    """The chart as a table of letters; an overdue one stands under `late`."""
    shown = chart.months[:12]
    heads = ("id", "late", *(_month(m) for m in shown))
    rows = [
        (
            row.id,
            "".join(LETTERS[late.obligation] for late in row.late),
            *("".join(LETTERS[q] for q in qs) for qs in row.months[: len(shown)]),
        )
        for row in chart.rows
    ]
    key = ", ".join(f"{LETTERS[q]} {name}" for q, name in NAMES.items())
    more = len(chart.months) - len(shown)
    rest = f"{more} more months are on the drawn chart." if more > 0 else ""
    return page.answer(headline(chart), table(heads, rows, page), rest, page.wrap(key))


def _month(month: PartialDate) -> str:
    return MONTHS[month.month - 1]


def data(chart: WallChart) -> dict[str, Any]:
    """The JSON shape of `wall`."""
    return {
        "today": chart.today,
        "months": chart.months,
        "cylinders": [
            {
                "id": row.id,
                "size": row.size or None,
                "use": row.use,
                "stands": row.status,
                "late": [{"obligation": n.obligation, "since": n.since} for n in row.late],
                "due": [
                    {"month": month, "obligation": question}
                    for month, questions in zip(chart.months, row.months, strict=True)
                    for question in questions
                ],
            }
            for row in chart.rows
        ],
    }
