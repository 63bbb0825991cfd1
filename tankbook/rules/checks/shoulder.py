"""Words of a shoulder held against the card: for another gas than its own, or another material."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tankbook.records.cylinder import Cylinder
from tankbook.records.marked import Marks, MarkWords
from tankbook.records.words import Material
from tankbook.rules.checks.declared import FAULT, WARN, Says, on_cylinder
from tankbook.rules.stamped import gases_said, materials_said

_OF_A_NAME = "where it is part of a name, write that whole as `owner:` or `maker:`"


@on_cylinder("marks-gas", FAULT, since="0.2")
def gas_as_stamped(card: Cylinder, marks: Marks, mark_words: Sequence[MarkWords]) -> Iterator[Says]:
    """No word of its shoulder is for another gas than what it is cleaned and labelled for."""
    for word, row in gases_said(card, marks, mark_words):
        if card.service in row.fits:
            continue
        against = card.service in row.against
        labelled = f"it is labelled for {card.service}" if card.service else "has no `service:`"
        text = f"its marks carry `{word}`, and {labelled}"
        mend = f"read the shoulder again; {_OF_A_NAME}"
        if against:
            mend = f"{mend}; else nobody fills it for {card.service} till a requalifier took it off"
        yield Says(card.source.at("marks"), text, mend, severity=None if against else WARN)


_LINED = frozenset({Material.STEEL, Material.ALUMINIUM})


@on_cylinder("marks-made-of", FAULT, since="0.2")
def made_of_as_stamped(card: Cylinder, mark_words: Sequence[MarkWords]) -> Iterator[Says]:
    """It is made of what its shoulder says; a composite may name the metal of its liner."""
    for word, row in materials_said(card, mark_words):
        if card.material is None or row.material in {None, card.material}:
            continue
        if card.material is Material.COMPOSITE and row.material in _LINED:
            continue
        text = f"its marks carry `{word}`, which is {row.material}, and its card {card.material}"
        mend = f"read the shoulder again; {_OF_A_NAME}"
        yield Says(card.source.at("marks"), text, mend)
