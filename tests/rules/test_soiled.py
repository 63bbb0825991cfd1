"""What soils a cylinder that was cleaned for oxygen: what it met, at the day of the cleaning and
just beside it, and what is not said of it.

The cylinders, people and dates are invented. That the water of a test, what is found inside, oil
and grease end a clean state is common practice, no source.
"""

from __future__ import annotations

import pytest
from books import GOOD, SETTINGS, TODAY, make_book, with_lines
from hypothesis import given, settings
from hypothesis import strategies as st
from sweep import tries

from tankbook.gas import Gas
from tankbook.records.rulerow import Obligation
from tankbook.records.words import Service
from tankbook.rules.conditions import cleaned_for, is_clean_still, of_cylinder, ordinary_air
from tankbook.rules.inforce import facts_of, rules_of
from tankbook.rules.services import serves, service_for

VOID = "void: {why: wrong card, by: MV, on: 2026-11-24}"
MADE = "{on: 2024-03, method: hydrostatic, by: maker}"
STATION = """
banks:
  - {name: N1, water_volume: 48 L, gas: nitrox32, grade: oxygen}
  - {name: A1, water_volume: 48 L, gas: air, grade: oxygen}
  - {name: B1, water_volume: 48 L, gas: air, grade: breathing}
  - {name: X1, water_volume: 48 L, gas: air}
compressor: {name: C1, grade: oxygen}
"""
DAY, MONTH = "2026-10-15", "2026-10"
"""When it was cleaned: on a day, or in some month of which the day is not known."""


def told(
    card: dict[str, str | None],
    *log: str,
    cleaned: str = DAY,
    gas: str = "nitrox32",
    station: str | None = STATION,
) -> list[tuple[str, str]]:
    """The state and the words of what is said of its oxygen-clean state."""
    clean = {"cleaned": f"[{{on: {cleaned}, by: CL, to: oxygen}}]", "service": "nitrox"}
    book = make_book(
        {"A": with_lines(GOOD, **{**clean, **card})},
        log="\n".join(log), station=station, settings=SETTINGS,
    )  # fmt: skip
    found = of_cylinder(book, facts_of(book.cylinders["A"], rules_of(book)), Gas.parse(gas), TODAY)
    return [(c.state, c.text) for c in found if c.question is Obligation.OXYGEN_CLEAN]


def fill(on: str, gas: str = "nitrox32", source: str = "", to: str = "2900 psi") -> str:
    named = f"; gas={gas}" if gas else ""
    named += f"; source={source}" if source else ""
    return f"at={on}T09:00:00+00:00; cylinder=A; act=fill; from=500 psi; to={to}{named}; by=MV"


def read(on: str, to: str) -> str:
    return f"at={on}T09:00:00+00:00; cylinder=A; act=reading; to={to}; by=MV"


def test_what_was_cleaned_and_met_nothing_is_clean() -> None:
    assert told({}) == []
    assert told({}, cleaned=MONTH) == []


@pytest.mark.parametrize(
    "note", ["new O-ring", "rinsed twice, dried with oxygen-grade air", "passed"]
)
def test_a_note_of_a_cleaning_that_went_well_takes_nothing_away(note: str) -> None:
    assert told({"cleaned": f"[{{on: 2026-10-15, by: CL, to: oxygen, note: '{note}'}}]"}) == []


def test_a_cleaning_that_nobody_signed_is_none() -> None:
    for by in ("nobody", "the owner", "a mate"):
        card = {"cleaned": f"[{{on: 2026-10-15, by: {by}, to: oxygen}}]"}
        (found,) = told(card)
        said = f"it was cleaned on 2026-10-15, and {by} is nobody's name"
        assert found == ("never", said)


