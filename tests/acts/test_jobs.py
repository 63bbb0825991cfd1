"""Customers' work from the day it is taken in to the day it is collected."""

from __future__ import annotations

import datetime as dt
from typing import Any

import books
import pytest
from acting import Shelf, shelf
from changing import replace

from tankbook.acts.correct import correct
from tankbook.acts.jobs import News, collect, done, open_job, update
from tankbook.acts.striking import Wrong
from tankbook.records.log import LogLine, columns
from tankbook.records.words import JobState, Status, Work
from tankbook.rules.status import state_of, status_of
from tankbook.rules.workshop import workshop_board
from tankbook.units import Money, PartialDate

TODAY = books.TODAY
SETTINGS = books.SETTINGS + "prices: {hydro: 45.00 USD, visual: 18.50 USD}\n"
CUSTOMERS = books.GOOD.replace("use: rental", "use: customer\nowner: C-0192")


def bench(**changes: str) -> Shelf:
    made = shelf(**{"RB_014": CUSTOMERS, **changes})
    made.texts["tankbook.yaml"] = SETTINGS
    return made


def taken_in(work: str = "visual", **news: Any) -> Shelf:
    made = bench()
    wanted = News(work=tuple(Work(w) for w in work.split()), **news)
    made.do(open_job, ["RB-014"], wanted, by="MV", on=TODAY)
    return made


def job(made: Shelf, index: int = 0) -> Any:
    return made["RB-014"].jobs[index]


def test_work_taken_in_is_priced_from_the_settings_and_belongs_to_the_owner() -> None:
    made = taken_in("hydro visual", promised=dt.date(2026, 12, 1))
    got = job(made)
    assert (got.work, got.reference, str(got.price)) == (
        (Work.HYDRO, Work.VISUAL),
        "C-0192",
        "63.50 USD",
    )
    assert made.last is not None
    assert made.last.sentence == ("Taken in RB-014: hydro, visual, promised 2026-12-01, 63.50 USD")


def test_work_without_a_listed_price_has_none_until_it_is_given() -> None:
    made = taken_in("o2-clean")
    assert job(made).price is None
    assert made.last is not None
    assert "no price is recorded: give --price" in made.last.notes
    agreed = taken_in("o2-clean", price=Money.parse("30.00 USD"))
    assert str(job(agreed).price) == "30.00 USD"


@pytest.mark.parametrize(
    ("news", "said"),
    [
        (News(), "what is wanted is not said"),
        (News(work=(Work.FILL,), promised=dt.date(2026, 11, 1)), "is before 2026-11-25"),
        (News(work=(Work.FILL,), reference="Jo Bloggs"), "reads like a name"),
    ],
)
def test_work_that_cannot_be_taken_in(news: News, said: str) -> None:
    assert said in bench().refuse(open_job, ["RB-014"], news, by="MV", on=TODAY)


def test_whose_it_is_must_be_known_and_work_is_taken_in_once() -> None:
    made = bench(RB_014=CUSTOMERS.replace("owner: C-0192\n", ""))
    wanted = News(work=(Work.VISUAL,))
    assert "whose it is is not said" in made.refuse(open_job, ["RB-014"], wanted, by="MV", on=TODAY)
    again = taken_in().refuse(open_job, ["RB-014"], wanted, by="MV", on=TODAY)
    assert "that work is in hand already, since 2026-11-25" in again


@pytest.mark.parametrize("said", ["MV", "no", "will ring"])
def test_how_an_owner_was_told_of_work_is_no_initials_and_not_that_nobody_told(said: str) -> None:
    made = taken_in()
    told = made.refuse(update, ["RB-014"], News(told=said), by="MV", on=TODAY)
    assert f"--told {said}" in told
    other = bench()
    wanted = News(work=(Work.VISUAL,), reference="C-1", told=said)
    assert f"--told {said}" in other.refuse(open_job, ["RB-014"], wanted, by="MV", on=TODAY)


def test_what_an_update_replaces_stays_in_the_note() -> None:
    made = taken_in(promised=dt.date(2026, 12, 1))
    news = News(
        promised=dt.date(2026, 12, 5), state=JobState.AWAITING_PARTS, told="telephone",
        note="O-ring ordered",
    )  # fmt: skip
    made.do(update, ["RB-014"], news, by="MV", on=TODAY)
    got = job(made)
    assert (str(got.promised), state_of(got), got.told.how) == (
        "2026-12-05",
        JobState.AWAITING_PARTS,
        "telephone",
    )
    assert "steps: [{on: 2026-11-25, state: awaiting-parts}]" in made.texts["cylinders/RB-014.yaml"]
    assert got.note == "promised was 2026-12-01 until 2026-11-25; O-ring ordered"
    assert "nothing new" in made.refuse(update, ["RB-014"], News(), by="MV", on=TODAY)
    assert "jobs done" in made.refuse(
        update, ["RB-014"], News(state=JobState.READY), by="MV", on=TODAY
    )


