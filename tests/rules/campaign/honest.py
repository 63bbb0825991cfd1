"""Ordinary ledgers of honest people: what must stay a YES, or nobody will write what is true."""

from __future__ import annotations

from dataclasses import dataclass

from hazards import Edit, Ledger, change, edited, entry, fact, gone, logged, serial, stands
from quay import ASKED, BASE, NITROX, line, log


@dataclass(frozen=True, slots=True)
class Honest:
    """A ledger and a cylinder of it that may be filled."""

    key: str
    why: str
    ledger: Ledger
    cylinder: str
    gas: str = "air"
    upto: str = ""
    past: tuple[Ledger, ...] = ()


def grown(*edits: Edit) -> Ledger:
    """The sound ledger with these edits."""
    return edited(dict(BASE), edits)


def of_base(key: str, why: str, cylinder: str, *edits: Edit, upto: str | None = None) -> Honest:
    gas, most = ASKED[cylinder]
    return Honest(
        key, why, edited(dict(BASE), edits), cylinder, gas, most if upto is None else upto
    )


UK = {
    "tankbook.yaml": """\
ledger: Lochside Divers
units: bar
rules: [uk]
ambient: 9 degC
people:
  EW:
    role: fill station
    certifications: [{skill: filler, from: 2022-04, until: 2028-04}]
""",
    "station.yaml": """\
compressor:
  name: K1
  max_pressure: 300 bar
  hours: [{on: 2026-11-22, reads: 410 h, by: EW}]
filters: [{name: F1, life: 40 h, changed: [{on: 2026-10-01, at: 398 h, by: EW}]}]
banks:
  - {name: B1, water_volume: 100 L, working_pressure: 300 bar, gas: air, period: 5 years,
     requalified: [{on: 2024-05, method: hydrostatic, by: IT07}], readings: [{on: 2026-11-24, pressure: 280 bar, by: EW}]}
air_tests:
  - {on: 2026-10-02, by: Example Air Lab, standard: en-12021-2014, result: pass, source: K1,
     oxygen: 20.9 %, co: 1 ppm, co2: 420 ppm, oil: 0.1 mg/m3, water: 20 mg/m3, odour: none}
""",
    "cylinders/CL-07.yaml": """\
serial: 07/4411/023
maker: Example Cylinder Co
specification: EN ISO 9809-1
service_pressure: 232 bar
test_pressure: 348 bar
water_volume: 12.2 L
material: steel
neck_thread: M25x2
valve: {outlet: din-200, thread: M25x2, rating: 232 bar, disc: none}
service: air
use: pool
status: in-service
requalified:
  - {on: 2019-03, method: hydrostatic, by: maker}
  - {on: 2025-02, method: hydrostatic, by: IT07}
inspected:
  - {on: 2026-03-01, by: IT07, checklist: annual, result: pass}
""",
    "cylinders/CL-08.yaml": """\
serial: 10/2207/116
maker: Example Cylinder Co
specification: EN ISO 9809-1
service_pressure: 300 bar
test_pressure: 450 bar
water_volume: 10 L
material: steel
neck_thread: M25x2
valve: {outlet: din-300, thread: M25x2, rating: 300 bar, disc: none}
service: air
use: pool
status: in-service
requalified:
  - {on: 2021-09, method: hydrostatic, by: maker}
  - {on: 2026-08, method: hydrostatic, by: IT07}
inspected:
  - {on: 2026-08, by: IT07, checklist: annual, result: pass}
""",
}  # fmt: skip

SOLO = {
    "tankbook.yaml": "ledger: Otter Point\nunits: psi\nrules: [us-dot]\nambient: 64 degF\noperator: LM\n",
    "cylinders/OP-1.yaml": """\
serial: K220101
maker: Example Cylinder Co
marks: DOT-3AL 3000 K220101 09A23
specification: DOT-3AL
service_pressure: 3000 psi
test_pressure: 5000 psi
size: al80
material: aluminium
alloy: 6061
neck_thread: 3/4-14 NPSM
valve: {outlet: yoke, thread: 3/4-14 NPSM, rating: 3000 psi, disc: 5000 psi}
service: air
use: rental
status: in-service
requalified: [{on: 2023-09, method: hydrostatic, by: maker}]
inspected: [{on: 2026-04-11, by: LM, checklist: annual, result: pass, sticker: issued}]
held:
  - {on: 2026-05-01, by: LM, why: valve stiff, released: 2026-05-03, released_by: LM, released_why: valve serviced}
rented:
  - {on: 2026-07-01, to: B-11, until: 2026-07-02, back: 2026-07-02, pressure: 500 psi, valve: closed, damage: handle bent}
""".replace("result: pass, sticker: issued}]", "result: pass, sticker: issued}, {on: 2026-07-03, by: LM, checklist: annual, result: pass, clears: [damage 2026-07-02]}]"),
    "fills/2026.csv": log(line("2026-07-10T10:00:00", "OP-1", from_="500 psi", to="2900 psi", by="LM", source="shop", position="")),
}  # fmt: skip

