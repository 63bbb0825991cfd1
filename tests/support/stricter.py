"""Whether one ledger's answers are looser than another's: for laws about a ledger's own rules."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from books import TODAY

from tankbook.gas import AIR, Gas
from tankbook.records.book import Book
from tankbook.records.rulerow import Gate, RuleRow, RuleSet, WatchRow
from tankbook.rules.answers import Due, MayFill, Reason, State
from tankbook.rules.expansion import expansion_limit
from tankbook.rules.gate import may_fill
from tankbook.rules.limits import settled
from tankbook.rules.schedule import due
from tankbook.units import Temperature
from tests.support.changed import replace

DAYS = tuple(TODAY + dt.timedelta(days=d) for d in (0, 200, 500, 1200, 2100, 4200))
"""Before, between and after the periods of the shipped rows."""

ROOM = Temperature.of(20, "degC")


def with_own(book: Book, *rows: RuleRow | WatchRow) -> Book:
    """The ledger with one more rule file of its own."""
    own = RuleSet(
        heading="Shop rules",
        id="shop",
        rows=tuple(r for r in rows if isinstance(r, RuleRow)),
        watch=tuple(r for r in rows if isinstance(r, WatchRow)),
    )
    return replace(book, rule_sets=(*book.rule_sets, own))


def looser(before: Book, after: Book, subject: str, gas: Gas | None) -> list[str]:
    """In what the answers of the second ledger ask less than those of the first, on any day."""
    found = []
    for day in DAYS:
        one, other = (replace(b, known_on=day) for b in (before, after))
        asked = (may_fill(b, subject, day, gas) for b in (one, other))
        found += [f"{day}: {what}" for what in _answers(*asked)]
        found += [f"{day}: {what}" for what in _dues(due(one, day), due(other, day))]
    for id_, cylinder in before.cylinders.items():
        was, now = (expansion_limit(b, cylinder) for b in (before, after))
        if was and (now is None or now.share > was.share):
            found.append(f"expansion of {id_}: {now and now.share} for {was.share}")
    return found


def _weight(reason: Reason) -> int:
    if reason.gate is Gate.WARN:
        return 1
    return 2 if reason.may_be_overridden else 3


def _weights(answer: MayFill) -> dict[str, int]:
    """The gravest reason of each kind. An act that is missing is no less grave than one overdue,
    nor is one that failed, beside which it is not told that it is overdue."""
    found: dict[str, int] = {}
    for reason in answer.reasons:
        code = reason.code.removesuffix("-missing").removesuffix("-overdue")
        for each in {code, code.removesuffix("-failed")}:
            found[each] = max(found.get(each, 0), _weight(reason))
    return found


TOLD = {"row-dropped", "row-replaced", "plus-not-used"}
"""What is only told of the rules themselves, or of a limit that is compared by itself."""


OF_VALVE = ("disc-", "valve-", "insert-", "manifold-")


def _answers(before: MayFill, after: MayFill) -> Iterator[str]:
    if after.fillable and not before.fillable:
        yield "a no has become a yes"
    now = _weights(after)
    pressures = [
        settled(AIR, a.limit.pressure, a.limit.reference, ROOM).psi
        for a in (before, after)
        if a.limit
    ]
    lower = after.limit is None or (len(pressures) > 1 and pressures[1] < pressures[0])
    for code, weight in _weights(before).items():
        if code.startswith(OF_VALVE) and lower:
            continue  # a valve is held against a limit, and a lower one may suit it
        if code not in TOLD and now.get(code, 0) < weight:
            yield f"{code} weighs {now.get(code, 0)} for {weight}"
    if len(pressures) > 1 and pressures[1] > pressures[0] * (1 + 1e-6):
        yield f"limit {after.limit} for {before.limit}"


def _key(item: Due) -> tuple[str, str, str, str]:
    return item.kind, item.id, item.obligation, item.part


def _lapsed(item: Due) -> int:
    if item.state not in {State.OVERDUE, State.MISSING}:
        return 0
    row = item.row
    return 1 if row and row.gate is Gate.WARN else 2 if row and row.may_be_overridden else 3


def _dues(before: tuple[Due, ...], after: tuple[Due, ...]) -> Iterator[str]:
    now: dict[tuple[str, str, str, str], list[Due]] = {}
    for item in after:
        now.setdefault(_key(item), []).append(item)
    for item in before:
        if item.kind == "set":
            continue  # one line: the worst of its members', which are compared by themselves
        same = now.get(_key(item), [])
        if max(map(_lapsed, same), default=0) < _lapsed(item):
            yield f"{item.id} {item.obligation} {item.part} is no longer {item.state}"
        met = item.next and not _lapsed(item)
        if met and all(d.next and not _lapsed(d) and d.next > item.next for d in same):
            yield f"{item.id} {item.obligation} {item.part} holds longer"
