"""Cards and sets that go on under another id: a new file that is an old one's cylinder or set."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

from msgspec import Struct

from tankbook.records.node import MappingNode, Node
from tankbook.rules.changes import Change, What, compare, flat
from tankbook.rules.vanished import same_serial, serial_of, stem

MOST = 0.5
"""The share of its entries and facts by which a file is known to go on under another name."""

_ID, _SERIAL = 3.0, 2.0
FOLDERS = ("cylinders/", "sets/")


class Renamed(Struct, frozen=True):
    """A file that goes on under another path. `told` says that the new one names the old id."""

    old: str
    new: str
    before: Node
    told: bool


def formerly(node: Node | None) -> frozenset[str]:
    """The ids that a card or a set says it had before."""
    said = node.get("formerly") if isinstance(node, MappingNode) else None
    return frozenset(filter(None, flat(said).get("", "").split(", ")))


def pairs(
    gone: Mapping[str, Node], new: Mapping[str, Node], *, surely: bool = False
) -> Iterator[Renamed]:
    """Which of some files that are gone go on as which of some new ones; each once.

    `surely`: by an id or a serial alone, and not by entries, which those of a fleet have in common.
    """
    named = {path: formerly(node) for path, node in new.items()}
    marks = {path: serial_of(node) for path, node in new.items()}
    scored: list[tuple[float, str, str]] = []
    for old, was in gone.items():
        mark = serial_of(was)
        for path in (p for p in new if p.partition("/")[0] == old.partition("/")[0]):
            score = _ID if stem(old) in named[path] else 0.0
            score = score or (_SERIAL if same_serial(mark, marks[path]) else 0.0)
            if not score and not surely:
                score = _alike(old, was, new[path])
            if score > MOST:
                scored.append((score, old, path))
    left, free = set(gone), set(new)
    for _, old, path in sorted(scored, reverse=True):
        if old in left and path in free:
            left.remove(old)
            free.remove(path)
            yield Renamed(old, path, gone[old], stem(old) in named[path])


def surely_others(one: Node | None, other: Node | None) -> bool:
    """Whether two cards are surely not of one cylinder: their serials differ, or their makers."""
    marks = serial_of(one), serial_of(other)
    return None not in marks and not same_serial(*marks)


def goes_on_as(path: str, renamed: Collection[tuple[str, str]]) -> tuple[str, ...]:
    """The paths that a file came to have by renames, each an old and a new one; the first after it
    first."""
    found = [path]
    for here in found:  # it grows
        found += sorted({new for old, new in renamed if old == here} - set(found))
    return tuple(found[1:])


def paths_of(path: str, renamed: Collection[tuple[str, str]]) -> frozenset[str]:
    """Every path that a file has or had, by renames on any side."""
    both = {*renamed, *((new, old) for old, new in renamed)}
    return frozenset((path, *goes_on_as(path, both)))


def _alike(path: str, was: Node, is_: Node) -> float:
    """The share of entries that two versions have in common; of facts, where there are none."""
    every = [c for c in compare(path, None, was) if c.place != "formerly"]
    entries = [c for c in every if c.what is What.ADDED]
    if not entries and path.startswith("cylinders/"):
        return 0.0
    of_entries = bool(entries)
    changes = [c for c in compare(path, was, is_) if (c.was is not None) is of_entries]
    lost = sum(c.before is not None and c.what in _LOSSES for c in changes)
    return 1.0 - lost / len(entries or every) if every else 0.0


_LOSSES = frozenset({What.ALTERED, What.REMOVED, What.FACT_CHANGED})


def losses(renamed: Renamed, now: Node) -> Iterable[Change]:
    """What of a file that was taken out is gone or altered in the one that it goes on as."""
    changes = compare(renamed.new, renamed.before, now)
    return [c for c in changes if c.what in _LOSSES]
