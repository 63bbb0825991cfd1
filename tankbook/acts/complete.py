"""A card that grows: what was left out when it was begun is added, nothing is changed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from typing import Any

from msgspec.structs import replace

from tankbook.acts.arrivals import NOT_SAME, Arrival, ArrivalCard, card_of, said
from tankbook.acts.bench import with_valve
from tankbook.acts.book_in import to_do, with_test_pressure
from tankbook.acts.common import Draft, act_of, as_text, refusal, signer_reasons
from tankbook.acts.soundness import ahead_of, sound, told
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.edits import Act, AddEntry, Refusal, SetValue
from tankbook.records.fields import Record
from tankbook.records.marks import read_marks
from tankbook.records.node import MappingNode, Scalar
from tankbook.rules.left_out import no_serial
from tankbook.units import PartialDate

_LISTS = ("requalified", "inspected", NOT_SAME)
_LEFT = {*_LISTS, "status", "held", "rented"}


def complete(
    book: Book, id_: str, given: Mapping[str, Scalar], *, by: str, on: dt.date
) -> Act | Refusal:
    """Add to a card what it does not have yet, from marks and values.

    Args:
        book: the records, all of them.
        id_: the cylinder.
        given: values by key, as of an arrival; `marks` among them is read.
        by: initials of who adds them; may be empty.
        on: the day.
    """
    before = book.cylinders.get(id_)
    if before is None:
        return refusal([f"{id_}: its file cannot be read, or it is a set"])
    facts = {**given} if _tells_serial(before, given) else {"serial": said(before.serial), **given}
    facts.pop("use", None) if before.use else None
    card = with_test_pressure(book, card_of(Arrival(id_, facts), None, book.settings.units, by), by)
    reasons = signer_reasons(book, by, on) if by else []
    reasons += [str(f) for f in card.findings]
    if reasons or card.cylinder is None:
        return refusal(reasons)
    reasons += clashes(before, card.cylinder)
    draft = grown(before, card, by, on)
    known = {f.text for f in ahead_of(book, [before], on)}
    ahead = ahead_of(book, [draft.record], on)
    reasons += [told(id_, f) for f in ahead if f.text not in known]
    if not draft.edits and not reasons:
        reasons.append(f"{id_}: all of that is on its card already")
    if reasons:
        return refusal(reasons)
    added = [str(e.trail[0]) for e in draft.edits if isinstance(e, SetValue | AddEntry)]
    draft = draft.stand(book)
    then = replace(book, cylinders={**book.cylinders, id_: draft.record})
    left = to_do(then, id_, on)
    notes = [*card.notes, f"{id_}: still to do: {'; '.join(left)}" if left else ""]
    sentence = f"Completed the card of {id_}: {', '.join(dict.fromkeys(added))}"
    act = act_of("book-in", [draft], sentence, filter(None, notes))
    return sound(book, act, [draft], on, fact=True)


def _tells_serial(before: Cylinder, given: Mapping[str, Scalar]) -> bool:
    """Whether the serial number of a card that has none that could be read is read by now."""
    marks = given.get("marks")
    now = given["serial"].text if "serial" in given else ""
    now = now or ((read_marks(marks.text).serial or "") if marks else "")
    return bool(now) and no_serial(before.serial) and not no_serial(now)


def clashes(before: Cylinder, after: Cylinder) -> Iterator[str]:
    """Values that contradict the card: they are corrected by hand, not written over."""
    for trail, old, new in _pairs(before, after):
        if old is not None and old != new and not _is_read_now(trail, old, new):
            name = ".".join(trail)
            yield (
                f"{before.id}: its card says {name} {_said(old)}, and {_said(new)} was given; "
                "see which is right, and mend the file"
            )


def _is_read_now(trail: tuple[str, ...], old: object, new: object) -> bool:
    """Whether it is a serial number that could not be read before, and is by now."""
    return trail == ("serial",) and no_serial(str(old)) and not no_serial(str(new))


def _pairs(before: Record, after: Record) -> Iterator[tuple[tuple[str, ...], object, object]]:
    """Every value of `after`, with its keys and what `before` has there."""
    node = after.source.node
    assert isinstance(node, MappingNode)
    for name in (key.text for key, _ in node.pairs):
        if name in _LEFT:
            continue
        old, new = getattr(before, name, None), getattr(after, name)
        if isinstance(new, Record):
            inner = new.source.node
            assert isinstance(inner, MappingNode)
            for key in (each.text for each, _ in inner.pairs):
                yield (name, key), getattr(old, key, None) if old else None, getattr(new, key)
        else:
            yield (name,), old if old != () else None, new


def grown(before: Cylinder, card: ArrivalCard, by: str, on: dt.date) -> Draft[Cylinder]:
    """The card with everything added that it lacks."""
    after = card.cylinder
    assert after is not None
    draft = Draft(before)
    of_valve: dict[str, object] = {}
    for trail, old, new in _pairs(before, after):
        name = trail[0]
        if name == "valve":
            of_valve |= {trail[1]: new} if old is None else {}
        elif (old != new and _is_read_now(trail, old, new)) or (
            old is None and (len(trail) == 1 or getattr(before, name) is not None)
        ):
            draft = draft.set(trail, new)
        elif old is None and getattr(draft.record, name) is None:
            draft = draft.set(name, getattr(after, name))
    draft = with_valve(draft, of_valve, by=by, on=PartialDate.of(on))
    for name in _LISTS:
        known = {about(each) for each in getattr(before, name)}
        for entry in getattr(after, name):
            if about(entry) not in known:
                draft = draft.enter(name, entry)
    return draft


def about(entry: Record) -> tuple[object, ...]:
    """What an item of a list is about: a test by its day and method, another cylinder by its id."""
    return tuple(getattr(entry, name, None) for name in ("on", "method", "id"))


def _said(value: Any) -> str:
    texts = as_text(value)
    return ", ".join(map(str, texts)) if isinstance(texts, tuple | list) else str(texts)
