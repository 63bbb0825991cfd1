"""The life of one cylinder or set: what happened to it, and what was done to its record since."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Mapping
from itertools import groupby
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.records.commits import Commit, CommitStep
from tankbook.records.counter import CounterFile
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.fields import NodeReader, read
from tankbook.records.log import Lines, LogLine
from tankbook.records.node import Node
from tankbook.records.station import Station, struck_from
from tankbook.records.words import LogAct
from tankbook.rules.changes import Change, LogChange, Values, What, compare, day_in, flat
from tankbook.rules.counter import is_of
from tankbook.rules.fill_history import struck_out, void_key
from tankbook.rules.tamper_signs import FoundSign, Sign, id_of, of_change, of_line
from tankbook.units import PartialDate


class Event(Struct, frozen=True):
    """One thing that happened: an entry as it stands now, a fact that changed, the booking in.

    `on` is the day or month it is about; `place` the list or fact, `values` what it says; `commit`
    the one that recorded it, None where that is not known or not done yet.
    """

    on: str
    place: str
    values: Values
    commit: Commit | None
    committed: bool = True

    @property
    def by(self) -> str:
        """Who did it, as recorded."""
        return self.values.get("by", "")

    @property
    def struck_out(self) -> bool:
        """Whether it was struck out."""
        return "void.why" in self.values


class MonthOfLog(Struct, frozen=True):
    """What the log says of one month, struck-out lines counted apart."""

    month: str
    fills: int
    readings: int
    drains: int
    struck_out: int
    gases: tuple[tuple[str, int], ...]
    by: tuple[str, ...]


class LifeStory(Struct, frozen=True):
    """A life: events in order, months of the log, and what was changed after the fact.

    `lines` are the log's own, struck-out ones included, in the order of their time; `changes` are
    the edits and removals of past entries and lines; `corrections` those openly made. `filled` says
    that lines of the log are of it, as none are of the station.
    """

    id: str
    events: tuple[Event, ...]
    months: tuple[MonthOfLog, ...]
    lines: tuple[LogLine, ...]
    struck_out: frozenset[tuple[str, str]]
    changes: tuple[FoundSign, ...]
    corrections: int
    filled: bool = True

    def until(self, day: dt.date) -> LifeStory:
        """The life without what is dated later than `day`; a month counts once it has begun."""
        lines = tuple(n for n in self.lines if n.at.date() <= day)
        return replace(
            self,
            events=tuple(e for e in self.events if in_order(e)[0] <= day),
            lines=lines,
            months=tuple(_months(lines, self.struck_out)),
            changes=tuple(f for f in self.changes if f.commit.at.date() <= day),
        )

    @property
    def fills(self) -> int:
        """Fills that stand."""
        return sum(m.fills for m in self.months)

    @property
    def ends(self) -> tuple[str, str] | None:
        """The first and the last day or month anything is recorded for."""
        days = [e.on for e in self.events] + [f"{n.at.date()}" for n in self.lines]
        return (min(days), max(days)) if days else None


def life_story(
    id_: str,
    path: str,
    steps: Iterable[CommitStep],
    now: Node | None,
    lines: Lines,
    gone: Iterable[tuple[Commit, LogChange]],
    unsaved: Commit | None,
) -> LifeStory:
    """Put a life together.

    Args:
        id_: the cylinder or set.
        path: its file.
        steps: what git knows of the file, parents first; none without git.
        now: the file as it is; None where it is gone or cannot be read.
        lines: the lines of the log that name it.
        gone: lines that stood and do not now, each with the commit that took it out.
        unsaved: stands for what is not committed; None without git.
    """
    past = _Past(path)
    for _, group in groupby(steps, key=lambda step: step.commit.id):
        past.take(list(group))
    if unsaved is not None and now is not None:
        past.save(now, unsaved)
    events = past.events(now, unsaved)
    changes = [*past.changes, *(of_line(change, commit) for commit, change in gone)]
    ordered = tuple(sorted(lines, key=lambda n: n.at))
    void = struck_out(lines)
    return LifeStory(
        id=id_,
        events=tuple(sorted(events, key=in_order)),
        months=tuple(_months(ordered, void)),
        lines=ordered,
        struck_out=void,
        changes=tuple(sorted(changes, key=lambda f: f.commit.at)),
        corrections=sum(e.struck_out for e in events) + sum(n.act is LogAct.VOID for n in lines),
    )


class _Kept(Struct):
    """An entry followed through the versions of its file."""

    place: str
    values: Values
    commit: Commit


class _Past(Struct):
    """Follows every entry of one file through the commits that touched it."""

    path: str
    changes: list[FoundSign] = field(default_factory=list)
    facts: list[Event] = field(default_factory=list)
    _kept: list[_Kept] = field(default_factory=list)
    _node: Node | None = None
    _known: bool = False

    def take(self, steps: list[CommitStep]) -> None:
        """One commit; of a merge only what differs from all its parents is its own."""
        commit, files = steps[0].commit, [step.files[0] for step in steps]
        if len(commit.parents) > 1:
            if len(steps) == len(commit.parents):
                each = [compare(self.path, f.before, f.after) if f.after else () for f in files]
                self._apply([c for c in each[0] if all(c in other for other in each[1:])], commit)
            self._node = files[0].after or self._node
            return
        file = files[0]
        if not file.exists:
            self._note(Sign.RECORD_REMOVED, commit, "the whole file was taken out")
            return
        if file.after is None:
            self._note(Sign.UNREADABLE, commit, "it could not be read as committed")
            return
        self._apply(compare(self.path, file.before or self._node, file.after), commit)
        self._node = file.after

    def save(self, now: Node, unsaved: Commit) -> None:
        """What the file says beyond its last commit."""
        self._apply(compare(self.path, self._node, now), unsaved)

    def events(self, now: Node | None, unsaved: Commit | None) -> list[Event]:
        """Every entry as it stands, with the commit that first recorded it; then the facts.

        `now` is the file as it is; without one the entries are those last known.
        """
        left = list(self._kept)
        found: list[Event] = []
        for change in compare(self.path, None, now) if now else ():
            if change.what is What.ADDED and change.after is not None:
                kept = _first(left, change.place, change.after)
                if kept is not None:
                    left.remove(kept)
                commit = kept.commit if kept else None
                found.append(_event(change.on, change.place, change.after, commit, unsaved))
        if now is None:
            found += [_event(day_in(k.values), k.place, k.values, k.commit, unsaved) for k in left]
        elif unsaved is not None:
            self._lost(left, unsaved)
        return [*found, *self.facts]

    def _lost(self, left: list[_Kept], unsaved: Commit) -> None:
        """Entries that no commit took out, and that are gone."""
        for kept in left:
            gone = Change(What.REMOVED, self.path, kept.place, kept.values, None, 0)
            sign = of_change(gone, unsaved)
            if sign is not None:
                why = (
                    f"recorded in {kept.commit.short}; no commit took it out, so a merge dropped it"
                )
                self.changes.append(replace(sign, sign=Sign.LOST_IN_MERGE, why=why))

    def _apply(self, changes: Iterable[Change], commit: Commit) -> None:
        if not self._known and commit.id:
            place = "booked_in" if commit.parents else "first_committed"
            self.facts.append(_fact(place, {"by": commit.author}, commit))
            self._known = True
        for change in changes:
            sign = of_change(change, commit)
            if sign is not None and sign.sign is not Sign.CORRECTION:
                self.changes.append(sign)
            self._follow(change, commit)

    def _follow(self, change: Change, commit: Commit) -> None:
        mine = (k for k in self._kept if k.place == change.place and k.values == change.before)
        kept = next(mine, None)
        if change.what is What.FACT_CHANGED and change.place != "status":
            values = {"before": _one(change.before), "after": _one(change.after)}
            self.facts.append(_fact(change.place, values, commit))
        elif change.what is What.REMOVED and kept is not None:
            self._kept.remove(kept)
        elif change.after is not None and change.what not in (What.FACT_SET, What.FACT_CHANGED):
            if kept is not None:
                kept.values = change.after
            else:
                self._kept.append(_Kept(change.place, change.after, commit))

    def _note(self, sign: Sign, commit: Commit, why: str) -> None:
        self.changes.append(FoundSign(sign, commit, self.path, id_of(self.path), "", (), why))


def _event(
    on: str, place: str, values: Values, commit: Commit | None, unsaved: Commit | None
) -> Event:
    """An entry as an event; without git it counts as committed, and nobody knows when."""
    known = commit if commit is not None and commit.id else None
    return Event(on, place, values, known, known is not None or unsaved is None)


def _fact(place: str, values: Values, commit: Commit) -> Event:
    return _event(f"{commit.at:%Y-%m-%d}", place, values, commit, commit)


def _first(kept: list[_Kept], place: str, values: Values) -> _Kept | None:
    """The entry followed that says the same, else one all of whose words still stand."""
    same = [k for k in kept if k.place == place]
    whole = (k for k in same if k.values == values)
    part = (k for k in same if k.values.items() <= values.items())
    return next(whole, None) or next(part, None)


def _one(values: Values | None) -> str:
    return "; ".join((values or {}).values())


def in_order(event: Event) -> tuple[dt.date, dt.date, str]:
    """By day; a month stands at its first day."""
    try:
        day = PartialDate.parse(event.on)
    except ValueError:
        return dt.date.min, dt.date.min, event.place
    return day.first, day.last, event.place


def _months(lines: Iterable[LogLine], void: frozenset[tuple[str, str]]) -> Iterable[MonthOfLog]:
    acts = (n for n in lines if n.act is not LogAct.VOID)
    for month, group in groupby(acts, key=lambda n: f"{n.at:%Y-%m}"):
        every = list(group)
        stand = [n for n in every if void_key(n) not in void]
        count = Counter(n.act for n in stand)
        gases = Counter(str(n.gas) for n in stand if n.act is LogAct.FILL and n.gas)
        yield MonthOfLog(
            month=month,
            fills=count[LogAct.FILL],
            readings=count[LogAct.READING],
            drains=count[LogAct.DRAIN],
            struck_out=len(every) - len(stand),
            gases=tuple(gases.most_common()),
            by=tuple(dict.fromkeys(n.by for n in stand if n.by)),
        )


# --- the station


def of_the_station(life: LifeStory) -> LifeStory:
    """The story of the station's file, of which no line of the log tells."""
    return replace(life, filled=False)


