"""A report as one HTML file that needs nothing else: no network, no script, no other file.

It reads in light and dark, on a telephone and on paper, and aloud: headings in order, a link past
the contents, tables with captions and header cells, pictures with a title, a description and their
numbers in a table. Nothing is said by colour alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from tankbook.output.document import Block, Document, Facts, Grid, Picture, Section, Words
from tankbook.output.svg import DARK, LIGHT, figure, tones

STYLE = """
*{box-sizing:border-box}
html{color-scheme:light dark;font-size:100%}
body{margin:0 auto;max-width:62rem;padding:1.25rem 1rem 3rem;background:var(--paper);
color:var(--ink);font:1rem/1.5 'Liberation Sans',Arial,Helvetica,sans-serif}
h1{font-size:1.7rem;line-height:1.2;margin:0 0 .5rem}
h2{font-size:1.25rem;line-height:1.3;margin:2.5rem 0 .75rem;padding-top:.5rem;
border-top:3px solid var(--ink)}
p{max-width:42rem;margin:.6rem 0}
a{color:inherit}
a:focus-visible,summary:focus-visible,[tabindex]:focus-visible{outline:3px solid var(--ink);
outline-offset:2px}
.past{position:absolute;left:-99rem}
.past:focus{position:static}
nav ul{display:flex;flex-wrap:wrap;gap:.25rem 1.25rem;list-style:none;margin:1rem 0 0;padding:0}
nav a{display:inline-block;padding:.3rem 0}
.facts{display:grid;grid-template-columns:repeat(auto-fit,minmax(9.5rem,1fr));gap:.75rem;
margin:1rem 0;padding:0}
.facts div{display:flex;flex-direction:column-reverse;justify-content:flex-end;
border:1px solid var(--mid);padding:.5rem .7rem}
.facts dt{font-size:.85rem;line-height:1.3}
.facts dd{margin:0;font-size:1.3rem;line-height:1.25;font-weight:700}
.facts .alarm{border:3px solid var(--ink)}
.facts .alarm dd::before{content:'! '}
.across{overflow-x:auto;margin:1rem 0}
table{border-collapse:collapse;font-size:.93rem;line-height:1.4}
caption{text-align:left;font-weight:700;padding:.2rem 0 .4rem}
th,td{padding:.28rem .9rem .28rem 0;text-align:left;vertical-align:top;font-weight:400;
border-bottom:1px solid var(--mid)}
thead th{font-weight:700;border-bottom:2px solid var(--ink);white-space:nowrap}
.n{text-align:right;white-space:nowrap;font-variant-numeric:tabular-nums}
.d{white-space:nowrap}
.alarm th[scope=row]{font-weight:700}
.alarm th[scope=row]::before{content:'! '}
.figure{display:block;width:100%;max-width:34rem;height:auto;margin:1rem 0 .5rem}
.figure text{font-family:inherit}
summary{cursor:pointer;padding:.3rem 0;max-width:max-content}
footer{margin-top:3rem;border-top:1px solid var(--mid);font-size:.9rem}
@media print{
@page{margin:14mm}
body{max-width:none;padding:0 1px;font-size:10pt}
h1{font-size:16pt}
h2{font-size:12pt;margin:14pt 0 5pt;break-after:avoid}
nav,.past,details{display:none}
.across{overflow:visible}
table{font-size:9pt}
tr,.figure,.facts div{break-inside:avoid}
thead{display:table-header-group}
.figure{max-width:120mm}
}
"""
SHORT = """
@media print{
@page{margin:10mm}
body{font-size:9pt;line-height:1.3}
h2{margin:7pt 0 3pt;padding-top:3pt}
p{margin:3pt 0}
table{font-size:8.5pt;line-height:1.25}
.across{margin:4pt 0}
th,td{padding-top:1.5pt;padding-bottom:1.5pt}
.facts{grid-template-columns:repeat(5,1fr);gap:4pt;margin:4pt 0}
.facts div{padding:2pt 5pt}
.facts dt{font-size:8pt}
.facts dd{font-size:11pt}
main{display:grid;grid-template-columns:1fr 1fr;column-gap:6mm}
section:nth-child(-n+2){grid-column:1/-1}
.figure{max-width:none;margin:2pt 0}
footer{margin-top:6pt;font-size:8pt}
}
"""


def page(document: Document) -> str:
    """The whole file."""
    day = tones(":root", LIGHT)
    night = "@media (prefers-color-scheme:dark){" + tones(":root", DARK) + "}"
    print_day = "@media print{" + tones(":root", LIGHT) + "}"
    style = day + night + print_day + STYLE + (SHORT if document.short else "")
    lines = [
        "<!doctype html>",
        '<html lang="en">',
        "<head>",
        '<meta charset="utf-8">',
        '<meta name="generator" content="tankbook">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{escape(document.title)}</title>",
        '<link rel="icon" href="data:,">',
        f"<style>{style}</style>",
        "</head>",
        "<body>",
        '<a class="past" href="#content">Skip to the content</a>',
        "<header>",
        f"<h1>{escape(document.title)}</h1>",
        f"<p>{escape(document.told)}</p>",
        "</header>",
        *_contents(document),
        '<main id="content">',
        *(line for section in document.sections for line in _section(section)),
        "</main>",
        "<footer>",
        *(f"<p>{escape(line)}</p>" for line in document.foot),
        "</footer>",
        "</body>",
        "</html>",
        "",
    ]
    return "\n".join(lines)


def _contents(document: Document) -> Iterator[str]:
    yield '<nav aria-label="Contents">'
    yield "<ul>"
    for section in document.sections:
        yield f'<li><a href="#{section.name}">{escape(section.title)}</a></li>'
    yield "</ul>"
    yield "</nav>"


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
        case Grid():
            yield from _grid(block)
        case Picture():
            yield figure(block.drawing, f"picture-{block.name}")
            yield "<details>"
            yield "<summary>The numbers of this chart</summary>"
            yield from _grid(block.grid)
            yield "</details>"


def _grid(grid: Grid) -> Iterator[str]:
    """A table in a region that can be moved sideways, by keyboard too, where it is too wide."""
    name = escape(grid.caption, quote=True)
    yield f'<div class="across" role="region" aria-label="{name}" tabindex="0">'
    yield "<table>"
    yield f"<caption>{escape(grid.caption)}</caption>"
    heads = (
        f'<th scope="col"{_kind(grid, place, "")}>{escape(head)}</th>'
        for place, head in enumerate(grid.headers)
    )
    yield f"<thead><tr>{''.join(heads)}</tr></thead>"
    yield "<tbody>"
    for number, row in enumerate(grid.rows):
        alarm = ' class="alarm"' if number in grid.alarm else ""
        first = f'<th scope="row"{_kind(grid, 0, row[0])}>{escape(row[0])}</th>'
        rest = (
            f"<td{_kind(grid, place, cell)}>{escape(cell)}</td>"
            for place, cell in enumerate(row[1:], 1)
        )
        yield f"<tr{alarm}>{first}{''.join(rest)}</tr>"
    yield "</tbody>"
    yield "</table>"
    yield "</div>"


def _kind(grid: Grid, place: int, cell: str) -> str:
    """Numbers stand flush right; dates and other short words are not broken."""
    if place in grid.right:
        return ' class="n"'
    return ' class="d"' if cell and len(cell) <= SHORT_CELL else ""


SHORT_CELL = 12
