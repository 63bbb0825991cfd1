"""What the columns of somebody's own table seem to hold, by their headings and by what stands in
them. It is a guess, to be corrected; what is not to be guessed is left open."""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from tankbook.acts.arrivals import ID
from tankbook.acts.tab_cells import (
    HEADS_OF_CARDS,
    HEADS_OF_ENTRIES,
    NUMBERS,
    DateReading,
    are_kinds,
    date_of,
    heading_fails,
    heading_left,
    heading_says,
    heading_says_more,
    holds_phrase,
    is_heading_of,
    is_here,
    key_by,
    may_be_name,
    orders_shown,
    phrases_of,
    plain_word,
    plain_words,
    quantity_of,
    says_gone,
    says_nothing_known,
    says_open,
    seem_swapped,
    unit_in,
    word_meant,
)
from tankbook.acts.tab_rows import (
    BY,
    HYDRO,
    KEEP,
    LEAVE_OUT,
    MOST_LITRES_OF_ONE,
    NAMING,
    ON,
    OWNER,
    PLACE,
    QUANTITIES,
    REFERENCES,
    REMARK,
    RESULT,
    RESULTS,
    SERIAL,
    STANDS,
    VISUAL,
    WHAT,
    WHERE_IT_IS,
    HeadedAgain,
    beside_from,
    heading_at,
    headings_again,
    is_dated,
    keys_for,
    kind_of,
    names_tests,
    shown_plain,
)
from tankbook.records import kinds
from tankbook.records.fields import OneOf
from tankbook.records.sheet_mapping import UNANSWERED, DateOrder, DayNumbers, EachRowIs, RowsAre
from tankbook.records.tab import Tab, TabRow, letter_of
from tankbook.records.words import Material, TestResult
from tankbook.rules.harmless import asks_for_ill, is_colour, is_grade, is_plain, is_plain_place
from tankbook.rules.told_against import says_danger
from tankbook.units.patterns import pattern

LOOKED_AT = 60
"""So many rows are looked at for the headings, and so many cells of a column for what it holds."""
MOST_VALUES = 40
"""A column of more different words is no list of words to be translated."""
SAMPLES = 4

_COUNTED = pattern(r"[2-6]\d{4}")
"""Days as a spreadsheet counts them, within the life of a cylinder."""
_MARKS = pattern(r"\b(?:DOT|TC|CTC|ICC|ISO|EN|UN|BS|HOAL|HOS)\b[ -]", re.IGNORECASE)


class ColumnGuess(Struct, frozen=True):
    """What a column seems to hold. `values` are its words, each with what it seems to mean or
    `?`; `asks` says whether its dates are to be told apart, `swapped` whether day and month of some
    seem to be, `dates` which of their numbers comes
    first where that differs from column to column, `also` the key that it may as well be and that
    another column has, `blanks` whether it seems to be filled in the first row of each group."""

    letter: str
    heading: str
    key: str
    samples: tuple[str, ...]
    unit: str = ""
    asks: bool = False
    swapped: bool = False
    dates: str = ""
    values: tuple[tuple[str, str], ...] = ()
    spaces: str = ""
    told: str = ""
    also: str = ""
    blanks: bool = False


class TableGuess(Struct, frozen=True):
    """How a table seems to be read. An empty text says nothing; `?` is to be answered."""

    headings: str
    columns: tuple[ColumnGuess, ...]
    rows: RowsAre = RowsAre.CYLINDERS
    dates: str = ""
    decimal: str = ""
    day_numbers: str = ""
    hidden_rows: str = ""
    what: str = ""
    use: str = ""
    owned: str = ""
    gone: tuple[str, ...] = ()
    title: tuple[str, ...] = ()


