"""What answers an entry that tells against a cylinder, asked of the judge itself.

Words and orders are invented; what may let go is the shop practice that docs/safety.md promises.
"""

from __future__ import annotations

import pytest
from books import GOOD, SETTINGS, make_book, typed, with_lines

from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Requalified
from tankbook.records.kinds import Adverse
from tankbook.rules.clearing import (
    day_wanted,
    is_of_the_outside,
    names,
    open_damage,
    open_findings,
    open_inspection,
    open_tests,
    rejection_answered,
)
from tankbook.rules.signing import SigningRules, bench_of
from tankbook.units import PartialDate

PEOPLE = SETTINGS.replace("people:", "people:\n  TO: {role: bench}")
FIRST = "{on: 2024-03, method: hydrostatic, by: maker}"
PASSED = "{on: 2026-02-09, by: MV, checklist: annual, result: pass, sticker: issued}"
VOID = ", void: {why: wrong card, by: MV, on: 2026-07-02}"


def asked(**lines: str | None) -> tuple[SigningRules, Cylinder]:
    """A card and what weighs it; `tests` and `looks` stand behind its first ones."""
    tests, looks = lines.pop("tests", None), lines.pop("looks", None)
    listed = {
        "requalified": f"[{FIRST}{', ' if tests else ''}{tests or ''}]",
        "inspected": f"[{PASSED}{', ' if looks else ''}{looks or ''}]",
    }
    book = make_book({"A": with_lines(GOOD, **{**listed, **lines})}, settings=PEOPLE)
    return bench_of(book), book.cylinders["A"]


def look(on: str, result: str = "pass", *, by: str = "MV", checklist: str = "annual", more: str = "") -> str:  # fmt: skip
    return f"{{on: {on}, by: {by}, checklist: {checklist}, result: {result}{more}}}"


def house_test(on: str, *, method: str = "hydrostatic", by: str = "T123", result: str = "pass", more: str = "") -> str:  # fmt: skip
    return f"{{on: {on}, method: {method}, by: {by}, result: {result}{more}}}"


def clears(*what: str) -> str:
    return f", clears: [{', '.join(what)}]"


# --- naming --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("said", "on", "others", "named"),
    [
        ("held 2026-05-04", "2026-05-04", [], True),
        ("held 2026-05-04", "2026-05-04", ["2026-05-04", "2026-05-20"], True),
        ("held 2026-05-05", "2026-05-04", [], False),
        ("rejected 2026-05-04", "2026-05-04", [], False),
        ("held 2026-05", "2026-05-04", ["2026-05-04"], True),
        ("held 2026-05", "2026-05-04", ["2026-05-04", "2026-06-20"], True),
        # a month that can mean two of them
        ("held 2026-05", "2026-05-04", ["2026-05-04", "2026-05-20"], False),
        ("held 2026-06", "2026-05-04", ["2026-05-04"], False),
    ],
)
def test_a_month_names_what_it_can_mean_alone(
    said: str, on: str, others: list[str], named: bool
) -> None:
    entry = typed(Requalified, f"{{on: 2026-07, method: hydrostatic, by: T123, clears: [{said}]}}")
    days = [PartialDate.parse(o) for o in others]
    assert names(entry, Adverse.HELD, PartialDate.parse(on), days) is named


# --- what a look left out ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("method", "note", "finding", "left_out"),
    [
        ("visual", "", "", False),
        ("visual", "outside only", "", True),
        ("visual", "", "OUTSIDE ONLY", True),
        ("visual", "Valve Left In", "", True),
        ("visual", "internal, external", "", False),
        ("visual", "external", "internal ok", False),
        ("visual", "external, inside not seen", "internal", True),
        ("visual", "external, valve left in", "internal", True),
        ("visual", "outside, external", "", True),
        *(
            ("visual", note, "", True)
            for note in (
                "no internal inspection",
                "inside not checked",
                "interior not examined",
                "did not look inside",
                "valve not taken out",
                "valve seized, not opened",
                "could not get the valve out",
                "only externally inspected",
                "external inspection only",
                "visual external only",
                "outside looked at only",
                "Ventil nicht ausgebaut",
                "innen nicht geprüft",
                "ohne Innenbesichtigung",
                "nur Sichtprüfung außen",
                "nur außen",
                "extérieur seulement",
                "intérieur non vu",
                "robinet non démonté",
                "solo exterior",
                "sin ver interior",
                "solo esterno",
                "interno non visto",
                "alleen buitenkant",
                "binnenkant niet bekeken",
                "only looked at from outside",
                "inspected externally",
                "valve left fitted",
                "with valve in",
                "without removing the valve",
                "threads skipped",
                "could not remove valve",
                "internal omitted",
                "threads not checked",
                "except inside",
                "partial inspection",
                "not fully inspected",
                "from photographs",
                "nur aussen geprüft",
                "ohne Ventilausbau",
                "innen nicht besichtigt",
            )
        ),
        *(
            ("visual", note, "", False)
            for note in (
                "valve not removed by owner; removed here",
                "never seen salt",
                "nothing else seen",
                "rust not seen",
                "corrosion was not seen",
                "no cracks, damage not seen",
                "external, inside and out clean",
                "new valve, old one not reused",
                "valve stuck, freed",
                "Ventil saß fest, gelöst",
                "sticker not removed",
                "valve fitted",
                "new valve fitted",
                "valve on",
                "complete",
            )
        ),
        ("visual", "inside inaccessible, outside", "", True),
        *(
            ("visual", note, "", False)
            for note in (
                "external inspection: pass; internal inspection: pass",
                "from outside: scratches; inside clean",
                "nur außen: Kratzer; innen sauber",
                "extérieur: rayures; intérieur: propre",
                "sólo exterior: rayas; interior: limpio",
                "outside: fine. insides clean",
                "exterior, bore clean",
                "außen, innenwand sauber",
                "no borescope, used a lamp and mirror",
                "with valve in: leak test; then valve out and inside clean",
                "not removed: boot ring stain",
                "not visible, not deep",
                "incomplete: label; replaced",
            )
        ),
        ("visual", "scratches outside only", "", False),
        ("hydrostatic", "outside only", "", False),
        ("eddy-current", "neck only", "", False),
    ],
)
def test_what_a_look_left_out(method: str, note: str, finding: str, left_out: bool) -> None:
    said = f"{{on: 2026-07, method: {method}, by: T123, note: '{note}', finding: '{finding}'}}"
    said = said.replace(", note: ''", "").replace(", finding: ''", "")
    assert is_of_the_outside(typed(Requalified, said)) is left_out


