"""What somebody elsewhere did: a visual, a test, or both, and what of it counts."""

from __future__ import annotations

import datetime as dt
from typing import Any

import acting
import books
import pytest
from acting import TODAY, Shelf

from tankbook.acts.away import back, refit, send
from tankbook.acts.correct import correct
from tankbook.acts.elsewhere import done_elsewhere
from tankbook.acts.fill import Filling, Wanted, fill
from tankbook.acts.hold import hold, release
from tankbook.acts.reading import Shown, read_gauges
from tankbook.acts.reject import condemn, reject
from tankbook.acts.striking import Wrong
from tankbook.records.words import Bled, Method, PartChecked, Status
from tankbook.rules.gate import may_fill
from tankbook.units import GaugePressure, PartialDate

KT = {"by": "KT", "on": TODAY}
SENT = {"to": "Northside Test House", "by": "KT", "on": dt.date(2026, 11, 5)}
IN_AND_OUT = (PartChecked.INSIDE, PartChecked.OUTSIDE)
ALL = (*IN_AND_OUT, PartChecked.THREADS, PartChecked.VALVE)
CLUB = books.SETTINGS.replace("people:\n", "people:\n  KT: {role: treasurer}\n")
MONTH = PartialDate(2026, 11)


@pytest.fixture(name="shelf")
def _shelf() -> Shelf:
    shelf = acting.shelf()
    shelf.texts["tankbook.yaml"] = CLUB
    return shelf


def told(**changes: Any) -> dict[str, Any]:
    """A visual of this month, in and outside, that a treasurer saw."""
    return {"who": "Northside T123", "done": MONTH, "visual": True, "checked": ALL, **KT} | changes


NOW = dt.datetime(2026, 11, 25, 10, 0, tzinfo=dt.UTC)
TESTED = {"visual": False, "test": Method.HYDROSTATIC, "stamp": "11 T123 26"}


def refusals(shelf: Shelf, id_: str) -> list[str]:
    return [r.code for r in may_fill(shelf.book, id_, TODAY, station=False).refusals]


def home(shelf: Shelf, *ids: str, **changes: Any) -> None:
    shelf.do(send, ids, **{**SENT, **changes})
    shelf.do(back, ids, **KT)


@pytest.mark.parametrize(
    "changes",
    [
        {},
        TESTED,
        {**TESTED, "visual": True},
        {"who": "Weir Dive Shop", "done": PartialDate(2026, 11, 20)},
        {"who": "Northside", "done": PartialDate(2026, 11, 5)},
    ],
    ids=["visual", "test", "both", "by day", "the day it went"],
)
def test_anybody_brings_it_back_into_service(shelf: Shelf, changes: dict[str, Any]) -> None:
    home(shelf, "RB-014", "RB-015")
    assert shelf["RB-014"].status is Status.AWAITING_INSPECTION
    act = shelf.do(done_elsewhere, ["RB-014", "RB-015"], **told(**changes))
    assert shelf["RB-014"].status is shelf["RB-015"].status is Status.IN_SERVICE
    assert refusals(shelf, "RB-014") == []
    assert act.notes == ()
    [sent] = shelf["RB-014"].sent
    assert (sent.refitted, sent.refitted_by) == (TODAY, told(**changes)["who"])


def test_the_entries_say_who_did_it_and_who_saw_it(shelf: Shelf) -> None:
    home(shelf, "RB-014")
    act = shelf.do(
        done_elsewhere, ["RB-014"], **told(**TESTED | {"visual": True}, paper="binder 2")
    )
    assert act.sentence == (
        "Hydrostatic test 2026-11 by Northside T123: passed RB-014; "
        "Visual 2026-11 by Northside T123: passed RB-014"
    )
    for entry in (shelf["RB-014"].inspected[-1], shelf["RB-014"].requalified[-1]):
        assert (entry.by, entry.seen_by, entry.seen_on) == ("Northside T123", "KT", TODAY)
        assert (entry.checked, entry.paper) == (ALL, "binder 2")
    assert shelf["RB-014"].requalified[-1].stamp == "11 T123 26"


