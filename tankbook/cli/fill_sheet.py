"""`tankbook fill --sheet`: a sheet from the lake keyed in."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace

from tankbook.cli.answer import DONE, NO, Answer
from tankbook.cli.local import midnight_of
from tankbook.cli.recording import Asked, Bench, Planned, run

if TYPE_CHECKING:
    from tankbook.acts.fill_request import Filling
    from tankbook.acts.fill_sheet import RowRefused


def key_in(given: Asked, file: str, how: Callable[[Bench], Filling]) -> Answer:
    """Record the rows of a sheet that stand; exit code 1 when a row is refused.

    Raises:
        LedgerError: the file is no sheet.
    """
    refused: list[RowRefused] = []

    def planned(bench: Bench) -> Planned:
        from tankbook.acts.fill_sheet import key_in as plan
        from tankbook.ledger.errors import LedgerError
        from tankbook.ledger.keyed import read_sheet

        def resolve(text: str) -> str:
            try:
                (id_,) = bench.resolve([text])
            except LedgerError as error:
                raise ValueError(f"{error.text}; {error.mend}") from None
            return id_

        midnight = midnight_of(bench.today)
        rows = read_sheet(Path(file))
        got = plan(bench.book, rows, how(bench), midnight=midnight, resolve=resolve)
        refused[:] = got.refused
        return got.act

    answer = run(given, planned)
    return replace(answer, code=NO if answer.code == DONE and refused else answer.code)