# --- findings, holds and returns -----------------------------------------------------------------


def open_of(rented: str = "", **lines: str | None) -> list[tuple[str, str]]:
    if rented:
        lines["rented"] = rented
    bench, card = asked(**lines)
    return [(each.what.value, state) for each, state in open_findings(bench, card, card.rented)]


def suspected(more: str = "", step: str = "neck-cracks", what: str = "what: suspected-crack, ") -> str:  # fmt: skip
    return f", findings: [{{step: {step}, result: hold, {what}note: line at thread 2}}]{more}"


HOT = ", findings: [{step: heat, result: hold, what: heat}]"
GOOD_FINDING = ", finding: no crack"
HELD = "[{on: 2026-05-04, by: MV, why: %s, released: 2026-05-20, released_by: MV, note: let go}]"
BACK = "[{on: 2026-05-02, to: B-1, until: 2026-05-04, back: 2026-05-04, pressure: 500 psi, valve: closed, damage: %s%s}]"


@pytest.mark.parametrize(
    ("lines", "left"),
    [
        ({"looks": look("2026-05-04", "hold", more=suspected())}, ["suspected"]),
        ({"looks": look("2026-05-04", "hold", more=suspected(VOID))}, []),
        ({"looks": look("2026-05-04", "hold", more=suspected()), "tests": house_test("2026-06-01", more=GOOD_FINDING + clears("inspected 2026-05-04"))}, ["suspected"]),
        ({"looks": look("2026-05-04", "hold", more=suspected()), "tests": house_test("2026-06-01", more=GOOD_FINDING + clears("suspected-crack 2026-05-04"))}, []),
        ({"looks": look("2026-05-04", "hold", more=suspected()), "tests": house_test("2026-06-01", more=GOOD_FINDING + clears("suspected-crack 2026-05-05"))}, ["suspected"]),
        ({"looks": look("2026-05-04", "hold", more=suspected()), "tests": house_test("2026-06-01", more=GOOD_FINDING + clears("heat 2026-05-04"))}, ["suspected"]),
        ({"looks": look("2026-05-04", "hold", more=suspected()), "tests": house_test("2026-06-01", more=GOOD_FINDING + clears("suspected-crack 2026-05-04") + VOID)}, ["suspected"]),
        ({"looks": look("2026-05-04", "hold", more=suspected()), "tests": house_test("2026-06-01", more=clears("suspected-crack 2026-05-04"))}, ["suspected"]),
        # a visual says of it what it looked for
        ({"looks": look("2026-05-04", "hold", more=suspected()), "tests": house_test("2026-06-01", method="visual", more=GOOD_FINDING + clears("suspected-crack 2026-05-04"))}, []),
        ({"looks": look("2026-05-04", "hold", more=suspected()), "tests": house_test("2026-06-01", method="visual", more=", finding: passed" + clears("suspected-crack 2026-05-04"))}, ["suspected"]),
        ({"looks": look("2026-05-04", "hold", more=suspected()), "tests": house_test("2026-06-01", method="visual", more=clears("suspected-crack 2026-05-04"))}, ["suspected"]),
        ({"looks": look("2026-05-04", "hold", more=suspected()), "tests": house_test("2026-06-01", method="visual", more=GOOD_FINDING + ", note: outside only" + clears("suspected-crack 2026-05-04"))}, ["suspected"]),
        # two of one month, and a month that may mean either
        ({"looks": f"{look('2026-05-04', 'hold', more=suspected())}, {look('2026-05-20', 'hold', more=suspected())}", "tests": house_test("2026-06-01", more=GOOD_FINDING + clears("suspected-crack 2026-05"))}, ["suspected", "suspected"]),
        # by the step that looks for cracks
        ({"looks": look("2026-05-04", "hold", more=suspected(what="", step="neck-cracks"))}, ["suspected"]),
        ({"looks": look("2026-05-04", "hold", more=suspected(what="", step="Neck-CRACKS"))}, ["suspected"]),
        ({"looks": look("2026-05-04", more=", findings: [{step: neck-cracks, result: pass, note: line at thread 2}]")}, []),
        ({"looks": look("2026-05-04", more=", findings: [{step: neck-cracks, result: note, note: no crack}]")}, []),
        ({"looks": look("2026-05-04", more=", findings: [{step: neck-cracks, result: note, note: line at thread 2}]")}, ["suspected"]),
        ({"looks": look("2026-05-04", more=", findings: [{step: neck-cracks, result: note}]")}, []),
        ({"looks": look("2026-05-04", "reject", more=", findings: [{step: neck-cracks, result: reject, note: no crack}]")}, ["cracked"]),
        ({"looks": look("2026-05-04", "hold", more=suspected(what="", step="neck-threads"))}, []),
        # heat
        ({"material": "steel", "alloy": None, "looks": look("2026-05-04", "hold", more=HOT)}, ["over-heated-steel"]),
        ({"material": "steel", "alloy": None, "looks": look("2026-05-04", "hold", more=HOT), "tests": house_test("2026-06-01", more=", finding: passed" + clears("heat 2026-05-04"))}, []),
        ({"material": "steel", "alloy": None, "looks": look("2026-05-04", "hold", more=HOT), "tests": house_test("2026-06-01", method="eddy-current", more=", finding: passed" + clears("heat 2026-05-04"))}, ["over-heated-steel"]),
        # of an alloy that heat has softened a test that passed says nothing
        ({"held": HELD % "was in a fire", "tests": house_test("2026-06-01", more=", finding: passed" + clears("held 2026-05-04"))}, ["heat-said"]),
        ({"held": HELD % "bulged at the foot", "tests": house_test("2026-06-01", more=", finding: passed" + clears("held 2026-05-04"))}, []),
        ({"material": "steel", "alloy": None, "held": HELD % "was in a fire", "tests": house_test("2026-06-01", more=", finding: passed" + clears("held 2026-05-04"))}, []),
        ({"material": "steel", "alloy": None, "held": HELD % "was in a fire", "tests": house_test("2026-06-01", more=", finding: no heat damage" + clears("held 2026-05-04"))}, []),
        ({"held": HELD % "crack in the neck", "tests": house_test("2026-06-01", more=", finding: passed" + clears("held 2026-05-04"))}, []),
        ({"held": HELD % "label lost"}, []),
        ({"held": HELD % "EC failed"}, ["test-said"]),
        ({"held": HELD % "they've failed to fill it"}, []),
        # what may give way
        ({"held": HELD % "neck leaks"}, ["giving-way-said"]),
        ({"held": HELD % "'hydro failed, neck bent'"}, ["test-said"]),
        ({"held": HELD % "isolator leaks"}, []),
        ({"held": "[{on: 2026-05-04, by: MV, why: neck leaks}]"}, []),
        ({"held": HELD % "neck bent", "looks": look("2026-06-01")}, []),
        ({"held": HELD % "neck bent", "looks": look("2026-06-01", checklist="outside", more=clears("held 2026-05-04"))}, ["giving-way-said"]),
        ({"held": HELD % "neck bent", "looks": look("2026-06-01", by="KX")}, ["giving-way-said"]),
        ({"held": HELD % "neck bent", "looks": look("2026-06-01", "hold")}, ["giving-way-said"]),
        ({"held": HELD % "neck bent", "looks": look("2026-05-04")}, ["giving-way-said"]),
        ({"held": HELD % "neck bent", "looks": look("2026-05-04", more=clears("held 2026-05-04"))}, []),
        ({"held": HELD % "neck bent", "looks": look("2026-05-03", more=clears("held 2026-05-04"))}, ["giving-way-said"]),
        ({"held": HELD % "neck bent", "tests": house_test("2026-06-01")}, []),
        ({"held": HELD % "neck bent", "tests": house_test("2026-04-01")}, ["giving-way-said"]),
        ({"held": HELD % "neck bent", "tests": house_test("2026-06-01", by="MV")}, ["giving-way-said"]),
        ({"held": HELD % "neck bent", "tests": house_test("2026-06-01", result="fail")}, ["giving-way-said"]),
        ({"held": HELD % "neck bent", "tests": house_test("2026-06-01", method="visual")}, ["giving-way-said"]),
        ({"held": HELD % "valve failed"}, []),
        ({"rented": "[{on: 2026-05-02, to: B-1, until: 2026-05-04, damage: crack in the neck}]"}, []),
        ({"looks": look("2026-05-04", "hold", more=", findings: [{step: heat, result: hold, what: heat}]")}, ["over-heated"]),
        # holds that were let go
        ({"held": HELD % "crack in the neck"}, ["suspected"]),
        ({"held": HELD.replace("}]", VOID + "}]") % "crack in the neck"}, []),
        ({"held": HELD % "was in a fire"}, ["heat-said"]),
        ({"held": HELD % "bulged at the foot"}, ["bulge-said"]),
        ({"held": HELD % "hydro failed"}, ["test-said"]),
        ({"held": HELD % "hydro failed and cracked"}, ["suspected"]),
        ({"held": "[{on: 2026-05-04, by: MV, why: hydro failed}]"}, []),
        ({"held": "[{on: 2026-05-04, by: MV, why: crack in the neck}]"}, []),
        ({"held": HELD % "hydro failed", "tests": house_test("2026-06-01", more=clears("held 2026-05-04"))}, []),
        ({"held": HELD % "hydro failed", "tests": house_test("2026-06-01")}, ["test-said"]),
        ({"held": HELD % "hydro failed", "tests": house_test("2026-06-01", method="visual", more=clears("held 2026-05-04"))}, ["test-said"]),
        ({"held": HELD % "was in a fire", "tests": house_test("2026-06-01", more=", finding: no heat damage" + clears("heat 2026-05-04"))}, []),
        ({"held": HELD % "crack in the neck", "tests": house_test("2026-06-01", more=GOOD_FINDING + clears("heat 2026-05-04"))}, ["suspected"]),
        # returns
        ({"rented": BACK % ("crack in the neck", "")}, ["suspected"]),
        ({"rented": BACK % ("dent", "")}, []),
        ({"rented": BACK % ("failed hydro", "")}, ["test-said"]),
        ({"rented": BACK % ("condemned by another shop", "")}, ["test-said"]),
        ({"rented": BACK % ("TÜV nicht bestanden", "")}, ["test-said"]),
        ({"rented": BACK % ("failed hydro", ""), "looks": look("2026-06-01", more=clears("damage 2026-05-04"))}, ["test-said"]),
        ({"rented": BACK % ("failed hydro", ""), "tests": house_test("2026-06-01", more=clears("damage 2026-05-04"))}, []),
        ({"held": HELD % "collaudo non superato"}, ["test-said"]),
        ({"held": HELD % "échec de la requalification"}, ["test-said"]),
        ({"rented": BACK % ("crack in the neck", VOID)}, []),
        ({"rented": BACK % ("crack in the neck", ""), "tests": house_test("2026-06-01", more=GOOD_FINDING + clears("damage 2026-05-04"))}, []),
    ],
)  # fmt: skip
def test_what_is_found_stands_until_a_requalifier_names_it(
    lines: dict[str, str | None], left: list[str]
) -> None:
    assert [state for _, state in open_of(**lines)] == left


