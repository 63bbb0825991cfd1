"""Sheets printed into a PDF instead of to the terminal."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated

from tankbook.acts.options import Opt
from tankbook.cli.answer import RequestError
from tankbook.output.screen import one_line

Pdf = Annotated[
    str,
    Opt("FILE", "Print it into this PDF instead.", "--pdf"),
]


def print_into(file: str, make: Callable[[], bytes], what: str) -> str:
    """Make a PDF, put it where it was asked for, and say so.

    Raises:
        LedgerError: it cannot be written there; nothing is made then.
        RequestError: something on it cannot be printed; nothing is written then.
    """
    from pathlib import Path

    from tankbook.ledger.handed_out import check_out, write_out
    from tankbook.output.paper.face import PaperError

    check_out(Path(file))
    try:
        made = make()
    except PaperError as error:
        raise RequestError(str(error), error.mend) from error
    write_out(Path(file), made)
    return f"{what}: {one_line(file)}\n"
