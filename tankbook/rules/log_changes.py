"""What became of lines of the fill log: moved, edited or removed. Honest lines are only added."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from msgspec import Struct

from tankbook.records.commits import LineSeen
from tankbook.records.log import LogLine, columns

_AT, _CYLINDER, _ACT = 0, 1, 2
EVEN = 0.5
"""The share of filled cells two lines must have in common to count as one line, edited."""


class LogChange(Struct, frozen=True):
    """A line that was there, and the line it became; None where it was taken out."""

    before: LineSeen
    after: LineSeen | None

    @property
    def cylinder(self) -> str:
        """The id the line named, or an empty text where it was no row."""
        return cell(self.before, _CYLINDER)

    @property
    def cells(self) -> tuple[tuple[str, str, str], ...]:
        """Each cell that differs: its column, what it said, what it says."""
        if self.after is None or not (self.before.cells and self.after.cells):
            return ()
        trio = zip(columns(LogLine), self.before.cells, self.after.cells, strict=False)
        return tuple((name, b, a) for name, b, a in trio if a != b)


def cell(line: LineSeen, place: int) -> str:
    """A cell of a line by its place, empty where there is none."""
    return line.cells[place] if len(line.cells) > place else ""


def sort_out(
    removed: Sequence[LineSeen], added: Sequence[LineSeen]
) -> tuple[list[LogChange], list[LineSeen]]:
    """What became of removed lines, and which lines are new.

    A line that is added again as it was, anywhere in the log, was only moved.
    """
    if not removed:
        return [], list(added)
    gone, new = _unmoved(removed, added)
    free = _Free(new)
    changes = [LogChange(line, free.take(line)) for line in gone]
    return changes, [line for line in new if line in free]


class _Free:
    """New lines that no old one has become yet, found by their time or their cylinder."""

    def __init__(self, lines: Iterable[LineSeen]) -> None:
        self._by: dict[str, dict[int, LineSeen]] = {}
        for line in lines:
            for name in self._names(line):
                self._by.setdefault(name, {})[id(line)] = line

    def __contains__(self, line: LineSeen) -> bool:
        return any(id(line) in self._by[name] for name in self._names(line))

    def take(self, line: LineSeen) -> LineSeen | None:
        """The line that tells of the same act, if any: same time and cylinder, or most cells."""
        found: dict[int, LineSeen] = {}
        for name in self._names(line):
            found |= self._by.get(name, {})
        best = max(found.values(), key=lambda other: _alike(line, other), default=None)
        if best is None or _alike(line, best) < EVEN:
            return None
        for name in self._names(best):
            del self._by[name][id(best)]
        return best

    def _names(self, line: LineSeen) -> set[str]:
        return {cell(line, _AT), cell(line, _CYLINDER)}


def _unmoved(
    removed: Iterable[LineSeen], added: Iterable[LineSeen]
) -> tuple[list[LineSeen], list[LineSeen]]:
    moved = Counter(map(_said, removed)) & Counter(map(_said, added))
    return _less(removed, moved.copy()), _less(added, moved)


def _less(lines: Iterable[LineSeen], moved: Counter[tuple[str, ...]]) -> list[LineSeen]:
    kept = []
    for line in lines:
        if moved[_said(line)] > 0:
            moved[_said(line)] -= 1
        else:
            kept.append(line)
    return kept


def _said(line: LineSeen) -> tuple[str, ...]:
    return line.cells or (line.text,)


def _alike(line: LineSeen, other: LineSeen) -> float:
    if line.cells[: _ACT + 1] == other.cells[: _ACT + 1] and line.cells:
        return 2.0
    pairs = [(a, b) for a, b in zip(line.cells, other.cells, strict=False) if a or b]
    same = sum(a == b for a, b in pairs)
    return same / len(pairs) if pairs else 0.0
