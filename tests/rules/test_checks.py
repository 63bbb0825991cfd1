"""Every check, seeded once: `validate` lists it, and no answer is better than it.

The seeds are single things wrong with a sound cylinder; generated fleets mix them.
"""

from __future__ import annotations

import ast
import datetime as dt
import random
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

import books
import pytest
from books import GOOD, SETTINGS, STATION, TODAY, make_book, typed, with_lines
from changing import replace

from tankbook.acts.rent import Going, rent
from tankbook.gas import Gas
from tankbook.ledger import shipped
from tankbook.ledger.load import load
from tankbook.ledger.shipped import rule_set
from tankbook.output import explained
from tankbook.records.absence import Absence, Explained, Gone, Unproved, Unseen
from tankbook.records.book import Book, Comment
from tankbook.records.checklist import Checklist, ChecklistStep
from tankbook.records.counter import CounterFile
from tankbook.records.cylinder import Removed
from tankbook.records.node import EVERY_CYLINDER, Finding, Severity, Where
from tankbook.records.rulerow import Obligation
from tankbook.records.station import Reading
from tankbook.records.words import ChecklistGroup, Status
from tankbook.rules import checks
from tankbook.rules.answers import State
from tankbook.rules.bad_air import bad_air_of
from tankbook.rules.checks import CHECKS, Scope, check
from tankbook.rules.gate import may_fill
from tankbook.rules.hand_over import may_hand_over
from tankbook.rules.inforce import facts_of, rules_of
from tankbook.rules.leaving import against_leaving
from tankbook.rules.limits import limit_of
from tankbook.rules.recall import by_source
from tankbook.rules.spelling import ids_like, ids_near, looks_like
from tankbook.rules.status import status_of
from tankbook.rules.wording import speaks_of
from tankbook.units import GaugePressure

OLD = "{on: 2026-02-09, by: MV, checklist: annual, result: pass}"
FILL = "at=2026-11-20T09:30:00+01:00; cylinder=A; act=fill; to=2900 psi; gas=air; by=MV; source=C1"
RIN = "on: 2026-03, method: hydrostatic, by: T123"
STEEL = {
    "specification": "[DOT-3AA]", "material": "steel", "alloy": None,
    "service_pressure": "2400 psi", "test_pressure": "4000 psi",
    "valve": "{outlet: convertible, thread: 3/4-14 NPSM, rating: 3442 psi, disc: 4000 psi}",
}  # fmt: skip


@dataclass(frozen=True)
class Seed:
    """What makes one check fire on cylinder A."""

    card: dict[str, str | None] = field(default_factory=dict)
    log: str = ""
    others: dict[str, str] = field(default_factory=dict)
    sets: dict[str, str] = field(default_factory=dict)
    station: str | None = STATION
    settings: str = SETTINGS
    rules: str = ""
    change: Callable[[Book], Book] = lambda book: book

    def book(self) -> Book:
        cards = {"A": with_lines(GOOD, **self.card), **self.others}
        made = make_book(
            cards, log=self.log, sets=self.sets, station=self.station, settings=self.settings,
            own_rules=self.rules,
        )  # fmt: skip
        return self.change(made).as_known_on(TODAY)


def unread(path: str, **more: object) -> Callable[[Book], Book]:
    finding = Finding(Where(path, 2, 1), "unknown-key", "`colour` is not a key")
    return lambda book: replace(book, findings=(finding,), **more)


def at_counter(entry: str, kept: str = "stolen") -> Callable[[Book], Book]:
    """With an entry of what is recorded as stolen, or of another list of the counter's."""
    counter = typed(CounterFile, f"{kept}: [{entry}]", "counter.yaml")
    return lambda book: replace(book, counter=counter)


def inspected(entry: str) -> dict[str, str | None]:
    return {"inspected": f"[{OLD}, {{{entry}}}]"}


def requalified(entry: str) -> dict[str, str | None]:
    return {"requalified": f"[{{on: 2024-03, method: hydrostatic, by: maker}}, {{{entry}}}]"}


OWN = """
heading: Shop rules
rows:
  - {id: %s, obligation: %s, %sgate: %s, basis: practice, citation: shop, verified: memory}
"""


def own(id_: str, obligation: str, more: str = "", gate: str = "warn") -> str:
    return OWN % (id_, obligation, more, gate)


LOOSE = "applies_to: {state: [empty]}, by: MV, why: %s, since: 2026-01-01, "
TWIN = with_lines(GOOD, serial="k 118-204")
B = with_lines(GOOD, serial="K2")
VOID = "void: {why: wrong card, by: ZZ, on: 2026-03-02}"
RICH_BEFORE = "at=2026-11-18T09:30:00+01:00; cylinder=A; act=fill; to=2000 psi; gas=oxygen; o2=99.5 %; analysed_by=MV; by=MV"
ON_OXYGEN = f"{RICH_BEFORE}\n{FILL}; from=2000 psi"

FOR_BLENDS = {"service": "nitrox", "cleaned": "[{on: 2026-05-01, by: MV, to: oxygen}]"}
OXYGEN_STEP = FILL.replace("2900", "500").replace("gas=air", "gas=oxygen")

SOURCES = (
    STATION.replace("%", "%%")
    + "compressor: {name: C1}\nbanks: [{name: B1, water_volume: 48 L, working_pressure: 5000 psi, gas: air, period: 10 years, requalified: [{on: 2024-03, method: hydrostatic, by: T}], readings: [{on: 2026-11-24, pressure: %s}]}]\n"
)

NOTICED = "heading: Shop rules\nwatch:\n  - {id: shop.old, maker: [Otherworks], alloy: '6351', basis: practice, citation: shop, verified: memory}\n"

GOOD_VALVE = "{outlet: convertible, thread: 3/4-14 NPSM, rating: 3442 psi, disc: 5000 psi}"
OUT_LONG = "{on: 2026-06-01, to: B-1, back: 2026-06-10, pressure: 800 psi, valve: closed}"
HOME = "{on: 2026-06-01, to: T123, for: requalification, back: 2026-06-10, refitted: 2026-06-11, refitted_by: MV}"


def with_list(name: str, *groups: ChecklistGroup, said: str = "full") -> Callable[[Book], Book]:
    """With a checklist of the ledger's own that says it is full, or a look inside."""
    steps = tuple(
        ChecklistStep(name=f"step-{group}", group=group, look_for="anything") for group in groups
    )
    own = Checklist(id=name, full_=said == "full", inside_=said == "inside", steps=steps)
    return lambda book: replace(book, checklists={**book.checklists, name: own})


LENT = "[{on: 2026-06-01, to: B-1, back: 2026-06-05, pressure: 900 psi, valve: closed}]"
LATER = "{on: 2026-06-20, by: MV, checklist: annual, result: pass}"
WENT_LOST = "[{on: 2026-05-30, by: MV, found: 2026-06-08, found_by: MV, found_why: under a bench}]"
AT_REPAIR = "[{on: 2026-06-02, to: T123, for: repair, back: 2026-06-04, refitted: 2026-06-04, refitted_by: MV}]"


def looked(on: str, *more: str, by: str = "MV", **keys: str | None) -> Seed:
    """With a look of a day, and the entries given."""
    look = f"{{on: {on}, by: {by}, checklist: annual, result: pass}}"
    return Seed({"inspected": f"[{', '.join((OLD, look, *more))}]", **keys})


SEEDS: dict[str, Seed] = {
    "comment-not-judged": Seed(change=lambda b: replace(b, comments={"A": (Comment(Where("cylinders/A.yaml", 7, 20), "see Bob", behind=True, key="status"),)})),
    "comment-tells-against": Seed(change=lambda b: replace(b, comments={"A": (Comment(Where("cylinders/A.yaml", 7, 20), "condemned, see sheet", behind=True),)})),
    "broken-file": Seed(change=unread("cylinders/A.yaml", broken={"A": (Finding(Where("cylinders/A.yaml", 2, 1), "unknown-key", "x"),)})),
    "pending": Seed(change=lambda b: replace(b, findings=(Finding(Where(".tankbook/journal"), "pending", "Held A (MV, 2026-11-25 09:31) is not finished: permission is denied", touches=("A",)),))),
    "rules-unread": Seed(change=unread("rules/shop.yaml")),
    "log-unread": Seed(change=unread("fills/2026.csv")),
    "counter-unread": Seed(change=unread("counter.yaml")),
    "serial-stolen": Seed(change=at_counter("{on: 2026-11-20, by: MV, serial: K118204, why: a notice}")),
    "not-settled": Seed(change=at_counter("{on: 2026-11-20, by: MV, serial: Z1, why: a notice, found: 2026-11-19}")),
    "seen-no-more": Seed(
        card={"service": "nitrox", "rented": "[{on: 2026-11-21, to: C-1, until: 2026-11-28}]"}, log=FILL.replace("gas=air", "gas=nitrox32; o2=32 %; analysed_by=MV"),
        change=at_counter("{on: 2026-11-20, by: MV, reference: C-1, level: nitrox, void: {on: 2026-11-22, by: MV, why: another card}}", "certified"),
    ),
    "seen-by-nobody": Seed(change=at_counter("{on: 2026-11-20, by: ZZ, reference: C-1, level: nitrox}", "certified")),
    "incident-not-held": Seed(change=at_counter("{on: 2026-11-24, by: MV, what: it vented, cylinders: [{id: A}]}", "incidents")),
    "station-unread": Seed(station=None, change=unread("station.yaml")),
    "set-unread": Seed(change=unread("sets/D.yaml", broken_sets={"sets/D.yaml": ("A", "B")}), others={"B": B}),
    "audited-unread": Seed(change=unread("audited.yaml")),
    "checkpoint": Seed(change=lambda b: replace(b, absence=Absence(unproved=Unproved("its digest is not that of commit abc", "read all of it")))),
    "in-the-future": Seed({"condemned": "[{on: 2062-10-02, by: T123, why: burst}]"}),
    "vanished": Seed(change=lambda b: replace(b, absence=Absence(gone=(Gone("cylinders/A.yaml", "held 2026-02-09", ids=("A",), commit="abc"),)))),
    "removed-unsigned": Seed(change=lambda b: replace(b, absence=Absence(explained=(Explained(Gone("rules/shop.yaml", "rules/shop.yaml"), Removed(on=TODAY, by="ZZ", what="rules/shop.yaml", why="old")),)))),
    "removed-unsaid": Seed({"removed": "[{on: 2026-03-02, by: MV, what: held 2026-02-09, why: '-'}]"}),
    "not-compared": Seed(change=lambda b: replace(b, absence=Absence(unseen=(Unseen("", "git cannot be asked"),)))),
    "certification-ends-first": Seed(settings=SETTINGS.replace("from: 2020-01", "from: 2020-01, until: 2019-01")),
    "no-fill-rules": Seed(settings=SETTINGS.replace("us-dot", "eu-adr")),
    "notice-missing": Seed(change=lambda b: replace(b, rule_sets=tuple(replace(s, watch=s.watch[1:]) for s in b.rule_sets))),
    "pre-fill-look": Seed(change=lambda b: replace(b, rule_sets=tuple(replace(s, rows=tuple(r for r in s.rows if r.obligation is not Obligation.PRE_FILL_LOOK)) for s in b.rule_sets))),
    "risk-unsigned": Seed(settings=SETTINGS + "risk_assessed: {on: 2026-01, by: ZZ, document: binder 3}\n"),
    "row-unheard": Seed(rules=own("shop.one", "damage", "applies_to: {state: [dammage]}, ", "refuse")),
    "row-twice": Seed(rules=own("shop.one", "visual", "period: 6 months, met_by: [inspection], ", "refuse") + OWN.split("rows:")[1] % ("shop.one", "visual", "period: 3 months, met_by: [inspection], ", "refuse")),
    "row-loosens": Seed(rules=own("bench.standing.condemned", "standing", "applies_to: {state: [condemned]}, ")),
    "row-unnamed": Seed(rules=own("bench.returned.empty", "returned", "applies_to: {state: [empty]}, ")),
    "row-loosened": Seed(rules=own("bench.returned.empty", "returned", LOOSE % "we look into every valve")),
    "row-unknown": Seed(rules=own("us.no-such-row", "visual", "drop: yes, ")),
    "row-range": Seed(rules="heading: Shop rules\nwatch:\n  - {id: shop.call, maker: [Example], serial_from: K900, serial_to: K100, recall: return it, gate: refuse, basis: practice, citation: shop, verified: memory}\n"),
    "row-clears-alloy": Seed(rules="heading: Shop rules\nwatch:\n  - {id: shop.alloy, maker: [Example], alloy: '6061', basis: practice, citation: shop, verified: memory}\n"),
    "row-grants-plus": Seed(rules=own("shop.plus", "plus-fill", "applies_to: {specification: [DOT-3AL]}, share: 10 %, ")),
    "row-lax-air": Seed(rules=own("shop.air", "air-limits", "subject: station, applies_to: {standard: shop-air}, limits: {co: 900 ppm}, ")),
    "looked-at-while-away": Seed({"rented": LENT, "inspected": f"[{OLD}, {{on: 2026-06-03, by: MV, checklist: annual, result: pass}}]"}),
    "finding-passed": Seed({"inspected": f"[{OLD}, {{on: 2026-06-03, by: MV, checklist: annual, result: pass, findings: [{{step: cuts-and-dents, result: note, what: dent}}]}}]"}),
    "tested-while-away": Seed({"rented": LENT} | requalified("on: 2026-06-03, method: hydrostatic, by: T123")),
    "worked-on-while-away": Seed({"rented": LENT, "cleaned": "[{on: 2026-06-03, by: MV, to: oxygen}]"}),
    "mixed-unanalysed": Seed({"service": "oxygen"}, log=ON_OXYGEN),
    "reading-rises": Seed(log=FILL.replace("act=fill", "act=reading") + "; from=600 psi"),
    "note-says-overfilled": Seed(log=f"{FILL}; note=overfilled, bled down"),
    "made-in-doubt": Seed({"service": "oxygen"}, log=FILL + "; from=0 psi; gas=nitrox32; o2=32 %; analysed_by=MV; source=B1", station="banks: [{name: B1, gas: air, water_volume: 48 L, working_pressure: 4500 psi}]"),
    "made-otherwise": Seed({"service": "oxygen"}, log=FILL + "; from=0 psi; gas=nitrox32; o2=32 %; analysed_by=MV; source=B1", station="banks: [{name: B1, gas: oxygen, water_volume: 48 L, working_pressure: 4500 psi}]"),
    "cleaned-while-full": Seed({"cleaned": "[{on: 2026-11-21, by: MV, to: nitrox}]"}, log=FILL),
    "valve-off-while-full": Seed({"valve_work": "[{on: 2026-11-21, by: MV, did: serviced}]"}, log=FILL),
    "danger-under-pressure": Seed({"held": "[{on: 2026-11-23, by: MV, why: bulge on the wall}]"}, log=FILL),
    "let-go-unread": Seed({"held": "[{on: 2026-11-18, by: MV, why: belly, released: 2026-11-20, released_by: MV, released_why: looked over}]"}),
    "note-not-read": Seed({"jobs": "[{on: 2026-11-18, by: MV, work: [valve-service], note: valve does a strange blorp}]"}),
    "note-not-judged": Seed({"note": "flomps when Zoe has it"}),
    "note-leaks": Seed({"jobs": "[{on: 2026-11-18, by: MV, work: [valve-service], note: valve hisses}]"}),
    "card-says-overfilled": Seed({"note": "stood at 4800 psi once"}),
    "disc-let-go": Seed({"jobs": "[{on: 2026-11-18, by: MV, work: [valve-service], note: burst disc blew}]"}),
    "test-finding-unread": Seed(requalified(RIN + ", finding: bottle was blue")),
    "hold-says-overfilled": Seed({"held": "[{on: 2026-11-18, by: MV, why: overfilled, released: 2026-11-20, released_by: MV, released_why: bled down}]"}),
    "size-of-another-pressure": Seed({"size": "hp100", "water_volume": None}),
    "blend-unfinished": Seed(FOR_BLENDS, log=OXYGEN_STEP),
    "bank-test-says-failed": Seed(station=(SOURCES % "4400 psi").replace("by: T}", "by: T, finding: failed at 14 %}")),
    "job-elsewhere": Seed({"jobs": "[{on: 2026-11-01, by: MV, work: [hydro], steps: [{on: 2026-11-03, state: at-requalifier}]}]", "use": "customer", "owner": "C-1"}),
    "tested-by-nobody": Seed({"requalified": "[{on: 2024-03, method: hydrostatic, by: maker}, {on: 2026-03, method: hydrostatic, by: nobody}]"}),
    "went-out-while": Seed({"rented": LENT, "held": "[{on: 2026-05-30, by: MV, why: sticker illegible, released: 2026-06-08, released_by: MV, released_why: read again}]"}),
    "bad-air": Seed(log=FILL.replace("2026-11-20", "2026-11-06"), station="compressor: {name: C1}\nair_tests: [{on: 2026-11-05, result: fail}, {on: 2026-11-10, result: pass}]"),
    "filled-elsewhere": Seed({"rented": "[{on: 2026-11-21, to: B-1, back: 2026-11-23, valve: closed}]"}, log=FILL.replace("2900", "600") + "\nat=2026-11-24T09:30:00+01:00; cylinder=A; act=reading; to=2500 psi; by=MV"),
    "allows-too-much": Seed(settings=SETTINGS + "unexplained: 3000 psi\n"),
    "meter-backward": Seed(station=STATION + "compressor: {name: C1, hours: [{on: 2026-10-01, reads: 1656 h}, {on: 2026-11-01, reads: 165 h}]}"),
    "strange-void-by-nobody": Seed(log=FILL.replace("=A;", "=a;") + "\nat=2026-11-21T09:30:00+01:00; cylinder=a; act=void; voids=2026-11-20T09:30:00+01:00 a; note=typed twice; by=ZZ"),
    "hours-at-odds": Seed({"rented": "[{on: 2026-06-01, to: B-1, at: '08:00', back: 2026-06-01, pressure: 800 psi, valve: closed}]"}, log="at=2026-06-01T07:00:00+01:00; cylinder=A; act=reading; to=800 psi; note=back from B-1; by=MV"),
    "own-analysis-differs": Seed({"service": "nitrox", "rented": "[{on: 2026-11-21, to: C-1, until: 2026-11-28, analysed: {oxygen: 36 %}}]"}, log=FILL.replace("gas=air", "gas=nitrox32; o2=32 %; analysed_by=MV")),
    "set-own-analysis-differs": Seed(others={"B": B}, sets={"D": "cylinders: [A, B]\nisolator: open\nrating: 3442 psi\nrented: [{on: 2026-11-21, to: C-1, until: 2026-11-28, analysed: {oxygen: 36 %}}]\n"}, log=FILL.replace("=A;", "=D;").replace("gas=air", "gas=nitrox32; o2=32 %; analysed_by=MV")),
    "rental-halves-differ": Seed({"rented": "[{on: 2026-06-01, to: B-1, back: 2026-06-03, pressure: 800 psi, valve: closed}]"}, log="at=2026-06-03T07:00:00+01:00; cylinder=A; act=reading; to=700 psi; note=back from B-1; by=MV"),
    "set-rental-halves-differ": Seed(others={"B": B}, sets={"D": "cylinders: [A, B]\nisolator: open\nrating: 3442 psi\nrented: [{on: 2026-06-01, to: B-1, back: 2026-06-03, pressure: 800 psi, valve: closed}]\n"}, log="at=2026-06-03T07:00:00+01:00; cylinder=D; act=reading; to=700 psi; note=back from B-1; by=MV"),
    "set-hours-at-odds": Seed(others={"B": B}, sets={"D": "cylinders: [A, B]\nisolator: open\nrating: 3442 psi\nrented: [{on: 2026-06-01, to: B-1, at: '08:00', back: 2026-06-01, pressure: 800 psi, valve: closed}]\n"}, log="at=2026-06-01T07:00:00+01:00; cylinder=D; act=reading; to=800 psi; note=back from B-1; by=MV"),
    "rented-twice": Seed({"rented": f"[{OUT_LONG}, {{on: 2026-06-05, to: B-2, back: 2026-06-06, pressure: 800 psi, valve: closed}}]"}),
    "side-reads-otherwise": Seed(others={"B": B}, sets={"D": "cylinders: [A, B]\nisolator: open\nrating: 3442 psi\n"}, log=FILL.replace("=A;", "=D;") + "\nat=2026-11-21T09:30:00+01:00; cylinder=A; act=drain; to=0 psi; by=MV"),
    "set-rented-twice": Seed(others={"B": B}, sets={"D": f"cylinders: [A, B]\nisolator: open\nrating: 3442 psi\nrented: [{OUT_LONG}, {{on: 2026-06-05, to: B-2, back: 2026-06-20, pressure: 800 psi, valve: closed}}]\n"}),
    "lifted-early": Seed({"rejected": "[{on: 2026-03-01, by: MV, why: gouge, lifted: 2026-03-20, lifted_by: MV, lifted_why: passed there}]", "requalified": "[{on: 2024-03, method: hydrostatic, by: maker}, {on: 2026-03-25, method: hydrostatic, by: T123, stamp: 03 T123 26, clears: [rejected 2026-03-01]}]"}),
    "fitted-ahead": Seed(station=STATION + "whips: [{name: W1, fitted: 2028-03}]"),
    "name-twice": Seed(station=STATION + "positions: [{name: P1, kind: whip}, {name: P1, kind: whip}]"),
    "bank-gas-undated": Seed(station=(SOURCES % "4400 psi").replace("gas: air", "gas: nitrox32")),
    "part-unknown": Seed(station=STATION + "positions: [{name: P1, kind: whip, whip: W7}]"),
    "upkeep-no-interval": Seed(station=STATION + "upkeep: [{name: belts, what: belts}]"),
    "meter-stale": Seed(station=STATION + "compressor: {hours: [{on: 2026-01-02, reads: 99 h}, {on: 2026-02-02, reads: 101 h}]}\nupkeep: [{name: oil, what: oil, hours: 50 h, done: [{on: 2026-01-02, at: 99 h}]}]", log=FILL),
    "booster-fed": Seed(station=STATION + "boosters: [{name: BO1, from: [BO1]}]"),
    "booster-grade": Seed(station=STATION + "boosters: [{name: BO1, drives: [oxygen], grade: breathing}]"),
    "compressor-called": Seed(station=STATION + "compressors: [{name: C1}, {name: c1}]"),
    "oxygen-air-unproved": Seed(station=STATION + "compressor: {name: C1, grade: oxygen}"),
    "bank-no-period": Seed(station=STATION + "banks: [{name: B1, water_volume: 48 L, period: none, no_period: [{on: 2026-01-05, by: MV, why: tbd, document: folder 3}]}]"),
    "repair-unproven": Seed(station=STATION + "whips: [{name: W1, checked: [{on: 2026-10-01, result: fail, note: burst}, {on: 2026-10-02, repaired: taped}]}]"),
    "bank-no-paper": Seed(station=STATION + "banks: [{name: B1, water_volume: 48 L, period: none, no_period: [{on: 2026-01-05, by: MV, why: ASME vessel}]}]"),
    "certificate-changed": Seed(station=f"air_tests: [{{on: 2026-10-12, standard: cga-grade-e, result: pass, certificate: {{name: lab.pdf, sha256: {'0' * 64}}}}}]", change=lambda b: replace(b, papers={"lab.pdf": "1" * 64})),
    "bank-over": Seed(station=SOURCES % "5040 psi"),
    "bank-gas-unsure": Seed(station=(SOURCES % "4400 psi").replace("gas: air", "gas: air, raised: [{on: 2026-11-20, to: 4400 psi, source: 'elsewhere: oxygen'}]")),
    "filled-from-unknown": Seed(log=FILL + "; source=B1", station=(SOURCES % "4400 psi").replace("gas: air", "gas: air, raised: [{on: 2026-11-19, to: 4400 psi, source: 'elsewhere: argon'}]")),
    "air-untested": Seed(log=FILL + "; source=elsewhere: Quay"),
    "raised-from-nothing": Seed(station=(SOURCES % "4400 psi").replace("gas: air", "gas: air, raised: [{on: 2026-11-20, to: 4400 psi, source: X9}]")),
    "raised-beyond-reach": Seed(station=(SOURCES % "4400 psi").replace("name: C1", "name: C1, max_pressure: 3000 psi").replace("gas: air", "gas: air, raised: [{on: 2026-11-20, to: 4400 psi, source: C1}]")),
    "air-limits-unknown": Seed(station="air_tests: [{on: 2026-10-12, standard: no-such, result: pass}]"),
    "station-struck-out": Seed(station=STATION + "panel: {rating: 5000 psi}\ncompressor: {hours: [{on: 2026-01-02, reads: 99 h, void: {why: x, by: QQ, on: 2026-01-03}}]}"),
    "bank-stamp": Seed(station=(SOURCES % "4400 psi").replace("by: T}", "by: T123, stamp: 03 T123 19}")),
    "air-source-unknown": Seed(station=(SOURCES % "4400 psi").replace("result: pass", "source: C9, result: pass")),
    "air-not-for-diving": Seed(station="air_tests: [{on: 2026-10-12, standard: cga-grade-d, result: pass, co: 4 ppm}]"),
    "air-test-half": Seed(station="compressor: {name: C1}\nair_tests: [{on: 2026-09-12, source: C1, standard: cga-grade-e, result: pass, co: 14 ppm}, {on: 2026-10-12, source: C1, standard: cga-grade-e, result: pass, co2: 400 ppm}]"),
    "bank-sampled-otherwise": Seed(station="banks: [{name: N1, gas: nitrox32, water_volume: 50 L}]\nair_tests: [{on: 2026-10-12, source: N1, standard: cga-grade-e, result: pass, oxygen: 33.1 %}]"),
    "air-unmeasured": Seed(station="air_tests: [{on: 2026-10-12, standard: cga-grade-e, result: pass, oxygen: 20.9 %, co: 4 ppm}]"),
    "air-smells": Seed(station="air_tests: [{on: 2026-10-12, standard: cga-grade-e, result: pass, co: 4 ppm, odour: oil}]"),
    "meter-unread": Seed(station=STATION + "compressor: {hours: [{on: 2026-01-02, reads: 99 h}]}\nfilters: [{name: F1, life: 50 h, changed: [{on: 2026-09-02, at: 99 h}]}]"),
    "filled-with-nothing": Seed(log=FILL.replace("to=2900 psi", "from=600 psi; to=0 psi")),
    "filled-by-whom": Seed(log=FILL.replace("by=MV", "by=ZZ"), settings=SETTINGS.replace("from: 2020-01}", "from: 2020-01}, {skill: filler, from: 2020-01}")),
    "log-of-nobody": Seed(log=FILL.replace("=A;", "=Z;"), settings=SETTINGS + "removed: [{on: 2026-11-21, by: MV, what: sets/Z.yaml, why: taken apart}]\n"),
    "apart-and-not": Seed(sets={"D": "cylinders: [A, A]\napart: 2026-11-19"}),
    "set-apart": Seed(sets={"D": "cylinders: [A, B]\napart: 2026-11-19"}, others={"B": B}, log=FILL.replace("=A;", "=D;")),
    "unknown-cylinder-in-log": Seed(log=FILL.replace("=A;", "=Z;")),
    "void-of-nothing": Seed(log="at=2026-11-20T09:30:00+01:00; cylinder=A; act=void; voids=2026-11-19T09:30:00+01:00 A; note=x; by=MV"),
    "void-by-nobody": Seed(log=FILL + "\nat=2026-11-21T09:30:00+01:00; cylinder=A; act=void; voids=2026-11-20T09:30:00+01:00 A; note=typed twice"),
    "void-without-reason": Seed(log=FILL + "\nat=2026-11-21T09:30:00+01:00; cylinder=A; act=void; voids=2026-11-20T09:30:00+01:00 A; by=MV"),
    "edited-line": Seed(log=FILL + "\n" + FILL.replace("2900", "2800")),
    "line-twice": Seed(log=FILL + "\n" + FILL),
    "fill-above-bank": Seed(station=STATION + "banks: [{name: B1, water_volume: 48 L, period: 10 years, requalified: [{on: 2024-03, method: hydrostatic, by: T123}], readings: [{on: 2026-11-20, pressure: 2400 psi}]}]", log=FILL.replace("to=2900", "from=500 psi; to=2900").replace("C1", "B1")),
    "log-order": Seed(log=FILL + "\n" + FILL.replace("11-20", "11-19")),
    "fill-incomplete": Seed(log=FILL.replace("to=2900 psi; ", "")),
    "not-analysed": Seed({"service": "nitrox"}, log=FILL.replace("air", "nitrox32")),
    "analysed-otherwise": Seed(log=FILL + "; o2=36.0 %; analysed_by=MV"),
    "fill-falls": Seed(log=FILL.replace("to=2900", "from=2950 psi; to=2900")),
    "read-otherwise": Seed(log=FILL + "\nat=2026-11-21T09:30:00+01:00; cylinder=A; act=reading; to=2900 psi; o2=36.0 %; by=MV"),
    "line-before-made": Seed(log=FILL.replace("2026", "1926")),
    "over-limit": Seed(log=FILL.replace("2900", "6000")),
    "over-mark": Seed(log=FILL.replace("2900 psi", "3250 psi; temperature=130 degF")),
    "over-by-the-gauge": Seed(log=FILL.replace("2900", "3040")),
    "out-of-date": Seed({"inspected": "[{on: 2025-02-09, by: MV, checklist: annual, result: pass}]"}, log=FILL),
    "filled-while": Seed({"held": "[{on: 2026-11-10, by: MV, why: dent, released: 2026-11-22, released_by: MV, released_why: gauged}]"}, log=FILL),
    "filled-against-service": Seed(log=FILL.replace("gas=air", "gas=nitrox32; o2=32 %; analysed_by=MV")),
    "unexplained-contents": Seed(log=FILL.replace("2900", "500") + "\nat=2026-11-22T09:30:00+01:00; cylinder=A; act=reading; to=2500 psi; by=MV"),
    "set-size": Seed(sets={"D": "cylinders: [A, A]"}),
    "unknown-cylinder": Seed(sets={"D": "cylinders: [A, Z]"}),
    "side-misnamed": Seed(sets={"D": "cylinders: [a, B]"}, others={"B": B}),
    "in-two-sets": Seed(sets={"D": "cylinders: [A, B]", "E": "cylinders: [A, C]"}, others={"B": B, "C": with_lines(GOOD, serial="K3")}),
    "side-unknown": Seed(sets={"D": "cylinders: [B, Z]"}, others={"B": B}),
    "manifold-differs": Seed(sets={"D": "cylinders: [A, B]\nmanifold: isolation manifold, 2000 psi\nrating: 3442 psi"}, others={"B": B}),
    "set-note": Seed(sets={"D": "cylinders: [A, B]\nmanifold: isolation manifold, cracked"}, others={"B": B}),
    "checklist-hollow": Seed(change=with_list("annual", ChecklistGroup.OUTSIDE)),
    "thread-unnamed": Seed({"neck_thread": "3/4", "valve": GOOD_VALVE.replace("3/4-14 NPSM", "3/4")}),
    "neck-read-otherwise": Seed({"inspected": f"[{OLD.replace('}', ', neck_thread: M25x2}')}, {OLD.replace('02-09', '03-09').replace('}', ', neck_thread: SP12}')}]"}),
    "test-not-recorded": Seed({"sent": f"[{HOME}]", "inspected": f"[{OLD.replace('02-09', '06-12')}]"}),
    "unlike-pressures": Seed(sets={"D": "cylinders: [A, B]"}, others={"B": with_lines(B, service_pressure="3300 psi", test_pressure="5500 psi")}),
    "status": Seed({"status": "held"}),
    "before-made": Seed({"held": "[{on: 2020-01-02, why: dent, released: 2020-01-03, released_by: MV, released_why: x}]"}),
    "ends-before-start": Seed({"rented": "[{on: 2026-03-10, to: B-1, back: 2026-03-09}]"}),
    "two-first-tests": Seed(requalified("on: 2024-04, method: hydrostatic, by: maker")),
    "material-differs": Seed({"material": "steel", "alloy": None}),
    "thread-differ": Seed({"neck_thread": "M25x2"}),
    "thread-read-differs": Seed(inspected("on: 2026-03-01, by: MV, checklist: annual, result: pass, neck_thread: 3/4-14 NPSM, valve_thread: M25x2")),
    "alloy-against-notice": Seed({"made": "1985-06", "requalified": "[{on: 2024-03, method: hydrostatic, by: T123}]"}),
    "unknown-size": Seed({"size": "al8000"}),
    "permit": Seed({"permit": "{number: DOT-SP 99001}"}),
    "permit-number": Seed({"specification": "[DOT-SP 99002]", "permit": "{number: DOT-SP 99001, period: 5 years, test_pressure: 5000 psi, life_ends: 2035-05}"}),
    "no-rule": Seed({"specification": "[DOT-3AL, UN ISO 7866]", "requalified": "[{on: 2024-03, method: hydrostatic, by: T, total_expansion: 1 L, permanent_expansion: 0.01 L}]"}, change=lambda b: replace(b, rule_sets=tuple(replace(s, rows=tuple(r for r in s.rows if r.obligation is not Obligation.EXPANSION_LIMIT)) for s in b.rule_sets))),
    "test-pressure": Seed({"test_pressure": "4000 psi"}),
    "permit-test-pressure": Seed({"specification": "[DOT-SP 99001]", "permit": "{number: DOT-SP 99001, period: 5 years, test_pressure: 5500 psi, life_ends: 2035-05}"}),
    "tested-too-low": Seed(requalified(RIN + ", test_pressure: 4000 psi")),
    "expansion": Seed(requalified(RIN + ", total_expansion: 0.05 L")),
    "expansion-unlikely": Seed(requalified(RIN + ", total_expansion: 0.6 L, permanent_expansion: 0.01 L")),
    "test-failed": Seed({"requalified": "[{on: 2024-03, method: hydrostatic, by: maker}, {on: 2026-01, method: proof, by: T, result: fail}, {on: 2026-03, method: proof, by: T}]"}),
    "plus-on-aluminium": Seed(requalified(RIN + ", plus: yes")),
    "star": Seed(requalified(RIN + ", star: yes")),
    "eddy-on-6061": Seed(requalified("on: 2026-03, method: eddy-current, by: T123")),
    "inspection-not-passed": Seed({"inspected": f"[{OLD}, {{on: 2026-03-01, by: MV, checklist: annual, result: reject}}, {{on: 2026-03-02, by: MV, checklist: annual, result: pass}}]"}),
    "not-certified": Seed(inspected("on: 2026-03-01, by: ZZ, checklist: annual, result: pass")),
    "unknown-checklist": Seed(inspected("on: 2026-03-01, by: MV, checklist: anual, result: pass")),
    "ended-unsigned": Seed({"held": "[{on: 2026-03-01, why: dent, released: 2026-03-02}]"}),
    "struck-out-unsigned": Seed({"condemned": f"[{{on: 2026-03-01, by: T123, why: crack, {VOID}}}]"}),
    "clears-nothing": Seed(inspected("on: 2026-03-01, by: MV, checklist: annual, result: pass, clears: [rejected 2025-03-01]")),
    "lifted-on-nothing": Seed({"rejected": "[{on: 2026-03-01, by: MV, why: pit, lifted: 2026-03-02, lifted_by: MV, lifted_why: looked again}]"}),
    "no-marks": Seed(),
    "disc-too-low": Seed({"valve": "{outlet: convertible, thread: 3/4-14 NPSM, rating: 3442 psi, disc: 2500 psi}"}),
    "valve-work-unsigned": Seed({"valve_work": "[{on: 2026-03-01, by: ZZ, did: read, outlet: yoke}]"}),
    "valve-work-differs": Seed({"valve_work": "[{on: 2026-03-01, by: MV, did: serviced, bled: no-flow}]"}),
    "no-flow-released": Seed({"held": "[{on: 2026-03-01, by: MV, why: no flow, bled: no-flow, released: 2026-03-02, released_by: MV, released_why: no fault found}]"}),
    "valve-work-undated": Seed({"valve_work": "[{on: 2026-03, by: MV, did: changed, thread: 3/4-14 NPSM, outlet: yoke, rating: 3442 psi, disc: 5000 psi}, {on: 2026-03-09, by: MV, did: changed, thread: 3/4-14 NPSM, outlet: convertible, rating: 3442 psi, disc: 5000 psi}]"}),
    "made-up-struck-unsigned": Seed(others={"B": B}, sets={"D": "cylinders: [A, B]\nisolator: open\nrating: 3442 psi\nmade_up: [{on: 2026-03-01, by: MV, void: {why: of others, by: ZZ, on: 2026-03-02}}]\n"}),
    "made-up-differs": Seed(others={"B": B}, sets={"D": "cylinders: [A, B]\nisolator: open\nrating: 3442 psi\nmade_up: [{on: 2026-03-01, by: MV}, {on: 2026-04-01, by: MV}]\n"}),
    "insert-fits-nowhere": Seed({"valve": "{outlet: yoke, thread: 3/4-14 NPSM, rating: 3442 psi, insert: 3000 psi, disc: 5000 psi}"}),
    "ratings-unrecorded": Seed(station=STATION + "whips: [{name: W1, fitted: 2026-05}]"),
    "marks-condemned": Seed({"marks": "DOT-3AL XXXX K118204 03A24"}),
    "marks-pressure": Seed({"marks": "DOT-3AL2250 K118204 03A24"}),
    "marks-test-pressure": Seed({"marks": "DOT-3AL 3000 K118204 TP4000 03A24"}),
    "marks-serial": Seed({"marks": "DOT-3AL 3000 K118205 03A24"}),
    "marks-specification": Seed({"marks": "DOT-3AA 3000 K118204 03A24"}),
    "marks-first-test": Seed({"marks": "DOT-3AL 3000 K118204 03A14"}),
    "marks-retest": Seed({"marks": "DOT-3AL 3000 K118204 03A14 10 T123 18", **requalified(RIN), "made": None}),
    "marks-plus": Seed({**STEEL, "marks": "DOT-3AA 2400 K118204 03A24", "requalified": "[{on: 2024-03, method: hydrostatic, by: maker, plus: yes}]"}),
    "marks-thread": Seed({"marks": "DOT-3AL 3000 K118204 03A24 25P"}),
    "marks-alloy": Seed({"marks": "DOT-3AL 3000 K118204 03A24 AA6351"}),
    "marks-volume": Seed({"marks": "DOT-3AL 3000 K118204 03A24 7 L"}),
    "marks-life-end": Seed({"marks": "DOT-SP 99001-3000 K118204 03A24 FIN 2030/05", "specification": "[DOT-SP 99001]", "permit": "{number: DOT-SP 99001, period: 5 years, test_pressure: 5000 psi, life_ends: 2035-05}"}),
    "marks-unread": Seed({"marks": "DOT-3AL 3000 K118204 03A24 3HT1850"}),
    "stamp-date": Seed(requalified(RIN + ", stamp: 10 T123 21")),
    "stamp-plus": Seed(requalified(RIN + ", stamp: 03 T123 26 +")),
    "test-says-failed": Seed(requalified(RIN + ", finding: condemned at 12 %")),
    "marks-country": Seed({"made_in": "US", "marks": "DOT-3AL 3000 K118204 ENGLAND 03A24"}),
    "marks-permit": Seed({"marks": "DOT-SP 99001-3000 K118204 03A24", "specification": "[DOT-SP 99001, DOT-SP 99002]", "permit": "{number: DOT-SP 99002, period: 5 years, test_pressure: 5000 psi, life_ends: 2035-05}"}),
    "marks-material": Seed({"specification": "[BS 5045]", "material": "steel", "alloy": None, "marks": "BS5045 PART 3 WP 207 BAR TP 345 BAR K118204 2024/03"}),
    "stamp-eddy-current": Seed(requalified("on: 2026-03, method: hydrostatic, by: T123, stamp: 03 T123 26}, {on: 2026-03, method: eddy-current, by: T123")),
    "marks-gas": Seed({"marks": "DOT-3AL 3000 K118204 03A24 N2"}),
    "marks-made-of": Seed({"marks": "DOT-3AL 3000 K118204 03A24 NLL"}),
    "marks-say": Seed({"marks": "DOT-3AL 3000 K118204 03A24 NOT FOR USE"}),
    "marks-unexplained": Seed({"marks": "DOT-3AL 3000 K118204 03A24 QWERT"}),
    "marks-maker": Seed({"marks": "DOT-3AL 3000 K118204 OTHERWORKS 03A24"}, rules=NOTICED),
    "marks-other-serial": Seed({"marks": "DOT-3AL 3000 S/N 99999 03A24"}),
    "tested-differs": Seed(requalified(RIN + ", tested: 2019-03")),
    "permit-life": Seed({"specification": "[DOT-SP 99001]", "permit": "{number: DOT-SP 99001, period: 5 years, test_pressure: 5000 psi, life_ends: 2099-05}"}),
    "permit-renewal": Seed({"specification": "[DOT-SP 99001]", "permit": "{number: DOT-SP 99001, period: 5 years, test_pressure: 5000 psi, life_ends: 2035-05, renewed_until: 2126-10, paper: renewal in binder 2}"}),
    "permit-bounds": Seed({"specification": "[DOT-SP 99001]", "test_pressure": "4000 psi", "permit": "{number: DOT-SP 99001, period: 5 years, test_pressure: 4000 psi, life_ends: 2035-05}"}),
    "made-differs": Seed({"made": "2019-03"}),
    "sticker-voided": Seed({"inspected": "[{on: 2026-02-09, by: MV, checklist: annual, result: pass, sticker: voided}]"}),
    "specifications-differ": Seed({"specification": "[DOT-3AL, DOT-39]"}),
    "specification-unknown": Seed({"specification": "[DOT-3AL, XYZ-9]"}),
    "card-unread": Seed(change=lambda b: replace(b, findings=(Finding(Where("cylinders/A.yml"), "file-name", "it is not read"),))),
    "twin-unread": Seed(change=unread("cylinders/B.yaml", broken_cards={"cylinders/B.yaml": "serial: K118204"})),
    "stamp-by": Seed(requalified(RIN + ", stamp: 03 Z418 26")),
    "stamp-method": Seed(requalified(RIN + ", stamp: 03 T123 26 UE")),
    "stamp-condemned": Seed(requalified(RIN + ", stamp: CONDEMNED")),
    "stamp-unread": Seed(requalified(RIN + ", stamp: 03 T123 26 FAILED")),
    "plus-unstamped": Seed({**STEEL, **requalified(RIN + ", plus: yes")}),
    "name-left-behind": Seed(
        log=FILL.replace("=A;", "=Z;"),
        change=lambda book: replace(book, absence=Absence(renamed=(("Z", "A"),))),
    ),
    "former-id-taken": Seed({"formerly": "[A]"}),
    "serial-twin": Seed(others={"B": with_lines(TWIN, status="condemned", condemned="[{on: 2026-03-01, by: T, why: crack}]")}),
    "serial-alike": Seed({"serial": "F20O1I"}, others={"B": with_lines(GOOD, serial="F20011")}),
    "finding-not-accepted": Seed(inspected("on: 2026-03-01, by: MV, checklist: annual, result: pass, findings: [{step: boot, result: note, what: gouge, depth: 2 mm}]")),
    "finding-unmeasured": Seed(inspected("on: 2026-03-01, by: MV, checklist: annual, result: pass, findings: [{step: boot, result: note, what: gouge}]")),
    "finding-asks-inside": Seed(inspected("on: 2026-11-01, by: MV, checklist: outside, result: pass, findings: [{step: boot, result: note, what: salt-water}]"), change=lambda book: with_outside(book)),
    "done-elsewhere": Seed(inspected("on: 2026-03-01, by: MV, checklist: sticker-seen, result: pass, checked: [inside, outside], seen_by: MV, seen_on: 2026-03-02")),
    "sticker-of-another": Seed(inspected("on: 2026-03-01, by: MV, checklist: annual, result: pass, sticker: seen")),
    "reason-says-nothing": Seed({"held": "[{on: 2026-10-01, by: MV, why: boot torn, released: 2026-10-02, released_by: MV, released_why: '-'}]"}),
    "note-limits-pressure": Seed({"note": "max fill 2000 psi"}),
    "look-left-out": Seed(inspected("on: 2026-03-01, by: MV, checklist: annual, result: pass, note: 'dry, inside not seen'")),
    "note-asks-for-finding": Seed(inspected("on: 2026-03-01, by: MV, checklist: annual, result: pass, note: hairline crack at thread 2")),
}  # fmt: skip
"""The smallest thing that makes each check fire."""


