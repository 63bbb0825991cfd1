"""The comments of a card: YAML reads none of them, and people do."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from tankbook.ledger.text import BOM
from tankbook.records.book import Comment
from tankbook.records.node import MappingNode, Node, SequenceNode, Where
from tankbook.units.patterns import pattern

_SIGN = pattern(r"(?<!\S)#")
_QUOTES = pattern(r"['\"]|[|>][+\-0-9]*\s*\n")
"""What may hold a sign that begins no comment."""
_MODELINE = "yaml-language-server:"
_KEY = pattern(r"[^\s#-]")


def comments_of(text: str, path: str) -> tuple[Comment, ...]:
    """The comments of a card, those in lines that follow each other as one.

    Args:
        text: the text of its file.
        path: what it is called.
    """
    if "#" not in text:
        return ()
    text = text.removeprefix(BOM)
    return tuple(_joined(_comments(text, path, _quoted(text, path))))


def _comments(
    text: str, path: str, quoted: list[tuple[int, int]]
) -> Iterator[tuple[Comment, bool]]:
    """Each comment, and whether it has its line for itself."""
    at, listed = 0, False
    for number, line in enumerate(text.split("\n"), 1):
        bare = line.lstrip()
        if _KEY.match(line):
            listed = False
        listed = listed or bare.startswith("- ")
        for found in _SIGN.finditer(line):
            if any(start <= at + found.start() < end for start, end in quoted):
                continue
            said = line[found.start() :].lstrip("#! \t").rstrip()
            if said and _MODELINE not in said:
                alone = bare.startswith("#")
                where = Where(path, number, found.start() + 1)
                behind = not (alone or listed)
                key = bare.partition(":")[0] if behind else ""
                yield Comment(where, said, behind, key), alone
            break
        at += len(line) + 1


def _joined(each: Iterator[tuple[Comment, bool]]) -> Iterator[Comment]:
    last: Comment | None = None
    end, whole = 0, False
    for comment, alone in each:
        if last is not None and alone and whole and comment.where.line == end + 1:
            last = replace(last, text=f"{last.text} {comment.text}")
        else:
            if last is not None:
                yield last
            last = comment
        end, whole = comment.where.line, alone
    if last is not None:
        yield last


def _quoted(text: str, path: str) -> list[tuple[int, int]]:
    """Where texts in quotes and blocks of text stand."""
    if not _QUOTES.search(text):
        return []
    from tankbook.ledger.events import parse  # few cards have both

    node, _ = parse(text, path)
    return list(_spans(node, text)) if node is not None else []


def _spans(node: Node, text: str) -> Iterator[tuple[int, int]]:
    if isinstance(node, MappingNode):
        for name, value in node.pairs:
            yield from _spans(name, text)
            yield from _spans(value, text)
    elif isinstance(node, SequenceNode):
        for item in node.items:
            yield from _spans(item, text)
    elif text[node.start.index : node.start.index + 1] in tuple("'\"|>"):
        yield node.start.index, node.end.index
