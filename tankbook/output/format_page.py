"""The page on the ledger's format, made from the keys the records declare."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tankbook.output.markdown import anchor, code, table
from tankbook.records.audited import AUDITED_PATH, Audited
from tankbook.records.checklist import Checklist
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.fields import Key, Kind, ListOf, MapOf, Nested, Record, keys_of
from tankbook.records.log import Booking, Contact, LogLine, columns
from tankbook.records.rulerow import RuleSet, TradeSize
from tankbook.records.settings import Settings
from tankbook.records.sheet import Sheet
from tankbook.records.station import Station

FILES: tuple[tuple[str, type[Record], str], ...] = (
    ("tankbook.yaml", Settings, "Settings, people and prices of the ledger. It must be there."),
    ("cylinders/RB-014.yaml", Cylinder, "One cylinder. The file's name is the cylinder's id."),
    (
        "sets/DB-02.yaml",
        Doubles,
        "Two manifolded cylinders, filled, rented and analysed as one. Each has its own file, too.",
    ),
    ("station.yaml", Station, "The fill station."),
    ("checklists/annual.yaml", Checklist, "An inspection checklist. The file's name is its name."),
    (
        "rules/shop.yaml",
        RuleSet,
        "The shop's own rules. A row takes the place of the shipped row of its id, and may ask "
        "no less, except of practice: by name and since a date.",
    ),
    (
        "sheets/small.yaml",
        Sheet,
        "A sheet of labels of the shop's own. The file's name is its name, and goes before a "
        "shipped sheet of that name.",
    ),
    (
        AUDITED_PATH,
        Audited,
        "Up to where the history was audited. `audit --checkpoint` writes it; "
        "docs/evidence.md says what it proves.",
    ),
)

LINES: tuple[tuple[str, type[Record], str], ...] = (
    ("fills/2026.csv", LogLine, "The fill log, one line an act, only ever appended to."),
    ("bookings.csv", Booking, "What is wanted on a day."),
    (
        "contacts.csv",
        Contact,
        "Names and telephone numbers by reference. Git must not know it: `validate` refuses it.",
    ),
)

HEAD = """\
# The format of a ledger

<!-- Made from the records' own declarations; a test fails when it is stale. -->

A ledger is a folder of text files in UTF-8, kept under git. The records are YAML with one
restriction: every value is read as the text it is and typed by the key it stands under, so nothing
is guessed from spelling. `NO` stays `NO`, `0123` stays `0123`, `2026-02` is a month.

- A quantity carries its unit: `3000 psi`, `207 bar`, `11.1 L`, `14.2 kg`, `70 degF`, `32.4 %`,
  `18.50 USD`. A bare number is an error, except for counts. The decimal sign is a point. Pressures
  are gauge pressures.
- A date is a day, `2026-02-09`, or a month where that is all that is stamped, `2026-02`.
- An empty value is a missing one. `~` and `null` are text, and so an error.
- Where a list is asked for, a single value stands for a list of one.
- Unknown keys, keys given twice, anchors, aliases, tags, a second document and the marks git leaves
  in a conflict are faults. `tankbook validate` names each with line and column.
- Words of both shores are read (rental and hire, yoke and a-clamp); the first is written back.
- A wrong entry is never taken out: it is struck out with `void: {why: ..., by: MV, on: 2026-02-10}`
  and stays readable.
- Customers appear by reference only. Names and telephone numbers go into `contacts.csv`, which git
  ignores.
- What can be worked out (due dates, contents, totals) is worked out on reading and stored nowhere.

