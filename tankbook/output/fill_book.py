"""The fill book: how many fills and how much gas, each fill, and what they come to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from tankbook.output.page import Page, counted, plain_date, titled
from tankbook.output.tables import GAP, NARROWEST, PRESSURE, Column, Table
from tankbook.output.words import HELIUM
from tankbook.rules.fill_book import FillBook, FillShare, FillsWanted, FillTotals, LoggedFill
from tankbook.rules.months import month_of
from tankbook.units import Percent, Volume

FREE_GAS = ("cuft", "L")


def _percent(said: Percent | None) -> float | None:
    return said.percent if said else None


def _why_struck(fill: LoggedFill) -> str | None:
    return (fill.struck.note or "no reason given") if fill.struck else None


COLUMNS = Table[LoggedFill](
    Column("at", lambda f: f.line.at, "time", lambda at: f"{at:%Y-%m-%d %H:%M}"),
    Column("id", lambda f: f.line.cylinder, "id"),
    Column("cylinders", lambda f: f.cylinders, csv=False),
    Column("serials", lambda f: " + ".join(f.serials) or None, "serial", wrap=True),
    Column("customer", lambda f: f.customer or None, "customer", wrap=True),
    Column("gas", lambda f: f.line.gas and str(f.line.gas), "gas"),
    Column("oxygen_percent", lambda f: _percent(f.line.o2), "O2 %", lambda v: f"{v:g}", right=True),
    Column("helium_percent", lambda f: _percent(f.line.he), "He %", lambda v: f"{v:g}", right=True),
    Column("from", lambda f: f.line.from_, "from", reading=Page.whole, units=PRESSURE, right=True),
    Column("to", lambda f: f.line.to, "to", reading=Page.whole, units=PRESSURE, right=True),
    Column("temperature_c", lambda f: f.line.temperature and f.line.temperature.celsius),
    Column("free_gas", lambda f: f.gave, units=FREE_GAS),
    Column("source", lambda f: f.line.source_, "source", wrap=True),
    Column("position", lambda f: f.line.position, "place"),
    Column("by", lambda f: f.line.by, "by"),
    Column("analysed_by", lambda f: f.line.analysed_by),
    Column("override", lambda f: f.line.override),
    Column("against_advice", lambda f: f.against_advice),
    Column("bank_at_most", lambda f: f.beyond and f.beyond.most, units=PRESSURE),
    Column("note", lambda f: f.line.note),
    Column("struck_out", lambda f: not f.stands),
    Column("struck_why", _why_struck),
    Column("struck_by", lambda f: f.struck.by if f.struck else None),
)
"""What is said of a fill. Pressures are gauge."""

WAS_RAISED = (
    "Read the bank (`tankbook station read`); record when it was raised (`tankbook station "
    "raise`), or what the fill came from (`tankbook correct ID fill DATE --set source=NAME --why "
    "WHY`)."
)

SHOWN = (
    ("time", "id", "serial", "customer", "gas", "O2 %", "from", "to", "source", "place", "by"),
    ("time", "id", "customer", "gas", "O2 %", "from", "to", "source", "place", "by"),
    ("time", "id", "customer", "gas", "from", "to", "source", "place", "by"),
    ("time", "id", "customer", "gas", "from", "to", "source", "by"),
    ("time", "id", "gas", "from", "to", "source", "by"),
    ("time", "id", "gas", "from", "to", "by"),
    ("time", "id", "gas", "to", "by"),
    ("time", "id", "gas", "to"),
)
"""The columns of the table for people, fewer where the page is narrower; JSON and CSV have all."""


def _shares(head: str, key: str) -> Table[FillShare]:
    return Table[FillShare](
        Column(key, lambda s: s.name, head, wrap=True),
        Column("fills", lambda s: s.fills, "fills", right=True),
        Column("free_gas", lambda s: s.gave, "free gas", units=FREE_GAS, right=True),
        Column("free_gas_unknown", lambda s: s.unknown, "not known", lambda n: f"{n}" if n else ""),
    )


BY_GAS, BY_PERSON, BY_SOURCE = (
    _shares(head, key) for head, key in (("gas", "gas"), ("by", "by"), ("source", "source"))
)
"""What the fills of a gas, a person or a source come to."""


def data(found: FillBook) -> dict[str, Any]:
    """The JSON shape of `fills`."""
    return {
        "first": found.first,
        "last": found.wanted.last,
        "asked": asked_data(found.wanted),
        "reference": str(found.reference),
        "unread": found.unread,
        **totals_data(found.totals),
        "lines": COLUMNS.objects(found.fills),
    }


def asked_data(wanted: FillsWanted) -> dict[str, Any]:
    """What was asked for; null for what was not."""
    return {
        "ids": wanted.ids or None,
        "by": wanted.by or None,
        "gas": wanted.gas,
        "source": wanted.source or None,
        "position": wanted.position or None,
        "customer": wanted.customer or None,
    }


def totals_data(totals: FillTotals) -> dict[str, Any]:
    """What fills come to."""
    return {
        "fills": totals.fills,
        "cylinders": totals.cylinders,
        **{f"free_gas_{u}": totals.gave.to(u) if totals.gave else None for u in FREE_GAS},
        "free_gas_unknown": totals.unknown,
        "overrides": totals.overrides,
        "against_advice": totals.against_advice,
        "above_bank": totals.above_bank,
        "struck_out": totals.struck_out,
        "by_gas": BY_GAS.objects(totals.by_gas),
        "by_person": BY_PERSON.objects(totals.by_person),
        "by_source": BY_SOURCE.objects(totals.by_source),
    }


def text(found: FillBook, page: Page) -> str:
    """How many and how much, each fill, what was odd about some, and the totals."""
    stand = [f for f in found.fills if f.stands]
    parts = (
        _incomplete(found, page),
        fills_table(stand, page, one_day=found.first == found.wanted.last),
        *(titled(f"{head} ({len(rows)})", page.paragraphs(rows, "  ", "    "))
          for head, rows in odd(found.fills) if rows),
        page.wrap(WAS_RAISED) if found.totals.above_bank else "",
        *(shares_table(table, rows, page) for table, rows in _tables(found.totals) if rows),
        page.wrap(how(found)) if stand else "",
        page.wrap(helium(found)),
    )  # fmt: skip
    return page.answer(headline(found, page), *parts)


def headline(found: FillBook, page: Page) -> str:
    """`3 fills in Nov 2026 by KD, 190.3 cuft; 1 override`."""
    total = found.totals
    count = counted(total.fills, "fill") if total.fills else "No fill"
    said = f"{count} {time_of(found)}{asked_for(found.wanted)}"
    return "; ".join([", ".join(filter(None, (said, gas_of(total, page)))), *odd_counts(total)])


def time_of(found: FillBook) -> str:
    """The time of a book in words: a day, a whole month, or from when to when."""
    first, last = found.wanted.first, found.wanted.last
    if first == last:
        return f"on {plain_date(last)}"
    if first is None:
        return f"up to {plain_date(last)}"
    month = month_of(last)
    if (first, last) == (month.first, month.last):
        return f"in {plain_date(month)}"
    return f"from {plain_date(first)} to {plain_date(last)}"


def asked_for(wanted: FillsWanted) -> str:
    """What else was asked for, as a headline goes on."""
    said = (
        (" of ", ", ".join(wanted.ids)),
        (" by ", wanted.by),
        (" with ", str(wanted.gas) if wanted.gas else ""),
        (" from ", wanted.source),
        (" at ", wanted.position),
        (" for ", wanted.customer),
    )
    return "".join(f"{word}{what}" for word, what in said if what)


def gas_of(total: FillTotals | FillShare, page: Page) -> str:
    """`190.3 cuft of gas (of 1 not known)`, an empty text for no fills."""
    if not total.fills:
        return ""
    if total.gave is None:
        return "gas not known"
    unknown = f" (of {total.unknown} not known)" if total.unknown else ""
    return f"{amount(total.gave, page)} of gas{unknown}"


def amount(gave: Volume, page: Page) -> str:
    """An amount of free gas to a whole cubic foot or litre, as sums of gauge readings deserve."""
    return gave.format("cuft" if page.shore.value == "psi" else "L", 0)


def odd_counts(total: FillTotals) -> Iterator[str]:
    """How often something was odd, each in a few words."""
    if total.overrides:
        yield counted(total.overrides, "override")
    if total.against_advice:
        yield f"{total.against_advice} logged against advice"
    if total.above_bank:
        yield f"{total.above_bank} higher than the bank can have shown"
    if total.struck_out:
        yield f"{total.struck_out} struck out, not counted"


def odd(fills: Sequence[LoggedFill]) -> Iterator[tuple[str, list[str]]]:
    """The fills about which something was odd, with what was written of it."""
    stand = [f for f in fills if f.stands]
    yield "Overrides", [f"{_named(f)}: {f.line.override}" for f in stand if f.line.override]
    facts = (f for f in stand if f.against_advice)
    yield "Logged against advice", [f"{_named(f)}: {f.line.note}" for f in facts]
    others = (f for f in stand if f.untested)
    yield "Air that no test is known of", [f"{_named(f)}: {', '.join(f.untested)}" for f in others]
    high = (f for f in stand if f.beyond)
    rows = [f"{_named(f)}: {f.beyond.can_have_shown}" for f in high if f.beyond]
    yield "Higher than the bank can have shown", rows
    gone = (f for f in fills if not f.stands)
    yield "Struck out, not counted", [f"{_named(f)}: {struck_said(f)}" for f in gone]


def _named(fill: LoggedFill) -> str:
    to = f" to {fill.line.to}" if fill.line.to else ""
    return f"{fill.line.at:%Y-%m-%d %H:%M} {fill.line.cylinder}{to}"


def struck_said(fill: LoggedFill) -> str:
    """Why, by whom and when a fill was struck out."""
    assert fill.struck is not None
    by = f"{fill.struck.by}, " if fill.struck.by else ""
    return f"{_why_struck(fill)} ({by}{plain_date(fill.struck.at.date())})"


def fills_table(fills: Iterable[LoggedFill], page: Page, *, one_day: bool) -> str:
    """The fills, a line each, in as many columns as the page has room for; of one day that was
    asked for, which the first line says, by their hours."""
    lines = tuple(fills)
    form = "%H:%M" if one_day else "%Y-%m-%d %H:%M"
    empty = {c.head for c in COLUMNS.columns if all(c.get(line) is None for line in lines)}
    least: dict[str, int] = {}
    columns: tuple[Column[LoggedFill], ...] = ()
    for heads in SHOWN:
        picked = COLUMNS.pick(*(h for h in heads if h not in empty)).columns
        columns = tuple(_dated(c, form, heads is SHOWN[-1]) for c in picked)
        for c in columns:
            if c.head not in least:
                least[c.head or ""] = _least(c, lines, page)
        if sum(least[c.head or ""] + GAP for c in columns) - GAP <= page.width:
            break
    return Table(*columns).text(lines, page)


def _least(column: Column[LoggedFill], lines: Sequence[LoggedFill], page: Page) -> int:
    """The least width of a column: of its longest text, or word where it may be wrapped."""
    texts = {column.text(line, page) for line in lines} | {column.head or ""}
    if column.wrap:
        texts = {word for text in texts for word in text.split()}
        return max(NARROWEST, *map(len, texts))
    return max(map(len, texts))


def _dated(column: Column[LoggedFill], form: str, wrap: bool) -> Column[LoggedFill]:
    """A column; that of the time in this form, over two lines where it must be."""
    if column.key != "at":
        return column
    return column._replace(said=lambda at: f"{at:{form}}", wrap=wrap)


def _tables(total: FillTotals) -> Iterator[tuple[Table[FillShare], tuple[FillShare, ...]]]:
    yield BY_GAS, total.by_gas
    yield BY_PERSON, total.by_person
    yield BY_SOURCE, total.by_source


def shares_table(table: Table[FillShare], rows: Sequence[FillShare], page: Page) -> str:
    """What the fills of each gas, person or source come to."""
    columns = [
        column._replace(said=lambda v: amount(v, page)) if column.key == "free_gas" else column
        for column in table.columns
    ]
    return Table(*columns).text(rows, page)


def how(found: FillBook) -> str:
    """What is counted, and how the gas is worked out."""
    at = found.reference.temperature
    return (
        f"Gas is what a cylinder holds at `to` less what it would at `from`, counted at "
        f"{found.reference}; where no temperature was read, at {at}. A set is one fill into two "
        "cylinders."
    )


def helium(found: FillBook) -> str:
    """What the gas model says of helium, where gas with helium was counted."""
    gases = (f.line.gas for f in found.fills if f.stands and f.gave is not None)
    return HELIUM if any(gas is not None and gas.helium_percent for gas in gases) else ""


def _incomplete(found: FillBook, page: Page) -> str:
    return page.wrap(incomplete(found)) if found.unread else ""


def incomplete(found: FillBook) -> str:
    """That a file of the log could not be read in full; an empty text where all were."""
    if not found.unread:
        return ""
    return f"INCOMPLETE: {', '.join(found.unread)} could not be read; fills may be missing."
