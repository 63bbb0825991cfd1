"""A ledger in memory, for tests of acts: planned, spliced, read back, checked."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import books

from tankbook.ledger import shipped
from tankbook.ledger.apply import changes_of
from tankbook.ledger.csvlog import read_rows
from tankbook.records.book import Book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.edits import Act, Refusal
from tankbook.records.fields import Reader
from tankbook.records.log import LogLine, columns, read_line
from tankbook.records.settings import Settings
from tankbook.records.station import Station
from tankbook.rules.checks import check
from tests.support.changed import replace

TODAY = books.TODAY


@dataclass
class Shelf:
    """The texts of a ledger's files, and what acts make of them."""

    texts: dict[str, str] = field(default_factory=dict)
    last: Act | None = None

    @property
    def book(self) -> Book:
        """The records as they stand."""
        text = self.texts.get("tankbook.yaml", books.SETTINGS)
        settings = books.typed(Settings, text, "tankbook.yaml")
        sets = [shipped.rule_set(n) for n in (*settings.rules, *shipped.EVERYWHERE)]
        station = self.texts.get("station.yaml")
        return Book(
            settings=settings,
            cylinders=self._folder(Cylinder, "cylinders"),
            sets=self._folder(Doubles, "sets"),
            station=books.typed(Station, station, "station.yaml") if station else None,
            checklists=shipped.checklists(),
            log=tuple(self._log()),
            rule_sets=tuple(sets),
            sizes=shipped.sizes(),
        )

    def _folder(self, kind: type[Any], folder: str) -> dict[str, Any]:
        found = {}
        for path, text in sorted(self.texts.items()):
            if path.startswith(f"{folder}/"):
                id_ = path.removeprefix(f"{folder}/").removesuffix(".yaml")
                found[id_] = replace(books.typed(kind, text, path), id=id_)
        return found

    def _log(self) -> list[LogLine]:
        found = []
        for path, text in sorted(self.texts.items()):
            if path.startswith("fills/"):
                rows, findings = read_rows(text, path, columns(LogLine))
                reader = Reader(path, list(findings))
                found += [read_line(LogLine, r.cells, reader, r.line) for r in rows]
                assert not reader.findings, reader.findings
        return found

    def do(self, plan: Callable[..., Act | Refusal], *arguments: Any, **options: Any) -> Act:
        """Plan an act on the book, make it, and see that the ledger is as sound as before."""
        return self.make(plan(self.book, *arguments, **options))

    def make(self, act: Act | Refusal) -> Act:
        """Make an act that was planned, and see that the ledger is as sound as before."""
        assert isinstance(act, Act), act
        before = self.faults()
        read = {path: text.encode() for path, text in self.texts.items()}
        for change in changes_of(read.get, act):
            self.texts[change.path] = change.new.decode()
        assert [f for f in self.faults() if f not in before] == []
        self.last = act
        return act

    def refuse(self, plan: Callable[..., Act | Refusal], *arguments: Any, **options: Any) -> str:
        """Every reason of a refusal, joined."""
        got = plan(self.book, *arguments, **options)
        assert isinstance(got, Refusal), got
        return "; ".join(got.reasons)

    def faults(self, today: dt.date = TODAY) -> list[str]:
        """What validate finds at fault."""
        return [f.text for f in check(self.book, today) if f.severity == "fault"]

    def __getitem__(self, id_: str) -> Any:
        return self.book.cylinders.get(id_) or self.book.sets[id_]


def shelf(**changes: str) -> Shelf:
    """Two good cylinders in a set, a third alone; `changes` replaces whole files by id."""
    texts = {}
    for number, id_ in enumerate(("RB-014", "RB-015", "RB-016"), 4):
        texts[f"cylinders/{id_}.yaml"] = books.GOOD.replace("K118204", f"K11820{number}")
    texts["sets/DB-02.yaml"] = "cylinders: [RB-015, RB-016]\n"
    if "station" in changes:
        texts["station.yaml"] = changes.pop("station")
    for id_, text in changes.items():
        texts[f"cylinders/{id_.replace('_', '-')}.yaml"] = text
    return Shelf(texts)
