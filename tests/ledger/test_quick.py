"""The quick reading of ordinary records gives what the full reading gives, or nothing."""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import books
import pytest
from changing import replace
from hypothesis import example, given
from hypothesis import strategies as st

from tankbook.ledger.csvlog import read_rows, read_table
from tankbook.ledger.events import parse
from tankbook.ledger.quick import Later, plain
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.fields import NodeReader, Record, read
from tankbook.records.log import Log, LogLine, columns, read_line, read_log
from tankbook.records.node import Node, Scalar, SequenceNode
from tankbook.records.quick import quick_read
from tankbook.records.settings import Settings
from tankbook.records.station import Station

TESTS = Path(__file__).parents[1]
FILES = sorted(
    [*(TESTS.parent / "example_ledger").rglob("*.yaml"), *TESTS.rglob("broken/**/*.yaml")]
)
KINDS: tuple[type[Record], ...] = (Cylinder, Doubles, Settings, Station)


def tree(node: Node | None) -> Any:
    """What a node stands for, without places."""
    if node is None or isinstance(node, Scalar):
        return node.text if node else None
    if isinstance(node, SequenceNode):
        return [tree(item) for item in node.items]
    return {name.text: tree(value) for name, value in node.pairs}


def full(kind: type[Record], text: str) -> tuple[Record | None, list[Any]]:
    node, findings = parse(text, "a.yaml")
    reader = NodeReader("a.yaml", list(findings))
    return read(kind, node, reader), reader.findings


def records_in(record: Record) -> Iterator[Record]:
    yield record
    for name in type(record).declared:
        value = getattr(record, name)
        for inner in value if isinstance(value, tuple) else (value,):
            if isinstance(inner, Record):
                yield from records_in(inner)


def check(kind: type[Record], text: str) -> bool:
    """Whether it was read quickly; what it gives then is all that the full reading gives."""
    values = plain(text)
    node, findings = parse(text, "a.yaml")
    if values is None:
        return False
    assert not findings
    assert repr(tree(node) or {}) == repr(values)
    got = quick_read(kind, values, "a.yaml", Later(text, "a.yaml"))
    wanted, faults = full(kind, text)
    if got is None:
        return False
    assert not faults
    assert got == wanted
    assert wanted is not None
    for one, other in zip(records_in(got), records_in(wanted), strict=True):
        assert one.source.path == other.source.path
        assert one.source.node == other.source.node
        assert one.source.at("on") == other.source.at("on")
    return True


def text_of(path: Path) -> str:
    return path.read_bytes().decode("utf-8", errors="replace")


@pytest.mark.parametrize("path", FILES, ids=lambda p: f"{p.parts[-3]}/{p.stem}")
def test_files_of_every_sort_read_the_same_both_ways(path: Path) -> None:
    for kind in KINDS:
        check(kind, text_of(path))


def test_nearly_all_ordinary_files_are_read_quickly() -> None:
    cylinders = [p for p in FILES if "example_ledger" in p.parts and p.parent.name == "cylinders"]
    quick = [p for p in cylinders if check(Cylinder, text_of(p))]
    assert len(cylinders) > 30
    assert len(quick) >= 0.9 * len(cylinders), {p.name for p in cylinders} - {p.name for p in quick}
    assert check(Cylinder, books.GOOD)


