"""Two versions of a file: what may not go without a word, and what is an entry going on."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

import pytest
from books import GOOD, SETTINGS, STATION

from tankbook.ledger.events import parse
from tankbook.records.absence import Gone, How
from tankbook.records.commits import LineSeen
from tankbook.records.log import LogLine, columns
from tankbook.records.node import Node
from tankbook.rules.vanished import (
    MANY,
    card_gone,
    entries_gone,
    explained,
    keeps_all,
    lines_gone,
    removed_in,
    rows_gone,
    serial_of,
    set_gone,
    settings_gone,
    tells_nothing,
)

CARD = "cylinders/RB-014.yaml"
ADVERSE = """
held:
  - {on: 2026-03-01, by: MV, why: thread finding}
rejected:
  - {on: 2026-06-01, by: MV, why: line corrosion}
condemned:
  - {on: 2026-06-02, by: T123, why: expansion 12 %}
lost:
  - {on: 2026-07-01, by: MV}
handed_over:
  - {on: 2026-07-02, to: C-0192}
rented:
  - {on: 2026-04-01, by: MV, to: B-4471, back: 2026-04-03, damage: handwheel cracked}
  - {on: 2026-05-01, by: MV, to: B-4472, back: 2026-05-03, valve: open}
  - {on: 2026-05-10, by: MV, to: B-4473, back: 2026-05-13, valve: closed}
