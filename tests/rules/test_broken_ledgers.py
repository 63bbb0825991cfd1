"""Ledgers broken on purpose: every fault is told with its place, and every fault is seeded."""

from __future__ import annotations

import ast
import datetime as dt
import re
import shutil
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from changing import replace
from read_whole import read_ledger
from syrupy.assertion import SnapshotAssertion

import tankbook
from tankbook.gas import Gas
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.events import parse, parse_events, pure_events
from tankbook.ledger.load import load
from tankbook.ledger.names import SETTINGS_FILE
from tankbook.ledger.text import RECORD_LIMIT
from tankbook.records.node import Finding, Severity
from tankbook.rules import checks
from tankbook.rules.checks import CHECKS, check
from tankbook.rules.checks.parts import OF_CARD, OF_SET, SHARED
from tankbook.rules.gate import may_fill

BROKEN = Path(__file__).parents[1] / "broken"
TODAY = dt.date(2026, 11, 25)
LEDGERS = sorted(each.name for each in BROKEN.iterdir() if each.is_dir())


def findings_of(root: Path) -> list[Finding]:
    """All that `validate` tells of a ledger, today being 25 November 2026."""
    book = read_ledger(root)
    found = list(book.findings)
    if not any(f.where.path == SETTINGS_FILE for f in found):
        found += check(book.as_known_on(TODAY), TODAY)
    return sorted(found, key=lambda f: f.where)


def line_of(finding: Finding) -> str:
    line = f"{finding.where} {finding.severity} {finding.code}: {finding.text}"
    return f"{line}\n    {finding.mend}" if finding.mend else line


@pytest.mark.parametrize("name", LEDGERS)
def test_every_fault_is_told_with_its_place(name: str, snapshot: SnapshotAssertion) -> None:
    assert "\n".join(map(line_of, findings_of(BROKEN / name))) == snapshot


