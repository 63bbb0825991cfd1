"""From the records to a session: what is taken over, what is assumed and told."""

from __future__ import annotations

import datetime as dt
from typing import Any

import books
import pytest
from changing import replace

from tankbook.filling import PlanError, plan
from tankbook.filling.prepare import prepare
from tankbook.filling.wish import Prepared, QueueEntry, Wish
from tankbook.gas import AIR, Gas, at_temperature
from tankbook.records.words import Isolator, Material, PositionKind
from tankbook.units import FreeGasFlow, GaugePressure, Temperature

AIR_GAS = Gas.parse("air")
STATION = """
ambient: 60 degF
fill_rate: 300 psi/min
open_whip: when-positions-are-full
banks:
  - {name: B1, water_volume: 48 L, working_pressure: 5000 psi, gas: air, grade: oxygen,
     period: 10 years, requalified: [{on: 2024-03, method: hydrostatic, by: T123}],
     readings: [{on: 2026-11-24, pressure: 4400 psi}]}
  - {name: B9, water_volume: 48 L, period: 10 years,
     requalified: [{on: 2024-03, method: hydrostatic, by: T123}]}
compressor: {name: C1, delivery: 6.5 cuft/min, max_pressure: 5000 psi}
positions: [{name: P1, kind: enclosed, max_diameter: 8 in}, {name: P2, kind: whip}]
gauges:
  - {name: G1, master: yes, checked: [{on: 2026-04-01, against: T, reads: 3100 psi, true: 3000 psi}]}
  - {name: G2, position: P1, checked: [{on: 2026-04-01, against: T, reads: 3040 psi, true: 3000 psi}]}
gauge_error: 60 psi
air_tests: [{on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass}]
"""
LOG = """
at=2026-11-20T09:30:00+01:00; cylinder=RB-014; act=fill; to=3000 psi; temperature=80 degF; gas=air; by=MV; source=B1
at=2026-11-25T09:30:00+01:00; cylinder=RB-015; act=fill; to=3000 psi; gas=air; by=MV; source=B1
"""
DRAINED = "at=2026-11-21T09:30:00+01:00; cylinder=RB-014; act=drain; to=500 psi; by=MV\n"


def psi(value: float) -> GaugePressure:
    return GaugePressure.of(value, "psi")


def prepared(
    *queue: QueueEntry,
    texts: dict[str, str] | None = None,
    station: str = STATION,
    log: str = LOG,
    sets: dict[str, str] | None = None,
    **more: Any,
) -> Prepared:
    cylinders = {
        "RB-014": books.GOOD,
        "RB-015": books.GOOD.replace("K118204", "K118207"),
        **(texts or {}),
    }
    book = books.make_book(cylinders, station=station, log=log, sets=sets)
    wish = Wish(gas=AIR_GAS, queue=queue or (QueueEntry("RB-014", psi(500)),), unit="psi")
    return prepare(book, books.TODAY, replace(wish, **more))


def test_the_station_is_taken_over() -> None:
    session = prepared().session
    assert session is not None
    assert [(b.label, b.reading) for b in session.banks] == [("B1", psi(4400))]
    assert [p.kind for p in session.positions] == [PositionKind.ENCLOSED, PositionKind.WHIP]
    assert session.policy.open_whip
    assert session.policy.non_return_valves is None
    assert session.compressor is not None
    assert session.compressor.delivery == FreeGasFlow.of(6.5, "cuft/min")
    assert [g.label for g in session.gauges] == ["G2 at P1"]
    assert not session.oxygen_grade  # the compressor's air is of no recorded grade


@pytest.mark.parametrize("own", [2800, 2930, 2970, 3000, 3040, 3070, 3200])
@pytest.mark.parametrize("master", [2960, 3000, 3050, 3100])
def test_no_cylinder_is_read_by_a_gauge_that_is_off(own: int, master: int) -> None:
    """One that reads too high was read on, and what it called full was short by what it is off."""
    reads = STATION.replace("reads: 3040 psi", f"reads: {own} psi")
    session = prepared(station=reads.replace("reads: 3100 psi", f"reads: {master} psi")).session
    assert session is not None
    panel = "G1" if abs(master - 3000) <= 60 else ""
    wanted = {"P1": "G2" if abs(own - 3000) <= 60 else panel, "P2": panel}
    assert session.watched == {name: gauge for name, gauge in wanted.items() if gauge}


