"""Work on a valve: what is recorded, what is known of the valve after it, what is refused."""

from __future__ import annotations

import datetime as dt
from typing import Any

import acting
import books
import pytest
from acting import TODAY, Shelf

from tankbook.acts.bench import Read
from tankbook.acts.bleeding import BLEED_IT, STAYS_IN, TAKEN_FOR_FULL
from tankbook.acts.complete import complete
from tankbook.acts.correct import correct
from tankbook.acts.inspect import Look, inspect
from tankbook.acts.jobs import News, done, open_job
from tankbook.acts.striking import Wrong
from tankbook.acts.valve import work_on_valve as recorded
from tankbook.acts.walk import passed_except, steps_for
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.records.kinds import NoDisc
from tankbook.records.node import Mark, Scalar
from tankbook.records.valve import ValveWork
from tankbook.records.words import Bled, Outlet, Status, ValveDone, Work
from tankbook.rules.fill_history import contents_of
from tankbook.rules.gate import may_fill
from tankbook.units import GaugePressure, PartialDate

PSI = GaugePressure.parse
BY = {"by": "MV", "on": TODAY}
WHOLE = {
    "outlet": Outlet.YOKE,
    "thread": "3/4-14 NPSM",
    "rating": PSI("3442 psi"),
    "disc": PSI("5000 psi"),
}
FULL = "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note\n2026-11-20T09:30:00+01:00,RB-014,fill,,2900 psi,,air,,,MV,,C1,,,,\n"


@pytest.fixture(name="shelf")
def _shelf() -> Shelf:
    return acting.shelf()


def work_on_valve(
    book: Book, ids: list[str], did: ValveDone, said: dict[str, Any], *, by: str, on: dt.date,
    **how: Any,
) -> Act | Refusal:  # fmt: skip
    """The act of work of a day that says these keys of the valve."""
    entry = ValveWork(on=PartialDate.of(on), by=by, did=did, **said, **how)
    return recorded(book, ids, entry, on)


def refusals(shelf: Shelf, id_: str = "RB-014") -> set[str]:
    return {r.code for r in may_fill(shelf.book, id_, TODAY, station=False).refusals}


def test_a_changed_valve_carries_nothing_over_and_is_asked_for(shelf: Shelf) -> None:
    act = shelf.do(work_on_valve, ["RB-014"], ValveDone.CHANGED, {"outlet": Outlet.DIN_300}, **BY)
    valve = shelf["RB-014"].valve
    assert (valve.outlet, valve.thread, valve.rating, valve.disc) == (
        Outlet.DIN_300, None, None, None,
    )  # fmt: skip
    assert shelf["RB-014"].valve_.thread == "3/4-14 NPSM"  # what it came with stays readable
    assert act.sentence == "Valve changed on RB-014: outlet din-300"
    assert any("not known of this one: thread, rating, disc" in n for n in act.notes)
    assert any(BLEED_IT in n for n in act.notes)
    assert "thread-unknown" in refusals(shelf)
    shelf.do(work_on_valve, ["RB-014"], ValveDone.READ, {"thread": "3/4-14 NPSM"}, **BY)
    assert "thread-unknown" not in refusals(shelf)
    assert shelf["RB-014"].valve.outlet is Outlet.DIN_300


def test_a_wrong_thread_is_recorded_told_at_once_and_refused_by_the_gate(shelf: Shelf) -> None:
    act = work_on_valve(shelf.book, ["RB-014"], ValveDone.CHANGED, {"thread": "M25x2"}, **BY)
    assert isinstance(act, Act)
    assert any(
        n.startswith("WARNING: RB-014: neck thread 3/4-14 NPSM and valve") for n in act.notes
    )
    wrong = acting.shelf(
        **{
            "RB-014": books.GOOD
            + f"valve_work: [{{on: {TODAY}, by: MV, did: changed, thread: M25x2}}]\n"
        }
    )
    assert "thread-differ" in refusals(wrong)
    right = "{on: 2026-11-25, by: MV, did: changed, thread: 3/4-14 NPSM, outlet: yoke, rating: 3442 psi, disc: 5000 psi}"
    mended = acting.shelf(
        **{
            "RB-014": books.GOOD
            + f"valve_work: [{{on: 2026-11-24, by: MV, did: changed, thread: M25x2}}, {right}]\n"
        }
    )
    assert refusals(mended) == set()


