"""Edits over records in every style that a hand might write them in."""

import re
from dataclasses import dataclass, field
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from sweep import tries

from tankbook.ledger.events import parse
from tankbook.ledger.splice import Append, Put, Remove, SpliceValue, flow, plain_value, splice
from tankbook.ledger.text import BOM

WORDS = st.sampled_from(
    ["K118204", "3000 psi", "-5 degC", "2026-02-09", "3/4-14 NPSM", "Example Cylinder Co", "~ no"]
)
TRICKY = """
~ null a:b a: :a #a - ? ?a [a] {a} a,b 10:30 it's a"b back\\slash \\n @a `a` %a !a &a *a |a >a --- ...
<< = a? ' " '' "a 'a' yes 0x1F é 漢 😀
"""
SPACED = ["", " ", " a", "a ", "- a", "? a", "a: b", "a #b", "| a", "--- a", "a: b, c: [d]"]
CONTROLS = ["a\nb", "a\tb", "a\r\nb", "\n", "a\xa0b", "a\u200fb"]
# What a program may be asked to write: anything that can stand in a record at all.
TEXTS = (
    WORDS
    | st.sampled_from([*TRICKY.split(), *SPACED, *CONTROLS])
    | st.text(st.characters(codec="utf-8", exclude_categories=["C", "Zl", "Zp"]), max_size=30)
)
KEYS = st.sampled_from(["on", "by", "rating", "outlet", "note", "a b", "método", "x-1"])
ENTRIES = st.dictionaries(KEYS, TEXTS, min_size=1, max_size=3)
VALUES = st.recursive(
    TEXTS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3),
    max_leaves=5,
)


@dataclass
class Page:
    """A record being written by hand: its lines and what they stand for."""

    lines: list[str] = field(default_factory=list)
    tree: dict[str, Any] = field(default_factory=dict)
    remarks: int = 0

    def remark(self, draw: st.DrawFn) -> str:
        """A remark for the end of a line, each unlike any other, or none."""
        if draw(st.integers(0, 2)):
            return ""
        self.remarks += 1
        return draw(st.sampled_from([" ", "    "])) + f"# remark {self.remarks}: [a], 'b'"

    def line(self, draw: st.DrawFn, text: str) -> None:
        self.lines.append(text + self.remark(draw))


def written(draw: st.DrawFn, text: str) -> str:
    """A text in one of the ways a hand may write it on one line."""
    single = "'" + text.replace("'", "''") + "'"
    return draw(st.sampled_from([text, text, single, f'"{text}"']))


def key_written(draw: st.DrawFn, key: str) -> str:
    return draw(st.sampled_from([f"{key}:", f"{key}:", f"'{key}':", f'"{key}" :']))


def space(draw: st.DrawFn) -> str:
    return draw(st.sampled_from([" ", " ", "", "  "]))


def flow_written(draw: st.DrawFn, value: Any, at_line_start: str) -> str:
    """A list or mapping in brackets, tidy or not, on one line or on several."""
    several = draw(st.booleans()) and draw(st.booleans())
    between = f",\n{at_line_start}  " if several else draw(st.sampled_from([", ", ",  ", " , "]))
    if isinstance(value, dict):
        parts = [f"{key_written(draw, k)} {written(draw, v)}" for k, v in value.items()]
    else:
        parts = [written(draw, each) for each in value]
    edge = f"\n{at_line_start}  " if several else space(draw)
    last = draw(st.sampled_from(["", ","])) if parts else ""
    close = f"\n{at_line_start}" if several else space(draw)
    left, right = "{}" if isinstance(value, dict) else "[]"
    return f"{left}{edge}{between.join(parts)}{last}{close}{right}"


def add_scalar(draw: st.DrawFn, page: Page, indent: str, key: str) -> None:
    kind = draw(st.sampled_from(["line", "line", "line", "empty", "block", "folded"]))
    start = f"{indent}{key_written(draw, key)}"
    if kind == "line":
        page.tree[key] = draw(WORDS)
        page.line(
            draw, f"{start}{draw(st.sampled_from([' ', '    ']))}{written(draw, page.tree[key])}"
        )
    elif kind == "empty":
        page.tree[key] = ""
        page.line(draw, start + space(draw))
    elif kind == "block":
        keep = draw(st.sampled_from(["", "-", "+"]))
        page.tree[key] = "one\n\ntwo: # not" + {"": "\n", "-": "", "+": "\n\n"}[keep]
        page.lines += [f"{start} |{keep}", f"{indent}  one", "", f"{indent}  two: # not", ""]
        page.lines.append(f"{indent}# or its end would be where the file ends")
    else:
        page.tree[key] = "one two"
        page.lines += [f"{start} one", f"{indent}  two"]


