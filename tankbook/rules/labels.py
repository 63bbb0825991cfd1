"""Which printed label a cylinder or set may get: none that says more than the records bear out."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

from tankbook.records.book import Book
from tankbook.records.entries import standing
from tankbook.rules.fill_history import contents_of
from tankbook.rules.gate import may_fill
from tankbook.rules.hand_over import may_hand_over
from tankbook.rules.rental import against_going_out, open_rental


class LabelKind(StrEnum):
    """What is printed. `tag` is an identity tag, or DO NOT FILL where that is the answer."""

    TAG = "tag"
    IDENTITY = "identity"
    ANALYSIS = "analysis"
    DO_NOT_FILL = "do-not-fill"
    RENTAL = "rental"
    SLIP = "slip"


UNREADABLE = "its file cannot be read; `tankbook validate` says why"
_WHILE_OUT = "standing-out"


def against_label(book: Book, id_: str, kind: LabelKind, today: dt.date) -> tuple[str, ...]:
    """Every reason why a label of this kind is not printed; none where it is.

    A tag is always printed: it says DO NOT FILL where it must, also for a file that cannot be read.

    Args:
        book: the records, as known today.
        id_: a cylinder or set of the book, readable or not.
        kind: what is to be printed.
        today: the day it is printed.
    """
    if kind is LabelKind.TAG:
        return ()
    if kind is LabelKind.DO_NOT_FILL:
        closed = may_fill(book, id_, today, contents_of(book, id_).gas, station=False).refusals
        return () if closed else ("nothing is against filling it",)
    if id_ in book.broken:
        return (UNREADABLE,)
    if kind is LabelKind.ANALYSIS:
        return _closed(book, id_, today)
    if kind is LabelKind.RENTAL:
        return _against_rental(book, id_, today)
    if kind is LabelKind.SLIP:
        return _against_slip(book, id_, today)
    return ()


def _closed(book: Book, id_: str, today: dt.date) -> tuple[str, ...]:
    """What is against filling it, but for its being out."""
    answer = may_fill(book, id_, today, contents_of(book, id_).gas, station=False)
    found = (r.text for r in answer.refusals if r.code != _WHILE_OUT)
    return tuple(dict.fromkeys(found))


def _against_rental(book: Book, id_: str, today: dt.date) -> tuple[str, ...]:
    subject = book.sets.get(id_) or book.cylinders[id_]
    if open_rental(subject) is not None:
        return _closed(book, id_, today)
    return against_going_out(book, id_, today, today)


def _against_slip(book: Book, id_: str, today: dt.date) -> tuple[str, ...]:
    if id_ in book.sets:
        return (f"a slip is for one cylinder: ask for {' and '.join(book.sets[id_].cylinders)}",)
    if standing(book.cylinders[id_].handed_over):
        return ()
    return may_hand_over(book, id_, today).reasons