def test_every_check_is_seeded() -> None:
    assert SEEDS.keys() == CHECKS.keys()


@pytest.mark.parametrize("code", SEEDS)
def test_each_check_is_told_and_refuses(code: str) -> None:
    book = SEEDS[code].book()
    declared = CHECKS[code]
    found = [f for f in checks.shared(book, TODAY) if f.code == code]
    found += [f for f in check(book, TODAY) if f.code == code]
    assert found, "it does not fire"
    assert all(
        list(Severity).index(f.severity) >= list(Severity).index(declared.gravity) for f in found
    )
    assert (
        max((f.severity for f in found), key=lambda s: -list(Severity).index(s)) is declared.gravity
    )
    told = {r.code: r.gate for r in may_fill(book, "A", TODAY, gas_of(code)).reasons}
    touching = [f for f in found if {"A", "D", EVERY_CYLINDER} & set(f.touches)]
    if any(f.severity is Severity.FAULT for f in touching):
        assert not may_fill(book, "A", TODAY, gas_of(code)).fillable
        assert told.get(code) == "refuse"
    elif any(f.severity is Severity.WARN for f in touching):
        assert told.get(code) == "warn"


@pytest.mark.parametrize("code", SEEDS)
def test_what_an_answer_tells_first_is_the_first_fault_of_all_that_touches(code: str) -> None:
    """Asking fewer checks leaves nothing out that could be told."""
    book = SEEDS[code].book()
    faults: dict[str, list[Finding]] = {}
    for id_, card in book.cylinders.items():
        sides = [n for n, each in book.sets.items() if id_ in each.cylinders]
        names = {id_, *sides, *(n for n, each in book.apart.items() if id_ in each.cylinders)}
        every = [f for f in checks.shared(book, TODAY) if names & set(f.touches)]
        every = [f for f in every if EVERY_CYLINDER not in f.touches]
        every += [*checks.of_card(book, card, TODAY), *checks.of_lines(book, id_, TODAY)]
        for name in sides:
            every += checks.of_set(book, book.sets[name], TODAY)
            every += checks.of_lines(book, name, TODAY)
        faults[id_] = [f for f in every if f.severity is Severity.FAULT]
    expected = {id_: found[0] for id_, found in faults.items() if found}
    again = SEEDS[code].book()  # nothing of it is remembered from above
    assert checks.touching(again, TODAY) == expected


@pytest.mark.parametrize(
    "path", sorted(Path(checks.__file__).parent.glob("*.py")), ids=lambda path: path.stem
)
def test_no_check_says_more_than_it_is_declared_to(path: Path) -> None:
    """What finds faults is declared so, and may say less: else it would not be asked for them."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and not _declares(node.func):
            given = [*node.args, *(keyword.value for keyword in node.keywords)]
            graver = [f"{path.name}:{each.lineno}" for each in given if _is_or_may_be_fault(each)]
            assert not graver, "declare it FAULT, and give the rest its WARN or ADVICE"


def _declares(called: ast.expr) -> bool:
    return isinstance(called, ast.Name) and called.id.startswith(("on_", "_on_"))


def _is_or_may_be_fault(given: ast.expr) -> bool:
    if isinstance(given, ast.IfExp):
        return _is_or_may_be_fault(given.body) or _is_or_may_be_fault(given.orelse)
    if isinstance(given, ast.Attribute):
        return given.attr == "FAULT"
    return isinstance(given, ast.Name) and given.id == "FAULT"


def gas_of(code: str) -> Gas | None:
    return Gas.parse("nitrox32") if code == "not-analysed" else None


HOT = "3250 psi; temperature=130 degF"


@pytest.mark.parametrize(
    ("to", "more", "told"),
    [
        (HOT, "", "over-mark"),
        ("3030 psi; temperature=130 degF", "", None),  # by no more than a gauge may err
        ("3250 psi; temperature=54 degF", "", "over-limit"),
        ("3250 psi", "", "over-limit"),
        ("3600 psi; temperature=130 degF", "", "over-limit"),
        # it was read when it was cool
        (HOT, "reading; to=2990 psi", None),
        (HOT, "reading; to=3000 psi", None),
        (HOT, "reading; to=3100 psi; temperature=120 degF", "over-mark"),
        (HOT, "drain; to=1000 psi", None),
    ],
)
def test_a_gauge_passes_no_mark_however_warm(to: str, more: str, told: str | None) -> None:
    log = FILL.replace("2900 psi", to)
    log += f"\nat=2026-11-21T08:00:00+01:00; cylinder=A; by=MV; act={more}" if more else ""
    found = {f.code for f in check(Seed(log=log).book(), TODAY)}
    assert found & {"over-mark", "over-limit"} == {told} - {None}
    looked = Seed({"inspected": f"[{OLD}, {LOOK % '2026-11-22'}]"}, log=log)
    assert "over-mark" not in {f.code for f in check(looked.book(), TODAY)}


EXPANDED = "[{on: 2024-03, method: hydrostatic, by: maker}, {on: 2026-03, method: hydrostatic, by: T123, total_expansion: 0.100 L, permanent_expansion: 0.0%s L}]"
ON_PAPER = "{number: DOT-SP 99001, period: 5 years, test_pressure: 5000 psi, life_ends: 2035-05%s}"


@pytest.mark.parametrize(
    ("specification", "permit", "most"),
    [
        # no more than any rule that was read allows
        ("[DOT-SP 99001]", ON_PAPER % "", 12),
        ("[DOT-SP 99001]", ON_PAPER % ", expansion_limit: 50 %", 12),
        ("[DOT-SP 99001]", ON_PAPER % ", expansion_limit: 11 %", 11),
        ("[DOT-SP 99001]", ON_PAPER % ", expansion_limit: 5 %", 5),
        ('["UN ISO 7866"]', None, 12),
        ('["EN ISO 7866"]', None, 12),
        ("[DOT-3AL]", None, 10),
    ],
)
def test_what_a_cylinder_may_keep_of_its_expansion(
    specification: str, permit: str | None, most: int
) -> None:
    for kept in (5, 6, 10, 11, 12, 13, 40):
        card = {
            "specification": specification,
            "permit": permit,
            "requalified": EXPANDED % f"{kept:02}",
        }
        found = {f.code for f in check(Seed(card).book(), TODAY)}
        assert ("expansion" in found) is (kept > most), kept


def test_an_unknown_air_standard_is_told_with_those_that_are_known() -> None:
    book = SEEDS["air-limits-unknown"].book()
    (found,) = [f for f in check(book, TODAY) if f.code == "air-limits-unknown"]
    assert found.mend.startswith(
        "name a standard that a rule row gives: cga-grade-e, en-12021-2014"
    )


def test_a_check_of_prices_or_bookings_touches_no_cylinder() -> None:
    quiet = {c.code for c in CHECKS.values() if c.scope in {Scope.LOG, Scope.SETTINGS}}
    for code in quiet:
        found = [f for f in check(SEEDS[code].book(), TODAY) if f.code == code]
        assert found
        assert all(f.touches == () for f in found), code


def test_every_check_says_what_it_reads_and_what_it_is_for() -> None:
    for each in CHECKS.values():
        assert each.doc, each.code
        assert each.reads, each.code


# --- the laws ------------------------------------------------------------------------------------

BARE = Seed().change
MIXED = [
    c
    for c, s in SEEDS.items()
    if s.card and not (s.log or s.others or s.sets or s.rules) and s.change is BARE
]


def _deck(random_: random.Random) -> Iterator[str]:
    """What may be wrong with a card, each once before any comes again."""
    while True:
        yield from random_.sample(MIXED, len(MIXED))


def fleet(random_: random.Random, deck: Iterator[str]) -> Book:
    """A fleet of cylinders, some with one or two things wrong, with a log and a set."""
    cards, rows = {}, []
    for n in range(6):
        changes: dict[str, str | None] = {"serial": f"Q{n}7{random_.randrange(100, 999)}"}
        for code in islice(deck, random_.choice((0, 0, 0, 1, 1, 2))):
            changes |= SEEDS[code].card
        cards[f"C{n}"] = with_lines(GOOD, **changes)
        if random_.random() < 0.4:
            code = random_.choice([c for c, s in SEEDS.items() if s.log])
            rows += [
                r.replace("=A;", f"=C{n};").replace(" A;", f" C{n};")
                for r in SEEDS[code].log.split("\n")
            ]
    sets = {"D": "cylinders: [C0, C1]"} if random_.random() < 0.5 else {}
    seed = SEEDS[random_.choice(list(SEEDS))] if random_.random() < 0.25 else Seed()
    others = {f"X{k}": v for k, v in seed.others.items()} if not seed.sets else {}
    book = make_book(
        {**cards, **others, "A": with_lines(GOOD, serial="Z1", **{k: v for k, v in seed.card.items() if k != "serial"})},
        log="\n".join(rows), sets=sets, station=seed.station, settings=seed.settings,
    )  # fmt: skip
    return seed.change(book).as_known_on(TODAY)


def test_no_fault_means_no_contradiction_and_a_fault_means_no_yes() -> None:
    random_ = random.Random(20261125)
    fired: Counter[str] = Counter()
    asked = yes = 0
    deck = _deck(random_)
    for _ in range(150):
        book = fleet(random_, deck)
        found = [*check(book, TODAY), *checks.shared(book, TODAY)]
        fired.update({f.code for f in found})
        faults = [f for f in found if f.severity is Severity.FAULT]
        for id_ in (*book.cylinders, *book.sets):
            sides = {id_, *(book.sets[id_].cylinders if id_ in book.sets else ())}
            sides |= {n for n, s in book.sets.items() if id_ in s.cylinders}
            answer = may_fill(book, id_, TODAY)
            touched = {f.code for f in faults if {EVERY_CYLINDER, *sides} & set(f.touches)}
            if touched:
                assert not answer.fillable, (id_, touched)
            for reason in answer.refusals:
                by_row = reason.row is not None or reason.where is None
                other_side = reason.code == "doubles-other-side"
                assert by_row or other_side or reason.code in touched, (id_, reason)
            asked += 1
            yes += answer.fillable
    assert yes >= asked / 5, (yes, asked)
    seeded = {c for c in MIXED if c != "no-rule"} | {"no-marks"}
    assert seeded <= fired.keys(), seeded - fired.keys()


# --- where a refusal comes from ------------------------------------------------------------------


def by_rows() -> set[str]:
    """The codes that a rule row speaks of: an obligation with its state, or the obligation."""
    dated = {f"{o}-{s}" for o in Obligation for s in (State.OVERDUE, State.MISSING)}
    return dated | set(STATES_CALLED)


STATES_CALLED = {
    "standing-held", "standing-out", "standing-at-test", "standing-at-repair", "standing-at-supplier", "standing-sold",
    "standing-rejected", "standing-condemned", "standing-lost", "standing-awaiting-inspection",
    "standing-awaiting-collection", "refused-before", "refused-found", "refused-leak", "noted-shell", "noted-gas", "let-go-not-read", "serial-not-read", "recorded-stolen", "neck-crack", "suspected-crack", "over-heated",
    "over-heated-steel", "damage-noted", "permit-missing-period", "permit-missing-test-pressure",
    "permit-missing-life-end", "permit-past-life-end", "material-unknown", "alloy-unknown",
    "thread-unknown", "thread-unread", "thread-differ", "not-refitted", "returned-empty", "returned-valve-open",
    "gas-service-unknown", "gas-not-for-service", "contents-differ", "ends-oxygen-clean", "not-oxygen-clean",
    "oxygen-clean-never", "oxygen-clean-lost", "oxygen-clean-lapsed", "oxygen-clean-unsure", "mark-required", "recalled",
    "fill-limit", "doubles-other-side", "isolator-shut", "regulator-above-limit",
    "regulator-unknown", "air-test-failed", "air-test-none", "row-dropped", "row-replaced",
    "plus-not-used", "valve-rating-unknown", "valve-rating-below", "insert-rating-below", "disc-unknown",
    "disc-above-test-pressure", "manifold-rating-below", "outlet-below", "outlet-unknown",
    "outlet-ceiling", "outlet-below-limit", "insert-unrecorded", "insert-rating-unread",
    "valve-rating-unread", "valve-rating-below-limit", "manifold-rating-unread",
    "manifold-rating-below-limit", "disc-none", "disc-low", "relief-device", "doubles-both-fill",
    "regulator-recorded-above-limit", "gauge-ceiling-below-limit",
    "gauge-ceiling", "row-loosened",
}  # fmt: skip
"""Codes of conditions: each is asked of the rows, and what no row answers is refused."""


def test_every_refusal_comes_from_a_row_or_a_declared_check() -> None:
    """Read off the source: every code that a reason can carry."""
    from pathlib import Path

    from tankbook.rules import chain, conditions, gate, test_pressure

    codes = set()
    for module in (conditions, gate, chain, test_pressure):
        tree = ast.parse(Path(module.__file__).read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") in {
                "Reason",
                "Condition",
            }:
                place = 2 if node.func.id == "Condition" else 0
                if len(node.args) > place and isinstance(node.args[place], ast.Constant):
                    codes.add(node.args[place].value)
    assert codes, "nothing was read"
    assert codes <= by_rows() | CHECKS.keys(), codes - by_rows() - CHECKS.keys()


def test_a_day_that_nobody_can_have_seen_counts_at_once_where_it_is_adverse() -> None:
    entries = {
        "condemned": "[{on: 2062-10-02, by: T123, why: burst}]",
        "rejected": "[{on: 2062-10-02, by: MV, why: pit}]",
        "held": "[{on: 2062-10-02, by: MV, why: dent}]",
        "lost": "[{on: 2062-10-02, by: MV}]",
        "inspected": f"[{OLD}, {{on: 2062-10-02, by: MV, checklist: annual, result: reject, findings: [{{step: neck-cracks, result: reject}}]}}]",
    }
    for key, text in entries.items():
        for day in (TODAY, dt.date(2026, 6, 1)):
            book = make_book({"A": with_lines(GOOD, **{key: text})}, station=None).as_known_on(day)
            codes = {r.code for r in may_fill(book, "A", day).refusals}
            assert "in-the-future" in codes, (key, day)
            assert len(codes) > 1, (key, day, codes)


@pytest.mark.parametrize(
    ("by", "on", "codes"),
    [("MV", "2026-11-20", set()), ("MV", "1999-01-01", {"struck-out-unsigned"}), ("ZZ", "2026-11-20", {"struck-out-unsigned"})],
)  # fmt: skip
def test_a_year_typed_ahead_is_struck_out_by_somebody_certified(
    by: str, on: str, codes: set[str]
) -> None:
    text = (
        f"[{{on: 2062-10-02, by: T123, why: burst, void: {{why: wrong card, by: {by}, on: {on}}}}}]"
    )
    book = make_book({"A": with_lines(GOOD, condemned=text)}).as_known_on(TODAY)
    assert {r.code for r in may_fill(book, "A", TODAY).refusals} == codes


@pytest.mark.parametrize("name", ["a", "A "])
def test_a_line_of_a_name_that_looks_like_it_touches_it(name: str) -> None:
    book = make_book({"A": GOOD}, log=FILL.replace("=A;", f"={name.strip()};"))
    refused = {r.code for r in may_fill(book, "A", TODAY).refusals}
    assert ("unknown-cylinder-in-log" in refused) is (name.strip() != "A")


@pytest.mark.parametrize(
    ("name", "like"),
    [
        *((name, ("RB-011",)) for name in ("011", "11", "RB-11", "RB-0011", "rb011", "RB-O11", "R8-011")),
        *((name, ("RB-011",)) for name in ("RB-011a", "RB-11B", "20411", "F20411", "f-20411", "F204l1")),
        *((name, ()) for name in ("2041", "204111", "RB-011-012", "RB-011ab", "120411")),
        ("12", ("SF-012",)),
        ("RB-111", ()),
        ("1", ("DB-01",)),
    ],
)  # fmt: skip
def test_ids_that_a_name_in_the_log_looks_like(name: str, like: tuple[str, ...]) -> None:
    serials = {looks_like("F20411"): ("RB-011",), looks_like("K77"): ("SF-012",)}
    assert ids_like(name, {"RB-011", "SF-012", "DB-01"}, serials) == like


@pytest.mark.parametrize(
    ("to", "refused"),
    [("3040 psi", False), ("3050 psi", False), ("3051 psi", True), ("3100 psi", True)],
)
def test_bleeding_mends_what_a_gauge_may_err_and_nothing_more(to: str, refused: bool) -> None:
    log = (
        FILL.replace("2900 psi", to)
        + "\n"
        + FILL.replace("fill", "drain").replace("09:30", "10:30")
    )
    book = make_book({"A": GOOD}, log=log)
    assert ("over-limit" in {r.code for r in may_fill(book, "A", TODAY).refusals}) is refused


LOST = "{on: 2026-09-01, by: MV, found: 2026-10-25, found_by: MV, found_why: under a bench}"
F1 = "{on: 2026-03-05, by: MV, checklist: annual, result: %s, findings: [{step: neck-threads, result: %s, what: %s%s}]}"
AGAINST_A_YES = [
    {"marks": "DOT-3AL TP3000 K118204 03A24", "test_pressure": None},
    {"marks": "DOT-3AL X3000X K118204 03A24"},
    *(
        {"marks": marks, "test_pressure": None}
        for marks in (
            "DOT-3AL 3000TP K118204 03A24", "DOT-3AL 3000 PSI TEST K118204 03A24", "DOT-3AL TEST 3000 K118204 03A24",
            "DOT-3AL 3000 COND K118204 03A24", "DOT-3AL 3000 CON-DEMNED K118204", "DOT-3AL 3000 K118204 VERSCHROTTET",
            "DOT-3AL 3000 K118204 crossed out", "DOT-3AL 3000 +++++ K118204 03A24", "DOT-3AL 3000 REJ. K118204",
            "DOT-3AL 3000 K118204 03A24 réformée",
        )
    ),
    {"marks": "DOT-3AL \u00d73000\u00d7 K118204 03A24"},
    {"marks": "DOT-3AL 3000 (X) K118204 03A24"},
    {"marks": "XXDOT-3AL 3000XX K118204 03A24"},
    {"marks": "DOT-3AL 3000 K118204 03A24 06 Z418 27"},
    {"marks": "DOT-3AL 3000 K118204 03A24 10/18"},
    {"marks": "DOT-3AL 3000+ K118204 03A24"},
    {"inspected": f"[{OLD}, {F1 % ('pass', 'pass', 'crack', '')}]"},
    {"inspected": f"[{OLD}, {F1 % ('pass', 'pass', 'gouge', ', depth: 3 mm')}]"},
    *(
        {"requalified": f"[{{on: 2019-03, method: hydrostatic, by: maker}}, {{{RIN}, stamp: {stamp}}}]", "marks": "DOT-3AL 3000 K118204 03A19"}
        for stamp in ("10 / 21", "10.21", "10 21", "Oct 21", "Oct 2021", "10 Z4l8 21", "03 T123 26 S")
    ),
    {"lost": f"[{LOST}]", "inspected": f"[{OLD}, {{on: 2026-10, by: MV, checklist: annual, result: pass}}]"},
]  # fmt: skip


@pytest.mark.parametrize("card", AGAINST_A_YES, ids=str)
def test_what_tells_against_a_cylinder_is_no_yes(card: dict[str, str | None]) -> None:
    assert not may_fill(make_book({"A": with_lines(GOOD, **card)}), "A", TODAY).fillable


AIR = "air_tests: [{on: 2026-09-12, standard: cga-grade-e, result: pass, oxygen: 20.9 %%, co: 1 ppm}, {on: 2026-10-12, standard: cga-grade-e, result: pass, oxygen: 20.9 %%, co: 14 ppm, void: {why: mistyped, by: %s, on: %s}}]"
NOTICE = "heading: Shop rules\nwatch:\n  - {id: shop.call, maker: [%s], serial_from: %s, serial_to: %s, recall: return it, gate: refuse, basis: practice, citation: shop, verified: memory}\n"
READ = "at=2026-11-20T09:30:00+01:00; cylinder=A; act=reading; to=500 psi; by=MV\nat=2026-11-21T09:30:00+01:00; cylinder=A; act=%s; from=500 psi; to=2500 psi; by=MV"
ANSWERED = "on: 2026-10-20, by: MV, checklist: annual, result: reject}, {on: %s, by: MV, checklist: annual, result: pass, clears: [inspected 2026-10-20]"
LOOSER = own(
    "bench.returned.empty",
    "returned",
    "applies_to: {state: [empty]}, by: %s, why: small place, since: 2026-01-01, ",
)
PERMIT = "{number: DOT-SP %s, period: 5 years, test_pressure: 5000 psi, life_ends: 2035-05}"
KEPT = "at=2026-11-20T09:30:00+01:00; cylinder=A; act=reading; from=500 psi; by=MV\nat=2026-11-23T09:30:00+01:00; cylinder=A; act=reading; to=2500 psi; by=MV"
SOLD = {"condemned": "[{on: 2026-03-01, by: T, why: crack}]"}

SEEDED_AGAINST: dict[str, tuple[Seed, bool]] = {
    "no expansion at all": (Seed(requalified(RIN + ", total_expansion: 0.0 L, permanent_expansion: 0.02 L")), False),
    "no expansion, none kept": (Seed(requalified(RIN + ", total_expansion: 0.0 L, permanent_expansion: 0.0 L")), False),
    "bad air struck out by a stranger": (Seed(station=AIR % ("ZZ", "2026-10-13")), False),
    "bad air struck out before it was tested": (Seed(station=AIR % ("MV", "1999-01-01")), False),
    "bad air struck out by an inspector": (Seed(station=AIR % ("MV", "2026-10-13")), True),
    "a line to come of an id that looks like it": (Seed(log=FILL.replace("=A;", "=a;").replace("2026", "2062")), False),
    "a reading that rises within its line": (Seed(log=READ % "reading"), False),
    "a rise in somebody else's keeping, after a line without an end": (Seed({"rented": "[{on: 2026-11-20, to: B-1, back: 2026-11-22, valve: closed}]"}, log=KEPT), True),
    "a rise after somebody else's keeping": (Seed({"rented": "[{on: 2026-11-20, to: B-1, back: 2026-11-22, valve: closed, pressure: 700 psi}]"}, log=KEPT), False),
    "a drain that rises": (Seed(log=READ % "drain"), False),
    "a set that names it by its tail": (Seed(sets={"D": "cylinders: [B-1, 07]"}, others={"B-1": B, "A-07": with_lines(GOOD, serial="K9")}), True),
    "a twin of a misspelt maker, to the day": (Seed({"made": None, "requalified": "[{on: 2024-03, method: hydrostatic, by: maker}]"}, others={"B": with_lines(TWIN, made=None, maker="Example Cylidner Co", requalified="[{on: 2024-03-01, method: hydrostatic, by: maker}]", **SOLD)}), True),
    "a twin of a maker in one word": (Seed(others={"B": with_lines(TWIN, maker="ExampleCylinderCo", **SOLD)}), False),
    "a notice of a maker in one word": (Seed(rules=NOTICE % ("ExampleCylinder", "K118200", "K118209")), False),
    "a notice, a serial with a hyphen": (Seed({"serial": "K-118204"}, rules=NOTICE % ("Example", "K118200", "K118209")), False),
    "a notice, a serial with O for 0": (Seed({"serial": "K1182O4"}, rules=NOTICE % ("Example", "K118200", "K118209")), False),
    "a notice, leading zeros lost": (Seed({"serial": "K204"}, rules=NOTICE % ("Example", "K000200", "K000209")), False),
    "a recall, and its maker is not written down": (Seed({"maker": None}, rules=NOTICE % ("Example", "K118200", "K118209")), False),
    "a twin, a blank of no width": (Seed(others={"B": with_lines(TWIN, serial="K118204\u200c", **SOLD)}), False),
    "a twin, in wide figures": (Seed(others={"B": with_lines(TWIN, serial="K\uff11\uff118204", **SOLD)}), False),
    "a permit, and a specification that only the shoulder says": (
        Seed(
            {
                "specification": None,
                "permit": PERMIT % "99001",
                "marks": "DOT-3AL 3000 K118204 03A24 03 T123 26",
            }
        ),
        False,
    ),
    "a composite of 3AL": (Seed({"material": "composite", "alloy": None, "permit": PERMIT % "99001"}), False),
    "a permit and its specification": (Seed({"specification": "[DOT-SP 99001]", "permit": PERMIT % "99001"}), True),
    "a permit by its older name": (Seed({"specification": "[DOT-E 99001]", "permit": PERMIT % "99001"}), True),
    "a permit of two countries": (Seed({"specification": "[DOT-SP 99001, TC-SU 5134]", "permit": PERMIT % "99001"}), True),
    "another permit than its specification": (Seed({"specification": "[DOT-SP 99001]", "permit": PERMIT % "99002"}), False),
    "a permit with a letter O in it": (Seed({"specification": "[DOT-SP 990O1]", "permit": PERMIT % "99001"}), False),
    "another valve thread, the neck n/a": (Seed(inspected("on: 2026-03-01, by: MV, checklist: annual, result: pass, neck_thread: n/a, valve_thread: M25x2")), False),
    "back empty, struck out by a stranger": (Seed({"rented": "[{on: 2026-11-20, to: B-1, back: 2026-11-22, pressure: 0 psi, valve: closed, void: {why: x, by: ZZ, on: 2026-11-24}}]"}), False),
    "a notice of a maker in Cyrillic letters": (Seed(rules=NOTICE % ("Ex\u0430mple", "K118200", "K118209")), False),
    "what was noted, struck out by a stranger": (Seed(inspected("on: 2026-03-01, by: MV, checklist: annual, result: pass, note: hairline crack at thread 2, void: {why: x, by: JO, on: 2026-03-02}"), settings=SETTINGS + "  JO: {}\n"), False),
    "a look of the same day answers": (Seed(inspected(ANSWERED % "2026-10-20")), True),
    "a look of a month may have been before": (Seed(inspected(ANSWERED % "2026-10")), False),
    "damage, and a look of a month": (Seed({"rented": "[{on: 2026-10-18, to: B-1, back: 2026-10-20, valve: closed, damage: dent}]", "inspected": f"[{OLD}, {{on: 2026-10, by: MV, checklist: annual, result: pass, clears: [damage 2026-10-20]}}]"}), False),
    "practice loosened by somebody of the place": (Seed(rules=LOOSER % "MV"), True),
    "practice loosened by nobody of the place": (Seed(rules=LOOSER % "ZZ"), False),
    "a notice of other serials": (Seed(rules=NOTICE % ("Example", "K118205", "K118209")), True),
    "a notice of longer serials": (Seed(rules=NOTICE % ("Example", "K18205", "K18209")), True),
    "a notice without an end in figures": (Seed(rules=NOTICE % ("Example", "K118200", "none")), False),
}  # fmt: skip


@pytest.mark.parametrize(
    ("name", "near"),
    [
        ("R-041", {"RB-041"}),
        ("RBB-041", {"RB-041"}),
        ("RB-401", {"RB-041"}),
        ("RB-049", set()),
        ("RN-041", {"RB-041"}),
        ("42", {"RB-042"}),
        ("RB-1O1", {"RB-101"}),
        ("ST-999", set()),
        ("A", set()),
        ("", set()),
    ],
)
def test_an_id_one_slip_away_is_near(name: str, near: set[str]) -> None:
    assert set(ids_near(name, ["RB-041", "RB-042", "RB-101", "ST-081", "A", "B"])) == near


@pytest.mark.parametrize("name", SEEDED_AGAINST)
def test_what_is_written_another_way_still_tells(name: str) -> None:
    seed, fillable = SEEDED_AGAINST[name]
    answer = may_fill(seed.book(), "A", TODAY)
    assert answer.fillable is fillable, [r.code for r in answer.refusals]


UNCERTIFIED = "{on: 2026-11-22, by: ZZ, checklist: annual, result: pass}, {on: 2026-11-23, by: MV, checklist: outside, result: pass}"
OVERFILL = (
    FILL.replace("to=2900", "to=4500")
    + "\nat=2026-11-20T10:00:00+01:00; cylinder=A; act=drain; from=4500 psi; to=2000 psi; by=MV"
)
STRUCK = "\nat=%s; cylinder=A; act=void; by=%s; voids=%s; note=mistyped"
OUT = "{on: 2026-11-20, to: B-1, back: 2026-11-22, valve: closed%s}"
READ_BACK = "at=2026-11-19T09:30:00+01:00; cylinder=A; act=reading; to=%s psi; by=MV\nat=2026-11-24T09:30:00+01:00; cylinder=A; act=reading; to=2500 psi; by=MV"
SUSPECTED = {
    "inspected": f"[{OLD}, {{on: 2026-10-01, by: MV, checklist: annual, result: hold, findings: [{{step: neck-cracks, result: hold, what: suspected-crack}}]}}, {{on: 2026-10-09, by: MV, checklist: annual, result: pass, clears: [inspected 2026-10-01]}}]"
}
FAILED = "on: 2026-05-03, method: hydrostatic, by: Z418, result: fail"
READ_AT = "at=2026-11-20T09:30:00+01:00; cylinder=A; act=reading; to=%s psi; by=MV"
BLED = "\nat=2026-11-20T10:30:00+01:00; cylinder=A; act=drain; to=2500 psi; by=MV"
BY_FILLER = "void: {why: typed wrongly, by: TO, on: 2026-11-25}"
WITH_FILLER = SETTINGS + "  TO: {certifications: [{skill: filler, from: 2020-01}]}\n"
REPAIRED = (
    "{on: 2026-06-01, to: N, for: repair, back: 2026-06-20, refitted: 2026-06-20, refitted_by: MV}"
)
LOOK = "{on: %s, by: MV, checklist: annual, result: pass}"
SINCE = LOOK.replace("}", ", clears: [returned 2026-06-20]}")
DAY_TRIP = "{on: 2026-06-20, to: B-1, back: 2026-06-20, pressure: 0 psi, valve: open}"
EMPTIED = "\nat=2026-11-20T18:30:00+01:00; cylinder=A; act=reading; to=0 psi; by=MV"
ALLOYS = {
    "made_in": None,
    "requalified": "[{on: 1985-05, method: hydrostatic, by: maker}, {on: 2024-05, method: hydrostatic, by: Z418, stamp: 05 Z418 24}]",
}


PASSED = FAILED.replace("fail", "pass") + ", clears: [requalified 2026-05-03], stamp: 05 Z418 26"
LOOKED_AT = "{on: 2026-10-20, by: MV, checklist: annual, result: %s%s}"
NAMED = ", clears: [inspected 2026-10-20]"
HELD = "[{on: 2026-10-18, by: MV, why: %s, released: 2026-10-21, released_by: MV, released_why: looked at it}]"
SUSPICION = "on: 2026-10-05, method: ultrasonic, by: %s, result: pass, clears: [suspected-crack 2026-10-01], finding: tool mark"


def with_outside(book: Book) -> Book:
    """With a checklist of the outside alone."""
    annual = book.checklists["annual"]
    steps = tuple(s for s in annual.steps if s.group is ChecklistGroup.OUTSIDE)
    outside = replace(annual, full_=False, inside_=False, steps=steps)
    return replace(book, checklists={**book.checklists, "outside": outside})


def suspected(finding: str) -> Seed:
    entry = f"on: 2026-10-05, method: ultrasonic, by: Z418, result: pass, clears: [suspected-crack 2026-10-01], finding: '{finding}'"
    return Seed({**SUSPECTED, **requalified(entry)})


def struck(
    by: str, at: str = "2026-11-21T09:00:00+01:00", key: str = "2026-11-20T09:30:00+01:00 A"
) -> str:
    return STRUCK % (at, by, key)


def noted(**keys: str) -> Seed:
    return Seed(dict(keys))


SCRAPPED = with_lines(
    GOOD, marks=None, condemned="[{on: 2026-05-01, by: T123, why: expansion}]", status="condemned"
)
CLEARED = next(
    w.maker[0]
    for w in rule_set("alloys").watch
    if w.alloy == "6061" and not w.made_from and w.maker
)
"""A maker that a public notice clears; only the watch list names it."""
SHOULDER = "DOT-3AL 3000 K118204 03A24"
SET = "cylinders: [A, B]\nmanifold: isolation manifold"


LOOKED = inspected("on: 2026-06-01, by: MV, checklist: quick, result: pass")
BACK_EMPTY = {
    **LOOKED,
    "rented": "[{on: 2026-05-20, to: B-1, back: 2026-05-22, pressure: 0 psi, valve: closed}]",
}
REJECTED = {
    "inspected": f"[{OLD}, {{on: 2026-05-01, by: MV, checklist: annual, result: reject}}, {{on: 2026-06-01, by: MV, checklist: quick, result: pass, clears: [inspected 2026-05-01]}}]"
}
LAPSED = {"inspected": "[{on: 2026-06-01, by: MV, checklist: quick, result: pass}]"}
ALL = (ChecklistGroup.OUTSIDE, ChecklistGroup.INSIDE, ChecklistGroup.THREADS)


@pytest.mark.parametrize(
    ("card", "said", "groups", "fillable"),
    [
        (LAPSED, "full", ALL, True),
        (LAPSED, "full", (ChecklistGroup.OUTSIDE,), False),
        (LAPSED, "full", (ChecklistGroup.INSIDE, ChecklistGroup.THREADS), False),
        (LAPSED, "full", (ChecklistGroup.OUTSIDE, ChecklistGroup.INSIDE), False),
        (LAPSED, "full", (), False),
        (LAPSED, "inside", ALL, False),
        (REJECTED, "full", ALL, True),
        (REJECTED, "full", (ChecklistGroup.OUTSIDE,), False),
        (BACK_EMPTY, "inside", (ChecklistGroup.INSIDE,), True),
        (BACK_EMPTY, "inside", (ChecklistGroup.OUTSIDE,), False),
        (BACK_EMPTY, "full", (ChecklistGroup.OUTSIDE, ChecklistGroup.THREADS), False),
    ],
)
def test_a_checklist_weighs_what_its_steps_look_at(
    card: dict[str, str | None], said: str, groups: tuple[ChecklistGroup, ...], fillable: bool
) -> None:
    book = Seed(card, change=with_list("quick", *groups, said=said)).book()
    answer = may_fill(book, "A", TODAY)
    assert answer.fillable is fillable, [r.code for r in answer.refusals]


def test_a_hollow_checklist_on_which_nothing_rests_touches_nothing() -> None:
    book = Seed(change=with_list("quick", ChecklistGroup.OUTSIDE)).book()
    (found,) = [f for f in check(book, TODAY) if f.code == "checklist-hollow"]
    assert found.touches == ()
    assert may_fill(book, "A", TODAY).fillable


@pytest.mark.parametrize(
    ("marked", "rating", "codes"),
    [
        ("isolation manifold, 3442 psi", "3442 psi", set()),
        ("isolation manifold, 232 bar", "3442 psi", set()),
        ("isolation manifold, 3,442 PSIG", "3442 psi", set()),
        ("isolation manifold", "3442 psi", set()),
        ("isolation manifold, 3442 psi", None, {"manifold-rating-unread"}),
        ("isolation manifold, 23.7 MPa", None, {"manifold-rating-unread"}),
        ("isolation manifold, 2000 psi", None, {"manifold-rating-unread", "manifold-rating-below"}),
        ("isolation manifold, 2,000 psi", "2000 psi", {"manifold-rating-below"}),
        ("isolation manifold, 2000psi", "3442 psi", {"manifold-differs"}),
        ("isolation manifold, 200 bar", "3442 psi", {"manifold-differs"}),
        ("isolation manifold, 300 bar", "3442 psi", {"manifold-differs"}),
        *(
            (f"isolation manifold, {mark}", "3442 psi", {"manifold-differs"})
            for mark in (
                "138 bars",
                "138b",
                "2000 lbs",
                "2000-psi",
                "2000 p.s.i.",
                "2000#",
                "2000 pounds",
                "140 kg/cm2",
                "138 atü",
                "WP 138",
                "PN138",
                "max 2000",
                "MAWP 2000",
            )
        ),
        ("isolation manifold, WP 3442", "3442 psi", set()),
        ("isolation manifold, PN 232", "3442 psi", set()),
        ("isolation manifold of 2019, no 4711", "3442 psi", set()),
    ],
)
def test_what_is_marked_on_a_manifold_is_heard(
    marked: str, rating: str | None, codes: set[str]
) -> None:
    text = f"cylinders: [A, B]\nisolator: open\nmanifold: {marked}\n"
    text += f"rating: {rating}\n" if rating else ""
    answer = may_fill(Seed(sets={"D": text}, others={"B": B}).book(), "D", TODAY)
    assert {r.code for r in answer.reasons if r.code.startswith("manifold")} == codes


@pytest.mark.parametrize(
    ("card", "text"),
    [
        (
            requalified(RIN + ", total_expansion: 0.06 L, permanent_expansion: 0.00601 L"),
            "passed with 10.02 % permanent expansion; the limit is 10 % (49 CFR 180.205(i)(1)(iv))",
        ),
        (
            {"valve": GOOD_VALVE.replace("5000", "4498")},
            "its burst disc is rated 4498 psi, 89.96 % of the test pressure 5000 psi",
        ),
        (
            {"valve": GOOD_VALVE.replace("5000", "4000")},
            "its burst disc is rated 4000 psi, 80 % of the test pressure 5000 psi",
        ),
    ],
)
def test_a_figure_beyond_its_limit_reads_so(card: dict[str, str | None], text: str) -> None:
    assert text in {r.text for r in may_fill(Seed(card).book(), "A", TODAY).reasons}


def test_a_card_without_a_specification_is_told_as_one() -> None:
    found = check(Seed({"specification": None}).book(), TODAY)
    assert "no rule row in force says the test pressure of a cylinder without a specification" in {
        f.text for f in found
    }


@pytest.mark.parametrize(
    ("key", "text", "told"),
    [
        ("note", "steel backplate, DIN 300", False),
        ("note", "no crack in the manifold", False),
        ("note", "A has a crack at the neck", True),
        ("note", "condemned", True),
        ("note", "do not fill", True),
        ("manifold", "isolation manifold, cracked", True),
        ("manifold", "isolation manifold, M25 threads", False),
        ("note", "isolator knob cracked and replaced", False),
        ("place", "rack by the fire door, heated room", False),
        ("place", "condemned pile", True),
        ("place", "rack 2", False),
    ],
)
def test_what_is_written_of_a_set_is_heard(key: str, text: str, told: bool) -> None:
    body = f"cylinders: [A, B]\nisolator: open\nrating: 3442 psi\n{key}: {text}"
    book = Seed(sets={"D": body}, others={"B": B}).book()
    for id_ in ("A", "D"):
        assert ("set-note" in {r.code for r in may_fill(book, id_, TODAY).warnings}) is told


@pytest.mark.parametrize(
    ("sides", "told"),
    [("[B]", True), ("[B, Z]", True), ("[B, D]", True), ("[B, C]", False), ("[A]", False)],
)
def test_any_cylinder_may_be_the_side_that_a_set_does_not_name(sides: str, told: bool) -> None:
    others = {"B": B, "C": with_lines(GOOD, serial="K3")}
    book = Seed(others=others, sets={"D": f"cylinders: {sides}"}).book()
    assert ("side-unknown" in {r.code for r in may_fill(book, "A", TODAY).warnings}) is told


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({}, True),
        (requalified("on: 2026-06, method: hydrostatic, by: T123"), False),
        (requalified("on: 2026-05, method: hydrostatic, by: T123"), True),
        ({"sent": f"[{HOME.replace('requalification', 'repair')}]"}, False),
        ({"sent": None}, False),
    ],
)
def test_what_a_requalifier_found_is_on_record(more: dict[str, str | None], told: bool) -> None:
    looked = f"[{OLD.replace('02-09', '06-12')}]"
    book = Seed({"sent": f"[{HOME}]", "inspected": looked, **more}).book()
    assert ("test-not-recorded" in {r.code for r in may_fill(book, "A", TODAY).warnings}) is told


def measured(standard: str, values: str) -> Seed:
    """With one air test that passed."""
    test = f"{{on: 2026-10-12, result: pass, standard: {standard}, {values}}}"
    return Seed(station=f"air_tests: [{test}]")


def metered(*read: tuple[str, float], at: float = 101, on: str = "2026-11-20") -> Seed:
    """With a compressor whose meter was read, and a filter that was changed."""
    hours = ", ".join(f"{{on: {day}, reads: {shown} h}}" for day, shown in read)
    filters = f"filters: [{{name: F1, life: 50 h, changed: [{{on: {on}, at: {at} h}}]}}]"
    return Seed(station=f"{STATION}compressor: {{name: C1, hours: [{hours}]}}\n{filters}\n")


MONTHLY = (("2026-09-30", 90.0), ("2026-10-31", 100.0))

FAILED_AIR = (
    "compressor: {name: C1}\nair_tests:\n"
    + "".join(
        f"  - {{on: {day}, source: C1, result: {result}, standard: cga-grade-e, co: {co} ppm}}\n"
        for day, result, co in (
            ("2026-10-20", "pass", 1), ("2026-11-05", "fail", 14), ("2026-11-10", "pass", 1),
        )
    )
)  # fmt: skip


def breathed(on: str, source: str = "C1", then: str = "") -> Seed:
    """With a fill of a day from a source that failed its test of 2026-11-05."""
    fill = FILL.replace("2026-11-20", on).replace("source=C1", f"source={source}")
    more = f"\nat=2026-11-12T09:30:00+01:00; cylinder=A; {then}; by=MV" if then else ""
    return Seed(log=fill + more, station=FAILED_AIR)


TOPPED = "act=fill; from=%s; to=2900 psi; gas=air; source=C1"


def walked_in(marks: str = "", valve: str = "", **more: str | None) -> Seed:
    """A customer's cylinder of which no thread is recorded."""
    thread = f", thread: {valve}" if valve else ""
    return Seed(
        {
            "use": "customer", "owner": "C-1", "neck_thread": None,
            "marks": f"DOT-3AL 3000 K118204 03A24 {marks}".strip(),
            "valve": f"{{outlet: convertible, rating: 3442 psi, disc: 5000 psi{thread}}}", **more,
        }
    )  # fmt: skip


