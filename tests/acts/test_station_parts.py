"""Parts of the station: checked, failed, repaired, replaced; and what that opens or closes."""

from __future__ import annotations

import datetime as dt
from typing import Any

import acting
import pytest
from acting import TODAY, Shelf
from books import SETTINGS, make_book

from tankbook.acts.correct import correct
from tankbook.acts.station_parts import (
    change_gauge,
    check_gauge,
    check_machine,
    check_position,
    check_relief,
    check_whip,
    set_regulator,
)
from tankbook.acts.striking import Wrong
from tankbook.records.station import REPLACED, Station, masters_of, new_since
from tankbook.records.words import TestResult
from tankbook.rules.out_of_use import part_reasons, parts_out
from tankbook.units import GaugePressure, PartialDate

STATION = """\
banks:
  - name: B1
    water_volume: 48 L
    working_pressure: 5000 psi
    period: 10 years
    requalified: [{on: 2024-03, method: hydrostatic, by: T123}]
positions:
  - {name: P1, kind: enclosed}
  - {name: P2, kind: whip, whip: W2}
whips:
  - {name: W1, fitted: 2026-05}
  - {name: W2, fitted: 2026-05}
relief_valves:
  - {name: R1, set_at: 5000 psi, protects: [B1], checked: [{on: 2026-04-01}]}
gauges:
  - {name: G1, master: yes, checked: [{on: 2026-04-01, against: TG-2, reads: 3010 psi, true: 3000 psi}]}
  - {name: G2, range: 6000 psi, checked: [{on: 2026-04-01, against: TG-2, reads: 3010 psi, true: 3000 psi}]}
  - {name: G3, position: P1}
air_tests:
  - {on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass}
gauge_error: 60 psi
"""  # fmt: skip

BY = {"by": "MV", "on": TODAY}


@pytest.fixture(name="shelf")
def _shelf() -> Shelf:
    return acting.shelf(station=STATION)


def psi(value: float) -> GaugePressure:
    return GaugePressure.of(value, "psi")


def station(shelf: Shelf) -> Station:
    found = shelf.book.station
    assert found is not None
    return found


def out(shelf: Shelf) -> list[str]:
    return sorted(str(part) for part in parts_out(shelf.book, TODAY))


@pytest.mark.parametrize(
    ("reads", "note"),
    [
        (3040, "G1 is off by +40 psi, within 60 psi"),
        (2940, "G1 is off by -60 psi, within 60 psi"),
        (3061, "G1 is off by +61 psi, more than 60 psi: replace it, do not correct for it"),
        (
            2939,
            "G1 is off by -61 psi, more than 60 psi: replace it, do not correct for it; what was "
            "filled by it is fuller than it says: `tankbook recall --gauge G1`",
        ),
    ],
)
def test_a_gauge_that_is_off_too_far_is_replaced(reads: int, note: str, shelf: Shelf) -> None:
    act = shelf.do(check_gauge, "G1", reads=psi(reads), true=psi(3000), against="TG-2", **BY)
    assert act.notes[0] == note
    assert station(shelf).gauges[0].checked[-1].reads == psi(reads)
    assert ("station" in out(shelf)) is (reads < 2940)


def test_another_gauge_that_was_checked_becomes_the_master(shelf: Shelf) -> None:
    check = {"reads": psi(2750), "true": psi(2950), "against": "TG-2"}
    act = shelf.do(check_gauge, "G1", **check, **BY)
    assert act.notes[1].startswith("the station is CLOSED: the master gauge G1 reads 200 psi below")
    assert "never compared" in shelf.refuse(change_gauge, "G3", master=True, **BY)
    act = shelf.do(change_gauge, "G2", master=True, **BY)
    assert act.sentence == "Gauge G2 is the master gauge"
    assert act.notes == ("the station is open again",)
    assert [g.name for g in masters_of(station(shelf))] == ["G2"]
    assert out(shelf) == ["gauge G1"]


def test_a_new_gauge_is_compared_before_it_is_trusted(shelf: Shelf) -> None:
    check = {"true": psi(2950), "against": "TG-2"}
    shelf.do(check_gauge, "G1", reads=psi(2750), **check, **BY)
    act = shelf.do(change_gauge, "G1", new=True, **BY)
    assert act.notes[0].startswith("compare it with a test gauge")
    assert "station" in out(shelf)  # the check may be of the new one: both are of today
    shelf.do(check_gauge, "G1", reads=psi(2960), **check, **BY)
    assert out(shelf) == []


