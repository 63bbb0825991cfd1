"""Record text into nodes, with every fault that can be found in one reading.

The grammar is YAML, read as a stream of events from libyaml (package ruamel.yaml.clib) or, where
that is not installed, from ruamel.yaml itself; `tree` makes the same nodes of both.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from itertools import islice

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError

from tankbook.ledger.syntax import in_plain_words
from tankbook.ledger.text import BOM, RECORD_LIMIT, capped, character_faults, place
from tankbook.ledger.tree import Event, Tree
from tankbook.records.node import Finding, Node, Where
from tankbook.units.patterns import pattern


def pure_events(text: str) -> Iterable[Event]:
    """Events from ruamel.yaml in plain Python, some 25 times slower than libyaml."""
    yaml = YAML(typ="safe", pure=True)
    # libyaml reads YAML 1.1; flow style differs in 1.2 where a colon touches its value.
    yaml.version = (1, 1)
    events: Iterable[Event] = yaml.parse(text)
    return events


def _fastest() -> Callable[[str], Iterable[Event]]:
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
    source: Callable[[str], Iterable[Event]], text: str, path: str
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
