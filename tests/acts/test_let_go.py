"""What an entry lets go that is held back: told to whoever enters it, and for a day that is over
entered by somebody certified alone, whichever act it is."""

from __future__ import annotations

import datetime as dt

import acting
import books
import pytest
from acting import TODAY, Shelf
from books import GOOD, with_lines
from clubs import imported, mapping
from msgspec.structs import replace

from tankbook.acts.away import send
from tankbook.acts.clean import clean
from tankbook.acts.elsewhere import done_elsewhere
from tankbook.acts.fill import Filling, Wanted, fill
from tankbook.acts.import_ import Comes
from tankbook.acts.jobs import done
from tankbook.acts.pair import pair, unpair
from tankbook.acts.reading import Shown, drain, read_gauges
from tankbook.acts.requalify import Test, requalify
from tankbook.acts.return_ import Back, return_
from tankbook.acts.station_upkeep import meter
from tankbook.acts.valve import work_on_valve
from tankbook.ledger.apply import changes_of
from tankbook.records.book import Book
from tankbook.records.cylinder import Doubles
from tankbook.records.edits import Act, Refusal
from tankbook.records.valve import ValveWork
from tankbook.records.words import Bled, Method, Outlet, Service, ValveDone, ValvePosition
from tankbook.rules.bad_air import bad_air_of
from tankbook.rules.board import bank_state
from tankbook.rules.leaving import filled_while_shut, why_banks_asked
from tankbook.units import GaugePressure, PartialDate, RunningTime

PEOPLE = books.SETTINGS.replace("people:\n", "people:\n  JW: {}\n")
HEADER = "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note\n"
OF_C1 = "2026-11-20T09:30:00+01:00,RB-014,fill,,2900 psi,,air,,,MV,,C1,,,,\n"
BAD_AIR = """\
banks:
  - {name: B1, water_volume: 48 L, gas: air, period: 10 years,
     readings: [{on: 2026-10-10, pressure: 4400 psi}, {on: 2026-11-23, pressure: 4300 psi}],
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}
compressor: {name: C1, hours: [{on: 2026-11-01, reads: 400 h}, {on: 2026-11-24, reads: 470 h}]}
filters:
  - {name: F1, life: 50 h, changed: [{on: 2026-11-10, at: 460 h}]}
positions: [{name: P1, kind: enclosed}]
regulator_set: 3000 psi
air_tests:
  - {on: 2026-10-12, by: Lab, source: C1, standard: cga-grade-e, result: pass}
  - {on: 2026-11-22, by: Lab, source: C1, standard: cga-grade-e, co: 14 ppm, result: fail}
  - {on: 2026-11-23, by: Lab, source: C1, standard: cga-grade-e, co: 1 ppm, result: pass}
"""
TOLD = "WARNING: it lets go what was held: without it there is bad air in RB-014"
LATE = "without it there is bad air in RB-014: "


def psi(value: float) -> GaugePressure:
    return GaugePressure.of(value, "psi")


def at(day: int) -> dt.datetime:
    return dt.datetime.fromisoformat(f"2026-11-{day}T12:00:00+01:00")


@pytest.fixture(name="shelf")
def _shelf() -> Shelf:
    made = acting.shelf()
    made.texts |= {
        "tankbook.yaml": PEOPLE,
        "station.yaml": BAD_AIR,
        "fills/2026.csv": HEADER + OF_C1,
        "cylinders/RB-014.yaml": GOOD,
    }
    assert bad_air_of(made.book, made["RB-014"]) is not None
    return made


def record(shelf: Shelf, act: Act) -> None:
    """Make an act, whatever is at fault then: bad air that was topped is told as that."""
    read = {path: text.encode() for path, text in shelf.texts.items()}
    shelf.texts |= {c.path: c.new.decode() for c in changes_of(read.get, act)}


def now(shelf: Shelf) -> Book:
    return replace(shelf.book, clock=TODAY)


