"""What a later version of settings, station, rules and checklists asks less of."""

from __future__ import annotations

import textwrap

import pytest

from tankbook.ledger.gitlog import node_of
from tankbook.ledger.shipped import sets_of
from tankbook.records.node import Node
from tankbook.rules.changes import compare
from tankbook.rules.loosening import is_looser, looser_checklist, looser_rules

SETTINGS = "ledger: Quay\nunits: psi\nrules: [us-dot, uk]\n"
STATION = "regulator_set: 3000 psi\n"


def node(path: str, text: str) -> Node:
    found = node_of(path, textwrap.dedent(text).encode())
    assert found is not None
    return found


def looser(path: str, before: str, after: str) -> list[str]:
    head = SETTINGS if path == "tankbook.yaml" else STATION
    changes = compare(path, node(path, head + before), node(path, head + after))
    return [c.place for c in changes if is_looser(c)]


@pytest.mark.parametrize(
    ("before", "after", "place"),
    [
        ("late_entry: 7", "late_entry: 999", "late_entry"),
        ("late_entry: 7", "", "late_entry"),
        ("", "late_entry: 15", "late_entry"),
        ("late_entry: 7", "late_entry: lots", "late_entry"),
        ("", "many_at_once: 51", "many_at_once"),
        ("signed: yes", "", "signed"),
        ("signed: yes", "signed: no", "signed"),
        ("commit: yes", "commit: no", "commit"),
        ("", "unexplained: 300 psi", "unexplained"),
        ("unexplained: 5 bar", "unexplained: 10 bar", "unexplained"),
        ("reading_age: 1 days", "", "reading_age"),
        ("oxygen_pressure: 1.2 bar abs", "", "oxygen_pressure"),
        ("oxygen_pressure: 1.4 ata", "oxygen_pressure: 1.6 ata", "oxygen_pressure"),
        ("least_oxygen_pressure: 0.2 ata", "", "least_oxygen_pressure"),
        ("", "least_oxygen_pressure: 0.16 bar abs", "least_oxygen_pressure"),
        ("", "risk_assessed: {on: 2026-01, by: MV, document: binder 3}", "risk_assessed.on"),
        ("sticker: {second_look: 7 days}", "sticker: {second_look: 2 years}",
         "sticker.second_look"),
        ("sticker: {second_look: 7 days}", "", "sticker.second_look"),
        ("", "sticker: {short_log: yes}", "sticker.short_log"),
        ("people: {TO: {left: 2026-02}}", "people: {TO: {role: bench}}", "people.TO.left"),
        ("people: {TO: {left: 2026-02}}", "people: {TO: {left: 2026-08}}", "people.TO.left"),
    ],
)  # fmt: skip
def test_settings_that_ask_less_and_back_again_more(before: str, after: str, place: str) -> None:
    assert looser("tankbook.yaml", before, after) == [place]
    assert looser("tankbook.yaml", after, before) == []


def test_a_rule_set_no_longer_named_is_looser_and_one_more_is_not() -> None:
    fewer, more = (SETTINGS.replace("us-dot, uk", names) for names in ("us-dot", "us-dot, uk, au"))
    for text, expected in ((fewer, ["rules"]), (more, [])):
        changes = compare("tankbook.yaml", node("x", SETTINGS), node("x", text))
        assert [c.place for c in changes if is_looser(c)] == expected


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("units: psi", "units: bar"),
        ("", "late_entry: 14"),
        ("soon: 30 days", "soon: 2 years"),
        ("unexplained: 100 psi", "unexplained: 100.0 psi"),
        ("people: {TO: {role: bench}}", "people: {TO: {left: 2026-02}}"),
        # a bank of which no period was said stood shut; that it has none is an entry of its own
        ("banks: [{name: B1}]", "banks: [{name: B1, period: none}]"),
        ("banks: [{name: B1}]", "banks: [{name: B1, period: 10 years}]"),
    ],
)
def test_settings_that_ask_no_less(before: str, after: str) -> None:
    if before.startswith("units"):
        text = SETTINGS.replace(before, after)
        changes = compare("tankbook.yaml", node("x", SETTINGS), node("x", text))
        assert not any(map(is_looser, changes))
    else:
        path = "station.yaml" if before.startswith("banks") else "tankbook.yaml"
        assert looser(path, before, after) == []