"""
BASE = (
    GOOD.replace(
        "by: maker}",
        "by: maker}\n  - {on: 2026-03-09, method: hydrostatic, by: T123, result: fail}",
    )
    + "  - {on: 2026-03-02, by: MV, checklist: annual, result: hold}\n"
    + "  - {on: 2026-03-03, by: MV, checklist: annual, result: pass,\n"
    + "     findings: [{step: neck-threads, result: reject, note: thread 2 worn}]}\n"
    + ADVERSE
)
ALL = [
    "requalified 2026-03-09", "inspected 2026-03-02", "inspected 2026-03-03", "held 2026-03-01",
    "rejected 2026-06-01", "condemned 2026-06-02", "lost 2026-07-01", "handed_over 2026-07-02",
    "rented 2026-04-01", "rented 2026-05-01",
]  # fmt: skip


def node(text: str, path: str = CARD) -> Node:
    got, findings = parse(textwrap.dedent(text), path)
    assert got is not None
    assert not findings, findings
    return got


def brief(gone: Iterable[Gone]) -> list[tuple[str, str]]:
    return [(g.what, g.how.value) for g in gone]


def lost(old: str, new: str, path: str = CARD) -> list[tuple[str, str]]:
    return brief(entries_gone(path, node(old), node(new)))


def changed(old: str, new: str) -> list[tuple[str, str]]:
    """What one replacement in the card loses."""
    assert BASE.count(old) == 1, old
    return lost(BASE, BASE.replace(old, new))


# --- a card


def test_every_entry_that_tells_against_a_cylinder_is_missed() -> None:
    assert lost(BASE, GOOD) == [(what, "gone") for what in ALL]
    assert card_gone(CARD, node(BASE)).said.startswith(", ".join(ALL[:-1]))
    assert lost(GOOD, "serial: K118204\n") == []


def test_what_is_told_of_an_entry() -> None:
    (gone,) = entries_gone(CARD, node(BASE), node(BASE.replace("thread finding", "nothing")))
    assert (gone.place, gone.said, gone.differs) == (
        "held",
        "by: MV, why: thread finding",
        ("why",),
    )
    assert BASE.split("\n")[gone.line - 1].strip().startswith("- {on: 2026-03-01")
    assert gone.explain_in == CARD


@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        ("why: thread finding", "why: finding", "held 2026-03-01"),
        ("{on: 2026-03-01, by: MV, why", "{on: 2026-03-05, by: MV, why", "held 2026-03-01"),
        ("{on: 2026-03-01, by: MV, why", "{on: 2026-03, by: MV, why", "held 2026-03-01"),
        ("checklist: annual, result: hold", "checklist: annual, result: pass", "inspected 2026-03-02"),
        ("result: reject, note: thread 2 worn", "result: note, note: thread 2 worn", "inspected 2026-03-03"),
        (", result: fail}", "}", "requalified 2026-03-09"),
        (", result: fail}", ", result: pass}", "requalified 2026-03-09"),
        (", damage: handwheel cracked", "", "rented 2026-04-01"),
        ("valve: open", "valve: closed", "rented 2026-05-01"),
        ("why: line corrosion", "why: line corrosion, void: {why: wrong card, by: MV}", "rejected 2026-06-01"),
        ("why: line corrosion", "why: a scratch, void: {why: x, by: MV, on: 2026-06-02}", "rejected 2026-06-01"),
        ("{on: 2026-07-01, by: MV}", "{on: 2026-07-01, by: TO}", "lost 2026-07-01"),
    ],
)  # fmt: skip
def test_whatever_its_life_does_not_allow_is_told(old: str, new: str, what: str) -> None:
    assert changed(old, new) == [(what, "altered")]


VOID = "void: {why: wrong card, by: MV, on: 2026-06-09}"


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("why: thread finding", "why: thread finding, released: 2026-03-04, released_by: MV, released_why: gauged"),
        ("why: thread finding", f"why: thread finding, {VOID}"),
        ("why: line corrosion", "why: line corrosion, lifted: 2026-06-09, lifted_by: MV, lifted_why: retested"),
        ("why: line corrosion", "why: line corrosion, told: {on: 2026-06-02, by: MV, how: letter}"),
        ("why: expansion 12 %", "why: expansion 12 %, marked: stamped out, consent: letter"),
        ("{on: 2026-07-01, by: MV}", "{on: 2026-07-01, by: MV, found: 2026-07-05, found_by: MV, found_why: under the bench}"),
        ("to: C-0192", "to: C-0192, slip: 2026-031"),
        ("result: fail}", f"result: fail, {VOID}}}"),
        ("result: hold", f"result: hold, {VOID}"),
        ("valve: open", f"valve: open, {VOID}"),
        ("  - {on: 2026-03-01, by: MV, why: thread finding}", "  - why: 'thread finding'   # worn\n    on: \"2026-03-01\"\n    by: MV"),
        ("held:\n  - {on: 2026-03-01, by: MV, why: thread finding}", "held: {on: 2026-03-01, by: MV, why: thread finding}"),
        ("findings: [{step: neck-threads, result: reject, note: thread 2 worn}]", "findings: {step: neck-threads, result: reject, note: thread 2 worn}"),
        ("method: hydrostatic, by: T123, result: fail", "method: hydro, by: T123, result: fail, plus: no"),
        ("  - {on: 2026-05-10, by: MV, to: B-4473, back: 2026-05-13, valve: closed}\n", ""),
        ("held:\n", "held:\n  - {on: 2026-03-01, by: MV, why: another}\n"),
    ],
)  # fmt: skip
def test_an_entry_that_goes_on_or_is_written_otherwise_is_not_gone(old: str, new: str) -> None:
    assert changed(old, new) == []


def test_of_two_alike_one_that_goes_is_missed() -> None:
    twice = GOOD + "held:\n  - {on: 2026-03-01, why: dent}\n  - {on: 2026-03-01, why: dent}\n"
    once = GOOD + "held:\n  - {on: 2026-03-01, why: dent}\n"
    assert lost(twice, once) == [("held 2026-03-01", "gone")]


def test_an_entry_struck_out_stays_and_its_striking_too() -> None:
    struck = GOOD + f"held:\n  - {{on: 2026-03-01, why: dent, {VOID}}}\n"
    assert lost(struck, GOOD) == [("held 2026-03-01", "gone")]
    assert lost(struck, struck.replace(f", {VOID}", "")) == [("held 2026-03-01", "altered")]


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("held:\n  - {on: 2026-03-01}\n", "", True),
        ("held:\n  - {on: 2026-03-01}\n", "held:\n  - {on: 2026-03-01, why: dent}\n", False),
        ("held:\n  - {on: 2026-03-01, wy: dent}\n", "held:\n  - {on: 2026-03-01, why: dent}\n", False),
        ("held: dent\n", "", True),
        ("held: [dent]\n", "", True),
        ("inspected:\n  - {on: 2026-03-01, by: MV, checklist: annual, result: rejct}\n", "", True),
        ("inspected:\n  - {on: 2026-03-01, by: MV, checklist: annual, result: rejct}\n", "inspected:\n  - {on: 2026-03-01, by: MV, checklist: annual, result: pass}\n", True),
        ("inspected:\n  - {on: 2026-03-01, by: MV, checklist: annual, result: rejct}\n", "inspected:\n  - {on: 2026-03-01, by: MV, checklist: annual, result: reject}\n", False),
        ("inspected:\n  - {on: 2026-03-01, by: MV, checklist: annual}\n", "", True),
        ("inspected:\n  - {on: 2026-03-01, by: MV, result: pass}\n", "", False),
        ("requalified:\n  - {on: 2026-03-01, method: hydrostatic, result: }\n", "", True),
        ("requalified:\n  - {on: 2026-03-01, method: hydrostatic, reslut: fail}\n", "", True),
        ("requalified:\n  - {on: 2026-03-01, method: hydrostatc}\n", "", False),
        ("requalified: [failed in March]\n", "", True),
        ("rented:\n  - {on: 2026-03-01, back: 2026-03-02}\n", "", False),
        ("rented:\n  - {on: 2026-03-01, back: 2026-03-02, damage: bent}\n", "", True),
        ("rented:\n  - {on: 2026-03-01, to: B-1, back: 2026-03-02, valve: opne}\n", "", True),
        ("jobs:\n  - {on: 2026-03-01}\n", "", False),
    ],
)  # fmt: skip
def test_what_was_misspelt_may_be_put_right_but_not_dropped(old: str, new: str, told: bool) -> None:
    plain = "serial: K118204\n"
    assert bool(lost(plain + old, plain + new)) is told


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("marks: DOT-3AL 3000 CONDEMNED\n", "marks: DOT-3AL 3000\n", True),
        ("marks: DOT-3AL 3000 CONDEMNED\n", "", True),
        ("marks: DOT-3AL X3000X K118204 03A24\n", "marks: DOT-3AL 3000\n", True),
        ("marks: DOT-3AL 3000 CONDEMNED\n", "marks: CONDEMNED  DOT-3AL 3000\n", False),
        ("marks: DOT-3AL 3000\n", "", False),
        ("marks: DOT-3AL 3000\n", "marks: DOT-3AL 3000 CONDEMNED\n", False),
    ],
)
def test_marks_that_said_condemned_are_missed(old: str, new: str, told: bool) -> None:
    plain = "serial: K118204\n"
    assert lost(plain + old, plain + new) == ([("marks", "altered")] if told else [])


def test_what_the_filters_age_by_is_missed() -> None:
    old = "compressor:\n  hours:\n    - {on: 2026-08-31, reads: 1645.9 h, by: JO}\n"
    new = old.replace("1645.9", "145.9")
    assert lost(old, new, "station.yaml") == [("hours 2026-08-31", "altered")]
    assert lost(old, "compressor: {name: C1}\n", "station.yaml")


def test_a_card_that_tells_nothing_is_known_by_its_record() -> None:
    from books import typed

    from tankbook.records.cylinder import Cylinder

    assert tells_nothing(typed(Cylinder, GOOD))
    for part in ("held:\n  - {on: 2026-03-01, why: dent}\n", ADVERSE, "marks: 3AL X3000X\n"):
        assert not tells_nothing(typed(Cylinder, GOOD + part))


def test_a_card_that_keeps_what_it_had_is_known_by_its_record() -> None:
    from books import typed

    from tankbook.records.cylinder import Cylinder

    card = typed(Cylinder, GOOD)
    more = "held:\n  - {on: 2026-03-01, why: dent}\n"
    assert keeps_all(card, typed(Cylinder, GOOD + more))
    assert not keeps_all(typed(Cylinder, GOOD + more), card)
    assert not keeps_all(
        typed(Cylinder, GOOD + more), typed(Cylinder, GOOD + more.replace("03", "04"))
    )
    assert not keeps_all(
        typed(Cylinder, GOOD + more), typed(Cylinder, GOOD + more.replace("dent", "dust"))
    )


def test_a_serial_is_known_however_it_is_written() -> None:
    assert serial_of(node("serial: 'K118204 '\nmaker: Example  Cylinder co\n")) == (
        serial_of(node("maker: Example Cylinder Co\nserial: k118204\n"))
    )
    assert serial_of(node("maker: Example\n")) is None
    assert serial_of(None) is None


# --- a set


SET = """
cylinders: [RB-031, RB-032]
manifold: isolation manifold
rating: 3442 psi
isolator: open
rented:
  - {on: 2026-04-01, to: B-4471, back: 2026-04-03, damage: valve bent}
