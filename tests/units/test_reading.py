"""What is read, what is refused, and how both are said."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tankbook.units import (
    AbsolutePressure,
    Concentration,
    FreeGasFlow,
    GaugePressure,
    Length,
    Mass,
    Money,
    PartialDate,
    Percent,
    Period,
    PressureRate,
    Quantity,
    RunningTime,
    Temperature,
    Torque,
    UnitError,
    Volume,
)

QUANTITIES: list[type[Quantity]] = [
    GaugePressure,
    AbsolutePressure,
    Volume,
    Mass,
    Length,
    Temperature,
    Percent,
    Torque,
    Concentration,
    RunningTime,
    PressureRate,
    FreeGasFlow,
]


@pytest.mark.parametrize(
    ("kind", "text", "written"),
    [
        (GaugePressure, "3000 psi", "3000 psi"),
        (GaugePressure, "3000psi", "3000 psi"),
        (GaugePressure, "3000 psig", "3000 psi"),
        (GaugePressure, "207.5 barg", "207.5 bar"),
        (GaugePressure, "20.7 MPa", "20.7 MPa"),
        (GaugePressure, "0 bar", "0 bar"),
        (AbsolutePressure, "207.86 bar abs", "207.86 bar abs"),
        (AbsolutePressure, "14.7 psia", "14.7 psi abs"),
        (AbsolutePressure, "1 bara", "1 bar abs"),
        (AbsolutePressure, "1.4 ata", "1.4 ata"),
        (Volume, "11.1 L", "11.1 L"),
        (Volume, "11.1 l", "11.1 L"),
        (Volume, "80 cu ft", "80 cuft"),
        (Mass, "31.7 lbs", "31.7 lb"),
        (Length, "0.5 mm", "0.5 mm"),
        (Temperature, "70 degF", "70 degF"),
        (Temperature, "70 °F", "70 degF"),
        (Temperature, "-5°C", "-5 degC"),
        (Temperature, "294.26 K", "294.26 K"),
        (Percent, "32.4 %", "32.4 %"),
        (Percent, "32.40%", "32.4 %"),
        (Torque, "50 N m", "50 N m"),
        (Torque, "50 Nm", "50 N m"),
        (Torque, "37 ft-lbf", "37 ft-lbf"),
        (Concentration, "5 ppm", "5 ppm"),
        (Concentration, "0.5 mg/m3", "0.5 mg/m3"),
        (RunningTime, "412.5 h", "412.5 h"),
        (RunningTime, "8 min", "8 min"),
        (PressureRate, "400 psi/min", "400 psi/min"),
        (FreeGasFlow, "3.5 cuft/min", "3.5 cuft/min"),
        (Money, "18.50 USD", "18.50 USD"),
        (Money, "18USD", "18 USD"),
        (Period, "5 years", "5 years"),
        (Period, "1 years", "1 year"),
        (Period, "60 day", "60 days"),
        (PartialDate, "2026-02", "2026-02"),
        (PartialDate, "2026-02-09", "2026-02-09"),
    ],
)
def test_read_and_written(kind: type[Quantity], text: str, written: str) -> None:
    assert str(kind.parse(text)) == written


@pytest.mark.parametrize(
    ("kind", "text", "message", "mend"),
    [
        (GaugePressure, "3000", "'3000' is a bare number; a pressure carries its unit", "3000 psi"),
        (GaugePressure, "3,000 psi", "'3,000 psi' has a comma in its number", "decimal point"),
        (GaugePressure, "3e3 psi", "'3e3 psi' is not a pressure", "3000 psi"),
        (GaugePressure, "+3000 psi", "'+3000 psi' is not a pressure", "3000 psi"),
        (GaugePressure, "nan psi", "'nan psi' is not a pressure", "3000 psi"),
        (GaugePressure, "3000  psi", "'3000  psi' is not a pressure", "3000 psi"),
        (GaugePressure, "3000 psi\n", "'3000 psi\\n' is not a pressure", "3000 psi"),
        (GaugePressure, ".5 bar", "'.5 bar' is not a pressure", "3000 psi"),
        (GaugePressure, "٣٠٠٠ psi", "'٣٠٠٠ psi' is not a pressure", "3000 psi"),
        (GaugePressure, "", "a pressure is missing", "3000 psi"),
        (GaugePressure, "-1 psi", "-1 psi: a pressure cannot be negative", "3000 psi"),
        (GaugePressure, "3000 PSI", "unknown unit 'PSI' for a pressure", "write psi"),
        (GaugePressure, "3 atm", "unknown unit 'atm' for a pressure", "psi, bar, kPa and MPa"),
        (GaugePressure, "3000 psia", "psia is no unit for a pressure", "as the gauge shows"),
        (GaugePressure, "9" * 400 + " psi", "the number is too large for a pressure", "3000 psi"),
        (AbsolutePressure, "207 bar", "bar is no unit for an absolute pressure", "bar abs"),
        (AbsolutePressure, "207 barg", "barg is no unit for an absolute pressure", "bar abs"),
        (Temperature, "-300 degC", "-300 degC is not above absolute zero", "70 degF"),
        (Temperature, "0 K", "0 K is not above absolute zero", "70 degF"),
        (Percent, "101 %", "101 % is not between 0 % and 100 %", "32.4 %"),
        (Percent, "-1 %", "-1 % is not between 0 % and 100 %", "32.4 %"),
        (Money, "18.50", "'18.50' is a bare number; a sum of money carries its unit", "18.50 USD"),
        (Money, "$18.50", "'$18.50' is no sum of money", "18.50 USD"),
        (Money, "1.23456 USD", "'1.23456 USD' is no sum of money", "18.50 USD"),
        (Period, "5", "'5' is not a period", "5 years"),
        (Period, "2.5 years", "'2.5 years' is not a period", "5 years"),
        (
            PartialDate,
            "09/02/2026",
            "'09/02/2026' may be 2026-02-09 or 2026-09-02",
            "the one that is meant",
        ),
        (PartialDate, "2024-13-02", "2024-13-02 is not a calendar date", "2026-02-09"),
        (PartialDate, "2025-02-29", "2025-02-29 is not a calendar date", "2026-02-09"),
        (PartialDate, "1899-12", "year 1899 is outside 1900 to 2200", "2026-02"),
        (PartialDate, "2026-2", "'2026-2' is not a date", "2026-02"),
    ],
)
def test_refused(kind: type[Quantity], text: str, message: str, mend: str) -> None:
    with pytest.raises(UnitError) as caught:
        kind.parse(text)
    assert str(caught.value) == message
    assert mend in caught.value.mend


def test_bare_number_takes_the_unit_it_is_offered() -> None:
    assert GaugePressure.parse("3000", "psi") == GaugePressure.of(3000, "psi")
    assert AbsolutePressure.parse("200", "bar") == AbsolutePressure.of(200, "bar")
    assert Money.parse("18.50", "USD") == Money.of("18.5", "USD")
    assert Period.parse("5", "years") == Period.of(60, "months")


def test_written_unit_wins_over_the_one_offered() -> None:
    assert str(GaugePressure.parse("207 bar", "psi")) == "207 bar"


@given(text=st.text() | st.from_regex(r"-?[0-9.]{1,9} ?[a-zA-Z%/° -]{0,9}"))
@example("9" * 5000 + " psi")
@example("0." + "0" * 5000 + "1 K")
@example("\ud800 psi")
@example("1 \ud800\n")
@example("1 psi\x00")
@example("٢ years")
@example("9999-99-99")
def test_any_text_is_read_or_refused(text: str) -> None:
    for kind in [*QUANTITIES, Money, Period, PartialDate]:
        try:
            read = kind.parse(text)
        except UnitError as error:
            message = str(error)
            assert message.isprintable()
            assert len(message) < 100
        else:
            assert kind.parse(str(read)) == read


@given(data=st.data(), kind=st.sampled_from(QUANTITIES))
def test_what_is_written_reads_back_the_same(data: st.DataObject, kind: type[Quantity]) -> None:
    quantity = kind.of(
        data.draw(st.floats(0.5e-300, 100 if kind is Percent else 1e12)),
        data.draw(st.sampled_from(sorted(kind.UNITS))),
    )
    again = kind.parse(str(quantity))
    assert (again.value, again.unit) == (quantity.value, quantity.unit)
    assert again == quantity
    assert hash(again) == hash(quantity)


@given(data=st.data(), kind=st.sampled_from([k for k in QUANTITIES if k is not Concentration]))
def test_there_and_back_between_units(data: st.DataObject, kind: type[Quantity]) -> None:
    units = sorted(kind.UNITS)
    quantity = kind.of(data.draw(st.floats(0.01, 100)), data.draw(st.sampled_from(units)))
    there = data.draw(st.sampled_from(units))
    assert kind.of(quantity.to(there), there).si == pytest.approx(quantity.si, rel=1e-13)


@given(amount=st.decimals(0, 10**15 - 1, places=2))
def test_money_reads_back_the_same(amount: object) -> None:
    money = Money.of(str(amount), "EUR")
    assert Money.parse(str(money)) == money


@pytest.mark.parametrize(
    ("value", "unit", "digits", "text"),
    [(3000, "bar", 1, "206.8 bar"), (3000, "psi", 0, "3000 psi"), (0, "bar", 1, "0.0 bar")],
)
def test_format(value: float, unit: str, digits: int, text: str) -> None:
    assert GaugePressure.of(value, "psi").format(unit, digits) == text


def test_format_of_others() -> None:
    assert Temperature.of(-0.01, "degC").format("degC", 0) == "0 degC"
    assert AbsolutePressure.of(207.86, "bar").format("bar", 1) == "207.9 bar abs"
    assert AbsolutePressure.of(1.4, "ata").format("ata", 2) == "1.40 ata"
    with pytest.raises(UnitError, match="unknown unit 'atm'"):
        GaugePressure.of(1, "bar").format("atm", 1)
