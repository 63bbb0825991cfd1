"""A day: sessions one after another, each cylinder at its hour. What a hand may do is in test_moves."""

from __future__ import annotations

import random
from itertools import pairwise
from math import inf
from typing import Any

import pytest
from changing import replace
from drawn_sessions import day_of, planned_day, pumped
from every_day import Told, best_of_all, removed, summed

from tankbook.filling import (
    Demand,
    Favour,
    Plan,
    PlanAct,
    Session,
    day_course,
    equation,
    plan,
    plan_day,
)
from tankbook.filling.plan_form import as_json
from tankbook.filling.state_table import make_table

SEEDS = range(5)
by_seed = pytest.mark.parametrize("seed", SEEDS)


def ready(made: Plan) -> dict[str, float | None]:
    """When each cylinder is removed full."""
    assert made.day is not None
    return {one.id: one.ready for one in made.day.cylinders}


@by_seed
def test_sessions_follow_each_other_and_wait_for_what_comes(seed: int) -> None:
    session, demands = day_of(seed)
    made = planned_day(seed)[1]
    now, loads = 0.0, {n: load["positions"] for n, load in enumerate(made["loads"], 1)}
    seen: list[str] = []
    for one in made["day"]["sessions"]:
        assert one["from_minutes"] >= now - 1e-6
        now = one["until_minutes"]
        for load in one["loads"]:
            for id_ in loads[load]:
                assert demands[id_].comes <= one["from_minutes"] + 1e-6
                seen.append(id_)
    assert now == pytest.approx(made["session_minutes"], abs=1e-5)
    assert len(seen) == len(set(seen))
    full = {one["id"] for one in made["cylinders"] if one["full"]}
    for one in made["day"]["cylinders"]:
        assert (one["ready_minutes"] is not None) is (one["id"] in full)
        assert one["ready_minutes"] is None or one["comes_minutes"] < one["ready_minutes"] <= now
    assert {one["id"] for one in made["day"]["cylinders"]} == {v.id for v in session.vessels}


@by_seed
def test_a_later_need_makes_no_earlier_readiness_worse(seed: int) -> None:
    session, demands = day_of(seed)
    more = replace(session.vessels[0], id="more")
    last = max((d.needed for d in demands.values() if d.needed is not None), default=0.0)
    dated = {id_: d for id_, d in demands.items() if d.needed is not None}
    only = replace(session, vessels=tuple(v for v in session.vessels if v.id in dated))
    if not only.vessels:
        return
    wider = replace(only, vessels=(more, *only.vessels))
    first = plan_day(only, dated)
    before, late = ready(first), missed(first)
    after = ready(plan_day(wider, {**dated, "more": Demand(needed=last + 60)}))
    assert {id_: after[id_] for id_ in before} == before
    made = plan_day(wider, dated)
    after = ready(made)
    assert missed(made) <= late
    assert all((after[id_] or inf) < (before[id_] or inf) + 1e-6 for id_ in late)
    assert made.day is not None
    assert made.day.meanwhile or {id_: after[id_] for id_ in before} == before


@by_seed
def test_one_hour_for_all_is_one_session(seed: int) -> None:
    session, _ = day_of(seed)
    whole, one = plan_day(session, {}), plan(session)
    assert whole.day is not None
    assert replace(whole, day=None) == one
    assert [s.begins for s in whole.day.sessions] == [0.0]


def test_no_hour_is_missed_for_the_sake_of_what_is_left() -> None:
    """Where all can be ready at their hours they are, however much more is left later: no session
    is longer than its own hour allows, nor than that of a later one."""
    session = pumped(20)
    idle = plan(replace(session, compressor=None))
    by = idle.session_minutes + 1
    assert plan(session).session_minutes > by
    hours = {vessel.id: Demand(needed=by) for vessel in session.vessels}
    assert missed(plan_day(session, hours)) == set()
    more = tuple(replace(session.vessels[0], id=f"more{n}") for n in range(2))
    wider = replace(session, vessels=(*session.vessels, *more))
    last = plan(session).session_minutes + 8
    hours = {vessel.id: Demand(needed=last - 0.2) for vessel in session.vessels}
    later = {each.id: Demand(needed=last - 0.1 * n) for n, each in enumerate(more)}
    unpumped = plan_day(replace(wider, compressor=None), {**hours, **later})
    assert missed(unpumped) == set()
    assert missed(plan_day(wider, {**hours, **later})) == set()