@pytest.mark.parametrize(
    ("cleaned", "at", "hour", "lost"),
    [
        ("2026-10-20", "08:59", "09:00", True),
        ("2026-10-20", "09:00", "09:00", True),  # of one minute it may have come after
        ("2026-10-20", "09:01", "09:00", False),
        ("2026-10-20", "", "09:00", True),  # it may have come after it
        ("2026-10-19", "12:00", "09:00", True),
        ("2026-10-21", "08:00", "09:00", False),
        # the hour of a day that is not known
        ("2026-10", "12:00", "09:00", True),
    ],
)
def test_a_fill_of_the_day_of_the_cleaning(cleaned: str, at: str, hour: str, lost: bool) -> None:
    said = f", at: '{at}'" if at else ""
    card = {"cleaned": f"[{{on: {cleaned}, by: CL, to: oxygen{said}}}]"}
    days = ("2026-10-01", "2026-10-02") if cleaned == MONTH else ("2026-10-20",)
    for day in days:
        log = fill(day, "air", "B1").replace("09:00", hour)
        assert [state for state, _ in told(card, log)] == ["lost"] * lost, day


@pytest.mark.parametrize(("cleaned", "work", "unsure"), [
    ("09:00", "16:00", True), ("16:00", "09:00", False), ("", "16:00", False), ("09:00", "", False),
])  # fmt: skip
def test_work_of_the_day_of_a_cleaning(cleaned: str, work: str, unsure: bool) -> None:
    """Of one day the valve went on again once it was clean, unless the times say otherwise."""
    at = {name: f", at: '{said}'" if said else "" for name, said in (("c", cleaned), ("w", work))}
    card: dict[str, str | None] = {
        "cleaned": f"[{{on: 2026-10-15, by: CL, to: nitrox{at['c']}}}]",
        "valve_work": f"[{{on: 2026-10-15, by: MV, did: serviced{at['w']}}}]",
    }
    assert [state for state, _ in told(card)] == ["unsure"] * unsure


@pytest.mark.parametrize(
    ("entries", "gas", "said"),
    [
        ("{on: 2026-10-15, to: oxygen}, {on: 2026-10-20, to: nitrox}", "oxygen", "nitrox"),
        ("{on: 2026-10-15, to: oxygen}, {on: 2026-10-20, to: nitrox}", "nitrox50", ""),
        ("{on: 2026-10-15, to: oxygen}, {on: 2026-10-20, to: air}", "nitrox32", "air"),
        ("{on: 2026-10-20, to: air}, {on: 2026-10-15, to: oxygen}", "nitrox32", "air"),
        ("{on: 2026-10-15, to: air}, {on: 2026-10-20, to: nitrox}", "nitrox32", ""),
        # of one day the hours tell, or the order in which they were recorded
        ("{on: 2026-10-15, to: air}, {on: 2026-10-15, to: nitrox}", "nitrox32", ""),
        ("{on: 2026-10-15, to: nitrox}, {on: 2026-10-15, to: air}", "nitrox32", "air"),
        ("{on: 2026-10-15, to: air, at: '16:00'}, {on: 2026-10-15, to: nitrox, at: '09:00'}",
         "nitrox32", "air"),
        ("{on: 2026-10-15, to: nitrox, at: '16:00'}, {on: 2026-10-15, to: air, at: '09:00'}",
         "nitrox32", ""),
        # of one month either may have been the last
        ("{on: 2026-10, to: air}, {on: 2026-10-15, to: nitrox}", "nitrox32", "air"),
        ("{on: 2026-10-15, to: air}, {on: 2026-10, to: nitrox}", "nitrox32", "air"),
        ("{on: 2026-09, to: air}, {on: 2026-10, to: nitrox}", "nitrox32", ""),
    ],
)  # fmt: skip
def test_the_last_cleaning_says_what_it_is_clean_for(entries: str, gas: str, said: str) -> None:
    signed = entries.replace("to:", "by: CL, to:")
    found = told({"service": "oxygen", "cleaned": f"[{signed}]"}, gas=gas)
    assert [state for state, _ in found] == ["lost"] * bool(said)
    assert all("it was cleaned again on 2026-10" in text for _, text in found)
    assert all(text.endswith(f"and for {said} alone") for _, text in found)


