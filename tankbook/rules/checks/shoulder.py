"""Words of a shoulder held against the card: for another gas than its own, or another material."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from tankbook.records.cylinder import Cylinder
from tankbook.records.marked import Marks, MarkWords
from tankbook.records.words import Material, Service
from tankbook.rules.checks.declared import FAULT, WARN, Says, on_cylinder
from tankbook.rules.inforce import InForce
from tankbook.rules.stamped import gases_said, materials_said, plain_letters
from tankbook.units.patterns import pattern

_OF_A_NAME = "where it is part of a name, write that whole as `owner:` or `maker:`"


@on_cylinder("marks-gas", FAULT, since="0.2")
def gas_as_stamped(
    card: Cylinder, marks: Marks, mark_words: Sequence[MarkWords], rules: InForce
) -> Iterator[Says]:
    """No word of its shoulder is for another gas than what it is cleaned and labelled for, and no
    share of oxygen that it may not be above. One for oxygen may be above any."""
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

    most = _most_oxygen(marks)
    share = float((most[1] or most[2]).replace(",", ".")) if most else 0.0
    too_little = card.service is Service.NITROX and share <= rules.clean_above.percent
    if most and (too_little or card.service is Service.OXYGEN):
        text = f"its marks carry `{most[0].strip()}`, and it is labelled for {card.service}"
        mend = f"read the shoulder again; else nobody fills it for {card.service}"
        yield Says(card.source.at("marks"), text, mend)


_MOST_WORDS = r"(?:MAX(?:IMUM)?|ONLY|LIMIT(?:ED TO)?|UP TO|NOT OVER|NO MORE THAN)"
_OXYGEN = r"(?:O ?2|OXYGEN|FO2)"
_MOST = pattern(
    rf"\b{_MOST_WORDS}[ .:=<]{{0,3}}(?:{_OXYGEN}[ :=<]{{0,3}})?([0-9]{{2}}(?:[.,][0-9])?) ?%"
    rf"|(?<![\w.,])([0-9]{{2}}(?:[.,][0-9])?) ?% ?(?:{_OXYGEN} ?)?{_MOST_WORDS}\b"
)


def _most_oxygen(marks: Marks) -> re.Match[str] | None:
    """The most oxygen that a shoulder says it may hold."""
    return _MOST.search(plain_letters(marks.line))


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
