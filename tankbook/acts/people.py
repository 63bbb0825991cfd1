"""Whether a person is certified for what they sign."""

from __future__ import annotations

import datetime as dt

from tankbook.records.book import Book
from tankbook.records.words import Skill


def is_certified(book: Book, initials: str, skill: Skill, day: dt.date) -> bool:
    """Whether a person holds a certification for a skill that is valid on a day."""
    person = book.settings.people.get(initials)
    return person is not None and person.is_certified(skill, day, day)


def has_lapsed(book: Book, initials: str, skill: Skill, day: dt.date) -> bool:
    """Whether a person once held a certification for a skill and holds none on a day."""
    person = book.settings.people.get(initials)
    held = person is not None and any(c.skill is skill for c in person.certifications)
    return held and not is_certified(book, initials, skill, day)
