"""What the gate is asked of a cylinder, at the edge of each condition."""

from __future__ import annotations

import datetime as dt

import pytest
from books import GOOD, SETTINGS, STATION, TODAY, make_book, with_lines
from changing import replace

from tankbook.gas import Gas
from tankbook.records.book import Book
from tankbook.records.log import LogLine
from tankbook.records.rulerow import Obligation
from tankbook.records.words import ChecklistGroup, LogAct
from tankbook.rules.conditions import (
    Condition,
    family,
    in_doubt_on,
    missing_mark,
    of_cylinder,
    of_source,
    ordinary_air,
)
from tankbook.rules.inforce import facts_of, rules_of

B = with_lines(GOOD, serial="K2")
VOID = "void: {why: wrong card, by: MV, on: 2026-11-24}"
OLD = "{on: 2026-02-09, by: MV, checklist: annual, result: pass, sticker: issued}"
GRADES = """
banks:
  - {name: N1, water_volume: 48 L, gas: nitrox32, grade: oxygen}
  - {name: B1, water_volume: 48 L, gas: air, grade: breathing}
  - {name: X1, water_volume: 48 L, gas: air}
compressor: {name: C1, grade: oxygen}
"""
CLEAN = {"cleaned": "[{on: 2026-10-01, by: MV, to: oxygen}]", "service": "nitrox"}
LINE = "at=%s; cylinder=A; act=%s; from=500 psi; to=2900 psi; gas=%s; by=MV"


def asked(
    card: dict[str, str | None],
    *,
    gas: str = "air",
    log: str = "",
    station: str = STATION,
    sets: dict[str, str] | None = None,
    settings: str = SETTINGS,
    rules: str = "",
) -> list[Condition]:
    book = make_book(
        {"A": with_lines(GOOD, **card), "B": B}, log=log, station=station, sets=sets,
        settings=settings, own_rules=rules,
    )  # fmt: skip
    return conditions(book, gas)


def conditions(book: Book, gas: str = "air", day: dt.date = TODAY) -> list[Condition]:
    annual = book.checklists["annual"]
    steps = tuple(step for step in annual.steps if step.group is ChecklistGroup.OUTSIDE)
    outside = replace(annual, steps=steps, full_=False, inside_=False)
    book = replace(book, checklists={**book.checklists, "outside": outside})
    facts = facts_of(book.cylinders["A"], rules_of(book))
    return list(of_cylinder(book, facts, Gas.parse(gas), day))


def with_source(source: str, gas: str) -> LogLine:
    at = dt.datetime(2026, 11, 25, 12, tzinfo=dt.UTC)
    return LogLine(at=at, cylinder="A", act=LogAct.FILL, gas=Gas.parse(gas), source_=source)


def codes(found: list[Condition]) -> list[str]:
    return [each.code for each in found]


def test_a_sound_cylinder_raises_nothing() -> None:
    assert asked({}) == []


# --- where it stands ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rented", "out"),
    [
        ("{on: 2026-11-20, to: B-1}", ["standing-out"]),
        ("{on: 2026-11-20, to: B-1, back: 2026-11-22}", []),
        (f"{{on: 2026-11-20, to: B-1, {VOID}}}", []),
    ],
)
def test_a_side_is_out_with_its_set(rented: str, out: list[str]) -> None:
    found = asked({}, sets={"D": f"cylinders: [A, B]\nrented: [{rented}]"})
    assert codes(found) == out


@pytest.mark.parametrize(
    ("kind", "more"),
    [
        ("held", ""),
        ("rejected", ""),
        ("condemned", ", by: T123"),
    ],
)
def test_every_reason_that_stands_is_told_the_newest_first(kind: str, more: str) -> None:
    first = f"{{on: 2026-03-01, why: dent{more}}}"
    second = f"{{on: 2026-04-01, why: corrosion{more}}}"
    struck = f"{{on: 2026-05-01, why: mistake{more}, {VOID}}}"
    (found,) = asked({kind: f"[{first}, {second}, {struck}]", "status": kind})
    assert found.text == f"it is {kind}: corrosion; dent"
    assert found.code == f"standing-{kind}"


def test_whatever_keeps_it_back_is_told() -> None:
    held, rejected = "[{on: 2026-03-01, why: dent}]", "[{on: 2026-04-01, by: T123, why: rust}]"
    found = asked({"held": held, "rejected": rejected, "status": "rejected"})
    assert [each.text for each in found] == ["it is rejected: rust", "it is held as well: dent"]


def test_what_is_over_is_no_reason() -> None:
    ended = "{on: 2026-04-01, why: gauge, released: 2026-04-02, released_by: MV, released_why: ok}"
    (found,) = asked({"held": f"[{{on: 2026-03-01, why: dent}}, {ended}]", "status": "held"})
    assert found.text == "it is held: dent"


def test_a_status_without_a_reason_of_its_own_tells_none() -> None:
    (found,) = asked({"lost": "[{on: 2026-04-01, by: MV}]", "status": "lost"})
    assert found.text == "it is lost"


# --- findings, permit, material ----------------------------------------------------------------

SUSPECT = "{on: %s, by: MV, checklist: annual, result: hold, findings: [{step: neck-threads, result: hold, what: suspected-crack}]}"


def test_a_suspected_crack_is_told_once_with_its_day_and_what_answers_it() -> None:
    looks = f"[{OLD}, {SUSPECT % '2026-03-05'}, {SUSPECT % '2026-04-05'}]"
    found = [c for c in asked({"inspected": looks}) if c.code == "suspected-crack"]
    assert [c.text for c in found] == ["a crack is suspected since 2026-03-05"]
    assert "`clears: [suspected-crack 2026-03-05]`" in found[0].mend
    first = "{on: 2024-03, method: hydrostatic, by: maker}"
    test = "{on: 2026-04-10, method: hydrostatic, by: T123, finding: a fold, clears: [suspected-crack 2026-03-05]}"
    card = {"inspected": f"[{OLD}, {SUSPECT % '2026-03-05'}]", "requalified": f"[{first}, {test}]"}
    assert "suspected-crack" not in codes(asked(card))


