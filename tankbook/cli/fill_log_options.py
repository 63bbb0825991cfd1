"""What the commands of the fill log share: ids with pressures, and the moment."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from tankbook.cli.answer import RequestError, shown
from tankbook.cli.local import moment_of
from tankbook.cli.options import Common

if TYPE_CHECKING:
    from tankbook.cli.recording import Asked, Bench
    from tankbook.units import GaugePressure, Percent

T = TypeVar("T")

At = Annotated[
    str,
    typer.Option(
        "--at",
        metavar="TIME",
        help="When: 14:30, or a time with its date and offset; now, if not said.",
        show_default=False,
    ),
]
Degrees = Annotated[
    str,
    typer.Option(
        "--temperature",
        metavar="TEMPERATURE",
        help="Of the cylinder when its gauge was read.",
        show_default=False,
    ),
]
Note = Annotated[
    str,
    typer.Option("--note", metavar="TEXT", help="Anything worth knowing.", show_default=False),
]


Oxygen = Annotated[
    list[str] | None,
    typer.Option(
        "--o2",
        metavar="[ID=]PERCENT",
        help="Oxygen as analysed, of all or of one.",
        show_default=False,
    ),
]
Helium = Annotated[
    list[str] | None,
    typer.Option(
        "--he",
        metavar="[ID=]PERCENT",
        help="Helium as analysed, of all or of one.",
        show_default=False,
    ),
]
Analyst = Annotated[
    str,
    typer.Option(
        "--analysed-by", metavar="XX", help="Initials of who analysed.", show_default=False
    ),
]


def moment(given: Asked, bench: Bench, text: str) -> dt.datetime:
    """The moment of the act.

    Raises:
        RequestError: the time cannot be understood, lies ahead, or is missing where a day is named.
    """
    from tankbook.cli import option_values
    from tankbook.cli.open_ledger import moment_asked

    if not text:
        if given.common.on:
            raise RequestError("--on names a day and not the time", "give it with --at 14:30")
        return bench.now
    try:
        if len(text) == 25:
            at = dt.datetime.fromisoformat(text)
        else:
            clock = dt.time.fromisoformat(text)
            if clock.tzinfo or len(text) not in (5, 8):
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


def pressures(
    bench: Bench, option: str, texts: list[str], else_: str = ""
) -> list[tuple[str, GaugePressure]]:
    """Ids with a pressure each: `14=2980`, or `14` where `else_` holds for all.

    Raises:
        LedgerError: an id is not known.
        RequestError: a pressure is missing or cannot be understood.
    """
    from tankbook.cli import option_values

    found = []
    for text in texts:
        name, _, said = text.partition("=")
        (id_,) = bench.resolve([name.strip()])
        written = said.strip() or else_
        if not written:
            mend = f"write {name}=2980, or give {option} for all"
            raise RequestError(f"{name}: to what pressure?", mend)
        found.append(
            (id_, option_values.pressure(name if said else option, written, bench.desk.shore))
        )
    return found


def per_cylinder(
    bench: Bench,
    option: str,
    texts: list[str],
    ids: Sequence[str],
    parse: Callable[[str], T],
) -> dict[str, T]:
    """A value for each of `ids`, from `14=500` or from one that holds for all.

    Raises:
        LedgerError: an id is not known.
        RequestError: an id is none of `ids`, or a value cannot be understood.
    """
    found: dict[str, T] = {}
    for text in texts:
        name, sign, said = text.partition("=")
        value = parse((said if sign else name).strip())
        for id_ in bench.resolve([name.strip()]) if sign else ids:
            if id_ not in ids:
                raise RequestError(f"{option}: {id_} is none of those named")
            found[id_] = value
    return found


def analysed(
    bench: Bench, o2: list[str] | None, he: list[str] | None, ids: Sequence[str]
) -> tuple[dict[str, Percent], dict[str, Percent]]:
    """The analysed oxygen and helium of each of `ids`. Raises as `per_cylinder`."""
    from tankbook.cli import option_values

    oxygen = per_cylinder(bench, "--o2", o2 or [], ids, lambda t: option_values.percent("--o2", t))
    helium = per_cylinder(bench, "--he", he or [], ids, lambda t: option_values.percent("--he", t))
    return oxygen, helium


def began(
    bench: Bench, texts: list[str], reached: list[tuple[str, GaugePressure]]
) -> dict[str, GaugePressure]:
    """The pressures before, from `--from`. Raises as `per_cylinder`."""
    from tankbook.cli import option_values

    ids = [id_ for id_, _ in reached]
    shore = bench.desk.shore
    return per_cylinder(
        bench, "--from", texts, ids, lambda t: option_values.pressure("--from", t, shore)
    )
