"""Order, equality, and the things that must never be mixed up."""

import operator
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.units import (
    STANDARD_ATMOSPHERE,
    AbsolutePressure,
    Concentration,
    GaugePressure,
    Mass,
    Money,
    Period,
    Temperature,
    UnitError,
    Volume,
)

COMPARISONS = [operator.lt, operator.le, operator.gt, operator.ge]


@pytest.mark.parametrize(
    "compare", [*COMPARISONS, operator.eq, operator.ne, operator.add, operator.sub]
)
def test_gauge_and_absolute_never_meet(compare: Callable[[object, object], object]) -> None:
    gauge, absolute = GaugePressure.of(200, "bar"), AbsolutePressure.of(200, "bar")
    with pytest.raises(TypeError):
        compare(gauge, absolute)
    with pytest.raises(TypeError):
        compare(absolute, gauge)


def test_a_pressure_is_unequal_to_what_is_no_pressure() -> None:
    assert GaugePressure.of(200, "bar") != Mass.of(200, "kg")
    assert GaugePressure.of(200, "bar") != None  # noqa: E711
    assert GaugePressure.of(200, "bar") != 200


def test_equality_ignores_the_unit() -> None:
    assert Volume.of(1, "m3") == Volume.of(1000, "L")
    assert hash(Volume.of(1, "m3")) == hash(Volume.of(1000, "L"))
    assert Temperature.of(0, "degC") == Temperature.of(273.15, "K")


@given(low=st.floats(0, 1e4), high=st.floats(0, 1e4))
def test_order_is_that_of_the_si_value(low: float, high: float) -> None:
    bar, psi = GaugePressure.of(low, "bar"), GaugePressure.of(high, "psi")
    for compare in COMPARISONS:
        assert compare(bar, psi) == compare(bar.pa, psi.pa)


def test_gauge_to_absolute_adds_the_air() -> None:
    # 3000 psig is 3014.7 psia at the standard atmosphere of 14.696 psi. Mark: computed.
    absolute = GaugePressure.of(3000, "psi").absolute()
    assert absolute.psi == pytest.approx(3014.6959, abs=1e-4)
    assert str(absolute).endswith("psi abs")
    high_up = AbsolutePressure.of(80, "kPa")
    assert GaugePressure.of(1, "bar").absolute(high_up).kpa == pytest.approx(180)


@given(st.floats(0, 1000))
def test_absolute_and_back(bar: float) -> None:
    gauge = GaugePressure.of(bar, "bar")
    assert gauge.absolute().gauge().pa == pytest.approx(gauge.pa, rel=1e-12, abs=1e-6)


def test_a_vacuum_is_no_gauge_reading() -> None:
    with pytest.raises(UnitError, match="a gauge would show a vacuum"):
        AbsolutePressure.of(0.5, "bar").gauge()
    assert AbsolutePressure.of(2, "ata").gauge() == GaugePressure.of(1.01325, "bar")
    assert STANDARD_ATMOSPHERE.gauge() == GaugePressure.of(0, "bar")


@pytest.mark.parametrize("compare", COMPARISONS)
def test_concentrations_by_volume_and_by_mass_have_no_order(
    compare: Callable[[object, object], bool],
) -> None:
    by_volume, by_mass = Concentration.of(5, "ppm"), Concentration.of(5, "mg/m3")
    with pytest.raises(TypeError):
        compare(by_volume, by_mass)
    assert compare(by_volume, Concentration.of(4, "ppm")) == compare(5, 4)
    assert by_volume != by_mass
    assert by_volume == Concentration.parse("5 ppm")
    least = Concentration.parse("<5 ppm")  # below what could be detected: counts as that much
    assert least == by_volume == Concentration.parse("< 5ppm")
    assert str(least) == "<5 ppm"
    assert len({by_volume, by_mass, Concentration.parse("5 ppm")}) == 2


def test_concentration_is_not_converted() -> None:
    with pytest.raises(UnitError, match="without knowing the substance"):
        Concentration.of(5, "ppm").to("mg/m3")
    assert (Concentration.of(5, "ppm").value, Concentration.of(5, "ppm").unit) == (5, "ppm")


@pytest.mark.parametrize("compare", COMPARISONS)
def test_money_of_one_currency(compare: Callable[[object, object], bool]) -> None:
    five, six = Money.of(5, "USD"), Money.of("6.00", "USD")
    assert compare(five, six) == compare(5, 6)
    with pytest.raises(TypeError, match="two currencies"):
        compare(five, Money.of(6, "EUR"))


def test_money_arithmetic_is_exact() -> None:
    fee = Money.parse("0.10 USD")
    assert str(fee + fee + fee) == "0.30 USD"
    assert str(3 * fee) == "0.30 USD"
    assert Money.of(18.5, "USD") == Money.parse("18.50 USD")
    with pytest.raises(TypeError):
        fee + Money.of(1, "EUR")


@pytest.mark.parametrize(
    ("amount", "currency"),
    [("-1", "USD"), ("nan", "USD"), ("inf", "USD"), ("1e20", "USD"), ("x", "USD"), ("1", "usd")],
)
def test_money_refused(amount: str, currency: str) -> None:
    with pytest.raises(UnitError):
        Money.of(amount, currency)


def test_periods() -> None:
    assert Period.parse("1 year") == Period.parse("12 months")
    assert (Period.parse("30 months").months, Period.parse("60 days").days) == (30, 60)
    assert Period.parse("30 days") != Period.parse("1 month")


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf"), 1e308])
def test_no_quantity_without_a_finite_number(value: float) -> None:
    with pytest.raises(UnitError):
        GaugePressure.of(value, "MPa")


def test_unknown_unit_in_code() -> None:
    with pytest.raises(UnitError, match="unknown unit 'gallon' for a volume"):
        Volume.of(1, "gallon")
    with pytest.raises(UnitError, match="unknown unit 'gallon' for a volume"):
        Volume.of(1, "L").to("gallon")
