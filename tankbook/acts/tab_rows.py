"""The rows of somebody's own table, as a mapping says that they are to be read."""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from enum import StrEnum

from msgspec import Struct, field
from msgspec.structs import replace

from tankbook.acts.arrivals import FIRST_TEST, ID, known_keys, said
from tankbook.acts.common import shortened, ticked
from tankbook.acts.tab_cells import (
    HEADS_OF_CARDS,
    HEADS_OF_ENTRIES,
    NUMBERS,
    SWAPPED,
    DateReading,
    OtherOrderError,
    are_kinds,
    begins_foot,
    date_of,
    heading_fails,
    heading_says,
    holds_phrase,
    is_heading_of,
    is_here,
    key_by,
    kinds_in,
    less,
    may_be_name,
    no_value,
    orders_shown,
    other_way_about,
    phrases_of,
    plain_words,
    quantity_of,
    says_gone,
    says_not_passed,
    says_nothing_known,
    says_open,
    says_who_has_it,
    seem_swapped,
    word_meant,
)
from tankbook.records import kinds
from tankbook.records.cylinder import Cylinder
from tankbook.records.fields import Kind, Nested, OneOf, keys_of
from tankbook.records.node import Finding, Mark, Scalar, Where
from tankbook.records.sheet_mapping import (
    ColumnMeans,
    DateIs,
    DateOrder,
    Days,
    EmptyCells,
    HiddenRows,
    RowsAre,
    SheetMapping,
    Stands,
    Unreadable,
)
from tankbook.records.tab import Tab, TabCell, TabRow, column_of, letter_of
from tankbook.records.words import TestResult, Use
from tankbook.rules.harmless import is_colour, is_plain_heading, is_plain_place
from tankbook.rules.wording import unread_words
from tankbook.units import PartialDate
from tankbook.units.nouns import counted
from tankbook.units.patterns import pattern

HYDRO, VISUAL = "hydro", "visual"
OUT_TO, OUT_SINCE, OUT_UNTIL = "out_to", "out_since", "out_until"
STANDS, REMARK, KEEP, LEAVE_OUT, NOTE, OWNER = (
    "stands", "remark", "keep", "leave-out", "note", "owner",
)  # fmt: skip
WHAT, ON, BY, RESULT, TO, BACK = "what", "on", "by", "result", "to", "back"
HYDRO_RESULT, VISUAL_RESULT = "hydro_result", "visual_result"
RESULTS: Mapping[str, str] = {HYDRO_RESULT: HYDRO, VISUAL_RESULT: VISUAL}
"""What says how the last test of a cylinder came out, and of which test."""
HYDRO_BY, VISUAL_BY = "hydro_by", "visual_by"
DONE_BY: Mapping[str, str] = {HYDRO_BY: HYDRO, VISUAL_BY: VISUAL}
"""What says who did the last test of a cylinder, and of which test."""
OF_CYLINDERS = (
    HYDRO,
    VISUAL,
    WHAT,
    *RESULTS,
    *DONE_BY,
    OUT_TO,
    OUT_SINCE,
    OUT_UNTIL,
    STANDS,
)
OF_ENTRIES = (WHAT, ON, BY, RESULT, TO, BACK)
OF_RENTALS = (OUT_SINCE, OUT_UNTIL, BACK)
"""Of what a month is not enough."""
OF_ANY = (REMARK, KEEP, LEAVE_OUT)
SERIAL, PLACE, SERVICE = "serial", "place", "service"
NAMING = (ID, SERIAL, "marks")
"""By which of its cells a row says which cylinder it is about."""
NAMED_BY = (*NAMING, "id alone")
"""By the headings of which it does."""
REFERENCES = (OUT_TO, OWNER, TO)
"""What holds a person, of whom the ledger keeps a reference and no name."""
WHERE_IT_IS = (STANDS, PLACE, OUT_TO)
"""What says whether a cylinder is here, and to be used: that nobody knows it is no small thing."""
ENTRIES = (HYDRO, VISUAL, "rental")
BOTH = "hydro and visual"
"""What a cell answers that names two tests of one day."""
"""What one row may tell of a cylinder."""

FROM_SHEET = "sheet, row"
"""How the note of an entry begins that came from a table."""
_NOT_OF_CARDS = {"sticker", NOTE, "removed", "formerly"}
QUANTITIES: Mapping[object, str] = {
    kinds.PRESSURE: "bar",
    kinds.DISC: "bar",
    kinds.WATER_VOLUME: "L",
    kinds.EMPTY_MASS: "kg",
    kinds.LENGTH: "mm",
    kinds.MONEY: "EUR",
    kinds.TORQUE: "N m",
}
"""The kinds of value that carry a unit, each with one for an example."""
_NEEDED = (SERIAL, WHAT, ON)
_BETWEEN_DATES = pattern(r"\s*(?:[;,&]|\band\b|\bund\b|\bet\b|\by\b)\s*", re.IGNORECASE)
_DIGITS = pattern(r"#+")
_NO_YEAR = pattern(r"(?:\d{1,2}|[^\W\d]+)[\s./-]+\d{1,2}")


def keys_for(rows: RowsAre) -> tuple[str, ...]:
    """What a column may hold."""
    if rows is RowsAre.ENTRIES:
        return (ID, "serial", *OF_ENTRIES, *OF_ANY)
    card = (k for k in known_keys() if k not in _NOT_OF_CARDS and k != HYDRO)
    return (*card, *OF_CYLINDERS, *OF_ANY)


def kind_of(name: str) -> Kind | None:
    """What kind of value a key of a card holds; None for what is no such key."""
    if name == FIRST_TEST:
        return kinds.DATE
    outer, _, inner = name.partition(".")
    each = keys_of(Cylinder).get(outer)
    if each is None or not inner:
        return each.kind if each else None
    if not isinstance(each.kind, Nested):
        return None
    within = keys_of(each.kind.record).get(inner)
    return within.kind if within else None


class EntryRead(Struct, frozen=True):
    """A dated thing that a row tells of: what it is, its day with its place, and the rest. `due` is
    the day it was worked out from, where that is when the next is due."""

    name: str
    on: Scalar
    rest: Mapping[str, str]
    due: str = ""


class RowRead(Struct):
    """One row as it was read: values by key, entries, remarks, and what is wrong with it.

    `stands` says that it is not to be taken as it is. `left_out` says why it is no cylinder,
    `other_order` which of its dates is none by the order that is said, `ahead` the heading of a
    last test that has not come yet, `empty` the remarks
    that say nothing, such as `n/a`, `unread` the keys of cells that are kept as remarks, `settled`
    what the mapping says the meaning of and may tell against it all the same, `loose` what stands
    in a row of no cylinder: `* = failed` below the last one tells of those above, `judged` the
    remarks that the mapping calls harmless, `came_out` how a test came out by a remark beside it,
    as the mapping answers it.
    """

    row: TabRow
    given: dict[str, Scalar] = field(default_factory=dict)
    entries: list[EntryRead] = field(default_factory=list)
    remarks: list[Scalar] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    holds: list[Scalar] = field(default_factory=list)
    left_out: str = ""
    other_order: str = ""
    ahead: str = ""
    empty: list[str] = field(default_factory=list)
    unread: set[str] = field(default_factory=set)
    settled: list[Scalar] = field(default_factory=list)
    loose: list[Scalar] = field(default_factory=list)
    judged: list[Scalar] = field(default_factory=list)
    came_out: dict[str, str] = field(default_factory=dict)

    @property
    def called(self) -> str:
        """How the row calls its cylinder."""
        for name in NAMING:
            if name in self.given:
                return self.given[name].text
        return ""


# --- what is wrong with the mapping itself -------------------------------------------------------


def headings_of(mapping: SheetMapping) -> tuple[int, int]:
    """The first and the last row of the headings.

    Raises:
        ValueError: it names no rows.
    """
    found = re.fullmatch(r"(\d{1,6})(?:\s*-\s*(\d{1,6}))?", mapping.headings)
    if not found:
        raise ValueError(f"headings: {ticked(mapping.headings)} names no row, or two")
    first, last = int(found[1]), int(found[2] or found[1])
    if not first <= last <= first + 2:
        raise ValueError(f"headings: {ticked(mapping.headings)} is more than three rows")
    return first, last


def heading_at(tab: Tab, first: int, last: int, column: int) -> str:
    """The heading of a column; what stands above it, too, where it goes over two rows. An upper one
    reaches over the next columns as long as their lower ones say nothing else."""
    rows = [row for row in tab.rows if first <= row.number <= last]
    texts = [row[column].text for row in rows]
    if len(rows) > 1 and not texts[0] and _reached(texts[-1]):
        for left in range(column - 1, -1, -1):
            if rows[0][left].text:
                texts[0] = rows[0][left].text if rows[-1][left].text else ""
                break
            if not _reached(rows[-1][left].text):
                break
    return shown_plain(" / ".join(dict.fromkeys(filter(None, texts))))


