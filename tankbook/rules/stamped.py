"""What is stamped on a cylinder, as read off its card, remembered."""

from __future__ import annotations

import datetime as dt
import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence, Set
from functools import cache, lru_cache

from msgspec import Struct

from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Requalified, standing
from tankbook.records.marked import (
    MarkKind,
    Marks,
    MarkWords,
    Retest,
    Stamp,
    Token,
    WordSays,
)
from tankbook.records.markevidence import STAMPS, Evidence
from tankbook.records.markreader import fold, is_part_of, spans_of
from tankbook.records.marks import read_marks, read_stamp
from tankbook.records.stampdate import Century
from tankbook.records.station import Bank
from tankbook.records.words import TestResult
from tankbook.rules.spelling import is_slip_of, maker_named, plain_serial
from tankbook.rules.tested import PRESSURE_TESTS, made_of
from tankbook.units import PartialDate
from tankbook.units.patterns import pattern


def marks_of(cylinder: Cylinder) -> Marks:
    """The marks of its shoulder; none of a card that has none."""
    names = (*stamped_names(cylinder), *signs_of(cylinder))
    return _read_marks(cylinder.marks or "", made_of(cylinder), cylinder.serial, names)


def stamps_of(vessel: Cylinder | Bank) -> tuple[tuple[Requalified, Stamp], ...]:
    """Each test that has a stamp beside it, oldest first, with the stamp as read."""
    made = made_of(vessel) if isinstance(vessel, Cylinder) else None
    tests, signs = standing(vessel.requalified), signs_of(vessel)
    return tuple((t, _read_stamp(t.stamp, made, signs)) for t in tests if t.stamp)


def plus_is_stamped(cylinder: Cylinder, today: dt.date | None = None) -> bool:
    """Whether a stamp, or the marks of the shoulder, show a plus after its newest pressure test.

    A newer test on the shoulder that shows none, up to the day asked about, takes it away.
    """
    tests = [r for r in standing(cylinder.requalified) if r.method in PRESSURE_TESTS]
    if not tests:
        return False
    newest = tests[-1]
    # of two tests of one month nobody can tell which is the newer: both have to show it
    at_once = [t for t in tests if t.on.meets(newest.on) and t.result is TestResult.PASS]
    if not all(t.plus for t in at_once):
        return False
    dated = [(r.when.date.first, r.plus) for r in marks_of(cylinder).retests if r.when.date]
    until = today or dt.date.max
    if any(not plus for day, plus in dated if newest.on.last < day <= until):
        return False
    if newest.stamp:
        return plus_is_read(_read_stamp(newest.stamp, made_of(cylinder), ()))
    month = PartialDate(newest.on.year, newest.on.month)
    return plus_by_month(marks_of(cylinder)).get(month, False)


def plus_is_read(stamp: Stamp) -> bool:
    """Whether a stamp beside a test shows a plus for it: one test is read, the plus stands behind
    it, and nothing else stands there that could take it away."""
    return stamp.retest is not None and stamp.retest.plus and not stamp.unread


def plus_by_month(marks: Marks) -> dict[PartialDate, bool]:
    """Whether a shoulder shows a plus after the test of each month; of several tests of one month
    all have to."""
    found: dict[PartialDate, bool] = {}
    for retest in marks.retests:
        if retest.when.date is not None:
            month = PartialDate(retest.when.date.year, retest.when.date.month)
            found[month] = found.get(month, True) and retest.plus
    if marks.first_date is not None:
        found.setdefault(marks.first_date, marks.first_plus)
    return found


def serial_shown(cylinder: Cylinder) -> bool:
    """Whether the marks show its serial, alone or joined with letters of its maker's."""
    return _shows(cylinder.marks or "", cylinder.serial, cylinder.maker)


@lru_cache(maxsize=8192)
def _shows(marks: str, serial: str, maker: str | None) -> bool:
    own = re.sub(r"[^A-Z0-9]", "", serial.upper())
    if not own or own not in re.sub(r"[ ./-]", "", marks.upper()):
        return False  # what follows is made ready for one serial, and few cards ask for it
    spaced = r"[ ./-]?".join(map(re.escape, own))
    letters = "|".join(map(re.escape, _letters_of(maker))) or "[A-Z]{2,4}"
    beside = rf"(?:[^A-Z0-9]|^|(?<![A-Z])(?:SN|SER|NO|NR|{letters}))"
    behind = rf"(?:[^A-Z0-9](?<![-/](?=[0-9]{{1,2}}(?![A-Z0-9])))|$|(?:{letters})(?![A-Z0-9]))"
    return re.search(rf"{beside}{spaced}{behind}", marks.upper()) is not None


