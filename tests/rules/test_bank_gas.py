"""What a bank holds once another gas went into it, and when it stands above its mark."""

from __future__ import annotations

import datetime as dt
from time import process_time

import acting
import pytest
from books import GOOD, SETTINGS, make_book, with_lines

from tankbook.acts.correct import correct
from tankbook.acts.station_upkeep import analyse, raise_bank, read_banks
from tankbook.acts.striking import Wrong
from tankbook.filling.from_station import fit_of
from tankbook.gas import Gas
from tankbook.output.fill_book import odd
from tankbook.records.book import Book
from tankbook.records.edits import Act, Refusal
from tankbook.rules.bank_air import air_of
from tankbook.rules.bank_gas import filled_from_unknown, gas_unsure
from tankbook.rules.board import board
from tankbook.rules.checks import check
from tankbook.rules.fill_book import FillsWanted, fill_book
from tankbook.rules.gate import may_fill
from tankbook.rules.out_of_use import out_of_use, part_reasons
from tankbook.rules.rental import against_going_out
from tankbook.rules.schedule import due
from tankbook.units import GaugePressure, Percent

TODAY = acting.TODAY
MORE = {
    "fed": "boosters: [{name: BO1, from: [O1], drives: [oxygen]}, {name: BO2}]\n"
    "sources: [{name: M1, kind: membrane, of: C1, oxygen_from: 24 %, oxygen_to: 36 %}]\n"
}
TESTED = "period: 10 years, requalified: [{on: 2024-03, method: hydrostatic, by: T123}]"


def psi(value: float) -> GaugePressure:
    return GaugePressure.of(value, "psi")


def bank(name: str, gas: str, more: str = "", mark: str = "4500 psi") -> str:
    held = f"gas: {gas}, " if gas else ""
    return f"  - {{name: {name}, water_volume: 48 L, {held}working_pressure: {mark}, {TESTED}{more and f', {more}'}}}\n"


def book(
    gas: str,
    entries: str,
    *,
    others: str = "",
    tests: str = "",
    log: str = "",
    own_rules: str = "",
) -> Book:
    """B1 of a gas beside banks of nitrox, oxygen, trimix and air; A an air cylinder, O one for
    oxygen, X one that was filled with nitrox."""
    text = (
        f"compressor: {{name: C1}}\n{MORE['fed']}banks:\n{bank('B1', gas, entries)}"
        f"{others or bank('N2', 'nitrox36') + bank('B2', 'air')}"
        f"{bank('O1', 'oxygen')}{bank('T1', 'trimix18/45')}"
        "air_tests:\n  - {on: 2026-11-01, by: Lab, standard: cga-grade-e, result: pass, source: C1, oxygen: 20.9 %, co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none}\n"
        f"{tests}"
    )
    cards = {name: with_lines(GOOD, serial=f"K{name}") for name in "AX"}
    cards["O"] = with_lines(GOOD, serial="KO", service="oxygen")
    of_nitrox = "at=2026-11-02T10:00:00+00:00; cylinder=X; act=fill; to=3000 psi; gas=nitrox32; by=MV; source='elsewhere: Weir'"
    log = of_nitrox.replace("'", "") + log
    return make_book(cards, station=text, log=log, own_rules=own_rules)


def raised(source: str = "", day: int = 20, more: str = "") -> str:
    said = f", source: '{source}'" if source else ""
    return f"{{on: 2026-11-{day}, to: 4000 psi{said}{more and f', {more}'}}}"


def states(made: Book, day: dt.date = TODAY, name: str = "B1") -> set[str]:
    told = [r.code for r in part_reasons(made, day) if f"bank {name} " in r.text]
    return {code.removeprefix("bank-hold-") for code in told if code.startswith("bank-hold-")}


RULES = """heading: the cove
rows:
  - id: bench.bank-hold.over-mark
    subject: station
    obligation: bank-hold
    applies_to: {state: [over-mark]}
    gate: refuse
    basis: practice
    never_overridden: yes
    share: 5 %
    citation: the cove, own rule
    verified: memory
    note: asked sooner
"""

OUT, WARNED, FINE = {"other-gas"}, {"unsure-gas"}, set[str]()


