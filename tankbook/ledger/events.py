"""Record text into nodes, with every fault that can be found in one reading.

The grammar is YAML, read as a stream of events from libyaml (package ruamel.yaml.clib) or, where
that is not installed, from ruamel.yaml itself; `Tree` makes the same nodes of both.

A record is a plain tree of text, so what YAML has beyond that is refused: anchors, aliases, tags,
merge keys, second documents, keys that are not text. So is what its two readers understand
differently. Scalars stay text: `~`, `null`, `yes` and `3000` alike. What a reader says about broken
text is told in plain words with a way to mend it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from itertools import islice
from typing import NamedTuple, Protocol

from msgspec import Struct, field
from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    CollectionStartEvent,
    DocumentStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from tankbook.ledger.text import (
    BOM,
    RECORD_LIMIT,
    capped,
    character_faults,
    character_name,
    forbidden,
    place,
)
from tankbook.records.node import Finding, MappingNode, Mark, Node, Scalar, SequenceNode, Where
from tankbook.units.patterns import pattern


class _Known(NamedTuple):
    """One thing that goes wrong."""

    words: str
    """What libyaml's or ruamel.yaml's own message has in it."""
    said: str
    mend: str
    from_start: bool = False
    """The place to look is where the broken thing begins, not where the reader gave up."""


TAB = ("a tab stands where YAML wants spaces", "indent and separate with spaces")
FLOW_COLON = ("a colon inside { } or [ ] needs quotes", 'write it in quotes: "10:30"')
ANCHOR = ("YAML anchors (&name) are not used here", "write the value out, or put it in quotes")
ALIAS = ("YAML aliases (*name) are not used here", "write the value out, or put it in quotes")
TAG = ("YAML tags (!name) are not used here", "write the value alone, or put it in quotes")
BLOCK_TEXT = ("the text after | or > begins oddly", "begin it plainly on the next line")
_BRACKET = "the bracket here is not closed, or what it holds lacks a comma or quotes"
_QUOTE = ("a quotation mark here is not closed", "close it; double it if it is part of the text")
_LINE_UP = "line it up, or put the whole value in quotes"
_UNEVEN = "this does not line up with what is above it, or follows a finished value"

_KNOWN = (
    _Known("tab character", *TAB),
    _Known("an anchor", *ANCHOR, from_start=True),
    _Known("an alias", *ALIAS, from_start=True),
    _Known(" tag", *TAG, from_start=True),
    _Known("a block scalar", *BLOCK_TEXT, from_start=True),
    _Known("unexpected ':'", *FLOW_COLON, from_start=True),
    _Known(
        "expected ':'",
        "this line is not 'key: value'",
        "give it its colon, a # if it is a remark, or quotes if it is part of a longer value",
        from_start=True,
    ),
    _Known("',' or ']'", _BRACKET, "close it with ]", from_start=True),
    _Known("',' or '}'", _BRACKET, "close it with }", from_start=True),
    _Known("end of stream", *_QUOTE, from_start=True),
    _Known("found unexpected document", *_QUOTE, from_start=True),
    _Known(
        "quoted scalar",
        "a backslash in these double quotes begins no known escape",
        "double the backslash, or use single quotes",
        from_start=True,
    ),
    _Known(
        "alues are not allowed",
        "a colon stands where no key can be",
        "put a value that has a colon in quotes, or line the key up with those above",
    ),
    _Known(
        "entries are not allowed",
        "a list item begins on the line of its key or value",
        "begin each '- item' on a line of its own",
    ),
    _Known("keys are not allowed", "a value may not begin with ?", "put the value in quotes"),
    _Known("document start", "this line belongs to no key", "line it up with the keys above"),
    _Known("block end", _UNEVEN, _LINE_UP),
    _Known("expected key", _UNEVEN, _LINE_UP),
    _Known("'-' indicator", _UNEVEN, _LINE_UP),
    _Known(
        "node content",
        "a value is missing, or a bracket or comma stands alone",
        "put text that begins with such a sign in quotes",
    ),
)


def in_plain_words(error: MarkedYAMLError, body: str, path: str) -> Finding:
    """The finding for a text that YAML cannot read."""
    message = f"{error.context}: {error.problem}"
    mark = error.problem_mark or error.context_mark
    if mark is None:
        return Finding(Where(path), "yaml-syntax", "the text cannot be read as YAML")
    at = min(mark.index, len(body))
    if "cannot start any token" in message:
        known = _cannot_begin(body[at])
    else:
        known = next((each for each in _KNOWN if each.words in message), None) or _Known(
            "", f"not readable as YAML ({error.problem})", "compare it with a record that reads"
        )
    said = known.said
    if known.from_start and error.context_mark and error.context_mark.index < at:
        if error.context_mark.line < error.problem_mark.line:
            said += f" (noticed on line {error.problem_mark.line + 1})"
        at = error.context_mark.index
    return Finding(place(body, at, path), "yaml-syntax", said, known.mend)


def _cannot_begin(character: str) -> _Known:
    if character == "\t":
        return _Known("", *TAB)
    return _Known("", f"a value may not begin with {character}", "put the value in quotes")


MAX_DEPTH = 8
"""Levels of lists and mappings in one another; real records need five."""


class _Position(Protocol):
    """A place as the readers tell it: all three count from 0."""

    index: int
    line: int
    column: int


class ParseEvent(Protocol):
    """What libyaml's events and ruamel's own have in common."""

    start_mark: _Position
    end_mark: _Position


_STARTS = (MappingStartEvent, SequenceStartEvent)
_ENDS = (MappingEndEvent, SequenceEndEvent)

_FAULTS = {
    "anchor": ANCHOR,
    "alias": ALIAS,
    "tag": TAG,
    "merge-key": ("YAML merge keys (<<) are not used here", "write the keys out"),
    "second-document": ("a second document begins here", "keep one record in one file"),
    "not-a-record": ("this is not a record", "write it as lines of 'key: value'"),
    "too-deep": (f"more than {MAX_DEPTH} levels inside one another", "write it flatter"),
    "bare-pair": ("a key and value inside [ ] have no braces", "write [{key: value}]"),
    "complex-key": ("a key must be plain text before a colon", "write it as 'key: value'"),
    "missing-key": ("a key is missing before the colon", "write it as 'key: value'"),
    "block-text": BLOCK_TEXT,
    "flow-colon": FLOW_COLON,
    "tab": TAB,
}

_BEFORE_VALUE = pattern(r"[ \t]*:")
# The two readers differ on blanks at the head of a block of text, so its first line is plain.
_BLOCK_HEADER = pattern(
    r"[|>](?:[+-]?[1-9]?|[1-9][+-])(?: +#[^\n]*)? *\r?(?:\n(?! +\r?\n|[ \r\n]*\t)|\Z)"
)
_TAB_OR_COMMENT = pattern(r"\t|(?<!\S)#[^\n]*")


class _Open(Struct):
    """A list or mapping whose end has not come yet."""

    start: Mark
    flow: bool
    mapping: bool
    items: list[Node] = field(default_factory=list)
    pairs: dict[str, tuple[Scalar, Node]] = field(default_factory=dict)
    key: Scalar | None = None
    end: Mark | None = None


class Tree:
    """The nodes read so far, and the faults found on the way.

    `root` is None when there is nothing to read or no sense could be made of it.
    """

    def __init__(self, body: str, path: str) -> None:
        self.root: Node | None = None
        self.findings: list[Finding] = []
        self._body = body
        self._path = path
        self._open: list[_Open] = []
        self._questions = "?" in body
        self._tabs = "\t" in body
        self._quoted: list[tuple[int, int]] = []

    def read(self, events: Iterable[ParseEvent]) -> None:
        """Take events until the end, or until nothing sensible can follow."""
        documents = 0
        for event in events:
            if isinstance(event, ScalarEvent):
                self._add(self._scalar(event))
            elif isinstance(event, _STARTS):
                self._start(event)
                if len(self._open) > MAX_DEPTH:
                    return self._stop("too-deep", _mark(event.start_mark))
            elif isinstance(event, _ENDS):
                self._add(self._end(event))
            elif isinstance(event, AliasEvent):
                return self._stop("alias", _mark(event.start_mark))
            elif isinstance(event, DocumentStartEvent):
                documents += 1
                if documents > 1:
                    return self._stop("second-document", _mark(event.start_mark))
        if isinstance(self.root, Scalar):
            if self.root.start.index < self.root.end.index:
                self._fault("not-a-record", self.root.start)
            self.root = None
        if self._tabs:
            self._check_tabs()
        return None

    def break_off(self, finding: Finding) -> None:
        """Note a fault after which no more can be read."""
        self.findings.append(finding)
        self.root = None

    def _fault(self, code: str, mark: Mark) -> None:
        where = Where(self._path, mark.line, mark.column)
        self.findings.append(Finding(where, code, *_FAULTS[code]))

    def _stop(self, code: str, mark: Mark) -> None:
        self._fault(code, mark)
        self.root = None

    def _start(self, event: MappingStartEvent | SequenceStartEvent) -> None:
        self._check_features(event)
        start = _mark(event.start_mark)
        mapping = isinstance(event, MappingStartEvent)
        flow = bool(event.flow_style)
        if mapping and flow and self._body[start.index] != "{":
            self._fault("bare-pair", start)
        self._open.append(_Open(start, flow, mapping))

    def _end(self, event: MappingEndEvent | SequenceEndEvent) -> Node:
        done = self._open.pop()
        # A block ends where its last entry does: the readers would say where the next thing begins.
        end = _mark(event.end_mark) if done.flow or done.end is None else done.end
        if done.mapping:
            return MappingNode(tuple(done.pairs.values()), done.start, end, done.flow)
        return SequenceNode(tuple(done.items), done.start, end, done.flow)

    def _add(self, node: Node) -> None:
        """Put a finished node where it belongs."""
        if not self._open:
            self.root = node
            return
        parent = self._open[-1]
        parent.end = node.end
        if not parent.mapping:
            parent.items.append(node)
        elif parent.key is None:
            parent.key = self._key(node)
        else:
            key, parent.key = parent.key, None
            if key.text in parent.pairs:
                self._duplicate(key, parent.pairs[key.text][0])
            else:
                parent.pairs[key.text] = (key, node)

    def _key(self, node: Node) -> Scalar:
        if not isinstance(node, Scalar):
            self._fault("complex-key", node.start)
            return Scalar("", node.start, node.end)
        if self._questions and self._follows_question_mark(node.start.index):
            self._fault("complex-key", node.start)
        elif not node.text:
            self._fault("missing-key", node.start)
        elif node.text == "<<":
            self._fault("merge-key", node.start)
        return node

    def _follows_question_mark(self, index: int) -> bool:
        index -= 1
        while index >= 0 and self._body[index] in " \t":
            index -= 1
        return index >= 0 and self._body[index] == "?"

    def _duplicate(self, key: Scalar, first: Scalar) -> None:
        where = Where(self._path, key.start.line, key.start.column)
        said = f"the key {key.text} is here twice, first on line {first.start.line}"
        self.findings.append(Finding(where, "duplicate-key", said, "keep the one that is true"))

    def _scalar(self, event: ScalarEvent) -> Scalar:
        self._check_features(event)
        if event.start_mark.index == event.end_mark.index:
            mark = self._empty_place(event)
            return Scalar("", mark, mark)
        scalar = Scalar(event.value, _mark(event.start_mark), _mark(event.end_mark))
        if event.style:
            self._check_styled(scalar, event.style)
        elif ":" in scalar.text and self._open and self._open[-1].flow:
            self._fault("flow-colon", scalar.start)
        return scalar

    def _empty_place(self, event: ScalarEvent) -> Mark:
        """Where a value that is not there would begin: after its colon, or after its dash."""
        key = self._open[-1].key if self._open else None
        if key is None:
            return _mark(event.start_mark)
        colon = _BEFORE_VALUE.match(self._body, key.end.index)
        length = colon.end() - colon.start() if colon else 0
        return Mark(key.end.index + length, key.end.line, key.end.column + length)

    def _check_features(self, event: ScalarEvent | CollectionStartEvent) -> None:
        if event.anchor is not None:
            self._fault("anchor", _mark(event.start_mark))
        if event.ctag is not None:
            self._fault("tag", _mark(event.start_mark))

    def _check_styled(self, scalar: Scalar, style: str) -> None:
        """Faults of a scalar in quotes or of a block of text."""
        start = scalar.start.index
        if style in "|>":
            header = _BLOCK_HEADER.match(self._body, start)
            if header is None:
                self._fault("block-text", scalar.start)
            else:
                start = header.end()
        elif style == '"' and (bad := forbidden(scalar.text)):
            where = Where(self._path, scalar.start.line, scalar.start.column)
            said = f"{character_name(bad[0])} is written here with a backslash"
            self.findings.append(Finding(where, "forbidden-character", said, "leave it out"))
        if self._tabs:
            self._quoted.append((start, scalar.end.index))

    def _check_tabs(self) -> None:
        """Refuse tabs outside quotes and comments: the two readers disagree on them."""
        at = 0
        for start, end in [*self._quoted, (len(self._body), 0)]:
            for found in _TAB_OR_COMMENT.finditer(self._body, at, start):
                if found[0] == "\t":
                    where = place(self._body, found.start(), self._path)
                    self.findings.append(Finding(where, "tab", *TAB))
            at = end


def _mark(position: _Position) -> Mark:
    return Mark(position.index, position.line + 1, position.column + 1)


def pure_events(text: str) -> Iterable[ParseEvent]:
    """Events from ruamel.yaml in plain Python, some 25 times slower than libyaml."""
    yaml = YAML(typ="safe", pure=True)
    # libyaml reads YAML 1.1; flow style differs in 1.2 where a colon touches its value.
    yaml.version = (1, 1)
    events: Iterable[ParseEvent] = yaml.parse(text)
    return events


def _fastest() -> Callable[[str], Iterable[ParseEvent]]:
    try:
        from _ruamel_yaml import CParser
    except ImportError:
        return pure_events
    return lambda text: iter(CParser(text).get_event, None)


_events = _fastest()


def parse(text: str, path: str) -> tuple[Node | None, list[Finding]]:
    """The node a record's text stands for, and what is wrong with the text.

    A text without content is no node. While the findings hold a fault the node, if there is one,
    is fit for finding more faults and for nothing else. Raises nothing, whatever the text.
    """
    return parse_events(_events, text, path)


def parse_events(
    source: Callable[[str], Iterable[ParseEvent]], text: str, path: str
) -> tuple[Node | None, list[Finding]]:
    """`parse` with a given source of events."""
    body = text.removeprefix(BOM)
    if findings := _unreadable(body, path):
        return None, findings
    tree = Tree(body, path)
    try:
        tree.read(source(body))
    except YAMLError as error:
        marked = error if isinstance(error, MarkedYAMLError) else MarkedYAMLError()
        tree.break_off(in_plain_words(marked, body, path))
    return tree.root, capped(sorted(tree.findings, key=lambda finding: finding.where), path)


_DIRECTIVE = pattern(r"^%", re.MULTILINE)
_END = pattern(r"^\.\.\.(?=\s|\Z)", re.MULTILINE)


def _unreadable(body: str, path: str) -> list[Finding]:
    """What keeps a text from being parsed at all."""
    if len(body) > RECORD_LIMIT:
        size = f"the text has {len(body):,} characters, more than the {RECORD_LIMIT:,} allowed"
        return [Finding(Where(path), "too-large", size, "is this the right file?")]
    faults = character_faults(body, path)
    if "%" in body:
        # libyaml compares each directive with all before it, so they are stopped here.
        said, mend = "a line begins with %, a YAML directive", "delete the line"
        where = (place(body, at.start(), path) for at in _DIRECTIVE.finditer(body))
        faults += capped((Finding(at, "directive", said, mend) for at in where), path)
    if "..." in body:
        said, mend = "a second ... ends the record", "keep one record in one file"
        where = (place(body, at.start(), path) for at in islice(_END.finditer(body), 1, None))
        faults += capped((Finding(at, "second-document", said, mend) for at in where), path)
    return faults
