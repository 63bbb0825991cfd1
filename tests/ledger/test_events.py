"""Record text into nodes: the tree, the places, and every fault by name and position."""

import sys
from collections.abc import Callable, Iterable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sweep import tries

from tankbook.ledger import events
from tankbook.ledger.events import parse, parse_events, pure_events
from tankbook.ledger.text import BOM
from tankbook.records.node import Finding, MappingNode, Mark, Node, Scalar, SequenceNode

RECORD = """\
# cylinders/RB-014.yaml
serial: K118204      # unique within a maker
specification: [DOT-3AL, TC-3ALM]
valve: {outlet: yoke, rating: 3442 psi}
requalified:
  - {on: 2021-09, by: "maker"}
note: |
  two
  lines
empty:
places:
- a
-
"""

Plain = str | list["Plain"] | dict[str, "Plain"] | None


def plain(node: Node | None) -> Plain:
    """A node without its places."""
    if isinstance(node, MappingNode):
        return {key.text: plain(value) for key, value in node.pairs}
    if isinstance(node, SequenceNode):
        return [plain(item) for item in node.items]
    return node.text if node else None


def scalars(node: Node) -> Iterable[Scalar]:
    if isinstance(node, MappingNode):
        for key, value in node.pairs:
            yield key
            yield from scalars(value)
    elif isinstance(node, SequenceNode):
        for item in node.items:
            yield from scalars(item)
    else:
        yield node


def pure(text: str, path: str) -> tuple[Node | None, list[Finding]]:
    return parse_events(pure_events, text, path)


Parse = Callable[[str, str], tuple[Node | None, list[Finding]]]
both = pytest.mark.parametrize("read", [parse, pure])


def test_libyaml_is_in_use_where_it_is() -> None:
    pytest.importorskip("_ruamel_yaml")
    assert events._events is not pure_events


def test_without_libyaml_the_other_reader_serves(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "_ruamel_yaml", None)
    assert events._fastest() is pure_events


@both
def test_a_record(read: Parse) -> None:
    node, findings = read(RECORD, "a.yaml")
    assert findings == []
    assert plain(node) == {
        "serial": "K118204",
        "specification": ["DOT-3AL", "TC-3ALM"],
        "valve": {"outlet": "yoke", "rating": "3442 psi"},
        "requalified": [{"on": "2021-09", "by": "maker"}],
        "note": "two\nlines\n",
        "empty": "",
        "places": ["a", ""],
    }


@both
def test_flow_and_block_are_told_apart(read: Parse) -> None:
    node, _ = read(RECORD, "a.yaml")
    assert isinstance(node, MappingNode)
    assert not node.flow
    assert [getattr(value, "flow", None) for _, value in node.pairs] == [
        None,
        True,
        True,
        False,
        None,
        None,
        False,
    ]


@both
def test_every_scalar_is_where_its_mark_says(read: Parse) -> None:
    node, _ = read(RECORD, "a.yaml")
    assert node is not None
    lines = RECORD.split("\n")
    for scalar in scalars(node):
        start, end = scalar.start, scalar.end
        written = RECORD[start.index : end.index]
        assert scalar.text in (written, written.strip('"')) or written.startswith("|")
        assert lines[start.line - 1][start.column - 1 :].startswith(written.split("\n")[0])


@both
@pytest.mark.parametrize(
    ("text", "mark"),
    [
        ("a:\nb: c\n", Mark(2, 1, 3)),
        ("a:   # none yet\n", Mark(2, 1, 3)),
        ("'a' :\n", Mark(5, 1, 6)),
        ("a: {b: , c: d}\n", Mark(6, 1, 7)),
        ("a: {b: \n  }\n", Mark(6, 1, 7)),
        ("a: {b}\n", Mark(5, 1, 6)),
        ("a:\n  -\n  - c\n", Mark(6, 2, 4)),
        ("a:\n-\n", Mark(4, 2, 2)),
    ],
)
def test_an_empty_value_stands_after_its_colon_or_dash(read: Parse, text: str, mark: Mark) -> None:
    node, findings = read(text, "a.yaml")
    assert findings == []
    assert node is not None
    (empty,) = [scalar for scalar in scalars(node) if not scalar.text]
    assert (empty.start, empty.end) == (mark, mark)


@both
@pytest.mark.parametrize(
    "text", ["~", "null", "yes", "on", "0o17", "1e3", "2026-02-09", "3000 psi", ".nan", "="]
)
def test_scalars_stay_text(read: Parse, text: str) -> None:
    assert plain(read(f"a: {text}\n", "a.yaml")[0]) == {"a": text}


@both
@pytest.mark.parametrize("text", ["", "\n\n", "# only a remark\n", "---\n", "--- # x\n...\n", BOM])
def test_nothing_written_is_no_node(read: Parse, text: str) -> None:
    assert read(text, "a.yaml") == (None, [])


