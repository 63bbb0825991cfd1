"""Values that a comment sign cuts short are told, with what to type instead."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankbook.ledger.cut_values import _cut, cut_values
from tankbook.ledger.events import parse
from tankbook.ledger.load import load
from tankbook.records.node import MappingNode, Scalar

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(
    ("text", "place", "mend"),
    [
        ("note: cylinder #4\n", "1:16", 'note: "cylinder #4"'),
        ("serial: K1\nplace: rack #2 left\n", "2:13", 'place: "rack #2 left"'),
        ("serial: K1\nplace: #2\n", "2:8", 'place: "#2"'), ("place: #2", "1:8", 'place: "#2"'),
        ("valve: {outlet: yoke, insert: #4\n  }\n", "1:31", 'insert: "#4"'),
        ("note: # DO NOT FILL, crack in neck\n", "1:7", 'note: "DO NOT FILL, crack in neck"'),
        ("place: # 3\n", "1:8", 'place: "# 3"'), ("status: ## condemned\n", "1:9", 'status: "## condemned"'),
        ("note:\t#! out\n", "1:7", 'note: "#! out"'), ("note: # out\r\nserial: K1\r\n", "1:7", 'note: "out"'),
        ("note:\n\n  # out\nserial: K1\n", "3:3", 'note: "out"'), ("valve:\n  outlet: # din\n", "2:11", 'outlet: "din"'),
        ("inspected:\n  - on: 2020\n    note: # bent\n  - on: 2021\n", "3:11", 'note: "bent"'),
        ("valve: {outlet: yoke, insert: # 4\n  }\n", "1:31", 'insert: "# 4"'),
        ('valve: {outlet: "a\n# b", insert: #4\n  }\n', "2:15", 'insert: "#4"'),  # no comment, but within quotes
        ("valve: {outlet: 'a\n# b', insert: #4\n  }\n", "2:15", 'insert: "#4"'),
        ("note: a \\ b #4\n", "1:13", 'note: "a \\\\ b #4"'),
        ("specification: [EN 1964-2]\nvalve:\n  outlet: din #300\n", "3:15", 'outlet: "din #300"'),
        ("requalified:\n  - {on: 2024-04, method: hydrostatic}\n  - on: 2020\n    why: see #7\n", "4:14", 'why: "see #7"'),
    ],
)  # fmt: skip
def test_a_value_that_is_cut_short(text: str, place: str, mend: str) -> None:
    (found,) = cut_values(text, "RB-13.yaml")
    assert str(found).startswith(f"RB-13.yaml:{place}: ")
    assert f"write {mend}; or" in found.mend
    key, _, value = mend.partition(": ")
    node, findings = parse(f"{key}: {value}\n", "x")
    assert findings == []
    assert isinstance(node, MappingNode)
    kept = node.get(key)
    assert isinstance(kept, Scalar)
    assert kept.text == re.sub(r"\\(.)", r"\1", value.strip('"'))


@pytest.mark.parametrize(
    "text",
    [
        "note: fine  # looked at\n", "note: fine #\n", 'note: "cylinder #4"\n', "note: cylinder#4\n",
        "# note: cylinder #4\nserial: K1\n", "note: |\n  place: rack #2\n", "note: 'a #4'\n", "junk: [ #4\n", "",
        "note: #\n", "note: # \n", "requalified:\n  # of old\n  - {on: 2024-04}\n", "note:\n#place: rack\nserial: K1\n", "requalified: #old\n  - {on: 2024-04}\n", "note: ''  # x\n",
    ],
)  # fmt: skip
def test_what_cuts_nothing(text: str) -> None:
    assert cut_values(text, "RB-13.yaml") == []


def test_the_card_is_read_all_the_same(tmp_path: Path) -> None:
    (tmp_path / "cylinders").mkdir()
    settings = (ROOT / "example_ledger/tankbook.yaml").read_text()
    (tmp_path / "tankbook.yaml").write_text(settings)
    (tmp_path / "cylinders/K1.yaml").write_text("serial: K1\nnote: cylinder #4\n")
    book = load(tmp_path)
    assert book.cylinders["K1"].note == "cylinder"
    assert [f.code for f in book.findings if f.where.path == "cylinders/K1.yaml"] == ["cut-value"]


@pytest.mark.parametrize(
    ("text", "mend"),
    [
        ("note: # out\nspecification:\n  - # EN\n", ["take the line of `note:` out", "take the dash out"]),
        ("requalified:\n  # - {on: 2024-04}\n", ["take the comment sign away; or take the line of"]),
    ],
)  # fmt: skip
def test_a_comment_in_the_place_of_a_value_is_a_fault(
    tmp_path: Path, text: str, mend: list[str]
) -> None:
    (tmp_path / "cylinders").mkdir()
    settings = (ROOT / "example_ledger/tankbook.yaml").read_text()
    (tmp_path / "tankbook.yaml").write_text(settings)
    (tmp_path / "cylinders/K1.yaml").write_text(f"serial: K1\ncolour: red\n{text}")
    book = load(tmp_path)
    found = [f for f in book.findings if f.code == "hidden-value"]
    assert book.broken.keys() == {"K1"}
    assert len(found) == len(mend)
    assert all(m in f.mend for f, m in zip(found, mend, strict=True))
    assert "unknown-key" in {f.code for f in book.findings}  # all faults in one run


def test_none_of_the_example_is() -> None:
    assert not [f for f in load(ROOT / "example_ledger").findings if f.code == "cut-value"]


LINES = (
    "note: cylinder #4", "place: #2", "note:", "  # out", "#", "# people:  # who signs", "# a #b", "#x: 'it", "note: 'a", "# b' : #4",
    'why: "a', '# b", #4', "on: 2020  # seen", "valve: {outlet: yoke,", "# c", "  insert: # 4}", "  - # EN", "specification:", "serial: K1",
    'valve: {outlet: "a\n# b", insert: # 4\n  yoke}', "valve: {outlet: 'a\n# b', insert: #4\n  }",
)  # fmt: skip


@given(
    st.lists(st.sampled_from(LINES), max_size=6), st.sampled_from(["\n", "\r\n", "\r", "\u2028"])
)
def test_a_first_look_misses_no_value(lines: list[str], end: str) -> None:
    """Most texts are known to cut nothing without being read in full: that look is never wrong."""
    text = "\n".join((*lines, "")).replace("\n", end)
    node, _ = parse(text, "K1.yaml")
    in_full = list(_cut(node, text, "K1.yaml")) if node is not None else []
    assert cut_values(text, "K1.yaml") == in_full