@given(
    st.lists(
        st.tuples(st.integers(1, 28), st.sampled_from([*Service])), unique_by=lambda each: each[0]
    ),
    st.sampled_from(["nitrox32", "nitrox50", "oxygen"]),
)
def test_of_any_cleanings_the_newest_counts(cleanings: list[tuple[int, Service]], gas: str) -> None:
    entries = ", ".join(f"{{on: 2026-10-{day:02}, by: CL, to: {to}}}" for day, to in cleanings)
    states = [s for s, _ in told({"service": "oxygen", "cleaned": f"[{entries}]"}, gas=gas)]
    wanted = service_for(Gas.parse(gas))
    newest = max(cleanings, default=None)
    assert (states == []) is (newest is not None and serves(newest[1], wanted)), states


# --- the water of a test -------------------------------------------------------------------------

STAYS = "[{on: 2026-10-01, to: T1, for: requalification, back: 2026-10-05, refitted: 2026-10-05}%s]"
SECOND = ", {on: 2026-10-20, to: T1, for: requalification, back: 2026-10-25, refitted: 2026-10-25}"


@pytest.mark.parametrize(
    ("on", "how", "cleaned", "lost"),
    [
        ("2026-10-14", "method: hydrostatic", DAY, False),
        ("2026-10-15", "method: hydrostatic", DAY, False),  # of that day, it was cleaned after it
        ("2026-10-16", "method: hydrostatic", DAY, True),
        ("2026-10-16", "method: proof", DAY, True),
        # no water comes in
        ("2026-10-16", "method: ultrasonic", DAY, False),
        ("2026-10-16", "method: visual", DAY, False),
        # it failed all the same
        ("2026-10-16", "method: hydrostatic, result: fail", DAY, True),
        ("2026-10-16", f"method: hydrostatic, {VOID}", DAY, False),
        # of which day nobody knows: it may have come after it
        ("2026-10", "method: hydrostatic", DAY, True),
        ("2026-09", "method: hydrostatic", DAY, False),
        ("2026-10", "method: hydrostatic", "2026-10-31", False),
        ("2026-10", "method: hydrostatic", "2026-10-30", True),
        ("2026-10-02", "method: hydrostatic", MONTH, True),
        ("2026-10-01", "method: hydrostatic", MONTH, False),
        ("2026-10", "method: hydrostatic", MONTH, True),
        ("2026-09", "method: hydrostatic", MONTH, False),
        ("2026-11", "method: hydrostatic", MONTH, True),
    ],
)
def test_the_water_of_a_test(on: str, how: str, cleaned: str, lost: bool) -> None:
    test = f"{{on: {on}, by: T1, {how}}}"
    said = f"its oxygen-clean state was lost by the water of its test of {on}"
    found = told({"requalified": f"[{MADE}, {test}]"}, cleaned=cleaned)
    assert found == ([("lost", said)] if lost else [])


@pytest.mark.parametrize(("second", "lost"), [("", False), (SECOND, True)])
def test_a_journey_may_say_that_a_test_came_before_it(second: str, lost: bool) -> None:
    test = "{on: 2026-10, by: T1, method: hydrostatic}"
    card = {"requalified": f"[{MADE}, {test}]", "sent": STAYS % second}
    assert [state for state, _ in told(card)] == ["lost"] * lost


@pytest.mark.parametrize(
    ("tested", "lost"),
    [
        ("", "2031-10"),  # when it was done nobody says
        (", tested: 2026-10-14", ""),
        (", tested: 2026-10-15", ""),
        (", tested: 2026-10-16", "2026-10-16"),
    ],
)
def test_of_a_stamp_that_says_when_the_next_is_due(tested: str, lost: str) -> None:
    test = f"{{on: 2031-10, by: T1, method: hydrostatic{tested}}}"
    found = told({"requalified": f"[{MADE}, {test}]", "stamp_means": "next-due"})
    said = f"its oxygen-clean state was lost by the water of its test of {lost}"
    assert found == ([("lost", said)] if lost else [])


