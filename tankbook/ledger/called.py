"""Which card goes on for one that was renamed, or whose id another cylinder has now.

One judge for all who ask: an act that is to be finished, and one that was recorded and is looked
for. A card that goes on has the serial (a set: the cylinders) of the one before, or says that it
was called so and its own serial does not tell it from that; one with another serial is that of
another life of the id.
"""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from msgspec import Struct

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.gitlog import read_node
from tankbook.ledger.names import CARDS
from tankbook.ledger.ordinary import of_ledger
from tankbook.ledger.part import formerly_of
from tankbook.ledger.steps import JournalStep, StepState
from tankbook.records.node import Node
from tankbook.rules.vanished import members, same_serial, serial_of, stem

Mark = tuple[str, ...]
"""What tells a card from others, whatever it is called: its serial and maker, or the cylinders of a
set; empty where it has none."""


def mark_of(path: str, node: Node | None) -> Mark:
    """What tells a card from others; empty for what is no card."""
    folder = path.rpartition("/")[0]
    if folder == "cylinders":
        return serial_of(node) or ()
    return members(node) if folder == "sets" else ()


def is_same(path: str, one: Mark, other: Mark) -> bool:
    """Whether two marks are surely of one cylinder or set."""
    if not one or not other:
        return False
    return same_serial(one, other) if path.startswith("cylinders/") else one == other


def goes_on(path: str, mark: Mark, cards: Mapping[str, Node | None]) -> list[str]:
    """The cards that go on for one, those that say so first; none where it stands itself.

    Args:
        path: the card.
        mark: what told it from others.
        cards: the cards of its folder, as they are now.
    """
    if path in cards and not _is_another(path, mark, mark_of(path, cards[path])):
        return []
    named, found = [], []
    for card, node in cards.items():
        here = mark_of(card, node)
        same = is_same(path, mark, here)
        # the cylinders of a set have new ids, too
        may_be = not mark or not here or not path.startswith("cylinders/")
        if card != path and stem(path) in formerly_of(node) and (same or may_be):
            named.append(card)
        elif card != path and same:
            found.append(card)
    return [*named, *found]


def _is_another(path: str, mark: Mark, here: Mark) -> bool:
    return bool(mark and here) and not is_same(path, mark, here)


def is_gone(root: Path, path: str) -> bool:
    """Whether there is nothing under that name, not even a link."""
    return not os.path.lexists(root / path)


def replaced(root: Path, steps: Iterable[JournalStep]) -> tuple[str, ...]:
    """The cards of an act in whose place that of another cylinder stands. Raises nothing."""
    found = []
    for path, mark in _marks(steps).items():
        with suppress(LedgerError, OSError):
            here = mark_of(path, read_node(of_ledger(root, path), path)[0])
            if path.startswith("cylinders/") and _is_another(path, mark, here):
                found.append(path)
    return tuple(found)


def called_now(
    root: Path,
    steps: Iterable[JournalStep],
    also: Iterable[str] = (),
    replaced: Collection[str] = (),
) -> dict[str, str]:
    """The cards that are gone, or replaced by others, each with the card that goes on for it; none
    where several may.

    Args:
        root: the ledger's folder.
        steps: what an act does to its files.
        also: paths of more cards.
        replaced: cards of which another cylinder has the id now.
    """
    steps = tuple(steps)
    paths = dict.fromkeys((*(s.path for s in steps), *also))
    cards = [p for p in paths if p.rpartition("/")[0] in CARDS]
    lost = [p for p in cards if p in replaced or is_gone(root, p)]
    marks = _marks(steps) if lost else {}
    found = {}
    for folder in {p.rpartition("/")[0] for p in lost}:
        # a card of the act that stands is gone on with as itself
        there = {c: n for c, n in _cards(root, folder) if c in lost or c not in paths}
        for path in (p for p in lost if p.rpartition("/")[0] == folder):
            each = goes_on(path, marks.get(path, ()), there)
            said = [c for c in each if stem(path) in formerly_of(there[c])]
            if len(said or each) == 1:
                found[path] = (said or each)[0]
    return found


class Now(Struct, frozen=True):
    """What became of an act's files since it was begun: the cards in whose place that of another
    cylinder stands, those that go on under another name, and every file that is another now."""

    replaced: tuple[str, ...]
    called: dict[str, str]
    changed: list[str]

    @property
    def to_judge(self) -> list[str]:
        """Those that may hold something of the act."""
        return [each for each in self.changed if each in self.called or each not in self.replaced]


def now_of(root: Path, steps: Sequence[JournalStep], states: Iterable[StepState]) -> Now:
    """What became of an act's files, given how far each has come. Raises nothing."""
    other = replaced(root, steps)
    called = called_now(root, steps, replaced=other)
    each = zip(steps, states, strict=True)
    changed = [s.path for s, state in each if state is StepState.CHANGED or s.path in called]
    return Now(other, called, changed)


def _marks(steps: Iterable[JournalStep]) -> dict[str, Mark]:
    """What tells the cards that an act is about from others."""
    found = {}
    for step in steps:
        was = step.content if step.before is None else step.before
        if step.length is None and was is not None:
            mark = mark_of(step.path, read_node(was, step.path)[0])
            if mark:
                found[step.path] = mark
    return found


def _cards(root: Path, folder: str) -> Iterator[tuple[str, Node | None]]:
    """The cards of a folder that can be read."""
    names: list[str] = []
    with suppress(OSError):
        names = sorted(os.listdir(root / folder))  # noqa: PTH208 - names only
    for path in (f"{folder}/{name}" for name in names if name.endswith(".yaml")):
        with suppress(LedgerError, OSError):
            yield path, read_node(of_ledger(root, path), path)[0]