PARTS: dict[str, tuple[Any, tuple[str, ...], list[str]]] = {
    "whip": (check_whip, ("W2",), ["position P2", "whip W2"]),
    "position": (check_position, ("P1",), ["position P1"]),
    "relief": (check_relief, ("R1",), ["bank B1", "relief valve R1", "station"]),
    "regulator": (set_regulator, (), ["regulator", "station"]),
}


STAMP = {"relief": {"set_at": psi(5000)}}
"""What is said of one that is new."""


@pytest.mark.parametrize("what", PARTS)
def test_what_failed_is_out_until_it_is_mended(what: str, shelf: Shelf) -> None:
    plan, name, lost = PARTS[what]
    act = shelf.do(plan, *name, failed="cut to the braid", **BY)
    assert "FAILED: cut to the braid" in act.sentence
    assert "have it repaired" in act.notes[0]
    assert out(shelf) == lost
    act = shelf.do(plan, *name, note="looks sound", **BY)
    assert "a check that passes does not mend that" in act.notes[0]
    assert out(shelf) == lost
    shelf.do(plan, *name, repaired="-", **BY)  # which says nothing
    assert out(shelf) == lost
    act = shelf.do(plan, *name, repaired="a new end fitting", **BY)
    assert "repaired: a new end fitting" in act.sentence
    assert out(shelf) == []


@pytest.mark.parametrize(
    ("name", "part"), [("C1", "compressor C1"), ("c2", "compressor C2"), ("bo1", "booster BO1")]
)
def test_a_machine_that_failed_is_out_until_it_is_repaired(name: str, part: str) -> None:
    machines = "compressors: [{name: C1}, {name: C2}]\nboosters: [{name: BO1, from: [B1]}]\n"
    shelf = acting.shelf(station=STATION + machines)
    act = shelf.do(check_machine, name, failed="third stage leaks oil", **BY)
    assert act.sentence == f"Checked {part}: FAILED: third stage leaks oil"
    assert act.notes[0] == f"shut {part} down and have it repaired, then say --repaired WHAT"
    assert part in out(shelf)
    act = shelf.do(check_machine, name, note="looks sound", **BY)
    assert "a check that passes does not mend that: say --repaired WHAT" in act.notes[0]
    assert part in out(shelf)
    told = shelf.refuse(check_machine, name, failed="cut", repaired="mended", **BY)
    assert told == "it failed, or was repaired, or is new: give one of them"
    for said in ("nothing", "not yet", "part ordered", "will be fitted on Monday"):
        act = shelf.do(check_machine, name, repaired=said, **BY)
        assert "say --repaired WHAT" in act.notes[0]
        assert part in out(shelf)
    shelf.do(check_machine, name, repaired="a new gasket", **BY)
    assert part not in out(shelf)
    assert "NAME: C9 is not in station.yaml" in shelf.refuse(check_machine, "C9", **BY)


@pytest.mark.parametrize("what", [w for w in PARTS if w != "position"])
def test_what_is_new_mends_it_too(what: str, shelf: Shelf) -> None:
    plan, name, lost = PARTS[what]
    shelf.do(plan, *name, failed="cut", **BY)
    act = shelf.do(plan, *name, new=True, **STAMP.get(what, {}), **BY)
    assert act.sentence.startswith("Fitted a new ")
    assert out(shelf) == []
    kinds = {"whip": "whips", "relief": "relief_valves"}
    part = getattr(station(shelf), kinds[what])[-1] if what in kinds else station(shelf).regulator
    assert new_since(part) == PartialDate.of(TODAY)
    last = part.checked[-1]
    assert (last.result, last.repaired) == (TestResult.PASS, REPLACED)
    shelf.do(plan, *name, failed="cut again", **BY)  # the new one, on the day it was fitted
    assert out(shelf) == lost