HELD_TO = "[{on: 2026-11-18, by: MV, why: sticker illegible, released: %s, released_by: MV, released_why: read again}]"


REJECTED_TO = "[{on: 2026-11-18, by: MV, why: gouge, lifted: 2026-11-23, lifted_by: T123, lifted_why: within limits}]"


def of_a_set(isolator: str, held: str, fill: str = "cylinder=B", key: str = "held") -> Seed:
    """With a set that was filled by one of its sides while the other was held, or what `key` says."""
    return Seed(
        {key: held if held.startswith("[") else HELD_TO % held},
        log=FILL.replace("cylinder=A", fill), others={"B": B},
        sets={"D": f"cylinders: [A, B]\nisolator: {isolator}\nrating: 3442 psi\n"},
    )  # fmt: skip


def old_alloy(source: str, alloy: str = "'6061'") -> Seed:
    """An old cylinder that a notice may speak of, whose card says how its alloy is known."""
    return Seed(
        {
            "maker": None,
            "marks": None,
            "alloy": alloy,
            "alloy_known_from": f'"{source}"',
            "requalified": f"[{{on: 1985-03, method: hydrostatic, by: maker}}, {{{RIN}}}]",
        }
    )


CRACK_HELD = (
    f"[{OLD}, {{on: 2026-10-01, by: MV, checklist: annual, result: hold,"
    " findings: [{step: neck-cracks, result: hold, what: suspected-crack}]}]"
)


def renewed(paper: str) -> Seed:
    """A composite whose permit had an end, and was renewed by some paper."""
    card = {
        "specification": "[DOT-SP 9791]",
        "marks": "DOT-SP 9791-3000 K118204 03A24",
        "permit": "{number: DOT-SP 9791, period: 5 years, test_pressure: 5000 psi, life_ends: 2035-05,"
        f" expansion_limit: 5 %, renewed_until: 2029-08, paper: '{paper}'}}",
    }
    return Seed(card)


def european_card(specification: str) -> dict[str, str | None]:
    """The card of a European cylinder by a standard."""
    return {
        "specification": f"[{specification}]", "material": "steel", "alloy": None,
        "service_pressure": "200 bar", "test_pressure": "300 bar",
        "neck_thread": "M25x2",
        "valve": "{outlet: din-300, thread: M25x2, rating: 300 bar, disc: none}",
    }  # fmt: skip


def ends_on_label(text: str) -> Seed:
    """A composite whose permit ends in May 2035, with something more on its label."""
    card = {
        "marks": f"DOT-SP 99001-3000 K118204 03A24 {text}",
        "specification": "[DOT-SP 99001]",
        "material": "composite",
        "alloy": None,
        "permit": "{number: DOT-SP 99001, period: 5 years, test_pressure: 5000 psi,"
        " life_ends: 2035-05, expansion_limit: 5 %}",
    }
    return Seed(card)


def european(marks: str, test: str) -> Seed:
    """A steel cylinder of the EU, with what is stamped behind its serial and its newest test."""
    return Seed(
        {
            "specification": '["EN ISO 9809-1"]', "material": "steel", "alloy": None,
            "service_pressure": "232 bar", "test_pressure": "348 bar", "neck_thread": "M25x2",
            "valve": "{outlet: din-200, thread: M25x2, rating: 232 bar, disc: none}",
            "marks": f"EN ISO 9809-1 PW232 PH348 K118204 {marks}",
            "requalified": f"[{{on: 2018-05, method: hydrostatic, by: maker}}, {{on: {test}}}]",
        },
        settings=SETTINGS.replace("us-dot", "uk").replace("psi", "bar"),
    )  # fmt: skip


def read_twice(*read: str, settings: str = "") -> Seed:
    """With readings one after another, as `720 psi; temperature=70 degF`."""
    lines = (
        f"at=2026-11-2{n}T09:30:00+01:00; cylinder=A; act=reading; to={each}; by=MV"
        for n, each in enumerate(read)
    )
    return Seed(log="\n".join(lines), settings=SETTINGS + settings)


def analysed_twice(first: str, *later: str) -> Seed:
    """With a fill of nitrox32, and what was read of it since."""
    clean = {"service": "nitrox", "cleaned": "[{on: 2026-03-01, by: MV, to: nitrox}]"}
    fill = FILL.replace("gas=air", f"gas=nitrox32; o2={first}; analysed_by=MV")
    lines = (
        f"at=2026-11-2{n}T09:30:00+01:00; cylinder=A; act=reading; to=2900 psi; {each}; by=MV"
        for n, each in enumerate(later, start=1)
    )
    return Seed(clean, log="\n".join((fill, *lines)))


HELD_BY_THEN = "[{on: 2026-05-30, by: MV, why: sticker illegible, released: 2026-06-08, released_by: MV, released_why: read again}]"
CLEANED = "[{on: %s, by: MV, to: oxygen}]"
FITTED_THERE = HOME.replace("2026-06-11", "2026-06-08").replace("by: MV", "by: Northside")
AFTER_TEST = {
    "requalified": "[{on: 2024-03, method: hydrostatic, by: maker}, {on: 2026-06-05, method: hydrostatic, by: T123, stamp: 06 T123 26}]",
    "inspected": f"[{OLD}, {LATER}]",
}


def of_bank(test: str) -> Seed:
    """A station of one bank with such a test."""
    return Seed(station=(SOURCES % "4400 psi").replace("by: T}", f"{test}}}"))


def of_tester(by: str) -> Seed:
    """A card with a stamp of A123, and a test by somebody."""
    return Seed(requalified(f"on: 2026-03, method: hydrostatic, by: {by}, stamp: 03 A123 26"))


PERMIT_OF = {"specification": "[DOT-SP 99214]", "material": "composite"}


def of_permit(number: str, more: str = "") -> Seed:
    """A composite of DOT-SP 99214 with a permit."""
    permit = (
        f"{{number: {number}, period: 5 years, test_pressure: 5000 psi, life_ends: 2035-05{more}}}"
    )
    return Seed({**PERMIT_OF, "permit": permit})


