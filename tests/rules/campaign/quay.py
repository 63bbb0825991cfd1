"""The sound ledger that every hazard is seeded into. All of it is invented.

A dozen cylinders of the kinds a station meets, two that must never be filled (they are there to be
mistaken for another), a log, a station, a person whose certification lapsed, and house rules. Some
cylinders have a past that was ended as it should be, so that a change to what ended it can be seen.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

ON = dt.date(2026, 11, 25)
Files = Mapping[str, str]

SETTINGS = """\
# Campaign Quay: invented.
ledger: Campaign Quay
units: psi
rules: [us-dot]
ambient: 64 degF
gas: air
operator: JO
late_entry: 14
requalifier: Northside Test House
unexplained: 200 psi
people:
  MV:
    role: bench
    certifications:
      - {skill: inspector, number: VI-2207, from: 2015-05, until: 2029-05}
      - {skill: valves, from: 2015-05}
      - {skill: o2-cleaner, from: 2016-01}
      - {skill: filler, from: 2015-05}
      - {skill: analyst, from: 2016-01}
  JO:
    role: fill station
    certifications:
      - {skill: filler, from: 2020-02, until: 2030-02}
      - {skill: analyst, from: 2020-02, until: 2030-02}
  LK:
    role: bench, until the certificate lapsed
    left: 2026-08-31
    certifications:
      - {skill: inspector, number: VI-1180, from: 2018-03, until: 2024-03}
  AB:
    role: counter
