"""Booking in: what is written, what is refused, and what is still to be done."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, SETTINGS
from shop import Shop, reasons, shop

from tankbook.acts.arrivals import Arrival, said, serials
from tankbook.acts.book_in import book_in
from tankbook.records.edits import Act, NewFile, Refusal
from tankbook.records.node import Mark, Scalar
from tankbook.rules.gate import may_fill
from tankbook.rules.status import status_of


def arrival(**given: str) -> Arrival:
    values = {k.replace("__", "."): said(v) for k, v in given.items()}
    return Arrival(given.get("serial", "--marks"), values)


@pytest.fixture(name="ledger")
def _ledger() -> Shop:
    return shop(RB_014=GOOD)


def planned(ledger: Shop, today: dt.date, *arrivals: Arrival, **options: object) -> Act | Refusal:
    return book_in(ledger.book, today, arrivals, **options)  # type: ignore[arg-type]


def test_one_cylinder_from_its_marks(ledger: Shop, today: dt.date) -> None:
    new = arrival(marks="DOT-3AL 3000 K200001 09A26", use="sale", material="aluminium")
    act = ledger.do(planned(ledger, today, new, by="MV"))
    assert act.sentence == (
        "Booked in SF-001: serial K200001, DOT-3AL, 3000 psi, for sale; awaiting-inspection"
    )
    assert ledger.files["cylinders/SF-001.yaml"] == (
        "serial: K200001\n"
        "marks: DOT-3AL 3000 K200001 09A26\n"
        "specification: DOT-3AL\n"
        "service_pressure: 3000 psi\n"
        "test_pressure: 5000 psi\n"
        "material: aluminium\n"
        "use: sale\n"
        "status: awaiting-inspection\n"
        "requalified:\n"
        "  - {on: 2026-09, method: hydrostatic, by: maker}\n"
    )


def test_the_test_pressure_prescribed_says_where_it_comes_from(
    ledger: Shop, today: dt.date
) -> None:
    new = arrival(serial="H1", specification="DOT-3AA", service_pressure="3442 psi", use="rental")
    act = ledger.do(planned(ledger, today, new))
    assert ledger["RB-015"].test_pressure is not None
    assert str(ledger["RB-015"].test_pressure) == "5736 psi"  # 5/3 of 3442, rounded down
    assert any("test pressure 5736 psi: 5/3 of service pressure (49 CFR" in n for n in act.notes)


def test_a_delivery_like_one_that_is_there(ledger: Shop, today: dt.date) -> None:
    new = [arrival(serial=s, first_test="2026-10") for s in serials("K300..K339")]
    act = ledger.do(planned(ledger, today, *new, like=ledger["RB-014"]))
    assert act.subjects[0] == "RB-015"
    assert act.subjects[-1] == "RB-054"
    assert len(act.edits) == 40
    one = ledger["RB-033"]
    assert (one.serial, one.maker, str(one.service_pressure)) == (
        "K318",
        "Example Cylinder Co",
        "3000 psi",
    )
    assert one.valve is not None
    assert str(one.valve.rating) == "3442 psi"
    assert status_of(ledger.book, one) == "awaiting-inspection"
    assert act.notes == (
        "RB-015 to RB-054 (40): still to do: inspect it; its neck and valve thread is not recorded",
    )


def test_threads_and_entries_of_the_other_cylinder_are_not_taken_over(
    ledger: Shop, today: dt.date
) -> None:
    ledger.do(planned(ledger, today, arrival(serial="K300"), like=ledger["RB-014"]))
    new = ledger["RB-015"]
    assert new.neck_thread is None
    assert new.valve is not None
    assert new.valve.thread is None
    assert (new.inspected, new.requalified) == ((), ())


def test_a_quick_card_says_what_was_seen_and_counts_as_inspected(
    ledger: Shop, today: dt.date
) -> None:
    new = arrival(
        serial="Q7", service_pressure="3000 psi", hydro="2024-06", sticker="2026-03", use="customer"
    )
    act = ledger.fact(planned(ledger, today, new, by="MV"))
    assert ledger.files["cylinders/CU-001.yaml"] == (
        "serial: Q7\n"
        "service_pressure: 3000 psi\n"
        "use: customer\n"
        "status: in-service\n"
        "requalified:\n"
        "  - {on: 2024-06, method: hydrostatic}\n"
        "inspected:\n"
        "  - {on: 2026-03, checklist: sticker-seen, result: pass, sticker: seen, note: read by MV}\n"
    )
    assert any("carries none of the marks" in note for note in act.notes)
    assert (
        "CU-001: not seen or not written down: the marks, its maker, the outlet, the thread mark on "
        "its crown, the thread mark on its valve, the pressure marked on its valve; `tankbook "
        "book-in --complete CU-001` adds it"
    ) in act.notes


def test_what_was_seen_of_a_walk_in_is_not_asked_for_again(ledger: Shop, today: dt.date) -> None:
    new = arrival(
        marks="DOT-3AL 3000 Q7 09A21", sticker="2026-03", use="customer", material="aluminium",
        maker="Example Cylinder Co", neck_thread="3/4-14 NPSM", valve__thread="3/4-14 NPSM",
        valve__outlet="yoke", valve__rating="3000 psi",
    )  # fmt: skip
    act = ledger.do(planned(ledger, today, new, by="MV"))
    assert not any("not seen" in note for note in act.notes)


@pytest.mark.parametrize("sticker", ["2026-11", "2026-11-25", "2025-12"])
def test_a_month_sticker_counts_from_the_first_of_its_month(
    sticker: str, ledger: Shop, today: dt.date
) -> None:
    new = arrival(
        marks="DOT-3AL 3000 Q7 09A21 06 A123 25", material="aluminium", alloy="6061",
        neck_thread="3/4-14 NPSM", valve__thread="3/4-14 NPSM", valve__rating="3442 psi",
        valve__disc="5000 psi", service="air", sticker=sticker, use="customer",
    )  # fmt: skip
    ledger.do(planned(ledger, today, new, by="MV"))
    assert may_fill(ledger.book, "CU-001", today).fillable


EN = {
    "by marks": {"marks": "EN ISO 7866 PW232BAR PH348BAR V11.1L S12345 2021/09"},
    "typed": {
        "serial": "S12345", "specification": "EN ISO 7866", "service_pressure": "232 bar",
        "test_pressure": "348 bar", "first_test": "2021-09",
    },
}  # fmt: skip


@pytest.mark.parametrize("name", EN)
def test_true_marks_of_elsewhere_are_recorded_and_refuse_the_fill(
    name: str, ledger: Shop, today: dt.date
) -> None:
    """5/3 of 232 bar is 387; what is marked is 348. The row refuses a fill, and not the card."""
    new = arrival(**EN[name], material="aluminium", alloy="6061", use="customer")
    act = ledger.fact(planned(ledger, today, new, by="MV"))
    assert str(ledger["CU-001"].test_pressure) == "348 bar"
    assert any("test pressure 348 bar does not fit" in note for note in act.notes)
    assert not may_fill(ledger.book, "CU-001", today).fillable


def test_no_test_pressure_is_invented_for_a_cylinder_of_elsewhere(
    ledger: Shop, today: dt.date
) -> None:
    new = arrival(
        serial="E9", specification="EN 1964-2", service_pressure="232 bar", use="customer"
    )
    act = ledger.fact(planned(ledger, today, new))
    assert ledger["CU-001"].test_pressure is None
    assert not any(n.startswith("test pressure") for n in act.notes)


def test_a_quick_card_with_a_lapsed_sticker_is_in_service_and_not_filled(
    ledger: Shop, today: dt.date
) -> None:
    new = arrival(
        serial="Q7", specification="DOT-3AL", material="aluminium", service_pressure="3000 psi",
        hydro="2020-06", sticker="2025-10", use="customer",
    )  # fmt: skip
    act = ledger.do(planned(ledger, today, new))
    assert ledger["CU-001"].status == "in-service"
    assert "lapsed Jun 2025" in act.notes[-1]


def test_sale_stock_is_told_what_its_policy_asks(today: dt.date) -> None:
    settings = SETTINGS + "sticker: {policy: at-hand-over, second_look: 7 days}\n"
    ledger = shop(settings=settings, RB_014=GOOD)
    new = arrival(serial="K300", use="sale")
    act = ledger.do(planned(ledger, today, new, like=ledger["RB-014"]))
    assert "its sticker goes on at hand-over" in act.notes[-1]
    assert "a second outside look within 7 days before hand-over" in act.notes[-1]


def test_an_id_may_be_chosen(ledger: Shop, today: dt.date) -> None:
    act = ledger.do(planned(ledger, today, arrival(serial="A", use="pool", id="PN-091")))
    assert act.subjects == ("PN-091",)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"serial": "A"}, "what it is kept for is not said"),
        ({"serial": "A", "use": "hire"}, ""),
        ({"serial": "A", "use": "sail"}, "`sail` is not a known word; did you mean `sale`?"),
        ({"serial": "A", "use": "sale", "id": "rb-014"}, "rb-014 is in use already"),
        ({"serial": "A", "use": "sale", "id": "../x"}, "`../x` is not an id"),
        ({"serial": "A", "use": "sale", "service_pressure": "3000"}, "carries its unit"),
        ({"serial": "A", "use": "sale", "valve__rating": "3442 mph"}, "unknown unit 'mph'"),
        ({"serial": "A", "use": "sale", "first_test": "2026-12"}, "lies in the future"),
        ({"serial": "A", "use": "sale", "size": "al79"}, "`al79` is no known trade size"),
        ({"marks": "DOT-3AL 3000 K118204 09A21", "use": "sale", "serial": "K118205"},
         "its marks say serial K118204, and its card K118205"),
        ({"marks": "DOT-3AL 3000 Q9 09A21", "use": "sale", "first_test": "2021-08"},
         "its marks say first test 2021-09, and its card 2021-08"),
        ({"marks": "DOT-3AL 3000 09A21", "use": "sale"}, "give the serial as `--serial`"),
        ({"serial": "K118204", "use": "sale", "maker": "example cylinder co"},
         "its serial K118204 of this maker is RB-014 as well"),
        ({"serial": "K118204", "use": "sale", "maker": "Another Works"}, ""),
        ({"serial": "K118204", "use": "sale", "maker": "example cylinder co", "not_same": "RB-015: x"},
         "one cylinder, one file; where both stamps were read and they are two, add --set "
         "'not_same=ID: how they differ'"),
        ({"serial": "A", "use": "sale", "not_same": "RB-014"}, "why is missing"),
        ({"serial": "A", "use": "sale", "not_same": ": both at hand"}, "id is missing"),
        ({"serial": "A", "use": "sale", "note": "two\nlines"}, "note is not one line of plain text"),
        ({"serial": "A\u202e", "use": "sale"}, "serial is not one line of plain text"),
        ({"serial": "A", "use": "sale", "note": "a" * 501}, "note is longer than 500 characters"),
        ({"serial": "A", "use": "sale", "id": "a" * 10_000}, "is not an id"),
        ({"serial": "A", "use": "sale", "id": "a\nb"}, "is not an id"),
    ],
)  # fmt: skip
def test_what_a_card_may_say(
    ledger: Shop, today: dt.date, given: dict[str, str], said: str
) -> None:
    got = planned(ledger, today, arrival(**given))
    if said:
        assert said in reasons(got)
    else:
        ledger.do(got)


def test_two_that_are_stamped_alike_are_both_booked_in(ledger: Shop, today: dt.date) -> None:
    new = arrival(
        serial="K118204", use="sale", maker="Example Cylinder Co",
        not_same="RB-014: both at hand, 09A21 and 09A24",
    )  # fmt: skip
    assert "by is missing" in reasons(planned(ledger, today, new))
    ledger.fact(planned(ledger, today, new, by="MV"))
    (other,) = ledger[next(i for i in ledger.book.cylinders if i != "RB-014")].not_same
    assert (other.id, other.by, other.why) == ("RB-014", "MV", "both at hand, 09A21 and 09A24")


def test_a_serial_of_a_maker_that_nobody_wrote_down_is_told(ledger: Shop, today: dt.date) -> None:
    act = ledger.do(planned(ledger, today, arrival(serial="k118204", use="customer")))
    assert any("looks like K118204 of RB-014; one maker is not recorded" in n for n in act.notes)


def test_all_faults_of_all_rows_are_told_with_their_place(ledger: Shop, today: dt.date) -> None:
    def cell(text: str, line: int, column: int) -> Scalar:
        return Scalar(text, Mark(0, line, column), Mark(0, line, column))

    rows = [
        Arrival("in.csv", {"serial": cell("A", 2, 1), "use": cell("sale", 2, 3)}),
        Arrival("in.csv", {"serial": cell("A", 3, 1), "use": cell("sale", 3, 3)}),
        Arrival("in.csv", {"serial": cell("B", 4, 1), "use": cell("sail", 4, 3)}),
    ]
    got = book_in(ledger.book, today, rows)
    assert isinstance(got, Refusal)
    assert [str(f.where) for f in got.findings] == ["in.csv:3:1", "in.csv:4:3"]


def test_somebody_unknown_does_not_book_in(ledger: Shop, today: dt.date) -> None:
    got = planned(ledger, today, arrival(serial="A", use="sale"), by="XX")
    assert (
        reasons(got)
        == "XX is not among the people of tankbook.yaml (MV): name one of them, or write `XX: {}` below `people:`"
    )


def test_nothing_to_book_in(ledger: Shop, today: dt.date) -> None:
    assert reasons(planned(ledger, today)) == "there is no cylinder to book in"


@pytest.mark.parametrize(
    "text", ["#4, left side", "a: b", "[x]", "- x", '"so" he said', "back\\slash", "it's", "ü 20 %"]
)
def test_any_line_of_text_comes_back_as_written(ledger: Shop, today: dt.date, text: str) -> None:
    act = ledger.do(planned(ledger, today, arrival(serial="A", use="sale", note=text)))
    assert isinstance(act.edits[0], NewFile)
    assert ledger["SF-001"].note == text


def test_where_only_a_test_house_looks_its_test_puts_a_cylinder_into_service(
    today: dt.date,
) -> None:
    settings = SETTINGS.replace("us-dot", "uk").replace("units: psi", "units: bar")
    for hydro, status in (("2025-03", "in-service"), ("", "awaiting-inspection")):
        given = {"serial": "K200001", "specification": "UN ISO 7866", "service_pressure": "232 bar"}
        given |= {"hydro": hydro} if hydro else {}
        ledger = shop(RB_014=GOOD, settings=settings)
        ledger.do(planned(ledger, today, arrival(**given, use="rental"), by="MV"))
        assert ledger["RB-015"].status == status
