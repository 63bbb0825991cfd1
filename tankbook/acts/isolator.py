"""The isolator of doubles, as somebody found or set it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Annotated, TypeVar

from tankbook.acts.common import Draft, act_of, minute_of, refusal, signer_reasons
from tankbook.acts.options import Arg, At
from tankbook.acts.soundness import sound
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import Turned
from tankbook.records.words import Isolator, LogAct
from tankbook.rules.fill_history import sides_of
from tankbook.units import PartialDate

S_ = TypeVar("S_", bound=Cylinder | Doubles)


def isolator(
    book: Book,
    id_: Annotated[str, Arg("SET", "The doubles; a tail will do.", ids=True)],
    stands: Annotated[Isolator, Arg("open|shut", "How it stands; `none` where there is none.")],
    *,
    at: At = None,
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record how the isolator of doubles stands: open, the two sides are one; shut, each holds its
    own gas and is read by itself."""
    reasons, hour = signer_reasons(book, by, on), minute_of(at)
    doubles = book.sets.get(id_)
    if doubles is None:
        reasons.append(f"{id_} is no set of doubles: an isolator joins two cylinders")
    elif _is_known(doubles, stands, on, hour):
        reasons.append(f"the isolator of {id_} is on record as {stands} already")
    if doubles is None or reasons:
        return refusal(reasons)
    draft = turned(Draft(doubles), stands, on, hour, by)
    sentence = (
        f"Isolator of {id_} is {stands}"
        if stands is not Isolator.NONE
        else (f"{id_} has no isolator")
    )
    act = act_of(
        "isolator",
        [draft],
        sentence,
        [*_later(draft.record, stands), *_told(book, doubles, stands), *_hours(book, draft.record)],
    )
    return sound(book, act, [draft], on, fact=True)


def turned(
    draft: Draft[S_], stands: Isolator, on: dt.date, hour: dt.time | None, by: str
) -> Draft[S_]:
    """A set with its isolator as it stands since a day, and an hour of it where that is known."""
    return draft.enter("turned", Turned(on=PartialDate.of(on), by=by, at=hour, stands=stands))


def _is_known(doubles: Doubles, stands: Isolator, on: dt.date, hour: dt.time | None) -> bool:
    """Whether it stood so by then and nothing new is said: no hour of the day since which it stands
    so, of which none is known."""
    day = PartialDate.of(on)
    by_then = [
        each
        for each in doubles.settings
        if each.on.first <= on and not (each.on == day and hour and each.at and hour < each.at)
    ]
    last = by_then[-1] if by_then else None
    if (last.stands if last else doubles.isolator_before) is not stands:
        return False
    return not (last and last.on == day and hour is not None and last.at is None)


def _later(doubles: Doubles, stands: Isolator) -> Iterator[str]:
    """That it stands otherwise by now, where what is recorded came before."""
    if doubles.isolator is not stands:
        hour = f" {doubles.isolator_hour:%H:%M}" if doubles.isolator_hour else ""
        since = f"{doubles.isolator_since}{hour}"
        yield f"the isolator of {doubles.id} is on record as {doubles.isolator} since {since}"


def _hours(book: Book, doubles: Doubles) -> Iterator[str]:
    """That nobody knows whether a side was filled that day before the isolator was shut."""
    if doubles.isolator is not Isolator.SHUT or doubles.isolator_hour is not None:
        return
    day = doubles.isolator_since
    sides = {*doubles.cylinders}
    if any(n.cylinder in sides and n.act is LogAct.FILL and n.at.date() == day for n in book.log):
        yield (
            "a side was filled that day, and nobody says whether that went into both; the hour says"
            f" it: `tankbook isolator {doubles.id} shut --on {day} --at HH:MM`"
        )


def _told(book: Book, doubles: Doubles, stands: Isolator) -> Iterator[str]:
    """What follows from it for the two sides."""
    first, second = doubles.cylinders[:2]
    if stands is Isolator.SHUT:
        yield f"read and analyse {first} and {second} each by itself: neither tells the other"
        yield f"to fill them, open it and say so: `tankbook isolator {doubles.id} open`"
        return
    gases = {str(held.gas) for _, held in sides_of(book, doubles) if held.gas is not None}
    if len(gases) > 1:
        mixed = " and ".join(sorted(gases))
        yield f"WARNING: its sides held {mixed}, which mix now: analyse both before use"
    yield f"what goes into {first} goes into {second}, and what one gauge shows the other shows"
