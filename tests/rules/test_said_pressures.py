"""The pressures that people write in notes."""

from __future__ import annotations

import pytest

from tankbook.rules.said_pressures import pressures_of_test, pressures_stood
from tankbook.units import GaugePressure

THREE = GaugePressure.of(3000, "psi")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("went to 4000 psi hot", ["4000 psi hot"]),
        ("filled to 4,000 psi", ["4,000 psi"]),
        ("filled to 300bar", ["300bar"]),
        ("filled from 500 psi to 3,100 psi", ["500 psi", "3,100 psi"]),
        ("filled by MV to 4000 psi", ["4000 psi"]),
        ("filled off the cascade to 4000 psi", ["4000 psi"]),
        ("found at 34.5 MPa", ["34.5 MPa"]),
        ("auf 250 bar überfüllt", ["250 bar"]),
        ("bank B1: stood at 4200 psi", []),
        ("bank 2 gauge read 4200 psi", []),
        ("hydro test went to 5000 psi", []),
        ("went to 5000 psi during the hydro", []),
        ("stood at 2000 psi, then went to 4000 psi", ["2000 psi", "4000 psi"]),
        ("serial 4000", []),
        *(
            (f"{words} 4800 psi, bled down", ["4800 psi"])
            for words in (
                "was at",
                "pressure was",
                "gauge said",
                "charged to",
                "topped off to",
                "went past",
                "came in at",
                "had",
                "hit",
                "peaked at",
                "filled the cylinder to",
                "filled too far:",
                "filled to more than",
                "~",
                ">",
                "after the fill at the compressor it stood at",
                "regulator crept to",
                "went over the working pressure to",
                "overfilled from bank 2:",
                "did not notice, it went to",
            )
        ),
        *(
            (f"filled to {figure}", [figure])
            for figure in (
                "4 800 psi",
                "4'800 psi",
                "4.8k psi",
                "4800 p.s.i",
                "four thousand eight hundred psi",
                "three hundred bar",
                "33000 kPa",
                "330 kg/cm2",
                "330bar",
                "4800 lbs",
            )
        ),
        ("4000-4800 psi", ["4800 psi"]),
        ("regulator crept, 4800 psi in it", ["4800 psi"]),
        *(
            (f"{text}", ["330 bar"])
            for text in (
                "versehentlich 330 bar gefüllt",
                "zu voll, 330 bar, abgelassen",
                "war auf 330 bar",
                "Manometer 330 bar",
                "remplie à 330 bar",
            )
        ),
        # of something else
        ("customer wants 3500 psi", []),
        ("tag says 3500 psi", []),
        ("filled from B3 (4260 psi)", []),
        ("R1 lifts at 4750 psi", []),
        ("Adapter 300 bar", []),
        ("fill rate 5000 psi/h", []),
        ("next to the HP100 at 3442 psi", []),
        ("customer's own tank 3442 psi", []),
        ("max reading 4800 psi", ["4800 psi"]),
        ("stood at 4800", ["4800 psi"]),
        ("filled to 4800, bled", ["4800 psi"]),
        ("read 4800 hours on the meter", []),
        ("marked 3000 but 4800 psi inside", ["4800 psi"]),
        ("not less than 4800 psi", ["4800 psi"]),
        ("new disc fitted, 5000 psi", []),
        ("pressure gauge 0-6000 psi checked", []),
        ("came from a 4500 psi system", []),
        ("was booked as 3442 psi by mistake", []),
        ("weighs 31.5 lbs", []),
        ("asked to be filled to 3500 psi, told no", []),
        ("not filled to 4000 psi", []),
        ("label says filled to 3500 psi, gauge reads 2900 psi", ["2900 psi"]),
        ("read 4400 psi on the panel gauge", []),
        ("burst disc of valve held 5000 psi", []),
        ("showed 4000 psi on the other cylinder", []),
        ("panel filled to 4800 psi", ["4800 psi"]),
        ("whip W1: filled to 4800 psi by AB", ["4800 psi"]),
        ("at bank filled to 4800 psi", ["4800 psi"]),
        ("test gauge showed 4800 psi", ["4800 psi"]),
        ("filled to 4800 psi at test of new regulator", ["4800 psi"]),
        ("stood at 4800 psi in the test tank", ["4800 psi"]),
        ("3442 psi valve on a 3000 psi cylinder", []),
        ("burst disc 5000 psi", []),
        ("test pressure 5000 psi", []),
        ("DIN 300 bar outlet", []),
        ("never above 3500 psi", []),
        ("line pressure 4500 psi", []),
        ("stamped 4500 psi", []),
    ],
)
def test_what_it_stood_at(text: str, told: list[str]) -> None:
    assert [said.text for said in pressures_stood(text)] == told


@pytest.mark.parametrize(
    ("text", "psi"),
    [
        ("went to 4600 psi hot", 4000),
        ("went to 4000 psi", 4000),
        ("stood at 10 MPa", 1450.4),
        ("stood at 30000 kPa", 4351.1),
        ("stood at 300 kg/cm2", 4267.0),
        ("stood at 300 kgf/cm²", 4267.0),
        ("stood at 300 atm", 4408.8),
        ("pumped to 4000 pounds", 4000),
    ],
)
def test_hot_it_stands_higher_by_our_own_bound(text: str, psi: float) -> None:
    (said,) = pressures_stood(text)
    assert said.pressure.psi == pytest.approx(psi, abs=0.05)


@pytest.mark.parametrize(
    ("text", "doubted"),
    [
        ("gauge read 4000 psi, gauge faulty", True),
        ("reading 4000 psi on a broken gauge", True),
        ("filled to 4000 psi, gauge faulty", False),
        ("gauge read 4000 psi, gauge good", False),
        ("gauge showed 4800 psi, gauge was not faulty", False),
        ("showed 4800 psi, other gauge broken", False),
        ("read 4800 psi; gauge off by 5 psi", False),
        ("read 4800 psi; stuck gauge ruled out", False),
    ],
)
def test_a_gauge_that_was_wrong_is_doubted(text: str, doubted: bool) -> None:
    assert {said.doubted for said in pressures_stood(text)} == {doubted}


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("hydro 1500 psi passed", ["1500 psi"]),
        ("TP: 1500 psi", ["1500 psi"]),
        ("test pressure 34,5 MPa", ["34,5 MPa"]),
        ("working pressure: 3000 psi, passed", []),
        ("3000 psi cylinder, passed", []),
        ("3000 psi, passed", []),
        ("tested to 3000 psi", ["3000 psi"]),
        ("passed at 5000 psi and filled to 3000 psi", ["5000 psi"]),
        ("valve leak test at 200 bar", []),
        ("passed, 31 lbs", []),
        ("tested to 15000 kPa", ["15000 kPa"]),
    ],
)
def test_what_it_was_tested_at(text: str, told: list[str]) -> None:
    assert [said.text for said in pressures_of_test(text, THREE)] == told
