"""What cannot be planned: one clear line and how to mend it, or a plan that says what is left."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tankbook.filling import PlanError, Session, StandardCylinder, plan
from tankbook.gas import Gas
from tankbook.units import AbsolutePressure, RunningTime

NITROX = Gas.parse("nitrox32")


def usual(make: Any, **more: Any) -> Session:
    banks = more.pop("banks", [make.bank("B1", 50, 5000)])
    return make.session(banks, more.pop("vessels", [make.vessel("A", 500)]), **more)


REFUSED: list[tuple[str, Callable[[Any], Session], str, str]] = [
    ("no positions", lambda m: usual(m, positions=()), "the station has no fill positions",
     "list them under positions in station.yaml"),
    ("whips only", lambda m: usual(m, positions=m.positions(0, 2), policy=m.policy(open_whip=False)),
     "the station has only open whips and its policy does not allow them",
     "fill at an enclosed position, or change the policy on open whips"),
    ("missing reading", lambda m: usual(m, banks=[m.bank("B1", 50, None)]),
     "bank B1 has no reading", "read its gauge and give it, as in --bank B1=2400"),
    ("stale reading",
     lambda m: usual(m, banks=[m.bank("B1", 50, 5000, reading_age=RunningTime.of(30, "h"))]),
     "the reading of bank B1 is 30 h old; the policy trusts one for 12 h",
     "read its gauge and give it, as in --bank B1=2400"),
    ("another gas", lambda m: usual(m, banks=[m.bank("N1", 50, 3000, NITROX)]),
     "no bank holds air: N1 holds nitrox32", "plan one gas at a time, or make a blend"),
    ("nothing to fill from", lambda m: usual(m, banks=[]),
     "the station has no banks and no compressor", "list its banks in station.yaml"),
    ("nothing to fill", lambda m: usual(m, vessels=[]), "there is no cylinder to fill",
     "name one, as in 14=500"),
    ("twice", lambda m: usual(m, vessels=[m.vessel("A", 0), m.vessel("A", 5)]),
     "cylinder A is named twice", "name each once"),
    ("bank twice", lambda m: usual(m, banks=[m.bank("B1", 9, 9), m.bank("B1", 9, 9)]),
     "bank B1 is named twice", "name each once"),
    ("target above the mark", lambda m: usual(m, vessels=[m.vessel("A", 500, 3100)]),
     "the target of cylinder A, 3100 psi, is above its marked pressure 3000 psi",
     "give a cold target at ambient that is no higher than the marked pressure"),
    ("no fill rate", lambda m: usual(m, policy=m.policy(fill_rate=m.rate(0))),
     "the fill rate is zero", "give one, as in 400 psi/min"),
    ("no own fill rate", lambda m: usual(m, vessels=[m.vessel("A", 0, fill_rate=m.rate(0))]),
     "the fill rate of cylinder A is zero", "give one, as in 400 psi/min"),
    ("no volume", lambda m: usual(m, vessels=[m.vessel("A", 500, volume=0)]),
     "cylinder A has no water volume", "give its water volume"),
    ("no bank volume", lambda m: usual(m, banks=[m.bank("B1", 0, 5000)]),
     "bank B1 has no water volume", "give its water volume"),
    ("no standard", lambda m: usual(m, standard=StandardCylinder(
        water_volume=m.litres(11.1), start=m.psi(3000), target=m.psi(2900))),
     "the standard cylinder is no cylinder to count fills in: 3000 psi to 2900 psi in 11.1 L",
     "give it a volume, and a target above its start"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("make_it", "said", "mend"), [r[1:] for r in REFUSED], ids=[r[0] for r in REFUSED]
)
def test_refused(make: Any, make_it: Callable[[Any], Session], said: str, mend: str) -> None:
    with pytest.raises(PlanError) as caught:
        plan(make_it(make))
    assert (caught.value.args[0], caught.value.mend) == (said, mend)
    assert "\n" not in said


LEFT: list[tuple[str, Callable[[Any], Session], str]] = [
    ("banks below the cylinder", lambda m: usual(m, banks=[m.bank("B1", 50, 400)]),
     "its target 2900 psi is above every bank (B1, the highest, holds 400 psi) and there is no "
     "compressor"),
    ("target above all banks", lambda m: usual(m, banks=[m.bank("B1", 50, 900), m.bank("B2", 50, 2800)]),
     "its target 2900 psi is above every bank (B2, the highest, holds 2800 psi) and there is no "
     "compressor"),
    ("target above the compressor", lambda m: usual(
        m, banks=[m.bank("B1", 50, 900)], compressor=m.compressor(7, 2500)),
     "its target 2900 psi is above what the banks give and the compressor's 2500 psi"),
    ("too little gas", lambda m: usual(m, banks=[m.bank("B1", 10, 3200)]),
     "the banks do not hold enough; as they are left they would bring it to 1708 psi"),
    ("no reading", lambda m: usual(m, vessels=[m.vessel("A", None)]), "its reading is missing"),
    ("unknown contents", lambda m: usual(m, vessels=[m.vessel("A", 500, gas=None)]),
     "what it holds is unknown"),
    ("mixed gases", lambda m: usual(m, vessels=[m.vessel("A", 500, gas=NITROX)]),
     "it holds nitrox32, the session fills air"),
    ("above target", lambda m: usual(m, vessels=[m.vessel("A", 3100)]),
     "it holds 3100 psi, above its cold target 2900 psi"),
    ("full", lambda m: usual(m, vessels=[m.vessel("A", 2900)]), "it is full: its cold target is 2900 psi"),
    ("too long", lambda m: usual(m, vessels=[m.vessel("A", 500)], positions=(
        m.position("P1", 8, 28),)), "it fits no position"),
]  # fmt: skip


@pytest.mark.parametrize(("make_it", "why"), [r[1:] for r in LEFT], ids=[r[0] for r in LEFT])
def test_left_unfilled(make: Any, make_it: Callable[[Any], Session], why: str) -> None:
    session = make_it(make)
    made = plan(session)
    (one,) = made.unfilled
    assert (one.id, one.why) == ("A", why)
    assert one.mend
    assert all(bank.after == bank.before for bank in made.banks)
    assert not made.steps


def test_the_others_are_still_filled(make: Any) -> None:
    vessels = [make.vessel("A", 500, gas=NITROX), make.vessel("B", 500)]
    made = plan(usual(make, vessels=vessels))
    assert [one.id for one in made.unfilled] == ["A"]
    assert [one.id for one in made.reached if one.full] == ["B"]


def test_banks_of_another_gas_and_idle_ones_are_told(make: Any) -> None:
    banks = [make.bank("B1", 50, 5000), make.bank("N1", 50, 3000, NITROX), make.bank("B2", 50, 90)]
    made = plan(usual(make, banks=banks))
    assert "Bank N1 holds nitrox32: it stays shut." in made.cautions
    assert "Bank B2 is below every cylinder: it gives nothing." in made.cautions
    assert {bank.label for bank in made.banks} == {"B1", "B2"}


def test_an_absolute_pressure_is_no_reading(make: Any) -> None:
    """The type keeps it out; where types are not checked, comparing the two still raises."""
    vessel = make.changed(make.vessel("A", 500), start=AbsolutePressure.of(500, "psi"))
    with pytest.raises(TypeError, match="'AbsolutePressure' and 'GaugePressure'"):
        plan(usual(make, vessels=[vessel]))