def guess(tab: Tab, today: dt.date) -> TableGuess:
    """How a table seems to be read.

    Args:
        tab: the table.
        today: the day, by which years of two digits are told.
    """
    first, last = headings_in(tab)
    body = _body(tab, first, last)
    title = [shown_plain("; ".join(r.texts)) for r in tab.rows if r.number < first]
    headings = {
        c: heading_at(tab, first, last, c)
        for c in range(tab.width)
        if heading_at(tab, first, last, c) or any(r[c].text for r in body)
    }
    lower = {c: _lower(tab, last, c) for c in headings}
    naming = [k for k in (key_by(h, HEADS_OF_CARDS) for h in headings.values()) if k in NAMING]
    alone = [c for c, h in headings.items() if is_heading_of(h, ("id alone",))]
    if naming:  # beside a serial it is one where what stands below it is, and no set of two
        one = naming == [SERIAL]
        alone = [c for c in alone if one and _are_ids([r[c].text for r in body])]
    lower |= dict.fromkeys(alone[:1], ID)  # `Bottle, Defect`
    rows, what = _rows_are(lower.values()), ""
    if rows is RowsAre.CYLINDERS:
        rows, what = _all_are(lower, body, tab.name, today)
    taken, right = set[str](), beside_from(tab, first, last)
    columns = []
    order = [*headings] if rows is RowsAre.ENTRIES else sorted(headings, key=_says_more(headings))
    for c in order:
        heading = headings[c]
        cells = [r[c].text for r in body if r[c].text][: LOOKED_AT * 20]
        if right is not None and c >= right:
            shown = tuple(shown_plain(cell) for cell in list(dict.fromkeys(cells))[:SAMPLES])
            found = ColumnGuess(letter_of(c), heading, UNANSWERED, shown, told=_BESIDE)
        else:
            found = _column(letter_of(c), heading, lower[c], cells, rows, taken, today)
        taken.add(found.key)
        columns.append(found)
    columns = [columns[order.index(c)] for c in headings]
    by_column = [
        [r[c].text for r in body if r[c].text] if is_dated(each.key) else []
        for each, c in zip(columns, headings, strict=True)
    ]
    dated = [cell for cells in by_column for cell in cells]
    orders = orders_by_column(by_column, today)
    apart = len(set(orders) - {"", UNANSWERED}) > 1
    if apart:  # other hands in other columns
        columns = [replace(e, dates=o) for e, o in zip(columns, orders, strict=True)]
    numbers = [
        cell
        for each, c in zip(columns, headings, strict=True)
        if kind_of(each.key) in QUANTITIES
        for cell in (r[c].text for r in body)
        if cell
    ]
    if rows is RowsAre.CYLINDERS:
        below = [[r[c].text for r in body] for c in headings]
        columns = _of_any_test(_of_which_column(columns, below))
        columns = _of_what_days(columns, below, today)
    columns = _of_which_test(columns, rows)
    if rows is RowsAre.CYLINDERS:
        columns = [_of_whom(columns, place) for place in range(len(columns))]
        columns = _of_groups(
            columns, [[r[c].text for r in body if len(r.texts) > 1] for c in headings]
        )
    every = [
        shown_plain(cell)
        if each.key == REMARK
        else f"{each.heading or each.letter}: {shown_plain(cell)}"
        for each, c in zip(columns, headings, strict=True)
        if each.key in (REMARK, KEEP)
        for cell in (r[c].text for r in body)
        if cell and not says_nothing_known(cell)
    ]
    remarks = [text for text in every if says_gone(text)]
    beside = (shown_plain(f"comment: {each.text}") for row in body for each in row.beside)
    remarks += [text for text in beside if says_gone(text)]
    keys = {each.key for each in columns}
    return TableGuess(
        headings=f"{first}-{last}" if first != last else f"{first}",
        columns=tuple(columns),
        rows=rows,
        dates="" if apart else one_order(orders),
        decimal=_decimal(numbers),
        day_numbers=(tab.day_numbers or UNANSWERED) if any(map(_COUNTED.fullmatch, dated)) else "",
        hidden_rows=UNANSWERED if any(r.hidden for r in body) else "",
        what=what,
        use=UNANSWERED if rows is RowsAre.CYLINDERS and "use" not in keys else "",
        owned=UNANSWERED if "use" not in keys and _owners(columns) else "",
        gone=tuple(dict.fromkeys(remarks)),
        title=tuple(title),
    )


def _are_ids(cells: Sequence[str]) -> bool:
    """Whether cells look like the ids of a club: each short, with a number, and there once."""
    return len(set(cells)) == len(cells) and all(map(_AN_ID.fullmatch, cells))


_AN_ID = pattern(r"[A-Za-z]{0,4}[ -]?\d{1,5}[A-Za-z]?")


def _says_more(headings: Mapping[int, str]) -> Callable[[int], tuple[bool, bool]]:
    """Which columns have more in their headings than they are known by: of two for one key the
    plain one has it, and before others the one that the trade calls so."""

    def more(column: int) -> tuple[bool, bool]:
        key = key_by(headings[column], HEADS_OF_CARDS)
        left = bool(key and heading_left(headings[column], key))
        return left, not _is_own_name(key, headings[column])

    return more


def _is_own_name(key: str, heading: str) -> bool:
    """Whether a heading has the name of the trade for a key of which others may be something else:
    a maximum and a rating may be of the valve, or of the test.

    >>> [_is_own_name("service_pressure", h) for h in ("WP (bar)", "Betriebsdruck", "Max pressure")]
    [True, True, False]
    """
    words = plain_words(heading).replace("/", " ")
    return any(holds_phrase(words, p) for p in phrases_of("own pressure")) and key in _PRESSURES


def _body(tab: Tab, first: int, last: int) -> list[TabRow]:
    """The rows beneath the headings, up to those of another table, without headings again."""
    rows = [row for row in tab.rows if first <= row.number <= last]
    heads = {c: {row[c].text for row in rows} for c in range(tab.width)}
    found = []
    for row in (r for r in tab.rows if r.number > last):
        again = headings_again(row, heads)
        if again is HeadedAgain.OTHERWISE:
            break
        if again is None:
            found.append(row)
    return found


def _owners(columns: Sequence[ColumnGuess]) -> bool:
    """Whether some of the cylinders are said to be somebody's own."""
    return any(each.key == OWNER and each.values for each in columns)


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
    first = next((c for c, cell in enumerate(upper.cells) if cell.text), 0)
    if [c for c, _ in filled] == [first] and not _is_unit(filled[0][1]):
        return False  # a title of what stands beneath it, such as `In service`
    return bool(own) and all(
        (key_by(t, HEADS_OF_CARDS) or key_by(t, _LOWER) or heading_says(t) or _is_unit(t))
        and not re.search(r"\d", t)
        for t in own
    )


