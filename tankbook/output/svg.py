"""Pictures as SVG: no style of its own where a page gives one, greys where it stands alone."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from tankbook.output.drawing import Code, Drawing, Item, Line, Round, Shape, Text, Tone, Trace
from tankbook.units.patterns import pattern

LIGHT = {
    Tone.INK: "#16181a",
    Tone.DARK: "#474e55",
    Tone.MID: "#a3aab1",
    Tone.PALE: "#e3e6e9",
    Tone.PAPER: "#ffffff",
}
"""The tones by day, and on paper."""

DARK = {
    Tone.INK: "#f0f1f2",
    Tone.DARK: "#bcc3c9",
    Tone.MID: "#5f676e",
    Tone.PALE: "#33393e",
    Tone.PAPER: "#16181a",
}
"""The tones by night."""

FACE = "'DejaVu Sans Condensed', 'Liberation Sans', Arial, Helvetica, sans-serif"


_NOT_XML = pattern("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
"""What no XML document may hold (XML 1.0, production 2)."""


def written(text: str) -> str:
    """A text as it may stand in a picture, whatever somebody wrote into a record."""
    return escape(_NOT_XML.sub("\N{REPLACEMENT CHARACTER}", text))


def tones(selector: str, values: dict[Tone, str]) -> str:
    """The tones as properties that a page or a picture looks up."""
    return selector + "{" + "".join(f"--{t}:{values[t]};" for t in Tone) + "}"


def figure(drawing: Drawing, name: str) -> str:
    """A picture to stand in a page that sets the tones. `name` makes its ids unique there."""
    head = (
        f'<svg class="figure" role="img" viewBox="0 0 {_n(drawing.width)} {_n(drawing.height)}" '
        f'aria-labelledby="{name}-title {name}-says">'
    )
    told = (
        f'<title id="{name}-title">{written(drawing.title)}</title>'
        f'<desc id="{name}-says">{written(drawing.says)}</desc>'
    )
    return "\n".join([head, told, *map(_item, drawing.items), "</svg>"])


def standing_alone(pages: Sequence[Drawing]) -> str:
    """A file with one picture below the other, at their size in print."""
    width = max((p.width for p in pages), default=0.0)
    height = sum(p.height for p in pages)
    title = pages[0].title if pages else "Nothing to show"
    says = pages[0].says if pages else ""
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        "<!-- made by tankbook -->",
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{_n(width)}pt" '
        f'height="{_n(height)}pt" viewBox="0 0 {_n(width)} {_n(height)}">',
        f"<title>{written(title)}</title>",
        f"<desc>{written(says)}</desc>",
        f"<style>{tones('svg', LIGHT)}text{{font-family:{FACE}}}</style>",
        f'<rect width="{_n(width)}" height="{_n(height)}" fill="var(--paper)"/>',
    ]
    down = 0.0
    for page in pages:
        lines += [f'<g transform="translate(0 {_n(down)})">', *map(_item, page.items), "</g>"]
        down += page.height
    return "\n".join([*lines, "</svg>", ""])


def _n(value: float) -> str:
    """A length to the hundredth, without idle zeros."""
    return f"{value:.2f}".rstrip("0").rstrip(".") or "0"


def _item(item: Item) -> str:
    match item:
        case Line():
            return (
                f'<line x1="{_n(item.x1)}" y1="{_n(item.y1)}" x2="{_n(item.x2)}" '
                f'y2="{_n(item.y2)}" stroke="var(--{item.tone})" stroke-width="{_n(item.weight)}"/>'
            )
        case Trace():
            points = " ".join(f"{_n(x)},{_n(y)}" for x, y in item.points)
            dash = " ".join(map(_n, item.dash))
            broken = f' stroke-dasharray="{dash}"' if dash else ""
            return (
                f'<polyline points="{points}" fill="none" stroke="var(--{item.tone})" '
                f'stroke-width="{_n(item.weight)}" stroke-linejoin="round"{broken}/>'
            )
        case Shape():
            corners = " ".join(f"{_n(x)},{_n(y)}" for x, y in item.corners)
            return f'<polygon points="{corners}"{_paint(item.fill, item.weight)}/>'
        case Round():
            return (
                f'<circle cx="{_n(item.x)}" cy="{_n(item.y)}" r="{_n(item.radius)}"'
                f"{_paint(item.fill, item.weight)}/>"
            )
        case Text():
            bold = ' font-weight="700"' if item.bold else ""
            anchor = f' text-anchor="{item.anchor}"' if item.anchor != "start" else ""
            return (
                f'<text x="{_n(item.x)}" y="{_n(item.y)}" font-size="{_n(item.size)}"{anchor}{bold}'
                f' fill="var(--{item.tone})">{written(item.text)}</text>'
            )
        case Code():
            runs = "".join(
                f"M{_n(run.x)} {_n(run.y)}h{_n(run.width)}v{_n(run.height)}h-{_n(run.width)}z"
                for run in item.runs()
            )
            return f'<path d="{runs}"{_paint(Tone.INK, 0.0)}/>'


def _paint(fill: Tone | None, weight: float) -> str:
    edge = f' stroke="var(--ink)" stroke-width="{_n(weight)}"' if weight else ""
    return f' fill="{f"var(--{fill})" if fill else "none"}"{edge}'
