"""The report: what it tells, section by section."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import shorten

from tankbook.output.bars import Bar, Series, bars
from tankbook.output.costs import notes as cost_notes
from tankbook.output.costs import said_counts, sums
from tankbook.output.document import Block, Document, Facts, Grid, Picture, Section, Words
from tankbook.output.drawing import Tone
from tankbook.output.due import left, subject, whole_name
from tankbook.output.may_fill import briefly
from tankbook.output.page import MONTHS, Page, counted, plain_date
from tankbook.output.words import CAUTION, NOT_ADVICE
from tankbook.records.rulerow import Obligation
from tankbook.rules.answers import Due, FleetRow, State
from tankbook.rules.costs import CostsAhead, Need, added, by_month, by_obligation
from tankbook.rules.summary import Kept, Summary
from tankbook.rules.worked import Fills, GasGroup
from tankbook.units import PartialDate

TOP = 10
"""Rows of a table on one page, before the rest is only counted."""

LONGEST = 150
"""Letters of a reason on one page."""

KINDS = (
    ("hydro", Tone.DARK, (Obligation.REQUALIFICATION,)),
    ("visual", Tone.PAPER, (Obligation.VISUAL,)),
    ("other", Tone.MID, ()),
)
"""The parts of a month's bar; `other` is whatever is left."""

GAS_TONES = {
    GasGroup.AIR: Tone.PAPER,
    GasGroup.NITROX: Tone.MID,
    GasGroup.OXYGEN: Tone.INK,
    GasGroup.HELIUM: Tone.DARK,
    GasGroup.UNKNOWN: Tone.PALE,
}


def report(told: Summary, page: Page, *, short: bool = False) -> Document:
    """The whole report, or the one page of it for a committee."""
    sections = _short(told) if short else _whole(told, page)
    return Document(
        title=f"{told.ledger}: {'summary' if short else 'report'}",
        told=f"As of {plain_date(told.today)}. {headline(told)}",
        sections=tuple(sections),
        foot=(CAUTION, NOT_ADVICE),
        short=short,
    )


def made(document: Document, ending: str, paper: str) -> bytes:
    """The report as a file. Raises `PaperError` for a character that cannot be printed."""
    if ending == ".pdf":
        from tankbook.output.report_pdf import pdf

        return pdf(document, paper)
    from tankbook.output.html import page as html_page

    return html_page(document).encode()


def headline(told: Summary) -> str:
    """The answer in a sentence: how many, how they stand, and what the year ahead costs."""
    total = sum(row.count for row in told.fleet)
    fit = sum(row.fillable for row in told.fleet)
    late = len(told.board.overdue)
    money = sums(added(n.price for n in told.ahead.needs))
    return (
        f"{counted(total, 'cylinder')}, {fit} fit to be filled; "
        f"{late or 'nothing'} overdue; the next twelve months cost {money}."
    )


def _whole(told: Summary, page: Page) -> Iterator[Section]:
    yield Section("glance", "The fleet at a glance", (facts_of(told), _fleet(told.fleet)))
    yield Section("overdue", "Overdue and held", tuple(_overdue(told)))
    yield Section("ahead", "The next twelve months", (_ahead(told.ahead),))
    yield Section("fills", "Fills by month and gas", tuple(_fills(told.fills)))
    yield Section("work", "Work per cylinder", (_worked(told),))
    yield Section("station", "Station upkeep", tuple(_station(told)))
    yield Section("counter", "Jobs and rental", tuple(_counter(told)))
    yield Section("costs", "What the next twelve months cost", tuple(_costs(told.ahead, page)))


def _short(told: Summary) -> Iterator[Section]:
    yield Section("glance", "At a glance", (facts_of(told),))
    rows = [_late_row(d) for d in told.board.overdue]
    rows += [_kept_row(k) for k in told.kept]
    rows = [(what, since, _shortened(why)) for what, since, why in rows]
    grid = _first("Overdue, held and rejected", ("what", "since", "why"), rows)
    yield Section("overdue", "Overdue and held", (grid,) if rows else (Words("Nothing."),))
    yield Section("ahead", "The next twelve months", (_ahead(told.ahead),))
    yield Section("costs", "What they cost", (_cost_grid(told.ahead),))


def _shortened(text: str) -> str:
    """A reason short enough for two lines of a page; the whole report has all of it."""
    return shorten(" ".join(text.split()), LONGEST, placeholder=" ...")


def _first(caption: str, headers: tuple[str, ...], rows: list[tuple[str, ...]]) -> Grid:
    """The first rows of a table; the rest is counted in its last."""
    shown = rows[:TOP]
    if len(rows) > TOP:
        rest = len(rows) - TOP
        shown.append((f"and {rest} more", *[""] * (len(headers) - 1)))
    return Grid(caption, headers, tuple(shown))