@pytest.mark.parametrize(
    ("gas", "source", "found"),
    [
        ("air", "", FINE),
        ("", "C1", FINE),
        ("air", "C1", FINE),
        ("air", "compressor", FINE),
        ("air", "B2", FINE),
        ("air", "elsewhere: Quay", WARNED),
        ("air", "elsewhere: oxygen-compatible air of Weir", WARNED),
        ("air", "A", FINE),
        ("air", "elsewhere: oxygen", OUT),
        ("", "elsewhere: O2 of the gas company", OUT),
        ("air", "elsewhere: Weir, nitrox 32", OUT),
        ("air", "elsewhere: Weir, EAN36", OUT),
        ("air", "elsewhere: trimix", OUT),
        ("air", "elsewhere: Sauerstoff", OUT),
        ("air", "elsewhere: helium", OUT),
        ("air", "elsewhere: TX18/45", OUT),
        ("air", "elsewhere: Weir, tx 21/35", OUT),
        ("air", "elsewhere: He", OUT),
        ("air", "elsewhere: he filled it", WARNED),
        ("air", "elsewhere: oxy", OUT),
        ("air", "elsewhere: Sauerstoffflasche", OUT),
        ("air", "elsewhere: triox", OUT),
        ("air", "elsewhere: argon", OUT),
        ("air", "elsewhere: Weir, 32 %", OUT),
        ("air", "elsewhere: Weir, 20.9 %", FINE),
        ("air", "elsewhere: filled to 90 %", WARNED),
        ("air", "elsewhere: Weir, 0 % CO", WARNED),
        # what others call theirs is none of the station's
        ("air", "elsewhere: Weir, their N2", WARNED),
        ("nitrox36", "elsewhere: Weir, their C1", WARNED),
        ("nitrox36", "elsewhere: Weir, their N2", WARNED),
        ("air", "X", OUT),
        ("air", "O", OUT),
        ("air", "C1+O", OUT),
        ("air", "N2", OUT),
        ("air", "bank N2", OUT),
        ("air", "O1", OUT),
        ("air", "BO1", OUT),
        ("air", "T1+C1", OUT),
        ("air", "M1", OUT),
        ("air", "oxygen", OUT),
        # air of others whose test was seen, or that nobody knows a test of
        ("air", "elsewhere: Quay, air test seen 2026-06-01", FINE),
        ("air", "elsewhere: Quay, air test seen 2026-06", FINE),
        ("air", "elsewhere: Quay, air certificate of 2026-06-01", FINE),
        ("air", "elsewhere: compressor on a boat, air test seen 2026-06-01", FINE),
        ("air", "elsewhere: boat pump, air test seen 2026-06-01", FINE),
        ("air", "elsewhere: Quay, air test seen 2026-12-01", WARNED),
        ("air", "elsewhere: Quay, air test not seen 2026-06-01", WARNED),
        ("air", "elsewhere: Quay, air test seen", WARNED),
        ("air", "elsewhere: Quay, air test seen 2026-13-01", WARNED),
        ("air", "elsewhere: air", WARNED),
        ("air", "elsewhere: the dive shop air of Weir", WARNED),
        ("air", "elsewhere: shop air of the tyre place", OUT),
        ("air", "elsewhere: pump on a boat", OUT),
        ("air", "elsewhere: the painters", OUT),
        ("air", "elsewhere: Tankstelle", OUT),
        ("air", "elsewhere: nobody knows", OUT),
        ("nitrox32", "elsewhere: shop air of the tyre place", OUT),
        # a test that is denied, or none to go by
        ("air", "elsewhere: Quay, no air test seen 2026-06-01", WARNED),
        ("air", "elsewhere: Quay, keine Luftprobe gesehen am 2026-06-01", WARNED),
        ("air", "elsewhere: Quay, air test seen 2026-06-01, failed", WARNED),
        ("air", "elsewhere: Quay, air test of 2026-06-01 expired", WARNED),
        ("air", "elsewhere: tyre place, no air test seen 2026-06-01", OUT),
        ("air", "elsewhere: Quay, never failed, air test seen 2026-06-01", FINE),
        ("air", "elsewhere: Quay, no smell, air test seen 2026-06-01", FINE),
        # such a word in the name of a place; beside one it counts
        ("air", "elsewhere: Pump Bay divers", WARNED),
        ("air", "elsewhere: Industrial Quay, air", WARNED),
        ("air", "elsewhere: Workshop Lane, air test seen 2026-06-01", FINE),
        ("air", "elsewhere: Werkstattstrasse, Tauchclub", WARNED),
        ("air", "elsewhere: rue du Garage, club", WARNED),
        ("air", "elsewhere: Mix Street", WARNED),
        ("air", "elsewhere: Rich''s dive shop", WARNED),
        ("air", "elsewhere: tyre place, Quay Road", OUT),
        ("air", "elsewhere: pump bay of a garage", OUT),
        ("air", "elsewhere: Nitrox Quay", OUT),
        ("air", "elsewhere: Oxygen Quay", OUT),
        ("air", "elsewhere: EAN36 Quay", OUT),
        # as others call it
        ("air", "elsewhere: enriched air 32", OUT),
        ("nitrox32", "elsewhere: enriched air 32", FINE),
        ("nitrox32", "elsewhere: Weir, 32 percent", FINE),
        ("air", "elsewhere: Weir, 32 Prozent", OUT),
        ("air", "elsewhere: filled to 90 percent", WARNED),
        ("air", "elsewhere: O\u2082", OUT),
        ("air", "elsewhere: oxyg\u00e8ne", OUT),
        ("air", "elsewhere: gonfleur de pneus", OUT),
        ("air", "elsewhere: gasolinera", OUT),
        ("air", "elsewhere: car repair", OUT),
        # a mix is none for that
        ("air", "elsewhere: 80/20", OUT),
        ("air", "elsewhere: rich mix from deco bank", OUT),
        ("air", "elsewhere: 80/20, air test seen 2026-06-01", OUT),
        ("air", "elsewhere: Weir, 01/05/26", WARNED),
        ("nitrox32", "elsewhere: 80/20", WARNED),
        ("oxygen", "elsewhere: gas company, cylinder 44", FINE),
        ("nitrox32", "", OUT),
        ("nitrox32", "C1", OUT),
        ("nitrox32", "N2", OUT),
        ("nitrox36", "N2", FINE),
        ("nitrox32", "X", FINE),
        ("nitrox32", "O1+C1", OUT),
        ("nitrox32", "elsewhere: air", OUT),
        ("nitrox32", "elsewhere: EAN 32", FINE),
        ("nitrox32", "elsewhere: Weir, 32 % O2", FINE),
        ("nitrox32", "elsewhere: NX36", OUT),
        ("nitrox32", "elsewhere: nitrox", WARNED),
        ("nitrox32", "elsewhere: Quay", WARNED),
        ("nitrox32", "A", WARNED),
        ("nitrox32", "BO2", WARNED),
        ("nitrox32", "M1", WARNED),
        ("trimix18/45", "T1", FINE),
        ("trimix18/45", "N2", OUT),
        ("oxygen", "elsewhere: gas company", FINE),
        ("oxygen", "C1", OUT),
        ("oxygen", "O", FINE),
    ],
)
def test_what_a_bank_was_raised_from_makes_of_it(gas: str, source: str, found: set[str]) -> None:
    assert states(book(gas, f"raised: [{raised(source)}]")) == found


def test_it_is_told_by_every_answer_what_since_when_and_what_reopens_it() -> None:
    made = book("nitrox32", f"raised: [{raised('C1')}]")
    said = "bank B1 is on record with nitrox32 and was raised on 2026-11-20 from C1 (air)"
    answer = may_fill(made, "A", TODAY, Gas.parse("air"), through=("B1",), source="B1")
    refused = [r for r in answer.refusals if r.code == "bank-hold-other-gas"]
    assert not answer.fillable
    assert said in refused[0].text
    assert "station analyse B1 --oxygen PERCENT" in refused[0].mend
    assert may_fill(made, "A", TODAY, Gas.parse("air"), through=("B2",), source="B2").fillable
    assert made.station is not None
    assert "B1" not in [b.name for b in fit_of(made, made.station, TODAY).banks]
    assert [d.part for d in due(made, TODAY) if d.obligation == "bank-hold"] == ["B1"]
    assert said in next(b.held for b in board(made, TODAY).banks if b.name == "B1")
    assert "bank-gas-unsure" in {f.code for f in check(made, TODAY)}
    assert [str(o.part) for o in out_of_use(made, TODAY)] == ["bank B1"]