"""
IN_SETS = "sets/DB-01.yaml"


@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        ("[RB-031, RB-032]", "[RB-031, RB-033]", ["sets/DB-01.yaml cylinders"]),
        ("[RB-031, RB-032]", "[RB-031]", ["sets/DB-01.yaml cylinders"]),
        ("[RB-031, RB-032]", "[RB-032, RB-031]", []),
        ("[RB-031, RB-032]", "\n  - RB-031\n  - RB-032", []),
        ("[RB-031, RB-032]", "[RB-131, RB-032]", []),
        ("rating: 3442 psi\n", "rating: 4350 psi\n", ["sets/DB-01.yaml rating"]),
        ("rating: 3442 psi\n", "", ["sets/DB-01.yaml rating"]),
        ("rating: 3442 psi\n", "rating: 3442psi\n", []),
        ("isolator: open", "isolator: shut", []),
        ("isolation manifold", "plain manifold", []),
    ],
)  # fmt: skip
def test_what_makes_a_set_another_one(old: str, new: str, what: list[str]) -> None:
    after = node(SET.replace(old, new))
    got = list(set_gone(IN_SETS, node(SET), after, {"RB-031": "RB-131"}))
    assert brief(got) == [(w, "altered") for w in what]


def test_a_set_comes_back_damaged() -> None:
    (gone,) = entries_gone(IN_SETS, node(SET), node(SET.replace(", damage: valve bent", "")))
    assert (gone.what, gone.explain_in) == ("DB-01 rented 2026-04-01", "tankbook.yaml")


# --- the station


BENCH = (
    STATION
    + """
  - {on: 2026-07-13, by: Example Air Lab, standard: cga-grade-e, result: fail, source: C1}
