"""Doubles made up and taken apart: what is recorded, what follows for both sides, what is refused."""

from __future__ import annotations

import datetime as dt

import acting
import books
import pytest
from acting import TODAY, Shelf
from changing import replace

from tankbook.acts.away import send
from tankbook.acts.pair import pair, unpair
from tankbook.acts.valve import work_on_valve
from tankbook.records.book import Book
from tankbook.records.edits import Refusal
from tankbook.records.valve import ValveWork
from tankbook.records.words import Bled, Isolator, SentFor, Status, ValveDone
from tankbook.rules.checks import check
from tankbook.rules.fill_history import contents_of, lines_into
from tankbook.rules.gate import may_fill
from tankbook.units import GaugePressure, PartialDate

PSI = GaugePressure.parse
BY = {"by": "MV", "on": TODAY}
SIDES = ["RB-014", "RB-017"]
HEADER = "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note\n"


def line(day: str, id_: str, to: str = "2900 psi", gas: str = "air") -> str:
    return f"{day}T09:30:00+01:00,{id_},fill,,{to},,{gas},,,MV,,C1,,,,\n"


@pytest.fixture(name="shelf")
def _shelf() -> Shelf:
    shelf = acting.shelf()
    shelf.texts["cylinders/RB-017.yaml"] = books.GOOD.replace("K118204", "K118217")
    shelf.texts["fills/2026.csv"] = (
        HEADER + line("2026-11-20", "RB-014") + line("2026-11-20", "RB-017")
    )
    return shelf


def seen(shelf: Shelf) -> Book:
    """The book as the clock of TODAY has it."""
    return replace(shelf.book, clock=TODAY)


def made(shelf: Shelf, **more: object) -> Shelf:
    options = {"isolator": Isolator.OPEN, "rating": PSI("3442 psi"), "bled": Bled.HEARD, **BY}
    shelf.do(pair, "DB-03", SIDES, **{**options, **more})
    return shelf


def test_made_up_of_two_it_is_empty_and_may_be_filled(shelf: Shelf) -> None:
    made(shelf)
    doubles = shelf["DB-03"]
    assert (doubles.cylinders, doubles.use) == (("RB-014", "RB-017"), "rental")
    assert doubles.made_up[0].bled is Bled.HEARD
    for id_ in ("DB-03", *SIDES):
        assert contents_of(shelf.book, id_).pressure == PSI("0 psi")
    assert may_fill(seen(shelf).as_known_on(TODAY), "DB-03", TODAY, station=False).fillable
    day_before = seen(shelf).as_known_on(TODAY - dt.timedelta(1))
    assert "DB-03" not in day_before.every_set
    assert contents_of(day_before, "RB-014").pressure == PSI("2900 psi")


def test_what_was_filled_before_it_was_made_up_is_of_one_side(shelf: Shelf) -> None:
    made(shelf)
    book = seen(shelf).as_known_on(TODAY)
    assert [n.cylinder for n in lines_into(book, "RB-014")] == ["RB-014"]


def test_taken_apart_both_are_empty_and_its_lines_stay_theirs(shelf: Shelf) -> None:
    made(shelf, on=dt.date(2026, 11, 21))
    shelf.texts["fills/2026.csv"] += line("2026-11-22", "DB-03", gas="nitrox32")
    act = shelf.do(unpair, "DB-03", bled=Bled.HEARD, **BY)
    assert act.sentence == "Took DB-03 apart: RB-014 and RB-017 stand by themselves"
    book = seen(shelf).as_known_on(TODAY)
    assert list(book.apart) == ["DB-03"]
    for side in SIDES:
        assert contents_of(book, side).pressure == PSI("0 psi")
        assert any(n.cylinder == "DB-03" for n in lines_into(book, side))
    entry = book.apart["DB-03"].made_up[0]
    assert (entry.apart, entry.apart_by) == (TODAY, "MV")


@pytest.mark.parametrize("for_", [SentFor.REQUALIFICATION, SentFor.SUPPLIER, SentFor.REPAIR])
def test_where_one_side_is_away_the_other_is_used_once_they_are_said_to_be_apart(
    shelf: Shelf, for_: SentFor
) -> None:
    made(shelf, on=dt.date(2026, 11, 21))
    act = shelf.do(send, ["RB-017"], to="Northside", for_=for_, why="dent in the wall", **BY)
    mend = "`tankbook unpair DB-03 --bled heard`"
    assert any(mend in note for note in act.notes)
    against = may_fill(seen(shelf).as_known_on(TODAY), "RB-014", TODAY, station=False).refusals
    assert [(r.code, mend in r.mend) for r in against] == [("doubles-other-side", True)]
    shelf.do(unpair, "DB-03", bled=Bled.HEARD, **BY)
    book = seen(shelf).as_known_on(TODAY)
    assert may_fill(book, "RB-014", TODAY, station=False).fillable
    assert not may_fill(book, "RB-017", TODAY, station=False).fillable


