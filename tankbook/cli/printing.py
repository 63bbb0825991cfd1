"""Answers put into files instead of to the terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Annotated

from tankbook.acts.options import Opt
from tankbook.cli.answer import RequestError
from tankbook.output.screen import one_line

Pdf = Annotated[str, Opt("FILE", "Print it into this PDF instead.")]


def files_asked(named: Mapping[str, str]) -> list[tuple[str, str]]:
    """The files that were named, by ending, each with its ending; what was not named is empty.

    Raises:
        LedgerError: one cannot be written where it is asked for.
    """
    from tankbook.ledger.handed_out import check_out

    files = [(name, ending) for ending, name in named.items() if name]
    for name, ending in files:
        check_out(Path(name), ending)
    return files


def write_into(files: list[tuple[str, str]], make: Callable[[str], bytes]) -> str:
    """Make each file by its ending, put all where they were asked for, and name them; an empty
    text where none was asked for.

    Raises:
        LedgerError: one cannot be written there.
        RequestError: something on one cannot be printed; nothing is written then.
    """
    if not files:
        return ""
    from tankbook.ledger.handed_out import write_out
    from tankbook.output.paper.face import PaperError

    try:
        made = [(name, ending, make(ending)) for name, ending in files]
    except PaperError as error:
        raise RequestError(str(error), error.mend) from error
    for name, ending, data in made:
        write_out(Path(name), data, ending)
    return " and ".join(one_line(name) for name, _ in files)


def print_into(file: str, make: Callable[[], bytes], what: str) -> str:
    """Make a PDF, put it where it was asked for, and say so.

    Raises:
        LedgerError: it cannot be written there; nothing is made then.
        RequestError: something on it cannot be printed; nothing is written then.
    """
    return f"{what}: {write_into(files_asked({'.pdf': file}), lambda _: make())}\n"
