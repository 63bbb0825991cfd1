"""Each shipped row in turn is taken away: what rested on it becomes a refusal or a stated gap.

For every row a cylinder (or a station, or a person) is made that the row speaks of. With the row in
force the answer must rest on it; without it the answer must be no, or must say what is missing.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from functools import cache

import pytest
from books import GOOD, SETTINGS, TODAY, make_book, typed, with_lines
from changing import replace
from hypothesis import given, settings
from hypothesis import strategies as st
from stricter import looser, with_own

from tankbook.gas import Gas
from tankbook.ledger import shipped
from tankbook.records.book import Book
from tankbook.records.counter import CounterFile
from tankbook.records.entries import GasAnalysed
from tankbook.records.kinds import FromRecord
from tankbook.records.rulerow import (
    AirLimits,
    AppliesTo,
    Basis,
    Gate,
    GoodUntil,
    Measure,
    Obligation,
    RuleRow,
    RuleSet,
    Starts,
    Subject,
    Unless,
    WatchRow,
)
from tankbook.records.words import Material, Service, Use
from tankbook.rules.air import air_judge, is_for_oxygen_use
from tankbook.rules.answers import MayFill, Reason
from tankbook.rules.checks import check
from tankbook.rules.gate import may_fill
from tankbook.rules.leaving import Taken, gas_leaving
from tankbook.rules.own_rows import is_named, judged
from tankbook.rules.schedule import due
from tankbook.units import Concentration, GaugePressure, PartialDate, Percent, Period, Temperature

O = Obligation  # noqa: E741

SPECIFICATION = {
    "us-dot": "DOT-3AL",
    "ca-tc": "TC-3ALM",
    "uk": "EN ISO 7866",
    "de": "EN ISO 7866",
    "au": "AS 2030",
    "nz": "EN ISO 7866",
    "eu-adr": "EN ISO 7866",
}

PERMIT = "{period: 5 years, test_pressure: 5000 psi, life_ends: 2040-01, expansion_limit: 5 %}"

# what brings a condition about: changed keys of the cylinder, by question and state
HP_STEEL: dict[str, str | None] = {
    "specification": "[DOT-3AA]",
    "material": "steel",
    "alloy": None,
    "service_pressure": "3442 psi",
    "test_pressure": "5737 psi",
}
PLUS_STEEL: dict[str, str | None] = HP_STEEL | {
    "service_pressure": "2640 psi",
    "test_pressure": "4400 psi",
    "requalified": "[{on: 2024-03, method: hydrostatic, by: T, stamp: 03 Z418 24 +, plus: yes}]",
}


def valve(fit: str, disc: str = "5000 psi") -> dict[str, str | None]:
    return {"valve": f"{{thread: 3/4-14 NPSM, disc: {disc}, {fit}}}"}


STATES: dict[tuple[Obligation, str], dict[str, str | None]] = {
    (O.STANDING, "awaiting-inspection"): {"status": "awaiting-inspection", "inspected": None},
    (O.STANDING, "held"): {"status": "held", "held": "[{on: 2026-03-01, why: dent}]"},
    (O.STANDING, "out"): {"status": "out", "rented": "[{on: 2026-11-20, to: B-1}]"},
    (O.STANDING, "at-test"): {
        "status": "at-test",
        "sent": "[{on: 2026-03-01, to: N, for: requalification}]",
    },
    (O.STANDING, "at-repair"): {
        "status": "at-repair",
        "sent": "[{on: 2026-03-01, to: N, for: repair}]",
    },
    (O.STANDING, "at-supplier"): {
        "status": "at-supplier",
        "sent": "[{on: 2026-03-01, to: S-12, for: supplier-return, why: thread}]",
    },
    (O.STANDING, "awaiting-collection"): {
        "status": "awaiting-collection",
        "jobs": "[{on: 2026-03-01, work: [fill], ready: 2026-03-02}]",
    },
    (O.STANDING, "sold"): {"status": "sold", "handed_over": "[{on: 2026-03-01, to: C-1}]"},
    (O.STANDING, "rejected"): {"status": "rejected", "rejected": "[{on: 2026-03-01, why: pit}]"},
    (O.STANDING, "condemned"): {
        "status": "condemned",
        "condemned": "[{on: 2026-03-01, why: burst}]",
    },
    (O.STANDING, "lost"): {"status": "lost", "lost": "[{on: 2026-03-01}]"},
    (O.NECK_CRACK, "cracked"): {
        "inspected": "[{on: 2026-02-09, by: MV, checklist: annual, result: pass, findings: [{step: neck-cracks, result: reject}]}]"
    },
    (O.NECK_CRACK, "suspected"): {
        "inspected": "[{on: 2026-02-09, by: MV, checklist: annual, result: pass, findings: [{step: neck-cracks, result: hold}]}]"
    },
    (O.DAMAGE, "over-heated"): {
        "inspected": "[{on: 2026-02-09, by: MV, checklist: annual, result: pass, findings: [{step: heat-aluminium, result: note, what: heat}]}]"
    },
    (O.DAMAGE, "over-heated-steel"): {
        "specification": "[DOT-3AA]",
        "material": "steel",
        "alloy": None,
        "inspected": "[{on: 2026-02-09, by: MV, checklist: annual, result: pass, findings: [{step: heat-steel, result: note, what: heat}]}]",
    },
    (O.DAMAGE, "noted"): {"rented": "[{on: 2026-10-01, to: B, back: 2026-10-02, damage: dent}]"},
    (O.RETURNED, "empty"): {
        "rented": "[{on: 2026-10-01, to: B, back: 2026-10-02, pressure: 0 psi}]"
    },
    (O.RETURNED, "valve-open"): {
        "rented": "[{on: 2026-10-01, to: B, back: 2026-10-02, valve: open}]"
    },
    (O.REFIT, "not-refitted"): {
        "sent": "[{on: 2026-03-01, to: N, for: requalification, back: 2026-03-09}]"
    },
    (O.ALLOY, "unknown"): {"alloy": None, "maker": None},
    (O.ALLOY, "recalled"): {"specification": "[DOT-SP 6688]", "permit": PERMIT},
    (O.PERMIT, "missing-period"): {"material": "composite", "permit": "{test_pressure: 5000 psi}"},
    (O.PERMIT, "missing-test-pressure"): {"material": "composite", "permit": "{period: 5 years}"},
    (O.PERMIT, "missing-life-end"): {"material": "composite", "permit": "{period: 5 years}"},
    (O.PERMIT, "past-life-end"): {
        "material": "composite",
        "permit": "{period: 5 years, life_ends: 2026-01}",
    },
    (O.PERMIT, "period-too-long"): {
        "material": "composite",
        "specification": "[DOT-SP 99001]",
        "permit": PERMIT.replace("5 years", "50 years"),
    },
    (O.PERMIT, "test-too-low"): {"material": "composite", "permit": PERMIT},
    (O.PERMIT, "test-too-high"): {"material": "composite", "permit": PERMIT},
    (O.THREAD_MATCH, "differ"): {"neck_thread": "M25x2"},
    (O.THREAD_MATCH, "unknown"): {"neck_thread": None},
    (O.THREAD_MATCH, "unread"): {"neck_thread": None, "use": "customer"},
    (O.VALVE_RATING, "below"): {"valve": "{thread: 3/4-14 NPSM, rating: 2000 psi, disc: 5000 psi}"},
    (O.VALVE_RATING, "unknown"): {"valve": "{thread: 3/4-14 NPSM, disc: 5000 psi}"},
    (O.DISC_RATING, "above-test-pressure"): {
        "valve": "{thread: 3/4-14 NPSM, rating: 3442 psi, disc: 6000 psi}"
    },
    (O.DISC_RATING, "unknown"): {"valve": "{thread: 3/4-14 NPSM, rating: 3442 psi}"},
    (O.DISC_RATING, "low"): valve("outlet: yoke, rating: 3000 psi", "4000 psi"),
    (O.VALVE_RATING, "unread"): valve("outlet: yoke"),
    (O.VALVE_RATING, "below-limit"): PLUS_STEEL
    | valve("outlet: yoke, rating: 2700 psi", "4400 psi"),
    (O.VALVE_RATING, "manifold-unread"): {},
    (O.VALVE_RATING, "metric"): HP_STEEL | valve("outlet: din-200, rating: 232 bar", "5700 psi"),
    (O.OUTLET, "yoke"): valve("outlet: yoke"),
    (O.OUTLET, "yoke-marked"): valve("outlet: yoke, rating: 3442 psi"),
    (O.OUTLET, "insert-in"): valve("outlet: convertible, insert_in: yes"),
    (O.OUTLET, "insert-in-marked"): valve("outlet: convertible, insert_in: yes, rating: 3442 psi"),
    (O.OUTLET, "insert-out"): valve("outlet: convertible, insert_in: no"),
    (O.OUTLET, "din-200"): valve("outlet: din-200"),
    (O.OUTLET, "din-300"): valve("outlet: din-300"),
    (O.OUTLET, "m26"): valve("outlet: m26"),
    (O.OUTLET, "m26-marked"): valve("outlet: m26, rating: 300 bar"),
    (O.OUTLET, "below"): HP_STEEL | valve("outlet: yoke", "5700 psi"),
    (O.OUTLET, "unknown"): valve("rating: 3442 psi"),
    (O.OUTLET, "insert-unrecorded"): valve("outlet: convertible"),
    (O.OUTLET, "insert-unread"): HP_STEEL
    | valve("outlet: convertible, insert_in: yes, rating: 3442 psi", "5700 psi"),
    (O.GAS_SERVICE, "not-for-gas"): {},
    (O.GAS_SERVICE, "unknown"): {"service": None},
    (O.GAS_SERVICE, "contents-differ"): {"service": "nitrox"},
    (O.OXYGEN_CLEAN, "ordinary-air"): {
        "service": "nitrox",
        "cleaned": "[{on: 2026-01-05, by: MV, to: nitrox}]",
    },
    (O.OXYGEN_CLEAN, "never"): {"service": "nitrox"},
    (O.OXYGEN_CLEAN, "lapsed"): {
        "service": "nitrox",
        "cleaned": "[{on: 2026-01-05, by: MV, to: nitrox, until: 2026-11-24}]",
    },
    (O.OXYGEN_CLEAN, "unsure"): {
        "service": "nitrox",
        "cleaned": "[{on: 2026-01-05, by: MV, to: nitrox}]",
    },
    (O.OXYGEN_CLEAN, "lost"): {
        "service": "nitrox",
        "cleaned": "[{on: 2026-01-05, by: MV, to: nitrox}]",
    },
}
AIR_FILL = (
    "at=2026-03-01T10:00:00+00:00; cylinder=A; act=fill; to=2000 psi; gas=air; by=MV; source=C1"
)
NITROX_FILL = (
    "at=2026-03-01T10:00:00+00:00; cylinder=A; act=fill; to=2000 psi; gas=nitrox32; o2=32.5 %; "
    "by=MV; analysed_by=MV; source=C1"
)
UNKNOWN_GAS = "at=2026-03-01T10:00:00+00:00; cylinder=A; act=reading; to=2000 psi; by=MV"
PARTS = """
regulator_set: {set_to} psi
compressor: {{name: C1, hours: [{{on: 2026-11-20, reads: 400 h}}]}}
filters: [{{name: F1, life: 50 h, changed: [{{on: 2026-09-01, at: 390 h}}]}}]
gauges: [{{name: G1, checked: [{{on: 2026-09-01, against: T, reads: 1 psi, true: 1 psi}}]}}]
whips: [{{name: W1, fitted: 2026-05{rating}}}]
relief_valves: [{{name: R1, checked: [{{on: 2026-05-01}}]}}]
banks: [{{name: B1, water_volume: 50 L, working_pressure: 5000 psi, period: 5 years, requalified: [{{on: 2024-01, method: hydrostatic, by: T}}]}}]
air_tests: {tests}
"""


GOOD_AIR = "standard: cga-grade-e, oxygen: 20.9 %, co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none"
BAD_SPELL = (
    f"{{on: 2026-10-12, result: fail, source: C1, {GOOD_AIR.replace('co: 1', 'co: 14')}}},"
    f" {{on: 2026-10-20, result: pass, source: C1, {GOOD_AIR}}}",
    {
        "bad-air": "raised: [{on: 2026-10-14, from: 0 psi, to: 4000 psi}]",
        "suspect-air": "raised: [{on: 2026-10-11, from: 0 psi, to: 4000 psi}]",
        "unsure-air": "readings: [{on: 2026-10-11, pressure: 4000 psi}]",
    },
)
FAILED = "checked: [{on: 2026-10-01, result: fail, note: worn}]"
STATION_STATES = {
    (O.GAUGE_CHECK, "reads-low"): ("true: 1 psi", "true: 900 psi"),
    (O.GAUGE_CHECK, "reads-high"): ("reads: 1 psi", "reads: 900 psi"),
    (O.WHIP_CHECK, "failed"): ("name: W1, fitted: 2026-05", f"name: W1, {FAILED}"),
    (O.POSITION_CHECK, "failed"): (
        "banks:",
        f"positions: [{{name: P1, kind: enclosed, {FAILED}}}]\nbanks:",
    ),
    (O.REGULATOR, "failed"): ("banks:", f"regulator: {{{FAILED}}}\nbanks:"),
    (O.RELIEF_CHECK, "failed"): ("checked: [{on: 2026-05-01}]", FAILED),
    (O.BUMP_TEST, ""): (
        "banks:",
        "instruments: [{name: CO-1, kind: co-monitor, bumped: [{on: 2026-11-20}]}]\nbanks:",
    ),
    (O.EXAMINATION, ""): (
        "banks:",
        "schemes: [{name: WS1, examined: [{on: 2026-03-10, next: 2028-03-10}]}]\nbanks:",
    ),
    (O.RELIEF_CHECK, "protects-unknown"): (
        "checked: [{on: 2026-05-01}]",
        "protects: [panel], checked: [{on: 2026-05-01}]",
    ),
    (O.RELIEF_CHECK, "lifts-late"): (
        "checked: [{on: 2026-05-01}]",
        "set_at: 4500 psi, checked: [{on: 2026-05-01, lifted: 4700 psi}]",
    ),
    (O.RELIEF_CHECK, "did-not-lift"): (
        "name: B1,",
        "name: B1, readings: [{on: 2026-11-20, pressure: 9000 psi},"
        " {on: 2026-11-21, pressure: 4000 psi}],",
    ),
    (O.UPKEEP, ""): (
        "banks:",
        "upkeep: [{name: oil, what: oil, every: 1 year, done: [{on: 2026-11-01}]}]\nbanks:",
    ),
    (O.UPKEEP, "failed"): (
        "banks:",
        "upkeep: [{name: M, what: dew-point, every: 1 year,"
        " done: [{on: 2026-11-01, result: fail}]}]\nbanks:",
    ),
    (O.UPKEEP, "amiss"): (
        "banks:",
        "upkeep: [{name: oil, what: oil, every: 1 year,"
        " done: [{on: 2026-11-01, result: fail}]}]\nbanks:",
    ),
    (O.CO_ALARM, "open"): ("banks:", "co_readings: [{on: 2026-11-20, alarm: yes}]\nbanks:"),
    (O.BANK_HOLD, "held"): (
        "name: B1,",
        "name: B1, held: [{on: 2026-11-20, by: MV, why: recall of C1}],",
    ),
    (O.BANK_HOLD, "other-gas"): (
        "name: B1,",
        "name: B1, raised: [{on: 2026-11-20, to: 4000 psi, source: 'elsewhere: oxygen'}],",
    ),
    (O.BANK_HOLD, "unsure-gas"): (
        "name: B1,",
        "name: B1, gas: nitrox32, raised: [{on: 2026-11-20, to: 4000 psi,"
        " source: 'elsewhere: Weir'}],",
    ),
    (O.BANK_HOLD, "over-mark"): (
        "name: B1,",
        "name: B1, readings: [{on: 2026-11-20, pressure: 9000 psi}],",
    ),
    (O.BANK_HOLD, "over-pressed"): (
        "name: B1,",
        "name: B1, readings: [{on: 2026-11-20, pressure: 9000 psi},"
        " {on: 2026-11-21, pressure: 4000 psi}],",
    ),
    (O.SOURCE, "out-of-range"): (
        "banks:",
        "sources: [{name: M1, kind: membrane, oxygen_to: 30 %}]\nbanks:",
    ),
    (O.SOURCE, "too-rich"): ("banks:", "sources: [{name: M1, kind: continuous}]\nbanks:"),
    (O.SOURCE, "not-driven"): ("banks:", "boosters: [{name: M1, drives: [oxygen]}]\nbanks:"),
    (O.OPENING, "left"): (
        "banks:",
        "closing: {steps: [drains], done: [{on: 2026-11-20, result: fail}]}\nbanks:",
    ),
    (O.OPENING, "not-opened"): ("banks:", "opening: {steps: [drains]}\nbanks:"),
}
"""What brings a state of a part of the station about: what stands in its file instead."""


def all_rows() -> Iterator[tuple[str, RuleRow | WatchRow]]:
    for name in shipped.rule_set_names():
        for row in (*shipped.rule_set(name).rows, *shipped.rule_set(name).watch):
            yield name, row


ROWS = list(all_rows())


def without(book: Book, row_id: str) -> Book:
    sets = tuple(
        replace(
            s,
            rows=tuple(r for r in s.rows if r.id != row_id),
            watch=tuple(w for w in s.watch if w.id != row_id),
        )
        for s in book.rule_sets
    )
    return replace(book, rule_sets=sets)


def first(patterns: tuple[str, ...]) -> str:
    return patterns[0].replace("DOT-*", "DOT-3AL").replace("*", " 99001") if patterns else ""


def changes_for(row: RuleRow) -> dict[str, str | None]:
    """The keys that make the sound cylinder one that the row speaks of."""
    to, changes = row.applies_to, {}
    if to is None:
        return {}
    if to.specification:
        changes["specification"] = f"[{first(to.specification)}]"
    elif {"EN-*"} & set(to.not_specification):
        changes["specification"] = "[AS 2030]"
    elif to.not_specification:
        changes["specification"] = "[UN ISO 7866]"
    if to.material:
        changes["material"] = to.material[0]
    if to.material == (Material.COMPOSITE,):
        changes |= {"permit": PERMIT, "test_pressure": None}
    if to.alloy:
        changes["alloy"] = to.alloy[0]
    if to.permit:
        changes |= {"permit": PERMIT, "test_pressure": None}
        changes.setdefault("material", "composite")
    if to.service:
        changes["service"] = to.service[0]
    if to.use:
        changes["use"] = to.use[0]
    for state in to.state[:1]:
        changes |= STATES.get((row.obligation, state), {})
    return changes


COUNTER = {
    "stolen": "stolen: [{on: 2026-11-20, by: MV, serial: K118204, why: a notice}]",
    "refused-before": "refused: [{on: 2026-11-20, by: MV, serial: K118204, reasons: [no sticker]}]",
    "refused-found": "refused: [{on: 2026-11-20, by: MV, serial: K118204, reasons: [a bulge]}]",
    "refused-leak": "refused: [{on: 2026-11-20, by: MV, serial: K118204, reasons: [valve leaks]}]",
    "noted-shell": "refused: [{on: 2026-11-20, by: MV, serial: K118204, reasons: [fell off the truck]}]",
    "noted-gas": "refused: [{on: 2026-11-20, by: MV, serial: K118204, reasons: [smelt of oil]}]",
}
"""What the counter's file says of A."""