_OF = frozenset({"gauge", "source", "with"})
"""The keys by which an entry of the station names one of its parts."""


def about_part(life: LifeStory, name: str, station: Node | None) -> LifeStory:
    """What the story of the station says of one part or list: `G1`, `B1.readings`, `air-tests`.
    What was changed after the fact is told whatever it was of."""
    wanted = name.casefold().replace("-", "_").split(".")
    own = _alone(station)

    def is_of(event: Event) -> bool:
        steps = _steps(event.place, own)
        spans = (steps[n : n + len(wanted)] for n in range(len(steps)))
        named = (event.values[k].casefold().replace("-", "_") for k in _OF & event.values.keys())
        return wanted in spans or wanted in ([each] for each in named)

    events = tuple(filter(is_of, life.events))
    return replace(life, events=events, corrections=sum(e.struck_out for e in events))


def parts_told(life: LifeStory, station: Node | None) -> tuple[str, ...]:
    """The parts and lists of the station that something is on record of."""
    own = _alone(station)
    told = (e for e in life.events if e.place not in {"booked_in", "first_committed"})
    places = (each.place.split(".") for each in told)
    found = (p[1] if len(p) > 2 else own if own and p[0] == "compressor" else p[0] for p in places)
    return tuple(sorted(set(found)))


