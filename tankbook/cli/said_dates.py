"""Days and hours as people write them. What can be read in two ways is not guessed: it is refused,
and both readings are named. In files a day is written one way alone."""

from __future__ import annotations

import datetime as dt

from tankbook.cli.answer import RequestError
from tankbook.units import PartialDate, doubt_of
from tankbook.units.patterns import pattern

AS_WRITTEN = "write it as 2026-11-25"
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_FULL = (
    "january february march april may june july august september october november december"
).split()
_YEAR_FIRST = pattern(r"([0-9]{4})[-/.]([0-9]{1,2})[-/.]([0-9]{1,2})")
_YEAR_LAST = pattern(r"([0-9]{1,2})[-/.]([0-9]{1,2})[-/.]([0-9]{4})")
_MONTH_OF = pattern(r"([0-9]{1,2})[-/.]([0-9]{4})")
_DAY_WORD = pattern(r"([0-9]{1,2})\.?[ -]([A-Za-z]{3,9})\.?[ -]([0-9]{4})")
_WORD_DAY = pattern(r"([A-Za-z]{3,9})\.? ([0-9]{1,2}),? ([0-9]{4})")
_WORD_YEAR = pattern(r"([A-Za-z]{3,9})\.?[ -]([0-9]{4})")
_HOUR = pattern(r"([0-9]{1,2}):([0-9]{2})")
_HALF_DAY = pattern(r"([0-9]{1,2})(?::([0-9]{2}))? ?([AaPp])\.?[Mm]\.?")


def day_said(option: str, text: str) -> dt.date | None:
    """A day in another form than that of the files: `today`, `25 Nov 2026`, `11/25/2026`. None
    where it is none.

    Raises:
        RequestError: it can be two days.
    """
    said = " ".join(text.split())
    back = {"today": 0, "yesterday": 1}.get(said.casefold())
    if back is not None:
        from tankbook.cli.open_ledger import clock

        return clock() - dt.timedelta(days=back)
    if found := _YEAR_FIRST.fullmatch(said):
        return _day(int(found[1]), int(found[2]), int(found[3]))
    if found := _DAY_WORD.fullmatch(said):
        return _day(int(found[3]), _month(found[2]), int(found[1]))
    if found := _WORD_DAY.fullmatch(said):
        return _day(int(found[3]), _month(found[1]), int(found[2]))
    if found := _YEAR_LAST.fullmatch(said):
        one, other, year = int(found[1]), int(found[2]), int(found[3])
        read = {_day(year, other, one), _day(year, one, other)} - {None}
        if len(read) == 1:
            return read.pop()
    if doubt := doubt_of(said, day=True):
        raise RequestError(f"{option}: {doubt}", doubt.mend)
    return None


def date_said(option: str, text: str) -> PartialDate | None:
    """A day or a month in another form than that of the files: `Nov 2026`, `11/2026`. None where it
    is none.

    Raises:
        RequestError: it can be two days.
    """
    said = " ".join(text.split())
    if found := _WORD_YEAR.fullmatch(said):
        return _in_month(int(found[2]), _month(found[1]))
    if found := _MONTH_OF.fullmatch(said):
        return _in_month(int(found[2]), int(found[1]))
    day = day_said(option, text)
    return PartialDate.of(day) if day else None


def hour_said(text: str) -> str:
    """A time of day as files have it, of `9:00` or `4:30 pm`; any other text as it is."""
    said = " ".join(text.split())
    if found := _HOUR.fullmatch(said):
        return f"{int(found[1]):02}:{found[2]}"
    found = _HALF_DAY.fullmatch(said)
    if found is None or not 1 <= int(found[1]) <= 12:
        return text
    later = 12 if found[3].casefold() == "p" else 0
    return f"{int(found[1]) % 12 + later:02}:{found[2] or '00'}"


def _month(word: str) -> int:
    """The number of a month by its name or the first three letters; 0 for no month."""
    said = word.casefold()
    if said == "sept":
        return 9
    names = _MONTHS if len(said) == 3 else _FULL
    return names.index(said) + 1 if said in names else 0


def _day(year: int, month: int, day: int) -> dt.date | None:
    try:
        return dt.date(year, month, day)
    except ValueError:
        return None


def _in_month(year: int, month: int) -> PartialDate | None:
    try:
        return PartialDate(year, month)
    except ValueError:
        return None