# --- the lubricant -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("valve", "lost"),
    [
        ("{thread: 3/4-14 NPSM}", ""),
        ("{thread: 3/4-14 NPSM, lubricant: oxygen-compatible}", ""),
        ("{thread: 3/4-14 NPSM, lubricant: silicone}", "silicone"),
        (None, ""),
    ],
)
def test_the_lubricant_of_its_valve(valve: str | None, lost: str) -> None:
    said = f"its lubricant is {lost}, which is not said to be oxygen-compatible"
    assert told({"valve": valve}) == ([("lost", said)] if lost else [])


# --- what was found inside -----------------------------------------------------------------------

LOOK = "{on: %s, by: MV, checklist: annual, result: pass, findings: [{step: inside, result: note, %s}]%s}"


@pytest.mark.parametrize(
    ("on", "what", "cleaned", "lost"),
    [
        ("2026-10-14", "what: moisture", DAY, ""),
        ("2026-10-15", "what: moisture", DAY, ""),  # it was cleaned of it
        ("2026-10-16", "what: moisture", DAY, "moisture"),
        ("2026-10-16", "what: salt-water", DAY, "salt water"),
        ("2026-10-16", "what: odour", DAY, "odour"),
        ("2026-10-16", "what: paint", DAY, ""),
        ("2026-10", "what: moisture", DAY, "moisture"),
        ("2026-10", "what: moisture", "2026-10-30", "moisture"),
        ("2026-10", "what: moisture", "2026-10-31", ""),
        ("2026-10-02", "what: moisture", MONTH, "moisture"),
        ("2026-10-01", "what: moisture", MONTH, ""),
        ("2026-10", "what: moisture", MONTH, "moisture"),
        ("2026-09", "what: moisture", MONTH, ""),
    ],
)
def test_what_a_look_found(on: str, what: str, cleaned: str, lost: str) -> None:
    said = f"its oxygen-clean state was lost by the {lost} found on {on}"
    found = told({"inspected": f"[{LOOK % (on, what, '')}]"}, cleaned=cleaned)
    assert found == ([("lost", said)] if lost else [])


def test_what_was_struck_out_was_not_found() -> None:
    for what in ("what: moisture", "note: oil film"):
        look = LOOK % ("2026-10-16", what, f", {VOID}")
        assert told({"inspected": f"[{look}]"}) == []


# --- what was written of it ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("on", "cleaned", "lost"),
    [
        ("2026-10-14", DAY, False),
        ("2026-10-15", DAY, False),  # of that day, it was cleaned after it
        ("2026-10-16", DAY, True),
        ("2026-10", DAY, True),
        ("2026-10", "2026-10-31", False),
        ("2026-10", "2026-10-30", True),
        ("2026-10-01", MONTH, False),
        ("2026-10-02", MONTH, True),
        ("2026-10", MONTH, True),
        ("2026-09", MONTH, False),
        ("2026-11", MONTH, True),
    ],
)
def test_the_day_of_what_was_written(on: str, cleaned: str, lost: bool) -> None:
    entry = f"{{on: {on}, by: MV, note: oil film inside}}"
    said = f"the `note` of its entry of {on} speaks of oil, and not that it is oxygen-compatible"
    found = told({"valve": f"{{serviced: [{entry}]}}"}, cleaned=cleaned)
    assert found == ([("lost", said)] if lost else [])


HOLD = "{on: %s, by: MV, why: %s, released: 2026-11-20, released_by: MV, released_why: seen%s}"
TEST = "{on: 2026-10-16, by: T1, method: ultrasonic, %s}"
RENTED = "{on: %s, to: B-1, back: 2026-10-16, valve: closed, damage: oil on the thread%s}"


