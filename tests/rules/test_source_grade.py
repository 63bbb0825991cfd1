"""Whether the air of a source is oxygen-compatible on a day, and what a source can give."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, TODAY, make_book, with_lines
from msgspec.structs import replace

from tankbook.acts.station_papers import bank_cleaned
from tankbook.acts.station_upkeep import raise_bank
from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.edits import Act
from tankbook.records.station import BankAnalysis
from tankbook.records.words import Grade
from tankbook.rules.checks import check
from tankbook.rules.gate import may_fill
from tankbook.rules.source_grade import grade_on
from tankbook.units import GaugePressure, Percent

SAID = "standard: oxygen-compatible, oxygen: 20.9 %, co: 1 ppm, co2: 400 ppm, oil: {oil} mg/m3, odour: none"


def sample(on: str, source: str = "C1", oil: float | None = 0.05, result: str = "pass") -> str:
    said = SAID.format(oil=oil) if oil is not None else SAID.replace("oil: {oil} mg/m3, ", "")
    return f"  - {{on: {on}, by: Lab, source: {source}, result: {result}, {said}}}\n"


CLEAN = sample("2026-09-01")
STATION = """compressors:
  - {{name: C1, grade: oxygen, hours: [{{on: 2026-09-10, reads: 400 h}}, {{on: 2026-11-20, reads: {hours} h}}]}}
  - {{name: C2, grade: breathing}}
filters: [{{name: F1, of: {of}, life: 50 h, changed: [{{on: 2026-09-10, at: 400 h}}]}}]
sources:
  - {{name: M1, kind: membrane, of: C1, oxygen_from: 24 %, oxygen_to: 36 %}}
  - {{name: M2, kind: membrane, of: C2}}
  - {{name: M3, kind: continuous, of: C2, grade: oxygen}}
  - {{name: M4, kind: continuous, of: C9}}
  - {{name: M5, kind: membrane, of: M5, grade: oxygen}}
boosters: [{{name: BO1, from: [B1], drives: [oxygen]}}, {{name: BO2, from: [B1], grade: breathing}}]
banks:
  - {{name: B1, water_volume: 48 L, gas: air, grade: oxygen, raised: [{raised}], cleaned: [{cleaned}], readings: [{read}]}}
  - {{name: B2, water_volume: 48 L, gas: air}}