def test_what_it_holds_is_nothing_after_the_valve_was_off_and_the_same_after_an_insert(
    shelf: Shelf,
) -> None:
    shelf.texts["fills/2026.csv"] = FULL
    shelf.do(work_on_valve, ["RB-014"], ValveDone.INSERT, {"insert_in": False}, **BY)
    shelf.do(work_on_valve, ["RB-014"], ValveDone.SERVICED, {"note": "knob"}, stayed_on=True, **BY)
    assert contents_of(shelf.book, "RB-014").pressure == PSI("2900 psi")
    assert shelf["RB-014"].valve.insert_in is False
    shelf.do(work_on_valve, ["RB-014"], ValveDone.SERVICED, {}, bled=Bled.HEARD, **BY)
    held = contents_of(shelf.book, "RB-014")
    assert (held.pressure, held.gas, held.on) == (PSI("0 psi"), None, TODAY)
    assert refusals(shelf) == set()


def test_no_flow_heard_holds_it_and_the_valve_stays_on(shelf: Shelf) -> None:
    act = shelf.do(work_on_valve, ["RB-014"], ValveDone.CHANGED, WHOLE, bled=Bled.NO_FLOW, **BY)
    card = shelf["RB-014"]
    assert card.valve_work == ()
    assert card.status is Status.HELD
    assert act.sentence == f"Held RB-014, nothing else recorded: {TAKEN_FOR_FULL}"
    assert "held for that already" in shelf.refuse(
        work_on_valve, ["RB-014"], ValveDone.CHANGED, WHOLE, bled=Bled.NO_FLOW, **BY
    )


@pytest.mark.parametrize(
    ("did", "said", "more", "told"),
    [
        (ValveDone.INSERT, {"rating": PSI("3000 psi"), "insert_in": True}, {}, "--rating: an insert"),
        (ValveDone.INSERT, {}, {}, "--insert-in yes|no"),
        (ValveDone.READ, {"note": "x"}, {}, "what was read off the valve is not said"),
        (ValveDone.READ, {"lubricant": "grease"}, {}, "--lubricant: that is work"),
        (ValveDone.CHANGED, WHOLE, {"stayed_on": True}, "--stays-on goes with --did serviced"),
        (ValveDone.SERVICED, {"disc": NoDisc.NONE}, {"stayed_on": True}, "--disc: that is done"),
        (ValveDone.INSERT, {"insert_in": True}, {"bled": Bled.HEARD}, "--bled goes with work"),
        (ValveDone.SERVICED, {"note": "a\x1b[31m"}, {}, "--note"),
        (ValveDone.SERVICED, {}, {"by": "nobody"}, "nobody is nobody's name"),
        (ValveDone.SERVICED, {}, {"by": "QQ"}, "QQ is not among the people"),
        (ValveDone.SERVICED, {}, {"by": ""}, "who did it is not said"),
        (ValveDone.CHANGED, WHOLE, {"on": dt.date(2020, 1, 1)}, "before it was made"),
    ],
)  # fmt: skip
def test_what_is_refused(
    shelf: Shelf, did: ValveDone, said: dict[str, Any], more: dict[str, object], told: str
) -> None:
    assert told in shelf.refuse(work_on_valve, ["RB-014"], did, said, **{**BY, **more})


def test_nobody_here_works_on_a_valve_that_is_away_and_a_firm_may() -> None:
    away = books.GOOD.replace("in-service", "at-repair") + (
        "sent: [{on: 2026-11-20, to: Northside Test House, for: repair}]\n"
    )
    shelf = acting.shelf(**{"RB-014": away})
    told = shelf.refuse(work_on_valve, ["RB-014"], ValveDone.CHANGED, WHOLE, **BY)
    assert "its valve was worked on (changed) on 2026-11-25, and it was away for repair" in told
    firm = {"by": "Northside Test House", "on": TODAY}
    shelf.do(work_on_valve, ["RB-014"], ValveDone.CHANGED, WHOLE, **firm)
    assert shelf["RB-014"].valve.outlet is Outlet.YOKE


def test_a_job_is_shown_by_the_service_of_its_valve(shelf: Shelf) -> None:
    shelf.do(open_job, ["RB-014"], News(work=(Work.VALVE_SERVICE,), reference="C-1"), **BY)
    assert any(
        "no valve service is on record" in n for n in done(shelf.book, ["RB-014"], **BY).notes
    )
    shelf.do(work_on_valve, ["RB-014"], ValveDone.INSERT, {"insert_in": True}, **BY)
    assert any(
        "no valve service is on record" in n for n in done(shelf.book, ["RB-014"], **BY).notes
    )
    shelf.do(work_on_valve, ["RB-014"], ValveDone.SERVICED, {}, bled=Bled.HEARD, **BY)
    assert not any("on record since" in n for n in done(shelf.book, ["RB-014"], **BY).notes)