def facts_of(told: Summary) -> Facts:
    board = told.board
    station = "closed" if board.station_refusals else "open" if board.station else "not on record"
    late = sum(d.kind == "cylinder" for d in board.overdue)
    pairs = (
        ("cylinders", str(sum(row.count for row in told.fleet))),
        ("in service", str(sum(row.in_service for row in told.fleet))),
        ("fit to be filled", str(sum(row.fillable for row in told.fleet))),
        ("overdue, of cylinders", str(late)),
        ("held or rejected", str(len(told.kept))),
        ("out on rental", str(len(told.rental.out))),
        ("away at test or repair", str(len(board.away))),
        ("station", station),
        ("fills in twelve months", str(told.fills.total)),
        ("cost of the next twelve", sums(added(n.price for n in told.ahead.needs))),
    )
    alarm = [name for name, bad in (
        ("overdue, of cylinders", late),
        ("held or rejected", told.kept),
        ("station", board.station_refusals),
    ) if bad]  # fmt: skip
    return Facts(pairs, tuple(alarm))


def _fleet(rows: Sequence[FleetRow]) -> Grid:
    return Grid(
        "Cylinders by use and size",
        ("use and size", "count", "in service", "fit", "overdue", "oldest test"),
        tuple(
            (
                f"{row.use or 'use not recorded'} {row.size}",
                str(row.count),
                str(row.in_service),
                str(row.fillable),
                str(row.overdue),
                str(row.oldest or "-"),
            )
            for row in rows
        ),
        right=(1, 2, 3, 4),
        alarm=tuple(i for i, row in enumerate(rows) if row.overdue),
    )


def _overdue(told: Summary) -> Iterator[Block]:
    late = told.board.overdue
    if late:
        rows = tuple((*_late_row(d)[:2], _stands(d), *_late_row(d)[2:]) for d in late)
        heads = ("what", "since", "late by", "rule")
        yield Grid("Overdue", heads, rows, right=(2,), alarm=tuple(range(len(rows))))
    else:
        yield Words("Nothing is overdue.")
    if told.board.missing:
        rows = tuple(
            (whole_name(subject(d), d.obligation.called), d.why or "nothing on record")
            for d in told.board.missing
        )
        yield Grid("Not on record, so not known to be in date", ("what", "why"), rows)
    if told.kept:
        yield Grid(
            "Held and rejected", ("cylinder", "since", "why"), tuple(map(_kept_row, told.kept))
        )
    else:
        yield Words("Nothing is held.")
    if told.board.station_refusals:
        lines = tuple((briefly(r), r.mend or "-") for r in told.board.station_refusals)
        yield Grid("Why the station is closed", ("reason", "how to mend it"), lines)


def _late_row(item: Due) -> tuple[str, ...]:
    return (
        whole_name(subject(item), item.obligation.called),
        str(item.next or item.last or "-"),
        item.why or item.citation,
    )


def _stands(item: Due) -> str:
    return left(item).removeprefix("-")


def _kept_row(kept: Kept) -> tuple[str, ...]:
    return (f"{kept.id} {kept.status}", str(kept.since or "-"), kept.why or "no reason on record")


def _ahead(ahead: CostsAhead) -> Picture:
    """What falls due: a bar for what is late, and one for each month."""
    late = [n for n in ahead.needs if n.late]
    rows = [Bar("overdue", _parts(late))] if late else []
    rows += [
        Bar(short_month(m), _parts([n for n in ahead.needs if n.month == m and not n.late]))
        for m in ahead.months
    ]
    grid = Grid(
        "Tests and checks by month",
        ("month", *(name for name, _, _ in KINDS), "all"),
        tuple((r.name, *map(str, r.values), str(sum(r.values))) for r in rows),
        right=tuple(range(1, len(KINDS) + 2)),
        alarm=(0,) if late else (),
    )
    busiest = max(rows, key=lambda r: sum(r.values))
    says = (
        f"{counted(len(ahead.needs), 'test and check', 'tests and checks')} in twelve months, "
        f"{len(late)} of them overdue; most in {busiest.name} ({sum(busiest.values)})."
    )
    series = [Series(name, tone) for name, tone, _ in KINDS]
    return Picture("due", bars("What falls due, month by month", says, series, rows), grid)


def _parts(needs: Sequence[Need]) -> tuple[int, ...]:
    named = [sum(n.obligation in which for n in needs) for _, _, which in KINDS[:-1]]
    return (*named, len(needs) - sum(named))