def _is_unit(text: str) -> bool:
    """Whether a text is a unit and no more: `PSI` below `Valve`."""
    words = plain_words(text)
    return bool(unit_in(words)) and " " not in words


_LOWER = ("on", "by", RESULT)
"""What a lower heading may be beside those of cards: `Date` and `Result` below `Hydro`."""


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


_OF_A_CARD = {"service_pressure", "water_volume", "maker", "specification", "material"}
"""What no list of tests or rentals has."""
_HEADS_OF_HIRES = ("back", "out since", *HEADS_OF_ENTRIES)


def _all_are(
    headings: Mapping[int, str], body: Sequence[TabRow], sheet: str, today: dt.date
) -> tuple[RowsAre, str]:
    """Whether the rows of a table are entries though its headings do not say so, and what each is
    where no column tells it: a rental, or one of the tests, which is to be asked.

    A list of tests has cylinders more than once, or the name of its sheet says so, or a column has
    the kinds of tests in it; beside them it has no column but those that a test has.
    """
    of_cards = {c: key_by(h, HEADS_OF_CARDS) for c, h in headings.items()}
    keys = {key_by(h, _HEADS_OF_HIRES) for h in headings.values()}
    cells = {c: [row[c].text for row in body if row[c].text] for c in headings}
    naming = [c for c, key in of_cards.items() if key in (ID, SERIAL)]
    if not naming or _OF_A_CARD & set(of_cards.values()):
        return RowsAre.CYLINDERS, ""
    if {"back", "to"} <= keys and keys & {"out_since", "on"}:
        return RowsAre.ENTRIES, EachRowIs.RENTAL
    days = [c for c, h in headings.items() if _is_day_of_test(h, cells[c], today)]
    if not days and "on" not in keys:
        return RowsAre.CYLINDERS, ""
    if any(are_kinds(each) or _is_kind(headings[c], each, today) for c, each in cells.items()):
        return RowsAre.ENTRIES, ""
    known = {*naming, *days}
    alone = all(c in known or key_by(h, _OF_A_TEST) for c, h in headings.items())
    twice = len(set(cells[naming[0]])) < len(cells[naming[0]])
    of_tests = bool(sheet) and len(days) == 1 and key_by(sheet, ("sheet of tests",)) != ""
    if (twice and "on" in keys and keys & {BY, RESULT}) or (
        alone and len(days) < 2 and (twice or of_tests)
    ):
        return RowsAre.ENTRIES, UNANSWERED
    return RowsAre.CYLINDERS, ""


_OF_A_TEST = ("on", BY, RESULT, "remark")
"""The headings that a list of tests may have, beside those that name a cylinder."""


def _is_day_of_test(heading: str, cells: Sequence[str], today: dt.date) -> bool:
    """Whether a column has the days of tests, and its heading says of no kind and of no next one:
    `Test`, `Tested`."""
    words = plain_words(heading)
    return words in phrases_of("day of a test") and any(_looks_dated(c, today) for c in cells)