@pytest.mark.parametrize("what", PARTS)
def test_one_thing_is_said_at_a_time(what: str, shelf: Shelf) -> None:
    plan, name, _ = PARTS[what]
    told = shelf.refuse(plan, *name, failed="cut", repaired="mended", **BY)
    assert told == "it failed, or was repaired, or is new: give one of them"
    assert shelf.refuse(plan, *name, failed="two\nlines", **BY)


def test_a_regulator_of_which_nothing_is_said(shelf: Shelf) -> None:
    assert "nothing is said of it" in shelf.refuse(set_regulator, **BY)
    act = shelf.do(set_regulator, psi(3000), note="lifts at once", **BY)
    assert act.sentence == "Fill regulator set to 3000 psi; Checked fill regulator: passed"


@pytest.mark.parametrize(
    ("said", "shut"),
    [
        ({"lifted": psi(5150)}, False),  # 3 % above 5000
        ({"lifted": psi(5151)}, True),
        ({"lifted": psi(4500)}, False),
        ({"set_at": psi(5000)}, False),
        ({"set_at": psi(5001)}, True),
        (
            {"set_at": psi(5500), "protects": ["panel"], "note": "B1 has its own"},
            True,
        ),  # of no rating: the strongest mark counts
        ({"set_at": psi(5500), "protects": ["B1", "panel"]}, True),
    ],
)
def test_a_relief_valve_protects_the_weakest(said: Any, shut: bool, shelf: Shelf) -> None:
    shelf.do(check_relief, "R1", **said, **BY)
    assert ("station" in out(shelf)) is shut


@pytest.mark.parametrize("what", [w for w in PARTS if w != "position"])
def test_a_renewal_that_is_struck_out_mends_nothing(what: str, shelf: Shelf) -> None:
    """The day it was new is of that entry, and goes with it."""
    plan, name, lost = PARTS[what]
    early, late = dt.date(2026, 11, 10), dt.date(2026, 11, 20)
    lists = {"whip": "W2.checked", "relief": "R1.checked", "regulator": "regulator.checked"}
    shelf.do(plan, *name, new=True, **STAMP.get(what, {}), by="MV", on=early)
    shelf.do(plan, *name, failed="cut", by="MV", on=dt.date(2026, 11, 15))
    shelf.do(plan, *name, new=True, **STAMP.get(what, {}), by="MV", on=late)
    assert out(shelf) == []
    wrong = Wrong(lists[what], str(late), "it was another one that was renewed")
    now = dt.datetime.combine(TODAY, dt.time(12), dt.UTC)
    shelf.do(correct, "station", wrong, now=now, **BY)
    assert out(shelf) == lost
    of = {"whip": lambda s: s.whips[-1], "relief": lambda s: s.relief_valves[-1]}
    part = of[what](station(shelf)) if what in of else station(shelf).regulator
    assert part is not None
    assert new_since(part) == PartialDate.of(early)
    shelf.do(
        plan, *name, new=True, **STAMP.get(what, {}), by="MV", on=late
    )  # and again, of that very day
    assert out(shelf) == []


def test_an_earlier_renewal_written_down_late_makes_nothing_older(shelf: Shelf) -> None:
    for day in (20, 10):
        shelf.do(check_whip, "W2", new=True, by="MV", on=dt.date(2026, 11, day))
    assert new_since(station(shelf).whips[-1]) == PartialDate.of(dt.date(2026, 11, 20))


@pytest.mark.parametrize(
    ("said", "shut"),
    [
        ({"repaired": "new spring"}, False),
        ({"new": True, "set_at": psi(5000)}, False),
        ({"lifted": psi(5000)}, True),  # that it lifted in time another day mends nothing
        ({"repaired": "new spring", "lifted": psi(5300)}, True),
        ({"failed": "it leaks", "set_at": psi(4900)}, True),
        ({"set_at": psi(5000)}, True),  # as it was
    ],
)
def test_a_valve_that_lifted_late_is_mended(said: Any, shut: bool, shelf: Shelf) -> None:
    shelf.do(check_relief, "R1", lifted=psi(5300), **BY)
    assert "station" in out(shelf)
    shelf.do(check_relief, "R1", **said, **BY)
    assert ("station" in out(shelf)) is shut


