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


# Metres: (PO2/FO2 - 1.01325 bar) x 10 m to the bar (EN 13319, memory); computed.
@pytest.mark.parametrize(
    ("oxygen", "metres"), [(21, 56), (28, 39), (32, 33), (36, 28), (40, 24), (50, 17), (100, 3)]
)
def test_metres_at_1_4_bar(oxygen: float, metres: int) -> None:
    assert depth_limit(oxygen, AbsolutePressure.of(1.4, "bar")).metres == metres


def test_a_whole_metre_stays_whole() -> None:
    """2.0265 bar of pure oxygen is one atmosphere over the surface: 10.1 m, 33.0 ft."""
    assert depth_limit(100, AbsolutePressure.of(2 * ATMOSPHERE_KPA, "kPa")) == DepthLimit(10, 33)


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
