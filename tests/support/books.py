"""Books made from the text of their files, for the rooms' tests."""

from __future__ import annotations

import datetime as dt
import re
import textwrap
from functools import lru_cache
from pathlib import PurePosixPath
from typing import Any

from changing import replace
from parsed import MADE

from tankbook.ledger import shipped
from tankbook.ledger.events import parse
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.fields import NodeReader, read
from tankbook.records.log import LogLine, columns, read_line
from tankbook.records.rulerow import RuleSet
from tankbook.records.settings import Settings
from tankbook.records.station import Station

TODAY = dt.date(2026, 11, 25)

SETTINGS = """
ledger: Test Quay
units: psi
rules: [us-dot]
people:
  MV: {certifications: [{skill: inspector, from: 2020-01}]}
"""

GOOD = """
serial: K118204
maker: Example Cylinder Co
specification: [DOT-3AL, TC-3ALM]
service_pressure: 3000 psi
test_pressure: 5000 psi
water_volume: 11.1 L
material: aluminium
alloy: 6061
neck_thread: 3/4-14 NPSM
valve: {outlet: convertible, thread: 3/4-14 NPSM, rating: 3442 psi, disc: 5000 psi}
service: air
use: rental
status: in-service
requalified:
  - {on: 2024-03, method: hydrostatic, by: maker}
inspected:
  - {on: 2026-02-09, by: MV, checklist: annual, result: pass, sticker: issued}
"""

STATION = """
air_tests:
  - {on: 2026-10-12, by: Example Air Lab, standard: cga-grade-e, result: pass, oxygen: 20.9 %,
     co: 1 ppm, co2: 400 ppm, oil: 0.1 mg/m3, hydrocarbons: 3 ppm, odour: none}
"""


@lru_cache(maxsize=4096)
def typed(record: type[Any], text: str, path: str = "test.yaml") -> Any:
    """A record read from the text of its file; any fault fails the test.

    Records never change, so that a text is read once.
    """
    node, findings = parse(textwrap.dedent(text), path)
    reader = NodeReader(path, list(findings))
    got = read(record, node, reader)
    assert not reader.findings, "\n".join(map(str, reader.findings))
    return got


@lru_cache(maxsize=4096)
def named(record: type[Any], text: str, path: str) -> Any:
    """A record that is called as its file is."""
    return replace(typed(record, text, path), id=PurePosixPath(path).stem)


def log_lines(rows: str, path: str = "fills/2026.csv") -> tuple[LogLine, ...]:
    """Log lines from `key=value; key=value` rows, one a line."""
    names = columns(LogLine)
    reader = NodeReader(path)
    found = []
    for number, row in enumerate(filter(None, map(str.strip, rows.splitlines())), 2):
        given = dict(part.strip().split("=", 1) for part in row.split(";"))
        assert set(given) <= set(names), given
        found.append(read_line(LogLine, [given.get(n, "") for n in names], reader, number))
    assert not reader.findings, "\n".join(map(str, reader.findings))
    return tuple(found)


def make_book(
    cylinders: dict[str, str] | None = None,
    *,
    sets: dict[str, str] | None = None,
    settings: str = SETTINGS,
    station: str | None = STATION,
    log: str = "",
    own_rules: str = "",
) -> Book:
    """A book made from texts. Rule sets are the shipped ones that the settings name."""
    texts = (tuple((cylinders or {}).items()), tuple((sets or {}).items()))
    key = (*texts, settings, station, log, own_rules)
    return MADE.get(key, lambda: _made(cylinders, sets, settings, station, log, own_rules))


def _made(
    cylinders: dict[str, str] | None,
    sets: dict[str, str] | None,
    settings: str,
    station: str | None,
    log: str,
    own_rules: str,
) -> Book:
    settings_record = typed(Settings, settings)
    rule_sets = [shipped.rule_set(n) for n in (*settings_record.rules, *shipped.EVERYWHERE)]
    if own_rules:
        rule_sets.append(replace(typed(RuleSet, own_rules), id="shop"))
    return Book(
        settings=settings_record,
        cylinders={
            k: named(Cylinder, v, f"cylinders/{k}.yaml") for k, v in (cylinders or {}).items()
        },
        sets={k: named(Doubles, v, f"sets/{k}.yaml") for k, v in (sets or {}).items()},
        station=typed(Station, station, "station.yaml") if station is not None else None,
        checklists=shipped.checklists(),
        log=log_lines(log),
        rule_sets=tuple(rule_sets),
        sizes=shipped.sizes(),
        finding_rows=shipped.findings(),
        mark_words=shipped.mark_words(),
        clock=TODAY,
    )


def stamped(text: str) -> str:
    """A card with the marks that its own facts would be stamped as."""
    serial, year, month = (
        re.search(pattern, text)[1]  # type: ignore[index]
        for pattern in (r"serial: (\S+)", r"- \{on: 20(\d\d)-", r"- \{on: 20\d\d-(\d\d)")
    )
    return text.replace(
        "specification:", f"marks: DOT-3AL 3000 {serial} {month}A{year}\nspecification:"
    )


def with_lines(text: str, **changes: str | None) -> str:
    """`text` with top-level keys replaced (or taken out where the change is None)."""
    kept, keep = [], True
    for line in textwrap.dedent(text).strip().splitlines():
        if not line.startswith((" ", "-")):
            keep = line.split(":")[0] not in changes
        kept += [line] if keep else []
    return "\n".join(kept + [f"{k}: {v}" for k, v in changes.items() if v is not None]) + "\n"
