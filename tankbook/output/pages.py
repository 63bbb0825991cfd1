"""Pages that a folder holds: a board for the counter, one of each cylinder, the station, the month.

A page never says that a cylinder may be filled. It says DO NOT FILL and why; or that nothing was
against it when it was written, and the day after which it says nothing any more. One of a day that
was asked about says so in its title, and nothing of any other day.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from functools import partial

from msgspec import Struct
from msgspec.structs import replace

from tankbook.output import due as due_output
from tankbook.output import report as report_output
from tankbook.output.card import Card, entries_of, facts
from tankbook.output.document import Block, Document, Facts, Grid, Section, Words
from tankbook.output.html import page as html_page
from tankbook.output.may_fill import briefly, limit_text
from tankbook.output.page import Page, counted, plain_date
from tankbook.output.page_names import BOARD, MONTH, STATION, file_name
from tankbook.output.report import grid_of
from tankbook.output.tables import Column, Table
from tankbook.output.tags import clean_said
from tankbook.output.unnamed import Unnamed
from tankbook.output.words import CAUTION, DO_NOT_FILL, HELIUM, NOT_ADVICE, OR_USE, obligation
from tankbook.records.commits import Commit
from tankbook.records.log import LogLine
from tankbook.rules.answers import BankState, Due, Reason
from tankbook.rules.labels import not_to_use
from tankbook.rules.summary import Summary
from tankbook.units.patterns import pattern

NOTHING_AGAINST = "Nothing against it"
ASK = "Ask the station before every fill."
SHOWN_APART = 6
"""So many files in no commit are named."""
TOP = 12
"""So many of the latest fills and entries a cylinder's page shows; `history` has all."""


# --- when it was written


class WrittenAt(Struct, frozen=True):
    """When a page was written: the moment; of a past day that was asked about, that day alone."""

    at: dt.datetime | dt.date

    @property
    def day(self) -> dt.date:
        """The day it was judged for."""
        return self.at.date() if isinstance(self.at, dt.datetime) else self.at

    @property
    def said(self) -> str:
        """`30 Nov 2026, 14:05`."""
        day = plain_date(self.day)
        return f"{day}, {self.at:%H:%M}" if isinstance(self.at, dt.datetime) else day

    def may_stand(self, now: WrittenAt) -> bool:
        """Whether a page so stamped can have been written before now, in the same way."""
        if isinstance(self.at, dt.datetime) and isinstance(now.at, dt.datetime):
            return self.at <= now.at
        return self.at == now.at  # of another day it is another page

    @property
    def of_day(self) -> str:
        """What a title says besides, of a day that was asked about; else an empty text."""
        return "" if isinstance(self.at, dt.datetime) else f" on {self.said}"


_MARK = pattern(
    rb'<meta name="tankbook-page" content="([0-9a-f]{16,64}) ([0-9T:+-]{10,25})'
    rb'(?: ([0-9a-f]{32}))?">'
)
LOOKED_AT = 1024
"""A page says within so many bytes what it is."""


def mark_of(data: bytes) -> tuple[str, WrittenAt] | None:
    """Of which ledger a file is a page, and when it was written; None where it is none of ours."""
    found = _MARK.search(data[:LOOKED_AT])
    if found is None:
        return None
    ledger, text = (part.decode() for part in found.groups()[:2])
    try:
        day = dt.date.fromisoformat(text) if "T" not in text else dt.datetime.fromisoformat(text)
    except ValueError:
        return None
    if isinstance(day, dt.datetime) and day.tzinfo is None:
        return None
    return ledger, WrittenAt(day)


def tip_of(data: bytes) -> str:
    """The commit that a board was made from, as the ledger knows it; else an empty text."""
    found = _MARK.search(data[:LOOKED_AT])
    return (found[3] or b"").decode() if found else ""


def closes(data: bytes) -> bool:
    """Whether what a page of ours says first is DO NOT FILL."""
    return f"<p>{DO_NOT_FILL}".encode() in data


class PageDraft(Struct, frozen=True):
    """A page to be: its file's name, what it says if it was written then, and whether that is DO
    NOT FILL."""

    name: str
    made: Callable[[WrittenAt], Document]
    closed: bool = False
    always: bool = False
    """Whether it says when it was built, whatever it said before."""