def _letters_of(maker: str | None) -> tuple[str, ...]:
    """The letters by which a maker may mark: its initials, and the first of its name."""
    words = re.findall(r"[^\W\d_]+", (maker or "").upper())
    if not words:
        return ()
    initials = "".join(w[0] for w in words)
    return (initials, initials[:2], *(words[0][:n] for n in (2, 3, 4)))


# --- words ---------------------------------------------------------------------------------------


@lru_cache(maxsize=8192)
def plain_letters(text: str) -> str:
    """A text in capitals, its accents and wide letters taken off."""
    parted = unicodedata.normalize("NFKD", text.upper().replace("\u1e9e", "SS"))
    return "".join(c for c in parted if not unicodedata.combining(c))


def words_that(rows: Iterable[MarkWords], *says: WordSays) -> tuple[str, ...]:
    """The words of the rows that say one of some things."""
    if not isinstance(rows, tuple):
        return tuple(w for row in rows if row.says in says for w in row.words)
    of, known = _WORDS_THAT.get(id(rows), ((), {}))
    if of is not rows:  # kept beside its words, so that no other gets its place in memory
        known = {}
        _WORDS_THAT.clear()
        _WORDS_THAT[id(rows)] = rows, known
    if says not in known:
        known[says] = words_that(iter(rows), *says)
    return known[says]


_WORDS_THAT: dict[
    int, tuple[tuple[MarkWords, ...], dict[tuple[WordSays, ...], tuple[str, ...]]]
] = {}
"""What `words_that` said last of one set of rows."""


@lru_cache(maxsize=16384)
def said_by(text: str, words: tuple[str, ...], names: tuple[str, ...] = ()) -> str:
    """The first of some words that a shoulder or a stamp carries, as it stands there; or an empty
    text. A word is found whole, its letters joined or parted by points, hyphens or blanks.

    Args:
        text: the shoulder or the stamp.
        words: what is looked for.
        names: names that may stand there; a word that is part of a longer one is not meant.
    """
    plain = plain_letters(text)
    spans = spans_of(plain, tuple(map(plain_letters, names)))
    for found in _found_in(plain, words):
        if not is_part_of(found.span(), spans, found[0]):
            return found[0].strip()
    return ""


def stamped_names(card: Cylinder) -> tuple[str, ...]:
    """What stands on a shoulder as a name: of its owner or of its maker, at least two words of it
    together, or all of a name that is one word; or the surname of an owner by itself."""
    stamped = _words_of(card.marks or "")
    found: dict[str, None] = {}
    for name in (card.owner, card.maker):
        words = re.findall(r"[^\W\d_]+", plain_letters(name or ""))
        runs = ((i, j) for i in range(len(words)) for j in range(i + 2, len(words) + 1))
        parts = [words[i:j] for i, j in runs] if len(words) > 1 else [words]
        found |= {" ".join(part): None for part in parts if part and stamped.issuperset(part)}
    surname = _surname(plain_letters(card.owner or ""))
    if surname in stamped and not _is_dated(surname, plain_letters(card.marks or "")):
        found[surname] = None
    return tuple(found)


_PERSON = pattern(
    r"(?P<first>[^\W\d_]{4,}), ?[^\W\d_]+\.?"
    r"|[^\W\d_]+\.? (?:[^\W\d_]\.? ){0,2}(?P<last>[^\W\d_]{4,})"
)
"""One person: `K. SCHROTT`, `KARL M. SCHROTT`, `SCHROTT, KARL`. A shorter name may be a sign."""


def _surname(owner: str) -> str:
    """The surname of one person by name and surname, or an empty text."""
    found = _PERSON.fullmatch(owner.strip())
    return (found["first"] or found["last"]) if found else ""


def _is_dated(word: str, text: str) -> bool:
    """Whether a number stands right behind a word, as behind the name of a month."""
    return re.search(rf"(?<![^\W_]){word}\W*\d", text) is not None