ODD = [
    "a: b: c\n", "a:b\n", "a: b #c\n", "a: b#c\n", "a: #b\n", "a: 'b'\n", 'a: "b\\n"\n', 'a: "b"x\n',
    "a: [b\n", "a: [b]]\n", "a: {b: c}, d\n", "a: {b: c\n}\n", "a: [b,]\n", "a: [,b]\n", "a: [b c, d]\n",
    "a: {b:c}\n", "a: {b: }\n", "a: {b: c, b: d}\n", "a: b\na: c\n", " a: b\n", "a: b\n  c\n",
    "a: b\n  c: d\n", "a:\n  b: c\n d: e\n", "a:\n- b\n- c\n", "a:\n  - b\n  c: d\n", "a:\n  -\n", "a:\n  - b: c\n    d: e\n",
    "a:\n  - b: c\n   d: e\n", "a:\n  - - b\n", "a: - b\n", "a: ? b\n", "? a\n", "- a\n", "--- \na: b\n", "a: b\n...\n",
    "%YAML 1.1\n", "a: &x b\n", "a: *x\n", "a: !t b\n", "a: |\n  b\n", "a: >\n  b\n", "<<: a\n", "a: ~\n", "a: null\n",
    "a: \n", "a:\n", "a:\n\n# x\n  b: c\n", "a: b\t\n", "a:\tb\n", "\ta: b\n", "a: b\r\n", "\ufeffa: b\n", "a: \u00a0b\n",
    "a: b\n<<<<<<< x\n", "=======\n", "a: @b\n", "a: `b\n", "a: %b\n", "a: ,b\n", "a: ]\n", "a: -\n", "a: -b\n", "a: --b\n",
    "a: .5\n", "a: ...\n", "a: (b)\n", "a: b, c\n", "a: b [c]\n", "a: [b [c]]\n", "a: {b: [c, {d: e}]}\n", 'a: ["b, c", "d"]\n',
    'a: {b: "c: d"}\n', "a: [b #c]\n", "a: [b] # c\n", "a: [b]# c\n", "a: {b: c} d\n", "a: []\n", "a: {}\n", "a: [ ]\n", "a: [\"\"]\n",
    'a: ""\n', 'a: " "\n', 'a: "b" # c\n', 'a: "b"#c\n', "a: [-1, -b]\n", "a: [- b]\n", "a : b\n", "a:   b   # c  \n",
    "a:\n  - {b: c}\n\n  - {d: e}\n", "a:\n    b: c\n    d:\n      - e\n", "a:\n  b:\n    c:\n      d:\n        e:\n          f:\n            g:\n              h: i\n",
    "a: [[[[[[[[[[b]]]]]]]]]]\n", "a.b: c\n", "a-b: c\n", "1a: c\n", "a: b:\n", "a: b :c\n", "a: http://x\n", "", "# only a remark\n", "a: b",
]  # fmt: skip


@pytest.mark.parametrize("text", ODD)
def test_odd_texts_are_read_as_the_full_reader_does_or_left_to_it(text: str) -> None:
    for kind in KINDS:
        check(kind, text)
    values = plain(text)
    node, findings = parse(text, "a.yaml")
    if values is not None:
        assert not findings
        assert repr(tree(node) or {}) == repr(values)


PIECES = st.sampled_from(
    [
        "serial: K1", "use: rental", "use: hire", "status: out", "note:", "note: a b", "  - {on: 2026-02, why: x}",
        "held:", "rented:", "- {on: 2026-11-24, to: B-1}", "  - on: 2026-02-09", "    to: B-1", "    by: MV",
        "specification: [DOT-3AL, TC-3ALM]", "valve: {outlet: yoke, rating: 3000 psi}", "valve:", "  outlet: a-clamp",
        "service_pressure: 3000", "price: 189.00 USD", "place: ~", "# remark", "", "    ", "jobs: []", "made: 2021-13",
        'note: "#4, \'x\'"', "note: it's #4", "note: a # b", "serial:", "marks: DOT-3AL 3000 09A21", "permit: {life_ends: none}",
        "note: >", "  more", "water_volume: 11.1 L", "plus: yes", "inspected:", "  - {on: 2026-02-09, by: MV, checklist: annual, result: pass, findings: [{step: a, result: note}]}",
    ]
)  # fmt: skip


@given(st.lists(PIECES, max_size=9).map("\n".join))
@example("serial: K1\nheld:\n  - {on: 2026-02, why: x}")
def test_any_pile_of_lines_reads_the_same_both_ways(text: str) -> None:
    check(Cylinder, text)


@given(st.text(alphabet="ab:-#{}[], \"'\n?&*|>%~.0", max_size=24))
def test_any_text_reads_the_same_both_ways(text: str) -> None:
    values = plain(text)
    if values is not None:
        node, findings = parse(text, "a.yaml")
        assert not findings
        assert repr(tree(node) or {}) == repr(values)


# --- the fill log, a column at a time

