"""Edits to a record's text: exact text in, exact text out, and nothing else touched."""

import textwrap

import pytest

from tankbook.ledger.splice import Append, Put, Remove, Splice, SpliceError, splice
from tankbook.ledger.text import BOM

RECORD = """\
# cylinders/RB-014.yaml
serial: K118204      # unique within a maker
specification: [DOT-3AL, TC-3ALM]
valve: {outlet: yoke, rating: 3442 psi}
status: "in-service"   # now
requalified:
  - {on: 2021-09, by: maker}   # stamped
  # the next is due in 2026

empty:    # none yet
held: []   # never
inspected:
  -   on: 2026-02-09
      by: 'MV'
note: |
  two
  lines

# the end
"""

# What is done, the lines that go, the lines that come in their place.
ONE_PLACE: list[tuple[Splice, str, str]] = [
    (Put(("serial",), "K118205"), "serial: K118204      #", "serial: K118205      #"),
    (Put(("serial",), "K: 1"), "serial: K118204      #", 'serial: "K: 1"      #'),
    (Put(("status",), "held"), '"in-service"', '"held"'),
    (Put(("inspected", 0, "by"), "O'Neil"), "'MV'", "'O''Neil'"),
    (Put(("inspected", 0, "by"), "a\tb"), "'MV'", '"a\\tb"'),
    (Put(("specification", 1), "a, b"), "TC-3ALM]", '"a, b"]'),
    (Put(("specification", -1), "x"), "TC-3ALM]", "x]"),
    (Put(("specification",), ["x"]), "[DOT-3AL, TC-3ALM]", "[x]"),
    (Put(("valve", "rating"), "3000 psi"), "3442 psi}", "3000 psi}"),
    (Put(("valve", "disc"), "5000 psi"), "3442 psi}", "3442 psi, disc: 5000 psi}"),
    (Put(("valve",), "none"), "{outlet: yoke, rating: 3442 psi}", "none"),
    (Put(("empty",), "x"), "empty:    #", "empty: x    #"),
    (Put(("empty", "a", "b"), "x"), "empty:    #", "empty: {a: {b: x}}    #"),
    (Put(("note",), "one"), "note: |\n  two\n  lines\n", "note: one\n"),
    (Put(("note",), "1\n2"), "note: |\n  two\n  lines\n", 'note: "1\\n2"\n'),
    (Put(("use",), "rental"), "  lines\n", "  lines\nuse: rental\n"),
    (Put(("a", "b"), "c"), "  lines\n", "  lines\na: {b: c}\n"),
    (Put(("x",), []), "  lines\n", "  lines\nx: []\n"),
    (Put(("x",), {}), "  lines\n", "  lines\nx: {}\n"),
    (Put(("x",), [{"a": "b"}, {}]), "  lines\n", "  lines\nx:\n  - {a: b}\n  - {}\n"),
    (
        Put(("requalified", 0, "void"), {"why": "typed twice: see #4", "by": "MV"}),
        "by: maker}",
        'by: maker, void: {why: "typed twice: see #4", by: MV}}',
    ),
    (Put(("inspected", 0, "void"), {"why": "x"}), "'MV'\n", "'MV'\n      void: {why: x}\n"),
    (Append(("specification",), "ISO 7866"), "TC-3ALM]", "TC-3ALM, ISO 7866]"),
    (Append(("specification",), {"a": ["b"]}), "TC-3ALM]", "TC-3ALM, {a: [b]}]"),
    (
        Append(("requalified",), {"on": "2026-09", "by": "maker"}),
        "# stamped\n",
        "# stamped\n  - {on: 2026-09, by: maker}\n",
    ),
    (Append(("inspected",), {"on": "x"}), "'MV'\n", "'MV'\n  -   {on: x}\n"),
    (Append(("empty",), {"on": "x"}), "# none yet\n", "# none yet\n  - {on: x}\n"),
    (Append(("empty",), "x"), "empty:    #", "empty: [x]    #"),
    (
        Append(("held",), {"on": "x"}),
        "held: []   # never\n",
        "held:   # never\n  - {on: x}\n",
    ),
    (Append(("held",), "x"), "[]", "[x]"),
    (Append(("sent",), {"on": "x"}), "  lines\n", "  lines\nsent:\n  - {on: x}\n"),
    (Append(("tags",), "x"), "  lines\n", "  lines\ntags: [x]\n"),
    (Append(("valve", "jobs"), {"on": "x"}), "3442 psi}", "3442 psi, jobs: [{on: x}]}"),
    (Append(("a", "b"), "x"), "  lines\n", "  lines\na: {b: [x]}\n"),
    (Remove(("serial",)), "serial: K118204      # unique within a maker\n", ""),
    (Remove(("valve", "outlet")), "outlet: yoke, ", ""),
    (Remove(("valve", "rating")), ", rating: 3442 psi", ""),
    (Remove(("note",)), "note: |\n  two\n  lines\n", ""),
    (Remove(("requalified",)), "requalified:\n  - {on: 2021-09, by: maker}   # stamped\n", ""),
    (Remove(("inspected", 0, "on")), "on: 2026-02-09\n      ", ""),
    (Remove(("inspected", 0, "by")), "      by: 'MV'\n", ""),
]


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
@pytest.mark.parametrize("bom", ["", BOM])
@pytest.mark.parametrize(("edit", "old", "new"), ONE_PLACE)
def test_only_the_place_changes(edit: Splice, old: str, new: str, line_end: str, bom: str) -> None:
    assert RECORD.count(old) == 1
    before, after = (
        bom + text.replace("\n", line_end) for text in (RECORD, RECORD.replace(old, new))
    )
    assert splice(before, [edit], "a.yaml") == after


