"""What comes with tankbook is read as it was frozen, and that is what its YAML files say."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

import tankbook
from tankbook.ledger import shipped
from tankbook.ledger.events import parse
from tankbook.records.fields import Reader, Record, read
from tankbook.records.node import Mapping, Node, Scalar, Sequence
from tankbook.records.rulerow import RuleSet

DATA = Path(tankbook.__file__).parent / "ledger" / "data"
FILES = {
    str(p.relative_to(DATA)): p for p in sorted(DATA.rglob("*.yaml")) if p.parent.name != "words"
}


def node_of(path: str) -> Node | None:
    node, findings = parse(FILES[path].read_text(encoding="utf-8"), path)
    assert findings == []
    return node


def plain(node: Node | None) -> Any:
    match node:
        case Scalar():
            return node.text
        case Mapping():
            return {name.text: plain(value) for name, value in node.pairs}
        case Sequence():
            return [plain(item) for item in node.items]
    raise TypeError(node)


def test_what_is_frozen_is_what_the_yaml_files_say(request: pytest.FixtureRequest) -> None:
    said = {path: plain(node_of(path)) for path in FILES}
    frozen = DATA / shipped.FROZEN
    if request.config.getoption("update_snapshots"):
        frozen.write_text(json.dumps(said, indent=0, ensure_ascii=False) + "\n", encoding="utf-8")
    assert json.loads(frozen.read_text(encoding="utf-8")) == said


def slowly(record: type[Record], *parts: str) -> Record | None:
    path = "/".join(parts)
    reader = Reader(path)
    got = read(record, node_of(path), reader)
    assert reader.findings == []
    return got


def every_file() -> dict[str, object]:
    for each in (
        shipped.checklists,
        shipped.sizes,
        shipped.findings,
        shipped._mark_table,
        shipped.sheets,
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
    }


def test_frozen_files_are_the_records_that_their_yaml_is(monkeypatch: pytest.MonkeyPatch) -> None:
    frozen = every_file()
    with monkeypatch.context() as patched:
        patched.setattr(shipped, "_read", slowly)
        assert every_file() == frozen
    every_file()


def test_a_row_that_was_frozen_says_where_it_stands() -> None:
    row = shipped.rule_set("us-dot").rows[3]
    written = read(RuleSet, node_of("rules/us-dot.yaml"), Reader("rules/us-dot.yaml"))
    assert written is not None
    assert row.source.at("id") == written.rows[3].source.at("id")
    assert row.source.at("id").line > 1


def test_what_cannot_be_typed_quickly_is_read_in_full(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shipped, "quick_read", lambda *_: None)
    shipped.rule_set.cache_clear()
    assert shipped.rule_set("uk").rows
    shipped.rule_set.cache_clear()
