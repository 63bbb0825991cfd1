"""The slip a buyer is given with a cylinder."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tankbook.acts.hand_over import Slip
from tankbook.output.as_json import pressures
from tankbook.output.card import contents_data, contents_text
from tankbook.output.due import data as due_data
from tankbook.output.page import Page, plain_date
from tankbook.output.words import CAUTION, NOT_ADVICE, obligation
from tankbook.records.rulerow import Obligation
from tankbook.rules.answers import Due


def data(slip: Slip) -> dict[str, Any]:
    """The JSON shape of `slip`."""
    cylinder = slip.cylinder
    return {
        "number": slip.number,
        "on": slip.on,
        "by": slip.by,
        "to": slip.to,
        "id": cylinder.id,
        "serial": cylinder.serial,
        "maker": cylinder.maker,
        "marks": cylinder.marks,
        "specification": cylinder.specification,
        "service_pressure": cylinder.service_pressure,
        **pressures(limit=slip.limit),
        "reference_temperature": slip.reference,
        "contents": contents_data(slip.contents),
        "due": due_data(slip.dues),
        "sticker_month": slip.sticker_month,
        "sticker_number": slip.sticker_number or None,
        "alloy": slip.alloy or None,
        "price": slip.price,
        "analysed": slip.analysed,
    }


def text(slip: Slip, ledger: str, page: Page) -> str:
    """The slip: what it is, what it holds, until when it may be filled, and two lines to sign."""
    return page.answer(
        f"HAND-OVER SLIP {slip.number}".rstrip(),
        page.facts(_facts(slip, ledger, page), 14),
        f"{page.wrap(CAUTION)}\n{NOT_ADVICE}",
        "Handed over: ______________________  Received: ______________________",
    )


def _facts(slip: Slip, ledger: str, page: Page) -> Iterator[tuple[str, str]]:
    cylinder = slip.cylinder
    yield "from", f"{ledger}, {plain_date(slip.on)}, by {slip.by}"
    yield "to", slip.to
    yield "cylinder", ", ".join(filter(None, (cylinder.id, f"serial {cylinder.serial}",
                                               cylinder.maker)))  # fmt: skip
    if cylinder.marks:
        yield "marks", cylinder.marks
    if cylinder.specification:
        yield "specification", ", ".join(cylinder.specification)
    if slip.alloy:
        yield "alloy", slip.alloy
    if slip.limit:
        yield "fill to", f"{page.marked(slip.limit)} at {slip.reference}, never above"
    yield "cleaned for", slip.cleaned_for or "air (nothing recorded)"
    yield "holds", contents_text(slip.contents, page)
    if slip.analysed:
        yield "analysed", f"{slip.analysed}, by who received it"
    for item in slip.dues:
        yield obligation(item.obligation), _until(item)
    if slip.sticker_month:
        number_ = f", number {slip.sticker_number}" if slip.sticker_number else ""
        yield "sticker", f"{plain_date(slip.sticker_month)}{number_}{_agrees(slip)}"
    if slip.price:
        yield "paid", str(slip.price)


def _agrees(slip: Slip) -> str:
    """Until when the sticker's month holds, to the day: a month alone would be read to its end; or
    that another look or test is what counts."""
    visuals = (d for d in slip.dues if d.obligation is Obligation.VISUAL)
    visual = next((d for d in visuals if d.last and d.next), None)
    if visual is None or visual.last is None or visual.next is None or slip.sticker_month is None:
        return ""
    if slip.sticker_month.first <= visual.last.first <= slip.sticker_month.last:
        return f"; it holds to {plain_date(visual.next)}"
    return f"; what counts is of {plain_date(visual.last)}"


def _until(item: Due) -> str:
    last = f"last {plain_date(item.last)}" if item.last else "none on record"
    return f"{last}, next by {plain_date(item.next)}" if item.next else last
