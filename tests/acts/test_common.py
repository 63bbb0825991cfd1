"""What the acts share: entries as written, the status that follows, and the way to a value."""

from __future__ import annotations

import datetime as dt

import acting
import books
import pytest
from acting import TODAY
from changing import replace
from hypothesis import given
from hypothesis import strategies as st

from tankbook.acts.common import (
    Draft,
    as_text,
    cylinders_of,
    line_reasons,
    named,
    signer_reasons,
    trail_of,
    uncertified,
    written,
)
from tankbook.ledger.events import parse
from tankbook.records.edits import SetValue
from tankbook.records.entries import (
    HandedOver,
    Held,
    Inspected,
    JobStep,
    Rejected,
    Rented,
    Requalified,
    Sent,
    StepFinding,
    Told,
)
from tankbook.records.fields import NodeReader, Record, read
from tankbook.records.words import (
    InspectionResult,
    JobState,
    Method,
    SentFor,
    Status,
    StepResult,
    TestResult,
    ValvePosition,
)
from tankbook.records.written import file_text
from tankbook.rules.status import worked_out
from tankbook.units import GaugePressure, Money, PartialDate, Torque, Volume

ON = PartialDate.parse("2026-02-09")
ENTRIES: list[Record] = [
    Held(on=ON, by="MV", why="dent", note="by the foot", at=dt.time(16, 30)),
    Requalified(on=PartialDate.parse("2026-02"), by="T123", method=Method.HYDROSTATIC, plus=True),
    Requalified(
        on=ON,
        method=Method.ULTRASONIC,
        result=TestResult.FAIL,
        test_pressure=GaugePressure.of(5000, "psi"),
        total_expansion=Volume.parse("0.0551 L"),
    ),
    Inspected(
        on=ON,
        by="MV",
        checklist="annual",
        result=InspectionResult.HOLD,
        findings=(StepFinding(step="boot", result=StepResult.NOTE, count=2, note="a: b, c"),),
        torque=Torque.parse("60 N m"),
    ),
    Sent(on=ON, to="Northside", for_=SentFor.REPAIR, back=dt.date(2026, 3, 1)),
    Rented(on=ON, to="B-1", valve=ValvePosition.OPEN, pressure=GaugePressure.of(0, "bar")),
    HandedOver(on=ON, to="C-1", price=Money.parse("18.50 USD")),
    Rejected(on=ON, by="MV", why="pit", told=Told(on=TODAY, by="MV", how="letter")),
]


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda e: f"{e.title}-{ENTRIES.index(e)}")
def test_what_is_written_reads_back_as_it_was(entry: Record) -> None:
    text = file_text(written(entry))
    node, findings = parse(text, "entry.yaml")
    reader = NodeReader("entry.yaml", list(findings))
    assert read(type(entry), node, reader) == entry
    assert reader.findings == []


def test_day_and_initials_come_first_and_defaults_are_left_out() -> None:
    assert list(written(ENTRIES[0])) == ["on", "by", "why", "at", "note"]
    assert written(ENTRIES[1]) == {
        "on": "2026-02",
        "by": "T123",
        "method": "hydrostatic",
        "plus": "yes",
    }


def test_an_absent_value_is_never_written() -> None:
    with pytest.raises(TypeError):
        as_text(None)


@given(st.text(max_size=20))
def test_only_one_line_of_plain_text_will_do(text: str) -> None:
    if not line_reasons(why=text):
        assert text.strip()
        assert text.isprintable()


def test_a_list_of_one_without_its_dash_has_no_place_number() -> None:
    book = books.make_book(
        {
            "A": books.GOOD
            + "held: {on: 2026-02-09, why: dent}\nsent:\n  - {on: 2026-02, to: N, for: repair}\n"
        }
    )
    cylinder = book.cylinders["A"]
    assert trail_of(cylinder, "held", 0, "released") == ("held", "released")
    assert trail_of(cylinder, "sent", 0, "back") == ("sent", 0, "back")
    assert trail_of(cylinder, "lost", 0, "found") == ("lost", 0, "found")


def test_an_entry_is_found_in_its_file_whatever_the_book_leaves_out() -> None:
    text = (
        books.GOOD + "held:\n  - {on: 2026-11-25, why: dent}\n  - {on: 2026-02-09, why: scratch}\n"
    )
    book = replace(books.make_book({"A": text}), clock=TODAY).as_known_on(dt.date(2026, 3, 1))
    cylinder = book.cylinders["A"]
    [scratch] = cylinder.held
    draft = Draft(cylinder).amend("held", scratch, released=TODAY)
    assert draft.edits[0] == SetValue("cylinders/A.yaml", ("held", 1, "released"), "2026-11-25")


@pytest.mark.parametrize(
    ("ids", "said"),
    [(["A"], "A"), (["A", "B", "C"], "A, B, C"), (list("ABCD"), "4 cylinders (A, B, C, ...)")],
)
def test_ids_in_a_sentence(ids: list[str], said: str) -> None:
    assert named(ids) == said


