"""What the acts share: entries as files write them, who signs, and the status that follows."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from enum import Enum
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.edits import AddEntry, Edit, Refusal, SetValue, Trail, Value
from tankbook.records.entries import Entry
from tankbook.records.fields import TEXT, Record, attributes_of
from tankbook.records.node import Mapping as MappingNode
from tankbook.records.node import Node
from tankbook.records.node import Sequence as SequenceNode
from tankbook.records.words import Skill
from tankbook.rules.gate import may_fill
from tankbook.rules.signing import why_not
from tankbook.rules.status import worked_out
from tankbook.units import PartialDate, quoted

NAMED = 3
"""How many ids a sentence names; the rest are counted."""

_FIRST = {"on": 0, "by": 1}
_LAST = {"note": 3, "void": 4}


def as_text(value: Any) -> Value:
    """A typed value as a file writes it.

    Raises:
        TypeError: for a value no file can hold.
    """
    match value:
        case bool():
            return "yes" if value else "no"
        case Record():
            return written(value)
        case Mapping():
            return {str(k): as_text(v) for k, v in value.items()}
        case tuple() | list():
            return tuple(as_text(v) for v in value)
        case Enum():
            return str(value.value)
        case dt.date():
            return value.isoformat()
        case dt.time():
            return f"{value:%H:%M}"
        case None:
            raise TypeError("an absent value is left out, not written")
    return str(value)


def written(record: Record) -> dict[str, Value]:
    """A record as its file says it: day and initials first, note last, defaults left out."""
    names, declared = attributes_of(type(record)), type(record).declared
    found: dict[str, Value] = {}
    for name in sorted(names, key=lambda n: _FIRST.get(n, _LAST.get(n, 2))):
        value = getattr(record, names[name])
        if value is not None and value != declared[names[name]].default and value != {}:
            found[name] = as_text(value)
    return found


class Draft(Struct, frozen=True):
    """A cylinder as an act leaves it, and the edits of its file that do so."""

    cylinder: Cylinder
    edits: tuple[Edit, ...] = ()

    @property
    def file(self) -> str:
        """The cylinder's file."""
        return self.cylinder.source.path

    def enter(self, name: str, entry: Entry) -> Draft:
        """With an entry added to the list `name`."""
        after: dict[str, Any] = {name: (*getattr(self.cylinder, name), entry)}
        edit = AddEntry(self.file, (name,), written(entry))
        return Draft(replace(self.cylinder, **after), (*self.edits, edit))

    def amend(self, name: str, entry: Entry, **values: Any) -> Draft:
        """With keys of a standing entry set, such as the day it was released."""
        trail = self._way_to(name, entry)
        keys = {v: k for k, v in attributes_of(type(entry)).items()}
        edits = [SetValue(self.file, (*trail, keys[k]), as_text(v)) for k, v in values.items()]
        return self._with(name, entry, replace(entry, **values), edits)

    def extend(self, name: str, entry: Entry, inner: str, item: Record) -> Draft:
        """With an item added to a list inside a standing entry, such as a step of a job."""
        edit = AddEntry(self.file, (*self._way_to(name, entry), inner), written(item))
        grown: dict[str, Any] = {inner: (*getattr(entry, inner), item)}
        return self._with(name, entry, replace(entry, **grown), [edit])

    def _way_to(self, name: str, entry: Entry) -> Trail:
        place = self._place_of(name, entry)
        return trail_of(self.cylinder, name, place_in_file(self.cylinder, name, entry, place))

    def _place_of(self, name: str, entry: Entry) -> int:
        return next(i for i, each in enumerate(getattr(self.cylinder, name)) if each is entry)

    def _with(self, name: str, entry: Entry, new: Entry, edits: Iterable[Edit]) -> Draft:
        entries, place = getattr(self.cylinder, name), self._place_of(name, entry)
        after: dict[str, Any] = {name: (*entries[:place], new, *entries[place + 1 :])}
        return Draft(replace(self.cylinder, **after), (*self.edits, *edits))

    def stand(self, book: Book) -> Draft:
        """With the status that follows from its entries, where that is not the one on its card."""
        status = worked_out(book, self.cylinder)
        if status is self.cylinder.status:
            return self
        edit = SetValue(self.file, ("status",), status.value)
        return Draft(replace(self.cylinder, status=status), (*self.edits, edit))


def trail_of(record: Record, *steps: str | int) -> Trail:
    """The way to a value in a record's file, where a list of one may stand without its dash."""
    node: Node | None = record.source.node
    trail: list[str | int] = []
    for step in steps:
        if isinstance(step, int) and isinstance(node, MappingNode):
            continue
        trail.append(step)
        if isinstance(node, MappingNode) and isinstance(step, str):
            node = node.get(step)
        elif isinstance(node, SequenceNode) and isinstance(step, int) and step < len(node.items):
            node = node.items[step]
        else:
            node = None
    return tuple(trail)


