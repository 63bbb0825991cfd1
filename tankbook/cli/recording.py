"""How a recording command runs: the ledger locked, an act planned on it, written and told."""

from __future__ import annotations

import datetime as dt
import inspect
from collections.abc import Callable, Iterable
from enum import StrEnum
from pathlib import Path
from types import NoneType, UnionType
from typing import TYPE_CHECKING, Annotated, Any, TypeAlias, get_args

import typer
from msgspec import Struct

from tankbook.acts.options import Arg, Flag, Opt
from tankbook.cli import option_values
from tankbook.cli.answer import DONE, NO, Answer, RequestError, shown
from tankbook.cli.local import refuse_left_out
from tankbook.cli.options import (
    NAMES_A_PATH,
    Common,
    Json,
    Ledger,
    common,
    is_many,
    marker_of,
    name_of,
    read_by_parser,
    signature_of,
    taking,
)

if TYPE_CHECKING:
    from tankbook.cli.open_ledger import Desk
    from tankbook.ledger.apply import Recorded
    from tankbook.records.book import Book
    from tankbook.records.edits import Act, Refusal
    from tankbook.units import GaugePressure, Temperature

Planned: TypeAlias = "Act | Refusal"

By = Annotated[str, Opt("XX", "Initials of who did it; the settings' operator, if not said.")]
Day = Annotated[str, Opt("DATE", "The day it was done (2026-11-25); today, if not said.", "--on")]
DryRun = Annotated[bool, Flag("Show what would change, write nothing.")]
CommitOption = Annotated[
    bool | None, Flag("Commit it to git, or not; else as the settings say.", "--commit/--no-commit")
]


LONGEST_ID = 64
"""Characters of the longest id there can be."""
LONGEST_PATH = 1024


class Given(Struct, frozen=True):
    """The options of a recording command as given."""

    common: Common
    by: str
    dry_run: bool
    commit: bool | None


class Bench(Struct, frozen=True):
    """What an act is planned from: the whole ledger, the day, the moment, and who signs.

    Unlike an answering command's, the book holds records later than the day as well: they are in
    the files that are written.
    """

    desk: Desk
    by: str
    now: dt.datetime
    dated: bool = False
    """The day was named, and is not simply today."""

    @property
    def book(self) -> Book:
        """The records."""
        return self.desk.book

    @property
    def today(self) -> dt.date:
        """The day the act is dated."""
        return self.desk.today

    @property
    def at(self) -> dt.time | None:
        """The time of day, where the act is dated today by the clock; of another day nobody
        knows it."""
        return self.now.time() if self.today == self.book.clock else None

    def pressure(self, option: str, text: str) -> GaugePressure:
        """A gauge pressure; a bare number takes the ledger's unit."""
        return option_values.pressure(option, text, self.desk.shore)

    def temperature(self, text: str) -> Temperature | None:
        """What --temperature says, if it says anything."""
        shore = self.desk.shore
        return option_values.temperature("--temperature", text, shore) if text else None

    def resolve(self, ids: list[str]) -> list[str]:
        """The full ids that the given ones stand for.

        Raises:
            LedgerError: no id, or more than one, is meant.
            RequestError: a text can be none.
        """

        self._check(ids)
        return self.desk.resolve(ids)

    def every(self, ids: Iterable[str]) -> list[str]:
        """As `resolve`, ranges included: `SF-001..SF-012`."""
        texts = list(ids)
        self._check(texts)
        return self.desk.every(texts)

    def spread(self, texts: Iterable[str]) -> list[str]:
        """The texts with each range of ids (`1..12=500`) as those it stands for."""
        return self.desk.spread(texts)

    @staticmethod
    def _check(ids: Iterable[str]) -> None:
        for text in ids:
            if not text.isprintable() or len(text) > LONGEST_ID:
                raise RequestError(f"{shown(text)} names no cylinder or set", "write its id")


def file_named(option: str, text: str) -> Path:
    """A file that is named on the command line.

    Raises:
        RequestError: no file is called so.
    """
    if not text.isprintable() or len(text) > LONGEST_PATH:
        raise RequestError(f"{option}: {shown(text)} names no file", "check the path")
    return Path(text)


def time_of(bench: Bench, text: str, on: dt.date | None = None) -> dt.time | None:
    """The time of day said with --at, else that of the clock where the act is dated today; `on` is
    the day of an act that says its own (`station air-test --on`).

    Raises:
        RequestError: it is no time, or lies ahead.
    """
    from tankbook.cli.said_dates import hour_said

    day = on or bench.today
    clock = bench.now.time() if day == bench.book.clock else None
    if not text:
        return clock
    try:
        hour = hour_said(text)
        at = dt.time.fromisoformat(hour)
        if len(hour) != 5:
            raise ValueError
    except ValueError:
        raise RequestError(f"--at: {shown(text)} is not a time of day", "write 16:30") from None
    if clock is not None and at > clock:
        raise RequestError(f"--at: {text} lies ahead", f"it is {bench.now:%H:%M}")
    refuse_left_out("--at", day, at)
    return at