_TESTED = frozenset({"", HYDRO, VISUAL, "first_test", BY, RESULT, "on"})
"""What a lower heading may be known as that an upper one reaches over, such as `Last test`."""


def _reached(lower: str) -> bool:
    return bool(lower) and key_by(lower, HEADS_OF_CARDS) in _TESTED


def ticked_in(text: str) -> str:
    """A text as a key that may be written into a mapping."""
    plain = shown_plain(text).replace('"', "'")
    return f'"{plain}"'


def shown_plain(text: str) -> str:
    """A text without what shows nothing, as it can stand in a file."""
    return "".join(c for c in text if c.isprintable())


def mapping_faults(mapping: SheetMapping, tab: Tab) -> list[Finding]:
    """What of a mapping cannot be meant of this table."""
    found: list[Finding] = []
    keys = keys_for(mapping.rows)
    seen: dict[int, int] = {}
    try:
        first, last = headings_of(mapping)
    except ValueError as error:
        return [_of(mapping.source.at("headings"), "bad-headings", str(error), "write 3, or 3-4")]
    for place, each in enumerate(mapping.columns):
        where = each.source.at("column")
        try:
            column = column_of(each.column)
        except ValueError as error:
            found.append(_of(where, "bad-column", str(error)))
            continue
        name = f"column {each.column}"
        if column in seen:
            found.append(_of(where, "column-twice", f"{name} is there twice", "take one out"))
        seen[column] = place
        if column >= tab.width:
            last_one = letter_of(tab.width - 1)
            text = f"there is no {name} in {tab.path}"
            found.append(_of(where, "no-such-column", text, f"its last column is {last_one}"))
            continue
        heading = heading_at(tab, first, last, column)
        parts = [row[column].text for row in tab.rows if first <= row.number <= last]
        if each.heading is not None and plain_words(each.heading) not in (
            plain_words(text) for text in (heading, *filter(None, parts))
        ):
            text = f"{name} of {tab.path} is headed {ticked(heading)}, not {ticked(each.heading)}"
            mend = "this mapping is of another table: let one be written for this, or correct it"
            found.append(_of(each.source.at("heading"), "other-heading", text, mend))
        found += _column_faults(each, name, keys)
    named = {c.key_ for c in mapping.columns}
    if not named.intersection(NAMING):
        text = "no column says which cylinder a row is about"
        mend = "map one to `serial`, `id` or `marks`"
        found.append(_of(mapping.source.at("columns"), "no-name", text, mend))
    found += _of_rows(mapping, named)
    return found


def _of_rows(mapping: SheetMapping, named: Set[str]) -> Iterator[Finding]:
    """What a mapping has to say of entries, and what is of them alone."""
    if mapping.rows is not RowsAre.ENTRIES:
        for key in ("what", "by"):
            if getattr(mapping, key) is not None:
                text = f"`{key}:` above the columns is of `rows: entries`"
                mend = "take it out; who did the tests of a column stands with it, as its `by:`"
                yield _of(mapping.source.at(key), "of-entries", text, mend)
        return
    if ON not in named:
        text = "of entries, a column says when each was"
        mend = (
            "map that column to `on`; of rentals `on` is when it went out, and `back` when it came "
            "home"
        )
        yield _of(mapping.source.at("columns"), "no-entry", text, mend)
    if WHAT not in named and mapping.what is None:
        text = "of entries, it is said what each row is"
        mend = (
            "map a column to `what`; where all are of one kind, write `what: rental` (or hydro, "
            "visual) above `columns:`"
        )
        yield _of(mapping.source.at("columns"), "no-entry", text, mend)


ONCE = (REMARK, KEEP, LEAVE_OUT, HYDRO, VISUAL)
"""What several columns may hold; anything else stands in one."""


def _column_faults(each: ColumnMeans, name: str, keys: Sequence[str]) -> Iterator[Finding]:
    at = each.source.at
    if each.key_ not in keys:
        text = f"{name}: {ticked(each.key_)} is nothing that a column can hold"
        meant = key_by(each.key_, (*HEADS_OF_CARDS, *HEADS_OF_ENTRIES))
        mend = f"write `key: {meant}`, if that is meant; " if meant in keys else ""
        yield _of(at("key"), "unknown-key", text, f"{mend}known: {', '.join(keys)}")
        return
    if each.key_ in (HYDRO, VISUAL) and each.is_ is None:
        text = (
            f"{name} ({each.key_}) does not say whether its dates are of the last test or the next"
        )
        yield _of(at("key"), "last-or-next", text, "write `is: last` or `is: next`")
    if each.is_ is DateIs.NEXT and each.period is None:
        text = f"{name}: how long before its next day the last test was is not said"
        mend = "write `period: 5 years`; or `key: keep`, to keep the date as a remark"
        yield _of(at("is"), "no-period", text, mend)
    if each.is_ is not None and each.key_ not in (HYDRO, VISUAL):
        text = f"{name}: `is:` is of `hydro` and `visual`, not of `{each.key_}`"
        yield _of(at("is"), "is-of-dates", text, "take it out")
    if each.by is not None and each.key_ not in (HYDRO, VISUAL):
        text = f"{name}: `by:` is of `hydro` and `visual`, not of `{each.key_}`"
        yield _of(at("by"), "by-of-tests", text, "take it out")
    if each.period is not None and not each.period.months:
        text = f"{name}: a period of days tells no month"
        yield _of(at("period"), "bad-period", text, "write it in months or years")
    known, wrong = words_of(each.key_), dict[str, list[str]]()
    for old, new in each.values.items() if known else ():
        if new.strip() and new != KEEP and _known_as(new, each.key_) not in known:
            wrong.setdefault(new, []).append(old)
    for new, olds in wrong.items():
        text = f"{name}: {', '.join(map(ticked, olds))} is said to be {ticked(new)}"
        mend = (
            f'write one of: {", ".join(known)}; `{KEEP}` keeps it in the note, and "" leaves it out'
        )
        yield _of(at("values"), "unknown-word", f"{text}, which is no {each.key_}", mend)
    kind = kind_of(each.key_)
    if kind in QUANTITIES and each.unit is not None:
        try:
            kind.parse(f"1 {each.unit}")  # type: ignore[union-attr]
        except ValueError as error:
            text = f"{name}: {ticked(each.unit)} is no unit of `{each.key_}` ({error})"
            yield _of(at("unit"), "bad-unit", text, f"write `unit: {QUANTITIES[kind]}`, or such")


def words_of(name: str) -> tuple[str, ...]:
    """The words that a key of a card, or a result, is one of; none for any other."""
    kind = kind_of(name)
    if name in RESULTS or name == RESULT:
        return tuple(TestResult)
    return tuple(w.value for w in kind.words) if isinstance(kind, OneOf) else ()


def _known_as(text: str, name: str) -> str:
    kind = kind_of(name)
    return _word_of(text, kind) if isinstance(kind, OneOf) else word_meant(text, text.casefold())


def _of(where: Where, code: str, text: str, mend: str = "") -> Finding:
    return Finding(where, code, text, mend)


# --- rows ----------------------------------------------------------------------------------------


def twice_mapped(mapping: SheetMapping) -> list[Finding]:
    """What more than one column is said to hold that only one may."""
    found = []
    seen = set[str]()
    for each in mapping.columns:
        if each.key_ in seen and each.key_ not in ONCE:
            text = f"column {each.column}: `{each.key_}` stands in another column already"
            found.append(_of(each.source.at("key"), "key-twice", text, "keep one as `keep`"))
        seen.add(each.key_)
    return found


def body_of(tab: Tab, mapping: SheetMapping) -> tuple[TabRow, ...]:
    """The rows below the headings."""
    _, last = headings_of(mapping)
    end = mapping.last_row
    return tuple(r for r in tab.rows if r.number > last and (end is None or r.number <= end))


def rows_below(tab: Tab, mapping: SheetMapping) -> tuple[TabRow, ...]:
    """The rows below the last that the mapping says is to be read, but those that are empty."""
    end = mapping.last_row
    return tuple(r for r in tab.rows if end is not None and r.number > end and r.texts)


def beside_from(tab: Tab, first: int, last: int) -> int | None:
    """The first column of another table to the right: after an empty column stands the heading of
    an id, or of a serial, once more."""
    heads = [row for row in tab.rows if first <= row.number <= last]
    rows = [row for row in tab.rows if row.number >= first]
    named = False
    for c in range(tab.width):
        naming = any(is_heading_of(row[c].text, NAMED_BY) for row in heads)
        if naming and named and not any(row[c - 1].text for row in rows):
            return c
        named = named or naming
    return None


