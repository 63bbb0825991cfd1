"""Bleeding a cylinder before its valve comes off."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

import acting
import pytest
from acting import TODAY, Shelf
from books import GOOD, with_lines
from loglines import book_of, fill

from tankbook.acts.away import back, refit, send
from tankbook.acts.bench import Read
from tankbook.acts.bleeding import BLEED_IT, TAKEN_FOR_FULL, bled_unsaid
from tankbook.acts.clean import clean
from tankbook.acts.correct import correct
from tankbook.acts.hold import hold, release
from tankbook.acts.inspect import Look, inspect
from tankbook.acts.pair import pair, unpair
from tankbook.acts.reading import Shown, drain, read_gauges
from tankbook.acts.reject import reject
from tankbook.acts.striking import Wrong
from tankbook.acts.valve import work_on_valve
from tankbook.acts.walk import passed_except, steps_for
from tankbook.ledger.apply import changes_of
from tankbook.records.edits import Act, Refusal
from tankbook.records.entries import StepFinding
from tankbook.records.kinds import is_empty
from tankbook.records.valve import ValveWork
from tankbook.records.words import (
    Bled,
    Outlet,
    SentFor,
    Service,
    Status,
    StepResult,
    ValveDone,
    ValveSent,
)
from tankbook.rules.bad_air import bad_air_of, fills_since_empty
from tankbook.rules.fill_history import NOTHING, contents_of, is_taken_for_full, let_out
from tankbook.rules.gate import may_fill
from tankbook.units import GaugePressure, PartialDate

THREADS = Read(neck_thread="3/4-14 NPSM", valve_thread="3/4-14 NPSM")
BY = {"by": "MV", "on": TODAY}
AWAY = {"to": "Northside", "for_": SentFor.REPAIR, **BY}


@pytest.fixture(name="shelf")
def _shelf() -> Shelf:
    return acting.shelf()


def looked(shelf: Shelf, bled: Bled | None, checklist: str = "internal") -> Act | Refusal:
    steps = steps_for(shelf.book.checklists[checklist], shelf["RB-014"])
    one = Look("RB-014", passed_except(steps, {}), THREADS, note="blue boot")
    return inspect(shelf.book, [one], checklist=checklist, bled=bled, **BY)


def test_no_flow_is_no_proof_that_it_is_empty(shelf: Shelf) -> None:
    act = shelf.do(lambda book, **_: looked(shelf, Bled.NO_FLOW))
    card = shelf["RB-014"]
    [held] = [h for h in card.held if h.bled]
    assert (held.why, held.bled, held.note) == (TAKEN_FOR_FULL, Bled.NO_FLOW, "blue boot")
    assert card.status is Status.HELD
    assert all(i.on.first != TODAY for i in card.inspected)
    assert "not inspected" in act.sentence
    assert "leave the valve on" in act.notes[0]
    assert "standing-held" in {r.code for r in may_fill(shelf.book, "RB-014", TODAY).refusals}
    again = looked(shelf, Bled.NO_FLOW)
    assert isinstance(again, Refusal)
    assert again.reasons == ("RB-014 is held for that already",)


@pytest.mark.parametrize("bled", [Bled.HEARD, Bled.LEFT_OPEN, None])
def test_a_look_inside_says_how_it_was_bled_or_is_asked(shelf: Shelf, bled: Bled | None) -> None:
    act = looked(shelf, bled)
    assert isinstance(act, Act)
    assert any(BLEED_IT in n for n in act.notes) == (bled is None)
    shelf.do(lambda book, **_: act)
    assert shelf["RB-014"].inspected[-1].bled is bled


def test_a_look_that_leaves_the_valve_on_is_not_bled_for(shelf: Shelf) -> None:
    said = looked(shelf, Bled.HEARD, "outside")
    assert isinstance(said, Refusal)
    assert "leaves the valve on" in said.reasons[0]
    unasked = looked(shelf, None, "outside")
    assert isinstance(unasked, Act)
    assert not any(BLEED_IT in n for n in unasked.notes)


def test_what_let_no_flow_be_heard_goes_as_if_full(shelf: Shelf) -> None:
    act = shelf.do(send, ["RB-014"], bled=Bled.NO_FLOW, **AWAY)
    assert act.notes[:-1] == (f"RB-014: {TAKEN_FOR_FULL}; say so to Northside in writing",)
    before = set(let_out(shelf.book, shelf["RB-014"]))
    assert TODAY not in before
    shelf.do(back, ["RB-014"], **BY)
    assert shelf["RB-014"].status is Status.HELD
    shelf.do(refit, ["RB-014"], **BY)
    assert set(let_out(shelf.book, shelf["RB-014"])) == before | {TODAY}


def test_what_is_sent_is_bled_before_its_valve_comes_off(shelf: Shelf) -> None:
    act = shelf.do(send, ["RB-014"], **AWAY)
    said = f"before the valve comes off, {BLEED_IT}; record it with --bled heard"
    assert act.notes[:-1] == (f"RB-014: {said}",)
    assert TODAY in set(let_out(shelf.book, shelf["RB-014"]))


HEADER = "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note\n"
BAD_AIR = """\
banks: [{name: B1, water_volume: 48 L, gas: air}]
compressor: {name: C1}
air_tests:
  - {on: 2026-10-12, by: Lab, source: C1, standard: cga-grade-e, result: pass}
  - {on: 2026-11-22, by: Lab, source: C1, standard: cga-grade-e, co: 14 ppm, result: fail}
  - {on: 2026-11-23, by: Lab, source: C1, standard: cga-grade-e, co: 1 ppm, result: pass}