# Whole small records before and after.
STYLES: list[tuple[str, Splice, str]] = [
    ("a: 1", Put(("b",), "2"), "a: 1\nb: 2"),
    ("a: 1\r\nb: 2", Put(("c",), "3"), "a: 1\r\nb: 2\r\nc: 3"),
    ("a:\n- b", Append(("a",), "c"), "a:\n- b\n- c"),
    ("a:\n- b\n", Append(("c",), {"d": "e"}), "a:\n- b\nc:\n- {d: e}\n"),
    ("a:\n    - b\n", Append(("c",), {"d": "e"}), "a:\n    - b\nc:\n    - {d: e}\n"),
    ("a:\n-\n", Append(("a",), "c"), "a:\n-\n- c\n"),
    ("a:\n-\n", Put(("a", 0), "c"), "a:\n- c\n"),
    ("a:\n-\n", Append(("a", 0), {"b": "c"}), "a:\n- [{b: c}]\n"),
    ("- - a\n", Append((0,), "b"), "- - a\n  - b\n"),
    ("- - a\n", Append((), "b"), "- - a\n- b\n"),
    ("  a: 1\n", Put(("b",), "2"), "  a: 1\n  b: 2\n"),
    ("{a: 1}\n", Put(("b",), "2"), "{a: 1, b: 2}\n"),
    ("---\na: 1\n...\n", Put(("b",), "2"), "---\na: 1\nb: 2\n...\n"),
    ("--- # x\na: 1\n\n\n", Put(("b",), "2"), "--- # x\na: 1\nb: 2\n\n\n"),
    ("", Put(("a",), "1"), "a: 1\n"),
    ("# only a remark", Put(("a",), "1"), "# only a remark\na: 1"),
    ("---\n", Append(("a",), {"b": "c"}), "---\na:\n  - {b: c}\n"),
    ("'a b' : 1\n", Put(("a b",), "2"), "'a b' : 2\n"),
    ("a: >\n  b\n\n\nc: d\n", Put(("e",), "f"), "a: >\n  b\n\n\nc: d\ne: f\n"),
    ("a: |\n  b\n\n\n", Put(("e",), "f"), "a: |\n  b\ne: f\n\n\n"),
    ("a: |+\n  b\n\n\n", Put(("e",), "f"), "a: |+\n  b\n\n\ne: f\n"),
    ("a: |+\n  b\n\n", Put(("a",), "f"), "a: f\n"),
    ("a: |+\r\n  b\r\n\r\n", Put(("a",), "f"), "a: f\r\n"),
    ("a: |-\n  b", Put(("c",), "d"), "a: |-\n  b\nc: d"),
    ("a: b\n  c\n", Put(("a",), "d"), "a: d\n"),
    ("a: 'b\n  c'\nd: e\n", Put(("a",), "f"), "a: 'f'\nd: e\n"),
    ("a:\n  b\n", Put(("a",), "c"), "a:\n  c\n"),
    ("a:\n  b: c\n# x\nd: e\n", Put(("a", "f"), "g"), "a:\n  b: c\n  f: g\n# x\nd: e\n"),
    ("a: {}\n", Put(("a", "b"), "c"), "a: {b: c}\n"),
    ("a: { }\n", Put(("a", "b"), "c"), "a: {b: c }\n"),
    ("a: {b}\n", Put(("a", "b"), "c"), "a: {b: c}\n"),
    ("a: {b}\n", Put(("a", "c"), "d"), "a: {b, c: d}\n"),
    ("a: {b: }\n", Put(("a", "c"), "d"), "a: {b: , c: d }\n"),
    ("a: {b: , c: d}\n", Put(("a", "b"), "e"), "a: {b: e , c: d}\n"),
    ("a: {b: c,}\n", Put(("a", "d"), "e"), "a: {b: c, d: e,}\n"),
    ("a: [b,]\n", Append(("a",), "c"), "a: [b, c,]\n"),
    ("a: {\n  b: c, # d\n  e: f # g\n}\n", Put(("a", "h"), "i"), "a: {\n  b: c, # d\n  e: f, h: i # g\n}\n"),
    ("a: {\n  b: c, # d\n  e: f # g\n}\n", Remove(("a", "e")), "a: {\n  b: c, # d\n   # g\n}\n"),
    ("a: {\n  b: c, # d\n  e: f # g\n}\n", Remove(("a", "b")), "a: {\n   # d\n  e: f # g\n}\n"),
    ("a: {\n  b: c,\n  e: f\n}\n", Remove(("a", "e")), "a: {\n  b: c\n}\n"),
    ("a: {b: c}\n", Remove(("a", "b")), "a: {}\n"),
    ("a: {b: c, }\n", Remove(("a", "b")), "a: { }\n"),
    ("a: {b: c, d: e, }\n", Remove(("a", "d")), "a: {b: c, }\n"),
    ("a:\n  b: c # d\n", Remove(("a", "b")), "a:\n  {} # d\n"),
    ("a: 1\nb: 2", Remove(("b",)), "a: 1"),
    ("a: 1\r\nb: 2", Remove(("b",)), "a: 1"),
    ("a: 1\nb: 2", Remove(("a",)), "b: 2"),
    ("a: []\n", Append(("a",), {"b": "c"}), "a:\n  - {b: c}\n"),
    ("a: [ ]\n", Append(("a",), {"b": "c"}), "a: [{b: c} ]\n"),
    ("a:\n  []\n", Append(("a",), {"b": "c"}), "a:\n  [{b: c}]\n"),
    ("a: {b: []}\n", Append(("a", "b"), {"c": "d"}), "a: {b: [{c: d}]}\n"),
    ("a: ''\n", Append(("a",), {"b": "c"}), "a: [{b: c}]\n"),
    ("a:\n  - b:\n", Append(("a", 0, "b"), {"c": "d"}), "a:\n  - b:\n      - {c: d}\n"),
    ("😀: é  # 漢\nb: c\n", Put(("b",), "d"), "😀: é  # 漢\nb: d\n"),
]  # fmt: skip


