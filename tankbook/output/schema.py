"""JSON Schema of a ledger's files, from the records' own declarations, for editors.

A schema knows the shape of a file alone: what hangs on other values, on other files or on the day
is judged by `validate`. It refuses nothing that is read here (a test holds it to that), so where a
kind has no shape that is sure it lets any text through. Draft 2020-12 of json-schema.org; editors
read a value as the core schema of YAML 1.2 types it, so a number may stand where a text is wanted.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from tankbook.ledger.modelines import WHERE, file_of, modeline
from tankbook.output.as_json import dumps
from tankbook.output.page import Page
from tankbook.records import kinds
from tankbook.records.audited import Audited
from tankbook.records.checklist import Checklist
from tankbook.records.counter import CounterFile
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.fields import (
    COUNT,
    YES_NO,
    FreeText,
    Key,
    Kind,
    ListOf,
    MapOf,
    Nested,
    OneOf,
    Parsed,
    Record,
    keys_of,
)
from tankbook.records.rulerow import RuleSet
from tankbook.records.settings import Settings
from tankbook.records.sheet import Sheet
from tankbook.records.station import Station
from tankbook.units import Concentration, GaugePressure, Mass, Temperature, Volume
from tankbook.units.quantity import Quantity

DRAFT = "https://json-schema.org/draft/2020-12/schema"

_NOUNS: Mapping[str, type[Record]] = {
    "settings": Settings,
    "cylinder": Cylinder,
    "set": Doubles,
    "station": Station,
    "counter": CounterFile,
    "checklist": Checklist,
    "rules": RuleSet,
    "sheet": Sheet,
    "audited": Audited,
}
OF_FILE: Mapping[str, tuple[type[Record], str]] = {
    name: (_NOUNS[name], where) for name, where in WHERE.items()
}
"""What each kind of file is, and where such files lie in a ledger."""


def schema_of(name: str) -> dict[str, Any]:
    """The schema of a kind of file, one of `OF_FILE`."""
    record, where = OF_FILE[name]
    made = _Schema()
    body = made.record(record)
    return {
        "$schema": DRAFT,
        "title": f"tankbook: {where}",
        **body,
        "$defs": dict(sorted(made.within.items())),
    }


def all_files() -> dict[str, bytes]:
    """Every schema by the name of its file."""
    return {file_of(name): dumps(schema_of(name)).encode() for name in OF_FILE}


def data(folder: str) -> list[dict[str, str]]:
    """The JSON shape of `schema`."""
    return [
        {"kind": name, "files": where, "file": file_of(name), "first_line": modeline(name, folder)}
        for name, (_, where) in OF_FILE.items()
    ]


def text(folder: str, page: Page, *, written: bool) -> str:
    """Which kinds there are, and the first line of a file by which an editor finds its schema."""
    kinds_of = ", ".join(OF_FILE)
    head = f"{len(OF_FILE)} schemas: {kinds_of}"
    if written:
        head = f"{len(OF_FILE)} schemas are written"
    lines = "\n".join(
        f"{where}\n  {modeline(name, folder)}" for name, (_, where) in OF_FILE.items()
    )
    said = "The first line of a file by which an editor finds its schema:"
    how = (
        "" if written else "`tankbook schema --into schemas` writes them; docs/editor.md says how."
    )
    return page.answer(head, page.wrap(said), lines, page.wrap(how) if how else "")


_SCALAR = ["string", "number", "boolean"]
_MISSING: dict[str, Any] = {"type": "null"}
"""A key with nothing behind it is a missing one."""

_MONTH, _DAY = r"[0-9]{4}-(0[1-9]|1[0-2])", r"-(0[1-9]|[12][0-9]|3[01])"
_DATE, _NONE = f"{_MONTH}({_DAY})?", "none"
_PERIOD = r"[0-9]+ ?(day|month|year)s?"


def _quantity(kind: type[Quantity]) -> str:
    """The shape of a quantity: a plain number, at most one space, a unit that is known."""
    units = sorted({*kind.UNITS, *kind.TWINS}, key=lambda name: (-len(name), name))
    suffix = f"({re.escape(kind.SUFFIX)})?" if kind.SUFFIX else ""
    return rf"-?[0-9]+(\.[0-9]+)? ?({'|'.join(map(_plain, units))}){suffix}"


def _plain(text: str) -> str:
    """A text as a pattern that every dialect reads alike."""
    return re.sub(r"([.^$*+?()\[\]{}|\\/])", r"\\\1", text)


_SHAPES: Mapping[Parsed, str] = {
    kinds.PRESSURE: _quantity(GaugePressure),
    kinds.WATER_VOLUME: _quantity(Volume),
    kinds.EMPTY_MASS: _quantity(Mass),
    kinds.DISC: f"{_quantity(GaugePressure)}|{_NONE}",
    kinds.TEMPERATURE: _quantity(Temperature),
    kinds.CONCENTRATION: f"<? *{_quantity(Concentration)}",
    kinds.DATE: _DATE,
    kinds.DAY: f"{_MONTH}{_DAY}",
    kinds.LIFE_END: f"{_DATE}|{_NONE}",
    kinds.TIME: r"[0-9-]{10}T[0-9:]{8}[+-][0-9]{2}:[0-9]{2}",
    kinds.TIME_OF_DAY: r"([01][0-9]|2[0-3]):[0-5][0-9]",
    kinds.PERIOD: _PERIOD,
    kinds.PERIOD_OR_NONE: f"{_PERIOD}|{_NONE}",
    kinds.PERIOD_OR_RECORD: f"{_PERIOD}|from-record",
    kinds.RATIO: r"[0-9]{1,3}/[0-9]{1,3}",
    kinds.DIGEST: r"[0-9a-f]{64}",
    COUNT: r"[0-9]{1,9}",
    YES_NO: r"[Yy][Ee][Ss]|[Nn][Oo]|[Tt][Rr][Uu][Ee]|[Ff][Aa][Ll][Ss][Ee]",
}
"""The shapes that are sure, of kinds whose parser is no quantity's own."""
_ALSO: Mapping[Parsed, str] = {COUNT: "integer", YES_NO: "boolean"}
"""As what else a value may be typed by an editor."""
_ANY_SCALAR = frozenset({kinds.ID})
"""Kinds that may look like a number: an id may be digits alone."""


