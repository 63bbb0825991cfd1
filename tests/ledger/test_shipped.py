"""What comes with tankbook is read as it was frozen, and that is what its YAML files say."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

import tankbook
from tankbook.ledger import shipped
from tankbook.ledger.events import parse
from tankbook.records.fields import NodeReader, Record, read
from tankbook.records.node import MappingNode, Node, Scalar, SequenceNode
from tankbook.records.rulerow import RuleSet
from tankbook.units.lexicon import spelt
from tankbook.units.shipped import words
from tests.support.needles import needles_of

DATA = Path(tankbook.__file__).parent / "ledger" / "data"
FILES = {
    str(path.relative_to(DATA)): path
    for path in sorted(DATA.rglob("*.yaml"))
    if path.parent.name != "words" and path.name not in shipped.FROZEN_APART
}
APART = {"explained.yaml": DATA / "explained.yaml"}
WORDS = {path.stem: path for path in sorted((DATA / "words").glob("*.yaml"))}
FROZEN_WORDS = DATA.parents[1] / "units" / "frozen" / "words.json"
FROZEN_NEEDLES = FROZEN_WORDS.with_name("needles.json")


def node_of(path: Path) -> Node | None:
    node, findings = parse(path.read_text(encoding="utf-8"), path.name)
    assert findings == []
    return node


def plain(node: Node | None) -> Any:
    match node:
        case Scalar():
            return node.text
        case MappingNode():
            return {name.text: plain(value) for name, value in node.pairs}
        case SequenceNode():
            return [plain(item) for item in node.items]
    raise TypeError(node)


@pytest.mark.parametrize(
    ("frozen", "files"),
    [(DATA / shipped.FROZEN, FILES), (DATA / "explained.json", APART), (FROZEN_WORDS, WORDS)],
)
def test_what_is_frozen_is_what_the_yaml_files_say(
    frozen: Path, files: dict[str, Path], request: pytest.FixtureRequest
) -> None:
    said = {name: plain(node_of(path)) for name, path in files.items()}
    if request.config.getoption("update_snapshots"):
        frozen.write_text(json.dumps(said, indent=0, ensure_ascii=False) + "\n", encoding="utf-8")
    assert json.loads(frozen.read_text(encoding="utf-8")) == said


def test_what_a_line_must_find_is_frozen_with_it(request: pytest.FixtureRequest) -> None:
    needed = {
        subject: {
            name: [needles_of(_expression(subject, line)) for line in lines]
            for name, lines in lists.items()
        }
        for subject, lists in words().items()
    }
    if request.config.getoption("update_snapshots"):
        text = json.dumps(needed, indent=0, ensure_ascii=False)
        FROZEN_NEEDLES.write_text(text + "\n", encoding="utf-8")
    assert json.loads(FROZEN_NEEDLES.read_text(encoding="utf-8")) == needed


def _expression(subject: str, line: str) -> str:
    return spelt(subject, line.strip("~"))


def test_a_file_of_words_is_lists_of_lines() -> None:
    for subject, lists in json.loads(FROZEN_WORDS.read_text(encoding="utf-8")).items():
        for name, lines in lists.items():
            assert lines, (subject, name)
            assert all(isinstance(line, str) and line for line in lines), (subject, name)


def slowly(record: type[Record], *parts: str) -> Record | None:
    path = "/".join(parts)
    reader = NodeReader(path)
    got = read(record, node_of((FILES | APART)[path]), reader)
    assert reader.findings == []
    return got


def every_file() -> dict[str, object]:
    for each in (
        shipped.checklists,
        shipped.sizes,
        shipped.findings,
        shipped._mark_table,
        shipped.sheets,
        shipped.explained,
    ):
        each.cache_clear()
    shipped.rule_set.cache_clear()
    return {
        **{name: shipped.rule_set(name) for name in shipped.rule_set_names()},
        "checklists": shipped.checklists(),
        "sizes": shipped.sizes(),
        "findings": shipped.findings(),
        "marks": shipped.marks(),
        "words": shipped.mark_words(),
        "sheets": shipped.sheets(),
        "explained": shipped.explained(),
    }


def test_frozen_files_are_the_records_that_their_yaml_is(monkeypatch: pytest.MonkeyPatch) -> None:
    frozen = every_file()
    with monkeypatch.context() as patched:
        patched.setattr(shipped, "_read", slowly)
        assert every_file() == frozen
    every_file()


def test_a_row_that_was_frozen_says_where_it_stands() -> None:
    row = shipped.rule_set("us-dot").rows[3]
    written = read(RuleSet, node_of(FILES["rules/us-dot.yaml"]), NodeReader("rules/us-dot.yaml"))
    assert written is not None
    assert row.source.at("id") == written.rows[3].source.at("id")
    assert row.source.at("id").line > 1


def test_what_cannot_be_typed_quickly_is_read_in_full(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shipped, "quick_read", lambda *_: None)
    shipped.rule_set.cache_clear()
    assert shipped.rule_set("uk").rows
    shipped.rule_set.cache_clear()
