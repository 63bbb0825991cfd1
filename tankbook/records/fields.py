"""How a noun's keys are declared, once, and read from a file.

A noun is a frozen struct whose fields are made with `key(kind, doc, example)`. From that one
line come the type, the check (`read`), the format page (`tests/support/pages.py`) and the known-key
list of the error messages, so that they cannot drift apart.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping
from enum import StrEnum
from functools import wraps
from typing import Any, ClassVar, NamedTuple, Protocol, TypeAlias, TypeVar

from msgspec import Struct, StructMeta, field

from tankbook.records.node import Finding, MappingNode, Mark, Node, Scalar, SequenceNode, Where

R = TypeVar("R", bound="Record")
T = TypeVar("T")

NOTHING = {"~", "null", "Null", "NULL"}
"""What other YAML readers take for a missing value; here it is text, and so a fault."""


class Unread(Protocol):
    """A file whose nodes are made when they are asked for."""

    def node_at(self, trail: tuple[str | int, ...]) -> Node | None:
        """The node under keys and list indices, from the root of the file."""


class RecordPlace(NamedTuple):
    """Where a record was written: its file and its node, or the way to it in a file not read."""

    path: str = ""
    written: Node | Unread | None = None
    trail: tuple[str | int, ...] = ()

    @property
    def node(self) -> Node | None:
        """The node it was written as, made now where nobody has asked for it yet."""
        if self.written is None or isinstance(self.written, Scalar | MappingNode | SequenceNode):
            return self.written
        return self.written.node_at(self.trail)

    def at(self, *trail: str | int) -> Where:
        """The place of the value under `trail` (keys and list indices), or as near as there is."""
        node, mark = self.node, _start(self.node)
        for step in trail:
            if isinstance(node, MappingNode) and isinstance(step, str):
                pair = next(((k, v) for k, v in node.pairs if k.text == step), None)
                if pair is None:
                    break
                name, node = pair
                mark = (
                    _start(node) if not (isinstance(node, Scalar) and not node.text) else name.start
                )
            elif (
                isinstance(node, SequenceNode) and isinstance(step, int) and step < len(node.items)
            ):
                node = node.items[step]
                mark = _start(node)
            else:
                break
        return Where(self.path, mark.line, mark.column) if mark else Where(self.path)


def _start(node: Node | None) -> Mark | None:
    return node.start if node is not None else None


class Declared(NamedTuple):
    """What `key` says of a key, until the noun it stands in is made."""

    kind: Kind
    doc: str
    example: str
    required: bool
    default: Any
    never_empty: bool


class _Noun(StructMeta):
    """Makes a noun of the keys that are declared in its body, and remembers them."""

    def __new__(
        cls, name: str, bases: tuple[type, ...], namespace: dict[str, Any], **options: Any
    ) -> _Noun:
        declared = {n: v for n, v in namespace.items() if isinstance(v, Declared)}
        for attribute, each in declared.items():
            if each.required:
                del namespace[attribute]
            else:
                namespace[attribute] = {} if isinstance(each.kind, MapOf) else each.default
        made = super().__new__(cls, name, bases, namespace, **options)
        above = getattr(bases[0], "declared", {}) if bases else {}
        made.declared = {**above, **declared}
        return made

    declared: dict[str, Declared]


class Record(Struct, metaclass=_Noun, frozen=True, kw_only=True):
    """Base of every noun read from a file. Where it was written makes it no other."""

    source: RecordPlace = RecordPlace()

    title: ClassVar[str] = ""

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        return self._said() == other._said()

    def __hash__(self) -> int:
        return hash(self._said())

    def __repr__(self) -> str:
        names = attributes_of(type(self)).values()
        return f"{type(self).__name__}({', '.join(f'{n}={getattr(self, n)!r}' for n in names)})"

    def _said(self) -> tuple[Any, ...]:
        return tuple(getattr(self, name) for name in self.__struct_fields__ if name != "source")


def once_per_record(work: Callable[[type[Record]], T]) -> Callable[[type[Record]], T]:
    """Remember what is worked out from a noun's declaration."""
    known: dict[type[Record], T] = {}

    @wraps(work)
    def remembered(record: type[Record]) -> T:
        if record not in known:
            known[record] = work(record)
        return known[record]

    return remembered


