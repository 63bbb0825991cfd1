"""Serials of a delivery, ids by the ledger's scheme, and cards from marks."""

from __future__ import annotations

import pytest
from books import SETTINGS
from shop import shop

from tankbook.acts.arrivals import Arrival, card_of, known_keys, said, serials
from tankbook.acts.book_in import next_ids
from tankbook.records.words import Shore, Use


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("K100", ["K100"]),
        ("K100, K104", ["K100", "K104"]),
        ("K098..K101", ["K098", "K099", "K100", "K101"]),
        ("K98..101", ["K98", "K99", "K100", "K101"]),
        ("0098..0101", ["0098", "0099", "0100", "0101"]),
        ("A1,B7..B8", ["A1", "B7", "B8"]),
        ("WN-9..WN-9", ["WN-9"]),
    ],
)
def test_serials_of_a_list_or_a_range(text: str, found: list[str]) -> None:
    assert serials(text) == tuple(found)


def test_forty_serials_are_forty() -> None:
    assert len(serials("K100..K139")) == 40


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("K139..K100", "runs backward"),
        ("K100..J139", "begin alike"),
        ("K99..K100", "as many digits"),
        ("K099..100A", "end in digits"),
        ("K..L", "end in digits"),
        ("K000..K999", "more than the 500"),
        (" , ", "no serial"),
    ],
)
def test_a_range_that_is_a_slip_is_refused(text: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        serials(text)


@pytest.mark.parametrize(
    ("use", "count", "found"),
    [
        (Use.RENTAL, 2, ("RB-015", "RB-016")),
        (Use.SALE, 1, ("SF-001",)),
        (Use.POOL, 2, ("P1", "P2")),
    ],
)
def test_ids_come_after_the_highest_of_their_scheme(
    use: Use, count: int, found: tuple[str, ...]
) -> None:
    ledger = shop(settings=SETTINGS + "ids: {pool: P#}\n", RB_014="serial: A", RB_002="serial: B")
    assert next_ids(ledger.book, use, count, frozenset()) == found


def test_an_id_that_is_spoken_for_is_passed_over() -> None:
    ledger = shop(RB_014="serial: A", rb_015="serial: B")
    assert next_ids(ledger.book, Use.RENTAL, 1, frozenset({"rb-016"})) == ("RB-017",)


@pytest.mark.parametrize(
    ("scheme", "said"), [("P#", "no 10 ids left"), ("P-", "no id scheme"), ("#-#", "no id scheme")]
)
def test_a_scheme_that_does_not_reach_is_refused(scheme: str, said: str) -> None:
    ledger = shop(settings=f"{SETTINGS}ids: {{pool: '{scheme}'}}\n")
    with pytest.raises(ValueError, match=said):
        next_ids(ledger.book, Use.POOL, 10, frozenset())


def test_marks_give_the_card_its_facts_and_its_tests() -> None:
    line = "DOT-3AA 2250 123456 PST 05C98 08 A123 18 + 11 Z418 23"
    card = card_of(Arrival("--marks", {"marks": said(line)}), None, Shore.PSI, "")
    assert card.findings == []
    assert card.cylinder is not None
    assert card.values == {
        "serial": "123456",
        "marks": line,
        "specification": "DOT-3AA",
        "service_pressure": "2250 psi",
        "status": "awaiting-inspection",
        "requalified": (
            {"on": "1998-05", "method": "hydrostatic", "by": "maker"},
            {"on": "2018-08", "method": "hydrostatic", "by": "A123", "stamp": "08 A123 18 +",
             "plus": "yes"},
            {"on": "2023-11", "method": "hydrostatic", "by": "Z418", "stamp": "11 Z418 23"},
        ),
    }  # fmt: skip
    assert card.notes == ["not read of the marks: `PST`: a maker's or an inspector's mark"]


@pytest.mark.parametrize(
    ("suffix", "methods"),
    [("UE", ["ultrasonic"]), ("VE", ["hydrostatic", "eddy-current"]), ("S", ["proof"])],
)
def test_a_suffix_of_a_retest_says_how_it_was_done(suffix: str, methods: list[str]) -> None:
    line = f"DOT-3AL 3000 K118204 09A21 08 A123 25 {suffix}"
    card = card_of(Arrival("x", {"marks": said(line)}), None, Shore.PSI, "")
    assert card.cylinder is not None
    assert [r.method.value for r in card.cylinder.requalified[1:]] == methods
    assert card.cylinder.requalified[-1].stamp == f"08 A123 25 {suffix}"


@pytest.mark.parametrize("stamp", ["08 A123 25 VE", "08 A123 25VE"])
def test_a_hydro_keeps_its_own_part_of_a_stamp_of_two_tests(stamp: str) -> None:
    line = f"DOT-3AL 3000 K118204 09A21 {stamp}"
    card = card_of(Arrival("x", {"marks": said(line)}), None, Shore.PSI, "")
    assert card.cylinder is not None
    assert [r.stamp for r in card.cylinder.requalified[1:]] == ["08 A123 25", "08 A123 25 VE"]


def test_a_retest_with_a_suffix_that_changes_its_meaning_is_left_to_a_person() -> None:
    line = "DOT-3AL 3000 K118204 09A21 08 A123 25 E"
    card = card_of(Arrival("x", {"marks": said(line)}), None, Shore.PSI, "")
    assert card.cylinder is not None
    assert len(card.cylinder.requalified) == 1
    assert any("is not entered: do it by hand" in n for n in card.notes)


@pytest.mark.parametrize(("shore", "pressure"), [(Shore.PSI, "3000 psi"), (Shore.BAR, "207 bar")])
def test_of_a_dual_mark_the_pressure_of_the_ledger_is_taken(shore: Shore, pressure: str) -> None:
    line = "TC-3ALM 207 DOT-3AL 3000 F52118 10K26"
    card = card_of(Arrival("x", {"marks": said(line)}), None, shore, "")
    assert card.values["service_pressure"] == pressure
    assert card.values["specification"] == ("TC-3ALM", "DOT-3AL")


def test_what_is_given_goes_before_the_marks() -> None:
    given = {"marks": said("DOT-3AL 3000 K118204 09A21"), "maker": said("Example Cylinder Co")}
    card = card_of(Arrival("x", {**given, "first_test": said("2021-10")}), None, Shore.PSI, "")
    assert card.values["maker"] == "Example Cylinder Co"
    assert card.values["requalified"] == (
        {"on": "2021-10", "method": "hydrostatic", "by": "maker"},
    )


def test_every_key_may_be_given_but_the_status_and_the_entries() -> None:
    keys = known_keys()
    assert {"serial", "marks", "valve.thread", "permit.period", "first_test", "sticker"} <= set(
        keys
    )
    assert not {"status", "inspected", "requalified", "valve.serviced", "held"} & set(keys)
