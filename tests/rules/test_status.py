"""Where a cylinder stands, by what happened to it and the rules in force."""

from __future__ import annotations

import pytest
from books import GOOD, SETTINGS, STATION, TODAY, make_book, with_lines

from tankbook.rules.clearing import open_inspection, open_test
from tankbook.rules.gate import may_fill
from tankbook.rules.signing import bench_of
from tankbook.rules.status import worked_out

UK = SETTINGS.replace("us-dot", "uk").replace("units: psi", "units: bar")


@pytest.mark.parametrize(
    ("settings", "test", "status"),
    [
        (UK, "{on: 2026-03, method: hydrostatic, by: UK12}", "in-service"),
        (UK, "{on: 2026-03, method: visual, by: UK12}", "in-service"),
        (UK, "{on: 2026-03, method: hydrostatic, by: maker}", "awaiting-inspection"),
        (UK, "{on: 2026-03, method: hydrostatic, by: UK12, result: fail}", "awaiting-inspection"),
        # where a test is no look, one is asked for
        (SETTINGS, "{on: 2026-03, method: hydrostatic, by: T123}", "awaiting-inspection"),
        (SETTINGS, "{on: 2026-03, method: visual, by: T123}", "in-service"),
    ],
)
def test_the_test_of_a_test_house_is_a_look_where_the_rules_count_it(
    settings: str, test: str, status: str
) -> None:
    first = "{on: 2020-03, method: hydrostatic, by: maker}"
    card = with_lines(GOOD, requalified=f"[{first}, {test}]", inspected=None, status=None)
    book = make_book({"A": card}, settings=settings)
    assert worked_out(book, book.cylinders["A"]) == status


CLEARED = "{on: 2026-11-20, by: MV, checklist: annual, result: pass, clears: [rejected 2026-11-01]}"
BY_LOOK = "a pressure test, a test house's visual, or an inspection as full"
BY_TEST = "a requalifier decides: a pressure test"
SAYS = " that passes and says `clears: [rejected 2026-11-01]`"
LIFT = "`tankbook release A --why WHY`"
IN_WORDS = ", and `finding:` in plain words alone "
REST = "; the rest goes in `note:`"
FAILED = "[{on: 2026-11-01, method: hydrostatic, by: T123, result: fail}]"