def _is_kind(heading: str, cells: Sequence[str], today: dt.date) -> bool:
    """Whether a column of a list of tests has their kinds by its heading, `Test`, though nobody
    here knows the words below it: neither days nor how each came out."""
    words = plain_words(heading)
    return (
        words in phrases_of("day of a test")
        and 0 < len(set(cells)) <= MOST_VALUES
        and not any(any(map(str.isdigit, c)) or _looks_dated(c, today) for c in cells)
        and not _asks(words, cells)
    )


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
        if key in ("size", "made", "maker", HYDRO, VISUAL):
            key = _by_cells(key, known, plain_words(heading), today)
    elif rows is RowsAre.ENTRIES:
        key = key_by(lower, _HEADS_OF_HIRES) or key_by(heading, _HEADS_OF_HIRES)
        key = {"out_until": "", "out_since": ON}.get(key, key)
        if key in ("", ON) and (are_kinds(known) or _is_kind(heading, known, today)):
            key = WHAT
        elif not key and _is_day_of_test(heading, known, today):
            key = ON
    else:
        key = key_by(lower, HEADS_OF_CARDS) or key_by(heading, HEADS_OF_CARDS)
        if key in _NOT_OF_ILL and (asks_for_ill(heading) or says_danger(heading)):
            key = ""  # `Out of service` names no gas, and `Withdrawn since` nobody who has it
        if key in (HYDRO, VISUAL) and _says_who(lower, heading, known, today):
            key = f"{key}_by"
        key = _by_cells(key, known, plain_words(heading), today)
        words = plain_words(heading).replace("/", " ")
        if key == RESULT and any(holds_phrase(words, p) for p in phrases_of("of a mark")):
            return ColumnGuess(letter, heading, UNANSWERED, samples, told=_YES_OR_NO)
        if key in _TESTS and any(holds_phrase(words, p) for p in phrases_of("of no test")):
            return ColumnGuess(letter, heading, UNANSWERED, samples, told=_OF_NO_TEST_THAT_COUNTS)
        if key in _PRESSURES and known and (more := heading_left(heading, key)):
            told = f"{_OF_WHICH_PRESSURE} (`{more}` in its heading is not understood)"
            return ColumnGuess(letter, heading, UNANSWERED, samples, told=told)
        if told := _which(key, heading, known):
            return ColumnGuess(letter, heading, UNANSWERED, samples, told=told)
    if key not in ("", KEEP, REMARK, LEAVE_OUT) and heading_fails(heading):
        return ColumnGuess(letter, heading, UNANSWERED, samples, told=_FAILED)
    if key in _TESTS and (more := heading_says_more(heading)):
        told = f"{_OF_NO_TEST_THAT_COUNTS} (`{more}` in its heading is not understood)"
        return ColumnGuess(letter, heading, UNANSWERED, samples, told=told)
    told = "" if key else _NOT_KNOWN
    if key == PLACE and _are_people(known):
        return ColumnGuess(letter, heading, UNANSWERED, samples, told=f"{PLACE}, {_PEOPLE}")
    if not key and _are_people(known):
        of = _PEOPLE_OF_ENTRIES if rows is RowsAre.ENTRIES else _PEOPLE
        return ColumnGuess(letter, heading, UNANSWERED, samples, told=of)
    if not key and known and all(map(_is_of_legend, known)):
        return ColumnGuess(letter, heading, UNANSWERED, samples, told=_OF_LEGEND)
    if not key and _says_no(known):
        return ColumnGuess(letter, heading, UNANSWERED, samples, told=_YES_OR_NO)
    key = key or KEEP
    if key == SERIAL and key in taken and known:
        return ColumnGuess(letter, heading, UNANSWERED, samples, told=_TWO_SERIALS, also=SERIAL)
    also = ""
    if key in taken and key not in (HYDRO, VISUAL, REMARK, KEEP, RESULT):
        told = f"`{key}` stands in another column already"
        also, key = key, KEEP
    if key in (KEEP, REMARK) and not known and not any(map(says_open, cells)):
        return ColumnGuess(letter, heading, key, (), told="nothing stands in it yet")
    return ColumnGuess(
        letter,
        heading,
        key,
        samples,
        unit=_unit(key, heading, known),
        asks=key in (HYDRO, VISUAL),
        swapped=is_dated(key) and seem_swapped(known),
        values=tuple(_values(key, [c for c in cells if c in known or says_open(c)])),
        spaces="-" if key == ID and any(" " in c for c in known) else "",
        told=told,
        also=also,
    )


def _says_who(lower: str, heading: str, cells: Sequence[str], today: dt.date) -> bool:
    """Whether a column says who tested, and not when."""
    named = key_by(lower, (BY,)) or key_by(heading, (BY,))
    return bool(named and cells) and not any(_looks_dated(c, today) for c in cells)


def _which(key: str, heading: str, cells: Sequence[str]) -> str:
    """What is to be asked of a column whose heading names two things: what a cylinder is filled to
    by its stamp or what is in it, the water that it holds or the gas; an empty text for others."""
    words = plain_words(heading)
    alone = " ".join(w for w in words.split() if not unit_in(w) and not w.isdigit()) or words
    if key in ("", "service_pressure") and cells and alone in phrases_of("either pressure"):
        return _WHICH_PRESSURE if any(re.search(r"\d", c) for c in cells) else ""
    if alone in phrases_of("unsure pressure"):
        return _OF_WHICH_PRESSURE
    if key != "water_volume":
        return ""
    bare = [float(m[1]) for m in map(_BARE.fullmatch, cells) if m]
    water = any(holds_phrase(words, p) for p in phrases_of("of water"))
    of_gas = unit_in(words) == "cuft" or any(map(_OF_GAS.search, cells))
    of_gas = of_gas and not water
    least = MOST_LITRES_OF_ONE if water or unit_in(words) == "L" else MOST_LITRES
    large = unit_in(words) in ("", "L") and any(least < n < kinds.MOST_WATER.litres for n in bare)
    return _WHICH_VOLUME if of_gas or large else ""


MOST_LITRES = 20
"""A bare number above it is hardly the litres of a cylinder for divers (own choice): it may be the
cubic feet of gas that one holds."""
_BARE = pattern(r"(\d+(?:\.\d+)?)(?:,\d+)?")
_OF_GAS = pattern(r"^[A-Za-z]{1,4}[ -]?\d|cu\.? ?ft|\bcf\b|cubic", re.IGNORECASE)
"""Cubic feet, and the names of sizes that are made of them: `LP95`."""
_WHICH_PRESSURE = (
    "service_pressure, keep, or leave-out: is it what is stamped for filling, or what was in it?"
)
_OF_WHICH_PRESSURE = (
    "service_pressure, test_pressure, valve.rating, keep, or leave-out: is it what is stamped for "
    "filling, for the test, or something else?"
)
_WHICH_VOLUME = (
    "size, water_volume, keep, or leave-out: is it a size or the cubic feet of gas, or the litres "
    "of water it holds?"
)
_BESIDE = (
    "leave-out, or keep: an empty column and the heading of a number stand before it, as where "
    "another table begins: leave that out and give it as a file of its own; keep is of the same row"
)
_OF_LEGEND = (
    "leave-out, or keep: it says what colours mean, and of no cylinder: leave it out, and say "
    "under `remarks:` what is to come of what is coloured; keep is of the same row"
)
_TWO_SERIALS = "keep, or leave-out: a second serial; a second cylinder has its own row"
_NOT_KNOWN = "not known: it is kept in the notes"
_OF_WHAT_DAYS = (
    "hydro, visual, made, bought, keep, or leave-out: what are these days of? Of a hydro or a "
    "visual, write `is: last` or `is: next` as well"
)
_YES_OR_NO = (
    "hydro_result, visual_result, stands, keep, or leave-out: what does it say yes and no to?"
)
_FAILED = (
    "keep, hydro, visual, or leave-out: what failed? Kept it holds its cylinder; as hydro or "
    "visual each date is of one that failed"
)
_OF_NO_TEST_THAT_COUNTS = (
    "keep, hydro, visual, or leave-out: is each the day of a hydro or a visual that was done? A "
    "leak test is neither, nor is one that is booked"
)
_TESTS = (HYDRO, VISUAL, "first_test")
_PRESSURES = ("service_pressure", "test_pressure")
"""By which it is decided how far a cylinder is filled."""
_METALS = frozenset(Material)
_NOT_OF_ILL = ("service", "out_since", "out_until", "out_to")


