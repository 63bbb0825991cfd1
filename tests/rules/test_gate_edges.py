"""May it be filled, asked on either side of a line: one figure or one day apart, and YES turns to NO.

Each pair differs in one thing alone, so that what turns the answer is that thing. Nothing is asked
but `may_fill`. The cylinders, people and dates are invented.
"""

from __future__ import annotations

from typing import Any

import pytest
from books import GOOD, STATION, TODAY, make_book, with_lines

from tankbook.gas import AIR, Gas, at_temperature
from tankbook.rules.answers import MayFill
from tankbook.rules.gate import may_fill
from tankbook.units import GaugePressure, Temperature

STEEL = {
    "specification": "[DOT-3AA]",
    "material": "steel",
    "alloy": None,
    "service_pressure": "2400 psi",
    "test_pressure": "4000 psi",
    "valve": "{outlet: yoke, thread: 3/4-14 NPSM, rating: 3442 psi, disc: 4000 psi}",
}
PLUS = (
    "[{on: 2019-03, method: hydrostatic, by: maker}, "
    "{on: 2024-03, method: hydrostatic, by: T1, stamp: 03 Z418 24 +, plus: yes}]"
)


def ask(gas: str = "air", *, log: str = "", station: str = STATION, more: Any = (), **changes: str | None) -> MayFill:  # fmt: skip
    """The answer for one cylinder, sound but for the changes."""
    book = make_book({"A": with_lines(GOOD, **changes)}, log=log, station=station)
    return may_fill(book, "A", TODAY, Gas.parse(gas), **dict(more))


def psi(pressure: GaugePressure | None) -> float | None:
    return None if pressure is None else round(pressure.psi, 6)


# --- the lower side of a set ---------------------------------------------------------------------
# 49 CFR 173.302a(b) as quoted from old 173.302(c) (read, grade C): 10 % over for a plus mark, on
# the cylinder that carries it. 2400 psi and a tenth is 2640; the plain side stays at 2400.


@pytest.mark.parametrize("members", ["[A, B]", "[B, A]"])
def test_a_set_is_filled_to_the_limit_of_its_lower_side(members: str) -> None:
    plus = with_lines(GOOD, **STEEL, requalified=PLUS)
    plain = with_lines(GOOD, **STEEL, serial="K2")
    sets = {"D": f"cylinders: {members}\nisolator: open\nrating: 3442 psi\n"}
    books = {
        "A": make_book({"A": plus}),
        "B": make_book({"B": plain}),
        "D": make_book({"A": plus, "B": plain}, sets=sets),
    }
    limits = {}
    for name, book in books.items():
        answer = may_fill(book, name, TODAY)
        assert answer.fillable, answer.refusals
        assert answer.limit is not None
        limits[name] = psi(answer.limit.pressure)
    assert limits == {"A": 2640, "B": 2400, "D": 2400}


@pytest.mark.parametrize("members", ["[A, B]", "[B, A]"])
def test_on_a_cold_day_too_the_lower_side_is_the_target_of_the_set(members: str) -> None:
    """2400 psi at 70 degF in a closed cylinder, read at 41 degF by the equation of state."""
    plus = with_lines(GOOD, **STEEL, requalified=PLUS)
    plain = with_lines(GOOD, **STEEL, serial="K2")
    sets = {"D": f"cylinders: {members}\nisolator: open\nrating: 3442 psi\n"}
    cold = Temperature.of(41, "degF")
    answer = may_fill(make_book({"A": plus, "B": plain}, sets=sets), "D", TODAY, ambient=cold)
    target = at_temperature(AIR, GaugePressure.of(2400, "psi"), Temperature.of(70, "degF"), cold)
    assert psi(answer.target) == psi(target)
    assert target.psi < 2300


@pytest.mark.parametrize("side", ["A", "B"])
@pytest.mark.parametrize(("rating", "fillable"), [("2400 psi", True), ("2399 psi", False)])
def test_a_manifold_is_held_to_the_limit_of_the_set(side: str, rating: str, fillable: bool) -> None:
    two = {"A": with_lines(GOOD, **STEEL), "B": with_lines(GOOD, **STEEL, serial="K2")}
    two[side] = with_lines(two[side], requalified=PLUS)
    sets = {"D": f"cylinders: [A, B]\nisolator: open\nrating: {rating}\n"}
    assert may_fill(make_book(two, sets=sets), "D", TODAY).fillable is fillable


