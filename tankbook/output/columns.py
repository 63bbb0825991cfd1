"""What an answer says of each of its lines, declared once: its JSON and its CSV follow from it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, Generic, NamedTuple, TypeVar

from tankbook.output.as_csv import Cell

T = TypeVar("T")


class Column(NamedTuple, Generic[T]):
    """One key of an answer.

    Attributes:
        key: what JSON and CSV call it.
        get: its value for a line; None where there is none.
        in_csv: whether a spreadsheet has it too.
    """

    key: str
    get: Callable[[T], Any]
    in_csv: bool = True


def objects(columns: Sequence[Column[T]], lines: Iterable[T]) -> list[dict[str, Any]]:
    """The lines as JSON has them."""
    return [{column.key: column.get(line) for column in columns} for line in lines]


def keys(columns: Sequence[Column[T]]) -> tuple[str, ...]:
    """The head of its CSV."""
    return tuple(column.key for column in columns if column.in_csv)


def cells(columns: Sequence[Column[T]], lines: Iterable[T]) -> list[tuple[Cell, ...]]:
    """The lines of its CSV."""
    wanted = [column.get for column in columns if column.in_csv]
    return [tuple(get(line) for get in wanted) for line in lines]