ATTACKED: dict[str, tuple[Seed, bool]] = {
    # which permit it is, and its renewal
    "its permit": (of_permit("DOT-SP 99214"), True),
    "its permit's number alone": (of_permit('"99214"'), True),
    "its number with a letter": (of_permit("E99214"), True),
    "another's number alone": (of_permit('"99215"'), False),
    "another authority's permit": (of_permit("TC-SU 4567"), False),
    "renewed by a paper": (
        of_permit("DOT-SP 99214", ", renewed_until: 2028-08, paper: letter of 2025-08-31"),
        True,
    ),
    "renewed without a paper": (of_permit("DOT-SP 99214", ", renewed_until: 2028-08"), False),
    "renewed by a paper to come": (
        of_permit("DOT-SP 99214", ", renewed_until: 2028-08, paper: tbd"),
        False,
    ),
    "renewed by a paper that is lost": (
        of_permit("DOT-SP 99214", ", renewed_until: 2028-08, paper: not found"),
        False,
    ),
    # let go although it leaks
    "released for a leak that was not found": (
        Seed(
            {
                "held": "[{on: 2026-10-01, by: MV, why: bubbles, released: 2026-10-02, released_by: MV, released_why: sealed and tight}]"
            }
        ),
        True,
    ),
    # who tested, by the stamp
    "a bank's stamp of another tester": (of_bank("by: Z419, stamp: 03 Z418 24"), False),
    "a bank's stamp of its tester": (of_bank("by: Z418, stamp: 03 Z418 24"), True),
    "a bank's stamp with an X": (of_bank("by: Z418, stamp: 03 Z418 24 X"), False),
    "another number in a test house's name": (of_tester('"Mill Hydro (A124)"'), False),
    "another number before a name": (of_tester('"A124 Mill"'), False),
    "another number behind a word": (of_tester('"RIN A124"'), False),
    "its number in a test house's name": (of_tester('"Mill Hydro (A123)"'), True),
    "its number in small letters": (of_tester('"mill hydro, rin a123"'), True),
    "another number with a hyphen": (of_tester('"Mill Hydro (A-124)"'), False),
    "another number with a blank": (of_tester('"RIN: A 124"'), False),
    "its number with a hyphen": (of_tester('"Mill Hydro (A-123)"'), True),
    "an address that looks like a number": (of_tester('"Mill Hydro, Unit B204"'), True),
    "a hangar": (of_tester('"Hangar F100"'), True),
    "two numbers, one of them stamped": (of_tester('"A124 for A123"'), True),
    # what the log says of a set, of temperatures and of analyses
    "its other side filled after it was released": (of_a_set("open", "2026-11-19"), True),
    "risen by more than the setting at one temperature": (
        read_twice("500 psi; temperature=70 degF", "720 psi; temperature=70 degF"),
        False,
    ),
    "risen by less": (
        read_twice("500 psi; temperature=70 degF", "690 psi; temperature=70 degF"),
        True,
    ),
    "the same on a colder day": (
        read_twice(
            "2500 psi; temperature=90 degF",
            "2500 psi; temperature=20 degF",
            settings="unexplained: 100 psi\n",
        ),
        False,
    ),
    "warmed in the sun": (
        read_twice("2500 psi; temperature=50 degF", "2750 psi; temperature=95 degF"),
        True,
    ),
    "risen where one temperature was noted": (
        read_twice("500 psi", "720 psi; temperature=70 degF"),
        True,
    ),
    # what was somewhere else
    "looked at while it was out": (looked("2026-06-03", rented=LENT), False),
    "looked at on the day it went": (looked("2026-06-01", rented=LENT), True),
    "looked at on the day it came back": (looked("2026-06-05", rented=LENT), True),
    "looked at while it was out, and again": (looked("2026-06-03", LATER, rented=LENT), True),
    "looked at while it was lost": (looked("2026-06-03", lost=WENT_LOST), False),
    "looked at by the shop while it was at the repairer's": (
        looked("2026-06-03", sent=AT_REPAIR),
        False,
    ),
    "looked at there by the test house": (
        looked("2026-06-03", LATER, by="Northside", sent=AT_REPAIR),
        True,
    ),
    "rented while it was lost": (Seed({"rented": LENT, "lost": WENT_LOST}), False),
    "rented while it was lost, and looked inside": (
        looked("2026-06-20", rented=LENT, lost=WENT_LOST),
        True,
    ),
    "sent away while it was out": (Seed({"rented": LENT, "sent": AT_REPAIR}), False),
    "sent away on the day it was back": (
        looked(
            "2026-06-20",
            rented=LENT,
            sent=AT_REPAIR.replace("06-02", "06-05").replace("06-04", "06-06"),
        ),
        True,
    ),
    "a side out while its set is": (
        Seed(
            {"rented": LENT},
            others={"B": B},
            sets={
                "D": "cylinders: [A, B]\nisolator: open\nrating: 3442 psi\nrented: [{on: 2026-05-30, to: B-2, back: 2026-06-04, pressure: 900 psi, valve: closed}]\n"
            },
        ),
        False,
    ),
    # threads that nobody read
    "a walk-in without a thread": (walked_in(), True),
    "made in Italy, as stamped": (walked_in("MADE IN ITALY"), False),
    "made in no country that is known": (walked_in("MADE IN RURITANIA"), False),
    "made in the States, as stamped": (walked_in("MADE IN USA"), True),
    "a European taper on the crown": (walked_in("25E"), False),
    "a metric valve in an inch cylinder": (walked_in(valve="M25x2"), False),
    "an inch valve in it": (walked_in(valve="3/4-14 NPSM"), True),
    "stamped Italy, its valve read": (walked_in("MADE IN ITALY", "M25x2"), True),
    # air of a failed test
    "filled after the sample that failed": (breathed("2026-11-06"), False),
    "and drained": (breathed("2026-11-06", then="act=drain; to=0 psi"), True),
    "and let down only": (breathed("2026-11-06", then="act=drain; to=500 psi"), False),
    "and topped": (breathed("2026-11-06", then=TOPPED % "500 psi"), False),
    "and looked inside": (
        replace(
            breathed("2026-11-06"),
            card=inspected("on: 2026-11-09, by: MV, checklist: annual, result: pass"),
        ),
        False,
    ),
    "and looked inside, heard to bleed": (
        replace(
            breathed("2026-11-06"),
            card=inspected("on: 2026-11-09, by: MV, checklist: annual, result: pass, bled: heard"),
        ),
        True,
    ),
    "before the sample that failed": (breathed("2026-11-04"), False),
    "before it, and topped till a twentieth is left": (
        breathed("2026-11-04", "", TOPPED % "140 psi"),
        False,
    ),
    "before it, and topped once": (breathed("2026-11-04", "", TOPPED % "1400 psi"), False),
    "from who knows where before it": (breathed("2026-11-04", ""), False),
    # to leave out where it came from is no way round
    "from who knows where after it": (breathed("2026-11-06", ""), False),
    "filled on the day of the good one": (breathed("2026-11-10"), True),
    "filled from somewhere else": (breathed("2026-11-06", "Elsewhere"), True),
    # the hour meter, which a filter change reads too
    "a filter changed between two readings": (metered(*MONTHLY), True),
    "a filter changed at less than was read": (metered(*MONTHLY, at=99), False),
    "a filter changed at more than was read since": (metered(*MONTHLY, on="2026-10-15"), False),
    "no reading since, for longer than ever": (
        metered(("2026-10-01", 99), ("2026-10-04", 100)),
        False,
    ),
    "the only reading is older than the filter": (metered(("2026-10-31", 100)), False),
    # what an air test measured
    "air of 15 % oxygen": (measured("osha-1910-430", "oxygen: 15 %, co: 1 ppm"), False),
    "air of 30 % oxygen": (measured("norway-5-5", "oxygen: 30 %, co: 1 ppm"), False),
    "air with the oxygen of air": (measured("osha-1910-430", "oxygen: 20.9 %, co: 1 ppm"), True),
    "the leaflet's CO by mass": (measured("hse-divers-air", "co: 3.5 mg/m3"), True),
    "the leaflet's CO by volume": (measured("hse-divers-air", "co: 3 ppm"), True),
    "more than the leaflet's CO by mass": (measured("hse-divers-air", "co: 3.6 mg/m3"), False),
    "CO by mass where only ppm are known": (measured("cga-grade-e", "co: 3 mg/m3"), False),
    # what stands on the shoulder itself
    **{
        f"its marks: {marks}": (Seed({"marks": marks}), fillable)
        for marks, fillable in (
            ("XDOT-3AL3000X K118204 03A24", False),
            ("(X)DOT-3AL 3000 K118204 03A24", False),
            ("DOT-3AL 3000 K118204 03A24 X-X", False),
            ("DOT-3AL 3000 K118204 03A24 \u2612", False),
            ("DOT-3AL 3000 K118204 03A24 F.A.I.L.", False),
            ("DOT-3AL 3000 K118204 03A24 NOTFORUSE", False),
            ("DOT-3AL 3000 K118204 03A24 NICHT F\u00dcLLEN", False),
            ("DOT-3AL 3000 K118204 03A24 NO GOOD", False),
            ("DOT-3AL 3000 K118204 03-NG-24", True),
            ("DOT-3AL 3000 K118204 03A24 RUSTY ANCHOR DIVERS", True),
            ("DOT-3AL 3000 K118204 03A24 TANK NO 7", True),
            ("DOT-3AL 3000 K118204 03NG24", True),  # an inspector's sign
            ("DOT-3AL 3000 K118204 ECC 03A24 HEAT 77.4 CU FT", True),
            ("UN 1002 DOT-3AL 3000 K118204 03A24", True),
            ("DOT-3AL 1800/3000 K118204 03A24", False),
            ("DOT-3AL 3000/5000 K118204 03A24", True),
            ("DOT-3AL S.P. 1800 T.P. 3000 K118204 03A24", False),
            ("DOT-3AL 1800 PSI WP 3000 PSI TP K118204 03A24", False),
            ("DOT-3AL 3000 PSI WP 5000 PSI TP K118204 03A24", True),
            ("DOT-3AL 3000 K118204 03A24 MAX 2250 PSI", False),
            ("DOT-3AL 3000 K118204 03-A-15", False),
            ("DOT-3AL 3000 K118204 03-15-A", False),
            ("DOT-3AL 3000 K118204 O3A15", False),
            ("DOT-3AL 3000 K118204 03A2?", True),
            ("DOT-3AL 3000 K118204 03*15", False),
            ("DOT-3AL 3000 K118204 MAR 15", False),
            ("DOT-3AL 3000 K118204 14 MAR 2024", True),
            ("DOT-3AL 3000 K118204 3/15/2015", False),
            ("DOT-3AL 3000 K118204 03A24 03A15", False),
            ("DOT-3AL 3000 K118204 03A24 08/26", True),  # newer: to be recorded
        )
    },
    # a date that is not read as the first makes no later test the first one
    **{
        f"first test as {first}": (
            Seed({"marks": f"DOT-3AL 3000 K118204 {first} 03/26", **requalified(RIN)}),
            True,
        )
        for first in ("2024", "III/2024", "03.24", "MAR 2024", "")
    },
    **{
        f"its marks as well: {marks}": (Seed({"marks": marks, **card}), fillable)
        for marks, card, fillable in (
            ("DOT-3AL 3000 K118204 S/N K118205 03A24", {}, False),
            ("DOT-3AL 3000 ABK118204 03A24", {}, False),
            ("DOT-3AL 3000 ECCK118204 03A24", {}, True),
            ("DOT-3AL 3000 K118204-2 03A24", {}, False),
            ("DOT-3AL 3000 9B12345 03A24", {"serial": "9B12345"}, True),
            ("DOT-3AL 3000 K118204 DATE:03A15", {}, False),
            ("DOT-3AL:1800 K118204 03A24", {}, False),
            ("DOT-3AL 1800? K118204 03A24", {}, False),
            ("DOT-3AL 3000 K118204 03A24", {"service_pressure": "3030 psi"}, False),
            ("DOT-3AL 3000 K118204 03A24 TP 4500", {"test_pressure": None}, False),
            ("DOT-3AL 3000 K118204 03A24", {"test_pressure": None}, True),
            ("DOT-3AL 3000 K118204 03A24 M25x2", {"neck_thread": None, "use": "customer"}, False),
            ("DOT-3AL 3000 K118204 03A24 EXPIRES 06/26", {}, False),
        )
    },
    **{
        f"one VE for two tests, stamps {one} and {two}": (
            Seed(
                {
                    "marks": "DOT-3AL 3000 K118204 03A24 03 T123 26 VE",
                    **requalified(
                        f"{RIN}{one}}}, {{on: 2026-03, method: eddy-current, by: T123{two}"
                    ),
                }
            ),
            True,
        )
        for one, two in (
            ("", ""),
            (", stamp: 03 T123 26", ", stamp: 03 T123 26 VE"),
            (", stamp: 03 T123 26 VE", ", stamp: 03 T123 26 VE"),
            ("", ", stamp: 03 T123 26 VE"),
        )
    },
    # who made it, where and of what, as notices and twins ask
    **{
        f"a maker in the marks: {marks}": (
            Seed({"marks": f"DOT-3AL 3000 {marks} 03A24"}, rules=NOTICED),
            False,
        )
        for marks in ("K118204-OTHERWORKS", "OTHERWORKS/K118204", "K118204 (OTHERWRKS)")
    },
    **{
        f"an alloy in the marks: {marks}": (
            Seed({"marks": f"DOT-3AL 3000 {marks} 03A24"}),
            "6351" not in marks,
        )
        for marks in (
            "K118204 6351A",
            "K118204 A6351",
            "K118204-6351",
            "K118204 6351/T6",
            "K118204 6061-T6",
        )
    },
    **{
        f"an old alloy, known otherwise from: {source}": (
            Seed(
                {
                    "maker": None,
                    "marks": None,
                    "alloy_known_from": source,
                    "requalified": f"[{{on: 1985-03, method: hydrostatic, by: maker}}, {{{RIN}}}]",
                },
            ),
            "letter" in source,
        )
        for source in ("unknown", "guess", "'?'", "n/a", "letter of the maker of 2024-03-02")
    },
    **{
        f"made in the US, and stamped {marks}": (
            Seed({"made_in": "US", "marks": f"DOT-3AL 3000 K118204 {marks} 03A24"}),
            marks == "USA",
        )
        for marks in ("ENGLAND", "MADE IN UK", "AUSTRALIA", "USA")
    },
    # a set that was taken apart for a while: the other side's fill is its own alone
    **{
        f"its other side filled while it was {key} for itself: {entry}": (
            of_a_set("open", entry, key=key),
            True,
        )
        for key, entry in (
            ("held", HELD_TO % "2026-11-23"),
            (
                "rented",
                "[{on: 2026-11-18, to: B-9, back: 2026-11-22, pressure: 700 psi, valve: closed}]",
            ),
        )
    },
    "its other side filled while it was rejected": (
        of_a_set("open", REJECTED_TO, key="rejected"),
        False,
    ),
    # the sign of the test station behind its date
    **{
        f"stamped {sign} behind the date, tested by {by}": (
            european(f"2018/05 2024/09 {sign}", f"2024-09, method: hydrostatic, by: '{by}'"),
            fillable,
        )
        for sign, by, fillable in (
            ("Q112", "Q112", True),
            ("Q112", "Kelp Test Q112", True),
            ("B901", "B901", True),
            ("Q112", "Kelp Test", True),  # a warning: nothing says whose it is
            ("Q112", "Q113", False),
            ("Q12", "Kelp Test Q13", False),
            ("Q12", "Q13 Kelp", False),
            ("Q12", "A1 Hydro", True),
            ("K-12", "K-13", False),
            ("0099", "0098", False),
            ("99", "Kelp 98", True),  # a warning: the number may be of its name
            ("0099", "Route 66 Hydro", True),
        )
    },
    # month, mark and year, or a full day
    **{
        f"stamped {marks} in the EU, tested 2024-09": (
            european(f"2018/05 {marks}", "2024-09, method: hydrostatic, by: Mill"),
            fillable,
        )
        for marks, fillable in (
            ("09 Q12 24", True),
            ("2024 Q12 09", True),
            ("2024/09/15", True),
            ("15.09.2024", True),
            ("09 Q12 23", False),
            ("2023 Q12 09", False),
            ("2023/09/15", False),
            ("2023 Q12 09 2024/09", True),  # an older one
        )
    },
    **{
        f"stamped {marks}, tested 2023-10": (
            Seed(
                {"marks": f"DOT-3AL 3000 K118204 02K18 {marks}"}
                | {
                    "requalified": "[{on: 2018-02, method: hydrostatic, by: maker}, {on: 2023-10, method: hydrostatic, by: Mill}]"
                }
            ),
            fillable,
        )
        for marks, fillable in (("10A23", True), ("10A21", False), ("10 21", True))
    },
    # a stamp that is not the one on the shoulder
    **{
        f"stamped {marks} on the shoulder, and {stamp} beside the test": (
            Seed(
                {"marks": f"DOT-3AL 3000 K118204 02K18 {marks}"}
                | {
                    "requalified": f"[{{on: 2018-02, method: hydrostatic, by: maker}}, {{on: 2023-10, method: hydrostatic, by: Mill, stamp: {stamp}}}]"
                }
            ),
            fillable,
        )
        for marks, stamp, fillable in (
            ("10 T123 23", "10 T123 23", True),
            ("9 T123 23", "10 T123 23", False),
            ("8 T123 23", "10 T123 23", False),
            ("11 T123 23", "10 T123 23", False),
            ("5 T123 23", "10 T123 23", True),
            ("9 T123 23 10 T123 23", "10 T123 23", True),  # both are on the shoulder
            ("10 T123 18", "10 T123 23", True),  # an older one
        )
    },
    # whose name or sign a word on the shoulder is
    **{
        f"stamped {mark}, owner {owner}": (
            Seed({"marks": f"DOT-3AL 3000 K118204 03A24 {mark}", "owner": owner}),
            fillable,
        )
        for mark, owner, fillable in (
            ("CRACKNELL", None, True),  # a warning: nothing says whose name it is
            ("P. CRACK", "P. Crack", True),
            ("REJ", "REJ", True),
            ("REJ", "REJ Divers", False),
            ("RETIRED NAVY", "Retired Navy Divers", True),
            ("RETIRED", "Retired Navy Divers", False),
            ("REFUSE BAY", "Refuse Bay", True),
            ("NO AIR BARS DIVE CLUB", "No Air Bars Dive Club", True),
            ("NO AIR", "No Air Bars Dive Club", False),
            ("NO AIR CLUB", "No Air Bars Dive Club", False),
            ("OUT OF SERVICE", "Out Of Service Dogs", False),
            ("VOIDS DIVING", "Voids Diving", True),
            ("VOID", "Avoid Divers", False),
            ("CONDEMNED", "Condemned", False),
            ("CONDEMNED", "Karl Condemned", False),
            ("SCHROTT", "Karl Schrott", True),
            ("K. SCHROTT", "Karl Schrott", True),
            ("SCHROTT", "Schrott Dive Club", False),
            ("SCHROTT", "Schrott Karl", False),  # the name before it, or a word of another
            ("HOLE", "P. Hole", True),
            ("VOIDT", "Anna Voidt", True),
            ("REJ", "A. Rej", False),  # short enough to be a sign
            ("RETIRED", "US Navy Retired", False),
            ("XXX CLUB", "XXX Club", False),
            ("CRACK", "Firecrackers", False),
        )
    },
    # what no note talks away
    **{
        f"stamped {mark}, and a note that says by whom": (
            Seed(
                {
                    "marks": f"DOT-3AL 3000 K118204 03A24 {mark}",
                    "note": f"engraved {mark} by the club",
                }
            ),
            fillable,
        )
        for mark, fillable in (
            ("FILL NO MORE", False),
            ("LAST FILL 2020", False),
            ("NO LONGER FILLED", False),
            ("NO MORE BUBBLES", True),
            ("O.O.U", False),
            ("BUOY -0.4", True),
        )
    },
    "stamped CRACK, by a maker whose name holds it": (
        Seed({"marks": "DOT-3AL 3000 K118204 03A24 CRACK", "maker": "Crackling Works"}),
        False,
    ),
    **{
        f"stamped {mark}, and a note that repeats it": (
            Seed(
                {"marks": f"DOT-3AL 3000 K118204 03A24 {mark}", "note": f'"the owner\'s, {mark}"'}
            ),
            False,
        )
        for mark in (
            "NEVER REFILL",
            "NOT TO USE",
            "NOT PASS",
            "DID NOT PASS",
            "KEEP EMPTY",
            "REFUSED",
            "LEAKED",
            "LEAK AT NECK",
            "OVERHEATED",
            "DEFORMED",
            "SPLIT",
            "PIN HOLE",
            "OOT",
            "O.O.T.",
            "RISSE",
            "UNDICHT",
            "NICHT ZU F\u00dcLLEN",
            "NICHT MEHR F\u00dcLLEN",
            "SPERRE",
            "AU\u1e9eER BETRIEB",
            "CRACKING",
        )
    },
    **{
        f"sign {sign} behind {before}, tested by {by}": (
            Seed(
                {
                    "marks": f"DOT-3AL 3000 K118204 03A24 {before} {sign}",
                    **requalified(
                        f'on: 2026-03, method: hydrostatic, by: {by}, stamp: "{before} {sign}"'
                    ),
                }
            ),
            fillable,
        )
        for sign, before, by, fillable in (
            ("REJ", "03/26", "R E Jones", True),
            ("COND", "03/26", "Condor Test", True),
            ("VIS", "03/26", "Vale Inspection Services", True),
            ("REJ", "03/26", "Northside Test House", False),
            ("FAIL", "03/26", "Failsworth Test House", False),  # no sign: it says so in full
            ("VOID", "03/26", "Voiding Works", False),
            ("X", "03/26", "X Test House", False),
        )
    },
    "a sign of a test that stands elsewhere": (
        Seed(
            {
                "marks": "DOT-3AL 3000 K118204 REJ 03A24 03/26",
                **requalified('on: 2026-03, method: hydrostatic, by: R E Jones, stamp: "03/26"'),
            }
        ),
        False,
    ),
    **{
        f"a stamp with {more}": (Seed(requalified(f'{RIN}, stamp: "03 T123 26{more}"')), more == "")
        for more in ("", " X", " --", " OOT", " REFUSED")
    },
    # whoever tested, by the mark behind the date of a test without a number
    **{
        f"station {marked} in the marks, {stamp} beside the test of {by}": (
            Seed(
                {
                    "marks": f"DOT-3AL 3000 K118204 03A24 2026/03 {marked}",
                    **requalified(
                        f'on: 2026-03, method: hydrostatic, by: {by}, stamp: "2026/03 {stamp}"'
                    ),
                }
            ),
            fillable,
        )
        for marked, stamp, by, fillable in (
            ("Q12", "Q12", "Northside Test House", True),
            ("Q12", "Q13", "Northside Test House", False),
            ("Q12", "Q13", "Q13", False),
            ("Q12", "", "Q13", False),
            ("Q12", "", "Q12", True),
            ("Q12", "", "Northside Test House", True),
            ("TUV Q12", "Q12", "Northside Test House", True),
            ("<IS3>", "IS3", "Northside Test House", True),
            ("NTH", "NTH", "Northside Test House", True),
        )
    },
    **{
        f"a notice that clears, and the maker {maker}": (
            Seed(
                {
                    "maker": maker,
                    "alloy": None,
                    "marks": None,
                    "requalified": f"[{{on: 1985-03, method: hydrostatic, by: maker}}, {{{RIN}}}]",
                },
            ),
            maker.startswith(CLEARED) and not maker.endswith("?"),
        )
        for maker in (CLEARED, f"{CLEARED} Cylinders", f"not {CLEARED}", f"{CLEARED} ?")
    },
    **{
        f"a twin as {written}": (Seed(others={"B": with_lines(SCRAPPED, serial=written)}), False)
        for written in ("ECC K118204", "K118204-ECC", "ECCK118204", "N\u00b0 K118204")
    },
    # the stamp that is of this test
    "a number for visual inspection only": (
        Seed(requalified(RIN.replace("T123", "V1234") + ", stamp: 03 V1234 26")),
        False,
    ),
    **{
        f"marks {suffix}, and a stamp without it": (
            Seed(
                {
                    "marks": f"DOT-3AL 3000 K118204 03A24 03 T123 26 {suffix}",
                    **requalified(RIN + ", stamp: 03 T123 26"),
                }
            ),
            suffix == "",
        )
        for suffix in ("E", "UE", "")
    },
    **{
        f"a stamp that says {word}": (Seed(requalified(f"{RIN}, stamp: 03 T123 26 {word}")), False)
        for word in ("not passed", "no good", "out of test")
    },
    # a look, a strike and an answer count only for what they are
    "an overfill, looked at by nobody certified": (
        Seed({"inspected": f"[{OLD}, {UNCERTIFIED}]"}, log=OVERFILL),
        False,
    ),
    "an overfill, looked at by somebody certified": (
        Seed({"inspected": f"[{OLD}, {UNCERTIFIED.replace('ZZ', 'MV')}]"}, log=OVERFILL),
        True,
    ),
    "found, and looked at by nobody certified": (
        Seed(
            {
                "lost": "[{on: 2026-10-01, by: MV, found: 2026-10-20, found_by: MV, found_why: pier}]",
                "inspected": f"[{OLD}, {UNCERTIFIED}]",
            }
        ),
        False,
    ),
    # threads: a size without its kind names none, and one thread has many spellings
    "a size without its kind, on neck and valve": (
        noted(neck_thread="3/4", valve=GOOD_VALVE.replace("3/4-14 NPSM", "3/4")),
        False,
    ),
    "the same thread as valve 1": (
        noted(
            neck_thread="same as valve 1",
            valve=GOOD_VALVE.replace("3/4-14 NPSM", "same as valve 1"),
        ),
        False,
    ),
    "a walk-in whose neck is a size without its kind": (
        noted(neck_thread="3/4", use="customer", valve=GOOD_VALVE.replace("3/4-14 NPSM", "M25x2")),
        False,
    ),
    "an inspector who read a size without its kind": (
        Seed(inspected("on: 2026-03-01, by: MV, checklist: annual, result: pass, neck_thread: 25")),
        False,
    ),
    "a walk-in with M25x2 on its crown and a 3/4 valve": (
        Seed({"neck_thread": None, "use": "customer", "marks": f"{SHOULDER} M25x2"}),
        False,
    ),
    "a walk-in with 3/4 on its crown and an M25 valve": (
        Seed(
            {
                "neck_thread": None,
                "use": "customer",
                "marks": f"{SHOULDER} 3/4-14 NPSM",
                "valve": GOOD_VALVE.replace("3/4-14 NPSM", "25P"),
            }
        ),
        False,
    ),
    "a walk-in with its valve's thread on its crown": (
        Seed({"neck_thread": None, "use": "customer", "marks": f"{SHOULDER} (SP12)"}),
        True,
    ),
    **{
        f"a thread stamped {mark}": (noted(marks=f"{SHOULDER} {mark}"), False)
        for mark in ("M25", "M25-2", "M25x2-6H", "(M25x2)", "(25P)", "G3/4", "3/4-16 UNF")
    },
    **{
        f"a neck of {thread}": (noted(neck_thread=f"'{thread}'"), fillable)
        for thread, fillable in {
            '3/4" NPSM': True,
            '3/4"-14 NPSM': True,
            ".750-14 NPSM": True,
            "\u00be NPSM": True,
            "3/4-14 NPSM (SP12)": True,
            "3/4-14 NPSM (25P)": False,
            "3/4-16 UNF": False,
            "3/4 NPSM or M25x2": False,
            "3/4 BSP": False,
            "3/4-14 NGT": False,
            "1 3/4 NPSM": False,
        }.items()
    },
    # what is written of a set
    "a manifold marked lower than its rating": (
        Seed(sets={"D": f"{SET}, 2000 psi\nrating: 3442 psi"}, others={"B": B}),
        False,
    ),
    "a manifold marked too low, its rating not recorded": (
        Seed(sets={"D": f"{SET}, 2,000 psi"}, others={"B": B}),
        False,
    ),
    "a manifold marked with two pressures": (
        Seed(sets={"D": f"{SET}, W.P. 140 bar, T.P. 237 bar\nrating: 237 bar"}, others={"B": B}),
        False,
    ),
    "the set itself, its manifold marked in bar": (
        Seed(sets={"D": f"{SET}, 232 bar\nrating: 3442 psi\nisolator: shut"}, others={"B": B}),
        False,
    ),
    # figures at their edge
    "a test at the edge of what a gauge tells": (
        Seed(requalified(RIN + ", test_pressure: 4950 psi")),
        True,
    ),
    "a test below what a gauge tells": (
        Seed(requalified(RIN + ", test_pressure: 4949 psi")),
        False,
    ),
    "an empty reading struck out by a stranger": (
        Seed(log=READ.split("\n")[0].replace("500", "0") + struck("ZZ")),
        False,
    ),
    "an empty reading struck out by somebody certified": (
        Seed(log=READ.split("\n")[0].replace("500", "0") + struck("MV")),
        True,
    ),
    "a harmless reading struck out by a stranger": (
        Seed(log=READ.split("\n")[0] + struck("ZZ")),
        True,
    ),
    "a rise struck out by nobody": (
        Seed(
            log=READ % "reading"
            + struck("", at="2026-11-22T09:00:00+01:00", key="2026-11-21T09:30:00+01:00 A")
        ),
        False,
    ),
    "a fill struck out before it": (
        Seed(log=FILL.replace("2900", "4500") + struck("MV", at="2026-01-01T09:00:00+01:00")),
        False,
    ),
    "a fill struck out with a reading of its second": (
        Seed(
            log=FILL.replace("2900", "4500")
            + "\nat=2026-11-20T09:30:00+01:00; cylinder=A; act=reading; to=2000 psi; by=MV"
            + struck("MV")
        ),
        False,
    ),
    "a look inside the same day, which names nothing": (
        Seed(
            {"inspected": f"[{OLD}, {{on: 2026-11-20, by: MV, checklist: annual, result: pass}}]"},
            log=FILL.replace("to=2900", "from=500 psi; to=4500")
            + "\nat=2026-11-20T10:00:00+01:00; cylinder=A; act=drain; to=0 psi; by=MV",
        ),
        False,
    ),
    "a thread reading struck out by a stranger": (
        Seed(
            inspected(
                "on: 2026-10-16, by: MV, checklist: annual, result: pass, neck_thread: M25x2, void: {why: wrong, by: ZZ, on: 2026-10-17}"
            )
        ),
        False,
    ),
    # what was known of what it holds
    "a rise after a return": (
        Seed({"rented": f"[{OUT % ', pressure: 500 psi'}]"}, log=READ_BACK % 2500),
        False,
    ),
    "a rise after a return whose pressure nobody read": (
        Seed({"rented": f"[{OUT % ''}]"}, log=READ_BACK % 500),
        True,
    ),
    "a rise before it went out": (
        Seed(
            {"rented": "[{on: 2026-11-24, to: B-1, back: 2026-11-25, valve: closed}]"},
            log=READ_BACK % 500,
        ),
        False,
    ),
    "a reading of another gas": (
        Seed(
            log=FILL
            + "\nat=2026-11-21T09:30:00+01:00; cylinder=A; act=reading; to=2900 psi; gas=nitrox36; by=MV"
        ),
        False,
    ),
    "a drain of another gas": (
        Seed(
            log=FILL
            + "\nat=2026-11-21T09:30:00+01:00; cylinder=A; act=drain; to=500 psi; o2=99 %; by=MV"
        ),
        False,
    ),
    "a fill from nothing where there was something": (
        Seed(
            log=READ.split("\n")[0]
            + "\n"
            + FILL.replace("11-20", "11-22").replace("to=2900", "from=0 psi; to=2900")
        ),
        False,
    ),
    "a fill from nothing, drained before": (
        Seed(
            log=READ.split("\n")[0]
            + "\nat=2026-11-21T09:30:00+01:00; cylinder=A; act=drain; to=0 psi; by=MV\n"
            + FILL.replace("11-20", "11-22").replace("to=2900", "from=0 psi; to=2900")
        ),
        True,
    ),
    "filled with a failed test behind it": (
        Seed(
            requalified(
                FAILED
                + "}, {on: 2026-11-24, method: hydrostatic, by: Z418, clears: [requalified 2026-05-03]"
            ),
            log=FILL,
        ),
        False,
    ),
    "filled before it was refitted": (
        Seed(
            {
                "sent": "[{on: 2026-11-01, to: T, for: repair, back: 2026-11-10, refitted: 2026-11-22, refitted_by: MV}]",
                "inspected": f"[{OLD}, {{on: 2026-11-22, by: MV, checklist: outside, result: pass}}]",
            },
            log=FILL,
        ),
        False,
    ),
    "oxygen into one of no service": (
        Seed(
            {"service": None},
            log=FILL.replace("gas=air", "gas=oxygen; o2=99.5 %; analysed_by=MV")
            + "\nat=2026-11-21T09:30:00+01:00; cylinder=A; act=drain; to=0 psi; by=MV",
        ),
        False,
    ),
    "an override of nobody": (
        Seed(
            {
                "inspected": "[{on: 2025-02-09, by: MV, checklist: annual, result: pass}, {on: 2026-11-24, by: MV, checklist: outside, result: pass}]"
            },
            log=FILL + "; override=x",
        ),
        False,
    ),
    "an overfill by what the station lets a gauge err": (
        Seed(log=FILL.replace("2900", "4500"), station=STATION + "gauge_error: 2000 psi\n"),
        False,
    ),
    "an overfill struck out from another cylinder's line": (
        Seed(
            log=FILL.replace("2900", "4500") + struck("MV").replace("cylinder=A", "cylinder=B"),
            others={"B": B},
        ),
        False,
    ),
    # words
    "a suspected crack, found to be none": (suspected("no crack, a tool mark"), True),
    "a suspected crack that is a fold": (suspected("the suspected crack is a fold"), True),
    "a suspected crack, confirmed": (suspected("suspected crack confirmed"), False),
    "a suspected crack, not looked at": (suspected("not inspected"), False),
    "a suspected crack, without a test": (suspected("without crack test"), False),
    "a suspected crack, in German": (suspected("Riss bestätigt"), False),
    "a suspected crack that remains": (suspected("suspected crack remains"), False),
    "a suspected crack, and only that something is to be seen": (suspected("see report"), False),
    "a suspected crack, a fold as found": (suspected("found to be a fold, no cracks"), True),
    "a suspected crack answered in nobody's name": (
        Seed({**SUSPECTED, **requalified(SUSPICION % "the shop")}),
        False,
    ),
    "a suspected crack answered by a test house": (
        Seed({**SUSPECTED, **requalified(SUSPICION % "Northside Test House")}),
        True,
    ),
    "failed, passed and failed again on one day": (
        Seed(requalified(f"{FAILED}}}, {{{PASSED}}}, {{{FAILED}")),
        False,
    ),
    "failed, and passed on the same day": (Seed(requalified(f"{FAILED}}}, {{{PASSED}")), True),
    "a month that names two failed tests": (
        Seed(
            requalified(
                f"{FAILED}}}, {{{PASSED.replace('2026-05-03', '2026-05')}}}, "
                f"{{{FAILED.replace('05-03', '05-20')}"
            )
        ),
        False,
    ),
    "rejected after the pass of one day": (
        Seed(
            {
                "inspected": f"[{OLD}, {LOOKED_AT % ('reject', '')}, {LOOKED_AT % ('pass', NAMED)}, {LOOKED_AT % ('reject', '')}]"
            }
        ),
        False,
    ),
    "rejected and then passed on one day": (
        Seed(
            {"inspected": f"[{OLD}, {LOOKED_AT % ('reject', '')}, {LOOKED_AT % ('pass', NAMED)}]"}
        ),
        True,
    ),
    "a rejection for a crack in words, passed by the next look": (
        Seed(
            {
                "inspected": f"[{OLD}, {LOOKED_AT % ('reject', ', note: crack in the shoulder')}, {LOOKED_AT % ('pass', NAMED)}]"
            }
        ),
        False,
    ),
    "a bulge, passed by the next look": (
        Seed(
            {
                "inspected": f"[{OLD}, {LOOKED_AT % ('hold', ', findings: [{step: body, result: hold, what: bulge}]')}, {LOOKED_AT % ('pass', NAMED)}]"
            }
        ),
        False,
    ),
    "a bulge that was passed, and a look that says nothing of it": (
        Seed(
            {
                "inspected": f"[{OLD}, {LOOKED_AT % ('pass', ', findings: [{step: body, result: note, what: bulge}]')}, {LOOKED_AT.replace('10-20', '10-25') % ('pass', '')}]"
            }
        ),
        False,
    ),
    "a step for cracks, and no crack": (
        Seed(
            inspected(
                "on: 2026-10-20, by: MV, checklist: annual, result: pass, findings: [{step: neck-cracks, result: note, note: no crack seen}]"
            )
        ),
        True,
    ),
    "a hold for a crack, let go on a look": (
        Seed(
            {
                "held": HELD % "crack in the neck",
                "inspected": f"[{OLD}, {LOOKED_AT % ('pass', ', clears: [held 2026-10-18]')}]",
            }
        ),
        False,
    ),
    "a hold for fire, let go": (Seed({"held": HELD % "was in a fire"}), False),
    "a hold for a crack, answered by a test house": (
        Seed(
            {
                "held": HELD % "crack in the neck",
                **requalified(
                    SUSPICION.replace("suspected-crack 2026-10-01", "held 2026-10-18").replace(
                        "10-05", "10-19"
                    )
                    % "Z418"
                ),
            }
        ),
        True,
    ),
    "a hold for the fire brigade's course, let go": (
        Seed({"held": HELD % "fire brigade course"}),
        True,
    ),
    "a hold for the heat of the day, let go": (Seed({"held": HELD % "heat of the day"}), True),
    "a hold for a strap that split, let go": (Seed({"held": HELD % "strap split"}), True),
    "a hold for a split neck, let go": (Seed({"held": HELD % "neck split"}), False),
    "a hold for a melted boot, let go": (Seed({"held": HELD % "boot melted in a hot car"}), True),
    "a hold for a label burnt in a fire, let go": (
        Seed({"held": HELD % "label burnt in a fire"}),
        False,
    ),
    "a hold for a cracked boot, let go": (Seed({"held": HELD % "boot cracked"}), True),
    "a hold let go for a dot": (
        Seed({"held": HELD.replace("looked at it", "'.'") % "dented"}),
        False,
    ),
    "a fire struck out for a dash": (
        Seed(
            {
                "condemned": "[{on: 2026-10-01, by: T123, why: fire, void: {why: '-', by: MV, on: 2026-10-02}}]"
            }
        ),
        False,
    ),
    "let go by nobody certified since the last look": (
        Seed({"held": HELD.replace("_by: MV", "_by: ZZ") % "loose boot"}),
        False,
    ),
    "no damage": (Seed({"rented": f"[{OUT % ', damage: none'}]"}), True),
    "salt water inside, looked at outside": (
        Seed(
            {
                "rented": f"[{OUT % ', damage: salt water inside'}]",
                "inspected": f"[{OLD}, {{on: 2026-11-23, by: MV, checklist: outside, result: pass, clears: [damage 2026-11-22]}}]",
            },
            change=with_outside,
        ),
        False,
    ),
    "fire in the boot of the car, looked at all over": (
        Seed(
            {
                "rented": f"[{OUT % ', damage: fire in the boot of the car'}]",
                "inspected": f"[{OLD}, {{on: 2026-11-23, by: MV, checklist: annual, result: pass, clears: [damage 2026-11-22]}}]",
            }
        ),
        False,
    ),
    "rejected for expansion, passed by a look": (
        Seed(
            {
                "rejected": "[{on: 2026-10-18, by: MV, why: permanent expansion 12 %, lifted: 2026-10-22, lifted_by: MV, lifted_why: fine}]",
                "inspected": f"[{OLD}, {LOOKED_AT % ('pass', ', clears: [rejected 2026-10-18]')}]",
            }
        ),
        False,
    ),
    "rejected for an o-ring that split, passed by a look": (
        Seed(
            {
                "rejected": "[{on: 2026-10-18, by: MV, why: o-ring split, lifted: 2026-10-22, lifted_by: MV, lifted_why: new one}]",
                "inspected": f"[{OLD}, {LOOKED_AT % ('pass', ', clears: [rejected 2026-10-18]')}]",
            }
        ),
        True,
    ),
    "a test that did not pass, in words": (
        Seed(requalified(RIN + ", finding: did not pass")),
        False,
    ),
    "a test told in full": (
        Seed(
            requalified(
                RIN + ", finding: 'first run failed on a leaking fitting, repeated and passed'"
            )
        ),
        True,
    ),
    "a test whose finding says that it failed": (
        Seed(requalified(RIN + ", finding: condemned at 12 %")),
        False,
    ),
    **{
        f"a rejection for {why}, and a test that {'says ' + said if said else 'says nothing'}": (
            Seed(
                {
                    "rejected": f"[{{on: 2026-03-03, by: MV, why: {why}, lifted: 2026-03-20, lifted_by: MV, lifted_why: back from the test}}]",
                    **requalified(
                        "on: 2026-03-10, method: hydrostatic, by: T123, clears: [rejected 2026-03-03]"
                        + (f", finding: '{said}'" if said else "")
                    ),
                }
            ),
            lets,
        )
        for why, said, lets in (
            ("cracked neck", "", False),
            ("cracked neck", "see letter", False),
            ("cracked neck", "tool mark, no crack", True),
            ("bulge at the base", "", False),
            ("bulge at the base", "no bulge", True),
            ("pits", "", True),
        )
    },
    **{
        f"a hold for {why}, let go by the shop": (
            Seed(
                {
                    "held": f"[{{on: 2026-03-03, by: MV, why: '{why}', released: 2026-03-20, released_by: MV, released_why: back to the shelf}}]",
                }
            ),
            lets,
        )
        for why, lets in (
            ("failed hydro at the test house", False),
            ("wall too thin", False),
            ("neck is split", False),
            ("Risse im Hals", False),
            ("hydro paper missing", True),
            ("cracked the valve open to smell it", True),
            ("compressor overheated, fill stopped", True),
            ("no dents or cracks, waits for the owner", True),
        )
    },
    **{
        f"damage at a return: {said}": (
            Seed({"rented": f"[{OUT % f', damage: {chr(39)}{said}{chr(39)}'}]"}),
            lets,
        )
        for said, lets in (("no damage", True), ("i.O.", True), ("?", False), ("dent", False))
    },
    "damage by fire, looked at outside": (
        Seed(
            {
                "rented": f"[{OUT % ', damage: fire in the car'}]",
                "inspected": f"[{OLD}, {{on: 2026-11-23, by: MV, checklist: outside, result: pass, clears: [damage 2026-11-22]}}]",
            }
        ),
        False,
    ),
    "a cracked handwheel, looked at outside": (
        Seed(
            {
                "rented": f"[{OUT % ', damage: valve handwheel cracked'}]",
                "inspected": f"[{OLD}, {{on: 2026-11-23, by: MV, checklist: outside, result: pass, clears: [damage 2026-11-22]}}]",
            }
        ),
        True,
    ),
    # tests
    "failed and repeated on one day": (
        Seed(
            requalified(
                FAILED
                + "}, {on: 2026-05-03, method: hydrostatic, by: Z418, stamp: 05 Z418 26, clears: [requalified 2026-05-03]"
            )
        ),
        True,
    ),
    "failed and repeated, and it does not say so": (
        Seed(
            requalified(
                FAILED + "}, {on: 2026-05-04, method: hydrostatic, by: Z418, stamp: 05 Z418 26"
            )
        ),
        False,
    ),
    "tested another day than dated": (Seed(requalified(RIN + ", tested: 2015-03")), False),
    "a stamp that says fail": (Seed(requalified(RIN + ", stamp: 03 Z418 26 FAIL")), False),
    "a stamp in four figures": (
        Seed(requalified("on: 2024-05, method: hydrostatic, by: T123, stamp: '0524'")),
        True,
    ),
    # the shoulder
    "two pressures, the higher typed": (
        noted(marks="DOT-3AL 1800 DOT-3AL 3000 K118204 03A24"),
        False,
    ),
    "two families of one pressure": (noted(marks="TC-3ALM 207 DOT-3AL 3000 K118204 03A24"), True),
    "an X behind the date": (noted(marks="DOT-3AL 3000 K118204 03A24 X"), False),
    "condemned, misspelt": (noted(marks="DOT-3AL 3000 K118204 03A24 CONDENMED"), False),
    "condemned, in French": (noted(marks="DOT-3AL 3000 K118204 03A24 CONDAMNE"), False),
    "a row of X with strokes": (noted(marks="DOT-3AL 3000 K118204 03A24 X/X/X"), False),
    "a date of another age": (noted(marks="DOT-3AL 3000 K118204 8 93"), False),
    "another serial, named so": (noted(marks="DOT-3AL 3000 S/N 99999 03A24"), False),
    "its serial joined with its maker": (noted(marks="DOT-3AL3000 K118204/ECC 03A24"), True),
    "its serial behind S/N": (noted(marks="DOT-3AL 3000 SNK118204 03A24"), True),
    "the old alloy stamped, none typed": (
        noted(alloy="", marks="DOT-3AL 3000 K118204 03A24 AA6351"),
        False,
    ),
    "a steel stamped": (noted(marks="DOT-3AL 3000 K118204 03A24 34CRMO4"), False),
    "a thread by its short name": (noted(marks="DOT-3AL 3000 K118204 03A24 3/4-14 NPS"), True),
    "a specification that is never refilled": (noted(specification="[DOT-3AL, DOT-39]"), False),
    "a metric rating of whole bar": (
        noted(
            service_pressure="207 bar",
            test_pressure="345 bar",
            valve="{outlet: yoke, thread: 3/4-14 NPSM, rating: 3000 psi, disc: 5000 psi}",
        ),
        True,
    ),
    # what stands beside it
    "a twin by its stamp": (
        Seed(
            noted(marks="DOT-3AL 3000 K118204 03A24").card,
            others={
                "B": with_lines(TWIN, serial="18204", marks="DOT-3AL 3000 K118204 03A24", **SOLD)
            },
        ),
        False,
    ),
    "a twin of a shortened maker": (
        Seed(others={"B": with_lines(TWIN, maker="Example", **SOLD)}),
        False,
    ),
    "old looks of somebody not certified then": (
        Seed(
            {"inspected": f"[{{on: 2024-04, by: ZZ, checklist: new, result: pass}}, {OLD}]"},
            settings=SETTINGS,
        ),
        True,
    ),
    # what tells against it is struck out by somebody certified, whatever says it
    "a reading of another gas, struck out by a stranger": (
        Seed(
            log=FILL
            + "\nat=2026-11-21T09:30:00+01:00; cylinder=A; act=reading; to=2900 psi; o2=36 %; by=MV"
            + struck("ZZ", "2026-11-22T09:00:00+01:00", "2026-11-21T09:30:00+01:00 A")
        ),
        False,
    ),
    "a low reading before a rise, struck out by a stranger": (
        Seed(
            log=FILL
            + "\nat=2026-11-21T09:30:00+01:00; cylinder=A; act=reading; to=500 psi; by=MV"
            + "\nat=2026-11-21T10:30:00+01:00; cylinder=A; act=reading; to=2900 psi; by=MV"
            + struck("ZZ", "2026-11-22T09:00:00+01:00", "2026-11-21T09:30:00+01:00 A")
        ),
        False,
    ),
    "a low reading and the high one, both struck out by a stranger": (
        Seed(
            log=FILL
            + "\nat=2026-11-21T09:30:00+01:00; cylinder=A; act=reading; to=500 psi; by=MV"
            + "\nat=2026-11-21T10:30:00+01:00; cylinder=A; act=reading; to=2900 psi; by=MV"
            + struck("ZZ", "2026-11-22T09:00:00+01:00", "2026-11-21T09:30:00+01:00 A")
            + struck("ZZ", "2026-11-22T09:00:01+01:00", "2026-11-21T10:30:00+01:00 A")
        ),
        False,
    ),
    "a reading above its limit, struck out by a stranger": (
        Seed(
            log="at=2026-11-20T09:30:00+01:00; cylinder=A; act=reading; to=4800 psi; by=MV"
            + struck("ZZ")
        ),
        False,
    ),
    "a repair that was never refitted, struck out by a filler": (
        Seed(
            {"sent": f"[{{on: 2026-06-01, to: N, for: repair, back: 2026-06-10, {BY_FILLER}}}]"},
            settings=WITH_FILLER,
        ),
        False,
    ),
    "a rental that is out, struck out by a filler": (
        Seed({"rented": f"[{{on: 2026-06-01, to: B-1, {BY_FILLER}}}]"}, settings=WITH_FILLER),
        False,
    ),
    "a sound return, struck out by a filler": (
        Seed({"rented": f"[{OUT % f', pressure: 500 psi, {BY_FILLER}'}]"}, settings=WITH_FILLER),
        True,
    ),
    "a return that shows a fill, struck out by a filler": (
        Seed(
            {"rented": f"[{OUT % f', pressure: 500 psi, {BY_FILLER}'}]"},
            log=READ_BACK % 2900,
            settings=WITH_FILLER,
        ),
        False,
    ),
    "an overfill struck out by a line of that morning": (
        Seed(log=FILL.replace("2900", "4500") + struck("MV", at="2026-11-20T08:00:00+01:00")),
        False,
    ),
    # whoever says that it stood above its limit
    "read far above its limit": (Seed(log=READ_AT % "4800"), False),
    "read far above its limit, and bled": (
        Seed(log=READ_AT % "4800" + BLED.replace("11-20", "11-21")),
        False,
    ),
    "read far above its limit, and looked inside": (
        Seed(
            {"inspected": f"[{OLD}, {{on: 2026-11-21, by: MV, checklist: annual, result: pass}}]"},
            log=READ_AT % "4800",
        ),
        True,
    ),
    "read full in the sun": (Seed(log=READ_AT % "3250"), True),
    "read full, its temperature noted": (
        Seed(log=READ_AT.replace("psi; by", "psi; temperature=64 degF; by") % "3250"),
        False,
    ),
    "come back above its limit": (Seed({"rented": f"[{OUT % ', pressure: 4800 psi'}]"}), False),
    "a fill begun above its limit": (
        Seed(log=FILL.replace("to=2900", "from=4800 psi; to=2900")),
        False,
    ),
    "a typo lets its contents rise": (
        Seed(log=READ % "reading", settings=SETTINGS + "unexplained: 3000 psi\n"),
        False,
    ),
    # orders of one day and month
    "looked at in the month it came back from repair": (
        Seed({"sent": f"[{REPAIRED}]", "inspected": f"[{OLD}, {LOOK % '2026-06'}]"}),
        False,
    ),
    "looked at in that month, after it came back": (
        Seed({"sent": f"[{REPAIRED}]", "inspected": f"[{OLD}, {SINCE % '2026-06'}]"}),
        True,
    ),
    "looked at on the day it came back from repair": (
        Seed({"sent": f"[{REPAIRED}]", "inspected": f"[{OLD}, {LOOK % '2026-06-20'}]"}),
        True,
    ),
    "looked at on the day it was sent and came back": (
        Seed(
            {
                "sent": f"[{REPAIRED.replace('06-01', '06-20')}]",
                "inspected": f"[{OLD}, {LOOK % '2026-06-20'}]",
            }
        ),
        False,
    ),
    "rented and back empty on the day of a look": (
        Seed({"rented": f"[{DAY_TRIP}]", "inspected": f"[{OLD}, {LOOK % '2026-06-20'}]"}),
        False,
    ),
    "rented and back empty, then looked at that day": (
        Seed({"rented": f"[{DAY_TRIP}]", "inspected": f"[{OLD}, {SINCE % '2026-06-20'}]"}),
        True,
    ),
    "back empty from a longer rental, looked at that day": (
        Seed(
            {
                "rented": f"[{DAY_TRIP.replace('on: 2026-06-20', 'on: 2026-06-18')}]",
                "inspected": f"[{OLD}, {LOOK % '2026-06-20'}]",
            }
        ),
        True,
    ),
    "filled and read empty on the day of a look": (
        Seed(
            {"inspected": f"[{OLD}, {LOOK % '2026-11-20'}]"},
            log=FILL + EMPTIED,
        ),
        False,
    ),
    "filled and read empty, then looked at that day": (
        Seed(
            {"inspected": f"[{OLD}, {SINCE.replace('06-20', '11-20') % '2026-11-20'}]"},
            log=FILL + EMPTIED,
        ),
        True,
    ),
    "read empty on the day of a look": (
        Seed({"inspected": f"[{OLD}, {LOOK % '2026-11-20'}]"}, log=EMPTIED.strip()),
        True,
    ),
    "lost and found on the day of a look": (
        Seed(
            {
                "lost": f"[{LOST.replace('09-01', '10-25')}]",
                "inspected": f"[{OLD}, {LOOK % '2026-10-25'}]",
            }
        ),
        False,
    ),
    # rows of the ledger's own that say nothing
    "a notice of a misspelt specification": (
        Seed(rules=NOTICED.replace("maker: [Otherworks]", "specification: [DOT-3LA]")),
        False,
    ),
    "a notice of dates that hold nothing": (
        Seed(rules=NOTICED.replace("alloy:", "made_from: 2020-01, made_before: 2010-01, alloy:")),
        False,
    ),
    "a notice that says nothing": (Seed(rules=NOTICED.replace("alloy: '6351', ", "")), False),
    "two of one serial that are told apart for nothing": (
        Seed({"not_same": "[{id: B, by: MV, why: '-'}]"}, others={"B": TWIN}),
        False,
    ),
    "two of one serial that are told apart by their makers' dates": (
        Seed({"not_same": "[{id: B, by: MV, why: both at hand}]"}, others={"B": TWIN}),
        True,
    ),
    "a row that loosens practice for nothing": (
        Seed(rules=own("bench.returned.empty", "returned", LOOSE % "tbd")),
        False,
    ),
    "a row that loosens practice for a reason": (
        Seed(rules=own("bench.returned.empty", "returned", LOOSE % "we look into every valve")),
        True,
    ),
    "what a reason of the settings was taken out for": (
        Seed(settings=SETTINGS + "removed: [{on: 2026-03-02, by: MV, what: x, why: tbd}]\n"),
        False,
    ),
    "a notice of another maker": (Seed(rules=NOTICED), True),
    "a row of a misspelt Canadian specification": (
        Seed(
            rules=own(
                "shop.x",
                "requalification",
                "applies_to: {specification: [TC-3LAM]}, period: 1 year, met_by: [hydrostatic], ",
            )
        ),
        False,
    ),
    "a filter row of months": (
        Seed(
            rules=own("shop.x", "filter", "subject: station, period: 1 month, met_by: [change], ")
        ),
        False,
    ),
    "a limit without a figure": (
        Seed(rules=own("shop.x", "fill-limit", "temperature: 0 degF, ")),
        False,
    ),
    "a visual without a period": (
        Seed(rules=own("shop.x", "visual", "met_by: [inspection], ")),
        False,
    ),
    "a row beside none": (
        Seed(
            rules=own(
                "shop.x",
                "visual",
                "period: 6 years, met_by: [inspection], beside: [no.such.row], ",
            )
        ),
        False,
    ),
    # the station
    "two filters of one name": (
        Seed(station=STATION + "filters: [{name: F1}, {name: F1}]"),
        False,
    ),
    "a bank tested by a look alone": (
        Seed(station=(SOURCES % "4400 psi").replace("method: hydrostatic", "method: visual")),
        False,
    ),
    "failed on its odour, and passed without": (
        Seed(
            station="air_tests:\n  - {on: 2026-09-12, standard: cga-grade-e, result: fail, co: 1 ppm, odour: oil}\n"
            "  - {on: 2026-10-12, standard: cga-grade-e, result: pass, co: 1 ppm}"
        ),
        False,
    ),
    "failed on its odour, and passed with none": (
        Seed(
            station="air_tests:\n  - {on: 2026-09-12, standard: cga-grade-e, result: fail, co: 1 ppm, odour: oil}\n"
            "  - {on: 2026-10-12, standard: cga-grade-e, result: pass, co: 1 ppm, odour: none}"
        ),
        True,
    ),
    # the days of a life
    "refitted before it was back": (
        Seed(
            {
                "sent": f"[{HOME.replace('refitted: 2026-06-11', 'refitted: 2026-06-08')}]",
                "inspected": f"[{OLD}, {{on: 2026-07-01, by: MV, checklist: annual, result: pass}}]",
            }
        ),
        False,
    ),
    "collected before it was ready": (
        Seed(
            {"jobs": "[{on: 2026-06-01, work: [fill], ready: 2026-06-20, collected: 2026-06-15}]"}
        ),
        False,
    ),
    "out again while it was out": (
        Seed(
            {
                "rented": f"[{OUT_LONG}, {{on: 2026-06-02, to: B-2, back: 2026-06-03, pressure: 800 psi, valve: closed}}]"
            }
        ),
        False,
    ),
    "out again on the day it was back": (
        Seed(
            {
                "rented": f"[{OUT_LONG}, {{on: 2026-06-10, to: B-2, back: 2026-06-10, pressure: 800 psi, valve: closed}}]"
            }
        ),
        True,
    ),
    "out twice on one day, and then for long": (
        Seed(
            {
                "rented": f"[{OUT_LONG}, {{on: 2026-06-01, to: B-2, back: 2026-06-01, pressure: 800 psi, valve: closed}}]"
            }
        ),
        True,
    ),
    "out again while it was out, struck out": (
        Seed(
            {
                "rented": f"[{OUT_LONG}, {{on: 2026-06-02, to: B-2, back: 2026-06-03, pressure: 800 psi, valve: closed, void: {{why: of A-2, by: MV, on: 2026-06-03}}}}]"
            }
        ),
        True,
    ),
    # work on what was not here, and looks on the day it came back
    "held when it went out, and looked inside on the day it was back": (
        looked("2026-06-05", rented=LENT, held=HELD_BY_THEN),
        True,
    ),
    "held when it went out for a day, and looked inside that day": (
        looked("2026-06-01", rented=LENT.replace("06-05", "06-01"), held=HELD_BY_THEN),
        False,
    ),
    "cleaned while it was out": (Seed({"rented": LENT, "cleaned": CLEANED % "2026-06-03"}), False),
    "cleaned while it was lost": (
        Seed({"lost": WENT_LOST, "cleaned": CLEANED % "2026-06-03"}),
        False,
    ),
    "cleaned by the shop while it was at the repairer's": (
        looked("2026-06-20", sent=AT_REPAIR, cleaned=CLEANED % "2026-06-03"),
        False,
    ),
    "cleaned there": (
        looked(
            "2026-06-20",
            sent=AT_REPAIR,
            cleaned=(CLEANED % "2026-06-03").replace("MV", "Northside"),
        ),
        True,
    ),
    "cleaned on the day it was back": (
        Seed({"rented": LENT, "cleaned": CLEANED % "2026-06-05"}),
        True,
    ),
    "cleaned while it was out, and again": (
        Seed(
            {
                "rented": LENT,
                "cleaned": f"{(CLEANED % '2026-06-03')[:-1]}, {(CLEANED % '2026-06-20')[1:]}",
            }
        ),
        True,
    ),
    # the valve fitted by the test house before it came home
    "refitted there before it was back": (Seed({"sent": f"[{FITTED_THERE}]"} | AFTER_TEST), True),
    "refitted there before it went": (
        Seed(
            {"sent": f"[{FITTED_THERE.replace('refitted: 2026-06-08', 'refitted: 2026-05-08')}]"}
            | AFTER_TEST
        ),
        False,
    ),
    # what shows a cylinder fit is weighed
    **{
        f"a hydro by {by}": (
            Seed(
                {
                    "requalified": f"[{{on: 2020-01, method: hydrostatic, by: maker}}, {{on: 2024-05, method: hydrostatic, by: {by}}}]",
                    "made": "2020-01",
                }
            ),
            by in {"T123", "MV", "Kelp Street Hydro", "KW", "the test house"},
        )
        for by in (
            "nobody",
            "none",
            "unknown",
            "owner",
            "ourselves",
            "T123",
            "MV",
            "Kelp Street Hydro",
        )
    },
    **{
        f"a permit renewed by: {paper}": (renewed(paper), good)
        for paper, good in {
            "letter 2025-118 of the office": True,
            "their letter, in the safe": True,
            "renewal of 2025-03-01, in the blue folder": True,
            "renewal refused 2025": False,
            "denied, letter 12": False,
            "withdrawn 2011": False,
            "letter of 2007-08-31 that ends it": False,
            "expired letter of 2007": False,
            "applied for": False,
            "renewal pending": False,
            "copy missing": False,
            "nobody asked": False,
            "forum post 12": False,
            "beantragt 2025": False,
            "rien": False,
        }.items()
    },
    **{
        f"a condemning struck out for: {why}": (
            Seed(
                {
                    "condemned": f"[{{on: 2026-11-01, by: T123, why: expansion 12 %, void: {{why: {why}, by: MV, on: 2026-11-03}}}}]"
                }
            ),
            good,
        )
        for why, good in {
            "we need it for the weekend": False,
            "owner objected": False,
            "too strict": False,
            "wrong card": True,
            "it was another cylinder": True,
            "Flasche verwechselt": True,
        }.items()
    },
    "made for one filling": (Seed(european_card("EN 12205")), False),
    "made for acetylene": (Seed(european_card("ISO 3807")), False),
    "a test whose note says the contrary": (
        suspected("no crack, note: crack found at thread 3"),
        False,
    ),
    "a test whose note says the contrary, apart": (
        Seed(
            {
                "inspected": CRACK_HELD,
                "requalified": f"[{{on: 2024-03, method: hydrostatic, by: maker}}, {{{SUSPICION % 'Z418'}, note: crack found at thread 3}}]",
            }
        ),
        False,
    ),
    "a test whose note says that it was not done": (
        Seed(
            {
                "inspected": CRACK_HELD,
                "requalified": f"[{{on: 2024-03, method: hydrostatic, by: maker}}, {{{SUSPICION % 'Z418'}, note: not done}}]",
            }
        ),
        False,
    ),
    **{
        f"an old alloy known from {source}": (old_alloy(source), good)
        for source, good in {
            "letter of the maker of 2024-03-02": True,
            "maker's letter, says it is 6351": False,
            "not confirmed": False,
            "maker refused to say": False,
            "letter lost": False,
            "applied for": False,
            "the seller said so": False,
            "looks like it": False,
            "magnet test": False,
            "forum": False,
        }.items()
    },
    "an alloy that is doubted": (old_alloy("letter of the maker of 2024-03-02", "'6061?'"), False),
    **{
        f"a hold for `{why}`, let go": (Seed({"held": HELD % f'"{why}"'}), good)
        for why, good in {
            "neck failed EC": False,
            "EC fail": False,
            "VE reject, 3 threads": False,
            "hydro failed": False,
            "they've rejected the hose": True,
            "I've refused the fill, no paper": True,
            "SLC thread 3": False,
            "Riß am Hals": False,
            "scheur in hals": False,
            "brûlée": False,
            "boot melted": False,
            "boot cracked": True,
            "visual pushed out to next week": True,
            "hydro failed to turn up by the van": True,
        }.items()
    },
    # who signs by a number is of another place
    "a look by the test house while it was there": (
        Seed(
            {
                "sent": f"[{HOME.replace('T123', 'B412')}]",
                "inspected": f"[{OLD}, {{on: 2026-06-05, by: B412, checklist: annual, result: pass}}, {LATER}]",
            }
            | {"requalified": AFTER_TEST["requalified"]}
        ),
        True,
    ),
    "a look by its mark, where it was sent": (
        Seed(
            {
                "sent": f"[{HOME.replace('T123', 'KTH')}]",
                "inspected": f"[{OLD}, {{on: 2026-06-05, by: KTH, checklist: annual, result: pass}}, {LATER}]",
            }
            | {"requalified": AFTER_TEST["requalified"]}
        ),
        True,
    ),
    "a look by one of the shop while it was away": (
        Seed(
            {
                "sent": f"[{HOME}]",
                "inspected": f"[{OLD}, {{on: 2026-06-05, by: MV, checklist: annual, result: pass}}]",
            }
            | {"requalified": AFTER_TEST["requalified"]}
        ),
        False,
    ),
    **{
        f"a test of {on} and a stay from {since} to {until}, where a test house's look counts": (
            Seed(
                {
                    "requalified": f"[{{on: 2020-05, method: hydrostatic, by: maker}}, {{on: {on}, method: hydrostatic, by: IT07}}]",
                    "made": "2020-05",
                    "sent": f"[{{on: {since}, by: MV, to: IT07, for: requalification, back: {until}, refitted: {until}, refitted_by: MV}}]",
                    **european_card("EN 1964-1"),
                },
                settings=SETTINGS.replace("us-dot", "uk"),
            ),
            good,
        )
        for on, since, until, good in (
            ("2026-05", "2026-05-04", "2026-05-18", True),
            ("2026-05-11", "2026-05-04", "2026-05-18", True),
            ("2026-05", "2026-04-28", "2026-05-18", True),
            ("2026-05", "2026-05-04", "2026-06-18", True),
            ("2026-05", "2026-04-28", "2026-06-02", True),
            ("2026-05", "2026-06-04", "2026-06-18", False),
            ("2026-05-20", "2026-05-04", "2026-05-18", False),
        )
    },
    # strokes and names of a shoulder
    "a shoulder with a circled cross": (
        Seed({"marks": "DOT-3AL 3000 K118204 03A24 \u2297"}),
        False,
    ),
    **{
        f"a shoulder with {strokes}": (
            Seed({"marks": f"DOT-3AL 3000 K118204 03A24 '{strokes}'".replace("'", "")}),
            False,
        )
        for strokes in (
            "////",
            "/ / /",
            "#####"[0:0] + "====",
            "~~~",
            "MAWP 2250",
            "PMAX 155",
            "WP 155 TP 258",
            "15.5 MPA",
            "TESTED 3000 PSI",
        )
    },
    "a shoulder with a lawful maximum": (
        Seed({"marks": "DOT-3AL 3000 K118204 03A24 MAX 3000"}),
        True,
    ),
    # figures of a shoulder that say what they are
    "a shoulder with a second pressure, its comma apart": (
        Seed({"marks": "DOT-3AL 3000 K118204 03A24 15, 0 MPA"}),
        False,
    ),
    "a shoulder with a weight, a wall, a batch and a look": (
        Seed({"marks": "DOT-3AL 3000 K118204 03A24 WT 31.4 MIN WALL 11.5 HEAT 4432 VIP 5/26"}),
        True,
    ),
    "a shoulder whose heat is that of a bad alloy": (
        Seed({"marks": "DOT-3AL 3000 K118204 03A24 ALLOY 6351"}),
        False,
    ),
    "a composite's end by another word": (
        ends_on_label("EXP 05/2035"),
        True,
    ),
    "a composite's end by the words of a label": (
        ends_on_label("EXP. DATE 05-2035 NLL"),
        True,
    ),
    "a composite's end in another month": (
        ends_on_label("EXP 05/2033"),
        False,
    ),
    # who tested, by the station's mark
    "a station's mark with a stroke": (
        european("2018/05 2024/09 D/12", "2024-09, method: hydrostatic, by: D/12"),
        True,
    ),
    "another station's mark with a stroke": (
        european("2018/05 2024/09 D/12", "2024-09, method: hydrostatic, by: D/13"),
        False,
    ),
    "another station's mark in a name": (
        european("2018/05 2024/09 Q.12", "2024-09, method: hydrostatic, by: Kelp Q.13"),
        False,
    ),
    "another station's mark between month and year": (
        european("2018/05 09 D12 2024", "2024-09, method: hydrostatic, by: D13"),
        False,
    ),
    # air of a failed test, however its source is written
    "filled from the outlet of what failed": (breathed("2026-11-06", "C1 outlet"), False),
    "filled from the compressor, by its kind": (breathed("2026-11-06", "compressor"), False),
    "filled from two, one of which failed": (breathed("2026-11-06", "C1/B1"), False),
    "filled from the outlet, before the sample": (breathed("2026-11-04", "C1 outlet"), False),
}