@pytest.mark.parametrize(
    ("life_ends", "past"),
    [
        ("2026-11-24", True),
        ("2026-11-25", False),
        ("2026-11", False),
        ("2026-10", True),
        ("2031-03", False),
        ("none", False),
    ],
)
def test_the_last_day_of_a_life_is_lived(life_ends: str, past: bool) -> None:
    permit = f"{{number: DOT-SP 99001, period: 5 years, test_pressure: 5000 psi, life_ends: {life_ends}}}"
    found = asked({"permit": permit, "specification": "[DOT-SP 99001]"})
    assert ("permit-past-life-end" in codes(found)) is past


def test_what_a_permit_lacks_is_named() -> None:
    found = asked({"permit": "{number: DOT-SP 99001}", "specification": "[DOT-SP 99001]"})
    assert [c.text for c in found if c.question is Obligation.PERMIT] == [
        "its permit's period is not recorded",
        "its permit's test pressure is not recorded",
        "its permit's life end is not recorded",
    ]


def test_a_material_is_asked_for_where_no_permit_stands_for_it() -> None:
    bare = {"material": None, "alloy": None, "specification": "[XX-1]"}
    assert "material-unknown" in codes(asked(bare))
    permit = "{number: DOT-SP 99001, period: 5 years, test_pressure: 5000 psi, life_ends: 2031-03}"
    assert "material-unknown" not in codes(
        asked({**bare, "specification": "[DOT-SP 99001]", "permit": permit})
    )


# --- threads -----------------------------------------------------------------------------------

BARE_VALVE = "{outlet: yoke, rating: 3000 psi, disc: 5000 psi}"


@pytest.mark.parametrize(
    ("card", "code"),
    [
        ({"neck_thread": "n/a"}, "thread-unknown"),
        ({"valve": BARE_VALVE.replace("yoke", "yoke, thread: n/a")}, "thread-unknown"),
        ({"neck_thread": "M25x2"}, "thread-differ"),
        ({"neck_thread": "3/4"}, "thread-unnamed"),
        ({"neck_thread": "3/4", "valve": BARE_VALVE.replace("yoke", "yoke, thread: 3/4")}, "thread-unnamed"),
        ({"neck_thread": "3/4", "use": "customer"}, "thread-unnamed"),
        ({"neck_thread": "3/4", "valve": BARE_VALVE, "use": "customer"}, "thread-unnamed"),
        # what is stamped on the crown is the neck's, where nobody wrote that down
        ({"neck_thread": None, "use": "customer", "marks": "DOT-3AL 3000 K118204 03A24 25P"}, "thread-differ"),
        ({"neck_thread": None, "marks": "DOT-3AL 3000 K118204 03A24 M25x2"}, "thread-differ"),
        ({"neck_thread": None, "marks": "DOT-3AL 3000 K118204 03A24 SP12"}, "thread-unknown"),
        ({"neck_thread": None, "valve": BARE_VALVE, "use": "customer", "marks": "DOT-3AL 3000 K118204 03A24 25P"}, "thread-unknown"),
        # the walk-in: a valve that shows a code was chosen for its neck
        ({"neck_thread": None, "use": "customer"}, "thread-unread"),
        ({"valve": BARE_VALVE, "use": "customer"}, "thread-unread"),
        ({"valve": BARE_VALVE, "use": "customer", "neck_thread": None}, "thread-unread"),
        ({"valve": BARE_VALVE, "use": "customer", "neck_thread": "M25x2"}, "thread-unknown"),
        ({"valve": BARE_VALVE, "use": "rental"}, "thread-unknown"),
        # no metric valve was chosen for an inch cylinder; for one from abroad it was
        ({"valve": BARE_VALVE.replace("yoke", "yoke, thread: M25x2"), "use": "customer", "neck_thread": None}, "thread-unknown"),
        ({"valve": BARE_VALVE.replace("yoke", "yoke, thread: M25x2"), "use": "customer", "neck_thread": None, "specification": "[UN ISO 7866]"}, "thread-unread"),
        # from abroad, by its marks or by what is written
        ({"valve": BARE_VALVE, "use": "customer", "specification": "[UN ISO 7866]"}, "thread-unknown"),
        ({"valve": BARE_VALVE, "use": "customer", "specification": "[DOT-3AL, UN ISO 7866]"}, "thread-unknown"),
        ({"valve": BARE_VALVE, "use": "customer", "specification": "[DOT-3AL, UN 1002]"}, "thread-unread"),
        ({"valve": BARE_VALVE, "use": "customer", "specification": "[UN 1002]"}, "thread-unknown"),
        ({"valve": BARE_VALVE, "use": "customer", "made_in": "USA"}, "thread-unread"),
        ({"valve": BARE_VALVE, "use": "customer", "made_in": '" canada "'}, "thread-unread"),
        ({"valve": BARE_VALVE, "use": "customer", "made_in": "Italy"}, "thread-unknown"),
        # or by a country on its shoulder
        ({"valve": BARE_VALVE, "use": "customer", "marks": "DOT-3AL 3000 K118204 03A24 GERMANY"}, "thread-unknown"),
        ({"valve": BARE_VALVE, "use": "customer", "marks": "DOT-3AL 3000 K118204 03A24 MADE IN ITALY"}, "thread-unknown"),
        # wherever that is: at home it is not
        ({"valve": BARE_VALVE, "use": "customer", "marks": "DOT-3AL 3000 K118204 03A24 MADE IN ATLANTIS"}, "thread-unknown"),
        ({"valve": BARE_VALVE, "use": "customer", "marks": "DOT-3AL 3000 K118204 03A24 CANADA"}, "thread-unread"),
        ({"valve": BARE_VALVE, "use": "customer", "marks": "DOT-3AL 3000 K118204 03A24 made in usa"}, "thread-unread"),
    ],
    ids=str,
)  # fmt: skip
def test_a_thread_that_was_not_read(card: dict[str, str | None], code: str) -> None:
    found = [c for c in asked(card) if c.question is Obligation.THREAD_MATCH]
    assert codes(found) == [code]