def _by_cells(key: str, cells: Sequence[str], heading: str, today: dt.date) -> str:
    """What a column holds, where what stands in it does not fit what its heading says."""
    if not cells:
        return key
    if key == "size" and all(
        re.fullmatch(r"\d{1,2}(?:[.,]\d+)?\s*(?:l|ltrs?|litres?)?", c, re.I) for c in cells
    ):
        metric = unit_in(heading) == "L" or any(re.search(r"l", c, re.I) for c in cells)
        return "water_volume" if metric else key
    if key == "size" and all(word_meant(c, plain_words(c)) in _METALS for c in cells):
        return "material"
    open_ = key in (HYDRO, VISUAL) and not names_tests(heading)
    if (open_ or key in ("", "size", WHAT)) and are_kinds(cells):
        return WHAT
    if key in ("", "id") and all(_MARKS.match(c) for c in cells):
        return "marks" if all(len(c.split()) > 3 for c in cells) else "specification"
    if key in (HYDRO, VISUAL) and not any(_looks_dated(c, today) for c in cells):
        return RESULT if _are_results(cells) or _asks(heading, cells) else ""
    if key == "" and (any(holds_phrase(heading, p) for p in phrases_of(RESULT))):
        return "" if any(_looks_dated(c, today) for c in cells) else RESULT
    if key == "out_since" and not any(_looks_dated(c, today) for c in cells):
        return "out_to"  # `Out`, with a name below it
    if key == "maker" and all(_is_date(c, today) or _YEAR.fullmatch(c) for c in cells):
        return "made"  # `Manuf.` may be short for either
    if key == "made" and not any(map(str.isdigit, "".join(cells))):
        return "maker"
    if key == STANDS and all(is_grade(heading, c) for c in cells):
        return ""  # `Estado: bueno` is how good it is
    if key == "valve.outlet" and not any(map(word_meant, cells)):
        rated = unit_in(heading) and all(_BARE.fullmatch(c) for c in cells)
        return "valve.rating" if rated else ""  # `Ventil (bar)`
    return key


def _of_which_column(
    columns: Sequence[ColumnGuess], below: Sequence[Sequence[str]]
) -> list[ColumnGuess]:
    """Columns that may all be one key, where what stands below them differs in a row: which of them
    it is, is asked. The working pressure by its own name is that of no column called otherwise,
    unless it is more than one of these has."""
    found = [*columns]
    for at, own in enumerate(columns):
        rivals = [n for n, e in enumerate(columns) if e.also == own.key]
        if not rivals or not _is_figure(own.key):
            continue
        named = _is_own_name(own.key, own.heading)
        asked = dict[int, str]()
        for n in rivals:
            surely = named and not _is_own_name(own.key, columns[n].heading)
            unlike = _unlike(own, columns[n], below[at], below[n], lower=surely)
            if unlike:
                asked[n] = unlike
        if not asked:
            continue
        others = ", ".join(columns[n].heading or columns[n].letter for n in asked)
        keys = (own.key, *(_BESIDE_PRESSURE if own.key in _PRESSURES else ()))
        for n in (at, *asked):
            each = columns[n]
            told = (
                f"{', '.join(dict.fromkeys(keys))}, keep, or leave-out: `{own.heading}` and "
                f"`{others}` may both be `{own.key}`, and differ ({next(iter(asked.values()))}): "
                "which is it?"
            )
            told += _ITS_OWN_ROW if own.key == SERIAL else ""
            unit = _unit(own.key, each.heading, [c for c in below[n] if c])
            found[n] = ColumnGuess(
                each.letter, each.heading, UNANSWERED, each.samples, unit=unit, told=told
            )
    return found


_ITS_OWN_ROW = " A second cylinder has its own row"
_BESIDE_PRESSURE = ("service_pressure", "test_pressure", "valve.rating")


def _is_figure(key: str) -> bool:
    """Whether what stands below a key is a figure, a day, or a number by which one is known."""
    return kind_of(key) in QUANTITIES or is_dated(key) or key in (ID, SERIAL, "size")


