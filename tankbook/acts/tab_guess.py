"""What the columns of somebody's own table seem to hold, by their headings and by what stands in
them. It is a guess, to be corrected; what is not to be guessed is left open."""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from collections.abc import Collection, Iterator, Sequence

from msgspec import Struct

from tankbook.acts.arrivals import ID
from tankbook.acts.tab_cells import (
    HEADS_OF_CARDS,
    HEADS_OF_ENTRIES,
    SWAPPED,
    TWO_NUMBERS,
    DateReading,
    date_of,
    is_here,
    key_by,
    known_words,
    plain_words,
    says_gone,
    says_nothing_known,
    seem_swapped,
    unit_in,
)
from tankbook.acts.tab_rows import (
    HYDRO,
    KEEP,
    LEAVE_OUT,
    QUANTITIES,
    REFERENCES,
    REMARK,
    RESULT,
    STANDS,
    VISUAL,
    WHAT,
    heading_at,
    is_dated,
    keys_for,
    kind_of,
    shown_plain,
)
from tankbook.records.fields import OneOf
from tankbook.records.sheet_mapping import UNANSWERED, DateOrder, DayNumbers, RowsAre
from tankbook.records.tab import Tab, TabRow, letter_of
from tankbook.records.words import Material
from tankbook.units.patterns import pattern

LOOKED_AT = 60
"""So many rows are looked at for the headings, and so many cells of a column for what it holds."""
MOST_VALUES = 40
"""A column of more different words is no list of words to be translated."""
SAMPLES = 4

_MARKS = pattern(r"\b(?:DOT|TC|CTC|ICC|ISO|EN|UN|BS|HOAL|HOS)\b[ -]", re.IGNORECASE)


class ColumnGuess(Struct, frozen=True):
    """What a column seems to hold. `values` are its words, each with what it seems to mean or
    `?`; `asks` says whether its dates are to be told apart."""

    letter: str
    heading: str
    key: str
    samples: tuple[str, ...]
    unit: str = ""
    asks: bool = False
    values: tuple[tuple[str, str], ...] = ()
    spaces: str = ""
    told: str = ""


class TableGuess(Struct, frozen=True):
    """How a table seems to be read. An empty text says nothing; `?` is to be answered."""

    headings: str
    columns: tuple[ColumnGuess, ...]
    rows: RowsAre = RowsAre.CYLINDERS
    dates: str = ""
    decimal: str = ""
    day_numbers: str = ""
    hidden_rows: str = ""
    use: str = ""
    gone: tuple[str, ...] = ()
    title: tuple[str, ...] = ()


def guess(tab: Tab, today: dt.date) -> TableGuess:
    """How a table seems to be read.

    Args:
        tab: the table.
        today: the day, by which years of two digits are told.
    """
    first, last = headings_in(tab)
    body = [row for row in tab.rows if row.number > last]
    title = [shown_plain("; ".join(r.texts)) for r in tab.rows if r.number < first]
    headings = {
        c: heading_at(tab, first, last, c)
        for c in range(tab.width)
        if heading_at(tab, first, last, c) or any(r[c].text for r in body)
    }
    lower = {c: _lower(tab, last, c) for c in headings}
    rows = _rows_are(lower.values())
    taken = set[str]()
    columns = []
    for c, heading in headings.items():
        cells = [r[c].text for r in body if r[c].text][: LOOKED_AT * 20]
        found = _column(letter_of(c), heading, lower[c], cells, rows, taken, today)
        taken.add(found.key)
        columns.append(found)
    by_column = [
        [r[c].text for r in body if r[c].text]
        for each, c in zip(columns, headings, strict=True)
        if is_dated(each.key)
    ]
    dated = [cell for cells in by_column for cell in cells]
    numbers = [
        cell
        for each, c in zip(columns, headings, strict=True)
        if kind_of(each.key) in QUANTITIES
        for cell in (r[c].text for r in body)
        if cell
    ]
    remarks = [
        shown_plain(cell) if each.key == REMARK else f"{each.heading}: {shown_plain(cell)}"
        for each, c in zip(columns, headings, strict=True)
        if each.key in (REMARK, KEEP)
        for cell in (r[c].text for r in body)
        if says_gone(cell)
    ]
    beside = (shown_plain(f"comment: {each.text}") for row in body for each in row.beside)
    remarks += [text for text in beside if says_gone(text)]
    keys = {each.key for each in columns}
    return TableGuess(
        headings=f"{first}-{last}" if first != last else f"{first}",
        columns=tuple(columns),
        rows=rows,
        dates=order_in(by_column),
        decimal=_decimal(numbers),
        day_numbers="1900" if any(re.fullmatch(r"[2-6]\d{4}", d) for d in dated) else "",
        hidden_rows=UNANSWERED if any(r.hidden for r in body) else "",
        use=UNANSWERED if rows is RowsAre.CYLINDERS and "use" not in keys else "",
        gone=tuple(dict.fromkeys(remarks)),
        title=tuple(title),
    )


