"""What the commands of the fill log share: ids with pressures, and the moment."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Annotated, TypeVar

from tankbook.acts.options import Opt
from tankbook.cli import option_values
from tankbook.cli.answer import RequestError, shown
from tankbook.cli.local import moment_of
from tankbook.cli.options import Common
from tankbook.units import Temperature
from tankbook.units.patterns import pattern

if TYPE_CHECKING:
    from tankbook.cli.recording import Bench
    from tankbook.units import GaugePressure, Percent

T = TypeVar("T")

MOMENT = Opt("TIME", "When: 14:30, or a time with its date and offset; now, if not said.")
Moment = Annotated[dt.datetime, MOMENT]
"""The moment of an act of the fill log."""

_DEGREES = Opt("TEMPERATURE", "Of the cylinder when its gauge was read.")
Degrees = Annotated[Temperature | None, _DEGREES]
DegreesText = Annotated[str, _DEGREES]
Oxygen = Annotated[Sequence[str], Opt("[ID=]PERCENT", "Oxygen as analysed, of all or of one.")]
Helium = Annotated[Sequence[str], Opt("[ID=]PERCENT", "Helium as analysed, of all or of one.")]
Analyst = Annotated[str, Opt("XX", "Initials of who analysed.")]


_MOMENT = pattern(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(:[0-9]{2})?(Z|[+-][0-9]{2}:[0-9]{2})?"
)
"""A day and an hour, to the minute or the second, with its UTC offset; of one without, that is
said."""


def moment(bench: Bench, text: str) -> dt.datetime:
    """The moment of the act.

    Raises:
        RequestError: the time cannot be understood, lies ahead, or is missing where a day is named.
    """
    from tankbook.cli.open_ledger import moment_asked
    from tankbook.cli.said_dates import hour_said

    if not text:
        if bench.dated:
            raise RequestError("--on names a day and not the time", "give it with --at 14:30")
        return bench.now
    try:
        if _MOMENT.fullmatch(text):
            at = dt.datetime.fromisoformat(text)
        else:
            hour = hour_said(text)
            clock = dt.time.fromisoformat(hour)
            if clock.tzinfo or len(hour) not in (5, 8):
                raise ValueError
            at = moment_of("--at", bench.today, clock)
    except ValueError:
        mend = "write 14:30, or 2026-11-25T14:30:00+01:00"
        raise RequestError(f"--at: {shown(text)} is not a time", mend) from None
    if at.tzinfo is None:
        raise RequestError(f"--at: {shown(text)} lacks its UTC offset", "as in 14:30:00+01:00")
    option_values.known_year("--at", at.date())
    now = moment_asked(Common())  # the clock, whatever day is asked about
    if at.date() > bench.today or at > now:
        raise RequestError(f"--at: {text} lies ahead", f"it is {now:%H:%M} on {now.date()}")
    return at


def left_at(bench: Bench, text: str) -> dt.datetime | None:
    """The moment something leaves: as said, or by the clock; of another day nobody knows it.

    Raises:
        RequestError: as `moment`.
    """
    if text:
        return moment(bench, text)
    return bench.now if bench.at else None


def pressures(
    bench: Bench, option: str, texts: Iterable[str], else_: str = ""
) -> list[tuple[str, GaugePressure]]:
    """Ids with a pressure each: `14=2980`, or `14` where `else_` holds for all.

    Raises:
        LedgerError: an id is not known.
        RequestError: a pressure is missing or cannot be understood.
    """
    found = []
    for id_, said in option_values.listed(bench.resolve, bench.spread(texts)):
        written = said.text or else_
        if not written:
            mend = f"write {said.name}=2980, or give {option} for all"
            raise RequestError(f"{said.name}: to what pressure is not said", mend)
        found.append((id_, bench.pressure(said.name if said.text else option, written)))
    return found


def per_cylinder(
    bench: Bench,
    option: str,
    texts: Iterable[str],
    ids: Sequence[str],
    parse: Callable[[str], T],
) -> dict[str, T]:
    """A value for each of `ids`, from `14=500` or from one that holds for all.

    Raises:
        LedgerError: an id is not known.
        RequestError: an id is none of `ids`, or a value cannot be understood.
    """
    found: dict[str, T] = {}
    for id_, value in option_values.by_id(bench.resolve, bench.spread(texts), ids, parse):
        if id_ not in ids:
            raise RequestError(f"{option}: {id_} is none of those named")
        found[id_] = value
    return found


def analysed(
    bench: Bench, o2: Iterable[str], he: Iterable[str], ids: Sequence[str]
) -> tuple[dict[str, Percent], dict[str, Percent]]:
    """The analysed oxygen and helium of each of `ids`. Raises as `per_cylinder`."""
    oxygen = per_cylinder(bench, "--o2", o2, ids, lambda t: option_values.percent("--o2", t))
    helium = per_cylinder(bench, "--he", he, ids, lambda t: option_values.percent("--he", t))
    return oxygen, helium


def began(
    bench: Bench, texts: Iterable[str], reached: list[tuple[str, GaugePressure]]
) -> dict[str, GaugePressure]:
    """The pressures before, from `--from`. Raises as `per_cylinder`."""
    ids = [id_ for id_, _ in reached]
    return per_cylinder(bench, "--from", texts, ids, lambda t: bench.pressure("--from", t))