@both
@pytest.mark.parametrize("breaks", ["\n", "\r\n"])
@pytest.mark.parametrize("bom", ["", BOM])
def test_places_do_not_count_the_byte_order_mark(read: Parse, breaks: str, bom: str) -> None:
    text = bom + RECORD.replace("\n", breaks)
    node, findings = read(text, "a.yaml")
    assert findings == []
    assert isinstance(node, MappingNode)
    assert node.pairs[0][0].start == Mark(len("# cylinders/RB-014.yaml" + breaks), 2, 1)
    assert plain(node) == plain(read(RECORD, "a.yaml")[0])


SYNTAX = [
    ("a: 1\nb: c: d\n", "2:5: a colon stands where no key can be"),
    ("a: 1\n\tb: 2\n", "2:1: a tab stands where YAML wants spaces"),
    ("a: b\t# c\n", "1:5: a tab stands where YAML wants spaces"),
    ("a: [b,\n\tc]\n", "2:1: a tab stands where YAML wants spaces"),
    ("a: 1\nno colon\nb: 2\n", "2:1: this line is not 'key: value' (noticed on line 3)"),
    (
        "a: [1, 2\nb: 3\n",
        "1:4: the bracket here is not closed, or what it holds lacks a comma or quotes "
        "(noticed on line 2)",
    ),
    (
        "a: {note: why?}\n",
        "1:4: the bracket here is not closed, or what it holds lacks a comma or quotes",
    ),
    ('a: "x\nb: 2\n', "1:4: a quotation mark here is not closed (noticed on line 3)"),
    ('a: "\\q"\n', "1:4: a backslash in these double quotes begins no known escape"),
    ("a: @x\n", "1:4: a value may not begin with @"),
    ("a: `x`\n", "1:4: a value may not begin with `"),
    ("a: ?\n", "1:4: a value may not begin with ?"),
    ("a: {at: 10:30}\n", "1:9: a colon inside { } or [ ] needs quotes"),
    ("a: - b\n", "1:4: a list item begins on the line of its key or value"),
    ("  a: 1\nb: 2\n", "2:1: this line belongs to no key"),
    (
        "a:\n  - x\n - y\n",
        "3:2: this does not line up with what is above it, or follows a finished value",
    ),
    (
        'a: "x" y\n',
        "1:8: this does not line up with what is above it, or follows a finished value",
    ),
    ("a: [x, , y]\n", "1:8: a value is missing, or a bracket or comma stands alone"),
    ("a: |x\n  b\n", "1:4: the text after | or > begins oddly"),
    ("a: |#x\n  b\n", "1:4: the text after | or > begins oddly"),
]
REFUSED = [
    ("a: &x 1\n", "anchor", "1:4: YAML anchors (&name) are not used here"),
    ("a: {b: &x 1}\n", "anchor", "1:8: YAML anchors (&name) are not used here"),
    ("a: *x\n", "alias", "1:4: YAML aliases (*name) are not used here"),
    ("a: !!str 1\n", "tag", "1:4: YAML tags (!name) are not used here"),
    ("a: !x\n  b: c\n", "tag", "1:4: YAML tags (!name) are not used here"),
    ("a: {<<: x}\n", "merge-key", "1:5: YAML merge keys (<<) are not used here"),
    ("%YAML 1.1\n---\na: b\n", "directive", "1:1: a line begins with %, a YAML directive"),
    ("a: b\n---\nc: d\n", "second-document", "2:1: a second document begins here"),
    ("---\n...\n...", "second-document", "3:1: a second ... ends the record"),
    ("? [a]\n: b\n", "complex-key", "1:3: a key must be plain text before a colon"),
    ("? a\n: b\n", "complex-key", "1:3: a key must be plain text before a colon"),
    ("{a: b}: c\n", "complex-key", "1:1: a key must be plain text before a colon"),
    ("a: {{b: c}: d}\n", "complex-key", "1:5: a key must be plain text before a colon"),
    ("'': b\n", "missing-key", "1:1: a key is missing before the colon"),
    ("a: [b: c]\n", "bare-pair", "1:5: a key and value inside [ ] have no braces"),
    ("just words\n", "not-a-record", "1:1: this is not a record"),
    ("a: 1\nb: 2\na: 3\n", "duplicate-key", "3:1: the key a is here twice, first on line 1"),
    ("a: {b: 1,\n  'b': 2}\n", "duplicate-key", "2:3: the key b is here twice, first on line 1"),
    ("a: " + "[" * 9 + "]" * 9, "too-deep", "1:11: more than 8 levels inside one another"),
    ("- " * 9 + "a", "too-deep", "1:17: more than 8 levels inside one another"),
    ("a: " + "[" * 900_000, "too-deep", "1:11: more than 8 levels inside one another"),
    (
        'a: "x\\e[2J"\n',
        "forbidden-character",
        "1:4: the character U+001B is written here with a backslash",
    ),
    ("<<<<<<< a\n", "merge-conflict", "1:1: a merge conflict is not settled here (<<<<<<<)"),
    ("a: b\0\n", "forbidden-character", "1:5: a NUL byte may not stand in a ledger"),
]