def short_month(month: PartialDate) -> str:
    """`Nov 2026`."""
    return f"{MONTHS[month.month - 1]} {month.year}"


def _fills(fills: Fills) -> Iterator[Block]:
    if not fills.total:
        yield Words("No fill is on record in the last twelve months.")
        return
    groups = fills.groups
    rows = [
        Bar(short_month(m), tuple(dict(counts).get(g, 0) for g in groups))
        for m, counts in zip(fills.months, fills.counts, strict=True)
    ]
    grid = Grid(
        "Fills by month and gas",
        ("month", *map(str, groups), "all"),
        tuple((r.name, *map(str, r.values), str(sum(r.values))) for r in rows),
        right=tuple(range(1, len(groups) + 2)),
    )
    busiest = max(rows, key=lambda r: sum(r.values))
    says = f"{fills.total} fills in twelve months; most in {busiest.name} ({sum(busiest.values)})."
    series = [Series(str(g), GAS_TONES[g]) for g in groups]
    yield Picture("fills", bars("Fills, month by month", says, series, rows), grid)


def _worked(told: Summary) -> Grid | Words:
    if not told.worked:
        return Words("No work is on record in the last twelve months.")
    return Grid(
        "The last twelve months, most filled first",
        ("cylinder", "fills", "rentals", "visuals", "hydros", "valve", "cleaned", "jobs"),
        tuple(
            (w.id, *map(str, (w.fills, w.rentals, w.visuals, w.hydros, w.services, w.cleanings,
             w.jobs)))
            for w in told.worked
        ),
        right=tuple(range(1, 8)),
    )  # fmt: skip


def _station(told: Summary) -> Iterator[Block]:
    items = told.board.station
    if not items:
        yield Words("No station is on record.")
        return
    yield Grid(
        "Parts of the station",
        ("part", "last", "next", "left"),
        tuple(
            (
                whole_name(subject(d), d.obligation.called),
                str(d.last or "-"),
                str(d.next or "-"),
                "NOT ON RECORD" if d.state is State.MISSING else left(d),
            )
            for d in items
        ),
        right=(3,),
        alarm=tuple(i for i, d in enumerate(items) if d.state in {State.OVERDUE, State.MISSING}),
    )


def _counter(told: Summary) -> Iterator[Block]:
    jobs = told.workshop.jobs
    if jobs:
        rows = tuple(
            (
                f"{line.id} {', '.join(line.job.work)}",
                line.job.reference or "-",
                line.state.value.replace("-", " "),
                str(line.job.promised or "-"),
                "LATE" if line.late else "to call" if line.to_call else "",
            )
            for line in jobs
        )
        late = tuple(i for i, line in enumerate(jobs) if line.late)
        heads = ("job", "reference", "stands", "promised", "note")
        yield Grid("Jobs not collected", heads, rows, alarm=late)
    else:
        yield Words("No job is open.")
    out = told.rental.out
    if out:
        rows = tuple(
            (e.id, e.to, str(e.since), str(e.until or "-"),
             "LATE" if e.is_late(told.today) else "")
            for e in out
        )  # fmt: skip
        late = tuple(i for i, e in enumerate(out) if e.is_late(told.today))
        heads = ("cylinder", "to", "since", "due back", "note")
        yield Grid("Out on rental", heads, rows, alarm=late)
    else:
        yield Words("Nothing is out on rental.")
    if told.rental.days:
        booked = tuple(
            (
                str(day.day),
                str(sum(w.count for w in day.wants)),
                str(day.short) if day.short else "-",
            )
            for day in told.rental.days
        )
        short = tuple(i for i, day in enumerate(told.rental.days) if day.short)
        yield Grid("Booked", ("day", "cylinders", "short"), booked, right=(1, 2), alarm=short)


def _costs(ahead: CostsAhead, page: Page) -> Iterator[Block]:
    yield _cost_grid(ahead)
    yield Grid(
        "By month",
        ("month", "tests and checks", "in all"),
        tuple(
            (short_month(month), said_counts(s) or "-", sums(s.total))
            for month, s in zip(ahead.months, by_month(ahead), strict=True)
        ),
        right=(2,),
    )
    for note in cost_notes(ahead, Page(100_000, page.shore)):
        yield Words(note)


def _cost_grid(ahead: CostsAhead) -> Grid:
    rows = [
        (c.obligation.called, str(c.count), str(c.each or "no price set"), str(c.total or "-"))
        for c in by_obligation(ahead)
    ]
    rows.append(("all", str(len(ahead.needs)), "", sums(added(n.price for n in ahead.needs))))
    return Grid(
        "By test and check", ("what", "count", "each", "in all"), tuple(rows), right=(1, 2, 3)
    )
