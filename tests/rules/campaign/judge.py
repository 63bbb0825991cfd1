"""The campaign's own judge: why a YES about a ledger would be wrong, from its text alone.

It imports nothing of the program and reads none of its rule files, so that it shares no mistake with
what it judges. It says nothing in favour: an empty list is no YES, only no known reason against one.
Its law is that of docs/safety.md. Figures: 60 months and 5/3 for DOT 3-series (49 CFR 180.209(a)
Table 1), 120 for UN (180.207(c)), 10 % expansion (180.205(i)(1)(iv)), 12 months for the look inside
(practice), 6 months for air (29 CFR 1910.430(b)(4)), an unmarked yoke 3000 psi and any yoke or DIN 200 232
bar at 15 degC (trade; ISO 12209 scope), a disc from 90 % of the test pressure, CGA Grade E as tabled.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import reading as text
from reading import alike, day, first, last, listed, month_end, quantity, stamped, verdict

# fmt: off
Node = dict[str, Any]
PRESSURE_TESTS = {"hydrostatic", "hydro", "ultrasonic", "ue", "proof", "acoustic-emission"}
DIVING_AIR = {"cga-grade-e", "osha-1910-430", "uscg-197-340", "en-12021-2014", "norway-5-5", None}
AIR = {"co": (0.0, 10.0), "co2": (0.0, 1000.0), "oil": (0.0, 5.0), "hydrocarbons": (0.0, 25.0), "oxygen": (19.5, 22.0)}
ENDS = {"held": ("released", "held"), "rejected": ("lifted", "rejected"), "lost": ("found", "lost"), "condemned": ("", "condemned"),
        "handed_over": ("", "sold"), "sent": ("back", "at-test"), "rented": ("back", "out")}
"""For each kind of entry that takes a cylinder out of service: what ends it, and its status."""


class Judge:
    """A ledger as its text says, on a day. `was`: what git once held, oldest first."""

    def __init__(self, files: Mapping[str, bytes], on: dt.date, was: Sequence[Mapping[str, bytes]] = ()) -> None:
        self.files, self.on, self.was = files, on, was
        self.settings, self.station = self.node("tankbook.yaml"), self.node("station.yaml")
        self.people: Node = {k: v for k, v in (self.settings.get("people") or {}).items() if isinstance(v, dict)}
        self.us = "us-dot" in listed(self.settings.get("rules"))
        self.log = [row for path in self.within("fills/", ".csv") for row in text.rows(self.files[path])]
        rules = [self.node(p) for p in self.within("rules/")]
        self.watch = [row for r in rules for row in listed(r.get("watch")) if isinstance(row, dict)]
        self.rule_ids = [r.get("id") for r in [*self.watch, *(x for s in rules for x in listed(s.get("rows")))] if isinstance(r, dict)]

    def within(self, folder: str, ending: str = ".yaml") -> list[str]:
        return sorted(p for p in self.files if p.startswith(folder) and p.endswith(ending))

    def node(self, path: str) -> Node:
        found = text.parsed(self.files[path]) if path in self.files else None
        return found if isinstance(found, dict) else {}

    def card(self, id_: str) -> Node:
        return self.node(self.path(id_))

    def path(self, id_: str) -> str:
        """The card's file, capitals aside: some disks do not tell them apart."""
        path = f"cylinders/{id_}.yaml"
        return path if path in self.files else next((p for p in self.files if p.casefold() == path.casefold()), path)

    def sets(self, id_: str) -> dict[str, Node]:
        found = {p[5:-5]: self.node(p) for p in self.within("sets/")}
        return {name: node for name, node in found.items() if alike(id_) in map(alike, listed(node.get("cylinders")))}

    def why_not(self, id_: str, gas: str = "air", upto: str = "") -> list[str]:
        """Every reason known against a YES; what cannot be read first, and then nothing else."""
        if f"sets/{id_}.yaml" in self.files:
            return [why for side in listed(self.node(f"sets/{id_}.yaml").get("cylinders")) for why in self.why_not(side, gas, upto)]
        sides = {id_, *(side for doubles in self.sets(id_).values() for side in listed(doubles.get("cylinders")))}
        broken = [*self.unreadable(sides)]
        if broken:
            return broken
        limit = min(self.limit(self.card(side)) for side in sides)
        set_to, asked = quantity(self.station.get("regulator_set")), quantity(upto)
        high = asked if asked is not None else set_to
        found = ([f"the regulator is set above {limit:.0f} psi"] if high is not None and high > min([limit, *text.ratings(self.station)]) + 1 else [])
        for name, doubles in self.sets(id_).items():
            rating = quantity(doubles.get("rating"))
            found += [f"{name}: the isolator is shut"] if doubles.get("isolator") == "shut" else []
            found += ([f"{name}: the manifold is rated {rating}"] if rating is not None and rating < limit - 1 else [])
        found += [f"{side}: {why}" for side in sorted(sides) for why in self.of_card(side, gas)]
        return [*found, *self.of_station(), *(f"two rules {r}" for r in set(self.rule_ids) if self.rule_ids.count(r) > 1), *(why for side in sides for why in self.vanished(side))]

    def unreadable(self, sides: set[str]) -> Iterator[str]:
        if not self.settings.get("rules") or any(text.faults_of(p, "person") for p in self.people.values()):
            yield "the settings cannot be read"
        for side in sides:
            data = self.files.get(self.path(side))
            yield from ([f"there is no {side}"] if data is None else (f"{side}: {why}" for why in text.faults(data, "card")))
        for path in (["station.yaml"] * bool("station.yaml" in self.files) + self.within("rules/") + self.within("sets/")):
            data, shape = (self.files[path], {"r": "rules", "s": "set"}[path[0]] if "/" in path else "station")
            if shape != "set" or any(side.encode() in data for side in sides):
                yield from (f"{path}: {why}" for why in text.faults(data, shape))
        yield from (f"{path} looks like a record and is not read" for path in self.files if text.is_stray(path, self.files))
        for row in self.log:
            good = re.fullmatch(r"[\dT:-]{19}([+-]\d\d:\d\d|Z)", str(row.get("at"))) and day(str(row["at"])[:10])
            if self.about(row, sides) and not (good and row.get("act") in ("fill", "reading", "drain", "void")):
                yield f"a line of the log cannot be read: {row.get('at')}"

    def about(self, row: Node, sides: set[str]) -> bool:
        """Whether a line of the log is about one of these or their set, by a name that the eye takes for it."""
        return alike(row.get("cylinder")) in {alike(name) for name in sides.union(*(self.sets(side) for side in sides))}

    def vanished(self, id_: str) -> Iterator[str]:
        """What git once held, what spoke against the cylinder, and what nobody struck out or explained."""
        card = self.card(id_)
        told = " ".join(str(r.get("what")) for r in [*listed(self.settings.get("removed")), *listed(card.get("removed"))])
        for before in self.was:
            old = Judge(before, self.on)
            rests = [p for p in before if p.startswith(("rules/", "fills/")) or p in ("station.yaml", *(f"sets/{n}.yaml" for n in old.sets(id_)))]
            gone = [p for p in rests if p not in self.files]
            gone += [str(r) for r in old.rule_ids if r not in self.rule_ids and not any(p.startswith("rules/") for p in gone)]
            gone += [f"{k} {e['on']}" for k, e in text.adverse(old.card(id_)) if e["on"] not in [x.get("on") for x in listed(card.get(k))]]
            gone += ["a line of the log"] if any(r not in self.log for r in old.log if old.about(r, {id_})) else []
            lost = {p: old.node(p) for p in old.within("cylinders/") if p not in self.files}
            gone += [p for p, c in lost.items() if any(text.adverse(c)) and alike(c.get("serial")) == alike(card.get("serial"))]
            yield from (f"{what} was there and is gone" for what in gone if what not in told)

    def certified(self, by: Any, skill: str, start: dt.date, end: dt.date) -> bool:
        """By somebody certified that day, where certifications are kept; no skill is any skill."""
        kept = [(who, c) for who, p in self.people.items() for c in listed(p.get("certifications")) if skill in ("", c.get("skill"))]
        if not by or (by in self.people and last(self.people[by], "left") < start):
            return False
        return not kept or any(who == by and first(c, "from") <= end and start <= last(c, "until") for who, c in kept)

    def stands(self, entry: Node, against: bool = False) -> bool:
        """Whether an entry counts: not struck out, or adverse and struck out by nobody who may."""
        void = entry.get("void")
        lawful = (void and (first(entry) <= first(void) or first(entry) > self.on) and first(void) <= self.on and self.certified(void.get("by"), "", first(void), last(void)))
        return not void or (against and not lawful)

    def of(self, card: Node, key: str) -> list[Node]:
        """Entries that tell against it, unless rightly struck out."""
        return [e for e in listed(card.get(key)) if self.stands(e, against=True)]

    def outside(self, card: Node, kind: str) -> list[Node]:
        """Entries of a kind that took it out of service; that it was sent or rented, anybody may strike out."""
        return self.of(card, kind) if ENDS[kind][0] != "back" else [e for e in listed(card.get(kind)) if self.stands(e)]

    def level(self, checklist: Any) -> int:
        own = self.node(f"checklists/{checklist}.yaml")
        return text.LEVELS.get(str(checklist), 0) if not own else 3 if own.get("full") == "yes" else 2 if own.get("inside") == "yes" else 1

    def looks(self, card: Node, level: int = 1, since: dt.date = dt.date.min) -> list[Node]:
        """Inspections that count in favour: passed, by a known checklist and somebody certified."""
        mine = [e for e in listed(card.get("inspected")) if self.stands(e) and verdict(e) == "pass" and e.get("sticker") != "seen"]
        return [e for e in mine if since <= last(e) and first(e) <= self.on and self.level(e["checklist"]) >= level
                and self.certified(e.get("by"), "inspector", first(e), last(e))]

    def tests(self, card: Node) -> list[Node]:
        """Requalifications that passed, oldest first; each with the day it was done on."""
        due = card.get("stamp_means") == "next-due"
        passed = [e for e in listed(card.get("requalified")) if self.stands(e) and e.get("result", "pass") == "pass"]
        found = [{**e, "on": e.get("tested", e["on"]) if due else e["on"]} for e in passed]
        return sorted((e for e in found if first(e) <= self.on), key=lambda e: str(e["on"]))

    def answered(self, card: Node, word: str, entry: Node, level: int = 9, *, finding: bool = False) -> bool:
        """Whether a later entry names this one: an inspection as full as `level`, or a requalifier's."""
        tests = [e for e in self.tests(card) if e.get("by") not in {*self.people, "maker", None} and (e.get("finding") or not finding)]
        return any(last(e) >= first(entry) and text.names(e, word, entry) for e in [*tests, *self.looks(card, level)])

    def of_card(self, id_: str, gas: str) -> Iterator[str]:
        card = self.card(id_)
        for part in (self.ahead, self.out_of_service, self.found, self.came_back, self.in_date, self.marked, self.fittings, self.noticed):
            yield from part(card)
        yield from self.twins(id_, card)
        yield from self.logged(id_, card, gas)

    def ahead(self, card: Node) -> Iterator[str]:
        """Dates to come, and ends before their beginning."""
        for kind, e in ((k, e) for k, v in card.items() for e in listed(v) if isinstance(e, dict) and "on" in e):
            due = kind == "requalified" and card.get("stamp_means") == "next-due"
            days = {key: first(e, key) for key in ("released", "lifted", "found", "back", "refitted", "sticker_on", "tested") if e.get(key)}
            ahead = max([*days.values(), dt.date.min if due else first(e), first(e.get("void") or {})]) > self.on
            if ahead and self.stands(e, against=True):
                yield f"{kind} {e['on']} lies ahead"
            if any(d < first(e) for key, d in days.items() if key != "tested"):
                yield f"{kind} {e['on']} ends before it began"

    def out_of_service(self, card: Node) -> Iterator[str]:
        states = set()
        for kind, (end, state) in ENDS.items():
            for e in (self.of(card, kind) if end != "back" else filter(self.stands, listed(card.get(kind)))):
                what = f"{kind} {e['on']}"
                if not e.get(end):
                    states.add({"repair": "at-repair", "supplier-return": "at-supplier"}.get(e.get("for"), state))
                    yield f"{what} is open"
                elif end != "back":
                    if not e.get(f"{end}_why") or not self.certified(e.get(f"{end}_by"), "", first(e, end), first(e, end)):
                        yield f"{what} was ended without a reason, or by nobody certified"
                    if end == "lifted" and not any(self.answered(card, word, e) for word in ("rejected", "inspected", "requalified")):
                        yield f"{what} was lifted and nothing answers it"
                    if end == "found" and not self.looks(card, 2, first(e)):
                        yield f"{what}: not looked inside since"
        if card.get("status") and card["status"] not in (states or {"in-service", "awaiting-collection"}):
            yield f"its status says {card['status']}"

    def found(self, card: Node) -> Iterator[str]:
        """What inspections and tests found, and whether it was answered."""
        for e in self.of(card, "inspected"):
            for f in listed(e.get("findings")):
                what, bad = str(f.get("what")), f["result"] in ("hold", "reject")
                if what == "crack" or (f["step"] == "neck-cracks" and bad and what == "None"):
                    yield "it is cracked"
                if what in ("heat", "fire") and (card.get("material") != "steel" or not self.answered(card, "heat", e)):
                    yield "it was over-heated"
                if what == "suspected-crack" and not self.answered(card, "suspected-crack", e, finding=True):
                    yield "it may be cracked"
                level = 3 if verdict(e) == "pass" else self.level(e["checklist"])
                if text.is_too_much(f, card) and not self.looks(card, level, last(e) + dt.timedelta(1)):
                    yield f"{what} was noted, and passed"
            if verdict(e) != "pass" and not any(self.answered(card, word, e, self.level(e["checklist"])) for word in ("inspected", "held", "rejected")):
                yield f"its inspection of {e['on']} says {verdict(e)}"
        for e in self.of(card, "requalified"):
            if e.get("result") == "fail" and not self.answered(card, "requalified", e):
                yield f"it failed its test of {e['on']}"

    def came_back(self, card: Node) -> Iterator[str]:
        for e in self.of(card, "rented"):
            if not text.is_empty(e.get("damage")) and not self.answered(card, "damage", e, 1):
                yield f"damage of {e['on']} stands"
            if (e.get("valve") == "open" or quantity(e.get("pressure")) == 0) and not self.looks(card, 2, first(e, "back")):
                yield "it came back empty or open and was not looked inside"
        back = [e for e in listed(card.get("sent")) if self.stands(e) and e.get("back") and not self.looks(card, 2, first(e, "back"))]
        yield from ("it came back from test and was not refitted" for e in back if not e.get("refitted"))
        gives = (e for e in text.giving_way(card) if self.stands(e) and not any(last(t) > last(e) for t in self.tests(card)))
        yield from ("it may give way" for e in gives if not self.looks(card, 2, last(e) + dt.timedelta(1)))

    def in_date(self, card: Node) -> Iterator[str]:
        kind, permit = text.series(card), text.permit(card)
        tests = [e for e in self.tests(card) if e["method"] in PRESSURE_TESTS]
        newest = max((last(e) for e in tests), default=dt.date.min)
        period = min((quantity(permit.get("period")) or 0) if kind == "permit" else 60, 120 if kind == "UN" else 60)
        if not tests or month_end(newest, 120 if self.us and kind == "UN" else period) < self.on:
            yield "its test lapsed"
        seen = [e for e in listed(card.get("inspected")) if self.stands(e) and "seen" in f"{e.get('sticker')} {e['checklist']}" and verdict(e) == "pass" and first(e) <= self.on]
        if self.us and month_end(max([newest, *(last(e) for e in [*self.looks(card, 3), *seen])]), 12) < self.on:
            yield "its inspection lapsed"
        for e in tests:
            total, permanent, reached = (quantity(e.get(k)) for k in ("total_expansion", "permanent_expansion", "test_pressure"))
            if (total is None) != (permanent is None):
                yield "half an expansion pair"
            if total is not None and permanent is not None and not 0 <= permanent <= total * (quantity(permit.get("expansion_limit")) or 10) / 100:
                yield "its expansion is over the limit"
            if reached is not None and reached < 0.99 * self.least_test(card):
                yield f"its test reached {reached:.0f} psi"
        yield from ["a composite without a permit"] * (card.get("material") == "composite" and not permit)
        ends = permit.get("life_ends") == "none" or self.on <= last(permit, "life_ends") < dt.date.max
        if permit and not (0 < (quantity(permit.get("period")) or 0) <= 144 and ends):
            yield "its permit gives no period or end of life, or one that cannot be"
        eddy = [last(e) for e in self.tests(card) if e["method"] in ("eddy-current", "ve")]
        if self.us and self.alloy(card) == "6351" and month_end(max([*eddy, dt.date.min]), 60) < self.on:
            yield "6351 without an eddy-current test"

    def alloy(self, card: Node) -> str:
        told = [str(r["alloy"]) for r in self.watch if r.get("alloy") and text.speaks_of(r, card)]
        return str(card.get("alloy")) if card.get("alloy_known_from") or not told else told[0]

    def noticed(self, card: Node) -> Iterator[str]:
        if card.get("alloy") and self.alloy(card) != card["alloy"]:
            yield "a typed alloy against a notice"
        if any(r.get("recall") and r.get("gate", "warn") == "refuse" and text.speaks_of(r, card) for r in self.watch):
            yield "it is recalled"

    def least_test(self, card: Node) -> float:
        """The least test pressure of its specification, or of its permit, in psi."""
        by_permit = quantity((card.get("permit") or {}).get("test_pressure")) or 0.0
        ratio = {"DOT": 5 / 3, "UN": 3 / 2}.get(text.series(card), 0.0)
        return (by_permit if text.series(card) == "permit" else (quantity(card.get("service_pressure")) or 0) * ratio - 3)

    def limit(self, card: Node) -> float:
        """The most it may hold, in psi; 10 % more where the newest test is stamped with a plus."""
        newest: Node = max((e for e in self.tests(card) if e["method"] in PRESSURE_TESTS), key=lambda e: str(e["on"]), default={})
        marks = stamped(newest.get("stamp")) or stamped(card.get("marks"))[-1:]
        plus = (newest.get("plus") == "yes" and marks and marks[-1][1] and "3AA" in str(card.get("specification")).upper())
        return (quantity(card.get("service_pressure")) or 0.0) * (1.1 if plus else 1.0)

    def marked(self, card: Node) -> Iterator[str]:
        """What is stamped against what is typed."""
        marks, spec, service = (str(card.get("marks") or "").upper(), text.specification(card), quantity(card.get("service_pressure")))
        if not spec or service is None or service <= 0:
            yield "no pressure or no specification"
        if card.get("material") and card["material"] not in (None, {"3AL": "aluminium", "3AA": "steel"}.get((re.findall("3A[LA]", spec) or [""])[0], card.get("material"))):
            yield f"{spec} of {card.get('material')}"
        us, bar, glued = text.us_mark(marks), re.search(r"PW ?(\d+)", marks), re.search(r"A[LA]M?\W?(\d{4})(?!\d)", marks)
        said = float(us[2]) if us else float(bar[1]) * 14.5037738 if bar else float(glued[1]) if glued else service
        if (us and us[1].replace(" ", "") not in spec.replace(" ", "")) or (said and service and abs(said - service) > said / 100):
            yield f"the shoulder says {marks[:30]}"
        if re.search(r"CONDEMNED|X{4,}", marks, re.I):
            yield "the shoulder is crossed out"
        tests, shoulder = ([e for e in self.tests(card) if e["method"] in PRESSURE_TESTS], stamped(marks))
        for e in (e for e in tests if e.get("stamp") and card.get("stamp_means") != "next-due" and text.series(card) != ""):
            if any(month != e["on"][:7] or (e.get("plus") == "yes" and not plus) for month, plus in stamped(e["stamp"])[:1]):
                yield f"stamp {e['stamp']} beside {e['on']}"
        if shoulder and tests and text.series(card) != "UN":
            if tests[0].get("by") == "maker" and shoulder[0][0][2:] not in {e["on"][2:7] for e in tests}:
                yield f"the shoulder says {shoulder[0][0]}, the card {tests[0]['on']}"
            if len(shoulder) > 1 and not tests[-1].get("stamp") and max(shoulder)[0] != tests[-1]["on"][:7]:
                yield f"the shoulder was stamped {max(shoulder)[0]} last, the card says {tests[-1]['on']}"

    def fittings(self, card: Node) -> Iterator[str]:
        valve, limit = card.get("valve") or {}, self.limit(card)
        rating, disc, insert, typed = (quantity(v) for v in (valve.get("rating"), valve.get("disc"), valve.get("insert"), card.get("test_pressure")))
        outlet = re.sub(r"^din(\d)", r"din-\1", str(valve.get("outlet")).replace("a-clamp", "yoke"))
        if disc is not None and not limit < disc <= (typed or self.least_test(card)) + 3:
            yield f"disc {disc:.0f} psi at {limit:.0f}"
        inserted = insert is not None and valve.get("insert_in") != "no"
        if any(mark is not None and mark < 0.99 * limit for mark in (rating, insert if inserted else None)):
            yield "its valve or its insert is rated below its limit"
        unmarked = (outlet == "yoke" or valve.get("insert_in") == "yes") and rating is None and insert is None
        if limit > (3001 if unmarked and self.us else 3473 if inserted or unmarked or outlet in ("yoke", "din-200") else 9e9):
            yield "over what its outlet may hold"
        if typed is not None and typed < 0.99 * self.least_test(card):
            yield "its test pressure is too low for its pressure"
        reads = max((e for e in self.of(card, "inspected") if e.get("valve_thread")), key=first, default={})
        card_says, inspector_says = (card.get("neck_thread"), valve.get("thread")), (reads.get("neck_thread"), reads.get("valve_thread"))
        for one, two in (card_says, inspector_says, *zip(card_says, inspector_says, strict=True)):
            if re.search(r"\d.*,.*\d", f"{one},{two}") and text.bare(one) != text.bare(two):
                yield f"{two} and {one}"

    def twins(self, id_: str, card: Node, *, sure: bool = True) -> Iterator[str]:
        """Cards of one maker and serial; not `sure`, those that may be of one cylinder."""
        for path in self.within("cylinders/"):
            other, there = path[10:-5], self.node(path)
            apart = {(a, n.get("id")) for a, c in ((id_, card), (other, there)) for n in listed(c.get("not_same")) if isinstance(n, dict) and n.get("why")}
            if other.casefold() == id_.casefold() or {(id_, other), (other, id_)} & apart or alike(there.get("serial")) != alike(card["serial"]):
                continue
            makers = text.maker(card), text.maker(there)
            surely = makers[0] == makers[1] != "" and text.plain(there["serial"]) == text.plain(card["serial"])
            if surely is sure and ("" in makers or makers[0] == makers[1] or text.origin(card) == text.origin(there)):
                yield f"{other} bears the same serial"

    def lines(self, id_: str) -> list[tuple[dt.date, Node]]:
        """The lines of the log about a cylinder that stand, oldest first."""
        mine = [r for r in self.log if self.about(r, {id_})]
        struck = {r.get("voids") for r in mine if r["act"] == "void" and r.get("by") and r.get("note")}
        found = [r for r in mine if r["act"] != "void" and f"{r['at']} {r['cylinder']}" not in struck]
        return [(first({"on": r["at"][:10]}), r) for r in sorted(found, key=lambda r: str(r["at"]))]

    def logged(self, id_: str, card: Node, gas: str) -> Iterator[str]:
        limit, lines, holds, known = self.limit(card), self.lines(id_), "", None
        unexplained = quantity(self.settings.get("unexplained"))
        away = [(last(e), first(e, end) if e.get(end) else dt.date.max) for kind, (end, _) in ENDS.items() for e in self.outside(card, kind)]
        let_go = max((first(e, "released") for e in listed(card.get("held")) if self.stands(e) and e.get("released")), default=dt.date.min)
        for place, (on, row) in enumerate(lines):
            to, looked = quantity(row.get("to")), bool(self.looks(card, 2, on))
            if on > self.on:
                yield "a line of the log lies ahead"
            if row["act"] == "fill":
                to = text.at_70(to, row.get("temperature"))
                holds = str(row.get("gas"))
                bled = any((quantity(r.get("to")) or 9e9) <= limit for _, r in lines[place + 1 :]) and (to or 0) <= self.least_test(card)
                if (to or 0) > 1.06 * limit and not bled and not looked and let_go < on:
                    yield f"it was filled to {row.get('to')}, and nobody looked into that"
                if any(start < on < end for start, end in away) and not looked:
                    yield "it was filled while it should not have been"
                if holds == "air" and not 19.5 <= (quantity(row.get("o2")) or 20.9) <= 22.5 and not looked:
                    yield f"air of {row['o2']} oxygen"
                if holds not in ("air", "", "None") and card.get("service") in ("air", None) and not looked:
                    yield f"{holds} went into it"
            elif to == 0:
                holds = ""
                if row["act"] == "reading" and not looked:
                    yield "it was empty and not looked inside"
            elif row["act"] == "reading" and not looked and None not in (to, known, unexplained) and to > known + unexplained:
                yield f"nobody filled it and it reads {to:.0f}"
            known = to if to is not None else known
        if holds not in ("", gas) and not (lines and self.looks(card, 2, lines[-1][0] + dt.timedelta(1))):
            yield f"it holds {holds}"
        cleaned = max((last(e) for e in listed(card.get("cleaned")) if self.stands(e) and first(e) <= self.on and e["to"] != "air"), default=None)
        if gas != "air" and (cleaned is None or any(on > cleaned and r["act"] == "fill" and r.get("gas") == "air" for on, r in lines)):
            yield "it is not clean for oxygen"
        if gas != "air" and card.get("service") not in ({"oxygen"} if gas == "oxygen" else {"nitrox", "oxygen"}):
            yield f"{gas} into a cylinder for {card.get('service')}"

    def of_station(self) -> Iterator[str]:
        station, makes = self.station, str((self.station.get("compressor") or {}).get("name") or "").casefold() or None
        if not station:
            return
        tests = sorted((t | {"source": str(t.get("source") or "").casefold() or None} for t in self.of(station, "air_tests")), key=first)
        known = {makes, None, *(b["name"].casefold() for b in listed(station.get("banks")))}
        over = {id(t): {k for k, (least, most) in AIR.items() if t.get(k) and not least <= (quantity(t[k]) or 0) <= most} for t in tests}
        failed = {id(t): over[id(t)] or {k for k in AIR if t.get(k)} for t in tests if t["result"] == "fail" or over[id(t)]}
        good = [t for t in tests if t["result"] == "pass" and not over[id(t)] and (t.get("source") or None) in known
                and t.get("standard") in DIVING_AIR and first(t) <= self.on and not t.get("void")]
        for t in (t for t in tests if id(t) in failed):
            if not any(first(g) >= first(t) and (g.get("source") or makes) == (t.get("source") or makes) and all(g.get(k) for k in failed[id(t)]) for g in good):
                yield f"the air failed on {t['on']}"
        if any(first(t) > self.on for t in tests) or month_end(max([last(t) for t in good] or [dt.date.min]), 6) < self.on:
            yield "the air was not tested these six months"
        hours: list[Node] = sorted((h for h in listed((station.get("compressor") or {}).get("hours")) if self.stands(h)), key=first) or [{}]
        usual = max((first(b) - first(a) for a, b in zip(hours, hours[1:], strict=False)), default=dt.timedelta())  # noqa: RUF007
        for f in listed(station.get("filters")):
            changed: Node = max((c for c in listed(f.get("changed")) if self.stands(c) and first(c) <= self.on), key=first, default={})
            ran = (quantity(hours[-1].get("reads")) or 0) - (quantity(changed.get("at")) or 0)
            if not (changed and hours[-1]) or first(hours[-1]) < first(changed) < self.on - usual or ran >= (quantity(f.get("life")) or 9e9):
                yield f"filter {f['name']} is spent, or nobody knows"
        for b in (b for b in listed(station.get("banks")) if b.get("period")):
            stamps = [(stamped(e["stamp"])[:1], e["on"][:7]) for e in self.tests(b) if e.get("stamp")]
            until = month_end(max((last(e) for e in self.tests(b)), default=dt.date.min), quantity(b["period"]) or 0)
            if until < self.on or any(s and s[0][0] != on for s, on in stamps):
                yield f"bank {b['name']} is out of test"