@pytest.mark.parametrize(
    ("card", "whose", "word"),
    [
        ({"held": f"[{HOLD % ('2026-10-16', 'grease inside', '')}]"}, "`why` of its entry of 2026-10-16", "grease"),
        ({"held": f"[{HOLD % ('2026-10-16', 'due', ', note: grease inside')}]"}, "`note` of its entry of 2026-10-16", "grease"),
        ({"requalified": f"[{MADE}, {TEST % 'finding: oil inside'}]"}, "`finding` of its entry of 2026-10-16", "oil"),
        ({"inspected": f"[{LOOK % ('2026-10-16', 'note: oily', '')}]"}, "`note` of its entry of 2026-10-16", "oily"),
        # a rental tells what was met when it came back
        ({"rented": f"[{RENTED % ('2026-10-16', '')}]"}, "`damage` of its entry of 2026-10-16", "oil"),
        ({"rented": f"[{RENTED % ('2026-10-14', '')}]"}, "`damage` of its entry of 2026-10-16", "oil"),
        ({"rented": "[{on: 2026-10-16, to: B-1, note: oil on the thread}]"}, "`note` of its entry of 2026-10-16", "oil"),
        ({"rented": f"[{RENTED % ('2026-10-14', f', {VOID}')}]"}, "", ""),
        ({"rented": "[{on: 2026-10-14, to: B-1, back: 2026-10-15, valve: closed, damage: oil on the thread}]"}, "", ""),
        ({"held": f"[{HOLD % ('2026-10-16', 'grease inside', f', {VOID}')}]"}, "", ""),
        ({"held": f"[{HOLD % ('2026-10-16', 'dusty boot', '')}]"}, "", ""),
        ({"valve": f"{{serviced: [{{on: 2026-10-16, by: MV, note: oil inside, {VOID}}}]}}"}, "", ""),
        # oil that is said to be for it, or is not of it
        ({"held": f"[{HOLD % ('2026-10-16', 'oxygen-compatible grease', '')}]"}, "", ""),
        ({"inspected": f"[{LOOK % ('2026-10-16', 'note: compressor oil changed', '')}]"}, "", ""),
        # the card itself has no day
        ({"note": "oil inside"}, "its card", "oil"),
    ],
    ids=str,
)  # fmt: skip
def test_oil_and_grease_wherever_they_are_written(
    card: dict[str, str | None], whose: str, word: str
) -> None:
    whose = whose if whose.startswith("its") else f"the {whose}"
    said = f"{whose} speaks of {word}, and not that it is oxygen-compatible"
    lost = [text for state, text in told(card) if state == "lost"]
    assert lost == ([said] if word else [])


@pytest.mark.parametrize(
    ("note", "lost"),
    [
        ("not oxygen clean any more", "not oxygen clean"),
        ("smells musty inside", "smell"),
        ("water inside when it was drained", "water inside"),
        ("rinsed salt off the outside", ""),
        ("rinsed salt off the outside; damp inside", "damp"),
        ("no water inside", ""),
        ("scuffed boot", ""),
    ],
)
def test_water_and_smells_wherever_they_are_written(note: str, lost: str) -> None:
    (found,) = told({"inspected": f"[{LOOK % ('2026-10-16', f'note: {note}', '')}]"}) or [("", "")]
    said = "its oxygen-clean state was lost: the `note` of its entry of 2026-10-16 speaks of "
    assert found[1].startswith(said + lost) if lost else not found[1]


# --- of several things the gravest, once ---------------------------------------------------------

WATER = {"requalified": f"[{MADE}, {{on: 2026-10-16, by: T1, method: hydrostatic}}]"}
UNSURE = {"held": f"[{HOLD % ('2026-10-16', 'sunscreen', '')}]"}