def signs_of(vessel: Cylinder | Bank) -> tuple[str, ...]:
    """The signs of whoever tested it that are stamped, each behind the date of its test: initials,
    or the first letters or a whole word of the name in `by:`, or a number in it, with letters
    before it or without."""
    marks = vessel.marks if isinstance(vessel, Cylinder) else None
    found: dict[str, None] = {}
    for test in standing(vessel.requalified):
        stamped = _words_of(f"{marks or ''} {test.stamp or ''}")
        name = plain_letters(test.by or "")
        words, numbers = re.findall(r"[^\W\d_]{2,}", name), _NUMBERED.findall(name)
        initials = "".join(w[0] for w in re.findall(r"[^\W\d_]+", name))
        signs = {*words, *(w[:n] for w in words for n in _SIGN_LETTERS), initials, *numbers}
        for sign in sorted(signs & stamped):
            found |= {f"{date} {sign}": None for date in _dates_of(test.on)}
            found |= {f"{sign} {date}": None for date in _dates_of(test.on) if sign in numbers}
    return tuple(found)


@lru_cache(maxsize=8192)
def _words_of(text: str) -> frozenset[str]:
    return frozenset(re.findall(r"[^\W_]+", plain_letters(text)))


_NUMBERED = pattern(r"(?<!\w)[A-Z]{0,3}\d+(?!\w)")
"""A test station's number, or its sign of letters and a number (own shape)."""

_SIGN_LETTERS = (3, 4)
"""So many first letters of its name may be a test station's sign (own choice)."""


def _dates_of(on: PartialDate) -> Iterator[str]:
    """How a month may be stamped in figures."""
    for year in (f"{on.year}", f"{on.year % 100:02}"):
        for month in dict.fromkeys((f"{on.month:02}", f"{on.month}")) if on.month else ():
            yield f"{year} {month}"
            yield f"{month} {year}"


def _found_in(plain: str, words: tuple[str, ...]) -> Iterator[re.Match[str]]:
    """Where any of some words stand in a text in capitals. Few of them can, and a pattern of all
    takes long to make."""
    letters = re.sub(r"[\W_]", "", plain)
    left = tuple(w for w in words if all(part in letters for part in _parts(w)))
    return _any_of(left).finditer(plain) if left else iter(())


@cache
def _parts(word: str) -> tuple[str, ...]:
    """The letters and figures of a word, between the numbers that it leaves open."""
    return tuple(re.sub(r"[\W_]", "", part) for part in plain_letters(word).split("#"))


@lru_cache(maxsize=1024)
def _any_of(words: tuple[str, ...]) -> re.Pattern[str]:
    return re.compile("|".join(f"(?:{_spelled(plain_letters(w))})" for w in words))


_SHORT = 3
"""Words of no more letters may stand by chance: a blank between their letters, or a digit beside
them, is not theirs."""


_NUMBER = "[0-9]+(?:[.,][0-9]+)?"


def _spelled(word: str) -> str:
    letters = [_NUMBER if c == "#" else re.escape(c) for c in word if c.isalnum() or c == "#"]
    short = len(letters) <= _SHORT
    parts = (r"[./-]?" if short else r"[\W_]{0,2}").join(letters)
    beside = "[A-Z0-9]" if short else "[A-Z]"
    return rf"(?<!{beside}){parts}" + ("" if word.endswith("*") else rf"(?!{beside})")


class Strange(Struct, frozen=True):
    """What a shoulder carries that nothing on its card explains: words of no known meaning, and
    words that may take it out of use."""

    unknown: tuple[str, ...] = ()
    doubtful: tuple[str, ...] = ()


def unexplained(card: Cylinder, marks: Marks, rows: Sequence[MarkWords], names: str) -> Strange:
    """The words and scraps of a shoulder that nothing explains.

    A word that may take it out of use is explained by a name it is part of, by a station's sign, or
    by a note that says whose name or sign it is. Words for a gas are told by `gases_said`.

    Args:
        card: whose maker, serial, size, owner, tests and note explain words.
        marks: its marks.
        rows: the words that are known.
        names: other words that are known in this ledger, as its name.
    """
    plain_words = words_that(rows, WordSays.NOTHING, WordSays.COUNTRY, WordSays.MATERIAL)
    known = frozenset(map(plain_letters, plain_words))
    gases = frozenset(map(plain_letters, words_that(rows, WordSays.GAS)))
    doubtful = frozenset(map(plain_letters, words_that(rows, WordSays.IN_DOUBT)))
    own, told = _own_words(card, names), plain_letters(f"{card.note or ''} {card.owner or ''}")
    says_whose = _says_whose(card.note or "", rows)
    left = _left_of(card, rows)
    scraps = [s for t in marks.tokens for s in _scraps(t, card) if _holds(left, s)]
    unknown, adverse = [], []
    for s in dict.fromkeys(scraps):
        if _is_among(s, doubtful) or _begins_with_one(s, rows):
            if not (says_whose and _holds(told, s)):
                adverse.append(s)
        elif not (
            _is_among(s, gases)
            or _is_known(s, known)
            or s in own
            or _holds(told, s)
            or _is_maker(s, card)
        ):
            unknown.append(s)
    return Strange(tuple(unknown), tuple(adverse))


