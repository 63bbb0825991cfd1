"""`tankbook equalize`: where cylinders settle that are opened to each other."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from tankbook.acts.options import Arg, Flag
from tankbook.cli.answer import DONE, NO, Answer, RequestError
from tankbook.cli.options import Common
from tankbook.cli.plan import Ambient

if TYPE_CHECKING:
    from tankbook.cli.open_ledger import Desk
    from tankbook.filling.wish import QueueEntry
    from tankbook.output.equalize import EqualizingMade
    from tankbook.units import Temperature


def equalize(
    asked: Common,
    ids: Annotated[
        list[str],
        Arg(
            "ID[=PRESSURE]",
            "Two or more, and what their gauges show: 14=2500 22=0; else as last recorded.",
        ),
    ],
    ambient: Ambient = "",
    mix: Annotated[bool, Flag("Two of different gases: the emptier gets a blend.")] = False,
) -> Answer:
    """Where cylinders settle that are opened to each other, and what each then holds.

    Only cylinders of the own fleet that may be filled, alike in gas, working pressure and
    cleaning, and only on a panel without non-return valves. Exit code 1 when it is refused.
    """
    from tankbook.cli import option_values, queue
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import equalize as output

    desk = open_desk(asked)
    entries = tuple(queue.named(desk, ids))
    if len({entry.id for entry in entries}) < max(2, len(entries)):
        raise RequestError(
            "equalizing takes two or more cylinders, each named once", "14=2500 22=0"
        )
    degrees = option_values.temperature("--ambient", ambient, desk.shore) if ambient else None
    made = _made(desk, entries, degrees, mix)
    code = DONE if made.found else NO
    if asked.json:
        return desk.data(output.data(made), code)
    return desk.answer(output.text(made, desk.page), code)


def _made(
    desk: Desk, entries: tuple[QueueEntry, ...], degrees: Temperature | None, mix: bool
) -> EqualizingMade:
    from tankbook.filling import PlanError
    from tankbook.filling import equalize as settle
    from tankbook.filling.prepare import bring_together
    from tankbook.output.equalize import EqualizingMade

    try:
        ready = bring_together(desk.book, desk.today, entries, desk.shore.value, degrees)
    except PlanError as error:
        raise RequestError(str(error), error.mend) from None
    found, why, mend = None, "", ""
    if not ready.refused:
        try:
            found = settle(
                ready.vessels,
                ready.ambient,
                desk.shore.value,
                non_return_valves=ready.non_return_valves,
                mix=mix,
            )
        except PlanError as error:
            why, mend = str(error), error.mend
    return EqualizingMade(ready, found, why, mend)
