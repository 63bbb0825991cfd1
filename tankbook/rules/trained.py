"""What users were seen to be trained for, and what is out to somebody who was not."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from msgspec import Struct

from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.counter import Certified
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.entries import standing
from tankbook.records.life import still_open
from tankbook.records.rulerow import Obligation
from tankbook.records.words import Isolator, UserLevel
from tankbook.rules.answers import Contents
from tankbook.rules.counter import why_not_seen
from tankbook.rules.fill_history import contents_of, sides_of
from tankbook.rules.gas_unknown import Unknown, unknown_gas
from tankbook.rules.inforce import InForce, rules_of

COVERED_BY = {
    UserLevel.NITROX: frozenset(UserLevel),
    UserLevel.RICH_NITROX: frozenset({UserLevel.RICH_NITROX}),
    UserLevel.TRIMIX: frozenset({UserLevel.TRIMIX}),
}
"""What a user may be trained for to take what asks for a level: nobody is trained for the other two
who was not trained for nitrox before (common practice, no source)."""

_HAIR = 1e-9  # keeps 40 from being more than 40 by the last bit of a float


def certified_as(book: Book, reference: str, today: dt.date) -> tuple[Certified, ...]:
    """What a user was seen to be trained for: entries of their reference, to the letter, by one of
    the ledger's people, not struck out and not of a later day."""
    people = book.settings.people
    return tuple(
        e
        for e in (standing(book.counter.certified) if book.counter else ())
        if e.reference.strip() == reference.strip()
        and e.on.first <= today
        and not why_not_seen(e, people)
    )


def held_in(book: Book, id_: str) -> list[Contents]:
    """What it holds, of each side where the isolator of a set is shut."""
    doubles = book.sets.get(id_)
    if doubles is not None and doubles.isolator is Isolator.SHUT:
        return [held for _, held in sides_of(book, doubles)]
    return [contents_of(book, id_)]


def nameless_in(book: Book, id_: str) -> Iterator[Unknown | None]:
    """Why nobody knows what it holds, of each cylinder it stands for."""
    doubles = book.sets.get(id_)
    apart = doubles is not None and doubles.isolator is Isolator.SHUT
    sides = dict(sides_of(book, doubles)) if doubles is not None and apart else {}
    for member in book.members(id_):
        if member in book.cylinders:
            held = sides[member] if member in sides else contents_of(book, id_)
            yield unknown_gas(book, book.cylinders[member], held)


def wanted_for(gas: Gas, rules: InForce) -> list[UserLevel]:
    """What whoever takes a gas is trained for."""
    if gas.is_air:
        return []
    rich = min((r.share.percent for r in rules.rows[Obligation.LEAVING] if r.share), default=0.0)
    wanted = [UserLevel.TRIMIX] if gas.helium_percent > 0 else []
    if gas.oxygen_percent > rich + _HAIR:
        wanted.append(UserLevel.RICH_NITROX)
    return wanted or [UserLevel.NITROX]


def is_seen(
    book: Book, level: UserLevel, reference: str, today: dt.date, now: UserLevel | None = None
) -> bool:
    """Whether somebody saw that a user is trained for a level; `now`: what is seen just now."""
    levels = {e.level for e in certified_as(book, reference, today)}
    levels |= {now} if now else set()
    return bool(levels & COVERED_BY[level])


def not_seen(book: Book, id_: str, reference: str, today: dt.date) -> frozenset[UserLevel]:
    """What nobody saw that whoever has a cylinder or a set is trained for, of what the gas in it
    asks; where nobody knows which that is, of all."""
    rules, held = rules_of(book), held_in(book, id_)
    unknown = any(nameless_in(book, id_)) or any(each.gas is None for each in held)
    gases = [each.gas for each in held if each.gas is not None]
    wanted = set(UserLevel) if unknown else {n for gas in gases for n in wanted_for(gas, rules)}
    return frozenset(n for n in wanted if not is_seen(book, n, reference, today))


class SeenNoMore(Struct, frozen=True):
    """What is out to somebody of whom it was struck out that they are trained for what it holds.

    Attributes:
        id: the cylinder or set.
        to: whose reference.
        levels: what they are to be trained for, and nobody is on record any more to have seen.
        struck: the last entry that said it.
    """

    id: str
    to: str
    levels: tuple[UserLevel, ...]
    struck: Certified

    @property
    def said(self) -> str:
        """What is the case, and what to do."""
        levels = " and ".join(level.value for level in self.levels)
        gone = f"out to {self.to}, of whom it was struck out that they are trained for {levels}"
        return f"{gone}: {self.mend}"

    @property
    def mend(self) -> str:
        """What to do."""
        levels = " and ".join(level.value for level in self.levels)
        return (
            f"see that they are trained for what it holds ({levels}), and record that, or call it "
            "back"
        )


def seen_no_more(book: Book, today: dt.date) -> Iterator[SeenNoMore]:
    """What is out to somebody whose training was struck out, and that nobody saw since."""
    struck = [e for e in (book.counter.certified if book.counter else ()) if e.void is not None]
    people = book.settings.people
    subjects: list[tuple[str, Cylinder | Doubles]] = [*book.cylinders.items(), *book.sets.items()]
    for name, subject in subjects if struck else ():
        rental = next(reversed(still_open(subject.rented)), None)
        reference = rental.to.strip() if rental is not None else ""
        own = [
            e
            for e in struck
            if e.reference.strip() == reference
            and e.on.first <= today
            and not why_not_seen(e, people)
        ]
        was = {e.level for e in own}
        missing = not_seen(book, name, reference, today) if was else frozenset()
        gone = tuple(n for n in UserLevel if n in missing and was & COVERED_BY[n])
        if rental is not None and gone:
            yield SeenNoMore(name, rental.to, gone, own[-1])
