"""Values from the command line. A bare number takes the ledger's unit."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from typing import Any, NamedTuple, TypeAlias, TypeVar

from tankbook.cli.answer import RequestError, shown
from tankbook.gas import Gas
from tankbook.records.kinds import TIME_OF_DAY, pressure_within, temperature_within
from tankbook.records.words import Shore
from tankbook.units import (
    SAID_LIKE,
    GaugePressure,
    Length,
    PartialDate,
    Percent,
    Period,
    RunningTime,
    Temperature,
    Torque,
    Volume,
)
from tankbook.units.patterns import pattern

T = TypeVar("T")
W = TypeVar("W", bound=StrEnum)

DEGREES = {Shore.PSI: "degF", Shore.BAR: "degC"}
FIRST_YEAR, LAST_YEAR = 1900, 2199
"""What a day may lie in: what is worked out from it must have a date, too."""

FREE_GAS = {Shore.PSI: "cuft", Shore.BAR: "L"}
SHORT_PERIOD = pattern(r"([0-9]{1,5})([dmy])")
LETTERS = {"d": "days", "m": "months", "y": "years"}


class Said(NamedTuple):
    """An argument `NAME=TEXT`, and the whole as it was typed; without a sign the text is None."""

    whole: str
    name: str
    text: str | None


def parted(whole: str) -> Said:
    """An argument at its first `=`, without blanks around."""
    name, sign, text = whole.partition("=")
    return Said(whole, name.strip(), text.strip() if sign else None)


def pair(text: str, otherwise: RequestError, *, empty: bool = False) -> tuple[str, str]:
    """`NAME=TEXT`, of which only the text may be `empty`.

    Raises:
        RequestError: `otherwise`, where it is no such pair.
    """
    said = parted(text)
    if not said.name or said.text is None or not (said.text or empty):
        raise otherwise
    return said.name, said.text


Resolve: TypeAlias = Callable[[list[str]], list[str]]
"""Gives the whole ids that tails stand for."""


def listed(resolve: Resolve, texts: Iterable[str]) -> Iterator[tuple[str, Said]]:
    """`14=2980` or `14`, each with its whole id. Raises as `resolve`."""
    for each in map(parted, texts):
        (id_,) = resolve([each.name])
        yield id_, each


def by_id(
    resolve: Resolve,
    texts: Iterable[str],
    ids: Sequence[str],
    parse: Callable[[str], T],
    otherwise: Callable[[str], RequestError] | None = None,
    *,
    free: bool = False,
) -> Iterator[tuple[str, T]]:
    """`ID=TEXT` or `TEXT`, each as a whole id and the value of its text.

    Args:
        resolve: gives the whole ids that tails stand for.
        texts: as given.
        ids: whom a text without an id is about.
        parse: reads the text.
        otherwise: what is raised of a text without an id where it may be about one only, and there
            is not one.
        free: a text may have a sign of its own, behind words that are no id.

    Raises:
        LedgerError: an id is not known.
        RequestError: that of `otherwise` or of `parse`.
    """
    for each in map(parted, texts):
        is_id = bool(each.name) and " " not in each.name
        own = each.text is not None and (is_id or not free)
        value = parse((each.text or "") if own else each.whole.strip())
        if otherwise and not own and len(ids) != 1:
            raise otherwise(each.whole)
        yield from ((id_, value) for id_ in (resolve([each.name]) if own else ids))


def names_none(option: str, text: str) -> RequestError:
    """That a text does not say which cylinder it is about."""
    return RequestError(f"{option}: {shown(text)} names no cylinder", "write ID=TEXT")


def day(option: str, text: str) -> dt.date:
    """A day: `2026-11-25`, or in another form that can be read in one way alone."""
    try:
        if len(text) != 10:
            raise ValueError
        found = dt.date.fromisoformat(text)
    except ValueError:
        from tankbook.cli import said_dates  # what is written as in files does without

        said = said_dates.day_said(option, text)
        if said is None:
            wrong = f"{option}: {shown(text)} is not a calendar day"
            raise RequestError(wrong, said_dates.AS_WRITTEN) from None
        found = said
    return known_year(option, found)


def known_year(option: str, found: dt.date) -> dt.date:
    """A day in the years that a ledger knows.

    Raises:
        RequestError: it lies outside of them.
    """
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        said = f"{option}: year {found.year} is outside {FIRST_YEAR} to {LAST_YEAR}"
        raise RequestError(said, "check the year")
    return found


def date(option: str, text: str) -> PartialDate:
    """A day or a month: `2026-02-09`, `2026-02`, or in another form that can be read in one way
    alone."""
    try:
        return PartialDate.parse(text)
    except ValueError:
        from tankbook.cli.said_dates import date_said

        return date_said(option, text) or read(option, text, PartialDate.parse)


def date_text(option: str, text: str) -> str:
    """The same as files write it; an empty text stays one."""
    return str(date(option, text)) if text else ""


def pressure(option: str, text: str, shore: Shore | None) -> GaugePressure:
    """A gauge pressure; without a shore a bare number is refused."""
    unit = shore.value if shore else None
    return read(option, text, lambda t: pressure_within(GaugePressure.parse(t, unit)))


def temperature(option: str, text: str, shore: Shore | None) -> Temperature:
    """A temperature; a bare number is in the degrees of the ledger's shore."""
    unit = DEGREES[shore] if shore else None
    return read(option, text, lambda t: temperature_within(Temperature.parse(t, unit)))


