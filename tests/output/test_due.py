"""What is due, as text and as JSON."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

import books
import pytest
from changing import replace
from syrupy.assertion import SnapshotAssertion

from tankbook.output import due as output
from tankbook.output.page import Page
from tankbook.records.book import Book
from tankbook.records.rulerow import Obligation, RuleRow
from tankbook.rules.answers import Due, DueKind, State
from tankbook.rules.schedule import due
from tankbook.units import PartialDate, RunningTime

VISUAL = Due(
    DueKind.CYLINDER,
    "RB-014",
    Obligation.VISUAL,
    State.OVERDUE,
    PartialDate.parse("2025-02-09"),
    dt.date(2026, 2, 9),
    -289,
)
KEYS = [
    "kind",
    "id",
    "side",
    "obligation",
    "last",
    "next",
    "days_left",
    "hours_left",
    "expected",
    "state",
    "why",
    "rule",
    "citation",
    "basis",
    "verified",
    "failed",
    "precision",
    "spared_by",
    "spared_until",
    "kept",
    "also",
    "beware",
]


def test_the_json_has_the_keys_promised(book: Book, today: dt.date) -> None:
    assert all(list(each) == KEYS for each in output.data(due(book, today)))


def test_an_obligation_without_a_row_says_so_in_json() -> None:
    (got,) = output.data([replace(VISUAL, state=State.MISSING, last=None, next=None)])
    assert (got["rule"], got["basis"], got["verified"]) == (None, None, None)
    assert got["citation"] == "no rule row in force"


def test_parts_and_skills_are_told_apart() -> None:
    part = replace(VISUAL, kind=DueKind.STATION, id="station", part="F1")
    skill = replace(VISUAL, kind=DueKind.PERSON, id="MV", part="inspector")
    whole = replace(VISUAL, kind=DueKind.SET, id="DB-02", part="RB-031")
    assert [output.subject(d) for d in (VISUAL, part, skill, whole)] == [
        "RB-014",
        "F1",
        "MV inspector",
        "DB-02",
    ]
    assert output.named(whole) == "DB-02 RB-031"
    assert [each["side"] for each in output.data([VISUAL, part, whole])] == [None, None, "RB-031"]


@pytest.mark.parametrize(
    ("item", "said"),
    [
        (VISUAL, "289 d LATE"),
        (replace(VISUAL, state=State.OK, days_left=76), "76 d"),
        (replace(VISUAL, state=State.SOON, days_left=0), "0 d SOON"),
        (replace(VISUAL, state=State.MISSING, days_left=None), "MISSING"),
        (replace(VISUAL, state=State.OK, days_left=None), "no end"),
        (
            replace(
                VISUAL, state=State.OVERDUE, hours_left=RunningTime.of(2.5, "h"), hours_over=True
            ),
            "2.5 h LATE",
        ),
    ],
)
def test_how_an_obligation_stands_is_said_in_words(item: Due, said: str, page: Page) -> None:
    assert said in output.lines([item], page)


def ahead(days: int) -> dt.date:
    return books.TODAY + dt.timedelta(days)


def said(dues: list[Due], days: int) -> str:
    return output.headline(dues, books.TODAY, ahead(days))


def test_the_headline_counts(row: Callable[..., RuleRow]) -> None:
    soon = replace(VISUAL, id="RB-015", state=State.SOON, next=ahead(12))
    later = replace(VISUAL, id="RB-016", state=State.OK, next=ahead(80))
    missing = replace(VISUAL, id="RB-017", state=State.MISSING, next=None)
    of_set = replace(VISUAL, kind=DueKind.SET, id="DB-01", part="RB-014")
    gauge = replace(VISUAL, kind=DueKind.STATION, id="station", part="G1")
    assert said([VISUAL, soon, missing, later, of_set], 30) == (
        "1 overdue, of cylinders; 1 not on record; 1 due within 30 days"
    )
    assert said([of_set], 30).startswith("1 overdue, of cylinders")  # asked for by itself
    assert said([VISUAL, gauge], 30).startswith("2 overdue (1 of cylinders, 1 of the station)")
    assert said([soon, later], 90) == "nothing overdue; 2 due within 90 days"
    assert said([], 1) == "nothing overdue; 0 due within 1 day"


def test_the_lines_that_tell_nothing_again_are_as_many_as_were_counted(page: Page) -> None:
    """A set's line beside its cylinder's, or beside another set's, is marked; alone it is not."""
    of_set = replace(VISUAL, kind=DueKind.SET, id="DB-01", part="RB-014")
    other = replace(of_set, id="DB-02")
    person = replace(VISUAL, kind=DueKind.PERSON, id="MV", part="inspector")
    for dues, marked in (
        ([of_set, VISUAL, person], 1),
        ([VISUAL, of_set], 1),
        ([of_set, other], 1),
        ([other, of_set, VISUAL], 2),
        ([of_set], 0),
        ([VISUAL, person], 0),
    ):
        rows = [line for line in output.lines(dues, Page(width=120)).splitlines() if "LATE" in line]
        plain = [line for line in rows if "also RB-014" not in line]
        assert (len(rows), len(rows) - len(plain)) == (len(dues), marked)
        assert said(dues, 30).startswith(f"{len(plain)} overdue")
        narrow = output.lines(dues, Page(width=30))
        assert narrow.count("also RB-014") == marked


