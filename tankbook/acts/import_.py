"""Somebody's own table becomes cards and entries: what comes of each row, and all of it as one act.

A row is judged as a card is: by the keys of a card, and by the checks that `validate` makes.
"""

from __future__ import annotations

import datetime as dt
import re
import shlex
from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import StrEnum

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.acts.arrivals import ID, NOT_SAME, Arrival, ArrivalCard, card_of, entry_of, said
from tankbook.acts.book_in import booked_in, taken, to_do
from tankbook.acts.common import (
    Draft,
    dangers_of,
    edits_of,
    named,
    shortened,
    signer_reasons,
    ticked,
)
from tankbook.acts.complete import about, clashes, grown
from tankbook.acts.soundness import after, sound
from tankbook.acts.station_holds import let_go_late, let_go_said
from tankbook.acts.tab_cells import (
    begins_foot,
    is_heading_of,
    says_gone,
    says_not_passed,
    word_meant,
)
from tankbook.acts.tab_rows import (
    COLOURED,
    FROM_SHEET,
    HYDRO,
    KEEP,
    LEAVE_OUT,
    NAMED_BY,
    NAMING,
    NOTE,
    OTHER_TABLE,
    OUT_TO,
    REMARK,
    SERIAL,
    VISUAL,
    EntryRead,
    RowRead,
    beside_from,
    body_of,
    days_or_years,
    headed_otherwise,
    heading_at,
    headings_again,
    headings_of,
    is_red,
    loose_in,
    loose_under,
    mapping_faults,
    noughts_lost,
    rows_below,
    rows_read,
    shown_plain,
    swapped,
    ticked_in,
    twice_mapped,
    two_in_one,
    unmapped,
)
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, NoteJudged
from tankbook.records.edits import Act, Edit, Refusal
from tankbook.records.entries import Entry, Held, Inspected, Rented, Requalified, standing
from tankbook.records.fields import TEXT, NodeReader, read
from tankbook.records.kinds import Adverse, Cleared
from tankbook.records.node import Finding, MappingNode, Scalar, Where
from tankbook.records.rulerow import STICKER, Obligation
from tankbook.records.sheet_mapping import OnFile, RemarkIs, RowsAre, SheetMapping, Stands
from tankbook.records.tab import OtherSheet, Tab, TabRow, column_of, letter_of
from tankbook.records.words import (
    InspectionResult,
    Material,
    Method,
    Status,
    Sticker,
    TestResult,
)
from tankbook.rules.clearing import answered_by_test, open_inspections, open_tests
from tankbook.rules.contradicted import contradicts
from tankbook.rules.harmless import (
    heading_and_value,
    is_grade,
    is_plain,
    is_plain_elsewhere,
    is_plain_title,
    says_alarm,
)
from tankbook.rules.inforce import rules_of
from tankbook.rules.materials import material_of
from tankbook.rules.signing import SEEN_STICKER, bench_of, is_outside
from tankbook.rules.spelling import maker_named, normal, plain_serial
from tankbook.rules.tested import PRESSURE_TESTS
from tankbook.rules.told_against import says_danger, tells_against
from tankbook.rules.twins import may_be_in, serials_of
from tankbook.units import PartialDate
from tankbook.units.nouns import counted
from tankbook.units.patterns import pattern

SIZE, JUDGED = "size", "note_judged"


class Comes(StrEnum):
    """What comes of a row."""

    NEW = "new"
    HELD = "new and held"
    ADDED = "added to"
    THERE = "there already"
    LEFT_OUT = "left out"
    CANNOT = "CANNOT"


_RECORDED = (Comes.NEW, Comes.HELD, Comes.ADDED)


class Fate(Struct):
    """What comes of one row, and why. `id` is that of its card, `called` what the row calls it,
    `unsaid` what tells against a cylinder on file and is not on its card."""

    row: int
    comes: Comes
    called: str = ""
    id: str = ""
    status: str = ""
    why: list[str] = field(default_factory=list)
    unsaid: list[str] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)

    @property
    def says(self) -> list[str]:
        """Why it cannot be taken, or what is to be known of it."""
        unsaid = self.unsaid if self.comes is Comes.CANNOT else ()
        return [*dict.fromkeys([*(str(f) for f in self.findings), *self.why, *unsaid])]


class Imported(Struct, frozen=True):
    """What comes of a table: each row, what is to be told of all, and the act or why there is
    none. `book` has the cards as they will be. `kept_out`: of a table that is only looked at, no
    row would be taken, for a fault of all of it is told."""

    fates: tuple[Fate, ...]
    planned: Act | Refusal
    told: tuple[str, ...]
    book: Book
    kept_out: bool = False

    @property
    def cannot(self) -> list[Fate]:
        """The rows that cannot be taken."""
        return [f for f in self.fates if f.comes is Comes.CANNOT]

    @property
    def counts(self) -> dict[Comes, int]:
        """How many rows come to what."""
        every = [f.comes for f in self.fates]
        return {each: every.count(each) for each in Comes if each in every}

    @property
    def ids(self) -> tuple[str, ...]:
        """The cards that the table speaks of, in the order of its rows."""
        return tuple(dict.fromkeys(f.id for f in self.fates if f.id))


def import_table(
    book: Book,
    today: dt.date,
    tab: Tab,
    mapping: SheetMapping,
    *,
    by: str,
    good: bool = False,
    look: bool = False,
) -> Imported:
    """What comes of each row of a table, and the act that records it.

    Args:
        book: the records, all of them.
        today: the day.
        tab: the table as it was read.
        mapping: what its columns mean.
        by: initials of who imports it.
        good: record the rows that can be taken, and leave the others; else one of these refuses
            all.
        look: nothing is to be recorded, so that nobody need say who does it.
    """
    faults = [*mapping_faults(mapping, tab), *twice_mapped(mapping), *_unsaid(mapping, tab)]
    faults += () if faults else swapped(tab, mapping)
    if faults:
        refused = Refusal("nothing was recorded", (), tuple(sorted(faults, key=lambda f: f.where)))
        return Imported((), refused, (), book)
    plan = _Plan(book, today, tab, mapping, by)
    plan.reasons += [] if look else signer_reasons(book, by, today)
    if other := plan.other_order():
        (plan.notes if look else plan.reasons).append(other)
    plan.notes += [*plan.ahead(), *headed_otherwise(tab, mapping)]
    for told in (noughts_lost, two_in_one, days_or_years):
        plan.notes += told(tab, mapping)
    plan.work()
    found = plan.result(good)
    return replace(found, kept_out=bool(other))


def _unsaid(mapping: SheetMapping, tab: Tab) -> Iterator[Finding]:
    """What the mapping has to say of this table."""
    kept = any(each.key_ == "use" for each in mapping.columns)
    # where cards are completed, only a row that has none yet is asked, as it is booked in
    asked = mapping.rows is RowsAre.CYLINDERS and mapping.on_file is not OnFile.COMPLETE
    if asked and mapping.use is None and not kept:
        text = "what the cylinders are kept for is not said"
        mend = "write `use: rental`, sale, customer, staff, pool or bank; or map a column to `use`"
        yield Finding(mapping.source.at("use"), "no-use", text, mend)
    if mapping.hidden_rows is None and any(row.hidden for row in tab.rows):
        text = "what becomes of hidden rows is not said"
        yield Finding(
            mapping.source.at("headings"), "hidden-rows", text,
            "write `hidden_rows: leave-out` or `hidden_rows: take`",
        )  # fmt: skip
    try:
        first, last = headings_of(mapping)
    except ValueError:
        return
    if not body_of(tab, mapping):
        text = f"there is no row below the headings of {tab.path}"
        where = mapping.source.at("headings")
        yield Finding(where, "no-rows", text, f"its headings are said to be in row {first}-{last}")