@pytest.mark.parametrize(
    ("tests", "answered"),
    [
        (house_test("2026-06-01", more=GOOD_FINDING + clears("held 2026-05-04")), True),
        (house_test("2026-05", more=GOOD_FINDING + clears("held 2026-05-04")), True),
        (house_test("2026-04", more=GOOD_FINDING + clears("held 2026-05-04")), False),
        (house_test("2026-06-01", result="fail", more=GOOD_FINDING + clears("held 2026-05-04")), False),
        (house_test("2026-06-01", by="MV", more=GOOD_FINDING + clears("held 2026-05-04")), False),
        (house_test("2026-06-01", by="nobody", more=GOOD_FINDING + clears("held 2026-05-04")), False),
        (house_test("2026-06-01", more=", note: not done" + GOOD_FINDING + clears("held 2026-05-04")), False),
        (house_test("2026-06-01", more=", note: bulged" + GOOD_FINDING + clears("held 2026-05-04")), False),
        (house_test("2026-06-01", more=", note: dry" + GOOD_FINDING + clears("held 2026-05-04")), True),
        *(
            (house_test("2026-06-01", method="eddy-current", more=f", note: {note}{GOOD_FINDING}{clears('held 2026-05-04')}"), answered)
            for note, answered in (
                ("do not fill", False), ("line still there", False), ("line remains", False),
                ("could not reach thread 2", False), ("indication at thread 2", False),
                ("retest needed", False), ("second opinion needed", False), ("failed", False),
                ("condemned", False), ("niet getest", False), ("not all threads", False),
                ("no indication", True), ("certificate 4711", True), ("valve leak repaired", True),
                ("o-ring replaced", True),
            )
        ),
        *(
            (house_test("2026-06-01", method="eddy-current", more=f", finding: {finding}{clears('held 2026-05-04')}"), True)
            for finding in ("pas de fissure", "aucune fissure", "sin grietas", "senza cricche", "nessuna cricca", "geen scheur")
        ),
    ],
)  # fmt: skip
def test_a_test_answers_where_it_was_made_after_by_a_requalifier(
    tests: str, answered: bool
) -> None:
    left = [state for _, state in open_of(held=HELD % "crack in the neck", tests=tests)]
    assert (left == []) is answered