def written(
    draft: PageDraft, ledger: str, now: WrittenAt, there: bytes | None, tip: str = ""
) -> bytes | None:
    """The page, `ledger` being what its ledger is known by; None where the one that is there says
    the same, and still may.

    The board alone says from which commit it was made, `tip`. Only when it was written may differ:
    what a page says beside follows from the records and the day, so that one whose answer turned,
    or whose last day is past, is never the same.
    """

    def made(stamp: WrittenAt) -> bytes:
        mark = f"{ledger} {stamp.at.isoformat()}"
        mark += f" {tip}" if tip and draft.always else ""
        return html_page(replace(draft.made(stamp), mark=mark)).encode("utf-8", "replace")

    was = mark_of(there) if there is not None and not draft.always else None
    if was is not None and was[1].may_stand(now) and made(was[1]) == there:
        return None
    return made(now)


class PagesDone(Struct, frozen=True):
    """What was done: how many pages there are, the names of those written anew and taken away."""

    folder: str
    count: int
    written: tuple[str, ...]
    removed: tuple[str, ...]
    at: WrittenAt
    uncommitted: tuple[str, ...] = ()
    """The ledger's files that are in no commit as they are: other copies know nothing of it."""


def data(done: PagesDone) -> dict[str, object]:
    """The JSON shape of `pages`."""
    return {
        "folder": done.folder,
        "pages": done.count,
        "written": list(done.written),
        "removed": list(done.removed),
        "at": done.at.at.isoformat(),
        "uncommitted": list(done.uncommitted),
    }


def text(done: PagesDone, run: PageRun, page: Page) -> str:
    """The answer in a sentence, and how long it holds."""
    closed = sum(not each.card.answer.fillable for each in run.seen)
    said = f"{counted(done.count, 'page')} in {done.folder}: {len(done.written)} written, "
    said += f"{done.count - len(done.written)} as they were"
    said += f", {len(done.removed)} taken away" if done.removed else ""
    shut = f"{DO_NOT_FILL} stands on {closed} of {len(run.seen)} cylinders and sets."
    again = "Write them again after each act and every day: the board is of its day alone."
    some = done.uncommitted
    apart = "In no commit yet, so that pages of another copy of the ledger tell nothing of it: "
    apart += run.unnamed(", ".join(some[:SHOWN_APART]))
    apart += f" and {len(some) - SHOWN_APART} more" if len(some) > SHOWN_APART else ""
    told = [page.wrap(f"{apart}.")] if some else []
    return page.answer(f"{said}.", page.wrap(shut), *told, page.wrap(again))


# --- what a page is made from


class CylinderSeen(Struct, frozen=True):
    """A cylinder or set with what its page says of it.

    `until` is the last day to which nothing is against it; `commit` of its card's last change, None
    where git does not say, and `git` then says why. `lines` are those of the log, by time.
    `serials` are those of the cylinders of a set.
    """

    card: Card
    until: dt.date | None
    commit: Commit | None
    git: str
    lines: tuple[LogLine, ...] = ()
    serials: tuple[tuple[str, str], ...] = ()


class PageRun(Struct, frozen=True):
    """What all pages share. `station_until` is as `until` of a cylinder, and `station_change` as
    its `commit` and `git`; `besides` what every answer of today must tell. `ahead` says that the
    day asked about is to come."""

    told: Summary
    page: Page
    unnamed: Unnamed
    seen: tuple[CylinderSeen, ...]
    station_until: dt.date
    station_change: tuple[Commit | None, str] = None, ""
    besides: str = ""
    prices: bool = False
    ahead: bool = False


def drafts(run: PageRun) -> Iterator[PageDraft]:
    """Every page: first what is closed, so that no old leave outlives what is broken off; the board
    last, since it leads to the others."""
    closed = bool(run.told.board.station_refusals)
    every = [_of_cylinder(run, each) for each in run.seen]
    every += [
        PageDraft(STATION, partial(station, run), closed),
        PageDraft(MONTH, partial(month, run)),
    ]
    yield from sorted(every, key=lambda draft: not draft.closed)
    yield PageDraft(BOARD, partial(board, run), always=True)