class NodeReader(Struct):
    """Collects the findings of one file while its nodes are typed."""

    path: str
    findings: list[Finding] = field(default_factory=list)

    def fault(self, node: Node | Mark, code: str, text: str, mend: str = "") -> None:
        """Note a fault at a node or mark."""
        mark = node if isinstance(node, Mark) else node.start
        where = Where(self.path, mark.line, mark.column)
        self.findings.append(Finding(where, code, text, mend))


class Kind(Protocol):
    """What a key may hold: `read` gives the value, or None after noting a fault."""

    @property
    def label(self) -> str:
        """How the format page names the kind."""

    def read(self, node: Node, trail: str, reader: NodeReader) -> Any:
        """The typed value of `node`; faults go to `reader`, with `trail` naming the key."""


class Key(Struct, frozen=True):
    """One declared key: its kind, what it means, an example, and whether it must be there."""

    name: str
    kind: Kind
    doc: str
    example: str
    required: bool
    left_out: Any = None
    """What leaving it out stands for; such a key may not be there and say nothing."""


Said: TypeAlias = "Kind | type[Record] | type[StrEnum] | list[Said]"
"""A kind as a key is declared with it: a noun stands for a record within, a closed set of words for
one of them, and a list of one of these for a list of such."""


def _kind(said: Said) -> Kind:
    if isinstance(said, list):
        return ListOf(_kind(said[0]))
    if isinstance(said, type):
        return Nested(said) if issubclass(said, Record) else OneOf(said)
    return said


def key(
    said: Said,
    doc: str,
    example: str = "",
    *,
    required: bool = False,
    default: Any = None,
    never_empty: bool = False,
) -> Any:
    """Declare a key of a noun.

    `said` is its kind, or what stands for one. A list kind defaults to an empty tuple and a map
    kind to an empty mapping, any other to None.
    `never_empty` is for a list whose key alone, with nothing behind it, would say something.
    """
    kind = _kind(said)
    if isinstance(kind, ListOf) and default is None:
        default = ()
    return Declared(kind, doc, example, required, default, never_empty)


@once_per_record
def keys_of(record: type[Record]) -> dict[str, Key]:
    """The declared keys of a noun, by the name used in files, in the order declared.

    A trailing underscore keeps a Python word free (`for_` is `for` in the file).
    """
    found = {}
    for attribute, each in record.declared.items():
        spoken = each.never_empty or each.default != ()
        name, left_out = attribute.rstrip("_"), each.default if spoken else None
        found[name] = Key(name, each.kind, each.doc, each.example, each.required, left_out)
    return found


def read(record: type[R], node: Node | None, reader: NodeReader, trail: str = "") -> R | None:
    """Type a mapping node as `record`; None after faults that leave nothing usable.

    Every fault is noted. A key with a fault is left at its default, so that one wrong value does
    not hide the others; a record that lacks a required key is not returned.
    """
    if not isinstance(node, MappingNode):
        place = node if node is not None else Mark(0, 1, 1)
        what = "is empty" if node is None else "must be a list of `key: value` pairs"
        title = trail.rstrip(".") or record.title or "the file"
        reader.fault(place, "wrong-shape", f"{title} {what}", f"write {_sample(record)}")
        return None
    known = keys_of(record)
    values: dict[str, Any] = {}
    attributes = attributes_of(record)
    for name, value in node.pairs:
        declared = known.get(name.text)
        if declared is None:
            _unknown(name, known, reader, trail)
        elif not _is_missing(value):
            got = declared.kind.read(value, f"{trail}{name.text}", reader)
            if got is not None:
                values[attributes[name.text]] = got
        elif declared.left_out is not None:
            text = f"{trail}{name.text} is left empty, which says nothing"
            reader.fault(name, "empty-value", text, f"write {declared.kind.label}, or take it out")
    missing = [
        k
        for k in known.values()
        if k.required and (node.get(k.name) is None or _is_missing(node.get(k.name)))
    ]
    for k in missing:
        text = f"{trail}{k.name} is missing"
        reader.fault(
            node, "missing-key", text, f"add `{k.name}: {k.example}` ({k.doc.rstrip('.')})"
        )
    if any(attributes[k.name] not in values for k in known.values() if k.required):
        return None
    return record(source=RecordPlace(reader.path, node), **values)