# --- inspections that did not pass ---------------------------------------------------------------

BAD = look("2026-05-04", "reject", more=", findings: [{step: pits, result: reject, what: pits}]")
OUTSIDE = look("2026-05-04", "reject", checklist="outside")
NAMED = clears("inspected 2026-05-04")


@pytest.mark.parametrize(
    ("looks", "tests", "answered"),
    [
        (BAD, None, False),
        (BAD.replace("}]}", "}]" + VOID + "}"), None, True),
        (f"{BAD}, {look('2026-06-01', more=NAMED)}", None, True),
        (f"{BAD}, {look('2026-05-04', more=NAMED)}", None, True),
        (f"{look('2026-05-04', more=NAMED)}, {BAD}", None, False),
        (f"{BAD}, {look('2026-05', more=NAMED)}", None, False),
        (f"{BAD}, {look('2026-05-03', more=NAMED)}", None, False),
        (f"{BAD}, {look('2026-06-01')}", None, False),
        (f"{BAD}, {look('2026-06-01', more=NAMED + VOID)}", None, False),
        (f"{BAD}, {look('2026-06-01', by='TO', more=NAMED)}", None, False),
        (f"{BAD}, {look('2026-06-01', checklist='outside', more=NAMED)}", None, False),
        (f"{BAD}, {look('2026-06-01', checklist='strange', more=NAMED)}", None, False),
        (f"{BAD}, {look('2026-06-01', 'reject', more=NAMED)}", None, False),
        (f"{OUTSIDE}, {look('2026-06-01', checklist='outside', more=NAMED)}", None, True),
        (f"{OUTSIDE.replace('outside', 'strange')}, {look('2026-06-01', checklist='outside', more=NAMED)}", None, False),
        (f"{OUTSIDE.replace('outside', 'strange')}, {look('2026-06-01', more=NAMED)}", None, True),
        (BAD, house_test("2026-06-01", more=NAMED), True),
        (BAD, house_test("2026-06-01"), False),
        (BAD, house_test("2026-06-01", more=NAMED + VOID), False),
        (BAD, house_test("2026-04-01", more=NAMED), False),
        (BAD, house_test("2026-06-01", method="visual", more=NAMED), True),
        (BAD, house_test("2026-06-01", method="visual", more=", note: outside only" + NAMED), False),
        (BAD, house_test("2026-06-01", method="eddy-current", more=NAMED), False),
        # a note of a failed test, or of a bulge, takes a test
        (f"{look('2026-05-04', 'reject', more=', note: hydro failed')}, {look('2026-06-01', more=NAMED)}", None, False),
        (look("2026-05-04", "reject", more=", note: hydro failed"), house_test("2026-06-01", method="visual", more=NAMED), False),
        (look("2026-05-04", "reject", more=", note: hydro failed"), house_test("2026-06-01", more=NAMED), True),
        (look("2026-05-04", "reject", more=", note: bulged"), house_test("2026-06-01", more=NAMED), False),
        (f"{look('2026-05-04', 'reject', more=', note: bulged')}, {look('2026-06-01', more=NAMED)}", None, False),
        (look("2026-05-04", "reject", more=", note: bulged"), house_test("2026-06-01", more=", finding: no bulge" + NAMED), True),
        (look("2026-05-04", "reject", more=", findings: [{step: shape, result: reject, what: bulge}]"), house_test("2026-06-01", more=NAMED), False),
        (look("2026-05-04", "reject", more=", findings: [{step: shape, result: reject, note: bulged}]"), house_test("2026-06-01", more=NAMED), False),
        # the words beside what was found are of that
        (look("2026-05-04", "reject", more=", findings: [{step: pits, result: reject, what: pits, note: no bulge}]"), house_test("2026-06-01", more=NAMED), True),
        (look("2026-05-04", "hold", more=", findings: [{step: heat, result: hold, what: heat}]"), house_test("2026-06-01", method="visual", more=NAMED), False),
        (look("2026-05", "reject"), house_test("2026-06-01", more=clears("inspected 2026-05")), True),
        (f"{look('2026-05', 'reject')}, {look('2026-05-10', more=clears('inspected 2026-05'))}", None, True),
        (f"{look('2026-05-10', more=clears('inspected 2026-05'))}, {look('2026-05', 'reject')}", None, True),
        (f"{BAD}, {look('2026-05', more=NAMED)}, {look('2026-05-04', 'hold', checklist='outside')}, {look('2026-06-01', more=clears('held 2026-05-04'))}", None, True),
        # no finding, no eddy current
        (look("2026-05-04", "hold"), house_test("2026-06-01", method="eddy-current", more=GOOD_FINDING + NAMED), False),
        (look("2026-05-04", "hold", more=", note: sticker unreadable"), house_test("2026-06-01", method="visual", more=NAMED), True),
        # a suspected crack alone, by eddy current
        (look("2026-05-04", "hold", more=suspected()), house_test("2026-06-01", method="eddy-current", more=GOOD_FINDING + NAMED), True),
        (look("2026-05-04", "hold", more=suspected()), house_test("2026-06-01", method="eddy-current", more=NAMED), False),
        (look("2026-05-04", "hold", more=suspected()), house_test("2026-06-01", more=NAMED), True),
    ],
)  # fmt: skip
def test_an_inspection_that_did_not_pass_is_answered_by_name(
    looks: str, tests: str | None, answered: bool
) -> None:
    bench, card = asked(looks=looks, tests=tests)
    assert (open_inspection(bench, card) is None) is answered


