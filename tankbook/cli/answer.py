"""What a command hands back, and what it was refused for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any

from msgspec import Struct

if TYPE_CHECKING:
    from tankbook.output.as_csv import Cell

DONE, NO, NOT_UNDERSTOOD, OUR_FAULT, INTERRUPTED = 0, 1, 2, 3, 130
"""Exit codes: done; the answer is no; the request or a file is not understood; a fault of the
program; stopped from the keyboard (128 and the signal's number, as shells count)."""


class Answer(Struct, frozen=True):
    """The text for standard output, the exit code, and notes for standard error."""

    text: str
    code: int = DONE
    notes: tuple[str, ...] = ()
    utf8: bool = False
    """The text is for a program: UTF-8 whatever the terminal."""
    out: Callable[[], None] | None = None
    """What is done once the answer is out."""


def as_data(value: Any, code: int = DONE, notes: tuple[str, ...] = ()) -> Answer:
    """An answer in JSON."""
    from tankbook.output.as_json import dumps

    return Answer(dumps(value), code, notes, utf8=True)


def as_table(
    headers: Sequence[str],
    rows: Iterable[Sequence[Cell]],
    code: int = DONE,
    notes: tuple[str, ...] = (),
) -> Answer:
    """An answer in CSV, for a spreadsheet."""
    from tankbook.output.as_csv import dumps

    return Answer(dumps(headers, rows), code, notes, utf8=True)


def shown(text: str) -> str:
    """A text as it was given, in quotes, on one line and no longer than a line."""
    from tankbook.units import quoted  # answers without an error do without

    return quoted(text)


class Unanswered(Exception):
    """A question whose answer stands in a file that cannot be read. That is an answer: no."""

    def __init__(self, answer: Answer) -> None:
        super().__init__(answer.text)
        self.answer = answer


class RequestError(Exception):
    """A request that cannot be understood: what is wrong, and how to mend it."""

    def __init__(self, text: str, mend: str = "") -> None:
        super().__init__(text, mend)
        self.text = text
        self.mend = mend

    def __str__(self) -> str:
        return f"{self.text}; {self.mend}" if self.mend else self.text
