"""An incident: what happened, who saw it, what was known of all it names, and all of that held."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from tankbook.acts.at_station import act_at, begun, place_of, pump_of, way_to
from tankbook.acts.common import (
    Draft,
    act_of,
    cylinders_of,
    dangers,
    line_reasons,
    named,
    reference_reasons,
    refusal,
    shut_apart,
    signer_reasons,
    text_reasons,
    ticked,
)
from tankbook.acts.counter import entered, unread
from tankbook.acts.hold import after_fills, open_holds, since
from tankbook.acts.soundness import sound
from tankbook.acts.station_parts import POSITION, WHIP, Looked
from tankbook.records.book import Book
from tankbook.records.counter import CylinderThen, Incident, PartThen
from tankbook.records.cylinder import Cylinder
from tankbook.records.edits import Act, Edit, Refusal
from tankbook.records.entries import Held, standing
from tankbook.records.station import BankHeld, Booster, Compressor, Station
from tankbook.rules.bank_held import banks_held, is_of_gas, looked_over, what_opens
from tankbook.rules.incident import (
    bank_then,
    book_then,
    cylinder_then,
    machine_then,
    part_then,
    sets_then,
)
from tankbook.rules.incident_gas import same_gas
from tankbook.rules.incident_held import machine_part, reopens, why_of
from tankbook.rules.signing import bench_of, of_people
from tankbook.rules.status import status_of
from tankbook.rules.under_pressure import STAND_CLEAR, danger_said
from tankbook.rules.wording import says_nothing
from tankbook.units import GaugePressure, PartialDate
from tankbook.units.patterns import pattern


class Happened(Struct, frozen=True, kw_only=True):
    """What somebody says of an incident.

    Attributes:
        what: what happened, as it was seen.
        ids: cylinders, or sets for both their cylinders.
        at: the time of the day; None where nobody knows it.
        place: where.
        positions, whips, banks: parts of the station, by their labels; a position with its whip.
        compressors: compressors and boosters, by their labels.
        readings: what gauges showed, by the id of a cylinder or a set, or the label of a bank.
        saw, told: who saw it; who was told, and how.
        other: cylinders that are not in the ledger, in words.
        note: anything else.
    """

    what: str
    ids: Sequence[str] = ()
    at: dt.time | None = None
    place: str = ""
    positions: Sequence[str] = ()
    whips: Sequence[str] = ()
    banks: Sequence[str] = ()
    compressors: Sequence[str] = ()
    readings: Mapping[str, GaugePressure] = {}
    saw: Sequence[str] = ()
    told: Sequence[str] = ()
    other: Sequence[str] = ()
    note: str = ""


class _Parts(Struct, frozen=True):
    """Parts of the station that are named, by their places in its lists."""

    positions: tuple[int, ...] = ()
    whips: tuple[int, ...] = ()
    banks: tuple[int, ...] = ()
    machines: tuple[Compressor | Booster, ...] = ()

    @property
    def any(self) -> bool:
        return bool(self.positions or self.whips or self.banks or self.machines)


def incident(
    book: Book,
    said: Happened,
    *,
    by: str,
    on: dt.date,
    now: dt.time | None = None,
    reasons: Iterable[str] = (),
    again: bool = False,
) -> tuple[Act, Incident] | Refusal:
    """An incident to be recorded, and all that it names held.

    Args:
        book: the records.
        said: what somebody says of it.
        by: initials of who records it.
        on: the day it happened.
        now: the time of that day by the clock, where it is today: cylinders are set aside then.
        reasons: what stands against it already, such as ids that nobody knows.
        again: it happened once more, or more is to be kept of it than is on record.
    """
    said = replace(said, saw=tuple(_each_apart(book, said.saw, on)))
    cylinders, unknown = cylinders_of(book, said.ids)
    minute = said.at.replace(second=0, microsecond=0) if said.at else None
    parts, missing = _parts(book, said)
    wrong = [*reasons, *unread(book), *signer_reasons(book, by, on), *_texts(said)]
    wrong += [*unknown, *missing, *_misread(book, said, cylinders)]
    to_hold = [c for c in cylinders if not status_of(book, c).gone]
    then = book_then(book, on, minute)
    wrong += [
        f"{c.id} has no card by {on}" for c in cylinders if not wrong and c.id not in then.cylinders
    ]
    if wrong:
        return refusal(dict.fromkeys(wrong))
    entry = Incident(
        on=PartialDate.of(on), by=by, what=said.what, at=minute, place=said.place or None,
        saw=tuple(said.saw), told=tuple(said.told), other=tuple(said.other),
        cylinders=tuple(_cylinders(book, then, cylinders, said, on)),
        parts=tuple(_as_they_were(then, parts, said, on)), note=said.note or None,
    )  # fmt: skip
    if not again and (number := _number_of(book, entry)):
        sheet = f"`tankbook incidents {on}{f'#{number}' if number > 1 else ''}`"
        ways = "if it happened once more, or more is to be kept of it, give --again"
        return refusal([f"that incident of {on} is on record already ({sheet}): {ways}"])
    why = why_of(entry)
    noted = _noted(book, said, why)
    held = [c for c in to_hold if not any((h.why, h.note) == (why, noted) for h in open_holds(c))]
    drafts = []
    for card in held:
        # where nobody knows the hour, from its last fill of that day on
        at = since(book, card.id, on, said.at or now or after_fills(book, card.id, on))
        aside = Held(on=PartialDate.of(on), by=by, why=why, at=at, note=noted)
        drafts.append(Draft(card).enter("held", aside).stand(book))
    edits, notes = (
        list[Edit](entered(book, "incidents", entry)),
        [
            "people first: help whoever is hurt or ill, and call the emergency number",
            *_dangers(book, drafts, said, on),
            *_notes(book, cylinders, held),
            *_of_no_hour(book, held, on, said.at or now),
            *_of_nobody(book, said.saw, on),
            *_spoken_of(book, said, cylinders),
            *_holds_nothing(entry),
            *_same_gas(book, then, entry, on),
        ],
    )
    if parts.any:
        station = _station(book, parts, entry, by, on, minute or now)
        if isinstance(station, Refusal):
            return station
        edits += station.edits
        notes += station.notes
    names = [*([named(d.record.id for d in drafts)] if drafts else []), *_called(entry)]
    ending = f"; held {', '.join(names)}" if names else "; nothing is held by it"
    sentence = f"Recorded incident of {on}: {said.what}{ending}, by {by}"
    act = act_of("incident", drafts, sentence, notes, edits)
    judged = sound(book, act, drafts, on, fact=True)
    return judged if isinstance(judged, Refusal) else (judged, entry)


_WORD = pattern(r"\w+(?:[-._]\w+)*")


def _spoken_of(book: Book, said: Happened, cylinders: Sequence[Cylinder]) -> Iterator[str]:
    """Which cylinders and sets the words speak of by their ids and the incident does not name."""
    words = {w.casefold() for text in (said.what, said.note) for w in _WORD.findall(text)}
    named = {c.id for c in cylinders} | set(said.ids)
    told = {id_.casefold() for id_ in said.ids}
    for id_ in (*book.cylinders, *book.sets):
        if id_.casefold() in words - told and not named & {id_, *book.members(id_)}:
            yield (
                f"it speaks of {id_}, which is not held by it: `tankbook hold {id_} --why WHAT`, "
                "or strike it out and record it with that id"
            )


def _holds_nothing(entry: Incident) -> Iterator[str]:
    """That nothing of the ledger is named, so that nothing is held, and how to name it."""
    if not (entry.cylinders or entry.parts):
        yield (
            "WARNING: it names no cylinder, whip, position, bank or machine of the ledger, so"
            " NOTHING is held or out of use: keep away from what was near it, and record it again"
            " with that: the same command with ID, --whip NAME, --position NAME, --bank NAME or"
            " --compressor NAME, and --again"
        )


MOST_TOLD = 6
"""How many of those that got the same gas are told by their ids (own bound); the recall has all."""


def _same_gas(book: Book, then: Book, entry: Incident, on: dt.date) -> Iterator[str]:
    """Who else got the gas that an incident may be of, and the recall that finds them."""
    if not is_of_gas(entry):
        return
    ids = [each.id for each in entry.cylinders]
    banks = [p.part.removeprefix("bank ") for p in entry.parts if p.part.startswith("bank ")]
    for each in same_gas(book, then, ids, banks, on):
        days = f"{each.since}" if each.since == each.until else f"{each.since} to {each.until}"
        told = [
            f"{s.id} ({s.still or 'nobody knows if it holds it'}, {s.place}"
            + (f", ring {s.ring})" if s.ring else ")")
            for s in each.others[:MOST_TOLD]
        ]
        more = len(each.others) - len(told)
        told += [f"{more} more"] if more else []
        who = ", ".join(told) or "nothing else on record"
        of = each.source or "a source that nobody says"
        yield f"gas of {of} of {days} went into: {who}; `{each.command}` lists it, --hold holds it"


# --- what stands against it ----------------------------------------------------------------------


def _texts(said: Happened) -> Iterator[str]:
    if not said.what.strip():
        yield 'what happened is not said: give it first, "whip W1 burst"'
    else:
        for reason in line_reasons(what=said.what):
            yield reason.replace("--what", "what happened:", 1)
        if says_nothing(said.what):
            yield "what happened is not said: write what was seen"
    yield from text_reasons(place=said.place, note=said.note)
    for option in ("saw", "told", "other"):
        for text in getattr(said, option):
            yield from line_reasons(**{option: text})


def _parts(book: Book, said: Happened) -> tuple[_Parts, list[str]]:
    """The parts that are named, and why some cannot be had."""
    if not (said.positions or said.whips or said.banks or said.compressors):
        return _Parts(), []
    draft = begun(book)
    if isinstance(draft, Refusal):
        return _Parts(), list(draft.reasons)
    found, wrong = list[tuple[int, ...]](), list[str]()
    for key, called in (("positions", "position"), ("whips", "whip"), ("banks", "bank")):
        listed = getattr(draft.record, key)
        got = [place_of(listed, name, called) for name in getattr(said, key)]
        wrong += [
            reason if n.isprintable() else f"--{called} is not one line of plain text"
            for n, reason in zip(getattr(said, key), got, strict=True)
            if isinstance(reason, str)
        ]
        found.append(tuple(dict.fromkeys(p for p in got if isinstance(p, int))))
    pumps = [pump_of(draft.record, name, "--compressor") for name in said.compressors]
    for name, pump in zip(said.compressors, pumps, strict=True):
        if not name.isprintable():
            wrong.append("--compressor is not one line of plain text")
        elif isinstance(pump, str):
            wrong.append(pump)
    machines = dict.fromkeys(p for p in pumps if not isinstance(p, str))
    positions, whips, banks = found
    # what holds a cylinder there was in it, whatever it was
    at_them = [draft.record.positions[p].whip or "" for p in positions]
    with_them = (place_of(draft.record.whips, name, "whip") for name in at_them if name)
    whips = tuple(dict.fromkeys((*whips, *(p for p in with_them if isinstance(p, int)))))
    return _Parts(positions, whips, banks, tuple(machines)), wrong


def _misread(book: Book, said: Happened, cylinders: Sequence[Cylinder]) -> Iterator[str]:
    known = {*said.ids, *(c.id for c in cylinders), *(b.casefold() for b in said.banks)}
    for name in said.readings:
        if name not in known and name.casefold() not in known:
            yield f"--reading {name}: it is not named in the incident: name it there too"
    sides = [m for name in said.readings if name in book.sets for m in book.members(name)]
    for name in sides:
        if name in said.readings:
            yield f"--reading {name}: it is read twice, alone and in its set"
    yield from (f"--reading {reason}" for reason in shut_apart(book, said.readings))


def _number_of(book: Book, entry: Incident) -> int:
    """Which of its day an incident is that says of one subject in the same words, of no other
    hour, what another does; 0 where none does."""
    kept = [e for e in (book.counter.incidents if book.counter else ()) if e.on == entry.on]
    found = (n for n, e in enumerate(kept, 1) if e in standing(kept) and _is_same(e, entry))
    return next(found, 0)


def _is_same(one: Incident, other: Incident) -> bool:
    """Whether two incidents of a day are told as one: what is typed again with fewer or other
    options names some of the same, or one of the two names nothing; of no hour it may be any."""
    words, said = ([w.casefold() for w in _WORD.findall(e.what)] for e in (one, other))
    if words != said or (words == [] and one.what != other.what):
        return False
    mine, theirs = (_named_in(e) for e in (one, other))
    hours = one.at is None or other.at is None or one.at == other.at
    return hours and (not mine or not theirs or bool(mine & theirs))


def _named_in(entry: Incident) -> frozenset[str]:
    return frozenset((*(c.id for c in entry.cylinders), *_called(entry), *entry.other))


# --- what was known ------------------------------------------------------------------------------


def _cylinders(
    book: Book, then: Book, cylinders: Iterable[Cylinder], said: Happened, on: dt.date
) -> Iterator[CylinderThen]:
    read = dict(said.readings)
    for name in list(read):
        read |= dict.fromkeys(book.members(name), read[name])
    for each in cylinders:
        known = cylinder_then(then, each.id, read.get(each.id))
        yield replace(known, sets=sets_then(then, each.id, on, said.at))


def _as_they_were(then: Book, parts: _Parts, said: Happened, on: dt.date) -> Iterator[PartThen]:
    station = then.station
    if station is None:
        return
    read = {name.casefold(): pressure for name, pressure in said.readings.items()}
    for place in parts.banks:
        bank = station.banks[place]
        yield bank_then(then, bank, on, read.get(bank.name.casefold()))
    for place in parts.whips:
        whip = station.whips[place]
        yield part_then(WHIP.called, whip.name, whip.checked)
    for place in parts.positions:
        position = station.positions[place]
        yield part_then(POSITION.called, position.name, position.checked)
    for pump in parts.machines:
        yield machine_then(then, pump)


# --- what is held --------------------------------------------------------------------------------


def _station(
    book: Book, parts: _Parts, incident: Incident, by: str, on: dt.date, at: dt.time | None
) -> Act | Refusal:
    """The whips and positions failed and the banks set aside."""
    why = why_of(incident)
    draft: Draft[Station] | Refusal = begun(book)
    if isinstance(draft, Refusal):
        return draft
    station, looked, notes = draft.record, Looked(failed=why), list[str]()
    for kind, places in ((WHIP, parts.whips), (POSITION, parts.positions)):
        for place in places:
            draft = draft.enter((kind.key, place, "checked"), looked.entry(on, by))
            name = getattr(station, kind.key)[place].name
            notes.append(
                f"{kind.called} {name} is out of use as failed, until "
                f"`tankbook {kind.verb} {name} --repaired WHAT`; leave it as it is first"
            )
    minute = at.replace(second=0, microsecond=0) if at else None
    aside = {(h.name, h.why) for h in banks_held(book, on)}
    for place in parts.banks:
        name = station.banks[place].name
        if (name, why) not in aside:
            entry = BankHeld(on=on, at=minute, why=why, by=by)
            draft = draft.enter(("banks", place, "held"), entry)
        opens = what_opens(book, name, on, why)
        opens = opens if is_of_gas(incident) else f"{looked_over(name, minute)}; or {opens}"
        notes.append(f"bank {name}: shut it off; it takes {opens}")
    for pump in parts.machines:
        draft = draft.enter((*way_to(draft.record, pump), "checked"), looked.entry(on, by))
        notes.append(f"{machine_part(pump)}: shut it down and leave it; {reopens(pump)}")
    return act_at(book, "incident", "", draft, on, notes, fact=True)


def _noted(book: Book, said: Happened, why: str) -> str | None:
    """What the holds of an incident note beside why: what its note, or the rest of a long tale,
    says of danger, so that it is judged with the cylinder and not only read on the sheet."""
    bench = bench_of(book)
    told = [said.what] if danger_said(bench, said.what) != danger_said(bench, why) else []
    told += [said.note] if danger_said(bench, said.note) else []
    return "; ".join(told) or None


def _called(entry: Incident) -> list[str]:
    return [part.part for part in entry.parts]


def _of_no_hour(
    book: Book, held: Iterable[Cylinder], on: dt.date, at: dt.time | None
) -> Iterator[str]:
    for card in held if at is None else ():
        if (last := after_fills(book, card.id, on)) is not None:
            yield (
                f"{card.id} was filled that day at {last:%H:%M}, and nobody says which came first: "
                "it is held from then on; --at says the hour"
            )


def _each_apart(book: Book, saw: Iterable[str], on: dt.date) -> Iterator[str]:
    """Who saw it, one by one, where a text is a list of people here (`MV, TO`)."""
    for said in saw:
        several = [each.strip() for each in said.split(",")]
        known = all(of_people(each, book.settings.people, on) for each in several)
        yield from several if known else [said]


def _of_nobody(book: Book, saw: Iterable[str], on: dt.date) -> Iterator[str]:
    """Who saw it and is none of the ledger's people: kept as said, and never taken for one."""
    people = book.settings.people
    others = [each for each in saw if people and not of_people(each, people, on)]
    if others:
        named_ = ", ".join(ticked(each) for each in others)
        yield f"--saw {named_}: none of the people of tankbook.yaml, and kept as it was said"
    if any(reference_reasons("saw", each) for each in others):
        yield "it reads like a name: names are better written on the paper, beside a reference"


def _dangers(
    book: Book, drafts: Sequence[Draft[Cylinder]], said: Happened, on: dt.date
) -> Iterator[str]:
    """What to beware of at once, of those that are held and of one that is not in the ledger."""
    yield from dangers(book, drafts, on)
    word = danger_said(bench_of(book), said.what, *said.other, said.note) if said.other else ""
    if word:
        yield f"{', '.join(said.other)}: DANGER, if it holds pressure ({word}): {STAND_CLEAR}"


def _notes(book: Book, cylinders: Iterable[Cylinder], held: Sequence[Cylinder]) -> Iterator[str]:
    for each in cylinders:
        status = status_of(book, each)
        if each in held:
            continue
        if status.gone:
            yield f"{each.id} is {status}: it was not held; whoever has it is to be told"
        else:
            yield f"{each.id} is held for that already"
    for each in held:
        status = status_of(book, each)
        if not status.gone and str(status) not in ("in-service", "held"):
            yield f"{each.id} is {status}; the hold stands besides"
    if held:
        yield "a cylinder that is held is let go with `tankbook release`, which names the reason"