@pytest.mark.parametrize(
    ("stamp", "method", "by", "faulty"),
    [
        ("03 T123 24", "hydrostatic", "T123", False),
        ("03 T123 24 FAIL", "hydrostatic", "T123", True),
        ("03 T123 24 NOT PASSED", "hydrostatic", "T123", True),
        ("03 T123 24E", "hydrostatic", "T123", True),
        ("03 T123 24E", "visual", "T123", False),
        ("03 T123 24S", "hydrostatic", "T123", True),
        ("03 T123 24VE", "hydrostatic", "T123", True),
        ("03 T123 24UE", "ultrasonic", "T123", False),
        ("03 V12345 24", "hydrostatic", "V12345", True),
    ],
)
def test_the_stamp_of_a_bank_is_asked_as_that_of_a_card(
    stamp: str, method: str, by: str, faulty: bool
) -> None:
    test = f"method: {method}, by: {by}, stamp: {stamp}}}"
    bank = (SOURCES % "4400 psi").replace("method: hydrostatic, by: T}", test)
    found = [f for f in check(Seed(station=bank).book(), TODAY) if f.code == "bank-stamp"]
    assert bool(found) is faulty


@pytest.mark.parametrize(
    ("test", "sent", "day", "over", "named"),
    [
        ("2026-11", "", "2026-11-06", True, True),
        ("2026-11-24", "", "2026-11-06", False, False),
        ("2026-11", "{on: 2026-11-10, to: T123, for: requalification, back: 2026-11-20}", "2026-11-06", False, False),
        ("2026-11", "{on: 2026-11-10, to: T123, for: requalification, back: 2026-11-20}", "2026-11-22", True, False),
        ("2026-11", "{on: 2026-10-10, to: T123, for: requalification, back: 2026-11-02}", "2026-11-06", True, False),
        ("2026-11", "{on: 2026-11-01, to: T123, for: requalification, back: 2026-11-04}, {on: 2026-11-10, to: T123, for: requalification, back: 2026-11-20}", "2026-11-06", True, True),
        ("2026-10", "", "2026-11-06", True, False),
        ("2026-11, tested: 2026-11-24", "", "2026-11-06", False, False),
        ("2026-11", "{on: 2026-11-10, to: T123, for: repair, back: 2026-11-20}", "2026-11-06", True, True),
    ],
)  # fmt: skip
def test_a_test_of_a_month_may_have_come_after_a_fill_of_it(
    test: str, sent: str, day: str, over: bool, named: bool
) -> None:
    """The plus mark was lost at the second test: 2600 psi was lawful before it."""
    tests = f"[{{on: 2024-03, method: hydrostatic, by: T123, plus: yes, stamp: 03 T123 24+}}, {{on: {test}, method: hydrostatic, by: T123}}]"
    card = {
        **STEEL,
        "made": "2018-01",
        "requalified": tests,
        "sent": f"[{sent}]" if sent else None,
    }
    log = FILL.replace("2026-11-20", day).replace("to=2900 psi", "to=2600 psi")
    book = Seed(card, log=log).book()
    found = [f for f in check(book, TODAY) if f.code == "over-limit"]
    assert bool(found) is over
    assert any("write the day of the test" in (f.mend or "") for f in found) is named


@pytest.mark.parametrize(
    ("specification", "most"),
    [("DOT-4BA", 500), ("DOT-4BW", 500), ("DOT-3B", 500), ("DOT-3E", 1800), ("DOT-3AA", 2400)],
)
def test_what_a_specification_is_made_for(specification: str, most: int) -> None:
    """49 CFR 178.38, 178.42, 178.50, 178.51 and 178.61, from memory."""
    book = Seed(STEEL | {"specification": f"[{specification}]"}).book()
    limit = limit_of(book, book.cylinders["A"])
    assert limit is not None
    assert limit.pressure.psi == pytest.approx(most)


@pytest.mark.parametrize(
    ("by", "note", "good"),
    [
        ("nobody", "ok", False),
        ("owner", "ok", False),
        ("a mate", "ok", False),
        ("unknown", "ok", False),
        ("MV", "failed the wipe test", False),
        ("MV", "not done", False),
        ("MV", "wiped and dried", True),
        ("Northside Oxygen", "to their list", True),
    ],
)
def test_an_oxygen_cleaning_is_by_somebody_and_was_passed(by: str, note: str, good: bool) -> None:
    cleaned = f"[{{on: 2026-03-01, by: {by}, to: oxygen, note: {note}}}]"
    book = Seed({"service": "oxygen", "cleaned": cleaned}).book()
    answer = may_fill(book, "A", TODAY, Gas.parse("nitrox50"))
    assert ("oxygen-clean-never" in {r.code for r in answer.refusals}) is not good


@pytest.mark.parametrize(
    ("stamped", "told"),
    [
        ("11.1 L", False),
        ("11.7 L", False),
        ("11.8 L", True),
        ("10.4 L", True),
        ("V 10.5", False),
        ("V 7.0 L", True),
        ("7 L 11 L", False),
        ("", False),
    ],
)
def test_a_stamped_volume_is_that_of_the_card(stamped: str, told: bool) -> None:
    book = Seed({"marks": f"DOT-3AL 3000 K118204 03A24 {stamped}".strip()}).book()
    assert ("marks-volume" in {f.code for f in check(book, TODAY)}) is told


@pytest.mark.parametrize(
    ("job", "sent", "told"),
    [
        ("state: at-requalifier", None, True),
        ("steps: [{on: 2026-05-21, state: at-requalifier}]", None, True),
        ("steps: [{on: 2026-05-21, state: awaiting-parts}]", None, False),
        ("state: at-requalifier, ready: 2026-06-12", None, False),
        ("state: at-requalifier, void: {why: typo, by: MV, on: 2026-05-22}", None, False),
        # its journey there has ended since
        ("state: at-requalifier", HOME, False),
        ("steps: [{on: 2026-08-21, state: at-requalifier}]", HOME, True),
    ],
)
def test_a_job_says_where_a_cylinder_is(job: str, sent: str | None, told: bool) -> None:
    card = {
        "jobs": f"[{{on: 2026-05-20, by: MV, work: [hydro], {job}}}]",
        "sent": f"[{sent}]" if sent else None,
    }
    book = Seed(card | AFTER_TEST).book()
    assert ("job-elsewhere" in {f.code for f in check(book, TODAY)}) is told


@pytest.mark.parametrize(
    ("log", "card", "told"),
    [
        (ON_OXYGEN, {}, Severity.FAULT),
        (ON_OXYGEN.replace("source=C1", "source=elsewhere: quay"), {}, Severity.FAULT),
        (ON_OXYGEN, {"use": "customer", "owner": "C-1"}, Severity.WARN),
        (f"{ON_OXYGEN}; override=MV knows what is in it", {}, Severity.WARN),
        # analysed, at the fill or since
        (f"{ON_OXYGEN}; o2=75 %; analysed_by=MV", {}, None),
        # but not at what its pressures cannot have made of it
        (f"{ON_OXYGEN}; o2=20.9 %; analysed_by=MV", {}, Severity.FAULT),
        (f"{ON_OXYGEN}; o2=60 %; analysed_by=MV", {}, Severity.FAULT),
        (ON_OXYGEN.replace("to=2900", "to=2100") + "; o2=32 %; analysed_by=MV", {}, Severity.FAULT),
        (f"{ON_OXYGEN}\nat=2026-11-21T09:30:00+01:00; cylinder=A; act=reading; to=2800 psi; o2=71 %; by=MV; analysed_by=MV", {}, None),
        (f"{ON_OXYGEN}\nat=2026-11-21T09:30:00+01:00; cylinder=A; act=reading; to=2800 psi; o2=71 %; by=MV", {}, Severity.FAULT),
        # begun empty, emptied since, or nobody says what was left
        (ON_OXYGEN.replace("from=2000 psi", "from=0 psi"), {}, None),
        # what was known to be in it stands in for what nobody read, but where work let it out
        (ON_OXYGEN.replace("; from=2000 psi", ""), {}, Severity.FAULT),
        (ON_OXYGEN.replace("; from=2000 psi", ""), {"inspected": f"[{OLD}, {{on: 2026-11-19, by: MV, checklist: annual, result: pass}}]"}, None),
        (ON_OXYGEN.replace("; from=2000 psi", ""), {"rented": "[{on: 2026-11-18, to: B-1, back: 2026-11-19, pressure: 0 psi, valve: closed}]"}, None),
        # by so little as two analysers differ it is no other gas
        (ON_OXYGEN.replace("from=2000 psi", "from=50 psi"), {}, None),
        (ON_OXYGEN.replace("from=2000 psi", "from=60 psi"), {}, Severity.FAULT),
        (f"{ON_OXYGEN}\nat=2026-11-21T09:30:00+01:00; cylinder=A; act=drain; to=0 psi; by=MV", {}, None),
        (f"{ON_OXYGEN}\nat=2026-11-21T09:30:00+01:00; cylinder=A; act=reading; to=2800 psi; by=MV", {}, Severity.FAULT),
        # of one gas, and of one that nobody knew
        (ON_OXYGEN.replace("gas=air", "gas=oxygen"), {}, None),
        (f"{FILL}; from=2000 psi", {}, None),
        # let out by work since
        (ON_OXYGEN, {"inspected": f"[{OLD}, {{on: 2026-11-22, by: MV, checklist: annual, result: pass}}]"}, None),
    ],
)  # fmt: skip
def test_a_fill_on_another_gas_is_analysed(
    log: str, card: dict[str, str | None], told: Severity | None
) -> None:
    found = [
        f
        for f in check(Seed({"service": "oxygen"} | card, log=log).book(), TODAY)
        if f.code == "mixed-unanalysed"
    ]
    assert [f.severity for f in found] == ([told] if told else [])


RICH_FIRST = "at=2026-11-20T09:30:00+01:00; cylinder=A; act=fill; from=0 psi; to=%s psi; gas=%s; o2=%s %%; by=MV; analysed_by=MV; source=C1"
TOPPED = "\nat=2026-11-21T10:30:00+01:00; cylinder=A; act=fill; from=500 psi; to=2900 psi; gas=nitrox32; by=MV; source=C1%s"
ANALYSED = "; o2=32 %; analysed_by=MV"
READ = "\nat=2026-11-22T09:30:00+01:00; cylinder=A; act=reading; to=2800 psi; by=MV"


@pytest.mark.parametrize(
    ("card", "log", "codes"),
    [
        # the oxygen of a blend waits for the rest and for its analysis
        (FOR_BLENDS, OXYGEN_STEP, {"blend-unfinished"}),
        (FOR_BLENDS, OXYGEN_STEP + TOPPED % ANALYSED, set()),
        (FOR_BLENDS, OXYGEN_STEP + TOPPED % "", {"blend-unfinished", "mixed-unanalysed", "not-analysed"}),
        (FOR_BLENDS, OXYGEN_STEP + TOPPED % "" + READ, {"blend-unfinished", "mixed-unanalysed", "not-analysed"}),
        (FOR_BLENDS, OXYGEN_STEP + TOPPED % "" + READ + ANALYSED, set()),
        (FOR_BLENDS, OXYGEN_STEP + TOPPED % "" + READ + "; o2=32 %", {"blend-unfinished", "mixed-unanalysed", "not-analysed"}),
        (FOR_BLENDS, OXYGEN_STEP + READ.replace("2800", "0").replace("reading", "drain"), set()),
        # what is not cleaned for oxygen, or was later only, or is labelled for air takes none
        (FOR_BLENDS | {"cleaned": None}, OXYGEN_STEP, {"filled-against-service", "not-analysed"}),
        (FOR_BLENDS | {"cleaned": "[{on: 2026-05-01, by: MV, to: nitrox}]"}, OXYGEN_STEP, {"filled-against-service", "not-analysed"}),
        (FOR_BLENDS | {"cleaned": "[{on: 2026-11-22, by: MV, to: oxygen}]"}, OXYGEN_STEP, {"filled-against-service", "not-analysed"}),
        (FOR_BLENDS | {"service": "air"}, OXYGEN_STEP, {"filled-against-service", "not-analysed"}),
        (FOR_BLENDS | {"service": "oxygen"}, OXYGEN_STEP, {"not-analysed"}),
        # what was in it stays in it: a poor mix or a rich one cannot have become another by so little
        (FOR_BLENDS, RICH_FIRST % ("3000", "nitrox50", "50") + (TOPPED % ANALYSED).replace("from=500 psi; to=2900", "from=3000 psi; to=3200"), {"mixed-unanalysed"}),
        (FOR_BLENDS, RICH_FIRST % ("1000", "nitrox50", "50") + (TOPPED % ANALYSED).replace("from=500", "from=1000"), set()),
        (FOR_BLENDS, RICH_FIRST % ("2800", "trimix18/45", "18 %; he=45") + (TOPPED % (ANALYSED + "; he=0 %")).replace("from=500", "from=2800"), {"mixed-unanalysed"}),
        # helium is analysed beside oxygen
        (FOR_BLENDS, (TOPPED % "")[1:].replace("nitrox32", "trimix21/35") + READ + "; o2=21 %; analysed_by=MV", {"not-analysed"}),
        (FOR_BLENDS, (TOPPED % "")[1:].replace("nitrox32", "trimix21/35") + READ + "; o2=21 %; he=35 %; analysed_by=MV", set()),
    ],
)  # fmt: skip
def test_the_oxygen_of_a_blend_is_a_step_till_it_is_analysed(
    card: dict[str, str | None], log: str, codes: set[str]
) -> None:
    asked = {"filled-against-service", "not-analysed", "mixed-unanalysed", "blend-unfinished"}
    found = check(Seed(card, log=log).book(), TODAY)
    assert {f.code for f in found if f.severity is Severity.FAULT} & asked == codes


def test_a_fill_on_another_gas_goes_through_an_open_isolator() -> None:
    set_ = "cylinders: [A, B]\nmanifold: isolation manifold\nisolator: open\n"
    other = {"B": with_lines(GOOD, serial="K9999", service="oxygen", marks=None)}
    rich = RICH_BEFORE.replace("cylinder=A", "cylinder=S")
    topped = FILL.replace("cylinder=A", "cylinder=B") + "; from=2000 psi"
    for isolator, told in (("open", True), ("shut", False)):
        sets = {"S": set_.replace("isolator: open", f"isolator: {isolator}")}
        seed = Seed({"service": "oxygen"}, log=f"{rich}\n{topped}", others=other, sets=sets)
        codes = {f.code for f in check(seed.book(), TODAY) if "A" in f.touches}
        assert ("mixed-unanalysed" in codes) is told, isolator


HELD_AS = {
    "held": "[{on: 2026-11-18, by: MV, why: '%s', released: 2026-11-20, released_by: MV, released_why: bled down}]"
}
SINCE_HOLD = LOOK % "2026-11-21"


def held_as(why: str, **more: str) -> Seed:
    return Seed({"held": HELD_AS["held"] % why, **more})


CLEANED_CARD = {"service": "nitrox", "cleaned": "[{on: 2026-05-01, by: MV, to: oxygen}]"}


@pytest.mark.parametrize(
    ("why", "code"),
    [
        ("overfilled", "hold-says-overfilled"),
        ("over-pressured by the new lad", "hold-says-overfilled"),
        ("überfüllt", "hold-says-overfilled"),
        ("overfilled to 4000 psi", "over-limit"),
        ("stood at 4200 psi overnight", "over-limit"),
        ("filled to 300 bar by mistake", "over-limit"),
        ("gauge went up to 4,000 psi", "over-limit"),
        ("not overfilled, gauge was wrong", None),
        ("filled to 2900 psi and leaked at the valve", None),
        ("filled to 4000 psi hot", "over-limit"),
        ("filled to 3300 psi hot", None),
        ("stood at 4000 psig", "over-limit"),
        ("overfilled; bled at once, read 2950 psi", "hold-says-overfilled"),
        ("bank stood at 4200 psi", None),
        ("relief valve went at 3600 psi", None),
        ("overpressure plug weeping", None),
        # what a gauge showed that was wrong is read again; what was filled to was filled to
        ("gauge read 4000 psi, gauge faulty", None),
        ("filled to 4000 psi, gauge faulty", "over-limit"),
        ("customer reports 4000 psi on his gauge, ours 2900 psi", None),
        ("customer reports 4000 psi on his gauge", "over-limit"),
        ("filled from bank B1 to 4500 psi", "over-limit"),
        ("compressor ran on, it went to 4500 psi", "over-limit"),
        ("auf 300 bar gefüllt", "over-limit"),
        ("overfilled? reading 2900 psi", None),
        ("overfilled?", "hold-says-overfilled"),
        ("overfilled? reading 4400 psi", "over-limit"),
        ("hydro went to 5000 psi", None),
        ("tag number fallen off", None),
    ],
)
def test_a_hold_that_says_it_stood_too_high_takes_a_look_inside(why: str, code: str | None) -> None:
    asked = {"hold-says-overfilled", "over-limit"}
    for more, told in (({}, {code} - {None}), ({"inspected": f"[{OLD}, {SINCE_HOLD}]"}, set())):
        book = held_as(why, **more).book()
        if more and code == "over-limit":
            continue  # that look says whether the bleed came before it
        assert {f.code for f in check(book, TODAY)} & asked == told, why


EVERY_VALUE = (
    "standard: cga-grade-e, oxygen: 20.9 %, co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3,"
    " hydrocarbons: 3 ppm, water: 20 mg/m3, odour: none"
)


@pytest.mark.parametrize(
    ("name", "later", "fillable"),
    [
        ("name: C1", "", False),
        ("name: ", "", False),
        ("name: ", f", {{on: 2026-11-16, result: pass, source: compressor, {EVERY_VALUE}}}", True),
        ("name: ", ", {on: 2026-11-16, result: pass, source: compressor, co: 1 ppm}", False),
    ],
)
def test_a_failed_sample_of_a_compressor_that_lost_its_name_is_not_answered_by_banks(
    name: str, later: str, fillable: bool
) -> None:
    """What failed is not said, so that a later sample measures all that it may have been."""
    station = (
        f"banks: [{{name: B1, water_volume: 48 L, working_pressure: 4500 psi}}]\ncompressor: {{{name}, delivery: 8.2 cuft/min}}\nair_tests:"
        f" [{{on: 2026-11-05, result: fail, source: C1}}, {{on: 2026-11-15, result: pass, source: B1, {EVERY_VALUE}}}"
        f"{later}]"
    )
    book = Seed({}, station=station).book()
    closed = {r.code for r in may_fill(book, "A", TODAY).refusals if r.code.startswith("air-test")}
    assert (not closed) is fillable, closed


@pytest.mark.parametrize(
    ("name", "touched"),
    [("K118204", True), ("k-118204", True), ("KI18204", True), ("K118205", False), ("118204", True), ("18204", False)],
)  # fmt: skip
def test_a_line_under_a_serial_touches_its_cylinder(name: str, touched: bool) -> None:
    over = FILL.replace("=A;", f"={name};").replace("2900", "4900")
    struck = f"at=2026-11-21T09:30:00+01:00; cylinder={name}; act=void; voids=2026-11-20T09:30:00+01:00 {name}; by=ZZ"
    for log in (over, f"{over}\n{struck}"):
        book = Seed({"serial": "K118204"}, log=log).book()
        assert may_fill(book, "A", TODAY).fillable is not touched, log


@pytest.mark.parametrize(("readings", "told"), [("4540 psi", "warn"), ("4500 psi", None)])
def test_a_bank_over_its_mark_is_told_with_every_answer(readings: str, told: str | None) -> None:
    bank = "banks: [{name: B1, water_volume: 48 L, working_pressure: 4500 psi, readings: [%s]}]"
    over = f"{{on: 2026-11-20, pressure: {readings}}}"
    later = "{on: 2026-11-21, pressure: 4400 psi}"
    for each, severity in ((over, told), (f"{over}, {later}", told and "advice")):
        book = Seed(station=bank % each).book()
        found = [f for f in check(book, TODAY) if f.code == "bank-over"]
        assert [str(f.severity) for f in found] == ([severity] if severity else [])
        warned = {w.code for w in may_fill(book, "A", TODAY).warnings}
        assert ("bank-over" in warned) is (severity == "warn")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        *((w, "note-says-overfilled") for w in ("1800 psi over", "filled to 160 % of working", "125 bar zu viel", "full bank pressure", "needle against the stop", "over max", "cave filled", "overshot", "past the red line", "filled 60 % over", "pressure too high, bled")),
        *((w, "over-limit") for w in ("equalised to bank at 4200 psi", "4200 psi bank pressure in it", "levelled with the bank at 4200 psi", "5 ksi", "4800 p s i", "330b", "4800 psi tank pressure", "filled to 4800 by mistake", "just under 4800 psi", "swapped with RB-012: filled to 4800 psi", "filled to 4800 by AB")),
        *((w, "disc-let-go") for w in ("burst disc blew", "disc ruptured during the fill", "blew the disc", "Berstscheibe geplatzt", "disc gave way", "burst plug gone", "safety went")),
        *((w, None) for w in ("filled to 110 %", "lost 200 psi over the week", "1200 psi over to the other side", "topped by +200 psi", "hose tested at 150 %", "disc went in well", "moved 500 psi over from ST-081", "new burst disc", "+ 200 psi", "past its service date", "gauge reads 50 psi over", "2850 psi over Sunday", "overcharged him 2 USD", "needle on the stop at 0", "the full bank pressure is 4260 psi", "refused to overfill", "his HP100 is at 3442 psi", "filled from B3 at 4260 psi to 2900 psi", "misread as 4800 psi, 2800 psi true", "invoice read 4500, paid", "brake disc failed on the van")),
    ],
)  # fmt: skip
def test_an_overfill_is_heard_in_every_note(words: str, told: str | None) -> None:
    asked = {"note-says-overfilled", "over-limit", "disc-let-go"}
    for card, log in (
        ({"jobs": f"[{{on: 2026-11-18, by: MV, work: [valve-service], note: '{words}'}}]"}, ""),
        ({"valve": f"{{serviced: [{{on: 2026-11-18, by: MV, note: '{words}'}}]}}"}, ""),
        (
            {
                "sent": f"[{{on: 2026-11-17, by: MV, to: W, for: repair, back: 2026-11-18, refitted: 2026-11-18, note: '{words}'}}]"
            },
            "",
        ),
        ({"rented": f"[{{on: 2026-11-17, to: C-1, back: 2026-11-18, note: '{words}'}}]"}, ""),
        ({"held": f"[{{{LET_GO}, why: boot loose, note: '{words}', released_why: mended}}]"}, ""),
        ({}, f"{FILL}; note={words}"),
    ):
        found = {f.code for f in check(Seed(card, log=log).book(), TODAY)}
        assert found & asked == {told} - {None}, (card, found)
        looked = {
            "inspected": f"[{OLD}, {{on: 2026-11-22, by: MV, checklist: annual, result: pass, sticker: issued}}]"
        }
        if told != "over-limit":
            found = {f.code for f in check(Seed(card | looked, log=log).book(), TODAY)}
            assert not found & asked, (card, found)


@pytest.mark.parametrize(
    ("note", "told"),
    [("stood at 4800 psi once", True), ("filled to 2900 psi on Fridays", False), ("test pressure 5000 psi", False), ("3300 psi when warm", False)],
)  # fmt: skip
def test_what_a_card_says_that_it_stood_at_has_a_day(note: str, told: bool) -> None:
    found = {f.code for f in check(Seed({"note": note}).book(), TODAY)}
    assert ("card-says-overfilled" in found) is told


@pytest.mark.parametrize(
    ("act", "to", "told"),
    [("reading", "2000", True), ("drain", "2000", True), ("reading", "889", False), ("reading", "891", True), ("fill", "2000", False)],
)  # fmt: skip
def test_what_rises_was_filled(act: str, to: str, told: bool) -> None:
    log = FILL.replace("act=fill", f"act={act}").replace("2900", to) + "; from=600 psi"
    assert ("reading-rises" in {f.code for f in check(Seed(log=log).book(), TODAY)}) is told


def test_a_permit_under_another_name_is_none() -> None:
    card = {
        "marks": "DOT-SP 99001-3000 K118204 03A24",
        "specification": "[DOT-PS 99001]",
        "permit": "{number: DOT-SP 99001, period: 5 years, test_pressure: 5000 psi}",
    }
    for spec, told in (("[DOT-PS 99001]", True), ("[DOT-SP 99001]", False)):
        found = check(Seed(card | {"specification": spec}).book(), TODAY)
        assert ("marks-specification" in {f.code for f in found}) is told, spec


LINE_AT = "at=2026-11-%s+01:00; cylinder=A; by=MV; act=%s"
CHANGED = "{on: 2026-11-21, by: MV, did: changed, bled: heard, outlet: yoke, thread: 3/4-14 NPSM, rating: 3442 psi, disc: 5000 psi}"
GONE = "void: {on: 2026-11-22, by: MV, why: wrong card}"
OF_THE_21ST = "[{on: 2026-11-21, by: MV, to: nitrox}]"


@pytest.mark.parametrize(
    ("card", "lines", "told"),
    [
        ({}, [], True),
        ({}, [("20T18:00:00", "drain; to=0 psi")], False),
        ({}, [("20T18:00:00", "drain; to=500 psi")], True),
        ({}, [("21T08:00:00", "drain; from=2900 psi; to=0 psi")], False),
        ({}, [("21T08:00:00", "reading; to=2900 psi")], True),
        # what the next fill found is what was left in it
        ({}, [("23T08:00:00", "fill; from=0 psi; to=2900 psi; gas=nitrox32")], False),
        ({}, [("23T08:00:00", "fill; from=600 psi; to=2900 psi; gas=nitrox32")], True),
        ({}, [("23T08:00:00", "fill; to=2900 psi; gas=nitrox32")], True),
        ({}, [("23T08:00:00", "reading; to=0 psi")], False),
        ({}, [("23T08:00:00", "drain; from=2900 psi; to=0 psi")], True),
        ({"inspected": f"[{OLD}, {LOOK % '2026-11-21'}]"}, [], False),
        ({"inspected": f"[{OLD}, {LOOK % '2026-11-22'}]"}, [], True),
        ({"sent": "[{on: 2026-11-20, to: N, for: repair, back: 2026-11-21, refitted: 2026-11-21, refitted_by: MV}]"}, [], False),
        ({"cleaned": OF_THE_21ST.replace("11-21", "11")}, [], False),
        ({"cleaned": OF_THE_21ST.replace("nitrox", "air")}, [], True),
        # who worked on the valve, or cleaned it, is somebody who can be asked, and says so
        ({"valve_work": f"[{CHANGED}]"}, [], False),
        ({"valve_work": f"[{CHANGED.replace('MV', 'Northside Valves')}]"}, [], False),
        ({"valve_work": f"[{CHANGED.replace('by: MV, ', '')}]"}, [], True),
        ({"valve_work": f"[{CHANGED.replace('MV', 'nobody')}]"}, [], True),
        ({"valve_work": f"[{CHANGED.replace('MV', 'ZZ')}]"}, [], True),
        ({"valve_work": f"[{CHANGED[:-1]}, {GONE}}}]"}, [], True),
        ({"valve_work": "[{on: 2026-11-21, by: MV, did: serviced, stayed_on: yes}]"}, [], True),
        ({"valve_work": "[{on: 2026-11-21, by: MV, did: serviced, bled: heard}]"}, [], False),
        # of the day of the fill before, by its time; without one nobody knows
        ({"valve_work": f"[{CHANGED.replace('11-21', '11-20')[:-1]}, at: '08:00'}}]"}, [], True),
        ({"valve_work": f"[{CHANGED.replace('11-21', '11-20')[:-1]}, at: '21:00'}}]"}, [], False),
        ({"valve_work": f"[{CHANGED.replace('11-21', '11-20')}]"}, [], False),
        ({"cleaned": OF_THE_21ST.replace("to:", "bled: heard, to:")}, [], False),
        ({"cleaned": OF_THE_21ST.replace("to:", "bled: heard, to:").replace("by: MV, ", "")}, [], True),
        # another cleaning, but not itself
        ({"cleaned": OF_THE_21ST[:-1] + ", {on: 2026-11-20, by: MV, to: oxygen, bled: heard}]"}, [], False),
        # what reaches through the wall opens nothing; nor does what a supplier has
        ({"requalified": "[{on: 2024-03, method: hydrostatic, by: T123}, {on: 2026-11-21, method: ultrasonic, by: T123, result: pass}]"}, [], True),
        ({"sent": "[{on: 2026-11-20, to: N, for: supplier-return, back: 2026-11-21}]"}, [], True),
    ],
)  # fmt: skip
def test_a_cleaning_is_of_an_empty_cylinder(
    card: dict[str, str | None], lines: list[tuple[str, str]], told: bool
) -> None:
    log = "\n".join([FILL, *(LINE_AT % line for line in lines)])
    found = {f.code for f in check(Seed({"cleaned": OF_THE_21ST, **card}, log=log).book(), TODAY)}
    assert ("cleaned-while-full" in found) is told


LET_GO = "on: 2026-11-18, by: MV, released: 2026-11-20, released_by: MV"


@pytest.mark.parametrize(
    ("card", "told"),
    [
        # a second pressure, words of the program, or a bleed do not answer the first
        ({"held": f"[{{{LET_GO}, why: 'overfilled to 4800, reads 3010 psi', released_why: bled}}]"}, "over-limit"),
        ({"held": f"[{{{LET_GO}, why: 'filled to 4800 psi, logged as a fact: typed', released_why: bled}}]"}, "over-limit"),
        ({"held": f"[{{{LET_GO}, why: boot loose, released_why: 'stood at 4800 psi, bled'}}]"}, "over-limit"),
        ({"held": "[{on: 2026-11-18, by: MV, why: filled to 4800 psi, void: {why: bled down, by: MV, on: 2026-11-19}}]"}, "over-limit"),
        ({"held": "[{on: 2026-11-18, by: MV, why: filled to 4800 psi, void: {why: wrong cylinder, by: MV, on: 2026-11-19}}]"}, None),
        ({"rented": "[{on: 2026-11-18, to: C-1, back: 2026-11-19, note: customer filled it to 4800 psi}]"}, "over-limit"),
        ({"jobs": "[{on: 2026-11-18, by: MV, work: [hydro], note: came in at 4800 psi}]"}, "over-limit"),
        ({"jobs": "[{on: 2026-11-18, by: MV, work: [hydro], note: came in at 4800 psi, void: {why: bled down, by: MV, on: 2026-11-19}}]"}, "over-limit"),
        ({"jobs": "[{on: 2026-11-18, by: MV, work: [hydro], note: came in at 4800 psi, void: {why: wrong cylinder, by: MV, on: 2026-11-19}}]"}, None),
        ({"rented": "[{on: 2026-11-18, to: C-1, back: 2026-11-19, note: stood at 4800 psi, void: {why: bled down, by: MV, on: 2026-11-19}}]"}, "over-limit"),
        ({"inspected": f"[{OLD}, {{on: 2026-11-18, by: MV, checklist: outside, result: pass, note: 'stood at 4800 psi, bled'}}]"}, "over-limit"),
        ({"inspected": f"[{OLD}, {{on: 2026-11-18, by: MV, checklist: outside, result: pass, note: overfilled}}]"}, "note-says-overfilled"),
        ({"inspected": f"[{OLD}, {LOOK % '2026-11-20'}, {{on: 2026-11-18, by: MV, checklist: outside, result: pass, note: stood at 4800 psi}}]"}, None),
        ({"inspected": f"[{OLD}, {{on: 2026-11-18, by: MV, checklist: annual, result: pass, note: 'stood at 4800 psi, drained'}}]"}, None),
        ({"held": f"[{{{LET_GO}, why: boot loose, released_why: 'outside good, 2900 psi'}}]"}, None),
    ],
)  # fmt: skip
def test_what_it_stood_at_is_heard_wherever_it_is_written(
    card: dict[str, str | None], told: str | None
) -> None:
    found = {f.code for f in check(Seed(card).book(), TODAY)}
    heard = {"hold-says-overfilled", "over-limit", "note-says-overfilled"}
    assert found & heard == {told} - {None}


