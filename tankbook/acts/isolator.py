"""The isolator of doubles, as somebody found or set it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Annotated

from tankbook.acts.common import Draft, act_of, refusal, signer_reasons
from tankbook.acts.options import Arg
from tankbook.acts.soundness import sound
from tankbook.records.book import Book
from tankbook.records.cylinder import Doubles
from tankbook.records.edits import Act, Refusal
from tankbook.records.words import Isolator
from tankbook.rules.fill_history import sides_of


def isolator(
    book: Book,
    id_: Annotated[str, Arg("SET", "The doubles; a tail will do.", ids=True)],
    stands: Annotated[Isolator, Arg("open|shut", "How it stands; `none` where there is none.")],
    *,
    by: str,
    on: dt.date,
) -> Act | Refusal:
    """Record how the isolator of doubles stands: open, the two sides are one; shut, each holds its
    own gas and is read by itself."""
    reasons = signer_reasons(book, by, on)
    doubles = book.sets.get(id_)
    if doubles is None:
        reasons.append(f"{id_} is no set of doubles: an isolator joins two cylinders")
    elif doubles.isolator_since is not None and on < doubles.isolator_since:
        said = f"{doubles.isolator} since {doubles.isolator_since}"
        reasons.append(f"the isolator of {id_} is on record as {said}, which is later than {on}")
    elif doubles.isolator is stands:
        reasons.append(f"the isolator of {id_} is on record as {stands} already")
    if doubles is None or reasons:
        return refusal(reasons)
    draft = Draft(doubles).set("isolator", stands).set("isolator_since", on)
    sentence = (
        f"Isolator of {id_} is {stands}"
        if stands is not Isolator.NONE
        else (f"{id_} has no isolator")
    )
    act = act_of("isolator", [draft], sentence, _told(book, doubles, stands))
    return sound(book, act, [draft], on, fact=True)


def _told(book: Book, doubles: Doubles, stands: Isolator) -> Iterator[str]:
    """What follows from it for the two sides."""
    first, second = doubles.cylinders[:2]
    if stands is Isolator.SHUT:
        yield f"read, fill and analyse {first} and {second} each by itself: neither tells the other"
        return
    gases = {str(held.gas) for _, held in sides_of(book, doubles) if held.gas is not None}
    if len(gases) > 1:
        mixed = " and ".join(sorted(gases))
        yield f"WARNING: its sides held {mixed}, which mix now: analyse both before use"
    yield f"what goes into {first} goes into {second}, and what one gauge shows the other shows"