def missed(made: Plan) -> set[str]:
    """Those that are not ready at their hours."""
    assert made.day is not None
    return {one.id for one in made.day.cylinders if not one.in_time}


@by_seed
def test_the_compressor_is_stopped_for_no_moment(seed: int) -> None:
    """Where no time passes until it is started again, it feeds on."""
    stopped = False
    for step in planned_day(seed)[1]["steps"]:
        feeds = [m["turn"] for m in step["moves"] if m["part"] == "feed valve"]
        assert not (stopped and feeds[-1:] == ["open"])
        if step["act"] == "feed a bank":
            stopped = feeds == ["close"]
        elif step["act"] != "back the regulator off":
            stopped = False


def test_it_is_fed_while_it_is_waited(make: Any) -> None:
    """Within the compressor's limits, to no more than a bank may hold, and with it stopped after."""
    banks = [
        make.bank(f"B{n}", 48, p, limit=make.psi(4500)) for n, p in enumerate((900, 2300, 4400))
    ]
    vessels = [make.vessel(name, 500) for name in ("A", "B")]
    session = make.session(
        banks, vessels, compressor=make.compressor(7), positions=make.positions(2, 0)
    )
    hours = {"A": Demand(needed=60), "B": Demand(comes=180, needed=210)}
    made, idle = plan_day(session, hours), plan_day(make.changed(session, compressor=None), hours)
    waits = [step for step in made.steps if step.act is PlanAct.NEXT]
    assert sum(step.minutes for step in waits) == pytest.approx(
        180 - (made.day.sessions[0].ends if made.day else 0)
    )
    fed = sum(each.mol for step in waits for each in step.fed)
    assert fed > 0
    for bank in made.banks:
        assert bank.after.psi <= 4500 + 1e-6
    assert made.full_fills > idle.full_fills
    weary = make.compressor(7, longest_run=make.minutes(20), rest=make.minutes(40))
    half = plan_day(make.changed(session, compressor=weary), hours)
    less = sum(each.mol for step in half.steps for each in step.fed)
    assert 0 < less < 0.8 * sum(each.mol for step in made.steps for each in step.fed)


def test_when_to_begin(make: Any) -> None:
    """As late as leaves every one in time: a session that waits takes up as much of a delay."""
    session = make.session(
        [make.bank("B1", 200, 5000)], [make.vessel("A", 500), make.vessel("B", 500)]
    )

    def begin(a: Demand, b: Demand) -> tuple[bool, float | None, dict[str, float | None]]:
        made = plan_day(session, {"A": a, "B": b})
        assert made.readiness is not None
        return made.readiness.in_time, made.readiness.start_within, ready(made)

    def earlier(a: Demand, b: Demand) -> float | None:
        made = plan_day(session, {"A": a, "B": b})
        assert made.day is not None
        return made.day.earlier

    yes, within, at = begin(Demand(needed=60), Demand(needed=90))
    assert yes
    assert at["A"] is not None
    assert at["B"] is not None
    assert within == pytest.approx(min(60 - at["A"], 90 - at["B"]))
    _, within, at = begin(Demand(needed=100), Demand(comes=60, needed=120))
    assert at["A"] is not None
    assert within == pytest.approx(100 - at["A"])
    no, within, _ = begin(Demand(needed=60), Demand(comes=60, needed=61))
    assert (no, within) == (False, None)
    assert earlier(Demand(needed=60), Demand(comes=60, needed=61)) is None
    assert earlier(Demand(needed=60), Demand(needed=90)) is None
    by = earlier(Demand(needed=5), Demand(needed=10))
    assert by is not None
    late = plan_day(session, {"A": Demand(needed=5 + by), "B": Demand(needed=10 + by)})
    assert late.readiness is not None
    assert late.readiness.start_within == pytest.approx(0, abs=1e-9)


def test_what_cannot_be_filled_holds_nobody_up(make: Any) -> None:
    """One that is full already, or whose reading is missing, is waited for by nobody."""
    vessels = [make.vessel("A", 500), make.vessel("full", 2900), make.vessel("unread", None)]
    session = make.session([make.bank("B1", 200, 5000)], vessels)
    late = Demand(comes=300, needed=400)
    made = plan_day(session, {"full": late, "unread": late, "A": Demand(needed=500)})
    assert {one.id for one in made.unfilled} == {"full", "unread"}
    at = ready(made)["A"]
    assert at is not None
    assert at < 60


