"""A small ledger held in memory: acts are planned on its book and spliced into its texts."""

from __future__ import annotations

import dataclasses
import datetime as dt
from typing import Any

import books
from changing import replace

from tankbook.ledger import shipped
from tankbook.ledger.apply import changes_of
from tankbook.ledger.csvlog import read_rows
from tankbook.records.book import Book
from tankbook.records.checklist import Checklist
from tankbook.records.cylinder import Cylinder
from tankbook.records.edits import Act, Refusal
from tankbook.records.fields import NodeReader
from tankbook.records.log import LogLine, columns, read_line
from tankbook.records.node import Severity
from tankbook.rules.checks import check

AFTERWARDS = """\
shown_as: Before it leaves the shop
steps:
  - {name: identify, group: outside, look_for: serial against the card}
  - {name: shop-wear, group: outside, look_for: knocks and scratches}
"""
"""A second outside look, as a shop writes one."""


@dataclasses.dataclass(slots=True)
class Shop:
    """The files of a ledger and the day it is."""

    files: dict[str, str]
    settings: str = books.SETTINGS
    station: str | None = books.STATION
    sets: dict[str, str] = dataclasses.field(default_factory=dict)

    @property
    def book(self) -> Book:
        """The records as the files have them."""
        names = {k.removesuffix(".yaml").removeprefix("cylinders/"): v for k, v in self.files.items()
                 if k.startswith("cylinders/")}  # fmt: skip
        made = books.make_book(names, settings=self.settings, station=self.station, sets=self.sets)
        look = replace(books.typed(Checklist, AFTERWARDS), id="before-hand-over")
        lists = {**shipped.checklists(), "before-hand-over": look}
        return replace(made, checklists=lists, log=self._log())

    def _log(self) -> tuple[LogLine, ...]:
        found: list[LogLine] = []
        for path, text in self.files.items():
            if path.startswith("fills/"):
                rows, findings = read_rows(text, path, columns(LogLine))
                assert not findings
                reader = NodeReader(path)
                found += [read_line(LogLine, r.cells, reader, r.line) for r in rows]  # type: ignore[misc]
                assert not reader.findings
        return tuple(found)

    def __getitem__(self, id_: str) -> Cylinder:
        return self.book.cylinders[id_]

    def do(self, planned: Act | Refusal, today: dt.date = books.TODAY) -> Act:
        """Record an act; nothing may be wrong afterwards that was not before."""
        assert isinstance(planned, Act), planned
        before = set(self.faults(today))
        for change in changes_of(lambda p: _bytes(self.files.get(p)), planned):
            self.files[change.path] = change.new.decode()
        assert set(self.faults(today)) <= before
        return planned

    def fact(self, planned: Act | Refusal, today: dt.date = books.TODAY) -> Act:
        """Record what happened; what is at fault afterwards that was not before is told with it."""
        assert isinstance(planned, Act), planned
        before = set(self.faults(today))
        for change in changes_of(lambda p: _bytes(self.files.get(p)), planned):
            self.files[change.path] = change.new.decode()
        told = [n.removeprefix("WARNING: ") for n in planned.notes]
        new = [f for f in check(self.book, today) if f.severity is Severity.FAULT]
        assert all(any(f.text in t for t in told) for f in new if str(f) not in before), (
            "a fault is not told"
        )
        return planned

    def faults(self, today: dt.date = books.TODAY) -> list[str]:
        """What `validate` finds between the records."""
        return [str(f) for f in check(self.book, today) if f.severity is Severity.FAULT]


def _bytes(text: str | None) -> bytes | None:
    return None if text is None else text.encode()


def shop(*, settings: str = books.SETTINGS, station: str | None = books.STATION,
         sets: dict[str, str] | None = None, log: str = "", **cylinders: str) -> Shop:  # fmt: skip
    """A shop of these cylinders, underscores in their names for hyphens."""
    files = {f"cylinders/{k.replace('_', '-')}.yaml": v.lstrip() for k, v in cylinders.items()}
    if log:
        files["fills/2026.csv"] = log
    return Shop(files, settings, station, sets or {})


def reasons(planned: Any) -> str:
    """Why an act was refused, on one line."""
    assert isinstance(planned, Refusal), planned
    return " | ".join([*planned.reasons, *map(str, planned.findings)])