WALK_IN = edited(dict(BASE), ()) | {
    "cylinders/CU-300.yaml": """\
serial: T71190
marks: DOT-3AL 3000 T71190 06A20 06 Z418 25
specification: DOT-3AL
service_pressure: 3000 psi
material: aluminium
maker: Example Cylinder Co
alloy: 6061
valve: {outlet: yoke, rating: 3000 psi}
use: customer
service: air
owner: C-0300
status: in-service
requalified:
  - {on: 2020-06, method: hydrostatic, by: maker}
  - {on: 2025-06, method: hydrostatic, by: Z418, stamp: 06 Z418 25}
inspected:
  - {on: 2026-03, checklist: sticker-seen, result: pass, sticker: seen}
"""
}

MEMBRANE = edited(
    dict(BASE),
    (
        change(
            "station.yaml",
            "  max_pressure: 4500 psi\n  hours",
            "  max_pressure: 4500 psi\n  grade: oxygen\n  hours",
        ),
        logged(
            line(
                "2026-11-02T10:00:00",
                "RB-043",
                from_="700 psi",
                to="3300 psi",
                **{**NITROX, "source": "C1"},
            ),
            line(
                "2026-11-09T10:00:00",
                "RB-043",
                from_="900 psi",
                to="3320 psi",
                **{**NITROX, "source": "C1"},
            ),
        ),
    ),
)

GERMAN = {
    "tankbook.yaml": "ledger: Tauchbasis Beispielsee\nunits: bar\nrules: [de]\nambient: 12 degC\n",
    "station.yaml": """\
compressor: {name: K1, max_pressure: 330 bar, hours: [{on: 2026-11-20, reads: 700 h, by: HS}]}
air_tests:
  - {on: 2026-10-05, by: Beispiellabor, standard: en-12021-2014, result: pass, source: K1,
     oxygen: 20.9 %, co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, water: 20 mg/m3, odour: none}
""",
    "cylinders/BS-03.yaml": """\
serial: B-77-1204
maker: Beispiel Stahlflaschen
specification: EN ISO 9809-1
service_pressure: 232 bar
test_pressure: 348 bar
water_volume: 12 L
material: steel
stamp_means: next-due
neck_thread: M25x2
valve: {outlet: din-200, thread: M25x2, rating: 232 bar, disc: none}
service: air
use: rental
status: in-service
requalified:
  - {on: 2024-06, method: hydrostatic, by: maker}
  - {on: 2029-05, method: hydrostatic, by: TP12, tested: 2024-05, stamp: 29/05 F}
inspected:
  - {on: 2026-05-04, by: HS, checklist: annual, result: pass}
""",
}  # fmt: skip

NZ = UK | {
    "tankbook.yaml": UK["tankbook.yaml"].replace("rules: [uk]", "rules: [nz]"),
    "cylinders/CL-09.yaml": UK["cylinders/CL-07.yaml"]
    .replace("023", "024")
    .replace("EN ISO 9809-1", "EN ISO 7866")
    .replace("material: steel", "material: aluminium\nalloy: 6061")
    .replace("2025-02", "2026-02"),
}
AU = NZ | {
    "tankbook.yaml": UK["tankbook.yaml"].replace("rules: [uk]", "rules: [au]"),
    "cylinders/CL-09.yaml": NZ["cylinders/CL-09.yaml"]
    .replace("EN ISO 7866", "ISO 7866")
    .replace("2026-02", "2026-06"),
}

