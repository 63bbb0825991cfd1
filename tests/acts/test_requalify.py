"""Tests by a requalifier: passed, or failed and rejected.

The 10 % limit of permanent over total expansion is 49 CFR 180.205(i)(1)(iv) (older copy; read); the
special permit's own limit is (i)(1)(vii) (read).
"""

from __future__ import annotations

from typing import Any

import acting
import books
import pytest
from acting import TODAY, Shelf
from changing import replace

from tankbook.acts.requalify import Test, requalify
from tankbook.records.edits import Refusal
from tankbook.records.words import Method, Status, TestResult
from tankbook.rules.schedule import due
from tankbook.units import GaugePressure, PartialDate, Volume

STEEL = books.with_lines(
    books.GOOD, material="steel", alloy=None, specification="[DOT-3AA]", service_pressure="2400 psi",
    test_pressure="4000 psi",
)  # fmt: skip
PERMIT = (
    books.with_lines(books.GOOD, material="composite", alloy=None, specification="[DOT-SP 99001]")
    + "permit: {number: DOT-SP 99001, period: 5 years, test_pressure: 5000 psi, life_ends: 2031-04"
)


@pytest.fixture(name="shelf")
def _shelf() -> Shelf:
    return acting.shelf(RB_014=STEEL)


def paper(**changes: Any) -> Test:
    plain = Test(PartialDate.parse("2026-10"), Method.HYDROSTATIC, "T123")
    return replace(plain, **changes)


def measured(total: str, permanent: str, id_: str = "RB-014") -> dict[str, tuple[Volume, Volume]]:
    return {id_: (Volume.parse(total), Volume.parse(permanent))}


def test_a_pass_is_recorded_and_moves_the_due_date(shelf: Shelf) -> None:
    test = paper(stamp="10 T123 26 +", test_pressure=GaugePressure.parse("4000 psi"))
    act = shelf.do(requalify, ["RB-014"], test, TODAY)
    assert act.sentence == "Hydrostatic test 2026-10 by T123: passed RB-014"
    entry = shelf["RB-014"].requalified[-1]
    assert (entry.result, entry.plus, entry.by) == (TestResult.PASS, True, "T123")
    [item] = [
        d for d in due(shelf.book, TODAY) if d.id == "RB-014" and d.obligation == "requalification"
    ]
    assert item.next is not None
    assert item.next.isoformat() == "2031-10-31"


def test_a_batch_with_one_failure_is_one_act(shelf: Shelf) -> None:
    test = paper(
        expansions=measured("0.0551 L", "0.0083 L", "RB-015"),
        failures={"RB-016": "leak at the neck"},
    )
    act = shelf.do(requalify, ["RB-014", "RB-015", "RB-016"], test, TODAY)
    assert act.sentence == (
        "Hydrostatic test 2026-10 by T123: FAILED RB-015, RB-016, now rejected; passed RB-014"
    )
    assert shelf["RB-014"].status is Status.IN_SERVICE
    for id_ in ("RB-015", "RB-016"):
        assert shelf[id_].status is Status.REJECTED
        assert shelf[id_].requalified[-1].result is TestResult.FAIL
    why = "failed its hydrostatic test: permanent expansion 15.1 % of total, over the limit of 10 %"
    assert shelf["RB-015"].rejected[0].why.startswith(why)
    assert "`tankbook condemn RB-015 --by T123`" in act.notes[0]


# 100 x permanent / total against 10 %: computed by hand
EXPANSIONS = [
    ("0.1000 L", "0.0099 L", True),
    ("0.1000 L", "0.0100 L", True),  # condemned when it is over 10 %, not when it is at it
    ("0.1000 L", "0.0101 L", False),
]


@pytest.mark.parametrize(("total", "permanent", "passes"), EXPANSIONS)
def test_over_ten_percent_fails(total: str, permanent: str, passes: bool, shelf: Shelf) -> None:
    shelf.do(requalify, ["RB-014"], paper(expansions=measured(total, permanent)), TODAY)
    assert (shelf["RB-014"].requalified[-1].result is TestResult.PASS) is passes
    assert (shelf["RB-014"].status is Status.IN_SERVICE) is passes