def test_nothing_is_fed_for_cylinders_that_cannot_be_filled(make: Any) -> None:
    """What the banks end with is what the steps of some load leave, whoever comes last."""
    low, high = (
        make.bank(*each, limit=make.psi(4500)) for each in (("B1", 90, 2000), ("B2", 90, 3600))
    )
    weak = make.compressor(8, 2500)
    vessels = [make.vessel("A", 500), make.vessel("B", 500)]
    session = make.session([low], vessels, compressor=weak, positions=make.positions(1, 0))
    made = plan_day(session, {"B": Demand(comes=300, needed=400)})
    numbers = {load.number for load in made.loads}
    assert {one.id for one in made.unfilled} == {"A", "B"}
    assert all(step.load in numbers for step in made.steps)
    assert [bank.after.psi for bank in made.banks] == pytest.approx([2000])
    session = make.changed(session, banks=(low, high))
    made = plan_day(session, {"A": Demand(needed=200), "B": Demand(comes=300, needed=400)})
    numbers = {load.number for load in made.loads}
    assert all(step.load in numbers for step in made.steps)
    assert made.day is not None
    assert made.session_minutes == made.day.sessions[-1].ends


def test_one_that_is_full_already_is_ready_when_it_comes(make: Any) -> None:
    vessels = [make.vessel("A", 500), make.vessel("full", 2900)]
    session = make.session([make.bank("B1", 200, 5000)], vessels)
    made = plan_day(session, {"full": Demand(comes=30, needed=400)})
    assert ready(made)["full"] == 30
    assert made.readiness is None
    made = plan_day(session, {"full": Demand(comes=30, needed=400), "A": Demand(needed=300)})
    assert made.readiness is not None
    assert made.readiness.in_time
    assert made.readiness.start_within == pytest.approx(300 - (ready(made)["A"] or 0))


@by_seed
def test_it_is_waited_at_a_stretch(seed: int) -> None:
    """One wait for each bank that is fed, not one for every minute in which its gauge is held."""
    steps = [s for s in planned_day(seed)[1]["steps"] if s["act"] != PlanAct.DRAIN.value]
    waits = {PlanAct.NEXT.value, PlanAct.RAISE.value}
    for before, after in pairwise(steps):
        assert before["act"] not in waits or after["act"] != before["act"]


def test_the_gauge_of_a_bank_that_is_fed_is_told_warm(make: Any) -> None:
    """It shows more than it will when it is cold, and no more than it may."""
    banks = [make.bank(f"B{n}", 48, p, limit=make.psi(4500)) for n, p in enumerate((900, 4300))]
    session = make.session(
        banks, [make.vessel("A", 500), make.vessel("B", 500)], compressor=make.compressor(7)
    )
    for comes, heat in ((60, True), (60, False), (240, True)):
        day = plan_day(make.changed(session, heat=heat), {"B": Demand(comes=comes, needed=300)})
        fed = [each for s in day.steps if s.act is PlanAct.NEXT for each in s.fed]
        assert fed
        assert all(each.shows.psi <= 4500 + 1e-6 for each in fed)
        warmer = fed[-1].shows.psi - fed[-1].after.psi
        assert (warmer > 5) is (comes == 60 and heat)


def test_how_long_the_compressor_may_run_is_told_wherever_it_feeds(make: Any) -> None:
    """In a session, and where it feeds a bank only while it is waited."""
    pump = make.compressor(7, longest_run=make.minutes(20), rest=make.minutes(15))
    banks = [make.bank("B1", 48, 4000, limit=make.psi(4500))]
    vessels = [make.vessel("A", 500), make.vessel("B", 500)]
    for running, told in ((pump, True), (make.compressor(7), False)):
        session = make.session(banks, vessels, compressor=running)
        for made in (plan(session), plan_day(session, {"B": Demand(comes=240)})):
            assert any(step.act is PlanAct.FEED for step in made.steps)
            said = [each for each in made.cautions if "20 min at a stretch" in each]
            assert len(said) == told
            assert sum("log it as raised" in each for each in made.cautions) == 1


LEFT_AFTER_A_WAIT = 7
"""Full fills, where the compressor does something for the last cylinder as well."""