def book_for(name: str, row: RuleRow) -> Book:
    """A ledger in which an answer rests on the row."""
    rules = name if name in SPECIFICATION else "us-dot"
    changes: dict[str, str | None] = {"specification": f"[{SPECIFICATION[rules]}]"}
    if rules == "de":
        changes["stamp_means"] = "test-date"
    changes |= changes_for(row)
    if row.obligation is O.PERMIT and row.period and not (row.applies_to and row.applies_to.state):
        changes["permit"] = PERMIT.replace("}", ", renewed_until: 2031-08, paper: letter}")
    if row.obligation is O.OXYGEN_CLEANING:
        changes["cleaned"] = "[{on: 2026-01-05, by: MV, to: nitrox, until: 2027-11}]"
    if row.obligation is O.PLUS_FILL:
        changes |= {
            "material": "steel",
            "alloy": None,
            "requalified": "[{on: 2024-03, method: hydrostatic, by: T, stamp: 03 Z418 24 +, plus: yes}]",
        }
    if row.obligation is O.EDDY_CURRENT:
        changes["requalified"] = (
            "[{on: 2024-03, method: hydrostatic, by: T}, {on: 2024-03, method: eddy-current, by: T}]"
        )
    if row.obligation is O.EXPANSION_LIMIT:
        changes["requalified"] = (
            "[{on: 2024-03, method: hydrostatic, by: T, total_expansion: 1 L, permanent_expansion: 0.5 L}]"
        )
        if row.applies_to and row.applies_to.state:  # where no other row speaks
            changes["specification"] = '["UN ISO 7866"]'
    if row.obligation is O.TEST_PRESSURE:
        changes["test_pressure"] = "3100 psi"
    if row.obligation is O.RELIEF_DEVICE:
        changes |= valve("outlet: yoke, rating: 3000 psi", "none")
    states = set(row.applies_to.state) if row.applies_to else set()
    log = AIR_FILL if states & {"contents-differ", "lost"} else ""
    if "unsure" in states or row.obligation in {O.ANALYSIS, O.LEAVING}:
        log = UNKNOWN_GAS if states & {"unknown", "own-gas"} else NITROX_FILL
        changes |= {"service": "nitrox"}
    if "own-gas" in states:
        changes |= {"use": "customer", "jobs": "[{on: 2026-11-01, work: [visual]}]"}
    counter = next((COUNTER[s] for s in states & COUNTER.keys()), None)
    text = SETTINGS.replace("[us-dot]", f"[{rules}]")
    cylinders = {"A": with_lines(GOOD, **changes), "B": with_lines(GOOD, serial="K2")}
    made = make_book(
        cylinders,
        settings=text,
        station=station_for(row),
        log=log,
        sets=sets_for(row, cylinders),
    )
    return replace(made, counter=typed(CounterFile, counter, "counter.yaml")) if counter else made