def test_without_the_compressor_a_bank_of_oxygen_grade_keeps_clean_states() -> None:
    session = prepared(compressor=False).session
    assert session is not None
    assert session.compressor is None
    assert session.oxygen_grade


def test_the_cylinder_is_as_recorded() -> None:
    text = books.GOOD + "mass: 14.2 kg\ndiameter: 184 mm\nlength: 660 mm\n"
    session = prepared(texts={"RB-014": text}).session
    assert session is not None
    vessel = session.vessels[0]
    assert vessel.mass is not None
    assert vessel.mass.kg == pytest.approx(14.2)
    assert vessel.diameter is not None
    assert vessel.diameter.mm == pytest.approx(184)
    assert vessel.material is Material.ALUMINIUM
    assert vessel.own
    assert vessel.marked == psi(3000)
    # equal density at 60 and 70 degF, the reference temperature of US marks
    warm, cool = Temperature.of(70, "degF"), Temperature.of(60, "degF")
    assert vessel.target == at_temperature(AIR, psi(3000), warm, cool)


def test_a_recorded_reading_is_carried_to_ambient() -> None:
    session = prepared(QueueEntry("RB-014"), ambient=Temperature.of(60, "degF")).session
    assert session is not None
    start = session.vessels[0].start
    warm, cool = Temperature.of(80, "degF"), Temperature.of(60, "degF")
    assert start == at_temperature(AIR, psi(3000), warm, cool)


def test_what_is_not_on_record_is_told() -> None:
    said = "\n".join(prepared(QueueEntry("RB-014")).assumed)
    for part in (
        "Bank B9 stays shut: what it holds is not recorded.",
        "Bank B1 is taken to show about 4400 psi, give or take 28 psi: read 4400 psi on 2026-11-24, 1 fill since, 1 of"
        " them not counted. Read it and give it, as in --bank B1=2400.",
        "Banks as read on 2026-11-24: B1.",
        "as last recorded: RB-014 on 2026-11-20",
        "Length or diameter not recorded; see that they fit: RB-014.",
        "Wall masses are taken from material and volume",
        "The master gauge G1 showed 3100 psi for 3000 psi on 2026-04-01: replace it",
    ):
        assert part in said


def test_a_reading_taken_now_is_no_assumption() -> None:
    found = prepared(banks={"B1": psi(4000)})
    assert found.session is not None
    assert found.session.banks[0].reading == psi(4000)
    assert found.session.banks[0].reading_age is None
    assert not any("B1" in said for said in found.assumed)


def test_the_usual_rate_is_told_where_none_is_recorded() -> None:
    found = prepared(station=STATION.replace("fill_rate: 300 psi/min\n", ""))
    assert found.session is not None
    assert found.session.policy.fill_rate.psi_per_min == pytest.approx(400)
    assert any("400 psi/min (common practice)" in said for said in found.assumed)


def test_the_regulator_as_last_set_refuses_nobody() -> None:
    """A plan says what to set it to, so what it is set to now does not count."""
    found = prepared(station=STATION + "regulator_set: 3442 psi\n")
    assert found.refused == ()


@pytest.mark.parametrize(
    ("since", "start", "refused"),
    [
        ("", 2950, False),
        (DRAINED, 500, False),
        (DRAINED, 650, False),
        (DRAINED, 2200, True),
        (DRAINED, 0, True),
    ],
)
def test_a_gauge_above_what_is_known_refuses_as_a_fill_would(
    since: str, start: float, refused: bool
) -> None:
    """2200 psi where it was drained to 500: nobody knows what it holds."""
    found = prepared(QueueEntry("RB-014", psi(start)), log=LOG + since)
    assert bool(found.refused) is refused