@pytest.mark.parametrize(
    ("before", "after", "place"),
    [
        ("gauge_error: 60 psi", "gauge_error: 200 psi", "gauge_error"),
        ("open_whip: never", "open_whip: allowed", "open_whip"),
        ("panel: {rating: 3300 psi}", "panel: {rating: 4500 psi}", "panel.rating"),
        ("whips: [{name: W1, rating: 3300 psi}]", "whips: [{name: W1, rating: 4500 psi}]",
         "whips.W1.rating"),
        ("filters: [{name: F1, life: 50 h}]", "filters: [{name: F1, life: 90 h}]",
         "filters.F1.life"),
        ("schemes: [{name: WS1, of: [B1, B2]}]", "schemes: [{name: WS1, of: [B1]}]",
         "schemes.WS1.of"),
        ("schemes: [{name: WS1, dated: 2024-02}]", "schemes: [{name: WS1, dated: 2024-02, of: [B1]}]",
         "schemes.WS1.of"),
        ("relief_valves: [{name: R1, protects: [B1, B2]}]", "relief_valves: [{name: R1, protects: [B2]}]",
         "relief_valves.R1.protects"),
        ("boosters: [{name: BO1, from: [B1, C1]}]", "boosters: [{name: BO1, from: [C1]}]",
         "boosters.BO1.from"),
        ("boosters: [{name: BO1, drives: [air]}]", "boosters: [{name: BO1, drives: [air, oxygen]}]",
         "boosters.BO1.drives"),
        ("upkeep: [{name: oil, what: oil, every: 6 months}]", "upkeep: [{name: oil, what: oil, every: 12 months}]",
         "upkeep.oil.every"),
        ("upkeep: [{name: oil, what: oil, hours: 50 h}]", "upkeep: [{name: oil, what: oil, hours: 90 h}]",
         "upkeep.oil.hours"),
        ("opening: {steps: [drains, belts]}", "opening: {steps: [drains]}", "opening.steps"),
        ("banks: [{name: B1, period: 10 years}]", "banks: [{name: B1, period: none}]", "banks.B1.period"),
    ],
)  # fmt: skip
def test_a_station_that_allows_more(before: str, after: str, place: str) -> None:
    assert looser("station.yaml", before, after) == [place]
    assert looser("station.yaml", after, before) == []


# --- rules

HEAD = "heading: Ours\nrows:\n"
ROW = (
    "  - {{id: {id}, obligation: {about}, gate: {gate}, basis: practice, citation: ours, "
    "verified: memory{more}}}\n"
)


def row(
    id_: str = "shop.look", about: str = "pre-fill-look", gate: str = "refuse", more: str = ""
) -> str:
    return ROW.format(id=id_, about=about, gate=gate, more=more and f", {more}")


def rules(before: dict[str, str], after: dict[str, str]) -> list[tuple[str, str]]:
    was, is_ = ({p: node(p, t) for p, t in each.items()} for each in (before, after))
    return [(e.what, e.why) for e in looser_rules(was, is_, sets_of(["us-dot"]))]


SHOP, OTHER = "rules/shop.yaml", "rules/other.yaml"


def test_a_row_that_asked_more_is_gone() -> None:
    assert rules({SHOP: HEAD + row()}, {SHOP: HEAD}) == [
        ("shop.look", "a row that asked more is gone")
    ]
    assert rules({SHOP: HEAD + row()}, {})[0][0] == "shop.look"
    assert rules({SHOP: HEAD}, {SHOP: HEAD + row()}) == []


def test_a_row_that_moved_to_another_file_still_stands() -> None:
    assert rules({SHOP: HEAD + row()}, {OTHER: HEAD + row()}) == []


def test_a_row_that_asks_less_than_it_did() -> None:
    strict, lax = HEAD + row(), HEAD + row(gate="warn")
    ((what, why),) = rules({SHOP: strict}, {SHOP: lax})
    assert (what, why) == ("shop.look", "asks less than it did: gate warn for refuse")
    assert rules({SHOP: lax}, {SHOP: strict}) == []
    ((_, why),) = rules({SHOP: strict}, {SHOP: HEAD + row(more="since: 2099-01-01")})
    assert why == "asks less than it did: since 2099-01-01"


def test_a_row_that_counts_for_nothing_now() -> None:
    twice = HEAD + row() + row()
    assert rules({SHOP: HEAD + row()}, {SHOP: twice}) == [
        ("shop.look", "a row that asked more no longer counts")
    ]


def test_a_row_that_loosens_practice_is_told_with_who_and_why() -> None:
    practice = next(
        r for s in sets_of(["us-dot"]) for r in s.rows
        if r.basis == "practice" and not r.never_overridden and r.obligation != "plus-fill"
    )  # fmt: skip
    drop = "drop: yes, by: MV, why: we have a better one, since: 2026-01-01"
    text = HEAD + row(practice.id, str(practice.obligation), "warn", drop)
    ((what, why),) = rules({}, {SHOP: text})
    assert what == practice.id
    assert why.startswith("loosens practice: it takes it out of force (by MV since 2026-01-01")
    assert rules({SHOP: text}, {}) == []  # without it more is asked


# --- checklists

STEPS = "steps:\n  - {name: boot, group: outside, look_for: rust}\n"
INSIDE = "  - {name: inside, group: inside, look_for: pits}\n"


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        (STEPS + INSIDE, STEPS, ("inside", "a step is gone")),
        (STEPS, "inside: yes\n" + STEPS, ("inside", "counts for more than it did")),
        (STEPS, STEPS.replace("rust", "rust, material: [steel]"),
         ("boot", "a step is asked of fewer cylinders")),
    ],
)  # fmt: skip
def test_a_checklist_that_looks_at_less(before: str, after: str, said: tuple[str, str]) -> None:
    path = "checklists/annual.yaml"
    found = list(looser_checklist(path, node(path, before), node(path, after)))
    assert [(f.what, f.why) for f in found] == [said]
    assert list(looser_checklist(path, node(path, after), node(path, before))) == []