def test_a_crown_and_a_valve_settle_the_thread_of_a_walk_in() -> None:
    crown = {"neck_thread": None, "marks": "DOT-3AL 3000 K118204 03A24 SP12"}
    assert asked({**crown, "use": "customer"}) == []
    assert codes(asked(crown)) == ["thread-unknown"]


@pytest.mark.parametrize(
    ("neck", "valve", "said"),
    [
        ("3/4", "3/4-14 NPSM", "its neck thread `3/4` names no thread"),
        ("3/4-14 NPSM", "3/4", "its valve thread `3/4` names no thread"),
        ("3/4", "3/4", "its neck thread `3/4` and valve thread `3/4` name no thread"),
    ],
)
def test_each_thread_that_names_none_is_told(neck: str, valve: str, said: str) -> None:
    fitted = BARE_VALVE.replace("yoke", f"yoke, thread: {valve}")
    (found,) = asked({"neck_thread": neck, "valve": fitted})
    assert found.text == said


@pytest.mark.parametrize(
    ("card", "said", "mend"),
    [
        (
            {"maker": None, "made": "2019-03"},
            "its alloy is not recorded, nor its maker, which may tell it",
            "read its maker off the shoulder and record that; else have the alloy identified",
        ),
        (
            {"requalified": None, "marks": None},
            "its alloy is not recorded, nor its date of making, which may tell it",
            "read its date of making off the shoulder and record that; else have the alloy identified",
        ),
        (
            {"maker": None, "requalified": None, "marks": None},
            "its alloy is not recorded, nor its maker and its date of making, which may tell it",
            "read its maker and its date of making off the shoulder and record that; "
            "else have the alloy identified",
        ),
        # one that is typed, and is no alloy known here
        (
            {"maker": None, "made": "2019-03", "alloy": "tin"},
            "its alloy is not recorded, and no watch row in force speaks of its maker and date",
            "record `alloy:` from the maker's papers, or have it identified",
        ),
    ],
)
def test_what_would_tell_an_alloy_is_named(
    card: dict[str, str | None], said: str, mend: str
) -> None:
    (found,) = [c for c in asked({"alloy": None, **card}) if c.code == "alloy-unknown"]
    assert (found.text, found.mend) == (said, mend)


def test_where_no_watch_row_tells_the_alloy_of_a_known_maker_the_papers_do() -> None:
    book = make_book({"A": with_lines(GOOD, alloy=None, made="2019-03")})
    sets = tuple(replace(s, watch=()) for s in book.rule_sets)
    (found,) = conditions(replace(book, rule_sets=sets))
    assert found.text == (
        "its alloy is not recorded, and no watch row in force speaks of its maker and date"
    )
    assert found.mend == "record `alloy:` from the maker's papers, or have it identified"


# --- back from somebody ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sent", "told"),
    [
        ("{on: 2026-11-02, to: T, for: requalification, back: 2026-11-20}", 1),
        ("{on: 2026-11-02, to: T, for: requalification, back: 2026-11-20, refitted: 2026-11-21}", 0),
        ("{on: 2026-11-02, to: T, for: requalification}", 0),
        (f"{{on: 2026-11-02, to: T, for: requalification, back: 2026-11-20, {VOID}}}", 0),
    ],
)  # fmt: skip
def test_it_is_refitted_after_a_test(sent: str, told: int) -> None:
    assert codes(asked({"sent": f"[{sent}]"})).count("not-refitted") == told


OPEN = "{on: 2026-11-18, to: B-1, back: 2026-11-20, valve: open}"
EMPTY = "{on: 2026-11-18, to: B-1, back: 2026-11-20, pressure: %s, valve: closed}"
READ_EMPTY = "at=%s; cylinder=A; act=reading; to=0 psi; by=MV"
INSIDE = "{on: %s, by: %s, checklist: %s, result: pass%s}"


@pytest.mark.parametrize(
    ("rented", "looks", "log", "told"),
    [
        (OPEN, "", "", "it came back with its valve open on 2026-11-20"),
        (EMPTY % "14 psi", "", "", "it came back empty on 2026-11-20"),
        (EMPTY % "15 psi", "", "", ""),
        (OPEN.replace("valve: open", f"valve: open, {VOID}"), "", "", ""),
        (f"{OPEN.replace('valve: open', f'valve: open, {VOID}')}, {EMPTY % '0 psi'}", "", "", "it came back empty on 2026-11-20"),
        (f"{OPEN}, {EMPTY % '0 psi'}", "", "", "it came back empty on 2026-11-20"),
        # the first that is unanswered is told, whichever kind it is
        (OPEN, "", READ_EMPTY % "2026-11-19T09:00:00+00:00", "it was read empty on 2026-11-19"),
        ("", "", READ_EMPTY % "2026-11-19T09:00:00+00:00", "it was read empty on 2026-11-19"),
        (EMPTY % "0 psi", "", READ_EMPTY % "2026-11-20T09:00:00+00:00", "it came back empty on 2026-11-20"),
        (OPEN, INSIDE % ("2026-11-20", "MV", "annual", ""), "", ""),
        (OPEN, INSIDE % ("2026-11-19", "MV", "annual", ""), "", "it came back with its valve open on 2026-11-20"),
        (OPEN, INSIDE % ("2026-11-21", "MV", "outside", ""), "", "it came back with its valve open on 2026-11-20"),
        (OPEN, INSIDE % ("2026-11-21", "ZZ", "annual", ""), "", "it came back with its valve open on 2026-11-20"),
        (OPEN, INSIDE % ("2026-11-21", "MV", "annual", f", {VOID}"), "", "it came back with its valve open on 2026-11-20"),
    ],
)  # fmt: skip
def test_what_came_back_empty_or_open_is_looked_inside(
    rented: str, looks: str, log: str, told: str
) -> None:
    card: dict[str, str | None] = {"rented": f"[{rented}]"}
    if looks:
        card["inspected"] = f"[{OLD}, {looks}]"
    found = [c for c in asked(card, log=log) if c.question is Obligation.RETURNED]
    assert [c.text.removesuffix(" and has not been looked inside since") for c in found] == (
        [told] if told else []
    )