def unmapped(tab: Tab, mapping: SheetMapping) -> tuple[int, ...]:
    """The columns with something in them that the mapping does not speak of."""
    known = {column_of(each.column) for each in mapping.columns}
    rows = body_of(tab, mapping)
    width = range(tab.width)
    return tuple(c for c in width if c not in known and any(r[c].text for r in rows))


def swapped(tab: Tab, mapping: SheetMapping) -> Iterator[Finding]:
    """Each column of dates that a spreadsheet seems to have read in the other order, and of which
    nobody said whether it has."""
    first, last = headings_of(mapping)
    for each in mapping.columns:
        column = column_of(each.column)
        cells = [row[column].text for row in body_of(tab, mapping)]
        if is_dated(each.key_) and each.days is None and seem_swapped(cells):
            heading = heading_at(tab, first, last, column) or each.column
            text = f"{heading}: {SWAPPED.partition(':')[0]}"
            mend = (
                "see by a stamp whether day and month are right; then write `days: right` for its "
                "column, or `days: swapped`"
            )
            yield _of(each.source.at("key"), "unanswered", text, mend)


def headed_otherwise(tab: Tab, mapping: SheetMapping) -> Iterator[str]:
    """Each column of which the heading says `next` and the mapping `last`, or the other way."""
    first, last = headings_of(mapping)
    for each in mapping.columns:
        heading = heading_at(tab, first, last, column_of(each.column))
        says = heading_says(heading)
        if each.is_ is not None and says not in ("", each.is_.value):
            yield (
                f"column {each.column} is headed {ticked(heading)} and said to be of the "
                f"{each.is_} test: is that right?"
            )


def noughts_lost(tab: Tab, mapping: SheetMapping) -> Iterator[str]:
    """Each column of serials of which some may have lost noughts in front: those that a workbook
    keeps as numbers, and those of figures alone that are shorter than others with a nought."""
    for each in mapping.columns:
        if each.key_ != SERIAL:
            continue
        column = column_of(each.column)
        cells = [row[column] for row in body_of(tab, mapping) if row[column].text]
        noughts = [len(c.text) for c in cells if _NOUGHT.fullmatch(c.text)]
        short = [
            c
            for c in cells
            if c.text.isdecimal()
            and (c.number or (c.text[0] != "0" and noughts and len(c.text) < min(noughts)))
        ]
        if short:
            rows = ", ".join(str(c.place.line) for c in short[:5])
            yield (
                f"column {each.column}: {counted(len(short), 'serial')} of figures alone (row "
                f"{rows}, such as {short[0].text}): noughts in front may be lost: look at a stamp"
            )


_NOUGHT = pattern(r"0\d+")


def two_in_one(tab: Tab, mapping: SheetMapping) -> Iterator[str]:
    """Each column of serials of which some look like two, as of a twinset on one row."""
    for each in mapping.columns:
        if each.key_ != SERIAL:
            continue
        column = column_of(each.column)
        cells = [row[column] for row in body_of(tab, mapping)]
        two = [c for c in cells if c.text not in each.values and _TWO.fullmatch(c.text)]
        if two:
            rows = ", ".join(str(c.place.line) for c in two[:5])
            yield (
                f"column {each.column}: {ticked(two[0].text)} (row {rows}) may be the serials of "
                "two cylinders: each has its own row and card"
            )


_TWO = pattern(r"(\w[\w-]{2,}) ?(?:[/&+,;]|\b(?:and|und|et|y|e)\b) ?\w[\w-]{2,}")


def days_or_years(tab: Tab, mapping: SheetMapping) -> Iterator[str]:
    """Each column with a month and two figures apart, `Mar 24`, which may be a day of it. With a
    stroke between, as spreadsheets show a month and its year, it is none."""
    for each in mapping.columns:
        column = column_of(each.column)
        cells = [row[column] for row in body_of(tab, mapping)] if is_dated(each.key_) else []
        open_ = [c for c in cells if c.text not in each.values and _DAY_OR_YEAR.fullmatch(c.text)]
        if open_:
            rows = ", ".join(str(c.place.line) for c in open_[:5])
            yield (
                f"column {each.column}: {ticked(open_[0].text)} (row {rows}) is read as a month of "
                "a year: where the number is a day, the cell lacks its year"
            )


_DAY_OR_YEAR = pattern(r"[^\W\d]{3,}\.? (?:0?[1-9]|[12]\d|3[01])")


def names_tests(heading: str) -> frozenset[str]:
    """Of `hydro` and `visual` those that a heading names, and not as any test.

    >>> names_tests("Test date"), names_tests("Last hydro")
    (frozenset(), frozenset({'hydro'}))
    """
    words = plain_words(heading)
    return frozenset(
        name
        for name in (HYDRO, VISUAL)
        if any(holds_phrase(words, p) for p in phrases_of(name) if p not in phrases_of("any test"))
    )


def is_dated(name: str) -> bool:
    """Whether a column of a key holds dates."""
    dated = name in (HYDRO, VISUAL, OUT_SINCE, OUT_UNTIL, ON, BACK)
    return dated or kind_of(name) in (kinds.DATE, kinds.LIFE_END)


def rows_read(tab: Tab, mapping: SheetMapping, today: dt.date) -> list[RowRead]:
    """Every row below the headings, as the mapping says that it is to be read."""
    reader = _RowReader(tab, mapping, DateReading(today, mapping.dates, mapping.day_numbers))
    found, other, title = list[RowRead](), None, None
    for row in _filled_down(body_of(tab, mapping), mapping):
        again = headings_again(row, reader.heads)
        if again is not None:
            other = row if again is HeadedAgain.OTHERWISE else None
            if other is not None and found and _is_title_of(found[-1], other):
                found[-1] = _under(tab, found[-1].row, other, found[-1].row)
                title = found[-1].row
            else:
                title = None
        found.append(reader.read(row) if other is None else _under(tab, row, other, title))
    return found


def _filled_down(rows: Iterable[TabRow], mapping: SheetMapping) -> Iterator[TabRow]:
    """The rows, with what stands above in the empty cells of columns of which the mapping says so;
    a row of one text is a title, and none of a group."""
    down = [column_of(m.column) for m in mapping.columns if m.blanks is EmptyCells.AS_ABOVE]
    above: dict[int, str] = {}
    for row in rows:
        if not down or len(row.texts) < 2:
            yield row
            continue
        cells = [row[c] for c in range(max(len(row.cells), *(c + 1 for c in down)))]
        for column in down:
            if cells[column].text:
                above[column] = cells[column].text
            elif column in above:
                cells[column] = replace(cells[column], text=above[column])
        yield replace(row, cells=tuple(cells))


def _is_title_of(read: RowRead, heads: TabRow) -> bool:
    """Whether a row of one text stands right above headings."""
    near = read.row.number == heads.number - 1
    return near and bool(read.left_out) and len(read.row.texts) == 1


def _under(tab: Tab, row: TabRow, other: TabRow, title: TabRow | None) -> RowRead:
    """A row beneath headings that are not those of the mapping: which column is which there,
    nobody said."""
    place = next((c.place for c in row.cells if c.text), row[0].place)
    first = (title or other).number
    if row is title:
        text = "here stands the title of another table"
    elif row is other:
        text = "here stand headings again, others or in another order"
    else:
        text = f"it stands beneath the headings of row {other.number}, which the mapping is not of"
    mend = (
        f"write `last_row: {first - 1}` into the mapping, and give what stands from row {first} on "
        "as a file of its own"
    )
    where = Where(tab.path, place.line, place.column)
    return RowRead(row, findings=[_of(where, OTHER_TABLE, text, mend)])


OTHER_TABLE = "other-table"
"""The code of what stands beneath the headings of another table."""


def loose_in(row: TabRow) -> list[Scalar]:
    """What stands in a row of no cylinder, its comments too."""
    place = next((c.place for c in row.cells if c.text), row[0].place)
    comments = [f"comment: {each.text}" for each in row.beside if each.text]
    texts = ["; ".join(dict.fromkeys(row.texts)), *comments]
    return [said(shown_plain(each), place) for each in texts if each.strip()]


def loose_under(row: TabRow, heads: Mapping[int, str], first: int = 0) -> list[Scalar]:
    """As `loose_in`, from a column on, of a row beneath headings of its own: each cell as it would
    be kept if the mapping were of these headings."""
    cells = [(c, cell) for c, cell in enumerate(row.cells) if c >= first and cell.text]
    if len(cells) < 2:
        return [said(shown_plain(cell.text), cell.place) for _, cell in cells]
    texts = dict.fromkeys(_kept_below(heads.get(c, ""), cell.text) for c, cell in cells)
    found = [said(shown_plain("; ".join(texts)), cells[0][1].place)]
    return [*found, *(loose_in(row)[1:] if first == 0 else ())]