@pytest.mark.parametrize("name", [*LEDGERS, "../../example_ledger"])
@pytest.mark.parametrize("clock", [TODAY, dt.date(2025, 5, 1)])
def test_what_is_checked_once_for_all_days_is_the_same_on_each(
    name: str, clock: dt.date, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One book asked about several days, later ones first, says of each what one does that is asked
    about that day alone and works out everything anew for it."""
    whole = read_ledger(BROKEN / name)
    if any(f.where.path == SETTINGS_FILE for f in whole.findings):
        return
    days = (dt.date(2027, 6, 1), dt.date(2024, 1, 1), clock)
    book = replace(whole, clock=clock).as_known_on(clock)
    together = [check(book, day) for day in days]
    monkeypatch.setattr(checks, "_OF_NO_DAY", {})
    monkeypatch.setattr(checks, "OF_NO_DAY", frozenset())
    alone = [check(replace(book, clock=clock), day) for day in days]
    assert together == alone


@pytest.mark.parametrize("name", [*LEDGERS, "../../example_ledger"])
def test_what_checks_share_can_be_read_more_than_once(name: str) -> None:
    """A part is kept with the book: one that is used up as it is read would be empty to the next."""
    book = read_ledger(BROKEN / name).as_known_on(TODAY)
    if any(f.where.path == SETTINGS_FILE for f in book.findings):
        return
    found = {n: part(book, TODAY) for n, part in SHARED.items()}
    for card in book.cylinders.values():
        found |= {n: part(book, card, TODAY) for n, part in OF_CARD.items()}
        assert [n for n, value in found.items() if isinstance(value, Iterator)] == []
    for doubles in book.sets.values():
        parts = (part(book, doubles, TODAY) for part in OF_SET.values())
        assert not any(isinstance(value, Iterator) for value in parts)


@pytest.mark.parametrize("name", LEDGERS)
def test_every_place_is_in_its_file(name: str) -> None:
    """A line and a column that an editor can go to; line 0 speaks of the file as a whole."""
    for finding in findings_of(BROKEN / name):
        where = finding.where
        path = BROKEN / name / where.path
        assert path.is_file(), where
        if where.line:
            lines = path.read_bytes().decode("utf-8", errors="replace").split("\n")
            assert where.line <= max(len(lines), 1), where
            assert where.column <= len(lines[where.line - 1]) + 1, where


def test_what_is_sound_beside_it_is_read() -> None:
    book = read_ledger(BROKEN / "quay")
    assert {"AA-01", "AA-14", "DB-01"} <= {*book.cylinders, *book.sets}
    told = [f for f in findings_of(BROKEN / "quay") if f.where.path == "cylinders/AA-01.yaml"]
    assert [f.code for f in told if f.severity is Severity.FAULT] == ["serial-twin"]


# --- nothing is filled on the strength of what could not be read ---------------------------------


@pytest.mark.parametrize(
    "id_", [p.stem for p in sorted((BROKEN / "grammar" / "cylinders").glob("*.yaml"))]
)
def test_a_cylinder_whose_file_is_broken_is_not_filled(id_: str) -> None:
    answer = may_fill(load(BROKEN / "grammar"), id_, TODAY)
    assert not answer.fillable
    assert answer.refusals[0].code == "broken-file"


@pytest.mark.parametrize("name", ["settings", "rule-set"])
def test_nothing_is_answered_without_settings(name: str) -> None:
    with pytest.raises(LedgerError) as refused:
        load(BROKEN / name)
    assert refused.value.path.startswith("tankbook.yaml:")


GOOD = """\
serial: K118204
specification: [DOT-3AL]
service_pressure: 3000 psi
test_pressure: 5000 psi
material: aluminium
alloy: "6061"
neck_thread: 3/4-14 NPSM
valve: {outlet: yoke, thread: 3/4-14 NPSM, rating: 3000 psi, disc: 5000 psi}
requalified:
  - {on: 2024-03, method: hydrostatic, by: maker}
inspected:
  - {on: 2026-02-09, by: MV, checklist: annual, result: pass}
"""


@pytest.fixture(name="ledger")
def _ledger(tmp_path: Path) -> Path:
    """A sound ledger of one cylinder that may be filled."""
    for folder in ("cylinders", "fills", "rules"):
        (tmp_path / folder).mkdir()
    shutil.copy(BROKEN / "quay" / SETTINGS_FILE, tmp_path)
    (tmp_path / "cylinders" / "RB-1.yaml").write_text(GOOD, encoding="utf-8")
    assert may_fill(load(tmp_path), "RB-1", TODAY).fillable
    return tmp_path


BROKEN_FILES = [
    ("station.yaml", "air_tests: [{on: 2026-10-12, result: fial}]\n", "station-unread"),
    ("rules/shop.yaml", "heading: house rules\nrows: [{id: shop.visual}]\n", "rules-unread"),
]


@pytest.mark.parametrize(("path", "text", "code"), BROKEN_FILES)
def test_a_broken_station_or_rule_set_is_no_absent_one(
    ledger: Path, path: str, text: str, code: str
) -> None:
    (ledger / path).write_text(text, encoding="utf-8")
    answer = may_fill(load(ledger), "RB-1", TODAY)
    assert [r.code for r in answer.refusals] == [code]
    assert f"{path}:" in answer.refusals[0].text


def test_a_broken_log_is_told_with_the_answer(ledger: Path) -> None:
    (ledger / "fills" / "2026.csv").write_text("at,cylinder\n", encoding="utf-8")
    answer = may_fill(load(ledger), "RB-1", TODAY, Gas.parse("air"))
    assert [r.code for r in answer.refusals if r.code == "log-unread"] == ["log-unread"]


# --- what cannot be kept as files here -----------------------------------------------------------


def test_a_file_that_is_too_large(ledger: Path) -> None:
    path = ledger / "cylinders" / "RB-2.yaml"
    path.write_text(GOOD + "#" * RECORD_LIMIT, encoding="utf-8")
    assert codes(ledger) == {"too-large": 1}


def test_two_ids_that_differ_only_in_capitals(ledger: Path) -> None:
    other = ledger / "cylinders" / "rb-1.yaml"
    if other.exists():
        pytest.skip("this disk takes them for one file")
    other.write_text(GOOD.replace("K118204", "K118205"), encoding="utf-8")
    assert codes(ledger) == {"id-clash": 1}


def test_a_file_that_is_not_there_after_all(ledger: Path) -> None:
    try:
        (ledger / "cylinders" / "RB-2.yaml").symlink_to(ledger / "gone.yaml")
    except OSError:
        pytest.skip("this disk has no symbolic links")
    assert codes(ledger) == {"unreadable": 1}


def codes(root: Path) -> dict[str, int]:
    return dict(Counter(f.code for f in findings_of(root) if f.code != "no-marks"))


BY_ROWS = {
    "over-heated",
    "giving-way-said",
    "above-limit",
    "recorded-above-limit",
    "period-too-long",
}
"""Codes and states of conditions, of which rule rows speak."""

MADE_HERE = {"too-large", "id-clash", "unreadable"}
MADE_WITH_GIT = {"contacts-tracked", "contacts-not-ignored", "reference-twice"}
"""Told of names and telephone numbers, each seeded in tests/ledger/test_contacts.py."""


# --- both readers of the grammar -----------------------------------------------------------------

GRAMMAR = sorted((BROKEN / "grammar" / "cylinders").glob("*.yaml"))


@pytest.mark.parametrize("path", GRAMMAR, ids=lambda p: p.stem)
def test_the_plain_python_reader_tells_the_same(path: Path) -> None:
    text = path.read_bytes().decode("utf-8", errors="surrogateescape")
    fast, plain = parse(text, path.name)[1], parse_events(pure_events, text, path.name)[1]
    assert [(f.where, f.text) for f in fast] == [(f.where, f.text) for f in plain]


def plain_codes() -> set[str]:
    """Codes that only the reader in plain Python gives to a fault."""
    texts = (p.read_bytes().decode("utf-8", errors="surrogateescape") for p in GRAMMAR)
    return {f.code for text in texts for f in parse_events(pure_events, text, "")[1]}


# --- every fault is seeded -----------------------------------------------------------------------

SOURCES = [
    path
    for room in ("records", "rules", "ledger")
    for path in sorted((Path(tankbook.__file__).parent / room).glob("*.py"))
    if path.stem not in {"mapping", "tables"}
]
"""The rooms that find faults in a ledger; the acts refuse requests, which is another thing, and a
spreadsheet that is taken over, with its mapping, is no ledger yet."""

TELLING = {"Finding", "fault", "_fault", "_advice", "_finding", "_known", "_note", "_stop"}
"""What they call to tell of one: the first of the arguments that looks like a code is the code."""

CODE = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")


def told_in(source: Path) -> Iterator[str]:
    tree = ast.parse(source.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and _name(node.func) in TELLING:
            yield from _first_code(node.args[:3])
        if isinstance(node, ast.Yield | ast.Return | ast.Assign) and isinstance(
            node.value, ast.Tuple
        ):  # csvlog: column, code, what is wrong, how to mend it
            yield from _first_code([e for e in node.value.elts if _is_hyphened(e)])
        if isinstance(node, ast.Assign) and _name(node.targets[0]) == "_FAULTS":
            assert isinstance(node.value, ast.Dict)  # code: what is wrong, how to mend it
            yield from map(ast.literal_eval, filter(None, node.value.keys))


def _name(function: ast.expr) -> str:
    return getattr(function, "attr", getattr(function, "id", ""))


def _is_hyphened(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and bool(re.search("[a-z]-[a-z]", str(node.value)))


def _first_code(arguments: list[ast.expr]) -> Iterator[str]:
    texts = (a.value for a in arguments if isinstance(a, ast.Constant))
    yield from [t for t in texts if isinstance(t, str) and CODE.fullmatch(t)][:1]


def test_every_code_of_the_source_has_a_seeded_example() -> None:
    known = {code for source in SOURCES for code in told_in(source)} - BY_ROWS - CHECKS.keys()
    seeded = {f.code for name in LEDGERS for f in findings_of(BROKEN / name)} | plain_codes()
    assert known == (seeded - CHECKS.keys()) | MADE_HERE | MADE_WITH_GIT


def test_every_severity_is_seeded() -> None:
    told = [f for name in LEDGERS for f in findings_of(BROKEN / name)]
    assert {f.severity for f in told} == set(Severity)