def state_of(row: RuleRow) -> str:
    return row.applies_to.state[0] if row.applies_to and row.applies_to.state else ""


def station_for(row: RuleRow) -> str | None:
    state = state_of(row)
    tests = {"failed": "[{on: 2026-10-12, result: fail}]", "none": "[]"}.get(state)
    standard = row.applies_to.standard if row.applies_to else None
    co = 900
    if row.obligation is O.AIR_LIMITS and standard is None:
        standard, co = "osha-1910-430", 12  # another country's, which lets it through
    if is_for_oxygen_use(standard):
        co = 3  # it may be breathed
    tests = (
        tests
        or f"[{{on: 2026-10-12, {f'standard: {standard}, ' if standard else ''}result: pass, co: {co} ppm}}]"
    )
    low_whip = row.obligation is O.GAUGE_CEILING and state == "below-limit"
    text = PARTS.format(
        set_to=9000 if state == "recorded-above-limit" else 1000,
        rating=", rating: 2000 psi" if low_whip else "",
        tests=tests,
    )
    if state in BAD_SPELL[1]:
        tests, filled = BAD_SPELL
        text = text.replace("name: B1,", f"name: B1, {filled[state]},")
        text = re.sub("air_tests: .*", f"air_tests: [{tests}]", text)
    if row.obligation is O.REGULATOR and state == "unknown":
        return text.replace("regulator_set: 1000 psi\n", "")
    old, new = STATION_STATES.get((row.obligation, state), ("", ""))
    assert old in text
    return text.replace(old, new, 1)


