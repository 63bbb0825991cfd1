"""What was done: fills by month and gas, and the work on each cylinder."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable
from enum import StrEnum

from msgspec import Struct

from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Entry, standing
from tankbook.records.words import LogAct
from tankbook.rules.costs import YEAR
from tankbook.rules.fill_history import lines_about, lines_by_cylinder, rentals_of
from tankbook.rules.months import month_of, months_until
from tankbook.rules.services import PURE_OXYGEN
from tankbook.units import PartialDate


class GasGroup(StrEnum):
    """Gases as a year's fills are counted."""

    AIR = "air"
    NITROX = "nitrox"
    OXYGEN = "oxygen"
    HELIUM = "helium mixtures"
    UNKNOWN = "not recorded"


def group_of(gas: Gas | None) -> GasGroup:
    """The group a fill is counted in."""
    if gas is None:
        return GasGroup.UNKNOWN
    if gas.is_air:
        return GasGroup.AIR
    if gas.helium_percent:
        return GasGroup.HELIUM
    return GasGroup.OXYGEN if gas.oxygen_percent >= PURE_OXYGEN else GasGroup.NITROX


class Fills(Struct, frozen=True):
    """Fills of each month by gas, oldest first. Doubles filled as one are one fill."""

    months: tuple[PartialDate, ...]
    counts: tuple[tuple[tuple[GasGroup, int], ...], ...]

    @property
    def total(self) -> int:
        """All of them."""
        return sum(count for month in self.counts for _, count in month)

    @property
    def groups(self) -> tuple[GasGroup, ...]:
        """The gases there were."""
        found = {group for month in self.counts for group, _ in month}
        return tuple(g for g in GasGroup if g in found)


def fills_by_month(book: Book, today: dt.date, months: int = YEAR) -> Fills:
    """The fills of the months that end with this one."""
    span = months_until(today, months)
    found: dict[PartialDate, Counter[GasGroup]] = {month: Counter() for month in span}
    for lines in lines_by_cylinder(book).values():
        for line in lines:
            month = month_of(line.at.date())
            if line.act is LogAct.FILL and line.at.date() <= today and month in found:
                found[month][group_of(line.gas)] += 1
    return Fills(
        span, tuple(tuple((g, found[m][g]) for g in GasGroup if found[m][g]) for m in span)
    )


class Worked(Struct, frozen=True):
    """What was done with one cylinder since a day; its set's fills and rentals count too."""

    id: str
    fills: int
    rentals: int
    visuals: int
    hydros: int
    services: int
    cleanings: int
    jobs: int

    @property
    def any(self) -> bool:
        """Whether anything was."""
        return any(
            (self.fills, self.rentals, self.visuals, self.hydros, self.services, self.cleanings,
             self.jobs)
        )  # fmt: skip


def work_by_cylinder(book: Book, today: dt.date, months: int = YEAR) -> tuple[Worked, ...]:
    """The work of the months that end with this one, the most filled first."""
    first = months_until(today, months)[0].first
    rows = (_worked(book, c, first, today) for c in book.cylinders.values())
    return tuple(sorted((w for w in rows if w.any), key=lambda w: (-w.fills, w.id)))


def _worked(book: Book, cylinder: Cylinder, first: dt.date, today: dt.date) -> Worked:
    def count(entries: Iterable[Entry]) -> int:
        return sum(first <= e.on.first <= today for e in standing(entries))

    fills = [n for n in lines_about(book, cylinder.id) if n.act is LogAct.FILL]
    return Worked(
        id=cylinder.id,
        fills=sum(first <= n.at.date() <= today for n in fills),
        rentals=count(rentals_of(book, cylinder.id)),
        visuals=count(cylinder.inspected),
        hydros=count(cylinder.requalified),
        services=count(cylinder.valve_services),
        cleanings=count(cylinder.cleaned),
        jobs=count(cylinder.jobs),
    )
