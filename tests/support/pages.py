"""The reference pages of docs/, made from what the program declares: commands, rules, format."""

from __future__ import annotations

import inspect
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence

from tankbook.output.rules import rows_of, says
from tankbook.records.audited import AUDITED_PATH, Audited
from tankbook.records.checklist import Checklist
from tankbook.records.counter import CounterFile
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.explained import ExplainedTable
from tankbook.records.fields import Key, Kind, ListOf, MapOf, Nested, Record, keys_of
from tankbook.records.log import Booking, Contact, LogLine, columns
from tankbook.records.rulerow import RuleRow, RuleSet, TradeSize, WatchRow
from tankbook.records.settings import Settings
from tankbook.records.sheet import Sheet
from tankbook.records.station import Station

# --- the little of Markdown that they need


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


# --- the commands

COMMANDS_HEAD = """\
# The commands

<!-- Made from `--help`; a test fails when it is stale. -->

The ledger is found upward from the folder you stand in, or named with `--ledger DIR`. `--on DATE`
answers as on that day and ignores later records. `--json` answers for programs; the shapes are in
[json.md](json.md). Ids may be given by any tail that names one alone: `14` for `RB-014`. A bare
number takes the ledger's unit.

The first line is the answer. Exit codes: 0 done; 1 the answer is no (`validate` with a fault, `due`
with something overdue, `may-fill` with a refusal); 2 the request or a file is not understood; 3 a
fault of the program, with a report ready to paste.
"""


def command_page(helps: Mapping[str, str]) -> str:
    """The whole page, in Markdown, from the help text of each command by its name."""
    lines = []
    for name, text in helps.items():
        lines += ["", f"## {name}", "", "```", text.strip("\n"), "```"]
    return COMMANDS_HEAD + "\n".join(lines) + "\n"


# --- the rule sets

RULES_HEAD = """\
# The shipped rule sets

<!-- Made from the rule files; a test fails when it is stale. -->

A rule is a row of data; the program holds none of its own. Take a row away, and the answer that
rested on it becomes a refusal or a stated gap. Of all rows that speak of a cylinder, the strictest
answer counts. `bench` and `alloys` are in force in every ledger; the others are named in
`tankbook.yaml`.

A shop's own rows in `rules/*.yaml` may only ask more. A row of a shipped row's id takes its place
where it is as strict in everything. One that asks less of law, of a standard, of a notice, or of
what nobody may override is a fault, and the shipped row stays; so are two own rows of one id, and a
row that would grant a plus, clear an alloy or name a laxer air standard. One that asks less of
practice, or answers what a national set leaves open, says who decided (`by`), `why` and `since`
when, and is told with every answer it touches. A row counts from its `since`.

How a row is known: **read** in the text cited, **computed** from it, **from memory** (check before
relying on it), **inferred** from what was read. The grade is that of the source: A official and
current, B official but an old edition, C a copy by somebody else.

Nothing here is legal advice: local codes and licensed practice decide.
"""


def rules_page(rule_sets: Sequence[RuleSet]) -> str:
    """The whole page, in Markdown, with the sets in the order given."""
    lines = ["| set | what it is | rows | of them from memory |", "|---|---|---|---|"]
    for each in rule_sets:
        known = Counter(row.verified.value for row in rows_of(each))
        cells = (code(each.id), each.heading, str(len(rows_of(each))), str(known["memory"]))
        lines.append(f"| {' | '.join(cells)} |")
    for each in rule_sets:
        lines += ["", f"## {each.id}", "", *_about(each)]
        if each.rows:
            lines += ["", *table(RULE_COLUMNS, [_rule_cells(row) for row in each.rows])]
        if each.watch:
            lines += [
                "",
                "Watch rows:",
                "",
                *table(RULE_COLUMNS, [_rule_cells(row) for row in each.watch]),
            ]
    return RULES_HEAD + "\n" + "\n".join(lines) + "\n"


RULE_COLUMNS = ("row", "what it says", "basis", "where it stands", "known", "note")


