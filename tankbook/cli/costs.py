"""`tankbook costs`."""

from __future__ import annotations

from typing import Annotated

from tankbook.acts.options import Flag, Opt
from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.options import Common, Csv

BY = ("obligation", "month", "subject")
MOST_MONTHS, MOST_PLANNED = 120, 24


def costs(
    asked: Common,
    months: Annotated[int, Opt("N", "This month and the next, N in all.", least=1)] = 12,
    by: Annotated[str, Opt("WHAT", "obligation, month or subject.")] = "",
    plan: Annotated[bool, Flag("When to do it, in which batches.")] = False,
    retest: Annotated[bool, Flag("Retire or retest, in sums.")] = False,
    customers: Annotated[bool, Flag("Count customers' cylinders too.")] = False,
    csv: Csv = False,
) -> Answer:
    """What tests, inspections and upkeep will cost, and when to do them.

    With --plan: which tests and inspections to pull forward, in which batches, so that what is
    booked can be sent. With --retest: what keeping each cylinder costs, beside a new one.
    """
    from tankbook.cli.open_ledger import open_desk
    from tankbook.output import costs as output
    from tankbook.rules.costs import costs_ahead
    from tankbook.rules.retest import choices
    from tankbook.rules.work_plan import work_plan

    _check(months, by, plan, retest, customers)
    desk = open_desk(asked)
    book, today = desk.book, desk.today
    if asked.json:
        ahead = costs_ahead(book, today, months, customers=customers)
        planned = work_plan(book, today, min(months, MOST_PLANNED))
        return desk.data(output.data(ahead, planned, choices(book, today, months)))
    if plan:
        planned = work_plan(book, today, months)
        if csv:
            return desk.table(output.TASKS, output.planned(planned))
        to = book.settings.requalifier or ""
        return desk.answer(output.plan_text(planned, to, desk.page))
    if retest:
        chosen = choices(book, today, months)
        if csv:
            return desk.table(output.CHOICES, chosen)
        return desk.answer(output.retest_text(chosen, desk.page))
    ahead = costs_ahead(book, today, months, customers=customers)
    if csv:
        return desk.table(output.ACTS, ahead.needs)
    return desk.answer(output.text(ahead, desk.page, by))


def _check(months: int, by: str, plan: bool, retest: bool, customers: bool) -> None:
    """Raises `RequestError` for what cannot be answered together."""
    if by and by not in BY:
        raise RequestError(f"--by: {by!r} is not known", f"known: {', '.join(BY)}")
    if plan and retest:
        raise RequestError("--plan and --retest are two answers", "ask for one at a time")
    if customers and (plan or retest):
        raise RequestError(
            "customers' cylinders are neither planned nor retired here",
            "ask for --customers without --plan and --retest",
        )
    most = MOST_PLANNED if plan else MOST_MONTHS
    if months > most:
        raise RequestError(f"--months: {months} is too far ahead", f"at most {most}")