def _left_of(card: Cylinder, rows: Sequence[MarkWords]) -> str:
    """Its shoulder without the names and the known phrases that stand there."""
    text = plain_letters(card.marks or "")
    phrases = _phrases(rows, WordSays.NOTHING, WordSays.GAS, WordSays.MATERIAL)
    names = tuple(map(plain_letters, (*stamped_names(card), *signs_of_kind(card, rows))))
    spans = [*spans_of(text, names)]
    spans += [m.span() for m in _found_in(text, phrases)]
    for start, end in spans:
        text = text[:start] + " " * (end - start) + text[end:]
    return text


def _phrases(rows: Iterable[MarkWords], *says: WordSays) -> tuple[str, ...]:
    """What of some rows is more than one word."""
    return tuple(w for w in words_that(rows, *says) if " " in w)


def gases_said(
    card: Cylinder, marks: Marks, rows: Sequence[MarkWords]
) -> Iterator[tuple[str, MarkWords]]:
    """Each word of its shoulder for a gas, or for what it is kept for, and the row that says so.

    What is part of a name, of its serial, of a longer phrase that is known, or of a mark that could
    be a date, is none; nor is a number that a note says to be an owner's or a station's,
    where it may be one.
    """
    formula = _FORMULA.search(plain_letters(marks.line))
    if not formula and not said_by(marks.line, words_that(rows, WordSays.GAS)):
        return
    text = _with_formulas(_without_dates(marks, plain_serial(card.serial)), card)
    names = (*stamped_names(card), *signs_of_kind(card, rows), card.serial)
    names += _phrases(rows, WordSays.NOTHING, WordSays.GAS)
    note, whose = plain_letters(card.note or ""), _says_whose(card.note or "", rows)
    for row in rows:
        word = said_by(text, row.words, names) if row.says is WordSays.GAS else ""
        sign = not row.fits and not row.against and re.search("[0-9]", word) is not None
        if word and not (sign and whose and _holds(note, plain_letters(word))):
            yield word, row


def materials_said(card: Cylinder, rows: Sequence[MarkWords]) -> Iterator[tuple[str, MarkWords]]:
    """Each word of its shoulder for what it is made of, and the row that says so; names aside."""
    if not said_by(card.marks or "", words_that(rows, WordSays.MATERIAL)):
        return
    names = (*stamped_names(card), *signs_of_kind(card, rows), *_phrases(rows, WordSays.NOTHING))
    for row in rows:
        is_of = row.says is WordSays.MATERIAL
        word = said_by(card.marks or "", row.words, names) if is_of else ""
        if word:
            yield word, row


_DATED = frozenset({MarkKind.FIRST_TEST, MarkKind.RETEST, MarkKind.DATE, MarkKind.LIFE_END})


def _without_dates(marks: Marks, serial: str) -> str:
    """A shoulder without its dates, without what could be one (`O2/24` is no oxygen), and without
    its serial and a few signs joined to that."""
    text = marks.line
    for token in marks.tokens:
        joined = Evidence.DATE in token.could_be and re.search("[0-9]{2}$", token.text)
        plain = plain_serial(token.text)
        own = bool(serial) and serial in plain and len(plain) - len(serial) < _SHORT
        if token.kind in _DATED or joined or own:
            text = text[: token.start] + " " * (token.end - token.start) + text[token.end :]
    for aside in (_SIGN_IN_DATE, _SHARE):
        text = aside.sub(lambda found: " " * len(found[0]), text)
    return text


_SHARE = pattern(
    r"\b(?:O2|OXYGEN)[ :=<≤]{0,4}(?:2[0-9]|3[0-9]|40)(?:[.,][0-9])? ?%"
    r"|(?<![\w.,])(?:2[0-9]|3[0-9]|40)(?:[.,][0-9])? ?% ?"
    r"(?:MAX(?:IMUM)? )?(?:O2|OXYGEN)\b(?! ?(?:ONLY|USE))",
    re.IGNORECASE,
)
"""The oxygen of air or of a usual nitrox: no oxygen cylinder."""


