"""The ledger as a command finds it: its records, the day, and the page to write on."""

from __future__ import annotations

import datetime as dt
import os
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from tankbook.cli import loud, option_values
from tankbook.cli.answer import DONE, NO, Answer, RequestError, Unanswered, as_data, shown
from tankbook.cli.local import at_about
from tankbook.cli.options import Common
from tankbook.ledger.errors import LedgerError
from tankbook.ledger.files import Files, Folder
from tankbook.ledger.names import find_root, tops
from tankbook.output.page import WIDTH, Page, counted
from tankbook.records.audited import AUDITED_PATH
from tankbook.records.book import Book
from tankbook.records.commits import Commit
from tankbook.records.node import Finding, Severity
from tankbook.records.words import Shore

if TYPE_CHECKING:
    from tankbook.output.tables import Table

T = TypeVar("T")

_APART = dt.timedelta(hours=1)
"""How far the clocks of two machines may be apart (own bound)."""

UNDATED = (
    "facts without a day (marks, valve, service, use, place, sets, settings, prices, bookings) are "
    "as recorded today"
)
"""What a past day cannot show, since it is written without one."""


LEDGER_VARIABLE = "TANKBOOK_LEDGER"
"""The variable that names the ledger's folder, where --ledger does not."""


class Desk(Struct, frozen=True):
    """An opened ledger. `book` holds nothing later than `today` where that was asked with --on.

    `commit` is the one it was read from where that was asked with --as-of; `only` are the cylinders
    and sets an answer about many is confined to.

    An answer about the `fleet` tells whose records are at fault as well, and what is wrong with
    every one of them; one that says which are `fit`, and asks nothing of the station, that nothing
    may be filled there. Both tell how many rows loosen practice.

    `say` takes people's names out of what must be told with an answer that is told without them.
    """

    root: Path
    book: Book
    today: dt.date
    page: Page
    commit: Commit | None = None
    only: tuple[str, ...] = ()
    fleet: bool = False
    fit: bool = False
    say: Callable[[str], str] = str

    def resolve(self, ids: list[str]) -> list[str]:
        """The full ids that the given ones stand for, each once, in the order given."""
        from tankbook.ledger.load import resolve

        return list(dict.fromkeys(resolve(self.book, text) for text in ids))

    def spread(self, texts: Iterable[str]) -> list[str]:
        """The texts with each range of ids (`1..12`, `1..12=500`) as those it stands for."""
        from tankbook.ledger.load import ranges_spread

        return ranges_spread(self.book, texts)

    def every(self, ids: Iterable[str]) -> list[str]:
        """As `resolve`, ranges included."""
        return self.resolve(self.spread(ids))

    def knows(self, id_: str) -> bool:
        """Whether there is such a cylinder or set, readable or not."""
        return any(id_ in each for each in (self.book.cylinders, self.book.sets, self.book.broken))

    @property
    def faults(self) -> tuple[loud.Fault, ...]:
        """What must be told with every answer: files not read, records missing or vanished, a
        checkpoint that does not hold."""
        findings = self.book.findings
        of_book = loud.unread(findings), loud.missing(self.book, self.today)
        against = loud.elsewhere(self.book, against=True)
        of_git = loud.vanished(self.book), against, loud.unproved(self.book)
        every = (loud.pending(findings), *of_book, *of_git)
        return self._told(f for found in every for f in found)

    def _told(self, found: Iterable[loud.Fault]) -> tuple[loud.Fault, ...]:
        return tuple(replace(each, text=self.say(each.text)) for each in found)

    @property
    def said(self) -> str:
        """What every first line ends with, or an empty text."""
        lacking = loud.unread(self.book.findings), loud.missing(self.book, self.today)
        of_files = loud.line(*lacking, loud.vanished(self.book))
        pending = loud.pending_line(self.book.findings)
        of_git = loud.elsewhere_line(self.book), loud.unproved_line(self.book)
        return self.say("; ".join(filter(None, (pending, self.clock_note, of_files, *of_git))))

    @property
    def contradicted(self) -> tuple[loud.Fault, ...]:
        """The cylinders whose own records say two things, and what the first of them is, as far
        as an answer must tell it; where only some were asked about, of those."""
        every = loud.contradicted(self.book, self.today, self.only) if self.fleet else ()
        return self._told(every)

    @property
    def loosened(self) -> tuple[loud.Fault, ...]:
        """The ledger's own rows that loosen practice, as far as an answer must tell them."""
        return self._told(loud.loosened(self.book) if self.fleet or self.fit else ())

    @property
    def closing(self) -> tuple[loud.Fault, ...]:
        """What stands against every fill here today, as far as an answer must tell it."""
        if not (self.fleet or self.fit):
            return ()
        return self._told(loud.closing(self.book, self.today, station=self.fit))

    def _ending(self, contradicted: Sequence[loud.Fault], *, whole: bool = False) -> str:
        """What the first line ends with; of rows that loosen practice how many, or the `whole`."""
        loose = loud.loosening(self.loosened, whole=whole)
        found = loud.closed(self.closing), self.said, loud.at_fault(contradicted), loose
        return "; ".join(filter(None, found))

    def answer(
        self, text: str, code: int = DONE, utf8: bool = False, *, whole: bool = False
    ) -> Answer:
        """An answer for people, with what must be told in its first line.

        Of rows that loosen practice it tells how many there are, or the `whole` of it.
        """
        code = loud.code_with(code, self.faults)
        if utf8:
            return Answer(text, code, self.notes, utf8)
        found = self.contradicted
        said = loud.once(self._ending(found, whole=whole), text, self.book.findings)
        told = loud.told(Answer(text, code, self.notes), said)
        return replace(told, text=told.text + loud.listed(found, self.page)) if found else told

    def data(self, value: Any, code: int = DONE) -> Answer:
        """An answer in JSON, with what must be told in it, as in `answer`."""
        found = (*self.contradicted, *self.closing, *self.loosened)
        slow = (loud.Fault("", self.clock_note, "clock"),) if self.clock_note else ()
        apart = self._told(loud.elsewhere(self.book, against=False))
        value = loud.in_data(value, (*self.faults, *found, *slow, *apart))
        return as_data(value, loud.code_with(code, self.faults), self.notes)

    @property
    def station_unread(self) -> bool:
        """Whether the station's file is there and cannot be read."""
        return self.book.station is None and any(
            f.where.path.startswith("station.") for f in self.book.findings
        )

    def unanswered(self, text: str, *, json: bool) -> Unanswered:
        """That a question cannot be answered, since a file that would tell cannot be read."""
        alone = replace(self, fleet=False, fit=False)  # it is about neither
        if json:
            return Unanswered(alone.data({"answered": False, "why": text}, NO))
        return Unanswered(alone.answer(f"NO: {text}\n", NO))

    def table(self, columns: Table[T], lines: Iterable[T], code: int = DONE) -> Answer:
        """An answer in CSV, a row for each of `lines`.

        What must be told, as in `answer`, stands on standard error.
        """
        from tankbook.output.as_csv import dumps

        code, said = loud.code_with(code, self.faults), self._ending(self.contradicted)
        notes = (*self.notes, f"tankbook: {said}") if said else self.notes
        text = dumps(columns.head, columns.cells(lines))
        return Answer(text, code, notes, utf8=True)

    @property
    def shore(self) -> Shore:
        """The unit the ledger reads in."""
        return self.book.settings.units

    @property
    def notes(self) -> tuple[str, ...]:
        """For standard error: the commit read from, and files that could not be read in full."""
        found = conflicts(self.book.findings)
        return (*read_from_commit(self.commit), *found, *self._faults, *self._undated)

    @property
    def _faults(self) -> tuple[str, ...]:
        faults = (f for f in self.book.findings if f.severity is Severity.FAULT)
        bad = sorted({f.where.path for f in faults if f.code != "pending"})
        if not bad:
            return ()
        named = ", ".join(bad[:3]) + (", ..." if len(bad) > 3 else "")
        files = counted(len(bad), "file has", "files have")
        return (f"tankbook: {files} faults ({named}); `tankbook validate` lists them",)

    @property
    def _undated(self) -> tuple[str, ...]:
        """That facts without a day of their own are not as they were."""
        if not self.book.cut or self.commit is not None:
            return ()
        return (f"tankbook: as of {self.today} by the days of the entries; {UNDATED}",)

    @property
    def clock_note(self) -> str:
        """That the clock looks slow, where the last commit is dated ahead of it."""
        head = self.book.absence.heads.head
        if head is None or head.at <= dt.datetime.now(dt.UTC) + _APART:
            return ""
        return f"the clock looks slow: the last commit is of {head.at:%Y-%m-%d %H:%M}"