SAYS_SO = "look inside; a look of that day that came after it says `clears: [returned 2026-11-20]`"
LOOK = "look inside: `tankbook inspect A`; by another shop: `tankbook done-elsewhere A`"
SAME_DAY = OPEN.replace("2026-11-18", "2026-11-20")


@pytest.mark.parametrize(
    ("rented", "look", "mend"),
    [
        (SAME_DAY, INSIDE % ("2026-11-20", "MV", "annual", ""), SAYS_SO),
        (SAME_DAY, INSIDE % ("2026-11-20", "MV", "outside", ""), LOOK),
        (SAME_DAY, INSIDE % ("2026-11-19", "MV", "annual", ""), LOOK),
        (SAME_DAY, INSIDE % ("2026-11", "MV", "annual", ""), SAYS_SO),
        # of some day of the month: it may have gone out on the day it came back
        (OPEN.replace("2026-11-18", "2026-11"), INSIDE % ("2026-11-20", "MV", "annual", ""), SAYS_SO),
    ],
)  # fmt: skip
def test_a_look_of_the_day_it_came_back_is_asked_to_say_so(
    rented: str, look: str, mend: str
) -> None:
    found = asked({"rented": f"[{rented}]", "inspected": f"[{OLD}, {look}]"})
    assert [c.mend for c in found if c.code == "returned-valve-open"] == [mend]


INSPECT = (
    "inspect it by a full checklist: `tankbook inspect A`; by another shop: "
    "`tankbook done-elsewhere A`"
)
HOME = "{on: 2026-11-%s, to: T, for: repair, back: 2026-11-20, refitted: 2026-11-20}"


@pytest.mark.parametrize(
    ("sent", "look", "mend"),
    [
        (HOME % "20", "2026-11-20", [SAYS_SO]),
        (HOME % "20", "2026-11-19", [INSPECT]),
        (HOME % "20", "2026-11-21", []),
        (HOME % "18", "2026-11-20", []),
        (HOME % "18", "2026-11-17", [INSPECT]),
    ],
)
def test_so_is_one_of_the_day_it_came_home(sent: str, look: str, mend: list[str]) -> None:
    looked = INSIDE % (look, "MV", "annual", "")
    found = asked({"sent": f"[{sent}]", "inspected": f"[{OLD}, {looked}]", "status": None})
    assert [c.mend for c in found if c.code == "standing-awaiting-inspection"] == mend


def test_a_look_that_came_after_one_return_is_not_asked_about_again() -> None:
    sent = f"{HOME % '20'}, {{on: 2026-11-22, to: T, for: repair, back: 2026-11-24, refitted: 2026-11-24}}"
    looks = [INSIDE % (day, "MV", "annual", "") for day in ("2026-11-20", "2026-11-21")]
    found = asked(
        {"sent": f"[{sent}]", "inspected": f"[{OLD}, {', '.join(looks)}]", "status": None}
    )
    assert [c.mend for c in found if c.code == "standing-awaiting-inspection"] == [INSPECT]


@pytest.mark.parametrize(
    ("card", "day", "doubt"),
    [
        ({"rented": f"[{SAME_DAY}]"}, 20, True),
        ({"rented": f"[{SAME_DAY}]"}, 21, False),
        ({"rented": f"[{OPEN}]"}, 20, False),
        ({"sent": f"[{HOME % '20'}]"}, 20, True),
        ({"sent": f"[{HOME % '20'}]"}, 19, False),
        ({"sent": f"[{HOME % '18'}]"}, 20, False),
        ({}, 20, False),
    ],
)
def test_whether_a_look_of_a_day_has_to_say_that_it_came_after(
    card: dict[str, str | None], day: int, doubt: bool
) -> None:
    book = make_book({"A": with_lines(GOOD, **card), "B": B})
    assert in_doubt_on(book, book.cylinders["A"], dt.date(2026, 11, day)) is doubt


def test_a_fill_that_began_with_nothing_asks_for_a_look_of_that_day() -> None:
    held = LINE % ("2026-11-18T09:00:00+00:00", "fill", "air")
    begun = LINE.replace("500", "0") % ("2026-11-20T09:00:00+00:00", "fill", "air")
    for day, told in (("2026-11-17", ["returned-empty"]), ("2026-11-20", [])):
        card = {"inspected": f"[{OLD}, {INSIDE % (day, 'MV', 'annual', '')}]"}
        found = asked(card, log=f"{held}\n{begun}")
        assert [c for c in codes(found) if c.startswith("returned")] == told


def test_what_is_still_out_has_not_come_back() -> None:
    found = asked({"rented": "[{on: 2026-11-18, to: B-1, pressure: 0 psi}]", "status": "out"})
    assert codes(found) == ["standing-out"]