@pytest.mark.parametrize(
    ("changes", "left"),
    [
        ({"checked": (PartChecked.OUTSIDE, PartChecked.VALVE)}, ["standing-awaiting-inspection"]),
        ({"checked": IN_AND_OUT}, ["standing-awaiting-inspection", "not-refitted"]),
        ({"checked": ()}, ["standing-awaiting-inspection", "not-refitted"]),
        # whether it was before the stay or in it is not said
        ({"who": "Weir Dive Shop"}, ["standing-awaiting-inspection"]),
        ({"who": "Weir Test House"}, ["standing-awaiting-inspection"]),
        ({"done": PartialDate(2026, 11, 4)}, ["standing-awaiting-inspection"]),
        ({"who": "Weir Dive Shop", "done": PartialDate(2026, 11, 5)},
         ["standing-awaiting-inspection"]),
        ({"note": "valve stuck, inside not seen"}, ["standing-awaiting-inspection"]),
        ({**TESTED, "note": "test not done"}, ["standing-awaiting-inspection"]),
    ],
)  # fmt: skip
def test_what_is_not_said_does_not_count(
    shelf: Shelf, changes: dict[str, Any], left: list[str]
) -> None:
    home(shelf, "RB-014")
    shelf.do(done_elsewhere, ["RB-014"], **told(**changes))
    assert [c for c in refusals(shelf, "RB-014") if c in left] == left


def test_a_sticker_seen_before_it_went_says_nothing_of_the_stay(shelf: Shelf) -> None:
    shelf.do(done_elsewhere, ["RB-014"], **told(on=dt.date(2026, 11, 4)))
    home(shelf, "RB-014", on=dt.date(2026, 11, 5))
    assert "standing-awaiting-inspection" in refusals(shelf, "RB-014")


def test_a_paper_may_come_before_the_cylinder(shelf: Shelf) -> None:
    shelf.do(send, ["RB-014"], **SENT)
    shelf.do(done_elsewhere, ["RB-014"], **told(on=dt.date(2026, 11, 20)))
    assert shelf["RB-014"].status is Status.AT_TEST
    shelf.do(back, ["RB-014"], refitted_by="Northside", **KT)
    assert shelf["RB-014"].status is Status.IN_SERVICE


def test_a_month_of_two_journeys_names_neither(shelf: Shelf) -> None:
    for day in (5, 15):
        shelf.do(send, ["RB-014"], **{**SENT, "on": dt.date(2026, 11, day)})
        shelf.do(back, ["RB-014"], by="MV", on=dt.date(2026, 11, day + 3), refitted=True)
    shelf.do(done_elsewhere, ["RB-014"], **told())
    assert shelf["RB-014"].status is Status.AWAITING_INSPECTION


@pytest.mark.parametrize(
    ("settings", "changes", "status"),
    [
        # a sticker meets no row of the 30 months there; the stamp of a test house does
        (CLUB.replace("us-dot", "uk"), {}, Status.AWAITING_INSPECTION),
        (CLUB.replace("us-dot", "uk"), TESTED, Status.IN_SERVICE),
        (CLUB.replace("us-dot", "uk"), {**TESTED, "test": Method.VISUAL}, Status.IN_SERVICE),
        (CLUB.replace("us-dot", "de"), {}, Status.AWAITING_INSPECTION),
        (CLUB.replace("us-dot", "de"), {**TESTED, "test": Method.VISUAL}, Status.IN_SERVICE),
        # no visual stands for a row that eddy current does not meet
        (CLUB, {**TESTED, "test": Method.EDDY_CURRENT, "stamp": ""}, Status.AWAITING_INSPECTION),
    ],
)
def test_it_counts_as_the_rows_say(
    shelf: Shelf, settings: str, changes: dict[str, Any], status: Status
) -> None:
    shelf.texts["tankbook.yaml"] = settings
    home(shelf, "RB-014")
    got = done_elsewhere(shelf.book, ["RB-014"], **told(**changes))
    shelf.make(got)
    assert shelf["RB-014"].status is status