def run(given: Given, plan: Callable[[Bench], Planned], *, again: bool = False) -> Answer:
    """Plan an act on the ledger as it stands, nobody else writing, record it and tell it.

    With `again` it is recorded even where it is the same as one that could not be told.

    Raises `LedgerError` and `RequestError`; nothing is written then.
    """
    from msgspec.structs import replace

    from tankbook.acts.common import in_hand
    from tankbook.cli.allowing import ask_leave
    from tankbook.cli.open_ledger import (
        Desk,
        clock,
        compared,
        day_done,
        moment,
        moment_asked,
        page,
        root_asked,
        told,
    )
    from tankbook.ledger.apply import record
    from tankbook.output import as_json
    from tankbook.output import recorded as output
    from tankbook.records.edits import Refusal

    today, now, root = day_done(given.common), moment_asked(given.common), root_asked(given.common)
    desks: list[Desk] = []
    if not given.dry_run:
        ask_leave(root, given.commit)

    def planned(book: Book) -> Planned:
        known = compared(replace(book, clock=clock(), now=moment()), root, today)
        desk = Desk(root, known.parted_on(today), today, page(book.settings.units))
        desks.append(desk)
        signer = given.by or book.settings.operator or ""
        return in_hand(known, plan(Bench(desk, signer, now, bool(given.common.on))))

    done = record(
        root,
        planned,
        dry_run=given.dry_run,
        commit=given.commit,
        by=given.by,
        again=again,
        tell=told,
    )
    code = NO if isinstance(done, Refusal) else DONE
    if given.common.json:
        answer = Answer(as_json.dumps(output.data(done)), code, desks[-1].notes)
    else:
        answer = Answer(output.text(done, desks[-1].page), code, desks[-1].notes)
    return acknowledging(answer, root, done)


def acknowledging(answer: Answer, root: Path, done: Recorded | Refusal) -> Answer:
    """The answer to an act, which is acknowledged once it is out."""
    from msgspec.structs import replace

    from tankbook.ledger.receipts import acknowledge
    from tankbook.records.edits import Refusal

    if isinstance(done, Refusal) or not done.receipt:
        return answer
    return replace(answer, out=lambda: acknowledge(root, done.receipt))


# --- commands from their declarations ------------------------------------------------------------


def recorded(function: Callable[..., Any]) -> Callable[..., Answer]:
    """A recording command as the parser reads it: its own options, then those of every act.

    What the function begins with says how much it does by itself: from a `book` or a `bench` it
    plans an act, which is recorded and told; what is `given` it records by itself. What can be
    read only with the ledger (ids, pressures, times of the day) is handed to those two alone.
    """
    own = signature_of(function).parameters
    said = {name: marker for name, p in own.items() if (marker := marker_of(p))}
    shared = {n: p for n, p in signature_of(_shared).parameters.items() if n not in said}

    def command(context: typer.Context, **options: Any) -> Answer:
        on = options["on"] if "on" in shared else ""
        of_all = common(context, options["json"], on, options["ledger"])
        given = Given(of_all, options["by"], options["dry_run"], options["commit"])
        texts = {
            name: options[name]
            for name in said
            if own[name].default is _EMPTY or options[name] not in (None, "") or _is_time(own[name])
        }
        by_itself = "given" in own
        values = {
            n: _read(own[n], t) for n, t in texts.items() if by_itself or not _of_ledger(own[n])
        }
        if by_itself:
            answer: Answer = function(given, **values)
            return answer

        def planned(bench: Bench) -> Planned:
            day = values.get("on")  # of an act that says its own
            on = day if isinstance(day, dt.date) else None
            read = {n: _read(own[n], t, bench, on) for n, t in texts.items() if n not in values}
            held = {n: getattr(bench, _HELD[n]) for n in own if n not in said and n in _HELD}
            found: Planned = function(
                *([bench] if "bench" in own else ()), **held, **values, **read
            )
            return found

        return run(given, planned)

    command.__name__, command.__doc__ = function.__name__, _help_of(function)
    times = [n for n in said if _is_time(own[n])]
    first = [_as_text(own[n]) for n in said if n not in times]
    who = [p for n, p in shared.items() if n in ("by", "on")]
    rest = [p for n, p in shared.items() if n not in ("by", "on")]
    context = inspect.Parameter("context", _KEYWORD, annotation=typer.Context)
    listed = [*first, *who, *(_as_text(own[n]) for n in times), *rest]
    return taking(command, [context, *map(read_by_parser, listed)])