def test_damage_is_told_once() -> None:
    each = "{on: 2026-11-%s, to: B-1, back: 2026-11-%s, valve: closed, damage: dent %s}"
    found = asked({"rented": f"[{each % ('01', '02', 'one')}, {each % ('03', '04', 'two')}]"})
    assert [c.text for c in found if c.code == "damage-noted"] == [
        "damage noted at return on 2026-11-02: dent one"
    ]


# --- oxygen --------------------------------------------------------------------------------------

SHARE = """
heading: Shop rules
rows:
  - {id: shop.clean, obligation: oxygen-clean, share: 21.5 %, gate: refuse, basis: practice, citation: shop, verified: memory}
"""


@pytest.mark.parametrize(
    ("gas", "rules", "needs"),
    [
        ("nitrox23", "", False),
        ("nitrox24", "", True),
        ("nitrox22", SHARE, True),
        ("air", SHARE, False),
    ],
)
def test_above_the_lowest_threshold_it_has_to_be_clean(gas: str, rules: str, needs: bool) -> None:
    found = asked({"service": "nitrox"}, gas=gas, rules=rules)
    assert ("oxygen-clean-never" in codes(found)) is needs


def test_without_a_row_the_usual_threshold_stands() -> None:
    book = make_book({"A": with_lines(GOOD, service="nitrox")})
    without = tuple(
        replace(s, rows=tuple(r for r in s.rows if r.obligation is not Obligation.OXYGEN_CLEAN))
        for s in book.rule_sets
    )
    book = replace(book, rule_sets=without)
    assert "oxygen-clean-never" in codes(conditions(book, "nitrox24"))
    assert "oxygen-clean-never" not in codes(conditions(book, "nitrox23"))


@pytest.mark.parametrize(
    ("gas", "cleaned", "told"),
    [
        ("air", "[{on: 2026-10-01, by: MV, to: oxygen}]", True),
        ("air", f"[{{on: 2026-10-01, by: MV, to: oxygen, {VOID}}}]", False),
        ("air", None, False),
        ("nitrox22", "[{on: 2026-10-01, by: MV, to: oxygen}]", False),
    ],
)
def test_ordinary_air_ends_a_clean_state_and_no_other_gas(
    gas: str, cleaned: str | None, told: bool
) -> None:
    found = asked({"service": "nitrox", "cleaned": cleaned}, gas=gas)
    assert ("ends-oxygen-clean" in codes(found)) is told


@pytest.mark.parametrize(
    ("log", "told"),
    [
        ("", []),
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "air") + "; source=B1", ["oxygen-clean-lost"]),
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "air"), ["oxygen-clean-lost"]),
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "air") + "; source=C1", []),
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "air") + "; source=C1+X1", ["oxygen-clean-lost"]),
        # what a bank of another gas gave is no air, however clean it is
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "air") + "; source=N1", ["oxygen-clean-lost"]),
        (LINE % ("2026-09-30T09:00:00+00:00", "fill", "air"), []),
        (LINE % ("2026-10-01T09:00:00+00:00", "fill", "air"), ["oxygen-clean-lost"]),
        # a mixture says by its sources
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "nitrox32") + "; source=N1", []),
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "nitrox32") + "; source= N1 + C1 ", []),
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "nitrox32") + "; source=N1+ + C1", []),
        # of what gas nobody wrote
        (LINE.replace(" gas=%s;", "") % ("2026-10-15T09:00:00+00:00", "fill") + "; source=C1", ["oxygen-clean-unsure"]),
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "nitrox32") + "; source=N1+ ", []),
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "nitrox32") + "; source=N1+B1", ["oxygen-clean-lost"]),
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "nitrox32") + "; source=N1+X1", ["oxygen-clean-unsure"]),
        # named as people name it
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "nitrox32") + "; source=bank b1", ["oxygen-clean-lost"]),
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "nitrox32") + "; source=N1, B1", ["oxygen-clean-lost"]),
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "nitrox32") + "; source=bank N1", []),
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "nitrox32") + "; source=N1, club", ["oxygen-clean-unsure"]),
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "nitrox32") + "; source=N1 and next door", ["oxygen-clean-unsure"]),
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "nitrox32") + "; source=N1/RB-014", ["oxygen-clean-unsure"]),
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "nitrox32") + "; source=N1, N9", ["oxygen-clean-unsure"]),
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "air") + "; source=compressor outlet", []),
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "air") + "; source=the other shop", ["oxygen-clean-lost"]),
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "nitrox32"), ["oxygen-clean-unsure"]),
        (LINE % ("2026-10-15T09:00:00+00:00", "fill", "oxygen"), []),
        (LINE % ("2026-10-15T09:00:00+00:00", "reading", "nitrox32"), []),
        # what is lost is told, and not what is unsure besides
        (
            LINE % ("2026-10-15T09:00:00+00:00", "fill", "nitrox32") + "\n" + LINE % ("2026-10-16T09:00:00+00:00", "fill", "air"),
            ["oxygen-clean-lost"],
        ),
    ],
)  # fmt: skip
def test_what_a_fill_does_to_a_clean_state(log: str, told: list[str]) -> None:
    found = asked(CLEAN, gas="nitrox32", log=log, station=GRADES)
    assert [c for c in codes(found) if c.startswith("oxygen-clean")] == told


ORDINARY = """
banks:
  - {name: B1, gas: air, grade: breathing, water_volume: 48 L, working_pressure: 4500 psi}
  - {name: N1, gas: nitrox32, grade: oxygen, water_volume: 48 L, working_pressure: 4500 psi}
compressor: {name: C1}
"""


