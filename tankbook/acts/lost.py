"""After a stock count: what was not found becomes lost only when said so, and what turns up is
found."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping

from tankbook.acts.common import (
    Draft,
    act_of,
    line_reasons,
    named,
    refusal,
    signer_reasons,
    text_reasons,
    uncertified,
)
from tankbook.acts.soundness import sound
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import Lost, standing
from tankbook.records.words import Status
from tankbook.rules.status import open_states
from tankbook.rules.stock import Count
from tankbook.units import PartialDate


def after_count(
    book: Book,
    counted: Count,
    *,
    by: str,
    on: dt.date,
    missing_are_lost: bool = False,
    note: str = "",
    found_why: Mapping[str, str] | None = None,
) -> Act | Refusal:
    """Record a count: lost ones that were found again, and where asked the missing ones as lost.

    That one is found is recorded by somebody certified, where that is kept; another's count only
    tells it.

    Args:
        book: the records, all of them.
        counted: what was found and what was not.
        by: initials of who counted.
        on: the day.
        missing_are_lost: what was not found is lost; otherwise it is only told.
        note: anything worth keeping with each loss.
        found_why: where each lost one had been that turned up, by id.
    """
    where = found_why or {}
    turned_up = [id_ for id_, _ in counted.unexpected if _is_lost(book, id_)]
    found = [] if uncertified(book, by, on) else turned_up
    reasons = signer_reasons(book, by, on) + text_reasons(note=note)
    reasons += [r for id_ in found for r in _unsaid(id_, where.get(id_, ""))]
    reasons += [
        f"{id_} was not lost: leave --found-why out" for id_ in where if id_ not in turned_up
    ]
    if reasons:
        return refusal(reasons)
    lost = [e.id for e in counted.missing] if missing_are_lost else []
    drafts = [_lose(book, book.cylinders[id_], by, on, note) for id_ in lost]
    drafts += [_find(book, book.cylinders[id_], by, on, where[id_]) for id_ in found]
    sentence = f"Counted {len(counted.found)} here{_ending(lost, found)}, by {by}"
    act = act_of("count", drafts, sentence, _notes(counted, lost, turned_up, found))
    return sound(book, act, drafts, on, fact=True, decides=False)


def _unsaid(id_: str, why: str) -> Iterator[str]:
    """That it is not said where a lost one had been: nobody knows then what happened to it."""
    if not why:
        yield f"{id_} was lost and turned up: where had it been? --found-why {id_}=TEXT"
    else:
        yield from (f"{id_}: {r}" for r in line_reasons(found_why=why))


def _is_lost(book: Book, id_: str) -> bool:
    cylinder = book.cylinders.get(id_)
    return cylinder is not None and Status.LOST in open_states(cylinder)


def _lose(book: Book, cylinder: Cylinder, by: str, on: dt.date, note: str) -> Draft[Cylinder]:
    entry = Lost(on=PartialDate.of(on), by=by, note=note or None)
    return Draft(cylinder).enter("lost", entry).stand(book)


def _find(book: Book, cylinder: Cylinder, by: str, on: dt.date, why: str) -> Draft[Cylinder]:
    """A cylinder that turned up awaits inspection: nobody saw what happened to it."""
    draft = Draft(cylinder)
    for entry in standing(cylinder.lost):
        if entry.found is None:
            draft = draft.amend("lost", entry, found=on, found_by=by, found_why=why)
    return draft.stand(book)


def _ending(lost: Iterable[str], found: Iterable[str]) -> str:
    said = [
        f"{what} {named(ids)}" for what, ids in (("lost:", lost), ("found again:", found)) if ids
    ]
    return "; " + "; ".join(said) if said else ""


def _notes(
    counted: Count, lost: list[str], turned_up: list[str], found: list[str]
) -> Iterator[str]:
    """What the count left open."""
    open_ = [e for e in counted.missing if e.id not in lost]
    if open_:
        yield (
            f"not found, and not recorded as lost: {', '.join(e.id for e in open_)}; "
            "--missing-are-lost says so"
        )
    for id_, why in counted.unexpected:
        if id_ not in turned_up:
            yield f"{id_} was found here: {why}"
    for id_ in turned_up:
        if id_ in found:
            yield f"{id_} turned up: it is inspected before it is filled"
        else:
            yield (
                f"{id_} turned up and is still recorded as lost: somebody certified records that, "
                f"with `tankbook count {id_} --found-why WHERE --by XX`"
            )