def test_done_awaits_collection_and_says_what_nothing_bears_out() -> None:
    made = taken_in("visual fill")
    act = made.do(done, ["RB-014"], by="MV", on=TODAY)
    assert (state_of(job(made)), job(made).ready, status_of(made.book, made["RB-014"])) == (
        JobState.READY,
        TODAY,
        Status.AWAITING_COLLECTION,
    )
    assert "state:" not in made.texts["cylinders/RB-014.yaml"]
    assert [n for n in act.notes if "WARNING" in n] == [
        "RB-014: WARNING: no visual is on record since 2026-11-25",
        "RB-014: WARNING: no fill is on record since 2026-11-25",
    ]
    assert act.notes[-1].startswith("tell the owner")


@pytest.mark.parametrize(
    ("work", "shown"),
    [
        ("hydro", "requalified:\n  - {on: 2026-11-25, method: hydrostatic, by: T1}\n"),
        ("visual", "inspected:\n  - {on: 2026-11-25, by: MV, checklist: annual, result: pass}\n"),
        ("o2-clean", "cleaned:\n  - {on: 2026-11-25, to: nitrox}\n"),
    ],
)
def test_work_that_the_record_bears_out_is_not_warned_of(work: str, shown: str) -> None:
    name = shown.split(":")[0]
    text = books.with_lines(CUSTOMERS, **{name: None}) + shown
    made = bench(RB_014=text)
    made.do(open_job, ["RB-014"], News(work=(Work(work),)), by="MV", on=TODAY)
    act = made.do(done, ["RB-014"], by="MV", on=TODAY, told_how="telephone")
    assert act.notes == ()
    assert job(made).told.how == "telephone"


def test_collected_goes_back_to_its_owner_in_service() -> None:
    made = taken_in()
    made.do(done, ["RB-014"], by="MV", on=TODAY)
    made.do(collect, ["RB-014"], by="MV", on=TODAY)
    assert (state_of(job(made)), str(job(made).collected)) == (JobState.COLLECTED, "2026-11-25")
    assert "state:" not in made.texts["cylinders/RB-014.yaml"]
    assert status_of(made.book, made["RB-014"]) is Status.IN_SERVICE
    assert "has no work in hand" in made.refuse(collect, ["RB-014"], by="MV", on=TODAY)


def test_unfinished_work_is_collected_with_a_reason() -> None:
    made = taken_in()
    assert "say with --note why" in made.refuse(collect, ["RB-014"], by="MV", on=TODAY)
    made.do(collect, ["RB-014"], by="MV", on=TODAY, note="travelling tomorrow")
    assert job(made).note == "travelling tomorrow"


def test_work_that_is_not_said_to_be_ready_is_named_with_what_the_log_shows() -> None:
    made = taken_in("fill")
    no = made.refuse(collect, ["RB-014"], by="MV", on=TODAY)
    assert "its work is open; not on record: fill; say with --note why" in no
    filled = f"{TODAY}T09:00:00+00:00,RB-014,fill,500 psi,2900 psi,,air,,,MV,,C1,,,,\n"
    made.texts["fills/2026.csv"] = ",".join(columns(LogLine)) + "\n" + filled
    no = made.refuse(collect, ["RB-014"], by="MV", on=TODAY)
    assert (
        "its work is open; done, as is on record: fill: say that it is ready (`tankbook jobs done "
        "RB-014 --told HOW`), or with --note why it goes as it is" in no
    )
    made.do(done, ["RB-014"], by="MV", on=TODAY, told_how="telephone")
    made.do(collect, ["RB-014"], by="MV", on=TODAY)
    assert state_of(job(made)) is JobState.COLLECTED


def test_it_awaits_collection_only_when_all_its_work_is_ready() -> None:
    made = taken_in("visual")
    made.do(open_job, ["RB-014"], News(work=(Work.VALVE_SERVICE,)), by="MV", on=TODAY)
    said = made.refuse(done, ["RB-014"], by="MV", on=TODAY)
    assert "has 2 jobs in hand" in said
    assert "name one with --job DATE" in said