_FORMULA = pattern(
    r"(?<![A-Z0-9])(?:C ?O ?2|C0 ?2|(?<![.-])(?:N 2 O|[NOH] 2))"
    r"(?![A-Z0-9]|[.,/-][0-9]| ?(?:KG|L|MM)\b)"
    r"|(?<![\w./-])02(?= (?:USE )?(?:ONLY|SERVICE)\b)"
    r"|(?<=\bPURE )02(?![\w./-])|(?<=\bMEDICAL )02(?![\w./-])|(?<=\bMED )02(?![\w./-])"
)
"""A formula with blanks between its letters, or a zero for its O; `02` beside nothing that makes it
oxygen is a number, or a month."""


def _with_formulas(text: str, card: Cylinder) -> str:
    """A shoulder in capitals, its formulas for a gas joined, each in the place where it stands, and
    without the numbers of a melt or a batch: `LOT R22`. `CO 2` behind a maker's name is none."""
    plain = plain_letters(text)
    plain = STAMPS.shape("batch whole").sub(lambda found: " " * len(found[0]), plain)
    for found in reversed(list(_FORMULA.finditer(plain))):
        joined = re.sub("(?<=^C)0|^0", "O", found[0].replace(" ", ""))
        before = re.search(r"([^\W\d_]+)\W+$", plain[: found.start()])
        if not (found[0].startswith("CO ") and before and _is_of_a_name(before[1], card)):
            filled = joined.ljust(len(found[0]))
            plain = plain[: found.start()] + filled + plain[found.end() :]
    return _SHARE.sub(lambda found: " " * len(found[0]), plain)


def _is_of_a_name(word: str, card: Cylinder) -> bool:
    owner = re.findall(r"[^\W\d_]+", plain_letters(card.owner or ""))
    return word in owner or _is_maker(word, card)


_SIGN_IN_DATE = pattern(
    r"(?<![^ ,;])(?:0?[1-9]|1[0-2])[ /-]?[A-Z][0-9][ /-]?(?:[0-9]{2}|(?:19|20)[0-9]{2})(?![^ ,;])",
    re.IGNORECASE,
)
"""A letter and a digit between a month and a year: the sign of who tested (own shape)."""


def signs_of_kind(vessel: Cylinder | Bank, rows: Iterable[MarkWords]) -> tuple[str, ...]:
    """The signs of whoever tested it that are also words which tell against a cylinder, and may
    be a sign all the same."""
    signs = frozenset(map(plain_letters, words_that(rows, WordSays.SIGN)))
    return tuple(each for each in signs_of(vessel) if each.rpartition(" ")[2] in signs)


def is_explained(card: Cylinder, marks: Marks, token: Token, rows: Sequence[MarkWords]) -> bool:
    """Whether a mark that was not read is the number of a test station beside its date, or what a
    note that says whose it is repeats: alone where it is a word, else with the word before it."""
    text = plain_letters(marks.line)
    spans = spans_of(text, signs_of(card)) if len(text) == len(marks.line) else []
    if any(start <= token.start and token.end <= end for start, end in spans):
        return True
    if not _says_whose(card.note or "", rows):
        return False
    mark, note = plain_letters(token.text), plain_letters(card.note or "")
    if stands_behind_test(marks, token):
        return _holds(note, mark)
    known = frozenset(map(plain_letters, words_that(rows, WordSays.NOTHING)))
    before = re.search(r"([^\W\d_]{3,})\W*$", plain_letters(marks.line[: token.start]))
    if re.search(r"[\d\W_]", mark) is None:
        return _holds(note, mark)
    named = before and not _is_known(before[1], known)
    return bool(before and named and mark.isdigit() and _holds(note, f"{before[1]} {mark}"))


def stands_behind_test(marks: Marks, token: Token) -> bool:
    """Whether a mark stands where a test station's does, and could be one: letters and a number
    right behind the date of a later test without a RIN."""
    before = [t for t in marks.tokens if t.start < token.start]
    test = before[-1].value if before else None
    behind = isinstance(test, Retest) and not test.rin and test.when.date is not None
    return behind and re.fullmatch(r"[A-Z]{1,3}\d{1,4}", plain_letters(token.text)) is not None


