"""The ledger as a command finds it: its records, the day, and the page to write on."""

from __future__ import annotations

import datetime as dt
import shutil
import sys
from dataclasses import dataclass
from pathlib import Path

from tankbook.cli import ask
from tankbook.cli.options import Common
from tankbook.ledger.load import find_root, load, resolve
from tankbook.output.page import WIDTH, Page, counted
from tankbook.records.book import Book
from tankbook.records.node import Severity
from tankbook.records.words import Shore

NARROWEST, WIDEST = 60, 120


@dataclass(frozen=True, slots=True)
class Desk:
    """An opened ledger. `book` holds nothing later than `today` where that was asked with --on."""

    root: Path
    book: Book
    today: dt.date
    page: Page

    def resolve(self, ids: list[str]) -> list[str]:
        """The full ids that the given ones stand for, each once, in the order given."""
        return list(dict.fromkeys(resolve(self.book, text) for text in ids))

    @property
    def shore(self) -> Shore:
        """The unit the ledger reads in."""
        return self.book.settings.units

    @property
    def notes(self) -> tuple[str, ...]:
        """A line on files that could not be read in full, for standard error."""
        bad = sorted({f.where.path for f in self.book.findings if f.severity is Severity.FAULT})
        if not bad:
            return ()
        named = ", ".join(bad[:3]) + (", ..." if len(bad) > 3 else "")
        files = counted(len(bad), "file has", "files have")
        return (f"tankbook: {files} faults ({named}); `tankbook validate` lists them",)


def open_desk(asked: Common) -> Desk:
    """Find and read the ledger. Raises `LedgerError` and `RequestError`."""
    today = day_asked(asked)
    root = root_asked(asked)
    book = load(root)
    if asked.on:
        book = book.as_known_on(today)
    return Desk(root, book, today, page(book.settings.units))


def root_asked(asked: Common) -> Path:
    """The folder given with --ledger, taken at its word, else the nearest ledger upward."""
    return Path(asked.ledger) if asked.ledger else find_root(Path.cwd())


def day_asked(asked: Common) -> dt.date:
    """The day given with --on, else today. The clock is read here and just below, nowhere else."""
    if asked.on:
        return ask.day("--on", asked.on)
    return dt.datetime.now().astimezone().date()


def moment_asked(asked: Common) -> dt.datetime:
    """Now, to the second, with its UTC offset; on the day given with --on, at this time of day."""
    now = dt.datetime.now().astimezone().replace(microsecond=0)
    if not asked.on:
        return now
    return dt.datetime.combine(ask.day("--on", asked.on), now.time()).astimezone()


def page(shore: Shore = Shore.PSI) -> Page:
    """A page as wide as the terminal, 80 columns where there is none."""
    width = WIDTH
    if sys.stdout.isatty():
        width = shutil.get_terminal_size((WIDTH, 24)).columns
    return Page(min(max(width, NARROWEST), WIDEST), shore)