def test_again_under_its_name_only_of_the_same_two(shelf: Shelf) -> None:
    made(shelf, on=dt.date(2026, 11, 21))
    shelf.do(unpair, "DB-03", by="MV", on=dt.date(2026, 11, 22))
    told = shelf.refuse(pair, "DB-03", ["RB-014", "RB-015"], **BY)
    assert "DB-03 was of RB-014 and RB-017, and the log's lines of it are theirs" in told
    act = shelf.do(pair, "DB-03", SIDES[::-1], bled=Bled.HEARD, **BY)
    assert act.sentence == "Made up DB-03 again of RB-017 and RB-014"
    doubles = shelf["DB-03"]
    assert [(e.on.first.day, e.apart and e.apart.day) for e in doubles.made_up] == [
        (21, 22),
        (25, None),
    ]
    states = {
        day: (
            "DB-03" in (then := seen(shelf).as_known_on(dt.date(2026, 11, day))).sets,
            "DB-03" in then.apart,
        )
        for day in (20, 21, 23, 25)
    }
    assert states == {20: (False, False), 21: (True, False), 23: (False, True), 25: (True, False)}


def test_one_that_was_written_by_hand_is_taken_apart_and_made_up_again(shelf: Shelf) -> None:
    shelf.do(unpair, "DB-02", bled=Bled.HEARD, by="MV", on=dt.date(2026, 11, 22))
    assert shelf["DB-02"].apart_by == "MV"
    shelf.do(pair, "DB-04", ["RB-014", "RB-015"], bled=Bled.HEARD, **BY)
    shelf.do(unpair, "DB-04", **BY)
    shelf.do(pair, "DB-02", ["RB-015", "RB-016"], bled=Bled.HEARD, **BY)
    assert "DB-02" in seen(shelf).as_known_on(TODAY).sets
    assert "DB-02" in seen(shelf).as_known_on(dt.date(2026, 11, 23)).apart
    assert "DB-02" in seen(shelf).as_known_on(dt.date(2026, 11, 1)).sets


@pytest.mark.parametrize(
    ("id_", "ids", "told"),
    [
        ("DB-03", ["RB-014", "RB-014"], "doubles are of two different cylinders, and 1 are named"),
        ("DB-03", ["RB-014"], "doubles are of two different cylinders"),
        ("DB-03", ["RB-014", "RB-017", "RB-015"], "and 3 are named"),
        ("DB-03", ["RB-014", "RB-015"], "RB-015 is in DB-0"),
        ("DB-03", ["RB-014", "DB-02"], "DB-02 is a set: name its cylinders"),
        ("DB-03", ["RB-014", "RB-099"], "RB-099 is not in the ledger"),
        ("DB-02", SIDES, "DB-02 stands already"),
        ("RB-015", SIDES, "RB-015 is taken"),
        ("rb-015", SIDES, "rb-015 is taken"),
        ("../x", SIDES, "../x"),
        ("DB-03.", SIDES, "ends in a dot"),
        ("nul", SIDES, "Windows keeps this name"),
        ("a\x1b[31m", SIDES, ""),
    ],
)
def test_what_is_refused(shelf: Shelf, id_: str, ids: list[str], told: str) -> None:
    assert told in shelf.refuse(pair, id_, ids, bled=Bled.HEARD, **BY)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("service_pressure: 3000 psi", "service_pressure: 3300 psi", "the sides of DB-03 differ in service pressure"),
        ("status: in-service", "status: condemned\ncondemned: [{on: 2026-11-01, by: T123, why: crack}]", "RB-017 is condemned"),
        ("status: in-service", "status: out\nrented: [{on: 2026-11-24, to: B-1}]", "RB-017 is out"),
        ("status: in-service", "status: lost\nlost: [{on: 2026-11-24, by: MV}]", "RB-017 is lost"),
    ],
)  # fmt: skip
def test_what_a_side_refuses(shelf: Shelf, old: str, new: str, told: str) -> None:
    card = shelf.texts["cylinders/RB-017.yaml"]
    assert old in card
    shelf.texts["cylinders/RB-017.yaml"] = card.replace(old, new)
    assert told in shelf.refuse(pair, "DB-03", SIDES, bled=Bled.HEARD, **BY)