def test_what_is_marked_on_a_new_part_is_asked(shelf: Shelf) -> None:
    asked = shelf.refuse(check_relief, "R1", new=True, **BY)
    assert "has a stamp of its own (the old one was set to 5000 psi)" in asked
    assert "`tankbook station relief R1 --new --set-at PRESSURE`" in asked
    act = shelf.do(check_whip, "W2", new=True, **BY)
    assert "`tankbook station whip W2 --rating PRESSURE`" in " ".join(act.notes)
    act = shelf.do(check_whip, "W2", new=True, rating=psi(4000), **BY)
    assert "--rating" not in " ".join(act.notes)
    assert rated(shelf) == psi(4000)
    asked = shelf.refuse(check_whip, "W2", new=True, **BY)
    assert "(the old one's was 4000 psi): `tankbook station whip W2 --new --rating" in asked


def rated(shelf: Shelf) -> GaugePressure | None:
    return next(w.rating for w in station(shelf).whips if w.name == "W2")


def test_no_rating_of_a_whip_is_raised_in_passing(shelf: Shelf) -> None:
    shelf.do(check_whip, "W2", rating=psi(4000), **BY)  # nobody had written it down
    for said in ({}, {"repaired": "new end"}, {"failed": "it leaks"}):
        told = shelf.refuse(check_whip, "W2", rating=psi(9000), **said, **BY)
        assert "W2 is rated 4000 psi, by its record" in told
    # one that is lower, or the same, is no more than is known
    act = shelf.do(check_whip, "W2", rating=psi(3000), **BY)
    assert act.sentence.endswith("rated 3000 psi, not 4000 psi")
    anybody = {"by": "KD", "on": TODAY}
    shelf.texts["tankbook.yaml"] = SETTINGS.replace("people:\n", "people:\n  KD: {}\n")
    why = {"rating": psi(4000), "note": "read amiss: 4000 is on the ferrule"}
    assert "let somebody certified do it" in shelf.refuse(check_whip, "W2", **why, **anybody)
    assert rated(shelf) == psi(3000)
    shelf.do(check_whip, "W2", **why, **BY)
    assert rated(shelf) == psi(4000)
    shelf.do(check_whip, "W2", new=True, rating=psi(5000), **anybody)
    assert rated(shelf) == psi(5000)


def test_a_valve_that_was_set_lower_is_asked_where_it_lifts_since(shelf: Shelf) -> None:
    shelf.do(check_relief, "R1", lifted=psi(5100), by="MV", on=dt.date(2026, 11, 1))
    act = shelf.do(check_relief, "R1", set_at=psi(4500), **BY)
    assert "repaired: set from 5000 psi to 4500 psi" in act.sentence
    assert out(shelf) == []
    shelf.do(check_relief, "R1", lifted=psi(4700), **BY)
    assert "station" in out(shelf)
    # but that mends nothing of one that failed
    shelf.do(check_relief, "R1", new=True, set_at=psi(4500), **BY)
    shelf.do(check_relief, "R1", failed="it leaks", **BY)
    shelf.do(check_relief, "R1", set_at=psi(4000), **BY)
    assert "station" in out(shelf)


ANYBODY = SETTINGS.replace("people:\n", "people:\n  KD: {}\n")


def test_what_a_valve_protects_is_not_taken_off_it_in_passing(shelf: Shelf) -> None:
    shelf.texts["tankbook.yaml"] = ANYBODY
    anybody = {"by": "KD", "on": TODAY}
    told = shelf.refuse(check_relief, "R1", set_at=psi(6000), protects=["panel"], **BY)
    assert "nothing else is said to protect B1: name it with the rest, --protects B1" in told
    told = shelf.refuse(check_relief, "R1", protects=["panel"], note="its own", **anybody)
    assert "let somebody certified do it" in told
    told = shelf.refuse(check_relief, "R1", set_at=psi(6000), protects=["Nowhere"], **BY)
    assert "--protects: the station has no Nowhere; write one of B1, P1," in told
    # what the answers name does
    shelf.do(check_relief, "R1", set_at=psi(4900), protects=["panel", "b1"], **anybody)
    shelf.do(check_relief, "R1", protects=["panel"], note="B1 has its own, no label", **BY)
    assert station(shelf).relief_valves[0].protects == ("panel",)
    assert out(shelf) == []


