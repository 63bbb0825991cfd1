"""The stock for sale, and sheets and results of a stock count."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from tankbook.output.card import contents_data
from tankbook.output.page import Page, counted, plain_date, titled
from tankbook.output.tables import Column, Table, in_words, pairs
from tankbook.rules.stock import Count, Expected, SaleLine


def _gone(line: SaleLine) -> str | None:
    if line.months_gone is None or not line.months_whole:
        return None
    return f"{line.months_gone} of {line.months_whole}"


FOR_SALE = Table[SaleLine](
    Column("id", lambda s: s.id, "id"),
    Column("size", lambda s: s.size, "size", wrap=True),
    Column("price", lambda s: s.price, "price", right=True),
    Column("tested", lambda s: s.tested, "tested", none="NOT KNOWN"),
    Column("months_gone", lambda s: s.months_gone),
    Column("months_whole", lambda s: s.months_whole),
    Column("", _gone, "months gone"),
    Column("contents", lambda s: contents_data(s.contents)),
    Column("air_days", lambda s: s.air_days, "air", "{} d".format, none="not filled", right=True),
    Column("inspected_until", lambda s: s.inspected_until, "visual to"),
    Column("stands", lambda s: s.status),
    Column("needs", lambda s: s.needs),
    Column("allowed", lambda s: s.allowed),
)
"""What `stock` says of a cylinder, and its JSON shape."""

EXPECTED = Table[Expected](
    Column("id", lambda e: e.id, "id"),
    Column("serial", lambda e: e.serial, "serial"),
    Column("size", lambda e: e.size, "size", wrap=True),
    Column("place", lambda e: e.place or None, "place", wrap=True),
    Column("stands", lambda e: e.status, "stands"),
)
"""What a count says of a cylinder that should be here; the JSON shape of `list --count-sheet`."""

TO_TICK = Table[Expected](
    Column("", lambda e: "[ ]", ""),
    *EXPECTED.pick("id", "serial", "size").columns,
    Column("", lambda e: ", ".join(e.states or (e.status,)), "stands", in_words, wrap=True),
)


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
    shown = FOR_SALE.pick("id", "size", "tested", "months gone", "air", "visual to", "price")
    needs = page.paragraphs(
        (f"{s.id}: {'; '.join(s.needs)}" for s in lines if s.needs), "  ", "    "
    )
    wanting = titled("Still needed before hand-over", needs)
    return page.answer(sale_headline(lines), shown.text(lines, page), wanting)


KEY_IN = "Key in what was found: tankbook count 14 22 ..., or --from FILE."


def by_place(expected: Sequence[Expected]) -> Iterator[tuple[str, list[Expected]]]:
    """What should be here by place, each with a heading that says how many there are."""
    for place in dict.fromkeys(e.place for e in expected):
        mine = [e for e in expected if e.place == place]
        yield f"{place or 'No place recorded'} ({len(mine)})", mine


def count_sheet(expected: Sequence[Expected], ledger: str, day: str, page: Page) -> str:
    """A sheet to walk the room with: a box for each, place by place."""
    head = f"COUNT {counted(len(expected), 'cylinder')}: {ledger}, {day}, counted by ______"
    places = (titled(place, TO_TICK.text(mine, page)) for place, mine in by_place(expected))
    besides = "Found besides: " + "_" * (page.width - 16)
    return page.answer(head, *places, besides, page.wrap(KEY_IN))


def count_headline(counted_: Count) -> str:
    """`COUNTED 31, missing 2, not expected here 1`."""
    where = f" in {counted_.place}" if counted_.place else ""
    return (
        f"COUNTED {len(counted_.found)}{where}, missing {len(counted_.missing)}, "
        f"not expected here {len(counted_.unexpected)}"
    )


def count_data(counted_: Count) -> dict[str, Any]:
    """What a count found, beside the JSON of the act."""
    return {
        "place": counted_.place or None,
        "found": counted_.found,
        "missing": EXPECTED.objects(counted_.missing),
        "unexpected": pairs("why").objects(counted_.unexpected),
    }


def count_text(counted_: Count, page: Page) -> str:
    """What a count found: what is missing, and what should not have been here."""
    missing, unexpected = counted_.missing, counted_.unexpected
    return page.answer(
        count_headline(counted_),
        titled(f"Missing ({len(missing)})", EXPECTED.text(missing, page)),
        titled(f"Not expected here ({len(unexpected)})", pairs("why").text(unexpected, page)),
    )