@pytest.mark.parametrize("deed", ["read", "filled"])
@pytest.mark.parametrize(
    ("by", "day", "shows", "frees"),
    [
        ("MV", TODAY.day, 0, True),
        ("MV", TODAY.day - 1, 0, True),
        ("JW", TODAY.day, 0, True),
        ("JW", TODAY.day - 1, 0, False),
        ("MV", TODAY.day - 1, 500, False),
        ("JW", TODAY.day - 1, 500, False),
    ],
)
def test_what_shows_a_cylinder_empty_says_what_it_lets_go(
    shelf: Shelf, deed: str, by: str, day: int, shows: float, frees: bool
) -> None:
    """A reading does, and a fill that began at 0, a fact or not."""

    def does() -> Act | Refusal:
        if deed == "read":
            return read_gauges(now(shelf), [Shown("RB-014", psi(shows))], by=by, at=at(day))
        how = Filling(by=by, source="B1", looked=True, happened="it was filled so")
        wanted = [Wanted("RB-014", psi(2900), psi(shows))]
        return fill(now(shelf), wanted, how, at=at(day))

    act = does()
    if shows == 0 and not frees:
        assert isinstance(act, Refusal)
        assert LATE in act.reasons[0]
        assert deed == "read" or "leave --from away" in act.reasons[0]
        return
    assert isinstance(act, Act), act
    record(shelf, act)
    assert (TOLD in act.notes) is frees
    bad = bad_air_of(shelf.book, shelf["RB-014"])
    assert (bad is None or bad.line.at.day != 20) is frees


def test_a_fill_that_does_not_say_where_it_began_empties_nothing(shelf: Shelf) -> None:
    """Nor is 0 written for it, where nobody says how what was in it was let out."""
    look = "{on: 2026-11-24, by: MV, checklist: internal, result: pass}"
    for work in (
        {},
        {"inspected": f"[{look}]"},
        {"cleaned": "[{on: 2026-11-24, by: MV, to: nitrox}]"},
    ):
        made = Shelf({**shelf.texts})
        made.texts["cylinders/RB-014.yaml"] = with_lines(GOOD, **work)
        how = Filling(by="JW", source="B1", looked=True, happened="it was filled so")
        got = fill(now(made), [Wanted("RB-014", psi(2900))], how, at=at(25))
        assert isinstance(got, Act), got
        record(made, got)
        bad = bad_air_of(made.book, made["RB-014"])
        assert bad is not None, work
        assert bad.line.at.day == 20


@pytest.mark.parametrize(("by", "taken"), [("MV", True), ("JW", False)])
def test_a_test_that_a_table_adds_says_what_it_lets_go(shelf: Shelf, by: str, taken: bool) -> None:
    table = "Serial,Maker,WP (psi),Hydro\nK118204,Example Cylinder Co,3000,2026-11-24\n"
    said = mapping(table) + "on_file: complete\n"
    got = imported(now(shelf), table, said, by=by)
    assert [f.comes for f in got.fates] == [Comes.ADDED if taken else Comes.CANNOT], got
    if taken:
        assert isinstance(got.planned, Act)
        assert TOLD in got.planned.notes
    else:
        assert isinstance(got.planned, Refusal)
        assert "it is entered for 2026-11-24, and " + LATE in "; ".join(got.planned.reasons)


@pytest.mark.parametrize(
    ("by", "day", "taken"), [("JW", 25, True), ("MV", 20, True), ("JW", 20, False)]
)
def test_hours_of_a_day_that_is_over_open_nothing_unseen(
    shelf: Shelf, by: str, day: int, taken: bool
) -> None:
    """How long a filter has run nobody knows without them."""
    read = ", hours: [{on: 2026-11-01, reads: 400 h}, {on: 2026-11-24, reads: 470 h}]"
    shelf.texts["station.yaml"] = BAD_AIR.replace(read, "")
    act = meter(now(shelf), RunningTime.parse("470 h"), by=by, on=dt.date(2026, 11, day))
    assert isinstance(act, Act) is taken, act
    if isinstance(act, Refusal):
        assert (
            "it is entered for 2026-11-20, and without it out of use, or past its time, is"
            in act.reasons[0]
        )
        assert "F1" in act.reasons[0]


def work(book: Book, deed: str, by: str, on: dt.date, bled: Bled | None) -> Act | Refusal:
    """Work by which a cylinder is let out where that is said."""
    said = {"by": by, "on": on, "bled": bled}
    match deed:
        case "cleaned":
            return clean(book, ["RB-014"], to=Service.AIR, **said)
        case "sent":
            return send(book, ["RB-014"], to="Northside", happened="on the van", **said)
        case "paired":
            rating = psi(3000)
            beside = {
                name: each for name, each in book.sets.items() if "RB-015" not in each.cylinders
            }
            return pair(
                replace(book, sets=beside), "DB-07", ["RB-014", "RB-015"], rating=rating, **said
            )
        case "unpaired":
            doubles = Doubles(id="DB-08", cylinders=("RB-014", "RB-015"))
            return unpair(replace(book, sets={"DB-08": doubles}), "DB-08", **said)
    entry = ValveWork(
        on=PartialDate.of(on), by=by, bled=bled, did=ValveDone.CHANGED, outlet=Outlet.YOKE
    )
    return work_on_valve(book, ["RB-014"], entry, on)


DEEDS = ["valve", "cleaned", "sent", "paired", "unpaired"]


