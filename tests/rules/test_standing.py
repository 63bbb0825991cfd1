"""Where a cylinder stands, by what happened to it and the rules in force."""

from __future__ import annotations

import pytest
from books import GOOD, SETTINGS, STATION, TODAY, make_book, with_lines

from tankbook.rules.gate import may_fill
from tankbook.rules.standing import worked_out

UK = SETTINGS.replace("us-dot", "uk").replace("units: psi", "units: bar")


@pytest.mark.parametrize(
    ("settings", "test", "status"),
    [
        (UK, "{on: 2026-03, method: hydrostatic, by: UK12}", "in-service"),
        (UK, "{on: 2026-03, method: visual, by: UK12}", "in-service"),
        (UK, "{on: 2026-03, method: hydrostatic, by: maker}", "awaiting-inspection"),
        (UK, "{on: 2026-03, method: hydrostatic, by: UK12, result: fail}", "awaiting-inspection"),
        # where a test is no look, one is asked for
        (SETTINGS, "{on: 2026-03, method: hydrostatic, by: T123}", "awaiting-inspection"),
        (SETTINGS, "{on: 2026-03, method: visual, by: T123}", "in-service"),
    ],
)
def test_the_test_of_a_test_house_is_a_look_where_the_rules_count_it(
    settings: str, test: str, status: str
) -> None:
    first = "{on: 2020-03, method: hydrostatic, by: maker}"
    card = with_lines(GOOD, requalified=f"[{first}, {test}]", inspected=None, status=None)
    book = make_book({"A": card}, settings=settings)
    assert worked_out(book, book.cylinders["A"]) == status


CLEARED = "{on: 2026-11-20, by: MV, checklist: annual, result: pass, clears: [rejected 2026-11-01]}"


@pytest.mark.parametrize(
    ("why", "inspected", "mend"),
    [
        ("line corrosion", "[]",
         "a requalifier's test, or an inspection as full, that passes and says"
         " `clears: [rejected 2026-11-01]`; then `lifted:` the day, `lifted_by:` and"
         " `lifted_why:` on it"),
        ("failed its hydro", "[]",
         "a pressure test that passes and says `clears: [rejected 2026-11-01]`;"
         " then `lifted:` the day, `lifted_by:` and `lifted_why:` on it"),
        ("line corrosion", f"[{CLEARED}]",
         "its rejection of 2026-11-01 is answered: write `lifted:` the day, `lifted_by:` and"
         " `lifted_why:` on it"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("lost", [None, "[{on: 2026-11-02, by: MV}]"])
def test_a_rejection_says_what_lifts_it(
    why: str, inspected: str, mend: str, lost: str | None
) -> None:
    rejected = f"[{{on: 2026-11-01, by: MV, why: {why}}}]"
    card = with_lines(GOOD, rejected=rejected, inspected=inspected, lost=lost, status=None)
    answer = may_fill(make_book({"A": card}, station=STATION), "A", TODAY)
    (found,) = [r for r in answer.refusals if r.code == "standing-rejected"]
    assert found.mend == mend
