"""The little of Markdown that the reference pages need."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def table(headers: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    """A table as lines; a `|` in a cell is escaped."""
    lines = [_row(headers), "|" + "---|" * len(headers)]
    return [*lines, *(_row(row) for row in rows)]


def _row(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in cells)} |"


def code(text: str) -> str:
    """`text` as code, or nothing for an empty one."""
    return f"`{text}`" if text else ""


def anchor(title: str) -> str:
    """The link to a heading."""
    return f"[{title}](#{title.lower().replace(' ', '-')})"