@once_per_record
def attributes_of(record: type[Record]) -> dict[str, str]:
    """The Python attribute of each key."""
    return {attribute.rstrip("_"): attribute for attribute in record.declared}


def _sample(record: type[Record]) -> str:
    wanted = [k for k in keys_of(record).values() if k.required] or list(keys_of(record).values())[
        :1
    ]
    return "{" + ", ".join(f"{k.name}: {k.example}" for k in wanted) + "}"


def _is_missing(node: Node | None) -> bool:
    return isinstance(node, Scalar) and not node.text.strip()


def _unknown(name: Scalar, known: dict[str, Key], reader: NodeReader, trail: str) -> None:
    """A key that this record does not have, with the one that is meant where that is sure."""
    from tankbook.records.other_words import keys_meant, means_id

    near = nearest(name.text, list(known))
    way = next(filter(None, (_way(known, each) for each in keys_meant(name.text))), "")
    of_card = "serial" in known and "id" not in known
    by_name = "its id is the name of its file: take the line out" if of_card else ""
    mend = way or (means_id(name.text) and by_name) or near or f"known keys: {', '.join(known)}"
    reader.fault(name, "unknown-key", f"`{trail}{name.text}` is not a key of this record", mend)


def _way(known: Mapping[str, Key], meant: str) -> str:
    """How a key is called in a record, or in one within it; an empty text where it is not there."""
    meant, _, value = meant.partition("=")
    outer, _, inner = meant.partition(".")
    if outer not in known:
        return ""
    within = getattr(known[outer].kind, "record", None)
    if not inner:
        return f"here it is called `{outer}`: as in `{outer}: {value or known[outer].example}`"
    if within is None or inner not in keys_of(within):
        return ""
    example = keys_of(within)[inner].example
    line = f"{outer}: {{{inner}: {example}}}"
    return f"here it is called `{inner}` and stands in `{outer}`: as in `{line}`"


def _scalar(node: Node, trail: str, reader: NodeReader, wanted: str) -> str | None:
    if not isinstance(node, Scalar):
        shape = "a list" if isinstance(node, SequenceNode) else "a set of keys"
        reader.fault(node, "wrong-shape", f"{trail} is {shape}", f"write one value, {wanted}")
        return None
    text = node.text.strip()
    if text in NOTHING:
        mend = "leave the value empty, or take the key out"
        reader.fault(
            node, "nothing-word", f"{trail}: `{text}` is text here, not a missing value", mend
        )
        return None
    return text


class FreeText(Struct, frozen=True):
    """Free text of one line."""

    label: str = "text"
    limit: int = 500

    def read(self, node: Node, trail: str, reader: NodeReader) -> str | None:
        text = _scalar(node, trail, reader, "text")
        if text is None:
            return None
        if any(ord(c) < 32 and c != "\n" for c in text):
            reader.fault(
                node, "control-character", f"{trail} holds a control character", "retype it"
            )
            return None
        if len(text) > self.limit:
            reader.fault(
                node, "too-long", f"{trail} is longer than {self.limit} characters", "shorten it"
            )
            return None
        return text