# fmt: off
HONEST = (
    *(Honest(f"sound-{i}", "the sound ledger", dict(BASE), i, *a) for i, a in ASKED.items()),
    Honest("sound-doubles", "doubles asked by the name of the set", dict(BASE), "DB-01", "nitrox32", "3442 psi"),
    Honest("uk-232-bar", "a shop in bar; tested in its second year ago", UK, "CL-07", upto="232 bar"),
    Honest("uk-300-bar", "300 bar steel", UK, "CL-08", upto="300 bar"),
    Honest("nz-en-iso-7866", "232 over 348 bar is what an EN ISO cylinder bears", NZ, "CL-09", upto="232 bar"),
    Honest("au-iso-7866", "232 over 348 bar is what an ISO cylinder bears", AU, "CL-09", upto="232 bar"),
    Honest("solo", "no station, and certifications are not kept", SOLO, "OP-1", upto="3000 psi"),
    Honest("walk-in", "a customer's quick card; nobody reads threads with the valve in", WALK_IN, "CU-300", upto="3000 psi"),
    Honest("membrane", "nitrox made by the compressor of oxygen grade", MEMBRANE, "RB-043", "nitrox32", "3442 psi"),
    Honest("german-next-due", "the stamp says when the next test is due", GERMAN, "BS-03", upto="232 bar"),
    of_base("inspected-this-month", "a month sticker of the current month", "RB-101", change("RB-101", "{on: 2026-02-09, by: MV, checklist: annual, result: pass, sticker: issued,\n     neck_thread: 3/4-14 NPSM, valve_thread: 3/4-14 NPSM}", "{on: 2026-11, by: MV, checklist: annual, result: pass, sticker: issued}")),
    of_base("month-sticker-to-its-end", "a month sticker runs to the end of its month", "ST-081", change("ST-081", "{on: 2025-12-08, by: MV", "{on: 2025-11, by: MV")),
    of_base("a-little-over", "3050 on a 3000 gauge", "RB-101", logged(line("2026-11-21T10:00:00", "RB-101", from_="600 psi", to="3030 psi", temperature="70 degF"))),
    of_base("read-hot", "3150 psi at 100 degF is less than 3000 at 70", "RB-101", logged(line("2026-11-21T10:00:00", "RB-101", from_="600 psi", to="3150 psi", temperature="100 degF"))),
    of_base("regulator-set-lower", "left there after the low-pressure steel", "RB-101", fact("station.yaml", "regulator_set: 2640 psi"), upto=""),
    of_base("permit-beside-a-plain-specification", "an old card's permit key changes nothing", "RB-101", fact("RB-101", "permit: {number: DOT-SP 99002, period: 5 years, test_pressure: 5000 psi, life_ends: none}")),
    of_base("regulator-named-anew", "it was higher, and is set to the limit now", "RB-101", fact("station.yaml", "regulator_set: 3442 psi")),
    of_base("rejected-on-the-wrong-card", "struck out by the inspector the next day", "ST-081", entry("ST-081", "rejected", "{on: 2026-10-05, by: MV, why: pits in a line, void: {why: wrong card, by: MV, on: 2026-10-06}}")),
    of_base("rejected-and-passed-after-all", "the requalifier's paper and the inspector name it", "ST-081", entry("ST-081", "rejected", "{on: 2026-10-05, by: MV, why: pits, lifted: 2026-11-10, lifted_by: MV, lifted_why: measured by the requalifier}"), entry("ST-081", "requalified", "{on: 2026-11-05, method: hydrostatic, by: Z418, stamp: 11 Z418 26, clears: [rejected 2026-10-05], finding: pits within limits}"), entry("ST-081", "inspected", "{on: 2026-11-10, by: MV, checklist: annual, result: pass, sticker: issued}"), logged(line("2026-11-21T10:00:00", "ST-081", "drain", from_="800 psi", to="0 psi", note="nobody knew what it was"))),
    of_base("a-year-typed-ahead-and-struck-out", "2062 for 2026, struck out by the inspector", "RB-101", entry("RB-101", "held", "{on: 2062-11-20, by: MV, why: wrong year, void: {why: wrong year and wrong card, by: MV, on: 2026-11-21}}")),
    of_base("a-little-over-and-bled", "over by less than a gauge may err, bled the same morning", "RB-101", logged(line("2026-11-21T10:00:00", "RB-101", from_="600 psi", to="2990 psi"), line("2026-11-21T10:20:00", "RB-101", "drain", from_="2990 psi", to="2940 psi"))),
    of_base("salt-water-washed-out", "found by the inspector, washed, dried and passed", "RB-101", entry("RB-101", "inspected", "{on: 2026-10-05, by: MV, checklist: annual, result: pass, sticker: issued, findings: [{step: water-inside, result: note, what: salt-water, note: washed and dried}]}")),
    of_base("yoke-marked-higher", "232 bar is what a marked yoke stands", "ST-081", change("ST-081", "outlet: din-300", "outlet: yoke")),
    of_base("edited-and-the-old-file-kept", "an editor's copy beside the record", "RB-041", lambda ledger: ledger.update({"sets/DB-01.yaml~": ledger["sets/DB-01.yaml"], "station.yaml.bak": ledger["station.yaml"]})),
    of_base("twins-told-apart", "two cylinders of nearly one serial, compared", "RB-101", *serial("F2O411"), fact("RB-101", "not_same: [{id: CD-501, by: MV, why: both at hand; O and 0 as stamped}]")),
    of_base("alloy-by-letter", "the maker's letter says what the notice does not", "CU-202", change("CU-202", "maker: Elder Cylinder Co", "maker: Elder Cylinder Co\nalloy: 6061\nalloy_known_from: maker's letter of 2024-02-09"), change("CU-202", "  - {on: 2023-09, method: eddy-current, by: Z418}\n", "")),
    of_base("words-of-absence", "a note that says what was not found", "RB-101", entry("RB-101", "inspected", "{on: 2026-10-05, by: MV, checklist: annual, result: pass, sticker: issued, note: dry and bright; no corrosion and no cracks}")),
    of_base("tightening-row", "a house rule that asks for more", "RB-103", change("rules/shop.yaml", "watch:\n", "  - id: shop.visual.pool\n    obligation: visual\n    applies_to: {use: [pool]}\n    period: 10 months\n    met_by: [inspection]\n    gate: refuse\n    basis: practice\n    citation: house rule\n    verified: memory\nwatch:\n")),
    of_base("loosened-practice", "a house rule that loosens practice, with who, why and since", "RB-101", change("rules/shop.yaml", "watch:\n", "  - id: bench.whip-check\n    subject: station\n    obligation: whip-check\n    period: 24 months\n    met_by: [check]\n    gate: warn\n    basis: practice\n    citation: house rule\n    verified: memory\n    by: MV\n    why: whips are indoors and new\n    since: 2025-01-10\nwatch:\n")),
    of_base("no-house-rules", "a ledger that never had any", "RB-101", gone("rules/shop.yaml")),
    of_base("windows-line-ends", "edited on another computer", "RB-101", lambda ledger: ledger.update({p: t.replace("\n", "\r\n") for p, t in ledger.items() if p.startswith("cylinders/")})),
    of_base("drained-and-looked-inside", "came back empty, and somebody looked", "RB-101", entry("RB-101", "rented", "{on: 2026-11-20, to: B-5602, until: 2026-11-22, back: 2026-11-22, pressure: 0 psi, valve: open}"), entry("RB-101", "inspected", "{on: 2026-11-23, by: MV, checklist: internal, result: pass}")),
    of_base("overfill-bled-and-released", "it happened, was held, looked at and let go", "RB-101", logged(line("2026-11-20T18:00:00", "RB-101", from_="600 psi", to="3520 psi", note="happened: regulator crept"), line("2026-11-20T18:20:00", "RB-101", "drain", from_="3520 psi", to="2900 psi")), entry("RB-101", "held", "{on: 2026-11-20, by: JO, why: overfilled to 3520 psi, released: 2026-11-23, released_by: MV, released_why: disc sound and no bulge}"), entry("RB-101", "inspected", "{on: 2026-11-23, by: MV, checklist: annual, result: pass, sticker: issued, clears: [held 2026-11-20]}")),
    Honest("in-git-and-grown", "a season's commits", grown(entry("RB-101", "rented", "{on: 2026-11-20, to: B-5602, until: 2026-11-22, back: 2026-11-22, pressure: 600 psi, valve: closed}")), "RB-101", upto="3000 psi", past=(dict(BASE), grown(entry("RB-101", "rented", "{on: 2026-11-20, to: B-5602, until: 2026-11-22}"), stands("RB-101", "out")))),
    Honest("house-rules-ended", "taken out of git on purpose, and told", grown(gone("rules/shop.yaml"), fact("tankbook.yaml", "removed:\n  - {on: 2026-11-20, by: MV, what: rules/shop.yaml, why: it repeated the shipped rows}")), "RB-101", upto="3000 psi", past=(dict(BASE),)),
    Honest("hold-on-the-wrong-card", "taken out of git, and told on the card", grown(fact("RB-101", "removed:\n  - {on: 2026-11-21, by: MV, what: held 2026-11-20, why: typed into the wrong card}")), "RB-101", upto="3000 psi", past=(dict(BASE), grown(entry("RB-101", "held", "{on: 2026-11-20, by: MV, why: dent}"), stands("RB-101", "held")))),
)