def test_the_refused_keep_their_reasons() -> None:
    held = books.GOOD.replace("K118204", "K118207").replace(
        "status: in-service", "status: held\nheld: [{on: 2026-03-01, by: MV, why: dent}]"
    )
    found = prepared(
        QueueEntry("RB-014", psi(500)), QueueEntry("RB-015", psi(500)), texts={"RB-015": held}
    )
    assert found.session is not None
    assert [v.id for v in found.session.vessels] == ["RB-014"]
    assert [one.id for one in found.refused] == ["RB-015"]
    assert "held: dent" in found.refused[0].reasons[0].text


SIDES = ("RB-014", "RB-015")
DOUBLES = "cylinders: [RB-014, RB-015]\nrating: 3442 psi\n{}"
EACH = [QueueEntry(id_, psi(start)) for id_, start in zip(SIDES, (500, 1200), strict=True)]


@pytest.mark.parametrize("named", [EACH[:1], EACH[1:], EACH])
def test_each_side_of_doubles_is_planned_by_itself_where_their_isolator_is_shut(
    named: list[QueueEntry],
) -> None:
    found = prepared(*named, sets={"DB-1": DOUBLES.format("isolator: shut\n")})
    alone = prepared(*named).session
    assert (found.refused, alone is None) == ((), False)
    assert found.session is not None
    assert alone is not None
    for side, single in zip(found.session.vessels, alone.vessels, strict=True):
        assert (side.side, side.doubles, side.isolator) == (True, False, Isolator.SHUT)
        assert (side.start, side.water_volume) == (single.start, single.water_volume)
    assert [id_ for id_, said in found.warnings if "--override" in said] == [e.id for e in named]
    seats = {s.id: s.position for load in plan(found.session).loads for s in load.seats}
    assert set(seats) == {e.id for e in named}
    assert set(seats.values()) == {"P2"}  # a side fits no enclosed position: it hangs on the other
    doubles = prepared(
        QueueEntry("DB-1", psi(500)), sets={"DB-1": DOUBLES.format("isolator: shut")}
    )
    assert "`tankbook plan RB-014 RB-015`" in doubles.refused[0].reasons[0].mend


@pytest.mark.parametrize("isolator", ["", "isolator: open\n", "isolator: none\n"])
@pytest.mark.parametrize("named", [EACH[:1], EACH])
def test_no_side_is_planned_by_itself_where_the_other_fills_with_it(
    named: list[QueueEntry], isolator: str
) -> None:
    found = prepared(*named, sets={"DB-1": DOUBLES.format(isolator)})
    assert found.session is None
    assert {(r.code, r.mend) for one in found.refused for r in one.reasons} == {
        ("doubles-both-fill", "ask for DB-1")
    }


def test_what_no_override_lifts_keeps_a_side_from_being_planned() -> None:
    held = books.GOOD.replace("K118204", "K118207").replace(
        "status: in-service", "status: held\nheld: [{on: 2026-03-01, by: MV, why: dent}]"
    )
    sets = {"DB-1": DOUBLES.format("isolator: shut\n")}
    found = prepared(*EACH, texts={"RB-015": held}, sets=sets)
    assert found.session is None
    assert [one.id for one in found.refused] == list(SIDES)


def test_a_clean_state_lost_counts_as_none() -> None:
    clean = books.GOOD.replace("service: air", "service: nitrox") + (
        "cleaned: [{on: 2026-02-09, by: MV, to: nitrox}]\n"
    )
    kept = prepared(
        QueueEntry("RB-019", psi(500)), texts={"RB-019": clean.replace("K118204", "K118209")}
    ).session
    lost = prepared(
        QueueEntry("RB-014", psi(500)), texts={"RB-014": clean}, station=STATION.replace("oxygen,", "breathing,")
    ).session  # fmt: skip
    assert kept is not None
    assert lost is not None
    assert kept.vessels[0].clean_state == "nitrox"
    assert lost.vessels[0].clean_state == "air"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"banks": {"B7": psi(4000)}}, "there is no bank B7"),
        ({"banks": {"B1": psi(5200)}}, "its working pressure is 5000 psi"),
        ({"holds": {"RB-015": AIR_GAS}}, "RB-015 is none of the cylinders"),
    ],
)
def test_what_cannot_be_is_refused(change: dict[str, Any], said: str) -> None:
    with pytest.raises(PlanError, match=said):
        prepared(**change)