whips:
  - {name: W1, checked: [{on: 2026-03-07, by: KD}]}
  - {name: W2, fitted: 2024-03, checked: [{on: 2026-03-07, by: KD, result: fail, note: chafed}]}
relief_valves:
  - {name: R1, checked: [{on: 2026-03-08, by: KD, result: fail}]}
banks:
  - name: B1
    water_volume: 48 L
    requalified: [{on: 2024-03, method: hydrostatic, by: T123, result: fail}]
    readings: [{on: 2026-11-01, pressure: 4000 psi}]
"""
)
WHIP = "  - {name: W2, fitted: 2024-03, checked: [{on: 2026-03-07, by: KD, result: fail, note: chafed}]}\n"


def at_station(old: str, new: str) -> list[tuple[str, str]]:
    assert BENCH.count(old) == 1, old
    return lost(BENCH, BENCH.replace(old, new), "station.yaml")


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("result: fail, source: C1}", "result: pass, source: C1}", [("air test 2026-07-13", "altered")]),
        ("  - {on: 2026-07-13, by: Example Air Lab, standard: cga-grade-e, result: fail, source: C1}\n", "", [("air test 2026-07-13", "gone")]),
        (", result: fail, note: chafed", "", [("W2 checked 2026-03-07", "altered")]),
        (WHIP, "", [("W2 checked 2026-03-07", "gone")]),
        (WHIP, WHIP.replace("W2", "W3"), []),
        (WHIP, WHIP.replace("W2", "W3").replace("note: chafed", "note: fine"), [("W2 checked 2026-03-07", "gone")]),
        ("  - {name: W1, checked: [{on: 2026-03-07, by: KD}]}\n" + WHIP, "  - {name: W1, checked: [{on: 2026-03-07, by: KD, result: fail, note: chafed}]}\n", [("W2 checked 2026-03-07", "gone")]),
        (WHIP, WHIP.replace("note: chafed", f"note: chafed, {VOID}"), []),
        ("{on: 2026-03-07, by: KD}]}\n" + WHIP, "{on: 2026-03-07, by: KD}, {on: 2026-03-07, by: KD, result: fail, note: chafed}]}\n", [("W2 checked 2026-03-07", "gone")]),
        (WHIP + "relief_valves:\n", "relief_valves:\n  - {name: R9, checked: [{on: 2026-03-07, by: KD, result: fail, note: chafed}]}\n", [("W2 checked 2026-03-07", "gone")]),
        ("{on: 2026-03-08, by: KD, result: fail}", "{on: 2026-03-08, by: KD}", [("R1 checked 2026-03-08", "altered")]),
        (", result: fail}]\n    readings", "}]\n    readings", [("B1 requalified 2024-03", "altered")]),
        ("    readings: [{on: 2026-11-01, pressure: 4000 psi}]\n", "", []),
        ("  - {name: W1, checked: [{on: 2026-03-07, by: KD}]}\n", "", []),
    ],
)  # fmt: skip
def test_failed_tests_of_the_station(old: str, new: str, told: list[tuple[str, str]]) -> None:
    assert at_station(old, new) == told


def test_of_two_parts_of_one_name_neither_hides_the_other() -> None:
    twice = BENCH.replace(WHIP, WHIP + "  - {name: W2, fitted: 2026-03}\n")
    assert lost(
        twice, BENCH.replace(WHIP, "  - {name: W2, fitted: 2026-03}\n"), "station.yaml"
    ) == [("W2 checked 2026-03-07", "gone")]


# --- rules


RULES = """
heading: House rules
stands_alone: no
rows:
  - {id: shop.a, obligation: visual, applies_to: {use: [rental]}, period: 12 months, met_by: [inspection], gate: refuse, basis: standard, never_overridden: yes, citation: x, verified: read}
  - {id: shop.b, obligation: test-pressure, ratio: 5/3, gate: warn, basis: practice, citation: x, verified: read}
