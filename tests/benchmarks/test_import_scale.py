"""Somebody's own table of many rows: what each takes beside the judging of its card alone."""

from __future__ import annotations

from time import process_time

import pytest
from books import SETTINGS, TODAY
from clubs import mapping, read, typed
from shop import Shop, shop

from tankbook.acts.import_ import Imported, import_table
from tankbook.rules.checks import of_card

HEADS = "Serial,Maker,WP (bar),Size (L),Visual,Hydro,Metal,Remarks\n"
ROWS = 400
MOST = 4
"""So many times what the checks of its card take may a row take (measured: 1.6)."""


@pytest.fixture(name="ledger")
def _ledger() -> Shop:
    return shop(settings=SETTINGS.replace("units: psi", "units: bar"))


def taken(ledger: Shop, rows: int) -> tuple[float, Imported]:
    cells = (
        "{},Works,232,12,03/2026,04/2022,St,boot of rack {}\n".format(f"K{n}", n % 20)
        for n in range(rows)
    )
    table = HEADS + "".join(cells)
    means = typed(mapping(table))
    began = process_time()
    got = import_table(ledger.book, TODAY, read(table), means, by="MV")
    return process_time() - began, got


def test_a_row_takes_little_more_than_the_judging_of_its_card(ledger: Shop) -> None:
    taken(ledger, 5)  # patterns are made ready once
    few, _ = taken(ledger, ROWS // 10)
    many, got = taken(ledger, ROWS)
    assert len(got.ids) == ROWS
    again = ledger.book
    began = process_time()
    then = type(again)(**{n: getattr(got.book, n) for n in again.__struct_fields__ if n != "known"})
    for id_ in got.ids:
        of_card(then, then.cylinders[id_], TODAY)
    alone = process_time() - began
    assert many < MOST * alone
    assert many < 20 * max(few, 0.02)  # and no more in a longer table
