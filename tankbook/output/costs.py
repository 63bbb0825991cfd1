"""What the months ahead will cost, the work plan, and retire or retest."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

from tankbook.output.page import Page, counted, plain_date
from tankbook.output.tables import table
from tankbook.records.rulerow import Obligation
from tankbook.rules.costs import Cost, CostsAhead, Share, added, by_month, by_obligation
from tankbook.rules.costs import by_subject as subjects
from tankbook.rules.retest import LASTS, Choice
from tankbook.rules.work_plan import Batch, Task, WorkPlan
from tankbook.units import Money


def sums(total: Sequence[Money]) -> str:
    """Sums in one or more currencies: `924.00 USD`, `924.00 USD + 30.00 CAD`, or a dash."""
    return " + ".join(map(str, total)) or "-"


def headline(ahead: CostsAhead) -> str:
    """`924.00 USD for 32 acts from Nov 2026 to Oct 2027, 5 of them overdue`."""
    late = sum(n.late for n in ahead.needs)
    unpriced = sum(n.price is None for n in ahead.needs)
    said = (
        f"{sums(added(n.price for n in ahead.needs))} for "
        f"{counted(len(ahead.needs) - unpriced, 'test and check', 'tests and checks')} "
        f"from {plain_date(ahead.months[0])} to {plain_date(ahead.months[-1])}"
    )
    notes = [f"{unpriced} more have no price"] if unpriced else []
    notes += [f"{late} of all {len(ahead.needs)} overdue"] if late else []
    return "; ".join([said, *notes])


def text(ahead: CostsAhead, page: Page, by: str = "") -> str:
    """The sum in one line, then the acts by obligation and by month, or as asked by one of them."""
    parts = [page.wrap(headline(ahead), hang="  ")]
    if by in ("", "obligation"):
        rows = [_cost(c) for c in by_obligation(ahead)]
        parts += ["", table(("what", "count", "each", "in all"), rows, page, right=("count",))]
    if by in ("", "month"):
        parts += ["", _shares("month", by_month(ahead), page)]
    if by == "subject":
        parts += ["", _shares("for", subjects(ahead), page)]
    return "\n".join([*parts, "", *notes(ahead, page, "; --customers counts them too"), ""])


def _cost(cost: Cost) -> tuple[str, ...]:
    each, total = str(cost.each or "no price set"), str(cost.total or "-")
    return (cost.obligation.called, str(cost.count), each, total)


def _shares(what: str, shares: Sequence[Share], page: Page) -> str:
    rows = [(s.name, said_counts(s) or "-", sums(s.total)) for s in shares]
    return table((what, "tests and checks", "in all"), rows, page, wrap=("tests and checks",))


def said_counts(share: Share) -> str:
    """`3 hydro, 2 visual`."""
    return ", ".join(f"{count} {question.called}" for question, count in share.counts)


def notes(ahead: CostsAhead, page: Page, hint: str = "") -> list[str]:
    """What the sums leave out, and what they take for granted; `hint` says how to have it in."""
    found = [
        "Each is counted in the month of its last day, and again a period later; what is overdue "
        "or not on record, in this month. A hydro spares the visual where the rules say so."
    ]
    if any(n.guessed for n in ahead.needs):
        found.append("Filters are counted at the pace of the last year's running hours.")
    if ahead.customers:
        said = counted(ahead.customers, "customer's cylinder", "customers' cylinders")
        found.append(f"{said} left out{hint}.")
    if ahead.unpriced:
        named = ", ".join(o.called for o in ahead.unpriced)
        found.append(f"No price in the settings for: {named}.")
    if ahead.unanswered:
        named = ", ".join(f"{d.id} {d.obligation.called}" for d in ahead.unanswered)
        found.append(f"Not counted, as no rule row in force speaks of it: {named}.")
    return [page.wrap(each) for each in found]


def data(ahead: CostsAhead, plan: WorkPlan, chosen: Sequence[Choice]) -> dict[str, Any]:
    """The JSON shape of `costs`."""
    return {
        "first_month": ahead.months[0],
        "last_month": ahead.months[-1],
        "total": added(n.price for n in ahead.needs),
        "by_obligation": [
            {"obligation": c.obligation, "count": c.count, "each": c.each, "total": c.total}
            for c in by_obligation(ahead)
        ],
        "by_month": [_share(s) for s in by_month(ahead)],
        "by_subject": [_share(s) for s in subjects(ahead)],
        "customers_left_out": ahead.customers,
        "no_price": ahead.unpriced,
        "no_rule": [{"id": d.id, "obligation": d.obligation} for d in ahead.unanswered],
        "plan": {
            "batches": [_batch(b) for b in plan.batches],
            "short_days": [
                {"day": k.day, "anyway": k.anyway, "planned": k.planned} for k in plan.lacks
            ],
            "already_away": plan.already_away,
            "validity_given_away": plan.given_away,
        },
        "retest": [_choice(c) for c in chosen],
    }


def _share(share: Share) -> dict[str, Any]:
    return {
        "name": share.name,
        "counts": {o.value: n for o, n in share.counts},
        "overdue": share.late,
        "total": share.total,
    }


def _batch(batch: Batch) -> dict[str, Any]:
    return {
        "first": batch.first,
        "last": batch.last,
        "at": "bench" if batch.at_bench else "requalifier",
        "tasks": [
            {
                "id": t.id,
                "obligation": t.obligation,
                "due": t.due,
                "overdue": t.late,
                "months_early": t.months_early(batch.first),
            }
            for t in batch.tasks
        ],
    }


def _choice(choice: Choice) -> dict[str, Any]:
    return {
        "id": choice.id,
        "size": choice.size,
        "first_test": choice.made,
        "due": choice.due,
        "retest_months": choice.keep.months,
        "retest_total": choice.keep.total,
        "retest_a_year": choice.keep.a_year,
        "new_price": choice.new,
        "new_months": choice.renew.months if choice.renew else None,
        "new_total": choice.renew.total if choice.renew else None,
        "new_a_year": choice.renew.a_year if choice.renew else None,
        "fills_last_year": choice.fills,
        "retest_a_fill": choice.keep_a_fill,
    }


def plan_text(plan: WorkPlan, to: str, page: Page) -> str:
    """The plan in one line, then its weeks, then the days it leaves short."""
    parts = [page.wrap(plan_headline(plan), hang="  ")]
    rows = [
        (
            str(b.first),
            "bench" if b.at_bench else "send",
            str(b.last),
            ", ".join(_said(t, b.first) for t in b.tasks),
        )
        for b in plan.batches
    ]
    if rows:
        heads = ("from", "where", "until", "cylinders")
        parts += ["", table(heads, rows, page, wrap=("cylinders",))]
    if plan.lacks:
        parts += ["", *(_lack(k.day, k.anyway, k.planned) for k in plan.lacks)]
    parts += ["", *plan_notes(plan, to, page), ""]
    return "\n".join(parts)


def plan_headline(plan: WorkPlan) -> str:
    """`11 hydros in 4 batches, 20 visuals; 3 pulled forward; what is booked can be sent`."""
    batches = [b for b in plan.batches if not b.at_bench]
    hydros = sum(len(b.tasks) for b in batches)
    bench = len(plan.tasks) - hydros
    said = [
        f"{counted(hydros, 'hydro')} in {counted(len(batches), 'batch', 'batches')}, "
        f"{bench} at the bench",
        f"{plan.early} pulled forward to an earlier month",
    ]
    if any(k.planned > k.anyway for k in plan.lacks):
        said.append(f"SHORT on {counted(len(plan.lacks), 'day')}")
    elif plan.lacks:
        said.append(f"short on {counted(len(plan.lacks), 'day')}, for want of cylinders")
    else:
        said.append("what is booked can be sent")
    return "; ".join(said)


def _said(task: Task, on: dt.date) -> str:
    early = task.months_early(on)
    what = "" if task.obligation is Obligation.REQUALIFICATION else f" {task.obligation.called}"
    if task.late:
        return f"{task.id}{what} (OVERDUE)"
    return f"{task.id}{what} ({counted(early, 'month')} early)" if early else f"{task.id}{what}"


def _lack(day: dt.date, anyway: int, planned: int) -> str:
    short = "SHORT" if planned > anyway else "short"
    return f"{day}: {planned} {short}; {anyway} even if everything were in date"


def plan_notes(plan: WorkPlan, to: str, page: Page) -> list[str]:
    """What the plan gives away, leaves out and takes for granted."""
    found = []
    if plan.given_away:
        found.append(
            f"Pulling forward gives away validity worth {sums(plan.given_away)}: each act's months "
            "early as a share of its price."
        )
    if plan.already_away:
        found.append(f"Away for a hydro already: {', '.join(plan.already_away)}.")
    found.append(
        f"Checked against {counted(plan.days_wanted, 'day')} with bookings or a least stock. "
        "`retesting` in tankbook.yaml sets the batch, the time away, the bench's week, the quiet "
        "months and the least stock; `keep_ready` speaks for days not booked yet."
    )
    found.append(f"A batch goes to {to or 'the requalifier'}, one at a time where that can be.")
    return [page.wrap(each) for each in found]


def retest_text(chosen: Sequence[Choice], page: Page) -> str:
    """Retire or retest: the sums side by side, for people to decide on."""
    head = f"{counted(len(chosen), 'cylinder')} with a hydro ahead: what keeping each costs"
    rows = [
        (
            c.id,
            c.size,
            str(c.made or "-"),
            str(c.keep.total or "-"),
            f"{c.keep.months // 12} y" if c.keep.months % 12 == 0 else f"{c.keep.months} m",
            _amount(c.keep.a_year),
            _amount(c.renew.a_year if c.renew else None),
            str(c.fills),
            _amount(c.keep_a_fill),
        )
        for c in chosen
    ]
    heads = ("id", "size", "tested", "retest", "for", "a year", "new, a year", "fills", "a fill")
    right = ("retest", "a year", "new, a year", "fills", "a fill")
    parts = [head, *(["", table(heads, rows, page, wrap=("size",), right=right)] if rows else [])]
    return "\n".join([*parts, "", *retest_notes(chosen, page), ""])


def _amount(money: Money | None) -> str:
    return f"{money.amount:f}" if money else "-"


def retest_notes(chosen: Sequence[Choice], page: Page) -> list[str]:
    """How the sums are made."""
    found = [
        "`retest` is the hydro and the visuals (and eddy-current tests) until the next hydro; `a "
        "year` is that spread over its span, `a fill` that over last year's fills.",
        "`new, a year` is the price of a new one (`new_prices`) with its tests and inspections "
        f"over its life (`new_lasts`, else {LASTS // 12} years). A cylinder that fails its hydro "
        "costs the hydro and a new one; the sums do not weigh that, nor its alloy or looks.",
    ]
    alloys = [c.id for c in chosen if c.alloy.startswith("6351")]
    if alloys:
        found.append(
            f"Alloy 6351, known or assumed, open to cracks at the neck: {', '.join(alloys)}."
        )
    if any(c.new is None for c in chosen):
        sizes = sorted({c.size for c in chosen if c.new is None})
        found.append(f"No price of a new one in the settings for: {', '.join(sizes)}.")
    return [page.wrap(each) for each in found]