def test_two_jobs_are_told_apart_by_their_date() -> None:
    earlier = CUSTOMERS + "jobs:\n  - {on: 2026-11-20, work: [visual], reference: C-0192}\n"
    made = bench(RB_014=earlier)
    made.do(open_job, ["RB-014"], News(work=(Work.VALVE_SERVICE,)), by="MV", on=TODAY)
    made.do(done, ["RB-014"], by="MV", on=TODAY, began=PartialDate.parse("2026-11-20"))
    assert [state_of(j) for j in made["RB-014"].jobs] == [JobState.READY, JobState.OPEN]
    assert status_of(made.book, made["RB-014"]) is Status.IN_SERVICE
    later = PartialDate.parse("2026-11-25")
    made.do(done, ["RB-014"], by="MV", on=TODAY, began=later)
    assert status_of(made.book, made["RB-014"]) is Status.AWAITING_COLLECTION


def test_what_is_at_the_requalifier_is_neither_done_nor_collected() -> None:
    away = CUSTOMERS.replace(
        "status: in-service",
        "status: at-test\nsent: [{on: 2026-11-20, to: Northside, for: requalification}]\n"
        "jobs: [{on: 2026-11-19, work: [hydro], reference: C-0192}]",
    )
    made = bench(RB_014=away)
    assert "record that it is back first" in made.refuse(done, ["RB-014"], by="MV", on=TODAY)
    assert "it is not here" in made.refuse(collect, ["RB-014"], by="MV", on=TODAY, note="x")


def test_a_held_cylinder_stays_held_when_its_work_is_done_and_leaves_with_a_word() -> None:
    held = CUSTOMERS.replace(
        "status: in-service",
        "status: held\nheld: [{on: 2026-11-24, by: MV, why: dent}]\n"
        "jobs: [{on: 2026-11-20, work: [fill], reference: C-0192}]",
    )
    made = bench(RB_014=held)
    made.texts["fills/2026.csv"] = (
        f"{','.join(columns(LogLine))}\n"
        "2026-11-21T10:00:00+00:00,RB-014,fill,,3000 psi,,air,,,MV,,,,,,\n"
    )
    made.do(done, ["RB-014"], by="MV", on=TODAY)
    assert status_of(made.book, made["RB-014"]) is Status.HELD
    act = made.do(collect, ["RB-014"], by="MV", on=TODAY)
    assert act.notes == ("RB-014 leaves held: see that its owner knows, in writing",)


MOVES = (
    (20, lambda b, d: open_job(b, ["RB-014"], News(work=(Work.VISUAL,)), by="MV", on=d), JobState.OPEN),
    (21, lambda b, d: update(b, ["RB-014"], News(state=JobState.AWAITING_PARTS), by="MV", on=d), JobState.AWAITING_PARTS),
    (22, lambda b, d: update(b, ["RB-014"], News(state=JobState.OPEN), by="MV", on=d), JobState.OPEN),
    (23, lambda b, d: done(b, ["RB-014"], by="MV", on=d), JobState.READY),
    (24, lambda b, d: collect(b, ["RB-014"], by="MV", on=d), JobState.COLLECTED),
)  # fmt: skip


def test_a_job_is_told_by_days_whatever_became_of_it_since() -> None:
    """A job that was done on the 23rd was not ready on the 21st."""
    made = bench()
    for day, plan, _ in MOVES:
        made.make(plan(made.book, TODAY.replace(day=day)))
    book = replace(made.book, clock=TODAY)
    for day, _, state in MOVES:
        then = book.as_known_on(TODAY.replace(day=day))
        assert [state_of(j) for j in then.cylinders["RB-014"].jobs] == [state]
        board = workshop_board(then, TODAY.replace(day=day))
        assert [line.state for line in board.jobs] == [s for s in [state] if s != "collected"]
    assert book.as_known_on(TODAY.replace(day=19)).cylinders["RB-014"].jobs == ()


def test_a_step_that_leads_nowhere_is_refused() -> None:
    made = taken_in()
    again = made.refuse(update, ["RB-014"], News(state=JobState.OPEN), by="MV", on=TODAY)
    assert again == "RB-014: its work is open already"
    made.do(done, ["RB-014"], by="MV", on=TODAY)
    late = made.refuse(update, ["RB-014"], News(state=JobState.OPEN), by="MV", on=TODAY)
    assert late == (
        "RB-014: its work is ready since 2026-11-25; if it is not, `tankbook correct RB-014 jobs "
        "2026-11-25 --why WHY --set ready=`"
    )
    now = dt.datetime.fromisoformat("2026-11-25T12:00:00+01:00")
    wrong = Wrong("jobs", "2026-11-25", "the other cylinder", {"ready": ""})
    made.do(correct, "RB-014", wrong, by="MV", on=TODAY, now=now)
    made.do(update, ["RB-014"], News(state=JobState.AWAITING_PARTS), by="MV", on=TODAY)
    assert state_of(job(made, 1)) is JobState.AWAITING_PARTS