def sets_for(row: RuleRow, cylinders: dict[str, str]) -> dict[str, str]:
    state = state_of(row)
    if row.obligation is not O.DOUBLES and state != "manifold-unread":
        return {}
    if state == "other-side":
        cylinders["B"] = with_lines(cylinders["B"], requalified=None)
    shut = state == "isolator-shut"
    return {"D": f"cylinders: [A, B]\nisolator: {'shut' if shut else 'open'}"}


def gas_for(row: RuleRow) -> Gas | None:
    wanted = {O.GAS_SERVICE, O.OXYGEN_CLEAN}
    ordinary = row.applies_to is not None and "ordinary-air" in row.applies_to.state
    if row.obligation is O.SOURCE:
        return Gas.parse("nitrox50")
    return Gas.parse("nitrox32") if row.obligation in wanted and not ordinary else None


def subject_of(row: RuleRow) -> str:
    isolated = row.applies_to is not None and "isolator-shut" in row.applies_to.state
    return "D" if isolated else "A"


def asked(book: Book, row: RuleRow) -> MayFill:
    set_to = GaugePressure.of(9000, "psi") if state_of(row) == "above-limit" else None
    source = "M1" if row.obligation is O.SOURCE else ""
    return may_fill(book, subject_of(row), TODAY, gas_for(row), fill_pressure=set_to, source=source)