@pytest.mark.parametrize(
    ("gas", "entries", "tests", "found"),
    [
        # an analysis after it, of a later day or a later hour
        ("nitrox32", "analysed: [{on: 2026-11-21, oxygen: 31.6 %}]", "", FINE),
        ("nitrox32", "analysed: [{on: 2026-11-19, oxygen: 32 %}]", "", OUT),
        ("nitrox32", "analysed: [{on: 2026-11-20, oxygen: 32 %}]", "", OUT),
        ("nitrox32", "analysed: [{on: 2026-11-20, at: '11:00', oxygen: 32 %}]", "", OUT),
        ("nitrox32", "analysed: [{on: 2026-11-21, oxygen: 28 %}]", "", OUT),
        (
            "nitrox32",
            "analysed: [{on: 2026-11-21, oxygen: 32 %, void: {on: 2026-11-22, by: MV, why: other bank}}]",
            "",
            OUT,
        ),
        # what it became, written down: it is known from that day on
        ("nitrox28", "since: 2026-11-21, analysed: [{on: 2026-11-21, oxygen: 28 %}]", "", FINE),
        ("nitrox28", "since: 2026-11-20, analysed: [{on: 2026-11-21, oxygen: 28 %}]", "", FINE),
        ("nitrox28", "since: 2026-11-20", "", OUT),
        # a sample that gives its oxygen is an analysis, of a day that has no hour
        ("nitrox32", "", "{on: 2026-11-21, result: pass, source: B1, oxygen: 32 %}", FINE),
        ("nitrox32", "", "{on: 2026-11-20, result: pass, source: B1, oxygen: 32 %}", OUT),
        ("nitrox32", "", "{on: 2026-11-21, result: pass, source: B1, co: 1 ppm}", OUT),
        ("nitrox32", "", "{on: 2026-11-21, result: fail, source: B1, oxygen: 32 %}", OUT),
        ("nitrox32", "", "{on: 2026-11-21, result: pass, source: B1+C1, oxygen: 32 %}", OUT),
        # read empty, nothing is left of it; before it, that says nothing
        ("nitrox32", "readings: [{on: 2026-11-21, pressure: 0 psi}]", "", FINE),
        ("nitrox32", "readings: [{on: 2026-11-20, pressure: 0 psi}]", "", OUT),
        ("nitrox32", "readings: [{on: 2026-11-21, pressure: 400 psi}]", "", OUT),
        # helium is asked for where some may be in it
        ("trimix18/45", "analysed: [{on: 2026-11-21, oxygen: 18 %}]", "", OUT),
        ("trimix18/45", "analysed: [{on: 2026-11-21, oxygen: 18 %, helium: 45 %}]", "", FINE),
        ("trimix18/45", "analysed: [{on: 2026-11-21, oxygen: 18 %, helium: 30 %}]", "", OUT),
    ],
)
def test_what_answers_it(gas: str, entries: str, tests: str, found: set[str]) -> None:
    more = f"  - {tests.replace('result', 'standard: cga-grade-e, result')}\n" if tests else ""
    text = f"raised: [{raised('C1')}]{entries and f', {entries}'}"
    assert states(book(gas, text, tests=more)) == found


SAMPLED = "  - {on: 2026-11-%s, by: Lab, standard: cga-grade-e, result: %s, source: %s, oxygen: 20.9 %%, co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none}\n"
TYRES = "elsewhere: the tyre place"


@pytest.mark.parametrize(
    ("gas", "entries", "tests", "found"),
    [
        ("air", "", "", OUT),
        ("air", "analysed: [{on: 2026-11-21, oxygen: 20.9 %}]", "", OUT),
        ("nitrox32", "analysed: [{on: 2026-11-21, oxygen: 32 %}]", "", OUT),
        ("air", "", SAMPLED % (21, "pass", "B1"), FINE),
        ("air", "", SAMPLED % (20, "pass", "B1"), OUT),  # of that day nobody knows
        ("air", "", SAMPLED % (21, "fail", "B1"), OUT),
        ("air", "", SAMPLED % (21, "pass", "B2"), OUT),
        ("air", "", (SAMPLED % (21, "pass", "B1")).replace("co: 1 ppm, ", ""), OUT),
        ("air", "readings: [{on: 2026-11-21, pressure: 0 psi}]", "", FINE),
        # of oxygen an analyser tells enough
        ("oxygen", "", "", OUT),
        ("oxygen", "analysed: [{on: 2026-11-21, oxygen: 99.5 %}]", "", FINE),
    ],
)
def test_what_is_not_breathed_is_answered_by_a_sample_of_its_air_alone(
    gas: str, entries: str, tests: str, found: set[str]
) -> None:
    text = f"raised: [{raised(TYRES)}]{entries and f', {entries}'}"
    made = book(gas, text, tests=tests)
    assert states(made) - {"unsure-air"} == found
    told = " ".join(r.mend for r in part_reasons(made, TODAY) if "bank B1" in r.text)
    assert not found or gas == "oxygen" or "station air-test --source B1" in told


@pytest.mark.parametrize(
    ("log", "tests", "found"),
    [
        ("", "", OUT),
        ("; o2=20.9 %; analysed_by=MV", "", OUT),
        ("; o2=20.9 %; analysed_by=MV", SAMPLED % (19, "pass", "A"), FINE),
        ("", SAMPLED % (19, "pass", "A"), FINE),
        ("", SAMPLED % (22, "pass", "A"), OUT),  # after it gave
        ("\nat=2026-11-19T10:00:00+00:00; cylinder=A; act=drain; to=0 psi; by=MV", "", FINE),
    ],
)
def test_a_bank_raised_from_a_cylinder_that_others_filled_with_such_air_is_out(
    log: str, tests: str, found: set[str]
) -> None:
    line = PASSED % (18, "10:00", "A", TYRES) + log
    made = book("air", f"raised: [{raised('A', 20)}]", log=line, tests=tests)
    assert states(made) - {"unsure-air"} == found


TESTS_HOLD = """heading: the cove
rows:
  - id: cove.air-test
    subject: station
    obligation: air-test
    period: 3 months
    good_until: %s
    met_by: [air-test]
    gate: refuse
    basis: practice
    citation: the cove, own rule
    verified: memory
    note: four times a year
"""


@pytest.mark.parametrize(
    ("seen", "until", "found"),
    [
        ("2026-05-20", "", FINE),
        ("2026-05-19", "", WARNED),
        ("2026-05", "", FINE),
        ("2026-04", "", WARNED),
        ("2026-08-20", "same-day", FINE),
        ("2026-08-19", "same-day", WARNED),
        ("2026-08-01", "end-of-month", FINE),
        ("2026-07-31", "end-of-month", WARNED),
        ("2026-11-20", "same-day", FINE),
    ],
)
def test_an_air_test_of_others_holds_as_long_as_every_row_says(
    seen: str, until: str, found: set[str]
) -> None:
    source = f"elsewhere: Quay, air test seen {seen}"
    rows = TESTS_HOLD % until if until else ""  # else half a year, as shipped
    assert states(book("air", f"raised: [{raised(source)}]", own_rules=rows)) == found


@pytest.mark.parametrize(
    ("was", "then", "found"),
    [("11:00", "11:00", FINE), ("11:00", "11:01", FINE), ("11:00", "10:59", OUT)],
)
def test_of_one_day_the_hours_say_which_was_first(was: str, then: str, found: set[str]) -> None:
    text = f"raised: [{raised('C1', more=f'at: {was!r}')}]"
    entry = f"analysed: [{{on: 2026-11-20, at: {then!r}, oxygen: 32 %}}]"
    assert states(book("nitrox32", f"{text}, {entry}")) == found


def test_air_that_trimix_went_into_is_asked_for_its_helium() -> None:
    text = f"raised: [{raised('T1')}], analysed: [{{on: 2026-11-21, oxygen: 20.9 %%%s}}]"
    assert states(book("air", text % "")) == OUT
    assert states(book("air", text % ", helium: 0 %")) == FINE


