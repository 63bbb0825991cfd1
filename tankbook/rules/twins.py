"""Which cards may be of one and the same cylinder, by maker and serial."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from enum import StrEnum
from functools import lru_cache
from typing import TypeAlias

from msgspec import Struct

from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder
from tankbook.records.life import still_open
from tankbook.records.settings import Person
from tankbook.records.words import Skill, Status
from tankbook.rules.clearing import open_findings, open_inspection, open_test
from tankbook.rules.fill_history import rentals_of
from tankbook.rules.signing import are_kept, bench_of
from tankbook.rules.spelling import is_slip_of, looks_like, maker_named, normal, plain_serial
from tankbook.rules.stamped import marks_of
from tankbook.rules.status import KEEPING, open_states, status_from_entries
from tankbook.rules.tested import made_of
from tankbook.rules.wording import says_nothing
from tankbook.units.patterns import pattern


class Likeness(StrEnum):
    """How alike two serials are."""

    SAME = "same"
    ALIKE = "alike"
    MAKER_UNKNOWN = "maker-unknown"


class Twin(Struct, frozen=True):
    """Another card, how alike it is, and what stands against it, as in `which is held`."""

    id: str
    serial: str
    likeness: Likeness
    status: str | None
    grave: bool = True
    """Whether what stands against it refuses; else it is only told."""


Told: TypeAlias = Callable[[Cylinder], tuple[str, bool] | None]
"""What was found of a cylinder, or happened to it, and nothing answered; and whether it refuses."""


def twins_of(book: Book, card: Cylinder, told: Told) -> tuple[Twin, ...]:
    """The other cards that may be of the same cylinder and that nobody has told apart.

    A cylinder that was sold may come back as a customer's, on a card of its own; not so one that
    was set aside before it went, or of which something is told.
    """
    found = []
    for other in _alike(book, card):
        likeness = _likeness(card, other)
        if other.id == card.id or likeness is None or _told_apart(book, card, other, told):
            continue
        ends = status_from_entries(card), status_from_entries(other)
        aside = _set_aside(book, other)
        if aside or Status.SOLD not in ends:
            found.append(Twin(other.id, other.serial, likeness, aside or ends[1]))
        elif differs := _differs(card, other):
            found.append(Twin(other.id, other.serial, likeness, differs))
        elif said := told(other):
            found.append(Twin(other.id, other.serial, likeness, *said))
    return tuple(found)


def _set_aside(book: Book, card: Cylinder) -> str | None:
    """What tells against a cylinder for good or until it is answered, wherever it went since."""
    bench = bench_of(book)
    states = open_states(card)
    found = next((s for s in KEEPING if s in states), None)
    if found is None and open_test(bench, card) is not None:
        return "failed in its test"
    rentals = rentals_of(book, card.id)
    bad = open_inspection(bench, card) is not None or any(open_findings(bench, card, rentals))
    if found is Status.HELD:  # whoever has it at the counter is told of the recall
        return next((f"held: {h.why}" for h in still_open(card.held) if h.is_recall), found)
    return found or ("not passed by its inspection" if bad else None)


def _differs(card: Cylinder, other: Cylinder) -> str | None:
    """What two cards of one cylinder say of it that cannot both be true."""
    if card.service_pressure and other.service_pressure:
        apart = abs(card.service_pressure.pa - other.service_pressure.pa)
        if apart > _AGREE * card.service_pressure.pa:
            return f"of {other.service_pressure} by its card"
    if card.material and other.material and card.material is not other.material:
        return f"of {other.material} by its card"
    alloys = [set(_ALLOY.findall(each.alloy or "")) for each in (card, other)]
    if all(alloys) and alloys[0].isdisjoint(alloys[1]):  # `6061-T6` and `AA6061` are one
        return f"of alloy {other.alloy} by its card"
    return None


_ALLOY = pattern(r"(?<!\d)\d{4}(?!\d)")
_AGREE = 0.04
"""Share by which two pressures of one cylinder may differ, of two families (own calculation)."""


def _alike(book: Book, card: Cylinder) -> Iterable[Cylinder]:
    """The cards with a serial, typed or stamped, that looks like one of a card's."""
    shapes = shapes_of(card)
    found = [other for shape in shapes for other in _by_shape(book).get(shape, ())]
    worn = worn_of(book)
    found += [other for other in worn.values() if _may_be_worn(other, card)]
    if card.id in worn:
        found += [other for other in book.cylinders.values() if _may_be_worn(card, other)]
    return {other.id: other for other in found}.values()


