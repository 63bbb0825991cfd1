"""What the months ahead will cost, the work plan, and retire or retest."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

from tankbook.output import due
from tankbook.output.due import whole_name
from tankbook.output.page import Page, counted, plain_date
from tankbook.output.tables import Column, Table
from tankbook.output.words import obligation
from tankbook.records.rulerow import Obligation
from tankbook.records.words import Status
from tankbook.rules.answers import Due, State, Tally
from tankbook.rules.costs import (
    Cost,
    CostsAhead,
    LeftOut,
    Need,
    Share,
    by_month,
    by_obligation,
    totals_of,
)
from tankbook.rules.costs import by_subject as subjects
from tankbook.rules.retest import LASTS, Choice
from tankbook.rules.work_plan import Batch, Task, WorkPlan
from tankbook.units import Money


def sums(total: Sequence[Money]) -> str:
    """Sums in one or more currencies: `924.00 USD`, `924.00 USD + 30.00 CAD`, or a dash."""
    return " + ".join(map(str, total)) or "-"


def _amount(money: Money) -> str:
    return f"{money.amount:f}"


def _new_a_year(choice: Choice) -> Money | None:
    return choice.renew.a_year if choice.renew else None


def _span(months: int) -> str:
    """How long a retest lasts: `5 y`, `30 m`."""
    return f"{months // 12} y" if months % 12 == 0 else f"{months} m"


BY_OBLIGATION = Table[Cost](
    Column("obligation", lambda c: c.obligation, "what", obligation),
    Column("count", lambda c: c.count, "count", right=True),
    Column("each", lambda c: c.each, "each", none="no price set"),
    Column("total", lambda c: c.total, "in all"),
)
"""What an obligation costs."""


def _kept(need: Need) -> Sequence[Status]:
    return need.item.stands if need.item is not None else ()


ACTS = Table[Need](
    Column("month", lambda n: n.month),
    Column("by", lambda n: n.by),
    Column("kind", lambda n: n.kind),
    Column("id", lambda n: n.id),
    Column("obligation", lambda n: n.obligation),
    Column("overdue", lambda n: n.state is State.OVERDUE),
    Column("price", lambda n: n.price),
    Column("currency", lambda n: n.price.currency if n.price else None, json=False),
    Column("state", lambda n: n.state),
    Column("due", lambda n: n.due),
    *due.kept_columns(_kept),
)
"""`costs --csv`: one line an act, for a spreadsheet to add up as it is asked."""

LEFT_OUT = Table[tuple[Due, LeftOut]](
    Column("kind", lambda pair: pair[0].kind),
    Column("id", lambda pair: due.subject(pair[0])),
    Column("obligation", lambda pair: pair[0].obligation),
    Column("next", lambda pair: pair[0].next),
    Column("state", lambda pair: pair[0].state),
    Column("why", lambda pair: pair[1]),
)
"""The obligations that have no act in the months ahead."""

Planned = tuple[Batch, Task]


def _kept_now(planned: Planned) -> Sequence[Status]:
    return planned[1].stands


TASKS = Table[Planned](
    Column("from", lambda p: p[0].first, json=False),
    Column("until", lambda p: p[0].last, json=False),
    Column("where", lambda p: _where(p[0]), json=False),
    Column("id", lambda p: p[1].id),
    Column("obligation", lambda p: p[1].obligation),
    Column("due", lambda p: p[1].due),
    Column("overdue", lambda p: p[1].late and not p[1].missing),
    Column("months_early", lambda p: p[1].months_early(p[0].first)),
    *due.kept_columns(_kept_now),
)
"""`costs --plan --csv`: one line an act; JSON has the batch around them."""

CHOICES = Table[Choice](
    Column("id", lambda c: c.id, "id"),
    Column("size", lambda c: c.size, "size", wrap=True),
    Column("first_test", lambda c: c.made, "tested"),
    Column("due", lambda c: c.due),
    Column("hydros", lambda c: c.keep.hydros),
    Column("visuals", lambda c: c.keep.visuals),
    Column("eddy_current", lambda c: c.keep.eddies),
    Column("retest_total", lambda c: c.keep.total, "retest", right=True),
    Column("retest_months", lambda c: c.keep.months, "for", _span),
    Column("retest_a_year", lambda c: c.keep.a_year, "a year", _amount, right=True),
    Column("new_price", lambda c: c.new),
    Column("new_a_year", _new_a_year, "new, a year", _amount, right=True),
    Column("currency", lambda c: c.keep.total.currency if c.keep.total else None, json=False),
    Column("fills_last_year", lambda c: c.fills, "fills", right=True),
    Column("retest_a_fill", lambda c: c.keep_a_fill, "a fill", _amount, right=True),
    Column("new_months", lambda c: c.renew.months if c.renew else None),
    Column("new_total", lambda c: c.renew.total if c.renew else None),
)
"""`costs --retest`."""


def shares(what: str) -> Table[Share]:
    """What is needed of a month or a cylinder, `what` being the heading for people."""
    return Table[Share](
        Column("name", lambda s: s.name, what),
        Column("", lambda s: said_counts(s) or None, "tests and checks", wrap=True),
        Column("counts", lambda s: {o.value: n for o, n in s.counts}),
        Column("overdue", lambda s: s.late),
        Column("total", lambda s: s.total, "in all", sums),
    )


def year_ahead(needs: Sequence[Need]) -> str:
    """`the next twelve months cost 924.00 USD, and 3 acts without a price`."""
    priced = [need for need in needs if need.price is not None]
    bare = len(needs) - len(priced)
    if not priced and bare:
        return f"{counted(bare, 'act')} of the next twelve months, all without a price"
    more = f", and {counted(bare, 'act')} without a price" if bare else ""
    money = sums(totals_of(need.price for need in priced)) if priced else "nothing"
    return f"the next twelve months cost {money}{more}"


def headline(ahead: CostsAhead) -> str:
    """`924.00 USD for 32 acts from Nov 2026 to Oct 2027, 5 of them overdue`."""
    unpriced = sum(n.price is None for n in ahead.needs)
    priced = len(ahead.needs) - unpriced
    acts = counted(priced, "test and check", "tests and checks")
    said = f"{sums(totals_of(n.price for n in ahead.needs))} for {acts}"
    if not priced:
        acts = counted(unpriced, "test and check", "tests and checks")
        said = f"{acts} without a price" if unpriced else "No test and check falls due"
    said += f" from {plain_date(ahead.months[0])} to {plain_date(ahead.months[-1])}"
    notes = [f"{unpriced} more have no price"] if unpriced and priced else []
    return "; ".join([said, *notes, *not_kept(ahead)])


def not_kept(ahead: CostsAhead) -> list[str]:
    """How much of the whole ledger is overdue, and not on record, as `due` counts it; and how much
    of that is among the acts."""
    tally, here = Tally.of(ahead.dues), Tally.of(n.item for n in ahead.needs if n.item)
    found = [f"{due.overdue(tally)}, {_among(here.late, tally.late)}"] if tally.late else []
    if tally.unknown:
        found.append(f"{tally.unknown} not on record, {_among(here.unknown, tally.unknown)}")
    return found


def _among(here: int, every: int) -> str:
    """How many of something are among the acts."""
    some = str(here) if here else "none"
    return "counted here" if here == every else f"{some} of them counted here"


def text(ahead: CostsAhead, page: Page, by: str = "") -> str:
    """The sum in one line, then the acts by obligation and by month, or as asked by one of them."""
    parts = []
    if by in ("", "obligation"):
        parts.append(BY_OBLIGATION.text(by_obligation(ahead), page))
    if by in ("", "month"):
        parts.append(shares("month").text(by_month(ahead), page))
    if by == "subject":
        parts.append(shares("for").text(subjects(ahead), page))
    told = page.paragraphs(notes(ahead, "; --customers counts them too"))
    return page.answer(headline(ahead), *parts, told)


def said_counts(share: Share) -> str:
    """`3 hydro, 2 visual`."""
    return ", ".join(f"{count} {question.called}" for question, count in share.counts)


def notes(ahead: CostsAhead, hint: str = "") -> list[str]:
    """What the sums leave out, and what they take for granted; `hint` says how to have it in."""
    found = [
        "Each is counted in the month of its last day, and again a period later; what is overdue "
        "or not on record, in this month. A hydro spares the visual where the rules say so."
    ]
    if any(n.guessed for n in ahead.needs):
        found.append(
            "What runs in hours is counted by what its compressor ran in the same months before."
        )
    if ahead.customers:
        said = counted(ahead.customers, "customer's cylinder", "customers' cylinders")
        found.append(f"{said} left out{hint}.")
    for why, told in TOLD.items():
        items = [d for d, reason in ahead.left_out if reason is why]
        if items:
            named = ", ".join(whole_name(due.subject(d), d.obligation.called) for d in items)
            found.append(f"{told}: {named}.")
    if ahead.unpriced:
        named = ", ".join(o.called for o in ahead.unpriced)
        found.append(f"No price in the settings for: {named}.")
    if ahead.unanswered:
        named = ", ".join(f"{d.id} {d.obligation.called}" for d in ahead.unanswered)
        found.append(f"Not counted, as no rule row in force speaks of it: {named}.")
    return found


TOLD = {
    LeftOut.SPARED: "Not counted, as an act before its turn meets it",
    LeftOut.LIFE_OVER: "Not counted, as the cylinder's life is over before",
    LeftOut.NO_DAY: "Not counted, as no day is known",
}
"""What is left out of the sums and named; what comes later, or ends, is not."""


def data(ahead: CostsAhead, plan: WorkPlan, chosen: Sequence[Choice]) -> dict[str, Any]:
    """The JSON shape of `costs`."""
    return {
        "first_month": ahead.months[0],
        "last_month": ahead.months[-1],
        "total": totals_of(n.price for n in ahead.needs),
        "by_obligation": BY_OBLIGATION.objects(by_obligation(ahead)),
        "by_month": shares("month").objects(by_month(ahead)),
        "by_subject": shares("for").objects(subjects(ahead)),
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
        "retest": CHOICES.objects(chosen),
        "acts": ACTS.objects(ahead.needs),
        "overdue": Tally.of(ahead.dues).late,
        "missing": Tally.of(ahead.dues).unknown,
        "left_out": LEFT_OUT.objects(ahead.left_out),
    }


def _batch(batch: Batch) -> dict[str, Any]:
    where = _where(batch)
    return {
        "first": batch.first,
        "last": batch.last,
        "at": where,
        "tasks": TASKS.objects((batch, task) for task in batch.tasks),
        "from": batch.first,
        "until": batch.last,
        "where": where,
    }


def _where(batch: Batch) -> str:
    return "bench" if batch.at_bench else "requalifier"


def planned(plan: WorkPlan) -> list[Planned]:
    """Every act of a plan with its batch: the lines of `costs --plan --csv`."""
    return [(batch, task) for batch in plan.batches for task in batch.tasks]


BATCHES = Table[Batch](
    Column("", lambda b: b.first, "from"),
    Column("", lambda b: "bench" if b.at_bench else "send", "where"),
    Column("", lambda b: b.last, "until"),
    Column("", lambda b: ", ".join(_said(t, b.first) for t in b.tasks), "cylinders", wrap=True),
)


def plan_text(plan: WorkPlan, to: str, page: Page) -> str:
    """The plan in one line, then its weeks, then the days it leaves short."""
    lacks = (_lack(k.day, k.anyway, k.planned) for k in plan.lacks)
    lacking = page.paragraphs(lacks, hang="  ")
    told = page.paragraphs(plan_notes(plan, to))
    return page.answer(plan_headline(plan), BATCHES.text(plan.batches, page), lacking, told)


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
    said = [due.STANDS[status] for status in task.stands]
    if task.late:
        said.insert(0, due.alarm_of(missing=task.missing, failed=task.failed))
    elif early:
        said.insert(0, f"{counted(early, 'month')} early")
    return f"{task.id}{what} ({', '.join(said)})" if said else f"{task.id}{what}"


def _lack(day: dt.date, anyway: int, planned: int) -> str:
    short = "SHORT" if planned > anyway else "short"
    return f"{day}: {planned} {short}; {anyway} even if everything were in date"


def plan_notes(plan: WorkPlan, to: str) -> list[str]:
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
    return found


def retest_text(chosen: Sequence[Choice], page: Page) -> str:
    """Retire or retest: the sums side by side, for people to decide on."""
    head = f"{counted(len(chosen), 'cylinder')} with a hydro ahead: what keeping each costs"
    return page.answer(head, CHOICES.text(chosen, page), page.paragraphs(retest_notes(chosen)))


def retest_notes(chosen: Sequence[Choice]) -> list[str]:
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
    return found
