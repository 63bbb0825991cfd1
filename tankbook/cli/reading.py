"""`tankbook reading` and `tankbook drain`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from tankbook.acts.options import Arg, Note, Opt
from tankbook.cli.fill_log_options import (
    Analyst,
    Degrees,
    Helium,
    Moment,
    Oxygen,
    analysed,
    began,
    pressures,
)
from tankbook.cli.recording import Bench, Planned


def reading(
    bench: Bench,
    ids: Annotated[list[str], Arg("ID=PRESSURE", "Each with what its gauge shows: 14=1200.")],
    *,
    o2: Oxygen = (),
    he: Helium = (),
    analysed_by: Analyst = "",
    temperature: Degrees = None,
    note: Note = "",
    at: Moment,
) -> Planned:
    """Log what gauges and analysers show. One at nothing is looked inside before it is filled."""
    from tankbook.acts.reading import Shown, read_gauges

    read = pressures(bench, "ID", ids)
    oxygen, helium = analysed(bench, o2, he, [id_ for id_, _ in read])
    return read_gauges(
        bench.book,
        [Shown(i, pressure, o2=oxygen.get(i), he=helium.get(i)) for i, pressure in read],
        by=bench.by,
        at=at,
        temperature=temperature,
        note=note,
        analysed_by=analysed_by,
    )


def drain(
    bench: Bench,
    ids: Annotated[list[str], Arg("ID[=PRESSURE]", "Each; 14=3000 is bled to that, 14 to 0.")],
    *,
    from_: Annotated[
        Sequence[str], Opt("[ID=]PRESSURE", "What it showed before, of all or of one.")
    ] = (),
    temperature: Degrees = None,
    note: Note = "",
    at: Moment,
) -> Planned:
    """Log that gas was let out, all of it or down to a pressure."""
    from tankbook.acts.reading import Shown
    from tankbook.acts.reading import drain as plan

    left = pressures(bench, "ID", ids, "0")
    before = began(bench, from_, left)
    shown = [Shown(id_, pressure, before.get(id_)) for id_, pressure in left]
    return plan(bench.book, shown, by=bench.by, at=at, temperature=temperature, note=note)
