"""What the comments of cards say against its cylinder."""

from __future__ import annotations

from typing import TypeAlias

from tankbook.records.book import Book, Comment
from tankbook.records.cylinder import Cylinder
from tankbook.rules.fill_history import sets_with

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

    judged = ((each, tells_against(book, card, each.text)) for each in said)
    return tuple((each, why) for each, why in judged if why)
