"""Laws that hold for any mixture and state, whatever the numbers of the model."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.gas import (
    AIR,
    BAR_REFERENCE,
    PSI_REFERENCE,
    GasLaw,
    Mixture,
    at_temperature,
    capacity,
    density,
    molar_density,
    nitrox,
    pressure_for,
    pressure_kpa,
    properties,
    settled_pressure,
    trimix,
    water_volume_from_rated,
)
from tankbook.gas.coefficients import R
from tankbook.units import GaugePressure, Temperature, Volume

AMOUNTS = st.floats(0, 1, allow_subnormal=False)
PURE = [Mixture(1, 0, 0, 0), Mixture(0, 1, 0, 0), Mixture(0, 0, 1, 0), Mixture(0, 0, 0, 1)]
MIXTURES = st.sampled_from([*PURE, AIR, nitrox(0.32), trimix(0.18, 0.45), trimix(0.21, 0.79)]) | (
    st.tuples(*[AMOUNTS] * 4)
    .filter(lambda amounts: sum(amounts) > 0.01)
    .map(lambda amounts: Mixture.blended(*zip(amounts, PURE, strict=True)))
)
KELVINS = st.floats(223, 473)
INNER_KELVINS = st.floats(224, 472)
KPAS = st.floats(1e-6, 70_000)
BARS = st.floats(0, 414)
CELSIUS = st.floats(-40, 80)
WATER = st.floats(0.5, 60)


def bar(value: float) -> GaugePressure:
    return GaugePressure.of(value, "bar")


def deg_c(value: float) -> Temperature:
    return Temperature.of(value, "degC")


@given(MIXTURES, KELVINS, KPAS)
def test_density_gives_the_pressure_back(mixture: Mixture, kelvin: float, kpa: float) -> None:
    rho = molar_density(mixture, kelvin, kpa)
    assert pressure_kpa(mixture, kelvin, rho) == pytest.approx(kpa, rel=1e-12)


@given(MIXTURES, KELVINS, st.floats(1, 69_000))
def test_density_rises_with_pressure(mixture: Mixture, kelvin: float, kpa: float) -> None:
    assert molar_density(mixture, kelvin, kpa * 1.01) > molar_density(mixture, kelvin, kpa)


@given(MIXTURES, KELVINS)
def test_a_thin_gas_is_ideal(mixture: Mixture, kelvin: float) -> None:
    assert molar_density(mixture, kelvin, 1e-6) == pytest.approx(1e-6 / (R * kelvin), rel=1e-9)
    state = properties(mixture, kelvin, 1e-9)
    assert state.cp - state.cv == pytest.approx(R, rel=1e-5)


@given(MIXTURES, INNER_KELVINS, st.floats(100, 60_000))
def test_energies_agree_with_the_pressure(mixture: Mixture, kelvin: float, kpa: float) -> None:
    """Three identities of thermodynamics, by small differences: (du/dT) at constant volume is cv,
    (dh/dT) at constant pressure is cp, and (du/dv) at constant T is T (dp/dT) - p."""
    rho = molar_density(mixture, kelvin, kpa)
    state = properties(mixture, kelvin, rho)

    def at(k: float, r: float) -> float:
        return properties(mixture, k, r).u

    def h_at(k: float) -> float:
        return properties(mixture, k, molar_density(mixture, k, kpa)).h

    dt, dv = 0.02, 1e-4 / rho
    assert (at(kelvin + dt, rho) - at(kelvin - dt, rho)) / (2 * dt) == pytest.approx(
        state.cv, rel=1e-6
    )
    assert (h_at(kelvin + dt) - h_at(kelvin - dt)) / (2 * dt) == pytest.approx(state.cp, rel=1e-6)
    slope = pressure_kpa(mixture, kelvin + dt, rho) - pressure_kpa(mixture, kelvin - dt, rho)
    inner = at(kelvin, 1 / (1 / rho + dv)) - at(kelvin, 1 / (1 / rho - dv))
    assert inner / (2 * dv) == pytest.approx(
        kelvin * slope / (2 * dt) - kpa, rel=1e-5, abs=1e-5 * kpa
    )


@given(KELVINS, KPAS, st.floats(1e-12, 1e-9))
def test_a_trace_of_a_gas_changes_nothing(kelvin: float, kpa: float, trace: float) -> None:
    pure = Mixture(1 - trace, 0, 0, trace)
    assert molar_density(pure, kelvin, kpa) == pytest.approx(
        molar_density(PURE[0], kelvin, kpa), rel=1e-8
    )


@given(MIXTURES, BARS, BARS, CELSIUS)
def test_capacity_rises_with_pressure(
    mixture: Mixture, one: float, other: float, celsius: float
) -> None:
    low, high = sorted((one, other))
    tank = Volume.of(11.1, "L")
    less = capacity(mixture, tank, bar(low), deg_c(celsius), BAR_REFERENCE)
    more = capacity(mixture, tank, bar(high + 0.01), deg_c(celsius), BAR_REFERENCE)
    assert more.free_gas > less.free_gas
    assert more.ideal_free_gas > less.ideal_free_gas
    assert more.mass_kg > less.mass_kg


@given(
    MIXTURES, WATER, st.floats(0.5, 414), CELSIUS, st.sampled_from([PSI_REFERENCE, BAR_REFERENCE])
)
def test_free_gas_to_pressure_inverts_capacity(
    mixture: Mixture, litres: float, pressure: float, celsius: float, reference: object
) -> None:
    tank, temperature = Volume.of(litres, "L"), deg_c(celsius)
    held = capacity(mixture, tank, bar(pressure), temperature, reference)
    back = pressure_for(mixture, tank, held.free_gas, temperature, reference)
    assert back.absolute().pa == pytest.approx(bar(pressure).absolute().pa, rel=1e-9)
    assert back.unit == ("psi" if reference is PSI_REFERENCE else "bar")


@given(WATER, st.floats(1, 414), CELSIUS)
def test_rated_capacity_gives_the_water_volume_back(
    litres: float, pressure: float, celsius: float
) -> None:
    tank, temperature = Volume.of(litres, "L"), deg_c(celsius)
    held = capacity(AIR, tank, bar(pressure), temperature, PSI_REFERENCE)
    for basis, free in [(GasLaw.REAL, held.free_gas), (GasLaw.IDEAL, held.ideal_free_gas)]:
        found = water_volume_from_rated(free, bar(pressure), temperature, basis, PSI_REFERENCE)
        assert found.litres == pytest.approx(litres, rel=1e-9)


@given(MIXTURES, BARS, CELSIUS)
def test_the_cold_target_is_the_limit_at_its_own_temperature(
    mixture: Mixture, limit: float, celsius: float
) -> None:
    assert at_temperature(mixture, bar(limit), deg_c(celsius), deg_c(celsius)) == bar(limit)


@given(MIXTURES, st.floats(1, 414), CELSIUS, CELSIUS)
def test_the_cold_target_rises_with_the_ambient(
    mixture: Mixture, limit: float, one: float, other: float
) -> None:
    cold, hot = sorted((one, other))
    assert at_temperature(mixture, bar(limit), deg_c(15), deg_c(cold)) < at_temperature(
        mixture, bar(limit), deg_c(15), deg_c(hot + 0.01)
    )


@given(MIXTURES, st.floats(5, 300), CELSIUS, CELSIUS)
def test_there_and_back_in_temperature(
    mixture: Mixture, limit: float, here: float, there: float
) -> None:
    away = at_temperature(mixture, bar(limit), deg_c(here), deg_c(there))
    assert at_temperature(mixture, away, deg_c(there), deg_c(here)).bar == pytest.approx(
        limit, rel=1e-9
    )


@given(MIXTURES, BARS, CELSIUS)
def test_typed_and_plain_agree(mixture: Mixture, pressure: float, celsius: float) -> None:
    absolute, temperature = bar(pressure).absolute(), deg_c(celsius)
    rho = density(mixture, absolute, temperature)
    assert rho == molar_density(mixture, temperature.kelvin, absolute.kpa)
    assert settled_pressure(mixture, rho, temperature).pa == pytest.approx(absolute.pa, rel=1e-12)