@pytest.mark.parametrize("deed", DEEDS)
@pytest.mark.parametrize(
    ("by", "day", "taken"),
    [("MV", 24, True), ("JW", 24, False), ("JW", 25, True), ("Northside Valves", 24, False)],
)
def test_work_of_a_day_that_is_over_lets_go_by_somebody_certified_alone(
    shelf: Shelf, deed: str, by: str, day: int, taken: bool
) -> None:
    """As a reading and a drain do, and it says what it lets go. Who bled it then and is not
    certified has somebody certified log that, and enters the work after it; or leaves it open."""
    if by not in {"MV", "JW"} and deed not in {"valve", "cleaned"}:
        return  # those are signed by people of the ledger alone
    on = dt.date(2026, 11, day)
    act = work(now(shelf), deed, by, on, Bled.HEARD)
    if taken:
        assert isinstance(act, Act), act
        assert any(note.startswith(TOLD) for note in act.notes)
        return
    assert isinstance(act, Refusal), act
    assert LATE.removesuffix(": ") in act.reasons[0]
    assert "have somebody certified log that it was let out (`tankbook drain" in act.reasons[0]
    open_ = work(now(shelf), deed, by, on, None)
    if deed in {"valve", "paired", "unpaired"}:  # a valve was off, and gas is in it on record
        assert isinstance(open_, Refusal), open_
        assert "its valve came off" in open_.reasons[0]
    else:
        assert isinstance(open_, Act), open_
        assert not any(note.startswith(TOLD) for note in open_.notes)
    sides = ["RB-014", "RB-015"] if deed == "unpaired" else ["RB-014"]
    assert f"drain {' '.join(sides)} --on {on}" in act.reasons[0]
    drained = drain(now(shelf), [Shown(i, psi(0)) for i in sides], by="MV", at=at(day))
    assert isinstance(drained, Act), drained
    record(shelf, drained)
    assert isinstance(work(now(shelf), deed, by, on, Bled.HEARD), Act)


@pytest.mark.parametrize("deed", ["read", "drained"])
@pytest.mark.parametrize(
    "how", ["sent: [{on: 2026-11-%s, to: N, for: repair}]", "rented: [{on: 2026-11-%s, to: N}]"]
)
@pytest.mark.parametrize(
    ("went", "by", "note", "taken"),
    [
        ("24", "MV", "", False),  # nobody here reads it, or lets it out
        ("24", "JW", "", False),
        ("24", "JW", "N, by telephone", False),
        ("24", "MV", "N, by telephone", True),
        ("25", "MV", "", True),  # before it went that day
        ("25", "JW", "", False),
    ],
)  # fmt: skip
def test_what_is_away_is_read_empty_by_nobody_here(
    shelf: Shelf, deed: str, how: str, went: str, by: str, note: str, taken: bool
) -> None:
    """Wherever it is; what was told of it there is entered by somebody certified, with who told it."""
    shelf.texts["cylinders/RB-014.yaml"] += how % went + "\n"
    said = {"by": by, "at": at(25), "note": note}
    act = (read_gauges if deed == "read" else drain)(now(shelf), [Shown("RB-014", psi(0))], **said)
    if deed == "drained" and went == "24":
        taken = False
    assert isinstance(act, Act) is taken, act
    if isinstance(act, Act) and note:
        assert any("and was read there" in n for n in act.notes)
    if isinstance(act, Refusal) and not note and went == "24":
        assert any("have it back first" in r for r in act.reasons)


@pytest.mark.parametrize(
    ("by", "day", "shows", "taken"),
    [("MV", 24, 0, True), ("JW", 25, 0, True), ("JW", 24, 0, False), ("JW", 24, 400, True)],
)
def test_what_came_back_empty_on_a_day_that_is_over_is_asked(
    shelf: Shelf, by: str, day: int, shows: float, taken: bool
) -> None:
    lent = {"rented": "[{on: 2026-11-21, to: B-1}]", "status": "out"}
    shelf.texts["cylinders/RB-014.yaml"] = with_lines(GOOD, **lent)
    found = Back("RB-014", (psi(shows),), ValvePosition.CLOSED)
    act = return_(now(shelf), [found], by=by, at=at(day))
    assert isinstance(act, Act) is taken, act
    if isinstance(act, Refusal):
        assert LATE in act.reasons[0]
        assert "take it back without --on" in act.reasons[0]


AWAY = "[{on: 2026-11-23, to: Northside, for: requalification, back: 2026-11-25}]"