def _of_cylinder(run: PageRun, seen: CylinderSeen) -> PageDraft:
    said = partial(cylinder, run, seen)
    return PageDraft(file_name(seen.card.id), said, seen.until is None)


BESIDE = (("Board", BOARD), ("Station", STATION), ("Month", MONTH))


def _document(title: str, told: str, sections: Sequence[Section], but: str) -> Document:
    beside = tuple((said, to) for said, to in BESIDE if to != but)
    return Document(title, told, tuple(sections), (CAUTION, NOT_ADVICE), beside=beside)


def verdict(run: PageRun, seen: CylinderSeen, stamp: WrittenAt) -> str:
    """What a page says of filling a cylinder; never yes."""
    if seen.until is None:
        used = OR_USE if not_to_use(seen.card.answer) else ""
        return _closed(run, f"{DO_NOT_FILL}{used}", stamp)
    what = f"Nothing against filling it with {seen.card.answer.gas} {_when(run, stamp)}"
    return f"{what}; not after {plain_date(seen.until)}. {ASK}"


def _closed(run: PageRun, said: str, stamp: WrittenAt) -> str:
    written_then = isinstance(stamp.at, dt.datetime)
    when = f". Written {stamp.said}" if written_then else f", {_when(run, stamp)}"
    return f"{said}{when}. {ONLY}"


def _when(run: PageRun, stamp: WrittenAt) -> str:
    """Of when a page speaks."""
    if isinstance(stamp.at, dt.datetime):
        return f"when written, {stamp.said}"
    if run.ahead:
        return f"on {stamp.said}, were nothing more recorded until then"
    return f"as the records stood on {stamp.said}"


ONLY = "Only the station takes this back."


# --- a cylinder


def cylinder(run: PageRun, seen: CylinderSeen, stamp: WrittenAt) -> Document:
    """The page of a cylinder or set."""
    card, answer = seen.card, seen.card.answer
    if card.record is None:
        return _unread(run, seen, stamp)
    sections = [Section("filling", "Filling", tuple(_filling(run, seen)))]
    sections.append(Section("identity", "What it is", (Facts(tuple(_identity(run, seen))),)))
    if card.dues:
        sections.append(Section("due", "Due", (_due(run, "What is due", card.dues),)))
    latest = tuple(reversed(seen.lines))[:TOP]
    lines: Block = Words("No line of the log is of it.")
    if latest:
        lines = grid_of("The latest fills and readings, newest first", LINES, latest, page=run.page)
    sections.append(Section("fills", "Fills and readings", (lines,)))
    sections.append(Section("history", "History in short", tuple(_history(seen))))
    standing = f", {card.stands}" if card.stands else ""
    closed = f": {DO_NOT_FILL}" if seen.until is None else standing
    loud = "".join(f" {run.unnamed(r.text)}." for r in answer.warnings if r.loud)
    told = f"{verdict(run, seen, stamp)}{loud}"
    return _document(f"{card.id}{stamp.of_day}{closed}", told, sections, "")


UNREAD = "its card cannot be read"


def _unread(run: PageRun, seen: CylinderSeen, stamp: WrittenAt) -> Document:
    """The page of a card that cannot be read: nobody knows whose it is, so nothing else is told."""
    mend = "the station mends the file; `tankbook validate` tells what is wrong"
    why = Grid("Why not", report_output.CLOSED.heads, ((UNREAD, mend),))
    sections = [Section("filling", "Filling", (why,))]
    title = f"{seen.card.id}{stamp.of_day}: {DO_NOT_FILL}"
    return _document(title, verdict(run, seen, stamp), sections, "")


