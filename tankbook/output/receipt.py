"""A receipt for what was taken in from somebody, or handed to them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tankbook.acts.receipt import CounterReceipt, Dealing, ReceiptItem
from tankbook.output.as_json import record
from tankbook.output.card import contents_data
from tankbook.output.document import Block, Document, Particulars, Section, Words
from tankbook.output.page import Page, counted, plain_date
from tankbook.output.slip import filling, loud_head, until, use_of
from tankbook.output.tags import clean_for
from tankbook.output.user_gas import held_then, of_user
from tankbook.output.words import CAUTION, NOT_ADVICE, obligation
from tankbook.records.entries import HandedOver, Job, Refused, Rented
from tankbook.records.log import LogLine
from tankbook.records.settings import Settings
from tankbook.rules.labels import not_to_use

SAID = {
    Dealing.TAKEN_IN: "taken in for work",
    Dealing.FILLED: "filled",
    Dealing.REFUSED: "refused",
    Dealing.RETURNED: "taken back from rental",
    Dealing.HANDED_BACK: "handed back",
    Dealing.LENT: "handed out on rental",
    Dealing.SOLD: "sold",
}
SIGNED = "____________________"
AS_IT_CAME = "pressure ______  valve [ ] open [ ] closed  marks and damage ____________________"


def data(found: CounterReceipt, *, price: bool) -> dict[str, Any]:
    """The JSON shape of `receipt`; a price is told where it is asked for."""
    return {
        "what": found.what,
        "on": found.on,
        "reference": found.reference or None,
        "by": list(found.by),
        "items": [
            {
                "id": item.dealt.id,
                "serials": [c.serial for c in item.cards],
                "contents": contents_data(item.contents),
                "since": list(item.since),
                "hour_unknown": item.hour_unknown,
                "otherwise": item.otherwise or None,
                "at": item.dealt.at,
                "price": item.dealt.price if price else None,
                "entry": {
                    k: v for k, v in record(item.dealt.entry).items() if price or k != "price"
                },
            }
            for item in found.items
        ],
    }


def document(
    found: CounterReceipt, settings: Settings, page: Page, *, price: bool = False
) -> Document:
    """The receipt: what, for whom, in which state, what was said, and lines to sign."""
    what = counted(len(found.items), "cylinder or set", "cylinders and sets")
    head = Particulars(
        (
            ("from" if found.what.leaves else "at", settings.ledger),
            ("to" if found.what.leaves else "from", found.reference or "nobody named"),
            ("date", _when(found)),
            ("by", ", ".join(found.by)),
        )
    )
    each = (
        Section(
            f"item-{n}",
            f"{n} of {len(found.items)}",
            tuple(_blocks(item, settings, page, price=price)),
        )
        for n, item in enumerate(found.items, 1)
    )
    closed = [item.dealt.id for item in found.items if _closed(item)]
    leaves = (item for item in found.items if item.dealt.what.leaves)
    otherwise = [item.dealt.id for item in leaves if item.otherwise]
    said = f"RECEIPT {plain_date(found.on)}: {what} {SAID[found.what]}"
    signed = Words(f"For the shop: {SIGNED}"), Words(f"For themselves: {SIGNED}")
    return Document(
        title=f"Receipt, {SAID[found.what]}, {settings.ledger}",
        told=loud_head(
            f"{said}, {found.reference}" if found.reference else said, closed, otherwise
        ),
        sections=(
            Section("receipt", "The receipt", (head,)),
            *each,
            Section("signed", "Signed", signed),
        ),
        foot=(CAUTION, NOT_ADVICE) if found.what.leaves else (NOT_ADVICE,),
        fits=True,
    )


def _when(found: CounterReceipt) -> str:
    """The day, with the hour where all was done in one."""
    hours = {item.dealt.at for item in found.items}
    hour = next(iter(hours)) if len(hours) == 1 else None
    return f"{plain_date(found.on)}{f' {hour:%H:%M}' if hour else ''}"


def _closed(item: ReceiptItem) -> tuple[str, ...]:
    """Why what somebody has in hand must not be breathed."""
    return not_to_use(item.answer, item.since) if item.dealt.what.leaves else ()


def _blocks(item: ReceiptItem, settings: Settings, page: Page, *, price: bool) -> Iterator[Block]:
    facts = [*_identity(item, page), *_dealt(item, page)]
    if price and item.dealt.price is not None:
        facts.append(("price", str(item.dealt.price)))
    if not item.dealt.what.leaves:
        facts.append(("on record", _on_record(item, page)))
        yield Particulars(tuple(facts))
        return
    facts += [("next dates", said) for said in _dates(item)]
    yield Particulars(tuple(facts))
    read = getattr(item.dealt.entry, "analysed", None)
    yield from of_user(
        item.contents, read, settings, page, _closed(item),
        doubt=item.doubt, pressure_unknown=item.pressure_unknown,
        otherwise=item.otherwise,
    )  # fmt: skip


def _on_record(item: ReceiptItem, page: Page) -> str:
    """What it held when it was brought, or refused."""
    return held_then(item.contents, page, item.doubt, pressure_unknown=item.pressure_unknown)


def _identity(item: ReceiptItem, page: Page) -> Iterator[tuple[str, str]]:
    yield "what", item.dealt.id
    for card in item.cards:
        marked = card.service_pressure
        said = page.marked(marked) if marked else "working pressure NOT KNOWN"
        maker = f", {card.maker}" if card.maker else ""
        yield "cylinder", f"{card.id}, serial {card.serial}{maker}, marked {said}"
    if item.dealt.what.leaves:
        yield from filling(item.answer, page, item.since)
        yield from use_of(item.since)
        clean = dict.fromkeys(map(clean_for, item.cleaned_for))
        yield "cleaned for", " and ".join(clean)


def _dates(item: ReceiptItem) -> Iterator[str]:
    for card, dues in zip(item.cards, item.dues, strict=True):
        of = f"{card.id} " if len(item.cards) > 1 else ""
        yield from (f"{of}{obligation(d.obligation)}: {until(d)}" for d in dues)


def _dealt(item: ReceiptItem, page: Page) -> Iterator[tuple[str, str]]:
    """What was done, in which state it was, and what was said."""
    entry, what = item.dealt.entry, item.dealt.what
    match entry:
        case Job():
            yield "work", ", ".join(entry.work)
            if what is Dealing.TAKEN_IN:
                yield (
                    "promised",
                    plain_date(entry.promised) if entry.promised else "no date promised",
                )
                yield "as it came", AS_IT_CAME
        case Rented():
            if what is Dealing.LENT:
                yield "due back", plain_date(entry.until) if entry.until else ""
            else:
                yield "came back", _came(entry, page)
        case Refused():
            yield "refused for", "; ".join(entry.reasons)
            if entry.told:
                yield "told", f"{plain_date(entry.told.on)} by {entry.told.by}: {entry.told.how}"
        case HandedOver():
            yield "slip", entry.slip or ""
        case LogLine():
            if entry.to is not None:
                yield "filled to", page.marked(entry.to)
    if entry.note:
        yield "said", entry.note


def _came(entry: Rented, page: Page) -> str:
    pressure = page.marked(entry.pressure) if entry.pressure else "pressure not read"
    valve = f"valve {entry.valve}" if entry.valve else "valve not noted"
    return (
        f"{pressure}, {valve}; {f'damage: {entry.damage}' if entry.damage else 'no damage noted'}"
    )