# --- the valve, its insert and its disc ----------------------------------------------------------
# The least of what is marked binds (ISO 12209 scope, inference; so the rows say).


@pytest.mark.parametrize(
    ("rating", "insert", "fillable"),
    [
        (3000, None, True),
        (2999, None, False),
        (3442, 3000, True),
        (3442, 2999, False),
        (3000, 3442, True),
        (2999, 3442, False),
    ],
)
def test_a_valve_and_its_insert_must_both_bear_the_limit(
    rating: int, insert: int | None, fillable: bool
) -> None:
    marks = f"rating: {rating} psi" + (f", insert: {insert} psi" if insert else "")
    valve = f"{{outlet: convertible, thread: 3/4-14 NPSM, disc: 5000 psi, {marks}}}"
    assert ask(valve=valve).fillable is fillable


# A disc bursts at no more than the test pressure (49 CFR 173.301(f)(3), taken as practice; so the
# row says), and one rated no higher than the service pressure would burst on filling. Far enough
# above, too, for a figure that was rounded.
@pytest.mark.parametrize(
    ("disc", "fillable"), [(2999, False), (3000, False), (4999, True), (5000, True), (5100, False)]
)
def test_a_disc_at_its_lines(disc: int, fillable: bool) -> None:
    valve = f"{{outlet: convertible, thread: 3/4-14 NPSM, rating: 3442 psi, disc: {disc} psi}}"
    assert ask(valve=valve).fillable is fillable


@pytest.mark.parametrize(("disc", "limit"), [(4000, 2640), (4100, 2400)])
def test_a_plus_wants_a_disc_within_the_test_pressure(disc: int, limit: int) -> None:
    valve = f"{{outlet: yoke, thread: 3/4-14 NPSM, rating: 3442 psi, disc: {disc} psi}}"
    answer = ask(**{**STEEL, "requalified": PLUS, "valve": valve})
    assert answer.limit is not None
    assert psi(answer.limit.pressure) == limit


# --- the regulator -------------------------------------------------------------------------------


@pytest.mark.parametrize(("set_to", "fillable"), [(3000, True), (3001, False)])
def test_a_regulator_is_set_to_the_limit_at_most(set_to: int, fillable: bool) -> None:
    told = {"fill_pressure": GaugePressure.of(set_to, "psi")}
    assert ask(more=told).fillable is fillable
    if fillable:
        assert ask(station=f"{STATION}regulator_set: {set_to} psi").fillable


# --- since ---------------------------------------------------------------------------------------
OPEN = "[{on: 2026-10-01, to: B-1, back: 2026-10-02, pressure: 500 psi, valve: open}]"
LOOKS = (
    "[{{on: 2026-02-09, by: MV, checklist: annual, result: pass}}, "
    "{{on: {on}, by: MV, checklist: {checklist}, result: {result}}}]"
)


@pytest.mark.parametrize(
    ("on", "checklist", "fillable"),
    [
        ("2026-10-01", "internal", False),  # it was still out
        ("2026-10-02", "internal", True),  # out since the day before: it was looked into afterwards
        ("2026-10-03", "internal", True),
        ("2026-10", "internal", False),  # it may have been the first of the month
        ("2026-11", "internal", True),
        ("2026-10-03", "pre-fill", False),  # a look, but not inside
    ],
)
def test_a_look_inside_counts_from_the_day_it_came_back_open(
    on: str, checklist: str, fillable: bool
) -> None:
    looks = LOOKS.format(on=on, checklist=checklist, result="pass")
    assert ask(rented=OPEN, inspected=looks).fillable is fillable


# A gauge that shows less than 15 psi cannot tell a cylinder from an empty one (common practice, no
# source; so the code says).
@pytest.mark.parametrize(("pressure", "fillable"), [("15 psi", True), ("14 psi", False)])
@pytest.mark.parametrize("how", ["returned", "read"])
def test_empty_is_below_fifteen_psi(pressure: str, fillable: bool, how: str) -> None:
    if how == "returned":
        back = OPEN.replace("500 psi", pressure).replace("open", "closed")
        assert ask(rented=back).fillable is fillable
    else:
        row = f"at=2026-11-02T10:00:00+00:00; cylinder=A; act=reading; to={pressure}; by=MV"
        assert ask(log=row).fillable is fillable


