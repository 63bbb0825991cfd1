"""The life of a cylinder: what was changed after the fact, then one timeline."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, groupby
from typing import Any

from msgspec import Struct

from tankbook.output.as_json import record
from tankbook.output.audit import FOUND, LIMITS, SHALLOW, commit_data, lines
from tankbook.output.page import Page, counted, titled
from tankbook.output.screen import one_line
from tankbook.output.tables import Column, Table, table
from tankbook.records.log import LogLine
from tankbook.records.words import LogAct
from tankbook.rules.changes import Values
from tankbook.rules.fill_history import void_key
from tankbook.rules.history import Event, LifeStory, MonthOfLog
from tankbook.rules.tamper_signs import FoundSign, Sign


class GitLook(Struct, frozen=True):
    """What git had to say: how closely the log was looked at, or why git was not asked."""

    every: str = ""
    why_not: str = ""
    shallow: bool = False


def data(life: LifeStory, archive: GitLook, *, fills: bool = False) -> dict[str, Any]:
    """The JSON shape of `history`. `fills` gives every line of the log."""
    return {
        "id": life.id,
        "changed": None if archive.why_not else bool(life.changes),
        "git": None
        if archive.why_not
        else {"log_compared": archive.every, "shallow": archive.shallow},
        "events": EVENTS.objects(life.events),
        "months": MONTHS.objects(life.months),
        "lines": [{**record(n), "struck_out": _struck_out(n, life)} for n in life.lines]
        if fills
        else None,
        "changes": FOUND.objects(life.changes),
        "corrections": life.corrections,
    }


def _struck_out(line: LogLine, life: LifeStory) -> bool:
    return line.act is not LogAct.VOID and void_key(line) in life.struck_out


def headline(life: LifeStory, archive: GitLook) -> str:
    """What was changed after the fact, and how much there is, in one line."""
    changes = len(life.changes)
    said = f"{counted(changes, 'CHANGE', 'CHANGES')} AFTER THE FACT"
    if not changes:
        said = "changes unknown without git" if archive.why_not else "no past entry found changed"
    parts = [counted(len(life.events), "entry", "entries")]
    parts += [counted(life.fills, "fill")] if life.filled else []
    if life.ends:
        parts.append(life.ends[0] if life.ends[0] == life.ends[1] else " to ".join(life.ends))
    return f"{life.id}: {said}; {', '.join(parts)}"


def about_bundle(id_: str, tip: str, why_not: str, version: str, told: Sequence[str] = ()) -> str:
    """What a bundle of one cylinder holds, and how it is proved; a page for whoever is given it.

    `told` is what is to be said of its records besides.
    """
    latest = f"commit {tip}" if tip else f"no commit: {why_not}"
    more = "".join(f"{line}\n" for line in map(one_line, told))
    return f"""What is on record of {id_}
Made by tankbook {version} from {latest}.
{more}
history.txt, history.json  its life in one timeline; what was changed in past entries comes first
cylinders, sets            its card and the sets it is in; of a set the cards of its cylinders
fills                      every line of the fill log that names it, as written
sources                    the lines of the log of what it was filled from
station.yaml               banks, compressor, air tests, filters, gauges
counter.yaml               what the counter keeps, whole, of others too: by serials and references
papers, other-papers       the papers that station.yaml names, as far as they lie in the ledger
tankbook.yaml, rules, checklists
                           the settings, and the ledger's own rules and checklists
at-last-fill               settings, station, rules and checklists as they were at its last fill
shipped                    the rules, checklists and tables of this program that were in force
versions, commits.txt      each version of its card that git has, and the commits that made them
SHA256SUMS                 a digest of each file: `sha256sum -c SHA256SUMS` proves them

A file that SHA256SUMS does not list was put here by somebody else; this names any:
    find . -type f ! -name SHA256SUMS | sed 's|^[.]/||' | while read -r f; do
      grep -qF "  $f" SHA256SUMS || echo "not listed: $f"; done

