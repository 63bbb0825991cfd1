"""What a copy of a record says that its record does not.

A copy is what an editor, a shared disk or a merge left beside the record, or what somebody saved
under a name that is none and took for the record: whatever it says besides is known to no answer.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator

from msgspec import Struct

from tankbook.ledger.errors import first_fault
from tankbook.ledger.events import parse
from tankbook.ledger.splice import SpliceValue, plain_value
from tankbook.ledger.strays import KEY, NO_LINE, text_of
from tankbook.records.node import MappingNode
from tankbook.units.patterns import pattern


def says_more(copy: bytes, record: bytes) -> str:
    """What a copy says that its record does not, as `condemned 2026-11-20, note: dent`, or an empty
    text; whatever key it stands under. A copy may be older than its record, which may say more, or
    have the day of an entry mended. A patch that could not be put in has what it puts in."""
    is_, known = text_of(copy), text_of(record)
    lines = is_.splitlines()
    if any(n.startswith("@@") for n in lines):
        added = [n[1:] for n in lines if n.startswith("+") and not n.startswith("+++")]
        return told_of(_put_in(added, known))
    told, there = plain_of(is_), plain_of(known)
    if told is None or there is None:
        return told_of(_lines_more(lines, known))
    return told_of(more.told for more in more_in(told, there))


class Besides(Struct, frozen=True):
    """What a copy says besides its record: a value, or an entry of which the record has none.

    Attributes:
        told: it, as it is told.
        key: the last of the keys it stands below.
        value: what the copy says there.
    """

    told: str
    key: str
    value: SpliceValue


_SHOWN, _LONGEST = 3, 60
"""So many things are told that a copy says, and so many letters of each."""


def told_of(more: Iterable[str]) -> str:
    """The first of what a copy says, and how much more it is; empty where it is nothing."""
    each = [t if len(t) <= _LONGEST else f"{t[:_LONGEST]}..." for t in dict.fromkeys(more)]
    rest = f", and {len(each) - _SHOWN} more" if len(each) > _SHOWN else ""
    return ", ".join(each[:_SHOWN]) + rest


def plain_of(text: str) -> dict[str, SpliceValue] | None:
    """What a text stands for, or None where it does not read as a record does."""
    node, findings = parse(text, "")
    found = plain_value(node) if isinstance(node, MappingNode) else None
    return found if isinstance(found, dict) and not first_fault(findings) else None


def more_in(
    copy: SpliceValue, record: SpliceValue | None, at: str = "", key: str = ""
) -> Iterator[Besides]:
    """What a value of a copy says that the one of its record does not, below its keys."""
    if isinstance(copy, dict):
        of = record if isinstance(record, dict) else {}
        for name, value in copy.items():
            yield from more_in(value, of.get(name), f"{at} {name}".strip(), name)
    elif isinstance(copy, list):
        left = [*record] if isinstance(record, list) else []
        if key in _IN_ORDER and copy != left and Counter(map(str, copy)) == Counter(map(str, left)):
            yield Besides(f"{at}: [{', '.join(map(str, copy))}]", key, copy)
        new = [each for each in copy if not _take(left, each, _as_it_is)]
        for each in [each for each in new if not _take(left, each, _but_its_day)]:
            named = f"{at} {_named(each)}".strip()
            alike = [i for i in left if isinstance(i, dict) and _named(i) == _named(each)]
            if alike and isinstance(each, dict):
                left.remove(alike[0])
                yield from more_in(each, alike[0], named, key)
            else:
                yield Besides(named, key, each)
    elif copy != record:
        yield Besides(f"{at}: {copy}", key, copy)


_IN_ORDER = frozenset({"cylinders"})
"""Lists of ids of which the order says something: the left one of a set stands first."""


def _take(
    left: list[SpliceValue], each: SpliceValue, read: Callable[[SpliceValue], SpliceValue]
) -> bool:
    """Take the first entry out that says all of another, as it is read; whether there was one."""
    said = read(each)
    taken = next((i for i in left if said and _says_all(read(i), said)), None)
    if taken is not None:
        left.remove(taken)
    return taken is not None


def _says_all(record: SpliceValue, copy: SpliceValue) -> bool:
    return isinstance(record, type(copy)) and not any(more_in(copy, record))


def _as_it_is(each: SpliceValue) -> SpliceValue:
    return each


def _but_its_day(each: SpliceValue) -> SpliceValue:
    return {k: v for k, v in each.items() if k != "on"} if isinstance(each, dict) else ""


def _named(each: SpliceValue) -> str:
    """What an entry or a row goes by: its day, its id or its name."""
    if not isinstance(each, dict):
        return str(each)
    return next((str(each[key]) for key in ("on", "id", "name") if key in each), "")


def _lines_more(lines: list[str], known: str) -> Iterator[str]:
    """The entries of a text that does not read as YAML, and its lines, that a record lacks."""
    of_record, there = list(entries_in(known.splitlines())), list(entries_in(lines))
    kinds, known_kinds = Counter(key for key, _ in there), Counter(key for key, _ in of_record)
    more = [each for each in there if kinds[each[0]] > known_kinds[each[0]]]
    for each in [each for each in more if each not in of_record] or more:
        yield " ".join(each)
    yield from lines_not_in(lines, known)


def _put_in(added: list[str], known: str) -> Iterator[str]:
    """The entries that a patch puts in, of days of which the record has none, and its other
    lines."""
    days = {named for _, named in entries_in(known.splitlines())}
    for key, named in entries_in(added):
        if named not in days:
            yield f"{key} {named}".strip()
    yield from lines_not_in([n for n in added if not _NAMED.search(n)], known)


def lines_not_in(lines: list[str], known: str) -> Iterator[str]:
    """The lines that say something and do not stand in a text, without their indents and dashes."""
    there = {_bare(n) for n in known.splitlines()}
    for line in map(_bare, lines):
        if line.strip("-[]{}") and line not in there and not line.startswith(NO_LINE):
            yield line


def _bare(line: str) -> str:
    return " ".join(line.split()).removeprefix("- ")


def entries_in(lines: list[str]) -> Iterator[tuple[str, str]]:
    """The entries and rows of a text, each by its key at the margin and its own day or id, however
    much of it reads as YAML: what a program that could not merge leaves does not."""
    indent = min((len(n) - len(n.lstrip()) for n in lines if n.strip(" {}[]")), default=0)
    key = ""
    for line in lines:
        begun = KEY.match(line[indent:])
        key = begun[1] if begun else key
        for found in _NAMED.finditer(line):
            yield key, found[1]


_NAMED = pattern(r"(?:(?<=[\s{,\-])|^)[\"']?(?:on|id)[\"']?\s*:\s*[\"']?([\w.-]+)")