ids: {rental: RB-###, customer: CU-###, staff: ST-###, bank: OX-###}
"""

STATION = """\
ambient: 64 degF
minimum_gain: 50 psi
gauge_error: 60 psi
non_return_valves: yes
oxygen_positions: 1
panel: {rating: 4500 psi}
banks:
  - name: B1
    water_volume: 99 L
    working_pressure: 4500 psi
    gas: air
    grade: breathing
    period: 5 years
    requalified: [{on: 2024-03, method: hydrostatic, by: Z418, stamp: 03 Z418 24}]
    readings:
      - {on: 2026-07-11, pressure: 4400 psi, by: JO}
      - {on: 2026-07-17, pressure: 4380 psi, by: JO}
      - {on: 2026-11-20, pressure: 4400 psi, by: JO}
      - {on: 2026-11-24, pressure: 4210 psi, by: JO}
  - name: N1
    water_volume: 49.5 L
    working_pressure: 4500 psi
    gas: nitrox32
    grade: oxygen
    period: 5 years
    requalified: [{on: 2024-09, method: hydrostatic, by: Z418, stamp: 09 Z418 24}]
    readings:
      - {on: 2026-07-11, pressure: 4100 psi, by: JO}
      - {on: 2026-07-17, pressure: 4100 psi, by: JO}
      - {on: 2026-11-24, pressure: 3900 psi, by: JO}
compressor:
  name: C1
  delivery: 8.2 cuft/min
  max_pressure: 4500 psi
  hours:
    - {on: 2026-09-30, reads: 1646.5 h, by: JO}
    - {on: 2026-10-31, reads: 1656.6 h, by: JO}
    - {on: 2026-11-24, reads: 1659.7 h, by: JO}
filters:
  - name: F1
    life: 55 h
    changed:
      - {on: 2026-09-28, at: 1645.9 h, by: MV}
positions:
  - {name: P1, kind: enclosed, max_diameter: 8 in, max_length: 29 in, rating: 4500 psi}
  - {name: P2, kind: whip, rating: 4500 psi}
whips:
  - name: W1
    fitted: 2024-03
    rating: 4500 psi
    checked: [{on: 2026-03-07, by: MV}, {on: 2026-09-05, by: MV}]
relief_valves:
  - name: R1
    set_at: 4500 psi
    protects: [B1, N1]
    checked: [{on: 2026-02-11, by: MV}]
gauges:
  - name: G1
    master: yes
    checked: [{on: 2026-05-09, against: TG-1, reads: 2515 psi, true: 2500 psi, by: MV}]
air_tests:
  - {on: 2026-04-07, by: Example Air Lab, standard: cga-grade-e, result: pass, source: C1,
     oxygen: 20.9 %, co: 2 ppm, co2: 470 ppm, oil: 0.2 mg/m3, hydrocarbons: 3 ppm, odour: none}
  - {on: 2026-07-12, by: Example Air Lab, standard: cga-grade-e, result: pass, source: C1,
     oxygen: 20.9 %, co: 1 ppm, co2: 430 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none}
  - on: 2026-07-13          # a truck idled under the intake
    by: Example Air Lab
    standard: cga-grade-e
    result: fail
    source: C1
    oxygen: 20.8 %
    co: 14 ppm
    co2: 720 ppm
    oil: 0.3 mg/m3
    hydrocarbons: 4 ppm
    odour: slight
  - {on: 2026-07-16, by: Example Air Lab, standard: cga-grade-e, result: pass, source: C1,
     oxygen: 20.9 %, co: 1 ppm, co2: 440 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none}
  - {on: 2026-10-20, by: Example Air Lab, standard: cga-grade-e, result: pass, source: C1,
     oxygen: 20.9 %, co: 1 ppm, co2: 450 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none}
"""

SMALL_STATION = """\
gauge_error: 60 psi
compressor: {name: C1, hours: [{on: 2026-11-24, reads: 1659.7 h, by: JO}]}
filters: [{name: F1, life: 55 h, changed: [{on: 2026-09-28, at: 1645.9 h, by: MV}]}]
banks:
  - {name: B1, water_volume: 99 L, gas: air, grade: breathing, period: 5 years, requalified: [{on: 2024-03, method: hydrostatic, by: Z418}]}
  - {name: N1, water_volume: 49.5 L, gas: nitrox32, grade: oxygen, period: 5 years, requalified: [{on: 2024-09, method: hydrostatic, by: Z418}]}
air_tests:
  - {on: 2026-10-20, by: Example Air Lab, standard: cga-grade-e, result: pass, source: C1, oxygen: 20.9 %, co: 1 ppm}
"""
"""What of the station matters to a hazard that has nothing to do with it."""

RULES = """\
# What the quay does more strictly than the law, and what it was told of certain cylinders.
heading: Campaign Quay house rules
notices: 2
rows:
  - id: shop.visual.rental
    obligation: visual
    applies_to: {use: [rental]}
    period: 12 months
    met_by: [inspection, hydrostatic]
    good_until: end-of-month
    gate: refuse
    basis: practice
    citation: house rule, January 2025
    verified: read
  - id: shop.test-pressure.un
    obligation: test-pressure
    applies_to: {specification: [UN*], permit: no}
    ratio: 3/2
    gate: refuse
    basis: practice
    citation: PH and PW as stamped on the cylinders we see
    verified: memory
watch:
  - id: shop.notice.alloy
    maker: [Elder Cylinder Co]
    made_before: 1990-01
    alloy: "6351"
    basis: law
    citation: an invented notice of 1994
    verified: read
  - id: shop.notice.recall
    maker: [Tarn Example Alloy]
    serial_from: T55000
    serial_to: T55399
    recall: return to the dealer, neck threads cut short
    gate: refuse
    basis: practice
    citation: an invented dealer's letter of 2026-06-15
    verified: read
"""

AL80 = """\
serial: K118201
maker: Example Cylinder Co
marks: DOT-3AL 3000 K118201 06A19 06 Z418 24
specification: DOT-3AL
service_pressure: 3000 psi
test_pressure: 5000 psi
water_volume: 11.1 L
material: aluminium
alloy: 6061
neck_thread: 3/4-14 NPSM
valve: {outlet: yoke, thread: 3/4-14 NPSM, rating: 3000 psi, disc: 5000 psi, dip_tube: yes}
service: air
use: rental
status: in-service
place: rack 1
requalified:
  - {on: 2019-06, method: hydrostatic, by: maker}
  - {on: 2024-06, method: hydrostatic, by: Z418, stamp: 06 Z418 24, test_pressure: 5000 psi,
     total_expansion: 0.0551 L, permanent_expansion: 0.0021 L}
inspected:
  - {on: 2025-02-17, by: MV, checklist: annual, result: pass, sticker: issued}
  - {on: 2026-02-09, by: MV, checklist: annual, result: pass, sticker: issued,
     neck_thread: 3/4-14 NPSM, valve_thread: 3/4-14 NPSM}
rented:
  - {on: 2026-06-19, to: B-5162, until: 2026-06-21, back: 2026-06-21, pressure: 540 psi, valve: closed}
"""

# A life with a hold, damage, a reject and a loss in it, each ended as it should be.
PAST = """\
serial: K118302
maker: Example Cylinder Co
marks: DOT-3AL 3000 K118302 03A20 04 Z418 25
specification: DOT-3AL
service_pressure: 3000 psi
test_pressure: 5000 psi
water_volume: 11.1 L
material: aluminium
alloy: 6061
neck_thread: 3/4-14 NPSM
valve:
  outlet: convertible
  thread: 3/4-14 NPSM
  rating: 3442 psi
  disc: 5000 psi
  insert: 3442 psi
  insert_in: yes
service: air
use: rental
status: in-service
requalified:
  - on: 2020-03
    method: hydrostatic
    by: maker
  - on: 2025-04
    method: hydrostatic
    by: Z418
    stamp: 04 Z418 25
    test_pressure: 5000 psi
    total_expansion: 0.0560 L
    permanent_expansion: 0.0019 L
    clears: [rejected 2025-03-03, inspected 2025-03-03]
    finding: crown measured, within limits
inspected:
  - {on: 2025-03-03, by: MV, checklist: annual, result: reject, sticker: voided,
     findings: [{step: corrosion-outside-aluminium, result: reject, what: line-corrosion, depth: 0.9 mm}]}
  - {on: 2025-04-20, by: MV, checklist: annual, result: pass, sticker: issued}
  - {on: 2026-04-06, by: MV, checklist: annual, result: pass, sticker: issued}
  - {on: 2026-08-31, by: MV, checklist: annual, result: pass, sticker: issued, clears: [damage 2026-08-28]}
held:
  - on: 2026-05-02
    by: MV
    why: dent near the foot
    released: 2026-05-04
    released_by: MV
    released_why: measured, within limits
rejected:
  - {on: 2025-03-03, by: MV, why: line corrosion on the crown, lifted: 2025-04-20, lifted_by: MV,
     lifted_why: retested and measured within limits}
lost:
  - {on: 2026-03-20, by: JO, found: 2026-04-05, found_by: MV, found_why: under the pool store bench}
rented:
  - {on: 2026-08-28, to: B-5390, until: 2026-08-28, back: 2026-08-28, pressure: 780 psi, valve: closed,
     damage: dent in the wall}
"""

# A suspected crack that the requalifier looked at, as only the requalifier can.
CLEARED = """\
serial: K118403
maker: Example Cylinder Co
marks: DOT-3AL 3000 K118403 05A22
specification: DOT-3AL
service_pressure: 3000 psi
test_pressure: 5000 psi
water_volume: 11.1 L
material: aluminium
alloy: 6061
neck_thread: 3/4-14 NPSM
valve: {outlet: yoke, thread: 3/4-14 NPSM, rating: 3000 psi, disc: 5000 psi}
service: air
use: pool
status: in-service
requalified:
  - {on: 2022-05, method: hydrostatic, by: maker}
  - {on: 2026-03-12, method: eddy-current, by: Z418, result: pass,
     clears: [suspected-crack 2026-02-10, inspected 2026-02-10], finding: tool mark from tapping and no flaw in the thread}
inspected:
  - on: 2026-02-10
    by: MV
    checklist: annual
    result: hold
    findings:
      - {step: neck-threads, result: hold, what: suspected-crack, count: 1, position: second thread from the top}
  - {on: 2026-03-20, by: MV, checklist: annual, result: pass, sticker: issued,
     neck_thread: 3/4-14 NPSM, valve_thread: 3/4-14 NPSM, clears: [inspected 2026-02-10]}
sent:
  - {on: 2026-02-12, to: Northside Test House, for: requalification, back: 2026-03-16, refitted: 2026-03-20,
     refitted_by: MV}
"""

# Aluminium of the alloy an old notice names, with the test that the alloy asks for.
OLD_ALLOY = """\
serial: E40117
maker: Elder Cylinder Co
marks: DOT-3AL 3000 E40117 08A85 09 Z418 23
specification: DOT-3AL
service_pressure: 3000 psi
test_pressure: 5000 psi
water_volume: 11.1 L
material: aluminium
neck_thread: 3/4-14 NPSM
valve: {outlet: yoke, thread: 3/4-14 NPSM, rating: 3000 psi, disc: 4950 psi}
service: air
use: customer
owner: C-0192
status: in-service
requalified:
  - {on: 1985-08, method: hydrostatic, by: maker}
  - {on: 2023-09, method: hydrostatic, by: Z418, stamp: 09 Z418 23}
  - {on: 2023-09, method: eddy-current, by: Z418}
inspected:
  - {on: 2026-05-11, by: MV, checklist: annual, result: pass, sticker: issued}
"""

# Low-pressure steel with a plus mark.
PLUS = """\
serial: LP30455
maker: Example Steel Works
marks: DOT-3AA 2400 LP30455 05A09 + 06 Z418 24 +
specification: DOT-3AA
service_pressure: 2400 psi
test_pressure: 4000 psi
water_volume: 15 L
material: steel
neck_thread: 3/4-14 NPSM
valve: {outlet: yoke, thread: 3/4-14 NPSM, rating: 3000 psi, disc: 4000 psi}
service: air
use: rental
status: in-service
requalified:
  - {on: 2009-05, method: hydrostatic, by: maker, plus: yes}
  - {on: 2024-06, method: hydrostatic, by: Z418, stamp: 06 Z418 24 +, plus: yes, test_pressure: 4000 psi}
inspected:
  - {on: 2026-06-08, by: MV, checklist: annual, result: pass, sticker: issued}
"""


def hp_steel(serial: str, made: str, mark: str, *, place: str) -> str:
    """A nitrox steel cylinder of 3442 psi, cleaned, never filled with ordinary air since."""
    return f"""\
serial: {serial}
maker: Example Steel Works
marks: DOT-3AA 3442 {serial} {mark}
specification: DOT-3AA
service_pressure: 3442 psi
test_pressure: 5737 psi
water_volume: 12.9 L
material: steel
neck_thread: 3/4-14 NPSM
valve: {{outlet: din-300, thread: 3/4-14 NPSM, rating: 4350 psi, disc: 5700 psi, lubricant: oxygen-compatible}}
service: nitrox
use: rental
status: in-service
place: {place}
requalified: [{{on: {made}, method: hydrostatic, by: maker}}]
inspected:
  - {{on: 2025-03-10, by: MV, checklist: annual, result: pass, sticker: issued}}
  - {{on: 2026-03-09, by: MV, checklist: annual, result: pass, sticker: issued}}
cleaned:
  - {{on: 2026-03-09, by: MV, to: nitrox}}
"""


DOUBLES = """\
cylinders: [RB-041, RB-042]
manifold: isolation manifold, 4350 psi
rating: 4350 psi
isolator: open
use: rental
"""

# A composite under a special permit.
PERMIT = """\
serial: CF2207
maker: Example Composites
marks: DOT-SP 99001 4350 CF2207 03A19
specification: DOT-SP 99001
service_pressure: 4350 psi
test_pressure: 7250 psi
water_volume: 6.8 L
material: composite
neck_thread: 3/4-14 NPSM
valve: {outlet: din-300, thread: 3/4-14 NPSM, rating: 4350 psi, disc: 7000 psi}
permit: {number: DOT-SP 99001, period: 5 years, test_pressure: 7250 psi, life_ends: 2034-03, expansion_limit: 5 %}
service: air
use: rental
status: in-service
requalified:
  - {on: 2019-03, method: hydrostatic, by: maker}
  - {on: 2024-02, method: hydrostatic, by: Z418, stamp: 02 Z418 24, test_pressure: 7250 psi,
     total_expansion: 0.0800 L, permanent_expansion: 0.0020 L}
inspected:
  - {on: 2026-07-06, by: MV, checklist: annual, result: pass, sticker: issued}
"""

# A customer's, brought over from Europe.
UN_ISO = """\
serial: WN-88213
maker: Example Werft
marks: UN ISO 7866 PW232 PH348 12.2 L WN-88213 2023/04 M25x2
specification: UN ISO 7866
service_pressure: 232 bar
test_pressure: 348 bar
water_volume: 12.2 L
material: aluminium
alloy: 6061
made: 2023-04
neck_thread: M25x2
valve: {outlet: din-200, thread: M25x2, rating: 232 bar, disc: 340 bar}
service: air
use: customer
owner: C-0271
status: in-service
requalified:
  - {on: 2023-04, method: hydrostatic, by: maker}
inspected:
  - {on: 2026-04-18, by: MV, checklist: annual, result: pass, sticker: issued}
"""

OXYGEN = """\
serial: OX-3391
maker: Example Steel Works
marks: DOT-3AA 2265 OX-3391 03A12 04 Z418 22
specification: DOT-3AA
service_pressure: 2265 psi
test_pressure: 3775 psi
water_volume: 43 L
material: steel
neck_thread: 3/4-14 NGT
valve: {thread: 3/4-14 NGT, rating: 3000 psi, disc: 3600 psi, lubricant: oxygen-compatible}
service: oxygen
use: bank
status: in-service
requalified:
  - {on: 2012-03, method: hydrostatic, by: maker}
  - {on: 2022-04, method: hydrostatic, by: Z418, stamp: 04 Z418 22}
inspected:
  - {on: 2026-06-22, by: MV, checklist: annual, result: pass}
cleaned:
  - {on: 2026-06-22, by: MV, to: oxygen}
"""

# A staff member's, 300 bar, with a full past at the counter.
STAFF = """\
serial: HP77011
maker: Example Steel Works
marks: DOT-3AA 3442 HP77011 09A23
specification: DOT-3AA
service_pressure: 3442 psi
test_pressure: 5737 psi
water_volume: 10 L
material: steel
neck_thread: 3/4-14 NPSM
valve: {outlet: din-300, thread: 3/4-14 NPSM, rating: 4350 psi, disc: 5700 psi}
service: air
use: staff
status: in-service
requalified:
  - {on: 2023-09, method: hydrostatic, by: maker}
inspected:
  - {on: 2025-12-08, by: MV, checklist: annual, result: pass, sticker: issued}
"""

CONDEMNED = (
    AL80.replace("K118201", "F20411").replace("status: in-service", "status: condemned")
    + """\
condemned:
  - {on: 2026-06-30, by: Z418, why: permanent expansion 12 % of total, marked: X over the marks}
"""
)

REJECTED = (
    STAFF.replace("HP77011", "HP90901").replace("status: in-service", "status: rejected")
    + """\
rejected:
  - {on: 2026-10-05, by: MV, why: pits in a line under the boot}
"""
)

HEADER = "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note"


def line(at: str, cylinder: str, act: str = "fill", /, **cells: str) -> str:
    """A line of the log. `at` without an offset is given -05:00."""
    usual = {"by": "JO", "temperature": "64 degF"}
    if act == "fill":
        usual |= {"gas": "air", "source": "B1", "position": "P1"}
    said = {
        **usual,
        "at": at + "-05:00",
        "cylinder": cylinder,
        "act": act,
        **{k.rstrip("_"): v for k, v in cells.items()},
    }
    return ",".join(said.get(name, "") for name in HEADER.split(","))


def log(*lines: str) -> str:
    return "\n".join([HEADER, *lines, ""])


NITROX = {
    "gas": "nitrox32",
    "o2": "32.1 %",
    "he": "0 %",
    "analysed_by": "MV",
    "source": "N1",
    "position": "P2",
}
LINES = (
    line("2026-06-25T09:10:00", "RB-101", from_="540 psi", to="2950 psi"),
    line("2026-08-20T10:02:11", "RB-102", from_="600 psi", to="2960 psi"),
    line("2026-09-01T10:05:00", "RB-102", from_="780 psi", to="2940 psi", source="B1+C1"),
    line("2026-09-12T11:40:30", "RB-103", from_="500 psi", to="2950 psi"),
    line("2026-09-14T08:20:00", "RB-105", from_="400 psi", to="2600 psi"),
    line("2026-09-19T08:31:00", "DB-01", from_="600 psi", to="3360 psi", **NITROX),
    line("2026-09-21T08:40:00", "RB-043", from_="500 psi", to="3350 psi", **NITROX),
    line("2026-09-30T09:00:00", "RB-109", from_="700 psi", to="4250 psi"),
    line("2026-10-02T09:00:00", "ST-081", from_="300 psi", to="3400 psi"),
    line("2026-11-20T17:10:00", "RB-101", "reading", to="600 psi"),
    line("2026-11-20T17:11:00", "RB-102", "reading", to="700 psi"),
    line("2026-11-20T17:12:00", "RB-103", "reading", to="650 psi"),
    line("2026-11-20T17:13:00", "ST-081", "reading", to="800 psi"),
    line("2026-11-21T09:00:00", "RB-105", "drain", from_="900 psi", to="500 psi"),
)

BASE: Files = {
    "tankbook.yaml": SETTINGS,
    "station.yaml": STATION,
    "rules/shop.yaml": RULES,
    "sets/DB-01.yaml": DOUBLES,
    "fills/2026.csv": log(*LINES),
    "cylinders/RB-101.yaml": AL80,
    "cylinders/RB-102.yaml": PAST,
    "cylinders/RB-103.yaml": CLEARED,
    "cylinders/RB-105.yaml": PLUS,
    "cylinders/RB-041.yaml": hp_steel("HP80117", "2022-05", "05A22", place="rack 4"),
    "cylinders/RB-042.yaml": hp_steel("HP80118", "2022-05", "05A22", place="rack 4"),
    "cylinders/RB-043.yaml": hp_steel("HP80201", "2023-02", "02A23", place="rack 5"),
    "cylinders/RB-109.yaml": PERMIT,
    "cylinders/ST-081.yaml": STAFF,
    "cylinders/CU-201.yaml": UN_ISO,
    "cylinders/CU-202.yaml": OLD_ALLOY,
    "cylinders/OX-401.yaml": OXYGEN,
    "cylinders/CD-501.yaml": CONDEMNED,
    "cylinders/CD-502.yaml": REJECTED,
}

ASKED: Mapping[str, tuple[str, str]] = {
    "RB-101": ("air", "3000 psi"),
    "RB-102": ("air", "3000 psi"),
    "RB-103": ("air", "3000 psi"),
    "RB-105": ("air", "2600 psi"),
    "RB-041": ("nitrox32", "3442 psi"),
    "RB-043": ("nitrox32", "3442 psi"),
    "RB-109": ("air", "4300 psi"),
    "ST-081": ("air", "3442 psi"),
    "CU-201": ("air", "230 bar"),
    "CU-202": ("air", "3000 psi"),
    "OX-401": ("oxygen", "2200 psi"),
}
"""Which cylinders may be filled in the sound ledger: with what, and up to where."""