@pytest.mark.parametrize(
    ("why", "told"),
    [
        ("filled to 2850 psi, logged as a fact", False),
        ("filled to 2850 psi, logged as a fact: it is held", False),
        ("filled to 2850 psi, logged as a fact: 2850 psi is above its limit, 2640 psi", False),
        ("filled to 2850 psi, logged as a fact: stood at 4800 psi, bled", True),
        ("filled to 2850 psi, logged as a fact; stood at 4800 psi, bled", True),
        (
            "filled to 2850 psi, logged as a fact: overfilled, it seemed",
            False,
        ),  # that fill is judged
    ],
)
def test_what_is_told_with_a_fill_hides_no_higher_pressure(why: str, told: bool) -> None:
    ends = (
        "released: 2026-11-20, released_by: MV, released_why: bled",
        "void: {why: bled down, by: MV, on: 2026-11-19}",
    )
    fill = FILL.replace("2900 psi", "2850 psi").replace("2026-11-20", "2026-11-18")
    for end in ends:
        hold = f"[{{on: 2026-11-18, by: MV, why: '{why}', {end}}}]"
        found = {f.code for f in check(Seed({"held": hold}, log=fill).book(), TODAY)}
        assert ("over-limit" in found) is told, found
        assert told or not found & {"note-says-overfilled", "hold-says-overfilled"}


@pytest.mark.parametrize(
    ("note", "told"),
    [("happened: went to 4000 psi and bled", True), ("read again, 2900 psi", False), ("tested at 5000 psi", False)],
)  # fmt: skip
def test_a_note_of_the_log_that_says_it_stood_too_high_is_one(note: str, told: bool) -> None:
    book = Seed(log=f"{FILL}; note={note}").book()
    assert ("over-limit" in {f.code for f in check(book, TODAY)}) is told


@pytest.mark.parametrize(
    ("card", "word"),
    [
        ({"requalified": f"[{{on: 2024-03, method: hydrostatic, by: maker}}, {{{RIN.replace('2026-03', '2026-06')}}}]"}, "water of its test"),
        ({"requalified": f"[{{on: 2024-03, method: hydrostatic, by: maker}}, {{{RIN.replace('2026-03', '2026-05')}}}]"}, "water of its test"),
        # of one month only a journey tells that it was home before it was cleaned
        ({"cleaned": "[{on: 2026-05-12, by: MV, to: oxygen}]", "sent": "[{on: 2026-05-02, to: N, for: requalification, back: 2026-05-09, refitted: 2026-05-09, refitted_by: MV}]", "inspected": f"[{OLD}, {LOOK % '2026-05-10'}]", "requalified": f"[{{on: 2024-03, method: hydrostatic, by: maker}}, {{{RIN.replace('2026-03', '2026-05')}}}]"}, None),
        ({"cleaned": "[{on: 2026-05-08, by: MV, to: oxygen}]", "sent": "[{on: 2026-05-02, to: N, for: requalification, back: 2026-05-09, refitted: 2026-05-09, refitted_by: MV}]", "inspected": f"[{OLD}, {LOOK % '2026-05-10'}]", "requalified": f"[{{on: 2024-03, method: hydrostatic, by: maker}}, {{{RIN.replace('2026-03', '2026-05')}}}]"}, "water of its test"),
        ({"cleaned": "[{on: 2026-05-12, by: MV, to: oxygen}]", "sent": "[{on: 2026-05-02, to: N, for: repair, back: 2026-05-09, refitted: 2026-05-09, refitted_by: MV}]", "inspected": f"[{OLD}, {LOOK % '2026-05-10'}]", "requalified": f"[{{on: 2024-03, method: hydrostatic, by: maker}}, {{{RIN.replace('2026-03', '2026-05')}}}]"}, "water of its test"),
        ({"held": "[{on: 2026-06-01, by: MV, why: oil found in the valve, released: 2026-06-02, released_by: MV, released_why: wiped}]"}, "oil"),
        ({"inspected": f"[{OLD}, {{on: 2026-06-01, by: MV, checklist: annual, result: pass, note: oily film inside; new PTFE seat}}]"}, "oily"),
        ({"inspected": f"[{OLD}, {{on: 2026-04-01, by: MV, checklist: annual, result: pass, note: oily film inside}}]"}, None),
        ({"note": "compressor oil changed in May"}, None),
        ({"note": "red silicone boot"}, None),
        ({"requalified": f"[{{on: 2024-03, method: hydrostatic, by: maker}}, {{{RIN.replace('2026-03', '2026-06').replace('hydrostatic', 'ultrasonic')}}}]"}, None),
        ({"inspected": f"[{OLD}, {{on: 2026-06-01, by: MV, checklist: annual, result: pass, findings: [{{step: inside, result: note, what: salt-water, note: washed out}}]}}]"}, "salt water"),
        ({"inspected": f"[{OLD}, {{on: 2026-06-01, by: MV, checklist: annual, result: pass, note: oily film inside}}]"}, "oily"),
        ({"inspected": f"[{OLD}, {{on: 2026-06-01, by: MV, checklist: annual, result: pass, note: 'no oil, no grease'}}]"}, None),
        ({"inspected": f"[{OLD}, {{on: 2026-06-01, by: MV, checklist: annual, result: pass, note: greased with PTFE grease}}]"}, None),
        ({"note": "valve regreased with silicone in August"}, "regreased"),
        ({"rented": "[{on: 2026-06-01, to: C-1, back: 2026-06-03, damage: oil all over the valve}]"}, "oil"),
        ({"rented": "[{on: 2026-06-01, to: C-1, back: 2026-06-03, note: hose oil on it}]"}, "oil"),
        ({"rented": "[{on: 2026-04-01, to: C-1, back: 2026-04-03, note: oil}]"}, None),
        ({"rejected": "[{on: 2026-06-01, by: MV, why: 'grease in the neck', lifted: 2026-06-02, lifted_by: MV, lifted_why: wiped}]"}, "grease"),
        ({"note": "Fett am Gewinde"}, "Fett"),
        *(({"held": f"[{{{LET_GO}, why: {why}, released_why: looked over}}]"}, word) for why, word in (
            ("not oxygen clean", "not oxygen clean"), ("needs o2 cleaning", "needs o2 clean"), ("contaminated", "contaminated"),
            ("filled with air by mistake", "with air"), ("had plain air from B1 in it", "plain air"), ("mit Luft gefüllt", "mit Luft"),
            ("lubed with WD 40", "WD 40"), ("copper paste on threads", "copper paste"), ("Schmierfett", "Schmierfett"),
            ("Salzwasser", "Salzwasser"), ("salt water inside", "water"), ("wet inside", "wet inside"),
            ("converted to air", "converted to air"), ("sucked water", "sucked water"), ("nitrile o-ring fitted", "nitrile"),
            ("rinsed salt off the outside", None), ("salt water under the boot", None), ("stored in the oil room", None),
            ("not contaminated", None), ("boot loose", None), ("topped with oxygen-compatible air", None),
        )),
        ({"note": "not for nitrox"}, "not for nitrox"),
        ({"requalified": f"[{{on: 2024-03, method: hydrostatic, by: maker}}, {{{RIN.replace('2026-03', '2026-06').replace('hydrostatic', 'proof')}}}]"}, "water of its test"),
        ({"inspected": f"[{OLD}, {{on: 2026-06-01, by: MV, checklist: annual, result: pass, note: 'no dents, oil or rust'}}]"}, None),
        ({"inspected": f"[{OLD}, {{on: 2026-06-01, by: MV, checklist: annual, result: pass, note: 'checked for oil: none; ölfrei'}}]"}, None),
        ({"valve": "{outlet: convertible, thread: 3/4-14 NPSM, rating: 3442 psi, disc: 5000 psi, lubricant: silicone grease}"}, "silicone grease"),
        ({"valve": "{outlet: convertible, thread: 3/4-14 NPSM, rating: 3442 psi, disc: 5000 psi, lubricant: not oxygen-compatible}"}, "not oxygen-compatible"),
        *(
            ({"valve": f"{{outlet: convertible, thread: 3/4-14 NPSM, rating: 3442 psi, disc: 5000 psi, lubricant: {told}}}"}, None if fits else told)
            for told, fits in (("none", True), ("dry", True), ("oxygen-compatible (no silicone)", True), ("O2 service grease", True), ("Sauerstofffett", True), ("silicone with PTFE", False), ("was oxygen-compatible", False), ("grease", False))
        ),
        ({"valve": "{outlet: convertible, thread: 3/4-14 NPSM, rating: 3442 psi, disc: 5000 psi, lubricant: oxygen-compatible}"}, None),
        ({}, None),
    ],
)  # fmt: skip
def test_what_is_cleaned_for_oxygen_met_no_water_and_no_oil(
    card: dict[str, str | None], word: str | None
) -> None:
    answer = may_fill(Seed(CLEANED_CARD | card).book(), "A", TODAY, Gas.parse("nitrox32"))
    texts = [r.text for r in answer.refusals if r.code == "oxygen-clean-lost"]
    assert bool(texts) is bool(word), [r.text for r in answer.refusals]
    assert not word or word in texts[0]


@pytest.mark.parametrize(
    ("finding", "code"),
    [
        ("visual only, not pressurised", "test-says-failed"),
        ("GO/NO-GO: NO-GO gauge enters", "test-says-failed"),
        ("gas escaped at test pressure", "test-says-failed"),
        ("passed with restrictions", "test-says-failed"),
        ("tested at 3000 psi", "tested-too-low"),
        ("hydro at 100 psi, passed", "tested-too-low"),
        ("tested at 5000 psi", None),
        ("hydro 1500 psi passed", "tested-too-low"),
        *(
            (words, "test-says-failed")
            for words in (
                "hydro waived",
                "not hydro tested",
                "stamped without test",
                "leak test only",
                "nicht geprüft",
                "nur Sichtprüfung",
                "keine Druckprüfung",
                "wrong cylinder",
                "passed conditionally",
                "wall thickness below min",
                "no-go gauge goes in",
                "tested to working pressure only",
                "Prüfdruck nicht erreicht",
                "essai non effectué",
            )
        ),
        ("passed at 27600 kPa", "tested-too-low"),
        ("permanent expansion 12 %", "expansion"),
        ("PE 11 %, passed", "expansion"),
        ("bleibende Dehnung 12 %", "expansion"),
        ("permanent expansion 2.3 %", None),
        ("held 3000 psi, passed", "tested-too-low"),
        ("test pressure 1500 psi, passed", "tested-too-low"),
        ("tested at 10 MPa", "tested-too-low"),
        ("mit 10 bar geprüft, bestanden", "tested-too-low"),
        ("passed, 2400 psi", "tested-too-low"),
        ("34.5 MPa, passed", None),
        ("working pressure 3000 psi, passed", None),
        ("3000 psi cylinder, passed at 5000 psi", None),
        ("3000 psi, passed", None),
        ("passed at 5,000 psi and filled to 3000 psi", None),
        ("dent 3 mm deep on shoulder", "note-asks-for-finding"),
        ("threads worn, 2 missing", "note-asks-for-finding"),
        ("passed", None),
        ("passed and returned at 500 psi", None),
        ("passed; valve tested at 3000 psi", None),
        ("hydro passed at 5000 psi, valve leak-tested at 200 bar", None),
    ],
)
def test_the_finding_of_a_test_that_passed_is_read(finding: str, code: str | None) -> None:
    seed = Seed(requalified(f"{RIN}, finding: '{finding}'"))
    asked = {"test-says-failed", "tested-too-low", "note-asks-for-finding", "expansion"}
    assert {f.code for f in check(seed.book(), TODAY)} & asked == ({code} - {None})


@pytest.mark.parametrize(
    ("before", "severity"),
    [("2026-11-06", Severity.FAULT), ("2026-11-04", Severity.FAULT), ("2026-11-11", None)],
)
def test_bad_air_goes_on_into_what_is_filled_from_a_cylinder(
    before: str, severity: Severity | None
) -> None:
    seed = breathed(before)
    lines = seed.log.replace("cylinder=A", "cylinder=B")
    on = "\nat=2026-11-12T09:30:00+01:00; cylinder=A; act=fill; from=0 psi; to=2000 psi; gas=air; source=B; by=MV"
    other = {"B": with_lines(GOOD, serial="K9999", marks=None)}
    book = replace(seed, log=lines + on, others=other).book()
    found = [f for f in check(book, TODAY) if f.code == "bad-air" and "A" in f.touches]
    assert [f.severity for f in found] == ([severity] if severity else [])


@pytest.mark.parametrize(
    ("finding", "told"),
    [
        *((words, False) for words in ("passed", "ok", "permanent expansion 2.3 %", "tested at 5000 psi", "passed, permanent expansion 2.1 %", "passed; new valve fitted", "REE 64.0 cc, passed", "bestanden, Prüfdruck 345 bar")),
        *((words, True) for words in ("bottle was blue", "passed, but look again", "passed if dried", "ok?", "weight loss 8 %")),
    ],
)  # fmt: skip
def test_a_finding_in_no_known_words_is_told(finding: str, told: bool) -> None:
    found = check(Seed(requalified(f"{RIN}, finding: '{finding}'")).book(), TODAY)
    assert ("test-finding-unread" in {f.code for f in found}) is told


@pytest.mark.parametrize(
    ("material", "finding", "fillable"),
    [
        ("steel", "passed", True),
        ("aluminium", "passed", False),
        ("aluminium", "no heat damage found, passed", True),
        ("aluminium", "conductivity in order", True),
    ],
)
def test_a_pressure_test_says_nothing_of_aluminium_out_of_a_fire(
    material: str, finding: str, fillable: bool
) -> None:
    held = "[{on: 2026-10-18, by: MV, why: burnt in the shed fire, released: 2026-10-21, released_by: MV, released_why: tested}]"
    test = f"{{on: 2026-10-20, method: hydrostatic, by: Z418, result: pass, stamp: 10 Z418 26, clears: [held 2026-10-18], finding: '{finding}'}}"
    tests = f"[{{on: 2024-03, method: hydrostatic, by: maker}}, {test}]"
    card = (STEEL if material == "steel" else {}) | {"held": held, "requalified": tests}
    found = may_fill(Seed(card).book(), "A", TODAY).refusals
    assert not found or not fillable, [r.code for r in found]
    assert fillable or "over-heated" in {r.code for r in found}


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ({"size": "al80", "water_volume": None}, set()),
        ({"size": "hp100", "water_volume": None}, {"size-of-another-pressure"}),
        ({"size": "al40", "water_volume": None, "marks": f"{SHOULDER} 11.1 L"}, {"marks-volume"}),
        ({"rated": "77 cuft at 3000 psi (real)", "water_volume": None}, set()),
        ({"rated": "77 cuft at 2640 psi (real)", "water_volume": None}, {"size-of-another-pressure"}),
    ],
)  # fmt: skip
def test_a_size_goes_with_the_pressure_and_the_stamped_volume(
    keys: dict[str, str | None], told: set[str]
) -> None:
    found = check(Seed(keys).book(), TODAY)
    assert {f.code for f in found} & {"size-of-another-pressure", "marks-volume"} == told


@pytest.mark.parametrize(
    ("marks", "told"),
    [
        ("EXP NOV 2024", True),
        ("FIN 2024", True),
        ("END OF LIFE 2024", True),
        ("EXP JAN 24", True),
        ("END OF LIFE MAR 24", True),
        ("EXP FEB 2030", True),
        ("FIN 2030", False),
        ("EXP MAR 2030", False),
        ("EXP MAR 30", False),
        *(
            (f"{word} {on}", "2030" not in on)
            for word in ("LIFE", "UNTIL", "END", "LIFE UNTIL", "EXPIRES", "DISPOSE BY")
            for on in ("JAN 2024", "01/2024", "MAR 2030", "03/2030")
        ),
        ("GOOD UNTIL 2024", True),
    ],
)
def test_the_end_of_a_life_by_its_year_is_one(marks: str, told: bool) -> None:
    card = {
        "marks": f"ISO 11119-2 PW300 PH450 X1 2015/03 {marks}",
        "permit": "{number: X, life_ends: 2030-03}",
    }
    codes = {f.code for f in check(Seed(card).book(), TODAY)}
    assert ("marks-life-end" in codes) is told


@pytest.mark.parametrize(
    ("marks", "told"),
    [
        (f"{SHOULDER} 3AA2250", True),
        (f"{SHOULDER} 3AL2250", True),
        (f"{SHOULDER} 3ALM207", False),
        (f"{SHOULDER} 3AL3000", False),
        (SHOULDER, False),
    ],
)
def test_another_specification_on_the_shoulder_speaks_against_the_card(
    marks: str, told: bool
) -> None:
    found = [f for f in check(Seed({"marks": marks}).book(), TODAY) if f.code == "marks-unread"]
    assert (Severity.FAULT in {f.severity for f in found}) is told, [f.text for f in found]


@pytest.mark.parametrize(
    "words", ["NON REFILLABLE", "NON-REFILLABLE", "NRC", "ARGON ONLY", "EINWEG"]
)
def test_what_is_made_for_one_filling_or_another_gas_is_never_filled(words: str) -> None:
    assert not may_fill(Seed({"marks": f"{SHOULDER} {words}"}).book(), "A", TODAY).fillable


@pytest.mark.parametrize("source", ["C-1", "C 1", "c1", "compressor"])
@pytest.mark.parametrize("day", ["2026-11-05", "2026-11-06"])
def test_air_of_the_day_of_a_failed_sample_is_bad_by_whatever_name(source: str, day: str) -> None:
    station = "compressor: {name: C1}\nair_tests: [{on: 2026-11-05, result: fail}, {on: 2026-11-10, result: pass}]"
    log = FILL.replace("2026-11-20", day).replace("source=C1", f"source={source}")
    found = [f for f in check(Seed(log=log, station=station).book(), TODAY) if f.code == "bad-air"]
    assert [f.severity for f in found] == [Severity.FAULT]


MIX = ON_OXYGEN.replace("gas=oxygen; o2=99.5 %", "gas=nitrox32; o2=32 %")
SAID = "\nat=2026-11-22T09:30:00+01:00; cylinder=A; act=reading; to=2800 psi; by=MV; analysed_by=%s; o2=%s"


@pytest.mark.parametrize(
    ("line", "codes"),
    [
        ("", {"mixed-unanalysed"}),
        (SAID % ("MV", "28 %"), set()),
        (SAID % ("MV", "28 %; gas=nitrox28"), set()),
        # one that disagrees with itself, that no mixing gives, or that nobody made
        (SAID % ("MV", "58 %; gas=air"), {"read-otherwise"}),
        (SAID % ("MV", "60 %; gas=air"), {"read-otherwise", "mixed-unanalysed"}),
        (SAID % ("MV", "15 %"), {"mixed-unanalysed"}),
        (SAID % ("???", "28 %"), {"mixed-unanalysed"}),
    ],
)
def test_an_analysis_answers_for_a_mix_where_it_can_be_true(line: str, codes: set[str]) -> None:
    seed = Seed({"service": "nitrox"}, log=MIX + line)
    asked = {"mixed-unanalysed", "read-otherwise"}
    assert {f.code for f in check(seed.book(), TODAY)} & asked == codes


@pytest.mark.parametrize("isolator", ["", "isolator: open\n"])
@pytest.mark.parametrize("more", ["; from=100 psi; o2=20.9 %; analysed_by=MV", "; from=0 psi"])
def test_the_other_side_answers_for_no_mix(isolator: str, more: str) -> None:
    log = f"{MIX}\n{FILL.replace('cylinder=A', 'cylinder=B').replace('2026-11-20', '2026-11-22')}{more}"
    others = {"B": with_lines(GOOD, serial="K9999", service="nitrox", marks=None)}
    sets = {"S": f"cylinders: [A, B]\nmanifold: isolation manifold\n{isolator}"}
    found = check(Seed({"service": "nitrox"}, log=log, others=others, sets=sets).book(), TODAY)
    assert any(f.code == "mixed-unanalysed" and "A" in f.touches for f in found)


def test_what_was_filled_on_the_day_of_a_look_was_filled_into_an_empty_one() -> None:
    log = MIX.replace("; from=2000 psi", "")
    look = f"[{OLD}, {LOOK % '2026-11-20'}]"
    for card, told in (({}, True), ({"inspected": look}, False)):
        found = check(Seed({"service": "nitrox"} | card, log=log).book(), TODAY)
        assert ("mixed-unanalysed" in {f.code for f in found}) is told


def test_nobody_breathes_helium_and_a_log_may_name_it() -> None:
    log = FILL.replace("gas=air", "gas=helium").replace("2900", "300")
    seed = Seed({"service": "nitrox"}, log=log)
    codes = {r.code for r in may_fill(seed.book(), "A", TODAY, Gas.parse("helium")).refusals}
    assert "gas-not-for-service" in codes
    codes = {r.code for r in may_fill(seed.book(), "A", TODAY).refusals}
    assert {"contents-differ", "not-analysed"} <= codes


@pytest.mark.parametrize(
    "why", ["gauge needle cracked", "o-ring blew with a crack", "sticker burnt off by the sun"]
)
def test_a_fitting_is_no_cylinder(why: str) -> None:
    assert may_fill(held_as(why).book(), "A", TODAY).fillable


def test_a_month_of_a_test_answers_for_one_stay_at_the_test_house() -> None:
    stay = "{on: %s, to: N, for: requalification, back: %s, refitted: %s, refitted_by: MV}"
    first, second = (
        stay % (("2026-11-02",) + ("2026-11-05",) * 2),
        stay % (("2026-11-16",) + ("2026-11-20",) * 2),
    )
    tests = (
        "[{on: 2024-03, method: hydrostatic, by: maker}, {on: 2026-11, method: visual, by: Z418}]"
    )
    settings = SETTINGS.replace("[us-dot]", "[uk]")
    for sent, home in ((first, True), (f"{first}, {second}", False)):
        seed = Seed({"sent": f"[{sent}]", "requalified": tests}, settings=settings)
        book = seed.book()
        assert (status_of(book, book.cylinders["A"]) is not Status.AWAITING_INSPECTION) is home, (
            sent
        )


@pytest.mark.parametrize("rules", ["uk", "de", "au", "us-dot"])
@pytest.mark.parametrize("result", ["", ", result: fail"])
def test_the_first_test_is_a_look_where_the_rules_take_it_for_one(rules: str, result: str) -> None:
    settings = SETTINGS.replace("[us-dot]", f"[{rules}]")
    first = f"[{{on: 2026-03, method: hydrostatic, by: maker{result}}}]"
    book = Seed({"requalified": first, "inspected": None}, settings=settings).book()
    waits = status_of(book, book.cylinders["A"]) is Status.AWAITING_INSPECTION
    assert waits is (rules == "us-dot" or bool(result))


@pytest.mark.parametrize("status", ["held", "rejected", "condemned", "lost", "sold"])
def test_a_status_that_speaks_against_it_is_not_mended_by_writing_another(status: str) -> None:
    told = [p for p in check(Seed({"status": status}).book(), TODAY) if p.code == "status"]
    assert told
    assert not any("`status: in-service`" in (p.mend or "") for p in told)


@pytest.mark.parametrize(
    ("method", "result", "told"),
    [
        ("hydrostatic", "pass", False),
        ("ultrasonic", "pass", False),
        ("eddy-current", "pass", True),
        ("hydrostatic", "fail", True),
    ],
)
def test_only_a_pressure_test_that_passed_answers_for_pits(
    method: str, result: str, told: bool
) -> None:
    held = HELD % "pits near the foot"
    test = f"{{on: 2026-10-20, method: {method}, by: Z418, result: {result}, clears: [held 2026-10-18]}}"
    tests = f"[{{on: 2024-03, method: hydrostatic, by: maker}}, {test}]"
    book = Seed({"held": held, "requalified": tests}).book()
    assert ("note-asks-for-finding" in {f.code for f in check(book, TODAY)}) is told


@pytest.mark.parametrize("name", ATTACKED)
def test_what_an_attacker_wrote(name: str) -> None:
    seed, fillable = ATTACKED[name]
    answer = may_fill(replace(seed, change=with_outside).book(), "A", TODAY)
    assert answer.fillable is fillable, [r.code for r in answer.refusals]


@pytest.mark.parametrize(
    ("marks", "by", "told"),
    [
        ("2024/09 Q112", "Kelp Test Q112", False),
        ("2024/09-Q112", "Q112", True),  # joined: the date is to be written as `stamp:`
        ("2024/09 Q112", "Kelp Test", True),
        ("2024/09 99", "Kelp 99", False),
        ("2024/09 99", "Kelp 98", True),
        ("09 Q12 24", "Mill", False),
        ("2024 Q12 09", "Mill", False),
        ("2024/09/15", "Mill", False),
        ("15.09.2024", "Mill", False),
        ("2024/09 BUOY -0.4", "Mill", False),
        ("2024/09 -12.4", "Mill", True),
    ],
)
def test_what_a_shoulder_of_the_eu_leaves_to_say(marks: str, by: str, told: bool) -> None:
    seed = european(f"2018/05 {marks}", f"2024-09, method: hydrostatic, by: {by}")
    answer = may_fill(seed.book(), "A", TODAY)
    assert answer.fillable
    assert bool([w for w in answer.warnings if w.code.startswith(("marks-", "stamp-"))]) is told


@pytest.mark.parametrize(("isolator", "told"), [("open", True), ("none", True), ("shut", False)])
def test_what_fills_one_side_fills_the_other(isolator: str, told: bool) -> None:
    answer = may_fill(of_a_set(isolator, REJECTED_TO, key="rejected").book(), "A", TODAY)
    assert ("filled-while" in {r.code for r in answer.refusals}) is told


@pytest.mark.parametrize(
    ("key", "entry"),
    [
        ("sent", "[{on: 2026-11-18, by: MV, to: T123, for: repair, back: 2026-11-19, refitted: 2026-11-21, refitted_by: MV}]"),
        ("lost", "[{on: 2026-11-18, by: MV, found: 2026-11-22, found_by: MV, found_why: under a bench}]"),
    ],
)  # fmt: skip
def test_what_was_away_was_not_filled_with_its_other_side(key: str, entry: str) -> None:
    answer = may_fill(of_a_set("open", entry, key=key).book(), "A", TODAY)
    assert "filled-while" not in {r.code for r in answer.refusals}


def test_a_side_that_is_held_with_the_other_was_filled_with_it() -> None:
    seed = of_a_set("open", "2026-11-23")
    both = {"B": with_lines(seed.others["B"], held=HELD_TO % "2026-11-23")}
    answer = may_fill(replace(seed, others=both).book(), "A", TODAY)
    assert "filled-while" in {r.code for r in answer.refusals}


@pytest.mark.parametrize(
    ("first", "later", "otherwise"),
    [
        ("32.9 %", "o2=33.2 %", False),  # 0.3 from what was analysed at the fill
        ("31.6 %", "gas=nitrox31; o2=31.4 %", False),
        ("32.0 %", "o2=33.2 %", True),
        ("33.0 %", "o2=33.8 %", True),  # further from the label than two analysers are
        ("32.9 %", "o2=31.2 %", False),  # as near to the label as a fill may be
        ("31.6 %", "gas=nitrox31", True),  # another name, and nobody analysed it
        ("32.0 %", "gas=nitrox36; o2=32.0 %", True),
        ("32.0 %", "gas=air; o2=20.9 %", True),
    ],
)
def test_a_reading_is_held_to_what_was_analysed_at_the_fill(
    first: str, later: str, otherwise: bool
) -> None:
    answer = may_fill(analysed_twice(first, later).book(), "A", TODAY, Gas.parse("nitrox32"))
    assert ("read-otherwise" in {r.code for r in answer.refusals}) is otherwise


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("before the sample that failed", True),
        ("and drained", False),
        ("filled on the day of the good one", False),
        ("from who knows where before it", True),
        ("before it, and topped till a twentieth is left", True),
        ("before it, and topped once", True),
        ("from who knows where after it", True),
        ("filled from somewhere else", False),
    ],
)
def test_air_of_a_failed_test_is_refused(name: str, told: bool) -> None:
    answer = may_fill(ATTACKED[name][0].book(), "A", TODAY)
    assert ("bad-air" in {r.code for r in answer.refusals}) is told


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("suspected crack at the neck", "crack"),
        ("not without cracks", "cracks"),
        ("no cracks, dents or corrosion", ""),
        ("no signs of cracks", ""),
        ("no dent, crack at the neck", "crack"),
        ("crack: none found", ""),
        ("cracks ruled out", ""),
        ("no doubt a crack", "crack"),
        ("kein Riss am Hals, ohne Haarrisse", ""),
        ("not tested for cracks", "cracks"),
    ],
)
def test_what_a_note_speaks_of(text: str, word: str) -> None:
    spoken = next(filter(None, (speaks_of(text, w) for w in ("crack", "riss", "haarriss"))), "")
    assert spoken == word


@pytest.mark.parametrize(
    ("text", "word", "spoken"),
    [
        ("visual lapsed Aug 2026", "lap", ""),
        ("a lap in the neck", "lap", "lap"),
        ("pitch of the thread", "pit", ""),
        ("pitted all over", "pit", "pitted"),
        ("charged to 3000", "char", ""),
        ("charred boot", "char", "charred"),
        ("bulging", "bulg*", "bulging"),
        ("digital gauge", "dig", ""),
    ],
)
def test_a_word_counts_with_its_own_endings(text: str, word: str, spoken: str) -> None:
    assert speaks_of(text, word) == spoken


def test_what_a_slip_touches_is_refused_or_warned_of() -> None:
    book = SEEDED_AGAINST["a set that names it by its tail"][0].book()
    assert {r.code for r in may_fill(book, "A-07", TODAY).refusals} >= {"side-misnamed"}
    warned = SEEDED_AGAINST["a twin of a misspelt maker, to the day"][0].book()
    assert {w.code for w in may_fill(warned, "A", TODAY).warnings} >= {"serial-alike"}


@pytest.mark.parametrize(
    ("by", "finding", "answers"),
    [
        ("T123", "surface fold, no crack", True),
        ("Northside Test House", "the suspected crack is a tool mark", True),
        ("mv", "surface fold", False),
        ("MV (bench)", "surface fold", False),
        ("nobody", "surface fold", False),
        ("Test Quay", "surface fold", False),
        ("T123", "cracked through two threads", False),
        ("T123", "n/a", False),
        ("T123", "pending", False),
    ],
)
def test_a_suspicion_is_answered_by_an_outsider_who_says_what_it_is(
    by: str, finding: str, answers: bool
) -> None:
    looks = F1 % ("hold", "hold", "suspected-crack", "")
    named = "clears: [suspected-crack 2026-03-05, inspected 2026-03-05]"
    test = f"{{on: 2026-04-10, method: hydrostatic, by: {by}, stamp: 04 T123 26, finding: '{finding}', {named}}}"
    first = "{on: 2024-03, method: hydrostatic, by: maker}"
    card = with_lines(GOOD, requalified=f"[{first}, {test}]", inspected=f"[{OLD}, {looks}]")
    refused = {r.code for r in may_fill(make_book({"A": card}), "A", TODAY).refusals}
    assert ("suspected-crack" in refused) is not answers, refused


@pytest.mark.parametrize(
    "line",
    [
        FILL.replace("gas=air;", "gas=air; o2=20.9 %; he=20 %; analysed_by=MV;"),
        FILL.replace("to=2900 psi", "to=600 psi")
        + "\nat=2026-11-21T09:30:00+01:00; cylinder=A; act=drain; from=2900 psi; to=500 psi; by=MV",
    ],
)
def test_what_the_log_says_otherwise_is_no_yes(line: str) -> None:
    assert not may_fill(make_book({"A": GOOD}, log=line), "A", TODAY).fillable


TO_E = "source: C1, standard: cga-grade-e"


VALUES = (
    "co: 2 ppm, co2: 400 ppm, oxygen: 20.9 %, oil: 0.1 mg/m3, hydrocarbons: 3 ppm,"
    " water: 18 mg/m3, odour: none"
)
WHOLE = (
    "standard: en-12021-2014, result: pass, oxygen: 20.9 %, co: 1 ppm, co2: 400 ppm,"
    " oil: 0.1 mg/m3, hydrocarbons: 3 ppm, water: 18 mg/m3, odour: none"
)


@pytest.mark.parametrize(
    ("failed", "again", "refused"),
    [
        ("source: C1, result: fail", f"source: C1, {WHOLE}", False),
        ("result: fail", f"source: C1, {WHOLE}", False),
        ("source: C1, result: fail", f"{WHOLE}", False),
        (f"{TO_E}, result: fail, co: 12 ppm", f"{TO_E}, result: pass, co: 1 ppm", False),
        (
            "standard: cga-grade-e, result: pass, co: 12 ppm",
            f"{TO_E}, result: pass, co: 1 ppm",
            False,
        ),
        ("standard: cga-grade-e, result: pass, co: 12 ppm", f"{TO_E}, result: pass", True),
        (
            f"{TO_E}, result: fail, co: 12 ppm",
            "source: C1, standard: osha-1910-430, result: pass, co: 12 ppm",
            True,
        ),
        (f"{TO_E}, result: fail, co: 1 ppm, odour: oil", f"{TO_E}, result: pass, co: 1 ppm", True),
        (
            f"{TO_E}, result: fail, co: 1 ppm, odour: oil",
            f"{TO_E}, result: pass, co: 1 ppm, odour: not measured",
            True,
        ),
        (
            f"{TO_E}, result: fail, co: 1 ppm, odour: oil",
            f"{TO_E}, result: pass, co: 1 ppm, odour: none",
            False,
        ),
    ],
)
def test_what_reopens_a_station_is_of_the_same_source_and_measures_what_failed(
    failed: str, again: str, refused: bool
) -> None:
    station = (
        f"compressor: {{name: C1}}\nair_tests: [{{on: 2026-09-12, {failed}}}, "
        f"{{on: 2026-10-12, {again}}}]"
    )
    assert may_fill(make_book({"A": GOOD}, station=station), "A", TODAY).fillable is not refused


@pytest.mark.parametrize(
    ("values", "refused"), [(VALUES, False), ("co: 2 ppm, co2: 400 ppm", True)]
)
def test_where_a_test_failed_on_nothing_said_all_of_it_is_measured_again(
    values: str, refused: bool
) -> None:
    failed = (
        "{on: 2026-09-12, source: C1, standard: cga-grade-e, result: fail, co: 7 ppm, co2: 400 ppm}"
    )
    again = f"{{on: 2026-10-12, source: C1, standard: cga-grade-e, result: pass, {values}}}"
    station = f"compressor: {{name: C1}}\nair_tests: [{failed}, {again}]"
    found = may_fill(make_book({"A": GOOD}, station=station), "A", TODAY).refusals
    assert ("air-test-failed" in {r.code for r in found}) is refused


def test_a_sticker_seen_answers_no_note() -> None:
    crack = "{on: 2026-03-01, by: MV, checklist: annual, result: pass, note: hairline crack}"
    for later, told in ((f"{OLD.replace('02-09', '04-01')}", False), ("{on: 2026-04-01, checklist: sticker-seen, result: pass, sticker: seen}", True)):  # fmt: skip
        book = make_book({"A": with_lines(GOOD, inspected=f"[{crack}, {later}]")})
        assert ("note-asks-for-finding" in {f.code for f in check(book, TODAY)}) is told


def test_the_shoulder_says_when_it_was_made_where_the_card_does_not() -> None:
    old = {"maker": "Kidde", "marks": "DOT-3AL 3000 K118204 08A85", "alloy": "6061"}
    untested = with_lines(GOOD, **old, requalified="[{on: 2024-09, method: hydrostatic, by: T123}]")
    assert facts_of(make_book({"A": untested}).cylinders["A"], rules_of(make_book({"A": untested}))).made  # fmt: skip


def test_a_good_entry_ahead_helps_nothing_and_is_a_fault() -> None:
    late = with_lines(GOOD, inspected="[{on: 2062-02-09, by: MV, checklist: annual, result: pass}]")
    book = make_book(
        {"A": with_lines(late, requalified="[{on: 2021-12, method: hydrostatic, by: maker}]")}
    ).as_known_on(TODAY)
    codes = {r.code for r in may_fill(book, "A", TODAY).refusals}
    assert {"in-the-future", "visual-missing"} <= codes


def test_what_was_written_later_than_the_day_asked_is_no_fault() -> None:
    text = with_lines(GOOD, held="[{on: 2026-11-10, by: MV, why: dent}]", status="held")
    day = dt.date(2026, 10, 1)
    book = make_book({"A": text}, station=None).as_known_on(day)
    assert may_fill(book, "A", day).fillable
    assert not [f for f in check(book, day) if f.severity is Severity.FAULT]
    assert day < books.TODAY


VOID = "at=%s; cylinder=A; act=void; voids=%s A; note=typed twice%s"
EARLY = FILL.replace("2026-11-20", "2026-01-20")