TAKEN = {
    "not-analysed": None,
    "unknown": None,
    "own-gas": None,
    "analysed-otherwise": "{oxygen: 40 %, depth: 3 m, initials: RT}",
    "too-deep": "{oxygen: 32 %, depth: 90 m, initials: RT}",
    "not-certified": "{oxygen: 32 %, depth: 3 m, initials: RT}",
}
"""What the user analysed where a state of what leaves is the case."""


def leaving(book: Book, row: RuleRow) -> tuple[Reason, ...]:
    """What is said of a gas that somebody takes."""
    if row.obligation is not O.LEAVING:
        return ()
    read = TAKEN[state_of(row)]
    taken = Taken("C-1", typed(GasAnalysed, read) if read else None)
    return tuple(r for r in gas_leaving(book, "A", taken, TODAY) if r.code.endswith(state_of(row)))


def rests_on(book: Book, row: RuleRow) -> set[str]:
    """The rows that what is said of this ledger rests on."""
    answer = asked(book, row)
    found = set(answer.rests_on) | {d.rule for d in due(book, TODAY) if d.row}
    found |= {r.row.id for r in leaving(book, row) if r.row}
    codes = {f.code: f.text for f in check(book, TODAY)}
    if row.obligation is O.TEST_PRESSURE and "test-pressure" in codes:
        found.add(row.id)
    if row.obligation is O.EXPANSION_LIMIT and f"({row.citation})" in codes.get("expansion", ""):
        found.add(row.id)
    if row.obligation is O.ANALYSIS and "analysed-otherwise" not in codes:
        found.add(row.id)
    if row.obligation is O.AIR_LIMITS and any(r.code == "air-test-failed" for r in answer.reasons):
        found.add(row.id)
    if book.station and any(map(air_judge(book).fails_oxygen_alone, book.station.air_tests)):
        found.add("bench.air-limits.oxygen-compatible")
    return found


