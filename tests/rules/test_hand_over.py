"""May it be handed over? The age of its inspection, the second look, the sticker."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, SETTINGS, TODAY, with_lines
from shop import Shop, shop

from tankbook.rules.hand_over import may_hand_over

POLICY = "sticker: {policy: at-hand-over, inspection_age: 12 months, second_look: 7 days}\n"
SALE = with_lines(GOOD, use="sale", inspected=None, requalified="[{on: 2024-08, method: hydrostatic, by: maker}]")  # fmt: skip
FULL = "{on: %s, by: MV, checklist: new, result: pass, sticker: %s}"
LOOK = "{on: %s, by: MV, checklist: before-hand-over, result: %s}"


def stock(*entries: str, policy: str = POLICY, card: str = SALE) -> Shop:
    inspected = "inspected: [" + ", ".join(entries) + "]\n" if entries else ""
    return shop(settings=SETTINGS + policy, SF_001=card + inspected)


def reasons(ledger: Shop, today: dt.date = TODAY) -> str:
    return " | ".join(may_hand_over(ledger.book, "SF-001", today).reasons)


FRESH = FULL % ("2026-10-08", "withheld")
SEEN = LOOK % ("2026-11-20", "pass")


def test_inspected_looked_at_again_and_fit_it_may_go() -> None:
    answer = may_hand_over(stock(FRESH, SEEN).book, "SF-001", TODAY)
    assert answer.allowed
    assert answer.sticker_first
    assert str(answer.month) == "2026-10"
    assert answer.look is not None
    assert str(answer.look.on) == "2026-11-20"


@pytest.mark.parametrize(
    ("entries", "said"),
    [
        ((), "no passed full inspection is on record"),
        ((SEEN,), "no passed full inspection is on record"),
        ((FRESH,), "no second outside look within 7 days"),
        ((FRESH, LOOK % ("2026-11-18", "pass")), ""),
        ((FRESH, LOOK % ("2026-11-17", "pass")), "no second outside look within 7 days"),
        ((FRESH, LOOK % ("2026-11-20", "hold")), "no second outside look"),
        ((FRESH, LOOK % ("2026-11-26", "pass")), "no second outside look"),
        ((FRESH, SEEN.replace("by: MV", "by: XX")), "no second outside look"),
        ((FRESH, SEEN.replace("before-hand-over", "glance")), "no second outside look"),
        ((FRESH.replace("by: MV", "by: XX"), SEEN), "no passed full inspection is on record"),
        ((FULL % ("2025-11-25", "withheld"), SEEN), ""),
        ((FULL % ("2025-11-24", "withheld"), SEEN), "full inspection of 2025-11-24 is older than 12 months"),
        ((FULL % ("2026-10-08", "voided"), SEEN), "its sticker was voided and not replaced"),
        ((FULL % ("2026-11-24", "issued"),), "no second outside look"),
        ((FULL % ("2026-11-24", "issued"), FULL % ("2026-11-25", "issued")), "no second outside look"),
    ],
)  # fmt: skip
def test_what_the_policy_asks(entries: tuple[str, ...], said: str) -> None:
    got = reasons(stock(*entries))
    assert said in got if said else got == ""


def test_an_older_inspection_counts_for_nothing_beside_a_newer_one() -> None:
    ledger = stock(FULL % ("2025-05-06", "withheld"), FULL % ("2026-02-01", "issued"), SEEN)
    answer = may_hand_over(ledger.book, "SF-001", TODAY)
    assert answer.allowed
    assert not answer.sticker_first
    assert str(answer.month) == "2026-02"


def test_another_shops_sticker_is_no_inspection_of_ours() -> None:
    seen = "{on: 2026-10, checklist: sticker-seen, result: pass, sticker: seen}"
    assert "no passed full inspection is on record" in reasons(stock(seen, SEEN))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"status": "awaiting-inspection"}, "awaiting-inspection"),
        ({"requalified": "[{on: 2019-08, method: hydrostatic, by: maker}]"}, "lapsed Aug 2024"),
        ({"status": "held", "held": "[{on: 2026-11-01, why: dent}]"}, "it is held: dent"),
        ({"status": "sold", "handed_over": "[{on: 2026-11-24, to: C-1}]"}, "it is sold"),
        ({"valve": "{outlet: yoke, thread: M25x2, rating: 3000 psi}"}, "differ"),
    ],
)
def test_what_may_not_be_filled_is_not_sold(change: dict[str, str], said: str) -> None:
    card = with_lines(SALE, **change)
    assert said in reasons(stock(FRESH, SEEN, card=card))


def test_the_state_of_the_station_is_no_reason() -> None:
    ledger = stock(FRESH, SEEN)
    ledger.station = "air_tests: [{on: 2026-11-01, result: fail}]\n"
    assert reasons(ledger) == ""


def test_without_a_policy_the_rules_in_force_are_enough() -> None:
    assert reasons(stock(FULL % ("2026-02-01", "issued"), policy="")) == ""


def test_the_second_look_is_asked_of_sale_stock_alone() -> None:
    card = with_lines(SALE, use="customer")
    assert reasons(stock(FRESH, card=card)) == ""