def test_what_a_valve_protects_is_said_once_and_typed_as_told() -> None:
    """Of one valve that does not say, what no other protects is named as it is typed; once the file
    says it, no mend of the valve asks for it again."""
    text = STATION.replace(
        "{name: R1, set_at: 5000 psi, protects: [B1], checked: [{on: 2026-04-01}]}",
        "{name: R1, set_at: 5000 psi, checked: [{on: 2026-04-01}]}\n"
        "  - {name: R2, set_at: 3400 psi, protects: [P1], checked: [{on: 2026-04-01}]}",
    )
    shelf = acting.shelf(station=text)
    (told,) = {r.mend for r in part_reasons(shelf.book, TODAY) if "relief valve" in r.text}
    assert told == "`tankbook station relief R1 --protects B1`, where it protects that"
    shelf.do(check_relief, "R1", protects=["B1"], **BY)
    assert out(shelf) == []
    for said in (
        {"failed": "stuck"},
        {"repaired": "spring changed"},
        {"new": True, "set_at": psi(4900)},
    ):
        shelf.do(check_relief, "R1", **said, **BY)
    assert (station(shelf).relief_valves[0].protects, out(shelf)) == (("B1",), [])


def test_what_protects_nothing_that_is_said_is_not_set_above_all(shelf: Shelf) -> None:
    shelf.texts["station.yaml"] = STATION.replace(", protects: [B1]", "")
    told = shelf.refuse(check_relief, "R1", set_at=psi(5001), **BY)
    assert "`tankbook station relief R1 --set-at PRESSURE --protects PART` says both" in told
    shelf.do(check_relief, "R1", set_at=psi(5000), **BY)
    shelf.do(check_relief, "R1", set_at=psi(5001), protects=["B1"], **BY)
    assert "station" in out(shelf)


def test_a_setting_above_the_weakest_part_says_what_is_out_by_it(shelf: Shelf) -> None:
    act = shelf.do(check_relief, "R1", set_at=psi(5001), **BY)
    assert "R1 is set at 5001 psi, above the 5000 psi of B1" in " ".join(act.notes)
    assert "set-at PRESSURE`" in " ".join(act.notes)


@pytest.mark.parametrize(("tried", "shut"), [(None, True), (psi(5050), False), (psi(5200), True)])
def test_a_valve_that_lifted_late_is_tried_after_it_is_set(
    tried: GaugePressure | None, shut: bool, shelf: Shelf
) -> None:
    """At 4999 psi it lifts as late as it did at 5000."""
    shelf.do(check_relief, "R1", lifted=psi(5300), **BY)
    shelf.do(check_relief, "R1", set_at=psi(4999), lifted=tried, **BY)
    assert ("station" in out(shelf)) is shut


WRITTEN = "{on: %s, by: MV, repaired: a new one was fitted%s}"
STRUCK = ", void: {on: 2026-11-21, by: MV, why: it was another}"


@pytest.mark.parametrize(
    ("fitted", "entries", "since"),
    [
        ("2026-03-12", "", "2026-03-12"),
        ("2026-03-12", WRITTEN % ("2026-11-20", ""), "2026-11-20"),
        # what was written of it by hand stands again
        ("2026-03-12", WRITTEN % ("2026-11-20", STRUCK), "2026-03-12"),
        ("2026-03-12", WRITTEN % ("2026-02-01", ""), "2026-03-12"),
        ("2026-11", WRITTEN % ("2026-11-20", ""), "2026-11-20"),  # which says more than the month
        # nobody knows whether the month is of that one: it counts for nothing
        ("2026-11", WRITTEN % ("2026-11-20", STRUCK), None),
        ("2026-12", WRITTEN % ("2026-11-20", ""), "2026-12"),
        ("2026-11-20", WRITTEN % ("2026-11-20", STRUCK), None),
        (
            "2026-11-20",
            WRITTEN % ("2026-11-20", STRUCK) + ", " + WRITTEN % ("2026-11-10", ""),
            "2026-11-10",
        ),
        ("", WRITTEN % ("2026-11-20", ""), "2026-11-20"),
        ("", WRITTEN % ("2026-11-20", STRUCK), None),
    ],
)
def test_since_when_a_part_is_new(fitted: str, entries: str, since: str | None) -> None:
    written = f", fitted: {fitted}" if fitted else ""
    made = make_book({}, station=f"whips: [{{name: W1{written}, checked: [{entries}]}}]\n")
    assert made.station
    assert new_since(made.station.whips[0]) == (PartialDate.parse(since) if since else None)