def test_what_is_told_of_two_that_are_not_alike(shelf: Shelf) -> None:
    card = (
        shelf.texts["cylinders/RB-017.yaml"]
        .replace("11.1 L", "10 L")
        .replace("use: rental", "use: staff")
    )
    shelf.texts["cylinders/RB-017.yaml"] = card
    act = shelf.do(pair, "DB-03", SIDES, bled=Bled.HEARD, **BY)
    assert any("differ in water volume: 11.1 L and 10 L" in n for n in act.notes)
    assert any("kept for rental, RB-017 for staff" in n for n in act.notes)
    assert any("--isolator" in n for n in act.notes)
    assert shelf["DB-03"].use is None


def test_no_flow_heard_holds_both_and_joins_nothing(shelf: Shelf) -> None:
    shelf.do(pair, "DB-03", SIDES, bled=Bled.NO_FLOW, **BY)
    assert "sets/DB-03.yaml" not in shelf.texts
    assert all(shelf[side].status is Status.HELD for side in SIDES)
    shelf.do(unpair, "DB-02", bled=Bled.NO_FLOW, **BY)
    assert shelf["DB-02"].taken_apart is None


def test_it_is_not_taken_apart_while_it_is_out_or_before_it_was_made_up_or_twice(
    shelf: Shelf,
) -> None:
    made(shelf)
    early = unpair(seen(shelf), "DB-03", by="MV", on=TODAY - dt.timedelta(1))
    assert isinstance(early, Refusal)
    assert "no set of doubles that stood on 2026-11-24" in early.reasons[0]
    shelf.texts["sets/DB-02.yaml"] += "rented: [{on: 2026-11-24, to: B-1}]\n"
    assert "DB-02 is out to B-1" in shelf.refuse(unpair, "DB-02", **BY)
    shelf.do(unpair, "DB-03", **BY)
    assert "no set of doubles that stood" in shelf.refuse(unpair, "DB-03", **BY)


def test_lines_of_days_on_which_it_was_not_made_up_are_told() -> None:
    texts = acting.shelf()
    texts.texts["sets/DB-02.yaml"] = (
        "cylinders: [RB-015, RB-016]\nmade_up: [{on: 2026-11-10, by: MV, apart: 2026-11-12}, {on: 2026-11-20, by: MV}]\n"
    )
    found = {}
    for day in ("2026-11-09", "2026-11-11", "2026-11-15", "2026-11-21"):
        texts.texts["fills/2026.csv"] = HEADER + line(day, "DB-02")
        found[day[-2:]] = "set-apart" in {
            f.code for f in check(texts.book.as_known_on(TODAY), TODAY)
        }
    assert found == {"09": True, "11": False, "15": True, "21": False}


def test_struck_out_it_was_never_made_up(shelf: Shelf) -> None:
    made(shelf)
    text = shelf.texts["sets/DB-03.yaml"]
    void = "void: {why: of two others, by: MV, on: 2026-11-25}"
    shelf.texts["sets/DB-03.yaml"] = text.replace("bled: heard", f"bled: heard, {void}")
    book = seen(shelf).as_known_on(TODAY)
    assert "DB-03" in book.apart
    assert contents_of(book, "RB-014").pressure == PSI("2900 psi")


def test_of_a_day_to_come_it_stands_as_one_without_a_day(shelf: Shelf) -> None:
    shelf.texts["sets/DB-03.yaml"] = (
        "cylinders: [RB-014, RB-017]\nmade_up: [{on: 2062-01-01, by: MV}]\n"
    )
    assert "DB-03" in seen(shelf).as_known_on(TODAY).sets


def test_it_is_not_made_up_before_its_sides_were_made(shelf: Shelf) -> None:
    early = pair(seen(shelf), "DB-03", SIDES, by="MV", on=dt.date(2020, 1, 1))
    assert isinstance(early, Refusal)
    assert "made up on 2020-01-01, before RB-014 was made (2024-03)" in "; ".join(early.reasons)


@pytest.mark.parametrize(
    ("began", "told"), [("0 psi", False), ("150 psi", False), ("500 psi", True), ("1600 psi", True)]
)
@pytest.mark.parametrize("filled", ["", "DB-03", "RB-014"])
@pytest.mark.parametrize("day", ["2026-11-23", "2026-11-24"])
def test_a_side_that_nobody_filled_since_begins_with_nothing(
    shelf: Shelf, began: str, told: bool, filled: str, day: str
) -> None:
    """What is in it all the same is of nobody knows what, whether any fill is logged before."""
    shelf.texts["fills/2026.csv"] = HEADER
    made(shelf, on=dt.date(2026, 11, 21))
    shelf.texts["fills/2026.csv"] += line("2026-11-22", filled) if filled else ""
    shelf.do(unpair, "DB-03", bled=Bled.HEARD, by="MV", on=dt.date(2026, 11, 23))
    begun = line(day, "RB-014").replace("fill,,", f"fill,{began},")
    shelf.texts["fills/2026.csv"] += begun
    answer = may_fill(seen(shelf).as_known_on(TODAY), "RB-014", TODAY, station=False)
    assert ("unexplained-contents" in {r.code for r in answer.refusals}) is told


