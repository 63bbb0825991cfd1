"""`tankbook refuse`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from tankbook.acts.options import Flag, Ids, Note, Opt, Told
from tankbook.cli.answer import RequestError
from tankbook.cli.recording import Bench, Planned
from tankbook.gas import Gas


def refuse(
    bench: Bench,
    ids: Ids,
    *,
    reason: Annotated[
        Sequence[str], Opt("TEXT", "What was shown; else what the rules have against a fill.")
    ] = (),
    told: Told = "",
    earlier: Annotated[bool, Flag("Told of a refusal that is on record already.")] = False,
    gas: Annotated[Gas | None, Opt("GAS", "The gas wanted.")] = None,
    note: Note = "",
) -> Planned:
    """Record a refusal at the counter: the reasons shown, and that the owner was told."""
    from tankbook.acts.refuse import refuse as plan
    from tankbook.acts.refuse import tell

    book, by, on = bench.book, bench.by, bench.today
    if not earlier:
        return plan(book, ids, by=by, on=on, reasons=reason, told_how=told, gas=gas, note=note)
    if reason or not told:
        mend = "give --told, and no --reason"
        raise RequestError("--earlier records only that the owner was told", mend)
    return tell(book, ids, by=by, on=on, told_how=told, note=note)
