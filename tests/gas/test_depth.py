"""How deep a gas may go for its oxygen, against the handbook's formula and by hand."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.gas import GasError
from tankbook.gas.depth import DepthLimit, depth_limit
from tankbook.units import AbsolutePressure

ATMOSPHERE_KPA = 101.325


# Feet: 33 (PO2/FO2 - 1) with PO2 in atmospheres, the NOAA Diving Manual's formula (read in a
# secondary copy); the figures computed from it. 21 % at 1.6 is 218 ft, the table's 218.4.
@pytest.mark.parametrize(
    ("oxygen", "atmospheres", "feet"),
    [
        (21, 1.4, 187), (21, 1.6, 218), (28, 1.4, 132), (30, 1.4, 121), (32, 1.4, 111),
        (32, 1.6, 132), (34, 1.4, 102), (36, 1.4, 95), (36, 1.6, 113), (40, 1.4, 82),
        (40, 1.6, 99), (50, 1.4, 59), (100, 1.4, 13), (100, 1.6, 19),
    ],
)  # fmt: skip
def test_feet_by_the_handbook(oxygen: float, atmospheres: float, feet: int) -> None:
    limit = AbsolutePressure.of(atmospheres * ATMOSPHERE_KPA, "kPa")
    assert depth_limit(oxygen, limit).feet == feet


def test_nitrox_1_of_noaa() -> None:
    """NOAA Nitrox I is 32 % oxygen, 130 ft, at 1.6 atm (read at second hand, grade C); the
    formula gives 132 ft, the standard tables round it down to the next ten."""
    feet = depth_limit(32, AbsolutePressure.of(1.6 * ATMOSPHERE_KPA, "kPa")).feet
    assert (feet, feet // 10 * 10) == (132, 130)


# Metres: (PO2/FO2 - 1.01325 bar) x 10 m to the bar (EN 13319, memory); computed.
@pytest.mark.parametrize(
    ("oxygen", "metres"), [(21, 56), (28, 39), (32, 33), (36, 28), (40, 24), (50, 17), (100, 3)]
)
def test_metres_at_1_4_bar(oxygen: float, metres: int) -> None:
    assert depth_limit(oxygen, AbsolutePressure.of(1.4, "bar")).metres == metres


def test_a_whole_metre_stays_whole() -> None:
    """2.0265 bar of pure oxygen is one atmosphere over the surface: 10.1 m, 33.0 ft."""
    assert depth_limit(100, AbsolutePressure.of(2 * ATMOSPHERE_KPA, "kPa")) == DepthLimit(10, 33)


# By hand from the definition: a metre of the gauge is 10 kPa (EN 13319, memory), the surface is
# 101.325 kPa. At 40 m a gas is breathed at 101.325 + 40 x 10 = 501.325 kPa, and 32 % of that is
# 160.424 kPa (in feet, 33 x 400/101.325 = 130.3). At 132 ft it is at 1 + 132/33 = 5 atmospheres
# (NOAA's formula, read in a secondary copy), and 32 % of that is 1.6.
@pytest.mark.parametrize(
    ("kpa", "limit"),
    [
        (160.424, DepthLimit(40, 130)),
        (160.423, DepthLimit(39, 130)),
        (1.6 * ATMOSPHERE_KPA, DepthLimit(40, 132)),
        (1.6 * ATMOSPHERE_KPA - 0.001, DepthLimit(40, 131)),
    ],
)
def test_just_at_a_whole_metre_or_foot_and_just_short_of_it(kpa: float, limit: DepthLimit) -> None:
    assert depth_limit(32, AbsolutePressure.of(kpa, "kPa")) == limit


def test_at_the_limit_at_the_surface_the_depth_is_none() -> None:
    """Oxygen at one atmosphere reaches a limit of one atmosphere at 33 (1/1 - 1) = 0 ft."""
    assert depth_limit(100, AbsolutePressure.of(ATMOSPHERE_KPA, "kPa")) == DepthLimit(0, 0)
    with pytest.raises(GasError, match="past"):
        depth_limit(100, AbsolutePressure.of(ATMOSPHERE_KPA - 0.0005, "kPa"))


def test_a_gas_for_great_depth() -> None:
    """1 % oxygen at 1.4 atmospheres, as deep saturation divers breathe: 33 (1.4/0.01 - 1) = 4587 ft,
    and (140 - 1) x 10.1325 = 1408.4 m (formulas as above; computed)."""
    limit = depth_limit(1, AbsolutePressure.of(1.4 * ATMOSPHERE_KPA, "kPa"))
    assert limit == DepthLimit(1408, 4587)


def test_a_limit_is_said_in_metres_and_feet() -> None:
    """32 % at 1.4 bar: (1.4/0.32 - 1.01325) x 10 = 33.6 m; 33 (4.375/1.01325 - 1) = 109.5 ft."""
    assert str(depth_limit(32, AbsolutePressure.of(1.4, "bar"))) == "33 m / 109 ft"


@given(st.floats(5, 100), st.floats(1.1, 1.6))
def test_never_past_the_limit(oxygen: float, bar: float) -> None:
    limit = depth_limit(oxygen, AbsolutePressure.of(bar, "bar"))
    at = 1.01325 + limit.metres / 10
    assert at * oxygen / 100 <= bar + 1e-6
    assert (at + 0.1) * oxygen / 100 > bar - 1e-6
    assert limit.feet == pytest.approx(math.floor(limit.metres * 3.2568), abs=4)


@pytest.mark.parametrize(
    ("oxygen", "line"),
    [
        (0, "0 % oxygen is not a gas to breathe"),
        (100.5, "100.5 % oxygen is not a gas to breathe"),
        (100, "100 % oxygen is past 0.9 bar abs at the surface"),
    ],
)
def test_what_has_no_depth(oxygen: float, line: str) -> None:
    with pytest.raises(GasError, match=line.replace(".", r"\.")):
        depth_limit(oxygen, AbsolutePressure.of(0.9, "bar"))
