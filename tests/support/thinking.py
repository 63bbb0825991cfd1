"""The picture of docs/how-it-thinks.md, made from what the program declares."""

from __future__ import annotations

from html import escape
from typing import NamedTuple

from tankbook.cli.commands import COMMANDS
from tankbook.ledger.begin import FOLDERS
from tankbook.ledger.names import SETTINGS_FILE, STATION_FILE

PLACES = {f"{each}/" for each in FOLDERS} | {SETTINGS_FILE, STATION_FILE}


class Box(NamedTuple):
    """A box: its heading, what it is in a line, and the files or commands it stands for."""

    heading: str
    says: tuple[str, ...]
    files: tuple[str, ...] = ()
    commands: tuple[str, ...] = ()


RECORDS = (
    Box("Rules", ("law, practice, your own:", "each with its source"), ("rules/",)),
    Box(
        "Station",
        ("banks, compressor, gauges,", "who signs, what it costs"),
        (STATION_FILE, SETTINGS_FILE),
    ),
    Box("Log", ("each fill, reading, drain:", "only added to"), ("fills/",)),
    Box(
        "Cards", ("what each cylinder is, and", "what was ever done to it"), ("cylinders/", "sets/")
    ),
)
JUDGE = Box(
    "One judge",
    (
        "of one day:",
        "",
        "what is due,",
        "what stands against",
        "a fill, a rental,",
        "a sale, and",
        "to what pressure",
    ),
)
TOLD = (
    Box(
        "Answers",
        ("yes or no, every reason,", "the rule, how to mend it"),
        commands=("may-fill", "due", "plan"),
    ),
    Box(
        "Papers", ("what hangs on it and what", "goes with it"), commands=("tags", "slip", "sheet")
    ),
    Box(
        "Pages",
        ("the board at the counter,", "the report, the calendar"),
        commands=("pages", "report", "calendar"),
    ),
    Box(
        "Acts",
        ("judged first; then written,", "all of it or nothing"),
        commands=("book-in", "inspect", "fill"),
    ),
)
WIDTH, HEIGHT, LEFT, MIDDLE, RIGHT = 900, 470, 20, 350, 640
WIDE, TALL, GAP = 240, 88, 12


def picture() -> str:
    """The picture as SVG.

    Raises:
        ValueError: it names a file or a command that there is not.
    """
    boxes = (*RECORDS, JUDGE, *TOLD)
    unknown = {c for b in boxes for c in b.commands} - set(COMMANDS)
    unknown |= {f for b in boxes for f in b.files} - PLACES
    if unknown:
        raise ValueError(f"the picture names what there is not: {', '.join(sorted(unknown))}")
    title = "Records and rules lead to one judge, and it to answers, papers, pages and acts"
    drawn = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" '
        'font-family="DejaVu Sans, Verdana, sans-serif" font-size="14" fill="#111">',
        f"<title>{title}</title>",
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#fff"/>',
        '<defs><marker id="tip" viewBox="0 0 10 10" refX="9" refY="5" markerWidth="8" '
        'markerHeight="8" orient="auto"><path d="M0 0L10 5L0 10z"/></marker></defs>',
    ]
    at = [20 + n * (TALL + GAP) for n in range(4)]
    for y, box in zip(at, RECORDS, strict=True):
        drawn += _box(box, LEFT, y, WIDE, TALL)
        drawn.append(_line(LEFT + WIDE, y + TALL / 2, MIDDLE - 2, y + TALL / 2))
    high = at[-1] + TALL - at[0]
    drawn += _box(JUDGE, MIDDLE, at[0], 200, high, heavy=True)
    for y, box in zip(at, TOLD, strict=True):
        drawn += _box(box, RIGHT, y, WIDE, TALL)
        drawn.append(_line(MIDDLE + 200, y + TALL / 2, RIGHT - 2, y + TALL / 2))
    low, end = at[-1] + TALL, HEIGHT - 22
    drawn.append(
        f'<path d="M{RIGHT + WIDE / 2} {low}V{end}H{LEFT + WIDE / 2}V{low + 2}" fill="none" '
        'stroke="#111" stroke-width="1.5" marker-end="url(#tip)"/>'
    )
    drawn.append(
        _text(
            WIDTH / 2, end - 8, "an act becomes a record; git keeps how it came about", middle=True
        )
    )
    return "\n".join([*drawn, "</svg>", ""])


def _box(
    box: Box, x: float, y: float, wide: float, tall: float, *, heavy: bool = False
) -> list[str]:
    lines = [*box.says, ", ".join((*box.files, *box.commands))]
    step = 19
    first = y + (24 if not heavy else tall / 2 - step * len(lines) / 2)
    return [
        f'<rect x="{x}" y="{y}" width="{wide}" height="{tall}" rx="4" fill="none" stroke="#111" '
        f'stroke-width="{3 if heavy else 1.5}"/>',
        _text(x + 12, first, box.heading, bold=True),
        *(
            _text(x + 12, first + step * n, line, mono=line == lines[-1] and not heavy)
            for n, line in enumerate(lines, start=1)
            if line
        ),
    ]


def _text(
    x: float, y: float, says: str, *, bold: bool = False, mono: bool = False, middle: bool = False
) -> str:
    more = ' font-weight="bold" font-size="16"' if bold else ""
    more += ' font-family="DejaVu Sans Mono, monospace" font-size="12"' if mono else ""
    more += ' text-anchor="middle"' if middle else ""
    return f'<text x="{x:g}" y="{y:g}"{more}>{escape(says)}</text>'


def _line(x1: float, y1: float, x2: float, y2: float) -> str:
    return (
        f'<line x1="{x1:g}" y1="{y1:g}" x2="{x2:g}" y2="{y2:g}" stroke="#111" stroke-width="1.5" '
        'marker-end="url(#tip)"/>'
    )
