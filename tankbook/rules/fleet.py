"""How the fleet stands."""

from __future__ import annotations

import datetime as dt
from collections import Counter

from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder
from tankbook.records.words import Status, Use
from tankbook.rules.answers import DueKind, FleetRow, State
from tankbook.rules.fill_history import contents_of, standings
from tankbook.rules.gate import may_fill
from tankbook.rules.schedule import due
from tankbook.rules.tested import first_test
from tankbook.rules.volume import size_word


def fleet(book: Book, today: dt.date) -> tuple[FleetRow, ...]:
    """One row for each use and size, in the order of the words."""
    groups: dict[tuple[int, str], list[Cylinder]] = {}
    order = list(Use)
    for cylinder in book.cylinders.values():
        rank = order.index(cylinder.use) if cylinder.use else len(order)
        groups.setdefault((rank, size_word(book, cylinder)), []).append(cylinder)
    late = [d for d in due(book, today) if d.kind is DueKind.CYLINDER and d.state is State.OVERDUE]
    overdue = Counter(d.id for d in late), Counter(d.id for d in late if d.failed)
    return tuple(
        _row(book, size, members, overdue, today) for (_, size), members in sorted(groups.items())
    )


def _row(
    book: Book,
    size: str,
    members: list[Cylinder],
    overdue: tuple[Counter[str], Counter[str]],
    today: dt.date,
) -> FleetRow:
    late, failed = (sum(counts[c.id] for c in members) for counts in overdue)
    every = Counter(standings(book, m) for m in members)
    states = Counter(standings(book, m)[0] for m in members)
    fills = sum(contents_of(book, c.id).fills for c in members)
    firsts = [on for c in members if (on := first_test(c))]
    return FleetRow(
        use=members[0].use,
        size=size,
        count=len(members),
        in_service=states[Status.IN_SERVICE],
        fillable=sum(_fillable(book, c, today) for c in members),
        by_status=tuple(sorted(states.items())),
        fills=fills,
        oldest=min(firsts, key=lambda on: on.first) if firsts else None,
        overdue=late,
        failed=failed,
        by_states=tuple(sorted(every.items())),
    )


def _fillable(book: Book, cylinder: Cylinder, today: dt.date) -> bool:
    """Whether it may be filled here with the gas it holds, or the usual one where it holds none."""
    gas = contents_of(book, cylinder.id).gas
    return may_fill(book, cylinder.id, today, gas, warned=False).fillable