@pytest.mark.parametrize(
    ("fitted", "renewed", "since"),
    [
        ("2026-03-12", "", "2026-03-12"),
        ("2026-03-12", "{on: 2026-11-20, by: MV}", "2026-11-20"),
        ("2026-03-12", f"{{on: 2026-11-20, by: MV{STRUCK}}}", "2026-03-12"),
        ("2026-11", f"{{on: 2026-11-20, by: MV{STRUCK}}}", None),
        ("", "{on: 2026-11-20}, {on: 2026-11-10}", "2026-11-20"),
    ],
)
def test_since_when_a_gauge_is_new(fitted: str, renewed: str, since: str | None) -> None:
    written = f", fitted: {fitted}" if fitted else ""
    made = make_book({}, station=f"gauges: [{{name: G1{written}, renewed: [{renewed}]}}]\n")
    assert made.station
    assert new_since(made.station.gauges[0]) == (PartialDate.parse(since) if since else None)


BEFORE = {"by": "MV", "on": TODAY - dt.timedelta(days=3)}


def test_a_gauge_renewed_is_an_entry_that_is_struck_out(shelf: Shelf) -> None:
    """What the old one was compared at stays in the file, and is back with it."""
    check = {"true": psi(2950), "against": "TG-2"}
    shelf.do(check_gauge, "G1", reads=psi(2750), **check, **BEFORE)
    shut = out(shelf)
    assert "station" in shut
    act = shelf.do(change_gauge, "G1", new=True, note="needle sticks", **BY)
    assert act.sentence == "Fitted a new gauge G1: needle sticks"
    gauge = station(shelf).gauges[0]
    assert [(e.on, e.by, e.note) for e in gauge.renewed] == [(TODAY, "MV", "needle sticks")]
    assert len(gauge.checked) == 2
    assert gauge.fitted is None
    assert "gauge G1" not in out(shelf)
    assert "not compared since it was new, 2026-11-25" in shelf.refuse(
        change_gauge, "G1", master=True, **BY
    )
    now = dt.datetime.combine(TODAY, dt.time(12), dt.UTC)
    strike = Wrong("G1.renewed", "", "it was another gauge", {})
    shelf.do(correct, "station", strike, by="MV", on=TODAY, now=now)
    assert out(shelf) == shut


def test_a_note_of_a_gauge_is_of_a_new_one(shelf: Shelf) -> None:
    assert "give it with --new" in shelf.refuse(change_gauge, "G2", master=True, note="x", **BY)


def test_two_gauges_of_one_tail_are_renewed_apart() -> None:
    both = STATION.replace("name: G2,", "name: PG1,")
    found = acting.shelf(station=both)
    found.do(change_gauge, "PG1", new=True, **BY)
    assert [g.name for g in station(found).gauges if g.renewed] == ["PG1"]
    found.do(change_gauge, "G1", new=True, **BY)
    assert [g.name for g in station(found).gauges if g.renewed] == ["G1", "PG1"]


# --- what is repaired, and by whom ---------------------------------------------------------------

CREW = SETTINGS.replace("people:\n", "people:\n  TO: {role: bench}\n")
BURST = ["burst at the crimp", "cut to the braid", "bubble in the cover", "end corroded", "bulging",
         "leaks", "O-ring leaks and the hose is cut", "knob broke, O-ring leaks",
         "spindle stuck, O-ring leaks", "O-ring leaks; drops pressure", "O-ring leaks spindle stuck",
         "knob came off", "bleed valve broke", "seal leaks because the body cracked",
         "joint fuit et ressort cassé", "O-ring leaks, gauge dead"]  # fmt: skip


@pytest.mark.parametrize("why", BURST)
@pytest.mark.parametrize(
    ("plan", "name"),
    [(check_whip, ["W1"]), (check_position, ["P1"]), (check_relief, ["R1"]), (set_regulator, [])],
)
def test_what_is_more_than_a_seal_is_repaired_by_somebody_certified(
    why: str, plan: Any, name: list[str]
) -> None:
    shelf = acting.shelf(station=STATION)
    shelf.texts["tankbook.yaml"] = CREW
    shelf.do(plan, *name, failed=why, by="TO", on=TODAY)
    told = shelf.refuse(plan, *name, repaired="taped", by="TO", on=TODAY)
    assert f"failed on {TODAY} ({why}), which is more than a seal" in told
    assert "let somebody certified do it (--by)" in told
    assert ("--new" in told) is (plan is not check_position)
    shelf.do(plan, *name, repaired="put right, tested", by="MV", on=TODAY)


