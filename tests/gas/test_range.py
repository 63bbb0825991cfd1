"""Outside the range the model refuses, and names the limit and the value."""

import math

import pytest

from tankbook.gas import (
    AIR,
    BAR_REFERENCE,
    GasError,
    RangeError,
    at_temperature,
    capacity,
    density,
    molar_density,
    pressure_for,
    pressure_kpa,
    properties,
)
from tankbook.units import AbsolutePressure, GaugePressure, Temperature, Volume


def deg_c(value: float) -> Temperature:
    return Temperature.of(value, "degC")


@pytest.mark.parametrize(
    ("kelvin", "kpa", "message"),
    [
        (222.9, 100, "222.9 K (-50.25 degC) is below the 223 K (-50.15 degC)"),
        (500, 100, "500 K (226.85 degC) is above the 473 K (199.85 degC)"),
        (math.nan, 100, "nan K"),
        (293, 70_001, "absolute pressure 700.01 bar is above the 700 bar"),
        (293, 0, "absolute pressure 0 bar is not above 0"),
        (293, -5, "absolute pressure -0.05 bar is not above 0"),
        (293, math.inf, "absolute pressure inf bar is above the 700 bar"),
        (293, math.nan, "absolute pressure nan bar"),
    ],
)
def test_density_out_of_range(kelvin: float, kpa: float, message: str) -> None:
    with pytest.raises(RangeError) as caught:
        molar_density(AIR, kelvin, kpa)
    assert str(caught.value).startswith(message)
    assert isinstance(caught.value, GasError)


@pytest.mark.parametrize(
    ("kelvin", "rho", "message"),
    [
        (200, 1, "200 K"),
        (293, 0, "density 0 mol/L is not above 0"),
        (293, math.nan, "density nan mol/L is not above 0"),
        (293, 25, "absolute pressure 1"),
        (293, 1e80, "absolute pressure"),
        (293, math.inf, "absolute pressure"),
    ],
)
def test_pressure_out_of_range(kelvin: float, rho: float, message: str) -> None:
    for answer in (pressure_kpa, properties):
        with pytest.raises(RangeError) as caught:
            answer(AIR, kelvin, rho)
        assert str(caught.value).startswith(message)


@pytest.mark.parametrize("kelvin", [223, 473])
@pytest.mark.parametrize("kpa", [5e-324, 1e-300, 1e-9, 70_000])
def test_the_limits_themselves_are_inside(kelvin: float, kpa: float) -> None:
    rho = molar_density(AIR, kelvin, kpa)
    assert rho >= 0
    if rho > 1e-200:
        assert properties(AIR, kelvin, rho).pressure_kpa == pytest.approx(kpa, rel=1e-12)


@pytest.mark.parametrize("celsius", [-50.15, 199.85])
def test_the_limits_in_celsius_are_inside(celsius: float) -> None:
    assert density(AIR, AbsolutePressure.of(700, "bar"), deg_c(celsius)) > 0


def test_typed_answers_refuse_alike() -> None:
    tank = Volume.of(11.1, "L")
    with pytest.raises(RangeError, match="above the 700 bar"):
        density(AIR, AbsolutePressure.of(701, "bar"), deg_c(20))
    with pytest.raises(RangeError, match="above the 473 K"):
        at_temperature(AIR, GaugePressure.of(200, "bar"), deg_c(20), deg_c(220))
    with pytest.raises(RangeError, match="above the 700 bar"):
        at_temperature(AIR, GaugePressure.of(600, "bar"), deg_c(20), deg_c(120))
    with pytest.raises(RangeError, match="below the 223 K"):
        capacity(AIR, tank, GaugePressure.of(200, "bar"), deg_c(-60), BAR_REFERENCE)


def test_less_gas_than_the_air_outside() -> None:
    with pytest.raises(GasError, match="below the pressure of the air outside"):
        pressure_for(AIR, Volume.of(11.1, "L"), Volume.of(5, "L"), deg_c(20), BAR_REFERENCE)


def test_a_cylinder_without_volume() -> None:
    with pytest.raises(GasError, match="without volume"):
        pressure_for(AIR, Volume.of(0, "L"), Volume.of(5, "L"), deg_c(20), BAR_REFERENCE)


def test_a_gauge_shows_no_vacuum() -> None:
    empty = GaugePressure.of(0, "psi")
    assert str(at_temperature(AIR, empty, deg_c(40), deg_c(0))) == "0 psi"
