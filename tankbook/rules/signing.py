"""Who may sign for what, where certifications are kept."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from tankbook.records.settings import Person
from tankbook.records.words import Skill
from tankbook.units import PartialDate


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
