"""What the files of an act are called now, where cards were renamed since it was begun."""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable, Iterator
from contextlib import suppress
from pathlib import Path

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.gitlog import read_node
from tankbook.ledger.ordinary import of_ledger
from tankbook.ledger.part import formerly_of
from tankbook.ledger.steps import Step
from tankbook.records.node import Node
from tankbook.rules.vanished import serial_of

FOLDERS = ("cylinders", "sets")


def is_gone(root: Path, path: str) -> bool:
    """Whether there is nothing under that name, not even a link."""
    return not os.path.lexists(root / path)


def replaced(root: Path, steps: Iterable[Step]) -> tuple[str, ...]:
    """The cards of an act in whose place that of another cylinder stands. Raises nothing."""
    found = []
    for path, serial in _serials(steps).items():
        with suppress(LedgerError, OSError):
            here = serial_of(read_node(of_ledger(root, path), path)[0])
            if here and here != serial:
                found.append(path)
    return tuple(found)


def called_now(
    root: Path, steps: Iterable[Step], also: Iterable[str] = (), replaced: Collection[str] = ()
) -> dict[str, str]:
    """The cards that are gone, or replaced by others, each with the card that goes on for it: the
    one that says it was called so, else the one with its serial. A card that says so and has not
    the serial that is known is that of another life of the id. Where several are, it is none.

    Args:
        root: the ledger's folder.
        steps: what an act does to its files.
        also: paths of more cards.
        replaced: cards of which another cylinder has the id now.
    """
    steps = tuple(steps)
    paths = dict.fromkeys((*(s.path for s in steps), *also))
    cards = [p for p in paths if p.rpartition("/")[0] in FOLDERS]
    lost = [p for p in cards if p in replaced or is_gone(root, p)]
    if not lost:
        return {}
    serials = _serials(steps)
    by_name: dict[str, list[str]] = {}
    by_serial: dict[str, list[str]] = {}
    for folder in {p.rpartition("/")[0] for p in lost}:
        for card, node in _cards(root, folder):
            for old in dict.fromkeys(formerly_of(node)):
                path = f"{folder}/{old}.yaml"
                if path not in serials or serial_of(node) == serials[path]:
                    by_name.setdefault(path, []).append(card)
            for path in lost:
                if path in serials and card not in paths and serial_of(node) == serials[path]:
                    by_serial.setdefault(path, []).append(card)
    found = ((p, by_name.get(p) or by_serial.get(p, [])) for p in lost)
    return {path: each[0] for path, each in found if len(each) == 1}


def _serials(steps: Iterable[Step]) -> dict[str, tuple[str, str]]:
    """The serials of the cylinders that an act is about, by their cards."""
    found = {}
    for step in steps:
        was = step.content if step.before is None else step.before
        if step.path.startswith("cylinders/") and step.length is None and was is not None:
            serial = serial_of(read_node(was, step.path)[0])
            if serial:
                found[step.path] = serial
    return found


def _cards(root: Path, folder: str) -> Iterator[tuple[str, Node | None]]:
    """The cards of a folder that can be read."""
    names: list[str] = []
    with suppress(OSError):
        names = sorted(os.listdir(root / folder))  # noqa: PTH208 - names only
    for path in (f"{folder}/{name}" for name in names if name.endswith(".yaml")):
        with suppress(LedgerError, OSError):
            yield path, read_node(of_ledger(root, path), path)[0]