# --- failed tests --------------------------------------------------------------------------------

FAILED = house_test("2026-05-04", result="fail")
AFTER = clears("requalified 2026-05-04")


@pytest.mark.parametrize(
    ("tests", "answered"),
    [
        (FAILED, False),
        (f"{FAILED}, {house_test('2026-06-01', more=AFTER)}", True),
        (f"{FAILED}, {house_test('2026-05-04', more=AFTER)}", True),
        (f"{house_test('2026-05-04', more=AFTER)}, {FAILED}", False),
        (f"{FAILED}, {house_test('2026-06-01')}", False),
        (f"{FAILED}, {house_test('2026-06-01', result='fail', more=AFTER)}", False),
        (f"{FAILED}, {house_test('2026-06-01', method='proof', more=AFTER)}", False),
        (f"{FAILED}, {house_test('2026-06-01', method='visual', more=AFTER)}", False),
        (f"{FAILED}, {house_test('2026-04', more=AFTER)}", False),
        (f"{house_test('2026-05-04', method='visual', result='fail')}, {house_test('2026-06-01', method='visual', more=AFTER)}", True),
        (f"{house_test('2026-05-04', method='visual', result='fail')}, {house_test('2026-06-01', more=AFTER)}", True),
        (f"{house_test('2026-05-04', method='visual', result='fail')}, {house_test('2026-06-01', method='visual', more=', note: outside only' + AFTER)}", False),
        (f"{house_test('2026-05-04', method='visual', result='fail', more=', note: wall too thin')}, {house_test('2026-06-01', method='visual', more=AFTER)}", False),
        (f"{house_test('2026-05-04', method='visual', result='fail', more=', note: dry, finding: wall too thin')}, {house_test('2026-06-01', method='visual', more=AFTER)}", False),
        (f"{house_test('2026-05-04', method='visual', result='fail', more=', note: wall too thin')}, {house_test('2026-06-01', more=AFTER)}", True),
        (f"{house_test('2026-05-04', method='eddy-current', result='fail')}, {house_test('2026-06-01', more=AFTER)}", False),
        (f"{house_test('2026-05-04', method='eddy-current', result='fail')}, {house_test('2026-06-01', method='eddy-current', more=AFTER)}", True),
        (f"{house_test('2026-05-04', result='fail', more=', finding: bulged')}, {house_test('2026-06-01', more=AFTER)}", False),
        (f"{house_test('2026-05-04', result='fail', more=', finding: bulged')}, {house_test('2026-06-01', more=', finding: no bulge' + AFTER)}", True),
        (f"{FAILED[:-1]}{VOID}}}", True),
        (f"{FAILED}, {house_test('2026-06-01', more=AFTER + VOID)}", False),
        # of a month, and a day in it that names it
        (f"{house_test('2026-05', result='fail')}, {house_test('2026-05-20', more=clears('requalified 2026-05'))}", True),
        (f"{house_test('2026-05', more=AFTER)}, {FAILED}", True),
        (f"{house_test('2026-05', more=clears('requalified 2026-05'))}, {FAILED}", False),
        (f"{house_test('2026-05', more=clears('requalified 2026-05-04', 'held 2026-05-01'))}, {FAILED}", True),
        # a visual that found a bulge, or heat, takes pressure
        (f"{house_test('2026-05-04', method='visual', result='fail', more=', finding: bulged')}, {house_test('2026-06-01', method='visual', more=', finding: no bulge' + AFTER)}", False),
        (f"{house_test('2026-05-04', method='visual', result='fail', more=', finding: crack in the neck')}, {house_test('2026-06-01', method='visual', more=', finding: no crack' + AFTER)}", True),
        # the month of the failed test, and its day
        (f"{house_test('2026-05', result='fail', more=', tested: 2026-05-20')}, {house_test('2026-05-10', more=clears('requalified 2026-05'))}", False),
        (f"{house_test('2026-05', result='fail', more=', tested: 2026-05-20')}, {house_test('2026-05-25', more=clears('requalified 2026-05'))}", True),
    ],
)  # fmt: skip
def test_a_failed_test_is_answered_by_one_of_its_kind(tests: str, answered: bool) -> None:
    bench, card = asked(tests=tests)
    assert (open_tests(bench, card) == [t for t in card.requalified if t.result == "fail"]) is (
        not answered
    )
    assert (open_tests(bench, card) == []) is answered


