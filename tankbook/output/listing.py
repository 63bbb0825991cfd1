"""A list of cylinders, one a line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from msgspec import Struct

from tankbook.output.page import Page, counted
from tankbook.output.tables import Column, Table, as_written, in_words
from tankbook.records.cylinder import Cylinder, Doubles
from tankbook.rules.tested import first_test


class Listed(Struct, frozen=True):
    """A cylinder as listed: what it holds and whether it may be filled now."""

    cylinder: Cylinder
    size: str
    gas: str
    standing: str
    fillable: bool
    ready: bool
    states: tuple[str, ...] = ()
    """Every state it is in, the gravest first, which is its standing."""

    @property
    def every(self) -> tuple[str, ...]:
        """The same, by its standing alone where that is all that is known."""
        return self.states or tuple(filter(None, (self.standing,)))


def _marked_in(row: Listed) -> str | None:
    marked = row.cylinder.service_pressure
    return marked.unit if marked else None


def _fill(row: Listed) -> str:
    """Whether it is ready to go out, or may be filled."""
    return "ready" if row.ready else "yes" if row.fillable else "NO"


def _stands(row: Listed) -> str:
    """Every state it is in, in words: `rejected, at test`, `held, out`."""
    return ", ".join(map(in_words, row.every))


COLUMNS = Table[Listed](
    Column("id", lambda r: r.cylinder.id, "id"),
    Column("serial", lambda r: r.cylinder.serial),
    Column("maker", lambda r: r.cylinder.maker),
    Column("use", lambda r: r.cylinder.use, "use"),
    Column("size", lambda r: r.size or None, "size", wrap=True),
    Column("water_volume", lambda r: r.cylinder.water_volume, units=("L",)),
    Column("service", lambda r: r.cylinder.service),
    Column("service_pressure", lambda r: r.cylinder.service_pressure, "pressure", as_written),
    Column("service_pressure_unit", _marked_in, json=False),
    Column("first_test", lambda r: first_test(r.cylinder), "first test"),
    Column("gas", lambda r: r.gas or None, "gas"),
    Column("status", lambda r: r.standing),
    Column("may_be_filled", lambda r: r.fillable),
    Column("ready", lambda r: r.ready),
    Column("place", lambda r: r.cylinder.place),
    Column("owner", lambda r: r.cylinder.owner),
    Column("stands", lambda r: r.standing),
    Column("", _stands, "status", wrap=True),
    Column("fillable", lambda r: r.fillable),
    Column("states", lambda r: r.every, csv=False),
    Column("states", lambda r: ", ".join(r.every), json=False),
    Column("", _fill, "fill"),
)
"""What `list` says of a cylinder. `status` and `may_be_filled` are older words for `stands` and
`fillable`."""

SHOWN = COLUMNS.pick("id", "use", "size", "pressure", "gas", "first test", "status", "fill")
"""What people are shown."""


def data(rows: Sequence[Listed]) -> list[dict[str, Any]]:
    """The JSON shape of `list`."""
    return COLUMNS.objects(rows)


def text(
    rows: Sequence[Listed], asked: str, page: Page, sets: Mapping[str, Doubles] | None = None
) -> str:
    """How many there are of what was asked, then one line each, and the sets they make up."""
    head = f"{counted(len(rows), 'cylinder')}{asked}"
    ready = sum(row.ready for row in rows)
    if rows:
        head += f"; {ready} ready to go out, {sum(r.fillable for r in rows)} may be filled"
    named = [f"{name} ({', '.join(both.cylinders)})" for name, both in (sets or {}).items()]
    made_up = page.wrap(f"Sets: {', '.join(named)}", hang="  ") if named else ""
    return page.answer(head, SHOWN.text(rows, page), made_up)
