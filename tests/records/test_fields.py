"""How declared keys are read: what is typed, what is told, and where."""

from __future__ import annotations

import textwrap

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.ledger.events import parse
from tankbook.records.checklist import Checklist
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.fields import Key, NodeReader, Record, keys_of, read
from tankbook.records.log import Booking, Contact, LogLine
from tankbook.records.node import Mark, Scalar
from tankbook.records.rulerow import RuleSet, SizeTable
from tankbook.records.settings import Settings
from tankbook.records.station import Station

KINDS: list[type[Record]] = [
    Cylinder, Doubles, Station, Settings, Checklist, RuleSet, SizeTable, LogLine, Booking,
    Contact,
]  # fmt: skip


def faults(record: type[Record], text: str) -> list[str]:
    node, findings = parse(textwrap.dedent(text), "a.yaml")
    reader = NodeReader("a.yaml", list(findings))
    read(record, node, reader)
    return [str(f) for f in reader.findings]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("serail: K1", "a.yaml:1:1: `serail` is not a key of this record; did you mean `serial`?"),
        ("maker: X", "a.yaml:1:1: serial is missing; add `serial: K118204` (Serial number, unique within a maker)"),
        ("serial: ~", "a.yaml:1:9: serial: `~` is text here, not a missing value; leave the value empty, or take the key out"),
        ("serial: K1\nservice_pressure: 3000", "a.yaml:2:19: service_pressure: '3000' is a bare number; a pressure carries its unit"),
        ("serial: K1\nuse: rentl", "a.yaml:2:6: use: `rentl` is not a known word; did you mean `rental`?"),
        ("serial: K1\nvalve: yoke", "a.yaml:2:8: valve must be a list of `key: value` pairs; write"),
        ("serial: [K1]", "a.yaml:1:9: serial is a list; write one value, text"),
        ("serial: K1\nmade: 2024-13", "a.yaml:2:7: made: "),
        ("serial: K1\nrequalified:\n  - {on: 2021-09, method: hydro, by: maker, plus: maybe}", "a.yaml:3:51: requalified[1].plus: `maybe` is neither yes nor no; write yes | no"),
    ],
)  # fmt: skip
def test_one_wrong_value(text: str, told: str) -> None:
    assert any(line.startswith(told) for line in faults(Cylinder, text)), faults(Cylinder, text)


def test_all_faults_in_one_run() -> None:
    text = "serial: K1\nuse: rentl\nmass: heavy\ncolor: blue\nmade: soon\n"
    assert len(faults(Cylinder, text)) == 4


@pytest.mark.parametrize("word", ["NO", "0123", "2026-02", "1e3", "yes", "0x1F", "12:30"])
def test_nothing_is_guessed(word: str) -> None:
    node, _ = parse(f"serial: {word}\n", "a.yaml")
    got = read(Cylinder, node, NodeReader("a.yaml"))
    assert got is not None
    assert got.serial == word


@pytest.mark.parametrize(
    ("text", "want"),
    [("use: hire", "rental"), ("material: aluminum", "aluminium")],
)
def test_the_other_shores_words_are_read(text: str, want: str) -> None:
    node, _ = parse(f"serial: K1\n{text}\n", "a.yaml")
    got = read(Cylinder, node, NodeReader("a.yaml"))
    assert got is not None
    assert getattr(got, text.split(":")[0]) == want


def test_a_value_keeps_its_place() -> None:
    node, _ = parse("serial: K1\nvalve:\n  rating: 3442 psi\n", "a.yaml")
    got = read(Cylinder, node, NodeReader("a.yaml"))
    assert got is not None
    assert str(got.source.at("valve", "rating")) == "a.yaml:3:11"
    assert str(got.source.at("nothing")) == "a.yaml:1:1"


def nested(record: type[Record]) -> list[type[Record]]:
    found = []
    for each in keys_of(record).values():
        kind = each.kind
        while hasattr(kind, "kind"):
            kind = kind.kind
        inner = getattr(kind, "record", None)
        if inner is not None:
            found += [inner, *nested(inner)]
    return found


EVERY = list(dict.fromkeys([*KINDS, *(n for k in KINDS for n in nested(k))]))
SAMPLES = [
    (r, k) for r in EVERY for k in keys_of(r).values() if k.example and "..." not in k.example
]


@pytest.mark.parametrize(
    ("record", "each"), SAMPLES, ids=[f"{r.__name__}.{k.name}" for r, k in SAMPLES]
)
def test_every_example_on_the_format_page_is_read(record: type[Record], each: Key) -> None:
    if record in {LogLine, Booking}:
        mark = Mark(0, 1, 1)
        reader = NodeReader("a.csv")
        each.kind.read(Scalar(each.example, mark, mark), each.name, reader)
    else:
        node, findings = parse(f"{each.name}: {each.example}\n", "a.yaml")
        assert not findings
        reader = NodeReader("a.yaml")
        read(record, node, reader)
    assert [f for f in reader.findings if f.code != "missing-key"] == []


@pytest.mark.parametrize("record", EVERY, ids=lambda r: r.__name__)
def test_every_key_says_what_it_means(record: type[Record]) -> None:
    for each in keys_of(record).values():
        assert each.doc.endswith("."), each.name
        assert each.example, each.name
        assert each.kind.label


@pytest.mark.parametrize("record", EVERY, ids=lambda r: r.__name__)
def test_nouns_are_frozen_and_hold_nothing_undeclared(record: type[Record]) -> None:
    assert record.__struct_config__.frozen
    assert not record.__struct_config__.dict


@given(st.text())
def test_reading_any_text_only_gives_findings(text: str) -> None:
    node, findings = parse(text, "a.yaml")
    reader = NodeReader("a.yaml", list(findings))
    got = read(Cylinder, node, reader) if node is not None else None
    assert got is not None or reader.findings or node is None
