"""The list, the fleet, the findings and the rules in force, as text and as JSON."""

from __future__ import annotations

import datetime as dt
import json

from changing import replace
from syrupy.assertion import SnapshotAssertion

from tankbook.output import as_json, begun, findings, fleet, listing, rules
from tankbook.output.listing import Listed
from tankbook.output.page import Page
from tankbook.records.book import Book
from tankbook.records.cylinder import Doubles
from tankbook.records.node import Finding, Severity, Where
from tankbook.records.words import Status, Use
from tankbook.rules.answers import FleetRow
from tankbook.rules.costs import CostsAhead, costs_ahead
from tankbook.rules.fleet import fleet as fleet_of
from tankbook.rules.inforce import rules_of
from tankbook.units import PartialDate

FINDINGS = (
    Finding(Where("cylinders/RB-014.yaml", 3, 5), "unknown-key", "`serail` is not a key", "did you mean `serial`?"),
    Finding(Where("fills/2026.csv", 12, 1), "log-order", "earlier than the line before", "", Severity.ADVICE),
    Finding(Where("station.yaml"), "unreadable", "permission is denied"),
)  # fmt: skip


DOUBLES = Doubles(id="DB-02", cylinders=("RB-015", "RB-016"))


def listed(book: Book, id_: str, **changes: bool) -> Listed:
    row = Listed(book.cylinders[id_], "al80", "air", "in-service", fillable=True, ready=True)
    return replace(row, **changes)


def test_the_list(book: Book, page: Page, snapshot: SnapshotAssertion) -> None:
    awaiting = replace(
        listed(book, "RB-014"),
        cylinder=replace(book.cylinders["RB-014"], use=Use.CUSTOMER),
        size="size not recorded",
        gas="nitrox32",
        standing="awaiting-inspection",
    )
    rows = [
        awaiting,
        listed(book, "RB-014"),
        listed(book, "RB-015", fillable=False, ready=False),
        listed(book, "RB-016", ready=False),
    ]
    text = listing.text(rows, ", size = al80", page, {"DB-02": DOUBLES})
    assert max(map(len, text.splitlines())) <= 80
    assert text == snapshot


def test_a_long_list_stays_in_columns(book: Book, page: Page) -> None:
    cylinder = book.cylinders["RB-014"]
    rows = [
        replace(listed(book, "RB-014"), cylinder=replace(cylinder, id=f"RB-{n:04}"))
        for n in range(1, 1001)
    ]
    lines = listing.text(rows, "", page).splitlines()
    assert lines[0] == "1000 cylinders; 1000 ready to go out, 1000 may be filled"
    assert len(lines) == 1000 + 4
    assert max(map(len, lines)) <= 80


def test_an_empty_list_says_so(page: Page) -> None:
    assert listing.text([], ", ready", page) == "0 cylinders, ready\n"
    assert listing.data([]) == []


def test_the_list_as_json(book: Book) -> None:
    (got,) = json.loads(as_json.dumps(listing.data([listed(book, "RB-014")])))
    assert list(got) == [
        "id", "serial", "maker", "use", "size", "water_volume_L", "service", "service_pressure",
        "first_test", "gas", "status", "may_be_filled", "ready", "place", "owner", "stands",
        "fillable", "states",
    ]  # fmt: skip
    assert (got["status"], got["may_be_filled"]) == (got["stands"], got["fillable"])
    assert got["first_test"] == "2024-03"


def test_the_fleet(book: Book, today: dt.date, page: Page, snapshot: SnapshotAssertion) -> None:
    unknown = FleetRow(
        None, "size not recorded", 2, 0, 0, ((Status.LOST, 1), (Status.SOLD, 1)), 0, None, 0
    )
    rows = [*fleet_of(book, today), unknown]
    text = fleet.text(rows, costs_ahead(book, today), page)
    assert max(map(len, text.splitlines())) <= 80
    assert text == snapshot