def test_an_analysis_of_another_gas_puts_a_bank_out_whatever_went_in() -> None:
    other, same = "{on: 2026-11-20, oxygen: 28 %}", "{on: 2026-11-20, oxygen: 32 %}"
    assert states(book("nitrox32", f"analysed: [{other}]")) == OUT
    assert states(book("nitrox32", f"analysed: [{other}, {same}]")) == OUT
    assert states(book("nitrox32", f"analysed: [{same}, {other}]")) == OUT
    later = same.replace("11-20", "11-21")
    assert states(book("nitrox32", f"analysed: [{other}, {later}]")) == OUT
    filled = "raised: [{on: 2026-11-21, from: 300 psi, to: 4000 psi, source: 'elsewhere: Weir, nitrox32'}]"
    after = same.replace("11-20", "11-22")
    assert states(book("nitrox32", f"{filled}, analysed: [{other}, {after}]")) == FINE
    assert states(book("nitrox28", f"analysed: [{other}]")) == FINE
    hours = f"analysed: [{other.replace(',', ', at: `12:00`,', 1)}, {same.replace(',', ', at: `12:00`,', 1)}]"
    assert states(book("nitrox32", hours.replace("`", "'"))) == OUT


@pytest.mark.parametrize(
    ("of_giver", "found"),
    [
        (f"raised: [{raised('O', 18)}]", OUT),
        (f"raised: [{raised('O', 20)}]", OUT),  # of that day nobody knows which was first
        (f"raised: [{raised('O', 22)}]", FINE),  # after it gave
        (f"raised: [{raised('O', 18)}], analysed: [{{on: 2026-11-19, oxygen: 20.9 %}}]", FINE),
        (f"raised: [{raised('O', 18)}], analysed: [{{on: 2026-11-21, oxygen: 20.9 %}}]", OUT),
        (f"raised: [{raised('C1', 18)}]", FINE),
    ],
)
def test_what_a_bank_held_goes_on_into_the_one_raised_from_it(
    of_giver: str, found: set[str]
) -> None:
    made = book("air", f"raised: [{raised('B2')}]", others=bank("B2", "air", of_giver))
    assert states(made) == found


FILL = "\nat=2026-11-%sT%s:00+00:00; cylinder=%s; act=fill; from=500 psi; to=2900 psi; gas=%s; by=MV; source=%s"


@pytest.mark.parametrize(
    ("gas", "now", "since", "fills", "found"),
    [
        # of the gas that it held then, whatever it holds now
        ("air", "air", 25, [(10, "nitrox32")], OUT),
        ("air", "air", 25, [(10, "air"), (15, "nitrox32")], OUT),
        ("air", "nitrox32", 25, [(10, "air")], FINE),
        ("nitrox32", "air", 25, [(10, "nitrox32")], FINE),
        ("air", "nitrox32", 25, [(22, "air")], FINE),  # only a fill after it says that
        ("air", "air", 25, [], OUT),  # nothing says which that was
        # at what hour of the day nobody says
        ("air", "air", 20, [(10, "nitrox32")], OUT),
        ("air", "nitrox32", 20, [(10, "air")], OUT),
        ("air", "air", 20, [], FINE),
        # from that day on it is what it is
        ("air", "air", 19, [(10, "nitrox32")], FINE),
    ],
)
def test_a_bank_gave_what_it_held_then(
    gas: str, now: str, since: int, fills: list[tuple[int, str]], found: set[str]
) -> None:
    giver = bank("B2", now, f"since: 2026-11-{since}")
    log = "".join(FILL % (day, "10:00", "X", was, "B2") for day, was in fills)
    made = book(gas, f"raised: [{raised('B2')}]", others=giver, log=log)
    assert states(made) == found


@pytest.mark.parametrize(
    ("at", "hours", "found"),
    [
        ("", "16:00", OUT),  # of that day nobody knows which was first
        ("12:00", "16:00", OUT),
        ("16:00", "12:00", FINE),
    ],
)
def test_a_cylinder_that_was_filled_again_that_day_gave_what_it_held_then(
    at: str, hours: str, found: set[str]
) -> None:
    entry = raised("X", more=f"at: '{at}'" if at else "")
    log = FILL % (20, hours, "X", "air", "B2")
    assert states(book("air", f"raised: [{entry}]", log=log)) == found


def test_what_a_bank_became_lets_nothing_go_that_was_filled_before() -> None:
    noon, analysed = raised("N2", more="at: '12:00'"), "{on: 2026-11-21, oxygen: 25.5 %}"
    entries = f"raised: [{noon}], analysed: [{analysed}]"
    log = FILL % (20, "13:00", "A", "air", "B1")
    for gas, more in (("air", ""), ("nitrox25.5", "since: 2026-11-21, ")):
        made = book(gas, more + entries, log=log)
        told = [f.code for f in check(made, TODAY) if "A" in f.touches]
        assert "filled-from-unknown" in told, gas
    early = book("nitrox25.5", f"since: 2026-11-21, {entries}", log=log.replace("T13", "T11"))
    assert "filled-from-unknown" not in [f.code for f in check(early, TODAY) if "A" in f.touches]


def test_two_banks_that_give_to_each_other_are_asked_once() -> None:
    other = bank("B2", "air", f"raised: [{raised('B1', 19)}, {raised('O', 18)}]")
    made = book("air", f"raised: [{raised('B2', 20)}]", others=other)
    assert states(made) == OUT == states(made, name="B2")


def test_what_is_struck_out_or_later_says_nothing() -> None:
    void = "void: {on: 2026-11-21, by: MV, why: other bank}"
    assert states(book("nitrox32", f"raised: [{raised('C1', more=void)}]")) == FINE
    made = book("nitrox32", f"raised: [{raised('C1')}], since: 2026-10-01")
    assert states(made.as_known_on(dt.date(2026, 11, 19)), dt.date(2026, 11, 19)) == FINE
    assert states(made.as_known_on(dt.date(2026, 11, 20)), dt.date(2026, 11, 20)) == OUT


def test_a_mix_that_rose_while_nobody_recorded_it_is_warned_of() -> None:
    rose = "readings: [{on: 2026-11-18, pressure: 2000 psi}, {on: 2026-11-20, pressure: 4000 psi}]"
    assert states(book("nitrox32", rose)) == WARNED
    assert states(book("air", rose)) == states(book("oxygen", rose)) == FINE


def test_what_names_nothing_here_is_found() -> None:
    def found(source: str) -> list[str]:
        made = book("air", f"raised: [{raised(source)}]")
        return [f.text for f in check(made, TODAY) if f.code == "raised-from-nothing"]

    assert found("X9") == ["B1 was raised on 2026-11-20 from X9, which is nothing here"]
    assert found("C1+rubbish") == [
        "B1 was raised on 2026-11-20 from rubbish, which is nothing here"
    ]
    for source in ("", "C1", "bank B2", "A", "oxygen", "elsewhere: Quay", "B2+C1"):
        assert found(source) == []