def open_desk(asked: Common, *, fleet: bool = False, fit: bool = False) -> Desk:
    """Find and read the ledger, for an answer about the `fleet`, or one that says which are `fit`.

    Raises `LedgerError` and `RequestError`.
    """
    from tankbook.ledger.load import load_from  # a history does without

    def opened(source: LedgerSource) -> Desk:
        book = load_from(source.files, today=source.today, clock=clock(), now=moment())
        if source.commit is None:
            book = compared(book, source.root, source.today)
        return Desk(
            source.root, book, source.today, page(book.settings.units), source.commit,
            fleet=fleet, fit=fit,
        )  # fmt: skip

    return asked_of(asked, opened)


def compared(book: Book, root: Path, today: dt.date, instead: Folder | None = None) -> Book:
    """The book with what git knows of and the files no longer say; the files of the folder, or
    those that are read `instead`."""
    if next(tops(root), None) is None and not os.path.lexists(root / AUDITED_PATH):
        return book  # neither git nor an audit under it says what there was
    from tankbook.ledger.absence import look

    seen = replace(book, absence=look(root, instead=instead))
    if not seen.absence.quiet:
        return seen
    from tankbook.rules.put_back import gone_judged

    return replace(book, absence=gone_judged(seen, today))


class LedgerSource(Struct, frozen=True):
    """Where a ledger is read from, and the day it is asked about.

    `cut` says that what is dated later is left out; `commit` is the one asked for with --as-of.
    """

    root: Path
    files: Files
    today: dt.date
    cut: bool
    commit: Commit | None = None

    @property
    def notes(self) -> tuple[str, ...]:
        """The commit read from, for standard error."""
        return read_from_commit(self.commit)