def _kept_below(heading: str, text: str) -> str:
    remark = key_by(heading, HEADS_OF_CARDS) == REMARK and is_plain_heading(heading)
    bare = not heading or remark or is_heading_of(heading, NAMED_BY)
    return text if bare else f"{heading}: {text}"


_OF_A_YEAR = pattern(r"[^\W\d]{3}.* (?:19|20)\d\d\W*")
"""A title with its year: `Retired 2024`."""
_A_SENTENCE = 4
"""So many words are no id and no serial (own choice)."""


_MOST_OF = 0.8
"""So much of a column shows what its cells are like (own choice)."""


_LETTERS = pattern(r"[^\W\d]+")


def _has_figure(text: str) -> bool:
    return any(map(str.isdigit, text))


def _is_like(text: str, others: Sequence[str], *, short: bool = False) -> bool:
    """Whether a serial, or an id, which may be a short one, is like others: with a figure, no
    word that is in none of these, and none that says that something is gone.

    >>> [_is_like(t, ("A1", "A 22")) for t in ("A3", "SOLD", "2 pcs each", "9", "sold 2")]
    [True, False, False, False, False]
    """
    known = {run for each in others for run in _LETTERS.findall(each.casefold())}
    words = (w.strip(".,") for w in text.casefold().split())
    other = [w for w in words if w.isalpha() and len(w) > 1 + short and w not in known]
    alike = _has_figure(text) and not other
    alike = alike and (short or len(text) >= min(map(len, others)))
    return alike and not says_gone(text)


def _is_legend(texts: Sequence[str]) -> bool:
    """Whether a row says what a colour means, and has no serial: `RED`, `see Pat`."""
    said_ = texts[1:]
    words = (not any(map(str.isdigit, t)) or len(t.split()) >= _A_SENTENCE - 1 for t in said_)
    return bool(said_) and is_colour(texts[0]) and all(words)


class HeadedAgain(StrEnum):
    """How a row in the midst of a table has headings again."""

    ALIKE = "alike"
    """The same in the same order, as on each page of a printed list."""
    OTHERWISE = "otherwise"
    """Others, or in another order: another table begins there."""


def headings_again(row: TabRow, heads: Mapping[int, Set[str]]) -> HeadedAgain | None:
    """Whether a row has headings, and which; None where it has none.

    Args:
        row: the row.
        heads: what stands above each column.
    """
    filled = [(c, cell.text) for c, cell in enumerate(row.cells) if cell.text]
    if len(filled) < 2:
        return None
    plain = {c: {plain_words(text) for text in texts} for c, texts in heads.items()}
    if all(plain_words(text) in plain.get(c, ()) for c, text in filled):
        return HeadedAgain.ALIKE
    every = set[str]().union(*plain.values()) - {""}
    keys = [key_by(text, HEADS_OF_CARDS) for _, text in filled]
    own = [plain_words(text) in every for _, text in filled]
    if all(own):
        return HeadedAgain.OTHERWISE
    known = sum(bool(key) or mine for key, mine in zip(keys, own, strict=True))
    figures = any(c.isdigit() for _, text in filled for c in text)
    if not figures and any(
        is_heading_of(text, NAMED_BY) and any(is_heading_of(h, NAMED_BY) for h in heads.get(c, ()))
        for c, text in filled
    ):
        return HeadedAgain.OTHERWISE  # `Bottle`, with whatever beside it, is the id of nothing
    names = not {SERIAL, "marks", ID}.isdisjoint(keys)
    enough = known >= 2 and known >= len(filled) * (2 / 3 if figures else 1 / 2)
    return HeadedAgain.OTHERWISE if names and enough else None


