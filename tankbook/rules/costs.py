"""What tests, inspections and upkeep will cost in the months ahead.

Each obligation falls due, is taken to be met on its last day, and falls due again a period later.
A month in which two fall due for one cylinder is met by one act where the rules let it: a hydro
that counts as a visual spares the visual.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection, Iterable, Iterator
from decimal import Decimal
from enum import StrEnum
from functools import partial
from itertools import groupby

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, is_customers
from tankbook.records.rulerow import Obligation, RuleRow
from tankbook.records.station import Station
from tankbook.rules import meter, running
from tankbook.rules.answers import Due, DueKind, State
from tankbook.rules.months import month_of, months_from
from tankbook.rules.schedule import ENDS, acts_of, due, lasts_until
from tankbook.rules.sparing import coming
from tankbook.units import Money, PartialDate, Period

YEAR = 12
"""The months looked ahead unless said otherwise."""

PRICED_AS = {Obligation.REQUALIFICATION: "hydro"}
"""The settings' price of an obligation, where it is not called the same."""

COUNTED = (
    Obligation.REQUALIFICATION,
    Obligation.VISUAL,
    Obligation.EDDY_CURRENT,
    Obligation.AIR_TEST,
    Obligation.FILTER,
    Obligation.GAUGE_CHECK,
    Obligation.WHIP_CHECK,
    Obligation.RELIEF_CHECK,
    Obligation.UPKEEP,
    Obligation.BANK_TEST,
    Obligation.EXAMINATION,
    Obligation.CERTIFICATION,
)
"""What is counted, in the order it is told."""


class Need(Struct, frozen=True):
    """One act that will be needed: of what, by which day, and at what price.

    `item` is the obligation as it stands today, None of what comes again. What is overdue, or not
    on record, is counted in this month. `guessed` marks a filter or upkeep by running hours, whose
    day is reckoned from the hours of the last years.
    """

    kind: DueKind
    id: str
    obligation: Obligation
    by: dt.date
    item: Due | None
    price: Money | None
    guessed: bool = False

    @property
    def late(self) -> bool:
        """Whether it is overdue, or not on record, already."""
        return self.item is not None and self.item.is_open

    @property
    def state(self) -> State:
        """How it stands today; what comes again is met until then."""
        return self.item.state if self.item is not None else State.OK

    @property
    def due(self) -> dt.date | None:
        """The last day that what is on record holds, also where that is past; of what comes again
        the day it is reckoned for, and None where nothing is on record."""
        return self.item.next if self.item is not None else self.by

    @property
    def month(self) -> PartialDate:
        """The month it is counted in."""
        return month_of(self.by)


class Cost(Struct, frozen=True):
    """What acts of one kind cost together.

    `each` is the price of one; None without a price. `total` has a sum for each currency.
    """

    obligation: Obligation
    count: int
    each: Money | None
    total: Money | None


class LeftOut(StrEnum):
    """Why an obligation of today has no act in the months ahead."""

    CUSTOMER = "of a customer's cylinder"
    NO_RULE = "no rule row in force speaks of it"
    ENDS = "it ends, and is not done again"
    NOT_COUNTED = "it has no act of its own"
    SPARED = "an act before its turn meets it"
    LIFE_OVER = "the life of the cylinder is over before"
    LATER = "it falls due later"
    NO_END = "it has no end"
    NO_DAY = "no day is known for it"


class CostsAhead(Struct, frozen=True):
    """The months ahead, everything needed in them, and each obligation of today that has no act
    there, with the reason."""

    months: tuple[PartialDate, ...]
    needs: tuple[Need, ...]
    left_out: tuple[tuple[Due, LeftOut], ...]

    @property
    def dues(self) -> tuple[Due, ...]:
        """Every obligation of today, whether an act is needed for it or not."""
        met = (n.item for n in self.needs if n.item is not None)
        return (*met, *(item for item, _ in self.left_out))

    @property
    def customers(self) -> int:
        """How many customers' cylinders were left out."""
        return len({d.id for d, why in self.left_out if why is LeftOut.CUSTOMER})

    @property
    def unanswered(self) -> tuple[Due, ...]:
        """What no rule row in force answers."""
        return tuple(d for d, why in self.left_out if why is LeftOut.NO_RULE)

    @property
    def last_day(self) -> dt.date:
        """The last day looked at."""
        return self.months[-1].last

    @property
    def unpriced(self) -> tuple[Obligation, ...]:
        """The obligations that the settings give no price for."""
        found = {n.obligation for n in self.needs if n.price is None}
        return tuple(o for o in COUNTED if o in found)