notices: 1
watch:
  - {id: shop.w, maker: [Tarn], recall: return it, gate: refuse, basis: practice, citation: x, verified: read}
"""
SHOP = "rules/shop.yaml"


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("period: 12 months", "period: 24 months", [("shop.a", ("period",))]),
        ("period: 12 months", "period: 6 months", []),
        ("period: 12 months", "period: 1 year", []),
        ("period: 12 months", "period: 300 days", []),
        ("period: 12 months", "period: 400 days", [("shop.a", ("period",))]),
        ("ratio: 5/3", "ratio: 5/3, applies_to: {use: [rental]}", [("shop.b", ("applies_to.use",))]),
        ("maker: [Tarn]", "maker: [Tarn, Larch]", []),
        ("period: 12 months", "period: from-record", [("shop.a", ("period",))]),
        (", period: 12 months", "", [("shop.a", ("period",))]),
        ("gate: refuse, basis: standard", "gate: warn, basis: standard", [("shop.a", ("gate",))]),
        ("gate: warn", "gate: refuse", []),
        ("recall: return it, gate: refuse", "recall: return it", [("shop.w", ("gate",))]),
        ("basis: standard", "basis: practice", [("shop.a", ("basis",))]),
        (", never_overridden: yes", "", [("shop.a", ("never_overridden",))]),
        ("ratio: 5/3", "ratio: 3/2", [("shop.b", ("ratio",))]),
        ("use: [rental]", "use: [sale]", [("shop.a", ("applies_to.use",))]),
        ("use: [rental]", "use: [Rental]", []),
        ("use: [rental]", "use: rental", []),
        ("met_by: [inspection]", "met_by: [inspection, certificate]", [("shop.a", ("met_by",))]),
        ("maker: [Tarn]", "maker: [Tarn Alloy]", [("shop.w", ("maker",))]),
        ("citation: x, verified: read}\n  - {id: shop.b", "citation: y, verified: memory, note: as agreed}\n  - {id: shop.b", []),
        ("verified: read}\nnotices", "verified: read, drop: yes}\nnotices", [("shop.b", ("drop",))]),
        ("verified: read}\nnotices", "verified: read, since: 2030-01}\nnotices", [("shop.b", ("since",))]),
        ("id: shop.b", "id: shop.c", [("shop.b", ())]),
        ("stands_alone: no", "stands_alone: yes", [("stands_alone", ())]),
        ("stands_alone: no\n", "", [("stands_alone", ())]),
        ("heading: House rules", "heading: Our rules", []),
        ("notices: 1\n", "", []),
    ],
)  # fmt: skip
def test_a_rule_that_is_gone_or_may_be_less_strict(
    old: str, new: str, told: list[tuple[str, tuple[str, ...]]]
) -> None:
    assert RULES.count(old) == 1, old
    after = node(RULES.replace(old, new))
    got = list(rows_gone(SHOP, node(RULES), after, [after]))
    assert [(g.what, g.differs) for g in got] == [(f"{SHOP} {name}", keys) for name, keys in told]


def test_a_row_may_move_to_another_file_but_not_be_covered_by_a_looser_one() -> None:
    row = next(line for line in RULES.splitlines(keepends=True) if "shop.b" in line)
    rest = node(RULES.replace(row, ""))
    moved = node("heading: More\nrows:\n" + row)
    looser = node("heading: More\nrows:\n" + row.replace("5/3", "3/2"))
    assert not list(rows_gone(SHOP, node(RULES), rest, [rest, moved]))
    (gone,) = rows_gone(SHOP, node(RULES), rest, [rest])
    assert (gone.what, gone.how) == (f"{SHOP} shop.b", How.GONE)
    whole = node(RULES)
    (gone,) = rows_gone(SHOP, whole, whole, [whole, looser])
    assert (gone.how, gone.differs) == (How.ALTERED, ("ratio",))


# --- settings


PEOPLE = (
    SETTINGS.replace("rules: [us-dot]", "rules: [us-dot, ca-tc]")
    + """
  JW:
    role: bench
    left: 2026-09-06
    certifications:
      - {skill: inspector, number: VI-1, from: 2023-08, until: 2026-08}
      - {skill: filler, from: 2023-08}
