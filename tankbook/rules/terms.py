"""What counted as remarkable at a commit: the settings in force then, of every line of descent.

A commit is judged by the settings before it and in it, whichever asks more, so that no commit can
excuse itself or what was done before it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeAlias

from msgspec import Struct, field

from tankbook.records.absence import SETTINGS_PATH
from tankbook.records.fields import NodeReader, read
from tankbook.records.node import Node
from tankbook.records.rulerow import RuleSet
from tankbook.records.settings import People, Person, Settings
from tankbook.records.words import Skill
from tankbook.units import PartialDate

LATE_DAYS = 14
"""Days after which an entry counts as recorded late, where the settings name none."""
MANY = 50
"""Cylinders that one commit may touch unremarked, where nothing else is asked for."""


class Policy(Struct, frozen=True):
    """What the settings of one commit ask for, as far as an audit is concerned."""

    people: People = field(default_factory=dict)
    late_days: int = LATE_DAYS
    many: int = MANY
    signed: bool = False
    rules: tuple[str, ...] = ()

    @classmethod
    def of(cls, node: Node) -> Policy | None:
        """What a version of the settings asks for; None where it cannot be read."""
        found = read(Settings, node, NodeReader(SETTINGS_PATH))
        if found is None:
            return None
        return cls(
            found.people,
            LATE_DAYS if found.late_entry is None else found.late_entry,
            MANY if found.many_at_once is None else found.many_at_once,
            found.signed,
            found.rules,
        )


Shipped: TypeAlias = Callable[[Sequence[str]], tuple[RuleSet, ...]]


def _no_sets(_: Sequence[str]) -> tuple[RuleSet, ...]:
    return ()


class AskedByHand(Struct, frozen=True):
    """What was asked for by hand, which goes before any settings, and what is known now.

    `people` are those of the latest settings: a certification may be typed in after what it
    covers. `shipped` gives the shipped rule sets of some names, and those always in force.
    """

    late_days: int | None = None
    many: int | None = None
    people: People = field(default_factory=dict)
    shipped: Shipped = _no_sets


class Terms(Struct, frozen=True):
    """What counts as remarkable at one commit, and who was certified for what.

    `tracked` are the skills that anybody is certified for; `later` are the people of the latest
    settings.
    """

    people: People = field(default_factory=dict)
    late_days: int = LATE_DAYS
    many: int = MANY
    tracked: frozenset[Skill] = frozenset()
    later: People = field(default_factory=dict)

    @classmethod
    def of(cls, policies: Sequence[Policy], asked: AskedByHand) -> Terms:
        """The strictest of what some settings ask for, the newest last."""
        found = policies or (Policy(),)
        late = min(p.late_days for p in found) if asked.late_days is None else asked.late_days
        many = min(p.many for p in found) if asked.many is None else asked.many
        people = {name: person for p in found for name, person in p.people.items()}
        held = (c for p in found for person in p.people.values() for c in person.certifications)
        return cls(people, late, many, frozenset(c.skill for c in held), asked.people)


class Signature(Struct, frozen=True):
    """What somebody signed for: a skill and the day. `always`: whether the skill is kept track of
    even where nobody is certified for it."""

    by: str
    skill: Skill
    on: PartialDate
    always: bool = False


def could_not_sign(terms: Terms, signed: Signature) -> str:
    """Why a person could not sign for a skill on a day as was known then, or an empty text.

    A skill that nobody is certified for is not kept track of. Whoever is known now to have left
    before could not sign, whatever was known then.
    """
    tracked = signed.skill in terms.tracked or (signed.always and terms.people)
    why = _lacks(terms.people, signed) if tracked else ""
    return why or _had_left(terms.later.get(signed.by), signed)


def certified_later(terms: Terms, signed: Signature) -> bool:
    """Whether the latest settings hold a certification that covers what was signed."""
    return not _lacks(terms.later, signed)


def _lacks(people: People, signed: Signature) -> str:
    by, skill, on = signed.by, signed.skill, signed.on
    person = people.get(by)
    if person is None:
        return f"{by} is not among the people of tankbook.yaml"
    gone = _had_left(person, signed)
    if gone or person.is_certified(skill, on.first, on.last):
        return gone
    return f"{by} held no valid certification as {skill} on {on}"


def _had_left(person: Person | None, signed: Signature) -> str:
    if person is None or person.left is None or person.left.last >= signed.on.first:
        return ""
    return f"{signed.by} left on {person.left}"
