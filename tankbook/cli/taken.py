"""What the user analysed and wrote as something leaves, from the command line."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import partial
from typing import TYPE_CHECKING

from tankbook.cli import option_values
from tankbook.cli.answer import RequestError, shown
from tankbook.cli.recording import Bench
from tankbook.records.words import UserLevel
from tankbook.units import Percent

if TYPE_CHECKING:
    from tankbook.acts.leaving import Showing


def shown_of(
    bench: Bench,
    ids: Sequence[str],
    level: UserLevel | None,
    card: str,
    analysed: Iterable[str],
    depth: Iterable[str],
    user: str,
    sides: Sequence[str] = (),
) -> Showing:
    """What the user showed of the cylinders and sets that leave; `sides` may be named as well.

    Raises:
        LedgerError: an id is not known.
        RequestError: a text is no value, or is about something that does not leave.
    """
    from tankbook.acts.leaving import Showing
    from tankbook.records.entries import GasAnalysed

    otherwise = partial(option_values.names_none, "--analysed")
    read = dict(option_values.by_id(bench.resolve, analysed, ids, _read, otherwise))
    length = partial(option_values.length, "--depth")
    deepest = dict(option_values.by_id(bench.resolve, depth, list(read) or ids, length))
    if user and not read:
        raise RequestError("--user signs what was analysed", "give --analysed too")
    for option, named in (("--analysed", read.keys()), ("--depth", deepest.keys())):
        for id_ in named:
            if id_ not in (*ids, *sides):
                raise RequestError(f"{option}: {id_} is none of those that leave")
    for id_ in deepest.keys() - read.keys():
        if any(option_values.parted(each).text is not None for each in depth) or not read:
            raise RequestError(f"--depth: {id_} was not analysed", "give --analysed too")
    found = {
        id_: GasAnalysed(
            oxygen=oxygen,
            helium=helium,
            depth=deepest.get(id_),
            initials=user or None,
        )
        for id_, (oxygen, helium) in read.items()
    }
    return Showing(found, level, card)


def _read(text: str) -> tuple[Percent, Percent | None]:
    """`31.8`, or oxygen and helium: `18.2/44.6`."""
    parts = text.split("/")
    if len(parts) > 2:
        raise RequestError(f"--analysed: {shown(text)} is no analysis", "write 31.8 or 18.2/44.6")
    values = [option_values.percent("--analysed", each.strip()) for each in parts]
    if sum(each.percent for each in values) > 100:
        raise RequestError(f"--analysed: {shown(text)} comes to over 100 %", "oxygen comes first")
    return values[0], values[1] if len(values) > 1 else None