def add_mapping(draw: st.DrawFn, page: Page, indent: str, key: str) -> None:
    value = draw(st.dictionaries(KEYS, WORDS, max_size=3))
    page.tree[key] = value
    start = f"{indent}{key_written(draw, key)}"
    if value and draw(st.booleans()):
        deeper = indent + draw(st.sampled_from(["  ", "    ", " "]))
        page.line(draw, start)
        for name, each in value.items():
            page.line(draw, f"{deeper}{key_written(draw, name)} {written(draw, each)}")
    else:
        page.lines += f"{start} {flow_written(draw, value, indent)}{page.remark(draw)}".split("\n")


def add_list(draw: st.DrawFn, page: Page, indent: str, key: str) -> None:
    entries = draw(st.booleans())
    value = draw(
        st.lists(st.dictionaries(KEYS, WORDS, min_size=1, max_size=3), min_size=1, max_size=3)
        if entries
        else st.lists(WORDS, max_size=3)
    )
    page.tree[key] = value
    start = f"{indent}{key_written(draw, key)}"
    if not entries and (not value or draw(st.booleans())):
        page.lines += f"{start} {flow_written(draw, value, indent)}{page.remark(draw)}".split("\n")
        return
    page.line(draw, start)
    dash = indent + draw(st.sampled_from(["", "  ", "    "])) + "-"
    for each in value:
        if draw(st.integers(0, 4)) == 0:
            page.lines.append(draw(st.sampled_from(["", "    "])))
        gap = draw(st.sampled_from([" ", " ", "   "]))
        if not isinstance(each, dict):
            page.line(draw, f"{dash}{gap}{written(draw, each)}")
        elif draw(st.booleans()):
            text = f"{dash}{gap}{flow_written(draw, each, indent + '    ')}{page.remark(draw)}"
            page.lines += text.split("\n")
        else:
            lead = dash + gap
            for name, inner in each.items():
                page.line(draw, f"{lead}{key_written(draw, name)} {written(draw, inner)}")
                lead = " " * len(dash + gap)


@st.composite
def records(draw: st.DrawFn) -> tuple[str, dict[str, Any]]:
    """A record's text, and the tree it stands for."""
    page = Page()
    indent = draw(st.sampled_from(["", "", "", "  "]))
    if draw(st.booleans()):
        page.line(draw, "---")
    for number in range(draw(st.integers(1, 5))):
        if draw(st.integers(0, 3)) == 0:
            page.lines.append(draw(st.sampled_from(["", f"{indent}# own line {number}", "# x"])))
        add = draw(st.sampled_from([add_scalar, add_mapping, add_list]))
        add(draw, page, indent, draw(st.sampled_from(["k", "key ", "clé"])).strip() + str(number))
    tail = draw(st.sampled_from([[], [], [""], ["# the end"], ["..."]]))
    end = draw(st.sampled_from(["\n", "\n", "\r\n"]))
    text = end.join([*page.lines, *tail]) + draw(st.sampled_from(["", end, end]))
    return draw(st.sampled_from(["", "", BOM])) + text, page.tree


def difference(before: str, after: str) -> tuple[list[str], list[str]]:
    """The lines that went and the lines that came, both in one place."""
    old, new = (text.removeprefix(BOM).replace("\r", "").split("\n") for text in (before, after))
    while old and new and old[0] == new[0]:
        old, new = old[1:], new[1:]
    while old and new and old[-1] == new[-1]:
        old, new = old[:-1], new[:-1]
    return old, new


def remarks(text: str) -> list[str]:
    return re.findall("# remark.*", text.replace("\r", ""))


def check(before: str, after: str, tree: SpliceValue) -> None:
    node, findings = parse(after, "a.yaml")
    assert findings == []
    assert repr(plain_value(node)) == repr(tree)
    assert after.startswith(BOM) == before.startswith(BOM)
    if "\n" in before:
        assert after.endswith("\n") == before.endswith("\n")
        assert after.count("\r\n") == (after.count("\n") if "\r\n" in before else 0)


law = settings(max_examples=tries(50, 500), deadline=None)


@given(records())
@law
def test_the_records_are_what_they_are_meant_to_be(record: tuple[str, dict[str, Any]]) -> None:
    text, tree = record
    check(text, splice(text, [], "a.yaml"), tree)