"""
OF_C1 = "2026-11-20T09:30:00+01:00,RB-014,fill,,2900 psi,,air,,,MV,,C1,,,,\n"


@pytest.mark.parametrize("bled", [Bled.HEARD, None])
@pytest.mark.parametrize("deed", ["unpaired", "changed", "looked", "cleaned"])
def test_bad_air_is_let_go_only_where_somebody_says_how_it_was_bled(
    shelf: Shelf, deed: str, bled: Bled | None
) -> None:
    """It stays on record as bad air, or it is asked; never emptied unasked."""
    if deed == "unpaired":
        shelf.texts["cylinders/RB-017.yaml"] = GOOD.replace("K118204", "K118217")
        shelf.texts["sets/DB-01.yaml"] = "cylinders: [RB-014, RB-017]\nisolator: open\n"
    shelf.texts["station.yaml"] = BAD_AIR
    shelf.texts["fills/2026.csv"] = HEADER + OF_C1
    assert bad_air_of(shelf.book, shelf["RB-014"]) is not None
    match deed:
        case "unpaired":
            act = unpair(shelf.book, "DB-01", bled=bled, **BY)
        case "changed":
            day = PartialDate.of(TODAY)
            work = ValveWork(on=day, by="MV", did=ValveDone.CHANGED, bled=bled)
            act = work_on_valve(shelf.book, ["RB-014"], work, TODAY)
        case "looked":
            act = looked(shelf, bled)
        case _:
            act = clean(shelf.book, ["RB-014"], to=Service.NITROX, bled=bled, **BY)
    if isinstance(act, Refusal):
        assert bled is None
        assert "its valve came off" in act.reasons[0]
        assert "--bled heard" in act.reasons[0]
        return
    shelf.do(lambda book, **_: act)
    assert (bad_air_of(shelf.book, shelf["RB-014"]) is None) is (bled is not None)
    assert (str(contents_of(shelf.book, "RB-014").pressure) == "0 psi") is (bled is not None)


NOON = dt.datetime.fromisoformat("2026-11-25T12:00:00+01:00")
LOOKED = "{on: 2026-11-24, by: MV, checklist: internal, result: pass%s}"
CLEANED = "{on: 2026-11-24, by: MV, to: nitrox%s}"
SEEN = (
    "{on: 2026-11-24, by: Northside Test House, checklist: sticker-seen, result: pass, sticker: seen,"
    " checked: [inside, outside], seen_by: MV, seen_on: 2026-11-25%s}"
)
TESTED = "{on: 2026-11-24, method: hydrostatic, by: T123, stamp: 11 T123 26}"
GONE = "{on: 2026-11-24, by: MV, to: Northside, for: repair, back: 2026-11-25, refitted: 2026-11-25, refitted_by: MV%s}"
GOOD_AIR = BAD_AIR.replace("co: 14 ppm, result: fail", "co: 1 ppm, result: pass")


def suspect(key: str, entry: str, station: str = BAD_AIR) -> Shelf:
    """A shelf with a cylinder of bad air, and an entry that somebody wrote upon its card."""
    shelf = acting.shelf()
    shelf.texts["station.yaml"] = station
    shelf.texts["fills/2026.csv"] = HEADER + OF_C1
    shelf.texts["cylinders/RB-014.yaml"] = with_lines(GOOD, **{key: f"[{entry}]"})
    return shelf


@pytest.mark.parametrize(
    ("key", "entry", "goes"),
    [
        ("inspected", LOOKED % "", False),
        ("inspected", LOOKED % ", bled: heard", True),
        ("inspected", LOOKED % ", bled: valve-left-open", True),
        ("inspected", LOOKED.replace("by: MV", "by: nobody") % ", bled: heard", False),
        ("inspected", SEEN % "", False),
        ("cleaned", CLEANED % "", False),
        ("cleaned", CLEANED % ", bled: heard", True),
        ("cleaned", CLEANED.replace("nitrox", "air") % "", False),
        ("sent", GONE % "", False),
        ("sent", GONE % ", bled: no-flow", False),
        ("sent", GONE % ", bled: heard", True),
        ("requalified", TESTED, True),
    ],
)
def test_what_is_suspect_goes_by_no_work_of_which_nobody_says_how_it_was_bled(
    key: str, entry: str, goes: bool
) -> None:
    """However it came to be on record, and whatever is on record as its pressure then; of good gas
    such work leaves it empty all the same."""
    shelf = suspect(key, entry)
    assert (bad_air_of(shelf.book, shelf["RB-014"]) is None) is goes


def test_good_gas_goes_by_the_work_that_opens_a_cylinder() -> None:
    for key, entry in (
        ("inspected", LOOKED % ""),
        ("inspected", SEEN % ""),
        ("cleaned", CLEANED % ""),
        ("sent", GONE % ""),
        ("requalified", TESTED),
    ):
        shelf = suspect(key, entry, GOOD_AIR)
        assert str(contents_of(shelf.book, "RB-014").pressure) == "0 psi", entry


@pytest.mark.parametrize("way", ["drain", "correct"])
@pytest.mark.parametrize(
    ("key", "entry"),
    [("inspected", LOOKED % ""), ("inspected", SEEN % ""), ("cleaned", CLEANED % "")],
)
def test_what_nobody_said_was_bled_is_said_later(key: str, entry: str, way: str) -> None:
    shelf = suspect(key, entry)
    bad = bad_air_of(shelf.book, shelf["RB-014"])
    assert bad is not None
    assert bad.unbled == (f"`tankbook correct RB-014 {key} 2026-11-24 --set bled=heard --why WHY`",)
    if way == "drain":
        shelf.do(drain, [Shown("RB-014", NOTHING)], by="MV", at=NOON)
    else:
        heard = Wrong(key, "2026-11-24", "bled that day", {"bled": "heard"})
        shelf.do(correct, "RB-014", heard, now=NOON, **BY)
    assert bad_air_of(shelf.book, shelf["RB-014"]) is None


FULL = "2026-11-20T09:30:00+01:00,RB-014,fill,,2900 psi,,air,,,MV,,C1,,,,\n"
HEADER = "at,cylinder,act,from,to,temperature,gas,o2,he,by,analysed_by,source,position,override,voids,note\n"
NOON = dt.datetime(2026, 11, 25, 12, tzinfo=dt.UTC)
CHANGED = {"did": ValveDone.CHANGED, "outlet": Outlet.YOKE, "thread": "3/4-14 NPSM"}


@pytest.fixture(name="blocked")
def _blocked(shelf: Shelf) -> Shelf:
    """One that was full, and let no flow be heard."""
    shelf.texts["fills/2026.csv"] = HEADER + FULL
    shelf.do(lambda book, **_: looked(shelf, Bled.NO_FLOW))
    return shelf


def worked(shelf: Shelf, deed: str, bled: Bled | None) -> Act | Refusal:
    """Work for which the valve comes off."""
    match deed:
        case "looked":
            return looked(shelf, bled)
        case "cleaned":
            return clean(shelf.book, ["RB-014"], to=Service.NITROX, bled=bled, **BY)
        case "sent":
            return send(shelf.book, ["RB-014"], valve=ValveSent.OFF, bled=bled, **AWAY)
        case "paired":
            shelf.texts.pop("sets/DB-02.yaml", None)
            pressure = GaugePressure.of(3000, "psi")
            sides = ["RB-014", "RB-015"]
            return pair(shelf.book, "DB-07", sides, rating=pressure, bled=bled, **BY)
    entry = ValveWork(on=PartialDate.of(TODAY), by="MV", bled=bled, **CHANGED)
    return work_on_valve(shelf.book, ["RB-014"], entry, TODAY)


@pytest.mark.parametrize("how", [Bled.HEARD, Bled.LEFT_OPEN, Bled.UNDER_CONTROL])
@pytest.mark.parametrize("deed", ["looked", "cleaned", "sent", "paired", "changed"])
def test_work_on_what_let_no_flow_be_heard_says_how_it_was_let_out_since(
    blocked: Shelf, deed: str, how: Bled
) -> None:
    asked = worked(blocked, deed, None)
    assert isinstance(asked, Refusal)
    assert any("say how it was let out since: --bled heard" in r for r in asked.reasons)
    done = worked(blocked, deed, how)
    assert isinstance(done, Act), done
    texts = {path: text.encode() for path, text in blocked.texts.items()}
    for change in changes_of(texts.get, done):
        blocked.texts[change.path] = change.new.decode()
    assert not is_taken_for_full(blocked.book, "RB-014")
    left = contents_of(blocked.book, "RB-014").pressure
    assert left in {NOTHING, None}  # while it is away nothing is told


def test_what_a_gauge_shows_of_what_let_no_flow_be_heard_empties_nothing(blocked: Shelf) -> None:
    """A blocked valve shows nothing, however full it is: nobody is sent to open it."""
    before = contents_of(blocked.book, "RB-014")
    assert (str(before.pressure), before.no_flow) == ("2900 psi", True)
    act = blocked.do(read_gauges, [Shown("RB-014", NOTHING)], by="MV", at=NOON)
    assert TAKEN_FOR_FULL in act.notes[0]
    assert not any("looked inside before it is filled" in note for note in act.notes)
    assert contents_of(blocked.book, "RB-014") == before
    told = blocked.refuse(drain, [Shown("RB-014", NOTHING)], by="MV", at=NOON)
    assert "`tankbook release RB-014 --bled heard|under-control --why HOW`" in told
    codes = {r.code for r in may_fill(blocked.book, "RB-014", TODAY).refusals}
    assert codes == {"standing-held"}


@pytest.mark.parametrize("how", [Bled.HEARD, Bled.UNDER_CONTROL])
def test_what_let_no_flow_be_heard_is_released_once_it_was_let_out(
    blocked: Shelf, how: Bled
) -> None:
    """By somebody who says so, with nothing else done to it."""
    for bled in (None, Bled.NO_FLOW):
        blocked.refuse(release, ["RB-014"], why="it is empty", bled=bled, **BY)
    blocked.do(release, ["RB-014"], why="blockage cleared at the bench", bled=how, **BY)
    held = contents_of(blocked.book, "RB-014")
    assert (held.pressure, held.no_flow) == (NOTHING, False)
    blocked.refuse(release, ["RB-014"], why="again", bled=how, **BY)


@pytest.mark.parametrize(
    ("more", "full"),
    [
        ({}, True),
        ({"inspected": "[{on: 2026-11-23, by: MV, checklist: internal, result: pass}]"}, True),
        ({"cleaned": "[{on: 2026-11-23, by: MV, to: oxygen}]"}, True),
        ({"valve_work": "[{on: 2026-11-23, by: MV, did: changed}]"}, True),
        ({"sent": "[{on: 2026-11-23, by: MV, to: N, for: repair}]"}, True),
        ({"sent": "[{on: 2026-11-23, by: MV, to: N, for: repair, back: 2026-11-24}]"}, True),
        (
            {
                "sent": "[{on: 2026-11-23, by: MV, to: N, for: repair, back: 2026-11-24, refitted: "
                "2026-11-24, refitted_by: N}]"
            },
            False,
        ),
        ({"requalified": "[{on: 2026-11-23, method: hydrostatic, by: T123}]"}, False),
        ({"requalified": "[{on: 2026-11-23, method: ultrasonic, by: T123}]"}, True),
        ({"valve_work": "[{on: 2026-11-21, by: MV, did: changed, bled: heard}]"}, True),
        ({"valve_work": "[{on: 2026-11-23, by: MV, did: changed, bled: under-control}]"}, False),
    ],
)  # fmt: skip
def test_it_is_taken_for_full_until_somebody_says_how_it_was_let_out(
    more: dict[str, str], full: bool
) -> None:
    """As written by hand or told by others: no work and no gauge says so by itself."""
    held = f"[{{on: 2026-11-22, by: MV, why: '{TAKEN_FOR_FULL}', bled: no-flow}}]"
    shelf = acting.shelf()
    shelf.texts["cylinders/RB-014.yaml"] = with_lines(GOOD, held=held, **more)
    read = "2026-11-25T09:30:00+01:00,RB-014,reading,,0 psi,,,,,MV,,,,,,\n"
    shelf.texts["fills/2026.csv"] = HEADER + FULL.replace("-20T", "-22T") + read
    got = contents_of(shelf.book, "RB-014")
    assert got.no_flow is full
    assert is_empty(got.pressure) is not full
    assert bool(fills_since_empty(shelf.book, shelf["RB-014"])) is full


# --- no flow, told in words -----------------------------------------------------------------------

NONE_HEARD = (
    "no flow was heard, valve may be blocked",
    "no hiss when bled",
    "nothing came out",
    "no gas came out when the valve was opened",
    "it wouldn't bleed",
    "dip tube clogged",
)


def in_words(shelf: Shelf, step: str, result: str, note: str, **more: object) -> Act | Refusal:
    steps = steps_for(shelf.book.checklists["internal"], shelf["RB-014"])
    found = StepFinding(step=step, result=StepResult(result), note=note)
    one = Look("RB-014", passed_except(steps, {step: found}), THREADS)
    return inspect(shelf.book, [one], checklist="internal", **{**BY, **more})


@pytest.mark.parametrize("result", ["hold", "reject"])
@pytest.mark.parametrize("note", [*NONE_HEARD, "no hiss at all", "silent"])
def test_no_flow_told_at_the_step_that_looks_for_it_is_no_proof(
    shelf: Shelf, note: str, result: str
) -> None:
    """As where `--bled no-flow` says so: held as full, not inspected, asked of work after it."""
    shelf.texts["fills/2026.csv"] = HEADER + OF_C1
    act = shelf.do(lambda book, **_: in_words(shelf, "empty", result, note))
    [held] = [h for h in shelf["RB-014"].held if h.bled]
    assert (held.why, held.bled, note in (held.note or "")) == (TAKEN_FOR_FULL, Bled.NO_FLOW, True)
    assert "not inspected" in act.sentence
    contents = contents_of(shelf.book, "RB-014")
    assert (str(contents.pressure), contents.no_flow) == ("2900 psi", True)
    later = looked(shelf, None)
    assert isinstance(later, Refusal)
    assert "say how it was let out since" in later.reasons[0]
    assert isinstance(looked(shelf, Bled.HEARD), Act)


def test_whoever_heard_it_after_all_says_so_beside_the_words(shelf: Shelf) -> None:
    note = "no flow was heard at first, dip tube cleared"
    act = in_words(shelf, "empty", "hold", note, bled=Bled.HEARD)
    assert isinstance(act, Act)
    assert act.sentence.startswith("Inspected RB-014 by `internal`: hold")


def test_what_was_not_empty_yet_is_not_emptied_by_the_look(shelf: Shelf) -> None:
    shelf.texts["fills/2026.csv"] = HEADER + OF_C1
    shelf.do(lambda book, **_: in_words(shelf, "empty", "hold", "300 psi left in it"))
    contents = contents_of(shelf.book, "RB-014")
    assert (str(contents.pressure), contents.no_flow) == ("2900 psi", False)


@pytest.mark.parametrize("deed", [hold, reject])
@pytest.mark.parametrize("why", NONE_HEARD)
def test_whoever_sets_it_aside_for_no_flow_is_told_to_take_it_for_full(
    shelf: Shelf, deed: Callable[..., Act | Refusal], why: str
) -> None:
    shelf.texts["fills/2026.csv"] = HEADER + OF_C1
    ids = "RB-014" if deed is reject else ["RB-014"]
    act = shelf.do(deed, ids, why=why, **BY)
    assert any("DANGER" in n and "leave the valve on" in n for n in act.notes)
    assert contents_of(shelf.book, "RB-014").no_flow
    assert isinstance(looked(shelf, None), Refusal)
    if deed is hold:
        unsaid = release(shelf.book, ["RB-014"], why="valve cleared", **BY)
        assert isinstance(unsaid, Refusal)
        shelf.do(release, ["RB-014"], why="valve cleared", bled=Bled.HEARD, **BY)
        assert not contents_of(shelf.book, "RB-014").no_flow


@pytest.mark.parametrize(
    "why",
    [
        "no hiss at the O-ring any more, to be tried",
        "no hiss heard from the spindle after service",
        "no leak, no flow meter here to try it",
        "handwheel stiff",
        "nothing came out of the boot",
        "would not drain the hose",
    ],
)
def test_what_is_said_of_a_leak_or_of_something_else_is_no_word_of_bleeding(
    shelf: Shelf, why: str
) -> None:
    shelf.texts["fills/2026.csv"] = HEADER + OF_C1
    act = shelf.do(hold, ["RB-014"], why=why, **BY)
    assert not any("DANGER" in n for n in act.notes)
    assert not contents_of(shelf.book, "RB-014").no_flow


# --- a pass says how what is on record was let out --------------------------------------------------


@pytest.mark.parametrize(
    ("checklist", "from_", "asked"),
    [("internal", "2900 psi", True), ("internal", "0 psi", False), ("outside", "2900 psi", False)],
)
def test_a_look_inside_of_what_holds_gas_on_record_says_how_it_was_bled(
    shelf: Shelf, checklist: str, from_: str, asked: bool
) -> None:
    shelf.texts["fills/2026.csv"] = HEADER + OF_C1.replace("2900 psi", from_)
    got = looked(shelf, None, checklist)
    assert isinstance(got, Refusal) is asked, got
    if isinstance(got, Refusal):
        assert got.reasons[0].startswith(
            "RB-014: its valve came off, and 2900 psi is in it on record"
        )
        assert isinstance(looked(shelf, Bled.HEARD, checklist), Act)


@pytest.mark.parametrize("where", ["note", "step"])
@pytest.mark.parametrize("note", NONE_HEARD[:4])
def test_a_pass_whose_note_says_that_no_flow_was_heard_is_no_pass(
    shelf: Shelf, note: str, where: str
) -> None:
    shelf.texts["fills/2026.csv"] = HEADER + OF_C1
    steps = steps_for(shelf.book.checklists["internal"], shelf["RB-014"])
    found = {"empty": StepFinding(step="empty", result=StepResult.NOTE, note=note)}
    answers = passed_except(steps, found if where == "step" else {})
    one = Look("RB-014", answers, THREADS, note=note if where == "note" else "")
    act = shelf.do(lambda book, **_: inspect(book, [one], checklist="internal", **BY))
    assert "not inspected" in act.sentence
    assert is_taken_for_full(shelf.book, "RB-014")


def test_a_gauge_at_nothing_is_said_to_be_no_proof() -> None:
    """Its valve may be blocked: what is logged as empty stands open."""
    book = book_of(fill("2026-11-24", to="2900 psi"))
    [told] = bled_unsaid(book, ["A"], None, TODAY, None)
    assert "it stands open with nothing in it, log that first: `tankbook reading A=0`" in told
    assert "a gauge that shows nothing is no proof" in told
