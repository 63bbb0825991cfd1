"""A document for a terminal: its parts, one below the other."""

from __future__ import annotations

from tankbook.output.document import (
    Block,
    Document,
    Facts,
    Grid,
    Particulars,
    Picture,
    Words,
    unparted,
)
from tankbook.output.page import NO_BREAK, Page, titled
from tankbook.output.tables import table

WIDEST_NAME = 16
"""The widest column of names beside what is said of each (own bound)."""
GAP = 2
RULE = 20
"""The longest line to write on that stands beside a name (own bound)."""


def text(document: Document, page: Page) -> str:
    """The document for a terminal, of any width."""
    parts = []
    for section in document.sections:
        parts.append(page.wrap(section.title.upper()))
        parts += [_block(block, page).replace(NO_BREAK, " ") for block in section.blocks]
    return page.answer(document.told, *parts, page.paragraphs(document.foot))


def _block(block: Block, page: Page) -> str:
    match block:
        case Words():
            return page.wrap(unparted(block.text))
        case Facts():
            return page.items("", [f"{value} {name}" for name, value in block.pairs])
        case Particulars():
            widest = max((len(name) for name, _ in block.pairs), default=0)
            pairs = ((name, unparted(said) or "_" * RULE) for name, said in block.pairs)
            return page.facts(pairs, min(widest, WIDEST_NAME) + GAP)
        case Picture():
            return _grid(block.grid, page)
        case Grid():
            return _grid(block, page)


def _grid(grid: Grid, page: Page) -> str:
    """A table; where not even its narrowest fits, each row with its headings in a paragraph."""
    long = [h for i, h in enumerate(grid.headers) if i not in grid.right]
    right = [grid.headers[i] for i in grid.right]
    rows = [tuple(map(unparted, row)) for row in grid.rows]
    body = table(grid.headers, rows, page, wrap=long, right=right)
    if any(len(line) > page.width for line in body.splitlines()):
        body = page.paragraphs((_row(grid.headers, row) for row in rows), hang="  ")
    return titled(page.wrap(grid.caption), body)


def _row(headers: tuple[str, ...], row: tuple[str, ...]) -> str:
    """`14: gas air; to 3000`."""
    first, *rest = row
    named = zip(headers[1:], rest, strict=True)
    return f"{first}: {'; '.join(f'{head} {cell}'.strip() for head, cell in named if cell)}"
