"""The work plan: what must hold of any plan, and small shops whose best plan is plain to see."""

from __future__ import annotations

import datetime as dt
import random
from collections import Counter
from itertools import pairwise, product

import books
import pytest
from changing import replace
from hypothesis import given, settings
from hypothesis import strategies as st

from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.log import Booking
from tankbook.records.rulerow import Obligation
from tankbook.rules.costs import costs_ahead
from tankbook.rules.demand import LentKind, WantedLoan, missing
from tankbook.rules.work_plan import Batch, WorkPlan, work_plan

TODAY = books.TODAY
AIR = Gas.parse("air")
SETTINGS = books.SETTINGS + "prices: {hydro: 60.00 USD, visual: 24.00 USD}\n"
QUIET = "retesting: {away: 21 days, batch: 4, visuals_a_week: 3, quiet: [dec, jan, feb, mar]}\n"


def cylinder(hydro: str, visual: str = "2026-11-20", **more: str) -> str:
    text = books.GOOD.replace("2024-03", hydro).replace("2026-02-09", visual)
    return books.with_lines(text, size="al80", water_volume=None, **more)


def shop(
    cylinders: dict[str, str], extra: str = "", bookings: tuple[tuple[str, int], ...] = ()
) -> Book:
    own = {k: v.replace("K118204", f"K1182{n:02}") for n, (k, v) in enumerate(cylinders.items())}
    book = books.make_book(own, settings=SETTINGS + extra)
    wanted = tuple(
        Booking(date=dt.date.fromisoformat(day), reference=f"B-{i}", size="al80", count=count)
        for i, (day, count) in enumerate(bookings)
    )
    return replace(book, bookings=wanted)


def hydros(plan: WorkPlan) -> list[Batch]:
    return [b for b in plan.batches if not b.at_bench]


def ids(batch: Batch) -> list[str]:
    return [t.id for t in batch.tasks]


def test_hydros_of_the_busy_months_go_in_the_last_quiet_weeks_together() -> None:
    """June and August hydros: the last Monday of the quiet stretch is 29 March 2027."""
    book = shop({"A-1": cylinder("2022-06"), "A-2": cylinder("2022-08")}, QUIET)
    (batch,) = hydros(work_plan(book, TODAY))
    assert ids(batch) == ["A-1", "A-2"]
    assert batch.first == dt.date(2027, 3, 29)
    assert batch.last == batch.first + dt.timedelta(20)
    assert [t.months_early(batch.first) for t in batch.tasks] == [3, 5]


def test_the_validity_given_away_is_its_share_of_the_price() -> None:
    """Three and five of sixty months of 60.00 USD: 3.00 and 5.00."""
    book = shop({"A-1": cylinder("2022-06"), "A-2": cylinder("2022-08")}, QUIET)
    plan = work_plan(book, TODAY, 10)
    assert [t.obligation for t in plan.tasks] == [Obligation.REQUALIFICATION] * 2
    assert [str(m) for m in plan.given_away] == ["8.00 USD"]


def test_a_batch_holds_no_more_than_the_settings_say_and_one_is_away_at_a_time() -> None:
    book = shop({f"A-{n}": cylinder("2022-06") for n in range(10)}, QUIET)
    batches = hydros(work_plan(book, TODAY))
    assert sorted(len(b.tasks) for b in batches) == [2, 4, 4]
    spans = sorted((b.first, b.last) for b in batches)
    assert all(one[1] < other[0] for one, other in pairwise(spans))


def test_the_bench_does_no_more_than_its_week() -> None:
    book = shop({f"A-{n}": cylinder("2026-03", "2026-07-10") for n in range(8)}, QUIET)
    plan = work_plan(book, TODAY)
    assert [len(b.tasks) for b in plan.batches] == [2, 3, 3]
    assert plan.batches[-1].first == dt.date(2027, 3, 29)
    assert plan.early == 8