@pytest.mark.parametrize(("before", "edit", "after"), STYLES)
def test_the_style_in_use_is_kept(before: str, edit: Splice, after: str) -> None:
    assert splice(before, [edit], "a.yaml") == after


def test_edits_are_made_one_after_the_other() -> None:
    edits: list[Splice] = [
        Append(("rented",), {"on": "2026-02-10"}),
        Append(("rented",), {"on": "2026-02-11"}),
        Put(("status",), "out"),
        Put(("rented", 1, "by"), "MV"),
        Remove(("note",)),
    ]
    assert splice("status: in-service\nnote: x\n", edits, "a.yaml") == textwrap.dedent(
        """\
        status: out
        rented:
          - {on: 2026-02-10}
          - {on: 2026-02-11, by: MV}
        """
    )


def test_a_new_record_is_a_list_of_puts() -> None:
    edits = [
        Put(("serial",), "K118204"),
        Put(("specification",), ["DOT-3AL", "TC-3ALM"]),
        Put(("valve",), {"outlet": "yoke", "note": "10:30, dented"}),
        Put(("requalified",), [{"on": "2021-09"}]),
    ]
    assert splice("", edits, "a.yaml") == textwrap.dedent(
        """\
        serial: K118204
        specification: [DOT-3AL, TC-3ALM]
        valve: {outlet: yoke, note: "10:30, dented"}
        requalified:
          - {on: 2021-09}
        """
    )