@pytest.mark.parametrize("state", [JobState.READY, JobState.COLLECTED])
def test_work_is_never_taken_in_as_done(state: JobState) -> None:
    news = News(work=(Work.VISUAL,), state=state)
    said = bench().refuse(open_job, ["RB-014"], news, by="MV", on=TODAY)
    assert said == "work that is taken in is not finished yet"


@pytest.mark.parametrize(
    ("method", "shown"), [("eddy-current", True), ("visual", False), ("hydrostatic", False)]
)
def test_an_eddy_current_test_is_work_that_is_taken_in(method: str, shown: bool) -> None:
    made = taken_in("eddy-current")
    tested = f"requalified:\n  - {{on: 2026-11, by: T123, method: {method}, result: pass}}\n"
    text = made.texts["cylinders/RB-014.yaml"]
    made.texts["cylinders/RB-014.yaml"] = text.replace("requalified:\n", tested)
    assert tested in made.texts["cylinders/RB-014.yaml"]
    act = made.do(done, ["RB-014"], by="MV", on=TODAY)
    assert any("no eddy current is on record" in n for n in act.notes) is not shown


FILLED = "2026-11-25T{}:00+01:00,RB-014,fill,500 psi,3000 psi,,air,,,MV,,B1,,,,\n"


def filled_at(*hours: str, jobs: str = "") -> Shelf:
    """A customer's cylinder that was filled at some hours of the day, with no work taken in."""
    card = books.with_lines(CUSTOMERS, jobs=f"[{jobs}]") if jobs else CUSTOMERS
    made = shelf(RB_014=card)
    made.texts["tankbook.yaml"] = SETTINGS
    header = ",".join(columns(LogLine)) + "\n"
    made.texts["fills/2026.csv"] = header + "".join(FILLED.format(h) for h in hours)
    return made


def left(hour: str = "", day: str = "2026-11-25") -> str:
    said = f", collected_at: '{hour}'" if hour else ""
    return f"{{on: {day}, by: MV, work: [fill], ready: 2026-11-25, collected: 2026-11-25{said}}}"


@pytest.mark.parametrize(
    ("hours", "jobs", "again"),
    [
        (["10:00"], "", True),
        # what left at an hour took along what was filled by then
        (["10:00"], left("11:00"), False),
        (["10:00"], left("10:00"), False),
        (["10:00", "10:30"], left("11:00"), False),
        (["10:00", "14:00"], left("11:00"), True),
        (["10:00", "14:00"], f"{left('11:00')}, {left('15:00')}", False),
        (["10:00", "12:00", "14:00"], f"{left('11:00')}, {left('13:00')}", True),
        # where nobody said when, each fill may have been taken along by itself
        (["10:00"], left(), False),
        (["10:00", "14:00"], left(), True),
        (["10:00", "14:00"], f"{left('11:00')}, {left()}", False),
    ],
)
def test_what_was_filled_after_it_left_is_collected_by_itself(
    hours: list[str], jobs: str, again: bool
) -> None:
    made = filled_at(*hours, jobs=jobs)
    if again:
        act = made.do(collect, ["RB-014"], by="MV", on=TODAY, at=dt.time(18, 0))
        assert any("filled on 2026-11-25 with no work taken in" in n for n in act.notes)
    told = made.refuse(collect, ["RB-014"], by="MV", on=TODAY, at=dt.time(18, 0))
    assert "has no work in hand" in told


def test_it_comes_back_and_is_filled_and_collected_again_on_one_day() -> None:
    made = filled_at("10:00")
    made.do(collect, ["RB-014"], by="MV", on=TODAY, at=dt.time(11, 0))
    made.texts["fills/2026.csv"] += FILLED.format("14:00")
    made.do(collect, ["RB-014"], by="MV", on=TODAY, at=dt.time(15, 0))
    assert [j.collected_at for j in made["RB-014"].jobs] == [dt.time(11, 0), dt.time(15, 0)]
    assert "has no work in hand" in made.refuse(collect, ["RB-014"], by="MV", on=TODAY)


@pytest.mark.parametrize(("hour", "asked"), [(9, True), (10, False), (11, False)])
def test_an_hour_before_its_fill_of_that_day_is_asked(hour: int, asked: bool) -> None:
    made = filled_at("10:00")
    at = dt.time(hour, 0)
    if asked:
        told = made.refuse(collect, ["RB-014"], by="MV", on=TODAY, at=at)
        assert "it was filled at 10:00 that day, after 09:00" in told
        assert "--note" in told
    note = "went at nine, came back and was filled" if asked else ""
    made.do(collect, ["RB-014"], by="MV", on=TODAY, at=at, note=note)