def test_struck_out_it_counts_for_nothing(shelf: Shelf) -> None:
    shelf.do(work_on_valve, ["RB-014"], ValveDone.CHANGED, {"outlet": Outlet.M26}, **BY)
    wrong = Wrong("valve-work", f"{TODAY}", "of another card")
    now = dt.datetime(2026, 11, 25, 12, tzinfo=dt.UTC)
    shelf.do(correct, "RB-014", wrong, now=now, **BY)
    assert shelf["RB-014"].valve == shelf["RB-014"].valve_
    assert refusals(shelf) == set()


def test_what_a_look_reads_of_another_valve_is_its_own(shelf: Shelf) -> None:
    shelf.do(work_on_valve, ["RB-014"], ValveDone.CHANGED, WHOLE, **BY)
    read = Read("3/4-14 NPSM", "3/4-14 NPSM", rating=PSI("3500 psi"), lubricant="oxygen-compatible")
    steps = steps_for(shelf.book.checklists["annual"], shelf["RB-014"])
    looks = [Look("RB-014", passed_except(steps, {}), read)]
    shelf.do(inspect, looks, checklist="annual", bled=Bled.HEARD, **BY)
    card = shelf["RB-014"]
    assert card.valve_.rating == PSI("3442 psi")
    assert (card.valve.rating, card.valve.outlet) == (PSI("3500 psi"), Outlet.YOKE)
    assert card.valve_work[-1].did is ValveDone.READ


def test_a_card_is_completed_by_what_is_seen_of_the_valve_that_is_on(shelf: Shelf) -> None:
    shelf.do(work_on_valve, ["RB-014"], ValveDone.CHANGED, {"outlet": Outlet.YOKE}, **BY)
    place = Mark(0, 1, 1)
    given = {"valve.rating": Scalar("3442 psi", place, place)}
    shelf.do(complete, "RB-014", given, **BY)
    assert shelf["RB-014"].valve.rating == PSI("3442 psi")
    assert shelf["RB-014"].valve_work[-1].did is ValveDone.READ


def test_both_sides_of_a_set(shelf: Shelf) -> None:
    act = shelf.do(work_on_valve, ["DB-02"], ValveDone.CHANGED, WHOLE, **BY)
    assert act.sentence.startswith("Valve changed on RB-015, RB-016: ")
    assert all(shelf[id_].valve.outlet is Outlet.YOKE for id_ in ("RB-015", "RB-016"))


@pytest.mark.parametrize(
    ("filled", "work", "read", "asked"),
    [
        ("2026-11-20", "2026-11-22", "2026-11-23", False),
        ("2026-11-20", "2026-11-20", "2026-11-20", False),
        ("2026-11-20", "2026-11-22", "2026-11-21", True),
        ("2026-11-22", "2026-11-22", "2026-11-23", True),  # it was filled after that, perhaps
        ("2026-11-22", "2026-11-20", "2026-11-23", True),
        ("2026-11-20", "2026-11", "2026-11-23", True),
    ],
)
def test_nobody_looks_inside_for_having_read_nothing_after_the_valve_was_off(
    filled: str, work: str, read: str, asked: bool
) -> None:
    card = f"{books.GOOD}valve_work: [{{on: {work}, by: MV, did: serviced, bled: heard}}]\n"
    shelf = acting.shelf(**{"RB-014": card})
    line = f"{read}T18:00:00+01:00,RB-014,reading,,0 psi,,,,,MV,,,,,,\n"
    shelf.texts["fills/2026.csv"] = FULL.replace("2026-11-20T09", f"{filled}T09") + line
    assert ("returned-empty" in refusals(shelf)) is asked


@pytest.mark.parametrize(
    ("how", "differs"),
    [
        ("stayed_on: yes, bled: heard", True),
        ("stayed_on: yes, bled: valve-left-open", True),
        ("stayed_on: yes, bled: no-flow", False),
        ("bled: heard", False),
        ("stayed_on: no, bled: heard", False),
        ("stayed_on: yes", False),
    ],
)
def test_a_valve_that_stayed_on_let_nothing_out(how: str, differs: bool) -> None:
    card = f"{books.GOOD}valve_work: [{{on: 2026-11-22, by: MV, did: serviced, {how}}}]\n"
    assert ("valve-work-differs" in refusals(acting.shelf(**{"RB-014": card}))) is differs


def test_a_service_of_which_nobody_says_how_it_was_bled_empties_nothing() -> None:
    """Its valve may have stayed on, and what is in it may be bad air."""
    for said, empties in (("", False), (", bled: no-flow", False), (", bled: heard", True)):
        card = f"{books.GOOD}valve_work: [{{on: 2026-11-22, by: MV, did: serviced{said}}}]\n"
        shelf = acting.shelf(**{"RB-014": card})
        shelf.texts["fills/2026.csv"] = FULL
        held = contents_of(shelf.book, "RB-014").pressure
        assert (held is not None and held.psi == 0) is empties, said