@pytest.mark.parametrize(
    ("why", "changes", "mend"),
    [
        ("line corrosion", {}, f"{BY_LOOK}{SAYS}; then {LIFT}"),
        ("failed its hydro", {}, f"{BY_TEST}{SAYS}; then {LIFT}"),
        ("did not pass", {"requalified": FAILED}, f"{BY_TEST}{SAYS}; then {LIFT}"),
        ("crack in the neck", {},
         f"{BY_TEST}{SAYS}{IN_WORDS}such as `no crack` or `a tool mark`{REST}; then {LIFT}"),
        ("bulged", {}, f"{BY_TEST}{SAYS}{IN_WORDS}that it passed{REST}; then {LIFT}"),
        ("over-heated in a fire", {},
         f"{BY_TEST}{SAYS}{IN_WORDS}as `no heat damage`{REST}; then {LIFT}"),
        ("over-heated in a fire", {"material": "steel", "alloy": None},
         f"{BY_TEST}{SAYS}{IN_WORDS}that it passed{REST}; then {LIFT}"),
        ("fire, and a crack in the neck", {},
         f"{BY_TEST}{SAYS}{IN_WORDS}of each, as `no crack, no heat damage`{REST}; then {LIFT}"),
        ("line corrosion", {"inspected": f"[{CLEARED}]"},
         f"its rejection of 2026-11-01 is answered: {LIFT} lifts it"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("lost", [None, "[{on: 2026-11-02, by: MV}]"])
def test_a_rejection_says_what_lifts_it(
    why: str, changes: dict[str, str | None], mend: str, lost: str | None
) -> None:
    rejected = f"[{{on: 2026-11-01, by: MV, why: '{why}'}}]"
    card = with_lines(GOOD, rejected=rejected, lost=lost, status=None, **changes)
    answer = may_fill(make_book({"A": card}, station=STATION), "A", TODAY)
    (found,) = [r for r in answer.refusals if r.code == "standing-rejected"]
    assert found.mend == mend


TESTED = "[{{on: 2020-03, method: hydrostatic, by: maker}}, {{on: 2026-11-20, method: {}, by: T123, clears: [rejected 2026-11-01]{}}}]"


@pytest.mark.parametrize(
    ("why", "material", "method", "finding", "answered"),
    [
        ("line corrosion", "aluminium", "hydrostatic", "", True),
        ("line corrosion", "aluminium", "visual", "", True),
        ("line corrosion", "aluminium", "eddy-current", "", False),
        ("line corrosion", "aluminium", "visual, note: outside only", "", False),
        ("line corrosion", "aluminium", "visual, note: certificate 4711", "", True),
        ("line corrosion", "aluminium", "visual, note: 'inside and outside, no defects'", "", True),
        ("line corrosion", "aluminium", "visual, note: neck not seen", "", False),
        ("line corrosion", "aluminium", "visual", "outside only", False),
        ("failed its hydro", "aluminium", "visual", "", False),
        ("crack in the neck", "aluminium", "hydrostatic", "", False),
        ("crack in the neck", "aluminium", "hydrostatic", "no crack", True),
        ("crack in the neck", "aluminium", "visual", "no crack", False),
        ("bulged", "aluminium", "hydrostatic", "", False),
        ("bulged", "aluminium", "hydrostatic", "passed", True),
        # of what is no steel the finding speaks of the heat
        ("over-heated in a fire", "aluminium", "hydrostatic", "passed", False),
        ("over-heated in a fire", "aluminium", "hydrostatic", "sound", False),
        ("over-heated in a fire", "aluminium", "hydrostatic", "passed, no heat damage", True),
        ("over-heated in a fire", "steel", "hydrostatic", "", False),
        # each of several is let go
        ("over-heated in a fire, crack in neck", "aluminium", "hydrostatic", "passed", False),
        ("crack in neck; was in a fire", "aluminium", "hydrostatic", "no crack", False),
        ("heat and bulge", "aluminium", "hydrostatic", "passed", False),
        ("bulged and over-heated", "aluminium", "hydrostatic", "no bulge, no heat damage", True),
        ("suspected crack and bulge", "steel", "hydrostatic", "no crack", False),
        ("suspected crack and bulge", "steel", "hydrostatic", "no crack, no bulge", True),
        ("over-heated in a fire", "steel", "hydrostatic", "passed", True),
    ],
)
def test_what_a_mend_of_a_rejection_asks_for_answers_it(
    why: str, material: str, method: str, finding: str, answered: bool
) -> None:
    said = f", finding: '{finding}'" if finding else ""
    card = with_lines(
        GOOD,
        rejected=f"[{{on: 2026-11-01, by: MV, why: '{why}'}}]",
        requalified=TESTED.format(method, said),
        material=material,
        alloy="'6061'" if material == "aluminium" else None,
        status=None,
    )
    book = make_book({"A": card}, station=STATION)
    (found,) = [r for r in may_fill(book, "A", TODAY).refusals if r.code == "standing-rejected"]
    assert (found.mend == f"its rejection of 2026-11-01 is answered: {LIFT} lifts it") is answered


@pytest.mark.parametrize("where", ["note", "finding"])
@pytest.mark.parametrize(
    ("note", "finding", "open_"),
    [("", "", False), ("fire damage", "", True), ("fire damage", "passed", True),
     ("fire damage", "passed, no heat damage", False), ("crack in the thread", "", True),
     ("crack in the thread", "no crack", False)],
)  # fmt: skip
def test_what_a_failed_test_says_of_fire_or_a_crack_is_answered_in_words(
    note: str, finding: str, open_: bool, where: str
) -> None:
    told = f", {where}: {note}" if note else ""
    said = f", finding: '{finding}'" if finding else ""
    tests = (
        f"[{{on: 2026-10-01, method: hydrostatic, by: T123, result: fail{told}}}, {{on: 2026-11-20,"
        f" method: hydrostatic, by: T123, clears: [requalified 2026-10-01]{said}}}]"
    )
    card = with_lines(GOOD, requalified=tests, status=None)
    book = make_book({"A": card}, station=STATION)
    assert (open_test(bench_of(book), book.cylinders["A"]) is not None) is open_


@pytest.mark.parametrize(
    ("what", "method", "finding", "answered"),
    [
        ("pits", "visual", "", True),
        ("suspected-crack", "visual", "passed", False),
        ("suspected-crack", "eddy-current", "no crack", True),
        ("heat", "visual", "no heat damage", False),
        ("bulge", "visual", "passed", False),
    ],
)
def test_a_test_houses_look_answers_what_a_full_look_does(
    what: str, method: str, finding: str, answered: bool
) -> None:
    said = f", finding: {finding}" if finding else ""
    look = (
        "[{on: 2026-10-01, by: MV, checklist: annual, result: hold, findings: [{step: inside,"
        f" result: hold, what: {what}}}]}}]"
    )
    tests = (
        f"[{{on: 2026-11-20, method: {method}, by: T123, clears: [inspected 2026-10-01]{said}}}]"
    )
    card = with_lines(GOOD, requalified=tests, inspected=look, status=None, material="steel")
    book = make_book({"A": card}, station=STATION)
    assert (open_inspection(bench_of(book), book.cylinders["A"]) is None) is answered


@pytest.mark.parametrize(
    ("method", "finding", "note", "answered"),
    [
        ("hydrostatic", "passed", "", True),
        ("eddy-current", "no crack", "", True),
        ("visual", "no crack", "", True),
        ("visual", "passed", "", False),
        ("visual", "no crack", "outside only", False),
        ("visual", "'no crack, only a scratch'", "", True),
    ],
)
def test_a_look_says_of_a_crack_what_it_found(
    method: str, finding: str, note: str, answered: bool
) -> None:
    more = f", note: {note}" if note else ""
    card = with_lines(
        GOOD,
        held="[{on: 2026-10-01, by: MV, why: crack in the neck, released: 2026-11-21, released_by: MV, released_why: looked at}]",
        requalified=f"[{{on: 2024-03, method: hydrostatic, by: T123}}, {{on: 2026-11-20, method: {method}, by: T123, clears: [held 2026-10-01], finding: {finding}{more}}}]",
        status=None,
    )
    answer = may_fill(make_book({"A": card}, station=STATION), "A", TODAY)
    assert ("suspected-crack" not in {r.code for r in answer.refusals}) is answered


@pytest.mark.parametrize(
    ("said", "later", "answered"),
    [
        ("pits", "visual", True),
        ("pits", "visual, note: outside only", False),
        ("wall too thin", "visual", False),
        ("wall too thin", "hydrostatic", True),
        ("bulged", "visual, finding: passed", False),
        ("bulged", "hydrostatic, finding: passed", True),
    ],
)
def test_a_failed_look_is_answered_by_a_whole_one(said: str, later: str, answered: bool) -> None:
    tests = f"[{{on: 2026-10-01, method: visual, by: T123, result: fail, note: {said}}}, {{on: 2026-11-20, by: T123, clears: [requalified 2026-10-01], method: {later}}}]"
    book = make_book({"A": with_lines(GOOD, requalified=tests, status=None)}, station=STATION)
    assert (open_test(bench_of(book), book.cylinders["A"]) is None) is answered


HOME = "[{on: 2026-10-05, by: MV, to: Northside Test House, for: requalification, back: 2026-10-20, refitted: 2026-10-20, refitted_by: Northside}]"  # fmt: skip
OTHERS = "on: 2026-10, by: Northside T123, checklist: sticker-seen, result: pass"
FULLY = f"{OTHERS}, checked: [inside, outside], seen_by: MV, seen_on: 2026-10-20"
OWN_ROW = """
heading: Club rules
rows:
  - {id: club.look, obligation: visual, period: 12 months, met_by: [inspection], gate: refuse,
     basis: practice, citation: club, verified: memory}
"""


@pytest.mark.parametrize(
    ("look", "rules", "status"),
    [
        (FULLY, "", "in-service"),
        (OTHERS, "", "awaiting-inspection"),
        (FULLY.replace("outside", "threads"), "", "awaiting-inspection"),
        (FULLY.replace("by: Northside T123", "by: MV"), "", "awaiting-inspection"),
        (FULLY.replace("by: Northside T123, ", ""), "", "awaiting-inspection"),
        (FULLY.replace("seen_by: MV, ", ""), "", "awaiting-inspection"),
        (FULLY.replace(", seen_on: 2026-10-20", ""), "", "awaiting-inspection"),
        (FULLY.replace("seen_on: 2026-10-20", "seen_on: 2026-10-05"), "", "awaiting-inspection"),
        (FULLY.replace("on: 2026-10,", "on: 2026-11,"), "", "awaiting-inspection"),  # seen before
        (FULLY.replace("pass", "reject"), "", "awaiting-inspection"),
        (FULLY.replace("pass", "hold"), "", "awaiting-inspection"),
        (FULLY.replace("sticker-seen", "annual"), "", "awaiting-inspection"),
        (f"{FULLY}, void: {{why: wrong, by: MV, on: 2026-10-21}}", "", "awaiting-inspection"),
        (f"{FULLY}, note: threads not looked at", "", "awaiting-inspection"),
        # a place that asks for a look of its own goes on asking
        (FULLY, OWN_ROW, "awaiting-inspection"),
        (FULLY, OWN_ROW.replace("[inspection]", "[inspection, sticker]"), "in-service"),
    ],
)
def test_a_look_elsewhere_brings_it_home_where_the_rows_let_it(
    look: str, rules: str, status: str
) -> None:
    old = "{on: 2025-12-09, by: MV, checklist: annual, result: pass}"
    card = with_lines(GOOD, inspected=f"[{old}, {{{look}}}]", sent=HOME, status=None)
    book = make_book({"A": card}, own_rules=rules)
    assert worked_out(book, book.cylinders["A"]) == status