def says_no_or_what_is_missing(book: Book, row: RuleRow) -> bool:
    answer = asked(book, row)
    if row.obligation is O.LEAVING:
        return [(r.gate, r.row) for r in leaving(book, row)] == [(Gate.REFUSE, None)]
    gap = any(
        (r.row is None and r.where is None) or r.code == "plus-not-used" for r in answer.reasons
    )
    undated = any(d.row is None for d in due(book, TODAY))
    unchecked = any(f.code == "no-rule" for f in check(book, TODAY))
    return not answer.fillable or gap or undated or unchecked


RULES = [(n, r) for n, r in ROWS if isinstance(r, RuleRow)]
WATCH = [(n, w) for n, w in ROWS if isinstance(w, WatchRow)]


@pytest.mark.parametrize(("name", "row"), RULES, ids=[r.id for _, r in RULES])
def test_without_a_rule_row(name: str, row: RuleRow) -> None:
    book = book_for(name, row)
    assert row.id in rests_on(book, row), "no answer rests on this row"
    bare = without(book, row.id)
    assert row.id not in rests_on(bare, row)
    assert says_no_or_what_is_missing(bare, row)


def watched(row: WatchRow) -> str:
    made = row.made_from or (row.made_before and "1980-06") or "1985-06"
    changes: dict[str, str | None] = {
        "alloy": None,
        "made": str(made),
        "maker": row.maker[0] if row.maker else "Some Other Maker",
        "made_in": row.made_in[0] if row.made_in else "NO" if row.not_made_in else None,
        "serial": row.serial_from or "K1",
    }
    if row.specification:
        changes["specification"] = f"[{first(row.specification)}]"
    return with_lines(GOOD, **changes)


