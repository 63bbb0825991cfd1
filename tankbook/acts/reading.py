"""Logging what a gauge showed, and what was let out."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from tankbook.acts.bleeding import TAKEN_FOR_FULL, taken_for_full
from tankbook.acts.common import (
    dangers_of,
    has_lapsed,
    named,
    named_twice,
    refusal,
    shut_apart,
    signer_reasons,
    text_reasons,
    ticked,
    uncertified,
)
from tankbook.acts.fill_request import helium_may_be_in
from tankbook.acts.hold import release_it
from tankbook.acts.log_line import lines_at
from tankbook.acts.soundness import lines_of, sound
from tankbook.acts.station_holds import holds_bad_air, let_go_late, let_go_said
from tankbook.gas import analysed_said
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import Rented, Sent
from tankbook.records.kinds import EMPTY, is_empty
from tankbook.records.life import still_open
from tankbook.records.log import LogLine
from tankbook.records.naming import begun_at
from tankbook.records.words import Isolator, LogAct, Skill
from tankbook.rules.fill_history import contents_of, read_empty, rentals_of, sets_with
from tankbook.rules.hours import while_out
from tankbook.rules.incident_gas import kept_for_analysis
from tankbook.rules.limits import limit_of
from tankbook.rules.out_at import out_at
from tankbook.rules.wording import says_nothing
from tankbook.units import SAID_LIKE, GaugePressure, Percent, Temperature


class Shown(Struct, frozen=True):
    """One cylinder or set, and what its gauge shows; for a drain, what it showed before."""

    id: str
    pressure: GaugePressure
    before: GaugePressure | None = None
    o2: Percent | None = None
    he: Percent | None = None


def read_gauges(
    book: Book,
    shown: Sequence[Shown],
    *,
    by: str,
    at: dt.datetime,
    temperature: Temperature | None = None,
    note: str = "",
    analysed_by: str = "",
) -> Act | Refusal:
    """Log gauge readings, and what an analyser read of the gas, by whom. One of nothing marks the
    cylinder for a look inside."""
    reasons = [*_wrong(book, shown, by, at, note), *_unanalysed(book, shown, analysed_by, at)]
    empty = [s.id for s in shown if is_empty(s.pressure)]
    away = {id_: [*_away(book, id_, at, "read")] for id_ in ids_of(shown)}
    texts = [each for every in away.values() for each in every]
    if says_nothing(note):
        none = f", and {ticked(note)} says nothing" * bool(note)
        who = f"or say who read it there: --note{none}"
        reasons += [f"{said}: {mend}; {who}" for said, mend in texts]
    reasons += _gone_with_bad_air(book, empty, by, at.date(), told=any(away[i] for i in empty))
    if reasons:
        return refusal(reasons)
    shared = {"temperature": temperature, "by": by, "note": note, "analysed_by": analysed_by}
    lines = tuple(lines_at(book, at, _rows(shown), act=LogAct.READING, **shared))
    what = ", ".join(_said(s) for s in shown[:4])
    more = f" and {len(shown) - 4} more" if len(shown) > 4 else ""
    notes = tuple(f"WARNING: {said}, and was read there" for said, _ in texts)
    then = replace(book, log=(*book.log, *lines_of(lines)))
    notes += tuple(n for s in shown for n in _of_reading(then, s, at.date()))
    notes += tuple(_of_analyst(book, analysed_by, at))
    notes += tuple(_of_other_side(book, ids_of(shown)))
    if late := let_go_late(book, then, by=by, on=at.date(), ids=ids_of(shown)):
        return refusal(late)
    if holds_bad_air(book, empty):
        notes += tuple(let_go_said(book, then, at.date(), ids_of(shown)))
    act = Act("reading", ids_of(shown), f"Read {what}{more}, by {by}", lines, notes)
    return sound(book, act, (), at.date(), fact=True)


def drain(
    book: Book,
    shown: Sequence[Shown],
    *,
    by: str,
    at: dt.datetime,
    temperature: Temperature | None = None,
    note: str = "",
) -> Act | Refusal:
    """Log that gas was let out, down to the pressure shown."""
    reasons = list(_wrong(book, shown, by, at, note))
    known = book.as_known_on(at.date())
    for each in shown:
        before = each.before or contents_of(known, each.id).pressure
        if before is not None and before < each.pressure:
            reasons.append(f"{each.id}: a drain from {before} to {each.pressure} runs backward")
    away = (each for s in shown for each in _away(book, s.id, at, "drain"))
    reasons += [f"{said}: {mend}" for said, mend in away]
    reasons += _gone_with_bad_air(book, ids_of(shown), by, at.date())
    none = (s.id for s in shown if is_empty(s.pressure))
    reasons += [
        f"{id_}: {TAKEN_FOR_FULL}; once it was let out, {release_it(id_)}; what its gauge shows is"
        f" `tankbook reading {id_}=0`"
        for id_ in taken_for_full(book.as_known_on(at.date()), none)
    ]
    if reasons:
        return refusal(reasons)
    shared = {"temperature": temperature, "by": by, "note": note}
    lines = tuple(lines_at(book, at, _rows(shown), act=LogAct.DRAIN, **shared))
    pressures = {s.pressure for s in shown}
    if len(pressures) == 1:
        what = f"{named(s.id for s in shown)} to {shown[0].pressure}"
    else:
        what = ", ".join(f"{s.id} to {s.pressure}" for s in shown)
    kept = dict.fromkeys(text for s in shown for text in kept_for_analysis(known, s.id))
    notes = (
        *dangers_of(book, ids_of(shown), at.date()),
        *(f"WARNING: {text}" for text in kept),
        *_of_other_side(book, ids_of(shown)),
    )
    then = replace(book, log=(*book.log, *lines_of(lines)))
    if late := let_go_late(book, then, by=by, on=at.date(), ids=ids_of(shown)):
        return refusal(late)
    act = Act("drain", ids_of(shown), f"Drained {what}, by {by}", lines, notes)
    return sound(book, act, (), at.date(), fact=True)


_READ_THERE = (
    "; what others let out there is told by what its gauge shows, `tankbook reading ID=PRESSURE"
    " --note WHO`"
)


def _away(book: Book, id_: str, at: dt.datetime, do: str) -> Iterator[tuple[str, str]]:
    """That a cylinder is out, or at a test house or a repairer's, where nobody of the station reads
    it or lets its gas out (what they `do`), and what to do; before it left, and once it was back,
    it was here."""
    act = LogAct.READING if do == "read" else LogAct.DRAIN
    for out in out_at(book, id_, at):
        whose, entry = out.owner.id, out.entry
        odd = while_out(id_, LogLine(at=at, cylinder=id_, act=act), out)
        left_then = out.left is not None and entry.on.first == at.date()
        since = f"since {begun_at(entry)}"
        match entry:
            case Rented() if entry.back is None:
                yield (
                    f"{whose} is out to {entry.to} {since}",
                    f"have it back first, with what it shows then (`tankbook return"
                    f" {whose}=PRESSURE`), and {do} it after that"
                    + f"; where an hour is wrong, {odd.mend(book)}"
                    * left_then,
                )
            case Sent() if entry.back is None:
                yield (
                    f"{whose} is away at {entry.to} {since}",
                    f"have it back first (`tankbook back {whose}`), and {do} it then"
                    + "; where it was let out there, that says so" * (do == "drain"),
                )
            case _:
                told = "" if do == "read" else _READ_THERE
                yield f"{id_}: {odd.text}", f"{odd.mend(book)}{told}"


def _gone_with_bad_air(
    book: Book, ids: Sequence[str], by: str, day: dt.date, *, told: bool = False
) -> Iterator[str]:
    """Why somebody who is not certified may not enter that bad air was let out of what is away: it
    went that day, and nobody says whether that was before; or others `told` it."""
    known = book.as_known_on(day)
    for id_ in (m for each in ids for m in known.members(each)):
        card = known.cylinders.get(id_)
        gone: list[Rented | Sent] = [*still_open(rentals_of(known, id_))]
        gone += still_open(card.sent) if card else ()
        if gone and (told or gone[-1].on.last == day) and holds_bad_air(book, [id_]):
            where = f"{id_} went to {gone[-1].to} on {gone[-1].on}, with bad air in it on record"
            yield from (f"{where}: {text}" for text in uncertified(book, by, day))


def _wrong(
    book: Book, shown: Sequence[Shown], by: str, at: dt.datetime, note: str
) -> Iterator[str]:
    yield from signer_reasons(book, by, at.date())
    yield from text_reasons(note=note)
    ids = [s.id for s in shown]
    if not ids:
        yield f"name at least one cylinder, as in 14={SAID_LIKE[book.settings.units.value].empty}"
    yield from named_twice(ids)
    yield from shut_apart(book, dict.fromkeys(ids))


def _unanalysed(
    book: Book, shown: Sequence[Shown], analysed_by: str, at: dt.datetime
) -> Iterator[str]:
    """What an analysis lacks: its analyst, a percentage, or helium where some may be in it."""
    if analysed_by:
        reasons = signer_reasons(book, analysed_by, at.date())
        yield from (f"--analysed-by: {reason}" for reason in reasons)
    for each in shown:
        if each.o2 is None and each.he is None:
            if analysed_by:
                yield f"{each.id}: {analysed_by} analysed what? --o2 gives the percentage"
            continue
        if not analysed_by:
            yield f"{each.id}: an analysis has an analyst: --analysed-by gives the initials"
        if each.o2 is None:
            yield f"{each.id}: helium is analysed beside oxygen: --o2 gives its percentage"
        elif each.he is None and helium_may_be_in(book, each.id):
            yield f"{each.id}: it may hold helium: --he gives the percentage, 0 for none"
        if each.pressure < EMPTY:
            yield f"{each.id}: nothing is in it that could be analysed"


def ids_of(shown: Iterable[Shown]) -> tuple[str, ...]:
    """The cylinders and sets that something was shown of."""
    return tuple(each.id for each in shown)


def _of_other_side(book: Book, ids: Sequence[str]) -> Iterator[str]:
    """That what one side of doubles shows the other shows too, while nothing is shut between."""
    for id_ in ids:
        for name in sets_with(book).get(id_, ()):
            doubles = book.sets[name]
            others = [m for m in doubles.cylinders if m != id_ and m not in ids]
            if others and doubles.isolator is not Isolator.SHUT:
                how = f"is {doubles.isolator}" if doubles.isolator else "may be open"
                both = f"what it shows and holds {' and '.join(others)} does too; ask for {name}"
                yield f"{id_} is one side of {name}, whose isolator {how}: {both}"


def _of_analyst(book: Book, analysed_by: str, at: dt.datetime) -> Iterator[str]:
    if analysed_by and has_lapsed(book, analysed_by, Skill.ANALYST, at.date()):
        yield f"WARNING: {analysed_by}'s certification as analyst has lapsed"


def _said(shown: Shown) -> str:
    """What a gauge and an analyser showed."""
    parts = [f"{shown.id} {shown.pressure}"]
    if shown.o2 is not None:
        parts.append(analysed_said(shown.o2.percent, shown.he.percent if shown.he else None))
    return " ".join(parts)


def _rows(shown: Iterable[Shown]) -> list[dict[str, Any]]:
    """What is logged of each."""
    return [
        {"cylinder": s.id, "from": s.before, "to": s.pressure, "o2": s.o2, "he": s.he}
        for s in shown
    ]


def _of_reading(book: Book, shown: Shown, on: dt.date) -> Iterator[str]:
    """What a reading that is logged leads to: a look inside where it is nothing and that is news, a
    bleed where it is too much; of what let no flow be heard, that it is no proof."""
    if full := taken_for_full(book, [shown.id]):
        yield (
            f"WARNING: {named(full)}: {TAKEN_FOR_FULL}: what a gauge shows is no proof, and what is"
            f" in it stays on record as it was; once it was let out, {release_it(full[0])}"
        )
        return
    told = (day for m in book.members(shown.id) for day, _ in read_empty(book, m))
    if shown.pressure < EMPTY and on in told:
        yield f"{shown.id} is empty: it is looked inside before it is filled (`tankbook inspect`)"
    members = book.members(shown.id)
    limits = [limit_of(book, book.cylinders[m]) for m in members if m in book.cylinders]
    for limit in limits:
        if limit is not None and shown.pressure > limit.pressure:
            yield (
                f"{shown.id}: WARNING: above its limit of {limit.pressure} at {limit.reference}; "
                "bleed it down, and log that with `tankbook drain`"
            )
            return