def asked_of(asked: Common, work: Callable[[LedgerSource], T]) -> T:
    """What `work` makes of the ledger's files: in its folder, as whole acts left them, or with
    --as-of as git had them then.

    A day or a revision asked with --as-of is also the day asked about, unless --on says another.

    Args:
        asked: the options.
        work: reads the files, and may be called again where they moved while it did.

    Raises `LedgerError` and `RequestError`.
    """
    if not asked.as_of:
        from tankbook.ledger.whole import whole

        today, root = day_asked(asked), root_asked(asked)
        return whole(
            root, lambda files: work(LedgerSource(root, files, today, bool(asked.on))), told
        )
    with _at_commit(asked) as source:
        return work(source)


def told(line: str) -> None:
    """Say at once, on standard error, that an act was finished: whatever comes of the command."""
    from tankbook.cli import keys

    with suppress(OSError):  # nobody is listening
        keys.say(f"{keys.fitted(f'tankbook: {line}')}\n")


@contextmanager
def _at_commit(asked: Common) -> Iterator[LedgerSource]:
    """The files as git had them."""
    from tankbook.ledger.gitfiles import commit_asked, objects_of
    from tankbook.ledger.gitread import Repository
    from tankbook.ledger.gitwalk import files_then

    root = root_asked(asked)
    repository = Repository.of(root)
    with objects_of(root) as objects:
        commit, day = commit_asked(repository, objects, asked.as_of, clock())
        today = option_values.day("--on", asked.on) if asked.on else day
        yield LedgerSource(root, files_then(repository, objects, commit), today, True, commit)