def test_ids_that_cannot_be_had_are_told() -> None:
    shelf = acting.shelf()
    found, reasons = cylinders_of(shelf.book, ["DB-02", "RB-014", "RB-015", "X"])
    assert [c.id for c in found] == ["RB-015", "RB-016", "RB-014"]
    assert reasons == ["X is not in the ledger"]


RESTS = {
    "in service, inspected and in date": (books.GOOD, Status.IN_SERVICE),
    "visual lapsed": (books.GOOD.replace("2026-02-09", "2025-02-09"), Status.IN_SERVICE),
    "never inspected": (books.with_lines(books.GOOD, inspected=None), Status.AWAITING_INSPECTION),
    "back and not refitted": (
        books.GOOD + "sent: [{on: 2026-01-01, to: N, for: repair, back: 2026-01-05}]\n",
        Status.AWAITING_INSPECTION,
    ),
    "back, refitted and inspected since": (
        books.GOOD + "sent: [{on: 2026-01-01, to: N, for: repair, back: 2026-01-05, refitted: 2026-01-06}]\n",
        Status.IN_SERVICE,
    ),
    "back, refitted and not inspected since": (
        books.GOOD + "sent: [{on: 2026-03-01, to: N, for: repair, back: 2026-03-05, refitted: 2026-03-06}]\n",
        Status.AWAITING_INSPECTION,
    ),
    "a job that is ready": (
        books.GOOD + "jobs: [{on: 2026-11-01, work: [visual], ready: 2026-11-02}]\n",
        Status.AWAITING_COLLECTION,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", RESTS)
def test_where_a_cylinder_stands_that_nothing_keeps(name: str) -> None:
    text, status = RESTS[name]
    book = books.make_book({"A": text})
    assert worked_out(book, book.cylinders["A"]) is status
    written_so = books.make_book({"A": books.with_lines(text, status=status.value)})
    draft = Draft(written_so.cylinders["A"])
    assert draft.stand(written_so) is draft


def test_a_status_that_differs_is_written() -> None:
    book = books.make_book({"A": books.with_lines(books.GOOD, status="held")})
    draft = Draft(book.cylinders["A"]).stand(book)
    assert draft.edits == (SetValue("cylinders/A.yaml", ("status",), "in-service"),)


def test_a_time_of_day_is_written_to_the_minute() -> None:
    assert as_text(dt.time(16, 30, 59)) == "16:30"


def test_an_item_is_added_to_a_list_inside_an_entry() -> None:
    text = books.GOOD + "jobs:\n  - {on: 2026-11-01, work: [visual]}\n"
    shelf = acting.shelf(RB_014=text)
    card = shelf["RB-014"]
    draft = Draft(card).enter(("jobs", 0, "steps"), JobStep(on=TODAY, state=JobState.READY))
    assert draft.record.jobs[0].steps[0].on == TODAY
    [edit] = draft.edits
    assert (edit.trail, edit.entry) == (
        ("jobs", 0, "steps"), {"on": "2026-11-25", "state": "ready"}
    )  # fmt: skip


PEOPLE = books.SETTINGS.replace("MV: {", "JW: {role: counter}\n  MV: {")


@pytest.mark.parametrize(
    ("settings", "by", "told"),
    [
        (PEOPLE, "MV", []),
        (PEOPLE, "JW", ["JW had no valid inspector certification on 2026-11-25: let somebody"]),
        (PEOPLE, "ZZ", []),  # who signs is told by signer_reasons
        ("ledger: A\nunits: psi\nrules: [us-dot]\npeople: {JW: {role: counter}}\n", "JW", []),
        ("ledger: A\nunits: psi\nrules: [us-dot]\n", "JW", []),
    ],
)
def test_who_may_decide_is_asked_only_where_certifications_are_kept(
    settings: str, by: str, told: list[str]
) -> None:
    book = books.make_book({}, settings=settings)
    got = uncertified(book, by, TODAY)
    assert len(got) == len(told)
    assert all(g.startswith(t) for g, t in zip(got, told, strict=True))


@pytest.mark.parametrize(
    "text", ["two\nlines", "\x1b[31mred", "a" * 501, "\u202eback", "null", " ", "a\x00b"]
)
def test_a_text_that_is_no_plain_line_is_told_in_one_short_line(text: str) -> None:
    [told] = line_reasons(why=text)
    assert told.startswith("--why")
    assert told.isprintable()
    assert len(told) < 200


def test_hostile_initials_are_told_in_one_short_line() -> None:
    book = books.make_book({})
    for by in ("M\nV", "x" * 10_000, "\x1b[2J"):
        [told] = signer_reasons(book, by, TODAY)
        assert told.isprintable()
        assert len(told) < 200
