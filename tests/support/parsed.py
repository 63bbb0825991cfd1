"""What was read before is not read again: most tests begin with the same few files, and ask several
things of them. Nodes, records and books never change, and what is worked out from a book is kept
with it; so a book of the same files, of the same day, is the one that was made of them before.

Where a test puts something in the place of the program's own, or of the system's, nothing is taken
from before, nor kept for later.
"""

from __future__ import annotations

import datetime as dt
from collections import OrderedDict
from collections.abc import Callable, Iterable, Iterator
from functools import lru_cache, wraps
from typing import Any

import pytest

from tankbook.ledger import events, load
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.events import ParseEvent
from tankbook.ledger.files import Files, OnDisk
from tankbook.records.book import Book
from tankbook.records.node import Finding, Node

Source = Callable[[str], Iterable[ParseEvent]]


def remember_what_was_parsed() -> None:
    """From here on, in this process."""
    once = lru_cache(maxsize=512)(events.parse_events)

    def parse_events(source: Source, text: str, path: str) -> tuple[Node | None, list[Finding]]:
        root, findings = once(source, text, path)
        return root, [*findings]

    events.parse_events = parse_events


class Remembered:
    """The last few books, by all that they were made of."""

    def __init__(self, most: int) -> None:
        self.most = most
        self.known: OrderedDict[Any, Book] = OrderedDict()

    def get(self, key: Any, make: Callable[[], Book]) -> Book:
        """The book of a key."""
        if not REMEMBERING.on:
            return make()
        if key in self.known:
            self.known.move_to_end(key)
            return self.known[key]
        found = self.known[key] = make()
        if len(self.known) > self.most:
            self.known.popitem(last=False)
        return found


class _Remembering:
    """Whether books are remembered: where a test's room allows it, and nothing is replaced."""

    def __init__(self) -> None:
        self.allowed = False
        self.replaced: set[int] = set()
        self.every: list[Remembered] = []

    @property
    def on(self) -> bool:
        return self.allowed and not self.replaced

    def forget(self) -> None:
        for each in self.every:
            each.known.clear()


REMEMBERING = _Remembering()
LOADED, MADE = Remembered(12), Remembered(64)
REMEMBERING.every = [LOADED, MADE]

_HARMLESS = ("tankbook.cli.", "tankbook.output.", "sys", "_pytest.")
"""What may be replaced, for no book is made by it, nor anything that is worked out from one."""


def _belongs_to(target: object) -> str:
    if isinstance(target, str):
        return target
    name = getattr(target, "__module__", None) or getattr(target, "__name__", "")
    return str(getattr(target, "__name__", name) if isinstance(target, type(pytest)) else name)


def remember_books() -> None:
    """From here on, in this process, for as long as a test's room allows it."""
    real, patch = load.load_from, pytest.MonkeyPatch

    @wraps(real)
    def load_from(
        files: Files,
        *,
        today: dt.date | None = None,
        clock: dt.date | None = None,
        now: dt.datetime | None = None,
    ) -> Book:
        def make() -> Book:
            return real(files, today=today, clock=clock, now=now)

        held = _held(files) if REMEMBERING.on else None
        if held is None:
            return make()
        # of a moment the minute: what is in the files was there before it
        about = now and (now.replace(second=0, microsecond=0), now.utcoffset())
        return LOADED.get((held, today, clock, about), make)

    load.load_from = load_from

    def noting(name: str) -> None:
        replace = getattr(patch, name)

        @wraps(replace)
        def noted(self: pytest.MonkeyPatch, target: Any, *others: Any, **more: Any) -> None:
            if not _belongs_to(target).startswith(_HARMLESS):
                REMEMBERING.replaced.add(id(self))
                REMEMBERING.forget()  # what is in hand is worked out otherwise from here on
            replace(self, target, *others, **more)

        setattr(patch, name, noted)

    for name in ("setattr", "delattr"):
        noting(name)
    undo = patch.undo

    @wraps(undo)
    def undone(self: pytest.MonkeyPatch) -> None:
        undo(self)
        REMEMBERING.replaced.discard(id(self))

    patch.undo = undone  # type: ignore[method-assign]


_LARGE = 3_000_000
"""More bytes than this are not compared."""


def _held(files: Files) -> tuple[Any, ...] | None:
    """All that a ledger's files say; None of files that are not ordinary, or are not on disk."""
    if not isinstance(files, OnDisk) or getattr(files, "pending", ()):
        return None
    try:
        found = tuple(_all_in(files, ""))
    except (LedgerError, OSError):
        return None
    total = sum(len(data) for _, data in found if data is not None)
    return (files.name, *found) if total < _LARGE else None


def _all_in(files: OnDisk, folder: str) -> Iterator[tuple[str, bytes | None]]:
    at = f"{folder}/" if folder else ""
    for name in files.names(folder):
        yield f"{at}{name}", files.read(f"{at}{name}")
    for name in files.folders(folder):
        yield f"{at}{name}/", None
        if name == ".git":
            continue  # no record is read in it
        if (wrong := files.in_way(f"{at}{name}")) is not None:
            raise wrong
        yield from _all_in(files, f"{at}{name}")