@pytest.mark.parametrize(
    ("filled", "more", "then", "found"),
    [
        ("2026-11-20T13:00", "", "", True),
        ("2026-11-20T11:00", "", "", False),
        ("2026-11-20T13:00", "; o2=20.9 %; analysed_by=MV", "", False),
        ("2026-11-22T13:00", "", "", False),
        ("2026-11-20T13:00", "", "act=drain; to=0 psi", False),
        ("2026-11-20T13:00", "", "act=reading; to=2900 psi", True),
        ("2026-11-20T13:00", "", "act=reading; to=2900 psi; o2=24 %; analysed_by=MV", False),
    ],
)
def test_what_was_filled_meanwhile_is_told_until_it_was_analysed(
    filled: str, more: str, then: str, found: bool
) -> None:
    noon = raised("O", more="at: '12:00'")
    entries = f"raised: [{noon}], analysed: [{{on: 2026-11-21, oxygen: 20.9 %}}]"
    log = f"\nat={filled}:00+00:00; cylinder=A; act=fill; from=500 psi; to=2900 psi; gas=air; by=MV; source=B1{more}"
    log += f"\nat=2026-11-23T10:00:00+00:00; cylinder=A; {then}; by=MV" if then else ""
    told = [f.code for f in check(book("air", entries, log=log), TODAY) if "A" in f.touches]
    assert ("filled-from-unknown" in told) is found


PASSED = (
    "\nat=2026-11-%sT%s:00+00:00; cylinder=%s; act=fill; to=2900 psi; gas=air; by=MV; source=%s"
)


@pytest.mark.parametrize(
    ("log", "source", "at", "found"),
    [
        (PASSED % (20, "13:00", "A", "B1"), "A", "", OUT),
        (PASSED % (20, "13:00", "A", "B1"), "a", "10:00", OUT),
        (PASSED % (20, "11:00", "A", "B1"), "A", "", FINE),  # before the other gas went in
        (PASSED % (20, "13:00", "A", "B2"), "A", "", FINE),
        (PASSED % (20, "13:00", "A", "B1+B2"), "A", "", OUT),
        (PASSED % (20, "13:00", "X", "B1") + PASSED % (20, "15:00", "A", "X"), "A", "", OUT),
        (PASSED % (20, "13:00", "A", "B1") + "; o2=20.9 %; analysed_by=MV", "A", "", FINE),
        (PASSED % (22, "13:00", "A", "B1"), "A", "12:00", FINE),  # given before it was filled
        (PASSED % (22, "13:00", "A", "B1"), "A", "14:00", OUT),
        (PASSED % (22, "13:00", "A", "B1"), "A", "", OUT),  # of that day nobody knows
        (
            PASSED % (20, "13:00", "A", "B1")
            + "\nat=2026-11-21T10:00:00+00:00; cylinder=A; act=drain; to=0 psi; by=MV",
            "A",
            "",
            FINE,
        ),
        (
            PASSED % (20, "13:00", "A", "B1")
            + "\nat=2026-11-23T10:00:00+00:00; cylinder=A; act=drain; to=0 psi; by=MV",
            "A",
            "",
            OUT,  # what it gave before it was drained
        ),
        (PASSED % (20, "13:00", "A", "X") + PASSED % (20, "12:30", "X", "A"), "A", "", FINE),
    ],
)
def test_a_cylinder_passes_on_what_nobody_knows(
    log: str, source: str, at: str, found: set[str]
) -> None:
    noon = raised("N2", more="at: '12:00'")
    entry = raised(source, 22, more=f"at: '{at}'" if at else "")
    others = bank("N2", "nitrox36") + bank("B2", "air") + bank("B3", "air", f"raised: [{entry}]")
    lines = "\n".join(sorted(log.split("\n")))
    made = book("air", f"raised: [{noon}]", others=others, log=lines)
    assert states(made, name="B3") == found


@pytest.mark.parametrize(
    ("analysed", "found"), [("", True), ("; o2=20.9 %; analysed_by=MV", False)]
)
def test_what_was_filled_from_a_cylinder_of_unknown_gas_is_told(analysed: str, found: bool) -> None:
    noon = raised("N2", more="at: '12:00'")
    log = PASSED % (20, "13:00", "X", "B1") + PASSED % (21, "13:00", "A", "X") + analysed
    told = {
        f.text
        for f in check(book("air", f"raised: [{noon}]", log=log), TODAY)
        if f.code == "filled-from-unknown" and "A" in f.touches
    }
    text = (
        "it was filled on 2026-11-21 from X, which was filled on 2026-11-20 from B1, which was "
        "raised on 2026-11-20 from N2 (nitrox36): what it holds is not known"
    )
    assert told == ({text} if found else set())


@pytest.mark.parametrize(
    ("source", "gas", "more", "found"),
    [
        ("elsewhere: Quay", "air", "", False),
        ("elsewhere: Quay, air test seen 2026-06-01", "air", "", False),
        ("elsewhere: Weir, nitrox32", "nitrox32", "", False),
        ("elsewhere: shop air of the tyre place", "air", "", True),
        ("elsewhere: tyre place, air test seen 2026-06-01", "air", "", False),
        ("elsewhere: pump on a boat", "air", "", True),
        ("elsewhere: 80/20", "air", "", True),
        ("elsewhere: rich mix from deco bank", "nitrox32", "", True),
        ("elsewhere: Weir, nitrox32", "air", "", True),
        ("B2+elsewhere: 80/20", "air", "", True),
        ("elsewhere: 80/20", "air", "; o2=20.9 %; analysed_by=MV", False),
        # its oxygen says nothing of what else is in it
        ("elsewhere: pump on a boat", "air", "; o2=20.9 %; analysed_by=MV", True),
    ],
)
def test_what_others_filled_is_told_where_nobody_knows_what_it_is(
    source: str, gas: str, more: str, found: bool
) -> None:
    log = f"\nat=2026-11-20T13:00:00+00:00; cylinder=A; act=fill; from=0 psi; to=2900 psi; gas={gas}; by=MV; source={source}{more}"
    made = book("air", "", log=log)
    told = [f.code for f in check(made, TODAY) if "A" in f.touches]
    assert ("filled-from-unknown" in told) is found


def test_of_two_raisings_that_tell_against_a_bank_both_are_told() -> None:
    entries = f"{raised('C1', 19)}, {raised('elsewhere: the tyre place', 20)}"
    unsure = gas_unsure(made := book("nitrox32", f"raised: [{entries}]"), made.station.banks[0])
    assert unsure is not None
    first, second = (
        unsure.how.index("2026-11-20 from elsewhere"),
        unsure.how.index("2026-11-19 from C1"),
    )
    assert first < second
    assert (unsure.since, unsure.sure, unsure.unfit) == (dt.date(2026, 11, 19), True, True)
    one = gas_unsure(
        made := book("nitrox32", f"raised: [{raised('C1', 19)}]"), made.station.banks[0]
    )
    assert one is not None
    assert one.how == "was raised on 2026-11-19 from C1 (air)"


