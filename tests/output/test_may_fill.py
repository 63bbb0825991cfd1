"""May it be filled, as text and as JSON."""

from __future__ import annotations

import datetime as dt

import pytest
from syrupy.assertion import SnapshotAssertion

from tankbook.gas import Gas
from tankbook.output import may_fill as output
from tankbook.output.page import Page
from tankbook.output.words import CAUTION
from tankbook.records.book import Book
from tankbook.records.rulerow import Gate
from tankbook.records.words import Shore
from tankbook.rules.answers import MayFill, Reason
from tankbook.rules.gate import may_fill
from tankbook.units import GaugePressure, Temperature
from tests.support.changed import replace

COLD = Temperature.of(41, "degF")


@pytest.fixture(name="yes")
def _yes(book: Book, today: dt.date) -> MayFill:
    answer = may_fill(book, "RB-014", today, ambient=COLD)
    assert answer.fillable
    return answer


def test_the_json_has_the_keys_promised(yes: MayFill) -> None:
    (got,) = output.data([yes])
    assert list(got) == [
        "id",
        "fillable",
        "limit_psi",
        "limit_bar",
        "reference_temperature_c",
        "target_psi",
        "target_bar",
        "ambient_c",
        "reasons",
        "gas",
        "ceiling_psi",
        "ceiling_bar",
        "ceiling_part",
    ]
    assert got["limit_psi"] == 3000
    assert got["limit_bar"] == pytest.approx(206.84, abs=0.01)
    assert got["reference_temperature_c"] == pytest.approx(21.11, abs=0.01)
    assert got["ambient_c"] == 5
    assert got["target_psi"] < 3000


def test_a_refusal_has_reasons_with_gate_and_citation(book: Book, today: dt.date) -> None:
    (got,) = output.data([may_fill(book, "RB-015", today)])
    assert got["fillable"] is False
    assert all(
        list(r) == ["code", "text", "citation", "gate", "mend", "may_be_overridden"]
        for r in got["reasons"]
    )
    assert {"requalification-overdue", "visual-overdue"} <= {r["code"] for r in got["reasons"]}


def test_the_first_line_is_the_answer(yes: MayFill, page: Page) -> None:
    first = output.headline(yes, page)
    assert first.startswith("YES RB-014 air: 3000 psi at 70 degF (27")
    assert first.endswith(" psi today at 41 degF)")


def test_a_refusal_names_each_reason_and_what_it_rests_on(
    book: Book, today: dt.date, page: Page
) -> None:
    assert output.headline(may_fill(book, "RB-015", today), page) == (
        "NO  RB-015: hydro lapsed Sep 2026 (law); visual lapsed Feb 2026 (shop rule)"
    )


def test_every_yes_asks_for_the_look_and_carries_the_caution(yes: MayFill, page: Page) -> None:
    text = " ".join(output.text([yes], page).split())
    assert "Before the fill: look over the outside (rule " in text
    assert CAUTION in text


def test_a_no_offers_no_number_to_act_on_in_its_first_line(
    book: Book, today: dt.date, page: Page
) -> None:
    assert "3000" not in output.headline(may_fill(book, "RB-016", today), page)


def test_warnings_are_marked_in_words(yes: MayFill, page: Page) -> None:
    warned = replace(yes, reasons=(Reason("x", "the gauge is old", Gate.WARN, None, "replace it"),))
    text = output.text([warned], page)
    assert "1 warning" in text.splitlines()[1] + text.splitlines()[0]
    assert "WARNING: the gauge is old\n  mend: replace it" in text


def test_helium_is_labelled_unvalidated(yes: MayFill, page: Page) -> None:
    text = output.text([replace(yes, gas=Gas.parse("trimix18/45"))], page)
    assert "Helium: the gas model is unvalidated" in text


def test_the_fill_pressure_is_echoed_with_its_unit(yes: MayFill, page: Page) -> None:
    text = output.text([yes], page, GaugePressure.of(3000, "psi"))
    assert "Asked with the fill regulator set to 3000 psi." in text


def test_a_bar_page_keeps_the_marked_limit_and_rounds_the_target_down(yes: MayFill) -> None:
    first = output.headline(yes, Page(shore=Shore.BAR))
    assert first.startswith("YES RB-014 air: 3000 psi (206 bar) at 70 degF (1")
    assert first.endswith(" bar today at 41 degF)")


def test_several_answers_come_first_then_their_detail(
    book: Book, today: dt.date, page: Page, snapshot: SnapshotAssertion
) -> None:
    answers = [may_fill(book, name, today, ambient=COLD) for name in book.cylinders]
    text = output.text(answers, page)
    assert max(map(len, text.splitlines())) <= 80
    assert text == snapshot


def test_a_rule_that_several_answers_rest_on_is_listed_once(
    book: Book, today: dt.date, page: Page
) -> None:
    text = output.text([may_fill(book, name, today) for name in book.cylinders], page)
    assert text.count("us.fill-limit: ") == 1
    assert text.count("(rules 1, 2, 3)") == len(book.cylinders)


def test_every_row_an_answer_used_for_a_reason_is_cited(
    book: Book, today: dt.date, page: Page
) -> None:
    answer = may_fill(book, "RB-015", today)
    flat = " ".join(output.text([answer], page).split())
    for reason in answer.reasons:
        assert reason.row is not None
        assert f" {reason.row.id}: {reason.row.citation}" in flat
