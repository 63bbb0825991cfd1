"""A card that grows."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, TODAY, with_lines
from shop import Shop, reasons, shop

from tankbook.acts.arrivals import said
from tankbook.acts.complete import complete
from tankbook.records.edits import Act, Refusal
from tankbook.rules.gate import may_fill

QUICK = """
serial: Q7
service_pressure: 3000 psi
use: customer
status: in-service
requalified:
  - {on: 2024-06, method: hydrostatic}
inspected:
  - {on: 2026-03, checklist: sticker-seen, result: pass, sticker: seen}
"""


def grown(ledger: Shop, on: dt.date = TODAY, by: str = "MV", **given: str) -> Act | Refusal:
    values = {k.replace("__", "."): said(v) for k, v in given.items()}
    return complete(ledger.book, "CU-001", values, by=by, on=on)


def test_marks_and_values_are_added_and_nothing_is_changed() -> None:
    ledger = shop(CU_001=QUICK)
    act = ledger.do(
        grown(ledger, marks="DOT-3AL 3000 Q7 09A21", material="aluminium", valve__rating="3000 psi",
              valve__thread="3/4-14 NPSM")
    )  # fmt: skip
    assert act.sentence == (
        "Completed the card of CU-001: marks, specification, test_pressure, material, valve, "
        "requalified"
    )
    assert ledger.files["cylinders/CU-001.yaml"].startswith(QUICK.strip().split("requalified")[0])
    card = ledger["CU-001"]
    assert card.valve is not None
    assert (str(card.valve.rating), card.valve.thread) == ("3000 psi", "3/4-14 NPSM")
    assert [str(r.on) for r in card.requalified] == ["2024-06", "2021-09"]
    assert card.status == "in-service"
    assert any("still to do: its alloy is not recorded" in n for n in act.notes)


def test_what_was_told_apart_since_is_added() -> None:
    ledger = shop(CU_001=QUICK + "maker: Example Co\n", CU_002=QUICK + "maker: Example Co\n")
    ledger.do(grown(ledger, not_same="CU-002: both at hand"))
    assert [n.id for n in ledger["CU-001"].not_same] == ["CU-002"]
    got = grown(ledger, not_same="CU-002: both at hand")
    assert "all of that is on its card already" in reasons(got)


def test_a_valve_that_is_there_gets_what_it_lacks() -> None:
    ledger = shop(CU_001=QUICK + "valve: {outlet: yoke}\n")
    ledger.do(grown(ledger, valve__rating="3000 psi", valve__outlet="yoke"))
    assert "valve: {outlet: yoke, rating: 3000 psi}" in ledger.files["cylinders/CU-001.yaml"]


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"service_pressure": "3442 psi"}, "its card says service_pressure 3000 psi, and 3442 psi was given"),
        ({"valve__outlet": "din-200"}, "its card says valve.outlet yoke, and din-200 was given"),
        ({"marks": "DOT-3AL 3000 Q8 09A21"}, "its marks say serial Q8, and its card Q7"),
        ({"size": "al79"}, "`al79` is no known trade size"),
        ({"material": "aluminum"}, ""),
        ({"material": "brass"}, "`brass` is not a known word"),
        ({"service_pressure": "3000 psi"}, "all of that is on its card already"),
        ({"hydro": "2024-06"}, "all of that is on its card already"),
        ({"hydro": "2027-06"}, "lies in the future"),
    ],
)  # fmt: skip
def test_what_contradicts_the_card_is_refused(given: dict[str, str], said: str) -> None:
    ledger = shop(CU_001=QUICK + "valve: {outlet: yoke}\n")
    got = grown(ledger, **given)
    if said:
        assert said in reasons(got)
    else:
        ledger.do(got)


def test_a_true_fact_that_stands_in_the_way_of_a_fill_is_added_and_told() -> None:
    ledger = shop(CU_001=with_lines(GOOD, test_pressure=None))
    act = ledger.fact(grown(ledger, test_pressure="300 bar"))
    assert str(ledger["CU-001"].test_pressure) == "300 bar"
    assert any("WARNING: CU-001: test pressure 300 bar does not fit" in n for n in act.notes)


@pytest.mark.parametrize(
    ("was", "given", "said"),
    [
        ("unread", {"serial": "K5"}, ""),
        ("not legible", {"serial": "M4242"}, ""),
        ("n/a", {"marks": "DOT-3AL 3000 F77012 09A21"}, ""),
        ("unread", {"marks": "DOT-3AL 3000 M4242 09A21", "serial": "M4242"}, ""),
        ("unread", {"serial": "n/a"}, "its card says serial unread, and n/a was given"),
        ("unread", {"serial": "unread"}, "all of that is on its card already"),
        ("unread", {"serial": "Q8"}, "CU-002"),
        ("Q7", {"serial": "K5"}, "its card says serial Q7, and K5 was given"),
    ],
)
def test_a_serial_that_could_not_be_read_is_added_once_it_is(
    was: str, given: dict[str, str], said: str
) -> None:
    cards = (QUICK.replace("Q7", each) + "maker: Example Co\n" for each in (was, "Q8"))
    ledger = shop(**dict(zip(("CU_001", "CU_002"), cards, strict=True)))
    assert may_fill(ledger.book, "CU-001", TODAY).refusals
    got = grown(ledger, **given)
    if said:
        assert said in reasons(got)
        return
    ledger.do(got)
    assert ledger["CU-001"].serial == given.get("serial", "F77012")
    assert ledger["CU-001"].maker == "Example Co"
    codes = {r.code for r in may_fill(ledger.book, "CU-001", TODAY).refusals}
    assert not [code for code in codes if "serial" in code]


def test_somebody_unknown_and_no_such_card() -> None:
    ledger = shop(CU_001=with_lines(GOOD, note=None))
    assert "XX is not among the people" in reasons(grown(ledger, by="XX", note="blue"))
    got = complete(ledger.book, "CU-009", {}, by="MV", on=TODAY)
    assert "its file cannot be read, or it is a set" in reasons(got)