@pytest.mark.parametrize("source", ["air", "N1+air", "air bank", "shop air", "O2 + plain air", "Luft aus dem Speicher"])  # fmt: skip
def test_air_that_nobody_says_more_of_is_ordinary_where_there_is_no_other(source: str) -> None:
    log = LINE % ("2026-10-15T09:00:00+00:00", "fill", "nitrox32") + f"; source={source}"
    for station, told in (
        (ORDINARY, "lost"),
        (GRADES, "unsure"),
        (ORDINARY.replace("{name: C1}", "{name: C1, grade: oxygen}"), "unsure"),
        (ORDINARY.replace("grade: breathing", "grade: oxygen"), "unsure"),
        (ORDINARY.replace("grade: breathing, ", ""), "lost"),
    ):
        found = asked(CLEAN, gas="nitrox32", log=log, station=station)
        assert [c for c in codes(found) if c.startswith("oxygen-clean")] == [f"oxygen-clean-{told}"]


@pytest.mark.parametrize("source", ["fair", "C1", "N1+C1", "O2 cart", "airport", "air of the club next door"])  # fmt: skip
def test_what_is_no_word_for_air_alone_is_not_known(source: str) -> None:
    log = LINE % ("2026-10-15T09:00:00+00:00", "fill", "nitrox32") + f"; source={source}"
    found = asked(CLEAN, gas="nitrox32", log=log, station=ORDINARY)
    assert [c for c in codes(found) if c.startswith("oxygen-clean")] == ["oxygen-clean-unsure"]


@pytest.mark.parametrize(
    ("on", "at", "fill", "told"),
    [
        ("2026-10-15", "", "09:00", True),
        ("2026-10-15", ", at: '09:00'", "09:00", True),
        ("2026-10-15", ", at: '09:01'", "09:00", False),
        ("2026-10-15", ", at: '08:59'", "09:00", True),
        ("2026-10-15", ", at: '12:00'", "09:00", False),
        ("2026-10-14", ", at: '12:00'", "09:00", True),
        ("2026-10-16", ", at: '08:00'", "09:00", False),
        ("2026-10", ", at: '12:00'", "09:00", True),  # of which day it does not say
    ],
)
def test_a_cleaning_may_say_its_hour(on: str, at: str, fill: str, told: bool) -> None:
    log = LINE % (f"2026-10-15T{fill}:00+00:00", "fill", "air") + "; source=B1"
    card = {**CLEAN, "cleaned": f"[{{on: {on}, by: CL, to: oxygen{at}}}]"}
    found = asked(card, gas="nitrox32", log=log, station=GRADES)
    assert ("oxygen-clean-lost" in codes(found)) is told


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("boot loose", False),
        ("o-ring leaks", False),
        ("new o-ring", False),
        ("hydro due", False),
        ("molykote on threads", True),
        ("packed with lithium", True),
        ("sunscreen", True),
        ("dirty", True),
        ("used for air", True),
        ("analysed 21 %", True),
        ("new valve fitted", True),
        ("valve was swapped", True),
        ("new valve fitted, oxygen-compatible", False),
    ],
)
def test_words_that_may_be_of_what_is_no_longer_clean(words: str, told: bool) -> None:
    hold = "{on: 2026-10-%s, by: MV, why: '%s', released: 2026-11-20, released_by: MV, released_why: seen}"
    for day, since in (("15", True), ("01", False)):
        for card in (
            {"held": f"[{hold % (day, words)}]"},
            {"held": f"[{(hold % (day, 'boot loose'))[:-1]}, note: '{words}'}}]"},
            {"valve": f"{{serviced: [{{on: 2026-10-{day}, by: MV, note: '{words}'}}]}}"},
        ):
            found = codes(asked({**CLEAN, **card}, gas="nitrox32", station=GRADES))
            known = {"oxygen-clean-unsure", "oxygen-clean-lost"}
            assert bool(known.intersection(found)) is (told and since), (card, found)


@pytest.mark.parametrize(
    ("by", "told"),
    [
        ("MV", ["oxygen-clean-never"]),  # whatever was filled since, it is told once
        ("CL", ["oxygen-clean-lost"]),
        ("Northside Oxygen Service", ["oxygen-clean-lost"]),  # another's certificates are not kept here
    ],
)  # fmt: skip
def test_a_cleaning_is_by_somebody_certified_where_that_is_kept(by: str, told: list[str]) -> None:
    kept = SETTINGS + "  CL: {certifications: [{skill: o2-cleaner, from: 2020-01}]}\n"
    card = {**CLEAN, "cleaned": f"[{{on: 2026-10-01, by: {by}, to: oxygen}}]"}
    log = LINE % ("2026-10-15T09:00:00+00:00", "fill", "air")
    found = asked(card, gas="nitrox32", log=log, station=GRADES, settings=kept)
    assert [c for c in codes(found) if c.startswith("oxygen-clean")] == told


def test_a_cleaning_without_initials_is_none_where_certificates_are_kept() -> None:
    kept = SETTINGS + "  CL: {certifications: [{skill: o2-cleaner, from: 2020-01}]}\n"
    card = {**CLEAN, "cleaned": "[{on: 2026-10-01, to: oxygen}]"}
    assert codes(asked(card, gas="nitrox32", settings=kept)) == ["oxygen-clean-never"]
    assert codes(asked(card, gas="nitrox32")) == []


def test_only_the_newest_cleaning_is_asked_about() -> None:
    kept = SETTINGS + "  CL: {certifications: [{skill: o2-cleaner, from: 2020-01}]}\n"
    both = "{on: 2026-09-01, by: MV, to: oxygen}, {on: 2026-10-01, by: CL, to: oxygen}"
    found = asked({**CLEAN, "cleaned": f"[{both}]"}, gas="nitrox32", settings=kept)
    assert codes(found) == []