def test_what_is_booked_keeps_its_cylinder_here() -> None:
    """Two cylinders, one wanted on a Saturday of the best weeks: they go one after the other."""
    both = {"A-1": cylinder("2022-06"), "A-2": cylinder("2022-06")}
    free = hydros(work_plan(shop(both, QUIET), TODAY))
    assert [ids(b) for b in free] == [["A-1", "A-2"]]
    held = work_plan(shop(both, QUIET, (("2027-04-03", 1), ("2027-03-06", 1))), TODAY)
    assert sorted(i for b in hydros(held) for i in ids(b)) == ["A-1", "A-2"]
    for batch in hydros(held):
        for day in (dt.date(2027, 4, 3), dt.date(2027, 3, 6)):
            assert not (batch.first <= day <= batch.last and len(batch.tasks) == 2)
    assert held.lacks == ()


def test_the_least_stock_counts_where_nothing_is_booked() -> None:
    both = {"A-1": cylinder("2022-06"), "A-2": cylinder("2022-06")}
    keep = QUIET.replace("quiet", "keep_ready: {al80: 1}, quiet")
    plan = work_plan(shop(both, keep), TODAY)
    assert [ids(b) for b in hydros(plan)] == [["A-1"], ["A-2"]] or [
        ids(b) for b in hydros(plan)
    ] == [["A-2"], ["A-1"]]
    assert plan.lacks == ()
    assert plan.days_wanted > 40


def test_a_shortage_that_cannot_be_helped_is_told() -> None:
    """One cylinder, wanted every week until its hydro falls due at the end of December."""
    days = tuple((str(dt.date(2026, 11, 28) + dt.timedelta(7 * n)), 1) for n in range(8))
    plan = work_plan(shop({"A-1": cylinder("2021-12")}, QUIET, days), TODAY)
    assert [ids(b) for b in hydros(plan)] == [["A-1"]]
    assert plan.lacks
    assert all(lack.planned == 1 and lack.anyway == 0 for lack in plan.lacks)


def test_what_is_overdue_goes_first_and_is_missing_until_it_is_done() -> None:
    days = (("2026-12-05", 1), ("2026-12-26", 1))
    plan = work_plan(shop({"A-1": cylinder("2021-06")}, QUIET, days), TODAY)
    (batch,) = hydros(plan)
    assert batch.first == TODAY
    assert [(str(k.day), k.anyway, k.planned) for k in plan.lacks] == [("2026-12-05", 0, 1)]


def test_a_hydro_pulled_forward_spares_the_visual_that_falls_due_after_it() -> None:
    """Visual to 20 May, hydro to June: done by April, the hydro meets both."""
    book = shop({"A-1": cylinder("2022-06", "2026-05-20")}, QUIET)
    assert [n.obligation for n in costs_ahead(book, TODAY).needs if n.id == "A-1"] == [
        Obligation.VISUAL,
        Obligation.REQUALIFICATION,
    ]
    assert [t.obligation for t in work_plan(book, TODAY).tasks] == [Obligation.REQUALIFICATION]


def test_doubles_go_together() -> None:
    sides = {"A-1": cylinder("2022-06"), "A-2": cylinder("2022-06")}
    doubles = {"DB-1": "cylinders: [A-1, A-2]\nmanifold: x\nisolator: open\nuse: rental\n"}
    book = books.make_book(sides, settings=SETTINGS + QUIET, sets=doubles)
    assert [ids(b) for b in hydros(work_plan(book, TODAY))] == [["A-1", "A-2"]]


def test_what_is_away_already_is_not_sent_again() -> None:
    text = cylinder("2021-12", status="at-test")
    text += "sent: [{on: 2026-11-20, to: Northside, for: requalification}]\n"
    plan = work_plan(shop({"A-1": text}, QUIET), TODAY)
    assert plan.already_away == ("A-1",)
    assert hydros(plan) == []


AL80, LP85 = LentKind("al80", frozenset({AIR})), LentKind("lp85", frozenset({AIR}))
NX = Gas.parse("nitrox32")
BOTH = LentKind("al80", frozenset({AIR, NX}))