def test_a_bank_that_is_raised_in_a_wait_gives_something(make: Any) -> None:
    """Below every cylinder in the morning, it is not said to give nothing where it is fed."""
    banks = [
        make.bank("B1", 50, 900, limit=make.psi(4500)),
        make.bank("B2", 50, 3300, limit=make.psi(4500)),
    ]
    vessels = [make.vessel("A", 1500), make.vessel("B", 1500)]
    session = make.session(banks, vessels, compressor=make.compressor(14), heat=True)
    made = plan_day(session, {"A": Demand(needed=60), "B": Demand(comes=300, needed=400)})
    assert "B1" in {fed.bank for step in made.steps for fed in step.fed}
    assert made.full_fills >= LEFT_AFTER_A_WAIT
    assert not any("B1 is below every cylinder" in each for each in made.cautions)
    alone = plan(make.changed(session, compressor=None))
    assert any("B1 is below every cylinder" in each for each in alone.cautions)


# --- where not all can be in time


def tight(seed: int, size: int) -> tuple[Session, dict[str, Demand]]:
    """A few cylinders without a compressor, at hours of which not all can be kept."""
    chance = random.Random(f"tight {seed}")
    drawn = (pumped(chance.randrange(10**6)) for _ in range(100))
    session = next(each for each in drawn if len(each.vessels) >= size)
    session = replace(session, compressor=None, heat=False, vessels=session.vessels[:size])
    whole = plan(session).session_minutes
    found = {}
    for vessel in session.vessels:
        comes = chance.choice([0.0, 0.0, 0.0, 20.0, 45.0])
        hours = [None, comes + 15, comes + whole / 2, whole / 2, whole * 0.8]
        found[vessel.id] = Demand(comes=comes, needed=chance.choice(hours))
    return session, found


def told_of(made: Plan, demands: dict[str, Demand]) -> Told:
    """What became of those of a day by its plan."""
    at = {id_: minute for id_, minute in ready(made).items() if minute is not None}
    return summed(at, demands, list(ready(made)))


@pytest.mark.parametrize("seed", range(6))
def test_no_other_course_leaves_fewer_late(seed: int) -> None:
    session, demands = tight(seed, 4 if seed == 3 else 3)
    made, best = plan_day(session, demands), best_of_all(session, demands)
    assert told_of(made, demands)[:2] == best[:2]
    assert told_of(made, demands).not_late == pytest.approx(best.not_late, abs=len(demands))


@pytest.mark.parametrize("seed", [0, 3, 6, 7])
def test_a_day_is_one_whatever_the_order_of_its_cylinders(seed: int) -> None:
    session, demands = tight(seed, 3)
    turned = replace(session, vessels=session.vessels[::-1])
    back = dict(reversed(demands.items()))
    assert as_json(plan_day(turned, back)) == as_json(plan_day(session, demands))


@pytest.mark.parametrize("pump", [False, True])
def test_sessions_of_one_hour_are_cut_where_that_saves_one(make: Any, *, pump: bool) -> None:
    """All are needed at one hour, by which two can be ready, in a load, or the slow one alone."""
    vessels = [make.vessel("A", 500), make.vessel("B", 500)]
    slow = make.vessel("C", 500, 2600, marked=2640, fill_rate=make.rate(60))
    session = make.session(
        [make.bank("B1", 200, 5000, limit=make.psi(5000))],
        [*vessels, slow],
        positions=make.positions(2, 0),
        compressor=make.compressor(7) if pump else None,
    )
    pair = plan(make.changed(session, vessels=tuple(vessels))).session_minutes

    def at(hour: float) -> Plan:
        return plan_day(session, {each: Demand(needed=hour) for each in "ABC"})

    made = at(pair + 1)
    assert missed(made) == {"C"}
    assert made.day is not None
    assert made.day.chosen
    assert made.day.earlier is not None
    assert missed(at(pair + 1 + made.day.earlier)) == set()
    assert missed(at(pair + made.day.earlier)) == {"C"}
    assert not at(300).day.chosen  # type: ignore[union-attr]


def test_the_hours_are_those_of_the_steps() -> None:
    """What is told as ready is the end of the step by which it is removed."""
    session, demands = tight(3, 3)
    made = plan_day(session, demands)
    assert made.day is not None
    for part in made.day.sessions:
        loads = [made.loads[n - 1] for n in range(part.first, part.last + 1)]
        shift = {one.number: n for n, one in enumerate(loads, 1)}
        steps = [replace(s, load=shift[s.load]) for s in made.steps
                 if s.load in shift and s.act is not PlanAct.NEXT]  # fmt: skip
        alone = replace(made, loads=tuple(loads), steps=tuple(steps))
        for id_, at in removed(alone, part.begins).items():
            assert ready(made)[id_] == pytest.approx(at)