def _filling(run: PageRun, seen: CylinderSeen) -> Iterator[Block]:
    answer, said = seen.card.answer, run.unnamed
    if not answer.fillable:
        yield grid_of("Why not", report_output.CLOSED, _plain(answer.refusals, said), page=run.page)
    else:
        yield Words(f"{ASK} This page cannot know what happened since it was written.")
    if answer.warnings:
        yield grid_of(
            "To know besides", report_output.CLOSED, _plain(answer.warnings, said), page=run.page
        )
    if answer.limit is not None:
        when = "Its limit" if answer.fillable else "Its limit, once it may be filled"
        yield Words(f"{when}: {limit_text(replace(answer, target=None), run.page)}.")
    if answer.gas.helium_percent:
        yield Words(HELIUM)


def _plain(reasons: Sequence[Reason], said: Unnamed) -> tuple[Reason, ...]:
    """Each reason once, with nobody named."""
    every = (replace(r, text=said(r.text), mend=said(r.mend)) for r in reasons)
    return tuple({(r.text, r.mend): r for r in every}.values())


_SHOWN = (
    "serial", "specification", "service pressure", "size", "material", "use",
    "cylinders", "isolator", "outlet",
)  # fmt: skip
"""What a page shows of a card: neither owner, price, place nor note. Nor what a manifold stands: of
a set the only pressure to read is its limit."""


def _identity(run: PageRun, seen: CylinderSeen) -> Iterator[tuple[str, str]]:
    card = seen.card
    yield "id", card.id
    found = dict(facts(card.record))
    for name in _SHOWN:
        if said := found.get(name):
            yield name, run.unnamed(said) if name in _FREE else said
    yield from clean_said(card)
    yield from ((id_, f"serial {serial}") for id_, serial in seen.serials)
    if card.water_volume is not None:
        yield "volume used", str(card.water_volume.volume)
    if card.stands:
        yield "stands", card.stands
    held = card.contents
    yield "holds", f"{held.gas}" if held.gas else "gas not on record"
    if held.oxygen is not None:
        on = f", {plain_date(held.analysed_on)}" if held.analysed_on else ""
        yield "analysed", f"{held.figures}{on}"
    if held.pressure is not None:
        on = f", {plain_date(held.on)}" if held.on else ""
        yield "last pressure", f"{run.page.marked(held.pressure)}{on}"


DUE = Table[Due](
    Column("", lambda d: obligation(d.obligation), "what"),
    Column("", lambda d: due_output.alarm(d) or d.beware or None, "stands", none="in date"),
    Column("", lambda d: None if d.failed else d.next, "good to"),
    Column("", lambda d: d.part or None, "part", none=""),
    Column("", lambda d: due_output.hours(d), "hours left", lambda h: f"{h:g} h", none=""),
    Column("", lambda d: d.last, "last"),
    Column("", lambda d: d.citation, "rule"),
)


def _due(run: PageRun, caption: str, items: Sequence[Due]) -> Grid:
    """What is due; whose a part is, or who decided a rule, is not told."""
    table = grid_of(caption, DUE, items, late, run.page)
    return replace(table, rows=_free_unnamed(run, table))


def _free_unnamed(run: PageRun, table: Grid) -> tuple[tuple[str, ...], ...]:
    """The rows of a table, with nobody named in what people write as they like."""
    return tuple(
        tuple(
            run.unnamed(cell) if head in _FREE else cell
            for head, cell in zip(table.headers, row, strict=True)
        )
        for row in table.rows
    )


_FREE = frozenset({"part", "rule", "size"})
"""What people write as they like."""


def late(item: Due) -> bool:
    """Whether an obligation wants somebody."""
    return item.is_open


LINES = Table[LogLine](
    Column("", lambda n: n.at.date(), "day"),
    Column("", lambda n: n.act, "what"),
    Column("", lambda n: n.gas, "gas"),
    Column("", lambda n: n.from_, "from", right=True),
    Column("", lambda n: n.to, "to", right=True),
    Column("", lambda n: n.temperature, "at", right=True),
    Column("", lambda n: n.o2, "oxygen", right=True),
    Column("", lambda n: n.he, "helium", right=True),
)


def _history(seen: CylinderSeen) -> Iterator[Block]:
    found = [
        (str(on), f"{name.replace('_', ' ')}{_outcome(entry)}")
        for name, entries in entries_of(seen.card.record)
        for entry in entries
        if (on := getattr(entry, "on", None)) is not None
    ]
    rows = tuple(sorted(found, key=lambda row: row[0], reverse=True))
    if rows:
        yield Grid("The latest entries, newest first", ("day", "entry"), rows[:TOP])
        if len(rows) > TOP:
            yield Words(f"And {len(rows) - TOP} earlier; `tankbook history` has all.")
    yield from _changed(seen.commit, seen.git, "card")