@pytest.mark.parametrize("seen_by", ["", "JW", "MV"])
@pytest.mark.parametrize(
    ("sent", "when", "taken"),
    [
        ("", PartialDate(2026, 11, 24), False),
        ("", PartialDate(2026, 11), True),  # of before the fill, as far as anybody knows
        ("", PartialDate(2026, 11, 25), True),
        (AWAY, PartialDate(2026, 11, 24), True),
    ],
)
def test_a_test_of_what_never_left_lets_nothing_go_by_itself(
    shelf: Shelf, seen_by: str, sent: str, when: PartialDate, taken: bool
) -> None:
    """Once it is read as it is now, anybody enters the test."""
    if sent:
        shelf.texts["cylinders/RB-014.yaml"] = with_lines(GOOD, sent=sent)

    def tested() -> Act | Refusal:
        if not seen_by:
            one = Test(when, Method.HYDROSTATIC, "T123", stamp="11 T123 26")
            return requalify(now(shelf), ["RB-014"], one, TODAY)
        how = {"who": "T123", "done": when, "test": Method.HYDROSTATIC, "stamp": "11 T123 26"}
        return done_elsewhere(now(shelf), ["RB-014"], by=seen_by, on=TODAY, **how)

    act = tested()
    assert isinstance(act, Act) is (taken or seen_by == "MV"), act
    if isinstance(act, Refusal):
        assert "nothing says that it was away" in act.reasons[0]
        assert "`tankbook reading RB-014=0`" in act.reasons[0]
        shelf.do(read_gauges, [Shown("RB-014", psi(0))], by="JW", at=at(25))
        assert isinstance(tested(), Act)


OTHERS = "raised: [{on: 2026-11-22, at: '10:00', from: 0 psi, to: 4000 psi, source: '%s', by: %s}]"
OF_B1 = "2026-11-24T09:30:00+01:00,RB-015,fill,0 psi,2900 psi,,air,,,MV,,%s,,,,\n"
SAMPLE = (
    "  - {on: 2026-11-24, by: Lab, source: B1, standard: cga-grade-e, co: 1 ppm, result: pass}\n"
)


@pytest.mark.parametrize(
    ("source", "by", "bank", "more", "asked"),
    [
        ("elsewhere: Quay", "JW", "B1", "", True),
        ("elsewhere: Quay", "JW", "B2", "", True),
        ("elsewhere: Quay", "MV", "B1", "", False),
        ("elsewhere: Quay", "JW", "B1", SAMPLE, False),
        ("C1", "JW", "B1", "", False),
    ],
)
def test_a_bank_that_was_raised_with_asked_gas_passes_the_question_on(
    shelf: Shelf, source: str, by: str, bank: str, more: str, asked: bool
) -> None:
    """As what was filled from a cylinder of such gas does; through another bank too."""
    raised = (OTHERS % (source, by)).replace("[", "\n       [")
    text = BAD_AIR.replace("period: 10 years,\n", f"period: 10 years,\n     {raised},\n", 1)
    second = (
        "  - {name: B2, water_volume: 48 L, gas: air, period: 10 years,\n"
        "     raised: [{on: 2026-11-23, from: 0 psi, to: 3000 psi, source: B1, by: JW}]}\n"
    )
    shelf.texts["station.yaml"] = text.replace("compressor:", f"{second}compressor:", 1) + more
    shelf.texts["fills/2026.csv"] = HEADER + OF_B1 % bank
    told = why_banks_asked(shelf.book, bank, dt.datetime(2026, 11, 24, 9, tzinfo=dt.UTC))
    assert bool(told) is asked, told
    state = {b.name: bank_state(shelf.book, b, TODAY).asked for b in shelf.book.station.banks}
    assert bool(state[bank]) is asked
    why = filled_while_shut(shelf.book, "RB-015", TODAY)
    assert bool(why) is asked, why
    if asked:
        assert (
            "B1 was raised on 2026-11-22 from elsewhere: Quay, while the station was CLOSED" in why
        )


def test_work_that_is_ready_is_told_to_stay_where_its_air_is_bad(shelf: Shelf) -> None:
    """As it is when it is to be collected: nobody rings its owner for it."""
    job = "[{on: 2026-11-23, by: MV, work: [fill]}]"
    shelf.texts["cylinders/RB-014.yaml"] = with_lines(GOOD, jobs=job, use="customer", owner="C-1")
    good = BAD_AIR.replace("co: 14 ppm, result: fail", "co: 1 ppm, result: pass")
    for text, stays in ((BAD_AIR, True), (good, False)):
        shelf.texts["station.yaml"] = text
        act = done(shelf.book, ["RB-014"], by="MV", on=TODAY)
        assert isinstance(act, Act), act
        assert any("it does not leave as it is" in note for note in act.notes) is stays