def _about(rule_set: RuleSet) -> list[str]:
    found = [f"{rule_set.heading}."]
    if not rule_set.stands_alone:
        found.append("It is no sufficient fill rule: it asks for a national or shop set beside it.")
    if rule_set.needs_stamp_means:
        found.append("Retest stamps are read only where the record says `stamp_means`.")
    if rule_set.note:
        found.append(rule_set.note)
    return found


def _rule_cells(row: RuleRow | WatchRow) -> tuple[str, ...]:
    source = f"{row.citation}; {row.edition}" if row.edition else row.citation
    known = f"{row.verified.value}, {row.grade}" if row.grade else row.verified.value
    return code(row.id), says(row), row.basis.value, source, known, row.note or ""


# --- the format of a ledger

FILES: tuple[tuple[str, type[Record], str], ...] = (
    ("tankbook.yaml", Settings, "Settings, people and prices of the ledger. It must be there."),
    ("cylinders/RB-014.yaml", Cylinder, "One cylinder. The file's name is the cylinder's id."),
    (
        "sets/DB-02.yaml",
        Doubles,
        "Two manifolded cylinders, filled, rented and analysed as one. Each has its own file, too.",
    ),
    ("station.yaml", Station, "The fill station."),
    (
        "counter.yaml",
        CounterFile,
        "What the counter keeps: cylinders by their serials, with or without a card here, and incidents.",
    ),
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
    (
        "bookings.csv",
        Booking,
        "What is wanted on a day. A file without the last column, `at`, is read as well.",
    ),
    (
        "contacts.csv",
        Contact,
        "Names and telephone numbers by reference. Git must not know it: `validate` refuses it.",
    ),
)

FORMAT_HEAD = """\
# The format of a ledger

<!-- Made from the records' own declarations; a test fails when it is stale. -->

A ledger is a folder of text files in UTF-8, kept under git. The records are YAML with one
restriction: every value is read as the text it is and typed by the key it stands under, so nothing
is guessed from spelling. `NO` stays `NO`, `0123` stays `0123`, `2026-02` is a month.

- A quantity carries its unit: `3000 psi`, `207 bar`, `11.1 L`, `14.2 kg`, `70 degF`, `32.4 %`,
  `18.50 USD`. A bare number is an error, except for counts. The decimal sign is a point. Pressures
  are gauge pressures.
- A date is a day, `2026-02-09`, or a month where that is all that is stamped, `2026-02`.
- Behind a blank and a `#` YAML reads a comment: a value that holds one goes in quotes, `place: "rack
  #3"`. A key that has a comment in the place of its value is a fault; so is a comment behind a value
  of a card that tells against the cylinder (`status: in-service # condemned`), and in a line of its
  own or behind an entry it is told with every answer. Nothing else is made of comments.
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
        lines += ["", f"### {_heading(record)}", "", inspect.cleandoc(record.__doc__ or ""), ""]
        lines += _keys(record)
    if sizes:
        lines += ["", "## Trade sizes", "", SIZES_NOTE, *_sizes(sizes)]
    return FORMAT_HEAD + "\n".join(lines) + "\n"


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
more (`RB-014.yaml.txt`) or a word (`RB-014 (1).yaml`), is a copy: it refuses its record where it says
what that does not. The older text that an editor keeps (`RB-014.yaml~`, `.bak`, `.orig`,
`#RB-014.yaml#`) does only where that tells against its cylinder. Pictures, papers of an office and archives are
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


# --- what codes and words mean

EXPLAINED_HEAD = """\
# What each code means

<!-- Made from what `tankbook explain` tells; a test fails when it is stale. -->

`tankbook validate` ends each finding with a code in brackets, `may-fill --json` gives one with each
reason, and a rule row answers a question. `tankbook explain CODE` tells of one at the command line
what stands here: what it means, why it matters, how it is mended, and where that stands. ID, DATE, WHY
and other words in capitals stand for your own. A question that is late gives the codes
`QUESTION-overdue` and `QUESTION-missing`. The rule rows themselves are in [rule-sets.md](rule-sets.md),
the words of the trade in [glossary.md](glossary.md).
"""

GLOSSARY_HEAD = """\
# Words of the trade