@pytest.mark.parametrize(
    ("plan", "name"),
    [(check_whip, ["W1"]), (check_position, ["P1"]), (check_relief, ["R1"]), (set_regulator, [])],
)
def test_what_is_repaired_had_failed_written_down_or_not(plan: Any, name: list[str]) -> None:
    """Somebody uncertified does not say that it holds; nor does their next check. That it failed
    they do say, and then it is out of use; of a seal they say both."""
    shelf = acting.shelf(station=STATION)
    shelf.texts["tankbook.yaml"] = CREW
    told = shelf.refuse(plan, *name, repaired="taped", by="TO", on=TODAY)
    assert "is not on record as failed, and `taped` is more than a seal" in told
    assert "let somebody certified do it (--by)" in told
    assert ("--new" in told) is (plan is not check_position)
    shelf.do(plan, *name, repaired="new O-ring", by="TO", on=TODAY)
    shelf.do(plan, *name, repaired="new end crimped on", by="MV", on=TODAY)
    assert parts_out(shelf.book, TODAY) == set()
    shelf.do(plan, *name, failed="chafed", by="TO", on=TODAY)
    assert parts_out(shelf.book, TODAY)


SEALS = ["leaking O-ring at the fitting", "seal leaks", "bleed knob stiff", "leaks, O-ring",
         "O-ring leaks and hisses", "O-ring at the yoke, leaks slowly", "Dichtung undicht"]  # fmt: skip


@pytest.mark.parametrize("why", SEALS)
def test_a_seal_is_changed_by_whoever_keeps_the_station(why: str) -> None:
    shelf = acting.shelf(station=STATION)
    shelf.texts["tankbook.yaml"] = CREW
    shelf.do(check_whip, "W1", failed=why, by="TO", on=TODAY)
    shelf.do(check_whip, "W1", repaired="new O-ring", by="TO", on=TODAY)
    assert parts_out(shelf.book, TODAY) == set()


@pytest.mark.parametrize(
    ("plan", "name"), [(check_position, ["P1"]), (check_relief, ["R1"]), (set_regulator, [])]
)
def test_a_new_seal_answers_nothing_that_failed_before_it(plan: Any, name: list[str]) -> None:
    shelf = acting.shelf(station=STATION)
    shelf.texts["tankbook.yaml"] = CREW
    shelf.do(plan, *name, failed="spindle stuck", by="TO", on=TODAY)
    shelf.do(plan, *name, failed="O-ring leaks", by="TO", on=TODAY)
    told = shelf.refuse(plan, *name, repaired="new O-ring", by="TO", on=TODAY)
    assert f"failed on {TODAY} (spindle stuck), which is more than a seal" in told
    shelf.do(plan, *name, repaired="new spindle, O-ring", by="MV", on=TODAY)


def test_a_hose_is_replaced_where_nobody_is_certified() -> None:
    shelf = acting.shelf(station=STATION)
    shelf.texts["tankbook.yaml"] = SETTINGS.split("people:")[0]
    shelf.do(check_whip, "W1", failed="burst", by="TO", on=TODAY)
    told = shelf.refuse(check_whip, "W1", repaired="taped", by="TO", on=TODAY)
    assert "a new one is fitted with --new" in told
    shelf.do(check_whip, "W1", new=True, by="TO", on=TODAY)
    assert parts_out(shelf.book, TODAY) == set()


def test_a_valve_that_lifted_late_did_not_pass(shelf: Shelf) -> None:
    act = shelf.do(check_relief, "R1", lifted=psi(5200), **BY)
    assert act.sentence == "Checked relief valve R1: LIFTED LATE, at 5200 psi"
    again = shelf.do(check_relief, "R1", lifted=psi(5000), **BY)
    assert again.sentence == "Checked relief valve R1: passed, lifted at 5000 psi"