def test_a_visual_that_failed_is_adverse_and_no_sticker_answers_it(shelf: Shelf) -> None:
    shelf.do(done_elsewhere, ["RB-014"], **told(failed="pits on the floor"))
    assert shelf["RB-014"].status is Status.REJECTED
    assert "standing-rejected" in refusals(shelf, "RB-014")
    shelf.do(done_elsewhere, ["RB-014"], **told(done=PartialDate(2026, 11, 24)))
    assert shelf["RB-014"].status is Status.REJECTED
    assert "answers it" in shelf.refuse(release, ["RB-014"], why="sticker seen", by="MV", on=TODAY)
    what = {"done": PartialDate(2026, 11, 24), "clears": ("rejected 2026-11",)}
    assert "goes with a test" in shelf.refuse(done_elsewhere, ["RB-014"], **told(**what))
    test = told(**TESTED | what | {"test": Method.VISUAL, "stamp": "", "who": "Weir T45"})
    shelf.do(done_elsewhere, ["RB-014"], **test)
    shelf.do(release, ["RB-014"], why="stamped by Weir", by="MV", on=TODAY)
    assert shelf["RB-014"].status is Status.IN_SERVICE


def test_a_test_that_failed_rejects_it(shelf: Shelf) -> None:
    shelf.do(done_elsewhere, ["RB-014"], **told(**TESTED | {"stamp": ""}, failed="expansion 12 %"))
    assert shelf["RB-014"].status is Status.REJECTED
    assert shelf["RB-014"].requalified[-1].seen_by == "KT"


@pytest.mark.parametrize("adverse", ["held", "rejected", "damage"])
def test_it_answers_nothing_that_stands_here(shelf: Shelf, adverse: str) -> None:
    if adverse == "held":
        shelf.do(hold, ["RB-014"], why="dent", by="MV", on=dt.date(2026, 11, 2))
    elif adverse == "rejected":
        shelf.do(reject, "RB-014", why="pits", by="MV", on=dt.date(2026, 11, 2))
    else:
        path = "cylinders/RB-014.yaml"
        out = "{on: 2026-11-01, to: B-1, back: 2026-11-02, pressure: 600 psi, damage: foot bent}"
        shelf.texts[path] += f"rented: [{out}]\n"
    before = refusals(shelf, "RB-014")
    assert before
    shelf.do(done_elsewhere, ["RB-014"], **told(**TESTED | {"visual": True},
             done=PartialDate(2026, 11, 20), **({"clears": ("none",)} if adverse == "rejected" else {})))  # fmt: skip
    assert refusals(shelf, "RB-014") == before


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({"visual": False}, "what was done is not said"),
        ({"who": "MV"}, "is of this ledger, or nobody's name"),
        ({"who": "kt"}, "is of this ledger, or nobody's name"),
        ({"who": "Test Quay Ltd"}, "is of this ledger, or nobody's name"),
        ({"who": "maker"}, "is of this ledger, or nobody's name"),
        ({"who": "a mate"}, "is of this ledger, or nobody's name"),
        ({"who": " "}, "--who is empty"),
        ({"who": "x\nstatus: sold"}, "not one line of plain text"),
        ({"done": PartialDate(2026, 12)}, "lies in the future"),
        ({"done": PartialDate(2026, 11, 26)}, "lies in the future"),
        ({"done": PartialDate(2019, 11)}, "was made 2024-03, after 2019-11"),
        ({"by": "ZZ"}, "ZZ is not among the people"),
        ({"stamp": "11 T123 26"}, "--stamp goes with a test"),
        ({**TESTED, "stamp": "10 T123 26"}, "says 2026-10, and --done says 2026-11"),
        ({**TESTED, "stamp": "11 A777 26"}, "carries A777, and --who says Northside T123"),
        ({**TESTED, "visual": True, "failed": "pits"}, "which of the two did not pass?"),
        ({**TESTED, "clears": ("held 2026-11-01",)}, "names nothing that is open"),
    ],
)
def test_what_cannot_be_is_refused(shelf: Shelf, changes: dict[str, Any], reason: str) -> None:
    assert reason in shelf.refuse(done_elsewhere, ["RB-014"], **told(**changes))