@pytest.mark.parametrize(
    ("line", "voids", "at_fault"),
    [
        (FILL, [""], True),
        (FILL, ["", "; by=MV"], False),
        (FILL.replace("act=fill", "act=reading").replace("gas=air; ", ""), [""], False),
        (EARLY, [""], False),
    ],
    ids=["nobody", "settled by somebody certified", "a reading", "before the last look inside"],
)
def test_who_strikes_out_a_fill(line: str, voids: list[str], at_fault: bool) -> None:
    at = line.split("; ")[0].removeprefix("at=")
    struck = [VOID % (f"2026-11-2{n + 1}T09:30:00+01:00", at, by) for n, by in enumerate(voids)]
    book = make_book({"A": GOOD}, log="\n".join([line, *struck]))
    refused = {r.code for r in may_fill(book, "A", TODAY).refusals}
    assert ("void-by-nobody" in refused) is at_fault, refused


@pytest.mark.parametrize(
    ("marks", "note", "told"),
    [
        ("RUSTY ANCHOR DIVERS", None, True),
        ("BAD AIBLING", "Eigentum Tauchclub Bad Aibling", False),
        ("N/G", None, True),
        ("N/G", "N/G is the inspector", False),
        ("LOT 22-113", "lot 22-113", False),
        ("X7-100", "model X7-100", False),
        ("TANK NO 7", "club tank no 7", False),
        ("\u25b3", None, False),
        ("HT 88421", "heat no. 88421", False),
        ("AL88421", None, True),
        ("AL88421", "lot AL88421", False),
        # a note tells by whole words
        ("DENT", "student tank", True),
        ("DENT", "dented, owner says", True),
        ("ASHLAND", "Ashlands", True),
        ("ASHLAND", "Ashland, its town", False),
        # what may take it out of use is told till a note says whose it is
        ("NG", "stamped NG", True),
        ("NG", "NG is the inspector's sign", False),
        ("NG", "NG is no good, its owner says", True),
        ("CRACKNELL", "Cracknell is the owner", False),
        ("CRACKNECK", "CRACKNECK", True),
        ("LEAK TESTED", None, False),
        ("D.N.F.", None, True),
        ("U/S", None, True),
        ("EMPTY", None, True),
        ("EMPTY 31.4 LBS", None, False),
        ("EMPTY WT 31.4 LBS", None, False),
        ("NITROX READY TO 40%", None, False),
        ("J.B.", None, False),
        # whose a word, or a number beside a word, is
        ("HOOK", "HOOK is the owner", False),
        ("HOOK", None, True),
        ("BSAC 1234", "BSAC 1234 is the branch", False),
        ("BSAC 1234", "1234 is the branch of BSAC", True),
        ("PSI 4350", "PSI 4350, the owner says", True),
        # when it is next due
        ("NEXT TEST 2029/03", None, False),
        ("NEXT TEST 2026/03", None, True),
        ("RETEST DUE 3/29", None, False),
    ],
)
def test_what_is_stamped_besides_is_told_until_a_note_says_what_it_is(
    marks: str, note: str | None, told: bool
) -> None:
    card = {"marks": f"DOT-3AL 3000 K118204 03A24 {marks}", "note": note}
    answer = may_fill(Seed(card).book(), "A", TODAY)
    assert answer.fillable, [r.text for r in answer.refusals]
    found = [r.text for r in answer.warnings if r.code != "regulator-unknown"]
    assert bool(found) is told, found


@pytest.mark.parametrize(
    ("card", "code", "severity"),
    [
        ({"marks": "DOT-3AL 3000 ECC 03A24"}, "marks-other-serial", Severity.ADVICE),
        ({"marks": "DOT-3AL 3000 K118204 03A24"}, "marks-other-serial", None),
        # 20 MPa are 200 bar, and 2900 psi
        ({"marks": "AS 1777 K118204 FP 20 MPA TP 30 MPA 03/24"}, "marks-pressure", None),
        ({"marks": "AS 1777 K118204 FP 20000 KPA TP 30000 KPA 03/24"}, "marks-pressure", None),
        ({"marks": "AS 1777 K118204 FP 20 TP 30 03/24"}, "marks-pressure", None),
        ({"marks": "AS 1777 K118204 FP 20 TP 30 03/24"}, "marks-unread", None),
        ({"marks": "AS 1777 K118204 FP 20 MPA TP 30 MPA 03/24"}, "marks-test-pressure", None),
        ({"marks": "AS 1777 K118204 FP 23 MPA TP 35 MPA 03/24"}, "marks-pressure", Severity.FAULT),
        ({"marks": "AS 1777 K118204 FP 15 MPA TP 30 MPA 03/24"}, "marks-pressure", Severity.FAULT),
        ({"marks": "AS 1777 K118204 WP 20 MPA TP 30 MPA 3 24"}, "marks-unread", None),
        ({"marks": "AS 1777 K118204 WP 20 MPA TP 30 MPA 3 23"}, "marks-unread", Severity.FAULT),
        # a test station's number, as whoever tested is named
        *(
            (
                {
                    "marks": f"AS 1777 K118204 WP 20 MPA TP 30 MPA 03/2024 {stamp}",
                    **requalified(f'on: 2026-03, method: hydrostatic, by: {by}, stamp: "{stamp}"'),
                },
                "marks-unread",
                told,
            )
            for stamp in ("1234-3/26", "1234 3/26", "2026/03 1234")
            for by, told in (("Harbour Test 1234", None), ("Harbour Test", Severity.WARN))
        ),
        (
            {"marks": "EN 1975 K118204 PW200 PH300 2024/03 MAX 200 BAR"},
            "marks-unread",
            None,
        ),
        (
            {"marks": "EN 1975 K118204 PW200 PH300 2024/03 MAX 150 BAR"},
            "marks-unread",
            Severity.WARN,
        ),
    ],
)
def test_what_the_marks_say(
    card: dict[str, str | None], code: str, severity: Severity | None
) -> None:
    metric = {"specification": None, "service_pressure": "200 bar", "test_pressure": "300 bar"}
    seed = Seed(card if "DOT" in str(card["marks"]) else {**metric, **card})
    found = [f.severity for f in check(seed.book(), TODAY) if f.code == code]
    assert found[-1:] == ([severity] if severity else []), found


@pytest.mark.parametrize(
    ("older", "told"), [("05/11", False), ("16/05 21/05", False), ("05/11 28/05", True)]
)
def test_older_tests_of_a_shoulder_need_not_be_on_its_card(older: str, told: bool) -> None:
    card = {
        "marks": f"DOT-3AL 3000 K118204 03A06 {older} 24/05",
        "requalified": "[{on: 2006-03, method: hydrostatic, by: maker}, {on: 2024-05, method: hydrostatic, by: T123}]",
    }
    found = [f for f in check(Seed(card).book(), TODAY) if f.code == "marks-retest"]
    assert bool(found) is told, found


@pytest.mark.parametrize(
    ("marks", "stamp", "severity"),
    [
        # the shoulder ends with a test of another year, which the card does not list
        ("03A06 11 T123 20", "stamp: 11 T123 21", Severity.WARN),
        ("03A06 11 T123 18", "stamp: 11 T123 21", Severity.WARN),
        ("03A06 11 T123 20", "", Severity.FAULT),
        ("03A06 11 T123 21", "stamp: 11 T123 21", None),
        ("03A06 11 T123 16", "stamp: 11 T123 21", None),  # listed
        ("03A06", "stamp: 11 T123 21", None),  # typed before it was tested
    ],
)
def test_a_shoulder_that_ends_with_a_test_of_no_list(
    marks: str, stamp: str, severity: Severity | None
) -> None:
    card = {
        "made": "2006-03",
        "marks": f"DOT-3AL 3000 K118204 {marks}",
        "requalified": "[{on: 2006-03, method: hydrostatic, by: maker},"
        " {on: 2016-11, method: hydrostatic, by: T123},"
        f" {{on: 2021-11, method: hydrostatic, by: T123, {stamp}}}]",
    }
    found = [f.severity for f in check(Seed(card).book(), TODAY) if f.code == "marks-retest"]
    assert found[-1:] == ([severity] if severity else []), found


def test_a_return_before_a_look_inside_is_no_later_reading() -> None:
    card = {
        "use": "rental",
        "rented": "[{on: 2026-07-24, to: B-1, until: 2026-07-26, back: 2026-07-26, pressure: 700 psi, valve: closed}]",
        "inspected": f"[{OLD}, {{on: 2026-11-24, by: MV, checklist: annual, result: pass}}]",
    }
    answer = may_fill(Seed(card, log=FILL).book(), "A", TODAY)
    assert answer.fillable
    assert "filled-elsewhere" not in {r.code for r in answer.warnings}


READ_GAS = "at=2026-11-21T10:00:00+01:00; cylinder=A; act=reading; to=2900 psi; by=MV"


@pytest.mark.parametrize(
    ("log", "fillable"),
    [
        (f"{READ_GAS}; o2=99 %; analysed_by=MV", False),
        (f"{READ_GAS}; o2=36 %; analysed_by=MV", False),
        (f"{READ_GAS}; o2=20.8 %; analysed_by=MV", True),
        (f"{FILL}\n{READ_GAS}; o2=20.8 %; analysed_by=MV", True),
        (f"{FILL}\n{READ_GAS}", True),
        # nobody filled what was looked inside in between
        (f"{FILL}\n{READ_GAS}".replace("11-20", "11-10").replace("to=2900", "to=2850"), False),
        (f"{FILL}\n{READ_GAS}".replace("11-20", "11-13"), True),
        # found empty
        (
            f"{FILL}\nat=2026-11-21T10:00:00+01:00; cylinder=A; act=drain; from=0 psi; to=0 psi; by=MV",
            False,
        ),
    ],
)
def test_what_a_reading_says_is_known_of_the_contents(log: str, fillable: bool) -> None:
    looked = f"[{OLD}, {{on: 2026-11-12, by: MV, checklist: annual, result: pass}}]"
    answer = may_fill(Seed({"inspected": looked}, log=log).book(), "A", TODAY)
    assert answer.fillable is fillable, [r.text for r in answer.refusals]


@pytest.mark.parametrize(
    ("odour", "told"),
    [
        *(
            (word, False)
            for word in (
                "none",
                "no odour",
                "not detected",
                "n/d",
                "odour free",
                "normal",
                "kein Geruch",
                "geruchlos",
                "N.D.",
                "not measured",
                "not",
                "-",
                "?",
                "None.",
                "none (pass)",
                "no odour present",
                "none present",
                "none apparent",
                "absent",
                "negative",
                "neutral",
                "no taste or odour",
                "no odour or taste",
                "no unusual odour",
                "no objectionable odours",
                "odour: none",
                "odour not detected",
                "odourless and tasteless",
                "free from odour",
                "pass",
                "complies",
                "within limits",
                "BDL",
                "0",
                "nothing found",
                "ohne",
                "ohne Befund",
                "o. B.",
                "i.O.",
                "unauffällig",
                "kein Geruch feststellbar",
                "kein Fremdgeruch",
                "geruchlos und geschmacksneutral",
                "nicht wahrnehmbar",
                "sans odeur",
                "inodore",
            )
        ),
        *(
            (word, True)
            for word in (
                "oil",
                "nothing found, smell noticed",
                "nothing. smell noted",
                "nil. odour noted",
                "none - odour found",
                "no, smell noticed",
                "none, later oily",
                "slight oil, acceptable",
                "not none",
                "no oil test",
                "Geruch",
                "ok but oily",
                "no, oil",
                "slight, exhaust",
                "strong",
                "musty",
                "nitrous",
            )
        ),
    ],
)
def test_how_laboratories_write_that_air_smells_of_nothing(odour: str, told: bool) -> None:
    station = f"air_tests: [{{on: 2026-10-12, result: pass, odour: '{odour}'}}]"
    found = {f.code for f in check(make_book({"A": GOOD}, station=station), TODAY)}
    assert ("air-smells" in found) is told


ALL_OF_E = "oxygen: 20.9 %, co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm"
ALL_OF_EN = "oxygen: 20.9 %, co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, water: 20 mg/m3"


@pytest.mark.parametrize(
    ("test", "rules", "told"),
    [
        (f"standard: cga-grade-e, {ALL_OF_E}", "us-dot", ""),
        (f"standard: en-12021-2014, {ALL_OF_EN}", "us-dot", ""),
        (f"standard: en-12021-2014, {ALL_OF_EN}", "uk", ""),
        ("standard: cga-grade-e", "us-dot", "gives no CO, CO2, oil, hydrocarbons, oxygen"),
        ("standard: cga-grade-e, oil: 0.1 mg/m3", "us-dot",
         "gives no CO, CO2, hydrocarbons, oxygen"),
        (f"standard: cga-grade-e, {ALL_OF_E.replace('co: 1 ppm, ', '')}", "us-dot", "gives no CO"),
        (f"standard: hse-divers-air, {ALL_OF_EN.replace('co: 1 ppm', 'co: 1 mg/m3')}", "us-dot", ""),
        # what the country limits, though the laboratory's standard does not
        (f"standard: cga-grade-e, {ALL_OF_E}", "uk", "gives no water"),
        (f"standard: cga-grade-e, {ALL_OF_E}", "de", "gives no water"),
        (f"standard: cga-grade-e, {ALL_OF_E}, water: 20 ppm", "de", "gives no water in mg/m3"),
        ("odour: none", "us-dot", "says neither by what limits nor what was measured"),
        ("odour: none", "uk", "gives no CO, CO2, oil, water, oxygen"),
    ],
)  # fmt: skip
def test_what_an_air_test_leaves_out_is_told_and_refuses_nothing(
    test: str, rules: str, told: str
) -> None:
    station = f"air_tests: [{{on: 2026-10-12, result: pass, {test}}}]"
    settings = SETTINGS.replace("us-dot", rules)
    book = make_book({"A": GOOD}, station=station, settings=settings)
    found = [f for f in check(book, TODAY) if f.code == "air-unmeasured"]
    assert [f.text for f in found] == (
        [f"the air test of 2026-10-12 passed, and {told}"] if told else []
    )
    assert not {r.code for r in may_fill(book, "A", TODAY).refusals} & {"air-unmeasured"}


@pytest.mark.parametrize(
    ("test", "rules", "over"),
    [  # EN 12021: 5 ppm, 500 ppm, 0.5 mg/m3; HSE: 3 ppm (read, C); 29 CFR 1910.430: 20 ppm (read, B)
        ("standard: osha-1910-430, co: 15 ppm", "us-dot", ""),
        ("standard: osha-1910-430, co: 15 ppm", "uk", "CO 15 ppm (limit here 5 ppm)"),
        ("standard: osha-1910-430, co: 15 ppm", "de", "CO 15 ppm (limit here 5 ppm)"),
        ("standard: osha-1910-430, co: 5 ppm", "uk", ""),
        ("standard: uscg-197-340, co2: 501 ppm", "de", "CO2 501 ppm (limit here 500 ppm)"),
        ("standard: cga-grade-e, oil: 0.6 mg/m3", "uk", "oil 0.6 mg/m3 (limit here 0.5 mg/m3)"),
        ("standard: cga-grade-e, water: 26 mg/m3", "uk", "water 26 mg/m3 (limit here 25 mg/m3)"),
        ("standard: cga-grade-e, co: 9 ppm, co2: 900 ppm", "de",
         "CO 9 ppm (limit here 5 ppm), CO2 900 ppm (limit here 500 ppm)"),
        # its own limits are named where it breaks both
        ("standard: cga-grade-e, co: 12 ppm", "uk", "CO 12 ppm (limit 10 ppm)"),
        ("standard: en-12021-2014, co: 4 ppm", "uk", ""),
        ("standard: hse-divers-air, co: 4 ppm", "uk", "CO 4 ppm (limit 3 ppm)"),
        ("co: 4 ppm, co2: 900 ppm", "uk", "CO2 900 ppm (limit here 500 ppm)"),
    ],
)  # fmt: skip
def test_a_sample_is_held_to_the_limits_of_the_country_as_well(
    test: str, rules: str, over: str
) -> None:
    station = f"air_tests: [{{on: 2026-10-12, result: pass, {test}}}]"
    settings = SETTINGS.replace("us-dot", rules)
    answer = may_fill(make_book({"A": GOOD}, station=station, settings=settings), "A", TODAY)
    told = [r.text for r in answer.refusals if r.code == "air-test-failed"]
    assert told == ([f"the air test of 2026-10-12 is over its limits: {over}"] if over else [])


STORE = "banks: [{name: B1, working_pressure: 200 bar, gas: air, water_volume: 50 L, period: 9 years}, {name: N1, gas: nitrox32, since: 2020-01-01, working_pressure: 300 bar, water_volume: 50 L, period: 9 years, readings: [{on: 2026-10-01, pressure: 30 bar}]}]\ncompressor: {name: C1}\nwhips: [{name: W1}]\n"


@pytest.mark.parametrize(
    ("tests", "over"),
    [
        # EN 12021: 50 mg/m3 in a store of 40 to 200 bar, 25 where it leaves (50 from memory)
        (["source: B1, water: 40 mg/m3"], ""),
        (["source: B1, water: 51 mg/m3"], "water 51 mg/m3 (limit here 50 mg/m3)"),
        (["source: C1, water: 40 mg/m3"], "water 40 mg/m3 (limit here 25 mg/m3)"),
        (["source: B1+C1, water: 40 mg/m3"], "water 40 mg/m3 (limit here 25 mg/m3)"),
        # to its mark, however little is in it: 35 above 200 bar
        (["source: N1, water: 34 mg/m3"], ""),
        (["source: N1, water: 36 mg/m3"], "water 36 mg/m3 (limit here 35 mg/m3)"),
        # what holds no air, or nobody knows what then, has not its oxygen, and everything else of it
        (["source: N1, oxygen: 33.1 %, co: 1 ppm"], ""),
        (["source: N1, on: 2019-12-01, oxygen: 32 %"], ""),
        (["source: N1, oxygen: 15 %"], "oxygen 15 %"),
        (["source: N1, on: 2019-12-01, oxygen: 15 %"], "oxygen 15 %"),
        (["source: N1, oxygen: 32 %, co: 9 ppm"], "CO 9 ppm (limit here 5 ppm)"),
        (["source: B1, oxygen: 32 %"], "oxygen 32 %"),
        (["source: B1+N1, oxygen: 32 %"], "oxygen 32 %"),
        # its time was up when air was sampled again
        (["on: 2019-05-01, source: W1, co2: 700 ppm", "source: C1, co2: 400 ppm",
          "source: B1, co2: 400 ppm"], ""),
        # a whip has no air of its own: it may have been of any source
        (["on: 2019-05-01, source: W1, co2: 700 ppm", "source: C1, co2: 400 ppm"],
         "CO2 700 ppm (limit here 500 ppm)"),
        # what is called otherwise now, or is gone
        (["on: 2026-05-01, source: B7, co2: 700 ppm", "source: C1, co2: 400 ppm"],
         "CO2 700 ppm (limit here 500 ppm)"),
        (["on: 2026-05-01, source: B7, co2: 1100 ppm", "source: C1, co2: 400 ppm"],
         "CO2 1100 ppm (limit 1000 ppm)"),
        (["on: 2026-05-01, source: B7, co2: 1100 ppm", "source: C1, co2: 400 ppm",
          "source: B1, co2: 400 ppm"], ""),
        (["on: 2019-05-01, source: W1, co2: 1100 ppm", "source: C1, co2: 400 ppm"],
         "CO2 1100 ppm (limit 1000 ppm)"),
        (["on: 2026-09-01, source: W1, co2: 700 ppm", "source: C1, co2: 400 ppm"],
         "CO2 700 ppm (limit here 500 ppm)"),
        (["on: 2019-05-01, source: C1, co2: 700 ppm"], "CO2 700 ppm (limit here 500 ppm)"),
        # each of its places was sampled since
        (["on: 2026-05-01, source: B1+C1, co2: 700 ppm", "source: C1, co2: 400 ppm",
          "source: B1, co2: 400 ppm"], ""),
        (["on: 2026-05-01, source: B1+C1, co2: 700 ppm", "source: C1, co2: 400 ppm"],
         "CO2 700 ppm (limit here 500 ppm)"),
        # of what is kept or made there only a sample of it speaks
        (["on: 2019-05-01, source: B1, co2: 700 ppm", "source: C1, co2: 400 ppm"],
         "CO2 700 ppm (limit here 500 ppm)"),
    ],
)  # fmt: skip
def test_limits_are_those_of_where_and_when_a_sample_was_drawn(tests: list[str], over: str) -> None:
    dated = (t if "on: 20" in t else f"on: 2026-10-12, {t}" for t in tests)
    listed = ", ".join(f"{{standard: CGA-grade-E, result: pass, {t}}}" for t in dated)
    settings = SETTINGS.replace("us-dot", "uk")
    book = make_book({"A": GOOD}, station=f"{STORE}air_tests: [{listed}]\n", settings=settings)
    refused = [r for r in may_fill(book, "A", TODAY).refusals if r.code == "air-test-failed"]
    told = [r.text.partition("over its limits: ")[2] for r in refused]
    assert told == ([over] if over else [])
    assert all("a later sample of the same place" in r.mend for r in refused)


def test_what_an_old_sample_left_out_is_not_asked_for_ever() -> None:
    old = "{on: 2019-05-01, source: W1, standard: cga-grade-e, result: pass, oxygen: 20.9 %}"
    new = f"{{on: 2026-10-12, source: C1, standard: cga-grade-e, result: pass, {ALL_OF_E}}}"
    book = make_book({"A": GOOD}, station=f"{STORE}air_tests: [{old}, {new}]\n")
    assert not [f for f in check(book, TODAY) if f.code == "air-unmeasured"]


@pytest.mark.parametrize(
    ("own", "not_for_diving"),
    [("", True), ("{id: own.air, subject: station, obligation: air-limits, applies_to: {standard: cga-grade-d}, limits: {co: 1000 ppm}, gate: refuse, basis: practice, citation: shop, verified: memory}", True)],
)  # fmt: skip
def test_no_own_row_makes_air_for_respirators_air_for_diving(
    own: str, not_for_diving: bool
) -> None:
    station = f"air_tests: [{{on: 2026-10-12, standard: cga-grade-d, result: pass, {ALL_OF_E}}}]"
    rows = f"heading: Shop rules\nrows: [{own}]\n" if own else ""
    book = make_book({"A": GOOD}, station=station, own_rules=rows)
    refused = {r.code for r in may_fill(book, "A", TODAY).refusals}
    assert ("air-not-for-diving" in refused) is not_for_diving


@pytest.mark.parametrize("own", ["MV", "shop", "Test Quay", "me", "nobody"])
@pytest.mark.parametrize("rules", ["de", "uk", "au"])
def test_a_look_of_ones_own_is_no_test_houses(rules: str, own: str) -> None:
    tests = f"[{{on: 2022-03, method: hydrostatic, by: maker}}, {{on: 2026-03-10, method: visual, by: {own}}}]"
    book = make_book(
        {"A": with_lines(GOOD, requalified=tests, inspected=None)},
        settings=SETTINGS.replace("us-dot", rules),
    )
    answer = may_fill(book, "A", TODAY)
    assert {"visual-overdue", "visual-missing"} & {r.code for r in answer.refusals}
    assert "tested-by-nobody" in {r.code for r in answer.reasons}


@pytest.mark.parametrize(
    ("note", "counts"),
    [
        ("", True),
        ("certificate 4711", True),
        ("outside only", False),
        ("not looked inside", False),
        ("no look inside", False),
        ("'internal, external'", True),
        ("outside", False),
        ("'outside only, not looked inside'", False),
        ("'ok, exterior only'", False),
        ("äußere Prüfung", False),
        ("'rust outside only, light'", True),
        ("scratches outside only", True),
        ("inside not damaged", True),
        ("innen nicht verrostet", True),
    ],
)
def test_nor_is_a_look_of_the_outside_alone(note: str, counts: bool) -> None:
    more = f", note: {note}" if note else ""
    tests = f"[{{on: 2022-03, method: hydrostatic, by: maker}}, {{on: 2026-03-10, method: visual, by: T123{more}}}]"
    card = with_lines(GOOD, requalified=tests, inspected=None, specification="[EN ISO 7866]")
    book = make_book({"A": card}, settings=SETTINGS.replace("us-dot", "uk"))
    codes = {r.code for r in may_fill(book, "A", TODAY).refusals}
    assert (not {"visual-overdue", "visual-missing"} & codes) is counts


@pytest.mark.parametrize("rules", ["us-dot", "nz", "ca-tc"])
def test_it_is_told_where_a_look_by_anybody_counts(rules: str) -> None:
    tests = (
        "[{on: 2024-03, method: hydrostatic, by: T123}, {on: 2026-03-10, method: visual, by: MV}]"
    )
    settings = SETTINGS.replace("us-dot", rules)
    answer = may_fill(
        make_book({"A": with_lines(GOOD, requalified=tests)}, settings=settings), "A", TODAY
    )
    assert "tested-by-nobody" in {r.code for r in answer.reasons}
    assert "tested-by-nobody" not in {r.code for r in answer.refusals}


@pytest.mark.parametrize(
    ("eddy", "in_date"),
    [
        ("on: 2026-03, by: T123", True),
        ("on: 2026-03, by: MV", False),
        ("on: 2026-03, by: MV, stamp: 03 VE 26", False),
        ("on: 2026-03, by: nobody", False),
        ("on: 2026-03, by: unknown, stamp: 03/26 VE", True),
        ("on: 2026-03, by: MV Hydrotest Ltd", True),
        # one of one's own beside it takes nothing away
        ("on: 2026-03, by: T123}, {method: eddy-current, on: 2026-06, by: MV", True),
    ],
)
def test_nor_is_an_eddy_current_test_of_ones_own(eddy: str, in_date: bool) -> None:
    tests = f"[{{on: 2026-03, method: hydrostatic, by: T123}}, {{method: eddy-current, {eddy}}}]"
    card = with_lines(GOOD, requalified=tests, alloy="'6351'")
    codes = {r.code for r in may_fill(make_book({"A": card}), "A", TODAY).refusals}
    assert ("eddy-current-missing" not in codes) is in_date
    assert "tested-by-nobody" not in codes


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ("", True),
        (", stamp: 03 T123 26", False),
        (", by: T123", False),
        # whose it is cannot be read
        (", stamp: 26/03, by: unknown", True),
        # who does not know says no more than who leaves it out
        (", by: unknown", True),
        (", stamp: 26/03 N, by: N", True),
    ],
)
def test_a_stamped_look_bears_a_stamp_or_a_name(more: str, told: bool) -> None:
    tests = (
        f"[{{on: 2024-03, method: hydrostatic, by: T123}}, {{on: 2026-03, method: visual{more}}}]"
    )
    book = make_book({"A": with_lines(GOOD, requalified=tests)}, settings=SETTINGS)
    answer = may_fill(book, "A", TODAY)
    assert ("tested-by-nobody" in {r.code for r in answer.reasons}) is told
    assert "tested-by-nobody" not in {r.code for r in answer.refusals}


BAD_AIR = "on: 2026-09-12, standard: cga-grade-e, result: fail, co: 14 ppm, odour: oil"
SMOKY_AIR = BAD_AIR.replace("odour: oil", "odour: none")
"""Of it nothing stays behind in a vessel that is emptied."""
GOOD_AIR = "standard: cga-grade-e, result: pass, co: 1 ppm, odour: none"


@pytest.mark.parametrize(
    "odour", ["n/a", "-", "?", "not", "no, smell noticed", "n.d.", "not recorded", "not noted"]
)
def test_an_odour_that_nobody_measured_reopens_nothing(odour: str) -> None:
    again = GOOD_AIR.replace("none", f"'{odour}'")
    station = f"air_tests: [{{{BAD_AIR}}}, {{on: 2026-10-12, {again}}}]"
    refused = {r.code for r in may_fill(Seed(station=station).book(), "A", TODAY).refusals}
    assert "air-test-failed" in refused


PLACES = """compressor: {name: C1, hours: [{on: 2026-11-20, reads: 100 h}]}
panel: {rating: 5000 psi}
banks:
  - {name: B1, water_volume: 48 L, gas: air, period: 10 years, requalified: [{on: 2024-03, method: hydrostatic, by: T}]}
  - {name: B2, water_volume: 48 L, gas: air, period: 10 years, requalified: [{on: 2024-03, method: hydrostatic, by: T}]}
  - {name: N1, water_volume: 48 L, gas: nitrox32, period: 10 years, requalified: [{on: 2024-03, method: hydrostatic, by: T}]}
filters: [{name: F1, life: 50 h, changed: [{on: 2026-11-20, at: 100 h}]}]
whips: [{name: W1}, {name: W2}]
positions: [{name: P1, kind: whip}, {name: P2, kind: whip}]
air_tests: ["""


def _air(*tests: tuple[str, str, str], bad: str = BAD_AIR) -> Book:
    each = ", ".join(
        f"{{{bad.replace('2026-09-12', on)}, source: {at}}}"
        if kind == "fail"
        else f"{{on: {on}, {GOOD_AIR.replace('co: 1 ppm, ', '' if kind == 'half' else 'co: 1 ppm, ')}, source: {at}}}"
        for kind, on, at in tests
    )
    return Seed(station=f"{PLACES}{each}]").book()


@pytest.mark.parametrize(
    "place",
    [
        "W1", "w2", "whip W1", "fill whip", "P1", "panel", "fill panel", "C1", "C1 outlet", "B1",
        "Compressor C1", "compressor", "bank B1", "B1+B2", "B1 + B2", "banks B1 and B2", "B1/B2",
        "F1", "C1, after the filter", "after filter F1", "C1 via W1", "W1 (fill whip)", "whip 1",
        "C1 sample port", "storage bank B1", "banks",
    ],
)  # fmt: skip
def test_air_is_sampled_at_any_part(place: str) -> None:
    assert may_fill(_air(("pass", "2026-10-12", f"'{place}'")), "A", TODAY).fillable


@pytest.mark.parametrize(
    "place",
    ["C9", "bank", "B1 and C9", "whip W9", "N1 tap", "whip 9", "storage", "C1 before the filter"],
)
def test_air_sampled_elsewhere_counts_for_nothing(place: str) -> None:
    book = _air(("pass", "2026-10-12", f"'{place}'"))
    assert "air-source-unknown" in {r.code for r in may_fill(book, "A", TODAY).refusals}
    older = _air(("pass", "2026-09-12", f"'{place}'"), ("pass", "2026-10-12", "C1"))
    answer = may_fill(older, "A", TODAY)
    assert answer.fillable
    assert "air-source-unknown" not in {w.code for w in answer.warnings}
    over = BAD_AIR.replace("result: fail", f"result: pass, source: '{place}'")
    later = Seed(station=f"{PLACES}{{{over}}}, {{on: 2026-10-12, {GOOD_AIR}, source: C1}}]").book()
    assert not may_fill(later, "A", TODAY).fillable


@pytest.mark.parametrize(
    ("failed", "passed", "open_"),
    [
        ("W1", ["W1"], True),
        ("W1", ["'whip W1'"], True),
        ("W1", ["W2"], False),
        ("W1", ["C1", "B1", "B2"], False),
        ("C1", ["compressor"], True),
        ("C1", ["W1"], False),
        ("panel", ["panel"], True),
        ("B1+B2", ["B2+B1"], True),
        ("B1+B2", ["B1", "B2"], True),
        ("B1+B2", ["B1"], False),
        ("B1", ["B1+B2"], False),
        ("C1", ["F1"], True),
        ("F1", ["C1"], True),
        ("banks", ["B1", "B2"], True),
        ("banks", ["B1"], False),
        # a place that is gone
        ("W9", ["C1", "B1", "B2"], True),
        ("W9", ["C1", "B1"], False),
        ("W9", ["W9"], False),
        ("W9", ["W1"], False),
    ],
)
def test_a_failed_sample_is_answered_where_it_was_drawn(
    failed: str, passed: list[str], open_: bool
) -> None:
    later = [("pass", "2026-10-12", at) for at in passed]
    assert may_fill(_air(("fail", "2026-09-12", failed), *later), "A", TODAY).fillable is open_


C1_FAILED = (("fail", "2026-11-05", "C1"), ("pass", "2026-11-10", "C1"))
W1_FAILED = (("fail", "2026-11-05", "W1"), ("pass", "2026-11-10", "W1"))
C1_CLEARED = (*W1_FAILED, ("pass", "2026-11-05", "C1"))
B1_FAILED = (("fail", "2026-11-05", "bank B1"), ("pass", "2026-11-10", "B1"))
HALF = ("half", "2026-11-06", "C1")


@pytest.mark.parametrize(
    ("tests", "source", "position", "told"),
    [
        # a fill's source is read as a sample's is
        *((C1_FAILED, source, "", Severity.FAULT) for source in ("compressor", "C1 outlet", "C1/B1")),
        *((C1_FAILED, source, "", Severity.FAULT) for source in ("C1 B1", "filter F1", "C1 + O2")),
        *((C1_FAILED, source, "P1", Severity.FAULT) for source in ("B1", "banks", "B1 + O2", "B")),
        # what is not said is taken for what failed
        *((C1_FAILED, source, "P1", Severity.FAULT) for source in ("direct", "", "C2", "B1+C2", "P1")),
        *((B1_FAILED, source, "", Severity.FAULT) for source in ("", "B9", "bank 1")),  # or N1
        ((("fail", "2026-11-05", "W1"), ("pass", "2026-11-10", "W1")), "", "P2", Severity.FAULT),
        (C1_CLEARED, "", "P1+W2", Severity.WARN),
        # what others filled is not from here, whatever they call it
        *((C1_FAILED, source, "P1", None) for source in ("elsewhere", "Elsewhere: Dive C1", "elsewhere: C2")),
        (C1_FAILED, "elsewhere: gas works + C1", "P1", Severity.FAULT),
        (C1_FAILED, "C1 + elsewhere: gas works", "P1", Severity.FAULT),
        (W1_FAILED, "elsewhere: gas works", "W1", Severity.FAULT),
        # and a sample's, wherever it was drawn
        ((*B1_FAILED, ("pass", "2026-11-06", "C1")), "B1", "", Severity.FAULT),
        (B1_FAILED, "B2", "", None),
        (B1_FAILED, "C1", "", None),
        ((("fail", "2026-11-05", "B1+B2"), ("pass", "2026-11-06", "C1")), "B2", "", Severity.FAULT),
        ((("fail", "2026-11-05", "B1+B2"), ("pass", "2026-11-06", "B1+B2")), "B2", "", None),
        ((("fail", "2026-11-05", "B1+B2"), ("pass", "2026-11-06", "B1")), "B2", "", Severity.FAULT),
        # what the station does not take for an answer ends nothing
        ((*C1_FAILED, HALF), "C1", "", Severity.FAULT),
        ((*C1_FAILED, ("pass", "2026-11-06", "W1")), "C1", "", Severity.FAULT),
        ((*C1_FAILED, ("pass", "2026-11-06", "C1")), "C1", "", None),
        # behind the compressor: its air, till it passed itself, and whatever went by that way
        (W1_FAILED, "C1", "P1+W2", Severity.FAULT),
        (C1_CLEARED, "C1", "P1", Severity.WARN),
        (C1_CLEARED, "C1", "P1+W2", None),
        (C1_CLEARED, "C1", "P1+W1", Severity.FAULT),
        (C1_CLEARED, "C1 via W1", "", Severity.FAULT),
        (C1_CLEARED, "B1", "W2", Severity.FAULT),  # nobody knows when that was pumped
        ((*W1_FAILED, HALF), "C1", "W2", Severity.FAULT),
        ((("fail", "2026-11-05", "P1"), ("pass", "2026-11-05", "C1")), "C1", "P2", None),
        ((("fail", "2026-11-05", "P1"), ("pass", "2026-11-05", "C1")), "C1", "P1", Severity.FAULT),
        ((("fail", "2026-11-05", "panel"), ("pass", "2026-11-05", "C1")), "C1", "P1", Severity.WARN),
        ((("fail", "2026-11-05", "W9"), ("pass", "2026-11-05", "C1")), "C1", "W1", Severity.WARN),
    ],
)  # fmt: skip
def test_what_a_fill_took_of_bad_air(
    tests: tuple[tuple[str, str, str], ...], source: str, position: str, told: Severity | None
) -> None:
    at = FILL.replace("2026-11-20", "2026-11-07").replace("source=C1", f"source={source}")
    book = replace(
        Seed(
            log=f"{at}; position={position}".replace("source=;", ""),
            others={"B": with_lines(GOOD, serial="K9")},
        ).book(),
        station=_air(*tests).station,
    )
    found = [f for f in check(book, TODAY) if f.code == "bad-air"]
    assert [f.severity for f in found] == ([told] if told else [])
    assert all(f"2026-11-05 ({tests[0][2]}) failed" in f.text for f in found)
    assert all("to 0" in (f.mend or "") for f in found)


NOT_SAID = (
    "at=2026-11-07T09:30:00+01:00; cylinder=A; act=fill; from=500 psi; to=2900 psi; gas=air; by=MV"
)
TOPPED = "at=2026-11-12T09:30:00+01:00; cylinder=A; act=fill; from=2400 psi; to=2900 psi; gas=air; by=MV; source=C1"
DRAINED = "at=2026-11-11T09:30:00+01:00; cylinder=A; act=drain; to=0 psi; by=MV"
FROM_NOTHING = TOPPED.replace("from=2400 psi", "from=0 psi")
STRUCK = "at=2026-11-13T09:30:00+01:00; cylinder=A; act=void; voids=2026-11-07T09:30:00+01:00 A; by=MV; note=source not said"
NAMED = NOT_SAID.replace("09:30:00", "09:30:01")
RENTED = "[{on: 2026-11-08, to: B-1, back: 2026-11-09, pressure: %s, valve: closed}]"
LOOKED_IN = f"[{OLD}, {{on: 2026-11-11, by: MV, checklist: annual, result: pass}}]"