@pytest.mark.parametrize(
    "older", ["by: nobody, to: oxygen", "by: CL, to: oxygen, note: not finished"]
)
def test_nor_is_one_before_it_asked_who_made_it_or_how_it_ended(older: str) -> None:
    both = f"{{on: 2026-09-01, {older}}}, {{on: 2026-10-01, by: CL, to: oxygen}}"
    assert codes(asked({**CLEAN, "cleaned": f"[{both}]"}, gas="nitrox32")) == []


def test_a_cleaning_that_nobody_saw_finished_is_none() -> None:
    for note in ("still wet, not yet dried and not done", "failed", "seems ok", "nobody looked"):
        card = {**CLEAN, "cleaned": f"[{{on: 2026-10-01, by: CL, to: oxygen, note: '{note}'}}]"}
        assert codes(asked(card, gas="nitrox32")) == ["oxygen-clean-never"], note


@pytest.mark.parametrize(
    ("source", "station", "mend"),
    [
        ("X1", GRADES, "give X1 a `grade:`"),
        ("the other shop", GRADES, "clean it again"),
        ("elsewhere: quay", GRADES, "clean it again"),
        ("", GRADES, "clean it again"),
        ("N1", None, "clean it again"),
    ],
)  # fmt: skip
def test_what_air_a_mixture_was_made_of_is_told_of_the_stations_own_alone(
    source: str, station: str | None, mend: str
) -> None:
    log = LINE % ("2026-10-15T09:00:00+00:00", "fill", "nitrox32") + f"; source={source}"
    found = asked(CLEAN, gas="nitrox32", log=log, station=station)
    (unsure,) = [c for c in found if c.code == "oxygen-clean-unsure"]
    assert unsure.mend.startswith(mend)


@pytest.mark.parametrize(
    ("service", "gas", "told"),
    [("nitrox", "oxygen", True), ("air", "oxygen", False), ("air", "nitrox32", False)],
)
def test_the_oxygen_of_a_blend_is_told_how_it_is_logged(service: str, gas: str, told: bool) -> None:
    found = asked({"service": service}, gas=gas)
    (mend,) = [c.mend for c in found if c.code == "gas-not-for-service"]
    assert mend.startswith("a blend is logged as one fill") is told


@pytest.mark.parametrize(
    ("gas", "told"),
    [("helium", True), ("nitrox1", False), ("trimix1/50", False)],
)
def test_what_holds_no_oxygen_is_no_gas_to_breathe(gas: str, told: bool) -> None:
    said = [c.text for c in asked(CLEAN, gas=gas) if c.code == "gas-not-for-service"]
    assert said == [f"{Gas.parse(gas)} holds no oxygen: nobody can breathe it"] * told


@pytest.mark.parametrize(("isolator", "told"), [("open", ["oxygen-clean-lost"]), ("shut", [])])
def test_what_went_through_an_open_isolator_spoils_the_other_side(
    isolator: str, told: list[str]
) -> None:
    log = (LINE % ("2026-10-15T09:00:00+00:00", "fill", "air")).replace("=A;", "=B;")
    sets = {"D": f"cylinders: [A, B]\nisolator: {isolator}\n"}
    found = asked(CLEAN, gas="nitrox32", log=log, station=GRADES, sets=sets)
    assert [c for c in codes(found) if c.startswith("oxygen-clean")] == told


def test_a_cleaning_of_a_month_counts_from_its_first_day() -> None:
    card = {**CLEAN, "cleaned": "[{on: 2026-10, by: MV, to: oxygen}]"}
    log = LINE % ("2026-10-15T09:00:00+00:00", "fill", "air")
    assert "oxygen-clean-lost" in codes(asked(card, gas="nitrox32", log=log, station=GRADES))


def test_a_compressor_without_a_name_has_no_grade() -> None:
    log = LINE % ("2026-10-15T09:00:00+00:00", "fill", "air") + "; source=C1"
    station = GRADES.replace("{name: C1, grade: oxygen}", "{grade: oxygen}")
    assert "oxygen-clean-lost" in codes(asked(CLEAN, gas="nitrox32", log=log, station=station))


def test_a_fill_of_nothing_that_is_named_is_ordinary_air() -> None:
    line = "at=2026-10-15T09:00:00+00:00; cylinder=A; act=%s; from=500 psi; to=2900 psi; by=MV"
    for act, ordinary in (("fill", True), ("reading", False)):
        book = make_book({"A": GOOD}, log=line % act)
        assert ordinary_air(book, book.log[0]) is ordinary


# --- marks ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("specification", "needs", "said"),
    [
        ("[DOT-3AL]", ("DOT", "TC"), ""),
        ("[BS 5045]", ("DOT", "TC"), "it carries none of the marks DOT, TC (BS-5045)"),
        ("[DOT-3AL, UN ISO 7866]", ("UN",), ""),
        ("[DOT-3AL]", ("any",), ""),
        (None, ("any",), "its specification is not recorded"),
        (None, ("DOT",), "it carries none of the marks DOT (no specification)"),
    ],
)
def test_a_mark_that_is_asked_for(
    specification: str | None, needs: tuple[str, ...], said: str
) -> None:
    book = make_book({"A": with_lines(GOOD, specification=specification)})
    rules = rules_of(book)
    row = replace(rules.rows[Obligation.MARK_REQUIRED][0], needs=needs)
    assert missing_mark(facts_of(book.cylinders["A"], rules), row) == said


@pytest.mark.parametrize(
    ("specification", "mark"),
    [("dot 3al", "DOT"), ("UN ISO 7866", "UN"), ("UN EN 1975", "UN"), ("UN 1002", ""), ("CTC-3AA", "TC")],
)  # fmt: skip
def test_the_family_of_a_mark(specification: str, mark: str) -> None:
    assert family(specification) == mark


