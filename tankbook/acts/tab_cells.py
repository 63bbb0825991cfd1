"""The cells of somebody's own table: what a number, a date or a word in one says.

What can be meant in two ways is refused; which of the two it is, a mapping says.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from functools import cache
from unicodedata import combining, normalize

from msgspec import Struct

from tankbook.records.sheet_mapping import DateOrder, DayNumbers, DecimalSign
from tankbook.units import PartialDate, Period, doubt_of
from tankbook.units.dates import FIRST_YEAR, month_length
from tankbook.units.lexicon import Lexicon
from tankbook.units.lexicon import plain_words as plain_words  # read by whoever reads cells
from tankbook.units.patterns import pattern

_SAY = Lexicon("headings")

AHEAD = 20
"""A year of two digits lies no more than so many years ahead (own choice): what is due next does
not, and what was tested lies behind."""

# --- words ---------------------------------------------------------------------------------------


def holds_phrase(words: str, phrase: str) -> bool:
    """Whether a phrase stands in plain words, each of its words whole."""
    return f" {phrase} " in f" {words} "


@cache
def phrases_of(name: str) -> tuple[str, ...]:
    """The phrases of a list, as plain words."""
    return tuple(plain_words(each) or each for each in _SAY.listed(name))


def says_nothing_known(text: str) -> bool:
    """Whether a cell says that nothing is known: `n/a`, `?`, a dash."""
    return text.strip().casefold() in _SAY.listed("nothing") or says_open(text)


def says_open(text: str) -> bool:
    """Whether a cell says that somebody has to find it out yet: `?`, `TBC`."""
    return text.strip().casefold() in _SAY.listed("open")


def is_here(text: str) -> bool:
    """Whether a cell of who has it says that it is here."""
    return plain_word(text) in phrases_of("here")


def says_gone(text: str) -> str:
    """The word by which a text says that a cylinder is no longer here, or an empty text.

    >>> says_gone("missing since May"), says_gone("dip tube missing"), says_gone("sold, boot lost")
    ('missing', '', 'sold')
    """
    words = plain_words(text)
    said = [each for each in phrases_of("gone") if holds_phrase(words, each)]
    if any(holds_phrase(words, each) for each in phrases_of("part")):
        said = [each for each in said if each not in phrases_of("gone of part")]
    return next(iter(said), "")


def no_value(text: str) -> tuple[str, str] | tuple[()]:
    """Why a cell has nothing to read, an error or a formula of a spreadsheet, and how to mend it;
    nothing where it has.

    >>> no_value("#REF!")[0], no_value("AL80")
    ('`#REF!` is an error of the spreadsheet', ())
    """
    if _ERROR.fullmatch(text.strip()):
        return f"`{text}` is an error of the spreadsheet", "mend its formula, or type the value"
    if text.startswith("=") and len(text) > 1:
        mend = "open the file, save it, and give that; or type the value"
        return f"`{text[:40]}` is a formula of which the file has no value", mend
    return ()


_ERROR = pattern(r"#[A-ZÀ-Ý/0]+[0A-ZÀ-Ý/]*[!?]|#(?:N/?A|NV|NULL|N/D)!?|#{3,}|Err:\d{3}", re.I)
"""As spreadsheets show them: `#REF!`, `#DIV/0!`, `#NAME?`, `#BEZUG!`, `#N/A`, and a row of `#` for
what is wider than its column (ECMA-376 part 1, 18.17.3; the others from memory)."""


def begins_foot(text: str) -> bool:
    """Whether a text is what the foot of a table begins with: `Total`, `Signed:`."""
    words = plain_words(text)
    return any(f"{words} ".startswith(f"{each} ") for each in phrases_of("foot"))


@cache
def known_words() -> Mapping[str, str]:
    """What words of a cell are on a card, by the plain words."""
    pairs = (each.partition(" is ") for each in _SAY.listed("words"))
    return {plain_words(old) or old: new for old, _, new in pairs}


def word_meant(text: str, other: str = "") -> str:
    """What a word, or a sign, of a cell is on a card; `other` where that is not known."""
    return known_words().get(plain_word(text) or text.strip(), other)


def plain_word(text: str) -> str:
    """A text as plain words; an empty text where a sign beside them may say something else: a
    question mark, a star of a note at the foot, a cross, letters that are not read.

    >>> [plain_word(t) for t in ("Pass.", "A-clamp", "pass*", "ok (?)", "ok\u00b9", "ok -")]
    ['pass', 'a clamp', '', '', '', '']
    """
    bare = (c for c in normalize("NFD", text.casefold()) if not combining(c))
    return "" if _BESIDE.search("".join(bare).strip()) else plain_words(text)


_BESIDE = pattern(r"[^a-z0-9\u00df\s.,;:!/&#%+'\"\u2019()_\u2010-\u2013-]|\.\.|\(\W*\)|^-|-$")
"""What is no letter of a word, and no sign that stands in one or ends it."""


_PART = r"[^\W\d_a-zß-öø-ÿ][^\W\d_]*(?:['\u2019-][^\W\d_]+)*\.?"
_NAME = pattern(
    rf"{_PART}(?:,? (?:(?:von|van|de|der|den|du|la|le|di|da|del|dos|ter|zu) )*{_PART}){{0,2}}"
    rf"(?: ?\([^()]*\))?(?:,? [\d /+()-]{{6,}})?"
)
"""A name of one to three words, a telephone number behind it."""


def may_be_name(text: str) -> bool:
    """Whether a cell looks like the name of somebody: one to three words with capitals.

    >>> [may_be_name(t) for t in ("Sue", "J. van Dam", "behind the compressor", "rack 3", "club")]
    [True, True, False, False, False]
    """
    return _NAME.fullmatch(text) is not None and not is_here(text)


def says_who_has_it(place: str) -> bool:
    """Whether a cell that asks where a cylinder is says who has it, or that somebody has.

    >>> [says_who_has_it(t) for t in ("lent to Bob", "chez Marc", "on loan", "with the club")]
    [True, True, True, True]
    """
    return _SAY.shape("with somebody").fullmatch(place.strip(" .!")) is not None


# --- headings -------------------------------------------------------------------------------------

HEADS_OF_CARDS = (
    "id", "serial", "maker", "marks", "specification", "service pressure", "test pressure",
    "water volume", "size", "material", "alloy", "made", "first test", "hydro", "visual",
    "valve outlet", "neck thread", "valve thread", "valve rating", "service", "use", "owner",
    "place", "mass", "bought", "price", "out to", "out since", "out until", "remark", "stands",
)  # fmt: skip
"""The lists of headings of a table of cylinders, in the order in which they are looked for."""
HEADS_OF_ENTRIES = ("id", "serial", "what", "on", "by", "result", "to", "out until", "remark")
"""As much of a table of tests, stickers and rentals."""
_DOTTED = {f"valve {each}": f"valve.{each}" for each in ("outlet", "thread", "rating")}


def key_by(heading: str, lists: Sequence[str]) -> str:
    """The key of the longest known phrase that stands in a heading, or an empty text.

    >>> [key_by(h, HEADS_OF_CARDS) for h in ("Last test / Visual", "WP (bar)", "N°")]
    ['hydro', 'service_pressure', 'id']
    """
    words = plain_words(_NUMERO.sub("no", heading))
    words = words.replace("/", " / ").replace("#", " no ").replace(" / ", "/")
    best, length = "", 0
    for name in lists:
        for phrase in phrases_of(name):
            if len(phrase) > length and holds_phrase(words, phrase):
                best, length = name, len(phrase)
    return _DOTTED.get(best, best.replace(" ", "_"))


def is_heading_of(text: str, lists: Sequence[str]) -> bool:
    """Whether a cell is a heading of one of some lists, and says nothing else.

    >>> [is_heading_of(t, ("id alone", "id", "serial")) for t in ("Bottle", "N°", "Bottle 3", "H2")]
    [True, True, False, False]
    """
    words = plain_words(_NUMERO.sub("no", text))
    return any(words in phrases_of(name) for name in lists)


_NUMERO = pattern(r"\bn\s?[°º](?=\W|$)", re.IGNORECASE)
"""How French, Spanish and Italian shorten a number: `N°`, `Nº`."""


def heading_says(heading: str) -> str:
    """`next` or `last`, as a heading of dates says by itself; an empty text for neither, or both.

    >>> heading_says("Next hydro"), heading_says("Last test / Visual"), heading_says("Hydro")
    ('next', 'last', '')
    """
    words = plain_words(heading)
    found = [
        name
        for name in ("of next", "of last")
        if any(holds_phrase(words, each) for each in phrases_of(name))
    ]
    return found[0].removeprefix("of ") if len(found) == 1 else ""


def heading_fails(heading: str) -> bool:
    """Whether a heading says that what stands below it was not passed.

    >>> [heading_fails(h) for h in ("Last failed hydro", "Hydro pass / fail", "Test refusé")]
    [True, False, True]
    """
    words = plain_words(heading).replace("/", " ")
    failed = [each for each in phrases_of("of failure") if holds_phrase(words, each)]
    for each in failed:
        words = f" {words} ".replace(f" {each} ", " ").strip()
    return bool(failed) and not any(holds_phrase(words, each) for each in phrases_of("of passing"))


def says_not_passed(text: str) -> bool:
    """Whether a remark beside a test says that it was not passed, or not done.

    >>> [says_not_passed(t) for t in ("did not pass", "no failures", "postponed", "passed", "blue")]
    [True, False, True, False, False]
    """
    words = re.sub("[^a-z0-9\u00df]+", " ", plain_words(text))
    for denied in phrases_of("denies that"):
        for each in phrases_of("of failure") if denied.isalpha() else ():
            words = f" {words} ".replace(f" {denied} {each} ", " ").strip()
    if any(holds_phrase(words, each) for each in phrases_of("not done")):
        return True
    return heading_fails(words)


def kinds_in(text: str) -> tuple[frozenset[str], bool]:
    """The tests that a cell names, those that are neither a hydro nor a visual as well; and whether
    it says nothing beside, but when, by whom, or how it came out.

    >>> [sorted(kinds_in(t)[0]) for t in ("VIP", "O2 clean", "Hydro + VIP", "TIV, bon")]
    [['visual'], ['o2 clean'], ['hydro', 'visual'], ['visual']]
    """
    if (kind := word_meant(text)) in ("hydro", "visual"):
        return frozenset({kind}), True
    left, found = f" {re.sub('[^a-z0-9]+', ' ', plain_words(text))} ", set[str]()
    for phrase, kind in _names_of_tests():
        if f" {phrase} " in left:
            found.add(kind)
            left = left.replace(f" {phrase} ", " ")
    left = " ".join(w for w in left.split() if known_words().get(w) not in ("pass", "fail"))
    return frozenset(found), bool(found) and not heading_says_more(left)


def are_kinds(cells: Sequence[str]) -> bool:
    """Whether cells name kinds of tests: a hydro or a visual is among them, and half of them and
    more say nothing but what was tested.

    >>> [are_kinds(c) for c in (["Hydro", "VIP", "O2 clean"], ["O2 clean"], ["VIP", "blue", "old"])]
    [True, False, False]
    """
    named = [kinds_in(c) for c in dict.fromkeys(cells)]
    whole = [tests for tests, alone in named if alone]
    return any(tests & {"hydro", "visual"} for tests in whole) and 2 * len(whole) >= len(named)


@cache
def _names_of_tests() -> tuple[tuple[str, str], ...]:
    """What a cell calls a test, with the test, the longest first."""
    found = {p: kind for p, kind in known_words().items() if kind in ("hydro", "visual")}
    found = {p: p for p in phrases_of("other test")} | found
    return tuple(sorted(((p, k) for p, k in found.items() if len(p) > 1), key=lambda p: -len(p[0])))


@cache
def _of_tests() -> tuple[str, ...]:
    """The phrases of headings of tests that are understood, the longest first."""
    lists = (*_LISTS_OF_TESTS, "of next", "of last", "of failure", "of passing", "of a mark")
    every = {p for name in lists for p in phrases_of(name)} - _TURNING
    every |= {p for p in phrases_of("beside test") if " " in p}
    return tuple(sorted(every, key=lambda p: (-len(p), p)))


_LISTS_OF_TESTS = ("hydro", "visual", "first test", "by", "result", "on")
_TURNING = frozenset({"no"})
"""What is a number by itself, and turns round what stands beside it."""


def heading_says_more(heading: str) -> str:
    """The words of a heading of dates of tests that are left when the test, the last or the next,
    who did it and where are taken away: they may say that it was not done.

    >>> [heading_says_more(h) for h in ("Last hydro (mm/yy)", "Hydro tried", "No visual since")]
    ['', 'tried', 'no since']
    """
    left = f" {re.sub('[^a-z0-9ß ]', ' ', plain_words(heading))} "
    left = re.sub(r" +", " ", left)
    for phrase in _of_tests():
        left = left.replace(f" {phrase} ", " ").replace(f" {phrase} ", " ")
    known = phrases_of("beside test")
    return " ".join(w for w in left.split() if w not in known and not any(map(str.isdigit, w)))


def heading_left(heading: str, key: str) -> str:
    """The words of a heading that are left when what it is known by as a key is taken away, and
    small ones: they may say that it is of something else.

    >>> [heading_left(h, "service_pressure") for h in ("WP (bar)", "Valve rated (bar)", "WP new")]
    ['', 'valve', 'new']
    """
    name = re.sub("[._]", " ", key)
    left = f" {plain_words(_NUMERO.sub('no', heading)).replace('/', ' ')} "
    for phrase in sorted(phrases_of(name), key=len, reverse=True):
        left = left.replace(f" {phrase.replace('/', ' ')} ", " ")
    small = phrases_of("beside key")
    return " ".join(w for w in left.split() if w not in small and not w.isdigit())


# --- numbers -------------------------------------------------------------------------------------

_NUMBER = pattern(r"(?P<sign>[+-]?)(?P<figures>\d[\d.,' \u00a0\u2009\u202f]*)(?P<rest>.*)")
_GROUPED = pattern(r"\d{1,3}([.,' ])\d{3}(?:\1\d{3})*")


def number_of(text: str, decimal: DecimalSign | None) -> str:
    """A number with a point before its tenths, and no sign between thousands.

    Raises:
        ValueError: it is none, or may be two.

    >>> number_of("3.000,5", DecimalSign.COMMA), number_of("3 442", None)
    ('3000.5', '3442')
    """
    figures = re.sub(r"[' \u00a0\u2009\u202f]+", " ", text.strip())
    grouped = _GROUPED.fullmatch(figures)
    if " " in figures and not (grouped and grouped[1] == " ") and "," not in figures:
        raise ValueError(f"`{text}` is no number")
    figures = figures.replace(" ", "")
    points, commas = figures.count("."), figures.count(",")
    if points and commas:
        tenths = max(figures.rindex("."), figures.rindex(","))
        whole = re.sub(r"[.,]", "", figures[:tenths])
        figures = f"{whole}.{figures[tenths + 1 :]}"
        if {points, commas} != {1, max(points, commas)} or not figures.replace(".", "").isdigit():
            raise ValueError(f"`{text}` is no number")
        return figures
    sign = "." if points else ","
    if points + commas > 1:
        if not _GROUPED.fullmatch(figures):
            raise ValueError(f"`{text}` is no number")
        return figures.replace(sign, "")
    if points + commas == 1:
        if _GROUPED.fullmatch(figures) and not figures.startswith("0"):
            if decimal is None:
                raise ValueError(
                    f"`{text}` may be thousands or thousandths: write `decimal: point` or "
                    "`decimal: comma`"
                )
            tenths_sign = "." if decimal is DecimalSign.POINT else ","
            return figures.replace(sign, "." if sign == tenths_sign else "")
        figures = figures.replace(sign, ".")
    if not re.fullmatch(r"\d+(?:\.\d+)?", figures):
        raise ValueError(f"`{text}` is no number")
    return figures


def quantity_of(text: str, unit: str | None, decimal: DecimalSign | None) -> str:
    """A quantity as a card has it: its number, and its own unit or that of the column.

    Raises:
        ValueError: there is no number in it, it may be two, or no unit is said.

    >>> quantity_of("232", "bar", None), quantity_of("3,442 PSI", None, DecimalSign.POINT)
    ('232 bar', '3442 psi')
    """
    found = _NUMBER.fullmatch(text.strip())
    if found is None or found["sign"] == "-":
        raise ValueError(f"`{text}` is no number with its unit")
    own = found["rest"].strip().strip(".")
    said = _UNITS.get(own.casefold(), own) or unit
    if not said:
        raise ValueError(f"`{text}` has no unit: write `unit:` for its column")
    return f"{number_of(found['figures'], decimal)} {said}"


_UNITS = {
    "psi": "psi", "psig": "psi", "lbs": "psi", "bar": "bar", "bars": "bar", "barg": "bar",
    "l": "L", "ltr": "L", "ltrs": "L", "litre": "L", "litres": "L", "liter": "L", "liters": "L",
    "lt": "L", "litro": "L", "litros": "L", "litri": "L",
    "kg": "kg", "kgs": "kg", "lb": "lb", "mm": "mm", "cm": "cm", "cuft": "cuft",
    "cf": "cuft", "cu ft": "cuft", "cuin": "cuin", "cu in": "cuin", "mpa": "MPa",
}  # fmt: skip
"""Units as people write them, by small letters."""


def unit_in(words: str) -> str:
    """The unit that stands in the words of a heading, or an empty text."""
    return next((_UNITS[w] for w in words.replace("/", " ").split() if w in _UNITS), "")


# --- dates ---------------------------------------------------------------------------------------


class DateReading(Struct, frozen=True):
    """How dates are read: which number comes first, from when days are counted, and the day by
    which a year of two digits is told. `hand` has the signs between the numbers of those dates of
    the table that are plainly in this order; without any it is not known."""

    today: dt.date
    order: DateOrder | None = None
    numbers: DayNumbers | None = None
    hand: frozenset[str] = frozenset()


_TIME = pattern(r"[T ]00:00(?::00(?:\.0+)?)?Z?$")
_SPLIT = pattern(r"[\s./,\-\u2013']+")
_MONTH_MEND = "a month is the least that is kept"


@cache
def month_names() -> Mapping[str, int]:
    """The months by their names in plain words."""
    found: dict[str, int] = {}
    for line in _SAY.listed("months"):
        number, *names = line.split()
        found |= dict.fromkeys(names, int(number))
    return found


def date_of(text: str, how: DateReading) -> PartialDate:
    """A month or a day, however it is written.

    Raises:
        ValueError: it is none, or may be two.

    >>> how = DateReading(dt.date(2026, 11, 25), DateOrder.DAY_FIRST)
    >>> [str(date_of(t, how)) for t in ("3/4/21", "04/2021", "Apr-21", "03 avril 2021")]
    ['2021-04-03', '2021-04', '2021-04', '2021-04-03']
    """
    whole = _TIME.sub("", text.strip())
    parts = [p for p in _SPLIT.split(whole.casefold()) if p]
    named = [i for i, p in enumerate(parts) if _month(p)]
    if len(parts) == 1 and parts[0].isdecimal():
        return _alone(text, parts[0], how)
    if len(named) == 1 and len(parts) in (2, 3):
        return _with_name(text, parts, named[0], how)
    if named or not all(p.isdecimal() and p.isascii() for p in parts):
        raise ValueError(f"`{text}` is no date")
    if len(parts) == 2:
        return _month_and_year(text, parts, how)
    if len(parts) != 3:
        raise ValueError(f"`{text}` is no date")
    if len(parts[0]) == 4:
        return _made(text, parts[0], parts[1], parts[2], how)
    return _numbers(text, parts, how)


class OtherOrderError(ValueError):
    """A date whose numbers stand in another order than a mapping says."""


NUMBERS = pattern(
    r"(?<![\d./\-])(\d{1,2}|\d{4})([./\- ])(\d{1,2})[./\- ](\d{1,2}|\d{4})(?![\d./\-])"
)
"""Three numbers that may be a date, and the sign behind the first."""
_TWO_NUMBERS = pattern(r"(\d{1,2})[./\- ](\d{1,2})[./\- ]\d{2,4}")


def orders_shown(parts: Sequence[str], today: dt.date) -> Mapping[DateOrder, PartialDate]:
    """As `orders_of`, but nothing of a slip of the hand."""
    found = orders_of(parts, today)
    return {} if any(_is_slip(parts, each, found) for each in DateOrder) else found


def orders_of(parts: Sequence[str], today: dt.date) -> Mapping[DateOrder, PartialDate]:
    """What three numbers are as a date by each order in which they are one.

    >>> [f"{k}: {v}" for k, v in orders_of(("24", "03", "11"), dt.date(2026, 11, 25)).items()]
    ['day-first: 2011-03-24', 'year-first: 2024-03-11']
    """
    first, second, third = parts
    how, found = DateReading(today), {}
    for order, (year, month, day) in {
        DateOrder.DAY_FIRST: (third, second, first),
        DateOrder.MONTH_FIRST: (third, first, second),
        DateOrder.YEAR_FIRST: (first, second, third),
    }.items():
        try:
            found[order] = _made("", year, month, day, how)
        except ValueError:
            continue
    return found


_DAY = pattern(r"\d{4}-\d\d-(\d\d)")
SWAPPED = "its days up to the 12th are dates and the later ones text: are day and month right?"
"""What is told of dates that a spreadsheet seems to have read in the other order."""
_SOME = 2
"""As many of each kind make it seem so (own choice)."""


def seem_swapped(cells: Sequence[str]) -> bool:
    """Whether a spreadsheet seems to have taken month for day in some dates: it makes dates of
    those that can be read in its own order, and leaves the others as text.

    >>> seem_swapped(["2022-05-04", "13/04/2022", "2022-03-09", "25/06/2022"])
    True
    """
    days = [int(found[1]) for found in map(_DAY.fullmatch, cells) if found]
    pairs = [(int(m[1]), int(m[2])) for m in filter(None, map(_TWO_NUMBERS.fullmatch, cells))]
    enough = min(len(days), len(pairs)) >= _SOME
    return enough and max(days) <= 12 and all(max(pair) > 12 for pair in pairs)


def other_way_about(text: str) -> str:
    """A day that a spreadsheet made a date of, with day and month exchanged where both can be.

    >>> other_way_about("2022-05-04"), other_way_about("2022-05-13"), other_way_about("13/04/2022")
    ('2022-04-05', '2022-05-13', '13/04/2022')
    """
    year, _, rest = text.partition("-")
    found = _DAY.fullmatch(text)
    return f"{year}-{found[1]}-{rest[:2]}" if found and int(found[1]) <= 12 else text


def _month(word: str) -> int:
    return month_names().get(plain_words(word), 0)


def _numbers(text: str, parts: list[str], how: DateReading) -> PartialDate:
    found = orders_of(parts, how.today)
    if not found:
        if all(int(p) <= 31 for p in parts[:2]) and len(parts[2]) in (2, 4):
            raise ValueError(f"`{text}` is no calendar date")
        raise ValueError(f"`{text}` is no date")
    order = how.order
    if order is DateOrder.YEAR_FIRST and len(parts[2]) == 4:
        order = None  # its year stands last, and that it comes first says nothing of the others
    if order is None:
        if any(_is_slip(parts, each, found) for each in DateOrder):
            text = f"`{text}` is a date only with its year first"
            raise ValueError(f"{text}: write `dates: year-first`, or correct it")
        if len(set(found.values())) == 1:
            return next(iter(found.values()))
        ways = " or ".join(f"`dates: {each}` ({on})" for each, on in found.items())
        raise ValueError(f"`{text}` may be {_FEW[len(found)]} days: write {ways}")
    if order not in found:
        if _is_slip(parts, order, found):
            raise ValueError(f"`{text}` is no calendar date")
        raise OtherOrderError(f"`{text}` is no date where `dates: {order}`")
    if how.hand and DateOrder.YEAR_FIRST in found and len(found) > 1:
        sign = next((c for c in text if not c.isalnum()), "")
        if sign not in how.hand:
            other = [f"{on}" for each, on in found.items() if each is not order]
            raise ValueError(
                f"`{text}` is written otherwise than the other dates, and may be {found[order]} or "
                f"{' or '.join(other)}: write `dates:` for its own column"
            )
    return found[order]


_FEW = {2: "two", 3: "three"}


def _is_slip(
    parts: Sequence[str], order: DateOrder, found: Mapping[DateOrder, PartialDate]
) -> bool:
    """Whether three numbers may be a day that its month does not have, such as 31/04/22, which
    would be one only of the year 2031."""
    if order is DateOrder.YEAR_FIRST or set(found) != {DateOrder.YEAR_FIRST}:
        return False
    day, month = parts[:2] if order is DateOrder.DAY_FIRST else (parts[1], parts[0])
    return int(month) <= 12 and int(day) <= 31


def _month_and_year(text: str, parts: Sequence[str], how: DateReading) -> PartialDate:
    """A month of a year. Where neither has four figures the month stands first, as in a stamp,
    unless the mapping says that the year does."""
    first, second = parts
    if len(first) == 4:
        return _made(text, first, second, None, how)
    if len(second) == 4:
        return _made(text, second, first, None, how)
    if how.order is DateOrder.YEAR_FIRST:
        return _made(text, first, second, None, how)
    if int(first) > 12 >= int(second):
        raise ValueError(
            f"`{text}` has no year, or has it first: write it as 2021-04 or 2021-04-03; or "
            "`dates: year-first`"
        )
    both = len(first) == 2 and int(second) <= 12 and first != second
    if how.order is None and both:
        raise ValueError(
            f"`{text}` may be two months: write `dates: year-first`, or `dates: month-first` where "
            "the year stands last"
        )
    return _made(text, second, first, None, how)


def _with_name(text: str, parts: list[str], at: int, how: DateReading) -> PartialDate:
    """A date whose month has its name: with a year, and a day where three parts say so."""
    month = str(_month(parts[at]))
    others = [p for i, p in enumerate(parts) if i != at]
    if not all(p.isdecimal() for p in (re.sub(r"(?:st|nd|rd|th)$", "", p) for p in others)):
        raise ValueError(f"`{text}` is no date")
    others = [re.sub(r"(?:st|nd|rd|th)$", "", p) for p in others]
    if len(others) == 1:
        if at == 1 and len(others[0]) < 4:
            raise ValueError(f"`{text}` has no year, or no day: write it as 2021-04 or 2021-04-03")
        return _made(text, others[0], month, None, how)
    first = len(others[0]) == 4
    if at == 1 and [len(p) for p in others] == [2, 2]:  # with 24-Mar-11 the day is likelier first
        first = how.order is DateOrder.YEAR_FIRST
        if not first and int(others[0]) > 31:
            if how.order is not None:
                raise OtherOrderError(f"`{text}` is no date where `dates: {how.order}`")
            first = True
    year, day = others if first else others[::-1]
    return _made(text, year, month, day, how)


def _alone(text: str, figures: str, how: DateReading) -> PartialDate:
    """A number by itself: days since a year, eight figures, or a year, which says no month."""
    if len(figures) == 8:
        return _made(text, figures[:4], figures[4:6], figures[6:], how)
    if len(figures) == 5:
        if how.numbers is None:
            raise ValueError(
                f"`{text}` may be days counted by a spreadsheet: write `day_numbers: 1900` "
                f"({_counted(figures, DayNumbers.SINCE_1900)}) or `day_numbers: 1904` "
                f"({_counted(figures, DayNumbers.SINCE_1904)})"
            )
        return day_numbered(int(figures), how.numbers)
    if len(figures) == 4:
        if doubt := doubt_of(figures):
            raise doubt
        raise ValueError(f"`{text}` says no month, and {_MONTH_MEND}")
    raise ValueError(f"`{text}` is no date")


def _counted(figures: str, since: DayNumbers) -> str:
    return f"{day_numbered(int(figures), since)}"


def day_numbered(number: int, since: DayNumbers) -> PartialDate:
    """The day that a spreadsheet counts so, those from 1900 with a 29 February of that year, which
    there was not (ECMA-376 part 1, 18.17.4.1; from memory).

    >>> str(day_numbered(44287, DayNumbers.SINCE_1900))
    '2021-04-01'
    """
    first = dt.date(1899, 12, 30) if since is DayNumbers.SINCE_1900 else dt.date(1904, 1, 1)
    return PartialDate.of(first + dt.timedelta(days=number))


def _made(text: str, year: str, month: str, day: str | None, how: DateReading) -> PartialDate:
    if len(year) not in (2, 4) or (len(year) == 2 and not year.isdecimal()):
        raise ValueError(f"`{text}` is no date")
    if len(month) > 2 or (day is not None and len(day) > 2):
        raise ValueError(f"`{text}` is no date")
    number = int(year)
    if len(year) == 2:
        number += 2000
        number -= 100 if number > how.today.year + AHEAD else 0
    if number < FIRST_YEAR:
        raise ValueError(f"`{text}` is no date: year {number}")
    try:
        return PartialDate(number, int(month), None if day is None else int(day))
    except ValueError:
        raise ValueError(f"`{text}` is no calendar date") from None


def less(date: PartialDate, period: Period) -> PartialDate:
    """A date so many months earlier; a day that its month does not have is its last.

    Raises:
        ValueError: the period is one of days.

    >>> str(less(PartialDate.parse("2026-04"), Period.parse("5 years")))
    '2021-04'
    """
    if not period.months:
        raise ValueError(f"`{period}` is no period of months or years")
    months = 12 * date.year + date.month - 1 - period.months
    year, month = divmod(months, 12)
    day = None if date.day is None else min(date.day, month_length(year, month + 1))
    return PartialDate(year, month + 1, day)
