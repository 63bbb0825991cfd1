"""How many cylinders were used in each month, against those that stood."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tankbook.output import chart
from tankbook.output.bars import Bar, Series, bars
from tankbook.output.document import Grid, Picture
from tankbook.output.drawing import Drawing, Tone
from tankbook.output.page import Page, counted, plain_date
from tankbook.output.tables import Column, Table
from tankbook.rules.in_use import InUse, MonthOfUse

SERIES = (
    Series("used", Tone.DARK),
    Series("held or away", Tone.MID),
    Series("stood idle", Tone.PAPER),
)


def _share(month: MonthOfUse) -> float | None:
    """Of a hundred days that cylinders were there, how many they were out."""
    return 100 * month.days_out / month.days_there if month.days_there else None


COLUMNS = Table[MonthOfUse](
    Column("month", lambda m: m.month, "month", plain_date),
    Column("used", lambda m: m.used, "used", right=True),
    Column("kept_back", lambda m: m.kept_back, "held or away", right=True),
    Column("stood", lambda m: m.stood, "stood idle", right=True),
    Column("most_out", lambda m: m.most_out, "most out on a day", right=True),
    Column("out_percent", _share, "days out", lambda p: f"{p:.1f} %", right=True),
)

HOW = (
    "Counted are rental, staff and pool cylinders, both of a set. Used: out on a rental that is on "
    "record, or filled, that month; held or away: through the whole of it. Days out: of the days "
    "that all of them were there."
)


def data(found: InUse) -> dict[str, Any]:
    """The JSON shape of the months."""
    return {"months": COLUMNS.objects(found.months), "not_counted": list(found.unknown)}


def headline(found: InUse) -> str:
    """The busiest month and the quietest of those that are over, each the only one so busy or with
    how many others."""
    if not found.months:
        return "No month is on record: the fill log is empty"
    over = [m for m in found.months if m.whole]
    if len(over) < 2:
        return f"Used in {_said(found.months[-1])}{'' if over else ', which is not over'}"
    most, least = max(m.used for m in over), min(m.used for m in over)
    if most == least:
        return f"Used in each month that is over: {most}"
    return f"Used in {_among(over, most, 'busiest')}; in {_among(over, least, 'quietest')}"


def _among(months: Sequence[MonthOfUse], used: int, called: str) -> str:
    """`Jul 2026 9 of 12, the busiest month`, the latest of those that are as busy."""
    same = [m for m in months if m.used == used]
    if same[1:]:
        return f"{_said(same[-1])}, the {called} with {counted(len(same) - 1, 'other month')}"
    return f"{_said(same[0])}, the {called} month"


def _said(month: MonthOfUse) -> str:
    there = month.used + month.kept_back + month.stood
    return f"{plain_date(month.month)} {month.used} of {there}"


def text(found: InUse, page: Page) -> str:
    """The figures of the picture, and how they are counted."""
    said = [HOW] if found.months else []
    if found.unknown:
        said.append(f"Not counted, since nothing says since when: {', '.join(found.unknown)}.")
    return "\n\n".join(filter(None, (COLUMNS.text(found.months, page), page.paragraphs(said))))


def alone(found: InUse) -> Drawing:
    """The picture under its title, for a file of its own."""
    return chart.headed(picture(found).drawing)


def picture(found: InUse) -> Picture:
    """A bar a month: used, held or away, idle."""
    rows = [Bar(plain_date(m.month), (m.used, m.kept_back, m.stood)) for m in found.months]
    lacks = " (INCOMPLETE)" if found.unread else ""
    title = f"Cylinders used and idle, month by month{lacks}"
    grid = Grid(
        "Use by month",
        COLUMNS.heads,
        tuple(COLUMNS.rows(found.months, Page())),
        right=COLUMNS.numbers,
    )
    return Picture(
        "use",
        bars(title, f"{headline(found)}. {chart.incomplete(found.unread)}".strip(), SERIES, rows),
        grid,
    )