class _Schema:
    """A schema being made, with the records that stand within."""

    def __init__(self) -> None:
        self.within: dict[str, Any] = {}

    def record(self, record: type[Record]) -> dict[str, Any]:
        """The schema of a record: its keys and no others."""
        known = keys_of(record)
        required = [k.name for k in known.values() if k.required]
        made: dict[str, Any] = {"type": "object"}
        if record.__doc__:
            made["description"] = " ".join(record.__doc__.split())
        made["properties"] = {k.name: self._key(k) for k in known.values()}
        if required:
            made["required"] = required
        made["additionalProperties"] = False
        return made

    def _key(self, key: Key) -> dict[str, Any]:
        shape = self._kind(key.kind)
        may_be_empty = not key.required and key.left_out is None
        if may_be_empty:
            shape = {"anyOf": [*shape.pop("anyOf", ()), *([shape] if shape else []), _MISSING]}
        said = {"description": key.doc, "examples": [key.example]} if key.example else {}
        return {**said, **shape}

    def _kind(self, kind: Kind) -> dict[str, Any]:
        match kind:
            case FreeText(limit=limit):
                return {"type": _SCALAR, "maxLength": limit}
            case OneOf():
                return _words(kind)
            case Parsed():
                return _parsed(kind)
            case ListOf(kind=inner):
                one = self._kind(inner)
                return {"anyOf": [one, {"type": "array", "items": one}]}
            case MapOf(kind=inner):
                one = {"anyOf": [self._kind(inner), _MISSING]}
                return {"type": "object", "additionalProperties": one}
            case Nested(record=record):
                return self._within(record)
        raise TypeError(kind)

    def _within(self, record: type[Record]) -> dict[str, Any]:
        name = record.__name__
        if name not in self.within:
            self.within[name] = {}  # one may hold itself
            self.within[name] = self.record(record)
        return {"$ref": f"#/$defs/{name}"}


def _words(kind: OneOf) -> dict[str, Any]:
    """Words of a closed set, in any case, and those of the other shore."""
    words = [word.value for word in kind.words]
    other = [*words, *(twin for twin, _ in kind.twins)]
    pattern = f"^({'|'.join(''.join(map(_any_case, each)) for each in other)})$"
    return {"anyOf": [{"enum": words}, {"type": "string", "pattern": pattern}]}


def _any_case(letter: str) -> str:
    if letter.isalpha() and letter.isascii():
        return f"[{letter.upper()}{letter.lower()}]"
    return _plain(letter)


def _parsed(kind: Parsed) -> dict[str, Any]:
    shape = _SHAPES.get(kind)
    owner = getattr(kind.parse, "__self__", None)
    if shape is None and isinstance(owner, type) and issubclass(owner, Quantity):
        shape = _quantity(owner)
    if kind in _ANY_SCALAR:
        return {"type": _SCALAR}
    text: dict[str, Any] = {"type": "string"}
    if shape is not None:
        text["pattern"] = rf"^\s*({shape})\s*$"
    also = _ALSO.get(kind)
    return {"anyOf": [{"type": also}, text]} if also else text
