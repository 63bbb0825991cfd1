"""Whether a file holds what an edit put there."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from difflib import SequenceMatcher
from functools import lru_cache
from typing import Any, cast

from tankbook.ledger.events import parse
from tankbook.ledger.names import LOGS
from tankbook.ledger.splice import Append, SpliceValue, plain_value, splice
from tankbook.ledger.text import read_text
from tankbook.records import node as nodes
from tankbook.records.edits import AddEntry, AddLine, Edit, NewFile, SetValue, Value
from tankbook.records.entries import Entry
from tankbook.records.fields import NodeReader, read
from tankbook.records.life import is_adverse, is_open, life_of
from tankbook.records.log import LogLine, columns
from tankbook.rules.changes import compare
from tankbook.units.patterns import pattern

_ALIKE = 0.6
"""How much of two texts must agree for one to be the other, mended by hand (own bound)."""


def log_of(line: AddLine) -> str:
    """The log that a line belongs to: that of its year."""
    return f"{LOGS}/{line.cells.get('at', '')[:4]}.csv"


def file_of(edit: Edit) -> str:
    """The path of the file that an edit is made to."""
    return log_of(edit) if isinstance(edit, AddLine) else edit.file


def is_there(edit: Edit, data: bytes | None, *, grown: bool = False) -> bool:
    """Whether a file holds already what an edit adds to it; a new file is never told by its
    content. With `grown`, an entry of its day is the same whatever its words became since, in
    whatever place of its list, and where a cylinder stands is none: it is worked out."""
    if data is None or isinstance(edit, NewFile):
        return False
    if isinstance(edit, AddLine):
        return _told(edit.cells) in _lines(data)
    below = _down([_root(data, edit.file)], edit.trail, anywhere=grown)
    if isinstance(edit, AddEntry):
        items = (i for node in below if isinstance(node, nodes.SequenceNode) for i in node.items)
        return any(_is(i, edit.entry) or (grown and _is_of_day(i, edit.entry)) for i in items)
    return (grown and edit.trail == ("status",)) or any(_is(node, edit.value) for node in below)


def beside(edit: Edit, old: bytes | None, new: bytes) -> Any:
    """What stood in a file beside what an edit put there and could be taken for it, as data: the
    entries of its list that are of its day or say the same of another day; or how many entries of
    its list have the value that it sets, with the entry before and after."""
    if isinstance(edit, AddEntry):
        part = _part_of(edit, new)
        items = () if old is None else _items(edit, old, part)
        alike = (i for i in items if _is_of_day(i, edit.entry) or _is_redated(i, edit.entry))
        return {"beside": [plain_value(i) for i in alike]} | ({"part": part} if part else {})
    if isinstance(edit, SetValue) and _in_list(edit):
        times = max(min(0 if old is None else _times(edit, old), _times(edit, new) - 1), 0)
        was, now = (None if d is None else plain_value(_entry(edit, d)) for d in (old, new))
        return {"times": times, "was": was or {}, "now": now or {}}
    return None


def holds(edit: Edit, data: bytes, stood: Any = None) -> bool:
    """Whether a file holds what an edit put there, whatever was added to it since.

    Word for word: what only resembles an entry may be that of another machine. What stood beside
    the edit's own entry is not it. An entry that was ended otherwise is no loss, unless its end
    told against its cylinder and the other does not.

    Args:
        edit: what is looked for.
        data: the content of the file.
        stood: what `beside` told when the edit was made; None where that is not known.
    """
    if isinstance(edit, SetValue) and _in_list(edit):
        times = stood.get("times") if isinstance(stood, Mapping) else stood
        there = _times(edit, data) > (times if isinstance(times, int) else 0)
        there = there and _is_set(edit, data, stood, _is)
        return there or (isinstance(stood, Mapping) and _ended_otherwise(edit, data, stood))
    if not isinstance(edit, AddEntry):
        return is_there(edit, data, grown=True)
    return _take(_without(edit, data, stood)[0], edit.entry, _goes_on)


def mended(edit: Edit, data: bytes, stood: Any = None, others: Iterable[Edit] = ()) -> list[Any]:
    """What in a file may be what an edit put there, mended by hand, as data; the likeliest first.

    Whether a hand here did it, or it is an entry of another machine, only git can tell. Entries are
    matched one to one: neither what stood beside the edit's own nor what another act put there is
    it. It says the same but for a slip of the pen, or for its day; or who signed, or it says more.

    Args:
        edit: what is looked for, and not held.
        data: the content of the file.
        stood: as for `holds`.
        others: what other acts put into the same file.
    """
    if isinstance(edit, AddLine):
        theirs = {_told(o.cells) for o in others if isinstance(o, AddLine)}
        keys = (_but_one(edit.cells, name) for name in ("at", "cylinder"))
        found = (each for key in keys for each in _lines_but_one(data).get(key, ()))
        return [dict(each) for each in found if _told(dict(each)) not in theirs]
    if not isinstance(edit, AddEntry):
        return []
    # what an older version noted does not say what else had the same words
    redated = _is_redated if isinstance(stood, Mapping) else _is_like
    left, unmatched = _without(edit, data, stood)
    for value in unmatched:
        _take(left, value, _is_like) or _take(left, value, redated)
    for other in others:
        if isinstance(other, AddEntry) and _names(other) == _names(edit):
            _take(left, other.entry, _goes_on)
    by_likeness = ([i for i in left if same(i, edit.entry)] for same in (_is_like, redated, _says))
    return list(
        {repr(each): each for items in by_likeness for each in map(plain_value, items)}.values()
    )


def stands(edit: Edit, data: bytes | None, value: Any) -> bool:
    """Whether what `mended` found stands in a file, as it is or as it was before it grew."""
    if data is None:
        return False
    if isinstance(edit, AddLine):
        return _told(value) in _lines(data)
    return isinstance(edit, AddEntry) and any(
        _goes_on(item, value) or _went_on(item, value) for item in _items(edit, data)
    )


def differs(edit: Edit, value: Any) -> tuple[str, ...]:
    """The keys in which what `mended` found is another than a slip of the pen makes it."""
    if isinstance(edit, AddLine):
        return tuple(k for k in ("at", "cylinder") if value.get(k) != edit.cells.get(k))
    if not isinstance(edit, AddEntry) or not isinstance(edit.entry, Mapping):
        return ()
    day = () if value.get("on") == edit.entry.get("on") else ("on",)
    rest = (k for k, said in edit.entry.items() if k != "on" and isinstance(said, str))
    return (*day, *(k for k in rest if not _alike(value[k], cast("str", edit.entry[k]))))


def resembles(edit: Edit, data: bytes, stood: Any = None, others: Iterable[Edit] = ()) -> bool:
    """Whether something in a file says what an edit put there, whoever mended it: a line but for
    one cell, an entry but for slips of the pen, its day, who signed it, and words that were added.
    What other acts put there stands for itself, mended as well.

    Args:
        edit: what is looked for.
        data: the content of the file.
        stood: as for `holds`.
        others: what other acts put into the same file.
    """
    if isinstance(edit, NewFile):
        return True
    if isinstance(edit, SetValue):  # where a cylinder stands is worked out
        return not _in_list(edit) or _is_set_still(edit, data, stood, others)
    if isinstance(edit, AddLine):
        return bool(mended(edit, data, stood, others))
    left, _ = _without(edit, data, stood)
    for other in others:
        if isinstance(other, AddEntry) and _names(other) == _names(edit):
            _take(left, other.entry, _goes_on) or _take(left, other.entry, _is_close)
    return any(_is_close(item, edit.entry) for item in left)


def _is_set_still(edit: SetValue, data: bytes, stood: Any, others: Iterable[Edit]) -> bool:
    """Whether an entry of a list has a value close to what an edit set: its own, or more of them
    than had it before, and than other acts set."""
    if _is_set(edit, data, stood, _is_close):
        return True
    times = stood.get("times") if isinstance(stood, Mapping) else stood
    known = times if isinstance(times, int) else 0
    alike = (o for o in others if isinstance(o, SetValue) and _in_list(o))
    known += sum(_keys(o) == _keys(edit) and _close_data(o.value, edit.value) for o in alike)
    return sum(_is_close(each, edit.value) for each in _found(edit, data)) > known


def _keys(edit: SetValue) -> tuple[str, ...]:
    return tuple(key for key in edit.trail if isinstance(key, str))


def _close_data(value: Value, said: Value) -> bool:
    return _close(dict(value) if isinstance(value, Mapping) else value, said)


_CLOSE = 0.8
"""How much of two texts must agree where nobody is asked who wrote the other (own bound)."""


def _close(value: Any, said: Value) -> bool:
    """Whether what was mended is close to what was said, in each of its texts."""
    if isinstance(said, Mapping):
        return isinstance(value, Mapping) and all(
            _signs(name) or _close(value.get(name), inner) for name, inner in said.items()
        )
    if isinstance(said, tuple | list):
        here = value if isinstance(value, list) else []
        return len(here) >= len(said) and all(map(_close, here, said))
    if not isinstance(value, str):
        return False
    near = SequenceMatcher(None, value.casefold(), said.casefold()).ratio() >= _CLOSE
    return near or _more(value, said) or bool(_WHEN.fullmatch(value) and _WHEN.fullmatch(said))


_WHEN = pattern(r"\d{4}-\d\d(?:-\d\d)?|\d\d:\d\d(?::\d\d)?")


def _is_close(found: nodes.Node | None, value: Value) -> bool:
    return found is not None and _close(plain_value(found), value)


def _is_set(
    edit: SetValue, data: bytes, stood: Any, same: Callable[[nodes.Node | None, Value], bool]
) -> bool:
    """Whether the entry that an edit was made in has what it set, where it is known which it was:
    the one of its day that says as much."""
    was = stood.get("was") if isinstance(stood, Mapping) else None
    if not was:
        return any(same(each, edit.value) for each in _found(edit, data))
    last = _last(edit) + 1
    entries = _down([_root(data, edit.file)], edit.trail[:last])
    alike = [entry for entry in entries if entry is not None and _is_like(entry, was)]
    return any(same(each, edit.value) for each in _down(alike, edit.trail[last:]))


def _of_its_day(cells: Mapping[str, str]) -> tuple[str | None, ...]:
    return cells.get("cylinder"), cells.get("act"), cells.get("at", "")[:10]


_GIVEN_ANEW = frozenset({"on", "at", "by"})
"""What differs where an act that was lost is given again."""


def is_again(edit: Edit, other: Edit) -> bool:
    """Whether another edit puts again what one did that is lost: an entry at the same time or
    later, or a line of the same day, by whomever."""
    if isinstance(edit, AddLine) and isinstance(other, AddLine):
        day = _of_its_day(edit.cells) == _of_its_day(other.cells)
        return day and _but_anew(edit.cells) == _but_anew(other.cells)
    if not (isinstance(edit, AddEntry) and isinstance(other, AddEntry)):
        return False
    one, two = edit.entry, other.entry
    if edit.trail != other.trail or not (isinstance(one, Mapping) and isinstance(two, Mapping)):
        return False
    said = _but_anew(one)
    return bool(said) and said == _but_anew(two) and str(two.get("on")) >= str(one.get("on"))


def _but_anew(cells: Mapping[str, Any]) -> dict[str, Any]:
    return {k: v for k, v in cells.items() if v and k not in _GIVEN_ANEW}


def may_hold(edit: Edit, data: bytes, old: bytes | None) -> bool:
    """Whether a file may hold something of an edit, in whatever words: any entry of its day counts
    that did not stand in it before, as `old` had it."""
    if isinstance(edit, SetValue) and _in_list(edit) and old is not None:
        return _times(edit, data) > _times(edit, old)
    if not isinstance(edit, AddEntry):
        return is_there(edit, data, grown=True)
    left, unmatched = _without(edit, data, beside(edit, old, data))
    for value in unmatched:
        _take(left, value, _is_like)
    return any(_is_of_day(i, edit.entry) or _is_redated(i, edit.entry) for i in left)


def _without(edit: AddEntry, data: bytes, stood: Any) -> tuple[list[nodes.Node], list[Value]]:
    """The entries of a list without those that stood beside an edit, and those of these that are
    not found as they were."""
    part = stood.get("part", "") if isinstance(stood, Mapping) else ""
    left, unmatched = list(_items(edit, data, part)), []
    beside = stood.get("beside") if isinstance(stood, Mapping) else stood
    for value in beside if isinstance(beside, list) else ():
        if not (_take(left, value, _goes_on) or _take(left, value, _went_on)):
            unmatched.append(value)
    return left, unmatched


def _ended_otherwise(edit: SetValue, data: bytes, stood: Mapping[str, Any]) -> bool:
    """Whether an entry that an edit ended is ended in a file, though not so, and does not tell less
    against its cylinder."""
    was, now = stood.get("was"), stood.get("now")
    if not was or not isinstance(now, Mapping):
        return False
    place = tuple(key for key in edit.trail[: _last(edit)] if isinstance(key, str))
    alone = parse(splice("", [Append(place, cast("SpliceValue", now))], edit.file), edit.file)[0]
    mine = next((record for _, record in _records(edit, place, alone)), None)
    if mine is None or is_open(mine) or not life_of(type(mine)).ended_by or mine.void is not None:
        return False
    for node, record in _records(edit, place, _root(data, edit.file)):
        if _goes_on(node, was) and not is_open(record) and record.void is None:
            return is_adverse(record) or not is_adverse(mine)
    return False


def _records(
    edit: SetValue, place: tuple[str, ...], root: nodes.Node | None
) -> Iterator[tuple[nodes.Node, Entry]]:
    """The entries of the list that an edit is made in, as far as they can be read."""
    for change in compare(edit.file, None, root):
        if change.place == ".".join(place) and change.is_ is not None:
            record = read(change.is_.record, change.is_.node, NodeReader(""))
            if isinstance(record, Entry):
                yield change.is_.node, record


def _last(edit: SetValue) -> int:
    """Where in a trail the number of an entry stands."""
    return max(place for place, key in enumerate(edit.trail) if isinstance(key, int))


def _entry(edit: SetValue, data: bytes) -> nodes.Node | None:
    """The entry of a list that an edit is made in."""
    below = _down([_root(data, edit.file)], edit.trail[: _last(edit) + 1], anywhere=False)
    return below[0] if below else None


def _in_list(edit: SetValue) -> bool:
    return any(isinstance(key, int) for key in edit.trail)


def _names(edit: AddEntry) -> tuple[str, ...]:
    return tuple(key for key in edit.trail if isinstance(key, str))


def _take(left: list[nodes.Node], value: Value, same: Callable[[nodes.Node, Value], bool]) -> bool:
    """Take the first entry out that is the same as a value; whether there was one."""
    at = next((n for n, item in enumerate(left) if same(item, value)), None)
    if at is not None:
        del left[at]
    return at is not None


def _found(edit: AddEntry | SetValue, data: bytes) -> Sequence[nodes.Node | None]:
    """What stands where an edit was made, in whatever place of its lists."""
    return _down([_root(data, edit.file)], edit.trail)


def _items(edit: AddEntry, data: bytes, part: str = "") -> Iterator[nodes.Node]:
    """The entries of a list; of a part of the station, of the one so called, if there is one."""
    owners = _down([_root(data, edit.file)], edit.trail[:-1])
    named = [each for each in owners if part and _name_of(each) == part]
    lists = _down(named or owners, edit.trail[-1:])
    return (item for each in lists if isinstance(each, nodes.SequenceNode) for item in each.items)


def _part_of(edit: AddEntry, data: bytes) -> str:
    """What the part of the station is called in which an edit puts its entry; else empty."""
    owners = _down([_root(data, edit.file)], edit.trail[:-1], anywhere=False)
    return _name_of(owners[0]) if len(edit.trail) > 1 and owners else ""


def _name_of(part: nodes.Node | None) -> str:
    name = part.get("name") if isinstance(part, nodes.MappingNode) else None
    return name.text if isinstance(name, nodes.Scalar) else ""


def _times(edit: SetValue, data: bytes) -> int:
    return sum(_is(each, edit.value) for each in _found(edit, data))


def _goes_on(found: nodes.Node | None, value: Value) -> bool:
    """Whether something says all that a value says, word for word, and maybe more."""
    return _agrees(found, value, str.__eq__)


def _went_on(found: nodes.Node, value: Value) -> bool:
    """Whether something is an entry as it was before something was added to it."""
    said = plain_value(found)
    if not isinstance(said, Mapping) or not isinstance(value, Mapping):
        return False
    return bool(said) and all(value.get(name) == inner for name, inner in said.items())


def _is_like(found: nodes.Node | None, value: Value) -> bool:
    """Whether something is of the day of a value and says all of it, but for a slip of the pen."""
    return found is not None and _is_of_day(found, value) and _agrees(found, value, _alike)


def _says(found: nodes.Node, value: Value) -> bool:
    """Whether something is of the day of a value and says as much, signed by whomever."""
    if not _is_of_day(found, value) or not isinstance(found, nodes.MappingNode):
        return False
    for name, inner in cast("Mapping[str, Value]", value).items():
        here = found.get(name)
        if not isinstance(inner, str) or not isinstance(here, nodes.Scalar):
            if not _agrees(here, inner, _alike):
                return False
        elif not (_alike(here.text, inner) or _signs(name) or _more(here.text, inner)):
            return False
    return True


def _signs(name: str) -> bool:
    return name == "by" or name.endswith("_by")


def _more(text: str, than: str) -> bool:
    """Whether a text has all the words of a shorter one, in their order."""
    left = iter(re.findall(r"\w+", text.casefold()))
    return all(word in left for word in re.findall(r"\w+", than.casefold()))


def _is_redated(found: nodes.Node | None, value: Value) -> bool:
    """Whether something says all of a value, word for word, but of another day."""
    if not isinstance(value, Mapping) or not isinstance(found, nodes.MappingNode):
        return False
    rest = {name: inner for name, inner in value.items() if name != "on"}
    return "on" in value and found.get("on") is not None and len(rest) > 0 and _goes_on(found, rest)


def _agrees(found: nodes.Node | None, value: Value, same: Callable[[str, str], bool]) -> bool:
    if isinstance(value, Mapping):
        return isinstance(found, nodes.MappingNode) and all(
            _agrees(found.get(name), inner, same) for name, inner in value.items()
        )
    if isinstance(value, tuple | list):
        items = list(found.items) if isinstance(found, nodes.SequenceNode) else []
        first = zip(items, value, strict=False)
        return len(items) >= len(value) and all(_agrees(i, v, same) for i, v in first)
    return isinstance(found, nodes.Scalar) and same(found.text, value)


def _alike(a: str, b: str) -> bool:
    return SequenceMatcher(None, a.casefold(), b.casefold()).ratio() >= _ALIKE


def _told(cells: Mapping[str, str]) -> tuple[str | None, ...]:
    """What a line tells of: completed by hand, it may differ in a cell."""
    return tuple(cells.get(name) for name in ("at", "cylinder", "act"))


_Cells = frozenset[tuple[str, str]]


def _but_one(cells: Mapping[str, str], name: str) -> tuple[str, _Cells]:
    """A line without one of its cells."""
    return name, frozenset((k, cell) for k, cell in cells.items() if cell and k != name)


# Many acts are looked for in one version of a file, so each is read once.


@lru_cache(maxsize=8)
def _lines(data: bytes) -> frozenset[tuple[str | None, ...]]:
    """What the lines of a log tell of."""
    return frozenset(map(_told, _rows(data)))


@lru_cache(maxsize=8)
def _lines_but_one(data: bytes) -> dict[tuple[str, _Cells], list[_Cells]]:
    """The lines of a log, by what they say without their time and without their cylinder."""
    found: dict[tuple[str, _Cells], list[_Cells]] = {}
    for cells in _rows(data):
        for name in ("at", "cylinder"):
            found.setdefault(_but_one(cells, name), []).append(frozenset(cells.items()))
    return found


def _rows(data: bytes) -> Iterator[dict[str, str]]:
    text, _ = read_text(data, LOGS)
    header = columns(LogLine)
    rows = csv.reader((text or "").splitlines())
    return (dict(zip(header, cells, strict=False)) for cells in rows)


@lru_cache(maxsize=64)
def _root(data: bytes, path: str) -> nodes.Node | None:
    text, _ = read_text(data, path)
    return None if text is None else parse(text, path)[0]


def _down(
    below: Sequence[nodes.Node | None], trail: Sequence[str | int], *, anywhere: bool = True
) -> Sequence[nodes.Node | None]:
    """What stands under a trail from some nodes; `anywhere` in the lists on the way, whatever
    number is in it."""
    for key in trail:
        below = [each for node in below for each in _under(node, key, anywhere)]
    return below


def _under(found: nodes.Node | None, key: str | int, anywhere: bool) -> Iterable[nodes.Node | None]:
    if isinstance(found, nodes.MappingNode) and isinstance(key, str):
        return (found.get(key),)
    if isinstance(found, nodes.SequenceNode) and isinstance(key, int):
        return found.items if anywhere else found.items[key : key + 1]
    return ()


def _is_of_day(found: nodes.Node, value: Value) -> bool:
    """Whether an entry is of the day of another: one that was mended by hand before git had it."""
    day = value.get("on") if isinstance(value, Mapping) else None
    return day is not None and isinstance(found, nodes.MappingNode) and _is(found.get("on"), day)


def _is(found: nodes.Node | None, value: Value) -> bool:
    if isinstance(found, nodes.Scalar):
        return found.text == value
    if isinstance(found, nodes.MappingNode) and isinstance(value, Mapping):
        same = (_is(found.get(name), inner) for name, inner in value.items())
        return list(found.keys()) == list(value) and all(same)
    if isinstance(found, nodes.SequenceNode) and isinstance(value, tuple | list):
        return len(found.items) == len(value) and all(map(_is, found.items, value))
    return False