class _RowReader:
    """Reads rows by one mapping."""

    def __init__(self, tab: Tab, mapping: SheetMapping, dates: DateReading) -> None:
        self.tab, self.mapping, self.dates = tab, mapping, dates
        first, last = headings_of(mapping)
        self.columns = [(column_of(each.column), each) for each in mapping.columns]
        rows = [row for row in tab.rows if first <= row.number <= last]
        self.heads = {c: {row[c].text for row in rows} for c in range(tab.width)}
        self.besides = [
            (c, heading_at(tab, first, last, c) or f"column {letter_of(c)}")
            for c in unmapped(tab, mapping)
        ]
        self.named = {c: heading_at(tab, first, last, c) or each.column for c, each in self.columns}
        self.kinds = {
            c
            for c in range(tab.width)
            if are_kinds([r[c].text for r in body_of(tab, mapping) if r[c].text])
        }
        self.hand = self._hand()
        self.usual, self.names = self._names()
        self.common = self._common()
        self.dates_of = {c: self._dates(each) for c, each in self.columns}
        self.words = {
            c: {k.strip().casefold(): v for k, v in each.values.items()} for c, each in self.columns
        }

    def _hand(self) -> frozenset[str]:
        """The signs that stand in those dates whose numbers show that they are in the order that
        is said of the table."""
        early = self.mapping.dates is DateOrder.YEAR_FIRST
        if self.mapping.dates is None:
            return frozenset()
        dated = [c for c, means in self.columns if means.dates is None and is_dated(means.key_)]
        found = set[str]()
        for row in body_of(self.tab, self.mapping):
            for match in (m for c in dated for m in NUMBERS.finditer(row[c].text)):
                parts = match.group(1, 3, 4)
                orders = set(orders_shown(parts, self.dates.today))
                shows = {DateOrder.YEAR_FIRST} == orders if early else orders
                if shows and (early or DateOrder.YEAR_FIRST not in orders):
                    found.add(match[2])
        return frozenset(found)

    def _names(self) -> tuple[int, dict[int, tuple[str, ...]]]:
        """How many cells a row of one cylinder has at least, as far as is looked; and what stands
        in each column by which these are known, of the rows with so many, where it is figures."""
        rows = [r for r in body_of(self.tab, self.mapping) if r.texts]
        usual = min(max((len(r.texts) for r in rows), default=0), _A_SENTENCE)
        found = dict[int, tuple[str, ...]]()
        for column, means in self.columns:
            if means.key_ in NAMING:
                full = [r[column].text for r in rows if len(r.texts) >= usual]
                cells = tuple(filter(None, full))
                if sum(_has_figure(c) for c in cells) > _MOST_OF * len(cells):
                    found[column] = cells
        return usual, found

    def _is_title(self, row: TabRow) -> bool:
        """Whether a row of few cells is no cylinder though something stands where these have their
        id or their serial, such as `SOLD`, `2 pcs`: it is unlike what stands there in the others,
        words in the place of figures."""
        if len(row.texts) >= self.usual:
            return False
        ids = [c for c, each in self.columns if each.key_ == ID]
        alike = [
            _is_like(row[c].text, of, short=c in ids) for c, of in self.names.items() if row[c].text
        ]
        return bool(alike) and not any(alike)

    def _common(self) -> dict[int, Set[str]]:
        """The colours of each column that say nothing of one cylinder: those of many rows, as where
        every other one is grey. A red is one of them only where all are red."""
        found: dict[int, Set[str]] = {}
        if not any(cell.colours for row in self.tab.rows for cell in row.cells):
            return found
        rows = [r for r in body_of(self.tab, self.mapping) if self._is_about_one(r)]
        for c in range(self.tab.width):
            cells = [r[c] for r in rows if r[c].text]
            counts = Counter(colour for cell in cells for colour in cell.colours)
            found[c] = {
                colour
                for colour, n in counts.items()
                if n == len(cells) > 1 or (n >= _MANY * len(cells) and not is_red(colour))
            }
        return found

    def _coloured(self, found: RowRead) -> None:
        """A row, or a cell of one, of another colour than the others: what that means is asked."""
        own = (set(c.colours) - self.common.get(n, set()) for n, c in enumerate(found.row.cells))
        each = sorted(set[str]().union(*own), key=lambda e: (not is_red(e), e))
        if each:
            found.remarks.append(said(f"{COLOURED} {', '.join(each)}", self._first(found)))

    def _dates(self, means: ColumnMeans) -> DateReading:
        """How the dates of a column are read. Those of which it does not say it by itself are held
        against those that show which number comes first."""
        if means.dates is not None:
            return replace(self.dates, order=means.dates)
        return replace(self.dates, hand=self.hand)

    def read(self, row: TabRow) -> RowRead:
        """One row."""
        found = RowRead(row)
        if not self._is_about_one(row):
            found.left_out = f"names no cylinder: {ticked(shortened('; '.join(row.texts)))}"
            if headings_again(row, self.heads) is None:
                found.loose = loose_in(row)
            return found
        if row.hidden:
            found.notes.append("hidden in the sheet")
            if self.mapping.hidden_rows is HiddenRows.LEAVE_OUT:
                found.left_out = "hidden in the sheet"
                return found
        of_row: dict[str, Scalar] = {}
        struck = row.struck or any(row[c].struck for c, e in self.columns if e.key_ in NAMING)
        for column, means in self.columns:
            cell = row[column]
            text = cell.text
            if not text or means.key_ == LEAVE_OUT:
                continue
            if means.key_ not in OF_ANY and (wrong := no_value(text)):
                self._unread(found, means, cell, *wrong)
                continue
            known = self.words[column].get(text.casefold())
            if known is not None and not known.strip():
                self._nothing(found, column, cell)
                continue
            if cell.struck and not struck and not says_nothing_known(text):
                self._struck(found, means, cell)
                continue
            if known is None and says_nothing_known(text):
                if means.key_ in (REMARK, KEEP, SERVICE):
                    self._says_nothing(found, self.named[column], cell)
                elif means.key_ in WHERE_IT_IS and says_open(text):
                    self._unread(found, means, cell, f"{ticked(text)}: nobody knows", _FIND_OUT)
                continue
            try:
                text = other_way_about(text) if means.days is Days.SWAPPED else text
                self._take(found, of_row, column, means, said(known or text, cell.place), cell)
            except ValueError as error:
                if isinstance(error, OtherOrderError):
                    found.other_order = text
                self._unread(found, means, cell, str(error), getattr(error, "mend", ""))
        for column, heading in self.besides:
            cell = row[column]
            if says_nothing_known(cell.text):
                self._says_nothing(found, heading, cell)
            elif cell.text:
                mark = _STRUCK if cell.struck and not struck else ""
                kept = f"{heading}: {shown_plain(cell.text)}{mark}"
                found.remarks.append(said(kept, cell.place))
        for each in row.beside:
            if each.text:
                found.remarks.append(said(f"comment: {shown_plain(each.text)}", each.place))
        if struck:
            found.holds.append(said("struck out in the sheet", self._first(found)))
        self._coloured(found)
        self._loose_days(found, of_row)
        self._finish(found, of_row)
        return found

    def _struck(self, found: RowRead, means: ColumnMeans, cell: TabCell) -> None:
        """A cell that somebody struck out: a remark is kept with that, and of anything else nobody
        here knows whether it is so."""
        if means.key_ in (REMARK, KEEP):
            heading = self.named[column_of(means.column)]
            own = means.key_ == REMARK and (is_plain_heading(heading) or heading == means.column)
            kept = f"{'' if own else f'{heading}: '}{shown_plain(cell.text)}{_STRUCK}"
            found.remarks.append(said(kept, cell.place))
        else:
            text = ticked(shown_plain(cell.text))
            mend = "empty it where it holds no longer, or take the line through it away"
            self._unread(found, means, cell, f"{text} is struck out in the sheet", mend)

    def _says_nothing(self, found: RowRead, heading: str, cell: TabCell) -> None:
        """A remark of no words: what is to be found out yet is kept, a dash is counted."""
        if says_open(cell.text):
            found.remarks.append(said(f"{heading}: {shown_plain(cell.text)}", cell.place))
        else:
            found.empty.append(cell.text)

    def _nothing(self, found: RowRead, column: int, cell: TabCell) -> None:
        """A word that is said to mean nothing. One by which a cylinder is gone stays a remark."""
        if says_gone(cell.text):
            text = f"{self.named[column]}: {shown_plain(cell.text)}"
            found.remarks.append(said(text, cell.place))

    def _loose_days(self, found: RowRead, of_row: Mapping[str, Scalar]) -> None:
        """Days of a rental of nobody: a cylinder that is out, or an old one. Which, nobody here
        knows, unless the row says that it is here."""
        if self.mapping.rows is RowsAre.ENTRIES or OUT_TO in of_row:
            return
        here = any(is_here(found.row[c].text) for c, each in self.columns if each.key_ == OUT_TO)
        for column, means in self.columns:
            cell = found.row[column]
            if means.key_ not in of_row or means.key_ not in (OUT_SINCE, OUT_UNTIL):
                continue
            if here:
                kept = f"{self.named[column]}: {shown_plain(cell.text)}"
                found.remarks.append(said(kept, cell.place))
            else:
                letter = means.column
                mend = f"say who has it, or that it is here; or `key: keep` for column {letter}"
                self._unread(found, means, cell, f"`{cell.text}`, and who has it is not said", mend)

    def _is_about_one(self, row: TabRow) -> bool:
        """Whether a row speaks of a cylinder: the foot of a table and a heading in its midst do
        not."""
        named = any(
            row[c].text and not begins_foot(row[c].text)
            for c, each in self.columns
            if each.key_ in NAMING
        )
        texts = row.texts
        if self._is_title(row):
            return False
        if len(texts) <= 3 and (begins_foot(texts[0]) or _is_legend(texts)):
            return False
        if len(texts) == 1 and (
            len([c for c in row.cells if c.text]) > 1
            or not any(c.isdigit() for c in texts[0])
            or len(texts[0].split()) >= _A_SENTENCE
            or _OF_A_YEAR.fullmatch(texts[0])
            or says_gone(texts[0])
            or (len(self.columns) > 1 and re.search(r"\d.*(?<!\w)[^\W\d]{3}", texts[0]))
        ):
            return False  # merged over the table, the heading of a part of it, or a line of words
        if headings_again(row, self.heads):
            return False
        return named or (len(texts) > 2 and not begins_foot(texts[0]))

    def _unread(
        self, found: RowRead, means: ColumnMeans, cell: TabCell, text: str, mend: str
    ) -> None:
        """A value that cannot be read: a remark where the mapping says so, else a fault."""
        heading = self.named[column_of(means.column)]
        if means.otherwise is Unreadable.REMARK:
            found.unread.add(means.key_)
            kept = f"{heading}: {shown_plain(cell.text)}"
            found.remarks.append(said(kept, cell.place))
            found.notes.append(f"{text}; kept as a remark")
            return
        more = "correct it"
        if means.key_ not in _NEEDED:  # without these there is nothing to enter
            more += f", or write `otherwise: remark` for column {means.column}"
        way = f"{mend}; or {more}" if mend else more
        found.findings.append(_of(self.tab.at(cell), "bad-cell", f"{heading}: {text}", way))

    def _take(
        self,
        found: RowRead,
        of_row: dict[str, Scalar],
        column: int,
        means: ColumnMeans,
        value: Scalar,
        cell: TabCell,
    ) -> None:
        """What one cell says. Raises `ValueError` where it cannot be read."""
        name, text = means.key_, value.text
        as_mapped = text != cell.text
        if name in (KEEP, REMARK) and as_mapped and text in _ANSWERS:
            if text in (TestResult.FAIL, Stands.HOLD):
                kept = f"{self.named[column]}: {shown_plain(cell.text)}"
                found.holds.append(said(kept, value.start))
            own = name == REMARK and is_plain_heading(self.named[column])
            whole = cell.text if own else f"{self.named[column]}: {cell.text}"
            if text in (*TestResult, LEAVE_OUT):
                found.came_out[shown_plain(whole)] = text
            text = cell.text  # what is kept has its own words
        dates = self.dates_of[column]
        heading = self.named[column]
        if as_mapped and text == KEEP and name != PLACE:
            found.remarks.append(said(f"{heading}: {shown_plain(cell.text)}", cell.place))
        elif name == REMARK and (is_plain_heading(heading) or heading == means.column):
            found.remarks.append(said(shown_plain(text), value.start))
        elif name in (KEEP, REMARK):  # `Faults` and `Zustand` say something of what is below them
            kept = f"{self.named[column]}: {shown_plain(text)}"
            found.remarks.append(said(kept, value.start))
        elif name in (HYDRO, VISUAL):
            self._tests(found, means, value, dates)
        elif name in REFERENCES:
            self._reference(of_row, column, means, value, as_mapped)
        elif name == STANDS:
            self._stands(found, of_row, means, value)
        elif name in (OUT_SINCE, OUT_UNTIL, ON, BACK):
            if name in OF_RENTALS and _NO_YEAR.fullmatch(text):
                raise CellError(f"`{text}` has no year, or no day", "write it as 2021-04-03")
            of_row[name] = said(str(date_of(text, dates)), value.start)
        elif name in RESULTS:
            result = word_meant(text, text.casefold())
            if heading_fails(heading) and not as_mapped:
                mend = f"say in `values:` whether it is pass or fail: `{{{ticked_in(text)}: fail}}`"
                raise CellError(f"{ticked(text)} below {ticked(heading)} may be of a fail", mend)
            if result not in tuple(TestResult):
                mend = f"say in `values:` whether it is pass or fail: `{{{ticked_in(text)}: fail}}`"
                raise CellError(f"{ticked(text)} is no result", mend)
            of_row[name] = said(result, value.start)
        elif name == WHAT and as_mapped and text == LEAVE_OUT:
            found.left_out = f"left out: {ticked(shown_plain(cell.text))}"
        elif name == RESULT and heading_fails(heading) and not as_mapped:
            mend = f"say in `values:` whether it is pass or fail: `{{{ticked_in(text)}: fail}}`"
            raise CellError(f"{ticked(text)} below {ticked(heading)} may be of a fail", mend)
        elif name == WHAT and self.mapping.rows is RowsAre.CYLINDERS:
            of_row[name] = said(_test_meant(text), value.start)
        elif name in (WHAT, RESULT):
            of_row[name] = said(word_meant(text, text.casefold()), value.start)
        elif name == BY or name in DONE_BY:
            of_row[name] = value
        elif name == PLACE:
            self._place(found, of_row, column, value, cell)
        else:
            if name == "service_pressure" and (plus := _PLUS.fullmatch(text)):
                found.remarks.append(said(f"{heading}: {shown_plain(cell.text)}", cell.place))
                text = f"{plus[1]}{plus[2]}"
            found.given[name] = said(
                self._of_card(name, means, text, as_mapped, dates), value.start
            )
            a_word = name not in NAMING or re.search(r"[^\W\d]{3}", cell.text)
            if name in _IN_WORDS and a_word and not unread_words(cell.text):
                of = name if name in NAMING else heading
                found.settled.append(said(f"{of}: {shown_plain(cell.text)}", cell.place))

    def _of_card(
        self, name: str, means: ColumnMeans, text: str, as_mapped: bool, dates: DateReading
    ) -> str:
        kind = kind_of(name)
        if name in NAMING and _LOST.fullmatch(text):
            raise CellError(f"`{text}` is a number of which figures are lost", _LOST_MEND)
        if name not in _OF_MAKERS and not as_mapped and (word := says_gone(text)):
            mend = "write that into a remark of its own; or say in `values:` what is meant"
            raise CellError(f"`{text}` says `{word}`", mend)
        if name == ID:
            return _id_of(text, means)
        if kind in QUANTITIES:
            if text == "none":
                return text
            quantity = quantity_of(text, means.unit, self.mapping.decimal)
            if kind is kinds.WATER_VOLUME and quantity.endswith(" L") and text[-1:].isdigit():
                kinds.WATER_VOLUME.parse(quantity)  # of what no cylinder holds that is told
                if float(quantity.partition(" ")[0]) > MOST_LITRES_OF_ONE:
                    raise CellError(f"{quantity} of water is more than one holds", _LITRES_MEND)
            if kind is kinds.PRESSURE:
                return _in_its_unit(name, text, quantity)
            kind.parse(quantity)  # type: ignore[union-attr]  # `10x300` is none, and said so here
            return quantity
        if kind in (kinds.DATE, kinds.LIFE_END):
            return str(date_of(text, dates))
        if isinstance(kind, OneOf):
            word = _word_of(text, kind)
            if word not in (known := words_of(name)):
                mend = (
                    f"say in `values:` which it is: `{{{ticked_in(text)}: {known[0]}}}`, or "
                    f"{', '.join(known[1:])}; `{KEEP}` keeps it in the note"
                )
                raise CellError(f"{ticked(text)} is none of its words", mend)
            return word
        return text

    def _tests(self, found: RowRead, means: ColumnMeans, value: Scalar, dates: DateReading) -> None:
        """The tests of a cell, one or more. A plus behind one is kept, for whoever reads the stamp
        to enter: it is of more pressure."""
        if plus := _PLUS.fullmatch(value.text):
            kept = f"{self.named[column_of(means.column)]}: {shown_plain(value.text)}"
            found.remarks.append(said(kept, value.start))
            value = said(plus[1], value.start)
        parts = [value.text]
        try:
            date_of(value.text, dates)
        except ValueError:
            split = [p for p in _BETWEEN_DATES.split(value.text) if p]
            parts = split if len(split) > 1 else parts
        read = [date_of(each, dates) for each in parts]
        for on in read:
            note, due = f"{FROM_SHEET} {found.row.number}", ""
            heading = self.named[column_of(means.column)]
            failed = heading_fails(heading)
            if failed and means.is_ is DateIs.NEXT:
                raise CellError(f"{ticked(heading)} is of no next test", "write `is: last`")
            if failed:
                found.holds.append(said(f"{heading}: {shown_plain(value.text)}", value.start))
            if means.is_ is DateIs.NEXT and means.period is not None:
                note, due = f"{note}: next due {on}, {means.period} taken off", f"{on}"
                on = less(on, means.period)
            elif on.first > self.dates.today:
                found.ahead = self.named[column_of(means.column)]
            day = said(str(on), value.start)
            rest = {"note": note, **({"result": TestResult.FAIL.value} if failed else {})}
            if means.by is not None:
                rest["by"] = means.by
            found.entries.append(EntryRead(means.key_, day, rest, due))

    def _reference(
        self,
        of_row: dict[str, Scalar],
        column: int,
        means: ColumnMeans,
        value: Scalar,
        as_mapped: bool,
    ) -> None:
        if is_here(value.text):
            return
        if not as_mapped and value.text.casefold() not in self.words[column]:
            raise ValueError(
                f"{ticked(value.text)} is not among its `values:`: a ledger keeps references, and "
                f"no names; add `{value.text}: M-001`"
            )
        of_row[means.key_] = value

    def _place(
        self, found: RowRead, of_row: dict[str, Scalar], column: int, value: Scalar, cell: TabCell
    ) -> None:
        """Where a cylinder is. What names no place that is known is a remark, and judged as one;
        who has it, or what may be a name, is asked."""
        heading = self.named[column]
        whole = said(f"{heading}: {shown_plain(cell.text)}", cell.place)
        if cell.text.casefold() in self.words[column]:
            to = _OUT_TO.fullmatch(value.text)
            if to:  # who has it is answered, and no name is kept; what else the cell says is not
                of_row.setdefault(OUT_TO, said(to[1], value.start))
                rest = re.split(r"[,;.(]", shown_plain(cell.text), maxsplit=1)[1:]
                found.remarks += [said(f"{heading}: {each.strip()}", cell.place) for each in rest]
            elif value.text == KEEP:
                found.remarks.append(whole)
            elif value.text == Stands.HOLD:
                found.holds.append(whole)
            else:
                found.settled.append(said(f"{PLACE}: {shown_plain(cell.text)}", cell.place))
                here = value.text == Stands.HERE
                found.given[PLACE] = said(cell.text, cell.place) if here else value
        elif is_plain_place(value.text) or is_here(value.text):
            found.given[PLACE] = value
        else:
            who = f"{ticked(value.text)} is no place that is known"
            if says_who_has_it(value.text) or may_be_name(value.text):
                says = says_who_has_it(value.text)
                who = f"{ticked(value.text)} {'says who has it' if says else 'may be a name'}"
                who += ", and a ledger keeps references"
            key = ticked_in(value.text)
            mend = (
                f"say in its `values:` what it is: `{{{key}: here}}` of a place, `hold` of one "
                f"where it is not to be used, `{{{key}: out to M-001}}` of who has it, or `{KEEP}`"
            )
            raise CellError(who, mend)

    def _stands(
        self, found: RowRead, of_row: dict[str, Scalar], means: ColumnMeans, value: Scalar
    ) -> None:
        if to := _OUT_TO.fullmatch(value.text):  # who has it by a column of its own is of that
            of_row.setdefault(OUT_TO, said(to[1], value.start))
            return
        try:
            stands = Stands(value.text.casefold())
        except ValueError:
            known = ", ".join(Stands)
            raise ValueError(
                f"what {ticked(value.text)} means is not said: give it in `values:` as {known}, or "
                "`out to M-001` where somebody has it"
            ) from None
        heading = self.named[column_of(means.column)]
        cell = found.row[column_of(means.column)]
        if stands is Stands.HERE and (word := says_gone(cell.text)):
            raise CellError(f"`{word}` is not `here`", "write hold or leave-out in its `values:`")
        self._gone(found, stands, said(f"{heading}: {shown_plain(cell.text)}", cell.place))

    def _gone(self, found: RowRead, stands: Stands, what: Scalar) -> None:
        if stands is Stands.LEAVE_OUT:
            found.left_out = f"left out: {ticked(what.text)}"
        elif stands is Stands.HOLD:
            found.holds.append(what)

    def _finish(self, found: RowRead, of_row: dict[str, Scalar]) -> None:
        """What several cells of a row say together."""
        self._remarks(found)
        others = [*self._other_tests(found, of_row)]
        if self.mapping.rows is RowsAre.CYLINDERS:
            self._which_test(found, of_row)
            self._not_another(found, others)
        self._due_and_done(found)
        self._results(found, of_row)
        self._done_by(found, of_row)
        if self.mapping.rows is RowsAre.ENTRIES:
            self._entry(found, of_row)
            self._not_another(found, others)
            return
        if OWNER in of_row:
            found.given[OWNER] = of_row[OWNER]
        if "use" not in found.given and (use := self._use(found, of_row)) is not None:
            found.given["use"] = said(use.value, self._first(found))
        if OUT_TO not in of_row:
            return
        to, since = of_row[OUT_TO], of_row.get(OUT_SINCE)
        note = f"{FROM_SHEET} {found.row.number}"
        if since is None:
            since = said(str(self.dates.today), to.start)
            note = f"{note}: since when is not said"
        rest = {"to": to.text, "note": note}
        if OUT_UNTIL in of_row:
            rest["until"] = of_row[OUT_UNTIL].text
        found.entries.append(EntryRead("rental", since, rest))

    def _use(self, found: RowRead, of_row: Mapping[str, Scalar]) -> Use | None:
        """What a cylinder is kept for of which no column says it: not as the others where it is
        somebody's own, unless the mapping says that."""
        use, owner = self.mapping.use, of_row.get(OWNER)
        if owner is None or use in (None, Use.CUSTOMER):
            return use
        if self.mapping.owned is None:
            text = f"it has an owner, {owner.text}, and what such are kept for is not said"
            mend = (
                f"write `owned: customer` in the mapping, or `owned: {use}` if they are as others"
            )
            found.findings.append(_of(_where(self.tab, owner), "no-use", text, mend))
        return self.mapping.owned

    def _other_tests(
        self, found: RowRead, of_row: dict[str, Scalar]
    ) -> Iterator[tuple[int, frozenset[str]]]:
        """The cells of a row that name tests and are not read, by their columns: of which it is
        said in `values:` which test the row is of, that is its test. Of a list of cylinders only
        those in a column of such: `O2 clean` beside others is how a cylinder is."""
        kept = dict(self.besides)
        kept |= {c: self.named[c] for c, e in self.columns if e.key_ in OF_ANY}
        own = WHAT in of_row
        if self.mapping.rows is RowsAre.CYLINDERS:
            kept = {c: heading for c, heading in kept.items() if c in self.kinds}
        for column in kept:
            cell = found.row[column]
            answer = self.words.get(column, {}).get(cell.text.casefold())
            if answer in (HYDRO, VISUAL):
                of_row.setdefault(WHAT, said(answer, cell.place))
            elif answer is None and cell.text:
                named, whole = kinds_in(cell.text)
                if whole or (named and not own and not may_be_name(cell.text)):
                    yield column, named

    def _not_another(self, found: RowRead, others: Sequence[tuple[int, frozenset[str]]]) -> None:
        """What is entered as one test is not taken for it where another cell of the row names only
        another, and its own column names none."""
        of = {found.row[c].place: self.named[c] for c, _ in self.columns}
        for each in found.entries:
            sure = self.mapping.rows is RowsAre.CYLINDERS and names_tests(of.get(each.on.start, ""))
            for column, named in others if each.name in (HYDRO, VISUAL) and not sure else ():
                cell, letter = found.row[column], letter_of(column)
                heading = heading_at(self.tab, *headings_of(self.mapping), column) or letter
                next_ = "next" in (heading_says(heading), heading_says(cell.text))
                if each.name in named or (next_ and not each.due):
                    continue
                key = ticked_in(cell.text)
                text = (
                    f"{ticked(shortened(cell.text))} below {ticked(heading)} names another test "
                    f"than the {each.name} of {each.due or each.on.text} that it would be"
                )
                mend = (
                    f"write `key: what` for column {letter}, and in its `values:` which each is: "
                    f"`{{{key}: {VISUAL}}}`, hydro or leave-out; or, where it is of its "
                    f"{each.name}, `values: {{{key}: {each.name}}}` in column {letter}"
                )
                found.findings.append(_of(self.tab.at(cell), "other-test", text, mend))

    def _which_test(self, found: RowRead, of_row: Mapping[str, Scalar]) -> None:
        """The test of a column that names none, `Test date`, is the one that its row says in
        another. Where that says nothing, or its day was worked out for a hydro, it is a remark."""
        open_ = [
            column
            for column, means in self.columns
            if means.key_ in (HYDRO, VISUAL) and not names_tests(self.named[column])
        ]
        if WHAT not in of_row and not any(means.key_ == WHAT for _, means in self.columns):
            return
        what = of_row[WHAT].text if WHAT in of_row else ""
        kept = []
        for each in found.entries:
            column = next((c for c in open_ if found.row[c].place == each.on.start), None)
            if column is None or each.name == what:
                kept.append(each)
            elif what and not each.due:
                kept += [replace(each, name=name) for name in _each_of(what)]
            else:
                text = f"{self.named[column]}: {shown_plain(found.row[column].text)}"
                found.remarks.append(said(text, each.on.start))
                found.notes.append(f"{ticked(text)}: of which test is not said; kept as a remark")
        found.entries = kept

    def _due_and_done(self, found: RowRead) -> None:
        """A test worked out from its next day is the one whose own day stands in the row, or else
        the row says two things."""
        kept = []
        for each in found.entries:
            own = [e for e in found.entries if e.name == each.name and not e.due and not _failed(e)]
            if not each.due or not own:
                kept.append(each)
            elif not any(e.on.text[:7] == each.on.text[:7] for e in own):
                last = max(e.on.text for e in own)
                text = (
                    f"its next {each.name} is due {each.due}, so that the last was {each.on.text}, "
                    f"and it says {last}"
                )
                mend = "see which is right; or write `key: keep` for the column of the next"
                found.findings.append(_of(_where(self.tab, each.on), "two-days", text, mend))
        found.entries = kept

    def _results(self, found: RowRead, of_row: Mapping[str, Scalar]) -> None:
        """How the last of its tests came out, where a column says it: what failed is no pass, what
        is not said may be waited for, and a test of no day that failed holds all the same."""
        for column, means in self.columns:
            name = means.key_
            if name not in RESULTS:
                continue
            of_test = RESULTS[name]
            if WHAT in of_row and not names_tests(self.named[column]):
                of_test = of_row[WHAT].text
            tests = [e for e in found.entries if e.name == of_test and not _failed(e)]
            result, cell = of_row.get(name), found.row[column]
            shown = said(f"{self.named[column]}: {shown_plain(cell.text)}", cell.place)
            if result is None:
                meant = self._no_result(found, name, with_fault=bool(tests))
                if meant not in tuple(TestResult):
                    continue
                result = said(meant, cell.place)
            if result.text == TestResult.FAIL:
                found.holds.append(shown if cell.text else said(f"{name}: fail", cell.place))
            elif not tests and cell.text:
                found.remarks.append(shown)
            if tests:
                last = max(tests, key=lambda e: e.on.text)
                if result.text == TestResult.FAIL and (last.due or of_test in found.unread):
                    self._set_aside(found, last)
                    continue
                new = replace(last, rest={**last.rest, "result": result.text})
                found.entries = [new if e is last else e for e in found.entries]

    def _done_by(self, found: RowRead, of_row: Mapping[str, Scalar]) -> None:
        """Who did the last of its tests, where a column says it; of no test it is a remark."""
        for column, means in self.columns:
            by = of_row.get(means.key_) if means.key_ in DONE_BY else None
            if by is None:
                continue
            tests = [e for e in found.entries if e.name == DONE_BY[means.key_]]
            if not tests:
                kept = f"{self.named[column]}: {shown_plain(found.row[column].text)}"
                found.remarks.append(said(kept, by.start))
                continue
            last = max(tests, key=lambda e: e.on.text)
            new = replace(last, rest={**last.rest, "by": by.text})
            found.entries = [new if e is last else e for e in found.entries]

    def _set_aside(self, found: RowRead, test: EntryRead) -> None:
        """A test of which nobody here knows whether it is the one that failed: its day was worked
        out from the next, or another could not be read. It is no entry, neither way."""
        found.entries = [e for e in found.entries if e is not test]
        for column, means in self.columns:
            cell = found.row[column]
            if means.key_ == test.name and cell.place == test.on.start:
                kept = f"{self.named[column]}: {shown_plain(cell.text)}"
                found.remarks.append(said(kept, cell.place))

    def _remarks(self, found: RowRead) -> None:
        """Remarks by which a cylinder is gone, as the mapping answers them."""
        answers = {k.strip().casefold(): v for k, v in self.mapping.gone.items()}
        for each in found.remarks:
            stands = answers.get(each.text.casefold())
            if stands is not None:
                self._gone(found, stands, each)
            elif word := says_gone(each.text):
                where = Where(self.tab.path, each.start.line, each.start.column)
                text = f"a remark says `{word}`: {ticked(shortened(each.text))}"
                mend = (
                    f'answer it in the mapping: `gone: {{"{each.text}": leave-out}}`, hold or here'
                )
                found.findings.append(_of(where, "gone", text, mend))

    def _first(self, found: RowRead) -> Mark:
        return next((c.place for c in found.row.cells if c.text), found.row[0].place)

    def _entry(self, found: RowRead, of_row: dict[str, Scalar]) -> None:
        """The test, sticker or rental of a row of entries."""
        place = self._first(found)
        where = Where(self.tab.path, found.row.number, place.column)
        what, on = of_row.get(WHAT), of_row.get(ON)
        told = any(e.key_ == WHAT and found.row[c].text for c, e in self.columns)
        if what is None and self.mapping.what is not None and not found.findings and not told:
            what = said(self.mapping.what.value, place)
        if what is None or on is None:
            missing = "what was done" if what is None else "when it was"
            if not found.findings:
                found.findings.append(_of(where, "no-entry", f"{missing} is not said"))
            return
        if what.text not in (*ENTRIES, BOTH):
            text = f"{ticked(what.text)} is nothing that can be entered"
            mend = f"say in `values:` which of {', '.join((*ENTRIES, BOTH))} it is; or {LEAVE_OUT}"
            found.findings.append(_of(_where(self.tab, what), "unknown-entry", text, mend))
            return
        day = of_row.get(BACK)
        if day is not None and PartialDate.parse(day.text).first > self.dates.today:
            text = f"its return of {day.text} is in the future"
            mend = "correct the day; when it is due back is no return"
            found.findings.append(_of(_where(self.tab, day), "in-the-future", text, mend))
        note = "; ".join([f"{FROM_SHEET} {found.row.number}", *(r.text for r in found.remarks)])
        rest = {"note": note}
        by = of_row[BY].text if BY in of_row else self.mapping.by
        if by is not None and what.text != "rental":
            rest["by"] = by
        if what.text == "rental":
            if TO not in of_row:
                found.findings.append(_of(where, "no-entry", "who had it is not said"))
                return
            rest |= {"to": of_row[TO].text}
            rest |= {"back": of_row[BACK].text} if BACK in of_row else {}
        else:
            result = of_row[RESULT].text if RESULT in of_row else self._no_result(found)
            dated = [c for c, means in self.columns if means.key_ == ON]
            if any(heading_fails(self.named[c]) for c in dated):
                result = TestResult.FAIL.value
            if result != TestResult.FAIL:
                result = self._came_out(found) or result
            if LEAVE_OUT in found.came_out.values():
                found.left_out = "left out: the mapping says that it was not done"
                return
            rest |= {"result": result} if result else {}
        found.entries += [EntryRead(name, on, rest) for name in _each_of(what.text)]

    def _came_out(self, found: RowRead) -> str:
        """How a test came out by what is said beside it: words of failure, or that it was not done,
        are asked, whatever its result says, unless the mapping answers them."""
        gone = {k.strip().casefold() for k in self.mapping.gone}
        for each in found.remarks:
            if {each.text, each.text.casefold()} & {*found.came_out, *gone} or not says_not_passed(
                each.text
            ):
                continue
            cell = next((c for c in found.row.cells if c.place == each.start), None)
            key = ticked_in(cell.text if cell else each.text)
            text = f"{ticked(shortened(each.text))} may say that it was not passed, or not done"
            mend = f"say in `values:` of its column which: `{{{key}: fail}}`, pass or leave-out"
            where = Where(self.tab.path, each.start.line, each.start.column)
            found.findings.append(_of(where, "no-result", text, mend))
        answers = [v for v in found.came_out.values() if v != LEAVE_OUT]
        return TestResult.FAIL.value if TestResult.FAIL in answers else next(iter(answers), "")

    def _no_result(self, found: RowRead, key: str = RESULT, *, with_fault: bool = True) -> str:
        """What a row says whose cell of the result says nothing: it may be waited for, so that it
        is no pass, unless the mapping says what an empty one means. Without such a column a test
        that is listed was passed."""
        for column, means in self.columns:
            if means.key_ == key:
                cell = found.row[column]
                meant = self.words[column].get("", "").strip().casefold()
                if meant and not cell.text:
                    return word_meant(meant, meant)
                if not with_fault or any(
                    f.where.column == cell.place.column for f in found.findings
                ):
                    return ""  # nothing to come out, or told already
                said_ = f"{ticked(cell.text)} is no result" if cell.text else "its result is empty"
                mend = "write pass or fail; or say in `values:` what it means: `{%s: pass}`"
                where = Where(self.tab.path, found.row.number, cell.place.column)
                found.findings.append(_of(where, "no-result", said_, mend % ticked_in(cell.text)))
        return ""


