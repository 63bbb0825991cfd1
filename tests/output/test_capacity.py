"""What a cylinder holds, as text and as JSON."""

from __future__ import annotations

import pytest
from syrupy.assertion import SnapshotAssertion

from tankbook.gas import BAR_REFERENCE, PSI_REFERENCE, Capacity, Gas, capacity
from tankbook.output import capacity as output
from tankbook.output.page import Page
from tankbook.records.words import Shore
from tankbook.rules.answers import WaterVolume
from tankbook.units import GaugePressure, Volume

AIR = Gas.parse("air")
VOLUME = WaterVolume(Volume.of(11.1, "L"), "as recorded")


@pytest.fixture(name="al80")
def _al80() -> Capacity:
    reference = PSI_REFERENCE
    pressure = GaugePressure.of(3000, "psi")
    return capacity(AIR, VOLUME.volume, pressure, reference.temperature, reference)


def test_the_json_has_the_keys_promised(al80: Capacity) -> None:
    got = output.data(al80, AIR, VOLUME)
    assert list(got) == [
        "pressure_psi",
        "pressure_bar",
        "temperature_c",
        "gas",
        "density_mol_per_L",
        "z",
        "mass_kg",
        "free_gas_L",
        "free_gas_cuft",
        "ideal_free_gas_L",
        "ideal_free_gas_cuft",
        "reference",
        "water_volume_L",
        "water_volume_basis",
        "validated",
    ]
    assert (got["water_volume_L"], got["water_volume_basis"]) == (11.1, "as recorded")
    assert got["pressure_psi"] == 3000
    assert got["gas"] == "air"
    assert got["reference"] == "1 atm, 70 degF"
    # Ideal, by hand: 11.1 L x (3000 + 14.696)/14.696 = 2277.0 L.
    assert got["ideal_free_gas_L"] == pytest.approx(2277.0, abs=0.1)
    assert got["free_gas_L"] == pytest.approx(got["free_gas_cuft"] * 28.316846592, rel=1e-8)


def test_the_amount_is_the_first_line(al80: Capacity, page: Page) -> None:
    first = output.text(al80, AIR, VOLUME, page).splitlines()[0]
    assert first == "77.8 cuft of air at 70 degF and 3000 psi in 11.1 L"


def test_a_pressure_sought_is_the_first_line(al80: Capacity, page: Page) -> None:
    first = output.text(al80, AIR, VOLUME, page, sought=True).splitlines()[0]
    assert first == "3000 psi of air at 70 degF is 77.8 cuft in 11.1 L"


def test_a_pressure_above_the_marked_one_is_warned_of(al80: Capacity, page: Page) -> None:
    below, above = GaugePressure.of(2640, "psi"), GaugePressure.of(3000, "psi")
    warned = output.text(al80, AIR, VOLUME, page, marked=below)
    assert "WARNING: above the marked pressure of 2640 psi" in warned
    assert "WARNING" not in output.text(al80, AIR, VOLUME, page, marked=above)


def test_the_page(al80: Capacity, page: Page, snapshot: SnapshotAssertion) -> None:
    assert output.text(al80, AIR, VOLUME, page) == snapshot


def test_the_page_in_bar_with_helium(snapshot: SnapshotAssertion) -> None:
    reference, gas = BAR_REFERENCE, Gas.parse("trimix18/45")
    volume = WaterVolume(Volume.of(12, "L"), "as given")
    pressure = GaugePressure.of(232, "bar")
    answer = capacity(gas, volume.volume, pressure, reference.temperature, reference)
    assert output.text(answer, gas, volume, Page(shore=Shore.BAR)) == snapshot
