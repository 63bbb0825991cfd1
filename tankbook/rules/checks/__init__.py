"""Everything that can be wrong with the records, each declared once.

`validate` lists what the checks find; every answer asks the same checks what touches its cylinders.
A fault refuses, a warning is told with the answer, advice is for `validate` alone.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from types import MappingProxyType
from typing import Any

from msgspec.structs import replace

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.node import EVERY_CYLINDER, Finding, Severity
from tankbook.rules.checks import (
    away,
    chain,
    comments,
    cylinder,
    files,
    findings,
    incidents,
    log,
    serials,
    sets,
    settings,
    shoulder,
    stamps,
)
from tankbook.rules.checks import station as station_
from tankbook.rules.checks import valve as valve_
from tankbook.rules.checks.declared import CHECKS, Check, Scope
from tankbook.rules.checks.parts import OF_CARD, OF_NO_DAY, OF_SET, SHARED
from tankbook.rules.clearing import open_damage
from tankbook.rules.fill_history import (
    all_lines_of,
    named_in_log,
    names_in_log,
    rentals_of,
    sets_with,
)
from tankbook.rules.signing import bench_of
from tankbook.rules.twins import Twin, twins_of

__all__ = [
    "CHECKS",
    "Check",
    "Scope",
    "against",
    "check",
    "of_card",
    "of_station",
    "shared",
    "touching",
    "twins_on_file",
]

MODULES = (
    files,
    settings,
    station_,
    log,
    away,
    sets,
    cylinder,
    stamps,
    shoulder,
    serials,
    incidents,
    findings,
    comments,
    chain,
    valve_,
)
"""Where the checks are declared."""

_BY_SCOPE: Mapping[Scope, tuple[Check, ...]] = {
    scope: tuple(c for c in CHECKS.values() if c.scope is scope) for scope in Scope
}
_GRAVE = tuple(c for c in _BY_SCOPE[Scope.CYLINDER] if c.gravity is Severity.FAULT)
_OF_NO_DAY: Mapping[str, Check] = {
    c.code: c for c in _BY_SCOPE[Scope.CYLINDER] if OF_NO_DAY.issuperset(c.reads)
}
"""The checks of a cylinder that say the same whatever the day that is asked about."""
_SHARED_SCOPES = (Scope.UNREAD, Scope.FILES, Scope.RULES, Scope.SETTINGS, Scope.STATION, Scope.LOG)


def check(book: Book, today: dt.date) -> list[Finding]:
    """Every finding of every check, in the order of files and lines."""
    found: dict[tuple[Any, ...], Finding] = {}
    for each in _every_finding(book, today):
        # what is said of a set's rental is said of both its sides, and told once
        key = (each.where, each.code, each.text, each.severity)
        before = found.get(key, each)
        found[key] = replace(each, touches=tuple(dict.fromkeys((*before.touches, *each.touches))))
    return sorted(found.values(), key=lambda f: (f.where, f.code))


def _every_finding(book: Book, today: dt.date) -> Iterator[Finding]:
    yield from (f for f in shared(book, today) if CHECKS[f.code].scope is not Scope.UNREAD)
    for card in book.cylinders.values():
        yield from of_card(book, card, today)
    for doubles in book.sets.values():
        yield from of_set(book, doubles, today)
    for name in named_in_log(book):
        yield from of_lines(book, name, today)


def against(
    book: Book, id_: str, today: dt.date, *, station: bool = True, warned: bool = True
) -> tuple[Finding, ...]:
    """The faults and warnings that touch a cylinder, or either cylinder of a set.

    Args:
        book: the records, as known today.
        id_: a cylinder or a set.
        today: the day asked about.
        station: whether the station's own faults are asked for too.
        warned: whether its card is asked for what it only warns of too.
    """
    found: dict[Finding, None] = {}
    own = _own(book, id_, today, of_card if warned else faults_of)
    for finding in (*_shared_touching(book, id_, today, station), *own):
        if finding.severity is not Severity.ADVICE:
            found[finding] = None
    return tuple(found)


def of_station(book: Book, today: dt.date) -> tuple[Finding, ...]:
    """The faults and warnings of the station, and that its file cannot be read."""
    return tuple(
        f for f in shared(book, today) if f.severity is not Severity.ADVICE and _about_station(f)
    )


def _about_station(finding: Finding) -> bool:
    of_file = finding.code == "station-unread" or finding.where.path == "station.yaml"
    return CHECKS[finding.code].scope is Scope.STATION or of_file


def touching_all(book: Book, today: dt.date) -> tuple[Finding, ...]:
    """The faults that touch every cylinder, those of the station left out."""
    return tuple(
        f
        for f in shared(book, today)
        if f.severity is Severity.FAULT and EVERY_CYLINDER in f.touches and not _about_station(f)
    )


def touching(book: Book, today: dt.date, only: Collection[str] = ()) -> dict[str, Finding]:
    """The first fault that touches each cylinder, or `only` some cylinders and sets, by cylinder;
    those that touch all are left out. Checks that find no faults are not asked."""
    found: dict[str, Finding] = {}
    named = _named_faults(book, today)
    sides = {side for each in only if each in book.sets for side in book.sets[each].cylinders}
    for id_ in book.cylinders:
        if only and id_ not in only and id_ not in sides:
            continue
        firsts = [named[name] for name in names_in_log(book, id_) if name in named]
        own = (f for f in _own(book, id_, today, faults_of) if f.severity is Severity.FAULT)
        first = min(firsts)[1] if firsts else next(own, None)
        if first is not None:
            found[id_] = first
    return found


@once_per_book
def _named_faults(book: Book, today: dt.date) -> dict[str, tuple[int, Finding]]:
    """The first fault that files, rules, settings, station or the log as a whole have against each
    name, and its place among them; those against all are left out."""
    found: dict[str, tuple[int, Finding]] = {}
    for place, each in enumerate(shared(book, today)):
        if each.severity is Severity.FAULT and EVERY_CYLINDER not in each.touches:
            for name in each.touches:
                found.setdefault(name, (place, each))
    return found


def _own(
    book: Book, id_: str, today: dt.date, of_card: Callable[..., Iterable[Finding]]
) -> Iterator[Finding]:
    """What the checks of a cylinder or set and of its lines say; those of a card as `of_card`
    asks them."""
    if id_ in book.sets:
        yield from of_set(book, book.sets[id_], today)
        yield from of_lines(book, id_, today)
        return
    if id_ in book.cylinders:
        yield from of_card(book, book.cylinders[id_], today)
    yield from of_lines(book, id_, today)
    for name in sets_with(book).get(id_, ()):
        if name in book.sets:
            yield from of_set(book, book.sets[name], today)
            yield from of_lines(book, name, today)


def _shared_touching(book: Book, id_: str, today: dt.date, station: bool) -> Iterator[Finding]:
    names = {EVERY_CYLINDER, *names_in_log(book, id_)}
    for finding in shared(book, today):
        if names & set(finding.touches) and (station or not _about_station(finding)):
            yield finding


# --- asking --------------------------------------------------------------------------------------


@once_per_book
def shared(book: Book, today: dt.date) -> tuple[Finding, ...]:
    """What the checks of files, rules, settings, station and the log as a whole say."""
    scopes = (s for s in _SHARED_SCOPES if s is not Scope.STATION or book.station is not None)
    checks = (each for scope in scopes for each in _BY_SCOPE[scope])
    return tuple(f for each in checks for f in _ask(each, book, today))


@once_per_book
def of_card(book: Book, card: Cylinder, today: dt.date) -> tuple[Finding, ...]:
    """What the checks of one cylinder say of it."""
    return tuple(_asked_of_card(_BY_SCOPE[Scope.CYLINDER], book, card, today))


def faults_of(book: Book, card: Cylinder, today: dt.date) -> Iterator[Finding]:
    """The faults of one cylinder alone, in the order of `of_card`, none asked for before it is
    wanted."""
    found = _asked_of_card(_GRAVE, book, card, today)
    return (f for f in found if f.severity is Severity.FAULT)


def _asked_of_card(
    checks: Iterable[Check], book: Book, card: Cylinder, today: dt.date
) -> Iterator[Finding]:
    """What checks say of a cylinder: once for all days those that ask for none."""
    of_no_day = {}
    parts, own = _parts_of(book, card, today), (card.id,)
    for each in checks:
        if each.code not in _OF_NO_DAY:
            yield from _found(each, parts, own)
            continue
        grave = each.gravity is Severity.FAULT
        if grave not in of_no_day:
            of_no_day[grave] = _on_any_day(book, card, grave)
        yield from of_no_day[grave].get(each.code, ())


@once_per_book
def _on_any_day(book: Book, card: Cylinder, grave: bool) -> Mapping[str, tuple[Finding, ...]]:
    """What the checks that ask for no day say of a cylinder, by their codes: those that find faults
    (`grave`), or the others."""
    parts, own = _parts_of(book, card, None), (card.id,)
    asked = (c for c in _OF_NO_DAY.values() if (c.gravity is Severity.FAULT) is grave)
    found = {each.code: tuple(_found(each, parts, own)) for each in asked}
    return {code: each for code, each in found.items() if each}


@once_per_book
def _parts_of(book: Book, card: Cylinder, today: dt.date | None) -> _CardParts:
    return _CardParts(book, card, today)


class _CardParts(dict[str, Any]):
    """The parts of a cylinder, each worked out when the first check asks for it; without a day
    those alone that need none."""

    def __init__(self, book: Book, card: Cylinder, today: dt.date | None) -> None:
        super().__init__()
        self._about, self._day = (book, card), today

    def __missing__(self, name: str) -> Any:
        if self._day is not None and name in OF_NO_DAY:
            found = _parts_of(*self._about, None)[name]
        elif name in _OF_CARD:
            found = _OF_CARD[name](*self._about, self._day)
        else:
            book, _ = self._about
            found = _OF_SHARED[name](book, self._day)
        self[name] = found
        return found


def twins_on_file(book: Book, card: Cylinder, today: dt.date) -> tuple[Twin, ...]:
    """The other cards that may be of the same cylinder, and what stands against each."""
    return twins_of(book, card, lambda other: _told_of(book, other, today))


_LET_GO = frozenset({"struck-out-unsigned", "ended-unsigned", "reason-says-nothing"})
"""What is wrong with how something that told against a cylinder was taken away."""

_OF_CARD: Mapping[str, Any] = {**OF_CARD, "twins": twins_on_file}
_OF_SHARED: Mapping[str, Any] = SHARED


def _told_of(book: Book, card: Cylinder, today: dt.date) -> tuple[str, bool] | None:
    """The first of what was found of a cylinder, or happened to it, that refuses it, else that is
    told of it. No check of that kind asks for twins."""
    adverse = [c for c in _BY_SCOPE[Scope.CYLINDER] if c.adverse or c.code in _LET_GO]
    found = _asked_of_card(adverse, book, card, today)
    lines = (f for f in of_lines(book, card.id, today) if CHECKS[f.code].adverse)
    every = [f for f in (*found, *lines) if f.severity is not Severity.ADVICE]
    first = next((f for f in every if f.severity is Severity.FAULT), None)
    if first is not None:
        return f"at fault: {first.text}", True
    dents = next(iter(open_damage(bench_of(book), card, rentals_of(book, card.id))), None)
    if dents is not None:
        return f"damaged by its return of {dents[1]}", False
    return (f"warned of: {every[0].text}", False) if every else None


@once_per_book
def of_set(book: Book, doubles: Doubles, today: dt.date) -> tuple[Finding, ...]:
    """The findings of the checks that look at one set."""
    checks, own = _BY_SCOPE[Scope.SET], (doubles.id,)
    return tuple(f for each in checks for f in _ask(each, book, today, OF_SET, doubles, own))


@once_per_book
def of_lines(book: Book, name: str, today: dt.date) -> tuple[Finding, ...]:
    """The findings of the checks that look at the lines of one id."""
    lines, own = all_lines_of(book, name), (name,)
    checks = _BY_SCOPE[Scope.LINES] if lines else ()
    return tuple(f for each in checks for f in _ask(each, book, today, _OF_LINES, lines, own))


_OF_LINES: Mapping[str, Any] = {"lines": lambda book, lines, today: lines}


def _ask(
    each: Check,
    book: Book,
    today: dt.date,
    parts_of: Mapping[str, Any] = MappingProxyType({}),
    subject: Any = None,
    own: tuple[str, ...] = (),
) -> Iterator[Finding]:
    """What a check finds, given the parts that it names: those of its subject, else of the book."""
    parts = {
        n: parts_of[n](book, subject, today) if n in parts_of else SHARED[n](book, today)
        for n in each.reads
    }
    return _found(each, parts, own)


def _found(each: Check, parts: Mapping[str, Any], own: tuple[str, ...]) -> Iterator[Finding]:
    """What a check finds in the parts that it names."""
    for said in each.find(**{name: parts[name] for name in each.reads}):
        touches = said.touches if said.touches is not None else each.touches
        yield Finding(
            said.where,
            each.code,
            said.text,
            said.mend,
            said.severity or each.gravity,
            own if touches is None else touches,
            said.missing,
        )