def _changed(commit: Commit | None, git: str, what: str) -> Iterator[Block]:
    """The commit of the last change of what a page is made of, and what git cannot say of it."""
    if commit is not None:
        at = f"{plain_date(commit.at.date())}, {commit.at:%H:%M}"
        yield Words(f"Last change of its {what}: commit {commit.short}, {at}.")
    if git:
        yield Words(git)


def _outcome(entry: object) -> str:
    result = getattr(entry, "result", None)
    said = f", {result}" if result is not None else ""
    return f"{said}, struck out" if getattr(entry, "void", None) is not None else said


# --- the board, the station, the month


class _BoardLine(Struct, frozen=True):
    seen: CylinderSeen
    why: str


CLOSED = Table[_BoardLine](
    Column("", lambda n: n.seen.card.id, "cylinder"),
    Column("", lambda n: n.why, "why"),
)
FREE = Table[_BoardLine](
    Column("", lambda n: n.seen.card.id, "cylinder"),
    Column("", lambda n: n.seen.until, "not after", plain_date),
    Column("", lambda n: _size(n.seen.card), "size", none=""),
    Column("", lambda n: n.seen.card.contents.gas, "holds"),
    Column("", lambda n: n.seen.card.contents.pressure, "pressure", right=True),
)


def _size(card: Card) -> str | None:
    return getattr(card.record, "size", None)


def board(run: PageRun, stamp: WrittenAt) -> Document:
    """The board: what is closed and why, and against what nothing was when it was built."""
    lines = [_BoardLine(each, "; ".join(_whys(run, each))) for each in run.seen]
    closed = [n for n in lines if n.seen.until is None]
    free = [n for n in lines if n.seen.until is not None]
    sections = [Section("station", "At the station", (Words(_station_said(run, stamp)),))]
    if run.besides:
        sections.append(Section("besides", "To know", (Words(f"{run.unnamed(run.besides)}."),)))
    then = _when(run, stamp) if stamp.of_day else "when written"
    for name, title, columns, some in (
        ("closed", DO_NOT_FILL, CLOSED, closed),
        ("free", f"{NOTHING_AGAINST} {then}", FREE, free),
    ):
        caption = counted(len(some), "cylinder or set", "cylinders and sets")
        table = grid_of(caption, columns, some, lambda n: n.seen.until is None, run.page)
        table = replace(table, rows=_free_unnamed(run, table))
        links = tuple(file_name(n.seen.card.id) for n in some)
        block = replace(table, links=links) if some else Words("None.")
        sections.append(Section(name, title, (block,)))
    built = f"Built {stamp.said}" if not stamp.of_day else sentence(_when(run, stamp))
    told = f"{built}; of this day alone, not after {plain_date(run.told.today)}. {ASK}"
    return _document(f"{run.told.ledger}: board{stamp.of_day}", told, sections, BOARD)


def sentence(text: str) -> str:
    """As it begins a sentence."""
    return text[:1].upper() + text[1:]


def _whys(run: PageRun, seen: CylinderSeen) -> Iterator[str]:
    """Why it is not filled, but for what closes the station and is said there."""
    if seen.card.record is None:
        yield UNREAD
        return
    station = {r.text for r in run.told.board.station_refusals}
    every = [r for r in seen.card.answer.refusals if r.text not in station]
    if not every and not seen.card.answer.fillable:
        yield "the station is closed"
    yield from dict.fromkeys(run.unnamed(briefly(r)) for r in every)