def _unlike(
    own: ColumnGuess, other: ColumnGuess, mine: Sequence[str], its: Sequence[str], *, lower: bool
) -> str:
    """What differs between two columns in the first row where it does; an empty text where nothing
    does. With `lower`, only what is less in the other, or may be."""
    units = own.unit, _unit(own.key, other.heading, [c for c in its if c])
    for a, b in zip(mine, its, strict=True):
        if not a or not b or says_nothing_known(a) or says_nothing_known(b):
            continue
        sizes = [_size_of(own.key, t, u) for t, u in zip((a, b), units, strict=True)]
        if None in sizes:
            same = plain_words(a) == plain_words(b)
        else:
            one, two = (size or 0.0 for size in sizes)
            same = abs(one - two) <= _ROUNDED * max(one, two) or (lower and two > one)
        if not same:
            return shown_plain(f"{a} and {b}")
    return ""


_ROUNDED = 0.01
"""By so much two figures of one thing may differ in two units (own choice)."""


def _size_of(key: str, text: str, unit: str) -> float | None:
    """How much a cell says, in the unit of physics, or a bare number; None where it is none."""
    kind = kind_of(key)
    if kind not in QUANTITIES:
        return None
    if bare := _BARE.fullmatch(text) if unit in ("", UNANSWERED) else None:
        return float(bare[1])
    try:
        found = kind.parse(quantity_of(text, unit or None, None))  # type: ignore[union-attr]
    except ValueError:
        return None
    return getattr(found, "si", None)


def _of_any_test(columns: Sequence[ColumnGuess]) -> list[ColumnGuess]:
    """Columns of days of any test, `Tested`: where no column says of which each is, and one of a
    hydro stands beside them by its own name, or they may as well be of a visual, that is asked."""
    if any(e.key == WHAT for e in columns):
        return [*columns]
    named = any(e.key == HYDRO and names_tests(e.heading) for e in columns)
    return [
        replace(e, key=UNANSWERED, asks=False, told=_OF_WHICH_DAYS)
        if e.key == HYDRO and not names_tests(e.heading) and (named or _may_be_visual(e))
        else e
        for e in columns
    ]


def _of_what_days(
    columns: Sequence[ColumnGuess], below: Sequence[Sequence[str]], today: dt.date
) -> list[ColumnGuess]:
    """Columns of days below a heading that is not known, or that is of a figure (`letzte SP`): of
    which test they are, or of what else, is asked. What a heading tells of as ill is kept, and so
    is the day of it."""
    ill = [asks_for_ill(e.heading) or says_danger(e.heading) for e in columns]
    ill = [told or heading_fails(e.heading) for told, e in zip(ill, columns, strict=True)]
    found = []
    for each, told, cells in zip(columns, ill, below, strict=True):
        of_figure = kind_of(each.key) in QUANTITIES or each.told.startswith(
            (_OF_WHICH_PRESSURE, _WHICH_PRESSURE)
        )
        unknown = each.key == KEEP and each.told == _NOT_KNOWN
        known = [c for c in cells if c and not says_nothing_known(c)]
        bare = any(ill) and is_heading_of(each.heading, (ON,))
        if (of_figure or unknown) and not told and not bare and _are_days(known, today):
            each = replace(each, key=UNANSWERED, unit="", values=(), told=_OF_WHAT_DAYS)
        found.append(each)
    return found


def _may_be_visual(column: ColumnGuess) -> bool:
    words = plain_words(column.heading)
    return bool(column.samples) and words in phrases_of("test unsaid")


_OF_WHICH_DAYS = (
    "hydro, visual, keep, or leave-out: of which test are these days? Of a hydro or a visual, "
    "write `is: last` or `is: next` as well"
)


def _of_which_test(columns: Sequence[ColumnGuess], rows: RowsAre) -> list[ColumnGuess]:
    """Columns of results, each of the test that its heading names, or of the only one that there
    is. Where neither tells it, it is asked: a result that is not read would make a pass of all."""
    kinds = {each.key for each in columns} & {HYDRO, VISUAL}
    found = []
    of_entries = rows is RowsAre.ENTRIES
    open_ = any(e.key in (HYDRO, VISUAL) and not names_tests(e.heading) for e in columns)
    for each in columns:
        if each.key == WHAT and not (of_entries or open_):
            each = replace(each, key=KEEP, values=(), told=_OF_NO_TEST)
        if each.key == RESULT and of_entries:
            found.append(each)
            continue
        if each.key == RESULT:
            named = names_tests(each.heading)
            of = named if len(named) == 1 else kinds
            key = f"{next(iter(of))}_{RESULT}" if len(of) == 1 else UNANSWERED
            told = _WHICH_TEST if key == UNANSWERED else each.told
            each = replace(each, key=key, told=told)
        found.append(each)
    return found


