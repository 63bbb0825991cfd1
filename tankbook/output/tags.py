"""Tags in plain text: what a tag on a cylinder must say, 40 columns wide."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

from tankbook.output.card import Card, contents_data, holds, sides_data, user_analysed
from tankbook.output.due import data as due_data
from tankbook.output.due import subject
from tankbook.output.page import Page, plain_date
from tankbook.output.words import obligation
from tankbook.records.cylinder import Cylinder
from tankbook.rules.answers import Due, State
from tankbook.rules.gate import adverse_of

CARE = "Analyse before use. Never above the marked pressure."
WIDTH = 40
INSIDE = WIDTH - 4
NAME = 12


def data(cards: Sequence[Card]) -> list[dict[str, Any]]:
    """The JSON shape of `tags`."""
    return [
        {
            "id": card.id,
            "serial": card.record.serial if isinstance(card.record, Cylinder) else None,
            "fillable": card.answer.fillable,
            "do_not_fill": [r.text for r in card.answer.refusals],
            "warnings": [r.text for r in card.answer.warnings],
            "limit": card.answer.limit.pressure if card.answer.limit else None,
            "reference_temperature": card.answer.limit.reference if card.answer.limit else None,
            "contents": contents_data(card.contents),
            "sides": sides_data(card),
            "user_analysed": user_analysed(card),
            "due": due_data(card.dues),
        }
        for card in cards
    ]


def text(cards: Sequence[Card], page: Page) -> str:
    """One tag after the other, with a line to cut along between them."""
    return "\n\n".join(tag(card, page) for card in cards) + "\n"


def tag(card: Card, page: Page) -> str:
    """One tag. What must not be filled says so first, with every reason, then what is warned of
    for what was found, happened or was not read of its marks."""
    lines = [card.id]
    if not card.answer.fillable:
        lines += ["", "*** DO NOT FILL ***"]
        lines += [line for r in card.answer.refusals for line in _wrapped(f"- {r.text}", "  ")]
    for r in adverse_of(card.answer.warnings):
        lines += ["", *_wrapped(f"WARNING: {r.text}", "  ")]
    lines.append("")
    for name, said in _facts(card, page):
        lines += _wrapped(f"{name:<{NAME - 1}} {said}", " " * NAME)
    lines += ["", *_wrapped(CARE, "")]
    edge = f"+{'-' * (WIDTH - 2)}+"
    return "\n".join([edge, *(f"| {line:<{INSIDE}} |" for line in lines), edge])


def _facts(card: Card, page: Page) -> list[tuple[str, str]]:
    found = []
    record = card.record
    if isinstance(record, Cylinder):
        found.append(("serial", record.serial))
        pressure = record.service_pressure
        found.append(("service", page.marked(pressure) if pressure else "pressure NOT KNOWN"))
        found.append(("cleaned for", card.cleaned_for or "not recorded"))
    elif record is not None:
        found.append(("cylinders", ", ".join(record.cylinders)))
    if card.answer.fillable and card.answer.limit is not None:
        limit = card.answer.limit
        found.append(("fill to", f"{page.marked(limit.pressure)} at {limit.reference}"))
        found.append(("gas", str(card.answer.gas)))
    found += [(name.removesuffix(" holds"), said) for name, said in holds(card, page)]
    if (read := user_analysed(card)) is not None:
        found.append(("user read", str(read)))
    found += [(obligation(d.obligation), until(card.id, d)) for d in card.dues]
    return found


def until(id_: str, item: Due) -> str:
    """How long an obligation of a cylinder or set holds: `to Feb 2027`, `LAPSED 9 Feb 2026`."""
    whose = f" ({item.part})" if subject(item) == id_ and item.part else ""
    if item.next is None:
        return ("NOT ON RECORD" if item.state is State.MISSING else "no end") + whose
    return ("LAPSED " if item.state is State.OVERDUE else "to ") + plain_date(item.next) + whose


def _wrapped(text: str, hang: str) -> list[str]:
    return textwrap.wrap(
        text, INSIDE, subsequent_indent=hang, break_long_words=False, break_on_hyphens=False
    )
