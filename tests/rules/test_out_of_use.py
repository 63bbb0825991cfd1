"""Parts of the station that are out of use, what goes with them, and when nothing else serves."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, TODAY, make_book
from hypothesis import given
from hypothesis import strategies as st

from tankbook.records.book import Book
from tankbook.records.rulerow import Gate
from tankbook.rules.board import board
from tankbook.rules.checks import check
from tankbook.rules.gate import may_fill, shut_by, station_reasons
from tankbook.rules.out_of_use import opening_at, part_reasons, parts_out, refused_by_name
from tankbook.rules.schedule import due, due_of_station

AIR = "air_tests: [{on: 2026-10-12, standard: cga-grade-e, result: pass, co: 1 ppm}]\n"
BAD = "checked: [{on: 2026-10-01, result: fail, note: cut}]"
CHECK = "on: 2026-10-01, against: T1"
TRUE = f"checked: [{{{CHECK}, reads: 3000 psi, true: 3000 psi}}]"
LOW = f"checked: [{{{CHECK}, reads: 2800 psi, true: 3000 psi}}]"
HIGH = f"checked: [{{{CHECK}, reads: 3200 psi, true: 3000 psi}}]"
TESTED = "water_volume: 48 L, working_pressure: 5000 psi, period: 10 years, requalified: [{on: 2024-03, method: hydrostatic, by: T1}]"
LAPSED = TESTED.replace("2024-03", "2014-03")


def book_of(station: str) -> Book:
    return make_book({"A": GOOD}, station=AIR + station)


def out(station: str, day: dt.date = TODAY) -> set[str]:
    return {str(part) for part in parts_out(book_of(station), day)}


def positions(*each: str) -> str:
    return f"positions: [{', '.join(f'{{{p}}}' for p in each)}]\n"


def whips(*each: str) -> str:
    return f"whips: [{', '.join(f'{{{w}}}' for w in each)}]\n"


def gauges(*each: str) -> str:
    return f"gauges: [{', '.join(f'{{{g}}}' for g in each)}]\n"


R1 = f"relief_valves: [{{name: R1, protects: [B1], {BAD}}}]\n"
P1, P2 = "name: P1, kind: enclosed", "name: P2, kind: enclosed"
P3, P4 = "name: P3, kind: whip", "name: P4, kind: whip"
W1, W2 = "name: W1, fitted: 2026-05", "name: W2, fitted: 2026-05"


def points(*each: tuple[int, int]) -> str:
    """What a gauge read, and what was true, at several points of one day."""
    return f"checked: [{', '.join(f'{{{CHECK}, reads: {r} psi, true: {t} psi}}' for r, t in each)}]"


GONE = "void: {on: 2026-10-03, by: MV, why: it was another}"

CASES: dict[str, tuple[str, set[str]]] = {
    "nothing": ("", set()),
    "a whip of a position that names it": (
        positions(P1, f"{P3}, whip: w1") + whips(f"{W1}, {BAD}", W2),
        {"whip W1", "position P3"},
    ),
    "a position that is called as its whip": (
        positions(P1, "name: W1, kind: whip") + whips(f"{W1}, {BAD}"),
        {"whip W1", "position W1"},
    ),
    "one of two whips at one of two open places, nobody knows which": (
        positions(P1, P3, P4) + whips(f"{W1}, {BAD}", W2),
        {"whip W1", "position P4"},
    ),
    "both whips": (
        positions(P1, P3, P4) + whips(f"{W1}, {BAD}", f"{W2}, {BAD}"),
        {"whip W1", "whip W2", "position P3", "position P4"},
    ),
    "both whips, and no other place": (
        positions(P3, P4) + whips(f"{W1}, {BAD}", f"{W2}, {BAD}"),
        {"whip W1", "whip W2", "position P3", "position P4", "station"},
    ),
    "enclosures alone, one of whose whips failed": (
        positions(P1, P2) + whips(f"{W1}, {BAD}", W2),
        {"whip W1", "position P2"},
    ),
    "whips alone": (whips(f"{W1}, {BAD}", W2), {"whip W1"}),
    "whips alone, all of them": (whips(f"{W1}, {BAD}"), {"whip W1", "station"}),
    "a whip replaced the month after": (
        whips(f"{W1.replace('2026-05', '2026-11')}, {BAD}"),
        set(),
    ),
    "a whip fitted in the month in which it failed": (
        whips(f"{W1.replace('2026-05', '2026-10')}, {BAD}"),
        {"whip W1", "station"},
    ),
    "a failed check that was struck out": (
        whips(
            f"{W1}, checked: [{{on: 2026-10-01, result: fail, void: {{why: of W2, by: MV, on: 2026-10-02}}}}]"
        ),
        set(),
    ),
    "a master gauge below true": (
        gauges(f"name: G1, master: yes, {LOW}"),
        {"gauge G1", "station"},
    ),
    "a master gauge above true": (gauges(f"name: G1, master: yes, {HIGH}"), set()),
    "one of two masters": (
        gauges(f"name: G1, master: yes, {LOW}", f"name: G2, master: yes, {TRUE}"),
        {"gauge G1"},
    ),
    "a gauge of a place beside a master": (
        positions(P1)
        + gauges(f"name: G1, master: yes, {TRUE}", f"name: G2, position: P1, {LOW}"),
        {"gauge G2"},
    ),
    "a gauge of a place, and no master": (
        positions(P1, P2)
        + gauges(f"name: G1, position: P1, {LOW}", f"name: G2, position: P2, {TRUE}"),
        {"gauge G1", "position P1"},
    ),
    "a wide range errs by more": (
        gauges(f"name: G1, master: yes, range: 10000 psi, {LOW}"),
        set(),
    ),
    "a fine class errs by less": (
        gauges(f"name: G1, master: yes, range: 10000 psi, class: 1 %, {LOW}"),
        {"gauge G1", "station"},
    ),
    "the station wants less": (
        "gauge_error: 60 psi\n" + gauges(f"name: G1, master: yes, range: 10000 psi, {LOW}"),
        {"gauge G1", "station"},
    ),
    "no range, beside a bank of 5000 psi: 100 psi": (
        f"banks: [{{name: B1, {TESTED}}}]\n" + gauges(f"name: G1, master: yes, {LOW}"),
        {"gauge G1", "station"},
    ),
    "a new gauge": (
        gauges(f"name: G1, master: yes, fitted: 2026-10-02, {LOW}"),
        set(),
    ),
    "a gauge replaced by a new one": (
        gauges(f"name: G1, master: yes, renewed: [{{on: 2026-10-02, by: MV}}], {LOW}"),
        set(),
    ),
    "a gauge replaced, which is struck out": (
        gauges(f"name: G1, master: yes, renewed: [{{on: 2026-10-02, by: MV, {GONE}}}], {LOW}"),
        {"gauge G1", "station"},
    ),
    "a gauge replaced before it was off": (
        gauges(f"name: G1, master: yes, renewed: [{{on: 2026-09-30, by: MV}}], {LOW}"),
        {"gauge G1", "station"},
    ),
    "a gauge replaced on the day on which it was off": (
        gauges(f"name: G1, master: yes, renewed: [{{on: 2026-10-01, by: MV}}], {LOW}"),
        {"gauge G1", "station"},
    ),
    "a gauge replaced that day, and compared again at the same point": (
        gauges(
            "name: G1, master: yes, renewed: [{on: 2026-10-01, by: MV}],"
            f" {points((2800, 3000), (3000, 3000))}"
        ),
        set(),
    ),
    "a gauge off, beside one that was compared before it was replaced": (
        gauges(
            f"name: G1, {LOW}",
            f"name: G2, renewed: [{{on: 2026-10-02, by: MV}}], {points((3000, 3000))}",
        ),
        {"gauge G1", "station"},
    ),
    "a bank whose test lapsed, beside another": (
        f"banks: [{{name: B1, {LAPSED}}}, {{name: B2, {TESTED}}}]\n",
        {"bank B1", "station"},
    ),
    "a bank whose test lapsed, alone": (
        f"banks: [{{name: B1, {LAPSED}}}]\n",
        {"bank B1", "station"},
    ),
    "a bank whose test lapsed, beside a compressor": (
        f"compressor: {{name: C1}}\nbanks: [{{name: B1, {LAPSED}}}]\n",
        {"bank B1", "station"},
    ),
    "a relief valve of one bank of two": (
        f"banks: [{{name: B1, {TESTED}}}, {{name: B2, {TESTED}}}]\n"
        f"relief_valves: [{{name: R1, protects: [b1], {BAD}}}]\n",
        {"relief valve R1", "bank B1"},
    ),
    "a relief valve of which nobody wrote what it protects": (
        f"relief_valves: [{{name: R1, {BAD}}}]\n",
        {"relief valve R1", "station"},
    ),
    "a relief valve of the compressor beside a bank": (
        f"compressor: {{name: C1, max_pressure: 5000 psi}}\nbanks: [{{name: B1, {TESTED}}}]\n"
        "relief_valves: [{name: R1, set_at: 5500 psi, protects: [compressor], checked: [{on: 2026-10-01}]}]\n",
        {"relief valve R1", "compressor C1"},
    ),
    "a relief valve set above every mark": (
        f"banks: [{{name: B1, {TESTED}}}]\n"
        "relief_valves: [{name: R1, set_at: 5600 psi, checked: [{on: 2026-10-01}]}]\n",
        {"relief valve R1", "station"},  # nobody wrote what it protects: all
    ),
    "a relief valve of a whip": (
        whips(W1, W2) + f"relief_valves: [{{name: R1, protects: [w1], {BAD}}}]\n",
        {"relief valve R1", "whip W1"},
    ),
    "a relief valve of what the station does not have": (
        f"banks: [{{name: B1, {TESTED}}}, {{name: B2, {TESTED}}}]\n"
        f"relief_valves: [{{name: R1, protects: [B1, B9], {BAD}}}]\n",
        {"relief valve R1", "bank B1", "station"},
    ),
    "one of two masters, beside one never checked": (
        gauges(f"name: G1, master: yes, {LOW}", "name: G2, master: yes"),
        {"gauge G1", "station"},
    ),
    "below true at one point of two of a day": (
        gauges(f"name: G1, master: yes, {points((2800, 3000), (500, 500))}"),
        {"gauge G1", "station"},
    ),
    "compared again at the same point, once a new one was fitted that day": (
        gauges(f"name: G1, master: yes, fitted: 2026-10-01, {points((2800, 3000), (3000, 3000))}"),
        set(),
    ),
    "below true one day, and right another without a new one": (
        gauges(
            "name: G1, master: yes, checked: ["
            "{on: 2026-10-01, against: T, reads: 2800 psi, true: 3000 psi}, "
            "{on: 2026-10-02, against: T, reads: 3000 psi, true: 3000 psi}]"
        ),
        {"gauge G1", "station"},
    ),
    "below true, and compared once a new one was fitted another day": (
        gauges(
            "name: G1, master: yes, fitted: 2026-10-02, checked: ["
            "{on: 2026-10-01, against: T, reads: 2800 psi, true: 3000 psi}, "
            "{on: 2026-10-02, against: T, reads: 3000 psi, true: 3000 psi}]"
        ),
        set(),
    ),
    "compared again at the same point of one day, without a new one": (
        gauges(f"name: G1, master: yes, {points((2800, 3000), (3000, 3000))}"),
        {"gauge G1", "station"},
    ),
    "the regulator": (f"regulator: {{{BAD}}}\n", {"regulator", "station"}),
    "an enclosure of two": (positions(f"{P1}, {BAD}", P2), {"position P1"}),
    "every enclosure": (
        positions(f"{P1}, {BAD}", f"{P2}, {BAD}"),
        {"position P1", "position P2", "station"},
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_what_is_out_and_what_goes_with_it(name: str) -> None:
    station, wanted = CASES[name]
    assert out(station) == wanted


@pytest.mark.parametrize("name", CASES)
def test_every_answer_says_the_same(name: str) -> None:
    """What is out closes the station where nothing else serves, and is told with every answer."""
    station, wanted = CASES[name]
    book = book_of(station)
    answer = may_fill(book, "A", TODAY)
    assert answer.fillable is ("station" not in wanted), [r.text for r in answer.refusals]
    assert bool(shut_by(book, TODAY)) is ("station" in wanted)
    told = " ".join(r.text for r in station_reasons(book, TODAY))
    for part in wanted - {"station"}:
        assert part.rpartition(" ")[2] in told
    if wanted - {"station"} and "station" not in wanted:
        assert "out of use: " in told


@pytest.mark.parametrize(
    ("station", "names", "refused"),
    [
        (positions(P1, f"{P3}, whip: W1") + whips(f"{W1}, {BAD}", W2), ["P3"], True),
        (positions(P1, f"{P3}, whip: W1") + whips(f"{W1}, {BAD}", W2), ["p3"], True),
        (positions(P1, f"{P3}, whip: W1") + whips(f"{W1}, {BAD}", W2), ["P1"], False),
        (positions(P1, f"{P3}, whip: W1") + whips(f"{W1}, {BAD}", W2), ["W1"], True),
        (positions(P1, f"{P3}, whip: W1") + whips(f"{W1}, {BAD}", W2), ["W2"], False),
        (f"banks: [{{name: B1, {TESTED}}}, {{name: B2, {TESTED}}}]\n" + R1, ["b1"], True),
        (f"banks: [{{name: B1, {TESTED}}}, {{name: B2, {TESTED}}}]\n" + R1, ["B2"], False),
        (f"banks: [{{name: B1, {TESTED}}}, {{name: B2, {TESTED}}}]\n" + R1, [], False),
        (positions(P1, P3, P4) + whips(f"{W1}, {BAD}", W2), ["P4"], True),
        (positions(P1, P3, P4) + whips(f"{W1}, {BAD}", W2), ["P3"], False),
        (
            f"compressor: {{}}\nbanks: [{{name: B2, {TESTED}}}]\nrelief_valves: [{{name: R1, protects: [compressor], {BAD}}}]\n",
            ["compressor"],
            True,
        ),
        (
            f"compressor: {{}}\nbanks: [{{name: B2, {TESTED}}}]\nrelief_valves: [{{name: R1, protects: [compressor], {BAD}}}]\n",
            ["B2"],
            False,
        ),
    ],
)
def test_what_a_fill_names_is_refused(station: str, names: list[str], refused: bool) -> None:
    book = book_of(station)
    assert bool([*refused_by_name(book, TODAY, names)]) is refused
    assert may_fill(book, "A", TODAY, through=tuple(names)).fillable is not refused


@pytest.mark.parametrize(
    ("checked", "days", "gate"),
    [
        ("2025-11-25", 0, None),
        ("2025-11-24", 0, Gate.WARN),  # lapsed yesterday
        ("2025-11-24", 29, Gate.WARN),
        ("2025-11-24", 30, Gate.REFUSE),
        ("2025-10-26", 0, Gate.WARN),
        ("2025-10-25", 0, Gate.REFUSE),
        ("", 0, Gate.WARN),  # never: only warned of
    ],
)
def test_a_gauge_check_is_warned_of_for_a_month(checked: str, days: int, gate: Gate | None) -> None:
    entry = f"checked: [{{on: {checked}, against: T1, reads: 3000 psi, true: 3000 psi}}]"
    book = book_of(gauges(f"name: G1, master: yes, {entry if checked else 'range: 6000 psi'}"))
    reasons = station_reasons(book, TODAY + dt.timedelta(days=days))
    found = [r.gate for r in reasons if r.code.startswith("gauge-check")]
    assert found == ([gate] if gate else [])


@pytest.mark.parametrize(
    ("station", "mend"),
    [
        (gauges(f"name: G1, master: yes, {TRUE}"), "gauge-check G1 --against WHAT"),
        (whips("name: W1, fitted: 2020-01, checked: [{on: 2024-10-01, by: MV}]"), "whip W1"),
        (
            "relief_valves: [{name: R1, set_at: 3000 psi, checked: [{on: 2020-01-01}]}]\n",
            "relief R1",
        ),
        (f"banks: [{{name: B1, gas: air, {LAPSED}}}]\n", "bank-test B1 --on MONTH --by RIN`"),
        ("", "air-test --by LABORATORY`"),
        (
            "instruments: [{name: CO-1, kind: co-monitor, bumped: [{on: 2026-01-01}]}]\n",
            "bump CO-1",
        ),
        (
            "upkeep: [{name: oil, what: oil, every: 1 month, done: [{on: 2026-01-01}]}]\n",
            "upkeep oil",
        ),
    ],
)
def test_what_lapsed_says_what_reopens_it(station: str, mend: str) -> None:
    """Both while it is warned of, and once it refuses: the day is years later."""
    day = TODAY + dt.timedelta(days=800)
    lapsed = [r for r in station_reasons(book_of(station), day) if " lapsed " in r.text]
    assert [r.text for r in lapsed if not r.mend] == []
    assert any(f"`tankbook station {mend}" in r.mend for r in lapsed)


def test_a_bank_of_no_known_period_says_how_its_period_is_recorded() -> None:
    """A test alone does not reopen it: the period may be all that is missing."""
    for tested in ("", ", requalified: [{on: 2026-03, method: hydrostatic, by: T123}]"):
        bank = f"banks: [{{name: B1, water_volume: 48 L, gas: air{tested}}}]\n"
        (reason,) = (r for r in station_reasons(book_of(bank), TODAY) if "bank test" in r.text)
        assert "bank-test B1 --on MONTH --by RIN --period PERIOD`" in reason.mend


def test_of_several_compressors_a_sample_is_asked_of_one_by_its_name() -> None:
    book = book_of("compressor: {name: C1}\ncompressors: [{name: C2}]\n")
    told = "; ".join(r.mend for r in station_reasons(book, TODAY + dt.timedelta(days=800)))
    assert "air-test --by LABORATORY --source C1`" in told
    assert "WHERE" not in told


def test_what_failed_is_said_to_have_failed() -> None:
    book = book_of(whips(f"{W1}, {BAD}", W2) + gauges(f"name: G1, master: yes, {LOW}"))
    failed = {d.part: d.failed for d in due(book, TODAY) if d.kind == "station"}
    assert failed == {"air": False, "W1": True, "W2": False, "G1": True}


@given(st.lists(st.sampled_from(sorted(CASES)), min_size=1, max_size=3), st.sampled_from([*CASES]))
def test_one_more_thing_wrong_opens_nothing(names: list[str], more: str) -> None:
    """Of parts of other kinds: what was out stays out."""
    keys: dict[str, str] = {}
    for name in names:
        for line in CASES[name][0].splitlines():
            keys.setdefault(line.partition(":")[0], line)
    before = out("\n".join([*keys.values(), ""]))
    added = {line.partition(":")[0]: line for line in CASES[more][0].splitlines()}
    if keys.keys() & added.keys() or {"banks", "compressor", "positions"} & added.keys():
        return  # another source or place may serve instead; a mark says what a gauge may err by
    assert before <= out("\n".join([*keys.values(), *added.values(), ""]))


ALARM = "{on: 2026-11-24, alarm: yes}"
MONITOR = "instruments: [{name: CO-1, kind: co-monitor, bumped: [{on: 2026-11-25}]}]\n"
ANSWER = "on: 2026-11-25, place: outlet, with: CO-1"


@pytest.mark.parametrize(
    ("answer", "open_", "told"),
    [
        ("co: 1 ppm, cause: a van idled under the intake", True, ""),
        ("co: 1 ppm, cause: not found", False, "names no cause"),
        ("co: 1 ppm, cause: still looking", False, "names no cause"),
        ("co: 1 mg/m3, cause: a van idled under the intake", False, "no limit is given in mg/m3"),
        ("co: 14 ppm, cause: a van idled under the intake", False, "alarm of 2026-11-25 (14 ppm)"),
    ],
)
def test_what_answers_a_carbon_monoxide_alarm(answer: str, open_: bool, told: str) -> None:
    book = book_of(f"{MONITOR}co_readings: [{ALARM}, {{{ANSWER}, {answer}}}]\n")
    assert may_fill(book, "A", TODAY).fillable is open_
    found = [r.text for r in station_reasons(book, TODAY) if r.code == "co-alarm-open"]
    assert bool(found) is not open_
    assert told in " ".join(found)


@pytest.mark.parametrize(
    ("parts", "told"),
    [
        (MONITOR, "`tankbook station bump CO-1` and `tankbook station co CO --with CO-1 "),
        ("", "write a CO monitor into station.yaml (`instruments:`), `tankbook station bump"),
        ("compressor: {name: K7, max_pressure: 4500 psi}\n", "`tankbook recall K7`"),
        ("", "`tankbook recall B1` or `tankbook recall B2`"),
    ],
)
def test_the_mend_of_an_alarm_can_be_typed_as_it_is_told(parts: str, told: str) -> None:
    banks = "".join(
        f"  - {{name: {n}, water_volume: 48 L, working_pressure: 4500 psi}}\n" for n in ("B1", "B2")
    )
    book = make_book({"A": GOOD}, station=f"{parts}banks:\n{banks}co_readings: [{ALARM}]\n")
    mends = [r.mend for r in station_reasons(book, TODAY) if r.code == "co-alarm-open"]
    assert len(mends) == 1
    assert told in mends[0]


OVER = "by: L, standard: cga-grade-e, result: fail, co: 14 ppm"


@pytest.mark.parametrize(
    ("tests", "failed"),
    [
        ("{on: 2026-10-01, by: L, result: pass}", False),
        ("{on: 2026-10-01, by: L, result: pass}, {on: 2026-11-20, by: L, result: fail}", True),
        # nor what says nothing of what may have failed
        ("{on: 2026-10-01, by: L, result: fail}, {on: 2026-11-20, by: L, result: pass}", True),
        # one that leaves out what failed answers nothing, whatever day it would hold until
        (
            f"{{on: 2026-10-01, {OVER}}}, {{on: 2026-11-20, by: L, result: pass, co2: 400 ppm}}",
            True,
        ),
        (f"{{on: 2026-10-01, {OVER}}}, {{on: 2026-11-20, by: L, result: pass, co: 1 ppm}}", False),
    ],
)
def test_the_board_says_of_a_sample_that_failed_that_it_did(tests: str, failed: bool) -> None:
    book = make_book({"A": GOOD}, station=f"air_tests: [{tests}]\n")
    assert board(book, TODAY).air_test_failed is failed
    # what is wrong with the sample is told of it, and not again of what it is due for
    assert not [r.text for r in station_reasons(book, TODAY) if r.text.startswith("air test")]


@pytest.mark.parametrize(
    ("protects", "told"),
    [("[panel]", ["B1", "B2"]), ("[B1]", ["B2"]), ("[B1, b2]", []), ("", [])],
)
def test_a_bank_that_no_relief_valve_is_said_to_protect_is_told(
    protects: str, told: list[str]
) -> None:
    valve = "name: R1, set_at: 4000 psi, checked: [{on: 2026-10-01}]"
    valve += f", protects: {protects}" if protects else ""
    banks = f"banks: [{{name: B1, {TESTED}}}, {{name: B2, {TESTED}}}]\n"
    book = make_book({"A": GOOD}, station=f"{banks}relief_valves: [{{{valve}}}]\n")
    texts = [r.text for r in station_reasons(book, TODAY)]
    named = [t for t in texts if "no relief valve is said to protect" in t]
    assert [n.split()[-1] for n in named] == told


@pytest.mark.parametrize(
    "then", ["", "{on: 2026-11-25, against: TG, reads: 2950 psi, true: 2950 psi}"]
)
def test_all_that_reopens_a_gauge_that_reads_low_is_told(then: str) -> None:
    low = "{on: 2026-11-20, against: TG, reads: 2750 psi, true: 2950 psi}"
    gauge = "{name: G1, master: yes, range: 6000 psi, renewed: [{on: 2026-11-24, by: MV}], checked: [%s]}"
    checked = f"checked: [{low}]"
    old = book_of(f"gauges: [{{name: G1, master: yes, range: 6000 psi, {checked}}}]\n")
    mend = next(r.mend for r in station_reasons(old, TODAY) if r.code.endswith("reads-low"))
    assert "`tankbook station gauge G1 --new`" in mend
    assert "`tankbook station gauge-check G1`" in mend
    book = book_of(f"gauges: [{gauge % ', '.join(filter(None, (low, then)))}]\n")
    assert not any(r.code.endswith("reads-low") for r in station_reasons(book, TODAY))


def test_the_words_for_a_gauge_have_no_gap() -> None:
    for master in ("master: yes, ", ""):
        low = "checked: [{on: 2026-11-20, against: TG, reads: 2750 psi, true: 2950 psi}]"
        book = book_of(f"gauges: [{{name: G1, {master}range: 6000 psi, {low}}}]\n")
        told = [r.text for r in station_reasons(book, TODAY) if r.code.startswith("gauge-check")]
        assert any("gauge G1 reads 200 psi below true" in text for text in told)
        assert not any("  " in text for text in told)


BELT = "{on: 2026-11-25, at: '08:00', result: fail, note: belt}, {on: 2026-11-25, at: '09:00', %s}"


@pytest.mark.parametrize(
    ("opening", "closing", "open_"),
    [
        ("{on: 2026-11-25}, {on: 2026-11-25, at: '09:00', result: fail, note: belt}", "", False),
        # one that found something is answered by what became of it, with initials
        ("{on: 2026-11-25, at: '08:00', result: fail, note: belt}, {on: 2026-11-25}", "", False),
        (BELT % "note: new belt, by: MV", "", True),
        (BELT % "note: new belt", "", False),
        (BELT % "note: ok, by: MV", "", False),
        ("{on: 2026-11-25, at: '09:00', note: new belt, by: MV}, {on: 2026-11-25, at: '08:00', result: fail}", "", True),
        ("{on: 2026-11-25, at: '09:00'}, {on: 2026-11-25, at: '08:00', result: fail}", "", False),
        ("{on: 2026-11-24, at: '09:00', result: fail}, {on: 2026-11-25, at: '08:00'}", "", False),
        ("{on: 2026-11-03, result: fail}, {on: 2026-11-04, note: new belt, by: MV}, {on: 2026-11-25}", "", True),
        ("{on: 2026-11-25, at: '08:00'}", "{on: 2026-11-25, at: '12:00'}", False),
        ("{on: 2026-11-25, at: '13:00'}", "{on: 2026-11-25, at: '12:00'}", True),
        ("{on: 2026-11-25, at: '13:00'}", "{on: 2026-11-25}", False),
    ],
)  # fmt: skip
def test_the_last_walk_of_a_day_counts(opening: str, closing: str, open_: bool) -> None:
    walks = f"opening: {{steps: [drains], done: [{opening}]}}\n"
    walks += f"closing: {{steps: [drains], done: [{closing}]}}\n" if closing else ""
    assert may_fill(book_of(walks), "A", TODAY).fillable is open_


LIST = "opening: {steps: [drains], done: [{on: 2026-11-25, at: '08:00'%s}]}\nclosing: {steps: [drains], done: [%s]}\n"


@pytest.mark.parametrize(
    ("opened", "closed", "shut"),
    [
        ("", "", False),
        ("", "{on: 2026-11-24, result: fail, note: B2 leaks}", True),  # nobody says what became
        (", note: B2 tight again, by: MV", "{on: 2026-11-24, result: fail, note: B2 leaks}", False),
        ("", "{on: 2026-11-23, result: fail, note: B2 leaks}, {on: 2026-11-24}", True),
        (
            "",
            "{on: 2026-11-23, result: fail}, {on: 2026-11-24, note: B2 tight again, by: MV}",
            False,
        ),
        ("", "{on: 2026-11-25}", True),  # closed that day, nobody says when
        ("", "{on: 2026-11-25, at: '07:00'}", False),
        ("", "{on: 2026-11-25, at: '17:00'}", True),
    ],
)
def test_the_day_is_opened_after_what_the_last_one_left(
    opened: str, closed: str, shut: bool
) -> None:
    assert (out(LIST % (opened, closed)) == {"station"}) is shut


@pytest.mark.parametrize(("hour", "told"), [(7, 1), (8, 0), (9, 0)])
def test_a_fill_before_the_hour_of_opening_is_refused(hour: int, told: int) -> None:
    at = dt.datetime(2026, 11, 25, hour, 0, tzinfo=dt.UTC)
    assert len([*opening_at(book_of(LIST % ("", "")), at)]) == told


DAY = "{on: 2026-11-25, at: '08:00', by: MV}, {on: 2026-11-25, at: '08:30', by: MV, result: fail, note: belt}"
MENDED = DAY + ", {on: 2026-11-25, at: '09:30', by: MV, note: cleared}"
EVENING = "{on: 2026-11-24, at: '22:00', by: MV}"


@pytest.mark.parametrize(
    ("opening", "closing", "hours"),
    [
        # each fill is judged by what the lists said at its own hour
        (DAY, "", {"07:59": "opening-not-opened", "08:00": "", "08:15": "", "08:29": "",
                   "08:30": "opening-failed", "09:00": "opening-failed", "23:59": "opening-failed"}),
        (MENDED, "", {"08:15": "", "09:00": "opening-failed", "09:29": "opening-failed", "09:30": "", "17:00": ""}),
        (MENDED, "{on: 2026-11-25, at: '18:00', by: MV}", {"17:59": "", "18:00": "opening-closed", "19:00": "opening-closed"}),
        (MENDED + ", {on: 2026-11-25, at: '19:00', by: MV}", "{on: 2026-11-25, at: '18:00', by: MV}",
         {"17:59": "", "18:30": "opening-closed", "19:00": "", "20:00": ""}),
        # nobody says when it was found: before any of them, for all that is known
        ("{on: 2026-11-25, at: '08:00', by: MV}, {on: 2026-11-25, by: MV, result: fail}", "", {"08:15": "opening-failed"}),
        ("{on: 2026-11-25, at: '08:00', by: MV}", "{on: 2026-11-25, by: MV}", {"09:00": "opening-closed"}),
        # opened in the evening it is open over midnight till it is closed, or for some hours
        (EVENING, "", {"00:10": "", "03:59": "", "04:00": "opening-not-opened", "10:00": "opening-not-opened"}),
        (EVENING, "{on: 2026-11-24, at: '23:30', by: MV}", {"00:10": "opening-not-opened"}),
        (EVENING, "{on: 2026-11-24, at: '21:00', by: MV}", {"00:10": ""}),
        (EVENING, "{on: 2026-11-24, by: MV}", {"00:10": "opening-not-opened"}),
        (EVENING, "{on: 2026-11-25, at: '00:30', by: MV}", {"00:10": "", "00:29": "", "00:30": "opening-not-opened", "00:40": "opening-not-opened"}),
        ("{on: 2026-11-24, at: '08:00', by: MV}", "", {"00:10": "", "05:00": "opening-not-opened"}),
        ("{on: 2026-11-23, at: '22:00', by: MV}", "", {"00:10": "opening-not-opened"}),
        (EVENING + ", {on: 2026-11-24, at: '23:00', by: MV, result: fail, note: belt}", "", {"00:10": "opening-failed"}),
        (EVENING + ", {on: 2026-11-25, at: '09:00', by: MV}", "", {"00:10": "", "05:00": "opening-not-opened", "09:00": ""}),
        (EVENING + ", {on: 2026-11-25, at: '01:00', by: MV, result: fail, note: belt}", "", {"00:10": "", "01:10": "opening-failed"}),
    ],
)  # fmt: skip
def test_a_fill_is_judged_by_the_lists_at_its_own_hour(
    opening: str, closing: str, hours: dict[str, str]
) -> None:
    walks = f"opening: {{steps: [drains], done: [{opening}]}}\n"
    book = book_of(walks + f"closing: {{steps: [drains], done: [{closing}]}}\n")
    found = {
        hour: ", ".join(
            r.code for r in opening_at(book, dt.datetime.fromisoformat(f"2026-11-25T{hour}+01:00"))
        )
        for hour in hours
    }
    assert found == hours


@pytest.mark.parametrize(
    ("says", "open_till"), [("1 h", 1), ("30 min", 0.5), ("9 h", 9), ("30 h", 24)]
)
def test_the_station_says_how_long_it_is_open_over_midnight(says: str, open_till: float) -> None:
    book = book_of(f"opening: {{steps: [drains], over_midnight: {says}, done: [{EVENING}]}}\n")
    for minutes in range(5, 24 * 60, 10):
        at = dt.datetime(2026, 11, 25, tzinfo=dt.UTC) + dt.timedelta(minutes=minutes)
        assert ([*opening_at(book, at)] == []) is (minutes < open_till * 60), at
    told = [r for r in part_reasons(book, TODAY) if r.code == "opening-not-opened"]
    assert "as it was not closed the evening before, it was open till" in told[0].text
    assert "is logged with its hour: --at" in told[0].mend


def test_a_monitor_that_fails_its_next_bump_test_answered_nothing() -> None:
    text = (
        "instruments: [{name: CO-1, kind: co-monitor, bumped: [{on: 2026-11-20}%s]}]\n"
        "co_readings: [{on: 2026-11-20, alarm: yes},"
        " {on: 2026-11-20, co: 1 ppm, place: outlet, with: CO-1, cause: van at the intake}]\n"
    )
    assert out(text % "") == set()
    assert out(text % ", {on: 2026-11-21, result: fail}") == {"station"}
    assert out(text % ", {on: 2026-11-21}, {on: 2026-11-22, result: fail}") == set()


@pytest.mark.parametrize(
    ("lifts", "shut"),
    [
        ("{on: 2026-05-01, lifted: 5300 psi}", True),
        ("{on: 2026-05-01, lifted: 5300 psi}, {on: 2026-05-02, lifted: 5000 psi}", True),
        (
            "{on: 2026-05-01, lifted: 5300 psi}, {on: 2026-05-02, lifted: 5000 psi, repaired: new spring}",
            False,
        ),
    ],
)
@pytest.mark.parametrize("set_at", ["set_at: 5000 psi, ", ""])  # else what it protects counts
def test_a_valve_that_lifted_late_is_mended_and_not_tried_again(
    lifts: str, shut: bool, set_at: str
) -> None:
    text = f"banks: [{{name: B1, {TESTED}}}]\nrelief_valves: [{{name: R1, {set_at}protects: [B1], checked: [{lifts}]}}]\n"
    assert ("bank B1" in out(text)) is shut
    made = book_of(text)
    assert made.station
    due = [d for d in due_of_station(made, made.station, TODAY) if d.part == "R1"]
    assert [d.failed for d in due] == [shut]  # what is due says no other


def mends(station: str) -> str:
    return " ".join(r.mend for r in part_reasons(make_book({}, station=station), TODAY))


DOUBT = (
    "fitted: 2026-10, renewed: [{on: 2026-10-20, by: MV, void: {on: 2026-10-21, by: MV, why: no}}]"
)
STRUCK_NEW = "{on: 2026-10-20, by: MV, repaired: a new one was fitted, void: {on: 2026-10-21, by: MV, why: no}}"
FAILED_BEFORE = "{on: 2026-09-10, by: MV, result: fail}"


@pytest.mark.parametrize(
    ("station", "mend"),
    [
        (gauges(f"name: G1, master: yes, {LOW}"), "`tankbook station gauge G1 --new`"),
        # what was found on the day is compared again, of the new one
        (
            gauges(f"name: G1, master: yes, renewed: [{{on: 2026-10-01}}], {LOW}"),
            "compare it near 3000 psi, `tankbook station gauge-check G1`",
        ),
        # a month that may be of an entry that is struck out
        (
            gauges(f"name: G1, master: yes, {DOUBT}, {LOW.replace('2026-10-01', '2026-09-10')}"),
            "record it, `tankbook station gauge G1 --new --on DAY`",
        ),
        (
            whips(f"name: W1, fitted: 2026-10, checked: [{FAILED_BEFORE}, {STRUCK_NEW}]"),
            "record it, `tankbook station whip W1 --new --on DAY`",
        ),
        (
            f"regulator: {{fitted: 2026-10, checked: [{FAILED_BEFORE}, {STRUCK_NEW}]}}\n",
            "record it, `tankbook station regulator --new --on DAY`",
        ),
        (
            f"relief_valves: [{{name: R1, fitted: 2026-10, checked: [{FAILED_BEFORE}, {STRUCK_NEW}]}}]\n",
            "record it, `tankbook station relief R1 --new --set-at PRESSURE --on DAY`",
        ),
    ],
)  # fmt: skip
def test_what_mends_a_doubt_of_when_a_part_was_new(station: str, mend: str) -> None:
    assert mend in mends(station)


@pytest.mark.parametrize(
    "station",
    [
        gauges(f"name: G1, master: yes, {DOUBT}, {LOW.replace('2026-10-01', '2026-09-10')}").replace(
            "renewed: [", "renewed: [{on: 2026-10-07, by: MV}, "
        ),
        whips(f"name: W1, fitted: 2026-10, checked: [{FAILED_BEFORE}, {STRUCK_NEW}, {STRUCK_NEW[:36]}a new one was fitted}}]"),
    ],
)  # fmt: skip
def test_the_mend_of_a_doubt_mends(station: str) -> None:
    assert not parts_out(make_book({}, station=station), TODAY)


CERTIFIED = "MV: {certifications: [{skill: inspector, from: 2020-01}]}"
PEOPLE = f"ledger: Test Quay\nunits: psi\nrules: [us-dot]\npeople:\n  {CERTIFIED}\n  JW: {{}}\n"
NOBODY = "ledger: Test Quay\nunits: psi\nrules: [us-dot]\npeople:\n  MV: {}\n"


@pytest.mark.parametrize(
    ("failed", "then", "settings", "counts"),
    [
        ("burst", "repaired: taped", PEOPLE, False),
        ("burst", "repaired: taped, by: JW", PEOPLE, False),
        ("burst", "repaired: new end crimped on, by: MV", PEOPLE, True),
        ("burst", "repaired: new end crimped on, by: MV", NOBODY, False),
        ("O-ring leaked", "repaired: new O-ring, by: JW", PEOPLE, True),
        ("burst", "repaired: a new one was fitted, by: JW", PEOPLE, True),
    ],
)
@pytest.mark.parametrize("kind", ["whips", "relief_valves", "positions", "regulator"])
def test_a_repair_written_by_hand_is_weighed_as_one_that_is_recorded(
    kind: str, failed: str, then: str, settings: str, counts: bool
) -> None:
    """Of a hose nobody says that it holds where nobody is certified; it is replaced."""
    if settings == NOBODY and kind != "whips":
        counts = True
    checked = (
        f"checked: [{{on: 2026-10-01, result: fail, note: {failed}}}, {{on: 2026-10-05, {then}}}]"
    )
    entry = (
        f"name: X1, kind: enclosed, {checked}" if kind == "positions" else f"name: X1, {checked}"
    )
    station = f"regulator: {{{checked}}}" if kind == "regulator" else f"{kind}: [{{{entry}}}]"
    book = make_book({"A": GOOD}, station=f"{AIR}{station}\n", settings=settings)
    told = [f for f in check(book, TODAY) if f.code == "repair-unproven"]
    assert (not told, not parts_out(book, TODAY)) == (counts, counts)
    assert all("`tankbook station" in f.mend for f in told)
    if told:
        again = station.replace("]}", ", {on: 2026-10-06, repaired: rebuilt, by: MV}]}")
        book = make_book({"A": GOOD}, station=f"{AIR}{again}\n", settings=settings)
        assert any(f.code == "repair-unproven" for f in check(book, TODAY)) is (settings == NOBODY)


@pytest.mark.parametrize(
    ("entries", "settings", "told"),
    [
        ("{on: 2026-10-05, repaired: taped}", PEOPLE, True),
        ("{on: 2026-10-05, repaired: taped, by: JW}", PEOPLE, True),
        ("{on: 2026-10-05, repaired: taped, by: JW, void: {on: 2026-10-06, by: MV, why: x2}}", PEOPLE, False),
        ("{on: 2026-10-05, repaired: new end, by: MV}", PEOPLE, False),
        ("{on: 2026-10-05, repaired: new O-ring, by: JW}", PEOPLE, False),
        ("{on: 2026-10-05, repaired: a new one was fitted, by: JW}", PEOPLE, False),
        ("{on: 2026-10-05, repaired: set from 3000 psi to 3200 psi, by: JW}", PEOPLE, False),
        ("{on: 2026-10-05, repaired: '-', by: JW}", PEOPLE, False),
        # somebody certified, or a new one, says that it holds; nobody else's check does
        ("{on: 2026-10-05, repaired: taped, by: JW}, {on: 2026-10-09, by: MV}", PEOPLE, False),
        ("{on: 2026-10-05, repaired: taped, by: JW}, {on: 2026-10-09, by: JW}", PEOPLE, True),
        ("{on: 2026-10-05, repaired: taped, by: JW}, {on: 2026-10-09, repaired: a new one was fitted}", PEOPLE, False),
        # what failed before was answered by then
        ("{on: 2026-10-01, result: fail, note: burst}, {on: 2026-10-02, repaired: new end, by: MV}, {on: 2026-10-05, repaired: taped, by: JW}", PEOPLE, True),
    ],
)  # fmt: skip
@pytest.mark.parametrize("kind", ["whips", "relief_valves", "positions", "regulator"])
def test_a_repair_of_what_nobody_wrote_down_as_failed_is_told(
    kind: str, entries: str, settings: str, told: bool
) -> None:
    checked = f"checked: [{entries}]"
    entry = (
        f"name: X1, kind: enclosed, {checked}" if kind == "positions" else f"name: X1, {checked}"
    )
    station = f"regulator: {{{checked}}}" if kind == "regulator" else f"{kind}: [{{{entry}}}]"
    book = make_book({"A": GOOD}, station=f"{AIR}{station}\n", settings=settings)
    found = [f for f in check(book, TODAY) if f.code == "repair-unproven"]
    assert bool(found) is told
    assert all(
        "nothing says what failed" in f.text and "`tankbook station" in f.mend for f in found
    )


def test_a_hose_that_was_repaired_unseen_is_told_where_nobody_is_certified() -> None:
    for fitted, told in (("", True), ("fitted: 2026-11, ", False)):
        entry = f"name: W1, {fitted}checked: [{{on: 2026-10-05, repaired: taped, by: MV}}]"
        book = make_book({"A": GOOD}, station=f"{AIR}whips: [{{{entry}}}]\n", settings=NOBODY)
        assert any(f.code == "repair-unproven" for f in check(book, TODAY)) is told


@pytest.mark.parametrize(
    ("valves", "refused"),
    [
        ("name: R1, set_at: 4000 psi", True),  # it protects all that there is
        ("name: R1, set_at: 3400 psi", False),
        ("name: R1, set_at: 5600 psi", True),
        ("name: R1, set_at: 4000 psi, protects: [B1]", False),
        ("name: R1, set_at: 4000 psi}, {name: R2, set_at: 3400 psi, protects: [P1]", False),
    ],
)
def test_a_relief_valve_that_is_the_only_one_is_set_for_the_weakest_part(
    valves: str, refused: bool
) -> None:
    parts = f"banks: [{{name: B1, {TESTED}}}]\n" + positions(f"{P1}, rating: 3500 psi")
    book = book_of(f"{parts}relief_valves: [{{{valves}}}]\n")
    found = [r for r in part_reasons(book, TODAY) if r.code.startswith("relief-check-set")]
    assert bool(found) is refused
    assert all("--protects PART" in r.mend for r in found)


@pytest.mark.parametrize(
    ("valves", "unsaid"),
    [
        ("name: R1", False),
        ("name: R1}, {name: R2", True),
        ("name: R1}, {name: R2, protects: [P1]", True),
        ("name: R1}, {name: R2, protects: [B1]", False),
    ],
)
def test_one_that_does_not_say_protects_all_only_while_it_is_the_only_one(
    valves: str, unsaid: bool
) -> None:
    parts = f"banks: [{{name: B1, {TESTED}}}]\n" + positions(P1)
    found = part_reasons(book_of(f"{parts}relief_valves: [{{{valves}}}]\n"), TODAY)
    assert any(r.code == "relief-check-protects-unknown" for r in found) is unsaid