@pytest.mark.parametrize(
    ("source", "then", "refused"),
    [
        ("elsewhere: tyre place", "", True),
        ("elsewhere: pump on a boat", "reading; to=1500 psi; o2=20.9 %; analysed_by=MV", True),
        ("elsewhere: pump on a boat", "fill; from=1500 psi; to=2900 psi; gas=air; source=B2", True),
        ("elsewhere: pump on a boat", "drain; to=0 psi", False),
        ("elsewhere: Quay", "", False),
        ("elsewhere: tyre place, air test seen 2026-06-01", "", False),
        # of a mix that can be analysed it is told
        ("elsewhere: 80/20", "", False),
    ],
)
def test_nothing_is_filled_on_top_of_what_nobody_may_breathe_nor_is_it_lent(
    source: str, then: str, refused: bool
) -> None:
    log = f"\nat=2026-11-20T13:00:00+00:00; cylinder=A; act=fill; from=0 psi; to=2900 psi; gas=air; by=MV; source={source}"
    if then:
        log += f"\nat=2026-11-20T14:00:00+00:00; cylinder=A; by=MV; act={then}"
    made = book("air", "", log=log)
    answer = may_fill(made, "A", TODAY)
    assert ("filled-from-unknown" in {r.code for r in answer.refusals}) is refused
    lent = against_going_out(made, "A", TODAY, TODAY, None)
    assert any("what it holds is not known" in text for text in lent) is refused
    if refused:
        mend = next(r.mend for r in answer.refusals if r.code == "filled-from-unknown")
        assert "`tankbook drain`" in mend
        assert "`tankbook station air-test`" in mend


# --- pressure


@pytest.mark.parametrize(
    ("reads", "gauges", "found"),
    [
        ("4500 psi", "", FINE),
        ("4540 psi", "", FINE),
        ("4560 psi", "", {"over-mark"}),
        ("313.1 bar", "", FINE),
        ("315 bar", "", {"over-mark"}),
        ("4590 psi", "gauges: [{name: G1, master: yes, range: 6000 psi}]\n", FINE),
        ("4630 psi", "gauges: [{name: G1, master: yes, range: 6000 psi}]\n", {"over-mark"}),
        ("4550 psi", "gauges: [{name: G1, range: 6000 psi, class: 0.5 %}]\n", {"over-mark"}),
    ],
)
def test_a_bank_above_its_mark_by_more_than_its_gauge_may_err_is_out(
    reads: str, gauges: str, found: set[str]
) -> None:
    read = f"{{on: 2026-11-20, pressure: {reads}"
    struck = "void: {on: 2026-11-21, by: MV, why: misread}"
    for entries, then in (
        (f"readings: [{read}}}]", found),
        (f"readings: [{read}}}, {{on: 2026-11-21, pressure: 4400 psi}}]", FINE),
        (f"readings: [{read}, {struck}}}]", FINE),
        (f"raised: [{{on: 2026-11-20, to: {reads}}}]", found),
    ):
        text = f"{gauges}compressor: {{name: C1}}\nbanks:\n{bank('B1', 'air', entries)}"
        assert states(make_book({"A": GOOD}, station=text)) == then, entries


@pytest.mark.parametrize(
    ("readings", "found"),
    [
        ([("", 3300), ("15:00", 4800)], {"over-mark"}),
        ([("15:00", 4800), ("", 4300)], FINE),
        ([("15:00", 4800), ("10:00", 3300)], {"over-mark"}),
        ([("17:00", 4300), ("15:00", 4800)], FINE),
    ],
)
def test_a_reading_that_has_no_hour_counts_in_its_turn(
    readings: list[tuple[str, int]], found: set[str]
) -> None:
    """Read in the morning with no hour, and raised at three: it stands where it was raised to."""
    entries = ", ".join(
        f"{{on: 2026-11-20, {at and f'at: {at!r}, '}pressure: {reads} psi}}"
        for at, reads in readings
    )
    high = "raised: [{on: 2026-11-20, at: '15:00', from: 3300 psi, to: 4800 psi}]"
    for more in ("", f", {high}"):
        made = book("air", f"readings: [{entries}]{more}")
        assert states(made) == found, more
        assert air_of(made, made.station.banks[0]).origins[-1].recorded is bool(more)  # type: ignore[union-attr]


def shelf(gas: str = "air") -> acting.Shelf:
    text = f"compressor: {{name: C1}}\nbanks:\n{bank('B1', gas)}{bank('B2', 'air')}"
    return acting.shelf(station=text, A=with_lines(GOOD, service="oxygen"))


@pytest.mark.parametrize("act", ["read", "raise"])
def test_a_pressure_far_above_the_mark_is_asked_about_and_can_be_recorded(act: str) -> None:
    def do(made: acting.Shelf, happened: str) -> object:
        by = {"by": "MV", "on": TODAY, "happened": happened}
        if act == "read":
            return read_banks(made.book, {"B1": psi(9000), "B2": psi(4000)}, **by)
        return raise_bank(made.book, "B1", to=psi(9000), **by)

    made = shelf()
    assert "read it again; where it does stand there, --happened WHY" in str(do(made, ""))
    assert made.book.station is not None
    assert made.book.station.banks[0].readings == ()
    done = made.make(do(made, "the relief valve stuck"))  # type: ignore[arg-type]
    assert "it is out of use until it is read lower, and somebody" in " ".join(done.notes)
    one, two = made.book.station.banks
    assert [(str(r.pressure), r.note) for r in one.readings] == [
        ("9000 psi", "the relief valve stuck")
    ]
    assert all(r.note is None for r in two.readings)
    assert states(made.book) == {"over-mark", "over-pressed"}
    made.do(read_banks, {"B1": psi(4300)}, by="MV", on=TODAY)
    assert states(made.book) == {"over-pressed"}


@pytest.mark.parametrize(("reads", "asked"), [(4949, False), (4951, True)])
def test_how_far_above_its_mark_is_asked_about_a_row_says(reads: float, asked: bool) -> None:
    by = {"by": "MV", "on": TODAY}
    if asked:
        assert "mostly misread" in shelf().refuse(read_banks, {"B1": psi(reads)}, **by)
    else:
        shelf().do(read_banks, {"B1": psi(reads)}, **by)
    strict = make_book(
        station=f"compressor: {{name: C1}}\nbanks:\n{bank('B1', 'air')}", own_rules=RULES
    )
    assert isinstance(read_banks(strict, {"B1": psi(4726)}, **by), Refusal)
    assert isinstance(read_banks(strict, {"B1": psi(4724)}, **by), Act)


def test_a_bank_is_analysed_after_it_was_raised() -> None:
    made, by = shelf("nitrox32"), {"by": "MV", "on": TODAY}
    told = made.do(raise_bank, "B1", to=psi(4400), at=dt.time(11, 40, 7), **by).notes
    assert "fill nothing from it until that is answered" in " ".join(told)
    early = made.do(analyse, "B1", oxygen=Percent.of(32, "%"), **by)
    assert "--at HH:MM" in " ".join(early.notes)
    assert states(made.book) == OUT
    wrong = made.do(analyse, "b1", oxygen=Percent.of(28, "%"), at=dt.time(12), **by)
    assert "was raised" in " ".join(wrong.notes)
    late = made.do(analyse, "B1", oxygen=Percent.of(31.8, "%"), at=dt.time(12, 30), **by)
    assert late.sentence == "Analysed B1: 31.8 % oxygen"
    assert "answers nothing yet: that of 2026-11-25, 28 % oxygen" in " ".join(late.notes)
    assert states(made.book) == OUT
    wrong_bank = Wrong("B1.analysed", "2026-11-25#2", "it was drawn at B2, and that was 28")
    made.do(correct, "station", wrong_bank, **by, now=dt.datetime(2026, 11, 25, 13, tzinfo=dt.UTC))
    assert states(made.book) == FINE
    again = made.refuse(analyse, "B1", oxygen=Percent.of(31.8, "%"), at=dt.time(12, 30), **by)
    assert "already on record" in again
    assert "more than 100 %" in made.refuse(
        analyse, "B1", oxygen=Percent.of(60, "%"), helium=Percent.of(50, "%"), **by
    )
    early = shelf("nitrox32")
    early.do(raise_bank, "B1", to=psi(4400), **by)
    told = early.do(analyse, "B1", oxygen=Percent.of(32, "%"), at=dt.time(12), **by).notes
    assert f"`tankbook correct station B1.raised {TODAY} --set at=HH:MM --why WHY`" in " ".join(
        told
    )
    right = Wrong("B1.raised", str(TODAY), "no hour", {"at": "11:00"})
    early.do(correct, "station", right, **by, now=dt.datetime(2026, 11, 25, 13, tzinfo=dt.UTC))
    assert states(early.book) == FINE
    assert "bank B9" in made.refuse(analyse, "B9", oxygen=Percent.of(60, "%"), **by)


