"""The shapes of stamped dates: first tests, retests, what stands after a date, ends of life.

- Requalification stamp: 49 CFR 180.213(d), month, RIN, year, then a suffix of paragraph (f).
- Month and year of the maker's first test: 178.35(f)(1)(iv). A blank between them leaves it open.
- FIN before year and month, the end of a composite's life: from memory.

A number with a point, such as 12.2, is a measure whose unit is not marked, and never a date.
"""

from __future__ import annotations

import re
from dataclasses import replace

from tankbook.records.marked import SUFFIXES, MarkKind, Retest
from tankbook.records.markreader import END, RIN, Reader, Take, pattern
from tankbook.records.stampdate import month_and_year

_FIRST_OPEN = "what stands before it is in doubt: the first test, or a later one"


def _retest(reader: Reader, found: re.Match[str]) -> bool:
    """`09 A123 26`, or joined `09A12326`: month, RIN, year (180.213(d))."""
    month, rin = int(found["month"]), found["rin"].upper()
    joined = found.end("month") == found.start("rin")
    if not 1 <= month <= 12:
        note = f"shaped as a retest, but there is no month {month}"
        if not joined:
            reader.add(MarkKind.UNREAD, *found.span(), note=note)
        return not joined
    if joined and not (
        reader.has(MarkKind.SERIAL) or reader.has(MarkKind.FIRST_TEST) or reader.first
    ):
        note = f"a serial number, or a retest of month {month}, RIN {rin}, year {found['year']}"
        reader.add(MarkKind.UNREAD, *found.span(), note=note)
        return True
    placed = reader.century(retest=True, rin=True).place(month, int(found["year"]))
    when = reader.by_now(placed, retest=True)
    value = Retest(when.month, when.year, rin, (), when)
    reader.add(MarkKind.RETEST, *found.span(), value, when.note)
    return True


def _joined_date(reader: Reader, found: re.Match[str]) -> bool:
    """`09A21`: month, inspector's mark, year, as makers stamp the first test."""
    if not 1 <= int(found["month"]) <= 12:
        return False
    if reader.has(MarkKind.FIRST_TEST):
        note = "a serial number, or a second date with a letter; a retest has a letter and 3 digits"
        reader.add(MarkKind.UNREAD, *found.span(), note=note)
        return True
    if re.match(r"[0-9]+ [A-Z]", found[0], re.I) and _A_YEAR.match(reader.line, found.end()):
        note = "a date with a letter, or a retest whose RIN is misread: one has a letter, 3 digits"
        reader.add(MarkKind.UNREAD, *found.span(), note=note)
        reader.missed_date = True
        return True
    placed = reader.century(retest=False).place(int(found["month"]), int(found["year"]))
    after_doubt = reader.missed_date or reader.has(MarkKind.DATE)
    when = reader.by_now(placed, retest=False)
    notes = [f"inspector's mark {found['mark']} between month and year", when.note]
    notes += [_FIRST_OPEN] if after_doubt else []
    kind = MarkKind.DATE if after_doubt else MarkKind.FIRST_TEST
    reader.add(kind, *found.span(), when, "; ".join(filter(None, notes)), doubt=after_doubt)
    return True


def _plain_date(reader: Reader, found: re.Match[str]) -> bool:
    """`5-95`, `06/21`, `2021/06`: a month and a year with nothing between."""
    one, two = found["one"], found["two"]
    if found["joint"] == "." and max(len(one), len(two)) < 4:
        note = "a measure without its unit: a number with a point is not taken for a date"
        reader.add(MarkKind.UNREAD, *found.span("bare"), note=note)
        return True
    kind = _kind_of_plain(reader)
    first = kind is MarkKind.FIRST_TEST
    # US makers stamp month and year in this order, 178.35(f)(1)(iv); test houses abroad do not all
    when = month_and_year(
        one,
        two,
        reader.century(retest=not first),
        month_first=first and reader.american,
    )
    if when is None:
        return False
    when = reader.by_now(when, retest=not first)
    if kind is MarkKind.RETEST:
        value = Retest(when.month, when.year, None, (), when)
        reader.add(kind, *found.span(), value, when.note)
        return True
    open_first = kind is MarkKind.DATE and bool(reader.specs)
    notes = [when.note, _FIRST_OPEN if open_first else ""]
    reader.add(kind, *found.span(), when, "; ".join(filter(None, notes)), doubt=open_first)
    return True


