"""A key in other words is pointed to the one that is meant, where the record has it."""

from __future__ import annotations

import pytest

from tankbook.ledger.events import parse
from tankbook.records.cylinder import Cylinder
from tankbook.records.entries import Inspected
from tankbook.records.fields import NodeReader, Record, keys_of, read
from tankbook.records.other_words import KEY_TWINS, keys_meant
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
        ("Seriennummer", "serial"), ("Hersteller", "maker"), ("bemerkung", "note"), ("Prüfdatum", "requalified"), ("tüv", "requalified"), ("pression", "service_pressure"),
        ("épreuve", "requalified"), ("requalification", "requalified"), ("marque", "maker"), ("Matricola", "serial"), ("collaudo", "requalified"), ("produttore", "maker"),
        ("numero de serie", "serial"), ("presion", "service_pressure"), ("fabricante", "maker"), ("observaciones", "note"), ("keuring", "requalified"), ("merk", "maker"),
        ("opmerkingen", "note"), ("vuldruk", "service_pressure"), ("Standort", "place"), ("baujahr", "made"),
        ("outlet", "outlet"), ("ventil", "outlet"), ("kraan", "outlet"), ("valve_rating", "rating"),
        ("last_hydro", "requalified"), ("letzte_pruefung", "requalified"), ("lastHydro", "requalified"), ("viz", "inspected"), ("eddy", "inspected"), ("last_inspected", "inspected"),
        ("o2clean", "cleaned"), ("damaged", "held"), ("leaking", "held"), ("out_of_service", "held"), ("condition", "note"), ("nitrox", "service"), ("oxygen", "service"),
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


@pytest.mark.parametrize("gas", ["air", "nitrox", "oxygen"])
def test_a_gas_as_a_key_is_told_with_itself(gas: str) -> None:
    assert mend_of(f"{gas}: yes\n") == f"here it is called `service`: as in `service: {gas}`"


@pytest.mark.parametrize("key", ["tank", "Tank No", "id", "Flasche", "cylinder", "bombola"])
def test_an_id_in_a_card_is_said_to_be_the_name_of_its_file(key: str) -> None:
    assert mend_of(f"{key}: x\n") == "its id is the name of its file: take the line out"
    assert "the name of its file" not in mend_of(f"{key}: x\n", Inspected)


@pytest.mark.parametrize("key", ["date", "datum", "xyzzy", "ratings", "specials", "matters"])
def test_where_none_is_near_all_are_named(key: str) -> None:
    assert mend_of(f"{key}: x\n").startswith("known keys: serial, maker, ")


@pytest.mark.parametrize(
    ("key", "meant"),
    [
        ("date", "on"),
        ("Datum", "on"),
        ("inspector", "by"),
        ("Ergebnis", "result"),
        ("remarks", "note"),
    ],
)
def test_an_entry_is_asked_in_its_own_words(key: str, meant: str) -> None:
    assert f"here it is called `{meant}`" in mend_of(f"{key}: x\n", Inspected)


def test_what_is_meant_is_a_key_of_some_record() -> None:
    """A word that points to no key at all would never be told."""
    words = [
        w for w in ("marque", "outlet", "vip", "fecha", "hasta", "kunde") for w in keys_meant(w)
    ]
    cards = {*keys_of(Cylinder), "valve.outlet", "outlet", "on", "until", "to", "rented"}
    assert set(words) <= cards


def test_every_word_is_none_that_is_a_key_already() -> None:
    keys = keys_of(Cylinder)
    assert {word for word in KEY_TWINS if word.replace(" ", "_") in keys} == set()


def test_a_record_without_the_key_points_to_no_such_key() -> None:
    assert "service_pressure" not in mend_of("wp: 3000 psi\n", Settings)
    assert "requalified" not in mend_of("hydro: x\n", Settings)


def test_a_slip_is_still_a_slip() -> None:
    assert mend_of("servce_pressure: 3000 psi\n") == "did you mean `service_pressure`?"