# --- rejections ----------------------------------------------------------------------------------

SAID = clears("rejected 2026-05-04")


@pytest.mark.parametrize(
    ("why", "looks", "tests", "answered"),
    [
        ("rust", None, None, False),
        ("rust", look("2026-06-01", more=SAID), None, True),
        ("rust", look("2026-05-04", more=SAID), None, True),
        ("rust", look("2026-05", more=SAID), None, False),
        ("rust", look("2026-05-03", more=SAID), None, False),
        ("rust", look("2026-06-01"), None, False),
        ("rust", look("2026-06-01", more=SAID + VOID), None, False),
        ("rust", look("2026-06-01", by="TO", more=SAID), None, False),
        ("rust", look("2026-06-01", "hold", more=SAID), None, False),
        ("rust", look("2026-06-01", checklist="outside", more=SAID), None, False),
        # as full as the look that rejected it that day
        ("rust", f"{OUTSIDE}, {look('2026-06-01', checklist='outside', more=SAID)}", None, True),
        ("rust", f"{OUTSIDE.replace('05-04', '05-05')}, {look('2026-06-01', checklist='outside', more=SAID)}", None, False),
        ("rust", f"{OUTSIDE[:-1]}{VOID}}}, {look('2026-06-01', checklist='outside', more=SAID)}", None, False),
        ("rust", f"{look('2026-05-04', checklist='outside')}, {look('2026-06-01', checklist='outside', more=SAID)}", None, False),
        ("rust", f"{OUTSIDE}, {BAD}, {look('2026-06-01', checklist='outside', more=SAID)}", None, False),
        ("rust", f"{OUTSIDE.replace('outside', 'strange')}, {look('2026-06-01', checklist='outside', more=SAID)}", None, False),
        ("rust", None, house_test("2026-06-01", more=SAID), True),
        ("rust", None, house_test("2026-06-01"), False),
        ("rust", None, house_test("2026-06-01", more=SAID + VOID), False),
        ("EC failed", look("2026-06-01", more=SAID), None, False),
        ("valve failed", look("2026-06-01", more=SAID), None, True),
        ("rust", None, house_test("2026-04-01", more=SAID), False),
        ("rust", None, house_test("2026-06-01", method="visual", more=SAID), True),
        ("rust", None, house_test("2026-06-01", method="visual", more=", note: outside only" + SAID), False),
        ("rust", None, house_test("2026-06-01", method="eddy-current", more=SAID), False),
        # a failed test lies behind it
        ("rust", look("2026-06-01", more=SAID), FAILED, False),
        ("rust", look("2026-06-01", more=SAID), FAILED[:-1] + VOID + "}", True),
        ("rust", look("2026-06-01", more=SAID), house_test("2026-05-04"), True),
        ("rust", look("2026-06-01", more=SAID), FAILED.replace("05-04", "03-04"), True),
        ("rust", None, f"{FAILED}, {house_test('2026-06-01', method='visual', more=SAID)}", False),
        ("hydro failed", look("2026-06-01", more=SAID), None, False),
        ("Druckprüfung durchgefallen", look("2026-06-01", more=SAID), None, False),
        ("hydro abgelehnt", look("2026-06-01", more=SAID), None, False),
        ("sticker illegible, hydro in date", look("2026-06-01", more=SAID), None, True),
        ("bulged", None, house_test("2026-06-01", more=SAID), False),
        ("bulged", None, house_test("2026-06-01", more=", finding: no bulge" + SAID), True),
        ("bulged", look("2026-06-01", more=SAID), None, False),
    ],
)  # fmt: skip
def test_a_rejection_is_answered_by_name(
    why: str, looks: str | None, tests: str | None, answered: bool
) -> None:
    rejected = f"[{{on: 2026-05-04, by: MV, why: '{why}', lifted: 2026-06-02, lifted_by: MV}}]"
    bench, card = asked(looks=looks, tests=tests, rejected=rejected)
    assert rejection_answered(bench, card, card.rejected[0]) is answered