@pytest.mark.parametrize(("name", "row"), WATCH, ids=[w.id for _, w in WATCH])
def test_without_a_watch_row(name: str, row: WatchRow) -> None:
    book = make_book({"A": watched(row)}, station=None)
    assert row.id in may_fill(book, "A", TODAY).rests_on, "no answer rests on this row"
    answer = may_fill(without(book, row.id), "A", TODAY)
    assert row.id not in answer.rests_on
    assert not answer.fillable or any(r.row is None for r in answer.reasons)


def test_every_set_says_how_many_notices_it_holds() -> None:
    for name in shipped.rule_set_names():
        each: RuleSet = shipped.rule_set(name)
        assert (each.notices or 0) == each.notices_held, name


# --- each row copied into a file of the ledger's own, and changed there --------------------------

PERIODS = (
    "1 day",
    "90 days",
    "400 days",
    "6 months",
    "12 months",
    "5 years",
    "10 years",
    "90 years",
)
ANYHOW = ("hydrostatic", "proof", "ultrasonic", "visual", "inspection", "first-test", "change")
APPLIES = (
    AppliesTo(specification=("DOT-*",)),
    AppliesTo(specification=("DOT-3AL",)),
    AppliesTo(specification=("XYZ",)),
    AppliesTo(not_specification=("DOT-*", "UN-*", "EN-*")),
    AppliesTo(material=(Material.STEEL,)),
    AppliesTo(alloy=("6061",)),
    AppliesTo(permit=False),
    AppliesTo(use=(Use.SALE,)),
    AppliesTo(service=(Service.OXYGEN,)),
    AppliesTo(made_from=PartialDate.parse("2025-01")),
    AppliesTo(state=("held",)),
    AppliesTo(state=("unknown", "cracked", "failed")),
    AppliesTo(standard="cga-grade-e"),
    AppliesTo(standard="shop-air"),
)
LIMITS = (
    AirLimits(co=Concentration.parse("999 ppm")),
    AirLimits(
        co=Concentration.parse("1 ppm"),
        co2=Concentration.parse("1 ppm"),
        oil=Concentration.parse("0.1 mg/m3"),
        water=Concentration.parse("1 mg/m3"),
    ),
)

OTHER: dict[str, tuple[object, ...]] = {
    "id": ("shop.other",),
    "subject": tuple(Subject),
    "obligation": tuple(O),
    "applies_to": (None, *APPLIES),
    "period": (None, FromRecord.FROM_RECORD, *map(Period.parse, PERIODS)),
    "starts": tuple(Starts),
    "met_by": ((), ("hydrostatic",), ("inspection",), ("hydrostatic", "proof", "visual"), ANYHOW),
    "good_until": tuple(GoodUntil),
    "temperature": (None, *(Temperature.of(t, "degC") for t in (-40, 15, 21, 30, 65))),
    "ratio": (None, *map(Fraction, ("1/2", "1/1", "5/4", "3/2", "2/1", "9/1"))),
    "of": (None, *Measure),
    "at_least": (None, *map(GaugePressure.parse, ("1 psi", "400 psi", "9000 psi"))),
    "share": (None, *map(Percent.parse, ("0 %", "5 %", "10.1 %", "90 %"))),
    "limits": (None, AirLimits(), *LIMITS),
    "needs": ((), ("any",), ("DOT",), ("plus-mark-on-latest-test",), ("what nothing shows",)),
    "beside": ((), ("us.visual",), ("nothing.there",)),
    "unless": (None, *Unless),
    "for_diving": (True, False),
    "gate": tuple(Gate),
    "basis": tuple(Basis),
    "never_overridden": (True, False),
    "drop": (True,),
    "since": (None, PartialDate.parse("2020-01"), PartialDate.parse("2029-01")),
    "by": (None, "MV"),
    "why": (None, "decided at the bench"),
}
"""Other values of every key on which an answer turns."""


