"""Bleeding a cylinder before its valve comes off."""

from __future__ import annotations

import datetime as dt

import acting
import pytest
from acting import TODAY, Shelf
from books import GOOD, with_lines

from tankbook.acts.away import back, refit, send
from tankbook.acts.bench import Read
from tankbook.acts.bleeding import BLEED_IT, TAKEN_FOR_FULL
from tankbook.acts.clean import clean
from tankbook.acts.correct import correct
from tankbook.acts.inspect import Look, inspect
from tankbook.acts.pair import unpair
from tankbook.acts.reading import Shown, drain
from tankbook.acts.striking import Wrong
from tankbook.acts.valve import work_on_valve
from tankbook.acts.walk import passed_except, steps_for
from tankbook.records.edits import Act, Refusal
from tankbook.records.valve import ValveWork
from tankbook.records.words import Bled, SentFor, Service, Status, ValveDone
from tankbook.rules.bad_air import bad_air_of
from tankbook.rules.fill_history import NOTHING, contents_of, let_out
from tankbook.rules.gate import may_fill
from tankbook.units import PartialDate

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
        assert "nobody says how that was let out: --bled heard" in act.reasons[0]
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
