"""Every unit against pint's registry, and the exact definitions against the standard.

Source of every figure in `PINT`: pint 0.25, its default registry. Mark: computed.
"""

import itertools

import pint
import pytest

from tankbook.units import (
    STANDARD_ATMOSPHERE,
    AbsolutePressure,
    Concentration,
    FreeGasFlow,
    GaugePressure,
    Length,
    Mass,
    Percent,
    PressureRate,
    Quantity,
    RunningTime,
    Temperature,
    Torque,
    Volume,
)

PRESSURE = {"psi": "psi", "bar": "bar", "kPa": "kPa", "MPa": "MPa"}

PINT: dict[type[Quantity], dict[str, str]] = {
    GaugePressure: PRESSURE,
    AbsolutePressure: PRESSURE | {"ata": "atm"},
    Volume: {"L": "liter", "cuft": "foot**3", "cuin": "inch**3", "m3": "meter**3"},
    Mass: {"kg": "kilogram", "lb": "pound", "g": "gram"},
    Length: {"mm": "mm", "cm": "cm", "m": "m", "in": "inch", "ft": "foot"},
    Temperature: {"degF": "degF", "degC": "degC", "K": "kelvin"},
    Percent: {"%": "percent"},
    Torque: {"N m": "newton*meter", "ft-lbf": "foot*force_pound"},
    Concentration: {"ppm": "ppm", "mg/m3": "mg/meter**3"},
    RunningTime: {"h": "hour", "min": "minute"},
    PressureRate: {"psi/min": "psi/minute", "bar/min": "bar/minute"},
    FreeGasFlow: {"cuft/min": "foot**3/minute", "L/min": "liter/minute"},
}

PAIRS = [
    (kind, here, there)
    for kind, names in PINT.items()
    for here, there in itertools.product(names, repeat=2)
    if kind is not Concentration or here == there
]


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


def test_every_unit_of_every_quantity_is_checked() -> None:
    assert {kind: set(kind.UNITS) for kind in PINT} == {
        kind: set(names) for kind, names in PINT.items()
    }


@pytest.mark.parametrize(("kind", "here", "there"), PAIRS)
@pytest.mark.parametrize("value", [0.25, 70.0])
def test_conversion(
    registry: pint.UnitRegistry, kind: type[Quantity], here: str, there: str, value: float
) -> None:
    names = PINT[kind]
    expected = registry.Quantity(value, names[here]).to(names[there]).magnitude
    assert kind.of(value, here).to(there) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("shown", "expected"),
    [
        (GaugePressure.of(3000, "psi").pa, (3000, "psi", "pascal")),
        (GaugePressure.of(3000, "psi").bar, (3000, "psi", "bar")),
        (GaugePressure.of(207, "bar").psi, (207, "bar", "psi")),
        (GaugePressure.of(207, "bar").kpa, (207, "bar", "kPa")),
        (AbsolutePressure.of(207, "bar").mpa, (207, "bar", "MPa")),
        (Volume.of(80, "cuft").litres, (80, "foot**3", "liter")),
        (Volume.of(11.1, "L").cuin, (11.1, "liter", "inch**3")),
        (Volume.of(11.1, "L").cuft, (11.1, "liter", "foot**3")),
        (Volume.of(11.1, "L").m3, (11.1, "liter", "meter**3")),
        (Mass.of(31.7, "lb").kg, (31.7, "pound", "kilogram")),
        (Mass.of(14.2, "kg").lb, (14.2, "kilogram", "pound")),
        (Length.of(1, "ft").mm, (1, "foot", "mm")),
        (Length.of(18, "m").inches, (18, "meter", "inch")),
        (Length.of(60, "ft").m, (60, "foot", "meter")),
        (Temperature.of(70, "degF").kelvin, (70, "degF", "kelvin")),
        (Temperature.of(70, "degF").celsius, (70, "degF", "degC")),
        (Temperature.of(15, "degC").fahrenheit, (15, "degC", "degF")),
        (Percent.of(32.4, "%").fraction, (32.4, "percent", "dimensionless")),
        (Percent.of(32.4, "%").percent, (32.4, "percent", "percent")),
        (Torque.of(37, "ft-lbf").newton_metres, (37, "foot*force_pound", "newton*meter")),
        (RunningTime.of(90, "min").hours, (90, "minute", "hour")),
        (RunningTime.of(1.5, "h").minutes, (1.5, "hour", "minute")),
        (PressureRate.of(400, "psi/min").pa_per_s, (400, "psi/minute", "pascal/second")),
        (PressureRate.of(400, "psi/min").bar_per_min, (400, "psi/minute", "bar/minute")),
        (PressureRate.of(30, "bar/min").psi_per_min, (30, "bar/minute", "psi/minute")),
        (FreeGasFlow.of(3.5, "cuft/min").litres_per_min, (3.5, "foot**3/minute", "liter/minute")),
        (FreeGasFlow.of(100, "L/min").cuft_per_min, (100, "liter/minute", "foot**3/minute")),
    ],
)
def test_property(
    registry: pint.UnitRegistry, shown: float, expected: tuple[float, str, str]
) -> None:
    value, here, there = expected
    assert shown == pytest.approx(registry.Quantity(value, here).to(there).magnitude, rel=1e-12)


@pytest.mark.parametrize(
    ("quantity", "si"),
    [
        # NIST Special Publication 811 (2008), appendix B: exact factors. Mark: memory.
        (Volume.of(1, "cuft"), 0.028316846592),
        (Volume.of(1, "cuin"), 1.6387064e-05),
        (Mass.of(1, "lb"), 0.45359237),
        (Length.of(1, "in"), 0.0254),
        # The pound-force per square inch from those and standard gravity, 9.80665 m/s2 (CGPM
        # 1901). Mark: computed.
        (AbsolutePressure.of(1, "psi"), 0.45359237 * 9.80665 / 0.0254**2),
        # 10th CGPM (1954), resolution 4. Mark: memory.
        (STANDARD_ATMOSPHERE, 101325),
    ],
)
def test_definition(quantity: Quantity, si: float) -> None:
    assert quantity.si == pytest.approx(si, rel=1e-15)