@pytest.mark.parametrize(
    ("lines", "card", "told"),
    [
        ([NOT_SAID], {}, Severity.FAULT),
        ([NOT_SAID, TOPPED], {}, Severity.FAULT),
        ([NOT_SAID, TOPPED.replace("source=C1", "source=elsewhere")], {}, Severity.FAULT),
        ([f"{NOT_SAID}; source=B1", TOPPED], {}, Severity.FAULT),  # topping does not lose it
        ([f"{NOT_SAID}; source=B1", TOPPED, DRAINED.replace("-11T", "-14T")], {}, None),
        ([NOT_SAID.replace("; to=2900 psi", ""), TOPPED], {}, Severity.FAULT),
        ([NOT_SAID.replace("; to=2900 psi", "")], {}, Severity.FAULT),  # how full is not known
        ([NOT_SAID, "at=2026-11-11T09:30:00+01:00; cylinder=A; act=reading; to=300 psi; by=MV", TOPPED], {}, Severity.FAULT),
        # between the last good sample and the one that failed
        ([NOT_SAID.replace("11-07", "11-03")], {}, Severity.FAULT),
        ([NOT_SAID.replace("11-07", "11-03"), TOPPED], {}, Severity.FAULT),
        ([f"{NOT_SAID.replace('11-07', '11-03')}; source=C1", TOPPED], {}, Severity.FAULT),
        ([f"{NOT_SAID.replace('11-07', '11-03')}; source=B1", TOPPED], {}, Severity.FAULT),
        ([NOT_SAID.replace("11-07", "10-31")], {}, None),
        ([NOT_SAID.replace("11-07", "11-01")], {}, Severity.WARN),  # no hour of that sample
        ([NOT_SAID.replace("11-07", "11-10")], {}, Severity.WARN),  # nor of the one that opened
        ([NOT_SAID.replace("11-07", "11-11")], {}, None),
        # emptied, and filled from what is good
        ([NOT_SAID, DRAINED], {}, None),
        ([NOT_SAID, DRAINED, FROM_NOTHING], {}, None),
        ([NOT_SAID, FROM_NOTHING], {}, None),
        # so it is for a look of which somebody says how it was bled, and for no other
        ([NOT_SAID, TOPPED], {"inspected": LOOKED_IN}, Severity.FAULT),
        ([NOT_SAID, TOPPED], {"inspected": LOOKED_IN.replace("by: MV, ch", "by: MV, bled: heard, ch")}, None),
        ([NOT_SAID], {"inspected": LOOKED_IN.replace("by: MV, ch", "by: MV, bled: heard, ch")}, None),
        ([NOT_SAID], {"rented": RENTED % "0 psi"}, None),
        ([NOT_SAID, TOPPED.replace("; from=2400 psi", "")], {"rented": RENTED % "0 psi"}, None),
        ([NOT_SAID, TOPPED], {"rented": RENTED % "600 psi"}, Severity.FAULT),
        # oxygen is no compressor's
        ([NOT_SAID.replace("gas=air", "gas=oxygen")], {"service": "oxygen"}, Severity.WARN),
        # struck out, and the source said
        ([NOT_SAID, STRUCK], {}, None),
        ([NOT_SAID, STRUCK, f"{NAMED}; source=C1"], {}, Severity.FAULT),
        ([NOT_SAID, STRUCK, f"{NAMED}; source=elsewhere: Quay"], {}, None),
        ([f"{NOT_SAID}; source=C1", STRUCK, NAMED], {}, Severity.FAULT),
    ],
)  # fmt: skip
@pytest.mark.parametrize("cylinders", ["A", "AB"])
def test_bad_air_is_let_go_only_emptied(
    lines: list[str], card: dict[str, str], told: Severity | None, cylinders: str
) -> None:
    tests = (("pass", "2026-11-01", "C1"), *C1_FAILED)
    more = {"B": with_lines(GOOD, serial="K2", **card)} if cylinders == "AB" else {}
    sets = {"D": "cylinders: [A, B]\nisolator: none\n"} if more else {}
    log = "\n".join(lines)
    log = log.replace("cylinder=A", "cylinder=D").replace("+01:00 A", "+01:00 D") if sets else log
    book = replace(
        Seed(card, log=log, others=more, sets=sets).book(),
        station=_air(*tests, bad=SMOKY_AIR).station,
    )
    for id_ in cylinders:
        answer = may_fill(book, id_, TODAY)
        assert ("bad-air" in {r.code for r in answer.refusals}) is (told is Severity.FAULT)
        assert ("bad-air" in {r.code for r in answer.warnings}) is (told is Severity.WARN)


LOOKED_TO = f"[{OLD}, {{on: 2026-11-%s, by: MV, checklist: annual, result: pass}}]"
CLEANED_FOR_AIR = "[{on: 2026-11-%s, by: MV, to: air}]"
FROM_QUAY = FROM_NOTHING.replace("source=C1", "source=elsewhere: Quay")
MOISTURE = "on: 2026-09-12, standard: cga-grade-e, result: fail, co: 1 ppm, water: 900 mg/m3"


@pytest.mark.parametrize(
    ("bad", "stays"),
    [(SMOKY_AIR, False), (BAD_AIR, True), (MOISTURE, True), ("on: 2026-09-12, result: fail", True)],
)
@pytest.mark.parametrize("filled", ["2026-11-03", "2026-11-07"])
@pytest.mark.parametrize(
    ("lines", "looked", "cleaned", "let_go"),
    [
        ([], "", "", ""),
        ([TOPPED], "", "", ""),
        ([TOPPED], "20", "21", ""),  # nobody says how it was bled
        ([TOPPED], "20, bled: heard", "21", "stays"),
        ([DRAINED], "", "", "gas"),
        ([DRAINED, FROM_QUAY], "", "", "gas"),
        ([DRAINED], "11", "", "gas"),
        ([DRAINED], "", "11", "gas"),
        ([DRAINED], "11", "11", "stays"),
        ([DRAINED, FROM_QUAY], "11", "11", "stays"),
        ([DRAINED, FROM_QUAY], "02", "02", "gas"),  # of before it
    ],
)
def test_what_stays_behind_is_let_go_looked_inside_and_cleaned_though_nobody_held_it(
    bad: str, stays: bool, filled: str, lines: list[str], looked: str, cleaned: str, let_go: str
) -> None:
    """Draining answers for carbon monoxide; topping for nothing."""
    card = {"inspected": LOOKED_TO % looked} if looked else {}
    card |= {"cleaned": CLEANED_FOR_AIR % cleaned} if cleaned else {}
    log = "\n".join([f"{NOT_SAID.replace('2026-11-07', filled)}; source=C1", *lines])
    tests = (("pass", "2026-11-01", "C1"), *C1_FAILED)
    book = replace(Seed(card, log=log).book(), station=_air(*tests, bad=bad).station)
    held = let_go == "" or (stays and let_go == "gas")
    answer = may_fill(book, "A", TODAY)
    assert ("bad-air" in {r.code for r in answer.refusals}) is held
    assert "bad-air" not in {r.code for r in answer.warnings}
    told = [r for r in answer.refusals if r.code == "bad-air"]
    assert all(("clean it" in (r.mend or "")) is stays for r in told)
    assert against_leaving(book, "A", TODAY) == tuple(f"{r.text}; {r.mend}" for r in told)


@pytest.mark.parametrize(
    ("readings", "tests", "told"),
    [
        ("", C1_FAILED, Severity.FAULT),
        ("05 2000, 06 4000", C1_FAILED, Severity.FAULT),  # pumped since the sample
        ("05 2000, 07 4000", C1_FAILED, Severity.FAULT),
        ("05 3000, 08 4000", C1_FAILED, Severity.FAULT),  # after the fill
        ("05 1500, 08 4000", C1_FAILED, Severity.FAULT),  # before it, which a lower one cannot give
        ("04 2000, 06 4000", C1_FAILED, Severity.FAULT),  # before the sample, or after
        ("05 4000, 06 4300", C1_FAILED, Severity.FAULT),  # warmer
        ("05 4000, 06 3000", C1_FAILED, Severity.FAULT),
        ("05 2000, 06 4000", (*C1_FAILED, ("pass", "2026-11-07", "B1")), Severity.FAULT),
        ("05 2000, 05 4000", (*C1_FAILED, ("pass", "2026-11-06", "B1")), Severity.WARN),
        ("05 2000, 06 4000", B1_FAILED, Severity.FAULT),
        ("05 2000, 06 4000", W1_FAILED, Severity.FAULT),
        ("05 2000, 06 4000", C1_CLEARED, Severity.FAULT),  # of another day's air
        ("05 2000, 06 4000", (("fail", "2026-11-05", "B2"),), None),
    ],
)  # fmt: skip
def test_a_bank_that_was_pumped_after_the_failed_sample_holds_it(
    readings: str, tests: tuple[tuple[str, str, str], ...], told: Severity | None
) -> None:
    book = Seed(log=f"{NOT_SAID}; source=bank B1; position=P1+W2").book()
    station = _air(*tests).station
    assert station
    read = tuple(
        Reading(on=dt.date(2026, 11, int(day)), pressure=GaugePressure.of(float(psi), "psi"))
        for day, psi in (each.split() for each in readings.split(",") if each)
    )
    banks = (replace(station.banks[0], readings=read), *station.banks[1:])
    book = replace(book, station=replace(station, banks=banks))
    found = [f for f in check(book, TODAY) if f.code == "bad-air"]
    assert [f.severity for f in found] == ([told] if told else [])


@pytest.mark.parametrize("gas", ["air", "nitrox32"])
def test_of_a_mix_the_air_of_a_bad_source_is_part(gas: str) -> None:
    mix = gas != "air"
    book = Seed(log=NOT_SAID.replace("gas=air", f"gas={gas}")).book()
    book = replace(book, station=_air(*C1_FAILED).station)
    texts = [f.text for f in check(book, TODAY) if f.code == "bad-air"]
    assert texts
    assert all(t.startswith("part of what it holds is air of 2026-11-07") is mix for t in texts)


@pytest.mark.parametrize("named", [True, False])
def test_bad_air_goes_out_by_no_door(named: bool) -> None:
    log = "\n".join((f"{NOT_SAID}; source=elsewhere: Quay" if named else NOT_SAID, TOPPED))
    book = replace(Seed(log=log).book(), station=_air(*C1_FAILED).station)
    now = dt.datetime(2026, 11, 25, 10, tzinfo=dt.UTC)
    gone = rent(book, [Going("A")], to="B-1", until=None, by="MV", at=now)
    assert ("it holds air of 2026-11-07" in str(gone)) is not named
    handed = may_hand_over(book, "A", TODAY)
    assert any("it holds air of 2026-11-07" in r for r in handed.reasons) is not named
    found = [s.id for s in by_source(book, "C1", TODAY, dt.date(2026, 11, 5)).suspects]
    assert found == ["A"]
    fills = by_source(book, "C1", TODAY, dt.date(2026, 11, 5)).suspects[0].fills
    assert len(fills) == (1 if named else 2)


@pytest.mark.parametrize(
    ("tests", "lines", "told"),
    [
        # a good sample of the same day does not outweigh the failed one, and opens nothing
        ([("fail", "2026-11-07"), ("pass", "2026-11-07")], [NOT_SAID], Severity.FAULT),
        ([("fail", "2026-11-07"), ("pass", "2026-11-07")], [NOT_SAID, DRAINED], None),
        ([("fail", "2026-11-07"), ("pass", "2026-11-07"), ("pass", "2026-11-08")], [NOT_SAID, TOPPED], Severity.FAULT),
        ([("fail", "2026-11-07"), ("pass", "2026-11-07"), ("pass", "2026-11-08")], [NOT_SAID, DRAINED, FROM_NOTHING], None),
        ([("fail", "2026-11-07"), ("pass", "2026-11-07"), ("pass", "2026-11-08")], [NOT_SAID, DRAINED, FROM_NOTHING.replace("; source=C1", "")], None),
        # where it was the kit that was wrong, somebody certified strikes that sample out
        ([("void", "2026-11-07"), ("pass", "2026-11-07")], [NOT_SAID], None),
    ],
)  # fmt: skip
def test_who_never_names_a_source_has_a_way_out_after_a_failed_sample(
    tests: list[tuple[str, str]], lines: list[str], told: Severity | None
) -> None:
    void = "void: {why: the tube had been used before, by: MV, on: 2026-11-07}"
    each = ", ".join(
        f"{{on: {on}, {GOOD_AIR}}}"
        if kind == "pass"
        else f"{{{SMOKY_AIR.replace('2026-09-12', on)}{', ' + void if kind == 'void' else ''}}}"
        for kind, on in (("pass", "2026-10-01"), *tests)
    )
    book = Seed(log="\n".join(lines), station=f"{PLACES}{each}]").book()
    found = [f for f in check(book, TODAY) if f.code == "bad-air"]
    assert [f.severity for f in found] == ([told] if told else [])
    assert all("say what it was filled from" in (f.mend or "") for f in found)
    open_ = tests[-1][1] > "2026-11-07" or tests[0][0] == "void"
    if told is None:
        assert may_fill(book, "A", TODAY).fillable is open_


@pytest.mark.parametrize(
    ("isolator", "log", "told"),
    [
        ("open", ["fill B", "0 B"], {"A"}),  # B by itself was emptied, A was not
        ("open", ["fill B"], {"A", "B"}),
        ("none", ["fill B"], {"A", "B"}),
        ("shut", ["fill B"], {"B"}),
        ("open", ["fill B", "0 D"], set()),
        ("open", ["fill B", "0 A"], {"B"}),
        ("open", ["fill B", "0 B", "good B"], {"A"}),  # filled from nothing: so was B, and not A
        ("open", ["fill B", "0 A", "good A"], {"B"}),
        ("open", ["fill D", "0 B"], {"A"}),
    ],
)
def test_bad_air_went_through_an_open_isolator_into_the_other_side(
    isolator: str, log: list[str], told: set[str]
) -> None:
    lines = {
        "fill": "T10:00:00+00:00; act=fill; to=3000 psi; from=500 psi; gas=air; source=C1",
        "good": "T12:00:00+00:00; act=fill; to=3000 psi; from=0 psi; gas=air; source=elsewhere",
        "0": "T11:00:00+00:00; act=drain; to=0 psi",
    }
    made = [f"at=2026-11-07{lines[w]}; cylinder={n}; by=MV" for w, n in map(str.split, log)]
    tests = (("fail", "2026-11-05", "C1"), ("pass", "2026-11-09", "C1"))
    station = _air(*tests, bad=SMOKY_AIR).station
    cards = {n: with_lines(GOOD, serial=f"K{n}") for n in "AB"}
    sets = {"D": f"cylinders: [A, B]\nisolator: {isolator}\n"}
    book = make_book(cards, sets=sets, log="\n".join(made))
    book = replace(book, station=station)
    found = {n for n in "AB" if (bad := bad_air_of(book, book.cylinders[n])) and bad.certain}
    assert found == told


def test_each_part_that_stands_for_a_place_measures_what_failed_there() -> None:
    book = _air(("fail", "2026-09-12", "W9"), *(("pass", "2026-10-12", p) for p in ("C1", "B1")))
    half = f"{{on: 2026-10-12, {GOOD_AIR.replace('co: 1 ppm, ', '')}, source: B2}}"
    station = Seed(station=f"{PLACES}{{{BAD_AIR}, source: W9}}, {half}]").book().station
    assert station
    assert book.station
    both = replace(book.station, air_tests=(*book.station.air_tests, station.air_tests[1]))
    refused = may_fill(replace(book, station=both), "A", TODAY).refusals
    assert {r.code for r in refused} == {"air-test-failed"}


@pytest.mark.parametrize(
    ("tests", "fillable"),
    [
        ([("pass", "2025-02-16", "C1"), ("pass", "2026-10-20", "N1")], False),
        ([("pass", "2025-02-16", "C1"), ("pass", "2026-10-20", "W1")], True),
        ([("pass", "2026-10-20", "N1")], False),
        ([("fail", "2026-09-16", "C1"), ("pass", "2026-10-20", "N1")], False),
        ([("pass", "2026-10-19", "C1"), ("fail", "2026-10-20", "N1")], False),
    ],
)
def test_what_is_no_air_is_no_sample_of_air_whether_air_was_sampled_or_not(
    tests: list[tuple[str, str, str]], fillable: bool
) -> None:
    assert may_fill(_air(*tests), "A", TODAY).fillable is fillable


@pytest.mark.parametrize(("left", "told"), [("2025-12", True), ("2026-06", False)])
def test_whoever_had_left_assesses_no_risk(left: str, told: bool) -> None:
    people = SETTINGS.replace("people:", f"people:\n  PS: {{left: {left}}}", 1)
    assert people != SETTINGS
    risk = "risk_assessed: {on: 2026-01, by: PS, document: binder 3}\n"
    found = {f.code for f in check(make_book({"A": GOOD}, settings=people + risk), TODAY)}
    assert ("risk-unsigned" in found) is told


ONE_SIDE_LOW = (
    FILL.replace("=A;", "=D;").replace("A;", "D;")
    + "\nat=2026-11-21T10:00:00+01:00; cylinder=A; act=reading; to=500 psi; by=MV"
    + "\nat=2026-11-22T10:00:00+01:00; cylinder=%s; act=reading; to=%s psi; by=MV"
)


@pytest.mark.parametrize(
    ("read", "fillable"), [(("D", "2900"), False), (("D", "600"), True), (("A", "600"), True)]
)
def test_what_a_set_was_filled_to_gives_a_side_nothing_that_was_read_low_since(
    read: tuple[str, str], fillable: bool
) -> None:
    doubles = {"D": "cylinders: [A, B]\nisolator: open\nrating: 3442 psi\n"}
    book = Seed(sets=doubles, others={"B": B}, log=ONE_SIDE_LOW % read).book()
    refused = {r.code for r in may_fill(book, "A", TODAY).refusals}
    assert ("unexplained-contents" not in refused) is fillable, refused


LIFTED = {
    "rejected": "[{on: 2026-03-01, by: MV, why: gouge, lifted: %s, lifted_by: MV, lifted_why: passed there}]",
    "requalified": "[{on: 2024-03, method: hydrostatic, by: maker}, {on: %s, method: hydrostatic, by: T123, stamp: 03 T123 26, clears: [rejected 2026-03-01]}]",
}


@pytest.mark.parametrize(
    ("lifted", "tested", "looked", "told"),
    [
        ("2026-03-20", "2026-03-25", "", Severity.WARN),
        ("2026-03-20", "2026-03-25", "2026-04-01", Severity.ADVICE),
        ("2026-03-25", "2026-03-25", "", None),
        ("2026-03-20", "2026-03", "", None),
    ],
)
def test_a_rejection_lifted_before_its_answer_is_told(
    lifted: str, tested: str, looked: str, told: Severity | None
) -> None:
    later = f", {{on: {looked}, by: MV, checklist: annual, result: pass}}" if looked else ""
    card = {"rejected": LIFTED["rejected"] % lifted, "requalified": LIFTED["requalified"] % tested}
    book = Seed({**card, "inspected": f"[{OLD}{later}]"}).book()
    found = [f.severity for f in check(book, TODAY) if f.code == "lifted-early"]
    assert found == ([told] if told else [])


@pytest.mark.parametrize(
    ("sent", "told"),
    [
        (HOME.replace("back: 2026-06-10, ", ""), ["refitted 2026-06-11, and it is not back"]),
        (HOME.replace("2026-06-11", "2026-06-08"), ["is before back 2026-06-10"]),
        (HOME, []),
        (HOME.replace("2026-06-11", "2026-06-10"), []),
    ],
)
def test_what_was_sent_is_back_before_it_is_refitted(sent: str, told: list[str]) -> None:
    found = check(Seed({"sent": f"[{sent}]"}).book(), TODAY)
    said = [f.text for f in found if f.code == "ends-before-start"]
    assert len(said) == len(told)
    assert all(text in each for text, each in zip(told, said, strict=True))


@pytest.mark.parametrize(
    ("tested", "told"), [("2026-03-15", []), ("2026-03-25", [Severity.WARN]), ("2026-03", [])]
)
def test_a_stamp_of_the_next_test_answers_on_the_day_it_was_tested(
    tested: str, told: list[Severity]
) -> None:
    test = LIFTED["requalified"].replace("on: %s", f"on: 2031-03, tested: {tested}")
    card = {
        "rejected": LIFTED["rejected"] % "2026-03-20",
        "requalified": test.replace("03 T123 26", "03 T123 31"),
        "stamp_means": "next-due",
    }
    found = list(check(Seed(card).book(), TODAY))
    assert "lifted-on-nothing" not in {f.code for f in found}
    assert [f.severity for f in found if f.code == "lifted-early"] == told


@pytest.mark.parametrize(
    ("released", "looked_on", "told"),
    [
        ("2026-06-03", "", Severity.WARN),
        ("2026-06-03", "2026-06-04", Severity.WARN),
        ("2026-06-03", "2026-06-05", Severity.ADVICE),
        ("2026-06-03", "2026-06-20", Severity.ADVICE),
        ("2026-06-05", "", None),
    ],
)
def test_a_hold_released_while_it_was_out_is_told(
    released: str, looked_on: str, told: Severity | None
) -> None:
    held = f"[{{on: 2026-06-02, by: MV, why: bubbles, released: {released}, released_by: MV, released_why: valve rebuilt}}]"
    more = looked(looked_on).card if looked_on else {}
    found = check(Seed({"rented": LENT, "held": held, **more}).book(), TODAY)
    assert [f.severity for f in found if f.code == "worked-on-while-away"] == (
        [told] if told else []
    )


STRUCK_BOTH = (
    "\nat=2026-11-2%d; cylinder=%s; act=void; voids=2026-11-20T09:30:00+01:00 %s; note=%s; by=%s"
)
TWO_FILLS = FILL + "\n" + FILL.replace("2900", "2800")


@pytest.mark.parametrize(
    ("log", "fillable"),
    [
        (TWO_FILLS + STRUCK_BOTH % (1, "A", "A", "typed twice", "MV"), False),
        # the same line twice is one
        (FILL + "\n" + FILL + STRUCK_BOTH % (1, "A", "A", "not this one", "MV"), True),
        # each by a line of its own
        (
            TWO_FILLS
            + STRUCK_BOTH % (1, "A", "A", "typed twice", "MV")
            + STRUCK_BOTH % (2, "A", "A", "of another", "MV"),
            True,
        ),
        (
            TWO_FILLS
            + STRUCK_BOTH % (1, "A", "A", "typed twice", "MV")
            + STRUCK_BOTH % (2, "A", "A", "of another", "ZZ"),
            False,
        ),
        # the true one logged again
        (
            TWO_FILLS
            + STRUCK_BOTH % (1, "A", "A", "typed twice", "MV")
            + "\n"
            + FILL.replace("09:30:00", "09:30:01"),
            True,
        ),
    ],
)
def test_one_line_does_not_strike_out_two_fills_that_differ(log: str, fillable: bool) -> None:
    log = log.replace("; cylinder=A; act=void", "T09:30:00+01:00; cylinder=A; act=void")
    answer = may_fill(Seed(log=log).book(), "A", TODAY)
    assert answer.fillable is fillable, [r.text for r in answer.refusals]


@pytest.mark.parametrize(
    ("by", "note", "name", "fillable"),
    [
        ("MV", "typed small", "a", True),
        ("ZZ", "typed small", "a", False),
        ("", "typed small", "a", False),
        ("MV", "", "a", False),
        # it looks like none of the ledger's
        ("ZZ", "typed small", "Z9", True),
    ],
)
def test_who_strikes_out_a_line_of_a_name_that_looks_like_it(
    by: str, note: str, name: str, fillable: bool
) -> None:
    void = (STRUCK_BOTH % (1, name, name, note, by)).replace("21;", "21T09:30:00+01:00;")
    log = FILL.replace("=A;", f"={name};").replace("2900 psi", "4500 psi") + void
    log = log.replace("note=; ", "").removesuffix("; by=")
    answer = may_fill(Seed(log=log).book(), "A", TODAY)
    assert answer.fillable is fillable, [r.text for r in answer.refusals]


@pytest.mark.parametrize(
    ("sent", "note", "told"),
    [
        ("", "", True), ("", ", note: tbd", True), ("", ", note: the club had it tested", False),
        ("{on: 2026-06-02, to: T123, for: requalification, back: 2026-06-04, refitted: 2026-06-04, refitted_by: MV}", "", False),
        ("{on: 2026-06-02, to: T123, for: repair, back: 2026-06-04, refitted: 2026-06-04, refitted_by: MV}", "", True),
    ],
)  # fmt: skip
def test_a_test_made_while_it_was_out_is_told_unless_a_journey_says_so(
    sent: str, note: str, told: bool
) -> None:
    test = requalified(f"on: 2026-06-03, method: hydrostatic, by: T123{note}")
    changes = {"rented": LENT} | test | ({"sent": f"[{sent}]"} if sent else {})
    answer = may_fill(Seed(changes).book(), "A", TODAY)
    assert ("tested-while-away" in {r.code for r in answer.warnings}) is told


@pytest.mark.parametrize(
    ("found", "code"),
    [
        ("what: dent", "finding-passed"), ("what: dent, note: too deep", "finding-passed"),
        ("what: salt-water, note: not removed", "finding-passed"),
        ("what: thread, note: 3 threads missing", "finding-passed"),
        ("what: thread, note: no threads missing", ""), ("what: dent, note: needs no work", ""),
        ("what: dent, note: needs a hydro first", "finding-passed"),
        ("what: moisture, note: dried and rinsed", ""), ("what: dent, note: 1 mm over 30 mm with round edges", ""),
        ("what: gouge, length: 1 in", "finding-unmeasured"), ("what: gouge, depth: 0.02 in", ""),
        ("what: pits, length: 1 in", "finding-unmeasured"), ("what: pits, depth: 0.02 in", ""),
    ],
)  # fmt: skip
def test_what_was_found_and_passed_is_measured_and_says_why(found: str, code: str) -> None:
    look = f"{{on: 2026-06-03, by: MV, checklist: annual, result: pass, findings: [{{step: cuts-and-dents, result: note, {found}}}]}}"
    answer = may_fill(Seed({"inspected": f"[{OLD}, {look}]"}).book(), "A", TODAY)
    told = {r.code for r in answer.warnings} & {"finding-passed", "finding-unmeasured"}
    assert told == ({code} if code else set())


HANDED_OVER = {"handed_over": "[{on: 2026-06-04, by: MV, to: C-1}]"}


@pytest.mark.parametrize(
    ("more", "log", "fillable"),
    [
        ({}, "", True),
        ({"rented": "[{on: 2026-01-04, to: B-1, until: 2026-01-06, back: 2026-01-06, pressure: 500 psi, valve: closed, damage: crack in the neck}]"}, "", False),
        ({"rented": "[{on: 2026-01-04, to: B-1, until: 2026-01-06, back: 2026-01-06, pressure: 500 psi, valve: closed, damage: dent}]"}, "", True),
        ({"condemned": "[{on: 2026-01-01, by: T1, why: crack, void: {why: '?', by: MV, on: 2026-01-02}}]"}, "", False),
        ({"held": "[{on: 2026-01-01, by: MV, why: dent, released: 2026-01-02, released_why: gauged}]"}, "", False),
        ({"alloy": "'6351'"}, "", False),
        ({"alloy": "AA6061-T6"}, "", True),
        ({"service_pressure": "2250 psi"}, "", False),
        ({"service_pressure": "207 bar"}, "", True),
        ({"marks": "DOT-3AL 3000 K118204 CONDEMNED"}, "", False),
        ({"marks": "DOT-3AL XXXX K118204"}, "", False),
        ({"requalified": "[{on: 2024-03, method: hydrostatic, by: T123, total_expansion: 0.06 L, permanent_expansion: 0.0072 L}]"}, "", False),
        ({}, "at=2026-04-01T10:00:00+00:00; cylinder=B; act=fill; from=500 psi; to=5200 psi; gas=air; by=MV", False),
    ],
)  # fmt: skip
def test_a_sold_twin_of_which_something_is_told_is_heard(
    more: dict[str, str], log: str, fillable: bool
) -> None:
    book = Seed(others={"B": with_lines(TWIN, **HANDED_OVER, **more)}, log=log).book()
    answer = may_fill(book, "A", TODAY)
    assert ("serial-twin" not in {r.code for r in answer.refusals}) is fillable


@pytest.mark.parametrize(
    ("note", "asks"),
    [
        ("air tastes oily", True),
        ("it tasted of oil", True),
        ("customer says bad taste", True),
        ("the air tasted foul", True),
        ("no bad taste", False),
        ("no oily taste, no smell", False),
    ],
)
def test_what_a_diver_tasted_is_asked_after(note: str, asks: bool) -> None:
    look = inspected(f"on: 2026-03-01, by: MV, checklist: annual, result: pass, note: '{note}'")
    codes = {f.code for f in check(Seed(look).book(), TODAY)}
    assert ("note-asks-for-finding" in codes) is asks


@pytest.mark.parametrize(
    "note",
    ["paint stripped", "the paint was stripped", "paint stripped with a torch", "paint baked on", "stripped the paint", "stripped the old paint off", "used a torch to strip it", "sand blasted", "Lack abgebeizt", "smelt of solvent", "a cup of water came out", "stripped with a heat gun",
     "eau salée dans le bloc", "acqua salata", "agua salada", "zout water erin", "ruggine interna", "humidité", "une bosse au pied", "odore di olio", "Kerbe 2 mm tief", "peinture décapée", "Flasche sandgestrahlt", "chisel marks at the foot"],
)  # fmt: skip
def test_what_was_done_to_the_paint_was_done_to_the_cylinder(note: str) -> None:
    look = inspected(f"on: 2026-03-01, by: MV, checklist: annual, result: pass, note: {note}")
    codes = {f.code for f in check(Seed(look).book(), TODAY)}
    assert "note-asks-for-finding" in codes


@pytest.mark.parametrize("note", ["label stripped off", "boot stripped off", "old boot baked hard"])
def test_what_was_done_to_a_fitting_was_not(note: str) -> None:
    look = inspected(f"on: 2026-03-01, by: MV, checklist: annual, result: pass, note: {note}")
    assert "note-asks-for-finding" not in {f.code for f in check(Seed(look).book(), TODAY)}


@pytest.mark.parametrize(
    ("made", "told"),
    [
        ("2019-03", True),
        ("2022-03", False),
        ("2024-03", False),
        ("2024-04", True),
        ("2025-01", True),
    ],
)
def test_a_cylinder_is_made_when_it_is_first_tested(made: str, told: bool) -> None:
    assert ("made-differs" in {f.code for f in check(Seed({"made": made}).book(), TODAY)}) is told


@pytest.mark.parametrize(
    "more",
    [
        {"rented": "[{on: 2026-01-04, to: B-1, until: 2026-01-06, back: 2026-01-06, pressure: 500 psi, valve: closed, damage: dent}]"},
        {"note": "was in a fire"},
        {"note": "crack at thread 3"},
    ],
)  # fmt: skip
def test_a_note_on_a_sold_twin_is_told(more: dict[str, str]) -> None:
    book = Seed(others={"B": with_lines(TWIN, **HANDED_OVER, **more)}).book()
    answer = may_fill(book, "A", TODAY)
    assert "serial-twin" in {r.code for r in answer.reasons}
    assert "serial-twin" not in {r.code for r in answer.refusals}


@pytest.mark.parametrize(
    ("why", "refused"), [("?", True), ("-", True), ("sampled at the wrong whip", False)]
)
def test_a_failed_sample_is_not_struck_out_for_nothing(why: str, refused: bool) -> None:
    void = f"void: {{why: '{why}', by: MV, on: 2026-10-13}}"
    station = (
        f"air_tests: [{{on: 2026-10-12, result: fail, {void}}}, {{on: 2026-10-20, {GOOD_AIR}}}]"
    )
    codes = {r.code for r in may_fill(Seed(station=station).book(), "A", TODAY).refusals}
    assert ("station-struck-out" in codes) is refused


@pytest.mark.parametrize(
    ("note", "told"),
    [
        ("max fill 2000 psi", True), ("limited to 2250 psi", True), ("derate to 2250 psi", True),
        ("maximum 150 bar", True), ("nur bis 150 bar", True), ("max 3000 psi", False),
        ("maximum working pressure: 207 bar", False), ("filled to 2000 psi for the pool", False),
        ("came back with 500 psi", False),
    ],
)  # fmt: skip
def test_a_note_that_sets_a_lower_limit_is_told(note: str, told: bool) -> None:
    for seed in ({"note": f"'{note}'"}, inspected(f"on: 2026-03-01, by: MV, checklist: annual, result: pass, note: '{note}'")):  # fmt: skip
        found = check(Seed(seed).book(), TODAY)
        assert ("note-limits-pressure" in {f.code for f in found}) is told


@pytest.mark.parametrize(
    ("later", "closed"),
    [((), True), (("C1",), True), (("C1", "B1"), True), (("C1", "B1", "B2"), False)],
)
def test_a_sample_over_its_limits_at_what_is_gone_is_answered_by_all(
    later: tuple[str, ...], closed: bool
) -> None:
    over = f"on: 2026-05-01, source: B9, {GOOD_AIR.replace('co: 1 ppm', 'co: 25 ppm')}"
    tests = ", ".join(f"{{{t}}}" for t in (over, *(f"on: 2026-10-12, source: {s}, {GOOD_AIR}" for s in later)))  # fmt: skip
    book = Seed(station=f"{PLACES}{tests}]").book()
    codes = {r.code for r in may_fill(book, "A", TODAY).refusals}
    assert bool({"air-test-failed", "air-source-unknown"} & codes) is closed


@pytest.mark.parametrize("volume", ["0.1 L", "11.1 L", "12 L"])
def test_a_volume_of_almost_nothing_is_held_against_the_stamp(volume: str) -> None:
    marks = "DOT-3AL 3000 K118204 03A24 WC 11.1 L"
    answer = may_fill(Seed({"water_volume": volume, "marks": marks}).book(), "A", TODAY)
    assert ("marks-volume" in {r.code for r in answer.reasons}) is (volume != "11.1 L")


@pytest.mark.parametrize(
    ("parts", "told"),
    [
        ("whips: [{name: W1}, {name: w1}]", True),
        ("gauges: [{name: G1}, {name: g1}]", True),
        ("schemes: [{name: WS1, of: [B1]}, {name: ws1, of: [B2]}]", True),
        ("upkeep: [{name: oil, what: oil}, {name: Oil, what: belts}]", True),
        ("instruments: [{name: CO-1, kind: co-monitor}, {name: co-1, kind: co-monitor}]", True),
        ("banks: [{name: B1, water_volume: 9 L}]\npositions: [{name: b1, kind: whip}]", True),
        ("whips: [{name: W1}, {name: W2}]", False),
    ],
)
def test_two_names_that_differ_by_capitals_are_one(parts: str, told: bool) -> None:
    """Every command takes a label in any capitals, and would record of the first alone."""
    book = make_book({"A": GOOD}, station=f"{STATION}{parts}\n")
    assert any(f.code == "name-twice" for f in check(book, TODAY)) is told


BOOSTED = "banks: [{name: O1, water_volume: 9 L, gas: oxygen, since: 2026-01-01}, {name: B1, water_volume: 9 L, gas: air}]\ncompressor: {name: C1}\n"


@pytest.mark.parametrize(
    ("boosters", "codes"),
    [
        ("{name: BO1, from: [O1], drives: [oxygen], grade: oxygen}", set()),
        ("{name: BO1}", set()),
        ("{name: BO1, from: [C1]}, {name: BO2, from: [BO1]}", set()),
        ("{name: BO1, from: [bo1]}", {"booster-fed"}),
        ("{name: BO1, from: [BO2]}, {name: BO2, from: [BO1]}", {"booster-fed"}),
        ("{name: BO1, from: [B9]}", {"part-unknown"}),
        ("{name: BO1, from: [B1], drives: [oxygen]}", {"booster-fed"}),
        ("{name: BO1, from: [O1], drives: [oxygen], grade: breathing}", {"booster-grade"}),
        ("{name: BO1, from: [B1], drives: [air], grade: breathing}", set()),
    ],
)
def test_a_booster_takes_from_what_gives_a_gas_that_it_drives(
    boosters: str, codes: set[str]
) -> None:
    book = make_book({"A": GOOD}, station=f"{STATION}{BOOSTED}boosters: [{boosters}]\n")
    found = {f.code for f in check(book, TODAY)}
    assert found & {"booster-fed", "booster-grade", "part-unknown"} == codes


READS = "{on: 2026-08-01, reads: 90 h}, {on: 2026-09-01, reads: 99 h}"
KEPT = "upkeep: [{name: oil, what: oil, of: C1, hours: 50 h, done: [{on: 2026-08-01, at: 90 h}]}]\n"


@pytest.mark.parametrize(
    ("hours", "kept", "log", "told"),
    [
        (READS, KEPT, FILL, True),
        (READS, KEPT, "", False),  # nobody used it
        (READS, KEPT, FILL.replace("2026-11-20", "2026-09-20"), False),  # read as often as usual
        (READS, "", FILL, False),  # nothing is counted by it
        ("{on: 2026-08-01, reads: 90 h}", KEPT, FILL, False),
        (f"{READS}, {{on: 2026-11-19, reads: 101 h}}", KEPT, FILL, False),
        (READS, KEPT.replace("}]}]", "}, {on: 2026-11-19, at: 120 h}]}]"), FILL, False),
        (READS, KEPT, FILL.replace("source=C1", "source=elsewhere: Quay"), False),
    ],
)
def test_a_meter_that_nobody_reads_is_told(hours: str, kept: str, log: str, told: bool) -> None:
    """What is due by hours would stand still; at upkeep it is read as well."""
    station = f"{STATION}compressor: {{name: C1, hours: [{hours}]}}\n{kept}"
    book = make_book({"A": GOOD}, station=station, log=log)
    assert any(f.code == "meter-stale" for f in check(book, TODAY)) is told


EXAMPLE_LEDGER = Path(__file__).parents[2] / "example_ledger"
EVERY_GAS = (None, *(Gas.parse(each) for each in ("air", "nitrox32", "oxygen")))
RULES = {r.id: r for name in shipped.rule_set_names() for r in shipped.rule_set(name).every_row}


def codes_said() -> Iterator[tuple[str, str]]:
    """Every code that answers on the example and on seeded ledgers give, with where it came."""
    example = load(EXAMPLE_LEDGER, clock=TODAY).as_known_on(TODAY)
    books = {"example": example} | {code: seed.book() for code, seed in SEEDS.items()}
    for name, book in books.items():
        yield from ((f.code, name) for f in (*check(book, TODAY), *book.findings))
        for id_ in (*book.cylinders, *book.sets):
            for gas in EVERY_GAS:
                yield from (
                    (r.code, f"{name} {id_}") for r in may_fill(book, id_, TODAY, gas).reasons
                )


def test_every_code_that_an_answer_gives_is_one_that_explain_knows() -> None:
    table = shipped.explained()
    asked = dict(codes_said())
    assert "not-oxygen-clean" in asked
    assert len(asked) > 150
    assert {c: where for c, where in asked.items() if not explained.named(table, RULES, c)} == {}