def test_the_sheet_of_a_gas_is_made_once_for_a_day(
    make: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Sessions on the same banks, sketched or planned, ask for the same; each counts its calls."""
    made: list[tuple[float, ...]] = []

    def noted(at: Any, under: Any, *limits: float) -> Any:
        made.append(limits)
        return make_table(at, under, *limits)

    monkeypatch.setattr(equation, "make_table", noted)
    equation._sheet_of.cache_clear()
    vessels = [make.vessel("A", 500), make.vessel("B", 500)]
    session = make.session([make.bank("B1", 200, 5000)], vessels, heat=True)
    demands = {"A": Demand(needed=5), "B": Demand(needed=7)}
    first, again = plan_day(session, demands), plan_day(session, demands)
    assert len(made) == len(set(made)) > 0
    assert first.evaluations == again.evaluations


# --- while it is waited


def test_those_needed_at_no_hour_are_filled_while_it_is_waited(make: Any) -> None:
    """All where the wait is long enough, else those that it is; none where it is for none."""
    vessels = [make.vessel("A", 500), *(make.vessel(f"L{n}", 500) for n in range(3))]
    session = make.session([make.bank("B1", 400, 5000)], vessels, positions=make.positions(1, 0))
    one = plan(make.changed(session, vessels=tuple(vessels[:1]))).session_minutes
    for comes, meanwhile in ((3 * one + 1, 3), (2 * one + 1, 2), (one - 1, 0)):
        made = plan_day(session, {"A": Demand(comes=comes, needed=comes + one + 0.5)})
        assert made.day is not None
        assert missed(made) == set()
        assert len(made.day.meanwhile) == meanwhile
        assert made.full_fills == plan_day(session, {}).full_fills
        at = ready(made)
        assert sum((at[id_] or 0) <= comes for id_ in made.day.meanwhile) == meanwhile
        assert made.session_minutes == pytest.approx(comes + (4 - meanwhile) * one, abs=0.1)


def test_what_another_needs_is_not_given_away_while_it_is_waited(make: Any) -> None:
    """One bank is good for one alone, and that is the one with an hour."""
    vessels = [make.vessel("A", 500), make.vessel("L", 500)]
    session = make.session([make.bank("B1", 60, 3500)], vessels)
    made = plan_day(session, {"A": Demand(comes=100, needed=150)})
    assert made.day is not None
    assert made.day.meanwhile == ()
    assert missed(made) == set()
    assert ready(made)["L"] is None


SOONER_DONE = 40.0
"""Minutes; by way of B0 they are 42 where time is favoured, and 70 where gas is."""


@pytest.mark.parametrize("favour", list(Favour))
def test_the_bank_is_fed_that_the_next_session_gains_most_by(make: Any, favour: Favour) -> None:
    """B1 is above the target sooner, and they are filled directly in the end. Feeding B0 takes longer;
    where gas is favoured it leaves a fill more, in half an hour more, in which the compressor makes
    as much for the other."""
    banks = [make.bank(f"B{n}", 50, p, limit=make.psi(4500)) for n, p in enumerate((1200, 2000))]
    vessels = [make.vessel(name, 500) for name in "ABC"]
    session = make.session(banks, vessels, compressor=make.compressor(5), favour=favour)
    made = plan_day(session, {name: Demand(comes=20, needed=400) for name in "ABC"})
    fed = {each.bank for s in made.steps if s.act is PlanAct.NEXT for each in s.fed}
    assert fed == {"B1"}
    assert made.session_minutes < SOONER_DONE


def test_courses_alike_but_for_ids_are_sketched_once(
    make: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    gone: list[tuple[Any, ...]] = []
    sketch = day_course._Days._one_more

    def told(day: Any, before: Any, vessels: Any) -> Any:
        banks = tuple(bank.reading.pa for bank in before.session.banks)
        gone.append((banks, before.now, *(v.start.pa for v in vessels)))
        return sketch(day, before, vessels)

    monkeypatch.setattr(day_course._Days, "_one_more", told)
    vessels = [make.vessel(f"C{n}", (500, 900)[n % 2]) for n in range(6)]
    banks = [make.bank("B1", 60, 3500), make.bank("B2", 60, 4000)]
    session = make.session(banks, vessels, positions=make.positions(2, 0))
    made = plan_day(session, {v.id: Demand(needed=12) for v in vessels})
    assert missed(made)
    assert len(gone) == len(set(gone)) > 0