def test_what_soiled_it_is_told_once_and_nothing_besides() -> None:
    for more, log in (
        ({}, [fill("2026-10-20", "air", "B1")]),
        ({}, [fill("2026-10-20", "")]),
        ({}, [fill("2026-10-20")]),
        (UNSURE, []),
    ):
        assert [text for _, text in told({**WATER, **more}, *log)] == [
            "its oxygen-clean state was lost by the water of its test of 2026-10-16"
        ]


def test_what_is_not_sure_is_told_once() -> None:
    twice = {
        "held": f"[{HOLD % ('2026-10-16', 'sunscreen', '')}, {HOLD % ('2026-10-17', 'mud', '')}]"
    }
    unknown = fill("2026-10-20", "", "C1")
    mixture = fill("2026-10-21")
    nobody = "what it holds nobody knows: it may have been made of ordinary air"
    hold = "whether it is clean is not said: the `why` of its entry of 2026-10-16 says `sunscreen`"
    assert told(twice, unknown) == [("unsure", nobody)]
    assert told({}, fill("2026-10-19"), unknown) == [("unsure", nobody)]
    assert told(twice) == [("unsure", hold)]
    assert told(twice, mixture) == [("unsure", hold)]
    assert [state for state, _ in told({}, mixture)] == ["unsure"]


# --- what nobody knows ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("log", "card", "unsure"),
    [
        ([fill("2026-10-20", "", "C1")], {}, True),
        ([fill("2026-10-20", "", "C1"), read("2026-10-21", "15 psi")], {}, True),
        ([fill("2026-10-20", "", "C1"), read("2026-10-21", "14.9 psi")], {}, False),
        ([fill("2026-10-20", "nitrox32", "N1"), read("2026-10-21", "14.9 psi")], {}, False),
        # nobody wrote how full it is
        ([fill("2026-10-20", "", "C1").replace(" to=2900 psi;", "")], {}, False),
        # a customer's own is filled by others every day
        ([fill("2026-10-20", "", "C1")], {"use": "customer"}, False),
        # the log tells of no fill that anything could be known of
        ([read("2026-10-21", "2900 psi")], {}, False),
    ],
)
def test_gas_that_nobody_knows(log: list[str], card: dict[str, str | None], unsure: bool) -> None:
    assert [state for state, _ in told(card, *log)] == ["unsure"] * unsure


# --- the air of a fill ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("gas", "source", "state"),
    [
        ("air", "A1", []),
        ("air", "B1", ["lost"]),
        ("air", "X1", ["lost"]),
        ("air", "A1+C1", []),
        ("nitrox32", "A1", []),
        # pure oxygen holds no air, from PURE_OXYGEN on
        ("nitrox99", "B1", []),
        ("nitrox98.9", "B1", ["lost"]),
        ("nitrox99", "", []),
        ("nitrox98.9", "", ["unsure"]),
        ("nitrox99", "X1", []),
        ("nitrox98.9", "X1", ["unsure"]),
        # which bank is not said
        ("nitrox32", "N1+bank", ["unsure"]),
        ("nitrox32", "N1+panel", ["unsure"]),
    ],
)
def test_the_air_of_a_fill(gas: str, source: str, state: list[str]) -> None:
    assert [found for found, _ in told({}, fill("2026-10-20", gas, source))] == state


@pytest.mark.parametrize(
    ("gas", "source", "state"),
    [
        ("air", "", ["lost"]),
        ("air", "B1", ["lost"]),
        ("nitrox32", "", ["unsure"]),
        ("nitrox32", "N1", ["unsure"]),
        ("oxygen", "", []),
    ],
)
def test_without_a_station_no_source_is_known(gas: str, source: str, state: list[str]) -> None:
    log = fill("2026-10-20", gas, source)
    assert [found for found, _ in told({}, log, station=None)] == state