<!-- Made from what `tankbook explain` tells; a test fails when it is stale. -->

What is printed here uses the first word of the US column. Words of both shores are understood where a
file or a command asks for one. Common practice, no source: the trade's own words.
"""


def explained_page(table_: ExplainedTable) -> str:
    """Every code and question, by group, in Markdown."""
    lines = []
    for group in table_.groups:
        lines += ["", f"## {group.heading}", "", f"Where no source is named: {group.citation}."]
        for name, text in group.codes.items():
            source = f" (Source: {text.citation}.)" if text.citation else ""
            lines += ["", f"### {name}", "", f"{text.means}{source}", ""]
            lines += [f"- Why: {text.why}", f"- Mend: {text.mend}"]
    return EXPLAINED_HEAD + "\n".join(lines) + "\n"


def glossary_page(table_: ExplainedTable) -> str:
    """The glossary, in Markdown."""
    rows = [(word.us, word.uk, word.means) for word in table_.words]
    return GLOSSARY_HEAD + "\n" + "\n".join(table(("US", "UK", "what it is"), rows)) + "\n"


# --- the page for `man`

MAN_HEAD = r""".\" Made from the table of commands; a test fails when it is stale.
.TH TANKBOOK 1
.SH NAME
tankbook \- diving cylinders kept lawful, in test and correctly filled, from plain text
.SH SYNOPSIS
.B tankbook
.RI [ options ]
.RI [ command
.RI [ arguments ]]
.SH DESCRIPTION
A ledger is a folder of plain text files, one small YAML file a cylinder and a fill log, kept under git.
Without a command, today's board.
.B tankbook help
.I command
tells of one;
.B tankbook explain
.I code
of what a finding, a refusal or a rule row means.
A trained operator decides; the maker's and local rules come first.
.SH OPTIONS
.TP
.BI \-\-ledger " DIR"
The ledger's folder; else that of TANKBOOK_LEDGER, or the nearest one upward.
.TP
.BI \-\-on " DATE"
Answer as on this day.
.TP
.BI \-\-as\-of " DATE|REV"
Answer from the ledger as git had it then.
.TP
.B \-\-json
Answer as JSON, a refusal too.
.TP
.BR \-V ", " \-\-version
Print the version.
.TP
.BR \-h ", " \-\-help
Show the help, also of a command.
.PP
Where a file is read,
.B \-
is standard input.
"""

MAN_TAIL = r""".SH EXIT STATUS
.TP
.B 0
Done.
.TP
.B 1
The answer is no.
.TP
.B 2
The request or a file is not understood.
.TP
.B 3
A fault of the program.
.SH ENVIRONMENT
.TP
.B TANKBOOK_LEDGER
The ledger's folder, where \-\-ledger does not say it. It is refused where you stand in another ledger.
.TP
.B NO_COLOR
Nothing is coloured.
.SH FILES
.TP
.I tankbook.yaml
Settings of a ledger; it lies at its top. The other files are described in
.IR share/doc/tankbook/ledger\-format.md .
"""


def man_page(by_work: Mapping[str, Mapping[str, str]]) -> str:
    """The page for `man`: each command with what it does, by the work."""
    lines = []
    for work, listed in by_work.items():
        lines.append(f".SH {work.upper()}")
        for name, briefly in listed.items():
            lines += [".TP", f".B {_roff(name)}", _roff(briefly)]
    return MAN_HEAD + "\n".join(lines) + "\n" + MAN_TAIL


def _roff(text: str) -> str:
    """A text as roff reads it back: a hyphen typed as one, no line of it a request."""
    plain = text.replace("\\", r"\e").replace("-", r"\-")
    return rf"\&{plain}" if plain.startswith((".", "'")) else plain
