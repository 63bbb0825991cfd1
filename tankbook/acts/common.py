"""What the acts share: entries as files write them, who signs, and the status that follows."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from enum import Enum
from typing import Any, Generic, TypeAlias, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.edits import Act, AddEntry, Edit, Refusal, SetValue, Trail, Value
from tankbook.records.entries import Entry, Told
from tankbook.records.fields import TEXT, Record, attributes_of
from tankbook.records.node import MappingNode, Node, SequenceNode
from tankbook.records.words import Isolator, Skill
from tankbook.rules.counter import stolen_told
from tankbook.rules.gate import may_fill
from tankbook.rules.signing import why_not
from tankbook.rules.status import worked_out
from tankbook.rules.under_pressure import under_pressure
from tankbook.rules.wording import says_nothing, says_untold
from tankbook.units import PartialDate, quoted
from tankbook.units.lexicon import words_in

R = TypeVar("R", bound=Record, covariant=True)
Way: TypeAlias = "str | Sequence[str | int]"
"""Where something stands in a record: its key, or the keys and places of lists that lead to it."""

NAMED = 3
"""How many ids a sentence names; the rest are counted."""

_FIRST = {"on": 0, "by": 1}
_LAST = {"checked": 3, "paper": 4, "seen_by": 5, "seen_on": 6, "note": 7, "void": 8}


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


class Draft(Struct, Generic[R], frozen=True):
    """A record as an act leaves it, and the edits of its file that do so: a card, a set, the
    station.

    What is changed is named by its key, or by the way to it: `held`, `("banks", 0, "readings")`.
    """

    record: R
    edits: tuple[Edit, ...] = ()

    @property
    def file(self) -> str:
        """The record's file."""
        return self.record.source.path

    def enter(self, way: Way, entry: Record, text: Value | None = None) -> Draft[R]:
        """With an entry added to a list, written as `text` where that is not how it would be."""
        value = written(entry) if text is None else text
        edit = AddEntry(self.file, trail_of(self.record, *_steps(way)), value)
        return self._with(way, lambda entries: (*entries, entry), edit)

    def set(self, way: Way, value: Any) -> Draft[R]:
        """With a value set under a key."""
        edit = SetValue(self.file, trail_of(self.record, *_steps(way)), as_text(value))
        return self._with(way, lambda _: value, edit)

    def amend(self, name: str, entry: Entry, **values: Any) -> Draft[R]:
        """With keys of a standing entry set, such as the day it was released."""
        entries, draft = getattr(self.record, name), self
        place = next(i for i, each in enumerate(entries) if each is entry)
        for key, value in values.items():
            draft = draft.set((name, place, key.rstrip("_")), value)
        return draft

    def _with(self, way: Way, change: Callable[[Any], Any], edit: Edit) -> Draft[R]:
        return Draft(_changed(self.record, _steps(way), change), (*self.edits, edit))

    def stand(self, book: Book) -> Draft[R]:
        """With the status that follows from its entries, where that is not the one on its card; a
        set and the station have none of their own."""
        card = self.record
        if not isinstance(card, Cylinder) or (status := worked_out(book, card)) is card.status:
            return self
        return self.set("status", status)


def _steps(way: Way) -> Sequence[str | int]:
    return (way,) if isinstance(way, str) else way


def _changed(record: Any, steps: Sequence[str | int], change: Callable[[Any], Any]) -> Any:
    """A record with the value at the end of `steps` changed."""
    if not steps:
        return change(record)
    first, rest = steps[0], steps[1:]
    if isinstance(first, int):
        return (*record[:first], _changed(record[first], rest, change), *record[first + 1 :])
    name = attributes_of(type(record))[first]
    return replace(record, **{name: _changed(getattr(record, name), rest, change)})


def trail_of(record: Record, *steps: str | int) -> Trail:
    """The way to a value in a record's file.

    There a list of one may stand without its dash, and a list may hold more than the record: a book
    as known on an earlier day lacks later entries.
    """
    node: Node | None = record.source.node
    there: Any = record
    trail: list[str | int] = []
    for step in steps:
        if isinstance(step, str):
            name = attributes_of(type(there)).get(step, step) if there is not None else step
            there = getattr(there, name, None)
            node = node.get(step) if isinstance(node, MappingNode) else None
        else:
            there = there[step] if there is not None and step < len(there) else None
            if isinstance(node, MappingNode):
                continue
            items = node.items if isinstance(node, SequenceNode) else ()
            own = there.source.node if there is not None else None
            step = next((i for i, each in enumerate(items) if each is own), step)
            node = items[step] if step < len(items) else None
        trail.append(step)
    return tuple(trail)