class Parsed(Struct, frozen=True):
    """A value with its own `parse(text)` that raises ValueError with a line for people."""

    label: str
    parse: Callable[[str], Any]

    def read(self, node: Node, trail: str, reader: NodeReader) -> Any:
        text = _scalar(node, trail, reader, self.label)
        if text is None:
            return None
        try:
            return self.parse(text)
        except ValueError as error:
            mend = getattr(error, "mend", "") or f"write {self.label}"
            reader.fault(node, "bad-value", f"{trail}: {error}", mend)
            return None


class OneOf(Struct, frozen=True):
    """A word of a closed set. `twins` are the other shore's words, accepted on reading."""

    words: type[StrEnum]
    twins: tuple[tuple[str, str], ...] = ()

    @property
    def label(self) -> str:
        return " | ".join(w.value for w in self.words)

    def read(self, node: Node, trail: str, reader: NodeReader) -> Any:
        text = _scalar(node, trail, reader, self.label)
        if text is None:
            return None
        word = dict(self.twins).get(text.lower(), text.lower())
        try:
            return self.words(word)
        except ValueError:
            known = [w.value for w in self.words]
            mend = nearest(word, known) or f"write one of: {', '.join(known)}"
            reader.fault(node, "unknown-word", f"{trail}: `{text}` is not a known word", mend)
            return None


_SLIP = 0.75
"""How much a word is like a known one, by the ratio of difflib, to be a slip of it, where both
begin alike (own choice): `din` is not `din-300`, `scratch` not `crack`, and `hold` not `sold`."""


def nearest(word: str, known: list[str]) -> str:
    """The known word of which one is a slip, or an empty text: none where several may be meant, or
    somebody was in doubt. A word of a closed set says what is lawful, and is not guessed."""
    alike = [each for each in known if each[:1] == word[:1]]
    close = difflib.get_close_matches(word, alike, n=2, cutoff=_SLIP)
    return f"did you mean `{close[0]}`?" if len(close) == 1 and "?" not in word else ""


def _yes_no(text: str) -> bool:
    word = text.lower()
    if word in {"yes", "true"}:
        return True
    if word in {"no", "false"}:
        return False
    raise ValueError(f"`{text}` is neither yes nor no")


def _count(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) <= 9):
        raise ValueError(f"`{text}` is not a whole number")
    return int(text)


YES_NO = Parsed("yes | no", _yes_no)
COUNT = Parsed("a whole number", _count)
TEXT = FreeText()


class ListOf(Struct, frozen=True):
    """A list; a single value stands for a list of one."""

    kind: Kind

    @property
    def label(self) -> str:
        return f"list of {self.kind.label}"

    def read(self, node: Node, trail: str, reader: NodeReader) -> tuple[Any, ...]:
        items = node.items if isinstance(node, SequenceNode) else (node,)
        return tuple(
            got
            for i, item in enumerate(items)
            if (got := self.kind.read(item, f"{trail}[{i + 1}]", reader)) is not None
        )


class Nested(Struct, frozen=True):
    """A record inside a record."""

    record: type[Record]

    @property
    def label(self) -> str:
        return f"{{{', '.join(keys_of(self.record))}}}"

    def read(self, node: Node, trail: str, reader: NodeReader) -> Any:
        return read(self.record, node, reader, f"{trail}.")


class MapOf(Struct, frozen=True):
    """Records or values under names of the writer's choosing."""

    kind: Kind

    @property
    def label(self) -> str:
        return f"name: {self.kind.label}"

    def read(self, node: Node, trail: str, reader: NodeReader) -> dict[str, Any] | None:
        if not isinstance(node, MappingNode):
            reader.fault(
                node, "wrong-shape", f"{trail} must be `name: ...` pairs", "indent one name a line"
            )
            return None
        got = ((k.text, self.kind.read(v, f"{trail}.{k.text}", reader)) for k, v in node.pairs)
        return {name: value for name, value in got if value is not None}
