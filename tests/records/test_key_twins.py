"""A key in other words is pointed to the one that is meant, where the record has it."""

from __future__ import annotations

import pytest

from tankbook.ledger.events import parse
from tankbook.records.cylinder import Cylinder
from tankbook.records.fields import KEY_TWINS, NodeReader, Record, keys_of, read
from tankbook.records.settings import Settings


def mend_of(text: str, record: type[Record] = Cylinder) -> str:
    node, findings = parse(text, "x.yaml")
    assert findings == []
    reader = NodeReader("x.yaml")
    read(record, node, reader)
    return next(f.mend for f in reader.findings if f.code == "unknown-key")


@pytest.mark.parametrize(
    ("key", "meant"),
    [
        ("hydro", "requalified"), ("visual", "inspected"), ("vip", "inspected"), ("VIP", "inspected"), ("wp", "service_pressure"), ("WP", "service_pressure"),
        ("working pressure", "service_pressure"), ("serial-number", "serial"), ("manufacturer", "maker"), ("location", "place"), ("hire", "rented"),
    ],
)  # fmt: skip
def test_a_key_in_other_words_is_pointed_to_the_right_one(key: str, meant: str) -> None:
    mend = mend_of(f"{key}: x\n")
    assert f"`{meant}`" in mend
    line = mend.rpartition("as in `")[2].removesuffix("`")
    node, findings = parse(f"{line}\n", "x.yaml")
    reader = NodeReader("x.yaml", list(findings))
    read(Cylinder, node, reader)
    assert [f for f in reader.findings if f.code != "missing-key"] == []


def test_every_word_is_none_that_is_a_key_already() -> None:
    keys = keys_of(Cylinder)
    assert {word for word in KEY_TWINS if word in keys} == set()


def test_a_record_without_the_key_points_to_no_such_key() -> None:
    assert "service_pressure" not in mend_of("wp: 3000 psi\n", Settings)
    assert "requalified" not in mend_of("hydro: x\n", Settings)


def test_a_slip_is_still_a_slip() -> None:
    assert mend_of("servce_pressure: 3000 psi\n") == "did you mean `service_pressure`?"