def test_no_station_no_plan() -> None:
    book = books.make_book({"RB-014": books.GOOD}, station=None)
    wish = Wish(gas=AIR_GAS, queue=(QueueEntry("RB-014", psi(500)),), unit="psi")
    with pytest.raises(PlanError, match="no station is on record"):
        prepare(book, dt.date(2026, 11, 25), wish)


FAILED = "checked: [{on: 2026-10-01, result: fail, note: worn}]"


@pytest.mark.parametrize(
    ("old", "new", "banks", "positions", "pumped", "gauges"),
    [
        ("kind: whip}", f"kind: whip, {FAILED}}}", ["B1"], ["P1"], True, ["G2 at P1"]),
        (
            "gauge_error: 60 psi",
            f"relief_valves: [{{name: R1, protects: [B1], {FAILED}}}]",
            [],
            ["P1", "P2"],
            True,
            ["G2 at P1"],
        ),
        ("reads: 3040", "reads: 2800", ["B1"], ["P1", "P2"], True, []),
        (
            "gauge_error: 60 psi",
            f"relief_valves: [{{name: R1, protects: [C1], {FAILED}}}]",
            ["B1"],
            ["P1", "P2"],
            False,
            ["G2 at P1"],
        ),
    ],
)
def test_only_what_is_fit_is_planned_with(
    old: str, new: str, banks: list[str], positions: list[str], pumped: bool, gauges: list[str]
) -> None:
    assert STATION.count(old) >= 1
    got = prepared(station=STATION.replace(old, new))
    session = got.session
    assert session is not None
    assert got.shut == ()
    assert [b.label for b in session.banks] == banks
    assert [p.name for p in session.positions] == positions
    assert (session.compressor is not None) is pumped
    assert [g.label for g in session.gauges] == gauges
    assert any(text.startswith("out of use: ") for _, text in got.warnings)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "positions: [{name: P1, kind: enclosed, max_diameter: 8 in}, {name: P2, kind: whip}]",
            f"positions: [{{name: P1, kind: enclosed, {FAILED}}}]",
            "position P1 failed its check of 2026-10-01: worn",
        ),
        (
            "gauge_error: 60 psi",
            f"relief_valves: [{{name: R1, protects: [B1, B9, C1], {FAILED}}}]",
            "relief valve R1 failed its check of 2026-10-01: worn",
        ),
    ],
)
def test_without_anything_fit_no_plan(old: str, new: str, said: str) -> None:
    with pytest.raises(PlanError, match=said):
        prepared(station=STATION.replace(old, new))


def test_a_bank_filled_from_too_often_is_to_be_read() -> None:
    """Each fill since may be off by a gauge's error at either end."""
    line = "at=2026-11-25T{:02d}:{:02d}:00+01:00; cylinder=RB-015; act=fill; from=2990 psi; "
    often = "".join(
        line.format(6 + n // 60, n % 60) + "to=3000 psi; gas=air; by=MV; source=B1\n"
        for n in range(40)
    )
    session = prepared(log=LOG + often).session
    assert session is not None
    with pytest.raises(PlanError, match="filled from so often since it was read"):
        plan(session)
    read = prepared(log=LOG + often, banks={"B1": psi(4000)}).session
    assert read is not None
    assert plan(read).reached


def test_what_nobody_knows_the_rating_of_or_is_of_oxygen_grade_is_not_fed() -> None:
    def limit(station: str) -> GaugePressure | None:
        session = prepared(station=station).session
        assert session is not None
        return session.banks[0].limit

    assert limit(STATION) == psi(0), "of oxygen grade"
    plain = STATION.replace("grade: oxygen,", "")
    assert limit(plain) == psi(5000)
    assert limit(plain.replace("working_pressure: 5000 psi, ", "")) == psi(0)
