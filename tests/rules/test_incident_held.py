"""What an incident names is held, whatever became of its holds."""

from __future__ import annotations

import datetime as dt
import re
import shlex

import pytest
from books import GOOD, SETTINGS, STATION, TODAY, make_book, typed, with_lines
from changing import replace

from tankbook.records.book import Book
from tankbook.records.counter import CounterFile
from tankbook.records.node import Severity
from tankbook.rules.bank_held import banks_held
from tankbook.rules.checks import check
from tankbook.rules.gate import may_fill
from tankbook.rules.incident_held import unheld, why_of
from tankbook.rules.out_of_use import out_of_use
from tankbook.rules.schedule import due_of_station

WHY = "incident of 2026-11-20: it vented"
INCIDENT = "{{on: 2026-11-20, by: MV, what: it vented, {}}}"
OF_A = INCIDENT.format("cylinders: [{id: A, serial: K118204}]")
HELD = "[{on: 2026-11-20, by: MV, why: '" + WHY + "'}]"
RELEASED = (
    HELD[:-2]
    + ", released: 2026-11-22, released_by: MV, released_why: valve serviced and looked inside}]"
)
VOID = ", void: {on: 2026-11-21, by: MV, why: typed wrongly}}]"
PARTS = (
    STATION.replace("%", "%%")
    + """
banks:
  - {name: B1, water_volume: 48 L, working_pressure: 5000 psi, gas: air%s}
  - {name: B2, water_volume: 48 L, working_pressure: 5000 psi, gas: air}
whips: [{name: W1%s}, {name: W2}]
positions: [{name: P1, kind: enclosed%s}, {name: P2, kind: enclosed}]
"""
)


def told(book: Book, *incidents: str) -> Book:
    counter = typed(CounterFile, f"incidents: [{', '.join(incidents)}]", "counter.yaml")
    return replace(book, counter=counter).as_known_on(TODAY)


def of_a(entries: str = "", *incidents: str, **more: str) -> Book:
    status = "in-service" if "released" in entries or "void" in entries else "held"
    changes = {"held": entries, "status": status} if entries else {}
    cards = {"A": with_lines(GOOD, **{**changes, **more}), "B": with_lines(GOOD, serial="K2")}
    sets = (
        {"D": "cylinders: [A, B]\nisolator: open"} if incidents and "id: D" in incidents[0] else {}
    )
    return told(make_book(cards, sets=sets), *(incidents or (OF_A,)))


@pytest.mark.parametrize(
    ("entries", "named"),
    [
        ("", ["A"]),
        (HELD, []),
        (RELEASED, []),
        (HELD[:-2] + VOID, ["A"]),
        (RELEASED[:-2] + VOID, ["A"]),
        (HELD.replace("it vented", "something else"), []),  # no other incident of that day
        (HELD.replace(WHY, "dent"), ["A"]),
        (HELD.replace(WHY, "incident of 2026-11-19: it vented"), ["A"]),
        (HELD.replace(WHY, WHY.upper()), []),
    ],
)  # fmt: skip
def test_a_cylinder_of_an_incident_is_held_for_it_or_refused(
    entries: str, named: list[str]
) -> None:
    book = of_a(entries)
    assert [i for each in unheld(book) for i in each.ids] == named
    codes = [r.code for r in may_fill(book, "A", TODAY).refusals]
    assert ("incident-not-held" in codes) is bool(named)
    assert "incident-not-held" not in [r.code for r in may_fill(book, "B", TODAY).refusals]
    assert bool(codes) is (entries != RELEASED)
    found = [f for f in check(book, TODAY) if f.code == "incident-not-held"]
    assert [(f.severity, f.touches) for f in found] == [(Severity.FAULT, ("A",))] * len(named)


def test_of_two_incidents_of_a_day_each_has_its_own_hold() -> None:
    other = OF_A.replace("it vented", "it fell")
    (left,) = unheld(of_a(HELD, OF_A, other))
    assert left.incident.what == "it fell"
    # what names the day alone says of neither that it is held for it
    assert len(unheld(of_a(HELD.replace(": it vented", ""), OF_A, other))) == 2
    assert unheld(of_a(HELD.replace(": it vented", ""))) == ()


@pytest.mark.parametrize(
    ("entries", "left"),
    [
        (RELEASED, 0),  # held once for both
        (f"{RELEASED[:-1]}, {HELD[1:]}", 0),
        (f"{RELEASED[:-1]}, {HELD[1:-2]}{VOID}", 1),  # what was let go was for the first alone
        (f"{RELEASED[:-1]}, {HELD[1:-2]}{VOID[:-1]}, {HELD[1:]}", 0),
        (f"{HELD[:-2]}{VOID}", 2),
    ],
)
def test_two_incidents_in_the_same_words_have_as_many_holds_as_were_entered(
    entries: str, left: int
) -> None:
    assert len(unheld(of_a(entries, OF_A, OF_A))) == left
    assert len(unheld(of_a(entries, OF_A))) == (left == 2)