_SIGNED = r"[A-WYZ]{1,4}[0-9]{0,3}"
_FULL_YEAR, _MONTH, _DAY = "(?:19|20)[0-9]{2}", "0[1-9]|1[0-2]", "1[3-9]|2[0-9]|3[01]"
_LOOSE = (
    rf"(?P<month>1[0-2]|0?[1-9])[ ./-]?{_SIGNED}[ ./-]?(?P<year>{_FULL_YEAR}|[0-9]{{2}})",
    rf"(?P<year>{_FULL_YEAR})[ ./-]{_SIGNED}[ ./-](?P<month>{_MONTH})",
    rf"(?P<year>{_FULL_YEAR})[./-](?P<month>{_MONTH})[./-](?:0[1-9]|1[0-2]|{_DAY})",
    rf"(?:{_DAY})[./-](?P<month>{_MONTH})[./-](?P<year>{_FULL_YEAR})",
    rf"(?P<month>{_MONTH})[./-](?:{_DAY})[./-](?P<year>{_FULL_YEAR})",
)
"""Month, station's mark and year, the year first, or a full day that can be read in one way."""


def loose_dates(card: Cylinder, marks: Marks) -> tuple[tuple[PartialDate, Token], ...]:
    """The months of tests after the first in marks that were not read as such, for their shape is
    not that of the rules: each beside every mark it stands in."""
    first = marks.first_date or made_of(card)
    if first is None or not (marks.serial or serial_shown(card)):
        return ()
    century, own, found = Century(first, (), retest=True), plain_serial(card.serial), []
    for tokens in _unread_runs(marks):
        if own not in plain_serial(" ".join(t.text for t in tokens)):
            text = " ".join(fold(t.text)[0] for t in tokens)
            read = next(filter(None, (re.fullmatch(shape, text) for shape in _LOOSE)), None)
            when = century.date(read["month"], read["year"]) if read else None
            if when and when.date and when.date.first > first.last:
                found += [(when.date, token) for token in tokens]
    return tuple(found)


def _unread_runs(marks: Marks) -> Iterator[tuple[Token, ...]]:
    """Each mark that was not read and could be a date, and each three that stand together."""
    tokens = marks.tokens
    for place, token in enumerate(tokens):
        if token.kind is MarkKind.UNREAD and Evidence.DATE in token.could_be:
            yield (token,)
            three = tokens[place : place + 3]
            if len(three) == 3 and three[-1].kind is MarkKind.UNREAD:
                yield three


def _holds(text: str, word: str) -> bool:
    """Whether a word stands whole in a text."""
    return re.search(rf"(?<![^\W_]){re.escape(word)}(?![^\W_])", text) is not None


def _says_whose(note: str, rows: Sequence[MarkWords]) -> bool:
    """Whether a note says whose a name or a sign is, and nothing in it tells against a cylinder."""
    adverse = said_by(note, words_that(rows, WordSays.CONDEMNED))
    return not adverse and bool(said_by(note, words_that(rows, WordSays.ROLE)))


def _begins_with_one(word: str, rows: Sequence[MarkWords]) -> bool:
    """Whether a longer word begins with one that takes a cylinder out of use: `CRACKNECK`."""
    stems = (w for w in words_that(rows, WordSays.CONDEMNED) if len(w) >= _LONG and w.isalpha())
    return word.startswith(tuple(map(plain_letters, stems)))


def _is_among(word: str, words: Set[str]) -> bool:
    """Whether a word, or a part of it, is one of some words."""
    parts = re.findall(r"[^\W_]+", word)
    return word in words or "".join(parts) in words or not words.isdisjoint(parts)


def _scraps(token: Token, card: Cylinder) -> Iterator[str]:
    """The words of a mark that is told by its letters alone, or was not read at all; a single
    letter, a number and what holds the serial say nothing that is not told otherwise."""
    told = STAMPS.shape("nothing to explain").fullmatch(fold(token.text)[0]) is not None
    if token.kind not in _BY_LETTERS or token.could_be or told:
        return
    serial, text = plain_serial(card.serial), plain_letters(re.sub("[™®©]", "", token.shown))
    if plain_serial(text) and plain_serial(text) in serial:
        return
    for word in re.findall(r"[^\W_]+(?:[./&'-][^\W_]+)*", text):
        letters = re.sub(r"[\W\d_]", "", word)
        number = len(word) >= _LONG and len(word) - len(letters) >= _LONG - 2
        if (len(letters) > 1 or number) and word.casefold() not in serial:
            yield word