def test_whoever_fitted_its_valve_may_be_known_by_another_name(shelf: Shelf) -> None:
    """What is short may be anybody's initials: the option is named that says who it was, and the
    way for whoever does not know it."""
    home(shelf, "RB-014")
    visual = {"done": PartialDate.of(TODAY), "who": "Joe"}
    reason = shelf.refuse(done_elsewhere, ["RB-014"], **told(**visual))
    assert "give the name in full with --who" in reason
    assert "refitted_by" not in reason
    shelf.do(done_elsewhere, ["RB-014"], **told(**visual, checked=IN_AND_OUT))
    assert "not-refitted" in refusals(shelf, "RB-014")
    shelf.do(refit, ["RB-014"], by="MV", on=TODAY)
    assert refusals(shelf, "RB-014") == []


@pytest.mark.parametrize(
    ("done", "fitted"),
    [
        (PartialDate(2026, 3), None),
        (PartialDate(2026, 11, 4), None),  # the day before it went
        (PartialDate(2026, 11, 5), dt.date(2026, 11, 20)),
        (PartialDate(2026, 11, 12), dt.date(2026, 11, 20)),
        (PartialDate(2026, 11, 22), dt.date(2026, 11, 22)),  # another shop, since it came back
        (MONTH, dt.date(2026, 11, 20)),
    ],
)
def test_its_valve_was_fitted_while_it_was_away_or_since(
    shelf: Shelf, done: PartialDate, fitted: dt.date | None
) -> None:
    shelf.do(send, ["RB-014"], **SENT)
    shelf.do(back, ["RB-014"], by="KT", on=dt.date(2026, 11, 20))
    shelf.do(done_elsewhere, ["RB-014"], **told(done=done))
    assert shelf["RB-014"].sent[0].refitted == fitted
    assert ("not-refitted" in refusals(shelf, "RB-014")) is (fitted is None)


def test_a_condemned_one_takes_no_sticker(shelf: Shelf) -> None:
    shelf.do(condemn, "RB-014", by="T123", why="crack", marked="CONDEMNED", on=TODAY)
    assert "RB-014 is condemned" in shelf.refuse(done_elsewhere, ["RB-014"], **told())


def test_the_same_visual_is_recorded_once(shelf: Shelf) -> None:
    shelf.do(done_elsewhere, ["RB-014"], **told())
    assert "already on record" in shelf.refuse(done_elsewhere, ["RB-014"], **told())


def test_a_visual_that_says_too_little_is_struck_out_and_said_again(shelf: Shelf) -> None:
    home(shelf, "RB-014")
    shelf.do(done_elsewhere, ["RB-014"], **told(checked=()))
    assert "standing-awaiting-inspection" in refusals(shelf, "RB-014")
    told_how = shelf.refuse(done_elsewhere, ["RB-014"], **told())
    assert f"`tankbook correct RB-014 inspected {MONTH} --why WHY`" in told_how
    wrong = Wrong("inspected", str(MONTH), "what was checked was left out")
    shelf.do(correct, "RB-014", wrong, by="KT", on=TODAY, now=NOW)
    shelf.do(done_elsewhere, ["RB-014"], **told())
    assert "standing-awaiting-inspection" not in refusals(shelf, "RB-014")


# --- filled from 0 after it -----------------------------------------------------------------------

STATION = """
banks:
  - {name: B1, water_volume: 48 L, gas: air, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}
compressor: {name: C1}
air_tests:
  - {on: 2026-11-02, by: Example Air Lab, standard: cga-grade-e, result: pass, source: C1}
regulator_set: 3000 psi
"""
OWNED = books.with_lines(books.GOOD.replace("K118204", "K77"), use="customer", owner="C-0192")
CARDS = {"rental": books.GOOD.replace("K118204", "K77"), "customer": OWNED}
DAY = dt.date(2026, 11, 20)
NOTHING = GaugePressure.of(0, "psi")
BLED = {**SENT, "bled": Bled.HEARD}
JOB = "jobs: [{on: 2026-11-04, work: [visual], ready: 2026-11-19, collected: 2026-11-%s}]\n"