_EMPTY, _KEYWORD = inspect.Parameter.empty, inspect.Parameter.KEYWORD_ONLY
_HELD = {"book": "book", "by": "by", "on": "today", "today": "today", "now": "now"}
"""What a plan is handed that it does not say an option of, and what of the bench that is."""


def _shared(
    *,
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: CommitOption = None,
    json: Json = False,
    ledger: Ledger = "",
) -> None:
    """The options of every recording command."""


def _help_of(function: Callable[..., Any]) -> str:
    """What the help says: all that the function says of itself, but for its arguments."""
    text = inspect.cleandoc(function.__doc__ or "")
    return text.partition("\n\nArgs:")[0].partition("\n\nRaises:")[0]


def _kind(parameter: inspect.Parameter) -> tuple[Any, bool]:
    """What a value of a parameter is, and whether there may be several."""
    kind = get_args(parameter.annotation)[0]
    if isinstance(kind, UnionType):
        kind = next(each for each in get_args(kind) if each is not NoneType)
    return (get_args(kind)[0], True) if is_many(kind) else (kind, False)


def _is_time(parameter: inspect.Parameter) -> bool:
    """Whether it is the time of the day of an act, which is the clock's where nobody says it."""
    said = marker_of(parameter)
    return parameter.name == "at" and said is not None and said[0] == "TIME"


def _is_paper(kind: Any) -> bool:
    """Whether a value is a paper, known by its name so that no record is loaded for it."""
    return isinstance(kind, type) and kind.__name__ == "Certificate"


def _of_ledger(parameter: inspect.Parameter) -> bool:
    """Whether a text is read only with the ledger."""
    kind, _ = _kind(parameter)
    said = marker_of(parameter)
    return (
        (isinstance(said, Arg) and said.ids)
        or kind in (dt.time, dt.datetime)
        or _is_paper(kind)
        or option_values.is_of_shore(kind)
    )


def _as_text(parameter: inspect.Parameter) -> inspect.Parameter:
    """A parameter as the line has it, before its text is read."""
    (kind, many), said, default = _kind(parameter), marker_of(parameter), parameter.default
    read: Any = kind if isinstance(said, Flag) or kind is int else str
    if many:
        read, default = list[str], _EMPTY
        if parameter.default is not _EMPTY:
            read, default = list[str] | None, None
    elif _is_time(parameter):
        default = ""
    elif read is str and default is not _EMPTY:
        default = str(default) if default else ""
    return parameter.replace(kind=_KEYWORD, annotation=Annotated[read, said], default=default)


def _read(
    parameter: inspect.Parameter,
    text: Any,
    bench: Bench | None = None,
    on: dt.date | None = None,
) -> Any:
    """The value of what the line has for a parameter; what is resolved takes the bench, and a time
    of the day the day of an act that says its own."""
    (kind, many), said, option = _kind(parameter), marker_of(parameter), name_of(parameter)
    if kind is str and said is not None and said[0] not in NAMES_A_PATH:
        text = [_trimmed(t) for t in text or ()] if many else _trimmed(text)
    if isinstance(said, Arg) and said.ids and bench is not None:
        return bench.every(text) if many else bench.resolve([text])[0]
    if not many or kind is str:
        return _one(kind, said, option, text, bench, on)
    words = [w.strip() for each in text for w in each.split(",") if w.strip()]
    texts = words if issubclass(kind, StrEnum) else text
    return tuple(_one(kind, said, option, each, bench, on) for each in texts)


def _trimmed(text: Any) -> Any:
    """A text without the blanks around it, which no eye sees; one of blanks alone is refused as
    such."""
    return text.strip() or text if isinstance(text, str) else text


def _one(
    kind: Any, said: Any, option: str, text: Any, bench: Bench | None, on: dt.date | None
) -> Any:
    if not isinstance(text, str):
        return text
    if bench is not None and _is_paper(kind):
        from tankbook.ledger.papers import certificate_of

        return certificate_of(bench.desk.root, file_named(option, text))
    if bench is not None and kind is dt.time:
        return time_of(bench, text, on)
    if bench is not None and kind is dt.datetime:
        from tankbook.cli.fill_log_options import moment

        return moment(bench, text)
    if isinstance(said, Opt) and said.twins:
        return option_values.word(option, text, kind, dict(said.twins))
    return option_values.value(kind, option, text, bench.desk.shore if bench else None)
