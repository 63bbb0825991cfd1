"""How single values are written."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.output.page import Page, ago, counted, plain_date
from tankbook.records.words import Shore
from tankbook.units import GaugePressure, PartialDate, Temperature, Volume

PSI, BAR = Page(), Page(shore=Shore.BAR)


def psi(value: float) -> GaugePressure:
    return GaugePressure.of(value, "psi")


@pytest.mark.parametrize(
    ("page", "target", "limit", "said"),
    [
        (PSI, psi(2757.9), psi(3000), "2750 psi"),
        (PSI, psi(2759.9999999), psi(3000), "2760 psi"),  # a hair of rounding in the gas law
        (PSI, psi(3442), psi(3442), "3442 psi"),
        (PSI, psi(5), psi(3000), "0 psi"),
        (BAR, GaugePressure.of(213.9, "bar"), GaugePressure.of(232, "bar"), "213 bar"),
        (BAR, psi(3000), psi(3000), "3000 psi (206 bar)"),
    ],
)
def test_a_target_is_rounded_down_and_a_limit_is_not(
    page: Page, target: GaugePressure, limit: GaugePressure, said: str
) -> None:
    assert page.target(target, limit) == said


@given(
    st.floats(100, 6000), st.floats(0.5, 1), st.sampled_from(["psi", "bar"]), st.sampled_from(Shore)
)
def test_no_written_target_is_above_the_limit(
    pressure: float, share: float, unit: str, shore: Shore
) -> None:
    limit = GaugePressure.of(pressure, unit)
    target = GaugePressure.of(pressure * share, unit)
    said = Page(shore=shore).target(target, limit).split(" (")[0]
    assert GaugePressure.parse(said).si <= limit.si * (1 + 1e-9)
    assert GaugePressure.parse(said).si <= target.si * (1 + 1e-8) + 1


def test_a_marked_pressure_stays_as_marked_with_the_ledgers_unit_beside_it() -> None:
    assert PSI.marked(psi(3000)) == "3000 psi"
    assert PSI.marked(GaugePressure.of(232, "bar")) == "232 bar (3360 psi)"
    assert BAR.marked(psi(3442)) == "3442 psi (237 bar)"


def test_readings_temperatures_and_amounts_take_the_ledgers_unit() -> None:
    assert PSI.pressure(GaugePressure.of(300, "bar")) == "4351 psi"
    assert BAR.temperature(Temperature.of(68, "degF")) == "20 degC"
    assert PSI.temperature(Temperature.of(20, "degC")) == "68 degF"
    assert PSI.free_gas(Volume.of(2200, "L")) == "77.7 cuft"
    assert BAR.free_gas(Volume.of(77.7, "cuft")) == "2200 L"


def test_dates_are_said_in_english_whatever_the_locale() -> None:
    assert plain_date(PartialDate.parse("2026-02")) == "Feb 2026"
    assert plain_date(PartialDate.parse("2026-02-09")) == "9 Feb 2026"
    assert plain_date(dt.date(2026, 12, 31)) == "31 Dec 2026"


def test_counts_and_ages() -> None:
    assert [counted(n, "file") for n in (0, 1, 2)] == ["0 files", "1 file", "2 files"]
    today = dt.date(2026, 11, 25)
    assert [ago(today - dt.timedelta(d), today) for d in (0, 1, 11)] == [
        "today",
        "1 day ago",
        "11 days ago",
    ]


def test_items_are_wrapped_between_and_never_inside() -> None:
    items = [f"{n} x size number {n}" for n in range(20)]
    text = PSI.items("Ready", items)
    assert max(map(len, text.splitlines())) <= 80
    assert all(any(item in line for line in text.splitlines()) for item in items)
    assert PSI.items("", ["a b"], "  ") == "  a b"


def test_a_name_longer_than_its_column_does_not_run_into_what_is_said() -> None:
    pairs = (("by", "TO"), ("NOT TO BE FILLED OR USED", "it is held"))
    assert PSI.facts(pairs, 8).splitlines() == [
        "by      TO",
        "NOT TO BE FILLED OR USED it is held",
    ]


def test_wrapping_never_cuts_a_word() -> None:
    citation = "49-CFR-180.209(a)-" * 6
    text = f"see {citation} for more"
    assert citation in PSI.wrap(text, "  ").split()
    assert max(map(len, PSI.wrap("word " * 60).splitlines())) <= 80
