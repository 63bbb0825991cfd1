"""What comes with tankbook: rule sets, trade sizes, checklists, marks, label sheets, type, and what
a ledger is begun with."""

from __future__ import annotations

import json
from collections.abc import Iterable
from functools import lru_cache, partial
from io import BytesIO
from pathlib import Path
from typing import Any, BinaryIO, TypeVar

from msgspec.structs import replace

from tankbook.ledger.quick import Later
from tankbook.records.checklist import Checklist
from tankbook.records.explained import ExplainedTable
from tankbook.records.fields import NodeReader, Record, read
from tankbook.records.finding import FindingRow, FindingTable
from tankbook.records.marked import WordSays
from tankbook.records.marks import MarkMeaning, MarkTable, MarkWords
from tankbook.records.quick import quick_read
from tankbook.records.rulerow import RuleSet, SizeTable, TradeSize
from tankbook.records.sheet import Sheet, SheetTable

R = TypeVar("R", bound=Record)

EVERYWHERE = ("bench", "alloys")
"""The sets that are in force in every ledger."""


def _data() -> Path:
    return Path(__file__).with_name("data")  # importlib.resources takes 10 ms of every answer


FROZEN = "frozen.json"
"""What the YAML files beside it say, without places: it is read in a tenth of their time. A test
compares it with them, and writes it anew."""
FROZEN_APART = {"explained.yaml": "explained.json"}
"""What few answers need is frozen by itself, so that the rest do not read it."""


def _read(record: type[R], *parts: str) -> R:
    """Read a shipped file as it was frozen; its YAML where somebody asks for a place in it, or
    where it would be at fault."""
    path = "/".join(parts)
    text = partial(_data().joinpath(*parts).read_text, encoding="utf-8")
    frozen = _frozen(FROZEN_APART.get(path, FROZEN))
    return quick_read(record, frozen[path], path, Later(text, path)) or _read_yaml(record, path)


def _read_yaml(record: type[R], path: str) -> R:
    """Read a shipped file in full. A fault in one is a fault of ours, not of a ledger."""
    from tankbook.ledger.events import parse

    node, findings = parse(_data().joinpath(*path.split("/")).read_text(encoding="utf-8"), path)
    reader = NodeReader(path, list(findings))
    got = read(record, node, reader)
    if got is None or reader.findings:
        raise RuntimeError(f"shipped data cannot be read: {'; '.join(map(str, reader.findings))}")
    return got


def text_of(name: str) -> str:
    """A shipped file as it is, such as `report.html`, the frame of a report."""
    return _data().joinpath(name).read_text(encoding="utf-8")


@lru_cache(maxsize=2)
def _frozen(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(_data().joinpath(name).read_bytes())
    return found


@lru_cache(maxsize=1)
def rule_set_names() -> tuple[str, ...]:
    """The names of the shipped rule sets."""
    return tuple(_names("rules"))


def _names(folder: str) -> list[str]:
    names = (f.name for f in _data().joinpath(folder).iterdir())
    return sorted(name.removesuffix(".yaml") for name in names if name.endswith(".yaml"))


@lru_cache(maxsize=16)
def rule_set(name: str) -> RuleSet:
    """A shipped rule set.

    Raises:
        KeyError: there is none of this name.
    """
    if name not in rule_set_names():
        raise KeyError(name)
    return replace(_read(RuleSet, "rules", f"{name}.yaml"), id=name, shipped=True)


def texts_of(names: Iterable[str]) -> dict[str, bytes]:
    """The shipped files that are in force where these rule sets are, as they are written."""
    paths = [f"rules/{name}.yaml" for name in _in_force(names)]
    paths += [f"checklists/{name}.yaml" for name in checklists()]
    paths += ["findings.yaml", "marks.yaml", "sizes.yaml"]
    return {path: _data().joinpath(*path.split("/")).read_bytes() for path in paths}


def sets_of(names: Iterable[str]) -> tuple[RuleSet, ...]:
    """The shipped rule sets among some names, and those that are always in force."""
    return tuple(map(rule_set, _in_force(names)))


def _in_force(names: Iterable[str]) -> dict[str, None]:
    return dict.fromkeys((*(n for n in names if n in rule_set_names()), *EVERYWHERE))


@lru_cache(maxsize=1)
def out_of_use() -> tuple[str, ...]:
    """The words of a shoulder that take a cylinder out of use."""
    rows = (row for row in mark_words() if row.says is WordSays.CONDEMNED)
    return tuple(word for row in rows for word in row.words)


@lru_cache(maxsize=1)
def sizes() -> dict[str, TradeSize]:
    """The trade sizes, by word."""
    return {row.name: row for row in _read(SizeTable, "sizes.yaml").sizes}


@lru_cache(maxsize=1)
def checklists() -> dict[str, Checklist]:
    """The shipped checklists, by name."""
    return {
        n: replace(_read(Checklist, "checklists", f"{n}.yaml"), id=n) for n in _names("checklists")
    }


@lru_cache(maxsize=1)
def marks() -> tuple[MarkMeaning, ...]:
    """What each kind of stamp mark means, with its source."""
    return _mark_table().marks


@lru_cache(maxsize=1)
def mark_words() -> tuple[MarkWords, ...]:
    """The words of a shoulder that say something, or that are known to say nothing."""
    return _mark_table().words


@lru_cache(maxsize=1)
def _mark_table() -> MarkTable:
    return _read(MarkTable, "marks.yaml")


@lru_cache(maxsize=1)
def sheets() -> dict[str, Sheet]:
    """The label sheets, by name."""
    return {sheet.name or "": sheet for sheet in _read(SheetTable, "sheets.yaml").sheets}


@lru_cache(maxsize=1)
def findings() -> tuple[FindingRow, ...]:
    """What an inspector can find, with the limits that were read."""
    return _read(FindingTable, "findings.yaml").findings


@lru_cache(maxsize=1)
def explained() -> ExplainedTable:
    """What every code and every question means, by groups, and the glossary."""
    return _read(ExplainedTable, "explained.yaml")


def beginning(name: str) -> str:
    """What a new ledger's settings or station are begun with, or (`asked/uk`) what a rule set asks
    of the settings; empty for a set that asks for nothing."""
    file = _data().joinpath("begin", *f"{name}.txt".split("/"))
    return file.read_text(encoding="utf-8") if file.is_file() else ""


def font(name: str) -> BinaryIO:
    """A typeface file that is printed with, read whole; its licence stands beside it."""
    return BytesIO(_data().joinpath("fonts", name).read_bytes())