def place_in_file(record: Record, name: str, entry: Record, place: int) -> int:
    """Where an entry stands in its list as written, which may hold more than the list at hand.

    A book as known on an earlier day lacks later entries.
    """
    node = record.source.node
    items = node.get(name) if isinstance(node, MappingNode) else None
    if isinstance(items, SequenceNode) and entry.source.node is not None:
        return next((i for i, n in enumerate(items.items) if n is entry.source.node), place)
    return place


def cylinders_of(book: Book, ids: Iterable[str]) -> tuple[list[Cylinder], list[str]]:
    """The cylinders that ids stand for, a set being its cylinders, and why some cannot be had."""
    found: dict[str, Cylinder] = {}
    reasons: list[str] = []
    for id_ in ids:
        for each in book.members(id_):
            if each in book.cylinders:
                found[each] = book.cylinders[each]
            elif each in book.broken:
                reasons.append(f"{each}: its file cannot be read; `tankbook validate` says why")
            else:
                reasons.append(f"{each} is not in the ledger")
    return list(found.values()), reasons


def signer_reasons(book: Book, by: str, on: dt.date) -> list[str]:
    """Why initials cannot sign: none given, not among the people, or gone by then."""
    people = book.settings.people
    if not by:
        return ["who did it is not said: give --by, or set `operator:` in tankbook.yaml"]
    if wrong := line_reasons(by=by):
        return wrong
    if not people:
        return []
    if by not in people:
        known = ", ".join(people)
        return [f"{shortened(by)} is not among the people of tankbook.yaml ({known})"]
    left = people[by].left
    return [f"{by} left on {left}"] if left and left.last < on else []


def uncertified(book: Book, by: str, on: PartialDate | dt.date) -> list[str]:
    """Why somebody may not decide what a certified inspector decides, where certifications are
    kept; initials that cannot sign at all are told by `signer_reasons`."""
    people = book.settings.people
    if not by or (people and by not in people):
        return []
    wrong = why_not(people, by, Skill.INSPECTOR, on)
    return [f"{wrong}: let somebody certified do it (--by)"] if wrong else []


def has_lapsed(book: Book, initials: str, skill: Skill, day: dt.date) -> bool:
    """Whether a person once held a certification for a skill and holds none on a day."""
    person = book.settings.people.get(initials)
    if person is None or person.is_certified(skill, day, day):
        return False
    return any(c.skill is skill for c in person.certifications)


NOTHING_WORDS = frozenset({"~", "null", "Null", "NULL"})


def line_reasons(**texts: str) -> list[str]:
    """Why texts cannot stand in an entry: each must be one line that says something."""
    found = []
    for name, text in texts.items():
        option = f"--{name.rstrip('_').replace('_', '-')}"
        if not text.strip():
            found.append(f"{option} is empty")
        elif not text.isprintable() or text.strip() in NOTHING_WORDS:
            found.append(f"{option} {quoted(text)} is not one line of plain text")
        elif len(text) > TEXT.limit:
            found.append(f"{option} is longer than {TEXT.limit} characters: shorten it")
    return found


def ticked(text: str) -> str:
    """A text as it was given, between backticks, on one line and no longer than a line."""
    return f"`{quoted(text)[1:-1]}`"


def shortened(text: str, most: int = 60) -> str:
    """A text as far as it fits in a line that tells of it."""
    return text if len(text) <= most else f"{text[: most - 3]}..."


def refusal(reasons: Iterable[str]) -> Refusal:
    """Nothing is recorded, and why."""
    given = tuple(reasons)
    return Refusal("nothing was recorded", given)


def named(ids: Iterable[str]) -> str:
    """Ids in a sentence: up to three by name, more by their count and the first of them."""
    each = list(ids)
    if len(each) <= NAMED:
        return ", ".join(each)
    return f"{len(each)} cylinders ({', '.join(each[:NAMED])}, ...)"


def still_against(book: Book, drafts: Iterable[Draft], today: dt.date) -> tuple[str, ...]:
    """What still keeps each cylinder from being filled after an act, the station left aside."""
    after = {d.cylinder.id: d.cylinder for d in drafts}
    then = replace(book, cylinders={**book.cylinders, **after})
    notes = []
    for id_ in after:
        refusals = may_fill(then, id_, today, station=False).refusals
        if refusals:
            notes.append(f"{id_} may not be filled yet: {'; '.join(r.text for r in refusals)}")
    return tuple(notes)


def edits_of(drafts: Iterable[Draft]) -> tuple[Edit, ...]:
    """The edits of several drafts, in order."""
    return tuple(edit for draft in drafts for edit in draft.edits)