@both
@pytest.mark.parametrize(("text", "line"), SYNTAX)
def test_broken_text_in_plain_words(read: Parse, text: str, line: str) -> None:
    _, findings = read(text, "a.yaml")
    assert f"a.yaml:{line}" in {f"{f.where}: {f.text}" for f in findings}
    assert all(finding.mend for finding in findings)


@both
@pytest.mark.parametrize(("text", "code", "line"), REFUSED)
def test_what_yaml_has_beyond_a_tree_of_text(read: Parse, text: str, code: str, line: str) -> None:
    _, findings = read(text, "a.yaml")
    assert [(f.code, f"{f.where}: {f.text}") for f in findings] == [(code, f"a.yaml:{line}")]
    assert findings[0].mend


@both
def test_all_faults_come_in_one_reading_in_order(read: Parse) -> None:
    text = "a: &x 1\na: !t 2\nb: {<<: c, d: 1, d: 2}\nh: {i: j: k}\n"
    _, findings = read(text, "a.yaml")
    assert [(f.where.line, f.code) for f in findings] == [
        (1, "anchor"),
        (2, "duplicate-key"),
        (2, "tag"),
        (3, "merge-key"),
        (3, "duplicate-key"),
        (4, "yaml-syntax"),
    ]


def test_a_node_is_given_where_more_faults_may_be_found_in_it() -> None:
    assert plain(parse("a: 1\na: 2\nb: 3\n", "a.yaml")[0]) == {"a": "1", "b": "3"}
    assert parse("a: 1\na: 2\nb: *x\n", "a.yaml")[0] is None


def test_a_flood_of_faults_is_cut_short() -> None:
    _, findings = parse("".join(f"k{n}: &a v\n" for n in range(500)), "a.yaml")
    assert len(findings) == 21


def test_too_large_a_text() -> None:
    (finding,) = parse("#" * ((1 << 20) + 1), "a.yaml")[1]
    assert finding.code == "too-large"


@both
@pytest.mark.parametrize(
    "text", ['a: "b\tc" # d\te\n', "a: 'b\tc'\n", "# \t\na: |\n  b\tc\n\nd: >-\n  e\tf\n  \tg\n"]
)
def test_tabs_may_stand_in_quotes_remarks_and_blocks(read: Parse, text: str) -> None:
    assert read(text, "a.yaml")[1] == []


WORDS = [
    "a",
    "b:",
    "key:",
    "-",
    "{",
    "}",
    "[",
    "]",
    ",",
    ":",
    "?",
    '"',
    '"x"',
    "'y'",
    "'",
    "#c",
    "\\",
    "\\n",
    "<<:",
    "1.5",
    "@",
    "`",
    "%",
    "!",
    "&a",
    "*a",
    "|",
    ">",
    ".",
    "=",
    "a:b",
    '"a":b',
    "---",
    "...",
    "~",
    "null",
    "é",
    "😀",
    "10:30",
    "{a:",
    "b}",
    "[a,",
    "b]",
    "|",
    "|-",
    "|2",
    ">",
    ">+",
]
LINES = ["\n", "\n  ", "\n    ", "\n- ", "\r\n", "\n\n", " ", "  ", "\t", "---\n", "...\n", "# d\n"]
BITS = [
    "a: 1\n",
    "b:\n",
    "- {on: 2026, by: MV}\n",
    "note: |\n  text\n  more\n",
    "a: {b: c, d: [e]}",
]
PIECES = st.sampled_from([*WORDS, *(word + " " for word in WORDS), *LINES, *BITS])


@st.composite
def disturbed(draw: st.DrawFn) -> str:
    """The record above with a few pieces cut out and put in."""
    text = RECORD
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(text)))
        end = start + draw(st.integers(0, 4))
        text = text[:start] + draw(PIECES | st.just("")) + text[end:]
    return text


TEXTS = st.text() | st.text(st.characters()) | st.lists(PIECES).map("".join) | disturbed()


@given(TEXTS)
@settings(max_examples=tries(100, 1000))
def test_no_text_makes_reading_fail(text: str) -> None:
    node, findings = parse(text, "a.yaml")
    for finding in findings:
        assert finding.where.path == "a.yaml"
        assert finding.where.line <= text.count("\n") + 1
        assert "\n" not in str(finding)
    assert findings or node is None or isinstance(node, MappingNode | SequenceNode)


@given(TEXTS)
@settings(max_examples=tries(100, 1000))
def test_both_readers_agree(text: str) -> None:
    fast, slow = parse(text, "a.yaml"), pure(text, "a.yaml")
    assert bool(fast[1]) == bool(slow[1])
    assert fast[1] or fast == slow
