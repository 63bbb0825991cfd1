"""`tankbook due`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from msgspec.structs import replace

from tankbook.acts.options import Arg, Flag, Opt
from tankbook.cli.answer import DONE, NO, Answer
from tankbook.cli.options import Common, Csv

if TYPE_CHECKING:
    from tankbook.rules.answers import Due


def due(
    asked: Common,
    ids: Annotated[list[str] | None, Arg("ID", "Only these cylinders and sets.")] = None,
    within: Annotated[
        str, Opt("PERIOD", "What falls due within 90d, 6m or 1y; overdue things always.")
    ] = "",
    everything: Annotated[
        bool, Flag("Show what is in date, too (JSON and CSV always do).", "--all")
    ] = False,
    csv: Csv = False,
) -> Answer:
    """What is due: every obligation with last and next date, most urgent first.

    Exit code 1 when something is overdue.
    """
    from tankbook.cli import option_values
    from tankbook.cli.open_ledger import open_desk, page
    from tankbook.output import due as output
    from tankbook.rules.schedule import SOON
    from tankbook.rules.schedule import due as due_of
    from tankbook.units import PartialDate

    ahead = option_values.period("--within", within) if within else None
    desk = open_desk(asked, fleet=True, fit=True)
    wanted = desk.every(ids or [])
    desk = replace(desk, only=tuple(wanted), page=page(desk.shore))
    dues = [d for d in due_of(desk.book, desk.today) if not wanted or d.id in wanted]
    period = ahead or desk.book.settings.soon or SOON
    horizon = PartialDate.of(desk.today).plus(period).last
    shown = output.within(dues, horizon)
    code = NO if any(_keeps_it(d) for d in dues) else DONE
    listed = shown if within else dues
    if asked.json:
        return desk.data(output.data(listed), code)
    if csv:
        return desk.table(output.columns(listed), listed, code)
    if (everything or wanted) and not within:
        shown = dues
    return desk.answer(output.text(dues, shown, desk.today, horizon, desk.page), code)


def _keeps_it(item: Due) -> bool:
    """An obligation that was not kept: overdue, or asked for by law and never recorded."""
    from tankbook.records.rulerow import Basis
    from tankbook.rules.answers import State

    law = item.row is not None and item.row.basis is Basis.LAW
    return item.state is State.OVERDUE or (item.state is State.MISSING and law)
