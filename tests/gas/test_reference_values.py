"""The equation of state against values computed by an independent program.

Source: `data/gerg2008_reference_values.csv`, GERG-2008 by the coefficients of NIST's public
reference data for AGA 8, seven mixtures, 278 and 313 K, 1 to 414 bar. Mark: computed.
"""

import csv
from collections.abc import Iterator
from pathlib import Path

import pytest

from tankbook.gas import Mixture, Properties, molar_density, pressure_kpa, properties

DATA = Path(__file__).parent / "data" / "gerg2008_reference_values.csv"


def rows() -> Iterator[object]:
    with DATA.open(newline="", encoding="utf-8") as file:
        for name, *numbers in list(csv.reader(file))[1:]:
            n2, o2, he, ar, kelvin, kpa, rho, z, u, h, cv, cp = map(float, numbers)
            expected = Properties(rho, z, kpa, u, h, cv, cp)
            yield pytest.param(
                Mixture(n2, o2, he, ar), kelvin, expected, id=f"{name}-{kelvin:g}K-{kpa:g}kPa"
            )


def test_all_rows_are_there() -> None:
    assert len(list(rows())) == 84


@pytest.mark.parametrize(("mixture", "kelvin", "expected"), list(rows()))
def test_state(mixture: Mixture, kelvin: float, expected: Properties) -> None:
    rho = molar_density(mixture, kelvin, expected.pressure_kpa)
    state = properties(mixture, kelvin, rho)
    assert rho == pytest.approx(expected.density, rel=1e-9)
    assert state.z == pytest.approx(expected.z, rel=1e-9)
    assert state.cv == pytest.approx(expected.cv, rel=1e-9)
    assert state.cp == pytest.approx(expected.cp, rel=1e-9)
    # Energies cross zero: a relative 1e-9, or 1e-6 J/mol.
    assert state.u == pytest.approx(expected.u, rel=1e-9, abs=1e-6)
    assert state.h == pytest.approx(expected.h, rel=1e-9, abs=1e-6)
    assert pressure_kpa(mixture, kelvin, expected.density) == pytest.approx(
        expected.pressure_kpa, rel=1e-9
    )