def subject_of(book: Book, id_: str) -> Cylinder | Doubles:
    """The cylinder or set of an id that is in the book. Raises `KeyError` where it is not."""
    return book.sets.get(id_) or book.cylinders[id_]


UNREADABLE = "its file cannot be read; `tankbook validate` says why"


def cylinders_of(book: Book, ids: Iterable[str]) -> tuple[list[Cylinder], list[str]]:
    """The cylinders that ids stand for, a set being its cylinders, and why some cannot be had."""
    found: dict[str, Cylinder] = {}
    reasons: list[str] = []
    for id_ in ids:
        for each in book.members(id_):
            if each in book.cylinders:
                found[each] = book.cylinders[each]
            elif each in book.broken:
                reasons.append(f"{each}: {UNREADABLE}")
            else:
                reasons.append(f"{each} is not in the ledger")
    return list(found.values()), reasons


def shut_apart(book: Book, ids: Iterable[str]) -> Iterator[str]:
    """Why one reading is not of a set: its isolator is shut."""
    for id_ in ids:
        doubles = book.sets.get(id_)
        if doubles is not None and doubles.isolator is Isolator.SHUT:
            sides = " and ".join(doubles.cylinders)
            yield f"{id_}: its isolator is shut, and a gauge shows one side: name {sides}"


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
        said = f"{shortened(by)} is not among the people of tankbook.yaml ({known})"
        return [f"{said}: name one of them, or write `{shortened(by)}: {{}}` below `people:`"]
    left = people[by].left
    return [f"{by} left on {left}"] if left and left.last < on else []


def uncertified(book: Book, by: str, on: PartialDate | dt.date) -> list[str]:
    """Why somebody may not decide what a certified inspector decides, where certifications are
    kept; initials that cannot sign at all are told by `signer_reasons`."""
    people = book.settings.people
    if not by or (people and by not in people):
        return []
    wrong = why_not(people, by, Skill.INSPECTOR, on)
    if not wrong:
        return []
    if any(not why_not(people, each, Skill.INSPECTOR, on) for each in people):
        return [f"{wrong}: let somebody certified do it (--by)"]
    return [
        f"{wrong}: let somebody certified do it (--by), and nobody of tankbook.yaml was that day:"
        " write what was renewed there (`certifications:`); till then it stands as it is"
    ]


def has_lapsed(book: Book, initials: str, skill: Skill, day: dt.date) -> bool:
    """Whether a person once held a certification for a skill and holds none on a day."""
    person = book.settings.people.get(initials)
    if person is None or person.is_certified(skill, day, day):
        return False
    return any(c.skill is skill for c in person.certifications)


def text_reasons(**texts: str | None) -> list[str]:
    """Why texts cannot stand in an entry or a cell: each is one line of plain text, or empty."""
    return line_reasons(**{name: text for name, text in texts.items() if text})


def happened_reasons(happened: str) -> list[str]:
    """Why a text does not say how something came to happen that is recorded as a fact; none, where
    it is empty."""
    reasons = text_reasons(happened=happened)
    if happened and not reasons and says_nothing(happened):
        reasons.append(f"--happened {ticked(happened)} says nothing: say in words how it came")
    return reasons


def reference_reasons(option: str, text: str) -> list[str]:
    """Why a text is no reference: it is missing, or reads like a person's name."""
    reasons = line_reasons(**{option: text})
    if not reasons and " " in text.strip() and not any(c.isdigit() for c in text):
        reasons.append(
            f"--{option} {quoted(text)} reads like a name: give a reference, and write the name "
            "beside it in contacts.csv"
        )
    return reasons


def minute_of(at: dt.time | None) -> dt.time | None:
    """A time of the day as entries have it: by the minute."""
    return at.replace(second=0, microsecond=0) if at else None


