"""`tankbook recall`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer
from msgspec.structs import replace

from tankbook.cli.answer import Answer, RequestError
from tankbook.cli.names import Asked, names_asked, open_with_names, with_hint
from tankbook.cli.options import Json, Ledger
from tankbook.cli.recording import Bench, By, Commit, Day, DryRun, asked, run

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable

    from tankbook.records.book import Book
    from tankbook.records.edits import Act, Refusal
    from tankbook.records.rulerow import WatchRow
    from tankbook.rules.recall import Recall


def _text(name: str, metavar: str, says: str) -> typer.models.OptionInfo:
    option: typer.models.OptionInfo = typer.Option(
        name, metavar=metavar, help=says, show_default=False
    )
    return option


def recall(
    context: typer.Context,
    source: Annotated[
        str,
        typer.Argument(
            metavar="SOURCE",
            help="A bank or the compressor; that of the failed air test, if not said.",
            show_default=False,
        ),
    ] = "",
    since: Annotated[
        str, _text("--since", "DATE", "From this day; the last good test, if not said.")
    ] = "",
    notice: Annotated[
        str, _text("--notice", "ROW", "A maker's notice instead: a watch row in force.")
    ] = "",
    maker: Annotated[str, _text("--maker", "TEXT", "A notice: the maker.")] = "",
    specification: Annotated[
        list[str] | None, _text("--specification", "SPEC", "A notice: the specification.")
    ] = None,
    serial_from: Annotated[str, _text("--serial-from", "SERIAL", "A notice: first serial.")] = "",
    serial_to: Annotated[str, _text("--serial-to", "SERIAL", "A notice: last serial.")] = "",
    made_from: Annotated[str, _text("--made-from", "MONTH", "A notice: made in or after.")] = "",
    made_before: Annotated[str, _text("--made-before", "MONTH", "A notice: made before.")] = "",
    hold: Annotated[bool, typer.Option("--hold", help="Put every one of them on hold.")] = False,
    why: Annotated[str, _text("--why", "TEXT", "Why they are held; worded here, if not.")] = "",
    names: Asked = False,
    by: By = "",
    on: Day = "",
    dry_run: DryRun = False,
    commit: Commit = None,
    json: Json = False,
    ledger: Ledger = "",
) -> Answer:
    """Every cylinder filled from a bad source since its last good test, or named in a notice.

    What each holds, where it is and whom to ring; --hold puts them all on hold with one act.
    """
    from tankbook.cli import option_values
    from tankbook.output import recall as output

    given = asked(context, json, on, ledger, by, dry_run, commit)
    day = option_values.day("--since", since) if since else None
    asked_for = {
        "maker": maker, "specification": specification, "serial_from": serial_from,
        "serial_to": serial_to, "made_from": made_from, "made_before": made_before,
    }  # fmt: skip
    find = _finder(source, day, notice, {k: v for k, v in asked_for.items() if v})
    if not hold:
        desk = open_with_names(given.common)
        found = find(desk.book, desk.today)
        if given.common.json:
            return desk.data(output.data(found, names_asked(desk.root, names)))
        said = with_hint(desk.root, names, lambda n: output.text(found, n, desk.page))
        return desk.answer(f"{said}{_next(found)}")

    def planned(bench: Bench) -> Act | Refusal:
        from tankbook.acts.recall_hold import hold_all

        found = find(bench.book.as_known_on(bench.today), bench.today)
        reason = why or _why(found)
        return hold_all(bench.book, found, why=reason, by=bench.by, on=bench.today, at=bench.at)

    answer = run(given, planned)
    if given.common.json:
        return answer
    desk = open_with_names(given.common)
    found = find(desk.book, desk.today)
    said = with_hint(desk.root, names, lambda n: output.text(found, n, desk.page))
    head, _, rest = answer.text.partition("\n\n")
    return replace(answer, text="\n\n".join(filter(None, (head.rstrip("\n"), said, rest))))


def _next(found: Recall) -> str:
    """What holds those that are not held yet."""
    return "" if all(s.held for s in found.suspects) else "\nHold them all: add --hold.\n"


def _why(found: Recall) -> str:
    return f"recall of {found.what}" + (f", gas since {found.since}" if found.since else "")


def _finder(
    source: str, since: dt.date | None, notice: str, keys: dict[str, str | list[str]]
) -> Callable[[Book, dt.date], Recall]:
    """What looks the recalled cylinders up in a book.

    Raises:
        RequestError: a source and a notice are given together.
    """
    if (notice or keys) and (source or since):
        raise RequestError("a recall is of a source or of a notice", "leave one of them out")
    if notice and keys:
        raise RequestError("--notice names a watch row, which says the rest", "leave the rest out")

    def find(book: Book, today: dt.date) -> Recall:
        from tankbook.rules.recall import by_notice, by_source

        if notice or keys:
            row = _row_of(book, notice) if notice else _row(keys)
            return by_notice(book, row, notice or "by notice")
        return by_source(book, _source(book, source), today, since)

    return find


def _source(book: Book, text: str) -> str:
    from tankbook.rules.recall import compressor_of, failed_test, source_of_test, sources_of

    known = sources_of(book)
    if text:
        found = [name for name in known if name.casefold() == text.casefold()]
        if not found:
            raise RequestError(f"no fill names {text!r}", f"known: {', '.join(known) or 'none'}")
        return found[0]
    failed = failed_test(book)
    if failed is None:
        mend = f"name the source: {', '.join(known)}" if known else "name the source"
        raise RequestError("the newest air test did not fail", mend)
    return source_of_test(book, failed) or compressor_of(book)


def _row_of(book: Book, id_: str) -> WatchRow:
    from tankbook.rules.recall import notice_of

    row = notice_of(book, id_)
    if row is None:
        raise RequestError(f"--notice: no watch row in force is called {id_!r}", "`tankbook rules`")
    return row


def _row(keys: dict[str, str | list[str]]) -> WatchRow:
    from tankbook.cli import option_values
    from tankbook.records.rulerow import Basis, Verified, WatchRow

    def text(name: str) -> str:
        said = keys.get(name, "")
        return said if isinstance(said, str) else said[0]

    specs = keys.get("specification", [])
    return WatchRow(
        id="asked",
        maker=(text("maker"),) if text("maker") else (),
        specification=tuple(specs) if isinstance(specs, list) else (specs,),
        serial_from=text("serial_from") or None,
        serial_to=text("serial_to") or None,
        made_from=option_values.date("--made-from", text("made_from"))
        if text("made_from")
        else None,
        made_before=option_values.date("--made-before", text("made_before"))
        if text("made_before")
        else None,
        basis=Basis.PRACTICE,
        citation="as asked on the command line",
        verified=Verified.MEMORY,
    )