def _of_whom(columns: Sequence[ColumnGuess], place: int) -> ColumnGuess:
    """A column of days whose heading is a bare `Since`: of a rental beside whoever has it, else of
    what stands before it, as a fault does. Where both may be, it is asked."""
    each = columns[place]
    bare = plain_words(each.heading) in phrases_of("bare days")
    if each.key not in ("out_since", "out_until") or not bare:
        return each
    others = [c for c in columns if c.key not in ("out_since", "out_until", LEAVE_OUT)]
    at = sum(c in others for c in columns[:place])
    beside = others[max(at - 1, 0) : at + 1]
    if any(c.key == "out_to" for c in beside):
        return each
    if any(c.key == "out_to" for c in others) or any(c.key == UNANSWERED for c in beside):
        return replace(each, key=UNANSWERED, told=_SINCE_WHAT)
    return replace(each, key=KEEP, told=_OF_WHAT_IS_BEFORE)


def _of_groups(columns: Sequence[ColumnGuess], below: Sequence[Sequence[str]]) -> list[ColumnGuess]:
    """Columns before that by which a cylinder is known, filled in the first row, and empty in some
    below it: each may be of a group of rows, which is asked."""
    first = next((n for n, e in enumerate(columns) if e.key in NAMING), 0)
    found = []
    for place, (each, cells) in enumerate(zip(columns, below, strict=True)):
        said = [cell for cell in cells if cell]
        alone = len(set(said)) == len(said) < len(cells)
        groups = place < first and alone and bool(cells[0])
        found.append(replace(each, blanks=True) if groups and each.key != LEAVE_OUT else each)
    return found


_SINCE_WHAT = (
    "out_since, out_until, keep, or leave-out: are these days of whoever has it, or of what stands "
    "beside them?"
)
_OF_WHAT_IS_BEFORE = "nobody has it by this table: it is kept in the notes"
_OF_NO_TEST = "not known of which dates: it is kept in the notes"
_WHICH_TEST = (
    "hydro_result, visual_result, stands, or keep: of which test is it, or is it of how its "
    "cylinder stands?"
)


def _asks(heading: str, cells: Sequence[str]) -> bool:
    """Whether a column of a test that has no dates seems to say how that came out: by its heading,
    or as some of its cells say yes or no, or have a sign in the place of a word."""
    said = any(holds_phrase(heading, p) for p in phrases_of(RESULT))
    few = len(set(cells)) <= MOST_VALUES
    return few and (said or any(word_meant(c) in _OF[RESULT] or not plain_words(c) for c in cells))


def _is_of_legend(cell: str) -> bool:
    """Whether a cell says what a colour means: `red = do not fill`."""
    said = _LEGEND.fullmatch(shown_plain(cell))
    return said is not None and is_colour(said[1])


_LEGEND = pattern(r"([^\W\d_]{3,12}(?: [^\W\d_]{3,12})?)\s*(?:=|:|\u2013|-|means)\s*(\S.*)")


def _are_people(cells: Sequence[str]) -> bool:
    """Whether what stands in a column looks like names of people: most of it is one to three words
    with capitals, that are none of those that say whose, where, how big or what colour."""
    distinct = {shown_plain(c) for c in cells}
    names = [c for c in distinct if may_be_name(c) and not is_plain(c) and not is_plain_place(c)]
    known = [c for c in names if word_meant(c) or key_by(c, HEADS_OF_CARDS)]
    return 2 * (len(names) - len(known)) > len(distinct)


_OF_PEOPLE = "are these names of people? A ledger keeps references, and what is kept goes into git"
_PEOPLE = f"out_to, owner, hydro_by, visual_by, maker, keep, or leave-out: {_OF_PEOPLE}"
_PEOPLE_OF_ENTRIES = f"by (who tested it), to (who had it), keep, or leave-out: {_OF_PEOPLE}"


def _says_no(cells: Sequence[str]) -> bool:
    """Whether cells say yes or no, or have crosses, and some of them say no."""
    cross = {c for c in cells if plain_words(c) in _CROSS and not word_meant(c)}
    words = {word_meant(c) for c in set(cells) - cross}
    no = TestResult.FAIL in words or (cross and TestResult.PASS in words)
    return bool(no) and words <= _OF[RESULT]


_CROSS = ("", "x")
"""What may be a yes and a no."""


def _are_results(cells: Sequence[str]) -> bool:
    """Whether cells say how something came out: each a word of that, and at least one of them."""
    words = [word_meant(c) for c in cells]
    told = [w in _OF[RESULT] or bool(says_gone(c)) for w, c in zip(words, cells, strict=True)]
    return bool(told) and all(told) and any(w in _OF[RESULT] for w in words)


def _are_days(cells: Sequence[str], today: dt.date) -> bool:
    """Whether what stands in a column is days, of most of its cells at least."""
    days = sum(bool(_WHOLE_DAY.fullmatch(c)) and _is_date(c, today) for c in cells)
    return 2 * days > len(cells)


def _looks_dated(cell: str, today: dt.date) -> bool:
    """Whether a cell may be a date, or have one in it."""
    return _is_date(cell, today) or bool(re.search(r"\d{4}|\d[./-]\d", cell))


_WHOLE_DAY = pattern(
    r"\d{1,2}[./ -]\d{1,2}[./ -](?:\d\d){1,2}|(?:19|20)\d\d[./-]\d{1,2}(?:[./-]\d{1,2})?(?:[ T].*)?"
    r"|\d{1,2}[./ -](?:19|20)\d\d|(?:\d{1,2}\.? )?[^\W\d]{3,10}\.?[ -](?:19|20)?\d\d"
)
"""A day or a month with its year, which no figure is written as."""
_YEAR = pattern(r"(?:19|20)\d\d")