_LONG = 5
"""A word of as many characters, most of them digits, may be another serial (own choice)."""

_BY_LETTERS = frozenset({MarkKind.NAME, MarkKind.UNREAD, MarkKind.STATION})


def _own_words(card: Cylinder, names: str) -> frozenset[str]:
    """The words by which a card and its ledger explain what is stamped."""
    said = [names, card.owner, card.size, card.note, card.made_in, card.service]
    said += [*card.specification, card.permit.number if card.permit else None]
    said += [each for r in standing(card.requalified) for each in (r.by, r.stamp)]
    text = plain_letters(" ".join(str(each) for each in said if each))
    words = re.findall(r"[^\W_]+", text)
    initials = ["".join(w[0] for w in (r.by or "").upper().split()) for r in card.requalified]
    return frozenset((*words, *re.findall(r"[^\W\d_]+", text), *initials))


def _is_known(word: str, known: frozenset[str]) -> bool:
    parts = re.findall(r"[^\W\d_]+", word)
    joined = "".join(parts)
    if len(re.sub(r"\D", "", word)) >= _LONG:
        return word in known  # the letters beside a long number do not say whose it is
    if joined in known or word in known:
        return True
    starred = any(joined.startswith(k[:-1]) for k in known if k.endswith("*"))
    return starred or (len(parts) > 1 and all(len(p) == 1 or p in known for p in parts))


def _is_maker(word: str, card: Cylinder) -> bool:
    """Whether a word is of its maker's name: whole, cut short, one slip away, or its initials."""
    maker, name = maker_named(card.maker), maker_named(word)
    names = [maker_named(w) for w in re.findall(r"[^\W\d_]+", card.maker or "")]
    initials = "".join(n[0] for n in names if n)
    if not maker or not name:
        return False
    cut = any(n.startswith(name) and len(name) > 1 for n in (maker, *names))
    return cut or name == initials or any(is_slip_of(name, n) for n in (maker, *names))


_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


def month_could_be(stamp: str, month: PartialDate) -> bool:
    """Whether a stamp that could not be read may be of a month, by its numbers and its words; one
    without any may be of every month."""
    words = re.findall(r"[^\W\d_]{3,}|[0-9]+", stamp.casefold())
    joined = re.search(r"(?<!\d)(\d{2})(\d{2})(?!\d)", stamp)
    if joined and [int(n) for n in joined.groups()] in (
        [month.month, month.year % 100],
        [month.year % 100, month.month],
    ):
        return True
    numbers = [int(w) for w in words if w.isdigit() and len(w) in {1, 2, 4}]
    named = {_MONTHS.index(w[:3]) + 1 for w in words if w[:3] in _MONTHS}
    months = named or {n for n in numbers if 1 <= n <= 12}
    years = {n for n in numbers if n > 12 or n == month.year % 100}
    right_year = not years or not {month.year, month.year % 100}.isdisjoint(years)
    return right_year and (not months or month.month in months)


@lru_cache(maxsize=8192)
def _read_marks(text: str, made: PartialDate | None, serial: str, names: tuple[str, ...]) -> Marks:
    return read_marks(text, first=made, serial=serial, names=names)


@lru_cache(maxsize=8192)
def _read_stamp(text: str, made: PartialDate | None, signs: tuple[str, ...]) -> Stamp:
    return read_stamp(text, made, names=signs)


def countries_named(
    card: Cylinder, marks: Marks, plain_words: Iterable[str], countries: Set[str]
) -> str:
    """Where a country may be named on a shoulder: alone, or beside the maker. In a longer name it
    is an owner's or a place's; a sign of two letters may be an inspector's, but behind `MADE IN`.
    """
    known = {plain_letters(w) for w in (*plain_words, *(card.maker or "").split())}
    chunks = re.findall(r"[^\W\d_]{3,}(?:[ ][^\W\d_]{3,})*", marks.line)
    left = (" ".join(w for w in c.split() if plain_letters(w) not in known) for c in chunks)
    names = " ; ".join(each for each in left if plain_letters(each) in countries)
    made_in = re.findall(r"\bMADE IN ([^\W\d_]+)", marks.line, re.IGNORECASE)
    dotted = re.findall(r"\bU\.?[SK]\.?(?:A\.?)?(?!\w)", marks.line, re.IGNORECASE)
    return " ; ".join((names, *made_in, *dotted))