"""
)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("until: 2026-08", "until: 2029-08", [("JW inspector 2023-08", "altered")]),
        (", until: 2026-08", "", [("JW inspector 2023-08", "altered")]),
        ("from: 2023-08, until", "from: 2020-08, until", [("JW inspector 2023-08", "altered")]),
        ("skill: inspector, number: VI-1", "skill: valves, number: VI-1", [("JW inspector 2023-08", "altered")]),
        ("number: VI-1", "number: VI-2", []),
        ("{skill: filler, from: 2023-08}", "{skill: filler, from: 2023-08, until: 2026-08}", []),
        ("      - {skill: filler, from: 2023-08}\n", "", [("JW filler 2023-08", "gone")]),
        ("      - {skill: filler, from: 2023-08}\n", "      - {skill: filler, from: 2023-08}\n      - {skill: inspector, from: 2026-08, until: 2029-08}\n", []),
        ("left: 2026-09-06", "left: 2026-12-06", [("JW left", "altered")]),
        ("    left: 2026-09-06\n", "", [("JW left", "gone")]),
        ("role: bench", "role: counter", []),
        ("  MV: {certifications: [{skill: inspector, from: 2020-01}]}\n", "", [("person MV", "gone")]),
        ("[us-dot, ca-tc]", "[us-dot]", [("rule set ca-tc", "gone")]),
        ("[us-dot, ca-tc]", "us-dot", [("rule set ca-tc", "gone")]),
        ("[us-dot, ca-tc]", "[uk, ca-tc, us-dot]", []),
        ("units: psi", "units: bar", []),
    ],
)  # fmt: skip
def test_people_and_rule_sets(old: str, new: str, told: list[tuple[str, str]]) -> None:
    assert PEOPLE.count(old) == 1, old
    got = list(settings_gone(node(PEOPLE), node(PEOPLE.replace(old, new))))
    assert brief(got) == told
    assert all(g.ids == () and g.explain_in == "tankbook.yaml" for g in got)


def test_somebody_new_or_newly_gone_is_no_matter() -> None:
    more = PEOPLE + "  TO: {role: counter}\n"
    assert list(settings_gone(node(PEOPLE), node(more))) == []
    left = PEOPLE.replace("from: 2020-01}]}", "from: 2020-01}], left: 2026-11-01}")
    assert list(settings_gone(node(PEOPLE), node(left))) == []


# --- the log


def seen(number: int, **cells: str) -> LineSeen:
    usual = {"at": f"2026-03-{number:02}T09:30:00+01:00", "cylinder": "RB-014", "act": "fill"}
    row = tuple((usual | cells).get(name, "") for name in columns(LogLine))
    return LineSeen("fills/2026.csv", number, row, ",".join(row))


def torn(text: str) -> LineSeen:
    return LineSeen("fills/2026.csv", 9, (), text)


def test_lines_gone_and_edited() -> None:
    old, edited = seen(5, to="3000 psi"), seen(5, to="2000 psi", cylinder="RB-015")
    (gone,) = lines_gone("fills/2026.csv", [old], [], True)
    assert (gone.what, gone.how, gone.ids, gone.line) == (
        "fill 2026-03-05T09:30:00+01:00 RB-014", How.GONE, ("RB-014",), 5,
    )  # fmt: skip
    (gone,) = lines_gone("fills/2026.csv", [old], [edited], True)
    assert (gone.how, gone.ids, gone.differs) == (
        How.ALTERED, ("RB-014", "RB-015"), ("cylinder", "to"),
    )  # fmt: skip


def test_a_torn_line_may_be_completed_but_not_dropped() -> None:
    part = torn("2026-03-05T09:30:00+01:00,RB-0")
    whole = LineSeen("fills/2026.csv", 9, seen(5).cells, seen(5).text)
    assert lines_gone("fills/2026.csv", [part], [whole], True) == ()
    (gone,) = lines_gone("fills/2026.csv", [part], [], True)
    assert (gone.what, gone.ids) == ("line 9 of fills/2026.csv", ())


def test_many_lines_are_told_as_the_log() -> None:
    many = [seen(n % 28 + 1, cylinder=f"RB-{n:03}") for n in range(MANY + 1)]
    (gone,) = lines_gone("fills/2026.csv", many, [], True)
    assert (gone.what, gone.how, gone.said) == ("fills/2026.csv", How.ALTERED, f"{MANY + 1} lines")
    assert gone.ids == tuple(f"RB-{n:03}" for n in range(MANY + 1))
    (gone,) = lines_gone("fills/2026.csv", [*many, torn("x")], [], True)
    assert gone.ids == ()
    assert len(lines_gone("fills/2026.csv", many[1:], [], True)) == MANY
    (gone,) = lines_gone("fills/2026.csv", many, [], False)
    assert (gone.how, gone.ids) == (How.GONE, ())


# --- what explains it


WHY = "{on: 2026-03-09, by: MV, what: held 2026-03-01, why: typed into the wrong card}"
HELD = Gone(CARD, "held 2026-03-01")


def removed(*entries: str) -> Node:
    return node("serial: K1\nremoved:\n" + "".join(f"  - {e}\n" for e in entries))


def test_an_entry_of_removed_explains_what_it_names() -> None:
    left, told = explained([HELD], [], removed_in(removed(WHY)))
    assert left == []
    assert [(e.gone, e.removed.by, e.removed.why) for e in told] == [
        (HELD, "MV", "typed into the wrong card")
    ]
    spelt = WHY.replace("what: held 2026-03-01", "what: ' Held   2026-03-01 '")
    assert explained([HELD], [], removed_in(removed(spelt)))[0] == []


@pytest.mark.parametrize(
    "entry",
    [
        WHY.replace("03-01", "03-02"),
        WHY.replace(", by: MV", ""),
        WHY.replace("on: 2026-03-09, ", ""),
        WHY.replace("on: 2026-03-09", "on: yesterday"),
        WHY.replace(", why: typed into the wrong card", ""),
        WHY.replace("why: typed into the wrong card", "why: "),
        WHY.replace("what: held 2026-03-01", "what: held"),
        WHY.replace("by: MV", "by: MV, colour: red"),
        "held 2026-03-01",
    ],
)
def test_half_an_explanation_is_none(entry: str) -> None:
    left, told = explained([HELD], [], removed_in(removed(entry)))
    assert (left, told) == ([HELD], [])


def test_one_explanation_is_for_one_thing_and_for_one_time() -> None:
    once, twice = removed_in(removed(WHY)), removed_in(removed(WHY, WHY))
    other = Gone(CARD, "held 2026-03-01", said="why: rust")
    assert explained([HELD, other], [], once)[0] == [other]
    assert explained([HELD, other], [], twice)[0] == []
    assert explained([HELD], once, once)[0] == [HELD]
    assert explained([HELD], once, twice)[0] == []


def test_what_is_no_list_of_removals_is_none() -> None:
    assert removed_in(None) == []
    assert removed_in(node("serial: K1\n")) == []
    assert removed_in(node("serial: K1\nremoved: x\n")) == []
    assert len(removed_in(node(f"serial: K1\nremoved: {WHY}\n"))) == 1


def test_what_people_are_told() -> None:
    gone = Gone(CARD, "held 2026-03-01", line=9, commit="0123456789", explain_in=CARD)
    assert gone.text == f"held 2026-03-01 stood in {CARD}:9 at commit 0123456789 and is gone"
    assert gone.mend == (
        "put it back as it was, or add {on: DAY, by: INITIALS, what: 'held 2026-03-01', "
        f"why: REASON}} to `removed` in {CARD}"
    )
    edited = Gone(
        "sets/D.yaml", "sets/D.yaml rating", How.ALTERED, differs=("rating",), commit="01"
    )
    assert edited.text.endswith("at commit 01 and says something else now (rating)")
    assert Gone("rules/s.yaml", "rules/s.yaml", commit="01").text == (
        "rules/s.yaml stood at commit 01 and is gone"
    )


def test_the_words_to_add_are_read_as_the_explanation() -> None:
    """Whatever the name: quotes, colons and commas among them."""
    for what in ("held 2026-03-01", "fill 2026-03-05T09:30:00+01:00 RB-014", "JW's, {x}: \\x1b"):
        gone = Gone(CARD, what)
        entry = gone.mend[gone.mend.index("{") : gone.mend.rindex("}") + 1]
        said = entry.replace("DAY", "2026-03-09").replace("INITIALS", "MV").replace("REASON", "x")
        assert explained([gone], [], removed_in(removed(said)))[0] == []
