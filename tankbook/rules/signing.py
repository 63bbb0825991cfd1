"""Who may sign for what, where certifications are kept, and which looks at a cylinder count."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from msgspec import Struct

from tankbook.records.book import Book, once_per_book
from tankbook.records.checklist import Checklist
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import DoneElsewhere, Inspected, Requalified
from tankbook.records.finding import FindingRow
from tankbook.records.life import verdict
from tankbook.records.settings import Person
from tankbook.records.words import ChecklistGroup, InspectionResult, PartChecked, Skill
from tankbook.units import PartialDate
from tankbook.units.lexicon import Lexicon, words_in

_NAMES = Lexicon("signing")

SEEN_STICKER = "sticker-seen"
"""The checklist word for another shop's sticker, read at the counter."""

FULL, INSIDE, OUTSIDE, NOTHING = 3, 2, 1, 0


_FEWEST = 3
"""A body that tests has a name of so many letters, or one with a figure in it."""


def names_nobody(by: str | None) -> bool:
    """Whether what stands for a name names nobody: `nobody`, `the owner`, `a mate`."""
    words = words_in(by or "")
    return bool(words) and _NAMES.words("nobody").issuperset(words)


def are_called_alike(one: str, other: str) -> bool:
    """Whether two names share a word that names somebody: `Northside` and `Northside T123`, but not
    `Weir Test House` and `Quay Test House`."""
    common = _NAMES.words("nobody", "a tester", "company")
    return bool((set(words_in(one)) & set(words_in(other))) - common)


def names_no_tester(by: str | None) -> bool:
    """Whether what stands for whoever tested names nobody, and no test house either."""
    words = set(words_in(by or ""))
    return names_nobody(by) and not words & _NAMES.words("a tester") - {"the", "a"}


def is_outside(people: Mapping[str, Person], by: str | None) -> bool:
    """Whether somebody who is named is none of the ledger's people, nor anybody's initials: a test
    house's number or mark has two digits or more."""
    if by is None or by in people:
        return False
    return len(letters_and_digits(by)) > INITIALS or sum(c.isdigit() for c in by) > 1


def why_nobody_to_ask(people: Mapping[str, Person], by: str | None, on: PartialDate) -> str:
    """Why who signed for some work on a day or in a month is nobody that anybody can ask, or an
    empty text: it is one of the ledger's people, or a firm by its name."""
    if not by:
        return "nobody's initials stand beside it"
    if names_nobody(by):
        return f"{by} is nobody's name"
    if is_outside(people, by) or not people:
        return ""
    person = people.get(by)
    if person is None:
        return f"{by} is not among the people of tankbook.yaml"
    left = person.left
    return f"{by} left on {left}" if left and left.last < on.first else ""


def of_people(said: str, people: Mapping[str, Person], on: dt.date) -> bool:
    """Whether a text is the initials of one of the ledger's people, who had not left by a day."""
    known = next((p for i, p in people.items() if i.casefold() == said.strip().casefold()), None)
    return known is not None and (known.left is None or known.left.last >= on)


INITIALS = 4
"""Initials have no more letters than this."""


def are_kept(people: Mapping[str, Person], skill: Skill) -> bool:
    """Whether anybody's certification for a skill is on record: without one, nothing is held
    against initials."""
    return any(c.skill is skill for p in people.values() for c in p.certifications)


def why_not_certified(people: Mapping[str, Person], by: str | None, on: dt.date) -> str:
    """Why somebody holds no certification of any kind on a day, or an empty text; where none is on
    record for anybody, initials are enough."""
    if not by:
        return "nobody's initials stand beside it"
    kept = [skill for skill in Skill if are_kept(people, skill)]
    if not kept or not all(why_not(people, by, skill, on) for skill in kept):
        return ""
    person = people.get(by)
    if person is None or (person.left and person.left.last < on):
        return why_not(people, by, kept[0], on)
    return f"{by} had no valid certification on {on}"


def why_not(
    people: Mapping[str, Person], by: str | None, skill: Skill, on: PartialDate | dt.date
) -> str:
    """Why somebody could not sign for a skill on a day, or an empty text."""
    first, last = (on.first, on.last) if isinstance(on, PartialDate) else (on, on)
    if not by:
        return "nobody's initials stand beside it"
    if not are_kept(people, skill):
        return ""
    person = people.get(by)
    if person is None:
        return f"{by} is not among the people of tankbook.yaml"
    if person.left and person.left.last < first:
        return f"{by} left on {person.left}"
    if person.is_certified(skill, first, last):
        return ""
    return f"{by} had no valid {skill} certification on {on}"


def letters_and_digits(text: str | None) -> str:
    """A text in small letters and digits alone."""
    return "".join(words_in(text or ""))