# --- oxygen-clean --------------------------------------------------------------------------------
CLEAN = {"service": "nitrox", "cleaned": "[{on: 2026-03-01, by: MV, to: nitrox}]"}
DRAINED = "at=2026-03-20T10:00:00+00:00; cylinder=A; act=drain; from=3000 psi; to=0 psi; by=MV"
BANKS = f"""{STATION}
banks:
  - {{name: B1, grade: oxygen, water_volume: 50 L, period: 10 years,
      requalified: [{{on: 2024-03, method: hydrostatic, by: T123}}]}}
  - {{name: B2, grade: breathing, water_volume: 50 L, period: 10 years,
      requalified: [{{on: 2024-03, method: hydrostatic, by: T123}}]}}
"""


@pytest.mark.parametrize(
    ("day", "source", "fillable"),
    [
        ("2026-02-28", "C1", True),  # the cleaning came after it
        ("2026-03-01", "C1", False),  # which came first is not told
        ("2026-03-02", "C1", False),
        ("2026-03-02", "B1", True),  # air of oxygen grade
        ("2026-03-02", "B1 + C1", False),
        ("2026-03-02", "", False),  # a source that is not named
    ],
)
def test_ordinary_air_counts_from_the_day_of_the_cleaning(
    day: str, source: str, fillable: bool
) -> None:
    fill = f"at={day}T10:00:00+00:00; cylinder=A; act=fill; to=3000 psi; gas=air; by=MV"
    log = "\n".join([f"{fill}; source={source}" if source else fill, DRAINED])
    assert ask("nitrox32", log=log, station=BANKS, **CLEAN).fillable is fillable


# Above 23.5 % oxygen a cylinder must be clean (a maker's answers on oxygen cleaning, read, grade
# C; so the row says).
@pytest.mark.parametrize(("gas", "fillable"), [("nitrox23.5", True), ("nitrox23.51", False)])
def test_a_cylinder_must_be_clean_above_the_share(gas: str, fillable: bool) -> None:
    assert ask(gas, service="nitrox").fillable is fillable


@pytest.mark.parametrize(
    ("gas", "service", "cleaned", "fillable"),
    [
        ("nitrox40", "nitrox", "nitrox", True),
        ("nitrox99.01", "nitrox", "nitrox", False),
        ("nitrox99.01", "oxygen", "nitrox", False),
        ("nitrox99.01", "nitrox", "oxygen", False),
        ("nitrox99.01", "oxygen", "oxygen", True),
        ("oxygen", "nitrox", "nitrox", False),
        ("oxygen", "oxygen", "nitrox", False),
        ("oxygen", "nitrox", "oxygen", False),
        ("oxygen", "oxygen", "oxygen", True),
        ("nitrox32", "oxygen", "oxygen", True),
        ("nitrox32", "air", "nitrox", False),
        ("nitrox32", "nitrox", "air", False),
    ],
)
def test_oxygen_wants_a_cylinder_labelled_and_cleaned_for_oxygen(
    gas: str, service: str, cleaned: str, fillable: bool
) -> None:
    entries = f"[{{on: 2026-03-01, by: MV, to: {cleaned}}}]"
    assert ask(gas, service=service, cleaned=entries).fillable is fillable


@pytest.mark.parametrize(
    ("gas", "percent", "source", "fillable"),
    [
        ("oxygen", 100, "O1", True),  # pure oxygen holds no air
        ("oxygen", 100, "B2", True),
        ("nitrox90", 90, "B1", True),
        ("nitrox90", 90, "B2", False),  # the other tenth came from a bank for breathing alone
    ],
)
def test_only_pure_oxygen_is_let_in_without_asking_for_the_air(
    gas: str, percent: int, source: str, fillable: bool
) -> None:
    row = "at=2026-03-02T10:00:00+00:00; cylinder=A; act=fill; to=2000 psi; by=MV"
    row += f"; gas={gas}; o2={percent} %; analysed_by=MV; source={source}"
    entries = "[{on: 2026-03-01, by: MV, to: oxygen}]"
    answer = ask(gas, log=row, station=BANKS,
                 service="oxygen", cleaned=entries)  # fmt: skip
    assert answer.fillable is fillable