def test_no_edit_is_no_change() -> None:
    assert splice(BOM + RECORD, [], "a.yaml") == BOM + RECORD


@pytest.mark.parametrize("text", [RECORD, RECORD.replace("\n", "\r\n")])
def test_putting_what_is_there_is_no_change(text: str) -> None:
    edits = [
        Put(("serial",), "K118204"),
        Put(("status",), "in-service"),
        Put(("note",), "two\nlines\n"),
        Put(("requalified",), [{"on": "2021-09", "by": "maker"}]),
        Put(("valve",), {"outlet": "yoke", "rating": "3442 psi"}),
    ]
    assert splice(text, edits, "a.yaml") == text


@pytest.mark.parametrize(
    ("text", "edit", "line"),
    [
        ("a: 1\na: 2\n", Put(("b",), "c"), "a.yaml:2:1: the key a is here twice"),
        ("a: &x 1\n", Put(("b",), "c"), "a.yaml:1:4: YAML anchors"),
        (RECORD, Put(("serial", "x"), "y"), "a.yaml: serial/x: what should hold x is no mapping"),
        (RECORD, Append(("serial",), "y"), "a.yaml: serial: there is a value that is no list"),
        (RECORD, Append(("valve",), "y"), "a.yaml: valve: there is a value that is no list"),
        (RECORD, Remove(("use",)), "a.yaml: use: there is no key use"),
        (RECORD, Remove(("valve", "use")), "a.yaml: valve/use: there is no key use"),
        (RECORD, Remove(("requalified", 0)), "a.yaml: requalified/0: only a key can be removed"),
        (RECORD, Put(("requalified", 7), "x"), "a.yaml: requalified/7: there is no item 7"),
        (RECORD, Put(("valve", 0), "x"), "a.yaml: valve/0: there is no item 0"),
        (RECORD, Put((), {}), "a.yaml: : there is a value over several lines"),
        (
            RECORD,
            Put(("requalified",), []),
            "a.yaml: requalified: there is a value over several lines",
        ),
        ("a: {b: c, # d\n  e: f}\n", Put(("a",), "x"), "a.yaml: a: there is a remark in the value"),
        (
            "a: | # x\n  b\n",
            Put(("a",), "y"),
            "a.yaml: a: the text there has a remark on its first line",
        ),
        ("a: 1\n", Remove(("a",)), "a.yaml: a: it is the only key"),
        (
            "- a: 1\n  # x\n  b: 2\n",
            Remove((0, "a")),
            "a.yaml: 0/a: there is a remark between it and the next key",
        ),
        (
            "---\n...\n",
            Put(("a",), "1"),
            "a.yaml: a: the change would not read back as it is meant",
        ),
        (RECORD, Put(("serial",), "a\0"), "a.yaml: serial: 'a\\x00' holds a NUL byte"),
        (
            RECORD,
            Put(("serial",), "\ud800"),
            "a.yaml: serial: '\\ud800' holds the character U+D800",
        ),
        (RECORD, Put(("<<",), "a"), "a.yaml: <<: the change would not read back as it is meant"),
        (RECORD, Put(("",), "a"), "a.yaml: : the change would not read back as it is meant"),
    ],
)
def test_edits_without_a_place_are_refused(text: str, edit: Splice, line: str) -> None:
    with pytest.raises(SpliceError) as refusal:
        splice(text, [edit], "a.yaml")
    assert str(refusal.value).startswith(line)
    assert refusal.value.mend
