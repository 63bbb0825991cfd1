"""What tests, inspections and upkeep will cost in the months ahead.

Each obligation falls due, is taken to be met on its last day, and falls due again a period later.
A month in which two fall due for one cylinder is met by one act where the rules let it: a hydro
that counts as a visual spares the visual.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from functools import partial
from itertools import groupby

from msgspec import Struct

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.rulerow import Obligation, RuleRow
from tankbook.records.station import Station
from tankbook.records.words import Use
from tankbook.rules import meter, running
from tankbook.rules.answers import Due, DueKind, State
from tankbook.rules.inforce import facts_of, rules_of
from tankbook.rules.months import month_of, months_from
from tankbook.rules.schedule import CYLINDER_OBLIGATIONS, dated_rows, due, lasts_until, period_of
from tankbook.units import Money, PartialDate, Period

YEAR = 12
"""The months looked ahead unless said otherwise."""

DONE_AS = {
    Obligation.REQUALIFICATION: "hydrostatic",
    Obligation.VISUAL: "inspection",
    Obligation.EDDY_CURRENT: "eddy-current",
}
"""The act each obligation of a cylinder is taken to be met by, as `met_by` names it."""

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

    `late` says that it is overdue, or not on record, already: it is then counted in this month.
    `guessed` marks a filter or upkeep by running hours, whose day is reckoned from the hours of
    the last years.
    """

    kind: DueKind
    id: str
    obligation: Obligation
    by: dt.date
    late: bool
    price: Money | None
    guessed: bool = False

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


class CostsAhead(Struct, frozen=True):
    """The months ahead, everything needed in them, and what was left out."""

    months: tuple[PartialDate, ...]
    needs: tuple[Need, ...]
    customers: int
    unanswered: tuple[Due, ...]

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
    dues = [d for d in due(book, today) if d.kind is not DueKind.SET]
    left_out = {
        name for name, c in book.cylinders.items() if c.use is Use.CUSTOMER and not customers
    }
    counted = [d for d in dues if not (d.kind is DueKind.CYLINDER and d.id in left_out)]
    needs = list(_of_cylinders(book, counted, today, span[-1].last))
    for item in counted:
        if item.kind is not DueKind.CYLINDER:
            needs += _of_part(book, item, today, span[-1].last)
    order = {o: place for place, o in enumerate(COUNTED)}
    return CostsAhead(
        span,
        tuple(sorted(needs, key=lambda n: (n.by, order[n.obligation], n.id))),
        len({d.id for d in dues if d.id in left_out}),
        tuple(d for d in counted if d.state is State.MISSING and d.row is None),
    )


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
    facts = facts_of(cylinder, rules_of(book))
    rows = {q: dated_rows(book, facts, q) for q in DONE_AS}
    life = min((d.next for d in items if _is_life(d) and d.next), default=dt.date.max)
    ahead = {
        d.obligation: d.next or today
        for d in items
        if d.obligation in DONE_AS and d.row and (d.next or d.state is State.MISSING)
    }
    while ahead:
        question = min(ahead, key=lambda q: _first(ahead[q], q, today))
        by = ahead[question]
        late, by = by < today or _is_missing(items, question, by, today), max(by, today)
        if by > min(end, life):
            return
        yield Need(DueKind.CYLINDER, cylinder.id, question, by, late, price_of(book, question))
        items = tuple(d for d in items if d.obligation is not question)
        for other, its_rows in rows.items():
            if other in ahead and _meets(question, other, its_rows):
                until = _lasts(its_rows, cylinder, by)
                if until is None:
                    del ahead[other]
                else:
                    ahead[other] = max(until, ahead[other]) if other is not question else until
                    items = tuple(d for d in items if d.obligation is not other)


def _is_life(item: Due) -> bool:
    return item.obligation is Obligation.SERVICE_LIFE


def _first(by: dt.date, question: Obligation, today: dt.date) -> tuple[int, int, int]:
    """What is done first: the month, and within it a hydro, as that may spare the visual."""
    by = max(by, today)
    return by.year, by.month, CYLINDER_OBLIGATIONS.index(question)


def _is_missing(items: tuple[Due, ...], question: Obligation, by: dt.date, today: dt.date) -> bool:
    return by <= today and any(d.obligation is question and d.state is State.MISSING for d in items)


def _meets(done: Obligation, other: Obligation, rows: tuple[RuleRow, ...]) -> bool:
    """Whether what is done meets every row of an obligation."""
    return done is other or all(DONE_AS[done] in row.met_by for row in rows)


def _lasts(rows: tuple[RuleRow, ...], cylinder: Cylinder, on: dt.date) -> dt.date | None:
    """How long an act of this day holds: the shortest that a row says."""
    spans = [lasts_until(r, p, on) for r in rows if (p := period_of(r, cylinder))]
    found = min(spans, default=None)
    return found if found is not None and found > on else None


def _of_part(book: Book, item: Due, today: dt.date, end: dt.date) -> Iterator[Need]:
    """What one part of the station, or one certification, will need up to a day."""
    if item.row is None or item.obligation not in COUNTED:
        return
    step = _next_of_part(book, item)
    guessed = item.obligation is Obligation.FILTER or item.hours_left is not None
    late = item.state in {State.OVERDUE, State.MISSING}
    by = _by_hours(item, today) if guessed else item.next or (today if late else None)
    while by is not None and max(by, today) <= end:
        by = max(by, today)
        name = f"{item.id} {item.part}" if item.kind is DueKind.PERSON else item.part
        yield Need(
            item.kind, name, item.obligation, by, late, price_of(book, item.obligation), guessed
        )
        later = step(by)
        by, late = (later if later and later > by else None), False


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
    return Share(name, counts, totals_of(n.price for n in needs), sum(n.late for n in needs))


def totals_of(prices: Iterable[Money | None]) -> tuple[Money, ...]:
    """The sum of what has a price, one for each currency, in the order of their letters."""
    sums: dict[str, Decimal] = {}
    for price in prices:
        if price is not None:
            sums[price.currency] = sums.get(price.currency, Decimal(0)) + price.amount
    return tuple(Money(amount, currency) for currency, amount in sorted(sums.items()))
