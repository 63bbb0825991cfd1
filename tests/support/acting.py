"""A ledger in memory, for tests of acts: planned, spliced, read back, checked."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import books

from tankbook.ledger import shipped
from tankbook.ledger.apply import changes_of
from tankbook.ledger.csvlog import read_rows
from tankbook.records.book import Book, once_per_book
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.records.edits import Act, Refusal
from tankbook.records.fields import NodeReader
from tankbook.records.log import LogLine, columns, read_line
from tankbook.records.settings import Settings
from tankbook.records.station import Station
from tankbook.rules.checks import check

TODAY = books.TODAY


@dataclass
class Shelf:
    """The texts of a ledger's files, and what acts make of them."""

    texts: dict[str, str] = field(default_factory=dict)
    last: Act | None = None

    @property
    def book(self) -> Book:
        """The records as they stand: one book for as long as no text changes."""
        return _book(tuple(sorted(self.texts.items())))

    def do(
        self,
        plan: Callable[..., Act | Refusal],
        *arguments: Any,
        doubting: bool = False,
        **options: Any,
    ) -> Act:
        """Plan an act on the book, make it, and see that the ledger is as sound as before, if it is
        no fact that leaves something in doubt."""
        return self.make(plan(self.book, *arguments, **options), doubting=doubting)

    def make(self, act: Act | Refusal, *, doubting: bool = False) -> Act:
        """Make an act that was planned, and see that the ledger is as sound as before, if it is no
        fact that leaves something in doubt."""
        assert isinstance(act, Act), act
        before = self.faults()
        read = {path: text.encode() for path, text in self.texts.items()}
        for change in changes_of(read.get, act):
            self.texts[change.path] = change.new.decode()
        assert doubting or [f for f in self.faults() if f not in before] == []
        self.last = act
        return act

    def refuse(self, plan: Callable[..., Act | Refusal], *arguments: Any, **options: Any) -> str:
        """Every reason of a refusal, joined."""
        got = plan(self.book, *arguments, **options)
        assert isinstance(got, Refusal), got
        return "; ".join(got.reasons)

    def faults(self, today: dt.date = TODAY) -> list[str]:
        """What validate finds at fault."""
        return _faults(self.book, today)

    def __getitem__(self, id_: str) -> Any:
        return self.book.cylinders.get(id_) or self.book.sets[id_]


@lru_cache(maxsize=16)
def _book(files: tuple[tuple[str, str], ...]) -> Book:
    texts = dict(files)
    settings = books.typed(Settings, texts.get("tankbook.yaml", books.SETTINGS), "tankbook.yaml")
    sets = [shipped.rule_set(n) for n in (*settings.rules, *shipped.EVERYWHERE)]
    station = texts.get("station.yaml")
    return Book(
        settings=settings,
        cylinders=_folder(texts, Cylinder, "cylinders"),
        sets=_folder(texts, Doubles, "sets"),
        station=books.typed(Station, station, "station.yaml") if station else None,
        checklists=shipped.checklists(),
        log=tuple(_log(texts)),
        rule_sets=tuple(sets),
        sizes=shipped.sizes(),
    )


def _folder(texts: Mapping[str, str], kind: type[Any], folder: str) -> dict[str, Any]:
    read = (books.named(kind, t, p) for p, t in texts.items() if p.startswith(f"{folder}/"))
    return {record.id: record for record in read}


def _log(texts: Mapping[str, str]) -> list[LogLine]:
    found = []
    for path, text in texts.items():
        if path.startswith("fills/"):
            rows, findings = read_rows(text, path, columns(LogLine))
            reader = NodeReader(path, list(findings))
            found += [read_line(LogLine, r.cells, reader, r.line) for r in rows]
            assert not reader.findings, reader.findings
    return found


@once_per_book
def _faults_by_day(book: Book) -> dict[dt.date, list[str]]:
    return {}


def _faults(book: Book, today: dt.date) -> list[str]:
    known = _faults_by_day(book)
    if today not in known:
        # a set that is apart is one only in a book that is cut
        once = any(each.taken_apart for each in book.sets.values())
        asked = book.as_known_on(today) if once else book
        known[today] = [f.text for f in check(asked, today) if f.severity == "fault"]
    return known[today]


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