def parts_of(station: Node | None) -> dict[str, bool]:
    """The labels of the parts of the station that have entries, and whether there are any yet."""
    typed = read(Station, station, NodeReader("")) if station is not None else None
    found: dict[str, bool] = {}
    for steps in struck_from(typed).values() if typed else ():
        if len(steps) > 1:
            *way, name = steps
            assert isinstance(name, str)
            part: Any = typed
            for step in way:
                part = part[step] if isinstance(step, int) else getattr(part, step)
            label = getattr(part, "name", None) or str(way[0])
            found[label] = found.get(label, False) or bool(getattr(part, name))
    return found


def _alone(station: Node | None) -> str:
    """The label of the compressor that stands alone, whose lists are not written under it."""
    typed = read(Station, station, NodeReader("")) if station is not None else None
    return (typed.compressor.name or "") if typed and typed.compressor else ""


def _steps(place: str, alone: str) -> list[str]:
    """The way to an entry, as somebody may name it."""
    steps = place.casefold().replace("-", "_").split(".")
    label = alone.casefold().replace("-", "_")
    return [steps[0], label, *steps[1:]] if alone and steps[0] == "compressor" else steps


# --- doubles


def with_sets(life: LifeStory, sets: Mapping[str, Node | None]) -> LifeStory:
    """A life with when the doubles of these names were made up and taken apart, as their files say:
    for either side of them; for the set itself, whose life tells the times it was made up, that it
    was taken apart where nobody recorded that it was made up."""
    found: list[Event] = []
    for name, node in sets.items():
        doubles = read(Doubles, node, NodeReader("")) if node is not None else None
        if doubles is None:
            continue
        for each in doubles.made_up if name != life.id else ():
            said = {"of": name, **flat(each.source.node)}
            found.append(
                Event(str(each.on), "made_up", {k: said[k] for k in said if k != "on"}, None)
            )
        for turn in doubles.turned if name != life.id else ():
            said = {"of": name, **flat(turn.source.node)}
            found.append(
                Event(str(turn.on), "turned", {k: said[k] for k in said if k != "on"}, None)
            )
        if doubles.apart is not None:
            values = {"of": name} if name != life.id else {}
            values |= {"by": doubles.apart_by} if doubles.apart_by else {}
            found.append(Event(str(doubles.apart), "taken_apart", values, None))
    return replace(life, events=tuple(sorted((*life.events, *found), key=in_order)))