"""

LOG_NOTES = """\
RFC 4180 with a header line, UTF-8, lines ending in LF, and no line break inside a cell, so that git
can join the lines of two branches (`merge=union` in `.gitattributes`). A mistake is corrected by a
line with `act` `void` that names the line it strikes out, never by editing. `source` and `position`
are what a recall for bad air is traced by.
"""


def format_page(sizes: Sequence[TradeSize] = ()) -> str:
    """The whole page, in Markdown, with the trade sizes that `size:` may name."""
    lines = ["## Files", ""]
    for path, record, about in (*FILES, *LINES):
        lines.append(f"- `{path}`: {anchor(_heading(record))}. {about}")
    lines += ["", BESIDE.rstrip()]
    for path, record, about in FILES:
        lines += ["", f"## {_heading(record)}", "", f"`{path}`. {about}", "", *_keys(record)]
    for path, record, about in LINES:
        lines += ["", f"## {_heading(record)}", "", f"`{path}`. {about} The header is:", ""]
        lines += ["```", ",".join(columns(record)), "```", "", *_keys(record)]
        if record is LogLine:
            lines += ["", LOG_NOTES.rstrip()]
    top = {record for _, record, _ in (*FILES, *LINES)}
    lines += ["", "## Records inside records"]
    for record in _inside(top):
        lines += ["", f"### {_heading(record)}", "", (record.__doc__ or "").strip(), ""]
        lines += _keys(record)
    if sizes:
        lines += ["", "## Trade sizes", "", SIZES_NOTE, *_sizes(sizes)]
    return HEAD + "\n".join(lines) + "\n"


BESIDE = """\
## What lies beside them

Photographs, papers, a README, label sheets and what an editor leaves may lie in any of these
folders. A record that is not read may not: it is told in the first line of every answer, and
refuses what it would have spoken of. A file that is not read under its name is taken for a record

- by its name, where behind its first point stands the ending of a record (`yaml`, `yml`; in
  `fills` also `csv`, `tsv` or that of a spreadsheet), in whatever case: `DB-02.yml`,
  `DB-02.yaml.orig`, `2026.CSV`; or
- by its text, where its first line, comments aside, or half of its lines at the margin begin with
  a key of a record, and among them is one that tells its kind: `cylinders` a set; `serial`, a
  pressure or a specification beside another key, or a list of what was done, a card; `rows` rules;
  two keys of the station, the station. The heading or a line of the log tells the log.

So it is in a folder within, in one whose name differs by its capitals or its plural, and by its
text beside `tankbook.yaml`. A file whose name is that of a record that lies there, with an ending
more (`RB-014.yaml~`), is a copy and left alone. Pictures, papers of an office and archives are
known by their ending and not opened; hidden files only where they end as a record does, hidden
folders never. What is to be kept and not read goes into a folder of another name, such as
`archive`.

What may be a set refuses the cylinders that its text names, or, where it names no two, every one
that is in no other set; what may be a card, the id of its name and the cylinders whose serial
stands in it; what may be a log, rules or the station, all. It does not matter in which of the
folders it lies.
"""


SIZES_NOTE = """\
US shoulders state no water volume. `size:` names one of these nominal ones, or one of the shop's
own (`sizes` in `tankbook.yaml`); the volume recorded for a cylinder always goes before it, and
every answer says which was used.
"""


def _sizes(sizes: Sequence[TradeSize]) -> list[str]:
    rows = [
        (
            code(size.name),
            str(size.water_volume),
            str(size.service_pressure or ""),
            size.material.value if size.material else "",
            f"{size.citation} ({size.verified})",
        )
        for size in sizes
    ]
    return table(("size", "water volume", "service pressure", "material", "source"), rows)


def _heading(record: type[Record]) -> str:
    return record.title[:1].upper() + record.title[1:]


def _keys(record: type[Record]) -> list[str]:
    rows = [_key(k) for k in keys_of(record).values()]
    return table(("key", "kind", "meaning", "example", "must be there"), rows)


def _key(key: Key) -> tuple[str, ...]:
    return (
        code(key.name),
        _kind(key.kind),
        key.doc,
        code(key.example),
        "yes" if key.required else "",
    )


def _kind(kind: Kind) -> str:
    """The kind by name; a record inside is linked to its own table."""
    if isinstance(kind, ListOf):
        return f"list of {_kind(kind.kind)}"
    if isinstance(kind, MapOf):
        return f"name: {_kind(kind.kind)}"
    if isinstance(kind, Nested):
        return anchor(_heading(kind.record))
    return kind.label


def _inside(top: set[type[Record]]) -> list[type[Record]]:
    """Every record that stands inside another, each once, in the order met."""
    found: dict[type[Record], None] = {}
    for _, record, _ in (*FILES, *LINES):
        found.update(dict.fromkeys(_nested(record)))
    return [r for r in found if r not in top]


def _nested(record: type[Record]) -> Iterator[type[Record]]:
    for key in keys_of(record).values():
        kind = key.kind
        while isinstance(kind, ListOf | MapOf):
            kind = kind.kind
        if isinstance(kind, Nested):
            yield kind.record
            yield from _nested(kind.record)