def test_units_may_differ(shelf: Shelf) -> None:
    """6.1 cuin is 0.0999612 L, of which 0.01 L is 10.004 %: computed."""
    shelf.do(requalify, ["RB-014"], paper(expansions=measured("6.1 cuin", "0.01 L")), TODAY)
    assert shelf["RB-014"].requalified[-1].result is TestResult.FAIL


@pytest.mark.parametrize(
    ("limit", "result", "noted"),
    [(", expansion_limit: 5 %}", TestResult.FAIL, False), ("}", TestResult.PASS, True)],
)
def test_a_permits_own_limit_counts_and_a_missing_one_is_said(
    limit: str, result: TestResult, noted: bool
) -> None:
    shelf = acting.shelf(RB_014=PERMIT + limit + "\n")
    act = shelf.do(requalify, ["RB-014"], paper(expansions=measured("0.1 L", "0.007 L")), TODAY)
    assert shelf["RB-014"].requalified[-1].result is result
    assert any("it was not checked" in note for note in act.notes) is noted


def test_a_failed_cylinder_is_not_stamped(shelf: Shelf) -> None:
    test = paper(stamp="10 T123 26 +", failures={"RB-014": "bulge"})
    shelf.do(requalify, ["RB-014"], test, TODAY)
    entry = shelf["RB-014"].requalified[-1]
    assert (entry.stamp, entry.plus) == (None, False)


def test_the_owner_of_a_failed_cylinder_is_to_be_told() -> None:
    shelf = acting.shelf(RB_014=STEEL.replace("rental", "customer"))
    act = shelf.do(requalify, ["RB-014"], paper(failures={"RB-014": "bulge"}), TODAY)
    assert "tell its owner in writing" in act.notes[0]