# --- where the headings are ----------------------------------------------------------------------


def headings_in(tab: Tab) -> tuple[int, int]:
    """The first and the last row of what seem to be the headings."""
    looked = tab.rows[:LOOKED_AT]
    best = max(looked, key=lambda row: (_headings(row), -row.number))
    place = looked.index(best)
    if place + 1 < len(looked) and _is_below(best, looked[place + 1]):
        return best.number, looked[place + 1].number
    if place and _is_above(looked[place - 1], best):
        return looked[place - 1].number, best.number
    return best.number, best.number


def _headings(row: TabRow) -> int:
    """How many cells of a row are known as headings."""
    return sum(
        bool(key_by(text, HEADS_OF_CARDS) or key_by(text, HEADS_OF_ENTRIES)) for text in row.texts
    )


def _is_below(upper: TabRow, lower: TabRow) -> bool:
    """Whether a row goes on with the headings above it: each of its cells is one, or is covered
    by one that is merged with it."""
    filled = [(c, cell.text) for c, cell in enumerate(lower.cells) if cell.text]
    own = [text for c, text in filled if text != upper[c].text]
    return bool(own) and all(key_by(t, HEADS_OF_CARDS) and not re.search(r"\d", t) for t in own)


def _is_above(upper: TabRow, lower: TabRow) -> bool:
    """Whether a row has headings that reach over those below it: no title, which stands alone."""
    texts = upper.texts
    first = next((c for c, cell in enumerate(upper.cells) if cell.text), 0)
    known = any(key_by(text, HEADS_OF_CARDS) for text in texts)
    return known and (len(texts) > 1 or first > 0) and all(len(t) <= 40 for t in texts)


def _lower(tab: Tab, last: int, column: int) -> str:
    """The lowest part of a heading, which says most."""
    row = next((r for r in tab.rows if r.number == last), None)
    return row[column].text if row else ""


# --- what a column holds -------------------------------------------------------------------------


def _rows_are(headings: Collection[str]) -> RowsAre:
    """Whether a table seems to be of cylinders or of entries: of these, each row has a kind and a
    day, and nothing that a card has."""
    of_entries = {key_by(h, HEADS_OF_ENTRIES) for h in headings}
    of_cards = {key_by(h, HEADS_OF_CARDS) for h in headings}
    plain = {
        "service_pressure",
        "water_volume",
        "maker",
        "specification",
        "material",
        HYDRO,
        VISUAL,
    }
    if {"what", "on"} <= of_entries and not of_cards & plain - {VISUAL, HYDRO}:
        return RowsAre.ENTRIES
    return RowsAre.CYLINDERS


def _column(
    letter: str,
    heading: str,
    lower: str,
    cells: Sequence[str],
    rows: RowsAre,
    taken: Collection[str],
    today: dt.date,
) -> ColumnGuess:
    known = [c for c in cells if not says_nothing_known(c)]
    samples = tuple(shown_plain(c) for c in list(dict.fromkeys(known))[:SAMPLES])
    keys = {re.sub(r"[._-]", " ", name): name for name in keys_for(rows)}
    key = keys.get(plain_words(lower).replace("/", " "), "")
    if key:
        key = _by_cells(key, known, plain_words(heading), today) if key == "size" else key
    elif rows is RowsAre.ENTRIES:
        key = key_by(lower, HEADS_OF_ENTRIES) or key_by(heading, HEADS_OF_ENTRIES)
        key = {"out_until": "back"}.get(key, key)
    else:
        key = key_by(lower, HEADS_OF_CARDS) or key_by(heading, HEADS_OF_CARDS)
        key = _by_cells(key, known, plain_words(heading), today)
    told = "" if key else "not known: it is kept in the notes"
    told = SWAPPED if is_dated(key) and seem_swapped(known) else told
    key = key or KEEP
    if key in taken and key not in (HYDRO, VISUAL, REMARK, KEEP):
        told = f"`{key}` stands in another column already"
        key = KEEP
    if not known and key in (KEEP, REMARK):
        return ColumnGuess(letter, heading, LEAVE_OUT, (), told="nothing stands in it")
    return ColumnGuess(
        letter,
        heading,
        key,
        samples,
        unit=_unit(key, heading, known),
        asks=key in (HYDRO, VISUAL),
        values=tuple(_values(key, known)),
        spaces="-" if key == ID and any(" " in c for c in known) else "",
        told=told,
    )


_METALS = frozenset(Material)