def _each_of(what: str) -> tuple[str, ...]:
    return (HYDRO, VISUAL) if what == BOTH else (what,)


def _test_meant(text: str) -> str:
    """Which test a cell of a row of cylinders names.

    Raises:
        CellError: neither a hydro nor a visual, nor both.
    """
    meant = word_meant(text, text.casefold())
    if meant not in (HYDRO, VISUAL, BOTH):
        mend = f"say in `values:` which it is: `{{{ticked_in(text)}: hydro}}`, visual or {BOTH}"
        raise CellError(f"{ticked(text)} names no test", mend)
    return meant


def _failed(test: EntryRead) -> bool:
    return test.rest.get("result") == TestResult.FAIL


def _where(tab: Tab, value: Scalar) -> Where:
    return Where(tab.path, value.start.line, value.start.column)


def _id_of(text: str, means: ColumnMeans) -> str:
    """An id as its column says that it is made of what stands there."""
    if means.scheme and text.isdecimal() and text.isascii():
        return _DIGITS.sub(lambda m: text.zfill(len(m[0])), means.scheme, count=1)
    if means.spaces is not None:
        return re.sub(r"\s+", means.spaces, text)
    return text


def _in_its_unit(name: str, text: str, quantity: str) -> str:
    """A pressure, unless its unit is that of the column and looks like a slip.

    Raises:
        ValueError: the number is that of the other unit.
    """
    bare = not any(c.isalpha() for c in text)
    try:
        pressure = kinds.PRESSURE.parse(quantity)
    except ValueError as error:
        other = " it looks like psi" if bare and quantity.endswith("bar") else ""
        raise CellError(f"{error};{other}" if other else str(error), _UNIT_MEND) from None
    if bare and name == "service_pressure" and pressure < kinds.LEAST_MARKED:
        raise CellError(f"{quantity} is marked on no cylinder: it looks like bar", _UNIT_MEND)
    return quantity