class SigningRules(Struct, frozen=True):
    """What an answer is weighed by: what checklists look at, and who is certified."""

    weights: Mapping[str, int]
    """How much of a cylinder each checklist that is known looks at."""
    people: Mapping[str, Person]
    here: frozenset[str] = frozenset()
    """What the ledger itself is called, in plain letters."""
    grave: tuple[FindingRow, ...] = ()
    """What is never accepted, and the words by which people write of it."""
    inside: tuple[FindingRow, ...] = ()
    """What asks for a look inside, and its words."""
    rows: tuple[FindingRow, ...] = ()
    """All that can be found, and the words for it."""

    def weight(self, checklist: str) -> int:
        """How much of a cylinder a checklist looks at: nothing, outside, inside, all."""
        return NOTHING if checklist == SEEN_STICKER else self.weights.get(checklist, NOTHING)

    def is_full(self, entry: Inspected) -> bool:
        """Whether an inspection looked at all of a cylinder."""
        return self.weight(entry.checklist) == FULL

    def signed(self, entry: Inspected) -> bool:
        """Whether whoever inspected was certified that day, where that is kept."""
        return not why_not(self.people, entry.by, Skill.INSPECTOR, entry.on)

    def is_requalifiers(self, entry: Requalified) -> bool:
        """Whether an outside body signed: somebody who is named, and none of the ledger's own
        people in whatever letters."""
        return self.is_outsiders(entry.by, entry.stamp)

    def is_outsiders(self, by: str | None, stamp: str | None = None) -> bool:
        """Whether a name is somebody's, and of none of the ledger's own; a stamp names somebody."""
        words = words_in(by or "")
        name = "".join(words)
        short = len(name) < _FEWEST and not any(c.isdigit() for c in name)
        some = not _NAMES.words("somebody").isdisjoint(words) and not stamp
        nobody = _NAMES.words("nobody").issuperset(words)
        return not (short or some or nobody or self.is_own_name(by))

    def is_shop(self, by: str | None) -> bool:
        """Whether a name is of a shop or test house elsewhere; the maker only made a cylinder."""
        return (by or "").strip().casefold() != "maker" and self.is_outsiders(by)

    def was_checked_elsewhere(self, entry: DoneElsewhere) -> bool:
        """Whether somebody else looked at all of it, in and outside, as one of the ledger's people
        saw it afterwards on sticker, stamp or paper."""
        seen = entry.seen_on is not None and bool(entry.seen_by) and entry.on.first <= entry.seen_on
        named = bool(entry.by) and self.is_shop(entry.by)
        return seen and named and _ALL_OF_IT.issubset(entry.checked)

    def is_nobodys(self, entry: Requalified) -> bool:
        """Whether no outside body stands for a test: one of the ledger's own people or its shop
        signed it, and nobody besides; or it says that nobody did, and names no stamp. Who does not
        know whose it is says no more than who leaves it out."""
        words = set(words_in(entry.by or ""))
        own = {initials.casefold() for initials in self.people}
        beside = _NAMES.words("nobody") - _NAMES.words("a tester")
        alone = bool(words & own) and words <= own | beside
        here = any(_is_named(entry.by or "", name) for name in self.here)
        nobody = names_no_tester(entry.by) and not words <= _NAMES.words("not known")
        return alone or here or (nobody and not entry.stamp)

    def is_own(self, entry: Requalified) -> bool:
        """Whether one of the ledger's own people signed, or its own shop."""
        return self.is_own_name(entry.by)

    def is_own_name(self, name: str | None) -> bool:
        """Whether a name is of one of the ledger's own people, or its own shop."""
        by = name or ""
        words = words_in(by)
        own = {initials.casefold() for initials in self.people}
        here = any(letters_and_digits(by) in name or _is_named(by, name) for name in self.here)
        return bool(words) and bool(own & {*words, "".join(words)} or here)


_ALL_OF_IT = frozenset({PartChecked.INSIDE, PartChecked.OUTSIDE})
"""What a full look looks at."""


def _is_named(by: str, name: str) -> bool:
    """Whether somebody is called by a ledger's own name, alone or with what says nothing more, as
    `Quay Ltd` and `Quay workshop`."""
    words = words_in(by)
    known = _NAMES.words("nobody", "company")
    while words and letters_and_digits("".join(words)) != name and words[-1] in known:
        words.pop()
    return bool(words) and "".join(words) == name


def counts_as_passed(bench: SigningRules, entry: Inspected) -> bool:
    """Whether a passed inspection is evidence of its passing: by a checklist that is known, signed
    by somebody certified. Another shop's sticker is evidence of that shop's; where what was checked
    there is said, only if that was all of it."""
    if verdict(entry) is not InspectionResult.PASS or entry.void is not None:
        return False
    if entry.checklist == SEEN_STICKER:
        return not entry.is_reported or bench.was_checked_elsewhere(entry)
    return bench.weight(entry.checklist) > NOTHING and bench.signed(entry)


def _weight_of(checklist: Checklist) -> int:
    if checklist.full:
        return FULL
    if checklist.inside:
        return INSIDE
    return OUTSIDE if ChecklistGroup.OUTSIDE in checklist.looks_at else NOTHING


@once_per_book
def bench_of(book: Book) -> SigningRules:
    """What an inspection is weighed by."""
    return SigningRules(
        weights={name: _weight_of(each) for name, each in book.checklists.items()},
        people=book.settings.people,
        here=frozenset({letters_and_digits(book.settings.ledger)}),
        grave=tuple(row for row in book.finding_rows if row.never),
        inside=tuple(row for row in book.finding_rows if row.inside),
        rows=book.finding_rows,
    )


def looks(book: Book, card: Cylinder) -> list[Inspected]:
    """The passed inspections that count, oldest first; another shop's sticker among them."""
    bench = bench_of(book)
    return [i for i in card.inspected if counts_as_passed(bench, i)]