def costs_ahead(
    book: Book, today: dt.date, months: int = YEAR, *, customers: bool = False
) -> CostsAhead:
    """What will be needed in this month and those that follow, `months` in all (1 to 120).

    Customers' cylinders are left out unless asked for: their owners pay. So is what no rule row in
    force answers, which is handed back beside it.
    """
    span = months_from(today, months)
    end = span[-1].last
    dues = [d for d in due(book, today) if d.kind is not DueKind.SET]
    theirs = {n for n, c in book.cylinders.items() if is_customers(c) and not customers}
    counted = [d for d in dues if not (d.kind is DueKind.CYLINDER and d.id in theirs)]
    needs = list(_of_cylinders(book, counted, today, end))
    for item in counted:
        if item.kind is not DueKind.CYLINDER:
            needs += _of_part(book, item, today, end)
    order = {o: place for place, o in enumerate(COUNTED)}
    met = {n.item.owner for n in needs if n.item is not None}
    lives = {d.id: d.next for d in dues if d.obligation is Obligation.SERVICE_LIFE and d.next}
    left_out = (
        (d, _why_left_out(book, d, theirs, lives.get(d.id), today, end))
        for d in dues
        if d.owner not in met
    )
    return CostsAhead(
        span,
        tuple(sorted(needs, key=lambda n: (n.by, order[n.obligation], n.id))),
        tuple(left_out),
    )


def _why_left_out(
    book: Book,
    item: Due,
    theirs: Collection[str],
    life: dt.date | None,
    today: dt.date,
    end: dt.date,
) -> LeftOut:
    """Why an obligation of today has no act in the months ahead, whose last day is `end`."""
    if item.kind is DueKind.CYLINDER and item.id in theirs:
        return LeftOut.CUSTOMER
    if item.row is None:
        return LeftOut.NO_RULE
    if item.obligation in ENDS:
        return LeftOut.ENDS
    if item.obligation not in COUNTED:
        return LeftOut.NOT_COUNTED
    if item.next is not None and item.next > end:
        return LeftOut.LATER  # whatever would meet it before its turn
    if item.spared is not None:
        return LeftOut.SPARED
    if life is not None and life < (item.next or today):
        return LeftOut.LIFE_OVER
    if item.next is None and item.hours_left is None:
        return LeftOut.NO_END if item.state is State.OK else LeftOut.NO_DAY
    by = item.next or _by_hours(item, today)
    return LeftOut.NO_DAY if by is None else LeftOut.LATER


def price_of(book: Book, obligation: Obligation) -> Money | None:
    """The settings' price of one act."""
    return book.settings.prices.get(PRICED_AS.get(obligation, obligation.value))


def _of_cylinders(book: Book, dues: Iterable[Due], today: dt.date, end: dt.date) -> Iterator[Need]:
    mine = sorted((d for d in dues if d.kind is DueKind.CYLINDER), key=lambda d: d.id)
    for id_, items in groupby(mine, key=lambda d: d.id):
        yield from cylinder_needs(book, book.cylinders[id_], tuple(items), today, end)


def cylinder_needs(
    book: Book, cylinder: Cylinder, items: tuple[Due, ...], today: dt.date, end: dt.date
) -> Iterator[Need]:
    """What one cylinder will need up to a day, and nothing after its service life.

    `items` are its obligations as they stand today.
    """
    for act in coming(items, *acts_of(book, cylinder), today):
        if act.by > end:
            return
        price = price_of(book, act.obligation)
        yield Need(DueKind.CYLINDER, cylinder.id, act.obligation, act.by, act.item, price)


def _of_part(book: Book, item: Due, today: dt.date, end: dt.date) -> Iterator[Need]:
    """What one part of the station, or one certification, will need up to a day."""
    if item.row is None or item.obligation not in COUNTED:
        return
    step = _next_of_part(book, item)
    guessed = item.obligation is Obligation.FILTER or item.hours_left is not None
    first: Due | None = item
    by = _by_hours(item, today) if guessed else item.next or (today if item.is_open else None)
    while by is not None and max(by, today) <= end:
        by = max(by, today)
        name = f"{item.id} {item.part}" if item.kind is DueKind.PERSON else item.part
        yield Need(
            item.kind, name, item.obligation, by, first, price_of(book, item.obligation), guessed
        )
        later = step(by)
        by, first = (later if later and later > by else None), None