def after(kind: str, more: str = "", **changes: Any) -> Shelf:
    """A cylinder that held gas, was sent bled, came back on the 20th, and of which what was done
    there is told."""
    shelf = acting.shelf(station=STATION, T_1=CARDS[kind] + more)
    shelf.texts["tankbook.yaml"] = CLUB
    before = dt.datetime(2026, 11, 4, 9, tzinfo=dt.UTC)
    shelf.do(read_gauges, [Shown("T-1", GaugePressure.of(500, "psi"))], by="MV", at=before)
    shelf.do(send, ["T-1"], **BLED)
    shelf.do(back, ["T-1"], by="KT", on=DAY)
    shelf.do(done_elsewhere, ["T-1"], **told(**{"on": DAY, **changes}))
    return shelf


def returned(shelf: Shelf) -> bool:
    return "returned-empty" in refusals(shelf, "T-1")


def may_begin_empty(shelf: Shelf, day: int) -> bool:
    """Whether a fill from nothing is not refused for having come back empty."""
    at = dt.datetime(2026, 11, day, 15, tzinfo=dt.UTC)
    wanted = [Wanted("T-1", GaugePressure.of(3000, "psi"), NOTHING)]
    act = fill(shelf.book, wanted, Filling(by="MV", source="B1", looked=True), at=at)
    return "has not been looked inside since" not in str(act)


@pytest.mark.parametrize("kind", CARDS)
@pytest.mark.parametrize("day", [20, 21, 25])
@pytest.mark.parametrize(
    "changes",
    [
        {},
        TESTED,
        {**TESTED, "visual": True},
        {"done": PartialDate(2026, 11, 19)},
        {"done": PartialDate(2026, 11, 20)},
    ],
    ids=["visual", "test", "both", "the day before", "that day"],
)
def test_what_was_looked_inside_there_is_filled_from_nothing(
    kind: str, day: int, changes: dict[str, Any]
) -> None:
    shelf = after(kind, **changes)
    assert may_begin_empty(shelf, day)
    at = dt.datetime(2026, 11, day, 9, tzinfo=dt.UTC)
    act = shelf.do(read_gauges, [Shown("T-1", NOTHING)], by="MV", at=at)
    assert not any("looked inside" in note for note in act.notes)
    assert not returned(shelf)
    assert may_begin_empty(shelf, day)


@pytest.mark.parametrize(
    ("more", "changes"),
    [
        ("", {"checked": (PartChecked.OUTSIDE, PartChecked.VALVE)}),
        ("", {"checked": ()}),
        ("", {"who": "Weir Dive Shop"}),
        ("", {"note": "valve stuck, inside not seen"}),
        (JOB % 20, {}),
        (JOB % 23, {}),
    ],
    ids=["outside", "nothing", "by another", "not seen", "collected", "collected later"],
)
def test_what_was_not_or_went_home_since_is_asked(more: str, changes: dict[str, Any]) -> None:
    shelf = after("customer", more, **changes)
    assert not may_begin_empty(shelf, 25)
    at = dt.datetime(2026, 11, 25, 9, tzinfo=dt.UTC)
    shelf.do(read_gauges, [Shown("T-1", NOTHING)], by="MV", at=at)
    assert returned(shelf)


def test_what_was_read_with_gas_since_and_then_empty_is_asked() -> None:
    shelf = after("customer")
    for day, shown in ((21, GaugePressure.of(500, "psi")), (22, NOTHING)):
        at = dt.datetime(2026, 11, day, 9, tzinfo=dt.UTC)
        shelf.do(read_gauges, [Shown("T-1", shown)], by="MV", at=at)
    assert returned(shelf)


def test_what_is_collected_the_day_it_was_read_was_here_before() -> None:
    shelf = after("customer", JOB % 25)
    at = dt.datetime(2026, 11, 25, 9, tzinfo=dt.UTC)
    shelf.do(read_gauges, [Shown("T-1", NOTHING)], by="MV", at=at)
    assert not returned(shelf)