@pytest.mark.parametrize(
    ("isolator", "bled"),
    [
        (Isolator.SHUT, None),
        (Isolator.SHUT, Bled.HEARD),
        (Isolator.OPEN, None),
        (Isolator.OPEN, Bled.HEARD),
    ],
)
def test_a_side_of_what_is_taken_apart_is_empty_only_where_that_was_heard(
    isolator: Isolator, bled: Bled | None
) -> None:
    """One that is full on record is asked about; none is left full, nor emptied unasked."""
    shelf = acting.shelf()
    shelf.texts["cylinders/RB-017.yaml"] = books.GOOD.replace("K118204", "K118217")
    shelf.texts["sets/DB-01.yaml"] = (
        f"cylinders: [RB-014, RB-017]\nmanifold: bar\nrating: 3442 psi\nisolator: {isolator}\n"
        "use: rental\n"
    )
    drained = "2026-11-21T09:30:00+01:00,RB-014,drain,2900 psi,0 psi,,,,,MV,,,,,,\n"
    shelf.texts["fills/2026.csv"] = (
        HEADER + line("2026-11-20", "RB-014") + line("2026-11-20", "RB-017") + drained
    )
    if bled is None:
        asked = shelf.refuse(unpair, "DB-01", **BY)
        left = "2900 psi" if isolator is Isolator.SHUT else "an unknown pressure of air"
        assert f"RB-017: its valve came off, and {left} is in it on record" in asked
        assert "RB-014" not in asked
        shelf.texts["fills/2026.csv"] += drained.replace("RB-014,drain", "RB-017,reading")
    shelf.do(unpair, "DB-01", bled=bled, **BY)
    assert contents_of(shelf.book, "RB-014").pressure == PSI("0 psi")
    assert contents_of(shelf.book, "RB-017").pressure == PSI("0 psi")


@pytest.mark.parametrize(
    ("at", "asked"),
    [(None, True), (dt.time(9, 30), True), (dt.time(9, 31), False)],
)
def test_what_was_read_full_that_day_is_asked_at_what_time_its_valve_came_off(
    at: dt.time | None, asked: bool
) -> None:
    """Else what was read would count as gas that nobody logged."""
    shelf = acting.shelf()
    shelf.texts["cylinders/RB-017.yaml"] = books.GOOD.replace("K118204", "K118217")
    shelf.texts["sets/DB-01.yaml"] = (
        "cylinders: [RB-014, RB-017]\nmanifold: bar\nrating: 3442 psi\nisolator: open\nuse: rental\n"
    )
    read = "2026-11-25T09:30:00+01:00,RB-014,reading,,2900 psi,,,,,MV,,,,,,\n"
    shelf.texts["fills/2026.csv"] = HEADER + line("2026-11-20", "DB-01") + read
    said = {"bled": Bled.HEARD, "hour": at, **BY}
    if asked:
        told = shelf.refuse(unpair, "DB-01", **said)
        assert "RB-014 was read at 2900 psi at 09:30" in told
        assert "as --at 09:31" in told
        return
    shelf.do(unpair, "DB-01", **said)
    assert [contents_of(shelf.book, s).pressure for s in ("RB-014", "RB-017")] == [PSI("0 psi")] * 2


def test_what_was_let_out_before_the_valve_came_off_is_not_asked_again(shelf: Shelf) -> None:
    """By the hour, where it is known."""
    drained = "2026-11-25T09:00:00+01:00,RB-014,drain,2900 psi,0 psi,,,,,MV,,,,,,\n"
    shelf.texts["fills/2026.csv"] = HEADER + line("2026-11-20", "RB-014") + drained
    entry = ValveWork(on=PartialDate.of(TODAY), by="MV", did=ValveDone.SERVICED)
    early, later = (replace(entry, at=dt.time(hour, 0)) for hour in (8, 11))
    assert "is in it on record" in shelf.refuse(work_on_valve, ["RB-014"], entry=early, on=TODAY)
    shelf.do(work_on_valve, ["RB-014"], entry=later, on=TODAY)


def test_two_that_are_full_on_record_are_not_made_up_unasked(shelf: Shelf) -> None:
    asked = shelf.refuse(pair, "DB-03", SIDES, **BY)
    for side in SIDES:
        assert f"{side}: its valve came off, and 2900 psi is in it on record" in asked
    assert "--bled heard" in asked
