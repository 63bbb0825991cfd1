"""What an incident names and nobody has set aside: it is taken for set aside all the same.

The incident is the fact. Whoever records it by its command holds all that it names; of one that was
written by hand, or whose holds were struck out, the same follows.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Iterator

from msgspec import Struct

from tankbook.records.book import Book, once_per_book
from tankbook.records.counter import Incident
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import standing
from tankbook.records.station import (
    BOOSTER,
    COMPRESSOR,
    Bank,
    BankHeld,
    Booster,
    Checked,
    Compressor,
    new_since,
    that_stand,
)
from tankbook.records.words import TestResult
from tankbook.rules.air import air_judge, drawn, sampled_at
from tankbook.rules.counter import why_not_struck
from tankbook.rules.status import status_of

LONGEST_WHY = 200
"""Characters of what happened that a hold repeats (own bound)."""


class Unheld(Struct, frozen=True):
    """Something that an incident names, and that nobody set aside for it.

    Attributes:
        incident: the incident.
        name: what it is called there, as `RB-014` or `whip W1`.
        ids: the cylinders that it is; none of a part of the station.
        known: it is in the ledger.
    """

    incident: Incident
    name: str
    ids: tuple[str, ...] = ()
    known: bool = True


def why_of(incident: Incident) -> str:
    """Why something is held for an incident, as its entry says it."""
    what = incident.what
    short = what if len(what) <= LONGEST_WHY else f"{what[: LONGEST_WHY - 3]}..."
    return f"incident of {incident.on}: {short}"


@once_per_book
def incidents_that_count(book: Book) -> tuple[Incident, ...]:
    """The incidents on record that nobody who may has struck out."""
    people = book.settings.people
    kept = book.counter.incidents if book.counter else ()
    return tuple(e for e in kept if e.void is None or why_not_struck(e, people))


@once_per_book
def unheld(book: Book) -> tuple[Unheld, ...]:
    """All that incidents name and that nobody set aside for them, in the order of the file."""
    every = incidents_that_count(book)
    return tuple(each for e in every for each in (*_cylinders(book, e), *_parts(book, e)))


def set_aside(
    book: Book, incident: Incident, held: Collection[str] = ()
) -> tuple[tuple[str, str], ...]:
    """Of all that an incident names, whether it was set aside for it, in words: nothing of what
    became of it since.

    Args:
        book: the records.
        incident: the incident.
        held: the cylinders that are held for it now, where it is not in the book yet.
    """
    known = any(e is incident for e in incidents_that_count(book))
    none = {u.name for u in unheld(book) if u.incident is incident}
    found = []
    for then in incident.cylinders:
        cards = _cards(book, then.id)
        entries = (h for c in cards for h in c.held)
        is_held = then.id in held or any(
            _is_for(book, incident, h.why) if known else h.why == why_of(incident) for h in entries
        )
        if is_held:
            said = "held"
        elif cards and all(status_of(book, c).gone for c in cards):
            said = "NOT held, as it had left: whoever has it is to be told"
        else:
            said = "no hold is on record; it is taken for held all the same"
        found.append((then.id, said))
    for part in incident.parts:
        aside = not known or part.part not in none
        said = "out of use" if aside else "no entry is on record; out of use all the same"
        found.append((part.part, said))
    found += [(other, "not in the ledger: set it aside by hand") for other in incident.other]
    return tuple(found)


def named_since_it_left(book: Book, id_: str) -> tuple[str, ...]:
    """The incidents that name a cylinder that is gone and that nobody held for them: whoever has it
    is to be told. Of a set, those of both its cylinders."""
    gone = [c for c in _cards(book, id_) if status_of(book, c).gone]
    return tuple(
        dict.fromkeys(
            f"{then.id} is named in the {why_of(each)}"
            for each in incidents_that_count(book)
            for then in each.cylinders
            for card in _cards(book, then.id)
            if card in gone and not _is_held(book, each, card)
        )
    )


def banks_named(book: Book, bank: Bank) -> tuple[BankHeld, ...]:
    """A bank's entries of being set aside, with those that follow from what incidents name."""
    aside = (
        BankHeld(source=e.source, on=e.on.first, at=e.at, why=why_of(e), by=e.by)
        for e in _of_part(book, f"bank {bank.name}")
        if not _is_aside(e, that_stand(bank.held))
    )
    return (*bank.held, *aside)


def incident_of(book: Book, bank: Bank, entry: BankHeld) -> Incident | None:
    """The incident that a bank was set aside for, where that is on record and names it."""
    every = _of_part(book, f"bank {bank.name}")
    return next((e for e in every if _is_for(book, e, entry.why)), None)


def checks_of(book: Book, part: str, checked: Iterable[Checked]) -> tuple[Checked, ...]:
    """A part's checks in the order of their days, with the failures that follow from what incidents
    name; `part` as `whip W1`."""
    checked = tuple(checked)
    failed = [c for c in that_stand(checked) if c.result is TestResult.FAIL]
    more = [
        Checked(source=e.source, on=e.on.first, by=e.by, result=TestResult.FAIL, note=why_of(e))
        for e in _of_part(book, part)
        if not _is_aside(e, failed)
    ]
    # what is of one day stands before what was done about it
    return tuple(sorted((*more, *checked), key=lambda c: c.on)) if more else checked


MACHINE = "station machine"
"""The command that says what was found and done about a compressor or a booster."""


def machine_part(pump: Compressor | Booster) -> str:
    """What an incident calls a machine: `compressor C1`, `booster BO1`; a compressor that stands
    alone may have no label."""
    kind = BOOSTER if isinstance(pump, Booster) else COMPRESSOR
    return f"{kind} {pump.name}" if pump.name else kind