def shapes_of(card: Cylinder) -> set[str]:
    """How its serials may be read, with and without the maker's letters beside them."""
    return {looks_like(s) for s in (*serials_of(card), *_bare_serials(card))}


def may_be_one(one: Cylinder, other: Cylinder) -> bool:
    """Whether two cards may be of one cylinder: a serial of theirs looks the same, or may where a
    character cannot be read, and no maker says otherwise."""
    worn = any(
        _may_be_worn(*both) for both in ((one, other), (other, one)) if _WORN.search(both[0].serial)
    )
    same = worn or bool(shapes_of(one) & shapes_of(other))
    return same and _likeness(one, other) is not None


def _bare_serials(card: Cylinder) -> tuple[str, ...]:
    """A serial without letters that stand beside it: `FCW F20411`, `F20411-FCW`, or joined to it
    where they are the initials of its maker."""
    words = [w for w in re.findall(r"[^\W_]+", card.serial) if not w.isalpha()]
    alone = words if len(words) == 1 else []
    initials = "".join(w[0] for w in re.findall(r"[^\W\d_]+", card.maker or ""))
    if len(initials) > 1:
        joined = re.sub(rf"^{initials}|{initials}$", "", card.serial, flags=re.IGNORECASE)
        alone = [*alone, joined]
    return tuple(w for w in alone if len(w) >= LONG_SERIAL)


LONG_SERIAL = 5
"""A shorter serial may be another's by chance (own choice)."""

_WORN = pattern(r"[?_*]")
"""What is typed for a character that cannot be read."""


def is_worn(serial: str) -> bool:
    """Whether a character of a serial cannot be read, as whoever typed it says."""
    return _WORN.search(serial) is not None


@once_per_book
def worn_of(book: Book) -> dict[str, Cylinder]:
    """The cards in whose serial a character cannot be read, by their ids."""
    return {c.id: c for c in book.cylinders.values() if _WORN.search(c.serial)}


def _may_be_worn(worn: Cylinder, other: Cylinder) -> bool:
    """Whether a serial with characters that cannot be read may be another's."""
    parts = [looks_like(part) if part else "" for part in _WORN.split(worn.serial)]
    if sum(map(len, parts)) < LONG_SERIAL - 1 or worn.id == other.id:
        return False
    pattern = "[a-z0-9]{0,2}".join(map(re.escape, parts))
    return any(re.fullmatch(pattern, looks_like(s)) for s in serials_of(other))


@once_per_book
def _by_shape(book: Book) -> dict[str, list[Cylinder]]:
    found: dict[str, list[Cylinder]] = {}
    for card in book.cylinders.values():
        for shape in shapes_of(card):
            found.setdefault(shape, []).append(card)
    return {k: v for k, v in found.items() if len(v) > 1}


def serials_of(card: Cylinder) -> tuple[str, ...]:
    """Its serial as typed and, where the shoulder shows another, as stamped."""
    stamped = marks_of(card).serial
    return tuple(dict.fromkeys(s for s in (card.serial, stamped) if s))


def may_be_in(text: str, serial: str) -> bool:
    """Whether a serial may stand in the text of a card that cannot be read: as the value of its
    key; a longer one as any word, or with blanks and signs in it, where it holds a letter."""
    wanted, (named, words) = looks_like(serial), _words_in(text)
    if wanted in named:
        return True
    if len(plain_serial(serial)) < LONG_SERIAL:
        return False
    if wanted in words:
        return True
    apart = r"[^A-Za-z0-9]{0,3}".join(map(_as_worn, plain_serial(serial)))
    letters = not plain_serial(serial).isdecimal()
    return letters and re.search(rf"(?<![^\W_]){apart}(?![^\W_])", text, re.IGNORECASE) is not None