REFUSED: dict[str, tuple[dict[str, Any], str]] = {
    "the future": ({"on": PartialDate.parse("2026-12")}, "2026-12 lies in the future"),
    "before it was made": ({"on": PartialDate.parse("2023-10")}, "was made 2024-03, after 2023-10"),
    "one of our own people": ({"by": "MV"}, "name the requalifier, by its RIN"),
    "nobody": ({"by": ""}, "--by is empty"),
    "a stamp of another month": ({"stamp": "09 T123 26"}, "says 2026-09, and --on says 2026-10"),
    "a stamp of another requalifier": ({"stamp": "10 A456 26"}, "carries A456, and --by says T123"),
    "a plus that is not stamped": ({"stamp": "10 T123 26", "plus": True}, "carries no plus"),
    "more kept than there was": ({"expansions": measured("0.01 L", "0.02 L")}, "cannot be"),
    "no expansion at all": ({"expansions": measured("0 L", "0 L")}, "cannot be"),
    "expansion in an eddy-current test": (
        {"method": Method.EDDY_CURRENT, "expansions": measured("0.1 L", "0.001 L")},
        "no expansion is measured by a test of method eddy-current",
    ),
    "a failure without its reason": ({"failures": {"RB-014": " "}}, "say why it failed"),
    "a result of another": ({"failures": {"RB-016": "leak"}}, "RB-016 is given a result and is not"),
    "an answer of another": ({"clears": {"RB-016": ("rejected",)}}, "RB-016 is given a result and is not"),
    "a finding of two lines": ({"findings": {"RB-014": "a\nb"}}, "is not one line of plain text"),
    "a finding without end": ({"findings": {"RB-014": "a" * 501}}, "is longer than 500 characters"),
    "an answer to nothing": ({"clears": {"RB-014": ("rejected",)}}, "RB-014: --clears 'rejected' names nothing that is open"),
    "a failure that answers": ({"clears": {"RB-014": ("rejected",)}, "failures": {"RB-014": "leak"}}, "a failed test answers nothing"),
    "a plus on aluminium": ({"plus": True}, "RB-015 is aluminium: a plus mark never goes on it"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_is_refused(name: str, shelf: Shelf) -> None:
    changes, text = REFUSED[name]
    assert text in shelf.refuse(requalify, ["RB-014", "RB-015"], paper(**changes), TODAY)


MARKED = books.with_lines(
    STEEL, marks='"DOT-3AA 2400 K118204 09A21 08 A123 25"',
    requalified="[{on: 2021-09, method: hydrostatic, by: maker}, "
                '{on: 2025-08, method: hydrostatic, by: A123, stamp: "08 A123 25"}]',
)  # fmt: skip


@pytest.mark.parametrize(
    ("stamp", "said"),
    [
        ("", "its marks end with a test of 2025-08, and its card says 2026-10; give the stamp of the "
             "test as it is read with --stamp"),
        ("10 T123 26 VE", "where it tells of two tests, give each its own part"),
        ("10 T123 26", ""),
    ],
)  # fmt: skip
def test_where_the_marks_end_with_an_older_test_the_stamp_is_given(stamp: str, said: str) -> None:
    made = acting.shelf(RB_014=MARKED)
    got = requalify(made.book, ["RB-014"], paper(stamp=stamp), TODAY)
    if said:
        assert said in refused(got)
    else:
        made.do(requalify, ["RB-014"], paper(stamp=stamp), TODAY)
    made.do(requalify, ["RB-014"], paper(method=Method.VISUAL, failures={"RB-014": "x"}), TODAY)


def test_the_same_test_twice_is_refused(shelf: Shelf) -> None:
    shelf.do(requalify, ["RB-014"], paper(), TODAY)
    told = shelf.refuse(requalify, ["RB-014", "RB-015"], paper(), TODAY)
    assert told == "RB-014: a hydrostatic test of 2026-10 is already on record (by T123)"


@pytest.mark.parametrize("fails_first", [True, False])
def test_one_that_failed_beats_one_of_its_day_that_passed(fails_first: bool, shelf: Shelf) -> None:
    bad = paper(failures={"RB-014": "expansion 12 %"})
    good = paper(clears={"RB-014": ("none",)}) if fails_first else paper()
    for test in (bad, good)[:: 1 if fails_first else -1]:
        shelf.do(requalify, ["RB-014"], test, TODAY)
    assert "already on record" in shelf.refuse(requalify, ["RB-014"], bad, TODAY)
    assert shelf["RB-014"].status is Status.REJECTED


def test_a_star_is_recorded_and_lengthens_nothing(shelf: Shelf) -> None:
    act = shelf.do(requalify, ["RB-014"], paper(stamp="10 T123 26 *"), TODAY)
    assert shelf["RB-014"].requalified[-1].star is True
    assert "a star lengthens nothing here" in act.notes[0]


# --- what a test answers -------------------------------------------------------------------------


def done(
    shelf: Shelf, on: str, *clears: str, finding: str = "", failed: str = "", **more: Any
) -> Any:
    test = paper(
        on=PartialDate.parse(on),
        clears={"RB-014": clears} if clears else {},
        findings={"RB-014": finding} if finding else {},
        failures={"RB-014": failed} if failed else {},
        **more,
    )
    return requalify(shelf.book, ["RB-014"], test, TODAY)


def refused(got: Any) -> str:
    assert isinstance(got, Refusal), got
    return "; ".join(got.reasons)


def test_a_retest_says_that_it_answers_the_test_that_failed(shelf: Shelf) -> None:
    shelf.make(done(shelf, "2026-10-05", failed="leak"))
    asked = refused(done(shelf, "2026-10-20"))
    assert asked == (
        "RB-014: rejected 2026-10-05 (failed its hydrostatic test: leak); requalified 2026-10-05 "
        '(hydrostatic test failed) is open: say that this test answers it with --clears "rejected '
        '2026-10-05" --clears "requalified 2026-10-05", or with --clears none that it does not'
    )
    shelf.make(done(shelf, "2026-10-20", "rejected 2026-10-05", "requalified 2026-10-05"))
    assert list(map(str, shelf["RB-014"].requalified[-1].clears)) == [
        "rejected 2026-10-05",
        "requalified 2026-10-05",
    ]


def test_what_could_not_be_answered_is_not_asked_for(shelf: Shelf) -> None:
    """An eddy-current test says nothing of a leak; the paper of an older test neither."""
    shelf.make(done(shelf, "2026-10-05", failed="leak"))
    shelf.make(done(shelf, "2026-10-20", method=Method.EDDY_CURRENT))
    shelf.make(done(shelf, "2025-10-05"))


def test_a_test_may_answer_nothing_where_that_is_said(shelf: Shelf) -> None:
    shelf.make(done(shelf, "2026-10-05", failed="leak"))
    act = shelf.make(done(shelf, "2026-10-20", "none"))
    assert shelf["RB-014"].requalified[-1].clears == ()
    assert any(n.startswith("RB-014: still open: requalified 2026-10-05") for n in act.notes)


@pytest.mark.parametrize(
    ("on", "clears", "more", "said"),
    [
        ("2026-09", ("requalified",), {}, "it came before that"),
        ("2026-10-20", ("requalified",), {"method": Method.EDDY_CURRENT}, "it takes a test of the same kind"),
        ("2026-09", ("rejected",), {}, "it came before that"),
    ],
)  # fmt: skip
def test_a_test_that_does_not_answer_what_it_names_is_refused(
    on: str, clears: tuple[str, ...], more: dict[str, Any], said: str, shelf: Shelf
) -> None:
    shelf.make(done(shelf, "2026-10-05", failed="leak"))
    assert said in refused(done(shelf, on, *clears, **more))


CRACKED = STEEL.replace("status: in-service", "status: rejected\nrejected: [{on: 2026-10-05, why: x}]").replace(
    "result: pass, sticker: issued", "result: reject, findings: [{step: neck-cracks, result: reject, what: crack}]"
)  # fmt: skip
HEATED = STEEL.replace("status: in-service", "status: held\nheld: [{on: 2026-02-09, why: fire}]").replace(
    "result: pass, sticker: issued", "result: hold, findings: [{step: heat-steel, result: hold, what: heat}]"
)  # fmt: skip


def test_a_crack_is_answered_by_nothing() -> None:
    shelf = acting.shelf(RB_014=CRACKED)
    told = refused(done(shelf, "2026-10-20", "suspected-crack", finding="no crack"))
    assert "no test answers suspected-crack 2026-02-09 (a crack: it is never passed)" in told
    assert "`tankbook condemn RB-014 --by RIN --why WHY --marked HOW`" in told


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "say with --finding what the requalifier wrote of it"),
        ({"finding": "hardness as new", "method": Method.VISUAL}, "it takes a pressure test"),
        ({"finding": "hardness as new"}, ""),
    ],
)
def test_heated_steel_is_answered_by_a_pressure_test_and_a_word(
    more: dict[str, Any], said: str
) -> None:
    shelf = acting.shelf(RB_014=HEATED)
    got = done(shelf, "2026-10-20", "heat", **more)
    if said:
        assert said in refused(got)
        return
    shelf.make(got)
    assert shelf["RB-014"].requalified[-1].finding == "hardness as new"