def _is_date(cell: str, today: dt.date) -> bool:
    """Whether a cell is a date, whichever of its numbers is the day."""
    for order in DateOrder:
        try:
            date_of(cell, DateReading(today, order, DayNumbers.SINCE_1900))
        except ValueError:
            continue
        return True
    return False


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
    told = (c for c in cells if key in WHERE_IT_IS or not says_open(c))
    distinct = [t for t, _ in Counter(shown_plain(c) for c in told).most_common()]
    if key == PLACE:
        distinct = [t for t in distinct if not is_plain_place(t) and not is_here(t)]
    elif len(distinct) > MOST_VALUES and key not in REFERENCES:
        return
    for text in sorted(distinct, key=str.casefold):
        if key in REFERENCES:
            if not is_here(text):
                yield text, text if _REFERENCE.fullmatch(text) else UNANSWERED
        elif key == PLACE:
            yield text, UNANSWERED
        elif key == STANDS:
            yield text, "here" if is_here(text) or plain_word(text) in _WELL else UNANSWERED
        elif isinstance(kind, OneOf) or key in _OF:
            words = {w.value for w in kind.words} if isinstance(kind, OneOf) else _OF[key]
            twins = {old for old, _ in kind.twins} if isinstance(kind, OneOf) else set()
            if text.casefold() in words | twins:
                continue
            found = word_meant(text)
            yield text, found if found in words else UNANSWERED


_REFERENCE = pattern(r"[A-Z]{1,4}-?\d{1,6}")
"""What is one already, and no name: `C-11`."""
_WELL = frozenset({"ok", "good", "in service", "active", "in use", "gut", "i o", "bon", "bien"})
_OF = {
    WHAT: {HYDRO, VISUAL, "rental"},
    **{key: {each.value for each in TestResult} for key in (RESULT, *RESULTS)},
}


# --- what holds for all columns ------------------------------------------------------------------

SHOWING = 2
"""So many dates of a column show how its others are read (own choice): one alone may be a slip."""


def orders_by_column(columns: Sequence[Sequence[str]], today: dt.date) -> list[str]:
    """Which number of a date comes first, as the dates of each column show by themselves; `?` where
    they do not, and an empty text where none has to be told.

    >>> orders_by_column([["13/04/2021", "14/04/2021", "3/4/2021"]], dt.date(2026, 11, 25))
    ['day-first']
    >>> orders_by_column([["24-03-11", "24-05-12"]], dt.date(2026, 11, 25))
    ['?']
    """
    return [str(_order_of(cells, today)) for cells in columns]


def one_order(each: Sequence[str]) -> str:
    """The order of a whole table, from those of its columns: `?` where they contradict others."""
    found = set(each) - {""}
    return next(iter(found), "") if len(found) < 2 else UNANSWERED


def _order_of(cells: Sequence[str], today: dt.date) -> str:
    numbers = [(m[2], m.group(1, 3, 4)) for cell in cells for m in NUMBERS.finditer(cell)]
    dates = [(sign, orders_shown(p, today)) for sign, p in numbers if len(p[0]) < 4]
    open_ = [(sign, found) for sign, found in dates if len(set(found.values())) > 1]
    shown = Counter(next(iter(found)) for _, found in dates if len(found) == 1)
    last = Counter(sign for sign, found in dates if found and DateOrder.YEAR_FIRST not in found)
    early = shown[DateOrder.YEAR_FIRST]
    if early and (last or (early < SHOWING and open_)):
        return UNANSWERED
    if early:
        return DateOrder.YEAR_FIRST
    if any(int(m[1]) > 31 for cell in cells for m in _NAMED.finditer(cell)):
        return UNANSWERED
    left = [
        set(found) - ({DateOrder.YEAR_FIRST} if last[sign] >= SHOWING else set())
        for sign, found in open_
    ]
    shown += Counter(next(iter(ways)) for ways in left if len(ways) == 1)
    unsure = any(len(ways) > 1 for ways in left)
    yearly = any(DateOrder.YEAR_FIRST in ways for ways in left)
    if len(shown) > 1 or yearly or (unsure and not any(n >= SHOWING for n in shown.values())):
        return UNANSWERED
    return next(iter(shown), "") or _of_months(cells)


_NAMED = pattern(r"(?<!\d)(\d\d)[./\- ][^\W\d]+[./\- ]+\d\d(?!\d)")
_MONTHS = pattern(r"(\d\d)[./-](\d\d)")


def _of_months(cells: Sequence[str]) -> str:
    """Of dates that are a month and a year of two digits: where the year stands."""
    pairs = [(int(m[1]), int(m[2])) for m in filter(None, map(_MONTHS.fullmatch, cells))]
    if not any(max(p) <= 12 and p[0] != p[1] for p in pairs):
        return ""
    shown = sum(b > 12 >= a for a, b in pairs)
    early = any(a > 12 for a, _ in pairs)
    return DateOrder.MONTH_FIRST if shown >= SHOWING and not early else UNANSWERED


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