class _Plan:
    """Works out what comes of each row."""

    def __init__(
        self, book: Book, today: dt.date, tab: Tab, mapping: SheetMapping, by: str
    ) -> None:
        self.book, self.today, self.tab, self.mapping, self.by = book, today, tab, mapping, by
        self.reads = rows_read(tab, mapping, today)
        self.fates = [_begun(each) for each in self.reads]
        self.bench = bench_of(book)
        visuals = rules_of(book).rows.get(Obligation.VISUAL, ())
        self.stamped = any(STICKER not in r.met_by for r in visuals if Method.VISUAL in r.met_by)
        self.reasons: list[str] = []
        self.edits: list[Edit] = []
        self.notes: list[str] = []
        self.cards: dict[str, Cylinder] = {}
        self.drafts: dict[str, Draft[Cylinder]] = {}
        self.on_file: dict[str, list[Cylinder]] = {}
        self.against: dict[tuple[object, ...], str] = {}
        self.unjudged: dict[int, list[str]] = {}
        self.below: dict[int, list[tuple[str, str]]] = {}
        self.said_of = {_as_key(k): v for k, v in mapping.remarks.items()}
        self.answered = set[str]()
        self.judged = set[str]()
        names = (*book.sizes, *book.settings.sizes)
        self.sizes = {n: n for n in names} | {plain_serial(n): n for n in names}
        for card in book.cylinders.values():
            self.on_file.setdefault(plain_serial(card.serial), []).append(card)

    def other_order(self) -> str:
        """Why none of the dates is to be believed, or an empty text: some are none in the order
        that is said, so that nobody can know it of the others."""
        rows = [each for each in self.reads if each.other_order]
        if not rows:
            return ""
        numbers = ", ".join(str(each.row.number) for each in rows[:5])
        return (
            f"{ticked(rows[0].other_order)} is no date where `dates: {self.mapping.dates}` (row "
            f"{numbers}), so that of no other is known which number is its day: correct `dates:`, "
            "or these cells"
        )

    def ahead(self) -> Iterator[str]:
        """Each column of last tests in which some have not come yet."""
        for heading in dict.fromkeys(each.ahead for each in self.reads if each.ahead):
            rows = [str(each.row.number) for each in self.reads if each.ahead == heading]
            yield (
                f"{heading}: {counted(len(rows), 'date')} of a last test in the future (row "
                f"{', '.join(rows[:5])}): are its other dates of the last test, or of the next?"
            )

    def work(self) -> None:
        """All of it."""
        self._of_none()
        self._of_others()
        self._of_sheets()
        self._of_legends()
        self._of_own()
        if self.mapping.rows is RowsAre.ENTRIES:
            self._entries()
        else:
            self._cylinders()
        self._of_refused()
        self._of_missing()

    def result(self, good: bool) -> Imported:
        """What comes of it."""
        told = [*self.tab.notes, *self._unmapped(), *self.notes, *self._of_remarks()]
        then = replace(
            self.book,
            cylinders={
                **self.book.cylinders,
                **self.cards,
                **{i: d.record for i, d in self.drafts.items()},
            },
        )
        bad = [f for f in self.fates if f.comes is Comes.CANNOT]
        planned: Act | Refusal
        kept = {f.comes for f in self.fates} - {Comes.CANNOT, Comes.LEFT_OUT}
        if self.reasons or (bad and not (good and kept)):
            findings = _each_once([x for f in bad for x in f.findings])
            why = (f"{self.tab.path}:{f.row}: {each}" for f in bad for each in f.why)
            planned = Refusal("nothing was recorded", (*self.reasons, *why), findings)
        else:
            planned = self._act(told, bad, then)
        return Imported(tuple(self.fates), planned, tuple(told), then)

    # --- rows of none

    def _of_none(self) -> None:
        """What stands above and below the cylinders, and between them, is of those that it names:
        what tells against them holds them, and what is not plain is a remark that nobody judged.
        What tells against one and names nobody of the table is asked."""
        first, last = headings_of(self.mapping)
        answers = {k.strip().casefold(): v for k, v in self.mapping.gone.items()}
        for row in (r for r in self.tab.rows if r.number <= last):
            above = row.number < first  # on a heading may be a comment
            for each in loose_in(row) if above else loose_in(replace(row, cells=())):
                named_ = self._named_in(each.text)
                why = self._against(named_, each.text)
                if not (above or named_ or is_plain(each.text)) or (why and not named_):
                    self.notes.append(f"row {row.number}: {ticked(each.text)}: see whom it is of")
                elif answers.get(each.text.casefold()) is not Stands.LEAVE_OUT:
                    self._say_of(named_, row.number, each, holds=bool(why))
        for place, none in enumerate(self.reads):
            for each in none.loose or self._second(place):
                found = self._named_in(each.text, none) or self._coloured_as(none)
                why = self._against(found, each.text)
                leave = answers.get(each.text.casefold()) is Stands.LEAVE_OUT
                if leave and (found or not self._beneath(place)):
                    continue
                entries = self.mapping.rows is RowsAre.ENTRIES
                if found and not (why and entries):
                    if self._say_of(found, none.row.number, each, holds=bool(why)):
                        fate = self.fates[place]
                        fate.comes, fate.findings = Comes.LEFT_OUT, []
                        whom = ", ".join(dict.fromkeys(r.called for r in found))
                        fate.why = [f"said of {whom}: {ticked(shortened(each.text))}"]
                    continue
                if not found and self._above(place, each, why, answers):
                    continue
                if not why:
                    continue
                text = f"{why}, and the row names no cylinder: {ticked(shortened(each.text))}"
                if found:
                    text = f"{why}, and the row is of no entry: {ticked(shortened(each.text))}"
                mend = (
                    "write it into the rows of those that it is about; then `gone: "
                    f"{{{ticked_in(each.text)}: leave-out}}` in the mapping leaves this one out"
                )
                at = Where(self.tab.path, each.start.line, each.start.column)
                self._cannot(place, [Finding(at, "told-of-none", text, mend)])

    def _beneath(self, place: int) -> list[int]:
        """The rows of cylinders that a row in their midst may be the title of: up to the next such
        one, and the one right above where no empty row stands between; that alone where its cells
        stand below the heading of remarks. None of a foot."""
        row, found = self.reads[place], list[int]()
        if len(row.row.texts) > _TITLE or begins_foot(row.row.texts[0]) or row.row.beside:
            return []
        close = place > 0 and self.reads[place - 1].row.number == row.row.number - 1
        close = close and not self.reads[place - 1].left_out
        noted = {column_of(c.column) for c in self.mapping.columns if c.key_ in (REMARK, KEEP)}
        on_it = close and any(not each.left_out for each in self.reads[place:])
        if on_it and all(c in noted for c, cell in enumerate(row.row.cells) if cell.text):
            return [place - 1]  # its remark goes on
        for p in range(place + 1, len(self.reads)):
            if self.reads[p].loose and len(self.reads[p].row.texts) <= _TITLE:
                break
            found += [] if self.reads[p].left_out else [p]
        if close and found:
            found.append(place - 1)
        return found

    def _above(self, place: int, title: Scalar, why: str, answers: Mapping[str, Stands]) -> bool:
        """What a row says in the midst of the cylinders that names none of them, as a title does,
        may be of those beneath it: where it tells against one it is asked, and none of these is
        taken till then; where it is not plain it is a remark of theirs. Whether it was any."""
        beneath = self._beneath(place)
        gone, number = says_gone(title.text), self.reads[place].row.number
        why = why or (f"it says `{gone}`" if gone else "")
        nothing = is_plain_title(title.text, self.book.settings.people)
        entries = self.mapping.rows is RowsAre.ENTRIES
        if not beneath or (not why and (nothing or entries)):
            return False
        answer = answers.get(title.text.casefold())
        rows = [self.reads[p] for p in beneath]
        if answer is Stands.HERE:
            return True
        if answer is Stands.HOLD:
            self._say_of(rows, number, title, holds=True)
            for row in rows if says_not_passed(title.text) else ():
                row.entries = [_as_failed(each) for each in row.entries]
            return True
        if not why:
            whole = said(f"it stands beneath '{title.text}' (row {number})", title.start)
            for row in rows:
                row.remarks.append(whole)
            return True
        if answer is Stands.LEAVE_OUT:
            for p in beneath:
                fate = self.fates[p]
                fate.comes, fate.findings = Comes.LEFT_OUT, []
                fate.why = [f"left out by row {number}: {ticked(title.text)}"]
            return True
        at = Where(self.tab.path, title.start.line, title.start.column)
        key = ticked_in(title.text)
        of = "that of the row above" if beneath == [place - 1] else "those of the rows beneath"
        mend = (
            f"write `gone: {{{key}: hold}}` in the mapping, which holds {of}; "
            f"or leave-out, which {'enters none of them' if entries else 'gives them no card'}; or "
            "here, where it is of none of them. Where it is of one row alone, write it into that"
        )
        text = f"{why}, and the row names no cylinder: {ticked(shortened(title.text))}"
        self._cannot(place, [Finding(at, "told-of-none", text, mend)])
        for p in beneath:
            said_ = ticked(shortened(title.text))
            text = f"row {number} says {said_}, and whether that is of this one is not said"
            own = Where(self.tab.path, self.reads[p].row.number, 1)
            self._cannot(p, [Finding(own, "told-of-none", text, "answer it there")])
        return True

    def _of_others(self) -> None:
        """What stands below the last row that is to be read is told; and what it says of those
        that it names is judged, as what stands beneath other headings, or in another table to the
        right that is left out."""
        first, last = headings_of(self.mapping)
        said_of: dict[int, list[Scalar]] = {}
        heads = {c: heading_at(self.tab, first, last, c) for c in range(self.tab.width)}
        below = rows_below(self.tab, self.mapping)
        beneath = [r.row for r in self.reads if any(f.code == OTHER_TABLE for f in r.findings)]
        others = [(row, each) for rows in (below, beneath) for row, each in _under(rows, heads)]
        if numbers := dict.fromkeys(row.number for row in below if row.texts):
            self.notes.append(
                f"below `last_row: {self.mapping.last_row}` stands what is not read (row "
                f"{shortened(', '.join(map(str, numbers)))}): where it is a table, give it as a "
                "file of its own"
            )
        right = beside_from(self.tab, first, last)
        left = {column_of(c.column) for c in self.mapping.columns if c.key_ == LEAVE_OUT}
        for row in body_of(self.tab, self.mapping) if right is not None and right in left else ():
            others += [(row, each) for each in loose_under(row, heads, right or 0)]
        for row, each in others:
            named_ = self._named_in(each.text)
            if self._against(named_, each.text):
                self._say_of(named_, row.number, each, holds=True)
                continue
            for one in named_ if not self._is_nothing_of(named_, each.text) else ():
                said_of.setdefault(self.reads.index(one), []).append(
                    said(f"{row.number}: {each.text}", each.start)
                )
        for place, texts in said_of.items():
            for each in texts[:_FEW]:
                number, _, words = each.text.partition(": ")
                self._say_of([self.reads[place]], int(number), said(words, each.start), holds=False)
            if more := texts[_FEW:]:
                rows = ", ".join(t.text.partition(":")[0] for t in more[:_MOST_ROWS])
                whole = said(f"see the sheet, row {rows}, of it too", more[0].start)
                self.reads[place].remarks.append(whole)

    def _of_sheets(self) -> None:
        """The cylinders of the table that stand on another sheet of its workbook, too: where its
        name tells against them, or what stands beside them there does, they are held, unless the
        mapping answers it. That a sheet names some is told."""
        answers = {k.strip().casefold(): v for k, v in self.mapping.gone.items()}
        for sheet in self.tab.others:
            why = self._against((), sheet.title) or says_danger(sheet.title)
            why, found = bool(why or says_gone(sheet.title)), dict[int, str]()
            answer = answers.get(sheet.title.strip().casefold())
            for row, places in self._standing_in(sheet):
                for place in sorted(places):
                    found.setdefault(place, f"{row.number}")
                    if answer is Stands.HERE or self.reads[place].left_out:
                        continue
                    if answer is Stands.LEAVE_OUT:
                        fate = self.fates[place]
                        fate.comes, fate.findings = Comes.LEFT_OUT, []
                        fate.why = [f"left out: it stands on the sheet {ticked(sheet.title)}"]
                        continue
                    names = _names_of(self.reads[place])
                    texts = dict.fromkeys(t for t in row.texts if t.casefold() not in names)
                    ill = [t for t in texts if self._against((), t) or says_gone(t)]
                    if why or ill:
                        whole = f"sheet {sheet.title}, row {row.number}"
                        whole = ": ".join([whole, *(["; ".join(ill)] if ill else [])])
                        at = self.reads[place].row[0].place
                        self.reads[place].holds.append(said(shown_plain(whole), at))
            if found:
                each = [f"{self.reads[p].called} (row {n})" for p, n in found.items()]
                more = f" and {len(each) - _MOST_ROWS} more" if len(each) > _MOST_ROWS else ""
                title = ticked(sheet.title)
                told = f"the sheet {title} names {', '.join(each[:_MOST_ROWS])}{more} as well"
                if why and answer is None:
                    key = ticked_in(sheet.title)
                    told += (
                        f", and its name tells against them: they are held; `gone: {{{key}: "
                        "leave-out}` in the mapping gives them no card, and here takes them"
                    )
                self.notes.append(told)

    def _of_legends(self) -> None:
        """What a colour means by a legend: a cell of a column that is left out, or of another
        sheet, or the only one of its row that has a colour, that tells against what is so. Every
        cylinder of that colour is held."""
        left = {column_of(c.column) for c in self.mapping.columns if c.key_ == LEAVE_OUT}
        rows = (each.row for each in self.reads if not each.left_out)  # a row of a legend is judged
        body = [row for row in rows if any(cell.colours for cell in row.cells)]
        own = [(r, [r[c] for c in sorted(left)]) for r in body]
        own += [(r, [c for c in r.cells if c.colours]) for r in body]
        own = [(r, cells) for r, cells in own if sum(bool(c.colours) for c in cells) == 1]
        others = ((r, r.cells) for sheet in self.tab.others for r in sheet.rows)
        held = dict[str, Scalar]()
        for row, cells in (*own, *others):
            texts = "; ".join(c.text for c in cells if c.text)
            colours = {colour for cell in cells for colour in cell.colours}
            if texts and colours and (self._against((), texts) or says_gone(texts)):
                place = next(cell.place for cell in cells if cell.colours)
                for colour in colours:
                    held.setdefault(colour, said(f"{texts} (row {row.number})", place))
        for each in self.reads if held else ():
            own_cells = [c for n, c in enumerate(each.row.cells) if c.colours and n not in left]
            mine = {c for cell in own_cells for c in cell.colours} & held.keys()
            told = {cell.text for cell in own_cells}
            for colour in sorted(mine):
                if held[colour].text.startswith(tuple(told)) and len(own_cells) == 1:
                    continue  # the legend itself, which is of no cylinder, or is its own remark
                whole = shown_plain(f"{held[colour].text}, by its colour ({colour})")
                each.holds.append(said(whole, held[colour].start))

    def _standing_in(self, sheet: OtherSheet) -> Iterator[tuple[TabRow, set[int]]]:
        """Each row of another sheet, with the rows of the table whose serial one of its cells is,
        or whose id: below the heading of one, or where that is no bare number."""
        by_serial, by_id = dict[str, set[int]](), dict[str, set[int]]()
        for place, each in enumerate(self.reads):
            serial, own = each.given.get(SERIAL), each.given.get(ID)
            if serial and len(serial.text) > 1:
                by_serial.setdefault(plain_serial(serial.text), set()).add(place)
            if own:
                by_id.setdefault(own.text.casefold(), set()).add(place)
        heads = set[int]()
        for row in sheet.rows:
            found = set[int]()
            for c, cell in enumerate(row.cells):
                if cell.text:
                    found |= by_serial.get(plain_serial(cell.text), set())
                    if c in heads or not cell.text.isdigit():
                        found |= by_id.get(cell.text.casefold(), set())
            heads |= {c for c, cell in enumerate(row.cells) if is_heading_of(cell.text, NAMED_BY)}
            yield row, found

    def _named_in(self, text: str, none: RowRead | None = None) -> list[RowRead]:
        """The rows of the cylinders that a text names, but that in which it stands."""
        return [r for r in self.reads if r is not none and not r.left_out and _is_named(r, text)]

    def _coloured_as(self, legend: RowRead) -> list[RowRead]:
        """The rows of cylinders of the colour of a row that names none: it says what that means."""
        colours = {c for cell in legend.row.cells for c in cell.colours}
        return [
            each
            for each in self.reads
            for remark in each.remarks
            if remark.text.startswith(COLOURED)
            and colours & set(remark.text.removeprefix(COLOURED).strip().split(", "))
        ]

    def _second(self, place: int) -> list[Scalar]:
        """What a row says that has the id of another one, which has its serial too, and words in
        the place of its own, or nothing else: it is no cylinder of its own."""
        row = self.reads[place]
        serial = row.given[SERIAL].text if SERIAL in row.given else ""
        if self.mapping.rows is RowsAre.ENTRIES or row.left_out or any(map(str.isdigit, serial)):
            return []
        misread = _FEW if serial else 1  # a remark in its own column is one of two rows of one id
        if len(row.row.texts) > misread or not any(
            SERIAL in r.given and _is_named(r, row.row.texts[0]) for r in self.reads if r is not row
        ):
            return []
        return loose_in(row.row)

    def _say_of(self, named_: Sequence[RowRead], number: int, what: Scalar, *, holds: bool) -> bool:
        """Gives the cylinders of some rows what another one says of them; whether it says
        anything that is not plain."""
        if not holds and self._is_nothing_of(named_, what.text):
            return False
        named_alone = {n for row in named_ if len(named_) == 1 for n in _names_of(row)}
        texts = [t for t in what.text.split("; ") if t.casefold() not in named_alone]
        whole = said(f"row {number}: {'; '.join(texts) or what.text}", what.start)
        for row in named_:
            if holds:
                row.holds.append(whole)
                continue
            row.remarks.append(whole)
            if self.mapping.rows is RowsAre.ENTRIES and row.entries:
                *before, last = row.entries
                note = f"{last.rest.get('note', '')}; {whole.text}"
                row.entries = [*before, replace(last, rest={**last.rest, "note": note})]
        return True

    def _is_nothing_of(self, named_: Sequence[RowRead], text: str) -> bool:
        """Whether a text says of those that it names nothing that is not plain."""
        left = _without_names(named_, text)
        return not left or is_plain(left, self.book.settings.people)

    def _against(self, named_: Sequence[RowRead], text: str) -> str:
        """Why what a row of no cylinder says tells against those that it names, or against one:
        all of it, and each of its cells, as each would be judged that stands below its heading.
        What they are called says nothing: `H2` is no hydrogen there."""
        left = (_without_names(named_, each) for each in (text, *text.split("; ")))
        whys = (self._tells_against(_OF_NONE, each) for each in dict.fromkeys(left) if each)
        return next(filter(None, whys), "")

    # --- rows of cylinders

    def _cylinders(self) -> None:
        cards: dict[int, ArrivalCard] = {}
        self._once_each()
        for place, row in enumerate(self.reads):
            if self.fates[place].comes is not Comes.NEW:
                continue
            self._by_id(row)
            card = card_of(self._arrival(row), None, self.book.settings.units, self.by)
            if card.cylinder is None or card.findings:
                self._cannot(place, card.findings)
                continue
            self._remarks(place, row, card.cylinder)
            cards[place] = card
        self._named_twice(cards)
        new = []
        for place, card in cards.items():
            if self.fates[place].comes is Comes.CANNOT or card.cylinder is None:
                continue
            there = self._card_of(place, card.cylinder)
            if there is not None:
                self._known(place, there)
            elif self.fates[place].comes is not Comes.CANNOT:
                new.append(place)
        self._book_in(new)

    def _once_each(self) -> None:
        """A row that stands in a table twice, letter by letter, is one row: the second is no
        cylinder of its own, and says nothing that the first does not."""
        first: dict[tuple[object, ...], RowRead] = {}
        for place, row in enumerate(self.reads):
            if row.left_out or SERIAL not in row.given or NOT_SAME in row.given:
                continue
            whole = row.row
            cells = tuple((c.text, c.struck, c.colours) for c in whole.cells)
            beside = tuple(c.text for c in whole.beside)
            same = first.setdefault((cells, beside, whole.hidden, whole.struck), row)
            if same is not row:
                fate = self.fates[place]
                fate.comes, fate.findings = Comes.LEFT_OUT, []
                fate.why = [f"the same as row {same.row.number}, word by word: it is taken once"]
                row.left_out = fate.why[0]

    def _by_id(self, row: RowRead) -> None:
        """Gives a row of a table without serials the serial of the card that has its id, as of a
        second table of what is on file."""
        own = row.given.get(ID)
        if own is None or any(each.key_ in (SERIAL, "marks") for each in self.mapping.columns):
            return
        for id_, card in self.book.cylinders.items():
            if id_.casefold() == own.text.casefold():
                row.given[SERIAL] = said(card.serial, own.start)

    def _arrival(self, row: RowRead) -> Arrival:
        lists: dict[str, list[MappingNode]] = {}
        for each in sorted(row.entries, key=lambda e: e.on.text):
            name, node = self._node(each)
            lists.setdefault(name, []).append(node)
        for hold in row.holds:
            rest = {"by": self.by, "why": hold.text, "note": f"{FROM_SHEET} {row.row.number}"}
            node = entry_of(said(str(self.today), hold.start), {k: v for k, v in rest.items() if v})
            lists.setdefault("held", []).append(node)
        for judged in row.judged if self.by else ():
            rest = {"by": self.by, "text": judged.text}
            node = entry_of(said(str(self.today), judged.start), rest)
            lists.setdefault(JUDGED, []).append(node)
        given = dict(row.given)
        if SIZE in given:
            text = given[SIZE].text
            name = text if text in self.sizes else self.sizes.get(plain_serial(text), text)
            given[SIZE] = said(name, given[SIZE].start)
        return Arrival(self.tab.path, given, lists)

    def _node(self, each: EntryRead) -> tuple[str, MappingNode]:
        """What a row tells of, as an entry of its list. A visual that somebody elsewhere did is as
        the rules in force count such: a stamped test where a sticker meets none of them."""
        rest = dict(each.rest)
        if each.name == HYDRO:
            return "requalified", entry_of(each.on, {"method": Method.HYDROSTATIC.value, **rest})
        if each.name != VISUAL:
            return "rented", entry_of(each.on, rest)
        by = rest.get("by")
        people = self.book.settings.people
        if self.stamped and is_outside(people, by) and self.bench.is_shop(by):
            return "requalified", entry_of(each.on, {"method": Method.VISUAL.value, **rest})
        failed = rest.get("result") == TestResult.FAIL
        rest["result"] = "reject" if failed else rest.get("result", "pass")
        if self._is_own(each):
            rest |= {"checklist": f"{self.mapping.checklist}", "by": self._initials(f"{by}")}
            return "inspected", entry_of(each.on, rest)
        if not failed:
            rest["sticker"] = Sticker.SEEN.value
        return "inspected", entry_of(each.on, {"checklist": SEEN_STICKER, **rest})

    def _is_own(self, each: EntryRead) -> bool:
        """Whether one of the ledger's own people did a visual."""
        return each.name == VISUAL and self.bench.is_own_name(each.rest.get("by"))

    def _initials(self, by: str) -> str:
        """The initials of one of the ledger's people, as they are kept; an empty text for none."""
        people = self.book.settings.people
        return next((i for i in people if i.casefold() == by.strip().casefold()), "")

    def _of_own(self) -> None:
        """Visuals of one's own people, by a checklist that is said and known."""
        known = sorted(self.book.checklists)
        for place, row in enumerate(self.reads):
            own = next((e for e in row.entries if self._is_own(e)), None)
            if own is None:
                continue
            where = Where(self.tab.path, own.on.start.line, own.on.start.column)
            if not self._initials(by := own.rest["by"]):
                text = f"{by} is of this ledger, and none of its people by their initials"
                mend = f"say in `values:` who: `{{{ticked_in(by)}: MV}}`; or nothing, for a sticker"
                self._cannot(place, [Finding(where, "no-initials", text, mend)])
                continue
            if self.mapping.checklist in known:
                continue
            name = self.mapping.checklist
            what = "is not said" if name is None else f"is said to be {ticked(name)}, which is none"
            text = f"by which checklist {by} did its visual of {own.on.text} {what}"
            mend = f"write `checklist: annual` above `columns:` (known: {', '.join(known)})"
            self._cannot(place, [Finding(where, "no-checklist", text, mend)])

    def _remarks(self, place: int, row: RowRead, card: Cylinder) -> None:
        """Of its remarks, those that tell against it hold it; the others are its note."""
        kept, held = [], {each.text for each in row.holds}
        for each in row.remarks:
            if each.text in held:  # `gone:` says so, and one hold is enough
                self.answered.add(_as_key(each.text))
                self.fates[place].why.append(f"held until looked at: {ticked(each.text)}")
                continue
            why = self._why_held(place, card, each.text)
            if why:
                row.holds.append(each)
                held.add(each.text)
                self.fates[place].why.append(f"held until looked at: {why}")
            else:
                kept.append(each)
                if each.text in self.judged:
                    row.judged.append(each)
        for each in row.settled:
            why = "" if each.text in held else self._tells_against(card, each.text)
            if why:
                row.holds.append(each)
                held.add(each.text)
                row.remarks.append(each)
                self.fates[place].why.append(f"held until looked at: {why}")
        for each in row.holds:
            if each not in row.remarks:
                self.fates[place].why.append(f"held until looked at: {ticked(each.text)}")
        if not kept:
            return
        text = "; ".join(each.text for each in kept)
        if len(text) > TEXT.limit:
            where = Where(self.tab.path, kept[0].start.line, kept[0].start.column)
            said_ = f"its remarks come to {len(text)} characters, and a note holds {TEXT.limit}"
            mend = "shorten them, or write `key: leave-out` for a column that is not needed"
            self._cannot(place, [Finding(where, "too-long", said_, mend)])
        row.given[NOTE] = said(text, kept[0].start)

    def _why_held(self, place: int, card: Cylinder, text: str) -> str:
        """Why a remark holds its cylinder, or an empty text. What it says may tell against it by
        words that nobody here knows: what is not plain is told, until a mapping says what it is."""
        why, said_ = self._tells_against(card, text), self._said(card, text)
        heading, value = heading_and_value(text)
        people, own = self.book.settings.people, f"{card.service_pressure}"
        below = self._is_below(card, text)
        if why and said_ is RemarkIs.HARMLESS:
            return f"{why}, whatever the mapping says"
        if said_ is RemarkIs.HARMLESS:
            self.judged.add(text)
        if not why and said_ is RemarkIs.HOLD:
            return f"the mapping says so of {ticked(text)}"
        if why or said_ is not None:
            return why
        if text.startswith(COLOURED) and any(map(is_red, text.split(", "))):
            return f"nobody said what it means that it is {text}"
        other = ""
        if is_plain(text, people, own) and not (other := contradicts(card, text)):
            self.answered.add(_as_key(heading))  # a heading that was answered need not have been
            return ""
        if other:
            self.unjudged.setdefault(place, []).append(text)
            self.fates[place].why.append(f"its remark says {other}")
        elif below:  # told once for all of its column
            self.below.setdefault(place, []).append((heading, value))
        else:
            self.unjudged.setdefault(place, []).append(text)
            self.fates[place].why.append(f"nobody judged its remark {ticked(shortened(text))}")
        return why

    def _said(self, card: Cylinder, text: str) -> RemarkIs | None:
        """What the mapping says that a remark is, by itself or by the heading above it."""
        said_ = self.said_of.get(_as_key(text))
        self.answered.add(_as_key(text))
        if said_ is None and self._is_below(card, text):
            heading, _ = heading_and_value(text)
            said_ = self.said_of.get(_as_key(heading))
            self.answered.add(_as_key(heading))
        return said_

    def _is_below(self, card: Cylinder, text: str) -> bool:
        """Whether a remark is a value that says nothing by itself, with the heading above it."""
        heading, value = heading_and_value(text)
        people, own = self.book.settings.people, f"{card.service_pressure}"
        return bool(heading) and (
            is_plain_elsewhere(value, people, own)
            or _MARK.fullmatch(value) is not None
            or is_grade(heading, value)
            or text.startswith(COLOURED)
        )

    def _of_remarks(self) -> Iterator[str]:
        """The remarks of what is recorded that hold nothing, though nobody knows what they say;
        and how many say nothing."""
        rows: dict[str, list[str]] = {}
        for place, texts in self.unjudged.items():
            fate = self.fates[place]
            for text in texts if fate.comes in _RECORDED else ():
                rows.setdefault(text, []).append(str(fate.row))
        yield from self._of_headings()
        if rows:
            each = "; ".join(f"{ticked(t)} (row {', '.join(n[:5])})" for t, n in rows.items())
            first = ticked_in(next(iter(rows)))
            yield (
                f"remarks that hold nothing, and that nobody judged: {each}. Read them: "
                f"`remarks: {{{first}: hold}}` in the mapping holds its cylinder, and `harmless` "
                "says that it is nothing"
            )
        for each in self.mapping.remarks:
            if _as_key(each) not in self.answered:
                yield f"the mapping says of {ticked(each)} what it is, and no remark says that"
        empty = [text for row in self.reads for text in row.empty if not row.left_out]
        if empty:
            yield (
                f"{counted(len(empty), 'remark')} that {'say' if len(empty) > 1 else 'says'} "
                f"nothing ({', '.join(dict.fromkeys(empty))}) {'are' if len(empty) > 1 else 'is'} "
                "left out"
            )

    def _of_headings(self) -> Iterator[str]:
        """The columns below whose headings nobody knows what a plain value says, each once."""
        cells: dict[str, list[tuple[str, int]]] = {}
        for place, pairs in self.below.items():
            fate = self.fates[place]
            for heading, value in pairs if fate.comes in _RECORDED else ():
                cells.setdefault(heading, []).append((value, fate.row))
        if not cells:
            return
        each = "; ".join(
            f"{ticked(heading)} ({counted(len(found), 'cell')}, such as "
            f"{_some(v for v, _ in found)}, row {', '.join(str(row) for _, row in found[:5])})"
            for heading, found in cells.items()
        )
        heading, found = next(iter(cells.items()))
        yield (
            f"kept columns of which nobody judged what their values say: {each}. Read them: "
            f"`remarks: {{{ticked_in(f'{heading}: {found[0][0]}')}: hold}}` in the mapping holds a "
            f"cylinder, and `remarks: {{{ticked_in(heading)}: harmless}}` says that a column is "
            "nothing"
        )

    def _tells_against(self, card: Cylinder, text: str) -> str:
        """As `tells_against`, once for cylinders alike in what it looks at."""
        pressure = card.service_pressure
        thread = card.valve.thread if card.valve else None
        key = (text, card.material, card.alloy, f"{pressure}", card.neck_thread, thread)
        if key not in self.against:
            self.against[key] = tells_against(self.book, card, text, self.today)
        return self.against[key]

    def _named_twice(self, cards: Mapping[int, ArrivalCard]) -> None:
        """Rows that may be of one cylinder, or give two one id: each names the others, for which
        of them is right nobody here knows."""
        serials: dict[str, list[int]] = {}
        ids: dict[str, list[int]] = {}
        for place, row in enumerate(self.reads):
            if place not in cards and self.fates[place].comes is not Comes.CANNOT:
                continue  # of one that cannot be read nobody knows what it says of the other
            if "serial" in row.given and NOT_SAME not in row.given:
                serials.setdefault(plain_serial(row.given["serial"].text), []).append(place)
            if ID in row.given:
                ids.setdefault(row.given[ID].text.casefold(), []).append(place)
        for places in serials.values():
            for place in places if len(places) > 1 else ():
                mine = self._maker(place)
                others = [
                    p
                    for p in places
                    if p != place and not (mine and self._maker(p) not in ("", mine))
                ]
                self._twin(place, "serial", others)
        for places in ids.values():
            for place in places if len(places) > 1 else ():
                self._twin(place, ID, [p for p in places if p != place])

    def _maker(self, place: int) -> str:
        maker = self.reads[place].given.get("maker")
        return maker_named(maker.text) if maker else ""

    def _twin(self, place: int, key: str, others: Sequence[int]) -> None:
        if not others:
            return
        given = self.reads[place].given
        value = given.get(key) or next(iter(given.values()))
        rows = ", ".join(str(self.reads[p].row.number) for p in others[:5])
        what = f"its {key} {value.text} stands in row {rows} as well"
        mend = "one cylinder, one row; where two are stamped alike, say so in a column `not_same`"
        where = Where(self.tab.path, value.start.line, value.start.column)
        self._cannot(place, [Finding(where, "named-twice", what, mend)])

    def _card_of(self, place: int, cylinder: Cylinder) -> Cylinder | None:
        """The card that is there of the cylinder of a row."""
        maker = maker_named(cylinder.maker)
        if NOT_SAME in self.reads[place].given:
            return None
        alike = [
            c
            for c in self.on_file.get(plain_serial(cylinder.serial), ())
            if not maker or maker_named(c.maker) in ("", maker)
        ]
        own = self.reads[place].given.get(ID)
        if own is not None and len(alike) > 1:
            alike = [c for c in alike if c.id.casefold() == own.text.casefold()] or alike
        if len(alike) > 1:
            why = f"its serial is that of {named(c.id for c in alike)}: give its maker or its id"
            self._cannot(place, [], why)
            return None
        if not alike and (unread := self._not_read(cylinder, own)):
            first = own or self.reads[place].given["serial"]
            where = Where(self.tab.path, first.start.line, first.start.column)
            text = f"it may have a card already, which cannot be read: {unread}"
            self._cannot(place, [Finding(where, "card-unread", text, "mend that file first")])
        elif not alike and own is not None and own.text.casefold() in taken(self.book):
            where = Where(self.tab.path, own.start.line, own.start.column)
            text = f"{own.text} is in use already, by a cylinder of another serial"
            mend = "see which is right; or map the column to `keep`, and it gets an id of its own"
            self._cannot(place, [Finding(where, "id-taken", text, mend)])
        return alike[0] if alike else None

    def _not_read(self, cylinder: Cylinder, own: Scalar | None) -> str:
        """The card of a row that is there and cannot be read: one of its id, or in the text of
        which its serial stands. An empty text for none."""
        if not self.book.broken:
            return ""
        id_ = own.text.casefold() if own else ""
        named_so = (each for each in self.book.broken if each.casefold() == id_)
        serials = serials_of(cylinder)
        found = (
            path
            for path, text in self.book.broken_cards.items()
            if any(may_be_in(text, serial) for serial in serials)
        )
        return next(named_so, "") or next(found, "")

    def _known(self, place: int, before: Cylinder) -> None:
        """A row whose cylinder has a card: it stays as it is, or what it lacks is added."""
        fate, row = self.fates[place], self.reads[place]
        fate.id, fate.status, fate.comes = before.id, f"{before.status}", Comes.THERE
        fate.why = []
        arrival = self._arrival(row)
        given = {k: v for k, v in arrival.given.items() if k not in (ID, "use", NOTE)}
        if before.use is None and "use" in arrival.given:
            given["use"] = arrival.given["use"]
        lists = {k: v for k, v in arrival.entries.items() if k in ("requalified", "inspected")}
        card = card_of(Arrival(before.id, given, lists), None, self.book.settings.units, self.by)
        if card.cylinder is None or card.findings:
            self._cannot(place, card.findings)
            return
        for name in ("requalified", "inspected"):
            for entry in getattr(card.cylinder, name):
                same = [e for e in getattr(before, name) if _is_same(entry, e)]
                fate.why += _says_more(before.id, name, entry, same) if same else ()
        fresh = {
            name: tuple(
                e
                for e in getattr(card.cylinder, name)
                if not any(_is_same(e, other) for other in getattr(before, name))
            )
            for name in ("requalified", "inspected")
        }
        card.cylinder = replace(card.cylinder, **fresh)
        against = [*clashes(before, card.cylinder)]
        fate.unsaid += (earlier := [*self._earlier_now(before, card.cylinder)])
        if self.mapping.on_file is OnFile.LEAVE:
            fate.why += [each.partition("; see which")[0] for each in against]
            draft = grown(before, card, self.by, self.today)
            lacks = [str(getattr(e, "trail", ("",))[0]) for e in draft.edits]
            if lacks:
                what = ", ".join(dict.fromkeys(lacks))
                fate.why.append(f"not on its card: {what} (`on_file: complete` adds it)")
            if any(self._newly_judged(row, before)):
                fate.why.append("its remark is judged now (`on_file: complete` adds that)")
            fate.unsaid += self._tells_more(row, before)
            fate.why += [*fate.unsaid, *self._unsaid(place, before)]
            return
        if against or earlier:
            self._cannot(place, [], *against, *earlier)
            return
        draft = grown(before, card, self.by, self.today)
        known = {each.why for each in before.held}
        for hold in row.holds:
            if hold.text not in known:
                entry = Held(on=PartialDate.of(self.today), by=self.by or None, why=hold.text)
                draft = draft.enter("held", entry)
                fate.why.append(f"held until looked at: {ticked(hold.text)}")
        if before.note is None and NOTE in row.given:
            draft = draft.set(NOTE, row.given[NOTE].text)
        else:
            fate.unsaid += self._unsaid(place, before)
        fate.unsaid += _out_to(row, before)
        fate.unsaid += _home_by(row, before, self.mapping)
        fate.why += fate.unsaid
        for judged in self._newly_judged(row, draft.record):
            draft = draft.enter(JUDGED, judged)
            fate.why.append(f"judged to be nothing: {ticked(shortened(judged.text))}")
        self._drafted([place], draft)

    def _earlier_now(self, before: Cylinder, now: Cylinder) -> Iterator[str]:
        """Each last test that is an earlier one by this table than by the card, which has it from
        such a table as well: a day that was mended there, and is not here."""
        for name in ("requalified", "inspected"):
            kinds_ = {about(e)[1:]: e for e in sorted(getattr(now, name), key=lambda e: e.on.last)}
            for kind, last in kinds_.items():
                same = [e for e in standing(getattr(before, name)) if about(e)[1:] == kind]
                known = max(same, key=lambda e: e.on.last, default=None)
                if known is None or not (known.note or "").startswith(FROM_SHEET):
                    continue
                if known.on.first > last.on.last:
                    what = _LAST[name]
                    why = shlex.quote(f"last {what} in doubt: {last.on} or {known.on}")
                    yield (
                        f"its last {what} was on {last.on} by this table and on {known.on} "
                        "by its card, which has that from a table: see which is true; till then: "
                        f"tankbook hold {before.id} --why {why}"
                    )

    def _newly_judged(self, row: RowRead, card: Cylinder) -> Iterator[NoteJudged]:
        """What the mapping calls harmless of the note of a card, and nobody judged on it yet."""
        known, note = {each.text for each in card.note_judged}, f"; {card.note or ''}; "
        for text in dict.fromkeys(each.text for each in row.judged):
            if text not in known and f"; {text}; " in note:
                yield NoteJudged(on=self.today, by=self.by, text=text)

    def _tells_more(self, row: RowRead, before: Cylinder) -> Iterator[str]:
        """The remarks of a row that tell against its cylinder, and that its card does not have:
        to hold it is an act of whoever reads them."""
        known = {each.why for each in before.held}
        for text in dict.fromkeys(hold.text for hold in row.holds):
            if text not in known:
                yield (
                    f"its remark tells against it and is not on its card: {ticked(text)}; hold it: "
                    f"tankbook hold {before.id} --why {shlex.quote(text)}"
                )
        yield from _out_to(row, before)
        yield from _home_by(row, before, self.mapping)

    def _unsaid(self, place: int, before: Cylinder) -> Iterator[str]:
        """The other remarks of a row that its card does not have."""
        note = self.reads[place].given.get(NOTE)
        if note is not None and note.text not in (before.note or ""):
            said_ = f"its remark is not on its card: {ticked(shortened(note.text))}"
            judged = place not in self.unjudged and place not in self.below
            yield said_ if judged else f"{said_}; nobody judged it"

    def _drafted(self, places: Sequence[int], draft: Draft[Cylinder]) -> None:
        """A card that is there, with what was added to it, if that may be."""
        if not draft.edits:
            return
        id_ = draft.record.id
        draft = draft.stand(self.book)
        act = Act("import", (id_,), "", edits_of([draft]))
        got = sound(self.book, act, [draft], self.today, fact=True, decides=False)
        if isinstance(got, Refusal):
            for place in places:
                self._cannot(place, got.findings, *got.reasons)
            return
        then, on = after(self.book, [draft]), _oldest_added(self.book.cylinders[id_], draft.record)
        if late := let_go_late(self.book, then, by=self.by, on=on or self.today, ids=[id_]):
            for place in places:
                self._cannot(place, (), *late)
            return
        self.notes += let_go_said(self.book, then, self.today, [id_])
        self.drafts[id_] = draft
        for place in places:
            self.fates[place].comes = Comes.ADDED
            self.fates[place].status = f"{draft.record.status}"
        self.notes += [each for each in got.notes if not each.startswith(f"{id_}: DANGER")]

    def _book_in(self, places: Sequence[int]) -> None:
        """The rows that are new: those that cannot be booked in with the others are told."""
        left = list(places)
        while left:
            arrivals = [self._arrival(self.reads[p]) for p in left]
            got = booked_in(self.book, self.today, arrivals, by=self.by, left=False)
            if not isinstance(got, Refusal):
                self._placed(left, *got)
                return
            by_row: dict[int, list[Finding]] = {}
            for each in got.findings:
                by_row.setdefault(each.where.line, []).append(self._as_asked(each))
            bad = [p for p in left if any(self._is_of(p, line) for line in by_row)]
            if not bad:
                if not got.findings:  # of who records it: told once
                    self.reasons += [r for r in got.reasons if r not in self.reasons]
                    return
                bad = [p for p in left if self._alone_refused(p)] or left
            for place in bad:
                mine = [f for line, fs in by_row.items() if self._is_of(place, line) for f in fs]
                self._cannot(place, mine, *([] if mine else [str(f) for f in got.findings[:3]]))
            left = [p for p in left if p not in set(bad)]

    def _as_asked(self, found: Finding) -> Finding:
        """A fault of a card with the way out of an import."""
        if found.code == "no-use":
            return replace(found, mend="write `use:` in the mapping, or fill the cell")
        if found.code == "unknown-size" and (named_so := _TICKED.search(found.text)):
            cell = named_so[1]
            names = self._sizes_like(cell, found.where.line)
            more = "a size that is not known goes into `sizes:` of tankbook.yaml, or `water_volume`"
            if not names:
                return replace(found, mend=f"{more} has the volume")
            mend = f"say in its column which it is: `values: {{{ticked_in(cell)}: {names[0]}}}`"
            others = f" (or {', '.join(names[1:5])})" if names[1:] else ""
            return replace(found, mend=f"{mend}{others}; {more} has the volume")
        if "--set" in found.mend:
            mend = "where both stamps were read and they are two, say so in a column `not_same`"
            return replace(found, mend=mend)
        return found

    def _sizes_like(self, cell: str, line: int) -> list[str]:
        """The trade sizes whose number is that of a cell, and are of the metal of its row where
        that is known; none where it says more than a number, its unit and the metal: `2x7`, and
        `D8.5`, are of no one cylinder, and of which make `S80` is, nobody here knows."""
        found = _SIZED.fullmatch(cell.strip())
        if found is None:
            return []
        word = (found["before"] or found["metal"]).strip(" -")
        of = word_meant(word, word.casefold())
        litres = None if not found["unit"] else found["unit"].casefold().startswith("l")
        row = next((r for p, r in enumerate(self.reads) if self._is_of(p, line)), None)
        card = card_of(self._arrival(row), None, self.book.settings.units, self.by) if row else None
        metal = None
        if card is not None and card.cylinder is not None:
            specs = tuple(map(normal, card.cylinder.specification))
            metal = card.cylinder.material or material_of(specs)
        metals = {each for each in (metal, of) if each in tuple(Material)}
        kind = found["before"].strip(" -").casefold()
        names = []
        for name in dict.fromkeys(self.sizes.values()):
            parts, size = _SIZED_NAME.match(name), self.book.sizes.get(name)
            own = size.material if size else None
            if parts and float(parts[2]) == float(found["number"].replace(",", ".")):
                fits = of in tuple(Material) or kind in ("", parts[1])
                fits = fits and (litres is None or litres is bool(parts[3]))
                names += [name] if fits and all(own in (None, each) for each in metals) else []
        return names

    def _is_of(self, place: int, line: int) -> bool:
        """Whether a line lies within a row: one of text may go on over several."""
        row = self.reads[place].row
        return row.number <= line <= max(c.place.line for c in row.cells)

    def _alone_refused(self, place: int) -> bool:
        arrival = self._arrival(self.reads[place])
        return isinstance(booked_in(self.book, self.today, [arrival], by=self.by), Refusal)

    def _placed(self, places: Sequence[int], act: Act, cards: Sequence[Cylinder]) -> None:
        self.edits += act.edits
        for place, card in zip(places, cards, strict=True):
            fate = self.fates[place]
            fate.id, fate.status = card.id, f"{card.status}"
            fate.comes = Comes.HELD if card.held else Comes.NEW
            self.cards[card.id] = card

    # --- rows of entries

    def _entries(self) -> None:
        by_id: dict[str, list[int]] = {}
        for place, row in enumerate(self.reads):
            fate = self.fates[place]
            if fate.comes is not Comes.NEW or not row.entries:
                continue
            card = self._named_card(place, row)
            if card is not None:
                fate.id, fate.status, fate.comes = card.id, f"{card.status}", Comes.THERE
                by_id.setdefault(card.id, []).append(place)
        for id_, number in self._to_be_answered().items():
            for place in by_id.pop(id_, ()):
                at = Where(self.tab.path, self.reads[place].row.number, 1)
                text = f"what row {number} says of {id_} is to be answered first"
                self._cannot(place, [Finding(at, "told-of-none", text, "answer it there")])
        for id_, places in by_id.items():
            self._of_one(self.book.cylinders[id_], places)

    def _to_be_answered(self) -> dict[str, int]:
        """The cards of which a row that cannot be taken may say that they failed: what came after
        would stand on them alone."""
        found = dict[str, int]()
        for row, fate in zip(self.reads, self.fates, strict=True):
            if fate.comes is Comes.CANNOT and (
                any(says_not_passed(r.text) for r in row.remarks if r.text not in row.came_out)
                or any(f.code == "told-of-none" for f in fate.findings)
            ):
                for card in self._may_be(row):
                    found.setdefault(card.id, row.row.number)
        return found

    def _named_card(self, place: int, row: RowRead) -> Cylinder | None:
        own, serial = row.given.get(ID), row.given.get("serial")
        found = list[Cylinder]()
        if own is not None:
            found = [
                c for i, c in self.book.cylinders.items() if i.casefold() == own.text.casefold()
            ]
        if serial is not None:
            alike = self.on_file.get(plain_serial(serial.text), [])
            found = [c for c in found if c in alike] if own is not None and found else alike
        if len(found) == 1:
            return found[0]
        what = own or serial
        name = what.text if what else "it"
        where = Where(self.tab.path, row.row.number, what.start.column if what else 1)
        if found:
            text, mend = f"{name} may be {named(c.id for c in found)}", "give its id as well"
        else:
            text, mend = f"{name} has no card here", "import the cylinders first"
        self._cannot(place, [Finding(where, "no-card", text, mend)])
        return None

    def _of_one(self, card: Cylinder, places: Sequence[int]) -> None:
        """What rows tell of one cylinder, in the order of their days."""
        draft, changed = Draft(card), list[int]()
        ordered = sorted(places, key=lambda p: self.reads[p].entries[0].on.text)
        for place in ordered:
            for each in self.reads[place].entries:
                name, node = self._node(each)
                reader = NodeReader(self.tab.path)
                entry = read(_ENTRIES[name], node, reader)
                if entry is None or reader.findings:
                    self._cannot(place, reader.findings)
                    continue
                if entry.on.first > self.today:
                    where = Where(self.tab.path, each.on.start.line, each.on.start.column)
                    text = f"its {entry.title} of {each.on.text} is in the future"
                    mend = "correct the day; what is only booked is no entry"
                    self._cannot(place, [Finding(where, "in-the-future", text, mend)])
                    continue
                same = [e for e in getattr(draft.record, name) if _is_same(entry, e)]
                if same:
                    self.fates[place].why += _says_more(card.id, name, entry, same)
                    continue
                if isinstance(entry, Requalified):
                    entry = self._answering(place, draft.record, entry)
                draft = draft.enter(name, entry)
                changed.append(place)
        for place in dict.fromkeys(changed):
            draft = self._held_since(draft, place)
        for place in places:
            for judged in self._judged_beside(place, draft.record):
                draft = draft.enter(JUDGED, judged)
                self.fates[place].why.append(f"judged to be nothing: {ticked(judged.text)}")
                changed.append(place)
        if changed:
            draft = self._held_for_failed(draft, changed)
        if any(self.fates[p].comes is Comes.CANNOT for p in places):
            good = [p for p in places if self.fates[p].comes is not Comes.CANNOT]
            if good:
                self._of_one(card, good)
            return
        self._drafted(changed, draft)

    def _answering(self, place: int, card: Cylinder, test: Requalified) -> Requalified:
        """A pressure test that somebody passed it at after it had failed a look or a test: its
        shell was looked at inside and out there (49 CFR 180.205(f); 2015 annual edition, from
        memory), and who tested it decided of both."""
        if test.result is not TestResult.PASS or test.method not in PRESSURE_TESTS or not test.by:
            return test
        bench, found = bench_of(self.book), dict[Cleared, str]()
        for look in open_inspections(bench, card):
            found[Cleared(Adverse.INSPECTED, look.on)] = "visual"
        for each in open_tests(bench, card):
            found[Cleared(Adverse.REQUALIFIED, each.on)] = f"{each.method} test"
        before = {c: what for c, what in found.items() if c.on.last < test.on.first}
        for failed, what in before.items():
            told = f"its {what} of {failed.on} failed; that of {test.on} is taken to answer it"
            self.fates[place].why.append(told)
        return replace(test, clears=tuple(before)) if before else test

    def _held_for_failed(self, draft: Draft[Cylinder], places: Sequence[int]) -> Draft[Cylinder]:
        """The card held for what failed and nothing answers, as a row of a cylinder is."""
        bench, card = bench_of(self.book), draft.record
        bad = {
            f"its visual of {i.on} failed": answered_by_test(bench, card, i.on)
            for i in open_inspections(bench, card)
        }
        bad |= {f"its {t.method} test of {t.on} failed": "" for t in open_tests(bench, card)}
        for why, way in bad.items():
            if why not in {h.why for h in draft.record.held}:
                draft = draft.enter("held", self._hold(why))
                told = f"held until looked at: {why}" + (f"; {way}" if way else "")
                self.fates[places[-1]].why.append(told)
        return draft

    def _held_since(self, draft: Draft[Cylinder], place: int) -> Draft[Cylinder]:
        """The card held for what a remark beside an entry tells against it, unless it passed an
        inspection later."""
        row, card = self.reads[place], draft.record
        for each in row.holds:  # somebody said so of it, or the row is struck out
            if each.text not in {h.why for h in draft.record.held}:
                draft = draft.enter("held", self._hold(each.text))
                self.fates[place].why.append(f"held until looked at: {ticked(each.text)}")
        day = max(PartialDate.parse(e.on.text).last for e in row.entries)
        passed = (i for i in standing(card.inspected) if i.result is InspectionResult.PASS)
        if any(i.on.first > day and i.by for i in passed):  # a sticker of nobody answers nothing
            return draft
        said_so = {each.text for each in row.holds}
        for each in row.remarks:
            if each.text in said_so:
                self.answered.add(_as_key(each.text))
                continue
            why = self._why_held(place, card, each.text)
            if why and each.text not in {h.why for h in draft.record.held}:
                draft = draft.enter("held", self._hold(each.text))
                self.fates[place].why.append(f"held until looked at: {why}")
        return draft

    def _judged_beside(self, place: int, card: Cylinder) -> Iterator[NoteJudged]:
        """What the mapping calls harmless of the remarks beside an entry, and nobody judged on its
        card yet: what holds it is none of it."""
        known = {j.text for j in card.note_judged} | {h.why for h in card.held}
        for each in self.reads[place].remarks if self.by else ():
            harmless = self._said(card, each.text) is RemarkIs.HARMLESS
            if harmless and each.text not in known and not self._tells_against(card, each.text):
                known.add(each.text)
                yield NoteJudged(on=self.today, by=self.by, text=each.text)

    def _hold(self, why: str) -> Held:
        return Held(on=PartialDate.of(self.today), by=self.by or None, why=why)

    # --- together

    def _of_missing(self) -> None:
        """The cards that came from a table and are not in this one, of which most of the others
        are: somebody took their rows out, and why is on no card."""
        rows = [f for f in self.fates if f.comes is not Comes.LEFT_OUT]
        known = {f.id for f in self.fates if f.comes in (Comes.THERE, Comes.ADDED)}
        if self.mapping.rows is RowsAre.ENTRIES or 2 * len(known) <= len(rows):
            return
        named_ = known | {c.id for row in self.reads for c in self._may_be(row)}
        missing = [
            c.id
            for c in self.book.cylinders.values()
            if c.id not in named_ and not (c.status and c.status.gone) and _came_from_table(c)
        ]
        if missing:
            each = f"{', '.join(missing[:_MOST_ROWS])}" + ", ..." * (len(missing) > _MOST_ROWS)
            self.notes.append(
                f"{each}: on file from a table, and not in this one: where a cylinder is gone, "
                "record how, by `hand-over`, `condemn` or `stolen`; where it is here, put its row "
                "back"
            )

    def _of_refused(self) -> None:
        """What the remarks of rows that cannot be taken tell against their cylinders is told all
        the same, with the card that each may be of: whatever else is wrong with the row."""
        for place, fate in enumerate(self.fates):
            row = self.reads[place]
            if fate.comes is not Comes.CANNOT or row.loose:
                continue
            said_ = [*row.remarks, *row.settled]
            against = [e.text for e in said_ if self._tells_against(_OF_NONE, e.text)]
            cards = self._may_be(row)
            for text in dict.fromkeys([*(h.text for h in row.holds), *against]):
                if any(h.why == text for c in cards for h in c.held):
                    continue
                told = f"its remark tells against it, and the row is not taken: {ticked(text)}"
                for card in cards:
                    why = shlex.quote(text)
                    told += f"; where it is {card.id}: tankbook hold {card.id} --why {why}"
                    fate.id, fate.status = card.id, f"{card.status}"
                fate.unsaid.append(told)

    def _may_be(self, row: RowRead) -> list[Cylinder]:
        """The cards on file that have the id of a row, or its serial."""
        own, serial = row.given.get(ID), row.given.get(SERIAL)
        id_ = own.text.casefold() if own else ""
        found = [c for i, c in self.book.cylinders.items() if i.casefold() == id_]
        alike = self.on_file.get(plain_serial(serial.text), []) if serial else []
        return [*found, *(c for c in alike if c not in found)]

    def _cannot(self, place: int, findings: Sequence[Finding], *why: str) -> None:
        fate = self.fates[place]
        if fate.comes is not Comes.CANNOT:
            fate.comes, fate.why = Comes.CANNOT, []
        known = {str(f) for f in fate.findings}
        fate.findings += [f for f in findings if str(f) not in known]
        fate.why += why

    def _unmapped(self) -> Iterator[str]:
        first, last = headings_of(self.mapping)
        for column in unmapped(self.tab, self.mapping):
            heading = heading_at(self.tab, first, last, column)
            name = f"column {letter_of(column)}" + (f" ({ticked(heading)})" if heading else "")
            yield f"{name} is not mapped: what stands in it is kept in the notes"

    def _act(self, told: Sequence[str], bad: Sequence[Fate], then: Book) -> Act:
        new = [f.id for f in self.fates if f.comes in (Comes.NEW, Comes.HELD)]
        added = list(dict.fromkeys(f.id for f in self.fates if f.comes is Comes.ADDED))
        held = [f.id for f in self.fates if f.comes is Comes.HELD]
        parts = []
        if new:
            span = new[0] if len(new) == 1 else f"{new[0]} to {new[-1]}"
            parts.append(f"{counted(len(new), 'new card')}, {span}")
        if held:
            parts.append(f"{len(held)} of them held")
        if added:
            parts.append(f"{counted(len(added), 'card')} added to")
        there = sum(f.comes is Comes.THERE for f in self.fates)
        if there:
            parts.append(f"{there} there already")
        left = sum(f.comes is Comes.LEFT_OUT for f in self.fates)
        if bad:
            parts.append(f"{counted(len(bad), 'row')} left that cannot be taken")
        sentence = f"Imported {self.tab.path}: {'; '.join(parts) or 'nothing new'}"
        notes = [*told]
        notes += [f"row {f.row} ({f.called or '?'}): {'; '.join(f.says)}" for f in bad]
        kept = (Comes.HELD, Comes.ADDED)
        notes += [f"{f.id}: {_in_one(f.why)}" for f in self.fates if f.why and f.comes in kept]
        notes += [f"{f.id}: {w}" for f in self.fates for w in f.unsaid if f.comes is Comes.THERE]
        if left:
            rows = ", ".join(str(f.row) for f in self.fates if f.comes is Comes.LEFT_OUT)
            notes.append(f"left out: row {shortened(rows)}")
        notes[:0] = self._dangers(then, (*held, *added))
        edits = (*self.edits, *edits_of(self.drafts.values()))
        return Act("import", (*new, *added), sentence, edits, tuple(dict.fromkeys(notes)))

    def _dangers(self, then: Book, ids: Sequence[str]) -> Iterator[str]:
        """What to beware of at once, each once, with all the cylinders that it is said of."""
        of: dict[str, list[str]] = {}
        for each in dangers_of(then, dict.fromkeys(ids), self.today):
            id_, _, text = each.partition(": ")
            of.setdefault(text, []).append(id_)
        yield from (f"{', '.join(ids_)}: {text}" for text, ids_ in of.items())