LEARNER = SETTINGS + "  LB: {}\n"
LATER = "{on: 2026-11-22, pressure: 0 psi}"


@pytest.mark.parametrize(
    ("what", "entries", "change", "certified"),
    [
        # answered since, it still says what was filled meanwhile
        ("analysed", f"analysed: [{{on: 2026-11-20, oxygen: 24.5 %}}], readings: [{LATER}]", {}, True),
        ("analysed", "analysed: [{on: 2026-11-20, oxygen: 24.5 %}]", {"oxygen": "20.9 %"}, True),
        ("analysed", "analysed: [{on: 2026-11-20, oxygen: 20.9 %}]", {}, False),
        ("analysed", "analysed: [{on: 2026-11-20, oxygen: 20.9 %}]", {"oxygen": "21.1 %"}, False),
        ("raised", f"raised: [{raised('N2')}], readings: [{LATER}]", {}, True),
        ("raised", f"raised: [{raised('N2')}], readings: [{LATER}]", {"source": "C1"}, True),
        ("raised", f"raised: [{raised('C1')}], readings: [{LATER}]", {}, False),
        ("raised", f"raised: [{raised('C1')}], readings: [{LATER}]", {"from": "300 psi"}, False),
        ("raised", f"raised: [{raised('elsewhere: Quay')}]", {"source": "elsewhere: Quay, air test seen 2026-06-01"}, False),
        ("raised", f"raised: [{{on: 2026-11-20, to: 5200 psi}}], readings: [{LATER}]", {}, True),
        ("readings", f"readings: [{{on: 2026-11-20, pressure: 5200 psi}}, {LATER}]", {}, True),
        ("readings", f"readings: [{{on: 2026-11-20, pressure: 4520 psi}}, {LATER}]", {}, False),
    ],
)  # fmt: skip
def test_what_tells_against_a_bank_somebody_certified_strikes_out(
    what: str, entries: str, change: dict[str, str], certified: bool
) -> None:
    text = f"compressor: {{name: C1}}\nbanks:\n{bank('B1', 'air', entries)}{bank('N2', 'nitrox36')}"
    made = make_book({"A": GOOD}, station=text, settings=LEARNER)
    now = dt.datetime(2026, 11, 25, 13, tzinfo=dt.UTC)
    wrong = Wrong(f"B1.{what}", "2026-11-20", "it was of another bank", change)
    got = correct(made, "station", wrong, by="LB", now=now, on=TODAY)
    said = "; ".join(got.reasons) if isinstance(got, Refusal) else ""
    assert ("LB had no valid inspector certification" in said) is certified, got
    assert isinstance(correct(made, "station", wrong, by="MV", now=now, on=TODAY), Act)


SAMPLED = "standard: cga-grade-e, oxygen: 20.9 %, co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, water: 18 mg/m3, odour: none"
QUAY_BANK = "raised: [{on: 2026-11-19, from: 0 psi, to: 3000 psi, source: 'elsewhere: Quay%s'}]"


@pytest.mark.parametrize(
    ("source", "raised", "after", "tests", "told"),
    [
        ("elsewhere: Quay", "", "", "", "elsewhere: Quay (air that no test is known of)"),
        ("elsewhere: Quay, air test seen 2026-10-20", "", "", "", ""),
        ("elsewhere: Quay, air test seen 2020-10-20", "", "", "", "that no test is known of"),
        ("C1+elsewhere: Quay", "", "", "", "elsewhere: Quay (air that no test is known of)"),
        ("C1", "", "", "", ""),
        # out of a bank that was raised there
        ("B1", QUAY_BANK % "", "", "", "B1, which was raised on 2026-11-19 from elsewhere: Quay"),
        ("B1", QUAY_BANK % ", air test seen 2026-10-20", "", "", ""),
        ("C1", QUAY_BANK % "", "", "", ""),
        # let out, topped, sampled: an analyser of oxygen does not say what else is in it
        ("elsewhere: Quay", "", "drain; to=0 psi", "", ""),
        ("elsewhere: Quay", "", "fill; from=2000 psi; to=3000 psi; gas=air; source=C1", "", "elsewhere: Quay"),
        ("elsewhere: Quay", "", "reading; to=2900 psi; o2=20.9 %; analysed_by=MV", "", "elsewhere: Quay"),
        ("elsewhere: Quay", "", "", f"air_tests: [{{on: 2026-11-23, by: Lab, source: A, result: pass, {SAMPLED}}}]", ""),
    ],
)  # fmt: skip
def test_air_of_others_that_no_test_is_known_of_is_told_till_it_is_out(
    source: str, raised: str, after: str, tests: str, told: str
) -> None:
    log = f"at=2026-11-20T10:00:00+00:00; cylinder=A; act=fill; to=3000 psi; gas=air; from=500 psi; by=MV; source={source}"
    log += f"\nat=2026-11-21T10:00:00+00:00; cylinder=A; by=MV; act={after}" if after else ""
    bank = f"{{name: B1, water_volume: 48 L, gas: air{raised and f', {raised}'}}}"
    text = f"compressor: {{name: C1}}\nbanks: [{bank}]\n{tests}\n"
    made = make_book({"A": GOOD}, station=text, log=log)
    for question in ("may-fill", "check"):
        if question == "may-fill":
            found = [
                r.text for r in may_fill(made, "A", TODAY).warnings if r.code == "air-untested"
            ]
        else:
            found = [f.text for f in check(made, TODAY) if f.code == "air-untested"]
        assert len(found) == bool(told)
        assert all(told in each for each in found)


