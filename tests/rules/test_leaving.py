"""What keeps the gas in a cylinder here: not analysed, analysed otherwise, too deep, not trained."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, SETTINGS, TODAY, make_book, typed, with_lines
from changing import replace

from tankbook.records.book import Book
from tankbook.records.counter import CounterFile
from tankbook.records.entries import GasAnalysed
from tankbook.records.rulerow import Gate
from tankbook.records.words import UserLevel
from tankbook.rules.leaving import Taken, gas_leaving
from tankbook.rules.trained import certified_as

NITROX = "gas=nitrox32; o2=32.1 %; analysed_by=MV"
FILL = "at=2026-11-20T10:00:00+00:00; cylinder={}; act=fill; to=3000 psi; {}; by=MV; source=C1"
READ = "{oxygen: 31.8 %, depth: 33 m, initials: RT}"
SEEN = "{on: 2026-11-01, by: MV, reference: C-0192, level: nitrox}"


def held(
    gas: str = NITROX, certified: str = SEEN, settings: str = SETTINGS, own_rules: str = ""
) -> Book:
    """A ledger in which A holds a gas, and what users were seen to be trained for."""
    made = make_book(
        {"A": with_lines(GOOD, service="oxygen")},
        log=FILL.format("A", gas) if gas else "",
        settings=settings,
        own_rules=own_rules,
    )
    kept = typed(CounterFile, f"certified: [{certified}]", "counter.yaml")
    return replace(made, counter=kept)


def states(
    book: Book,
    read: str = READ,
    reference: str = "C-0192",
    seen: UserLevel | None = None,
    id_: str = "A",
    today: dt.date = TODAY,
) -> list[str]:
    analysed = typed(GasAnalysed, read) if read else None
    found = gas_leaving(book.as_known_on(today), id_, Taken(reference, analysed, seen), today)
    assert all(r.gate is Gate.REFUSE and r.row and r.mend for r in found)
    return [r.code.removeprefix("leaving-") for r in found]


def test_nitrox_that_was_analysed_by_one_trained_for_it_leaves() -> None:
    assert states(held()) == []
    assert states(held(certified=""), seen=UserLevel.NITROX) == []


@pytest.mark.parametrize(
    ("read", "said"),
    [
        ("", ["not-analysed"]),
        ("{oxygen: 31.8 %}", ["not-analysed"]),
        ("{oxygen: 31.8 %, depth: 33 m}", ["not-analysed"]),
        ("{oxygen: 31.8 %, initials: RT}", ["not-analysed"]),
        ("{oxygen: 31.8 %, depth: 0 m, initials: RT}", ["not-analysed"]),
        ("{oxygen: 31.8 %, depth: 33 m, initials: '-'}", ["not-analysed"]),
        ("{oxygen: 33 %, depth: 32 m, initials: RT}", []),
        ("{oxygen: 33.1 %, depth: 32 m, initials: RT}", []),  # it was analysed here at 32.1
        ("{oxygen: 33.2 %, depth: 32 m, initials: RT}", ["analysed-otherwise"]),
        ("{oxygen: 30.9 %, depth: 32 m, initials: RT}", ["analysed-otherwise"]),
        ("{oxygen: 31 %, depth: 32 m, initials: RT}", []),
        ("{oxygen: 20.9 %, depth: 32 m, initials: RT}", ["analysed-otherwise"]),
        ("{oxygen: 31.8 %, helium: 2 %, depth: 33 m, initials: RT}", ["analysed-otherwise"]),
        ("{oxygen: 31.8 %, depth: 34 m, initials: RT}", []),
        ("{oxygen: 31.8 %, depth: 35 m, initials: RT}", ["too-deep"]),
        ("{oxygen: 31.8 %, depth: 112 ft, initials: RT}", []),
        ("{oxygen: 31.8 %, depth: 113 ft, initials: RT}", ["too-deep"]),
        ("{oxygen: 31.8 %, depth: 3500 cm, initials: RT}", ["too-deep"]),
        ("{oxygen: 0 %, depth: 33 m, initials: RT}", ["analysed-otherwise", "too-deep"]),
    ],
)
def test_what_the_user_analysed_and_wrote_is_judged(read: str, said: list[str]) -> None:
    assert states(held(), read) == said


def test_the_depth_is_that_of_the_oxygen_pressure_of_the_settings() -> None:
    book = held(settings=SETTINGS + "oxygen_pressure: 1.2 ata\n")
    assert states(book) == ["too-deep"]
    assert states(book, "{oxygen: 31.8 %, depth: 28 m, initials: RT}") == []


@pytest.mark.parametrize(
    ("certified", "said"),
    [
        ("", ["not-certified"]),
        (SEEN.replace("C-0192", "C-0193"), ["not-certified"]),
        (SEEN.replace("C-0192", "C-019"), ["not-certified"]),
        (SEEN.replace("2026-11-01", "2026-11-26"), ["not-certified"]),
        (SEEN.replace("by: MV, ", ""), ["not-certified"]),
        (SEEN.replace("MV", "XX"), ["not-certified"]),
        (SEEN[:-1] + ", void: {why: another, by: MV, on: 2026-11-02}}", ["not-certified"]),
        (f"{SEEN[:-1]}, void: {{why: twice, by: MV, on: 2026-11-02}}}}, {SEEN}", []),
        (SEEN.replace("2026-11-01", "2026-11"), []),
        (SEEN.replace("nitrox", "rich-nitrox"), []),
        (SEEN.replace("nitrox", "trimix"), []),
    ],
)
def test_what_somebody_here_saw_counts_for_its_own_reference(
    certified: str, said: list[str]
) -> None:
    assert states(held(certified=certified)) == said


@pytest.mark.parametrize(
    ("gas", "read", "seen", "said"),
    [
        ("gas=nitrox40; o2=40 %; analysed_by=MV", "{oxygen: 40.3 %, depth: 25 m, initials: RT}", "nitrox", []),
        ("gas=nitrox50; o2=50 %; analysed_by=MV", "{oxygen: 50 %, depth: 18 m, initials: RT}", "nitrox", ["not-certified"]),
        ("gas=nitrox50; o2=50 %; analysed_by=MV", "{oxygen: 50 %, depth: 18 m, initials: RT}", "trimix", ["not-certified"]),
        ("gas=nitrox50; o2=50 %; analysed_by=MV", "{oxygen: 50 %, depth: 18 m, initials: RT}", "rich-nitrox", []),
        ("gas=oxygen; o2=99.5 %; analysed_by=MV", "{oxygen: 99.7 %, depth: 4 m, initials: RT}", "rich-nitrox", []),
        ("gas=oxygen; o2=99.5 %; analysed_by=MV", "{oxygen: 100 %, depth: 6 m, initials: RT}", "rich-nitrox", ["too-deep"]),
        ("gas=oxygen; o2=99.5 %; analysed_by=MV", "{oxygen: 100 %, depth: 4 m, initials: RT}", "nitrox", ["not-certified"]),
        ("gas=trimix18/45; o2=18 %; he=45 %; analysed_by=MV", "{oxygen: 18.2 %, helium: 44.6 %, depth: 60 m, initials: RT}", "trimix", []),
        ("gas=trimix18/45; o2=18 %; he=45 %; analysed_by=MV", "{oxygen: 18.2 %, helium: 44.6 %, depth: 60 m, initials: RT}", "rich-nitrox", ["not-certified"]),
        ("gas=trimix18/45; o2=18 %; he=45 %; analysed_by=MV", "{oxygen: 18.2 %, depth: 60 m, initials: RT}", "trimix", ["not-analysed"]),
        ("gas=trimix18/45; o2=18 %; he=45 %; analysed_by=MV", "{oxygen: 18.2 %, helium: 40 %, depth: 60 m, initials: RT}", "trimix", ["analysed-otherwise"]),
        ("gas=heliox21; o2=21 %; he=79 %; analysed_by=MV", "{oxygen: 21 %, helium: 79 %, depth: 50 m, initials: RT}", "nitrox", ["not-certified"]),
        ("gas=nitrox21; o2=21 %; analysed_by=MV", "", "nitrox", ["not-analysed"]),
    ],
)  # fmt: skip
def test_each_gas_asks_for_its_own_level(gas: str, read: str, seen: str, said: list[str]) -> None:
    assert states(held(gas, ""), read, seen=UserLevel(seen)) == said


@pytest.mark.parametrize(
    ("gas", "read", "said"),
    [
        ("gas=air", "", []),
        ("gas=air", "{oxygen: 20.9 %}", []),
        ("gas=air", "{oxygen: 31.8 %, depth: 30 m, initials: RT}", ["analysed-otherwise"]),
        ("gas=air", "{oxygen: 20.9 %, depth: 70 m}", ["too-deep"]),
        ("", "", []),  # looked inside, and nothing filled since
        ("", "{oxygen: 21.3 %}", []),
        ("", "{oxygen: 31.8 %}", ["not-analysed", "not-certified"]),
        ("", "{oxygen: 0 %}", ["too-deep"]),
    ],
)
def test_air_and_what_is_empty_leave_unless_what_was_analysed_speaks_against_it(
    gas: str, read: str, said: list[str]
) -> None:
    assert states(held(gas, ""), read) == said


def test_of_a_set_with_its_isolator_shut_each_side_is_judged() -> None:
    cards = {i: with_lines(GOOD, service="oxygen", serial=f"K{i}") for i in "AB"}
    for other, said in (
        ("gas=air", ["analysed-otherwise"]),
        ("gas=nitrox36; o2=36 %; analysed_by=MV", ["analysed-otherwise"]),
        (NITROX, []),
    ):
        book = make_book(
            cards,
            sets={"D": "cylinders: [A, B]\nisolator: shut"},
            log=f"{FILL.format('A', NITROX)}\n{FILL.format('B', other)}",
        )
        assert states(book, seen=UserLevel.NITROX, id_="D") == said
        assert set(states(book, "", id_="D")) == {"not-analysed", "not-certified"}


def test_the_ledgers_own_rows_ask_less_by_name_and_that_is_told() -> None:
    row = (
        "heading: ours\nrows: [{id: bench.leaving.too-deep, obligation: leaving, applies_to: {state: [too-deep]},"
        " gate: warn, basis: practice, citation: our own, verified: memory, since: 2026-01,"
        " by: MV, why: divers plan their own depth}]"
    )
    deep = typed(GasAnalysed, "{oxygen: 31.8 %, depth: 40 m, initials: RT}")
    found = gas_leaving(held(own_rules=row).as_known_on(TODAY), "A", Taken("C-0192", deep), TODAY)
    assert [(r.code, r.gate, r.loud) for r in found] == [
        ("leaving-too-deep", Gate.WARN, False),
        ("row-loosened", Gate.WARN, True),
    ]


def test_a_reference_of_nobody_is_trained_for_nothing() -> None:
    assert certified_as(held(), "", TODAY) == ()
    assert states(held(), reference="") == ["not-certified"]


# --- what nobody knows

AT = "at=2026-11-{}T10:00:00+00:00; cylinder=A; act={}; to={} psi; by=MV{}"
RENTED = "[{on: 2026-10-01, to: B-1, until: 2026-10-02, back: 2026-10-02}]"
MIXED = (
    f"{AT.format(20, 'fill', 3000, f'; {NITROX}')}; source=C1\n"
    f"{AT.format(21, 'fill', 3000, '; gas=air; from=1500 psi; source=C1')}"
)
NAMED = "{oxygen: 31.8 %, depth: 33 m, initials: RT}"
LIKE_AIR = "{oxygen: 20.9 %}"


def of(log: str, **changes: str) -> Book:
    """A ledger with A and what its log says."""
    return make_book({"A": with_lines(GOOD, **{"service": "oxygen", **changes})}, log=log)


@pytest.mark.parametrize(
    ("log", "changes"),
    [
        (AT.format(20, "fill", 3000, "; source=C1"), {}),
        (AT.format(20, "reading", 2000, ""), {}),
        ("", {"inspected": "[{on: 2026-02-09, by: MV, checklist: outside, result: pass}]",
              "requalified": "[]"}),
        ("", {"rented": RENTED}),
        (MIXED, {}),
        (MIXED, {"use": "customer"}),
        (MIXED, {"use": "customer", "jobs": "[{on: 2026-11-19, work: [fill]}]"}),
        ("", {"use": "customer", "jobs": "[{on: 2026-11-19, work: [fill], ready: 2026-11-20}]"}),
    ],
    ids="no-gas read-only never-opened was-out mixed mixed-own mixed-job said-to-be-filled".split(),
)  # fmt: skip
def test_what_nobody_knows_is_analysed_by_whoever_takes_it(
    log: str, changes: dict[str, str]
) -> None:
    book = of(log, **changes)
    assert states(book, "") == ["unknown"]
    assert states(book, NAMED, seen=UserLevel.NITROX) == []
    assert states(book, NAMED) == ["not-certified"]
    assert set(states(book, "{oxygen: 31.8 %}")) == {"not-analysed", "not-certified"}
    assert states(book, LIKE_AIR) == []


def test_where_helium_may_be_in_it_that_is_analysed_too() -> None:
    log = MIXED.replace(NITROX, "gas=trimix18/45; o2=18 %; he=45 %; analysed_by=MV")
    assert states(of(log), LIKE_AIR) == ["unknown"]
    assert states(of(log), "{oxygen: 20.9 %, helium: 0 %}") == []


OTHERS = AT.format(20, "fill", 3000, "; gas=%s; source=elsewhere: %s")
BANK = """
banks:
  - {name: B1, water_volume: 48 L, gas: air, raised: [{on: 2026-11-18, to: 4000 psi, source: oxygen}]}