def test_the_line_that_mends_it_holds_it() -> None:
    what = ("it vented, and 'hit' the `wall` " * 9).strip()
    told_ = OF_A.replace("what: it vented", f'what: "{what}"')
    (found,) = (f for f in check(of_a("", told_), TODAY) if f.code == "incident-not-held")
    assert shlex.split(found.mend)[2:6] == ["`tankbook", "hold", "A", "--why"]
    why = shlex.split(found.mend)[6].rstrip("`;")
    assert why == why_of(unheld(of_a("", told_))[0].incident)
    assert unheld(of_a(f'[{{on: 2026-11-21, by: MV, why: "{why}"}}]', told_)) == ()


def test_of_a_set_both_are_held() -> None:
    of_d = INCIDENT.format("cylinders: [{id: D}]")
    book = of_a("", of_d)
    assert unheld(book)[0].ids == ("A", "B")
    for id_ in ("A", "B", "D"):
        assert "incident-not-held" in [r.code for r in may_fill(book, id_, TODAY).refusals]


def test_a_cylinder_that_is_called_otherwise_now_is_meant() -> None:
    book = told(make_book({"NEW": GOOD + "formerly: [A]\n"}), OF_A)
    assert unheld(book)[0].ids == ("NEW",)


@pytest.mark.parametrize(
    "gone", ["condemned: [{on: 2026-11-21, by: T123, why: burst}]", "handed_over: [{on: 2026-11-21, by: MV, to: C-1}]"]
)  # fmt: skip
def test_what_is_gone_is_held_by_nobody(gone: str) -> None:
    status = "condemned" if gone.startswith("cond") else "sold"
    card = GOOD.replace("status: in-service", f"status: {status}") + gone + "\n"
    assert unheld(told(make_book({"A": card}), OF_A)) == ()


@pytest.mark.parametrize(
    ("void", "counts"),
    [
        ("{on: 2026-11-21, by: MV, why: another cylinder}", False),
        ("{on: 2026-11-21, by: XX, why: another cylinder}", True),
        ("{on: 2026-11-19, by: MV, why: another cylinder}", True),
        ("{on: 2027-11-19, by: MV, why: another cylinder}", True),
    ],
)
def test_an_incident_counts_until_somebody_who_may_strikes_it_out(void: str, counts: bool) -> None:
    assert bool(unheld(of_a("", f"{OF_A[:-1]}, void: {void}}}"))) is counts


def test_one_of_a_day_to_come_counts_at_once_and_touches_no_other() -> None:
    book = of_a("", OF_A.replace("2026-11-20", "2027-11-20"))
    assert "incident-not-held" in [r.code for r in may_fill(book, "A", TODAY).refusals]
    assert may_fill(book, "B", TODAY).fillable


def test_what_is_not_in_the_ledger_is_told_and_refuses_nothing() -> None:
    of_nobody = INCIDENT.format("cylinders: [{id: ZZ}], parts: [{part: whip W9}]")
    book = told(make_book({"A": GOOD}, station=PARTS % ("", "", "")), of_nobody)
    found = [f for f in check(book, TODAY) if f.code == "incident-not-held"]
    assert [(f.severity, "is not in the ledger" in f.text) for f in found] == [
        (Severity.WARN, True)
    ] * 2


def parts(part: str, bank: str = "", whip: str = "", position: str = "") -> Book:
    station = PARTS % (bank, whip, position)
    return told(
        make_book({"A": GOOD}, station=station), INCIDENT.format(f"parts: [{{part: {part}}}]")
    )


@pytest.mark.parametrize("part", ["whip W1", "position P1", "bank B1", "Bank  b1"])
def test_a_part_of_an_incident_is_out_of_use(part: str) -> None:
    book = parts(part)
    outs = [str(each.part) for each in out_of_use(book, TODAY) if "incident of" in each.reason.text]
    assert [each.casefold() for each in outs] == [" ".join(part.casefold().split())]
    (found,) = (f for f in check(book, TODAY) if f.code == "incident-not-held")
    assert "nothing says that it is out of use" in found.text
    assert found.severity is Severity.WARN
    before = dt.date(2026, 11, 19)
    assert not [
        o for o in out_of_use(book.as_known_on(before), before) if "incident" in o.reason.text
    ]


@pytest.mark.parametrize(
    ("part", "entry", "out", "told"),
    [
        ("whip", "{on: 2026-11-20, by: MV, result: fail, note: burst}", True, False),
        ("whip", "{on: 2026-11-21, by: MV, result: pass}", True, True),
        ("whip", "{on: 2026-11-21, by: MV, result: pass, repaired: a new hose}", False, False),
        ("whip", "{on: 2026-11-20, by: MV, result: pass, repaired: a new hose}", False, False),
        ("whip", "{on: 2026-11-19, by: MV, result: pass, repaired: a new hose}", True, True),
        ("position", "{on: 2026-11-21, by: MV, result: pass, repaired: lid latch}", False, False),
    ],
)
def test_a_whip_or_a_position_is_out_until_it_was_repaired(
    part: str, entry: str, out: bool, told: bool
) -> None:
    name = {"whip": "W1", "position": "P1"}[part]
    book = parts(f"{part} {name}", **{part: f", checked: [{entry}]"})
    outs = {str(each.part) for each in out_of_use(book, TODAY) if "failed" in each.reason.text}
    assert (f"{part} {name}" in outs) is out
    if part == "whip":  # what is due says no other
        assert book.station
        due = [d for d in due_of_station(book, book.station, TODAY) if d.part == name]
        assert [bool(d.failed) for d in due] == [out]
    assert ("incident-not-held" in [f.code for f in check(book, TODAY)]) is told


