"""What can be wrong with doubles."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence, Set

from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.entries import standing
from tankbook.records.finding import FindingRow
from tankbook.records.life import still_open
from tankbook.records.log import LogLine
from tankbook.records.settings import People
from tankbook.records.words import Bled, Skill
from tankbook.rules.chain import manifold_differs
from tankbook.rules.checks.cylinder import says_read_otherwise, says_two_at_once
from tankbook.rules.checks.declared import FAULT, WARN, Says, on_files, on_set
from tankbook.rules.giving_way import says_giving_way
from tankbook.rules.hours import ToldOfHours
from tankbook.rules.inforce import InForce, facts_of
from tankbook.rules.own_analysis import ReadOtherwise
from tankbook.rules.signing import why_not
from tankbook.rules.spelling import ids_like, ids_near
from tankbook.rules.two_halves import Halves
from tankbook.rules.wording import sets_aside, spoken_of
from tankbook.units import GaugePressure, PartialDate


@on_set("set-size", FAULT)
def two_cylinders(doubles: Doubles) -> Iterator[Says]:
    """A set is two different cylinders."""
    if len(doubles.cylinders) != 2 or len(set(doubles.cylinders)) != 2:
        text = f"{doubles.id} does not name two different cylinders"
        yield Says(doubles.source.at("cylinders"), text, "name both")


@on_set("unknown-cylinder", FAULT)
def sides_are_known(
    doubles: Doubles, ids: Set[str], all_sets: Mapping[str, Doubles]
) -> Iterator[Says]:
    """Both sides of a set are cylinders of the ledger."""
    for member in dict.fromkeys(doubles.cylinders):
        if member not in ids or member in all_sets:
            text = f"{member}, named in {doubles.id}, is not in the ledger"
            where, mend = doubles.source.at("cylinders"), "book it in, or name the right one"
            yield Says(where, text, mend, missing=member)


@on_files("side-misnamed", FAULT, since="0.2")
def sides_are_named_as_their_files(
    all_sets: Mapping[str, Doubles], ids: Set[str], set_names: Mapping[str, tuple[str, ...]]
) -> Iterator[Says]:
    """A set names its sides as their files are named: a card that looks like one, or that is in no
    set and one slip away, may be it."""
    for doubles in all_sets.values():
        for member in dict.fromkeys(doubles.cylinders):
            if member in ids:
                continue
            near = (i for i in ids_near(member, ids) if i not in set_names)
            alike = ids_like(member, ids) or tuple(near)
            if alike:
                text = f"{doubles.id} names {member}, and the ledger has {', '.join(alike)}"
                mend = "name the file as the set does, or the other way"
                yield Says(doubles.source.at("cylinders"), text, mend, None, alike, member)


@on_set("apart-and-not", FAULT, since="0.2")
def taken_apart_here(doubles: Doubles, today: dt.date) -> Iterator[Says]:
    """What was taken apart was here, and of two cylinders that are known."""
    apart = doubles.taken_apart
    if apart is not None and apart <= today:
        out = bool(still_open(doubles.rented))
        what = "it is out" if out else "it does not name two cylinders of the ledger"
        mend = "record its return first" if out else "name both: what went into it is in them"
        text = f"it was taken apart on {apart}, and {what}"
        yield Says(doubles.source.at("apart"), text, mend)


@on_files("made-up-struck-unsigned", FAULT, since="0.2")
def strikes_are_signed(all_sets: Mapping[str, Doubles], people: People) -> Iterator[Says]:
    """Whoever struck out that a set was made up, so that its sides are filled by themselves, was
    certified, where that is kept."""
    for doubles in all_sets.values():
        for each in doubles.made_up:
            void = each.void
            if void is None:
                continue
            wrong = why_not(people, void.by, Skill.INSPECTOR, void.on)
            wrong = wrong or (
                "it is dated before the entry" if void.is_before(each.on.first) else ""
            )
            if wrong:
                text = f"that {doubles.id} was made up on {each.on} is struck out, and {wrong}"
                mend = "let somebody certified strike it out, or take `void:` away"
                yield Says(void.source.at("by"), text, mend, touches=doubles.cylinders)


@on_set("made-up-differs", FAULT, since="0.2")
def made_up_once_at_a_time(
    doubles: Doubles, sides: tuple[Cylinder, ...], rules: InForce
) -> Iterator[Says]:
    """A set is made up of cylinders that were made, and taken apart before it is made up again."""
    mend = "set the day right that is wrong, or strike out what is of another set"
    entries = standing(doubles.made_up)
    before, hour = doubles.apart, doubles.apart_at
    made = [(facts_of(side, rules).made, side.id) for side in sides]
    for each in entries:
        for day, side in made:
            if day is not None and each.on.last < day.first:
                text = f"it was made up on {each.on}, before {side} was made ({day})"
                yield Says(each.source.at("on"), text, mend)
        if before is not None and each.on.last < before:
            text = f"it was made up on {each.on}, and taken apart on {before}"
            yield Says(each.source.at("on"), text, mend)
        if before is not None and _is_earlier(each.on, each.at, before, hour):
            text = (
                f"it was made up on {each.on} at {each.at:%H:%M}, and taken apart at {hour:%H:%M}"
            )
            yield Says(each.source.at("at"), text, mend)
        if each.apart is not None and _is_earlier(each.on, each.apart_at, each.apart, each.at):
            text = f"it was taken apart on {each.apart} at {each.apart_at:%H:%M}, and made up later"
            yield Says(each.source.at("apart_at"), text, mend)
        if each.apart is not None and each.apart < each.on.first:
            text = f"it was taken apart on {each.apart}, before it was made up ({each.on})"
            yield Says(each.source.at("apart"), text, mend)
        if each.apart is None and each is not entries[-1]:
            text = f"it was made up on {each.on}, and again on {entries[-1].on}"
            yield Says(each.source.at("on"), text, mend)
        if Bled.NO_FLOW in (each.bled, each.apart_bled):
            text = "no flow was heard, and its manifold went on or came off"
            yield Says(each.source.at("bled"), text, "write how it was bled")
        before, hour = (each.apart, each.apart_at) if each.apart else (before, hour)


def _is_earlier(day: PartialDate, at: dt.time | None, than: dt.date, hour: dt.time | None) -> bool:
    """Whether one thing came before another of its day, as the times of both say."""
    return day == PartialDate.of(than) and at is not None and hour is not None and at < hour


@on_set("in-two-sets", FAULT)
def in_one_set(doubles: Doubles, set_names: Mapping[str, tuple[str, ...]]) -> Iterator[Says]:
    """A cylinder is in one set at a time."""
    for member in dict.fromkeys(doubles.cylinders):
        others = [n for n in set_names.get(member, ()) if n != doubles.id]
        if others:
            text = f"{member} is in {doubles.id} and in {others[0]}"
            yield Says(doubles.source.at("cylinders"), text, "take it out of one")


@on_set("unlike-pressures", FAULT)
def alike(doubles: Doubles, sides: tuple[Cylinder, ...]) -> Iterator[Says]:
    """The two sides of a set have one service pressure."""
    if len({c.service_pressure for c in sides}) > 1:
        text = f"the sides of {doubles.id} differ in service pressure"
        yield Says(doubles.source.at("cylinders"), text)


@on_files("side-unknown", WARN, since="0.2")
def other_sides_are_known(
    all_sets: Mapping[str, Doubles],
    cylinders: Mapping[str, Cylinder],
    ids: Set[str],
    set_names: Mapping[str, tuple[str, ...]],
) -> Iterator[Says]:
    """Where a set does not name both its sides, any cylinder that is in no set may be the other."""
    single = tuple(c for c in cylinders if c not in set_names)
    for doubles in all_sets.values():
        known = {m for m in doubles.cylinders if m in ids and m not in all_sets}
        if len(known) < 2:
            text = f"{doubles.id} does not name its other side, which it may be"
            mend = f"name both in {doubles.id}"
            yield Says(doubles.source.at("cylinders"), text, mend, touches=single)


@on_set("set-rented-twice", FAULT, since="0.2")
def out_once_at_a_time(doubles: Doubles) -> Iterator[Says]:
    """A set is out once at a time."""
    yield from says_two_at_once(doubles.id, doubles.rented)


@on_set("set-hours-at-odds", WARN, since="0.2")
def hours_can_be(doubles: Doubles, odd_hours_of_set: Sequence[ToldOfHours]) -> Iterator[Says]:
    """A set that went out came back later than it left, by the hours of one day, and nobody had it
    in hand between."""
    yield from (Says(*each) for each in odd_hours_of_set)


@on_set("set-rental-halves-differ", WARN, since="0.2")
def rentals_say_it_once(doubles: Doubles, halves_of_set: Sequence[Halves]) -> Iterator[Says]:
    """What a rental wrote of a set into its file and into the log says the same in both."""
    yield from (Says(each.where, each.text, each.mend) for each in halves_of_set)


@on_set("set-own-analysis-differs", WARN, since="0.2")
def own_analysis_is_of_the_gas(
    doubles: Doubles, own_analysis_of_set: ReadOtherwise | None
) -> Iterator[Says]:
    """What whoever took a set analysed is of the gas that it holds by what is on record now."""
    yield from says_read_otherwise(own_analysis_of_set)


@on_set("manifold-differs", FAULT, since="0.2")
def manifold_as_marked(doubles: Doubles) -> Iterator[Says]:
    """The rating of a manifold is the lowest pressure that is marked on it."""
    marked = manifold_differs(doubles)
    if marked is not None:
        text = f"its manifold is marked {marked}, and its rating is {doubles.rating}"
        yield Says(doubles.source.at("rating"), text, "read the manifold again")


@on_set("set-note", WARN, since="0.2", adverse=True)
def set_notes_are_findings(
    doubles: Doubles, sides: tuple[Cylinder, ...], finding_rows: Sequence[FindingRow]
) -> Iterator[Says]:
    """What is written about a set speaks of no damage: that belongs on the card of a side."""
    metals = {side.material for side in sides}
    rows = [r for r in finding_rows if not r.material or metals & {*r.material, None}]
    for key in ("manifold", "place", "note"):
        text = getattr(doubles, key) or ""
        asked = (r for r in rows if key != "place" and (r.never or key == "note"))
        words = (spoken_of(text, row) for row in asked)
        word = next(filter(None, words), "") or sets_aside(text) or says_giving_way(text)
        if word:
            said = f"the {key} of {doubles.id} speaks of {word}: `{text[:60]}`"
            mend = "hold the side that it is of, or record it as a finding there; else reword it"
            yield Says(doubles.source.at(key), said, mend)


@on_set("side-reads-otherwise", WARN, since="0.2")
def sides_read_alike(
    doubles: Doubles,
    read_otherwise: Sequence[tuple[str, LogLine, GaugePressure]],
    emptied_alone: tuple[str, dt.date, str, GaugePressure] | None,
) -> Iterator[Says]:
    """Through an open isolator both sides show the same: what one of them was read at by itself is
    what the set holds, or it was shut; and what work let out of one is out of the other."""
    if emptied_alone is not None:
        side, day, other, left = emptied_alone
        text = (
            f"work let the gas out of {side} on {day}, and {other} is at {left} on record: what "
            f"{doubles.id} holds is not known"
        )
        mend = (
            f"log that {other} was bled too (`tankbook drain {other}`); or say that its isolator "
            f"is shut (`tankbook isolator {doubles.id} shut`)"
        )
        yield Says(doubles.source.at(), text, mend)
    for side, line, known in read_otherwise:
        text = (
            f"{side} was read at {line.to} on {line.at.date()}, and {doubles.id} stood at {known}"
        )
        mend = (
            f"read {doubles.id} and log that (`tankbook reading {doubles.id}=...`, or `drain`); or "
            f"say that its isolator is shut (`tankbook isolator {doubles.id} shut`)"
        )
        yield Says(line.where, text, mend)