def test_of_a_fill_without_a_gas_it_is_said_what_its_source_says() -> None:
    for source, ordinary in (("C1", False), ("A1", False), ("B1", True), ("X1", True), ("", True)):
        log = fill("2026-10-20", "", source)
        book = make_book({"A": GOOD}, log=log, station=STATION)
        assert ordinary_air(book, book.log[0]) is ordinary, source
        state = ["lost"] if ordinary else []
        assert [found for found, _ in told({"use": "customer"}, log)] == state


GOOD_PARTS = "thread: 3/4-14 NPSM, outlet: yoke, rating: 3442 psi, disc: 5000 psi"


@pytest.mark.parametrize(
    ("work", "states"),
    [
        # another valve is not clean unless that is said; one that went on again, neither
        (f"on: 2026-11-01, by: MV, did: changed, {GOOD_PARTS}", ["unsure"]),
        (f"on: 2026-11-01, by: MV, did: fitted, {GOOD_PARTS}, clean_for: air", ["unsure"]),
        (f"on: 2026-11-01, by: MV, did: changed, {GOOD_PARTS}, clean_for: oxygen", []),
        (f"on: 2026-11-01, by: MV, did: changed, {GOOD_PARTS}, clean_for: nitrox", []),
        (f"on: 2026-11-01, by: MV, did: changed, {GOOD_PARTS}, note: valve for oxygen service", []),
        (f"on: 2026-11-01, by: MV, did: changed, {GOOD_PARTS}, lubricant: oxygen-compatible", ["unsure"]),
        ("on: 2026-11-01, by: MV, did: serviced", ["unsure"]),
        ("on: 2026-11-01, by: MV, did: serviced, lubricant: oxygen-compatible", []),
        ("on: 2026-11-01, by: MV, did: serviced, lubricant: silicone grease", ["lost"]),
        ("on: 2026-11-01, by: MV, did: serviced, stayed_on: yes", []),
        ("on: 2026-11-01, by: MV, did: serviced, stayed_on: yes, note: drop of oil on the knob", ["unsure"]),
        ("on: 2026-11-01, by: MV, did: serviced, o_rings: oiled, lubricant: oxygen-compatible", ["lost"]),
        ("on: 2026-11-01, by: MV, did: insert, insert_in: no", []),
        ("on: 2026-11-01, by: MV, did: read, dip_tube: yes", []),
        # on the day of the cleaning it came before it; struck out, it was not
        (f"on: {DAY}, by: MV, did: changed, {GOOD_PARTS}", []),
        (f"on: 2026-11-01, by: MV, did: changed, {GOOD_PARTS}, {VOID}", []),
        # a safe lubricant does not take away what another left
        ("on: 2026-10-20, by: MV, did: serviced, lubricant: silicone grease}, {on: 2026-11-01, by: MV, did: serviced, lubricant: oxygen-compatible", ["lost"]),
    ],
)  # fmt: skip
def test_work_on_the_valve_since_a_cleaning(work: str, states: list[str]) -> None:
    assert sorted({state for state, _ in told({"valve_work": f"[{{{work}}}]"})}) == states