_UNIT_MEND = "write the unit into the cell, or the right `unit:` for its column"


MOST_LITRES_OF_ONE = 50
"""A bare number above it is no litres of one cylinder for divers or of a bank (own choice): it
may be the cubic feet of gas that one holds."""
_LITRES_MEND = (
    "where it is cubic feet, write `key: size` for its column, or the size into the cell; where "
    "it is litres, write the unit into the cell"
)
_PLUS = pattern(r"(\S*\d)\s*\+\s*(psi|)", re.IGNORECASE)
"""A pressure, or the day of a test, with the plus by which a steel cylinder may be filled above
what is stamped (49 CFR 173.302a(b); from memory)."""
_IN_WORDS = (ID, SERIAL, "maker", "size", "specification", "made_in", "neck_thread", "valve.thread")
"""What may say more than it is asked for: `Ex 6351`, `K118 (leaks)`."""
_OF_MAKERS = ("maker", "use", "material")
"""What may be called by any word, or by few."""
_LOST = pattern(r"\d[.,]\d+E\+?\d+|\d+E\+\d+", re.IGNORECASE)
"""What a spreadsheet makes of a long serial that it takes for a number."""
_LOST_MEND = "read the stamp, and make the cell one of text"


_MANY = 0.4
"""Of so many rows of a column a colour says nothing of one of them (own choice)."""
COLOURED = "coloured in the sheet:"


def is_red(colour: str) -> bool:
    """Whether the colour of a cell, or of its letters, is the one by which things are set aside."""
    return colour.endswith("red")


_STRUCK = " (a line through it)"
_ANSWERS = frozenset({*TestResult, *Stands, *ENTRIES, KEEP})
"""What `values:` says of the words of other columns."""
_FIND_OUT = "find it out, or say in its `values:` what is to come of such, as hold"
_OUT_TO = pattern(r"out to (\S.*)")


class CellError(ValueError):
    """A cell that cannot be read, with the way to mend it."""

    def __init__(self, text: str, mend: str) -> None:
        super().__init__(text)
        self.mend = mend


def _word_of(text: str, kind: OneOf) -> str:
    """A word of a closed set: as it is, or as people write it."""
    own, twins = text.casefold(), dict(kind.twins)
    known = {w.value for w in kind.words}
    found = twins.get(own, own)
    found = found if found in known else word_meant(text)
    return found if found in known else text