def _next_of_part(book: Book, item: Due) -> Callable[[dt.date], dt.date | None]:
    """From an act to the next; a certificate's next end is not known before it is issued."""
    row, station = item.row, book.station
    if row is None or item.kind is DueKind.PERSON or station is None:
        return lambda on: None
    if item.obligation is Obligation.FILTER:
        part = next((f for f in station.filters if f.name == item.part), None)
        season = part and running.season_of(station, meter.compressor_of(station, part))
        if part is None or part.life is None or not season:
            return lambda on: None
        return partial(_used_up, season, part.life.hours)
    if item.obligation is Obligation.UPKEEP:
        return _next_upkeep(station, row, item)
    period = row.period if isinstance(row.period, Period) else None
    if item.obligation is Obligation.BANK_TEST:
        own = next((b.period for b in station.banks if b.name == item.part), None)
        period = own if isinstance(own, Period) else None
    if period is None:
        return lambda on: None
    return lambda on: lasts_until(row, period, on)


def _next_upkeep(station: Station, row: RuleRow, item: Due) -> Callable[[dt.date], dt.date | None]:
    """From upkeep to the next, by days or running hours, whichever comes first."""
    part = next(u for u in station.upkeep if u.name == item.part)
    season = running.season_of(station, meter.pump_of_upkeep(station, part))
    period = row.period if isinstance(row.period, Period) else part.every

    def step(on: dt.date) -> dt.date | None:
        days = [lasts_until(row, period, on)] if period else []
        if part.hours and season:
            spent = _used_up(season, part.hours.hours, on)
            days += [spent] if spent else []
        return min(days, default=None)

    return step


def _used_up(season: running.RunningSeason, hours: float, on: dt.date) -> dt.date | None:
    """When what is begun on a day has run its hours, a day later at the least."""
    day = season.used_up(hours, on)
    return max(day, on + dt.timedelta(days=1)) if day else None


def _by_hours(item: Due, today: dt.date) -> dt.date | None:
    """The day on which a filter's life, or the hours of upkeep, are reckoned to be used up."""
    return today if item.state in {State.OVERDUE, State.MISSING} else item.expected


def by_obligation(ahead: CostsAhead) -> tuple[Cost, ...]:
    """The acts of each kind, in the order of `COUNTED`."""
    found = []
    for question in COUNTED:
        needs = [n for n in ahead.needs if n.obligation is question]
        if needs:
            each = needs[0].price
            total = Money(each.amount * Decimal(len(needs)), each.currency) if each else None
            found.append(Cost(question, len(needs), each, total))
    return tuple(found)


class Share(Struct, frozen=True):
    """What one month or one subject needs: counts by obligation, and sums by currency."""

    name: str
    counts: tuple[tuple[Obligation, int], ...]
    total: tuple[Money, ...]
    late: int

    @property
    def count(self) -> int:
        """How many acts."""
        return sum(count for _, count in self.counts)


def by_month(ahead: CostsAhead) -> tuple[Share, ...]:
    """Every month ahead, also those in which nothing falls due."""
    return tuple(
        share(str(month), [n for n in ahead.needs if n.month == month]) for month in ahead.months
    )


def by_subject(ahead: CostsAhead) -> tuple[Share, ...]:
    """Every cylinder, part and person that needs anything, by name."""
    mine = sorted(ahead.needs, key=lambda n: (n.kind is not DueKind.CYLINDER, n.id, n.by))
    return tuple(share(name, list(needs)) for name, needs in groupby(mine, key=lambda n: n.id))


def share(name: str, needs: list[Need]) -> Share:
    """Needs counted and added up."""
    counts = tuple((o, count) for o in COUNTED if (count := sum(n.obligation is o for n in needs)))
    return Share(
        name,
        counts,
        totals_of(n.price for n in needs),
        sum(n.state is State.OVERDUE for n in needs),
    )


def totals_of(prices: Iterable[Money | None]) -> tuple[Money, ...]:
    """The sum of what has a price, one for each currency, in the order of their letters."""
    sums: dict[str, Decimal] = {}
    for price in prices:
        if price is not None:
            sums[price.currency] = sums.get(price.currency, Decimal(0)) + price.amount
    return tuple(Money(amount, currency) for currency, amount in sorted(sums.items()))
