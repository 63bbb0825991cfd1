"""Where a cylinder stands, by what happened to it and the rules in force."""

from __future__ import annotations

import pytest
from books import GOOD, SETTINGS, make_book, with_lines

from tankbook.rules.standing import worked_out

UK = SETTINGS.replace("us-dot", "uk").replace("units: psi", "units: bar")


@pytest.mark.parametrize(
    ("settings", "test", "status"),
    [
        (UK, "{on: 2026-03, method: hydrostatic, by: UK12}", "in-service"),
        (UK, "{on: 2026-03, method: visual, by: UK12}", "in-service"),
        (UK, "{on: 2026-03, method: hydrostatic, by: maker}", "awaiting-inspection"),
        (UK, "{on: 2026-03, method: hydrostatic, by: UK12, result: fail}", "awaiting-inspection"),
        # where a look of one's own counts, it is asked for
        (SETTINGS, "{on: 2026-03, method: hydrostatic, by: T123}", "awaiting-inspection"),
        (SETTINGS, "{on: 2026-03, method: visual, by: T123}", "in-service"),
    ],
)
def test_a_test_house_looks_where_only_its_look_counts(
    settings: str, test: str, status: str
) -> None:
    first = "{on: 2020-03, method: hydrostatic, by: maker}"
    card = with_lines(GOOD, requalified=f"[{first}, {test}]", inspected=None, status=None)
    book = make_book({"A": card}, settings=settings)
    assert worked_out(book, book.cylinders["A"]) == status