@cache
def book_of(row_id: str) -> Book:
    name, row = next((n, r) for n, r in RULES if r.id == row_id)
    return book_for(name, row)


@st.composite
def changed_rows(draw: st.DrawFn) -> tuple[RuleRow, RuleRow, RuleRow]:
    """A row whose ledger is asked, a shipped row (mostly that one), and a changed copy of it."""
    _, asked = draw(st.sampled_from(RULES))
    row = draw(st.sampled_from([asked, asked, *(r for _, r in RULES)]))
    names = draw(st.lists(st.sampled_from(sorted(OTHER)), min_size=1, max_size=4, unique=True))
    changes = {name: draw(st.sampled_from(OTHER[name])) for name in names}
    return asked, row, replace(row, **changes)  # type: ignore[arg-type]


def told_or_not_looser(asked: RuleRow, row: RuleRow, changed: RuleRow) -> None:
    book = book_of(asked.id)
    own = with_own(book, changed)
    (verdict,) = judged(own.rule_sets).own
    if verdict in judged(own.rule_sets).loosened or (verdict.shipped is None and is_named(changed)):
        return  # somebody decided so, and it is told
    if asked.id.startswith("eu.") and verdict.shipped is None:
        return  # the shop's own fill rules, for which transport law asks
    assert looser(book, own, subject_of(asked), gas_for(asked)) == [], (asked.id, verdict)


@settings(max_examples=60)
@given(changed_rows())
def test_a_changed_copy_of_a_row_never_loosens_unnamed(
    rows: tuple[RuleRow, RuleRow, RuleRow],
) -> None:
    told_or_not_looser(*rows)


@settings(max_examples=20)
@given(st.sampled_from(RULES))
def test_nor_does_a_second_copy(named: tuple[str, RuleRow]) -> None:
    """Two own rows of one id: neither counts, however strict one of them is."""
    _, row = named
    book = book_of(row.id)
    twice = with_own(with_own(book, row), replace(row, drop=True))
    assert {o.code for o in judged(twice.rule_sets).own} == {"row-twice"}
    assert looser(book, twice, subject_of(row), gas_for(row)) == []


WATCH_OTHER: dict[str, tuple[object, ...]] = {
    "id": ("shop.other",),
    "maker": ((), ("Some Maker",), ("x",)),
    "not_maker": ((), ("Some",)),
    "specification": ((), ("DOT-*",), ("DOT-3AA",)),
    "serial_from": (None, "K2"),
    "made_from": (None, PartialDate.parse("1960-01"), PartialDate.parse("2020-01")),
    "made_before": (None, PartialDate.parse("1960-01"), PartialDate.parse("2040-01")),
    "made_in": ((), ("US",), ("DE",)),
    "not_made_in": ((), ("NO",)),
    "alloy": (None, "6351", "6061", "not-6351", "6351 or 6061"),
    "recall": (None, "look at it"),
    "unless": (None, *Unless),
    "gate": tuple(Gate),
    "basis": tuple(Basis),
    "drop": (True,),
}


@cache
def watch_book(row_id: str) -> Book:
    row = next(w for _, w in WATCH if w.id == row_id)
    return make_book({"A": watched(row)}, station=None)


@st.composite
def changed_watch_rows(draw: st.DrawFn) -> tuple[WatchRow, WatchRow]:
    _, row = draw(st.sampled_from(WATCH))
    names = draw(
        st.lists(st.sampled_from(sorted(WATCH_OTHER)), min_size=1, max_size=4, unique=True)
    )
    changes = {name: draw(st.sampled_from(WATCH_OTHER[name])) for name in names}
    return row, replace(row, **changes)  # type: ignore[arg-type]


@settings(max_examples=40)
@given(changed_watch_rows())
def test_a_changed_copy_of_a_notice_never_loosens(rows: tuple[WatchRow, WatchRow]) -> None:
    row, changed = rows
    book = watch_book(row.id)
    assert looser(book, with_own(book, changed), "A", None) == [], row.id
