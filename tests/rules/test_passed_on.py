"""Gas that was passed on from cylinder to cylinder very often."""

from __future__ import annotations

import datetime as dt
from time import process_time

import pytest
from books import GOOD, make_book, with_lines

from tankbook.records.book import Book
from tankbook.rules.bad_air import bad_air_of
from tankbook.rules.gate import may_fill
from tankbook.rules.recall import by_source

TODAY = dt.date(2026, 11, 24)


def _through(cylinders: int, fills: int, *, emptied: bool) -> Book:
    """Fills from one cylinder into the next, round and round; the compressor's air in the first
    failed its sample. `emptied`: each is drained before it is filled."""
    ids = [f"C{n}" for n in range(cylinders)]
    first, minute = dt.datetime(2026, 6, 13, tzinfo=dt.UTC), dt.timedelta(minutes=1)
    log = [
        "at=2026-06-12T08:00:00+00:00; cylinder=C0; act=fill; from=0 psi; to=3000 psi; gas=air;"
        " by=MV; source=P1"
    ]
    for i in range(fills):
        into, giver = ids[(i + 1) % cylinders], ids[i % cylinders]
        at, begun = first + 59 * i * minute, "0 psi" if emptied else "1000 psi"
        if emptied:
            drained = (at - minute).isoformat()
            log.append(f"at={drained}; cylinder={into}; act=drain; to=0 psi; by=MV")
        log.append(
            f"at={at.isoformat()}; cylinder={into}; act=fill; from={begun}; to=3000 psi;"
            f" gas=air; source={giver}; by=MV"
        )
    failed = (
        "{on: 2026-06-12, standard: cga-grade-e, result: fail, co: 30 ppm, by: Lab, source: P1}"
    )
    station = f"compressor: {{name: P1}}\nair_tests: [{failed}]\n"
    cards = {each: with_lines(GOOD, serial=f"K{each}") for each in ids}
    return make_book(cards, log="\n".join(log), station=station)


@pytest.mark.parametrize(
    ("cylinders", "fills", "emptied"), [(2, 500, True), (400, 399, False), (2, 300, False)]
)
def test_bad_air_is_traced_however_often_it_was_passed_on(
    cylinders: int, fills: int, emptied: bool
) -> None:
    """From the last fill back, one in the other, Python came to the end of its stack."""
    book, last = _through(cylinders, fills, emptied=emptied), f"C{fills % cylinders}"
    began = process_time()
    assert bad_air_of(book, book.cylinders[last]) is not None
    assert any("the air test of 2026-06-12" in r.text for r in may_fill(book, last, TODAY).refusals)
    found = by_source(book, "P1", TODAY)
    assert last in {each.id for each in found.suspects}
    assert process_time() - began < 10  # it takes less than two seconds
