"""Values as JSON."""

from __future__ import annotations

import datetime as dt
import json
from decimal import Decimal
from typing import Any

import books
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.gas import Gas
from tankbook.output import as_json
from tankbook.records.cylinder import Cylinder
from tankbook.records.kinds import Cleared, Rated
from tankbook.records.words import Status
from tankbook.rules.answers import WaterVolume
from tankbook.units import GaugePressure, Money, PartialDate, Period, Volume


@pytest.mark.parametrize(
    ("value", "plain"),
    [
        (None, None),
        (True, True),
        (3, 3),
        (0.1 + 0.2, 0.3),
        ("NO", "NO"),
        (Status.IN_SERVICE, "in-service"),
        (GaugePressure.of(3000, "psi"), "3000 psi"),
        (Money.of(Decimal("18.50"), "USD"), "18.50 USD"),
        (PartialDate.parse("2026-02"), "2026-02"),
        (Period.parse("30 months"), "30 months"),
        (Rated.parse("77.4 cuft at 3000 psi (real)"), "77.4 cuft at 3000 psi (real)"),
        (Gas.parse("EAN32"), "nitrox32"),
        (Decimal("1.50"), "1.50"),
        (dt.date(2026, 2, 9), "2026-02-09"),
        (dt.datetime.fromisoformat("2026-11-25T09:30:00+01:00"), "2026-11-25T09:30:00+01:00"),
        (dt.time(9, 5), "09:05"),
        (Cleared.parse("damage 2026-02-09"), "damage 2026-02-09"),
        ({"b": 1, "a": (1.5,)}, {"b": 1, "a": [1.5]}),
        (
            WaterVolume(Volume.of(11.1, "L"), "as recorded"),
            {"volume": "11.1 L", "basis": "as recorded"},
        ),
    ],
)
def test_each_kind_of_value_has_one_plain_form(value: Any, plain: Any) -> None:
    assert as_json.plain(value) == plain


def test_a_value_without_a_form_is_refused() -> None:
    with pytest.raises(TypeError, match="no JSON form for object"):
        as_json.plain(object())


def test_not_a_number_is_refused_rather_than_written() -> None:
    with pytest.raises(ValueError, match="Out of range float"):
        as_json.dumps(float("nan"))


def test_a_record_has_the_keys_of_its_file_and_only_those_given() -> None:
    cylinder = books.typed(Cylinder, books.GOOD)
    got = as_json.record(cylinder)
    assert list(got) == [
        "serial",
        "maker",
        "specification",
        "service_pressure",
        "test_pressure",
        "water_volume",
        "material",
        "alloy",
        "neck_thread",
        "valve",
        "service",
        "use",
        "status",
        "requalified",
        "inspected",
    ]
    assert got["valve"] == {
        "outlet": "convertible",
        "thread": "3/4-14 NPSM",
        "rating": "3442 psi",
        "disc": "5000 psi",
    }
    assert got["requalified"][0]["on"] == "2024-03"


def test_text_is_utf8_and_keys_keep_their_order() -> None:
    text = as_json.dumps({"z": "Müller", "a": 1})
    assert text == '{\n  "z": "Müller",\n  "a": 1\n}\n'


@given(st.floats(-1e300, 1e300))
def test_a_computed_number_keeps_ten_digits(value: float) -> None:
    back = json.loads(as_json.dumps(value))
    assert back == pytest.approx(value, rel=1e-9)
