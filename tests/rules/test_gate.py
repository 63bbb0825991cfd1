"""May it be filled? One cylinder, one thing wrong at a time, and the reason it gives."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, SETTINGS, STATION, TODAY, make_book, with_lines
from changing import replace

from tankbook.gas import Gas
from tankbook.records.node import Finding, Where
from tankbook.records.rulerow import Gate
from tankbook.rules.answers import MayFill
from tankbook.rules.gate import may_fill
from tankbook.units import GaugePressure, Temperature

NITROX = Gas.parse("nitrox32")
OPEN = "[{on: 2026-10-01, to: B-1, back: 2026-10-02, pressure: 500 psi, valve: open}]"
EMPTY = "[{on: 2026-10-01, to: B-1, back: 2026-10-02, pressure: 0 psi, valve: closed}]"
DAMAGED = "[{on: 2026-10-01, to: B-1, back: 2026-10-02, damage: handwheel cracked}]"
CRACK = (
    "[{on: 2026-02-09, by: MV, checklist: annual, result: pass, "
    "findings: [{step: neck-cracks, result: reject}]}]"
)
INSIDE = ", {on: 2026-10-05, by: MV, checklist: internal, result: pass}]"
COMPOSITE = {"specification": "[DOT-SP 99001]", "material": "composite", "alloy": None}


def ask(
    log: str = "", gas: Gas | None = None, station: str | None = None, **changes: str | None
) -> MayFill:
    book = make_book({"A": with_lines(GOOD, **changes)}, log=log, station=station)
    return may_fill(book, "A", TODAY, gas)


def refusals(answer: MayFill) -> list[str]:
    return [r.code for r in answer.refusals]


def test_a_sound_cylinder_may_be_filled() -> None:
    answer = ask(station=STATION)
    assert answer.fillable
    assert not answer.refusals
    assert answer.look is not None
    assert answer.limit is not None
    assert str(answer.limit.pressure) == "3000 psi"


@pytest.mark.parametrize(
    ("serial", "read"),
    [("___", False), ("'?'", False), ("'-'", False), ("missing", False), ("None", False),
     ("n/a", False), ("not legible", False), ("serial number unreadable", False), ("'serial: worn off'", False), ("worn off", False), ("unlesbar", False),
     ("B", True), ("ab-12 34x", True), ("NIL-204", True), ("'7'", True)],
)  # fmt: skip
def test_what_stands_for_no_serial_number_is_none(serial: str, read: bool) -> None:
    answer = ask(station=STATION, serial=serial)
    assert answer.fillable is read
    assert refusals(answer) == ([] if read else ["serial-not-read"])


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"requalified": "[{on: 2021-09, method: hydrostatic, by: maker}]"}, "requalification-overdue"),
        ({"requalified": None}, "requalification-missing"),
        ({"inspected": "[{on: 2025-02-09, by: MV, checklist: annual, result: pass}]",
          "requalified": "[{on: 2023-09, method: hydrostatic, by: maker}]"}, "visual-overdue"),
        ({"status": "held", "held": "[{on: 2026-03-01, why: dent}]"}, "standing-held"),
        ({"status": "rejected", "rejected": "[{on: 2026-03-01, why: pit}]"}, "standing-rejected"),
        ({"status": "condemned", "condemned": "[{on: 2026-03-01, why: burst}]"}, "standing-condemned"),
        ({"status": "at-test", "sent": "[{on: 2026-03-01, to: N, for: requalification}]"}, "standing-at-test"),
        ({"status": "at-repair", "sent": "[{on: 2026-03-01, to: N, for: repair}]"}, "standing-at-repair"),
        ({"status": "out", "rented": "[{on: 2026-11-20, to: B-1}]"}, "standing-out"),
        ({"status": "lost", "lost": "[{on: 2026-11-20}]"}, "standing-lost"),
        ({"status": "sold", "handed_over": "[{on: 2026-11-20, to: C-1}]"}, "standing-sold"),
        ({"status": "awaiting-inspection"}, "status"),
        ({"status": "awaiting-inspection", "inspected": None}, "standing-awaiting-inspection"),
        ({"inspected": CRACK}, "neck-crack"),
        ({"rented": OPEN}, "returned-valve-open"),
        ({"rented": EMPTY}, "returned-empty"),
        ({"rented": DAMAGED}, "damage-noted"),
        ({"sent": "[{on: 2026-03-01, to: N, for: requalification, back: 2026-03-20}]"}, "not-refitted"),
        ({"service_pressure": None}, "fill-limit"),
        ({"neck_thread": None}, "thread-unknown"),
        ({"neck_thread": "M25x2"}, "thread-differ"),
        ({"valve": "{thread: 3/4-14 NPSM, disc: 5000 psi}"}, "valve-rating-unknown"),
        ({"valve": "{thread: 3/4-14 NPSM, rating: 2600 psi, disc: 5000 psi}"}, "valve-rating-below"),
        ({"valve": "{thread: 3/4-14 NPSM, rating: 3442 psi, disc: 5500 psi}"}, "disc-above-test-pressure"),
        ({"specification": "[ISO 7866]"}, "mark-required"),
        ({"specification": None}, "mark-required"),
        ({"alloy": None, "maker": None}, "alloy-unknown"),
        ({"alloy": "6351"}, "eddy-current-missing"),
        ({"material": None, "specification": "[DOT-4B]"}, "material-unknown"),
        (COMPOSITE, "permit-missing-period"),
        (COMPOSITE, "permit-missing-test-pressure"),
        (COMPOSITE, "permit-missing-life-end"),
        ({**COMPOSITE, "permit": "{period: 5 years, test_pressure: 7500 psi, life_ends: 2026-10}"},
         "permit-past-life-end"),
    ],
)  # fmt: skip
def test_one_thing_wrong(changes: dict[str, str | None], code: str) -> None:
    answer = ask(**changes)
    assert code in refusals(answer)
    assert not answer.fillable


@pytest.mark.parametrize("came_back", [OPEN, EMPTY])
def test_a_look_inside_clears_an_open_return(came_back: str) -> None:
    entries = "[{on: 2026-02-09, by: MV, checklist: annual, result: pass}" + INSIDE
    assert ask(rented=came_back, inspected=entries).fillable


def test_a_reading_of_nothing_wants_a_look_inside() -> None:
    row = "at=2026-11-02T10:00:00+00:00; cylinder=A; act=reading; to=0 psi; by=MV"
    assert "returned-empty" in refusals(ask(log=row))


@pytest.mark.parametrize(
    ("changes", "log", "codes"),
    [
        ({}, "", ["gas-not-for-service", "oxygen-clean-never"]),
        ({"service": None}, "", ["gas-service-unknown", "oxygen-clean-never"]),
        ({"service": "nitrox", "cleaned": "[{on: 2026-02-10, by: MV, to: nitrox}]"}, "", []),
        ({"service": "nitrox", "cleaned": "[{on: 2026-02-10, by: MV, to: nitrox}]"},
         "at=2026-03-01T10:00:00+00:00; cylinder=A; act=fill; to=3000 psi; gas=air; source=C1",
         ["contents-differ", "oxygen-clean-lost"]),
    ],
)  # fmt: skip
def test_nitrox(changes: dict[str, str], log: str, codes: list[str]) -> None:
    assert sorted(refusals(ask(gas=NITROX, log=log, **changes))) == codes


@pytest.mark.parametrize(
    ("station", "code"),
    [
        ("air_tests: [{on: 2026-10-12, result: fail}]", "air-test-failed"),
        ("air_tests: [{on: 2026-10-12, standard: cga-grade-e, result: pass, co: 12 ppm}]", "air-test-failed"),
        ("air_tests: [{on: 2026-10-12, standard: no-such, result: pass}]", "air-limits-unknown"),
        ("air_tests: [{on: 2026-01-12, result: pass}]", "air-test-overdue"),
        ("regulator_set: 3000 psi", "air-test-none"),
        (STATION + "compressor: {hours: [{on: 2026-11-20, reads: 99 h}]}\n"
         "filters: [{name: F1, life: 50 h, changed: [{on: 2026-01-02, at: 10 h}]}]", "filter-overdue"),
    ],
)  # fmt: skip
def test_the_station_can_refuse(station: str, code: str) -> None:
    assert code in refusals(ask(station=station))


def test_a_passed_air_test_reopens_the_station() -> None:
    station = "air_tests: [{on: 2026-10-12, result: fail}, {on: 2026-10-20, result: pass%s}]"
    values = "oxygen: 20.9 %, co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm"
    values = f", standard: en-12021-2014, {values}, water: 18 mg/m3, odour: none"
    assert ask(station=station % values).fillable
    assert not ask(station=station % "").fillable  # what failed may be there still


def test_the_fill_pressure_is_the_lowest_of_all_connected() -> None:
    low = with_lines(GOOD, serial="K2", service_pressure="2640 psi", test_pressure="4400 psi")
    book = make_book({"A": GOOD, "B": low})
    set_to = GaugePressure.parse("3000 psi")
    alone = may_fill(book, "A", TODAY, fill_pressure=set_to)
    together = may_fill(book, "A", TODAY, fill_pressure=set_to, connected=("A", "B"))
    assert alone.fillable
    assert refusals(together) == ["regulator-above-limit"]


def test_a_lower_fill_pressure_lowers_the_target() -> None:
    answer = may_fill(
        make_book({"A": GOOD}), "A", TODAY, fill_pressure=GaugePressure.parse("2500 psi")
    )
    assert str(answer.target) == "2500 psi"


def test_a_colder_day_lowers_the_target_and_a_hotter_one_raises_nothing() -> None:
    """8.21 psi/degF at 3000 psig and 70 degF (computed: CoolProp): about 240 psi less at 41 degF."""
    book = make_book({"A": GOOD})
    cold = may_fill(book, "A", TODAY, ambient=Temperature.parse("41 degF"))
    hot = may_fill(book, "A", TODAY, ambient=Temperature.parse("95 degF"))
    assert cold.target is not None
    assert cold.target.psi == pytest.approx(3000 - 8.21 * 29, abs=10)
    assert str(hot.target) == "3000 psi"


DOUBLES = {"D": "cylinders: [A, B]\nisolator: open\nrating: 3442 psi\n"}


def test_doubles_with_one_side_out_of_date() -> None:
    lapsed = with_lines(
        GOOD, serial="K2", requalified="[{on: 2021-09, method: hydrostatic, by: maker}]"
    )
    book = make_book({"A": GOOD, "B": lapsed}, sets=DOUBLES)
    assert refusals(may_fill(book, "D", TODAY)) == ["requalification-overdue"]
    assert refusals(may_fill(book, "A", TODAY)) == ["doubles-other-side"]


def test_sound_doubles_and_a_shut_isolator() -> None:
    two = {"A": GOOD, "B": with_lines(GOOD, serial="K2")}
    assert may_fill(make_book(two, sets=DOUBLES), "D", TODAY).fillable
    shut = {"D": DOUBLES["D"].replace("open", "shut")}
    assert "isolator-shut" in [
        r.code for r in may_fill(make_book(two, sets=shut), "D", TODAY).reasons
    ]


def test_transport_law_alone_is_no_fill_rule() -> None:
    settings = SETTINGS.replace("[us-dot]", "[eu-adr]")
    answer = may_fill(make_book({"A": GOOD}, settings=settings), "A", TODAY)
    assert "no-fill-rules" in refusals(answer)


def test_a_broken_file_is_a_no() -> None:
    book = make_book({"A": GOOD})
    finding = Finding(Where("cylinders/B.yaml", 3, 1), "unknown-key", "`serail` is not a key")
    broken = type(book)(book.settings, broken={"B": (finding,)})
    answer = may_fill(broken, "B", TODAY)
    assert (answer.fillable, refusals(answer)[0]) == (False, "broken-file")
    assert "cylinders/B.yaml:3:1" in answer.reasons[0].text


def test_a_broken_set_is_told_with_every_answer() -> None:
    book = make_book({"A": GOOD})
    finding = Finding(Where("sets/D.yaml", 2, 1), "unknown-key", "`colour` is not a key")
    damaged = replace(
        book,
        broken={"D": (finding,)},
        findings=(finding,),
        broken_sets={"sets/D.yaml": ("cylinders", "A", "B", "colour")},
    )
    assert "set-unread" in refusals(may_fill(damaged, "A", TODAY))
    assert not may_fill(damaged, "D", TODAY).fillable


@pytest.mark.parametrize(
    ("words", "refused"),
    [
        (("cylinders", "A", "B"), {"A", "B"}),
        (("cylinders", "A"), {"A", "B", "C"}),  # one side is not legible: any single one may be it
        (("cylinders",), {"A", "B", "C"}),
        ((), {"A", "B", "C"}),
    ],
)
def test_a_broken_set_refuses_whom_it_names_else_whoever_is_in_no_other(
    words: tuple[str, ...], refused: set[str]
) -> None:
    texts = {i: with_lines(GOOD, serial=f"K{n}") for n, i in enumerate("ABCEF")}
    book = make_book(texts, sets={"G": "cylinders: [E, F]"})
    finding = Finding(Where("sets/D.yaml", 2, 1), "unknown-key", "`colour` is not a key")
    damaged = replace(book, findings=(finding,), broken_sets={"sets/D.yaml": words})
    no = {i for i in texts if "set-unread" in refusals(may_fill(damaged, i, TODAY))}
    assert no == refused


def test_only_shop_practice_may_be_overridden() -> None:
    lapsed = ask(
        inspected="[{on: 2025-02-09, by: MV, checklist: annual, result: pass}]",
        requalified="[{on: 2021-09, method: hydrostatic, by: maker}]",
    )
    lifted = {r.code: r.may_be_overridden for r in lapsed.refusals}
    assert lifted == {"requalification-overdue": False, "visual-overdue": True}
    cracked = CRACK.replace("[", "[{on: 2025-12-09, by: MV, checklist: annual, result: pass}, ", 1)
    assert not any(r.may_be_overridden for r in ask(inspected=cracked).refusals)
    failed = ask(station="air_tests: [{on: 2026-10-12, result: fail}]")
    (reason,) = [r for r in failed.refusals if r.code == "air-test-failed"]
    assert not reason.may_be_overridden


def test_a_row_of_the_shop_replaces_a_shipped_one() -> None:
    own = """
    heading: Shop rules
    rows:
      - {id: us.visual, obligation: visual, period: 6 months, met_by: [inspection],
         gate: refuse, basis: practice, citation: shop manual, verified: read}
    """
    answer = may_fill(make_book({"A": GOOD}, own_rules=own), "A", TODAY)
    (reason,) = answer.refusals
    assert (reason.code, reason.citation) == ("visual-overdue", "shop manual")


def test_a_dropped_row_is_told() -> None:
    own = """
    heading: Shop rules
    rows:
      - {id: bench.regulator.unknown, obligation: regulator, drop: yes,
         gate: warn, basis: practice, citation: shop manual, verified: read,
         by: MV, why: the regulator is sealed, since: 2026-01}
    """
    book = make_book({"A": GOOD}, own_rules=own, station=None).as_known_on(TODAY)
    answer = may_fill(book, "A", TODAY)
    assert [r.code for r in answer.warnings] == ["row-dropped", "no-marks"]


def test_later_records_are_not_seen() -> None:
    """What is dated after the day asked about has not happened yet."""
    text = with_lines(GOOD, status="held", held="[{on: 2026-11-01, why: dent}]")
    book = make_book({"A": text}, station=None)
    before = dt.date(2026, 10, 31)
    assert may_fill(book.as_known_on(before), "A", before).fillable
    assert not may_fill(book.as_known_on(TODAY), "A", TODAY).fillable


def test_every_reason_names_its_row_or_says_there_is_none() -> None:
    answer = ask(status="held", held="[{on: 2026-03-01, why: dent}]", neck_thread=None)
    for reason in answer.reasons:
        assert reason.citation
        assert (reason.row is None) is not (reason.where is None)
        assert reason.gate in Gate


NOT_PASSED = "[{on: 2026-02-09, by: MV, checklist: annual, result: pass}, {on: 2026-03-09, by: MV, checklist: annual, result: reject}]"


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"inspected": NOT_PASSED}, "inspection-not-passed"),
        ({"inspected": NOT_PASSED.replace("result: reject", "result: pass, findings: [{step: boot, result: hold}]")}, "inspection-not-passed"),
        ({"inspected": CRACK.replace("neck-cracks", "neck-crack")}, "neck-crack"),
        ({"requalified": "[{on: 2024-03, method: hydrostatic, by: maker}, {on: 2026-01, method: proof, by: T, result: fail}]"}, "test-failed"),
        ({"requalified": "[{on: 2024-11, method: hydrostatic, by: T, result: fail}, {on: 2024-11-02, method: hydrostatic, by: T}]"}, "test-failed"),
        ({"alloy": "AA6351"}, "eddy-current-missing"),
        ({"alloy": "6061 or 6351"}, "alloy-unknown"),
        ({"alloy": "6531"}, "alloy-unknown"),
        ({"material": "steel", "alloy": None}, "material-differs"),
        ({"specification": "[UNKNOWN]"}, "mark-required"),
        ({"specification": "[UN 1002, EN 1964-1]"}, "mark-required"),
        ({"neck_thread": '"?"', "valve": '{thread: "?", rating: 3442 psi, disc: 5000 psi}'}, "thread-unknown"),
        ({"inspected": None}, "visual-missing"),
        ({"marks": "DOT-3AL 2250 K118204 09A21"}, "marks-pressure"),
        ({"test_pressure": "2000 psi"}, "test-pressure"),
        ({"specification": "[DOT-3HT]", "material": "steel", "alloy": None}, "fill-limit"),
        ({"permit": "{number: DOT-E 06688-2216, period: 5 years, test_pressure: 5000 psi, life_ends: none}"}, "recalled"),
    ],
)  # fmt: skip
def test_a_record_that_speaks_against_itself_is_a_no(
    changes: dict[str, str | None], code: str
) -> None:
    answer = ask(station=STATION, **changes)
    assert code in refusals(answer), refusals(answer)


def test_the_worse_of_two_air_tests_and_what_cannot_be_judged() -> None:
    for tests in (
        "[{on: 2026-10-12, source: C1, result: fail}, {on: 2026-10-20, source: B1, result: pass}]",
        "[{on: 2026-10-12, result: pass}, {on: 2026-10-12, result: fail}]",
        "[{on: 2026-10-12, result: pass, co: 500 ppm}]",
        "[{on: 2026-10-12, standard: cga-grade-e, result: pass, co: 500 mg/m3}]",
    ):
        assert not ask(station=f"air_tests: {tests}").fillable, tests


def test_a_meter_that_runs_backward_is_no_meter() -> None:
    parts = (
        STATION
        + "compressor: {hours: [{on: 2026-09-02, reads: 500 h}, {on: 2026-11-20, reads: 90 h}]}\n"
    )
    parts += "filters: [{name: F1, life: 50 h, changed: [{on: 2026-09-01, at: 80 h}]}]"
    assert "filter-missing" in refusals(ask(station=parts))


def test_a_replaced_row_of_law_is_told() -> None:
    own = """
    heading: Shop rules
    rows:
      - {id: us.requalification.3al, obligation: requalification, period: 4 years,
         met_by: [hydrostatic], gate: refuse, basis: law, citation: shop, verified: read}
    """
    answer = may_fill(make_book({"A": GOOD}, own_rules=own), "A", TODAY)
    assert "row-replaced" in [r.code for r in answer.warnings]


@pytest.mark.parametrize(
    ("changes", "log", "code"),
    [
        ({"requalified": "[{on: 2024-03, method: hydrostatic, by: T1, test_pressure: 3000 psi}]"}, "", "tested-too-low"),
        ({"valve": "{thread: 3/4-14 NPSM, rating: 3442 psi, disc: 2500 psi}"}, "", "disc-too-low"),
    ],
)  # fmt: skip
def test_figures_that_cannot_be_right(changes: dict[str, str], log: str, code: str) -> None:
    assert code in refusals(ask(log=log, station=STATION, **changes))


@pytest.mark.parametrize(
    ("sets", "code"),
    [
        ({"D": "cylinders: [A, A]"}, "set-size"),
        ({"D": "cylinders: [A, B]", "E": "cylinders: [A, C]"}, "in-two-sets"),
        ({"D": "cylinders: [A, L]"}, "unlike-pressures"),
    ],
)
def test_sets_that_cannot_be_right(sets: dict[str, str], code: str) -> None:
    cylinders = {n: with_lines(GOOD, serial=f"K{n}") for n in ("A", "B", "C")}
    cylinders["L"] = with_lines(
        GOOD, serial="KL", service_pressure="2640 psi", test_pressure="4400 psi"
    )
    book = make_book(cylinders, sets=sets)
    assert code in refusals(may_fill(book, "A", TODAY))
    assert code in refusals(may_fill(book, "D", TODAY))


NO_THREADS = {"neck_thread": None, "valve": "{outlet: yoke, rating: 3000 psi, disc: 5000 psi}"}
VALVE_SP12 = "{outlet: yoke, thread: SP12, rating: 3000 psi, disc: 5000 psi}"


@pytest.mark.parametrize(
    ("changes", "code", "gate"),
    [
        ({**NO_THREADS, "use": "customer"}, "thread-unread", "warn"),
        (NO_THREADS, "thread-unknown", "refuse"),  # the shop's own: it can be read
        ({**NO_THREADS, "use": "customer", "made_in": "Italy"}, "thread-unknown", "refuse"),
        ({**NO_THREADS, "use": "customer", "neck_thread": "M25x2"}, "thread-unknown", "refuse"),
        ({**NO_THREADS, "use": "customer", "specification": "[DOT-3AL, EN ISO 7866]"}, "thread-unknown", "refuse"),
        ({**NO_THREADS, "use": "customer", "made_in": "Italy", "valve": VALVE_SP12}, "thread-unread", "warn"),
        ({"use": "customer", "neck_thread": "25P", "valve": VALVE_SP12}, "thread-differ", "refuse"),
    ],
)  # fmt: skip
def test_threads_of_a_walk_in_are_read_as_far_as_an_eye_sees(
    changes: dict[str, str | None], code: str, gate: str
) -> None:
    told = {r.code: r.gate for r in ask(**changes).reasons}
    assert told.get(code) == gate