def owner_told(how: str, by: str, on: dt.date) -> Told | None:
    """That the owner was told, and how; None where nobody has told them."""
    return Told(on=on, by=by, how=how) if how else None


def told_reasons(book: Book, how: str) -> list[str]:
    """Why that cannot stand as how an owner was told; nothing where nobody has told them."""
    if not how:
        return []
    people = {each.casefold() for each in book.settings.people}
    named = [word for word in words_in(how) if word != "by"]
    if named and people.issuperset(named):
        return [f"--told {how} is who, and not how: in person, telephone, letter; who is --by"]
    if says_untold(how):
        return [
            f"--told {how} does not say how: in person, telephone, letter; where nobody told the "
            "owner yet, leave it out"
        ]
    return line_reasons(told=how)


def added_note(note: str | None, more: str) -> str:
    """A note with something added, so that what was noted before stays readable."""
    return f"{note}; {more}" if note else more


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


def named_twice(ids: Iterable[str]) -> list[str]:
    """That ids are named more than once."""
    named = list(ids)
    return [f"{id_} is named twice" for id_ in sorted({i for i in named if named.count(i) > 1})]


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


def still_against(book: Book, drafts: Iterable[Draft[Cylinder]], today: dt.date) -> tuple[str, ...]:
    """What still keeps each cylinder from being filled after an act, the station left aside."""
    after = {d.record.id: d.record for d in drafts}
    then = replace(book, cylinders={**book.cylinders, **after}).parted_on(today)
    notes = []
    for id_ in after:
        refusals = may_fill(then, id_, today, station=False).refusals
        if refusals:
            notes.append(f"{id_} may not be filled yet: {'; '.join(r.text for r in refusals)}")
    return tuple(notes)


def dangers(book: Book, drafts: Iterable[Draft[Cylinder]], today: dt.date) -> Iterator[str]:
    """What to beware of at once: a cylinder that an act says is cracked, bulged or burnt, or leaks,
    and that holds pressure or may."""
    after = {d.record.id: d.record for d in drafts}
    yield from dangers_of(replace(book, cylinders={**book.cylinders, **after}), after, today)


def dangers_of(book: Book, ids: Iterable[str], today: dt.date) -> Iterator[str]:
    """What to beware of while something is done to cylinders, or to the sets that they are of: what
    stands on record against one that holds pressure or may."""
    then, sets = book.as_known_on(today), book.every_set
    for id_ in (c for each in ids for c in (sets[each].cylinders if each in sets else (each,))):
        if id_ in then.cylinders and (
            said := under_pressure(then, then.cylinders[id_], unknown=True)
        ):
            yield f"{id_}: {said}"


def edits_of(drafts: Iterable[Draft[Record]]) -> tuple[Edit, ...]:
    """The edits of several drafts, in order."""
    return tuple(edit for draft in drafts for edit in draft.edits)


ON_PAPER = frozenset({"correct"})
"""Acts for which nobody goes near a cylinder."""


def in_hand(book: Book, act: Act | Refusal) -> Act | Refusal:
    """Any act, with what whoever has its cylinders in hand is to be told whatever the act is."""
    if isinstance(act, Refusal) or not (stolen := tuple(stolen_of(book, act))):
        return act
    return replace(act, notes=(*stolen, *act.notes))


def stolen_of(book: Book, act: Act) -> Iterator[str]:
    """That a cylinder of an act, which somebody has in hand, is recorded as stolen, unless the act
    says so itself."""
    if act.verb in {*ON_PAPER, "stolen"}:  # of that itself it is told by the act, or settled
        return
    for id_ in dict.fromkeys(m for each in act.subjects for m in book.members(each)):
        if (card := book.cylinders.get(id_)) is not None:
            yield from (each for each in stolen_told(book, card) if each not in act.notes)


def act_of(
    verb: str,
    drafts: Sequence[Draft[Any]],
    sentence: str,
    notes: Iterable[str] = (),
    besides: Iterable[Edit] = (),
) -> Act:
    """The act that drafts of cylinders and sets come to, and edits that are of none of them."""
    ids = tuple(draft.record.id for draft in drafts)
    return Act(verb, ids, sentence, (*edits_of(drafts), *besides), tuple(notes))