def test_the_fleet_as_json(today: dt.date) -> None:
    row = FleetRow(
        Use.RENTAL, "al80", 3, 2, 1, ((Status.IN_SERVICE, 2), (Status.HELD, 1)), 7,
        PartialDate.parse("2021-09"), 1,
    )  # fmt: skip
    assert as_json.plain(fleet.data([row], CostsAhead((), (), ()))) == {
        "groups": [
            {
                "use": "rental",
                "size": "al80",
                "count": 3,
                "in_service": 2,
                "fit": 1,
                "overdue": 1,
                "by_status": {"in-service": 2, "held": 1},
                "by_states": {},
                "fills": 7,
                "oldest": "2021-09",
                "others": "1 held",
                "fillable": 1,
            }
        ],
        "costs_ahead": [],
    }


def test_findings_are_lines_that_editors_jump_to() -> None:
    assert findings.text(FINDINGS, "3 cylinders").splitlines() == [
        "2 faults in 2 files, 1 advice; 3 cylinders",
        "cylinders/RB-014.yaml:3:5: fault: `serail` is not a key [unknown-key]",
        "    did you mean `serial`?",
        "fills/2026.csv:12:1: advice: earlier than the line before [log-order]",
        "station.yaml: fault: permission is denied [unreadable]",
        "What that means, and why: `tankbook explain unknown-key`",
    ]


def test_no_fault_is_said_in_the_first_word() -> None:
    assert findings.headline((), "3 cylinders") == "OK: no fault, 0 advice; 3 cylinders"
    assert findings.headline(FINDINGS[1:2], "x") == "OK: no fault, 1 advice; x"


def test_annotations_escape_what_the_format_reserves() -> None:
    odd = Finding(Where("cylinders/A,B:1.yaml", 2, 3), "bad-value", "100 %\nof it", "mend")
    assert findings.github([odd, FINDINGS[2]], "read", "ledger").splitlines()[1:] == [
        "::error file=ledger/cylinders/A%2CB%3A1.yaml,line=2,col=3,title=bad-value::100 %25%0Aof it; mend",
        "::error file=ledger/station.yaml,title=unreadable::permission is denied",
    ]
    assert "::notice file=fills/2026.csv,line=12,col=1" in findings.github(FINDINGS, "read")


def test_findings_as_json() -> None:
    assert as_json.plain(findings.data(FINDINGS))[0] == {
        "severity": "fault",
        "path": "cylinders/RB-014.yaml",
        "line": 3,
        "column": 5,
        "code": "unknown-key",
        "text": "`serail` is not a key",
        "mend": "did you mean `serial`?",
    }


def test_every_row_in_force_is_listed_with_its_source(book: Book, page: Page) -> None:
    in_force = rules_of(book)
    rows = list(in_force.all_rows())
    sets = rules.only(in_force.sets, rows)
    text = rules.text(sets, page)
    assert text.startswith(f"{len(rows)} rows in force from us-dot, bench, alloys: ")
    flat = " ".join(text.split())
    for row in rows:
        assert f" {row.id} " in flat
        assert " ".join(row.citation.split()) in flat
    assert len(rules.data(sets)) == len(rows)


def test_rows_can_be_narrowed_to_one_question(book: Book) -> None:
    in_force = rules_of(book)
    sets = rules.only(in_force.sets, list(in_force.all_rows()), "visual")
    assert [r["id"] for r in rules.data(sets)] == [
        r.id for s in in_force.sets for r in s.rows if r.obligation == "visual"
    ]


def test_a_row_replaced_by_the_shop_is_listed_once() -> None:
    import books

    own = """
    heading: Shop rules
    rows:
      - {id: us.visual, obligation: visual, period: 6 months, met_by: [inspection], gate: refuse,
         basis: practice, citation: shop rule, verified: read}
    """
    in_force = rules_of(books.make_book(own_rules=own))
    got = rules.data(rules.only(in_force.sets, list(in_force.all_rows()), "visual"))
    assert [(r["set"], r["period"]) for r in got if r["id"] == "us.visual"] == [
        ("shop", "6 months")
    ]


def test_what_init_wrote() -> None:
    text = begun.text("quay", ["tankbook.yaml", "fills/"], Page(80))
    assert text.startswith("Begun: a ledger in quay\n  tankbook.yaml\n  fills/\n")
    assert begun.data("quay", ["a"]) == {"ledger": "quay", "written": ["a"], "asked": []}