def _oldest_added(before: Cylinder, then: Cylinder) -> dt.date | None:
    """The first day of what was added to a card that may say that its gas was let out."""
    lists = ((c.requalified, c.inspected, c.cleaned, c.sent) for c in (before, then))
    known, added = ({id(e): e.on.first for each in of for e in each} for of in lists)
    return min((on for id_, on in added.items() if id_ not in known), default=None)


def _some(values: Iterable[str]) -> str:
    """What differs, a red first, and how much more there is: one of many may be the odd one."""
    each = sorted(dict.fromkeys(values), key=lambda v: not says_alarm(v))
    more = f" and {len(each) - _MOST_VALUES} more" if len(each) > _MOST_VALUES else ""
    return ", ".join(map(ticked, each[:_MOST_VALUES])) + more


_MOST_VALUES = 6


def _each_once(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Faults, those of many cells that say the same as one with the other rows."""
    rows: dict[tuple[str, str, str], list[Finding]] = {}
    for each in findings:
        rows.setdefault((each.code, each.text, each.mend), []).append(each)
    return tuple(_with_others(each) for each in rows.values())


def _with_others(same: Sequence[Finding]) -> Finding:
    first, *others = same
    if not others:
        return first
    lines = ", ".join(f"{each.where.line}" for each in others[:_MOST_ROWS])
    more = f" and {len(others) - _MOST_ROWS} more" if len(others) > _MOST_ROWS else ""
    return replace(first, text=f"{first.text} (and in row {lines}{more})")


_MOST_ROWS = 10
"""So many rows of which one thing is to be told are named (own choice)."""


def _in_one(why: Sequence[str]) -> str:
    """What is told of one row, in one line: what holds it is named once, with all that does.

    >>> _in_one(["held until looked at: a", "held until looked at: b", "c"])
    'held until looked at: a, b; c'
    """
    each = dict.fromkeys(why)
    held = [w.removeprefix(_HELD) for w in each if w.startswith(_HELD)]
    others = [w for w in each if not w.startswith(_HELD)]
    return "; ".join([*([f"{_HELD}{', '.join(held)}"] if held else []), *others])


def _as_failed(each: EntryRead) -> EntryRead:
    """A test beneath a title that says that it was not passed."""
    if each.name not in (HYDRO, VISUAL):
        return each
    return replace(each, rest={**each.rest, "result": TestResult.FAIL.value})


_HELD = "held until looked at: "


def _begun(row: RowRead) -> Fate:
    """What comes of a row as far as it is known from itself."""
    fate = Fate(row.row.number, Comes.NEW, row.called, why=list(row.notes))
    if row.left_out:
        fate.comes, fate.why = Comes.LEFT_OUT, [row.left_out]
    elif row.findings:
        fate.comes, fate.findings = Comes.CANNOT, list(row.findings)
    return fate


_SIZED = pattern(
    r"(?P<before>[^\W\d]+[ -]?|)(?P<number>\d+(?:[.,]\d+)?)"
    r"\s*(?P<unit>l|lt|ltrs?|lit(?:re|er)s?|cf|cu\.? ?ft|)[ -]?(?P<metal>[^\W\d]{2,}|)",
    re.IGNORECASE,
)
"""A size as people write it: `AL80`, `80 cuft`, `12 l`, `12 l steel`."""
_SIZED_NAME = pattern(r"([a-z]*)-?(\d+(?:\.\d+)?)(l?)")

_MARK = pattern(r"[A-Za-z]{0,4}[ -]?\d[\d./-]*[A-Za-z]?")
"""A serial, a figure or a mark: whether it says anything, its heading tells."""

_OF_NONE = Cylinder(serial="")
"""By which words are judged that name no cylinder."""


def _is_named(row: RowRead, text: str) -> bool:
    """Whether a text names the cylinder of a row, by its id or its serial, or as one of several:
    `N3-N7`, `3 to 7`, `N3, 5 and 7`."""
    names = _names_of(row)
    own = {(m[1], int(m[2])) for n in names if (m := _NUMBERED.fullmatch(n))}
    said_ = text.casefold()
    said_ = _COUNTS.sub(" . ", said_)
    bare = "" if begins_foot(text) else _DATES.sub(" . ", said_)  # a figure may be of a sum, a date
    if any(
        re.search(rf"(?<![\w-]){re.escape(n)}(?![\w-])", bare if n.isdigit() else said_)
        for n in names
        if len(n) > 1
    ):
        return True
    return any(
        before in ("", prefix) and first <= number <= last
        for before, first, last in _several(said_)
        for prefix, number in own
    )


def _without_names(named_: Sequence[RowRead], text: str) -> str:
    """A text without what the cylinders of some rows are called, and what stands between these."""
    names = sorted({n for row in named_ for n in _names_of(row)}, key=len, reverse=True)
    each = "|".join(map(re.escape, names))
    left = re.sub(rf"(?<![\w-])(?:{each})(?![\w-])", " ", text, flags=re.I) if names else text
    return _JOINS.sub("", left).strip() if names else text


def _under(rows: Iterable[TabRow], heads: Mapping[int, str]) -> Iterator[tuple[TabRow, Scalar]]:
    """What some rows say, each beneath the last headings above it, which say nothing."""
    for row in rows:
        above = {c: {text} for c, text in heads.items()}
        if headings_again(row, above) is None:
            yield from ((row, each) for each in loose_under(row, heads))
        else:
            heads = {c: cell.text for c, cell in enumerate(row.cells)}


def _names_of(row: RowRead) -> set[str]:
    """What the cylinder of a row is called: its id, its serial, its marks, as they stand there and
    as they are read."""
    given = [row.given[name] for name in NAMING if name in row.given]
    starts = [value.start for value in given]
    cells = [cell.text for cell in row.row.cells if cell.place in starts]
    return {n.casefold() for n in (*cells, *(g.text for g in given))}


_JOINS = pattern(r"^(?:[\s,;:/&+\u2013-]|\b(?:and|und|et|y|e|en|to|bis|à|a|al|tot)\b)+", re.I)
"""What stands between names, and before what is said of them."""
_FEW = 2
"""A row of no more cells may speak of the cylinder of another (own choice)."""

_TITLE = 3
"""A row of no more cells may be the title of those beneath it (own choice)."""

_NUMBERED = pattern(r"(\D*?)[ -]?0*(\d{1,6})")
"""The letters of an id, or of a serial, and its number."""
_ONE = r"(?:([^\W\d]{1,5})-?)?0*(\d{1,6})(?![\w])"
_FIRST = pattern(rf"(?<![\w-]){_ONE}")
_NEXT = pattern(
    r"\s*([-\u2013\u2014,/&+]|\.\.+|\b(?:to|till|thru|through|bis|and|und|et|y|e|en|a|\u00e0|al|t/m|tot)\b)\s*"
    + _ONE
)
_LISTS = frozenset((",", "/", "&", "+", "and", "und", "et", "y", "e", "en"))
"""What stands between the numbers of a list; anything else leads from a first one to a last."""
_DATES = pattern(
    r"(?<!\w)(?:\d{1,2}([./-])\d{1,2}\1(?:\d{4}|\d\d)|\d{1,2}[./-](?:19|20)\d\d|(?:19|20)\d\d[./-]\d{1,2}([./-]\d{1,2})?)(?!\d)"
)


def _several(text: str) -> Iterator[tuple[str, int, int]]:
    """The ranges and lists of numbers in a text, and no dates: the letters in front, the first and
    the last.

    >>> list(_several("n3-n7 leak, k1, 4 and 6 too"))
    [('n', 3, 7), ('k', 1, 1), ('k', 4, 4), ('k', 6, 6)]
    """
    text = _DATES.sub(" . ", text)
    at = 0
    while found := _FIRST.search(text, at):
        before, last = found[1] or "", int(found[2])
        each = [(before, last, last)]
        while more := _NEXT.match(text, found.end()):
            before, first, last = more[2] or before, last, int(more[3])
            if more[1] in _LISTS or first > last:
                each.append((before, last, last))
            else:
                each[-1] = (before, each[-1][1], last)
            found = more
        if len(each) > 1 or each[0][1] < each[0][2]:
            yield from each
        at = found.end()


_COUNTS = pattern(
    r"(?<![\w-])\d{1,4} ?(?:x|pcs?|pieces?|st(?:\u00fc|ue)ck|stk|off|of them|cyls?"
    r"|cylinders|tanks|bottles|flaschen|pi\u00e8ces|bouteilles|blocs|botellas|piezas|bombole|pezzi|flessen|stuks?)(?!\w)"
)
"""How many there are, which names none of them."""
_TICKED = pattern(r"`([^`]*)`")


def _as_key(remark: str) -> str:
    """A remark as a mapping names it."""
    return ticked_in(remark.strip()).casefold()


_LAST = {"requalified": "test", "inspected": "visual"}
_ENTRIES: Mapping[str, type[Entry]] = {
    "requalified": Requalified,
    "inspected": Inspected,
    "rented": Rented,
}


def _is_same(one: Entry, other: Entry) -> bool:
    """Whether two entries of one list are of one thing: a month, and a day in it, are of one."""
    if isinstance(one, Rented) and isinstance(other, Rented) and one.to != other.to:
        return False
    alike = getattr(one, "result", None) == getattr(other, "result", None)
    return alike and about(one)[1:] == about(other)[1:] and one.on.meets(other.on)


def _says_more(id_: str, name: str, entry: Entry, same: Sequence[Entry]) -> Iterator[str]:
    """What a row says of something on file and its entry does not: who did it, when it was back."""
    if isinstance(entry, Rented):
        if entry.back and not any(isinstance(e, Rented) and e.back for e in same):
            line = f"tankbook return {id_} --on {entry.back}"
            yield f"that it was back on {entry.back} is not on its card: {line}"
        return
    by = getattr(entry, "by", None)
    if by and not any(getattr(each, "by", None) for each in same):
        line = f"tankbook correct {id_} {name} {same[0].on} --set by={shlex.quote(by)} --why WHY"
        yield f"who did its {same[0].title} of {same[0].on} ({by}) is not on its card: {line}"


def _came_from_table(card: Cylinder) -> bool:
    lists: tuple[Sequence[Entry], ...] = (card.requalified, card.inspected, card.rented, card.held)
    return any((getattr(e, "note", "") or "").startswith(FROM_SHEET) for of in lists for e in of)


def _out_to(row: RowRead, before: Cylinder) -> Iterator[str]:
    """Who has a cylinder on file by its row, and not by its card: that it went out is an act."""
    known = {e.to for e in standing(before.rented)}
    for each in row.entries:
        if each.name == "rental" and (to := each.rest.get("to", "")) not in known:
            line = f"tankbook rent {before.id} --to {shlex.quote(to)} --happened 'by its list'"
            yield f"that it is out to {to} is not on its card: where it is: {line}"


def _home_by(row: RowRead, before: Cylinder, mapping: SheetMapping) -> Iterator[str]:
    """Who has a cylinder by its card, and nobody by a row that could say so."""
    asked = any(each.key_ == OUT_TO for each in mapping.columns)
    if not asked or before.status is not Status.OUT or OUT_TO in row.unread:
        return
    if any(each.name == "rental" for each in row.entries):
        return
    line = f"tankbook return {before.id} --on DAY"
    for each in (e for e in standing(before.rented) if e.back is None):
        yield (
            f"its card has it out to {each.to} since {each.on}, and this table has it with nobody: "
            f"where it is back: {line}"
        )


def what_is_left(imported: Imported, today: dt.date) -> Iterator[tuple[Cylinder, tuple[str, ...]]]:
    """Each cylinder of the table, with what keeps it from a YES: to be taken to the rack."""
    for id_ in imported.ids:
        card = imported.book.cylinders.get(id_)
        if card is not None:
            unsaid = [w for f in imported.fates for w in f.unsaid if f.id == id_]
            yield card, (*dict.fromkeys(unsaid), *to_do(imported.book, id_, today))
