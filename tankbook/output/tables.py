"""Tables that fit the page: long texts wrap, numbers and ids stay whole."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from tankbook.output.page import Page

GAP = 2
NARROWEST = 8


def table(
    headers: Sequence[str],
    rows: Sequence[Sequence[str]],
    page: Page,
    *,
    wrap: Sequence[str] = (),
    right: Sequence[str] = (),
) -> str:
    """A table of text cells, without a final newline; an empty text for no rows.

    Columns named in `wrap` are narrowed, the widest first, until the table fits the page, never
    below the longest word they hold. Those named in `right` are set flush right.
    """
    import tabulate

    if not rows:
        return ""
    tabulate.MIN_PADDING = 0  # its default widens narrow columns past the page
    widths = _fit(headers, rows, page.width, wrap)
    cells = [[_wrapped(c, w) for c, w in zip(row, widths, strict=True)] for row in rows]
    text = tabulate.tabulate(
        cells,
        headers=list(headers),
        tablefmt="simple",
        disable_numparse=True,
        colalign=["right" if h in right else "left" for h in headers],
    )
    return "\n".join(line.rstrip() for line in text.splitlines())


def _fit(
    headers: Sequence[str], rows: Sequence[Sequence[str]], width: int, wrap: Sequence[str]
) -> list[int]:
    columns = list(zip(headers, *rows, strict=True))
    widths = [max(len(c) for c in column) for column in columns]
    longest = [max(len(word) for c in column for word in c.split() or [""]) for column in columns]
    may_shrink = {i for i, h in enumerate(headers) if h in wrap}
    over = sum(widths) + GAP * (len(widths) - 1) - width
    while over > 0 and may_shrink:
        widest = max(may_shrink, key=lambda i: widths[i])
        if widths[widest] <= max(longest[widest], NARROWEST):
            may_shrink.discard(widest)
            continue
        widths[widest] -= 1
        over -= 1
    return widths


def _wrapped(cell: str, width: int) -> str:
    if len(cell) <= width:
        return cell
    return "\n".join(
        textwrap.wrap(cell, width, break_long_words=False, break_on_hyphens=False) or [""]
    )
