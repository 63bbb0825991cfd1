"""Cards and sets that go on under another id: a new file that is an old one's cylinder or set."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from tankbook.records.node import Mapping as MappingNode
from tankbook.records.node import Node
from tankbook.rules.changes import Change, compare
from tankbook.rules.growing import What, flat
from tankbook.rules.vanished import serial_of, stem

MOST = 0.5
"""The share of its entries and facts by which a file is known to go on under another name."""

_ID, _SERIAL = 3.0, 2.0
FOLDERS = ("cylinders/", "sets/")


@dataclass(frozen=True, slots=True)
class Renamed:
    """A file that goes on under another path. `told` says that the new one names the old id."""

    old: str
    new: str
    before: Node
    told: bool


def formerly(node: Node | None) -> frozenset[str]:
    """The ids that a card or a set says it had before."""
    said = node.get("formerly") if isinstance(node, MappingNode) else None
    return frozenset(filter(None, flat(said).get("", "").split(", ")))


def pairs(gone: Mapping[str, Node], new: Mapping[str, Node]) -> Iterator[Renamed]:
    """Which of some files that are gone go on as which of some new ones; each once."""
    scored = (
        (_score(old, was, is_), old, path)
        for old, was in gone.items()
        for path, is_ in new.items()
        if old.partition("/")[0] == path.partition("/")[0]
    )
    left, free = set(gone), set(new)
    for score, old, path in sorted(scored, reverse=True):
        if score and old in left and path in free:
            left.remove(old)
            free.remove(path)
            yield Renamed(old, path, gone[old], stem(old) in formerly(new[path]))


def _score(old: str, was: Node, is_: Node) -> float:
    """How surely one file is what another was called; 0 where it is not."""
    if stem(old) in formerly(is_):
        return _ID
    one, other = serial_of(was), serial_of(is_)
    if one and other and one[0] == other[0] and (one[1] == other[1] or not (one[1] and other[1])):
        return _SERIAL
    share = _alike(old, was, is_)
    return share if share > MOST else 0.0


def _alike(path: str, was: Node, is_: Node) -> float:
    """The share of entries and facts that two versions have in common."""
    every = [c for c in compare(path, None, was) if c.place != "formerly"]
    lost = (c for c in compare(path, was, is_) if c.before is not None and c.what in _LOSSES)
    return 1.0 - sum(1 for _ in lost) / len(every) if every else 0.0


def is_surely(renamed: Renamed, now: Node) -> bool:
    """Whether a file goes on as another by its id or its serial, and not by its entries alone."""
    return renamed.told or _score(renamed.old, renamed.before, now) >= _SERIAL


_LOSSES = frozenset({What.ALTERED, What.REMOVED, What.FACT_CHANGED})


def losses(renamed: Renamed, now: Node) -> Iterable[Change]:
    """What of a file that was taken out is gone or altered in the one that it goes on as."""
    changes = compare(renamed.new, renamed.before, now)
    return [c for c in changes if c.what in _LOSSES]
