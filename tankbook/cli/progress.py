"""How far a long job is, on a terminal, once it has taken more than a second."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator, Sequence
from typing import TextIO, TypeVar

T = TypeVar("T")

AFTER, EVERY = 1.0, 0.2
"""Seconds before anything is shown, and between two showings."""
WIDTH = 20


def bar(done: int, of: int) -> str:
    """`[#####...............]`, full only when all are done."""
    part = WIDTH * done // of if of else WIDTH
    return f"[{'#' * part}{'.' * (WIDTH - part)}]"


class Progress:
    """Call it with how many are done, of how many. A stream that is no terminal gets nothing."""

    def __init__(
        self,
        what: str,
        stream: TextIO | None = None,
        clock: Callable[[], float] = time.time,
    ) -> None:
        self._what = what
        self._stream = stream if stream is not None else sys.stderr
        self._clock = clock
        self._began = self._shown = clock()
        self._wide = 0

    def __call__(self, done: int, of: int) -> None:
        """Show it, where it is time to; wiped out again when all are done."""
        now = self._clock()
        late = now - self._began >= AFTER and now - self._shown >= EVERY
        if not self._stream.isatty() or not (late or (done == of and self._wide)):
            return
        line = "" if done == of else f"{self._what}: {bar(done, of)} {done} of {of}"
        self._stream.write(f"\r{line:<{self._wide}}" + ("\r" if done == of else ""))
        self._stream.flush()
        self._wide, self._shown = len(line), now


def along(what: str, items: Sequence[T]) -> Iterator[T]:
    """Each in turn; how far it is, is told when the next is asked for."""
    show = Progress(what)
    for done, item in enumerate(items, 1):
        yield item
        show(done, len(items))