def _by_cells(key: str, cells: Sequence[str], heading: str, today: dt.date) -> str:
    """What a column holds, where what stands in it does not fit what its heading says."""
    if not cells:
        return key
    if key == "size" and all(
        re.fullmatch(r"\d{1,2}(?:[.,]\d+)?\s*(?:l|ltrs?|litres?)?", c, re.I) for c in cells
    ):
        metric = unit_in(heading) == "L" or any(re.search(r"l", c, re.I) for c in cells)
        return "water_volume" if metric else key
    if key == "size" and all(
        known_words().get(plain_words(c), plain_words(c)) in _METALS for c in cells
    ):
        return "material"
    if key in ("", "id") and all(_MARKS.match(c) for c in cells):
        return "marks" if all(len(c.split()) > 3 for c in cells) else "specification"
    if key in (HYDRO, VISUAL) and not any(_looks_dated(c, today) for c in cells):
        return ""
    if key == "out_since" and not any(_looks_dated(c, today) for c in cells):
        return "out_to"  # `Out`, with a name below it
    if key == "valve.outlet" and not any(plain_words(c) in known_words() for c in cells):
        return ""
    return key


def _looks_dated(cell: str, today: dt.date) -> bool:
    """Whether a cell may be a date, whichever of its numbers is the day."""
    for order in DateOrder:
        try:
            date_of(cell, DateReading(today, order, DayNumbers.SINCE_1900))
        except ValueError:
            continue
        return True
    return bool(re.search(r"\d{4}|\d[./-]\d", cell))


def _unit(key: str, heading: str, cells: Sequence[str]) -> str:
    """The unit of a column: that of its heading, or `?` where numbers stand alone without one."""
    if kind_of(key) not in QUANTITIES:
        return ""
    said = unit_in(plain_words(heading))
    if said:
        return said
    bare = any(re.fullmatch(r"[\d.,' ]+", c) for c in cells)
    return UNANSWERED if bare else ""


def _values(key: str, cells: Sequence[str]) -> Iterator[tuple[str, str]]:
    """The words of a column, each with what it means; those that are known as they are left out."""
    kind = kind_of(key)
    distinct = [t for t, _ in Counter(shown_plain(c) for c in cells).most_common()]
    if len(distinct) > MOST_VALUES and key not in REFERENCES:
        return
    for text in sorted(distinct, key=str.casefold):
        if key in REFERENCES:
            if not is_here(text):
                yield text, UNANSWERED
        elif key == STANDS:
            yield text, "here" if is_here(text) or plain_words(text) in _WELL else UNANSWERED
        elif isinstance(kind, OneOf) or key in (WHAT, RESULT):
            words = {w.value for w in kind.words} if isinstance(kind, OneOf) else _OF[key]
            twins = {old for old, _ in kind.twins} if isinstance(kind, OneOf) else set()
            if text.casefold() in words | twins:
                continue
            found = known_words().get(plain_words(text), "")
            yield text, found if found in words else UNANSWERED


_WELL = frozenset({"ok", "good", "in service", "active", "in use", "gut", "i o", "bon", "bien"})
_OF = {WHAT: {HYDRO, VISUAL, "rental"}, RESULT: {"pass", "fail"}}


# --- what holds for all columns ------------------------------------------------------------------

SHOWING = 2
"""So many dates of a column show how its others are read (own choice): one alone may be a slip."""


def order_in(columns: Sequence[Sequence[str]]) -> str:
    """Which of two numbers is the day, as the dates of each column show by themselves; `?` where
    those of one do not, or any contradict each other.

    >>> order_in([["13/04/2021", "14/04/2021", "3/4/2021"]]), order_in([["2021-04-13", "3/4/2021"]])
    ('day-first', '?')
    """
    found, unsure = set[str](), False
    for cells in columns:
        pairs = [(int(m[1]), int(m[2])) for c in cells for m in TWO_NUMBERS.finditer(c)]
        shown = [p for p in pairs if max(p) > 12 >= min(p)]
        found |= {"day-first" if day > 12 else "month-first" for day, _ in shown}
        open_ = any(max(p) <= 12 and p[0] != p[1] for p in pairs)
        unsure = unsure or (open_ and len(shown) < SHOWING)
    if unsure or len(found) > 1:
        return UNANSWERED
    return next(iter(found), "")


def _decimal(cells: Sequence[str]) -> str:
    """What stands before tenths, as the numbers themselves show; `?` where that is open."""
    text = " ".join(cells)
    comma = bool(re.search(r"\d,\d{1,2}(?!\d)|\.\d{3},\d", text))
    point = bool(re.search(r"\d\.\d{1,2}(?!\d)|,\d{3}\.\d", text))
    if comma != point:
        return "comma" if comma else "point"
    grouped = bool(re.search(r"(?<!\d)[1-9]\d{0,2}[.,]\d{3}(?!\d)", text))
    if not grouped:
        return ""
    return UNANSWERED
