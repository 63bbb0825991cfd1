"""Tags in plain text: what a tag on a cylinder must say, 40 columns wide.

A tag hangs there for a year: it says what a cylinder is, how long its tests hold and what it may be
filled to. What it holds is not on it: that would be false after one dive.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

from tankbook.output.card import Card, CardSide, contents_data, sides_data, user_analysed
from tankbook.output.due import data as due_data
from tankbook.output.due import subject
from tankbook.output.page import Page, plain_date
from tankbook.output.words import DO_NOT_FILL, OR_USE, obligation
from tankbook.records.cylinder import Cylinder
from tankbook.records.words import Service, Status
from tankbook.rules.answers import Due, State
from tankbook.rules.conditions import FOR_AIR
from tankbook.rules.gate import adverse_of
from tankbook.rules.labels import not_to_use

CARE = "Analyse before use. Never above the marked pressure."
CARE_LIMIT = "Analyse before use. Never above the limit on this tag."
WIDTH = 40
INSIDE = WIDTH - 4
NAME = 12
MOST_TOLD = 8
"""A tag in text has no more lines of reasons than this, the one of how many more among them (own
choice: what is read at a glance)."""
OUT = f"standing-{Status.OUT}"


def data(cards: Sequence[Card]) -> list[dict[str, Any]]:
    """The JSON shape of `tags`."""
    return [
        {
            "id": card.id,
            "serial": card.record.serial if isinstance(card.record, Cylinder) else None,
            "cylinders": [
                {
                    "id": side.id,
                    "serial": side.cylinder.serial if side.cylinder else None,
                    "due": due_data(side.dues),
                }
                for side in card.cylinders
            ],
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
    """One tag. What must not be filled says so first, with the first reasons and how many more
    there are, then what is warned of for what was found, happened or was not read of its marks."""
    lines = [card.id]
    if not card.answer.fillable:
        used = OR_USE if not_to_use(card.answer) else ""
        lines += ["", f"*** {DO_NOT_FILL}{used} ***"]
        reasons = against_said(card)
        told = reasons if len(reasons) <= MOST_TOLD else reasons[: MOST_TOLD - 1]
        lines += [line for said in told for line in _wrapped(f"- {said}", "  ")]
        if more := len(reasons) - len(told):
            lines += _wrapped(f"- and {more} more: `tankbook may-fill {card.id}` lists all", "  ")
    for r in adverse_of(card.answer.warnings):
        lines += ["", *_wrapped(f"WARNING: {r.text}", "  ")]
    facts = _facts(card, page)
    lines += [""] if facts else []
    for name, said in facts:
        lines += _wrapped(f"{name:<{NAME - 1}} {said}", " " * NAME)
    lines += ["", *_wrapped(CARE if limit_said(card, page) is None else CARE_LIMIT, "")]
    edge = f"+{'-' * (WIDTH - 2)}+"
    return "\n".join([edge, *(f"| {line:<{INSIDE}} |" for line in lines), edge])


def against_said(card: Card) -> list[str]:
    """What is against filling it, each once, as a tag says it: first what is against what is in it
    as well. That it is out is what the record says of a thing on which the tag hangs."""
    every = {r.text: r.text for r in card.answer.refusals}
    for reason in card.answer.refusals:
        if reason.code == OUT:
            said = reason.text.replace("it is", "by the record it is", 1)  # of a set after its side
            every[reason.text] = f"{said}: record its return first"
    first = [text for text in not_to_use(card.answer) if text in every]
    return [every[text] for text in dict.fromkeys((*first, *every))]


def _facts(card: Card, page: Page) -> list[tuple[str, str]]:
    found = []
    record = card.record
    if isinstance(record, Cylinder):
        found.append(("serial", record.serial))
        pressure = record.service_pressure
        found.append(("marked", page.marked(pressure) if pressure else "NOT KNOWN"))
    found += [(side.id, side_said(side, page)) for side in card.cylinders]
    if (limit := limit_said(card, page)) is not None:
        found.append(("fill to", limit))
    return [*found, *clean_said(card), *dates_said(card)]


def limit_said(card: Card, page: Page) -> str | None:
    """The most it may be filled to: of a set, what its weakest part takes. None where it must not
    be filled, or no limit can be stated."""
    limit, gas = card.answer.limit, card.answer.gas
    if not card.answer.fillable or limit is None:
        return None
    of = "" if gas.is_air else f", for {gas}"
    lowered = f"; {limit.lowered}" if limit.lowered else ""
    return f"{page.marked(limit.pressure)} at {limit.reference}{of}{lowered}"


def side_said(side: CardSide, page: Page) -> str:
    """What is said of a cylinder of a set: its serial number, and what it is marked."""
    if side.cylinder is None:
        return "its file cannot be read"
    marked = side.cylinder.service_pressure
    return f"serial {side.cylinder.serial}, {page.marked(marked) if marked else 'NOT KNOWN'}"


AIR_ONLY = f"{FOR_AIR}, not oxygen-clean"


def clean_for(said: str) -> str:
    """For what a cylinder is clean, as every paper and page says it. Nobody cleaned for air: what
    is for that alone is told not to be oxygen-clean.

    Args:
        said: what may be said of it (`cleaned_for`); empty where nothing is on record.
    """
    return AIR_ONLY if said == Service.AIR else said or "not recorded"


def clean_said(card: Card) -> list[tuple[str, str]]:
    """For what it is clean, as a name and what is said; of a set, where its sides differ, of
    each."""
    sides = card.cylinders or ((card,) if isinstance(card.record, Cylinder) else ())
    every = {side.id: clean_for(side.cleaned_for) for side in sides}
    if len(set(every.values())) > 1:
        return [("cleaned for", f"{said} ({id_})") for id_, said in every.items()]
    return [("cleaned for", said) for said in sorted(set(every.values()))]


def dates_said(card: Card) -> list[tuple[str, str]]:
    """How long each obligation holds; of a set, each of both its cylinders, however far off."""
    if not card.cylinders:
        return [(obligation(d.obligation), until(card.id, d)) for d in card.dues]
    by_name: dict[str, dict[str, str]] = {}
    for side in card.cylinders:
        for item in side.dues:
            by_name.setdefault(obligation(item.obligation), {})[side.id] = until(side.id, item)
    found = []
    for name, said in by_name.items():
        if len(said) == len(card.cylinders) and len(set(said.values())) == 1:
            found.append((name, f"{next(iter(said.values()))}, both"))
        else:
            found += [(name, f"{each} ({id_})") for id_, each in said.items()]
    return found


def until(id_: str, item: Due) -> str:
    """How long an obligation of a cylinder or set holds: `to Feb 2027`, `LAPSED 9 Feb 2026`."""
    whose = f" ({item.part})" if subject(item) == id_ and item.part else ""
    if item.next is None:
        return ("NOT ON RECORD" if item.state is State.MISSING else "no end") + whose
    late = "FAILED " if item.failed else "LAPSED "
    return (late if item.state is State.OVERDUE else "to ") + plain_date(item.next) + whose


def _wrapped(text: str, hang: str) -> list[str]:
    return textwrap.wrap(
        text, INSIDE, subsequent_indent=hang, break_long_words=False, break_on_hyphens=False
    )