@pytest.mark.parametrize(
    ("wanted", "there", "short"),
    [
        ({WantedLoan("al80", AIR): 2}, {AL80: 2}, 0),
        ({WantedLoan("al80", AIR): 3}, {AL80: 2, LP85: 5}, 1),
        ({WantedLoan("", AIR): 3}, {AL80: 2, LP85: 5}, 0),
        ({WantedLoan("", None): 1, WantedLoan("lp85", AIR): 1}, {LP85: 1, AL80: 1}, 0),
        # the one that may hold nitrox must be left for who wants nitrox, whoever asks first
        ({WantedLoan("al80", AIR): 1, WantedLoan("al80", NX): 1}, {BOTH: 1, AL80: 1}, 0),
        ({WantedLoan("al80", AIR): 1, WantedLoan("al80", NX): 1}, {BOTH: 1}, 1),
        ({WantedLoan("doubles", AIR): 1}, {LentKind("doubles hp100", frozenset({AIR})): 1}, 0),
    ],
)  # fmt: skip
def test_what_is_missing(
    wanted: dict[WantedLoan, int], there: dict[LentKind, int], short: int
) -> None:
    assert missing(Counter(wanted), Counter(there)) == short


KINDS = [LentKind(s, g) for s, g in product(("a", "b"), (frozenset({AIR}), frozenset({AIR, NX})))]
WANTS = [WantedLoan(s, g) for s, g in product(("a", "b", ""), (AIR, NX, None))]


@given(
    st.dictionaries(st.sampled_from(WANTS), st.integers(1, 3), max_size=4),
    st.dictionaries(st.sampled_from(KINDS), st.integers(0, 3), max_size=4),
)
def test_no_sharing_out_leaves_less_missing(
    wants: dict[WantedLoan, int], there: dict[LentKind, int]
) -> None:
    """Against Hall's theorem, in its form for what is left over (textbook; from memory): the most
    that any group of wants asks for beyond all that could serve it."""
    groups = [set()] + [set(g) for g in _subsets(list(wants))]
    over = [
        sum(wants[w] for w in group)
        - sum(n for k, n in there.items() if any(w.served_by(k) for w in group))
        for group in groups
    ]
    assert missing(Counter(wants), Counter(there)) == max([0, *over])


def _subsets(items: list[WantedLoan]) -> list[list[WantedLoan]]:
    found: list[list[WantedLoan]] = [[]]
    for item in items:
        found += [[*each, item] for each in found]
    return found


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000))
def test_laws_of_any_plan(seed: int) -> None:
    chance = random.Random(seed)
    made = {
        f"A-{n:02}": cylinder(
            f"{chance.randint(2021, 2022)}-{chance.randint(1, 12):02}",
            f"2026-{chance.randint(1, 11):02}-{chance.randint(1, 20):02}",
        )
        for n in range(chance.randint(1, 14))
    }
    days = tuple(
        (str(TODAY + dt.timedelta(chance.randint(1, 300))), chance.randint(1, 4))
        for _ in range(chance.randint(0, 6))
    )
    extra = QUIET if chance.random() < 0.7 else ""
    book = shop(made, extra, days)
    plan = work_plan(book, TODAY)
    needs = costs_ahead(book, TODAY).needs
    asked = Counter((n.id, n.obligation) for n in needs if n.kind == "cylinder")
    done = Counter((t.id, t.obligation) for t in plan.tasks)
    assert not done - asked
    left = asked - done
    assert all(question is Obligation.VISUAL for _, question in left)  # spared by a hydro
    for batch in plan.batches:
        assert TODAY <= batch.first <= batch.last
        for task in batch.tasks:
            assert task.late or batch.first <= task.due
        most = (3 if batch.at_bench else 4) if extra else (10 if batch.at_bench else 8)
        on_time = [t for t in batch.tasks if not t.late]
        assert len(on_time) <= most or batch.at_bench
    assert plan == work_plan(book, TODAY)  # the same records, the same plan