def test_a_fill_from_others_is_told_of_before_it_and_in_the_book() -> None:
    asked = may_fill(make_book({"A": GOOD}), "A", TODAY, source="elsewhere: Quay")
    told = [r.text for r in asked.warnings if r.code == "air-untested"]
    assert told == ["elsewhere: Quay: no test of its air is known here"]
    seen = may_fill(make_book({"A": GOOD}), "A", TODAY, source="elsewhere: Quay, air test seen 2026-11-01")  # fmt: skip
    assert "air-untested" not in [r.code for r in seen.warnings]
    log = "at=2026-11-20T10:00:00+00:00; cylinder=A; act=fill; to=3000 psi; gas=air; from=500 psi; by=MV; source=elsewhere: Quay"
    book = fill_book(make_book({"A": GOOD}, log=log), FillsWanted(None, TODAY))
    heads = {head: lines for head, lines in odd(book.fills) if lines}
    assert heads == {"Air that no test is known of": ["2026-11-20 10:00 A to 3000 psi: elsewhere: Quay"]}  # fmt: skip


@pytest.mark.parametrize(("kind", "helium"), [("membrane", False), ("continuous", True)])
def test_what_is_made_of_air_alone_is_asked_for_no_helium(kind: str, helium: bool) -> None:
    """A station with an analyser of oxygen alone can answer what a membrane gave."""
    bank = "{name: B1, water_volume: 48 L, gas: air, raised: [{on: 2026-11-20, at: '09:00', to: 3000 psi, source: M1}]%s}"
    text = f"compressor: {{name: C1}}\nsources: [{{name: M1, kind: {kind}, of: C1}}]\nbanks: [{bank}]\n"
    analysed = ", analysed: [{on: 2026-11-21, oxygen: 20.9 %, by: MV}]"
    for entry, left in (("", True), (analysed, helium)):
        made = make_book({"A": GOOD}, station=text % entry)
        assert made.station is not None
        found = gas_unsure(made, made.station.banks[0])
        assert bool(found) is left
        assert found is None or ("--helium" in found.opens) is helium


ARGON = (
    "at=2026-10-12T08:00:00+00:00; cylinder=A; act=fill; from=0 psi; to=1000 psi; by=MV;"
    " source=elsewhere: Quay, welding argon"
)


def _each_other(cylinders: int, banks: int) -> Book:
    """Cylinders that fill each other 120 times, and banks that are raised from each other as often;
    argon from elsewhere went into the first."""
    ids, began = "ABCD"[:cylinders], dt.datetime(2026, 10, 13, tzinfo=dt.UTC)
    log, raised = [ARGON], {n: list[str]() for n in range(banks)}
    for i in range(120):
        at = began + dt.timedelta(minutes=59 * i)
        giver = f"{ids[(i + 1) % len(ids)]}+{ids[(i + 2) % len(ids)]}"
        log.append(
            f"at={at.isoformat()}; cylinder={ids[i % len(ids)]}; act=fill; from=1000 psi;"
            f" to=3000 psi; gas=air; source={giver}; by=MV"
        )
        if banks:
            source = f"B{(i + 1) % banks}" if i % 3 else "'elsewhere: Quay, welding argon'"
            raised[i % banks].append(
                f"{{on: {at.date()}, at: '{at:%H:%M}', from: 1000 psi, to: 4000 psi,"
                f" source: {source}}}"
            )
    text = "".join(bank(f"B{n}", "air", f"raised: [{', '.join(r)}]") for n, r in raised.items())
    cards = {each: with_lines(GOOD, serial=f"K{each}") for each in ids}
    station = "compressor: {name: C1}\n" + (f"banks:\n{text}" if banks else "")
    return make_book(cards, log="\n".join(log), station=station)


@pytest.mark.parametrize(("cylinders", "banks"), [(4, 0), (3, 4), (4, 5)])
def test_those_that_fill_each_other_are_answered_soon(cylinders: int, banks: int) -> None:
    """Each way between them once took its own time: of a few months' work no answer came at all."""
    made = _each_other(cylinders, banks)
    began = process_time()
    assert any("argon" in r.text for r in may_fill(made, "A", TODAY).refusals)
    assert made.station is not None
    assert all(gas_unsure(made, each) for each in made.station.banks)
    assert process_time() - began < 8  # it takes less than one second


@pytest.mark.parametrize(
    ("said", "refused"),
    [
        ("Quay, welding argon", True),
        ("nitrogen", True),
        ("Quay, CO2", True),
        ("Stickstoff", True),
        ("Schweissgas", True),
        ("Quay, argon, air test seen 2026-06-01", True),
        ("Quay, nitrox32", False),
        ("Quay, mix", False),
        ("Quay, air, no argon", False),
        ("Argon Divers, air test seen 2026-06-01", False),
        ("welding gas supplier, air test seen 2026-06-01", False),
        ("Quay, CO 2 ppm", False),
        ("Quay, CO2 320 ppm, air test seen 2026-06-01", False),
        ("Quay, 0 % CO2", False),
    ],
)
def test_a_gas_that_is_none_to_be_breathed_is_not_filled_upon(said: str, refused: bool) -> None:
    line = ARGON.replace("Quay, welding argon", said).replace("by=MV", "gas=air; by=MV")
    made = make_book({"A": GOOD}, log=line, station="compressor: {name: C1}\n")
    put = filled_from_unknown(made, made.cylinders["A"])
    assert (put is not None and put.unfit) is refused
    told = [r.text for r in may_fill(made, "A", TODAY).refusals]
    assert any("what it holds is not known" in text for text in told) is refused
    emptied = line + "\nat=2026-10-13T08:00:00+00:00; cylinder=A; act=drain; to=0 psi; by=MV"
    made = make_book({"A": GOOD}, log=emptied, station="compressor: {name: C1}\n")
    assert filled_from_unknown(made, made.cylinders["A"]) is None


def test_gas_that_comes_back_from_a_cylinder_is_known_again() -> None:
    """That the first was drained meanwhile takes nothing out of the second."""
    lines = [
        ARGON,
        "at=2026-11-02T08:00:00+00:00; cylinder=B; act=fill; from=0 psi; to=900 psi; gas=air; source=A; by=MV",
        "at=2026-11-03T08:00:00+00:00; cylinder=A; act=drain; to=0 psi; by=MV",
        "at=2026-11-04T08:00:00+00:00; cylinder=A; act=fill; from=0 psi; to=400 psi; gas=air; source=B; by=MV",
    ]
    cards = {each: with_lines(GOOD, serial=f"K{each}") for each in "AB"}
    for count, unknown in ((1, True), (3, False), (4, True)):
        made = make_book(cards, log="\n".join(lines[:count]), station="compressor: {name: C1}\n")
        assert (filled_from_unknown(made, made.cylinders["A"]) is not None) is unknown


def test_cylinders_that_fill_each_other_without_end_are_answered() -> None:
    log, began = [ARGON], dt.datetime(2026, 10, 13, tzinfo=dt.UTC)
    for i in range(400):
        at, to, giver = began + dt.timedelta(minutes=59 * i), "BA"[i % 2], "AB"[i % 2]
        row = "at={}; cylinder={}; act=fill; from=0 psi; to=900 psi; gas=air; source={}; by=MV"
        log.append(row.format(at.isoformat(), to, giver))
    cards = {each: with_lines(GOOD, serial=f"K{each}") for each in "AB"}
    made = make_book(cards, log="\n".join(log), station="compressor: {name: C1}\n")
    assert filled_from_unknown(made, made.cylinders["A"]) is not None