"""


def test_what_was_filled_from_what_nobody_knows_is_asked_as_it_leaves() -> None:
    mixed = of(OTHERS % ("air", "80/20"))
    assert states(mixed, "") == ["unknown"]
    assert states(mixed, "{oxygen: 20.9 %, helium: 0 %}") == []
    assert states(of(OTHERS % ("air", "Quay")), "") == []
    log = AT.format(20, "fill", 3000, "; gas=air; source=B1")
    cards = {"A": with_lines(GOOD, service="oxygen")}
    assert states(make_book(cards, log=log, station=BANK), "") == ["unknown"]
    clean = BANK.replace("source: oxygen", "source: 'elsewhere: Quay'")
    assert states(make_book(cards, log=log, station=clean), "") == []


def test_what_is_lent_as_another_gas_than_it_may_hold_is_asked_too() -> None:
    def lent(book: Book, read: str = "") -> list[str]:
        analysed = typed(GasAnalysed, read) if read else None
        found = gas_leaving(book, "A", Taken("C-0192", analysed, lent=True), TODAY)
        return [r.code.removeprefix("leaving-") for r in found]

    mixed = of(OTHERS % ("air", "80/20"))
    assert lent(mixed) == ["unknown"]
    assert lent(mixed, "{oxygen: 20.9 %, helium: 0 %}") == []
    assert lent(of(OTHERS % ("air", "the tyre place")), LIKE_AIR) == ["unknown"]
    assert lent(of(OTHERS % ("air", "Quay"))) == []


def test_what_nobody_is_to_breathe_is_let_go_by_no_analysis_of_its_user() -> None:
    unfit = of(OTHERS % ("air", "the tyre place"))
    for read in ("", LIKE_AIR, "{oxygen: 20.9 %, helium: 0 %}"):
        assert states(unfit, read) == ["unknown"]
    drained = f"{OTHERS % ('air', 'the tyre place')}\n{AT.format(22, 'drain', 0, '')}"
    assert states(of(drained), "") == []


@pytest.mark.parametrize(
    ("log", "changes"),
    [
        (AT.format(20, "drain", 0, ""), {}),
        (AT.format(20, "reading", 0, ""), {}),
        (f"{MIXED}\n{AT.format(22, 'drain', 0, '')}", {}),
        (f"{MIXED}\n{AT.format(22, 'reading', 2900, '; o2=21 %; analysed_by=MV')}", {}),
        ("", {"use": "customer", "jobs": "[{on: 2026-01-19, work: [visual], ready: 2026-02-09}]"}),
    ],
    ids="drained read-empty mixed-drained mixed-analysed opened-for-work".split(),
)
def test_what_is_empty_or_was_analysed_here_is_not_asked(log: str, changes: dict[str, str]) -> None:
    assert states(of(log, **changes), "") == []


@pytest.mark.parametrize("work", ["[visual]", "[fill]"])
@pytest.mark.parametrize(
    "log", ["", AT.format(20, "reading", 2000, ""), AT.format(10, "drain", 0, "")]
)
def test_what_its_owner_had_in_it_is_told(work: str, log: str) -> None:
    jobs = f"[{{on: 2026-11-19, work: {work}}}]"
    book = of(log, use="customer", jobs=jobs).as_known_on(TODAY)
    (found,) = gas_leaving(book, "A", Taken("C-0192"), TODAY)
    assert (found.code, found.gate) == ("leaving-own-gas", Gate.WARN)
    assert "since it was taken in on 2026-11-19" in found.text


def test_what_goes_out_on_rental_is_asked_by_the_rental_alone() -> None:
    book = of(AT.format(20, "reading", 2000, "")).as_known_on(TODAY)
    assert gas_leaving(book, "A", Taken("C-1", lent=True), TODAY) == ()