def _kind_of_plain(reader: Reader) -> MarkKind:
    """On a line with a specification the first date is the maker's; alone, only a known one tells.

    Once a date was missed, the next one may be the first or a later one.
    """
    if reader.has(MarkKind.FIRST_TEST):
        settled = any(not t.open_date for t in reader.tokens if t.kind is MarkKind.FIRST_TEST)
        return MarkKind.RETEST if settled or not reader.missed_date else MarkKind.DATE
    if not reader.specs:
        return MarkKind.RETEST if reader.first is not None else MarkKind.DATE
    late = reader.missed_date or reader.has(MarkKind.DATE) or reader.has(MarkKind.RETEST)
    return MarkKind.DATE if late else MarkKind.FIRST_TEST


def _apart(reader: Reader, found: re.Match[str]) -> bool:
    """`3 67`: two numbers that may be a month and a year."""
    if not 1 <= int(found["month"]) <= 12:
        return False
    note = "a month and a year with a blank between them, or two other numbers"
    reader.add(MarkKind.UNREAD, *found.span(), note=note)
    reader.missed_date = True
    return True


def _life_end(reader: Reader, found: re.Match[str]) -> bool:
    """`FIN 2030/05`: the year and month in which its life ends."""
    when = None
    if found["one"]:
        century = reader.century(retest=True)
        when = month_and_year(found["one"], found["two"], century, month_first=False)
    if when is None:
        note = "FIN stands before the year and month in which its life ends"
        reader.add(MarkKind.UNREAD, *found.span(), note=note)
    else:
        reader.add(MarkKind.LIFE_END, *found.span(), when, when.note)
    return True


def _named_otherwise(reader: Reader, found: re.Match[str]) -> bool:
    """`EXP 2030/05`: a word before a date that makes it no date of a test."""
    note = "a date with a word that makes it no date of a test; what it says is not known"
    reader.add(MarkKind.UNREAD, *found.span(), note=note)
    return True


def _suffix(reader: Reader, found: re.Match[str]) -> bool:
    """A suffix belongs to the date before it; anywhere else its letter means nothing here."""
    dated, text = reader.dated, found[0].upper()
    if dated is None:
        return False
    reader.add(SUFFIXES[text], *found.span(), text)
    if isinstance(dated.value, Retest):
        value = replace(dated.value, suffixes=(*dated.value.suffixes, text))
        reader.tokens[reader.tokens.index(dated)] = replace(dated, value=value)
    return True


_YEAR = "(?P<year>[0-9]{2})"
_MONTH = "(?P<month>[0-9]{1,2})"
_SUFFIX = "UE|VE|AE|FS|S|E|F|X"
_AFTER_YEAR = rf"(?={END}|[+*★☆]|(?:{_SUFFIX}){END})"
_A_YEAR = pattern(rf"\s[0-9]{{2}}{_AFTER_YEAR}(?!\s*(?:{RIN})\s*[0-9]{{2}}{_AFTER_YEAR})")
_UNITS = "L|LTR|LITRES?|KGS?|LBS?|MM|BAR|PSIG?|MPA"
_NUMBERS = "(?P<one>[0-9]{4}|[0-9]{1,2})(?P<joint>[-/.])(?P<two>[0-9]{4}|[0-9]{1,2})"

SHAPES: tuple[tuple[re.Pattern[str], Take], ...] = (
    (pattern(rf"FIN(?:\s?[:=]?\s?(?:{_NUMBERS}|[0-9][^\s,;]*))?{END}"), _life_end),
    (
        pattern(rf"(?:EXP|EOL|END|LIFE|UNTIL|NEXT|DUE)\s?[:=]?\s?[0-9]+[-/.][0-9]+{END}"),
        _named_otherwise,
    ),
    (pattern(rf"{_MONTH}\s*(?P<rin>{RIN})\s*{_YEAR}{_AFTER_YEAR}"), _retest),
    (pattern(rf"{_MONTH} ?(?P<mark>[A-Z]{{1,2}}) ?{_YEAR}{_AFTER_YEAR}"), _joined_date),
    (
        pattern(
            rf"{_MONTH}\s(?:[0-9]{{2}}|(?:19|20)[0-9]{{2}}){_AFTER_YEAR}"
            rf"(?!\s?(?:{_UNITS}){END})(?!\s*(?:{RIN})\s*[0-9]{{2}}{_AFTER_YEAR})"
        ),
        _apart,
    ),
    (pattern(rf"(?P<bare>{_NUMBERS}){_AFTER_YEAR}"), _plain_date),
    (pattern(rf"(?:{_SUFFIX}){END}|[+*★☆]"), _suffix),
)