def test_damage_takes_a_look_and_no_test() -> None:
    text = STEEL + "rented: [{on: 2026-10-01, to: B-1, back: 2026-10-05, damage: dent}]\n"
    told = refused(done(acting.shelf(RB_014=text), "2026-10-20", "damage"))
    assert "no test answers damage 2026-10-05 (dent): `tankbook inspect RB-014" in told


def test_a_failed_test_of_a_month_does_not_make_the_fills_before_it_unlawful(shelf: Shelf) -> None:
    """Filled on the 3rd, sent on the 15th, failed some day of that month."""
    shelf.texts["fills/2026.csv"] = (
        "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,"
        "voids,note\n2026-10-03T09:30:00+01:00,RB-014,fill,,2400 psi,70 degF,air,,,MV,,B1,,,,\n"
    )
    shelf.make(done(shelf, "2026-10", failed="leak"))
    assert str(shelf["RB-014"].rejected[0].on) == "2026-11-25"
    shelf.make(done(shelf, "2026-11-20", failed="leak"))
    assert str(shelf["RB-014"].rejected[1].on) == "2026-11-20"


@pytest.mark.parametrize(
    "stamp", ["31/11 F", "31/11", "2031-11 F", "2031/11", "11/31", "P 31/11", "11 F 31"]
)
def test_a_stamp_that_says_when_the_next_is_due_is_taken_as_read(stamp: str) -> None:
    card = books.with_lines(STEEL, stamp_means="next-due", specification="[EN ISO 9809-1]")
    shelf = acting.shelf(RB_014=card)
    test = paper(on=PartialDate.parse("2026-11-09"), by="Pruefstelle Ost", stamp=stamp)
    shelf.do(requalify, ["RB-014"], test, TODAY)
    entry = shelf["RB-014"].requalified[-1]
    assert (str(entry.on), str(entry.tested), entry.stamp) == ("2031-11", "2026-11-09", stamp)
