"""Taking cylinders and sets back from rental, with the three things asked of each."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from msgspec import Struct
from msgspec.structs import replace

from tankbook.acts.common import (
    UNREADABLE,
    Draft,
    edits_of,
    minute_of,
    named,
    named_twice,
    refusal,
    signer_reasons,
    subject_of,
    text_reasons,
)
from tankbook.acts.hold import not_before
from tankbook.acts.isolator import turned
from tankbook.acts.log_line import lines_at
from tankbook.acts.soundness import after, lines_of, sound
from tankbook.acts.station_holds import holds_bad_air, let_go_late, let_go_said
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.edits import Act, Edit, Refusal, SetValue
from tankbook.records.entries import Held
from tankbook.records.fields import Record
from tankbook.records.kinds import EMPTY, is_empty
from tankbook.records.words import Isolator, LogAct, Status, ValvePosition
from tankbook.rules.giving_way import says_giving_way
from tankbook.rules.in_hands import note_back
from tankbook.rules.overfilled import stood_over
from tankbook.rules.rental import open_rental
from tankbook.rules.signing import bench_of
from tankbook.rules.status import status_of
from tankbook.rules.under_pressure import STAND_CLEAR, danger_said
from tankbook.units import SAID_LIKE, GaugePressure, PartialDate, Temperature, time_of_day
from tankbook.units.nouns import counted


class Back(Struct, frozen=True):
    """A cylinder or set as it came back.

    `pressures` holds one reading, or one for each side of a set whose isolator is shut, in the
    order of its cylinders. An empty `damage` says that none was seen.
    """

    id: str
    pressures: tuple[GaugePressure, ...] = ()
    valve: ValvePosition | None = None
    damage: str = ""

    @property
    def lowest(self) -> GaugePressure | None:
        """The lowest of its readings."""
        return min(self.pressures, default=None)


def return_(
    book: Book,
    backs: Sequence[Back],
    *,
    by: str,
    at: dt.datetime,
    temperature: Temperature | None = None,
    isolator: Isolator | None = None,
) -> Act | Refusal:
    """Take cylinders and sets back: all of them, or none with every reason of each.

    Args:
        book: the records, all of them.
        backs: each with its pressure, its valve and any damage.
        by: initials of who takes them in.
        at: when.
        temperature: of the cylinders as they were read.
        isolator: how the isolator of the sets was found, where that is not as recorded.
    """
    today = at.date()
    reasons = list(_wrong(book, backs, today, isolator))
    reasons += signer_reasons(book, by, today)
    if reasons:
        return refusal(dict.fromkeys(reasons))
    drafts = [_taken_back(book, each, by, at, isolator) for each in backs]
    edits = [*edits_of(drafts), *_readings(book, backs, by, at, temperature)]
    held = list(_set_aside(book, backs, drafts, edits, by, at))
    edits = [e for e in edits if not _is_status_of(e, held)] + list(edits_of(held))
    drafts = [*(d for d in drafts if d.file not in {h.file for h in held}), *held]
    ids = tuple(each.id for each in backs)
    let_go: list[str] = []
    if holds_bad_air(book, [each.id for each in backs if is_empty(each.lowest)]):
        then = after(book, drafts, tuple(lines_of(edits)))
        if late := let_go_late(book, then, by=by, on=today, ids=ids):
            return refusal(f"{text}: take it back without --on" for text in late)
        let_go = let_go_said(book, then, today, ids)
    notes = (*let_go, *_notes(book, backs, today), *(f"{h.record.id} is held now" for h in held))
    act = Act("return", ids, _sentence(backs, by), tuple(edits), notes)
    return sound(book, act, drafts, today, fact=True, decides=False)


def _taken_back(
    book: Book, each: Back, by: str, at: dt.datetime, isolator: Isolator | None
) -> Draft[Cylinder | Doubles]:
    """A rental ended, with what was found; a cylinder then stands as it should."""
    today = at.date()
    subject = subject_of(book, each.id)
    rental = open_rental(subject)
    assert rental is not None
    found = {"pressure": each.lowest, "valve": each.valve, "damage": each.damage}
    known = {k: v for k, v in found.items() if v not in (None, "")}
    draft = Draft(subject).amend("rented", rental, back=today, back_by=by, **known).stand(book)
    if not isinstance(subject, Doubles) or isolator is None or isolator is subject.isolator:
        return draft
    return turned(draft, isolator, today, minute_of(time_of_day(at)), by)


def _set_aside(
    book: Book,
    backs: Sequence[Back],
    drafts: Sequence[Draft[Record]],
    edits: Sequence[Edit],
    by: str,
    at: dt.datetime,
) -> Iterator[Draft[Cylinder]]:
    """Whatever came back fuller than it may ever be is held until it was looked inside."""
    then = after(book, drafts, tuple(lines_of(edits)))
    for each in backs:
        for member in book.members(each.id):
            card = then.cylinders.get(member)
            over = [s for s in stood_over(then, card) if s.beyond] if card else []
            new = [s for s in over if s not in stood_over(book, book.cylinders[member])]
            if card is not None and new:
                why = f"back from rental: {new[-1].text}, above the {new[-1].lawful} that is lawful"
                time = not_before(time_of_day(at))
                entry = Held(on=PartialDate.of(at.date()), by=by, why=why, at=time)
                yield Draft(card).enter("held", entry).stand(book)


def _is_status_of(edit: Edit, held: Sequence[Draft[Cylinder]]) -> bool:
    """Whether an edit writes the status of a cylinder that is held as well, which counts."""
    files = {h.file for h in held}
    return isinstance(edit, SetValue) and edit.file in files and edit.trail == ("status",)


def _wrong(
    book: Book, backs: Sequence[Back], today: dt.date, isolator: Isolator | None
) -> Iterator[str]:
    if not backs:
        like = SAID_LIKE[book.settings.units.value].empty
        yield f"name at least one cylinder, as in 14={like}"
    ids = [each.id for each in backs]
    yield from named_twice(ids)
    if isolator is not None and not any(i in book.sets for i in ids):
        yield "--isolator is about doubles, and none is among these"
    for each in backs:
        yield from _wrong_with(book, each, today, isolator)


def _wrong_with(book: Book, each: Back, today: dt.date, isolator: Isolator | None) -> Iterator[str]:
    if each.id in book.broken:
        yield f"{each.id}: {UNREADABLE}"
        return
    rental = open_rental(subject_of(book, each.id))
    if rental is None:
        yield _not_out(book, each.id)
    elif rental.on.first > today:
        yield f"{each.id} went out on {rental.on}, after {today}"
    if not each.pressures:
        like = SAID_LIKE[book.settings.units.value].empty
        yield f"{each.id}: say its pressure, as in {each.id}={like}"
    if each.valve is None:
        yield f"{each.id}: say whether its valve was found closed or open: --valve"
    yield from (f"{each.id}: {r}" for r in text_reasons(damage=each.damage))
    yield from _wrong_sides(book, each, isolator)


def _not_out(book: Book, id_: str) -> str:
    for name, doubles in book.sets.items():
        if id_ in doubles.cylinders and open_rental(doubles):
            return f"{id_} is out in {name}: the two come back as one"
    return f"{id_} is not out"


def _wrong_sides(book: Book, each: Back, isolator: Isolator | None) -> Iterator[str]:
    """A shut isolator makes two readings; anything else makes one."""
    if len(each.pressures) > 1 and each.id not in book.sets:
        yield f"{each.id}: it is one cylinder, and has one reading"
    if each.id not in book.sets or not each.pressures:
        return
    shut = (isolator or book.sets[each.id].isolator) is Isolator.SHUT
    sides = len(book.sets[each.id].cylinders)
    if shut and len(each.pressures) != sides:
        first = "+".join(f"{p.value:g}" for p in (*each.pressures, *each.pressures)[:2])
        yield f"{each.id}: its isolator is shut: read both sides, as in {each.id}={first}"
    if not shut and len(each.pressures) > 1:
        yield f"{each.id}: one reading serves both sides, unless it was found with --isolator shut"


def _readings(
    book: Book,
    backs: Sequence[Back],
    by: str,
    at: dt.datetime,
    temperature: Temperature | None,
) -> Iterator[Edit]:
    """A line in the log for each reading, on the cylinder or on the side it was read at."""
    rows = []
    for each in backs:
        rental = open_rental(subject_of(book, each.id))
        note = note_back(rental.to if rental else "")
        for id_, pressure in zip(_sides(book, each), each.pressures, strict=True):
            rows.append({"cylinder": id_, "to": pressure, "note": note})
    return lines_at(book, at, rows, act=LogAct.READING, temperature=temperature, by=by)


def _sides(book: Book, each: Back) -> tuple[str, ...]:
    return (each.id,) if len(each.pressures) == 1 else book.members(each.id)


def _sentence(backs: Sequence[Back], by: str) -> str:
    if len(backs) > 3:
        return f"Back from rental: {named(each.id for each in backs)}, by {by}"
    said = [f"{each.id} {'+'.join(map(str, each.pressures))} {each.valve}" for each in backs]
    return f"Back from rental: {', '.join(said)}, by {by}"


def _notes(book: Book, backs: Sequence[Back], today: dt.date) -> Iterator[str]:
    """What has to follow: late ones, what must be looked at, what stays held."""
    for each in backs:
        rental = open_rental(subject_of(book, each.id))
        if rental and rental.until and rental.until < today:
            days = (today - rental.until).days
            yield f"{each.id}: LATE by {counted(days, 'day')} ({rental.to})"
        yield from _to_do(book, each)
        for member in book.members(each.id):
            cylinder = book.cylinders.get(member)
            if cylinder and status_of(book, cylinder) is Status.HELD:
                yield f"{member} stays held"


def _to_do(book: Book, each: Back) -> Iterator[str]:
    word = danger_said(bench_of(book), each.damage)
    if word and not is_empty(each.lowest):
        yield f"{each.id}: DANGER, for as long as it holds pressure ({word}): {STAND_CLEAR}"
    found = [
        *(["with its valve open"] if each.valve is ValvePosition.OPEN else []),
        *(["empty"] if each.lowest is not None and each.lowest < EMPTY else []),
    ]
    if found:
        yield (
            f"{each.id}: back {' and '.join(found)}: it is looked inside before it is filled "
            "(`tankbook inspect`)"
        )
    if each.damage:
        inside = " inside" * bool(says_giving_way(each.damage))
        todo = f"it is inspected{inside} before it is filled (`tankbook inspect`)"
        yield f"{each.id}: {each.damage}: {todo}"


def with_defaults(
    backs: Sequence[Back], pressure: GaugePressure | None, valve: ValvePosition | None
) -> list[Back]:
    """The returns with what was said for all of them filled in."""
    return [
        replace(
            each,
            pressures=each.pressures or ((pressure,) if pressure is not None else ()),
            valve=each.valve or valve,
        )
        for each in backs
    ]
