"""The JSON Schemas of a ledger's files, held against what is read here, by a validator of the open
standard (jsonschema). Every file that is read passes its schema; every fault of shape is found by it.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from by_schema import typed, wrong
from pages import FILES
from read_whole import read_ledger
from ruamel.yaml.error import YAMLError

from tankbook.ledger.events import parse
from tankbook.output import schema
from tankbook.records import kinds
from tankbook.records.fields import Key, NodeReader, Parsed, keys_of, read
from tankbook.units import GaugePressure, Period, Temperature

jsonschema = pytest.importorskip("jsonschema")

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "example_ledger"
BROKEN = ROOT / "tests" / "broken"
DATA = ROOT / "tankbook" / "ledger" / "data"
UNDER = {
    "PRESSURE": GaugePressure,
    "DISC": GaugePressure,
    "TEMPERATURE": Temperature,
    "PERIOD": Period,
}
"""What the kinds are of whose parser looks at more than the quantity."""
BY_FOLDER = {w.split("/")[0]: name for name, (_, w) in schema.OF_FILE.items()}


def name_of(path: Path, root: Path) -> str | None:
    return BY_FOLDER.get(str(path.relative_to(root)).split("/")[0])


def files_of(root: Path) -> Iterator[tuple[str, Path]]:
    for path in sorted(root.rglob("*.yaml")):
        name = name_of(path, root)
        if name:
            yield name, path


@pytest.mark.parametrize("name", schema.OF_FILE)
def test_a_schema_is_one(name: str) -> None:
    made = schema.schema_of(name)
    jsonschema.Draft202012Validator.check_schema(made)
    assert json.loads(json.dumps(made)) == made


def test_every_kind_of_file_has_one() -> None:
    assert {record for record, _ in schema.OF_FILE.values()} == {r for _, r, _ in FILES}


@pytest.mark.parametrize(
    ("name", "path"), list(files_of(EXAMPLE)), ids=lambda v: v if isinstance(v, str) else v.stem
)
def test_every_file_of_the_example_passes(name: str, path: Path) -> None:
    assert wrong(name, typed(path.read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize("folder", ["rules", "checklists"])
def test_what_is_shipped_passes(folder: str) -> None:
    name = BY_FOLDER[folder]
    paths = sorted((DATA / folder).glob("*.yaml"))
    assert paths
    for path in paths:
        assert wrong(name, typed(path.read_text(encoding="utf-8"))) == [], path.name


KEYS = sorted(
    {
        (n, k.name): k
        for n, (record, _) in schema.OF_FILE.items()
        for k in keys_of(record).values()
    }.items(),
    key=lambda pair: pair[0],
)


@pytest.mark.parametrize("key", [k for _, k in KEYS], ids=[".".join(n) for n, _ in KEYS])
def test_the_example_of_every_key_passes(key: Key) -> None:
    if key.example in ("", "[...]", "{...}"):
        return
    made = schema._Schema()
    shape = {**made._key(key), "$defs": made.within}
    errors = list(jsonschema.Draft202012Validator(shape).iter_errors(typed(key.example)))
    assert errors == []


def test_an_editor_is_told_of_each_key_what_it_means() -> None:
    made = schema.schema_of("cylinder")
    for key in made["properties"].values():
        assert key["description"]
        assert key["examples"]


QUANTITIES = [
    (name, kind)
    for name, kind in vars(kinds).items()
    if isinstance(kind, Parsed)
    and isinstance(getattr(kind.parse, "__self__", None) or UNDER.get(name), type)
]


@pytest.mark.parametrize(("name", "kind"), QUANTITIES, ids=[n for n, _ in QUANTITIES])
def test_every_quantity_that_is_read_has_the_shape(name: str, kind: Parsed) -> None:
    """Of every unit and twin, written together or apart: what is read here, no schema refuses."""
    owner = UNDER.get(name) or kind.parse.__self__  # type: ignore[attr-defined]
    made = jsonschema.Draft202012Validator(schema._parsed(kind))
    read_ = 0
    units = {
        *getattr(owner, "UNITS", {}),
        *getattr(owner, "TWINS", {}),
        "USD",
        "years",
        "cuft at 3000 psi (real)",
    }
    for unit in units:
        for suffix in {"", getattr(owner, "SUFFIX", "")}:
            for text in (
                f"{n}{sign}{s}{unit}{suffix}"
                for n in ("", "<")
                for sign in ("5", "-5", "5.25", "0")
                for s in ("", " ")
            ):
                got = NodeReader("x")
                node, _ = parse(f"k: '{text}'", "x")
                assert node is not None
                value = kind.read(node.pairs[0][1], "k", got)  # type: ignore[attr-defined]
                if not got.findings and value is not None:
                    read_ += 1
                    assert made.is_valid(text), text
    assert read_ or name in {"GAS", "CLEARED", "DATE"}, name


# --- every broken file -----------------------------------------------------------------------------

OF_SHAPE = {
    "unknown-key",
    "missing-key",
    "wrong-shape",
    "bad-value",
    "unknown-word",
    "too-long",
    "not-a-record",
    "nothing-word",
    "empty-value",
}
"""The codes of reading that are of the shape of a file."""

CANNOT = {"nothing-word"}
"""What of them a schema cannot tell: `~` and `null` are nothing to YAML, and nothing may stand there."""

RIGHT_SHAPE = [
    ("cylinder", "made: 2026-02-30"), ("cylinder", "service_pressure: 30000 psi"), ("cylinder", "maker: null"),
    ("cylinder", "serial: K1\nserial: K2"), ("cylinder", "use: rental\nrequalified: [{on: 1889-01, method: hydrostatic, by: maker}]"),
    ("settings", "ambient: 900 degC"),
]  # fmt: skip
"""Faults of reading in a file of the right shape: `validate` alone tells them (docs/editor.md)."""


def faults_of(root: Path) -> Iterator[tuple[str, str, str, int]]:
    for found in read_ledger(root).findings:
        if found.code in OF_SHAPE and found.where.path.endswith(".yaml"):
            yield found.where.path, found.code, found.text, found.where.line


def key_at(path: Path, line: int) -> str:
    """The key at the margin that a line stands under; of a list at the margin, an empty text."""
    lines = path.read_text(encoding="utf-8").splitlines()[:line]
    found = (re.match(r"([a-z_]+):", each) for each in reversed(lines))
    return next((m[1] for m in found if m), "")


@pytest.mark.parametrize(
    "root", sorted(p.parent for p in BROKEN.glob("*/tankbook.yaml")), ids=lambda p: p.name
)
def test_a_fault_of_shape_is_found_by_the_schema(root: Path) -> None:
    missed = []
    for path, code, text, line in faults_of(root):
        name = name_of(root / path, root)
        if name is None or code in CANNOT:
            continue
        try:
            value = typed((root / path).read_text(encoding="utf-8"))
        except (YAMLError, ValueError):
            continue  # the editor's own reader of YAML tells that
        key = key_at(root / path, line) if code != "missing-key" else text.split()[0].split(".")[0]
        told = [
            each
            for each in wrong(name, value)
            if key.partition("[")[0] in each.partition(": ")[0] + each
        ]
        if not told:
            missed.append(f"{root.name}/{path}:{line} {code} {text}")
    assert missed == []


@pytest.mark.parametrize(("name", "text"), RIGHT_SHAPE)
def test_what_a_schema_cannot_tell_is_a_fault_all_the_same(name: str, text: str) -> None:
    node, findings = parse(text, "x")
    record, _ = schema.OF_FILE[name]
    reader = NodeReader("x", list(findings))
    read(record, node, reader)
    assert [f for f in reader.findings if f.code != "missing-key"]
    try:
        value = typed(text)
    except YAMLError:
        return  # a key given twice: an editor's reader may tell it
    assert [each for each in wrong(name, value) if "is a required property" not in each] == []


@pytest.mark.parametrize(
    ("name", "text", "key"),
    [
        ("cylinder", "servise_pressure: 3000 psi", "servise_pressure"), ("cylinder", "service_pressure: 3000", "service_pressure"),
        ("cylinder", "service_pressure: 3000 PSI", "service_pressure"), ("cylinder", "use: rentel", "use"),
        ("cylinder", "requalified: [{on: 2026-1, method: hydrostatic}]", "requalified"), ("cylinder", "valve: yoke", "valve"),
        ("cylinder", "inspected: [[]]", "inspected"), ("settings", "units: 5", "units"), ("station", "banks: [{nam: B1}]", "banks"),
        ("cylinder", "serial: {a: b}", "serial"), ("cylinder", "- a\n- b", "object"),
    ],
)  # fmt: skip
def test_a_slip_is_told_as_it_is_typed(name: str, text: str, key: str) -> None:
    assert any(key in each for each in wrong(name, typed(text)))


@pytest.mark.parametrize(
    "text",
    [
        "use: RENTAL",
        "use: hire",
        "serial: 0118211",
        "water_volume: 11.1L",
        "size: no",
        "plus:",
        "made: '2026-02'",
    ],
)
def test_what_is_read_here_is_never_refused(text: str) -> None:
    errors = wrong("cylinder", typed(text))
    own = text.partition(":")[0]
    assert [e for e in errors if e.startswith(f"{own}:")] == []


@pytest.mark.parametrize("name", schema.OF_FILE)
def test_the_first_line_names_the_file_of_the_schema(name: str, tmp_path: Path) -> None:
    """The convention of YAML editors: a path from the file it stands in."""
    line = schema.modeline(name, "schemas")
    _, where = schema.OF_FILE[name]
    file = tmp_path / where.replace("*", "X")
    found = re.fullmatch(r"# yaml-language-server: \$schema=(\S+)", line)
    assert found
    assert (file.parent / found[1]).resolve() == (
        tmp_path / "schemas" / schema.file_of(name)
    ).resolve()
    assert schema.modeline(name, "https://example.org/s").endswith(
        f"=https://example.org/s/{schema.file_of(name)}"
    )


@pytest.mark.parametrize("seed", ["1", "2"])
def test_a_schema_is_the_same_text_each_time_it_is_written(seed: str) -> None:
    """Python shuffles its sets anew in each run, and a file that git keeps may not change by it."""
    say = "from tankbook.output import schema; print(schema.all_files())"
    env = {**os.environ, "PYTHONHASHSEED": seed}
    ran = subprocess.run(
        [sys.executable, "-c", say], env=env, capture_output=True, text=True, check=True
    )
    assert ran.stdout == f"{schema.all_files()}\n"