def free_gas(option: str, text: str, shore: Shore | None) -> Volume:
    """An amount of free gas; a bare number is in cubic feet where pressures are read in psi."""
    unit = FREE_GAS[shore] if shore else None
    return read(option, text, lambda t: Volume.parse(t, unit))


def water_volume(option: str, text: str, in_ledger: bool) -> Volume:
    """A water volume; a bare number is in litres, as ledgers of either shore write it."""
    return read(option, text, lambda t: Volume.parse(t, "L" if in_ledger else None))


def bank(option: str, text: str, shore: Shore) -> tuple[Volume, GaugePressure]:
    """The water volume of a bank and what it is marked for: `4500/50L`.

    Raises:
        RequestError: it is not written so, or holds nothing.
    """
    like = f"write it as {SAID_LIKE[shore.value].new_bank}"
    marked, sign, volume = (part.strip() for part in text.partition("/"))
    if not (sign and marked and volume):
        raise RequestError(f"{option}: {shown(text)} is no bank", like)
    made = water_volume(option, volume, True), pressure(option, marked, shore)
    if any(each.si <= 0 for each in made):
        raise RequestError(f"{option}: {shown(text)} holds nothing", like)
    return made


def length(option: str, text: str) -> Length:
    """A length or a depth, with its unit."""
    return read(option, text, Length.parse)


def volume(option: str, text: str, unit: str | None) -> Volume:
    """A volume; a bare number is in `unit`, or refused where that is None."""
    return read(option, text, lambda t: Volume.parse(t, unit))


def word(option: str, text: str, words: type[W], twins: Mapping[str, str] | None = None) -> W:
    """A word of a closed set, or its twin of the other shore."""
    said = text.casefold()
    try:
        return words((twins or {}).get(said, said))
    except ValueError:
        known = ", ".join(w.value for w in words)
        raise RequestError(f"{option}: {shown(text)} is not known", f"known: {known}") from None


def yes_no(option: str, text: str) -> bool:
    """Yes or no, or the first letter of either."""
    said = text.casefold()
    if said in {"yes", "y", "no", "n"}:
        return said.startswith("y")
    raise RequestError(f"{option}: {shown(text)} is neither yes nor no")


def percent(option: str, text: str) -> Percent:
    """A percentage; a bare number will do."""
    return read(option, text, lambda t: Percent.parse(t, "%"))


def torque(option: str, text: str) -> Torque:
    """A torque, with its unit."""
    return read(option, text, Torque.parse)


def gas(option: str, text: str) -> Gas:
    """A gas by its word."""
    return read(option, text, Gas.parse)


def period(option: str, text: str) -> Period:
    """A period: `90d`, `6m`, `1y`, or in words, `90 days`."""
    short = SHORT_PERIOD.fullmatch(text)
    words = f"{short[1]} {LETTERS[short[2]]}" if short else text
    return read(option, words, Period.parse, "write it as 90d, 6m or 1y")


def time_of_day(option: str, text: str) -> dt.time:
    """A time of day: `08:30`, `8:30`, `4 pm`."""
    from tankbook.cli.said_dates import hour_said

    at: dt.time = read(option, hour_said(text), TIME_OF_DAY.parse, "write it as 08:30")
    return at


def read(option: str, text: str, parse: Callable[[str], T], mend: str = "") -> T:
    """A text read by `parse`.

    Raises:
        RequestError: it raises `ValueError`.
    """
    try:
        return parse(text)
    except ValueError as error:
        raise RequestError(f"{option}: {error}", mend or getattr(error, "mend", "")) from None


_KINDS: Mapping[type, Callable[[str, str], Any]] = {
    dt.date: day,
    PartialDate: date,
    Percent: percent,
    RunningTime: lambda option, text: read(option, text, lambda t: RunningTime.parse(t, "h")),
    Period: period,
    bool: yes_no,
}
_BY_SHORE: Mapping[type, Callable[[str, str, Shore | None], Any]] = {
    GaugePressure: pressure,
    Temperature: temperature,
}


def is_of_shore(kind: type) -> bool:
    """Whether a bare number of this kind takes the ledger's unit."""
    return kind in _BY_SHORE


def value(kind: type, option: str, text: str, shore: Shore | None = None) -> Any:
    """A text as a value of its kind: a quantity, a date, a word of a closed set, a text.

    Raises:
        RequestError: it is none.
    """
    if kind is str:
        return text
    if issubclass(kind, StrEnum):
        return word(option, text, kind)
    if kind in _BY_SHORE:
        return _BY_SHORE[kind](option, text, shore)
    if kind in _KINDS:
        return _KINDS[kind](option, text)
    parse: Callable[[str], Any] = kind.parse  # type: ignore[attr-defined]
    return read(option, text, parse)
