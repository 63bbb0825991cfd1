"""The acts that a cylinder's obligations ask for, one after another, and which spare others.

Each is taken to be done on the last day it can be, and comes again a period later. Of what falls
due in one month what the rules let meet the other is done first, and by the first of their days: a
hydro that counts as a visual spares the visual, where it is done before that lapses.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping

from msgspec import Struct

from tankbook.records.rulerow import Obligation, RuleRow
from tankbook.rules.answers import Due, SparedBy, State
from tankbook.rules.figures import FAR

DONE_AS = {
    Obligation.REQUALIFICATION: "hydrostatic",
    Obligation.VISUAL: "inspection",
    Obligation.EDDY_CURRENT: "eddy-current",
}
"""The act each obligation of a cylinder is taken to be met by, as `met_by` names it: what is done
first in a month stands first."""

Rows = Mapping[Obligation, tuple[RuleRow, ...]]
"""The rows in force of a cylinder, of each obligation in `DONE_AS`."""

Lasts = Callable[[Obligation, dt.date], dt.date | None]
"""How long an act of a day meets an obligation; None where it does not outlast that day."""


class Coming(Struct, frozen=True):
    """One act: what it meets, by which day, and the obligation as it stands today; None of what
    comes again. `spares` are other obligations of today that it meets before their turn."""

    obligation: Obligation
    by: dt.date
    item: Due | None
    spares: tuple[Obligation, ...] = ()


def coming(items: Iterable[Due], rows: Rows, lasts: Lasts, today: dt.date) -> Iterator[Coming]:
    """The acts that one cylinder will need, until its life ends; else without an end.

    `items` are its obligations as they stand today. What no rule row answers is left out.
    """
    items = tuple(items)
    waiting = {d.obligation: d for d in items if d.obligation in DONE_AS and _asks(d)}
    life = min((d.next for d in items if _is_life(d) and d.next), default=dt.date.max)
    ahead = {question: d.next or today for question, d in waiting.items()}
    while ahead:
        question = min(ahead, key=lambda q: _first(ahead[q], q, today))
        met = [o for o, its in rows.items() if o in ahead and _meets(question, o, its)]
        month = _month(ahead[question], today)
        together = [ahead[o] for o in met if _month(ahead[o], today) == month]
        by = max(min(together), today)
        if by > life:
            return
        until = {other: lasts(other, by) for other in met}
        others = (o for o in met if o is not question and o in waiting)
        spares = tuple(o for o in others if _is_met_by(waiting[o], until[o]))
        yield Coming(question, by, waiting.get(question), spares)
        for other in met:
            new = until[other]
            if other is question or other in spares:
                waiting.pop(other, None)
            if other is question and new is None:
                del ahead[other]
            elif new is not None:
                ahead[other] = new if other is question else max(new, ahead[other])


def spared(
    items: Iterable[Due], rows: Rows, lasts: Lasts, today: dt.date
) -> dict[Obligation, SparedBy]:
    """Of the obligations of one cylinder those that an act before their turn would meet, each with
    that act and the day it is to be done by."""
    items = tuple(items)
    left = {d.obligation for d in items if d.obligation in DONE_AS and _asks(d)}
    found: dict[Obligation, SparedBy] = {}
    if len(left) < 2:
        return found
    for act in coming(items, rows, lasts, today):
        if act.by.year > today.year + FAR:
            break
        found |= {other: SparedBy(act.obligation, act.by) for other in act.spares}
        left -= {act.obligation, *act.spares}
        if not left:
            break
    return found


def _asks(item: Due) -> bool:
    """Whether an act is needed that a rule row speaks of."""
    return item.row is not None and (item.next is not None or item.state is State.MISSING)


def _is_met_by(item: Due, until: dt.date | None) -> bool:
    """Whether an act that holds until a day would meet an obligation before its turn: one that
    holds no longer than what is on record does not, nor does it answer a failure, which stands
    until what failed has passed."""
    return not item.failed and until is not None and (item.next is None or until > item.next)


def _is_life(item: Due) -> bool:
    return item.obligation is Obligation.SERVICE_LIFE


def _month(by: dt.date, today: dt.date) -> tuple[int, int]:
    by = max(by, today)
    return by.year, by.month


def _first(by: dt.date, question: Obligation, today: dt.date) -> tuple[int, int, int]:
    """What is done first: the month, and within it a hydro, as that may spare the visual."""
    return *_month(by, today), list(DONE_AS).index(question)


def _meets(done: Obligation, other: Obligation, rows: tuple[RuleRow, ...]) -> bool:
    """Whether what is done meets every row of an obligation."""
    return done is other or (bool(rows) and all(DONE_AS[done] in row.met_by for row in rows))
