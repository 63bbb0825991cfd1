"""What of a ledger is offered while a line is typed, without reading its records: fast, and quiet
where something cannot be read."""

from __future__ import annotations

import csv
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tankbook.ledger.errors import LedgerError
from tankbook.ledger.names import is_safe_id
from tankbook.ledger.ordinary import of_ledger
from tankbook.ledger.quick import plain


def ids_in(root: Path) -> Iterator[tuple[str, str]]:
    """The cylinders and sets by the names of their files, and which they are."""
    for folder, what in (("cylinders", "cylinder"), ("sets", "set")):
        try:
            names = sorted(os.listdir(root / folder))  # noqa: PTH208 - names alone, at once
        except OSError:
            continue
        for name in names:
            id_ = name.removesuffix(".yaml")
            if id_ != name and is_safe_id(id_):
                yield id_, what


def checklists_in(root: Path) -> Iterator[str]:
    """The ledger's own checklists, by the names of their files."""
    try:
        names = sorted(os.listdir(root / "checklists"))  # noqa: PTH208 - names alone
    except OSError:
        return
    yield from (n.removesuffix(".yaml") for n in names if n.endswith(".yaml"))


def said_in(root: Path, name: str) -> dict[str, Any]:
    """What a file of the ledger says, untyped; nothing where it cannot be read."""
    try:
        text = of_ledger(root, name).decode("utf-8")
    except (OSError, ValueError, LedgerError):
        return {}
    return plain(text) or _in_full(text)


def bookings_in(root: Path) -> Iterator[tuple[str, str]]:
    """The references of the bookings, each with its last day, the latest first; nothing where they
    cannot be read."""
    try:
        text = of_ledger(root, "bookings.csv").decode("utf-8")
    except (OSError, ValueError, LedgerError):
        return
    rows = csv.DictReader(text.splitlines())
    booked = ((row.get("date") or "", row.get("reference") or "") for row in rows)
    last = {reference: day for day, reference in sorted(booked) if reference}
    yield from sorted(last.items(), key=lambda each: each[1], reverse=True)


def logged_days(root: Path, id_: str, act: str = "") -> Iterator[str]:
    """The days on which the log has a line of a cylinder, the latest first; of one act where it is
    named. Lines that cannot be read are passed over."""
    try:
        names = sorted(os.listdir(root / "fills"), reverse=True)  # noqa: PTH208 - names alone
    except OSError:
        return
    for name in (n for n in names if n.endswith(".csv")):
        try:
            lines = of_ledger(root, f"fills/{name}").decode("utf-8").splitlines()
        except (OSError, ValueError, LedgerError):
            continue
        for line in reversed(lines):
            cells = line.split(",", 3)
            if len(cells) > 2 and cells[1] == id_ and act in ("", cells[2]):
                yield cells[0][:10]


def _in_full(text: str) -> dict[str, Any]:
    from tankbook.ledger.events import parse
    from tankbook.records.node import MappingNode, Node, Scalar, SequenceNode

    def value(node: Node | None) -> Any:
        match node:
            case Scalar():
                return node.text
            case MappingNode():
                return {name.text: value(below) for name, below in node.pairs}
            case SequenceNode():
                return [value(item) for item in node.items]
        return None

    found = value(parse(text, "")[0])
    return found if isinstance(found, dict) else {}