def test_a_rejection_by_month_beside_one_struck_out_is_named_by_it() -> None:
    wrong = "{on: 2026-05-20, by: MV, why: wrong one" + VOID + "}"
    for other, answered in (("", True), (", " + wrong, True), (", " + wrong.replace(VOID, ""), False)):  # fmt: skip
        rejected = f"[{{on: 2026-05-04, by: MV, why: rust}}{other}]"
        bench, card = asked(
            looks=look("2026-06-01", more=clears("rejected 2026-05")), rejected=rejected
        )
        assert rejection_answered(bench, card, card.rejected[0]) is answered


# --- damage at a return --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("damage", "void", "looks", "left"),
    [
        ("dent", "", None, 1),
        ("dent", VOID, None, 0),
        ("none", "", None, 0),
        ("crack in the neck", "", None, 0),  # among the findings
        ("dent", "", look("2026-05-04", checklist="outside", more=clears("damage 2026-05-04")), 0),
        ("dent", "", look("2026-05-03", more=clears("damage 2026-05-04")), 1),
        ("dent", "", look("2026-06-01"), 1),
        ("dent", "", look("2026-06-01", more=clears("damage 2026-05-04") + VOID), 1),
        ("salt water inside", "", look("2026-06-01", checklist="outside", more=clears("damage 2026-05-04")), 1),
        ("salt water inside", "", look("2026-06-01", more=clears("damage 2026-05-04")), 0),
        ("neck bent", "", None, 1),
        ("neck bent", "", look("2026-06-01", checklist="outside", more=clears("damage 2026-05-04")), 1),
        ("neck bent", "", look("2026-06-01"), 1),
        ("neck bent", "", look("2026-06-01", more=clears("damage 2026-05-04")), 0),
    ],
)  # fmt: skip
def test_damage_is_answered_by_a_look_that_names_it(
    damage: str, void: str, looks: str | None, left: int
) -> None:
    bench, card = asked(looks=looks, rented=BACK % (damage, void))
    assert len(list(open_damage(bench, card, card.rented))) == left