CELLS = st.sampled_from(
    ["", "2026-11-25T09:30:00+01:00", "RB-014", "fill", "reading", "3000 psi", " 3000 psi", "~", "null",
     "air", "EAN32", "32.1 %", "MV", "B1+B2", "x y", "3000", "nonsense", "FILL", "64 degF"]
)  # fmt: skip
GOOD_ROW = "2026-11-25T09:30:00+01:00,RB-014,fill,500 psi,3000 psi,64 degF,air,,,MV,,B1,P1,,,note"


def both(text: str) -> tuple[list[Any], list[Any], list[Any], list[Any]]:
    rows, _ = read_rows(text, "fills/2026.csv", columns(LogLine))
    fast, slow = NodeReader("fills/2026.csv"), NodeReader("fills/2026.csv")
    cells, lines = [r.cells for r in rows], [r.line for r in rows]
    quick = list(read_log(cells, lines, fast, lambda row, i: rows[row].column(i)))
    each = [read_line(LogLine, r.cells, slow, r.line, r.column) for r in rows]
    return quick, [line for line in each if line is not None], fast.findings, slow.findings


@given(st.lists(st.tuples(*[CELLS] * len(columns(LogLine))), max_size=5), st.integers(0, 3))
def test_a_log_reads_by_the_column_as_it_does_by_the_line(
    rows: list[tuple[str, ...]], good: int
) -> None:
    lines = [",".join(columns(LogLine)), *([GOOD_ROW] * good), *(",".join(r) for r in rows), ""]
    quick, each, told, wanted = both("\n".join(lines))
    assert quick == each
    assert told == wanted
    assert [repr(line) for line in quick] == [repr(line) for line in each]


def test_a_line_made_by_the_column_is_frozen_hashed_and_replaced_like_any_other() -> None:
    quick, each, _, _ = both("\n".join([",".join(columns(LogLine)), GOOD_ROW, ""]))
    (line,), (other,) = quick, each
    assert (line, hash(line), repr(line)) == (other, hash(other), repr(other))
    with pytest.raises(AttributeError, match="immutable"):
        line.note = "other"
    assert replace(line, note="x") == replace(other, note="x")


# --- the log itself

TIMES = st.sampled_from(
    ["2026-03-28T10:00:00+01:00", "2026-03-29T10:00:00+02:00", "2026-03-29T09:30:00+01:00",
     "2026-10-25T02:30:00+02:00", "2026-10-25T02:10:00+01:00", "2026-10-26T00:00:00+01:00"]
)  # fmt: skip


def log_of(times: list[str]) -> Log:
    rows = [GOOD_ROW.replace("2026-11-25T09:30:00+01:00", time) for time in times]
    text = "\n".join([",".join(columns(LogLine)), *rows, ""])
    table, _ = read_table(text, "fills/2026.csv", columns(LogLine))
    return read_log(table.cells, table.lines, NodeReader("fills/2026.csv"), lambda row, i: 1)


@given(st.lists(TIMES, max_size=5), st.lists(TIMES, max_size=3))
def test_a_log_knows_its_order_whatever_the_offsets(one: list[str], two: list[str]) -> None:
    log = Log.joined([log_of(one), log_of(two)])
    times = [line.at for line in log]
    assert log.in_order == all(a <= b for a, b in itertools.pairwise(times))
    assert Log.of(tuple(log)).in_order == log.in_order


@given(st.lists(TIMES, max_size=6))
def test_a_log_of_columns_is_a_log_of_lines(times: list[str]) -> None:
    log = log_of(times)
    lines = tuple(log_of(times))
    same = Log.of(lines)
    assert log == same == lines
    assert len(log) == len(lines)
    assert log[1:] == lines[1:]
    for name in ("at", "cylinder", "act", "note", "voids", "to"):
        assert list(log.column(name)) == [getattr(line, name) for line in lines]
    day = dt.date(2026, 3, 29)
    wanted = tuple(line for line in lines if line.at.date() <= day)
    assert log.until(day) == same.until(day) == wanted
    assert list(same.until(day).column("note")) == [line.note for line in wanted]


def test_a_log_is_made_once_and_hashed_never() -> None:
    log = log_of(["2026-03-28T10:00:00+01:00"])
    assert log[0] is log[0]
    assert next(iter(log)) is log[-1]
    with pytest.raises(TypeError):
        hash(log)
    with pytest.raises(IndexError):
        log[1]