air_tests:
{tests}"""


def book(
    tests: str = CLEAN,
    *,
    hours: float = 420,
    of: str = "C1",
    raised: str = "",
    cleaned: str = "",
    read: str = "",
    log: str = "",
) -> Book:
    card = with_lines(
        GOOD, service="nitrox", cleaned="[{on: 2026-09-05, by: MV, to: nitrox}]"
    )  # fmt: skip
    text = STATION.format(
        tests=tests or "  []\n", hours=hours, of=of, raised=raised, cleaned=cleaned, read=read
    )
    return make_book({"A": card}, station=text, log=log)


C1, C2 = "{on: 2026-11-10, to: 3000 psi, source: C1}", "{on: 2026-11-10, to: 3000 psi, source: C2}"
EMPTIED = f"{C2}, {{on: 2026-11-13, from: 0 psi, to: 3000 psi, source: C1}}"
"""Raised from ordinary air, emptied, and raised from clean air."""
AFTER = dt.date(2026, 11, 24)


@pytest.mark.parametrize(
    ("name", "made", "grade", "why"),
    [
        ("c1", book(), Grade.OXYGEN, ""),
        ("m1", book(), Grade.OXYGEN, ""),
        ("c2", book(), Grade.BREATHING, ""),
        ("m2", book(), Grade.BREATHING, ""),
        # of a membrane or a blender it counts only where it is shown
        ("m3", book(), None, "nothing shows it: a sample that measured oil and a filter of its own"),
        ("m3", book(CLEAN + sample("2026-09-01", "C2"), of="C2"), Grade.OXYGEN, ""),
        ("m3", book(CLEAN + sample("2026-11-25", "C2"), of="C2"), None, "a sample that measured oil"),
        ("m3", book(CLEAN + sample("2026-09-01", "C1+C2"), of="C2"), None, "a sample that measured oil"),
        ("m1", book(sample("2026-09-01", oil=None)), None, "a sample that measured oil"),
        ("c1", book(sample("2026-09-01", oil=None)), Grade.OXYGEN, ""),
        ("m4", book(), None, ""),
        ("m5", book(), None, ""),
        ("m9", book(), None, ""),
        ("b1", book(), Grade.OXYGEN, ""),
        ("b2", book(), None, ""),
        # a filter past its life, of the compressor, or of what that feeds
        ("c1", book(hours=451), Grade.BREATHING, "filter F1 was past its life"),
        ("m1", book(hours=451), Grade.BREATHING, "filter F1 was past its life"),
        ("m1", book(hours=451, of="M1"), Grade.BREATHING, "filter F1 was past its life"),
        ("m3", book(CLEAN + sample("2026-09-01", "C2"), of="C2", hours=451), Grade.OXYGEN, ""),
        # too much oil, by the rows for such air, though its own standard lets it pass
        ("c1", book(CLEAN + sample("2026-11-20", oil=0.4)), Grade.BREATHING, "its sample of 2026-11-20 has oil 0.4 mg/m3"),
        ("m1", book(CLEAN + sample("2026-11-20", oil=0.4)), Grade.BREATHING, "its sample of 2026-11-20 has oil"),
        ("m1", book(CLEAN + sample("2026-11-20", "M1", oil=0.4)), Grade.BREATHING, "its sample of 2026-11-20 has oil"),
        ("c1", book(CLEAN + sample("2026-11-20", oil=0.4).replace("oxygen-compatible", "cga-grade-e")), Grade.BREATHING, "oil 0.4"),
        ("c1", book(CLEAN + sample("2026-11-20", "C2", oil=0.4)), Grade.OXYGEN, ""),
        ("c1", book(CLEAN + sample("2026-11-20", "C1+C2", oil=0.4)), Grade.BREATHING, "oil"),
        # nobody measured oil since; another place did; struck out
        ("c1", book(CLEAN + sample("2026-11-20", oil=0.4) + sample("2026-11-22", oil=None)), Grade.BREATHING, "oil"),
        ("c1", book(CLEAN + sample("2026-11-20", oil=0.4) + sample("2026-11-22", "C2")), Grade.BREATHING, "oil"),
        ("c1", book(CLEAN + sample("2026-11-20", oil=0.4) + sample("2026-11-22", "C1+C2")), Grade.BREATHING, "oil"),
        ("c1", book(CLEAN + sample("2026-11-20", oil=0.4) + sample("2026-11-22")), Grade.OXYGEN, ""),
        ("c1", book(CLEAN + sample("2026-11-20", oil=0.4).replace("}", ", void: {why: other bottle, by: MV, on: 2026-11-21}}")), Grade.OXYGEN, ""),
        # a bank raised from ordinary air, till it was sampled itself
        ("b1", book(raised=C1), Grade.OXYGEN, ""),
        ("b1", book(raised=C2), Grade.BREATHING, "it was raised from C2 on 2026-11-10"),
        ("b1", book(raised=C1, hours=451), Grade.OXYGEN, ""),
        ("b1", book(raised=C2, tests=CLEAN + sample("2026-11-12", "B1")), Grade.OXYGEN, ""),
        ("b1", book(raised=C1.replace("C1", "M2")), Grade.BREATHING, "it was raised from M2"),
        ("b1", book(raised=C1.replace("C1", "B1")), Grade.OXYGEN, ""),
        ("b1", book(raised=C1, tests=CLEAN + sample("2026-11-08", oil=0.4)), Grade.BREATHING, "raised from C1 on 2026-11-10 (its sample"),
        ("bo2", book(), Grade.BREATHING, ""),
        # what nobody says how clean it was, or nobody recorded
        ("b1", book(raised=C1.replace("C1", "B2")), Grade.BREATHING, "it was raised from B2 on 2026-11-10 (it is given no grade)"),
        ("b1", book(raised=C1.replace("C1", "'elsewhere: Quay'")), None, "raised from elsewhere: Quay on 2026-11-10 (nobody says"),
        ("b1", book(raised=C1.replace("C1", "'elsewhere: Quay, oxygen-compatible air'")), Grade.OXYGEN, ""),
        ("b1", book(raised=C1.replace("C1", "'elsewhere: Quay, oxygen'")), Grade.OXYGEN, ""),
        ("b1", book(raised=C1.replace("C1", "the shed")), None, "raised from the shed"),
        ("b1", book(raised=C1.replace(", source: C1", "")), Grade.BREATHING, "raised from C2"),
        ("b1", book(raised=C1.replace("C1", "'C1+elsewhere: Quay'")), None, "raised from elsewhere: Quay"),
        ("b1", book(raised=f"{C1.replace('C1', 'the shed')}, {C2}"), Grade.BREATHING, "raised from C2"),
        ("b1", book(raised=EMPTIED), Grade.BREATHING, "it was raised from C2 on 2026-11-10"),
        # a sample tells of what it was drawn of: not of the day, nor of what was let out before it
        ("b1", book(raised=C2, tests=CLEAN + sample("2026-11-10", "B1")), Grade.BREATHING, "raised from C2"),
        ("b1", book(raised=EMPTIED, tests=CLEAN + sample("2026-11-14", "B1")), Grade.BREATHING, "raised from C2"),
        ("b1", book(raised=EMPTIED, tests=CLEAN + sample("2026-11-12", "B1")), Grade.OXYGEN, ""),
        # cleaned after it; of one day the hours say which was first
        ("b1", book(raised=C2, cleaned="{by: MV, on: 2026-11-11}"), Grade.OXYGEN, ""),
        ("b1", book(raised=C2, cleaned="{on: 2026-11-11}"), Grade.BREATHING, "raised from C2"),
        ("b1", book(raised=C2, cleaned="{by: nobody, on: 2026-11-11}"), Grade.BREATHING, "raised from C2"),
        ("b1", book(raised=C2, cleaned="{by: MV, on: 2026-11-10}"), Grade.BREATHING, "raised from C2"),
        ("b1", book(raised=C2, cleaned="{by: MV, on: 2026-11-09}"), Grade.BREATHING, "raised from C2"),
        ("b1", book(raised=C2, cleaned="{by: MV, on: 2026-11-25}"), Grade.BREATHING, "raised from C2"),
        ("b1", book(raised=C2.replace("to:", "at: '09:00', to:"), cleaned="{by: MV, on: 2026-11-10, at: '10:00'}"), Grade.OXYGEN, ""),
        ("b1", book(raised=C2.replace("to:", "at: '09:00', to:"), cleaned="{by: MV, on: 2026-11-10, at: '08:00'}"), Grade.BREATHING, "C2"),
        ("b1", book(raised=C2, cleaned="{by: MV, on: 2026-11-11, void: {why: other bank, by: MV, on: 2026-11-12}}"), Grade.BREATHING, "C2"),
        # one that rose, and nobody says from what
        ("b1", book(read="{on: 2026-11-09, pressure: 500 psi}, {on: 2026-11-12, pressure: 3000 psi}"), None, "it rose between 2026-11-09 and 2026-11-12"),
        ("b1", book(read="{on: 2026-11-09, pressure: 500 psi}, {on: 2026-11-12, pressure: 3000 psi}", raised=C1), Grade.OXYGEN, ""),
    ],
)  # fmt: skip
def test_what_is_said_counts_while_nothing_speaks_against_it(
    name: str, made: Book, grade: Grade | None, why: str
) -> None:
    found = grade_on(made, name, AFTER)
    assert found.grade is grade
    assert why in found.why
    assert bool(found.why) is bool(why)


def test_a_bad_sample_counts_from_the_last_good_one() -> None:
    made = book(CLEAN + sample("2026-11-01", oil=0.4) + sample("2026-11-10"))
    days = {d: grade_on(made, "c1", dt.date(2026, *d)).grade for d in ((8, 31), (9, 1), (10, 1), (11, 1), (11, 9), (11, 10))}  # fmt: skip
    bad = [d for d, grade in days.items() if grade is Grade.BREATHING]
    assert bad == [(10, 1), (11, 1), (11, 9)]


def fill(source: str, gas: str = "nitrox32", on: str = "2026-11-21") -> str:
    return f"at={on}T10:00:00+00:00; cylinder=A; act=fill; to=3000 psi; gas={gas}; o2=32 %; analysed_by=MV; from=500 psi; by=MV; source={source}"


@pytest.mark.parametrize(
    ("source", "made", "lost"),
    [
        ("M1", {}, ""),
        ("C1", {}, ""),
        ("M3", {}, "may have been made of ordinary air (M3: nothing shows it"),
        ("M2", {}, "lost by an ordinary air fill on 2026-11-21"),
        ("M1", {"hours": 451}, "lost by an ordinary air fill on 2026-11-21: M1: filter F1"),
        ("M1", {"tests": CLEAN + sample("2026-11-20", oil=0.4)}, "M1: its sample of 2026-11-20"),
        ("M1+C2", {}, "lost by an ordinary air fill"),
        ("B2", {}, "may have been made of ordinary air"),
        ("M4", {}, "may have been made of ordinary air"),
    ],
)
def test_a_fill_keeps_a_cylinder_clean_or_does_not(
    source: str, made: dict[str, str], lost: str
) -> None:
    answer = may_fill(book(log=fill(source), **made), "A", TODAY, Gas.parse("nitrox32"))  # type: ignore[arg-type]
    told = [r.text for r in answer.reasons if r.code.startswith("oxygen-clean")]
    assert len(told) == bool(lost)
    assert all(lost in text for text in told)


@pytest.mark.parametrize(
    ("source", "made", "code"),
    [
        ("M1", {}, None),
        ("M3", {}, "oxygen-clean-unsure"),
        ("M2", {}, "ends-oxygen-clean"),
        ("M1", {"hours": 451}, "ends-oxygen-clean"),
        ("M1+C2", {}, "ends-oxygen-clean"),
        ("B2", {}, "oxygen-clean-unsure"),
        ("M4", {}, "oxygen-clean-unsure"),
    ],
)
def test_what_a_fill_would_do_to_a_clean_cylinder_is_told_before_it(
    source: str, made: dict[str, str], code: str | None
) -> None:
    answer = may_fill(book(**made), "A", TODAY, Gas.parse("nitrox32"), source=source)  # type: ignore[arg-type]
    told = [r.code for r in answer.reasons if "oxygen-clean" in r.code]
    assert told == ([code] if code else [])


@pytest.mark.parametrize(("source", "ours"), [("M3", True), ("elsewhere: lake shop", False)])
def test_a_grade_is_asked_of_a_source_of_the_station_alone(source: str, ours: bool) -> None:
    answer = may_fill(book(), "A", TODAY, Gas.parse("nitrox32"), source=source)
    (mend,) = (r.mend for r in answer.reasons if r.code == "oxygen-clean-unsure")
    assert (f"give {source} a `grade:` in station.yaml" in mend) is ours


@pytest.mark.parametrize(
    ("source", "gas", "codes"),
    [
        ("M1", "nitrox32", set()),
        ("m1", "nitrox36", set()),
        ("M1", "nitrox37", {"source-out-of-range"}),
        ("M1", "air", {"source-out-of-range"}),
        ("M1", "trimix21/35", {"source-out-of-range"}),
        ("M2", "nitrox40", {"ends-oxygen-clean"}),
        ("M2", "nitrox41", {"source-too-rich", "ends-oxygen-clean"}),
        ("M1+M1", "nitrox37", {"source-out-of-range"}),
        ("M1 outlet", "nitrox37", {"source-out-of-range"}),
        ("M1+elsewhere: Quay", "nitrox37", set()),
        ("M2", "air", {"ends-oxygen-clean"}),
        ("C1", "air", set()),
        ("C2", "air", {"ends-oxygen-clean"}),
        ("", "air", {"ends-oxygen-clean"}),
        ("B1+M1", "nitrox50", set()),
        ("BO1", "nitrox32", {"source-not-driven"}),
        ("BO1", "oxygen", set()),
        ("BO2", "nitrox32", {"source-not-driven", "ends-oxygen-clean"}),
        ("BO2", "air", {"ends-oxygen-clean"}),
    ],
)
def test_a_source_gives_what_it_makes(source: str, gas: str, codes: set[str]) -> None:
    answer = may_fill(book(), "A", TODAY, Gas.parse(gas), source=source)
    found = {r.code for r in answer.reasons}
    assert {c for c in found if c.startswith("source-") or c == "ends-oxygen-clean"} == codes


def test_the_gate_says_why_a_source_is_ordinary() -> None:
    answer = may_fill(book(hours=451), "A", TODAY, Gas.parse("nitrox32"), source="M1")
    (said,) = [r.text for r in answer.reasons if r.code == "ends-oxygen-clean"]
    assert said == "it is ordinary air (M1: filter F1 was past its life): it ends its oxygen-clean state"  # fmt: skip


def test_what_shows_nothing_is_told() -> None:
    told = {f.text for f in check(book(sample("2026-09-01", oil=None)), TODAY) if f.code == "oxygen-air-unproved"}  # fmt: skip
    assert {text.split(" ")[0] for text in told} == {"C1", "M1", "M3"}
    assert not any(f.text.startswith("C1 is said") for f in check(book(), TODAY))


BEFORE = "{on: 2026-11-10, at: '09:00', to: 3000 psi, source: C2}"


@pytest.mark.parametrize(
    ("hour", "cleaned", "lost"),
    [
        ("08", "", False),
        ("10", "", True),
        ("10", "{by: MV, on: 2026-11-10, at: '09:30'}", False),
        ("10", "{by: MV, on: 2026-11-10, at: '11:00'}", True),
        ("10", "{by: MV, on: 2026-11-10}", True),
    ],
)
def test_a_fill_of_the_day_of_a_raising_is_told_by_its_hour(
    hour: str, cleaned: str, lost: bool
) -> None:
    log = fill("B1", on="2026-11-10").replace("T10", f"T{hour}")
    made = book(raised=BEFORE, cleaned=cleaned, log=log)
    answer = may_fill(made, "A", TODAY, Gas.parse("nitrox32"), source="M1")
    told = [r.text for r in answer.reasons if "lost by an ordinary air fill" in r.text]
    assert bool(told) is lost


def test_an_analysis_of_its_oxygen_does_not_make_a_bank_clean_again() -> None:
    made = book(raised=C2)
    assert made.station is not None
    bank = made.station.banks[0]
    analysed = BankAnalysis(source=bank.source, on=TODAY, oxygen=Percent.of(20.9, "%"))
    banks = (replace(bank, analysed=(analysed,)), *made.station.banks[1:])
    then = replace(made, station=replace(made.station, banks=banks))
    assert grade_on(then, "b1", TODAY).grade is Grade.BREATHING
    cleaned = bank_cleaned(then, "b1", by="MV", on=TODAY)
    assert isinstance(cleaned, Act)
    assert cleaned.sentence == "Cleaned bank B1 for oxygen, by MV"
    assert not any("fit" in note for note in cleaned.notes)


def test_a_raising_that_soils_a_bank_is_told_with_what_makes_it_clean() -> None:
    to = GaugePressure.of(3000, "psi")
    act = raise_bank(book(), "B1", to=to, source="C2", by="MV", on=TODAY)
    assert isinstance(act, Act)
    told = [note for note in act.notes if "no longer fit" in note]
    assert [*told] == [
        f"WARNING: B1 is no longer fit to be mixed with oxygen: it was raised from C2 on {TODAY};"
        " have it cleaned: `tankbook station bank-clean B1`"
    ]