# --- what the counter has of it


def with_counter(
    life: LifeStory, card: Node | None, counter: Node | None, *, of_set: bool = False
) -> LifeStory:
    """A life with what the counter's file says of a cylinder: of its serial, settled or not, and
    the incidents that name it; of a set those of a cylinder that stood in it. What is struck out
    too."""
    record: type[Cylinder] | type[Doubles] = Doubles if of_set else Cylinder
    typed = read(record, card, NodeReader("")) if card is not None else None
    kept = read(CounterFile, counter, NodeReader("")) if counter is not None else None
    if typed is None or kept is None:
        return life
    entries = [("stolen", e) for e in kept.stolen] + [("refused", e) for e in kept.refused]
    found = [
        Event(str(e.on), place, flat(e.source.node), None)
        for place, e in entries
        if isinstance(typed, Cylinder) and is_of(e, typed)
    ]
    ids = {life.id, *typed.formerly}
    found += [
        Event(str(e.on), "incidents", _apart_from_then(flat(e.source.node)), None)
        for e in kept.incidents
        if not ids.isdisjoint(i for c in e.cylinders for i in (c.id, *(s.id for s in c.sets)))
    ]
    return replace(life, events=tuple(sorted((*life.events, *found), key=in_order)))


def _apart_from_then(values: Values) -> dict[str, str]:
    """What an incident says of itself; how all that it names stood then is on its sheet."""
    return {k: v for k, v in values.items() if not k.startswith(("cylinders", "parts"))}
