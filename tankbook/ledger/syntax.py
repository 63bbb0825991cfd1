"""What a YAML reader says about broken text, in plain words with a way to mend it."""

from __future__ import annotations

from typing import NamedTuple

from ruamel.yaml.error import MarkedYAMLError

from tankbook.ledger.text import place
from tankbook.records.node import Finding, Where


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
