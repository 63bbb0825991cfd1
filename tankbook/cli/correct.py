"""`tankbook correct`."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from typing import TYPE_CHECKING, Annotated

from tankbook.acts.options import Arg, Opt
from tankbook.cli import option_values
from tankbook.cli.answer import RequestError, shown
from tankbook.cli.recording import Bench, Planned

if TYPE_CHECKING:
    from tankbook.records.edits import Value


def correct(
    bench: Bench,
    id_: Annotated[str, Arg("ID", "A cylinder or set, `station`, `counter` or `ledger`.")],
    what: Annotated[
        str,
        Arg(
            "WHAT",
            "A list of its file (inspected, held, B1.readings), or fill, reading, drain, log; "
            "`note` for its own note; `removed` for what was taken out.",
        ),
    ],
    when: Annotated[
        str,
        Arg(
            "WHEN",
            "Its date, or time for the log, or the start of it; with #2 the second of a day. "
            "Of what was taken out, its name: held 2026-02-09, rules/shop.yaml.",
        ),
    ] = "",
    *,
    why: Annotated[str, Opt("TEXT", "Why it is wrong.")] = "",
    changes: Annotated[
        Sequence[str],
        Opt(
            "KEY=VALUE",
            "What is right, entered anew; may be given again. One of several in a list: "
            "findings[2].note=TEXT.",
            "--set",
        ),
    ] = (),
) -> Planned:
    """Strike out a wrong entry or log line and, with --set, enter the right one.

    The old one stays readable and counts for nothing. What tells against a cylinder is struck out
    by somebody certified. `removed` says that something is gone from the files on purpose.
    """
    from tankbook.acts.correct import correct as plan
    from tankbook.acts.correct_line import LOG_WORDS
    from tankbook.acts.removed import LEDGER, REMOVED
    from tankbook.acts.striking import Wrong
    from tankbook.ledger.errors import LedgerError

    said = {}
    for each in changes:
        wrong = RequestError(f"--set: {shown(each)} is not KEY=VALUE", "write it as to=2950")
        key, value = option_values.pair(each, wrong, empty=True)
        said[key] = value
    meant = Wrong(what, when, why, said, {k: got for k, v in said.items() if (got := _list(v))})
    named = id_ if what == REMOVED else _named(bench, id_, what in LOG_WORDS)
    if what == REMOVED and id_ != LEDGER:
        with suppress(LedgerError):
            named = bench.resolve([id_])[0]
    return plan(bench.book, named, meant, by=bench.by, now=bench.now, on=bench.today)


def _list(text: str) -> Value | None:
    """What a text written as a file writes keys or a list holds, or nothing where it is neither."""
    from tankbook.ledger.events import parse
    from tankbook.records.written import value_of_node

    node, wrong = parse(text, "--set") if text[:1] in {"{", "["} else (None, [])
    return None if node is None or wrong else value_of_node(node)


def _named(bench: Bench, id_: str, of_log: bool) -> str:
    """The id meant; a line of the log may name a cylinder that there is not."""
    from tankbook.acts.correct import is_of_no_card
    from tankbook.ledger.errors import LedgerError

    if id_ in ("station", "counter") and not of_log:
        return id_
    if of_log and any(line.cylinder == id_ for line in bench.book.log):
        return id_
    if id_ in bench.book.apart:  # what was written of a set stays to be corrected
        return id_
    try:
        return bench.resolve([id_])[0]
    except LedgerError:
        if is_of_no_card(bench.book, id_):
            return id_
        raise