The digest of SHA256SUMS stands for all of it: write it down where it cannot be altered. Names and
telephone numbers of customers have no place in these files; one that somebody typed into a reason
or a note stands there as it was typed. Read them before you give this away.
What git proves, and what it does not, is said in docs/evidence.md of the program.
"""


def text(life: LifeStory, archive: GitLook, page: Page, *, fills: bool = False) -> str:
    """The headline, what was changed after the fact, the timeline, and what that covers."""
    changed = [line for each in life.changes for line in lines(each, page, _label(each))]
    return page.answer(
        headline(life, archive),
        titled(f"Changed or removed after the fact ({len(life.changes)})", "\n".join(changed)),
        _timeline(life, page, fills),
        page.paragraphs(_covers(life, archive, fills)),
    )


def _label(found: FoundSign) -> str:
    return f"{CHANGED[found.sign]}: {found.what}" if found.what else CHANGED[found.sign]


CHANGED = {
    Sign.ENTRY_ALTERED: "ENTRY ALTERED",
    Sign.ENTRY_REMOVED: "ENTRY REMOVED",
    Sign.FACT_ALTERED: "FACT CHANGED",
    Sign.RECORD_REMOVED: "FILE REMOVED",
    Sign.LINE_EDITED: "LOG LINE EDITED",
    Sign.LINE_REMOVED: "LOG LINE REMOVED",
    Sign.LOST_IN_MERGE: "LOST IN A MERGE",
    Sign.UNREADABLE: "COULD NOT BE READ",
}
"""How an edit or a removal is said."""


def _covers(life: LifeStory, archive: GitLook, fills: bool) -> Iterator[str]:
    if life.months and not fills:
        yield "Fills are summed up by the month; --fills lists each."
    if archive.why_not:
        yield f"Git was not asked: {archive.why_not}. Changes after the fact cannot be seen."
        return
    if archive.shallow:
        yield SHALLOW
    if archive.every not in ("", "commit"):
        yield (
            f"The log is long: its lines were compared as they stood at the end of each "
            f"{archive.every}. `tankbook audit` reads every commit."
        )
    yield LIMITS


def _timeline(life: LifeStory, page: Page, fills: bool) -> str:
    """All that happened by date: of one date the month of the log first, what was changed last."""
    parts = (
        MONTHS.rows(() if fills else life.months, page),
        EVENTS.rows(life.events, page),
        _log(life).rows(life.lines if fills else (), page),
        CHANGES.rows(life.changes, page),
    )
    rows = sorted(chain(*parts), key=lambda cells: cells[0])
    return table(EVENTS.heads, rows, page, wrap=("what", "by"))


def _recorded(event: Event) -> str:
    if event.commit is None:
        return "" if event.committed else "not committed"
    return f"{event.commit.at:%Y-%m-%d} {event.commit.short}"


FIRST = {
    "requalified": ("method", "result"),
    "inspected": ("checklist", "result"),
    "held": ("why",),
    "rejected": ("why",),
    "condemned": ("why",),
    "jobs": ("work",),
    "refused": ("reasons",),
    "stolen": ("serial", "why"),
    "incidents": ("what",),
}
"""What is said of an entry without naming its key."""
_APART = ("on", "by", "void.why", "void.by", "void.on")


def _what(event: Event) -> str:
    place = event.place.replace("_", " ")
    if "before" in event.values:
        return f"{place}: {event.values['before']} -> {event.values['after'] or 'nothing'}"
    said = ", ".join(_words(event.place, event.values))
    what = f"{place}: {said}" if said else place
    if not event.struck_out:
        return what
    values = event.values
    why, by, on = (values.get(f"void.{k}", "") for k in ("why", "by", "on"))
    return f"STRUCK OUT ({why}; {by}, {on}) {what}"


def _words(place: str, values: Values) -> Iterator[str]:
    first = FIRST.get(place, ())
    yield from (values[k] for k in first if k in values)
    rest = ((k, v) for k, v in values.items() if k not in first and k not in _APART)
    for name, group in groupby(rest, key=lambda pair: pair[0].partition(".")[0]):
        said = [(key.rpartition(".")[2], value) for key, value in group]
        if "[" in name:  # an entry inside the entry
            yield f"{name.partition('[')[0]}: {' '.join(value for _, value in said)}"
        else:
            prefix = "" if len(said) == 1 and said[0][0] == name else f"{name.replace('_', ' ')} "
            yield ", ".join(f"{prefix}{key.replace('_', ' ')} {value}" for key, value in said)


def _month(month: MonthOfLog) -> str:
    gases = ", ".join(f"{gas} {n}" for gas, n in month.gases)
    parts = [f"{counted(month.fills, 'fill')} ({gases})" if gases else ""]
    parts += [counted(month.fills, "fill")] if month.fills and not gases else []
    parts += [counted(month.readings, "reading")] if month.readings else []
    parts += [counted(month.drains, "drain")] if month.drains else []
    parts += [f"{month.struck_out} struck out"] if month.struck_out else []
    return ", ".join(filter(None, parts))


def _fill(line: LogLine, life: LifeStory) -> str:
    """What one line of the log says."""
    words: Iterable[object] = (
        line.from_ and f"from {line.from_}",
        line.to and f"to {line.to}",
        line.gas,
        line.o2 and f"o2 {line.o2}",
        line.he and f"he {line.he}",
        line.source_ and f"source {line.source_}",
        line.override and f"override: {line.override}",
        line.voids and f"strikes out {line.voids}",
        line.note,
    )
    said = f"{line.act}: " + ", ".join(str(w) for w in words if w)
    if _struck_out(line, life):
        said = f"STRUCK OUT {said}"
    if line.cylinder != life.id:
        said = f"{said} (as {line.cylinder})"
    return said.rstrip(": ")


EVENTS = Table[Event](
    Column("on", lambda e: e.on or None, "date", none=""),
    Column("what", lambda e: e.place),
    Column("values", lambda e: dict(e.values)),
    Column("", _what, "what"),
    Column("", lambda e: e.by, "by"),
    Column("struck_out", lambda e: e.struck_out),
    Column("committed", lambda e: e.committed),
    Column("commit", lambda e: commit_data(e.commit)),
    Column("", _recorded, "recorded"),
)
"""What is said of an entry, a fact that changed and the booking in. The timeline is of these and of
the three below, each of which has its headings."""

MONTHS = Table[MonthOfLog](
    Column("month", lambda m: m.month, "date"),
    Column("", _month, "what"),
    Column("fills", lambda m: m.fills),
    Column("readings", lambda m: m.readings),
    Column("drains", lambda m: m.drains),
    Column("struck_out", lambda m: m.struck_out),
    Column("gases", lambda m: dict(m.gases)),
    Column("by", lambda m: m.by, "by", " ".join),
    Column("", lambda m: "", "recorded"),
)
"""What is said of a month of the log."""


def _log(life: LifeStory) -> Table[LogLine]:
    """What people read of a line of the log; JSON has its own keys."""
    return Table[LogLine](
        Column("", lambda n: n.at.date(), "date"),
        Column("", lambda n: _fill(n, life), "what"),
        Column("", lambda n: n.by, "by", none=""),
        Column("", lambda n: f"{n.at:%H:%M %z}", "recorded"),
    )


CHANGES = Table[FoundSign](
    Column("", lambda f: f.commit.at.date(), "date"),
    Column("", _label, "what"),
    Column("", lambda f: f.commit.author, "by"),
    Column("", lambda f: f.commit.short or "not committed", "recorded"),
)
"""What the timeline says of what was changed after the fact; JSON has it as `audit` has."""