def _station_said(run: PageRun, stamp: WrittenAt) -> str:
    board_ = run.told.board
    if board_.station_refusals:
        whys = "; ".join(run.unnamed(briefly(r)) for r in board_.station_refusals)
        return _closed(run, f"{DO_NOT_FILL} at this station: {whys}", stamp)
    if not board_.station and not board_.banks:
        return "No station is on record."
    until = plain_date(run.station_until)
    said = f"{NOTHING_AGAINST} {_when(run, stamp)}; not after {until}. {ASK}"
    out = ", ".join(run.unnamed(part) for part in board_.parts_out)
    beware = "; ".join(run.unnamed(briefly(r)) for r in board_.warned)
    told = [f"OUT OF USE: {out}."] if out else []
    told += [f"BEWARE: {beware}."] if beware else []
    of_rest = f"Of the rest: {said[:1].lower()}{said[1:]}"
    return " ".join([*told, of_rest]) if told else said


def _parts_out(run: PageRun) -> list[tuple[str, Reason]]:
    """What parts are out of use while the station serves, each with its reason."""
    board_ = run.told.board
    return [each for each in board_.out_of_use if each[1] not in board_.station_refusals]


BANKS = Table[BankState](
    Column("", lambda b: b.name, "bank"),
    Column("", lambda b: "OUT OF USE" if b.held else None, "stands", none=""),
    Column("", lambda b: b.gas, "gas"),
    Column("", lambda b: b.pressure, "read", right=True),
    Column("", lambda b: b.read_on, "on", plain_date),
)


def station(run: PageRun, stamp: WrittenAt) -> Document:
    """The page of the station: what is against filling there, its parts and its banks."""
    board_, blocks = run.told.board, []
    if board_.station_refusals:
        closed = _plain(board_.station_refusals, run.unnamed)
        blocks.append(
            grid_of("Why the station is closed", report_output.CLOSED, closed, page=run.page)
        )
    out = [r for _, r in _parts_out(run)]
    if out:
        title = "Parts of the station that are out of use"
        blocks.append(grid_of(title, report_output.CLOSED, _plain(out, run.unnamed), page=run.page))
    if board_.warned:
        warned = _plain(board_.warned, run.unnamed)
        title = report_output.TOLD_OF_PARTS
        blocks.append(grid_of(title, report_output.CLOSED, warned, page=run.page))
    sections = [Section("closed", "What is against it", tuple(blocks or [Words("Nothing.")]))]
    if board_.station:
        table = _due(run, "Parts of the station", board_.station)
        sections.append(Section("parts", "Upkeep", (table,)))
    if board_.banks:
        banks = grid_of("Banks as last read", BANKS, board_.banks, page=run.page)
        sections.append(Section("banks", "Banks", (banks,)))
    change = tuple(_changed(*run.station_change, "file"))
    if change and board_.station:
        sections.append(Section("history", "Its last change", change))
    title = f"{run.told.ledger}: station{stamp.of_day}"
    return _document(title, _station_said(run, stamp), sections, STATION)


OF_MONTH = ("ahead", "fills")
OF_MONEY = ("costs",)


def month(run: PageRun, stamp: WrittenAt) -> Document:
    """The page of the month: what falls due and what was filled, as the report has it."""
    wanted = OF_MONTH + (OF_MONEY if run.prices else ())
    sections = [
        replace(each, blocks=tuple(_unnamed(run, block) for block in each.blocks))
        for each in report_output.report(run.told).sections
        if each.name in wanted
    ]
    day = run.told.today
    when = f"as of {stamp.said}" if not stamp.of_day else _when(run, stamp)
    told = f"{sentence(when)}, for {plain_date(day).split(' ', 1)[1]}"
    told += f"; not after {plain_date(_month_until(run, stamp))}."
    return _document(f"{run.told.ledger}: month{stamp.of_day}", told, sections, MONTH)


def _unnamed(run: PageRun, block: Block) -> Block:
    return Words(run.unnamed(block.text)) if isinstance(block, Words) else block


def _month_until(run: PageRun, stamp: WrittenAt) -> dt.date:
    """The last day of what the month's page counts, if nothing more were recorded: the first on
    which something falls due, else the end of the month."""
    day = run.told.today
    if stamp.of_day:
        return day
    ends = (day.replace(day=1) + dt.timedelta(days=31)).replace(day=1) - dt.timedelta(days=1)
    return min([ends, *(d.next for d in run.told.dues if d.next is not None and d.next >= day)])
