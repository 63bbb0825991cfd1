"""The slip a buyer is given with a cylinder."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from tankbook.acts.hand_over import Slip
from tankbook.acts.receipt import against, beware
from tankbook.output.as_json import pressures
from tankbook.output.card import contents_data
from tankbook.output.document import Block, Document, Particulars, Section, Words
from tankbook.output.document_text import text as document_text
from tankbook.output.due import data as due_data
from tankbook.output.page import Page, plain_date
from tankbook.output.tags import clean_for
from tankbook.output.user_gas import of_user
from tankbook.output.words import CAUTION, DO_NOT_USE, NOT_ADVICE, obligation
from tankbook.records.rulerow import Obligation
from tankbook.records.settings import Settings
from tankbook.rules.answers import Due, MayFill
from tankbook.rules.labels import not_to_use

HANDED = "Handed over: ____________________"
RECEIVED = "Received: ____________________"
DATES = (
    "By the records on that day; what it is worked on later, or what is found of it, changes these."
)
KEPT = "A shop's slip, and no test certificate. Keep it with the cylinder's papers."


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
        "since": list(slip.since),
        "hour_unknown": slip.hour_unknown,
        "otherwise": slip.otherwise or None,
    }


def document(slip: Slip, settings: Settings, page: Page) -> Document:
    """The slip: what it is, what it holds, until when it may be filled, and two lines to sign."""
    closed = not_to_use(slip.answer, slip.since) if slip.answer else slip.since
    said = f"HAND-OVER SLIP {slip.number}".rstrip()
    return Document(
        title=f"Hand-over slip {slip.number}, {settings.ledger}".replace(" ,", ","),
        told=loud_head(
            said,
            [slip.cylinder.id] if closed else [],
            [slip.cylinder.id] if slip.otherwise else [],
        ),
        sections=(
            Section(
                "cylinder", "The cylinder", (Particulars(tuple(_facts(slip, settings, page))),)
            ),
            Section(
                "gas",
                f"The gas, {plain_date(slip.on)}",
                of_user(
                    slip.contents,
                    slip.analysed,
                    settings,
                    page,
                    closed,
                    doubt=slip.doubt,
                    pressure_unknown=slip.pressure_unknown,
                    otherwise=slip.otherwise,
                ),
            ),
            Section("dates", "How long it may be filled", (*_dates(slip), Words(DATES))),
            Section("signed", "Signed", (Words(HANDED), Words(RECEIVED))),
        ),
        foot=(CAUTION, KEPT, NOT_ADVICE),
        fits=True,
    )


def text(slip: Slip, settings: Settings, page: Page) -> str:
    """The slip for a terminal."""
    return document_text(document(slip, settings, page), page)


def _facts(slip: Slip, settings: Settings, page: Page) -> Iterator[tuple[str, str]]:
    cylinder = slip.cylinder
    yield "from", f"{settings.ledger}, {plain_date(slip.on)}, by {slip.by or 'not said'}"
    yield "to", slip.to
    serial = f"serial {cylinder.serial}"
    yield "cylinder", ", ".join(filter(None, (cylinder.id, serial, cylinder.maker)))
    if cylinder.marks:
        yield "marks", cylinder.marks
    if cylinder.specification:
        yield "specification", ", ".join(cylinder.specification)
    pressure = cylinder.service_pressure
    yield "marked", page.marked(pressure) if pressure else "working pressure NOT KNOWN"
    if slip.alloy:
        yield "alloy", slip.alloy
    if slip.answer is not None:
        yield from filling(slip.answer, page, slip.since)
    yield from use_of(slip.since)
    if cylinder.valve and cylinder.valve.outlet:
        yield "outlet", cylinder.valve.outlet.value
    yield "cleaned for", clean_for(slip.cleaned_for)
    if slip.price:
        yield "paid", str(slip.price)


def _dates(slip: Slip) -> Iterator[Block]:
    pairs = [(obligation(item.obligation), until(item)) for item in slip.dues]
    if slip.sticker_month:
        number_ = f", number {slip.sticker_number}" if slip.sticker_number else ""
        said = f"{plain_date(slip.sticker_month)}{number_}{_agrees(slip)}"
        pairs.append(("sticker", said))
    if pairs:
        yield Particulars(tuple(pairs))


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


def loud_head(said: str, closed: Sequence[str], otherwise: Sequence[str] = ()) -> str:
    """The first line of a paper, which first names what must not be breathed from; and last what
    its user analysed `otherwise`."""
    said += f"; BEWARE of what is in {', '.join(otherwise)}" if otherwise else ""
    return f"{DO_NOT_USE} {', '.join(closed)}. {said}" if closed else said


def use_of(since: Sequence[str]) -> Iterator[tuple[str, str]]:
    """That it is not to be breathed from, by what was found since it was given."""
    if since:
        yield f"{DO_NOT_USE} IT", f"found since: {'; '.join(since)}"


def filling(answer: MayFill, page: Page, since: Sequence[str] = ()) -> Iterator[tuple[str, str]]:
    """To what it may be filled, or why not; and what its records tell of it besides. What was found
    to be bad `since` has no limit any more."""
    reasons = against(answer)
    limit = answer.limit
    if reasons:
        used = " OR USED" if not_to_use(answer) else ""
        yield f"NOT TO BE FILLED{used}", "; ".join(reasons)
    elif since:
        yield "NOT TO BE FILLED", "by what was found since"
    elif limit is None:
        yield "NOT TO BE FILLED", "no limit can be stated"
    else:
        of = "" if answer.gas.is_air else f", for {answer.gas}"
        lowered = f"; {limit.lowered}" if limit.lowered else ""
        most = f"{page.marked(limit.pressure)} at {limit.reference}, never above{of}{lowered}"
        yield "fill to", most
    if found := beware(answer):
        yield "BEWARE", "; ".join(found)


def until(item: Due) -> str:
    """`last 9 Feb 2026, next by 9 Feb 2027`."""
    last = f"last {plain_date(item.last)}" if item.last else "none on record"
    return f"{last}, next by {plain_date(item.next)}" if item.next else last