def repaired_by(pump: Compressor | Booster) -> str:
    """The command that says what was found and done about a machine that failed."""
    return f"`tankbook {MACHINE} {pump.name or COMPRESSOR} --repaired WHAT`"


def reopens(pump: Compressor | Booster, *, repaired: bool = False) -> str:
    """What lets a machine be used again that an incident names; `repaired`: what was found and done
    is on record."""
    said = f"somebody says what was found and done: {repaired_by(pump)}"
    way = f"`tankbook station air-test --source {pump.name or COMPRESSOR}`"
    until = [] if repaired else [said]
    if isinstance(pump, Compressor):
        until += [f"a sample {'of it' if repaired else 'drawn after that'} passes: {way}"]
    return f"it is out of use until {', and '.join(until)}"


class MachineOut(Struct, frozen=True):
    """A compressor that an incident names and of which no sample passed since, nor since what was
    found and done about it, where that is on record."""

    pump: Compressor
    incident: Incident
    repaired: bool

    @property
    def why(self) -> str:
        """What is the case with it."""
        return f"{machine_part(self.pump)} is named in the {why_of(self.incident)}"

    @property
    def mend(self) -> str:
        """What lets it be used again."""
        return reopens(self.pump, repaired=self.repaired)


def machines_out(book: Book) -> Iterator[MachineOut]:
    """The compressors that incidents name, and that no sample opened again."""
    station, judge = book.station, air_judge(book)
    if station is None:
        return
    for pump in station.every_compressor:
        own = frozenset({(pump.name or COMPRESSOR).casefold()})
        good = [
            drawn(test).first
            for test in that_stand(station.air_tests)
            if sampled_at(station, test) == own and judge.opens(station, test)
        ]
        repaired = [c.on for c in that_stand(pump.checked) if c.repaired]
        for incident in _of_part(book, machine_part(pump)):
            moment = dt.datetime.combine(incident.on.last, incident.at or dt.time.max)
            done = max((on for on in repaired if on >= incident.on.first), default=None)
            since = moment if done is None else max(moment, dt.datetime.combine(done, dt.time.min))
            if not any(when > since or when.date() == done for when in good if when > moment):
                yield MachineOut(pump, incident, repaired=done is not None)


def _is_aside(incident: Incident, entries: Iterable[BankHeld | Checked]) -> bool:
    return any(each.on >= incident.on.first for each in entries)


def _of_part(book: Book, part: str) -> Iterator[Incident]:
    for incident in incidents_that_count(book):
        if any(_spelt(each.part) == _spelt(part) for each in incident.parts):
            yield incident


def _spelt(part: str) -> str:
    return " ".join(part.casefold().split())


def _cylinders(book: Book, incident: Incident) -> Iterator[Unheld]:
    for then in incident.cylinders:
        cards = _cards(book, then.id)
        here = (c for c in cards if not status_of(book, c).gone)
        ids = tuple(c.id for c in here if not _is_held(book, incident, c))
        if ids or not cards:
            yield Unheld(incident, then.id, ids, known=bool(cards) or then.id in book.ids)


def _is_held(book: Book, incident: Incident, card: Cylinder) -> bool:
    """Whether a cylinder was held for an incident. One hold is for all that are in the same words;
    of several, where any of them is struck out, the others are for as many of the first."""
    entered = [h for h in card.held if _is_for(book, incident, h.why)]
    held = standing(entered)
    if not held or len(held) == len(entered):
        return bool(held)
    why = why_of(incident)
    alike = [e for e in incidents_that_count(book) if why_of(e) == why]
    mine = [e for e in alike if any(card in _cards(book, then.id) for then in e.cylinders)]
    wanted = min(len(mine), len(entered))
    return len(held) >= wanted or any(e is incident for e in mine[: len(held)])


def _cards(book: Book, id_: str) -> list[Cylinder]:
    """The cards of an id, of a set those of its sides, whatever each is called now."""
    doubles = next((s for n, s in book.every_set.items() if n == id_ or id_ in s.formerly), None)
    names = doubles.cylinders if doubles else (id_,)
    return [c for c in book.cylinders.values() if c.id in names or id_ in c.formerly]


def _is_for(book: Book, incident: Incident, why: str) -> bool:
    """Whether a hold is for an incident: it says so in the same words; or names its day, on which
    there was no other."""
    own, said = (" ".join(each.casefold().split()) for each in (why_of(incident), why))
    if said == own:
        return True
    day = f"incident of {incident.on}".casefold()
    of_day = [e for e in incidents_that_count(book) if e.on == incident.on]
    return said.startswith(day) and len(of_day) == 1


def _parts(book: Book, incident: Incident) -> Iterator[Unheld]:
    station = book.station
    if station is None:
        return
    begun = incident.on.first
    told = {f"bank {b.name}": _is_aside(incident, that_stand(b.held)) for b in station.banks}
    for whip in station.whips:
        fitted = new_since(whip)
        new = fitted is not None and fitted.first > begun
        told[f"whip {whip.name}"] = new or _is_told(incident, whip.checked)
    for position in station.positions:
        told[f"position {position.name}"] = _is_told(incident, position.checked)
    told |= {machine_part(p): _is_told(incident, p.checked) for p in station.every_pump}
    spelt = {_spelt(name): name for name in told}
    for then in incident.parts:
        name = spelt.get(_spelt(then.part))
        if name is None:
            yield Unheld(incident, then.part, known=False)
        elif not told[name]:
            yield Unheld(incident, name)


def _is_told(incident: Incident, checked: Iterable[Checked]) -> bool:
    """Whether a part is on record as failed since an incident, or as repaired."""
    told = (c for c in that_stand(checked) if c.result is TestResult.FAIL or c.repaired)
    return _is_aside(incident, told)