def test_within_keeps_what_is_late_or_missing_and_drops_what_comes_later() -> None:
    near = replace(VISUAL, state=State.OK, next=ahead(80))
    far = replace(VISUAL, state=State.OK, next=ahead(91))
    endless = replace(VISUAL, state=State.OK, next=None)
    filter_soon = replace(VISUAL, state=State.SOON, next=None)
    missing = replace(VISUAL, state=State.MISSING, next=None)
    dues = [VISUAL, missing, filter_soon, near, far, endless]
    assert output.within(dues, ahead(90)) == dues[:4]


def test_within_goes_by_the_day_that_running_hours_are_reckoned_to_last() -> None:
    """Also where that day has passed with the meter unread."""
    by_hours = replace(VISUAL, state=State.OK, next=None, hours_left=RunningTime.of(30, "h"))
    near, far = replace(by_hours, expected=ahead(80)), replace(by_hours, expected=ahead(91))
    passed = replace(by_hours, expected=ahead(-3))
    assert output.within([near, far, passed, by_hours], ahead(90)) == [near, passed]
    assert said([replace(near, id="F1"), replace(far, id="F2")], 90).endswith(
        "1 due within 90 days"
    )


def test_the_page(book: Book, today: dt.date, page: Page, snapshot: SnapshotAssertion) -> None:
    dues = due(book, today)
    text = output.text(dues, output.within(dues, ahead(90)), today, ahead(90), page)
    assert max(map(len, text.splitlines())) <= 80
    assert text == snapshot


def test_on_a_narrow_screen_each_line_is_a_sentence(
    book: Book, today: dt.date, snapshot: SnapshotAssertion
) -> None:
    """With all that the table says of it."""
    dues, page = due(book, today), Page(40)
    text = output.text(dues, output.within(dues, ahead(90)), today, ahead(90), page)
    assert max(map(len, text.splitlines())) <= 40
    assert text == snapshot
    assert max(map(len, output.lines(dues, page).splitlines())) <= 40


def test_nothing_due_is_two_lines(page: Page) -> None:
    assert output.text([], [], books.TODAY, ahead(30), page).splitlines() == [
        "nothing overdue; 0 due within 30 days",
        "",
        "Not legal advice: local codes and licensed practice decide.",
    ]


def test_the_spreadsheet_has_what_the_json_has(book: Book, today: dt.date) -> None:
    dues = due(book, today)
    assert set(output.columns(dues).head) == set(KEYS) - {"basis", "verified"}
    for told, row in zip(output.data(dues), output.columns(dues).cells(dues), strict=True):
        told["kept"] = ", ".join(told["kept"]) or None
        assert {key: told[key] for key in output.columns(dues).head} == dict(
            zip(output.columns(dues).head, row, strict=True)
        )


def test_a_line_of_a_set_that_its_cylinder_tells_as_well_says_so_in_a_column() -> None:
    """Who sums a column in a spreadsheet counts each obligation once, as the answer does."""
    other = books.GOOD.replace("K118204", "K118205")
    book = books.make_book(
        {"RB-014": books.GOOD, "RB-015": other},
        sets={"DB-02": "cylinders: [RB-014, RB-015]\nmanifold: isolation\nrating: 3442 psi\n"},
    )
    dues = due(book, dt.date(2027, 11, 25))
    of_set = [d for d in dues if d.kind == "set"]
    assert of_set
    for asked in (dues, of_set):
        told = output.data(asked)
        counted = [each for each in told if each["also"] is None]
        owners = {(each["side"] or each["id"], each["obligation"]) for each in told}
        assert len(counted) == len(owners)
        assert all(e["also"] == e["side"] for e in told if e["also"])
