"""What was found of a cylinder that is dangerous for as long as it holds pressure: a crack, a
bulge, heat, a leak of the shell, a bent neck. One judge for the words and the findings."""

from __future__ import annotations

from collections.abc import Iterator

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Held, standing
from tankbook.records.kinds import is_empty
from tankbook.records.life import still_open
from tankbook.records.words import Status
from tankbook.rules.clearing import open_damage, open_findings, open_inspection
from tankbook.rules.counter import found_then, refused_before
from tankbook.rules.fill_history import contents_of, rentals_of
from tankbook.rules.giving_way import says_giving_way
from tankbook.rules.remark_words import Misgiving
from tankbook.rules.remarks import remarks_open
from tankbook.rules.signing import SigningRules, bench_of
from tankbook.rules.status import status_of
from tankbook.rules.wording import spoken_of

STAND_CLEAR = (
    "keep everybody away and leave it where it is; do not knock, warm or fill it, nor open its "
    "valve fast by hand; somebody equipped for it lets the gas out slowly, standing clear of valve "
    "and neck; hot, swelling or hissing: leave the room and call the fire service (common "
    "practice, no source)"
)
"""What is done with such a cylinder. No source that was read says it."""


def danger_said(bench: SigningRules, *texts: str | None) -> str:
    """The word by which a text says what is dangerous under pressure, or an empty text."""
    for text in filter(None, texts):
        grave = (spoken_of(text, row) for row in bench.grave)
        word = next(filter(None, grave), "") or says_giving_way(text)
        if word:
            return word
    return ""


def danger_of(book: Book, card: Cylinder) -> str:
    """The first of what stands on a card, or at the counter, that is dangerous under pressure and
    that nothing answers: `crack, since 2026-11-28`; or an empty text."""
    return next((f"{what}, since {on}" for what, on in _dangers(book, card)), "")


_FOUND = {"cracked": "crack", "suspected": "crack", "bulge-said": "bulge"}
"""What is open of a cylinder in a word; all else is heat, or what a test was failed for."""


def _dangers(book: Book, card: Cylinder) -> Iterator[tuple[str, object]]:
    bench, rentals = bench_of(book), rentals_of(book, card.id)
    for against, state in open_findings(bench, card, rentals):
        if state == "giving-way-said":
            texts = against.entry.said if isinstance(against.entry, Held) else ()
            yield next(filter(None, map(says_giving_way, texts)), ""), against.on
        elif state not in {"test-said", "unread-said"}:
            yield _FOUND.get(state, "heat"), against.on
    said: list[tuple[object, tuple[str, ...]]] = []
    said += [(e.on, e.said) for e in still_open(card.held)]
    said += [(e.on, (e.why,)) for e in still_open(card.rejected)]
    said += [(e.on, (e.why,)) for e in standing(card.condemned)]
    said += [(e.on, found_then(book, e, card)) for e in refused_before(book, card)]
    said += [(on, (r.damage or "",)) for r, on in open_damage(bench, card, rentals)]
    for on, texts in said:
        if word := danger_said(bench, *texts):
            yield word, on
    for noted in remarks_open(book, card):
        if noted.doubt is Misgiving.SHELL:
            yield noted.word, noted.on or "its note"
    bad = open_inspection(bench, card)
    if bad is not None:
        never = {row.what for row in bench.grave}
        found = next((f.what for f in bad.findings if f.what in never), None)
        word = found or danger_said(bench, bad.note, *(f.note for f in bad.findings))
        if word:
            yield str(word), bad.on


def under_pressure(book: Book, card: Cylinder, *, unknown: bool = False) -> str:
    """That a cylinder holds pressure with something on record that makes that dangerous, and what
    to do; empty where it does not, or is not here any more.

    Args:
        book: the records, as known that day.
        card: the cylinder.
        unknown: also where nobody recorded what it holds.
    """
    status = status_of(book, card)
    if status.gone and status is not Status.CONDEMNED:  # that one may be full and here
        return ""
    pressure = contents_of(book, card.id).pressure
    if is_empty(pressure) or (pressure is None and not unknown):
        return ""
    danger = danger_of(book, card)
    if not danger:
        return ""
    holds = f"it holds {pressure}" if pressure else "what pressure it holds is not recorded"
    return f"DANGER, {holds} ({danger}): {STAND_CLEAR}"