@pytest.mark.parametrize(
    ("damage", "tests", "left"),
    [
        ("neck bent", house_test("2026-06-01", more=clears("damage 2026-05-04")), 0),
        ("neck bent", house_test("2026-06-01", more=", note: not done" + clears("damage 2026-05-04")), 1),
        ("neck bent", house_test("2026-06-01"), 1),
        ("neck bent", house_test("2026-04-01", more=clears("damage 2026-05-04")), 1),
        ("neck bent", house_test("2026-06-01", method="visual", more=clears("damage 2026-05-04")), 1),
        ("dent", house_test("2026-06-01", more=clears("damage 2026-05-04")), 1),
    ],
)  # fmt: skip
def test_a_test_answers_damage_that_may_give_way(damage: str, tests: str, left: int) -> None:
    bench, card = asked(tests=tests, rented=BACK % (damage, ""))
    assert len(list(open_damage(bench, card, card.rented))) == left


def test_what_is_still_out_was_not_looked_at() -> None:
    out = "[{on: 2026-05-02, to: B-1, until: 2026-05-04, damage: dent}]"
    bench, card = asked(rented=out)
    assert list(open_damage(bench, card, card.rented)) == []


# --- how it is mended ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("tests", "wanted"),
    [
        (house_test("2026-05", more=clears("held 2026-05-04")), True),
        (house_test("2026-05-20", more=clears("held 2026-05-04")), False),
        (house_test("2026-05", result="fail", more=clears("held 2026-05-04")), False),
        (house_test("2026-05"), False),
        (house_test("2026-06", more=clears("held 2026-05-04")), False),
        (house_test("2026-05", more=clears("held 2026-05-04") + VOID), False),
        (house_test("2026-05-02", more=clears("held 2026-05-04")), False),
        (f"{house_test('2026-05', more=clears('inspected 2026-05-04'))}", False),
    ],
)
def test_the_day_of_a_test_is_asked_for_where_its_month_leaves_it_open(
    tests: str, wanted: bool
) -> None:
    sent = "[{on: 2026-05-01, by: MV, to: Example Tests, for: requalification, back: 2026-05-28}]"
    _, card = asked(tests=tests, held=HELD % "hydro failed", sent=sent)
    said = day_wanted(card, (Adverse.HELD,), PartialDate.parse("2026-05-04"))
    assert ("write the day of the test" in said) is wanted


def test_a_rejection_by_month_is_answered_by_a_look_within_it() -> None:
    for on, answered in (("2026-05-01", True), ("2026-05-31", True), ("2026-04-30", False)):
        rejected = "[{on: 2026-05, by: MV, why: rust}]"
        bench, card = asked(looks=look(on, more=clears("rejected 2026-05")), rejected=rejected)
        assert rejection_answered(bench, card, card.rejected[0]) is answered


def test_a_test_that_names_either_of_two_words_is_asked_for_its_day() -> None:
    sent = "[{on: 2026-05-01, by: MV, to: Example Tests, for: requalification, back: 2026-05-28}]"
    _, card = asked(tests=house_test("2026-05", more=clears("held 2026-05-04")), sent=sent)
    words = (Adverse.DAMAGE, Adverse.HELD)
    assert day_wanted(card, words, PartialDate.parse("2026-05-04"))


@pytest.mark.parametrize("day", ["2026-05-03", "2026-05"])
def test_a_look_of_the_month_of_a_return_is_not_known_to_come_after(day: str) -> None:
    looks = look(day, more=clears("damage 2026-05-04"))
    bench, card = asked(looks=looks, rented=BACK % ("dent", ""))
    assert len(list(open_damage(bench, card, card.rented))) == 1


@pytest.mark.parametrize(
    ("by", "answers"),
    [
        ("T123", True),
        ("Northside Test House", True),
        ("MV Hydro", False),  # who may be one of its own
        ("MV", False),
        ("Test Quay", False),
        ("Test Quay Ltd", False),
        ("TestQuay workshop", False),
        ("my mate Dave", False),
        ("Kunde Meier", False),
        ("the owner", False),
        ("Test Quay Hydrotest", True),
    ],
)
def test_a_failed_test_is_answered_by_an_outside_body(by: str, answers: bool) -> None:
    tests = f"{FAILED}, {house_test('2026-06-01', by=by, more=AFTER)}"
    bench, card = asked(tests=tests)
    assert (open_tests(bench, card) == []) is answers
