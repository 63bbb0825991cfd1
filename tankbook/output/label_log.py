"""What a printed label said, as it is entered on the card of what it is for."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from tankbook.output.card import Card
from tankbook.output.paper.labels import Label
from tankbook.records.entries import Labelled
from tankbook.records.words import LabelKind
from tankbook.units import PartialDate, Percent

OF_GAS = frozenset({LabelKind.ANALYSIS, LabelKind.STRIP, LabelKind.RENTAL, LabelKind.SLIP})
"""The labels that say what is in it."""
OF_LIMIT = frozenset({LabelKind.IDENTITY, LabelKind.SLIP})
"""The labels that say what it is filled to, where it may be."""


def entries_for(
    cards: Iterable[Card], labels: Iterable[Label], *, by: str, on: dt.date, at: dt.time | None
) -> dict[str, Labelled]:
    """Of each label the entry that tells what it said; a card that cannot be read gets none."""
    made = zip(cards, labels, strict=True)
    return {
        card.id: _entry(card, label.kind, by, on, at)
        for card, label in made
        if card.record is not None
    }


def _entry(card: Card, kind: LabelKind, by: str, on: dt.date, at: dt.time | None) -> Labelled:
    held = card.contents if kind in OF_GAS else None
    said = held.analysis if held else None
    limit = card.answer.limit if kind in OF_LIMIT and card.answer.fillable else None
    return Labelled(
        on=PartialDate.of(on),
        by=by or None,
        kind=kind,
        at=at.replace(second=0, microsecond=0) if at else None,
        gas=held.gas if held else None,
        oxygen=_percent(said.oxygen if said else None),
        helium=_percent(said.helium if said else None),
        analysed=said.on if said else None,
        pressure=held.pressure if held else None,
        limit=limit.pressure if limit else None,
    )


def _percent(value: float | None) -> Percent | None:
    return Percent.of(value, "%") if value is not None else None