@pytest.mark.parametrize(
    ("holds", "wanted", "differ"),
    [("air", "air", False), ("nitrox32", "nitrox32", False), ("nitrox32", "air", True), ("air", "nitrox32", True)],
)  # fmt: skip
def test_what_it_holds_is_what_is_wanted(holds: str, wanted: str, differ: bool) -> None:
    log = LINE % ("2026-11-15T09:00:00+00:00", "fill", holds) + "; source=N1"
    found = asked(CLEAN, gas=wanted, log=log, station=GRADES)
    assert ("contents-differ" in codes(found)) is differ


FILLED_OCT = LINE % ("2026-10-20T09:00:00+00:00", "fill", "air")
WATER = "{on: %s, method: hydrostatic, by: T123, stamp: 11 T123 26%s}"
FIRST = "{on: 2024-03, method: hydrostatic, by: maker}"
BY_WATER = "it was tested with water on 2026-11-05 and has not been looked inside since"


@pytest.mark.parametrize(
    ("log", "test", "more", "asks"),
    [
        (FILLED_OCT, WATER % ("2026-11-05", ""), {}, True),
        (FILLED_OCT, WATER % ("2026-11-05", ", checked: [outside]"), {}, True),
        (FILLED_OCT, WATER.replace("hydrostatic", "ultrasonic") % ("2026-11-05", ""), {}, False),
        # where whoever tested looked inside, or somebody did since
        (FILLED_OCT, WATER % ("2026-11-05", ", checked: [inside, outside]"), {}, False),
        (FILLED_OCT, WATER % ("2026-11-05", ""), {"inspected": f"[{OLD}, {OLD.replace('02-09', '11-05')}]"}, False),
        (FILLED_OCT, WATER % ("2026-11-05", ""), {"inspected": f"[{OLD}, {OLD.replace('02-09', '11-09')}]"}, False),
        # it was not kept here before, or was filled since, or went away for it, or is a customer's
        ("", WATER % ("2026-11-05", ""), {}, False),
        (FILLED_OCT.replace("10-20", "11-20"), WATER % ("2026-11-05", ""), {}, False),
        (FILLED_OCT + "\n" + FILLED_OCT.replace("10-20", "11-20"), WATER % ("2026-11-05", ""), {}, False),
        (FILLED_OCT, WATER % ("2026-11-05", ""), {"use": "customer", "owner": "C-1"}, False),
    ],
)  # fmt: skip
def test_what_was_tested_with_water_while_it_was_kept_here_is_looked_inside(
    log: str, test: str, more: dict[str, str], asks: bool
) -> None:
    card = {"requalified": f"[{FIRST}, {test}]", "inspected": f"[{OLD}]", **more}
    told = [each.text for each in asked(card, log=log) if each.code == "returned-empty"]
    assert told == ([BY_WATER] if asks else [])


@pytest.mark.parametrize(
    ("source", "gas", "state"),
    [
        ("O1+B1", "nitrox32", "lost"),
        ("O1+C1", "nitrox32", None),  # the compressor's air is of oxygen grade
        ("O1+X1", "nitrox32", "lost"),  # nobody says how clean its air is
        ("N1+B1", "nitrox28", "ordinary-air"),
        ("B1", "nitrox32", "ordinary-air"),
    ],
)
def test_oxygen_is_topped_with_no_ordinary_air(source: str, gas: str, state: str | None) -> None:
    """As a blend of it is refused."""
    assert of_a_fill(source, gas, "") == ({state} if state else set())


@pytest.mark.parametrize(
    ("held", "source", "gas", "state"),
    [
        ("oxygen", "B1", "nitrox60", "lost"),
        ("oxygen", "X1", "nitrox60", "lost"),
        ("oxygen", "elsewhere: Quay", "nitrox60", "lost"),
        ("nitrox50", "B1", "nitrox32", "lost"),
        ("nitrox50", "C1", "nitrox32", None),
        ("nitrox50", "N1", "nitrox40", None),
        ("nitrox50", "B1", "nitrox50", "ordinary-air"),  # topped with the same, by its name
        ("nitrox32", "B1", "nitrox28", "ordinary-air"),  # and so is every day's rest of nitrox
    ],
)
def test_what_stands_in_it_rich_in_oxygen_is_topped_with_no_ordinary_air(
    held: str, source: str, gas: str, state: str | None
) -> None:
    log = f"at=2026-11-24T09:00:00+00:00; cylinder=A; act=fill; to=800 psi; gas={held}; source=N1"
    assert of_a_fill(source, gas, f"{log}; by=MV") == ({state} if state else set())


@pytest.mark.parametrize(
    ("source", "card", "state"),
    [
        ("O1", {}, "never"),
        ("O1+B1", {}, "never"),
        ("O1+B1", {"service": "air"}, "never"),
        ("B1", {}, None),
        ("N1", {}, None),  # nitrox of a bank is no pure oxygen
    ],
)
def test_no_pure_oxygen_is_blended_into_what_is_not_clean(
    source: str, card: dict[str, str], state: str | None
) -> None:
    """Whatever it is called, and however little it is."""
    told = of_a_fill(source, "air", "", card)
    assert told == ({state} if state else set())


def of_a_fill(source: str, gas: str, log: str, card: dict[str, str] = CLEAN) -> set[str]:
    """What state a fill of a cylinder comes to; of one that is kept clean, if not said."""
    grades = GRADES.replace("banks:\n", "banks:\n  - {name: O1, water_volume: 50 L, gas: oxygen}\n")
    grades = grades.replace("gas: oxygen}", "gas: oxygen, grade: oxygen}")
    book = make_book({"A": with_lines(GOOD, **card), "B": B}, station=STATION + grades, log=log)
    line = with_source(source, gas)
    return {each.state for each in of_source(book, book.cylinders["A"], line)}
