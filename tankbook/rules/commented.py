"""What the comments of cards say against its cylinder."""

from __future__ import annotations

from collections.abc import Collection
from typing import TypeAlias

from tankbook.records.book import Book, Comment
from tankbook.records.cylinder import Cylinder
from tankbook.records.words import Status
from tankbook.rules.fill_history import sets_with
from tankbook.rules.harmless import is_plain, is_provenance, says_alarm
from tankbook.units.lexicon import Lexicon
from tankbook.units.patterns import pattern

_HEADINGS = Lexicon("headings")

CommentTold: TypeAlias = tuple[Comment, str]
"""A comment that tells against its cylinder, with why."""


def comments_against(book: Book, card: Cylinder) -> tuple[CommentTold, ...]:
    """The comments of a card, or of that of its set, that would hold its cylinder if they came as
    remarks of a list."""
    cards = (card.id, *sets_with(book).get(card.id, ()))
    said = [each for id_ in cards for each in book.comments.get(id_, ())]
    if not said:
        return ()
    from tankbook.rules.told_against import tells_against  # it asks the checks of notes itself

    judged = ((e, tells_against(book, card, e.text) or _put_away(e.text)) for e in said)
    return tuple((each, why) for each, why in judged if why)


def _put_away(text: str) -> str:
    """What a comment says that was a line of the card: where it stands, or what holds it."""
    key, colon, value = text.partition(":")
    if not colon or key.strip() not in _HOLDING or value.strip() == Status.IN_SERVICE:
        return ""
    return f"`{key.strip()}:` was put behind a comment sign"


_HOLDING = frozenset({"status", "held", "sent", "rejected", "condemned", "lost", "refused"})
_OF_FITNESS = frozenset(
    {"status", "service_pressure", "test_pressure", "neck_thread", "material", "alloy"}
)
"""Beside what of these stands, people write what they know better."""


def comments_unjudged(book: Book, card: Cylinder) -> tuple[Comment, ...]:
    """The comments beside what a card says of its fitness, or of where it is, of which nobody here
    knows what they say; and those elsewhere by which it is held, with somebody or not to be taken.
    Those that tell against it are told as that."""
    if card.status is not Status.IN_SERVICE:
        return ()
    people = book.settings.people
    said = [
        c
        for c in book.comments.get(card.id, ())
        if (
            not _is_nothing(card, c, people)
            if c.key in _OF_FITNESS or c.key == "place"
            else not (c.behind or is_plain(c.text, people)) and _keeps_back(c.text)
        )
    ]
    if not said:
        return ()
    against = {each for each, _ in comments_against(book, card)}
    return tuple(c for c in said if c not in against)


def _keeps_back(text: str) -> bool:
    """Whether a comment in a line of its own, where prose is as common, says in one of its clauses
    alone that a cylinder is held, that somebody has it, that it is not to be taken, or whom to ask;
    or is a red, which warns."""
    clauses = [each.strip(" -!") for each in _CLAUSES.split(text)]
    shapes = [_HEADINGS.shape(name) for name in ("with somebody", "not to go")]
    whole = len(clauses) == 1 and says_alarm(clauses[0]) and clauses[0].isalpha()
    return whole or any(shape.fullmatch(each) for each in clauses if each for shape in shapes)


_CLAUSES = pattern(r"[.,;:!?()]+(?=\s|$)|\s[-\u2013]\s")


def _is_nothing(card: Cylinder, said: Comment, people: Collection[str]) -> bool:
    if said.key == "place":
        return _HEADINGS.shape("with somebody").fullmatch(said.text.strip(" .!")) is None
    known = f"{card.marks or ''} {card.service_pressure} {card.test_pressure} {card.alloy or ''}"
    asks = "condition" if said.key == "status" else "remark"  # a red, or a 3, is none of it
    return all(
        is_provenance(each) or is_plain(f"{asks}: {each}", people, known)
        for each in said.text.split(", ")
    )