@pytest.mark.parametrize(
    ("how", "told"), [({}, True), ({"bled": Bled.HEARD}, False), ({"stayed_on": True}, False)]
)
def test_a_service_that_empties_nothing_says_so(
    shelf: Shelf, how: dict[str, Any], told: bool
) -> None:
    act = shelf.do(work_on_valve, ["RB-014"], ValveDone.SERVICED, {}, **BY, **how)
    assert any(STAYS_IN in note for note in act.notes) is told


@pytest.mark.parametrize("did", [ValveDone.CHANGED, ValveDone.FITTED, ValveDone.SERVICED])
@pytest.mark.parametrize("by", ["MV", "Northside Valves"])
def test_of_what_is_full_on_record_it_is_asked_how_it_was_bled(
    shelf: Shelf, did: ValveDone, by: str
) -> None:
    """Its old gas is never left on record behind a valve that was off; the mend works as typed."""
    shelf.texts["fills/2026.csv"] = FULL
    asked = shelf.refuse(work_on_valve, ["RB-014"], did, WHOLE, by=by, on=TODAY)
    assert "its valve came off, and 2900 psi is in it on record: say how it was bled" in asked
    assert ("--stays-on" in asked) is (did is ValveDone.SERVICED)
    empty = FULL.splitlines()[-1].replace("fill,,2900 psi,,air", "reading,,0 psi,,")
    for log, bled in ((FULL, Bled.HEARD), (f"{FULL}{empty.replace('T09', 'T10')}\n", None)):
        shelf.texts["fills/2026.csv"] = log
        entry = {"bled": bled} if bled else {}
        act = work_on_valve(shelf.book, ["RB-014"], did, WHOLE, by=by, on=TODAY, **entry)
        assert isinstance(act, Act), act


def test_what_was_lawful_under_the_valve_of_its_day_stays_so() -> None:
    card = (
        books.GOOD.replace("specification: [DOT-3AL, TC-3ALM]", "specification: [DOT-3AA]")
        .replace("material: aluminium\nalloy: 6061", "material: steel")
        .replace("service_pressure: 3000 psi", "service_pressure: 2400 psi")
        .replace("test_pressure: 5000 psi", "test_pressure: 4000 psi")
        .replace("disc: 5000 psi", "disc: 4000 psi")
        .replace(
            "method: hydrostatic, by: maker}",
            "method: hydrostatic, by: T123, stamp: 03 T123 24 +, plus: yes}",
        )
    )
    work = "valve_work: [{on: 2026-11-22, by: MV, did: changed, thread: 3/4-14 NPSM, outlet: yoke, rating: 3442 psi}]\n"
    for text, refused in ((card, set()), (card + work, set())):
        shelf = acting.shelf(**{"RB-014": text})
        shelf.texts["fills/2026.csv"] = FULL.replace("2900 psi", "2640 psi")
        assert refusals(shelf) == refused


@pytest.mark.parametrize(
    ("by", "code"),
    [
        (", by: MV", None),
        (", by: Northside Valves", None),
        (", by: ZZ", "refused"),
        (", by: nobody", "refused"),
        ("", "told"),
    ],
)
@pytest.mark.parametrize("looked", [False, True])
def test_work_on_a_valve_is_somebodys(by: str, code: str | None, looked: bool) -> None:
    """Which valve is on, and that nothing is in it, rests on the word of whoever did it."""
    valve = 'outlet: yoke, thread: "3/4-14 NPSM", rating: 3442 psi, disc: 5000 psi, bled: heard'
    card = f"{books.GOOD}valve_work: [{{on: 2026-11-22{by}, did: changed, {valve}}}]\n"
    if looked:
        look = "{on: 2026-11-23, by: MV, checklist: annual, result: pass}"
        card = card.replace("inspected:\n", f"inspected:\n  - {look}\n", 1)
        assert look in card
    shelf = acting.shelf(**{"RB-014": card})
    answer = may_fill(shelf.book, "RB-014", TODAY, station=False)
    told = {r.code for r in answer.warnings}
    wanted = None if looked else code
    assert ("valve-work-unsigned" in {r.code for r in answer.refusals}) is (wanted == "refused")
    assert ("valve-work-unsigned" in told) is (wanted == "told")
    shelf.texts["fills/2026.csv"] = FULL
    empty = contents_of(shelf.book, "RB-014").pressure == PSI("0 psi")
    assert empty is (looked or code is None)
