"""A report as one HTML file that needs nothing else: no network, no script, no other file.

It reads in light and dark, on a telephone and on paper, and aloud: headings in order, a link past
the contents, tables with captions and header cells, pictures with a title, a description and their
numbers in a table. Nothing is said by colour alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from string import Template

from tankbook.ledger import shipped
from tankbook.output.document import (
    Block,
    Document,
    Facts,
    Grid,
    Particulars,
    Picture,
    Section,
    Words,
)
from tankbook.output.svg import DARK, LIGHT, figure, tones


def page(document: Document) -> str:
    """The whole file."""
    day = tones(":root", LIGHT)
    night = "@media (prefers-color-scheme:dark){" + tones(":root", DARK) + "}"
    print_day = "@media print{" + tones(":root", LIGHT) + "}"
    style = [day + night + print_day, shipped.text_of("report.css")]
    style += [shipped.text_of("one-page.css")] if document.short else []
    within = ((f"#{s.name}", s.title) for s in document.sections)
    links = (
        f'<li><a href="{escape(to)}">{escape(said)}</a></li>'
        for to, said in (*within, *((to, said) for said, to in document.beside))
    )
    mark = f'<meta name="tankbook-page" content="{escape(document.mark)}">' if document.mark else ""
    return Template(shipped.text_of("report.html")).substitute(
        mark=mark,
        title=escape(document.title),
        told=escape(document.told),
        style="\n".join(style),
        contents="\n".join(links),
        sections="\n".join(line for each in document.sections for line in _section(each)),
        foot="\n".join(f"<p>{escape(line)}</p>" for line in document.foot),
    )


def _section(section: Section) -> Iterator[str]:
    yield f'<section aria-labelledby="{section.name}">'
    yield f'<h2 id="{section.name}">{escape(section.title)}</h2>'
    for block in section.blocks:
        yield from _block(block)
    yield "</section>"


def _block(block: Block) -> Iterator[str]:
    match block:
        case Words():
            yield f"<p>{escape(block.text)}</p>"
        case Facts():
            yield '<dl class="facts">'
            for name, value in block.pairs:
                alarm = ' class="alarm"' if name in block.alarm else ""
                yield f"<div{alarm}><dt>{escape(name)}</dt><dd>{escape(value)}</dd></div>"
            yield "</dl>"
        case Particulars():
            yield "<table><tbody>"
            for name, value in block.pairs:
                row = f'<th scope="row">{escape(name)}</th><td>{escape(value)}</td>'
                yield f"<tr>{row}</tr>"
            yield "</tbody></table>"
        case Grid():
            yield from _grid(block)
        case Picture():
            yield figure(block.drawing, f"picture-{block.name}")
            yield "<details>"
            yield "<summary>The numbers of this chart</summary>"
            yield from _grid(block.grid)
            yield "</details>"


def _grid(grid: Grid) -> Iterator[str]:
    """A table in a region that can be moved sideways, by keyboard too, where it is too wide. A
    column in which no row has anything is left out: it would push others out of sight."""
    shown = [n for n in range(len(grid.headers)) if not n or _is_used(grid, n)]
    name = escape(grid.caption, quote=True)
    yield f'<div class="across" role="region" aria-label="{name}" tabindex="0">'
    yield "<table>"
    yield f"<caption>{escape(grid.caption)}</caption>"
    heads = (
        f'<th scope="col"{_kind(grid, place, "")}>{escape(grid.headers[place])}</th>'
        for place in shown
    )
    yield f"<thead><tr>{''.join(heads)}</tr></thead>"
    yield "<tbody>"
    for number, row in enumerate(grid.rows):
        alarm = ' class="alarm"' if number in grid.alarm else ""
        name = escape(row[0])
        if number < len(grid.links) and grid.links[number]:
            name = f'<a href="{escape(grid.links[number])}">{name}</a>'
        first = f'<th scope="row"{_kind(grid, 0, row[0])}>{name}</th>'
        rest = (
            f"<td{_kind(grid, place, row[place])}>{escape(row[place])}</td>" for place in shown[1:]
        )
        yield f"<tr{alarm}>{first}{''.join(rest)}</tr>"
    yield "</tbody>"
    yield "</table>"
    yield "</div>"


def _is_used(grid: Grid, place: int) -> bool:
    return not grid.rows or any(row[place] for row in grid.rows)


def _kind(grid: Grid, place: int, cell: str) -> str:
    """Numbers stand flush right; dates and other short words are not broken. On a telephone a table
    of many columns is moved sideways: text in it is wide, else out of sight it makes rows tall."""
    if place in grid.right:
        return ' class="n"'
    if cell and len(cell) <= SHORT_CELL:
        return ' class="d"'
    if not cell or not place or len(grid.headers) <= STILL:
        return ""
    return ' class="w"' if len(cell) > LONG_CELL else ' class="m"'


SHORT_CELL = 12
LONG_CELL = 40
STILL = 3
"""Up to so many columns a telephone shows at once, and all that is broken is in sight."""
