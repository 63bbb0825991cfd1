"""Stamp marks, as text and as JSON."""

from __future__ import annotations

import json
from datetime import date

import pytest
from syrupy.assertion import SnapshotAssertion

from tankbook.ledger import shipped
from tankbook.output import as_json
from tankbook.output import marks as output
from tankbook.output.page import Page
from tankbook.records.marks import MarkKind, Marks, read_marks

US = "DOT-3AL 3000 K118204 09A21 09 A123 26 +"
OLD = "DOT-3AA2400+/TC-3AAM165 K118204 EXAMPLE CYLINDER CO 3-98 10 Z4 18 03 4500 3,000"
ISO = "UN ISO 7866 PW232 PH348 12.3L M25x2 05/06 @@"


def marks_of(line: str) -> Marks:
    return read_marks(line, shipped.marks())


@pytest.mark.parametrize(
    ("line", "first"),
    [
        (
            US,
            "DOT-3AL, 3000 psi, serial K118204, first test Sep 2021, retest Sep 2026 +; 1 mark in doubt",
        ),
        (
            "DOT-3AL 3000 K118204 CONDEMNED",
            "CONDEMNED: never fill it, DOT-3AL, 3000 psi, serial K118204",
        ),
        (
            "DOT-3AL 3000 K118204 CONDEMED",
            "CONDEMNED by a mark to be read again: never fill it, DOT-3AL, 3000 psi, serial K118204; 1 mark in doubt",
        ),
        (
            "EN 12245 PW300 FIN 2030/05",
            "EN 12245, 300 bar, life ends May 2030; 1 mark in doubt",  # no test pressure beside PW
        ),
        (
            ISO,
            "UN ISO 7866, 232 bar, test pressure 348 bar; 1 mark NOT READ: @@; 1 date in doubt",
        ),
        ("@@ ##", "no mark could be read; 2 marks NOT READ: @@, ##"),
        (
            "UN ISO 7866 232 BAR PW232 PH348",
            "UN ISO 7866, 232 bar, test pressure 348 bar; 1 mark NOT READ: 232 BAR (a pressure?)",
        ),
        (
            "DOT-3AA2400+ K118204 3-98 1234 XX",
            "DOT-3AA, 2400 psi, serial K118204, first test Mar 1998 +; 2 marks NOT READ: "
            "1234 (a pressure or a date?), XX (a row of X?)",
        ),
        ("3AA2400 K118204", "3AA, 2400 psi, serial K118204; 2 marks in doubt"),
    ],
)
def test_the_first_line_says_what_was_read_and_what_was_not(line: str, first: str) -> None:
    assert output.headline(marks_of(line)) == first


@pytest.mark.parametrize("line", [US, OLD, ISO])
def test_the_page(line: str, page: Page, snapshot: SnapshotAssertion) -> None:
    text = output.text(marks_of(line), page)
    assert max(map(len, text.splitlines())) <= 80
    assert text == snapshot


@pytest.mark.parametrize("line", [US, OLD, ISO])
def test_every_mark_is_named_with_its_citation(line: str, page: Page) -> None:
    marks = marks_of(line)
    flat = " ".join(output.text(marks, page).split())
    assert "joint" not in flat
    for token in (t for t in marks.tokens if t.kind is not MarkKind.JOINT):
        assert token.text in flat
        assert token.meaning is not None
        assert token.meaning.citation in flat


def test_a_terminal_is_given_no_control_characters(page: Page) -> None:
    text = output.text(marks_of("DOT-3AL 3000 \x1b[2J\x9b \u202eK1 UN\x0bISO 7866"), page)
    assert text.replace("\n", "").isprintable()
    assert "\\x1b[2J\\x9b  NOT READ" in text


def test_a_date_to_come_is_in_doubt(page: Page) -> None:
    marks = read_marks("EN 12245 PW300 09A27", today=date(2026, 11, 25))
    assert output.headline(marks) == "EN 12245, 300 bar; 1 date in doubt; 1 mark in doubt"
    assert "09A27  first test: Sep 2027, in doubt" in output.text(marks, page)


def test_a_kind_without_a_meaning_says_so(page: Page) -> None:
    assert "no meaning on file" in output.text(read_marks(US), page)


def test_the_json() -> None:
    got = json.loads(as_json.dumps(output.data(marks_of(US))))
    assert list(got) == [
        "line", "condemned", "condemned_in_doubt", "specifications", "bare_specifications", "service_pressures",
        "test_pressure", "serial", "makers", "first_test", "first_plus", "retests", "sizes", "threads", "unread",
        "unread_evidence", "doubts", "marks",
    ]  # fmt: skip
    assert got["specifications"] == ["DOT-3AL"]
    assert got["service_pressures"] == ["3000 psi"]
    assert got["first_test"] == "2021-09"
    assert got["retests"] == [
        {
            "month": 9,
            "year": 2026,
            "rin": "A123",
            "rin_could_be": [],
            "station": None,
            "suffixes": ["+"],
            "plus": True,
            "star": False,
            "could_be": [],
        }
    ]
    assert [m["start"] for m in got["marks"]] == [0, 8, 13, 21, 27, 38]


def test_an_ambiguous_date_keeps_every_reading() -> None:
    got = as_json.plain(output.data(marks_of(ISO)))
    assert [m["read_as"] for m in got["marks"] if m["text"] == "05/06"] == ["May 2006 or Jun 2005"]
    assert got["unread"] == ["@@"]
