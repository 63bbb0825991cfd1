"""Several compressors, and boosters: what one pumped, what tells against one alone."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, TODAY, make_book, with_lines
from hypothesis import given
from hypothesis import strategies as st

from tankbook.records.book import Book
from tankbook.records.rulerow import Gate, Obligation
from tankbook.rules import meter
from tankbook.rules.air import air_judge, parts_named, sampled_at
from tankbook.rules.bad_air import _spells, bad_air_of
from tankbook.rules.checks import check
from tankbook.rules.gate import shut_by, station_reasons
from tankbook.rules.out_of_use import parts_out, refused_by_name
from tankbook.rules.recall import by_source, failed_test, gas_labels, source_of_test
from tankbook.rules.schedule import due_of_station

VALUES = "standard: cga-grade-e, oxygen: 20.9 %, co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, water: 18 mg/m3, odour: none"
SMOKY = VALUES.replace("co: 1 ppm", "co: 14 ppm")
TESTED = "water_volume: 48 L, gas: air, period: 10 years, requalified: [{on: 2024-03, method: hydrostatic, by: T123}]"


def sample(on: str, source: str, values: str = VALUES, result: str = "pass") -> str:
    of = f"source: {source}, " if source else ""
    return f"  - {{on: {on}, by: Lab, {of}result: {result}, {values}}}\n"


def failed(on: str, source: str) -> str:
    return sample(on, source, SMOKY, "fail")


GOOD_C1, GOOD_C2 = sample("2026-10-12", "C1"), sample("2026-10-12", "C2")
BOTH = GOOD_C1 + GOOD_C2
BAD_C2 = failed("2026-11-20", "C2")
PUMPS = "compressors: [{name: C1, hours: [{on: 2026-11-24, reads: 400 h}]}, {name: C2, hours: [{on: 2026-11-24, reads: 90 h}]}]\n"


def bank(name: str, source: str, on: str = "2026-11-01") -> str:
    """A bank of air that was read before, and raised from a source since."""
    said = f", source: {source}" if source else ""
    return (
        f"  - {{name: {name}, {TESTED}, readings: [{{on: 2026-10-01, pressure: 3000 psi}}, {{on: {on}, pressure: 4400 psi}}],"
        f" raised: [{{on: {on}, from: 3000 psi, to: 4400 psi{said}}}]}}\n"
    )  # fmt: skip


BANKS = "banks:\n" + bank("B1", "C1") + bank("B2", "C2")


def book(
    tests: str, *, pumps: str = PUMPS, banks: str = BANKS, more: str = "", log: str = ""
) -> Book:
    cards = {n: with_lines(GOOD, serial=f"K{n}") for n in "AB"}
    return make_book(cards, station=f"{pumps}{banks}{more}air_tests:\n{tests}", log=log)


def fill(source: str, on: str = "2026-11-15", id_: str = "A") -> str:
    said = f"; source={source}" if source else ""
    return f"at={on}T10:00:00+00:00; cylinder={id_}; act=fill; to=3000 psi; gas=air; from=500 psi; by=MV{said}"


C2_OUT = {"compressor C2", "bank B2"}


@pytest.mark.parametrize(
    ("tests", "banks", "out"),
    [
        (BOTH, BANKS, set()),
        (BOTH + BAD_C2, BANKS, C2_OUT),
        (BOTH + BAD_C2.replace("C2", "C2 outlet"), BANKS, C2_OUT),
        (BOTH + BAD_C2.replace("C2", "c2"), BANKS, C2_OUT),
        (BOTH + sample("2026-11-20", "C2", SMOKY), BANKS, C2_OUT),
        # a bank that does not say by what it was raised may hold its air, one of before does not
        (BOTH + BAD_C2, "banks:\n" + bank("B1", "") + bank("B2", "C1"), {"compressor C2", "bank B1"}),
        (BOTH + BAD_C2, "banks:\n" + bank("B1", "compressor") + bank("B2", "C1"), {"compressor C2", "bank B1"}),
        (BOTH + BAD_C2, "banks:\n" + bank("B1", "C9") + bank("B2", "C1"), {"compressor C2", "bank B1"}),
        (BOTH + BAD_C2, "banks:\n" + bank("B1", "'elsewhere: Quay'") + bank("B2", "C1"), {"compressor C2"}),
        (BOTH + BAD_C2, "banks:\n" + bank("B1", "C1") + bank("B2", "C1"), {"compressor C2"}),
        # its own good sample clears a bank, no earlier one and not that of another
        (BOTH + BAD_C2 + sample("2026-11-21", "B2"), BANKS, {"compressor C2"}),
        (BOTH + BAD_C2 + sample("2026-11-19", "B2"), BANKS, C2_OUT),
        (BOTH + BAD_C2 + sample("2026-11-21", "B1"), BANKS, C2_OUT),
        # it passed again, and what it pumped before is still in its bank until that was sampled
        (BOTH + BAD_C2 + sample("2026-11-21", "C2"), BANKS, {"bank B2"}),
        (BOTH + BAD_C2 + sample("2026-11-21", "C2") + sample("2026-11-22", "B2"), BANKS, set()),
        # another does not answer for it, nor a sample of nobody knows which
        (BOTH + BAD_C2 + sample("2026-11-21", "C1"), BANKS, C2_OUT),
        (BOTH + BAD_C2 + sample("2026-11-21", ""), BANKS, C2_OUT),
        (BOTH + BAD_C2 + sample("2026-11-21", "C1+C2"), BANKS, C2_OUT),
    ],
)  # fmt: skip
def test_what_failed_of_one_keeps_that_one_out(tests: str, banks: str, out: set[str]) -> None:
    made = book(tests, banks=banks)
    assert {str(part) for part in parts_out(made, TODAY)} == out
    assert shut_by(made, TODAY) == ()
    assert [bool(list(refused_by_name(made, TODAY, [n]))) for n in ("C1", "c2")] == [
        False,
        "compressor C2" in out,
    ]


@pytest.mark.parametrize(
    "tests",
    [
        GOOD_C1 + failed("2026-11-20", "C1") + BAD_C2,
        # the other was never sampled, long ago, or nobody knows which was
        GOOD_C2 + BAD_C2,
        sample("2024-10-12", "C1") + GOOD_C2 + BAD_C2,
        sample("2026-10-12", "") + GOOD_C2 + BAD_C2,
        sample("2026-10-12", "C1+B1") + GOOD_C2 + BAD_C2,
        sample("2026-10-12", "C1+C2") + BAD_C2,
        sample("2026-10-12", "B1") + BAD_C2,
        # of both, of nobody knows which, of what is not here, of an outlet
        BOTH + failed("2026-11-20", "C1+C2"),
        BOTH + failed("2026-11-20", ""),
        BOTH + failed("2026-11-20", "compressor"),
        BOTH + failed("2026-11-20", "filter"),
        BOTH + failed("2026-11-20", "C3"),
        BOTH + failed("2026-11-20", "panel"),
        BOTH + failed("2026-11-20", "B2"),
        BOTH + failed("2026-11-20", "C2 of the boat"),
    ],
)
def test_what_is_not_of_one_alone_closes_the_station(tests: str) -> None:
    assert any("failed" in r.text for r in shut_by(book(tests), TODAY))


def test_what_lapsed_of_one_keeps_that_one_out() -> None:
    late = GOOD_C1 + sample("2025-10-12", "C2")
    made = book(late)
    assert {str(part) for part in parts_out(made, TODAY)} == C2_OUT
    assert shut_by(made, TODAY) == ()
    assert shut_by(book(sample("2025-10-12", "C1") + sample("2025-10-12", "C2")), TODAY) != ()
    never = book(GOOD_C1)
    assert {str(part) for part in parts_out(never, TODAY)} == C2_OUT


FILTERS = "filters: [{name: F1, of: %s, life: 50 h, changed: [{on: 2026-09-01, at: 380 h}]}, {name: F2, of: %s, life: 50 h, changed: [{on: 2026-09-01, at: 10 h}]}]\n"


def test_a_filter_runs_on_the_hours_of_its_own() -> None:
    made = book(BOTH, more=FILTERS % ("C1", "c2"))
    items = {i.part: i for i in due_of_station(made, made.station, TODAY) if i.obligation is Obligation.FILTER}  # fmt: skip
    assert (items["F1"].hours_left.hours, items["F1"].hours_over) == (30, False)
    assert (items["F2"].hours_left.hours, items["F2"].hours_over) == (30, True)
    assert {str(part) for part in parts_out(made, TODAY)} == C2_OUT
    assert shut_by(made, TODAY) == ()
    pumps = [meter.pump_called(made.station, n) for n in ("C1", "c2")]
    assert [meter.readings(pump)[-1].reads.hours for pump in pumps] == [400, 90]
    assert meter.pump_called(made.station, None) is meter.pump_called(made.station, "C3") is None


@pytest.mark.parametrize("of", ["C3", "B1", "compressor"])
def test_a_filter_of_nobody_knows_which_closes_the_station(of: str) -> None:
    assert any("F2" in r.text for r in shut_by(book(BOTH, more=FILTERS % ("C1", of)), TODAY))
    assert any("F2" in r.text for r in shut_by(book(BOTH, more=(FILTERS % ("C1", "x")).replace("of: x, ", "")), TODAY))  # fmt: skip


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ("C2", True), ("c2", True), ("C2 outlet", True), ("B2", True), ("B1+C2", True), ("compressor", True),
        ("", True), ("C9", True), ("F2", True), ("BO1", True), ("BO9", True), ("BO3", True),
        ("C1", False), ("B1", False), ("C1+B1", False), ("elsewhere: Quay", False), ("F1", False), ("BO2", False),
    ],
)  # fmt: skip
def test_a_failed_sample_tells_of_what_that_one_pumped(source: str, found: bool) -> None:
    more = FILTERS.replace("at: 10 h", "at: 60 h") % ("C1", "C2")
    more += "boosters: [{name: BO1, from: [B2]}, {name: BO2, from: [B1]}, {name: BO3}]\n"
    made = book(BOTH + BAD_C2, more=more, log=fill(source))
    bad = bad_air_of(made, made.cylinders["A"])
    assert (bad is not None) is found
    assert (by_source(made, "C2", TODAY).suspects != ()) is found
    assert (failed_test(made) is not None, source_of_test(made, failed_test(made))) == (True, "C2")
    assert {"C1", "C2", "BO1"} <= set(gas_labels(made))


def test_a_recall_of_one_takes_in_the_banks_that_it_raised() -> None:
    made = book(BOTH + BAD_C2)
    recall = by_source(made, "C2", TODAY)
    assert (recall.through, [b.name for b in recall.banks]) == (("B2",), ["B2"])
    assert recall.since == dt.date(2026, 10, 12)
    unsaid = book(BOTH + failed("2026-11-20", ""))
    assert source_of_test(unsaid, failed_test(unsaid)) == ""
    for source in ("", "C1", "C2"):
        assert by_source(unsaid, source, TODAY).banks != ()
    assert {b.name for b in by_source(unsaid, "", TODAY).banks} == {"B1", "B2"}


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("C2", {"c2"}), ("compressor 2", {"c2"}), ("C-2", {"c2"}), ("compressor", {"c1", "c2"}), ("filter F1", {"c1"}),
        ("F2", {"c1", "c2"}), ("BO1", {"bo1", "b1"}), ("BO2", {"bo2", "bo1", "b1", "c1", "c2"}), ("booster", frozenset()),
    ],
)  # fmt: skip
def test_what_a_text_names(text: str, parts: set[str]) -> None:
    more = "filters: [{name: F1, of: C1}, {name: F2}]\nboosters: [{name: BO1, from: [b1, BO2]}, {name: BO2, from: [BO1, compressor]}]\n"
    made = book(BOTH, more=more.replace(", BO2]", "]"))
    assert parts_named(made.station, text) == parts
    endless = book(BOTH, more=more)
    assert parts_named(endless.station, "BO1") == {"bo1", "bo2", "b1", "c1", "c2"}


def test_a_sample_of_a_booster_is_of_what_feeds_it_too() -> None:
    made = book(BOTH + failed("2026-11-20", "BO1"), more="boosters: [{name: BO1, from: [B1]}]\n")
    assert sampled_at(made.station, made.station.air_tests[-1]) == {"bo1", "b1"}
    assert shut_by(made, TODAY) != ()


def test_a_booster_is_out_with_all_that_feeds_it() -> None:
    more = "boosters: [{name: BO1, from: [B2]}, {name: BO2, from: [BO1]}, {name: BO3, from: [B1, C2]}, {name: BO4}]\n"
    made = book(BOTH + BAD_C2, more=more)
    assert {str(part) for part in parts_out(made, TODAY)} == {*C2_OUT, "booster BO1", "booster BO2"}
    told = [bool(list(refused_by_name(made, TODAY, [f"BO{n}"]))) for n in (1, 3, 4)]
    assert told == [True, True, False]


FAULTY = [
    ("compressors: [{name: C1}, {name: C1}]\n", "two parts of the station are called C1"),
    ("compressors: [{name: C1}, {name: c1}]\n", "two parts of the station are called"),
    ("compressor: {name: C1}\ncompressors: [{name: C1}]\n", "two parts of the station are called C1"),
    ("compressor: {name: C1}\ncompressors: [{delivery: 5 cuft/min}]\n", "has no label"),
    ("compressor: {}\ncompressors: [{name: C1}]\n", "has no label"),
    ("compressors: [{name: B1}, {name: C1}]\n", "are called B1"),
    ("compressors: [{name: compressor}, {name: C1}]\n", "tells no compressor apart"),
    ("compressors: [{name: C1+C2}, {name: C1}]\n", "tells no compressor apart"),
    ("compressor: {name: C1}\nboosters: [{name: C1}]\n", "are called C1"),
]  # fmt: skip


@pytest.mark.parametrize(("pumps", "text"), FAULTY)
def test_what_is_not_told_apart_closes_the_station(pumps: str, text: str) -> None:
    for tests in (BOTH, BOTH + BAD_C2):
        assert any(text in r.text for r in shut_by(book(tests, pumps=pumps), TODAY))


def test_one_compressor_is_the_same_either_way() -> None:
    """`compressor:` and a list of one say the same of everything."""
    one = "compressor: {name: C1, hours: [{on: 2026-11-24, reads: 400 h}]}\n"
    many = one.replace("compressor: ", "compressors: [").replace("\n", "]\n")
    more = "filters: [{name: F1, life: 50 h, changed: [{on: 2026-09-01, at: 380 h}]}]\n"
    banks = BANKS.replace("C2", "C1")
    for tests in (GOOD_C1, GOOD_C1 + failed("2026-11-20", "C1"), sample("2026-10-12", ""), ""):
        tests = tests or "  []\n"
        made = [book(tests, pumps=p, more=more, banks=banks, log=fill("B1")) for p in (one, many)]
        told = [[(r.code, r.text, r.gate) for r in station_reasons(b, TODAY)] for b in made]
        assert told[0] == told[1]
        recalls = [by_source(b, "C1", TODAY) for b in made]
        assert recalls[0] == recalls[1]
        assert parts_out(made[0], TODAY) == parts_out(made[1], TODAY)


def test_of_warnings_one_tells_of_an_unknown_part() -> None:
    made = book(BOTH, more="boosters: [{name: BO1, from: [O9]}]\nfilters: [{name: F1}]\n")
    said = [f.text for f in check(made, TODAY)]
    assert any("the booster BO1 says `from: O9`" in text for text in said)
    assert any("the filter F1 does not say which" in text for text in said)


def test_the_gate_warns_of_one_that_is_out() -> None:
    reasons = station_reasons(book(BOTH + BAD_C2), TODAY)
    told = [r for r in reasons if r.code == "air-test-failed"]
    assert {r.gate for r in told} == {Gate.WARN}
    assert all("compressor C2" in r.text for r in told)


OTHERS = ("", "C1", "C3", "compressor", "filter", "B1", "C1+C2", "B1+C2", "panel", "BO1", "BO2", "M1", "banks", "C2 of the boat")  # fmt: skip
BESIDE = (
    "",
    "filters: [{name: F1, of: C1}]\n",
    "boosters: [{name: BO1, from: [C2]}, {name: BO2}]\n",
    "boosters: [{name: BO1, from: [BO1, B2]}]\nsources: [{name: M1, kind: membrane, of: C2}]\n",
)


@given(
    st.lists(st.tuples(st.sampled_from((1, 19, 20, 21, 25)), st.sampled_from(OTHERS), st.booleans()), max_size=4),
    st.sampled_from(BESIDE),
    st.sampled_from(("C1", "", "B2", "C1+B2", "M1", "C9")),
    st.sampled_from(("C2", "", "compressor", "C9", "C1+C2")),
)  # fmt: skip
def test_nothing_but_a_good_sample_of_it_answers_a_failed_one(
    others: list[tuple[int, str, bool]], more: str, raised: str, source: str
) -> None:
    """Whatever else was sampled, and however it is called: no fill may come from a compressor whose
    sample failed, and what was filled from it, or from who knows what, is told of."""
    tests = BOTH + BAD_C2
    for day, name, good in others:
        tests += (sample if good else failed)(f"2026-11-{day:02d}", name)
    made = book(
        tests, banks="banks:\n" + bank("B1", raised), more=more, log=fill(source, "2026-11-21")
    )
    named = list(refused_by_name(made, TODAY, ["C2"]))
    assert named or shut_by(made, TODAY)
    assert bad_air_of(made, made.cylinders["A"]) is not None
    assert by_source(made, "C2", TODAY).suspects != ()


def test_what_one_pumped_is_followed_from_bank_to_bank() -> None:
    """A third bank was raised from the second, which C2 pumped after it failed; the first is of C1."""
    pumped = BANKS + bank("B3", "B2", on="2026-11-22")
    pumped = pumped.replace(bank("B2", "C2"), bank("B2", "C2", on="2026-11-21"))
    for source, found in (("B3", True), ("B2", True), ("B1", False)):
        made = book(BOTH + BAD_C2, banks=pumped, log=fill(source, on="2026-11-23"))
        assert (bad_air_of(made, made.cylinders["A"]) is not None) is found, source
        recall = by_source(made, "C2", TODAY)
        assert (recall.suspects != ()) is found, source
        assert {"B2", "B3"} <= {b.name for b in recall.banks}
        assert "B1" not in {b.name for b in recall.banks}
    fixed = BOTH + BAD_C2 + sample("2026-11-24", "C2")
    made = book(fixed, banks=pumped)
    assert {str(part) for part in parts_out(made, TODAY)} >= {"bank B2", "bank B3"}
    assert "bank B1" not in {str(part) for part in parts_out(made, TODAY)}


NITROX = (
    f"  - {{name: N1, {TESTED.replace('gas: air', 'gas: nitrox32, since: 2026-01-01')}, readings: [{{on: 2026-11-01, pressure: 2000 psi}},"
    " {on: 2026-11-10, pressure: 4000 psi}]}\n"
)  # fmt: skip
THIRD = PUMPS.replace("]\n", ", {name: C3%s}]\n")


@pytest.mark.parametrize(
    ("third", "more", "out"),
    [
        # nothing says that it ever ran here: a bank of nitrox is not of its air
        ("", "", set()),
        (", hours: [{on: 2026-11-01, reads: 900 h}]", "", set()),
        # it ran, or is named
        (", hours: [{on: 2026-11-01, reads: 900 h}, {on: 2026-11-09, reads: 903 h}]", "", {"bank N1"}),
        ("", bank("B3", "C3"), {"bank N1", "bank B3"}),
        # a bank of air that rose by nobody knows what may hold its air all the same
        ("", bank("B3", ""), {"bank B3"}),
        ("", bank("B3", "C1"), set()),
    ],
)  # fmt: skip
def test_one_that_was_never_sampled_keeps_out_what_it_may_have_pumped(
    third: str, more: str, out: set[str]
) -> None:
    made = book(BOTH, pumps=THIRD % third, banks=BANKS + NITROX + more)
    assert {str(part) for part in parts_out(made, TODAY)} == {"compressor C3", *out}


@given(
    st.lists(
        st.tuples(
            st.integers(1, 24),
            st.sampled_from(["C2", "C1", "C2+B1", "C1+C2", "B1", "C2+P9", "", "c2 outlet"]),
            st.booleans(),
        ),
        max_size=5,
    )
)
def test_the_last_good_sample_is_one_fact(drawn: list[tuple[int, str, bool]]) -> None:
    """Whatever was sampled: the spell of a cylinder's fill and what keeps a bank out begin alike,
    at a sample of that compressor alone."""
    days = {(day, source): good for day, source, good in drawn}
    tests = "".join(
        sample(f"2026-10-{day:02d}", source) if good else failed(f"2026-10-{day:02d}", source)
        for (day, source), good in sorted(days.items())
    )
    made = book(tests + BAD_C2, pumps=PUMPS, banks="banks:\n" + bank("B1", "C1"))
    station, judge = made.station, air_judge(made)
    assert station
    spell = next(s for s in _spells(made) if s.failed.on == dt.date(2026, 11, 20))
    begun = judge.good_before(station, "c2", dt.date(2026, 11, 20))
    assert spell.since["c2"] == begun
    alone = [d for (d, s), good in days.items() if good and s.casefold() in ("c2", "c2 outlet")]
    assert begun.first.date() in {dt.date.min, *(dt.date(2026, 10, d) for d in alone)}


@pytest.mark.parametrize("source", ["C2+B1", "B1+C2", "C1+C2"])
def test_what_was_drawn_of_two_at_once_is_no_good_sample_of_one(source: str) -> None:
    made = book(BOTH + sample("2026-11-05", source) + BAD_C2, log=fill("C2", "2026-11-01"))
    assert bad_air_of(made, made.cylinders["A"]) is not None
    outs = {str(p) for p in parts_out(made, TODAY)}
    assert outs >= C2_OUT


def test_good_air_of_one_of_two_is_not_that_of_the_other_behind_a_panel() -> None:
    """A sample at the panel that failed is of either: since when each was good is its own."""
    tests = sample("2026-10-01", "C2") + sample("2026-11-10", "C1") + failed("2026-11-20", "panel")
    made = book(tests, log=fill("C2", "2026-11-01"), more="panel: {rating: 4500 psi}\n")
    assert bad_air_of(made, made.cylinders["A"]) is not None


FED = "boosters: [{name: BO1, from: [%s]}]\n"


@pytest.mark.parametrize(
    ("feeds", "more", "out"),
    [
        # what takes from one compressor alone tells against that one, and goes out with it
        ("C2", "", {"compressor C2", "bank B2", "booster BO1"}),
        ("C2", sample("2026-11-21", "BO1"), {"bank B2"}),
        # of a bank too, or of nobody knows what, it tells against the station
        ("C2, B1", "", None),
        ("C9", "", None),
        ("C1, C2", "", None),
    ],
)
def test_a_bad_sample_of_a_booster_is_of_the_compressor_that_feeds_it(
    feeds: str, more: str, out: set[str] | None
) -> None:
    made = book(BOTH + failed("2026-11-20", "BO1") + more, more=FED % feeds)
    if out is None:
        assert shut_by(made, TODAY)
        return
    assert {str(part) for part in parts_out(made, TODAY)} == out
    assert shut_by(made, TODAY) == ()