@lru_cache(maxsize=64)
def _words_in(text: str) -> tuple[frozenset[str], frozenset[str]]:
    """What stands behind `serial` in a text, and every word of it, each as a worn stamp is read."""
    named, words = _SERIAL_KEY.findall(text), _ANY_WORD.findall(text)
    return frozenset(map(looks_like, named)), frozenset(map(looks_like, words))


_SERIAL_KEY = pattern(r"(?i)\bserial\w*[\"']?\s*[:=]\s*([^\n\r#,{}]+)")
_ANY_WORD = pattern(r"[A-Za-z0-9][A-Za-z0-9._/-]*")
_LOOK_ALIKE = ("0oq", "1il", "5s", "8b", "2z")


def _as_worn(sign: str) -> str:
    """The signs that a worn one may be, and itself."""
    return f"[{next((each for each in _LOOK_ALIKE if sign in each), sign)}]"


@once_per_book
def ids_by_serial(book: Book) -> Mapping[str, tuple[str, ...]]:
    """The cylinders by how their serials look (`looks_like`): who writes down a fill may read a
    shoulder instead of a label. What is shorter than four characters is no name."""
    found: dict[str, tuple[str, ...]] = {}
    for card in book.cylinders.values():
        for serial in serials_of(card):
            looks = looks_like(serial)
            if len(looks) >= _SHORTEST and card.id not in found.get(looks, ()):
                found[looks] = (*found.get(looks, ()), card.id)
    return found


_SHORTEST = 4


def _likeness(one: Cylinder, other: Cylinder) -> Likeness | None:
    makers = maker_named(one.maker), maker_named(other.maker)
    if makers[0] and makers[1] and not _one_maker(*makers):
        # a maker's name may be written in two ways; a serial, a mark and a date seldom agree
        marked = {*map(normal, one.specification)} & {*map(normal, other.specification)}
        made = made_of(one), made_of(other)
        apart = made[0] and made[1] and not made[0].meets(made[1])
        one_serial = {plain_serial(s) for s in serials_of(one)} & {
            plain_serial(s) for s in serials_of(other)
        }
        slip = is_slip_of(*makers) and any(len(s) > LONG_SERIAL for s in one_serial)
        return Likeness.ALIKE if slip or (marked and not apart) else None
    if not (makers[0] and makers[1]):
        return Likeness.MAKER_UNKNOWN
    plain = [{plain_serial(s) for s in (*serials_of(c), *_bare_serials(c))} for c in (one, other)]
    same = bool(plain[0] & plain[1])
    return Likeness.SAME if same else Likeness.ALIKE


def _one_maker(one: str, other: str) -> bool:
    """Whether two names are one, or one is the other's beginning."""
    short, long = sorted((one, other), key=len)
    return one == other or (len(short) > SHORT_NAME and long.startswith(short))


SHORT_NAME = 3
"""A name of no more letters is no beginning of another."""


def _told_apart(book: Book, one: Cylinder, other: Cylinder, told: Told) -> bool:
    """Whether one of the ledger's own people said that they are two, and how they differ; of one
    that was set aside, somebody who is or was certified to inspect, where that is kept."""
    people = book.settings.people
    apart = [n for n in one.not_same if n.id == other.id]
    apart += [n for n in other.not_same if n.id == one.id]
    said = [n.by for n in apart if not says_nothing(n.why)]
    if not said:
        return False
    aside = any(_set_aside(book, each) or _refuses(told(each)) for each in (one, other))
    if are_kept(people, Skill.INSPECTOR) and aside:
        return any(_inspects(people.get(by)) for by in said)
    return any(by in people or not people for by in said)


def _refuses(said: tuple[str, bool] | None) -> bool:
    return said is not None and said[1]


def _inspects(person: Person | None) -> bool:
    return person is not None and any(c.skill is Skill.INSPECTOR for c in person.certifications)