def conflicts(findings: Sequence[Finding]) -> Iterator[str]:
    """A line for each file in which a merge is not settled, naming the lines of its markers."""
    marked: dict[str, list[str]] = {}
    for each in findings:
        if each.code == "merge-conflict" and each.where.line:
            marked.setdefault(each.where.path, []).append(str(each.where.line))
    for path, lines in marked.items():
        named = ", ".join(lines[:9]) + (", ..." if len(lines) > 9 else "")
        yield (
            f"tankbook: {path}: a merge conflict is not settled at line {named}; "
            "keep the lines that are true and delete the markers"
        )


def read_from_commit(commit: Commit | None) -> tuple[str, ...]:
    """A line that says which commit was read, none where it was not one."""
    if commit is None:
        return ()
    return (
        f"tankbook: as of commit {commit.short}, {commit.at:%Y-%m-%d %H:%M %z} {commit.author}",
    )


def root_asked(asked: Common) -> Path:
    """The folder given with --ledger, taken at its word; else the one that TANKBOOK_LEDGER names,
    or the nearest ledger upward.

    Raises:
        RequestError: these two are not one: nothing is recorded in the wrong one of them.
        LedgerError: there is none.
    """
    if asked.ledger:
        return Path(asked.ledger)
    named = os.environ.get(LEDGER_VARIABLE, "")
    if not named.strip():
        return find_root(Path.cwd())
    try:
        here = find_root(Path.cwd())
    except LedgerError:
        return Path(named)
    if here.resolve() != Path(named).resolve():
        said = f"{LEDGER_VARIABLE} names {shown(named)}, and you stand in {shown(str(here))}"
        raise RequestError(said, "say which is meant: --ledger DIR")
    return here


def day_asked(asked: Common) -> dt.date:
    """The day given with --on, else today. The clock is read here and just below, nowhere else.

    Raises:
        RequestError: it is no day, or --as-of was given to a command that writes.
    """
    if asked.as_of:
        raise RequestError("--as-of: the past can be asked about, not written", "leave it out")
    if asked.on:
        return option_values.day("--on", asked.on)
    return clock()


def clock() -> dt.date:
    """Today by the clock."""
    return _now().date()


def moment() -> dt.datetime:
    """This moment by the clock, here, with its UTC offset."""
    return _now()


def _now() -> dt.datetime:
    """This moment, here.

    Raises:
        RequestError: the zone of this computer is none.
    """
    try:
        return dt.datetime.now().astimezone()
    except ValueError as error:
        said = f"TZ={os.environ.get('TZ', '')}: no time zone lies a day or more from UTC"
        mend = "name one, as `TZ=Europe/London`, or leave TZ out"
        raise RequestError(said, mend) from error


def day_done(asked: Common) -> dt.date:
    """The day a recording command is dated: as `day_asked`, and never a day to come.

    Raises:
        RequestError: it is no day, or lies ahead of the clock.
    """
    day, today = day_asked(asked), clock()
    if day > today:
        raise RequestError(
            f"--on {day} is a day to come: today is {today}", "record it on the day it is done"
        )
    return day


def moment_asked(asked: Common) -> dt.datetime:
    """Now, to the second, with its UTC offset; on the day given with --on, at this time of day."""
    now = _now().replace(microsecond=0)
    if not asked.on:
        return now
    return at_about(option_values.day("--on", asked.on), now.time())


def page(shore: Shore = Shore.PSI) -> Page:
    """A page as wide as the terminal, 80 columns where there is none."""
    if not sys.stdout.isatty():
        return Page(WIDTH, shore)
    from tankbook.cli import keys

    return Page(keys.columns(sys.stdout) or WIDTH, shore)