@given(records(), TEXTS, st.data())
@law
def test_a_changed_value_is_one_changed_line(
    record: tuple[str, dict[str, Any]], value: str, data: st.DataObject
) -> None:
    text, tree = record
    at = data.draw(st.sampled_from(sorted(leaves(tree), key=str) or [()]))
    if not at:
        return
    after = splice(text, [Put(at, value)], "a.yaml")
    check(text, after, changed(tree, at, value))
    old, new = difference(text, after)
    several = len(text.split("\n")) - len(after.split("\n"))
    assert len(new) <= 1
    assert len(old) == len(new) + several
    assert several == 0 or tree[at[0]] in ("one two",) or "\n" in tree[at[0]]
    assert remarks(after) == remarks(text)


@given(records(), VALUES, st.data())
@law
def test_a_new_key_adds_lines_or_changes_one(
    record: tuple[str, dict[str, Any]], value: SpliceValue, data: st.DataObject
) -> None:
    text, tree = record
    holders = [(), *((key,) for key, each in tree.items() if isinstance(each, dict))]
    holders += [(key, i) for key, each in tree.items() if isinstance(each, list) for i, e in enumerate(each) if isinstance(e, dict)]  # fmt: skip
    at = (*data.draw(st.sampled_from(holders)), "new")
    after = splice(text, [Put(at, value)], "a.yaml")
    check(text, after, changed(tree, at, value))
    old, new = difference(text, after)
    assert not old or (len(old) == len(new) == 1 and len(at) > 1)
    assert remarks(after) == remarks(text)


@given(records(), ENTRIES | TEXTS, st.data())
@law
def test_a_new_item_adds_a_line_or_changes_one(
    record: tuple[str, dict[str, Any]], item: SpliceValue, data: st.DataObject
) -> None:
    text, tree = record
    lists = [key for key, each in tree.items() if isinstance(each, list) or each == ""]
    key = data.draw(st.sampled_from([*lists, "new"]))
    items = [*(tree.get(key) or []), item]
    after = splice(text, [Append((key,), item)], "a.yaml")
    check(text, after, changed(tree, (key,), items))
    old, new = difference(text, after)
    assert len(old) <= 1
    assert len(new) <= 2
    assert remarks(after) == remarks(text)
    if key == "new" or (tree[key] and f"- {flow(item)}" in after):
        assert not old


@given(records(), st.data())
@law
def test_a_removed_key_takes_only_its_own_lines(
    record: tuple[str, dict[str, Any]], data: st.DataObject
) -> None:
    text, tree = record
    keys = [(key,) for key in tree] if len(tree) > 1 else []
    keys += [(key, inner) for key, each in tree.items() if isinstance(each, dict) for inner in each]
    if not keys:
        return
    at = data.draw(st.sampled_from(keys))
    after = splice(text, [Remove(at)], "a.yaml")
    check(text, after, changed(tree, at, None))
    old, new = difference(text, after)
    assert len(new) <= 1
    if len(at) == 1:
        assert not new
        assert set(remarks(text)) - set(remarks(after)) <= set(remarks("\n".join(old)))


@given(records(), st.lists(st.tuples(st.sampled_from(["k0", "k1", "new"]), ENTRIES), max_size=4))
@law
def test_edits_add_up(
    record: tuple[str, dict[str, Any]], entries: list[tuple[str, dict[str, str]]]
) -> None:
    text, tree = record
    meant = dict(tree)
    edits = []
    for key, entry in entries:
        if meant.get(key, "") == "" or isinstance(meant[key], list):
            meant[key] = [*(meant.get(key) or []), entry]
            edits.append(Append((key,), entry))
    check(text, splice(text, edits, "a.yaml"), meant)


def leaves(tree: Any, at: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    if isinstance(tree, dict):
        return [leaf for key, each in tree.items() for leaf in leaves(each, (*at, key))]
    if isinstance(tree, list):
        return [leaf for i, each in enumerate(tree) for leaf in leaves(each, (*at, i))]
    return [at]


def changed(tree: Any, at: tuple[Any, ...], value: Any) -> Any:
    """The tree with a value at `at`, or without the key there where the value is None."""
    if not at:
        return value
    step, *rest = at
    if isinstance(tree, list):
        return [changed(e, tuple(rest), value) if i == step else e for i, e in enumerate(tree)]
    if value is None and not rest:
        return {key: each for key, each in tree.items() if key != step}
    return {**tree, step: changed(tree.get(step), tuple(rest), value)}
