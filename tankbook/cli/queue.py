"""The cylinders that a session is asked for: named, from a file, or chosen by what is recorded."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from msgspec import Struct

from tankbook.cli import option_values
from tankbook.cli.answer import RequestError
from tankbook.cli.open_ledger import Desk

if TYPE_CHECKING:
    from tankbook.cli.list_filter import ListCondition
    from tankbook.filling.wish import QueueEntry
    from tankbook.gas import Gas
    from tankbook.records.cylinder import Cylinder
    from tankbook.units import GaugePressure

T = TypeVar("T")


def named(desk: Desk, texts: list[str]) -> Iterator[QueueEntry]:
    """`14=500`, or `14` with the pressure on record. Raises `LedgerError`, `RequestError`."""
    from tankbook.filling.wish import QueueEntry
    from tankbook.units import SAID_LIKE

    like = SAID_LIKE[desk.shore.value].empty
    for id_, said in option_values.listed(desk.resolve, desk.spread(texts)):
        if said.text == "":
            raise RequestError(
                f"{said.whole}: what its gauge shows is not said", f"write {said.name}={like}"
            )
        shown = option_values.pressure(said.name, said.text, desk.shore) if said.text else None
        yield QueueEntry(id_, shown)


def filed(desk: Desk, file: str) -> Iterator[QueueEntry]:
    """The cylinders of a file. Raises `LedgerError`, `RequestError` with the line at fault."""
    from tankbook.filling.wish import QueueEntry
    from tankbook.ledger.errors import LedgerError
    from tankbook.ledger.keyed import read_queue

    for line in read_queue(Path(file)):
        try:
            (id_,) = desk.resolve([line.id])
        except LedgerError as error:
            raise RequestError(f"{line.where}: {error}") from None
        said = line.pressure
        yield QueueEntry(
            id_,
            option_values.pressure(f"{line.where}: {line.id}", said, desk.shore) if said else None,
        )


class Chosen(Struct, frozen=True):
    """The cylinders that fit a filter, and those that fit it but are no matter for this session."""

    entries: tuple[QueueEntry, ...]
    passed_over: tuple[tuple[str, str], ...]


def chosen(
    desk: Desk, conditions: list[ListCondition], use: str, below: GaugePressure | None, gas: Gas
) -> Chosen:
    """Cylinders and doubles that fit, in service, for this gas, and not full (or below `below`).

    What is away, held or labelled for another gas is passed over and named, not refused.
    """
    from tankbook.filling.wish import QueueEntry

    book = desk.book
    paired = {m for doubles in book.sets.values() for m in doubles.cylinders}
    subjects = [(c.id, [c]) for c in book.cylinders.values() if c.id not in paired]
    for name, doubles in book.sets.items():
        sides = [book.cylinders[m] for m in doubles.cylinders if m in book.cylinders]
        if sides and (not use or doubles.use is None or doubles.use.value == use):
            subjects.append((name, sides))
    entries, passed = [], []
    for id_, sides in subjects:
        if not all(_fits(desk, side, conditions) for side in sides):
            continue
        if not _wants(desk, id_, below):
            continue
        why = _elsewhere(desk, id_, sides, gas)
        if why:
            passed.append((id_, why))
        else:
            entries.append(QueueEntry(id_))
    return Chosen(tuple(entries), tuple(passed))


def _fits(desk: Desk, cylinder: Cylinder, conditions: list[ListCondition]) -> bool:
    from tankbook.output.listing import Listed
    from tankbook.rules.fill_history import contents_of
    from tankbook.rules.status import status_of
    from tankbook.rules.volume import size_word

    gas = contents_of(desk.book, cylinder.id).gas
    size, status = size_word(desk.book, cylinder), status_of(desk.book, cylinder).value
    row = Listed(cylinder, size, str(gas) if gas else "", status, fillable=False, ready=False)
    return all(test.holds(row) for test in conditions)


def _wants(desk: Desk, id_: str, below: GaugePressure | None) -> bool:
    """Whether it holds less than asked, or is not full. What nobody has read wants a reading."""
    from tankbook.rules.fill_history import contents_of
    from tankbook.rules.gate import may_fill
    from tankbook.rules.rental import is_full

    held = contents_of(desk.book, id_)
    if held.pressure is None:
        return True
    if below is not None:
        return held.pressure < below
    answer = may_fill(desk.book, id_, desk.today, held.gas, station=False)
    return not is_full(desk.book, answer, held)


def _elsewhere(desk: Desk, id_: str, sides: list[Cylinder], gas: Gas) -> str:
    from tankbook.records.words import Service, Status
    from tankbook.rules.fill_history import contents_of
    from tankbook.rules.rental import open_rental
    from tankbook.rules.status import status_of

    for side in sides:
        status = status_of(desk.book, side)
        if status is not Status.IN_SERVICE:
            return status.value.replace("-", " ")
    doubles = desk.book.sets.get(id_)
    if doubles is not None and open_rental(doubles):
        return "out"
    held = contents_of(desk.book, id_).gas
    if held is not None and held != gas:
        return f"holds {held}"
    labelled = sides[0].service or Service.AIR
    if (labelled is Service.AIR) != gas.is_air:
        return f"labelled for {labelled.value}"
    return ""


def one_each(option: str, texts: list[str], example: str) -> Iterator[tuple[str, str]]:
    """`NAME=VALUE` options, each name once. Raises `RequestError`."""
    seen: set[str] = set()
    for text in texts:
        wrong = RequestError(f"{option}: {text!r} is not understood", f"write it as {example}")
        name, said = option_values.pair(text, wrong)
        if name in seen:
            raise RequestError(f"{option}: {name} is given twice", "give it once")
        seen.add(name)
        yield name, said


def values(
    option: str, texts: list[str], example: str, parse: Callable[[str], T]
) -> Mapping[str, T]:
    """`NAME=VALUE` options with their values read. Raises `RequestError`."""
    return {name: parse(said) for name, said in one_each(option, texts, example)}
