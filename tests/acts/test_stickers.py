"""Putting a withheld sticker on, and voiding a number."""

from __future__ import annotations

import pytest
from books import GOOD, SETTINGS, TODAY, with_lines
from shop import Shop, reasons, shop

from tankbook.acts.stickers import numbers_used, put_on, void_number

NUMBERED = SETTINGS + "sticker: {numbered: yes}\n"
SALE = with_lines(GOOD, use="sale", inspected=None)
WITHHELD = (
    "inspected:\n  - {on: 2026-10-08, by: MV, checklist: new, result: pass, sticker: withheld}\n"
)
SEEN = "  - {on: 2026-11-20, by: MV, checklist: before-hand-over, result: pass}\n"
POLICY = "sticker: {policy: at-hand-over, inspection_age: 12 months, second_look: 7 days}\n"


def numbered() -> Shop:
    issued = "sticker: issued, sticker_number: 0417"
    card = GOOD.replace("sticker: issued", issued)
    return shop(settings=NUMBERED, RB_014=card, SF_001=with_lines(SALE, serial="B") + WITHHELD)


def test_it_carries_the_month_of_the_full_inspection() -> None:
    ledger = shop(settings=SETTINGS + POLICY, SF_001=SALE + WITHHELD + SEEN)
    act = ledger.do(put_on(ledger.book, ["SF-001"], by="MV", on=TODAY))
    assert act.sentence == "Put the sticker on SF-001: month 2026-10"
    assert "sticker: withheld, sticker_on: 2026-11-25}" in ledger.files["cylinders/SF-001.yaml"]
    assert "its sticker is on since 2026-11-25" in reasons(
        put_on(ledger.book, ["SF-001"], by="MV", on=TODAY)
    )


@pytest.mark.parametrize(
    ("card", "said"),
    [
        (SALE, "no passed full inspection is on record: there is no sticker to put on"),
        (SALE + WITHHELD, "no second outside look within 7 days"),
        (SALE + WITHHELD.replace("2026-10-08", "2025-10-08") + SEEN, "older than 12 months"),
        (GOOD, "its sticker of 2026-02-09 is not withheld (issued)"),
    ],
)
def test_a_sticker_that_may_not_go_on(card: str, said: str) -> None:
    ledger = shop(settings=SETTINGS + POLICY, SF_001=card)
    assert said in reasons(put_on(ledger.book, ["SF-001"], by="MV", on=TODAY))


def test_a_customers_withheld_sticker_needs_no_second_look() -> None:
    ledger = shop(settings=SETTINGS + POLICY, SF_001=with_lines(SALE, use="customer") + WITHHELD)
    ledger.do(put_on(ledger.book, ["SF-001"], by="MV", on=TODAY))


def test_a_number_goes_on_with_it_and_is_never_used_twice() -> None:
    ledger = numbered()
    assert "0 sticker numbers for 1 cylinders" in reasons(
        put_on(ledger.book, ["SF-001"], by="MV", on=TODAY)
    )
    assert "sticker 0417 is used already, on RB-014" in reasons(
        put_on(ledger.book, ["SF-001"], by="MV", on=TODAY, numbers=["0417"])
    )
    ledger.do(put_on(ledger.book, ["SF-001"], by="MV", on=TODAY, numbers=["0418"]))
    assert numbers_used(ledger.book) == {"0417": "RB-014", "0418": "SF-001"}


@pytest.mark.parametrize("numbers", [(), ("0419",)])
def test_the_number_set_aside_for_a_cylinder_goes_on_it(numbers: tuple[str, ...]) -> None:
    aside = WITHHELD.replace("sticker: withheld", "sticker: withheld, sticker_number: 0419")
    ledger = shop(settings=NUMBERED, SF_001=with_lines(SALE, serial="B") + aside)
    ledger.do(put_on(ledger.book, ["SF-001"], by="MV", on=TODAY, numbers=numbers))
    entry = ledger["SF-001"].inspected[-1]
    assert (entry.sticker_number, str(entry.sticker_on)) == ("0419", str(TODAY))
    assert "sticker 0419 is used already" in reasons(
        void_number(ledger.book, "0419", why="torn", by="MV", on=TODAY, instead="0419")
    )


def test_a_voided_number_stays_used() -> None:
    ledger = numbered()
    act = ledger.do(void_number(ledger.book, "0417", why="torn", by="MV", on=TODAY))
    assert act.sentence == "Voided sticker 0417 of RB-014: torn"
    assert ledger["RB-014"].inspected[0].sticker == "voided"
    assert "sticker 0417 is voided already, on RB-014" in reasons(
        void_number(ledger.book, "0417", why="torn", by="MV", on=TODAY)
    )


def test_a_replaced_number_stays_readable_and_used() -> None:
    ledger = numbered()
    act = ledger.do(void_number(ledger.book, "0417", why="torn", by="MV", on=TODAY, instead="0420"))
    assert act.sentence == "Voided sticker 0417 of RB-014, replaced by 0420: torn"
    entry = ledger["RB-014"].inspected[0]
    assert (entry.sticker, entry.sticker_number) == ("issued", "0420")
    assert entry.note == "sticker 0417 voided 2026-11-25 by MV: torn"
    assert numbers_used(ledger.book) == {"0417": "RB-014", "0420": "RB-014"}
    for number, said in (("0417", "voided already, on RB-014"), ("9", "on no cylinder")):
        assert said in reasons(void_number(ledger.book, number, why="x", by="MV", on=TODAY))


def test_a_replacement_is_a_number_never_used() -> None:
    ledger = numbered()
    got = void_number(ledger.book, "0417", why="torn", by="MV", on=TODAY, instead="0417")
    assert "sticker 0417 is used already" in reasons(got)


def test_where_stickers_have_no_numbers_none_is_given() -> None:
    ledger = shop(SF_001=SALE + WITHHELD)
    got = put_on(ledger.book, ["SF-001"], by="MV", on=TODAY, numbers=["1"])
    assert "stickers are not numbered here" in reasons(got)