def test_a_new_whip_is_in_use() -> None:
    book = parts("whip W1", whip=", fitted: 2026-11-22")
    assert not [o for o in out_of_use(book, TODAY) if "incident" in o.reason.text]
    assert "incident-not-held" not in [f.code for f in check(book, TODAY)]


def test_a_bank_is_aside_once_whether_that_was_written_down_or_not() -> None:
    assert [h.name for h in banks_held(parts("bank B1"), TODAY)] == ["B1"]
    written = parts("bank B1", bank=f", held: [{{on: 2026-11-20, by: MV, why: '{WHY}'}}]")
    assert [h.name for h in banks_held(written, TODAY)] == ["B1"]
    assert "incident-not-held" not in [f.code for f in check(written, TODAY)]


LOOK = ", looked: [{on: 2026-11-22, %sdecided: bank valve and pipe sound}]"


@pytest.mark.parametrize(
    ("what", "bank", "held"),
    [
        # a whip that burst says nothing of the gas behind it: somebody certified looks at the bank
        ("whip burst at bank B1", "", True),
        ("whip burst at bank B1", LOOK % "by: MV, ", False),
        ("whip burst at bank B1", LOOK % "by: MV, after: 2026-11-20, ", False),
        ("whip burst at bank B1", LOOK % "by: MV, after: 2026-11-19, ", True),
        ("whip burst at bank B1", LOOK % "", True),
        ("whip burst at bank B1", LOOK % "by: ZZ, ", True),
        ("whip burst at bank B1", LOOK % "by: MV, result: fail, ", True),
        ("whip burst at bank B1", LOOK.replace("22", "20") % "by: MV, ", True),
        ("whip burst at bank B1", LOOK.replace("22", "19") % "by: MV, ", True),
        # but what was breathed, or burnt, a sample tells
        ("a diver was ill after a fill from B1", LOOK % "by: MV, ", True),
        ("B1 smelt of oil", LOOK % "by: MV, ", True),
        ("flash at the bank valve of B1", LOOK % "by: MV, ", True),
        ("Taucher klagt über Kopfschmerzen", LOOK % "by: MV, ", True),
        ("лопнул шланг", LOOK % "by: MV, ", True),
    ],
)
def test_a_bank_of_an_incident_is_opened_by_what_that_was_about(
    what: str, bank: str, held: bool
) -> None:
    made = make_book({"A": GOOD}, station=PARTS % (bank, "", ""))
    text = INCIDENT.format("parts: [{part: bank B1}]")
    found = banks_held(told(made, re.sub(r"what: [^,]+,", f"what: {what},", text)), TODAY)
    assert bool(found) is held
    if held and "burst" in what:
        assert "`tankbook station bank-look B1 --decided WHAT`" in found[0].opens


# --- what the counter keeps of a day to come


@pytest.mark.parametrize(
    ("kept", "refused", "told"),
    [
        ("certified: [{on: 2027-11-20, by: MV, reference: C-1, level: nitrox}]", [], []),
        ("refused: [{on: 2027-11-20, by: MV, serial: K118204, reasons: [no sticker]}]", [], ["A"]),
        ("refused: [{on: 2026-11-20, by: MV, serial: K118204, reasons: [no sticker], told: {on: 2027-11-21, by: MV, how: x}}]", [], ["A"]),
        ("stolen: [{on: 2027-11-20, by: MV, serial: K118204, why: a notice}]", ["A"], []),
        ("stolen: [{on: 2026-11-20, by: MV, serial: K118204, why: a notice, found: 2027-11-21, found_by: MV, found_why: police gave it back, found_proof: N-4471}]", ["A"], []),
        ("incidents: [{on: 2027-11-20, by: MV, what: it vented, cylinders: [{id: A}]}]", ["A"], []),
    ],
)  # fmt: skip
def test_a_day_to_come_refuses_no_more_than_its_own_line(
    kept: str, refused: list[str], told: list[str]
) -> None:
    cards = {"A": GOOD, "B": with_lines(GOOD, serial="Z2")}
    book = replace(
        make_book(cards, settings=SETTINGS), counter=typed(CounterFile, kept, "counter.yaml")
    )
    book = book.as_known_on(TODAY)
    assert "in-the-future" in [f.code for f in check(book, TODAY)]
    answers = {i: may_fill(book, i, TODAY) for i in cards}
    assert [i for i, each in answers.items() if not each.fillable] == refused
    assert [
        i for i, a in answers.items() if "refused-before" in {w.code for w in a.warnings}
    ] == told