@pytest.mark.parametrize(
    ("card", "log", "said"),
    [
        ({}, [], "nitrox"),
        ({"service": "oxygen"}, [], "oxygen"),
        ({"service": "air"}, [], "AIR ONLY, though cleaned for oxygen"),
        ({"service": None}, [], "AIR ONLY, though cleaned for oxygen"),
        ({"service": "air"}, [fill("2026-10-20", "air", "B1")], "air"),
        ({"service": None}, [fill("2026-10-20", "air", "B1")], ""),
        ({"service": "air"}, [fill("2026-10-20", "nitrox32", "X1")], "AIR ONLY, though cleaned for oxygen, in doubt"),
        ({"service": "air", "cleaned": f"[{{on: {DAY}, by: CL, to: air}}]"}, [], "air"),
        ({"service": "air", "cleaned": None}, [], "air"),
        ({"service": "oxygen", "cleaned": f"[{{on: {DAY}, by: CL, to: nitrox}}]"}, [], "NOT CLEAN, labelled oxygen"),
        ({"cleaned": None}, [], "NOT CLEAN, labelled nitrox"),
        ({"cleaned": f"[{{on: {DAY}, by: CL, to: nitrox, until: 2026-11-24}}]"}, [], "NOT CLEAN, labelled nitrox"),
        ({"cleaned": f"[{{on: {DAY}, by: CL, to: nitrox, until: 2026-11-25}}]"}, [], "nitrox"),
        ({"cleaned": f"[{{on: {DAY}, by: CL, to: nitrox}}, {{on: 2026-10-20, by: CL, to: air}}]"}, [], "NOT CLEAN, labelled nitrox"),
        ({}, [fill("2026-10-20", "air", "B1")], "NOT CLEAN, labelled nitrox"),
        ({}, [fill("2026-10-20", "nitrox32", "X1")], "nitrox, in doubt"),
        ({}, [fill("2026-10-20", "nitrox32", "N1")], "nitrox"),
    ],
)  # fmt: skip
def test_no_label_calls_clean_what_is_not(
    card: dict[str, str | None], log: list[str], said: str
) -> None:
    clean = {"cleaned": f"[{{on: {DAY}, by: CL, to: oxygen}}]", "service": "nitrox"}
    cards = {"A": with_lines(GOOD, **{**clean, **card})}
    book = make_book(cards, log="\n".join(log), station=STATION, settings=SETTINGS)
    assert cleaned_for(book, book.cylinders["A"], TODAY) == said


@given(
    st.sampled_from(["nitrox", "oxygen", "air", None]),
    st.sampled_from(["", "nitrox", "oxygen", "air"]),
    st.sampled_from(["", ", until: 2026-11-24", ", until: 2027-01-31"]),
    st.sampled_from([("air", "B1"), ("air", "A1"), ("nitrox32", "X1"), ("nitrox32", "N1"), ()]),
    st.booleans(),
)
@settings(max_examples=tries(80, 2000), deadline=None)
def test_what_its_tag_says_of_its_cleaning_a_fill_of_air_is_told(
    service: str | None, cleaned: str, until: str, filled: tuple[str, ...], tested: bool
) -> None:
    """What the tag calls not clean has no clean state for air to end; what it calls clean has."""
    card: dict[str, str | None] = {"service": service, "cleaned": None}
    if cleaned:
        card["cleaned"] = f"[{{on: 2026-10-01, by: CL, to: {cleaned}{until}}}]"
    if tested:
        card["requalified"] = "[{on: 2026-10-20, method: hydrostatic, by: T1, result: pass}]"
    log = fill("2026-10-15", *filled) if filled else ""
    cards = {"A": with_lines(GOOD, **card)}
    book = make_book(cards, log=log, station=STATION, settings=SETTINGS)
    cylinder = book.cylinders["A"]
    facts = facts_of(cylinder, rules_of(book))
    on_filling = {
        c.code: c.text
        for c in of_cylinder(book, facts, Gas.parse("air"), TODAY)
        if c.state == "ordinary-air"
    }
    said = cleaned_for(book, cylinder, TODAY)
    if not cleaned or cleaned == "air":
        assert on_filling == {}
    elif service in ("air", None) and f"cleaned for {cleaned}" not in said:
        assert said == (service or "")
        assert on_filling == {}  # its tag says `not oxygen-clean`: there is nothing to end
    elif said.startswith("NOT CLEAN"):
        assert list(on_filling) == ["not-oxygen-clean"]
        assert f"for {service} and not clean: " in on_filling["not-oxygen-clean"]
    else:
        assert list(on_filling) == ["ends-oxygen-clean"]
        assert is_clean_still(book, cylinder, TODAY)
        assert ("in doubt" in said) is ("in doubt" in on_filling["ends-oxygen-clean"])
